package neckset

import (
	"cmp"
	"math"
	"slices"

	"fairset/unit"
)

// History is what one guitar teaches the others of its shop.
type History struct {
	Guitar   string
	Removals []Removal     // passes whose strokes were counted
	Marks    []Done        // passes whose depth was judged by marks
	Readings []Scatter     // readings taken together
	Holes    []unit.Length // by how much bolt holes missed their partners
	// FirstGap is how far the first reading of the gap lay from the target, FirstOffset how far the first reading
	// of the line lay from the centre; not finite where there is none.
	FirstGap, FirstOffset unit.Length
}

// NoHistory is a guitar that has taught nothing yet.
func NoHistory(guitar string) History {
	none := unit.Length(math.NaN())
	return History{Guitar: guitar, FirstGap: none, FirstOffset: none}
}

// Done is how much of its plan a pass did, as a fraction, and the spread of that from the readings.
type Done struct{ Share, SD float64 }

// Scatter is how far readings taken together lay apart: the sum of their squares about their mean, in
// graduations of their rule, squared, and how many there were.
type Scatter struct {
	Squares float64
	N       int
}

// ScatterOf returns the scatter of readings with a rule of that graduation; ok is false for fewer than two,
// or without a graduation.
func ScatterOf(values []unit.Length, graduation unit.Length) (s Scatter, ok bool) {
	if !(graduation > 0) || !graduation.Finite() {
		return s, false
	}
	mean := 0.0
	for _, v := range values {
		if v.Finite() {
			s.N++
			mean += (float64(v/graduation) - mean) / float64(s.N)
		}
	}
	for _, v := range values {
		if v.Finite() {
			d := float64(v/graduation) - mean
			s.Squares += d * d
		}
	}
	return s, s.N > 1
}

// Estimate is one figure learned from a shop's own history.
type Estimate struct {
	Value, Guess float64 // what it is taken to be, and the stated guess it started from
	N, Guitars   int     // passes or readings behind it, and the guitars they were made on
}

// Typical is the mean and the standard deviation of lengths seen in a shop. SD is infinite for fewer than two.
type Typical struct {
	Mean, SD unit.Length
	N        int
}

// ToolRate is what a stroke of a tool takes in a shop: on the next guitar, before it is touched.
type ToolRate struct {
	Tool Tool
	Rate
	Guitars int
}

// Learned is what a shop's own history teaches. A nil one has been taught nothing: every figure is the stated guess.
//
// Rates and shares of a plan are taken to scatter about the shop's mean from guitar to guitar, and about the guitar's
// from pass to pass. Both spreads are those that make the history likeliest, drawn toward the stated guesses by a normal
// prior on their logarithms; the means then come by weighing each guitar by how sure it is. With little history
// everything is near the guesses, with much it is the shop's own.
//
// Source: Efron & Morris 1975 and Morris 1983 (J. Am. Stat. Assoc. 70 and 78) for the empirical Bayes estimate of normal
// means; Chung et al. 2013 (Psychometrika 78) for drawing the spread between groups away from zero by a prior (from
// memory; pages unchecked). Derived in docs/method/learning.md.
type Learned struct {
	Between, Pass Estimate // spreads of the logarithm of a rate: from guitar to guitar, and from pass to pass
	Share         Estimate // mean share of the plan that a pass to marks does
	ShareSD       Estimate // spread of that share from pass to pass
	Reading       Estimate // standard deviation of one reading, in graduations of its rule
	Holes         Typical
	FirstGap      Typical // + when the straight edge lies high at first
	FirstOffset   Typical // + when the line passes on the treble side at first
	Guitars       int     // that taught anything
	HoleGuitars   int     // whose holes were read
	shareBetween  float64
	tools         map[string]tally
	shares        tally
	reading       pooled
	readings      map[string]pooled // by guitar
}

const (
	// spreadDoubt is how unsure the guesses of spreads are, as the standard deviation of their logarithms: a factor
	// of 1.6 either way. Our own stated guess.
	spreadDoubt = 0.5
	// shareMeanSD, shareBetween and shareWithin part the scatter of a cut made to marks, 15 % in all, into what a
	// shop does otherwise than planned, what a maker does and what differs from pass to pass. Our own stated guesses.
	shareMeanSD  = 0.05
	shareBetween = 0.05
	// readingGuess is the spread of one reading in graduations (common practice, no source), and readingWeight how
	// many degrees of freedom it counts as against a shop's own.
	readingGuess  = 0.5
	readingWeight = 10
)

