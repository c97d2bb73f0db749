package guitar

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairset/craft/fretting"
	"fairset/craft/stringset"
	"fairset/internal/reftest"
	"fairset/unit"
)

// source: the neck set's own target (worked cases): a guitar keeps its unstrung gap and its saddle while the
// rod or the nut is changed, so the action must move by as much as leaves the target where it is.
func TestOneJobMovesTheNextAsTheNeckSetSays(t *testing.T) {
	for _, basis := range Bases() {
		b := Build(basis.Values)
		g := geometryOf(b)
		was, _, err := b.Target()
		if err != nil {
			t.Fatal(err)
		}
		const step = 0.2 * unit.MM
		by := b
		by.Relief += step
		by.Action12 += step * unit.Length(g.actionOfRelief())
		got, _, err := by.Target()
		if err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, basis.Key+" target with more relief", got.GapOnFrets, was.GapOnFrets.MM(), 1e-9)
		by = b
		by.NutHeight += step
		by.Action12 += step * unit.Length(g.actionOfNut())
		if got, _, err = by.Target(); err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, basis.Key+" target with a higher nut", got.GapOnFrets, was.GapOnFrets.MM(), 1e-9)
		by = b
		by.SaddleProjection += step
		by.Action12 += step / unit.Length(g.saddleOfAction())
		if got, _, err = by.Target(); err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, basis.Key+" target with a taller saddle", got.GapOnFrets, was.GapOnFrets.MM(), 1e-9)
	}
}

// strungGuitar is a guitar whose nut, relief and saddle are known, to be read: straight strings over a
// straight line of frets with a dip, put together point by point.
type strungGuitar struct {
	l                                 unit.Length // scale
	nut, relief, saddleBass, saddleTr float64     // mm over the line of the frets; saddle at the saddle
	dip12                             float64     // of each mm of relief
	setback                           float64
}

func (s strungGuitar) at(saddle, fret float64) float64 {
	x := s.l.MM() * (1 - math.Exp2(-fret/12))
	h := s.nut + (saddle-s.nut)*x/(s.l.MM()+s.setback)
	if fret == 12 {
		h += s.relief * s.dip12
	}
	return h
}

func (s strungGuitar) read() []string {
	f := func(v float64) string { return fmt.Sprintf("%.6f", v) }
	return []string{"action_bass", f(s.at(s.saddleBass, 12)), "action_treble", f(s.at(s.saddleTr, 12)), "relief", f(s.relief), "nut_bass", f(s.at(s.saddleBass, 1)), "nut_treble", f(s.at(s.saddleTr, 1))}
}

