package figure

import (
	"fairset/craft/fastening"
	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/unit"
)

const (
	methodNeckset   = "docs/method/neckset.md"
	methodFretting  = "docs/method/fretting.md"
	methodFastening = "docs/method/fastening.md"
)

// topics are built once, when the program starts, and never changed.
var topics = []topic{
	define("frets", "Where the frets and the position dots go, from the nut.", fretsExample, fretting.LimitOf, frets),
	define("neckset", "What a design asks of the neck set: gap at the saddle and neck angle.", necksetExample, neckset.LimitOf, target),
	define("nextcut", "The one cut of the heel that brings the neck nearest its target, and how much of it to take now.", nextcutExample, neckset.LimitOf, nextcut),
	define("seat", "How to close flat heel shoulders on a curved body end.", seatExample, neckset.LimitOf, seat),
	define("setup", "What to take off the saddle and where to move it, once strung.", setupExample, neckset.LimitOf, setup),
	define("joint", "An estimate of what each neck bolt carries against what the wood is designed to hold.", jointExample, fastening.LimitOf, joint),
	define("drill", "Which drills a neck bolt wants, what thread a hole leaves, and how far to ream a hole that missed.", drillExample, fastening.LimitOf, drill),
	define("strings", "Mass, pull and inharmonicity of each string of a set.", stringsExample, stringLimit, pulls),
	define("intonation", "How sharp one string's fretted notes are, and where its saddle and nut should be set back to.", intonationExample, stringLimit, intonation),
	define("strungup", "What string pull does to a guitar: neck, joint, top, gap and action, and the gap to set before stringing.", strungupExample, strungupLimit, strungUp),
	define("emc", "The moisture wood comes to in air of a temperature and humidity.", emcExample, woodLimit, emc),
	define("movement", "How much wider or narrower a board gets between two climates.", movementExample, woodLimit, movement),
	define("soundboard", "What string pull does to a braced top, and how the top vibrates.", soundboardExample, boardLimit, soundboardUnder),
	define("board", "Density and stiffness of a maker's own board from the scales, a sag test or a tap test, as the soundboard wants them.", boardExample, woodLimit, measured),
}

// frets

const fretsExample = `{"scale_length_mm": "25 1/4 in", "frets": 20}
`

type fretsIn struct {
	ScaleLength unit.Length `json:"scale_length_mm" doc:"twice the distance from the nut to fret 12, without any setback of the saddle"`
	Frets       int         `json:"frets" doc:"how many frets the board carries"`
	Pattern     string      `json:"dot_pattern" doc:"which frets carry dots: usual (3 5 7 9 12 ...) or small (5 7 10 12 15 ..., as on many ukuleles)" enum:"usual,small" default:"\"usual\""`
}

type dot struct {
	Fret     int         `json:"fret"`
	Position unit.Length `json:"position_mm" doc:"middle of the space before the fret, from the nut"`
	Count    int         `json:"count" doc:"1, or 2 for a pair"`
}

type fretsOut struct {
	Positions []unit.Length `json:"fret_positions_mm" doc:"from the nut, fret 1 first"`
	Dots      []dot         `json:"dots" doc:"the same places for the face and for the edge of the board"`
}

func frets(in fretsIn) (out fretsOut, warn []unit.Warning, sources []string, err error) {
	if out.Positions, err = fretting.Positions(in.ScaleLength, in.Frets); err != nil {
		return out, nil, nil, err
	}
	marks := fretting.Usual()
	if in.Pattern == "small" {
		marks = fretting.Small()
	}
	dots, err := fretting.DotsAt(in.ScaleLength, in.Frets, marks)
	if err != nil {
		return out, nil, nil, err
	}
	out.Dots = make([]dot, len(dots))
	for i, d := range dots {
		out.Dots[i] = dot(d)
	}
	return out, fretting.Doubts(in.ScaleLength), []string{"twelve-tone equal temperament: d = L (1 - 2^(-n/12)); " + methodFretting, "which frets carry dots: common practice, no source"}, nil
}

// neckset

const necksetExample = `{
  "scale_length_mm": "25 1/4 in", "joint_fret": 14, "saddle_setback_mm": 2.5,
  "board_thickness_mm": 6.2, "fret_crown_mm": 1.05,
  "relief_mm": 0.2, "joint_fold_deg": 0.02, "top_rise_mm": 0.5,
  "bridge_thickness_mm": 8.8, "saddle_projection_mm": 3.1,
  "nut_height_mm": 0.5, "action12_mm": "3/32 in",
  "top": {"kind": "dome", "radius_mm": 9000, "apex_mm": 230}
}
`

