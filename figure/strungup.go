package figure

import (
	"fmt"
	"math"

	"fairset/craft/neckset"
	"fairset/craft/soundboard"
	"fairset/craft/strungup"
	"fairset/craft/wood"
	"fairset/unit"
)

const methodStrungup = "docs/method/strungup.md"

const strungupExample = `{
  "scale_length_mm": "25 1/4 in", "joint_fret": 14, "saddle_setback_mm": 2.5,
  "board_thickness_mm": 6.2, "fret_crown_mm": 1.05, "relief_unstrung_mm": 0.02,
  "joint_fold_deg": 0.02, "top_rise_mm": 0.5,
  "bridge_thickness_mm": 8.8, "saddle_projection_mm": 3.1, "nut_height_mm": 0.5, "action12_mm": 2.1,
  "action12_sides_mm": {"bass": 2.3, "treble": 1.9},
  "top": {"kind": "dome", "radius_mm": 9000, "apex_mm": 230},
  "string_tension_n": 690,
  "neck": {
    "sections": [
      {"from_nut_mm": 0, "width_mm": 43.5, "depth_mm": 14.5},
      {"from_nut_mm": 260, "width_mm": 52.5, "depth_mm": 17},
      {"from_nut_mm": 330, "width_mm": 54.5, "depth_mm": 26}
    ],
    "wood": "honduran-mahogany", "board_wood": "indian-rosewood",
    "channel_width_mm": "1/4 in", "channel_depth_mm": 9, "rod": {"stiffness_n_m2": 30}
  },
  "spreads": {"string_tension_n": 15, "neck_depth_mm": 0.2}
}
`

type sectionIn struct {
	At    unit.Length `json:"from_nut_mm" key:"stations.at" doc:"where the neck is measured"`
	Width unit.Length `json:"width_mm" doc:"of neck and board there"`
	Depth unit.Length `json:"depth_mm" doc:"of the neck's wood there, under the board"`
}

type rodIn struct {
	Stiffness float64     `json:"stiffness_n_m2" key:"rod_stiffness" doc:"its own bending stiffness EI"`
	Bow       unit.Length `json:"bow_mm" key:"rod_bow" doc:"the bow it would have if it were free; + hollow under the strings" default:"0"`
	From      unit.Length `json:"from_mm" key:"rod_from" doc:"where it begins, from the nut" default:"0"`
	To        unit.Length `json:"to_mm" key:"rod_to" doc:"where it ends, from the nut; 0 with from_mm 0: the joint" default:"0"`
}

type neckIn struct {
	Sections     []sectionIn `json:"sections" key:"stations" doc:"from the nut on; straight between, constant before the first and after the last" items:"1,24"`
	Fullness     float64     `json:"fullness" key:"fullness" doc:"of the back: 1 a straight V, 2 half an ellipse, 3 and more a full D" default:"2"`
	Wood         string      `json:"wood" key:"wood" doc:"the neck's wood, for its modulus; this or modulus_mpa" enum:"honduran-mahogany,khaya,sapele,spanish-cedar,sugar-maple,red-maple,black-walnut,black-cherry,yellow-poplar,indian-rosewood,brazilian-rosewood,sitka-spruce,engelmann-spruce,red-spruce,western-redcedar,redwood-old,redwood-young,white-oak,sweet-birch,yellow-birch" optional:"yes"`
	Modulus      unit.Stress `json:"modulus_mpa" key:"neck_modulus" doc:"of the neck's wood along the grain" optional:"yes"`
	BoardWood    string      `json:"board_wood" key:"board_wood" doc:"the board's wood; this or board_modulus_mpa" enum:"honduran-mahogany,khaya,sapele,spanish-cedar,sugar-maple,red-maple,black-walnut,black-cherry,yellow-poplar,indian-rosewood,brazilian-rosewood,sitka-spruce,engelmann-spruce,red-spruce,western-redcedar,redwood-old,redwood-young,white-oak,sweet-birch,yellow-birch" optional:"yes"`
	BoardModulus unit.Stress `json:"board_modulus_mpa" key:"board_modulus" doc:"of the board along the grain" optional:"yes"`
	ChannelWidth unit.Length `json:"channel_width_mm" key:"channel_width" doc:"slot under the board for a rod" default:"0"`
	ChannelDepth unit.Length `json:"channel_depth_mm" key:"channel_depth" doc:"depth of that slot" default:"0"`
	Rod          rodIn       `json:"rod" key:"rod" doc:"a bar or truss rod in the slot" optional:"yes"`
}

