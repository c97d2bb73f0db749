package neckset

import (
	"math"

	"fairset/unit"
)

// CutInput is what the next cut is planned from: the heel, and what is known at the saddle.
type CutInput struct {
	SaddleDistance unit.Length
	Heel           Heel

	GapTarget      unit.Length
	GapMeasured    unit.Length // the belief's mean, or the one reading there is
	OffsetMeasured unit.Length // + when the neck's centreline passes on the treble side
	GapSD          unit.Length // infinite: not read yet, so left alone
	OffsetSD       unit.Length
	CutSD          float64 // standard deviation of a cut, as a fraction of it
	Risk           float64 // accepted chance of going past, 0.001 to 0.5

	GapTolerance    unit.Length // 0: none given
	OffsetTolerance unit.Length
	GapReadSD       unit.Length // of the next reading; 0: as GapSD
	OffsetReadSD    unit.Length

	// GapMade and OffsetMade are the changes aimed at so far (sums of PlannedGap and PlannedOffset); they
	// tell a neck that has gone past from one that starts on that side. 0 on the first pass.
	GapMade, OffsetMade unit.Length
}

// Cut is one cut of the heel face, and what to expect of it.
//
// Offset figures here have the sign of the swing: + swings the head to treble, and so takes that much off
// an offset on the treble side. A belief of the offset is therefore cut by -PlannedOffset; After does it.
type Cut struct {
	PitchChange, YawChange      unit.Angle  // of the full change; + leans back, + head to treble
	GapNeed, OffsetNeed         unit.Length // full change at the saddle
	Full, Planned               Corners     // depths; the least corner is 0
	FullShift, PlannedShift     unit.Length // how far the nut comes nearer the bridge
	PlannedGap, PlannedOffset   unit.Length // change aimed at now
	RecutExpected               float64     // further passes to expect after this one; 0 when nothing is planned
	PastChance                  float64     // chance that this cut goes past the target, on either axis
	GapInChance, OffsetInChance float64     // chance of lying within tolerance as it is now; 0 without a tolerance
	Leave                       bool
	Verdict                     Verdict
}

// Verdict is what to do now.
type Verdict string

// The verdicts.
const (
	LeaveIt   Verdict = "leave" // within tolerance: a pass would more likely hurt, or do nothing, than help
	CutNow    Verdict = "cut"
	ReadAgain Verdict = "read" // not sure enough to cut, nor to leave it
	GonePast  Verdict = "past" // the other edge must be cut, or a shim glued: see Remedies
)

// finest is the least change at the saddle worth a pass, whatever the readings claim: 0.01 mm there is a
// few thousandths at the heel.
const finest = 0.01e-3

// NextCut returns the one cut that brings the neck nearest its target in lean and swing together, with the
// least wood and no more than the accepted chance of going past.
//
// Removal over the heel face is the plane k + (o/D) y - (g/D) z with k such that its least corner is 0. Of
// the full change n on an axis, the cut aims at p, with
//
//	p + z sqrt(s² + (rho p)²) = |n|,  z the normal quantile of 1 - risk;  p = 0 when |n| <= z s
//
// Without a tolerance the risk holds for each axis and each pass. With one, it is meant for the whole neck:
// a pass takes a quarter of it, shared by the axes it cuts, and rho is taken as it looks from the deep side
// of a log-normal spread; an axis within tolerance is not worth a pass, and Verdict says when to leave it
// or to read once more first; the plan is then still there for a maker who would rather cut.
//
// Errors are *unit.RangeError naming the field. Source: derived in docs/method/neckset.md.
func NextCut(in CutInput) (Cut, []unit.Warning, error) {
	var c checker
	in.check(&c)
	if c.err != nil {
		return Cut{}, nil, c.err
	}
	D := float64(in.SaddleDistance)
	gap, off := in.axes()
	out := Cut{
		GapNeed:     unit.Length(gap.need),
		OffsetNeed:  unit.Length(off.need),
		PitchChange: unit.Angle(math.Atan(gap.need / D)),
		YawChange:   unit.Angle(math.Atan(off.need / D)),
	}
	out.Full, out.FullShift = in.Plane(out.GapNeed, out.OffsetNeed)
	out.GapInChance, out.OffsetInChance = gap.inChance(), off.inChance()

	plan := in.rule().plan(gap, off)
	out.PlannedGap, out.PlannedOffset = unit.Length(plan.gap), unit.Length(plan.off)
	out.Verdict = plan.verdict
	out.Leave = plan.verdict == LeaveIt
	out.Planned, out.PlannedShift = in.Plane(out.PlannedGap, out.PlannedOffset)
	if plan.gap != 0 || plan.off != 0 {
		out.PastChance = 1 - (1-gap.pastChance(plan.gap, plan.z))*(1-off.pastChance(plan.off, plan.z))
		out.RecutExpected = plan.forecast(gap, off)
	}
	in.warn(&c, out)
	if gap.hopeless() && out.PlannedGap == 0 {
		c.warn("rule_too_coarse", "gap_tolerance", unit.Say("The gap has been read as well as this rule can, and it still cannot be told whether it is within tolerance: read with a finer rule or a stepped wedge, or widen the tolerance."))
	}
	if off.hopeless() && out.PlannedOffset == 0 {
		c.warn("rule_too_coarse", "offset_tolerance", unit.Say("The offset has been read as well as this rule can, and it still cannot be told whether it is within tolerance: read with a finer rule, or widen the tolerance."))
	}
	return out, c.warns, nil
}

