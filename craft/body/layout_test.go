package body

import (
	"errors"
	"math"
	"strings"
	"testing"

	"fairset/internal/reftest"
	"fairset/language"
	"fairset/unit"

	"pgregory.net/rapid"
)

func plan(o Outline, p Pattern) Plan {
	k := o.Length() / (500 * unit.MM)
	return Plan{Outline: o, Hole: Hole{Point{342 * k * unit.MM, 0}, 50 * k * unit.MM}, Bridge: Bridge{Centre: Point{172 * k * unit.MM, 0}, Along: 30 * k * unit.MM, Across: 155 * k * unit.MM}, Pattern: p,
		PlateThickness: 2.5 * unit.MM, BraceWood: "spruce", PlateWood: "maple", TopWood: "spruce"}
}

func board(t reftest.TB, p Plan) Soundboard {
	t.Helper()
	braces, patches, err := p.Lay()
	if err != nil {
		t.Errorf("%s: %v", p.Pattern, err)
	}
	return Soundboard{Outline: p.Outline, Holes: []Hole{p.Hole}, Thickness: 2.8 * unit.MM, Wood: p.TopWood, Grain: [2]float64{1, 0}, Braces: braces, Patches: patches, Bridge: &p.Bridge}
}

func TestLayoutsFitTheirBody(t *testing.T) {
	counts := map[Pattern]int{PatternX: 5, PatternFan: 7, PatternLadder: 5, PatternNone: 0}
	for _, k := range []unit.Length{0.55, 0.8, 1, 1.15} {
		l := usual()
		for _, v := range []*unit.Length{&l.Length, &l.LowerWidth, &l.LowerAt, &l.WaistWidth, &l.WaistAt, &l.UpperWidth, &l.UpperAt} {
			*v *= k
		}
		o := mustNew(t, l)
		for _, pat := range Patterns() {
			s := board(t, plan(o, pat.Key))
			if warns, err := s.Check(); err != nil || len(warns) > 0 {
				t.Errorf("%s at %g: %v, warnings %v", pat.Key, float64(k), err, warns)
			}
			if len(s.Braces) != counts[pat.Key] || len(s.Patches) != 1 {
				t.Errorf("%s at %g: %d braces and %d plates", pat.Key, float64(k), len(s.Braces), len(s.Patches))
			}
			for i, b := range s.Braces {
				for _, c := range b.Corners() {
					if !o.Inside(c, 0) {
						t.Errorf("%s at %g: corner %s of %s lies off the top", pat.Key, float64(k), where(c), b.name(i))
					}
				}
			}
		}
	}
}

// The legs of the X cross where the plan says, at the angle it says, and are mirror images.
func TestXCrossesWhereAsked(t *testing.T) {
	o := mustNew(t, usual())
	p := plan(o, PatternX)
	p.CrossAt, p.CrossAngle = 250*unit.MM, 45*unit.Degree
	s := board(t, p)
	a, b := s.Braces[0], s.Braces[1]
	for _, e := range []Point{a.From, a.To} {
		// at 45° the distance along and across from the crossing are the same
		reftest.NearMM(t, "leg's end along against across", (e.X - p.CrossAt).Abs(), e.Y.Abs().MM(), 1e-6)
	}
	reftest.NearMM(t, "legs mirror, from", a.From.Distance(b.From.Mirror()), 0, 1e-6)
	reftest.NearMM(t, "legs mirror, to", a.To.Distance(b.To.Mirror()), 0, 1e-6)
	if a.From.Y <= 0 || a.To.Y >= 0 {
		t.Errorf("leg 1 runs from %s to %s: it must cross the centreline", where(a.From), where(a.To))
	}
}

func TestPlateStaysBetweenTheLegs(t *testing.T) {
	s := board(t, plan(mustNew(t, usual()), PatternX))
	for _, c := range s.Patches[0].Corners {
		for _, b := range s.Braces[:2] {
			if d := away(c, b.From, b.To); d < b.Width/2-1e-6 {
				t.Errorf("corner %s of the plate lies %v from the middle of %s", where(c), d, b.Name)
			}
		}
	}
}