type topIn struct {
	Kind   string      `json:"kind" doc:"flat or dome" enum:"flat,dome"`
	Radius unit.Length `json:"radius_mm" key:"top_radius" doc:"of a dome, along the centreline" optional:"yes"`
	Apex   unit.Length `json:"apex_mm" key:"top_apex" doc:"of a dome: its highest point behind the joint edge" optional:"yes"`
}

type necksetIn struct {
	ScaleLength      unit.Length `json:"scale_length_mm" doc:"twice the distance from the nut to fret 12, without setback"`
	JointFret        int         `json:"joint_fret" doc:"the fret that stands at the body's edge"`
	SaddleSetback    unit.Length `json:"saddle_setback_mm" doc:"saddle line behind the scale length, on the centreline" default:"0"`
	JointOffset      unit.Length `json:"joint_offset_mm" doc:"+ when the body's edge lies nearer the saddle than the joint fret" default:"0"`
	BoardThickness   unit.Length `json:"board_thickness_mm" doc:"fretboard at the joint, without frets"`
	FretCrown        unit.Length `json:"fret_crown_mm" doc:"height of a fret over the board"`
	NeckProud        unit.Length `json:"neck_proud_mm" doc:"underside of the board over the top, at the joint" default:"0"`
	Relief           unit.Length `json:"relief_mm" doc:"dip of the frets between fret 1 and the joint, strung" default:"0"`
	ReliefUnstrung   unit.Length `json:"relief_unstrung_mm" doc:"the same without strings" default:"0"`
	JointFold        unit.Angle  `json:"joint_fold_deg" doc:"how far string pull folds the neck forward at the joint" default:"0"`
	TopRise          unit.Length `json:"top_rise_mm" doc:"how far string pull lifts the top at the saddle" default:"0"`
	BridgeThickness  unit.Length `json:"bridge_thickness_mm" doc:"at the saddle, on the centreline"`
	SaddleProjection unit.Length `json:"saddle_projection_mm" doc:"saddle over the bridge, on the centreline"`
	NutHeight        unit.Length `json:"nut_height_mm" doc:"string over the line of the fret tops, at the nut"`
	Action12         unit.Length `json:"action12_mm" doc:"string over fret 12, wanted, mean of bass and treble"`
	Top              topIn       `json:"top" doc:"shape of the top along the centreline" default:"{\"kind\":\"flat\"}"`
}

type necksetOut struct {
	SaddleDistance       unit.Length `json:"saddle_distance_mm" doc:"joint edge to saddle"`
	NutToJoint           unit.Length `json:"nut_to_joint_mm" doc:"nut to the joint fret"`
	Fret12Dip            unit.Length `json:"fret12_dip_mm" doc:"what the relief lowers fret 12 by"`
	StringHeightAtSaddle unit.Length `json:"string_height_at_saddle_mm" doc:"over the fret line"`
	GapStrung            unit.Length `json:"gap_strung_mm" doc:"fret line over the top at the saddle, strung"`
	GapOnFrets           unit.Length `json:"gap_on_frets_mm" doc:"the same before stringing: straight edge on the frets"`
	GapOnBoard           unit.Length `json:"gap_on_board_mm" doc:"the same with the straight edge on a board without frets"`
	TopHeightAtSaddle    unit.Length `json:"top_height_at_saddle_mm" doc:"top over its own edge at the joint"`
	NeckAngle            unit.Angle  `json:"neck_angle_deg" doc:"+ leans back"`
}

func (t topIn) top() (neckset.Top, error) {
	if t.Kind == "dome" {
		if t.Radius == 0 {
			return neckset.Top{}, &Error{"top.radius_mm", "top.radius_mm is missing: a dome needs its radius", "2000 to 30000 mm"}
		}
		return neckset.Top{Radius: t.Radius, Apex: t.Apex}, nil
	}
	for _, f := range []struct {
		name string
		v    unit.Length
	}{{"top.radius_mm", t.Radius}, {"top.apex_mm", t.Apex}} {
		if f.v != 0 {
			return neckset.Top{}, &Error{f.name, f.name + " is given for a flat top: leave it out, or say that the kind is dome", "left out"}
		}
	}
	return neckset.Top{}, nil
}

