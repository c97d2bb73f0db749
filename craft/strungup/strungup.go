// Package strungup follows a guitar from unstrung to strung: how far string pull bends the neck, folds the
// joint and lifts the top, what that makes of the gap and of the action at fret 12, and so which gap the
// neck must be set to before there are strings on it.
//
// Frame: u runs from the nut along the centreline to the joint. Relief and the neck's bend are positive when
// the neck is hollow under the strings; turn and fold are positive when the neck comes forward, so that a
// straight edge on its frets drops toward the top. The body beyond the joint is taken as rigid but for the
// fold and the rise that are given.
//
// Every figure here is an estimate: wood of one kind differs from board to board by a fifth. The spreads say
// how much that matters; a reading after stringing says it better. Left out: creep under load, the wood
// drying, the glue line, frets wedging the board, and stretch of the neck.
//
// Derivations: docs/method/strungup.md.
package strungup

import (
	"math"
	"sort"

	"fairset/craft/neckset"
	"fairset/craft/wood"
	"fairset/unit"
)

// Top answers how far string pull lifts the top at the saddle; a soundboard's figure can stand here.
type Top interface {
	// Rise is for a total tension whose strings stand arm over the top at the saddle.
	Rise(tension unit.Force, arm unit.Length) (unit.Length, error)
}

// Input is one guitar.
type Input struct {
	// Build gives the geometry and what is typed of the chain: ReliefUnstrung with the rod slack, JointFold,
	// TopRise. Its Relief counts only with HoldRelief.
	Build   neckset.Build
	Tension unit.Force // all strings together
	Neck    Neck

	FoldStiffness float64 // of joint and body, N·m per radian; 0: Build.JointFold is what it folds
	Top           Top     // adds to Build.TopRise; nil: the typed rise alone
	HoldRelief    bool    // the rod will be set so that the relief is Build.Relief once strung

	// Gap is the unstrung gap on the frets as read at the bench, when GapRead; else the target is taken.
	Gap     unit.Length
	GapRead bool

	// Each side's own figures; zero on both sides stands for what Build says of the mean. With
	// SaddleProjection left zero the saddle is shaped for the wanted action at the target gap.
	NutHeight, SaddleProjection, Action12 neckset.Sides

	// Spreads are standard deviations of inputs, SI, by key (see LimitOf); nil: Guess. An empty list is none.
	Spreads []neckset.Spread

	deeper, wider float64 // small excursions of every station
}

// Deviation is the spread of each figure of a Result, to first order.
type Deviation struct {
	AddedRelief, ReliefStrung, TopRise, GapTarget, GapStrung unit.Length
	Turn, Fold                                               unit.Angle
	Action12                                                 neckset.Sides
}

// Share is one input's part in the doubt.
type Share struct {
	Field  string
	SD     float64     // SI
	Target unit.Length // what one SD of it moves the target gap by
	Action unit.Length // the same of the action at fret 12, mean of both sides, for a guitar set as it is
}

// Sag is how far one fret's top lies below the line from fret 1 to the joint's fret; the nut, fret 0, may
// stand over it.
type Sag struct {
	Fret             int
	At               unit.Length // from the nut
	Unstrung, Strung unit.Length
}

// Result is the chain.
type Result struct {
	AddedRelief    unit.Length // what the strings add, between fret 1 and the joint
	FirstOrder     unit.Length // the same if the bend did not lengthen the strings' lever
	RodRelief      unit.Length // what the rod adds by itself
	ReliefUnstrung unit.Length // with the rod as set
	ReliefStrung   unit.Length
	Fret12Dip      unit.Length // below the line from fret 1 to the joint, strung

	Turn       unit.Angle // of that line, from the neck's bend
	NutTurn    unit.Angle // of the neck's own direction, nut against joint
	Fret12Turn unit.Angle // the same, fret 12 against joint; 0 with fret 12 at or past the joint
	Fold       unit.Angle
	Moment     float64 // at the joint, about the top edge of the body's end, N·m: an estimate
	TopRise    unit.Length

	GapTarget            unit.Length // to set the unstrung neck to: straight edge on the frets
	GapTargetOnBoard     unit.Length
	GapUnstrung          unit.Length // as read, or the target
	GapStrung            unit.Length // what it becomes
	StringHeightAtSaddle unit.Length // over the fret line, strung, mean
	Action12             neckset.Sides
	SaddleProjection     neckset.Sides // taken for Action12: as given, or as the wanted action needs it
	SaddleNeeded         neckset.Sides // for the wanted action at this gap

	Sags []Sag // from the nut to the joint's fret, to draw or to check by

	Spread Deviation
	Shares []Share // largest effect on the action first

	build neckset.Build
}

