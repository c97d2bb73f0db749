// Package printing is the list of sheets that can be printed of a guitar, and what each is drawn from. The pages,
// the HTTP interface and the command line all print from this list, so that a sheet is the same wherever it comes from.
//
// It knows the craft and the drawings, and neither storage nor the clock: the date on a sheet is given.
package printing

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairset/craft/bill"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/sheet"
	"fairset/unit"
)

// Source is what a sheet is drawn from: one guitar, and how its maker reads lengths.
type Source struct {
	Guitar guitar.Guitar
	Bench  guitar.Bench // of that guitar
	Date   string       // day of printing, as it is to stand on a list; "" leaves it out
	Style  unit.Style
	Shop   Shop
	Options
}

// Shop is what a sheet says of the shop's own. The zero value says nothing.
type Shop struct {
	Prices   bill.Prices
	Currency string // set before a sum; may be empty
}

// Options change what some sheets draw. The zero value is usual.
type Options struct {
	// JigLength is the length the wedge of the neck angle jig is drawn for, 50 mm to 1000 mm as ParseSetup reads it; 0 for the design's
	// own jig length.
	JigLength unit.Length
}

// Design is the guitar's design as it stands.
func (s Source) Design() guitar.Values { return s.Bench.Design }

// Left reports a left-handed guitar.
func (s Source) Left() bool { return s.Bench.Design.Choice("hand") == "left" }

// Head is what a full-size sheet says of itself: the guitar, and the day its design last changed (UTC), so that the same
// record always gives the same sheet.
func (s Source) Head() sheet.Head {
	at := s.Guitar.Created
	if e, ok := s.Guitar.Last(guitar.StepDesign); ok {
		at = e.At
	}
	h := sheet.Head{Guitar: s.Guitar.Name, Style: s.Style, Left: s.Left()}
	if !at.IsZero() {
		h.Date = at.UTC().Format(time.DateOnly)
	}
	return h
}

// Entry is one sheet that can be printed.
type Entry struct {
	Name  string    // short, lower case, words joined by hyphens: "cut-map"
	Title unit.Text // as it stands on a page: "Cut map"
	About unit.Text // one sentence: what it is for
	// Draw draws the sheet, one drawing or several, each on paper of its own size. A guitar that the sheet
	// cannot be drawn of yet gives a *NeedError. Draw must not keep or change the source, and may be called by
	// many at once.
	Draw func(Source) ([]*drawing.Sheet, error)
}

// NeedError says what a guitar must have before a sheet of it can be drawn.
type NeedError struct {
	Sheet unit.Text   // title; filled in by Entry.Sheets
	Need  unit.Phrase // a whole sentence: "Read the lean first."
}

func (e *NeedError) Error() string { return e.In(unit.Millimetre) }

// In writes the error for a maker.
func (e *NeedError) In(s unit.Style) string {
	if e.Sheet == "" {
		return e.Need.In(s)
	}
	return s.Say("%v: %v", e.Sheet, e.Need)
}

// Need is the error of a Draw that cannot draw yet. The sentence says what is needed.
func Need(sentence unit.Text, args ...any) error {
	return &NeedError{Need: unit.Say(sentence, args...)}
}

// NeedDesign is the error of a sheet that a repair, which has no design, cannot give.
func NeedDesign() error {
	return Need("This guitar is a repair, started from readings. The sheet needs a design.")
}

// Sheets draws the entry and checks that what was drawn can be written.
func (e Entry) Sheets(s Source) ([]*drawing.Sheet, error) {
	out, err := e.Draw(s)
	if need, ok := err.(*NeedError); ok {
		return nil, &NeedError{Sheet: e.Title, Need: need.Need}
	}
	if err != nil {
		return nil, unit.Wrong("%v: %v", e.Title, err)
	}
	if len(out) == 0 {
		return nil, unit.Wrong("%v: nothing was drawn", e.Title)
	}
	for _, d := range out {
		if err := d.Check(); err != nil {
			return nil, unit.Wrong("%v: %v", e.Title, err)
		}
	}
	return out, nil
}

// List returns every sheet, in the order a maker needs them.
func List() []Entry { return slices.Clone(table) }

// Find returns the sheet of that name. The error of an unknown name is a *unit.RangeError that lists the names.
func Find(name string) (Entry, error) {
	for _, e := range table {
		if e.Name == name {
			return e, nil
		}
	}
	return Entry{}, &unit.RangeError{Limit: unit.Limit{Field: "sheet", Label: unit.Say("sheet"), Kind: unit.KindChoice}, Got: fmt.Sprintf("%q", name), Why: unit.Say("there is no such sheet"), Choices: Names()}
}

// All is the name that stands for every sheet.
const All = "all"

// FindAll reads a list of names joined by commas, in small or capital letters, or "all" for every sheet. A name given twice
// counts once.
func FindAll(names string) ([]Entry, error) {
	names = strings.ToLower(names)
	if strings.TrimSpace(names) == All {
		return List(), nil
	}
	var out []Entry
	for _, name := range strings.Split(names, ",") {
		e, err := Find(strings.TrimSpace(name))
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(out, func(o Entry) bool { return o.Name == e.Name }) {
			out = append(out, e)
		}
	}
	return out, nil
}

// Names returns the names of every sheet, in the order of List.
func Names() []string {
	out := make([]string, len(table))
	for i, e := range table {
		out[i] = e.Name
	}
	return out
}
