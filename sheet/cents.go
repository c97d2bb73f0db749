package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/stringset"
	"fairset/drawing"
	"fairset/unit"
)

// CentsOptions of a cents map.
type CentsOptions struct {
	Narrow bool
	// LeftHanded mirrors the picture; see the package comment.
	LeftHanded bool
	Names      []string // of the strings, bass first, where they should differ from the map's own
	// Fit is the last fret the saddle was sought over; a line closes it off. 0 for none.
	Fit int
	// Title over the drawing; "" for the usual one.
	Title string
}

// centsLevels are the sizes, in cents, at which a cell gets its next tone. Ten players pressing one note spread
// by about 2 cents; a note 10 cents off is plainly heard by most.
// source: the spread, see stringset.UsualReadingSD; the rest common practice, no source.
var centsLevels = [...]float64{1, 2, 5, 10}

// Sharp cells are filled; flat ones are striped, a tone darker because half of the paper shows.
var (
	sharpTones = [...]drawing.Tone{drawing.Band2, drawing.Band3, drawing.Band4, drawing.Band6}
	flatTones  = [...]drawing.Tone{drawing.Band3, drawing.Band4, drawing.Band5, drawing.Band6}
)

func centsLevel(v float64) int {
	a := math.Abs(math.Round(v*10) / 10)
	n := 0
	for _, l := range centsLevels {
		if a >= l {
			n++
		}
	}
	return n
}

// centsSaid writes cents with their sign; what rounds to nothing has none.
func centsSaid(v float64, decimals int) string {
	if !unit.Finite(v) {
		return ""
	}
	p := math.Pow(10, float64(decimals))
	v = math.Round(v*p) / p
	switch {
	case v > 0:
		return fmt.Sprintf("+%.*f", decimals, v)
	case v < 0:
		return fmt.Sprintf("-%.*f", decimals, -v)
	}
	return fmt.Sprintf("%.*f", decimals, 0.0)
}

