// Package sheet draws a guitar at the bench: its side, the face of its heel, the next cut, its bolts, its
// readings. Every function is pure and returns a drawing.Sheet that also carries its figures as a table.
//
// "Bass" and "treble" are the guitar's own sides. With the frame of package neckset (x toward the tail, y
// toward treble, z up) a viewer who looks along d with u up has d × u on the right hand. So for a
// right-handed guitar
//
//	looking at the heel from the body:  d = -x, u = z,  right = (-x) × z = +y: treble on the right
//	looking at the body from the neck:  d = +x, u = z,  right = -y: treble on the left
//	looking down on the top, neck up:   d = -z, u = -x, right = (-z) × (-x) = +y: treble on the right
//	looking along d = +y from the bass side, u = z,     right = y × z = +x: the tail on the right
//
// A left-handed guitar is its mirror image, so there left and right change places in the first three.
//
// Drawings come in two shapes: Narrow, about 100 mm wide, whose least letters are 3.7 mm (13 px on a phone
// 358 px wide), and wide, about 170 mm.
package sheet

import (
	"math"
	"slices"
	"sort"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

// Letter sizes in millimetres of paper.
const (
	small  = 3.7
	middle = 4.6
	big    = 6.4
)

const (
	narrowWidth = 100.0
	wideWidth   = 170.0
	margin      = 3.0
)

func pageWidth(narrow bool) float64 {
	if narrow {
		return narrowWidth
	}
	return wideWidth
}

// canvas draws in millimetres of paper, y up from wherever the drawing likes to begin; done moves it all
// onto the page.
type canvas struct {
	sheet drawing.Sheet
	w     float64
	taken []drawing.Box // where words stand
}

func newCanvas(w float64, title string) *canvas {
	return &canvas{sheet: drawing.Sheet{Title: title, Width: mm(w)}, w: w}
}

func mm(v float64) unit.Length { return unit.Length(v) * unit.MM }

func pt(x, y float64) drawing.Point { return drawing.At(x, y) }

func (c *canvas) add(it drawing.Item) *drawing.Item {
	c.sheet.Items = append(c.sheet.Items, it)
	return &c.sheet.Items[len(c.sheet.Items)-1]
}

func (c *canvas) line(l drawing.Layer, name string, x1, y1, x2, y2 float64) *drawing.Item {
	return c.add(drawing.Item{Layer: l, Name: name, Shape: drawing.Line{From: pt(x1, y1), To: pt(x2, y2)}})
}

func (c *canvas) polygon(l drawing.Layer, name string, fill drawing.Tone, pts ...drawing.Point) *drawing.Item {
	return c.add(drawing.Item{Layer: l, Name: name, Fill: fill, Shape: drawing.Polyline{Points: pts, Closed: true}})
}

func (c *canvas) polyline(l drawing.Layer, name string, pts ...drawing.Point) *drawing.Item {
	return c.add(drawing.Item{Layer: l, Name: name, Shape: drawing.Polyline{Points: pts}})
}

// fill is a polygon without outline.
func (c *canvas) fill(l drawing.Layer, name string, tone drawing.Tone, pts ...drawing.Point) {
	c.polygon(l, name, tone, pts...).Pen.None = true
}

func (c *canvas) rect(l drawing.Layer, name string, fill drawing.Tone, x1, y1, x2, y2 float64) *drawing.Item {
	return c.polygon(l, name, fill, pt(x1, y1), pt(x2, y1), pt(x2, y2), pt(x1, y2))
}

func (c *canvas) circle(l drawing.Layer, name string, fill drawing.Tone, x, y, r float64) *drawing.Item {
	return c.add(drawing.Item{Layer: l, Name: name, Fill: fill, Shape: drawing.Circle{Centre: pt(x, y), Radius: mm(r)}})
}

func (c *canvas) hatch(l drawing.Layer, turnDeg, spacing float64, pts ...drawing.Point) {
	it := c.add(drawing.Item{Layer: l, Shape: drawing.Hatch{Outline: pts, Turn: unit.Angle(turnDeg) * unit.Degree, Spacing: mm(spacing)}})
	it.Pen.Weight = mm(0.18)
}

func label(x, y, size float64, a drawing.Anchor, s string) drawing.Text {
	return drawing.Text{At: pt(x, y), Size: mm(size), Anchor: a, String: s}
}

// text puts words down; an empty text is left away.
func (c *canvas) text(name string, t drawing.Text) {
	if t.String == "" {
		return
	}
	c.add(drawing.Item{Layer: drawing.LayerNote, Name: name, Shape: t})
	c.taken = append(c.taken, t.Box())
}

// place puts the text at the first spot where it meets no other words and stays in the box. It reports
// whether there was one.
func (c *canvas) place(name string, in drawing.Box, spots ...drawing.Text) bool {
	for _, t := range spots {
		if b := t.Box(); b.Inside(in) && !c.meets(grown(b, 0.4)) {
			c.text(name, t)
			return true
		}
	}
	return false
}

func grown(b drawing.Box, by float64) drawing.Box {
	d := mm(by)
	return drawing.Box{Left: b.Left - d, Bottom: b.Bottom - d, Right: b.Right + d, Top: b.Top + d}
}

func (c *canvas) meets(b drawing.Box) bool {
	for _, t := range c.taken {
		if t.Overlaps(b) {
			return true
		}
	}
	return false
}

func box(x1, y1, x2, y2 float64) drawing.Box {
	return drawing.Box{Left: mm(x1), Bottom: mm(y1), Right: mm(x2), Top: mm(y2)}
}

func width(s string, size float64, bold bool) float64 {
	return drawing.Width(s, mm(size), bold).MM()
}

// fit returns the text shortened with an ellipsis until it is no wider than w.
func fit(s string, size float64, bold bool, w float64) string {
	if width(s, size, bold) <= w {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && width(string(r)+"…", size, bold) > w {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ") + "…"
}

// caption writes a paragraph under y and returns the y under it.
func (c *canvas) caption(y float64, sentences ...string) float64 {
	text := strings.Join(sentences, " ")
	for _, l := range drawing.Wrap(text, mm(small), false, mm(c.w-2*margin)) {
		y -= small * 1.32
		c.text("caption", label(margin, y, small, drawing.Start, l))
	}
	return y - small*0.3
}

// callout is words with a leader to a point of the drawing below them.
type callout struct {
	x, y float64
	text string
}

// callouts stacks the words in rows from y up, so that neither words nor leaders meet other words, and
// returns the y over them.
func (c *canvas) callouts(y float64, list ...callout) float64 {
	return c.calloutsIn(y, margin, c.w-margin, 2, list...)
}

// calloutsIn does the same with words between lo and hi only, no nearer to each other than gap.
func (c *canvas) calloutsIn(y, lo, hi, gap float64, list ...callout) float64 {
	const row = small * 1.45
	kept := list[:0:0]
	for _, k := range list {
		if k.text != "" {
			kept = append(kept, k)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool { return kept[i].x < kept[j].x })
	// A few ways of stacking, from the easiest to read; a stack in which nothing meets beats any other.
	var best placedCallouts
	crossed := math.MaxInt
	for try := range 4 {
		// First freely, then as a staircase that leaves room for the leaders still to come.
		ps, n := stack(kept, try >= 2, lo, hi, gap)
		if n < crossed || n == crossed && ps.height() < best.height() {
			best, crossed = ps, n
		}
		slices.Reverse(kept)
	}
	for _, p := range best {
		foot := y + float64(p.row)*row
		c.line(drawing.LayerDim, "", p.x, p.y, p.x, foot)
		c.circle(drawing.LayerDim, "", drawing.Ink, p.x, p.y, 0.45).Pen.None = true
	}
	for _, p := range best {
		t := label(p.left, y+float64(p.row)*row+0.26*small, small, drawing.Start, p.text)
		t.Halo = drawing.Paper
		c.text("", t)
	}
	return y + float64(best.height())*row
}

type placedCallout struct {
	callout
	left, w float64
	row     int
}

type placedCallouts []placedCallout

func (ps placedCallouts) height() int {
	n := 0
	for _, p := range ps {
		n = max(n, p.row+1)
	}
	return n
}

// stack gives each callout in turn the lowest row where it meets none before it, trying several shares of its
// words to the left of the leader; with ahead, its words also stay off the leaders of those after it. It
// counts those whose leader had to cross words.
func stack(list []callout, ahead bool, lo, hi, gap float64) (done placedCallouts, crossed int) {
	free := func(p placedCallout) bool {
		for _, q := range done {
			switch {
			case p.row == q.row:
				if p.left < q.left+q.w+gap && q.left < p.left+p.w+gap {
					return false
				}
			case p.row > q.row:
				if p.x > q.left-0.8 && p.x < q.left+q.w+0.8 {
					return false
				}
			default:
				if q.x > p.left-0.8 && q.x < p.left+p.w+0.8 {
					return false
				}
			}
		}
		return true
	}
	for i, k := range list {
		p := placedCallout{callout: k, w: width(k.text, small, false)}
		clear := func() bool {
			if ahead {
				for _, q := range list[i+1:] {
					if q.x > p.left-0.8 && q.x < p.left+p.w+0.8 {
						return false
					}
				}
			}
			return free(p)
		}
		found := false
	search:
		for p.row = 0; p.row <= len(list)+1; p.row++ {
			for _, share := range [...]float64{0.5, 0.25, 0.75, 0.03, 0.97} {
				p.left = math.Max(lo, math.Min(k.x-share*p.w, hi-p.w))
				if clear() {
					found = true
					break search
				}
			}
		}
		if !found { // a leader runs behind other words then; the words themselves never meet
			crossed++
			p.row = done.height()
			p.left = math.Max(lo, math.Min(k.x-0.5*p.w, hi-p.w))
		}
		done = append(done, p)
	}
	return done, crossed
}

// done moves what was drawn between bottom and top onto the page.
func (c *canvas) done(bottom, top float64) *drawing.Sheet {
	c.sheet.Height = mm(math.Max(top-bottom, 1))
	c.sheet.Move(0, mm(-bottom))
	return &c.sheet
}

// dim is a dimension with the sheet's usual arrows.
func dim(from, to drawing.Point, alongDeg float64, through drawing.Point, t drawing.Text) drawing.Dimension {
	return drawing.Dimension{From: from, To: to, Along: unit.Angle(alongDeg) * unit.Degree, Through: through, Label: t, Arrow: mm(1.7)}
}

// breakLine is the zigzag where a part is cut short, from one point to another.
func (c *canvas) breakLine(x1, y1, x2, y2 float64) {
	n := math.Hypot(x2-x1, y2-y1)
	if n < 4 {
		return
	}
	ux, uy := (x2-x1)/n, (y2-y1)/n
	m := n / 2
	at := func(along, across float64) drawing.Point {
		return pt(x1+ux*along-uy*across, y1+uy*along+ux*across)
	}
	c.polyline(drawing.LayerDim, "", at(0, 0), at(m-1.2, 0), at(m-0.5, 1.4), at(m+0.5, -1.4), at(m+1.2, 0), at(n, 0))
}

// steps are the graduations a maker of each style would choose.
func steps(s unit.Style) []float64 {
	switch s.Units() {
	case unit.Millimetre:
		return []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100}
	case unit.InchDecimal:
		return inches(0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5)
	default:
		return inches(1.0/128, 1.0/64, 1.0/32, 1.0/16, 1.0/8, 1.0/4, 1.0/2, 1, 2, 4)
	}
}

// fineSteps are those for depths of cut, which are said in thousandths whatever the style of inches.
func fineSteps(s unit.Style) []float64 {
	if s.Metric() {
		return steps(s)
	}
	return steps(unit.InchDecimal)
}

func inches(vs ...float64) []float64 {
	for i := range vs {
		vs[i] *= 25.4
	}
	return vs
}

// stepFor returns the smallest graduation that covers a span in no more than n steps.
func stepFor(span float64, n int, from []float64) float64 {
	for _, s := range from {
		if span <= float64(n)*s*(1+1e-9) {
			return s
		}
	}
	s := from[len(from)-1]
	if !unit.Finite(span) {
		return s
	}
	for span > float64(n)*s {
		s *= 2
	}
	return s
}

// fineNumber splits a fine length into its figure and its unit.
func fineNumber(l unit.Length, s unit.Style) (figure, symbol string) {
	full := l.Fine(s)
	if f, u, ok := strings.Cut(full, " "); ok {
		return f, u
	}
	return full, ""
}

// said writes a length for a large figure: as the style does, except that what rounds to a 64th or none
// is written finely, or an offset of 0.006 in would read 0.
func said(l unit.Length, s unit.Style) string {
	if s.Units() == unit.Inch64 && l != 0 && l.Abs() < unit.Inch/64 {
		return l.Fine(s)
	}
	return l.In(s)
}

// axisNumber writes a graduation of an axis with as many decimals as its step needs.
func axisNumber(v, step float64, s unit.Style) string {
	unitMM := 25.4
	switch s.Units() {
	case unit.Inch64:
		return mm(v).Number(s)
	case unit.Millimetre:
		unitMM = 1
	}
	decimals := 0
	for f := step / unitMM; decimals < 4 && math.Abs(f-math.Round(f)) > 1e-6; f *= 10 {
		decimals++
	}
	return s.Decimal(math.Round(v/unitMM*1e6)/1e6, decimals)
}

// percent writes a number of percent.
func percent(v float64, decimals int, s unit.Style) string { return s.Decimal(v, decimals) + " %" }

// nb holds a figure and its unit together on one line.
func nb(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

func clamp(v, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, v)) }
