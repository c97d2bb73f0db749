package neckset

import (
	"math"

	"fairset/unit"
)

// limit is the range a field is accepted in, and the narrower one most instruments keep to.
type limit struct {
	unit.Limit
	usualMin, usualMax float64
}

func mmLimit(field string, label unit.Text, lo, hi, usualLo, usualHi float64) limit {
	return limit{unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: lo / 1000, Max: hi / 1000}, usualLo / 1000, usualHi / 1000}
}

// limits in mm; the usual ranges are common practice, no source.
var limits = func() map[string]limit {
	deg := float64(unit.Degree)
	all := []limit{
		mmLimit("scale_length", "scale length", 300, 900, 330, 870),
		{unit.Limit{Field: "joint_fret", Label: unit.Say("joint fret"), Kind: unit.KindCount, Min: 10, Max: 22}, 12, 20},
		mmLimit("saddle_setback", "saddle setback", -5, 20, -1, 8),
		mmLimit("joint_offset", "joint offset", -30, 30, -10, 10),
		mmLimit("board_thickness", "board thickness", 3, 10, 4, 8),
		mmLimit("fret_crown", "fret crown height", 0.5, 1.8, 0.7, 1.5),
		mmLimit("neck_proud", "neck proud of the top", -10, 15, -2, 8),
		mmLimit("relief", "relief when strung", -0.3, 1.5, -0.05, 0.6),
		mmLimit("relief_unstrung", "relief unstrung", -0.3, 1.5, -0.25, 0.6),
		{unit.Limit{Field: "joint_fold", Label: unit.Say("fold of the joint under string pull"), Kind: unit.KindAngle, Min: -1 * deg, Max: 2 * deg}, -0.05 * deg, 0.5 * deg},
		mmLimit("top_rise", "rise of the top under string pull", -3, 6, -0.2, 2.5),
		mmLimit("bridge_thickness", "bridge thickness", 4, 15, 5, 12),
		mmLimit("saddle_projection", "saddle over the bridge", 0.5, 8, 1.5, 6),
		mmLimit("nut_height", "string height at the nut", 0, 4, 0.1, 1.8),
		mmLimit("action12", "action at fret 12", 0.5, 6, 1, 4.5),
		{unit.Limit{Field: "top_radius", Label: unit.Say("dome radius of the top"), Kind: unit.KindLength, Min: 2, Max: 30}, 3, 30},
		mmLimit("top_apex", "apex of the dome", -300, 900, -50, 600),

		mmLimit("saddle_distance", "distance from joint to saddle", 50, 700, 90, 520),
		mmLimit("heel_height", "heel height", 40, 130, 50, 115),
		mmLimit("heel_width_top", "heel width at the top edge", 15, 80, 30, 76),
		mmLimit("heel_width_cap", "heel width at the cap", 15, 80, 16, 70),
		mmLimit("gap_target", "wanted gap", -5, 25, 0, 16),
		mmLimit("gap_measured", "measured gap", -5, 25, -2, 20),
		mmLimit("offset_measured", "measured offset", -15, 15, -8, 8),
		mmLimit("gap_sd", "spread of the gap reading", 0, 5, 0, 1),
		mmLimit("offset_sd", "spread of the offset reading", 0, 5, 0, 1.5),
		mmLimit("gap_read_sd", "spread of the next gap reading", 0, 5, 0, 1),
		mmLimit("offset_read_sd", "spread of the next offset reading", 0, 5, 0, 1.5),
		mmLimit("gap_tolerance", "tolerance of the gap", 0, 5, 0, 1.5),
		mmLimit("offset_tolerance", "tolerance of the offset", 0, 5, 0, 2),
		mmLimit("gap_made", "gap change made so far", -25, 25, -10, 10),
		mmLimit("offset_made", "swing made so far", -25, 25, -10, 10),
		{unit.Limit{Field: "cut_sd_fraction", Label: unit.Say("spread of the cut"), Kind: unit.KindPercent, Min: 0, Max: 1}, 0, 0.6},
		{unit.Limit{Field: "overshoot_risk", Label: unit.Say("accepted chance of going past"), Kind: unit.KindPercent, Min: 0.001, Max: 0.5}, 0.001, 0.3},

		mmLimit("body_arc_radius", "radius of the body's end", 80, 1e7, 120, 1e7),
		mmLimit("heel_width", "heel width", 15, 80, 30, 76),
		mmLimit("tenon_width", "tenon width", 4, 60, 10, 40),
		{unit.Limit{Field: "body_share", Label: unit.Say("share taken by the body"), Kind: unit.KindRatio, Min: 0, Max: 1}, 0, 1},
		mmLimit("side_thickness", "side thickness", 1, 4, 1.5, 3.2),
		{unit.Limit{Field: "side_limit_fraction", Label: unit.Say("share of the side that may be sanded away"), Kind: unit.KindRatio, Min: 0, Max: 0.5}, 0, 1.0 / 3},
		mmLimit("chord", "chord of the body's end", 10, 1000, 20, 500),
		mmLimit("rise", "rise of the body's end over the chord", 0.05, 500, 0.1, 100),

		mmLimit("action12.bass", "action at fret 12, bass side", 0, 8, 0.8, 6),
		mmLimit("action12.treble", "action at fret 12, treble side", 0, 8, 0.8, 6),
		mmLimit("target_action12.bass", "wanted action at fret 12, bass side", 0.5, 6, 1, 4.5),
		mmLimit("target_action12.treble", "wanted action at fret 12, treble side", 0.5, 6, 1, 4.5),
		{unit.Limit{Field: "cents_at_12", Label: unit.Say("cents at fret 12"), Kind: unit.KindCents, Min: -100, Max: 100}, -30, 30},
		mmLimit("gap", "gap now", -5, 25, -2, 20),
	}
	m := make(map[string]limit, len(all))
	for _, l := range all {
		m[l.Field] = l
	}
	return m
}()

