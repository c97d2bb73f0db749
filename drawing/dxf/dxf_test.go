package dxf_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"fairset/drawing"
	"fairset/drawing/dxf"
	"fairset/internal/drawingtest"
	"fairset/unit"
)

const mm = unit.MM

func bytesOf(t testing.TB, s *drawing.Sheet) []byte {
	t.Helper()
	b, err := dxf.Bytes(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// entity is what the other reader finds.
type entity struct {
	Type, Layer, Line string
	Colour            int
	Points            [][2]float64
	Closed            bool
	Radius            float64
	Angles            [2]float64
	Text              string
	Height, Turn      float64
	Align             int
}

type file struct {
	Version  string
	Units    int
	Errors   []string
	Fixes    []string
	Layers   []string
	Lines    map[string][]float64
	Entities []entity
}

// reader reads a file strictly and with recovery, and prints what is in it.
const reader = `
import sys, json, ezdxf
from ezdxf import recover
doc, audit = recover.readfile(sys.argv[1])
strict = ezdxf.readfile(sys.argv[1])
audit2 = strict.audit()
out = {"Version": doc.dxfversion, "Units": doc.header["$INSUNITS"],
  "Errors": [e.message for e in list(audit.errors) + list(audit2.errors)], "Fixes": [e.message for e in list(audit.fixes) + list(audit2.fixes)],
  "Layers": sorted(l.dxf.name for l in doc.layers), "Lines": {}, "Entities": []}
for l in doc.linetypes:
  out["Lines"][l.dxf.name] = [t.value for t in l.pattern_tags.tags if t.code == 49]
for e in doc.modelspace():
  d = e.dxf
  r = {"Type": e.dxftype(), "Layer": d.layer, "Line": d.linetype, "Colour": d.color}
  t = e.dxftype()
  if t == "LINE":
    r["Points"] = [[d.start.x, d.start.y], [d.end.x, d.end.y]]
  elif t == "POLYLINE":
    r["Points"] = [[p.x, p.y] for p in e.points()]
    r["Closed"] = e.is_closed
  elif t in ("CIRCLE", "ARC"):
    r["Points"] = [[d.center.x, d.center.y]]
    r["Radius"] = d.radius
    if t == "ARC":
      r["Angles"] = [d.start_angle, d.end_angle]
  elif t == "TEXT":
    r["Points"] = [[d.insert.x, d.insert.y]] + ([[d.align_point.x, d.align_point.y]] if d.halign else [])
    r["Text"] = e.plain_text(); r["Height"] = d.height; r["Turn"] = d.rotation; r["Align"] = d.halign
  out["Entities"].append(r)
json.dump(out, sys.stdout)
`

// read reads the file with python3-ezdxf and fails unless it found nothing to mend.
func read(t *testing.T, b []byte) file {
	t.Helper()
	const python = "/usr/bin/python3"
	drawingtest.Need(t, python)
	if exec.Command(python, "-c", "import ezdxf").Run() != nil {
		t.Skip("python3-ezdxf is not installed")
	}
	out := drawingtest.Run(t, python, "-c", reader, drawingtest.File(t, "s.dxf", b))
	var f file
	if err := json.Unmarshal([]byte(out), &f); err != nil {
		t.Fatal(err)
	}
	if len(f.Errors)+len(f.Fixes) > 0 {
		t.Errorf("the other reader finds %d errors, %d things to mend: %q %q", len(f.Errors), len(f.Fixes), f.Errors, f.Fixes)
	}
	if f.Version != "AC1009" || f.Units != 4 {
		t.Errorf("version %s, units %d; want AC1009, 4 (mm)", f.Version, f.Units)
	}
	return f
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tol)
	}
}

