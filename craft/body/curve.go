package body

import (
	"math"
	"sort"

	"fairset/unit"
)

// Curve is a cubic Bézier: from the first point to the last, drawn toward the two between.
type Curve [4]Point

type vec struct{ x, y float64 }

func (c Curve) controls() (p [4]vec) {
	for i, q := range c {
		p[i] = vec{float64(q.X), float64(q.Y)}
	}
	return p
}

// at returns the point at parameter t.
func (c Curve) at(t float64) vec {
	p, s := c.controls(), 1-t
	b := [4]float64{s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t}
	var out vec
	for i, w := range b {
		out.x += w * p[i].x
		out.y += w * p[i].y
	}
	return out
}

// slope returns the derivative at t.
func (c Curve) slope(t float64) vec {
	p, s := c.controls(), 1-t
	b := [3]float64{3 * s * s, 6 * s * t, 3 * t * t}
	var out vec
	for i, w := range b {
		out.x += w * (p[i+1].x - p[i].x)
		out.y += w * (p[i+1].y - p[i].y)
	}
	return out
}

func (c Curve) speed(t float64) float64 {
	d := c.slope(t)
	return math.Hypot(d.x, d.y)
}

// mirrored is the curve on the other side of the centreline, in the same direction of x.
func (c Curve) mirrored() Curve {
	for i := range c {
		c[i] = c[i].Mirror()
	}
	return c
}

func (c Curve) reversed() Curve { return Curve{c[3], c[2], c[1], c[0]} }

func straight(a, b vec) Curve {
	p := func(s float64) Point { return at(a.x+s*(b.x-a.x), a.y+s*(b.y-a.y)) }
	return Curve{p(0), p(1.0 / 3), p(2.0 / 3), p(1)}
}

// gauss are the nodes and weights of the five-point Gauss-Legendre rule on 0..1, exact for polynomials up to degree nine.
// source: Abramowitz & Stegun, Handbook of Mathematical Functions, table 25.4 (n = 5), moved from -1..1.
var gauss = func() (g [5]struct{ t, w float64 }) {
	a, b := math.Sqrt(5-2*math.Sqrt(10.0/7))/3, math.Sqrt(5+2*math.Sqrt(10.0/7))/3
	wa, wb := (322+13*math.Sqrt(70))/900, (322-13*math.Sqrt(70))/900
	for i, n := range [5][2]float64{{-b, wb}, {-a, wa}, {0, 128.0 / 225}, {a, wa}, {b, wb}} {
		g[i].t, g[i].w = (1+n[0])/2, n[1]/2
	}
	return g
}()

// arc is the length of the curve from t0 to t1.
func (c Curve) arc(t0, t1 float64) float64 {
	sum := 0.0
	for _, g := range gauss {
		sum += g.w * c.speed(t0+(t1-t0)*g.t)
	}
	return sum * (t1 - t0)
}

// under is the area between the curve and the centreline, + where x grows with y > 0: ∫ y dx, of degree five in t and so exact.
func (c Curve) under() float64 {
	sum := 0.0
	for _, g := range gauss {
		sum += g.w * c.at(g.t).y * c.slope(g.t).x
	}
	return sum
}

// arcPieces is how finely a curve's length is tabled.
const arcPieces = 48

// ruler measures along a run of curves.
type ruler struct {
	curves []Curve
	sums   []float64 // length at the end of each piece
}

func newRuler(curves []Curve) ruler {
	r := ruler{curves: curves, sums: make([]float64, 0, len(curves)*arcPieces)}
	sum := 0.0
	for _, c := range curves {
		for i := range arcPieces {
			sum += c.arc(float64(i)/arcPieces, float64(i+1)/arcPieces)
			r.sums = append(r.sums, sum)
		}
	}
	return r
}

func (r ruler) total() float64 { return r.sums[len(r.sums)-1] }

// point returns the place a length s along the run, 0 to total.
func (r ruler) point(s float64) vec {
	i := min(sort.SearchFloat64s(r.sums, s), len(r.sums)-1)
	before := 0.0
	if i > 0 {
		before = r.sums[i-1]
	}
	c := r.curves[i/arcPieces]
	t0, t1 := float64(i%arcPieces)/arcPieces, float64(i%arcPieces+1)/arcPieces
	t := t0
	if whole := r.sums[i] - before; whole > 0 {
		t += (t1 - t0) * (s - before) / whole
	}
	for range 8 {
		v := c.speed(t)
		if v == 0 {
			break
		}
		step := (c.arc(t0, t) - (s - before)) / v
		t = math.Max(t0, math.Min(t1, t-step))
		if math.Abs(step) < 1e-13 {
			break
		}
	}
	return c.at(t)
}

// Area is the area inside a polygon, + when its vertices run counter-clockwise, in square metres.
func Area(polygon []Point) float64 {
	sum := 0.0
	for i, p := range polygon {
		q := polygon[(i+1)%len(polygon)]
		sum += float64(p.X)*float64(q.Y) - float64(q.X)*float64(p.Y)
	}
	return sum / 2
}

// inside reports whether a point lies within a closed polygon.
func inside(polygon []Point, p Point) bool {
	in := false
	for i, a := range polygon {
		b := polygon[(i+1)%len(polygon)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}

// away is how far a point lies from the segment between a and b.
func away(p, a, b Point) unit.Length {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	t := 0.0
	if n := dx*dx + dy*dy; n > 0 {
		t = math.Max(0, math.Min(1, (float64(p.X-a.X)*dx+float64(p.Y-a.Y)*dy)/n))
	}
	return p.Distance(at(float64(a.X)+t*dx, float64(a.Y)+t*dy))
}

// along returns the point a share s of the way from a to b.
func along(a, b Point, s float64) Point {
	k := unit.Length(s)
	return Point{a.X + k*(b.X-a.X), a.Y + k*(b.Y-a.Y)}
}

// crosses reports whether the segments a-b and c-d meet in more than touching ends.
func crosses(a, b, c, d Point) bool {
	side := func(p, q, r Point) float64 {
		return float64(q.X-p.X)*float64(r.Y-p.Y) - float64(q.Y-p.Y)*float64(r.X-p.X)
	}
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}
