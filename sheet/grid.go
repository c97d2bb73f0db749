package sheet

import (
	"fmt"
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// grid is a figure for every string at every fret, as a table one looks at. A narrow sheet stands like the neck held
// upright, frets downward; a wide one lies with the nut to the left, cut after each twelfth fret.
type grid struct {
	names       []string // of the strings, bass first
	first, last int      // frets; 0 is the open string
	fit         int      // a line closes off this fret; 0 for none
	leftHanded  bool
	style       unit.Style
	foot        string                  // heads what sums up each string; "" for nothing
	figures     func(room float64)      // told once how wide a figure may be, before cell is asked
	sum         func(i int) string      // what sums up a string
	cell        func(i, f int) gridCell // string from 0
	rowName     func(f int) string      // "" or nil: the fret's number
}

// gridCell is how one cell looks. A cell is filled or striped, not both.
type gridCell struct {
	name, text    string
	fill, stripes drawing.Tone
	ink           drawing.Tone // "" for ink
	bold          bool
}

const swatchTall, swatchWide = 4.4, 5.1

// tile draws a cell's ground.
func (c *canvas) tile(k gridCell, id string, x1, y1, x2, y2 float64) {
	pts := []drawing.Point{pt(x1, y1), pt(x2, y1), pt(x2, y2), pt(x1, y2)}
	if k.stripes != "" {
		it := c.add(drawing.Item{Layer: drawing.LayerPaper, Shape: drawing.Hatch{Outline: pts, Turn: 45 * unit.Degree, Spacing: mm(1.6)}})
		it.Pen = drawing.Pen{Tone: k.stripes, Weight: mm(0.6)}
		if id != "" {
			it.Name = "stripes-" + id
		}
	}
	name := ""
	if id != "" {
		name = "cell-" + id
	}
	c.polygon(drawing.LayerPaper, name, k.fill, pts...).Pen.Weight = mm(0.15)
}

// swatch draws a piece of a key with its words and returns the x after them.
func (c *canvas) swatch(x, y float64, k gridCell, words string) float64 {
	c.tile(k, "", x, y-swatchTall, x+swatchWide, y)
	x += swatchWide + 1
	c.text("", label(x, y-swatchTall/2-small*0.34, small, drawing.Start, words))
	return x + width(words, small, false)
}

// grid draws the table under y and returns the y under it.
func (c *canvas) grid(y float64, g grid, narrow bool) float64 {
	n := len(g.names)
	if n == 0 || g.last < g.first {
		y -= small
		c.text("", label(margin, y, small, drawing.Start, g.style.Say("No strings yet.")))
		return y
	}
	// Strings across the picture: from the left on an upright board, from above on one that lies.
	order := make([]int, n)
	for i := range order {
		order[i] = i
		if narrow == g.leftHanded {
			order[i] = n - 1 - i
		}
	}
	fretName := func(f int) (string, bool) {
		if g.rowName != nil {
			if s := g.rowName(f); s != "" {
				return s, false
			}
		}
		switch f {
		case 3, 5, 7, 9, 12, 15, 17, 19, 21, 24: // where most boards carry a dot
			return fmt.Sprint(f), true
		}
		return fmt.Sprint(f), false
	}
	// All grounds first, then all figures: half as many layer groups to write and to read.
	var figures []drawing.Item
	defer func() { c.sheet.Add(figures...) }()
	draw := func(i, f int, x1, y1, x2, y2 float64) {
		k := g.cell(i, f)
		id := fmt.Sprintf("%d-%d", i+1, f)
		c.tile(k, id, x1, y1, x2, y2)
		if k.text == "" {
			return
		}
		t := label((x1+x2)/2, (y1+y2)/2-small*0.34, small, drawing.Middle, k.text)
		t.Bold = k.bold
		if k.stripes != "" {
			t.Halo = drawing.Paper
		}
		ink := k.ink
		if ink == "" {
			ink = drawing.Ink
		}
		figures = append(figures, drawing.Item{Layer: drawing.LayerNote, Name: k.name + "-" + id, Fill: ink, Shape: t})
		c.taken = append(c.taken, t.Box())
	}
	closeOff := func(x1, y1, x2, y2 float64) {
		c.line(drawing.LayerTarget, "fit", x1, y1, x2, y2).Pen = drawing.Pen{Weight: mm(0.6), Dash: []unit.Length{}}
	}
	side := math.Max(width("00", small, true), width(g.foot, small, false))
	for f := g.first; f <= g.last; f++ {
		s, _ := fretName(f)
		side = math.Max(side, width(s, small, true))
	}
	if narrow {
		left := margin + side + 1.8
		cw := math.Min((c.w-margin-left)/float64(n), 16)
		g.figures(cw)
		rh := clamp(145/float64(g.last-g.first+3), 4.9, 6.2)
		xs, names := make([]float64, n), make([]string, n)
		for k, i := range order {
			xs[k] = left + cw*(float64(k)+0.5)
			names[k] = fit(g.names[i], small, true, math.Max(cw-0.6, 8))
		}
		y = c.spread(y, xs, names, true) - 0.4
		for f := g.first; f <= g.last; f++ {
			s, bold := fretName(f)
			t := label(left-1.4, y-rh/2-small*0.34, small, drawing.End, s)
			t.Bold = bold
			c.text("", t)
			for k, i := range order {
				draw(i, f, left+cw*float64(k), y-rh, left+cw*float64(k+1), y)
			}
			y -= rh
			if g.fit > 0 && f == g.fit && f < g.last {
				closeOff(left-5, y, left+cw*float64(n), y)
			}
		}
		if g.foot != "" {
			y -= 1
			c.text("", label(left-1.4, y-small, small, drawing.End, g.foot))
			for k, i := range order {
				c.text("sum", label(xs[k], y-small, small, drawing.Middle, g.sum(i)))
			}
			y -= small * 1.5
		}
		return y
	}
	nameRoom := 5.0
	for _, s := range g.names {
		nameRoom = math.Max(nameRoom, math.Min(width(s, small, true), 22))
	}
	const deck = 12
	frets := g.style.Say("fret‖over a row of fret numbers")
	left := margin + math.Max(nameRoom, width(frets, small, false)) + 2
	columns := deck
	if g.first == 0 {
		columns = deck + 1 // the open string goes with the first twelve
	}
	cells := float64(columns)
	if g.foot != "" {
		cells++
	}
	cw := math.Min((c.w-margin-left)/cells, 16)
	g.figures(cw)
	rh := clamp(70/float64(n), 5, 6.4)
	for from := g.first; from <= g.last; {
		to := min(from+deck-1, g.last)
		if from == 0 {
			to = min(deck, g.last)
		}
		y -= small * 1.1
		for f := from; f <= to; f++ {
			s, bold := fretName(f)
			t := label(left+cw*(float64(f-from)+0.5), y, small, drawing.Middle, s)
			t.Bold = bold
			c.text("", t)
		}
		if from == g.first {
			if g.foot != "" {
				c.text("", label(left+cw*(float64(columns)+0.5), y, small, drawing.Middle, g.foot))
			}
			c.text("", label(left-1.6, y, small, drawing.End, frets))
		}
		y -= 1.4
		high := y
		for _, i := range order {
			t := label(left-1.6, y-rh/2-small*0.34, small, drawing.End, fit(g.names[i], small, true, nameRoom))
			t.Bold = true
			c.text("", t)
			for f := from; f <= to; f++ {
				draw(i, f, left+cw*float64(f-from), y-rh, left+cw*float64(f-from+1), y)
			}
			if from == g.first && g.foot != "" {
				c.text("sum", label(left+cw*(float64(columns)+0.5), y-rh/2-small*0.34, small, drawing.Middle, g.sum(i)))
			}
			y -= rh
		}
		if g.fit > 0 && g.fit >= from && g.fit <= to && g.fit < g.last {
			x := left + cw*float64(g.fit-from+1)
			closeOff(x, y, x, high)
		}
		y -= 2
		from = to + 1
	}
	return y
}
