package unit_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/internal/reftest"
	"fairset/unit"
)

// Every figure is the exact value, so the wanted one is a ratio of whole numbers over millimetres.
// source: 1 in = 25.4 mm exactly (international inch, 1959); the rest is arithmetic by hand.
func TestParseLength(t *testing.T) {
	mm, in := unit.Millimetre, unit.InchDecimal
	for _, c := range []struct {
		text string
		bare unit.Style
		want float64 // mm
	}{
		// What the job asks for.
		{"359.34881532253013", mm, 359.34881532253013}, {"25 1/2", mm, 647.7}, {"25 1/2", in, 647.7}, {"25.5 in", mm, 647.7}, {"648", mm, 648}, {"648 mm", in, 648}, {"64.8 cm", in, 648},
		{`3/32"`, mm, 2.38125}, {"1-1/4 in", mm, 31.75},
		// Bare figures follow the maker's style; a bare fraction is always inches.
		{"25.5", mm, 25.5}, {"25.5", in, 647.7}, {"25.5", unit.Inch64, 647.7}, {"3/32", mm, 2.38125}, {"19/64", mm, 7.540625},
		// Unit words.
		{"1 inch", mm, 25.4}, {"2 inches", mm, 50.8}, {"1 in.", mm, 25.4}, {`1"`, mm, 25.4}, {"1″", mm, 25.4}, {"1”", mm, 25.4}, {"1''", mm, 25.4}, {"1IN", mm, 25.4},
		{"12 thou", mm, 0.3048}, {"12 mil", mm, 0.3048}, {"0.648 m", mm, 648}, {"1 metre", mm, 1000}, {"2 meters", mm, 2000}, {"5 millimetres", in, 5}, {"5 millimeters", in, 5}, {"1 centimetres", mm, 10}, {"648mm", in, 648}, {"64.8cm", in, 648},
		// Spelling of the number.
		{"25,5 in", mm, 647.7}, {".5 in", mm, 12.7}, {",5 in", mm, 12.7}, {"5.", mm, 5}, {"0", mm, 0}, {"007", mm, 7}, {"  648  ", mm, 648}, {"+6", mm, 6},
		{"25½", mm, 647.7}, {"25 ½ in", mm, 647.7}, {"½", mm, 12.7}, {"¾ in", mm, 19.05}, {"⅜", mm, 9.525}, {"⅔ in", mm, 25.4 * 2 / 3}, {"1⁄4", mm, 6.35},
		{"1 - 1/4", mm, 31.75}, {"1–1/4 in", mm, 31.75}, {"25\u00a01/2", mm, 647.7}, {"3 / 32 in", mm, 2.38125}, {"9/8 in", mm, 28.575}, {"0/64", mm, 0}, {"1/2 mm", in, 0.5},
		// Signs: an offset can be on the bass side.
		{"-1.5", mm, -1.5}, {"−1.5 mm", mm, -1.5}, {"- 1/2 in", mm, -12.7}, {"-25 1/2", mm, -647.7}, {"-0", mm, 0},
	} {
		got, err := unit.ParseLength(c.text, c.bare)
		if err != nil {
			t.Errorf("%q in %s: %v", c.text, c.bare, err)
			continue
		}
		reftest.NearMM(t, c.text, got, c.want, 1e-12)
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for text, says := range map[string]string{
		"": "nothing is written", "   ": "nothing is written", "long": "write it like", "25 1/0": "0 below the line", "1/0 in": "0 below the line", "25 3/2": "below 1", "25 1 2": "write it like",
		"1/2/3": "write it like", "--5": "write it like", "+-5": "write it like", "5-": "write it like", "1e3": "write it like", "0x10": "write it like", "NaN": "write it like", "Inf": "write it like", "1_000": "write it like",
		"5 kg": "write it like", "5'": "write it like", "25 1/2 in in": "write it like", "mm": "write it like", ".": "write it like", "1.2.3": "write it like", "1/2.5": "write it like", "½½": "write it like", "٣": "write it like",
		"5 mm 3": "write it like", "25 1/-2": "write it like", strings.Repeat("9", 49): "too long", "1234567890123": "write it like", "\x00": "write it like", "\xff5": "write it like",
	} {
		got, err := unit.ParseLength(text, unit.Millimetre)
		var syn *unit.SyntaxError
		if !errors.As(err, &syn) {
			t.Errorf("%q was read as %v (%v)", text, got, err)
			continue
		}
		if !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %q does not say %q", text, err, says)
		}
		if len(err.Error()) > 300 {
			t.Errorf("%q: the message is %d bytes long", text, len(err.Error()))
		}
	}
}

