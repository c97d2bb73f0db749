package strungup_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/strungup"
	"fairset/internal/reftest"
	"fairset/unit"
)

const mm = unit.MM

// reference is the neck of the reference cases: half an ellipse under a 6 mm board, straight tapers.
func reference(length, b0, b1, d0, d1, s0, s1 float64) strungup.Beam {
	w := func(v float64) unit.Length { return unit.Length(v) * mm }
	return strungup.Beam{
		Neck: strungup.Neck{Modulus: 10e9, BoardModulus: 12e9,
			Stations: []strungup.Station{{At: 0, Width: w(b0), Depth: w(d0)}, {At: unit.Length(length), Width: w(b1), Depth: w(d1)}}},
		Board: 6 * mm, Length: unit.Length(length), Tension: 700, StringNut: w(s0), StringEnd: w(s1),
	}
}

func bend(t testing.TB, b strungup.Beam) strungup.Bend {
	t.Helper()
	got, err := b.Bend()
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// source: independent calculation, worked cases of a neck under its strings (stated error under 1e-6)
func TestNeckReliefCases(t *testing.T) {
	for _, c := range []struct {
		name                      string
		beam                      strungup.Beam
		nut, body, first, secondM float64
	}{
		{"f1", reference(0.620, 43, 56, 15, 17, 0.5, 4.0), 257.504, 436.413, 1.137297e-3, 1.240253e-3},
		{"f2", reference(0.360, 43, 54, 15, 17, 0.5, 2.5), 257.504, 420.827, 3.66415e-4, 3.77200e-4},
		{"f3", reference(0.620, 48, 48, 16, 16, 2, 2), 328.872, 328.872, 1.147955e-3, 1.254667e-3},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, s := range []struct {
				at   unit.Length
				want float64
			}{{0, c.nut}, {c.beam.Length, c.body}} {
				sec, err := c.beam.SectionAt(s.at)
				if err != nil {
					t.Fatal(err)
				}
				reftest.Near(t, "EI in N·m²", sec.Bending, s.want, 6e-4) // printed to 0.001
			}
			b := bend(t, c.beam)
			mid := c.beam.Length / 2
			reftest.Near(t, "mid, first order, m", float64(b.FirstOrder(mid)), c.first, 1e-9) // printed to 1e-9 m
			reftest.Near(t, "mid, second order, m", float64(b.Depth(mid)), c.secondM, 1.5e-9)
		})
	}
}

// source: closed forms of a uniform beam, derived by hand in docs/method/strungup.md
func TestUniformNeckByHand(t *testing.T) {
	beam := reference(0.620, 48, 48, 16, 16, 2, 2)
	b := bend(t, beam)
	sec, err := beam.SectionAt(0.3)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "elastic axis below the board's face", sec.Axis, 9.224332, 1e-6) // source: worked case f3
	T, e, l, ei := 700.0, 0.002+0.009224332, 0.620, sec.Bending
	reftest.Near(t, "T e l²/(8 EI)", float64(b.FirstOrder(0.31)), T*e*l*l/(8*ei), 1e-10)
	k := math.Sqrt(T / ei)
	reftest.Near(t, "e (sec(kl/2) - 1)", float64(b.Depth(0.31)), e*(1/math.Cos(k*l/2)-1), 1e-10)
	reftest.Near(t, "end slope e k tan(kl/2)", float64(b.Slope(0)), e*k*math.Tan(k*l/2), 1e-9)
	reftest.Near(t, "end slope at the joint", float64(b.Slope(0.620)), -e*k*math.Tan(k*l/2), 1e-9)
	reftest.Near(t, "nut against joint", float64(b.NutTurn()), 2*e*k*math.Tan(k*l/2), 2e-9)
	// v = e (cos(k(l/2 - u))/cos(kl/2) - 1) between the points of the solution too
	for _, u := range []float64{0.013, 0.1777, 0.4242, 0.6} {
		reftest.Near(t, "shape", float64(b.Depth(unit.Length(u))), e*(math.Cos(k*(l/2-u))/math.Cos(k*l/2)-1), 1e-9)
		reftest.Near(t, "slope", float64(b.Slope(unit.Length(u))), e*k*math.Sin(k*(l/2-u))/math.Cos(k*l/2), 1e-7)
	}
}

