package neckset

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fairset/unit"

	"pgregory.net/rapid"
)

// Eight parallel experiments, each an effect and its standard error.
// source: Rubin 1981, J. Educational Statistics 6; Gelman et al., Bayesian Data Analysis, table 5.2: effects
// 28 8 -3 7 -1 1 18 12, standard errors 15 10 16 11 9 11 10 18; pooled 7.7 with standard error 4.1 when nothing
// lies between them (section 5.5).
var eight = family{prior: 0, variance: 1e12, groups: []group{
	{"a", []float64{28}, []float64{15 * 15}}, {"b", []float64{8}, []float64{10 * 10}}, {"c", []float64{-3}, []float64{16 * 16}}, {"d", []float64{7}, []float64{11 * 11}},
	{"e", []float64{-1}, []float64{9 * 9}}, {"f", []float64{1}, []float64{11 * 11}}, {"g", []float64{18}, []float64{10 * 10}}, {"h", []float64{12}, []float64{18 * 18}},
}}

func TestMeanOfEightExperiments(t *testing.T) {
	mean, variance, n := eight.sumUp(0, 0).without("")
	if math.Abs(mean-7.7) > 0.05 || math.Abs(math.Sqrt(variance)-4.1) > 0.05 || n != 8 {
		t.Errorf("pooled %.2f give or take %.2f of %d", mean, math.Sqrt(variance), n)
	}
	// source: Bayesian Data Analysis, section 5.5: values of the spread near 0 are the most plausible, zero the
	// mode of its marginal posterior, and values over 25 are very unlikely.
	was := likelihood([]family{eight}, 0, 0)
	for _, between := range []float64{1, 2, 5, 10, 15, 20, 25, 30} {
		now := likelihood([]family{eight}, between, 0)
		if now >= was {
			t.Errorf("spread %v is as likely as a smaller one", between)
		}
		was = now
	}
	// Left out of the mean, a group no longer speaks.
	rest := eight
	rest.groups = rest.groups[1:]
	a, va, _ := eight.sumUp(5, 0).without("a")
	b, vb, _ := rest.sumUp(5, 0).without("")
	if math.Abs(a-b) > 1e-9 || math.Abs(va-vb) > 1e-9 {
		t.Errorf("without a: %v, %v; never there: %v, %v", a, va, b, vb)
	}
}

// The likelihood against a plain normal density with the whole covariance matrix. source: density of the
// multivariate normal distribution, by its Cholesky factor.
func TestLikelihoodAgainstWholeMatrix(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		f := family{prior: r.NormFloat64(), variance: 0.2 + r.Float64()}
		var z, s2 []float64
		var of []int
		for i := range 3 {
			g := group{guitar: string(rune('a' + i))}
			for range 1 + r.IntN(3) {
				g.z, g.s2 = append(g.z, r.NormFloat64()), append(g.s2, 0.1+r.Float64())
			}
			z, s2 = append(z, g.z...), append(s2, g.s2...)
			for range g.z {
				of = append(of, i)
			}
			f.groups = append(f.groups, g)
		}
		plain := func(between, within float64) float64 {
			n := len(z)
			c := make([][]float64, n)
			for i := range n {
				c[i] = make([]float64, n)
				for j := range n {
					c[i][j] = f.variance
					if of[i] == of[j] {
						c[i][j] += between * between
					}
					if i == j {
						c[i][j] += s2[i] + within*within
					}
				}
			}
			out := 0.0
			y := make([]float64, n)
			for i := range n { // Cholesky, in place, and forward substitution
				for j := range i + 1 {
					sum := c[i][j]
					for k := range j {
						sum -= c[i][k] * c[j][k]
					}
					if i == j {
						c[i][i] = math.Sqrt(sum)
					} else {
						c[i][j] = sum / c[j][j]
					}
				}
				sum := z[i] - f.prior
				for k := range i {
					sum -= c[i][k] * y[k]
				}
				y[i] = sum / c[i][i]
				out -= y[i]*y[i]/2 + math.Log(c[i][i])
			}
			return out
		}
		a := likelihood([]family{f}, 0.3, 0.2) - likelihood([]family{f}, 0.9, 0.5)
		b := plain(0.3, 0.2) - plain(0.9, 0.5)
		if math.Abs(a-b) > 1e-9 {
			t.Fatalf("%v against %v", a, b)
		}
	}
}

