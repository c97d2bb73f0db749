package guitar

import (
	"math"
	"slices"

	"fairset/craft/fastening"
	"fairset/craft/neckset"
	"fairset/unit"
)

// Fits and closeness at the bench; common practice, no source.
const (
	endRoomLeast = 0.5 * unit.MM  // room wanted beyond the tenon's end
	endRoomMost  = 3 * unit.MM    // more than this wastes glueless bearing
	slipFit      = 0.15 * unit.MM // a mortise this much wider than the tenon still fits tight
	seatTouches  = 0.05 * unit.MM // a gap no paper strip enters
	rollTouches  = 0.3 * unit.MM  // side difference the saddle takes up unseen
	markMatches  = 0.5 * unit.MM  // two marks that are the same mark
	actionClose  = 0.1 * unit.MM
	centsClose   = 4.0
)

// steps works out how every step stands.
func (g Guitar) steps(b Bench, t *track) []StepState {
	repair := g.Start == FromReadings
	judge := map[Step]func(Bench, *track, *Entry) (Status, Advice){
		StepTenon: g.tenon, StepSeat: g.seat, StepLean: g.lean, StepPoint: g.point, StepRoll: g.roll, StepCut: g.cut,
		StepDrill: g.drill, StepTighten: g.tighten, StepDots: g.dots, StepSign: g.sign, StepBridge: g.bridge, StepStrung: g.strung,
	}
	var out []StepState
	for _, guide := range guides {
		f, ok := judge[guide.Step]
		if !ok {
			continue
		}
		s := StepState{Guide: guide}
		if e, ok := g.Last(guide.Step); ok {
			s.Last = &e
		}
		s.Status, s.Advice = f(b, t, s.Last)
		switch guide.Step {
		case StepRoll:
			s.Optional = repair
		case StepTenon, StepSeat, StepDrill, StepDots, StepBridge:
			s.Optional = repair
		}
		out = append(out, s)
	}
	return out
}

func (g Guitar) tenon(b Bench, _ *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	v := e.Values
	room := v.Length("mortise_depth") - v.Length("tenon_length")
	side := v.Length("mortise_width") - v.Length("tenon_width")
	a := Advice{Figures: []Figure{
		{unit.Say("room beyond the tenon's end"), unit.Say("%v", unit.FineLength(room))},
		{unit.Say("mortise wider than tenon by"), unit.Say("%v", unit.FineLength(side))},
	}}
	var do, why []unit.Phrase
	switch {
	case room < endRoomLeast:
		do = append(do, unit.Say("Take %v off the tenon's end, or deepen the mortise by as much.", unit.FineLength(endRoomLeast-room)))
		why = append(why, unit.Say("The tenon must not touch bottom before the shoulders touch the body."))
	case room > endRoomMost:
		why = append(why, unit.Say("The mortise is %v deeper than it need be; that does no harm.", room-endRoomMost))
	}
	switch {
	case side < 0:
		do = append(do, unit.Say("Pare %v off the tenon's width, half from each cheek, so that the centreline stays.", unit.FineLength(-side)))
		why = append(why, unit.Say("The tenon is wider than the mortise."))
	case side > slipFit:
		do = append(do, unit.Say("Glue a veneer of %v on each cheek of the tenon, or pack the mortise by as much.", unit.FineLength(side/2)))
		why = append(why, unit.Say("The tenon has %v of play, and the neck could swing in it.", unit.FineLength(side)))
	}
	a.Why = unit.Join(why...)
	if len(do) > 0 {
		a.Do = unit.Join(do...)
		return Working, a
	}
	a.Do = unit.Say("The tenon fits. Leave it.")
	return Done, a
}

// SeatInput is what the seat is worked out from: the last seat reading over the design.
func (g Guitar) SeatInput(d Values) neckset.SeatInput {
	in := neckset.SeatInput{ArcRadius: d.Length("arc_radius"), HeelWidth: d.Length("heel_width_top"), TenonWidth: d.Length("tenon_width"),
		BodyShare: d.Ratio("body_share"), SideThickness: d.Length("side_thickness"), SideLimit: d.Ratio("side_limit")}
	if g.Start == FromReadings {
		in.ArcRadius, in.BodyShare, in.SideThickness, in.SideLimit = 0, 0, 2*unit.MM, 1.0/3
	}
	e, ok := g.Last(StepSeat)
	if !ok {
		return in
	}
	v := e.Values
	switch {
	case v.Has("arc_chord") && v.Length("arc_rise") == 0 && v.Has("arc_rise"):
		in.ArcRadius = 0
	case v.Has("arc_chord"):
		if r, err := neckset.ArcFromChord(v.Length("arc_chord"), v.Length("arc_rise")); err == nil {
			in.ArcRadius = r
		}
	case v.Has("arc_radius"):
		in.ArcRadius = v.Length("arc_radius")
	}
	if v.Has("body_share") {
		in.BodyShare = v.Ratio("body_share")
	}
	return in
}

