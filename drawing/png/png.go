// Package png draws a page as a picture in dots, for a glance on a screen; what is cut from is the PDF or the SVG.
//
// Lines are smoothed at the edges; letters are those of package face, and the file says how many dots make a metre,
// so that it shows and prints at its true size. The same page always gives the same bytes. The picture is made and
// written in bands, so its size does not cost memory.
//
// source: W3C, Portable Network Graphics Specification, second edition (ISO/IEC 15948).
package png

import (
	"bufio"
	"bytes"
	"cmp"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/draw"
	"io"
	"math"

	"golang.org/x/image/vector"

	"fairset/drawing"
	"fairset/drawing/face"
	"fairset/unit"
)

// Options of one picture.
type Options struct {
	// DPI is dots per inch, 10 to 2400; 0 for 150.
	DPI float64
}

// MaxPixels is the largest picture that is drawn, in dots.
const MaxPixels = 200e6

const (
	minDPI     = 10
	maxDPI     = 2400
	defaultDPI = 150
	band       = 128 // rows drawn at a time
	slab       = 256 // columns of them drawn at a time
)

// Size returns how many dots wide and high the picture of a page is. A resolution out of range, or one that would
// make more than MaxPixels dots, is a *unit.RangeError of the field "dpi".
func Size(p drawing.Page, o Options) (wide, high int, err error) {
	dpi := cmp.Or(o.DPI, defaultDPI)
	limit := unit.Limit{Field: "dpi", Label: unit.Say("dots per inch"), Kind: unit.KindRatio, Min: minDPI, Max: maxDPI}
	if err := limit.Check(dpi); err != nil {
		return 0, 0, err
	}
	w, h := p.Width.Inches()*dpi, p.Height.Inches()*dpi
	if w*h > MaxPixels {
		limit.Max = math.Floor(math.Sqrt(MaxPixels / (p.Width.Inches() * p.Height.Inches())))
		return 0, 0, &unit.RangeError{Limit: limit, Value: dpi, Why: unit.Say("the picture would be %.0f by %.0f dots, and %.0f million dots is the most", w, h, MaxPixels/1e6)}
	}
	return max(1, int(math.Round(w))), max(1, int(math.Round(h))), nil
}

// Bytes returns the page as a PNG file, see Write.
func Bytes(p drawing.Page, o Options) ([]byte, error) {
	var b bytes.Buffer
	err := Write(&b, p, o)
	return b.Bytes(), err
}

// Write writes the page as a PNG file. A page that cannot be drawn (see drawing.Page.Check), or a resolution that is
// out of range (see Size), is an error and nothing is written.
func Write(w io.Writer, p drawing.Page, o Options) error {
	if err := p.Check(); err != nil {
		return err
	}
	wide, high, err := Size(p, o)
	if err != nil {
		return err
	}
	c := &canvas{wide: wide, high: high, perM: cmp.Or(o.DPI, defaultDPI) / 0.0254}
	c.page(p)
	if err := c.write(w); err != nil {
		return fmt.Errorf("write picture of %q: %w", p.Sheet.Title, err)
	}
	return nil
}

// dot is a place on the picture, in dots from its upper left corner.
type dot struct{ x, y float64 }

// ink is what one item puts down in one colour: the union of polygons.
type ink struct {
	rings       []ring
	top, bottom float64
	colour      [3]uint8
	clip        *frame
}

// ring is a polygon and the rows it reaches over.
type ring struct {
	dots        []dot
	top, bottom float64
}

// frame is the part of the picture that shows the sheet's window, to a fraction of a dot.
type frame struct{ left, top, right, bottom float64 }

type canvas struct {
	wide, high int
	perM       float64 // dots to a metre
	put        func(drawing.Point) dot
	scale      float64 // dots to a metre of what is drawn, for weights
	clip       *frame
	inks       []ink
}

