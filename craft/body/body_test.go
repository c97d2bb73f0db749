package body

import (
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

// testdata/outline-240.csv holds 240 vertices at equal arc steps of the closed cubic spline through the points below and their mirror
// images; computed independently with a general-purpose spline library.
//
//go:embed testdata/outline-240.csv
var outline240 string

var defining = pointsMM(0, 0, 6, 62, 31, 124, 78, 172, 137, 194, 200, 184, 254, 152, 303, 124, 352, 124, 400, 136, 447, 126, 478, 84, 488, 40, 490, 0)

func pointsMM(xy ...float64) []Point {
	var out []Point
	for i := 0; i < len(xy); i += 2 {
		out = append(out, at(xy[i]/1000, xy[i+1]/1000))
	}
	return out
}

func polygon240(t testing.TB) []Point {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(outline240)).ReadAll()
	if err != nil || len(rows) != 241 {
		t.Fatalf("reading the outline: %d rows, %v", len(rows), err)
	}
	var out []Point
	for _, r := range rows[1:] {
		x, err1 := strconv.ParseFloat(r[0], 64)
		y, err2 := strconv.ParseFloat(r[1], 64)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		out = append(out, at(x, y))
	}
	return out
}

// usual is an invented steel-string body.
func usual() Landmarks {
	return Landmarks{Length: 500 * unit.MM, LowerWidth: 390 * unit.MM, LowerAt: 135 * unit.MM, WaistWidth: 250 * unit.MM, WaistAt: 312 * unit.MM, UpperWidth: 288 * unit.MM, UpperAt: 414 * unit.MM}
}