func (g Guitar) seat(b Bench, t *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	v := e.Values
	corners := []struct {
		name unit.Text
		gap  unit.Length
	}{
		{"bass shoulder at the top edge", v.Length("gap_bass_top")}, {"treble shoulder at the top edge", v.Length("gap_treble_top")},
		{"bass shoulder at the cap", v.Length("gap_bass_cap")}, {"treble shoulder at the cap", v.Length("gap_treble_cap")},
	}
	least, most := corners[0], corners[0]
	for _, c := range corners[1:] {
		if c.gap < least.gap {
			least = c
		}
		if c.gap > most.gap {
			most = c
		}
	}
	var a Advice
	if most.gap <= seatTouches {
		if t.cutSeq > e.Seq && b.Cut != nil && b.Cut.Cut.Leave {
			a.Do = unit.Say("Look along both shoulders once more.")
			a.Why = unit.Say("Wood came off the heel since the seat was last read.")
			return Again, a
		}
		a.Do = unit.Say("Both shoulders touch all the way. Leave them.")
		return Done, a
	}
	in := g.SeatInput(b.Design)
	fit, warnings, err := neckset.FitSeat(in)
	uneven := most.gap - least.gap
	var do []unit.Phrase
	if err == nil && in.ArcRadius > 0 && fit.EdgeGap > 0 {
		if fit.HeelRemoval > 0 {
			do = append(do, unit.Say("Hollow each shoulder by %v beside the tenon, fading to nothing at the outer edge.", unit.FineLength(fit.HeelRemoval)))
		}
		if fit.BodyRemoval > 0 {
			do = append(do, unit.Say("Flatten the body's end by %v on the centreline, over %v of width.", unit.FineLength(fit.BodyRemoval), fit.BodyFlatWidth))
		}
		a.Figures = append(a.Figures,
			Figure{unit.Say("flat shoulders stand off at the edge by"), unit.Say("%v", unit.FineLength(fit.EdgeGap))},
			Figure{unit.Say("hollow of each shoulder"), unit.Say("%v", unit.FineLength(fit.HeelRemoval))},
			Figure{unit.Say("flattening of the body"), unit.Say("%v", unit.FineLength(fit.BodyRemoval))},
			Figure{unit.Say("flat width on the body"), unit.Say("%v", fit.BodyFlatWidth)})
		for _, w := range warnings {
			a.Doubt = unit.Join(a.Doubt, w.Say)
		}
		a.Why = unit.Say("A flat shoulder on a body end of %v radius touches beside the tenon and stands off at its outer edge.", in.ArcRadius)
	}
	if uneven > seatTouches {
		do = append(do, unit.Say("The heel bears on the %v: take wood there, up to %v, until the rest closes.", least.name, unit.FineLength(uneven)))
		lean := unit.Length(float64(uneven) * float64(b.Aim.SaddleDistance) / float64(b.Design.Length("heel_height")))
		a.Why = unit.Join(a.Why, unit.Say("The widest gap is %v, on the %v. Closing it can move the straight edge by as much as %v at the saddle, so read the lean after.", unit.FineLength(most.gap), most.name, lean))
	} else if len(do) == 0 {
		do = append(do, unit.Say("Both shoulders stand off evenly by %v: something inside holds the neck off. Look at the tenon's end and the board's extension.", unit.FineLength(most.gap)))
	}
	a.Do = unit.Join(do...)
	return Working, a
}

// The sides of the guitar.
const (
	bassSide   unit.Text = "bass side"
	trebleSide unit.Text = "treble side"
)

// sideText says which side of the guitar an offset lies on.
func sideText(offset unit.Length) unit.Text { return onSide(offset, bassSide, trebleSide) }

// onSide chooses a text by the side of the guitar that an offset lies on.
func onSide(offset unit.Length, bass, treble unit.Text) unit.Text {
	if offset < 0 {
		return bass
	}
	return treble
}

// lowHigh says how far the straight edge must rise, or fall where that is negative.
func lowHigh(need unit.Length) unit.Phrase {
	if need < 0 {
		return unit.Say("%v high", unit.FineLength(-need))
	}
	return unit.Say("%v low", unit.FineLength(need))
}

// stringLabel names one of the strings; i counts from 0, the bass.
func stringLabel(i, of int, name string) unit.Phrase {
	if name == "" {
		return unit.Say("string %d of %d, bass first", i+1, of)
	}
	return unit.Say("string %d of %d, bass first: %s", i+1, of, name)
}

// doubt says in words how far a reading can be trusted against what is needed.
func doubt(need, sd, tolerance unit.Length) unit.Phrase {
	switch {
	case need.Abs() <= tolerance && float64(sd) <= float64(tolerance)/2:
		return unit.Say("Sure enough to leave.")
	case need.Abs() < 1.645*sd:
		return unit.Say("That is within what your rule can tell.")
	case float64(sd) > float64(need.Abs())/2:
		return unit.Say("Read once more before you cut.")
	}
	return unit.Say("Sure enough to cut.")
}

