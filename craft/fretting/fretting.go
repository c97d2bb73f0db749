// Package fretting places frets and position dots in twelve-tone equal temperament, lays out the board they
// stand on, of one scale or two, flat or curved, and says where a played string would touch it.
//
// Every distance is measured from the nut's working edge along the centreline, toward the saddle, in one
// run: stepping from fret to fret with dividers or a rule adds up each step's error. The scale length is
// the uncompensated one; setback of the saddle does not move the frets.
package fretting

import (
	"math"

	"fairset/unit"
)

// StepDivisor is what the rest of the string is divided by to get the next fret space: 1/(1 - 2^(-1/12)).
// The trade rounds it to 17.817.
// source: definition of twelve-tone equal temperament.
const StepDivisor = 17.817153745105756

// MostFrets bounds a request; two octaves and a half is more than any board carries.
const MostFrets = 36

// The ranges are wider than a usual guitar's 300 to 900 mm: a very small ukulele and an extended bass
// have frets too.
var (
	scaleLimit = unit.Limit{Field: "scale_length", Label: unit.Say("scale length"), Kind: unit.KindLength, Min: 0.200, Max: 1.200}
	fretsLimit = unit.Limit{Field: "frets", Label: unit.Say("frets"), Kind: unit.KindCount, Min: 1, Max: MostFrets}
)

// LimitOf returns the range a field is accepted in, by its key ("scale_length", "frets", "nut_width"), and
// whether there is such a field. Values are SI. Radii of 0 (flat) and a board_length of 0 are accepted besides.
func LimitOf(field string) (unit.Limit, bool) {
	l, ok := limitByField[field]
	return l, ok
}

// Doubts warns of a scale length that can be laid out but is outside a usual guitar's 300 to 900 mm, which is
// more often a slip than an instrument. source: common practice, no source.
func Doubts(scale unit.Length) []unit.Warning {
	if scale >= 300*unit.MM && scale <= 900*unit.MM {
		return nil
	}
	return []unit.Warning{{Code: "unusual", Field: "scale_length",
		Say: unit.Say("A scale length of %v is unusual for a guitar: check it before you saw.", scale)}}
}

// Distance returns how far fret n lies from the nut.
//
//	d = L·(1 - 2^(-n/12))
//
// Fret 0 is the nut. Nothing is checked: a scale that is not finite gives a distance that is not.
// Source: definition of twelve-tone equal temperament.
func Distance(scale unit.Length, fret int) unit.Length {
	L, n := float64(scale), float64(fret)
	return unit.Length(-L * math.Expm1(-n/12*math.Ln2))
}

// Positions returns the distances from the nut of fret 1 to the last, in order.
//
// Valid for: scale 200 mm to 1200 mm, 1 to 36 frets; otherwise the error is a *unit.RangeError naming
// scale_length or frets.
func Positions(scale unit.Length, frets int) ([]unit.Length, error) {
	if err := check(scale, frets); err != nil {
		return nil, err
	}
	out := make([]unit.Length, frets)
	for i := range out {
		out[i] = Distance(scale, i+1)
	}
	return out, nil
}

// Spaces returns the width of each fret space: nut to fret 1, fret 1 to fret 2, and so on. Limits and
// errors are those of Positions.
func Spaces(scale unit.Length, frets int) ([]unit.Length, error) {
	at, err := Positions(scale, frets)
	if err != nil {
		return nil, err
	}
	for i := len(at) - 1; i > 0; i-- {
		at[i] -= at[i-1]
	}
	return at, nil
}

func check(scale unit.Length, frets int) error {
	return unit.Checks(scaleLimit.Check(float64(scale)), fretsLimit.Check(float64(frets)))
}

// Dot is a position mark: on the board's face at the centreline or between strings, and on its edge.
type Dot struct {
	Fret     int         // the fret the player presses at: the dot lies on its nut side
	Position unit.Length // from the nut to the middle of the space
	Count    int         // 1, or 2 for a pair
}

