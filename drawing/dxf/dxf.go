// Package dxf writes a drawing as a DXF file of release 12 (AC1009), which practically every drawing and cutting
// program reads.
//
// One layer holds one meaning; layer names are lower case, the sheet's own where it has them. Coordinates are
// millimetres of paper from the sheet's Origin ($INSUNITS 4), x to the right, y up: of wood on a full-size sheet. There are lines, circles, arcs, polylines
// and words; curves are drawn as polylines that stay within 0.01 mm. A fill has no line to cut along, so fills and
// halos are left out, and so is a shape that is only a fill. The same sheet always gives the same bytes.
//
// source: Autodesk, DXF Reference, release 12 (AutoCAD Customization Manual, chapter 11, "Drawing Interchange
// Files"). $INSUNITS came with a later release; readers that do not know a header variable step over it.
package dxf

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairset/drawing"
	"fairset/unit"
)

const (
	// Tolerance is how far a polyline may leave the curve it stands for.
	Tolerance = 0.01 * unit.MM
	// capHeight is the height of a capital for a type size of one: DXF gives letters by their capitals.
	// source: CapHeight of NimbusSans-Regular.afm (URW base 35).
	capHeight = 0.729
)

// Write writes the sheet. A sheet that cannot be drawn (see drawing.Sheet.Check) is an error and nothing is written.
func Write(w io.Writer, s *drawing.Sheet) error {
	b, err := Bytes(s)
	if err != nil {
		return err
	}
	if _, err := w.Write(b); err != nil {
		return fmt.Errorf("write drawing %q: %w", s.Title, err)
	}
	return nil
}

// Bytes returns the sheet as a DXF file.
func Bytes(s *drawing.Sheet) ([]byte, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	e := &writer{sheet: s}
	for _, it := range s.Parts() {
		e.item(it)
	}
	w := &writer{sheet: s, layers: e.layers, dashes: e.dashes}
	w.header()
	w.tables()
	w.begin("BLOCKS")
	w.end()
	w.begin("ENTITIES")
	w.Write(e.Bytes())
	w.end()
	w.text(0, "EOF")
	return w.Bytes(), nil
}

type writer struct {
	bytes.Buffer
	sheet  *drawing.Sheet
	layers []layer
	dashes [][]unit.Length
}

type layer struct {
	name string
	pen  drawing.Pen
}

// text writes one group: its code and its value.
func (w *writer) text(code int, value string) {
	fmt.Fprintf(w, "%3d\r\n%s\r\n", code, value)
}

func (w *writer) int(code, value int) { w.text(code, strconv.Itoa(value)) }

// real writes a number to a millionth; DXF tells a real by its point.
func (w *writer) real(code int, v float64) {
	s := strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
	if s == "-0" {
		s = "0"
	}
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	w.text(code, s)
}

// point writes the groups 10+n, 20+n, 30+n, measured from the datum.
func (w *writer) point(n int, p drawing.Point) {
	w.real(10+n, (p.X - w.sheet.Origin.X).MM())
	w.real(20+n, (p.Y - w.sheet.Origin.Y).MM())
	w.real(30+n, 0)
}

func (w *writer) begin(section string) {
	w.text(0, "SECTION")
	w.text(2, section)
}

func (w *writer) end() { w.text(0, "ENDSEC") }

func (w *writer) header() {
	w.begin("HEADER")
	variable := func(name string, write func()) {
		w.text(9, name)
		write()
	}
	corner := func(name string, p drawing.Point, both bool) {
		variable(name, func() {
			w.real(10, (p.X - w.sheet.Origin.X).MM())
			w.real(20, (p.Y - w.sheet.Origin.Y).MM())
			if both {
				w.real(30, 0)
			}
		})
	}
	far := drawing.Point{X: w.sheet.Width, Y: w.sheet.Height}
	variable("$ACADVER", func() { w.text(1, "AC1009") })
	variable("$DWGCODEPAGE", func() { w.text(3, "ansi_1252") })
	variable("$INSUNITS", func() { w.int(70, 4) })
	variable("$INSBASE", func() { w.real(10, 0); w.real(20, 0); w.real(30, 0) })
	corner("$EXTMIN", drawing.Point{}, true)
	corner("$EXTMAX", far, true)
	corner("$LIMMIN", drawing.Point{}, false)
	corner("$LIMMAX", far, false)
	variable("$LTSCALE", func() { w.real(40, 1) })
	variable("$LUNITS", func() { w.int(70, 2) })
	variable("$LUPREC", func() { w.int(70, 4) })
	w.end()
}

