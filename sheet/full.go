package sheet

import (
	"math"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

// Head is what every full-size sheet says of itself.
type Head struct {
	Guitar string // its name
	Date   string // date of the design, "2026-03-02"
	Style  unit.Style
	Left   bool
}

// What stands round a full-size drawing, in millimetres of paper.
const (
	fullGap    = 9.0   // between the drawing and what is said of it
	fullMargin = 6.0   // to the paper's edge
	barLong    = 101.6 // the longer check bar
	barColumn  = 22.0  // room for the two upright check bars
	wordColumn = 116.0
)

// full is a sheet at full size: what is drawn on it is in millimetres of wood in the part's own frame, whose
// zero is the datum everything is measured from.
type full struct {
	*canvas
	head Head
}

// newFull begins a full-size sheet.
func newFull(h Head, title unit.Text) *full {
	c := newCanvas(0, title.In(h.Style))
	c.sheet.ScaleX, c.sheet.ScaleY = 1, 1
	return &full{c, h}
}

// say writes words for the sheet's reader.
func (f *full) say(text unit.Text, args ...any) string { return f.head.Style.Say(text, args...) }

// fine writes a length as it is to be marked: with what a 64th leaves over, to 0.001 in or to 0.01 mm.
func (f *full) fine(v unit.Length) string {
	if f.head.Style.Units() == unit.Inch64 {
		return v.Exact(f.head.Style)
	}
	return v.Fine(f.head.Style)
}

// done marks the datum, sets check bars and title block beside what was drawn and cuts the paper to size.
// datum says in words what everything is measured from ("the nut's front edge, on the centreline"); notes
// are sentences under it, in the reader's language. The check bars are the dimension lines "check-100mm-x", "check-100mm-y",
// "check-4in-x" and "check-4in-y", the datum's mark is "datum". The sheet's Origin is where the part's own zero lies.
func (f *full) done(datum unit.Text, notes ...string) *drawing.Sheet {
	f.datumMark()
	b := bounds(f.sheet.Parts())
	left, right := b.Left.MM(), b.Right.MM()
	foot := b.Bottom.MM() - fullGap

	// Upright bars go beside a tall drawing, else to the left of the words.
	x := left
	if b.Top.MM()-b.Bottom.MM() >= barLong+8 {
		f.uprightBars(right+fullGap, b.Bottom.MM()+2)
	} else {
		f.uprightBars(x, foot-barLong-2)
		x += barColumn
	}
	y := foot
	for _, bar := range checkBars {
		y -= small + 1.6
		t := label(x+bar.mm/2, y+1.4, small, drawing.Middle, f.say("check: %s", bar.long))
		f.bar(bar.name+"-x", pt(x, y), pt(x+bar.mm, y), 0, t)
		y -= 3.4
	}
	made := f.say("right-handed")
	if f.head.Left {
		made = f.say("left-handed")
	}
	line := func(x, y, size float64, bold bool, words string) float64 {
		for _, l := range drawing.Wrap(words, mm(size), bold, mm(wordColumn)) {
			y -= size * 1.32
			t := label(x, y, size, drawing.Start, fit(l, size, bold, wordColumn))
			t.Bold = bold
			f.text("title-block", t)
		}
		return y - size*0.25
	}
	name := f.head.Guitar
	if strings.TrimSpace(name) == "" {
		name = f.say("A guitar without a name")
	}
	y = line(x, y-2, big, true, f.sheet.Title)
	y = line(x, y, middle, true, name)
	if f.head.Date != "" {
		made += ", " + nb(f.say("design of %s", f.head.Date))
	}
	y = line(x, y, small, false, made)
	y = line(x, y, small, true, f.say("Full size 1:1. Figures: %v.", f.head.Style.Name()))
	// What is measured from where, and the notes: to the right where the drawing leaves that room.
	if right-x >= 2*wordColumn+fullGap {
		x, y = x+wordColumn+fullGap, foot
	}
	y = line(x, y, small, true, f.say("Datum: %v.", datum))
	y = line(x, y, small, false, f.say("Lay a rule on the check bars, both ways, before you cut: if one is not its length, the print is not full size."))
	for _, n := range notes {
		y = line(x, y, small, false, n)
	}

	f.sheet.Desc = strings.TrimSpace(f.sheet.Desc + " " + f.say("Full size, one to one. Everything is measured from %v.", datum))
	b = bounds(f.sheet.Parts())
	f.sheet.Move(mm(fullMargin)-b.Left, mm(fullMargin)-b.Bottom)
	f.sheet.Width = b.Right - b.Left + mm(2*fullMargin)
	f.sheet.Height = b.Top - b.Bottom + mm(2*fullMargin)
	f.w = f.sheet.Width.MM()
	return &f.sheet
}

// checkBars are the lengths a maker lays a rule on.
var checkBars = []struct {
	name, long string
	mm         float64
}{
	{"check-100mm", "100\u00a0mm", 100},
	{"check-4in", "4\u00a0in", 4 * 25.4},
}

func (f *full) uprightBars(x, y float64) {
	for _, bar := range checkBars {
		x += small + 1.6
		t := label(x-1.4, y+bar.mm/2, small, drawing.Middle, f.say("check: %s", bar.long))
		t.Turn = 90 * unit.Degree
		f.bar(bar.name+"-y", pt(x, y), pt(x, y+bar.mm), 90, t)
		x += 3.4
	}
}

// bar is a check bar with a tick across each end.
func (f *full) bar(name string, a, b drawing.Point, along float64, t drawing.Text) {
	const tick = 2.0
	d := noExtend(dim(a, b, along, a, drawing.Text{}))
	d.Arrow = mm(2.2)
	f.add(drawing.Item{Layer: drawing.LayerDim, Name: name, Shape: d}).Pen.Weight = mm(0.3)
	for _, p := range []drawing.Point{a, b} {
		x, y := p.X.MM(), p.Y.MM()
		if along == 0 {
			f.line(drawing.LayerDim, name+"-end", x, y-tick, x, y+tick)
		} else {
			f.line(drawing.LayerDim, name+"-end", x-tick, y, x+tick, y)
		}
	}
	f.text(name+"-text", t)
}

// datumMark is a circle with two dark quarters and a cross through it at the part's own zero.
func (f *full) datumMark() {
	const r, arm = 2.4, 4.2
	solid := drawing.Pen{Tone: drawing.Ink, Weight: mm(0.25), Dash: []unit.Length{}}
	f.add(drawing.Item{Layer: drawing.LayerDatum, Name: "datum", Pen: solid, Shape: drawing.Circle{Radius: mm(r)}})
	const k = 0.5522847498 * r // handle of a quarter circle's curve
	for _, side := range []float64{1, -1} {
		f.add(drawing.Item{Layer: drawing.LayerDatum, Fill: drawing.Ink, Pen: drawing.Pen{None: true}, Shape: drawing.Path{Steps: []drawing.Step{
			{Verb: drawing.MoveTo}, {Verb: drawing.LineTo, To: pt(side*r, 0)},
			{Verb: drawing.CurveTo, A: pt(side*r, side*k), B: pt(side*k, side*r), To: pt(0, side*r)}, {Verb: drawing.Close}}}})
	}
	f.line(drawing.LayerDatum, "", -arm, 0, arm, 0).Pen = solid
	f.line(drawing.LayerDatum, "", 0, -arm, 0, arm).Pen = solid
}

// bounds is the upright rectangle round all parts, words and pens included; no parts give a point.
func bounds(parts []drawing.Item) drawing.Box {
	inf := unit.Length(math.Inf(1))
	b := drawing.Box{Left: inf, Bottom: inf, Right: -inf, Top: -inf}
	wide := func(p drawing.Point, by unit.Length) {
		b.Left, b.Right = min(b.Left, p.X-by), max(b.Right, p.X+by)
		b.Bottom, b.Top = min(b.Bottom, p.Y-by), max(b.Top, p.Y+by)
	}
	for _, it := range parts {
		half := it.Pen.Over(it.Layer.Pen()).Weight / 2
		if it.Pen.None {
			half = 0
		}
		switch s := it.Shape.(type) {
		case drawing.Line:
			wide(s.From, half)
			wide(s.To, half)
		case drawing.Polyline:
			for _, p := range s.Points {
				wide(p, half)
			}
		case drawing.Circle:
			wide(s.Centre, s.Radius+half)
		case drawing.Arc:
			const n = 256 // chords of a whole circle stay within 0.01 % of its radius
			for i := range n + 1 {
				wide(s.Point(float64(i)/n), half)
			}
		case drawing.Path:
			for _, run := range s.Flatten(0.01 * unit.MM) {
				for _, p := range run {
					wide(p, half)
				}
			}
		case drawing.Text:
			t := s.Box()
			wide(drawing.Point{X: t.Left, Y: t.Bottom}, 0)
			wide(drawing.Point{X: t.Right, Y: t.Top}, 0)
		}
	}
	if b.Left > b.Right {
		return drawing.Box{}
	}
	return b
}
