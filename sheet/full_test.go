package sheet

import (
	"math"
	"strings"
	"testing"

	"fairset/drawing"
	"fairset/internal/drawingtest"
	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

var head = Head{Guitar: "Marsh Wren", Date: "2026-03-02", Style: unit.Inch64}

// wellSet checks what holds of every full-size sheet: check bars of true length, the datum's mark at the
// origin, letters large enough to read on paper, words on the page and never on other words.
func wellSet(t reftest.TB, s *drawing.Sheet) {
	t.Helper()
	if err := s.Check(); err != nil {
		t.Errorf("%v", err)
		return
	}
	if s.ScaleX != 1 || s.ScaleY != 1 {
		t.Errorf("%s: scale %v by %v, want full size", s.Title, s.ScaleX, s.ScaleY)
	}
	for name, want := range map[string]float64{"check-100mm-x": 100, "check-100mm-y": 100, "check-4in-x": 101.6, "check-4in-y": 101.6} {
		it, ok := s.Find(name)
		l, isLine := it.Shape.(drawing.Line)
		if !ok || !isLine {
			t.Errorf("%s: no line %q", s.Title, name)
			continue
		}
		dx, dy := (l.To.X - l.From.X).MM(), (l.To.Y - l.From.Y).MM()
		reftest.Near(t, name, math.Hypot(dx, dy), want, 1e-9)
		if across := strings.HasSuffix(name, "-x"); across && math.Abs(dy) > 1e-9 || !across && math.Abs(dx) > 1e-9 {
			t.Errorf("%s: %s runs the wrong way", s.Title, name)
		}
	}
	if it, ok := s.Find("datum"); !ok {
		t.Errorf("%s: no datum", s.Title)
	} else {
		p := it.Shape.(drawing.Circle).Centre
		reftest.Near(t, "datum x", p.X.MM(), s.Origin.X.MM(), 1e-9)
		reftest.Near(t, "datum y", p.Y.MM(), s.Origin.Y.MM(), 1e-9)
	}
	if !bounds(s.Parts()).Inside(drawing.Box{Right: s.Width, Top: s.Height}) {
		t.Errorf("%s: something is drawn off the page", s.Title)
	}
	for _, it := range s.Parts() {
		if x, ok := it.Shape.(drawing.Text); ok && x.Size < mm(2.8)-1e-12 {
			t.Errorf("%s: %q is %v high", s.Title, x.String, x.Size)
		}
	}
	for _, fault := range append(drawingtest.Struck(s), drawingtest.Crowded(s)...) {
		t.Errorf("%s", fault)
	}
	for i, row := range s.Table {
		if len(row) != len(s.Table[0]) {
			t.Errorf("%s: row %d of the table has %d cells, header has %d", s.Title, i, len(row), len(s.Table[0]))
		}
	}
	if s.Desc == "" || len(s.Table) < 2 {
		t.Errorf("%s: no description or no table", s.Title)
	}
}

func TestFullSheetIsWellSetWhateverIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Head{
			Guitar: rapid.StringN(0, 60, 200).Draw(t, "guitar"),
			Date:   rapid.SampledFrom([]string{"", "2026-03-02"}).Draw(t, "date"),
			Style:  rapid.SampledFrom(spoken()).Draw(t, "style"),
			Left:   rapid.Bool().Draw(t, "left"),
		}
		f := newFull(h, "Something")
		x, y := rapid.Float64Range(-500, 500).Draw(t, "x"), rapid.Float64Range(-200, 200).Draw(t, "y")
		f.rect(drawing.LayerWood, "part", "", 0, 0, x, y)
		f.sheet.Desc, f.sheet.Table = "A part.", [][]string{{"Figure"}, {"1"}}
		s := f.done("the corner of the part", "A note.", "Another note that is long enough to need more than the one line it would like to have on the sheet.")
		wellSet(t, s)
		// What was drawn is where it was, seen from the origin.
		it, _ := s.Find("part")
		far := it.Shape.(drawing.Polyline).Points[2]
		reftest.Near(t, "x", (far.X - s.Origin.X).MM(), x, 1e-9)
		reftest.Near(t, "y", (far.Y - s.Origin.Y).MM(), y, 1e-9)
	})
}

func TestBoundsOfEachShape(t *testing.T) {
	// A quarter of a circle of radius 10 from 45° to 135° reaches from -7.0711 to 7.0711 across and up to 10.
	// source: derived by hand.
	none := drawing.Pen{None: true}
	h := math.Sqrt2 / 2 * 10
	for name, c := range map[string]struct {
		shape drawing.Shape
		want  [4]float64
	}{
		"arc":    {drawing.Arc{Radius: mm(10), Start: 45 * unit.Degree, Sweep: 90 * unit.Degree}, [4]float64{-h, h, h, 10}},
		"circle": {drawing.Circle{Centre: pt(1, 2), Radius: mm(3)}, [4]float64{-2, -1, 4, 5}},
		"line":   {drawing.Line{From: pt(3, 1), To: pt(-1, 4)}, [4]float64{-1, 1, 3, 4}},
		"path":   {drawing.Path{Steps: []drawing.Step{{To: pt(0, 0)}, {Verb: drawing.LineTo, To: pt(5, -2)}}}, [4]float64{0, -2, 5, 0}},
	} {
		b := bounds([]drawing.Item{{Layer: drawing.LayerWood, Shape: c.shape, Pen: none}})
		for i, v := range []unit.Length{b.Left, b.Bottom, b.Right, b.Top} {
			reftest.Near(t, name, v.MM(), c.want[i], 0.001)
		}
	}
	// A pen of 2 mm reaches 1 mm past a line's ends. source: derived by hand.
	b := bounds([]drawing.Item{{Shape: drawing.Line{To: pt(5, 0)}, Pen: drawing.Pen{Weight: mm(2)}}})
	reftest.Near(t, "pen", b.Right.MM(), 6, 1e-9)
	if bounds(nil) != (drawing.Box{}) {
		t.Error("nothing has an extent")
	}
}
