package guitar

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"fairset/craft/body"
	"fairset/craft/soundboard"
	"fairset/internal/reftest"
	"fairset/unit"
)

// shapeFrom samples a function over a rectangle that lies evenly about the centreline.
func shapeFrom(f func(x, y float64) float64) TopShape {
	s := TopShape{From: body.Point{X: 0, Y: -0.2}, Step: shapeStep, Along: 101, Across: 81}
	for j := range s.Across {
		for i := range s.Along {
			p := s.Place(i, j)
			s.At = append(s.At, f(float64(p.X)/0.5, float64(p.Y)/0.2))
		}
	}
	s.At[0] = math.NaN()
	return s
}

// Names of modes of a rectangle, whose shapes are products of sines: how many parts there are and how they mirror is plain.
func TestModesAreNamedOnlyForWhatTheyDo(t *testing.T) {
	sin := math.Sin
	for _, c := range []struct {
		f     func(x, y float64) float64
		name  string
		parts int
	}{
		{func(x, y float64) float64 { return sin(math.Pi*x) * math.Cos(math.Pi/2*y) }, "top moving as one", 1},
		{func(x, y float64) float64 { return sin(math.Pi*x) * sin(math.Pi*y) }, "bass and treble side by turns", 2},
		{func(x, y float64) float64 { return sin(2*math.Pi*x) * math.Cos(math.Pi/2*y) }, "near the tail and near the neck by turns", 2},
		{func(x, y float64) float64 { return sin(2*math.Pi*x) * sin(math.Pi*y) }, "four parts by turns, bass against treble", 4},
		{func(x, y float64) float64 { return sin(3*math.Pi*x) * math.Cos(math.Pi/2*y) }, "three parts by turns, both sides alike", 3},
		{func(x, y float64) float64 { return sin(math.Pi*x) * (x - 0.5 + 0.5*y) }, "two parts by turns", 2},
	} {
		s := shapeFrom(c.f)
		if name, parts := s.said(); name.In(unit.Millimetre) != c.name || parts != c.parts {
			t.Errorf("named %q with %d parts, not %q with %d", name, parts, c.name, c.parts)
		}
	}
}

func TestStudyOfATop(t *testing.T) {
	d := bases[0].Values
	roughly := func(ctx context.Context, m soundboard.Model) (TopPlate, error) {
		return soundboard.Prepare(ctx, m, soundboard.Options{Cells: 24, Single: true})
	}
	s, err := StudyTop(t.Context(), d, TopModes, roughly)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Modes) != TopModes || s.Modes[0].Name.In(unit.Millimetre) != "top moving as one" || !s.GapKnown || s.Air == nil {
		t.Errorf("%d modes, the first %q, gap known %v, air %v", len(s.Modes), s.Modes[0].Name, s.GapKnown, s.Air)
	}
	// 700 N × (8 + 2.8 + half of the top's 2.8) mm, from the design's own figures.
	reftest.Near(t, "couple", s.Couple, 700*(d.Length("bridge_thickness")+d.Length("saddle_projection")+d.Length("top_thickness")/2).MM()/1000, 1e-9)
	reftest.Near(t, "stiffness", s.Stiffness*math.Tan(float64(s.Tilt))/math.Tan(float64(unit.Degree)), s.Couple, 1e-9)
	// A bare spruce top of these sizes weighs 0.14 m² × 2.8 mm × 430 kg/m³ = 170 g; braces and plate bring a third more.
	if s.Mass < 0.15 || s.Mass > 0.35 {
		t.Errorf("the top weighs %v kg", s.Mass)
	}
	// The same rise, typed, asks for the same gap.
	a, _, err := Build(typedRise(d, s.SaddleRise)).Target()
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "gap", s.Gap, a.GapOnFrets.MM(), 1e-9)

	// A brace a half taller, by name: stiffer against the strings' tilt, heavier, and the list holds one line of it however often it is moved.
	b := s.Body.Braces[0]
	b.Heights = append([]body.Height(nil), b.Heights...)
	for i := range b.Heights {
		b.Heights[i].Height *= 1.5
	}
	e, err := WithBrace(d, b)
	if err != nil {
		t.Fatal(err)
	}
	b.Width *= 1.1
	if e, err = WithBrace(e, b); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(e.Choice("brace_list"), b.Name+":"); n != 1 {
		t.Errorf("the list of braces names %s %d times:\n%s", b.Name, n, e.Choice("brace_list"))
	}
	if d.Has("brace_list") {
		t.Error("the design itself was changed")
	}
	stiff, err := StudyTop(t.Context(), e, 0, roughly)
	if err != nil {
		t.Fatal(err)
	}
	if !(stiff.Stiffness > s.Stiffness && stiff.Mass > s.Mass && stiff.Tilt < s.Tilt) {
		t.Errorf("a taller brace: %v N·m, %v kg, %v, against %v, %v, %v", stiff.Stiffness, stiff.Mass, stiff.Tilt, s.Stiffness, s.Mass, s.Tilt)
	}
	if len(stiff.Modes) != 0 || stiff.Air != nil {
		t.Error("modes that were not asked for")
	}

	b.From.X, b.Name = 5, "far away" // metres off the top
	if _, err := WithBrace(d, b); err == nil {
		t.Error("a brace off the top was taken")
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := StudyTop(ended, d, 1, roughly); !errors.Is(err, context.Canceled) {
		t.Errorf("given up, it says %v", err)
	}
}
