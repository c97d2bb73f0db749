package neckset_test

import (
	"math"
	"reflect"
	"testing"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"
)

func everySpread() []neckset.Spread {
	return []neckset.Spread{
		{"scale_length", 0.5e-3}, {"saddle_setback", 0.4e-3}, {"joint_offset", 0.5e-3}, {"board_thickness", 0.1e-3}, {"fret_crown", 0.05e-3},
		{"neck_proud", 0.1e-3}, {"relief", 0.05e-3}, {"relief_unstrung", 0.05e-3}, {"joint_fold", 0.02 * float64(unit.Degree)}, {"top_rise", 0.25e-3},
		{"bridge_thickness", 0.2e-3}, {"saddle_projection", 0.3e-3}, {"nut_height", 0.05e-3}, {"action12", 0.15e-3}, {"top_radius", 0.5}, {"top_apex", 20e-3},
	}
}

// The first-order spread against drawn inputs put through the whole formula: a second route.
func TestBudgetAgainstDraws(t *testing.T) {
	const trials = 100_000
	for name, b := range map[string]neckset.Build{"domed": steelDome(), "flat": twelveFlat()} {
		got, err := b.Budget(everySpread(), trials, 42)
		if err != nil {
			t.Fatal(err)
		}
		// The standard deviation of n normal draws scatters by about 1/sqrt(2 n) of itself: 0.22 % here. Four of
		// those, and 0.3 % for what is not linear.
		tol := got.GapSD.MM() * (4/math.Sqrt(2*trials) + 0.003)
		NearMM(t, name+" spread by draws", got.CheckSD, got.GapSD.MM(), tol)
		parts, ss := 0.0, 0.0
		for i, s := range got.Shares {
			parts += s.Part
			ss += float64(s.Effect) * float64(s.Effect)
			if i > 0 && s.Effect > got.Shares[i-1].Effect {
				t.Errorf("%s: shares out of order at %s", name, s.Field)
			}
		}
		Near(t, name+" parts", parts, 1, 1e-9)
		Near(t, name+" spread from effects, mm", math.Sqrt(ss)*1000, got.GapSD.MM(), 1e-9)
		if len(got.Shares) != 16 || got.Trials != trials {
			t.Errorf("%d shares, %d trials", len(got.Shares), got.Trials)
		}
	}
}

func TestBudgetSlopesByHand(t *testing.T) {
	// source: derived; the gap is linear in these, so the slopes can be read off the formula.
	b := steelDome()
	target, _, err := b.Target()
	if err != nil {
		t.Fatal(err)
	}
	got, err := b.Budget(everySpread(), 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	D, l, k := target.SaddleDistance.MM(), target.NutToJoint.MM(), (632+2.2)/(632.0/2)
	want := map[string]float64{
		"bridge_thickness": 1, "saddle_projection": 1, "top_rise": 1, "action12": -k, "nut_height": k - 1,
		"relief_unstrung": -4 * D / l, "board_thickness": 0, "fret_crown": 0, "neck_proud": 0, "top_radius": 0, "top_apex": 0,
		"joint_fold": D / 1000, // metres a radian
	}
	n := 0
	for _, s := range got.Shares {
		if w, ok := want[s.Field]; ok {
			Near(t, "slope of "+s.Field, s.Slope, w, 1e-6)
			n++
		}
	}
	if n != len(want) {
		t.Errorf("%d of %d slopes seen", n, len(want))
	}
}

func TestBudgetSeeded(t *testing.T) {
	one := func(seed uint64) neckset.Budget {
		b, err := steelDome().Budget(everySpread(), 500, seed)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	if !reflect.DeepEqual(one(1), one(1)) {
		t.Error("the same seed gave two answers")
	}
	if one(1).CheckSD == one(2).CheckSD {
		t.Error("another seed gave the same draws")
	}
}

func TestBudgetRefuses(t *testing.T) {
	for _, tc := range []struct {
		field   string
		spreads []neckset.Spread
		trials  int
	}{
		{"bridge_thickness", []neckset.Spread{{"bridge_thickness", -0.1e-3}}, 0},
		{"bridge_thickness", []neckset.Spread{{"bridge_thickness", math.NaN()}}, 0},
		{"bridge_thickness", []neckset.Spread{{"bridge_thickness", math.Inf(1)}}, 0},
		{"bridge_thickness", []neckset.Spread{{"bridge_thickness", 1}}, 0},
		{"relief", []neckset.Spread{{"relief", 1e-5}, {"relief", 1e-5}}, 0},
		{"joint_fret", []neckset.Spread{{"joint_fret", 1}}, 0},
		{"glue", []neckset.Spread{{"glue", 1}}, 0},
		{"trials", nil, -1},
		{"trials", nil, 1 << 40},
	} {
		_, err := steelDome().Budget(tc.spreads, tc.trials, 1)
		RangeError(t, err, tc.field)
	}
	got, err := steelDome().Budget(nil, 100, 1)
	if err != nil || got.GapSD != 0 || got.CheckSD != 0 {
		t.Errorf("no spreads: %+v, %v", got, err)
	}
}
