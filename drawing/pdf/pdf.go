// Package pdf writes drawings as PDF 1.7: vector lines, embedded letters, each page exactly as large as its paper.
//
// The same pages, words and date always give the same bytes. The file asks the print dialogue not to scale
// (PrintScaling none), since a template printed "to fit" is a wrong template.
//
// source: ISO 32000-1:2008, whose clauses are named where they are used.
package pdf

import (
	"bufio"
	"bytes"
	"cmp"
	"compress/zlib"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"fairset/drawing"
	"fairset/drawing/face"
	"fairset/language"
	"fairset/unit"
)

// Options of one file.
type Options struct {
	// Title and Desc of the file; empty for those of the first page's sheet.
	Title, Desc string
	// Date the file says it was made; the zero time leaves it out.
	Date time.Time
	// Language of the words, for programs that read them aloud; usually English.
	Language language.Code
}

// maxPaper is the largest page side a reader need accept. source: ISO 32000-1 annex C.2, 14 400 units of 1/72 inch.
const maxPaper = 200 * unit.Inch

// perMM is PDF units in a millimetre.
const perMM = 72 / 25.4

// Write writes the pages as one file. A page that cannot be drawn (see drawing.Page.Check), or no page, is an error
// and nothing is written.
func Write(w io.Writer, pages []drawing.Page, o Options) error {
	for _, p := range pages {
		if err := check(p); err != nil {
			return err
		}
	}
	if len(pages) == 0 {
		return errors.New("write pdf: no pages")
	}
	f := New(w, o)
	for _, p := range pages {
		if err := f.Add(p); err != nil {
			return err
		}
	}
	return f.Close()
}

// Bytes returns the pages as one file, see Write.
func Bytes(pages []drawing.Page, o Options) ([]byte, error) {
	var b bytes.Buffer
	err := Write(&b, pages, o)
	return b.Bytes(), err
}

func check(p drawing.Page) error {
	if err := p.Check(); err != nil {
		return err
	}
	if p.Width > maxPaper || p.Height > maxPaper {
		limit := unit.Limit{Field: "paper", Label: unit.Say("paper size"), Kind: unit.KindLength, Min: 0, Max: float64(maxPaper)}
		return &unit.RangeError{Limit: limit, Value: float64(max(p.Width, p.Height))}
	}
	return nil
}

// Writer writes page after page, keeping none of them in memory. After the last page call Close.
type Writer struct {
	out     *bufio.Writer
	sum     hash.Hash // of all that was written, for the file's identifier
	o       Options
	at      int64
	offset  []int64 // of each object, by number
	pages   []int
	fonts   [2]fontUse // regular, bold
	content []byte
	packed  bytes.Buffer
	zip     *zlib.Writer
	err     error
}

// fontUse is which letters of a font the pages so far need.
type fontUse struct {
	face  *face.Face
	runes map[face.Glyph]rune
}

// Objects with fixed numbers; the rest follow.
const (
	objCatalog = iota + 1
	objPages
	objInfo
	objRegular
	objBold
	objFree // the first number not taken
)

// New begins a file.
func New(w io.Writer, o Options) *Writer {
	f := &Writer{out: bufio.NewWriter(w), sum: sha256.New(), o: o, offset: make([]int64, objFree)}
	for i := range f.fonts {
		f.fonts[i].runes = map[face.Glyph]rune{}
	}
	f.zip, _ = zlib.NewWriterLevel(nil, zlib.BestSpeed) // the level is a right one
	f.printf("%%PDF-1.7\n%%\xe2\xe3\xcf\xd3\n")
	return f
}

func (f *Writer) printf(format string, args ...any) { f.write(fmt.Appendf(nil, format, args...)) }

func (f *Writer) write(b []byte) {
	if f.err != nil {
		return
	}
	n, err := f.out.Write(b)
	f.sum.Write(b)
	f.at += int64(n)
	f.err = err
}

// object begins an object; number 0 takes the next free one.
func (f *Writer) object(number int) int {
	if number == 0 {
		number = len(f.offset)
		f.offset = append(f.offset, 0)
	}
	f.offset[number] = f.at
	f.printf("%d 0 obj\n", number)
	return number
}

// stream writes a packed stream object; dict is what its dictionary says besides filter and length.
func (f *Writer) stream(dict string, data []byte) int {
	f.packed.Reset()
	f.zip.Reset(&f.packed)
	_, _ = f.zip.Write(data) // a bytes.Buffer takes everything
	_ = f.zip.Close()
	n := f.object(0)
	f.printf("<<%s /Filter /FlateDecode /Length %d>>\nstream\n", dict, f.packed.Len())
	f.write(f.packed.Bytes())
	f.printf("\nendstream\nendobj\n")
	return n
}