func target(in necksetIn) (necksetOut, []unit.Warning, []string, error) {
	top, err := in.Top.top()
	if err != nil {
		return necksetOut{}, nil, nil, err
	}
	t, warn, err := neckset.Build{ScaleLength: in.ScaleLength, JointFret: in.JointFret, SaddleSetback: in.SaddleSetback, JointOffset: in.JointOffset,
		BoardThickness: in.BoardThickness, FretCrown: in.FretCrown, NeckProud: in.NeckProud, Relief: in.Relief, ReliefUnstrung: in.ReliefUnstrung,
		JointFold: in.JointFold, TopRise: in.TopRise, BridgeThickness: in.BridgeThickness, SaddleProjection: in.SaddleProjection,
		NutHeight: in.NutHeight, Action12: in.Action12, Top: top}.Target()
	return necksetOut(t), warn, []string{methodNeckset}, err
}

// nextcut

const nextcutExample = `{
  "saddle_distance_mm": 291, "heel_height_mm": 92, "heel_width_top_mm": 56, "heel_width_cap_mm": 30,
  "gap_target_mm": 6.4, "gap_measured_mm": "13/64 in", "offset_measured_mm": 0.8,
  "gap_sd_mm": 0.12, "offset_sd_mm": 0.25, "cut_sd_fraction": 0.15, "overshoot_risk": 0.05
}
`

type nextcutIn struct {
	SaddleDistance  unit.Length `json:"saddle_distance_mm" doc:"joint edge to saddle"`
	HeelHeight      unit.Length `json:"heel_height_mm" doc:"top edge to cap"`
	HeelWidthTop    unit.Length `json:"heel_width_top_mm" doc:"across both shoulders at the top edge"`
	HeelWidthCap    unit.Length `json:"heel_width_cap_mm" doc:"across both shoulders at the cap"`
	GapTarget       unit.Length `json:"gap_target_mm" doc:"wanted height of the straight edge over the top at the saddle"`
	GapMeasured     unit.Length `json:"gap_measured_mm" doc:"the same as read now"`
	OffsetMeasured  unit.Length `json:"offset_measured_mm" doc:"where the neck's centreline passes at the saddle: + on the treble side" default:"0"`
	GapSD           unit.Length `json:"gap_sd_mm" doc:"standard deviation of the gap as it is known now"`
	OffsetSD        unit.Length `json:"offset_sd_mm" doc:"the same of the offset; needed when an offset is given" default:"0"`
	CutSD           float64     `json:"cut_sd_fraction" doc:"standard deviation of a cut, as a fraction of it" default:"0.15"`
	Risk            float64     `json:"overshoot_risk" doc:"accepted chance of going past the target: for each axis and pass, or for the whole neck when a tolerance is given" default:"0.05"`
	GapTolerance    unit.Length `json:"gap_tolerance_mm" doc:"how far off the gap may stay; 0 for none given" default:"0"`
	OffsetTolerance unit.Length `json:"offset_tolerance_mm" doc:"how far off the offset may stay; 0 for none given" default:"0"`
	GapReadSD       unit.Length `json:"gap_read_sd_mm" doc:"standard deviation of the next gap reading; 0 for the same as gap_sd_mm" default:"0"`
	OffsetReadSD    unit.Length `json:"offset_read_sd_mm" doc:"standard deviation of the next offset reading; 0 for the same as offset_sd_mm" default:"0"`
	GapMade         unit.Length `json:"gap_made_mm" doc:"sum of the gap changes aimed at in passes already made" default:"0"`
	OffsetMade      unit.Length `json:"offset_made_mm" doc:"the same of the offset changes" default:"0"`
}

type corners struct {
	TopBass   unit.Length `json:"top_bass"`
	TopTreble unit.Length `json:"top_treble"`
	CapBass   unit.Length `json:"cap_bass"`
	CapTreble unit.Length `json:"cap_treble"`
}

