package body

import (
	"fmt"
	"math"

	"fairset/unit"
)

// End is the shape of one end of the body where the centreline meets it, in plan. With nothing given it is as round as the
// rest of the outline makes it.
type End struct {
	Radius unit.Length // on the centreline; 0: as the landmarks make it
	Flat   unit.Length // straight across the centreline for this width, instead of a radius; 0: none
}

// Landmarks are what a maker measures on a body: how wide where.
type Landmarks struct {
	Length                             unit.Length // tail to neck end on the centreline
	LowerWidth, WaistWidth, UpperWidth unit.Length // across the whole body
	LowerAt, WaistAt, UpperAt          unit.Length // from the tail, along the centreline
	Tail, Neck                         End
}

// Outline is the edge of a body, one half mirrored about the centreline. The zero Outline has no edge and may not be
// asked anything; New and Through make one.
type Outline struct {
	half  []Curve // from the tail to the neck end with y >= 0
	rule  ruler
	rough []Point // a fine polygon, counter-clockwise, to look up places on
}

// roughness is about the number of vertices places are looked up on. They stand at equal steps of each curve's parameter, one to three
// millimetres apart on a guitar, and so lie within some thousandths of a millimetre of the curve.
const roughness = 1440

func newOutline(half []Curve) Outline {
	o := Outline{half: half, rule: newRuler(half)}
	var up []Point // the half with y >= 0, from the tail
	for i, c := range half {
		before := 0.0
		if i > 0 {
			before = o.rule.sums[i*arcPieces-1]
		}
		n := max(4, int(math.Ceil(roughness/2*(o.rule.sums[(i+1)*arcPieces-1]-before)/o.rule.total())))
		for k := range n {
			p := c.at(float64(k) / float64(n))
			up = append(up, at(p.x, p.y))
		}
	}
	end := half[len(half)-1][3]
	for _, p := range up {
		o.rough = append(o.rough, p.Mirror())
	}
	o.rough = append(o.rough, end)
	for k := len(up) - 1; k > 0; k-- {
		o.rough = append(o.rough, up[k])
	}
	return o
}

// Shape of the curve between the landmarks: how far its control points reach, as a share of the way to the next
// landmark. quarter makes a quarter of a circle as round as a cubic can, sway an even S.
const (
	quarter = 0.5523 // source: 4/3 (√2 - 1), the usual cubic approximation of a quarter circle; derived in docs/method/body.md
	sway    = 0.5    // our own
	reach   = 0.92   // our own: no control point gets nearer the next landmark's station than this share
)

// leastSwell is how much narrower than both bouts a waist must be.
const leastSwell = 1 * unit.MM

