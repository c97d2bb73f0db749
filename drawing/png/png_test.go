package png_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	stdpng "image/png"
	"io"
	"math"
	"testing"

	"fairset/drawing"
	"fairset/drawing/pdf"
	"fairset/drawing/png"
	"fairset/internal/drawingtest"
	"fairset/unit"
)

const mm = unit.MM

func bytesOf(t testing.TB, p drawing.Page, dpi float64) []byte {
	t.Helper()
	b, err := png.Bytes(p, png.Options{DPI: dpi})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestDistancesInThePicture(t *testing.T) {
	s := &drawing.Sheet{Title: "ruled", Width: 140 * mm, Height: 130 * mm}
	for _, x := range []float64{20, 120} {
		s.Add(drawing.Item{Layer: drawing.LayerScore, Shape: drawing.Line{From: drawing.At(x, 10), To: drawing.At(x, 120)}})
	}
	for _, y := range []float64{15, 115} {
		s.Add(drawing.Item{Layer: drawing.LayerScore, Shape: drawing.Line{From: drawing.At(5, y), To: drawing.At(135, y)}})
	}
	for _, dpi := range []float64{150, 600} {
		b := bytesOf(t, s.Page(), dpi)
		g := drawingtest.Decode(t, b, dpi/25.4)
		xs, ys := g.Lines(65), g.LinesDown(70)
		if len(xs) != 2 || len(ys) != 2 {
			t.Fatalf("%v dpi: lines across %v, down %v", dpi, xs, ys)
		}
		// A tenth of a dot, and the picture's whole dots over its length.
		tol := 25.4 / dpi * 0.2
		for what, d := range map[string]float64{"across": xs[1] - xs[0] - 100, "down": ys[1] - ys[0] - 100, "left": xs[0] - 20, "top": ys[0] - 15} {
			if math.Abs(d) > tol {
				t.Errorf("%v dpi, %s: off by %.4f mm", dpi, what, d)
			}
		}
		// source: PNG specification 11.3.5.3: dots per metre in both directions and the unit.
		i := bytes.Index(b, []byte("pHYs"))
		if i < 0 {
			t.Fatal("no size")
		}
		if got := float64(binary.BigEndian.Uint32(b[i+4:])) * 0.0254; math.Abs(got-dpi) > 0.2 || b[i+12] != 1 {
			t.Errorf("the file says %v dpi, want %v", got, dpi)
		}
	}
}

// The picture is the one another program makes of the PDF, but for the smoothing of edges.
func TestLooksLikeThePDF(t *testing.T) {
	page := drawingtest.Everything().Page()
	page.Window, page.Place = drawing.Box{Left: 4 * mm, Bottom: 6 * mm, Right: 110 * mm, Top: 73 * mm}, drawing.At(3, 2)
	doc, err := pdf.Bytes([]drawing.Page{page}, pdf.Options{})
	if err != nil {
		t.Fatal(err)
	}
	const dpi = 150
	want := drawingtest.Render(t, drawingtest.File(t, "s.pdf", doc), 1, dpi, nil)
	got := drawingtest.Decode(t, bytesOf(t, page, dpi), dpi/25.4)
	if d := got.Rect.Size().Sub(want.Rect.Size()); d.X < -1 || d.X > 1 || d.Y < -1 || d.Y > 1 {
		t.Fatalf("the picture has %v dots, want %v", got.Rect.Size(), want.Rect.Size())
	}
	// Compare blocks of 4 by 4 dots, in which smoothing evens out.
	sum, far, n := 0.0, 0, 0
	for y := 0; y+4 <= min(got.Rect.Dy(), want.Rect.Dy()); y += 4 {
		for x := 0; x+4 <= min(got.Rect.Dx(), want.Rect.Dx()); x += 4 {
			a, b := 0.0, 0.0
			for j := range 4 {
				for i := range 4 {
					a += float64(got.GrayAt(x+i, y+j).Y)
					b += float64(want.GrayAt(x+i, y+j).Y)
				}
			}
			d := math.Abs(a-b) / 16
			sum += d
			n++
			if d > 60 {
				far++
			}
		}
	}
	t.Logf("blocks differ by %.2f of 255 on average, %d of %d by more than 60", sum/float64(n), far, n)
	if sum/float64(n) > 2 || far > n/200 {
		t.Errorf("blocks differ by %.2f of 255 on average, %d of %d by more than 60", sum/float64(n), far, n)
	}
}

// A pen's ink is even: no gaps or specks where pieces of a line meet.
func TestStrokesAreWhole(t *testing.T) {
	s := &drawing.Sheet{Title: "s", Width: 40 * mm, Height: 40 * mm}
	pen := drawing.Pen{Tone: drawing.Ink, Weight: 2 * mm, Dash: []unit.Length{}}
	s.Add(
		drawing.Item{Layer: drawing.LayerMark, Pen: pen, Shape: drawing.Circle{Centre: drawing.At(20, 20), Radius: 15 * mm}},
		drawing.Item{Layer: drawing.LayerMark, Pen: pen, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(12, 12), drawing.At(28, 12), drawing.At(14, 16), drawing.At(20, 27)}, Closed: true}},
	)
	img, err := stdpng.Decode(bytes.NewReader(bytesOf(t, s.Page(), 300)))
	if err != nil {
		t.Fatal(err)
	}
	r, g, b := drawing.Ink.RGB()
	at := func(x, y float64) color.RGBA {
		return color.RGBAModel.Convert(img.At(int(x*300/25.4), int((40-y)*300/25.4))).(color.RGBA)
	}
	ink := color.RGBA{r, g, b, 255}
	for i := range 720 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 360)
		for _, radius := range []float64{14.2, 15, 15.8} {
			if got := at(20+radius*cos, 20+radius*sin); got != ink {
				t.Fatalf("ring at %d half degrees, radius %v: %v", i, radius, got)
			}
		}
	}
	for _, p := range [][2]float64{{12, 12}, {28, 12}, {14, 16}, {20, 27}, {20, 12}, {17, 21.5}} {
		if got := at(p[0], p[1]); got != ink {
			t.Errorf("line at %v: %v", p, got)
		}
	}
	if got := at(17, 19); got != (color.RGBA{255, 255, 255, 255}) {
		t.Errorf("inside is %v", got)
	}
}

