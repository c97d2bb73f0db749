package body

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairset/unit"
)

// Pattern is how a top is braced.
type Pattern string

// The patterns a starting layout can be worked out for.
const (
	PatternX      Pattern = "x"      // two long braces that cross, with tone bars and an upper transverse
	PatternFan    Pattern = "fan"    // thin braces that spread from the neck under the lower bout, as for nylon strings
	PatternLadder Pattern = "ladder" // bars square to the centreline
	PatternNone   Pattern = "none"
)

// Patterns lists the patterns with their names, in the order they are offered.
func Patterns() []struct {
	Key  Pattern
	Name unit.Text
} {
	return []struct {
		Key  Pattern
		Name unit.Text
	}{{PatternX, "X-brace"}, {PatternFan, "fan"}, {PatternLadder, "ladder"}, {PatternNone, "none"}}
}

// Plan is what a starting layout of braces is worked out from.
type Plan struct {
	Outline Outline
	Hole    Hole
	Bridge  Bridge
	Pattern Pattern

	// What is left 0 is worked out from the outline, the hole and the bridge.
	CrossAt    unit.Length // X: where its legs cross, from the tail
	CrossAngle unit.Angle  // X: each leg from the centreline
	Bars       int         // tone bars of the X, braces of the fan or bars of the ladder
	Width      unit.Length // of the main braces
	Height     unit.Length // of the main braces at their tallest

	PlateThickness                unit.Length // of the bridge plate; 0: no plate
	BraceWood, PlateWood, TopWood string
}

// Figures of the starting layouts; our own, no source. They are meant to be moved.
const (
	usualAngle  = 42 * unit.Degree
	intoLining  = 3 * unit.MM   // long braces end this far from the edge, in the lining
	offLining   = 18 * unit.MM  // short ones stop this far from it
	crossClear  = 0.7           // of the hole's radius, from the hole's edge to the crossing
	usualWidth  = 8 * unit.MM   // at the size below
	usualHeight = 14 * unit.MM  // at the size below
	usualSize   = 390 * unit.MM // lower bout the usual sizes belong to
	endHeight   = 3 * unit.MM   // at ends in the lining
	loneHeight  = 1.5 * unit.MM // at ends that stop short of it
)

// half rounds to half a millimetre, the way sizes of braces are planed to.
func roundHalf(l unit.Length) unit.Length {
	return unit.Length(math.Max(1, math.Round(l.MM()*2))/2) * unit.MM
}

// Lay works a starting layout out: braces and, with a thickness given, a bridge plate. What it returns is a proposal with every
// figure open to change; Soundboard.Check tells what does not fit. Errors are *unit.RangeError naming pattern, cross_at, cross_angle,
// bars, width or height.
func (p Plan) Lay() ([]Brace, []Patch, error) {
	if !p.Outline.Made() {
		return nil, nil, refuseAs("outline", unit.Say("outline"), "none", "the body has no outline")
	}
	if err := need("bars", float64(p.Bars)); err != nil {
		return nil, nil, err
	}
	for _, g := range []struct {
		field string
		v     float64
	}{{"cross_at", float64(p.CrossAt)}, {"cross_angle", float64(p.CrossAngle)}, {"width", float64(p.Width)}, {"height", float64(p.Height)}} {
		if g.v != 0 {
			if err := need(g.field, g.v); err != nil {
				return nil, nil, err
			}
		}
	}
	widest, _ := p.Outline.Widest()
	size := math.Max(0.45, math.Min(1.2, float64(widest/usualSize)))
	if p.Width == 0 {
		p.Width = roundHalf(usualWidth * unit.Length(size))
	}
	if p.Height == 0 {
		p.Height = roundHalf(usualHeight * unit.Length(size))
	}
	switch p.Pattern {
	case PatternX:
		return p.x()
	case PatternFan:
		return p.fan()
	case PatternLadder:
		return p.ladder()
	case PatternNone:
		return nil, p.plateWithin(func(unit.Length) unit.Length { return p.Bridge.Across / 2 }), nil
	}
	e := &unit.RangeError{Limit: limits["pattern"], Got: string(p.Pattern), Value: math.NaN()}
	for _, q := range Patterns() {
		e.Choices = append(e.Choices, string(q.Key))
	}
	return nil, nil, e
}

