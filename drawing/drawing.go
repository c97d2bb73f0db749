// Package drawing is a scene in real lengths: a sheet of paper with lines, curves, words and dimensions on
// named layers, ready for a writer (SVG, PDF, DXF, PNG) to put down.
//
// Frame: the origin is the sheet's lower left corner, x runs to the right, y up, angles are positive
// counterclockwise. All lengths are on paper; a sheet that is drawn to scale says so in ScaleX and ScaleY.
// Colours are named tones, so that a writer or a style sheet can put its own in their place.
package drawing

import (
	"fmt"
	"math"
	"strconv"

	"fairset/unit"
)

// Sheet is one drawing.
type Sheet struct {
	Title string
	Desc  string // the drawing in words, for someone who cannot see it
	// Width and Height of the paper.
	Width, Height unit.Length
	// ScaleX and ScaleY are paper length per real length, 0 where the drawing is not to scale.
	ScaleX, ScaleY float64
	// Origin is the datum on the paper: where x = 0, y = 0 of the thing drawn lies. Formats for other
	// programs (DXF) count their coordinates from it.
	Origin Point
	// LayerNames are the sheet's own names for layers, lower case, where a format names layers; a layer not
	// among them has its own.
	LayerNames map[Layer]string
	Items      []Item
	// Table holds the same figures as the drawing: a header row, then the rows.
	Table [][]string
}

// Item is one shape on one layer.
type Item struct {
	Layer Layer
	// Name says what the shape stands for ("gap", "heel"), so that a program can find it again; may be empty.
	Name  string
	Shape Shape
	Pen   Pen  // what differs from the layer's own pen
	Fill  Tone // "" for none; of a Text, the tone of the letters ("" for the layer's)
}

// Pen draws outlines. A field left zero is taken from the layer.
type Pen struct {
	Tone   Tone
	Weight unit.Length
	// Dash is lengths of mark and space in turn: nil as the layer, empty but not nil for a solid line.
	Dash []unit.Length
	// None leaves the outline away.
	None bool
}

// Over returns p with its zero fields taken from under.
func (p Pen) Over(under Pen) Pen {
	if p.Tone == "" {
		p.Tone = under.Tone
	}
	if p.Weight == 0 {
		p.Weight = under.Weight
	}
	if p.Dash == nil {
		p.Dash = under.Dash
	}
	p.None = p.None || under.None
	return p
}

// Layer says what a shape means. Names are lower case; a writer may use them as layer or class names.
type Layer string

// The layers.
const (
	LayerPaper  Layer = "paper"  // ground of a drawing or a panel
	LayerWood   Layer = "wood"   // parts as they are
	LayerCut    Layer = "cut"    // wood to take away
	LayerScore  Layer = "score"  // lines to score or scribe
	LayerDrill  Layer = "drill"  // holes
	LayerMark   Layer = "mark"   // dots, fret lines and other marks on a part
	LayerString Layer = "string" // strings
	LayerEdge   Layer = "edge"   // straight edge and other sight lines
	LayerGap    Layer = "gap"    // what is read: gap, offset, roll
	LayerTarget Layer = "target" // where a reading should lie
	LayerDatum  Layer = "datum"  // lines everything is measured from
	LayerDim    Layer = "dim"    // dimensions
	LayerNote   Layer = "note"   // words
)

// Layers lists every layer in the order of the constants.
func Layers() []Layer {
	return []Layer{LayerPaper, LayerWood, LayerCut, LayerScore, LayerDrill, LayerMark, LayerString, LayerEdge,
		LayerGap, LayerTarget, LayerDatum, LayerDim, LayerNote}
}

// Pen is the pen a layer draws with.
func (l Layer) Pen() Pen {
	const mm = unit.MM
	switch l {
	case LayerPaper:
		return Pen{Tone: Faint, Weight: 0.2 * mm}
	case LayerWood:
		return Pen{Tone: Ink, Weight: 0.35 * mm}
	case LayerCut:
		return Pen{Tone: Ink, Weight: 0.25 * mm}
	case LayerScore:
		return Pen{Tone: Ink, Weight: 0.2 * mm}
	case LayerDrill:
		return Pen{Tone: Ink, Weight: 0.35 * mm}
	case LayerMark:
		return Pen{Tone: Ink, Weight: 0.3 * mm}
	case LayerString:
		return Pen{Tone: Steel, Weight: 0.4 * mm}
	case LayerEdge:
		return Pen{Tone: Accent, Weight: 0.4 * mm, Dash: []unit.Length{3 * mm, 0.9 * mm}}
	case LayerGap:
		return Pen{Tone: Accent, Weight: 0.5 * mm}
	case LayerTarget:
		return Pen{Tone: Goal, Weight: 0.35 * mm, Dash: []unit.Length{1.6 * mm, 1 * mm}}
	case LayerDatum:
		return Pen{Tone: Faint, Weight: 0.22 * mm, Dash: []unit.Length{1.2 * mm, 0.8 * mm}}
	case LayerDim:
		return Pen{Tone: Ink, Weight: 0.2 * mm}
	default:
		return Pen{Tone: Ink, Weight: 0.2 * mm}
	}
}

// Tone is a named colour.
type Tone string