// Add writes one page. A page that cannot be drawn is an error and leaves the file as it was.
func (f *Writer) Add(p drawing.Page) error {
	if err := check(p); err != nil {
		return err
	}
	if len(f.pages) == 0 {
		f.o.Title, f.o.Desc = cmp.Or(f.o.Title, p.Sheet.Title), cmp.Or(f.o.Desc, p.Sheet.Desc)
	}
	c := &canvas{file: f, buf: f.content[:0]}
	c.raw("1 J 1 j\n") // round ends and corners, as in the other formats
	c.matrix(perMM, perMM, 0, 0)
	whole := p.Whole()
	c.raw("q\n")
	if !whole {
		w, h := (p.Window.Right-p.Window.Left)*unit.Length(p.ScaleX), (p.Window.Top-p.Window.Bottom)*unit.Length(p.ScaleY)
		c.num(p.Place.X).num(p.Place.Y).num(w).num(h).raw("re W n\n")
		o := p.On(drawing.Point{})
		c.matrix(p.ScaleX, p.ScaleY, o.X.MM(), o.Y.MM())
	}
	c.items(p.Shown())
	c.raw("Q\n")
	if p.Over != nil {
		c.items(p.Over.Parts())
	}
	f.content = c.buf
	body := f.stream("", c.buf)
	n := f.object(0)
	f.printf("<</Type /Page /Parent %d 0 R /MediaBox [0 0 %s %s] /Contents %d 0 R /Resources <</Font <<", objPages,
		decimal(p.Width.MM()*perMM), decimal(p.Height.MM()*perMM), body)
	if c.used[0] {
		f.printf("/F0 %d 0 R", objRegular)
	}
	if c.used[1] {
		f.printf("/F1 %d 0 R", objBold)
	}
	f.printf(">>>>>>\nendobj\n")
	f.pages = append(f.pages, n)
	return f.err
}

// Close writes what the pages share and ends the file. A file without pages is an error.
func (f *Writer) Close() error {
	if len(f.pages) == 0 {
		return errors.New("write pdf: no pages")
	}
	for i := range f.fonts {
		if f.fonts[i].face != nil {
			f.font(objRegular+i, f.fonts[i])
		}
	}
	f.object(objPages)
	f.printf("<</Type /Pages /Count %d /Kids [", len(f.pages))
	for _, n := range f.pages {
		f.printf("%d 0 R\n", n)
	}
	f.printf("]>>\nendobj\n")
	f.object(objCatalog)
	// source: ISO 32000-1 table 150 (viewer preferences).
	f.printf("<</Type /Catalog /Pages %d 0 R /Lang (%s) /ViewerPreferences <</PrintScaling /None /PickTrayByPDFSize true /DisplayDocTitle true>>>>\nendobj\n", objPages, f.o.Language.Tag())
	f.object(objInfo)
	f.printf("<</Title %s /Subject %s /Creator (Fairset) /Producer (Fairset)", textString(f.o.Title), textString(f.o.Desc))
	if !f.o.Date.IsZero() {
		d := f.o.Date.UTC().Format("20060102150405")
		f.printf(" /CreationDate (D:%sZ) /ModDate (D:%sZ)", d, d)
	}
	f.printf(">>\nendobj\n")
	id := f.sum.Sum(nil)[:16]
	xref := f.at
	f.printf("xref\n0 %d\n", len(f.offset))
	// The unused numbers (a font no page needs) form the list of free objects. source: ISO 32000-1, 7.5.4.
	free := []int{0}
	for n := 1; n < len(f.offset); n++ {
		if f.offset[n] == 0 {
			free = append(free, n)
		}
	}
	for n, next := 0, 0; n < len(f.offset); n++ {
		if n == 0 || f.offset[n] == 0 {
			next++
			f.printf("%010d %05d f \n", free[next%len(free)], 65535)
		} else {
			f.printf("%010d 00000 n \n", f.offset[n])
		}
	}
	f.printf("trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /ID [<%x> <%x>]>>\nstartxref\n%d\n%%%%EOF\n", len(f.offset), objCatalog, objInfo, id, id, xref)
	if f.err == nil {
		f.err = f.out.Flush()
	}
	if f.err != nil {
		return fmt.Errorf("write pdf: %w", f.err)
	}
	return nil
}

