// Package tile lays a full-size sheet over pages of ordinary paper, to be printed, cut and joined at the bench.
//
// Neighbouring pages repeat a strip of the sheet, the overlap, in which both carry the same registration marks. Each
// page has, outside the part of the sheet it shows, its name, what to lay it over, and a check bar of 100 mm in each
// direction. Pages are named as a reader goes: A1, B1 to the right, A2 below. Pages on which nothing is drawn are left
// out; a map on a page of its own shows which goes where.
//
// A printer that draws a little too long or too short is made up for by what its check bars measure.
//
// The package knows no file format: its pages are drawing.Page.
package tile

import (
	"fmt"
	"math"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

// Paper is a size of paper.
type Paper string

// The papers.
const (
	Full    Paper = "full" // one piece, as large as the sheet
	Letter  Paper = "letter"
	A4      Paper = "a4"
	A3      Paper = "a3"
	Tabloid Paper = "tabloid"
)

// Papers lists the papers in the order they are offered.
func Papers() []Paper { return []Paper{Full, Letter, A4, A3, Tabloid} }

// ParsePaper reads the name of a paper; empty is full. The error is a *unit.RangeError of the field "paper".
func ParsePaper(name string) (Paper, error) {
	if name == "" {
		return Full, nil
	}
	e := &unit.RangeError{Limit: unit.Limit{Field: "paper", Label: unit.Say("paper"), Kind: unit.KindChoice}, Got: fmt.Sprintf("%q", name), Why: unit.Say("there is no such paper")}
	for _, p := range Papers() {
		if string(p) == strings.ToLower(name) {
			return p, nil
		}
		e.Choices = append(e.Choices, string(p))
	}
	return "", e
}

// Size is the paper's shorter and longer side; 0 for Full.
//
// source: ISO 216:2007 (A3, A4); ANSI/ASME Y14.1 sizes A and B (letter, tabloid), 8.5 by 11 and 11 by 17 inches.
func (p Paper) Size() (short, long unit.Length) {
	switch p {
	case Letter:
		return 8.5 * unit.Inch, 11 * unit.Inch
	case A4:
		return 210 * unit.MM, 297 * unit.MM
	case A3:
		return 297 * unit.MM, 420 * unit.MM
	case Tabloid:
		return 11 * unit.Inch, 17 * unit.Inch
	}
	return 0, 0
}

// Turn is which way the paper lies; empty for whichever way takes fewer pages.
type Turn string

// The turns.
const (
	Upright   Turn = "portrait"
	OnItsSide Turn = "landscape"
)

// Options of one tiling. A field left zero has its usual value.
type Options struct {
	Paper   Paper       // usually Full
	Turn    Turn        // of any paper but Full
	Overlap unit.Length // what neighbouring pages share; usually 15 mm
	Margin  unit.Length // what a printer leaves blank at each edge; usually 6 mm
	// MeasuredX and MeasuredY are what the check bars of 100 mm measure on a page this printer printed without
	// correction, across the page and up it; usually 100 mm.
	MeasuredX, MeasuredY unit.Length
	Style                unit.Style // the language of what is written round the sheet; usually English
}

// Usual values.
const (
	UsualOverlap = 15 * unit.MM
	UsualMargin  = 6 * unit.MM
	// CheckBar is the length of the check bars.
	CheckBar = 100 * unit.MM
)

// MaxPages is the most pages one sheet is laid over.
const MaxPages = 400

// The ranges of the options.
var (
	OverlapLimit = lengthLimit("overlap", "overlap", 8, 60)
	MarginLimit  = lengthLimit("margin", "margin", 3, 30)
	// A printer that is more than 3 in a hundred off has been told to scale; correcting that would hide it.
	MeasuredXLimit = lengthLimit("measured_x", "check bar across, measured", 97, 103)
	MeasuredYLimit = lengthLimit("measured_y", "check bar up the page, measured", 97, 103)
)

func lengthLimit(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: float64(unit.Length(lo) * unit.MM), Max: float64(unit.Length(hi) * unit.MM)}
}

// usual fills in what was left zero and checks the rest. Errors are *unit.RangeError.
func (o Options) usual() (Options, error) {
	p, err := ParsePaper(string(o.Paper))
	if err != nil {
		return o, err
	}
	o.Paper = p
	for _, f := range []struct {
		v     *unit.Length
		usual unit.Length
		limit unit.Limit
	}{{&o.Overlap, UsualOverlap, OverlapLimit}, {&o.Margin, UsualMargin, MarginLimit}, {&o.MeasuredX, CheckBar, MeasuredXLimit}, {&o.MeasuredY, CheckBar, MeasuredYLimit}} {
		if *f.v == 0 {
			*f.v = f.usual
		}
		if err := f.limit.Check(float64(*f.v)); err != nil {
			return o, err
		}
	}
	return o, nil
}

