package drawing_test

import (
	"math"
	"testing"

	"fairset/drawing"
	"fairset/unit"
)

const mm = unit.MM

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tol)
	}
}

func TestDimensionLineHasTheMeasuredLength(t *testing.T) {
	// From (10,10) to (40,50), a 3-4-5 triangle: 30 across, 40 up, 50 along. source: derived by hand.
	slant := unit.Angle(math.Atan2(40, 30))
	for _, c := range []struct {
		name  string
		along unit.Angle
		want  float64
	}{{"across", 0, 30}, {"up", 90 * unit.Degree, 40}, {"along", slant, 50}} {
		d := drawing.Dimension{From: drawing.At(10, 10), To: drawing.At(40, 50), Along: c.along, Through: drawing.At(-5, 70), Arrow: 2 * mm}
		a, b := d.Ends()
		near(t, c.name+" length", math.Hypot((b.X-a.X).MM(), (b.Y-a.Y).MM()), c.want, 1e-9)
		// The line passes through the point it was asked to.
		dx, dy := (b.X - a.X).MM(), (b.Y - a.Y).MM()
		near(t, c.name+" distance of Through", dx*(70-a.Y.MM())-dy*(-5-a.X.MM()), 0, 1e-6)
	}
}

func TestDimensionPartsAreNamed(t *testing.T) {
	s := drawing.Sheet{Title: "d", Width: 100 * mm, Height: 100 * mm}
	s.Add(drawing.Item{Layer: drawing.LayerGap, Name: "gap", Shape: drawing.Dimension{From: drawing.At(10, 10), To: drawing.At(10, 30), Along: 90 * unit.Degree,
		Through: drawing.At(20, 0), Arrow: 2 * mm, Label: drawing.Text{At: drawing.At(21, 20), Size: 4 * mm, String: "20"}}})
	for name, n := range map[string]int{"gap": 1, "gap-extension": 2, "gap-text": 1} {
		got := 0
		for _, it := range s.Parts() {
			if it.Name == name {
				got++
			}
		}
		if got != n {
			t.Errorf("%d parts named %q, want %d", got, name, n)
		}
	}
	if _, ok := s.Find("nothing"); ok {
		t.Error("found a part that is not there")
	}
}

func TestHatchFillsItsOutline(t *testing.T) {
	// Level lines 1 mm apart over a right triangle with legs 10: at heights 0.5 … 9.5 they are 9.5 … 0.5 long,
	// 50 mm in all. source: derived by hand. A turned hatch of a turned outline is the same.
	for _, turn := range []float64{0, 30, 90, -45} {
		sin, cos := math.Sincos(turn * math.Pi / 180)
		at := func(x, y float64) drawing.Point { return drawing.At(x*cos-y*sin+3, x*sin+y*cos-7) }
		h := drawing.Hatch{Outline: []drawing.Point{at(0, 0), at(10, 0), at(0, 10)}, Turn: unit.Angle(turn) * unit.Degree, Spacing: mm}
		sum := 0.0
		for _, run := range h.Path().Flatten(0.01 * mm) {
			for i := 1; i < len(run); i++ {
				sum += math.Hypot((run[i].X - run[i-1].X).MM(), (run[i].Y - run[i-1].Y).MM())
			}
		}
		near(t, "hatch length in mm", sum, 50, 1e-6)
	}
	if p := (drawing.Hatch{Outline: []drawing.Point{{}, {}}, Spacing: mm}).Path(); len(p.Steps) != 0 {
		t.Error("a hatch without an area has lines")
	}
}