func TestEverythingReadsBack(t *testing.T) {
	s := drawingtest.Everything() // its datum is at 10, 10
	s.LayerNames = map[drawing.Layer]string{drawing.LayerDrill: "Bolt Holes", drawing.LayerWood: "outline"}
	f := read(t, bytesOf(t, s))
	want := "0 bolt_holes cut edge gap mark note outline"
	own := slices.DeleteFunc(f.Layers, func(l string) bool { return l == "Defpoints" }) // the reader adds one
	if got := strings.Join(own, " "); got != want {
		t.Errorf("layers %q, want %q", got, want)
	}
	one := func(what string, match func(entity) bool) entity {
		t.Helper()
		var found []entity
		for _, e := range f.Entities {
			if match(e) {
				found = append(found, e)
			}
		}
		if len(found) != 1 {
			t.Fatalf("%d times %s, want once", len(found), what)
		}
		return found[0]
	}
	body := one("the body", func(e entity) bool { return e.Type == "POLYLINE" && e.Layer == "outline" })
	if !body.Closed || len(body.Points) != 3 || body.Points[0] != [2]float64{0, 0} || body.Points[2] != [2]float64{20, 20.5} {
		t.Errorf("body %+v", body)
	}
	hole := one("the hole", func(e entity) bool { return e.Layer == "bolt_holes" })
	if hole.Type != "CIRCLE" || hole.Radius != 5 || hole.Points[0] != [2]float64{65, 10} {
		t.Errorf("hole %+v", hole)
	}
	// The second arc turns clockwise from 180 to 90 degrees, so counterclockwise from 90 to 180.
	arc := one("the clockwise arc", func(e entity) bool { return e.Type == "ARC" && e.Radius == 12 })
	if arc.Angles != [2]float64{90, 180} || arc.Points[0] != [2]float64{50, 30} {
		t.Errorf("arc %+v", arc)
	}
	edge := one("the dashed edge", func(e entity) bool { return e.Layer == "edge" && e.Line == "BYLAYER" })
	if edge.Points[0] != [2]float64{-10, -10} || edge.Points[1] != [2]float64{110, 70} || edge.Colour != 256 {
		t.Errorf("edge %+v", edge)
	}
	one("the solid edge", func(e entity) bool { return e.Layer == "edge" && strings.EqualFold(e.Line, "CONTINUOUS") })
	if len(f.Lines["DASH1"]) != 2 || f.Lines["DASH1"][0] != 3 || f.Lines["DASH1"][1] != -0.9 {
		t.Errorf("dashes %v, want 3 on, 0.9 off", f.Lines)
	}
	for _, e := range f.Entities {
		if e.Type == "CIRCLE" && e.Radius == 3.5 {
			t.Error("a fill without a line was written")
		}
	}
	words := one("the words", func(e entity) bool { return e.Text == drawingtest.Words })
	near(t, "height of capitals", words.Height, 4*0.729, 1e-9)
	end := one("words that end", func(e entity) bool { return e.Text == "at the end" })
	if end.Align != 2 || end.Points[1] != [2]float64{105, -5} || end.Colour != 1 {
		t.Errorf("words that end: %+v", end)
	}
	turned := one("turned words", func(e entity) bool { return e.Text == `a < b && c > 'd' (°) \` })
	if turned.Align != 1 || turned.Turn != 20 || turned.Points[1] != [2]float64{82, 52} {
		t.Errorf("turned words: %+v", turned)
	}
}

// A curve stays within 0.01 mm: here a cubic against a fine walk along its formula.
func TestCurvesAreFlattenedFinely(t *testing.T) {
	s := &drawing.Sheet{Title: "c", Width: 500 * mm, Height: 500 * mm}
	at := [4][2]float64{{0, 0}, {0, 300}, {400, 300}, {400, 10}}
	s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Path{Steps: []drawing.Step{{Verb: drawing.MoveTo, To: drawing.At(0, 0)},
		{Verb: drawing.CurveTo, A: drawing.At(0, 300), B: drawing.At(400, 300), To: drawing.At(400, 10)}}}})
	f := read(t, bytesOf(t, s))
	if len(f.Entities) != 1 || f.Entities[0].Type != "POLYLINE" || f.Entities[0].Closed {
		t.Fatalf("%+v", f.Entities)
	}
	ps := f.Entities[0].Points
	worst := 0.0
	for i := range 2001 {
		u := float64(i) / 2000
		var q [2]float64
		for k := range q {
			// source: Bernstein form of a cubic Bézier curve.
			q[k] = at[0][k]*(1-u)*(1-u)*(1-u) + 3*at[1][k]*(1-u)*(1-u)*u + 3*at[2][k]*(1-u)*u*u + at[3][k]*u*u*u
		}
		best := math.Inf(1)
		for j := 1; j < len(ps); j++ {
			ax, ay, bx, by := ps[j-1][0], ps[j-1][1], ps[j][0], ps[j][1]
			k := ((q[0]-ax)*(bx-ax) + (q[1]-ay)*(by-ay)) / ((bx-ax)*(bx-ax) + (by-ay)*(by-ay))
			k = math.Min(1, math.Max(0, k))
			best = math.Min(best, math.Hypot(q[0]-ax-k*(bx-ax), q[1]-ay-k*(by-ay)))
		}
		worst = math.Max(worst, best)
	}
	t.Logf("%d points, at most %.4f mm off", len(ps), worst)
	if worst > 0.01 {
		t.Errorf("the polyline leaves the curve by %.4f mm", worst)
	}
}

func TestOneLineASlot(t *testing.T) {
	s := &drawing.Sheet{Title: "slots", Width: 500 * mm, Height: 100 * mm, Origin: drawing.At(20, 50), LayerNames: map[drawing.Layer]string{drawing.LayerMark: "slots"}}
	for i := range 22 {
		x := 20 + 10.123456*float64(i)
		s.Add(drawing.Item{Layer: drawing.LayerMark, Shape: drawing.Line{From: drawing.At(x, 30), To: drawing.At(x, 70)}})
	}
	f := read(t, bytesOf(t, s))
	n := 0
	for _, e := range f.Entities {
		if e.Layer == "slots" && e.Type == "LINE" {
			near(t, "slot", e.Points[0][0], 10.123456*float64(n), 1e-6)
			near(t, "slot's end", e.Points[1][1], 20, 1e-6)
			n++
		}
	}
	if n != 22 || len(f.Entities) != 22 {
		t.Errorf("%d slots of %d lines", n, len(f.Entities))
	}
}

// Things with no extent, whole turns and slivers give a file that needs no mending.
func TestOddShapes(t *testing.T) {
	s := &drawing.Sheet{Title: "odd", Width: 100 * mm, Height: 100 * mm}
	add := func(shape drawing.Shape) { s.Add(drawing.Item{Layer: "Ünlaut / layer", Shape: shape}) }
	add(drawing.Circle{Centre: drawing.At(1, 1)})
	add(drawing.Circle{Centre: drawing.At(1, 1), Radius: -2 * mm})
	add(drawing.Line{From: drawing.At(1, 1), To: drawing.At(1, 1)})
	add(drawing.Polyline{})
	add(drawing.Polyline{Points: []drawing.Point{drawing.At(1, 1)}, Closed: true})
	add(drawing.Polyline{Points: []drawing.Point{drawing.At(1, 1), drawing.At(2, 2)}, Closed: true})
	add(drawing.Path{})
	add(drawing.Arc{Centre: drawing.At(5, 5), Radius: 3 * mm, Sweep: -720 * unit.Degree})
	add(drawing.Arc{Centre: drawing.At(5, 5), Radius: 3 * mm, Sweep: 0})
	add(drawing.Arc{Centre: drawing.At(5, 5), Radius: 300 * mm, Start: 45 * unit.Degree, Sweep: 1e-9})
	add(drawing.Arc{Centre: drawing.At(5, 5), Radius: -3 * mm, Start: -400 * unit.Degree, Sweep: 359.9999999 * unit.Degree})
	add(drawing.Text{At: drawing.At(1, 1), Size: 3 * mm, String: " "})
	add(drawing.Text{At: drawing.At(1, 1), String: "no size"})
	add(drawing.Text{At: drawing.At(1, 1), Size: 3 * mm, String: "50 % off ^ \\U+00E4 \n tab"})
	b := bytesOf(t, s)
	f := read(t, b)
	kinds := map[string]int{}
	for _, e := range f.Entities {
		kinds[e.Type]++
		if e.Type == "TEXT" && e.Text != `50 % off ^ \U+00E4   tab` {
			t.Errorf("words read %q", e.Text)
		}
		if e.Layer != "_nlaut___layer" {
			t.Errorf("layer %q", e.Layer)
		}
	}
	if kinds["CIRCLE"] != 2 || kinds["TEXT"] != 1 || kinds["LINE"] != 1 {
		t.Errorf("%v", kinds)
	}
	for _, line := range bytes.SplitAfter(b, []byte("\n")) {
		if len(line) > 0 && !bytes.HasSuffix(line, []byte("\r\n")) {
			t.Fatalf("line %q does not end in CR LF", line)
		}
		for _, c := range line {
			if c > '~' {
				t.Fatalf("line %q is not ASCII", line)
			}
		}
	}
}

// A pair of percent signs begins a code; each sign of one is written as the code for itself.
// source: DXF Reference, control codes of text: %%% draws a single percent sign.
func TestPercentSigns(t *testing.T) {
	s := &drawing.Sheet{Title: "s", Width: mm, Height: mm}
	s.Add(drawing.Item{Layer: drawing.LayerNote, Shape: drawing.Text{Size: mm, String: "5 %%d 6 %"}})
	if b := bytesOf(t, s); !bytes.Contains(b, []byte("\r\n5 %%%%%%d 6 %\r\n")) {
		t.Errorf("not written as codes:\n%s", b)
	}
}

func TestSameBytes(t *testing.T) {
	first := bytesOf(t, drawingtest.Everything())
	for range 3 {
		if !bytes.Equal(bytesOf(t, drawingtest.Everything()), first) {
			t.Fatal("the same sheet gave other bytes")
		}
	}
}

func TestRefusesNumbersThatAreNone(t *testing.T) {
	s := drawingtest.Everything()
	s.Add(drawing.Item{Layer: drawing.LayerMark, Shape: drawing.Line{To: drawing.Point{X: unit.Length(math.NaN())}}})
	var out bytes.Buffer
	if err := dxf.Write(&out, s); err == nil || out.Len() > 0 {
		t.Errorf("wrote %d bytes, error %v", out.Len(), err)
	}
}

// Whatever the words, the file stays pairs of lines: a number and a value.
func FuzzText(f *testing.F) {
	for _, s := range []string{"", "plain", "%%", "a%%%b", "^^", `\U+`, "\r\n0\r\nEOF\r\n", "½ → 日", "\xff", "\U0001f3b8"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s := &drawing.Sheet{Title: text, Width: mm, Height: mm, LayerNames: map[drawing.Layer]string{drawing.LayerNote: text}}
		s.Add(drawing.Item{Layer: drawing.LayerNote, Name: text, Fill: drawing.Tone(text), Shape: drawing.Text{Size: mm, String: text}})
		b := bytesOf(t, s)
		lines := strings.Split(strings.TrimSuffix(string(b), "\r\n"), "\r\n")
		if len(lines)%2 != 0 || lines[len(lines)-1] != "EOF" {
			t.Fatalf("%q: %d lines", text, len(lines))
		}
		for i, line := range lines {
			if strings.ContainsAny(line, "\r\n") || i%2 == 0 && len(strings.TrimLeft(line, " 0123456789")) > 0 {
				t.Fatalf("%q: line %d is %q", text, i, line)
			}
		}
	})
}

func BenchmarkSheet(b *testing.B) {
	s := drawingtest.Everything()
	for i := range 2000 {
		s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Line{From: drawing.At(60, 40), To: drawing.At(float64(i)/20, 70)}})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := dxf.Bytes(s); err != nil {
			b.Fatal(err)
		}
	}
}
