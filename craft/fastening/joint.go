package fastening

import (
	"fmt"
	"math"
	"strings"

	"fairset/unit"
)

// MostBolts bounds the bolts of one joint.
const MostBolts = 8

// Bolt is one hanger bolt of a joint.
type Bolt struct {
	Depth       unit.Length // below the top edge; 5 to 150 mm
	Diameter    unit.Length // unthreaded shank; 2.5 to 13 mm
	Penetration unit.Length // wood thread in the heel, without its tapered point; 3 to 150 mm
}

// JointInput is what the strings pull on and what holds.
type JointInput struct {
	Tension         unit.Force  // all strings together; 20 to 5000 N
	StringHeight    unit.Length // strings over the top edge at the joint; 0.5 to 60 mm
	SpecificGravity float64     // heel wood, ovendry; 0.1 to 1.4
	EndGrain        bool        // bolts run along the heel's grain
	Bolts           []Bolt
}

// BoltLoad is what one bolt carries.
type BoltLoad struct {
	Tension     unit.Force
	Allowable   unit.Force // design withdrawal load
	Utilisation float64    // tension over allowable
}

// Joint is the estimate for a whole joint.
type Joint struct {
	Moment float64 // N·m about the top edge
	Bolts  []BoltLoad
}

var (
	tensionLimit  = unit.Limit{Field: "string_tension", Label: unit.Say("pull of all strings"), Kind: unit.KindForce, Min: 20, Max: 5000}
	heightLimit   = unit.Limit{Field: "string_height_at_joint", Label: unit.Say("string height over the top edge"), Kind: unit.KindLength, Min: 0.0005, Max: 0.060}
	depthLimit    = unit.Limit{Field: "depth", Label: unit.Say("depth of a bolt below the top"), Kind: unit.KindLength, Min: 0.005, Max: 0.150}
	diameterLimit = unit.Limit{Field: "diameter", Label: unit.Say("bolt diameter"), Kind: unit.KindLength, Min: 0.0025, Max: 0.013}
	biteLimit     = unit.Limit{Field: "thread_penetration", Label: unit.Say("wood thread in the heel"), Kind: unit.KindLength, Min: 0.003, Max: 0.150}
	boltsLimit    = unit.Limit{Field: "bolts", Label: unit.Say("number of bolts"), Kind: unit.KindCount, Min: 1, Max: MostBolts}
)

// LimitOf returns the range a field is accepted in, by its key; those of a bolt are bolts.depth,
// bolts.diameter and bolts.thread_penetration, and bolts is how many there may be.
func LimitOf(field string) (unit.Limit, bool) {
	own, of, nested := strings.Cut(field, ".")
	if nested && own != "bolts" {
		return unit.Limit{}, false
	}
	all := []unit.Limit{tensionLimit, heightLimit, gravityLimit, boltsLimit, errorLimit, holeLimit}
	if nested {
		own, all = of, []unit.Limit{depthLimit, diameterLimit, biteLimit}
	}
	for _, l := range all {
		if l.Field == own {
			return l, true
		}
	}
	return unit.Limit{}, false
}

// endGrain is the share of the side-grain value that a lag thread holds in end grain.
// source: NDS 2018, end grain factor C_eg for lag screws in withdrawal.
const endGrain = 0.75

// shortThread is how many diameters of wood thread in end grain are too few to trust the formula.
// source: common practice, no source (our own figure).
const shortThread = 3

// Withdrawal returns the design withdrawal load per length of wood thread in side grain, in N/m.
//
//	W = 1800·G^(3/2)·D^(3/4)   in lbf per inch of thread, D in inches
//
// Nothing is checked: JointLoad does. For the normal (ten-year) duration of load.
// Source: NDS 2018, 12.2.1.
func Withdrawal(gravity float64, diameter unit.Length) float64 {
	G, D := gravity, diameter.Inches()
	return 1800 * math.Pow(G, 1.5) * math.Pow(D, 0.75) * float64(unit.PoundForce) / 0.0254
}

// JointLoad estimates what string pull asks of each bolt, against what the wood is designed to hold.
//
//	M = T·h,  F_i = M·z_i/Σz²
//
// The heel is taken as rigid and turning on the top edge, so a bolt's force grows with its depth z. It is an
// estimate to compare layouts and to see a gross fault; it always says so. Glue, friction in the mortise and
// the board's extension are left out, and the wood's strength is a table's, not this heel's.
//
// Errors are *unit.RangeError; those of a bolt name it, e.g. bolts[1].depth.
// Source: statics, docs/method/fastening.md; allowable NDS 2018 12.2.1.
func JointLoad(in JointInput) (Joint, []unit.Warning, error) {
	if err := in.check(); err != nil {
		return Joint{}, nil, err
	}
	T, h := float64(in.Tension), float64(in.StringHeight)
	M := T * h
	sum := 0.0
	for _, b := range in.Bolts {
		sum += float64(b.Depth) * float64(b.Depth)
	}
	j := Joint{Moment: M}
	warn := []unit.Warning{{Code: "estimate", Say: unit.Say("This load is an estimate to compare layouts and to see a gross fault, not an engineer's design. The allowable load is for up to ten years; string pull never lets go, and the usual factor for that, 0.9, is not taken off.")}}
	grain := 1.0
	if in.EndGrain {
		grain = endGrain
	}
	for i, b := range in.Bolts {
		F := M * float64(b.Depth) / sum
		P := Withdrawal(in.SpecificGravity, b.Diameter) * grain * float64(b.Penetration)
		j.Bolts = append(j.Bolts, BoltLoad{unit.Force(F), unit.Force(P), F / P})
		field := fmt.Sprintf("bolts[%d]", i)
		if F > P {
			warn = append(warn, unit.Warning{Code: "overloaded", Field: field,
				Say: unit.Say("Bolt %d would carry %v, more than the %v its thread is designed to hold. Use a longer or thicker bolt, or place it deeper.", i+1, unit.Force(F), unit.Force(P))})
		}
		if in.EndGrain && b.Penetration < shortThread*b.Diameter {
			warn = append(warn, unit.Warning{Code: "short_thread", Field: field + ".thread_penetration",
				Say: unit.Say("Bolt %d has only %v of wood thread in end grain: less than three times its diameter holds poorly, whatever the figure says.", i+1, b.Penetration)})
		}
		if b.Diameter < 0.19*unit.Inch-hair || b.Diameter > 0.5*unit.Inch+hair {
			warn = append(warn, unit.Warning{Code: "diameter_outside_table", Field: field + ".diameter",
				Say: unit.Say("Bolt %d, %v thick, lies outside the lag screws the formula was made for.", i+1, unit.FineLength(b.Diameter))})
		}
	}
	warn = append(warn, gravityWarning(in.SpecificGravity)...)
	return j, warn, nil
}

func (in JointInput) check() error {
	if err := unit.Checks(tensionLimit.Check(float64(in.Tension)), heightLimit.Check(float64(in.StringHeight)),
		gravityLimit.Check(in.SpecificGravity), boltsLimit.Check(float64(len(in.Bolts)))); err != nil {
		return err
	}
	for i, b := range in.Bolts {
		at := func(l unit.Limit, v unit.Length) error {
			l.Field = fmt.Sprintf("bolts[%d].%s", i, l.Field)
			return l.Check(float64(v))
		}
		if err := unit.Checks(at(depthLimit, b.Depth), at(diameterLimit, b.Diameter), at(biteLimit, b.Penetration)); err != nil {
			return err
		}
	}
	return nil
}
