package guitar

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"fairset/craft/body"
	"fairset/craft/fretting"
	"fairset/craft/wood"
	"fairset/unit"
)

// Headings of the optional figures about the body.
const (
	groupOutline = "Body outline and soundhole"
	groupTop     = "Top and braces"
)

// What a blank figure of the body stands for; common practice, no source.
const (
	usualTop          = 2.8 * unit.MM
	usualPlate        = 2.5 * unit.MM
	usualBridgeAlong  = 30 * unit.MM
	usualBridgeFront  = 10 * unit.MM
	usualBridgeSpread = 2.7  // bridge across, in spreads of the strings at the saddle
	usualHoleAt       = 0.31 // soundhole's centre from the neck end, in body lengths
	usualHole         = 0.26 // its diameter, in lower bout widths
)

func bodyFields() []Field {
	woods := func(u wood.Use) []Choice {
		var out []Choice
		for _, s := range wood.For(u) {
			out = append(out, Choice{s.Key, unit.Say(s.Name)})
		}
		return out
	}
	var patterns []Choice
	for _, p := range body.Patterns() {
		patterns = append(patterns, Choice{string(p.Key), unit.Say(p.Name)})
	}
	return []Field{
		length("body_length", "body length", groupOutline, 120, 800, 0, "From the tail to the edge at the neck, along the centreline. With the widths below it makes the outline."),
		length("lower_width", "lower bout, width", groupOutline, 80, 700, 0, "Across the whole body where it is widest."),
		length("lower_at", "lower bout, from the tail", groupOutline, 15, 500, 0, "Along the centreline, to where the body is widest."),
		length("waist_width", "waist, width", groupOutline, 40, 650, 0, "Across the whole body where it is narrowest."),
		length("waist_at", "waist, from the tail", groupOutline, 30, 700, 0, "Along the centreline."),
		length("upper_width", "upper bout, width", groupOutline, 50, 650, 0, "Across the whole body at the widest place of the upper bout."),
		length("upper_at", "upper bout, from the tail", groupOutline, 45, 780, 0, "Along the centreline."),
		length("tail_radius", "tail radius", groupOutline, 20, 20000, 0, "Radius of the tail's end in plan. Leave empty for one that follows from the widths. The neck end takes the body end radius given above."),
		length("tail_flat", "tail straight across for", groupOutline, 0, 400, 0, "Width of a straight part in the middle of the tail, instead of a radius."),
		scalar(unit.KindText, "outline_points", "points of an outline of your own", groupOutline, 0, 0, 0, "Instead of the widths: one half as along; across, one point a line, from the tail 0; 0 to the neck end, whose second figure is 0. A smooth curve runs through them. Millimetres, or write the unit."),
		length("hole_diameter", "soundhole diameter", groupOutline, 10, 300, 0, "Leave empty for about a quarter of the lower bout."),
		length("hole_from_neck", "soundhole's centre from the body's edge", groupOutline, 20, 500, 0, "Along the centreline from the edge at the neck. Leave empty for about a third of the body."),

		choice("top_wood", "top wood", groupTop, "What it is called; its figures are the means of its kind.", woods(wood.TopWood)...),
		length("top_thickness", "top thickness", groupTop, 0.8, 10, 0, "Leave empty for 2.8 mm."),
		choice("brace_pattern", "braces", groupTop, "A starting layout is worked out from the outline; every brace can be moved below.", patterns...),
		choice("brace_wood", "brace wood", groupTop, "Leave empty for the top's.", woods(wood.BraceWood)...),
		length("brace_width", "brace width", groupTop, 1, 60, 0, "Of the main braces; the others follow. Leave empty to let it follow the body's size."),
		length("brace_height", "brace height", groupTop, 0.3, 60, 0, "Of the main braces at their tallest. Leave empty to let it follow the body's size."),
		length("cross_at", "X crosses, from the tail", groupTop, 30, 780, 0, "Only for an X-brace. Leave empty to clear the soundhole."),
		scalar(unit.KindAngle, "cross_angle", "X legs to the centreline", groupTop, 25*deg, 65*deg, 0, "Only for an X-brace: half the angle the legs open. Leave empty for 42°."),
		scalar(unit.KindCount, "brace_bars", "bars", groupTop, 0, 9, 0, "Tone bars of an X-brace, braces of a fan, bars of a ladder. Leave empty for 2, 5 and 5."),
		length("plate_thickness", "bridge plate thickness", groupTop, 0, 30, 0, "0 for none. Leave empty for 2.5 mm."),
		choice("plate_wood", "bridge plate wood", groupTop, "", woods(wood.PlateWood)...),
		scalar(unit.KindPercent, "top_along", "top's own stiffness along the grain", groupTop, 0.4, 2.5, 0, "In percent of the mean of its kind, from a test of this board or tap tones of the glued top. Leave empty for 100 %."),
		scalar(unit.KindPercent, "top_across", "top's own stiffness across the grain and in shear", groupTop, 0.4, 2.5, 0, "In percent of the mean of its kind. Leave empty for 100 %."),
		scalar(unit.KindPercent, "brace_stiffness", "braces' own stiffness", groupTop, 0.4, 2.5, 0, "In percent of the mean of its kind. Leave empty for 100 %."),
		scalar(unit.KindText, "brace_list", "braces moved, added or left out", groupTop, 0, 0, 0, "One a line, by its name, as in: tone bar 1: from 128; -50 to 62; 98 wide 6 high 1.5; 11 at 0.2; 11 at 0.8; 1.5. Ends are along from the tail; across from the centreline, + to the bass side. Heights run from one end to the other, at shares of the length. Write tone bar 2: none to leave one out. Millimetres, or write the unit."),
	}
}

