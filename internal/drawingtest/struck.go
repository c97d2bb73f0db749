package drawingtest

import (
	"fmt"
	"math"

	"fairset/drawing"
)

// Struck names the words of a sheet that a line runs through: one without a halo under them, or one drawn over them. A
// line that lies under a halo is broken behind the words, which is what a halo is for; but a line to cut along must not be broken, so
// that is named too.
func Struck(s *drawing.Sheet) (out []string) {
	parts := s.Parts()
	for j, it := range parts {
		words, ok := it.Shape.(drawing.Text)
		if !ok {
			continue
		}
		for i, line := range parts {
			if line.Pen.None || i < j && words.Halo != "" && line.Layer != drawing.LayerCut {
				continue
			}
			if runs, ok := strokes(line.Shape); ok && through(runs, words) {
				out = append(out, fmt.Sprintf("%s: a line of the layer %q (%s) runs through %q", s.Title, s.LayerName(line.Layer), line.Name, words.String))
				break
			}
		}
	}
	return out
}

// strokes flattens what a pen draws; false for words.
func strokes(shape drawing.Shape) ([][]drawing.Point, bool) {
	turned := func(c drawing.Point, r float64, from, sweep float64) (run []drawing.Point) {
		const n = 96
		for i := range n + 1 {
			sin, cos := math.Sincos(from + sweep*float64(i)/n)
			run = append(run, drawing.At(c.X.MM()+r*cos, c.Y.MM()+r*sin))
		}
		return run
	}
	switch s := shape.(type) {
	case drawing.Line:
		return [][]drawing.Point{{s.From, s.To}}, true
	case drawing.Polyline:
		p := s.Points
		if s.Closed && len(p) > 0 {
			p = append(p[:len(p):len(p)], p[0])
		}
		return [][]drawing.Point{p}, true
	case drawing.Circle:
		return [][]drawing.Point{turned(s.Centre, s.Radius.MM(), 0, 2*math.Pi)}, true
	case drawing.Arc:
		return [][]drawing.Point{turned(s.Centre, s.Radius.MM(), float64(s.Start), float64(s.Sweep))}, true
	case drawing.Path:
		return s.Flatten(0.05 * mm), true
	}
	return nil, false
}

// through reports whether a stroke enters the room of the letters: from the baseline to the height of capitals, which is
// 0.72 of the size in the widths' own face, a little in from either end.
func through(runs [][]drawing.Point, t drawing.Text) bool {
	wide := drawing.Width(t.String, t.Size, false).MM()
	left := 0.0
	switch t.Anchor {
	case drawing.Middle:
		left = -wide / 2
	case drawing.End:
		left = -wide
	}
	size := t.Size.MM()
	lo, hi := [2]float64{left + 0.05*size, 0.03 * size}, [2]float64{left + wide - 0.05*size, 0.69 * size}
	sin, cos := math.Sincos(float64(t.Turn))
	own := func(p drawing.Point) [2]float64 { // in the words' own frame
		x, y := (p.X - t.At.X).MM(), (p.Y - t.At.Y).MM()
		return [2]float64{x*cos + y*sin, y*cos - x*sin}
	}
	for _, run := range runs {
		for k := 1; k < len(run); k++ {
			a, b := own(run[k-1]), own(run[k])
			from, to := 0.0, 1.0 // the share of the stroke inside, clipped side by side (Liang and Barsky 1984)
			for d := range 2 {
				step := b[d] - a[d]
				if step == 0 {
					if a[d] <= lo[d] || a[d] >= hi[d] {
						from, to = 1, 0
					}
					continue
				}
				u, v := (lo[d]-a[d])/step, (hi[d]-a[d])/step
				from, to = math.Max(from, math.Min(u, v)), math.Min(to, math.Max(u, v))
			}
			if from < to {
				return true
			}
		}
	}
	return false
}
