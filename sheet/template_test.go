package sheet

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

// shapes are the shapes of one name on a sheet, in mm from its origin.
func shapes[S drawing.Shape](t reftest.TB, s *drawing.Sheet, name string) []S {
	t.Helper()
	moved := *s
	moved.Items = append([]drawing.Item(nil), s.Items...)
	moved.Move(-s.Origin.X, -s.Origin.Y)
	var out []S
	for _, it := range moved.Items {
		if it.Name != name {
			continue
		}
		if sh, ok := it.Shape.(S); ok {
			out = append(out, sh)
		} else {
			t.Errorf("%s: %q is a %T", s.Title, name, it.Shape)
		}
	}
	return out
}

func shape[S drawing.Shape](t reftest.TB, s *drawing.Sheet, name string) S {
	t.Helper()
	all := shapes[S](t, s, name)
	if len(all) != 1 {
		t.Errorf("%s: %d items are named %q", s.Title, len(all), name)
		var none S
		return none
	}
	return all[0]
}

func gaugeCase() GaugeInput {
	return GaugeInput{Arc: 330 * mmU, HeelWidth: 58 * mmU, BoardKnown: true, BoardNut: 300 * mmU, BoardEnd: 400 * mmU, WidthNut: 44 * mmU, WidthEnd: 58 * mmU,
		DomeKnown: true, Dome: 9000 * mmU, Hollow: 1.1 * mmU}
}

func TestGaugesAreArcsOfTheirRadius(t *testing.T) {
	s, ok := Gauges(Head{Guitar: "Marsh Wren", Style: unit.Millimetre}, gaugeCase())
	if !ok {
		t.Fatal("no gauges")
	}
	wellSet(t, s)
	for name, c := range map[string]struct {
		radius, chord float64
		hollow        bool
	}{
		"gauge-arc-hollow": {330, 92, true}, "gauge-arc-bulging": {330, 92, false}, "gauge-board-nut": {300, 78, true}, "gauge-board-end": {400, 92, true}, "gauge-dome": {9000, 180, true},
	} {
		arc := shape[drawing.Arc](t, s, name)
		back := shape[drawing.Polyline](t, s, name+"-back")
		reftest.Near(t, name+" radius", arc.Radius.MM(), c.radius, 1e-9)
		from, crown, to := arc.Point(0), arc.Point(0.5), arc.Point(1)
		chord := math.Abs((to.X - from.X).MM())
		reftest.Near(t, name+" chord", chord, c.chord, 1e-9)
		reftest.Near(t, name+" is level", from.Y.MM(), to.Y.MM(), 1e-9)
		// Where two chords of a circle cross, the products of their parts are alike: (c/2)² = s (2R - s).
		// source: Euclid, Elements III.35.
		rise := (crown.Y - from.Y).MM()
		if !c.hollow {
			rise = -rise
		}
		reftest.Near(t, name+" rise", rise*(2*c.radius-rise), c.chord*c.chord/4, 1e-6)
		// The outline is closed: the three straight sides begin and end where the curve does.
		ends := []drawing.Point{back.Points[0], back.Points[len(back.Points)-1]}
		for _, p := range []drawing.Point{from, to} {
			if math.Min(distance(p, ends[0]), distance(p, ends[1])) > 1e-6 {
				t.Errorf("%s: its outline is open at %v", name, p)
			}
		}
		// The gauge lies over its curve; a hollow edge is an arc whose middle is below it.
		if back.Points[1].Y <= crown.Y || (arc.Centre.Y < crown.Y) != c.hollow {
			t.Errorf("%s lies on the wrong side of its curve", name)
		}
	}
	// The marks stand where the wood's edges are, 58 mm apart, on the curve.
	marks := shapes[drawing.Line](t, s, "gauge-arc-hollow-wood")
	reftest.Near(t, "wood", (marks[1].From.X - marks[0].From.X).MM(), 58, 1e-9)
	// s = R - sqrt(R² - c²/4) = 330 - sqrt(330² - 29²) = 1.276712 mm under the middle.
	// source: sagitta of a circle, e.g. Machinery's Handbook, segments of circles; worked by hand.
	reftest.Near(t, "wood on the curve", -marks[0].From.Y.MM(), 1.276712, 1e-6)

	// With the end flattened over 40 mm the shoulders' gauge is straight there, 20²/(330 + sqrt(330² - 20²)) = 0.60661 mm into the curve,
	// and an arc outside. source: sagitta of a circle, by hand.
	half := gaugeCase()
	half.Flatten, half.Flat = mm(0.5), mm(40)
	s, _ = Gauges(head, half)
	wellSet(t, s)
	flat := shape[drawing.Line](t, s, "gauge-arc-bulging-flat")
	reftest.Near(t, "flat", distance(flat.From, flat.To), 40, 1e-9)
	arcs := shapes[drawing.Arc](t, s, "gauge-arc-bulging")
	if len(arcs) != 2 {
		t.Fatalf("%d arcs beside the flat", len(arcs))
	}
	reftest.Near(t, "flat into the curve", (flat.From.Y - arcs[0].Centre.Y + arcs[0].Radius).MM(), 0.60661, 1e-5)
	reftest.Near(t, "arc meets flat", distance(arcs[0].Point(1), flat.From), 0, 1e-9)
	reftest.Near(t, "flat meets arc", distance(arcs[1].Point(0), flat.To), 0, 1e-9)
	half.Flat = mm(60)
	if s, _ = Gauges(head, half); len(shapes[drawing.Arc](t, s, "gauge-arc-bulging")) != 0 || !strings.Contains(s.Desc, "a straight edge serves for the shoulders") {
		t.Error("a gauge for shoulders that stay flat")
	}

	// One radius all along wants one gauge; flat wants none, and says what serves.
	in := gaugeCase()
	in.BoardEnd, in.Dome, in.Arc = in.BoardNut, 0, 0
	s, _ = Gauges(head, in)
	shape[drawing.Arc](t, s, "gauge-board")
	for _, say := range []string{"The body's end is flat: a straight edge serves", "The top is flat: a straight edge serves"} {
		if !strings.Contains(s.Desc, say) {
			t.Errorf("%q is not said: %s", say, s.Desc)
		}
	}
	in.BoardNut, in.BoardEnd = 0, 0
	if _, ok := Gauges(head, in); ok {
		t.Error("gauges of nothing but flats")
	}
}