func TestWritingLengths(t *testing.T) {
	for _, c := range []struct {
		length                              unit.Length
		mm, inch, in64, exact, fine, fineIn string
	}{
		// source: arithmetic by hand; rounding as the trade rounds, common practice, no source
		{25.5 * unit.Inch, "647.7 mm", "25.500 in", "25 1/2 in", "25 1/2 in", "647.70 mm", "25.500 in"},
		{7.440625 * unit.MM, "7.4 mm", "0.293 in", "19/64 in", "19/64 in, 0.004 in under", "7.44 mm", "0.293 in"}, // 19/64 less 0.1 mm
		{7.640625 * unit.MM, "7.6 mm", "0.301 in", "19/64 in", "19/64 in, 0.004 in over", "7.64 mm", "0.301 in"},
		{0.34 * unit.MM, "0.35 mm", "0.013 in", "1/64 in", "1/64 in, 0.002 in under", "0.34 mm", "0.013 in"},
		{0.96 * unit.MM, "0.95 mm", "0.038 in", "1/32 in", "1/32 in, 0.007 in over", "0.96 mm", "0.038 in"},
		{0.98 * unit.MM, "1.0 mm", "0.039 in", "1/32 in", "1/32 in, 0.007 in over", "0.98 mm", "0.039 in"},
		{0, "0.00 mm", "0.000 in", "0 in", "0 in", "0.00 mm", "0.000 in"},
		{-0.01 * unit.MM, "0.00 mm", "0.000 in", "0 in", "0 in", "-0.01 mm", "0.000 in"},
		{0.1 * unit.MM, "0.10 mm", "0.004 in", "0 in", "0.004 in", "0.10 mm", "0.004 in"},
		{-0.1 * unit.MM, "-0.10 mm", "-0.004 in", "0 in", "-0.004 in", "-0.10 mm", "-0.004 in"},
		{-1.25 * unit.Inch, "-31.8 mm", "-1.250 in", "-1 1/4 in", "-1 1/4 in", "-31.75 mm", "-1.250 in"},
		{12 * unit.Inch, "304.8 mm", "12.000 in", "12 in", "12 in", "304.80 mm", "12.000 in"},
		{unit.Inch * 127 / 128, "25.2 mm", "0.992 in", "1 in", "1 in, 0.008 in under", "25.20 mm", "0.992 in"}, // a tie goes up
	} {
		for _, w := range []struct{ what, got, want string }{
			{"millimetres", c.length.In(unit.Millimetre), c.mm}, {"decimal inches", c.length.In(unit.InchDecimal), c.inch}, {"64ths", c.length.In(unit.Inch64), c.in64},
			{"exact", c.length.Exact(unit.Inch64), c.exact}, {"fine", c.length.Fine(unit.Millimetre), c.fine}, {"fine in inches", c.length.Fine(unit.Inch64), c.fineIn},
			{"exact in mm", c.length.Exact(unit.Millimetre), c.mm},
			{"number", c.length.Number(unit.Millimetre) + " mm", c.mm},
		} {
			if w.got != w.want {
				t.Errorf("%v in %s: got %q, want %q", c.length, w.what, w.got, w.want)
			}
		}
	}
	for _, l := range []unit.Length{unit.Length(math.NaN()), unit.Length(math.Inf(1)), unit.Length(math.Inf(-1))} {
		for _, s := range unit.Styles() {
			for _, text := range []string{l.In(s), l.Exact(s), l.Fine(s)} {
				if !strings.HasPrefix(text, "?") {
					t.Errorf("a length that is none is written %q", text)
				}
			}
		}
	}
}

