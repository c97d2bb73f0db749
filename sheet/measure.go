package sheet

import (
	"math"
	"slices"

	"fairset/drawing"
	"fairset/unit"
)

// measureViews are the small drawings that show where a figure is taken. Each draws its parts plainly and the
// one figure asked for in the tone of what is read. None is to scale.
var measureViews = map[string]func(*measureView){
	"side": (*measureView).side, "plan": (*measureView).plan, "tenon": (*measureView).tenon, "shoulder": (*measureView).shoulder,
	"arc": (*measureView).arc, "heel": (*measureView).heel, "holes": (*measureView).holes, "roll": (*measureView).roll,
	"rule": (*measureView).rule, "dots": (*measureView).dots, "cents": (*measureView).cents, "strokes": (*measureView).strokes,
	"fret": (*measureView).fret, "relief": (*measureView).relief, "nut": (*measureView).nut, "saddle": (*measureView).saddle,
	"bolt": (*measureView).bolt, "jig": (*measureView).jig, "card": (*measureView).card,
}

// measureView is one of the drawings while it is drawn.
type measureView struct {
	*canvas
	mark  string
	style unit.Style
}

// Measure draws where a figure is taken: the view named, with its mark, its words as the style has them. title says what it
// shows, in the same language, for someone who cannot see it. It returns nil for a view there is none of, and a drawing without the item "mark" for a mark
// the view does not have.
func Measure(view, mark, title string, s unit.Style) *drawing.Sheet {
	draw, ok := measureViews[view]
	if !ok {
		return nil
	}
	m := &measureView{newCanvas(narrowWidth, title), mark, s}
	m.sheet.Desc = title
	draw(m)
	return m.done(0, measureHeight)
}

// measureHeight is the height of each drawing, as wide as a phone.
const measureHeight = 46.0

// read draws a measure in the tone of readings, if it is the one asked for, with its words at a point.
func (m *measureView) read(mark string, x1, y1, x2, y2 float64, words unit.Text, at drawing.Point, a drawing.Anchor) {
	if m.mark != mark {
		return
	}
	under := m.line(drawing.LayerGap, "", x1, y1, x2, y2) // so that it shows on dark wood too
	under.Pen.Tone, under.Pen.Weight = drawing.Paper, mm(1.6)
	m.line(drawing.LayerGap, "mark", x1, y1, x2, y2).Pen.Weight = mm(0.6)
	n := math.Hypot(x2-x1, y2-y1)
	if n > 0 {
		ux, uy := (x2-x1)/n, (y2-y1)/n
		for _, e := range [2][3]float64{{x1, y1, 1}, {x2, y2, -1}} {
			if n > 6 { // arrows within
				m.arrow(e[0], e[1], ux*e[2], uy*e[2])
			} else { // too short for them: from outside
				m.arrow(e[0], e[1], -ux*e[2], -uy*e[2])
				m.line(drawing.LayerGap, "", e[0], e[1], e[0]-ux*e[2]*5, e[1]-uy*e[2]*5)
			}
		}
	}
	m.say(words, at, a)
}

// arrow is a head at a point that looks back along a direction.
func (m *measureView) arrow(x, y, ux, uy float64) {
	m.fill(drawing.LayerGap, "", drawing.Accent, pt(x, y), pt(x+ux*2.4-uy*0.9, y+uy*2.4+ux*0.9), pt(x+ux*2.4+uy*0.9, y+uy*2.4-ux*0.9))
}

func (m *measureView) say(words unit.Text, at drawing.Point, a drawing.Anchor) {
	t := drawing.Text{At: at, Size: mm(middle), Anchor: a, Bold: true, Halo: drawing.Paper, String: words.In(m.style)}
	m.add(drawing.Item{Layer: drawing.LayerNote, Name: "words", Fill: drawing.Accent, Shape: m.onPaper(t)})
}

// onPaper moves words sideways as far as keeps them on the paper.
func (m *measureView) onPaper(t drawing.Text) drawing.Text {
	t.At.X -= max(t.Box().Right-mm(m.w), 0)
	t.At.X -= min(t.Box().Left, 0)
	return t
}

// name writes the name of a part.
func (m *measureView) name(x, y float64, a drawing.Anchor, words unit.Text) {
	t := label(x, y, small, a, words.In(m.style))
	t.Halo = drawing.Paper
	m.text("part", m.onPaper(t))
}

