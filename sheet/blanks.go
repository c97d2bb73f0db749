package sheet

import (
	"fmt"
	"math"

	"fairset/craft/fretting"
	"fairset/drawing"
	"fairset/unit"
)

// BlankInput is what nut and saddle are shaped to. Every list is bass first.
type BlankInput struct {
	Names  []string
	Layout fretting.Layout
	Slots  []fretting.NutSlot
	Moves  []unit.Length // of each string's edge past the nut's line, toward fret 1; nil or all 0 for a plain nut

	Saddle []SaddleTopPlace
	Radius unit.Length // of the saddle's top; 0 for straight
	Blank  unit.Length // width a compensated saddle needs, square across it; 0 for a straight one

	Caution string // in the reader's language
}

// SaddleTopPlace is one string's place on top of the saddle.
type SaddleTopPlace struct {
	Along  unit.Length // along the saddle, from where its middle crosses the centreline, + treble
	Over   unit.Length // underside of the string over the bridge's top
	Behind unit.Length // where it breaks, from the saddle's middle, square across it, + away from the nut
	Wanted unit.Length // where it would like to, the same way; on a compensated saddle the same place
}

// Sizes of the nut and saddle sheet in mm.
const (
	blankStub  = 4.0   // drawn below the board's face and the bridge's top, where the blank goes on
	blankEnds  = 6.0   // of the saddle drawn past the outer strings
	panelWidth = 190.0 // an enlarged panel is about as wide at most
	planTall   = 26.0  // as far as the saddle's places are spread in their panel
)

