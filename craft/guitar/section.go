package guitar

import (
	"fairset/craft/fretting"
	"fairset/unit"
)

// NeckSection is a neck's section square to its centreline at one place.
type NeckSection struct {
	Name     unit.Phrase
	FromNut  unit.Length
	Width    unit.Length // of neck and board
	Depth    unit.Length // of the neck without its board
	Board    unit.Length // thickness of the board on the centreline
	Radius   unit.Length // of the board's face; 0: flat
	Fullness float64     // of the back, as neck_fullness
}

// usualFullness is half an ellipse.
const usualFullness = 2

// NeckSections are the neck at the nut, at the fret nearest the middle and three frets before the joint, where a heel has
// hardly begun to swell. Width and depth run straight from nut to joint, as they do where the neck's bend is worked out.
// Errors are Problems naming the fields to fill or to mend.
func NeckSections(d Values) ([]NeckSection, error) {
	if p := lacking(d, "the neck's profile cannot be drawn without it", "neck_width_nut", "neck_width_joint", "neck_depth_nut", "neck_depth_joint"); len(p) > 0 {
		return nil, p
	}
	scale, joint := d.Length("scale_length"), d.Count("joint_fret")
	at := func(fret int) unit.Length { return fretting.Distance(scale, fret) }
	end := or(d, "board_length", (at(d.Count("frets"))+at(d.Count("frets")+1))/2)
	nut, last := d.Length("board_radius_nut"), d.Length("board_radius_end")
	if !d.Has("board_radius_end") {
		last = nut
	}
	face, err := fretting.NewSurface(nut, last, end)
	if err != nil {
		return nil, designError(d, err)
	}
	middle := 1
	for n := 1; n < joint; n++ {
		if (at(n) - at(joint)/2).Abs() < (at(middle) - at(joint)/2).Abs() {
			middle = n
		}
	}
	heel := joint - 3
	fullness := d.Ratio("neck_fullness")
	if fullness == 0 {
		fullness = usualFullness
	}
	var out []NeckSection
	for _, s := range []struct {
		name unit.Phrase
		fret int
	}{{unit.Say("nut‖of the neck"), 0}, {unit.Say("middle, fret %d", middle), middle}, {unit.Say("heel, fret %d", heel), heel}} {
		x := at(s.fret)
		share := x / at(joint)
		n := NeckSection{Name: s.name, FromNut: x, Board: d.Length("board_thickness"), Fullness: fullness,
			Width: d.Length("neck_width_nut") + share*(d.Length("neck_width_joint")-d.Length("neck_width_nut")),
			Depth: d.Length("neck_depth_nut") + share*(d.Length("neck_depth_joint")-d.Length("neck_depth_nut"))}
		if !face.Flat() {
			n.Radius = face.Radius(x)
		}
		out = append(out, n)
	}
	return out, nil
}