// point draws a small ring round a place, if it is the one asked for.
func (m *measureView) ring(mark string, x, y, r float64, words unit.Text, at drawing.Point, a drawing.Anchor) {
	if m.mark != mark {
		return
	}
	m.circle(drawing.LayerGap, "mark", "", x, y, r).Pen.Weight = mm(0.6)
	m.say(words, at, a)
}

func (m *measureView) is(marks ...string) bool { return slices.Contains(marks, m.mark) }

// side is the guitar from its side, nut on the left.
func (m *measureView) side() {
	const joint, top, saddle = 46.0, 20.0, 80.0
	m.rect(drawing.LayerWood, "body", drawing.Spruce, joint, 7, 97, top)
	m.polygon(drawing.LayerWood, "heel", drawing.Wood, pt(joint, top), pt(joint, 8), pt(joint-6, 8), pt(joint-9, 15), pt(joint-14, 17.4), pt(5, 16), pt(5, 20.6))
	m.polygon(drawing.LayerWood, "board", drawing.Dark, pt(5, 20.6), pt(5, 22.4), pt(joint+12, 22.2), pt(joint+12, top))
	m.rect(drawing.LayerWood, "nut", drawing.Bone, 3.6, 20.6, 5, 23.6)
	m.polygon(drawing.LayerWood, "bridge", drawing.Dark, pt(75, top), pt(77, 23), pt(84, 23), pt(87, top))
	m.rect(drawing.LayerWood, "saddle", drawing.Bone, saddle-0.7, 22, saddle+0.7, 25.6)
	fret := func(n float64) float64 { return 5 + (1-math.Pow(2, -n/12))*74 }
	for n := range 16 {
		if x := fret(float64(n + 1)); x < joint+12 {
			m.line(drawing.LayerMark, "", x, 22.3, x, 23.1)
		}
	}
	m.line(drawing.LayerString, "string", 4.5, 23.6, saddle, 25.6)
	straight := m.is("gap", "surface", "read_at", "fold")
	if straight {
		it := m.polygon(drawing.LayerEdge, "straight edge", drawing.Steel, pt(7, 23.1), pt(92, 24.6), pt(92, 27.6), pt(7, 26.1))
		it.Pen.Dash = []unit.Length{}
		m.name(30, 29.5, drawing.Middle, "straight edge")
	}
	m.name(70, 11.5, drawing.Middle, "body")
	m.name(26, 11, drawing.Middle, "neck")
	m.read("gap", saddle, top, saddle, 24.3, "gap", pt(saddle+2, 32), drawing.Start)
	m.read("neck_proud", joint-2, top, joint-2, 22.3, "underside over the top", pt(joint, 33), drawing.Middle)
	m.ring("surface", fret(9), 23.1, 2.4, "frets, or bare board?", pt(fret(9), 36), drawing.Middle)
	m.read("read_at", joint, 30, saddle, 30, "from the joint", pt((joint+saddle)/2+4, 33), drawing.Middle)
	m.read("action", fret(12), 23.1, fret(12), 24.6, "string over fret 12", pt(fret(12), 36), drawing.Middle)
	m.read("nut_to_joint", 5, 32, joint, 32, "nut to body's edge", pt((5+joint)/2, 35), drawing.Middle)
	m.read("scale_length", 5, 32, 79, 32, "scale length: twice nut to fret 12", pt(46, 35), drawing.Middle)
	m.ring("joint_fret", joint, 22.6, 2.6, "joint fret and body's edge", pt(joint, 33), drawing.Middle)
	m.read("saddle_setback", 79, 31, 81.5, 31, "behind the scale length", pt(97, 35), drawing.End)
	if m.is("saddle_setback", "scale_length") {
		m.line(drawing.LayerDatum, "", 79, 19, 79, 33)
	}
	if m.is("dome") {
		it := m.polyline(drawing.LayerGap, "mark", domed(joint, 97, top, 3)...)
		it.Pen.Weight = mm(0.6)
		m.say("dome of the top", pt(72, 32), drawing.Middle)
	}
	if m.is("fold") {
		m.add(drawing.Item{Layer: drawing.LayerGap, Name: "mark", Shape: drawing.Arc{Centre: pt(joint, top), Radius: mm(26), Start: 178 * unit.Degree, Sweep: -12 * unit.Degree}}).Pen.Weight = mm(0.6)
		m.say("neck turns forward under pull", pt(52, 36), drawing.Middle)
	}
}