func (c *canvas) page(p drawing.Page) {
	onPage := func(q drawing.Point) dot {
		return dot{float64(q.X) * c.perM, float64(p.Height-q.Y) * c.perM}
	}
	c.put, c.scale = func(q drawing.Point) dot { return onPage(p.On(q)) }, c.perM*math.Sqrt(p.ScaleX*p.ScaleY)
	if !p.Whole() {
		a, b := c.put(drawing.Point{X: p.Window.Left, Y: p.Window.Top}), c.put(drawing.Point{X: p.Window.Right, Y: p.Window.Bottom})
		c.clip = &frame{a.x, a.y, b.x, b.y}
	}
	for _, it := range p.Shown() {
		c.item(it)
	}
	if p.Over != nil {
		c.put, c.scale, c.clip = onPage, c.perM, nil
		for _, it := range p.Over.Parts() {
			c.item(it)
		}
	}
}

func (c *canvas) item(it drawing.Item) {
	pen := it.Pen.Over(it.Layer.Pen())
	if s, words := it.Shape.(drawing.Text); words {
		tone := it.Fill
		if tone == "" {
			tone = it.Layer.Pen().Tone
		}
		runs := c.runs(face.Of(s.Bold).Outline(s))
		if s.Halo != "" {
			c.stroke(runs, drawing.Pen{Tone: s.Halo, Weight: 0.3 * s.Size})
		}
		c.add(runs, tone)
		return
	}
	path, ok := drawing.AsPath(it.Shape)
	if !ok {
		return
	}
	runs := c.runs(path)
	if it.Fill != "" {
		c.add(runs, it.Fill)
	}
	if !pen.None && pen.Weight > 0 {
		c.stroke(runs, pen)
	}
}

// runs flattens a path to a twentieth of a dot.
func (c *canvas) runs(p drawing.Path) [][]dot {
	flat := p.Flatten(unit.Length(0.05 / c.scale))
	out := make([][]dot, len(flat))
	for i, run := range flat {
		out[i] = make([]dot, len(run))
		for j, q := range run {
			out[i][j] = c.put(q)
		}
	}
	return out
}

func (c *canvas) add(rings [][]dot, tone drawing.Tone) {
	k := ink{top: math.Inf(1), bottom: math.Inf(-1), clip: c.clip}
	k.colour[0], k.colour[1], k.colour[2] = tone.RGB()
	for _, dots := range rings {
		r := ring{dots, math.Inf(1), math.Inf(-1)}
		for _, d := range dots {
			r.top, r.bottom = min(r.top, d.y), max(r.bottom, d.y)
		}
		if len(dots) >= 3 && r.top < float64(c.high) && r.bottom > 0 {
			k.rings = append(k.rings, r)
			k.top, k.bottom = min(k.top, r.top), max(k.bottom, r.bottom)
		}
	}
	if len(k.rings) > 0 {
		c.inks = append(c.inks, k)
	}
}

// stroke turns lines into the polygons a round pen covers. A line thinner than 0.7 dots is drawn that wide, or it
// would fade.
func (c *canvas) stroke(runs [][]dot, pen drawing.Pen) {
	half := math.Max(float64(pen.Weight)*c.scale, 0.7) / 2
	if len(pen.Dash) > 0 {
		runs = c.dashed(runs, pen.Dash)
	}
	var out [][]dot
	for _, run := range runs {
		out = strokeRun(out, run, half)
	}
	c.add(out, pen.Tone)
}

