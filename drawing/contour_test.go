package drawing_test

import (
	"math"
	"testing"

	"fairset/drawing"
	"fairset/unit"

	"pgregory.net/rapid"
)

func fieldOf(n int, step float64, f func(x, y float64) float64) *drawing.Grid {
	g := &drawing.Grid{Corner: drawing.At(-step*float64(n-1)/2, -step*float64(n-1)/2), Step: unit.Length(step) * unit.MM, Columns: n, Rows: n}
	for j := range n {
		for i := range n {
			g.At = append(g.At, f((float64(i)-float64(n-1)/2)*step, (float64(j)-float64(n-1)/2)*step))
		}
	}
	return g
}

// A paraboloid's contours are circles: x² + y² = r². On a cell's side of 1 mm the field runs straight, which misses at most 1/8·2 mm²
// over the slope along the side; off the axes that moves a point by no more than 1/8 mm²/r × √2.
func TestContoursOfAParaboloidAreCircles(t *testing.T) {
	g := fieldOf(81, 1, func(x, y float64) float64 { return x*x + y*y })
	for _, r := range []float64{3.3, 10, 17.2, 33.7} {
		lines, err := g.Contours(r * r)
		if err != nil {
			t.Fatal(err)
		}
		if len(lines) != 1 || !lines[0].Closed {
			t.Fatalf("a circle of %g mm comes in %d lines, the first closed %v", r, len(lines), lines[0].Closed)
		}
		around := 0.0
		for i, p := range lines[0].Points {
			if off := math.Abs(math.Hypot(p.X.MM(), p.Y.MM()) - r); off > math.Sqrt2/8/r+1e-9 {
				t.Errorf("at %.3f, %.3f mm the circle of %g mm is off by %.4f mm", p.X.MM(), p.Y.MM(), r, off)
			}
			q := lines[0].Points[(i+1)%len(lines[0].Points)]
			around += math.Hypot((q.X - p.X).MM(), (q.Y - p.Y).MM())
		}
		if math.Abs(around-2*math.Pi*r) > 2*math.Pi*(math.Sqrt2/8+1.0/12)/r { // the points' error, and a chord for an arc of about 1 mm
			t.Errorf("the circle of %g mm is %g mm round", r, around)
		}
	}
}

// A plane's contours are straight and end at the grid's rim; where values are missing they stop.
func TestContoursOfAPlane(t *testing.T) {
	g := fieldOf(21, 1, func(x, y float64) float64 { return x + 2*y })
	lines, err := g.Contours(3)
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != 1 || lines[0].Closed {
		t.Fatalf("%d lines", len(lines))
	}
	for _, p := range lines[0].Points {
		if v := p.X.MM() + 2*p.Y.MM(); math.Abs(v-3) > 1e-9 {
			t.Errorf("at %v the plane is %g", p, v)
		}
	}
	g.At[10*21+12] = math.NaN() // on the line's way: x 2, y 0
	if lines, err = g.Contours(3); err != nil || len(lines) != 2 {
		t.Errorf("past a hole the line comes in %d parts: %v", len(lines), err)
	}
	if lines, err = g.Contours(1000); err != nil || len(lines) != 0 {
		t.Errorf("a value the field never has gives %d lines: %v", len(lines), err)
	}
}

// A saddle's contours x² - y² = c are hyperbolas: two branches that never meet.
func TestContoursOfASaddle(t *testing.T) {
	g := fieldOf(40, 1, func(x, y float64) float64 { return x*x - y*y })
	for _, c := range []float64{-9, 9, 0.1} {
		lines, err := g.Contours(c)
		if err != nil {
			t.Fatal(err)
		}
		if len(lines) != 2 {
			t.Errorf("value %g: %d branches", c, len(lines))
		}
	}
}

func TestContoursRefuse(t *testing.T) {
	g := fieldOf(4, 1, func(x, y float64) float64 { return x })
	if _, err := g.Contours(math.NaN()); err == nil {
		t.Error("a value that is no number was taken")
	}
	g.At = g.At[1:]
	if _, err := g.Contours(0); err == nil {
		t.Error("a grid with a value missing was taken")
	}
}

// Whatever the field: every point has the value where the field runs straight, each line goes from cell to cell, and lines end only at the rim.
func TestContoursHoldTheirValue(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(rt, "n")
		v := rapid.SliceOfN(rapid.Float64Range(-1, 1), n*n, n*n).Draw(rt, "field")
		g := &drawing.Grid{Step: unit.MM, Columns: n, Rows: n, At: v}
		value := rapid.Float64Range(-1, 1).Draw(rt, "value")
		lines, err := g.Contours(value)
		if err != nil {
			rt.Fatal(err)
		}
		rim := func(p drawing.Point) bool {
			return p.X <= 1e-12 || p.Y <= 1e-12 || p.X.MM() >= float64(n-1)-1e-9 || p.Y.MM() >= float64(n-1)-1e-9
		}
		for _, l := range lines {
			for i, p := range l.Points {
				if got := g.Value(p); math.Abs(got-value) > 1e-9 {
					rt.Fatalf("a point has %g, not %g", got, value)
				}
				if i > 0 && math.Hypot((p.X-l.Points[i-1].X).MM(), (p.Y-l.Points[i-1].Y).MM()) > math.Sqrt2+1e-9 {
					rt.Fatal("a line jumps over a cell")
				}
			}
			if !l.Closed && (!rim(l.Points[0]) || !rim(l.Points[len(l.Points)-1])) {
				rt.Fatal("a line ends inside")
			}
		}
	})
}

func BenchmarkContours(b *testing.B) {
	g := fieldOf(120, 4, func(x, y float64) float64 { return math.Sin(x/40) * math.Cos(y/60) })
	for b.Loop() {
		if _, err := g.Contours(0.3); err != nil {
			b.Fatal(err)
		}
	}
}
