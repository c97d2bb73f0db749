package guitar

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"fairset/unit"
)

// Value is one figure as a maker gave it: the text as typed and what it came to, in SI.
// A choice or a note has only text.
type Value struct {
	Text    string
	SI      float64
	Guessed bool // the unit was guessed because only one made sense
}

// Values holds what was answered, by field key. A field that takes several readings has several values.
type Values map[string][]Value

// Length returns the single length under key, or 0.
func (v Values) Length(key string) unit.Length { return unit.Length(v.number(key)) }

// Lengths returns every length under key.
func (v Values) Lengths(key string) []unit.Length {
	var out []unit.Length
	for _, x := range v[key] {
		out = append(out, unit.Length(x.SI))
	}
	return out
}

// Angle returns the single angle under key, or 0.
func (v Values) Angle(key string) unit.Angle { return unit.Angle(v.number(key)) }

// Force returns the single force under key, or 0.
func (v Values) Force(key string) unit.Force { return unit.Force(v.number(key)) }

// Count returns the single whole number under key, or 0.
func (v Values) Count(key string) int { return int(v.number(key)) }

// Ratio returns the single bare number under key, or 0.
func (v Values) Ratio(key string) float64 { return v.number(key) }

// Choice returns the chosen word under key, or "".
func (v Values) Choice(key string) string {
	if len(v[key]) == 0 {
		return ""
	}
	return v[key][0].Text
}

// Choices returns every chosen word under key.
func (v Values) Choices(key string) []string {
	var out []string
	for _, x := range v[key] {
		out = append(out, x.Text)
	}
	return out
}

// Has reports whether the field was answered.
func (v Values) Has(key string) bool { return len(v[key]) > 0 }

// Clone returns an independent copy.
func (v Values) Clone() Values {
	out := make(Values, len(v))
	for k, x := range v {
		out[k] = slices.Clone(x)
	}
	return out
}

func (v Values) number(key string) float64 {
	if len(v[key]) == 0 {
		return 0
	}
	return v[key][0].SI
}

// Problems are the inputs that cannot be used, in the order of the form.
type Problems []*unit.RangeError

func (p Problems) Error() string { return p.In(unit.Millimetre) }

// In writes every problem in a maker's units, one after another.
func (p Problems) In(s unit.Style) string {
	var out []string
	for _, e := range p {
		out = append(out, e.In(s))
	}
	return strings.Join(out, "\n")
}

// For returns the problem with one field, or nil.
func (p Problems) For(key string) *unit.RangeError {
	for _, e := range p {
		if e.Field == key {
			return e
		}
	}
	return nil
}

// maxReadings bounds how many readings one answer may hold.
const maxReadings = 12

// Parse reads what a maker typed for the given fields. Blank texts count as not answered. Fields that are
// required and not answered, texts that cannot be read, figures out of range and keys that no field has
// are Problems; then nothing of the answer may be kept.
func Parse(fields []Field, texts map[string][]string, style unit.Style) (Values, error) {
	out := Values{}
	var problems Problems
	known := map[string]bool{}
	for _, f := range fields {
		known[f.Field] = true
		var given []string
		for _, t := range texts[f.Field] {
			if strings.TrimSpace(t) != "" {
				given = append(given, t)
			}
		}
		switch {
		case len(given) == 0 && f.Required:
			problems = append(problems, &unit.RangeError{Limit: f.Limit, Value: math.NaN(), Found: unit.Say("left empty"), Why: unit.Say("this one is needed"), Choices: f.choiceKeys()})
			continue
		case len(given) > f.atMost():
			problems = append(problems, &unit.RangeError{Limit: f.Limit, Value: math.NaN(), Found: unit.Say("%d answers", len(given)), Why: unit.Say("give at most %d", f.atMost())})
			continue
		}
		for _, t := range given {
			v, err := f.Parse(t, style)
			if err != nil {
				problems = append(problems, err)
				break
			}
			out[f.Field] = append(out[f.Field], v)
		}
	}
	for key := range texts {
		if !known[key] {
			problems = append(problems, &unit.RangeError{Limit: unit.Limit{Field: key, Label: unit.Plain(key), Kind: unit.KindText}, Value: math.NaN(), Got: strings.Join(texts[key], ", "), Why: unit.Say("there is no such field here")})
		}
	}
	if len(problems) > 0 {
		slices.SortStableFunc(problems, func(a, b *unit.RangeError) int {
			if ka, kb := known[a.Field], known[b.Field]; ka != kb || ka {
				return 0
			}
			return strings.Compare(a.Field, b.Field)
		})
		return nil, problems
	}
	return out, nil
}