// domed are points of a shallow arch.
func domed(x1, x2, y, rise float64) []drawing.Point {
	var out []drawing.Point
	for i := range 21 {
		u := float64(i) / 20
		out = append(out, pt(x1+(x2-x1)*u, y+rise*4*u*(1-u)))
	}
	return out
}

// plan is the guitar from above, nut on the left; bass is below, as for a right-handed one.
func (m *measureView) plan() {
	const mid, joint, saddle = 22.0, 46.0, 84.0
	var outline []drawing.Point
	half := func(u float64) float64 { // from the neck to the tail: upper bout, waist, lower bout
		between := func(lo, hi, from, to float64) float64 {
			return from + (to-from)*(1-math.Cos(math.Pi*(u-lo)/(hi-lo)))/2
		}
		switch {
		case u < 0.22:
			return 3 + 7*math.Sqrt(1-math.Pow(1-u/0.22, 2))
		case u < 0.42:
			return between(0.22, 0.42, 10, 7.8)
		case u < 0.72:
			return between(0.42, 0.72, 7.8, 13.5)
		}
		return 13.5 * math.Sqrt(math.Max(0, 1-math.Pow((u-0.72)/0.28, 2)))
	}
	for i := range 41 {
		u := float64(i) / 40
		outline = append(outline, pt(joint+51*u, mid+half(u)))
	}
	for i := range 41 {
		u := 1 - float64(i)/40
		outline = append(outline, pt(joint+51*u, mid-half(u)))
	}
	m.polygon(drawing.LayerWood, "body", drawing.Spruce, outline...)
	m.circle(drawing.LayerWood, "soundhole", drawing.Dark, 65, mid, 4.6)
	tip := 0.0
	if m.is("offset") {
		tip = 0.05
	}
	at := func(x float64) float64 { return mid - (x-joint)*tip }
	m.polygon(drawing.LayerWood, "board", drawing.Dark, pt(4, at(4)+2.4), pt(joint+13, at(joint+13)+3.4), pt(joint+13, at(joint+13)-3.4), pt(4, at(4)-2.4))
	m.rect(drawing.LayerWood, "saddle", drawing.Bone, saddle-0.6, mid-5.5, saddle+0.6, mid+5.5)
	m.line(drawing.LayerDatum, "centreline", 3, mid, 99, mid)
	if m.is("offset") {
		m.line(drawing.LayerEdge, "neck's line", 4, at(4), saddle, at(saddle))
		m.name(20, 33, drawing.Middle, "neck's own line")
		m.line(drawing.LayerDim, "", 20, 32, 26, at(26))
	}
	m.name(3, 3, drawing.Start, "bass side")
	m.name(3, 41.5, drawing.Start, "treble side")
	m.read("offset", saddle, at(saddle), saddle, mid, "misses by", pt(97, 41), drawing.End)
	m.read("width_nut", 5, mid-2.4, 5, mid+2.4, "width at the nut", pt(8, 32), drawing.Start)
	m.read("width_joint", joint, mid-3.1, joint, mid+3.1, "width at the joint", pt(44, 32.5), drawing.End)
	m.read("nut_spread", 5, mid-1.8, 5, mid+1.8, "outer strings apart", pt(8, 32), drawing.Start)
	m.read("saddle_spread", saddle, mid-4, saddle, mid+4, "outer strings apart", pt(97, 42), drawing.End)
	if m.is("nut_spread", "saddle_spread", "sides") {
		for _, y := range []float64{-1, 1} {
			m.line(drawing.LayerString, "string", 4, mid+1.8*y, saddle, mid+4*y)
		}
	}
	widest := func(lo, hi float64, narrow bool) (x, y float64) {
		x = lo
		for u := lo; u <= hi; u += 0.005 {
			if (half(u) > half(x)) != narrow {
				x = u
			}
		}
		return joint + 51*x, half(x)
	}
	for _, w := range []struct {
		mark   string
		lo, hi float64
		narrow bool
	}{{"upper_width", 0.1, 0.4, false}, {"waist_width", 0.3, 0.6, true}, {"lower_width", 0.5, 0.9, false}} {
		x, y := widest(w.lo, w.hi, w.narrow)
		m.read(w.mark, x, mid-y, x, mid+y, "width", pt(44, 34), drawing.End)
	}
	m.read("body_length", joint, 39, 97, 39, "body length", pt(44, 34), drawing.End)
	if m.is("sides") {
		m.ring("sides", 4.5, mid, 4.5, "bass or treble?", pt(12, 33), drawing.Start)
	}
}

