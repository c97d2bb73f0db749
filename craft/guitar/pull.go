package guitar

import (
	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/craft/strungup"
	"fairset/craft/wood"
	"fairset/unit"
)

const (
	groupNeck = "Neck shape and stiffness"
	groupFrom = "Typed, or worked out"
)

// What the figures that can be worked out are taken from.
const (
	FromTyped   = "typed"
	FromStrings = "strings"
	FromNeck    = "neck"
)

// Rods.
const (
	rodNone       = "none"
	rodDead       = "dead"
	rodAdjustable = "adjustable"
)

// usualRod is the bending stiffness of a square steel bar of 6 mm: 200 GPa × (6 mm)⁴/12.
const usualRod = 21.6

const gpa = 1e9

func neckFields() []Field {
	var necks, boards []Choice
	for _, w := range wood.Stiff() {
		if w.Fits(wood.NeckWood) {
			necks = append(necks, Choice{w.Key, unit.Say(w.Name)})
		}
		if w.Fits(wood.BoardWood) {
			boards = append(boards, Choice{w.Key, unit.Say(w.Name)})
		}
	}
	return []Field{
		length("neck_depth_nut", "neck depth at the nut, without the board", groupNeck, 6, 60, 0, "Thickness over all less the board."),
		length("neck_depth_joint", "neck depth before the heel, without the board", groupNeck, 6, 60, 0, "Where the heel begins to swell, less the board; taken as if it went on so to the joint."),
		scalar(unit.KindRatio, "neck_fullness", "fullness of the back", groupNeck, 1, 8, 0, "1 for a straight V, 2 for half an ellipse, 3 and more for a full D. Leave empty for 2."),
		choice("neck_wood", "neck wood", groupNeck, "Its stiffness is the mean of its kind; a single board differs by about a fifth.", necks...),
		choice("board_wood", "board wood", groupNeck, "For a wood that is not here, ebony among them, give the modulus below.", boards...),
		scalar(unit.KindRatio, "neck_modulus", "neck wood's own modulus, GPa", groupNeck, 2, 200, 0, "Measured along the grain; goes before the wood's mean."),
		scalar(unit.KindRatio, "board_modulus", "board wood's own modulus, GPa", groupNeck, 2, 200, 0, "Measured along the grain; goes before the wood's mean."),
		choice("rod", "rod in the neck", groupNeck, "With an adjustable rod the relief wanted when strung is set with it; without, the relief follows from the wood and the pull.", Choice{rodNone, unit.Say("none")}, Choice{rodDead, unit.Say("a bar that cannot be adjusted")}, Choice{rodAdjustable, unit.Say("adjustable")}),
		scalar(unit.KindRatio, "rod_stiffness", "stiffness of the rod, N·m²", groupNeck, 0, 5000, 0, "Modulus times second moment of area. Leave empty for a square steel bar of 6 mm, 21.6."),
		length("rod_channel_width", "width of the rod's channel", groupNeck, 0, 20, 0, "Leave empty to count no wood as lost to it."),
		length("rod_channel_depth", "depth of the rod's channel", groupNeck, 0, 30, 0, "Below the board."),
		scalar(unit.KindRatio, "joint_stiffness", "stiffness of the joint, N·m per radian", groupNeck, 100, 500000, 0, "The moment that would fold joint and body by one radian, from a measured fold. Leave empty to keep the fold that is typed."),
	}
}

func fromFields() []Field {
	return []Field{
		choice("setback_from", "saddle setback is", groupFrom, "Worked out from the strings, it is where the saddle as chosen passes the centreline. The typed figure is kept.", Choice{FromTyped, unit.Say("as typed")}, Choice{FromStrings, unit.Say("worked out from the strings")}),
		choice("tension_from", "pull of all strings is", groupFrom, "The typed figure is kept.", Choice{FromTyped, unit.Say("as typed")}, Choice{FromStrings, unit.Say("worked out from the strings")}),
		choice("pull_from", "what the strings do to the neck is", groupFrom, "Worked out from the neck's shape and woods: relief with and without strings and how far the neck turns. The fold stays typed unless the joint's stiffness is given. The typed figures are kept.", Choice{FromTyped, unit.Say("as typed")}, Choice{FromNeck, unit.Say("worked out from the neck")}),
		choice("top_rise_from", "rise of the top under pull is", groupFrom, "Worked out from the body's outline, woods and braces, under the strings' own pull and height over the bridge. The typed figure is kept.", Choice{FromTyped, unit.Say("as typed")}, Choice{FromTop, unit.Say("worked out from the top and its braces")}),
	}
}

