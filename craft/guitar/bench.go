package guitar

import (
	"math"
	"time"

	"fairset/craft/neckset"
	"fairset/unit"
)

// Options is what the bench knows besides the guitar's own record.
type Options struct {
	Shop *neckset.Learned // from the shop's own history; nil for the stated guesses
	Tool string           // tool the maker means to cut with; "" for the last one used
	By   string           // how the depth will be judged: "marks" or "strokes"; "" for as last time
	// Drills are those the shop owns, as fastening.Owned reads them; none for the design's own series.
	Drills []string
}

// Status says how a step stands.
type Status string

// The statuses of a step.
const (
	Todo    Status = "todo"    // nothing entered yet
	Working Status = "working" // entered, and there is something left to do
	Again   Status = "again"   // it was done, and something later undid it
	Done    Status = "done"
)

// Name says the status in words.
func (s Status) Name() unit.Text {
	switch s {
	case Done:
		return "done"
	case Again:
		return "do again"
	case Working:
		return "in hand"
	default:
		return "to do"
	}
}

// StepState is one step on one guitar.
type StepState struct {
	Guide
	Status   Status
	Optional bool   // the guitar can be finished without it
	Last     *Entry // last standing entry
	Advice   Advice
}

// Advice is what a reading means: first the action, then why, then how sure.
type Advice struct {
	Do      unit.Phrase
	Why     unit.Phrase
	Doubt   unit.Phrase
	Figures []Figure
	Other   []neckset.Remedy // what else would help, each with its figure
}

// Figure is one number of an advice with what it is.
type Figure struct {
	Label unit.Phrase
	Say   unit.Phrase
}

// Aim is what the neck set must come to.
type Aim struct {
	Known          bool
	SaddleDistance unit.Length // joint to saddle
	GapOnFrets     unit.Length
	GapOnBoard     unit.Length
	Target         *neckset.Target // nil for a repair
	Twist          unit.Length     // repair: side difference of the action that no heel cut cures
	Warnings       []unit.Warning
}

// Reading is one reading of lean or point as the bench uses it.
type Reading struct {
	Seq      int
	At       time.Time
	Step     Step        // StepLean or StepPoint; a reading taken when tightening counts for both
	Value    unit.Length // gap on the frets at the saddle; offset, + = treble
	SD       unit.Length
	Doubtful bool // its parts disagree, or it disagrees with what went before
	Passes   int  // passes made before it
}

// Pass is one cut with what it was meant to do and what the readings say it did.
type Pass struct {
	Entry
	Known   bool    // read again since
	Ratio   float64 // what it did, as a share of what was planned
	RatioSD float64
	Depth   neckset.Corners // as planned × Ratio
}

// NextCut is the cut the bench asks for now.
type NextCut struct {
	In       neckset.CutInput
	Cut      neckset.Cut
	Warnings []unit.Warning
	Tool     neckset.Tool
	By       string // how its depth is judged: "marks" or "strokes"
	Rate     neckset.Rate
	Strokes  int // for the planned cut, at the deepest corner
	Spare    unit.Length
	Doubtful bool // a reading disagrees: read again before anything is cut
	TooDeep  bool // more wood is asked for than the shoulders can lose
	Remedies []neckset.Remedy
}

// Bench is what is known of a guitar now, worked out from its record.
type Bench struct {
	Design   Values
	Aim      Aim
	Lean     neckset.Belief // gap on the frets at the saddle
	Point    neckset.Belief // offset at the saddle, + = treble
	Readings []Reading
	Passes   []Pass
	Shift    unit.Length // neck toward the bridge by all work so far
	Cut      *NextCut    // nil until lean and point are known
	Steps    []StepState
	Waiting  Step // first step that is not done; "" when the guitar is finished
	Stuck    unit.Phrase
	Drills   []string // those the shop owns, as Options gave them
}

// Step returns one step's state.
func (b Bench) Step(s Step) StepState {
	for _, st := range b.Steps {
		if st.Step == s {
			return st
		}
	}
	return StepState{}
}

const (
	// shimScatter is the same for a shim, whose thickness is measured before it is glued.
	shimScatter = 0.05
	// surprising is how many standard deviations off a reading must be before it is asked for again.
	// At 3, one honest reading in 370 is asked for twice (two-sided normal tail).
	surprising = 3
)

