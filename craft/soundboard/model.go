// Package soundboard works out what string pull does to a guitar's top and how the top vibrates: an orthotropic plate of any
// outline with holes, doublers glued to it, and braces under it.
//
// Frame: x and y lie in the plate, z out of its string side. w > 0: the top rises. The bridge's rotation is positive when its
// top tips towards +x, so that with x from tail to neck the top rises behind the bridge and sinks ahead of it. The middle of
// the plate's thickness is z = 0; braces hang on z = -h/2.
//
// The plate stretches (u, v), bends (w) and shears through its thickness (two angles beside the slope of w). Braces stretch,
// bend, shear and twist, and are glued to the underside along their whole length; where two cross, neither is notched. Small
// deflections; no air unless asked for. Every figure is an estimate: wood differs from board to board by a fifth.
// Derivation, checks and convergence: docs/method/soundboard.md.
package soundboard

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Point is a place in the plane of the plate.
type Point struct{ X, Y unit.Length }

// Material is an orthotropic wood. Axis 1 is the grain, 2 lies across it in the part's width, 3 through its thickness.
// NuIJ is the contraction along j under stress along i, so that NuIJ/EI = NuJI/EJ.
type Material struct {
	E1, E2, E3       unit.Stress
	Nu12, Nu13, Nu23 float64
	G12, G13, G23    unit.Stress
	Density          unit.Density
}

// Hole is a round hole with a free edge.
type Hole struct {
	Centre Point
	Radius unit.Length
}

// Side is the face a patch is glued to.
type Side int

// The two faces.
const (
	Under Side = iota
	Over
)

// Patch is a plate glued on: a bridge plate, a doubler. Its corners make a convex quadrilateral, in order.
type Patch struct {
	Name      string
	Corners   [4]Point
	Thickness unit.Length
	Side      Side
	Grain     [2]float64 // direction of its grain; any length
	Material  Material
}

// Station is a brace's height at a share of its length.
type Station struct {
	At     float64 // 0 to 1
	Height unit.Length
}

// Brace is a bar under the plate, its ends square. Its material's axis 1 runs along it, 2 across its width, 3 up its height.
type Brace struct {
	Name     string
	From, To Point
	Width    unit.Length
	Heights  []Station // from 0 to 1, straight between; one entry: constant
	Material Material
}

// Edge says how the rim holds the outline.
type Edge string

// The ways an edge can be held.
const (
	Clamped Edge = "clamped" // no displacement and no slope
	Simple  Edge = "simple"  // no displacement of the middle surface, free to turn about the edge's own line
	Elastic Edge = "elastic" // like simple, with a spring against turning: RimStiffness
)

// Model is the plate without its braces.
type Model struct {
	Outline      []Point // closed, without repeating the first point; either way round
	Holes        []Hole
	Thickness    unit.Length
	Material     Material
	Grain        [2]float64 // direction of the plate's grain; any length
	Edge         Edge
	RimStiffness float64 // N·m per radian and metre of edge; for Elastic
	// DomeRadius is the radius of a spherical dome, + convex towards the strings; 0 is flat. The plate is a shallow shell.
	DomeRadius unit.Length
	Patches    []Patch
	Bridge     *Bridge // nil: no bridge
}

// Bridge is the footprint loads are spread over and rotation is read on. Its mass rides on it.
type Bridge struct {
	Centre Point
	Length unit.Length // along x
	Width  unit.Length // along y
	Mass   unit.Mass
}

// Load is what acts on the plate; the parts add.
type Load struct {
	Moment   float64     // N·m on the bridge, + tips its top towards +x
	Lift     unit.Force  // on the bridge, along +z
	Pull     unit.Force  // on the bridge, along +x in the middle surface
	Pressure unit.Stress // on the whole plate, along +z
	Point    unit.Force  // along +z, at At
	At       Point
}

