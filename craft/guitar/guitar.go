// Package guitar joins the trade's sums into one instrument: its design, everything entered at the bench
// since, and what follows from both.
//
// A guitar's record is its starting figures and a log that only grows. Undoing marks the last entry as
// undone; nothing is ever erased, so the history is whole. What the bench knows now (Bench) is worked out
// from the record each time: the same record always gives the same answer.
package guitar

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"fairset/craft/neckset"
	"fairset/unit"
)

// Guitar is one instrument's record.
type Guitar struct {
	ID      string // given by whoever keeps the record
	Name    string
	Start   Start
	Basis   string // key of the starting design, "" for a repair
	Created time.Time
	First   Values // figures it started with
	Log     []Entry
}

// Entry is one thing entered at the bench. Entries are numbered from 1 in the order they were made.
type Entry struct {
	Seq    int
	At     time.Time
	Bench  string // who entered it, e.g. "bench 3"; may be empty
	Step   Step
	Values Values
	Plan   *Plan // for StepCut and StepShim: what the work was meant to do
	Undone bool
}

// Plan is what a cut or a shim was meant to do when it was made.
type Plan struct {
	GapChange    unit.Length // at the saddle
	OffsetChange unit.Length
	Depth        neckset.Corners // wood taken; for a shim, wood added
	Shift        unit.Length     // neck toward the bridge
	SD           float64         // spread of the work, as a fraction of the change
	Strokes      int             // strokes the plan asked for; 0 when it asked for none
	Risk         float64         // chance of going past that the cut was planned with
}

// maxName bounds a guitar's or bench's name, in characters.
const maxName = 80

// maxLog bounds a guitar's log. A guitar sees dozens of entries; thousands mean a runaway script.
const maxLog = 20000

// nameLabel says what a name names.
func nameLabel(field string) unit.Phrase {
	switch field {
	case "account":
		return unit.Say("account")
	case "bench":
		return unit.Say("bench")
	case "names":
		return unit.Say("names")
	}
	return unit.Say("name")
}

// CheckName returns the name trimmed, or an error naming the field.
func CheckName(field, name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	l := unit.Limit{Field: field, Label: nameLabel(field), Kind: unit.KindText}
	switch {
	case name == "":
		return "", &unit.RangeError{Limit: l, Found: unit.Say("left empty"), Value: math.NaN(), Why: unit.Say("a name is needed, 1 to 80 characters")}
	case utf8.RuneCountInString(name) > maxName || !utf8.ValidString(name):
		return "", &unit.RangeError{Limit: l, Got: name, Value: math.NaN(), Why: unit.Say("keep it to 80 characters")}
	}
	for _, r := range name {
		if r < ' ' || r == 0x7f {
			return "", &unit.RangeError{Limit: l, Got: fmt.Sprintf("%q", name), Value: math.NaN(), Why: unit.Say("it holds a control character")}
		}
	}
	return name, nil
}

// New starts a guitar from a starting design with some of its figures changed.
func New(name, basis string, changes Values) (Guitar, error) {
	name, err := CheckName("name", name)
	if err != nil {
		return Guitar{}, err
	}
	b, err := FindBasis(basis)
	if err != nil {
		return Guitar{}, err
	}
	g := Guitar{Name: name, Start: FromDesign, Basis: b.Key, First: b.Values.Clone()}
	for k, v := range changes {
		g.First[k] = v
	}
	if err := CheckDesign(g.First, g.Start); err != nil {
		return Guitar{}, err
	}
	if _, _, err := Build(g.First).Target(); err != nil {
		return Guitar{}, err
	}
	return g, nil
}

// NewRepair starts a guitar from readings alone: the fields of RepairFields.
func NewRepair(name string, readings Values) (Guitar, error) {
	name, err := CheckName("name", name)
	if err != nil {
		return Guitar{}, err
	}
	g := Guitar{Name: name, Start: FromReadings, First: readings.Clone()}
	if err := CheckDesign(g.First, g.Start); err != nil {
		return Guitar{}, err
	}
	return g, nil
}

// Live returns the entries that stand, in order.
func (g Guitar) Live() []Entry {
	var out []Entry
	for _, e := range g.Log {
		if !e.Undone {
			out = append(out, e)
		}
	}
	return out
}

// Last returns the last standing entry of a step.
func (g Guitar) Last(s Step) (Entry, bool) {
	for _, e := range slices.Backward(g.Log) {
		if e.Step == s && !e.Undone {
			return e, true
		}
	}
	return Entry{}, false
}

// LastEntry returns the last standing entry, the one Undo would undo.
func (g Guitar) LastEntry() (Entry, bool) {
	for _, e := range slices.Backward(g.Log) {
		if !e.Undone {
			return e, true
		}
	}
	return Entry{}, false
}

// Design returns the design as it stands: the starting figures with every later change.
func (g Guitar) Design() Values {
	d := g.First.Clone()
	for _, e := range g.Log {
		if e.Step == StepDesign && !e.Undone {
			for k, v := range e.Values {
				d[k] = slices.Clone(v)
			}
		}
	}
	return d
}

// Undo returns the guitar with its last standing entry marked undone, and that entry.
func (g Guitar) Undo() (Guitar, Entry, error) {
	for i := len(g.Log) - 1; i >= 0; i-- {
		if !g.Log[i].Undone {
			g.Log = slices.Clone(g.Log)
			g.Log[i].Undone = true
			return g, g.Log[i], nil
		}
	}
	return g, Entry{}, ErrNothingToUndo
}