// dashed cuts lines into the marks of a dash pattern.
func (c *canvas) dashed(runs [][]dot, dash []unit.Length) [][]dot {
	lengths, sum := make([]float64, len(dash)), 0.0
	for i, d := range dash {
		lengths[i] = math.Max(float64(d)*c.scale, 0)
		sum += lengths[i]
	}
	if sum < 1 { // finer than the dots show
		return runs
	}
	var out [][]dot
	for _, run := range runs {
		i, left, on := 0, lengths[0], true
		part := run[:1:1]
		for j := 1; j < len(run); j++ {
			a, b := run[j-1], run[j]
			long := math.Hypot(b.x-a.x, b.y-a.y)
			// Marks off the picture are counted but not made.
			from, to := c.inside(a, b)
			at := 0.0
			pass := func(until float64) {
				gone := math.Mod(until-at, 2*sum)
				at = until
				for gone > 0 {
					step := min(left, gone)
					gone -= step
					if left -= step; left <= 0 {
						i, on = (i+1)%len(lengths), !on
						left = lengths[i]
					}
				}
				part = []dot{{a.x + (b.x-a.x)*at/long, a.y + (b.y-a.y)*at/long}}
			}
			if from > 0 {
				pass(from * long)
			}
			for at < to*long {
				step := min(left, to*long-at)
				at += step
				left -= step
				d := dot{a.x + (b.x-a.x)*at/long, a.y + (b.y-a.y)*at/long}
				if on {
					part = append(part, d)
				}
				if left <= 0 {
					if on {
						out = append(out, part)
					}
					i, on = (i+1)%len(lengths), !on
					left = lengths[i]
					part = []dot{d}
				}
			}
			if to < 1 && long > 0 {
				if on && len(part) > 1 {
					out = append(out, part)
				}
				pass(long)
			}
		}
		if on && len(part) > 1 {
			out = append(out, part)
		}
	}
	return out
}

// inside returns which share of a straight, from 0 to 1, lies on or near the picture (Liang and Barsky, A new concept
// and method for line clipping, 1984); both are 1 when none does.
func (c *canvas) inside(a, b dot) (from, to float64) {
	const near = 64
	from, to = 0, 1
	for _, e := range [4][2]float64{{a.x - b.x, a.x + near}, {b.x - a.x, float64(c.wide) + near - a.x}, {a.y - b.y, a.y + near}, {b.y - a.y, float64(c.high) + near - a.y}} {
		switch t := e[1] / e[0]; {
		case e[0] == 0 && e[1] < 0:
			return 1, 1
		case e[0] < 0:
			from = max(from, t)
		case e[0] > 0:
			to = min(to, t)
		}
	}
	if from >= to {
		return 1, 1
	}
	return from, to
}

// strokeRun appends the polygons of one line: a four-sided piece for each straight, joined edge to edge where the
// line bends little, and a disc at its ends and corners.
func strokeRun(out [][]dot, run []dot, half float64) [][]dot {
	points := run[:0:0]
	for _, d := range run {
		if n := len(points); n == 0 || math.Hypot(d.x-points[n-1].x, d.y-points[n-1].y) > 1e-6 {
			points = append(points, d)
		}
	}
	n := len(points)
	if n == 0 {
		return out
	}
	if n == 1 {
		return append(out, disc(points[0], half))
	}
	closed := n > 2 && math.Hypot(points[0].x-points[n-1].x, points[0].y-points[n-1].y) < 1e-6
	normal := make([]dot, n-1)
	for i := range normal {
		a, b := points[i], points[i+1]
		long := math.Hypot(b.x-a.x, b.y-a.y)
		normal[i] = dot{-(b.y - a.y) / long * half, (b.x - a.x) / long * half}
	}
	// corner returns how far the edges stand off at the joint of two straights.
	corner := func(i, j int, at dot) (dot, dot) {
		u, v := normal[i], normal[j]
		cos := (u.x*v.x + u.y*v.y) / (half * half)
		if cos > 0.94 { // bends less than 20 degrees
			k := 1 / (1 + cos)
			m := dot{(u.x + v.x) * k, (u.y + v.y) * k}
			return m, m
		}
		out = append(out, disc(at, half))
		return u, v
	}
	from := make([]dot, n-1)
	to := make([]dot, n-1)
	for i := 1; i < n-1; i++ {
		to[i-1], from[i] = corner(i-1, i, points[i])
	}
	if closed {
		to[n-2], from[0] = corner(n-2, 0, points[0])
	} else {
		to[n-2], from[0] = normal[n-2], normal[0]
		out = append(out, disc(points[0], half), disc(points[n-1], half))
	}
	for i := range normal {
		a, b := points[i], points[i+1]
		out = append(out, []dot{{a.x + from[i].x, a.y + from[i].y}, {b.x + to[i].x, b.y + to[i].y},
			{b.x - to[i].x, b.y - to[i].y}, {a.x - from[i].x, a.y - from[i].y}})
	}
	return out
}