type nextcutOut struct {
	PitchChange   unit.Angle  `json:"pitch_change_deg" doc:"whole change wanted; + leans back"`
	YawChange     unit.Angle  `json:"yaw_change_deg" doc:"whole change wanted; + swings the head to treble"`
	Full          corners     `json:"full_removal_mm" doc:"depth at the corners of the heel for the whole change"`
	FullShift     unit.Length `json:"full_neck_shift_mm" doc:"how far the nut would come nearer the bridge"`
	PlannedGap    unit.Length `json:"planned_gap_change_mm" doc:"change of the gap to aim at now"`
	PlannedOffset unit.Length `json:"planned_offset_change_mm" doc:"swing to aim at now, with the sign of yaw_change_deg"`
	Planned       corners     `json:"planned_removal_mm" doc:"depth at the corners of the heel to take now"`
	PlannedShift  unit.Length `json:"planned_neck_shift_mm" doc:"how far the nut comes nearer the bridge"`
	RecutExpected float64     `json:"recut_expected" doc:"further passes to expect after this one"`
	PastChance    float64     `json:"past_chance" doc:"chance that this cut goes past the target on either axis"`
	Verdict       string      `json:"verdict" doc:"leave, cut, read (once more before cutting) or past (the other edge must be cut)"`
}

func nextcut(in nextcutIn) (nextcutOut, []unit.Warning, []string, error) {
	// An offset that is known for certain would be cut without any care; so its spread must be said.
	if in.OffsetMeasured != 0 && in.OffsetSD == 0 && in.OffsetReadSD == 0 {
		return nextcutOut{}, nil, nil, &Error{"offset_sd_mm", "offset_sd_mm is missing: an offset is given, so say how sure the reading is", "more than 0, to 5 mm"}
	}
	c, warn, err := neckset.NextCut(neckset.CutInput{SaddleDistance: in.SaddleDistance,
		Heel:      neckset.Heel{Height: in.HeelHeight, WidthTop: in.HeelWidthTop, WidthCap: in.HeelWidthCap},
		GapTarget: in.GapTarget, GapMeasured: in.GapMeasured, OffsetMeasured: in.OffsetMeasured, GapSD: in.GapSD, OffsetSD: in.OffsetSD,
		CutSD: in.CutSD, Risk: in.Risk, GapTolerance: in.GapTolerance, OffsetTolerance: in.OffsetTolerance,
		GapReadSD: in.GapReadSD, OffsetReadSD: in.OffsetReadSD, GapMade: in.GapMade, OffsetMade: in.OffsetMade})
	if err != nil {
		return nextcutOut{}, nil, nil, err
	}
	return nextcutOut{c.PitchChange, c.YawChange, corners(c.Full), c.FullShift, c.PlannedGap, c.PlannedOffset, corners(c.Planned), c.PlannedShift,
		c.RecutExpected, c.PastChance, string(c.Verdict)}, warn, []string{methodNeckset}, nil
}

// seat

const seatExample = `{"body_arc_radius_mm": 340, "heel_width_mm": 56, "tenon_width_mm": 19, "body_share": 0.4, "side_thickness_mm": 2.1, "side_limit_fraction": 0.3}
`

type seatIn struct {
	ArcRadius     unit.Length `json:"body_arc_radius_mm" doc:"of the body's end in plan; 0 for flat" zero:"yes"`
	HeelWidth     unit.Length `json:"heel_width_mm" doc:"across both shoulders"`
	TenonWidth    unit.Length `json:"tenon_width_mm" doc:"across the tenon's cheeks"`
	BodyShare     float64     `json:"body_share" doc:"share of the gap to close by flattening the body; the rest hollows the shoulders"`
	SideThickness unit.Length `json:"side_thickness_mm" doc:"wood at the body's end"`
	SideLimit     float64     `json:"side_limit_fraction" doc:"fraction of the side's thickness that may be taken" default:"0.25"`
}

type seatOut struct {
	EdgeGap       unit.Length `json:"edge_gap_mm" doc:"at the shoulder's outer edge, before anything is taken"`
	BodyRemoval   unit.Length `json:"body_removal_mm" doc:"flattening of the body, at its deepest"`
	HeelRemoval   unit.Length `json:"heel_removal_mm" doc:"hollow of the shoulders, deepest beside the tenon"`
	BodyFlatWidth unit.Length `json:"body_flat_width_mm" doc:"width of the flat on the body"`
	BodyLimited   bool        `json:"body_limited" doc:"whether the side's thickness held the body's share back"`
}

func seat(in seatIn) (seatOut, []unit.Warning, []string, error) {
	s, warn, err := neckset.FitSeat(neckset.SeatInput(in))
	return seatOut(s), warn, []string{methodNeckset}, err
}

