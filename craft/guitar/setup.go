package guitar

import (
	"math"
	"slices"

	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/unit"
)

// The jobs of a setup, in the order they are done: each moves those after it and none before it.
const (
	JobRelief = "relief"
	JobNut    = "nut"
	JobHeight = "height"
	JobLine   = "line"
)

// SetupJob is one adjustment of a strung guitar.
type SetupJob struct {
	Key     string
	Name    unit.Text
	Do, Why unit.Phrase
	Take    neckset.Sides // wood or bone to take, bass and treble; negative: it must grow by as much
	Move    []unit.Length // of each string's place on the saddle, + away from the nut; for JobLine
	Figures []Figure      // the same in words, string by string
	Effects []unit.Phrase // on the other figures
	Caution unit.Phrase
	Read    bool // what it goes by has been read
	Done    bool
}

// SetupRecord is one line of the final record; a phrase is empty where there is nothing to say yet.
type SetupRecord struct {
	Label, Wanted, Before, After unit.Phrase
}

// SetupSheet is the setup of one guitar: what to do in which order, and what came of it.
type SetupSheet struct {
	Before, Now *Entry // first and last readings of the strung guitar; nil before there are any
	Jobs        []SetupJob
	Records     []SetupRecord
	Say         []unit.Phrase // what to know before beginning
}

// nutClose and reliefClose are as near as files and feelers come; common practice, no source.
const (
	nutClose    = 0.05 * unit.MM
	reliefClose = 0.05 * unit.MM
)

// ErrNoDesign is returned where a repair has no design to work something out from.
var ErrNoDesign = unit.Wrong("this guitar began from readings and has no design to work that out from")

// SetupSheet works out the setup from the last readings of the strung guitar. Before there are any, the jobs
// say what to read. Each job's figure already counts what the jobs before it will have done.
func (g Guitar) SetupSheet() (SetupSheet, error) {
	if g.Start == FromReadings {
		return SetupSheet{}, ErrNoDesign
	}
	d := g.Design()
	out := SetupSheet{}
	for _, e := range g.Live() {
		if e.Step == StepStrung {
			if out.Before == nil {
				out.Before = &e
			}
			out.Now = &e
		}
	}
	v := Values{}
	if out.Now != nil {
		v = out.Now.Values
	} else {
		out.Say = append(out.Say, unit.Say("Nothing has been read on the strung guitar yet: tune it to pitch, let it settle a day, tune again, and read."))
	}
	s := setup{d: d, v: v, b: Build(d)}
	s.geo = geometryOf(s.b)
	s.wanted = actionWanted(d)
	if HasStrings(d) && out.Now != nil {
		m, err := modelsAt(d, settingRead(d, v))
		if err != nil {
			out.Say = append(out.Say, unit.Say("The saddle line cannot be worked out from the strings: %v", err))
		} else {
			s.m = &m
		}
	}
	out.Jobs = []SetupJob{s.relief(), s.nut(), s.height(), s.line()}
	out.Records = records(d, s.b, out.Before, out.Now)
	return out, nil
}

// setup is the running state: what the jobs so far will have made of the action.
type setup struct {
	d, v    Values
	b       neckset.Build
	geo     setupGeometry
	wanted  neckset.Sides
	action  neckset.Sides // after the jobs so far
	hollow  unit.Length   // relief after them
	nutLeft *neckset.Sides
	m       *strungModels
}

func sides(s neckset.Sides, by float64) neckset.Sides {
	return neckset.Sides{Bass: s.Bass * unit.Length(by), Treble: s.Treble * unit.Length(by)}
}

// changes are the sentences that say what a job does to a height over the frets: the same on both sides, or on the
// bass side and on the treble side.
type changes struct{ rises, falls, bothRise, bothFall, bassRises, bassFalls unit.Text }

