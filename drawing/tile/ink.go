package tile

import (
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// inks is what of a sheet counts as drawn: everything but the paper's own ground.
type inks struct {
	reach drawing.Box
	parts []ink
}

type ink struct {
	reach  drawing.Box
	runs   [][]drawing.Point // nil when the whole reach counts
	filled bool
	rim    unit.Length // half the line's weight
}

// inkOf flattens the sheet's parts once for all tiles.
func inkOf(s *drawing.Sheet) inks {
	inf := unit.Length(math.Inf(1))
	out := inks{reach: drawing.Box{Left: inf, Bottom: inf, Right: -inf, Top: -inf}}
	for _, it := range s.Parts() {
		pen := it.Pen.Over(it.Layer.Pen())
		k := ink{reach: it.Reach(), filled: it.Fill != ""}
		if !pen.None {
			k.rim = pen.Weight.Abs() / 2
		}
		if words, ok := it.Shape.(drawing.Text); ok {
			if words.String == "" {
				continue
			}
		} else {
			if it.Layer == drawing.LayerPaper || pen.None && (!k.filled || it.Fill == drawing.Paper) {
				continue
			}
			path, _ := drawing.AsPath(it.Shape)
			if k.runs = path.Flatten(0.05 * unit.MM); len(k.runs) == 0 {
				continue
			}
		}
		out.parts = append(out.parts, k)
		b := &out.reach
		b.Left, b.Right = min(b.Left, k.reach.Left), max(b.Right, k.reach.Right)
		b.Bottom, b.Top = min(b.Bottom, k.reach.Bottom), max(b.Top, k.reach.Top)
	}
	if len(out.parts) == 0 {
		out.reach = drawing.Box{}
	}
	return out
}

// in reports whether anything is drawn in a window. In doubt (words, whose box is reckoned) it says yes.
func (k inks) in(w drawing.Box) bool {
	for _, p := range k.parts {
		if !p.reach.Overlaps(w) {
			continue
		}
		if p.runs == nil || p.reach.Inside(w) {
			return true
		}
		// The curve itself was drawn within 0.05 mm of the run.
		rim := p.rim + 0.05*unit.MM
		grown := drawing.Box{Left: w.Left - rim, Bottom: w.Bottom - rim, Right: w.Right + rim, Top: w.Top + rim}
		for _, run := range p.runs {
			for i := 1; i < len(run); i++ {
				if crosses(run[i-1], run[i], grown) {
					return true
				}
			}
		}
		if p.filled && winding(p.runs, drawing.Point{X: (w.Left + w.Right) / 2, Y: (w.Bottom + w.Top) / 2}) != 0 {
			return true
		}
	}
	return false
}

// words reports whether words stand in a window.
func (k inks) words(w drawing.Box) bool {
	for _, p := range k.parts {
		if p.runs == nil && p.reach.Overlaps(w) {
			return true
		}
	}
	return false
}

// crosses reports whether a straight has a point in a box (Liang and Barsky, A new concept and method for line
// clipping, 1984).
func crosses(a, b drawing.Point, box drawing.Box) bool {
	from, to := unit.Length(0), unit.Length(1)
	for _, e := range [4][2]unit.Length{{a.X - b.X, a.X - box.Left}, {b.X - a.X, box.Right - a.X}, {a.Y - b.Y, a.Y - box.Bottom}, {b.Y - a.Y, box.Top - a.Y}} {
		switch {
		case e[0] == 0:
			if e[1] < 0 {
				return false
			}
		case e[0] < 0:
			from = max(from, e[1]/e[0])
		default:
			to = min(to, e[1]/e[0])
		}
	}
	return from <= to
}

// winding counts how often outlines go round a point; every writer fills where that is not 0.
func winding(runs [][]drawing.Point, at drawing.Point) int {
	n := 0
	for _, run := range runs {
		for i, b := range run {
			a := run[(i+len(run)-1)%len(run)]
			if (a.Y <= at.Y) == (b.Y <= at.Y) {
				continue
			}
			if x := a.X + (at.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X); x > at.X {
				if b.Y > a.Y {
					n++
				} else {
					n--
				}
			}
		}
	}
	return n
}