var readAgainDo = unit.Say("Seat the neck and read once more before any wood is cut.")

// stale tells whether wood came off after a reading, and says what to do about it.
func (t *track) stale(readSeq int, again unit.Text, was unit.Phrase) (Advice, bool) {
	switch {
	case t.seatSeq > readSeq:
		return Advice{Do: unit.Say(again), Why: unit.Join(was, unit.Say("Wood came off the seat since."))}, true
	case t.cutSeq > readSeq:
		return Advice{Do: unit.Say(again), Why: unit.Join(was, unit.Say("Wood came off the heel since."))}, true
	}
	return Advice{}, false
}

func (g Guitar) lean(b Bench, t *track, e *Entry) (Status, Advice) {
	if t.leanSeq == 0 {
		a := Advice{}
		if b.Aim.Known {
			a.Why = unit.Say("Wanted: %v on the frets, or %v on a bare board.", b.Aim.GapOnFrets, b.Aim.GapOnBoard)
		}
		return Todo, a
	}
	last := lastReading(b, StepLean)
	if a, ok := t.stale(t.leanSeq, "Read the lean again.", unit.Say("It was %v.", last.Value)); ok {
		return Again, a
	}
	if !b.Aim.Known {
		return Done, Advice{}
	}
	need := b.Aim.GapOnFrets - b.Lean.Mean
	a := Advice{Doubt: doubt(need, b.Lean.SD, b.Design.Length("gap_tolerance")), Figures: []Figure{
		{unit.Say("gap wanted, on the frets"), unit.Say("%v", b.Aim.GapOnFrets)},
		{unit.Say("gap now, all readings joined"), unit.Say("%v", b.Lean.Mean)},
		{unit.Say("give or take"), unit.Say("%v", unit.FineLength(b.Lean.SD))},
	}}
	a.Why = unit.Say("The straight edge is %v.", lowHigh(need))
	if last.Doubtful {
		a.Do = readAgainDo
		a.Why = unit.Say("This reading, %v, does not agree with its fellows or with what the last cut should have done.", last.Value)
		a.Doubt = unit.Say("Read once more.")
		return Again, a
	}
	if need.Abs() <= b.Design.Length("gap_tolerance") {
		a.Do = unit.Say("The lean is right. Leave it.")
		return Done, a
	}
	a.Do = unit.Say("The lean wants a cut; see the cut.")
	return Done, a
}

func lastReading(b Bench, s Step) Reading {
	for i := len(b.Readings) - 1; i >= 0; i-- {
		if b.Readings[i].Step == s {
			return b.Readings[i]
		}
	}
	return Reading{}
}

func (g Guitar) point(b Bench, t *track, e *Entry) (Status, Advice) {
	if t.pointSeq == 0 {
		return Todo, Advice{}
	}
	last := lastReading(b, StepPoint)
	if a, ok := t.stale(t.pointSeq, "Read the centreline again.", unit.Say("It passed %v on the %v.", last.Value.Abs(), sideText(last.Value))); ok {
		return Again, a
	}
	off := b.Point.Mean
	a := Advice{Doubt: doubt(off, b.Point.SD, b.Design.Length("offset_tolerance")), Figures: []Figure{
		{unit.Say("neck's line passes the centre by"), unit.Say("%v on the %v", unit.FineLength(off.Abs()), sideText(off))},
		{unit.Say("give or take"), unit.Say("%v", unit.FineLength(b.Point.SD))},
	}}
	a.Why = unit.Say("The neck's line passes %v on the %v at the saddle.", unit.FineLength(off.Abs()), sideText(off))
	if last.Doubtful {
		a.Do = readAgainDo
		a.Why = unit.Say("This reading does not agree with its fellows or with what the last cut should have done.")
		a.Doubt = unit.Say("Read once more.")
		return Again, a
	}
	if off.Abs() <= b.Design.Length("offset_tolerance") {
		a.Do = unit.Say("The neck points down the centre. Leave it.")
		return Done, a
	}
	a.Do = unit.Say(onSide(off,
		"Wood off the bass cheek swings the head to that side and brings the line back; see the cut.",
		"Wood off the treble cheek swings the head to that side and brings the line back; see the cut."))
	return Done, a
}

// Roll is the side difference of the straight edge and how sure it is; + when the treble side stands higher.
func Roll(v Values) (twist, sd unit.Length) {
	one := neckset.Combine([]unit.Length{v.Length("gap_bass")}, v.Length("graduation"))
	return v.Length("gap_treble") - v.Length("gap_bass"), unit.Length(float64(one.SD) * math.Sqrt2)
}

