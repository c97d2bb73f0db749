package sheet

import (
	"math"
	"strings"
	"testing"

	"fairset/craft/body"
	"fairset/drawing"
	"fairset/unit"
)

// bowl is a paraboloid over a top, in metres: h up at its middle, 0 a distance r from there, and down beyond; the soundholes have none.
func bowl(s body.Soundboard, at body.Point, h, r unit.Length) TopShape {
	return shapeOver(s, func(p body.Point) float64 {
		d := float64(p.Distance(at) / r)
		return float64(h) * (1 - d*d)
	})
}

func shapeOver(s body.Soundboard, f func(body.Point) float64) TopShape {
	t := TopShape{From: body.Point{X: -5 * unit.MM, Y: -220 * unit.MM}, Step: 5 * unit.MM, Along: 106, Across: 89}
	for j := range t.Across {
		for i := range t.Along {
			p := body.Point{X: t.From.X + unit.Length(i)*t.Step, Y: t.From.Y + unit.Length(j)*t.Step}
			v := f(p)
			for _, h := range s.Holes {
				if p.Distance(h.Centre) < h.Radius {
					v = math.NaN()
				}
			}
			if !s.Outline.Inside(p, 0) {
				v = math.NaN()
			}
			t.At = append(t.At, v)
		}
	}
	return t
}

// Level lines of a paraboloid are circles of r√(1 - v/h) about its middle, which here lies on the centreline, so both hands put them at the same place;
// a corner's spacing of 5 mm moves a point by at most 5²/8 × √2/(distance) mm.
func TestLevelLinesLieWhereTheFieldHasTheirValue(t *testing.T) {
	s := aBody(t, body.PatternX, 1)
	middle := body.Point{X: 150 * unit.MM}
	const r = 90.0
	shape := bowl(s, middle, 1*unit.MM, r*unit.MM)
	for _, o := range []TopOptions{{Style: unit.Millimetre, Narrow: true, Step: 0.25 * unit.MM}, {Style: unit.Inch64, Step: 0.25 * unit.MM, LeftHanded: true}} {
		d := TopDeflection(s, shape, o)
		length, _ := d.Find("outline")
		k := d.ScaleX
		foot := length.Reach() // the tail lies at its bottom, the centreline in its middle
		cx, cy := (foot.Left+foot.Right).MM()/2, foot.Bottom.MM()+0.25/2
		for n, v := range map[string]float64{"rise-1": 0.25, "rise-3": 0.75} {
			it, ok := d.Find(n)
			line, is := it.Shape.(drawing.Polyline)
			if !ok || !is || !line.Closed {
				t.Fatalf("no closed line %s", n)
			}
			want := r * math.Sqrt(1-v)
			for _, p := range line.Points {
				got := math.Hypot(p.X.MM()-cx, p.Y.MM()-cy-150*k) / k
				if math.Abs(got-want) > 25.0/8*math.Sqrt2/want+0.4 { // 0.4 mm of wood for where the outline's pen puts the frame
					t.Errorf("%s passes %.2f mm from the middle, not %.2f", n, got, want)
				}
			}
		}
		if _, ok := d.Find("highest"); !ok {
			t.Error("the highest place is not marked")
		}
	}
}

// Of a top that tips about a line, the line stands still; what is over the edge of the net stays on its page.
func TestModeAndNet(t *testing.T) {
	s := aBody(t, body.PatternX, 1)
	half := s.Outline.Length() / 2
	shape := shapeOver(s, func(p body.Point) float64 { return float64((p.X - half) / half) })
	d := TopMode(s, shape, TopOptions{Style: unit.Millimetre, Narrow: true, Title: "A top that tips"})
	it, ok := d.Find("still")
	if !ok {
		t.Fatal("no line stands still")
	}
	for _, p := range it.Shape.(drawing.Polyline).Points {
		out, _ := d.Find("outline")
		b := out.Reach()
		if at := (p.Y - b.Bottom).MM() / d.ScaleX; math.Abs(at-half.MM()) > 6 { // a corner's spacing and the pen
			t.Errorf("it stands still %.1f mm from the tail, not at %.1f", at, half.MM())
		}
	}
	net := TopMesh(s, shape, false)
	if len(net.Lines) < meshAcross+meshAlong-2 {
		t.Errorf("a net of %d lines", len(net.Lines))
	}
	for _, l := range net.Lines {
		for _, q := range l {
			for _, way := range []float64{1, -1} {
				if y := q[1] - way*q[2]; q[0] < 0 || q[0] > net.Width || y < 0 || y > net.Height {
					t.Fatalf("the net leaves its page at %g, %g", q[0], y)
				}
			}
			if math.Abs(q[2]) > meshLift+1e-9 {
				t.Fatalf("the net comes up by %g", q[2])
			}
		}
	}
	mirrored := TopMesh(s, shape, true)
	if math.Abs(net.Lines[3][0][0]+mirrored.Lines[3][0][0]-net.Width) > 0.02 {
		t.Error("a left-handed net is not the mirror image")
	}
}

// TestTopGolden proves only that the pictures are unchanged, byte for byte.
func TestTopGolden(t *testing.T) {
	s := aBody(t, body.PatternFan, 1)
	shape := shapeOver(s, func(p body.Point) float64 {
		x, y := float64((p.X-s.Bridge.Centre.X)/(90*unit.MM)), float64(p.Y/(100*unit.MM))
		return -0.0011 * x * math.Exp(-x*x-y*y)
	})
	golden(t, "top-phone", TopDeflection(s, shape, TopOptions{Style: unit.Millimetre, Narrow: true, Marked: 2}))
	golden(t, "top-mode", TopMode(s, shape, TopOptions{Style: unit.Millimetre, Narrow: true, Title: "Mode 2 from above"}))
}

// Steps stay readable whatever the size and style, and nothing that does not move makes a picture without end.
func TestTopSteps(t *testing.T) {
	s := aBody(t, body.PatternX, 1)
	for _, style := range spoken() {
		for _, h := range []unit.Length{0, 1e-9, 0.03 * unit.MM, 1 * unit.MM, 40 * unit.MM, 3} {
			d := TopDeflection(s, bowl(s, body.Point{X: 150 * unit.MM}, h, 90*unit.MM), TopOptions{Style: style, Narrow: true})
			lines := 0
			for _, it := range d.Items {
				if strings.HasPrefix(it.Name, "rise-") || strings.HasPrefix(it.Name, "sink-") {
					lines++
				}
			}
			if lines > 400 {
				t.Errorf("%v in %s: %d lines", h, style, lines)
			}
			if err := d.Check(); err != nil {
				t.Error(err)
			}
		}
	}
}
