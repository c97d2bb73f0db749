package tile

import (
	"fmt"
	"math"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

const mm = unit.MM

// Pens and letters of what stands round the drawing.
var (
	fine = drawing.Pen{Tone: drawing.Ink, Weight: 0.15 * mm, Dash: []unit.Length{}}
	bar  = drawing.Pen{Tone: drawing.Ink, Weight: 0.25 * mm, Dash: []unit.Length{}}
	seam = drawing.Pen{Tone: drawing.Faint, Weight: 0.15 * mm, Dash: []unit.Length{2 * mm, 1.5 * mm}}
)

const (
	small = 3 * mm
	large = 6 * mm
)

// over is what is drawn on a page besides the sheet.
type over struct {
	*drawing.Sheet
	p Plan
}

func (p Plan) newOver(title string) over {
	return over{&drawing.Sheet{Title: title, Width: p.PageWidth, Height: p.PageHeight, ScaleX: p.ScaleX, ScaleY: p.ScaleY}, p}
}

func (o over) line(name string, pen drawing.Pen, x1, y1, x2, y2 unit.Length) {
	o.Add(drawing.Item{Layer: drawing.LayerDatum, Name: name, Pen: pen, Shape: drawing.Line{From: drawing.Point{X: x1, Y: y1}, To: drawing.Point{X: x2, Y: y2}}})
}

func (o over) words(name string, t drawing.Text) {
	o.Add(drawing.Item{Layer: drawing.LayerNote, Name: name, Shape: t})
}

// fit shortens words to a width.
func fit(words string, size unit.Length, bold bool, room unit.Length) string {
	if drawing.Width(words, size, bold) <= room {
		return words
	}
	letters := []rune(words)
	for len(letters) > 0 && drawing.Width(string(letters)+"…", size, bold) > room {
		letters = letters[:len(letters)-1]
	}
	return strings.TrimSpace(string(letters)) + "…"
}

// bars draws the check bars: across the page at its upper right, up the page at its left. They are drawn as the
// sheet is, so that a printer that is made up for prints them 100 mm long.
func (o over) bars() {
	x1, y := o.Width-o.p.Margin-1*mm, o.Height-o.p.Margin-5.4*mm
	x0 := x1 - CheckBar*unit.Length(o.p.ScaleX)
	o.line("check-100mm-x", bar, x0, y, x1, y)
	for _, x := range []unit.Length{x0, x1} {
		o.line("check-100mm-x-end", bar, x, y-1.6*mm, x, y+1.6*mm)
	}
	words := o.p.Style.Say("check: %s", "100\u00a0mm")
	o.words("check-100mm-x-text", drawing.Text{At: drawing.Point{X: (x0 + x1) / 2, Y: y + 1.3*mm}, Size: small, Anchor: drawing.Middle, String: words})
	x, y1 := o.p.Margin+3.8*mm, o.Height-o.p.Margin-headRoom-2*mm
	y0 := y1 - CheckBar*unit.Length(o.p.ScaleY)
	o.line("check-100mm-y", bar, x, y0, x, y1)
	for _, y := range []unit.Length{y0, y1} {
		o.line("check-100mm-y-end", bar, x-1.2*mm, y, x+1.2*mm, y)
	}
	o.words("check-100mm-y-text", drawing.Text{At: drawing.Point{X: x - 1.3*mm, Y: (y0 + y1) / 2}, Size: small, Anchor: drawing.Middle, Turn: 90 * unit.Degree, String: words})
}

// head writes the page's name and two lines of words to the left of the check bar: the first shortened to the room there
// is, for the second the first of several that fits.
func (o over) head(name, first string, second ...string) {
	x, y := o.p.Margin, o.Height-o.p.Margin
	o.words("page-name", drawing.Text{At: drawing.Point{X: x, Y: y - 6.4*mm}, Size: large, Bold: true, String: name})
	x += drawing.Width(name, large, true) + 2*mm
	room := o.Width - o.p.Margin - CheckBar*unit.Length(o.p.ScaleX) - 5*mm - x
	o.words("page-words", drawing.Text{At: drawing.Point{X: x, Y: y - 2.6*mm}, Size: small, String: fit(first, small, false, room)})
	for i, words := range second {
		if i == len(second)-1 || drawing.Width(words, small, false) <= room {
			o.words("page-words", drawing.Text{At: drawing.Point{X: x, Y: y - 6.4*mm}, Size: small, String: fit(words, small, false, room)})
			return
		}
	}
}

// page draws a tile's page; number counts the pages from 1.
func (p Plan) page(t Tile, number int) drawing.Page {
	h := t.Window.Top - t.Window.Bottom
	page := drawing.Page{Name: t.Name, Width: p.PageWidth, Height: p.PageHeight, Sheet: p.Sheet, Window: t.Window, ScaleX: p.ScaleX, ScaleY: p.ScaleY,
		Place: drawing.Point{X: p.Margin + sideRoom, Y: p.PageHeight - p.Margin - headRoom - h*unit.Length(p.ScaleY)}}
	o, say := p.newOver(p.Sheet.Title+", "+t.Name), p.Style.Say
	leftOf, hasLeft := p.at(t.Col-1, t.Row)
	above, hasAbove := p.at(t.Col, t.Row-1)
	rightOf, hasRight := p.at(t.Col+1, t.Row)
	below, hasBelow := p.at(t.Col, t.Row+1)

	var join []string
	switch {
	case hasLeft && hasAbove:
		join = []string{say("Cut left and top edge, lay over pages %s and %s", leftOf.Name, above.Name), say("Lay over %s and %s", leftOf.Name, above.Name)}
	case hasLeft:
		join = []string{say("Cut the left edge, lay over page %s", leftOf.Name), say("Lay over %s", leftOf.Name)}
	case hasAbove:
		join = []string{say("Cut the top edge, lay over page %s", above.Name), say("Lay over %s", above.Name)}
	}
	o.head(t.Name, say("Page %d of %d: %s", number, p.Count(), p.Sheet.Title), join...)
	o.bars()

	low, high := page.On(drawing.Point{X: t.Window.Left, Y: t.Window.Bottom}), page.On(drawing.Point{X: t.Window.Right, Y: t.Window.Top})
	lap := drawing.Point{X: p.Overlap * unit.Length(p.ScaleX), Y: p.Overlap * unit.Length(p.ScaleY)}
	if hasLeft {
		o.line("cut-here", fine, low.X, low.Y, low.X, high.Y)
		o.seamMarks(page, t.Window.Left+p.Overlap/2, 0)
	}
	if hasAbove {
		o.line("cut-here", fine, low.X, high.Y, high.X, high.Y)
		o.seamMarks(page, 0, t.Window.Top-p.Overlap/2)
	}
	if hasRight {
		o.line("seam", seam, high.X-lap.X, low.Y, high.X-lap.X, high.Y)
		o.seamMarks(page, t.Window.Right-p.Overlap/2, 0)
	}
	if hasBelow {
		o.line("seam", seam, low.X, low.Y+lap.Y, high.X, low.Y+lap.Y)
		o.seamMarks(page, 0, t.Window.Bottom+p.Overlap/2)
	}
	if hasRight {
		foot := low.Y + 2*mm
		if hasBelow { // clear of what lies over the corner
			foot += lap.Y
		}
		o.lies(page, rightOf.Name, drawing.Point{X: high.X - lap.X + 3*mm, Y: foot}, 90*unit.Degree, high.Y)
	}
	if hasBelow {
		o.lies(page, below.Name, drawing.Point{X: low.X + 2*mm, Y: low.Y + lap.Y - 3.4*mm}, 0, high.X)
	}
	page.Over = o.Sheet
	return page
}

// lies says along a seam which page lies from here, first at a place and from there on up to an end, where it meets
// nothing drawn; if there is no such place, where it meets no words and no mark, or else not at all.
func (o over) lies(page drawing.Page, name string, at drawing.Point, turn unit.Angle, end unit.Length) {
	t := drawing.Text{At: at, Size: small, Turn: turn, String: o.p.Style.Say("page %s lies from here", name)}
	var best *drawing.Text
	for {
		b := t.Box()
		if turn == 0 && b.Right > end || turn != 0 && b.Top > end {
			break
		}
		under := drawing.Box{Left: b.Left - 0.5*mm, Bottom: b.Bottom - 0.5*mm, Right: b.Right + 0.5*mm, Top: b.Top + 0.5*mm}
		if !o.marked(under) {
			spot := onSheet(page, under)
			if !o.p.ink.in(spot) {
				best = &t
				break
			}
			if best == nil && !o.p.ink.words(spot) {
				first := t
				best = &first
			}
		}
		if turn == 0 {
			t.At.X += 3 * mm
		} else {
			t.At.Y += 3 * mm
		}
	}
	if best != nil {
		o.words("seam-text", *best)
	}
}

// onSheet is what of the sheet a box on its page shows.
func onSheet(page drawing.Page, b drawing.Box) drawing.Box {
	sx, sy := unit.Length(page.ScaleX), unit.Length(page.ScaleY)
	return drawing.Box{Left: page.Window.Left + (b.Left-page.Place.X)/sx, Right: page.Window.Left + (b.Right-page.Place.X)/sx,
		Bottom: page.Window.Bottom + (b.Bottom-page.Place.Y)/sy, Top: page.Window.Bottom + (b.Top-page.Place.Y)/sy}
}

// marked reports whether a registration mark or other words of the page's own meet a box of it.
func (o over) marked(b drawing.Box) bool {
	for _, it := range o.Items {
		if _, words := it.Shape.(drawing.Text); (words || strings.HasPrefix(it.Name, "register")) && it.Reach().Overlaps(b) {
			return true
		}
	}
	return false
}

// mark is a registration mark of a seam: where on the sheet, and how long its arms are.
type mark struct {
	at  drawing.Point
	arm unit.Length
}

// marks returns the registration marks of a seam: two, or one on a short seam, each moved along the seam to where it
// crosses nothing drawn, if there is such a place near; else to where it crosses no words, half as large if need be. Where words fill
// the whole seam there is none. Both pages of a seam find the same. The seam runs from one place to another; at turns
// a place along it into a point.
func (p Plan) marks(from, to unit.Length, at func(unit.Length) drawing.Point) (out []mark) {
	length := to - from
	arm := min(4*mm, p.Overlap*0.42, length*0.42)
	if arm < 1*mm { // a sheet this narrow has no room for one
		return nil
	}
	shares, near := []unit.Length{0.25, 0.75}, length*0.2
	if length < 60*mm {
		shares, near = []unit.Length{0.5}, length/2-arm
	}
	var taken unit.Length // of the first mark
	for _, share := range shares {
		find := func(arm, reach unit.Length, free func(drawing.Box) bool) (unit.Length, bool) {
			for off := unit.Length(0); off <= reach; off += 2 * mm {
				for _, z := range []unit.Length{from + share*length + off, from + share*length - off} {
					if z-arm < from || z+arm > to || len(out) > 0 && (z-taken).Abs() < 4*arm {
						continue
					}
					c, r := at(z), arm+0.8*mm
					if free(drawing.Box{Left: c.X - r, Bottom: c.Y - r, Right: c.X + r, Top: c.Y + r}) {
						return z, true
					}
				}
			}
			return 0, false
		}
		nothing := func(b drawing.Box) bool { return !p.ink.in(b) }
		noWords := func(b drawing.Box) bool { return !p.ink.words(b) }
		size := arm
		z, ok := find(size, near, nothing)
		if !ok {
			z, ok = find(size, near, noWords)
		}
		if !ok {
			z, ok = find(size, length, noWords)
		}
		if !ok {
			size /= 2
			z, ok = find(size, length, noWords)
		}
		if ok {
			taken = z
			out = append(out, mark{at(z), size})
		}
	}
	return out
}

// seamMarks draws the marks of a page's seam; x or y is the middle of the overlap, the other 0.
func (o over) seamMarks(page drawing.Page, x, y unit.Length) {
	w := page.Window
	from, to := w.Bottom, w.Top
	at := func(along unit.Length) drawing.Point { return drawing.Point{X: x, Y: along} }
	if x == 0 {
		from, to = w.Left, w.Right
		at = func(along unit.Length) drawing.Point { return drawing.Point{X: along, Y: y} }
	}
	for _, m := range o.p.marks(from, to, at) {
		c, arm := page.On(m.at), m.arm
		o.Add(drawing.Item{Layer: drawing.LayerDatum, Name: "register", Pen: fine, Shape: drawing.Circle{Centre: c, Radius: arm * 0.6}})
		o.line("register-x", fine, c.X-arm, c.Y, c.X+arm, c.Y)
		o.line("register-y", fine, c.X, c.Y-arm, c.X, c.Y+arm)
	}
}

// mapPage shows which page goes where, and says how they are joined.
func (p Plan) mapPage() drawing.Page {
	o := p.newOver(p.Style.Say("%s, page map", p.Sheet.Title))
	o.head(p.Style.Say("Map‖of the pages of a sheet"), p.Style.Say("Page %d of %d: %s", 1, p.Count(), p.Sheet.Title))
	o.bars()
	left, right, top := p.Margin+sideRoom+4*mm, p.PageWidth-p.Margin-2*mm, p.PageHeight-p.Margin-headRoom-4*mm
	blank := len(p.Tiles) - p.printed()
	steps := unit.Texts{
		"Print every page at its own size (100 %), never fitted to the paper.",
		"Lay a rule on both check bars of this page. If one is not 100\u00a0mm, say what it measures as the printer's correction, and print again.",
		"Cut each page along the thin line at its left and its top edge, where it has one.",
		"Begin at the upper left. Lay each page over the one before it and the one above, so that every cross lies on its like, and tape it.",
		"Lay a rule on the drawing's own check bars across a seam before you cut wood.",
	}.In(p.Style)
	if blank > 0 {
		words := p.Style.Say("One page has nothing on it and is left out: blank on the map.")
		if blank > 1 {
			words = p.Style.Say("%d pages have nothing on them and are left out: blank on the map.", blank)
		}
		steps = append(steps, words)
	}
	const size = 3.6 * mm
	type row struct{ number, words string }
	var rows []row
	for i, s := range steps {
		number := fmt.Sprintf("%d.", i+1)
		for _, l := range drawing.Wrap(s, size, false, right-left-6*mm) {
			rows = append(rows, row{number, l})
			number = ""
		}
	}
	y := p.Margin + 2*mm + unit.Length(len(rows))*size*1.35
	picture := drawing.Box{Left: left, Bottom: y + 4*mm, Right: right, Top: top}
	y += size * 0.3
	for _, r := range rows {
		y -= size * 1.35
		o.words("map-words", drawing.Text{At: drawing.Point{X: left + 6*mm, Y: y}, Size: size, String: r.words})
		if r.number != "" {
			o.words("map-number", drawing.Text{At: drawing.Point{X: left, Y: y}, Size: size, String: r.number})
		}
	}

	k := min(float64((picture.Right-picture.Left)/p.Sheet.Width), float64((picture.Top-picture.Bottom)/p.Sheet.Height), 1)
	wide, high := p.Sheet.Width*unit.Length(k), p.Sheet.Height*unit.Length(k)
	page := drawing.Page{Name: "map", Width: p.PageWidth, Height: p.PageHeight, Sheet: p.outline(k), Window: drawing.Box{Left: 0, Bottom: 0, Right: p.Sheet.Width, Top: p.Sheet.Height},
		Place: drawing.Point{X: (picture.Left + picture.Right - wide) / 2, Y: (picture.Bottom + picture.Top - high) / 2}, ScaleX: k, ScaleY: k}
	for _, t := range p.Tiles {
		w := p.Shown(t)
		a, b := page.On(drawing.Point{X: w.Left, Y: w.Bottom}), page.On(drawing.Point{X: w.Right, Y: w.Top})
		cell := drawing.Item{Layer: drawing.LayerDatum, Name: "map-" + t.Name, Pen: fine, Shape: drawing.Polyline{Closed: true, Points: []drawing.Point{a, {X: b.X, Y: a.Y}, b, {X: a.X, Y: b.Y}}}}
		words := t.Name
		if t.Blank {
			words = p.Style.Say("%s blank", t.Name)
		}
		size := min(7*mm, (b.Y-a.Y)*0.7)
		if room := (b.X - a.X) * 0.9; drawing.Width(words, size, true) > room {
			size *= room / drawing.Width(words, size, true)
		}
		label := drawing.Text{At: drawing.Point{X: (a.X + b.X) / 2, Y: (a.Y+b.Y)/2 - size*0.36}, Size: size, Anchor: drawing.Middle, Bold: !t.Blank, Halo: drawing.Paper, String: words}
		o.Add(cell)
		o.Add(drawing.Item{Layer: drawing.LayerNote, Name: "map-name", Shape: label})
	}
	page.Over = o.Sheet
	return page
}

// outline is the sheet's lines without words, as heavy as a small picture needs them.
func (p Plan) outline(k float64) *drawing.Sheet {
	s := *p.Sheet
	s.Items = nil
	for _, it := range p.Sheet.Parts() {
		if _, words := it.Shape.(drawing.Text); words || it.Layer == drawing.LayerPaper {
			continue
		}
		it.Pen.Weight, it.Pen.Dash, it.Pen.Tone = unit.Length(0.12/math.Max(k, 1e-3))*mm, []unit.Length{}, drawing.Faint
		if it.Fill != "" {
			it.Fill = drawing.Band1
		}
		s.Items = append(s.Items, it)
	}
	return &s
}
