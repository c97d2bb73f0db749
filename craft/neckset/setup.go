package neckset

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Sides is one figure for the bass side and one for the treble side.
type Sides struct{ Bass, Treble unit.Length }

// SetupInput is what is read on the strung guitar.
type SetupInput struct {
	ScaleLength, SaddleSetback unit.Length
	Action, Wanted             Sides     // at fret 12
	Cents                      []float64 // fretted fret 12 over the octave of the open string, + sharp, per string from the bass
}

// Setup is what to do at the saddle.
type Setup struct {
	SaddleRemoval Sides         // off the saddle's top; negative: it must be that much taller
	SaddleMove    []unit.Length // per string; + away from the nut
}

// SetUp returns the wood or bone to take off the saddle and how far each string's saddle point must move.
//
//	removal = (action - wanted)(L + S)/(L/2)
//	(L + S + d)/(L/2 + S + d) = 2^(-c/1200) (L + S)/(L/2 + S)
//
// Up to 24 strings, cents from -100 to 100. Errors are *unit.RangeError. Source: derived in docs/method/neckset.md.
func SetUp(in SetupInput) (Setup, []unit.Warning, error) {
	var c checker
	c.length("scale_length", in.ScaleLength)
	c.length("saddle_setback", in.SaddleSetback)
	checkActions(&c, in.Action, in.Wanted)
	if len(in.Cents) > 24 && c.err == nil {
		c.err = &unit.RangeError{Limit: limits["cents_at_12"].Limit, Value: float64(len(in.Cents)), Got: fmt.Sprintf("%d readings", len(in.Cents)), Why: unit.Say("at most 24 strings")}
	}
	for _, v := range in.Cents {
		c.need("cents_at_12", v)
	}
	if c.err != nil {
		return Setup{}, nil, c.err
	}
	L, S := float64(in.ScaleLength), float64(in.SaddleSetback)
	k := (L + S) / (L / 2)
	out := Setup{
		SaddleRemoval: Sides{unit.Length(float64(in.Action.Bass-in.Wanted.Bass) * k), unit.Length(float64(in.Action.Treble-in.Wanted.Treble) * k)},
		SaddleMove:    make([]unit.Length, len(in.Cents)),
	}
	if out.SaddleRemoval.Bass < 0 || out.SaddleRemoval.Treble < 0 {
		c.warn("saddle_too_low", "action12", unit.Say("The action is under what is wanted: the saddle must be taller there, so make a new one or shim it."))
	}
	if max(out.SaddleRemoval.Bass, out.SaddleRemoval.Treble) > 3*unit.MM {
		c.warn("saddle_removal_large", "action12", unit.Say("That is more than a saddle usually has to give: check that enough stays over the bridge, or reset the neck."))
	}
	for i, cents := range in.Cents {
		// The fretted string is sharp by c; d cures it. Expm1 keeps small readings exact and zero at zero.
		e := math.Expm1(-cents / 1200 * math.Ln2)
		if e != 0 {
			out.SaddleMove[i] = unit.Length((L + S) * e * (L/2 + S) / (-L/2 - e*(L+S)))
		}
	}
	return out, c.warns, nil
}

func checkActions(c *checker, action, wanted Sides) {
	c.length("action12.bass", action.Bass)
	c.length("action12.treble", action.Treble)
	c.length("target_action12.bass", wanted.Bass)
	c.length("target_action12.treble", wanted.Treble)
}

// RepairInput is a finished guitar with no design: what it plays like now and what is wanted.
type RepairInput struct {
	ScaleLength, SaddleSetback unit.Length
	Action, Wanted             Sides       // at fret 12, strung
	Gap                        unit.Length // fret line over the top at the saddle as it is now
}

// Repair returns the gap to set the neck to so that the same strings, nut and saddle give the wanted
// action, and the twist: how much more the bass side is to come down than the treble side, at fret 12,
// which no cut of the heel can cure (the saddle can).
//
//	gap target = gap + mean(action - wanted)(L + S)/(L/2)
//
// Whatever string pull does now it does after the cut as well, so it drops out. Errors are *unit.RangeError.
// Source: derived in docs/method/neckset.md.
func Repair(in RepairInput) (gapTarget, twist unit.Length, err error) {
	var c checker
	c.length("scale_length", in.ScaleLength)
	c.length("saddle_setback", in.SaddleSetback)
	checkActions(&c, in.Action, in.Wanted)
	c.length("gap", in.Gap)
	if c.err != nil {
		return 0, 0, c.err
	}
	bass, treble := in.Action.Bass-in.Wanted.Bass, in.Action.Treble-in.Wanted.Treble
	k := float64(in.ScaleLength+in.SaddleSetback) / float64(in.ScaleLength/2)
	return in.Gap + unit.Length(float64(bass+treble)/2*k), bass - treble, nil
}
