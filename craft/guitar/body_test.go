package guitar

import (
	"strings"
	"testing"

	"fairset/craft/body"
	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

func set(d Values, key, text string) Values {
	f, ok := find(designFields, key)
	if !ok {
		panic("no field " + key)
	}
	d = d.Clone()
	if text == "" {
		delete(d, key)
		return d
	}
	v, err := f.Parse(text, unit.Millimetre)
	if err != nil {
		panic(err)
	}
	d[key] = []Value{v}
	return d
}

func mustBody(t *testing.T, d Values) body.Soundboard {
	t.Helper()
	s, warns, err := Body(d)
	if err != nil {
		t.Fatal(err)
	}
	if len(warns) > 0 {
		t.Errorf("warnings %v", warns)
	}
	return s
}

func TestEveryStartingDesignHasABody(t *testing.T) {
	for _, b := range Bases() {
		s, warns, err := Body(b.Values)
		if err != nil || len(warns) > 0 {
			t.Errorf("%s: %v, warnings %v", b.Key, err, warns)
			continue
		}
		if len(s.Braces) < 3 || len(s.Patches) != 1 || s.Bridge == nil || s.Wood == "" || s.Braces[0].Wood == "" {
			t.Errorf("%s: %d braces, %d plates, wood %q", b.Key, len(s.Braces), len(s.Patches), s.Wood)
		}
		// The body's edge to the saddle is what the scale leaves past the joint fret: by hand for 14 of 648 mm, 648/2^(14/12) + 2.4.
		if b.Key == "steel-14" {
			reftest.NearMM(t, "edge to saddle", s.Outline.Length()-s.Bridge.Saddle, 648/2.244924096618746+2.4, 1e-6)
			reftest.NearMM(t, "bridge's front edge to saddle", s.Bridge.Centre.X+s.Bridge.Along/2-s.Bridge.Saddle, 10, 1e-6)
		}
		reftest.NearMM(t, b.Key+" lower bout", s.Outline.WidthAt(b.Values.Length("lower_at")), b.Values.Length("lower_width").MM(), 1e-6)
		if err := CheckDesign(b.Values, FromDesign); err != nil {
			t.Errorf("%s: %v", b.Key, err)
		}
	}
}

func TestBodyIsOptional(t *testing.T) {
	d := bases[0].Values.Clone()
	for _, f := range bodyFields() {
		delete(d, f.Field)
	}
	if HasBody(d) {
		t.Error("a design without a body has one")
	}
	if err := CheckDesign(d, FromDesign); err != nil {
		t.Errorf("a design without a body is refused: %v", err)
	}
	_, _, err := Body(d)
	p, ok := err.(Problems)
	if !ok || len(p) != len(landmarkKeys) || p.For("waist_at") == nil {
		t.Errorf("got %v", err)
	}
	// Some of its figures do not stop a design either.
	if err := CheckDesign(set(d, "body_length", "498"), FromDesign); err != nil {
		t.Error(err)
	}
}

func TestBodyProblemsNameTheirField(t *testing.T) {
	for _, c := range []struct {
		name, key, text, field string
		stops                  bool // CheckDesign refuses it too
	}{
		{"waist wider than the bout", "waist_width", "300", "waist_width", true},
		{"waist past the upper bout", "waist_at", "440", "upper_at", true},
		{"tail both ways", "tail_flat", "60", "", false},
		{"points", "outline_points", "0; 0; 10", "outline_points", true},
		{"points crossing", "outline_points", "0;0\n100;150\n300;100\n50;60\n400;100\n490;0", "outline_points", true},
		{"brace list", "brace_list", "tone bar 1 from here", "brace_list", true},
		{"brace off the top", "brace_list", "tone bar 1: from 128; -50 to 62; 298 wide 6 high 11", "brace_list", false},
		{"hole too large", "hole_diameter", "290", "hole_diameter", false},
		{"hole off the top", "hole_from_neck", "499", "hole_from_neck", false},
		{"hole over the bridge", "hole_from_neck", "270", "body_length", false},
		{"crossing off the body", "cross_at", "600", "cross_at", false},
		{"crossing in the hole", "cross_at", "330", "brace_pattern", false},
	} {
		d := set(bases[0].Values, c.key, c.text)
		_, _, err := Body(d)
		if c.field == "" {
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if p, ok := err.(Problems); !ok || p.For(c.field) == nil {
			t.Errorf("%s: want a problem with %s, got %v", c.name, c.field, err)
		}
		if stop := CheckDesign(d, FromDesign); (stop != nil) != c.stops {
			t.Errorf("%s: the design's check says %v", c.name, stop)
		}
	}
}

func TestMovedBraces(t *testing.T) {
	d := set(bases[0].Values, "brace_list", "tone bar 1: from 130; -60 to 66; 95 wide 7 high 2; 12; 2\ntone bar 2: none\nside bar: from 320; 80 to 260; 120 wide 4 high 5 of western-redcedar")
	was, now := mustBody(t, bases[0].Values), mustBody(t, d)
	if len(now.Braces) != len(was.Braces) {
		t.Fatalf("%d braces, were %d", len(now.Braces), len(was.Braces))
	}
	for _, b := range now.Braces {
		switch b.Name {
		case "tone bar 1":
			reftest.NearMM(t, "moved end", b.From.X, 130, 1e-9)
			if b.Wood != "sitka-spruce" {
				t.Errorf("wood %q", b.Wood)
			}
		case "tone bar 2":
			t.Error("it was to be left out")
		case "side bar":
			if b.Wood != "western-redcedar" {
				t.Errorf("wood %q", b.Wood)
			}
		}
	}
	// Written out and put back, the whole layout is the same.
	again := mustBody(t, set(d, "brace_list", WriteBraces(now.Braces)+"\ntone bar 2: none"))
	for i, b := range now.Braces {
		reftest.NearMM(t, b.Name, again.Braces[i].From.Distance(b.From), 0, 1e-3)
	}
}

func TestNeckEndTakesTheBodyEnd(t *testing.T) {
	d := set(bases[0].Values, "arc_radius", "flat")
	s := mustBody(t, d)
	reftest.NearMM(t, "straight part of the neck end", 2*s.Outline.Half()[len(s.Outline.Half())-1][0].Y, bases[0].Values.Length("heel_width_top").MM(), 1e-9)
	_, warns, err := Body(set(bases[0].Values, "arc_radius", "5000"))
	if err != nil || len(warns) != 1 || warns[0].Field != "arc_radius" || !strings.Contains(warns[0].Say.String(), "5000.0 mm") {
		t.Errorf("a radius out of reach: %v, %v", warns, err)
	}
}

func TestOwnOutline(t *testing.T) {
	points := "0;0\n6;62\n31;124\n78;172\n137;194\n200;184\n254;152\n303;124\n352;124\n400;136\n447;126\n478;84\n488;40\n490;0"
	d := set(bases[0].Values, "outline_points", points)
	for _, k := range landmarkKeys {
		delete(d, k)
	}
	s := mustBody(t, d)
	reftest.NearMM(t, "length", s.Outline.Length(), 490, 1e-9)
	if err := CheckDesign(d, FromDesign); err != nil {
		t.Error(err)
	}
}

// Whatever is typed within its range, the body is drawn or a field of the form is named; outlines that are drawn have their widths.
func TestAnyBodyIsDrawnOrNamesItsField(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(bases).Draw(t, "basis").Values.Clone()
		for _, f := range bodyFields() {
			if rapid.IntRange(0, 3).Draw(t, f.Field+" changed") > 0 {
				continue
			}
			switch f.Kind {
			case unit.KindLength, unit.KindAngle:
				v := rapid.Float64Range(f.Min, f.Max).Draw(t, f.Field)
				if was, ok := d[f.Field]; ok && rapid.Bool().Draw(t, "near") {
					v = was[0].SI * rapid.Float64Range(0.9, 1.1).Draw(t, "times")
				}
				d[f.Field] = []Value{{SI: v}}
			case unit.KindCount:
				d[f.Field] = []Value{{SI: float64(rapid.IntRange(int(f.Min), int(f.Max)).Draw(t, f.Field))}}
			case unit.KindChoice:
				d[f.Field] = []Value{{Text: rapid.SampledFrom(f.Choices).Draw(t, f.Field).Key}}
			case unit.KindText:
				d[f.Field] = []Value{{Text: rapid.SampledFrom([]string{"", "x", "tone bar 1: none", "a: from 90; 0 to 120; 30 wide 5 high 6", "0;0\n100;150\n250;110\n400;120\n480;0"}).Draw(t, f.Field)}}
				if d[f.Field][0].Text == "" {
					delete(d, f.Field)
				}
			}
		}
		s, _, err := Body(d)
		if err != nil {
			p, ok := err.(Problems)
			if !ok || len(p) == 0 {
				t.Fatalf("%T: %v", err, err)
			}
			for _, e := range p {
				if _, ok := find(designFields, e.Field); !ok {
					t.Fatalf("problem with %q, which is no field: %v", e.Field, e)
				}
			}
			return
		}
		drawn++
		if !d.Has("outline_points") && (s.Outline.WidthAt(d.Length("waist_at"))-d.Length("waist_width")).Abs() > 1e-6 {
			t.Fatalf("waist %v, wanted %v", s.Outline.WidthAt(d.Length("waist_at")), d.Length("waist_width"))
		}
	})
	if drawn == 0 {
		t.Error("no body was drawn, so nothing was checked")
	}
}
