// Package neckset works out how a bolt-on neck must sit on its body, and what to cut to make it sit so.
//
// Frame: the origin is the centreline point on the top edge of the body's end, where heel and body meet.
// x runs toward the tail, y toward the treble side, z up out of the top; the neck lies at x < 0. The fret
// line is a straight edge on the fret tops of a straight, unstrung neck; a positive neck angle leans the
// neck back, so that the line climbs toward the bridge. "Treble" and "bass" are the guitar's own sides.
//
// Derivations: docs/method/neckset.md.
package neckset

import "fairset/unit"

// Top is the shape of the body's top along the centreline: flat when Radius is 0, else an arc of that
// radius whose highest point lies Apex behind the joint.
type Top struct {
	Radius unit.Length // 0 for flat; 2 m to 30 m
	Apex   unit.Length // from the joint edge toward the tail
}

// Build is what the design says of one guitar, as far as the neck set needs it.
type Build struct {
	ScaleLength      unit.Length // nut to twelfth fret, doubled
	JointFret        int         // fret at the body's edge
	SaddleSetback    unit.Length // compensation: saddle line behind the scale length
	JointOffset      unit.Length // + when the body's edge lies nearer the saddle than the joint fret
	BoardThickness   unit.Length
	FretCrown        unit.Length // fret top over the board
	NeckProud        unit.Length // underside of the board over the top at the joint
	Relief           unit.Length // strung
	ReliefUnstrung   unit.Length
	JointFold        unit.Angle  // what string pull folds joint and body by
	TopRise          unit.Length // what string pull lifts the top by, at the saddle
	BridgeThickness  unit.Length
	SaddleProjection unit.Length // saddle over the bridge
	NutHeight        unit.Length // string over the fret line, at the nut
	Action12         unit.Length // string over fret 12, wanted, mean of both sides
	Top              Top
}

// Target is what a Build asks of the neck set.
type Target struct {
	SaddleDistance       unit.Length // joint to saddle, along x
	NutToJoint           unit.Length
	Fret12Dip            unit.Length
	StringHeightAtSaddle unit.Length // over the fret line
	GapStrung            unit.Length // fret line over the top at the saddle, strung
	GapOnFrets           unit.Length // the same before stringing: the straight edge on the frets
	GapOnBoard           unit.Length // the same with the straight edge on the bare board
	TopHeightAtSaddle    unit.Length // top over its own height at the joint
	NeckAngle            unit.Angle
}

// Corners are depths at the corners of the heel face, named by the guitar's own sides.
type Corners struct{ TopBass, TopTreble, CapBass, CapTreble unit.Length }

// Heel is the face of the heel that meets the body: a trapezoid, its top edge at the top of the body.
type Heel struct {
	Height   unit.Length // top edge to cap
	WidthTop unit.Length
	WidthCap unit.Length
}
