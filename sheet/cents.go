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
	Style  unit.Style
	Narrow bool
	// LeftHanded mirrors the picture; see the package comment.
	LeftHanded bool
	Names      []string // of the strings, bass first, in the maker's language, where they should differ from the map's own
	// Fit is the last fret the saddle was sought over; a line closes it off. 0 for none.
	Fit int
	// Title over the drawing, in the maker's language; "" for the usual one.
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
func centsSaid(v float64, decimals int, s unit.Style) string {
	if !unit.Finite(v) {
		return ""
	}
	p := math.Pow(10, float64(decimals))
	if v = math.Round(v*p) / p; v > 0 {
		return "+" + s.Decimal(v, decimals)
	}
	return s.Decimal(v, decimals)
}

// CentsMap draws how far every note on the board is off, string by fret. Each cell says its figure with a sign;
// a sharp one is filled, a flat one striped, the darker the farther off. A narrow sheet stands like the
// neck held upright, frets downward; a wide one lies with the nut to the left, cut after each twelfth fret.
//
// The figures are named "cents-s-f" (string s from 1 at the bass, fret f), the cells "cell-s-f".
func CentsMap(m stringset.Map, o CentsOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say, title := o.Style.Say, o.Title
	if title == "" {
		title = say("How far each note is off, in cents")
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
	names := make([]string, n)
	for i := range names {
		names[i] = name(i)
	}
	g := grid{style: o.Style, names: names, first: first, last: last, fit: o.Fit, foot: say("RMS"), leftHanded: o.LeftHanded}
	// One decimal where the widest figure has room for it, else whole cents; the table has both.
	decimals := 1
	g.figures = func(room float64) {
		widest := 0.0
		for i := range m.Rows {
			for _, v := range m.Rows[i].Cents {
				widest = math.Max(widest, width(centsSaid(v, 1, o.Style), small, false))
			}
			widest = math.Max(widest, width(o.Style.Decimal(m.Rows[i].RMS, 1), small, false))
		}
		if widest+0.8 > room {
			decimals = 0
		}
	}
	g.sum = func(i int) string {
		if !unit.Finite(m.Rows[i].RMS) {
			return ""
		}
		return o.Style.Decimal(m.Rows[i].RMS, decimals)
	}
	g.cell = func(i, f int) gridCell {
		v, ok := at(i, f)
		k := gridCell{name: "cents", text: centsSaid(v, decimals, o.Style)}
		level := centsLevel(v)
		switch {
		case !ok:
			k.text = ""
		case level == 0:
			k.fill = drawing.Paper
		case v > 0:
			k.fill = sharpTones[level-1]
			if level == len(sharpTones) {
				k.ink = drawing.Paper
			}
		default:
			k.stripes = flatTones[level-1]
		}
		return k
	}
	y := c.grid(0, g, o.Narrow)

	// Key: what the tones and stripes mean.
	y = centsKey(c, y-1.5, o.Style)
	var words []string
	if n > 0 && last > 0 && unit.Finite(m.RMS) && unit.Finite(m.Worst) {
		if o.Fit > 0 {
			words = append(words, say("All strings together over frets %d to %d: %.1f cents RMS.", first, o.Fit, m.RMS))
		} else {
			words = append(words, say("All strings together: %.1f cents RMS.", m.RMS))
		}
		if m.WorstRow >= 0 && m.WorstRow < n {
			words = append(words, say("Farthest off: %s at fret %d, %s.", name(m.WorstRow), m.WorstFret, nb(say("%s cents", centsSaid(m.Worst, 1, o.Style)))))
		}
	}
	if decimals == 0 {
		words = append(words, say("Whole cents; tenths are in the table."))
	}
	words = append(words, say("Counted from the open string as it sounds."))
	bottom := c.caption(y, words...)
	c.sheet.Desc = strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " ")

	head := []string{say("Fret")}
	for i := range m.Rows {
		head = append(head, name(i))
	}
	c.sheet.Table = [][]string{head}
	for f := first; f <= last; f++ {
		row := []string{fmt.Sprint(f)}
		for i := range m.Rows {
			s := ""
			if v, ok := at(i, f); ok {
				s = centsSaid(v, 1, o.Style)
			}
			row = append(row, s)
		}
		c.sheet.Table = append(c.sheet.Table, row)
	}
	rms := []string{say("RMS")}
	for _, r := range m.Rows {
		rms = append(rms, o.Style.Decimal(r.RMS, 1))
	}
	c.sheet.Table = append(c.sheet.Table, rms)
	return c.done(bottom-1, 2)
}

// centsKey draws the key under y and returns the y under it.
func centsKey(c *canvas, y float64, style unit.Style) float64 {
	names := [2]string{style.Say("sharp‖of a note"), style.Say("flat‖of a note")}
	room := math.Max(width(names[0], small, false), width(names[1], small, false))
	for i, flat := range []bool{false, true} {
		x, word := margin, names[i]
		c.text("", label(x, y-swatchTall/2-small*0.34, small, drawing.Start, word))
		x += room + 2
		for k := range centsLevels {
			look := gridCell{fill: sharpTones[k]}
			if flat {
				look = gridCell{stripes: flatTones[k]}
			}
			words := style.Say("from %g‖a number up", centsLevels[k])
			if x+swatchWide+1+width(words, small, false) > c.w-margin {
				x, y = margin+room+2, y-swatchTall-1.2
			}
			x = c.swatch(x, y, look, words) + 2.2
		}
		y -= swatchTall + 1.2
	}
	return y
}