// CentsMap draws how far every note on the board is off, string by fret. Each cell says its figure with a sign;
// a sharp one is filled, a flat one striped, the darker the farther off. A narrow sheet stands like the
// neck held upright, frets downward; a wide one lies with the nut to the left, cut after each twelfth fret.
//
// The figures are named "cents-s-f" (string s from 1 at the bass, fret f), the cells "cell-s-f".
func CentsMap(m stringset.Map, o CentsOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	title := o.Title
	if title == "" {
		title = "How far each note is off, in cents"
	}
	c := newCanvas(w, title)
	n := len(m.Rows)
	name := func(i int) string {
		if i < len(o.Names) && o.Names[i] != "" {
			return o.Names[i]
		}
		if m.Rows[i].Name != "" {
			return m.Rows[i].Name
		}
		return fmt.Sprint(i + 1)
	}
	first, last := math.MaxInt, 0
	for _, r := range m.Rows {
		if len(r.Cents) > 0 {
			first, last = min(first, r.First), max(last, r.First+len(r.Cents)-1)
		}
	}
	at := func(i, f int) (float64, bool) {
		r := m.Rows[i]
		if k := f - r.First; k >= 0 && k < len(r.Cents) && unit.Finite(r.Cents[k]) {
			return r.Cents[k], true
		}
		return 0, false
	}
	nameRoom := 0.0
	for i := range m.Rows {
		nameRoom = math.Max(nameRoom, width(name(i), small, true))
	}

	const figure = small
	// One decimal where the widest figure has room for it, else whole cents; the table has both.
	decimalsFor := func(room float64) int {
		widest := 0.0
		for i := range m.Rows {
			for _, v := range m.Rows[i].Cents {
				widest = math.Max(widest, width(centsSaid(v, 1), figure, false))
			}
			widest = math.Max(widest, width(fmt.Sprintf("%.1f", m.Rows[i].RMS), figure, false))
		}
		if widest+0.8 <= room {
			return 1
		}
		return 0
	}
	cell := func(i, f int, x1, y1, x2, y2 float64, decimals int) {
		v, ok := at(i, f)
		level := centsLevel(v)
		id := fmt.Sprintf("%d-%d", i+1, f)
		t := label((x1+x2)/2, (y1+y2)/2-figure*0.34, figure, drawing.Middle, centsSaid(v, decimals))
		box := []drawing.Point{pt(x1, y1), pt(x2, y1), pt(x2, y2), pt(x1, y2)}
		frame := func(fill drawing.Tone) {
			c.polygon(drawing.LayerPaper, "cell-"+id, fill, box...).Pen.Weight = mm(0.15)
		}
		tone := drawing.Ink
		switch {
		case !ok:
			frame("")
			return
		case level == 0:
			frame(drawing.Paper)
		case v > 0:
			frame(sharpTones[level-1])
			if level == len(sharpTones) {
				tone = drawing.Paper
			}
		default:
			it := c.add(drawing.Item{Layer: drawing.LayerPaper, Shape: drawing.Hatch{Outline: box, Turn: 45 * unit.Degree, Spacing: mm(1.6)}})
			it.Name = "stripes-" + id
			it.Pen = drawing.Pen{Tone: flatTones[level-1], Weight: mm(0.6)}
			frame("")
			t.Halo = drawing.Paper
		}
		c.add(drawing.Item{Layer: drawing.LayerNote, Name: "cents-" + id, Fill: tone, Shape: t})
		c.taken = append(c.taken, t.Box())
	}
	// The order strings stand in across the picture: from the left on an upright board, from above on one that lies.
	order := make([]int, n)
	for i := range order {
		order[i] = i
		if o.Narrow == o.LeftHanded {
			order[i] = n - 1 - i
		}
	}
	marked := map[int]bool{3: true, 5: true, 7: true, 9: true, 12: true, 15: true, 17: true, 19: true, 21: true, 24: true}

	y := 0.0
	decimals := 1
	switch {
	case n == 0 || last == 0:
		y = -small
		c.text("", label(margin, y, small, drawing.Start, "No strings yet."))
	case o.Narrow:
		left := margin + math.Max(width("RMS", small, true), width("00", small, true)) + 1.8
		cw := math.Min((w-margin-left)/float64(n), 16)
		right := left + cw*float64(n)
		decimals = decimalsFor(cw)
		rh := clamp(150/float64(last-first+3), 4.9, 6.2)
		y = -small * 1.1
		end := math.Inf(-1)
		for k, i := range order {
			t := label(left+cw*(float64(k)+0.5), y, small, drawing.Middle, name(i))
			t.Bold = true
			if b := t.Box(); b.Left.MM() > end+0.5 || n <= 4 {
				t.String = fit(t.String, small, true, math.Max(cw-0.6, 6))
				if t.Box().Left.MM() > end+0.5 {
					c.text("", t)
					end = t.Box().Right.MM()
				}
			}
		}
		y -= 1.4
		for f := first; f <= last; f++ {
			t := label(left-1.4, y-rh/2-small*0.34, small, drawing.End, fmt.Sprint(f))
			t.Bold = marked[f]
			c.text("", t)
			for k, i := range order {
				cell(i, f, left+cw*float64(k), y-rh, left+cw*float64(k+1), y, decimals)
			}
			y -= rh
			if f == o.Fit && f < last {
				it := c.line(drawing.LayerTarget, "fit", left-5, y, right, y)
				it.Pen = drawing.Pen{Weight: mm(0.6), Dash: []unit.Length{}}
			}
		}
		y -= 1
		t := label(left-1.4, y-small, small, drawing.End, "RMS")
		c.text("", t)
		for k, i := range order {
			if !unit.Finite(m.Rows[i].RMS) {
				continue
			}
			c.text("rms", label(left+cw*(float64(k)+0.5), y-small, small, drawing.Middle, fmt.Sprintf("%.*f", decimals, m.Rows[i].RMS)))
		}
		y -= small * 1.5
	default:
		left := margin + math.Max(nameRoom, 5) + 2
		const deck = 12
		cw := math.Min((w-margin-left)/(deck+1), 16)
		decimals = decimalsFor(cw)
		rh := clamp(70/float64(n), 5, 6.4)
		for from := first; from <= last; from += deck {
			to := min(from+deck-1, last)
			y -= small * 1.1
			for f := from; f <= to; f++ {
				t := label(left+cw*(float64(f-from)+0.5), y, small, drawing.Middle, fmt.Sprint(f))
				t.Bold = marked[f]
				c.text("", t)
			}
			if from == first {
				c.text("", label(left+cw*(deck+0.5), y, small, drawing.Middle, "RMS"))
				c.text("", label(left-1.6, y, small, drawing.End, "fret"))
			}
			y -= 1.4
			high := y
			for _, i := range order {
				t := label(left-1.6, y-rh/2-small*0.34, small, drawing.End, name(i))
				t.Bold = true
				c.text("", t)
				for f := from; f <= to; f++ {
					cell(i, f, left+cw*float64(f-from), y-rh, left+cw*float64(f-from+1), y, decimals)
				}
				if from == first && unit.Finite(m.Rows[i].RMS) {
					c.text("rms", label(left+cw*(deck+0.5), y-rh/2-small*0.34, small, drawing.Middle, fmt.Sprintf("%.*f", decimals, m.Rows[i].RMS)))
				}
				y -= rh
			}
			if o.Fit >= from && o.Fit < to || o.Fit == to && to < last {
				x := left + cw*float64(o.Fit-from+1)
				it := c.line(drawing.LayerTarget, "fit", x, y, x, high+4)
				it.Pen = drawing.Pen{Weight: mm(0.6), Dash: []unit.Length{}}
			}
			y -= 2
		}
	}

	// Key: what the tones and stripes mean.
	y = centsKey(c, y-1.5)
	var words []string
	if n > 0 && last > 0 && unit.Finite(m.RMS) && unit.Finite(m.Worst) {
		over := ""
		if o.Fit > 0 {
			over = fmt.Sprintf(" over frets %d to %d", first, o.Fit)
		}
		words = append(words, fmt.Sprintf("All strings together%s: %.1f cents RMS.", over, m.RMS))
		if m.WorstRow >= 0 && m.WorstRow < n {
			words = append(words, fmt.Sprintf("Farthest off: %s at fret %d, %s.", name(m.WorstRow), m.WorstFret, nb(centsSaid(m.Worst, 1)+" cents")))
		}
	}
	if decimals == 0 {
		words = append(words, "Whole cents; tenths are in the table.")
	}
	words = append(words, "Counted from the open string as it sounds.")
	bottom := c.caption(y, words...)
	c.sheet.Desc = strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " ")

	head := []string{"Fret"}
	for i := range m.Rows {
		head = append(head, name(i))
	}
	c.sheet.Table = [][]string{head}
	for f := first; f <= last; f++ {
		row := []string{fmt.Sprint(f)}
		for i := range m.Rows {
			s := ""
			if v, ok := at(i, f); ok {
				s = centsSaid(v, 1)
			}
			row = append(row, s)
		}
		c.sheet.Table = append(c.sheet.Table, row)
	}
	rms := []string{"RMS"}
	for _, r := range m.Rows {
		rms = append(rms, fmt.Sprintf("%.1f", r.RMS))
	}
	c.sheet.Table = append(c.sheet.Table, rms)
	return c.done(bottom-1, 2)
}

