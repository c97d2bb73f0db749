package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairset/craft/body"
	"fairset/drawing"
	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

// aBody is an invented steel-string top.
func aBody(t testing.TB, pattern body.Pattern, k float64) body.Soundboard {
	t.Helper()
	v := func(x float64) unit.Length { return unit.Length(x*k) * unit.MM }
	o, err := body.New(body.Landmarks{Length: v(500), LowerWidth: v(390), LowerAt: v(135), WaistWidth: v(250), WaistAt: v(312), UpperWidth: v(288), UpperAt: v(414)})
	if err != nil {
		t.Fatal(err)
	}
	return laid(t, o, pattern, k)
}

func laid(t reftest.TB, o body.Outline, pattern body.Pattern, k float64) body.Soundboard {
	v := func(x float64) unit.Length { return unit.Length(x*k) * unit.MM }
	p := body.Plan{Outline: o, Hole: body.Hole{Centre: body.Point{X: v(344)}, Radius: v(50)}, Bridge: body.Bridge{Centre: body.Point{X: v(202)}, Along: v(30), Across: v(150), Saddle: v(207)}, Pattern: pattern, PlateThickness: 2.5 * unit.MM, BraceWood: "sitka-spruce"}
	braces, patches, err := p.Lay()
	if err != nil {
		t.Errorf("%v", err)
	}
	return body.Soundboard{Outline: o, Holes: []body.Hole{p.Hole}, Thickness: 2.8 * unit.MM, Wood: "sitka-spruce", Grain: [2]float64{1, 0}, Dome: 9, Braces: braces, Patches: patches, Bridge: &p.Bridge}
}

// extent is the rectangle a drawn shape fills, from the sheet's origin, in mm.
func extent(t reftest.TB, s *drawing.Sheet, name string) (left, bottom, right, top float64) {
	t.Helper()
	it, ok := s.Find(name)
	if !ok {
		t.Errorf("%s: nothing is called %q", s.Title, name)
		return 0, 0, 0, 0
	}
	it.Pen.None = true
	b := bounds([]drawing.Item{it})
	x, y := s.Origin.X.MM(), s.Origin.Y.MM()
	return b.Left.MM() - x, b.Bottom.MM() - y, b.Right.MM() - x, b.Top.MM() - y
}

func sideOf(t reftest.TB, s *drawing.Sheet, name string) float64 {
	t.Helper()
	it, _ := s.Find(name)
	l, ok := it.Shape.(drawing.Line)
	if !ok {
		t.Errorf("%s: no line %q", s.Title, name)
		return 0
	}
	return math.Hypot((l.To.X - l.From.X).MM(), (l.To.Y - l.From.Y).MM())
}

func TestBodyPlanIsFullSize(t *testing.T) {
	b := aBody(t, body.PatternX, 1)
	for _, left := range []bool{false, true} {
		h := head
		h.Left = left
		s := BodyPlan(h, b)
		wellSet(t, s)
		l, lo, r, hi := extent(t, s, "outline")
		// flattened to 0.01 mm
		reftest.Near(t, "lower bout", r-l, 390, 0.03)
		reftest.Near(t, "tail", lo, 0, 0.02)
		reftest.Near(t, "length", hi, 500, 0.03)
		l, lo, r, hi = extent(t, s, "soundhole")
		reftest.Near(t, "hole across", r-l, 100, 1e-9)
		reftest.Near(t, "hole's centre from the tail", (lo+hi)/2, 344, 1e-9)
		l, lo, r, hi = extent(t, s, "bridge")
		reftest.Near(t, "bridge across", r-l, 150, 1e-9)
		reftest.Near(t, "bridge along", hi-lo, 30, 1e-9)
		_, lo, _, hi = extent(t, s, "saddle")
		reftest.Near(t, "saddle from the tail", (lo+hi)/2, 207, 1e-9)
		reftest.Near(t, "body", sideOf(t, s, "body-length"), 500, 1e-9)
		reftest.Near(t, "edge to hole", sideOf(t, s, "edge-to-hole"), 156, 1e-9)
		reftest.Near(t, "edge to saddle", sideOf(t, s, "edge-to-saddle"), 293, 1e-9)
		side := -1.0 // of the bass on paper
		if left {
			side = 1
		}
		for i, k := range b.Braces {
			it, _ := s.Find(fmt.Sprintf("brace-%d", i+1))
			p := it.Shape.(drawing.Polyline).Points
			from := drawing.Point{X: (p[0].X+p[1].X)/2 - s.Origin.X, Y: (p[0].Y+p[1].Y)/2 - s.Origin.Y}
			reftest.Near(t, k.Name+" starts across", from.X.MM(), side*k.From.Y.MM(), 1e-9)
			reftest.Near(t, k.Name+" starts along", from.Y.MM(), k.From.X.MM(), 1e-9)
			reftest.Near(t, k.Name+" long", math.Hypot((p[2].X-p[1].X).MM(), (p[2].Y-p[1].Y).MM()), k.Length().MM(), 1e-9)
			reftest.Near(t, k.Name+" wide", math.Hypot((p[1].X-p[0].X).MM(), (p[1].Y-p[0].Y).MM()), k.Width.MM(), 1e-9)
		}
		// Every brace is named on the drawing with at least two of its heights.
		for i := range b.Braces {
			heights := 0
			for _, it := range s.Items {
				if it.Name == fmt.Sprintf("brace-%d-height", i+1) {
					heights++
				}
			}
			if _, ok := s.Find(fmt.Sprintf("brace-%d-name", i+1)); !ok || heights < 2 {
				t.Errorf("brace %d is named: %v, with %d heights", i+1, ok, heights)
			}
		}
	}
}

func TestBodySheetsAreWellSetWhateverIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		length := share("length", 200, 560)
		k := length / 500
		v := func(x float64) unit.Length { return unit.Length(x*k) * unit.MM }
		lower, upper := share("lower", 330, 430), share("upper", 230, 330)
		l := body.Landmarks{Length: v(500), LowerWidth: v(lower), LowerAt: v(share("lower at", 110, 160)), WaistWidth: v(math.Min(lower, upper)*share("waist", 0.7, 0.98) - 3), WaistAt: v(share("waist at", 260, 330)), UpperWidth: v(upper), UpperAt: v(share("upper at", 390, 440))}
		if rapid.Bool().Draw(t, "flat") {
			l.Neck.Flat = v(58)
		}
		o, err := body.New(l)
		if err != nil {
			t.Skip(err.Error())
		}
		b := laid(t, o, rapid.SampledFrom([]body.Pattern{body.PatternX, body.PatternFan, body.PatternLadder, body.PatternNone}).Draw(t, "pattern"), k)
		h := Head{Guitar: "Dipper", Style: rapid.SampledFrom(spoken()).Draw(t, "style"), Left: rapid.Bool().Draw(t, "left")}
		if _, err := b.Check(); err != nil {
			t.Skip(err.Error())
		}
		wellSet(t, BodyPlan(h, b))
		wellSet(t, BodyHalf(h, b))
	})
}

func TestBodyHalfIsFullSize(t *testing.T) {
	b := aBody(t, body.PatternLadder, 1)
	for _, c := range []struct {
		style unit.Style
		step  float64
	}{{unit.Millimetre, 50}, {unit.Inch64, 50.8}} {
		h := head
		h.Style = c.style
		s := BodyHalf(h, b)
		wellSet(t, s)
		l, lo, r, hi := extent(t, s, "outline")
		reftest.Near(t, "length", r-l, 500, 0.03)
		reftest.Near(t, "half the lower bout", hi-lo, 195, 0.02)
		for i := 1; i <= 9; i++ {
			name := fmt.Sprintf("station-%d", i)
			x, lo, _, hi := extent(t, s, name)
			reftest.Near(t, name+" from the tail", x, c.step*float64(i), 1e-9)
			reftest.Near(t, name+" long", hi-lo, b.Outline.WidthAt(mm(c.step*float64(i))).MM()/2, 1e-9)
		}
		x, _, _, hi := extent(t, s, "waist-2")
		reftest.Near(t, "waist from the tail", x, 312, 1e-6)
		reftest.Near(t, "half the waist", hi-2.5, 125, 1e-6)
		l, _, r, hi = extent(t, s, "soundhole")
		reftest.Near(t, "soundhole", r-l, 100, 0.01)
		reftest.Near(t, "soundhole's radius", hi, 50, 0.01)
	}
	// The area is said as it is: of a circle of 300 mm, by hand, π 15² = 706.86 cm².
	var round []body.Point
	for i := 0; i <= 24; i++ {
		sin, cos := math.Sincos(math.Pi * float64(i) / 24)
		if i == 0 || i == 24 {
			sin = 0
		}
		round = append(round, body.Point{X: mm(150 - 150*cos), Y: mm(150 * sin)})
	}
	o, err := body.Through(round)
	if err != nil {
		t.Fatal(err)
	}
	h := head
	h.Style = unit.Millimetre
	s := BodyHalf(h, body.Soundboard{Outline: o, Thickness: 3 * unit.MM, Grain: [2]float64{1, 0}})
	wellSet(t, s)
	if !saidOn(s, "707\u00a0cm²") {
		t.Error("the area of a circle of 300 mm is not said as 707 cm²")
	}
}

func saidOn(s *drawing.Sheet, words string) bool {
	for _, it := range s.Items {
		if x, ok := it.Shape.(drawing.Text); ok && strings.Contains(x.String, words) {
			return true
		}
	}
	return false
}