func distance(a, b drawing.Point) float64 { return math.Hypot((a.X - b.X).MM(), (a.Y - b.Y).MM()) }

func TestCutMapLiesOnTheHeel(t *testing.T) {
	heel := neckset.Heel{Height: 92 * mmU, WidthTop: 58 * mmU, WidthCap: 34 * mmU}
	// 1 mm less gap is wanted at a saddle 284 mm from the joint: the face leans by 1/284, so that depth falls from the top edge's
	// 92/284 mm to nothing at the cap; 0.1 mm lies 28.4 mm above the cap.
	// source: similar triangles, by hand.
	in := CutMapInput{Heel: heel, TenonWidth: 20 * mmU, Depth: corners(92.0/284, 92.0/284, 0, 0)}
	s := CutMap(Head{Guitar: "Marsh Wren", Style: unit.Millimetre}, in)
	wellSet(t, s)
	outline := shape[drawing.Polyline](t, s, "heel").Points
	reftest.Near(t, "width at the top edge", distance(outline[0], outline[1]), 58, 1e-9)
	reftest.Near(t, "width at the cap", distance(outline[2], outline[3]), 34, 1e-9)
	reftest.Near(t, "height", (outline[0].Y - outline[3].Y).MM(), 92, 1e-9)
	for i, q := range planeOf(heel, in.Depth, cutMapBands, unit.Millimetre).contours() {
		lines := shapes[drawing.Line](t, s, fmt.Sprintf("contour-%d", i+1))
		if len(lines) != 2 {
			t.Fatalf("%d lines of one contour, want one on each shoulder", len(lines))
		}
		for _, l := range lines {
			for _, p := range []drawing.Point{l.From, l.To} {
				reftest.Near(t, "contour over the cap", p.Y.MM()+92, q.depth*284, 1e-6)
				if math.Abs(p.X.MM()) < 10-1e-9 {
					t.Errorf("contour %d crosses the tenon at %v", i+1, p.X)
				}
			}
		}
	}
	window := shape[drawing.Polyline](t, s, "tenon").Points
	reftest.Near(t, "tenon's window", distance(window[0], window[1]), 20, 1e-9)

	// Any cut: at both ends of each contour the wood to take is the contour's depth, by the sums' own plane.
	rapid.Check(t, func(t *rapid.T) {
		cut := neckset.CutInput{SaddleDistance: mm(rapid.Float64Range(100, 600).Draw(t, "saddle")), Heel: heel}
		gap, off := mm(rapid.Float64Range(-3, 3).Draw(t, "gap")), mm(rapid.Float64Range(-3, 3).Draw(t, "offset"))
		depth, _ := cut.Plane(gap, off)
		left := rapid.Bool().Draw(t, "left")
		s := CutMap(Head{Guitar: "Marsh Wren", Style: unit.Millimetre, Left: left}, CutMapInput{Heel: heel, TenonWidth: 20 * mmU, Depth: depth})
		side := unit.Length(1)
		if left {
			side = -1
		}
		for i, q := range planeOf(heel, depth, cutMapBands, unit.Millimetre).contours() {
			for _, l := range shapes[drawing.Line](t, s, fmt.Sprintf("contour-%d", i+1)) {
				for _, p := range []drawing.Point{l.From, l.To} {
					reftest.Near(t, "depth on a contour", cut.DepthAt(side*p.X, p.Y, gap, off).MM(), q.depth, 1e-6)
				}
			}
		}
	})
}

