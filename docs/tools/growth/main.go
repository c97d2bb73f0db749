//go:build unix

// Command growth draws how the time and the factor's entries of the top's plate grow with its unknowns, and writes the plot and the
// table of the method page. Times are processor time, which a busy machine lengthens less than the clock's.
//
//	go run ./docs/tools/growth
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"fairset/craft/soundboard"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/unit"
)

func main() {
	log.SetFlags(0)
	out := flag.String("out", "docs/method", "folder to write soundboard-growth.svg and soundboard-growth.md to")
	rounds := flag.Int("rounds", 2, "rounds for each grid, of which the quickest counts")
	flag.Parse()
	if *rounds < 1 {
		log.Fatalf("growth: -rounds %d: must be 1 or more", *rounds)
	}
	var rows []row
	for _, cells := range []int{16, 24, 32, 40, 48, 64, 80, 100} {
		r, err := measure(cells, *rounds)
		if err != nil {
			log.Fatalf("growth: %d cells: %v", cells, err)
		}
		rows = append(rows, r)
	}
	s := plot(rows)
	b, err := svg.Bytes(&s, svg.Options{File: true, ID: "growth"})
	if err != nil {
		log.Fatalf("growth: %v", err)
	}
	write(filepath.Join(*out, "soundboard-growth.svg"), string(b))
	write(filepath.Join(*out, "soundboard-growth.md"), table(rows, *rounds))
}

func write(name, text string) {
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		log.Fatalf("growth: %v", err)
	}
}

type row struct {
	cells, unknowns, entries int
	first, again             float64 // seconds: the grid and a load; the load after a brace moved
}

// series are what is drawn over the unknowns.
var series = []struct {
	name string
	of   func(row) float64
	tone drawing.Tone
	mark func(x, y float64) drawing.Shape
}{
	{"factor's entries, thousands", func(r row) float64 { return float64(r.entries) / 1000 }, drawing.Accent, ring},
	{"first answer, ms", func(r row) float64 { return r.first * 1000 }, drawing.Goal, square},
	{"after a brace moved, ms", func(r row) float64 { return r.again * 1000 }, drawing.Band6, corner},
}

