// Package svg writes a drawing as SVG 1.1 text.
//
// The same sheet always gives the same bytes. There is no style sheet, style attribute or script in the
// output, so it can stand inside a page with a strict content policy: every look is a presentation
// attribute, and every group and shape carries class names ("layer-cut", "line-accent", "fill-wood",
// "text-ink") for a page's own style sheet to override.
package svg

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"fairset/drawing"
	"fairset/unit"
)

// Mode is how large the drawing shows itself.
type Mode int

const (
	// Screen fills the width it is given.
	Screen Mode = iota
	// Paper is full size: a millimetre is a millimetre in print.
	Paper
)

// Options of one writing.
type Options struct {
	Mode Mode
	// ID begins the ids of title and description, so that several drawings can stand in one page. Characters
	// other than letters, digits, - and _ are replaced; empty means "drawing".
	ID string
	// File adds the XML line that a file of its own wants and a page does not.
	File bool
}

// face asks for letters of the widths the drawing reckons with.
const face = "Helvetica, Arial, sans-serif"

// Write writes the sheet. A sheet that cannot be drawn (see drawing.Sheet.Check) is an error and nothing
// is written.
func Write(w io.Writer, s *drawing.Sheet, o Options) error { return WritePage(w, s.Page(), o) }

// WritePage writes one page. A page that cannot be drawn (see drawing.Page.Check) is an error and nothing is written.
func WritePage(w io.Writer, p drawing.Page, o Options) error {
	b, err := PageBytes(p, o)
	if err != nil {
		return err
	}
	if _, err := w.Write(b); err != nil {
		return fmt.Errorf("write drawing %q: %w", p.Sheet.Title, err)
	}
	return nil
}

// Bytes returns the sheet as SVG text.
func Bytes(s *drawing.Sheet, o Options) ([]byte, error) { return PageBytes(s.Page(), o) }