// Build puts the chain into b: relief strung and unstrung, fold and rise, and the means of nut, saddle and
// wanted action, so that b.Target is the target of the guitar that will be strung.
//
// The neck set takes the bend for an arc from nut to joint and its dip at fret 12 for a parabola's. What the
// beam has beyond that is put into JointFold, so that the target gap is exactly GapTarget; the neck set's own
// strung gap then differs from GapStrung by what a parabola misses at fret 12, some hundredths of a millimetre.
func (r Result) Build(b neckset.Build) neckset.Build {
	b.Relief, b.ReliefUnstrung, b.JointFold, b.TopRise = r.build.Relief, r.build.ReliefUnstrung, r.build.JointFold, r.build.TopRise
	b.NutHeight, b.SaddleProjection, b.Action12 = r.build.NutHeight, r.build.SaddleProjection, r.build.Action12
	return b
}

// Chain works the guitar through from unstrung to strung.
//
//	turn      = bend's slope at the joint, against the line from fret 1 to the joint
//	fold      = tension × (F0 + string height at the joint)/stiffness, or as typed
//	target    = bridge + saddle - h_s + (turn + fold) D + rise
//	strung    = gap - (turn + fold) D - rise
//	action    = h_n + dip + (bridge + saddle - strung - h_n)(L/2)/(L + setback)
//
// Build's ranges are those of the neck set, the others those of LimitOf; errors are *unit.RangeError naming
// the field. A neck that would buckle is an error on tension. Source: derived in docs/method/strungup.md.
func Chain(in Input) (Result, []unit.Warning, error) {
	in = in.filled()
	if err := in.check(); err != nil {
		return Result{}, nil, err
	}
	t, err := in.solve(nil, 0)
	if err != nil {
		return Result{}, nil, err
	}
	c := in.course()
	wanted := neckset.Sides{
		Bass:   unit.Length(c.projection(t.gap0, t.dip, float64(in.NutHeight.Bass), float64(in.Action12.Bass))),
		Treble: unit.Length(c.projection(t.gap0, t.dip, float64(in.NutHeight.Treble), float64(in.Action12.Treble))),
	}
	if in.SaddleProjection == (neckset.Sides{}) {
		in.SaddleProjection = wanted
	}
	set := fixed{gap: t.gap, saddle: in.SaddleProjection}
	if in.GapRead {
		set.gap = float64(in.Gap)
	}
	f, err := in.solve(&set, t.hs)
	if err != nil {
		return Result{}, nil, err
	}
	r := in.result(t, f, set)
	r.Sags = in.sags(f)
	warn := in.warn(r)
	if _, w, err := r.Build(in.Build).Target(); err == nil {
		warn = append(warn, w...)
	} else {
		warn = append(warn, unit.Warning{Code: "neck_set_refuses", Say: unit.Say("The neck set cannot be worked out for this guitar: %v", err)})
	}
	if err := in.spread(&r, set, t, f); err != nil {
		return Result{}, nil, err
	}
	return r, warn, nil
}

// filled puts each side's figures and the means in step.
func (in Input) filled() Input {
	for _, p := range []struct {
		side *neckset.Sides
		mean *unit.Length
	}{{&in.NutHeight, &in.Build.NutHeight}, {&in.Action12, &in.Build.Action12}} {
		if *p.side == (neckset.Sides{}) {
			*p.side = neckset.Sides{Bass: *p.mean, Treble: *p.mean}
		} else {
			*p.mean = (p.side.Bass + p.side.Treble) / 2
		}
	}
	if s := in.SaddleProjection; s != (neckset.Sides{}) {
		in.Build.SaddleProjection = (s.Bass + s.Treble) / 2
	}
	return in
}

// course is the geometry along the string, in metres.
type course struct{ L, S, l, D, u1, F0, bridge, hn float64 }

