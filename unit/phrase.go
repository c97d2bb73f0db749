package unit

import (
	"fmt"
	"strings"
)

// Phrase is a sentence whose figures are not yet written out, so that the same sentence can be said in
// each maker's units. Text uses %v for every argument; a Length is written with In, a FineLength with Fine.
type Phrase struct {
	Text string
	Args []any
}

// FineLength is a Length that a Phrase writes in thousandths of an inch or hundredths of a millimetre.
type FineLength Length

// TemperatureC is a temperature in °C that a Phrase writes in °F for those who read inches.
type TemperatureC float64

// Say makes a Phrase.
func Say(text string, args ...any) Phrase { return Phrase{text, args} }

// In writes the sentence in a maker's units.
func (p Phrase) In(s Style) string {
	if len(p.Args) == 0 {
		return p.Text
	}
	out := make([]any, len(p.Args))
	for i, a := range p.Args {
		switch v := a.(type) {
		case Length:
			out[i] = v.In(s)
		case FineLength:
			out[i] = Length(v).Fine(s)
		case TemperatureC:
			out[i] = Write(float64(v), KindTemperature, s)
		case Phrase:
			out[i] = v.In(s)
		default:
			out[i] = v
		}
	}
	return fmt.Sprintf(p.Text, out...)
}

// String writes the sentence in millimetres.
func (p Phrase) String() string { return p.In(Millimetre) }

// Empty reports whether there is nothing to say.
func (p Phrase) Empty() bool { return p.Text == "" }

// Join puts sentences after one another with a space between.
func Join(ps ...Phrase) Phrase {
	var texts []string
	var args []any
	for _, p := range ps {
		if !p.Empty() {
			t := p.Text
			if len(p.Args) == 0 {
				t = strings.ReplaceAll(t, "%", "%%")
			}
			texts = append(texts, t)
			args = append(args, p.Args...)
		}
	}
	text := strings.Join(texts, " ")
	if len(args) == 0 {
		text = strings.ReplaceAll(text, "%%", "%")
	}
	return Phrase{text, args}
}

// Warning is a doubt that travels beside a figure: the figure is computable, but look again.
type Warning struct {
	Code  string // stable, lower case, e.g. "past_side_limit"
	Field string // the input in question, by its key ("side_thickness"), or ""
	Say   Phrase
}
