package drawing

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Page is one piece of paper with a window onto a sheet. What the window leaves out is cut off exactly at its edge.
type Page struct {
	// Name tells the pages of one sheet apart ("B2"); empty for the sheet itself.
	Name          string
	Width, Height unit.Length
	Sheet         *Sheet
	// Window is the part of the sheet that is shown, in the sheet's coordinates.
	Window Box
	// Place is where the window's lower left corner lies on the page.
	Place Point
	// ScaleX and ScaleY are page length per sheet length: 1 for full size, a little off to make up for a
	// printer that draws too long or too short. Line weights and letters follow.
	ScaleX, ScaleY float64
	// Over is drawn on top in the page's own coordinates, neither clipped nor scaled; nil for nothing. Only its
	// items count.
	Over *Sheet
}

// Page is the whole sheet on a page of its own size.
func (s *Sheet) Page() Page {
	return Page{Width: s.Width, Height: s.Height, Sheet: s, Window: Box{0, 0, s.Width, s.Height}, ScaleX: 1, ScaleY: 1}
}

// On turns a point of the sheet into one of the page.
func (p Page) On(q Point) Point {
	return Point{p.Place.X + (q.X-p.Window.Left)*unit.Length(p.ScaleX), p.Place.Y + (q.Y-p.Window.Bottom)*unit.Length(p.ScaleY)}
}

// Whole reports whether the page is just its sheet at full size.
func (p Page) Whole() bool {
	s := p.Sheet
	return p.Over == nil && p.Width == s.Width && p.Height == s.Height && p.Place == Point{} && p.ScaleX == 1 && p.ScaleY == 1 &&
		p.Window == Box{0, 0, s.Width, s.Height}
}

// Shown returns the sheet's parts (see Sheet.Parts) that reach into the window.
func (p Page) Shown() []Item {
	parts := p.Sheet.Parts()
	if p.Whole() {
		return parts
	}
	shown := parts[:0]
	for _, it := range parts {
		if it.Reach().Overlaps(p.Window) {
			shown = append(shown, it)
		}
	}
	return shown
}

// Check returns an error if the page cannot be written.
func (p Page) Check() error {
	if p.Sheet == nil {
		return fmt.Errorf("page %q has no sheet", p.Name)
	}
	if err := p.Sheet.Check(); err != nil {
		return err
	}
	if !finite(p.Width, p.Height) || p.Width <= 0 || p.Height <= 0 {
		return fmt.Errorf("page %q of sheet %q: paper of %v by %v", p.Name, p.Sheet.Title, p.Width, p.Height)
	}
	w := p.Window
	if !finite(w.Left, w.Bottom, w.Right, w.Top, p.Place.X, p.Place.Y) || !(w.Left < w.Right) || !(w.Bottom < w.Top) {
		return fmt.Errorf("page %q of sheet %q: the window has no area", p.Name, p.Sheet.Title)
	}
	if !(p.ScaleX > 0 && p.ScaleX <= 1000) || !(p.ScaleY > 0 && p.ScaleY <= 1000) {
		return fmt.Errorf("page %q of sheet %q: scale %v by %v", p.Name, p.Sheet.Title, p.ScaleX, p.ScaleY)
	}
	if p.Over != nil {
		return p.Over.Check()
	}
	return nil
}

// Reach returns a box that holds everything the item puts on paper, half the line's weight and a halo included.
// Call it on the parts of a sheet; a dimension or a hatch counts without its words or gaps.
func (it Item) Reach() Box {
	box := Box{unit.Length(math.Inf(1)), unit.Length(math.Inf(1)), unit.Length(math.Inf(-1)), unit.Length(math.Inf(-1))}
	hold := func(ps ...Point) {
		for _, p := range ps {
			box.Left, box.Right = min(box.Left, p.X), max(box.Right, p.X)
			box.Bottom, box.Top = min(box.Bottom, p.Y), max(box.Top, p.Y)
		}
	}
	rim := it.Pen.Over(it.Layer.Pen()).Weight / 2
	switch s := it.Shape.(type) {
	case Line:
		hold(s.From, s.To)
	case Polyline:
		hold(s.Points...)
	case Circle:
		hold(s.Centre.moved(-s.Radius, -s.Radius), s.Centre.moved(s.Radius, s.Radius))
	case Arc:
		hold(s.Centre.moved(-s.Radius, -s.Radius), s.Centre.moved(s.Radius, s.Radius))
	case Path:
		// A cubic curve lies within its control points.
		for _, st := range s.Steps {
			if st.Verb == CurveTo {
				hold(st.A, st.B)
			}
			if st.Verb != Close {
				hold(st.To)
			}
		}
	case Text:
		box = s.Box()
		rim = 0.3 * s.Size // accents, and letters wider than reckoned
	case Hatch:
		hold(s.Outline...)
	case Dimension:
		hold(s.From, s.To)
		from, to := s.Ends()
		hold(from, to)
	}
	rim = rim.Abs()
	return Box{box.Left - rim, box.Bottom - rim, box.Right + rim, box.Top + rim}
}

// AsPath is what a pen draws of a part as one path; false for words, and for what Parts would take apart.
func AsPath(s Shape) (Path, bool) {
	switch s := s.(type) {
	case Line:
		return s.Path(), true
	case Polyline:
		return s.Path(), true
	case Circle:
		return s.Path(), true
	case Arc:
		return s.Path(), true
	case Path:
		return s, true
	}
	return Path{}, false
}

// Path is the arc as cubic curves of at most 30 degrees: they leave the circle by less than 4e-7 of its radius.
func (a Arc) Path() Path {
	n := min(max(int(math.Ceil(math.Abs(float64(a.Sweep))/(math.Pi/6)-1e-9)), 1), 12*16)
	step := float64(a.Sweep) / float64(n)
	// source: the standard handle of a Bézier arc, 4/3 tan(angle/4) of the radius.
	k := a.Radius * unit.Length(4.0/3*math.Tan(step/4))
	steps := make([]Step, 1, n+1)
	steps[0] = Step{Verb: MoveTo, To: a.Point(0)}
	sin0, cos0 := math.Sincos(float64(a.Start))
	from := steps[0].To
	for i := 1; i <= n; i++ {
		sin, cos := math.Sincos(float64(a.Start) + step*float64(i))
		to := a.Point(float64(i) / float64(n))
		steps = append(steps, Step{CurveTo, Point{from.X - k*unit.Length(sin0), from.Y + k*unit.Length(cos0)},
			Point{to.X + k*unit.Length(sin), to.Y - k*unit.Length(cos)}, to})
		from, sin0, cos0 = to, sin, cos
	}
	return Path{steps}
}

// Path is the circle as cubic curves, see Arc.Path.
func (c Circle) Path() Path {
	p := Arc{Centre: c.Centre, Radius: c.Radius, Sweep: 360 * unit.Degree}.Path()
	p.Steps = append(p.Steps, Step{Verb: Close})
	return p
}

// Path is the polyline as a path.
func (p Polyline) Path() Path {
	steps := make([]Step, 0, len(p.Points)+1)
	for i, q := range p.Points {
		verb := LineTo
		if i == 0 {
			verb = MoveTo
		}
		steps = append(steps, Step{Verb: verb, To: q})
	}
	if p.Closed && len(steps) > 0 {
		steps = append(steps, Step{Verb: Close})
	}
	return Path{steps}
}

// Path is the line as a path.
func (l Line) Path() Path {
	return Path{[]Step{{Verb: MoveTo, To: l.From}, {Verb: LineTo, To: l.To}}}
}