func (in Input) course() course {
	b := in.Build
	L, S := float64(b.ScaleLength), float64(b.SaddleSetback)
	l := L * (1 - math.Exp2(-float64(b.JointFret)/12))
	return course{L: L, S: S, l: l, D: L - l + S - float64(b.JointOffset), u1: L * (1 - math.Exp2(-1.0/12)),
		F0: float64(b.BoardThickness + b.FretCrown + b.NeckProud), bridge: float64(b.BridgeThickness), hn: float64(b.NutHeight)}
}

// saddle is the string's height over the fret line at the saddle for an action; projection the saddle over
// the bridge for it; action the other way about.
func (c course) saddle(dip, hn, a float64) float64 { return hn + (a-dip-hn)*(c.L+c.S)/(c.L/2) }

func (c course) projection(strung, dip, hn, a float64) float64 {
	return strung + c.saddle(dip, hn, a) - c.bridge
}

func (c course) action(strung, dip, hn, projection float64) float64 {
	return hn + dip + (c.bridge+projection-strung-hn)*(c.L/2)/(c.L+c.S)
}

// parabola12 is the dip at fret 12 for a relief of 1 between fret 1 and the joint.
func (c course) parabola12() float64 {
	if c.L/2 >= c.l {
		return 0
	}
	return 4 * (c.L/2 - c.u1) * (c.l - c.L/2) / ((c.l - c.u1) * (c.l - c.u1))
}

// fixed is a guitar whose gap and saddle are as they are.
type fixed struct {
	gap    float64
	saddle neckset.Sides
}

// state is the chain solved one way: toward the target, or from a guitar as it is.
type state struct {
	added, first, rod, r0, dip, turn, nutTurn, turn12, fold, moment, rise float64
	gap, gap0, hs                                                         float64 // unstrung, strung
	bend, alone                                                           Bend    // strung; by the rod alone, if it has a bow
}

// settle is where the string's height at the saddle stops being sought again, in metres: a ten-thousandth
// of a micrometre, which leaves every spread its first four figures.
const settle = 1e-10

// solve seeks the string's height at the saddle, on which the lever over the neck depends, on which in turn
// the bend does. Each round leaves a few hundredths of the last one's error.
// A start of 0 is none.
func (in Input) solve(as *fixed, start float64) (state, error) {
	c := in.course()
	b := in.Build
	pull := in.beam(c, 0)
	// Without strings the neck is bent by the rod alone, if that has a bow.
	var slack struct{ turn, nut, twelve float64 }
	var alone Bend
	s := state{r0: float64(b.ReliefUnstrung)}
	if in.Neck.Rod.Bow != 0 {
		bend, err := pull.Bend()
		if err != nil {
			return state{}, err
		}
		alone = bend
		s.rod, slack.turn, slack.nut, slack.twelve = bend.sag(c.u1), bend.turn(c.u1), float64(bend.NutTurn()), bend.twelve(c.L/2)
	}
	if in.HoldRelief {
		s.r0 = float64(b.Relief)
	}
	proj := float64(b.SaddleProjection)
	if as != nil {
		proj = float64(as.saddle.Bass+as.saddle.Treble) / 2
	}
	if s.hs = start; start == 0 {
		s.hs = c.saddle(0, c.hn, float64(b.Action12))
	}
	pull.Tension = in.Tension
	pull.HollowFrom = unit.Length(c.u1)
	for range 60 {
		joint := c.hn + (s.hs-c.hn)*c.l/(c.L+c.S)
		pull.StringNut = b.FretCrown + unit.Length(c.hn)
		pull.StringEnd = b.FretCrown + unit.Length(joint)
		pull.Hollow = unit.Length(s.r0)
		bend, err := pull.Bend()
		if err != nil {
			return state{}, err
		}
		s.added = bend.sag(c.u1) - s.rod
		s.first = bend.first - s.rod
		if in.HoldRelief {
			s.r0 = float64(b.Relief) - s.added - s.rod
		}
		s.turn = bend.turn(c.u1) - slack.turn
		s.nutTurn = float64(bend.NutTurn()) - slack.nut
		s.dip, s.turn12 = 0, 0
		if c.L/2 < c.l {
			s.dip = s.r0*c.parabola12() + bend.dip(c.u1, c.L/2)
			s.turn12 = bend.twelve(c.L/2) - slack.twelve
		}
		s.moment = float64(in.Tension) * (c.F0 + joint)
		s.fold = float64(b.JointFold)
		if in.FoldStiffness > 0 {
			s.fold = s.moment / in.FoldStiffness
		}
		s.rise = float64(b.TopRise)
		if in.Top != nil {
			w, err := in.Top.Rise(in.Tension, b.BridgeThickness+unit.Length(proj))
			if err != nil {
				return state{}, err
			}
			s.rise += float64(w)
		}
		drop := (s.turn+s.fold)*c.D + s.rise
		was := s.hs
		if as == nil {
			s.hs = c.saddle(s.dip, c.hn, float64(b.Action12))
			s.gap0 = c.bridge + proj - s.hs
			s.gap = s.gap0 + drop
		} else {
			s.gap = as.gap
			s.gap0 = as.gap - drop
			s.hs = c.bridge + proj - s.gap0
		}
		if math.Abs(s.hs-was) < settle {
			s.bend, s.alone = bend, alone
			return s, nil
		}
	}
	return state{}, refuse("tension", float64(in.Tension), "the neck gives way to these strings without coming to rest")
}

