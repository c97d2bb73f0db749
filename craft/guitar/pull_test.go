package guitar

import (
	"testing"

	"fairset/craft/neckset"
	"fairset/internal/reftest"
	"fairset/unit"
)

func aimOf(t testing.TB, d Values) neckset.Target {
	t.Helper()
	target, _, err := Build(d).Target()
	if err != nil {
		t.Fatal(err)
	}
	return target
}

func TestTheTargetGoesByWhatIsWorkedOut(t *testing.T) {
	for _, b := range Bases() {
		typed := b.Values
		was := aimOf(t, typed)

		// Setback from the strings: the saddle's own line, and nothing else moves.
		d := over(t, typed, "setback_from", FromStrings)
		in, err := IntonationOf(d)
		if err != nil {
			t.Fatal(err)
		}
		got := Build(d)
		if got.SaddleSetback != in.Centre {
			t.Errorf("%s: setback %v, saddle at %v", b.Key, got.SaddleSetback, in.Centre)
		}
		got.SaddleSetback = Build(typed).SaddleSetback
		if got != Build(typed) {
			t.Errorf("%s: more than the setback has moved", b.Key)
		}
		// source: common practice, no source: saddles stand 1 to 5 mm behind the scale length
		if in.Centre < 1*unit.MM || in.Centre > 5*unit.MM {
			t.Errorf("%s: the saddle would stand %v back", b.Key, in.Centre)
		}

		// Pull from the neck: the neck set's own target is the chain's.
		d = over(t, typed, "pull_from", FromNeck)
		r, _, err := Chain(d)
		if err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, b.Key+" target from the neck", aimOf(t, d).GapOnFrets, r.GapTarget.MM(), 1e-6)
		if r.AddedRelief <= 0 || r.GapTarget == was.GapOnFrets {
			t.Errorf("%s: strings add %v", b.Key, r.AddedRelief)
		}

		// All of it at once: saddle and neck each hold with the other as it came out.
		d = over(t, d, "setback_from", FromStrings, "tension_from", FromStrings)
		all, _, err := Chain(d)
		if err != nil {
			t.Fatal(err)
		}
		in, err = IntonationOf(d)
		if err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, b.Key+" target from both", aimOf(t, d).GapOnFrets, all.GapTarget.MM(), 1e-5)
		reftest.NearMM(t, b.Key+" relief the saddle was found with", in.Strung[0].Relief, all.ReliefStrung.MM(), 1e-3)
		if Tension(d) != in.Balance.Total || Tension(typed) != typed.Force("string_tension") {
			t.Errorf("%s: pull %v, strings %v, typed %v", b.Key, Tension(d), in.Balance.Total, typed.Force("string_tension"))
		}

		// The typed figures were kept, and are gone back to.
		d = over(t, d, "setback_from", FromTyped, "pull_from", FromTyped, "tension_from", FromTyped)
		if aimOf(t, d) != was {
			t.Errorf("%s: going back to typed figures gives another target", b.Key)
		}
	}
}

// source: strungup's rule: with an adjustable rod the relief wanted is held and the neck starts flatter, or
// bowed back, by what the strings add; without one it starts as typed and the strings add to it.
func TestTheRodSaysWhichReliefFollows(t *testing.T) {
	d := designOf(t, "pull_from", FromNeck, "relief", "0.15", "relief_unstrung", "0.05")
	r, _, err := Chain(d)
	if err != nil {
		t.Fatal(err)
	}
	b := Build(d)
	reftest.NearMM(t, "held relief", b.Relief, 0.15, 1e-9)
	reftest.NearMM(t, "unstrung", b.ReliefUnstrung, (0.15*unit.MM - r.AddedRelief).MM(), 1e-6)
	d = over(t, d, "rod", "dead")
	if r, _, err = Chain(d); err != nil {
		t.Fatal(err)
	}
	b = Build(d)
	reftest.NearMM(t, "unstrung as typed", b.ReliefUnstrung, 0.05, 1e-9)
	reftest.NearMM(t, "strung", b.Relief, (0.05*unit.MM + r.AddedRelief).MM(), 1e-6)

	stiff, _, err := Chain(over(t, d, "rod_stiffness", "300"))
	if err != nil {
		t.Fatal(err)
	}
	none, _, err := Chain(over(t, d, "rod", "none", "rod_stiffness", ""))
	if err != nil {
		t.Fatal(err)
	}
	if !(stiff.AddedRelief < r.AddedRelief && r.AddedRelief < none.AddedRelief) {
		t.Errorf("strings add %v with a stiff rod, %v with the usual, %v without", stiff.AddedRelief, r.AddedRelief, none.AddedRelief)
	}
	// source: derived: the bend goes inversely as the stiffness; double modulus of both woods and no rod, to
	// first order half the bend
	twice, _, err := Chain(over(t, d, "rod", "none", "rod_stiffness", "", "neck_modulus", "22.66", "board_modulus", "27.06"))
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "twice as stiff", float64(none.FirstOrder/twice.FirstOrder), 2, 0.01)
}

