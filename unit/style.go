package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairset/language"
)

// Style is how one maker likes to read: lengths in which unit, words in which language. It changes what is shown, never what is
// stored. It is written as the unit, and after a slash the language where that is not English: "mm", "in64/de". Two
// styles are compared through Units or Language, never whole.
type Style string

// The three ways a maker can read lengths.
const (
	Inch64      Style = "in64" // inches to the nearest 64th, with what is left over
	InchDecimal Style = "inch" // inches to a thousandth
	Millimetre  Style = "mm"   // millimetres: to 0.05 below 1, to 0.1 above
)

// Styles lists the styles in the order they are offered.
func Styles() []Style { return []Style{Inch64, InchDecimal, Millimetre} }

// ParseStyle reads the name of a style: in64, inch or mm.
func ParseStyle(name string) (Style, error) {
	for _, s := range Styles() {
		if string(s) == name {
			return s, nil
		}
	}
	return "", fmt.Errorf("units %q: choose in64, inch or mm", name)
}

// Units is the style with English words.
func (s Style) Units() Style {
	units, _, _ := strings.Cut(string(s), "/")
	return Style(units)
}

// Language is the language of the words.
func (s Style) Language() language.Code {
	_, code, _ := strings.Cut(string(s), "/")
	return language.Code(code)
}

// Speaking returns the style with its words in another language.
func (s Style) Speaking(c language.Code) Style {
	if c == language.English {
		return s.Units()
	}
	return s.Units() + "/" + Style(c)
}

// Metric reports that lengths are read in millimetres.
func (s Style) Metric() bool { return s.Units() == Millimetre }

// Name says the units in words.
func (s Style) Name() Text {
	switch s.Units() {
	case Inch64:
		return "inches in 64ths"
	case InchDecimal:
		return "decimal inches"
	default:
		return "millimetres"
	}
}

// Say writes a sentence for this maker: see Phrase for what stands for its figures.
func (s Style) Say(text Text, args ...any) string { return Say(text, args...).In(s) }

// Decimal writes a number with a fixed number of decimals, and the mark before them that the language uses; never
// minus zero.
func (s Style) Decimal(v float64, decimals int) string { return s.mark(fixed(v, decimals)) }

// Short is Decimal without zeros at its end.
func (s Style) Short(v float64, decimals int) string { return s.mark(trimmed(v, decimals)) }