// Limits of what is plausible; beyond them the input is an error.
var (
	LimitThickness = unit.Limit{Field: "thickness", Label: unit.Say("thickness of the top"), Kind: unit.KindLength, Min: 0.3e-3, Max: 30e-3}
	LimitPlace     = unit.Limit{Field: "outline", Label: unit.Say("place on the top"), Kind: unit.KindLength, Min: -3, Max: 3}
	LimitRadius    = unit.Limit{Field: "holes.radius", Label: unit.Say("radius of a hole"), Kind: unit.KindLength, Min: 1e-3, Max: 1}
	LimitPatch     = unit.Limit{Field: "patches.thickness", Label: unit.Say("thickness of a patch"), Kind: unit.KindLength, Min: 0.1e-3, Max: 30e-3}
	LimitWidth     = unit.Limit{Field: "braces.width", Label: unit.Say("width of a brace"), Kind: unit.KindLength, Min: 0.5e-3, Max: 60e-3}
	LimitHeight    = unit.Limit{Field: "braces.heights", Label: unit.Say("height of a brace"), Kind: unit.KindLength, Min: 0.3e-3, Max: 80e-3}
	LimitModulus   = unit.Limit{Field: "modulus", Label: unit.Say("modulus"), Kind: unit.KindStress, Min: 1e5, Max: 1e12}
	LimitNu        = unit.Limit{Field: "nu", Label: unit.Say("Poisson's ratio"), Kind: unit.KindRatio, Min: -2, Max: 3}
	LimitDensity   = unit.Limit{Field: "density", Label: unit.Say("density in kg/m³"), Kind: unit.KindRatio, Min: 10, Max: 20000}
	LimitFoot      = unit.Limit{Field: "bridge.length", Label: unit.Say("footprint of the bridge"), Kind: unit.KindLength, Min: 1e-3, Max: 1}
	LimitModes     = unit.Limit{Field: "modes", Label: unit.Say("number of modes"), Kind: unit.KindCount, Min: 0, Max: 40}
	LimitForce     = unit.Limit{Field: "load.pull", Label: unit.Say("force"), Kind: unit.KindForce, Min: -1e5, Max: 1e5}
	LimitMoment    = unit.Limit{Field: "load.moment", Label: unit.Say("moment in N·m"), Kind: unit.KindRatio, Min: -1e4, Max: 1e4}
	LimitPressure  = unit.Limit{Field: "load.pressure", Label: unit.Say("pressure"), Kind: unit.KindStress, Min: -1e6, Max: 1e6}
)

const (
	mostCorners = 2000
	mostHoles   = 20
	mostPatches = 12
	mostBraces  = 40
)

// named is a copy of the limit for one field.
func named(l unit.Limit, field string) unit.Limit { l.Field = field; return l }

// refuse says why a value cannot be used. got is the value as a person would write it.
func refuse(field string, label unit.Text, got string, why unit.Text, args ...any) error {
	return &unit.RangeError{Limit: unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindText}, Got: got, Value: math.NaN(), Why: unit.Say(why, args...)}
}

func (p Point) String() string {
	return fmt.Sprintf("(%.4g, %.4g) mm", p.X.MM(), p.Y.MM())
}

// Check reports the first thing wrong with a material, naming it under field.
func (m Material) Check(field string) error {
	for _, c := range []struct {
		name string
		v    unit.Stress
	}{{"e1", m.E1}, {"e2", m.E2}, {"e3", m.E3}, {"g12", m.G12}, {"g13", m.G13}, {"g23", m.G23}} {
		if err := named(LimitModulus, field+"."+c.name).Check(float64(c.v)); err != nil {
			return err
		}
	}
	for _, c := range []struct {
		name string
		v    float64
	}{{"nu12", m.Nu12}, {"nu13", m.Nu13}, {"nu23", m.Nu23}} {
		if err := named(LimitNu, field+"."+c.name).Check(c.v); err != nil {
			return err
		}
	}
	if err := named(LimitDensity, field+".density").Check(float64(m.Density)); err != nil {
		return err
	}
	// Thermodynamics: the compliance must be positive definite (Lempriere, AIAA J. 6, 1968; from memory).
	e1, e2, e3 := float64(m.E1), float64(m.E2), float64(m.E3)
	for _, c := range []struct {
		name   string
		nu     float64
		ei, ej float64
	}{{"nu12", m.Nu12, e1, e2}, {"nu13", m.Nu13, e1, e3}, {"nu23", m.Nu23, e2, e3}} {
		if most := math.Sqrt(c.ei / c.ej); math.Abs(c.nu) >= most {
			return refuse(field+"."+c.name, "Poisson's ratio", fmt.Sprint(c.nu), "no material can have it with these moduli; it must lie below %.4g", most)
		}
	}
	n21, n31, n32 := m.Nu12*e2/e1, m.Nu13*e3/e1, m.Nu23*e3/e2
	if d := 1 - m.Nu12*n21 - m.Nu23*n32 - m.Nu13*n31 - 2*n21*n32*m.Nu13; d <= 1e-6 {
		return refuse(field+".nu23", "Poisson's ratio", fmt.Sprint(m.Nu23), "the three ratios together make a material that would give energy away; make them smaller")
	}
	return nil
}

