// Package drawingtest holds what the tests of the writers share: a sheet with one of everything, and other
// programs to read the output back.
package drawingtest

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fairset/drawing"
	"fairset/unit"
)

const mm = unit.MM

// Words are letters outside ASCII that a sheet may carry.
const Words = "½ ± ä 22.5° — 3 × 4 → x ≤ 7"

// Everything is a sheet 120 mm by 80 mm with one of each shape.
func Everything() *drawing.Sheet {
	s := &drawing.Sheet{Title: `A "test" (sheet) & \ more ½`, Desc: "All shapes it's made of → ä", Width: 120 * mm, Height: 80 * mm, Origin: drawing.At(10, 10)}
	s.Add(
		drawing.Item{Layer: drawing.LayerPaper, Fill: drawing.Paper, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(0, 0), drawing.At(120, 0), drawing.At(120, 80), drawing.At(0, 80)}, Closed: true}, Pen: drawing.Pen{None: true}},
		drawing.Item{Layer: drawing.LayerWood, Name: "body", Fill: drawing.Wood, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(10, 10), drawing.At(50, 10), drawing.At(30, 30.5)}, Closed: true}},
		drawing.Item{Layer: drawing.LayerWood, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(1, 1), drawing.At(2, 2)}}, Pen: drawing.Pen{Tone: drawing.Faint, Weight: 0.1 * mm}},
		drawing.Item{Layer: drawing.LayerWood, Fill: drawing.Band1, Shape: drawing.Circle{Centre: drawing.At(60, 20), Radius: 3.5 * mm}, Pen: drawing.Pen{None: true}},
		drawing.Item{Layer: drawing.LayerDrill, Shape: drawing.Circle{Centre: drawing.At(75, 20), Radius: 5 * mm}},
		drawing.Item{Layer: drawing.LayerEdge, Name: "edge", Shape: drawing.Line{From: drawing.At(0, 0), To: drawing.At(120, 80)}},
		drawing.Item{Layer: drawing.LayerEdge, Shape: drawing.Line{From: drawing.At(0, 80), To: drawing.At(120, 0)}, Pen: drawing.Pen{Dash: []unit.Length{}}},
		drawing.Item{Layer: drawing.LayerMark, Name: "arc", Shape: drawing.Arc{Centre: drawing.At(60, 40), Radius: 10 * mm, Start: 0, Sweep: 90 * unit.Degree}},
		drawing.Item{Layer: drawing.LayerMark, Shape: drawing.Arc{Centre: drawing.At(60, 40), Radius: 12 * mm, Start: 180 * unit.Degree, Sweep: -90 * unit.Degree}},
		drawing.Item{Layer: drawing.LayerMark, Name: "path", Shape: drawing.Path{Steps: []drawing.Step{{Verb: drawing.MoveTo, To: drawing.At(70, 40)},
			{Verb: drawing.CurveTo, A: drawing.At(75, 50), B: drawing.At(80, 50), To: drawing.At(85, 40)}, {Verb: drawing.LineTo, To: drawing.At(80, 30)}, {Verb: drawing.Close}}}},
		drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Hatch{Outline: []drawing.Point{drawing.At(90, 10), drawing.At(100, 10), drawing.At(100, 20), drawing.At(90, 20)}, Turn: 45 * unit.Degree, Spacing: 2 * mm}},
		drawing.Item{Layer: drawing.LayerGap, Name: "gap", Shape: drawing.Dimension{From: drawing.At(20, 40), To: drawing.At(20, 47.25), Along: 90 * unit.Degree, Through: drawing.At(28, 0), Arrow: 1.7 * mm,
			Label: drawing.Text{At: drawing.At(30, 43), Size: 4 * mm, String: "7.25 mm", Bold: true, Halo: drawing.Paper}}},
		drawing.Item{Layer: drawing.LayerNote, Name: `odd "name"`, Shape: drawing.Text{At: drawing.At(92, 62), Size: 4 * mm, Anchor: drawing.Middle, Turn: 20 * unit.Degree, String: "a < b && c > 'd' (°) \\"}},
		drawing.Item{Layer: drawing.LayerNote, Shape: drawing.Text{At: drawing.At(5, 60), Size: 4 * mm, String: Words, Halo: drawing.Paper}},
		drawing.Item{Layer: drawing.LayerNote, Fill: drawing.Accent, Shape: drawing.Text{At: drawing.At(115, 5), Size: 4 * mm, Anchor: drawing.End, Bold: true, String: "at the end"}},
	)
	return s
}

