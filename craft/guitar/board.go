package guitar

import (
	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/unit"
)

const groupFretboard = "Fretboard and nut slots"

// What a blank figure of the board stands for; common practice, no source.
const (
	usualTang      = 1.6 * unit.MM
	usualTangRoom  = 0.4 * unit.MM
	usualOverhang  = 2 * unit.MM
	usualSpare     = 0.1
	usualAllowance = 0.05 * unit.MM
	usualPluck     = 0.8 * unit.MM
	usualPluckAt   = 140 * unit.MM
)

func boardFields() []Field {
	return []Field{
		length("neck_width_nut", "board and neck width at the nut", groupFretboard, 20, 130, 0, "Across the board, where the nut crosses the centreline."),
		length("neck_width_joint", "board and neck width at the joint", groupFretboard, 20, 160, 0, "Across the board at the joint fret."),
		length("nut_spread", "outer strings apart at the nut", groupFretboard, 0, 120, 0, "Middle of the bass string to middle of the treble string."),
		length("saddle_spread", "outer strings apart at the saddle", groupFretboard, 0, 160, 0, "Middle of the bass string to middle of the treble string."),
		choice("string_spacing", "strings between them", groupFretboard, "Leave empty for equal centres.", Choice{string(fretting.EqualCentre), unit.Say("equal from middle to middle")}, Choice{string(fretting.EqualGap), unit.Say("equal gaps between the strings")}),
		length("board_radius_nut", "board radius at the nut", groupFretboard, 100, 5000, 0, "Flat, or leave empty, for a flat board.").flat(),
		length("board_radius_end", "board radius at its end", groupFretboard, 100, 5000, 0, "Larger than at the nut for a compound radius. Leave empty for the same all along.").flat(),
		length("board_length", "board length", groupFretboard, 100, 1200, 0, "From the nut along the centreline. Leave empty to end midway to where the next fret would be."),
		length("bass_scale", "scale length of the bass string", groupFretboard, 300, 900, 0, "Only for a multi-scale board, measured along the centreline. The scale length above must lie midway between this and the treble string's."),
		length("treble_scale", "scale length of the treble string", groupFretboard, 300, 900, 0, "Only for a multi-scale board."),
		scalar(unit.KindRatio, "perpendicular_fret", "fret that stands square", groupFretboard, 0, 30, 0, "Only for a multi-scale board: 0 is the nut, 7.5 lies between frets 7 and 8."),
		length("tang_depth", "depth of the fret's tang", groupFretboard, 0.8, 4, 0, "Leave empty for 1.6 mm."),
		length("tang_room", "room under the tang", groupFretboard, 0, 1, 0, "Leave empty for 0.4 mm."),
		length("wire_overhang", "wire past each edge when cut", groupFretboard, 0, 20, 0, "Leave empty for 2 mm."),
		length("slot_allowance", "nut slot wider than its string by", groupFretboard, 0, 0.5, 0, "Leave empty for 0.05 mm."),
		length("fall_away", "last fret below the line past the joint", groupFretboard, -1, 2, 0, "Leave empty for none."),
		length("pluck", "hardest pluck pulls the string aside by", groupFretboard, 0, 8, 0, "Square to the board, on the open string, where it is played. Leave empty for 0.8 mm."),
		length("pluck_at", "played this far from the saddle", groupFretboard, 5, 600, 0, "Leave empty for 140 mm."),
	}
}

// Board is a guitar's fretboard laid out, with what is cut into it.
type Board struct {
	Plan     fretting.Board
	Layout   fretting.Layout
	Names    []string // notes of the open strings, bass first
	Depths   []fretting.SlotDepth
	Wire     fretting.Wire
	Nut      []fretting.NutSlot
	Warnings []unit.Warning
}

func or(d Values, key string, usual unit.Length) unit.Length {
	if d.Has(key) {
		return d.Length(key)
	}
	return usual
}

// BoardOf lays a design's board out. Errors are Problems naming the fields to fill or to mend.
func BoardOf(d Values) (Board, error) {
	problems := lacking(d, "the board cannot be laid out without it", "neck_width_nut", "neck_width_joint", "nut_spread", "saddle_spread")
	s, err := stringsOf(d)
	if p, ok := err.(Problems); ok {
		problems = append(p, problems...)
	} else if err != nil {
		return Board{}, err
	}
	if len(problems) > 0 {
		return Board{}, problems
	}
	out := Board{}
	if out.Plan, err = boardPlan(d, s.List); err != nil {
		return Board{}, err
	}
	for _, n := range s.Notes {
		out.Names = append(out.Names, n.String())
	}
	fail := func(err error) (Board, error) { return Board{}, designError(d, err) }
	var warns []unit.Warning
	if out.Layout, warns, err = out.Plan.Lay(); err != nil {
		return fail(err)
	}
	out.Warnings = warns
	if out.Depths, warns, err = out.Layout.SlotDepths(or(d, "tang_depth", usualTang), or(d, "tang_room", usualTangRoom), d.Length("board_thickness")); err != nil {
		return fail(err)
	}
	out.Warnings = designWarnings(append(out.Warnings, warns...))
	if out.Wire, err = out.Layout.Wire(or(d, "wire_overhang", usualOverhang), usualSpare); err != nil {
		return fail(err)
	}
	if out.Nut, err = out.Layout.NutSlots(fretting.NutCut{Crown: d.Length("fret_crown"), Height: d.Length("nut_height"), Allowance: or(d, "slot_allowance", usualAllowance)}); err != nil {
		return fail(err)
	}
	return out, nil
}

