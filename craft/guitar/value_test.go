package guitar

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"
)

// everyField returns the fields of the design, the repair and every step.
func everyField() map[string][]Field {
	out := map[string][]Field{"design": DesignFields(), "repair": RepairFields()}
	for _, g := range Guides() {
		out[string(g.Step)] = g.Fields
	}
	return out
}

// A maker who types the very edge of a range means it: 300 mm is inside 300 to 900.
func TestTheEdgeOfARangeIsInside(t *testing.T) {
	for step, fields := range everyField() {
		for _, f := range fields {
			if worded(f.Kind) {
				continue
			}
			for _, edge := range []float64{f.Min, f.Max} {
				text := strconv.FormatFloat(edge, 'g', -1, 64)
				switch f.Kind {
				case unit.KindLength:
					text = strconv.FormatFloat(math.Round(edge*1e6)/1e3, 'f', -1, 64) + " mm"
				case unit.KindAngle:
					text = strconv.FormatFloat(math.Round(edge/deg*1e9)/1e9, 'f', -1, 64)
				case unit.KindPercent:
					text = strconv.FormatFloat(math.Round(edge*1e8)/1e6, 'f', -1, 64) + " %"
				}
				if _, err := f.Parse(text, unit.Millimetre); err != nil {
					t.Errorf("%s, %s: %q at the edge is refused: %v", step, f.Field, text, err)
				}
			}
		}
	}
}

func TestParseKeepsWhatWasTyped(t *testing.T) {
	scale, _ := DesignField("scale_length")
	crown, _ := DesignField("fret_crown")
	fold, _ := DesignField("joint_fold")
	risk, _ := DesignField("risk")
	dome, _ := DesignField("top_radius")
	pull, _ := DesignField("string_tension")
	for _, c := range []struct {
		name    string
		f       Field
		typed   string
		style   unit.Style
		si      float64
		guessed bool
	}{
		// source: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959)
		{"mixed number", scale, "25 1/2", unit.Inch64, 0.6477, false},
		{"bare fraction is inches in any style", scale, "25 1/2", unit.Millimetre, 0.6477, false},
		{"hyphen", scale, "25-1/2 in", unit.Millimetre, 0.6477, false},
		{"decimal inches", scale, "25.5 in", unit.Millimetre, 0.6477, false},
		{"centimetres", scale, "64.8 cm", unit.Inch64, 0.648, false},
		{"bare 648 makes sense only in mm", scale, "648", unit.Inch64, 0.648, true},
		{"bare 25.5 makes sense only in inches", scale, "25.5", unit.Millimetre, 0.6477, true},
		{"decimal comma", crown, "1,1", unit.Millimetre, 0.0011, false},
		{"degrees", fold, "0.03°", unit.Millimetre, 0.03 * math.Pi / 180, false},
		{"percent", risk, "7 %", unit.Millimetre, 0.07, false},
		{"flat", dome, "Flat", unit.Millimetre, 0, false},
		{"pounds-force", pull, "155 lbf", unit.Millimetre, 155 * 0.45359237 * 9.80665, false}, // source: as unit.PoundForce
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := c.f.Parse(" "+c.typed+" ", c.style)
			if err != nil {
				t.Fatal(err)
			}
			reftest.Near(t, "SI value", v.SI, c.si, 1e-12)
			if v.Text != c.typed || v.Guessed != c.guessed {
				t.Errorf("got text %q, guessed %v; want %q, %v", v.Text, v.Guessed, c.typed, c.guessed)
			}
			if got := c.f.Edit(v, c.style); got != c.typed {
				t.Errorf("editing shows %q, want what was typed, %q", got, c.typed)
			}
		})
	}
}

func TestParseNamesEveryProblem(t *testing.T) {
	texts := map[string][]string{
		"gap":        {"7.1", "70", "7.0"},
		"surface":    {"moon"},
		"graduation": {" "},
		"gapp":       {"7"},
	}
	g := Guitar{Start: FromDesign}
	v, err := Parse(g.Fields(StepLean), texts, unit.Millimetre)
	if v != nil {
		t.Errorf("got values %v beside an error; nothing may be kept", v)
	}
	var problems Problems
	if !errors.As(err, &problems) || len(problems) != 4 {
		t.Fatalf("got %v, want four problems", err)
	}
	for field, part := range map[string]string{
		"gap":        "did you mean 7.0 mm?", // a slipped decimal point
		"surface":    "frets, board",
		"graduation": "needed",
		"gapp":       "no such field",
	} {
		p := problems.For(field)
		if p == nil || !strings.Contains(p.In(unit.Millimetre), part) {
			t.Errorf("%s: got %v, want a problem saying %q", field, p, part)
		}
	}
	if got := problems.In(unit.Inch64); !strings.Contains(got, " in") {
		t.Errorf("problems in inches say no inches: %s", got)
	}
}