// setup

const setupExample = `{
  "scale_length_mm": "25 1/4 in", "saddle_setback_mm": 2.5,
  "action12_mm": {"bass": 3.0, "treble": "3/32 in"}, "target_action12_mm": {"bass": 2.5, "treble": 1.9},
  "cents_at_12": [4, 1, -3, 5, 2, 0]
}
`

type sides struct {
	Bass   unit.Length `json:"bass" doc:"bass side"`
	Treble unit.Length `json:"treble" doc:"treble side"`
}

type setupIn struct {
	ScaleLength   unit.Length `json:"scale_length_mm" doc:"twice the distance from the nut to fret 12, without setback"`
	SaddleSetback unit.Length `json:"saddle_setback_mm" doc:"saddle line behind the scale length" default:"0"`
	Action        sides       `json:"action12_mm" doc:"string over fret 12 as read"`
	Wanted        sides       `json:"target_action12_mm" doc:"string over fret 12 as wanted"`
	Cents         []float64   `json:"cents_at_12" doc:"fretted fret 12 over the octave of the open string, + sharp, each string from the bass" items:"1,24" optional:"yes"`
}

type setupOut struct {
	SaddleRemoval sides         `json:"saddle_removal_mm" doc:"off the top of the saddle; negative: it must be that much taller"`
	SaddleMove    []unit.Length `json:"saddle_move_mm" doc:"each string's saddle point; + away from the nut"`
}

func setup(in setupIn) (setupOut, []unit.Warning, []string, error) {
	s, warn, err := neckset.SetUp(neckset.SetupInput{ScaleLength: in.ScaleLength, SaddleSetback: in.SaddleSetback,
		Action: neckset.Sides(in.Action), Wanted: neckset.Sides(in.Wanted), Cents: in.Cents})
	return setupOut{sides(s.SaddleRemoval), s.SaddleMove}, warn, []string{methodNeckset}, err
}

// joint

const jointExample = `{
  "string_tension_n": 720, "string_height_at_joint_mm": 9, "specific_gravity": 0.49, "end_grain": true,
  "bolts": [
    {"depth_mm": "1 1/4 in", "diameter_mm": "1/4 in", "thread_penetration_mm": 22},
    {"depth_mm": "2 1/4 in", "diameter_mm": "1/4 in", "thread_penetration_mm": 22}
  ]
}
`

type boltIn struct {
	Depth       unit.Length `json:"depth_mm" doc:"below the top edge"`
	Diameter    unit.Length `json:"diameter_mm" doc:"of the unthreaded shank"`
	Penetration unit.Length `json:"thread_penetration_mm" doc:"wood thread in the heel, without its tapered point"`
}

type jointIn struct {
	Tension         unit.Force  `json:"string_tension_n" doc:"pull of all strings together"`
	StringHeight    unit.Length `json:"string_height_at_joint_mm" doc:"strings over the top edge, at the joint"`
	SpecificGravity float64     `json:"specific_gravity" doc:"of the heel wood, ovendry"`
	EndGrain        bool        `json:"end_grain" doc:"whether the bolts run along the grain, as in a heel" default:"true"`
	Bolts           []boltIn    `json:"bolts" doc:"the bolts of the joint" items:"1,8"`
}

type boltOut struct {
	Tension     unit.Force `json:"tension_n"`
	Allowable   unit.Force `json:"allowable_n"`
	Utilisation float64    `json:"utilisation" doc:"tension over allowable"`
}

type jointOut struct {
	Moment float64   `json:"moment_n_mm" doc:"about the top edge"`
	Bolts  []boltOut `json:"bolts"`
}

func joint(in jointIn) (jointOut, []unit.Warning, []string, error) {
	load := fastening.JointInput{Tension: in.Tension, StringHeight: in.StringHeight, SpecificGravity: in.SpecificGravity, EndGrain: in.EndGrain}
	for _, b := range in.Bolts {
		load.Bolts = append(load.Bolts, fastening.Bolt(b))
	}
	j, warn, err := fastening.JointLoad(load)
	out := jointOut{Moment: j.Moment * 1000}
	for _, b := range j.Bolts {
		out.Bolts = append(out.Bolts, boltOut(b))
	}
	return out, warn, []string{methodFastening, "NDS 2018, 12.2.1 and end grain factor C_eg"}, err
}

// drill

