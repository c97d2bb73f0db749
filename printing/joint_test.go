package printing_test

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/drawing/dxf"
	"fairset/internal/reftest"
	"fairset/printing"
	"fairset/unit"
)

func only(t *testing.T, name string, s printing.Source) *drawing.Sheet {
	t.Helper()
	e, err := printing.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := e.Sheets(s)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != 1 {
		t.Fatalf("%s: %d drawings, want one", name, len(out))
	}
	return out[0]
}

func length(t *testing.T, s *drawing.Sheet, name string) float64 {
	t.Helper()
	it, _ := s.Find(name)
	l, ok := it.Shape.(drawing.Line)
	if !ok {
		t.Fatalf("%s has no line %q", s.Title, name)
	}
	return math.Hypot((l.To.X - l.From.X).MM(), (l.To.Y - l.From.Y).MM())
}

// with adds to the source's guitar what was entered at a step.
func with(t *testing.T, s printing.Source, step guitar.Step, texts map[string][]string) printing.Source {
	t.Helper()
	fields := s.Guitar.Fields(step)
	if step == guitar.StepDesign {
		fields = guitar.Optional(fields)
	}
	v, err := guitar.Parse(fields, texts, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	e, err := s.Guitar.Enter(step, v, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), "bench 3", guitar.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s.Guitar = s.Guitar.With(e)
	s.Bench = s.Guitar.Bench(guitar.Options{})
	return s
}

// The layer "slots" of the DXF holds one LINE for each fret and nothing else, at d = L (1 - 2^(-n/12)) from the nut.
// source: definition of twelve-tone equal temperament; the pairs of code and value: the DXF reference.
func TestFretSlotsInDXF(t *testing.T) {
	for _, basis := range guitar.Bases() {
		s := source(t, basis.Key, unit.Inch64)
		file, err := dxf.Bytes(only(t, "frets", s))
		if err != nil {
			t.Fatal(err)
		}
		rows := strings.Split(strings.ReplaceAll(string(file), "\r", ""), "\n")
		kind, layer, at := "", "", map[string]float64{}
		L, slots := s.Design().Length("scale_length").MM(), 0
		end := func() {
			if layer != "slots" || kind == "LAYER" {
				return
			}
			slots++
			if kind != "LINE" {
				t.Errorf("%s: a %s lies on the slots' layer", basis.Key, kind)
			}
			want := L * (1 - math.Exp2(-float64(slots)/12))
			reftest.Near(t, fmt.Sprintf("%s slot %d, one end", basis.Key, slots), at["10"], want, 1e-6)
			reftest.Near(t, fmt.Sprintf("%s slot %d, other end", basis.Key, slots), at["11"], want, 1e-6)
			reftest.Near(t, "slot's middle", at["20"]+at["21"], 0, 1e-6)
		}
		for i := 0; i+1 < len(rows); i += 2 {
			switch code := strings.TrimSpace(rows[i]); code {
			case "0":
				end()
				kind, layer, at = rows[i+1], "", map[string]float64{}
			case "8":
				layer = rows[i+1]
			case "10", "20", "11", "21":
				at[code], _ = strconv.ParseFloat(strings.TrimSpace(rows[i+1]), 64)
			}
		}
		if slots != s.Design().Count("frets") {
			t.Errorf("%s: %d slots, want %d", basis.Key, slots, s.Design().Count("frets"))
		}
	}
}

func TestJigHasTheLengthAskedFor(t *testing.T) {
	s := source(t, "steel-14", unit.Millimetre)
	reftest.Near(t, "the design's own jig", length(t, only(t, "jig", s), "run"), 300, 1e-9) // as the starting design says
	s.JigLength = 12 * unit.Inch
	jig := only(t, "jig", s)
	reftest.Near(t, "run", length(t, jig, "run"), 304.8, 1e-9)
	target, _, err := guitar.Build(s.Design()).Target()
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "rise", length(t, jig, "rise"), 304.8*math.Tan(float64(target.NeckAngle)), 1e-9)
}

func TestHeelSheetFollowsTheDesignAndTheBench(t *testing.T) {
	s := source(t, "steel-14", unit.Millimetre)
	heel := only(t, "heel", s)
	for name, want := range map[string]float64{"heel-bolt-1": 31.75, "body-bolt-1": 31.75, "heel-bolt-2": 57.15, "body-bolt-2": 57.15, "heel-height": 92, "tenon-length": 14, "mortise-width": 20} { // as the starting design says
		reftest.Near(t, name, length(t, heel, name), want, 1e-9)
	}
	s = with(t, s, guitar.StepTenon, map[string][]string{"tenon_length": {"13.8"}, "mortise_depth": {"15.2"}, "tenon_width": {"19.9"}, "mortise_width": {"20.1"}})
	heel = only(t, "heel", s)
	for name, want := range map[string]float64{"tenon-length": 13.8, "mortise-depth": 15.2, "tenon-width": 19.9, "mortise-width": 20.1} { // as just measured
		reftest.Near(t, name, length(t, heel, name), want, 1e-9)
	}
	s = with(t, s, guitar.StepDesign, map[string][]string{"fastening": {"barrel"}, "barrel_set": {"32"}, "block_thickness": {"22"}})
	heel = only(t, "heel", s)
	reftest.Near(t, "barrel", length(t, heel, "barrel-set"), 32, 1e-9)
	reftest.Near(t, "block", length(t, heel, "block-thickness"), 22, 1e-9)
	// Drills at the bench go before the design's series: with these three a 9/32 in hole becomes the next one up.
	s.Bench.Drills = []string{"11/64", "5/16", "10 mm"}
	it, _ := only(t, "drill-template", s).Find("clearance")
	reftest.Near(t, "clearance hole", 2*it.Shape.(drawing.Circle).Radius.MM(), 5.0/16*25.4, 1e-6)
}

func TestJointSheetsSayWhatIsLacking(t *testing.T) {
	readings := guitar.RepairStart()
	for key, mm := range map[string]float64{"scale_length": 640, "saddle_distance": 284, "action_bass_now": 3.5, "action_treble_now": 3} {
		readings[key] = []guitar.Value{{SI: mm / 1000}}
	}
	g, err := guitar.NewRepair("Old Heron", readings)
	if err != nil {
		t.Fatal(err)
	}
	s := printing.Source{Guitar: g, Bench: g.Bench(guitar.Options{}), Style: unit.Millimetre}
	for _, name := range []string{"frets", "side", "jig", "heel", "drill-template"} {
		e, err := printing.Find(name)
		if err != nil {
			t.Fatal(err)
		}
		var need *printing.NeedError
		if _, err := e.Sheets(s); !errors.As(err, &need) || !strings.Contains(need.Need.In(unit.Millimetre), "design") {
			t.Errorf("%s of a repair: %v, want what is needed", name, err)
		}
	}
	bare := source(t, "steel-14", unit.Millimetre)
	delete(bare.Bench.Design, "nut_spread")
	e, _ := printing.Find("frets")
	var need *printing.NeedError
	if _, err := e.Sheets(bare); !errors.As(err, &need) || !strings.Contains(need.Need.In(unit.Millimetre), "outer strings apart at the nut") {
		t.Errorf("a board without its strings' places: %v, want the figure named", err)
	}
}