func (w *writer) tables() {
	w.begin("TABLES")
	table := func(name string, count int, rows func()) {
		w.text(0, "TABLE")
		w.text(2, name)
		w.int(70, count)
		rows()
		w.text(0, "ENDTAB")
	}
	table("LTYPE", 1+len(w.dashes), func() {
		row := func(name, words string, dash []unit.Length) {
			w.text(0, "LTYPE")
			w.text(2, name)
			w.int(70, 0)
			w.text(3, words)
			w.int(72, 65)
			w.int(73, len(dash))
			sum := unit.Length(0)
			for _, d := range dash {
				sum += d
			}
			w.real(40, sum.MM())
			for i, d := range dash {
				if i%2 == 1 {
					d = -d
				}
				w.real(49, d.MM())
			}
		}
		row("CONTINUOUS", "Solid line", nil)
		for i, d := range w.dashes {
			row(dashName(i), "Dashed line", d)
		}
	})
	table("LAYER", 1+len(w.layers), func() {
		row := func(name string, colour int, line string) {
			w.text(0, "LAYER")
			w.text(2, name)
			w.int(70, 0)
			w.int(62, colour)
			w.text(6, line)
		}
		row("0", 7, "CONTINUOUS")
		for _, l := range w.layers {
			row(l.name, colour(l.pen.Tone), w.line(l.pen.Dash))
		}
	})
	table("STYLE", 1, func() {
		w.text(0, "STYLE")
		w.text(2, "STANDARD")
		w.int(70, 0)
		w.real(40, 0)
		w.real(41, 1)
		w.real(50, 0)
		w.int(71, 0)
		w.real(42, 3)
		w.text(3, "arial.ttf")
		w.text(4, "")
	})
	w.end()
}

func dashName(i int) string { return "DASH" + strconv.Itoa(i+1) }

// line returns the name of a dash pattern, which joins the table when it is new.
func (w *writer) line(dash []unit.Length) string {
	sum := unit.Length(0)
	for _, d := range dash {
		sum += d.Abs()
	}
	if sum <= 0 {
		return "CONTINUOUS"
	}
	if len(dash)%2 == 1 { // marks and spaces change places on the second round
		dash = append(slices.Clone(dash), dash...)
	}
	for i, d := range w.dashes {
		if slices.Equal(d, dash) {
			return dashName(i)
		}
	}
	w.dashes = append(w.dashes, dash)
	return dashName(len(w.dashes) - 1)
}

// colour is the standard colour number nearest in meaning. source: DXF Reference, group 62: 1 red, 3 green, 5 blue,
// 7 black on white, 8 grey.
func colour(t drawing.Tone) int {
	switch t {
	case drawing.Accent:
		return 1
	case drawing.Goal:
		return 3
	case drawing.Steel:
		return 5
	case drawing.Faint:
		return 8
	default:
		return 7
	}
}

// layerOf returns an item's layer, which joins the table when it is new.
func (w *writer) layerOf(l drawing.Layer) layer {
	name := cleanName(w.sheet.LayerName(l))
	for _, old := range w.layers {
		if old.name == name {
			return old
		}
	}
	pen := l.Pen()
	w.line(pen.Dash)
	w.layers = append(w.layers, layer{name, pen})
	return w.layers[len(w.layers)-1]
}

// cleanName keeps the letters a layer name of release 12 may have, 31 of them at most.
func cleanName(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' || r == '_' || r == '$':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '_'
	}, s)
	if s == "" {
		return "0"
	}
	return s[:min(len(s), 31)]
}

// entity begins one thing drawn, with what its pen has of its own.
func (w *writer) entity(kind string, it drawing.Item) {
	l := w.layerOf(it.Layer)
	w.text(0, kind)
	w.text(8, l.name)
	tone, dash := it.Pen.Over(it.Layer.Pen()).Tone, it.Pen.Over(it.Layer.Pen()).Dash
	if kind == "TEXT" {
		tone, dash = it.Fill, l.pen.Dash
		if tone == "" {
			tone = it.Layer.Pen().Tone
		}
	}
	if !slices.Equal(dash, l.pen.Dash) {
		w.text(6, w.line(dash))
	}
	if c := colour(tone); c != colour(l.pen.Tone) {
		w.int(62, c)
	}
}

func (w *writer) item(it drawing.Item) {
	if t, ok := it.Shape.(drawing.Text); ok {
		w.words(it, t)
		return
	}
	if it.Pen.Over(it.Layer.Pen()).None {
		return
	}
	switch s := it.Shape.(type) {
	case drawing.Line:
		w.run(it, []drawing.Point{s.From, s.To})
	case drawing.Polyline:
		w.path(it, s.Path())
	case drawing.Circle:
		w.circle(it, s)
	case drawing.Arc:
		w.arc(it, s)
	case drawing.Path:
		w.path(it, s)
	}
}

