package wood

import (
	"fmt"
	"math"

	"fairset/unit"
)

// The moistures between which the handbook's coefficients hold.
// source: Wood Handbook, FPL-GTR-282, chapter 13, text at equation 13-2.
const (
	normalDriest  = Percent(6)
	normalWettest = Percent(14)
)

// Move is a board that goes from one moisture to another.
type Move struct {
	Width       unit.Length // across the grain, at the first moisture
	Coefficient float64     // change of width for 1 % of moisture, as a share; see Species.Moves
	From, To    Percent     // moisture of the wood
}

// Change returns how much wider the board gets; negative when it shrinks.
//
//	change = width × coefficient × (to - from)
//
// Within 6 to 14 % moisture this is the handbook's own way; beyond it the figure comes with a warning. The
// spread of a single board about its kind's mean is not known to us; a quarter is a fair guess (common
// practice, no source). Errors are *unit.RangeError on width, coefficient, from or to.
// Source: Wood Handbook, FPL-GTR-282, equation 13-2.
func (m Move) Change() (unit.Length, []unit.Warning, error) {
	if err := unit.Checks(need("width", float64(m.Width)), need("coefficient", m.Coefficient)); err != nil {
		return 0, nil, err
	}
	var warn []unit.Warning
	for _, e := range []struct {
		field string
		v     Percent
	}{{"from", m.From}, {"to", m.To}} {
		l := limits["emc"]
		l.Field = e.field
		if err := l.Check(float64(e.v)); err != nil {
			return 0, nil, err
		}
		if e.v < normalDriest || e.v > normalWettest {
			warn = append(warn, unit.Warning{Code: "beyond_normal_moisture", Field: e.field,
				Say: unit.Say("Wood at %v %% moisture lies outside 6 to 14 %%, between which the coefficient holds. Treat the movement as rough.", fmt.Sprintf("%.1f", float64(e.v)))})
		}
	}
	return m.Width * unit.Length(m.Coefficient*float64(m.To-m.From)), warn, nil
}

// RingedAt returns the coefficient of a board whose rings stand at an angle to its face: 90° is quartersawn,
// 0 flatsawn. Strain turns as a tensor does: C = C_R sin² + C_T cos². The angle must be 0 to 90°.
// Source: derived in docs/method/wood.md.
func (s Species) RingedAt(rings unit.Angle) (float64, error) {
	if err := need("rings", rings.Degrees()); err != nil {
		return 0, err
	}
	sin, cos := math.Sincos(float64(rings))
	return s.Radial*sin*sin + s.Tangential*cos*cos, nil
}

// GlueUp is the movement of boards glued edge to edge, each as wide as it is.
//
// Changes lists each board's own. What is said of Move.Change holds. Errors name boards[i].width and so on.
func GlueUp(boards []Move) (total unit.Length, changes []unit.Length, warn []unit.Warning, err error) {
	l := unit.Limit{Field: "boards", Label: unit.Say("boards glued up"), Kind: unit.KindCount, Min: 1, Max: 24}
	if err := l.Check(float64(len(boards))); err != nil {
		return 0, nil, nil, err
	}
	for i, b := range boards {
		d, w, err := b.Change()
		if re, ok := err.(*unit.RangeError); ok {
			re.Field = fmt.Sprintf("boards[%d].%s", i, re.Field)
		}
		if err != nil {
			return 0, nil, nil, err
		}
		if len(warn) == 0 {
			warn = w
		}
		total += d
		changes = append(changes, d)
	}
	return total, changes, warn, nil
}

// Diffusion is how fast water spreads through wood across the grain, m²/s, at room temperature and common
// moisture: between half and twice this. source: from memory, after J. F. Siau, Transport Processes in Wood
// (1984); good for an order of magnitude only.
const Diffusion = 1e-10

// Lag returns the time constant with which a board follows the air: after it, about two thirds of a change
// are done, after two and a half of them nine tenths.
//
//	lag = 4 ℓ²/(π² D)
//
// ℓ is half the thickness for a board open to the air on both faces, the whole for one sealed on one face;
// a finish on both slows it much more. An order of magnitude, no better. Thickness 0.1 to 200 mm; the error
// is a *unit.RangeError naming thickness. Source: slowest part of diffusion into a slab, J. Crank, The
// Mathematics of Diffusion (1975), section 4.3; D from memory.
func Lag(thickness unit.Length, sealed bool) (seconds float64, err error) {
	if err := need("thickness", float64(thickness)); err != nil {
		return 0, err
	}
	l := float64(thickness) / 2
	if sealed {
		l *= 2
	}
	return 4 * l * l / (math.Pi * math.Pi * Diffusion), nil
}

// Steady is how long a board takes to make nine tenths of a change: 0.85 ℓ²/D, in seconds. What is said of
// Lag holds.
// source: 1 - (8/π²) exp(-π² D t/4ℓ²) = 0.9 gives D t/ℓ² = 0.848; Crank, section 4.3.
func Steady(thickness unit.Length, sealed bool) (seconds float64, err error) {
	lag, err := Lag(thickness, sealed)
	return lag * math.Log(80/(math.Pi*math.Pi)), err
}

// Roughly says a time as an order of magnitude: "some hours", "about a week".
func Roughly(seconds float64) unit.Text {
	const hour, day = 3600.0, 86400.0
	switch {
	case seconds < 2*hour:
		return "an hour or two"
	case seconds < 12*hour:
		return "some hours"
	case seconds < 2*day:
		return "about a day"
	case seconds < 5*day:
		return "some days"
	case seconds < 12*day:
		return "about a week"
	case seconds < 45*day:
		return "some weeks"
	case seconds < 400*day:
		return "some months"
	}
	return "more than a year"
}
