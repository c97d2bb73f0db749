package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairset/craft/body"
	"fairset/craft/wood"
	"fairset/drawing"
	"fairset/unit"
)

// bodyLayers are the layers' names on the sheets of a body.
var bodyLayers = map[drawing.Layer]string{drawing.LayerWood: "outline", drawing.LayerDrill: "soundhole", drawing.LayerMark: "braces", drawing.LayerScore: "plates", drawing.LayerEdge: "bridge",
	drawing.LayerDatum: "datum", drawing.LayerDim: "dimensions", drawing.LayerNote: "notes"}

// Sizes on the sheets of a body, in mm.
const (
	bodyAside   = 9.0  // between the edge and the first dimension beside it
	bodyRow     = 7.5  // between dimensions
	leastWords  = 2.9  // letters along a brace that has no room for larger ones
	labelApart  = 0.5  // between words and what they must not touch
	outsideGap  = 4.0  // between the edge and words about it
	stationMM   = 50.0 // between the offsets of the half template
	stationInch = 50.8 // the same for those who read inches
	holeWords   = 30.0 // least hole, across, that takes words
)

// bodyOnPaper puts a body's frame on paper with the neck up: looking down on the top, bass on the left of a right-handed guitar.
func bodyOnPaper(h Head) func(p body.Point) drawing.Point {
	side := -1.0
	if h.Left {
		side = 1
	}
	return func(p body.Point) drawing.Point { return pt(side*p.Y.MM(), p.X.MM()) }
}

// edgePath is the outline as a path.
func edgePath(curves []body.Curve, at func(body.Point) drawing.Point, closed bool) drawing.Path {
	var out drawing.Path
	for i, c := range curves {
		if i == 0 {
			out.Steps = append(out.Steps, drawing.Step{To: at(c[0])})
		}
		out.Steps = append(out.Steps, drawing.Step{Verb: drawing.CurveTo, A: at(c[1]), B: at(c[2]), To: at(c[3])})
	}
	if closed {
		out.Steps = append(out.Steps, drawing.Step{Verb: drawing.Close})
	}
	return out
}

