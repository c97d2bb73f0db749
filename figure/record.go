package figure

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"fairset/unit"
)

// limits looks a craft limit up by key ("scale_length", "bolts.depth").
type limits func(key string) (unit.Limit, bool)

// record describes one struct of a topic.
type record struct {
	typ    reflect.Type
	fields []*field
	tuple  bool // written as a list of its fields' values, in their order
}

// tuple marks a struct that is written as a list: [x, y].
type tuple interface{ isTuple() }

var tupleType = reflect.TypeFor[tuple]()

// refusing is a struct that can say of a field it does not have why it has none; "" for any other.
type refusing interface{ refuses(name string) string }

// field describes one field, from its tags:
//
//	json      name, with its unit
//	key       craft's key, where it is not the name without its unit
//	doc       what it is, for the schema
//	default   value in JSON when the input leaves it out
//	optional  "yes": may be left out, and craft sees the zero value
//	enum      choices, comma between
//	items     least and most of a list or of the entries of a map, comma between
//	zero      "yes": 0 is accepted besides the range
//	absent    "nan": may be left out, and is then not a number, so that a 0 which was given is told apart
type field struct {
	name, key, doc string
	index          int          // among the record's fields
	at             []int        // in its struct, through embedded ones
	typ            reflect.Type // of the value, or of one item of a list
	list           bool
	dict           bool // an object whose names the input chooses
	least, most    int
	optional       bool
	preset         reflect.Value // default, when there is one
	presetText     string
	enum           []string
	zero           bool
	limit          *unit.Limit
	sub            *record
}

var (
	lengthType = reflect.TypeFor[unit.Length]()
	angleType  = reflect.TypeFor[unit.Angle]()
	forceType  = reflect.TypeFor[unit.Force]()
	stressType = reflect.TypeFor[unit.Stress]()
	phraseType = reflect.TypeFor[unit.Phrase]()
)

// inSI and inUnit convert between the named unit and SI. Millimetres are divided, not multiplied by 0.001,
// so that each figure becomes the nearest float64 in metres.
func inSI(t reflect.Type, v float64) float64 {
	switch t {
	case lengthType:
		return v / 1000
	case angleType:
		return v * float64(unit.Degree)
	case stressType:
		return v * 1e6
	}
	return v
}

func inUnit(t reflect.Type, v float64) float64 {
	switch t {
	case lengthType:
		return unit.Length(v).MM()
	case angleType:
		return unit.Angle(v).Degrees()
	case stressType:
		return v / 1e6
	}
	return v
}

// newRecord reads the tags. A fault in them is ours, so it panics when the program starts.
func newRecord(t reflect.Type, under string, limit limits) *record {
	r := &record{typ: t, tuple: t.Implements(tupleType)}
	for _, s := range reflect.VisibleFields(t) {
		if s.Anonymous {
			continue // its fields stand in its place
		}
		f := &field{name: s.Tag.Get("json"), doc: s.Tag.Get("doc"), index: len(r.fields), at: s.Index, typ: s.Type, optional: s.Tag.Get("optional") == "yes", zero: s.Tag.Get("zero") == "yes"}
		if f.typ.Kind() == reflect.Slice {
			f.list, f.typ = true, f.typ.Elem()
		}
		if f.typ.Kind() == reflect.Map {
			f.dict, f.typ = true, f.typ.Elem()
		}
		f.key = s.Tag.Get("key")
		if f.key == "" {
			f.key = under + trimUnit(f.name)
		}
		if e := s.Tag.Get("enum"); e != "" {
			f.enum = strings.Split(e, ",")
		}
		if items := s.Tag.Get("items"); items != "" {
			if _, err := fmt.Sscanf(items, "%d,%d", &f.least, &f.most); err != nil {
				panic(fmt.Sprintf("%v.%s: items %q", t, s.Name, items))
			}
		}
		if f.typ.Kind() == reflect.Struct && f.typ != phraseType {
			f.sub = newRecord(f.typ, f.key+".", limit)
		} else if limit != nil {
			if l, ok := limit(f.key); ok {
				f.limit = &l
			}
		}
		if d := s.Tag.Get("default"); d != "" {
			f.optional, f.presetText = true, d
			f.preset = reflect.New(s.Type).Elem()
			if err := f.decode(newDecoder([]byte(d)), f.name, f.preset); err != nil {
				panic(fmt.Sprintf("%v.%s: default %s: %v", t, s.Name, d, err))
			}
		}
		if s.Tag.Get("absent") == "nan" {
			f.optional, f.preset = true, reflect.New(s.Type).Elem()
			if f.sub != nil {
				for k := range f.preset.NumField() {
					f.preset.Field(k).SetFloat(math.NaN())
				}
			} else {
				f.preset.SetFloat(math.NaN())
			}
		}
		r.fields = append(r.fields, f)
	}
	return r
}

