package svg_test

import (
	"bytes"
	"flag"
	"math"
	"os"
	"strings"
	"testing"

	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/drawing/svg/svgtest"
	"fairset/unit"
)

var update = flag.Bool("update", false, "rewrite the golden files")

const mm = unit.MM

// everything has one of each shape.
func everything() *drawing.Sheet {
	s := &drawing.Sheet{Title: `A "test" <sheet> & more`, Desc: "All shapes it's made of", Width: 120 * mm, Height: 80 * mm}
	s.Add(
		drawing.Item{Layer: drawing.LayerWood, Name: "body", Fill: drawing.Wood, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(10, 10), drawing.At(50, 10), drawing.At(30, 30.5)}, Closed: true}},
		drawing.Item{Layer: drawing.LayerWood, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(1, 1), drawing.At(2, 2)}}, Pen: drawing.Pen{Tone: drawing.Faint, Weight: 0.1 * mm}},
		drawing.Item{Layer: drawing.LayerWood, Fill: drawing.Band1, Shape: drawing.Circle{Centre: drawing.At(60, 20), Radius: 3.5 * mm}, Pen: drawing.Pen{None: true}},
		drawing.Item{Layer: drawing.LayerEdge, Name: "edge", Shape: drawing.Line{From: drawing.At(0, 0), To: drawing.At(120, 80)}},
		drawing.Item{Layer: drawing.LayerEdge, Shape: drawing.Line{From: drawing.At(0, 80), To: drawing.At(120, 0)}, Pen: drawing.Pen{Dash: []unit.Length{}}},
		drawing.Item{Layer: drawing.LayerMark, Name: "arc", Shape: drawing.Arc{Centre: drawing.At(60, 40), Radius: 10 * mm, Start: 0, Sweep: 90 * unit.Degree}},
		drawing.Item{Layer: drawing.LayerMark, Name: "path", Shape: drawing.Path{Steps: []drawing.Step{{Verb: drawing.MoveTo, To: drawing.At(70, 40)},
			{Verb: drawing.CurveTo, A: drawing.At(75, 50), B: drawing.At(80, 50), To: drawing.At(85, 40)}, {Verb: drawing.LineTo, To: drawing.At(80, 30)}, {Verb: drawing.Close}}}},
		drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Hatch{Outline: []drawing.Point{drawing.At(90, 10), drawing.At(100, 10), drawing.At(100, 20), drawing.At(90, 20)}, Turn: 45 * unit.Degree, Spacing: 2 * mm}},
		drawing.Item{Layer: drawing.LayerGap, Name: "gap", Shape: drawing.Dimension{From: drawing.At(20, 40), To: drawing.At(20, 47.25), Along: 90 * unit.Degree, Through: drawing.At(28, 0), Arrow: 1.7 * mm,
			Label: drawing.Text{At: drawing.At(30, 43), Size: 4 * mm, String: "7.25 mm", Bold: true, Halo: drawing.Paper}}},
		drawing.Item{Layer: drawing.LayerNote, Name: `odd "name"`, Shape: drawing.Text{At: drawing.At(60, 70), Size: 4 * mm, Anchor: drawing.Middle, Turn: 30 * unit.Degree, String: "a < b && c > 'd' \x01\xff °"}},
	)
	return s
}

func parse(t *testing.T, b []byte) svgtest.Drawing {
	t.Helper()
	d, err := svgtest.Parse(b)
	if err != nil {
		t.Fatalf("not well-formed: %v\n%s", err, b)
	}
	return d
}

