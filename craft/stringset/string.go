// Package stringset works out what a string is and where it wants its saddle: mass, pull and stiffness from
// its make or from its packet, starting sets and tunings, how sharp each fretted note comes out, and the
// setbacks of saddle and nut that cure it.
//
// The frame of one string: x runs from the nut line toward the bridge, y is height over the plane of the fret
// tops, both of the string's underside. A saddle setback is + away from the nut; a nut setback is + toward
// the first fret. Cents are + when a note is sharp of twelve-tone equal temperament counted from the
// sounding open string. Across the board, + is the treble side. Strings are listed bass first.
//
// Left out: friction in the slots, give of neck and top, side-pull of the finger, the width of a fret's
// crown, the louder-is-sharper drift of a hard pluck, creep of nylon.
package stringset

import (
	"math"

	"fairset/unit"
)

// LineMass is mass per length in kg/m.
type LineMass float64

// Bending is bending stiffness, Young's modulus times second moment of area, in N·m².
type Bending float64

// Kind says how a string is made.
type Kind string

// The kinds of string. Bare nylon is plain; metal over a nylon core is wound.
const (
	Plain Kind = "plain"
	Wound Kind = "wound"
)

// Kinds lists the kinds.
func Kinds() []string { return []string{string(Plain), string(Wound)} }

// Core is the section of a wound string's core.
type Core string

// The sections of a core.
const (
	RoundCore Core = "round"
	HexCore   Core = "hex"
)

// Cores lists the sections.
func Cores() []string { return []string{string(RoundCore), string(HexCore)} }

// String is one string as it is made and as it is tuned. Figures a packet prints, or that were measured,
// override what the make would give; zero means not given.
type String struct {
	Name     string
	Pitch    unit.Frequency // open
	Kind     Kind
	Diameter unit.Length  // outside: the gauge
	Density  unit.Density // of a plain string, or of the core
	Young    unit.Stress  // of a plain string, or of the core
	// YoungSlope adds to Young so many times the stress at pitch: nylon stiffens as it is pulled. 0 for metal.
	YoungSlope float64

	// Of a wound string.
	CoreDiameter unit.Length // across the flats of a hexagonal core
	CoreShape    Core        // round when empty
	WrapDensity  unit.Density
	CoreFill     float64 // share of the core's circle that is material: 1 when 0; a bundle of filaments has less
	// BendingFactor is the share of a solid core's bending stiffness that is left: 1 when 0; filaments that
	// slide on one another leave little.
	BendingFactor float64

	// As printed or measured.
	Mass            LineMass
	Printed         Printed
	Measured        Measured
	AxialStiffness  unit.Force // modulus times area, by a pull test
	MeasuredBending Bending
}

// Printed is a pull as a packet prints it: so much at this length and pitch.
type Printed struct {
	Tension unit.Force
	Length  unit.Length
	Pitch   unit.Frequency
}

// Measured is a measured inharmonicity: partial m lies at m·f·√(1 + B·m²) on a string of this length at
// this pitch.
type Measured struct {
	B      float64
	Length unit.Length
	Pitch  unit.Frequency
}

// AtPitch is what a string is when it is tuned to its pitch on a scale.
type AtPitch struct {
	Mass     LineMass
	Axial    unit.Force // modulus times area: the force that would stretch it to double, were it elastic so far
	Bending  Bending
	Tension  unit.Force  // of an ideal flexible string
	Stress   unit.Stress // in the plain string or the core
	B        float64     // inharmonicity
	CoreArea float64     // m²
}

// At returns a string's mass, stiffness and pull at its pitch on a scale.
//
//	plain  μ = ρ·A                     wound  μ = ρc·Ac + ρw·(π/4)²·(D² - d²)
//	T = 4·μ·L²·f²                      B = π²·EI / (T·L²)
//
// The core alone carries pull and bending; the wrap adds only mass. Touching turns of round wire fill π/4 of
// the ring they lie in, whatever the angle of the winding. d is the diameter over a hexagonal core's corners.
//
// Valid for: the ranges of LimitOf. Otherwise the error is a *unit.RangeError naming scale_length or the
// string's field; warnings say what is computable but doubtful.
// Source: Mersenne's law (textbook, from memory); the rest derived in docs/method/stringset.md.
func (s String) At(scale unit.Length) (AtPitch, []unit.Warning, error) {
	var c checker
	c.need("scale_length", float64(scale))
	p := s.at(&c, scale)
	return p, c.warns, c.err
}

