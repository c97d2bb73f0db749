package cli

import (
	"fmt"
	"text/tabwriter"
	"unicode/utf8"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/shop"
	"fairset/unit"
)

// table writes labelled figures, the figures in one column.
type table struct {
	w *tabwriter.Writer
	s unit.Style
}

func (a *app) table() table { return table{tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0), a.style()} }

// row writes one of them: its label and its figure, both in the maker's words.
func (t table) row(label, figure string) { fmt.Fprintf(t.w, "  %s\t%s\n", label, figure) }
func (t table) end()                     { t.w.Flush() }

// say writes one of them; its figure is a text with arguments.
func (t table) say(label, text unit.Text, args ...any) { t.row(label.In(t.s), t.s.Say(text, args...)) }

// is writes one of them.
func (t table) is(label unit.Text, figure string) { t.row(label.In(t.s), figure) }

// target says what the neck set must come to.
func (a *app) target(v shop.View) {
	s, aim := a.style(), v.Bench.Aim
	a.say("", "Target")
	if !aim.Known {
		a.say("  ", "Read the lean before any wood is cut: then the target can be worked out.")
		return
	}
	t := a.table()
	t.is("gap at the saddle, on the frets", aim.GapOnFrets.Exact(s))
	t.is("gap at the saddle, on a bare board", aim.GapOnBoard.Exact(s))
	if x := aim.Target; x != nil {
		d := v.Bench.Design
		run := d.Length("jig_run")
		t.is("neck angle", x.NeckAngle.In(s))
		t.say("jig", "rises %v over %v", unit.FineLength(x.Jig(run)), run)
		t.is("heel face to board", x.HeelToBoard().In(s))
		t.is("saddle from the joint", x.SaddleDistance.Exact(s))
		fromNut, _ := guitar.SaddleLine(d, x.NutToJoint)
		t.is("saddle from the nut", fromNut.Exact(s))
		t.is("string over the fret line at the saddle", x.StringHeightAtSaddle.Exact(s))
	} else {
		t.is("saddle from the joint", aim.SaddleDistance.Exact(s))
		if aim.Twist != 0 {
			t.is("side difference no heel cut cures", aim.Twist.Abs().Fine(s))
		}
	}
	t.end()
	a.warn(aim.Warnings)
}

// sure says how sure the target is.
func (a *app) sure(v shop.View) {
	if v.Bench.Aim.Target == nil {
		return
	}
	d := v.Bench.Design
	b, err := shop.Budget(guitar.Build(d), d)
	if err != nil {
		return
	}
	s := a.style()
	a.say("\n", "How sure")
	a.say("  ", "The gap is known to give or take %v (drawn %d times: %v).", unit.FineLength(b.GapSD), b.Trials, unit.FineLength(b.CheckSD))
	if len(b.Shares) > 1 && b.Shares[1].Effect > 0 {
		a.say("  ", "Worth measuring better: %v, then %v.", guitar.PartLabel(b.Shares[0].Field), guitar.PartLabel(b.Shares[1].Field))
	}
	t := a.table()
	for _, sh := range b.Shares[:min(5, len(b.Shares))] {
		t.row("  "+guitar.PartLabel(sh.Field).In(s), s.Say("%v\t%.0f %%", unit.FineLength(sh.Effect), sh.Part*100))
	}
	t.end()
}

func (a *app) show(v shop.View) {
	s, g := a.style(), v.Guitar
	about := unit.Say("repair, from readings")
	if g.Start == guitar.FromDesign {
		about = unit.Plain(g.Basis)
		if b, err := guitar.FindBasis(g.Basis); err == nil {
			about = unit.Say(b.Name)
		}
	}
	a.say("", "%s (id %s): %v", g.Name, g.ID, about)
	if v.Removed {
		a.say("", "It was put away; fairset restore %s takes it back.", g.ID)
	}
	a.printf("\n")
	a.target(v)
	a.sure(v)
	if v.Bench.Lean.Known() || v.Bench.Point.Known() {
		a.say("\n", "As it stands")
		t := a.table()
		if b := v.Bench.Lean; b.Known() {
			t.say("gap at the saddle, on the frets", "%s, give or take %v", b.Mean.Exact(s), unit.FineLength(b.SD))
		}
		if b := v.Bench.Point; b.Known() {
			way := unit.Text("%v on the treble side, give or take %v")
			if b.Mean < 0 {
				way = "%v on the bass side, give or take %v"
			}
			t.say("neck's line passes", way, unit.FineLength(b.Mean.Abs()), unit.FineLength(b.SD))
		}
		if v.Bench.Shift != 0 {
			t.is("neck nearer the bridge by", v.Bench.Shift.Fine(s))
		}
		t.end()
	}
	a.say("\n", "Steps")
	var rows [][2]string // status and name
	first, second := 9, 18
	for _, st := range v.Bench.Steps {
		status := st.Status.Name()
		if st.Optional && st.Status == guitar.Todo {
			status = "if wanted"
		}
		r := [2]string{status.In(s), st.Name.In(s)}
		rows = append(rows, r)
		first, second = max(first, utf8.RuneCountInString(r[0])), max(second, utf8.RuneCountInString(r[1]))
	}
	t := a.table()
	for i, st := range v.Bench.Steps {
		line := rows[i][1]
		if do := st.Advice.Do.In(s); do != "" && st.Status != guitar.Todo {
			line = fmt.Sprintf("%-*s  %s", second, line, do)
		}
		t.row(fmt.Sprintf("%-*s  %s", first, rows[i][0], st.Step), line)
	}
	t.end()
	a.next(v)
}

