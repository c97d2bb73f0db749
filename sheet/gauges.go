package sheet

import (
	"math"

	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// GaugeInput is what gauges are cut for. A radius of 0 is flat.
type GaugeInput struct {
	Arc       unit.Length // of the body's end, in plan
	HeelWidth unit.Length // of the widest shoulders that sit on it

	// BoardKnown says that the design describes its board; without it no gauge is drawn for one.
	BoardKnown         bool
	BoardNut, BoardEnd unit.Length // radii of the board's face
	WidthNut, WidthEnd unit.Length // of the board there; 0: not known
	DomeKnown          bool
	Dome               unit.Length // of the top

	// What the seat asks for; zeros where nothing is taken.
	Flatten, Flat unit.Length // off the body's end, and how wide the flat on it then is
	Hollow        unit.Length // out of the shoulders, beside the tenon
}

// Sizes of a gauge in mm.
const (
	gaugeHold  = 17.0  // past the wood at each end, to hold it by
	gaugePlain = 70.0  // long where the wood's width is not known
	gaugeDome  = 180.0 // long for the top
	gaugeGap   = 8.0   // between two of them
)

// gauge is one template: its lower edge is the curve.
type gauge struct {
	name   string
	hollow bool      // lies on wood that bulges; else bulges itself, for wood that is hollow
	where  unit.Text // "the body's end"
	radius unit.Length
	wood   unit.Length // width of the wood it is for, marked on it; 0: not known
	long   float64     // mm
	flat   unit.Length // straight in the middle, as wide as that; 0: curved all along
}

// Gauges draws the gauges that a guitar's curves are tested with, at full size: two for the arc of the body's end, one to
// lay on the end itself and one for the shoulders hollowed to fit it; for the board, at the nut and at its end where they
// differ; for the dome of the top. Where a surface is flat, the notes say that a straight edge serves.
//
// The curve of each is an Arc named "gauge-arc-hollow", "gauge-arc-bulging", "gauge-board-nut", "gauge-board-end" (or
// "gauge-board" for both) and "gauge-dome"; where the body's end is to be flattened the bulging one is two Arcs and a Line with "-flat". Its other three sides are a Polyline of the same name with "-back". Layer cut
// is what to cut. The zero is the middle of the first curve. With everything flat there is nothing to cut, and ok is false.
func Gauges(h Head, in GaugeInput) (s *drawing.Sheet, ok bool) {
	f := newFull(h, "Gauges for arc, board and dome")
	var list []gauge
	var notes []string
	flat := func(said unit.Text) { notes = append(notes, f.say(said)) }
	long := func(wood unit.Length) float64 {
		if wood <= 0 {
			return gaugePlain
		}
		return wood.MM() + 2*gaugeHold
	}
	switch {
	case in.Arc <= 0:
		flat("The body's end is flat: a straight edge serves as its gauge.")
	case in.Flatten > 0 && in.Flat >= in.HeelWidth:
		list = append(list, gauge{"arc-hollow", true, "the body's end", in.Arc, in.HeelWidth, long(in.HeelWidth), 0})
		notes = append(notes, f.say("Flatten the body's end by %s. The flat is then as wide as the heel, and a straight edge serves for the shoulders.", nb(in.Flatten.Fine(h.Style))))
	default:
		list = append(list, gauge{"arc-hollow", true, "the body's end", in.Arc, in.HeelWidth, long(in.HeelWidth), 0})
		shoulders := gauge{"arc-bulging", false, "the hollowed shoulders", in.Arc, in.HeelWidth, long(in.HeelWidth), 0}
		if in.Flatten > 0 {
			shoulders.flat = in.Flat
			notes = append(notes, f.say("Flatten the body's end first, by %s over %s: the bulging gauge is straight in its middle over that width.", nb(in.Flatten.Fine(h.Style)), nb(in.Flat.In(h.Style))))
		}
		list = append(list, shoulders)
		if in.Hollow > 0 {
			notes = append(notes, f.say("The shoulders fit when the bulging gauge touches from the tenon to both outer edges; hollow them %s beside the tenon.", nb(in.Hollow.Fine(h.Style))))
		}
	}
	switch {
	case !in.BoardKnown:
	case in.BoardNut <= 0:
		flat("The board is flat: a straight edge serves as its gauge.")
	case in.BoardEnd == in.BoardNut:
		list = append(list, gauge{"board", true, "the board, all along", in.BoardNut, in.WidthEnd, long(in.WidthEnd), 0})
	default:
		list = append(list, gauge{"board-nut", true, "the board at the nut", in.BoardNut, in.WidthNut, long(in.WidthNut), 0},
			gauge{"board-end", true, "the board at its end", in.BoardEnd, in.WidthEnd, long(in.WidthEnd), 0})
		notes = append(notes, f.say("The board's radius grows evenly between the two gauges: hold them square to the centreline."))
	}
	switch {
	case !in.DomeKnown:
	case in.Dome > 0:
		list = append(list, gauge{"dome", true, "the outside of the top, along the centreline", in.Dome, 0, gaugeDome, 0})
		notes = append(notes, f.say("The top's gauge is nearly straight. Glue it to something stiff before cutting, and prove it on a straight edge with a feeler."))
	default:
		flat("The top is flat: a straight edge serves as its gauge.")
	}
	if len(list) == 0 {
		return nil, false
	}
	f.sheet.Table = [][]string{unit.Texts{"Gauge", "Lay it on", "Radius", "Length", "Rise over its length", "Rise over the wood's width"}.In(h.Style)}
	said := ""
	y := 0.0
	for i, g := range list {
		// A circle is no longer than it is wide.
		g.long = math.Min(g.long, 1.9*g.radius.MM())
		top, bottom := f.gaugeHeight(g)
		if i > 0 {
			y -= top
		}
		f.gauge(g, y)
		row := g.row(h.Style)
		f.sheet.Table = append(f.sheet.Table, row)
		said += " " + f.say("%s, for %s: radius %s, rise %s over %s.", row[0], row[1], row[2], row[4], row[3])
		y -= bottom + gaugeGap
	}
	for _, l := range notes {
		said += " " + l
	}
	f.sheet.Desc = f.say("Gauges to cut out, each with its curve at the lower edge.") + said
	notes = append(unit.Texts{"Cut on the line. The lower edge of each gauge is its curve. A hollow edge goes on wood that bulges, a bulging edge on wood that is hollow.",
		"Hold it up to a light: where light shows between the marks for the wood's edges, wood stands too high beside it.",
		"Knife or saw: clamp the work and keep fingers out of the blade's way. The tool's manual and your shop's rules come first."}.In(h.Style), notes...)
	return f.done("the middle of the upper gauge's curve", notes...), true
}

// rise is how far the gauge's curve rises over a length of it, in mm.
func (g gauge) rise(over float64) float64 { return neckset.ArcRise(g.radius, mm(over)).MM() }

// flatRise is how far the flat in the middle cuts into the curve.
func (g gauge) flatRise() unit.Length { return mm(g.rise(g.flat.MM())) }

func (g gauge) edge() unit.Text {
	if g.hollow {
		return "Hollow edge"
	}
	return "Bulging edge"
}

func (g gauge) row(s unit.Style) []string {
	wood := s.Say("not known")
	if g.wood > 0 && g.wood.MM() <= g.long {
		wood = s.Say("%s over %s", mm(g.rise(g.wood.MM())).Fine(s), g.wood.Exact(s))
	}
	return []string{g.edge().In(s), g.where.In(s), g.radius.In(s), mm(g.long).Exact(s), mm(g.rise(g.long)).Fine(s), wood}
}

// words are what stands on a gauge.
func (g gauge) words(s unit.Style) (bold []string, plain []string) {
	room := mm(g.long - 7)
	bold = drawing.Wrap(s.Say("%v: on %v", g.edge(), g.where), mm(small), true, room)
	over := g.long
	if g.wood > 0 && g.wood.MM() < g.long {
		over = g.wood.MM()
	}
	plain = drawing.Wrap(s.Say("Radius %s", nb(g.radius.In(s))), mm(small), false, room)
	if g.flat > 0 {
		rises := (mm(g.rise(over)) - g.flatRise()).Fine(s)
		return bold, append(plain, drawing.Wrap(s.Say("flat over %s in the middle, then rises %s to %s", nb(g.flat.In(s)), nb(rises), nb(mm(over).In(s))), mm(small), false, room)...)
	}
	return bold, append(plain, drawing.Wrap(s.Say("rises %s over %s", nb(mm(g.rise(over)).Fine(s)), nb(mm(over).In(s))), mm(small), false, room)...)
}

const gaugeRow = small * 1.32

// gaugeHeight is how far a gauge reaches over and under the middle of its curve, in mm.
func (f *full) gaugeHeight(g gauge) (over, under float64) {
	bold, plain := g.words(f.head.Style)
	over = 5 + gaugeRow*float64(len(bold)+len(plain)) + 3
	if g.hollow {
		return over, g.rise(g.long)
	}
	return over + g.rise(g.long), 0
}

// gauge draws one with the middle of its curve at (0, y).
func (f *full) gauge(g gauge, y float64) {
	r, half := g.radius.MM(), g.long/2
	over, _ := f.gaugeHeight(g)
	rise := g.rise(g.long)
	turn := math.Asin(half / r)
	arc := drawing.Arc{Radius: g.radius}
	ends := y - rise
	at := func(x float64) float64 { return y - g.rise(2*math.Abs(x)) } // the curve over x
	if g.hollow {
		arc.Centre, arc.Start, arc.Sweep = pt(0, y-r), unit.Angle(math.Pi/2-turn), unit.Angle(2*turn)
	} else {
		arc.Centre, arc.Start, arc.Sweep = pt(0, y+r), unit.Angle(-math.Pi/2-turn), unit.Angle(2*turn)
		ends = y + rise
		at = func(x float64) float64 { return y + g.rise(2*math.Abs(x)) }
	}
	name := "gauge-" + g.name
	middle := y
	if w := g.flat.MM() / 2; w > 0 {
		middle = at(w)
		part := unit.Angle(turn - math.Asin(w/r))
		left, right := arc, arc
		left.Sweep, right.Start, right.Sweep = part, arc.Start+arc.Sweep-part, part
		f.add(drawing.Item{Layer: drawing.LayerCut, Name: name, Shape: left})
		f.line(drawing.LayerCut, name+"-flat", -w, middle, w, middle)
		f.add(drawing.Item{Layer: drawing.LayerCut, Name: name, Shape: right})
	} else {
		f.add(drawing.Item{Layer: drawing.LayerCut, Name: name, Shape: arc})
	}
	f.polyline(drawing.LayerCut, name+"-back", pt(-half, ends), pt(-half, y+over), pt(half, y+over), pt(half, ends))
	f.line(drawing.LayerMark, name+"-middle", 0, middle, 0, y+4)
	if w := g.wood.MM() / 2; w > 0 && w < half {
		for _, x := range []float64{-w, w} {
			f.line(drawing.LayerMark, name+"-wood", x, at(x), x, at(x)+3)
		}
	}
	bold, plain := g.words(f.head.Style)
	line := y + over - 3 - small*0.75
	for i, s := range append(bold, plain...) {
		t := label(0, line, small, drawing.Middle, fit(s, small, i < len(bold), g.long-4))
		t.Bold = i < len(bold)
		f.text(name+"-words", t)
		line -= gaugeRow
	}
}