// A guitar that is off in relief, nut and saddle at once, worked through in the order of the sheet, each job doing
// just what it says, must come to what was wanted.
func TestASetupWorkedThroughComesOut(t *testing.T) {
	g := wren(t)
	d := g.Design()
	L := d.Length("scale_length").MM()
	l := L * (1 - math.Exp2(-14.0/12))
	u1 := L * (1 - math.Exp2(-1.0/12))
	// source: a parabola between fret 1 and the joint: 4·(L/2 - u1)(l - L/2)/(l - u1)² at fret 12
	real := strungGuitar{l: d.Length("scale_length"), nut: 0.70, relief: 0.32, saddleBass: 5.6, saddleTr: 4.5, dip12: 4 * (L/2 - u1) * (l - L/2) / (l - u1) / (l - u1), setback: 2.4}
	g = enter(t, g, StepStrung, append(real.read(), "cents", "15", "cents", "14", "cents", "13", "cents", "12", "cents", "16", "cents", "3")...)
	sheet, err := g.SetupSheet()
	if err != nil {
		t.Fatal(err)
	}
	if got := []string{sheet.Jobs[0].Key, sheet.Jobs[1].Key, sheet.Jobs[2].Key, sheet.Jobs[3].Key}; strings.Join(got, " ") != "relief nut height line" {
		t.Fatalf("order %v", got)
	}
	for _, j := range sheet.Jobs {
		if !j.Read || j.Done || j.Do.Empty() || j.Caution.Empty() || len(j.Effects) == 0 {
			t.Errorf("%s: %+v", j.Key, j)
		}
	}
	// source: the sums of each string: lowered by a millimetre and more, the first five still stand sharp, and must go back; what
	// was 3 cents sharp has fallen within reach.
	for i, m := range sheet.Jobs[3].Move {
		if i < 5 && m < lineClose || i == 5 && m != 0 {
			t.Errorf("string %d moves %v", i+1, m)
		}
	}
	// The rod brings the relief down; the frets' line comes up at the saddle by 4 (change)/l over joint to saddle.
	D := L - l + 2.4
	down := real.relief - 0.12
	real.relief = 0.12
	real.saddleBass -= 4 * down / l * D
	real.saddleTr -= 4 * down / l * D
	// The nut is filed; the saddle cut.
	real.nut -= sheet.Jobs[1].Take.Bass.MM()
	reftest.NearMM(t, "one nut for both sides", sheet.Jobs[1].Take.Treble, sheet.Jobs[1].Take.Bass.MM(), 1e-4)
	reftest.Near(t, "nut comes to, mm", real.nut, 0.45, 1e-4)
	real.saddleBass -= sheet.Jobs[2].Take.Bass.MM()
	real.saddleTr -= sheet.Jobs[2].Take.Treble.MM()
	reftest.Near(t, "action comes to, bass, mm", real.at(real.saddleBass, 12), 2.4, 1e-3)
	reftest.Near(t, "action comes to, treble, mm", real.at(real.saddleTr, 12), 1.9, 1e-3)

	g = enter(t, g, StepStrung, append(real.read(), "cents", "1", "cents", "0", "cents", "-1", "cents", "0", "cents", "1", "cents", "0")...)
	if sheet, err = g.SetupSheet(); err != nil {
		t.Fatal(err)
	}
	for _, j := range sheet.Jobs {
		if !j.Done {
			t.Errorf("%s is not done: %v", j.Key, j.Do)
		}
	}
	for _, r := range sheet.Records {
		if r.Wanted.Empty() || r.Before.Empty() || r.After.Empty() {
			t.Errorf("record of %s: %v, %v, %v", r.Label, r.Wanted, r.Before, r.After)
		}
	}
	if r := sheet.Records[0]; r.Before.String() != "0.32 mm" || r.After.String() != "0.12 mm" {
		t.Errorf("relief before %v, after %v", r.Before, r.After)
	}
	if got := g.Bench(Options{}).Step(StepStrung).Status; got != Done {
		t.Errorf("strung is %s", got)
	}
}

func TestASetupBeforeItIsReadSaysWhatToRead(t *testing.T) {
	g := wren(t)
	sheet, err := g.SetupSheet()
	if err != nil || len(sheet.Jobs) != 4 || sheet.Now != nil || len(sheet.Say) == 0 {
		t.Fatalf("%+v, %v", sheet, err)
	}
	for _, j := range sheet.Jobs {
		if j.Read || j.Done || !strings.HasPrefix(j.Do.String(), "Read") {
			t.Errorf("%s: %v", j.Key, j.Do)
		}
	}
	for _, r := range sheet.Records {
		if r.Wanted.Empty() || !r.Before.Empty() || !r.After.Empty() {
			t.Errorf("%+v", r)
		}
	}
	// Read by halves: what was not read is asked for still, and nothing is made up.
	g = enter(t, g, StepStrung, "action_bass", "2.4", "action_treble", "1.9")
	if sheet, err = g.SetupSheet(); err != nil {
		t.Fatal(err)
	}
	for i, read := range []bool{false, false, true, false} {
		if j := sheet.Jobs[i]; j.Read != read {
			t.Errorf("%s: %v", j.Key, j.Do)
		}
	}
	// Without a design there is nothing to set up to; without strings the octave alone decides.
	if _, err := (Guitar{Start: FromReadings}).SetupSheet(); err != ErrNoDesign {
		t.Errorf("a repair: %v", err)
	}
	g = enter(t, g, StepStrung, "action_bass", "2.4", "action_treble", "1.9", "cents", "6", "cents", "6", "cents", "6", "cents", "6", "cents", "6", "cents", "6")
	g.First = over(t, g.First, "string_set", "")
	if sheet, err = g.SetupSheet(); err != nil {
		t.Fatal(err)
	}
	// source: the neck set's worked case: 6 cents on 632 mm with 2.2 mm of setback is 2.2249 mm; this is 648 mm and 2.4 mm
	if m := sheet.Jobs[3].Move; len(m) != 6 || (m[0]-2.28*unit.MM).Abs() > 0.03*unit.MM {
		t.Errorf("moves %v", m)
	}
}