func (in Input) beam(c course, tension unit.Force) Beam {
	n := in.Neck
	if in.deeper != 0 || in.wider != 0 {
		at := make([]Station, len(n.Stations))
		for i, s := range n.Stations {
			s.Depth += unit.Length(in.deeper)
			s.Width += unit.Length(in.wider)
			at[i] = s
		}
		n.Stations = at
	}
	return Beam{Neck: n, Board: in.Build.BoardThickness, Length: unit.Length(c.l), Tension: tension}
}

func (in Input) result(t, f state, set fixed) Result {
	c := in.course()
	action := func(hn, p unit.Length) unit.Length {
		return unit.Length(c.action(f.gap0, f.dip, float64(hn), float64(p)))
	}
	needed := func(hn, a unit.Length) unit.Length {
		return unit.Length(c.projection(f.gap0, f.dip, float64(hn), float64(a)))
	}
	r := Result{
		AddedRelief: unit.Length(f.added), FirstOrder: unit.Length(f.first), RodRelief: unit.Length(f.rod),
		ReliefUnstrung: unit.Length(f.r0 + f.rod), ReliefStrung: unit.Length(f.r0 + f.rod + f.added), Fret12Dip: unit.Length(f.dip),
		Turn: unit.Angle(f.turn), NutTurn: unit.Angle(f.nutTurn), Fret12Turn: unit.Angle(f.turn12), Fold: unit.Angle(f.fold),
		Moment: f.moment, TopRise: unit.Length(f.rise),
		GapTarget: unit.Length(t.gap), GapTargetOnBoard: unit.Length(t.gap) - in.Build.FretCrown,
		GapUnstrung: unit.Length(f.gap), GapStrung: unit.Length(f.gap0), StringHeightAtSaddle: unit.Length(f.hs),
		Action12:         neckset.Sides{Bass: action(in.NutHeight.Bass, set.saddle.Bass), Treble: action(in.NutHeight.Treble, set.saddle.Treble)},
		SaddleProjection: set.saddle,
		SaddleNeeded:     neckset.Sides{Bass: needed(in.NutHeight.Bass, in.Action12.Bass), Treble: needed(in.NutHeight.Treble, in.Action12.Treble)},
	}
	r.build = in.Build
	strung, unstrung := t.r0+t.rod+t.added, t.r0+t.rod
	r.build.Relief, r.build.ReliefUnstrung = unit.Length(strung), unit.Length(unstrung)
	// The neck set will take a parabola's dip off the wanted action: give back what that changes at the saddle.
	miss := (t.dip - strung*c.parabola12()) * (c.L + c.S) / (c.L / 2)
	r.build.JointFold = unit.Angle(t.turn + t.fold - 4*(strung-unstrung)/c.l + miss/c.D)
	r.build.TopRise = unit.Length(t.rise)
	return r
}