func (g Guitar) roll(b Bench, _ *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	twist, sd := Roll(e.Values)
	a := Advice{Figures: []Figure{{unit.Say("treble side higher than bass by"), unit.Say("%v", unit.FineLength(twist))}, {unit.Say("give or take"), unit.Say("%v", unit.FineLength(sd))}}}
	if twist.Abs() <= max(rollTouches, 2*sd) {
		a.Do = unit.Say("No roll worth curing. Leave it.")
		a.Why = unit.Say("The two sides differ by %v.", unit.FineLength(twist.Abs()))
		if twist.Abs() > rollTouches {
			a.Doubt = unit.Say("That is within what your rule can tell.")
		}
		return Done, a
	}
	a.Do = unit.Say("Do not cut the heel for this: no cut on its face turns the neck about its own length.")
	a.Why = unit.Say("The straight edge stands %v higher over the top on the %v than on the %v.", unit.FineLength(twist.Abs()), sideText(twist), sideText(-twist))
	a.Other = []neckset.Remedy{
		{Code: "refit", Say: unit.Say("Refit the tenon in its mortise: pare one cheek at the top and the other at the cap, pack the opposite corners, and seat again."), Where: "tenon"},
		{Code: "plane_board", Say: unit.Say(onSide(twist,
			"Or plane the board, or level the frets, on the bass edge toward the bridge end until the two sides agree.",
			"Or plane the board, or level the frets, on the treble edge toward the bridge end until the two sides agree.")), Where: "board"},
		{Code: "saddle", Say: unit.Say("Or take it up in the saddle: leave it %v taller on the %v than you would otherwise.", unit.FineLength(twist.Abs()), sideText(twist)), Amount: twist.Abs(), Where: "saddle"},
	}
	return Done, a
}

// place names the corners that a cut takes wood from, deepest first.
func place(c neckset.Corners) unit.Phrase {
	const nothing = 0.005 * unit.MM
	cap2, top2 := max(c.CapBass, c.CapTreble), max(c.TopBass, c.TopTreble)
	edge := func(none, even, uneven unit.Text, b, t unit.Length) unit.Phrase {
		switch {
		case max(b, t) < nothing:
			return unit.Say(none)
		case (b - t).Abs() < nothing:
			return unit.Say(even, unit.FineLength(b))
		}
		some := func(x unit.Length) unit.Phrase {
			if x < nothing {
				return unit.Say("nothing")
			}
			return unit.Say("%v", unit.FineLength(x))
		}
		return unit.Say(uneven, some(b), some(t))
	}
	first := edge("nothing at the cap", "%v off the cap", "%v off the cap on the bass side and %v on the treble", c.CapBass, c.CapTreble)
	second := edge("nothing at the top edge", "%v off the top edge", "%v off the top edge on the bass side and %v on the treble", c.TopBass, c.TopTreble)
	if top2 > cap2 {
		first, second = second, first
	}
	return unit.Say("%v, %v", first, second)
}

// chance says a probability as the trade would: "1 chance in 20".
func chance(p float64) unit.Phrase {
	if p < 0.001 {
		return unit.Say("less than 1 chance in 1000")
	}
	return unit.Say("1 chance in %.0f", 1/p)
}