func TestCutMapIsSeenByItsMaker(t *testing.T) {
	// Heel toward you, strings up: you look along -x with z up, so your right is (-x) × z = +y, the treble side of a right-handed
	// guitar. source: derived by hand, as in the package comment.
	in := CutMapInput{Heel: heels["usual"], TenonWidth: 20 * mmU, Depth: corners(0, 0.3, 0, 0.3)}
	for _, left := range []bool{false, true} {
		s := CutMap(Head{Guitar: "Marsh Wren", Style: unit.Millimetre, Left: left}, in)
		bass, treble := shape[drawing.Text](t, s, "side-BASS").At.X, shape[drawing.Text](t, s, "side-TREBLE").At.X
		if (treble > bass) == left {
			t.Errorf("left-handed %v: treble is on the wrong side", left)
		}
		for _, name := range []string{"top", "cap"} {
			b, d := shape[drawing.Text](t, s, "depth-"+name+"-bass"), shape[drawing.Text](t, s, "depth-"+name+"-treble")
			if (d.At.X > b.At.X) == left || d.String != "0.30" || b.String != "0" {
				t.Errorf("left-handed %v: at the %s %q is at %v and %q at %v", left, name, b.String, b.At.X, d.String, d.At.X)
			}
		}
		want := "treble on your right"
		if left {
			want = "treble on your left"
		}
		if !strings.Contains(s.Desc, want) {
			t.Errorf("%q is not said", want)
		}
	}
}

func bridgeCase() BridgeInput {
	in := BridgeInput{FromNut: mm(650.4), NutToJoint: mm(358.9), Planned: mm(359.3), Slope: -0.04, Width: 152 * mmU, Depth: 30 * mmU, Front: 10 * mmU, PinsBehind: 13 * mmU,
		Names: []string{"E2", "A2", "D3", "G3", "B3", "E4"}, Caution: "Super glue: bonds skin in seconds.", Read: "2026-05-03"}
	for i, b := range []float64{2.4, 1.0, 0, -0.5, 0.9, -0.6} {
		in.Across = append(in.Across, mm(-27.5+11*float64(i)))
		in.Along = append(in.Along, mm(650.4+b))
	}
	return in
}

