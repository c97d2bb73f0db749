package sheet

import (
	"math"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// State is whether the strings are on.
type State int

// The states.
const (
	Unstrung State = iota // the straight edge on a neck without pull: how the neck is set
	Strung                // the strings on, neck, joint and top drawn as the pull leaves them
)

// SideOptions of a side view.
type SideOptions struct {
	Style unit.Style
	// Exaggeration draws heights so many times as large as lengths; 0 means 1. Usual: 1, 3, 5, 10.
	Exaggeration float64
	State        State
	HeelHeight   unit.Length // 0: 88 mm, a usual heel
	// Frets on the board; 0 means 20. The board never reaches the bridge.
	Frets int
	// Narrow draws from a little before the joint to the bridge; else from the nut.
	Narrow bool
	// LeftHanded only changes the words: the side seen is then the treble side.
	LeftHanded bool
	// Board puts the straight edge on the bare board: the gap shown is GapOnBoard. Before stringing only.
	Board bool
}

// profile is a guitar seen from its side, in real millimetres of neckset's frame, lengths and heights alike.
type profile struct {
	L, l, D           float64 // scale length, nut to joint, joint to saddle
	k                 float64 // parts that do not matter grow with the scale length
	crown, board, F0  float64 // F0: fret tops over the top's edge at the joint
	topD, rise, gap   float64 // top at the saddle over the joint's edge; what the pull lifts it; the line over it
	bridgeThick       float64
	saddleTop, nutZ   float64 // where the string bends
	slope, relief, u1 float64
	shape             neckset.Top
}

func profileOf(b neckset.Build, t neckset.Target, strung bool) profile {
	p := profile{L: b.ScaleLength.MM(), l: t.NutToJoint.MM(), D: t.SaddleDistance.MM(), crown: b.FretCrown.MM(), board: b.BoardThickness.MM(),
		topD: t.TopHeightAtSaddle.MM(), gap: t.GapOnFrets.MM(), bridgeThick: b.BridgeThickness.MM(), relief: b.ReliefUnstrung.MM(), shape: b.Top}
	p.k = p.L / 648
	p.F0 = p.board + p.crown + b.NeckProud.MM()
	if strung {
		p.rise, p.gap, p.relief = b.TopRise.MM(), t.GapStrung.MM(), b.Relief.MM()
	}
	p.slope = (p.gap + p.topD + p.rise - p.F0) / p.D
	p.u1 = fretting.Distance(b.ScaleLength, 1).MM()
	p.saddleTop = p.topD + p.rise + p.bridgeThick + b.SaddleProjection.MM()
	p.nutZ = p.chord(-p.l) + b.NutHeight.MM()
	return p
}

// chord is the straight line over the fret tops.
func (p profile) chord(x float64) float64 { return p.F0 + p.slope*x }

// fret is the height of the fret tops, which dip under the line by the relief.
func (p profile) fret(x float64) float64 {
	u := x + p.l
	dip := 0.0
	if u > p.u1 && u < p.l && p.l > p.u1 {
		dip = 4 * p.relief * (u - p.u1) * (p.l - u) / ((p.l - p.u1) * (p.l - p.u1))
	}
	return p.chord(x) - dip
}

func (p profile) top(x float64) float64 {
	h := p.shape.Height(mm(x)).MM()
	if p.rise != 0 && x > 0 { // the pull lifts the top smoothly from the joint to the bridge
		f := clamp(x/p.D, 0, 1.2)
		h += p.rise * math.Sin(math.Min(f, 1)*math.Pi/2)
	}
	return h
}

func (p profile) stringAt(x float64) float64 {
	return p.nutZ + (p.saddleTop-p.nutZ)*(x+p.l)/(p.D+p.l)
}

func (p profile) bridgeFront() float64 { return p.D - 11*p.k }
func (p profile) bridgeBack() float64  { return p.D + 17*p.k }

// tie is where the string goes down into the bridge.
func (p profile) tie(at func(x, z float64) drawing.Point) drawing.Point {
	return at(p.D+9*p.k, p.topD+p.rise+p.bridgeThick*0.9)
}

// bridge draws bridge and saddle; at puts a point of the profile on the page. The tone fills both, "" their own.
func (c *canvas) bridge(p profile, tone drawing.Tone, at func(x, z float64) drawing.Point) {
	wood, bone := drawing.Dark, drawing.Bone
	if tone != "" {
		wood, bone = tone, tone
	}
	bt, base, k, D := p.bridgeThick, p.topD+p.rise, p.k, p.D
	c.polygon(drawing.LayerWood, "bridge", wood,
		at(p.bridgeFront(), p.top(p.bridgeFront())), at(p.bridgeFront()+2*k, base+bt*0.75), at(D-3*k, base+bt), at(D+4*k, base+bt),
		at(p.bridgeBack()-2*k, base+bt*0.4), at(p.bridgeBack(), p.top(p.bridgeBack())))
	c.polygon(drawing.LayerWood, "saddle", bone,
		at(D-1.5*k, base+bt*0.6), at(D-1.5*k, p.saddleTop-0.5), at(D, p.saddleTop), at(D+1.5*k, p.saddleTop-0.5), at(D+1.5*k, base+bt*0.6)).Pen.Weight = mm(0.18)
}

// SideView draws the guitar from its side, neck to the left, to scale: the body's end and top, the heel, the board, the
// straight edge reaching over the top to the saddle with the gap under it, bridge, saddle and string.
//
// b must be one that b.Target() accepts, and t its target. Lengths are to ScaleX and heights to ScaleY. The
// dimension lines are named "gap", "saddle-distance", "nut-to-joint" and "action12"; the straight edge is
// "straight-edge". Parts that do not matter here (neck, bridge and body sizes not in the Build) are drawn
// in usual proportion and not dimensioned.
func SideView(b neckset.Build, t neckset.Target, o SideOptions) *drawing.Sheet {
	e := o.Exaggeration
	if !(e >= 1) {
		e = 1
	}
	e = math.Min(e, 20)
	heelHeight := o.HeelHeight.MM()
	if heelHeight <= 0 {
		heelHeight = 88
	}
	frets := o.Frets
	if frets <= 0 {
		frets = 20
	}

	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Side view of the neck set"))

	p := profileOf(b, t, o.State == Strung)
	L, l, D, k, crown, board, F0, topD, rise, gap := p.L, p.l, p.D, p.k, p.crown, p.board, p.F0, p.topD, p.rise, p.gap
	chord, fret, top, stringAt := p.chord, p.fret, p.top, p.stringAt
	bridgeFront, bridgeBack, saddleTop, nutZ := p.bridgeFront(), p.bridgeBack(), p.saddleTop, p.nutZ
	x12 := L/2 - l

	right := 24.0
	if !o.Narrow {
		right = 28
	}
	x0, x1 := -l-10*k, bridgeBack+8*k
	if o.Narrow {
		x0 = math.Max(x0, math.Min(-80*k, x12-14*k))
	}
	s := (w - 2*margin - right) / (x1 - x0)
	sy := s * e
	X := func(x float64) float64 { return margin + (x-x0)*s }
	Y := func(z float64) float64 { return z * sy }
	P := func(x, z float64) drawing.Point { return pt(X(x), Y(z)) }
	c.sheet.ScaleX, c.sheet.ScaleY = s, sy

	// The heel and the body are cut short where their height would drown the rest.
	shaft := math.Min(14*k*sy, 9) // page mm
	boardUnder := func(x float64) float64 { return Y(fret(x) - crown - board) }
	depth := heelHeight * sy
	const most = 27
	short := depth > most
	floor := -math.Min(depth, most)
	shaftAt := boardUnder(-62*k) - shaft
	if floor > shaftAt-8 { // a neck that leans far forward hangs low
		short = short || depth > 8-shaftAt
		floor = math.Max(shaftAt-8, -depth)
	}

	// Body.
	const n = 24
	outline := []drawing.Point{pt(X(0), floor-4)}
	var surface []drawing.Point
	for i := 0; i <= n; i++ {
		x := x1 * float64(i) / n
		surface = append(surface, P(x, top(x)))
	}
	outline = append(outline, surface...)
	outline = append(outline, pt(X(x1), floor-4))
	c.fill(drawing.LayerWood, "body", drawing.Spruce, outline...)
	c.polyline(drawing.LayerWood, "top", surface...)
	c.line(drawing.LayerWood, "body-end", X(0), floor-4, X(0), Y(top(0)))
	c.breakLine(X(0), floor-4, X(x1), floor-4)

	// Neck and heel.
	capX, flareX := -26*k, math.Max(-66*k, x0+3*k)
	neck := []drawing.Step{{Verb: drawing.MoveTo, To: pt(X(0), boardUnder(0))}}
	steps := 16
	for i := 1; i <= steps; i++ {
		x := x0 * float64(i) / float64(steps)
		if x < -l {
			x = -l
		}
		neck = append(neck, drawing.Step{Verb: drawing.LineTo, To: pt(X(x), boardUnder(x))})
	}
	left := math.Max(x0, -l)
	neck = append(neck,
		drawing.Step{Verb: drawing.LineTo, To: pt(X(left), boardUnder(left)-shaft*0.85)},
		drawing.Step{Verb: drawing.LineTo, To: pt(X(flareX), boardUnder(flareX)-shaft)},
		drawing.Step{Verb: drawing.CurveTo,
			A: pt(X(flareX*0.62), boardUnder(flareX)-shaft), B: pt(X(capX*1.15), floor+0.5*(shaftAt-floor)), To: pt(X(capX), floor)},
		drawing.Step{Verb: drawing.LineTo, To: pt(X(0), floor)},
		drawing.Step{Verb: drawing.Close})
	c.add(drawing.Item{Layer: drawing.LayerWood, Name: "neck", Fill: drawing.Wood, Shape: drawing.Path{Steps: neck}})
	if short {
		c.fill(drawing.LayerWood, "", drawing.Paper, pt(X(capX)-0.6, floor-0.5), pt(X(0)-0.3, floor-0.5), pt(X(0)-0.3, floor+0.5), pt(X(capX)-0.6, floor+0.5))
		c.breakLine(X(capX)-1.2, floor+0.5, X(0)-0.3, floor+0.5)
	}

	// Board, over the neck and on over the top.
	end := math.Min(fretting.Distance(b.ScaleLength, frets).MM()-l+6*k, bridgeFront-10*k)
	end = math.Max(end, math.Min(4*k, bridgeFront/2))
	var upper, lower []drawing.Point
	for i := 0; i <= 32; i++ {
		x := left + (end-left)*float64(i)/32
		upper = append(upper, P(x, fret(x)-crown))
		lower = append(lower, P(x, fret(x)-crown-board))
	}
	for i := len(lower) - 1; i >= 0; i-- {
		upper = append(upper, lower[i])
	}
	c.polygon(drawing.LayerWood, "fretboard", drawing.Dark, upper...)
	for i := 1; i <= frets; i++ {
		x := fretting.Distance(b.ScaleLength, i).MM() - l
		if x < left || x > end {
			continue
		}
		it := c.line(drawing.LayerMark, "", X(x), Y(fret(x)-crown), X(x), Y(fret(x)))
		it.Pen = drawing.Pen{Tone: drawing.Steel, Weight: mm(clamp(2*s, 0.25, 0.7))}
	}
	if o.Narrow && x0 > -l {
		c.breakLine(X(x0), boardUnder(x0)-shaft*0.85, X(x0), Y(fret(x0)-crown))
	}

	// Nut, bridge and saddle.
	if x0 <= -l {
		c.rect(drawing.LayerWood, "nut", drawing.Bone, X(-l-4*k), Y(fret(-l)-crown-board*0.3), X(-l), Y(nutZ))
	}
	c.bridge(p, "", P)

	// String: from the nut, or the left edge of the drawing, over the saddle and down into the bridge.
	sx := math.Max(-l, x0)
	str := c.polyline(drawing.LayerString, "string", P(sx, stringAt(sx)), P(D, saddleTop), p.tie(P))
	if o.State == Unstrung {
		str.Pen.Dash = []unit.Length{mm(0.9), mm(0.7)}
	}

	// Straight edge, datum, gap.
	onBoard := 0.0
	if o.Board && o.State == Unstrung {
		onBoard = crown
	}
	edgeFrom := math.Max(-l, x0)
	dimX := X(bridgeBack) + 3
	c.line(drawing.LayerDatum, "level", X(0), Y(F0-onBoard), X(D), Y(F0-onBoard))
	c.line(drawing.LayerEdge, "straight-edge", X(edgeFrom), Y(chord(edgeFrom)-onBoard), X(D), Y(chord(D)-onBoard))
	gapShown := gap - onBoard
	gapTop, gapLow := Y(chord(D)-onBoard), Y(topD+rise)
	gapMid := (gapTop + gapLow) / 2
	gd := dim(pt(X(D), gapLow), pt(X(D), gapTop), 90, pt(dimX, gapLow), drawing.Text{})
	c.add(drawing.Item{Layer: drawing.LayerGap, Name: "gap", Shape: gd})
	gapText := said(mm(gapShown), o.Style)
	t1 := label(dimX+2.2, gapMid+0.6, small, drawing.Start, say("gap"))
	t2 := label(dimX+2.2, gapMid-middle*0.95, middle, drawing.Start, gapText)
	t2.Bold, t1.Halo, t2.Halo = true, drawing.Paper, drawing.Paper
	c.text("", t1)
	c.text("gap-figure", t2)

	if o.State == Strung && x12 >= x0 {
		a := dim(P(x12, fret(x12)), P(x12, stringAt(x12)), 90, P(x12, 0), drawing.Text{})
		a.Arrow = mm(1.2)
		c.add(drawing.Item{Layer: drawing.LayerGap, Name: "action12", Shape: a})
	}

	// Words above.
	high := math.Max(Y(saddleTop), math.Max(gapTop, math.Max(Y(nutZ), Y(chord(edgeFrom))))) + 3.5
	edgeName, actionIs := say("straight edge"), unit.Text("action wanted at fret 12: %v")
	if o.State == Strung {
		edgeName, actionIs = say("line of the frets"), "action at fret 12: %v"
	}
	xa := D * 0.36
	list := []callout{
		{x: X(D), y: Y(saddleTop), text: say("saddle")},
		{x: X(D * 0.72), y: Y(stringAt(D * 0.72)), text: say("string")},
		{x: X(D * 0.54), y: Y(chord(D*0.54) - onBoard), text: edgeName},
		{x: X(xa), y: (Y(chord(xa)-onBoard) + Y(F0-onBoard)) / 2, text: say("leans %v", leanWords(t.NeckAngle))},
		{x: X(x12), y: Y(stringAt(x12)), text: say(actionIs, b.Action12)},
	}
	if o.State == Strung {
		list[3].text = ""
	}
	if x0 <= -l {
		list = append(list, callout{x: X(-l), y: Y(nutZ), text: say("nut")})
	}
	high = c.callouts(high, list...)

	// Words in and below the parts.
	low := floor - 4
	c.text("", label(X(D*0.5), floor+1, small, drawing.Middle, say("body")))
	// Up the middle of the heel where that is wide enough, else beside it.
	heelWord := label((X(capX)+X(0))/2+small*0.34, floor+(shaftAt-floor)*0.5+1, small, drawing.Middle, say("heel"))
	heelWord.Turn = 90 * unit.Degree
	if X(0)-X(capX) < small*1.05 {
		heelWord.At.X = mm(X(capX) - 1.6)
		heelWord.Halo = drawing.Paper
	}
	c.text("", heelWord)
	dimY := low - small*1.9
	// The neck's own low end, when it leans far back.
	if x0 <= -l {
		dimY = math.Min(dimY, boardUnder(left)-shaft-small*1.9)
	} else {
		dimY = math.Min(dimY, boardUnder(left)-shaft-small*1.2)
	}
	dd := label((X(0)+X(D))/2, dimY+1.1, small, drawing.Middle, say("joint to saddle %v", t.SaddleDistance))
	dd.Halo = drawing.Paper
	if over := X(0) + 2 - dd.Box().Left.MM(); x0 <= -l && over > 0 { // words longer than the line stay off the other one
		dd.At.X += mm(math.Min(over, w-margin-dd.Box().Right.MM()))
	}
	d := dim(pt(X(0), low), P(D, topD+rise), 0, pt(0, dimY), dd)
	c.add(drawing.Item{Layer: drawing.LayerDim, Name: "saddle-distance", Shape: d})
	c.taken = append(c.taken, dd.Box())
	if x0 <= -l {
		nd := label((X(0)+X(-l))/2, dimY+1.1, small, drawing.Middle, say("nut to joint %v", t.NutToJoint))
		nd.Halo = drawing.Paper
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: "nut-to-joint",
			Shape: dim(pt(X(-l), boardUnder(-l)-shaft), pt(X(0), low), 0, pt(0, dimY), nd)})
	}
	words := []string{}
	switch {
	case o.State == Strung:
		words = append(words, say("With the strings on."))
	case o.Board:
		words = append(words, say("Before stringing, straight edge on the bare board. Fine dashes: where the string will run."))
	default:
		words = append(words, say("Before stringing, straight edge on the frets. Fine dashes: where the string will run."))
	}
	if e > 1 {
		words = append(words, say("Heights drawn %.3g times as large as lengths.", e))
	} else {
		words = append(words, say("Heights and lengths to one scale."))
	}
	if short {
		words = append(words, say("Heel and body cut short."))
	}
	if x0 > -l {
		words = append(words, say("%s, not drawn.", nb(say("Nut to joint %v", t.NutToJoint))))
	}
	bottom := c.caption(dimY-2, words...)

	c.sheet.Desc = say("The guitar from its %v, neck to the left. The straight edge passes %s over the top at the saddle, %s from the joint; the neck angle is %s.",
		seenSide(o.LeftHanded), mm(gapShown).Exact(o.Style), t.SaddleDistance, t.NeckAngle)
	gapLabel := say("Gap over the top at the saddle, on the frets")
	switch {
	case o.State == Strung:
		gapLabel = say("Line of the frets over the top at the saddle, strung")
	case o.Board:
		gapLabel = say("Gap over the top at the saddle, on the bare board")
	}
	c.sheet.Table = [][]string{
		{say("Figure"), say("Value")},
		{gapLabel, mm(gapShown).Exact(o.Style)},
		{say("Joint to saddle"), t.SaddleDistance.Exact(o.Style)},
		{say("Nut to joint"), t.NutToJoint.Exact(o.Style)},
		{say("Neck angle"), t.NeckAngle.In(o.Style)},
		{say("Saddle over the bridge"), b.SaddleProjection.Exact(o.Style)},
		{say("Bridge thickness"), b.BridgeThickness.Exact(o.Style)},
		{say("Action at fret 12"), b.Action12.Exact(o.Style)},
		{say("Top at the saddle over the joint"), t.TopHeightAtSaddle.Exact(o.Style)},
	}
	return c.done(bottom-1, high+1)
}

// seenSide is the side of a guitar that is seen with its neck to the left.
func seenSide(leftHanded bool) unit.Text {
	if leftHanded {
		return "treble side"
	}
	return "bass side"
}

// leanWords says how far a neck leans, as it stands after "leans".
func leanWords(a unit.Angle) unit.Phrase {
	switch {
	case a < 0:
		return unit.Say("%v forward‖a neck leans", -a)
	case a > 0:
		return unit.Say("%v back‖a neck leans", a)
	}
	return unit.Say("not at all")
}
