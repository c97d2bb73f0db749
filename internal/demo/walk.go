package demo

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/shop"
	"fairset/language"
	"fairset/unit"
)

// Lesson is one step of a walk through a first guitar: what it is for, what to type, and what that changes.
// The readings are made up as a real neck would give them: it stands off its target at first, and every cut that
// is entered moves it by what was planned.
type Lesson struct {
	Step    guitar.Step // "" when the walk is over
	Name    unit.Text
	Why     unit.Text // what the step is for, and what one would do at the bench
	Type    []Typed
	Changes unit.Text // what to look at once it is saved
	Done    int       // steps that are done
	Of      int       // steps there are
}

// Typed is one figure to type, as the step's form names it.
type Typed struct {
	Key   string
	Label unit.Phrase
	Text  string
}

// PracticeName is what the guitar of the walk is called, in the language of whoever began it.
const PracticeName unit.Text = "Practice guitar"

// Practice reports whether a guitar was made to practise on.
func Practice(g guitar.Guitar) bool {
	return g.Start == guitar.FromDesign && slices.ContainsFunc(language.Codes(), func(c language.Code) bool {
		return strings.HasPrefix(g.Name, PracticeName.In(unit.Millimetre.Speaking(c)))
	})
}

// PracticeBasis is the design it starts from.
const PracticeBasis = "steel-14"

// How the made-up neck stands before the first cut.
const (
	practiceLow    = 1.6 * unit.MM  // the straight edge passes too low by
	practiceOffset = -0.9 * unit.MM // the neck points to bass by
)

// Next returns the next lesson for a guitar that was started from a design. It follows from the guitar's record
// alone, so the walk can be left at any time and gone on with anywhere.
func Next(v shop.View, style unit.Style) Lesson {
	l := Lesson{}
	for _, s := range v.Bench.Steps {
		if s.Optional {
			continue
		}
		l.Of++
		if s.Status == guitar.Done {
			l.Done++
		}
	}
	st := v.Bench.Step(v.Bench.Waiting)
	if st.Step == "" {
		return l
	}
	// A cut asks for its readings again before anything else.
	l.Step, l.Name = st.Step, st.Name
	w := walker{v: v, style: style, lesson: &l}
	w.say(st)
	return l
}

// walker fills one lesson.
type walker struct {
	v      shop.View
	style  unit.Style
	lesson *Lesson
}

// put adds a figure to type; choices are typed by their key and shown by their name.
func (w walker) put(key string, texts ...string) {
	for _, f := range w.v.Guitar.Fields(w.lesson.Step) {
		if f.Field != key {
			continue
		}
		for i, text := range texts {
			label := f.Label
			if f.Many {
				label = unit.Say("%v, %v %d", f.Label, each(key), i+1)
			}
			w.lesson.Type = append(w.lesson.Type, Typed{key, label, text})
		}
	}
}

// each is what one of several figures of a field is called.
func each(key string) unit.Text {
	switch key {
	case "cents":
		return "string‖of the guitar"
	case "centres_neck", "centres_body", "miss":
		return "bolt"
	}
	return "reading"
}

// length writes a length with its unit, to what a good rule or wedge shows.
func (w walker) length(l unit.Length) string {
	if w.style.Metric() {
		return w.style.Decimal(math.Round(l.MM()*10)/10, 1) + " mm"
	}
	return w.style.Decimal(math.Round(l.MM()/25.4*250)/250, 3) + " in"
}

// truth is how the made-up neck stands after the cuts and shims entered so far.
func (w walker) truth() (gap, offset unit.Length) {
	gap, offset = w.v.Bench.Aim.GapOnFrets-practiceLow, practiceOffset
	for _, e := range w.v.Guitar.Live() {
		if e.Plan != nil {
			gap += e.Plan.GapChange
			offset += e.Plan.OffsetChange
		}
	}
	return gap, offset
}

// scatter are what two readings of one place differ from it by, as hands do.
var scatter = []unit.Length{0.1 * unit.MM, -0.1 * unit.MM}

