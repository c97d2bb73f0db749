package climate

import (
	"math"
	"testing"
	"time"

	"fairset/internal/reftest"

	"pgregory.net/rapid"
)

func run(n int, step time.Duration, air func(i int) (t, h float64)) []Reading {
	var out []Reading
	for i := range n {
		t, h := air(i)
		out = append(out, Reading{At: at("2026-01-01 00:00:00").Add(time.Duration(i) * step), Temperature: t, Humidity: h})
	}
	return out
}

// source: by hand: a step of the air reaches 1 - 1/e of itself after one lag, 1 - e^-3 after three
func TestLagOfAStep(t *testing.T) {
	rs := run(4, 10*time.Hour, func(i int) (float64, float64) {
		if i == 0 {
			return 21, 45
		}
		return 21, 30
	})
	rs[1].At = rs[0].At.Add(time.Second) // the air changes at once
	rs[2].At = rs[1].At.Add(10 * time.Hour)
	rs[3].At = rs[1].At.Add(30 * time.Hour)
	ps := Follow(rs, 10*time.Hour)
	full := ps[1].EMC - ps[0].EMC
	reftest.Near(t, "at first", ps[0].Behind, ps[0].EMC, 1e-12)
	reftest.Near(t, "after one lag", (ps[2].Behind-ps[0].EMC)/full, 1-math.Exp(-1), 1e-4)
	reftest.Near(t, "after three", (ps[3].Behind-ps[0].EMC)/full, 1-math.Exp(-3), 1e-4)
}

// A second way: the law stepped forward in small steps by Euler's rule.
func TestLagAgainstSmallSteps(t *testing.T) {
	rs := run(40, 3*time.Hour, func(i int) (float64, float64) { return 20 + 3*math.Sin(float64(i)/3), 45 + 15*math.Sin(float64(i)/5) })
	ps := Follow(rs, 20*time.Hour)
	m, tau := ps[0].EMC, 20*3600.0
	for i := 1; i < len(ps); i++ {
		const n = 20000
		dt := 3 * 3600.0 / n
		for k := range n {
			air := ps[i-1].EMC + (ps[i].EMC-ps[i-1].EMC)*(float64(k)+0.5)/n
			m += dt * (air - m) / tau
		}
		reftest.Near(t, "step by step", ps[i].Behind, m, 1e-4) // % moisture
	}
}

func TestLagStaysBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rs := run(rapid.IntRange(1, 30).Draw(t, "n"), time.Duration(rapid.IntRange(1, 200000).Draw(t, "step"))*time.Second, func(int) (float64, float64) {
			return rapid.Float64Range(-20, 60).Draw(t, "t"), rapid.Float64Range(1, 99).Draw(t, "h")
		})
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range Follow(rs, time.Duration(rapid.IntRange(0, 1e6).Draw(t, "lag"))*time.Second) {
			low, high = min(low, p.EMC), max(high, p.EMC)
			if !(p.Behind >= low-1e-9 && p.Behind <= high+1e-9) {
				t.Fatalf("%v lies outside %v to %v", p.Behind, low, high)
			}
		}
	})
}

// source: by hand: from 40 to 60 % in a straight line half of the time lies in 45 to 55, a quarter on either side
func TestSummary(t *testing.T) {
	ps := Follow(run(2, 10*time.Hour, func(i int) (float64, float64) { return 20, 40 + 20*float64(i) }), time.Hour)
	s := Summarise(ps, Band{45, 55})
	reftest.Near(t, "inside", s.Inside, 0.5, 1e-12)
	reftest.Near(t, "drier", s.Drier, 0.25, 1e-12)
	reftest.Near(t, "damper", s.Damper, 0.25, 1e-12)
	reftest.Near(t, "mean", s.Mean, 50, 1e-12)
	if s.Low != 40 || s.High != 60 || s.Longest != 10*time.Hour || s.Count != 2 {
		t.Errorf("%+v", s)
	}
	one := Summarise(ps[:1], UsualBand())
	if one.Drier != 1 || one.Inside != 0 || one.Mean != 40 {
		t.Errorf("%+v", one)
	}
	flat := Summarise(Follow(run(3, time.Hour, func(int) (float64, float64) { return 20, 45 }), time.Hour), UsualBand())
	if flat.Inside != 1 {
		t.Errorf("at the edge: %+v", flat)
	}
	if s := Summarise(nil, UsualBand()); s.Count != 0 {
		t.Errorf("%+v", s)
	}
}

func TestNormal(t *testing.T) {
	r, err := Reading{At: at("2026-01-01 00:00:00").Add(700 * time.Millisecond), Place: "  by the   door ", Temperature: 20, Humidity: 45}.Normal()
	if err != nil || r.Place != "by the door" || r.At != at("2026-01-01 00:00:00") {
		t.Errorf("%+v %v", r, err)
	}
	for field, bad := range map[string]Reading{
		"temperature": {At: r.At, Temperature: 70, Humidity: 45}, "relative_humidity": {At: r.At, Temperature: 20, Humidity: math.NaN()},
		"at": {At: time.Time{}, Temperature: 20, Humidity: 45}, "place": {At: r.At, Place: "a\x00b", Temperature: 20, Humidity: 45},
	} {
		_, err := bad.Normal()
		reftest.RangeError(t, err, field)
	}
}
