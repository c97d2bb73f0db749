package neckset

import (
	"math"

	"fairset/unit"
)

// Target returns what the design asks of the neck set: where the saddle stands, how high the unstrung fret
// line must pass over the top there, and the neck angle that does it.
//
//	l        = L (1 - 2^(-n/12))                 nut to joint fret n
//	D        = L - l + setback - joint offset    joint to saddle
//	h_s      = h_n + (a - dip - h_n)(L + setback)/(L/2)
//	strung   = bridge + saddle projection - h_s
//	on frets = strung + (4 (r - r0)/l + fold) D + rise
//	angle    = atan((on frets + top(D) - F0)/D),  F0 = board + crown + proud
//
// Every field of the Build must lie in its range (LimitOf); otherwise the error is a *unit.RangeError naming
// it. Angles are taken as small in the chain from strung to unstrung; docs/method/neckset.md gives the size
// of that error. Source: derived there.
func (b Build) Target() (Target, []unit.Warning, error) {
	var c checker
	b.check(&c)
	if c.err != nil {
		return Target{}, nil, c.err
	}
	t := b.target()
	deg := t.NeckAngle.Degrees()
	if deg < -3 || deg > 6 {
		c.warn("neck_angle", "", unit.Say("The neck angle comes out at %v, outside the -3° to 6° a guitar can be built with: look again at the bridge, the saddle and the board.", t.NeckAngle.String()))
	}
	if g := t.GapOnFrets.MM(); g < -5 || g > 25 {
		c.warn("gap", "", unit.Say("The gap comes out at %v, which no straight edge at the bench will read: look again at the bridge and the action.", t.GapOnFrets))
	}
	if t.StringHeightAtSaddle < 0 {
		c.warn("string_under_fret_line", "action12", unit.Say("The string would lie under the fret line at the saddle: the wanted action is lower than the nut and the relief allow."))
	}
	if b.Action12-t.Fret12Dip < b.NutHeight {
		c.warn("action_below_nut", "action12", unit.Say("The action at fret 12 is lower than the string at the nut: check both."))
	}
	return t, c.warns, nil
}

func (b Build) check(c *checker) {
	c.length("scale_length", b.ScaleLength)
	c.need("joint_fret", float64(b.JointFret))
	c.length("saddle_setback", b.SaddleSetback)
	c.length("joint_offset", b.JointOffset)
	c.length("board_thickness", b.BoardThickness)
	c.length("fret_crown", b.FretCrown)
	c.length("neck_proud", b.NeckProud)
	c.length("relief", b.Relief)
	c.length("relief_unstrung", b.ReliefUnstrung)
	c.need("joint_fold", float64(b.JointFold))
	c.length("top_rise", b.TopRise)
	c.length("bridge_thickness", b.BridgeThickness)
	c.length("saddle_projection", b.SaddleProjection)
	c.length("nut_height", b.NutHeight)
	c.length("action12", b.Action12)
	if b.Top.Radius != 0 {
		c.length("top_radius", b.Top.Radius)
		c.length("top_apex", b.Top.Apex)
	} else if !b.Top.Apex.Finite() {
		c.length("top_apex", b.Top.Apex)
	}
}

// target is the arithmetic alone, for inputs already checked (and for small excursions around them).
func (b Build) target() Target {
	L := float64(b.ScaleLength)
	S := float64(b.SaddleSetback)
	l := L * (1 - math.Exp2(-float64(b.JointFret)/12))
	D := L - l + S - float64(b.JointOffset)
	dip := 0.0
	if b.JointFret > 12 {
		u1 := L * (1 - math.Exp2(-1.0/12))
		dip = 4 * float64(b.Relief) * (L/2 - u1) * (l - L/2) / ((l - u1) * (l - u1))
	}
	hn := float64(b.NutHeight)
	hs := hn + (float64(b.Action12)-dip-hn)*(L+S)/(L/2)
	strung := float64(b.BridgeThickness) + float64(b.SaddleProjection) - hs
	bend := 4 * float64(b.Relief-b.ReliefUnstrung) / l
	onFrets := strung + (bend+float64(b.JointFold))*D + float64(b.TopRise)
	top := float64(b.Top.Height(unit.Length(D)))
	F0 := float64(b.fretHeight())
	return Target{
		SaddleDistance:       unit.Length(D),
		NutToJoint:           unit.Length(l),
		Fret12Dip:            unit.Length(dip),
		StringHeightAtSaddle: unit.Length(hs),
		GapStrung:            unit.Length(strung),
		GapOnFrets:           unit.Length(onFrets),
		GapOnBoard:           unit.Length(onFrets) - b.FretCrown,
		TopHeightAtSaddle:    unit.Length(top),
		NeckAngle:            unit.Angle(math.Atan((onFrets + top - F0) / D)),
	}
}

// fretHeight is F0: the fret tops over the top's edge at the joint.
func (b Build) fretHeight() unit.Length { return b.BoardThickness + b.FretCrown + b.NeckProud }

// FretLine returns the height of the unstrung fret line at x (+ toward the tail) over the level of the
// joint edge, z = 0, for a neck set at t's angle.
func (b Build) FretLine(x unit.Length, t Target) unit.Length {
	return b.fretHeight() + unit.Length(float64(x)*math.Tan(float64(t.NeckAngle)))
}

// Height returns how far the top at x stands over its own edge at the joint: 0 for a flat top, else
// sqrt(R² - (x-a)²) - sqrt(R² - a²). Beyond the sphere itself it returns NaN.
func (t Top) Height(x unit.Length) unit.Length {
	R, a, xx := float64(t.Radius), float64(t.Apex), float64(x)
	if R == 0 {
		return 0
	}
	// The difference of two nearly equal roots, written so that it keeps its figures for a flat dome.
	return unit.Length((a*a - (xx-a)*(xx-a)) / (math.Sqrt(R*R-(xx-a)*(xx-a)) + math.Sqrt(R*R-a*a)))
}

// Jig returns how far a sanding or routing jig must rise over a run to hold the neck angle.
func (t Target) Jig(run unit.Length) unit.Length {
	return unit.Length(float64(run) * math.Tan(float64(t.NeckAngle)))
}

// HeelToBoard returns the angle between heel face and board that a bevel is set to: 90° less the neck angle.
func (t Target) HeelToBoard() unit.Angle { return 90*unit.Degree - t.NeckAngle }