// Need skips the test unless that program is installed.
func Need(t testing.TB, program string) {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		t.Skipf("%s is not installed", program)
	}
}

// Run runs a program and returns what it prints.
func Run(t testing.TB, program string, args ...string) string {
	t.Helper()
	Need(t, program)
	var stderr bytes.Buffer
	cmd := exec.Command(program, args...)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", program, args, err, stderr.String())
	}
	if stderr.Len() > 0 {
		t.Errorf("%s %q complains: %s", program, args, stderr.String())
	}
	return string(out)
}

// File keeps bytes as a file for another program.
func File(t testing.TB, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// Gray is a picture of one page, row 0 at the top.
type Gray struct {
	*image.Gray
	PerMM float64
}

// Render draws a page of a PDF file (the first is 1) as poppler sees it. Part is the rectangle to draw in
// millimetres from the page's upper left corner (left, top, width, height); nil is the whole page.
func Render(t testing.TB, file string, page, dpi int, part []float64) Gray {
	t.Helper()
	perMM := float64(dpi) / 25.4
	out := filepath.Join(t.TempDir(), "page")
	n := strconv.Itoa(page)
	args := []string{"-r", strconv.Itoa(dpi), "-f", n, "-l", n, "-gray", "-singlefile", "-png"}
	for i, flag := range []string{"-x", "-y", "-W", "-H"} {
		if part != nil {
			args = append(args, flag, strconv.Itoa(int(math.Round(part[i]*perMM))))
		}
	}
	Run(t, "pdftoppm", append(args, file, out)...)
	b, err := os.ReadFile(out + ".png")
	if err != nil {
		t.Fatal(err)
	}
	return Decode(t, b, perMM)
}

// Decode reads a PNG picture.
func Decode(t testing.TB, b []byte, perMM float64) Gray {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	g := image.NewGray(img.Bounds())
	for y := range g.Rect.Dy() {
		for x := range g.Rect.Dx() {
			g.Set(x, y, img.At(x, y))
		}
	}
	return Gray{g, perMM}
}

// Lines finds the dark lines along one row (y mm from the top) and returns the middle of each in millimetres from
// the left, weighted by darkness, so finer than a pixel.
func (g Gray) Lines(yMM float64) []float64 {
	y := int(yMM * g.PerMM)
	return lines(g.Rect.Dx(), g.PerMM, func(x int) float64 { return 255 - float64(g.GrayAt(x, y).Y) })
}

// LinesDown is Lines along a column.
func (g Gray) LinesDown(xMM float64) []float64 {
	x := int(xMM * g.PerMM)
	return lines(g.Rect.Dy(), g.PerMM, func(y int) float64 { return 255 - float64(g.GrayAt(x, y).Y) })
}

func lines(n int, perMM float64, dark func(int) float64) []float64 {
	var out []float64
	sum, moment := 0.0, 0.0
	for i := range n + 1 {
		d := 0.0
		if i < n {
			d = dark(i)
		}
		if d > 12 {
			sum += d
			moment += d * (float64(i) + 0.5)
			continue
		}
		if sum > 0 {
			out = append(out, moment/sum/perMM)
		}
		sum, moment = 0, 0
	}
	return out
}

// Field returns what follows "name:" in lines of a program's output.
func Field(out, name string) string {
	for line := range strings.Lines(out) {
		if rest, ok := strings.CutPrefix(line, name+":"); ok {
			return strings.TrimSpace(rest)
		}
	}
	return ""
}
