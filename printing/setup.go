package printing

import (
	"fmt"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/unit"
)

// Fields are what a maker can say of how sheets are drawn and put on paper, in the order of a form. None is required.
func Fields() []guitar.Field {
	return []guitar.Field{
		lengthField("jig_length", "length of the jig", 50, 1000, "For the neck angle jig; the design's own when left empty."),
	}
}

func lengthField(key, label string, lo, hi float64, help string) guitar.Field {
	return guitar.Field{Limit: unit.Limit{Field: key, Label: label, Kind: unit.KindLength, Min: float64(unit.Length(lo) * unit.MM), Max: float64(unit.Length(hi) * unit.MM)}, Help: help}
}

// Setup is how sheets are put on paper. The zero value is each sheet whole, on paper of its own size.
type Setup struct{}

// ParseSetup reads the answers of Fields, a bare length in a maker's units. Errors are guitar.Problems.
func ParseSetup(texts map[string][]string, style unit.Style) (Setup, Options, error) {
	v, err := guitar.Parse(Fields(), texts, style)
	if err != nil {
		return Setup{}, Options{}, err
	}
	return Setup{}, Options{JigLength: v.Length("jig_length")}, nil
}

// pages are the pages of one sheet.
func (s Setup) pages(d *drawing.Sheet) ([]drawing.Page, error) {
	return []drawing.Page{d.Page()}, nil
}

func choice[T ~string](field, got, why string, of []T) error {
	e := &unit.RangeError{Limit: unit.Limit{Field: field, Label: field, Kind: unit.KindChoice}, Got: fmt.Sprintf("%q", got), Why: why}
	for _, x := range of {
		e.Choices = append(e.Choices, string(x))
	}
	return e
}