// New makes a smooth outline from landmarks. It touches each width at its station, with its edge parallel to the
// centreline there, and crosses the centreline square at both ends; its curvature is continuous all round, but for the ends of
// a straight part. Between the stations it only widens or only narrows, so it never crosses itself.
//
// All lengths are in metres and > 0, within LimitOf. Errors are *unit.RangeError naming length, lower_width, lower_at,
// waist_width, waist_at, upper_width, upper_at, tail_radius, tail_flat, neck_radius or neck_flat.
// Source: derived in docs/method/body.md.
func New(l Landmarks) (Outline, error) {
	err := unit.Checks(
		need("length", float64(l.Length)),
		need("lower_width", float64(l.LowerWidth)), need("lower_at", float64(l.LowerAt)),
		need("waist_width", float64(l.WaistWidth)), need("waist_at", float64(l.WaistAt)),
		need("upper_width", float64(l.UpperWidth)), need("upper_at", float64(l.UpperAt)))
	if err != nil {
		return Outline{}, err
	}
	for _, e := range []struct {
		name string
		End
	}{{"tail", l.Tail}, {"neck", l.Neck}} {
		if err := need(e.name+"_flat", float64(e.Flat)); err != nil {
			return Outline{}, err
		}
		if e.Radius != 0 {
			if err := need(e.name+"_radius", float64(e.Radius)); err != nil {
				return Outline{}, err
			}
			if e.Flat > 0 {
				return Outline{}, refuse(e.name+"_flat", float64(e.Flat), "an end is either straight or has a radius: give one of the two")
			}
		}
	}
	const gap = 10 * unit.MM
	switch {
	case l.WaistAt < l.LowerAt+gap:
		return Outline{}, refuse("waist_at", float64(l.WaistAt), "the waist lies nearer the neck than the lower bout's widest place, at %v, by 10 mm or more", l.LowerAt)
	case l.UpperAt < l.WaistAt+gap:
		return Outline{}, refuse("upper_at", float64(l.UpperAt), "the upper bout's widest place lies nearer the neck than the waist, at %v, by 10 mm or more", l.WaistAt)
	case l.Length < l.UpperAt+gap:
		return Outline{}, refuse("upper_at", float64(l.UpperAt), "the body ends at %v: the upper bout is widest 10 mm before that or more", l.Length)
	case l.WaistWidth > l.LowerWidth-2*leastSwell:
		return Outline{}, refuse("waist_width", float64(l.WaistWidth), "the waist must be narrower than the lower bout, %v; for a body without a waist give its outline as points", l.LowerWidth)
	case l.WaistWidth > l.UpperWidth-2*leastSwell:
		return Outline{}, refuse("waist_width", float64(l.WaistWidth), "the waist must be narrower than the upper bout, %v; for a body without a waist give its outline as points", l.UpperWidth)
	case l.Tail.Flat > l.LowerWidth*reach:
		return Outline{}, refuse("tail_flat", float64(l.Tail.Flat), "it must leave room for the corners of the lower bout")
	case l.Neck.Flat > l.UpperWidth*reach:
		return Outline{}, refuse("neck_flat", float64(l.Neck.Flat), "it must leave room for the shoulders of the upper bout")
	}

	length := float64(l.Length)
	hl, hw, hu := float64(l.LowerWidth)/2, float64(l.WaistWidth)/2, float64(l.UpperWidth)/2
	xl, xw, xu := float64(l.LowerAt), float64(l.WaistAt), float64(l.UpperAt)
	s1, s2 := xw-xl, xu-xw
	tail, a, b, err := endOf("tail", l.Tail, hl, xl, hl-hw, s1)
	if err != nil {
		return Outline{}, err
	}
	c, d := match(hl-hw, s1, sway, hu-hw, s2, sway)
	neck, f, e, err := endOf("neck", l.Neck, hu, length-xu, hu-hw, s2)
	if err != nil {
		return Outline{}, err
	}
	tf, nf := float64(l.Tail.Flat)/2, float64(l.Neck.Flat)/2
	var half []Curve
	if tf > 0 {
		half = append(half, straight(vec{0, 0}, vec{0, tf}))
	}
	half = append(half,
		Curve{at(0, tf), at(0, tail), at(xl-a, hl), at(xl, hl)},
		Curve{at(xl, hl), at(xl+b, hl), at(xw-c, hw), at(xw, hw)},
		Curve{at(xw, hw), at(xw+d, hw), at(xu-e, hu), at(xu, hu)},
		Curve{at(xu, hu), at(xu+f, hu), at(length, neck), at(length, nf)})
	if nf > 0 {
		half = append(half, straight(vec{length, nf}, vec{length, 0}))
	}
	return newOutline(half), nil
}

// match finds how far the control points reach on both sides of a station where the edge runs along the centreline, so that both
// curves bend alike there. A cubic whose control point lies h along the tangent, and whose next one lies drop off it, bends by
// 2 drop/(3 h²). It starts from what each side would like, takes the middle in the geometric mean, and shortens both if one
// would reach too far. source: the curvature of a Bézier curve at its end, Farin, Curves and Surfaces for CAGD; derived in docs/method/body.md.
func match(dropA, spanA, likeA, dropB, spanB, likeB float64) (a, b float64) {
	bend := func(drop, h float64) float64 { return drop / (h * h) }
	k := math.Sqrt(bend(dropA, likeA*spanA) * bend(dropB, likeB*spanB))
	k = math.Max(k, math.Max(bend(dropA, reach*spanA), bend(dropB, reach*spanB)))
	return math.Sqrt(dropA / k), math.Sqrt(dropB / k)
}