// Closed forms against slices a thousandth of the depth thick.
func TestSectionsAgainstSlices(t *testing.T) {
	for _, c := range []struct {
		full float64
		ch   strungup.Channel
	}{{1, strungup.Channel{}}, {1.6, strungup.Channel{}}, {2, strungup.Channel{}}, {2, strungup.Channel{Width: 6 * mm, Depth: 9 * mm}}, {3.3, strungup.Channel{}}, {8, strungup.Channel{}}} {
		beam := reference(0.4, 50, 50, 17, 17, 1, 1)
		beam.Fullness, beam.Channel = c.full, c.ch
		sec, err := beam.SectionAt(0.2)
		if err != nil {
			t.Fatal(err)
		}
		const n = 200000
		b, d, hb := 0.050, 0.017, 0.006
		var ea, es, ei, area, first float64
		slice := func(z, dz, w, e float64) { ea += e * w * dz; es += e * w * dz * z; ei += e * w * dz * z * z }
		for i := range n {
			z := (float64(i) + 0.5) * d / n
			w := b * math.Pow(1-math.Pow(z/d, c.full), 1/c.full)
			if z < float64(c.ch.Depth) {
				w -= float64(c.ch.Width)
			}
			area += w * d / n
			first += w * d / n * z
			slice(z, d/n, w, 10e9)
			slice(-hb+(float64(i)+0.5)*hb/n, hb/n, b, 12e9)
		}
		axis := es / ea
		name := fmt.Sprintf("fullness %v channel %v", c.full, c.ch)
		// source: computed here by summing 200,000 slices
		reftest.Near(t, name+": area", sec.Area/area, 1, 1e-6)
		reftest.NearMM(t, name+": centroid", sec.Centroid, first/area*1000, 1e-4)
		reftest.NearMM(t, name+": axis", sec.Axis, (axis+hb)*1000, 1e-4)
		reftest.Near(t, name+": EI", sec.Bending/(ei-ea*axis*axis), 1, 1e-5)
	}
	// source: textbook, from memory, and derived in the method page: half ellipse, and a triangle b d³/36
	beam := reference(0.4, 50, 50, 17, 17, 1, 1)
	sec, _ := beam.SectionAt(0)
	reftest.Near(t, "half ellipse area", sec.Area, math.Pi*0.050*0.017/4, 1e-15)
	reftest.Near(t, "half ellipse centroid", float64(sec.Centroid), 4*0.017/(3*math.Pi), 1e-15)
	reftest.Near(t, "half ellipse I", sec.Second*1e12, 0.025*math.Pow(0.017, 3)*(math.Pi/8-8/(9*math.Pi))*1e12, 1e-9)
	beam.Fullness = 1
	sec, _ = beam.SectionAt(0)
	reftest.Near(t, "V area", sec.Area, 0.050*0.017/2, 1e-15)
	reftest.Near(t, "V I", sec.Second*1e12, 0.050*math.Pow(0.017, 3)/36*1e12, 1e-9)
}