func (g Guitar) cut(b Bench, t *track, e *Entry) (Status, Advice) {
	switch {
	case b.Cut == nil && !b.Aim.Known && g.Start == FromReadings:
		return Todo, Advice{Do: unit.Say("Read the lean first, before any wood is cut.")}
	case b.Cut == nil && !b.Lean.Known():
		return Todo, Advice{Do: unit.Say("Read the lean first.")}
	case b.Cut == nil:
		return Todo, Advice{Do: unit.Say("Read where the neck points first: one cut cures both.")}
	}
	n := b.Cut
	c := n.Cut
	stale := t.cutSeq > t.leanSeq || t.cutSeq > t.pointSeq
	need, left := c.GapNeed, c.GapNeed-c.PlannedGap
	a := Advice{Figures: []Figure{
		{unit.Say("gap wanted, on the frets"), unit.Say("%v", n.In.GapTarget)},
		{unit.Say("gap now"), unit.Say("%v, give or take %v", n.In.GapMeasured, unit.FineLength(n.In.GapSD))},
		{unit.Say("line passes"), unit.Say("%v on the %v, give or take %v", unit.FineLength(n.In.OffsetMeasured.Abs()), sideText(n.In.OffsetMeasured), unit.FineLength(n.In.OffsetSD))},
	}}
	unsure := n.Doubtful || c.Verdict == neckset.ReadAgain && c.Planned.Deepest() <= 0
	switch {
	case unsure && stale:
		a.Do = unit.Say("Read lean and centreline again.")
		a.Why = unit.Say("Wood came off the heel since they were read.")
		return Again, a
	case unsure:
		a.Do = readAgainDo
		a.Why = unit.Say("The straight edge reads %v, but the readings do not settle it.", lowHigh(need))
		a.Doubt = unit.Say("Read once more.")
		return Again, a
	case c.Leave:
		a.Do = unit.Say("Leave it.")
		a.Why = unit.Say("The straight edge is %v and the line passes %v on the %v: within what you asked for, and a cut would more likely hurt than help.", lowHigh(need), unit.FineLength(n.In.OffsetMeasured.Abs()), sideText(n.In.OffsetMeasured))
		if stale {
			a.Do = unit.Say("Read lean and centreline again.")
			a.Why = unit.Say("By the sums the last cut brought both within what you asked for; the readings decide.")
			return Again, a
		}
		a.Doubt = unit.Say("Sure enough to leave.")
		return Done, a
	}
	a.Figures = append(a.Figures,
		Figure{unit.Say("take now, corner by corner"), cornerWords(c.Planned)},
		Figure{unit.Say("whole change, if you were sure"), cornerWords(c.Full)},
		Figure{unit.Say("neck comes nearer the bridge by"), unit.Say("%v", unit.FineLength(c.PlannedShift))},
		Figure{unit.Say("further passes to expect"), unit.Say("%.1f", c.RecutExpected)},
		Figure{unit.Say("strokes with the %v", n.Tool.Name), unit.Say("about %d (%v)", n.Strokes, rateWords(n.Rate))},
	)
	if stale {
		a.Do = unit.Say("Read lean and centreline again before the next cut.")
		a.Why = unit.Say("Wood came off the heel since they were read.")
		return Again, a
	}
	if c.Planned.Deepest() <= 0 {
		a.Do = readAgainDo
		a.Why = unit.Say("The straight edge is %v, but no cut is both safe and worth making on these readings.", lowHigh(need))
		a.Doubt = unit.Say("Read once more.")
		return Again, a
	}
	a.Do = unit.Say("Take %v. Then read again.", place(c.Planned))
	if n.By == "strokes" {
		a.Do = unit.Say("Take about %d strokes with the %v: %v. Then read again.", n.Strokes, n.Tool.Name, place(c.Planned))
	}
	var why []unit.Phrase
	if c.PlannedGap != 0 {
		why = append(why, unit.Say("The straight edge is %v; this brings it to %v.", lowHigh(need), lowHigh(left)))
	}
	if c.PlannedOffset != 0 {
		why = append(why, unit.Say(onSide(n.In.OffsetMeasured,
			"The line passes %v on the bass side; this swings the head to bass and brings it to %v.",
			"The line passes %v on the treble side; this swings the head to treble and brings it to %v."),
			unit.FineLength(n.In.OffsetMeasured.Abs()), unit.FineLength((c.OffsetNeed-c.PlannedOffset).Abs())))
	}
	why = append(why, unit.Say("There is %v of going past.", chance(c.PastChance)))
	a.Why = unit.Join(why...)
	a.Doubt = unit.Say("Sure enough to cut.")
	if c.Verdict == neckset.ReadAgain {
		a.Doubt = unit.Say("Sure enough to cut this much. One more reading first would let you take more at once.")
	}
	if c.Verdict == neckset.GonePast {
		a.Why = unit.Join(unit.Say("The neck has gone past its target, so the other edge must be cut, or a shim glued."), a.Why)
		a.Other = n.Remedies
	}
	if n.TooDeep {
		a.Do = unit.Say("Stop: this asks for %v, and the shoulders can lose only %v more.", unit.FineLength(c.Planned.Deepest()), unit.FineLength(n.Spare))
		a.Why = unit.Say("The straight edge is %v and the line passes %v on the %v.", lowHigh(need), unit.FineLength(n.In.OffsetMeasured.Abs()), sideText(n.In.OffsetMeasured))
		a.Doubt = unit.Say("Take no wood before you have chosen another way.")
		// The plain cut is what there is no wood for.
		a.Other = slices.DeleteFunc(slices.Clone(n.Remedies), func(r neckset.Remedy) bool { return r.Code == "cut" })
	}
	return Working, a
}

func cornerWords(c neckset.Corners) unit.Phrase {
	return unit.Say("top bass %v, top treble %v, cap bass %v, cap treble %v", unit.FineLength(c.TopBass), unit.FineLength(c.TopTreble), unit.FineLength(c.CapBass), unit.FineLength(c.CapTreble))
}

func rateWords(r neckset.Rate) unit.Phrase {
	switch {
	case r.Own > 0:
		return unit.Say("learned from %d on this guitar and %d on others", r.Own, r.Shop)
	case r.Shop > 0:
		return unit.Say("learned from %d on the shop's other guitars", r.Shop)
	}
	return unit.Say("a stated guess until passes have been counted")
}

// DrillInput is what the drills are chosen from.
func DrillInput(d Values, misses []unit.Length) fastening.DrillInput {
	return fastening.DrillInput{Thread: d.Choice("thread"), SpecificGravity: d.Ratio("heel_gravity"), Fit: d.Choice("clearance_fit"), Series: d.Choices("drill_series"), HoleErrors: misses}
}