var (
	actionChanges = changes{
		rises:     "Action at fret 12 rises by %v.",
		falls:     "Action at fret 12 falls by %v.",
		bothRise:  "Action at fret 12 rises by %v on the bass side and rises by %v on the treble side.",
		bothFall:  "Action at fret 12 falls by %v on the bass side and falls by %v on the treble side.",
		bassRises: "Action at fret 12 rises by %v on the bass side and falls by %v on the treble side.",
		bassFalls: "Action at fret 12 falls by %v on the bass side and rises by %v on the treble side.",
	}
	fret1Changes = changes{
		rises:     "The string over fret 1 rises by %v.",
		falls:     "The string over fret 1 falls by %v.",
		bothRise:  "The string over fret 1 rises by %v on the bass side and rises by %v on the treble side.",
		bothFall:  "The string over fret 1 falls by %v on the bass side and falls by %v on the treble side.",
		bassRises: "The string over fret 1 rises by %v on the bass side and falls by %v on the treble side.",
		bassFalls: "The string over fret 1 falls by %v on the bass side and rises by %v on the treble side.",
	}
)

// say says by how much the height changes.
func (c changes) say(s neckset.Sides) unit.Phrase {
	bass, treble := unit.FineLength(s.Bass.Abs()), unit.FineLength(s.Treble.Abs())
	switch same := (s.Bass - s.Treble).Abs() < 0.005*unit.MM; {
	case same && s.Bass < 0:
		return unit.Say(c.falls, bass)
	case same:
		return unit.Say(c.rises, bass)
	case s.Bass < 0 && s.Treble < 0:
		return unit.Say(c.bothFall, bass, treble)
	case s.Bass < 0:
		return unit.Say(c.bassFalls, bass, treble)
	case s.Treble < 0:
		return unit.Say(c.bassRises, bass, treble)
	}
	return unit.Say(c.bothRise, bass, treble)
}

// cents says what a change of setting does to the notes at a fret, by the strings' own sums.
func (s *setup) cents(from, to setting, fret int) []unit.Phrase {
	if s.m == nil {
		return nil
	}
	a, errA := s.m.in.modelsAt(s.d, from)
	b, errB := s.m.in.modelsAt(s.d, to)
	if errA != nil || errB != nil {
		return nil
	}
	before, ok := s.m.mean(a, fret)
	after, ok2 := s.m.mean(b, fret)
	if !ok || !ok2 {
		return nil
	}
	by := before - after
	if by < 0 {
		return []unit.Phrase{unit.Say("Notes at fret %d become about %.1f cents sharper.", fret, -by)}
	}
	return []unit.Phrase{unit.Say("Notes at fret %d become about %.1f cents flatter.", fret, by)}
}

// now is the setting after the jobs so far.
func (s *setup) now() setting {
	at := settingRead(s.d, s.v)
	at.action, at.relief = s.action, s.hollow
	if s.nutLeft != nil && at.nut != nil {
		at.nut = s.nutLeft
	}
	return at
}

func (s *setup) relief() SetupJob {
	j := SetupJob{Key: JobRelief, Name: "Relief", Caution: cautions(CautionString)}
	s.action = neckset.Sides{Bass: s.v.Length("action_bass"), Treble: s.v.Length("action_treble")}
	s.hollow = s.b.Relief
	if !s.v.Has("relief") {
		j.Do = unit.Say("Read the relief, tuned to pitch; %v is wanted.", unit.FineLength(s.b.Relief))
		return j
	}
	j.Read = true
	read := s.v.Length("relief")
	diff := read - s.b.Relief
	if diff.Abs() <= reliefClose {
		j.Do, j.Done = unit.Say("Leave the relief: it is %v, and %v is wanted.", unit.FineLength(read), unit.FineLength(s.b.Relief)), true
		s.hollow = read
		return j
	}
	rod := unit.Text("With the rod, bring the relief from %v to %v: tighten it a little at a time and read again.")
	rigid := unit.Text("The relief is %v and %v is wanted, %v less. Nothing in this neck can be turned: other strings change it, or planing the board, or levelling the frets.")
	if diff < 0 {
		rod = "With the rod, bring the relief from %v to %v: slacken it a little at a time and read again."
		rigid = "The relief is %v and %v is wanted, %v more. Nothing in this neck can be turned: other strings change it, or planing the board, or levelling the frets."
	}
	switch s.d.Choice("rod") {
	case rodAdjustable:
		j.Do = unit.Say(rod, unit.FineLength(read), unit.FineLength(s.b.Relief))
	case rodNone, rodDead:
		j.Do = unit.Say(rigid, unit.FineLength(read), unit.FineLength(s.b.Relief), unit.FineLength(diff.Abs()))
	default:
		j.Do = unit.Say("Bring the relief from %v to %v, with the rod if there is one.", unit.FineLength(read), unit.FineLength(s.b.Relief))
	}
	j.Why = unit.Say("It comes first because the action follows it: fret 12 lies lower in a hollow neck, and the frets point lower at the saddle.")
	was := s.now()
	was.relief = read
	by := unit.Length(-float64(diff) * s.geo.actionOfRelief())
	s.action = neckset.Sides{Bass: s.action.Bass + by, Treble: s.action.Treble + by}
	j.Effects = append(j.Effects, actionChanges.say(neckset.Sides{Bass: by, Treble: by}))
	j.Effects = append(j.Effects, s.cents(was, s.now(), 12)...)
	return j
}

