package sheet

import (
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// RollInput is a straight edge read along both edges of the board.
type RollInput struct {
	Bass, Treble unit.Length // gap over the top at the saddle on each side
	Spread       unit.Length // standard deviation of one of them; 0: not known
	Span         unit.Length // between the two lines at the saddle; 0: 56 mm
}

// RollOptions of a roll drawing.
type RollOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// Roll draws the neck's twist: seen from the tail toward the neck, the straight edge on the bass side and
// on the treble side over a level top. Heights are drawn larger than widths (ScaleY/ScaleX). Dimension
// lines are named "bass" and "treble".
func Roll(in RollInput, o RollOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Roll of the neck"))
	span := in.Span.MM()
	if span <= 0 {
		span = 56
	}
	bass, treble := in.Bass.MM(), in.Treble.MM()
	sx := math.Min((w-2*margin-52)/span, 1.4)
	most := math.Max(math.Max(math.Abs(bass), math.Abs(treble)), 0.5)
	k := 1.0
	for _, f := range []float64{1, 2, 3, 5, 10} {
		if most*f*sx <= 26 {
			k = f
		}
	}
	sy := sx * k
	c.sheet.ScaleX, c.sheet.ScaleY = sx, sy
	side := 1.0
	if o.LeftHanded {
		side = -1
	}
	cx := w / 2
	bx, tx := cx-side*span*sx/2, cx+side*span*sx/2
	by, ty := bass*sy, treble*sy
	lowest := math.Min(0, math.Min(by, ty))
	c.fill(drawing.LayerWood, "top", drawing.Spruce, pt(cx-span*sx/2-8, 0), pt(cx+span*sx/2+8, 0), pt(cx+span*sx/2+8, lowest-7), pt(cx-span*sx/2-8, lowest-7))
	c.line(drawing.LayerWood, "top", cx-span*sx/2-8, 0, cx+span*sx/2+8, 0)
	mean := (by + ty) / 2
	c.line(drawing.LayerDatum, "level", bx, mean, tx, mean)
	c.line(drawing.LayerEdge, "straight-edge", bx, by, tx, ty).Pen.Weight = mm(0.6)
	c.circle(drawing.LayerEdge, "", drawing.Accent, bx, by, 1)
	c.circle(drawing.LayerEdge, "", drawing.Accent, tx, ty, 1)
	top := math.Max(0, math.Max(by, ty))
	put := func(name, word string, x, y float64, gap unit.Length) {
		c.add(drawing.Item{Layer: drawing.LayerGap, Name: name, Shape: dim(pt(x, 0), pt(x, y), 90, pt(x, 0), drawing.Text{})})
		dir, a := 1.0, drawing.Start
		if x < cx {
			dir, a = -1, drawing.End
		}
		base := math.Max(y/2, 1.5)
		t := label(x+dir*3, base+0.8, small, a, word)
		f := label(x+dir*3, base-middle*0.95, middle, a, said(gap, o.Style))
		t.Bold, f.Bold, t.Halo, f.Halo = true, true, drawing.Paper, drawing.Paper
		c.text("", t)
		c.text(name+"-figure", f)
		top = math.Max(top, base+0.8+small)
	}
	put("bass", say("BASS"), bx, by, in.Bass)
	put("treble", say("TREBLE"), tx, ty, in.Treble)
	c.text("", label(cx, lowest-5, small, drawing.Middle, say("top at the saddle")))
	diff := in.Bass - in.Treble
	verdict := say("Both sides stand equally high.")
	switch {
	case in.Spread > 0 && diff.Abs() <= 2*math.Sqrt2*in.Spread:
		verdict = say("The difference is within what the rule can tell.")
	case diff >= 0.005*unit.MM:
		verdict = say("The bass side stands %s higher.", nb(said(diff, o.Style)))
	case diff <= -0.005*unit.MM:
		verdict = say("The treble side stands %s higher.", nb(said(-diff, o.Style)))
	}
	words := []string{verdict, say("Seen from the tail, looking toward the neck.")}
	if k > 1 {
		words = append(words, say("Heights drawn %.3g times as large as widths.", k))
	}
	bottom := c.caption(lowest-8, words...)
	c.sheet.Desc = say("Straight edge over the top at the saddle: bass side %s, treble side %s. %s", in.Bass.Exact(o.Style), in.Treble.Exact(o.Style), verdict)
	c.sheet.Table = [][]string{
		{say("Side‖bass or treble"), say("Gap over the top at the saddle")},
		{say("Bass"), in.Bass.Exact(o.Style)}, {say("Treble"), in.Treble.Exact(o.Style)}, {say("Difference"), diff.Abs().Exact(o.Style)},
	}
	return c.done(bottom-1, top+2)
}

// LineInput is where the neck's centreline passes at the saddle.
type LineInput struct {
	Offset         unit.Length // + on the treble side
	Tolerance      unit.Length // 0: none
	SaddleDistance unit.Length // from the joint
	NutToJoint     unit.Length // 0: as the saddle distance
}

// LineOptions of a line view.
type LineOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// LineView draws the centreline of the neck over the centreline of the body, from above, neck up. Sideways
// is drawn larger than lengthways (ScaleX/ScaleY). The dimension line "offset" is to ScaleX.
func LineView(in LineInput, o LineOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Where the neck points"))
	D, l, off := in.SaddleDistance.MM(), in.NutToJoint.MM(), in.Offset.MM()
	if l <= 0 {
		l = D
	}
	neck := math.Min(l, D*0.7) // the neck's far end does not matter here
	tall := 78.0
	sy := tall / (D + neck)
	k := 1.0
	for _, f := range []float64{1, 2, 5, 10, 20} {
		if math.Max(math.Abs(off), in.Tolerance.MM())*f*sy <= 18 {
			k = f
		}
	}
	sx := sy * k
	c.sheet.ScaleX, c.sheet.ScaleY = sx, sy
	side := 1.0
	if o.LeftHanded {
		side = -1
	}
	cx := w / 2
	X := func(y float64) float64 { return cx + side*y*sx }
	Y := func(x float64) float64 { return -x * sy }
	dir := off / D

	// Body and neck, in plain shapes: widths here are pictures, not to scale.
	bassWord, trebleWord := say("BASS"), say("TREBLE") // beside the body
	bodyHalf := math.Min(30, w/2-margin-2-math.Max(width(bassWord, small, true), width(trebleWord, small, true)))
	const neckHalf = 6.0
	saddleY := Y(D)
	c.fill(drawing.LayerWood, "body", drawing.Spruce, pt(cx-bodyHalf, 0), pt(cx+bodyHalf, 0), pt(cx+bodyHalf, saddleY-11), pt(cx-bodyHalf, saddleY-11))
	c.line(drawing.LayerWood, "", cx-bodyHalf, 0, cx+bodyHalf, 0)
	c.line(drawing.LayerWood, "", cx-bodyHalf, 0, cx-bodyHalf, saddleY-11)
	c.line(drawing.LayerWood, "", cx+bodyHalf, 0, cx+bodyHalf, saddleY-11)
	if in.Tolerance > 0 {
		t := in.Tolerance.MM() * sx
		c.fill(drawing.LayerTarget, "band", drawing.Zone, pt(cx-t, saddleY-5), pt(cx+t, saddleY-5), pt(cx+t, saddleY+5), pt(cx-t, saddleY+5))
		for _, x := range []float64{cx - t, cx + t} {
			c.line(drawing.LayerTarget, "", x, saddleY-5, x, saddleY+5)
		}
	}
	shift := func(x float64) float64 { return X(dir * x) }
	c.polygon(drawing.LayerWood, "neck", drawing.Wood, pt(shift(-neck)-neckHalf*0.85, Y(-neck)), pt(shift(-neck)+neckHalf*0.85, Y(-neck)), pt(cx+neckHalf, 0), pt(cx-neckHalf, 0))
	c.breakLine(shift(-neck)-neckHalf, Y(-neck), shift(-neck)+neckHalf, Y(-neck))
	bridge := c.rect(drawing.LayerWood, "bridge", "", cx-24, saddleY-4, cx+24, saddleY+3)
	bridge.Pen.Tone = drawing.Dark
	c.line(drawing.LayerDatum, "centre", cx, Y(-neck)+2, cx, saddleY-11).Pen.Tone = drawing.Ink
	c.line(drawing.LayerEdge, "neck-line", shift(-neck), Y(-neck), X(off), saddleY)
	c.circle(drawing.LayerGap, "", drawing.Accent, X(off), saddleY, 1)
	if off != 0 {
		c.add(drawing.Item{Layer: drawing.LayerGap, Name: "offset", Shape: dim(pt(cx, saddleY), pt(X(off), saddleY), 0, pt(cx, saddleY-7.5), drawing.Text{})})
	}
	word := func(s string, y float64) {
		t := label(X(0)+side*y*(bodyHalf+2), saddleY+8, small, drawing.Start, s)
		if t.At.X < mm(cx) {
			t.Anchor = drawing.End
		}
		t.Bold = true
		c.text("", t)
	}
	word(bassWord, -1)
	word(trebleWord, 1)
	c.text("", label(cx-bodyHalf+2, -small-1, small, drawing.Start, say("body")))
	verdict := say("down the centre")
	if off > 0 {
		verdict = say("%s to treble", said(in.Offset, o.Style))
	} else if off < 0 {
		verdict = say("%s to bass", said(-in.Offset, o.Style))
	}
	t := label(cx, saddleY-11-middle*1.2, middle, drawing.Middle, verdict)
	t.Bold = true
	c.text("offset-figure", t)
	words := []string{say("Seen from above, neck up. Long dashes: the line of the neck; short dashes: the body's centreline.")}
	if k > 1 {
		words = append(words, say("Sideways drawn %.3g times as large as lengthways.", k))
	}
	if o.LeftHanded {
		words = append(words, say("Left-handed guitar."))
	}
	bottom := c.caption(saddleY-11-middle*1.2-1.5, words...)
	c.sheet.Desc = say("The neck points %s at the saddle, %v from the joint.", verdict, in.SaddleDistance)
	c.sheet.Table = [][]string{{say("Figure"), say("Value")}, {say("The neck points, at the saddle"), verdict}, {say("Joint to saddle"), in.SaddleDistance.Exact(o.Style)}}
	if in.Tolerance > 0 {
		c.sheet.Table = append(c.sheet.Table, []string{say("Tolerance, either way"), in.Tolerance.Exact(o.Style)})
	}
	return c.done(bottom-1, Y(-neck)+4)
}