func disc(at dot, half float64) []dot {
	n := min(max(8, int(4*half)), 64)
	out := make([]dot, n)
	for i := range out {
		sin, cos := math.Sincos(-2 * math.Pi * float64(i) / float64(n)) // the way round of strokeRun's pieces
		out[i] = dot{at.x + half*cos, at.y + half*sin}
	}
	return out
}

// between cuts a polygon to the rows from top to bottom (Sutherland and Hodgman, Reentrant polygon clipping, 1974).
func between(r ring, top, bottom float64) []dot {
	cut := func(in []dot, edge, sign float64) []dot {
		out := make([]dot, 0, len(in)+2)
		for i, b := range in {
			a := in[(i+len(in)-1)%len(in)]
			inA, inB := (a.y-edge)*sign >= 0, (b.y-edge)*sign >= 0
			if inA != inB {
				out = append(out, dot{a.x + (b.x-a.x)*(edge-a.y)/(b.y-a.y), edge})
			}
			if inB {
				out = append(out, b)
			}
		}
		return out
	}
	dots := r.dots
	if r.top < top {
		dots = cut(dots, top, 1)
	}
	if r.bottom > bottom {
		dots = cut(dots, bottom, -1)
	}
	return dots
}

// write draws the picture band by band and packs it.
func (c *canvas) write(w io.Writer) error {
	out := bufio.NewWriter(w)
	out.WriteString("\x89PNG\r\n\x1a\n")
	var head [13]byte
	binary.BigEndian.PutUint32(head[:], uint32(c.wide))
	binary.BigEndian.PutUint32(head[4:], uint32(c.high))
	head[8], head[9] = 8, 2 // eight bits each of red, green and blue
	chunk(out, "IHDR", head[:])
	var phys [9]byte
	binary.BigEndian.PutUint32(phys[:], uint32(math.Round(c.perM)))
	binary.BigEndian.PutUint32(phys[4:], uint32(math.Round(c.perM)))
	phys[8] = 1 // dots per metre
	chunk(out, "pHYs", phys[:])

	data := bufio.NewWriterSize(chunks{out}, 1<<16)
	zip := zlib.NewWriter(data)
	row := make([]byte, 1+3*c.wide)
	above := make([]byte, 3*c.wide)
	pixels := make([]byte, 3*c.wide*band)
	mask := image.NewAlpha(image.Rect(0, 0, slab, band))
	var raster vector.Rasterizer
	for top := 0; top < c.high; top += band {
		rows := min(band, c.high-top)
		for i := range pixels {
			pixels[i] = 0xff
		}
		for _, k := range c.inks {
			if k.top < float64(top+rows) && k.bottom > float64(top) {
				c.ink(k, top, rows, pixels, mask, &raster)
			}
		}
		for y := range rows {
			line := pixels[3*c.wide*y : 3*c.wide*(y+1)]
			row[0] = 2 // each byte less the one above it, which packs best
			for i, v := range line {
				row[1+i] = v - above[i]
			}
			copy(above, line)
			if _, err := zip.Write(row); err != nil {
				return err
			}
		}
	}
	if err := zip.Close(); err != nil {
		return err
	}
	if err := data.Flush(); err != nil {
		return err
	}
	chunk(out, "IEND", nil)
	return out.Flush()
}

