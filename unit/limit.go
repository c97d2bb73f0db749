package unit

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Kind is what sort of quantity a field holds; its values are SI, a temperature °C (a Count, Ratio and Choice have no unit).
type Kind int

// The kinds of field.
const (
	KindLength Kind = iota
	KindAngle
	KindForce
	KindCount
	KindRatio
	KindPercent // held as a fraction, typed and shown in percent
	KindCents
	KindChoice
	KindText
	KindStress
	KindTemperature // held in °C
)

// Limit is the range one input must lie in, in SI.
type Limit struct {
	Field    string // key, e.g. "scale_length"
	Label    Phrase // as a maker says it, e.g. "scale length"
	Kind     Kind
	Min, Max float64
}

// RangeError reports an input that cannot be used: outside its range, or not a number at all.
// It names the field, what was given and what is allowed, and offers a likely reading if there is one.
type RangeError struct {
	Limit
	Got     string  // what was typed, if it was typed
	Found   Phrase  // what was found, when that is told in words: "left empty", "3 answers"
	Value   float64 // SI; NaN when the text could not be read
	Why     Phrase  // set when the text could not be read, or the reason is not a plain range
	Likely  string  // e.g. "7.0 mm"; empty when nothing sensible is near
	Choices []string
}

func (e *RangeError) Error() string { return e.In(Millimetre) }

// In writes the error in a maker's units.
func (e *RangeError) In(s Style) string {
	name := e.Label.In(s)
	if name == "" {
		name = e.Field
	}
	got := e.Got
	switch {
	case !e.Found.Empty():
		got = e.Found.In(s)
	case got == "":
		got = Write(e.Value, e.Kind, s)
	}
	msg := name + ": " + clip(got)
	if !e.Why.Empty() {
		msg += " — " + e.Why.In(s)
	}
	if a := e.Allowed(s); a != "" {
		msg += s.Say("; allowed: %s", a)
	}
	if e.Likely != "" {
		msg += s.Say("; did you mean %s?", e.Likely)
	}
	return msg
}

// Allowed writes the range in a maker's units: "300.0 mm to 900.0 mm".
func (e *RangeError) Allowed(s Style) string {
	if len(e.Choices) > 0 {
		return strings.Join(e.Choices, ", ")
	}
	return e.Limit.Allowed(s)
}

// Allowed writes the range in a maker's units. An open end is left out.
func (l Limit) Allowed(s Style) string {
	lo, hi := !math.IsInf(l.Min, -1), !math.IsInf(l.Max, 1)
	switch {
	case l.Min == 0 && l.Max == 0 || l.Kind == KindChoice || l.Kind == KindText:
		return ""
	case lo && hi:
		return s.Say("%s to %s", Write(l.Min, l.Kind, s), Write(l.Max, l.Kind, s))
	case lo:
		return s.Say("%s or more", Write(l.Min, l.Kind, s))
	case hi:
		return s.Say("%s or less", Write(l.Max, l.Kind, s))
	}
	return s.Say("any number")
}

// Write writes an SI value of any kind for a person.
func Write(v float64, k Kind, s Style) string {
	switch k {
	case KindLength:
		if l := Length(v); l != 0 && l.Abs() < 0.05*MM { // In would round it to nothing
			return l.Fine(s)
		}
		return Length(v).In(s)
	case KindAngle:
		return Angle(v).In(s)
	case KindForce:
		return Force(v).In(s)
	case KindStress:
		return s.Short(v/1e6, 1) + " MPa"
	case KindTemperature:
		if !s.Metric() {
			return s.Short(v*9/5+32, 0) + " °F"
		}
		return s.Short(v, 1) + " °C"
	case KindCount:
		return s.Short(v, 0)
	case KindPercent:
		return s.Short(v*100, 1) + " %"
	case KindCents:
		return s.Short(v, 1) + s.Say(" cents")
	default:
		return s.Short(v, 4)
	}
}

// Check returns a *RangeError if v is not a finite number inside the limit.
func (l Limit) Check(v float64) error {
	if !Finite(v) {
		return &RangeError{Limit: l, Value: v, Got: fmt.Sprint(v), Why: Say("must be a finite number")}
	}
	if v < l.Min || v > l.Max {
		return &RangeError{Limit: l, Value: v}
	}
	return nil
}

// CheckOffering is Check for a figure worked on in SI: a length out of range is offered its likely reading, in
// millimetres.
func (l Limit) CheckOffering(v float64) error {
	err := l.Check(v)
	if re, ok := err.(*RangeError); ok && l.Kind == KindLength {
		re.Likely = l.likely(Length(v), Millimetre)
	}
	return err
}

// Checks runs several checks and returns the first error.
func Checks(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Typed is a length with the text it was typed as, so that editing shows it unchanged.
type Typed struct {
	Text  string
	Value Length
	// Guessed is set when a bare figure made sense only in the other unit, and was read so.
	Guessed bool
}

// Parse reads a typed length for this field: in the maker's style when it names no unit, or in the other
// unit when only that one makes sense for the field (648 for a scale length, whatever the style).
// Errors are *RangeError.
func (l Limit) Parse(text string, bare Style) (Typed, error) {
	r, how, err := parseRatio(text)
	if err != nil {
		var syn *SyntaxError
		errors.As(err, &syn)
		return Typed{}, &RangeError{Limit: l, Got: text, Value: math.NaN(), Why: syn.Why}
	}
	v := r.length(how.in(bare))
	if l.holds(float64(v)) {
		return Typed{Text: text, Value: v}, nil
	}
	if how.scale == nil {
		other := inchRat
		if how.in(bare) == inchRat {
			other = mmRat
		}
		if w := r.length(other); !how.fraction && l.holds(float64(w)) {
			return Typed{Text: text, Value: w, Guessed: true}, nil
		}
	}
	return Typed{}, &RangeError{Limit: l, Got: text, Value: float64(v), Likely: l.likely(v, bare)}
}

func (l Limit) holds(v float64) bool { return v >= l.Min && v <= l.Max }

// likely writes what Likely offers, or nothing.
func (l Limit) likely(v Length, s Style) string {
	if w, ok := l.Likely(v); ok {
		return w.In(s)
	}
	return ""
}

// Likely offers the length inside the limit that a slipped decimal point, a mistaken unit or a wrong sign
// would explain; ok is false when there is none.
func (l Limit) Likely(v Length) (likely Length, ok bool) {
	for _, f := range []float64{0.1, 25.4, 10, 1 / 25.4, 0.01, 100, 0.001, 1000, -1} {
		if w := float64(v) * f; l.holds(w) && w != 0 {
			return Length(w), true
		}
	}
	return 0, false
}

// Quantity is an SI value of any kind that a Phrase writes as Write does.
type Quantity struct {
	V    float64
	Kind Kind
}

// In writes the value for a maker.
func (q Quantity) In(s Style) string { return Write(q.V, q.Kind, s) }