// tapered are heights that stand full over the middle and fall to the ends.
func tapered(full, from, to unit.Length, run float64) []Height {
	return []Height{{0, min(from, full)}, {run, full}, {1 - run, full}, {1, min(to, full)}}
}

// toEdge is where a brace of a width that starts at from ends: where the first of its corners meets the edge, less an inset.
func (p Plan) toEdge(from Point, way float64, width, inset unit.Length) Point {
	sin, cos := math.Sincos(way)
	aside := Point{-width / 2 * unit.Length(sin), width / 2 * unit.Length(cos)}
	r := unit.Length(math.Inf(1))
	for _, side := range []unit.Length{-1, 0, 1} {
		r = min(r, p.Outline.Reach(Point{from.X + side*aside.X, from.Y + side*aside.Y}, unit.Angle(way)))
	}
	r = max(0, r-inset)
	return Point{from.X + r*unit.Length(cos), from.Y + r*unit.Length(sin)}
}

// across is a bar square to the centreline at x.
func (p Plan) across(name string, x, inset, width, height, end unit.Length) Brace {
	y := min(p.Outline.WidthAt(x-width/2), p.Outline.WidthAt(x), p.Outline.WidthAt(x+width/2))/2 - inset
	return Brace{Name: name, From: Point{x, -y}, To: Point{x, y}, Width: width, Heights: tapered(height, end, end, 0.18), Wood: p.BraceWood}
}

// aboveHole and belowHole are the stations of bars square to the centreline on both sides of the hole.
func (p Plan) aboveHole() unit.Length {
	return p.Hole.Centre.X + p.Hole.Radius + max(p.Width, 0.2*p.Hole.Radius) + p.Width/2
}

func (p Plan) belowHole() unit.Length {
	return p.Hole.Centre.X - p.Hole.Radius - max(p.Width, 0.2*p.Hole.Radius) - p.Width/2
}

func (p Plan) x() ([]Brace, []Patch, error) {
	angle := float64(p.CrossAngle)
	if angle == 0 {
		angle = float64(usualAngle)
	}
	sin, cos := math.Sincos(angle)
	cross := p.CrossAt
	if cross == 0 {
		// Far enough from the hole that the legs pass beside it, and no nearer its edge than the share above.
		beside := unit.Length(float64(p.Hole.Radius+p.Width/2+2*unit.MM) / sin)
		cross = p.Hole.Centre.X - max(p.Hole.Radius*(1+crossClear), beside)
	}
	c := Point{cross, 0}
	if !p.Outline.Inside(c, p.Width) {
		return nil, nil, refuse("cross_at", float64(cross), "the legs would cross outside the body")
	}
	upper, upperWidth := p.aboveHole(), roundHalf(1.25*p.Width)
	hasUpper := upper < p.Outline.Length()-2*p.Width
	var out []Brace
	leg := func(name string, side float64) {
		b := Brace{Name: name, Width: p.Width, Wood: p.BraceWood}
		b.From = p.toEdge(c, math.Pi-side*angle, p.Width, intoLining)
		b.To = p.toEdge(c, -side*angle, p.Width, intoLining)
		// A leg ends before the upper transverse.
		if most := upper - upperWidth/2 - p.Width/2*unit.Length(sin) - 0.001; hasUpper && b.To.X > most {
			b.To = along(c, b.To, float64((most-cross)/(b.To.X-cross)))
		}
		mid := float64(b.From.Distance(c) / b.Length())
		b.Heights = []Height{{0, min(endHeight, p.Height)}, {0.35 * mid, roundHalf(0.8 * p.Height)}, {mid, p.Height}, {mid + 0.75*(1-mid), roundHalf(0.7 * p.Height)}, {1, min(endHeight, p.Height)}}
		out = append(out, b)
	}
	leg(numbered(legName, 0), 1)
	leg(numbered(legName, 1), -1)
	// Tone bars start beside the tailward part of the second leg, which has y < 0, and end short of the edge between the first leg's end
	// and the tail.
	start := out[1].From
	wall := out[0].From.Y
	bars := p.Bars
	if bars == 0 {
		bars = 2
	}
	for i := range bars {
		share := 0.66
		if bars > 1 {
			share += 0.26 * float64(i) / float64(bars-1)
		}
		width, height := roundHalf(0.75*p.Width), roundHalf(p.Height*unit.Length(0.75-0.15*float64(i)/float64(max(bars-1, 1))))
		foot := along(c, start, share)
		foot.X -= unit.Length((float64(p.Width/2) + float64(width/2) + 0.001) * sin) // beside the leg, not on it
		foot.Y += unit.Length((float64(p.Width/2) + float64(width/2) + 0.001) * cos)
		q := 0.7
		if bars > 1 {
			q -= 0.4 * float64(i) / float64(bars-1)
		}
		goal := p.tailEdge(wall * unit.Length(q))
		way := math.Atan2(float64(goal.Y-foot.Y), float64(goal.X-foot.X))
		end := p.toEdge(foot, way, width, offLining)
		out = append(out, Brace{Name: numbered(toneBarName, i), From: foot, To: end, Width: width, Heights: tapered(height, loneHeight, loneHeight, 0.2), Wood: p.BraceWood})
	}
	if hasUpper {
		out = append(out, p.across(upperName, upper, intoLining, upperWidth, p.Height, 2*endHeight))
	}
	// The plate lies between the legs.
	room := func(x unit.Length) unit.Length {
		return unit.Length(math.Max(0, float64(cross-x)*sin/cos-float64(p.Width)/2/cos))
	}
	return out, p.plateWithin(room), nil
}