// endOf shapes one end: how far across its control point lies from the centreline, and how far the two at the bout reach,
// toward the end and toward the waist. half is half the bout's width, span the bout's distance from the end, drop and toWaist
// what lies between bout and waist.
func endOf(name string, e End, half, span, drop, toWaist float64) (across, toEnd, onward float64, err error) {
	shape := func(p float64) (float64, float64) {
		return match(half-p, span, quarter, drop, toWaist, sway)
	}
	flat := float64(e.Flat) / 2
	across = flat + quarter*(half-flat)
	if e.Radius > 0 {
		radius := func(p float64) float64 {
			h, _ := shape(p)
			return 1.5 * p * p / (span - h)
		}
		// The radius grows with the reach, so the one asked for lies between two steps that enclose it.
		const steps = 400
		lo, hi := 0.15*half, 0.97*half
		p0, found := lo, false
		least, most := math.Inf(1), math.Inf(-1)
		for i := 0; i <= steps; i++ {
			p := lo + (hi-lo)*float64(i)/steps
			r := radius(p)
			least, most = math.Min(least, r), math.Max(most, r)
			if r >= float64(e.Radius) && i > 0 && radius(p0) <= float64(e.Radius) {
				lo, hi, found = p0, p, true
				break
			}
			p0 = p
		}
		if !found {
			return 0, 0, 0, &unit.RangeError{Limit: unit.Limit{Field: name + "_radius", Label: limits[name+"_radius"].Label, Kind: unit.KindLength, Min: least, Max: most}, Value: float64(e.Radius),
				Why: unit.Say("with these widths and stations the end cannot be that round or that flat")}
		}
		for range 60 {
			mid := (lo + hi) / 2
			if radius(mid) < float64(e.Radius) {
				lo = mid
			} else {
				hi = mid
			}
		}
		across = (lo + hi) / 2
	}
	toEnd, onward = shape(across)
	return across, toEnd, onward, nil
}

// Fewest and most points of a typed half outline.
const (
	fewestPoints = 5
	mostPoints   = 400
)

// nearest is how close two neighbouring points of a typed outline may lie.
const nearest = 0.2 * unit.MM

// Through makes an outline through points of one half, from the tail to the neck end: the first and the last lie on the centreline,
// the others on one side of it. A closed cubic spline with chord-length parameter runs through them and their mirror images, so
// a circle of 12 or more points comes out round to a ten-thousandth. y may be typed with either sign, but all with the same one.
//
// Between 5 and 400 points. Errors are *unit.RangeError naming points, or points[i] counted from 0: outside a plausible body, on the wrong
// side, doubled, or where the outline crosses itself. Source: de Boor, A Practical Guide to Splines, chapter IV; derived in docs/method/body.md.
func Through(points []Point) (Outline, error) {
	if err := need("points", float64(len(points))); err != nil {
		return Outline{}, err
	}
	label := func(i int) unit.Phrase { return unit.Say("point %d of the half outline", i+1) }
	bad := func(i int, why unit.Text) error {
		p := points[i]
		return refuseAs(fmt.Sprintf("points[%d]", i), label(i), fmt.Sprintf("(%v, %v)", p.X, p.Y), why)
	}
	n := len(points) - 1
	sign := unit.Length(1)
	for _, p := range points {
		if p.Y < 0 {
			sign = -1
		}
	}
	half := make([]vec, len(points))
	for i, p := range points {
		switch {
		case !p.finite():
			return Outline{}, bad(i, "must be finite numbers")
		case p.X.Abs() > 1 || p.Y.Abs() > 0.5:
			return Outline{}, bad(i, "no body is that large: x runs to 800 mm at most, y to 350 mm")
		case (i == 0 || i == n) && p.Y != 0:
			return Outline{}, bad(i, "the first and the last point lie on the centreline: y is 0 there")
		case i == 0 && p.X != 0:
			return Outline{}, bad(i, "the first point is the tail on the centreline: x is 0 there")
		case i > 0 && i < n && p.Y*sign <= 0:
			return Outline{}, bad(i, "the points between the first and the last lie on one side of the centreline")
		case i > 0 && p.Distance(points[i-1]) < nearest:
			return Outline{}, bad(i, "it lies on the point before it: leave one of the two out")
		}
		half[i] = vec{float64(p.X), float64(p.Y * sign)}
	}
	if err := needAs("length", "points", unit.Say("length of the outline"), half[n].x); err != nil {
		return Outline{}, err
	}
	o := newOutline(spline(half))
	widest := 0.0
	run := o.rough[len(o.rough)/2:] // the half with y >= 0, from the neck end back to the tail
	run = append(run[:len(run):len(run)], o.rough[0])
	for i, p := range run {
		widest = math.Max(widest, 2*float64(p.Y))
		if i > 0 && i < len(run)-1 && p.Y <= 0 {
			return Outline{}, refuseAs("points", unit.Say("points of the half outline"), "these points", "the curve through them crosses the centreline near x = %.0f mm: give more points there, or move them apart", p.X.MM())
		}
	}
	for i := range run[1:] {
		for j := i + 2; j+1 < len(run); j++ {
			if crosses(run[i], run[i+1], run[j], run[j+1]) {
				return Outline{}, refuseAs("points", unit.Say("points of the half outline"), "these points", "the outline crosses itself near x = %.0f mm, y = %.0f mm: list the points in order from the tail to the neck end", run[i].X.MM(), run[i].Y.MM())
			}
		}
	}
	if err := needAs("lower_width", "points", unit.Say("greatest width of the outline"), widest); err != nil {
		return Outline{}, err
	}
	return o, nil
}

