package figure

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"fairset/unit"
)

func newDecoder(in []byte) *json.Decoder {
	d := json.NewDecoder(bytes.NewReader(in))
	d.UseNumber()
	return d
}

// read decodes one whole input. It is stricter than encoding/json by itself: unknown and repeated names,
// anything after the object, and numbers that do not fit are errors that name the field.
func (r *record) read(in []byte) (reflect.Value, *Error) {
	none := reflect.Value{}
	if len(in) > MostBytes {
		return none, &Error{"", fmt.Sprintf("the input is %d bytes long", len(in)), fmt.Sprintf("at most %d bytes", MostBytes)}
	}
	if len(bytes.TrimSpace(in)) == 0 {
		return none, &Error{"", "the input is empty: give one JSON object", "an object with " + r.names()}
	}
	d := newDecoder(in)
	v := reflect.New(r.typ).Elem()
	tok, err := d.Token()
	if err != nil {
		return none, syntax("", d, err)
	}
	if tok != json.Delim('{') {
		return none, &Error{"", "the input must be one JSON object, in braces", "an object with " + r.names()}
	}
	if e := r.decode(d, "", v); e != nil {
		return none, e
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return none, &Error{"", "something follows the object: give one JSON object and nothing after it", "one object"}
	}
	return v, nil
}

func syntax(path string, d *json.Decoder, err error) *Error {
	why := strings.TrimPrefix(err.Error(), "json: ")
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		why = "it ends too early"
	}
	msg := fmt.Sprintf("not valid JSON near byte %d: %s", d.InputOffset(), why)
	if path != "" {
		msg = path + ": " + msg
	}
	return &Error{path, msg, "a JSON value; numbers such as NaN or Infinity are not JSON"}
}

// decode reads the rest of an object whose opening brace has been read.
func (r *record) decode(d *json.Decoder, path string, v reflect.Value) *Error {
	if path != "" {
		path += "."
	}
	seen := make([]bool, len(r.fields))
	for d.More() {
		tok, err := d.Token()
		if err != nil {
			return syntax(strings.TrimSuffix(path, "."), d, err)
		}
		name, _ := tok.(string)
		f := r.named(name)
		if f == nil {
			if k, ok := v.Interface().(refusing); ok {
				if why := k.refuses(name); why != "" {
					return &Error{path + name, fmt.Sprintf("%s is not taken here: %s", path+name, why), "left out"}
				}
			}
			shown := name
			if len(shown) > 64 {
				shown = strings.ToValidUTF8(shown[:64], "") + "…"
			}
			return &Error{path + shown, fmt.Sprintf("there is no field %s here; check the spelling and the unit at its end", quote(name)), r.names()}
		}
		if seen[f.index] {
			return &Error{path + name, fmt.Sprintf("%s is given twice", path+name), "once"}
		}
		seen[f.index] = true
		if e := f.decode(d, path+name, v.FieldByIndex(f.at)); e != nil {
			return e
		}
	}
	if _, err := d.Token(); err != nil {
		return syntax(strings.TrimSuffix(path, "."), d, err)
	}
	for _, f := range r.fields {
		switch {
		case seen[f.index]:
		case !f.optional:
			return &Error{path + f.name, fmt.Sprintf("%s is missing: %s", path+f.name, f.doc), f.allowed()}
		case f.preset.IsValid():
			v.FieldByIndex(f.at).Set(f.preset)
		}
	}
	return nil
}

func (f *field) decode(d *json.Decoder, path string, v reflect.Value) *Error {
	tok, err := d.Token()
	if err != nil {
		return syntax(path, d, err)
	}
	if f.list {
		return f.decodeList(d, tok, path, v)
	}
	if f.dict {
		return f.decodeDict(d, tok, path, v)
	}
	return f.decodeOne(d, tok, path, v)
}

func (f *field) decodeList(d *json.Decoder, tok json.Token, path string, v reflect.Value) *Error {
	count := fmt.Sprintf("a list of %d to %d", f.least, f.most)
	if tok != json.Delim('[') {
		return &Error{path, path + " must be a list, in square brackets", count}
	}
	for n := 0; d.More(); n++ {
		if n == f.most {
			return &Error{path, fmt.Sprintf("%s has more than %d items", path, f.most), count}
		}
		tok, err := d.Token()
		at := fmt.Sprintf("%s[%d]", path, n)
		if err != nil {
			return syntax(at, d, err)
		}
		item := reflect.New(f.typ).Elem()
		if e := f.decodeOne(d, tok, at, item); e != nil {
			return e
		}
		v.Set(reflect.Append(v, item))
	}
	if _, err := d.Token(); err != nil {
		return syntax(path, d, err)
	}
	if v.Len() < f.least {
		return &Error{path, fmt.Sprintf("%s is empty", path), count}
	}
	return nil
}

