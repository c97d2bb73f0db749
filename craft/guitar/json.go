package guitar

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"fairset/unit"
)

// decimal is a JSON number kept as it is written. A figure's SI value and the same figure in the file's
// unit differ by a shift of the decimal point, made on the digits: a multiplication in floating point would
// lose the last bit of about one figure in four, and 25 1/2 in would not come back as it was.
type decimal string

// maxDecimal bounds the digits of one number.
const maxDecimal = 40

// newDecimal writes v × 10^places with as many digits as bring v back exactly.
func newDecimal(v float64, places int) decimal {
	text := strconv.FormatFloat(v, 'e', -1, 64)
	mantissa, exponent, ok := strings.Cut(text, "e")
	if !ok {
		return decimal(text) // NaN or infinite: marshalling refuses it
	}
	exp, _ := strconv.Atoi(exponent)
	exp += places
	digits := strings.TrimPrefix(mantissa, "-")
	sign := mantissa[:len(mantissa)-len(digits)]
	digits = strings.Replace(digits, ".", "", 1)
	switch point := exp + 1; {
	case v == 0:
		return "0"
	case point > 15 || point < -5:
		frac := digits[1:]
		if frac != "" {
			frac = "." + frac
		}
		return decimal(sign + digits[:1] + frac + "e" + strconv.Itoa(exp))
	case point <= 0:
		return decimal(sign + "0." + strings.Repeat("0", -point) + digits)
	case point >= len(digits):
		return decimal(sign + digits + strings.Repeat("0", point-len(digits)))
	default:
		return decimal(sign + digits[:point] + "." + digits[point:])
	}
}

// float returns the float64 nearest the number × 10^-places.
func (d decimal) float(places int) (float64, error) {
	mantissa, exponent, _ := strings.Cut(strings.ToLower(string(d)), "e")
	exp := 0
	if exponent != "" {
		var err error
		if exp, err = strconv.Atoi(exponent); err != nil || exp < -400 || exp > 400 {
			return 0, errors.New("the exponent is too large")
		}
	}
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exp-places), 64)
	if err != nil || !unit.Finite(v) {
		return 0, errors.New("it must be a finite number")
	}
	return v + 0, nil
}

// UnmarshalJSON takes a JSON number and nothing else.
func (d *decimal) UnmarshalJSON(b []byte) error {
	if len(b) == 0 || b[0] != '-' && (b[0] < '0' || b[0] > '9') {
		return fmt.Errorf("%s is not a number", clip(string(b)))
	}
	if len(b) > maxDecimal {
		return fmt.Errorf("a number with more than %d digits", maxDecimal)
	}
	*d = decimal(b)
	return nil
}

// MarshalJSON writes the digits; json checks that they are a number.
func (d decimal) MarshalJSON() ([]byte, error) { return []byte(d), nil }

// lengthMM is a length in metres that JSON holds in millimetres, exactly.
type lengthMM unit.Length

// UnmarshalJSON reads millimetres.
func (l *lengthMM) UnmarshalJSON(b []byte) error {
	var d decimal
	if err := d.UnmarshalJSON(b); err != nil {
		return err
	}
	v, err := d.float(3)
	if err != nil {
		return err
	}
	*l = lengthMM(v)
	return nil
}

// MarshalJSON writes millimetres.
func (l lengthMM) MarshalJSON() ([]byte, error) { return []byte(newDecimal(float64(l), 3)), nil }

// degreesOf returns the degrees that, times a degree, give v: of the few candidates in the last bits the
// one with the fewest digits, so that a typed 0.03 is written as 0.03.
func degreesOf(v float64) float64 {
	best := v / deg
	low, high := best, best
	found := best*deg == v
	digits := func(x float64) int { return len(strconv.FormatFloat(x, 'e', -1, 64)) }
	for range 3 {
		low, high = math.Nextafter(low, math.Inf(-1)), math.Nextafter(high, math.Inf(1))
		for _, x := range []float64{low, high} {
			if x*deg == v && (!found || digits(x) < digits(best)) {
				best, found = x, true
			}
		}
	}
	return best
}

// Bounds of the JSON itself, checked before anything is allocated for it.
const (
	maxDepth   = 12
	maxMembers = 512
	maxKey     = 64
)

// wellFormed checks that data is valid UTF-8 and valid JSON, that no object names a member twice, that every
// key is of the kind the guitar file uses (small letters, digits, _), that nothing is null, and that depth
// and counts stay within bounds. What it lets through can be decoded in memory in proportion to the file.
func wellFormed(data []byte) error {
	at := func(offset int) int { return 1 + bytes.Count(data[:offset], []byte("\n")) }
	if !utf8.Valid(data) {
		return &FileError{Why: unit.Say("not readable as text; the file must be UTF-8")}
	}
	if !json.Valid(data) {
		var syntax *json.SyntaxError
		err := json.Unmarshal(data, new(json.RawMessage))
		if errors.As(err, &syntax) {
			return &FileError{Line: at(int(min(syntax.Offset, int64(len(data))))), Why: unit.Say("not readable as JSON: %v", err)}
		}
		return &FileError{Why: unit.Say("not readable as JSON: %v", err)}
	}
	type level struct {
		object bool
		count  int
		keys   [][]byte
	}
	var stack []level
	key := false // the next string is a member's name
	for i := 0; i < len(data); i++ {
		switch c := data[i]; c {
		case '{', '[':
			if len(stack) == maxDepth {
				return &FileError{Line: at(i), Why: unit.Say("nested deeper than %d", maxDepth)}
			}
			stack = append(stack, level{object: c == '{', count: 1})
			key = c == '{'
		case '}', ']':
			stack = stack[:len(stack)-1]
			key = false
		case ',':
			top := &stack[len(stack)-1]
			top.count++
			if top.object && top.count > maxMembers || top.count > maxLog {
				return &FileError{Line: at(i), Why: unit.Say("a list is longer than any guitar file needs")}
			}
			key = top.object
		case ':':
			key = false
		case 'n':
			return &FileError{Line: at(i), Why: unit.Say("null is not allowed; leave the member out")}
		case '"':
			start := i + 1
			for i++; data[i] != '"'; i++ {
				if data[i] == '\\' {
					i++
				}
			}
			if !key {
				continue
			}
			name := data[start:i]
			if !plainKey(name) {
				return &FileError{Line: at(start), Why: unit.Say("unknown member %q", clip(string(name)))}
			}
			top := &stack[len(stack)-1]
			for _, k := range top.keys {
				if bytes.Equal(k, name) {
					return &FileError{Line: at(start), Why: unit.Say("%q is given twice", name)}
				}
			}
			top.keys = append(top.keys, name)
		}
	}
	return nil
}

func plainKey(name []byte) bool {
	for _, c := range name {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '_' {
			return false
		}
	}
	return len(name) > 0 && len(name) <= maxKey
}

// clip shortens a text that is quoted in a message.
func clip(s string) string {
	if len(s) > maxKey {
		return strings.ToValidUTF8(s[:maxKey], "") + "…"
	}
	return s
}