func TestBridgeIsPlacedFromTheNut(t *testing.T) {
	in := bridgeCase()
	for _, left := range []bool{false, true} {
		side := 1.0
		if left {
			side = -1
		}
		s := BridgePlace(Head{Guitar: "Marsh Wren", Style: unit.Millimetre, Left: left}, in)
		wellSet(t, s)
		for i := range in.Across {
			p := shape[drawing.Circle](t, s, fmt.Sprintf("point-%d", i+1)).Centre
			reftest.Near(t, "string across", p.X.MM(), side*in.Across[i].MM(), 1e-9)
			reftest.Near(t, "string behind the line", -p.Y.MM(), (in.Along[i] - in.FromNut).MM(), 1e-9)
			pin := shape[drawing.Circle](t, s, fmt.Sprintf("pin-%d", i+1)).Centre
			reftest.Near(t, "pin behind the saddle's line", -pin.Y.MM(), 13-0.04*in.Across[i].MM(), 1e-9)
			reftest.Near(t, "pin across", pin.X.MM(), side*in.Across[i].MM(), 1e-9)
		}
		// 650.4 - 358.9 = 291.5 mm from the body's edge. The bridge's front edge lies 10 mm before, and the last round 10 mm that leaves
		// 15 mm to it is 260 mm, 31.5 mm before the saddle. source: by hand.
		reftest.Near(t, "rule line", shape[drawing.Line](t, s, "rule-line").From.Y.MM(), 31.5, 1e-9)
		for _, say := range []string{"Rule line 260.0 mm from the body's edge", "650.4 mm from the nut", "291.5 mm from the body's edge", "0.40 mm nearer"} {
			if !strings.Contains(s.Desc, say) {
				t.Errorf("%q is not said: %s", say, s.Desc)
			}
		}
		bridge := shape[drawing.Polyline](t, s, "bridge").Points
		reftest.Near(t, "bridge across", distance(bridge[0], bridge[1]), 152, 1e-9)
		reftest.Near(t, "bridge's front edge", bridge[2].Y.MM(), 10, 1e-9)
		reftest.Near(t, "bridge's back edge", bridge[0].Y.MM(), -20, 1e-9)
		// The line falls 0.04 for each mm to bass: tan.
		l := shape[drawing.Line](t, s, "saddle-line")
		reftest.Near(t, "slant", (l.To.Y-l.From.Y).MM()/(l.To.X-l.From.X).MM(), side*0.04, 1e-9)
	}
	// Pins 40 mm apart under strings 55 mm apart. source: by proportion.
	in.PinSpread = 40 * mmU
	s := BridgePlace(head, in)
	reftest.Near(t, "outer pins", distance(shape[drawing.Circle](t, s, "pin-1").Centre, shape[drawing.Circle](t, s, "pin-6").Centre), 40*math.Hypot(1, 0.04*55/40), 1e-9)
	// By inches the rule line stands at a whole half inch: 291.5 - 25 = 266.5 mm is 10.49 in, so 10 in.
	reftest.Near(t, "rule line in inches", shape[drawing.Line](t, s, "rule-line").From.Y.MM(), 291.5-254, 1e-9)
	// A saddle so slanted that its ends leave the bridge, and pins so far back that they do.
	if strings.Contains(s.Desc, "Careful") {
		t.Errorf("a bridge with room for all is warned of: %s", s.Desc)
	}
	steep := bridgeCase()
	steep.Slope = -0.3
	if d := BridgePlace(head, steep).Desc; !strings.Contains(d, "Careful: the saddle and the pins would come") {
		t.Errorf("a saddle past the bridge's edge is not warned of: %s", d)
	}
	late := bridgeCase()
	late.PinsBehind = 18 * mmU
	if d := BridgePlace(head, late).Desc; !strings.Contains(d, "Careful: the pins would come") {
		t.Errorf("pins past the bridge's edge are not warned of: %s", d)
	}
	// Nothing known of strings or bridge: a square line, and both are said.
	bare := BridgePlace(head, BridgeInput{FromNut: mm(650.4), NutToJoint: mm(358.9)})
	wellSet(t, bare)
	for _, say := range []string{"does not say what the strings are", "does not give the bridge's own sizes"} {
		if !strings.Contains(bare.Desc, say) {
			t.Errorf("%q is not said: %s", say, bare.Desc)
		}
	}
	// A small guitar's body edge is on the paper, full size.
	small := BridgePlace(head, BridgeInput{FromNut: mm(301), NutToJoint: mm(190), Width: 60 * mmU, Depth: 16 * mmU, Front: 6 * mmU})
	wellSet(t, small)
	reftest.Near(t, "body's edge", shape[drawing.Line](t, small, "body-edge").From.Y.MM(), 111, 1e-9)
}