// mark gives a written number the decimal mark of the language.
func (s Style) mark(number string) string {
	if s.Language().Comma() {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// Symbol is the short unit to print beside an input: "in" or "mm".
func (s Style) Symbol() string {
	if s.Metric() {
		return "mm"
	}
	return "in"
}

// Fraction is a length as a maker says it in inches: Sign × (Whole + Num/Den), and what that leaves over.
type Fraction struct {
	Negative        bool
	Whole, Num, Den int64
	// Rest is the true length less the length said, with the sign of the true length: negative when the
	// true figure lies under the fraction in size.
	Rest Length
}

// AsFraction returns the nearest multiple of 1/den inch (den a power of two, 1 to 128), reduced.
// Lengths beyond ±10 km are returned as zero with everything left over.
func (l Length) AsFraction(den int64) Fraction {
	v := math.Abs(l.Inches())
	if !Finite(v) || v > 400000 || den < 1 {
		return Fraction{Den: 1, Rest: l}
	}
	n := int64(math.Round(v * float64(den)))
	said := Length(float64(n) / float64(den) * 0.0254)
	f := Fraction{Negative: l < 0 && n != 0, Whole: n / den, Num: n % den, Den: den, Rest: l.Abs() - said}
	for f.Num%2 == 0 && f.Den > 1 && f.Num > 0 {
		f.Num /= 2
		f.Den /= 2
	}
	if f.Num == 0 {
		f.Den = 1
	}
	return f
}

// String writes the fraction without its rest: "25 1/2 in", "-3/64 in", "0 in".
func (f Fraction) String() string {
	var b strings.Builder
	if f.Negative {
		b.WriteByte('-')
	}
	switch {
	case f.Num == 0:
		fmt.Fprintf(&b, "%d", f.Whole)
	case f.Whole == 0:
		fmt.Fprintf(&b, "%d/%d", f.Num, f.Den)
	default:
		fmt.Fprintf(&b, "%d %d/%d", f.Whole, f.Num, f.Den)
	}
	b.WriteString(" in")
	return b.String()
}

// In writes the length for a person, rounded as the trade rounds it.
//
//	Millimetre   "647.7 mm", "0.35 mm"      to 0.05 below 1 mm, else to 0.1
//	InchDecimal  "25.500 in"                 to 0.001
//	Inch64       "25 1/2 in", "19/64 in"     to the nearest 64th; see Exact for what is left over
func (l Length) In(s Style) string { return l.Number(s) + " " + s.Symbol() }

// Number is In without the unit, for a table whose header carries it.
func (l Length) Number(s Style) string {
	if !l.Finite() {
		return "?"
	}
	switch s.Units() {
	case Inch64:
		return strings.TrimSuffix(l.AsFraction(64).String(), " in")
	case InchDecimal:
		return s.Decimal(l.Inches(), 3)
	default:
		mm := l.MM()
		if math.Abs(mm) < 0.975 {
			return s.Decimal(math.Round(mm*20)/20, 2)
		}
		return s.Decimal(mm, 1)
	}
}

// Exact writes the length with its rounding shown: "19/64 in, 0.004 in under" means the true figure lies
// 0.004 in under 19/64. The other styles round finely enough already and are written as In writes them.
func (l Length) Exact(s Style) string {
	if s.Units() != Inch64 || !l.Finite() {
		return l.In(s)
	}
	f := l.AsFraction(64)
	rest := math.Round(math.Abs(f.Rest.Inches())*1000) / 1000
	if rest == 0 {
		return f.String()
	}
	over := s.Decimal(rest, 3) + " in"
	switch {
	case f.Whole == 0 && f.Num == 0 && l < 0:
		return "-" + over
	case f.Whole == 0 && f.Num == 0:
		return over
	case f.Rest < 0:
		return s.Say("%s, %s under", f.String(), over)
	}
	return s.Say("%s, %s over", f.String(), over)
}

// Fine writes a small length where the 64th is too coarse to act on, such as a depth of cut or a spread:
// thousandths of an inch, or millimetres to 0.01.
func (l Length) Fine(s Style) string {
	switch {
	case !l.Finite():
		return "?"
	case s.Metric():
		return s.Decimal(l.MM(), 2) + " mm"
	}
	return s.Decimal(l.Inches(), 3) + " in"
}

// Edit writes the length so that parsing it again gives the same length to display rounding or better,
// with its unit: the text put in a field that nobody has typed in yet.
func (l Length) Edit(s Style) string {
	switch s.Units() {
	case Inch64:
		if f := l.AsFraction(64); f.Rest.Abs() < 0.5*Thou/100 {
			return f.String()
		}
		return s.Short(l.Inches(), 4) + " in"
	case InchDecimal:
		return s.Short(l.Inches(), 4) + " in"
	default:
		return s.Short(l.MM(), 3) + " mm"
	}
}

// String writes the length in millimetres to a thousandth, for logs and test messages.
func (l Length) String() string { return trimmed(l.MM(), 3) + " mm" }

// In writes the angle in degrees to a hundredth: "1.13°".
func (a Angle) In(s Style) string { return s.Decimal(a.Degrees(), 2) + "°" }

// String writes the angle as English readers do.
func (a Angle) String() string { return a.In(Millimetre) }

// In writes the force in newtons and pounds-force: "690 N (155 lbf)".
func (f Force) In(Style) string {
	return fixed(float64(f), 0) + " N (" + fixed(float64(f/PoundForce), 0) + " lbf)"
}

// String writes the force in newtons and pounds-force.
func (f Force) String() string { return f.In(Millimetre) }

// fixed formats with a fixed number of decimals and never writes minus zero.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// trimmed is fixed without trailing zeros.
func trimmed(v float64, decimals int) string {
	s := fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