// HasNeck reports whether a design says anything of its neck's shape or wood.
func HasNeck(d Values) bool {
	for _, k := range []string{"neck_depth_nut", "neck_depth_joint", "neck_wood", "neck_modulus"} {
		if d.Has(k) {
			return true
		}
	}
	return false
}

// typedBuild is the neck-set part of a design as it was typed.
func typedBuild(d Values) neckset.Build {
	return neckset.Build{
		ScaleLength: d.Length("scale_length"), JointFret: d.Count("joint_fret"), SaddleSetback: d.Length("saddle_setback"),
		JointOffset: d.Length("joint_offset"), BoardThickness: d.Length("board_thickness"), FretCrown: d.Length("fret_crown"),
		NeckProud: d.Length("neck_proud"), Relief: d.Length("relief"), ReliefUnstrung: d.Length("relief_unstrung"),
		JointFold: d.Angle("joint_fold"), TopRise: d.Length("top_rise"), BridgeThickness: d.Length("bridge_thickness"),
		SaddleProjection: d.Length("saddle_projection"), NutHeight: d.Length("nut_height"),
		Action12: (d.Length("action_bass") + d.Length("action_treble")) / 2,
		Top:      neckset.Top{Radius: d.Length("top_radius"), Apex: d.Length("top_apex")},
	}
}

// Build returns the neck-set part of a design: as typed, or with setback, reliefs, fold and rise worked out
// where the design's switches say so. A design that CheckDesign accepts has all it takes; for any other the
// typed figures stand.
func Build(d Values) neckset.Build {
	r, err := solve(d)
	if err != nil {
		return typedBuild(d)
	}
	return r.Build
}

// Tension is the pull of all strings, as typed or worked out.
func Tension(d Values) unit.Force {
	if d.Choice("tension_from") == FromStrings {
		if s, err := StringSetUp(d); err == nil {
			return s.Balance.Total
		}
	}
	return d.Force("string_tension")
}

// solved is a design with what its switches ask for worked out.
type solved struct {
	Build      neckset.Build // what the neck set goes by
	Base       neckset.Build // the same before the neck was worked out: reliefs and fold as typed
	Tension    unit.Force
	Intonation *Intonation      // when the setback comes from the strings
	Chain      *strungup.Result // when the pull comes from the neck; without spreads
	Top        *TopGive         // when the rise comes from the top
	Warnings   []unit.Warning
}

// reliefRests is where going round between saddle and neck stops: a tenth of a micrometre.
const reliefRests = 1e-4 * unit.MM

// solve works out what the switches ask for.
func solve(d Values) (solved, error) {
	var top *TopGive
	if d.Choice("top_rise_from") == FromTop {
		var err error
		if top, err = TopGiveOf(d); err != nil {
			return solved{Base: typedBuild(d)}, err
		}
	}
	return solveOn(d, top)
}