// track is the running state while the log is read.
type track struct {
	reading               float64 // spread of one reading, in graduations
	lean, point           neckset.Belief
	leanDoubt, pointDoubt bool
	leanSeq, pointSeq     int // entry of the last reading
	cutSeq, seatSeq       int // last entry that took wood off the heel; off the seat
	tightSeq              int
	baseline              *unit.Length // repair: gap before any wood was cut
	readings              []Reading
	passes                []Pass
	shift                 unit.Length
}

// Bench works out what is known now. It never fails: what cannot be worked out is left unknown and the
// steps say what is missing.
func (g Guitar) Bench(o Options) Bench {
	b := Bench{Design: g.Design(), Drills: o.Drills}
	t := g.replay(b.Design, o.Shop.ReadingSD(g.ID))
	b.Lean, b.Point, b.Readings, b.Passes, b.Shift = t.lean, t.point, t.readings, t.passes, t.shift
	b.Aim = g.aim(b.Design, t)
	b.Cut = g.nextCut(b, t, o)
	b.Steps = g.steps(b, t)
	for _, s := range b.Steps {
		if s.Status != Done && !s.Optional {
			b.Waiting = s.Step
			break
		}
	}
	b.Stuck = stuck(b)
	return b
}

// untaught has learned nothing: its figures are the stated guesses.
var untaught *neckset.Learned

// Teaches returns what this guitar teaches the others of its shop. It does not depend on them.
func (g Guitar) Teaches() neckset.History {
	d := g.Design()
	t := g.replay(d, untaught.ReadingSD(g.ID))
	h := neckset.NoHistory(g.ID)
	h.Removals, h.Marks = removals(g.ID, t.passes), markShares(t.passes)
	aim := g.aim(d, t)
	for _, r := range t.readings {
		if r.Passes > 0 {
			break
		}
		switch {
		case r.Step == StepLean && !h.FirstGap.Finite() && aim.Known && g.Start == FromDesign:
			h.FirstGap = r.Value - aim.GapOnFrets
		case r.Step == StepPoint && !h.FirstOffset.Finite():
			h.FirstOffset = r.Value
		}
	}
	for _, e := range g.Live() {
		grad := e.Values.Length("graduation")
		for _, key := range []string{"gap", "offset"} {
			if e.Step == StepLean || e.Step == StepPoint || e.Step == StepTighten {
				if s, ok := neckset.ScatterOf(e.Values.Lengths(key), grad); ok {
					h.Readings = append(h.Readings, s)
				}
			}
		}
		if e.Step == StepDrill {
			h.Holes = append(h.Holes, e.Values.Lengths("miss")...)
		}
	}
	return h
}

// markShares returns how much of their plans the passes to marks did, as far as readings show it.
func markShares(passes []Pass) []neckset.Done {
	var out []neckset.Done
	for _, p := range passes {
		if p.Known && p.Values.Choice("judged") == "marks" {
			out = append(out, neckset.Done{Share: p.Ratio, SD: p.RatioSD})
		}
	}
	return out
}

func removals(id string, passes []Pass) []neckset.Removal {
	var out []neckset.Removal
	for _, p := range passes {
		strokes := p.Values.Count("strokes")
		if !p.Known || strokes == 0 || p.Ratio <= 0 {
			continue
		}
		deepest := p.Plan.Depth.Deepest()
		out = append(out, neckset.Removal{Guitar: id, Tool: p.Values.Choice("tool"), Strokes: strokes,
			Depth: unit.Length(float64(deepest) * p.Ratio), DepthSD: unit.Length(float64(deepest) * p.RatioSD)})
	}
	return out
}

func (g Guitar) saddleDistance() unit.Length {
	d := g.Design()
	if g.Start == FromReadings {
		return d.Length("saddle_distance")
	}
	t, _, err := Build(d).Target()
	if err != nil {
		return 0
	}
	return t.SaddleDistance
}