// Whatever is drawn, a layout either fits or says what does not, by a field.
func TestLayoutsOfAnyBody(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o, err := New(anyBody(t))
		if err != nil {
			t.Skip(err.Error())
		}
		p := plan(o, rapid.SampledFrom([]Pattern{PatternX, PatternFan, PatternLadder}).Draw(t, "pattern"))
		p.Bars = rapid.IntRange(0, 9).Draw(t, "bars")
		braces, patches, err := p.Lay()
		var re *unit.RangeError
		if err != nil {
			if !errors.As(err, &re) {
				t.Fatalf("%v", err)
			}
			return
		}
		s := Soundboard{Outline: o, Holes: []Hole{p.Hole}, Thickness: 2.8 * unit.MM, Grain: [2]float64{1, 0}, Braces: braces, Patches: patches, Bridge: &p.Bridge}
		if _, err := s.Check(); err != nil && (!errors.As(err, &re) || re.Field == "") {
			t.Fatalf("%v", err)
		}
		for _, b := range braces {
			if !b.From.finite() || !b.To.finite() || b.Width <= 0 || b.Tallest() <= 0 {
				t.Fatalf("%+v", b)
			}
		}
	})
}

func TestHeightsRunStraightBetweenTheirPlaces(t *testing.T) {
	b := Brace{Heights: []Height{{0, 3 * unit.MM}, {0.5, 15 * unit.MM}, {1, 5 * unit.MM}}}
	for _, c := range []struct{ at, want float64 }{{0, 3}, {0.25, 9}, {0.5, 15}, {0.75, 10}, {1, 5}} { // by hand
		reftest.NearMM(t, "height", b.HeightAt(c.at), c.want, 1e-9)
	}
	reftest.NearMM(t, "tallest", b.Tallest(), 15, 1e-9)
}

func TestCheckNamesWhatCannotBe(t *testing.T) {
	base := func() Soundboard { return board(t, plan(mustNew(t, usual()), PatternX)) }
	if _, err := base().Check(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, field string
		change      func(*Soundboard)
	}{
		{"no outline", "outline", func(s *Soundboard) { s.Outline = Outline{} }},
		{"no thickness", "thickness", func(s *Soundboard) { s.Thickness = 0 }},
		{"thickness not a number", "thickness", func(s *Soundboard) { s.Thickness = unit.Length(math.NaN()) }},
		{"no grain", "grain", func(s *Soundboard) { s.Grain = [2]float64{} }},
		{"dome too round", "dome_radius", func(s *Soundboard) { s.Dome = 0.1 }},
		{"hole outside", "holes[0].centre", func(s *Soundboard) { s.Holes[0].Centre.X = 2 }},
		{"hole cuts the edge", "holes[0].radius", func(s *Soundboard) { s.Holes[0].Radius = 130 * unit.MM }},
		{"hole of no size", "holes[0].radius", func(s *Soundboard) { s.Holes[0].Radius = 0 }},
		{"holes overlap", "holes[1].centre", func(s *Soundboard) { s.Holes = append(s.Holes, s.Holes[0]) }},
		{"brace off the top", "braces[2].to", func(s *Soundboard) { s.Braces[2].To.Y = 0.3 }},
		{"brace end not a number", "braces[0].from", func(s *Soundboard) { s.Braces[0].From.X = unit.Length(math.NaN()) }},
		{"brace across the hole", "braces[3].from", func(s *Soundboard) {
			s.Braces[3].From, s.Braces[3].To = Point{342 * unit.MM, -100 * unit.MM}, Point{342 * unit.MM, 100 * unit.MM}
		}},
		{"brace leaves the top at the waist", "braces[2].to", func(s *Soundboard) {
			s.Braces[2].From, s.Braces[2].To = Point{170 * unit.MM, 165 * unit.MM}, Point{405 * unit.MM, 140 * unit.MM}
		}},
		{"brace without width", "braces[1].width", func(s *Soundboard) { s.Braces[1].Width = 0 }},
		{"brace without heights", "braces[1].heights", func(s *Soundboard) { s.Braces[1].Heights = nil }},
		{"heights out of order", "braces[1].heights", func(s *Soundboard) { s.Braces[1].Heights[1].At = 0.99 }},
		{"heights all 0", "braces[1].heights", func(s *Soundboard) { s.Braces[1].Heights = []Height{{0, 0}, {1, 0}} }},
		{"height infinite", "braces[1].heights", func(s *Soundboard) { s.Braces[1].Heights[1].Height = unit.Length(math.Inf(1)) }},
		{"brace of no length", "braces[1].to", func(s *Soundboard) { s.Braces[1].To = s.Braces[1].From }},
		{"plate without thickness", "patches[0].thickness", func(s *Soundboard) { s.Patches[0].Thickness = 0 }},
		{"plate without grain", "patches[0].grain", func(s *Soundboard) { s.Patches[0].Grain = [2]float64{} }},
		{"plate corners crossed", "patches[0].corners", func(s *Soundboard) {
			c := &s.Patches[0].Corners
			c[0], c[1] = c[1], c[0]
		}},
		{"plate off the top", "patches[0].corners", func(s *Soundboard) { s.Patches[0].Corners[0].X = -0.1 }},
		{"plate over the hole", "patches[0].corners", func(s *Soundboard) {
			s.Patches[0].Corners[1].X, s.Patches[0].Corners[2].X = 330*unit.MM, 330*unit.MM
		}},
		{"plate on no side", "patches[0].side", func(s *Soundboard) { s.Patches[0].Side = "inside" }},
		{"bridge off the top", "bridge.centre", func(s *Soundboard) { s.Bridge.Centre.X = 5 * unit.MM }},
		{"bridge over the hole", "bridge.centre", func(s *Soundboard) { s.Bridge.Centre.X = 300 * unit.MM }},
		{"bridge of no width", "bridge.across", func(s *Soundboard) { s.Bridge.Across = 0 }},
	} {
		s := base()
		c.change(&s)
		_, err := s.Check()
		if err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		t.Run(c.name, func(t *testing.T) { reftest.RangeError(t, err, c.field) })
	}
}