type spreadsIn struct {
	Tension          unit.Force  `json:"string_tension_n" key:"spreads.tension" doc:"standard deviation of the pull" absent:"nan"`
	NeckModulus      unit.Stress `json:"neck_modulus_mpa" doc:"of the neck's modulus" absent:"nan"`
	BoardModulus     unit.Stress `json:"board_modulus_mpa" doc:"of the board's modulus" absent:"nan"`
	NeckDepth        unit.Length `json:"neck_depth_mm" doc:"of the neck's depth, all along" absent:"nan"`
	NeckWidth        unit.Length `json:"neck_width_mm" doc:"of its width, all along" absent:"nan"`
	RodStiffness     float64     `json:"rod_stiffness_n_m2" key:"spreads.rod_stiffness" doc:"of the rod's stiffness" absent:"nan"`
	RodBow           unit.Length `json:"rod_bow_mm" doc:"of the rod's bow" absent:"nan"`
	FoldStiffness    float64     `json:"joint_stiffness_n_m_per_rad" key:"spreads.fold_stiffness" doc:"of the joint's stiffness" absent:"nan"`
	JointFold        unit.Angle  `json:"joint_fold_deg" doc:"of the typed fold" absent:"nan"`
	TopRise          unit.Length `json:"top_rise_mm" doc:"of the top's rise" absent:"nan"`
	Relief           unit.Length `json:"relief_mm" doc:"of the held relief" absent:"nan"`
	ReliefUnstrung   unit.Length `json:"relief_unstrung_mm" doc:"of the relief before stringing" absent:"nan"`
	Gap              unit.Length `json:"gap_on_frets_mm" key:"spreads.gap" doc:"of the gap the neck is set to" absent:"nan"`
	ScaleLength      unit.Length `json:"scale_length_mm" doc:"of the scale length" absent:"nan"`
	SaddleSetback    unit.Length `json:"saddle_setback_mm" doc:"of the setback" absent:"nan"`
	BoardThickness   unit.Length `json:"board_thickness_mm" doc:"of the board's thickness" absent:"nan"`
	FretCrown        unit.Length `json:"fret_crown_mm" doc:"of the crown" absent:"nan"`
	BridgeThickness  unit.Length `json:"bridge_thickness_mm" doc:"of the bridge" absent:"nan"`
	SaddleProjection unit.Length `json:"saddle_projection_mm" doc:"of the saddle over the bridge" absent:"nan"`
	NutHeight        unit.Length `json:"nut_height_mm" doc:"of the string height at the nut" absent:"nan"`
}

// given lists what was given, by craft's keys.
func (s spreadsIn) given() []neckset.Spread {
	all := []neckset.Spread{
		{Field: "tension", SD: float64(s.Tension)}, {Field: "neck_modulus", SD: float64(s.NeckModulus)}, {Field: "board_modulus", SD: float64(s.BoardModulus)},
		{Field: "neck_depth", SD: float64(s.NeckDepth)}, {Field: "neck_width", SD: float64(s.NeckWidth)}, {Field: "rod_stiffness", SD: s.RodStiffness},
		{Field: "rod_bow", SD: float64(s.RodBow)}, {Field: "fold_stiffness", SD: s.FoldStiffness}, {Field: "joint_fold", SD: float64(s.JointFold)},
		{Field: "top_rise", SD: float64(s.TopRise)}, {Field: "relief", SD: float64(s.Relief)}, {Field: "relief_unstrung", SD: float64(s.ReliefUnstrung)},
		{Field: "gap", SD: float64(s.Gap)}, {Field: "scale_length", SD: float64(s.ScaleLength)}, {Field: "saddle_setback", SD: float64(s.SaddleSetback)},
		{Field: "board_thickness", SD: float64(s.BoardThickness)}, {Field: "fret_crown", SD: float64(s.FretCrown)}, {Field: "bridge_thickness", SD: float64(s.BridgeThickness)},
		{Field: "saddle_projection", SD: float64(s.SaddleProjection)}, {Field: "nut_height", SD: float64(s.NutHeight)},
	}
	out := all[:0]
	for _, x := range all {
		if unit.Finite(x.SD) {
			out = append(out, x)
		}
	}
	return out
}