func (w walker) lean() {
	gap, _ := w.truth()
	w.put("gap", w.length(gap+scatter[0]), w.length(gap+scatter[1]))
	w.put("surface", "frets")
}

func (w walker) point() {
	_, off := w.truth()
	toward := "treble"
	switch {
	case w.length(off.Abs()) == w.length(0):
		toward, off = "centre", 0
	case off < 0:
		toward = "bass"
	}
	w.put("offset", w.length(off.Abs()))
	w.put("toward", toward)
}

// say fills in the words and figures of a step.
func (w walker) say(st guitar.StepState) {
	l, d := w.lesson, w.v.Bench.Design
	mark := w.length(0.2 * unit.MM)
	again := st.Status == guitar.Again || st.Status == guitar.Working
	switch st.Step {
	case guitar.StepTenon:
		l.Why = "The neck is dry-fitted first. The tongue on the heel must go into its slot tightly, and stop before the slot's bottom. At a bench you would measure both with a caliper."
		length, width := d.Length("tenon_length"), d.Length("tenon_width")
		w.put("tenon_length", w.length(length))
		w.put("mortise_depth", w.length(length+1.5*unit.MM))
		w.put("tenon_width", w.length(width))
		w.put("mortise_width", w.length(width+0.1*unit.MM))
		l.Changes = "The page says whether it fits. Try a mortise that is too shallow: it says how much to take off the tenon. Then undo that on the guitar's page."
	case guitar.StepSeat:
		l.Why = "Both shoulders of the heel must touch the body all the way, or the strings will pull them down later. You would push the neck home and feel for gaps with strips of paper. Here they touch already."
		if again {
			l.Why = "Wood came off the heel, so the shoulders are looked along once more: the new faces must touch all the way too."
		}
		for _, k := range []string{"gap_bass_top", "gap_bass_cap", "gap_treble_top", "gap_treble_cap"} {
			w.put(k, "0")
		}
		l.Changes = "With gaps the page says how much to hollow the shoulders. With none it is done."
	case guitar.StepLean:
		l.Why = "Now the figure all of this is about: how high a straight edge on the frets passes over the top, where the saddle will stand. You would read it twice, lifting the straight edge off between."
		if again {
			l.Why = "Something has changed since the last reading, so the straight edge is laid on again. The two readings below are what this made-up neck shows now."
		}
		w.lean()
		w.put("graduation", mark)
		l.Changes = "The page says how far it is from what the design asks for, and how sure that is."
	case guitar.StepPoint:
		l.Why = "The neck must also point down the middle. You would lay a rule along both edges of the board and mark where they cross the saddle's place."
		if again {
			l.Why = "The centreline is read again too: a cut moves both, and each reading makes the next cut surer."
		}
		w.point()
		w.put("graduation", mark)
		l.Changes = "With lean and centreline known, the next cut can be worked out."
	case guitar.StepRoll:
		l.Why = "One edge of the board may stand higher than the other. No cut on the heel's face cures that, so it is good to know it early."
		gap, _ := w.truth()
		w.put("gap_bass", w.length(gap))
		w.put("gap_treble", w.length(gap+0.1*unit.MM))
		w.put("graduation", mark)
		l.Changes = "The page says what the roll comes to at the saddle, which takes it up."
	case guitar.StepCut:
		w.cut()
	case guitar.StepDrill:
		l.Why = "The neck stands right, so the bolts' places are marked, from the same edge on both parts. The page gives the drills for the bolts of the design."
		var at, zero []string
		for _, z := range d.Lengths("bolt_depths") {
			at, zero = append(at, w.style.Decimal(z.MM(), 2)+" mm"), append(zero, "0")
		}
		w.put("centres_neck", at...)
		w.put("centres_body", at...)
		w.put("miss", zero...)
		l.Changes = "Marks that differ are found before a hole is drilled. Had a hole missed its partner, the page would say what to ream."
	case guitar.StepTighten:
		l.Why = "With the nuts snug, the joint is looked along once more and the readings are taken again: wood gives a little."
		w.put("closed", "yes")
		w.lean()
		w.point()
		w.put("graduation", mark)
		l.Changes = "These readings count most. If they went off, the page says so while it can still be cured."
	case guitar.StepDots:
		l.Why = "The side dots, midway between the frets, are set out from the nut by the list on the page."
		w.put("set", "yes")
		l.Changes = "Nothing else follows from them."
	case guitar.StepSign:
		l.Why = "Look over the list: what is left open should be so on purpose. Then the neck set is signed off."
		w.put("accepted", "yes")
		l.Changes = "The guitar's page for paper shows who signed it off."
	case guitar.StepBridge:
		l.Why = "The bridge goes where the real nut asks for it. Every cut brought the nut a little nearer, so you would measure from nut to body's edge on this guitar."
		if t := w.v.Bench.Aim.Target; t != nil {
			w.put("nut_to_joint", w.length(t.NutToJoint-w.v.Bench.Shift))
		}
		l.Changes = "The page gives the saddle line from the nut, to the tenth of a millimetre."
	case guitar.StepStrung:
		l.Why = "Strung and settled for a day, the guitar tells how well all of it came out: the strings' height over fret 12, and the tuner at fret 12."
		bass, treble, cents := 0.4*unit.MM, 0.3*unit.MM, []string{"6", "5", "3", "7", "4", "2"}
		l.Changes = "The page says what comes off the saddle, and which way its edge moves."
		if again {
			l.Why = "The saddle has been filed as the page said, and the guitar is read once more."
			l.Changes = "The strings stand as the design asks, and the walk ends here."
			bass, treble, cents = 0, 0, []string{"1", "0", "1", "1", "0", "1"}
		}
		w.put("action_bass", w.length(d.Length("action_bass")+bass))
		w.put("action_treble", w.length(d.Length("action_treble")+treble))
		w.put("relief", w.length(d.Length("relief")))
		if d.Count("strings") == len(cents) {
			w.put("cents", cents...)
		}
	}
}