// Blanks draws nut and saddle at full size, seen from the body looking toward the head, treble on the right of a
// right-handed guitar: the nut with its slots over the board's face, the saddle's top over the bridge. Below, in a frame
// that says how many times as large, the same again with figures, and the saddle from above with the place where each string
// breaks.
//
// The zero is the edge of the board's face at the nut, on the bass side. At full size: "face" is the board's face under the nut, "slot-1" and
// so on are the slots (string 1 is the bass: left edge, floor, right edge), "nut-top" the top between them, "bridge-top",
// "saddle-top", and Circles "crown-1" the tops under the strings. The enlarged ones have "big-" before their names, and the circles
// "big-place-1" are where each string breaks from above. Panels are named "panel". All that is enlarged lies on the layer "enlarged",
// all else at full size.
func Blanks(h Head, in BlankInput) *drawing.Sheet {
	f := newFull(h, "Nut and saddle")
	f.sheet.LayerNames = map[drawing.Layer]string{drawing.LayerGap: "enlarged"}
	b := blanks{full: f, in: in, treble: 1}
	if h.Left {
		b.treble = -1
	}
	nut := fretting.Line{Bass: in.Layout.Nut.Bass, Treble: in.Layout.Nut.Treble}
	b.nut, b.long = nut, nut.Length().MM()
	b.mid = b.long / 2
	if run := (nut.Treble.Y - nut.Bass.Y).MM(); run > 0 {
		b.mid = -nut.Bass.Y.MM() / run * b.long
	}
	b.x = b.treble * b.mid
	n := len(in.Slots)
	names := make([]string, n)
	for i := range n {
		names[i] = fmt.Sprint(i + 1)
		if i < len(in.Names) && in.Names[i] != "" {
			names[i] = in.Names[i]
		}
	}

	// Full size.
	most := 0.0
	for i := range n {
		most = math.Max(most, b.overFace(i))
	}
	f.heading(b.x-b.long/2, most-b.face(0)+4, f.say("NUT, full size"))
	b.drawNut("", -b.face(0), 1)
	y := b.words(-b.face(0)-b.faceDrop()-blankStub-2, 1, b.nutPlaces(), names)
	reach := b.reach()
	tall := 0.0
	for i := range saddleParts + 1 { // between two strings a round saddle stands higher than at either
		tall = math.Max(tall, b.crest(reach*(2*float64(i)/saddleParts-1)))
	}
	y -= 6
	f.heading(b.x-reach, y-middle, f.say("SADDLE, full size"))
	y -= middle + 5 + tall
	b.drawSaddle("", y, 1)
	y = b.words(y-blankStub-2, 1, b.saddlePlaces(), names)

	// Enlarged.
	k := clamp(math.Floor(panelWidth/math.Max(b.long, 1)), 2, 5)
	y = b.panel(y-8, b.long*k/2+12, f.say("NUT"), f.say("Not full size: %s times as large.", h.Style.Short(k, 2)), func(y float64) float64 {
		y -= (most + 1) * k
		b.drawNut("big-", y, k)
		y = b.words(y-(b.faceDrop()+blankStub)*k-2, k, b.nutPlaces(), names)
		return b.figures(y, k, f.say("Middle of each slot from the board's bass edge, along the nut"), b.nutPlaces(), func(i int) unit.Length { return in.Slots[i].FromBass })
	})
	ks := clamp(math.Floor(panelWidth/math.Max(2*reach, 1)), 2, 4)
	y = b.panel(y-5, reach*ks+6, f.say("SADDLE"), f.say("Not full size: %s times as large.", h.Style.Short(ks, 2)), func(y float64) float64 {
		y -= (tall + 1) * ks
		b.drawSaddle("big-", y, ks)
		y = b.words(y-blankStub*ks-2, ks, b.saddlePlaces(), names)
		return b.figures(y, ks, f.say("Underside of each string over the bridge's top"), b.saddlePlaces(), func(i int) unit.Length { return in.Saddle[i].Over })
	})
	y = b.drawPlan(y-5, ks, reach, names)

	// In figures.
	moved := false
	for i := range min(n, len(in.Moves)) {
		moved = moved || in.Moves[i] != 0
	}
	s := h.Style
	head := unit.Texts{"String", "From bass edge", "Slot wide", "Floor over board", "Slot deep"}.In(s)
	if moved {
		head = append(head, f.say("Toward fret 1"))
	}
	breaks := f.say("Would like to break, behind middle")
	if in.Blank > 0 {
		breaks = f.say("Breaks behind middle")
	}
	nutRows, saddleRows := [][]string{head}, [][]string{append(unit.Texts{"String", "Along saddle, + treble", "Over the bridge"}.In(s), breaks)}
	for i, sl := range in.Slots {
		row := []string{names[i], sl.FromBass.Fine(s), sl.Width.Fine(s), sl.Floor.Fine(s), sl.Depth.Fine(s)}
		if moved {
			row = append(row, in.Moves[i].Fine(s))
		}
		nutRows = append(nutRows, row)
	}
	for i, p := range in.Saddle {
		saddleRows = append(saddleRows, []string{names[i], p.Along.Fine(s), p.Over.Fine(s), p.Wanted.Fine(s)})
	}
	left := b.x - math.Max(b.long*k/2+12, reach*ks+6)
	y = f.columns(left, y-3, nutRows)
	f.columns(left, y-3, saddleRows)
	f.sheet.Table = [][]string{append(unit.Texts{"String", "Nut: from bass edge", "Slot wide", "Floor over board", "Slot deep", "Saddle: along, + treble", "Over the bridge"}.In(s), breaks)}
	for i := range min(n, len(in.Saddle)) {
		f.sheet.Table = append(f.sheet.Table, append(append([]string{}, nutRows[i+1][:5]...), saddleRows[i+1][1:]...))
	}

	face := f.say("Nut: the board's face under it is flat.")
	if r := in.Layout.Surface.Radius(0); r > 0 {
		face = f.say("Nut: the board's face under it is of %s radius.", nb(r.In(s)))
	}
	top := f.say("Saddle: its top is straight from string to string.")
	if in.Radius > 0 {
		top = f.say("Saddle: its top is curved to %s radius, the board's own carried on to it and cut at the saddle's slant.", nb(in.Radius.In(s)))
	}
	notes := []string{
		f.say("Seen from the body, looking toward the head."),
		face + " " + f.say("Leave the ends to the board's edges, and the foot long until it sits. Round each slot's floor to its string, falling away toward the head."),
		f.say("File slots with the strings slack and stop short: check the height over fret 1 before the last strokes."),
		top + " " + f.say("Its foot and ends follow the slot in the bridge. Take height off the foot, not the top."),
	}
	if in.Blank > 0 {
		notes = append(notes, f.say("The saddle must be %s wide to hold every string's place.", nb(in.Blank.Fine(s))))
	} else {
		notes = append(notes, f.say("A straight saddle: strings break along its middle. Rings in the lowest frame show where each would like to; file the top toward them as far as the saddle is wide."))
	}
	if moved {
		notes = append(notes, f.say("A compensated nut: move each string's edge toward fret 1 by the figure in the table."))
	}
	if in.Caution != "" {
		notes = append(notes, in.Caution)
	}
	f.sheet.Desc = f.say("Nut and saddle.") + " " + plain(notes[:4])
	for i := range min(n, len(in.Saddle)) {
		f.sheet.Desc += " " + f.say("%s: slot %s from the bass edge, %s wide; saddle %s over the bridge.", names[i], in.Slots[i].FromBass.Fine(s), in.Slots[i].Width.Fine(s), in.Saddle[i].Over.Fine(s))
	}
	return f.done("the board's bass edge at the nut", notes...)
}