type strungupIn struct {
	ScaleLength      unit.Length `json:"scale_length_mm" doc:"twice the distance from the nut to fret 12, without setback"`
	JointFret        int         `json:"joint_fret" doc:"the fret that stands at the body's edge"`
	SaddleSetback    unit.Length `json:"saddle_setback_mm" doc:"saddle line behind the scale length, on the centreline" default:"0"`
	JointOffset      unit.Length `json:"joint_offset_mm" doc:"+ when the body's edge lies nearer the saddle than the joint fret" default:"0"`
	BoardThickness   unit.Length `json:"board_thickness_mm" doc:"fretboard, without frets"`
	FretCrown        unit.Length `json:"fret_crown_mm" doc:"height of a fret over the board"`
	NeckProud        unit.Length `json:"neck_proud_mm" doc:"underside of the board over the top, at the joint" default:"0"`
	HoldRelief       bool        `json:"hold_relief" key:"hold_relief" doc:"whether the rod will be set so that the strung relief is relief_mm; else the strings add to relief_unstrung_mm" default:"false"`
	Relief           unit.Length `json:"relief_mm" doc:"strung relief to be held, with hold_relief" default:"0"`
	ReliefUnstrung   unit.Length `json:"relief_unstrung_mm" doc:"relief before stringing, with the rod slack" default:"0"`
	JointFold        unit.Angle  `json:"joint_fold_deg" doc:"how far string pull folds the neck forward at the joint; this or joint_stiffness_n_m_per_rad" default:"0"`
	FoldStiffness    float64     `json:"joint_stiffness_n_m_per_rad" key:"fold_stiffness" doc:"moment about the top edge that would fold the joint by one radian" optional:"yes"`
	TopRise          unit.Length `json:"top_rise_mm" doc:"how far string pull lifts the top at the saddle; 0 when left out; this or soundboard" absent:"nan"`
	BridgeThickness  unit.Length `json:"bridge_thickness_mm" doc:"at the saddle, on the centreline"`
	SaddleProjection unit.Length `json:"saddle_projection_mm" doc:"saddle over the bridge, mean of both sides"`
	NutHeight        unit.Length `json:"nut_height_mm" doc:"string over the line of the fret tops, at the nut, strung, mean of both sides"`
	Action12         unit.Length `json:"action12_mm" doc:"string over fret 12, wanted, mean of both sides"`
	NutHeightSides   sides       `json:"nut_height_sides_mm" doc:"each side's own, in place of the mean" optional:"yes"`
	SaddleSides      sides       `json:"saddle_projection_sides_mm" doc:"each side's own, in place of the mean; left out: shaped for the wanted action at the target gap" optional:"yes"`
	Action12Sides    sides       `json:"action12_sides_mm" doc:"each side's own, in place of the mean" optional:"yes"`
	Top              topIn       `json:"top" doc:"shape of the top along the centreline" default:"{\"kind\":\"flat\"}"`
	Soundboard       strungTopIn `json:"soundboard" doc:"the top as the soundboard topic takes it, without load and modes: its rise under these strings is worked out; this or top_rise_mm" optional:"yes"`
	Tension          unit.Force  `json:"string_tension_n" key:"tension" doc:"pull of all strings together"`
	Neck             neckIn      `json:"neck" key:"neck" doc:"what bends"`
	Gap              unit.Length `json:"gap_on_frets_mm" key:"gap" doc:"straight edge on the frets over the top at the saddle, unstrung, as read; left out: the target" absent:"nan"`
	Spreads          spreadsIn   `json:"spreads" doc:"how sure the inputs are; what is left out is guessed" default:"{}"`
}

type doubtOut struct {
	AddedRelief  unit.Length `json:"added_relief_mm"`
	ReliefStrung unit.Length `json:"relief_strung_mm"`
	Turn         unit.Angle  `json:"neck_turn_deg"`
	Fold         unit.Angle  `json:"joint_fold_deg"`
	TopRise      unit.Length `json:"top_rise_mm"`
	Rotation     unit.Angle  `json:"bridge_rotation_deg" doc:"from the wood alone; left out without a soundboard" absent:"nan"`
	GapTarget    unit.Length `json:"gap_target_mm"`
	GapStrung    unit.Length `json:"gap_strung_mm"`
	Action12     sides       `json:"action12_mm"`
}

type shareOut struct {
	Input  string      `json:"input"`
	Target unit.Length `json:"gap_target_mm" doc:"what one standard deviation of the input moves the target by"`
	Action unit.Length `json:"action12_mm" doc:"the same of the action, for a guitar set as it is"`
}

type sagOut struct {
	Fret     int         `json:"fret" doc:"0 the nut"`
	At       unit.Length `json:"from_nut_mm"`
	Unstrung unit.Length `json:"unstrung_mm"`
	Strung   unit.Length `json:"strung_mm"`
}

type feedOut struct {
	Relief         unit.Length `json:"relief_mm"`
	ReliefUnstrung unit.Length `json:"relief_unstrung_mm"`
	JointFold      unit.Angle  `json:"joint_fold_deg"`
	TopRise        unit.Length `json:"top_rise_mm"`
}

