package body

import (
	"math"
	"strings"
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"
)

func TestParseBraces(t *testing.T) {
	lines, err := ParseBraces("tone bar 1: from 128; -50 to 62; 98 wide 6 high 1.5; 11 at 0.2; 11 at 80 %; 1,5 of sitka-spruce\n\n  upper  transverse : FROM 402; -115 TO 402; 115 WIDE 3/8 in HIGH 14\r\nbar: from 1 1/2 in; 0 to 4 in; 0 wide 6 mm high 2; 10; 4\ntone bar 2: none")
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != 4 {
		t.Fatalf("%d lines", len(lines))
	}
	b := lines[0].Brace
	if b.Name != "tone bar 1" || b.Wood != "sitka-spruce" || len(b.Heights) != 4 {
		t.Fatalf("%+v", b)
	}
	reftest.NearMM(t, "from x", b.From.X, 128, 1e-9)
	reftest.NearMM(t, "to y", b.To.Y, 98, 1e-9)
	reftest.NearMM(t, "last height", b.Heights[3].Height, 1.5, 1e-9)
	reftest.Near(t, "third place", b.Heights[2].At, 0.8, 1e-12)
	u := lines[1].Brace
	if u.Name != "upper transverse" || len(u.Heights) != 2 {
		t.Fatalf("%+v", u)
	}
	reftest.NearMM(t, "3/8 in wide", u.Width, 9.525, 1e-9)
	reftest.NearMM(t, "the same height all along", u.HeightAt(0.5), 14, 1e-9)
	reftest.NearMM(t, "1 1/2 in", lines[2].From.X, 38.1, 1e-9)
	reftest.Near(t, "heights in equal steps", lines[2].Heights[1].At, 0.5, 1e-12)
	if !lines[3].None {
		t.Error("none was not read")
	}
}

func TestBracesRefused(t *testing.T) {
	const good = "a: from 1; 2 to 3; 4 wide 5 high 6"
	if _, err := ParseBraces(good); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"no name": ": from 1; 2 to 3; 4 wide 5 high 6", "no colon": "from 1; 2 to 3; 4 wide 5 high 6", "no ends": "a: wide 5 high 6", "nothing": "a:",
		"wrong order": "a: to 1; 2 from 3; 4 wide 5 high 6", "one figure": "a: from 1 to 3; 4 wide 5 high 6", "three figures": "a: from 1; 2; 3 to 3; 4 wide 5 high 6",
		"no height": "a: from 1; 2 to 3; 4 wide 5", "not a number": "a: from x; 2 to 3; 4 wide 5 high 6", "huge": "a: from 9999; 2 to 3; 4 wide 5 high 6",
		"place past the end": "a: from 1; 2 to 3; 4 wide 5 high 6; 7 at 1.4; 8", "some places": "a: from 1; 2 to 3; 4 wide 5 high 6; 7 at 0.2; 8; 9; 10", "places backward": "a: from 1; 2 to 3; 4 wide 5 high 6; 7 at 0.6; 8 at 0.3; 9",
		"flat": "a: from 1; 2 to 3; 4 wide 5 high 0", "negative": "a: from 1; 2 to 3; 4 wide 5 high -1; 4", "no wood": good + " of ", "twice": good + "\nA: none",
		"long name": strings.Repeat("a", 41) + ": none", "NaN": "a: from NaN; 2 to 3; 4 wide 5 high 6", "place missing": "a: from 1; 2 to 3; 4 wide 5 high 6; 7 at ; 8",
		"many": strings.Repeat("x", 3) + "\n" + good,
	} {
		_, err := ParseBraces(text)
		if err == nil {
			t.Errorf("%s: read %q", name, text)
			continue
		}
		reftest.RangeError(t, err, "braces")
	}
}

