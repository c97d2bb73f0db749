// Package figure is everything the program computes as one JSON object in and one out. The pages, the
// command line and the HTTP interface all call the same craft functions through it or beside it, so that a
// number cannot differ between them.
//
// Field names carry their unit (_mm, _deg, _n). A length may also be given as a string with its unit, as a
// maker types it ("25 1/2 in"); results are always numbers in the named unit at full precision. Each topic
// is a pair of Go structs whose tags and craft limits give the decoding, the errors and the JSON Schema, so
// those cannot differ either.
package figure

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"fairset/unit"
)

// MostBytes bounds one input.
const MostBytes = 1 << 20

// Topic is one calculation that can be asked for.
type Topic struct {
	Name    string
	Summary string // one sentence, for a list
}

// Error is bad input: which field, what is wrong with it and what to try, and what is allowed. Field is the
// path as written in the input ("bolts[1].depth_mm"), or empty when the input as a whole is at fault.
type Error struct {
	Field   string `json:"field"`
	Message string `json:"message"`
	Allowed string `json:"allowed"`
}

func (e *Error) Error() string {
	if e.Allowed == "" || strings.Contains(e.Message, e.Allowed) {
		return e.Message
	}
	return e.Message + " (allowed: " + e.Allowed + ")"
}

// Body returns the error as the JSON object {"error": {...}}.
func (e *Error) Body() []byte {
	out, err := json.Marshal(struct {
		Error *Error `json:"error"`
	}{e})
	if err != nil {
		panic(err) // three strings
	}
	return out
}

// topic is a Topic with all that is needed to answer it.
type topic struct {
	Topic
	in, out *record
	example string
	run     func(in reflect.Value) (answer, error)
}

// answer is what a topic's function gives back.
type answer struct {
	result   any
	warnings []unit.Warning
	sources  []string
}

// define joins the input and result types of a topic to its function.
func define[I, O any](name, summary, example string, limit limits, run func(I) (O, []unit.Warning, []string, error)) topic {
	return topic{
		Topic:   Topic{name, summary},
		in:      newRecord(reflect.TypeFor[I](), "", limit),
		out:     newRecord(reflect.TypeFor[O](), "", nil),
		example: example,
		run: func(in reflect.Value) (answer, error) {
			out, warn, sources, err := run(in.Interface().(I))
			return answer{out, warn, sources}, err
		},
	}
}

// Topics lists the topics in the order they are offered.
func Topics() []Topic {
	out := make([]Topic, len(topics))
	for i, t := range topics {
		out[i] = t.Topic
	}
	return out
}

// Known reports whether there is a topic of this name.
func Known(name string) bool { _, err := find(name); return err == nil }

func find(name string) (*topic, *Error) {
	i := slices.IndexFunc(topics, func(t topic) bool { return t.Name == name })
	if i < 0 {
		var names []string
		for _, t := range topics {
			names = append(names, t.Name)
		}
		return nil, &Error{"topic", fmt.Sprintf("there is no topic %s", quote(name)), strings.Join(names, ", ")}
	}
	return &topics[i], nil
}

// Run answers one topic: in is a JSON object of its input, out the JSON object {"result", "warnings",
// "sources"} on one line. The error is always an *Error.
func Run(name string, in []byte) (out []byte, err error) {
	t, e := find(name)
	if e != nil {
		return nil, e
	}
	v, e := t.in.read(in)
	if e != nil {
		return nil, e
	}
	a, err := t.run(v)
	if err != nil {
		return nil, t.in.fault(err)
	}
	return t.write(a)
}

// Example returns a valid input of a topic, indented.
func Example(name string) ([]byte, error) {
	t, e := find(name)
	if e != nil {
		return nil, e
	}
	return []byte(t.example), nil
}

// fault turns a craft error into one that names the field as it is written in the input.
func (r *record) fault(err error) *Error {
	var own *Error
	if errors.As(err, &own) {
		return own
	}
	var re *unit.RangeError
	if !errors.As(err, &re) {
		return &Error{Message: err.Error()}
	}
	field, f := r.path(re.Field)
	if f == nil {
		return &Error{field, re.Error(), re.Allowed(unit.Millimetre)}
	}
	if len(re.Choices) > 0 {
		choices := strings.Join(re.Choices, ", ")
		return &Error{field, fmt.Sprintf("%s is %s: %s; choose one of %s", field, quote(given(re)), re.Why.In(unit.Millimetre), choices), choices}
	}
	why := re.Why.In(unit.Millimetre)
	if why == "" {
		return f.outside(field, f.show(re.Value), re.Value)
	}
	got := given(re)
	if got == "" {
		got = f.show(re.Value)
	}
	return &Error{field, fmt.Sprintf("%s is %s: %s", field, got, why), f.allowed()}
}

// given is what was found or typed; "" when that is told by the error's value.
func given(re *unit.RangeError) string {
	if !re.Found.Empty() {
		return re.Found.In(unit.Millimetre)
	}
	return re.Got
}

// write puts an answer into JSON. Warnings are said in millimetres and name fields as the input does.
func (t *topic) write(a answer) ([]byte, error) {
	out := []byte(`{"result":`)
	out, err := appendValue(out, reflect.ValueOf(a.result))
	if err != nil {
		return nil, &Error{Message: fmt.Sprintf("%s: these inputs give no figure: %v", t.Name, err)}
	}
	out = append(out, `,"warnings":[`...)
	for i, w := range a.warnings {
		if i > 0 {
			out = append(out, ',')
		}
		field, _ := t.in.path(w.Field)
		line, err := json.Marshal(struct {
			Code    string `json:"code"`
			Field   string `json:"field"`
			Message string `json:"message"`
		}{w.Code, field, w.Say.In(unit.Millimetre)})
		if err != nil {
			return nil, &Error{Message: err.Error()}
		}
		out = append(out, line...)
	}
	out = append(out, `],"sources":`...)
	if a.sources == nil {
		a.sources = []string{}
	}
	list, err := json.Marshal(a.sources)
	if err != nil {
		return nil, &Error{Message: err.Error()}
	}
	out = append(out, list...)
	return append(out, '}'), nil
}