func mustBytes(t testing.TB, s *drawing.Sheet, o svg.Options) []byte {
	t.Helper()
	b, err := svg.Bytes(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestGolden proves only that the bytes are unchanged; the other tests measure.
func TestGolden(t *testing.T) {
	got := mustBytes(t, everything(), svg.Options{Mode: svg.Paper, ID: "all", File: true})
	const file = "testdata/everything.svg"
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("drawing changed; look at it, then run with -update\ngot:\n%s", got)
	}
	for range 3 {
		if again := mustBytes(t, everything(), svg.Options{Mode: svg.Paper, ID: "all", File: true}); !bytes.Equal(again, got) {
			t.Fatal("the same sheet gave other bytes")
		}
	}
}

func TestPaperIsFullSize(t *testing.T) {
	d := parse(t, mustBytes(t, everything(), svg.Options{Mode: svg.Paper}))
	for attr, want := range map[string]string{"width": "120mm", "height": "80mm", "viewBox": "0 0 120 80"} {
		if got := d.Root.Attr[attr]; got != want {
			t.Errorf("%s = %q, want %q", attr, got, want)
		}
	}
	d = parse(t, mustBytes(t, everything(), svg.Options{Mode: svg.Screen}))
	if d.Root.Attr["width"] != "" || d.Root.Attr["height"] != "" || d.Root.Attr["viewBox"] != "0 0 120 80" {
		t.Errorf("screen drawing has a size of its own: %v", d.Root.Attr)
	}
}

func TestShapesAreWhereTheyShouldBe(t *testing.T) {
	d := parse(t, mustBytes(t, everything(), svg.Options{}))
	body, err := d.One("body")
	if err != nil {
		t.Fatal(err)
	}
	// The page is 80 mm high and its axis points down: (30, 30.5) lies 49.5 from the top.
	if got := body.Points(); len(got) != 3 || got[2] != [2]float64{30, 49.5} || body.Tag != "polygon" {
		t.Errorf("body: %s %v", body.Tag, got)
	}
	gap, err := d.One("gap")
	if err != nil {
		t.Fatal(err)
	}
	if got := gap.Length(); math.Abs(got-7.25) > 1e-9 {
		t.Errorf("gap line is %v mm long, want 7.25", got)
	}
	arc, err := d.One("arc")
	if err != nil {
		t.Fatal(err)
	}
	// From (70, 40) a quarter turn counterclockwise to (60, 50); in SVG's downward axis that is sweep 0.
	if got := arc.Attr["d"]; got != "M70 40A10 10 0 0 0 60 30" {
		t.Errorf("arc: %q", got)
	}
	path, err := d.One("path")
	if err != nil {
		t.Fatal(err)
	}
	if got := path.Attr["d"]; got != "M70 40C75 30 80 30 85 40L80 50Z" {
		t.Errorf("path: %q", got)
	}
}

func TestWholeTurnArcIsDrawn(t *testing.T) {
	s := &drawing.Sheet{Title: "c", Width: 50 * mm, Height: 50 * mm}
	s.Add(drawing.Item{Name: "turn", Layer: drawing.LayerMark, Shape: drawing.Arc{Centre: drawing.At(20, 20), Radius: 10 * mm, Sweep: -360 * unit.Degree}})
	e, err := parse(t, mustBytes(t, s, svg.Options{})).One("turn")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(e.Attr["d"], "A"); n < 3 {
		t.Errorf("a whole turn in %d pieces: %s", n, e.Attr["d"])
	}
}

func TestStandsInAStrictPage(t *testing.T) {
	b := string(mustBytes(t, everything(), svg.Options{ID: `1 "bad' id`}))
	for _, never := range []string{" style=", "<style", "<script", "http:", "url(", "onload", "<image", "href"} {
		rest := strings.Replace(b, `xmlns="http://www.w3.org/2000/svg"`, "", 1)
		if strings.Contains(rest, never) {
			t.Errorf("output has %q", never)
		}
	}
	d := parse(t, []byte(b))
	if d.Root.Attr["role"] != "img" {
		t.Error("no role")
	}
	ids := map[string]string{}
	for _, e := range d.Elements {
		if id := e.Attr["id"]; id != "" {
			ids[id] = e.Text
		}
	}
	for i, want := range []string{`A "test" <sheet> & more`, "All shapes it's made of"} {
		id := strings.Fields(d.Root.Attr["aria-labelledby"])[i]
		if ids[id] != want {
			t.Errorf("label %q reads %q, want %q", id, ids[id], want)
		}
		if strings.ContainsAny(id, `"' `) || id[0] == '1' {
			t.Errorf("id %q is not safe", id)
		}
	}
	for _, e := range d.Elements {
		if e.Tag == "text" && strings.HasPrefix(e.Text, "a <") && e.Text != "a < b && c > 'd' \ufffd\ufffd °" {
			t.Errorf("text came back as %q", e.Text)
		}
	}
	if len(d.Named(`odd "name"`)) != 1 {
		t.Error("name lost")
	}
}

func TestEveryLayerAndToneHasItsClass(t *testing.T) {
	s := &drawing.Sheet{Title: "layers", Width: 10 * mm, Height: 10 * mm}
	for _, l := range drawing.Layers() {
		for _, tone := range drawing.Tones() {
			s.Add(drawing.Item{Layer: l, Fill: tone, Shape: drawing.Circle{Centre: drawing.At(1, 1), Radius: mm}})
		}
	}
	d := parse(t, mustBytes(t, s, svg.Options{}))
	layers, fills := map[string]bool{}, map[string]bool{}
	for _, e := range d.Elements {
		layers[e.Layer] = true
		for _, c := range strings.Fields(e.Attr["class"]) {
			fills[c] = true
		}
		if e.Tag == "circle" && e.Attr["fill"] == "" {
			t.Fatal("a fill that only a class carries")
		}
	}
	for _, l := range drawing.Layers() {
		if !layers[string(l)] {
			t.Errorf("layer %s has no group", l)
		}
	}
	for _, tone := range drawing.Tones() {
		if !fills["fill-"+string(tone)] {
			t.Errorf("tone %s has no class", tone)
		}
	}
}

func TestOwnLayerNames(t *testing.T) {
	s := everything()
	s.LayerNames = map[drawing.Layer]string{drawing.LayerMark: `slots & "dots"`}
	n := 0
	for _, e := range parse(t, mustBytes(t, s, svg.Options{})).Elements {
		if e.Tag == "g" && e.Attr["data-layer"] != "" {
			n++
			if e.Attr["data-layer"] != `slots & "dots"` || e.Layer != "mark" {
				t.Errorf("group %v", e.Attr)
			}
		}
	}
	if n != 1 {
		t.Errorf("%d groups carry the name, want 1", n)
	}
}

// A page shows its window by an inner picture that is cut off at its edge; no reference is needed.
func TestPageWithAWindow(t *testing.T) {
	over := &drawing.Sheet{Title: "over", Width: 90 * mm, Height: 90 * mm}
	over.Add(drawing.Item{Layer: drawing.LayerNote, Name: "label", Shape: drawing.Text{At: drawing.At(3, 4), Size: 4 * mm, String: "B2"}})
	p := drawing.Page{Name: "B2", Width: 90 * mm, Height: 90 * mm, Sheet: everything(), Window: drawing.Box{Left: 10 * mm, Bottom: 30 * mm, Right: 60 * mm, Top: 70 * mm},
		Place: drawing.At(15, 12), ScaleX: 1.02, ScaleY: 0.99, Over: over}
	b, err := svg.PageBytes(p, svg.Options{Mode: svg.Paper})
	if err != nil {
		t.Fatal(err)
	}
	d := parse(t, b)
	if d.Root.Attr["width"] != "90mm" || d.Root.Attr["viewBox"] != "0 0 90 90" {
		t.Errorf("page %v", d.Root.Attr)
	}
	var inner svgtest.Element
	n := 0
	for _, e := range d.Elements {
		if e.Tag == "svg" {
			inner = e
			n++
		}
		if e.Tag == "title" && !strings.HasSuffix(e.Text, ", B2") {
			t.Errorf("title %q", e.Text)
		}
	}
	// The sheet is 80 mm high: its window's top is 10 mm from the top; on the page it is 50*1.02 wide and 40*0.99 high, its
	// top 90 - 12 - 39.6 from the page's. source: by hand.
	want := map[string]string{"x": "15", "y": "38.4", "width": "51", "height": "39.6", "viewBox": "10 10 50 40", "preserveAspectRatio": "none", "overflow": "hidden"}
	for attr, v := range want {
		if n != 1 || inner.Attr[attr] != v {
			t.Errorf("inner picture %s = %q, want %q", attr, inner.Attr[attr], v)
		}
	}
	if len(d.Named("body")) != 1 || len(d.Named("label")) != 1 {
		t.Error("the body or the label is missing")
	}
	label, _ := d.One("label")
	if label.Attr["x"] != "3" || label.Attr["y"] != "86" {
		t.Errorf("label at %s, %s", label.Attr["x"], label.Attr["y"])
	}
	p.ScaleX = 0
	if err := svg.WritePage(&bytes.Buffer{}, p, svg.Options{}); err == nil {
		t.Error("a page without a scale")
	}
}

func TestRefusesNumbersThatAreNone(t *testing.T) {
	s := everything()
	s.Add(drawing.Item{Layer: drawing.LayerMark, Shape: drawing.Line{To: drawing.Point{X: unit.Length(math.NaN())}}})
	var out bytes.Buffer
	if err := svg.Write(&out, s, svg.Options{}); err == nil || out.Len() > 0 {
		t.Errorf("wrote %d bytes, error %v", out.Len(), err)
	}
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"", "plain", "<&>\"'", "\x00\x1f\xff", "]]>", "\ufffe\uffff"} {
		f.Add(s, "id")
	}
	f.Fuzz(func(t *testing.T, text, id string) {
		s := &drawing.Sheet{Title: text, Desc: text, Width: mm, Height: mm}
		s.Add(drawing.Item{Layer: drawing.Layer(id), Name: text, Fill: drawing.Tone(id), Shape: drawing.Text{Size: mm, String: text}})
		if _, err := svgtest.Parse(mustBytes(t, s, svg.Options{ID: id})); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
