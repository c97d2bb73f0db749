package sheet

import (
	"fmt"
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// Profile is a neck's section at one place.
type Profile struct {
	Name     string      // "nut", as it is to stand on the gauge, in the maker's language
	FromNut  unit.Length // along the centreline
	Width    unit.Length // of neck and board there
	Depth    unit.Length // of the neck without its board
	Board    unit.Length // thickness of the board on the centreline
	Radius   unit.Length // of the board's face; 0: flat
	Fullness float64     // of the back: 1 a straight V, 2 half an ellipse, 3 and more a full D
}

// back is the outline of the neck's back from edge to edge, glue line at y = 0, in mm: |2x/b|^n + (y/d)^n = 1.
func (p Profile) back() []drawing.Point {
	const steps = 120
	half, d, n := p.Width.MM()/2, p.Depth.MM(), p.Fullness
	if n <= 0 {
		n = 2
	}
	out := make([]drawing.Point, steps+1)
	for i := range out {
		sin, cos := math.Sincos(math.Pi * float64(i) / steps)
		x := half * math.Copysign(math.Pow(math.Abs(cos), 2/n), cos)
		y := d * math.Pow(math.Abs(sin), 2/n)
		if i == steps/2 {
			x = 0
		}
		if i == 0 || i == steps {
			y = 0
		}
		out[i] = pt(-x, -y)
	}
	return out
}

// face is the board's face from edge to edge over the glue line.
func (p Profile) face() []drawing.Point {
	const steps = 24
	half, t, r := p.Width.MM()/2, p.Board.MM(), p.Radius.MM()
	out := make([]drawing.Point, steps+1)
	for i := range out {
		x := half * (2*float64(i)/steps - 1)
		drop := 0.0
		if r > half {
			drop = x * x / (r + math.Sqrt(r*r-x*x))
		}
		out[i] = pt(x, t-drop)
	}
	return out
}

// Sizes of the gauges in mm.
const (
	gaugeSide = 14.0 // wood left beside and under the neck
	gaugeNext = 12.0 // between gauges
)

// NeckProfiles draws sections of a neck at full size as gauges to cut out and hold to its back: each a card whose hollow is the back's shape, its top
// edge the glue line under the board. The board is drawn over it dashed.
//
// The zero is the middle of the first gauge's glue line. Closed Polylines "gauge-1" and so on are the cards; "board-1" the boards' sections. Lines
// "depth-1" and so on are as deep as the neck.
func NeckProfiles(h Head, profiles []Profile) *drawing.Sheet {
	style, say := h.Style, h.Style.Say
	f := newFull(h, "Neck profile gauges")
	f.sheet.LayerNames = map[drawing.Layer]string{drawing.LayerWood: "outline", drawing.LayerMark: "board", drawing.LayerDatum: "datum", drawing.LayerDim: "dimensions", drawing.LayerNote: "notes"}
	rows := [][]string{{say("Place"), say("From the nut"), say("Width"), say("Depth without the board"), say("Depth over all"), say("Board radius")}}
	y, aside := 0.0, 0.0
	for _, p := range profiles {
		aside = math.Max(aside, p.Width.MM()/2+gaugeSide+6)
	}
	for i, p := range profiles {
		half, d := p.Width.MM()/2, p.Depth.MM()
		shift := func(pts []drawing.Point) []drawing.Point {
			out := make([]drawing.Point, len(pts))
			for k, q := range pts {
				out[k] = drawing.Point{X: q.X, Y: q.Y + mm(y)}
			}
			return out
		}
		wide := half + gaugeSide
		card := append(shift(p.back()), pt(wide, y), pt(wide, y-d-gaugeSide), pt(-wide, y-d-gaugeSide), pt(-wide, y))
		f.polygon(drawing.LayerWood, fmt.Sprintf("gauge-%d", i+1), "", card...)
		board := append(shift(p.face()), pt(half, y), pt(-half, y))
		f.polygon(drawing.LayerMark, fmt.Sprintf("board-%d", i+1), "", board...).Pen.Dash = []unit.Length{mm(2), mm(1)}
		f.line(drawing.LayerDatum, "", 0, y+p.Board.MM()+2, 0, y-d-gaugeSide)
		f.line(drawing.LayerDim, fmt.Sprintf("depth-%d", i+1), 0, y, 0, y-d)
		t := label(0, y-d-gaugeSide+4.2, middle, drawing.Middle, p.Name)
		t.Bold, t.Halo = true, drawing.Paper
		f.text("", t)
		radius, rounded := say("flat‖not round"), say("board flat")
		if p.Radius > 0 {
			radius, rounded = p.Radius.In(style), say("board %s radius", nb(p.Radius.In(style)))
		}
		over := p.Depth + p.Board
		for k, line := range []string{say("%s wide", nb(p.Width.Exact(style))), say("%s deep without the board", nb(p.Depth.Exact(style))), say("%s over all", nb(over.Exact(style))), rounded} {
			f.text("", label(aside, y-float64(k+1)*small*1.35, small, drawing.Start, line))
		}
		from := p.FromNut.In(style)
		rows = append(rows, []string{p.Name, from, p.Width.In(style), p.Depth.In(style), over.In(style), radius})
		if i+1 < len(profiles) {
			y -= d + gaugeSide + gaugeNext + profiles[i+1].Board.MM()
		}
	}
	f.sheet.Desc = say("Sections of the neck as hollow gauges, one under the other, from the nut to the heel.")
	f.sheet.Table = rows
	return f.done("the middle of the nut gauge's glue line", say("Glue the print to card or thin ply and cut along the hollow. Hold each gauge square to the neck at its place: light shows where wood has to go, and the gauge's straight edge lies level with the glue line when it is deep enough."),
		say("Dashed: the board, not cut out."))
}