// BodyPlan draws a body's top at full size: edge, soundhole, bridge and saddle line, and under them the bridge plate and every brace where it is
// glued, as if the top were glass. Neck up, bass on the left of a right-handed guitar.
//
// The zero is the tail on the centreline. The Path "outline", the Circle "soundhole" and the closed Polylines "brace-1" and so on, "plate-1" and
// "bridge" are to full size; the Line "saddle" is the saddle line. Dimension lines "body-length", "edge-to-hole" and "edge-to-saddle" run along the
// centreline.
func BodyPlan(h Head, s body.Soundboard) *drawing.Sheet {
	f := newFull(h, "Body, soundhole and braces")
	f.sheet.LayerNames = bodyLayers
	at := bodyOnPaper(h)
	length := s.Outline.Length().MM()
	widest, _ := s.Outline.Widest()
	half := widest.MM() / 2
	style := h.Style

	out := f.add(drawing.Item{Layer: drawing.LayerWood, Name: "outline", Shape: edgePath(s.Outline.Curves(), at, true)})
	out.Pen.Weight = mm(0.4)
	f.line(drawing.LayerDatum, "centreline", 0, -6, 0, length+6)
	w := &bodyWords{f: f}
	edges := func(q []drawing.Point) { // words keep off its lines, not off what is inside them
		for i, a := range q {
			w.solid = append(w.solid, []drawing.Point{a, q[(i+1)%len(q)]})
		}
	}
	for i, hole := range s.Holes {
		name := "soundhole"
		if i > 0 {
			name = fmt.Sprintf("soundhole-%d", i+1)
		}
		c := at(hole.Centre)
		f.circle(drawing.LayerDrill, name, "", c.X.MM(), c.Y.MM(), hole.Radius.MM())
		crossMark(f, drawing.LayerDrill, c, 3)
		w.solid = append(w.solid, ringOf(c, hole.Radius.MM()))
	}
	for i, p := range s.Patches {
		q := onPaper(p.Corners[:], at)
		edges(q)
		it := f.polygon(drawing.LayerScore, fmt.Sprintf("plate-%d", i+1), "", q...)
		it.Pen.Dash = []unit.Length{mm(4), mm(1.2)}
	}
	for i, b := range s.Braces {
		c := b.Corners()
		q := onPaper(c[:], at)
		f.polygon(drawing.LayerMark, fmt.Sprintf("brace-%d", i+1), "", q...)
		w.solid = append(w.solid, q)
	}
	if b := s.Bridge; b != nil {
		c := b.Corners()
		q := onPaper(c[:], at)
		edges(q)
		it := f.polygon(drawing.LayerEdge, "bridge", "", q...)
		it.Pen.Tone, it.Pen.Weight = drawing.Ink, mm(0.3)
		if b.Saddle > 0 {
			l, r := at(body.Point{X: b.Saddle, Y: b.Across / 2}), at(body.Point{X: b.Saddle, Y: -b.Across / 2})
			f.line(drawing.LayerEdge, "saddle", l.X.MM(), l.Y.MM(), r.X.MM(), r.Y.MM()).Pen.Weight = mm(0.3)
		}
	}

	// Along the bass side: what lies how far from the body's edge at the neck.
	x := -half - bodyAside
	up := func(name, say string, from, to float64) {
		f.add(drawing.Item{Layer: drawing.LayerDim, Name: name, Shape: noExtend(dim(pt(0, from), pt(0, to), 90, pt(x, 0), drawing.Text{}))})
		for _, y := range []float64{from, to} {
			f.line(drawing.LayerDim, "", x-1.5, y, x+1.5, y)
		}
		t := label(x-1.4, (from+to)/2, small, drawing.Middle, say)
		t.Turn = 90 * unit.Degree
		w.keep(name+"-text", t)
		x -= bodyRow
	}
	for i, hole := range s.Holes[:min(1, len(s.Holes))] {
		y := hole.Centre.X.MM()
		up("edge-to-hole", f.say("edge to soundhole %s", nb(edgeToHole(s, i, style))), y, length)
	}
	if b := s.Bridge; b != nil && b.Saddle > 0 {
		up("edge-to-saddle", f.say("edge to saddle line %s", nb((s.Outline.Length()-b.Saddle).In(style))), b.Saddle.MM(), length)
	}
	up("body-length", f.say("body %s", nb(s.Outline.Length().In(style))), 0, length)

	// Beside the treble side: the widths.
	for _, v := range s.Outline.Swells() {
		y, e := v.At.MM(), v.Width.MM()/2
		f.line(drawing.LayerDim, "", e, y, e+outsideGap-0.8, y)
		w.keep("", label(e+outsideGap, y+0.5, small, drawing.Start, swell(v, nb(wide(v.Width, style)), style)))
		w.keep("", label(e+outsideGap, y-small*1.1, small, drawing.Start, nb(f.say("%v from the tail", v.At))))
	}

	// Inside: hole first, then braces from the longest, whose words find room least easily.
	if len(s.Holes) > 0 && 2*s.Holes[0].Radius.MM() >= holeWords {
		c := at(s.Holes[0].Centre)
		x, y := c.X.MM(), c.Y.MM()
		for _, t := range []drawing.Text{label(x, y+4.5, small, drawing.Middle, f.say("soundhole")), label(x, y-4.5-small*0.74, small, drawing.Middle, nb(f.say("%v across", 2*s.Holes[0].Radius)))} {
			t.Halo = drawing.Paper // the centreline runs behind them
			w.keep("", t)
		}
	}
	for i, b := range s.Braces {
		w.brace(at, s, i, b, style)
	}
	name := func(said string, size, x, y float64) {
		var spots []drawing.Text
		for _, dx := range []float64{0, 20, -20, 35, -35, 50, -50, 65, -65} {
			spots = append(spots, label(x+dx, y+1.8, size, drawing.Middle, said), label(x+dx, y-1.8-size*drawing.Rise, size, drawing.Middle, said))
		}
		if !w.put("", false, s, at, spots...) {
			w.put("", true, s, at, spots...)
		}
	}
	if b := s.Bridge; b != nil {
		c := at(b.Centre)
		name(f.say("bridge"), small, c.X.MM(), c.Y.MM()-b.Along.MM()/2)
	}
	for _, p := range s.Patches {
		low, mid := math.Inf(1), 0.0
		for _, c := range p.Corners {
			low, mid = math.Min(low, at(c).Y.MM()), mid+at(c).X.MM()/4
		}
		name(body.Called(p.Name).In(style)+", "+nb(p.Thickness.In(style)), leastWords, mid, low)
	}

	f.sheet.Desc = f.say("The top of the body seen from above with the neck up, as if it were glass: its edge, the soundhole, the bridge, and under it the bridge plate and %s.", style.Count(len(s.Braces), "%d brace", "%d braces"))
	f.sheet.Table = partsTable(s, style)
	notes := []string{f.say("Seen from above with the neck up, as if the top were glass; braces and plate are glued underneath. From inside the body left and right change places.")}
	if len(s.Braces) > 0 {
		notes = append(notes, f.say("Figures across a brace are its height there; it runs straight between them. Shape the ends to go into the lining where they reach it."))
	}
	if s.Dome > 0 {
		notes = append(notes, f.say("The top is domed to a radius of %s: shape the underside of each brace to it before gluing.", nb(s.Dome.In(style))))
	}
	if len(s.Braces) > 0 {
		notes = append(notes, f.say("Braces in %s, heights by the distance from the end nearer the tail, or from the bass end:", symbolInWords(style)))
	}
	for _, b := range s.Braces {
		notes = append(notes, braceSaid(b, style))
	}
	return f.done("the tail, on the centreline", notes...)
}