// tenon is neck and body apart, from above.
func (m *measureView) tenon() {
	m.polygon(drawing.LayerWood, "heel", drawing.Wood, pt(4, 36), pt(30, 36), pt(30, 27), pt(47, 27), pt(47, 17), pt(30, 17), pt(30, 8), pt(4, 8))
	m.polygon(drawing.LayerWood, "block", drawing.Spruce, pt(96, 38), pt(56, 38), pt(56, 27.4), pt(75, 27.4), pt(75, 16.6), pt(56, 16.6), pt(56, 6), pt(96, 6))
	m.name(16, 21, drawing.Middle, "heel")
	m.name(85, 21, drawing.Middle, "block")
	m.read("tenon_length", 30, 31, 47, 31, "length", pt(39, 34), drawing.Middle)
	m.read("mortise_depth", 56, 22, 75, 22, "depth", pt(65, 24), drawing.Middle)
	m.read("tenon_width", 42, 17, 42, 27, "width", pt(42, 11), drawing.Middle)
	m.read("mortise_width", 66, 16.6, 66, 27.4, "width", pt(69, 31), drawing.Middle)
	m.name(38, 3, drawing.Middle, "from above")
}

// shoulder is the joint from its side, not quite home.
func (m *measureView) shoulder() {
	m.rect(drawing.LayerWood, "body", drawing.Spruce, 52, 6, 97, 38)
	m.polygon(drawing.LayerWood, "heel", drawing.Wood, pt(49, 38), pt(47, 6), pt(36, 6), pt(28, 24), pt(16, 31), pt(3, 33), pt(3, 38))
	m.rect(drawing.LayerWood, "board", drawing.Dark, 3, 38, 66, 41)
	m.name(76, 20, drawing.Middle, "body")
	m.name(38, 22, drawing.Middle, "heel")
	m.read("top", 49, 36, 52, 36, "at the top edge", pt(60, 30), drawing.Start)
	m.read("cap", 47.1, 8.5, 52, 8.5, "at the cap", pt(60, 11), drawing.Start)
	if m.is("face") {
		m.line(drawing.LayerGap, "mark", 52, 6, 52, 38).Pen.Weight = mm(0.8)
		m.say("the seat", pt(56, 31), drawing.Start)
	}
}

// arc is the body's end from above.
func (m *measureView) arc() {
	const r, cx, cy = 42.0, 50.0, -8.0
	var pts []drawing.Point
	for i := range 31 {
		a := math.Pi * (0.16 + 0.68*float64(i)/30)
		pts = append(pts, pt(cx+r*math.Cos(a), cy+r*math.Sin(a)))
	}
	pts = append(pts, pt(cx-r*math.Cos(0.16*math.Pi), 2), pt(cx+r*math.Cos(0.16*math.Pi), 2))
	m.polygon(drawing.LayerWood, "body", drawing.Spruce, pts...)
	side := drawing.Middle
	if m.is("arc_radius") { // clear of the radius
		side = drawing.End
	}
	m.name(50, 6, side, "body's end, from above")
	const half = 24.0
	y := cy + math.Sqrt(r*r-half*half)
	if !m.is("arc_radius") {
		m.line(drawing.LayerEdge, "chord", cx-half, y, cx+half, y)
	}
	m.read("arc_chord", cx-half, y, cx+half, y, "chord", pt(cx, y-5.5), drawing.Middle)
	m.read("arc_rise", cx, y, cx, cy+r, "rise‖of an arc", pt(cx+3, cy+r+4), drawing.Start)
	m.read("arc_radius", cx, 2, cx+(r-10)*math.Cos(1.1), cy+10+(r-10)*math.Sin(1.1), "radius", pt(cx+20, 15), drawing.Start)
	if m.is("body_share") {
		m.hatch(drawing.LayerCut, 45, 1.5, append([]drawing.Point{pt(cx+half, y)}, chordArc(cx, cy, r, half)...)...)
		m.line(drawing.LayerGap, "mark", cx-half, y, cx+half, y).Pen.Weight = mm(0.6)
		m.say("flattened on the body", pt(50, 40), drawing.Middle)
	}
}