// The window cuts at its edge: a dot half inside is half as dark.
func TestWindowIsExact(t *testing.T) {
	s := &drawing.Sheet{Title: "s", Width: 100 * mm, Height: 100 * mm}
	s.Add(drawing.Item{Layer: drawing.LayerMark, Fill: drawing.Ink, Pen: drawing.Pen{None: true}, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(-5, -5), drawing.At(105, -5), drawing.At(105, 105), drawing.At(-5, 105)}, Closed: true}})
	// Ten dots to the millimetre; the window begins a quarter of a dot off.
	p := drawing.Page{Width: 20 * mm, Height: 20 * mm, Sheet: s, Window: drawing.Box{Left: 10 * mm, Bottom: 10 * mm, Right: 20 * mm, Top: 20 * mm}, Place: drawing.At(5.025, 5.05), ScaleX: 1, ScaleY: 1}
	img := drawingtest.Decode(t, bytesOf(t, p, 254), 10)
	// The grey of a share of ink on white. source: by hand, ink is 0x2b2a27, about 42 in grey.
	for _, c := range []struct {
		x, y  int
		share float64
	}{{49, 100, 0}, {50, 100, 0.75}, {51, 100, 1}, {149, 100, 1}, {150, 100, 0.25}, {151, 100, 0}, {100, 48, 0}, {100, 49, 0.5}, {100, 50, 1}, {100, 149, 0.5}, {100, 150, 0}} {
		if got, want := float64(img.GrayAt(c.x, c.y).Y), 255-c.share*(255-42); math.Abs(got-want) > 3 {
			t.Errorf("dot %d, %d is %v, want %v", c.x, c.y, got, want)
		}
	}
}

func TestLimits(t *testing.T) {
	vast := (&drawing.Sheet{Title: "s", Width: 2000 * mm, Height: 1500 * mm}).Page()
	for name, dpi := range map[string]float64{"too coarse": 5, "too fine": 3000, "not a number": math.NaN(), "too many dots": 300, "negative": -150} {
		var out bytes.Buffer
		err := png.Write(&out, vast, png.Options{DPI: dpi})
		var re *unit.RangeError
		if !errors.As(err, &re) || re.Field != "dpi" || re.Allowed(unit.Millimetre) == "" || out.Len() > 0 {
			t.Errorf("%s: wrote %d bytes, error %v", name, out.Len(), err)
		}
		t.Log(err)
	}
	if w, h, err := png.Size(vast, png.Options{DPI: 207}); err != nil || w*h > png.MaxPixels {
		t.Errorf("the largest that is offered: %d by %d, %v", w, h, err)
	}
	bad := drawingtest.Everything()
	bad.Add(drawing.Item{Layer: drawing.LayerMark, Shape: drawing.Line{To: drawing.Point{X: unit.Length(math.NaN())}}})
	var out bytes.Buffer
	if err := png.Write(&out, bad.Page(), png.Options{}); err == nil || out.Len() > 0 {
		t.Errorf("NaN: wrote %d bytes, error %v", out.Len(), err)
	}
	tiny := (&drawing.Sheet{Title: "s", Width: 0.01 * mm, Height: mm}).Page()
	if img, err := stdpng.Decode(bytes.NewReader(bytesOf(t, tiny, 10))); err != nil || img.Bounds() != image.Rect(0, 0, 1, 1) {
		t.Errorf("a speck of paper: %v", err)
	}
}

