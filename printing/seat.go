package printing

import (
	"errors"
	"time"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/sheet"
)

// seat: what is cut and measured at the heel.
var seat = []Entry{
	{Name: "gauges", Title: "Gauges", About: "Gauges to cut out for the arc of the body's end, the board's radius and the dome of the top.", Draw: drawGauges},
	{Name: "cut-map", Title: "Map of the next cut", About: "The heel's face at full size with the depth to take off, to lay on the wood.", Draw: drawCutMap},
}

// notYet turns what the bench still lacks into what the sheet needs.
func notYet(err error) error {
	var n *guitar.NotYet
	if errors.As(err, &n) {
		return &NeedError{Need: n.Say}
	}
	return err
}

// read says the day of a reading, as part of a sentence.
func read(at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return at.UTC().Format(time.DateOnly)
}

func drawGauges(s Source) ([]*drawing.Sheet, error) {
	d := s.Design()
	seat := s.Guitar.SeatInput(d)
	in := sheet.GaugeInput{Arc: seat.ArcRadius, HeelWidth: max(d.Length("heel_width_top"), d.Length("heel_width_cap"))}
	if fit, _, err := neckset.FitSeat(seat); err == nil {
		in.Hollow, in.Flatten, in.Flat = fit.HeelRemoval, fit.BodyRemoval, fit.BodyFlatWidth
	}
	if s.Guitar.Start == guitar.FromDesign {
		in.DomeKnown, in.Dome = true, d.Length("top_radius")
		in.BoardKnown, in.BoardNut, in.BoardEnd = true, d.Length("board_radius_nut"), d.Length("board_radius_end")
		if !d.Has("board_radius_end") {
			in.BoardEnd = in.BoardNut
		}
		// Where the board cannot be laid out, its radii still stand; only its width is not known.
		if b, err := guitar.BoardOf(d); err == nil {
			in.WidthNut, in.WidthEnd = b.Layout.WidthAt(0), b.Layout.WidthAt(b.Layout.Length)
		}
	}
	out, ok := sheet.Gauges(s.Head(), in)
	if !ok {
		return nil, Need("There is no gauge to cut: what is known of this guitar is flat, and a straight edge serves. Read the body end's radius at the seat, or give the design its radii.")
	}
	return []*drawing.Sheet{out}, nil
}

func drawCutMap(s Source) ([]*drawing.Sheet, error) {
	cut, err := s.Bench.CutAsked()
	if err != nil {
		return nil, notYet(err)
	}
	d := s.Design()
	in := sheet.CutMapInput{Heel: guitar.Heel(d), Depth: cut.Cut.Planned, TenonWidth: d.Length("tenon_width"), Do: s.Bench.Step(guitar.StepCut).Advice.Do.In(s.Style), Caution: s.say(guitar.CautionChisel)}
	if n := len(s.Bench.Readings); n > 0 {
		in.Read = read(s.Bench.Readings[n-1].At)
	}
	return []*drawing.Sheet{sheet.CutMap(s.Head(), in)}, nil
}
