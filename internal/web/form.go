package web

import (
	"errors"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/unit"
)

// form is a set of inputs with what is typed in them and what is wrong with it.
type form struct {
	Inputs   []input
	Problems []problem // in the order of the form, for the list at its top
}

// input is one field as it is shown.
type input struct {
	Key, Label, Help string
	Group            unit.Text
	Kind             string   // "length", "number", "choice", "choices", "select", "text", "line"
	Unit             string   // shown beside the input
	Values           []string // typed; at least one, possibly empty
	Many             bool     // several readings: an input each, and room for one more
	Room             int      // inputs shown for several readings; 0 for the usual three
	Each             string   // what one of several is called: "reading", "string"
	Required         bool
	Choices          []option
	Allowed          string            // range in the maker's units
	Problem          string            // what is wrong, "" for nothing
	Came             string            // what a typed text came to, when that is worth showing
	OfString         int               // the string it belongs to, counted from the bass; 0 for none
	Measure          *guitar.Measuring // how the figure is taken; nil when its help says all
}

// Chosen reports whether one of the choices is taken.
func (in input) Chosen() bool {
	return slices.ContainsFunc(in.Choices, func(o option) bool { return o.On })
}

type option struct {
	Key, Name string
	On        bool
}

type problem struct{ Key, Say string }

// newForm makes the inputs of some fields. Texts, when given, are what was typed last and win over values.
func newForm(fields []guitar.Field, values guitar.Values, texts url.Values, err error, style unit.Style) form {
	var out form
	var problems guitar.Problems
	var one *unit.RangeError
	if !errors.As(err, &problems) && errors.As(err, &one) {
		problems = guitar.Problems{one}
	}
	for _, f := range fields {
		in := input{Key: f.Field, Label: f.Label.In(style), Help: f.Help.In(style), Group: f.Group, Required: f.Required, Many: f.Many, Allowed: f.Allowed(style), Unit: unitOf(f, style), Each: unit.Text("reading").In(style), OfString: f.OfString}
		if m, ok := guitar.Measure(f.Field); ok {
			in.Measure = &m
		}
		var typed []string
		if texts != nil {
			typed = texts[f.Field]
			for f.Many && len(typed) > 1 && strings.TrimSpace(typed[len(typed)-1]) == "" { // room left blank is offered afresh
				typed = typed[:len(typed)-1]
			}
			if len(typed) == 1 && strings.TrimSpace(typed[0]) != "" && problems.For(f.Field) == nil {
				if v, bad := f.Parse(typed[0], style); bad == nil {
					in.Came = came(f, v, style)
				}
			}
		} else {
			for _, v := range values[f.Field] {
				typed = append(typed, editText(f, v, style))
			}
			if len(values[f.Field]) == 1 {
				in.Came = came(f, values[f.Field][0], style)
			}
		}
		switch f.Kind {
		case unit.KindChoice:
			in.Kind = "choice"
			if f.Many {
				in.Kind = "choices"
			}
			for _, c := range f.Choices {
				in.Choices = append(in.Choices, option{c.Key, c.Name.In(style), contains(typed, c.Key)})
			}
			if !f.Many && !f.Required && (len(f.Choices) > 4 || f.OfString > 0) {
				in.Kind = "select"
			}
		case unit.KindText:
			in.Kind = "text"
			if f.OfString > 0 { // a note's name, not a note to remember
				in.Kind = "line"
			}
		case unit.KindLength:
			in.Kind = "length"
		default:
			in.Kind = "number"
		}
		in.Values = typed
		if len(in.Values) == 0 {
			in.Values = []string{""}
		}
		if e := problems.For(f.Field); e != nil {
			in.Problem = e.In(style)
			out.Problems = append(out.Problems, problem{f.Field, in.Problem})
		}
		out.Inputs = append(out.Inputs, in)
	}
	for _, e := range problems {
		if known := hasField(fields, e.Field); !known {
			out.Problems = append(out.Problems, problem{"", e.In(style)})
		}
	}
	return out
}

