package sheet

import (
	"fmt"
	"math"

	"fairset/craft/fastening"
	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// BoltInput is what the bolt layout is drawn from.
type BoltInput struct {
	Heel       neckset.Heel
	TenonWidth unit.Length   // 0: no tenon, the bolts go into the heel's face
	Depths     []unit.Length // of the bolt centres, from the top edge, on both parts
	Pilot      unit.Length   // hole in the heel, diameter
	Clearance  unit.Length   // hole in the body, diameter
	// PilotName and ClearanceName are how the drills are marked ("9/32 in"), the same in every language; "" writes the diameter.
	PilotName, ClearanceName string
}

// With returns the input with the holes of a plan.
func (in BoltInput) With(p fastening.Plan) BoltInput {
	for _, h := range p.Holes {
		switch h.Key {
		case "body":
			in.Clearance, in.ClearanceName = h.Drill.Diameter, h.Drill.Said()
		case "heel":
			in.Pilot, in.PilotName = h.Drill.Diameter, h.Drill.Said()
		}
	}
	return in
}

// names are how the drills of heel and body are marked.
func (in BoltInput) names(s unit.Style) (pilot, clearance string) {
	pilot, clearance = in.PilotName, in.ClearanceName
	if pilot == "" {
		pilot = in.Pilot.In(s)
	}
	if clearance == "" {
		clearance = in.Clearance.In(s)
	}
	return pilot, clearance
}

// BoltOptions of a bolt layout.
type BoltOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// BoltLayout draws the heel's face and the body's end side by side, hung from the same datum (the top
// edge), with the holes to scale at the same depth on both. Depth dimension lines are named "bolt-1" and
// so on, holes "pilot" and "clearance", all to ScaleY.
func BoltLayout(in BoltInput, o BoltOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Bolt layout"))
	wt, wc, h := in.Heel.WidthTop.MM(), in.Heel.WidthCap.MM(), in.Heel.Height.MM()
	wide := math.Max(wt, wc)
	centre := 30.0 // room for the depths
	roomW, roomH := (w-2*margin-centre)/2-1, 70.0
	if !o.Narrow {
		roomH = 90
	}
	s := math.Min(roomW/wide, roomH/h)
	c.sheet.ScaleX, c.sheet.ScaleY = s, s
	hx, bx := w/2-centre/2-roomW/2, w/2+centre/2+roomW/2
	Y := func(z float64) float64 { return z * s }
	face := func(cx float64) []drawing.Point {
		return []drawing.Point{pt(cx-wt*s/2, 0), pt(cx+wt*s/2, 0), pt(cx+wc*s/2, Y(-h)), pt(cx-wc*s/2, Y(-h))}
	}
	t := math.Min(in.TenonWidth.MM()/2, math.Min(wt, wc)/2)
	c.polygon(drawing.LayerWood, "heel", drawing.Wood, face(hx)...)
	c.rect(drawing.LayerWood, "body-end", drawing.Spruce, bx-roomW/2, Y(-h)-4, bx+roomW/2, 0)
	ghost := c.polygon(drawing.LayerScore, "", "", face(bx)...)
	ghost.Pen = drawing.Pen{Dash: []unit.Length{mm(1.2), mm(0.8)}}
	if t > 0 {
		c.rect(drawing.LayerWood, "tenon", drawing.Wood, hx-t*s, Y(-h), hx+t*s, 0)
		c.rect(drawing.LayerWood, "mortise", drawing.Wood, bx-t*s, Y(-h), bx+t*s, 0)
	}
	c.line(drawing.LayerDatum, "centre", hx, 1.5, hx, Y(-h)-1.5)
	c.line(drawing.LayerDatum, "centre", bx, 1.5, bx, Y(-h)-5)
	left, right := hx-roomW/2, bx+roomW/2
	c.line(drawing.LayerDim, "datum", left, 0, right, 0).Pen.Weight = mm(0.5)

	for i, d := range in.Depths {
		y := Y(-d.MM())
		it := c.line(drawing.LayerDatum, "", hx, y, bx, y)
		it.Pen.Tone = drawing.Ink
		for _, hole := range []struct {
			name string
			x, r float64
		}{{"pilot", hx, in.Pilot.MM() / 2}, {"clearance", bx, in.Clearance.MM() / 2}} {
			r := hole.r * s
			c.circle(drawing.LayerDrill, hole.name, drawing.Paper, hole.x, y, r)
			c.line(drawing.LayerDrill, "", hole.x-r-1.2, y, hole.x+r+1.2, y).Pen.Weight = mm(0.2)
			c.line(drawing.LayerDrill, "", hole.x, y-r-1.2, hole.x, y+r+1.2).Pen.Weight = mm(0.2)
		}
		// Each depth has its own dimension line, the deeper the further out, so that none crosses a figure.
		n := float64(len(in.Depths))
		x := w/2 - centre/2 + 3 + (centre-6)*(float64(i)+0.5)/n
		dd := dim(pt(x, y), pt(x, 0), 90, pt(x, 0), drawing.Text{})
		dd.NoExtend = true
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: fmt.Sprintf("bolt-%d", i+1), Shape: dd})
	}
	// The figures stand under their lines.
	inside := box(w/2-centre/2, Y(-h)-24, w/2+centre/2, 0)
	for i, d := range in.Depths {
		y := Y(-d.MM())
		x := w / 2
		t := label(x, y-middle*0.34, middle, drawing.Middle, d.In(o.Style))
		t.Bold, t.Halo = true, drawing.Paper
		spots := []drawing.Text{t}
		for step := 1.0; step < 8; step++ {
			down := t
			down.At.Y -= mm(step * middle * 0.6)
			spots = append(spots, down)
		}
		c.place(fmt.Sprintf("bolt-%d-figure", i+1), inside, spots...)
	}
	bassWord, trebleWord := say("BASS"), say("TREBLE")
	more := math.Max(0, width(bassWord, small, false)+width(trebleWord, small, false)+2-roomW) // reaches in between the two views
	side := func(cx, treble float64) {
		bassX, trebleX := cx-treble*roomW/2, cx+treble*roomW/2
		if (treble > 0) == (cx < w/2) {
			trebleX += treble * more
		} else {
			bassX -= treble * more
		}
		bt, tt := label(bassX, Y(-h)-4-small*1.4, small, drawing.Start, bassWord), label(trebleX, Y(-h)-4-small*1.4, small, drawing.End, trebleWord)
		if treble < 0 {
			bt.Anchor, tt.Anchor = drawing.End, drawing.Start
		}
		c.text("", bt)
		c.text("", tt)
	}
	treble := 1.0
	if o.LeftHanded {
		treble = -1
	}
	side(hx, treble)
	side(bx, -treble)
	title := func(cx float64, a, b string) {
		t := label(cx, 2+small*1.35, middle, drawing.Middle, a)
		t.Bold = true
		c.text("", t)
		c.text("", label(cx, 2.2, small, drawing.Middle, b))
	}
	title(hx, say("HEEL"), say("from the body‖seen"))
	title(bx, say("BODY END"), say("from the neck‖seen"))
	y := Y(-h) - 4 - small*1.4 - 2
	pilot, clearance := in.names(o.Style)
	for _, r := range [][2]string{{say("pilot hole in the heel"), pilot}, {say("clearance hole in the body"), clearance}} {
		y -= small * 1.45
		c.text("", label(margin, y, small, drawing.Start, r[0]))
		f := label(w-margin, y, small, drawing.End, r[1])
		f.Bold = true
		c.text("", f)
	}
	words := []string{say("Mark both parts from the top edge (the thick line) with the same setting of the square; depths are to the hole's centre. Dashed on the body: where the heel sits.")}
	if t > 0 {
		words = append(words, say("Bass and treble change sides between the two views."))
	}
	bottom := c.caption(y-1, words...)
	c.sheet.Desc = say("Heel and body end with %d bolt holes at the same depth under the top edge: pilot %s in the heel, clearance %s in the body.", len(in.Depths), pilot, clearance)
	c.sheet.Table = [][]string{{say("Bolt"), say("Centre under the top edge, heel and body"), say("Hole in the heel"), say("Hole in the body")}}
	for i, d := range in.Depths {
		c.sheet.Table = append(c.sheet.Table, []string{fmt.Sprint(i + 1), d.Exact(o.Style), pilot, clearance})
	}
	return c.done(bottom-1, 2+small*1.35+middle+1)
}