func TestFlattenStaysWithinTolerance(t *testing.T) {
	// The cubic through a quarter circle with handles 0.5522847498 R leaves the circle by at most 2.73e-4 R.
	// source: standard result for the four-piece Bézier circle (from memory), and 4/3 (sqrt 2 - 1) by hand.
	const k, R = 0.5522847498, 100.0
	p := drawing.Path{Steps: []drawing.Step{{Verb: drawing.MoveTo, To: drawing.At(R, 0)},
		{Verb: drawing.CurveTo, A: drawing.At(R, k*R), B: drawing.At(k*R, R), To: drawing.At(0, R)}}}
	for _, tol := range []float64{1, 0.1, 0.01} {
		run := p.Flatten(unit.Length(tol) * mm)[0]
		for i := 1; i < len(run); i++ {
			mx, my := (run[i].X+run[i-1].X).MM()/2, (run[i].Y+run[i-1].Y).MM()/2
			near(t, "middle of a chord from the centre", math.Hypot(mx, my), R, tol+2.73e-4*R)
		}
	}
	if a, b := len(p.Flatten(mm)[0]), len(p.Flatten(0.01 * mm)[0]); a >= b {
		t.Errorf("finer tolerance gives %d points, coarser %d", b, a)
	}
	closed := drawing.Path{Steps: []drawing.Step{{Verb: drawing.MoveTo, To: drawing.At(1, 1)}, {Verb: drawing.LineTo, To: drawing.At(5, 1)},
		{Verb: drawing.LineTo, To: drawing.At(5, 4)}, {Verb: drawing.Close}}}
	run := closed.Flatten(mm)[0]
	if len(run) != 4 || run[3] != run[0] {
		t.Errorf("closed path flattens to %v", run)
	}
}

func TestWidth(t *testing.T) {
	// source: sums of NimbusSans-Regular.afm and NimbusSans-Bold.afm (URW base 35), thousandths of the size.
	for _, c := range []struct {
		text          string
		regular, bold float64
	}{
		{"TREBLE", 3890, 4000}, {"0.35 mm", 3890, 4002}, {"19/64 in", 3558, 3669},
		{"straight edge on the frets", 11062, 12002}, {"25 1/2 in", 3836, 3947},
	} {
		near(t, c.text, drawing.Width(c.text, 1*mm, false).MM()*1000, c.regular, 0.5)
		// Bold is an estimate on the safe side, not more than a tenth too wide.
		if got := drawing.Width(c.text, 1*mm, true).MM() * 1000; got < c.bold || got > 1.1*c.bold {
			t.Errorf("bold %q: %v, want %v to a tenth more", c.text, got, c.bold)
		}
	}
}

func TestTextBoxTurns(t *testing.T) {
	level := drawing.Text{At: drawing.At(50, 50), Size: 4 * mm, String: "saddle"}.Box()
	up := drawing.Text{At: drawing.At(50, 50), Size: 4 * mm, String: "saddle", Turn: 90 * unit.Degree}.Box()
	near(t, "height of the turned box", (up.Top - up.Bottom).MM(), (level.Right - level.Left).MM(), 1e-9)
	near(t, "width of the turned box", (up.Right - up.Left).MM(), (level.Top - level.Bottom).MM(), 1e-9)
}

func TestWrapKeepsEveryWord(t *testing.T) {
	lines := drawing.Wrap("Hold the neck with the heel toward you,  strings\nup.", 4*mm, false, 40*mm)
	joined := ""
	for _, l := range lines {
		if drawing.Width(l, 4*mm, false) > 40*mm {
			t.Errorf("line %q is wider than asked", l)
		}
		joined += l + " "
	}
	if joined != "Hold the neck with the heel toward you, strings up. " {
		t.Errorf("words changed: %q", joined)
	}
	if got := drawing.Wrap("0.35\u00a0mm", 4*mm, false, 1*mm); len(got) != 1 {
		t.Errorf("a figure was parted from its unit: %q", got)
	}
}