func chordArc(cx, cy, r, half float64) []drawing.Point {
	var out []drawing.Point
	for i := range 21 {
		x := half - 2*half*float64(i)/20
		out = append(out, pt(cx+x, cy+math.Sqrt(r*r-x*x)))
	}
	return out
}

// heel is the face of the heel, and beside it the heel from its side.
func (m *measureView) heel() {
	m.polygon(drawing.LayerWood, "heel", drawing.Wood, pt(16, 39), pt(48, 39), pt(42, 6), pt(22, 6))
	m.polygon(drawing.LayerWood, "tenon", drawing.Wood, pt(26, 39), pt(38, 39), pt(38, 9), pt(26, 9))
	m.name(32, 41.5, drawing.Middle, "top edge")
	m.name(32, 1.8, drawing.Middle, "cap")
	m.polygon(drawing.LayerWood, "side", drawing.Wood, pt(90, 39), pt(90, 6), pt(80, 6), pt(74, 24), pt(64, 32), pt(60, 39))
	m.rect(drawing.LayerWood, "board", drawing.Dark, 60, 39, 97, 41.5)
	for _, y := range []float64{31, 17} {
		m.circle(drawing.LayerDrill, "bolt", drawing.Paper, 32, y, 1.5)
	}
	m.read("height", 12, 6, 12, 39, "height", pt(1, 42), drawing.Start)
	m.read("width_top", 16, 36, 48, 36, "width", pt(50, 35), drawing.Start)
	m.read("width_cap", 22.4, 8, 41.6, 8, "width", pt(45, 8), drawing.Start)
	if m.is("bolts") {
		m.read("bolts", 32, 39, 32, 17, "from the top edge", pt(97, 1.8), drawing.End)
		m.read("bolts", 35, 39, 35, 31, "", pt(0, 0), drawing.Start)
	}
	m.read("spare", 84, 20, 90, 20, "can lose", pt(91, 25), drawing.End)
	if m.is("shim") {
		m.polygon(drawing.LayerGap, "mark", drawing.Zone, pt(90, 39), pt(90, 6), pt(94, 6))
		m.say("shim: thick end", pt(97, 1.8), drawing.End)
	}
}

// holes is a bolt and the hole it should pass.
func (m *measureView) holes() {
	m.circle(drawing.LayerDrill, "hole", drawing.Paper, 58, 18, 11)
	m.circle(drawing.LayerDrill, "bolt", drawing.Steel, 42, 27, 8)
	for _, c := range [][2]float64{{58, 18}, {42, 27}} {
		m.line(drawing.LayerDatum, "", c[0]-3, c[1], c[0]+3, c[1])
		m.line(drawing.LayerDatum, "", c[0], c[1]-3, c[0], c[1]+3)
	}
	m.name(31, 33, drawing.End, "bolt")
	m.name(72, 16, drawing.Start, "body's hole")
	m.read("miss", 42, 27, 58, 18, "misses by", pt(56, 33), drawing.Start)
	m.read("across", 42, 27, 58, 27, "across", pt(60, 33), drawing.Start)
	m.read("down", 42, 27, 42, 18, "down", pt(40, 12), drawing.End)
}

// roll is the board across, over the top, looking toward the tail.
func (m *measureView) roll() {
	m.rect(drawing.LayerWood, "body", drawing.Spruce, 4, 4, 96, 12)
	m.polygon(drawing.LayerWood, "board", drawing.Dark, pt(26, 25), pt(74, 29), pt(73.4, 35), pt(25.4, 31))
	m.name(50, 6.3, drawing.Middle, "top, at the saddle's place")
	m.name(20, 39, drawing.Middle, "bass")
	m.name(80, 41, drawing.Middle, "treble")
	m.read("bass", 30, 12, 30, 25.3, "gap here", pt(33, 17), drawing.Start)
	m.read("treble", 70, 12, 70, 28.7, "gap here", pt(67, 18), drawing.End)
}