type strungupOut struct {
	AddedRelief      unit.Length `json:"added_relief_mm" doc:"what the strings add, between fret 1 and the joint"`
	FirstOrder       unit.Length `json:"added_relief_first_order_mm" doc:"the same if the bend did not lengthen the strings' lever"`
	RodRelief        unit.Length `json:"rod_relief_mm" doc:"what the rod adds by itself"`
	ReliefUnstrung   unit.Length `json:"relief_unstrung_mm" doc:"with the rod as set"`
	ReliefStrung     unit.Length `json:"relief_strung_mm"`
	Fret12Dip        unit.Length `json:"fret12_dip_mm" doc:"below the line from fret 1 to the joint, strung"`
	Turn             unit.Angle  `json:"neck_turn_deg" doc:"of that line, from the neck's bend; + forward"`
	NutTurn          unit.Angle  `json:"nut_turn_deg" doc:"of the neck's own direction, nut against joint"`
	Fret12Turn       unit.Angle  `json:"fret12_turn_deg" doc:"of the neck's own direction, fret 12 against joint"`
	Fold             unit.Angle  `json:"joint_fold_deg"`
	Moment           float64     `json:"joint_moment_n_mm" doc:"about the top edge of the body's end: an estimate"`
	TopRise          unit.Length `json:"top_rise_mm" doc:"at the saddle; as typed, or worked out from the soundboard"`
	Rotation         unit.Angle  `json:"bridge_rotation_deg" doc:"+ when the bridge's top tips towards the neck; left out without a soundboard" absent:"nan"`
	GapTarget        unit.Length `json:"gap_target_mm" doc:"to set the unstrung neck to: straight edge on the frets"`
	GapTargetOnBoard unit.Length `json:"gap_target_on_board_mm" doc:"the same on a board without frets"`
	GapUnstrung      unit.Length `json:"gap_unstrung_mm" doc:"as read, or the target"`
	GapStrung        unit.Length `json:"gap_strung_mm" doc:"what it becomes"`
	StringHeight     unit.Length `json:"string_height_at_saddle_mm" doc:"over the fret line, strung"`
	Action12         sides       `json:"action12_mm" doc:"string over fret 12, strung"`
	SaddleProjection sides       `json:"saddle_projection_mm" doc:"saddle over the bridge this is for"`
	SaddleNeeded     sides       `json:"saddle_needed_mm" doc:"saddle over the bridge that gives the wanted action at this gap"`
	Frets            []sagOut    `json:"frets" doc:"tops of the frets from the nut to the joint, below the line from fret 1 to the joint"`
	Spread           doubtOut    `json:"spread" doc:"standard deviation of each figure, to first order"`
	Shares           []shareOut  `json:"shares" doc:"what the doubt comes from, largest effect on the action first"`
	Neckset          feedOut     `json:"neckset" doc:"fields to put into the neckset topic, so that its target is this one"`

	Say []unit.Phrase `json:"say" doc:"what to do, why, and how sure it is"`
}

// modulus takes a wood's or a typed one.
func modulus(kind string, typed unit.Stress, woodField, field string) (unit.Stress, string, error) {
	allowed := "a wood's name, or a modulus in MPa"
	switch {
	case kind != "" && typed != 0:
		return 0, "", &Error{field, fmt.Sprintf("%s and %s are both given: give one of them", woodField, field), allowed}
	case kind == "" && typed == 0:
		return 0, "", &Error{field, fmt.Sprintf("%s is missing: give it or %s", field, woodField), allowed}
	case kind == "":
		return typed, "", nil
	}
	w, ok := wood.Find(kind)
	if !ok {
		return 0, "", &Error{woodField, fmt.Sprintf("there is no wood %s here; give %s instead", quote(kind), field), allowed}
	}
	return w.Modulus, sourceOf(w), nil
}