func trimUnit(name string) string {
	for _, s := range []string{"_mm", "_deg", "_n", "_mpa", "_c", "_percent"} {
		if rest, ok := strings.CutSuffix(name, s); ok {
			return rest
		}
	}
	return name
}

func (r *record) names() string {
	var out []string
	for _, f := range r.fields {
		out = append(out, f.name)
	}
	return strings.Join(out, ", ")
}

func (r *record) named(name string) *field {
	for _, f := range r.fields {
		if f.name == name {
			return f
		}
	}
	return nil
}

var index = regexp.MustCompile(`\[[0-9]+\]`)

// path gives the name of a craft key as it is written in the input, and its field: "bolts[1].depth" is
// "bolts[1].depth_mm". A key the input does not have comes back as it is, with nil.
func (r *record) path(key string) (string, *field) {
	at := index.FindString(key)
	var found *field
	var search func(r *record, path, want string) string
	search = func(r *record, path, want string) string {
		for _, f := range r.fields {
			name := path + f.name
			if f.list {
				name += "[]"
			}
			if f.key == want {
				found = f
				return name
			}
			if f.sub != nil {
				if p := search(f.sub, name+".", want); p != "" {
					return p
				}
			}
		}
		return ""
	}
	p := search(r, "", index.ReplaceAllString(key, ""))
	if p == "" {
		return key, nil
	}
	return strings.Replace(p, "[]", at, 1), found
}

// allowed says the range in the field's own unit.
func (f *field) allowed() string {
	switch {
	case len(f.enum) > 0:
		return strings.Join(f.enum, ", ")
	case f.limit != nil:
		s := f.show(f.limit.Min) + " to " + f.show(f.limit.Max)
		if u := f.unit(); u != "" {
			s += " " + u
		}
		if f.typ.Kind() == reflect.Int {
			s += ", whole"
		}
		if f.zero {
			s += ", or 0"
		}
		return s
	case f.typ.Kind() == reflect.Bool:
		return "true or false"
	case f.sub != nil && f.sub.tuple:
		return "a list [" + f.sub.names() + "]"
	case f.sub != nil:
		return "an object with " + f.sub.names()
	}
	return f.doc
}

func (f *field) unit() string {
	switch f.typ {
	case lengthType:
		return "mm"
	case angleType:
		return "degrees"
	case forceType:
		return "N"
	case stressType:
		return "MPa"
	}
	switch {
	case strings.HasSuffix(f.name, "_percent"):
		return "%"
	case strings.HasSuffix(f.name, "_c"):
		return "°C"
	}
	return ""
}

// show writes an SI value in the field's own unit, without the last digits a conversion may have left.
func (f *field) show(v float64) string {
	return strconv.FormatFloat(inUnit(f.typ, v), 'g', 12, 64)
}

// check returns an error if a number, in SI, is outside the field's range.
func (f *field) check(path, got string, v float64) *Error {
	if !unit.Finite(v) {
		return &Error{path, fmt.Sprintf("%s is %s: it must be a finite number", path, got), f.allowed()}
	}
	if f.limit == nil || f.zero && v == 0 || v >= f.limit.Min && v <= f.limit.Max {
		return nil
	}
	return f.outside(path, got, v)
}

// outside says that a value is out of range, with the reading a slipped point or unit would explain.
func (f *field) outside(path, got string, v float64) *Error {
	side := "too large"
	if f.limit != nil && v < f.limit.Min {
		side = "too small"
	}
	msg := fmt.Sprintf("%s is %s: %s; give %s", path, got, side, f.allowed())
	if s := f.likely(v); s != "" {
		msg += "; did you mean " + s + "?"
	}
	return &Error{path, msg, f.allowed()}
}

func (f *field) likely(v float64) string {
	if f.typ != lengthType || f.limit == nil {
		return ""
	}
	if w, ok := f.limit.Likely(unit.Length(v)); ok {
		return strconv.FormatFloat(w.MM(), 'g', 4, 64) + " mm"
	}
	return ""
}

func quote(s string) string {
	if len(s) > 48 {
		s = strings.ToValidUTF8(s[:48], "") + "…"
	}
	return strconv.Quote(s)
}
