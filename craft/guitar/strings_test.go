package guitar

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"fairset/craft/stringset"
	"fairset/internal/reftest"
	"fairset/unit"
)

// designOf is the first starting design with some figures typed over.
func designOf(t testing.TB, kv ...string) Values {
	t.Helper()
	return over(t, Bases()[0].Values.Clone(), kv...)
}

// over types figures over a design; an empty text clears one.
func over(t testing.TB, d Values, kv ...string) Values {
	t.Helper()
	d = d.Clone()
	texts := map[string][]string{}
	for i := 0; i < len(kv); i += 2 {
		if kv[i+1] == "" {
			delete(d, kv[i])
			continue
		}
		texts[kv[i]] = append(texts[kv[i]], kv[i+1])
	}
	v, err := Parse(Optional(DesignFields()), texts, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	for k, x := range v {
		d[k] = x
	}
	return d
}

// asks fails the test unless err is Problems naming the field, and returns that one.
func asks(t testing.TB, err error, field string) *unit.RangeError {
	t.Helper()
	var p Problems
	if !errors.As(err, &p) {
		t.Errorf("want problems naming %s, got %v", field, err)
		return nil
	}
	if e := p.For(field); e != nil {
		return e
	}
	t.Errorf("want problems naming %s, got: %v", field, err)
	return nil
}

func setUp(t testing.TB, d Values) Strings {
	t.Helper()
	s, err := StringSetUp(d)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestStringsOfADesign(t *testing.T) {
	d := designOf(t, "scale_length", "645.16")
	s := setUp(t, d)
	if len(s.List) != 6 || s.Notes[0].String() != "E2" || s.Notes[5].String() != "E4" {
		t.Fatalf("strings %v", s.Notes)
	}
	// source: worked case, independent calculation: 0.012 in plain E4 on 25.4 in pulls 103.617 N
	reftest.Near(t, "E4 pull, N", float64(s.Balance.Strings[5].Tension), 103.617, 0.0005)
	var sum unit.Force
	for _, p := range s.Balance.Strings {
		sum += p.Tension
	}
	reftest.Near(t, "whole pull, N", float64(s.Balance.Total), float64(sum), 1e-9)

	pull := func(kv ...string) float64 {
		t.Helper()
		return float64(setUp(t, over(t, d, kv...)).Balance.Strings[0].Tension)
	}
	was := float64(s.Balance.Strings[0].Tension)
	// source: Mersenne: the pull goes with the square of the pitch; a whole step is 2^(2/12) of it
	reftest.Near(t, "drop D over standard", pull("tuning", "drop-d")/was, math.Exp2(-4.0/12), 1e-12)
	reftest.Near(t, "its own note D2 over E2", pull("string1_note", "D2")/was, math.Exp2(-4.0/12), 1e-12)
	reftest.Near(t, "a tuning goes before its own note", pull("string1_note", "D2", "tuning", "standard")/was, 1, 1e-12)
	reftest.Near(t, "A4 at 432 Hz", pull("a4", "432")/was, math.Pow(432.0/440, 2), 1e-12)
	reftest.Near(t, "scale of 600 mm", pull("scale_length", "600")/was, math.Pow(600/645.16, 2), 1e-12)
	// source: T = 4·μ·L²·f² by hand: 4 × 7 g/m × (0.64516 m)² × (82.4069 Hz)²; E2 is 440·2^(-29/12) Hz
	e2 := 440 * math.Exp2(-29.0/12)
	reftest.Near(t, "a mass of 7 g/m", pull("string1_mass", "7"), 4*0.007*0.64516*0.64516*e2*e2, 1e-9)
	// source: a packet's pull is for its own length and note, so it goes with (L/L0)² and (f/f0)²
	reftest.Near(t, "100 N on the packet at 650 mm", pull("string1_tension", "100", "string1_at", "650"), 100*math.Pow(645.16/650, 2), 1e-9)
	reftest.Near(t, "the same tuned down", pull("string1_tension", "100", "string1_at", "650", "tuning", "drop-d"), 100*math.Pow(645.16/650, 2)*math.Exp2(-4.0/12), 1e-9)
	// source: a plain string's mass goes with the square of its gauge
	thick := setUp(t, over(t, d, "string6_gauge", "0.33")).Balance.Strings[5].Tension
	reftest.Near(t, "0.33 mm for 0.3048 mm", float64(thick/s.Balance.Strings[5].Tension), math.Pow(0.33/0.3048, 2), 1e-9)
	// source: all of a wound string grown alike weighs as the square of its gauge
	reftest.Near(t, "a wound string grown by a tenth", pull("string1_gauge", mmText(s.List[0].Diameter*1.1))/was, 1.21, 1e-5)
}

func TestAStringThatTheSetDoesNotHave(t *testing.T) {
	d := designOf(t, "strings", "7", "tuning", "")
	_, err := StringSetUp(d)
	asks(t, err, "string7_kind")
	asks(t, err, "string7_note")
	d = over(t, d, "string7_kind", "plain", "string7_note", "A4")
	_, err = StringSetUp(d)
	asks(t, err, "string7_gauge")
	s := setUp(t, over(t, d, "string7_gauge", "0.2"))
	// source: T = ρ·π·d²·L²·f² by hand with 7850 kg/m³, 0.2 mm, 648 mm, 440 Hz
	reftest.Near(t, "A4 pull, N", float64(s.Balance.Strings[6].Tension), 7850*math.Pi*4e-8*0.648*0.648*440*440, 1e-6)

	d = over(t, d, "string7_kind", "wound-hex", "string7_gauge", "0.8")
	_, err = StringSetUp(d)
	asks(t, err, "string7_core")
	s = setUp(t, over(t, d, "string7_core", "0.4"))
	if got := s.List[6]; got.CoreShape != stringset.HexCore || got.Kind != stringset.Wound {
		t.Errorf("got %+v", got)
	}
	_, err = StringSetUp(over(t, d, "string7_core", "0.79"))
	asks(t, err, "string7_core") // over its corners the core would be thicker than the string
}

func TestStringsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		field string
		kv    []string
	}{
		{"string_set", []string{"string_set", ""}},
		{"string_set", []string{"strings", "4"}},
		{"tuning", []string{"tuning", "ukulele"}},
		{"string1_note", []string{"string1_note", "H2"}},
		{"string6_core", []string{"string6_core", "0.2"}},
		{"string2_at", []string{"string2_tension", "100"}},
		{"string2_tension", []string{"string2_at", "650"}},
		{"string3_mass", []string{"string3_tension", "100", "string3_at", "650", "string3_mass", "5"}},
		{"string1_core", []string{"string1_core", "2.9"}},
	} {
		_, err := StringSetUp(designOf(t, c.kv...))
		asks(t, err, c.field)
	}
	if err := CheckDesign(designOf(t, "string1_note", "H2"), FromDesign); err == nil {
		t.Error("a note that is none was kept")
	}
	// A design of before there were strings stands as it is, and says what to choose.
	old := Values{}
	for k, v := range Bases()[0].Values {
		if f, _ := DesignField(k); f.Required {
			old[k] = v
		}
	}
	if err := CheckDesign(old, FromDesign); err != nil {
		t.Error(err)
	}
	_, err := StringSetUp(old)
	if e := asks(t, err, "string_set"); e != nil && !strings.Contains(e.Error(), "light") {
		t.Errorf("does not say what there is: %v", e)
	}
	_, err = IntonationOf(over(t, designOf(t), "saddle_spread", ""))
	asks(t, err, "saddle_spread")
}