// font writes a font with the letters that were used. source: ISO 32000-1, 9.7 (composite fonts), 9.8 (descriptors)
// and 9.10.3 (ToUnicode).
func (f *Writer) font(number int, use fontUse) {
	glyphs := slices.Sorted(maps.Keys(use.runes))
	units := func(v int) int { return (v*1000 + use.face.Units/2) / use.face.Units }
	ttf := use.face.Subset(glyphs)
	file := f.stream(fmt.Sprintf("/Length1 %d", len(ttf)), ttf)

	var w, cmap strings.Builder
	cmap.WriteString("/CIDInit /ProcSet findresource begin 12 dict begin begincmap /CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def /CMapType 2 def 1 begincodespacerange <0000> <FFFF> endcodespacerange\n")
	for part := range slices.Chunk(glyphs, 100) {
		fmt.Fprintf(&cmap, "%d beginbfchar\n", len(part))
		for _, g := range part {
			fmt.Fprintf(&cmap, "<%04X> <", g)
			for _, u := range utf16.Encode([]rune{use.runes[g]}) {
				fmt.Fprintf(&cmap, "%04X", u)
			}
			cmap.WriteString(">\n")
		}
		cmap.WriteString("endbfchar\n")
	}
	cmap.WriteString("endcmap CMapName currentdict /CMap defineresource pop end end\n")
	for _, g := range glyphs {
		fmt.Fprintf(&w, "%d [%s] ", g, decimal(float64(use.face.Advance(g))*1000/float64(use.face.Units)))
	}
	unicode := f.stream("", []byte(cmap.String()))

	// A name of its own for each choice of letters, as a subset must have.
	tag := sha256.Sum256(fmt.Append(nil, glyphs))
	name := make([]byte, 6)
	for i := range name {
		name[i] = 'A' + tag[i]%26
	}
	full := string(name) + "+" + use.face.Name
	m := use.face.Metrics()
	desc := f.object(0)
	f.printf("<</Type /FontDescriptor /FontName /%s /Flags 4 /FontBBox [%d %d %d %d] /ItalicAngle 0 /Ascent %d /Descent %d /CapHeight %d /StemV 80 /FontFile2 %d 0 R>>\nendobj\n",
		full, units(m.Box[0]), units(m.Box[1]), units(m.Box[2]), units(m.Box[3]), units(m.Ascent), units(m.Descent), units(m.CapHeight), file)
	cid := f.object(0)
	f.printf("<</Type /Font /Subtype /CIDFontType2 /BaseFont /%s /CIDSystemInfo <</Registry (Adobe) /Ordering (Identity) /Supplement 0>> /FontDescriptor %d 0 R /CIDToGIDMap /Identity /DW 1000 /W [%s]>>\nendobj\n",
		full, desc, strings.TrimSpace(w.String()))
	f.object(number)
	f.printf("<</Type /Font /Subtype /Type0 /BaseFont /%s /Encoding /Identity-H /DescendantFonts [%d 0 R] /ToUnicode %d 0 R>>\nendobj\n", full, cid, unicode)
}

// textString writes words for the reader's eyes. source: ISO 32000-1, 7.9.2.2 (text strings, UTF-16BE).
func textString(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		fmt.Fprintf(&b, "%04X", u)
	}
	b.WriteString(">")
	return b.String()
}

// canvas writes one page's content in millimetres.
type canvas struct {
	file *Writer
	buf  []byte
	used [2]bool
	// What the page is drawing with, so that only changes are written.
	fill, line drawing.Tone
	weight     unit.Length
	dash       []unit.Length
}

func (c *canvas) raw(s string) *canvas { c.buf = append(c.buf, s...); return c }

// num writes a length in millimetres to a thousandth.
func (c *canvas) num(l unit.Length) *canvas {
	c.buf = append(drawing.AppendThousandths(c.buf, l.MM()), ' ')
	return c
}

func (c *canvas) float(v float64, places int) *canvas {
	c.buf = append(appendDecimal(c.buf, v, places), ' ')
	return c
}

func (c *canvas) point(p drawing.Point) *canvas { return c.num(p.X).num(p.Y) }

func (c *canvas) matrix(sx, sy, dx, dy float64) {
	c.float(sx, 9).raw("0 0 ").float(sy, 9).float(dx, 5).float(dy, 5).raw("cm\n")
}

// appendDecimal writes a number without an exponent, which PDF does not know, and without needless zeros.
func appendDecimal(b []byte, v float64, places int) []byte {
	at := len(b)
	b = strconv.AppendFloat(b, v, 'f', places, 64)
	if places > 0 {
		for b[len(b)-1] == '0' {
			b = b[:len(b)-1]
		}
		if b[len(b)-1] == '.' {
			b = b[:len(b)-1]
		}
	}
	if string(b[at:]) == "-0" {
		b = append(b[:at], '0')
	}
	return b
}

func decimal(v float64) string { return string(appendDecimal(nil, v, 4)) }

func (c *canvas) colour(t drawing.Tone, op string) {
	r, g, b := t.RGB()
	for _, v := range [3]uint8{r, g, b} {
		c.float(float64(v)/255, 4)
	}
	c.raw(op)
}

func (c *canvas) setFill(t drawing.Tone) {
	if t != c.fill {
		c.fill = t
		c.colour(t, "rg\n")
	}
}