// notWritten reports a control character that no note is written with.
func notWritten(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' || r == 0x7f }

var reNumber = regexp.MustCompile(`^[+-]?(?:[0-9]{1,12}(?:[.,][0-9]{0,20})?|[.,][0-9]{1,20})$`)

// Parse reads one typed answer for this field.
func (f Field) Parse(text string, style unit.Style) (Value, *unit.RangeError) {
	text = strings.TrimSpace(text)
	bad := func(why unit.Text, args ...any) *unit.RangeError {
		return &unit.RangeError{Limit: f.Limit, Got: text, Value: math.NaN(), Why: unit.Say(why, args...), Choices: f.choiceKeys()}
	}
	switch f.Kind {
	case unit.KindLength:
		if f.Flat && strings.EqualFold(text, "flat") {
			return Value{Text: text}, nil
		}
		typed, err := f.Limit.Parse(text, style)
		if err != nil {
			return Value{}, err.(*unit.RangeError)
		}
		return Value{Text: text, SI: float64(typed.Value), Guessed: typed.Guessed}, nil
	case unit.KindChoice:
		for _, c := range f.Choices {
			if c.Key == text {
				return Value{Text: text}, nil
			}
		}
		return Value{}, bad("choose one of those offered")
	case unit.KindText:
		if len(text) > maxNote {
			return Value{}, bad("keep it under %d characters", maxNote)
		}
		if !utf8.ValidString(text) || strings.ContainsFunc(text, notWritten) {
			return Value{}, bad("it holds something that is not text")
		}
		return Value{Text: text}, nil
	}
	if len(text) > maxTyped {
		return Value{}, bad("write it as a plain number")
	}
	number, scale := splitUnit(text, f.Kind)
	if !reNumber.MatchString(number) {
		return Value{}, bad("write it as a plain number")
	}
	number = strings.Replace(number, ",", ".", 1)
	if f.Kind == unit.KindPercent {
		number, scale = number+"e-2", 1 // the nearest float64, where a product would miss it by a last digit
	}
	n, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return Value{}, bad("write it as a plain number")
	}
	if f.Kind == unit.KindCount && n != math.Trunc(n) {
		return Value{}, bad("it must be a whole number")
	}
	v := n * scale
	if f.Kind == unit.KindTemperature && (scale != 1 || number == text && style != unit.Millimetre) {
		v = (n - 32) * 5 / 9 // Fahrenheit has its zero elsewhere; bare, it is what readers of inches mean
	}
	if err := f.Check(v); err != nil {
		e := err.(*unit.RangeError)
		e.Got = text
		return Value{}, e
	}
	return Value{Text: text, SI: v}, nil
}

// scalarUnits are the units a bare number may carry; the first is what a bare number means.
var scalarUnits = map[unit.Kind][]struct {
	word  string
	scale float64
}{
	unit.KindAngle:   {{"°", float64(unit.Degree)}, {"degrees", float64(unit.Degree)}, {"deg", float64(unit.Degree)}},
	unit.KindForce:   {{"n", 1}, {"lbf", float64(unit.PoundForce)}, {"lb", float64(unit.PoundForce)}},
	unit.KindPercent: {{"%", 0.01}, {"percent", 0.01}},
	unit.KindCents:   {{"cents", 1}, {"cent", 1}, {"c", 1}},
	// See Parse for what else there is to Fahrenheit.
	unit.KindTemperature: {{"°c", 1}, {"c", 1}, {"°f", 5.0 / 9}, {"f", 5.0 / 9}},
}

// splitUnit parts a typed number from the unit it carries, and says what one of that unit is in SI.
func splitUnit(text string, kind unit.Kind) (number string, scale float64) {
	number = strings.ReplaceAll(strings.ToLower(text), "−", "-")
	units := scalarUnits[kind]
	for _, u := range units {
		if rest, ok := strings.CutSuffix(number, u.word); ok {
			return strings.TrimSpace(rest), u.scale
		}
	}
	if len(units) > 0 {
		return number, units[0].scale
	}
	return number, 1
}

// Edit writes the value for its input: as typed if it was typed, else in the maker's units.
func (f Field) Edit(v Value, style unit.Style) string {
	if v.Text != "" {
		return v.Text
	}
	switch f.Kind {
	case unit.KindLength:
		if f.Flat && v.SI == 0 {
			return style.Say("flat")
		}
		return unit.Length(v.SI).Edit(style)
	case unit.KindAngle:
		return strconv.FormatFloat(math.Round(unit.Angle(v.SI).Degrees()*1e6)/1e6, 'f', -1, 64)
	case unit.KindTemperature:
		if !style.Metric() {
			return strconv.FormatFloat(math.Round((v.SI*9/5+32)*1e6)/1e6, 'f', -1, 64)
		}
		return strconv.FormatFloat(math.Round(v.SI*1e6)/1e6, 'f', -1, 64)
	case unit.KindPercent:
		return strconv.FormatFloat(math.Round(v.SI*1e8)/1e6, 'f', -1, 64)
	default:
		return strconv.FormatFloat(v.SI, 'f', -1, 64)
	}
}

// Write writes the value for reading, in a maker's units.
func (f Field) Write(v Value, style unit.Style) string {
	switch f.Kind {
	case unit.KindChoice:
		for _, c := range f.Choices {
			if c.Key == v.Text {
				return c.Name.In(style)
			}
		}
		return v.Text
	case unit.KindText:
		return v.Text
	case unit.KindLength:
		if f.Flat && v.SI == 0 {
			return style.Say("flat")
		}
		if math.Abs(v.SI) < 0.0009 {
			return unit.Length(v.SI).Fine(style)
		}
		return unit.Length(v.SI).Exact(style)
	}
	return unit.Write(v.SI, f.Kind, style)
}
