// Package class is many guitars at a glance: which step each waits at, who is stuck and why, what the next
// lesson takes, and what came of it all at the end. It knows no clock: the time of looking is given.
package class

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"fairset/craft/bill"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/unit"
)

// Member is one guitar of a class.
type Member struct {
	Guitar guitar.Guitar
	Bench  guitar.Bench
	Owner  string // whose it is; "" for nobody's in particular
}

// Trouble is one reason why a guitar is stuck, and what would help.
type Trouble struct {
	Code      string // "passes", "nearer", "wood", "doubt", "coarse", "waiting", "side"
	Say, Help unit.Phrase
}

// Card is one guitar as it stands.
type Card struct {
	ID, Name, Owner string
	Repair          bool
	Waiting         guitar.Step // "" when finished
	Last            time.Time   // last entry, or when it was begun
	By              string      // who made that entry
	Lean, Point     unit.Phrase // how the neck stands, in a few words; may be empty
	Troubles        []Trouble
}

// Group is the guitars that wait at one step.
type Group struct {
	Step           guitar.Step // "" for those that are finished
	Name, Question unit.Text
	Cards          []Card
}

// Need is what the next lesson takes at one step.
type Need struct {
	Step        guitar.Step
	Name        unit.Text
	Guitars     []string // names
	Hardware    []bill.Item
	Holes       []bill.Drilled // to lay out drills for
	Consumables unit.Texts
	Tools       []unit.Phrase
	Caution     unit.Phrase
	Unsized     []string // names of guitars whose holes cannot be worked out yet
}

// Glance is a class at one moment.
type Glance struct {
	Count, Stuck, Finished int
	Groups                 []Group // in the order of the work; only steps that somebody waits at
	Needs                  []Need
}

// LongWait is after how long without an entry a guitar counts as waiting long, unless said otherwise.
const LongWait = 10 * 24 * time.Hour

const (
	manyPasses = 5   // a neck takes two to four
	slack      = 0.5 // a pass brought nothing when the need fell by less than half a spread of its readings
)

