package pdf_test

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairset/drawing"
	"fairset/drawing/pdf"
	"fairset/internal/drawingtest"
	"fairset/unit"
)

const mm = unit.MM

var day = time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)

func bytesOf(t testing.TB, pages ...drawing.Page) []byte {
	t.Helper()
	b, err := pdf.Bytes(pages, pdf.Options{Date: day})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestSameBytes(t *testing.T) {
	p := drawingtest.Everything().Page()
	first := bytesOf(t, p, p)
	for range 3 {
		if !bytes.Equal(bytesOf(t, p, p), first) {
			t.Fatal("the same pages gave other bytes")
		}
	}
}

// Every page has the size of its paper. source of the tolerance: 0.01 mm, a tenth of a thin pen line.
func TestPaperSizes(t *testing.T) {
	sizes := [][2]float64{{120, 80}, {600, 420}, {2000, 1500}, {215.9, 279.4}, {33.333, 5000}}
	var pages []drawing.Page
	for _, s := range sizes {
		sheet := &drawing.Sheet{Title: "s", Width: unit.Length(s[0]) * mm, Height: unit.Length(s[1]) * mm}
		pages = append(pages, sheet.Page())
	}
	file := drawingtest.File(t, "s.pdf", bytesOf(t, pages...))
	out := drawingtest.Run(t, "pdfinfo", "-box", "-f", "1", "-l", "99", file)
	boxes := regexp.MustCompile(`Page +\d+ MediaBox: +0\.00 +0\.00 +([0-9.]+) +([0-9.]+)`).FindAllStringSubmatch(out, -1)
	if len(boxes) != len(sizes) {
		t.Fatalf("pdfinfo finds %d pages, want %d:\n%s", len(boxes), len(sizes), out)
	}
	for i, b := range boxes {
		for axis := range 2 {
			v, err := strconv.ParseFloat(b[1+axis], 64)
			if got := v * 25.4 / 72; err != nil || math.Abs(got-sizes[i][axis]) > 0.01 {
				t.Errorf("page %d side %d is %.4f mm, want %.4f", i+1, axis, got, sizes[i][axis])
			}
		}
	}
	// The file's own figures are finer than pdfinfo prints.
	for _, b := range regexp.MustCompile(`/MediaBox \[0 0 (\S+) (\S+)\]`).FindAllSubmatch(bytesOf(t, pages...), -1) {
		if strings.ContainsAny(string(b[1])+string(b[2]), "eE-") {
			t.Errorf("box %s", b[0])
		}
	}
}

func TestMetadata(t *testing.T) {
	file := drawingtest.File(t, "s.pdf", bytesOf(t, drawingtest.Everything().Page()))
	out := drawingtest.Run(t, "pdfinfo", "-isodates", file)
	for field, want := range map[string]string{"Title": `A "test" (sheet) & \ more ½`, "Subject": "All shapes it's made of → ä",
		"CreationDate": "2026-03-04T05:06:07Z", "ModDate": "2026-03-04T05:06:07Z", "Pages": "1"} {
		if got := drawingtest.Field(out, field); got != want {
			t.Errorf("%s = %q, want %q", field, got, want)
		}
	}
	out = drawingtest.Run(t, "pdffonts", file)
	for _, name := range []string{"+LiberationSans ", "+LiberationSans-Bold "} {
		found := false
		for line := range strings.Lines(out) {
			// Columns: emb sub uni.
			found = found || strings.Contains(line, name) && strings.Contains(line, "yes yes yes")
		}
		if !found {
			t.Errorf("no embedded subset %q with its letters' meaning:\n%s", name, out)
		}
	}
	b, err := pdf.Bytes([]drawing.Page{drawingtest.Everything().Page()}, pdf.Options{Title: "Own", Desc: "Words"})
	if err != nil {
		t.Fatal(err)
	}
	out = drawingtest.Run(t, "pdfinfo", drawingtest.File(t, "s.pdf", b))
	if drawingtest.Field(out, "Title") != "Own" || drawingtest.Field(out, "Subject") != "Words" || drawingtest.Field(out, "CreationDate") != "" {
		t.Errorf("own title, words and no date:\n%s", out)
	}
}

func TestWordsReadBack(t *testing.T) {
	s := drawingtest.Everything()
	const foreign = "日本 and \U0001f3b8"
	s.Add(drawing.Item{Layer: drawing.LayerNote, Shape: drawing.Text{At: drawing.At(20, 3), Size: 3 * mm, String: foreign}})
	file := drawingtest.File(t, "s.pdf", bytesOf(t, s.Page()))
	out := drawingtest.Run(t, "pdftotext", "-layout", file, "-")
	for _, want := range []string{drawingtest.Words, "7.25 mm", "at the end", foreign} {
		if n := strings.Count(out, want); n != 1 {
			t.Errorf("%q is %d times in the file, want once:\n%s", want, n, out)
		}
	}
	// Each word lies on the page where its text stands. source: the sheet's own coordinates.
	out = drawingtest.Run(t, "pdftotext", "-bbox", file, "-")
	word := regexp.MustCompile(`<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">(.*)</word>`)
	found := 0
	for _, m := range word.FindAllStringSubmatch(out, -1) {
		var v [4]float64
		for i := range v {
			f, err := strconv.ParseFloat(m[1+i], 64)
			if err != nil {
				t.Fatal(err)
			}
			v[i] = f * 25.4 / 72
		}
		if v[0] < 0 || v[1] < 0 || v[2] > 120 || v[3] > 80 {
			t.Errorf("%q reaches out of the page: %v", m[5], v)
		}
		if m[5] == "½" {
			found++
			// It starts at x = 5 and its baseline is 60 mm up, 20 down.
			if math.Abs(v[0]-5) > 0.1 || v[1] > 20 || v[3] < 20 {
				t.Errorf("½ is at %v", v)
			}
		}
		if m[5] == "end" {
			found++
			if math.Abs(v[2]-115) > 0.1 {
				t.Errorf("the words that end at 115 mm end at %.2f", v[2])
			}
		}
	}
	if found != 2 {
		t.Errorf("found %d of 2 words:\n%s", found, out)
	}
}

func ruled(length float64) *drawing.Sheet {
	s := &drawing.Sheet{Title: "ruled", Width: unit.Length(length+40) * mm, Height: 130 * mm}
	for _, x := range []float64{20, 20 + length} {
		s.Add(drawing.Item{Layer: drawing.LayerScore, Pen: drawing.Pen{Weight: 0.3 * mm}, Shape: drawing.Line{From: drawing.At(x, 10), To: drawing.At(x, 120)}})
	}
	for _, y := range []float64{15, 115} {
		s.Add(drawing.Item{Layer: drawing.LayerScore, Pen: drawing.Pen{Weight: 0.3 * mm}, Shape: drawing.Line{From: drawing.At(5, y), To: drawing.At(length+35, y)}})
	}
	return s
}

// 100 mm, and a long board's 1000 mm, measured in the picture another program makes at 600 dpi.
func TestDistancesOnPaper(t *testing.T) {
	for _, length := range []float64{100, 1000} {
		s := ruled(length)
		file := drawingtest.File(t, "s.pdf", bytesOf(t, s.Page()))
		band := drawingtest.Render(t, file, 1, 600, []float64{0, 65, length + 40, 1})
		xs := band.Lines(0.5)
		if len(xs) != 2 {
			t.Fatalf("%d lines in the row, want 2: %v", len(xs), xs)
		}
		t.Logf("%v mm measures %.4f mm", length, xs[1]-xs[0])
		if d := xs[1] - xs[0]; math.Abs(d-length) > 0.02 || math.Abs(xs[0]-20) > 0.05 {
			t.Errorf("%v mm measures %.4f mm, from %.4f", length, d, xs[0])
		}
		ys := drawingtest.Render(t, file, 1, 600, []float64{50, 0, 1, 130}).LinesDown(0.5)
		if len(ys) != 2 || math.Abs(ys[1]-ys[0]-100) > 0.02 || math.Abs(ys[0]-15) > 0.05 {
			t.Errorf("lines at %v mm down, want 15 and 115", ys)
		}
	}
}

// A window shows its part exactly where it should, and nothing beyond its edge.
func TestWindow(t *testing.T) {
	s := ruled(100)
	over := &drawing.Sheet{Title: "over", Width: 90 * mm, Height: 90 * mm}
	over.Add(drawing.Item{Layer: drawing.LayerNote, Shape: drawing.Text{At: drawing.At(3, 3), Size: 4 * mm, String: "B2"}})
	p := drawing.Page{Width: 90 * mm, Height: 90 * mm, Sheet: s, Window: drawing.Box{Left: 10 * mm, Bottom: 60 * mm, Right: 60 * mm, Top: 120 * mm},
		Place: drawing.At(15, 12), ScaleX: 1.02, ScaleY: 0.99, Over: over}
	file := drawingtest.File(t, "s.pdf", bytesOf(t, p))
	g := drawingtest.Render(t, file, 1, 600, nil)
	// The upright line at 20 lies at 15 + 10*1.02 on the page. source: by hand.
	xs := g.Lines(90 - 40)
	if len(xs) != 1 || math.Abs(xs[0]-25.2) > 0.02 {
		t.Errorf("upright lines at %v, want 25.2", xs)
	}
	// The level line at 115 lies at 12 + 55*0.99 = 66.45 up; it is cut off at 15 and at 15 + 50*1.02 = 66.
	ys := g.LinesDown(50)
	if len(ys) != 1 || math.Abs(ys[0]-(90-66.45)) > 0.02 {
		t.Errorf("level lines at %v, want %v", ys, 90-66.45)
	}
	row := int((90 - 66.45) * g.PerMM)
	left, right := -1, -1
	for x := range g.Rect.Dx() {
		if g.GrayAt(x, row).Y < 128 {
			if left < 0 {
				left = x
			}
			right = x
		}
	}
	if l, r := float64(left)/g.PerMM, float64(right+1)/g.PerMM; math.Abs(l-15) > 0.05 || math.Abs(r-66) > 0.05 {
		t.Errorf("the line is cut at %.3f and %.3f, want 15 and 66", l, r)
	}
	if out := drawingtest.Run(t, "pdftotext", file, "-"); strings.TrimSpace(out) != "B2" {
		t.Errorf("words %q", out)
	}
}

func TestNothingIsWrittenOnError(t *testing.T) {
	bad := drawingtest.Everything()
	bad.Add(drawing.Item{Layer: drawing.LayerMark, Shape: drawing.Line{To: drawing.Point{X: unit.Length(math.NaN())}}})
	vast := &drawing.Sheet{Title: "vast", Width: 6000 * mm, Height: mm}
	good := drawingtest.Everything().Page()
	flat := good
	flat.Window.Top = 0
	for name, pages := range map[string][]drawing.Page{"none": nil, "NaN": {good, bad.Page()}, "vast": {vast.Page()}, "no sheet": {{}}, "flat window": {flat}} {
		var out bytes.Buffer
		if err := pdf.Write(&out, pages, pdf.Options{}); err == nil || out.Len() > 0 {
			t.Errorf("%s: wrote %d bytes, error %v", name, out.Len(), err)
		}
	}
	if err := pdf.Write(failing{}, []drawing.Page{good}, pdf.Options{}); err == nil {
		t.Error("a full disk is no error")
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, fmt.Errorf("disk full") }

// Pages do not pile up in memory: they are written as they come.
func TestPagesAreWrittenAsTheyCome(t *testing.T) {
	var out bytes.Buffer
	w := pdf.New(&out, pdf.Options{})
	s := drawingtest.Everything()
	for range 50 {
		if err := w.Add(s.Page()); err != nil {
			t.Fatal(err)
		}
	}
	before := out.Len()
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if before < 50*500 {
		t.Errorf("only %d bytes were out before the end", before)
	}
	file := drawingtest.File(t, "s.pdf", out.Bytes())
	if got := drawingtest.Field(drawingtest.Run(t, "pdfinfo", file), "Pages"); got != "50" {
		t.Errorf("%s pages, want 50", got)
	}
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"", "plain", "(<\\>)", "\x00\x1f\xff", "½ → 日", "\U0001f3b8"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s := &drawing.Sheet{Title: text, Desc: text, Width: 10 * mm, Height: 10 * mm}
		s.Add(drawing.Item{Layer: drawing.LayerNote, Fill: drawing.Tone(text), Shape: drawing.Text{At: drawing.At(1, 5), Size: mm, String: text, Halo: drawing.Paper, Bold: len(text)%2 == 0}})
		b := bytesOf(t, s.Page())
		if !bytes.HasPrefix(b, []byte("%PDF-1.7\n")) || !bytes.HasSuffix(b, []byte("%%EOF\n")) {
			t.Fatalf("%q: no whole file", text)
		}
	})
}
