// Package body is the outline of a guitar's body and what lies on it: soundhole, top, dome, braces, bridge
// and bridge plate, as a maker designs them.
//
// The frame is that of a top lying on the bench: x along the grain and the strings, from the tail (0) to the
// neck end, y across toward the bass side, z out of the top toward the strings. Seen from above with the neck up, +y lies on
// the left; a left-handed guitar is the mirror image, braces and all. The outline is one half mirrored about the centreline
// y = 0; braces and plates may lie anywhere on it. What hangs under the top hangs on its underside.
//
// Left out: cutaways and other bodies that differ left from right, the sides' depth, the back, and the little
// by which a brace on a domed top is longer than its straight line.
package body

import (
	"math"

	"fairset/unit"
)

// Point is a place on the top.
type Point struct{ X, Y unit.Length }

// At makes a point from metres.
func at(x, y float64) Point { return Point{unit.Length(x), unit.Length(y)} }

// Distance is how far two points lie apart.
func (p Point) Distance(q Point) unit.Length {
	return unit.Length(math.Hypot(float64(p.X-q.X), float64(p.Y-q.Y)))
}

// Mirror is the point on the other side of the centreline.
func (p Point) Mirror() Point { return Point{p.X, -p.Y} }

func (p Point) finite() bool { return p.X.Finite() && p.Y.Finite() }

func mm(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: lo / 1000, Max: hi / 1000}
}

// limits are wider than any usual instrument: a soprano ukulele to an acoustic bass. common practice, no source.
var limits = func() map[string]unit.Limit {
	m := map[string]unit.Limit{}
	for _, l := range []unit.Limit{
		mm("length", "body length", 120, 800),
		mm("lower_width", "lower bout width", 80, 700),
		mm("lower_at", "widest place of the lower bout from the tail", 15, 500),
		mm("waist_width", "waist width", 40, 650),
		mm("waist_at", "waist from the tail", 30, 700),
		mm("upper_width", "upper bout width", 50, 650),
		mm("upper_at", "widest place of the upper bout from the tail", 45, 780),
		mm("tail_radius", "radius of the tail", 20, 20000),
		mm("neck_radius", "radius of the neck end", 20, 20000),
		mm("tail_flat", "straight part of the tail", 0, 400),
		mm("neck_flat", "straight part of the neck end", 0, 400),
		{Field: "points", Label: unit.Say("points of the half outline"), Kind: unit.KindCount, Min: fewestPoints, Max: mostPoints},
		{Field: "vertices", Label: unit.Say("points round the outline"), Kind: unit.KindCount, Min: 3, Max: 20000},
		mm("hole_radius", "radius of the soundhole", 5, 150),
		mm("thickness", "thickness of the top", 0.8, 10),
		mm("dome_radius", "dome radius of the top", 500, 50000),
		{Field: "holes", Label: unit.Say("holes"), Kind: unit.KindCount, Min: 0, Max: 24},
		{Field: "braces", Label: unit.Say("braces"), Kind: unit.KindCount, Min: 0, Max: 60},
		{Field: "patches", Label: unit.Say("plates"), Kind: unit.KindCount, Min: 0, Max: 24},
		mm("width", "brace width", 1, 60),
		mm("height", "brace height", 0.3, 60),
		{Field: "at", Label: unit.Say("place along the brace"), Kind: unit.KindRatio, Min: 0, Max: 1},
		mm("patch_thickness", "thickness of the plate", 0.3, 30),
		mm("bridge_along", "bridge along the strings", 8, 120),
		mm("bridge_across", "bridge across the strings", 20, 350),
		{Field: "cross_angle", Label: unit.Say("X-brace's leg from the centreline"), Kind: unit.KindAngle, Min: 25 * float64(unit.Degree), Max: 65 * float64(unit.Degree)},
		mm("cross_at", "crossing of the X from the tail", 30, 780),
		{Field: "bars", Label: unit.Say("bars"), Kind: unit.KindCount, Min: 0, Max: 9},
		mm("inset", "braces stop short of the edge by", 0, 60),
		{Field: "pattern", Label: unit.Say("brace pattern"), Kind: unit.KindChoice},
	} {
		m[l.Field] = l
	}
	return m
}()

// LimitOf returns the range of one of the package's inputs.
func LimitOf(field string) (unit.Limit, bool) {
	l, ok := limits[field]
	return l, ok
}

func need(field string, v float64) error { return limits[field].CheckOffering(v) }

// needAs checks a figure of a list against a range of the package, and names the figure's own place.
func needAs(limit, field string, label unit.Phrase, v float64) error {
	l := limits[limit]
	l.Field, l.Label = field, label
	return l.CheckOffering(v)
}

// refuse reports an input that cannot go with another one.
func refuse(field string, v float64, why unit.Text, args ...any) error {
	return &unit.RangeError{Limit: limits[field], Value: v, Why: unit.Say(why, args...)}
}

func refuseAs(field string, label unit.Phrase, got string, why unit.Text, args ...any) error {
	return &unit.RangeError{Limit: unit.Limit{Field: field, Label: label, Kind: unit.KindText}, Got: got, Value: math.NaN(), Why: unit.Say(why, args...)}
}