func TestNothingLearned(t *testing.T) {
	tool := Tools()[1]
	for _, l := range []*Learned{nil, LearnShop(nil), LearnShop([]History{NoHistory("wren")})} {
		if got, want := l.Rate(tool, "wren", nil), LearnRate(tool, "wren", nil); math.Abs(float64(got.PerStroke/want.PerStroke)-1) > 1e-12 || got.SpreadLn != want.SpreadLn || got.CutSD() != want.CutSD() {
			t.Errorf("%+v, want %+v", got, want)
		}
		if sd := l.MarkSD("wren", nil); math.Abs(sd-MarkScatter) > 1e-12 {
			t.Errorf("marks %v", sd)
		}
		if sd := l.ReadingSD("wren"); sd != readingGuess {
			t.Errorf("readings %v", sd)
		}
		if len(l.Rates()) != 0 {
			t.Error("rates from nothing")
		}
	}
	// What teaches nothing changes nothing.
	nan := unit.Length(math.NaN())
	l := LearnShop([]History{{Guitar: "wren", Removals: []Removal{{"wren", tool.Key, 0, 1, 1}, {"wren", tool.Key, 5, nan, 1}, {"wren", "spoon", 5, 1, 1}}, Marks: []Done{{math.NaN(), 1}, {1, 0}}, FirstGap: nan, FirstOffset: nan}})
	if l.Between.N != 0 || l.Between.Value != betweenGuitars || l.Share.N != 0 || l.Share.Value != 1 || l.FirstGap.N != 0 {
		t.Errorf("%+v", l)
	}
}

// drawn is a shop's history drawn with given spreads.
func drawn(r *rand.Rand, tool Tool, shop, between, within float64, guitars, passes int) ([]History, []float64) {
	var hs []History
	var truth []float64
	for i := range guitars {
		h := NoHistory(string(rune('a'+i/26)) + string(rune('a'+i%26)))
		own := shop + between*r.NormFloat64()
		truth = append(truth, own)
		for range passes {
			n := 20 + r.IntN(60)
			d := float64(n) * math.Exp(own+within*r.NormFloat64())
			sd := 0.1 * d
			h.Removals = append(h.Removals, Removal{h.Guitar, tool.Key, n, unit.Length(d + sd*r.NormFloat64()), unit.Length(sd)})
		}
		hs = append(hs, h)
	}
	return hs, truth
}

// Much history: the shop's own spreads and mean, whatever was guessed.
func TestMuchHistoryIsTheShopsOwn(t *testing.T) {
	tool := Tools()[0]
	r := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct{ between, within float64 }{{0.1, 0.1}, {0.3, 0.15}, {0.6, 0.3}} {
		shop := math.Log(float64(tool.PerStroke)) + 0.8
		hs, truth := drawn(r, tool, shop, c.between, c.within, 150, 8)
		l := LearnShop(hs)
		// A standard deviation of n values is known to 1/sqrt(2 n): 6 % for 150 guitars, less for passes; three of those,
		// and the bias of a share against a logarithm.
		if math.Abs(l.Between.Value/c.between-1) > 0.25 || math.Abs(l.Pass.Value/c.within-1) > 0.15 || l.Between.N != 1200 || l.Between.Guitars != 150 {
			t.Errorf("drawn with %+v, learned %+v and %+v", c, l.Between, l.Pass)
		}
		mean := 0.0
		for _, x := range truth {
			mean += x / float64(len(truth))
		}
		if got := math.Log(float64(l.Rate(tool, "", nil).PerStroke)); math.Abs(got-mean) > 0.04+c.within*c.within {
			t.Errorf("mean %v, of those drawn %v", got, mean)
		}
	}
}

