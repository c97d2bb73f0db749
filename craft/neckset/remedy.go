package neckset

import (
	"math"

	"fairset/unit"
)

// Remedy is one way to make a change, when the neck has gone past or has too little wood for the plain cut.
type Remedy struct {
	Code      string // "cut", "shim", "plane_board", "bridge", "saddle", "new_neck"
	Say       unit.Phrase
	NeckShift unit.Length // + the nut comes nearer the bridge
	Amount    unit.Length // the depth, thickness or height it takes
	Where     unit.Text   // the place, as a maker says it
}

// Remedies returns every way to change the gap by need (+ lean back) and to swing the neck by offset
// (+ head to treble, as Cut.OffsetNeed), each with its figure and what it costs in neck shift. Ways that
// touch the gap alone come with b, the design; nil leaves out what cannot be figured without it.
// A change of nothing, or a heel out of range, gives none.
func Remedies(in CutInput, need, offset unit.Length, b *Build) []Remedy {
	var c checker
	in.checkHeel(&c)
	if c.err != nil || !need.Finite() || !offset.Finite() || need == 0 && offset == 0 {
		return nil
	}
	depth, shift := in.Plane(need, offset)
	deepest := depth.Deepest()
	at := depth.where(deepest)
	out := []Remedy{{
		Code:      "cut",
		Say:       unit.Say("Take %v off the heel at the %v, running out to nothing at the %v. The nut comes %v nearer the bridge.", unit.FineLength(deepest), at, depth.where(0), unit.FineLength(shift)),
		NeckShift: shift, Amount: deepest, Where: at,
	}}
	// A shim fills what the cut would have taken, seen from its deepest corner: thickest where the cut is nothing.
	thick := depth.where(0)
	out = append(out, Remedy{
		Code:      "shim",
		Say:       unit.Say("Or glue a tapered shim to the heel, %v thick at the %v and running out to nothing at the %v. The nut goes %v further from the bridge.", unit.FineLength(deepest), thick, at, unit.FineLength(deepest-shift)),
		NeckShift: shift - deepest, Amount: deepest, Where: thick,
	})
	if need == 0 {
		return out
	}
	if b != nil {
		if r, ok := planeBoard(in, need, *b); ok {
			out = append(out, r)
		}
	}
	bridge, saddle := unit.Text("Or leave the neck and make the bridge %v thinner: the wanted gap follows the bridge one for one."), unit.Text("Or leave the neck and make the saddle %v lower.")
	if need < 0 {
		bridge, saddle = "Or leave the neck and make the bridge %v thicker: the wanted gap follows the bridge one for one.", "Or leave the neck and make the saddle %v taller."
	}
	if b == nil || within("bridge_thickness", b.BridgeThickness-need) {
		out = append(out, Remedy{
			Code:   "bridge",
			Say:    unit.Say(bridge, need.Abs()),
			Amount: -need, Where: "bridge",
		})
	}
	if b == nil || within("saddle_projection", b.SaddleProjection-need) {
		out = append(out, Remedy{
			Code:   "saddle",
			Say:    unit.Say(saddle, need.Abs()),
			Amount: -need, Where: "saddle",
		})
	}
	if deepest > 4*unit.MM {
		out = append(out, Remedy{
			Code:   "new_neck",
			Say:    unit.Say("A change of %v at the heel is more than most heels and tenons can give: a new neck may be the surer way.", deepest),
			Amount: deepest, Where: "neck",
		})
	}
	return out
}

// planeBoard turns the fret line by planing the board to a taper before it is fretted.
//
// Leaning back is had by thinning the nut end by t: the line turns about the joint by t/l, so t = need·l/D.
// Leaning forward is had by thinning the joint end by t: the line through the nut drops by t (l + D)/l at
// the saddle, so t = |need|·l/(l + D).
func planeBoard(in CutInput, need unit.Length, b Build) (Remedy, bool) {
	var c checker
	b.check(&c)
	if c.err != nil {
		return Remedy{}, false
	}
	l, D, n := float64(b.target().NutToJoint), float64(in.SaddleDistance), float64(need)
	t, where, say := n*l/D, unit.Text("nut end of the board"), unit.Text("Or, before it is fretted, plane %v off the nut end of the board, running out to nothing at the joint.")
	if n < 0 {
		t, where, say = -n*l/(l+D), "joint end of the board", "Or, before it is fretted, plane %v off the joint end of the board, running out to nothing at the nut."
	}
	if float64(b.BoardThickness)-t < limits["board_thickness"].Min {
		return Remedy{}, false
	}
	return Remedy{
		Code:   "plane_board",
		Say:    unit.Say(say, unit.FineLength(t)),
		Amount: unit.Length(t), Where: where,
	}, true
}

func within(field string, v unit.Length) bool { return limits[field].Check(float64(v)) == nil }

// where names the place on the face that has this depth: an edge when both its corners do, else a corner.
func (c Corners) where(d unit.Length) unit.Text {
	is := func(v unit.Length) bool { return math.Abs(float64(v-d)) < 1e-9 }
	tb, tt, cb, ct := is(c.TopBass), is(c.TopTreble), is(c.CapBass), is(c.CapTreble)
	switch {
	case tb && tt && cb && ct:
		return "whole face"
	case tb && tt:
		return "top edge"
	case cb && ct:
		return "cap"
	case tb && cb:
		return "bass cheek"
	case tt && ct:
		return "treble cheek"
	case tb:
		return "top edge, bass corner"
	case tt:
		return "top edge, treble corner"
	case cb:
		return "cap, bass corner"
	}
	return "cap, treble corner"
}
