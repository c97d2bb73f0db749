package sheet

import (
	"fmt"
	"math"
	"sort"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// JointInput is a neck joint to draw from its side at full size.
type JointInput struct {
	Build       neckset.Build
	Target      neckset.Target // the Build's own
	Heel        neckset.Heel
	TenonLength unit.Length // 0: no tenon
	Frets       int
}

// height is a height of the profile at x = from, to be dimensioned beside it.
type height struct {
	layer        drawing.Layer
	name, words  string
	from, lo, hi float64
}

// mostSide is how long a side view may get before it is cut short of the bridge, in millimetres.
const mostSide = 450.0

// leastCrossing is how far in millimetres a board may lie inside the top before it is said: less is within what sanding
// takes. source: common practice, no source.
const leastCrossing = 0.05

// boardInTop is how far the board's underside lies inside the top at most, between the joint and the board's end, and
// where; 0 when it clears it. Lengths in millimetres of the profile.
func boardInTop(p profile, end float64) (deep, at float64) {
	const n = 400
	for i := range n + 1 {
		x := end * float64(i) / n
		if d := p.top(x) - (p.fret(x) - p.crown - p.board); d > deep {
			deep, at = d, x
		}
	}
	return deep, at
}

// JointSide draws the neck joint from its side at full size before stringing, from a little behind the heel to behind
// the bridge, or cut short where the bridge lies too far: neck and board at their angle, the straight edge on the frets,
// the gap under it at the saddle, bridge, saddle and the line the string will take.
//
// The dimension lines are "gap", "bridge-thickness", "saddle-projection", "top-at-saddle",
// "saddle-distance", "heel-height" and "frets-at-joint"; of a view cut short "line-over-top" is the straight edge
// over the top near the cut. The straight edge is "straight-edge", the string "string", the top "top".
func JointSide(in JointInput, h Head) *drawing.Sheet {
	say := h.Style.Say
	f := newFull(h, "Neck joint from the side")
	b, t := in.Build, in.Target
	p := profileOf(b, t, false)
	k, D := p.k, p.D
	heel := in.Heel.Height.MM()

	behind := p.bridgeBack() + 8*k
	whole := behind+60*k <= mostSide
	x0, x1 := -math.Min(110*k, mostSide-behind), behind
	if !whole {
		x0, x1 = -110*k, math.Min(mostSide-110*k, p.bridgeFront()-12*k)
	}
	x0 = math.Max(x0, -p.l)
	floor := -heel - 8
	under := func(x float64) float64 { return p.fret(x) - p.crown - p.board }
	chord, top := p.chord, p.top

	// Body.
	const n = 48
	var surface []drawing.Point
	for i := range n + 1 {
		x := x1 * float64(i) / n
		surface = append(surface, pt(x, top(x)))
	}
	f.polyline(drawing.LayerWood, "top", surface...)
	f.line(drawing.LayerWood, "body-end", 0, floor, 0, 0)
	f.breakLine(0, floor, x1, floor)
	f.breakLine(x1, floor, x1, top(x1))

	// Neck, heel and the tenon behind the body's end.
	shaft := 14 * k
	capX, flareX := -26*k, math.Max(-66*k, x0*0.7)
	neck := []drawing.Step{{Verb: drawing.MoveTo, To: pt(0, under(0))}}
	for i := 1; i <= 16; i++ {
		x := x0 * float64(i) / 16
		neck = append(neck, drawing.Step{Verb: drawing.LineTo, To: pt(x, under(x))})
	}
	neck = append(neck,
		drawing.Step{Verb: drawing.LineTo, To: pt(x0, under(x0)-shaft*0.9)},
		drawing.Step{Verb: drawing.LineTo, To: pt(flareX, under(flareX)-shaft)},
		drawing.Step{Verb: drawing.CurveTo, A: pt(flareX*0.62, under(flareX)-shaft), B: pt(capX*1.15, 0.5*(under(flareX)-shaft-heel)), To: pt(capX, -heel)},
		drawing.Step{Verb: drawing.LineTo, To: pt(0, -heel)},
		drawing.Step{Verb: drawing.Close})
	f.add(drawing.Item{Layer: drawing.LayerWood, Name: "neck", Shape: drawing.Path{Steps: neck}})
	tenon := in.TenonLength.MM()
	if tenon > 0 {
		it := f.polyline(drawing.LayerScore, "tenon", pt(0, 0), pt(tenon, 0), pt(tenon, -heel), pt(0, -heel))
		it.Pen.Dash = []unit.Length{mm(1.6), mm(1)}
	}

	// Board, and frets on it.
	end := math.Min(fretting.Distance(b.ScaleLength, in.Frets).MM()-p.l+6*k, p.bridgeFront()-10*k)
	end = math.Min(math.Max(end, math.Min(4*k, p.bridgeFront()/2)), x1)
	var upper, lower []drawing.Point
	for i := range n + 1 {
		x := x0 + (end-x0)*float64(i)/n
		upper = append(upper, pt(x, p.fret(x)-p.crown))
		lower = append(lower, pt(x, under(x)))
	}
	for i := len(lower) - 1; i >= 0; i-- {
		upper = append(upper, lower[i])
	}
	f.polygon(drawing.LayerWood, "fretboard", "", upper...)
	for i := 1; i <= in.Frets; i++ {
		x := fretting.Distance(b.ScaleLength, i).MM() - p.l
		if x > x0+1 && x < end {
			f.line(drawing.LayerMark, fmt.Sprintf("fret-%d", i), x, p.fret(x)-p.crown, x, p.fret(x)).Pen = drawing.Pen{Weight: mm(0.8)}
		}
	}
	f.breakLine(x0, under(x0)-shaft*0.9, x0, p.fret(x0)-p.crown)

	// What is read.
	reach := D
	if !whole {
		reach = x1
	}
	f.line(drawing.LayerDatum, "level", 0, p.F0, reach, p.F0)
	f.line(drawing.LayerDatum, "top-edge-level", 0, 0, reach, 0)
	f.line(drawing.LayerEdge, "straight-edge", x0, chord(x0), reach, chord(reach))
	dashes := []unit.Length{mm(0.9), mm(0.7)}
	high := math.Max(chord(x0), math.Max(chord(reach), p.stringAt(x0)))
	heights := func(col float64, list ...height) {
		// Words stand in a column beyond the last line, in the order of what they are about.
		sort.SliceStable(list, func(i, j int) bool { return list[i].lo+list[i].hi > list[j].lo+list[j].hi })
		want := make([]float64, len(list))
		for i, d := range list {
			want[i] = -(d.lo + d.hi) / 2
		}
		words := col + 6*float64(len(list)-1) + 7
		for i, y := range apart(want, small*1.3) {
			d := list[i]
			f.add(drawing.Item{Layer: d.layer, Name: d.name, Shape: dim(pt(d.from, d.lo), pt(d.from, d.hi), 90, pt(col, d.lo), drawing.Text{})})
			thin(f.line(drawing.LayerDim, "", col+0.6, -want[i], words-0.8, -y))
			f.text(d.name+"-figure", label(words, -y-small*0.34, small, drawing.Start, d.words))
			col += 6
		}
	}
	var list []callout
	if whole {
		f.bridge(p, drawing.Paper, func(x, z float64) drawing.Point { return pt(x, z) })
		f.polyline(drawing.LayerString, "string", pt(x0, p.stringAt(x0)), pt(D, p.saddleTop), p.tie(func(x, z float64) drawing.Point { return pt(x, z) })).Pen.Dash = dashes
		high = math.Max(high, p.saddleTop)
		tall := []height{
			{drawing.LayerGap, "gap", say("gap on the frets %s", f.fine(t.GapOnFrets)), D, p.topD, chord(D)},
			{drawing.LayerDim, "bridge-thickness", say("bridge %s", f.fine(b.BridgeThickness)), D, p.topD, p.topD + p.bridgeThick},
			{drawing.LayerDim, "saddle-projection", say("saddle over the bridge %s", f.fine(b.SaddleProjection)), D, p.topD + p.bridgeThick, p.saddleTop},
		}
		if math.Abs(p.topD) > 0.005 {
			tall = append(tall, height{drawing.LayerDim, "top-at-saddle", say("top over its edge at the joint %s", f.fine(t.TopHeightAtSaddle)), D, 0, p.topD})
		}
		heights(p.bridgeBack()+9, tall...)
		list = append(list, callout{x: D, y: p.saddleTop, text: say("saddle")}, callout{x: D * 0.72, y: p.stringAt(D * 0.72), text: say("string, when strung")})
	} else {
		f.line(drawing.LayerString, "string", x0, p.stringAt(x0), x1, p.stringAt(x1)).Pen.Dash = dashes
		high = math.Max(high, p.stringAt(x1))
		over := b.FretLine(mm(x1), t) - b.Top.Height(mm(x1))
		heights(x1+9, height{drawing.LayerGap, "line-over-top", say("straight edge over the top here %s", f.fine(over)), x1, top(x1), chord(x1)})
		list = append(list, callout{x: x1 * 0.72, y: p.stringAt(x1 * 0.72), text: say("string, when strung")})
	}

	// Words above the parts.
	x12 := p.L/2 - p.l
	list = append(list,
		callout{x: reach * 0.5, y: chord(reach * 0.5), text: say("straight edge on the frets")},
		callout{x: reach * 0.3, y: (chord(reach*0.3) + p.F0) / 2, text: say("leans %v", leanWords(t.NeckAngle))},
		callout{x: 7, y: p.F0, text: say("frets over the top's edge %s", f.fine(b.FretLine(0, t)))})
	if x12 > x0+2 {
		list = append(list, callout{x: x12, y: p.stringAt(x12), text: say("action wanted at fret 12: %v", b.Action12)})
	}
	f.add(drawing.Item{Layer: drawing.LayerDim, Name: "frets-at-joint", Shape: noExtend(dim(pt(0, 0), pt(0, p.F0), 90, pt(7, 0), drawing.Text{}))})
	f.calloutsIn(high+5, x0, math.Min(reach, x1)+2, 5, list...)

	// Words in and below them.
	hx := math.Max(tenon, 8) + 12
	it := dim(pt(0, 0), pt(0, -heel), 90, pt(hx, 0), drawing.Text{})
	f.add(drawing.Item{Layer: drawing.LayerDim, Name: "heel-height", Shape: it})
	w := label(hx+small+0.6, -heel/2, small, drawing.Middle, say("heel %s", f.fine(in.Heel.Height)))
	w.Turn, w.Halo = 90*unit.Degree, drawing.Paper // a low heel is shorter than the words
	f.text("", w)
	w = label(math.Max(x1*0.6, hx+small+9), -heel/2, small, drawing.Middle, say("body"))
	w.Halo = drawing.Paper
	f.text("", w)
	w = label(capX/2+small*0.34, -heel/2, small, drawing.Middle, say("heel"))
	w.Turn, w.Halo = 90*unit.Degree, drawing.Paper
	f.text("", w)
	y := floor - 9
	if whole {
		f.add(drawing.Item{Layer: drawing.LayerDim, Name: "saddle-distance", Shape: dim(pt(0, floor), pt(D, p.topD), 0, pt(0, y), drawing.Text{})})
		f.text("", label(D/2, y+1.2, small, drawing.Middle, say("joint to saddle %v", f.fine(t.SaddleDistance))))
	}

	notes := []string{
		say("Seen from the %v, before stringing. Heights and lengths are both full size.", seenSide(h.Left)),
		say("Nut to joint %s, not drawn whole.", nb(f.fine(t.NutToJoint))),
		say("Heel and neck are drawn in usual proportion where nothing is said of them."),
	}
	if tenon > 0 {
		notes = append(notes, say("Dashed inside the body: the tenon."))
	}
	if in, at := boardInTop(p, end); in >= leastCrossing {
		notes = append(notes, say("Careful: as designed the board's underside would lie up to %s inside the top, most of it %s from the joint. Flatten the top there, plane the board from below, or let the neck stand prouder: a board pressed onto it would bend.",
			nb(f.fine(mm(in))), nb(f.fine(mm(at)))))
	}
	if !whole {
		notes = append(notes, say("Cut short: the saddle lies %s from the joint. There the straight edge passes %s over the top.", nb(f.fine(t.SaddleDistance)), nb(f.fine(t.GapOnFrets))))
	}
	f.sheet.Desc = say("The neck joint from the %v. The straight edge on the frets passes %s over the top at the saddle, %s from the joint; the neck angle is %s.",
		seenSide(h.Left), f.fine(t.GapOnFrets), f.fine(t.SaddleDistance), t.NeckAngle)
	f.sheet.Table = [][]string{
		{say("Figure"), say("Value")},
		{say("Gap over the top at the saddle, on the frets"), t.GapOnFrets.Exact(h.Style)},
		{say("Gap over the top at the saddle, on the bare board"), t.GapOnBoard.Exact(h.Style)},
		{say("Joint to saddle"), t.SaddleDistance.Exact(h.Style)},
		{say("Nut to joint"), t.NutToJoint.Exact(h.Style)},
		{say("Neck angle"), t.NeckAngle.In(h.Style)},
		{say("Heel face to board"), t.HeelToBoard().In(h.Style)},
		{say("Frets over the top's edge at the joint"), b.FretLine(0, t).Exact(h.Style)},
		{say("Bridge thickness"), b.BridgeThickness.Exact(h.Style)},
		{say("Saddle over the bridge"), b.SaddleProjection.Exact(h.Style)},
		{say("Top at the saddle over the joint"), t.TopHeightAtSaddle.Exact(h.Style)},
		{say("Heel height"), in.Heel.Height.Exact(h.Style)},
	}
	return f.done("the top edge of the body's end, on the centreline", notes...)
}

// JigInput is a jig to set to the neck's angle.
type JigInput struct {
	Target neckset.Target
	Run    unit.Length // length of the jig; 0: 300 mm
}

// usualRun is the length of jig that is drawn when none is given. source: common practice, no source.
const usualRun = 300 * unit.MM

// JigTemplate draws the wedge that a jig of some length needs to hold the neck's angle, and the angle between heel face
// and board for a bevel, both at full size.
//
// The wedge is "wedge", its dimension lines "run" and "rise"; "height-1" and so on are its heights on the way. The
// legs of the bevel are "bevel-board" and "bevel-heel".
func JigTemplate(in JigInput, h Head) *drawing.Sheet {
	say := h.Style.Say
	f := newFull(h, "Jig for the neck angle")
	t := in.Target
	run := in.Run
	if run <= 0 {
		run = usualRun
	}
	rise := t.Jig(run)
	long, tall := run.MM(), rise.Abs().MM()

	f.polygon(drawing.LayerWood, "wedge", "", pt(0, 0), pt(long, 0), pt(long, tall))
	const below = 12.0 // wood that keeps the thin end whole
	f.polyline(drawing.LayerScore, "base", pt(0, 0), pt(0, -below), pt(long, -below), pt(long, 0)).Pen.Dash = []unit.Length{mm(1.6), mm(1)}
	f.add(drawing.Item{Layer: drawing.LayerGap, Name: "rise", Shape: dim(pt(long, 0), pt(long, tall), 90, pt(long+8, 0), drawing.Text{})})
	f.text("rise-figure", label(long+12, tall/2-small*0.34, small, drawing.Start, say("rise %s", f.fine(rise.Abs()))))
	f.add(drawing.Item{Layer: drawing.LayerDim, Name: "run", Shape: dim(pt(0, -below), pt(long, -below), 0, pt(0, -below-7), drawing.Text{})})
	f.text("run-figure", label(long/2, -below-5.8, small, drawing.Middle, say("run %s‖of a wedge", f.fine(run))))
	rows := drawing.Wrap(say("wood below the line, any thickness"), mm(small), false, mm(long-4))
	for i, row := range rows {
		f.text("", label(long/2, -below/2-small*0.34+(float64(len(rows)-1)/2-float64(i))*small*1.3, small, drawing.Middle, row))
	}

	// Heights on the way, all from the thin end.
	f.sheet.Table = [][]string{{say("From the thin end"), say("Height over the line")}}
	stations := int(clamp(math.Floor(long/50), 1, 6))
	for i := 1; i <= stations; i++ {
		at := run * unit.Length(i) / unit.Length(stations)
		z := t.Jig(at).Abs()
		f.sheet.Table = append(f.sheet.Table, []string{at.Exact(h.Style), z.Exact(h.Style)})
		x := at.MM()
		f.line(drawing.LayerDim, fmt.Sprintf("height-%d", i), x, 0, x, z.MM())
		thin(f.line(drawing.LayerDim, "", x, z.MM(), x, tall+3))
		f.text(fmt.Sprintf("height-%d-figure", i), label(x, tall+4.5+small*1.3, small, drawing.Middle, f.fine(z)))
		f.text("", label(x, tall+4.5, small, drawing.Middle, say("at %v‖a distance", at)))
	}

	// The angle for a bevel.
	a := float64(t.HeelToBoard())
	const leg = 90.0
	by := -below - 14 - leg - small*2
	f.line(drawing.LayerWood, "bevel-board", 0, by, leg, by)
	f.line(drawing.LayerWood, "bevel-heel", 0, by, leg*math.Cos(a), by+leg*math.Sin(a))
	f.add(drawing.Item{Layer: drawing.LayerDim, Shape: drawing.Arc{Centre: pt(0, by), Radius: mm(22), Sweep: t.HeelToBoard()}})
	f.text("bevel-figure", label(26, by+14, middle, drawing.Start, t.HeelToBoard().In(h.Style)))
	f.text("", label(26, by+14+small*1.6, small, drawing.Start, say("between heel face and board")))
	f.text("", label(leg+3, by-small*0.34, small, drawing.Start, say("board")))
	f.text("", label(leg*math.Cos(a)+4, by+leg*math.Sin(a)-small, small, drawing.Start, say("heel face")))

	lies := say("Strings up, the thick end goes under the heel's end of the neck; board down, under the nut's end. Then the heel face stands plumb.")
	switch {
	case rise.Abs() < 0.005*unit.MM:
		lies = say("The neck does not lean at all: the jig stays level and no wedge is needed.")
	case t.NeckAngle < 0:
		lies = say("The neck leans forward. Strings up, the thick end goes under the nut's end of the neck; board down, under the heel's end. Then the heel face stands plumb.")
	}
	f.sheet.Desc = say("A wedge that rises %s over a run of %s, for a neck that leans %v, and a bevel of %v between heel face and board.",
		f.fine(rise.Abs()), f.fine(run), leanWords(t.NeckAngle), t.HeelToBoard())
	return f.done("the wedge's thin end, on its lower line",
		say("The jig rises %s, over a run of %s: the neck leans %v.", nb(f.fine(rise.Abs())), nb(run.In(h.Style)), leanWords(t.NeckAngle)),
		lies,
		say("The heights at the marks are all measured up from the lower line, and the marks from the thin end."),
		say("A jig under a router or sander: clamp it, wear eye and ear protection and a mask, and follow the tool's manual."))
}