// source: by hand: the fold is the moment over the joint's stiffness.
func TestAJointsStiffnessFoldsIt(t *testing.T) {
	r, _, err := Chain(designOf(t, "joint_stiffness", "12000"))
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "fold, rad", float64(r.Fold), r.Moment/12000, 1e-9)
	kept, _, err := Chain(designOf(t))
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearDeg(t, "fold as typed", kept.Fold, 0.03, 1e-9)
}

func TestWhatIsMissingIsNamed(t *testing.T) {
	for _, c := range []struct {
		field string
		kv    []string
	}{
		{"string_set", []string{"setback_from", FromStrings, "string_set", ""}},
		{"saddle_spread", []string{"setback_from", FromStrings, "saddle_spread", ""}},
		{"string_set", []string{"tension_from", FromStrings, "string_set", ""}},
		{"neck_depth_nut", []string{"pull_from", FromNeck, "neck_depth_nut", ""}},
		{"neck_width_joint", []string{"pull_from", FromNeck, "neck_width_joint", ""}},
		{"neck_wood", []string{"pull_from", FromNeck, "neck_wood", ""}},
		{"board_wood", []string{"pull_from", FromNeck, "board_wood", ""}},
		{"rod_stiffness", []string{"pull_from", FromNeck, "rod", "none"}},
		{"rod_channel_depth", []string{"pull_from", FromNeck, "rod_channel_depth", ""}},
		{"rod_channel_depth", []string{"pull_from", FromNeck, "rod_channel_depth", "14"}},
	} {
		d := designOf(t, c.kv...)
		asks(t, CheckDesign(d, FromDesign), c.field)
		if Build(d) != typedBuild(d) {
			t.Errorf("%s: without it the typed figures must stand", c.field)
		}
	}
	// A modulus stands for a wood that is not listed.
	if err := CheckDesign(designOf(t, "pull_from", FromNeck, "board_wood", "", "board_modulus", "17"), FromDesign); err != nil {
		t.Error(err)
	}
	// A neck that would buckle is said to be one.
	d := designOf(t, "pull_from", FromNeck, "rod", "none", "rod_stiffness", "", "neck_depth_nut", "6", "neck_depth_joint", "6", "board_thickness", "3", "string_tension", "3000", "neck_width_nut", "20", "neck_width_joint", "20", "rod_channel_width", "", "rod_channel_depth", "")
	asks(t, CheckDesign(d, FromDesign), "string_tension")
	// The same figure, when the pull came from the strings, names them.
	d = over(t, d, "tension_from", FromStrings, "neck_modulus", "2", "board_modulus", "2")
	asks(t, CheckDesign(d, FromDesign), "string_set")
}

func TestSpreadsOfWhatIsWorkedOut(t *testing.T) {
	sd := func(d Values) map[string]float64 {
		out := map[string]float64{}
		for _, s := range Spreads(d) {
			out[s.Field] = s.SD
		}
		return out
	}
	d := designOf(t, "pull_from", FromNeck)
	r, _, err := Chain(d)
	if err != nil {
		t.Fatal(err)
	}
	got := sd(d)
	reftest.Near(t, "unstrung relief that follows", got["relief_unstrung"], float64(r.Spread.AddedRelief), 1e-12)
	reftest.Near(t, "relief that is set", got["relief"], 0, 0)
	got = sd(over(t, d, "rod", "dead"))
	if got["relief"] < 0.01e-3 || got["relief_unstrung"] != 0 {
		t.Errorf("without an adjustable rod: %v", got)
	}
	if got := sd(over(t, d, "relief_unstrung_give", "0.2")); got["relief_unstrung"] != 0.2e-3 {
		t.Errorf("a typed spread was not kept: %v", got["relief_unstrung"])
	}
	if got := sd(designOf(t)); got["relief"] != 0.05e-3 {
		t.Errorf("typed relief: %v", got["relief"])
	}
}
