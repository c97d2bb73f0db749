package sheet

import (
	"fmt"
	"math"
	"slices"

	"fairset/craft/body"
	"fairset/drawing"
	"fairset/unit"
)

// TopShape is how far each place of a top has moved: known at corners Step apart, Along of them in each row from the tail, Across rows toward the
// bass side; NaN in holes and off the top. In metres, or in any measure when only the shape matters.
type TopShape struct {
	From          body.Point
	Step          unit.Length
	Along, Across int
	At            []float64
}

// TopOptions of the pictures of a top that moves.
type TopOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
	Title      string // in the reader's language
	// Step between contours; 0 for one that suits the picture. Two pictures side by side take the same.
	Step unit.Length
	// Marked is the brace that is drawn darker, counted from 1; 0 for none.
	Marked int
}

// topFrame puts a top on a page as BodyView does.
type topFrame struct {
	c  *canvas
	cx float64
	k  float64
	at func(body.Point) drawing.Point
}

func newTopFrame(s body.Soundboard, o TopOptions, title string, tallest float64) topFrame {
	w := pageWidth(o.Narrow)
	f := topFrame{c: newCanvas(w, title)}
	widest, _ := s.Outline.Widest()
	f.k = math.Min((narrowWidth-2*margin)/widest.MM(), tallest/s.Outline.Length().MM())
	f.c.sheet.ScaleX, f.c.sheet.ScaleY = f.k, f.k
	side := -1.0
	if o.LeftHanded {
		side = 1
	}
	f.cx = margin + widest.MM()*f.k/2
	if o.Narrow {
		f.cx = w / 2
	}
	f.at = func(p body.Point) drawing.Point { return pt(f.cx+side*p.Y.MM()*f.k, p.X.MM()*f.k) }
	return f
}

// bare draws edge, holes, braces and bridge, pale enough for contours to stand out.
func (f topFrame) bare(s body.Soundboard, marked int) {
	c := f.c
	c.add(drawing.Item{Layer: drawing.LayerWood, Name: "outline", Fill: drawing.Spruce, Shape: edgePath(s.Outline.Curves(), f.at, true)})
	for i, b := range s.Braces {
		q := b.Corners()
		tone := drawing.Wood
		if i+1 == marked {
			tone = drawing.Dark
		}
		it := c.polygon(drawing.LayerMark, fmt.Sprintf("brace-%d", i+1), tone, onPaper(q[:], f.at)...)
		it.Pen.Weight, it.Pen.Tone = mm(0.15), drawing.Faint
	}
	for i, h := range s.Holes {
		name := "soundhole"
		if i > 0 {
			name = fmt.Sprintf("soundhole-%d", i+1)
		}
		p := f.at(h.Centre)
		c.circle(drawing.LayerWood, name, drawing.Paper, p.X.MM(), p.Y.MM(), h.Radius.MM()*f.k)
	}
	if b := s.Bridge; b != nil {
		q := b.Corners()
		c.polygon(drawing.LayerEdge, "bridge", "", onPaper(q[:], f.at)...)
	}
}

// grid is the shape as a field to draw contours of. With held, places off the top's edge lie at 0, as the edge itself does, so that lines close
// along it; holes never have a value.
func (t TopShape) grid(s body.Soundboard, held bool) *drawing.Grid {
	g := &drawing.Grid{Corner: drawing.Point{X: t.From.X, Y: t.From.Y}, Step: t.Step, Columns: t.Along, Rows: t.Across, At: t.At}
	if !held {
		return g
	}
	g.At = make([]float64, len(t.At))
	for k, v := range t.At {
		if math.IsNaN(v) && !s.Outline.Inside(body.Point{X: t.From.X + unit.Length(k%t.Along)*t.Step, Y: t.From.Y + unit.Length(k/t.Along)*t.Step}, 0) {
			v = 0
		}
		g.At[k] = v
	}
	return g
}

// range of the values and where they lie.
func (t TopShape) extremes() (lo, hi float64, loAt, hiAt body.Point) {
	for k, v := range t.At {
		p := body.Point{X: t.From.X + unit.Length(k%t.Along)*t.Step, Y: t.From.Y + unit.Length(k/t.Along)*t.Step}
		if v < lo {
			lo, loAt = v, p
		}
		if v > hi {
			hi, hiAt = v, p
		}
	}
	return lo, hi, loAt, hiAt
}