// sags lists the frets' tops unstrung and strung.
func (in Input) sags(f state) []Sag {
	c := in.course()
	out := make([]Sag, in.Build.JointFret+1)
	for n := range out {
		u := c.L * (1 - math.Exp2(-float64(n)/12))
		own := 0.0
		if u > c.u1 && u < c.l {
			own = 4 * f.r0 * (u - c.u1) * (c.l - u) / ((c.l - c.u1) * (c.l - c.u1))
		}
		s := Sag{Fret: n, At: unit.Length(u), Unstrung: unit.Length(own), Strung: unit.Length(own + f.bend.dip(c.u1, u))}
		if len(f.alone.u) > 0 {
			s.Unstrung += unit.Length(f.alone.dip(c.u1, u))
		}
		out[n] = s
	}
	return out
}

// excursions reach every input that can have a spread, by key.
var excursions = map[string]func(*Input, float64){
	"scale_length":    func(in *Input, d float64) { in.Build.ScaleLength += unit.Length(d) },
	"saddle_setback":  func(in *Input, d float64) { in.Build.SaddleSetback += unit.Length(d) },
	"joint_offset":    func(in *Input, d float64) { in.Build.JointOffset += unit.Length(d) },
	"board_thickness": func(in *Input, d float64) { in.Build.BoardThickness += unit.Length(d) },
	"fret_crown":      func(in *Input, d float64) { in.Build.FretCrown += unit.Length(d) },
	"neck_proud":      func(in *Input, d float64) { in.Build.NeckProud += unit.Length(d) },
	"relief":          func(in *Input, d float64) { in.Build.Relief += unit.Length(d) },
	"relief_unstrung": func(in *Input, d float64) { in.Build.ReliefUnstrung += unit.Length(d) },
	"joint_fold":      func(in *Input, d float64) { in.Build.JointFold += unit.Angle(d) },
	// A rise that a soundboard answers has its spread here too.
	"top_rise":         func(in *Input, d float64) { in.Build.TopRise += unit.Length(d) },
	"bridge_thickness": func(in *Input, d float64) { in.Build.BridgeThickness += unit.Length(d) },
	"saddle_projection": func(in *Input, d float64) {
		in.Build.SaddleProjection += unit.Length(d)
		in.SaddleProjection.Bass += unit.Length(d)
		in.SaddleProjection.Treble += unit.Length(d)
	},
	"nut_height": func(in *Input, d float64) {
		in.Build.NutHeight += unit.Length(d)
		in.NutHeight.Bass += unit.Length(d)
		in.NutHeight.Treble += unit.Length(d)
	},
	"gap":            func(in *Input, d float64) { in.Gap += unit.Length(d) },
	"tension":        func(in *Input, d float64) { in.Tension += unit.Force(d) },
	"neck_modulus":   func(in *Input, d float64) { in.Neck.Modulus += unit.Stress(d) },
	"board_modulus":  func(in *Input, d float64) { in.Neck.BoardModulus += unit.Stress(d) },
	"neck_depth":     func(in *Input, d float64) { in.deeper += d },
	"neck_width":     func(in *Input, d float64) { in.wider += d },
	"rod_stiffness":  func(in *Input, d float64) { in.Neck.Rod.Stiffness += d },
	"rod_bow":        func(in *Input, d float64) { in.Neck.Rod.Bow += unit.Length(d) },
	"fold_stiffness": func(in *Input, d float64) { in.FoldStiffness += d },
}

// parts is how many figures of the chain have a spread.
const parts = 9