// advice says what a step's last reading means: the action, why, how sure, then the figures.
func (a *app) advice(v shop.View, step guitar.Step) {
	s := a.style()
	st := v.Bench.Step(step)
	if st.Name == "" {
		a.say("", "Entered.")
		return
	}
	a.say("", "%v: %v", st.Name, st.Status.Name())
	a.said(st.Advice, s)
}

func (a *app) said(ad guitar.Advice, s unit.Style) {
	a.para("  ", ad.Do.In(s))
	a.para("  ", ad.Why.In(s))
	a.para("  ", ad.Doubt.In(s))
	t := a.table()
	for _, f := range ad.Figures {
		t.row("  "+f.Label.In(s), f.Say.In(s))
	}
	t.end()
	a.others(ad.Other, s)
}

func (a *app) others(rs []neckset.Remedy, s unit.Style) {
	if len(rs) == 0 {
		return
	}
	a.say("  ", "What else would help:")
	for _, r := range rs {
		a.para("    - ", r.Say.In(s))
	}
}

// cut says the next cut.
func (a *app) cut(v shop.View) {
	s := a.style()
	st := v.Bench.Step(guitar.StepCut)
	n := v.Bench.Cut
	if n == nil {
		a.para("", st.Advice.Do.In(s))
		return
	}
	ad := st.Advice
	ad.Figures = nil // said below, as a table of corners
	a.said(ad, s)
	c := n.Cut
	if c.Planned.Deepest() <= 0 {
		return
	}
	a.printf("\n")
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	a.columns(w, "depth", "bass‖side", "treble‖side")
	fmt.Fprintf(w, "  %s\t%s\t%s\n", s.Say("top edge"), c.Planned.TopBass.Fine(s), c.Planned.TopTreble.Fine(s))
	fmt.Fprintf(w, "  %s\t%s\t%s\n", s.Say("cap‖of the heel"), c.Planned.CapBass.Fine(s), c.Planned.CapTreble.Fine(s))
	w.Flush()
	t := a.table()
	t.say("tool", "%v (%s)", n.Tool.Name, n.Tool.Key)
	if n.Rate.Own+n.Rate.Shop > 0 {
		t.say("strokes", "about %d (learned from %d passes on this guitar and %d on others)", n.Strokes, n.Rate.Own, n.Rate.Shop)
	} else {
		t.say("strokes", "about %d (a stated guess until passes have been counted)", n.Strokes)
	}
	t.is("chance of going past", s.Decimal(c.PastChance*100, 1)+" %")
	t.is("further passes to expect", s.Decimal(c.RecutExpected, 1))
	t.is("neck comes nearer the bridge by", c.PlannedShift.Fine(s))
	t.is("wood the shoulders can lose", n.Spare.Fine(s))
	t.end()
	a.warn(n.Warnings)
	a.note("", "Caution. %v", st.Caution)
}

// next says the step that waits and how to answer it.
func (a *app) next(v shop.View) {
	g, ok := guitar.FindGuide(v.Bench.Waiting)
	if !ok {
		a.say("\n", "Finished.")
		return
	}
	a.say("\n", "Next: %v. %v", g.Name, g.Question)
	if stuck := v.Bench.Stuck; !stuck.Empty() {
		a.say("  ", "Stuck: it %v.", stuck)
	}
	if g.ReadWith != "" && g.Step != guitar.StepCut {
		a.say("  ", "Read with: %v", g.ReadWith)
	}
	name := quoteArg(v.Guitar.Name)
	if g.Step == guitar.StepCut {
		a.printf("  fairset cut %s\n", name)
	} else {
		a.printf("  fairset read %s %s --help\n", name, g.Step)
	}
	if !g.Caution.Empty() {
		a.note("  ", "Caution. %v", g.Caution)
	}
}