// The tones: a calm workshop palette. The bands grow evenly darker, so they keep their order in grey print
// and to every eye; nothing is told by tone alone.
const (
	Paper  Tone = "paper"
	Ink    Tone = "ink"
	Faint  Tone = "faint"
	Wood   Tone = "wood"
	Dark   Tone = "dark"   // ebony and rosewood
	Spruce Tone = "spruce" // the top and the body behind it
	Bone   Tone = "bone"
	Steel  Tone = "steel"
	Accent Tone = "accent" // what is read
	Goal   Tone = "goal"   // where it should be
	Zone   Tone = "zone"   // the ground of a tolerance
	Band1  Tone = "band1"
	Band2  Tone = "band2"
	Band3  Tone = "band3"
	Band4  Tone = "band4"
	Band5  Tone = "band5"
	Band6  Tone = "band6"
)

// Bands lists the band tones, lightest first.
func Bands() []Tone { return []Tone{Band1, Band2, Band3, Band4, Band5, Band6} }

// Tones lists every tone in the order of the constants.
func Tones() []Tone {
	return append([]Tone{Paper, Ink, Faint, Wood, Dark, Spruce, Bone, Steel, Accent, Goal, Zone}, Bands()...)
}

// RGB is the tone's own colour; an unknown tone is ink.
func (t Tone) RGB() (r, g, b uint8) {
	v := uint32(0x2b2a27)
	switch t {
	case Paper:
		v = 0xfcfaf4
	case Faint:
		v = 0x6b665c
	case Wood:
		v = 0xdcb98a
	case Dark:
		v = 0x5a4538
	case Spruce:
		v = 0xf0dfbd
	case Bone:
		v = 0xfff9e6
	case Steel:
		v = 0x59636e
	case Accent:
		v = 0x9a2f1f
	case Goal:
		v = 0x1d6a4f
	case Zone:
		v = 0xd3e6da
	case Band1:
		v = 0xe9f1f3
	case Band2:
		v = 0xc9dde3
	case Band3:
		v = 0xa3c4ce
	case Band4:
		v = 0x78a7b5
	case Band5:
		v = 0x4f889a
	case Band6:
		v = 0x2f697c
	}
	return uint8(v >> 16), uint8(v >> 8), uint8(v)
}

// Hex writes the tone's own colour as "#rrggbb".
func (t Tone) Hex() string {
	const digits = "0123456789abcdef"
	r, g, b := t.RGB()
	return string([]byte{'#', digits[r>>4], digits[r&15], digits[g>>4], digits[g&15], digits[b>>4], digits[b&15]})
}

// Add puts items on the sheet, over those already there.
func (s *Sheet) Add(items ...Item) { s.Items = append(s.Items, items...) }

// LayerName is what the sheet calls a layer.
func (s *Sheet) LayerName(l Layer) string {
	if name := s.LayerNames[l]; name != "" {
		return name
	}
	return string(l)
}

// Move shifts everything on the sheet, its datum too.
func (s *Sheet) Move(dx, dy unit.Length) {
	s.Origin = s.Origin.moved(dx, dy)
	for i := range s.Items {
		s.Items[i].Shape = s.Items[i].Shape.moved(dx, dy)
	}
}

// Parts returns the items with each dimension and hatch taken apart into lines, outlines and words, in
// drawing order: all a writer needs to know are Line, Polyline, Circle, Arc, Path and Text.
func (s *Sheet) Parts() []Item {
	out := make([]Item, 0, len(s.Items)+len(s.Items)/2)
	for _, it := range s.Items {
		switch shape := it.Shape.(type) {
		case Dimension:
			out = append(out, shape.parts(it)...)
		case Hatch:
			it.Shape = shape.Path()
			out = append(out, it)
		default:
			out = append(out, it)
		}
	}
	return out
}

// Find returns the first item of that name among the parts.
func (s *Sheet) Find(name string) (Item, bool) {
	for _, it := range s.Parts() {
		if it.Name == name {
			return it, true
		}
	}
	return Item{}, false
}

// Check returns an error if the sheet cannot be written: no paper, or a coordinate that is no finite number.
func (s *Sheet) Check() error {
	if !s.Width.Finite() || !s.Height.Finite() || s.Width <= 0 || s.Height <= 0 {
		return fmt.Errorf("sheet %q: paper of %v by %v", s.Title, s.Width, s.Height)
	}
	if !s.Origin.finite() {
		return fmt.Errorf("sheet %q: the datum has a coordinate that is not a number", s.Title)
	}
	for i, it := range s.Items {
		if it.Shape == nil {
			return fmt.Errorf("sheet %q: item %d (%s) has no shape", s.Title, i, it.Name)
		}
		if !it.Shape.finite() {
			return fmt.Errorf("sheet %q: item %d (%s) has a coordinate that is not a number", s.Title, i, it.Name)
		}
	}
	return nil
}

func finite(vs ...unit.Length) bool {
	for _, v := range vs {
		// A kilometre of paper is nobody's drawing; refusing it keeps writers free of overflow.
		if !(math.Abs(float64(v)) < 1000) {
			return false
		}
	}
	return true
}

// AppendThousandths writes a number to a thousandth, without exponent or needless zeros, as writers of text formats
// want their millimetres. |v| is to be less than 9e15.
func AppendThousandths(b []byte, v float64) []byte {
	n := int64(math.Round(v * 1000))
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	b = strconv.AppendInt(b, n/1000, 10)
	if f := n % 1000; f != 0 {
		d := [4]byte{'.', byte('0' + f/100), byte('0' + f/10%10), byte('0' + f%10)}
		end := 4
		for d[end-1] == '0' {
			end--
		}
		b = append(b, d[:end]...)
	}
	return b
}