// replay reads the log in order, carrying the beliefs over readings and cuts. One reading is taken to spread by so
// many graduations of its rule.
func (g Guitar) replay(d Values, reading float64) *track {
	t := &track{reading: reading, lean: neckset.Unknown(), point: neckset.Unknown()}
	var open *openPass
	for _, e := range g.Live() {
		switch e.Step {
		case StepSeat:
			if e.Values.Choice("wood_taken") == "yes" {
				t.lean, t.point = neckset.Unknown(), neckset.Unknown()
				t.seatSeq = e.Seq
				open = nil
			}
		case StepLean:
			open.gap(t.readLean(g, d, e, false))
		case StepPoint:
			open.offset(t.readPoint(e, false))
		case StepTighten:
			// Wood gives way under the nuts: what was believed before no longer holds.
			t.tightSeq = e.Seq
			t.readLean(g, d, e, true)
			t.readPoint(e, true)
			open = nil
		case StepCut, StepShim:
			sd := e.Plan.SD
			if e.Step == StepCut {
				t.passes = append(t.passes, Pass{Entry: e})
				open = &openPass{pass: &t.passes[len(t.passes)-1], lean: t.lean, point: t.point, gapSeen: unseen, offsetSeen: unseen}
			} else {
				open = nil
			}
			t.lean = t.lean.Cut(e.Plan.GapChange, unit.Length(math.Abs(sd*float64(e.Plan.GapChange))))
			t.point = t.point.Cut(e.Plan.OffsetChange, unit.Length(math.Abs(sd*float64(e.Plan.OffsetChange))))
			t.leanDoubt, t.pointDoubt = false, false
			t.shift += e.Plan.Shift
			t.cutSeq = e.Seq
		}
	}
	return t
}

func (t *track) readLean(g Guitar, d Values, e Entry, fresh bool) neckset.Sample {
	var on []unit.Length
	for _, x := range e.Values.Lengths("gap") {
		if e.Values.Choice("surface") == "board" {
			x += d.Length("fret_crown")
		}
		on = append(on, g.atSaddle(d, x, e.Values.Length("read_at")))
	}
	s := neckset.CombineAs(on, e.Values.Length("graduation"), t.reading)
	t.lean, t.leanDoubt = read(t.lean, t.leanDoubt, s, fresh)
	t.leanSeq = e.Seq
	if t.baseline == nil && len(t.passes) == 0 {
		base := s.Mean
		t.baseline = &base
	}
	t.readings = append(t.readings, Reading{e.Seq, e.At, StepLean, s.Mean, s.SD, t.leanDoubt, len(t.passes)})
	return s
}

func (t *track) readPoint(e Entry, fresh bool) neckset.Sample {
	sign := unit.Length(1)
	if e.Values.Choice("toward") == "bass" {
		sign = -1
	}
	var off []unit.Length
	for _, x := range e.Values.Lengths("offset") {
		off = append(off, sign*x)
	}
	s := neckset.CombineAs(off, e.Values.Length("graduation"), t.reading)
	t.point, t.pointDoubt = read(t.point, t.pointDoubt, s, fresh)
	t.pointSeq = e.Seq
	t.readings = append(t.readings, Reading{e.Seq, e.At, StepPoint, s.Mean, s.SD, t.pointDoubt, len(t.passes)})
	return s
}

// read joins a new sample to a belief. A sample that cannot be squared with the belief replaces it and is
// in doubt until the next one agrees with it: either the reading or what was believed of the wood is wrong,
// and only reading again can tell which.
func read(b neckset.Belief, _ bool, s neckset.Sample, fresh bool) (neckset.Belief, bool) {
	if fresh {
		b = neckset.Unknown()
	}
	after, surprise := b.Read(s.Mean, s.SD)
	if surprise > surprising {
		after, _ = neckset.Unknown().Read(s.Mean, s.SD)
		return after, true
	}
	return after, !s.Agree
}

// atSaddle converts a gap on the frets read some way from the saddle to the gap at the saddle: the line is
// straight and starts at a known height over the joint.
func (g Guitar) atSaddle(d Values, gap, at unit.Length) unit.Length {
	if at <= 0 || g.Start == FromReadings {
		return gap
	}
	build := Build(d)
	t, _, err := build.Target()
	if err != nil {
		return gap
	}
	start := build.BoardThickness + build.FretCrown + build.NeckProud
	line := gap + build.Top.Height(at)
	slope := float64(line-start) / float64(at)
	return start + unit.Length(slope*float64(t.SaddleDistance)) - t.TopHeightAtSaddle
}

// openPass is a cut whose effect has not been read on both axes yet.
type openPass struct {
	pass                *Pass
	lean, point         neckset.Belief // before the cut
	gapSeen, offsetSeen seen
}

// seen is the change of one reading over a cut; its spread is infinite when it was not read.
type seen struct{ change, sd unit.Length }

var unseen = seen{sd: unit.Length(math.Inf(1))}

func (p *openPass) gap(s neckset.Sample) {
	if p != nil {
		p.gapSeen = change(p.lean, s)
		p.infer()
	}
}

func (p *openPass) offset(s neckset.Sample) {
	if p != nil {
		p.offsetSeen = change(p.point, s)
		p.infer()
	}
}