func profiles() []Profile {
	return []Profile{{Name: "nut", Width: mm(44), Depth: mm(15), Board: mm(6), Radius: mm(400), Fullness: 2}, {Name: "middle, fret 6", FromNut: mm(190), Width: mm(50), Depth: mm(16), Board: mm(6), Radius: mm(400), Fullness: 2.6},
		{Name: "heel, fret 11", FromNut: mm(305), Width: mm(54), Depth: mm(17), Board: mm(6), Fullness: 1}}
}

func TestNeckProfilesAreFullSize(t *testing.T) {
	ps := profiles()
	s := NeckProfiles(head, ps)
	wellSet(t, s)
	for i, p := range ps {
		it, _ := s.Find(fmt.Sprintf("gauge-%d", i+1))
		pts := it.Shape.(drawing.Polyline).Points
		hollow := pts[:len(pts)-4]
		w := (hollow[len(hollow)-1].X - hollow[0].X).MM()
		reftest.Near(t, p.Name+" width of the hollow", w, p.Width.MM(), 1e-9)
		low, sum := 0.0, 0.0
		for k, q := range hollow {
			low = math.Min(low, (q.Y - hollow[0].Y).MM())
			r := hollow[(k+1)%len(hollow)]
			sum += q.X.MM()*r.Y.MM() - r.X.MM()*q.Y.MM()
		}
		reftest.Near(t, p.Name+" depth of the hollow", -low, p.Depth.MM(), 1e-9)
		reftest.Near(t, p.Name+" depth drawn", sideOf(t, s, fmt.Sprintf("depth-%d", i+1)), p.Depth.MM(), 1e-9)
		// Half an ellipse of width b and depth d has the area π b d/4, a V b d/2; by hand.
		switch p.Fullness {
		case 2:
			reftest.Near(t, p.Name+" area", sum/2, math.Pi*p.Width.MM()*p.Depth.MM()/4, 0.2)
		case 1:
			reftest.Near(t, p.Name+" area", sum/2, p.Width.MM()*p.Depth.MM()/2, 1e-6)
		}
		// The board's corner lies below its middle by the sagitta: 400 - √(400² - 22²) = 0.6055 mm at the nut, by hand.
		if i == 0 {
			_, lo, _, hi := extent(t, s, "board-1")
			reftest.Near(t, "board's thickness", hi-lo, 6, 1e-9)
			it, _ := s.Find("board-1")
			reftest.Near(t, "board's edge", (it.Shape.(drawing.Polyline).Points[0].Y - s.Origin.Y).MM(), 6-0.6055, 1e-4)
		}
	}
}

func TestNeckProfilesWhateverTheirSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		var ps []Profile
		for _, name := range []string{"nut", "middle, fret 6", "heel, fret 11"} {
			ps = append(ps, Profile{Name: name, Width: mm(share("width", 20, 160)), Depth: mm(share("depth", 6, 60)), Board: mm(share("board", 3, 10)), Radius: mm(share("radius", 100, 5000)), Fullness: share("fullness", 1, 8)})
		}
		wellSet(t, NeckProfiles(Head{Guitar: "Dipper", Style: rapid.SampledFrom(spoken()).Draw(t, "style")}, ps))
	})
}

func TestBodyView(t *testing.T) {
	for _, pattern := range []body.Pattern{body.PatternX, body.PatternFan, body.PatternLadder, body.PatternNone} {
		for _, narrow := range []bool{false, true} {
			for _, style := range spoken() {
				for _, k := range []float64{0.5, 1, 1.1} {
					b := aBody(t, pattern, k)
					s := BodyView(b, BodyViewOptions{Style: style, Narrow: narrow})
					written(t, s)
					_, lo, _, hi := extent(t, s, "outline")
					reftest.Near(t, "length to scale", (hi-lo)/s.ScaleY, 500*k, 0.2)
					for i := range b.Braces {
						if _, ok := s.Find(fmt.Sprintf("number-%d", i+1)); !ok {
							t.Errorf("%s: brace %d bears no number", pattern, i+1)
						}
					}
				}
			}
		}
	}
}

// TestBodyGolden proves only that the sheets are unchanged, byte for byte.
func TestBodyGolden(t *testing.T) {
	h := Head{Guitar: "Marsh Wren", Date: "2026-03-02", Style: unit.Millimetre}
	golden(t, "full-body", BodyPlan(h, aBody(t, body.PatternX, 1)))
	golden(t, "full-body-half", BodyHalf(h, aBody(t, body.PatternFan, 1)))
	golden(t, "full-neck", NeckProfiles(h, profiles()))
	golden(t, "body-phone", BodyView(aBody(t, body.PatternFan, 1), BodyViewOptions{Style: unit.Inch64, Narrow: true}))
}
