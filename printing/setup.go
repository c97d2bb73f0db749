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
		{Limit: unit.Limit{Field: "dpi", Label: "dots to the inch", Kind: unit.KindCount, Min: 50, Max: 600}, Help: "Of a picture (PNG). 150 when left empty."},
	}
}

func lengthField(key, label string, lo, hi float64, help string) guitar.Field {
	return guitar.Field{Limit: unit.Limit{Field: key, Label: label, Kind: unit.KindLength, Min: float64(unit.Length(lo) * unit.MM), Max: float64(unit.Length(hi) * unit.MM)}, Help: help}
}

// Setup is how sheets are put on paper. The zero value is each sheet whole, on paper of its own size.
type Setup struct {
	DPI float64 // of a picture; 0 for 150
}

// ParseSetup reads the answers of Fields, a bare length in a maker's units. Errors are guitar.Problems.
func ParseSetup(texts map[string][]string, style unit.Style) (Setup, Options, error) {
	v, err := guitar.Parse(Fields(), texts, style)
	if err != nil {
		return Setup{}, Options{}, err
	}
	return Setup{DPI: float64(v.Count("dpi"))}, Options{JigLength: v.Length("jig_length")}, nil
}

// Plan is one entry as it will be printed.
type Plan struct {
	Pages []drawing.Page
	// Pictures show every drawing whole, with the edges of its pages where it is cut into several.
	Pictures []*drawing.Sheet
}

// Plan draws an entry and lays it out for a format. DXF is always whole.
func (s Setup) Plan(e Entry, from Source, f Format) (Plan, error) {
	sheets, err := e.Sheets(from)
	if err != nil {
		return Plan{}, err
	}
	var p Plan
	for _, d := range sheets {
		pages, picture, err := s.layOut(d, f)
		if err != nil {
			return Plan{}, fmt.Errorf("%s: %w", e.Title, err)
		}
		p.Pages, p.Pictures = append(p.Pages, pages...), append(p.Pictures, picture)
	}
	return p, nil
}

// layOut are the pages of one drawing, and its picture.
func (s Setup) layOut(d *drawing.Sheet, f Format) ([]drawing.Page, *drawing.Sheet, error) {
	return []drawing.Page{d.Page()}, d, nil
}

// Say says the setup in a few words: "whole, on paper of its own size".
func (s Setup) Say(unit.Style) string { return "whole, on paper of its own size" }

func choice[T ~string](field, got, why string, of []T) error {
	e := &unit.RangeError{Limit: unit.Limit{Field: field, Label: field, Kind: unit.KindChoice}, Got: fmt.Sprintf("%q", got), Why: why}
	for _, x := range of {
		e.Choices = append(e.Choices, string(x))
	}
	return e
}
