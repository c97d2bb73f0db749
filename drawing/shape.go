package drawing

import (
	"math"
	"sort"

	"fairset/unit"
)

// Point is a place on the sheet.
type Point struct{ X, Y unit.Length }

// At makes a Point from millimetres.
func At(xMM, yMM float64) Point {
	return Point{unit.Length(xMM) * unit.MM, unit.Length(yMM) * unit.MM}
}

func (p Point) moved(dx, dy unit.Length) Point { return Point{p.X + dx, p.Y + dy} }

// Shape is a Line, Polyline, Circle, Arc, Path, Text, Dimension or Hatch.
type Shape interface {
	moved(dx, dy unit.Length) Shape
	finite() bool
}

// Line is a straight line.
type Line struct{ From, To Point }

// Polyline joins its points by straight lines, back to the first when Closed.
type Polyline struct {
	Points []Point
	Closed bool
}

// Circle is a whole circle.
type Circle struct {
	Centre Point
	Radius unit.Length
}

// Arc is part of a circle, from Start through Sweep, counterclockwise when Sweep is positive.
type Arc struct {
	Centre       Point
	Radius       unit.Length
	Start, Sweep unit.Angle
}

// Verb is what a step of a Path does.
type Verb uint8

// The steps of a path.
const (
	MoveTo  Verb = iota // lift the pen to To
	LineTo              // straight to To
	CurveTo             // cubic Bézier curve to To, pulled by A and B
	Close               // straight back to the last MoveTo
)

// Step is one step of a Path.
type Step struct {
	Verb     Verb
	A, B, To Point
}

// Path is any outline of straight lines and cubic curves.
type Path struct{ Steps []Step }

// Anchor is which part of a text stands at its point.
type Anchor uint8

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of words; At is on the baseline.
type Text struct {
	At     Point
	Size   unit.Length // height of the letter body, as a type size is given
	Anchor Anchor
	Turn   unit.Angle
	Bold   bool
	// Halo is a rim of this tone behind the letters, so that they stay readable over lines; "" for none.
	Halo   Tone
	String string
}

// Dimension measures from one point to another along a direction. It is drawn as a line with arrows that
// passes through a given point, extension lines out to it, and the words.
type Dimension struct {
	From, To Point
	Along    unit.Angle // 0 measures across, a right angle measures up
	Through  Point
	Label    Text // the words; with String "" none are drawn
	Arrow    unit.Length
	// NoExtend leaves the extension lines away.
	NoExtend bool
}

// Hatch fills an outline with parallel lines.
type Hatch struct {
	Outline []Point
	Turn    unit.Angle
	Spacing unit.Length
}

func (l Line) moved(dx, dy unit.Length) Shape { return Line{l.From.moved(dx, dy), l.To.moved(dx, dy)} }
func (p Polyline) moved(dx, dy unit.Length) Shape {
	return Polyline{movedAll(p.Points, dx, dy), p.Closed}
}
func (c Circle) moved(dx, dy unit.Length) Shape {
	c.Centre = c.Centre.moved(dx, dy)
	return c
}
func (a Arc) moved(dx, dy unit.Length) Shape {
	a.Centre = a.Centre.moved(dx, dy)
	return a
}
func (p Path) moved(dx, dy unit.Length) Shape {
	steps := make([]Step, len(p.Steps))
	for i, s := range p.Steps {
		steps[i] = Step{s.Verb, s.A.moved(dx, dy), s.B.moved(dx, dy), s.To.moved(dx, dy)}
	}
	return Path{steps}
}
func (t Text) moved(dx, dy unit.Length) Shape {
	t.At = t.At.moved(dx, dy)
	return t
}
func (d Dimension) moved(dx, dy unit.Length) Shape {
	d.From, d.To, d.Through = d.From.moved(dx, dy), d.To.moved(dx, dy), d.Through.moved(dx, dy)
	d.Label.At = d.Label.At.moved(dx, dy)
	return d
}
func (h Hatch) moved(dx, dy unit.Length) Shape {
	h.Outline = movedAll(h.Outline, dx, dy)
	return h
}

func movedAll(ps []Point, dx, dy unit.Length) []Point {
	out := make([]Point, len(ps))
	for i, p := range ps {
		out[i] = p.moved(dx, dy)
	}
	return out
}

