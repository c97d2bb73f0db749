package fastening

import (
	"math"

	"fairset/unit"
)

// Hold is what one fastening holds when pulled out of the heel along its length.
type Hold struct {
	Design   unit.Force // for up to ten years; 0 when the standard gives or allows none
	Lasting  unit.Force // Design for a load that never lets go
	Ultimate unit.Force // where it breaks in the test, on average; 0 when no source gives one
	Steel    unit.Force // where its own steel yields, at the root of its thread
	Barred   bool       // the standard does not allow this way of loading at all
	Say      unit.Phrase
	Source   string
}

const (
	// lasting is the share of a ten-year load that wood is designed for under a load that never lets go.
	// source: NDS 2018, Table 2.3.2, C_D permanent (from memory).
	lasting = 0.9
	// steelYield is the yield stress of ordinary lag screw steel.
	// source: Wood Handbook FPL-GTR-282, chapter 8: average yield 310 MPa of the lag screws tested.
	steelYield = 310e6
	// steelE is the modulus of steel. source: 200 GPa, common to steels (from memory).
	steelE = 200e9
)

// UltimateWithdrawal returns the average load a lag thread breaks out of side grain at, per length of thread, in N/m.
//
//	p = 125.4·G^(3/2)·D^(3/4)   in N per mm of thread, D in mm, G at 12 % moisture
//
// Nothing is checked.
// Source: Wood Handbook FPL-GTR-282, equation 8-14.
func UltimateWithdrawal(gravity12 float64, diameter unit.Length) float64 {
	return 125.4 * math.Pow(gravity12, 1.5) * math.Pow(diameter.MM(), 0.75) * 1000
}

// ScrewWithdrawal returns the design withdrawal load of a wood screw in side grain per length of thread, in N/m.
//
//	W = 2850·G²·D   in lbf per inch of thread, D in inches
//
// Nothing is checked.
// Source: NDS 2018, 12.2.2 (from memory).
func ScrewWithdrawal(gravity float64, diameter unit.Length) float64 {
	return 2850 * gravity * gravity * diameter.Inches() * float64(unit.PoundForce) / 0.0254
}

// ScrewUltimate is UltimateWithdrawal for a wood screw.
//
//	p = 108.25·G²·D   in N per mm of thread, D in mm, G at 12 % moisture
//
// Source: Wood Handbook FPL-GTR-282, chapter 8, wood screws (from memory).
func ScrewUltimate(gravity12 float64, diameter unit.Length) float64 {
	return 108.25 * gravity12 * gravity12 * diameter.MM() * 1000
}

// GravityAt12 returns the specific gravity at 12 % moisture (ovendry weight, volume at 12 %) of a wood whose
// ovendry specific gravity is given, for a wood of usual shrinkage.
//
//	G_b = G_0/(1 + 0.265·G_0),  G_12 = G_b/(1 - 0.265·a·G_b),  a = (30 - 12)/30
//
// Source: Wood Handbook FPL-GTR-282, equations 4-11 and 4-13.
func GravityAt12(ovendry float64) float64 {
	b := ovendry / (1 + 0.265*ovendry)
	return b / (1 - 0.265*0.6*b)
}

// PullOut estimates what one fastening of a plan holds.
//
// A hanger bolt goes by the lag screw figures, three quarters of them in end grain; a wood screw by its own,
// which the standard does not allow in end grain at all. A barrel goes by its bearing on the wood: no more
// than length × thickness × 11200·G psi / 4, less in proportion when it lies nearer the end than five
// thicknesses. An insert has no published figure here: it is reckoned as a lag thread of its outside
// thickness, and that is a guess.
//
// The input must have passed PlanJoint.
// Sources: NDS 2018 12.2.1, 12.2.2, 12.3.3 and Tables 2.3.2, 12.3.1B (from memory but for 12.2.1); Wood Handbook FPL-GTR-282 equation 8-14.
func (p Plan) PullOut(in PlanInput) Hold {
	G, G12 := in.Drill.SpecificGravity, GravityAt12(in.Drill.SpecificGravity)
	grain := 1.0
	if in.InEndGrain {
		grain = endGrain
	}
	t := p.Advice.Thread
	h := Hold{Steel: unit.Force(steelYield * t.StressArea)}
	L := float64(p.Engaged)
	switch p.Kind {
	case KindHanger:
		h.Design = unit.Force(Withdrawal(G, t.Major) * grain * L)
		h.Ultimate = unit.Force(UltimateWithdrawal(G12, t.Major) * grain * L)
		if p.Advice.HasWood {
			r := float64(p.Advice.Wood.Root)
			h.Steel = min(h.Steel, unit.Force(steelYield*math.Pi/4*r*r))
		}
		h.Say = unit.Say("Lag thread in withdrawal, its point not counted, three quarters in end grain.")
		h.Source = "NDS 2018, 12.2.1, C_eg; Wood Handbook FPL-GTR-282, equation 8-14"
	case KindScrew:
		s, _ := FindScrew(in.Screw) // PlanJoint has found it
		r := float64(s.Root)
		h.Steel = unit.Force(steelYield * math.Pi / 4 * r * r)
		h.Ultimate = unit.Force(ScrewUltimate(G12, s.Major) * grain * L)
		h.Design = unit.Force(ScrewWithdrawal(G, s.Major) * L)
		h.Say = unit.Say("Wood screw in withdrawal from side grain.")
		if in.InEndGrain {
			h.Design, h.Barred = 0, true
			h.Say = unit.Say("The standard does not allow a wood screw to be pulled out of end grain: what it holds there scatters too much. Use a bolt.")
		}
		h.Source = "NDS 2018, 12.2.2 (from memory); Wood Handbook, chapter 8 (from memory)"
	case KindInsert:
		h.Design = unit.Force(Withdrawal(G, in.Insert.Outer) * grain * L)
		h.Say = unit.Say("Reckoned as a lag thread of the insert's outside thickness. No source gives a figure for inserts: pull one out of an offcut before you trust it.")
		h.Source = "NDS 2018, 12.2.1 carried over to an insert: common practice, no source"
	case KindBarrel:
		d, l := in.Barrel.Diameter, in.Barrel.Length-p.Holes[0].Drill.Diameter // what the bolt's own hole takes bears nothing
		bearing := 11200 * G * float64(unit.PoundForce) / (0.0254 * 0.0254)    // Pa, along the grain
		reach := math.Min(1, float64(in.Barrel.Set/(barrelEnd*d)))
		if reach < 0.5 {
			reach = 0
		}
		h.Design = unit.Force(math.Max(0, float64(d)*float64(l)) * bearing / 4 * reach)
		h.Say = unit.Say("Bearing of the barrel on the wood along the grain, in hardwood; less when the barrel lies nearer the end than five of its thicknesses, nothing under half of that.")
		h.Source = "NDS 2018, 12.3.3 and Tables 12.3.1B, 12.5.1A (from memory)"
	}
	h.Lasting = lasting * h.Design
	return h
}