// ErrNothingToUndo is returned by Undo when no entry stands.
var ErrNothingToUndo = fmt.Errorf("nothing has been entered yet, so there is nothing to undo")

// Enter checks an answer for a step and returns the entry to add, numbered next. The caller gives the
// time. For a cut the plan is the one the bench asks for now, scaled by what was said to have been done.
// Errors are Problems or *unit.RangeError.
func (g Guitar) Enter(s Step, values Values, at time.Time, bench string, o Options) (Entry, error) {
	if len(g.Log) >= maxLog {
		return Entry{}, fmt.Errorf("this guitar already has %d entries; export it and start a fresh record", maxLog)
	}
	e := Entry{Seq: len(g.Log) + 1, At: at, Bench: bench, Step: s, Values: values}
	if err := g.check(e); err != nil {
		return Entry{}, err
	}
	switch s {
	case StepCut:
		o.Tool, o.By = values.Choice("tool"), values.Choice("judged")
		plan, err := g.cutPlan(values, o)
		if err != nil {
			return Entry{}, err
		}
		e.Plan = plan
	case StepShim:
		e.Plan = g.shimPlan(values)
	}
	return e, nil
}

// With returns the guitar with an entry added.
func (g Guitar) With(e Entry) Guitar {
	g.Log = append(slices.Clip(g.Log), e)
	return g
}

// answered is a problem with an answer: got is what was typed, or words for what was found.
func answered(f Field, got any, why unit.Text, args ...any) *unit.RangeError {
	e := &unit.RangeError{Limit: f.Limit, Value: math.NaN(), Why: unit.Say(why, args...)}
	switch got := got.(type) {
	case string:
		e.Got = got
	case unit.Phrase:
		e.Found = got
	}
	return e
}

// check makes the checks that take more than one figure of an answer.
func (g Guitar) check(e Entry) error {
	var problems Problems
	problem := func(key string, got any, why unit.Text, args ...any) {
		f, _ := find(g.Fields(e.Step), key)
		problems = append(problems, answered(f, got, why, args...))
	}
	v := e.Values
	switch e.Step {
	case StepDesign:
		d := g.Design()
		for k, x := range v {
			d[k] = x
		}
		if err := CheckDesign(d, g.Start); err != nil {
			return err
		}
		if g.Start == FromDesign {
			if _, _, err := Build(d).Target(); err != nil {
				return err
			}
		}
		return nil
	case StepSeat:
		if v.Has("arc_chord") != v.Has("arc_rise") {
			key := "arc_rise"
			if v.Has("arc_rise") {
				key = "arc_chord"
			}
			problem(key, unit.Say("left empty"), "chord and rise belong together: give both, or the radius")
		} else if v.Has("arc_chord") && v.Length("arc_rise") > 0 {
			r, err := neckset.ArcFromChord(v.Length("arc_chord"), v.Length("arc_rise"))
			if err != nil {
				return err
			}
			if f, _ := find(designFields, "arc_radius"); f.Check(float64(r)) != nil {
				problem("arc_rise", v["arc_rise"][0].Text, "chord and rise give a radius of %v, outside %v", r, f.Limit)
			}
		}
	case StepLean, StepTighten:
		if e.Step == StepLean && v.Has("read_at") {
			if d := g.saddleDistance(); v.Length("read_at") > 2*d {
				problem("read_at", v["read_at"][0].Text, "that is more than twice the way to the saddle, %v", d)
			}
		}
		if e.Step == StepTighten && v.Choice("toward") == "centre" {
			for _, x := range v.Lengths("offset") {
				if x != 0 {
					problem("toward", "centre", "say bass or treble when the offset is not 0")
					break
				}
			}
		}
	case StepPoint:
		if v.Choice("toward") == "centre" {
			for _, x := range v.Lengths("offset") {
				if x != 0 {
					problem("toward", "centre", "say bass or treble when the offset is not 0")
					break
				}
			}
		}
	case StepCut:
		if v.Choice("judged") == "strokes" && !v.Has("strokes") {
			problem("strokes", unit.Say("left empty"), "say how many strokes were made, or that you worked to marks")
		}
		if v.Choice("judged") == "strokes" && v.Has("done") {
			problem("done", v["done"][0].Text, "the strokes already say it; give this only when working to marks")
		}
	case StepDrill:
		if a, b := len(v["centres_neck"]), len(v["centres_body"]); a != b {
			problem("centres_body", unit.Say("%d centres", b), "the neck has %d; both parts need the same number", a)
		}
		if a, b := len(v["centres_neck"]), len(v["miss"]); b != 0 && a != b {
			problem("miss", unit.Say("%d figures", b), "give one for each of the %d bolts, 0 where it meets", a)
		}
		for _, key := range []string{"miss_across", "miss_down"} {
			if a, b := len(v["centres_neck"]), len(v[key]); v.Has("miss_across") || v.Has("miss_down") {
				if a != b {
					problem(key, unit.Say("%d figures", b), "both ways belong together: give one for each of the %d bolts, 0 where it meets", a)
				}
			}
		}
	case StepStrung:
		g.checkCents(v, problem)
	}
	if len(problems) > 0 {
		return problems
	}
	return nil
}