func (p Point) finite() bool { return finite(p.X, p.Y) }

func (l Line) finite() bool { return l.From.finite() && l.To.finite() }
func (p Polyline) finite() bool {
	return allFinite(p.Points)
}
func (c Circle) finite() bool { return c.Centre.finite() && finite(c.Radius) }
func (a Arc) finite() bool {
	return a.Centre.finite() && finite(a.Radius) && unit.Finite(float64(a.Start)) && unit.Finite(float64(a.Sweep))
}
func (p Path) finite() bool {
	for _, s := range p.Steps {
		if !s.A.finite() || !s.B.finite() || !s.To.finite() {
			return false
		}
	}
	return true
}
func (t Text) finite() bool {
	return t.At.finite() && finite(t.Size) && unit.Finite(float64(t.Turn))
}
func (d Dimension) finite() bool {
	return d.From.finite() && d.To.finite() && d.Through.finite() && d.Label.finite() && finite(d.Arrow) &&
		unit.Finite(float64(d.Along))
}
func (h Hatch) finite() bool {
	return allFinite(h.Outline) && finite(h.Spacing) && unit.Finite(float64(h.Turn))
}

func allFinite(ps []Point) bool {
	for _, p := range ps {
		if !p.finite() {
			return false
		}
	}
	return true
}

// Flatten returns the path as runs of straight lines that stay within tol of the true curve.
func (p Path) Flatten(tol unit.Length) [][]Point {
	var out [][]Point
	var run []Point
	var first, at Point
	flush := func() {
		if len(run) > 1 {
			out = append(out, run)
		}
		run = nil
	}
	for _, s := range p.Steps {
		if run == nil && s.Verb != MoveTo {
			run = []Point{at}
		}
		switch s.Verb {
		case MoveTo:
			flush()
			first, at = s.To, s.To
			run = []Point{at}
		case LineTo:
			run = append(run, s.To)
			at = s.To
		case CurveTo:
			n := curveSteps(at, s, tol)
			for i := 1; i < n; i++ {
				run = append(run, bezier(at, s, float64(i)/float64(n)))
			}
			run = append(run, s.To)
			at = s.To
		case Close:
			run = append(run, first)
			at = first
			flush()
		}
	}
	flush()
	return out
}

// curveSteps bounds the chord error of n equal steps by the largest second difference of the control
// points: error <= (n²)⁻¹·(3·2/8)·max|second difference|.
func curveSteps(from Point, s Step, tol unit.Length) int {
	dd := func(a, b, c Point) float64 {
		return math.Hypot(float64(a.X-2*b.X+c.X), float64(a.Y-2*b.Y+c.Y))
	}
	m := math.Max(dd(from, s.A, s.B), dd(s.A, s.B, s.To))
	if tol <= 0 {
		tol = 0.01 * unit.MM
	}
	n := int(math.Ceil(math.Sqrt(0.75 * m / float64(tol))))
	return min(max(n, 1), 4096)
}

func bezier(from Point, s Step, t float64) Point {
	u := 1 - t
	a, b, c, d := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
	f := func(p0, p1, p2, p3 unit.Length) unit.Length {
		return unit.Length(a*float64(p0) + b*float64(p1) + c*float64(p2) + d*float64(p3))
	}
	return Point{f(from.X, s.A.X, s.B.X, s.To.X), f(from.Y, s.A.Y, s.B.Y, s.To.Y)}
}

// Point returns the point a fraction t of the way along the arc.
func (a Arc) Point(t float64) Point {
	sin, cos := math.Sincos(float64(a.Start) + t*float64(a.Sweep))
	return Point{a.Centre.X + a.Radius*unit.Length(cos), a.Centre.Y + a.Radius*unit.Length(sin)}
}