// BoltStand is how one bolt stands under the strings.
type BoltStand struct {
	Depth   unit.Length
	Tension unit.Force
	Safety  float64 // Lasting over tension; 0 when the standard gives no figure
	Breaks  float64 // Ultimate over tension; 0 when no source gives one
	Steel   float64 // Steel over tension
}

// Stand is the estimate of a joint under string pull.
type Stand struct {
	Moment   float64 // N·m, of the strings about the top edge
	Hold     Hold    // of each fastening
	Bolts    []BoltStand
	Safety   float64    // least of the bolts'
	Holds    float64    // N·m at which the hardest-worked bolt reaches its lasting figure
	Edge     unit.Force // press of the heel on the body at the top edge
	Opening  unit.Angle // by the bolts' own stretch alone; 0 when the block is not known
	Weakest  int        // bolt that works hardest, from 0
	Assumes  []unit.Phrase
	Warnings []unit.Warning
}

// Stands estimates how the joint of a plan stands against the strings' moment: the pull on each bolt, the
// safety it leaves, the press at the top edge, and how far the bolts' stretch alone lets the joint open.
//
//	F_i = M·z_i/Σz²,  Edge = T + ΣF_i,  opening = M/Σ(k·z²),  k = E·A/free length
//
// The input must have passed PlanJoint and hold a moment, a tension and depths; ok is false when it does not.
// Source: statics, docs/method/fastening.md; the figures for what holds are PullOut's.
func (p Plan) Stands(in PlanInput) (s Stand, ok bool) {
	M := in.StringMoment
	if !(M > 0) || !unit.Finite(M) || len(in.Depths) == 0 || !(in.StringTension > 0) {
		return s, false
	}
	sum := 0.0
	for _, z := range in.Depths {
		sum += float64(z) * float64(z)
	}
	if !(sum > 0) {
		return s, false
	}
	s = Stand{Moment: M, Hold: p.PullOut(in), Edge: in.StringTension}
	for i, z := range in.Depths {
		F := unit.Force(M * float64(z) / sum)
		s.Edge += F
		b := BoltStand{Depth: z, Tension: F, Safety: float64(s.Hold.Lasting / F), Breaks: float64(s.Hold.Ultimate / F), Steel: float64(s.Hold.Steel / F)}
		s.Bolts = append(s.Bolts, b)
		if F > s.Bolts[s.Weakest].Tension {
			s.Weakest = i
		}
	}
	w := s.Bolts[s.Weakest]
	s.Safety, s.Holds = w.Safety, w.Safety*M
	free := float64(in.Block + p.LeftOut)
	if p.Kind == KindBarrel {
		free += float64(in.Barrel.Set)
	}
	if area := p.Advice.Thread.StressArea; in.Block > 0 && area > 0 {
		s.Opening = unit.Angle(M * free / (steelE * area * sum))
	}
	s.Assumes = []unit.Phrase{
		unit.Say("The heel is stiff and turns on the top edge; a bolt's pull grows with its depth."),
		unit.Say("Only the bolts hold: glue, the tenon's friction and the board over the top are left out, and they help."),
		unit.Say("The strings' pull acts at its height over the top edge; what a player adds is left out."),
		unit.Say("The wood is as its table says and sound; 0.9 is taken for a load that never lets go."),
		unit.Say("It is an estimate to compare layouts and see a gross fault, not an engineer's design."),
	}
	if s.Hold.Barred {
		s.Warnings = append(s.Warnings, unit.Warning{Code: "not_allowed", Field: "fastening", Say: s.Hold.Say})
	} else if s.Safety < 1 {
		s.Warnings = append(s.Warnings, unit.Warning{Code: "overloaded", Field: "bolt_depths", Say: unit.Say("Bolt %d would carry %v, more than the %v it should hold for good. Use a longer or thicker bolt, or place it deeper.", s.Weakest+1, w.Tension, s.Hold.Lasting)})
	}
	if w.Steel < 1 {
		s.Warnings = append(s.Warnings, unit.Warning{Code: "steel_yields", Field: "thread", Say: unit.Say("Bolt %d would carry %v, more than its steel takes at the root of its thread, %v.", s.Weakest+1, w.Tension, s.Hold.Steel)})
	}
	return s, true
}