// leastLabelled is how many points a line must have to be given its figure: the length of some letters.
const leastLabelled = 14

// mostLines is how many contours there are room for on each side of 0.
const mostLines = 9

// TopStep is the step between contours that suits one picture or several of the same size.
func TopStep(style unit.Style, shapes ...TopShape) unit.Length {
	most := 0.0
	for _, t := range shapes {
		lo, hi, _, _ := t.extremes()
		most = math.Max(most, math.Max(hi, -lo))
	}
	return mm(stepFor(most*1000, mostLines, fineSteps(style)))
}

// contour draws the lines of one value; risen is solid, sunk dashed. It says where words for it would stand.
func (f topFrame) contour(g *drawing.Grid, name string, value float64) []drawing.Point {
	lines, err := g.Contours(value)
	if err != nil {
		return nil
	}
	var longest []drawing.Point
	for _, l := range lines {
		pts := make([]drawing.Point, len(l.Points))
		for i, p := range l.Points {
			pts[i] = f.at(body.Point{X: p.X, Y: p.Y})
		}
		if len(pts) < 2 {
			continue
		}
		it := f.c.add(drawing.Item{Layer: drawing.LayerGap, Name: name, Shape: drawing.Polyline{Points: pts, Closed: l.Closed}})
		it.Pen = drawing.Pen{Tone: drawing.Accent, Weight: mm(0.28), Dash: []unit.Length{}}
		if value < 0 {
			it.Pen.Tone, it.Pen.Dash = drawing.Goal, []unit.Length{mm(1.3), mm(0.9)}
		}
		if len(pts) > len(longest) {
			longest = pts
		}
	}
	return longest
}

// TopDeflection draws how far the strings move a top: level lines of rise and sink over its edge, soundhole, braces and bridge. A line of value v is
// the Polyline "rise-n" or "sink-n", n steps from 0.
func TopDeflection(s body.Soundboard, t TopShape, o TopOptions) *drawing.Sheet {
	say, title := o.Style.Say, o.Title
	if title == "" {
		title = o.Style.Say("How far the strings move the top")
	}
	f := newTopFrame(s, o, title, 125)
	c := f.c
	f.bare(s, o.Marked)
	lo, hi, loAt, hiAt := t.extremes()
	step := o.Step
	if step <= 0 {
		step = TopStep(o.Style, t)
	}
	g := t.grid(s, true)
	length := s.Outline.Length().MM()
	page := box(0, -1, c.w, length*f.k+1)
	type named struct {
		say string
		pts []drawing.Point
	}
	var words []named
	figure := func(v float64) string { s, _ := fineNumber(mm(v), o.Style); return s }
	// No more lines than there is room for, whatever step was asked for.
	count := func(v float64) int { return min(int(v/float64(step)), 4*mostLines) }
	for n := 1; n <= count(hi); n++ {
		words = append(words, named{figure(float64(n) * step.MM()), f.contour(g, fmt.Sprintf("rise-%d", n), float64(n)*float64(step))})
	}
	for n := 1; n <= count(-lo); n++ {
		words = append(words, named{"−" + figure(float64(n)*step.MM()), f.contour(g, fmt.Sprintf("sink-%d", n), -float64(n)*float64(step))})
	}
	for _, m := range []struct {
		name string
		at   body.Point
		is   bool
	}{{"highest", hiAt, hi > 0}, {"lowest", loAt, lo < 0}} {
		if m.is {
			p := f.at(m.at)
			c.circle(drawing.LayerGap, m.name, drawing.Ink, p.X.MM(), p.Y.MM(), 0.7).Pen.None = true
		}
	}
	// Every line has room for its figure or goes without; the longest first.
	slices.SortStableFunc(words, func(a, b named) int { return len(b.pts) - len(a.pts) })
	for _, n := range words {
		if len(n.pts) < leastLabelled {
			continue
		}
		var spots []drawing.Text
		for _, share := range []float64{0.25, 0.75, 0.5, 0.1, 0.9, 0.38, 0.62} {
			p := n.pts[int(share*float64(len(n.pts)-1))]
			t := label(p.X.MM(), p.Y.MM()-small*0.36, small, drawing.Middle, n.say)
			t.Halo = drawing.Spruce
			spots = append(spots, t)
		}
		c.place("", page, spots...)
	}

	bottom, x, y, room := 0.0, margin, -small*0.4, c.w-2*margin
	widest, _ := s.Outline.Widest()
	if !o.Narrow {
		x = f.cx + widest.MM()*f.k/2 + 5
		y, room = length*f.k-1, c.w-margin-x
	}
	lines := []string{say("Solid lines: risen. Dashed lines: sunk. From line to line %s, counted from the edge, which does not move.", nb(step.Fine(o.Style))), say("Dots: the highest place and the lowest.")}
	if o.Marked > 0 && o.Marked <= len(s.Braces) {
		lines = append(lines, say("Dark: %v.", body.Called(s.Braces[o.Marked-1].Name)))
	}
	for _, line := range lines {
		for _, l := range drawing.Wrap(line, mm(small), false, mm(room)) {
			y -= small * 1.32
			c.text("key", label(x, y, small, drawing.Start, l))
		}
		y -= small * 0.3
	}
	bottom = math.Min(bottom, y-small*0.3)
	c.sheet.Desc = say("The top from above with the neck up, with level lines. It has risen most %v and sunk most %v.", topPlace(s, hiAt), topPlace(s, loAt))
	c.sheet.Table = [][]string{unit.Texts{"Place", "From the tail", "From the centreline", "Moved, as drawn"}.In(o.Style),
		{say("highest"), hiAt.X.In(o.Style), across(hiAt.Y, o.Style), unit.Length(hi).Fine(o.Style)}, {say("lowest"), loAt.X.In(o.Style), across(loAt.Y, o.Style), unit.Length(lo).Fine(o.Style)}}
	for i := 1; i < 8; i++ { // along the centreline
		p := body.Point{X: s.Outline.Length() * unit.Length(i) / 8}
		if v := t.grid(s, false).Value(drawing.Point{X: p.X, Y: p.Y}); unit.Finite(v) {
			c.sheet.Table = append(c.sheet.Table, []string{say("on the centreline"), p.X.In(o.Style), "0", unit.Length(v).Fine(o.Style)})
		}
	}
	return c.done(bottom-1, length*f.k+1)
}

