package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/fretting"
	"fairset/drawing"
	"fairset/unit"
)

// FretInput is a fretboard to lay out at full size.
type FretInput struct {
	Layout    fretting.Layout
	Dots      []fretting.Mark // on the face and on the bass edge
	Thickness unit.Length     // of the board
}

// How large dots are drawn. A maker fits the dots at hand; what counts is their middle.
const (
	faceDot = 3.0 // radius, mm; common practice, no source
	sideDot = 1.0
)

// FretLayout draws a fretboard from above at full size, the nut to the left and x along the centreline: outline, slots
// edge to edge, strings, dots, the bass edge with its side dots, and both ends of the board with their radius. Beside
// every slot stands how far it lies from the nut, all measured from there and never from slot to slot.
//
// Slots are "slot-1" and so on, each one line and alone on their layer, which files of layers call "slots"; the
// other layers are "outline" with the board alone, "dots" with a circle for each dot on the face, "side-dots", "strings", "section", "dimensions", "notes" and "datum". The outline is
// "board", dots "dot" and "side-dot", strings "string-1", the ends' faces "nut-section-face" and
// "end-section-face"; dimension lines are "board-length", "nut-width" and "end-width".
func FretLayout(in FretInput, h Head) *drawing.Sheet {
	f := newFull(h, "Fret layout")
	f.sheet.LayerNames = map[drawing.Layer]string{drawing.LayerCut: "slots", drawing.LayerWood: "outline", drawing.LayerMark: "dots", drawing.LayerString: "strings",
		drawing.LayerScore: "side-dots", drawing.LayerEdge: "section", drawing.LayerDim: "dimensions", drawing.LayerNote: "notes", drawing.LayerDatum: "datum"}
	l := in.Layout
	// Seen from above with the neck to the left, treble of a right-handed guitar is the farther side.
	side := 1.0
	if h.Left {
		side = -1
	}
	at := func(p fretting.Point) drawing.Point { return pt(p.X.MM(), side*p.Y.MM()) }
	half, far := 0.0, l.Length.MM()
	board := make([]drawing.Point, 0, 4)
	for _, p := range l.Outline {
		board = append(board, at(p))
		half, far = math.Max(half, math.Abs(p.Y.MM())), math.Max(far, p.X.MM())
	}
	f.polygon(drawing.LayerWood, "board", "", board...)
	solid := []unit.Length{}
	nut := f.line(drawing.LayerDatum, "nut", 0, 0, 0, 0)
	nut.Shape, nut.Pen = drawing.Line{From: at(l.Nut.Bass), To: at(l.Nut.Treble)}, drawing.Pen{Tone: drawing.Ink, Weight: mm(0.6), Dash: solid}
	f.line(drawing.LayerDatum, "centre", -6, 0, far+6, 0)
	for i, r := range l.Strings {
		end := r.Saddle
		if run := r.Saddle.X - r.Nut.X; run > 0 {
			k := (l.Length - r.Nut.X) / run
			end = fretting.Point{X: l.Length, Y: r.Nut.Y + k*(r.Saddle.Y-r.Nut.Y)}
		}
		it := f.line(drawing.LayerString, fmt.Sprintf("string-%d", i+1), 0, 0, 0, 0)
		it.Shape = drawing.Line{From: at(r.Nut), To: at(end)}
		it.Pen.Weight = mm(clamp(r.Gauge.MM(), 0.13, 0.5))
	}
	slots, off := onBoard(l, h.Style)
	for _, k := range slots {
		it := f.line(drawing.LayerCut, fmt.Sprintf("slot-%d", k.Fret), 0, 0, 0, 0)
		it.Shape = drawing.Line{From: at(k.Line.Bass), To: at(k.Line.Treble)}
	}

	// A dot stands midway between its fret and the one before, wherever it is across the board.
	line := func(fret int) fretting.Line {
		if fret == 0 {
			return l.Nut
		}
		return l.Slots[fret-1].Line
	}
	midway := func(fret int, y float64) float64 {
		sum := 0.0
		for _, n := range []int{fret - 1, fret} {
			a, b := line(n).Bass, line(n).Treble
			sum += a.X.MM() + (b.X-a.X).MM()*(y-a.Y.MM())/(b.Y-a.Y).MM()
		}
		return sum / 2
	}
	thick := in.Thickness.MM()
	var dots []fretting.Mark
	for _, d := range in.Dots {
		if d.Fret >= 1 && d.Fret <= len(slots) && d.Count >= 1 {
			dots = append(dots, d)
		}
	}
	for _, d := range dots {
		pair := l.WidthAt(mm(midway(d.Fret, 0))).MM() / 2
		for i := range d.Count {
			y := (float64(i) - float64(d.Count-1)/2) * pair
			x := midway(d.Fret, y)
			if x+faceDot > l.Length.MM() { // a leaning last space can run off the board's end
				continue
			}
			f.circle(drawing.LayerMark, "dot", "", x, side*y, faceDot)
			cross := drawing.Pen{Tone: drawing.Ink, Weight: mm(0.13), Dash: solid}
			f.line(drawing.LayerDatum, "", x-0.8, side*y, x+0.8, side*y).Pen = cross
			f.line(drawing.LayerDatum, "", x, side*y-0.8, x, side*y+0.8).Pen = cross
		}
	}

	// Every slot's distance from the nut stands at its end: at the farther edge, and where slots lean at both.
	turned := leans(l)
	fine := f.fine
	row := func(up float64, treble bool) (edge float64) {
		lines := slots
		if turned { // a slanting nut has its own two figures
			lines = append([]fretting.Slot{{Line: l.Nut}}, slots...)
		}
		want := make([]float64, len(lines))
		ends := make([]fretting.Point, len(lines))
		for i, k := range lines {
			ends[i] = k.Line.Bass
			if treble {
				ends[i] = k.Line.Treble
			}
			want[i] = ends[i].X.MM()
		}
		// A row of numbers, and beyond it the distances, turned.
		base := half + 6.0
		numbers, figures := base+1, base+1+small*1.3
		if up < 0 {
			numbers, figures = base+1+small*0.74, base+1+small*1.3
		}
		cols := apart(want, math.Max(small*1.18, width("00", small, true)+1))
		edge = figures
		for i, k := range lines {
			e := at(ends[i])
			thin(f.line(drawing.LayerDim, "", cols[i], up*base, e.X.MM(), e.Y.MM()+up*0.5))
			t := label(cols[i], up*numbers, small, drawing.Middle, fmt.Sprint(k.Fret))
			if k.Fret == 0 {
				t.String = f.say("nut")
			}
			t.Bold = true
			f.text("number", t)
			v := k.Centre
			if turned {
				v = ends[i].X
			}
			t = label(cols[i]+small*0.34, up*figures, small, drawing.Start, fine(v))
			t.Turn = 90 * unit.Degree
			if up < 0 {
				t.Anchor = drawing.End
			}
			f.text(fmt.Sprintf("from-nut-%d", k.Fret), t)
			edge = math.Max(edge, figures+width(t.String, small, false))
		}
		return up * edge
	}
	high := row(1, !h.Left)
	low := -half - 3
	if turned {
		low = row(-1, h.Left) - 3
	}
	lt, rt := f.say("TREBLE"), f.say("BASS")
	if h.Left {
		lt, rt = rt, lt
	}
	word := func(x, y float64, a drawing.Anchor, s string) { f.text("", label(x, y, small, a, s)) }
	left := math.Min(l.Nut.Bass.X.MM(), l.Nut.Treble.X.MM()) - 8
	word(left, half+2, drawing.End, lt)
	word(left, -half-2, drawing.End, rt)
	word(left, high-small, drawing.End, f.say("from the datum,"))
	what := f.say("on the centreline")
	if turned {
		what = f.say("slot's end at this edge")
		word(left, low+small*1.6, drawing.End, what)
	}
	word(left, high-small*2.3, drawing.End, what)

	// The bass edge, and under it the frets that carry dots.
	if thick > 0 {
		y := low - 3
		f.rect(drawing.LayerEdge, "edge", "", 0, y-thick, l.Length.MM(), y).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.3), Dash: solid}
		var crowd []float64
		var numbers []int
		for _, d := range dots {
			// On a multi-scale board the dot goes by the slots' ends at this edge.
			a, b := line(d.Fret-1).Bass.X.MM(), line(d.Fret).Bass.X.MM()
			gap := math.Min(3.4, (b-a)*0.4)
			if (a+b)/2+float64(d.Count-1)/2*gap+sideDot > l.Length.MM() {
				continue
			}
			for i := range d.Count {
				f.circle(drawing.LayerScore, "side-dot", "", (a+b)/2+(float64(i)-float64(d.Count-1)/2)*gap, y-thick/2, math.Min(sideDot, gap*0.45))
			}
			crowd, numbers = append(crowd, (a+b)/2), append(numbers, d.Fret)
		}
		for i, x := range apart(crowd, width("00", small, false)+1) {
			word(x, y-thick-small*1.15, drawing.Middle, fmt.Sprint(numbers[i]))
		}
		word(left, y-thick/2-small*0.34, drawing.End, f.say("bass edge, side dots"))
		low = y - thick - small*1.5
	}
	y := low - 5
	t := label(l.Length.MM()/2, y+1.1, small, drawing.Middle, f.say("board, nut to end %s", fine(l.Length)))
	f.add(drawing.Item{Layer: drawing.LayerDim, Name: "board-length", Shape: dim(pt(0, low), pt(l.Length.MM(), low), 0, pt(0, y), drawing.Text{})})
	f.text("", t)
	low = y - 5

	// Both ends of the board, seen from the saddle, face up, cut square to the centreline.
	named := func(end unit.Text, x unit.Length) string {
		if l.Surface.Flat() {
			return f.say("%v, flat", end)
		}
		return f.say("%v, radius %s", end, nb(l.Surface.Radius(x).In(h.Style)))
	}
	wide := func(x unit.Length) string { return f.say("width %s", fine(l.WidthAt(x))) }
	low -= small * 2.2 // the words stand over their section
	section := func(name string, end unit.Text, x unit.Length, left float64) float64 {
		w := l.WidthAt(x).MM()
		deep := math.Max(thick, 3)
		const n = 48
		var face []drawing.Point
		for i := range n + 1 {
			u := (float64(i)/n - 0.5) * w
			z := l.Surface.Height(x, mm(u)).MM()
			if !unit.Finite(z) {
				return low - deep
			}
			face = append(face, pt(left+w/2+u, low+z))
		}
		f.polyline(drawing.LayerEdge, name+"-section-face", face...).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.3), Dash: solid}
		f.polyline(drawing.LayerEdge, name+"-section", face[n], pt(left+w, low-deep), pt(left, low-deep), face[0]).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.2), Dash: solid}
		f.line(drawing.LayerDatum, "", left+w/2, low+1.2, left+w/2, low-deep-1.2)
		f.add(drawing.Item{Layer: drawing.LayerDim, Name: name + "-width", Shape: dim(pt(left, low-deep), pt(left+w, low-deep), 0, pt(0, low-deep-4), drawing.Text{})})
		word(left, low+2, drawing.Start, named(end, x))
		word(left, low-deep-5.5-small*0.74, drawing.Start, wide(x))
		return low - deep - 6 - small*1.2
	}
	foot := section("nut", "nut end", 0, 0)
	// Beside each other where the words leave room, else one under the other.
	room := func(end unit.Text, x unit.Length) float64 {
		return math.Max(l.WidthAt(x).MM(), math.Max(width(named(end, x), small, false), width(wide(x), small, false)))
	}
	next := room("nut end", 0) + 14
	if next+room("board's end", l.Length) > l.Length.MM() {
		low, next = foot-small*2.2-3, 0
	}
	section("end", "board's end", l.Length, next)

	notes := []string{f.say("Mark every slot from the nut with one lay of the rule, or saw on the lines: lines are the slots' middles, edge to edge. %d frets.", len(slots)), f.say("Both ends of the board are drawn as cut square to the centreline.")}
	if turned {
		notes = append(notes, f.say("Slots lean: each edge has its own figures, and both are measured along the centreline from the datum."))
	}
	if off != "" {
		notes = append(notes, off)
	}
	if n := len(l.Strings); n > 1 {
		bass, treble := l.Strings[0].Scale, l.Strings[n-1].Scale
		if l.ScaleSpan > 0.5*unit.MM {
			notes = append(notes, f.say("Scale length %s on the bass string, %s on the treble.", nb(bass.In(h.Style)), nb(treble.In(h.Style))))
		}
	}
	if !l.Surface.Flat() && (l.Surface.Radius(0)-l.Surface.Radius(l.Length)).Abs() > 0.5*unit.MM {
		notes = append(notes, f.say("The radius grows evenly from the nut to the board's end."))
	}
	notes = append(notes, f.say("Fret saw: clamp the work, keep fingers off the line, and keep the dust out of your lungs."))
	f.sheet.Desc = f.say("A fretboard of %d frets from above, %s wide at the nut and %s at its end, %s long, with every slot measured from the nut.",
		len(l.Slots), fine(l.WidthAt(0)), fine(l.WidthAt(l.Length)), fine(l.Length))
	f.sheet.Table = slotTable(l, h.Style)
	var places []string
	for _, d := range dots {
		x := mm(midway(d.Fret, 0))
		what := f.say("dot before fret %d", d.Fret)
		if d.Count > 1 {
			what = f.say("%d dots before fret %d", d.Count, d.Fret)
		}
		row := []string{what, x.Exact(h.Style), l.WidthAt(x).Exact(h.Style), ""}
		if turned {
			row = []string{row[0], x.Exact(h.Style), mm((line(d.Fret-1).Bass.X + line(d.Fret).Bass.X).MM() / 2).Exact(h.Style), mm((line(d.Fret-1).Treble.X + line(d.Fret).Treble.X).MM() / 2).Exact(h.Style), "", ""}
		}
		f.sheet.Table = append(f.sheet.Table, row)
		places = append(places, nb(f.say("%d at %s", d.Fret, fine(x))))
	}
	if len(places) > 0 {
		notes = append(notes, f.say("Middle of each dot from the datum, on the centreline: %s.", strings.Join(places, ", ")))
	}
	return f.done("the nut's front edge, where it crosses the centreline", notes...)
}

// onBoard returns the slots as far as the board carries them, cut at its end, and says what is missing of them.
func onBoard(l fretting.Layout, s unit.Style) (slots []fretting.Slot, off string) {
	for _, k := range l.Slots {
		a, b := k.Line.Bass, k.Line.Treble
		if a.X >= l.Length && b.X >= l.Length {
			return slots, s.Say("The board ends before fret %d: it carries %d.", k.Fret, len(slots))
		}
		cut := func(p, q fretting.Point) fretting.Point {
			if p.X <= l.Length {
				return p
			}
			return fretting.Point{X: l.Length, Y: p.Y + (q.Y-p.Y)*((p.X-l.Length)/(p.X-q.X))}
		}
		k.Line = fretting.Line{Bass: cut(a, b), Treble: cut(b, a)}
		if k.Line.Bass != a || k.Line.Treble != b {
			off = s.Say("Slot %d runs off the board's end: make the board longer or leave that fret out.", k.Fret)
		}
		slots = append(slots, k)
	}
	return slots, off
}