// spline runs through one half of a curve that is its own mirror image: x is even and y odd about both ends, so x has no slope there and
// y no second derivative, and the closed spline parts into two halves of one chain each.
func spline(p []vec) []Curve {
	n := len(p) - 1
	h := make([]float64, n)
	for i := range h {
		h[i] = math.Hypot(p[i+1].x-p[i].x, p[i+1].y-p[i].y)
	}
	mx, my := make([]float64, n+1), make([]float64, n+1) // slopes at the points
	solve := func(v func(vec) float64, m []float64, clamped bool) {
		lower, diag, upper := make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
		d := func(i int) float64 { return (v(p[i+1]) - v(p[i])) / h[i] }
		for i := 1; i < n; i++ {
			lower[i], diag[i], upper[i] = h[i], 2*(h[i-1]+h[i]), h[i-1]
			m[i] = 3 * (h[i]*d(i-1) + h[i-1]*d(i))
		}
		if clamped {
			diag[0], diag[n] = 1, 1
		} else {
			diag[0], upper[0], m[0] = 2, 1, 3*d(0)
			lower[n], diag[n], m[n] = 1, 2, 3*d(n-1)
		}
		for i := 1; i <= n; i++ {
			w := lower[i] / diag[i-1]
			diag[i] -= w * upper[i-1]
			m[i] -= w * m[i-1]
		}
		m[n] /= diag[n]
		for i := n - 1; i >= 0; i-- {
			m[i] = (m[i] - upper[i]*m[i+1]) / diag[i]
		}
	}
	solve(func(q vec) float64 { return q.x }, mx, true)
	solve(func(q vec) float64 { return q.y }, my, false)
	out := make([]Curve, n)
	for i := range out {
		k := h[i] / 3
		out[i] = Curve{at(p[i].x, p[i].y), at(p[i].x+k*mx[i], p[i].y+k*my[i]), at(p[i+1].x-k*mx[i+1], p[i+1].y-k*my[i+1]), at(p[i+1].x, p[i+1].y)}
	}
	return out
}

// Half returns the half with y >= 0 as curves, from the tail to the neck end.
func (o Outline) Half() []Curve { return append([]Curve(nil), o.half...) }

// Curves returns the whole outline as curves, counter-clockwise from the tail on the centreline: first the half with y < 0.
func (o Outline) Curves() []Curve {
	var out []Curve
	for _, c := range o.half {
		out = append(out, c.mirrored())
	}
	for i := len(o.half) - 1; i >= 0; i-- {
		out = append(out, o.half[i].reversed())
	}
	return out
}

// Made reports whether the outline has an edge.
func (o Outline) Made() bool { return len(o.half) > 0 }

// Length is from the tail to the neck end on the centreline.
func (o Outline) Length() unit.Length { return o.half[len(o.half)-1][3].X }

// Perimeter is the length of the edge all round.
func (o Outline) Perimeter() unit.Length { return unit.Length(2 * o.rule.total()) }

// Area is the area inside, in square metres, holes not taken off. It is exact for the curves.
func (o Outline) Area() float64 {
	sum := 0.0
	for _, c := range o.half {
		sum += c.under()
	}
	return 2 * sum
}

// Polygon returns n vertices at equal steps along the edge, counter-clockwise from the tail on the centreline. n is 3 to
// 20 000. Errors are *unit.RangeError naming vertices.
func (o Outline) Polygon(n int) ([]Point, error) {
	if err := need("vertices", float64(n)); err != nil {
		return nil, err
	}
	return o.polygon(n), nil
}

func (o Outline) polygon(n int) []Point {
	out := make([]Point, n)
	total := o.rule.total()
	for i := range out {
		s := 2 * total * float64(i) / float64(n)
		if s <= total {
			p := o.rule.point(s)
			out[i] = at(p.x, -p.y)
		} else {
			p := o.rule.point(2*total - s)
			out[i] = at(p.x, p.y)
		}
	}
	out[0].Y = 0
	if n%2 == 0 {
		out[n/2].Y = 0
	}
	return out
}