// wide says a width.
func wide(l unit.Length, s unit.Style) string { return s.Say("%v wide", l) }

// swell says something of a body's bout or waist.
func swell(v body.Swell, what string, s unit.Style) string {
	if v.Narrow {
		return s.Say("waist %s", what)
	}
	return s.Say("bout %s", what)
}

// edgeToHole is how far a hole's centre lies from the body's edge at the neck.
func edgeToHole(s body.Soundboard, i int, style unit.Style) string {
	return (s.Outline.Length() - s.Holes[i].Centre.X).In(style)
}

// braceSaid says one brace in figures: its size and its heights by their place from the end nearer the tail, from the bass end of one that
// lies square to the centreline.
func braceSaid(b body.Brace, style unit.Style) string {
	hs, long := b.Heights, b.Length()
	back := b.From.X > b.To.X
	if (b.From.X - b.To.X).Abs() < 0.5*unit.MM {
		back = b.From.Y < b.To.Y
	}
	var said []string
	for i := range hs {
		h, at := hs[i], hs[i].At
		if back {
			h = hs[len(hs)-1-i]
			at = 1 - h.At
		}
		t := h.Height.Number(style)
		if i > 0 && i < len(hs)-1 {
			t = style.Say("%s at %s", t, (unit.Length(at) * long).Number(style))
		}
		said = append(said, nb(t))
	}
	return style.Say("%v: %s, %s; high %s.", body.Called(b.Name), nb(style.Say("%s long", long.Number(style))), nb(style.Say("%s wide", b.Width.Number(style))), strings.Join(said, ", "))
}

// partsTable lists the parts to cut.
func partsTable(s body.Soundboard, style unit.Style) [][]string {
	rows := [][]string{unit.Texts{"Part", "Pieces", "Length on the wood", "Width", "Height or thickness", "Wood"}.In(style)}
	for _, p := range s.Parts() {
		material := p.Wood
		if w, ok := wood.Find(p.Wood); ok {
			material = w.Name.In(style)
		}
		rows = append(rows, []string{p.Name.In(style), fmt.Sprint(p.Count), p.Length.In(style), p.Width.In(style), p.Height.In(style), material})
	}
	return rows
}

func onPaper(c []body.Point, at func(body.Point) drawing.Point) []drawing.Point {
	out := make([]drawing.Point, len(c))
	for i, p := range c {
		out[i] = at(p)
	}
	return out
}

func crossMark(f *full, l drawing.Layer, c drawing.Point, arm float64) {
	x, y := c.X.MM(), c.Y.MM()
	f.line(l, "", x-arm, y, x+arm, y).Pen.Weight = mm(0.2)
	f.line(l, "", x, y-arm, x, y+arm).Pen.Weight = mm(0.2)
}

// ringOf is a circle as a polygon round it.
func ringOf(c drawing.Point, r float64) []drawing.Point {
	const n = 32
	out := make([]drawing.Point, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		out[i] = drawing.Point{X: c.X + mm(r*cos/math.Cos(math.Pi/n)), Y: c.Y + mm(r*sin/math.Cos(math.Pi/n))}
	}
	return out
}