func (in CutInput) check(c *checker) {
	in.checkHeel(c)
	c.length("gap_target", in.GapTarget)
	c.length("gap_measured", in.GapMeasured)
	c.length("offset_measured", in.OffsetMeasured)
	// An infinite spread says "not read yet"; anything else must be an ordinary spread.
	if !math.IsInf(float64(in.GapSD), 1) {
		c.length("gap_sd", in.GapSD)
	}
	if !math.IsInf(float64(in.OffsetSD), 1) {
		c.length("offset_sd", in.OffsetSD)
	}
	c.need("cut_sd_fraction", in.CutSD)
	c.need("overshoot_risk", in.Risk)
	c.length("gap_tolerance", in.GapTolerance)
	c.length("offset_tolerance", in.OffsetTolerance)
	c.length("gap_read_sd", in.GapReadSD)
	c.length("offset_read_sd", in.OffsetReadSD)
	c.length("gap_made", in.GapMade)
	c.length("offset_made", in.OffsetMade)
}

func (in CutInput) checkHeel(c *checker) {
	c.length("saddle_distance", in.SaddleDistance)
	c.length("heel_height", in.Heel.Height)
	c.length("heel_width_top", in.Heel.WidthTop)
	c.length("heel_width_cap", in.Heel.WidthCap)
}

func (in CutInput) warn(c *checker, out Cut) {
	if math.IsInf(float64(in.GapSD), 1) {
		c.warn("gap_unread", "gap_measured", unit.Say("The gap has not been read: the lean is left alone."))
	}
	if math.IsInf(float64(in.OffsetSD), 1) {
		c.warn("offset_unread", "offset_measured", unit.Say("Where the centreline passes has not been read: the swing is left alone."))
	}
	if d := out.Full.Deepest(); d > 3*unit.MM {
		c.warn("deep_cut", "gap_measured", unit.Say("The whole change takes %v off the heel at its deepest: check the reading, the wood there is, and the other remedies first.", d))
	}
	if in.Heel.WidthCap > in.Heel.WidthTop {
		c.warn("heel_flares", "heel_width_cap", unit.Say("The heel is wider at the cap than at the top edge: check that the two widths are not swapped."))
	}
	if out.FullShift > 1*unit.MM {
		c.warn("neck_shift", "saddle_distance", unit.Say("The whole change brings the nut %v nearer the bridge: measure for the bridge again after the last cut.", out.FullShift))
	}
}

// Plane returns the corner depths of the cut that changes the gap and swings the neck by those amounts at
// the saddle, with the least wood, and the neck shift it costs.
//
// gapChange is + to lean back; offsetChange is + to swing the head to treble (the offset falls by it).
func (in CutInput) Plane(gapChange, offsetChange unit.Length) (depth Corners, shift unit.Length) {
	v := in.tilt(gapChange, offsetChange)
	least := min(v[0], v[1], v[2], v[3])
	at := func(i int) unit.Length { return unit.Length(v[i] - least) }
	return Corners{at(0), at(1), at(2), at(3)}, unit.Length(0 - least)
}

// tilt is (o/D) y - (g/D) z at the corners: top bass, top treble, cap bass, cap treble.
func (in CutInput) tilt(gapChange, offsetChange unit.Length) [4]float64 {
	D := float64(in.SaddleDistance)
	a, b := float64(offsetChange)/D, float64(gapChange)/D
	wt, wc, h := float64(in.Heel.WidthTop)/2, float64(in.Heel.WidthCap)/2, float64(in.Heel.Height)
	return [4]float64{-a * wt, a * wt, -a*wc + b*h, a*wc + b*h}
}

// DepthAt returns the depth of that cut at any place on the face: y toward treble; z up from the top edge,
// so that the face lies at z from minus the heel's height to 0.
func (in CutInput) DepthAt(y, z, gapChange, offsetChange unit.Length) unit.Length {
	v := in.tilt(gapChange, offsetChange)
	D := float64(in.SaddleDistance)
	return unit.Length(float64(offsetChange)/D*float64(y)-float64(gapChange)/D*float64(z)) - unit.Length(min(v[0], v[1], v[2], v[3]))
}

// Deepest returns the largest of the four depths.
func (c Corners) Deepest() unit.Length { return max(c.TopBass, c.TopTreble, c.CapBass, c.CapTreble) }

// After returns what is believed of gap and offset once the planned cut is made, with the spread of the cut
// as a fraction of it: the signs are taken care of.
func (c Cut) After(gap, offset Belief, cutSD float64) (Belief, Belief) {
	return gap.Cut(c.PlannedGap, unit.Length(cutSD)*c.PlannedGap.Abs()),
		offset.Cut(-c.PlannedOffset, unit.Length(cutSD)*c.PlannedOffset.Abs())
}
