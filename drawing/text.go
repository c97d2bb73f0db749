package drawing

import (
	"math"
	"strings"
	"unicode"

	"fairset/unit"
)

// widths of the printable ASCII characters in thousandths of the type size.
// source: NimbusSans-Regular.afm of the URW base 35 fonts, which has the widths of Helvetica; all compared.
// Writers ask for a face of these widths.
var widths = [95]uint16{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
}

// Rise and Fall are how far letters reach over and under the baseline, as a fraction of the size.
const (
	Rise = 0.74
	Fall = 0.22
)

// Width estimates how wide a text is. Bold letters are reckoned a tenth wider, which the widest words need; letters and signs outside
// ASCII count as wide as the widest of their kind, which holds for the letters of Europe, fractions, arrows and the signs a drawing needs.
func Width(text string, size unit.Length, bold bool) unit.Length {
	sum := 0.0
	for _, r := range text {
		switch {
		case r >= ' ' && r <= '~':
			sum += float64(widths[r-' '])
		case r == '°':
			sum += 400
		case strings.ContainsRune("—…‰ÆŒæœŴ", r) || r >= 0x2190 && r <= 0x21ff || r >= 0x2e80: // arrows, East Asian letters
			sum += 1000
		case r >= '¼' && r <= '¾' || r >= 0x2150 && r <= 0x215f: // fractions
			sum += 850
		case unicode.IsUpper(r) || strings.ContainsRune("©®ŵ∞∆", r) || r >= 0x370 && r < 0x400: // capitals, Greek
			sum += 780
		case unicode.IsLower(r) || r == '¿':
			sum += 620
		default:
			sum += 600
		}
	}
	if bold {
		sum *= 1.1
	}
	return size * unit.Length(sum/1000)
}

// Box is an upright rectangle on the sheet.
type Box struct{ Left, Bottom, Right, Top unit.Length }

// Overlaps reports whether two boxes share more than a line.
func (b Box) Overlaps(c Box) bool {
	return b.Left < c.Right && c.Left < b.Right && b.Bottom < c.Top && c.Bottom < b.Top
}

// Inside reports whether b lies wholly in c.
func (b Box) Inside(c Box) bool {
	return b.Left >= c.Left && b.Right <= c.Right && b.Bottom >= c.Bottom && b.Top <= c.Top
}

// Box estimates the upright rectangle a text needs.
func (t Text) Box() Box {
	w := Width(t.String, t.Size, t.Bold)
	left := unit.Length(0)
	switch t.Anchor {
	case Middle:
		left = -w / 2
	case End:
		left = -w
	}
	sin, cos := math.Sincos(float64(t.Turn))
	b := Box{unit.Length(math.Inf(1)), unit.Length(math.Inf(1)), unit.Length(math.Inf(-1)), unit.Length(math.Inf(-1))}
	for _, x := range []unit.Length{left, left + w} {
		for _, y := range []unit.Length{-Fall * t.Size, Rise * t.Size} {
			px := t.At.X + x*unit.Length(cos) - y*unit.Length(sin)
			py := t.At.Y + x*unit.Length(sin) + y*unit.Length(cos)
			b.Left, b.Right = min(b.Left, px), max(b.Right, px)
			b.Bottom, b.Top = min(b.Bottom, py), max(b.Top, py)
		}
	}
	return b
}

// Wrap breaks a text at spaces into lines no wider than width. A single word that is wider keeps a line
// of its own.
func Wrap(text string, size unit.Length, bold bool, width unit.Length) []string {
	var lines []string
	line := ""
	for _, word := range splitWords(text) {
		try := word
		if line != "" {
			try = line + " " + word
		}
		if line != "" && Width(try, size, bold) > width {
			lines = append(lines, line)
			try = word
		}
		line = try
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// splitWords splits at ordinary spaces only, so that a no-break space holds a figure and its unit together.
func splitWords(s string) []string {
	var out []string
	start := -1
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == ' ' || s[i] == '\n' || s[i] == '\t':
			if start >= 0 {
				out = append(out, s[start:i])
				start = -1
			}
		case start < 0:
			start = i
		}
	}
	if start >= 0 {
		out = append(out, s[start:])
	}
	return out
}