func across(y unit.Length, style unit.Style) string {
	switch {
	case y > 0.5*unit.MM:
		return style.Say("%v to the bass side", y)
	case y < -0.5*unit.MM:
		return style.Say("%v to the treble side", -y)
	}
	return "0"
}

// topPlace says where a place lies.
func topPlace(s body.Soundboard, p body.Point) unit.Text {
	if s.Bridge == nil {
		return "on the top"
	}
	if p.X < s.Bridge.Centre.X {
		return "behind the bridge"
	}
	return "ahead of the bridge"
}

// TopMode draws one way a top rings, seen from above: the thick line stands still, what lies within solid lines moves one way while what lies within
// dashed ones moves the other. Lines go by fifths of the largest movement. The lines that stand still are the Polylines "still".
func TopMode(s body.Soundboard, t TopShape, o TopOptions) *drawing.Sheet {
	f := newTopFrame(s, o, o.Title, 75)
	if !o.Narrow {
		f = newTopFrame(s, o, o.Title, 60)
	}
	c := f.c
	f.bare(s, 0)
	t = t.scaled()
	g := t.grid(s, true)
	for n := 1; n <= 4; n++ {
		f.contour(g, "one-way", float64(n)/5)
		f.contour(g, "other-way", -float64(n)/5)
	}
	if lines, err := t.still().grid(s, false).Contours(0); err == nil {
		for _, l := range lines {
			pts := make([]drawing.Point, len(l.Points))
			for i, p := range l.Points {
				pts[i] = f.at(body.Point{X: p.X, Y: p.Y})
			}
			if len(pts) > 1 {
				it := c.add(drawing.Item{Layer: drawing.LayerGap, Name: "still", Shape: drawing.Polyline{Points: pts, Closed: l.Closed}})
				it.Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.6), Dash: []unit.Length{}}
			}
		}
	}
	c.sheet.Desc = o.Style.Say("The top from above with the neck up: what moves one way and what the other.")
	return c.done(-1, s.Outline.Length().MM()*f.k+1)
}