// JointInput is what the joint load is estimated from. The string passes the joint at the height the
// target gives it, over the top edge.
func JointInput(d Values) (fastening.JointInput, bool) {
	t, _, err := Build(d).Target()
	if err != nil {
		return fastening.JointInput{}, false
	}
	b := Build(d)
	thread, ok := fastening.FindThread(d.Choice("thread"))
	if ok != nil {
		return fastening.JointInput{}, false
	}
	// Over the joint the string stands a share of its way from nut to saddle over the fret line.
	share := float64(t.NutToJoint) / float64(b.ScaleLength+b.SaddleSetback)
	height := b.BoardThickness + b.FretCrown + b.NeckProud + b.NutHeight + unit.Length(share*float64(t.StringHeightAtSaddle-b.NutHeight))
	in := fastening.JointInput{Tension: Tension(d), StringHeight: height, SpecificGravity: d.Ratio("heel_gravity"), EndGrain: true}
	for _, z := range d.Lengths("bolt_depths") {
		in.Bolts = append(in.Bolts, fastening.Bolt{Depth: z, Diameter: thread.Major, Penetration: d.Length("bolt_bite")})
	}
	return in, true
}

func (g Guitar) drill(b Bench, _ *track, e *Entry) (Status, Advice) {
	d := b.Design
	if g.Start == FromReadings {
		if e == nil {
			return Todo, Advice{}
		}
		return Done, Advice{Do: unit.Say("The bolts are as they were.")}
	}
	var ways []fastening.Miss
	var misses []unit.Length
	var both bool
	if e != nil {
		ways, misses, both = drillMisses(e.Values)
	}
	plan, in, warnings, err := PlanJoint(d, misses, b.Drills)
	var a Advice
	if err != nil {
		return Todo, a
	}
	dr := plan.Advice
	// Whatever the step still lacks, the drills and what they leave are the figures to look up.
	a.Figures = holeFigures(plan, in)
	for _, w := range warnings {
		a.Doubt = unit.Join(a.Doubt, w.Say)
	}
	if e == nil {
		return Todo, a
	}
	neck, body := e.Values.Lengths("centres_neck"), e.Values.Lengths("centres_body")
	for i := range neck {
		if diff := (neck[i] - body[i]).Abs(); diff > markMatches {
			a.Do = unit.Say("Mark bolt %d again before drilling.", i+1)
			a.Why = unit.Say("Neck and body differ by %v there; both must be measured from the same top edge.", unit.FineLength(diff))
			return Working, a
		}
	}
	switch {
	case len(misses) == 0:
		a.Do = unit.Say("The marks agree. Drill, then give how far each hole misses its partner.")
		return Working, a
	case plan.Kind == fastening.KindScrew:
		// Nothing is gained by reaming: a screw goes where its lead hole is.
		s, _ := fastening.FindScrew(in.Screw)
		if play := (plan.Holes[0].Drill.Diameter - s.Major) / 2; worst(misses) > play {
			a.Do = unit.Say("Plug the heel's lead hole with a glued dowel, end grain to end grain, and drill it again through the body's hole.")
			a.Why = unit.Say("The worst hole misses by %v and the screw has %v of play.", unit.FineLength(worst(misses)), unit.FineLength(play))
			return Working, a
		}
	case both && dr.ReamTo > 0:
		at := 0
		for i, m := range misses {
			if m > misses[at] {
				at = i
			}
		}
		figures, why := reamAdvice(dr, in.Drill, ways)
		a.Figures = append(figures, a.Figures...)
		if reams, err := fastening.ReamEach(dr, in.Drill, ways); err == nil {
			a.Do = reams[at].Say
		}
		a.Why = why
		return Done, a
	case dr.ReamTo > 0:
		a.Do = unit.Say("Ream the body's hole to %v (%v). Never the neck's.", dr.ReamDrill.Name, unit.FineLength(dr.ReamTo))
		a.Why = unit.Say("The worst hole misses by %v and the bolt has %v of play.", unit.FineLength(worst(misses)), unit.FineLength(dr.Float))
		return Done, a
	}
	a.Do = unit.Say("Every bolt passes. Leave the holes.")
	return Done, a
}

func worst(ls []unit.Length) unit.Length {
	var w unit.Length
	for _, l := range ls {
		w = max(w, l.Abs())
	}
	return w
}

