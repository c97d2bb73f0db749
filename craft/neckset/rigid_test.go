package neckset_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"
)

// A second route for the target and the next cut: the neck as a rigid body of points in space, turned by
// whole rotations, with nothing taken as small. It shows how large the small-angle error is.

type vec [3]float64

func (a vec) plus(b vec) vec      { return vec{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a vec) times(f float64) vec { return vec{a[0] * f, a[1] * f, a[2] * f} }
func (a vec) dot(b vec) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec) cross(b vec) vec {
	return vec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
func (a vec) unit() vec       { return a.times(1 / math.Sqrt(a.dot(a))) }
func (a vec) minus(b vec) vec { return a.plus(b.times(-1)) }
func turn(p, axis vec, angle float64) vec { // Rodrigues' rotation about an axis through the origin
	axis = axis.unit()
	c, s := math.Cos(angle), math.Sin(angle)
	return p.times(c).plus(axis.cross(p).times(s)).plus(axis.times(axis.dot(p) * (1 - c)))
}

// lean turns about the y axis through pivot so that what points to the tail climbs.
func lean(p, pivot vec, angle float64) vec {
	return turn(p.minus(pivot), vec{0, 1, 0}, -angle).plus(pivot)
}

// playedAction strings the neck set at the target's angle and measures the action at fret 12, in metres.
func playedAction(b neckset.Build, target neckset.Target) float64 {
	l, D, F0 := float64(target.NutToJoint), float64(target.SaddleDistance), float64(b.BoardThickness+b.FretCrown+b.NeckProud)
	L, S := float64(b.ScaleLength), float64(b.SaddleSetback)
	edge := vec{0, 0, 0}
	// The straight neck, unleaned: nut, joint and a point on the fret line.
	nut, joint := vec{-l, 0, F0}, vec{0, 0, F0}
	up := vec{0, 0, 1}
	// Lean it back about the top edge, let string pull fold the joint there, and bend the neck about the joint's fret.
	set := float64(target.NeckAngle) - float64(b.JointFold)
	nut, joint, up = lean(nut, edge, set), lean(joint, edge, set), lean(up, edge, set)
	arc := func(r float64) float64 { return 2 * math.Atan(2*r/l) } // chord against the tangent at the joint, sagitta r
	bend := arc(float64(b.Relief)) - arc(float64(b.ReliefUnstrung))
	nut, up = lean(nut, joint, -bend), lean(up, edge, -bend)
	along := joint.minus(nut).unit()
	// The string: over the nut, square to the fret line, to the saddle on the risen top.
	from := nut.plus(up.times(float64(b.NutHeight)))
	to := vec{D, 0, float64(target.TopHeightAtSaddle) + float64(b.TopRise+b.BridgeThickness+b.SaddleProjection)}
	fret12 := nut.plus(along.times(L / 2)).minus(up.times(float64(target.Fret12Dip)))
	_ = S
	// Square to the fret line from fret 12 up to the string.
	dir := to.minus(from)
	k := fret12.minus(from).dot(along) / dir.dot(along)
	return from.plus(dir.times(k)).minus(fret12).dot(up)
}

func TestTargetByRigidRotation(t *testing.T) {
	for name, b := range map[string]neckset.Build{"domed": steelDome(), "flat": twelveFlat()} {
		target, _, err := b.Target()
		if err != nil {
			t.Fatal(err)
		}
		got := playedAction(b, target)
		t.Logf("%s: set at %v and strung, it plays at %.4f mm, wanted %.4f mm", name, target.NeckAngle, got*1000, b.Action12.MM())
		// A hundredth of a millimetre of action is under what any feeler tells.
		NearMM(t, name+" action", unit.Length(got), b.Action12.MM(), 0.01)
	}
}

// Over ordinary builds the whole chain, small angles and all, stays within 0.02 mm of action.
func TestSmallAngleErrorOfTarget(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	worst := 0.0
	for range 2000 {
		b := ordinary(r)
		target, _, err := b.Target()
		if err != nil {
			t.Fatal(err)
		}
		if deg := target.NeckAngle.Degrees(); deg < -3 || deg > 6 {
			continue
		}
		worst = math.Max(worst, math.Abs(playedAction(b, target)-float64(b.Action12)))
	}
	t.Logf("largest error of the action at fret 12: %.4f mm", worst*1000)
	if worst == 0 || worst > 0.02e-3 {
		t.Errorf("largest error %.4f mm", worst*1000)
	}
}

// ordinary draws a build anywhere in what is usually met (our own ranges).
func ordinary(r *rand.Rand) neckset.Build {
	in := func(lo, hi float64) unit.Length { return unit.Length(lo+(hi-lo)*r.Float64()) * mm }
	b := neckset.Build{
		ScaleLength: in(380, 700), JointFret: 12 + r.IntN(5), SaddleSetback: in(0, 5), JointOffset: in(-3, 3),
		BoardThickness: in(5, 7), FretCrown: in(0.9, 1.3), NeckProud: in(0, 4),
		Relief: in(0.05, 0.4), ReliefUnstrung: in(-0.1, 0.1), JointFold: unit.Angle(0.1*r.Float64()) * unit.Degree, TopRise: in(0, 1.5),
		BridgeThickness: in(7, 10), SaddleProjection: in(2, 4), NutHeight: in(0.3, 0.6), Action12: in(1.8, 3.2),
	}
	if r.IntN(2) == 0 {
		b.Top = neckset.Top{Radius: in(4500, 15000), Apex: in(100, 300)}
	}
	return b
}

// seated cuts the face's plane from the neck, turns the neck the least way that lays the new face on the
// body's end, slides it home along x, and returns the new gap (as height at the saddle less the old) and offset.
func seated(in neckset.CutInput, F0, slope float64, g, o unit.Length) (gapChange, offset float64) {
	D := float64(in.SaddleDistance)
	a, b := float64(o)/D, float64(g)/D
	_, shift := in.Plane(g, o)
	k := float64(shift)
	// The fret line's own points on the neck before the cut: over the joint and at the saddle.
	p, q := vec{0, 0, F0}, vec{D, float64(in.OffsetMeasured), F0 + slope*D}
	face := vec{1, a, -b}.unit() // square to the new face x = -(k + a y - b z)
	axis := face.cross(vec{1, 0, 0})
	angle := math.Acos(math.Min(1, face[0]))
	move := func(v vec) vec {
		v = v.plus(vec{k, 0, 0})
		if angle == 0 {
			return v
		}
		return turn(v, axis, angle)
	}
	p, q = move(p), move(q)
	dir := q.minus(p)
	at := p.plus(dir.times((D - p[0]) / dir[0]))
	return at[2] - (F0 + slope*D), at[1]
}

func TestNextCutByRigidRotation(t *testing.T) {
	const F0, slope = 7.1e-3, 0.02
	for _, in := range []neckset.CutInput{workedCut(6.9, 7.8, 1.5), workedCut(6.9, 5.2, -0.3)} {
		c, _, err := neckset.NextCut(in)
		if err != nil {
			t.Fatal(err)
		}
		gap, offset := seated(in, F0, slope, c.GapNeed, c.OffsetNeed)
		t.Logf("need %.3f mm: the rigid neck moves %.4f mm; offset left %.4f mm", c.GapNeed.MM(), gap*1000, offset*1000)
		// Cutting the full plane cures both readings; 0.02 mm at the saddle is a tenth of what a rule tells there.
		NearMM(t, "gap change", unit.Length(gap), c.GapNeed.MM(), 0.02)
		NearMM(t, "offset left", unit.Length(offset), 0, 0.02)
	}
}

func TestSmallAngleErrorOfNextCut(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	worst := map[string]float64{}
	for range 5000 {
		in := workedCut(7, 7, 0)
		in.SaddleDistance = unit.Length(150+200*r.Float64()) * mm
		in.GapMeasured = unit.Length(7+6*(r.Float64()-0.5)) * mm
		in.OffsetMeasured = unit.Length(8*(r.Float64()-0.5)) * mm
		c, _, err := neckset.NextCut(in)
		if err != nil {
			t.Fatal(err)
		}
		gap, offset := seated(in, 7e-3, 0.06*(r.Float64()-0.2), c.GapNeed, c.OffsetNeed)
		worst["gap"] = math.Max(worst["gap"], math.Abs(gap-float64(c.GapNeed)))
		worst["offset"] = math.Max(worst["offset"], math.Abs(offset))
	}
	t.Logf("largest errors at the saddle for changes up to 3 mm and 4 mm: gap %.4f mm, offset %.4f mm", worst["gap"]*1000, worst["offset"]*1000)
	if worst["gap"] > 0.1e-3 || worst["offset"] > 0.1e-3 || worst["gap"] == 0 {
		t.Errorf("%v", worst)
	}
}

// Common practice, no source: wood off one cheek swings the head to that side, and wood off the cap leans
// the neck back. Shown on the rigid neck, not on the formula that plans the cut.
func TestWoodOffACheekSwingsTheHeadThere(t *testing.T) {
	in := workedCut(7, 7, 0)
	swing := 1 * mm // the planned face is deeper on the treble cheek
	d, _ := in.Plane(0, swing)
	if !(d.TopTreble > d.TopBass && d.CapTreble > d.CapBass) {
		t.Fatalf("not deeper on the treble cheek: %+v", d)
	}
	_, offset := seated(in, 7e-3, 0, 0, swing)
	if offset >= 0 {
		t.Errorf("line moved to %.3f mm; a head swung to treble points the line to bass", offset*1000)
	}
	d, _ = in.Plane(1*mm, 0)
	if !(d.CapBass > d.TopBass && d.CapTreble > d.TopTreble) {
		t.Fatalf("not deeper at the cap: %+v", d)
	}
	if gap, _ := seated(in, 7e-3, 0, 1*mm, 0); gap <= 0 {
		t.Errorf("wood off the cap changed the gap by %.3f mm; leaning back raises it", gap*1000)
	}
}
