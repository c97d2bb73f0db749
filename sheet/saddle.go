package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

// SaddleInput is a saddle, and a nut that goes with it, from above. Every list is bass first.
type SaddleInput struct {
	Names  []string      // in the maker's language
	Across []unit.Length // of the strings at the saddle, from the centreline; + to treble
	// Own is each string's own best place behind the scale length, + away from the nut.
	Own []unit.Length
	// Centre and Slope give the slot's middle: setback = Centre + Slope × place across.
	Centre unit.Length
	Slope  float64
	Blank  unit.Length // width of the blank, square across the slot; 0: only the line is drawn
	// Compensated says that the strings break at Own; else at the line.
	Compensated bool
	// Nut is each string's place past the nut's line, + toward fret 1; nil, or all zero: the nut is not drawn.
	Nut       []unit.Length
	NutAcross []unit.Length // nil: as Across
}

// SaddleOptions of a saddle from above.
type SaddleOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// SaddleTop draws the saddle from above, neck up: the scale length's line, the slot with its blank, and where each
// string breaks on it. Lengths are drawn larger than widths (ScaleY/ScaleX), which the caption tells. With a
// compensated nut that is drawn above, to the same scales.
//
// The dimension lines "setback-1", "nut-1" and so on (string 1 is the bass) are to ScaleY; "scale-line" is where the
// scale length ends, "slot" the slot's middle, "blank" its blank, "place" where each string wants its own.
func SaddleTop(in SaddleInput, o SaddleOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("The saddle from above"))
	n := min(len(in.Across), len(in.Own))
	nutToo := false
	for i := 0; i < min(n, len(in.Nut)); i++ {
		nutToo = nutToo || in.Nut[i] != 0
	}
	nutAcross := in.NutAcross
	if len(nutAcross) < n {
		nutAcross = in.Across
	}
	half, far, near := 20.0, 0.5, 0.0 // real mm: half the width drawn, and the reach of setbacks
	line := func(y float64) float64 { return in.Centre.MM() + in.Slope*y }
	for i := range n {
		half = math.Max(half, math.Abs(in.Across[i].MM())+7)
	}
	tilt := math.Sqrt(1 + in.Slope*in.Slope) // along, for a width square across the slot
	for i := range n {
		y := in.Across[i].MM()
		far = math.Max(far, math.Max(in.Own[i].MM(), line(y)))
		near = math.Min(near, math.Min(in.Own[i].MM(), line(y)))
	}
	for _, y := range []float64{-half + 2, half - 2} {
		far = math.Max(far, line(y)+in.Blank.MM()/2*tilt)
		near = math.Min(near, line(y)-in.Blank.MM()/2*tilt)
	}
	sx := (w - 2*margin) / (2 * half)
	k := 1.0
	for _, f := range []float64{1, 2, 3, 5, 10} {
		if (far-near)*f*sx <= 42 {
			k = f
		}
	}
	sy := sx * k
	c.sheet.ScaleX, c.sheet.ScaleY = sx, sy
	side := 1.0
	if o.LeftHanded {
		side = -1
	}
	X := func(y float64) float64 { return w/2 + side*y*sx }
	name := func(i int) string {
		if i < len(in.Names) && in.Names[i] != "" {
			return in.Names[i]
		}
		return fmt.Sprint(i + 1)
	}
	names := make([]string, n)
	for i := range n {
		names[i] = name(i)
	}
	places := func(across []unit.Length) []float64 {
		xs := make([]float64, n)
		for i := range n {
			xs[i] = X(across[i].MM())
		}
		return xs
	}
	figures := func(vs []unit.Length) []string {
		out := make([]string, n)
		for i := range n {
			out[i], _ = fineNumber(vs[i], o.Style)
		}
		return out
	}
	_, symbol := fineNumber(0, o.Style)
	bass, treble := say("BASS"), say("TREBLE")
	if o.LeftHanded {
		bass, treble = treble, bass
	}
	heading := func(y float64, s string) float64 {
		y -= middle
		t := label(margin, y, middle, drawing.Start, s)
		t.Bold = true
		c.text("", t)
		return y - 2.4
	}
	wider := func(y float64, s string) float64 {
		y -= small * 1.25
		c.text("", label(margin, y, small, drawing.Start, s))
		return y - 0.6
	}
	dims := func(prefix string, xs []float64, foot float64, vs []unit.Length) {
		for i := range n {
			d := dim(pt(xs[i], foot), pt(xs[i], foot-vs[i].MM()*sy), 90, pt(xs[i], foot), drawing.Text{})
			d.NoExtend, d.Arrow = true, mm(1.3)
			c.add(drawing.Item{Layer: drawing.LayerGap, Name: fmt.Sprintf("%s-%d", prefix, i+1), Shape: d}).Pen.Weight = mm(0.35)
		}
	}

	y := 0.0
	if nutToo && n > 0 {
		xs := places(nutAcross)
		most := 0.0
		for i := range n {
			most = math.Max(most, math.Abs(in.Nut[i].MM()))
		}
		y = heading(y, say("NUT"))
		y -= 1.5
		foot := y - 4
		low := foot - most*sy
		x1, x2 := X(-half+1), X(half-1)
		c.rect(drawing.LayerWood, "nut", drawing.Bone, math.Min(x1, x2), foot, math.Max(x1, x2), y)
		c.line(drawing.LayerDatum, "nut-line", math.Min(x1, x2)-1, foot, math.Max(x1, x2)+1, foot).Pen.Tone = drawing.Ink
		for i := range n {
			it := c.line(drawing.LayerString, "", xs[i], foot-in.Nut[i].MM()*sy, xs[i], low-5)
			it.Pen.Weight = mm(0.3)
		}
		dims("nut", xs, foot, in.Nut)
		y = c.spread(low-5.5, xs, names, true)
		y = wider(y, say("past the nut's line, toward fret 1 (%s)", symbol))
		y = c.spread(y, xs, figures(in.Nut), false)
		y -= 3
		y = heading(y, say("SADDLE"))
	}
	xs := places(in.Across)
	head := y
	c.text("", label(margin, y-small, small, drawing.Start, bass))
	c.text("", label(w-margin, y-small, small, drawing.End, treble))
	c.text("", label(w/2, y-small, small, drawing.Middle, say("toward the nut")))
	y = head - small - 2.5
	zero := y + near*sy - 2 // the scale line: strings coming down to it need some room even with all places in front of it
	zero = math.Min(zero, y-5)
	foot := zero - far*sy
	slot := func(off float64) (drawing.Point, drawing.Point) {
		a, b := -half+2, half-2
		return pt(X(a), zero-(line(a)+off*tilt)*sy), pt(X(b), zero-(line(b)+off*tilt)*sy)
	}
	if in.Blank > 0 {
		a1, b1 := slot(-in.Blank.MM() / 2)
		a2, b2 := slot(in.Blank.MM() / 2)
		c.polygon(drawing.LayerWood, "blank", drawing.Bone, a1, b1, b2, a2)
	}
	a, b := slot(0)
	mid := c.polyline(drawing.LayerEdge, "slot", a, b)
	if in.Blank > 0 && in.Compensated {
		mid.Pen.Weight = mm(0.25)
	}
	datum := c.line(drawing.LayerDatum, "scale-line", margin, zero, w-margin, zero)
	datum.Pen.Tone = drawing.Ink
	own := make([]unit.Length, n)
	on := make([]unit.Length, n)
	breaks := make([]unit.Length, n)
	var crest []drawing.Point
	for i := range n {
		own[i], on[i] = in.Own[i], unit.Length(line(in.Across[i].MM()))*unit.MM
		breaks[i] = on[i]
		if in.Compensated {
			breaks[i] = own[i]
		}
		crest = append(crest, pt(xs[i], zero-own[i].MM()*sy))
		it := c.line(drawing.LayerString, "string", xs[i], y+1.5, xs[i], math.Max(zero, zero-breaks[i].MM()*sy))
		it.Pen.Weight = mm(0.3)
	}
	if in.Compensated && n > 1 {
		it := c.polyline(drawing.LayerScore, "crest", crest...)
		it.Pen.Weight = mm(0.3)
	}
	dims("setback", xs, zero, breaks)
	for _, p := range crest {
		fill := drawing.Paper
		if in.Compensated {
			fill = drawing.Accent
		}
		c.circle(drawing.LayerGap, "place", fill, p.X.MM(), p.Y.MM(), 1)
	}
	y = foot - 2.2
	c.text("", label(w/2, y-small, small, drawing.Middle, say("toward the tail")))
	y -= small + 2
	y = c.spread(y, xs, names, true)
	if in.Compensated {
		y = wider(y, say("each string behind the scale length (%s)", symbol))
		y = c.spread(y, xs, figures(own), false)
	} else {
		y = wider(y, say("on the line, behind the scale length (%s)", symbol))
		y = c.spread(y, xs, figures(on), false)
		y = wider(y, say("where each string would like it (%s)", symbol))
		y = c.spread(y, xs, figures(own), false)
	}
	var words []string
	slant := math.Abs(math.Atan(in.Slope)) * 180 / math.Pi
	switch {
	case slant < 0.005:
		words = append(words, say("The slot runs square to the centreline."))
	case in.Slope < 0:
		words = append(words, say("The slot turns %.2f°: its bass end stands farther back.", slant))
	default:
		words = append(words, say("The slot turns %.2f°: its treble end stands farther back.", slant))
	}
	words = append(words, say("Its middle lies %s behind the scale length, on the centreline.", nb(in.Centre.Fine(o.Style))))
	if in.Blank > 0 {
		words = append(words, say("Blank %s wide, square across the slot.", nb(in.Blank.Fine(o.Style))))
	}
	if in.Compensated {
		words = append(words, say("Dots: where each string must break over the top."))
	} else {
		words = append(words, say("Rings: where each string would like it."))
	}
	words = append(words, say("Fine line across: the scale length, without setback."))
	plain := strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " ")
	if k > 1 {
		words = append(words, say("Lengths drawn %.3g times as large as widths.", k))
	}
	bottom := c.caption(y-1, words...)

	c.sheet.Desc = say("The saddle from above, neck up.") + " " + plain
	header := []string{say("String"), say("Across, + to treble"), say("On the slot's middle"), say("Its own place")}
	if nutToo {
		header = append(header, say("Nut, toward fret 1"))
	}
	c.sheet.Table = [][]string{header}
	for i := range n {
		row := []string{name(i), in.Across[i].Exact(o.Style), on[i].Fine(o.Style), own[i].Fine(o.Style)}
		if nutToo {
			row = append(row, in.Nut[i].Fine(o.Style))
		}
		c.sheet.Table = append(c.sheet.Table, row)
	}
	return c.done(bottom-1, 1.5)
}

// spread writes words under their places, starting at y and going down as many rows as they need to keep apart, and
// returns the y under them. What finds no place within six rows is left to the table.
func (c *canvas) spread(y float64, xs []float64, words []string, bold bool) float64 {
	return c.spreadWithin(margin, c.w-margin, y, xs, words, bold)
}

// spreadWithin is spread between lo and hi.
func (c *canvas) spreadWithin(lo, hi, y float64, xs []float64, words []string, bold bool) float64 {
	const row = small * 1.22
	var taken [6][]drawing.Box
	used := 0
	y -= small * 0.92
	for i, s := range words {
		if s == "" {
			continue
		}
		wide := width(s, small, bold)
		x := clamp(xs[i], lo+wide/2, hi-wide/2)
		for r := range taken {
			t := label(x, y-float64(r)*row, small, drawing.Middle, s)
			t.Bold, t.Halo = bold, drawing.Paper
			b := grown(t.Box(), 0.35)
			free := true
			for _, q := range taken[r] {
				free = free && (b.Right <= q.Left || b.Left >= q.Right)
			}
			if free {
				taken[r] = append(taken[r], t.Box())
				c.text("", t)
				used = max(used, r)
				break
			}
		}
	}
	return y - float64(used)*row - small*0.3
}
