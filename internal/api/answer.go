package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// Answers are the figures of one request, by field key. Each is a string as a maker types it ("19/64 in",
// "7.6 mm"), or a number: millimetres for a length, degrees, newtons, °C, percent or cents for the others. A
// field that takes several readings also takes a list of them.
type Answers map[string][]Answer

// Answer is one figure of a request.
type Answer struct {
	Text   string
	Number bool
	bad    unit.Phrase // why it cannot be used
}

// maxAnswers bounds one request's figures before anything is worked out of them; no step has as many.
const (
	maxAnswers = 200
	maxText    = 4000
)

// UnmarshalJSON reads the figures. What cannot be used is remembered with its field and said by Texts: among
// it a key given twice, which would lose a reading silently.
func (a *Answers) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	if tok, err := d.Token(); err != nil || tok != json.Delim('{') {
		return fmt.Errorf("values must be an object: field keys and what was read")
	}
	out := Answers{}
	count := 0
	for d.More() {
		tok, err := d.Token()
		if err != nil {
			return err
		}
		key, _ := tok.(string)
		var raw any
		if err := d.Decode(&raw); err != nil {
			return err
		}
		if _, twice := out[key]; twice {
			out[key] = []Answer{{bad: unit.Say("%s is given twice; give several readings as one list", clip(key))}}
			continue
		}
		list, ok := raw.([]any)
		if !ok {
			list = []any{raw}
		}
		if count += len(list); count > maxAnswers {
			out[key] = []Answer{{bad: unit.Say("%s is one too many: more than %d figures in one request", clip(key), maxAnswers)}}
			break
		}
		out[key] = []Answer{}
		for _, x := range list {
			one := Answer{bad: unit.Say("%s must be a string, a number, or a list of them", clip(key))}
			switch v := x.(type) {
			case string:
				one = Answer{Text: v}
				if len(v) > maxText {
					one = Answer{bad: unit.Say("%s is longer than %d characters", clip(key), maxText)}
				}
			case json.Number:
				one = Answer{Text: v.String(), Number: true}
			}
			out[key] = append(out[key], one)
		}
	}
	*a = out
	return nil
}

// Schema describes Answers in the served document.
func (Answers) Schema(huma.Registry) *huma.Schema {
	one := func() []*huma.Schema {
		return []*huma.Schema{{Type: huma.TypeString, Description: "as a maker types it: 19/64 in, 7.6 mm, flat, treble"}, {Type: huma.TypeNumber, Description: "millimetres, degrees, newtons, °C, percent or cents, by the field's kind"}}
	}
	list := &huma.Schema{Type: huma.TypeArray, Items: &huma.Schema{AnyOf: one()}}
	return &huma.Schema{Type: huma.TypeObject, Description: "figures by field key; GET /api/v1/steps and /api/v1/designs list the keys",
		AdditionalProperties: &huma.Schema{AnyOf: append(one(), list)}}
}

// Texts gives the figures as typed text, a bare length number with its millimetres said. The error is a
// *wrong.
func (a Answers) Texts(fields []guitar.Field) (map[string][]string, error) {
	kind := map[string]unit.Kind{}
	for _, f := range fields {
		kind[f.Field] = f.Kind
	}
	out := map[string][]string{}
	for _, key := range slices.Sorted(maps.Keys(a)) {
		out[key] = []string{}
		for _, x := range a[key] {
			if !x.bad.Empty() {
				return nil, &wrong{http.StatusUnprocessableEntity, key, x.bad, unit.Phrase{}}
			}
			t := x.Text
			if x.Number {
				t = plain(t)
				switch k, ok := kind[key]; {
				case ok && k == unit.KindTemperature:
					t += " °C"
				case ok && k == unit.KindLength:
					t += " mm"
				}
			}
			out[key] = append(out[key], t)
		}
	}
	return out, nil
}

// plain writes a JSON number without an exponent and to a millionth of a millionth, as the parsers of
// typed figures read it. What does not fit is left for them to refuse.
func plain(n string) string {
	v, err := strconv.ParseFloat(n, 64)
	if err != nil || math.Abs(v) >= 1e11 {
		return n
	}
	s := strconv.FormatFloat(v, 'f', 12, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}
