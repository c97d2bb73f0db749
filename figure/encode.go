package figure

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"

	"fairset/unit"
)

// appendValue writes a result in the units its names carry. A number that is not finite has no place in
// JSON and is an error.
func appendValue(out []byte, v reflect.Value) ([]byte, error) {
	if v.Type() == phraseType {
		return appendJSON(out, v.Interface().(unit.Phrase).In(unit.Millimetre))
	}
	switch v.Kind() {
	case reflect.Struct:
		return appendStruct(out, v)
	case reflect.Slice:
		out = append(out, '[')
		for i := range v.Len() {
			if i > 0 {
				out = append(out, ',')
			}
			var err error
			if out, err = appendValue(out, v.Index(i)); err != nil {
				return nil, fmt.Errorf("[%d]: %w", i, err)
			}
		}
		return append(out, ']'), nil
	case reflect.Float64:
		x := inUnit(v.Type(), v.Float())
		if !unit.Finite(x) {
			return nil, fmt.Errorf("%v is not a finite number", x)
		}
		// Adding zero turns minus zero into zero.
		return strconv.AppendFloat(out, x+0, 'g', -1, 64), nil
	default:
		return appendJSON(out, v.Interface())
	}
}

func appendStruct(out []byte, v reflect.Value) ([]byte, error) {
	t := v.Type()
	if t.Implements(tupleType) {
		out = append(out, '[')
		for i := range t.NumField() {
			if i > 0 {
				out = append(out, ',')
			}
			var err error
			if out, err = appendValue(out, v.Field(i)); err != nil {
				return nil, fmt.Errorf("[%d]: %w", i, err)
			}
		}
		return append(out, ']'), nil
	}
	out = append(out, '{')
	first := true
	for i := range t.NumField() {
		if t.Field(i).Tag.Get("absent") == "nan" && math.IsNaN(v.Field(i).Float()) {
			continue // a figure this input does not have
		}
		if !first {
			out = append(out, ',')
		}
		first = false
		name := t.Field(i).Tag.Get("json")
		var err error
		if out, err = appendJSON(out, name); err != nil {
			return nil, err
		}
		out = append(out, ':')
		if out, err = appendValue(out, v.Field(i)); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return append(out, '}'), nil
}

func appendJSON(out []byte, v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return append(out, b...), nil
}
