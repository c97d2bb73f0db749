package neckset

import (
	"math"

	"fairset/unit"
)

// SeatInput is a flat-shouldered heel meeting the body's end.
type SeatInput struct {
	ArcRadius     unit.Length // of the body's end, in plan; 0 for flat
	HeelWidth     unit.Length
	TenonWidth    unit.Length
	BodyShare     float64 // 0 hollow the shoulders only, 1 flatten the body only
	SideThickness unit.Length
	SideLimit     float64 // fraction of the side's thickness that may be taken
}

// Seat is how to make the shoulders close on the body.
type Seat struct {
	EdgeGap       unit.Length // at the shoulder's outer edge, before anything is taken
	BodyRemoval   unit.Length // flattening, at its deepest
	HeelRemoval   unit.Length // hollowing, deepest beside the tenon and nothing at the edge
	BodyFlatWidth unit.Length // width of the flat on the body
	BodyLimited   bool        // the side's thickness held the body's share back
}

// FitSeat returns how deep to hollow the shoulders and how far to flatten the body's end.
//
//	s(y) = R - sqrt(R² - y²);  edge gap = s(b) - s(t),  b, t = half heel and half tenon width
//	flat width after taking d from the body = 2 sqrt(R² - (R - s(t) - d)²)
//
// Fields must lie in their ranges and the tenon be narrower than the heel; otherwise *unit.RangeError.
// Source: derived in docs/method/neckset.md.
func FitSeat(in SeatInput) (Seat, []unit.Warning, error) {
	var c checker
	if in.ArcRadius != 0 {
		c.length("body_arc_radius", in.ArcRadius)
	}
	c.length("heel_width", in.HeelWidth)
	c.length("tenon_width", in.TenonWidth)
	c.need("body_share", in.BodyShare)
	c.length("side_thickness", in.SideThickness)
	c.need("side_limit_fraction", in.SideLimit)
	if c.err == nil && in.TenonWidth >= in.HeelWidth {
		c.fail("tenon_width", float64(in.TenonWidth), "the tenon must be narrower than the heel, or there are no shoulders")
	}
	if c.err != nil {
		return Seat{}, nil, c.err
	}
	if in.ArcRadius == 0 {
		return Seat{BodyFlatWidth: in.HeelWidth}, c.warns, nil
	}
	R, b, t := float64(in.ArcRadius), float64(in.HeelWidth)/2, float64(in.TenonWidth)/2
	gap := sag(R, b) - sag(R, t)
	limit := in.SideLimit * float64(in.SideThickness)
	body := in.BodyShare * gap
	limited := body > limit
	if limited {
		body = limit
		c.warn("past_side_limit", "body_share", unit.Say("The side may give up only %v here, so the shoulders must be hollowed by the rest, %v.", unit.FineLength(limit), unit.FineLength(gap-body)))
	}
	if gap > 0.006 {
		c.warn("deep_hollow", "body_arc_radius", unit.Say("The shoulders stand %v off the body at their edges: consider a flat glued or planed on the body's end first.", unit.Length(gap)))
	}
	s := sag(R, t) + body // how far the flat lies inside the arc's crown
	return Seat{
		EdgeGap:       unit.Length(gap),
		BodyRemoval:   unit.Length(body),
		HeelRemoval:   unit.Length(gap - body),
		BodyFlatWidth: unit.Length(2 * math.Sqrt(s*(2*R-s))),
		BodyLimited:   limited,
	}, c.warns, nil
}

// sag is how far an arc of radius R falls away at y from its crown, without losing figures for large R.
func sag(R, y float64) float64 { return y * y / (R + math.Sqrt(R*R-y*y)) }

// ArcFromChord returns the radius of an arc from a chord laid over it and the arc's rise over that chord:
// R = (c²/4 + r²)/(2r). The rise may not exceed half the chord. Errors are *unit.RangeError naming chord or rise.
func ArcFromChord(chord, rise unit.Length) (unit.Length, error) {
	var c checker
	c.length("chord", chord)
	c.length("rise", rise)
	if c.err == nil && rise > chord/2 {
		c.fail("rise", float64(rise), "the rise cannot be more than half the chord")
	}
	if c.err != nil {
		return 0, c.err
	}
	h, r := float64(chord)/2, float64(rise)
	return unit.Length((h*h + r*r) / (2 * r)), nil
}

// ArcRise returns how far an arc of that radius rises over a chord laid across it, the other way round from ArcFromChord:
// r = R - sqrt(R² - c²/4). A radius of 0 is flat and rises nothing; a chord longer than the circle is wide gives NaN.
func ArcRise(radius, chord unit.Length) unit.Length {
	if radius == 0 {
		return 0
	}
	return unit.Length(sag(float64(radius), float64(chord)/2))
}
