package body

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Hole is a round hole in the top.
type Hole struct {
	Centre Point
	Radius unit.Length
}

// Height is how tall a brace stands at a place along it.
type Height struct {
	At     float64 // share of the way from its From end, 0 to 1
	Height unit.Length
}

// Brace is a straight bar under the top, glued along its whole length, its ends cut square.
type Brace struct {
	Name     string
	From, To Point // the middle of its width at both ends
	Width    unit.Length
	Heights  []Height // by place, the first at 0 and the last at 1; straight between them
	Wood     string   // key of its material
}

// Length of the brace on the wood, from end to end.
func (b Brace) Length() unit.Length { return b.From.Distance(b.To) }

// HeightAt is how tall the brace stands a share s of the way along.
func (b Brace) HeightAt(s float64) unit.Length {
	for i := 1; i < len(b.Heights); i++ {
		p, q := b.Heights[i-1], b.Heights[i]
		if s <= q.At || i == len(b.Heights)-1 {
			if q.At <= p.At {
				return q.Height
			}
			k := math.Max(0, math.Min(1, (s-p.At)/(q.At-p.At)))
			return p.Height + unit.Length(k)*(q.Height-p.Height)
		}
	}
	if len(b.Heights) == 1 {
		return b.Heights[0].Height
	}
	return 0
}

// Tallest is its greatest height.
func (b Brace) Tallest() unit.Length {
	var most unit.Length
	for _, h := range b.Heights {
		most = max(most, h.Height)
	}
	return most
}

// Corners are the brace's four corners in plan, in order round it.
func (b Brace) Corners() [4]Point {
	n := float64(b.Length())
	if n == 0 {
		return [4]Point{b.From, b.From, b.To, b.To}
	}
	ux, uy := unit.Length(float64(b.To.X-b.From.X)/n), unit.Length(float64(b.To.Y-b.From.Y)/n)
	w := b.Width / 2
	return [4]Point{{b.From.X - w*uy, b.From.Y + w*ux}, {b.From.X + w*uy, b.From.Y - w*ux}, {b.To.X + w*uy, b.To.Y - w*ux}, {b.To.X - w*uy, b.To.Y + w*ux}}
}

// Side of the top a plate is glued to.
type Side string

// Under the top, inside the body, or over it.
const (
	Under Side = "under"
	Over  Side = "over"
)

// Patch is a flat plate of four corners, such as a bridge plate.
type Patch struct {
	Name      string
	Corners   [4]Point // in order round it, either way
	Thickness unit.Length
	Side      Side
	Grain     [2]float64 // direction its grain runs, along x and y; need not have length 1
	Wood      string
}

// Bridge is the bridge's foot on the top: a rectangle square to the centreline.
type Bridge struct {
	Centre Point
	Along  unit.Length // along the strings
	Across unit.Length
	Saddle unit.Length // from the tail to the saddle on the centreline; 0 when not known
}

// Corners of the bridge in plan.
func (b Bridge) Corners() [4]Point {
	x, y := b.Along/2, b.Across/2
	c := b.Centre
	return [4]Point{{c.X - x, c.Y - y}, {c.X + x, c.Y - y}, {c.X + x, c.Y + y}, {c.X - x, c.Y + y}}
}

// Soundboard is a guitar's top with what lies on it and hangs under it. Its fields mean what the same fields of the
// plate calculation mean: positions in the package's frame, heights of braces by share of their length.
type Soundboard struct {
	Outline   Outline
	Holes     []Hole
	Thickness unit.Length
	Wood      string      // key of the top's material
	Grain     [2]float64  // direction of the top's grain; {1, 0} as usual
	Dome      unit.Length // radius of the dome along the centreline; 0: flat
	Braces    []Brace
	Patches   []Patch
	Bridge    *Bridge // nil: none
}