func blankCase(t testing.TB) BlankInput {
	l := lay(t, boards()["six"])
	slots, err := l.NutSlots(fretting.NutCut{Crown: 1.1 * mmU, Height: 0.45 * mmU, Allowance: 0.05 * mmU})
	if err != nil {
		t.Fatal(err)
	}
	in := BlankInput{Names: []string{"E2", "A2", "D3", "G3", "B3", "E4"}, Layout: l, Slots: slots, Radius: 400 * mmU, Caution: "Strings under tension: wear eye protection."}
	for i, w := range []float64{0.7, -0.3, -0.75, -0.7, 1.0, 0} {
		y := -27 + 54*float64(i)/5
		in.Saddle = append(in.Saddle, SaddleTopPlace{Along: mm(y), Over: mm(2.9 - y*y/800 - 0.01*y), Wanted: mm(w)})
	}
	return in
}

func TestBlanksAreToScale(t *testing.T) {
	in := blankCase(t)
	for _, left := range []bool{false, true} {
		s := Blanks(Head{Guitar: "Marsh Wren", Style: unit.Millimetre, Left: left}, in)
		wellSet(t, s)
		side := 1.0
		if left {
			side = -1
		}
		// A board of 44 mm and 400 mm radius stands 22²/(400 + sqrt(400² - 22²)) lower at its edges.
		// source: sagitta of a circle.
		sag := func(y float64) float64 { return y * y / (400 + math.Sqrt(400*400-y*y)) }
		face := shape[drawing.Polyline](t, s, "face").Points
		reftest.Near(t, "bass edge", face[0].X.MM(), 0, 1e-9)
		reftest.Near(t, "bass edge", face[0].Y.MM(), 0, 1e-9)
		reftest.Near(t, "treble edge", face[len(face)-1].X.MM(), side*44, 1e-9)
		reftest.Near(t, "face in the middle", face[len(face)/2].Y.MM(), sag(22), 1e-9)
		scale := (shape[drawing.Polyline](t, s, "big-face").Points[0].X - shape[drawing.Polyline](t, s, "big-face").Points[len(face)-1].X).Abs().MM() / 44
		reftest.Near(t, "enlarged", scale, 4, 1e-9)
		for i, sl := range in.Slots {
			for prefix, k := range map[string]float64{"": 1, "big-": 4} {
				ps := shape[drawing.Polyline](t, s, fmt.Sprintf("%sslot-%d", prefix, i+1)).Points
				reftest.Near(t, prefix+"slot wide", distance(ps[1], ps[2]), k*sl.Width.MM(), 1e-9)
				if k == 1 {
					at := sl.FromBass.MM()
					reftest.Near(t, "slot from the bass edge", (ps[1].X+ps[2].X).MM()/2, side*at, 1e-9)
					// Crown and height over the board there.
					reftest.Near(t, "floor", ps[1].Y.MM(), sag(22)-sag(at-22)+1.1+0.45, 1e-9)
					// The slot is as deep as half its string, at its middle; its sides follow the top.
					reftest.Near(t, "slot deep", (ps[0].Y+ps[3].Y-ps[1].Y-ps[2].Y).MM()/2, sl.Depth.MM(), 0.05)
				}
			}
			base := shape[drawing.Line](t, s, "bridge-top").From.Y.MM()
			p := shape[drawing.Circle](t, s, fmt.Sprintf("crown-%d", i+1)).Centre
			reftest.Near(t, "over the bridge", p.Y.MM()-base, in.Saddle[i].Over.MM(), 1e-9)
			reftest.Near(t, "along the saddle", p.X.MM(), side*(22+in.Saddle[i].Along.MM()), 1e-9)
		}
		// The saddle's top is the parabola of the case between its strings: it differs from the drawn one by nothing, since that
		// is curved by y²/2R too.
		base := shape[drawing.Line](t, s, "bridge-top").From.Y.MM()
		for _, p := range shape[drawing.Polyline](t, s, "saddle-top").Points {
			y := side * (p.X.MM() - side*22)
			reftest.Near(t, "saddle's top", p.Y.MM()-base, 2.9-y*y/800-0.01*y, 1e-6)
		}
		// From above: 0.7 mm behind the middle, drawn 10 times as long.
		mid := shape[drawing.Line](t, s, "big-middle").From.Y.MM()
		reftest.Near(t, "wanted from above", mid-shape[drawing.Circle](t, s, "big-wanted-1").Centre.Y.MM(), 7, 1e-9)
		for _, it := range s.Items {
			if big := strings.HasPrefix(it.Name, "big-"); big != (s.LayerNames[it.Layer] == "enlarged") && it.Name != "" && it.Name != "panel" {
				t.Errorf("%q is on layer %s", it.Name, it.Layer)
			}
		}
		if n := len(shapes[drawing.Polyline](t, s, "panel")); n != 3 {
			t.Errorf("%d frames, want 3", n)
		}
		if says := len(shapes[drawing.Text](t, s, "panel-scale")); says < 3 {
			t.Errorf("%d of 3 frames say their scale", says)
		}
	}
}

