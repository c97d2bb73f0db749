package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/fretting"
	"fairset/drawing"
	"fairset/unit"
)

// ClearanceOptions of a clearance drawing.
type ClearanceOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
	Names      []string // of the strings, bass first, in the maker's language
	// Close marks what is left below this as close; 0: 0.1 mm.
	Close unit.Length
}

func (o ClearanceOptions) close() unit.Length {
	if o.Close > 0 {
		return o.Close
	}
	return 0.1 * unit.MM
}

func (o ClearanceOptions) name(i int) string {
	if i >= 0 && i < len(o.Names) && o.Names[i] != "" {
		return o.Names[i]
	}
	return fmt.Sprint(i + 1)
}

// roomSaid writes a small length without its unit as short as the bench reads it: hundredths of a millimetre, or whole
// thousandths of an inch. Tight, it leaves the nought before the point away.
func roomSaid(l unit.Length, s unit.Style, tight bool) string {
	if !l.Finite() {
		return ""
	}
	v, decimals := l.MM(), 2
	if !s.Metric() {
		v, decimals = float64(l/unit.Thou), 0
	} else if tight && math.Abs(v) >= 0.995 {
		decimals = 1
	}
	out := s.Decimal(math.Abs(v), decimals)
	if tight {
		out = strings.TrimPrefix(out, "0")
		if out == "" {
			out = "0"
		}
	}
	if v < 0 { // said even of what rounds to nothing: it touches all the same
		out = "-" + out
	}
	return out
}

// heldAt says where a string is held down.
func heldAt(stop int) unit.Phrase {
	if stop == 0 {
		return unit.Say("open‖of a string")
	}
	return unit.Say("held at fret %d", stop)
}

// ClearanceMap draws what a played string leaves over the frets, for every string (from package fretting's Layout.Clear) held
// at every fret, open first: the least of it over all frets beyond. Where it would buzz the cell is dark and its figure
// negative; a close one is striped. The figures are named "room-s-f" (string s from 1 at the bass, held at fret f), the
// cells "cell-s-f".
func ClearanceMap(cs []fretting.Clearance, o ClearanceOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Where a played string would buzz"))
	n, last := 0, -1
	by := map[[2]int]fretting.Clearance{}
	for _, k := range cs {
		n, last = max(n, k.String+1), max(last, k.Stop)
		by[[2]int{k.String, k.Stop}] = k
	}
	g := grid{style: o.Style, first: 0, last: last, leftHanded: o.LeftHanded}
	for i := range n {
		g.names = append(g.names, o.name(i))
	}
	g.rowName = func(f int) string {
		if f == 0 {
			return say("open‖of a string")
		}
		return ""
	}
	tight, bold := false, true
	g.figures = func(room float64) {
		for _, k := range cs {
			tight = tight || width(roomSaid(k.Least, o.Style, false), small, true)+0.8 > room
			bold = bold && width(roomSaid(k.Least, o.Style, true), small, true)+0.8 <= room
		}
	}
	g.cell = func(i, f int) gridCell {
		k, ok := by[[2]int{i, f}]
		out := gridCell{name: "room"}
		if !ok || !k.Least.Finite() {
			return out
		}
		out.text, out.fill = roomSaid(k.Least, o.Style, tight), drawing.Paper
		switch {
		case k.Buzzes():
			out.fill, out.ink, out.bold = drawing.Band6, drawing.Paper, bold
		case k.Least < o.close():
			out.fill, out.stripes = "", drawing.Band4
		}
		return out
	}
	y := c.grid(0, g, o.Narrow) - 1.5
	x := c.swatch(margin, y, gridCell{fill: drawing.Band6}, say("buzzes‖a string")) + 3
	x = c.swatch(x, y, gridCell{stripes: drawing.Band4}, say("under %v‖less than", unit.FineLength(o.close()))) + 3
	if clearWord := say("clear‖a string that does not buzz"); x+swatchWide+1+width(clearWord, small, false) < w-margin {
		c.swatch(x, y, gridCell{fill: drawing.Paper}, clearWord)
	}
	y -= swatchTall + 1

	var words []string
	buzz := 0
	worst := -1
	for i, k := range cs {
		if k.Buzzes() {
			buzz++
		}
		if k.Least.Finite() && (worst < 0 || k.Least < cs[worst].Least) {
			worst = i
		}
	}
	switch {
	case worst < 0:
	case buzz == 0:
		k := cs[worst]
		words = append(words, say("Nothing buzzes. Nearest: string %s %v, %s over fret %d.", o.name(k.String), heldAt(k.Stop), nb(k.Least.Fine(o.Style)), k.Nearest))
	default:
		k := cs[worst]
		words = append(words, say("%d of %d buzz. Worst: string %s %v, by %s on fret %d.", buzz, len(cs), o.name(k.String), heldAt(k.Stop), nb(k.Least.Abs().Fine(o.Style)), k.Nearest))
	}
	if o.Style.Metric() {
		words = append(words, say("What is left over the nearest fret when the string swings, in millimetres. The most a string can do: a real one swings less."))
	} else {
		words = append(words, say("What is left over the nearest fret when the string swings, in thousandths of an inch. The most a string can do: a real one swings less."))
	}
	bottom := c.caption(y, words...)
	c.sheet.Desc = strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " ")
	c.sheet.Table = [][]string{{say("String"), say("Held at"), say("Least left"), say("Over fret"), say("Buzzes")}}
	for _, k := range cs {
		at, buzzes := say("open‖of a string"), say("no")
		if k.Stop > 0 {
			at = fmt.Sprint(k.Stop)
		}
		if k.Buzzes() {
			buzzes = say("yes")
		}
		c.sheet.Table = append(c.sheet.Table, []string{o.name(k.String), at, k.Least.Fine(o.Style), fmt.Sprint(k.Nearest), buzzes})
	}
	return c.done(bottom-1, 2)
}