func TestMoveMovesEverything(t *testing.T) {
	s := drawing.Sheet{Title: "m", Width: 10 * mm, Height: 10 * mm}
	s.Add(
		drawing.Item{Shape: drawing.Line{From: drawing.At(1, 2), To: drawing.At(3, 4)}},
		drawing.Item{Shape: drawing.Circle{Centre: drawing.At(1, 2), Radius: mm}},
		drawing.Item{Shape: drawing.Arc{Centre: drawing.At(1, 2), Radius: mm}},
		drawing.Item{Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(1, 2)}}},
		drawing.Item{Shape: drawing.Hatch{Outline: []drawing.Point{drawing.At(1, 2)}}},
		drawing.Item{Shape: drawing.Text{At: drawing.At(1, 2)}},
		drawing.Item{Shape: drawing.Path{Steps: []drawing.Step{{To: drawing.At(1, 2)}}}},
		drawing.Item{Shape: drawing.Dimension{From: drawing.At(1, 2), To: drawing.At(1, 2), Through: drawing.At(1, 2)}},
	)
	s.Origin = drawing.At(1, 2)
	s.Move(10*mm, 20*mm)
	near(t, "datum x", s.Origin.X.MM(), 11, 1e-9)
	near(t, "datum y", s.Origin.Y.MM(), 22, 1e-9)
	for _, it := range s.Items {
		var p drawing.Point
		switch v := it.Shape.(type) {
		case drawing.Line:
			p = v.From
		case drawing.Circle:
			p = v.Centre
		case drawing.Arc:
			p = v.Centre
		case drawing.Polyline:
			p = v.Points[0]
		case drawing.Hatch:
			p = v.Outline[0]
		case drawing.Text:
			p = v.At
		case drawing.Path:
			p = v.Steps[0].To
		case drawing.Dimension:
			p = v.Through
		}
		near(t, "x", p.X.MM(), 11, 1e-9)
		near(t, "y", p.Y.MM(), 22, 1e-9)
	}
}