// Whatever the guitar, nothing is written over anything else or off the paper.
func TestTemplatesAreWellSetWhateverTheGuitar(t *testing.T) {
	laid := map[string]BlankInput{}
	for name, b := range boards() {
		l := lay(t, b)
		slots, err := l.NutSlots(fretting.NutCut{Crown: 1.1 * mmU, Height: 0.45 * mmU, Allowance: 0.05 * mmU})
		if err != nil {
			t.Fatal(err)
		}
		laid[name] = BlankInput{Layout: l, Slots: slots}
	}
	names := []string{"six", "two scales", "flat", "uke", "twelve", "nine 36 frets", "single"}
	rapid.Check(t, func(t *rapid.T) {
		real := func(lo, hi float64, label string) unit.Length { return mm(rapid.Float64Range(lo, hi).Draw(t, label)) }
		maybe := func(lo, hi float64, label string) unit.Length {
			if !rapid.Bool().Draw(t, label+"?") {
				return 0
			}
			return real(lo, hi, label)
		}
		h := Head{Guitar: rapid.StringN(0, 60, 200).Draw(t, "guitar"), Style: rapid.SampledFrom(spoken()).Draw(t, "style"), Left: rapid.Bool().Draw(t, "left")}

		in := GaugeInput{Arc: maybe(80, 20000, "arc"), HeelWidth: real(15, 80, "heel"), BoardKnown: true, BoardNut: maybe(100, 5000, "nut"), WidthNut: maybe(20, 130, "width"), WidthEnd: maybe(20, 160, "end width"), DomeKnown: true, Dome: maybe(2000, 30000, "dome")}
		if in.Flatten = maybe(0.1, 2, "flatten"); in.Flatten > 0 {
			in.Flat = real(5, 79, "flat")
		}
		in.BoardEnd = in.BoardNut
		if in.BoardNut > 0 && rapid.Bool().Draw(t, "compound") {
			in.BoardEnd = real(100, 5000, "end")
		}
		if s, ok := Gauges(h, in); ok {
			wellSet(t, s)
		}

		heel := neckset.Heel{Height: real(40, 130, "tall"), WidthTop: real(15, 80, "top"), WidthCap: real(15, 80, "cap")}
		cut := neckset.CutInput{SaddleDistance: real(100, 600, "saddle"), Heel: heel}
		depth, _ := cut.Plane(real(-10, 10, "gap"), real(-10, 10, "offset"))
		wellSet(t, CutMap(h, CutMapInput{Heel: heel, Depth: depth, TenonWidth: maybe(5, 60, "tenon"), Do: "Take 0.4 mm off the cap.", Read: "2026-05-03"}))

		n := rapid.IntRange(0, 12).Draw(t, "strings")
		b := BridgeInput{FromNut: real(400, 900, "scale"), Planned: maybe(200, 400, "plan"), Slope: rapid.Float64Range(-0.3, 0.3).Draw(t, "slope"), Blank: maybe(1, 6, "blank"), Wanted: real(-2, 2, "wanted"), PinsBehind: maybe(2, 45, "pins"), PinSpread: maybe(10, 180, "pin spread")}
		b.NutToJoint = b.FromNut - real(84, 500, "joint")
		if b.Width = maybe(30, 260, "bridge"); b.Width > 0 {
			b.Depth = real(8, 60, "deep")
			b.Front = b.Depth * 0.4
		}
		spread := real(10, 150, "spread")
		for i := range n {
			b.Names = append(b.Names, fmt.Sprintf("F#%d", i))
			b.Across = append(b.Across, spread*unit.Length(float64(i)/float64(max(n-1, 1))-0.5))
			b.Along = append(b.Along, b.FromNut+real(-3, 6, "place"))
		}
		wellSet(t, BridgePlace(h, b))

		bl := laid[rapid.SampledFrom(names).Draw(t, "board")]
		bl.Radius, bl.Blank = maybe(100, 5000, "radius"), maybe(1, 6, "saddle blank")
		for i, sl := range bl.Slots {
			bl.Names = append(bl.Names, fmt.Sprintf("F#%d", i))
			w := real(-2, 4, "wanted")
			p := SaddleTopPlace{Along: (sl.FromBass - bl.Slots[len(bl.Slots)-1].FromBass/2) * 1.4, Over: real(0.5, 9, "over"), Wanted: w}
			if bl.Blank > 0 {
				p.Behind = w
			}
			bl.Saddle = append(bl.Saddle, p)
			bl.Moves = append(bl.Moves, real(0, 2, "move"))
		}
		wellSet(t, Blanks(h, bl))
	})
}

