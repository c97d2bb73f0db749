package figure

import (
	"bytes"
	"encoding/json"
	"reflect"
)

// Schema returns the JSON Schemas (2020-12) of a topic as {"input": {...}, "output": {...}}, indented.
func Schema(name string) ([]byte, error) {
	t, e := find(name)
	if e != nil {
		return nil, e
	}
	const draft = "https://json-schema.org/draft/2020-12/schema"
	in := t.in.schema(true)
	in = append(object{{"$schema", draft}, {"title", name + ": input"}, {"description", t.Summary}}, in...)
	text := object{{"type", "string"}}
	warning := object{{"type", "object"}, {"properties", object{{"code", text}, {"field", text}, {"message", text}}},
		{"required", []string{"code", "field", "message"}}, {"additionalProperties", false}}
	out := object{{"$schema", draft}, {"title", name + ": output"}, {"type", "object"},
		{"properties", object{{"result", t.out.schema(false)},
			{"warnings", object{{"type", "array"}, {"items", warning}}},
			{"sources", object{{"type", "array"}, {"items", text}}}}},
		{"required", []string{"result", "warnings", "sources"}}, {"additionalProperties", false}}
	b, err := json.Marshal(object{{"input", in}, {"output", out}})
	if err != nil {
		return nil, &Error{Message: err.Error()}
	}
	var ind bytes.Buffer
	if err := json.Indent(&ind, b, "", "  "); err != nil {
		return nil, &Error{Message: err.Error()}
	}
	return ind.Bytes(), nil
}

// object is a JSON object that keeps its order.
type object []member

type member struct {
	name  string
	value any
}

// MarshalJSON writes the members in order.
func (o object) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, m := range o {
		if i > 0 {
			out = append(out, ',')
		}
		var err error
		if out, err = appendJSON(out, m.name); err != nil {
			return nil, err
		}
		out = append(out, ':')
		if out, err = appendJSON(out, m.value); err != nil {
			return nil, err
		}
	}
	return append(out, '}'), nil
}

func (r *record) schema(input bool) object {
	props, required := object{}, []string{}
	for _, f := range r.fields {
		s := f.schema(input)
		if f.list {
			item := s
			s = object{{"type", "array"}, {"items", item}}
			if input {
				s = append(s, member{"minItems", f.least}, member{"maxItems", f.most})
			}
		}
		if f.dict {
			s = object{{"type", "object"}, {"additionalProperties", s}, {"minProperties", f.least}, {"maxProperties", f.most}}
		}
		if f.doc != "" {
			s = append(object{{"description", f.doc}}, s...)
		}
		if f.presetText != "" {
			s = append(s, member{"default", json.RawMessage(f.presetText)})
		}
		if !f.optional {
			required = append(required, f.name)
		}
		props = append(props, member{f.name, s})
	}
	return object{{"type", "object"}, {"properties", props}, {"required", required}, {"additionalProperties", false}}
}

// schema describes one value; a list describes its items by it.
func (f *field) schema(input bool) object {
	if f.sub != nil && f.sub.tuple {
		var items []object
		for _, g := range f.sub.fields {
			items = append(items, append(object{{"description", g.doc}}, g.schema(input)...))
		}
		return object{{"type", "array"}, {"prefixItems", items}, {"items", false}, {"minItems", len(items)}, {"maxItems", len(items)}}
	}
	if f.sub != nil {
		return f.sub.schema(input)
	}
	if f.typ == phraseType {
		return object{{"type", "string"}}
	}
	switch f.typ.Kind() {
	case reflect.Bool:
		return object{{"type", "boolean"}}
	case reflect.String:
		s := object{{"type", "string"}}
		if len(f.enum) > 0 {
			s = append(s, member{"enum", f.enum})
		}
		return s
	}
	number := object{{"type", "number"}}
	if f.typ.Kind() == reflect.Int {
		number[0].value = "integer"
	}
	if f.limit != nil {
		number = append(number, member{"minimum", json.Number(f.show(f.limit.Min))}, member{"maximum", json.Number(f.show(f.limit.Max))})
	}
	var ways []object
	if f.zero {
		ways = append(ways, object{{"const", 0}})
	}
	if input && f.typ == lengthType {
		ways = append(ways, object{{"type", "string"}, {"description", "a length with its unit, such as 25 1/2 in or 64.8 cm; millimetres when it names none"}, {"maxLength", 48}})
	}
	if len(ways) == 0 {
		return number
	}
	return object{{"anyOf", append([]object{number}, ways...)}}
}