// decodeDict reads an object whose names the input chooses.
func (f *field) decodeDict(d *json.Decoder, tok json.Token, path string, v reflect.Value) *Error {
	count := fmt.Sprintf("an object with %d to %d entries", f.least, f.most)
	if tok != json.Delim('{') {
		return &Error{path, path + " must be an object, in braces", count}
	}
	v.Set(reflect.MakeMap(v.Type()))
	for d.More() {
		tok, err := d.Token()
		if err != nil {
			return syntax(path, d, err)
		}
		name, _ := tok.(string)
		at := path + "." + name
		switch {
		case name == "" || len(name) > 64:
			return &Error{path, fmt.Sprintf("%s has an entry named %s: give it a name of 1 to 64 bytes", path, quote(name)), "a name of 1 to 64 bytes"}
		case v.MapIndex(reflect.ValueOf(name)).IsValid():
			return &Error{at, fmt.Sprintf("%s is given twice", at), "once"}
		case v.Len() == f.most:
			return &Error{path, fmt.Sprintf("%s has more than %d entries", path, f.most), count}
		}
		if tok, err = d.Token(); err != nil {
			return syntax(at, d, err)
		}
		item := reflect.New(f.typ).Elem()
		if e := f.decodeOne(d, tok, at, item); e != nil {
			return e
		}
		v.SetMapIndex(reflect.ValueOf(name), item)
	}
	if _, err := d.Token(); err != nil {
		return syntax(path, d, err)
	}
	if v.Len() < f.least {
		return &Error{path, fmt.Sprintf("%s is empty", path), count}
	}
	return nil
}

// decodeTuple reads the rest of a list that stands for a struct.
func (r *record) decodeTuple(d *json.Decoder, path string, v reflect.Value) *Error {
	count := fmt.Sprintf("a list of %d: [%s]", len(r.fields), r.names())
	n := 0
	for ; d.More(); n++ {
		if n == len(r.fields) {
			return &Error{path, fmt.Sprintf("%s has more than %d values", path, n), count}
		}
		if e := r.fields[n].decode(d, fmt.Sprintf("%s[%d]", path, n), v.Field(n)); e != nil {
			return e
		}
	}
	if _, err := d.Token(); err != nil {
		return syntax(path, d, err)
	}
	if n < len(r.fields) {
		return &Error{path, fmt.Sprintf("%s has only %d of %d values", path, n, len(r.fields)), count}
	}
	return nil
}

func (f *field) decodeOne(d *json.Decoder, tok json.Token, path string, v reflect.Value) *Error {
	if f.sub != nil && f.sub.tuple {
		if tok != json.Delim('[') {
			return &Error{path, path + " must be a list, in square brackets", f.allowed()}
		}
		return f.sub.decodeTuple(d, path, v)
	}
	if f.sub != nil {
		if tok != json.Delim('{') {
			return &Error{path, path + " must be an object, in braces", f.allowed()}
		}
		return f.sub.decode(d, path, v)
	}
	switch v.Kind() {
	case reflect.Bool:
		b, ok := tok.(bool)
		if !ok {
			return &Error{path, fmt.Sprintf("%s is %s: it must be true or false, without quotes", path, shown(tok)), "true or false"}
		}
		v.SetBool(b)
	case reflect.String:
		s, ok := tok.(string)
		if !ok {
			return &Error{path, fmt.Sprintf("%s is %s: it must be text, in quotes", path, shown(tok)), f.allowed()}
		}
		return f.setText(path, s, v)
	default:
		return f.setNumber(path, tok, v)
	}
	return nil
}

func (f *field) setText(path, s string, v reflect.Value) *Error {
	if len(f.enum) > 0 {
		for _, e := range f.enum {
			if s == e {
				v.SetString(s)
				return nil
			}
		}
		return &Error{path, fmt.Sprintf("%s is %s: choose one of %s", path, quote(s), f.allowed()), f.allowed()}
	}
	v.SetString(s)
	return nil
}

func (f *field) setNumber(path string, tok json.Token, v reflect.Value) *Error {
	var si float64
	got := shown(tok)
	switch t := tok.(type) {
	case json.Number:
		x, err := strconv.ParseFloat(string(t), 64)
		if err != nil {
			return &Error{path, fmt.Sprintf("%s is %s: it must be a finite number of ordinary size", path, got), f.allowed()}
		}
		si = inSI(f.typ, x)
	case string:
		if f.typ != lengthType {
			return &Error{path, fmt.Sprintf("%s is %s: it must be a number, without quotes", path, got), f.allowed()}
		}
		l, err := unit.ParseLength(t, unit.Millimetre)
		if err != nil {
			var syn *unit.SyntaxError
			why := err.Error()
			if errors.As(err, &syn) {
				why = syn.Why.In(unit.Millimetre)
			}
			return &Error{path, fmt.Sprintf("%s is %s: not a length: %s", path, got, why), f.allowed()}
		}
		si = float64(l)
	default:
		return &Error{path, fmt.Sprintf("%s is %s: it must be a number", path, got), f.allowed()}
	}
	if v.Kind() == reflect.Int {
		if si != math.Trunc(si) {
			return &Error{path, fmt.Sprintf("%s is %s: it must be a whole number", path, got), f.allowed()}
		}
		if math.Abs(si) > 1e9 {
			return f.outside(path, got, si)
		}
	}
	if e := f.check(path, got, si); e != nil {
		return e
	}
	if v.Kind() == reflect.Int {
		v.SetInt(int64(si))
	} else {
		v.SetFloat(si)
	}
	return nil
}

// shown writes a token as it stood in the input, shortened.
func shown(tok json.Token) string {
	switch t := tok.(type) {
	case nil:
		return "null"
	case json.Delim:
		if t == '[' {
			return "a list"
		}
		return "an object"
	case string:
		return quote(t)
	case json.Number:
		if len(t) > 32 {
			return string(t[:32]) + "…"
		}
		return string(t)
	default:
		return fmt.Sprint(t)
	}
}