// HasBody reports whether a design says anything of its body's outline.
func HasBody(d Values) bool { return d.Has("body_length") || d.Has("outline_points") }

var landmarkKeys = []string{"body_length", "lower_width", "lower_at", "waist_width", "waist_at", "upper_width", "upper_at"}

// ofBody says which field of the form a figure of the body comes from, where the names differ.
var ofBody = map[string]string{"length": "body_length", "points": "outline_points", "hole_radius": "hole_diameter", "thickness": "top_thickness", "dome_radius": "top_radius", "neck_radius": "arc_radius", "neck_flat": "arc_radius",
	"braces": "brace_list", "pattern": "brace_pattern", "width": "brace_width", "height": "brace_height", "bars": "brace_bars", "patch_thickness": "plate_thickness",
	"holes[0].centre": "hole_from_neck", "holes[0].radius": "hole_diameter", "patches[0].thickness": "plate_thickness", "patches[0].corners": "bridge_across", "bridge.centre": "body_length", "bridge.along": "bridge_along", "bridge.across": "bridge_across"}

// bodyError turns an error of the body's sums into Problems that name the form's fields.
func bodyError(d Values, err error) error {
	var re *unit.RangeError
	if !errors.As(err, &re) {
		return err
	}
	e := *re
	key, ok := ofBody[re.Field]
	switch {
	case ok:
	case strings.HasPrefix(re.Field, "points["):
		key = "outline_points"
	case strings.HasPrefix(re.Field, "braces["):
		key = "brace_pattern"
		if d.Has("brace_list") {
			key = "brace_list"
		}
	default:
		key = re.Field
	}
	if f, ok := find(designFields, key); ok {
		e.Field = key
		if re.Field == key || re.Label.Empty() || f.Label.Same(re.Label) {
			e.Label = f.Label
		} else {
			e.Label = unit.Say("%v (%v)", f.Label, re.Label)
		}
	}
	return Problems{&e}
}

// Outline makes the edge of a design's body: from points of its own if it has any, else from its landmarks, its neck end with
// the body end radius. A radius that the widths do not allow is drawn as near to it as they do, with a warning.
// Errors are Problems naming the fields to fill or to mend.
func Outline(d Values) (body.Outline, []unit.Warning, error) {
	if d.Has("outline_points") {
		points, err := body.ParsePoints(d.Choice("outline_points"))
		if err != nil {
			return body.Outline{}, nil, bodyError(d, err)
		}
		o, err := body.Through(points)
		if err != nil {
			return body.Outline{}, nil, bodyError(d, err)
		}
		return o, nil, nil
	}
	if p := lacking(d, "the body's outline cannot be drawn without it", landmarkKeys...); len(p) > 0 {
		return body.Outline{}, nil, p
	}
	l := body.Landmarks{Length: d.Length("body_length"), LowerWidth: d.Length("lower_width"), LowerAt: d.Length("lower_at"), WaistWidth: d.Length("waist_width"), WaistAt: d.Length("waist_at"),
		UpperWidth: d.Length("upper_width"), UpperAt: d.Length("upper_at"), Tail: body.End{Radius: d.Length("tail_radius"), Flat: d.Length("tail_flat")}}
	arc := d.Length("arc_radius")
	if arc > 0 {
		l.Neck.Radius = arc
	} else {
		l.Neck.Flat = d.Length("heel_width_top")
	}
	o, err := body.New(l)
	if err == nil {
		return o, nil, nil
	}
	var re *unit.RangeError
	if arc > 0 && errors.As(err, &re) && re.Field == "neck_radius" {
		const inside = 1e-6 // of the range, so that its ends are inside it whatever the last digit
		l.Neck.Radius = unit.Length(math.Max(re.Min*(1+inside), math.Min(re.Max*(1-inside), float64(arc))))
		if o, err = body.New(l); err == nil {
			return o, []unit.Warning{{Code: "neck_end_radius", Field: "arc_radius", Say: unit.Say("With these widths the body's end cannot have a radius of %v; it is drawn with %v. Move the upper bout's widest place to change that.", arc, l.Neck.Radius)}}, nil
		}
	}
	return body.Outline{}, nil, bodyError(d, err)
}