func TestOtherQuantities(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{(1.134 * unit.Degree).String(), "1.13°"}, {(-0.001 * unit.Degree).String(), "0.00°"},
		{unit.Force(690).String(), "690 N (155 lbf)"}, // source: 1 lbf = 4.4482216 N
		{unit.Length(0.0123456).String(), "12.346 mm"},
		{unit.Write(0.05, unit.KindPercent, unit.Millimetre), "5 %"}, {unit.Write(0.001, unit.KindPercent, unit.Millimetre), "0.1 %"},
		{unit.Write(14, unit.KindCount, unit.Inch64), "14"}, {unit.Write(-3, unit.KindCents, unit.Inch64), "-3 cents"}, {unit.Write(0.49, unit.KindRatio, unit.Inch64), "0.49"},
		{unit.Write(0.0254, unit.KindLength, unit.Inch64), "1 in"}, {unit.Write(math.Pi/180, unit.KindAngle, unit.Inch64), "1.00°"}, {unit.Write(100, unit.KindForce, unit.Inch64), "100 N (22 lbf)"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	reftest.Near(t, "pound-force", float64(unit.PoundForce), 4.4482216152605, 1e-13) // source: NIST SP 811, exact value
	reftest.Near(t, "degree", float64(180*unit.Degree), math.Pi, 1e-15)
	for _, s := range unit.Styles() {
		got, err := unit.ParseStyle(string(s))
		if err != nil || got != s || s.Name() == "" || s.Symbol() == "" {
			t.Errorf("style %q: %q, %v", s, got, err)
		}
	}
	if _, err := unit.ParseStyle("cubit"); err == nil || !strings.Contains(err.Error(), "in64, inch or mm") {
		t.Errorf("unknown style: %v", err)
	}
}

var scale = unit.Limit{Field: "scale_length", Label: unit.Say("scale length"), Kind: unit.KindLength, Min: 0.3, Max: 0.9}

func TestLimitParseKeepsWhatWasTyped(t *testing.T) {
	for _, c := range []struct {
		text    string
		bare    unit.Style
		want    float64
		guessed bool
	}{
		{"25 1/2", unit.Millimetre, 647.7, false}, {"648", unit.Millimetre, 648, false}, {"25.5", unit.InchDecimal, 647.7, false},
		{"648", unit.InchDecimal, 648, true}, {"648", unit.Inch64, 648, true}, {"25.5", unit.Millimetre, 647.7, true},
	} {
		got, err := scale.Parse(c.text, c.bare)
		if err != nil {
			t.Errorf("%q in %s: %v", c.text, c.bare, err)
			continue
		}
		if got.Text != c.text || got.Guessed != c.guessed {
			t.Errorf("%q in %s: got %+v", c.text, c.bare, got)
		}
		reftest.NearMM(t, c.text, got.Value, c.want, 1e-12)
	}
}

func TestRangeErrorSaysWhatToTry(t *testing.T) {
	for _, c := range []struct {
		text  string
		style unit.Style
		says  []string
	}{
		{"6480 mm", unit.Millimetre, []string{"scale length", "6480 mm", "300.0 mm to 900.0 mm", "did you mean 648.0 mm?"}},
		{"64.8 mm", unit.Millimetre, []string{"did you mean 648.0 mm?"}},
		{"25.5 mm", unit.Millimetre, []string{"did you mean 647.7 mm?"}},
		{"-25.5 in", unit.InchDecimal, []string{"-25.5 in", "11.811 in to 35.433 in"}},
		{"25 1/2 lb", unit.Inch64, []string{"25 1/2 lb", "write it like", "11 13/16 in to 35 7/16 in"}},
		{"-648 mm", unit.Millimetre, []string{"did you mean 648.0 mm?"}},
		{"0.648 mm", unit.Millimetre, []string{"did you mean 648.0 mm?"}},
		{"", unit.Inch64, []string{"scale length", "nothing is written"}},
	} {
		_, err := scale.Parse(c.text, c.style)
		re := reftest.RangeError(t, err, "scale_length")
		if re == nil {
			continue
		}
		for _, s := range c.says {
			if got := re.In(c.style); !strings.Contains(got, s) {
				t.Errorf("%q: %q does not say %q", c.text, got, s)
			}
		}
	}
	re := &unit.RangeError{Limit: unit.Limit{Field: "hand", Kind: unit.KindChoice}, Got: "both", Choices: []string{"right", "left"}}
	if got := re.Error(); !strings.Contains(got, "hand") || !strings.Contains(got, "right, left") {
		t.Errorf("choices: %q", got)
	}
}

func TestLimitCheck(t *testing.T) {
	for _, v := range []float64{0.3, 0.9, 0.5} {
		if err := scale.Check(v); err != nil {
			t.Errorf("%v: %v", v, err)
		}
	}
	for _, v := range []float64{0.2999999, 0.9000001, 0, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if err := scale.Check(v); err == nil {
			t.Errorf("%v was accepted", v)
		} else if err := unit.Checks(nil, scale.Check(0.5), err, scale.Check(99)); err == nil {
			t.Error("Checks lost an error")
		}
	}
	inf := math.Inf(1)
	for _, c := range []struct {
		limit unit.Limit
		want  string
	}{
		{unit.Limit{Min: 0.001, Max: inf}, "1.0 mm or more"}, {unit.Limit{Min: -inf, Max: 0.001}, "1.0 mm or less"}, {unit.Limit{Min: -inf, Max: inf}, "any number"},
		{unit.Limit{}, ""}, {unit.Limit{Kind: unit.KindText, Min: 1, Max: 2}, ""}, {unit.Limit{Kind: unit.KindCount, Min: 10, Max: 22}, "10 to 22"},
	} {
		if got := c.limit.Allowed(unit.Millimetre); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestPhrase(t *testing.T) {
	p := unit.Say("Take %v off the cap, then read %d times over %v.", unit.FineLength(0.4*unit.MM), 2, 12*unit.Inch)
	for style, want := range map[unit.Style]string{
		unit.Millimetre:  "Take 0.40 mm off the cap, then read 2 times over 304.8 mm.",
		unit.InchDecimal: "Take 0.016 in off the cap, then read 2 times over 12.000 in.",
		unit.Inch64:      "Take 0.016 in off the cap, then read 2 times over 12 in.",
	} {
		if got := p.In(style); got != want {
			t.Errorf("%s: got %q, want %q", style, got, want)
		}
	}
	plain := unit.Say("The chance is 5 %.")
	if plain.String() != "The chance is 5 %." || plain.Empty() || !(unit.Phrase{}).Empty() {
		t.Errorf("plain: %q", plain)
	}
	if got := unit.Join(plain, unit.Phrase{}, p).In(unit.Inch64); got != "The chance is 5 %. Take 0.016 in off the cap, then read 2 times over 12 in." {
		t.Errorf("joined: %q", got)
	}
	if got := unit.Join(plain, plain).String(); got != "The chance is 5 %. The chance is 5 %." {
		t.Errorf("joined plain: %q", got)
	}
	if got := unit.Say("First: %v Then wait.", p).In(unit.Inch64); !strings.HasPrefix(got, "First: Take 0.016 in off") {
		t.Errorf("nested: %q", got)
	}
}

func TestFractionsAreNearestAndExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(0, 64*40).Draw(t, "64ths")
		// Whole numbers below 2^53 divide to the nearest float64: a second route to the exact metre value.
		want := unit.Length(float64(n*254) / 640000)
		frac := want.AsFraction(64)
		got, err := unit.ParseLength(frac.String(), unit.Millimetre)
		if err != nil || got != want {
			t.Fatalf("%d/64 in is written %q and read as %.20g, want %.20g (%v)", n, frac, float64(got), float64(want), err)
		}
		if frac.Den > 1 && frac.Num%2 == 0 {
			t.Fatalf("%q is not reduced", frac)
		}

		l := unit.Length(rapid.Float64Range(-1, 1).Draw(t, "length"))
		f := l.AsFraction(64)
		said := (float64(f.Whole) + float64(f.Num)/float64(f.Den)) * 0.0254
		if math.Abs(math.Abs(float64(l))-said-float64(f.Rest)) > 1e-15 || f.Rest.Abs() > unit.Inch/128+1e-12 {
			t.Fatalf("%v is said as %v with %v left", l, f, f.Rest)
		}
	})
}