func strungUp(in strungupIn) (strungupOut, []unit.Warning, []string, error) {
	none := strungupOut{}
	top, err := in.Top.top()
	if err != nil {
		return none, nil, nil, err
	}
	sources := []string{methodStrungup, methodNeckset}
	nm, from, err := modulus(in.Neck.Wood, in.Neck.Modulus, "neck.wood", "neck.modulus_mpa")
	if err != nil {
		return none, nil, nil, err
	}
	bm, boardFrom, err := modulus(in.Neck.BoardWood, in.Neck.BoardModulus, "neck.board_wood", "neck.board_modulus_mpa")
	if err != nil {
		return none, nil, nil, err
	}
	for _, s := range []string{from, boardFrom} {
		if s != "" {
			sources = append(sources, s)
		}
	}
	n := in.Neck
	rise := in.TopRise
	if !rise.Finite() {
		rise = 0
	}
	whole := strungup.Input{
		Build: neckset.Build{ScaleLength: in.ScaleLength, JointFret: in.JointFret, SaddleSetback: in.SaddleSetback, JointOffset: in.JointOffset,
			BoardThickness: in.BoardThickness, FretCrown: in.FretCrown, NeckProud: in.NeckProud, Relief: in.Relief, ReliefUnstrung: in.ReliefUnstrung,
			JointFold: in.JointFold, TopRise: rise, BridgeThickness: in.BridgeThickness, SaddleProjection: in.SaddleProjection,
			NutHeight: in.NutHeight, Action12: in.Action12, Top: top},
		Tension: in.Tension,
		Neck: strungup.Neck{Fullness: n.Fullness, Modulus: nm, BoardModulus: bm,
			Channel: strungup.Channel{Width: n.ChannelWidth, Depth: n.ChannelDepth}, Rod: strungup.Rod(n.Rod)},
		FoldStiffness: in.FoldStiffness, HoldRelief: in.HoldRelief,
		NutHeight: neckset.Sides(in.NutHeightSides), SaddleProjection: neckset.Sides(in.SaddleSides), Action12: neckset.Sides(in.Action12Sides),
	}
	for _, s := range n.Sections {
		whole.Neck.Stations = append(whole.Neck.Stations, strungup.Station(s))
	}
	if in.Gap.Finite() {
		whole.Gap, whole.GapRead = in.Gap, true
	}
	whole.Spreads = strungup.Guess(whole)
	board, err := in.board(whole)
	if err != nil {
		return none, nil, nil, err
	}
	if board != nil {
		whole.Top = board.give
		whole.Spreads = override(whole.Spreads, neckset.Spread{Field: "top_rise", SD: float64(board.give.Spread(board.pull.Tension, board.pull.Over))})
		sources = append(sources, methodSoundboard, soundboard.Source)
	}
	for _, s := range in.Spreads.given() {
		whole.Spreads = override(whole.Spreads, s)
	}
	r, warn, err := strungup.Chain(whole)
	if err != nil {
		return none, nil, nil, err
	}
	nan := unit.Angle(math.NaN())
	b := r.Build(whole.Build)
	out := strungupOut{
		AddedRelief: r.AddedRelief, FirstOrder: r.FirstOrder, RodRelief: r.RodRelief, ReliefUnstrung: r.ReliefUnstrung, ReliefStrung: r.ReliefStrung,
		Fret12Dip: r.Fret12Dip, Turn: r.Turn, NutTurn: r.NutTurn, Fret12Turn: r.Fret12Turn, Fold: r.Fold, Moment: r.Moment * 1000, TopRise: r.TopRise, Rotation: nan,
		GapTarget: r.GapTarget, GapTargetOnBoard: r.GapTargetOnBoard, GapUnstrung: r.GapUnstrung, GapStrung: r.GapStrung, StringHeight: r.StringHeightAtSaddle,
		Action12: sides(r.Action12), SaddleProjection: sides(r.SaddleProjection), SaddleNeeded: sides(r.SaddleNeeded),
		Spread: doubtOut{AddedRelief: r.Spread.AddedRelief, ReliefStrung: r.Spread.ReliefStrung, Turn: r.Spread.Turn, Fold: r.Spread.Fold, TopRise: r.Spread.TopRise, Rotation: nan,
			GapTarget: r.Spread.GapTarget, GapStrung: r.Spread.GapStrung, Action12: sides(r.Spread.Action12)},
		Neckset: feedOut{b.Relief, b.ReliefUnstrung, b.JointFold, b.TopRise},
	}
	if board != nil {
		over := in.BridgeThickness + (r.SaddleProjection.Bass+r.SaddleProjection.Treble)/2
		out.Rotation, out.Spread.Rotation = board.give.Turn(in.Tension, over), board.give.TurnSpread(in.Tension, over)
		warn = append(warn, board.doubts...)
	}
	out.Say = r.Say()
	for _, s := range r.Sags {
		out.Frets = append(out.Frets, sagOut(s))
	}
	for _, s := range r.Shares {
		out.Shares = append(out.Shares, shareOut{s.Field, s.Target, s.Action})
	}
	return out, warn, append(sources, wood.SpreadSource+"; other guessed spreads: common practice, no source"), nil
}

// override replaces a guess by what was given, or adds it.
func override(list []neckset.Spread, s neckset.Spread) []neckset.Spread {
	for i := range list {
		if list[i].Field == s.Field {
			list[i] = s
			return list
		}
	}
	return append(list, s)
}