// section returns the core's area, its second moment, and the diameter the wrap lies on. Lengths in metres.
func (s String) section() (area, second, over float64) {
	if s.Kind == Plain {
		d := float64(s.Diameter)
		return math.Pi / 4 * d * d, math.Pi / 64 * d * d * d * d, d
	}
	d := float64(s.CoreDiameter)
	fill, bend := orOne(s.CoreFill), orOne(s.BendingFactor)
	if s.CoreShape == HexCore {
		w2 := d * d
		return fill * math.Sqrt(3) / 2 * w2, bend * 5 * math.Sqrt(3) / 144 * w2 * w2, 2 * d / math.Sqrt(3)
	}
	return fill * math.Pi / 4 * d * d, bend * math.Pi / 64 * d * d * d * d, d
}

func orOne(v float64) float64 {
	if v == 0 {
		return 1
	}
	return v
}

func (s String) at(c *checker, scale unit.Length) AtPitch {
	s.check(c)
	if c.err != nil {
		return AtPitch{}
	}
	L, f := float64(scale), float64(s.Pitch)
	area, second, over := s.section()

	mu := float64(s.Density) * area
	if s.Kind == Wound {
		D := float64(s.Diameter)
		mu += float64(s.WrapDensity) * (math.Pi / 4) * (math.Pi / 4) * (D*D - over*over)
	}
	made := mu
	switch {
	case s.Mass != 0:
		mu = float64(s.Mass)
	case s.Printed.Tension != 0:
		mu = float64(s.Printed.Tension) / sq(2*float64(s.Printed.Length)*float64(s.Printed.Pitch))
	}
	if r := mu / made; r < 0.7 || r > 1.4 {
		c.warn("mass_disagrees", c.massField(s), unit.Say("The packet's figure makes this string %.2g times as heavy as its gauge and make would: check both.", r))
	}

	T := mu * sq(2*L*f)
	stress := T / area
	E := float64(s.Young) + s.YoungSlope*stress
	EA, EI := E*area, E*second
	if s.AxialStiffness != 0 {
		EA = float64(s.AxialStiffness)
	}
	switch {
	case s.MeasuredBending != 0:
		EI = float64(s.MeasuredBending)
	case s.Measured.B != 0:
		l := float64(s.Measured.Length)
		EI = s.Measured.B * mu * sq(2*l*float64(s.Measured.Pitch)) * l * l / (math.Pi * math.Pi)
	}
	p := AtPitch{Mass: LineMass(mu), Axial: unit.Force(EA), Bending: Bending(EI), Tension: unit.Force(T),
		Stress: unit.Stress(stress), B: math.Pi * math.Pi * EI / (T * L * L), CoreArea: area}
	if e := math.Sqrt(EI/T) / L; e > slackest {
		c.fail("diameter", float64(s.Diameter), "so thick and slack a string is a rod: the pitch cannot be worked out; use a thinner one or tune it higher")
		return AtPitch{}
	} else if e > stiffest {
		c.warn("stiff", "diameter", unit.Say("This string is so stiff for its pull that its pitch is only known to about %.2g cents.", 20.6*e*e*e*cent))
	}
	if T < 20 || T > 250 {
		c.warn("unusual_tension", "diameter", unit.Say("The pull comes to %v: unusual for one string, so check gauge and pitch.", p.Tension))
	}
	// source: steel cores stand up to about 2000 MPa at pitch, M. Zollner, Physics of the Electric Guitar, 1.2 (verified).
	if s.Young > 150e9 && stress > 2.2e9 {
		c.warn("may_break", "pitch", unit.Say("Steel in this string would stand %.0f MPa; guitar strings are seldom taken past 2000. It may break: keep your face away while tuning up.", stress/1e6))
	}
	return p
}

const (
	// cent is how many cents a small relative change of pitch is: 1200/ln 2.
	cent = 1200 / math.Ln2
	// slackest and stiffest are values of √(EI/T)/L. The series for the stiff string is 0.28 cent low at 0.02
	// (independent calculation) and no longer a small correction at 0.08.
	slackest = 0.08
	stiffest = 0.02
)

func sq(v float64) float64 { return v * v }