// source: independent calculation: light steel set on 645.16 mm, 2.0 to 2.5 mm at fret 12, 0.45 mm at the nut,
// relief 0.15 mm, fitted to fret 12: saddle alone; nut and saddle, mm, bass first. It takes 200 GPa for every
// core, the table of materials up to 203.4 GPa, which is worth up to 2 % of a setback.
func TestIntonationOfADesign(t *testing.T) {
	base := []string{"scale_length", "645.16", "action_bass", "2.5", "action_treble", "2.0", "nut_height", "0.45", "relief", "0.15", "joint_fret", "14"}
	for _, c := range []struct {
		name string
		kv   []string
		want [6][3]float64
	}{
		{"run-on edges, 150 mm beyond, press 0.1: what is left empty", nil,
			[6][3]float64{{5.00, 1.15, 3.31}, {3.49, 0.80, 2.30}, {2.51, 0.58, 1.64}, {2.06, 0.49, 1.33}, {3.42, 0.87, 2.13}, {1.83, 0.48, 1.11}}},
		{"run-on edges, no slip, press 0.2", []string{"beyond", "0", "press", "0.2"},
			[6][3]float64{{6.22, 1.82, 3.56}, {4.34, 1.27, 2.46}, {3.12, 0.93, 1.74}, {2.57, 0.78, 1.40}, {4.30, 1.40, 2.23}, {2.32, 0.78, 1.16}}},
		{"clamped, no slip, press 0.2", []string{"ends", "clamped", "beyond", "0", "press", "0.2"},
			[6][3]float64{{8.21, 1.81, 5.58}, {5.84, 1.27, 3.98}, {4.27, 0.93, 2.90}, {3.56, 0.78, 2.40}, {5.87, 1.40, 3.82}, {3.21, 0.77, 2.06}}},
	} {
		in, err := IntonationOf(designOf(t, append(base, c.kv...)...))
		if err != nil {
			t.Fatal(err)
		}
		for i, w := range c.want {
			for j, got := range []unit.Length{in.SaddleOnly[i].Saddle, in.NutAndSaddle[i].Nut, in.NutAndSaddle[i].Saddle} {
				reftest.NearMM(t, fmt.Sprintf("%s: %s, figure %d", c.name, in.Models[i].String.Name, j+1), got, w[j], 0.005+0.02*w[j])
			}
		}
	}
}