func (s *setup) nut() SetupJob {
	j := SetupJob{Key: JobNut, Name: "Nut", Caution: cautions(CautionString)}
	over := func(a unit.Length) unit.Length { // the string over fret 1 with the nut as designed
		dip := float64(s.b.Relief) * s.geo.perRelief12
		h := float64(s.b.NutHeight)
		return unit.Length(h + (float64(a)-dip-h)*s.geo.u1/(s.geo.L/2))
	}
	if !s.v.Has("nut_bass") || !s.v.Has("nut_treble") {
		j.Do = unit.Say("Read the strings over fret 1; with everything as wanted they stand %v over it on the bass side and %v on the treble side.", unit.FineLength(over(s.wanted.Bass)), unit.FineLength(over(s.wanted.Treble)))
		return j
	}
	j.Read = true
	read := settingRead(s.d, s.v)
	dip := float64(read.relief) * s.geo.perRelief12
	at := func(one, twelve unit.Length) unit.Length {
		return nutFrom(one, twelve-unit.Length(dip), unit.Length(s.geo.u1), s.b.ScaleLength)
	}
	j.Take = neckset.Sides{Bass: at(s.v.Length("nut_bass"), read.action.Bass) - s.b.NutHeight, Treble: at(s.v.Length("nut_treble"), read.action.Treble) - s.b.NutHeight}
	if max(j.Take.Bass.Abs(), j.Take.Treble.Abs()) <= nutClose {
		j.Do, j.Done, j.Take = unit.Say("Leave the nut: the strings lie over fret 1 as they should."), true, neckset.Sides{}
		return j
	}
	j.Do = nutTakes.say(j.Take, nutClose)
	if min(j.Take.Bass, j.Take.Treble) < -nutClose {
		j.Do = unit.Join(j.Do, unit.Say("A slot cannot be filed higher: fill it, or make a new nut."))
	}
	j.Why = unit.Say("File with the string slack, a stroke or two at a time, and read again.")
	was := s.now()
	by := sides(j.Take, -s.geo.actionOfNut())
	s.action = neckset.Sides{Bass: s.action.Bass + by.Bass, Treble: s.action.Treble + by.Treble}
	if read.nut != nil {
		s.nutLeft = &neckset.Sides{Bass: max(0, read.nut.Bass-j.Take.Bass), Treble: max(0, read.nut.Treble-j.Take.Treble)}
	}
	j.Effects = append(j.Effects, actionChanges.say(by))
	j.Effects = append(j.Effects, s.cents(was, s.now(), 1)...)
	return j
}

// takes are the sentences that say what to take off a part on one side, or to raise it by.
type takes struct{ take, raise unit.Text }

var (
	nutTakes    = takes{"Take %v off the floors of the slots on the %v.", "Raise the floors of the slots by %v on the %v."}
	saddleTakes = takes{"Take %v off the saddle's foot on the %v.", "Raise the saddle's foot by %v on the %v."}
)

// say says what to take on each side; what is near enough is left.
func (t takes) say(take neckset.Sides, near unit.Length) unit.Phrase {
	one := func(side unit.Text, take unit.Length) unit.Phrase {
		switch {
		case take.Abs() <= near:
			return unit.Say("Leave the %v.", side)
		case take < 0:
			return unit.Say(t.raise, unit.FineLength(-take), side)
		}
		return unit.Say(t.take, unit.FineLength(take), side)
	}
	return unit.Join(one(bassSide, take.Bass), one(trebleSide, take.Treble))
}