// MarkScatter is the spread of a cut made to marks before anything was learned, as a fraction of it. A stated guess, no source.
const MarkScatter = 0.15

var shareWithin = math.Sqrt(MarkScatter*MarkScatter - shareMeanSD*shareMeanSD - shareBetween*shareBetween)

// group is what one guitar shows of one quantity: values, each with its own variance.
type group struct {
	guitar string
	z, s2  []float64
}

// family is groups that share a mean, with what is guessed of it.
type family struct {
	prior, variance float64
	groups          []group
}

// voice is what a group says of its family's mean.
type voice struct {
	at, weight float64
	n          int
}

// tally is a family summed up, so that one group can be left out of it.
type tally struct {
	prior, variance float64
	by              map[string]voice
	sum, precision  float64 // of the groups' weights, about the prior
	n               int
}

// sumUp weighs the groups of a family for its mean, given the spreads.
func (f family) sumUp(between, within float64) tally {
	t := tally{prior: f.prior, variance: f.variance, by: map[string]voice{}}
	for _, g := range f.groups {
		w, m, _, _ := g.sums(within * within)
		if w <= 0 {
			continue
		}
		s := voice{m, 1 / (1/w + between*between), len(g.z)}
		t.by[g.guitar] = s
		t.sum += s.weight * (m - f.prior)
		t.precision += s.weight
		t.n += s.n
	}
	return t
}

// without is the family's mean and its variance when one guitar is left out, and the values behind it.
func (t tally) without(guitar string) (mean, variance float64, n int) {
	sum, precision, n := t.sum, t.precision, t.n
	if s, ok := t.by[guitar]; ok {
		if len(t.by) == 1 {
			return t.prior, t.variance, 0 // exactly, not but for the last bit
		}
		sum -= s.weight * (s.at - t.prior)
		precision -= s.weight
		n -= s.n
	}
	p := 1/t.variance + max(precision, 0)
	return t.prior + sum/p, 1 / p, n
}

// sums are the group's weights, its weighted mean, the squares about it and the logarithms of the weights.
func (g group) sums(within2 float64) (w, mean, squares, logs float64) {
	for i, z := range g.z {
		wi := 1 / (g.s2[i] + within2)
		w += wi
		mean += wi * z
		logs += math.Log(wi)
	}
	if w > 0 {
		mean /= w
	}
	for i, z := range g.z {
		squares += (z - mean) * (z - mean) / (g.s2[i] + within2)
	}
	return w, mean, squares, logs
}

// likelihood is the logarithm of how likely the families' values are, but for a constant, given the spreads;
// their means are integrated over.
//
// A group's values are normal about its own mean with variances s² + within², and that mean about the
// family's with between². With w = Σ 1/(s² + within²) and m the weighted mean of the values, the group says
// of the family's mean what one value m of variance 1/w + between² would.
func likelihood(fs []family, between, within float64) float64 {
	b2, out := between*between, 0.0
	for _, f := range fs {
		precision, sum, squares := 1/f.variance, 0.0, 0.0
		for _, g := range f.groups {
			w, m, q, logs := g.sums(within * within)
			if w <= 0 {
				continue
			}
			c := 1 / (1/w + b2)
			d := m - f.prior
			precision += c
			sum += c * d
			squares += c * d * d
			out += (logs - math.Log1p(b2*w) - q) / 2
		}
		out -= (math.Log(f.variance*precision) + squares - sum*sum/precision) / 2
	}
	return out
}

// fitSpreads returns the likeliest spreads, drawn toward the guesses.
func fitSpreads(fs []family, between, within float64) (float64, float64) {
	any := false
	for _, f := range fs {
		any = any || len(f.groups) > 0
	}
	if !any {
		return between, within
	}
	var at [2]float64 // logarithms over the guesses
	score := func(at [2]float64) float64 {
		return likelihood(fs, between*math.Exp(at[0]), within*math.Exp(at[1])) - (at[0]*at[0]+at[1]*at[1])/(2*spreadDoubt*spreadDoubt)
	}
	for range 12 {
		was := at
		for i := range at {
			at[i] = highest(func(x float64) float64 {
				try := at
				try[i] = x
				return score(try)
			})
		}
		if math.Abs(at[0]-was[0])+math.Abs(at[1]-was[1]) < 1e-4 {
			break
		}
	}
	return between * math.Exp(at[0]), within * math.Exp(at[1])
}