// cut asks for the pass that the bench asks for, or for readings when it does.
func (w walker) cut() {
	l, b := w.lesson, w.v.Bench
	n := b.Cut
	if n == nil || n.Cut.Verdict == neckset.ReadAgain || n.Cut.Leave || n.Cut.Planned.Deepest() <= 0 {
		// Nothing is to be cut before the lean is read once more.
		l.Step = guitar.StepLean
		if g, ok := guitar.FindGuide(guitar.StepLean); ok {
			l.Name = g.Name
		}
		if b.Lean.SD > b.Point.SD || n == nil {
			l.Why = "The page wants to be surer before wood comes off, so the straight edge is laid on once more."
			w.lean()
			w.put("graduation", w.length(0.2*unit.MM))
		} else {
			l.Step, l.Why = guitar.StepPoint, "The page wants to be surer before wood comes off, so the centreline is read once more."
			if g, ok := guitar.FindGuide(guitar.StepPoint); ok {
				l.Name = g.Name
			}
			w.point()
			w.put("graduation", w.length(0.2*unit.MM))
		}
		l.Changes = "Each reading narrows the doubt. Then the cut is asked for, or the neck is left as it is."
		return
	}
	l.Why = "One cut cures lean and centreline together. The drawing says how deep at each corner; the chance of going too far is kept to what you accept, so the first cut stays on the safe side. You would scribe the depths, take the wood off and count the strokes."
	strokes := n.Strokes
	if n.By == "marks" {
		strokes = max(1, int(math.Round(float64(n.Cut.Planned.Deepest())/float64(n.Tool.PerStroke))))
		w.put("done", "100 %")
	}
	w.put("strokes", strconv.Itoa(strokes))
	l.Changes = "Wood came off, so lean and centreline are asked for again. From the strokes and the next readings the tool's rate is learned."
}