// blanks is the sheet being drawn.
type blanks struct {
	*full
	in        BlankInput
	treble    float64       // side of the page treble is on
	nut       fretting.Line // edge to edge
	long, mid float64       // along the nut, mm: its length, and where it crosses the centreline
	x         float64       // where the centreline stands on the page
}

// face is the height of the board's face under the nut, s mm along it from the bass edge.
func (b *blanks) face(s float64) float64 {
	k := unit.Length(s / b.long)
	p := fretting.Point{X: b.nut.Bass.X + k*(b.nut.Treble.X-b.nut.Bass.X), Y: b.nut.Bass.Y + k*(b.nut.Treble.Y-b.nut.Bass.Y)}
	return b.in.Layout.Surface.Height(p.X, p.Y).MM()
}

// faceDrop is how far the board's edges lie below its centreline at the nut.
func (b *blanks) faceDrop() float64 { return -math.Min(b.face(0), b.face(b.long)) }

// overFace is the nut's top over the face at a string.
func (b *blanks) overFace(i int) float64 { return (b.in.Slots[i].Floor + b.in.Slots[i].Depth).MM() }

func (b *blanks) nutPlaces() []float64 {
	out := make([]float64, len(b.in.Slots))
	for i, s := range b.in.Slots {
		out[i] = s.FromBass.MM() - b.mid
	}
	return out
}

func (b *blanks) saddlePlaces() []float64 {
	out := make([]float64, len(b.in.Saddle))
	for i, s := range b.in.Saddle {
		out[i] = s.Along.MM()
	}
	return out
}

// figures writes what they are and then a figure under each place, and returns the y under them.
func (b *blanks) figures(y, k float64, what string, places []float64, of func(i int) unit.Length) float64 {
	_, symbol := fineNumber(0, b.head.Style)
	b.text("", label(b.x, y-small, small, drawing.Middle, what+" ("+symbol+")"))
	out := make([]string, len(places))
	for i := range out {
		out[i], _ = fineNumber(of(i), b.head.Style)
	}
	return b.words(y-small*1.3, k, places, out)
}

// reach is half the length of saddle drawn.
func (b *blanks) reach() float64 {
	r := 10.0
	for _, s := range b.in.Saddle {
		r = math.Max(r, math.Abs(s.Along.MM())+blankEnds)
	}
	return r
}

// words writes a word under each place, k times as large, and returns the y under them.
func (b *blanks) words(y, k float64, places []float64, words []string) float64 {
	xs := make([]float64, len(words))
	lo, hi := b.x, b.x
	for i := range words {
		xs[i] = b.x + b.treble*places[i]*k
		lo, hi = math.Min(lo, xs[i]-12), math.Max(hi, xs[i]+12)
	}
	return b.spreadWithin(lo, hi, y, xs, words, false)
}

// sides names bass and treble reach to either side of x, treble on the right where treble is 1, outside of there or inside.
func (f *full) sides(x, y, reach, treble, size float64, outside bool) {
	for i, name := range []string{"BASS", "TREBLE"} {
		word := f.say("BASS")
		if i > 0 {
			word = f.say("TREBLE")
		}
		side := treble * float64(2*i-1)
		t := label(x+side*reach, y, size, drawing.Start, word)
		if (side < 0) == outside {
			t.Anchor = drawing.End
		}
		t.Bold = true
		f.text("side-"+name, t)
	}
}

func (f *full) heading(x, y float64, s string) {
	t := label(x, y, middle, drawing.Start, s)
	t.Bold = true
	f.text("heading", t)
}