// A rod that is not there cannot be turned.
func TestReliefIsOnlySetWhereThereIsARod(t *testing.T) {
	for _, c := range []struct{ rod, read, want string }{
		{"adjustable", "0.3", "tighten"}, {"adjustable", "0.0", "slacken"}, {"none", "0.3", "Nothing in this neck can be turned"}, {"dead", "0.3", "Nothing in this neck can be turned"}, {"", "0.3", "if there is one"},
	} {
		g := wren(t)
		g.First = over(t, g.First, "rod", c.rod, "rod_stiffness", "")
		g = enter(t, g, StepStrung, "action_bass", "2.4", "action_treble", "1.9", "relief", c.read)
		sheet, err := g.SetupSheet()
		if err != nil {
			t.Fatal(err)
		}
		if say := sheet.Jobs[0].Do.String(); !strings.Contains(say, c.want) {
			t.Errorf("rod %q, read %s: %s", c.rod, c.read, say)
		}
	}
}

// readAs is what a tuner would say of a guitar whose saddle stands off by so much from where it was to be made, and
// whose strings are as the design has them.
func readAs(t testing.TB, d Values, off unit.Length, frets ...int) [][]stringset.Reading {
	t.Helper()
	m, err := modelsAt(d, setting{action: actionWanted(d), relief: Build(d).Relief})
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]stringset.Reading, len(m.models))
	for i, model := range m.models {
		c, err := model.Cents(m.nut[i], m.saddle[i]+off)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range frets {
			out[i] = append(out[i], stringset.Reading{Fret: f, Cents: c[f-1]})
		}
	}
	return out
}

func strungText(d Values, r [][]stringset.Reading) []string {
	kv := []string{"action_bass", "2.4", "action_treble", "1.9", "relief", "0.12"}
	for k, key := range []string{"cents", "cents_other", "cents_other2"} {
		for i := range r {
			if k < len(r[i]) {
				kv = append(kv, key, fmt.Sprintf("%.4f", r[i][k].Cents))
			}
		}
	}
	for k, key := range []string{"cents_fret", "cents_fret2"} {
		if k+1 < len(r[0]) {
			kv = append(kv, key, fmt.Sprint(r[0][k+1].Fret))
		}
	}
	return kv
}

// source: derived: readings made from the strings' own sums with the saddle 2 mm too near the nut. The fit holds
// back what is unlikely, so it finds most of the 2 mm with three frets, and never more than them.
func TestCentsFindASaddleOutOfPlace(t *testing.T) {
	g := wren(t)
	d := over(t, g.Design(), "setback_from", FromStrings, "saddle_kind", "compensated")
	g.First = d
	g = enter(t, g, StepStrung, strungText(d, readAs(t, d, -2*unit.MM, 12, 5, 17))...)
	e, _ := g.Last(StepStrung)
	got, err := Correct(d, e.Values)
	if err != nil || len(got) != 6 {
		t.Fatal(got, err)
	}
	for _, c := range got {
		if c.Odd() || len(c.Readings) != 3 {
			t.Errorf("%s: %v", c.Name, c.Say)
		}
		reftest.NearMM(t, c.Name+" moves back", c.Move, 2, math.Max(0.35, 2*c.MoveSD.MM()))
		if c.Move < 1.2*unit.MM {
			t.Errorf("%s moves back only %v", c.Name, c.Move)
		}
	}
	st := g.Bench(Options{}).Step(StepStrung)
	if st.Status != Working || !strings.Contains(st.Advice.Do.String(), "point on the saddle") {
		t.Errorf("%s: %v", st.Status, st.Advice.Do)
	}
	// One more fret makes the move surer.
	one, err := Correct(d, answer(t, g, StepStrung, strungText(d, readAs(t, d, -2*unit.MM, 12))...))
	if err != nil {
		t.Fatal(err)
	}
	for i := range one {
		if one[i].MoveSD <= got[i].MoveSD {
			t.Errorf("%s: %v from one fret, %v from three", one[i].Name, one[i].MoveSD, got[i].MoveSD)
		}
	}
	// With the saddle in its place, nothing is to be moved.
	for _, c := range mustCorrect(t, d, answer(t, g, StepStrung, strungText(d, readAs(t, d, 0, 12, 5, 17))...)) {
		if c.Move.Abs() > 0.05*unit.MM {
			t.Errorf("%s in its place would move %v", c.Name, c.Move)
		}
	}
}