func (s *setup) height() SetupJob {
	j := SetupJob{Key: JobHeight, Name: "Saddle height", Caution: cautions(CautionString, CautionSand)}
	if len(s.v) == 0 {
		j.Do = unit.Say("Read the action over fret 12; %v is wanted on the bass side and %v on the treble side.", unit.FineLength(s.wanted.Bass), unit.FineLength(s.wanted.Treble))
		return j
	}
	j.Read = true
	over := neckset.Sides{Bass: s.action.Bass - s.wanted.Bass, Treble: s.action.Treble - s.wanted.Treble}
	if max(over.Bass.Abs(), over.Treble.Abs()) <= actionClose {
		j.Do, j.Done = unit.Say("Leave the saddle's height: the action comes to %v on the bass side and %v on the treble side.", unit.FineLength(s.action.Bass), unit.FineLength(s.action.Treble)), true
		return j
	}
	j.Take = sides(over, s.geo.saddleOfAction())
	near := unit.Length(float64(actionClose) * s.geo.saddleOfAction())
	j.Do = saddleTakes.say(j.Take, near)
	if min(j.Take.Bass, j.Take.Treble) < -near {
		j.Do = unit.Join(j.Do, unit.Say("A saddle that is too low wants a shim under it, or a new one."))
	}
	j.Why = unit.Say("After relief and nut the action at fret 12 is %v on the bass side and %v on the treble side; %v and %v are wanted. The saddle gives twice what fret 12 shows.", unit.FineLength(s.action.Bass), unit.FineLength(s.action.Treble), unit.FineLength(s.wanted.Bass), unit.FineLength(s.wanted.Treble))
	was := s.now()
	s.action = s.wanted
	one := sides(j.Take, -s.geo.u1/(s.geo.L+s.geo.S))
	j.Effects = append(j.Effects, fret1Changes.say(one))
	j.Effects = append(j.Effects, s.cents(was, s.now(), 12)...)
	return j
}

func (s *setup) line() SetupJob {
	j := SetupJob{Key: JobLine, Name: "Saddle line", Caution: cautions(CautionString, CautionSand)}
	readings := readingsOf(s.v, s.d.Count("strings"))
	if readings == nil {
		j.Do = unit.Say("Read each string's cents at fret 12, and at one or two other frets.")
		return j
	}
	j.Read = true
	if s.m == nil {
		// Without the strings' figures the octave alone decides, as the neck set has it.
		set, _, err := neckset.SetUp(SetupInput(s.d, s.v))
		if err != nil || len(set.SaddleMove) == 0 {
			j.Do = unit.Say("Read each string's cents at fret 12.")
			return j
		}
		j.Move = set.SaddleMove
		j.Why = unit.Say("Worked out from fret 12 alone; with the strings' figures in the design it would count stretch and stiffness, and what the other jobs change.")
		j.finish(nil)
		return j
	}
	corrections, err := s.m.correct(s.d, readings)
	if err != nil {
		j.Do = unit.Say("The saddle line cannot be worked out: %v", err)
		return j
	}
	final, err := s.m.in.modelsAt(s.d, s.now())
	if err != nil {
		j.Do = unit.Say("The saddle line cannot be worked out: %v", err)
		return j
	}
	var worn together
	var spread unit.Length
	for i, c := range corrections {
		// What the jobs before it change of the best place, the strings' figures being as supposed.
		here, errA := s.m.models[i].SaddleFor(s.m.nut[i])
		then, errB := final[i].SaddleFor(s.m.nut[i])
		move := c.Move
		if errA == nil && errB == nil {
			move += then.Saddle - here.Saddle
		}
		if s.near(i, c, final[i]) {
			move = 0
		}
		if c.Odd() {
			worn = append(worn, c.Name)
			move = 0
		}
		j.Move = append(j.Move, move)
		spread = max(spread, c.MoveSD)
	}
	j.Why = unit.Say("Counted for the action, nut and relief as they will be. Each move is good to about %v, or better.", unit.FineLength(spread))
	if len(worn) > 0 {
		j.Why = unit.Join(j.Why, unit.Say("Cut nothing for %v yet: the readings do not look like a saddle out of place. Put on a fresh string and read again.", worn))
	}
	j.finish(corrections)
	j.Done = j.Done && len(worn) == 0
	return j
}