func TestSameBytes(t *testing.T) {
	p := drawingtest.Everything().Page()
	first := bytesOf(t, p, 100)
	if !bytes.Equal(bytesOf(t, p, 100), first) {
		t.Fatal("the same page gave other bytes")
	}
}

// Shapes far outside the paper, or of no size, do no harm.
func TestOddShapes(t *testing.T) {
	s := &drawing.Sheet{Title: "odd", Width: 20 * mm, Height: 20 * mm}
	add := func(shape drawing.Shape) {
		s.Add(drawing.Item{Layer: drawing.LayerEdge, Fill: drawing.Wood, Shape: shape})
	}
	add(drawing.Line{From: drawing.At(-9e5, -9e5), To: drawing.At(9e5, 9e5)})
	add(drawing.Circle{Centre: drawing.At(5, 5), Radius: 9e5 * mm})
	add(drawing.Circle{Centre: drawing.At(5, 5)})
	add(drawing.Polyline{})
	add(drawing.Path{})
	add(drawing.Arc{})
	add(drawing.Line{From: drawing.At(5, 5), To: drawing.At(5, 5)})
	add(drawing.Text{String: "no size"})
	add(drawing.Text{Size: 3000 * mm, String: "vast", Halo: drawing.Paper})
	s.Add(drawing.Item{Layer: drawing.LayerMark, Pen: drawing.Pen{Dash: []unit.Length{0, 0, 3 * mm}, Weight: 900000 * mm}, Shape: drawing.Line{From: drawing.At(0, 0), To: drawing.At(9, 9)}})
	if _, err := stdpng.Decode(bytes.NewReader(bytesOf(t, s.Page(), 100))); err != nil {
		t.Fatal(err)
	}
}

// Dashes that are off the picture are passed over without losing step: a line that begins a thousand marks and spaces to
// the left looks like one that begins at the edge.
func TestDashesKeepStep(t *testing.T) {
	picture := func(from drawing.Point) drawingtest.Gray {
		s := &drawing.Sheet{Title: "s", Width: 100 * mm, Height: 20 * mm}
		pen := drawing.Pen{Tone: drawing.Ink, Weight: mm, Dash: []unit.Length{3 * mm, 2 * mm, 1 * mm, 2 * mm}}
		s.Add(drawing.Item{Layer: drawing.LayerMark, Pen: pen, Shape: drawing.Line{From: from, To: drawing.At(3000, 10)}})
		return drawingtest.Decode(t, bytesOf(t, s.Page(), 127), 5)
	}
	// The pattern is 8 mm long. source: by hand.
	near, far := picture(drawing.At(0, 10)), picture(drawing.At(-8000, 10))
	for x := 10; x < near.Rect.Dx(); x++ { // the first dots have the round end of the near line
		if a, b := int(near.GrayAt(x, 50).Y), int(far.GrayAt(x, 50).Y); a-b > 3 || b-a > 3 {
			t.Fatalf("dot %d is %d and %d", x, a, b)
		}
	}
	if marks := len(near.Lines(10)); marks != 25 { // 12 whole patterns of two marks, and one mark more
		t.Errorf("%d marks in 100 mm, want 25", marks)
	}
}

func BenchmarkBodySheet(b *testing.B) {
	s := &drawing.Sheet{Title: "s", Width: 600 * mm, Height: 420 * mm}
	for i := range 500 {
		s.Add(drawing.Item{Layer: drawing.LayerEdge, Shape: drawing.Circle{Centre: drawing.At(300, 210), Radius: unit.Length(i) * 0.4 * mm}})
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := png.Write(io.Discard, s.Page(), png.Options{DPI: 100}); err != nil {
			b.Fatal(err)
		}
	}
}