// spread fills in the deviations and shares, each input independent of the others, by central differences.
func (in Input) spread(r *Result, set fixed, t, f state) error {
	list := in.Spreads
	if list == nil {
		list = Guess(in)
	}
	in.Gap = unit.Length(set.gap)
	near := [2]float64{t.hs, f.hs}
	now := in.figures(t, f, set)
	seen := map[string]bool{}
	var sum [parts]float64
	for _, s := range list {
		move := excursions[s.Field]
		if move == nil {
			return &unit.RangeError{Limit: unit.Limit{Field: "spreads", Label: unit.Say("spread"), Kind: unit.KindText}, Value: s.SD, Got: s.Field, Why: unit.Say("not an input of the strung guitar that can have a spread")}
		}
		if seen[s.Field] {
			return &unit.RangeError{Limit: unit.Limit{Field: "spreads." + s.Field, Label: unit.Say("spread"), Kind: unit.KindText}, Value: s.SD, Got: s.Field, Why: unit.Say("its spread is given twice")}
		}
		seen[s.Field] = true
		lim, _ := LimitOf("spreads." + s.Field)
		if err := lim.Check(s.SD); err != nil {
			return err
		}
		if s.SD == 0 {
			continue
		}
		if s.Field == "fold_stiffness" && in.FoldStiffness == 0 || (s.Field == "rod_stiffness" || s.Field == "rod_bow") && in.Neck.Rod.Stiffness == 0 {
			return &unit.RangeError{Limit: lim, Value: s.SD, Why: unit.Say("it is the spread of something that is not given: leave it out")}
		}
		if s.Field == "neck_modulus" && s.SD > float64(in.Neck.Modulus)/2 || s.Field == "board_modulus" && s.SD > float64(in.Neck.BoardModulus)/2 {
			return &unit.RangeError{Limit: lim, Value: s.SD, Why: unit.Say("more than half the modulus itself is no spread a figure can be given for")}
		}
		// A quarter of the spread: far above what the solution leaves open, small beside any bend of the figures.
		h := s.SD / 4
		up, errUp := in.moved(move, h, set, near)
		down, errDown := in.moved(move, -h, set, near)
		width := 2 * h
		// At the edge of what can be worked out (no pull at all, say) one side must do.
		switch {
		case errUp != nil && errDown != nil:
			return &unit.RangeError{Limit: lim, Value: s.SD, Why: unit.Say("it reaches past what can be worked out here (%v): give a narrower one", errUp)}
		case errUp != nil:
			up, width = now, h
		case errDown != nil:
			down, width = now, h
		}
		var e [parts]float64
		for i := range e {
			e[i] = (up[i] - down[i]) / width * s.SD
			sum[i] += e[i] * e[i]
		}
		r.Shares = append(r.Shares, Share{Field: s.Field, SD: s.SD, Target: unit.Length(math.Abs(e[5])), Action: unit.Length(math.Abs(e[7]+e[8]) / 2)})
	}
	for i := range sum {
		sum[i] = math.Sqrt(sum[i])
	}
	r.Spread = Deviation{AddedRelief: unit.Length(sum[0]), ReliefStrung: unit.Length(sum[1]), Turn: unit.Angle(sum[2]), Fold: unit.Angle(sum[3]),
		TopRise: unit.Length(sum[4]), GapTarget: unit.Length(sum[5]), GapStrung: unit.Length(sum[6]),
		Action12: neckset.Sides{Bass: unit.Length(sum[7]), Treble: unit.Length(sum[8])}}
	sort.SliceStable(r.Shares, func(i, j int) bool {
		a, z := r.Shares[i], r.Shares[j]
		if a.Action != z.Action {
			return a.Action > z.Action
		}
		return a.Field < z.Field
	})
	return nil
}

// moved is what the chain gives with one input moved: the target sought anew, and the guitar left as it is,
// both starting from where they were.
func (in Input) moved(move func(*Input, float64), by float64, set fixed, near [2]float64) ([parts]float64, error) {
	in.Neck.Stations = append([]Station(nil), in.Neck.Stations...)
	in.SaddleProjection = set.saddle
	move(&in, by)
	t, err := in.solve(nil, near[0])
	if err != nil {
		return [parts]float64{}, err
	}
	set = fixed{gap: float64(in.Gap), saddle: in.SaddleProjection}
	f, err := in.solve(&set, near[1])
	if err != nil {
		return [parts]float64{}, err
	}
	return in.figures(t, f, set), nil
}

// figures are those that have a spread, in the order Deviation is filled from.
func (in Input) figures(t, f state, set fixed) [parts]float64 {
	r := in.result(t, f, set)
	return [parts]float64{f.added, f.r0 + f.rod + f.added, f.turn, f.fold, f.rise, t.gap, f.gap0, float64(r.Action12.Bass), float64(r.Action12.Treble)}
}