// boardPlan gathers what a maker decided about the board.
func boardPlan(d Values, list []stringset.String) (fretting.Board, error) {
	scale := d.Length("scale_length")
	b := fretting.Board{BassScale: scale, TrebleScale: scale, Frets: d.Count("frets"), NutWidth: d.Length("neck_width_nut"), Width: d.Length("neck_width_joint"), WidthFret: d.Count("joint_fret"),
		Length: d.Length("board_length"), NutRadius: d.Length("board_radius_nut"), EndRadius: d.Length("board_radius_end"), Gauges: gauges(list)}
	if b.EndRadius == 0 && !d.Has("board_radius_end") {
		b.EndRadius = b.NutRadius
	}
	even := fretting.Even(d.Choice("string_spacing"))
	b.AtNut = fretting.Spacing{Even: even, Spread: d.Length("nut_spread")}
	b.AtSaddle = fretting.Spacing{Even: even, Spread: d.Length("saddle_spread")}
	if problems := scaleProblems(d); len(problems) > 0 {
		return b, problems
	}
	if multiScale(d) {
		b.BassScale, b.TrebleScale, b.PerpendicularFret = d.Length("bass_scale"), d.Length("treble_scale"), d.Ratio("perpendicular_fret")
	}
	return b, nil
}

// Marks are the frets a design's board and neck carry dots at: those of a small instrument with four strings, else
// the usual ones. source: common practice, no source.
func Marks(d Values) []fretting.Mark {
	if d.Count("strings") == 4 {
		return fretting.Small()
	}
	return fretting.Usual()
}

func gauges(list []stringset.String) []unit.Length {
	out := make([]unit.Length, len(list))
	for i, s := range list {
		out[i] = s.Diameter
	}
	return out
}

func multiScale(d Values) bool { return d.Has("bass_scale") || d.Has("treble_scale") }

// midScale is how near the mean of both scales the scale length must lie: less than anyone measures.
const midScale = 0.05 * unit.MM

// scaleProblems checks the figures of a multi-scale board against each other. The neck set, the bend and
// the saddle go by the centreline, whose scale is the mean of the outer strings'.
func scaleProblems(d Values) Problems {
	if !multiScale(d) {
		return nil
	}
	if p := lacking(d, "a multi-scale board needs both scales and the fret that stands square", "bass_scale", "treble_scale", "perpendicular_fret"); len(p) > 0 {
		return p
	}
	mean := (d.Length("bass_scale") + d.Length("treble_scale")) / 2
	if (d.Length("scale_length") - mean).Abs() > midScale {
		return Problems{wrong(d, "scale_length", "on a multi-scale board it is the centreline's, midway between both: make it %s", mean)}
	}
	return nil
}

// scalesOf is each string's own scale length. On a board of one scale all have it, though the outer ones,
// which splay, are longer by some hundredths of a millimetre.
func scalesOf(d Values, list []stringset.String) ([]unit.Length, error) {
	out := make([]unit.Length, len(list))
	for i := range out {
		out[i] = d.Length("scale_length")
	}
	if !multiScale(d) {
		return out, nil
	}
	if p := append(scaleProblems(d), lacking(d, "the strings of a multi-scale board are as long as their places say", "neck_width_nut", "neck_width_joint", "nut_spread", "saddle_spread")...); len(p) > 0 {
		return nil, p
	}
	plan, err := boardPlan(d, list)
	if err != nil {
		return nil, err
	}
	lay, _, err := plan.Lay()
	if err != nil {
		return nil, designError(d, err)
	}
	for i, r := range lay.Strings {
		out[i] = r.Scale
	}
	return out, nil
}

// acrossSaddle is each string's place at the saddle, from the centreline, + treble.
func acrossSaddle(d Values, list []stringset.String) ([]unit.Length, error) {
	if p := lacking(d, "the slant of a saddle depends on how far apart the strings stand", "saddle_spread"); len(p) > 0 {
		return nil, p
	}
	y, err := fretting.Spacing{Even: fretting.Even(d.Choice("string_spacing")), Spread: d.Length("saddle_spread")}.Places(gauges(list))
	if err != nil {
		return nil, placed(designError(d, err))
	}
	return y, nil
}

// placed names the saddle's spread where the sums name the nut's.
func placed(err error) error {
	if p, ok := err.(Problems); ok {
		for _, e := range p {
			if e.Field == "nut_spread" {
				f, _ := find(designFields, "saddle_spread")
				e.Field, e.Label = f.Field, f.Label
			}
		}
	}
	return err
}

// PlayedAsDesigned is how the strings lie over the board and are played when the guitar is as designed.
func PlayedAsDesigned(d Values) fretting.Played {
	return played(d, setting{action: actionWanted(d), relief: Build(d).Relief})
}

func played(d Values, s setting) fretting.Played {
	nut := neckset.Sides{Bass: d.Length("nut_height"), Treble: d.Length("nut_height")}
	if s.nut != nil {
		nut = *s.nut
	}
	return fretting.Played{NutHeight: fretting.Pair(nut), Action12: fretting.Pair(s.action), Relief: s.relief, JointFret: d.Count("joint_fret"), FallAway: d.Length("fall_away"),
		Pluck: fretting.Pluck{Pull: or(d, "pluck", usualPluck), At: or(d, "pluck_at", usualPluckAt)}}
}

// Clearance is what every string, open and held at every fret, leaves over the frets beyond: at the action, relief
// and nut that were read on the strung guitar where they were, else as designed. Errors are Problems.
func Clearance(d, strung Values) ([]fretting.Clearance, error) {
	b, err := BoardOf(d)
	if err != nil {
		return nil, err
	}
	s := setting{action: actionWanted(d), relief: Build(d).Relief}
	if len(strung) > 0 {
		s = settingRead(d, strung)
	}
	out, err := b.Layout.Clear(played(d, s))
	if err != nil {
		return nil, designError(d, err)
	}
	return out, nil
}