// LimitOf returns the range a field of this package is accepted in, by its key ("scale_length"), and
// whether there is such a field. A top_radius of exactly 0 (flat) and a body_arc_radius of exactly 0 (flat)
// are accepted besides.
func LimitOf(field string) (unit.Limit, bool) {
	l, ok := limits[field]
	return l.Limit, ok
}

// checker gathers the first range error and every "unusual" warning of a set of inputs.
type checker struct {
	err   error
	warns []unit.Warning
}

// need checks one SI value against the field's range.
func (c *checker) need(field string, v float64) {
	if c.err != nil {
		return
	}
	l := limits[field]
	if err := l.Check(v); err != nil {
		re := err.(*unit.RangeError)
		re.Likely = likely(l.Limit, v)
		c.err = re
		return
	}
	if v < l.usualMin || v > l.usualMax {
		c.warn("unusual", field, unit.Say("The %v is unusual (%v): check it before you cut.", l.Label, said(l.Kind, v)))
	}
}

func (c *checker) length(field string, v unit.Length) { c.need(field, float64(v)) }

func (c *checker) warn(code, field string, say unit.Phrase) {
	c.warns = append(c.warns, unit.Warning{Code: code, Field: field, Say: say})
}

// fail reports an input that is inside its range but cannot go with another one.
func (c *checker) fail(field string, v float64, why unit.Text, args ...any) {
	if c.err == nil {
		c.err = &unit.RangeError{Limit: limits[field].Limit, Value: v, Why: unit.Say(why, args...)}
	}
}

// said leaves a length open so that the phrase can write it in the maker's units.
func said(k unit.Kind, v float64) any {
	if k == unit.KindLength {
		return unit.Length(v)
	}
	return unit.Write(v, k, unit.Millimetre)
}

// likely offers the reading a slipped point or a mistaken unit would explain: 70 mm for 7.0 mm.
func likely(l unit.Limit, v float64) string {
	if l.Kind != unit.KindLength || !unit.Finite(v) {
		return ""
	}
	for _, f := range []float64{0.1, 1 / 25.4, 25.4, 10, 0.001, 1000} {
		if w := v * f; w >= l.Min && w <= l.Max && math.Abs(w) > 1e-6 {
			return unit.Length(w).In(unit.Millimetre)
		}
	}
	return ""
}