// solveOn is solve on a top that gives way so; nil keeps the typed rise. The setback depends a little on the relief, and the neck's
// bend a little on the setback, so it goes round until the relief rests: two or three times.
func solveOn(d Values, top *TopGive) (solved, error) {
	s := solved{Base: typedBuild(d), Tension: d.Force("string_tension"), Top: top}
	if d.Choice("tension_from") == FromStrings {
		set, err := StringSetUp(d)
		if err != nil {
			return s, err
		}
		s.Tension = set.Balance.Total
	}
	if top != nil {
		rise, err := top.Rise(s.Tension, s.Base.BridgeThickness+s.Base.SaddleProjection)
		if err != nil {
			return s, err
		}
		s.Base.TopRise = rise
	}
	s.Build = s.Base
	fromStrings, fromNeck := d.Choice("setback_from") == FromStrings, d.Choice("pull_from") == FromNeck
	for range 6 {
		if fromStrings {
			in, err := intonation(d, setting{action: actionWanted(d), relief: s.Build.Relief})
			if err != nil {
				return s, err
			}
			s.Intonation = &in
			s.Base.SaddleSetback, s.Build.SaddleSetback = in.Centre, in.Centre
		}
		if !fromNeck {
			break
		}
		in, err := chainInput(d, s)
		if err != nil {
			return s, err
		}
		in.Spreads = []neckset.Spread{}
		r, warns, err := strungup.Chain(in)
		if err != nil {
			return s, chainError(d, err)
		}
		before := s.Build.Relief
		s.Chain, s.Warnings, s.Build = &r, designWarnings(warns), r.Build(s.Base)
		if !fromStrings || (s.Build.Relief-before).Abs() < reliefRests {
			break
		}
	}
	return s, nil
}

// neckOf is what bends.
func neckOf(d Values) (strungup.Neck, error) {
	const why = "what the strings do to the neck cannot be worked out without it"
	p := lacking(d, why, "neck_width_nut", "neck_width_joint", "neck_depth_nut", "neck_depth_joint")
	n := strungup.Neck{Fullness: d.Ratio("neck_fullness"), Channel: strungup.Channel{Width: d.Length("rod_channel_width"), Depth: d.Length("rod_channel_depth")}}
	for _, w := range []struct {
		wood, own string
		into      *unit.Stress
	}{{"neck_wood", "neck_modulus", &n.Modulus}, {"board_wood", "board_modulus", &n.BoardModulus}} {
		switch kind, ok := wood.Find(d.Choice(w.wood)); {
		case d.Has(w.own):
			*w.into = unit.Stress(d.Ratio(w.own) * gpa)
		case ok:
			*w.into = kind.Modulus
		default:
			p = append(p, needed(w.wood, why+": choose the wood, or give its modulus"))
		}
	}
	switch rod := d.Choice("rod"); {
	case rod == rodDead || rod == rodAdjustable:
		n.Rod.Stiffness = usualRod
		if d.Has("rod_stiffness") {
			n.Rod.Stiffness = d.Ratio("rod_stiffness")
		}
	case d.Ratio("rod_stiffness") != 0:
		p = append(p, wrong(d, "rod_stiffness", "there is no rod: say which there is, or leave this empty"))
	}
	if d.Has("rod_channel_width") != d.Has("rod_channel_depth") {
		key := "rod_channel_width"
		if d.Has(key) {
			key = "rod_channel_depth"
		}
		p = append(p, needed(key, "width and depth of the channel belong together"))
	}
	if len(p) > 0 {
		return n, p
	}
	joint := fretting.Distance(d.Length("scale_length"), d.Count("joint_fret"))
	n.Stations = []strungup.Station{{At: 0, Width: d.Length("neck_width_nut"), Depth: d.Length("neck_depth_nut")}, {At: joint, Width: d.Length("neck_width_joint"), Depth: d.Length("neck_depth_joint")}}
	return n, nil
}

// chainInput is a whole guitar to be strung; the chain works out a rise that comes from the top by itself.
func chainInput(d Values, s solved) (strungup.Input, error) {
	neck, err := neckOf(d)
	if err != nil {
		return strungup.Input{}, err
	}
	in := strungup.Input{Build: s.Base, Tension: s.Tension, Neck: neck, Action12: actionWanted(d), HoldRelief: d.Choice("rod") == rodAdjustable}
	if s.Top != nil {
		in.Top, in.Build.TopRise = s.Top, 0
	}
	if d.Has("joint_stiffness") {
		in.FoldStiffness, in.Build.JointFold = d.Ratio("joint_stiffness"), 0
	}
	return in, nil
}

// chainError names the string set where a pull that came from it is too much.
func chainError(d Values, err error) error {
	err = designError(d, err)
	if p, ok := err.(Problems); ok && d.Choice("tension_from") == FromStrings && p[0].Field == "string_tension" {
		f, _ := find(designFields, "string_set")
		p[0].Field, p[0].Label = f.Field, f.Label
	}
	return err
}

