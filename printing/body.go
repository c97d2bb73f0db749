package printing

import (
	"errors"
	"strings"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/sheet"
	"fairset/unit"
)

// body: the body's outline and what stands on it, and the neck's profile.
var body = []Entry{
	{Name: "body", Title: "Body, soundhole and braces", About: "The whole top at full size with its edge, soundhole, bridge, plate and every brace with its heights.",
		Draw: func(s Source) ([]*drawing.Sheet, error) {
			if err := needBody(s); err != nil {
				return nil, err
			}
			b, _, err := guitar.Body(s.Design())
			if err != nil {
				return nil, needFigures(err)
			}
			return []*drawing.Sheet{sheet.BodyPlan(s.Head(), b)}, nil
		}},
	{Name: "body-half", Title: "Half outline of the body", About: "Half of the body's outline at full size, to cut a template from that is turned over on the centreline.",
		Draw: func(s Source) ([]*drawing.Sheet, error) {
			if err := needBody(s); err != nil {
				return nil, err
			}
			b, _, err := guitar.Body(s.Design())
			if err != nil {
				return nil, needFigures(err)
			}
			return []*drawing.Sheet{sheet.BodyHalf(s.Head(), b)}, nil
		}},
	{Name: "neck", Title: "Neck profile gauges", About: "Sections of the neck at nut, middle and heel at full size, as hollow gauges to hold to its back.",
		Draw: func(s Source) ([]*drawing.Sheet, error) {
			if s.Guitar.Start == guitar.FromReadings {
				return nil, NeedDesign()
			}
			sections, err := guitar.NeckSections(s.Design())
			if err != nil {
				return nil, needFigures(err)
			}
			var out []sheet.Profile
			for _, n := range sections {
				out = append(out, sheet.Profile{Name: n.Name.In(s.Style), FromNut: n.FromNut, Width: n.Width, Depth: n.Depth, Board: n.Board, Radius: n.Radius, Fullness: n.Fullness})
			}
			return []*drawing.Sheet{sheet.NeckProfiles(s.Head(), out)}, nil
		}},
}

func needBody(s Source) error {
	switch {
	case s.Guitar.Start == guitar.FromReadings:
		return NeedDesign()
	case !guitar.HasBody(s.Design()):
		return Need("The design does not say the body's outline yet: give its length and widths under “Body outline and soundhole” on the Design page.")
	}
	return nil
}

// inRow are problems one after another, without a stop at the end.
type inRow guitar.Problems

// In writes them for a maker.
func (p inRow) In(s unit.Style) string {
	return strings.TrimRight(strings.ReplaceAll(guitar.Problems(p).In(s), "\n", "; "), ".")
}

// needFigures says which figures of the design to fill in or to mend.
func needFigures(err error) error {
	var p guitar.Problems
	if !errors.As(err, &p) {
		return err
	}
	return Need("Look at these figures of the design: %v.", inRow(p))
}
