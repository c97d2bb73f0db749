// Package face holds the letters every writer that carries its own letters draws with: Liberation Sans, regular
// and bold, whose letters are as wide as those the drawing package reckons with (see drawing.Width). The font and
// its licence (SIL Open Font License 1.1) are embedded unchanged.
package face

import (
	_ "embed"
	"encoding/binary"
	"fmt"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"fairset/drawing"
	"fairset/unit"
)

//go:embed liberation/LiberationSans-Regular.ttf
var regularTTF []byte

//go:embed liberation/LiberationSans-Bold.ttf
var boldTTF []byte

// License is the font's licence.
//
//go:embed liberation/LICENSE
var License string

// Face is one cut of the letters. Its methods may be called from several goroutines at once.
type Face struct {
	Name   string // as PostScript names it
	Units  int    // font units per letter body
	font   *sfnt.Font
	tables map[string][]byte

	mu      sync.Mutex
	buf     sfnt.Buffer
	glyphs  map[rune]Glyph
	widths  map[Glyph]int
	letters map[Glyph]drawing.Path // one metre to the letter body
}

// Glyph is the number of a letter's shape in the font; 0 is the box that stands for a letter the font has not.
type Glyph = sfnt.GlyphIndex

var regular, bold = sync.OnceValue(func() *Face { return load("LiberationSans", regularTTF) }),
	sync.OnceValue(func() *Face { return load("LiberationSans-Bold", boldTTF) })

// Of returns the regular or the bold letters.
func Of(isBold bool) *Face {
	if isBold {
		return bold()
	}
	return regular()
}

// load panics if the font built into the program cannot be read: the tests would have shown it.
func load(name string, ttf []byte) *Face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("built-in font %s: %v", name, err))
	}
	fc := &Face{Name: name, Units: int(f.UnitsPerEm()), font: f, tables: map[string][]byte{},
		glyphs: map[rune]Glyph{}, widths: map[Glyph]int{}, letters: map[Glyph]drawing.Path{}}
	for i := range int(binary.BigEndian.Uint16(ttf[4:])) {
		e := ttf[12+16*i:]
		at, n := binary.BigEndian.Uint32(e[8:]), binary.BigEndian.Uint32(e[12:])
		fc.tables[string(e[:4])] = ttf[at : at+n]
	}
	return fc
}

// Glyph returns the shape of a letter; 0 when the font has none.
func (f *Face) Glyph(r rune) Glyph {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.glyph(r)
}

func (f *Face) glyph(r rune) Glyph {
	if r < ' ' || r == 0x7f {
		r = ' '
	}
	g, ok := f.glyphs[r]
	if !ok {
		g, _ = f.font.GlyphIndex(&f.buf, r)
		if len(f.glyphs) < 4096 {
			f.glyphs[r] = g
		}
	}
	return g
}

// Advance is how wide a glyph is, in font units.
func (f *Face) Advance(g Glyph) int {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.advance(g)
}

func (f *Face) advance(g Glyph) int {
	w, ok := f.widths[g]
	if !ok {
		a, err := f.font.GlyphAdvance(&f.buf, g, fixed.I(f.Units), font.HintingNone)
		if err == nil {
			w = a.Round()
		}
		f.widths[g] = w
	}
	return w
}

// Width is how wide a text is in these letters.
func (f *Face) Width(text string, size unit.Length) unit.Length {
	f.mu.Lock()
	defer f.mu.Unlock()
	sum := 0
	for _, r := range text {
		sum += f.advance(f.glyph(r))
	}
	return size * unit.Length(float64(sum)/float64(f.Units))
}

// Start is where the first letter of a text stands: its point, moved for its anchor.
func (f *Face) Start(t drawing.Text) drawing.Point {
	back := unit.Length(0)
	switch t.Anchor {
	case drawing.Middle:
		back = f.Width(t.String, t.Size) / 2
	case drawing.End:
		back = f.Width(t.String, t.Size)
	}
	sin, cos := math.Sincos(float64(t.Turn))
	return drawing.Point{X: t.At.X - back*unit.Length(cos), Y: t.At.Y - back*unit.Length(sin)}
}

// Outline returns the outlines of a text's letters where they stand on the sheet, to be filled by the non-zero
// rule.
func (f *Face) Outline(t drawing.Text) drawing.Path {
	at := f.Start(t)
	sin, cos := math.Sincos(float64(t.Turn))
	f.mu.Lock()
	defer f.mu.Unlock()
	var out drawing.Path
	along := unit.Length(0)
	for _, r := range t.String {
		g := f.glyph(r)
		put := func(p drawing.Point) drawing.Point {
			x, y := along+p.X*t.Size, p.Y*t.Size
			return drawing.Point{X: at.X + x*unit.Length(cos) - y*unit.Length(sin), Y: at.Y + x*unit.Length(sin) + y*unit.Length(cos)}
		}
		for _, s := range f.letter(g).Steps {
			out.Steps = append(out.Steps, drawing.Step{Verb: s.Verb, A: put(s.A), B: put(s.B), To: put(s.To)})
		}
		along += t.Size * unit.Length(float64(f.advance(g))/float64(f.Units))
	}
	return out
}

// letter returns the outline of a glyph on a letter body of one metre.
func (f *Face) letter(g Glyph) drawing.Path {
	if p, ok := f.letters[g]; ok {
		return p
	}
	segs, err := f.font.LoadGlyph(&f.buf, g, fixed.I(f.Units), nil)
	if err != nil {
		segs = nil // the glyph has no outline: a space
	}
	point := func(p fixed.Point26_6) drawing.Point {
		k := 1 / (64 * unit.Length(f.Units))
		return drawing.Point{X: unit.Length(p.X) * k, Y: -unit.Length(p.Y) * k}
	}
	mix := func(a, b drawing.Point) drawing.Point { // two thirds of the way to b
		return drawing.Point{X: a.X + (b.X-a.X)*2/3, Y: a.Y + (b.Y-a.Y)*2/3}
	}
	var p drawing.Path
	var at drawing.Point
	for _, s := range segs {
		a := point(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if len(p.Steps) > 0 {
				p.Steps = append(p.Steps, drawing.Step{Verb: drawing.Close})
			}
			p.Steps = append(p.Steps, drawing.Step{Verb: drawing.MoveTo, To: a})
			at = a
		case sfnt.SegmentOpLineTo:
			p.Steps = append(p.Steps, drawing.Step{Verb: drawing.LineTo, To: a})
			at = a
		case sfnt.SegmentOpQuadTo:
			to := point(s.Args[1])
			p.Steps = append(p.Steps, drawing.Step{Verb: drawing.CurveTo, A: mix(at, a), B: mix(to, a), To: to})
			at = to
		case sfnt.SegmentOpCubeTo:
			to := point(s.Args[2])
			p.Steps = append(p.Steps, drawing.Step{Verb: drawing.CurveTo, A: a, B: point(s.Args[1]), To: to})
			at = to
		}
	}
	if len(p.Steps) > 0 {
		p.Steps = append(p.Steps, drawing.Step{Verb: drawing.Close})
	}
	f.letters[g] = p
	return p
}
