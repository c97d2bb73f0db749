package soundboard

import "math"

// vec is a point or direction in the plane, in metres.
type vec struct{ x, y float64 }

func (a vec) sub(b vec) vec             { return vec{a.x - b.x, a.y - b.y} }
func (a vec) add(b vec) vec             { return vec{a.x + b.x, a.y + b.y} }
func (a vec) scale(s float64) vec       { return vec{a.x * s, a.y * s} }
func (a vec) cross(b vec) float64       { return a.x*b.y - a.y*b.x }
func (a vec) dot(b vec) float64         { return a.x*b.x + a.y*b.y }
func (a vec) len() float64              { return math.Hypot(a.x, a.y) }
func (a vec) lerp(b vec, t float64) vec { return vec{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)} }

// area is signed, + anticlockwise.
func area(p []vec) float64 {
	s := 0.0
	for i, a := range p {
		s += a.cross(p[(i+1)%len(p)])
	}
	return s / 2
}

// extent is the larger side of the box around p.
func extent(p []vec) float64 {
	lo, hi := bounds(p)
	return math.Max(hi.x-lo.x, hi.y-lo.y)
}

func bounds(p []vec) (lo, hi vec) {
	lo, hi = p[0], p[0]
	for _, q := range p {
		lo = vec{math.Min(lo.x, q.x), math.Min(lo.y, q.y)}
		hi = vec{math.Max(hi.x, q.x), math.Max(hi.y, q.y)}
	}
	return lo, hi
}

// distance is that of q from the segment a to b.
func distance(q, a, b vec) float64 {
	d := b.sub(a)
	t := math.Max(0, math.Min(1, q.sub(a).dot(d)/d.dot(d)))
	return q.sub(a.lerp(b, t)).len()
}

// within reports whether q lies inside the polygon; on its very edge either answer may come.
func within(p []vec, q vec) bool {
	in := false
	a := p[len(p)-1]
	for _, b := range p {
		if (a.y > q.y) != (b.y > q.y) && q.x < a.x+(q.y-a.y)/(b.y-a.y)*(b.x-a.x) {
			in = !in
		}
		a = b
	}
	return in
}

// depth is how far q lies inside the polygon; negative outside.
func depth(p []vec, q vec) float64 {
	best := math.Inf(1)
	for i, a := range p {
		best = math.Min(best, distance(q, a, p[(i+1)%len(p)]))
	}
	if within(p, q) {
		return best
	}
	return -best
}

// meet reports whether two segments have a point in common.
func meet(a, b, c, d vec) bool {
	ab, cd := b.sub(a), d.sub(c)
	s1, s2 := ab.cross(c.sub(a)), ab.cross(d.sub(a))
	s3, s4 := cd.cross(a.sub(c)), cd.cross(b.sub(c))
	if s1*s2 < 0 && s3*s4 < 0 {
		return true
	}
	on := func(q, a, b vec) bool { return distance(q, a, b) < 1e-12 }
	return on(c, a, b) || on(d, a, b) || on(a, c, d) || on(b, c, d)
}

// crossing returns two edges of the polygon that meet though they are not neighbours, or that fold back on each other; -1 if none.
func crossing(p []vec) (int, int) {
	n := len(p)
	for i := range n {
		a, b := p[i], p[(i+1)%n]
		next := p[(i+2)%n].sub(b)
		if d := b.sub(a); math.Abs(d.cross(next)) <= 1e-12*d.len()*next.len() && d.dot(next) < 0 {
			return i, (i + 1) % n
		}
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if meet(a, b, p[j], p[(j+1)%n]) {
				return i, j
			}
		}
	}
	return -1, -1
}

// segmentMeets reports whether the segment crosses or touches the polygon's edge.
func segmentMeets(p []vec, a, b vec) bool {
	for i := range p {
		if meet(a, b, p[i], p[(i+1)%len(p)]) {
			return true
		}
	}
	return false
}

func rect(b *Bridge) [4]vec {
	x, y, l, w := float64(b.Centre.X), float64(b.Centre.Y), float64(b.Length)/2, float64(b.Width)/2
	return [4]vec{{x - l, y - w}, {x + l, y - w}, {x + l, y + w}, {x - l, y + w}}
}

// clipHalf keeps what of a polygon lies where n·p <= c. A hollow polygon may come back with edges that run to and fro along
// the cut; its signed integrals are right all the same (Sutherland & Hodgman, Comm. ACM 17, 1974; from memory).
func clipHalf(p []vec, n vec, c float64, out []vec) []vec {
	out = out[:0]
	for i, a := range p {
		b := p[(i+1)%len(p)]
		da, db := n.dot(a)-c, n.dot(b)-c
		if da <= 0 {
			out = append(out, a)
		}
		if da < 0 && db > 0 || da > 0 && db < 0 {
			out = append(out, a.lerp(b, da/(da-db)))
		}
	}
	return out
}

func clipBox(p []vec, x0, x1, y0, y1 float64) []vec {
	a := clipHalf(p, vec{1, 0}, x1, nil)
	b := clipHalf(a, vec{-1, 0}, -x0, nil)
	a = clipHalf(b, vec{0, 1}, y1, a)
	return clipHalf(a, vec{0, -1}, -y0, b)
}

// clipConvex keeps what lies inside an anticlockwise convex polygon.
func clipConvex(p []vec, q []vec) []vec {
	for i, a := range q {
		e := q[(i+1)%len(q)].sub(a)
		n := vec{e.y, -e.x}
		p = clipHalf(p, n, n.dot(a), nil)
		if len(p) == 0 {
			return nil
		}
	}
	return p
}

// round is a polygon of the same area as the circle.
func round(c vec, r float64, n int) []vec {
	a := 2 * math.Pi / float64(n)
	r *= math.Sqrt(a / math.Sin(a))
	p := make([]vec, n)
	for i := range p {
		s, co := math.Sincos(a * (float64(i) + 0.5))
		p[i] = vec{c.x + r*co, c.y + r*s}
	}
	return p
}