// PageBytes returns one page as SVG text.
func PageBytes(p drawing.Page, o Options) ([]byte, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	s := p.Sheet
	w := &writer{buf: make([]byte, 0, 512+96*len(s.Items)), height: s.Height, names: s.LayerNames}
	id := cleanID(o.ID)
	if o.File {
		w.raw(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	}
	w.raw(`<svg xmlns="http://www.w3.org/2000/svg"`)
	if o.Mode == Paper {
		w.raw(` width="`).num(p.Width).raw(`mm" height="`).num(p.Height).raw(`mm"`)
	}
	w.raw(` viewBox="0 0 `).num(p.Width).raw(" ").num(p.Height).raw(`" class="drawing" role="img" aria-labelledby="`)
	w.raw(id).raw(`-title`)
	if s.Desc != "" {
		w.raw(" ").raw(id).raw("-desc")
	}
	w.raw(`" font-family="` + face + `">` + "\n")
	w.raw(`<title id="`).raw(id).raw(`-title">`).text(s.Title)
	if p.Name != "" {
		w.raw(", ").text(p.Name)
	}
	w.raw("</title>\n")
	if s.Desc != "" {
		w.raw(`<desc id="`).raw(id).raw(`-desc">`).text(s.Desc).raw("</desc>\n")
	}
	if p.Whole() {
		w.items(p.Shown())
	} else {
		// An inner picture cuts off at its own edge and scales what it shows, without a reference to anything.
		wide, high := p.Window.Right-p.Window.Left, p.Window.Top-p.Window.Bottom
		onPage := wide * unit.Length(p.ScaleX)
		tall := high * unit.Length(p.ScaleY)
		w.raw(`<svg x="`).num(p.Place.X).raw(`" y="`).num(p.Height - p.Place.Y - tall).raw(`" width="`).num(onPage).raw(`" height="`).num(tall)
		w.raw(`" viewBox="`).x(p.Window.Left).raw(" ").y(p.Window.Top).raw(" ").num(wide).raw(" ").num(high)
		w.raw(`" preserveAspectRatio="none" overflow="hidden">` + "\n")
		w.items(p.Shown())
		w.raw("</svg>\n")
	}
	if p.Over != nil {
		w.height, w.names = p.Height, p.Over.LayerNames
		w.items(p.Over.Parts())
	}
	w.raw("</svg>\n")
	return w.buf, nil
}

// items writes parts of a sheet, grouped by layer.
func (w *writer) items(items []drawing.Item) {
	layer := drawing.Layer("")
	for i, it := range items {
		if i == 0 || it.Layer != layer {
			if i > 0 {
				w.raw("</g>\n")
			}
			layer = it.Layer
			w.openLayer(layer)
		}
		w.item(it)
	}
	if len(items) > 0 {
		w.raw("</g>\n")
	}
}

type writer struct {
	buf    []byte
	height unit.Length
	pen    drawing.Pen // of the open layer
	names  map[drawing.Layer]string
}

func (w *writer) raw(s string) *writer { w.buf = append(w.buf, s...); return w }

// num writes a length in millimetres to a thousandth, without needless zeros.
func (w *writer) num(l unit.Length) *writer { return w.decimal(l.MM()) }

func (w *writer) decimal(v float64) *writer {
	w.buf = drawing.AppendThousandths(w.buf, v)
	return w
}

func (w *writer) x(l unit.Length) *writer { return w.num(l) }

// y turns the drawing's upward axis into SVG's downward one.
func (w *writer) y(l unit.Length) *writer { return w.num(w.height - l) }

func (w *writer) point(p drawing.Point) *writer { return w.x(p.X).raw(" ").y(p.Y) }

// text writes character data, safe in elements and in quoted attributes. Characters XML cannot hold
// become U+FFFD.
func (w *writer) text(s string) *writer {
	for _, r := range s {
		switch r {
		case '&':
			w.raw("&amp;")
		case '<':
			w.raw("&lt;")
		case '>':
			w.raw("&gt;")
		case '"':
			w.raw("&quot;")
		case '\'':
			w.raw("&#39;")
		case '\t', '\n', '\r':
			w.raw(" ")
		default:
			if r < ' ' || r == 0xfffe || r == 0xffff {
				r = utf8.RuneError
			}
			w.buf = utf8.AppendRune(w.buf, r)
		}
	}
	return w
}

func (w *writer) openLayer(l drawing.Layer) {
	w.pen = l.Pen()
	name := cleanID(string(l))
	w.raw(`<g class="layer-` + name + ` line-` + string(w.pen.Tone) + `" fill="none" stroke="` + w.pen.Tone.Hex() + `" stroke-width="`)
	w.num(w.pen.Weight).raw(`"`)
	if own := w.names[l]; own != "" {
		w.raw(` data-layer="`).text(own).raw(`"`)
	}
	w.dash(w.pen.Dash)
	w.raw(` stroke-linecap="round" stroke-linejoin="round">` + "\n")
}

func (w *writer) dash(d []unit.Length) {
	if len(d) == 0 {
		return
	}
	w.raw(` stroke-dasharray="`)
	for i, v := range d {
		if i > 0 {
			w.raw(" ")
		}
		w.num(v)
	}
	w.raw(`"`)
}

// look writes what an outline has of its own: name, classes and attributes that differ from its layer's.
func (w *writer) look(it drawing.Item) {
	w.name(it)
	pen := it.Pen.Over(w.pen)
	otherTone := pen.Tone != w.pen.Tone && !pen.None
	if it.Fill != "" || otherTone || pen.None {
		w.raw(` class="`)
		sep := ""
		if it.Fill != "" {
			w.raw("fill-").raw(cleanID(string(it.Fill)))
			sep = " "
		}
		switch {
		case pen.None:
			w.raw(sep + "line-none")
		case otherTone:
			w.raw(sep + "line-").raw(cleanID(string(pen.Tone)))
		}
		w.raw(`"`)
	}
	if it.Fill != "" {
		w.raw(` fill="`).raw(it.Fill.Hex()).raw(`"`)
	}
	if pen.None {
		w.raw(` stroke="none"`)
		return
	}
	if otherTone {
		w.raw(` stroke="`).raw(pen.Tone.Hex()).raw(`"`)
	}
	if pen.Weight != w.pen.Weight {
		w.raw(` stroke-width="`).num(pen.Weight).raw(`"`)
	}
	if !slices.Equal(pen.Dash, w.pen.Dash) {
		if len(pen.Dash) == 0 {
			w.raw(` stroke-dasharray="none"`)
		}
		w.dash(pen.Dash)
	}
}

func (w *writer) name(it drawing.Item) {
	if it.Name != "" {
		w.raw(` data-name="`).text(it.Name).raw(`"`)
	}
}

func (w *writer) item(it drawing.Item) {
	switch s := it.Shape.(type) {
	case drawing.Line:
		w.raw("<line")
		w.look(it)
		w.raw(` x1="`).x(s.From.X).raw(`" y1="`).y(s.From.Y).raw(`" x2="`).x(s.To.X).raw(`" y2="`).y(s.To.Y).raw(`"/>` + "\n")
	case drawing.Polyline:
		if len(s.Points) == 0 {
			return
		}
		tag := "<polyline"
		if s.Closed {
			tag = "<polygon"
		}
		w.raw(tag)
		w.look(it)
		w.raw(` points="`)
		for i, p := range s.Points {
			if i > 0 {
				w.raw(" ")
			}
			w.x(p.X).raw(",").y(p.Y)
		}
		w.raw(`"/>` + "\n")
	case drawing.Circle:
		w.raw("<circle")
		w.look(it)
		w.raw(` cx="`).x(s.Centre.X).raw(`" cy="`).y(s.Centre.Y).raw(`" r="`).num(s.Radius).raw(`"/>` + "\n")
	case drawing.Arc:
		w.raw("<path")
		w.look(it)
		w.raw(` d="M`).point(s.Point(0))
		// An SVG arc command cannot tell a near-whole turn from nothing, so go in pieces under half a turn.
		n := int(math.Abs(float64(s.Sweep))/(0.9*math.Pi)) + 1
		n = min(n, 8)
		sweep := "0"
		if s.Sweep < 0 {
			sweep = "1"
		}
		for i := 1; i <= n; i++ {
			w.raw("A").num(s.Radius).raw(" ").num(s.Radius).raw(" 0 0 " + sweep + " ").point(s.Point(float64(i) / float64(n)))
		}
		w.raw(`"/>` + "\n")
	case drawing.Path:
		if len(s.Steps) == 0 {
			return
		}
		w.raw("<path")
		w.look(it)
		w.raw(` d="`)
		for _, st := range s.Steps {
			switch st.Verb {
			case drawing.MoveTo:
				w.raw("M").point(st.To)
			case drawing.LineTo:
				w.raw("L").point(st.To)
			case drawing.CurveTo:
				w.raw("C").point(st.A).raw(" ").point(st.B).raw(" ").point(st.To)
			case drawing.Close:
				w.raw("Z")
			}
		}
		w.raw(`"/>` + "\n")
	case drawing.Text:
		tone := it.Fill
		if tone == "" {
			tone = w.pen.Tone
		}
		w.raw("<text")
		w.name(it)
		w.raw(` class="text-`).raw(cleanID(string(tone)))
		if s.Halo != "" {
			w.raw(" halo-").raw(cleanID(string(s.Halo)))
		}
		w.raw(`" x="`).x(s.At.X).raw(`" y="`).y(s.At.Y).raw(`" font-size="`).num(s.Size).raw(`"`)
		switch s.Anchor {
		case drawing.Middle:
			w.raw(` text-anchor="middle"`)
		case drawing.End:
			w.raw(` text-anchor="end"`)
		}
		if s.Bold {
			w.raw(` font-weight="bold"`)
		}
		if s.Turn != 0 {
			w.raw(` transform="rotate(`).decimal(-s.Turn.Degrees()).raw(" ").point(s.At).raw(`)"`)
		}
		w.raw(` fill="`).raw(tone.Hex()).raw(`"`)
		if s.Halo != "" {
			w.raw(` stroke="`).raw(s.Halo.Hex()).raw(`" stroke-width="`).num(s.Size * 0.3).raw(`" stroke-dasharray="none" paint-order="stroke"`)
		} else {
			w.raw(` stroke="none"`)
		}
		w.raw(">").text(s.String).raw("</text>\n")
	}
}

// cleanID keeps what may stand in an id or class name everywhere.
func cleanID(s string) string {
	if s == "" {
		return "drawing"
	}
	ok := func(i int, c byte) bool {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		return letter || i > 0 && (c >= '0' && c <= '9' || c == '-' || c == '_')
	}
	clean := true
	for i := 0; i < len(s) && clean; i++ {
		clean = ok(i, s[i])
	}
	if clean {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if ok(i, s[i]) {
			b.WriteByte(s[i])
		} else if i == 0 {
			b.WriteString("d")
		} else {
			b.WriteByte('_')
		}
	}
	return b.String()
}