// Chain follows a design from unstrung to strung, with spreads, whether or not its target goes by it.
// Errors are Problems naming the fields to fill or to mend.
func Chain(d Values) (strungup.Result, []unit.Warning, error) { return chainAt(d, nil) }

// ChainAt is Chain for a guitar whose neck stands at a gap on the frets as read, unstrung, and whose saddle
// is as tall as the design says.
func ChainAt(d Values, gap unit.Length) (strungup.Result, []unit.Warning, error) {
	return chainAt(d, &gap)
}

func chainAt(d Values, gap *unit.Length) (strungup.Result, []unit.Warning, error) {
	s, err := solve(d)
	if err != nil {
		return strungup.Result{}, nil, err
	}
	in, err := chainInput(d, s)
	if err != nil {
		return strungup.Result{}, nil, err
	}
	if gap != nil {
		in.Gap, in.GapRead = *gap, true
	}
	in.Spreads = chainSpreads(d, in, s.Top)
	r, warns, err := strungup.Chain(in)
	if err != nil {
		return strungup.Result{}, nil, chainError(d, err)
	}
	return r, designWarnings(warns), nil
}

// chainSpreads are the chain's own guesses, but for a rise that is worked out and what the maker said of a figure.
func chainSpreads(d Values, in strungup.Input, top *TopGive) []neckset.Spread {
	out := strungup.Guess(in)
	for i, s := range out {
		if top != nil && s.Field == "top_rise" {
			out[i].SD = float64(top.Spread(in.Tension, in.Build.BridgeThickness+in.Build.SaddleProjection))
		}
		if key := s.Field + spreadSuffix; d.Has(key) {
			out[i].SD = d.Ratio(key)
		}
	}
	return out
}

// pullSpreads are the spreads of reliefs, fold and rise that are worked out, by key: what the strings add to the
// relief is as sure as wood and pull are. A relief that only follows another one is as sure as that one and adds
// nothing to the bend.
func pullSpreads(d Values) map[string]float64 {
	out := map[string]float64{}
	if d.Choice("top_rise_from") == FromTop {
		if g, err := TopGiveOf(d); err == nil {
			p := PullOnTop(d)
			out["top_rise"] = float64(g.Spread(p.Tension, p.Over))
		}
	}
	if d.Choice("pull_from") != FromNeck {
		return out
	}
	r, _, err := Chain(d)
	if err != nil {
		return out
	}
	added, follows := "relief", "relief_unstrung"
	if d.Choice("rod") == rodAdjustable {
		added, follows = follows, added
	}
	out[added], out[follows] = float64(r.Spread.AddedRelief), 0
	if d.Has("joint_stiffness") {
		out["joint_fold"] = float64(r.Spread.Fold)
	}
	return out
}

// checkSwitches are the problems of a design that asks for figures to be worked out which it lacks the
// figures for, and of optional figures that cannot stand together.
func checkSwitches(d Values) Problems {
	if HasStrings(d) {
		if _, err := StringSetUp(d); err != nil {
			return problemsOf(err)
		}
	}
	if p := scaleProblems(d); len(p) > 0 {
		return p
	}
	if p := checkBody(d); len(p) > 0 {
		return p
	}
	if n, most := d.Count("fit_frets"), d.Count("frets"); n > most {
		return Problems{wrong(d, "fit_frets", "the board has only %d frets", most)}
	}
	if n, most := d.Count("capo"), d.Count("frets"); n >= most && n > 0 {
		return Problems{wrong(d, "capo", "no fret is left to play above it on a board of %d", most)}
	}
	if _, err := solve(d); err != nil {
		return problemsOf(err)
	}
	return nil
}

func problemsOf(err error) Problems {
	if p, ok := err.(Problems); ok {
		return p
	}
	return Problems{{Limit: unit.Limit{Field: "design", Label: unit.Say("design"), Kind: unit.KindText}, Found: unit.Say("these figures"), Why: unit.Say("%v", err)}}
}