// Guess returns spreads for what a maker has not measured.
//
// source: the moduli's fifth is the coefficient of variation of the modulus of elasticity of clear wood of
// one species, 22 %, Wood Handbook (FPL-GTR-282) table 5-6 (from memory). The others are our own guesses at
// bench work: common practice, no source.
func Guess(in Input) []neckset.Spread {
	mm := 1e-3
	out := []neckset.Spread{
		{Field: "tension", SD: 0.03 * float64(in.Tension)},
		{Field: "neck_modulus", SD: wood.SpreadModulus * float64(in.Neck.Modulus)},
		{Field: "board_modulus", SD: wood.SpreadModulus * float64(in.Neck.BoardModulus)},
		{Field: "neck_depth", SD: 0.3 * mm},
		{Field: "neck_width", SD: 0.3 * mm},
		{Field: "board_thickness", SD: 0.1 * mm},
		{Field: "bridge_thickness", SD: 0.1 * mm},
		{Field: "saddle_projection", SD: 0.1 * mm},
		{Field: "nut_height", SD: 0.05 * mm},
		{Field: "gap", SD: 0.15 * mm},
		{Field: "top_rise", SD: max(0.3*math.Abs(float64(in.Build.TopRise)), 0.1*mm)},
	}
	if in.HoldRelief {
		out = append(out, neckset.Spread{Field: "relief", SD: 0.05 * mm})
	} else {
		out = append(out, neckset.Spread{Field: "relief_unstrung", SD: 0.05 * mm})
	}
	if in.FoldStiffness > 0 {
		out = append(out, neckset.Spread{Field: "fold_stiffness", SD: 0.3 * in.FoldStiffness})
	} else {
		out = append(out, neckset.Spread{Field: "joint_fold", SD: max(0.3*math.Abs(float64(in.Build.JointFold)), 0.01*float64(unit.Degree))})
	}
	if in.Neck.Rod.Stiffness > 0 {
		out = append(out, neckset.Spread{Field: "rod_stiffness", SD: 0.2 * in.Neck.Rod.Stiffness})
	}
	return out
}

func (in Input) warn(r Result) []unit.Warning {
	var out []unit.Warning
	say := func(code, field string, p unit.Phrase) {
		out = append(out, unit.Warning{Code: code, Field: field, Say: p})
	}
	// The ranges of a playable relief: common practice, no source.
	if r.ReliefStrung > 0.6*unit.MM {
		say("relief_large", "neck", unit.Say("The strings would leave %v of relief: a stiffer neck, a rod, or lighter strings would help.", unit.FineLength(r.ReliefStrung)))
	}
	if r.ReliefStrung < -0.05*unit.MM {
		say("back_bow", "relief_unstrung", unit.Say("The strings do not pull the neck straight: it stays bowed back by %v.", unit.FineLength(-r.ReliefStrung)))
	}
	if in.HoldRelief && r.ReliefUnstrung < -0.3*unit.MM {
		say("rod_far", "relief", unit.Say("The rod would have to bow the neck back by %v before there are strings on it: more than rods are made for.", unit.FineLength(-r.ReliefUnstrung)))
	}
	if math.Abs(r.Fold.Degrees()) > 0.3 {
		say("fold_large", "joint_fold", unit.Say("The joint folds by %v under the strings, more than a tight joint does: look at the bolts and the block.", r.Fold))
	}
	for _, a := range []struct {
		say unit.Text
		a   unit.Length
	}{{"The action at fret 12 comes out at %v on the bass side: set the neck nearer its target before stringing.", r.Action12.Bass}, {"The action at fret 12 comes out at %v on the treble side: set the neck nearer its target before stringing.", r.Action12.Treble}} {
		if a.a < 0.5*unit.MM || a.a > 6*unit.MM {
			say("action_out_of_range", "gap", unit.Say(a.say, a.a))
		}
	}
	for _, p := range []struct {
		say unit.Text
		p   unit.Length
	}{{"For the wanted action the saddle would stand %v over the bridge on the bass side, which no saddle can: set the neck nearer its target.", r.SaddleNeeded.Bass}, {"For the wanted action the saddle would stand %v over the bridge on the treble side, which no saddle can: set the neck nearer its target.", r.SaddleNeeded.Treble}} {
		if p.p < 0.5*unit.MM || p.p > 8*unit.MM {
			say("saddle_out_of_range", "saddle_projection", unit.Say(p.say, p.p))
		}
	}
	return out
}
