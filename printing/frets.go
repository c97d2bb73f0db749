package printing

import (
	"errors"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/sheet"
)

// frets: what is laid out on the fretboard and the neck.
var frets = []Entry{
	{Name: "frets", Title: "Fret layout", About: "The board from above with every slot, string line and dot, its ends and their radius.", Draw: drawFrets},
}

// lacking turns what a design still lacks, or what is wrong in it, into what the sheet needs.
func lacking(err error) error {
	var p guitar.Problems
	if !errors.As(err, &p) {
		return err
	}
	return Need("Mend the design first: %v.", inRow(p))
}

func drawFrets(s Source) ([]*drawing.Sheet, error) {
	d := s.Design()
	if s.Guitar.Start == guitar.FromReadings {
		return nil, NeedDesign()
	}
	b, err := guitar.BoardOf(d)
	if err != nil {
		return nil, lacking(err)
	}
	in := sheet.FretInput{Layout: b.Layout, Dots: guitar.Marks(d), Thickness: d.Length("board_thickness")}
	return []*drawing.Sheet{sheet.FretLayout(in, s.Head())}, nil
}