// Look sets guitars under the steps they wait at, by name, those that are stuck first. A guitar that is not finished
// waits long when its last entry is longer ago than long; 0 leaves that out.
func Look(members []Member, now time.Time, long time.Duration) Glance {
	g := Glance{Count: len(members)}
	by := map[guitar.Step][]Card{}
	for _, m := range members {
		c := m.Card(now, long)
		if len(c.Troubles) > 0 {
			g.Stuck++
		}
		if c.Waiting == "" {
			g.Finished++
		}
		by[c.Waiting] = append(by[c.Waiting], c)
	}
	add := func(step guitar.Step, name, question unit.Text) {
		cards := by[step]
		if len(cards) == 0 {
			return
		}
		slices.SortStableFunc(cards, func(a, b Card) int {
			return cmp.Or(cmp.Compare(min(len(b.Troubles), 1), min(len(a.Troubles), 1)), ByName(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
		})
		g.Groups = append(g.Groups, Group{step, name, question, cards})
	}
	for _, s := range guitar.Guides() {
		add(s.Step, s.Name, s.Question)
	}
	add("", "Finished‖guitars", "Set, strung and settled.")
	g.Needs = needs(members)
	return g
}

// ByName compares names as people count: "Alder 2" comes before "Alder 10".
func ByName(a, b string) int {
	a, b = strings.ToLower(a), strings.ToLower(b)
	for a != "" && b != "" {
		na, nb := digits(a), digits(b)
		if na > 0 && nb > 0 {
			x, y := strings.TrimLeft(a[:na], "0"), strings.TrimLeft(b[:nb], "0")
			if c := cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(x, y)); c != 0 {
				return c
			}
			a, b = a[na:], b[nb:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a, b)
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

func digits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}

// Card says how one guitar stands at the time now.
func (m Member) Card(now time.Time, long time.Duration) Card {
	g, b := m.Guitar, m.Bench
	c := Card{ID: g.ID, Name: g.Name, Owner: m.Owner, Repair: g.Start == guitar.FromReadings, Waiting: b.Waiting, Last: g.Created}
	if n := len(g.Log); n > 0 {
		c.Last, c.By = g.Log[n-1].At, g.Log[n-1].Bench
	}
	c.Lean, c.Point = b.Standing()
	if c.Waiting != "" {
		c.Troubles = troubles(m, c, now, long)
	}
	return c
}

// troubles finds what holds a guitar up, the gravest first.
func troubles(m Member, c Card, now time.Time, long time.Duration) []Trouble {
	b := m.Bench
	var out []Trouble
	add := func(code string, say, help unit.Phrase) { out = append(out, Trouble{code, say, help}) }
	if n := b.Cut; n != nil && !n.Cut.Leave {
		if n.TooDeep {
			add("wood", unit.Say("The next cut asks for %v, and the shoulders can lose %v.", unit.FineLength(n.Cut.Planned.Deepest()), unit.FineLength(n.Spare)),
				unit.Say("Don't cut further. The cut's page shows the other ways out: a shim, another bridge or saddle."))
		}
		lean, point := stalled(b, guitar.StepLean), stalled(b, guitar.StepPoint)
		switch {
		case lean || point:
			say := unit.Text("The last two passes brought the lean no nearer.")
			if point {
				say = "The last two passes brought where the neck points no nearer."
			}
			if lean && point {
				say = "The last two passes brought lean or point no nearer."
			}
			add("nearer", unit.Say(say),
				unit.Say("Seat the neck, read again with somebody watching, and check with chalk that wood comes off where the drawing shows it."))
		case len(b.Passes) >= manyPasses:
			add("passes", unit.Say("%d passes, and not there yet.", len(b.Passes)),
				unit.Say("Read lean and point three times each before the next cut. Most necks take two to four passes."))
		}
	}
	if r, ok := doubtful(b); ok {
		say := unit.Text("The readings of the lean disagree.")
		if r.Step == guitar.StepPoint {
			say = "The readings of where the neck points disagree."
		}
		add("doubt", unit.Say(say), unit.Say("Lift the neck off, seat it and read again before anything is cut. One more reading that agrees settles it."))
	}
	if b.Cut != nil {
		for _, w := range b.Cut.Warnings {
			if w.Code == "rule_too_coarse" {
				add("coarse", w.Say, unit.Say("A stepped wedge or a drill shank under the straight edge reads finer than a rule."))
				break
			}
		}
	}
	if st := b.Step(guitar.StepSeat); st.Status == guitar.Working && m.Guitar.Start == guitar.FromDesign {
		if in := m.Guitar.SeatInput(b.Design); in.ArcRadius > 0 {
			if _, warnings, err := neckset.FitSeat(in); err == nil && len(warnings) > 0 {
				add("side", warnings[0].Say, unit.Say("Hollow the shoulders more and flatten the body less: the share is a figure of the seat's page."))
			}
		}
	}
	if age := now.Sub(c.Last); long > 0 && !c.Last.IsZero() && age > long {
		add("waiting", unit.Plural(int(age/(24*time.Hour)), "Nothing entered for %d day.", "Nothing entered for %d days."), unit.Say("Ask whether it waits for a tool, a sheet or a pair of hands."))
	}
	return out
}

// doubtful returns the last reading of lean or point when it stands in doubt and no cut came after it.
func doubtful(b guitar.Bench) (guitar.Reading, bool) {
	for _, step := range []guitar.Step{guitar.StepLean, guitar.StepPoint} {
		for _, r := range slices.Backward(b.Readings) {
			if r.Step != step {
				continue
			}
			if r.Doubtful && r.Passes == len(b.Passes) {
				return r, true
			}
			break
		}
	}
	return guitar.Reading{}, false
}

// stalled reports whether the last two passes on an axis left it no nearer: what is still needed by the reading
// after them fell by less than half the spread of the readings, though it lies outside its tolerance.
func stalled(b guitar.Bench, step guitar.Step) bool {
	n := len(b.Passes)
	if n < 2 || !b.Aim.Known {
		return false
	}
	aim, tol := b.Aim.GapOnFrets, b.Design.Length("gap_tolerance")
	meant := func(p guitar.Pass) bool { return p.Plan.GapChange != 0 }
	if step == guitar.StepPoint {
		aim, tol = 0, b.Design.Length("offset_tolerance")
		meant = func(p guitar.Pass) bool { return p.Plan.OffsetChange != 0 }
	}
	if !meant(b.Passes[n-1]) || !meant(b.Passes[n-2]) {
		return false
	}
	was, ok1 := readAfter(b, step, n-2)
	is, ok2 := readAfter(b, step, n)
	if !ok1 || !ok2 {
		return false
	}
	left := (is.Value - aim).Abs()
	return left > tol && left > (was.Value-aim).Abs()-unit.Length(slack*math.Hypot(float64(was.SD), float64(is.SD)))
}

// readAfter returns the last reading of an axis after so many passes and before the next.
func readAfter(b guitar.Bench, step guitar.Step, passes int) (guitar.Reading, bool) {
	for _, r := range slices.Backward(b.Readings) {
		if r.Step == step && r.Passes == passes {
			return r, true
		}
	}
	return guitar.Reading{}, false
}

// needs sums what the waiting steps take, step by step.
func needs(members []Member) []Need {
	var out []Need
	for _, guide := range guitar.Guides() {
		n := Need{Step: guide.Step, Name: guide.Name, Caution: guide.Caution}
		var items [][]bill.Item
		var holes [][]bill.Drilled
		for _, m := range members {
			if m.Bench.Waiting != guide.Step {
				continue
			}
			n.Guitars = append(n.Guitars, m.Guitar.Name)
			items = append(items, bill.ItemsFor(guide.Step, m.Bench.Design))
			hs, err := bill.HolesFor(guide.Step, m.Guitar.Name, m.Bench.Design, m.Bench.Drills)
			if err != nil {
				n.Unsized = append(n.Unsized, m.Guitar.Name)
			}
			holes = append(holes, hs)
			for _, t := range bill.Tools(m.Bench.Design) {
				if t.Step == guide.Step {
					n.Tools = union(n.Tools, t.Tools, unit.Phrase.Same)
					n.Consumables = union(n.Consumables, t.Consumables, func(a, b unit.Text) bool { return a == b })
				}
			}
		}
		if len(n.Guitars) == 0 {
			continue
		}
		slices.SortFunc(n.Guitars, ByName)
		n.Hardware, n.Holes = bill.Add(items...), bill.AddHoles(holes...)
		// Strings are counted among the hardware.
		n.Consumables = slices.DeleteFunc(n.Consumables, bill.IsStrings)
		out = append(out, n)
	}
	return out
}

func union[S ~[]E, E any](a, b S, same func(a, b E) bool) S {
	for _, x := range b {
		if !slices.ContainsFunc(a, func(y E) bool { return same(x, y) }) {
			a = append(a, x)
		}
	}
	return a
}