func TestLayoutsComeBackFromText(t *testing.T) {
	for _, pat := range Patterns() {
		s := board(t, plan(mustNew(t, usual()), pat.Key))
		var text []string
		for _, b := range s.Braces {
			text = append(text, b.String())
		}
		lines, err := ParseBraces(strings.Join(text, "\n"))
		if err != nil {
			t.Fatal(err)
		}
		again := Merge(nil, lines, "")
		for i, b := range s.Braces {
			c := again[i]
			reftest.NearMM(t, b.Name+" from", b.From.Distance(c.From), 0, 1e-3) // written to a thousandth of a millimetre
			reftest.NearMM(t, b.Name+" to", b.To.Distance(c.To), 0, 1e-3)
			for _, at := range []float64{0, 0.1, 0.35, 0.5, 0.9, 1} {
				reftest.NearMM(t, b.Name+" height", b.HeightAt(at), c.HeightAt(at).MM(), 1e-3)
			}
			if b.Wood != c.Wood || b.Name != c.Name {
				t.Errorf("%+v came back as %+v", b, c)
			}
		}
	}
}

func TestMerge(t *testing.T) {
	old := []Brace{{Name: "X leg 1", Wood: "cedar"}, {Name: "tone bar 1", Wood: "cedar"}, {Name: "tone bar 2", Wood: "cedar"}}
	lines, err := ParseBraces("Tone Bar 1: from 1; 2 to 30; 4 wide 5 high 6\ntone bar 2: none\nextra: from 1; 2 to 30; 4 wide 5 high 6")
	if err != nil {
		t.Fatal(err)
	}
	got := Merge(old, lines, "spruce")
	var names []string
	for _, b := range got {
		names = append(names, b.Name+" "+b.Wood)
	}
	if s := strings.Join(names, ", "); s != "X leg 1 cedar, Tone Bar 1 cedar, extra spruce" {
		t.Error(s)
	}
}

func TestParsePoints(t *testing.T) {
	p, err := ParsePoints("0; 0\n 6; 62; 1 in; 124\r\n78 mm; 172;\n")
	if err != nil || len(p) != 4 {
		t.Fatal(p, err)
	}
	reftest.NearMM(t, "1 in", p[2].X, 25.4, 1e-9)
	again, err := ParsePoints(WritePoints(defining))
	if err != nil || len(again) != len(defining) {
		t.Fatal(err)
	}
	for i := range again {
		reftest.NearMM(t, "point", again[i].Distance(defining[i]), 0, 1e-6)
	}
	for _, bad := range []string{"1; 2; 3", "a; b", "1; NaN", strings.Repeat("1;", 900)} {
		if _, err := ParsePoints(bad); err == nil {
			t.Errorf("%.20q was read", bad)
		} else {
			reftest.RangeError(t, err, "points")
		}
	}
}

func FuzzParseBraces(f *testing.F) {
	for _, s := range []string{"tone bar 1: from 128; -50 to 62; 98 wide 6 high 1.5; 11 at 0.2; 11 at 0.8; 1.5 of sitka-spruce", "a: none", "a: from 1; 2 to 3; 4 wide 5 high 6 of", "from to wide high of: from", "b: from 1 1/2 in; 0 to 3\"; 1 wide ½ high 2; 3 at 50%; 1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		lines, err := ParseBraces(s)
		if err != nil {
			return
		}
		for _, l := range lines {
			if l.None {
				continue
			}
			for _, v := range []float64{float64(l.From.X), float64(l.From.Y), float64(l.To.X), float64(l.To.Y), float64(l.Width)} {
				if math.IsNaN(v) || math.Abs(v) > 2 {
					t.Fatalf("%q gave %v", s, l)
				}
			}
			if l.Width < 0.01*unit.MM || l.Tallest() < 0.01*unit.MM { // below what is written back
				continue
			}
			again, err := ParseBraces(l.String())
			if err != nil || len(again) != 1 || again[0].Name != l.Name || again[0].Wood != l.Wood || (again[0].Width-l.Width).Abs() > 1e-6 {
				// Places closer than a hundred-thousandth of the brace cannot be told apart when written.
				for i := 1; i < len(l.Heights); i++ {
					if l.Heights[i].At-l.Heights[i-1].At < 2e-5 {
						return
					}
				}
				t.Fatalf("%q was written as %q: %v, %v", s, l, again, err)
			}
		}
	})
}

func FuzzParsePoints(f *testing.F) {
	f.Add("0; 0; 6; 62")
	f.Add("1 in; 2\n3;4")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePoints(s)
		if err != nil {
			return
		}
		if _, err := Through(p); err == nil {
			return
		} else if _, ok := err.(*unit.RangeError); !ok {
			t.Fatalf("%q: %v", s, err)
		}
	})
}