// strings leaves out the figures of strings the guitar does not have, unless something is wrong with one.
func (f *form) strings(count int) {
	f.Inputs = slices.DeleteFunc(f.Inputs, func(in input) bool { return in.OfString > count && in.Problem == "" })
}

// room shows an input for each of n things of one kind: six strings want six inputs, without script too.
func (f form) room(key string, each string, n int) {
	for i := range f.Inputs {
		if f.Inputs[i].Key == key {
			f.Inputs[i].Room, f.Inputs[i].Each = n, each
		}
	}
}

// came says what a typed figure was read as, when the maker reads another unit or the unit was guessed.
func came(f guitar.Field, v guitar.Value, style unit.Style) string {
	if f.Kind != unit.KindLength || v.Text == "" {
		return ""
	}
	one := unit.Inch
	if style.Metric() {
		one = unit.MM
	}
	number := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(v.Text), style.Symbol()))
	if n, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64); err == nil && !v.Guessed && (unit.Length(n)*one-unit.Length(v.SI)).Abs() < unit.MM/1000 {
		return ""
	}
	said := f.Write(v, style)
	if said == v.Text || said == number+" "+style.Symbol() {
		return ""
	}
	return style.Say("read as %s", said)
}

// editText is what an input holds: as typed if it was typed, else in the maker's unit, which stands beside it.
func editText(f guitar.Field, v guitar.Value, style unit.Style) string {
	text := f.Edit(v, style)
	if v.Text == "" && f.Kind == unit.KindLength {
		text = strings.TrimSuffix(text, " "+style.Symbol())
	}
	return text
}

func unitOf(f guitar.Field, style unit.Style) string {
	switch f.Kind {
	case unit.KindLength:
		return style.Symbol()
	case unit.KindAngle:
		return "°"
	case unit.KindForce:
		return "N"
	case unit.KindTemperature:
		if !style.Metric() {
			return "°F"
		}
		return "°C"
	case unit.KindPercent:
		return "%"
	case unit.KindCents:
		return style.Say("cents")
	}
	return ""
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func hasField(fields []guitar.Field, key string) bool {
	for _, f := range fields {
		if f.Field == key {
			return true
		}
	}
	return false
}

// Groups returns the inputs under their headings, in order.
func (f form) Groups() []group {
	var out []group
	for _, in := range f.Inputs {
		if len(out) == 0 || out[len(out)-1].Name != in.Group {
			out = append(out, group{Name: in.Group})
		}
		g := &out[len(out)-1]
		g.Inputs = append(g.Inputs, in)
	}
	return out
}

type group struct {
	Name   unit.Text
	Inputs []input
}

// Given reports whether something under the heading was answered, or is wrong.
func (g group) Given() bool {
	return slices.ContainsFunc(g.Inputs, func(in input) bool {
		return in.Problem != "" || in.Chosen() || slices.ContainsFunc(in.Values, func(v string) bool { return v != "" })
	})
}

// fieldTexts picks the posted answers of some fields, leaving out the form's own keys such as revision.
func fieldTexts(posted url.Values, fields []guitar.Field) url.Values {
	out := url.Values{}
	for _, f := range fields {
		if v, ok := posted[f.Field]; ok {
			out[f.Field] = v
		}
	}
	return out
}

// revision is the state of the guitar the posted page was made from; 0 when the form did not say.
func revision(posted url.Values) int64 {
	n, err := strconv.ParseInt(posted.Get("revision"), 10, 64)
	if err != nil {
		return 0
	}
	return n
}

// unitsOfForm reads and answers the posted form in the units its page was made in: a bare number means what
// it meant there, whatever was chosen in another window since.
func (in *request) unitsOfForm() {
	_ = in.prefs.read(in.PostForm.Get("units")) // a form that does not say keeps to the reader's
}

// Taken is what the help on a figure is called: one that is chosen or written is not measured.
func (in input) Taken() unit.Text {
	switch in.Kind {
	case "length", "number":
		return "How to measure"
	}
	return "What is this?"
}