// cpu is the processor time taken so far, in seconds, by all threads together.
func cpu() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		log.Fatalf("growth: %v", err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

func measure(cells, rounds int) (row, error) {
	m, braces := top()
	ctx := context.Background()
	req := soundboard.Request{Load: soundboard.Load{Moment: 9, Pull: 690}}
	out := row{cells: cells, first: math.Inf(1), again: math.Inf(1)}
	for range rounds {
		t0 := cpu()
		p, err := soundboard.Prepare(ctx, m, soundboard.Options{Cells: cells, Single: true})
		if err != nil {
			return out, err
		}
		r, err := p.Solve(ctx, braces, req)
		if err != nil {
			return out, err
		}
		out.first = math.Min(out.first, cpu()-t0)
		out.unknowns, out.entries = r.Unknowns, r.Entries
		moved := append([]soundboard.Brace(nil), braces...)
		for i := range 2 * rounds {
			moved[2].To.X += 1e-3 * unit.Length(1-2*(i%2))
			t0 := cpu()
			if _, err := p.Solve(ctx, moved, req); err != nil {
				return out, err
			}
			out.again = math.Min(out.again, cpu()-t0)
		}
	}
	return out, nil
}

// top is a braced top of a middling size; the wood's constants are round figures for spruce.
func top() (soundboard.Model, []soundboard.Brace) {
	wood := soundboard.Material{E1: 10.5e9, E2: 0.82e9, E3: 0.46e9, Nu12: 0.37, Nu13: 0.45, Nu23: 0.45, G12: 0.7e9, G13: 0.65e9, G23: 0.04e9, Density: 410}
	bar := soundboard.Material{E1: 10.5e9, E2: 0.46e9, E3: 0.82e9, Nu12: 0.45, Nu13: 0.37, Nu23: 0.25, G12: 0.65e9, G13: 0.7e9, G23: 0.04e9, Density: 410}
	m := soundboard.Model{Holes: []soundboard.Hole{{Centre: soundboard.Point{X: 0.318}, Radius: 0.046}}, Thickness: 2.7e-3, Material: wood, Grain: [2]float64{1, 0}, Edge: soundboard.Clamped,
		Bridge: &soundboard.Bridge{Centre: soundboard.Point{X: 0.162}, Length: 0.032, Width: 0.148}}
	half := [][2]float64{{0, -60}, {0, 60}, {38, 128}, {100, 168}, {160, 176}, {225, 150}, {285, 116}, {335, 112}, {395, 124}, {445, 96}, {462, 40}}
	for _, p := range half {
		m.Outline = append(m.Outline, soundboard.Point{X: unit.Length(p[0] / 1000), Y: unit.Length(p[1] / 1000)})
	}
	for i := len(half) - 1; i > 1; i-- {
		m.Outline = append(m.Outline, soundboard.Point{X: unit.Length(half[i][0] / 1000), Y: unit.Length(-half[i][1] / 1000)})
	}
	b := func(name string, x0, y0, x1, y1 unit.Length, w, h unit.Length) soundboard.Brace {
		return soundboard.Brace{Name: name, From: soundboard.Point{X: x0, Y: y0}, To: soundboard.Point{X: x1, Y: y1}, Width: w, Heights: []soundboard.Station{{Height: h}}, Material: bar}
	}
	return m, []soundboard.Brace{
		b("X, bass", 0.070, 0.130, 0.335, -0.092, 8e-3, 14e-3),
		b("X, treble", 0.070, -0.130, 0.335, 0.092, 8e-3, 14e-3),
		b("tone bar", 0.120, -0.045, 0.055, 0.092, 6.5e-3, 11e-3),
		b("upper transverse", 0.386, -0.105, 0.386, 0.105, 12e-3, 14e-3),
	}
}

// fit is the straight line through the logarithms, by least squares: y = scale · x^power. The smallest grid is left out of it: there, what does
// not grow still tells.
func fit(rows []row, of func(row) float64) (scale, power float64) {
	var n, sx, sy, sxx, sxy float64
	for _, r := range rows[1:] {
		x, y := math.Log(float64(r.unknowns)), math.Log(of(r))
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	power = (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return math.Exp((sy - power*sx) / n), power
}

func table(rows []row, rounds int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Growth with the unknowns\n\nMade by `go run ./docs/tools/growth`: one grid, one load, processor time (all threads together), the least of %d rounds; see [soundboard.md](soundboard.md).\n\n", rounds)
	b.WriteString("| cells | unknowns | entries of the factor | first answer, ms | after a brace moved, ms |\n|---:|---:|---:|---:|---:|\n")
	for _, r := range rows {
		fmt.Fprintf(&b, "| %d | %d | %d | %.0f | %.0f |\n", r.cells, r.unknowns, r.entries, r.first*1000, r.again*1000)
	}
	b.WriteString("\nFitted, unknowns to the power of")
	for i, s := range series {
		_, p := fit(rows, s.of)
		fmt.Fprintf(&b, "%s %.2f for %s", []string{"", ",", ","}[i], p, s.name[:strings.Index(s.name, ",")])
	}
	b.WriteString(".\n")
	return b.String()
}

// The plot, in millimetres of paper.
const (
	width, height            = 170.0, 112.0
	left, bottom, wide, tall = 22.0, 20.0, 140.0, 82.0
	leastX, mostX            = 800.0, 40e3
	leastY, mostY            = 3.0, 30e3
	letters                  = 3.7
)

func px(v float64) float64 { return left + wide*math.Log(v/leastX)/math.Log(mostX/leastX) }
func py(v float64) float64 { return bottom + tall*math.Log(v/leastY)/math.Log(mostY/leastY) }

func plot(rows []row) drawing.Sheet {
	s := drawing.Sheet{Title: "Growth with the unknowns", Width: width * unit.MM, Height: height * unit.MM,
		Desc: "Entries of the factor, time of the first answer and time after one brace moved over the number of unknowns, both axes logarithmic, with fitted straight lines. The same numbers are in soundboard-growth.md."}
	words := func(x, y float64, anchor drawing.Anchor, text string) *drawing.Text {
		t := &drawing.Text{At: drawing.At(x, y), Size: letters * unit.MM, Anchor: anchor, String: text}
		return t
	}
	add := func(l drawing.Layer, shape drawing.Shape, pen drawing.Pen, fill drawing.Tone) {
		s.Add(drawing.Item{Layer: l, Shape: shape, Pen: pen, Fill: fill})
	}
	s.Add(drawing.Item{Layer: drawing.LayerPaper, Fill: drawing.Paper, Pen: drawing.Pen{None: true},
		Shape: drawing.Polyline{Closed: true, Points: []drawing.Point{drawing.At(0, 0), drawing.At(width, 0), drawing.At(width, height), drawing.At(0, height)}}})
	grid := drawing.Pen{Tone: drawing.Band2, Weight: 0.2 * unit.MM, Dash: []unit.Length{}}
	for _, v := range []float64{1000, 2000, 5000, 10e3, 20e3, 40e3} {
		add(drawing.LayerDatum, drawing.Line{From: drawing.At(px(v), bottom), To: drawing.At(px(v), bottom+tall)}, grid, "")
		add(drawing.LayerNote, *words(px(v), bottom-5.5, drawing.Middle, fmt.Sprintf("%.0f", v)), drawing.Pen{}, "")
	}
	for _, v := range []float64{10, 100, 1000, 10e3} {
		add(drawing.LayerDatum, drawing.Line{From: drawing.At(left, py(v)), To: drawing.At(left+wide, py(v))}, grid, "")
		add(drawing.LayerNote, *words(left-2, py(v)-1.3, drawing.End, fmt.Sprintf("%.0f", v)), drawing.Pen{}, "")
	}
	add(drawing.LayerMark, drawing.Polyline{Closed: true, Points: []drawing.Point{drawing.At(left, bottom), drawing.At(left+wide, bottom), drawing.At(left+wide, bottom+tall), drawing.At(left, bottom+tall)}}, drawing.Pen{}, "")
	add(drawing.LayerNote, *words(left+wide/2, bottom-13, drawing.Middle, "unknowns"), drawing.Pen{}, "")
	s.Table = [][]string{{"unknowns"}}
	for _, c := range series {
		s.Table[0] = append(s.Table[0], c.name)
	}
	for _, r := range rows {
		line := []string{fmt.Sprint(r.unknowns)}
		for _, c := range series {
			line = append(line, fmt.Sprintf("%.3g", c.of(r)))
		}
		s.Table = append(s.Table, line)
	}
	for i, c := range series {
		scale, power := fit(rows, c.of)
		at := func(n float64) drawing.Point { return drawing.At(px(n), py(scale*math.Pow(n, power))) }
		pen := drawing.Pen{Tone: c.tone, Weight: 0.4 * unit.MM, Dash: []unit.Length{}}
		lo, hi := float64(rows[0].unknowns), float64(rows[len(rows)-1].unknowns)
		add(drawing.LayerGap, drawing.Line{From: at(lo), To: at(hi)}, pen, "")
		for _, r := range rows {
			add(drawing.LayerGap, c.mark(px(float64(r.unknowns)), py(c.of(r))), pen, drawing.Paper)
		}
		y := bottom + tall - 6 - 6*float64(i)
		add(drawing.LayerGap, drawing.Line{From: drawing.At(left+4, y+1.2), To: drawing.At(left+14, y+1.2)}, pen, "")
		add(drawing.LayerGap, c.mark(left+9, y+1.2), pen, drawing.Paper)
		t := words(left+17, y, drawing.Start, fmt.Sprintf("%s: power %.2f", c.name, power))
		t.Halo = drawing.Paper
		add(drawing.LayerNote, *t, drawing.Pen{}, "")
	}
	return s
}

func ring(x, y float64) drawing.Shape {
	return drawing.Circle{Centre: drawing.At(x, y), Radius: 1.2 * unit.MM}
}

func square(x, y float64) drawing.Shape {
	return drawing.Polyline{Closed: true, Points: []drawing.Point{drawing.At(x-1.1, y-1.1), drawing.At(x+1.1, y-1.1), drawing.At(x+1.1, y+1.1), drawing.At(x-1.1, y+1.1)}}
}

func corner(x, y float64) drawing.Shape {
	return drawing.Polyline{Closed: true, Points: []drawing.Point{drawing.At(x-1.4, y-1.1), drawing.At(x+1.4, y-1.1), drawing.At(x, y+1.5)}}
}