// A brace from (0.10, 0) to (0.13, 0.04) is 50 mm long by Pythagoras: 30, 40, 50.
func TestPartsList(t *testing.T) {
	s := Soundboard{Outline: mustNew(t, usual()), Thickness: 2.8 * unit.MM, Grain: [2]float64{1, 0},
		Braces:  []Brace{{Name: "bar", From: at(0.10, 0), To: at(0.13, 0.04), Width: 6 * unit.MM, Heights: []Height{{0, 2 * unit.MM}, {1, 9 * unit.MM}}}},
		Patches: []Patch{{Name: "bridge plate", Corners: [4]Point{at(0.14, -0.086), at(0.2, -0.033), at(0.2, 0.033), at(0.14, 0.086)}, Thickness: 2.5 * unit.MM, Grain: [2]float64{0, 1}, Side: Under}}}
	parts := s.Parts()
	if len(parts) != 3 {
		t.Fatalf("%d parts", len(parts))
	}
	reftest.NearMM(t, "half of the top along the grain", parts[0].Length, 516, 1e-9)
	reftest.NearMM(t, "half of the top across", parts[0].Width, 195+8, 0.01)
	reftest.NearMM(t, "brace", parts[1].Length, 50, 1e-9)
	reftest.NearMM(t, "brace's height", parts[1].Height, 9, 1e-9)
	reftest.NearMM(t, "plate along its grain", parts[2].Length, 172, 1e-9)
	reftest.NearMM(t, "plate across", parts[2].Width, 60, 1e-9)
}

func TestPlanRefused(t *testing.T) {
	o := mustNew(t, usual())
	for _, c := range []struct {
		field  string
		change func(*Plan)
	}{
		{"outline", func(p *Plan) { p.Outline = Outline{} }},
		{"pattern", func(p *Plan) { p.Pattern = "herringbone" }},
		{"bars", func(p *Plan) { p.Bars = 10 }},
		{"cross_at", func(p *Plan) { p.CrossAt = 620 * unit.MM }},
		{"cross_angle", func(p *Plan) { p.CrossAngle = 5 * unit.Degree }},
		{"width", func(p *Plan) { p.Width = -1 }},
		{"height", func(p *Plan) { p.Height = unit.Length(math.Inf(1)) }},
	} {
		p := plan(o, PatternX)
		c.change(&p)
		if _, _, err := p.Lay(); err == nil {
			t.Errorf("%s: no error", c.field)
		} else {
			reftest.RangeError(t, err, c.field)
		}
	}
}

// Every name that a starting layout gives is said in the reader's language; a typed one stays.
func TestMadeNamesAreKnown(t *testing.T) {
	pseudo := unit.Millimetre.Speaking(language.Pseudo)
	for _, pattern := range Patterns() {
		braces, plates, err := plan(mustNew(t, usual()), pattern.Key).Lay()
		if err != nil {
			t.Fatal(err)
		}
		names := []string{}
		for _, b := range braces {
			names = append(names, b.Name)
		}
		for _, q := range plates {
			names = append(names, q.Name)
		}
		for _, name := range names {
			if got := Called(name); got.In(unit.Millimetre) != name || !strings.HasPrefix(got.In(pseudo), "⟦") {
				t.Errorf("%q is called %q, %q", name, got.In(unit.Millimetre), got.In(pseudo))
			}
		}
	}
	for _, typed := range []string{"", "side bar", "tone bar", "tone bar 01", "tone bar +1", "bar x", "Bar 1", "fan 1 of 3", " 1", "%d 1"} {
		if got := Called(typed).In(pseudo); got != typed {
			t.Errorf("typed %q is called %q", typed, got)
		}
	}
}