func mustNew(t testing.TB, l Landmarks) Outline {
	t.Helper()
	o, err := New(l)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func mustThrough(t testing.TB, p []Point) Outline {
	t.Helper()
	o, err := Through(p)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// 0.142621 m² is the area of the 240-vertex polygon, computed beside it.
func TestAreaOfAKnownPolygon(t *testing.T) {
	reftest.Near(t, "area in m²", Area(polygon240(t)), 0.142621, 5e-7)
	square := pointsMM(0, 0, 100, 0, 100, 100, 0, 100)
	reftest.Near(t, "area of a square of 100 mm, m²", Area(square), 0.01, 1e-15)
}

func TestThroughTheDefiningPointsGivesTheKnownPolygon(t *testing.T) {
	o := mustThrough(t, defining)
	poly, err := o.Polygon(240)
	if err != nil {
		t.Fatal(err)
	}
	want := polygon240(t) // begins one step on
	worst := 0.0
	for i := range want {
		worst = math.Max(worst, float64(poly[(i+1)%240].Distance(want[i])))
	}
	reftest.Near(t, "furthest vertex off, m", worst, 0, 2e-6) // 2 µm: the known vertices were stepped along short chords
	reftest.Near(t, "area of its polygon, m²", Area(poly), 0.142621, 1e-6)
	if a, b := o.Area(), Area(poly); a < b || a > b*1.001 {
		t.Errorf("the smooth outline has %g m², its polygon %g: it must be a little larger", a, b)
	}
}

// source: area π r², circumference 2 π r; area of an ellipse π a b.
func TestTypedCircleAndEllipse(t *testing.T) {
	for _, c := range []struct{ a, b float64 }{{0.2, 0.2}, {0.24, 0.19}} {
		var p []Point
		const n = 40
		for i := 0; i <= n; i++ {
			s, c0 := math.Sincos(math.Pi * float64(i) / n)
			if i == 0 || i == n {
				s = 0
			}
			p = append(p, at(c.a-c.a*c0, c.b*s))
		}
		o := mustThrough(t, p)
		want := math.Pi * c.a * c.b
		reftest.Near(t, fmt.Sprintf("area of %v, m²", c), o.Area(), want, want*1e-5)
		if c.a == c.b {
			reftest.Near(t, "circumference, m", float64(o.Perimeter()), 2*math.Pi*c.a, 1e-5)
			reftest.NearMM(t, "width at 100 mm", o.WidthAt(100*unit.MM), 2*math.Sqrt(200*200-100*100), 0.01)
		}
	}
}

func TestLandmarksAreMet(t *testing.T) {
	for _, c := range []struct {
		name string
		end  End
		l    Landmarks
	}{{"usual", End{}, usual()}, {"radius", End{Radius: 300 * unit.MM}, usual()}, {"flat", End{Flat: 58 * unit.MM}, usual()}} {
		c.l.Neck = c.end
		o := mustNew(t, c.l)
		reftest.NearMM(t, c.name+" length", o.Length(), 500, 1e-9)
		reftest.NearMM(t, c.name+" lower", o.WidthAt(135*unit.MM), 390, 1e-6)
		reftest.NearMM(t, c.name+" waist", o.WidthAt(312*unit.MM), 250, 1e-6)
		reftest.NearMM(t, c.name+" upper", o.WidthAt(414*unit.MM), 288, 1e-6)
		sw := o.Swells()
		if len(sw) != 3 || sw[0].Narrow || !sw[1].Narrow || sw[2].Narrow {
			t.Fatalf("%s: bouts and waist %v", c.name, sw)
		}
		for i, want := range [][2]float64{{135, 390}, {312, 250}, {414, 288}} {
			reftest.NearMM(t, c.name+" swell at", sw[i].At, want[0], 1e-6)
			reftest.NearMM(t, c.name+" swell", sw[i].Width, want[1], 1e-6)
		}
		w, x := o.Widest()
		reftest.NearMM(t, c.name+" widest", w, 390, 0.01)
		reftest.NearMM(t, c.name+" widest at", x, 135, 2)
	}
}

// bend is the curvature at a parameter, from second differences of the curve: a route of its own.
func bend(c Curve, t float64) float64 {
	const h = 1e-3
	a, b, d := c.at(t-h), c.at(t), c.at(t+h)
	x1, y1 := (d.x-a.x)/(2*h), (d.y-a.y)/(2*h)
	x2, y2 := (d.x-2*b.x+a.x)/(h*h), (d.y-2*b.y+a.y)/(h*h)
	return (x1*y2 - y1*x2) / math.Pow(x1*x1+y1*y1, 1.5)
}

func TestCurvatureRunsOn(t *testing.T) {
	l := usual()
	l.Neck.Radius, l.Tail.Radius = 330*unit.MM, 400*unit.MM
	o := mustNew(t, l)
	half := o.Half()
	for i := range half[1:] {
		a, b := bend(half[i], 1), bend(half[i+1], 0)
		reftest.Near(t, fmt.Sprintf("curvature at joint %d, 1/m", i), a, b, 1e-3)
	}
	reftest.Near(t, "radius of the neck end, m", 1/math.Abs(bend(half[3], 1)), 0.330, 1e-3)
	reftest.Near(t, "radius of the tail, m", 1/math.Abs(bend(half[0], 0)), 0.400, 1e-3)
}

func TestPolygonStepsAreEqual(t *testing.T) {
	o := mustNew(t, usual())
	for _, n := range []int{3, 8, 101, 360} {
		p, err := o.Polygon(n)
		if err != nil || len(p) != n {
			t.Fatalf("%d points: got %d, %v", n, len(p), err)
		}
		if Area(p) <= 0 {
			t.Errorf("%d points do not run counter-clockwise", n)
		}
	}
	// Steps along the arc are equal, so on a fine polygon the chords are nearly so.
	p, _ := o.Polygon(1000)
	step := float64(o.Perimeter()) / 1000
	for i := range p {
		reftest.Near(t, fmt.Sprintf("step %d, m", i), float64(p[i].Distance(p[(i+1)%1000])), step, step*1e-3)
	}
	if _, err := o.Polygon(2); err == nil {
		t.Error("two points make no outline")
	} else {
		reftest.RangeError(t, err, "vertices")
	}
}

// anyBody draws landmarks that New takes.
func anyBody(t *rapid.T) Landmarks {
	share := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	length := share("length", 200, 600)
	l := Landmarks{Length: unit.Length(length) * unit.MM}
	lowerAt := length * share("lower at", 0.15, 0.4)
	upperAt := length * share("upper at", 0.7, 0.92)
	waistAt := lowerAt + (upperAt-lowerAt)*share("waist at", 0.2, 0.8)
	lower := length * share("lower", 0.5, 0.95)
	upper := lower * share("upper", 0.5, 1.1)
	waist := math.Min(lower, upper)*share("waist", 0.55, 1) - 2.5
	l.LowerWidth, l.LowerAt = mmOf(lower), mmOf(lowerAt)
	l.WaistWidth, l.WaistAt = mmOf(waist), mmOf(waistAt)
	l.UpperWidth, l.UpperAt = mmOf(upper), mmOf(upperAt)
	if rapid.Bool().Draw(t, "flat") {
		l.Neck.Flat = l.UpperWidth * unit.Length(share("neck flat", 0, 0.6))
	}
	return l
}

func mmOf(v float64) unit.Length { return unit.Length(v) * unit.MM }

func TestOutlineNeverCrossesItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyBody(t)
		o, err := New(l)
		if err != nil {
			var re *unit.RangeError
			if !errors.As(err, &re) {
				t.Fatalf("%v", err)
			}
			t.Skip(err.Error())
		}
		p, err := o.Polygon(240)
		if err != nil {
			t.Fatal(err)
		}
		for i := range p {
			for j := i + 2; j < len(p); j++ {
				if crosses(p[i], p[(i+1)%240], p[j], p[(j+1)%240]) {
					t.Fatalf("edges %d and %d cross", i, j)
				}
			}
		}
		for i := range p {
			if d := p[i].Distance(p[(240-i)%240].Mirror()); d > 1e-9 {
				t.Fatalf("vertex %d is no mirror image: %v off", i, d)
			}
		}
		if a := Area(p); a <= 0 || o.Area() < a*0.99 {
			t.Fatalf("area %g of the polygon, %g of the outline", a, o.Area())
		}
		w, _ := o.Widest()
		if most := max(l.LowerWidth, l.UpperWidth); (w - most).Abs() > 0.05*unit.MM {
			t.Fatalf("widest %v, wanted %v", w, most)
		}
	})
}