func TestCheckRefusesWhatCannotBeDrawn(t *testing.T) {
	nan := unit.Length(math.NaN())
	for name, s := range map[string]drawing.Sheet{
		"no paper": {},
		"no shape": {Width: mm, Height: mm, Items: []drawing.Item{{}}},
		"NaN":      {Width: mm, Height: mm, Items: []drawing.Item{{Shape: drawing.Line{To: drawing.Point{X: nan}}}}},
		"infinite": {Width: mm, Height: mm, Items: []drawing.Item{{Shape: drawing.Circle{Radius: unit.Length(math.Inf(1))}}}},
		"datum":    {Width: mm, Height: mm, Origin: drawing.Point{Y: nan}},
		"far away": {Width: mm, Height: mm, Items: []drawing.Item{{Shape: drawing.Text{At: drawing.Point{Y: 1e9}}}}},
	} {
		if s.Check() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// luminance and contrast as WCAG 2.2 defines them.
// source: W3C WCAG 2.2, definitions "relative luminance" and "contrast ratio".
func luminance(tone drawing.Tone) float64 {
	r, g, b := tone.RGB()
	lin := func(v uint8) float64 {
		c := float64(v) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(r) + 0.7152*lin(g) + 0.0722*lin(b)
}

func TestTonesCanBeRead(t *testing.T) {
	contrast := func(a, b drawing.Tone) float64 {
		x, y := luminance(a), luminance(b)
		return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
	}
	for _, words := range []drawing.Tone{drawing.Ink, drawing.Faint, drawing.Goal, drawing.Accent, drawing.Steel} {
		if c := contrast(words, drawing.Paper); c < 4.5 {
			t.Errorf("%s on paper: contrast %.2f, want 4.5", words, c)
		}
	}
	for _, ground := range []drawing.Tone{drawing.Wood, drawing.Spruce, drawing.Bone, drawing.Zone} {
		if c := contrast(drawing.Ink, ground); c < 4.5 {
			t.Errorf("ink on %s: contrast %.2f, want 4.5", ground, c)
		}
	}
	// In grey print the bands keep their order, each at least a tenth darker than the one before.
	bands := drawing.Bands()
	for i := 1; i < len(bands); i++ {
		if luminance(bands[i]) > 0.9*luminance(bands[i-1]) {
			t.Errorf("%s is not clearly darker than %s", bands[i], bands[i-1])
		}
	}
	seen := map[string]drawing.Tone{}
	for _, tone := range drawing.Tones() {
		if other, ok := seen[tone.Hex()]; ok {
			t.Errorf("%s and %s are the same colour", tone, other)
		}
		seen[tone.Hex()] = tone
	}
}

func TestLayerNames(t *testing.T) {
	s := drawing.Sheet{LayerNames: map[drawing.Layer]string{drawing.LayerMark: "slots"}}
	if got := s.LayerName(drawing.LayerMark); got != "slots" {
		t.Errorf("mark is called %q", got)
	}
	if got := s.LayerName(drawing.LayerDrill); got != "drill" {
		t.Errorf("drill is called %q", got)
	}
}

// A Bézier arc of 30 degrees leaves its circle by less than 4e-7 of the radius: 0.8 micrometre at 2 m.
// source: 2/27 sin^6(a/4)/cos^2(a/4) of the radius for a piece of angle a (a quarter: 2.73e-4), the standard error of the 4/3 tan(a/4) handle.
func TestCurvesStayOnTheirCircle(t *testing.T) {
	for _, sweep := range []float64{1, 30, 90, 359, 360, -45, -360} {
		a := drawing.Arc{Centre: drawing.At(7, -3), Radius: 2000 * mm, Start: 20 * unit.Degree, Sweep: unit.Angle(sweep) * unit.Degree}
		p := a.Path()
		worst := 0.0
		for _, q := range p.Flatten(1e-6 * mm)[0] {
			worst = math.Max(worst, math.Abs(math.Hypot(q.X.MM()-7, q.Y.MM()+3)-2000))
		}
		near(t, "distance from the circle in mm", worst, 0, 8e-4)
		last := p.Steps[len(p.Steps)-1].To
		near(t, "end x", last.X.MM(), a.Point(1).X.MM(), 1e-9)
		near(t, "end y", last.Y.MM(), a.Point(1).Y.MM(), 1e-9)
	}
}

func TestReachHoldsTheInk(t *testing.T) {
	pen := drawing.Pen{Weight: 2 * mm}
	want := drawing.Box{Left: 9 * mm, Bottom: 19 * mm, Right: 31 * mm, Top: 41 * mm}
	for name, shape := range map[string]drawing.Shape{
		"line":     drawing.Line{From: drawing.At(30, 20), To: drawing.At(10, 40)},
		"polyline": drawing.Polyline{Points: []drawing.Point{drawing.At(10, 20), drawing.At(30, 40)}},
		"circle":   drawing.Circle{Centre: drawing.At(20, 30), Radius: 10 * mm},
		"arc":      drawing.Arc{Centre: drawing.At(20, 30), Radius: 10 * mm},
		"path":     drawing.Path{Steps: []drawing.Step{{To: drawing.At(10, 20)}, {Verb: drawing.CurveTo, A: drawing.At(30, 40), B: drawing.At(12, 22), To: drawing.At(20, 20)}, {Verb: drawing.Close}}},
	} {
		got := drawing.Item{Shape: shape, Pen: pen}.Reach()
		for i, d := range []unit.Length{got.Left - want.Left, got.Bottom - want.Bottom, got.Right - want.Right, got.Top - want.Top} {
			near(t, name+" side "+"lbrt"[i:i+1], d.MM(), 0, 1e-9)
		}
	}
}

func TestPageCheck(t *testing.T) {
	s := &drawing.Sheet{Title: "s", Width: 100 * mm, Height: 50 * mm}
	good := s.Page()
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	if !good.Whole() {
		t.Error("the sheet's own page is not whole")
	}
	for name, spoil := range map[string]func(*drawing.Page){
		"no sheet":    func(p *drawing.Page) { p.Sheet = nil },
		"no paper":    func(p *drawing.Page) { p.Width = 0 },
		"no window":   func(p *drawing.Page) { p.Window.Right = 0 },
		"no scale":    func(p *drawing.Page) { p.ScaleX = 0 },
		"NaN scale":   func(p *drawing.Page) { p.ScaleY = math.NaN() },
		"place":       func(p *drawing.Page) { p.Place.X = unit.Length(math.Inf(1)) },
		"bad overlay": func(p *drawing.Page) { p.Over = &drawing.Sheet{} },
	} {
		p := s.Page()
		spoil(&p)
		if p.Check() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestAppendThousandths(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 1: "1", -1.5: "-1.5", 0.0004: "0", -0.0004: "0", 12.3456: "12.346", 0.01: "0.01", 999.9999: "1000", -0.25: "-0.25"} {
		if got := string(drawing.AppendThousandths(nil, v)); got != want {
			t.Errorf("%v is written %q, want %q", v, got, want)
		}
	}
}