// centsKey draws the key under y and returns the y under it.
func centsKey(c *canvas, y float64) float64 {
	const size, tall = 8.5, 4.4
	for _, flat := range []bool{false, true} {
		x := margin
		word := "sharp"
		if flat {
			word = "flat"
		}
		c.text("", label(x, y-tall/2-small*0.34, small, drawing.Start, word))
		x += width("sharp", small, false) + 2
		for k := range centsLevels {
			pts := []drawing.Point{pt(x, y-tall), pt(x+size*0.6, y-tall), pt(x+size*0.6, y), pt(x, y)}
			if flat {
				it := c.add(drawing.Item{Layer: drawing.LayerPaper, Shape: drawing.Hatch{Outline: pts, Turn: 45 * unit.Degree, Spacing: mm(1.6)}})
				it.Pen = drawing.Pen{Tone: flatTones[k], Weight: mm(0.6)}
				c.polygon(drawing.LayerPaper, "", "", pts...).Pen.Weight = mm(0.15)
			} else {
				c.polygon(drawing.LayerPaper, "", sharpTones[k], pts...).Pen.Weight = mm(0.15)
			}
			x += size*0.6 + 1
			t := fmt.Sprintf("from %g", centsLevels[k])
			c.text("", label(x, y-tall/2-small*0.34, small, drawing.Start, t))
			x += width(t, small, false) + 2.2
		}
		y -= tall + 1.2
	}
	return y
}