// differences solves EI v” = -load - T v by finite differences: another method, with its own sections and
// its own elimination, on a grid so fine that halving it changes nothing that matters.
func differences(b strungup.Beam, n int) (v []float64, step float64) {
	l := float64(b.Length)
	h := l / float64(n)
	at := func(u float64) (load, give float64) {
		st := b.Stations
		w, d := float64(st[0].Width), float64(st[0].Depth)
		for i := 1; i < len(st); i++ {
			a, z := float64(st[i-1].At), float64(st[i].At)
			if u >= a {
				k := math.Min((u-a)/(z-a), 1)
				w = float64(st[i-1].Width) + k*float64(st[i].Width-st[i-1].Width)
				d = float64(st[i-1].Depth) + k*float64(st[i].Depth-st[i-1].Depth)
			}
		}
		hb := float64(b.Board)
		en, eb := float64(b.Modulus), float64(b.BoardModulus)
		// half ellipse from its published properties
		an, cn, in := math.Pi*w*d/4, 4*d/(3*math.Pi), w/2*d*d*d*(math.Pi/8-8/(9*math.Pi))
		ab := w * hb
		z := (en*an*cn - eb*ab*hb/2) / (en*an + eb*ab)
		ei := en*(in+an*(cn-z)*(cn-z)) + eb*(ab*hb*hb/12+ab*(hb/2+z)*(hb/2+z))
		load = float64(b.Tension) * (float64(b.StringNut) + float64(b.StringEnd-b.StringNut)*u/l + hb + z)
		if r := b.Rod; r.Stiffness > 0 && u >= float64(r.From) && u <= float64(r.To) {
			ei += r.Stiffness
			load += r.Stiffness * 8 * float64(r.Bow) / math.Pow(float64(r.To-r.From), 2)
		}
		return load / ei, float64(b.Tension) / ei
	}
	// Thomas: v[i-1] - (2 - h² give) v[i] + v[i+1] = -h² load
	c, d := make([]float64, n+1), make([]float64, n+1)
	for i := 1; i < n; i++ {
		load, give := at(float64(i) * h)
		den := -(2 - h*h*give) - c[i-1]
		c[i] = 1 / den
		d[i] = (-h*h*load - d[i-1]) / den
	}
	v = make([]float64, n+1)
	for i := n - 1; i > 0; i-- {
		v[i] = d[i] - c[i]*v[i+1]
	}
	return v, h
}

func TestTaperedNeckAgainstFiniteDifferences(t *testing.T) {
	b := reference(0.380, 43, 55, 14, 18, 1.5, 6)
	b.Stations = []strungup.Station{{At: 0, Width: 43 * mm, Depth: 14 * mm}, {At: 90 * mm, Width: 45 * mm, Depth: 13.5 * mm}, {At: 240 * mm, Width: 50 * mm, Depth: 16 * mm}, {At: 310 * mm, Width: 53 * mm, Depth: 19 * mm}, {At: 380 * mm, Width: 55 * mm, Depth: 31 * mm}}
	for _, c := range []struct {
		name string
		rod  strungup.Rod
		tol  float64 // m; the differences are coarse where a rod begins or ends
	}{
		{"no rod", strungup.Rod{}, 2e-10},
		{"bar", strungup.Rod{Stiffness: 90, From: 10 * mm, To: 370 * mm}, 3e-9},
		{"rod bowed back", strungup.Rod{Stiffness: 60, Bow: -1.5 * mm, From: 20 * mm, To: 350 * mm}, 3e-8},
	} {
		b.Rod = c.rod
		got := bend(t, b)
		v, h := differences(b, 200000)
		worst := 0.0
		for i := 0; i <= 200000; i += 500 {
			u := float64(i) * h
			d := math.Abs(float64(got.Depth(unit.Length(u))) - v[i])
			worst = math.Max(worst, d)
		}
		slope := (-3*v[0] + 4*v[1] - v[2]) / (2 * h)
		t.Logf("%s: mid %.6f mm, largest difference %.2g mm, slope at the nut off by %.2g rad", c.name, v[100000]*1e3, worst*1e3, float64(got.Slope(0))-slope)
		if worst > c.tol {
			t.Errorf("%s: differs by %g m, more than %g", c.name, worst, c.tol)
		}
		reftest.Near(t, c.name+": slope at the nut", float64(got.Slope(0)), slope, 1e-6)
	}
}

func TestRodByHand(t *testing.T) {
	b := reference(0.620, 48, 48, 16, 16, 2, 2)
	b.Tension = 0
	b.Rod = strungup.Rod{Stiffness: 100, Bow: -2 * mm}
	sec, err := b.SectionAt(0)
	if err != nil {
		t.Fatal(err)
	}
	// source: derived by hand: without strings the neck takes the share EI_rod/(EI + EI_rod) of the rod's bow
	got := bend(t, b)
	reftest.NearMM(t, "bow", got.Depth(0.31), -2*100/(100+sec.Bending), 1e-9)
	// source: derived by hand: a rod of the neck's own stiffness halves the bend (first order)
	b.Tension, b.Rod = 700, strungup.Rod{Stiffness: sec.Bending}
	with := bend(t, b)
	b.Rod = strungup.Rod{}
	without := bend(t, b)
	reftest.Near(t, "halved", float64(with.FirstOrder(0.31)/without.FirstOrder(0.31)), 0.5, 1e-9)
}