func (g Guitar) tighten(b Bench, t *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	if t.cutSeq > e.Seq || t.seatSeq > e.Seq {
		return Again, Advice{Do: unit.Say("Bolt up and read again."), Why: unit.Say("Wood came off since it was last tight.")}
	}
	if e.Values.Choice("closed") == "no" {
		return Working, Advice{Do: unit.Say("Loosen, and go back to the seat."), Why: unit.Say("A gap that does not close under snug nuts is wood standing proud; tightening harder bends or strips something.")}
	}
	if !b.Aim.Known {
		return Todo, Advice{}
	}
	need := b.Aim.GapOnFrets - b.Lean.Mean
	okLean := need.Abs() <= b.Design.Length("gap_tolerance")
	okPoint := b.Point.Mean.Abs() <= b.Design.Length("offset_tolerance")
	a := Advice{Why: unit.Say("Tight, the gap is %v (wanted %v) and the line passes %v on the %v.", b.Lean.Mean, b.Aim.GapOnFrets, unit.FineLength(b.Point.Mean.Abs()), sideText(b.Point.Mean))}
	for i := len(b.Readings) - 1; i >= 0; i-- {
		if r := b.Readings[i]; r.Step == StepLean && r.Seq < e.Seq {
			if moved := b.Lean.Mean - r.Value; moved.Abs() > 2*unit.Length(math.Hypot(float64(r.SD), float64(b.Lean.SD))) {
				a.Doubt = unit.Say("The lean changed by %v as the nuts went snug: wood gave way. This reading counts.", unit.FineLength(moved.Abs()))
			}
			break
		}
	}
	if okLean && okPoint {
		a.Do = unit.Say("It holds where it should. Leave it.")
		return Done, a
	}
	a.Do = unit.Say("Loosen, and go back to the cut.")
	return Working, a
}

func (g Guitar) dots(_ Bench, _ *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	if e.Values.Choice("set") == "yes" {
		return Done, Advice{Do: unit.Say("The side dots are in.")}
	}
	return Working, Advice{}
}

func (g Guitar) sign(b Bench, t *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	if t.cutSeq > e.Seq || t.seatSeq > e.Seq || t.tightSeq > e.Seq {
		return Again, Advice{Do: unit.Say("Sign off again."), Why: unit.Say("Something was entered at the joint since it was signed.")}
	}
	if e.Values.Choice("accepted") == "yes" {
		return Done, Advice{Do: unit.Say("The neck set is signed off.")}
	}
	return Working, Advice{}
}

// SaddleLine is where the saddle goes on this guitar, measured, not planned: from the nut, and from the
// body's edge.
func SaddleLine(d Values, nutToJoint unit.Length) (fromNut, fromJoint unit.Length) {
	b := Build(d)
	fromNut = b.ScaleLength + b.SaddleSetback
	return fromNut, fromNut - nutToJoint
}

func (g Guitar) bridge(b Bench, t *track, e *Entry) (Status, Advice) {
	if g.Start == FromReadings && e == nil {
		return Todo, Advice{}
	}
	var a Advice
	plan := unit.Length(0)
	if b.Aim.Target != nil {
		plan = b.Aim.Target.NutToJoint
	}
	if e == nil {
		return Todo, a
	}
	if again, stale := t.staleJoint(e.Seq); stale {
		return Again, again
	}
	nut, joint := SaddleLine(b.Design, e.Values.Length("nut_to_joint"))
	a.Do = unit.Say("Set the saddle line %v from the nut, which is %v from the body's edge.", nut, joint)
	if plan > 0 {
		a.Why = unit.Say("On this neck the nut stands %v from the body's edge; the plan said %v and the cuts moved it %v.", e.Values.Length("nut_to_joint"), plan, unit.FineLength(b.Shift))
		if diff := (e.Values.Length("nut_to_joint") - (plan - b.Shift)).Abs(); diff > 1.5*unit.MM {
			a.Doubt = unit.Say("That differs from plan and cuts by %v: measure once more.", diff)
		}
	}
	return Done, a
}

// SetupInput is what the saddle is corrected from.
func SetupInput(d, strung Values) neckset.SetupInput {
	in := neckset.SetupInput{ScaleLength: d.Length("scale_length"), SaddleSetback: Build(d).SaddleSetback,
		Action: neckset.Sides{Bass: strung.Length("action_bass"), Treble: strung.Length("action_treble")},
		Wanted: neckset.Sides{Bass: d.Length("action_bass"), Treble: d.Length("action_treble")}}
	for _, c := range strung["cents"] {
		in.Cents = append(in.Cents, c.SI)
	}
	return in
}