func checkDirection(field string, d [2]float64) error {
	if n := math.Hypot(d[0], d[1]); !unit.Finite(n) || n < 1e-9 || n > 1e9 {
		return refuse(field, "direction of the grain", fmt.Sprintf("[%g, %g]", d[0], d[1]), "it must point somewhere: two finite numbers, not both 0")
	}
	return nil
}

func checkPoint(field string, p Point) error {
	l := named(LimitPlace, field)
	return unit.Checks(l.Check(float64(p.X)), l.Check(float64(p.Y)))
}

// Check reports the first thing wrong with the model; errors are *unit.RangeError.
func (m *Model) Check() error {
	if n := len(m.Outline); n < 3 || n > mostCorners {
		return refuse("outline", "outline", fmt.Sprintf("%d points", n), "it must have 3 to %d", mostCorners)
	}
	pts := make([]vec, len(m.Outline))
	for i, p := range m.Outline {
		if err := checkPoint(fmt.Sprintf("outline[%d]", i), p); err != nil {
			return err
		}
		pts[i] = vec{float64(p.X), float64(p.Y)}
	}
	for i := range pts {
		j := (i + 1) % len(pts)
		if pts[j].sub(pts[i]).len() < 1e-6 {
			return refuse(fmt.Sprintf("outline[%d]", j), "outline", m.Outline[j].String(), "it lies on the point before it; leave it out (the outline closes by itself)")
		}
	}
	if i, j := crossing(pts); i >= 0 {
		return refuse(fmt.Sprintf("outline[%d]", j), "outline", m.Outline[j].String(), "the outline crosses itself: its edge from point %d meets the one from point %d", j, i)
	}
	if a := math.Abs(area(pts)); a < 1e-4 {
		return refuse("outline", "outline", fmt.Sprintf("%.4g mm²", a*1e6), "the area inside must be 100 mm² or more")
	}
	if err := unit.Checks(LimitThickness.CheckOffering(float64(m.Thickness)), m.Material.Check("material"), checkDirection("grain", m.Grain)); err != nil {
		return err
	}
	switch m.Edge {
	case Clamped, Simple:
	case Elastic:
		if !unit.Finite(m.RimStiffness) || m.RimStiffness < 0 || m.RimStiffness > 1e9 {
			return refuse("rim_stiffness", "stiffness of the rim", fmt.Sprint(m.RimStiffness), "it must lie from 0 to 1e9 N·m per radian and metre")
		}
	default:
		return &unit.RangeError{Limit: unit.Limit{Field: "edge", Label: unit.Say("edge"), Kind: unit.KindChoice}, Got: string(m.Edge), Value: math.NaN(),
			Why: unit.Say("there is no such edge"), Choices: []string{string(Clamped), string(Simple), string(Elastic)}}
	}
	if r := float64(m.DomeRadius); r != 0 {
		size := extent(pts)
		if !unit.Finite(r) || math.Abs(r) < size {
			return refuse("dome_radius", "radius of the dome", m.DomeRadius.String(), "it must be 0 (flat) or at least the size of the top, %.4g mm", size*1000)
		}
	}
	if len(m.Holes) > mostHoles {
		return refuse("holes", "holes", fmt.Sprint(len(m.Holes)), "at most %d", mostHoles)
	}
	for i, h := range m.Holes {
		f := fmt.Sprintf("holes[%d]", i)
		if err := unit.Checks(checkPoint(f+".centre", h.Centre), named(LimitRadius, f+".radius").CheckOffering(float64(h.Radius))); err != nil {
			return err
		}
		c := vec{float64(h.Centre.X), float64(h.Centre.Y)}
		if d := depth(pts, c); d < float64(h.Radius)+1e-3 {
			return refuse(f+".radius", "hole", fmt.Sprintf("radius %.4g mm at %v", h.Radius.MM(), h.Centre), "it must leave at least 1 mm of wood inside the outline: there its radius can be at most %.4g mm", math.Max(0, (d-1e-3)*1000))
		}
		for j, o := range m.Holes[:i] {
			if c.sub(vec{float64(o.Centre.X), float64(o.Centre.Y)}).len() < float64(h.Radius+o.Radius)+1e-3 {
				return refuse(f+".centre", "hole", h.Centre.String(), "it must leave at least 1 mm of wood to hole %d", j)
			}
		}
	}
	if len(m.Patches) > mostPatches {
		return refuse("patches", "patches", fmt.Sprint(len(m.Patches)), "at most %d", mostPatches)
	}
	for i, p := range m.Patches {
		f := fmt.Sprintf("patches[%d]", i)
		var q [4]vec
		for k, c := range p.Corners {
			if err := checkPoint(fmt.Sprintf("%s.corners[%d]", f, k), c); err != nil {
				return err
			}
			q[k] = vec{float64(c.X), float64(c.Y)}
			if depth(pts, q[k]) < -1e-6 {
				return refuse(fmt.Sprintf("%s.corners[%d]", f, k), "patch", c.String(), "it lies off the top")
			}
		}
		turn := 0
		for k := range q {
			if s := q[(k+1)%4].sub(q[k]).cross(q[(k+2)%4].sub(q[(k+1)%4])); s > 1e-10 {
				turn++
			} else if s < -1e-10 {
				turn--
			}
		}
		if turn != 4 && turn != -4 {
			return refuse(f+".corners", "patch", p.Name, "its corners must go round a four-sided shape without hollow, in order")
		}
		if err := unit.Checks(named(LimitPatch, f+".thickness").CheckOffering(float64(p.Thickness)), checkDirection(f+".grain", p.Grain), p.Material.Check(f+".material")); err != nil {
			return err
		}
	}
	if b := m.Bridge; b != nil {
		if err := unit.Checks(checkPoint("bridge.centre", b.Centre), named(LimitFoot, "bridge.length").CheckOffering(float64(b.Length)), named(LimitFoot, "bridge.width").CheckOffering(float64(b.Width))); err != nil {
			return err
		}
		if !unit.Finite(float64(b.Mass)) || b.Mass < 0 || b.Mass > 10 {
			return refuse("bridge.mass", "mass of the bridge", fmt.Sprintf("%g kg", float64(b.Mass)), "it must lie from 0 to 10 kg")
		}
		r := rect(b)
		for k := range r {
			if depth(pts, r[k]) < 0 || segmentMeets(pts, r[k], r[(k+1)%4]) {
				return refuse("bridge.centre", "bridge", b.Centre.String(), "its footprint must lie on the top")
			}
		}
		for i, h := range m.Holes {
			c := vec{float64(h.Centre.X), float64(h.Centre.Y)}
			if depth(r[:], c) > -float64(h.Radius) {
				return refuse("bridge.centre", "bridge", b.Centre.String(), "its footprint lies over hole %d", i)
			}
		}
	}
	return nil
}