// ClearanceOver draws one string held at one fret over the frets beyond it, all fret tops laid on one level line: how high
// the string rests there, and how low it comes when it swings. Heights are drawn larger than lengths. At each fret a line
// "rest-f" reaches from the fret's top to the resting string, and one "swing-f" from there down to the lowest it comes.
func ClearanceOver(l fretting.Layout, k fretting.Clearance, o ClearanceOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("One string over the frets"))
	n := min(len(k.Rest), len(k.Margin), max(len(l.Slots)-k.Stop, 0))
	if n == 0 || k.Stop < 0 {
		c.sheet.Desc, c.sheet.Table = say("No fret beyond."), [][]string{{say("Fret")}}
		c.text("", label(margin, -small, small, drawing.Start, c.sheet.Desc))
		return c.done(-small*1.6, 1)
	}
	from := 0.0
	if k.Stop > 0 {
		from = l.Slots[k.Stop-1].Centre.MM()
	}
	at := func(i int) float64 { return l.Slots[k.Stop+i].Centre.MM() - from }
	hi, lo := 0.2, 0.0
	for i := range n {
		hi, lo = math.Max(hi, k.Rest[i].MM()), math.Min(lo, k.Margin[i].MM())
	}
	left := margin + 8
	sx := (w - margin - 3 - left) / math.Max(at(n-1), 1)
	sy := 42 / (hi - lo)
	c.sheet.ScaleX, c.sheet.ScaleY = sx, sy
	X := func(x float64) float64 { return left + x*sx }
	var rest, low []drawing.Point
	start := 0.0
	for i := range n {
		rest = append(rest, pt(X(at(i)), k.Rest[i].MM()*sy))
		low = append(low, pt(X(at(i)), k.Margin[i].MM()*sy))
	}
	band := append([]drawing.Point{pt(X(0), start)}, rest...)
	for i := n - 1; i >= 0; i-- {
		band = append(band, low[i])
	}
	c.fill(drawing.LayerWood, "board", drawing.Wood, pt(X(0)-5, -2.4), pt(w-margin, -2.4), pt(w-margin, math.Min(lo*sy, 0)-5), pt(X(0)-5, math.Min(lo*sy, 0)-5))
	c.fill(drawing.LayerTarget, "band", drawing.Band2, band...)
	for i := -1; i < n; i++ {
		x := X(0)
		if i >= 0 {
			x = X(at(i))
		}
		c.line(drawing.LayerMark, "fret", x, -2.4, x, 0).Pen = drawing.Pen{Tone: drawing.Steel, Weight: mm(0.7)}
	}
	c.line(drawing.LayerDatum, "tops", X(0), 0, w-margin, 0).Pen.Tone = drawing.Ink
	c.polyline(drawing.LayerString, "string", append([]drawing.Point{pt(X(0), start)}, rest...)...)
	lowLine := c.polyline(drawing.LayerGap, "lowest", append([]drawing.Point{pt(X(0), start)}, low...)...)
	lowLine.Pen.Weight = mm(0.35)
	for i := range n {
		f := k.Stop + 1 + i
		r := c.line(drawing.LayerDim, fmt.Sprintf("rest-%d", f), X(at(i)), 0, X(at(i)), k.Rest[i].MM()*sy)
		thin(r)
		s := c.line(drawing.LayerGap, fmt.Sprintf("swing-%d", f), X(at(i)), k.Rest[i].MM()*sy, X(at(i)), k.Margin[i].MM()*sy)
		s.Pen.Weight = mm(0.2)
		if k.Margin[i] < 0 {
			x, y := X(at(i)), k.Margin[i].MM()*sy
			c.line(drawing.LayerGap, "buzz", x-1.3, y-1.3, x+1.3, y+1.3).Pen.Weight = mm(0.6)
			c.line(drawing.LayerGap, "", x-1.3, y+1.3, x+1.3, y-1.3).Pen.Weight = mm(0.6)
		}
	}
	y := math.Min(lo*sy, 0) - 6
	// Fret numbers as there is room, the nearest fret first of all.
	seat := func(i int) drawing.Text {
		t := label(X(at(i)), y-small, small, drawing.Middle, fmt.Sprint(k.Stop+1+i))
		if b := t.Box(); b.Right.MM() > w-1 {
			t.At.X -= b.Right - mm(w-1)
		}
		return t
	}
	page := box(0, y-20, w, y+5)
	if i := k.Nearest - k.Stop - 1; i >= 0 && i < n {
		t := seat(i)
		t.Bold = true
		c.place("nearest", page, t)
	}
	for i := range n {
		if k.Stop+1+i != k.Nearest {
			c.place("", page, seat(i))
		}
	}
	c.place("", page, label(margin, y-small, small, drawing.Start, say("fret")))
	y -= small * 1.5
	words := []string{say("String %s, %v.", o.name(k.String), heldAt(k.Stop))}
	if k.Buzzes() {
		words = append(words, say("It would touch fret %d, by %s (crosses).", k.Nearest, nb(k.Least.Abs().Fine(o.Style))))
	} else {
		words = append(words, say("It stays clear: least over fret %d, %s.", k.Nearest, nb(k.Least.Fine(o.Style))))
	}
	words = append(words, say("Shaded: from the string at rest down to the lowest it swings."),
		say("Heights over the fret tops, drawn %.0f times as large as lengths; all fret tops are laid on one line.", sy/sx))
	bottom := c.caption(y, words...)
	c.sheet.Desc = strings.ReplaceAll(strings.Join(words[:2], " "), "\u00a0", " ")
	c.sheet.Table = [][]string{{say("Fret"), say("String over it at rest"), say("Left when it swings")}}
	for i := range n {
		c.sheet.Table = append(c.sheet.Table, []string{fmt.Sprint(k.Stop + 1 + i), k.Rest[i].Fine(o.Style), k.Margin[i].Fine(o.Style)})
	}
	return c.done(bottom-1, math.Max(hi*sy, 1)+2)
}