// bodyWords puts turned words where they meet neither each other nor what is solid.
type bodyWords struct {
	f     *full
	said  [][]drawing.Point
	solid [][]drawing.Point
}

// quad is the rectangle a turned text needs, grown by a margin.
func quad(t drawing.Text, by float64) []drawing.Point {
	flat := t
	flat.Turn, flat.At = 0, drawing.Point{}
	b := grown(flat.Box(), by)
	sin, cos := math.Sincos(float64(t.Turn))
	turn := func(x, y unit.Length) drawing.Point {
		return drawing.Point{X: t.At.X + x*unit.Length(cos) - y*unit.Length(sin), Y: t.At.Y + x*unit.Length(sin) + y*unit.Length(cos)}
	}
	return []drawing.Point{turn(b.Left, b.Bottom), turn(b.Right, b.Bottom), turn(b.Right, b.Top), turn(b.Left, b.Top)}
}

// apartConvex reports whether two convex polygons share no room: a straight line along a side of one parts them (separating axis
// theorem).
func apartConvex(a, b []drawing.Point) bool {
	for _, p := range [2][]drawing.Point{a, b} {
		for i, q := range p {
			r := p[(i+1)%len(p)]
			nx, ny := float64(r.Y-q.Y), float64(q.X-r.X)
			span := func(p []drawing.Point) (lo, hi float64) {
				lo, hi = math.Inf(1), math.Inf(-1)
				for _, v := range p {
					d := float64(v.X)*nx + float64(v.Y)*ny
					lo, hi = math.Min(lo, d), math.Max(hi, d)
				}
				return lo, hi
			}
			al, ah := span(a)
			bl, bh := span(b)
			if ah <= bl || bh <= al {
				return true
			}
		}
	}
	return false
}

// keep puts words down where they are told to be.
func (w *bodyWords) keep(name string, t drawing.Text) {
	w.f.text(name, t)
	w.said = append(w.said, quad(t, labelApart))
}

// put puts words at the first of some spots where they meet no other words, stay within the body's edge and, unless over is
// true, off everything solid. It reports whether there was one.
func (w *bodyWords) put(name string, over bool, s body.Soundboard, at func(body.Point) drawing.Point, spots ...drawing.Text) bool {
	side := 1.0
	if at(body.Point{Y: 1}).X < 0 {
		side = -1
	}
	clear := func(q []drawing.Point, others [][]drawing.Point) bool {
		for _, o := range others {
			if !apartConvex(q, o) {
				return false
			}
		}
		return true
	}
spots:
	for _, t := range spots {
		q := quad(t, labelApart)
		if !clear(q, w.said) || !over && !clear(q, w.solid) {
			continue
		}
		for _, c := range q {
			if !s.Outline.Inside(body.Point{X: c.Y, Y: c.X * unit.Length(side)}, 0) {
				continue spots
			}
		}
		t.Halo = drawing.Paper
		w.keep(name, t)
		return true
	}
	return false
}

// brace names a brace along itself and writes its heights across it.
func (w *bodyWords) brace(at func(body.Point) drawing.Point, s body.Soundboard, i int, b body.Brace, style unit.Style) {
	p, q := at(b.From), at(b.To)
	long := math.Hypot((q.X - p.X).MM(), (q.Y - p.Y).MM())
	turn := math.Atan2(float64(q.Y-p.Y), float64(q.X-p.X))
	flip := turn > math.Pi/2+1e-9 || turn <= -math.Pi/2+1e-9 // so that it can be read from below or from the right
	if flip {
		turn += math.Pi
	}
	sin, cos := math.Sincos(turn)
	half := b.Width.MM() / 2
	// A place at a share of the length, above or below the brace as its words are read.
	beside := func(share, size float64, above bool, said string) drawing.Text {
		x, y := p.X.MM()+share*(q.X-p.X).MM(), p.Y.MM()+share*(q.Y-p.Y).MM()
		off := half + 1.1 + drawing.Fall*size
		if !above {
			off = -half - 1.1 - drawing.Rise*size
		}
		t := label(x-off*sin, y+off*cos, size, drawing.Middle, said)
		t.Turn = unit.Angle(turn)
		return t
	}
	shares := []float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78, 0.15, 0.85}
	called := body.Called(b.Name).In(style)
	said := called + ", " + nb(wide(b.Width, style))
	var spots []drawing.Text
	for _, t := range []struct {
		said string
		size float64
	}{{said, small}, {said, leastWords}, {called, leastWords}} {
		for _, share := range shares {
			spots = append(spots, beside(share, t.size, true, t.said), beside(share, t.size, false, t.said))
		}
	}
	name := fmt.Sprintf("brace-%d", i+1)
	if !w.put(name+"-name", false, s, at, spots...) {
		w.put(name+"-name", true, s, at, spots...)
	}
	for k, h := range b.Heights {
		x, y := p.X.MM()+h.At*(q.X-p.X).MM(), p.Y.MM()+h.At*(q.Y-p.Y).MM()
		if k > 0 && k < len(b.Heights)-1 {
			w.f.line(drawing.LayerDim, "", x-half*sin, y+half*cos, x+half*sin, y-half*cos)
		}
		figure := h.Height.Number(style)
		room := (width(figure, leastWords, false)/2 + 0.5) / long
		var spots []drawing.Text
		for _, d := range []float64{0, 0.5, -0.5, 1, -1, 1.6, -1.6, 2.4, -2.4} {
			share := math.Max(room, math.Min(1-room, h.At+2*d*room))
			spots = append(spots, beside(share, leastWords, true, figure), beside(share, leastWords, false, figure))
		}
		w.put(name+"-height", false, s, at, spots...)
	}
}