// CheckBraces reports the first thing wrong with braces on this plate.
func (m *Model) CheckBraces(braces []Brace) error {
	if len(braces) > mostBraces {
		return refuse("braces", "braces", fmt.Sprint(len(braces)), "at most %d", mostBraces)
	}
	pts := make([]vec, len(m.Outline))
	for i, p := range m.Outline {
		pts[i] = vec{float64(p.X), float64(p.Y)}
	}
	for i, b := range braces {
		f := fmt.Sprintf("braces[%d]", i)
		if err := unit.Checks(checkPoint(f+".from", b.From), checkPoint(f+".to", b.To), named(LimitWidth, f+".width").CheckOffering(float64(b.Width)), b.Material.Check(f+".material")); err != nil {
			return err
		}
		a, z := vec{float64(b.From.X), float64(b.From.Y)}, vec{float64(b.To.X), float64(b.To.Y)}
		if z.sub(a).len() < 5e-3 {
			return refuse(f+".to", "brace", b.To.String(), "a brace must be at least 5 mm long")
		}
		for _, e := range []struct {
			name string
			p    Point
		}{{"from", b.From}, {"to", b.To}} {
			if depth(pts, vec{float64(e.p.X), float64(e.p.Y)}) < -1e-6 {
				return refuse(f+"."+e.name, "brace", e.p.String(), "this end lies off the top")
			}
		}
		// Ends may stand on the outline itself.
		d := z.sub(a)
		if segmentMeets(pts, a.add(d.scale(1e-4)), z.sub(d.scale(1e-4))) {
			return refuse(f+".to", "brace", b.To.String(), "the brace runs off the top between its ends")
		}
		for j, h := range m.Holes {
			if distance(vec{float64(h.Centre.X), float64(h.Centre.Y)}, a, z) < float64(h.Radius)-1e-6 {
				return refuse(f+".to", "brace", b.To.String(), "the brace runs across hole %d, where there is no wood to glue it to", j)
			}
		}
		if len(b.Heights) == 0 || len(b.Heights) > 50 {
			return refuse(f+".heights", "heights of a brace", fmt.Sprintf("%d entries", len(b.Heights)), "give 1 to 50")
		}
		for k, s := range b.Heights {
			at := fmt.Sprintf("%s.heights[%d]", f, k)
			if err := named(LimitHeight, at).CheckOffering(float64(s.Height)); err != nil {
				return err
			}
			if !unit.Finite(s.At) || s.At < 0 || s.At > 1 {
				return refuse(at, "place along a brace", fmt.Sprint(s.At), "it must lie from 0 to 1")
			}
			if k > 0 && s.At <= b.Heights[k-1].At {
				return refuse(at, "place along a brace", fmt.Sprint(s.At), "places must go up from 0 to 1, each further than the one before")
			}
		}
		if n := len(b.Heights); n > 1 && (b.Heights[0].At != 0 || b.Heights[n-1].At != 1) {
			return refuse(f+".heights", "heights of a brace", fmt.Sprintf("%g to %g", b.Heights[0].At, b.Heights[n-1].At), "the first must be at 0 and the last at 1")
		}
	}
	return nil
}