// Tile is one page's part of the sheet.
type Tile struct {
	Name     string // "B2": the second column, the second row from the top
	Col, Row int    // from 0; row 0 is the uppermost
	Window   drawing.Box
	// Blank tiles have nothing drawn on them and no page.
	Blank bool
}

// Shown is what of a tile is seen when all are joined: up to the tile that lies over it.
func (p *Plan) Shown(t Tile) drawing.Box {
	w := t.Window
	if t.Col < p.Cols-1 {
		w.Right -= p.Overlap
	}
	if t.Row < p.Rows-1 {
		w.Bottom += p.Overlap
	}
	return w
}

// Plan is how a sheet is laid over pages.
type Plan struct {
	Options
	Sheet *drawing.Sheet
	// PageWidth and PageHeight of the paper as it is turned.
	PageWidth, PageHeight unit.Length
	ScaleX, ScaleY        float64 // page length per sheet length
	Cols, Rows            int
	Tiles                 []Tile // row after row; one of them when the sheet goes on one page
	// Bare is set when the sheet goes on one page as it is, with nothing added.
	Bare bool
	ink  inks
}

// What stands beside the window on a page.
const (
	headRoom = 9 * unit.MM // above it: name, words and the check bar across
	sideRoom = 6 * unit.MM // to its left: the check bar up the page
)

// New lays a sheet over pages, the way round that takes fewest. A sheet that cannot be drawn (see
// drawing.Sheet.Check), an option out of range, or more than MaxPages pages is an error; of the latter two a
// *unit.RangeError.
func New(s *drawing.Sheet, o Options) (Plan, error) {
	if err := s.Check(); err != nil {
		return Plan{}, err
	}
	o, err := o.usual()
	if err != nil {
		return Plan{}, err
	}
	base := Plan{Options: o, Sheet: s, ScaleX: float64(CheckBar / o.MeasuredX), ScaleY: float64(CheckBar / o.MeasuredY), Cols: 1, Rows: 1}
	whole := []Tile{{Name: "A1", Window: drawing.Box{Left: 0, Bottom: 0, Right: s.Width, Top: s.Height}}}
	wide, high := s.Width*unit.Length(base.ScaleX), s.Height*unit.Length(base.ScaleY)
	if o.Paper == Full {
		base.PageWidth, base.PageHeight, base.Tiles, base.Bare = wide, high, whole, true
		return base, nil
	}
	base.ink = inkOf(s)
	short, long := o.Paper.Size()
	var best Plan
	sizes := [][2]unit.Length{{short, long}, {long, short}}
	switch o.Turn {
	case Upright:
		sizes = sizes[:1]
	case OnItsSide:
		sizes = sizes[1:]
	case "":
	default:
		return Plan{}, &unit.RangeError{Limit: unit.Limit{Field: "orientation", Label: unit.Say("paper lies"), Kind: unit.KindChoice}, Got: fmt.Sprintf("%q", o.Turn), Choices: []string{string(Upright), string(OnItsSide)}}
	}
	for _, size := range sizes {
		p := base
		p.PageWidth, p.PageHeight = size[0], size[1]
		if p.fits(p.ink.reach) {
			p.Tiles, p.Bare = whole, true
			return p, nil
		}
		if !p.grid() {
			continue
		}
		p.Tiles = make([]Tile, 0, p.Cols*p.Rows)
		for row := range p.Rows {
			for col := range p.Cols {
				w := p.window(col, row)
				p.Tiles = append(p.Tiles, Tile{Name: name(col, row), Col: col, Row: row, Window: w, Blank: !p.ink.in(w)})
			}
		}
		if p.printed() == 0 { // a sheet with nothing on it
			p.Tiles[0].Blank = false
		}
		if best.Tiles == nil || p.printed() < best.printed() || p.printed() == best.printed() && len(p.Tiles) < len(best.Tiles) {
			best = p
		}
	}
	if best.Tiles == nil {
		return Plan{}, &unit.RangeError{Limit: unit.Limit{Field: "paper", Label: unit.Say("paper"), Kind: unit.KindText}, Got: string(o.Paper),
			Why: unit.Say("a sheet of %.0f mm by %.0f mm would take more than %d pages of it; take larger paper or a smaller overlap", s.Width.MM(), s.Height.MM(), MaxPages)}
	}
	return best, nil
}

