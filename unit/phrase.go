package unit

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Text is words that a maker reads, written in English where they are said: a label, a heading, a sentence with
// %v where figures stand. In gives them in a maker's language. A text may end in ‖ and a hint for translators; see package language.
//
// Every constant of this type stands in the catalogues. So a text is never put together from pieces: it is one
// constant, with its figures as arguments of Say.
type Text string

// FromTable makes a Text of words that stand in an embedded table. The package that reads the table lists them in a function
// Words, from which they come into the catalogues.
func FromTable(words string) Text { return Text(words) }

// In writes the words in a maker's language.
func (t Text) In(s Style) string {
	words, _ := s.Language().Find(string(t))
	return words
}

// String writes the words in English.
func (t Text) String() string { return t.English() }

// English writes the words in English, for a program to read or to compare.
func (t Text) English() string { return t.In(Millimetre) }

// Phrase is a sentence whose figures are not yet written out, so that the same sentence can be said in
// each maker's units and language. Its text holds a verb of package fmt for every argument, mostly %v: what has a method In(Style), such
// as a Length, a Text or another Phrase, is written with it; a number gets the decimal mark of the language. A translation may
// take arguments in another order: %[2]v.
type Phrase struct {
	text  Text
	many  Text // for any number but one; "" when the sentence has no number
	n     int
	args  []any
	parts []Phrase // sentences one after another, instead of a text
}

// FineLength is a Length that a Phrase writes in thousandths of an inch or hundredths of a millimetre.
type FineLength Length

// In writes the length finely.
func (l FineLength) In(s Style) string { return Length(l).Fine(s) }

// TemperatureC is a temperature in °C that a Phrase writes in °F for those who read inches.
type TemperatureC float64

// In writes the temperature.
func (t TemperatureC) In(s Style) string { return Write(float64(t), KindTemperature, s) }

// Say makes a Phrase.
func Say(text Text, args ...any) Phrase { return Phrase{text: text, args: args} }

// Plain makes a Phrase of words that are the same in every language: a name, something typed.
func Plain(words string) Phrase { return Phrase{text: "%s", args: []any{words}} }

// Plural makes a Phrase that depends on a number, which is the first argument of both texts: Plural(n, "%d guitar", "%d guitars").
func Plural(n int, one, many Text, args ...any) Phrase {
	return Phrase{text: one, many: many, n: n, args: append([]any{n}, args...)}
}

// Count says how many: "3 guitars". Both texts begin with %d, as in Plural.
func (s Style) Count(n int, one, many Text) string { return Plural(n, one, many).In(s) }

// In writes the sentence for a maker.
func (p Phrase) In(s Style) string {
	if len(p.parts) > 0 {
		return strings.Join(Each(p.parts, s), " ")
	}
	var words string
	switch {
	case p.many != "":
		words, _ = s.Language().FindMany(string(p.text), string(p.many), p.n)
	case p.text == "%s":
		words = string(p.text)
	default:
		words = p.text.In(s)
	}
	if len(p.args) == 0 {
		return words
	}
	out := make([]any, len(p.args))
	for i, a := range p.args {
		out[i] = s.argument(a)
	}
	return fmt.Sprintf(words, out...)
}

// argument is what stands in a sentence for one of its arguments.
func (s Style) argument(a any) any {
	switch v := a.(type) {
	case Said:
		return v.In(s)
	case error:
		return Explain(v, s)
	case float64:
		return number{v, s}
	}
	return a
}

// Said is what can be written for a maker: a length, a text, a sentence, some errors.
type Said interface{ In(Style) string }

// number is written as fmt writes it, with the decimal mark of the language.
type number struct {
	v float64
	s Style
}

func (n number) Format(f fmt.State, verb rune) {
	fmt.Fprint(f, n.s.mark(fmt.Sprintf(fmt.FormatString(f, verb), n.v)))
}

// String writes the sentence in English and millimetres.
func (p Phrase) String() string { return p.English() }

// English writes the sentence in English and millimetres, for a program to read or to compare.
func (p Phrase) English() string { return p.In(Millimetre) }

// Same reports whether two sentences say the same.
func (p Phrase) Same(q Phrase) bool { return p.English() == q.English() }

// Empty reports whether there is nothing to say.
func (p Phrase) Empty() bool { return p.text == "" && len(p.parts) == 0 }

// Join puts sentences after one another with a space between.
func Join(ps ...Phrase) Phrase {
	var parts []Phrase
	for _, p := range ps {
		switch {
		case p.Empty():
		case len(p.parts) > 0:
			parts = append(parts, p.parts...)
		default:
			parts = append(parts, p)
		}
	}
	switch len(parts) {
	case 0:
		return Phrase{}
	case 1:
		return parts[0]
	}
	return Phrase{parts: parts}
}

// Texts are sentences or words in a row, such as the steps of an instruction.
type Texts []Text

// In writes each for a maker.
func (ts Texts) In(s Style) []string { return Each(ts, s) }

// Each writes several things for a maker; no things give an empty list, not nil.
func Each[T Said](things []T, s Style) []string {
	out := make([]string, len(things))
	for i, t := range things {
		out[i] = t.In(s)
	}
	return out
}

// List joins things as they are said: "one, two and three". Each is a string, or what In writes for a maker.
func (s Style) List(things ...any) string {
	said := make([]string, len(things))
	for i, t := range things {
		said[i] = fmt.Sprint(s.argument(t))
	}
	n := len(said)
	if n < 2 {
		return strings.Join(said, "")
	}
	return s.Say("%s and %s", strings.Join(said[:n-1], ", "), said[n-1])
}

// Fault is an error told in words for a person, in whatever language they read.
type Fault struct {
	Why Phrase
	Err error // what caused it, if anything did
}

// Wrong makes a *Fault. An argument that is an error is its cause.
func Wrong(text Text, args ...any) error {
	f := &Fault{Why: Say(text, args...)}
	for _, a := range args {
		if err, ok := a.(error); ok {
			f.Err = err
		}
	}
	return f
}

func (f *Fault) Error() string { return f.In(Millimetre) }

// Unwrap returns the cause.
func (f *Fault) Unwrap() error { return f.Err }

// In writes the error for a maker.
func (f *Fault) In(s Style) string { return f.Why.In(s) }

// Explain writes an error for a maker: in their units and language if it, or the first error it wraps that can be, is told so; else as it is.
func Explain(err error, s Style) string {
	var said interface {
		error
		Said
	}
	if errors.As(err, &said) {
		return said.In(s)
	}
	return err.Error()
}

// Warning is a doubt that travels beside a figure: the figure is computable, but look again.
type Warning struct {
	Code  string // stable, lower case, e.g. "past_side_limit"
	Field string // the input in question, by its key ("side_thickness"), or ""
	Say   Phrase
}

// Upper is words that begin a sentence or a line: their first letter is a capital.
type Upper struct{ Words Said }

// In writes the words for a maker.
func (u Upper) In(s Style) string { return Capital(u.Words.In(s)) }

// Capital makes the first letter of words a capital.
func Capital(words string) string {
	first, size := utf8.DecodeRuneInString(words)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + words[size:]
}