// bodySaddle is where the saddle line crosses the centreline, from the tail: as designed, with the joint's fret where the design has it.
func bodySaddle(d Values, length unit.Length) unit.Length {
	// What the top does moves no saddle: it is left out, for it is worked out from the bridge's place.
	b := typedBuild(d)
	if s, err := solveOn(d, nil); err == nil {
		b = s.Build
	}
	return length - (b.ScaleLength + b.SaddleSetback - fretting.Distance(b.ScaleLength, b.JointFret) - b.JointOffset)
}

// Body is a design's top with everything on it: outline, soundhole, braces, plate and bridge, checked. What the design leaves empty is
// as usual. Errors are Problems naming the fields to fill or to mend.
func Body(d Values) (body.Soundboard, []unit.Warning, error) {
	o, warns, err := Outline(d)
	if err != nil {
		return body.Soundboard{}, nil, err
	}
	widest, _ := o.Widest()
	hole := body.Hole{Centre: body.Point{X: o.Length() - or(d, "hole_from_neck", usualHoleAt*o.Length())}, Radius: or(d, "hole_diameter", usualHole*widest) / 2}
	bridge := body.Bridge{Along: or(d, "bridge_along", usualBridgeAlong), Across: or(d, "bridge_across", usualBridgeSpread*or(d, "saddle_spread", 55*unit.MM)), Saddle: bodySaddle(d, o.Length())}
	bridge.Centre.X = bridge.Saddle + min(or(d, "bridge_front", usualBridgeFront), bridge.Along) - bridge.Along/2
	plan := body.Plan{Outline: o, Hole: hole, Bridge: bridge, Pattern: body.Pattern(d.Choice("brace_pattern")), CrossAt: d.Length("cross_at"), CrossAngle: d.Angle("cross_angle"), Bars: d.Count("brace_bars"),
		Width: d.Length("brace_width"), Height: d.Length("brace_height"), PlateThickness: or(d, "plate_thickness", usualPlate), BraceWood: d.Choice("brace_wood"), PlateWood: d.Choice("plate_wood")}
	if plan.Pattern == "" {
		plan.Pattern = body.PatternNone
	}
	if plan.BraceWood == "" {
		plan.BraceWood = d.Choice("top_wood")
	}
	s := body.Soundboard{Outline: o, Holes: []body.Hole{hole}, Thickness: or(d, "top_thickness", usualTop), Wood: d.Choice("top_wood"), Grain: [2]float64{1, 0}, Dome: d.Length("top_radius"), Bridge: &bridge}
	// The body is checked before anything is laid out on it, so that a hole off the top is not told of a brace.
	if _, err := s.Check(); err != nil {
		return body.Soundboard{}, nil, bodyError(d, err)
	}
	braces, patches, err := plan.Lay()
	if err != nil {
		return body.Soundboard{}, nil, bodyError(d, err)
	}
	lines, err := body.ParseBraces(d.Choice("brace_list"))
	if err != nil {
		return body.Soundboard{}, nil, bodyError(d, err)
	}
	s.Braces, s.Patches = body.Merge(braces, lines, plan.BraceWood), patches
	more, err := s.Check()
	if err != nil {
		return body.Soundboard{}, nil, bodyError(d, err)
	}
	for i := range more {
		more[i].Field = "brace_list"
	}
	return s, append(warns, more...), nil
}

// checkBody are the problems of a body that no other figure of the design can mend: an outline that cannot be, lists that cannot be
// read. Whether bridge, hole and braces find room is told when they are asked for, so that it stops no one at the neck.
func checkBody(d Values) Problems {
	var p Problems
	whole := d.Has("outline_points")
	if !whole {
		whole = len(lacking(d, "", landmarkKeys...)) == 0
	}
	if whole {
		if _, _, err := Outline(d); err != nil {
			p = append(p, problemsOf(err)...)
		}
	}
	if _, err := body.ParseBraces(d.Choice("brace_list")); err != nil {
		p = append(p, problemsOf(bodyError(d, err))...)
	}
	return p
}

// WriteBraces writes braces as the design's list of them holds them.
func WriteBraces(braces []body.Brace) string {
	var out []string
	for _, b := range braces {
		out = append(out, fmt.Sprint(b))
	}
	return strings.Join(out, "\n")
}
