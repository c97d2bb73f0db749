package drawing

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Grid is a field over a rectangle, known at the corners of square cells. At is row by row from the bottom, Columns in each;
// NaN where the field has no value.
type Grid struct {
	Corner        Point // of the first value
	Step          unit.Length
	Columns, Rows int
	At            []float64
}

// Check returns an error if the grid does not hold what it says.
func (g *Grid) Check() error {
	if g.Columns < 2 || g.Rows < 2 || g.Step <= 0 || !g.Step.Finite() || !g.Corner.X.Finite() || !g.Corner.Y.Finite() {
		return fmt.Errorf("a grid of %d × %d values, %v apart, is none", g.Columns, g.Rows, g.Step)
	}
	if len(g.At) != g.Columns*g.Rows {
		return fmt.Errorf("a grid of %d × %d values holds %d", g.Columns, g.Rows, len(g.At))
	}
	return nil
}

// Value is the field between the corners, straight along each cell's sides; NaN outside and in cells with a corner without a value.
func (g *Grid) Value(p Point) float64 {
	u, v := float64((p.X-g.Corner.X)/g.Step), float64((p.Y-g.Corner.Y)/g.Step)
	if !(u >= 0 && v >= 0 && u <= float64(g.Columns-1) && v <= float64(g.Rows-1)) {
		return math.NaN()
	}
	i, j := min(int(u), g.Columns-2), min(int(v), g.Rows-2)
	s, t := u-float64(i), v-float64(j)
	k := j*g.Columns + i
	a, b, c, d := g.At[k], g.At[k+1], g.At[k+g.Columns], g.At[k+g.Columns+1]
	return a*(1-s)*(1-t) + b*s*(1-t) + c*(1-s)*t + d*s*t
}

// Contours returns the lines along which the field has a value, as polylines: each is followed to where it ends at the rim of the
// grid or of what has values, or closes. On a cell's sides the field runs straight, so a line's points are off by the curvature of the field
// over one cell: an eighth of the second difference over the slope. A cell with a saddle is parted by the mean of its corners.
// A corner that has exactly the value counts as above it. Errors are those of Check, or a value that is no number.
func (g *Grid) Contours(value float64) ([]Polyline, error) {
	if err := g.Check(); err != nil {
		return nil, err
	}
	if !unit.Finite(value) {
		return nil, fmt.Errorf("no line has the value %v", value)
	}
	// Sides are numbered: those along x from corner k as 2k, those along y as 2k+1. Each carries at most one point, and each cell joins
	// its crossed sides in pairs.
	ends := map[int][2]int{} // side → the sides it is joined to, -1 for none
	var order []int
	join := func(a, b int) {
		for _, s := range [2][2]int{{a, b}, {b, a}} {
			e, ok := ends[s[0]]
			if !ok {
				e = [2]int{-1, -1}
				order = append(order, s[0])
			}
			if e[0] < 0 {
				e[0] = s[1]
			} else {
				e[1] = s[1]
			}
			ends[s[0]] = e
		}
	}
	for j := range g.Rows - 1 {
		for i := range g.Columns - 1 {
			k := j*g.Columns + i
			v := [4]float64{g.At[k], g.At[k+1], g.At[k+g.Columns+1], g.At[k+g.Columns]} // round the cell
			sides := [4]int{2 * k, 2*(k+1) + 1, 2 * (k + g.Columns), 2*k + 1}           // side n runs from corner n to n+1
			sum, over := 0.0, [4]bool{}
			for n, x := range v {
				sum += x
				over[n] = x >= value
			}
			if !unit.Finite(sum) {
				continue
			}
			var crossed []int
			for n := range 4 {
				if over[n] != over[(n+1)%4] {
					crossed = append(crossed, sides[n])
				}
			}
			switch {
			case len(crossed) == 2:
				join(crossed[0], crossed[1])
			case len(crossed) == 4:
				// Corners 0 and 2 are alike. If the middle is like them the lines cut off corners 1 and 3, else 0 and 2.
				if (sum/4 >= value) == over[0] {
					join(sides[0], sides[1])
					join(sides[2], sides[3])
				} else {
					join(sides[3], sides[0])
					join(sides[1], sides[2])
				}
			}
		}
	}
	place := func(side int) Point {
		k, m := side/2, side/2+1
		if side%2 == 1 {
			m = k + g.Columns
		}
		t := (value - g.At[k]) / (g.At[m] - g.At[k])
		x, y := float64(k%g.Columns), float64(k/g.Columns)
		if side%2 == 0 {
			x += t
		} else {
			y += t
		}
		return Point{g.Corner.X + unit.Length(x)*g.Step, g.Corner.Y + unit.Length(y)*g.Step}
	}
	done := map[int]bool{}
	follow := func(first int) Polyline {
		var line Polyline
		last := -1
		for at := first; ; {
			done[at] = true
			line.Points = append(line.Points, place(at))
			e := ends[at]
			next := e[0]
			if next == last {
				next = e[1]
			}
			if next < 0 {
				return line
			}
			if next == first {
				line.Closed = true
				return line
			}
			last, at = at, next
		}
	}
	var out []Polyline
	for _, s := range order { // lines with ends first, from one of them
		if !done[s] && ends[s][1] < 0 {
			out = append(out, follow(s))
		}
	}
	for _, s := range order {
		if !done[s] {
			out = append(out, follow(s))
		}
	}
	return out, nil
}
