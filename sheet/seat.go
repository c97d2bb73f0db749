package sheet

import (
	"math"

	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// SeatOptions of a seat plan.
type SeatOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// SeatPlan draws the heel's shoulders on the body's end from above, neck up: the gap at the edges, and what
// comes off body and heel so that they close. Depths (along the neck) are drawn larger than widths by the
// factor in ScaleY/ScaleX, which the caption tells. The dimension line "edge-gap" is to ScaleY.
func SeatPlan(in neckset.SeatInput, seat neckset.Seat, o SeatOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("The seat from above"))
	R, b, t := in.ArcRadius.MM(), in.HeelWidth.MM()/2, in.TenonWidth.MM()/2
	sag := func(y float64) float64 {
		if R <= 0 {
			return 0
		}
		y = math.Min(math.Abs(y), R*0.999)
		return y * y / (R + math.Sqrt(R*R-y*y))
	}
	gap := seat.EdgeGap.MM()
	body := seat.BodyRemoval.MM()
	reach := b * 1.12
	if R > 0 {
		reach = math.Min(reach, R*0.98)
	}
	right := 25.0
	sx := (w - 2*margin - right - 16) / (2 * reach)
	sx = math.Min(sx, 2)
	k := 1.0
	for _, f := range []float64{1, 2, 3, 5, 10, 20, 50} {
		if gap*f*sx <= 15 {
			k = f
		}
	}
	if gap == 0 {
		k = 1
	}
	sy := sx * k
	c.sheet.ScaleX, c.sheet.ScaleY = sx, sy
	cx := margin + 16 + reach*sx
	side := 1.0
	if o.LeftHanded {
		side = -1
	}
	X := func(y float64) float64 { return cx + side*y*sx }
	Y := func(x float64) float64 { return -x * sy } // toward the tail is down
	touch := sag(t)
	flat := touch + body
	after := func(y float64) float64 { return math.Max(sag(y), flat) }
	if body <= 0 {
		after = sag
	}

	// The body's end, its side left open below.
	deep := Y(sag(reach)) - 9
	n := 48
	run := func(from, to float64, f func(float64) float64) []drawing.Point {
		ps := make([]drawing.Point, 0, n+1)
		for i := 0; i <= n; i++ {
			y := from + (to-from)*float64(i)/float64(n)
			ps = append(ps, pt(X(y), Y(f(y))))
		}
		return ps
	}
	arc := run(-reach, reach, sag)
	c.fill(drawing.LayerWood, "body", drawing.Spruce, append(append([]drawing.Point{}, arc...), pt(X(reach), deep), pt(X(-reach), deep))...)
	// Heel: tenon in its mortise, shoulders flat at the touching line.
	high := Y(touch) + math.Max(9, (gap-body)*sy) + small*1.9
	c.fill(drawing.LayerWood, "heel", drawing.Wood, pt(X(-b), Y(touch)), pt(X(-b), high), pt(X(b), high), pt(X(b), Y(touch)))
	tenonEnd := math.Min(Y(touch)-7, deep+2)
	c.fill(drawing.LayerWood, "", drawing.Wood, pt(X(-t), Y(touch)), pt(X(-t), tenonEnd), pt(X(t), tenonEnd), pt(X(t), Y(touch)))
	// What comes off.
	for _, h := range []float64{-1, 1} {
		if hollow := gap - body; hollow > 0 {
			up := run(h*t, h*b, func(y float64) float64 { return touch - (sag(b) - after(y)) })
			for i := range up { // never below the shoulder
				up[i].Y = max(up[i].Y, mm(Y(touch)))
			}
			ps := append(up, pt(X(h*b), Y(touch)), pt(X(h*t), Y(touch)))
			c.fill(drawing.LayerCut, "off-heel", drawing.Band4, ps...)
			c.hatch(drawing.LayerCut, 45, 1.5, ps...)
			c.polyline(drawing.LayerCut, "", up...)
		}
		if body > 0 {
			edge := math.Min(reach, math.Sqrt(math.Max(0, R*R-(R-flat)*(R-flat))))
			ps := append(run(h*t, h*edge, sag), pt(X(h*edge), Y(flat)), pt(X(h*t), Y(flat)))
			c.fill(drawing.LayerCut, "off-body", drawing.Band2, ps...)
			c.hatch(drawing.LayerCut, -45, 1.5, ps...)
			c.line(drawing.LayerCut, "", X(h*t), Y(flat), X(h*edge), Y(flat))
		}
	}
	c.polyline(drawing.LayerWood, "body-end", run(-reach, -t, sag)...)
	c.polyline(drawing.LayerWood, "body-end", run(t, reach, sag)...)
	c.polyline(drawing.LayerWood, "", pt(X(-b), high), pt(X(-b), Y(touch)), pt(X(-t), Y(touch)), pt(X(-t), tenonEnd), pt(X(t), tenonEnd), pt(X(t), Y(touch)), pt(X(b), Y(touch)), pt(X(b), high))
	c.breakLine(X(-side*b), high, X(side*b), high)
	c.line(drawing.LayerDatum, "centre", X(0), high+1, X(0), deep)
	// Gap at the right-hand edge.
	rx := cx + b*sx
	dx := cx + reach*sx + 3
	if gap > 0 {
		g := dim(pt(rx, Y(touch)), pt(rx, Y(sag(b))), 90, pt(dx, 0), drawing.Text{})
		c.add(drawing.Item{Layer: drawing.LayerGap, Name: "edge-gap", Shape: g})
		mid := (Y(touch) + Y(sag(b))) / 2
		c.text("", label(dx+2.2, mid+0.6, small, drawing.Start, say("gap‖between two parts")))
		f := label(dx+2.2, mid-small-0.2, small, drawing.Start, seat.EdgeGap.Fine(o.Style))
		f.Bold = true
		c.text("", f)
	}
	bassX, trebleX := cx-side*(reach*sx), cx+side*(reach*sx)
	word := func(s string, x float64) {
		t := label(x, high-small*1.2, small, drawing.Middle, s)
		t.Bold = true
		half := width(s, small, true) / 2
		t.At.X = mm(clamp(x, margin+half, w-margin-half))
		c.text("", t)
	}
	// Outside the heel, so that they stay off its fill.
	outer := func(x float64) float64 {
		if x < cx {
			return x - 5
		}
		return x + 8
	}
	word(say("BASS"), outer(bassX))
	word(say("TREBLE"), outer(trebleX))
	heelWord := label(cx-b*sx*0.5, high-small*1.2, small, drawing.Middle, say("heel"))
	c.text("", heelWord)
	c.text("", label(cx-reach*sx+2, deep+1, small, drawing.Start, say("body")))

	y := deep - 1
	key := func(tone drawing.Tone, turn float64, words, figure string) {
		y -= small * 1.5
		c.rect(drawing.LayerCut, "", tone, margin, y-0.6, margin+8, y+small-0.7)
		c.hatch(drawing.LayerCut, turn, 1.5, pt(margin, y-0.6), pt(margin+8, y-0.6), pt(margin+8, y+small-0.7), pt(margin, y+small-0.7))
		c.text("", label(margin+10, y, small, drawing.Start, words))
		f := label(w-margin, y, small, drawing.End, figure)
		f.Bold = true
		c.text("", f)
	}
	if gap-body > 0 {
		key(drawing.Band4, 45, say("off the heel, beside the tenon"), seat.HeelRemoval.Fine(o.Style))
	}
	if body > 0 {
		key(drawing.Band2, -45, say("off the body's end"), seat.BodyRemoval.Fine(o.Style))
	}
	words := []string{say("Seen from above, neck up.")}
	if gap <= 0 {
		words = append(words, say("The body's end is flat: the shoulders touch all the way."))
	} else if k > 1 {
		words = append(words, say("Depths drawn %.3g times as large as widths.", k))
	}
	if seat.BodyLimited {
		words = append(words, say("The side is too thin to give up more."))
	}
	if o.LeftHanded {
		words = append(words, say("Left-handed guitar."))
	}
	bottom := c.caption(y-1, words...)
	c.sheet.Desc = say("The shoulders stand %s off the body at their edges. Take %s off the heel beside the tenon and %s off the body.",
		seat.EdgeGap.Fine(o.Style), seat.HeelRemoval.Fine(o.Style), seat.BodyRemoval.Fine(o.Style))
	c.sheet.Table = [][]string{
		{say("Figure"), say("Value")},
		{say("Gap at the shoulder's edge"), seat.EdgeGap.Fine(o.Style)},
		{say("Off the heel, beside the tenon"), seat.HeelRemoval.Fine(o.Style)},
		{say("Off the body's end"), seat.BodyRemoval.Fine(o.Style)},
		{say("Width of the flat on the body"), seat.BodyFlatWidth.Exact(o.Style)},
	}
	return c.done(bottom-1, high+2)
}