// Doubling every length doubles the outline: area four times.
func TestOutlineScales(t *testing.T) {
	a := mustNew(t, usual())
	l := usual()
	for _, v := range []*unit.Length{&l.Length, &l.LowerWidth, &l.LowerAt, &l.WaistWidth, &l.WaistAt, &l.UpperWidth, &l.UpperAt} {
		*v *= 0.5
	}
	b := mustNew(t, l)
	reftest.Near(t, "area at half the size", b.Area(), a.Area()/4, 1e-12)
	reftest.Near(t, "edge at half the size", float64(b.Perimeter()), float64(a.Perimeter())/2, 1e-9)
}

func TestLandmarksRefused(t *testing.T) {
	for _, c := range []struct {
		name, field string
		change      func(*Landmarks)
	}{
		{"no length", "length", func(l *Landmarks) { l.Length = 0 }},
		{"NaN", "lower_width", func(l *Landmarks) { l.LowerWidth = unit.Length(math.NaN()) }},
		{"infinite", "upper_at", func(l *Landmarks) { l.UpperAt = unit.Length(math.Inf(1)) }},
		{"inches read as metres", "waist_width", func(l *Landmarks) { l.WaistWidth = 9.75 }},
		{"waist too wide", "waist_width", func(l *Landmarks) { l.WaistWidth = 290 * unit.MM }},
		{"waist before the lower bout", "waist_at", func(l *Landmarks) { l.WaistAt = 130 * unit.MM }},
		{"upper bout before the waist", "upper_at", func(l *Landmarks) { l.UpperAt = 300 * unit.MM }},
		{"upper bout past the end", "upper_at", func(l *Landmarks) { l.UpperAt = 498 * unit.MM }},
		{"radius out of reach", "neck_radius", func(l *Landmarks) { l.Neck.Radius = 15 }},
		{"radius and flat", "tail_flat", func(l *Landmarks) { l.Tail = End{Radius: 300 * unit.MM, Flat: 50 * unit.MM} }},
		{"flat as wide as the bout", "neck_flat", func(l *Landmarks) { l.Neck.Flat = 286 * unit.MM }},
	} {
		l := usual()
		c.change(&l)
		_, err := New(l)
		if err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		reftest.RangeError(t, err, c.field)
	}
}

func TestTypedOutlineRefused(t *testing.T) {
	change := func(f func(p []Point) []Point) []Point { return f(append([]Point(nil), defining...)) }
	for _, c := range []struct {
		name, field string
		points      []Point
	}{
		{"none", "points", nil},
		{"too few", "points", defining[:4]},
		{"off the centreline", "points[0]", change(func(p []Point) []Point { p[0].Y = 0.001; return p })},
		{"tail not at 0", "points[0]", change(func(p []Point) []Point { p[0].X = 0.01; return p })},
		{"end off the centreline", "points[13]", change(func(p []Point) []Point { p[13].Y = 0.02; return p })},
		{"wrong side", "points[4]", change(func(p []Point) []Point { p[5].Y = -p[5].Y; return p })},
		{"not a number", "points[3]", change(func(p []Point) []Point { p[3].X = unit.Length(math.NaN()); return p })},
		{"doubled", "points[6]", change(func(p []Point) []Point { p[6] = p[5]; return p })},
		{"metres for millimetres", "points[1]", change(func(p []Point) []Point { p[1] = Point{6, 62}; return p })},
		{"out of order", "points", change(func(p []Point) []Point { p[3], p[9] = p[9], p[3]; return p })},
		{"tiny", "points", pointsMM(0, 0, 10, 20, 20, 30, 30, 20, 40, 0)},
	} {
		_, err := Through(c.points)
		if err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		// A wrong side is told at the first point off the side of the most.
		if c.name == "wrong side" {
			var re *unit.RangeError
			if !errors.As(err, &re) || !strings.HasPrefix(re.Field, "points[") {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		reftest.RangeError(t, err, c.field)
	}
}

// A ray to a vertex of the edge ends there, though it touches the ends of two edges and crosses neither.
func TestReachMeetsEveryVertex(t *testing.T) {
	o := mustNew(t, usual())
	from := Point{137 * unit.MM, 0}
	for i := range 240 { // the lower bout, all of which is seen from there
		for _, p := range []Point{o.rough[i], o.rough[len(o.rough)-1-i]} {
			way := unit.Angle(math.Atan2(float64(p.Y-from.Y), float64(p.X-from.X)))
			if d := (o.Reach(from, way) - from.Distance(p)).Abs(); d > 1e-6 {
				t.Fatalf("the ray to %s ends %v off", where(p), d)
			}
		}
	}
}