// Mark names a fret that carries a dot, and how many dots.
type Mark struct{ Fret, Count int }

// Usual returns the marks most guitars carry: 3, 5, 7, 9, a pair at 12, then the same an octave up.
// source: common practice, no source.
func Usual() []Mark {
	return []Mark{{3, 1}, {5, 1}, {7, 1}, {9, 1}, {12, 2}, {15, 1}, {17, 1}, {19, 1}, {21, 1}, {24, 2}, {27, 1}, {29, 1}, {31, 1}, {33, 1}, {36, 2}}
}

// Small returns the marks many ukulele-size instruments carry: 5, 7, 10, a pair at 12, 15.
// source: common practice, no source.
func Small() []Mark { return []Mark{{5, 1}, {7, 1}, {10, 1}, {12, 2}, {15, 1}, {17, 1}, {19, 1}} }

// Dots returns the usual dots that fit on a board of so many frets. Limits and errors are those of
// Positions.
func Dots(scale unit.Length, frets int) ([]Dot, error) { return DotsAt(scale, frets, Usual()) }

// DotsAt returns the dots of marks that fit on a board of so many frets, in the order given; each stands
// in the middle between its fret and the one before. A mark past the last fret is left out.
//
// Valid for: marks with fret 1 or more and 1 to 3 dots; otherwise a *unit.RangeError naming dots. The other
// limits are those of Positions.
func DotsAt(scale unit.Length, frets int, marks []Mark) ([]Dot, error) {
	if err := check(scale, frets); err != nil {
		return nil, err
	}
	out := make([]Dot, 0, len(marks))
	for _, m := range marks {
		if m.Fret < 1 || m.Fret > MostFrets {
			return nil, &unit.RangeError{Limit: unit.Limit{Field: "dots", Label: unit.Say("fret of a dot"), Kind: unit.KindCount, Min: 1, Max: MostFrets}, Value: float64(m.Fret)}
		}
		if m.Count < 1 || m.Count > 3 {
			return nil, &unit.RangeError{Limit: unit.Limit{Field: "dots", Label: unit.Say("dots at one fret"), Kind: unit.KindCount, Min: 1, Max: 3}, Value: float64(m.Count)}
		}
		if m.Fret <= frets {
			out = append(out, Dot{Fret: m.Fret, Position: (Distance(scale, m.Fret-1) + Distance(scale, m.Fret)) / 2, Count: m.Count})
		}
	}
	return out, nil
}

// Running is one line of a list to mark frets from with a steel rule laid once against the nut.
type Running struct {
	Fret     int
	Position unit.Length // true distance from the nut
	Reading  unit.Length // the rule's nearest graduation
	Rest     unit.Length // true less reading: + means mark a little past the line, toward the saddle
}

// RunningDistances lists every fret as a reading on a rule, each from the nut, with what the rule cannot
// show. Because no reading builds on the one before, no rest is ever larger than half a graduation.
//
// Valid for: graduation 0.01 mm to 2 mm (0.5 mm, 1/64 in, 1/100 in are usual); otherwise a
// *unit.RangeError naming graduation. The other limits are those of Positions.
func RunningDistances(scale unit.Length, frets int, graduation unit.Length) ([]Running, error) {
	step := unit.Limit{Field: "graduation", Label: unit.Say("graduation of the rule"), Kind: unit.KindLength, Min: 1e-5, Max: 2e-3}
	if err := step.Check(float64(graduation)); err != nil {
		return nil, err
	}
	at, err := Positions(scale, frets)
	if err != nil {
		return nil, err
	}
	out := make([]Running, len(at))
	for i, p := range at {
		reading := unit.Length(math.Round(float64(p/graduation))) * graduation
		out[i] = Running{Fret: i + 1, Position: p, Reading: reading, Rest: p - reading}
	}
	return out, nil
}