// Path returns the hatch lines, clipped to the outline (even-odd rule).
func (h Hatch) Path() Path {
	if len(h.Outline) < 3 || h.Spacing <= 0 {
		return Path{}
	}
	sin, cos := math.Sincos(float64(h.Turn))
	// In coordinates (u along the hatch, v across it) the lines are level.
	us, vs := make([]float64, len(h.Outline)), make([]float64, len(h.Outline))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, p := range h.Outline {
		us[i] = float64(p.X)*cos + float64(p.Y)*sin
		vs[i] = -float64(p.X)*sin + float64(p.Y)*cos
		lo, hi = math.Min(lo, vs[i]), math.Max(hi, vs[i])
	}
	step := float64(h.Spacing)
	if (hi-lo)/step > 2000 {
		step = (hi - lo) / 2000
	}
	var path Path
	for v := lo + step/2; v < hi; v += step {
		var cross []float64
		for i := range us {
			j := (i + 1) % len(us)
			if (vs[i] <= v) != (vs[j] <= v) {
				cross = append(cross, us[i]+(v-vs[i])/(vs[j]-vs[i])*(us[j]-us[i]))
			}
		}
		sort.Float64s(cross)
		for k := 0; k+1 < len(cross); k += 2 {
			at := func(u float64) Point { return Point{unit.Length(u*cos - v*sin), unit.Length(u*sin + v*cos)} }
			path.Steps = append(path.Steps, Step{Verb: MoveTo, To: at(cross[k])}, Step{Verb: LineTo, To: at(cross[k+1])})
		}
	}
	return path
}

// Ends returns the ends of the dimension line: its length is the length measured.
func (d Dimension) Ends() (from, to Point) {
	sin, cos := math.Sincos(float64(d.Along))
	foot := func(p Point) Point {
		away := -float64(d.Through.X-p.X)*sin + float64(d.Through.Y-p.Y)*cos
		return Point{p.X - unit.Length(away*sin), p.Y + unit.Length(away*cos)}
	}
	return foot(d.From), foot(d.To)
}

func (d Dimension) parts(it Item) []Item {
	part := func(name string, shape Shape, fill Tone) Item {
		p := it
		p.Shape, p.Fill = shape, fill
		if it.Name == "" || name == "" {
			p.Name = ""
		} else {
			p.Name = it.Name + name
		}
		return p
	}
	solid := []unit.Length{}
	from, to := d.Ends()
	line := part("", Line{from, to}, "")
	line.Name, line.Pen.Dash = it.Name, solid
	var out []Item
	if !d.NoExtend {
		for _, e := range [][2]Point{{d.From, from}, {d.To, to}} {
			dx, dy := float64(e[1].X-e[0].X), float64(e[1].Y-e[0].Y)
			if n := math.Hypot(dx, dy); n > float64(d.Arrow) {
				over := unit.Length(0.6 * float64(d.Arrow) / n)
				ext := part("-extension", Line{e[0], Point{e[1].X + over*unit.Length(dx), e[1].Y + over*unit.Length(dy)}}, "")
				ext.Pen.Weight = it.Pen.Over(it.Layer.Pen()).Weight * 0.6
				out = append(out, ext)
			}
		}
	}
	out = append(out, line)
	if n := math.Hypot(float64(to.X-from.X), float64(to.Y-from.Y)); d.Arrow > 0 {
		ux, uy := 1.0, 0.0
		if n > 0 {
			ux, uy = float64(to.X-from.X)/n, float64(to.Y-from.Y)/n
		} else {
			uy, ux = math.Sincos(float64(d.Along))
		}
		a := float64(d.Arrow)
		// Too short for arrows inside: they point in from outside, on tails.
		side := 1.0
		if n < 2.6*a {
			side = -1
		}
		head := func(tip Point, dir float64) {
			bx, by := tip.X+unit.Length(dir*ux*a), tip.Y+unit.Length(dir*uy*a)
			wx, wy := unit.Length(-uy*a*0.33), unit.Length(ux*a*0.33)
			h := part("", Polyline{[]Point{tip, {bx + wx, by + wy}, {bx - wx, by - wy}}, true}, it.Pen.Over(it.Layer.Pen()).Tone)
			h.Pen.None = true
			out = append(out, h)
			if side < 0 {
				tail := part("", Line{Point{bx, by}, Point{bx + unit.Length(dir*ux*a*0.8), by + unit.Length(dir*uy*a*0.8)}}, "")
				tail.Pen.Dash = solid
				out = append(out, tail)
			}
		}
		head(from, side)
		head(to, -side)
	}
	if d.Label.String != "" {
		out = append(out, part("-text", d.Label, it.Fill))
	}
	return out
}