// area is what of the page can show the sheet, in sheet lengths.
func (p Plan) area() (wide, high unit.Length) {
	return (p.PageWidth - 2*p.Margin - sideRoom) / unit.Length(p.ScaleX), (p.PageHeight - 2*p.Margin - headRoom) / unit.Length(p.ScaleY)
}

// fits reports whether the sheet goes on the page as it is, its ink inside the margins.
func (p Plan) fits(ink drawing.Box) bool {
	sx, sy := unit.Length(p.ScaleX), unit.Length(p.ScaleY)
	dx, dy := (p.PageWidth-p.Sheet.Width*sx)/2, (p.PageHeight-p.Sheet.Height*sy)/2
	const hair = 1e-6 * unit.MM
	return dx >= -hair && dy >= -hair && dx+ink.Left*sx >= p.Margin-hair && dy+ink.Bottom*sy >= p.Margin-hair &&
		dx+ink.Right*sx <= p.PageWidth-p.Margin+hair && dy+ink.Top*sy <= p.PageHeight-p.Margin+hair
}

// grid sets how many columns and rows there are; false if that is too many.
func (p *Plan) grid() bool {
	count := func(total, window unit.Length) int {
		const hair = 1e-6 * unit.MM
		if total <= window+hair {
			return 1
		}
		return int(min(1e6, math.Ceil(float64((total-p.Overlap-hair)/(window-p.Overlap)))))
	}
	w, h := p.area()
	p.Cols, p.Rows = count(p.Sheet.Width, w), count(p.Sheet.Height, h)
	return p.Cols*p.Rows <= MaxPages
}

// window is the part of the sheet a tile shows, cut off at the sheet's edges.
func (p Plan) window(col, row int) drawing.Box {
	w, h := p.area()
	left, top := unit.Length(col)*(w-p.Overlap), p.Sheet.Height-unit.Length(row)*(h-p.Overlap)
	b := drawing.Box{Left: left, Bottom: top - h, Right: left + w, Top: top}
	if col == p.Cols-1 {
		b.Right = p.Sheet.Width
	}
	if row == p.Rows-1 {
		b.Bottom = 0
	}
	return b
}

// name is the name of a place in the grid: letters for the column, a number for the row.
func name(col, row int) string {
	letters := ""
	for c := col + 1; c > 0; c = (c - 1) / 26 {
		letters = string(rune('A'+(c-1)%26)) + letters
	}
	return fmt.Sprintf("%s%d", letters, row+1)
}

// at returns the tile of that place if it has a page.
func (p Plan) at(col, row int) (Tile, bool) {
	if col < 0 || row < 0 || col >= p.Cols || row >= p.Rows {
		return Tile{}, false
	}
	t := p.Tiles[row*p.Cols+col]
	return t, !t.Blank
}

func (p Plan) printed() int {
	n := 0
	for _, t := range p.Tiles {
		if !t.Blank {
			n++
		}
	}
	return n
}

// Mapped reports whether the pages begin with a map: when there are several.
func (p Plan) Mapped() bool { return len(p.Tiles) > 1 }

// Count is how many pages there are, the map among them.
func (p Plan) Count() int {
	n := p.printed()
	if p.Mapped() {
		n++
	}
	return n
}

// Pages returns the pages: the map if there is one, then the tiles that are not blank, row after row.
func (p Plan) Pages() []drawing.Page {
	if p.Bare {
		page := p.Sheet.Page()
		page.Width, page.Height, page.ScaleX, page.ScaleY = p.PageWidth, p.PageHeight, p.ScaleX, p.ScaleY
		page.Place = drawing.Point{X: (p.PageWidth - p.Sheet.Width*unit.Length(p.ScaleX)) / 2, Y: (p.PageHeight - p.Sheet.Height*unit.Length(p.ScaleY)) / 2}
		return []drawing.Page{page}
	}
	out := make([]drawing.Page, 0, p.Count())
	if p.Mapped() {
		out = append(out, p.mapPage())
	}
	for _, t := range p.Tiles {
		if !t.Blank {
			out = append(out, p.page(t, len(out)+1))
		}
	}
	return out
}

// Pages lays a sheet over pages, see New.
func Pages(s *drawing.Sheet, o Options) ([]drawing.Page, error) {
	p, err := New(s, o)
	if err != nil {
		return nil, err
	}
	return p.Pages(), nil
}