// BodyHalf draws one half of a body's outline at full size, to cut a template from that is turned over on the centreline: the tail on the
// left, the half widths every 50 mm (2 in for those who read inches), bouts and waist, and where soundhole and saddle line lie.
//
// The zero is the tail on the centreline. The Path "outline" is the half with its straight edge; Lines "station-1" and so on run from the centreline
// to the edge.
func BodyHalf(h Head, s body.Soundboard) *drawing.Sheet {
	f := newFull(h, "Half outline of the body")
	f.sheet.LayerNames = bodyLayers
	style := h.Style
	at := func(p body.Point) drawing.Point { return pt(p.X.MM(), p.Y.MM()) }
	length := s.Outline.Length().MM()
	f.add(drawing.Item{Layer: drawing.LayerWood, Name: "outline", Shape: edgePath(s.Outline.Half(), at, true)}).Pen.Weight = mm(0.4)
	w := &bodyWords{f: f}

	step := stationMM
	if !style.Metric() {
		step = stationInch
	}
	rows := [][]string{unit.Texts{"From the tail", "Half width"}.In(style)}
	var halves []drawing.Text
	for i := 1; float64(i)*step < length-6; i++ {
		x := float64(i) * step
		y := s.Outline.WidthAt(mm(x)) / 2
		f.line(drawing.LayerDim, fmt.Sprintf("station-%d", i), x, 0, x, y.MM())
		rows = append(rows, []string{mm(x).In(style), y.In(style)})
		t := label(x-1.2, y.MM()*0.45, small, drawing.Middle, nb(y.In(style)))
		t.Turn, t.Halo = 90*unit.Degree, drawing.Paper
		for _, share := range []float64{0.45, 0.6, 0.3, 0.75, 0.2} {
			if t.At.Y = mm(y.MM() * share); clearOfMarks(t, s) {
				break
			}
		}
		halves, w.said = append(halves, t), append(w.said, quad(t, labelApart))
		w.keep("", label(x, -small*1.3, small, drawing.Middle, mm(x).Number(style)))
	}
	if b := s.Bridge; b != nil && b.Saddle > 0 { // words keep off the saddle line
		w.solid = append(w.solid, []drawing.Point{pt(b.Saddle.MM(), 0), pt(b.Saddle.MM(), b.Across.MM()/2)})
	}
	var swells []string
	for i, v := range s.Outline.Swells() {
		x, y := v.At.MM(), v.Width.MM()/2
		name := fmt.Sprintf("bout-%d", i+1)
		row, word := f.say("%v, bout", v.At), f.say("bout")
		if v.Narrow {
			name, row, word = fmt.Sprintf("waist-%d", i+1), f.say("%v, waist", v.At), f.say("waist")
		}
		f.line(drawing.LayerMark, name, x, y-6, x, y+2.5)
		w.spread(label(x, y+outsideGap, small, drawing.Middle, swell(v, f.say("%s at %s", nb((v.Width/2).In(style)), nb(v.At.In(style))), style)))
		rows = append(rows, []string{row, (v.Width / 2).In(style)})
		swells = append(swells, word)
	}
	for i, hole := range s.Holes {
		if hole.Centre.Y != 0 {
			continue
		}
		name := "soundhole"
		if i > 0 {
			name = fmt.Sprintf("soundhole-%d", i+1)
		}
		f.add(drawing.Item{Layer: drawing.LayerDrill, Name: name, Shape: drawing.Arc{Centre: pt(hole.Centre.X.MM(), 0), Radius: hole.Radius, Sweep: 180 * unit.Degree}})
		f.line(drawing.LayerDrill, "", hole.Centre.X.MM(), 0, hole.Centre.X.MM(), 5)
		rows = append(rows, []string{f.say("%v, soundhole's centre", hole.Centre.X), ""})
		t := label(hole.Centre.X.MM(), hole.Radius.MM()+1.4, leastWords, drawing.Middle, f.say("soundhole %s", nb(f.say("%v across", 2*hole.Radius))))
		w.spread(t)
	}
	if b := s.Bridge; b != nil && b.Saddle > 0 {
		x := b.Saddle.MM()
		f.line(drawing.LayerEdge, "saddle", x, 0, x, b.Across.MM()/2).Pen.Dash = []unit.Length{}
		rows = append(rows, []string{f.say("%v, saddle line", b.Saddle), ""})
		w.spread(label(x, b.Across.MM()/2+1.4, leastWords, drawing.Middle, f.say("saddle line at %s", nb(b.Saddle.In(style)))))
	}
	f.line(drawing.LayerDatum, "centreline", -6, 0, length+6, 0)
	for _, t := range halves { // last, so that a halo covers what a small half leaves no way round
		f.text("", t)
	}
	w.keep("", label(length+2, -small*1.3, small, drawing.Start, f.say("%s neck end", nb(s.Outline.Length().Number(style)))))
	f.sheet.Desc = f.say("Half of the body's outline with the tail on the left and its straight edge on the centreline; half widths every %v, %s marked.", mm(step), strings.Join(swells, ", "))
	f.sheet.Table = rows
	return f.done("the tail, on the centreline", f.say("Cut along the edge, mark the centreline, draw one side round it, turn it over on the centreline and draw the other."),
		f.say("Figures under the centreline run from the tail, those along the lines are the half widths there."),
		f.say("Area of the whole top: %s, soundhole not taken off.", nb(areaSaid(s.Outline.Area(), style))))
}