func TestParseRefuses(t *testing.T) {
	many := make([]string, maxReadings+1)
	for i := range many {
		many[i] = "7"
	}
	frets, _ := DesignField("frets")
	risk, _ := DesignField("risk")
	text := Field{Limit: unit.Limit{Field: "text", Kind: unit.KindText}}
	if _, err := Parse([]Field{gapField}, map[string][]string{"gap": many}, unit.Millimetre); err == nil {
		t.Error("more readings than a form holds were taken")
	}
	for _, c := range []struct {
		f    Field
		text string
	}{
		{frets, "20.5"}, {frets, "1e3"}, {frets, "NaN"}, {frets, "Inf"}, {frets, "0x14"}, {frets, "20 frets"}, {frets, strings.Repeat("1", 400)},
		{risk, "5" + strings.Repeat(" ", 100) + "%"}, {risk, "5 % %"}, {risk, "--5"},
		{text, "a\x00b"}, {text, "a\xffb"}, {text, strings.Repeat("a", maxNote+1)},
	} {
		v, err := c.f.Parse(c.text, unit.Millimetre)
		if err == nil {
			t.Errorf("%s: %.40q was taken as %v", c.f.Field, c.text, v)
			continue
		}
		reftest.RangeError(t, err, c.f.Field)
	}
}

// What Edit shows for a figure nobody typed must read back as that figure, to what a rule can tell.
func TestEditReadsBack(t *testing.T) {
	for _, b := range Bases() {
		for _, f := range DesignFields() {
			for _, v := range b.Values[f.Field] {
				for _, style := range unit.Styles() {
					text := f.Edit(v, style)
					w, err := f.Parse(text, style)
					if err != nil {
						t.Errorf("%s %s: %q does not read back: %v", b.Key, f.Field, text, err)
						continue
					}
					if d := math.Abs(w.SI - v.SI); d > 2e-6 && d > 1e-6*math.Abs(v.SI) { // 2 µm: half of 0.0001 in, rounded up
						t.Errorf("%s %s: %q reads back %g away", b.Key, f.Field, text, d)
					}
				}
			}
		}
	}
}

func FuzzFieldParse(f *testing.F) {
	for _, s := range []string{"25 1/2", "648", "flat", "0.03°", "7 %", "-3", "155 lbf", "1,1", "½", "9999999999999", "\x00"} {
		f.Add(s)
	}
	fields := DesignFields()
	f.Fuzz(func(t *testing.T, text string) {
		for _, field := range fields {
			for _, style := range unit.Styles() {
				v, err := field.Parse(text, style)
				if err != nil {
					if err.Field != field.Field {
						t.Fatalf("error for %s names %s", field.Field, err.Field)
					}
					continue
				}
				if worded(field.Kind) || field.Flat && v.SI == 0 {
					continue
				}
				if field.Check(v.SI) != nil {
					t.Fatalf("%s: %q gave %g, outside its range", field.Field, text, v.SI)
				}
				if !agrees(field, v) {
					t.Fatalf("%s: %q and its own figure %g are said not to agree", field.Field, text, v.SI)
				}
				back, e := fromJSON(field, toJSON(field, v))
				if e != nil || back != v {
					t.Fatalf("%s: %q gave %v, came back as %v, %v", field.Field, text, v, back, e)
				}
			}
		}
	})
}

// Every figure comes back from the file to the last bit: typed ones, and any float64 at all for the kinds
// whose unit is a power of ten away from SI.
func TestDecimalIsExact(t *testing.T) {
	for _, v := range []float64{0, 0.6477, 0.648, 1e-7, -0.0003, 5e-324, math.MaxFloat64 / 1e4, 1.0 / 3, 0.07, 123456789.125, -1e-12, 1e21} {
		for _, places := range []int{0, 2, 3} {
			d := newDecimal(v, places)
			back, err := d.float(places)
			if err != nil || back != v {
				t.Errorf("%g by %d places: wrote %s, read %g, %v", v, places, d, back, err)
			}
		}
	}
	// source: the decimal point moved by hand
	for _, c := range []struct {
		v    float64
		want decimal
	}{{0.6477, "647.7"}, {0.648, "648"}, {0.0011, "1.1"}, {0.00005, "0.05"}, {-0.0123, "-12.3"}, {20, "20000"}, {1e-12, "1e-9"}} {
		if got := newDecimal(c.v, 3); got != c.want {
			t.Errorf("%g m: got %s mm, want %s mm", c.v, got, c.want)
		}
	}
	for n := -300; n <= 1000; n++ {
		typed := float64(n) / 1000
		v := typed * deg
		if got := degreesOf(v); got != typed && got*deg != v {
			t.Errorf("%g degrees written as %g", typed, got)
		}
		if s := fmt.Sprint(degreesOf(v)); len(s) > len(fmt.Sprint(typed)) {
			t.Errorf("%g degrees written as %s", typed, s)
		}
	}
}

func FuzzDecimal(f *testing.F) {
	for _, v := range []float64{0.6477, 1e-7, 5e-324, math.MaxFloat64} {
		f.Add(v, 3)
	}
	f.Fuzz(func(t *testing.T, v float64, places int) {
		if !unit.Finite(v) || places < 0 || places > 3 || math.Abs(v) > 1e300 {
			t.Skip()
		}
		if back, err := newDecimal(v, places).float(places); err != nil || back != v {
			t.Fatalf("%g by %d: %s, %g, %v", v, places, newDecimal(v, places), back, err)
		}
	})
}