// ink puts one item's ink on a band, slab by slab, so that an outline costs little where it is not.
func (c *canvas) ink(k ink, top, rows int, pixels []byte, mask *image.Alpha, raster *vector.Rasterizer) {
	lo, hi := float64(top), float64(top+rows)
	var parts []part
	left, right := c.wide, 0
	for _, r := range k.rings {
		if r.top >= hi || r.bottom <= lo {
			continue
		}
		dots := between(r, lo, hi)
		if len(dots) < 3 {
			continue
		}
		x0, x1, y0, y1 := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
		for _, d := range dots {
			x0, x1 = min(x0, d.x), max(x1, d.x)
			y0, y1 = min(y0, d.y), max(y1, d.y)
		}
		p := part{dots, floor(x0), floor(x1) + 1, max(top, floor(y0)), min(top+rows, floor(y1)+1)}
		left, right = min(left, p.left), max(right, p.right)
		parts = append(parts, p)
	}
	left, right = max(left, 0), min(right, c.wide)
	if f := k.clip; f != nil {
		left, right = max(left, floor(f.left)), min(right, floor(f.right)+1)
	}
	var in []part
	for ; left < right; left += slab {
		end := min(left+slab, right)
		in = in[:0]
		up, down := top+rows, top
		for _, p := range parts {
			// What lies wholly to one side adds nothing here: a closed outline comes back as often as it goes.
			if p.left < end && p.right > left {
				in = append(in, p)
				up, down = min(up, p.up), max(down, p.down)
			}
		}
		if f := k.clip; f != nil {
			up, down = max(up, floor(f.top)), min(down, floor(f.bottom)+1)
		}
		if up < down {
			c.fill(k, in, image.Rect(left, up, end, down), top, pixels, mask, raster)
		}
	}
}

// part is a polygon cut to a band, and the dots it reaches over.
type part struct {
	dots                  []dot
	left, right, up, down int
}

// fill puts the union of polygons on a rectangle of the picture; top is the band's first row.
func (c *canvas) fill(k ink, parts []part, on image.Rectangle, top int, pixels []byte, mask *image.Alpha, raster *vector.Rasterizer) {
	w, h := on.Dx(), on.Dy()
	raster.Reset(w, h)
	raster.DrawOp = draw.Src
	for _, p := range parts {
		for i, d := range p.dots {
			x, y := float32(d.x-float64(on.Min.X)), float32(d.y-float64(on.Min.Y))
			if i == 0 {
				raster.MoveTo(x, y)
			} else {
				raster.LineTo(x, y)
			}
		}
		raster.ClosePath()
	}
	raster.Draw(mask, image.Rect(0, 0, w, h), image.Opaque, image.Point{})
	for y := range h {
		in := 1.0
		if k.clip != nil {
			in = covered(on.Min.Y+y, k.clip.top, k.clip.bottom)
		}
		line := pixels[3*(c.wide*(on.Min.Y+y-top)+on.Min.X):]
		for x, a := range mask.Pix[y*mask.Stride : y*mask.Stride+w] {
			if a == 0 {
				continue
			}
			a := uint32(a)
			if k.clip != nil {
				a = uint32(float64(a)*in*covered(on.Min.X+x, k.clip.left, k.clip.right) + 0.5)
			}
			for i, v := range k.colour {
				p := &line[3*x+i]
				*p = uint8((uint32(*p)*(255-a) + uint32(v)*a + 127) / 255)
			}
		}
	}
}

// covered is how much of dot number i lies between two places.
func covered(i int, from, to float64) float64 {
	return math.Max(0, math.Min(to, float64(i+1))-math.Max(from, float64(i)))
}

// floor is the dot a place lies in; a place far outside is held near the picture, so that it cannot overflow.
func floor(v float64) int { return int(math.Floor(math.Max(-1e9, math.Min(1e9, v)))) }

// chunks writes all it is given as data chunks.
type chunks struct{ out *bufio.Writer }

func (c chunks) Write(b []byte) (int, error) {
	if err := chunk(c.out, "IDAT", b); err != nil {
		return 0, err
	}
	return len(b), nil
}

// chunk writes one chunk: length, name, data and checksum. A failed write is kept by the buffered writer.
func chunk(out *bufio.Writer, name string, data []byte) error {
	var n [4]byte
	binary.BigEndian.PutUint32(n[:], uint32(len(data)))
	out.Write(n[:])
	out.WriteString(name)
	out.Write(data)
	sum := crc32.NewIEEE()
	io.WriteString(sum, name)
	sum.Write(data)
	binary.BigEndian.PutUint32(n[:], sum.Sum32())
	_, err := out.Write(n[:])
	return err
}
