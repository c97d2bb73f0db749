package guitar

import (
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"
)

// By hand for 648 mm and 14 frets: the joint lies at 648 (1 - 2^(-14/12)) = 359.3489 mm, half of it at 179.67; fret 5 lies at
// 648 (1 - 2^(-5/12)) = 162.5512, fret 6 at 648 (1 - √½) = 189.7948, so 6 is nearer. Fret 11 lies at 648 (1 - 2^(-11/12)) = 304.7340,
// 0.848017 of the way. Widths 44 to 56, depths 15 to 17.
func TestNeckSections(t *testing.T) {
	s, err := NeckSections(bases[0].Values)
	if err != nil || len(s) != 3 {
		t.Fatal(s, err)
	}
	for i, w := range []struct {
		name               string
		from, width, depth float64
	}{{"nut", 0, 44, 15}, {"middle, fret 6", 189.7948, 44 + 12*0.528163, 15 + 2*0.528163}, {"heel, fret 11", 304.7340, 44 + 12*0.848017, 15 + 2*0.848017}} {
		if s[i].Name.In(unit.Millimetre) != w.name {
			t.Errorf("section %d is called %q", i, s[i].Name)
		}
		reftest.NearMM(t, w.name+" from the nut", s[i].FromNut, w.from, 1e-3)
		reftest.NearMM(t, w.name+" width", s[i].Width, w.width, 1e-3)
		reftest.NearMM(t, w.name+" depth", s[i].Depth, w.depth, 1e-3)
		reftest.NearMM(t, w.name+" radius", s[i].Radius, 400, 1e-6)
		if s[i].Fullness != 2 {
			t.Errorf("fullness %v", s[i].Fullness)
		}
	}
	for _, b := range Bases() {
		if _, err := NeckSections(b.Values); err != nil {
			t.Errorf("%s: %v", b.Key, err)
		}
	}
	_, err = NeckSections(set(bases[0].Values, "neck_depth_nut", ""))
	if p, ok := err.(Problems); !ok || p.For("neck_depth_nut") == nil {
		t.Errorf("without a depth: %v", err)
	}
	// A growing radius is what a gauge reads there: 300 at the nut, 400 at the board's end, in proportion between.
	d := set(set(set(bases[0].Values, "board_radius_nut", "300"), "board_radius_end", "400"), "board_length", "450")
	s, err = NeckSections(d)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "radius at fret 6", s[1].Radius, 300+100*189.7948/450, 1e-3)
}
