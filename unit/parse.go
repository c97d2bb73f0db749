package unit

import (
	"math/big"
	"regexp"
	"strings"
)

// maxText bounds what is read as one figure, before anything is allocated for it.
const maxText = 48

// SyntaxError says why a text is not a length.
type SyntaxError struct {
	Text string
	Why  Phrase
}

func (e *SyntaxError) Error() string { return e.In(Millimetre) }

// In writes the error in a maker's language.
func (e *SyntaxError) In(s Style) string { return s.Say("%q is not a length: %v", clip(e.Text), e.Why) }

const lengthHint Text = `write it like 25 1/2, 25.5 in, 3/32", 1-1/4 in, 648, 64.8 cm or 12 thou`

var (
	reMixed    = regexp.MustCompile(`^([0-9]{1,9})(?:\s+|\s*-\s*)([0-9]{1,9})\s*/\s*([0-9]{1,9})$`)
	reFraction = regexp.MustCompile(`^([0-9]{1,9})\s*/\s*([0-9]{1,9})$`)
	reDecimal  = regexp.MustCompile(`^(?:[0-9]{1,12}(?:[.,][0-9]{0,20})?|[.,][0-9]{1,20})$`) // as many decimals as a float64 is written with
)

// vulgar maps the one-character fractions a phone keyboard offers.
var vulgar = strings.NewReplacer(
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"⅓", " 1/3", "⅔", " 2/3", "⁄", "/", "−", "-", "–", "-", "\u00a0", " ", "\u202f", " ",
	"″", `"`, "”", `"`, "“", `"`, "''", `"`, "’’", `"`,
)

// perMetre gives each unit word as an exact ratio of a metre. Longer words first, so that "mm" is not read as "m".
var perMetre = []struct {
	word  string
	ratio *big.Rat
}{
	{"millimetres", big.NewRat(1, 1000)}, {"millimetre", big.NewRat(1, 1000)},
	{"millimeters", big.NewRat(1, 1000)}, {"millimeter", big.NewRat(1, 1000)}, {"mm", big.NewRat(1, 1000)},
	{"centimetres", big.NewRat(1, 100)}, {"centimeters", big.NewRat(1, 100)}, {"cm", big.NewRat(1, 100)},
	{"inches", inchRat}, {"inch", inchRat}, {"in.", inchRat}, {"in", inchRat}, {`"`, inchRat},
	{"thou", thouRat}, {"mil", thouRat},
	{"metres", big.NewRat(1, 1)}, {"meters", big.NewRat(1, 1)}, {"metre", big.NewRat(1, 1)}, {"meter", big.NewRat(1, 1)}, {"m", big.NewRat(1, 1)},
}

var (
	inchRat = big.NewRat(254, 10000)
	thouRat = big.NewRat(254, 10000000)
	mmRat   = big.NewRat(1, 1000)
)

// ParseLength reads a length as a maker types it. A figure without a unit is read in the maker's own
// style, except that a bare fraction is always inches: nobody says 25 1/2 millimetres.
//
// Accepted: decimals with point or comma, fractions, mixed numbers with a space or hyphen, ½-style
// characters, a leading sign; units mm, cm, m, in, inch, inches, ", thou. The result is the float64
// nearest the exact value. Errors are *SyntaxError.
func ParseLength(text string, bare Style) (Length, error) {
	r, unitless, err := parseRatio(text)
	if err != nil {
		return 0, err
	}
	return r.length(unitless.in(bare)), nil
}

type ratio struct{ *big.Rat }

func (r ratio) length(scale *big.Rat) Length {
	v, _ := new(big.Rat).Mul(r.Rat, scale).Float64()
	return Length(v)
}

// spelled says how the figure named its unit: scale is nil when it named none.
type spelled struct {
	scale    *big.Rat
	fraction bool
}

func (u spelled) in(bare Style) *big.Rat {
	switch {
	case u.scale != nil:
		return u.scale
	case u.fraction || !bare.Metric():
		return inchRat
	default:
		return mmRat
	}
}

func parseRatio(text string) (ratio, spelled, error) {
	fail := func(why Text, args ...any) (ratio, spelled, error) {
		return ratio{}, spelled{}, &SyntaxError{text, Say(why, args...)}
	}
	if len(text) > maxText {
		return fail("it is too long; %v", lengthHint)
	}
	s := strings.ToLower(strings.TrimSpace(vulgar.Replace(text)))
	if s == "" {
		return fail("nothing is written; %v", lengthHint)
	}
	negative := false
	switch s[0] {
	case '-':
		negative = true
		s = strings.TrimSpace(s[1:])
	case '+':
		s = strings.TrimSpace(s[1:])
	}
	var how spelled
	for _, u := range perMetre {
		if rest, ok := strings.CutSuffix(s, u.word); ok {
			how.scale, s = u.ratio, strings.TrimSpace(rest)
			break
		}
	}
	value := new(big.Rat)
	switch {
	case reDecimal.MatchString(s):
		if _, ok := value.SetString(strings.TrimSuffix(strings.Replace(s, ",", ".", 1), ".")); !ok {
			return fail(lengthHint)
		}
	case reFraction.MatchString(s):
		m := reFraction.FindStringSubmatch(s)
		if !setFraction(value, m[1], m[2]) {
			return fail("a fraction cannot have 0 below the line")
		}
		how.fraction = true
	case reMixed.MatchString(s):
		m := reMixed.FindStringSubmatch(s)
		if !setFraction(value, m[2], m[3]) {
			return fail("a fraction cannot have 0 below the line")
		}
		if value.Cmp(big.NewRat(1, 1)) >= 0 {
			return fail("the fraction after a whole number must be below 1")
		}
		whole, _ := new(big.Rat).SetString(m[1])
		value.Add(value, whole)
		how.fraction = true
	default:
		return fail(lengthHint)
	}
	if negative {
		value.Neg(value)
	}
	return ratio{value}, how, nil
}

func setFraction(r *big.Rat, num, den string) bool {
	d, _ := new(big.Int).SetString(den, 10)
	n, _ := new(big.Int).SetString(num, 10)
	if d.Sign() == 0 {
		return false
	}
	r.SetFrac(n, d)
	return true
}

func clip(s string) string {
	if len(s) > maxText {
		return strings.ToValidUTF8(s[:maxText], "") + "…"
	}
	return s
}