// scaled has a largest movement of 1, upward.
func (t TopShape) scaled() TopShape {
	lo, hi, _, _ := t.extremes()
	most := hi
	if -lo > hi {
		most = lo
	}
	if most == 0 {
		return t
	}
	out := t
	out.At = make([]float64, len(t.At))
	for k, v := range t.At {
		out.At[k] = v / most
	}
	return out
}

// hardly is the share of the largest movement below which the side a place moves to means nothing.
const hardly = 0.015

// still leaves out what hardly moves, near the held edge, where lines of no movement would only wander.
func (t TopShape) still() TopShape {
	out := t
	out.At = slices.Clone(t.At)
	near := func(k, d int) bool { n := k + d; return n >= 0 && n < len(t.At) && math.Abs(t.At[n]) > hardly }
	for k, v := range t.At {
		if math.Abs(v) > hardly {
			continue
		}
		// A node runs between places that move; the rim has some on one side only.
		if !(near(k, 2) && near(k, -2) || near(k, 2*t.Along) && near(k, -2*t.Along)) {
			out.At[k] = math.NaN()
		}
	}
	return out
}

// MeshLine is one line of a net laid over a top, seen at a slant from behind the tail: where each of its places lies at rest on the page in millimetres, x to the
// right and y down, and how far it comes up at the largest movement.
type MeshLine [][3]float64

// Mesh is such a net.
type Mesh struct {
	Width, Height float64 // of the page, mm
	Lines         []MeshLine
}

// Sizes of a net, in mm of page and shares.
const (
	meshWide              = 96.0
	meshSlant             = 0.42 // how much of its length a top shows
	meshLift              = 13.0 // of the largest movement
	meshAcross, meshAlong = 13, 17
)

// TopMesh lays a net over a top that moves.
func TopMesh(s body.Soundboard, t TopShape, leftHanded bool) Mesh {
	t = t.scaled()
	widest, _ := s.Outline.Widest()
	length := s.Outline.Length()
	k := (meshWide - 2) / widest.MM()
	side := -1.0
	if leftHanded {
		side = 1
	}
	m := Mesh{Width: meshWide, Height: length.MM()*k*meshSlant + 2*meshLift + 2}
	g := t.grid(s, true)
	round := func(v float64) float64 { return math.Round(v*100) / 100 }
	point := func(p body.Point) ([3]float64, bool) {
		v := g.Value(drawing.Point{X: p.X, Y: p.Y})
		ok := unit.Finite(v)
		return [3]float64{round(meshWide/2 + side*p.Y.MM()*k), round(m.Height - meshLift - 1 - p.X.MM()*k*meshSlant), round(v * meshLift)}, ok
	}
	run := func(n int, at func(share float64) body.Point, within bool) {
		var line MeshLine
		end := func() {
			if len(line) > 1 {
				m.Lines = append(m.Lines, line)
			}
			line = nil
		}
		for i := range n + 1 {
			p := at(float64(i) / float64(n))
			q, ok := point(p)
			if !ok || within && !s.Outline.Inside(p, 0) {
				end()
				continue
			}
			line = append(line, q)
		}
		end()
	}
	if edge, err := s.Outline.Polygon(72); err == nil {
		run(72, func(share float64) body.Point { return edge[int(share*72+0.5)%72] }, false)
	}
	for i := 1; i < meshAlong; i++ {
		x := length * unit.Length(i) / meshAlong
		half := s.Outline.WidthAt(x) / 2
		run(24, func(share float64) body.Point { return body.Point{X: x, Y: half * unit.Length(2*share-1)} }, false)
	}
	for i := 1; i < meshAcross; i++ {
		y := widest * (unit.Length(i)/meshAcross - 0.5)
		run(48, func(share float64) body.Point { return body.Point{X: length * unit.Length(share), Y: y} }, true)
	}
	return m
}

// Still draws a net as it lies at a share of its largest movement, from -1 to 1. The title is in the language of the style.
func (m Mesh) Still(title string, share float64, s unit.Style) *drawing.Sheet {
	c := newCanvas(m.Width, title)
	for _, l := range m.Lines {
		pts := make([]drawing.Point, len(l))
		for i, q := range l {
			pts[i] = pt(q[0], m.Height-q[1]+share*q[2])
		}
		c.polyline(drawing.LayerWood, "net", pts...).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.25)}
	}
	c.sheet.Desc = s.Say("A net over the top, seen at a slant from behind the tail.")
	return c.done(0, m.Height)
}
