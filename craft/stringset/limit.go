package stringset

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairset/unit"
)

func mm(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: lo / 1000, Max: hi / 1000}
}

func number(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindRatio, Min: lo, Max: hi}
}

func count(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindCount, Min: lo, Max: hi}
}

// Wider than usual guitars: from a thin banjo string to a bass, from a small ukulele to an extended scale.
// Common practice, no source.
var fieldLimits = func() map[string]unit.Limit {
	m := map[string]unit.Limit{}
	for _, l := range []unit.Limit{
		mm("scale_length", "scale length", 200, 1200),
		number("a4", "pitch of A4 in Hz", 380, 480),
		number("midi", "note number", 12, 100),
		number("pitch", "pitch in Hz", 14, 2900),
		mm("diameter", "gauge", 0.1, 4),
		mm("core_diameter", "core diameter", 0.05, 3),
		number("density", "density in kg/m³", 500, 22000),
		number("wrap_density", "density of the wrap in kg/m³", 500, 22000),
		number("young", "Young's modulus in Pa", 1e8, 5e11),
		number("young_slope", "rise of the modulus with stress", 0, 100),
		number("core_fill", "share of the core that is material", 0.2, 1),
		number("bending_factor", "share of the core's bending stiffness", 0.0001, 1.5),
		number("mu", "mass per length in kg/m", 1e-5, 0.1),
		{Field: "printed_tension", Label: unit.Say("pull printed on the packet"), Kind: unit.KindForce, Min: 5, Max: 500},
		mm("printed_length", "length the packet's pull is for", 200, 1200),
		number("printed_pitch", "pitch the packet's pull is for, in Hz", 14, 2900),
		number("measured_b", "measured inharmonicity", 1e-8, 0.02),
		mm("measured_length", "length the inharmonicity was measured at", 200, 1200),
		number("measured_pitch", "pitch the inharmonicity was measured at, in Hz", 14, 2900),
		{Field: "axial_stiffness", Label: unit.Say("measured axial stiffness"), Kind: unit.KindForce, Min: 10, Max: 2e6},
		number("bending", "measured bending stiffness in N·m²", 1e-9, 0.1),

		mm("nut_height", "string height at the nut", 0, 4),
		mm("saddle_height", "string height at the saddle", 0, 40),
		mm("action12", "string height over fret 12", 0.5, 8),
		mm("press", "how far the finger presses the string below the crown", 0, 2),
		mm("finger", "distance of the finger behind the fret", 0, 60),
		mm("relief", "relief", -0.3, 1.5),
		count("relief_end_fret", "fret the relief ends at", 1, MostFrets),
		mm("beyond", "string beyond nut and saddle", 0, 1000),
		count("frets", "frets", 1, MostFrets),
		count("fit_frets", "frets the best place is sought over", 1, MostFrets),
		number("weights", "weight of a fret", 0, 1000),
		count("capo", "fret of the capo", 0, MostFrets-1),
		mm("capo_press", "how far the capo presses", 0, 2),
		mm("capo_behind", "distance of the capo behind its fret", 0, 60),

		mm("saddle", "saddle setback", -30, 60),
		mm("nut", "nut setback", -5, 15),
		mm("across", "place of the string across the board", -100, 100),
		mm("edge", "land left at each edge of the saddle", 0, 5),
		{Field: "cents", Label: unit.Say("cents read"), Kind: unit.KindCents, Min: -100, Max: 100},
		{Field: "cents_sd", Label: unit.Say("spread of the cents read"), Kind: unit.KindCents, Min: 0.02, Max: 50},
		count("fret", "fret", 1, MostFrets),
	} {
		m[l.Field] = l
	}
	return m
}()

// MostFrets bounds a board.
const MostFrets = 36

// LimitOf returns the range a field is accepted in, by its key without unit ("saddle_height",
// "strings.diameter"), and whether there is such a field. Values are SI.
func LimitOf(field string) (unit.Limit, bool) {
	l, ok := fieldLimits[strings.TrimPrefix(strings.TrimPrefix(field, "strings."), "readings.")]
	return l, ok
}

// checker gathers the first error and all warnings; under goes before each field's name.
type checker struct {
	under string
	err   error
	warns []unit.Warning
}