// rule is the end of a rule, large.
func (m *measureView) rule() {
	m.rect(drawing.LayerWood, "rule", drawing.Bone, 8, 10, 94, 30)
	for i := range 17 {
		x, h := 12+float64(i)*5, 5.0
		if i%4 == 0 {
			h = 10
		} else if i%2 == 0 {
			h = 7
		}
		m.line(drawing.LayerMark, "", x, 30, x, 30-h)
	}
	m.name(50, 13, drawing.Middle, "your rule")
	m.read("graduation", 47, 33, 52, 33, "smallest mark", pt(50, 38), drawing.Middle)
}

// dots is a piece of the board from its edge.
func (m *measureView) dots() {
	m.rect(drawing.LayerWood, "board", drawing.Dark, 4, 14, 96, 24)
	for i, x := range []float64{10, 27, 43, 58, 72, 85} {
		m.rect(drawing.LayerMark, "fret", drawing.Steel, x-0.8, 24, x+0.8, 27)
		if i > 0 && i%2 == 1 {
			p := (x + []float64{10, 27, 43, 58, 72, 85}[i-1]) / 2
			m.circle(drawing.LayerMark, "dot", drawing.Bone, p, 19, 1.7)
			if i == 3 {
				m.ring("dots", p, 19, 4, "midway between two frets", pt(p, 34), drawing.Middle)
			}
		}
	}
	m.name(4, 9, drawing.Start, "toward the nut")
}

// cents is a tuner.
func (m *measureView) cents() {
	const cx, cy, r = 50.0, 6.0, 28.0
	for i := range 11 {
		a := math.Pi * (0.15 + 0.07*float64(i))
		l := 3.0
		if i == 5 {
			l = 5
		}
		m.line(drawing.LayerMark, "", cx+r*math.Cos(a), cy+r*math.Sin(a), cx+(r-l)*math.Cos(a), cy+(r-l)*math.Sin(a))
	}
	m.circle(drawing.LayerMark, "", drawing.Ink, cx, cy, 1.4)
	m.name(14, 16, drawing.Middle, "− flat")
	m.name(86, 16, drawing.Middle, "+ sharp")
	if m.is("cents") {
		it := m.line(drawing.LayerGap, "mark", cx, cy, cx+24*math.Cos(math.Pi*0.4), cy+24*math.Sin(math.Pi*0.4))
		it.Pen.Weight = mm(0.9)
		m.say("how far from true", pt(50, 39), drawing.Middle)
	}
}

// strokes is the heel on an abrasive board.
func (m *measureView) strokes() {
	m.rect(drawing.LayerWood, "board", drawing.Steel, 6, 6, 94, 10)
	m.polygon(drawing.LayerWood, "heel", drawing.Wood, pt(34, 10), pt(66, 10), pt(62, 34), pt(38, 34))
	m.name(90, 13, drawing.End, "abrasive")
	m.name(50, 24, drawing.Middle, "heel")
	m.read("stroke", 70, 20, 94, 20, "push and back: one", pt(94, 38), drawing.End)
	if m.is("mark") {
		m.line(drawing.LayerGap, "mark", 34.8, 15, 65.2, 13).Pen.Weight = mm(0.7)
		m.say("the mark to stop at", pt(50, 38), drawing.Middle)
	}
}

// fret is the board across a fret, from its side.
func (m *measureView) fret() {
	m.rect(drawing.LayerWood, "neck", drawing.Wood, 6, 3, 94, 12)
	m.rect(drawing.LayerWood, "board", drawing.Dark, 6, 12, 94, 26)
	for _, x := range []float64{28, 72} {
		m.polygon(drawing.LayerMark, "fret", drawing.Steel, pt(x-4, 26), pt(x-2.6, 30), pt(x, 31.5), pt(x+2.6, 30), pt(x+4, 26))
	}
	m.name(16, 5.5, drawing.Middle, "neck")
	m.name(20, 34, drawing.Middle, "fret")
	m.read("board_thickness", 97, 12, 97, 26, "board", pt(94, 36), drawing.End)
	m.read("fret_crown", 79, 26, 79, 31.5, "crown", pt(72, 40), drawing.Middle)
}