// near reports whether a string's notes will be as true as a bench asks for when the jobs before are done.
func (s *setup) near(i int, c StringCorrection, final *stringset.Model) bool {
	now, errA := s.m.models[i].Cents(s.m.nut[i], s.m.saddle[i])
	then, errB := final.Cents(s.m.nut[i], s.m.saddle[i])
	if errA != nil || errB != nil {
		return c.Near()
	}
	after := StringCorrection{Readings: slices.Clone(c.Readings)}
	for k, r := range after.Readings {
		after.Readings[k].Cents += then[r.Fret-1] - now[r.Fret-1]
	}
	return after.Near()
}

// lineClose is as near as a saddle's break point can be filed; common practice, no source.
const lineClose = 0.15 * unit.MM

// finish says a saddle line's moves, and which string each is for where that is known.
func (j *SetupJob) finish(strs []StringCorrection) {
	most := unit.Length(0)
	for _, m := range j.Move {
		most = max(most, m.Abs())
	}
	if most <= lineClose {
		j.Do, j.Done = unit.Say("Leave the saddle line."), true
		return
	}
	for i, m := range j.Move {
		name := ""
		if i < len(strs) {
			name = strs[i].Name
		}
		f := Figure{Label: stringLabel(i, len(j.Move), name), Say: unit.Say("leave it")}
		switch {
		case m > lineClose:
			f.Say = unit.Say("%v back, away from the nut", unit.FineLength(m))
		case m < -lineClose:
			f.Say = unit.Say("%v forward, toward the nut", unit.FineLength(-m))
		}
		j.Figures = append(j.Figures, f)
	}
	j.Do = unit.Say("Move the places where the strings break over the saddle, string by string.")
	j.Effects = append(j.Effects, unit.Say("It moves nothing above it: a millimetre of saddle line is less than a hundredth of a millimetre of action."))
}

// together is several things named within a sentence: "one, two and three".
type together []any

// In writes them for a maker.
func (t together) In(s unit.Style) string { return s.List(t...) }

// records sets what was wanted, read first and read last beside each other.
func records(d Values, b neckset.Build, before, now *Entry) []SetupRecord {
	var out []SetupRecord
	one := func(label unit.Phrase, key string, wanted unit.Phrase, say func(Value) unit.Phrase, i int) {
		r := SetupRecord{Label: label, Wanted: wanted}
		read := func(e *Entry) unit.Phrase {
			if e == nil || i >= len(e.Values[key]) {
				return unit.Phrase{}
			}
			return say(e.Values[key][i])
		}
		r.Before = read(before)
		if now != nil && before != nil && now.Seq != before.Seq {
			r.After = read(now)
		}
		out = append(out, r)
	}
	fine := func(v Value) unit.Phrase { return unit.Say("%v", unit.FineLength(v.SI)) }
	length := func(l unit.Length) unit.Phrase { return unit.Say("%v", unit.FineLength(l)) }
	g := geometryOf(b)
	over := func(a unit.Length) unit.Length {
		h, dip := float64(b.NutHeight), float64(b.Relief)*g.perRelief12
		return unit.Length(h + (float64(a)-dip-h)*g.u1/(g.L/2))
	}
	wanted := actionWanted(d)
	one(unit.Say("relief"), "relief", length(b.Relief), fine, 0)
	one(unit.Say("string over fret 1, bass"), "nut_bass", length(over(wanted.Bass)), fine, 0)
	one(unit.Say("string over fret 1, treble"), "nut_treble", length(over(wanted.Treble)), fine, 0)
	one(unit.Say("action at fret 12, bass"), "action_bass", length(wanted.Bass), fine, 0)
	one(unit.Say("action at fret 12, treble"), "action_treble", length(wanted.Treble), fine, 0)
	for i := range d.Count("strings") {
		one(unit.Say("cents at fret 12, string %d from the bass", i+1), "cents", unit.Say("within ±%.0f", centsClose), func(v Value) unit.Phrase { return signed(v.SI) }, i)
	}
	return out
}

func signed(c float64) unit.Phrase {
	if math.Abs(c) < 0.05 {
		return unit.Plain("0")
	}
	return unit.Say("%+.1f", c)
}