// TestTemplateGoldens proves only that the sheets are unchanged, byte for byte.
func TestTemplateGoldens(t *testing.T) {
	h := Head{Guitar: "Marsh Wren", Date: "2026-03-02", Style: unit.Millimetre}
	gauges, _ := Gauges(h, gaugeCase())
	left := h
	left.Left, left.Style = true, unit.Inch64
	for name, s := range map[string]*drawing.Sheet{
		"full-gauges":     gauges,
		"full-cut-map":    CutMap(left, CutMapInput{Heel: heels["usual"], Depth: planes(heels["usual"])["both"], TenonWidth: 20 * mmU, Do: "Take 0.3 mm off the cap.", Caution: "Chisel: clamp the work."}),
		"full-bridge":     BridgePlace(h, bridgeCase()),
		"full-nut-saddle": Blanks(h, blankCase(t)),
	} {
		got, err := svg.Bytes(s, svg.Options{Mode: svg.Paper, ID: name, File: true})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name+".svg")
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
			t.Errorf("%s changed; look at it, then run with -update", name)
		}
	}
}

func BenchmarkTemplates(b *testing.B) {
	in := blankCase(b)
	b.ReportAllocs()
	for b.Loop() {
		Gauges(head, gaugeCase())
		CutMap(head, CutMapInput{Heel: heels["usual"], Depth: corners(0, 0.2, 0.3, 0.5), TenonWidth: 20 * mmU})
		BridgePlace(head, bridgeCase())
		Blanks(head, in)
	}
}
