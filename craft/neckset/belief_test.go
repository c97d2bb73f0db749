package neckset_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"
)

func TestBelief(t *testing.T) {
	b := neckset.Unknown()
	if b.Known() {
		t.Error("known before any reading")
	}
	if b.Cut(1*mm, 0.1*mm).Known() {
		t.Error("a cut made it known")
	}
	b, surprise := b.Read(7*mm, 0.3*mm)
	if surprise != 0 || b.Mean != 7*mm || b.SD != 0.3*mm {
		t.Errorf("first reading: %v, surprise %v", b, surprise)
	}
	// source: hand derivation: two equal spreads give the mean, and the spread over root two.
	b, surprise = b.Read(7.6*mm, 0.3*mm)
	NearMM(t, "mean", b.Mean, 7.3, 1e-9)
	NearMM(t, "sd", b.SD, 0.3/math.Sqrt2, 1e-9)
	Near(t, "surprise", surprise, 0.6/(0.3*math.Sqrt2), 1e-9)
	// source: 3-4-5.
	c := neckset.Belief{Mean: 5 * mm, SD: 0.3 * mm}.Cut(-1*mm, 0.4*mm)
	NearMM(t, "mean after cut", c.Mean, 4, 1e-9)
	NearMM(t, "sd after cut", c.SD, 0.5, 1e-9)
	// source: the normal distribution holds 68.27 % within one standard deviation (standard table).
	Near(t, "within one sd", neckset.Belief{Mean: 5 * mm, SD: 1 * mm}.Within(5*mm, 1*mm), 0.6827, 5e-5)
	if neckset.Unknown().Within(0, 1) != 0 {
		t.Error("unknown is within something")
	}
	if b, s := (neckset.Belief{Mean: 1 * mm}).Read(1*mm, 0); s != 0 || b.Mean != 1*mm {
		t.Error("two exact readings that agree")
	}
	if _, s := (neckset.Belief{Mean: 1 * mm}).Read(2*mm, 0); !math.IsInf(s, 1) {
		t.Error("two exact readings that differ")
	}
}

// In whatever order readings come the belief is the same, and none makes it less sure.
func TestBeliefOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type reading struct{ v, sd unit.Length }
		n := rapid.IntRange(2, 6).Draw(t, "n")
		var rs []reading
		for range n {
			rs = append(rs, reading{unit.Length(rapid.Float64Range(-10, 10).Draw(t, "v")) * mm, unit.Length(rapid.Float64Range(0.01, 2).Draw(t, "sd")) * mm})
		}
		all := func(rs []reading) neckset.Belief {
			b := neckset.Unknown()
			for _, r := range rs {
				before := b.SD
				b, _ = b.Read(r.v, r.sd)
				if b.SD > before || b.SD > r.sd {
					t.Fatalf("less sure: %v after %v", b.SD, before)
				}
			}
			return b
		}
		a := all(rs)
		z := all(rapid.Permutation(rs).Draw(t, "order"))
		Near(t, "mean", a.Mean.MM(), z.Mean.MM(), 1e-9)
		Near(t, "sd", a.SD.MM(), z.SD.MM(), 1e-9)
	})
}

func TestCombine(t *testing.T) {
	one := neckset.Combine([]unit.Length{7 * mm}, 0.5*mm)
	if one.N != 1 || !one.Agree || one.Mean != 7*mm {
		t.Errorf("%+v", one)
	}
	NearMM(t, "one reading: half a graduation", one.SD, 0.25, 1e-9) // source: common practice, no source
	// source: hand derivation: a value spread evenly over one graduation deviates by its twelfth root.
	many := neckset.Combine([]unit.Length{7 * mm, 7 * mm, 7 * mm, 7 * mm, 7 * mm, 7 * mm, 7 * mm, 7 * mm}, 0.5*mm)
	NearMM(t, "never finer than the rule", many.SD, 0.5/math.Sqrt(12), 1e-9)
	two := neckset.Combine([]unit.Length{7 * mm, 7.5 * mm}, 0.5*mm)
	if !two.Agree || two.SD >= one.SD {
		t.Errorf("two readings a graduation apart: %+v", two)
	}
	off := neckset.Combine([]unit.Length{7 * mm, 8.5 * mm}, 0.5*mm)
	if off.Agree || off.SD <= two.SD {
		t.Errorf("two readings three graduations apart: %+v", off)
	}
	if s := neckset.Combine([]unit.Length{off.Mean, 7.4 * mm, unit.Length(math.NaN())}, 0.5*mm); s.N != 2 || !s.Mean.Finite() {
		t.Errorf("%+v", s)
	}
	if s := neckset.Combine(nil, 0.5*mm); s.N != 0 || s.SD.Finite() {
		t.Errorf("%+v", s)
	}
	if s := neckset.Combine([]unit.Length{7 * mm}, 0); s.SD.Finite() {
		t.Errorf("one reading by no rule: %+v", s)
	}
}