// What a field is filled with reads back as the same length, as near as the style shows.
func TestEditReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		style := rapid.SampledFrom(unit.Styles()).Draw(t, "style")
		reader := rapid.SampledFrom(unit.Styles()).Draw(t, "reader")
		l := unit.Length(rapid.Float64Range(-1.5, 1.5).Draw(t, "length"))
		got, err := unit.ParseLength(l.Edit(style), reader)
		if err != nil {
			t.Fatalf("%q: %v", l.Edit(style), err)
		}
		if tol := 0.00005*unit.Inch + 1e-12; (got - l).Abs() > tol {
			t.Fatalf("%v is filled in as %q and reads back %v", l, l.Edit(style), got)
		}
		// Writing it once more changes nothing: an untouched form never drifts.
		if got.Edit(style) != l.Edit(style) {
			t.Fatalf("%q drifts to %q", l.Edit(style), got.Edit(style))
		}
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"25 1/2", "25.5 in", `3/32"`, "1-1/4 in", "648", "64.8 cm", "½", "-1.5", "12 thou", "1/0", "", "9/8", "1,5 mm", "\xff", "999999999 999999998/999999999 in"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, style := range unit.Styles() {
			l, err := unit.ParseLength(text, style)
			if err != nil {
				var syn *unit.SyntaxError
				if !errors.As(err, &syn) || err.Error() == "" {
					t.Fatalf("%q: %v", text, err)
				}
				continue
			}
			if !l.Finite() {
				t.Fatalf("%q is read as %v", text, float64(l))
			}
			if l.Abs() > 1000 {
				continue // a kilometre is no part of a guitar, and may not fit the text limit again
			}
			back, err := unit.ParseLength(l.Edit(style), style)
			if err != nil || (back-l).Abs() > 0.00005*unit.Inch+1e-9 {
				t.Fatalf("%q: %v is filled in as %q, read back %v, %v", text, l, l.Edit(style), back, err)
			}
		}
	})
}

func BenchmarkParseLength(b *testing.B) {
	for b.Loop() {
		if _, err := unit.ParseLength("25 1/2 in", unit.Millimetre); err != nil {
			b.Fatal(err)
		}
	}
}