func (g Guitar) strung(b Bench, _ *track, e *Entry) (Status, Advice) {
	if e == nil {
		return Todo, Advice{}
	}
	in := SetupInput(b.Design, e.Values)
	s, warnings, err := neckset.SetUp(in)
	if err != nil {
		return Working, Advice{Doubt: unit.Say("%v", err)}
	}
	var a Advice
	for _, w := range warnings {
		a.Doubt = unit.Join(a.Doubt, w.Say)
	}
	saddle := func(side unit.Text, x unit.Length) unit.Phrase {
		if x < 0 {
			return unit.Say("add %v on the %v", unit.FineLength(-x), side)
		}
		return unit.Say("take %v off the %v", unit.FineLength(x), side)
	}
	high := in.Action.Bass - in.Wanted.Bass
	low := in.Action.Treble - in.Wanted.Treble
	var do []unit.Phrase
	done := true
	if max(high.Abs(), low.Abs()) > actionClose {
		done = false
		do = append(do, unit.Say("At the saddle, %v and %v.", saddle(bassSide, s.SaddleRemoval.Bass), saddle(trebleSide, s.SaddleRemoval.Treble)))
		a.Why = unit.Say("Action at fret 12 is %v bass and %v treble; wanted %v and %v.", in.Action.Bass, in.Action.Treble, in.Wanted.Bass, in.Wanted.Treble)
	}
	a.Figures = append(a.Figures, Figure{unit.Say("off the saddle, bass"), unit.Say("%v", unit.FineLength(s.SaddleRemoval.Bass))}, Figure{unit.Say("off the saddle, treble"), unit.Say("%v", unit.FineLength(s.SaddleRemoval.Treble))})
	if e.Values.Has("relief") && b.Design.Has("relief") {
		wanted := Build(b.Design).Relief
		diff := e.Values.Length("relief") - wanted
		a.Figures = append(a.Figures, Figure{unit.Say("relief over the design's"), unit.Say("%v", unit.FineLength(diff))})
		if diff.Abs() > actionClose {
			done = false
			do = append([]unit.Phrase{unit.Say("First bring the relief from %v to %v, then read the action again.", unit.FineLength(e.Values.Length("relief")), unit.FineLength(wanted))}, do...)
		}
	}
	if say, ok := g.fitted(b.Design, e.Values, &a, len(do) > 0); ok {
		if !say.Empty() {
			done = false
			do = append(do, say)
		}
	} else if say := byOctave(in, s, &a); !say.Empty() {
		done = false
		do = append(do, say)
	}
	a.Do = unit.Join(do...)
	if done {
		a.Do = unit.Say("Strung and settled as wanted. Leave it.")
		return Done, a
	}
	return Working, a
}

// byOctave moves each string's place by its octave alone, as can be done knowing nothing of the strings.
func byOctave(in neckset.SetupInput, s neckset.Setup, a *Advice) unit.Phrase {
	worstCents := 0.0
	for i, m := range s.SaddleMove {
		way := unit.Text("%+.0f cents: saddle %v back, away from the nut")
		if m < 0 {
			way = "%+.0f cents: saddle %v forward, toward the nut"
		}
		a.Figures = append(a.Figures, Figure{stringLabel(i, len(s.SaddleMove), ""), unit.Say(way, in.Cents[i], unit.FineLength(m.Abs()))})
		worstCents = math.Max(worstCents, math.Abs(in.Cents[i]))
	}
	if worstCents > centsClose {
		return unit.Say("Move each string's point on the saddle as listed.")
	}
	return unit.Phrase{}
}

// fitted moves each string's place by what all the cents read say, where the design knows its strings; ok is
// false when it does not, or nothing was read. Heights that are still to change move every note, so then it only lists.
func (g Guitar) fitted(d, strung Values, a *Advice, lowered bool) (do unit.Phrase, ok bool) {
	if g.Start != FromDesign || !HasStrings(d) {
		return unit.Phrase{}, false
	}
	corrections, err := Correct(d, strung)
	if err != nil || corrections == nil {
		return unit.Phrase{}, false
	}
	move, odd := false, false
	for i, c := range corrections {
		var read unit.Phrase
		for _, r := range c.Readings {
			one := unit.Say("%+.0f cents at fret %d", r.Cents, r.Fret)
			if read.Empty() {
				read = one
			} else {
				read = unit.Say("%v, %v", read, one)
			}
		}
		a.Figures = append(a.Figures, Figure{stringLabel(i, len(corrections), c.Name), unit.Join(unit.Say("%v.", read), c.Advice())})
		switch {
		case c.Odd():
			odd = true
		case c.Near():
		case c.Move.Abs() > lineClose && c.Move.Abs() >= c.MoveSD:
			move = true
		}
	}
	var say []unit.Phrase
	switch {
	case move && lowered:
		say = append(say, unit.Say("Then read the cents again: the moves listed are for the strings as they lie now."))
	case move:
		say = append(say, unit.Say("Move each string's point on the saddle as listed."))
	}
	if odd {
		say = append(say, unit.Say("Cut nothing for a string whose readings do not fit a saddle out of place: put a fresh one on and read again."))
	}
	return unit.Join(say...), true
}

// stuck says what holds a guitar up: passes that do not come nearer, or more wood wanted than there is.
func stuck(b Bench) unit.Phrase {
	if b.Cut != nil && b.Cut.TooDeep && !b.Cut.Cut.Leave {
		return unit.Say("asks for more wood than the shoulders can lose")
	}
	if b.Cut != nil && !b.Cut.Cut.Leave && len(b.Passes) >= 5 {
		return unit.Plural(len(b.Passes), "%d pass and not there yet", "%d passes and not there yet")
	}
	return unit.Phrase{}
}