// DotOptions of a side dot strip.
type DotOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// SideDots draws the bass edge of the board along its whole length, with frets and side dots to
// ScaleX. A narrow sheet cuts it at the twelfth fret into two strips. Dots are named "dot", frets "fret".
// Frets the scale length cannot carry (0 or fewer) give an empty strip.
func SideDots(scale unit.Length, frets int, dots []fretting.Dot, o DotOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Side dots"))
	frets = min(max(frets, 0), fretting.MostFrets)
	at := func(n int) float64 { return fretting.Distance(scale, n).MM() }
	type strip struct{ from, to int }
	strips := []strip{{0, frets}}
	if o.Narrow && frets > 12 {
		strips = []strip{{0, 12}, {12, frets}}
	}
	// Both strips to one scale: the longer one fills the page.
	s := math.Inf(1)
	for _, k := range strips {
		if run := at(k.to) - at(k.from); run > 0 {
			s = math.Min(s, (w-2*margin-8)/run)
		}
	}
	if math.IsInf(s, 1) {
		s = 1
	}
	c.sheet.ScaleX = s
	const tall = 9.0
	y := 0.0
	for _, k := range strips {
		// A left-handed guitar shows its bass edge with the nut on the right.
		dir, from := 1.0, margin+4
		if o.LeftHanded {
			dir, from = -1, w-margin-4
		}
		X := func(d float64) float64 { return from + dir*(d-at(k.from))*s }
		x1, x2 := from-dir*4, X(at(k.to))+dir*2.5
		c.rect(drawing.LayerWood, "fretboard", drawing.Dark, x1, y-tall, x2, y)
		if k.from == 0 {
			c.rect(drawing.LayerWood, "nut", drawing.Bone, X(0)-dir*2.5, y-tall, X(0), y+1)
		}
		for n := max(k.from, 1); n <= k.to; n++ {
			x := X(at(n))
			it := c.line(drawing.LayerMark, "fret", x, y-tall*0.45, x, y+0.8)
			it.Pen = drawing.Pen{Tone: drawing.Steel, Weight: mm(0.6)}
		}
		row := [2]float64{math.Inf(-1), math.Inf(-1)}
		lowest := y - tall - small*1.35
		for _, d := range dots {
			if d.Fret <= k.from || d.Fret > k.to {
				continue
			}
			x := X(d.Position.MM())
			space := (at(d.Fret) - at(d.Fret-1)) * s
			r := clamp(space*0.16, 0.5, 1)
			for i := 0; i < d.Count; i++ {
				dx := (float64(i) - float64(d.Count-1)/2) * math.Min(3.2, space*0.5)
				c.circle(drawing.LayerMark, "dot", drawing.Bone, x+dx, y-tall*0.62, r).Pen.Weight = mm(0.2)
			}
			word := fmt.Sprint(d.Fret)
			fw := width(word, small, false)
			along := dir * (x - from) // words grow away from the nut
			level := 0
			if along-fw/2 < row[0]+0.8 {
				level = 1
			}
			if along-fw/2 < row[level]+0.8 {
				continue // no room at all: the table has it
			}
			base := y - tall - small*1.2 - float64(level)*small*1.25
			c.text("", label(x, base, small, drawing.Middle, word))
			row[level] = along + fw/2
			lowest = math.Min(lowest, base)
		}
		head := label(from-dir*4, y+2, small, drawing.Start, say("nut"))
		if k.from > 0 {
			head.String = say("from fret %d on", k.from)
		}
		if o.LeftHanded {
			head.Anchor = drawing.End
		}
		c.text("", head)
		y = lowest - small*2.4
	}
	bottom := c.caption(y+small*2, say("The bass edge of the board. Each dot stands in the middle between its fret and the one before; mark all from the nut."))
	c.sheet.Desc = say("Side dots on a board of %d frets, scale length %v.", frets, scale)
	c.sheet.Table = [][]string{{say("Fret"), say("Dots"), say("From the nut")}}
	for _, d := range dots {
		c.sheet.Table = append(c.sheet.Table, []string{fmt.Sprint(d.Fret), fmt.Sprint(d.Count), d.Position.Exact(o.Style)})
	}
	return c.done(bottom-1, 2+small*1.2)
}