// highest is where f is highest between -2.5 and 2.5: the best of evenly spaced places first, then by the
// golden section about it.
func highest(f func(float64) float64) float64 {
	const reach, step = 2.5, 0.5
	best, top := 0.0, math.Inf(-1)
	for x := -reach; x <= reach; x += step {
		if y := f(x); y > top {
			best, top = x, y
		}
	}
	lo, hi := best-step, best+step
	phi := (math.Sqrt(5) - 1) / 2
	a, b := hi-phi*(hi-lo), lo+phi*(hi-lo)
	fa, fb := f(a), f(b)
	for hi-lo > 1e-4 {
		if fa > fb {
			hi, b, fb = b, a, fa
			a = hi - phi*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + phi*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}

// LearnShop works out what the histories of a shop's guitars teach. The order of the guitars does not matter.
func LearnShop(hs []History) *Learned {
	hs = slices.Clone(hs)
	slices.SortStableFunc(hs, func(a, b History) int { return cmp.Compare(a.Guitar, b.Guitar) })
	l := &Learned{tools: map[string]tally{}}
	l.rates(hs)
	l.marks(hs)
	var holes, gaps, offsets []unit.Length
	l.readings = map[string]pooled{}
	l.Reading.Guess = readingGuess
	for _, h := range hs {
		taught := len(h.Removals)+len(h.Marks)+len(h.Readings)+len(h.Holes) > 0 || h.FirstGap.Finite() || h.FirstOffset.Finite()
		if taught {
			l.Guitars++
		}
		var own pooled
		for _, s := range h.Readings {
			own.squares += s.Squares
			own.free += s.N - 1
			l.Reading.N += s.N
		}
		if own.free > 0 {
			l.Reading.Guitars++
			l.readings[h.Guitar] = own
			l.reading.squares += own.squares
			l.reading.free += own.free
		}
		holes = append(holes, h.Holes...)
		if len(h.Holes) > 0 {
			l.HoleGuitars++
		}
		gaps, offsets = append(gaps, h.FirstGap), append(offsets, h.FirstOffset)
	}
	l.Reading.Value = readingOf(l.reading.squares, l.reading.free)
	l.Holes, l.FirstGap, l.FirstOffset = TypicalOf(holes), TypicalOf(gaps), TypicalOf(offsets)
	return l
}

// TypicalOf returns the mean and the standard deviation of those lengths that are finite.
func TypicalOf(values []unit.Length) Typical {
	n, mean, ss := 0, 0.0, 0.0
	for _, v := range values {
		if !v.Finite() {
			continue
		}
		n++
		d := float64(v) - mean
		mean += d / float64(n)
		ss += d * (float64(v) - mean)
	}
	t := Typical{Mean: unit.Length(mean), SD: unit.Length(math.Inf(1)), N: n}
	if n > 1 {
		t.SD = unit.Length(math.Sqrt(ss / float64(n-1)))
	}
	return t
}

// rates learns what strokes take. Depths are not logarithms and may come out near zero, so each guitar's are
// first brought to its own likeliest rate, as fitRate finds it, and the deviations about that taken as shares.
func (l *Learned) rates(hs []History) {
	l.Between, l.Pass = Estimate{Value: betweenGuitars, Guess: betweenGuitars}, Estimate{Value: passSpread, Guess: passSpread}
	var fs []family
	for range 2 { // the second time about the rates that the spreads of the first give
		fs = nil
		for _, tool := range Tools() {
			f := family{prior: math.Log(float64(tool.PerStroke)), variance: tool.SpreadLn * tool.SpreadLn}
			t := l.tools[tool.Key]
			for _, h := range hs {
				seen := teaching(tool, h.Removals)
				if len(seen) == 0 {
					continue
				}
				mean, variance := f.prior, f.variance
				if t.by != nil {
					mean, variance, _ = t.without(h.Guitar)
				}
				x, _ := fitRate(mean, variance+l.Between.Value*l.Between.Value, seen, l.Pass.Value)
				g := group{guitar: h.Guitar}
				for _, r := range seen {
					d := float64(r.Strokes) * math.Exp(x)
					g.z = append(g.z, x+float64(r.Depth)/d-1)
					g.s2 = append(g.s2, float64(r.DepthSD)*float64(r.DepthSD)/(d*d))
				}
				f.groups = append(f.groups, g)
			}
			fs = append(fs, f)
		}
		l.Between.Value, l.Pass.Value = fitSpreads(fs, betweenGuitars, passSpread)
		for i, tool := range Tools() {
			l.tools[tool.Key] = fs[i].sumUp(l.Between.Value, l.Pass.Value)
		}
	}
	guitars := map[string]bool{}
	for _, f := range fs {
		for _, g := range f.groups {
			guitars[g.guitar] = true
			l.Pass.N += len(g.z)
		}
	}
	l.Between.N, l.Between.Guitars, l.Pass.Guitars = l.Pass.N, len(guitars), len(guitars)
}

// teaching returns the removals that say something of a tool's rate.
func teaching(tool Tool, rs []Removal) []Removal {
	var out []Removal
	for _, r := range rs {
		if r.Tool == tool.Key && r.Strokes > 0 && r.Depth.Finite() && r.DepthSD > 0 && r.DepthSD.Finite() {
			out = append(out, r)
		}
	}
	return out
}

func sharesOf(guitar string, shares []Done) group {
	g := group{guitar: guitar}
	for _, s := range shares {
		if unit.Finite(s.Share) && s.SD > 0 && unit.Finite(s.SD) {
			g.z, g.s2 = append(g.z, s.Share), append(g.s2, s.SD*s.SD)
		}
	}
	return g
}

func (l *Learned) marks(hs []History) {
	f := family{prior: 1, variance: shareMeanSD * shareMeanSD}
	for _, h := range hs {
		if g := sharesOf(h.Guitar, h.Marks); len(g.z) > 0 {
			f.groups = append(f.groups, g)
		}
	}
	between, within := fitSpreads([]family{f}, shareBetween, shareWithin)
	l.shareBetween = between
	l.shares = f.sumUp(between, within)
	mean, _, n := l.shares.without("")
	l.Share = Estimate{mean, 1, n, len(f.groups)}
	l.ShareSD = Estimate{within, shareWithin, n, len(f.groups)}
}

// Rate returns the rate of a tool on a guitar: from the passes of the shop's other guitars, and the guitar's own.
func (l *Learned) Rate(tool Tool, guitar string, own []Removal) Rate {
	if l == nil {
		return LearnRate(tool, guitar, own)
	}
	own = teaching(tool, own)
	mean, variance := math.Log(float64(tool.PerStroke)), tool.SpreadLn*tool.SpreadLn
	out := Rate{Own: len(own), PassLn: l.Pass.Value}
	if t, ok := l.tools[tool.Key]; ok {
		mean, variance, out.Shop = t.without(guitar)
	}
	x, v := fitRate(mean, variance+l.Between.Value*l.Between.Value, own, l.Pass.Value)
	out.PerStroke, out.SpreadLn = unit.Length(math.Exp(x)), math.Sqrt(v)
	return out
}

// Rates lists the tools that strokes were counted with, in the order of Tools.
func (l *Learned) Rates() []ToolRate {
	var out []ToolRate
	if l == nil {
		return nil
	}
	for _, tool := range Tools() {
		if t := l.tools[tool.Key]; t.n > 0 {
			out = append(out, ToolRate{tool, l.Rate(tool, "", nil), len(t.by)})
		}
	}
	return out
}

// MarkSD returns how far a cut to marks is to be expected from its plan on a guitar, as a fraction of it: what
// the shop and this maker do otherwise than planned, how unsure that is, and what differs from pass to pass. The
// root of the mean square about the plan; MarkScatter while nothing is learned, 1 at most.
func (l *Learned) MarkSD(guitar string, own []Done) float64 {
	if l == nil {
		return MarkScatter
	}
	mean, variance, _ := l.shares.without(guitar)
	variance += l.shareBetween * l.shareBetween
	w, m, _, _ := sharesOf(guitar, own).sums(l.ShareSD.Value * l.ShareSD.Value)
	p := 1/variance + w
	mean = (mean/variance + w*m) / p
	return math.Min(1, math.Sqrt((mean-1)*(mean-1)+1/p+l.ShareSD.Value*l.ShareSD.Value))
}

// ReadingSD returns the standard deviation of one reading on a guitar, in graduations of its rule, as the shop's other
// guitars show it.
func (l *Learned) ReadingSD(guitar string) float64 {
	if l == nil {
		return readingGuess
	}
	own := l.readings[guitar]
	return readingOf(l.reading.squares-own.squares, l.reading.free-own.free)
}

// pooled is the scatter of several sets of readings: squares about their own means, and degrees of freedom.
type pooled struct {
	squares float64
	free    int
}

func readingOf(squares float64, free int) float64 {
	if free <= 0 {
		return readingGuess
	}
	return math.Sqrt((readingWeight*readingGuess*readingGuess + max(squares, 0)) / float64(readingWeight+free))
}