// WidthAt is the width across the whole body at a distance from the tail, 0 outside it. Where a typed outline doubles back
// it is the greatest one there.
func (o Outline) WidthAt(x unit.Length) unit.Length {
	most := 0.0
	for _, c := range o.half {
		const steps = 64
		for i := range steps {
			t0, t1 := float64(i)/steps, float64(i+1)/steps
			a, b := c.at(t0), c.at(t1)
			if (a.x-float64(x))*(b.x-float64(x)) > 0 {
				continue
			}
			if a.x == b.x {
				most = math.Max(most, math.Max(a.y, b.y))
				continue
			}
			for range 60 {
				mid := (t0 + t1) / 2
				if (c.at(mid).x < float64(x)) == (a.x < b.x) {
					t0 = mid
				} else {
					t1 = mid
				}
			}
			most = math.Max(most, c.at((t0+t1)/2).y)
		}
	}
	return unit.Length(2 * most)
}

// Widest is the greatest width and how far from the tail it lies.
func (o Outline) Widest() (width, at unit.Length) {
	for _, p := range o.rough {
		if 2*p.Y > width {
			width, at = 2*p.Y, p.X
		}
	}
	return width, at
}

// Swell is a place where the body is widest or narrowest between its neighbours.
type Swell struct {
	At     unit.Length // from the tail
	Width  unit.Length // across the whole body
	Narrow bool        // a waist
}

// Swells lists the bouts and waists from the tail to the neck end. They are where a curve's y has no slope, which is a quadratic.
func (o Outline) Swells() []Swell {
	const look = 1e-3 // m along the edge to both sides, to tell which way it turns
	var out []Swell
	total, before := o.rule.total(), 0.0
	for _, c := range o.half {
		p := c.controls()
		a, b, d := p[1].y-p[0].y, p[2].y-p[1].y, p[3].y-p[2].y // y' = 3 (a (1-t)² + 2 b t(1-t) + d t²)
		qa, qb := a-2*b+d, b-a
		var ts []float64
		switch disc := qb*qb - qa*a; {
		case math.Abs(qa) < 1e-15 && qb != 0:
			ts = []float64{-a / (2 * qb)}
		case math.Abs(qa) >= 1e-15 && disc >= 0:
			r := math.Sqrt(disc)
			ts = []float64{(-qb - r) / qa, (-qb + r) / qa}
			if ts[0] > ts[1] {
				ts[0], ts[1] = ts[1], ts[0]
			}
		}
		for _, t := range ts {
			if t < -1e-9 || t > 1+1e-9 {
				continue
			}
			t = math.Max(0, math.Min(1, t))
			s, v := before, c.at(t)
			for i := range arcPieces {
				t0, t1 := float64(i)/arcPieces, float64(i+1)/arcPieces
				if t <= t0 {
					break
				}
				s += c.arc(t0, math.Min(t, t1))
			}
			if n := len(out); s < look || s > total-look || n > 0 && math.Abs(float64(out[n-1].At)-v.x) < 1e-6 {
				continue
			}
			l, r := o.rule.point(s-look).y, o.rule.point(s+look).y
			if v.y > l && v.y > r || v.y < l && v.y < r {
				out = append(out, Swell{At: unit.Length(v.x), Width: unit.Length(2 * v.y), Narrow: v.y < l})
			}
		}
		for i := range arcPieces {
			before += c.arc(float64(i)/arcPieces, float64(i+1)/arcPieces)
		}
	}
	return out
}

// Inside reports whether a point lies within the edge, and at least clear away from it. The edge is taken as a polygon of some 1440
// vertices, within some thousandths of a millimetre.
func (o Outline) Inside(p Point, clear unit.Length) bool {
	if !p.finite() || !inside(o.rough, p) {
		return false
	}
	return clear <= 0 || o.edge(p) >= clear
}

// edge is how far a point lies from the outline.
func (o Outline) edge(p Point) unit.Length {
	least := unit.Length(math.Inf(1))
	for i, a := range o.rough {
		least = min(least, away(p, a, o.rough[(i+1)%len(o.rough)]))
	}
	return least
}

// Reach is the distance from a point inside to the edge in a direction, given as an angle from +x toward +y; 0 if the
// edge is not met.
func (o Outline) Reach(from Point, way unit.Angle) unit.Length {
	const slip = 1e-9 // of an edge
	sin, cos := math.Sincos(float64(way))
	best := math.Inf(1)
	for i, a := range o.rough {
		b := o.rough[(i+1)%len(o.rough)]
		ax, ay := float64(a.X-from.X), float64(a.Y-from.Y)
		ex, ey := float64(b.X-a.X), float64(b.Y-a.Y)
		det := cos*ey - sin*ex
		if det == 0 {
			continue
		}
		t, u := (ax*ey-ay*ex)/det, (ax*sin-ay*cos)/det
		if t > 1e-9 && u >= -slip && u <= 1+slip { // a ray through a vertex must not slip between two edges
			best = math.Min(best, t)
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return unit.Length(best)
}