// panel frames what draw draws below y, reach to either side, and returns the y under the frame.
func (b *blanks) panel(y, reach float64, title, scale string, draw func(y float64) float64) float64 {
	at, top := len(b.sheet.Items), y
	b.heading(b.x-reach+3, y-middle-1.5, title)
	for _, l := range drawing.Wrap(scale, mm(small), true, mm(2*reach-6)) {
		t := label(b.x-reach+3, y-middle-1.5-small*1.5, small, drawing.Start, l)
		t.Bold = true
		b.text("panel-scale", t)
		y -= small * 1.4
	}
	low := draw(y-middle-4) - 1.5
	// What is not full size must never be cut out by a machine: it goes on a layer of its own, looking as it did.
	for i := at; i < len(b.sheet.Items); i++ {
		if it := &b.sheet.Items[i]; it.Layer != drawing.LayerNote {
			it.Pen, it.Layer = it.Pen.Over(it.Layer.Pen()), drawing.LayerGap
		}
	}
	frame := b.rect(drawing.LayerPaper, "panel", "", b.x-reach, low, b.x+reach, top)
	frame.Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.25)}
	// The frame is the ground: it goes first.
	it := b.sheet.Items[len(b.sheet.Items)-1]
	copy(b.sheet.Items[at+1:], b.sheet.Items[at:len(b.sheet.Items)-1])
	b.sheet.Items[at] = it
	return low
}

// drawNut draws the nut k times as large, its face on the centreline at y.
func (b *blanks) drawNut(prefix string, y, k float64) {
	x := b.x
	P := func(s, z float64) drawing.Point { return pt(x+b.treble*(s-b.mid)*k, y+z*k) }
	const parts = 48
	face := make([]drawing.Point, parts+1)
	for i := range face {
		s := b.long * float64(i) / parts
		face[i] = P(s, b.face(s))
	}
	b.polyline(drawing.LayerWood, prefix+"face", face...)
	// The top between the slots keeps its height over the face evenly from string to string.
	top := func(s float64) float64 {
		n := len(b.in.Slots)
		at := func(i int) float64 { return b.in.Slots[i].FromBass.MM() }
		over := b.overFace(0)
		switch {
		case s >= at(n-1):
			over = b.overFace(n - 1)
		case s > at(0):
			for i := range n - 1 {
				if s <= at(i+1) {
					share := (s - at(i)) / (at(i+1) - at(i))
					over = b.overFace(i) + share*(b.overFace(i+1)-b.overFace(i))
					break
				}
			}
		}
		return b.face(s) + over
	}
	run := func(from, to float64) {
		ps := []drawing.Point{}
		for i := range 9 {
			s := from + (to-from)*float64(i)/8
			ps = append(ps, P(s, top(s)))
		}
		b.polyline(drawing.LayerCut, prefix+"nut-top", ps...)
	}
	from := 0.0
	for i, sl := range b.in.Slots {
		s, w := sl.FromBass.MM(), sl.Width.MM()/2
		floor := b.face(s) + sl.Floor.MM()
		run(from, s-w)
		b.polyline(drawing.LayerCut, fmt.Sprintf("%sslot-%d", prefix, i+1), P(s-w, top(s-w)), P(s-w, floor), P(s+w, floor), P(s+w, top(s+w)))
		from = s + w
	}
	run(from, b.long)
	low := -b.faceDrop() - blankStub
	for _, s := range []float64{0, b.long} {
		p, q := P(s, top(s)), P(s, low)
		b.line(drawing.LayerCut, prefix+"nut-end", p.X.MM(), p.Y.MM(), q.X.MM(), q.Y.MM())
	}
	p, q := P(0, low), P(b.long, low)
	b.breakLine(math.Min(p.X.MM(), q.X.MM()), p.Y.MM(), math.Max(p.X.MM(), q.X.MM()), q.Y.MM())
	if k == 1 {
		b.sides(x, y-2, b.long/2+6, b.treble, small, true)
	}
}

// crest is the height of the saddle's top over the bridge, a mm along it: through every string's place, curved between
// them by its radius.
func (b *blanks) crest(a float64) float64 {
	p := b.in.Saddle
	if len(p) == 1 {
		return p[0].Over.MM()
	}
	i := 0
	for i < len(p)-2 && a > p[i+1].Along.MM() {
		i++
	}
	a0, a1 := p[i].Along.MM(), p[i+1].Along.MM()
	z := p[i].Over.MM()
	if a1 > a0 {
		z += (a - a0) / (a1 - a0) * (p[i+1].Over - p[i].Over).MM()
	}
	if r := b.in.Radius.MM(); r > 0 {
		z += (a - a0) * (a1 - a) / (2 * r)
	}
	return z
}