func mustCorrect(t testing.TB, d, v Values) []StringCorrection {
	t.Helper()
	out, err := Correct(d, v)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// source: no place of a saddle makes fret 5 twenty cents sharp and fret 12 as flat: both move the same way.
func TestAWornStringIsNotCutFor(t *testing.T) {
	g := wren(t)
	kv := []string{"action_bass", "2.4", "action_treble", "1.9", "relief", "0.12", "cents_fret", "5"}
	for i := range 6 {
		at12, at5 := "0", "0"
		if i == 2 {
			at12, at5 = "-20", "20"
		}
		kv = append(kv, "cents", at12, "cents_other", at5)
	}
	g = enter(t, g, StepStrung, kv...)
	e, _ := g.Last(StepStrung)
	for i, c := range mustCorrect(t, g.Design(), e.Values) {
		if c.Odd() != (i == 2) {
			t.Errorf("%s: %v", c.Name, c.Say)
		}
	}
	st := g.Bench(Options{}).Step(StepStrung)
	if !strings.Contains(st.Advice.Do.String(), "fresh one") || st.Status == Done {
		t.Errorf("%s: %v", st.Status, st.Advice.Do)
	}
	sheet, err := g.SetupSheet()
	if err != nil {
		t.Fatal(err)
	}
	if j := sheet.Jobs[3]; j.Done || j.Move[2] != 0 || !strings.Contains(j.Why.String(), "D3") {
		t.Errorf("%+v", j)
	}
}

func TestCentsAtOtherFretsAreChecked(t *testing.T) {
	g := wren(t)
	six := func(key string) []string {
		var kv []string
		for range 6 {
			kv = append(kv, key, "1")
		}
		return kv
	}
	action := []string{"action_bass", "2.4", "action_treble", "1.9"}
	for _, c := range []struct {
		field string
		kv    []string
	}{
		{"cents_other", []string{"cents_fret", "5"}},
		{"cents_fret", six("cents_other")},
		{"cents_fret", append(six("cents_other"), "cents_fret", "12")},
		{"cents_fret", append(six("cents_other"), "cents_fret", "21")},
		{"cents_fret2", append(append(six("cents_other"), six("cents_other2")...), "cents_fret", "5", "cents_fret2", "5")},
		{"cents_other", []string{"cents_fret", "5", "cents_other", "1"}},
	} {
		_, err := g.Enter(StepStrung, answer(t, g, StepStrung, append(action, c.kv...)...), noon, "", Options{})
		asks(t, err, c.field)
	}
}

// The strings over fret 1 and fret 12 give back the height at the nut they were made from.
func TestTheNutIsFoundFromFretOne(t *testing.T) {
	d := designOf(t)
	// source: by hand: a string 0.6 mm over the plane of the fret tops at the nut and 3.0 mm at fret 12; the tops lie below it
	// by the relief's parabola from the nut to fret 14, 4·r·u·(1-u)
	L := 648.0
	end := L * (1 - math.Exp2(-14.0/12))
	drop := func(x float64) float64 { u := x / end; return 4 * 0.2 * u * (1 - u) }
	u1 := L * (1 - math.Exp2(-1.0/12))
	one := 0.6 + (3.0-0.6)*u1/(L/2) + drop(u1)
	twelve := 3.0 + drop(L/2)
	f := func(v float64) string { return fmt.Sprintf("%.7f", v) }
	v := answer(t, wren(t), StepStrung, "action_bass", f(twelve), "action_treble", f(twelve), "relief", "0.2", "nut_bass", f(one), "nut_treble", f(one))
	reftest.NearMM(t, "nut", settingRead(d, v).nut.Bass, 0.6, 1e-5)
}

func TestBoardOfADesign(t *testing.T) {
	for _, basis := range Bases() {
		b, err := BoardOf(basis.Values)
		if err != nil {
			t.Fatal(err)
		}
		n := basis.Values.Count("frets")
		if len(b.Layout.Slots) != n || len(b.Depths) != n || len(b.Wire.Pieces) != n || len(b.Nut) != len(b.Names) || len(b.Warnings) > 0 {
			t.Errorf("%s: %d slots, %d depths, %d pieces, %d nut slots, %v", basis.Key, len(b.Layout.Slots), len(b.Depths), len(b.Wire.Pieces), len(b.Nut), b.Warnings)
		}
		// source: the neck set's joint, a worked case's own formula: the width typed stands at the joint fret
		joint := fretting.Distance(basis.Values.Length("scale_length"), basis.Values.Count("joint_fret"))
		reftest.NearMM(t, basis.Key+" width at the joint", b.Layout.WidthAt(joint), basis.Values.Length("neck_width_joint").MM(), 1e-9)
		clear, err := Clearance(basis.Values, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range clear {
			if len(c.Margin) > 0 && c.Buzzes() {
				t.Errorf("%s as designed: string %d at fret %d buzzes", basis.Key, c.String, c.Stop)
			}
		}
		// Read very low, it does.
		if clear, err = Clearance(basis.Values, answer(t, wren(t), StepStrung, "action_bass", "0.8", "action_treble", "0.8", "relief", "0")); err != nil {
			t.Fatal(err)
		}
		buzz := false
		for _, c := range clear {
			buzz = buzz || len(c.Margin) > 0 && c.Buzzes()
		}
		if !buzz {
			t.Errorf("%s: nothing buzzes at 0.8 mm", basis.Key)
		}
	}
	_, err := BoardOf(over(t, designOf(t), "nut_spread", "", "string_set", ""))
	asks(t, err, "nut_spread")
	asks(t, err, "string_set")
	if b, err := BoardOf(designOf(t, "nut_spread", "44")); err == nil && len(b.Warnings) == 0 {
		t.Error("strings past the board's edge were laid out without a word")
	}
}

func TestATwoScaleBoard(t *testing.T) {
	d := designOf(t, "bass_scale", "660", "treble_scale", "630")
	asks(t, CheckDesign(d, FromDesign), "perpendicular_fret")
	d = over(t, d, "perpendicular_fret", "7")
	e := asks(t, CheckDesign(d, FromDesign), "scale_length")
	if e != nil && !strings.Contains(e.Error(), "645.0 mm") {
		t.Errorf("does not say what to make it: %v", e)
	}
	d = over(t, d, "scale_length", "645")
	if err := CheckDesign(d, FromDesign); err != nil {
		t.Fatal(err)
	}
	s := setUp(t, d)
	// source: Pythagoras: the outer strings run 660 and 630 mm along the centreline and splay by half of 55 - 37 mm
	reftest.NearMM(t, "bass string", s.Scales[0], math.Hypot(660, 9), 1e-9)
	reftest.NearMM(t, "treble string", s.Scales[5], math.Hypot(630, 9), 1e-9)
	// source: Mersenne, each on its own length against one scale of 645 mm
	one := setUp(t, over(t, d, "bass_scale", "", "treble_scale", "", "perpendicular_fret", ""))
	sum := 0.0
	for i, p := range s.Balance.Strings {
		want := float64(one.Balance.Strings[i].Tension) * math.Pow(s.Scales[i].MM()/645, 2)
		reftest.Near(t, p.Name+" pull, N", float64(p.Tension), want, 1e-9)
		reftest.Near(t, p.Name+" share", p.Share, float64(p.Tension/s.Balance.Total), 1e-12)
		sum += want
	}
	reftest.Near(t, "whole pull, N", float64(s.Balance.Total), sum, 1e-9)
	b, err := BoardOf(d)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearDeg(t, "fret 7 stands square", b.Layout.Slots[6].Angle, 0, 1e-9)
	in, err := IntonationOf(d)
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range in.Models {
		if m.Setup.ScaleLength != s.Scales[i] {
			t.Errorf("string %d is tuned on %v", i+1, m.Setup.ScaleLength)
		}
	}
}
