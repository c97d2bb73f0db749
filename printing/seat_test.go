package printing_test

import (
	"errors"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/internal/reftest"
	"fairset/printing"
	"fairset/unit"
)

// drawn is the one drawing of a sheet.
func drawn(t *testing.T, name string, s printing.Source) *drawing.Sheet {
	t.Helper()
	e, err := printing.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := e.Sheets(s)
	if err != nil || len(out) != 1 {
		t.Fatalf("%s: %d drawings, %v", name, len(out), err)
	}
	return out[0]
}

// lacks checks that a sheet says what it needs.
func lacks(t *testing.T, name string, s printing.Source, say string) {
	t.Helper()
	e, err := printing.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	_, err = e.Sheets(s)
	var need *printing.NeedError
	if !errors.As(err, &need) || !strings.Contains(need.Need.In(s.Style), say) {
		t.Errorf("%s: error %v, want one that says %q", name, err, say)
	}
}

func TestCutMapIsOfTheBenchsCut(t *testing.T) {
	g := started(t, "steel-14", nil)
	lacks(t, "cut-map", asked(g, unit.Millimetre), "Read the lean first.")
	g = readOff(t, g, -1.2, 1.3)
	s := asked(g, unit.Millimetre)
	d := drawn(t, "cut-map", s)
	cut := s.Bench.Cut.Cut.Planned
	rows := map[string]string{}
	for _, r := range d.Table {
		rows[r[0]] = r[1]
	}
	for name, depth := range map[string]unit.Length{"Top edge, bass side": cut.TopBass, "Top edge, treble side": cut.TopTreble, "Cap, bass side": cut.CapBass, "Cap, treble side": cut.CapTreble} {
		if rows[name] != depth.Fine(unit.Millimetre) {
			t.Errorf("%s: %q on the sheet, %s at the bench", name, rows[name], depth.Fine(unit.Millimetre))
		}
	}
	lacks(t, "cut-map", asked(entered(t, g, guitar.StepCut, "tool", "chisel", "judged", "marks"), unit.Millimetre), "again")
	lacks(t, "cut-map", asked(readOff(t, started(t, "steel-14", nil), 0, 0), unit.Millimetre), "No cut is wanted now.")
	// The same words in the maker's own units.
	stop := readOff(t, entered(t, started(t, "steel-14", nil), guitar.StepDesign, "shoulder_spare", "0"), -6, 0)
	lacks(t, "cut-map", asked(stop, unit.InchDecimal), " in")
}

func TestGaugesFollowTheSeatAsRead(t *testing.T) {
	g := started(t, "steel-14", nil)
	radius := func(g guitar.Guitar) float64 {
		it, ok := drawn(t, "gauges", asked(g, unit.Millimetre)).Find("gauge-arc-hollow")
		if !ok {
			t.Fatal("no gauge of the arc")
		}
		return it.Shape.(drawing.Arc).Radius.MM()
	}
	reftest.Near(t, "as designed", radius(g), 330, 1e-9)
	// A chord of 80 mm that rises 2 mm lies on a radius of (40² + 2²)/(2 × 2) = 401 mm. source: sagitta of a circle, by hand.
	g = entered(t, g, guitar.StepSeat, "gap_bass_top", "0.2", "gap_bass_cap", "0.2", "gap_treble_top", "0.2", "gap_treble_cap", "0.2", "arc_chord", "80", "arc_rise", "2")
	reftest.Near(t, "as read", radius(g), 401, 1e-9)

	// A compound board has a gauge for each end, also where its width is not known.
	compound := entered(t, started(t, "steel-14", nil), guitar.StepDesign, "board_radius_nut", "300", "board_radius_end", "400")
	bare := compound
	bare.First = compound.First.Clone()
	delete(bare.First, "neck_width_nut")
	for _, g := range []guitar.Guitar{compound, bare} {
		d := drawn(t, "gauges", asked(g, unit.Millimetre))
		for name, want := range map[string]float64{"gauge-board-nut": 300, "gauge-board-end": 400} {
			it, ok := d.Find(name)
			if !ok {
				t.Fatalf("no %s", name)
			}
			reftest.Near(t, name, it.Shape.(drawing.Arc).Radius.MM(), want, 1e-9)
		}
	}
	e, err := printing.Find("nut-saddle")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Sheets(asked(bare, unit.Millimetre)); err == nil || !strings.Contains(err.Error(), "board and neck width at the nut") {
		t.Errorf("error %v, want one that names what is missing", err)
	}

	// A repair knows its heel and, once read, the body's end; nothing of board and top.
	r, err := guitar.NewRepair("Old friend", repair())
	if err != nil {
		t.Fatal(err)
	}
	lacks(t, "gauges", asked(r, unit.Millimetre), "a straight edge serves")
	r = entered(t, r, guitar.StepSeat, "gap_bass_top", "0.2", "gap_bass_cap", "0.2", "gap_treble_top", "0.2", "gap_treble_cap", "0.2", "arc_radius", "300")
	reftest.Near(t, "repair", radius(r), 300, 1e-9)
	lacks(t, "nut-saddle", asked(r, unit.Millimetre), "repair")
	r = entered(t, r, guitar.StepBridge, "nut_to_joint", "360")
	if d := drawn(t, "bridge", asked(r, unit.Millimetre)); !strings.Contains(d.Desc, "650.0 mm from the nut") {
		t.Errorf("the bridge of a repair: %s", d.Desc)
	}
}

func repair() guitar.Values {
	v := guitar.RepairStart()
	for key, mm := range map[string]float64{"scale_length": 648, "saddle_distance": 290, "action_bass_now": 3.4, "action_treble_now": 2.8} {
		v[key] = []guitar.Value{{SI: mm / 1000}}
	}
	return v
}

func TestBridgeIsNeverPlacedFromThePlan(t *testing.T) {
	for _, b := range guitar.Bases() {
		g := started(t, b.Key, nil)
		lacks(t, "bridge", asked(g, unit.Millimetre), "measure from the nut")
		nut := g.Bench(guitar.Options{}).Aim.Target.NutToJoint
		g = entered(t, g, guitar.StepBridge, "nut_to_joint", inMM(nut-0.7*unit.MM))
		for _, style := range unit.Styles() {
			d := drawn(t, "bridge", asked(g, style))
			if !strings.Contains(d.Desc, unit.Length(0.7e-3).Fine(style)+" nearer") {
				t.Errorf("%s: what was measured is not said: %s", b.Key, d.Desc)
			}
			if got := len(d.Table); got != 3+b.Values.Count("strings") {
				t.Errorf("%s: %d rows", b.Key, got)
			}
			drawn(t, "nut-saddle", asked(g, style))
		}
	}
}