const drillExample = `{"thread": "1/4-20 UNC", "specific_gravity": 0.49, "clearance_fit": "normal", "drill_series": ["fractional", "number"], "hole_errors_mm": [0.2, 0.7]}
`

type drillIn struct {
	Thread          string        `json:"thread" doc:"machine thread of the bolt, such as 1/4-20 UNC, 10-24, M6"`
	SpecificGravity float64       `json:"specific_gravity" doc:"of the heel wood, ovendry"`
	Fit             string        `json:"clearance_fit" doc:"how freely the bolt passes the body" enum:"close,normal,loose" default:"\"normal\""`
	Series          []string      `json:"drill_series" doc:"the drills at hand" enum:"fractional,number,letter,metric" items:"1,4" default:"[\"fractional\",\"number\",\"letter\",\"metric\"]"`
	HoleErrors      []unit.Length `json:"hole_errors_mm" doc:"how far each hole of the body misses its bolt, radially" items:"1,16" optional:"yes"`
	Drills          []string      `json:"drills" doc:"what drills are on hand, instead of drill_series: a set, a set by a step or to a size, or one drill: metric by 0.5 mm to 10 mm, 11/64, #7, F" items:"1,100" optional:"yes"`
}

type drillName struct {
	Name     string      `json:"name"`
	Diameter unit.Length `json:"diameter_mm"`
}

type bite struct {
	Name  string      `json:"name"`
	Hole  unit.Length `json:"hole_mm"`
	Share float64     `json:"thread_share" doc:"of the full depth of thread that stands in wood, 0 to 1"`
	Depth unit.Length `json:"thread_depth_mm" doc:"radial depth of thread in wood"`
}

type drillOut struct {
	Clearance  drillName     `json:"clearance_drill" doc:"for the hole in the body"`
	Pilot      drillName     `json:"pilot_drill" doc:"for the hole in the heel"`
	PilotRange []unit.Length `json:"pilot_range_mm" doc:"least and largest lead hole by the standard"`
	Float      unit.Length   `json:"float_mm" doc:"radial play of the bolt in the clearance hole"`
	ReamTo     unit.Length   `json:"ream_to_mm" doc:"drill to ream the body's hole to; 0 when none is needed"`
	ReamNeed   unit.Length   `json:"ream_need_mm" doc:"least hole that gives the play the worst hole wants; 0 when none is needed"`
	Nut        unit.Length   `json:"nut_across_flats_mm"`
	Wrench     string        `json:"wrench"`
	Standard   unit.Length   `json:"standard_hole_mm" doc:"clearance hole the standard gives"`
	WoodRoot   unit.Length   `json:"wood_thread_root_mm" doc:"root of the wood thread; 0 when the table has none of this size"`
	Engagement []bite        `json:"engagement" doc:"thread left in the wood by the pilot and by larger holes"`
	Covers     bool          `json:"washer_covers" doc:"whether a washer of the table still covers the hole"`
	Washer     unit.Length   `json:"washer_outer_mm" doc:"smallest washer that covers, or the largest there is"`
	Why        unit.Phrase   `json:"why" doc:"why this pilot"`
	Practice   unit.Phrase   `json:"practice" doc:"what shops do beyond the standard, and its risk"`
	Caution    unit.Phrase   `json:"caution"`
	Sources    []string      `json:"sources"`
}

func drill(in drillIn) (drillOut, []unit.Warning, []string, error) {
	a, warn, err := fastening.Advise(fastening.DrillInput(in))
	if err != nil {
		return drillOut{}, nil, nil, err
	}
	out := drillOut{
		Clearance: drillName{a.Clearance.Name, a.Clearance.Diameter}, Pilot: drillName{a.Pilot.Name, a.Pilot.Diameter},
		PilotRange: a.PilotRange[:], Float: a.Float, ReamTo: a.ReamTo, ReamNeed: a.ReamNeed, Nut: a.Nut, Wrench: a.Thread.Wrench(),
		Standard: a.Standard, WoodRoot: a.Wood.Root, Covers: a.Covers, Washer: a.Washer.Outer, Why: a.Why, Practice: a.Practice, Caution: a.Caution, Sources: a.Sources,
	}
	for _, b := range a.Bites {
		out.Engagement = append(out.Engagement, bite{b.Name, b.Hole, b.Share, b.Depth})
	}
	return out, warn, append([]string{methodFastening}, a.Sources...), nil
}