func (c *canvas) setPen(p drawing.Pen) {
	if p.Tone != c.line {
		c.line = p.Tone
		c.colour(p.Tone, "RG\n")
	}
	if p.Weight != c.weight {
		c.weight = p.Weight
		c.num(p.Weight).raw("w\n")
	}
	if !slices.Equal(p.Dash, c.dash) {
		c.dash = p.Dash
		c.raw("[")
		sum := unit.Length(0)
		for _, d := range p.Dash {
			sum += d
		}
		if sum > 0 { // a dash pattern of nothing is an error in PDF and a solid line elsewhere
			for _, d := range p.Dash {
				c.num(d)
			}
		}
		c.raw("] 0 d\n")
	}
}

// items draws parts of a sheet, bottom first.
func (c *canvas) items(items []drawing.Item) {
	c.fill, c.line, c.weight, c.dash = "", "", -1, nil // whatever a q … Q before this left
	c.raw("[] 0 d\n")
	for _, it := range items {
		if t, ok := it.Shape.(drawing.Text); ok {
			c.text(it, t)
			continue
		}
		pen := it.Pen.Over(it.Layer.Pen())
		stroke := !pen.None && pen.Weight > 0
		if !stroke && it.Fill == "" {
			continue
		}
		if it.Fill != "" {
			c.setFill(it.Fill)
		}
		if stroke {
			c.setPen(pen)
		}
		if !c.shape(it.Shape) {
			continue
		}
		switch {
		case stroke && it.Fill != "":
			c.raw("B\n")
		case stroke:
			c.raw("S\n")
		default:
			c.raw("f\n")
		}
	}
}

// shape writes an outline without painting it; false when there is none.
func (c *canvas) shape(s drawing.Shape) bool {
	switch s := s.(type) {
	case drawing.Line:
		c.point(s.From).raw("m ").point(s.To).raw("l ")
	case drawing.Polyline:
		if len(s.Points) == 0 {
			return false
		}
		for i, p := range s.Points {
			op := "l "
			if i == 0 {
				op = "m "
			}
			c.point(p).raw(op)
		}
		if s.Closed {
			c.raw("h ")
		}
	case drawing.Circle:
		c.path(s.Path())
	case drawing.Arc:
		c.path(s.Path())
	case drawing.Path:
		if len(s.Steps) == 0 {
			return false
		}
		c.path(s)
	default:
		return false
	}
	return true
}

func (c *canvas) path(p drawing.Path) {
	for i, s := range p.Steps {
		if i == 0 && s.Verb != drawing.MoveTo { // as everywhere in drawing, a path without a start starts at the origin
			c.raw("0 0 m ")
		}
		switch s.Verb {
		case drawing.MoveTo:
			c.point(s.To).raw("m ")
		case drawing.LineTo:
			c.point(s.To).raw("l ")
		case drawing.CurveTo:
			c.point(s.A).point(s.B).point(s.To).raw("c ")
		case drawing.Close:
			c.raw("h ")
		}
	}
}

func (c *canvas) text(it drawing.Item, t drawing.Text) {
	if t.String == "" || t.Size <= 0 {
		return
	}
	cut := 0
	if t.Bold {
		cut = 1
	}
	c.used[cut] = true
	use := &c.file.fonts[cut]
	if use.face == nil {
		use.face = face.Of(t.Bold)
	}
	if t.Halo != "" {
		// Outlines and not letters, so that no reader finds the words twice.
		c.setPen(drawing.Pen{Tone: t.Halo, Weight: 0.3 * t.Size})
		if p := use.face.Outline(t); len(p.Steps) > 0 {
			c.path(p)
			c.raw("S\n")
		}
	}
	tone := it.Fill
	if tone == "" {
		tone = it.Layer.Pen().Tone
	}
	c.setFill(tone)
	words := strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, t.String)
	var codes []byte
	missing := false
	for _, r := range words {
		g := use.face.Glyph(r)
		missing = missing || g == 0
		if was, ok := use.runes[g]; !ok || r < was {
			use.runes[g] = r
		}
		codes = fmt.Appendf(codes, "%04X", g)
	}
	if missing { // the box that stands for an unknown letter says nothing: give the words beside it
		c.raw("/Span <</ActualText " + textString(words) + ">> BDC\n")
	}
	sin, cos := math.Sincos(float64(t.Turn))
	c.raw("BT /F" + strconv.Itoa(cut) + " ").num(t.Size).raw("Tf ")
	c.float(cos, 7).float(sin, 7).float(-sin, 7).float(cos, 7).point(use.face.Start(t)).raw("Tm <")
	c.buf = append(c.buf, codes...)
	c.raw("> Tj ET\n")
	if missing {
		c.raw("EMC\n")
	}
}