// Check tells whether the top can be made as described. Errors are *unit.RangeError naming the field: thickness, grain,
// dome_radius, holes[i].centre or .radius, braces[i].from, .to, .width, .heights, patches[i].corners, .thickness, .grain or .side,
// bridge.centre, bridge.along, bridge.across; i counts from 0. Warnings are for what can be built but is unusual.
func (s Soundboard) Check() ([]unit.Warning, error) {
	if !s.Outline.Made() {
		return nil, refuseAs("outline", unit.Say("outline"), "none", "the body has no outline")
	}
	if err := need("thickness", float64(s.Thickness)); err != nil {
		return nil, err
	}
	if err := needGrain("grain", unit.Say("grain of the top"), s.Grain); err != nil {
		return nil, err
	}
	if s.Dome != 0 {
		if err := need("dome_radius", float64(s.Dome)); err != nil {
			return nil, err
		}
	}
	if err := unit.Checks(need("holes", float64(len(s.Holes))), need("braces", float64(len(s.Braces))), need("patches", float64(len(s.Patches)))); err != nil {
		return nil, err
	}
	for i, h := range s.Holes {
		if err := s.checkHole(i, h); err != nil {
			return nil, err
		}
	}
	var warns []unit.Warning
	for i, b := range s.Braces {
		w, err := s.checkBrace(i, b)
		if err != nil {
			return nil, err
		}
		warns = append(warns, w...)
	}
	for i, p := range s.Patches {
		if err := s.checkPatch(i, p); err != nil {
			return nil, err
		}
	}
	if s.Bridge != nil {
		if err := s.checkBridge(*s.Bridge); err != nil {
			return nil, err
		}
	}
	return warns, nil
}

func needGrain(field string, label unit.Phrase, g [2]float64) error {
	if n := math.Hypot(g[0], g[1]); !unit.Finite(n) || n == 0 {
		return refuseAs(field, label, fmt.Sprintf("(%g, %g)", g[0], g[1]), "it must be a direction: two finite numbers that are not both 0")
	}
	return nil
}

func where(p Point) string { return fmt.Sprintf("(%v, %v)", p.X, p.Y) }

func (s Soundboard) checkHole(i int, h Hole) error {
	field, label := fmt.Sprintf("holes[%d]", i), unit.Say("soundhole")
	if i > 0 {
		label = unit.Say("hole %d", i+1)
	}
	if err := needAs("hole_radius", field+".radius", unit.Say("radius of the %v", label), float64(h.Radius)); err != nil {
		return err
	}
	if !s.Outline.Inside(h.Centre, 0) {
		return refuseAs(field+".centre", unit.Say("centre of the %v", label), where(h.Centre), "it lies outside the body")
	}
	if !s.Outline.Inside(h.Centre, h.Radius+2*unit.MM) {
		return refuseAs(field+".radius", unit.Say("radius of the %v", label), h.Radius.String(), "the hole would cut the body's edge: %v lie between its centre and the edge", s.Outline.edge(h.Centre))
	}
	for j, o := range s.Holes[:i] {
		if o.Centre.Distance(h.Centre) < o.Radius+h.Radius {
			return refuseAs(field+".centre", unit.Say("centre of the %v", label), where(h.Centre), "it overlaps hole %d", j+1)
		}
	}
	return nil
}

// name says which brace it is.
func (b Brace) name(i int) unit.Phrase {
	if b.Name != "" {
		return Called(b.Name)
	}
	return unit.Say("brace %d", i+1)
}

// onTop lets an end drawn on the edge itself count as on the top.
const onTop = 0.05 * unit.MM

func (s Soundboard) on(p Point) bool {
	return p.finite() && (s.Outline.Inside(p, 0) || s.Outline.edge(p) <= onTop)
}

// meetsEdge reports whether a straight line crosses the outline.
func (s Soundboard) meetsEdge(a, b Point) bool {
	edge := s.Outline.rough
	for i, p := range edge {
		if crosses(a, b, p, edge[(i+1)%len(edge)]) {
			return true
		}
	}
	return false
}

func (s Soundboard) checkBrace(i int, b Brace) ([]unit.Warning, error) {
	field, name := fmt.Sprintf("braces[%d]", i), b.name(i)
	if err := needAs("width", field+".width", unit.Say("width of %v", name), float64(b.Width)); err != nil {
		return nil, err
	}
	for _, e := range []struct {
		key string
		end unit.Text
		p   Point
	}{{"from", "from end of %v", b.From}, {"to", "to end of %v", b.To}} {
		if !s.on(e.p) {
			return nil, refuseAs(field+"."+e.key, unit.Say(e.end, name), where(e.p), "it lies off the top")
		}
	}
	if b.Length() < b.Width {
		return nil, refuseAs(field+".to", unit.Say("to end of %v", name), where(b.To), "the brace would be shorter than it is wide")
	}
	if err := checkHeights(field+".heights", unit.Say("heights of %v", name), b.Heights); err != nil {
		return nil, err
	}
	if s.meetsEdge(b.From, b.To) { // perhaps only at an end that lies on the edge
		const steps = 100
		for k := 1; k < steps; k++ {
			if p := along(b.From, b.To, float64(k)/steps); !s.on(p) {
				return nil, refuseAs(field+".to", unit.Say("to end of %v", name), where(b.To), "between its ends the brace leaves the top near x = %.0f mm", p.X.MM())
			}
		}
	}
	var warns []unit.Warning
	for _, h := range s.Holes {
		d := away(h.Centre, b.From, b.To)
		switch {
		case d < h.Radius:
			return nil, refuseAs(field+".from", unit.Say("from end of %v", name), where(b.From), "the brace would cross the open soundhole")
		case d < h.Radius+b.Width/2:
			warns = append(warns, unit.Warning{Code: "brace_over_hole", Field: field + ".from", Say: unit.Say("The edge of %v stands out into the soundhole by %v.", name, h.Radius+b.Width/2-d)})
		}
	}
	return warns, nil
}