// clearOfMarks reports whether words on the half outline keep off the edge of every hole and off the saddle line.
func clearOfMarks(t drawing.Text, s body.Soundboard) bool {
	b := t.Box()
	const room = 1 * unit.MM
	for _, h := range s.Holes {
		c := h.Centre
		near := math.Hypot(float64(max(b.Left, min(c.X, b.Right))-c.X), float64(max(b.Bottom, min(c.Y, b.Top))-c.Y))
		far := math.Hypot(math.Max(math.Abs(float64(b.Left-c.X)), math.Abs(float64(b.Right-c.X))), math.Max(math.Abs(float64(b.Bottom-c.Y)), math.Abs(float64(b.Top-c.Y))))
		if near < float64(h.Radius+room) && far > float64(h.Radius-room) {
			return false
		}
	}
	if r := s.Bridge; r != nil && r.Saddle > 0 && b.Left < r.Saddle+room && b.Right > r.Saddle-room && b.Bottom < r.Across/2+room {
		return false
	}
	return true
}

// areaSaid writes an area in square metres as a maker measures it.
func areaSaid(a float64, s unit.Style) string {
	if s.Metric() {
		return s.Decimal(a*1e4, 0) + " cm²"
	}
	return s.Say("%.1f square inches", a/(0.0254*0.0254))
}

// spread keeps words near where they would like to be, moved sideways as little as keeps them off other words and what is solid.
func (w *bodyWords) spread(t drawing.Text) {
	home := t.At
	for i := range 40 {
		for _, dir := range []unit.Length{1, -1} {
			t.At.X = home.X + dir*mm(float64(i)*2)
			q := quad(t, labelApart)
			free := true
			for _, o := range slices.Concat(w.said, w.solid) {
				free = free && apartConvex(q, o)
			}
			if free {
				t.Halo = drawing.Paper
				w.keep("", t)
				return
			}
		}
	}
}