func (c *checker) need(field string, v float64) {
	if c.err != nil {
		return
	}
	if err := fieldLimits[field].CheckOffering(v); err != nil {
		var re *unit.RangeError
		if errors.As(err, &re) {
			re.Field = c.under + field
		}
		c.err = err
	}
}

// may checks a figure that may be left out as zero.
func (c *checker) may(field string, v float64) {
	if v != 0 {
		c.need(field, v)
	}
}

// fail reports a figure that is inside its range but cannot stand with another one.
func (c *checker) fail(field string, v float64, why unit.Text, args ...any) {
	if c.err == nil {
		l := fieldLimits[field]
		l.Field = c.under + field
		c.err = &unit.RangeError{Limit: l, Value: v, Why: unit.Say(why, args...)}
	}
}

func (c *checker) choose(field string, label unit.Text, got string, choices []string) {
	if c.err == nil && !slices.Contains(choices, got) {
		c.err = choiceError(c.under+field, label, got, choices)
	}
}

func (c *checker) warn(code, field string, say unit.Phrase) {
	c.warns = append(c.warns, unit.Warning{Code: code, Field: c.under + field, Say: say})
}

func choiceError(field string, label unit.Text, got string, choices []string) *unit.RangeError {
	return &unit.RangeError{Limit: unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindChoice}, Got: strconv.Quote(got), Value: math.NaN(), Why: unit.Say("there is no such choice"), Choices: choices}
}

// ratio writes a plain number with two significant digits.

func (c *checker) massField(s String) string {
	if s.Mass != 0 {
		return "mu"
	}
	return "printed_tension"
}

func (s String) check(c *checker) {
	c.choose("kind", "kind", string(s.Kind), Kinds())
	c.need("pitch", float64(s.Pitch))
	c.need("diameter", float64(s.Diameter))
	c.need("density", float64(s.Density))
	c.need("young", float64(s.Young))
	c.may("young_slope", s.YoungSlope)
	c.may("core_fill", s.CoreFill)
	c.may("bending_factor", s.BendingFactor)
	if s.Kind == Plain {
		for _, f := range []struct {
			field string
			v     float64
		}{{"core_diameter", float64(s.CoreDiameter)}, {"wrap_density", float64(s.WrapDensity)}} {
			if f.v != 0 {
				c.fail(f.field, f.v, "a plain string has no core and no wrap: leave it out, or say that the string is wound")
			}
		}
		if s.CoreFill != 0 && s.CoreFill != 1 {
			c.fail("core_fill", s.CoreFill, "a plain string has no core: leave it out")
		}
		if s.BendingFactor != 0 && s.BendingFactor != 1 {
			c.fail("bending_factor", s.BendingFactor, "a plain string has no core: leave it out")
		}
	} else {
		c.need("core_diameter", float64(s.CoreDiameter))
		c.need("wrap_density", float64(s.WrapDensity))
		if s.CoreShape != "" {
			c.choose("core_shape", "core shape", string(s.CoreShape), Cores())
		}
		if _, _, over := s.section(); c.err == nil && over >= float64(s.Diameter) {
			c.fail("core_diameter", float64(s.CoreDiameter), "the core must be thinner than the whole string, %v over all", unit.FineLength(s.Diameter))
		}
	}
	c.may("mu", float64(s.Mass))
	if p := s.Printed; p != (Printed{}) {
		c.need("printed_tension", float64(p.Tension))
		c.need("printed_length", float64(p.Length))
		c.need("printed_pitch", float64(p.Pitch))
		if s.Mass != 0 {
			c.fail("printed_tension", float64(p.Tension), "give the packet's mass per length or its pull, not both")
		}
	}
	if m := s.Measured; m != (Measured{}) {
		c.need("measured_b", m.B)
		c.need("measured_length", float64(m.Length))
		c.need("measured_pitch", float64(m.Pitch))
		if s.MeasuredBending != 0 {
			c.fail("measured_b", m.B, "give the measured inharmonicity or the bending stiffness, not both")
		}
	}
	c.may("axial_stiffness", float64(s.AxialStiffness))
	c.may("bending", float64(s.MeasuredBending))
}
