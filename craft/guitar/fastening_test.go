package guitar

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/fastening"
	"fairset/internal/reftest"
	"fairset/unit"
)

// designed is a guitar with some figures of its design typed over.
func designed(t *testing.T, basis string, kv ...string) (Guitar, error) {
	t.Helper()
	texts := map[string][]string{}
	for i := 0; i < len(kv); i += 2 {
		texts[kv[i]] = append(texts[kv[i]], kv[i+1])
	}
	v, err := Parse(Optional(DesignFields()), texts, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	return New("Wren", basis, v)
}

// A guitar that says nothing of how it is held is held as guitars always were here.
func TestOldDesignsAreHeldByHangerBolts(t *testing.T) {
	for _, b := range Bases() {
		if b.Values.Has("fastening") || FasteningKind(b.Values) != fastening.KindHanger {
			t.Errorf("%s: held by %v", b.Key, FasteningKind(b.Values))
		}
		p, in, _, err := PlanJoint(b.Values, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		a, _, err := fastening.Advise(DrillInput(b.Values, nil))
		if err != nil || p.Holes[0].Drill != a.Clearance || p.Holes[1].Drill != a.Pilot {
			t.Errorf("%s: plan %v and %v, advice %v and %v", b.Key, p.Holes[0].Drill, p.Holes[1].Drill, a.Clearance, a.Pilot)
		}
		if s, ok := p.Stands(in); !ok || !(s.Safety > 1) {
			t.Errorf("%s: an ordinary guitar would not hold: %+v", b.Key, s)
		}
	}
}

func TestEachKindIsAdvised(t *testing.T) {
	for _, c := range []struct {
		kind string
		want []string
	}{
		{"hanger", []string{"wood thread left out", "wrench", "bolt length", "hardest-worked bolt holds, estimated"}},
		{"insert", []string{"hole for the insert", "stop depth in the heel", "bolt length"}},
		{"barrel", []string{"hole across the heel for the barrel", "stop depth across the heel", "hole for the bolt"}},
		{"screw", []string{"shank hole", "hole in the heel", "screw length", "the strings' pull on the hardest-worked screw"}},
	} {
		g, err := designed(t, "steel-14", "fastening", c.kind, "block_thickness", "13")
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]bool{}
		for _, f := range g.Bench(Options{}).Step(StepDrill).Advice.Figures {
			got[f.Label.In(unit.Millimetre)] = true
			if s := f.Say.In(unit.Inch64); strings.Contains(s, "%!") || s == "" {
				t.Errorf("%s: %s %q", c.kind, f.Label, s)
			}
		}
		for _, w := range c.want {
			if !got[w] && !(w == "shank hole" && got["hole in the body"]) {
				t.Errorf("%s: no figure %q among %v", c.kind, w, got)
			}
		}
	}
	_, err := designed(t, "steel-14", "fastening", "insert", "insert_outer", "8", "insert_root", "9")
	var p Problems
	if !errors.As(err, &p) || p.For("insert_root") == nil {
		t.Errorf("an insert thicker at its root: %v", err)
	}
}

// The shop's own drills are used before the design's series.
func TestShopDrillsAreUsed(t *testing.T) {
	g := wren(t)
	own := []string{"4 mm", "7.5 mm"}
	b := g.Bench(Options{Drills: own})
	said := ""
	for _, f := range b.Step(StepDrill).Advice.Figures {
		said += f.Say.String() + "; "
	}
	if !strings.Contains(said, "7.5 mm") || !strings.Contains(said, "4.0 mm") || len(b.Drills) != 2 {
		t.Errorf("figures %s", said)
	}
}

func TestMissesBothWays(t *testing.T) {
	marks := []string{"centres_neck", "31.8", "centres_neck", "57.2", "centres_body", "31.8", "centres_body", "57.2"}
	read := func(kv ...string) Advice {
		t.Helper()
		g := enter(t, wren(t), StepDrill, append(marks[:len(marks):len(marks)], kv...)...)
		return g.Bench(Options{}).Step(StepDrill).Advice
	}
	a := read("miss_across", "0.9", "miss_across", "0.9", "miss_down", "0", "miss_down", "0")
	if s := a.Do.String(); !strings.Contains(s, "open the body's hole toward bass") || !strings.Contains(s, "Never the neck's") {
		t.Errorf("both off toward treble: %q", s)
	}
	// source: derived: both the same way, so a move of just that leaves nothing
	if s := a.Why.String(); !strings.Contains(s, "move the whole neck 0.90 mm toward treble") || !strings.Contains(s, "worst 0.00 mm off") {
		t.Errorf("the move is not offered: %q", s)
	}
	a = read("miss_across", "0.9", "miss_across", "-0.9", "miss_down", "0", "miss_down", "0")
	if s := a.Why.String(); !strings.Contains(s, "would not help") {
		t.Errorf("off on opposite sides: %q", s)
	}
	a = read("miss_across", "0.1", "miss_across", "0.2", "miss_down", "0", "miss_down", "0.1")
	if s := a.Do.String(); !strings.Contains(s, "Every bolt passes") {
		t.Errorf("within the play: %q", s)
	}
	if far := DrillMisses(answer(t, wren(t), StepDrill, append(marks[:len(marks):len(marks)], "miss_across", "0.3", "miss_across", "0", "miss_down", "-0.4", "miss_down", "0")...)); len(far) != 2 {
		t.Errorf("distances %v", far)
	} else {
		reftest.NearMM(t, "how far", far[0], 0.5, 1e-9) // source: 3, 4, 5
	}
	v := answer(t, wren(t), StepDrill, append(marks[:len(marks):len(marks)], "miss_across", "0.3", "miss_across", "0")...)
	_, err := wren(t).Enter(StepDrill, v, wren(t).Created, "", Options{})
	var p Problems
	if !errors.As(err, &p) || p.For("miss_down") == nil {
		t.Errorf("one way alone: %v", err)
	}
}

// Any kind with any accepted figures gives advice, or a problem that names a field of the form.
func TestFasteningOfAnyDesign(t *testing.T) {
	fields := fasteningFields()
	rapid.Check(t, func(rt *rapid.T) {
		d := Bases()[rapid.IntRange(0, len(Bases())-1).Draw(rt, "basis")].Values.Clone()
		for _, f := range fields {
			if !rapid.Bool().Draw(rt, f.Field+" given") {
				continue
			}
			if f.Kind == unit.KindChoice {
				d[f.Field] = []Value{{Text: f.Choices[rapid.IntRange(0, len(f.Choices)-1).Draw(rt, f.Field)].Key}}
			} else {
				d[f.Field] = []Value{{SI: rapid.Float64Range(f.Min, f.Max).Draw(rt, f.Field)}}
			}
		}
		if err := CheckDesign(d, FromDesign); err != nil {
			var p Problems
			if !errors.As(err, &p) || len(p) != 1 || p.For("insert_root") == nil {
				rt.Fatalf("%v", err)
			}
			return
		}
		g := Guitar{Name: "Wren", Start: FromDesign, First: d}
		if a := g.Bench(Options{}).Step(StepDrill).Advice; len(a.Figures) < 4 {
			rt.Fatalf("figures %v", a.Figures)
		}
	})
}