func (w *writer) circle(it drawing.Item, c drawing.Circle) {
	if !visible(c.Radius) {
		return
	}
	w.entity("CIRCLE", it)
	w.point(0, c.Centre)
	w.real(40, c.Radius.Abs().MM())
}

// visible reports whether a length is more than nothing in the figures of the file.
func visible(l unit.Length) bool { return l.Abs().MM() >= 1e-6 }

func (w *writer) arc(it drawing.Item, a drawing.Arc) {
	if a.Radius < 0 {
		a.Radius, a.Start = -a.Radius, a.Start+180*unit.Degree
	}
	sweep := math.Abs(a.Sweep.Degrees())
	if sweep >= 360 {
		w.circle(it, drawing.Circle{Centre: a.Centre, Radius: a.Radius})
		return
	}
	if !visible(a.Radius * unit.Length(math.Abs(float64(a.Sweep)))) {
		return
	}
	start := a.Start.Degrees()
	if a.Sweep < 0 {
		start += a.Sweep.Degrees()
	}
	// Arcs run counterclockwise from start to end; equal angles would be a whole circle.
	turn := func(deg float64) float64 {
		deg = math.Round(math.Mod(deg, 360)*1e6) / 1e6
		if deg < 0 {
			deg += 360
		}
		return deg
	}
	from, to := turn(start), turn(start+sweep)
	if from == to {
		w.path(it, a.Path())
		return
	}
	w.entity("ARC", it)
	w.point(0, a.Centre)
	w.real(40, a.Radius.MM())
	w.real(50, from)
	w.real(51, to)
}

func (w *writer) path(it drawing.Item, p drawing.Path) {
	for _, run := range p.Flatten(Tolerance) {
		w.run(it, run)
	}
}

// run writes points joined by straight lines; a last point on the first closes them.
func (w *writer) run(it drawing.Item, run []drawing.Point) {
	points := run[:0:0]
	same := func(a, b drawing.Point) bool { return !visible(a.X-b.X) && !visible(a.Y-b.Y) }
	for _, p := range run {
		if len(points) == 0 || !same(points[len(points)-1], p) {
			points = append(points, p)
		}
	}
	closed := 0
	if n := len(points); n > 2 && same(points[0], points[n-1]) {
		points, closed = points[:n-1], 1
	}
	switch {
	case len(points) < 2:
	case len(points) == 2:
		w.entity("LINE", it)
		w.point(0, points[0])
		w.point(1, points[1])
	default:
		w.entity("POLYLINE", it)
		w.int(66, 1)
		w.real(10, 0)
		w.real(20, 0)
		w.real(30, 0)
		w.int(70, closed)
		name := w.layerOf(it.Layer).name
		for _, p := range points {
			w.text(0, "VERTEX")
			w.text(8, name)
			w.point(0, p)
		}
		w.text(0, "SEQEND")
		w.text(8, name)
	}
}

func (w *writer) words(it drawing.Item, t drawing.Text) {
	if strings.TrimSpace(t.String) == "" || !visible(t.Size) {
		return
	}
	w.entity("TEXT", it)
	at := t.At
	back := drawing.Width(t.String, t.Size, t.Bold)
	switch t.Anchor {
	case drawing.Start:
		back = 0
	case drawing.Middle:
		back /= 2
	}
	sin, cos := math.Sincos(float64(t.Turn))
	at.X -= back * unit.Length(cos)
	at.Y -= back * unit.Length(sin)
	w.point(0, at)
	w.real(40, t.Size.Abs().MM()*capHeight)
	w.text(1, escape(t.String))
	w.real(50, t.Turn.Degrees())
	w.text(7, "STANDARD")
	if t.Anchor != drawing.Start {
		w.int(72, int(t.Anchor)) // 1 centred, 2 right
		w.point(1, t.At)
	}
}

// escape writes words in ASCII: other letters as \U+XXXX, and the codes DXF would read into them (%%, ^, \U+) so
// that they stand for themselves. Letters beyond four digits become U+FFFD.
func escape(s string) string {
	var b strings.Builder
	for i, r := range s {
		switch {
		case r < ' ' || r == 0x7f:
			b.WriteByte(' ')
		case r > 0xffff:
			b.WriteString(`\U+FFFD`)
		case r > '~':
			fmt.Fprintf(&b, `\U+%04X`, r)
		case r == '^':
			b.WriteString("^ ")
		case r == '\\' && (strings.HasPrefix(s[i+1:], "U+") || strings.HasPrefix(s[i+1:], "M+")):
			b.WriteString(`\U+005C`)
		case r == '%' && (strings.HasPrefix(s[i+1:], "%") || i > 0 && s[i-1] == '%'):
			b.WriteString("%%%") // one percent sign
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