// tailEdge is the point of the edge nearest the tail that lies y across.
func (p Plan) tailEdge(y unit.Length) Point {
	rough := p.Outline.rough
	for i := len(rough) - 1; i > len(rough)/2; i-- { // from the tail along y >= 0
		if rough[i].Y >= y {
			return rough[i]
		}
	}
	return rough[0]
}

// Called says the name of a brace or a plate. One that Lay gave is said in a maker's language; one that somebody typed, and so
// any other, stays as it is. The names that designs keep are English.
func Called(name string) unit.Phrase {
	switch name {
	case plateName:
		return unit.Say("bridge plate")
	case upperName:
		return unit.Say("upper transverse")
	case lowerName:
		return unit.Say("lower transverse")
	}
	kind, number, _ := cutLast(name, " ")
	n, err := strconv.Atoi(number)
	if err != nil || strconv.Itoa(n) != number {
		return unit.Plain(name)
	}
	switch kind {
	case legName:
		return unit.Say("X leg %d", n)
	case toneBarName:
		return unit.Say("tone bar %d", n)
	case fanName:
		return unit.Say("fan %d‖brace", n)
	case barName:
		return unit.Say("bar %d‖brace", n)
	}
	return unit.Plain(name)
}

func cutLast(s, sep string) (before, after string, ok bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

// The names of braces and plates in a starting layout; those of which there are several end in a number. Called knows them.
const (
	plateName   = "bridge plate"
	upperName   = "upper transverse"
	lowerName   = "lower transverse"
	legName     = "X leg"
	toneBarName = "tone bar"
	fanName     = "fan"
	barName     = "bar"
)

func numbered(name string, i int) string { return fmt.Sprintf("%s %d", name, i+1) }

// plate is a bridge plate of two half widths, at its tail edge and its neck edge.
func (p Plan) plate(tail, neck unit.Length) []Patch {
	if p.PlateThickness == 0 {
		return nil
	}
	x0, x1 := p.plateEdges()
	return []Patch{{Name: plateName, Corners: [4]Point{{x0, -tail}, {x1, -neck}, {x1, neck}, {x0, tail}}, Thickness: p.PlateThickness, Side: Under, Grain: [2]float64{0, 1}, Wood: p.PlateWood}}
}

func (p Plan) plateEdges() (tail, neck unit.Length) {
	over := 0.3 * p.Bridge.Along
	return p.Bridge.Centre.X - p.Bridge.Along/2 - over, p.Bridge.Centre.X + p.Bridge.Along/2 + over
}

// plateWithin is the plate no wider than the room between the braces, nor much wider than the bridge.
func (p Plan) plateWithin(room func(x unit.Length) unit.Length) []Patch {
	x0, x1 := p.plateEdges()
	wide := p.Bridge.Across/2 + 10*unit.MM
	least := 10 * unit.MM
	return p.plate(max(least, min(wide, room(x0))), max(least, min(wide, room(x1))))
}

func (p Plan) fan() ([]Brace, []Patch, error) {
	n := p.Bars
	if n == 0 {
		n = 5
	}
	var out []Brace
	bar := func(name string, x unit.Length) {
		out = append(out, p.across(name, x, intoLining, roundHalf(1.1*p.Width), p.Height, endHeight))
	}
	if x := p.aboveHole(); x < p.Outline.Length()-p.Width {
		bar(upperName, x)
	}
	lower := p.belowHole()
	bar(lowerName, lower)
	// The fan's lines meet at the neck end; they start just behind the lower transverse.
	width, height := roundHalf(0.6*p.Width), roundHalf(0.4*p.Height)
	meet := Point{p.Outline.Length(), 0}
	wide, widestAt := p.Outline.Widest()
	begin := lower - p.Width - 4*unit.MM
	for i := range n {
		share := 0.0 // of half the outermost line's place at the widest station
		if n > 1 {
			share = 2*float64(i)/float64(n-1) - 1
		}
		aim := Point{widestAt, unit.Length(share*0.62) * wide / 2}
		way := math.Atan2(float64(aim.Y-meet.Y), float64(aim.X-meet.X))
		from := along(meet, aim, float64((meet.X-begin)/(meet.X-aim.X)))
		out = append(out, Brace{Name: numbered(fanName, i), From: from, To: p.toEdge(from, way, width, offLining), Width: width, Heights: tapered(height, loneHeight, loneHeight, 0.15), Wood: p.BraceWood})
	}
	return out, p.plateWithin(func(unit.Length) unit.Length { return p.Bridge.Across/2 + 4*unit.MM }), nil
}

func (p Plan) ladder() ([]Brace, []Patch, error) {
	n := p.Bars
	if n == 0 {
		n = 5
	}
	above, below := p.aboveHole(), p.belowHole()
	plateTail, plateNeck := p.plateEdges()
	var xs []unit.Length
	add := func(x unit.Length) {
		if len(xs) < n && x > p.Width && x < p.Outline.Length()-p.Width {
			xs = append(xs, x)
		}
	}
	add(above)
	add(below)
	add(max(plateNeck+p.Width, (plateNeck+below)/2))
	rest := n - len(xs)
	for i := range rest {
		add(plateTail * unit.Length(1-float64(i+1)/float64(rest+1)))
	}
	var out []Brace
	for i, x := range xs {
		out = append(out, p.across(numbered(barName, i), x, intoLining, p.Width, p.Height, endHeight))
	}
	return out, p.plateWithin(func(unit.Length) unit.Length { return p.Bridge.Across/2 + 4*unit.MM }), nil
}

// Part is a piece to cut.
type Part struct {
	Name   unit.Phrase
	Wood   string
	Count  int
	Length unit.Length // along its grain
	Width  unit.Length
	Height unit.Length // or thickness
}

// allowance is how much larger than the outline the two halves of a top are cut; common practice, no source.
const allowance = 8 * unit.MM

// Parts lists the pieces to cut: the two halves of the top with 8 mm to spare round them, every brace by its length on the wood, the
// plates by the rectangle they fit in along their grain.
func (s Soundboard) Parts() []Part {
	var out []Part
	if s.Outline.Made() {
		w, _ := s.Outline.Widest()
		out = append(out, Part{Name: unit.Say("half of the top"), Wood: s.Wood, Count: 2, Length: s.Outline.Length() + 2*allowance, Width: w/2 + allowance, Height: s.Thickness})
	}
	for i, b := range s.Braces {
		out = append(out, Part{Name: b.name(i), Wood: b.Wood, Count: 1, Length: b.Length(), Width: b.Width, Height: b.Tallest()})
	}
	for _, p := range s.Patches {
		l, w := p.Blank()
		out = append(out, Part{Name: Called(p.Name), Wood: p.Wood, Count: 1, Length: l, Width: w, Height: p.Thickness})
	}
	return out
}

// Blank is the rectangle the plate is cut from, along its grain and across it.
func (p Patch) Blank() (long, wide unit.Length) {
	n := math.Hypot(p.Grain[0], p.Grain[1])
	gx, gy := p.Grain[0]/n, p.Grain[1]/n
	lo, hi := vec{math.Inf(1), math.Inf(1)}, vec{math.Inf(-1), math.Inf(-1)}
	for _, c := range p.Corners {
		u, v := float64(c.X)*gx+float64(c.Y)*gy, float64(c.Y)*gx-float64(c.X)*gy
		lo, hi = vec{math.Min(lo.x, u), math.Min(lo.y, v)}, vec{math.Max(hi.x, u), math.Max(hi.y, v)}
	}
	return unit.Length(hi.x - lo.x), unit.Length(hi.y - lo.y)
}
