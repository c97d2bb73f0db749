package stringset

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"
)

// A second route to the tight line: of all lines over the crowns, bending down only at some of them, the shortest that
// cuts none. Every choice of crowns is tried.
func TestTautAgainstEveryChoice(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	for range 300 {
		n := r.IntN(8)
		a, b := point{0, r.Float64()}, point{1, r.Float64() - 0.5}
		between := make([]point, n)
		for i := range between {
			between[i] = point{(float64(i) + 0.2 + 0.6*r.Float64()) / float64(max(n, 1)), 0.6 * (r.Float64() - 0.5)}
		}
		best := math.Inf(1)
		for choice := range 1 << n {
			line := []point{a}
			for i, p := range between {
				if choice>>i&1 == 1 {
					line = append(line, p)
				}
			}
			line = append(line, b)
			length, k, free := 0.0, 0, true
			for i := 1; i < len(line); i++ {
				p, q := line[i-1], line[i]
				length += p.to(q)
				for ; k < n && between[k].x <= q.x; k++ {
					if c := between[k]; p.y+(q.y-p.y)*(c.x-p.x)/(q.x-p.x) < c.y-1e-12 {
						free = false
					}
				}
			}
			if free {
				best = min(best, length)
			}
		}
		got, cos := taut(a, b, between)
		reftest.Near(t, "tight line", got, best, 1e-12)
		const h = 1e-6
		far, _ := taut(point{a.x - h, a.y}, b, between)
		near, _ := taut(point{a.x + h, a.y}, b, between)
		reftest.Near(t, "direction of the first leg", cos, (far-near)/(2*h), 1e-5)
	}
}

func TestSlopesAgainstDifferences(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 1))
	sets := Sets()
	for range 80 {
		s := sets[r.IntN(len(sets)-2)].Strings[r.IntN(6)]
		set := Setup{ScaleLength: unit.Length(600+70*r.Float64()) * unit.MM, Frets: 20, NutHeight: 0.5 * unit.MM, SaddleHeight: unit.Length(3+3*r.Float64()) * unit.MM,
			Press: unit.Length(0.3*r.Float64()) * unit.MM, Relief: 0.2 * unit.MM, ReliefEndFret: 14, Ends: Ends(EndChoices()[r.IntN(4)]), Beyond: 100 * unit.MM, Path: []Path{Full, Basic}[r.IntN(2)], FitFrets: 12, Capo: Capo{Fret: r.IntN(4)}}
		m, _, err := New(s, set)
		if err != nil {
			t.Fatal(err)
		}
		nut, saddle := 0.001*r.Float64(), 0.005*r.Float64()
		st := m.begin(nut, saddle)
		const h = 2e-6
		for n := m.first; n <= m.last; n++ {
			got := m.note(&st, n)
			diff := func(dn, ds float64) float64 {
				up, down := m.begin(nut+dn, saddle+ds), m.begin(nut-dn, saddle-ds)
				return (m.note(&up, n).v - m.note(&down, n).v) / (2 * h)
			}
			reftest.Near(t, "slope with the saddle", got.saddle, diff(0, h), 0.02) // cents per metre, of some thousands
			reftest.Near(t, "slope with the nut", got.nut, diff(h, 0), 0.02)
		}
	}
}

// source: chi-squared tables, upper 5 % and 1 % points (textbook, from memory)
func TestChiSquaredTail(t *testing.T) {
	for _, c := range []struct {
		n       int
		x, want float64
	}{{1, 3.841, 0.05}, {2, 5.991, 0.05}, {5, 11.070, 0.05}, {10, 18.307, 0.05}, {1, 6.635, 0.01}, {2, 9.210, 0.01}, {5, 15.086, 0.01}, {10, 23.209, 0.01}} {
		reftest.Near(t, "tail", chiSquaredTail(c.x, c.n), c.want, 0.003)
	}
}

func TestSolve(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 50 {
		var A, B [nudges][nudges]float64
		var x, b [nudges]float64
		for i := range nudges {
			x[i] = r.NormFloat64()
			for j := range nudges {
				B[i][j] = r.NormFloat64()
			}
		}
		for i := range nudges {
			for j := range nudges {
				for k := range nudges {
					A[i][j] += B[k][i] * B[k][j]
				}
			}
			A[i][i]++
		}
		for i := range nudges {
			for j := range nudges {
				b[i] += A[i][j] * x[j]
			}
		}
		got := solve(A, b)
		for i := range nudges {
			reftest.Near(t, "solved", got[i], x[i], 1e-9)
		}
	}
}

// Whatever is accepted gives finite figures, and the best places are never worse than none.
func TestWhateverIsAcceptedIsComputed(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	pick := func(field string) float64 {
		l := fieldLimits[field]
		switch k := r.IntN(8); {
		case k == 0:
			return l.Min
		case k == 1:
			return l.Max
		case l.Min > 0: // over orders of size
			return min(l.Max, max(l.Min, l.Min*math.Pow(l.Max/l.Min, r.Float64())))
		default:
			return l.Min + (l.Max-l.Min)*r.Float64()
		}
	}
	length := func(field string) unit.Length { return unit.Length(pick(field)) }
	accepted := 0
	for range 6000 {
		s := String{Pitch: unit.Frequency(pick("pitch")), Kind: Plain, Diameter: length("diameter"), Density: unit.Density(pick("density")), Young: unit.Stress(pick("young"))}
		if r.IntN(2) == 0 {
			s.Kind, s.CoreDiameter, s.WrapDensity = Wound, length("core_diameter"), unit.Density(pick("wrap_density"))
		}
		frets := 1 + r.IntN(MostFrets)
		set := Setup{ScaleLength: length("scale_length"), Frets: frets, NutHeight: length("nut_height"), SaddleHeight: length("saddle_height"), Press: length("press"), Finger: length("finger"),
			Relief: length("relief"), ReliefEndFret: 1 + r.IntN(MostFrets), Ends: Ends(EndChoices()[r.IntN(4)]), Beyond: length("beyond"), Path: []Path{Full, Basic}[r.IntN(2)], FitFrets: 1 + r.IntN(frets)}
		if r.IntN(3) == 0 {
			set.Capo = Capo{Fret: r.IntN(frets), Press: length("capo_press"), Behind: length("capo_behind")}
		}
		m, _, err := New(s, set)
		if err != nil {
			continue
		}
		accepted++
		none, one, two := m.setback(0, 0), m.SaddleOnly(), m.NutAndSaddle()
		for _, b := range []Setback{none, one, two} {
			if !unit.Finite(b.RMS) {
				t.Fatalf("%+v %+v: %+v", s, set, b)
			}
		}
		if one.RMS > none.RMS+1e-9 || two.RMS > one.RMS*(1+1e-6)+1e-9 {
			t.Errorf("%+v %+v: none %g, saddle %g, both %g", s, set, none.RMS, one.RMS, two.RMS)
		}
		if octave, ok := m.Octave(0); ok && math.Abs(m.cents(0, float64(octave))[11]) > 1e-6 {
			t.Errorf("%+v %+v: the octave is not true", s, set)
		}
		if far := two.Saddle.Abs() > 12*unit.MM || two.Nut.Abs() > 4*unit.MM; far && len(two.Doubts()) == 0 {
			t.Errorf("%v at the nut, %v at the saddle, and no doubt", two.Nut, two.Saddle)
		}
	}
	if accepted < 2000 {
		t.Errorf("only %d accepted", accepted)
	}
}