func TestSaddleAndNutAsChosen(t *testing.T) {
	plain, err := IntonationOf(designOf(t))
	if err != nil {
		t.Fatal(err)
	}
	comp, err := IntonationOf(designOf(t, "saddle_kind", "compensated"))
	if err != nil {
		t.Fatal(err)
	}
	both, err := IntonationOf(designOf(t, "saddle_kind", "compensated", "nut_kind", "compensated"))
	if err != nil {
		t.Fatal(err)
	}
	line, err := IntonationOf(designOf(t, "nut_kind", "compensated"))
	if err != nil {
		t.Fatal(err)
	}
	// Each freedom added can only help. The straight line with a compensated nut keeps the nut of the freer saddle.
	if !(both.Map.RMS < comp.Map.RMS && comp.Map.RMS < plain.Map.RMS && plain.Map.RMS < plain.Bare.RMS && both.Map.RMS < line.Map.RMS) {
		t.Errorf("left: %v both, %v compensated saddle, %v straight with a compensated nut, %v straight, %v bare", both.Map.RMS, comp.Map.RMS, line.Map.RMS, plain.Map.RMS, plain.Bare.RMS)
	}
	for i := range plain.Saddle {
		if plain.Nut[i] != 0 || comp.Nut[i] != 0 || both.Nut[i] != both.NutAndSaddle[i].Nut || comp.Saddle[i] != comp.SaddleOnly[i].Saddle {
			t.Errorf("string %d: nut %v, %v, %v", i, plain.Nut[i], comp.Nut[i], both.Nut[i])
		}
		// source: the straight saddle's own equation, setback = centre + slope × place across
		reftest.NearMM(t, "on the line", plain.Saddle[i], (plain.Straight.Centre + unit.Length(plain.Straight.Slope)*plain.Across[i]).MM(), 1e-9)
	}
	if plain.Centre != plain.Straight.Centre || comp.Centre != comp.Compensated.Centre {
		t.Error("the setback is not that of the saddle chosen")
	}
	// A trial of the design itself is the design; pulled back, the notes fall.
	d := designOf(t)
	trial := TrialOf(d, plain)
	same, err := plain.Try(d, trial)
	if err != nil {
		t.Fatal(err)
	}
	trial.Setback += unit.MM
	back, err := plain.Try(d, trial)
	if err != nil {
		t.Fatal(err)
	}
	for i := range same.Rows {
		a, was, b := same.Rows[i].Cents[11], plain.Map.Rows[i].Cents[11], back.Rows[i].Cents[11]
		reftest.Near(t, "trial of the design, cents", a, was, 1e-12)
		// source: exact calculus of an ideal string: 1200/ln 2 × (1/L - 1/(L/2)) cents per length at fret 12
		reftest.Near(t, "a millimetre back at fret 12, cents", b-a, -1200/math.Ln2/648, 0.06)
	}
	trial.Action.Bass = -1
	_, err = plain.Try(d, trial)
	asks(t, err, "action_bass")
}

func TestTheDesignsOwnCapoIsTried(t *testing.T) {
	d := designOf(t, "capo", "3")
	in, err := IntonationOf(d)
	if err != nil {
		t.Fatal(err)
	}
	scores, _, err := in.Rescore(d)
	if err != nil {
		t.Fatal(err)
	}
	if scores[0].Map.RMS != in.Map.RMS || scores[1].Name.In(unit.Millimetre) != "capo at fret 3" {
		t.Errorf("got %q, %q", scores[0].Name, scores[1].Name)
	}
	if got := scores[1].Map.Rows[0].First; got != 4 {
		t.Errorf("over a capo at 3 the first fret is %d", got)
	}
	for _, x := range []string{"20", "21"} {
		if _, err := Parse(Optional(DesignFields()), map[string][]string{"capo": {x}}, unit.Millimetre); x == "21" && err == nil {
			t.Error("a capo at fret 21 was taken")
		}
	}
	asks(t, CheckDesign(designOf(t, "capo", "20"), FromDesign), "capo")
	asks(t, CheckDesign(designOf(t, "frets", "15", "fit_frets", "16"), FromDesign), "fit_frets")
}