// Check reports the first thing wrong with a load on this plate.
func (l *Load) Check(m *Model) error {
	if err := unit.Checks(
		LimitMoment.Check(l.Moment), named(LimitForce, "load.lift").Check(float64(l.Lift)), LimitForce.Check(float64(l.Pull)),
		LimitPressure.Check(float64(l.Pressure)), named(LimitForce, "load.point").Check(float64(l.Point))); err != nil {
		return err
	}
	if m.Bridge == nil && (l.Moment != 0 || l.Lift != 0 || l.Pull != 0) {
		return refuse("load.moment", "load", fmt.Sprint(l.Moment), "a moment, lift or pull acts on the bridge, and there is none")
	}
	if l.Point != 0 {
		if err := checkPoint("load.at", l.At); err != nil {
			return err
		}
		pts := make([]vec, len(m.Outline))
		for i, p := range m.Outline {
			pts[i] = vec{float64(p.X), float64(p.Y)}
		}
		at := vec{float64(l.At.X), float64(l.At.Y)}
		if depth(pts, at) < 0 {
			return refuse("load.at", "load", l.At.String(), "the force stands off the top")
		}
		for i, h := range m.Holes {
			if at.sub(vec{float64(h.Centre.X), float64(h.Centre.Y)}).len() < float64(h.Radius) {
				return refuse("load.at", "load", l.At.String(), "the force stands in hole %d", i)
			}
		}
	}
	return nil
}