func checkHeights(field string, label unit.Phrase, hs []Height) error {
	if len(hs) < 2 || len(hs) > 20 {
		return refuseAs(field, label, fmt.Sprintf("%d heights", len(hs)), "give at least the heights at both ends, and 20 at most")
	}
	tallest := 0.0
	for i, h := range hs {
		if !unit.Finite(h.At) || !h.Height.Finite() {
			return refuseAs(field, label, fmt.Sprint(h.At), "must be finite numbers")
		}
		switch {
		case i == 0 && h.At != 0:
			return refuseAs(field, label, fmt.Sprintf("first height at %g", h.At), "the first height is that of the from end, at 0")
		case i == len(hs)-1 && h.At != 1:
			return refuseAs(field, label, fmt.Sprintf("last height at %g", h.At), "the last height is that of the to end, at 1")
		case i > 0 && h.At <= hs[i-1].At:
			return refuseAs(field, label, fmt.Sprintf("height at %g after %g", h.At, hs[i-1].At), "the places must run from 0 to 1, each beyond the one before")
		case h.Height < 0:
			return refuseAs(field, label, h.Height.String(), "a height cannot be negative")
		}
		tallest = math.Max(tallest, float64(h.Height))
	}
	return needAs("height", field, label, tallest)
}

func (s Soundboard) checkPatch(i int, p Patch) error {
	field, name := fmt.Sprintf("patches[%d]", i), Called(p.Name)
	if p.Name == "" {
		name = unit.Say("plate %d", i+1)
	}
	if err := needAs("patch_thickness", field+".thickness", unit.Say("thickness of the %v", name), float64(p.Thickness)); err != nil {
		return err
	}
	if err := needGrain(field+".grain", unit.Say("grain of the %v", name), p.Grain); err != nil {
		return err
	}
	if p.Side != Under && p.Side != Over {
		return refuseAs(field+".side", unit.Say("side of the %v", name), string(p.Side), "it is glued under or over the top")
	}
	for _, q := range p.Corners {
		if !s.on(q) {
			return refuseAs(field+".corners", unit.Say("corners of the %v", name), where(q), "it lies off the top")
		}
	}
	c := p.Corners
	turn := func(a, b, c Point) float64 { return Area([]Point{a, b, c}) }
	first := turn(c[0], c[1], c[2])
	for k := range c {
		if a := turn(c[k], c[(k+1)%4], c[(k+2)%4]); a*first <= 0 || math.Abs(a) < 1e-8 {
			return refuseAs(field+".corners", unit.Say("corners of the %v", name), where(c[(k+1)%4]), "list four different corners in order round the plate, which must not bend inward")
		}
	}
	for _, h := range s.Holes {
		for k, a := range c {
			if away(h.Centre, a, c[(k+1)%4]) < h.Radius || inside(c[:], h.Centre) {
				return refuseAs(field+".corners", unit.Say("corners of the %v", name), where(a), "the plate would lie over the open soundhole")
			}
		}
	}
	return nil
}

func (s Soundboard) checkBridge(b Bridge) error {
	if err := unit.Checks(needAs("bridge_along", "bridge.along", limits["bridge_along"].Label, float64(b.Along)), needAs("bridge_across", "bridge.across", limits["bridge_across"].Label, float64(b.Across))); err != nil {
		return err
	}
	for _, p := range b.Corners() {
		if !s.on(p) {
			return refuseAs("bridge.centre", unit.Say("place of the bridge"), where(b.Centre), "a corner of the bridge, at %s, lies off the top", where(p))
		}
		for _, h := range s.Holes {
			if p.Distance(h.Centre) < h.Radius || away(h.Centre, Point{b.Centre.X + b.Along/2, -b.Across / 2}, Point{b.Centre.X + b.Along/2, b.Across / 2}) < h.Radius {
				return refuseAs("bridge.centre", unit.Say("place of the bridge"), where(b.Centre), "the bridge would stand over the open soundhole")
			}
		}
	}
	return nil
}
