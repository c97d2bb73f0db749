package fretting

import (
	"math"

	"fairset/unit"
)

// Surface is the face of a board: flat, an arc of one radius, or a cone whose radius grows evenly from the
// nut to the end, with the centreline as one of its straight lines. The radius at x is what a gauge held
// square to the centreline reads there.
type Surface struct {
	nut  float64 // radius at x = 0; 0 for flat
	grow float64 // radius gained per length
}

// NewSurface makes a face of nut and end radius over the board's length. Two zeros are flat.
//
// Valid for: radii 100 mm to 5 m, both or neither zero; otherwise a *unit.RangeError naming nut_radius or
// end_radius.
func NewSurface(nut, end, length unit.Length) (Surface, error) {
	if nut == 0 && end == 0 {
		return Surface{}, nil
	}
	if err := unit.Checks(needLength("nut_radius", nut), needLength("end_radius", end)); err != nil {
		return Surface{}, err
	}
	if err := needLength("board_length", length); err != nil {
		return Surface{}, err
	}
	k := float64(end-nut) / float64(length)
	if math.Abs(k) >= 1 {
		return Surface{}, refuse("end_radius", float64(end), "the radius changes too fast over so short a board")
	}
	return Surface{float64(nut), k}, nil
}

// Flat reports whether the face has no radius.
func (s Surface) Flat() bool { return s.nut == 0 }

// Radius is what a radius gauge square to the centreline reads on it at x; 0 for flat.
func (s Surface) Radius(x unit.Length) unit.Length {
	if s.Flat() {
		return 0
	}
	return unit.Length(s.nut + s.grow*float64(x))
}

// Height returns how high the face stands at (x, y) over its centreline: 0 or less.
//
//	z = -y²/(R + sqrt(R² - (1 - k²) y²)),  R = radius at x,  k = radius gained per length
//
// With k = 0 it is the circle. Where the cone does not reach so far out, or x lies beyond its point, the
// result is NaN. Source: derived in docs/method/fretting.md.
func (s Surface) Height(x, y unit.Length) unit.Length {
	if s.Flat() {
		return 0
	}
	R, yy, k := s.nut+s.grow*float64(x), float64(y), s.grow
	if R <= 0 {
		return unit.Length(math.NaN())
	}
	return unit.Length(-yy * yy / (R + math.Sqrt(R*R-(1-k*k)*yy*yy)))
}

// alongParts cuts a line for measuring along the face. The error of chords is the line's length cubed over
// 24 R² N²: 0.00002 mm for a 60 mm fret on a 250 mm radius.
const alongParts = 64

// Along measures along the face under a line seen from above: what a fret bent to the face needs.
func (s Surface) Along(l Line) unit.Length {
	if s.Flat() {
		return l.Length()
	}
	step := float64(l.Length()) / alongParts
	sum := 0.0
	z := s.Height(l.Bass.X, l.Bass.Y)
	for i := 1; i <= alongParts; i++ {
		p := l.at(float64(i) / alongParts)
		next := s.Height(p.X, p.Y)
		sum += math.Hypot(step, float64(next-z))
		z = next
	}
	return unit.Length(sum)
}