func TestNecksBehave(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(r, name) }
		b := reference(f("length", 0.2, 0.5), f("b0", 40, 50), f("b1", 50, 60), f("d0", 13, 17), f("d1", 15, 20), f("s0", 1, 2), f("s1", 3, 9))
		b.Fullness = f("fullness", 1, 5)
		b.Tension = unit.Force(f("tension", 200, 900))
		mid := b.Length / 2
		depth := func(b strungup.Beam) float64 {
			got, err := b.Bend()
			if err != nil {
				r.Fatal(err)
			}
			return float64(got.Depth(mid))
		}
		base := depth(b)
		if base <= 0 {
			r.Fatalf("strings bowed the neck back: %g", base)
		}
		more := b
		more.Tension *= 1.1
		if d := depth(more); d <= base*1.1 {
			r.Fatalf("a tenth more tension gives %g, not over a tenth more than %g", d, base)
		}
		stiff := b
		stiff.Modulus *= 1.2
		if depth(stiff) >= base {
			r.Fatal("stiffer wood bends no less")
		}
		fuller := b
		fuller.Fullness = b.Fullness + 1
		if depth(fuller) >= base {
			r.Fatal("a fuller back bends no less")
		}
		// Everything k times as large under k² times the pull bends k times as far.
		k := unit.Length(1.3)
		big := b
		big.Length, big.Board, big.StringNut, big.StringEnd, big.Tension = k*b.Length, k*b.Board, k*b.StringNut, k*b.StringEnd, b.Tension*1.69
		big.Stations = nil
		for _, s := range b.Stations {
			big.Stations = append(big.Stations, strungup.Station{At: k * s.At, Width: k * s.Width, Depth: k * s.Depth})
		}
		got, err := big.Bend()
		if err != nil {
			r.Fatal(err)
		}
		if q := float64(got.Depth(k*mid)) / base; math.Abs(q-1.3) > 2e-8 { // rounding may give one step more
			r.Fatalf("scaled by 1.3 it bends %v times as far", q)
		}
	})
}

// A hollow neck stands further from its strings: the parabola's moment bends a uniform neck like an even load.
// source: by hand, 5 M l²/(48 EI) in the middle for a moment 4 M u (l - u)/l²
func TestHollowLengthensTheLever(t *testing.T) {
	b := reference(0.620, 48, 48, 16, 16, 2, 2)
	sec, err := b.SectionAt(0)
	if err != nil {
		t.Fatal(err)
	}
	straight := bend(t, b).FirstOrder(0.31)
	b.Hollow = 0.8 * mm
	more := bend(t, b).FirstOrder(0.31) - straight
	reftest.Near(t, "more bend in m", float64(more), 5*700*0.0008*0.62*0.62/(48*sec.Bending), 1e-11)
}

func TestSlenderNeckBuckles(t *testing.T) {
	b := reference(0.8, 22, 22, 7, 7, 2, 2)
	b.Board = 2 * mm
	sec, err := b.SectionAt(0)
	if err != nil {
		t.Fatal(err)
	}
	euler := math.Pi * math.Pi * sec.Bending / (0.8 * 0.8) // source: Euler's load of a pinned column
	b.Tension = unit.Force(0.9 * euler)
	if _, err := b.Bend(); err != nil {
		t.Errorf("below Euler's load: %v", err)
	}
	for _, k := range []float64{1.001, 1.5, 4.2, 9.5} {
		b.Tension = unit.Force(k * euler)
		_, err := b.Bend()
		reftest.RangeError(t, err, "tension")
	}
}

func BenchmarkBend(b *testing.B) {
	n := reference(0.360, 43, 54, 15, 17, 0.5, 2.5)
	for b.Loop() {
		if _, err := n.Bend(); err != nil {
			b.Fatal(err)
		}
	}
}
