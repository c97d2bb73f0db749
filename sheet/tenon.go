package sheet

import (
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// TenonInput is a tenon and the mortise it goes into. Length runs along the neck, width across it.
type TenonInput struct {
	Length, Width              unit.Length // of the tenon
	MortiseDepth, MortiseWidth unit.Length
}

// Play returns what is left over when the tenon is in: across, both sides together, and at its end. Below
// zero the tenon is too wide, or meets the bottom before the shoulders close.
func (in TenonInput) Play() (across, end unit.Length) {
	return in.MortiseWidth - in.Width, in.MortiseDepth - in.Length
}

// TenonPlan draws the tenon in its mortise from above, neck up, to one scale. The dimension lines are named
// "tenon-width", "mortise-width", "tenon-length" and "mortise-depth". A tenon that is too large is drawn over
// the body, where it would have to go.
func TenonPlan(in TenonInput, o SeatOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Tenon and mortise"))
	tl, tw, md, mw := in.Length.MM(), in.Width.MM(), in.MortiseDepth.MM(), in.MortiseWidth.MM()
	wide, deep := math.Max(math.Max(tw, mw), 1), math.Max(math.Max(tl, md), 1)
	s := math.Min(30/wide, 44/deep)
	c.sheet.ScaleX, c.sheet.ScaleY = s, s
	cx := w / 2
	body := math.Max(wide*s/2+7, 20)
	bottom := -deep*s - 7
	const heel = 15.0

	c.rect(drawing.LayerWood, "body", drawing.Spruce, cx-body, bottom, cx+body, 0)
	c.rect(drawing.LayerWood, "mortise", drawing.Paper, cx-mw*s/2, -md*s, cx+mw*s/2, 0)
	c.rect(drawing.LayerWood, "tenon", drawing.Wood, cx-tw*s/2, -tl*s, cx+tw*s/2, 0)
	c.rect(drawing.LayerWood, "heel", drawing.Wood, cx-body*0.8, 0, cx+body*0.8, heel)
	c.line(drawing.LayerDatum, "centre", cx, heel+1, cx, bottom)

	c.text("", label(cx-body*0.8+2, heel-small-1, small, drawing.Start, say("heel")))
	c.text("", label(cx-body+1.5, bottom+1.4, small, drawing.Start, say("body")))
	across := func(name string, half, from, y float64, words string) {
		t := label(cx, y+1, small, drawing.Middle, words)
		t.Halo = drawing.Paper
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: name, Shape: dim(pt(cx-half, from), pt(cx+half, from), 0, pt(0, y), drawing.Text{})})
		c.text("", t)
	}
	across("tenon-width", tw*s/2, 0, heel+3.5, say("tenon %v", in.Width))
	across("mortise-width", mw*s/2, -md*s, bottom-small-3, say("mortise %v", in.MortiseWidth))
	// Both drops are measured from the shoulders.
	down := func(name string, x, far, side float64, words string, value unit.Length) {
		dx := cx + side*(body+3)
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: name, Shape: dim(pt(x, -far), pt(x, 0), 90, pt(dx, 0), drawing.Text{})})
		a := drawing.Start
		if side < 0 {
			a = drawing.End
		}
		mid := -math.Max(far, 8) / 2
		c.text("", label(dx+side*2, mid+0.7, small, a, words))
		t := label(dx+side*2, mid-small-0.2, small, a, value.In(o.Style))
		t.Bold = true
		c.text("", t)
	}
	down("tenon-length", cx-tw*s/2, tl*s, -1, say("tenon"), in.Length)
	down("mortise-depth", cx+mw*s/2, md*s, 1, say("mortise"), in.MortiseDepth)

	playAcross, playEnd := in.Play()
	y := bottom - small - 4.5
	row := func(words string, v unit.Length) {
		y -= small * 1.5
		c.text("", label(margin, y, small, drawing.Start, words))
		f := label(w-margin, y, small, drawing.End, v.Fine(o.Style))
		f.Bold = true
		c.text("", f)
	}
	words := say("The tenon fits across, and the mortise is deeper than the tenon is long.")
	if playAcross < 0 {
		row(say("too wide by"), -playAcross)
		words = say("The tenon is too wide for the mortise.")
	} else {
		row(say("play across, both sides together"), playAcross)
	}
	if playEnd < 0 {
		row(say("too long by"), -playEnd)
		words = say("The tenon meets the bottom of the mortise before the shoulders close.")
		if playAcross < 0 {
			words = say("The tenon is too wide and too long for the mortise.")
		}
	} else {
		row(say("room at the tenon's end"), playEnd)
		if playEnd == 0 && playAcross >= 0 {
			words = say("The mortise is no deeper than the tenon is long: the end may touch before the shoulders do.")
		}
	}
	foot := c.caption(y-1, words, say("Seen from above, neck up."))
	c.sheet.Desc = say("%s Play across %s, room at the end %s.", words, playAcross.Fine(o.Style), playEnd.Fine(o.Style))
	c.sheet.Table = [][]string{
		{say("Figure"), say("Tenon"), say("Mortise"), say("Left over")},
		{say("Across"), in.Width.Exact(o.Style), in.MortiseWidth.Exact(o.Style), playAcross.Fine(o.Style)},
		{say("Along the neck"), in.Length.Exact(o.Style), in.MortiseDepth.Exact(o.Style), playEnd.Fine(o.Style)},
	}
	return c.done(foot-1, heel+3.5+small+1.5)
}
