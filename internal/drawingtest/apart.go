package drawingtest

import (
	"fmt"
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// Crowded names the words of a sheet that lie on other words or leave the paper.
func Crowded(s *drawing.Sheet) (out []string) {
	page := drawing.Box{Right: s.Width, Top: s.Height}
	var words []drawing.Text
	for _, it := range s.Parts() {
		x, ok := it.Shape.(drawing.Text)
		if !ok {
			continue
		}
		if !x.Box().Inside(page) {
			out = append(out, fmt.Sprintf("%s: %q leaves the page", s.Title, x.String))
		}
		for _, y := range words {
			if Meet(x, y) {
				out = append(out, fmt.Sprintf("%s: %q lies on %q", s.Title, x.String, y.String))
			}
		}
		words = append(words, x)
	}
	return out
}

// Meet reports whether the letters of two texts share room: no straight line along a side of
// either's own rectangle parts them (the separating axis theorem for convex shapes).
func Meet(a, b drawing.Text) bool {
	corners := func(t drawing.Text) (out [4][2]float64) {
		level := t
		level.Turn, level.At = 0, drawing.Point{}
		r := level.Box()
		sin, cos := math.Sincos(float64(t.Turn))
		for i, p := range [4][2]unit.Length{{r.Left, r.Bottom}, {r.Right, r.Bottom}, {r.Right, r.Top}, {r.Left, r.Top}} {
			x, y := p[0].MM(), p[1].MM()
			out[i] = [2]float64{t.At.X.MM() + x*cos - y*sin, t.At.Y.MM() + x*sin + y*cos}
		}
		return out
	}
	ca, cb := corners(a), corners(b)
	for _, turn := range []unit.Angle{a.Turn, a.Turn + math.Pi/2, b.Turn, b.Turn + math.Pi/2} {
		sin, cos := math.Sincos(float64(turn))
		span := func(c [4][2]float64) (lo, hi float64) {
			lo, hi = math.Inf(1), math.Inf(-1)
			for _, p := range c {
				v := p[0]*cos + p[1]*sin
				lo, hi = math.Min(lo, v), math.Max(hi, v)
			}
			return lo, hi
		}
		al, ah := span(ca)
		bl, bh := span(cb)
		if ah <= bl+1e-9 || bh <= al+1e-9 {
			return false
		}
	}
	return true
}