// relief is the hollow of the frets, larger than it ever is.
func (m *measureView) relief() {
	var up, down []drawing.Point
	for i := range 21 {
		u := float64(i) / 20
		y := 22 - 7*4*u*(1-u)
		up = append(up, pt(6+88*u, y))
		down = append([]drawing.Point{pt(6+88*u, y-5)}, down...)
	}
	m.polygon(drawing.LayerWood, "board", drawing.Dark, append(up, down...)...)
	m.line(drawing.LayerString, "string", 6, 22, 94, 22).Pen.Weight = mm(0.6)
	m.name(6, 25.5, drawing.Start, "pressed at fret 1")
	m.name(94, 25.5, drawing.End, "and at the joint")
	m.read("relief", 50, 15, 50, 22, "relief", pt(50, 34), drawing.Middle)
}

// nut is the nut and the first fret.
func (m *measureView) nut() {
	m.rect(drawing.LayerWood, "board", drawing.Dark, 22, 8, 96, 18)
	m.rect(drawing.LayerWood, "nut", drawing.Bone, 12, 8, 22, 29)
	m.polygon(drawing.LayerMark, "fret", drawing.Steel, pt(66, 18), pt(67.4, 22), pt(70, 23.5), pt(72.6, 22), pt(74, 18))
	m.line(drawing.LayerString, "string", 8, 27, 96, 29.5).Pen.Weight = mm(0.7)
	m.name(17, 3.5, drawing.Middle, "nut")
	m.name(70, 3.5, drawing.Middle, "fret 1")
	m.name(90, 33, drawing.End, "string")
	m.read("nut_gap", 70, 23.5, 70, 28.8, "gap", pt(60, 36), drawing.End)
}

// saddle is the bridge across its saddle.
func (m *measureView) saddle() {
	m.rect(drawing.LayerWood, "top", drawing.Spruce, 4, 5, 96, 10)
	m.polygon(drawing.LayerWood, "bridge", drawing.Dark, pt(24, 10), pt(30, 24), pt(74, 24), pt(82, 10))
	m.rect(drawing.LayerWood, "saddle", drawing.Bone, 44, 16, 49, 34)
	m.name(90, 6, drawing.End, "top‖of the guitar")
	m.name(66, 27, drawing.Start, "bridge")
	m.read("bridge_thickness", 87, 10, 87, 24, "thickness", pt(95, 34), drawing.End)
	m.read("saddle_projection", 40, 24, 40, 34, "saddle over it", pt(37, 36), drawing.End)
}

// bolt is a bolt in heel and block, from its side.
func (m *measureView) bolt() {
	m.rect(drawing.LayerWood, "heel", drawing.Wood, 4, 6, 48, 36)
	m.rect(drawing.LayerWood, "block", drawing.Spruce, 52, 6, 84, 36)
	m.rect(drawing.LayerDrill, "wood thread", drawing.Steel, 18, 18, 56, 24)
	m.rect(drawing.LayerDrill, "machine thread", drawing.Steel, 56, 19, 94, 23)
	m.rect(drawing.LayerDrill, "nut", drawing.Steel, 85, 16, 89, 26)
	for x := 20.0; x < 55; x += 3 {
		m.line(drawing.LayerMark, "", x, 18, x+1.5, 24)
	}
	m.name(12, 9, drawing.Middle, "heel")
	m.name(74, 9, drawing.Middle, "block")
	m.read("bite", 18, 28, 48, 28, "in the heel", pt(33, 31), drawing.Middle)
	m.read("out", 48, 28, 56, 28, "left out", pt(58, 38.5), drawing.Start)
}

// jig is a ramp.
func (m *measureView) jig() {
	m.polygon(drawing.LayerWood, "jig", drawing.Wood, pt(8, 12), pt(92, 12), pt(92, 26))
	m.read("run", 8, 8, 92, 8, "length of the jig", pt(50, 2), drawing.Middle)
	m.name(88, 30, drawing.End, "its rise")
}

// card is something written down.
func (m *measureView) card() {
	m.rect(drawing.LayerPaper, "card", drawing.Bone, 26, 5, 74, 41)
	for _, y := range []float64{32, 25, 18} {
		m.line(drawing.LayerDim, "", 32, y, 68, y)
	}
	if m.is("tick") {
		m.polyline(drawing.LayerGap, "mark", pt(58, 11), pt(62, 7.5), pt(69, 15)).Pen.Weight = mm(1)
	}
	if m.is("words") {
		m.polyline(drawing.LayerGap, "mark", pt(33, 27), pt(36, 30), pt(39, 26.5), pt(43, 30), pt(47, 26.5), pt(52, 29.5), pt(58, 27)).Pen.Weight = mm(0.6)
	}
}
