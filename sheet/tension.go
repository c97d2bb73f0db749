package sheet

import (
	"math"
	"strings"

	"fairset/craft/stringset"
	"fairset/drawing"
	"fairset/unit"
)

// TensionOptions of a tension chart.
type TensionOptions struct {
	Style  unit.Style
	Narrow bool
	// Names to write for the strings, bass first, in the maker's language, where they should differ from the balance's own; may be short or nil.
	Names []string
}

// TensionChart draws the pull of every string as a bar from nothing, bass first, with the mean of the set as a line
// through them all. Bars are named "bar", the line "mean"; a bar's length over its pull is the same for all.
func TensionChart(b stringset.Balance, o TensionOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Pull of each string"))
	n := len(b.Strings)
	name := func(i int) string {
		if i < len(o.Names) && o.Names[i] != "" {
			return o.Names[i]
		}
		if b.Strings[i].Name != "" {
			return b.Strings[i].Name
		}
		return say("string %d", i+1)
	}
	figure := func(i int) string {
		return pullSaid(b.Strings[i].Tension, o.Style) + ", " + percent(100*b.Strings[i].Mean, 0, o.Style)
	}
	nameRoom, figureRoom, most := 0.0, 0.0, 0.0
	for i, p := range b.Strings {
		nameRoom = math.Max(nameRoom, math.Min(width(name(i), small, true), w*0.3))
		figureRoom = math.Max(figureRoom, width(figure(i), small, true))
		most = math.Max(most, float64(p.Tension))
	}
	left := margin + nameRoom + 2
	room := w - margin - figureRoom - 2 - left
	scale := 0.0
	if most > 0 {
		scale = room / most
	}
	row := clamp(120/math.Max(float64(n), 1), 5, 7.5)
	y := 0.0
	for i, p := range b.Strings {
		foot := y - row*0.82
		tone := drawing.Band3
		strong := n > 1 && (i == b.Loosest || i == b.Tightest)
		if strong {
			tone = drawing.Band5
		}
		end := left + math.Max(float64(p.Tension)*scale, 0.2)
		c.rect(drawing.LayerGap, "bar", tone, left, foot, end, y).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.2)}
		base := (y+foot)/2 - small*0.34
		t := label(left-2, base, small, drawing.End, fit(name(i), small, strong, nameRoom))
		f := label(left+room+2, base, small, drawing.Start, figure(i))
		t.Bold, f.Bold = strong, strong
		c.text("", t)
		c.text("pull", f)
		y -= row
	}
	if n > 1 {
		x := left + float64(b.Mean)*scale
		it := c.line(drawing.LayerTarget, "mean", x, 2, x, y-1)
		it.Pen.Weight = mm(0.4)
		word := say("mean %s‖of pulls", pullSaid(b.Mean, o.Style))
		tw := width(word, small, false)
		c.text("", label(clamp(x-tw/2, margin, w-margin-tw), y-1-small*1.1, small, drawing.Start, word))
		y -= small * 1.6
	}
	words := []string{say("Together %s.", nb(b.Total.In(o.Style)))}
	if n > 1 {
		words = append(words,
			say("The bass half carries %s.", nb(percent(100*b.BassShare, 0, o.Style))),
			say("In bold: %s pulls least, %s most.", name(b.Loosest), name(b.Tightest)),
			say("Percent: of the mean string."))
		if k := b.StepFrom; k >= 0 && k+1 < n {
			words = append(words, say("Largest step between neighbours: %s, from %s to %s.", nb(pullSaid(b.LargestStep, o.Style)), name(k), name(k+1)))
		}
	}
	if n == 0 {
		words = []string{say("No strings yet.")}
	}
	bottom := c.caption(y-1, words...)
	c.sheet.Desc = strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " ")
	c.sheet.Table = [][]string{{say("String"), say("Pull‖of a string"), say("Of the mean string"), say("Of the whole")}}
	for i, p := range b.Strings {
		c.sheet.Table = append(c.sheet.Table, []string{name(i), p.Tension.In(o.Style), percent(100*p.Mean, 0, o.Style), percent(100*p.Share, 1, o.Style)})
	}
	c.sheet.Table = append(c.sheet.Table, []string{say("All together"), b.Total.In(o.Style), "", ""})
	return c.done(bottom-1, 3)
}

// pullSaid writes a pull in the unit that goes with a maker's lengths.
func pullSaid(f unit.Force, s unit.Style) string {
	if s.Metric() {
		return s.Decimal(float64(f), 1) + " N"
	}
	return s.Decimal(float64(f/unit.PoundForce), 1) + " lbf"
}