func change(before neckset.Belief, s neckset.Sample) seen {
	if !before.Known() {
		return unseen
	}
	return seen{s.Mean - before.Mean, unit.Length(math.Hypot(float64(before.SD), float64(s.SD)))}
}

// infer works out from both axes together what share of the plan the cut really did.
func (p *openPass) infer() {
	plan := p.pass.Plan
	c := neckset.Cut{PlannedGap: plan.GapChange, PlannedOffset: -plan.OffsetChange, Planned: plan.Depth}
	depth, sd, ok := neckset.InferRemoval(c, p.gapSeen.change, p.gapSeen.sd, p.offsetSeen.change, p.offsetSeen.sd)
	if !ok {
		return
	}
	deepest := plan.Depth.Deepest()
	p.pass.Known = true
	p.pass.Ratio, p.pass.RatioSD = float64(depth/deepest), float64(sd/deepest)
	p.pass.Depth = scaled(plan.Depth, p.pass.Ratio)
}

func scaled(d neckset.Corners, by float64) neckset.Corners {
	f := unit.Length(by)
	return neckset.Corners{TopBass: d.TopBass * f, TopTreble: d.TopTreble * f, CapBass: d.CapBass * f, CapTreble: d.CapTreble * f}
}

// aim works out the target: from the design, or for a repair from the gap before any cut and what the
// action asks for.
func (g Guitar) aim(d Values, t *track) Aim {
	if g.Start == FromReadings {
		a := Aim{SaddleDistance: d.Length("saddle_distance")}
		if t.baseline == nil {
			return a
		}
		gap, twist, err := neckset.Repair(neckset.RepairInput{ScaleLength: d.Length("scale_length"), SaddleSetback: d.Length("saddle_setback"),
			Action: neckset.Sides{Bass: d.Length("action_bass_now"), Treble: d.Length("action_treble_now")},
			Wanted: neckset.Sides{Bass: d.Length("action_bass"), Treble: d.Length("action_treble")}, Gap: *t.baseline})
		if err != nil {
			return a
		}
		a.Known, a.GapOnFrets, a.GapOnBoard, a.Twist = true, gap, gap-d.Length("fret_crown"), twist
		return a
	}
	target, warnings, err := Build(d).Target()
	if err != nil {
		return Aim{}
	}
	if HasAir(d) {
		if air, err := AirOf(d); err == nil {
			warnings = append(warnings, air.Warnings...)
		}
	}
	return Aim{Known: true, SaddleDistance: target.SaddleDistance, GapOnFrets: target.GapOnFrets, GapOnBoard: target.GapOnBoard, Target: &target, Warnings: warnings}
}

// cutInput gathers what the next cut is worked out from.
func (g Guitar) cutInput(b Bench, cutSD float64) neckset.CutInput {
	d := b.Design
	in := neckset.CutInput{SaddleDistance: b.Aim.SaddleDistance, Heel: Heel(d), GapTarget: b.Aim.GapOnFrets,
		GapMeasured: b.Lean.Mean, OffsetMeasured: b.Point.Mean, GapSD: b.Lean.SD, OffsetSD: b.Point.SD,
		CutSD: cutSD, Risk: d.Ratio("risk"), GapTolerance: d.Length("gap_tolerance"), OffsetTolerance: d.Length("offset_tolerance")}
	for _, p := range b.Passes {
		in.GapMade += p.Plan.GapChange
		in.OffsetMade -= p.Plan.OffsetChange
	}
	for _, r := range b.Readings {
		if r.Step == StepLean {
			in.GapReadSD = r.SD
		} else {
			in.OffsetReadSD = r.SD
		}
	}
	return in
}