// Shops whose spreads differ from the guesses, each with little history: the rate foretold for the next guitar is
// off by what it says, over many shops, and better told than by spreads taken as guessed.
func TestForetoldSpreadIsTrue(t *testing.T) {
	tool := Tools()[0]
	r := rand.New(rand.NewPCG(7, 8))
	const shops = 300
	var z2, late2, plain2 float64
	inside := 0
	for range shops {
		between := betweenGuitars * math.Exp(spreadDoubt*r.NormFloat64())
		within := passSpread * math.Exp(spreadDoubt*r.NormFloat64())
		shop := math.Log(float64(tool.PerStroke)) + tool.SpreadLn*r.NormFloat64()
		hs, truth := drawn(r, tool, shop, between, within, 9, 3)
		next, own := truth[8], hs[8].Removals
		l := LearnShop(hs[:8])
		before, after := l.Rate(tool, hs[8].Guitar, nil), l.Rate(tool, hs[8].Guitar, own)
		z := (math.Log(float64(before.PerStroke)) - next) / before.SpreadLn
		z2 += z * z / shops
		if math.Abs(z) < 1.96 {
			inside++
		}
		y := (math.Log(float64(after.PerStroke)) - next) / after.SpreadLn
		late2 += y * y / shops
		var seen []Removal
		for _, h := range hs[:8] {
			seen = append(seen, h.Removals...)
		}
		p := LearnRate(tool, hs[8].Guitar, seen)
		x := (math.Log(float64(p.PerStroke)) - next) / p.SpreadLn
		plain2 += x * x / shops
	}
	t.Logf("error over stated spread, squared: %.2f for a new guitar, %.2f after three passes, %.2f with the spreads guessed; %d of %d within the 95 %% stated", z2, late2, plain2, inside, shops)
	// Between 90 % and 98 % within: a share of 0.95 over 300 scatters by 1.3 %, and spreads that are learned from eight
	// guitars are themselves unsure, which widens the tails.
	if z2 < 0.7 || z2 > 1.5 || late2 < 0.7 || late2 > 1.6 || inside < 270 || inside > 296 {
		t.Error("the stated spread is not true to what is left")
	}
	if math.Abs(z2-1) > math.Abs(plain2-1) {
		t.Error("spreads taken as guessed tell more")
	}
}

func TestLearnProperties(t *testing.T) {
	tool := Tools()[2]
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 6).Draw(t, "guitars")
		var hs []History
		for i := range n {
			h := NoHistory(string(rune('a' + i)))
			for range rapid.IntRange(0, 3).Draw(t, "passes") {
				h.Removals = append(h.Removals, Removal{h.Guitar, tool.Key, rapid.IntRange(1, 200).Draw(t, "strokes"), unit.Length(rapid.Float64Range(-1e-3, 3e-3).Draw(t, "depth")), unit.Length(rapid.Float64Range(1e-6, 2e-3).Draw(t, "sd"))})
				h.Marks = append(h.Marks, Done{rapid.Float64Range(-1, 3).Draw(t, "done"), rapid.Float64Range(0.01, 2).Draw(t, "done sd")})
			}
			h.Readings = append(h.Readings, Scatter{rapid.Float64Range(0, 50).Draw(t, "squares"), rapid.IntRange(2, 5).Draw(t, "readings")})
			hs = append(hs, h)
		}
		a := LearnShop(hs)
		for _, v := range []float64{a.Between.Value, a.Pass.Value, a.ShareSD.Value, a.Reading.Value, a.MarkSD("a", nil), float64(a.Rate(tool, "a", nil).PerStroke), a.Rate(tool, "z", nil).SpreadLn} {
			if !(v > 0) || !unit.Finite(v) {
				t.Fatalf("%v in %+v", v, a)
			}
		}
		if a.MarkSD("a", nil) > 1 {
			t.Fatalf("marks %v", a.MarkSD("a", nil))
		}
		back := slices.Clone(hs)
		slices.Reverse(back)
		b := LearnShop(back)
		if a.Between != b.Between || a.Rate(tool, "a", nil) != b.Rate(tool, "a", nil) || a.Reading != b.Reading {
			t.Fatal("the order of guitars matters")
		}
		if w := a.Rate(tool, "z", nil); w.SpreadLn*w.SpreadLn > tool.SpreadLn*tool.SpreadLn+a.Between.Value*a.Between.Value+1e-9 {
			t.Fatalf("history made it less sure: %v", w.SpreadLn)
		}
	})
}