// saddleParts is how many chords the saddle's top is drawn with.
const saddleParts = 96

// drawSaddle draws the saddle k times as large, the bridge's top at y.
func (b *blanks) drawSaddle(prefix string, y, k float64) {
	x := b.x
	reach := b.reach()
	P := func(a, z float64) drawing.Point { return pt(x+b.treble*a*k, y+z*k) }
	top := make([]drawing.Point, saddleParts+1)
	for i := range top {
		a := reach * (2*float64(i)/saddleParts - 1)
		top[i] = P(a, b.crest(a))
	}
	b.polyline(drawing.LayerCut, prefix+"saddle-top", top...)
	b.line(drawing.LayerWood, prefix+"bridge-top", x-reach*k, y, x+reach*k, y)
	for i, s := range b.in.Saddle {
		p := P(s.Along.MM(), s.Over.MM())
		b.circle(drawing.LayerMark, fmt.Sprintf("%scrown-%d", prefix, i+1), drawing.Paper, p.X.MM(), p.Y.MM(), 0.7)
	}
	for _, side := range []float64{-1, 1} {
		b.breakLine(x+side*reach*k, y-blankStub*k, x+side*reach*k, y+b.crest(side*b.treble*reach)*k)
	}
	b.breakLine(x-reach*k, y-blankStub*k, x+reach*k, y-blankStub*k)
	if k == 1 {
		b.sides(x, y, reach+3, b.treble, small, true)
	}
}

// drawPlan draws the saddle from above in a panel, lengths larger than widths, and returns the y under it.
func (b *blanks) drawPlan(y, k, reach float64, names []string) float64 {
	lo, hi := -b.in.Blank.MM()/2, b.in.Blank.MM()/2
	for _, s := range b.in.Saddle {
		lo, hi = math.Min(lo, math.Min(s.Behind.MM(), s.Wanted.MM())), math.Max(hi, math.Max(s.Behind.MM(), s.Wanted.MM()))
	}
	kl := k
	for _, try := range []float64{2, 3, 4, 5, 8, 10} {
		if try >= k && (hi-lo)*try <= planTall {
			kl = try
		}
	}
	scale := b.say("Not full size: %s times as wide, %s times as long.", b.head.Style.Short(k, 2), b.head.Style.Short(kl, 2))
	return b.panel(y, reach*k+6, b.say("SADDLE FROM ABOVE"), scale, func(y float64) float64 {
		b.text("", label(b.x, y-small, small, drawing.Middle, b.say("toward the nut")))
		zero := y - small - 4 + lo*kl
		if w := b.in.Blank.MM() / 2; w > 0 {
			b.rect(drawing.LayerWood, "big-blank", drawing.Bone, b.x-reach*k, zero-w*kl, b.x+reach*k, zero+w*kl)
		}
		b.line(drawing.LayerEdge, "big-middle", b.x-reach*k, zero, b.x+reach*k, zero)
		for i, s := range b.in.Saddle {
			x := b.x + b.treble*s.Along.MM()*k
			b.line(drawing.LayerString, "", x, y-small-2.5, x, zero-s.Behind.MM()*kl).Pen.Weight = mm(0.25)
			b.circle(drawing.LayerMark, fmt.Sprintf("big-place-%d", i+1), drawing.Accent, x, zero-s.Behind.MM()*kl, 0.9)
			if b.in.Blank <= 0 {
				b.circle(drawing.LayerMark, fmt.Sprintf("big-wanted-%d", i+1), drawing.Paper, x, zero-s.Wanted.MM()*kl, 0.9)
			}
		}
		y = b.words(zero-hi*kl-3, k, b.saddlePlaces(), names)
		what := b.say("Would like to break behind the middle, − in front")
		if b.in.Blank > 0 {
			what = b.say("Breaks behind the saddle's middle, − in front of it")
		}
		return b.figures(y, k, what, b.saddlePlaces(), func(i int) unit.Length { return b.in.Saddle[i].Wanted })
	})
}