func (g Guitar) nextCut(b Bench, t *track, o Options) *NextCut {
	if !b.Aim.Known || !b.Lean.Known() || !b.Point.Known() {
		return nil
	}
	n := &NextCut{Spare: b.Design.Length("shoulder_spare")}
	n.Tool, n.By = g.way(o)
	n.Rate = o.Shop.Rate(n.Tool, g.ID, removals(g.ID, t.passes))
	cutSD := o.Shop.MarkSD(g.ID, markShares(t.passes))
	if n.By == "strokes" {
		cutSD = n.Rate.CutSD()
	}
	n.In = g.cutInput(b, cutSD)
	cut, warnings, err := neckset.NextCut(n.In)
	if err != nil {
		return nil
	}
	n.Cut, n.Warnings = cut, warnings
	if t.leanDoubt || t.pointDoubt {
		n.Doubtful = true
		n.Cut.Verdict, n.Cut.Leave = neckset.ReadAgain, false
	}
	for _, p := range b.Passes {
		n.Spare -= p.Plan.Depth.Deepest()
	}
	n.Spare = max(n.Spare, 0)
	n.TooDeep = n.Cut.Planned.Deepest() > n.Spare
	n.Strokes = n.Rate.Strokes(n.Cut.Planned.Deepest())
	if n.TooDeep || n.Cut.Verdict == neckset.GonePast {
		var build *neckset.Build
		if g.Start == FromDesign {
			bd := Build(b.Design)
			build = &bd
		}
		n.Remedies = neckset.Remedies(n.In, n.Cut.GapNeed, n.Cut.OffsetNeed, build)
	}
	return n
}

// way is the tool and how its depth is judged: as asked for, else as last time, else the first tool, to marks.
func (g Guitar) way(o Options) (neckset.Tool, string) {
	tool, by := o.Tool, o.By
	if e, ok := g.Last(StepCut); ok {
		if tool == "" {
			tool = e.Values.Choice("tool")
		}
		if by == "" {
			by = e.Values.Choice("judged")
		}
	}
	if by != "strokes" {
		by = "marks"
	}
	if t, ok := neckset.FindTool(tool); ok {
		return t, by
	}
	return neckset.Tools()[0], by
}

// cutPlan is what a cut just made was meant to do: the planned cut, scaled by strokes made or by the share
// said to be done.
func (g Guitar) cutPlan(v Values, o Options) (*Plan, error) {
	b := g.Bench(o)
	tool, _ := find(g.Fields(StepCut), "tool")
	refuse := func(why unit.Phrase) error {
		return Problems{{Limit: tool.Limit, Got: v.Choice("tool"), Value: math.NaN(), Why: why}}
	}
	if b.Cut == nil {
		return nil, refuse(unit.Say("no cut is planned yet: read the lean and where the neck points first"))
	}
	n := b.Cut
	if n.Cut.Planned.Deepest() <= 0 {
		return nil, refuse(unit.Say("no cut is asked for now. If wood came off all the same, read lean and point again; the readings count"))
	}
	share := 1.0
	switch {
	case v.Has("strokes") && n.By == "strokes" && n.Strokes > 0:
		share = float64(v.Count("strokes")) / float64(n.Strokes)
	case v.Has("done"):
		share = v.Ratio("done")
	}
	f := unit.Length(share)
	return &Plan{GapChange: n.Cut.PlannedGap * f, OffsetChange: -n.Cut.PlannedOffset * f, Shift: n.Cut.PlannedShift * f,
		SD: n.In.CutSD, Strokes: n.Strokes, Risk: n.Cut.PastChance, Depth: scaled(n.Cut.Planned, share)}, nil
}

// shimPlan is what a shim does: wood added at one edge turns the neck the other way than wood taken there.
func (g Guitar) shimPlan(v Values) *Plan {
	d := g.Design()
	th := v.Length("thickness")
	change := unit.Length(float64(th) * float64(g.saddleDistance()) / float64(d.Length("heel_height")))
	if v.Choice("edge") == "cap" {
		return &Plan{GapChange: -change, SD: shimScatter, Depth: neckset.Corners{CapBass: th, CapTreble: th}}
	}
	return &Plan{GapChange: change, SD: shimScatter, Shift: -th, Depth: neckset.Corners{TopBass: th, TopTreble: th}}
}

// Standing says in a few words how the lean stands and where the neck points; empty where nothing is read.
func (b Bench) Standing() (lean, point unit.Phrase) {
	if b.Lean.Known() && b.Aim.Known {
		need := b.Aim.GapOnFrets - b.Lean.Mean
		switch {
		case need.Abs() <= b.Design.Length("gap_tolerance"):
			lean = unit.Say("lean within what you asked for")
		case need > 0:
			lean = unit.Say("straight edge %v low", need)
		default:
			lean = unit.Say("straight edge %v high", -need)
		}
	}
	if b.Point.Known() {
		off := b.Point.Mean
		switch {
		case off.Abs() <= b.Design.Length("offset_tolerance"):
			point = unit.Say("points down the centre")
		case off > 0:
			point = unit.Say("line %v to treble", off)
		default:
			point = unit.Say("line %v to bass", -off)
		}
	}
	return lean, point
}