// A hand that takes a fifth more than the marks say, time after time, is foretold to, and its spread falls to
// what differs from pass to pass. source: derived by hand, 0.2 off the plan and 0.05 about it.
func TestMarksLearned(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	var hs []History
	for i := range 60 {
		h := NoHistory(string(rune('a'+i/26)) + string(rune('a'+i%26)))
		for range 5 {
			h.Marks = append(h.Marks, Done{1.2 + 0.05*r.NormFloat64() + 0.01*r.NormFloat64(), 0.01})
		}
		hs = append(hs, h)
	}
	l := LearnShop(hs)
	if math.Abs(l.Share.Value-1.2) > 0.01 || l.Share.N != 300 || l.Share.Guitars != 60 || math.Abs(l.ShareSD.Value-0.05) > 0.01 {
		t.Errorf("%+v, %+v", l.Share, l.ShareSD)
	}
	if sd := l.MarkSD("new", nil); math.Abs(sd-math.Hypot(0.2, 0.05)) > 0.02 {
		t.Errorf("foretold %v", sd)
	}
}

func TestReadingsLearned(t *testing.T) {
	mm := unit.MM
	s, ok := ScatterOf([]unit.Length{7 * mm, 7.5 * mm, unit.Length(math.NaN())}, 0.5*mm)
	if !ok || s.N != 2 || math.Abs(s.Squares-0.5) > 1e-12 { // source: by hand: ±0.5 graduations about the mean
		t.Errorf("%+v", s)
	}
	if _, ok := ScatterOf([]unit.Length{7 * mm}, 0.5*mm); ok {
		t.Error("one reading scatters")
	}
	if _, ok := ScatterOf([]unit.Length{7 * mm, 8 * mm}, 0); ok {
		t.Error("scatter without a rule")
	}
	h := NoHistory("wren")
	for range 200 {
		h.Readings = append(h.Readings, Scatter{2 * 0.8 * 0.8, 3})
	}
	l := LearnShop([]History{h})
	// source: derived by hand: (10 of 0.5² and 400 of 0.8²) over 410.
	if want := math.Sqrt((10*0.25 + 400*0.64) / 410); math.Abs(l.ReadingSD("new")-want) > 1e-12 || l.Reading.N != 600 || l.Reading.Guitars != 1 {
		t.Errorf("%+v, want %v", l.Reading, want)
	}
	if l.ReadingSD("wren") != readingGuess {
		t.Error("a guitar's own readings are counted among the others")
	}
	// One reading with the learned spread; never surer than the rule.
	if s := CombineAs([]unit.Length{7 * mm}, 0.5*mm, 0.8); math.Abs(s.SD.MM()-0.4) > 1e-9 {
		t.Errorf("%v", s.SD)
	}
	if s := CombineAs([]unit.Length{7 * mm}, 0.5*mm, 0.1); math.Abs(s.SD.MM()-0.5/math.Sqrt(12)) > 1e-9 {
		t.Errorf("%v", s.SD)
	}
}

func BenchmarkLearnShop(b *testing.B) {
	hs, _ := drawn(rand.New(rand.NewPCG(1, 1)), Tools()[0], math.Log(float64(Tools()[0].PerStroke)), 0.3, 0.15, 200, 4)
	for b.Loop() {
		LearnShop(hs)
	}
}
