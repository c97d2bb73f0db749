package cli

import (
	"fmt"
	"text/tabwriter"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/api"
	"fairset/internal/shop"
	"fairset/unit"
)

// table writes labelled figures, the figures in one column.
type table struct{ w *tabwriter.Writer }

func (a *app) table() table { return table{tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)} }

func (t table) row(label, text string) { fmt.Fprintf(t.w, "  %s\t%s\n", label, text) }
func (t table) end()                   { t.w.Flush() }

// target says what the neck set must come to.
func (a *app) target(v shop.View) {
	s, aim := a.style(), v.Bench.Aim
	a.printf("Target\n")
	if !aim.Known {
		a.printf("  Read the lean before any wood is cut: then the target can be worked out.\n")
		return
	}
	t := a.table()
	t.row("gap at the saddle, on the frets", aim.GapOnFrets.Exact(s))
	t.row("gap at the saddle, on a bare board", aim.GapOnBoard.Exact(s))
	if x := aim.Target; x != nil {
		d := v.Bench.Design
		run := d.Length("jig_run")
		t.row("neck angle", x.NeckAngle.String())
		t.row("jig", fmt.Sprintf("rises %s over %s", x.Jig(run).Fine(s), run.In(s)))
		t.row("heel face to board", x.HeelToBoard().String())
		t.row("saddle from the joint", x.SaddleDistance.Exact(s))
		fromNut, _ := guitar.SaddleLine(d, x.NutToJoint)
		t.row("saddle from the nut", fromNut.Exact(s))
		t.row("string over the fret line at the saddle", x.StringHeightAtSaddle.Exact(s))
	} else {
		t.row("saddle from the joint", aim.SaddleDistance.Exact(s))
		if aim.Twist != 0 {
			t.row("side difference no heel cut cures", aim.Twist.Abs().Fine(s))
		}
	}
	t.end()
	for _, w := range aim.Warnings {
		a.para("  ! ", w.Say.In(s))
	}
}

// sure says how sure the target is.
func (a *app) sure(v shop.View) {
	b := api.SureOf(v)
	if b == nil {
		return
	}
	s := a.style()
	mm := func(x float64) string { return unit.Length(x / 1000).Fine(s) }
	a.printf("\nHow sure\n  The gap is known to give or take %s (drawn %d times: %s).\n", mm(b.GapSD), b.Trials, mm(b.CheckSD))
	if len(b.Measure) == 2 {
		a.printf("  Worth measuring better: %s, then %s.\n", b.Measure[0], b.Measure[1])
	}
	t := a.table()
	for i, sh := range b.Shares {
		if i == 5 {
			break
		}
		t.row("  "+sh.Label, fmt.Sprintf("%s\t%.0f %%", mm(sh.Effect), sh.Part))
	}
	t.end()
}

func (a *app) show(v shop.View) {
	s, g := a.style(), v.Guitar
	about := "repair, from readings"
	if g.Start == guitar.FromDesign {
		about = g.Basis
		if b, err := guitar.FindBasis(g.Basis); err == nil {
			about = b.Name
		}
	}
	a.printf("%s (id %s): %s\n", g.Name, g.ID, about)
	if v.Removed {
		a.printf("It was put away; fairset restore %s takes it back.\n", g.ID)
	}
	a.printf("\n")
	a.target(v)
	a.sure(v)
	if v.Bench.Lean.Known() || v.Bench.Point.Known() {
		a.printf("\nAs it stands\n")
		t := a.table()
		if b := v.Bench.Lean; b.Known() {
			t.row("gap at the saddle, on the frets", fmt.Sprintf("%s, give or take %s", b.Mean.Exact(s), b.SD.Fine(s)))
		}
		if b := v.Bench.Point; b.Known() {
			t.row("neck's line passes", fmt.Sprintf("%s on the %s side, give or take %s", b.Mean.Abs().Fine(s), side(b.Mean), b.SD.Fine(s)))
		}
		if v.Bench.Shift != 0 {
			t.row("neck nearer the bridge by", v.Bench.Shift.Fine(s))
		}
		t.end()
	}
	a.printf("\nSteps\n")
	t := a.table()
	for _, st := range v.Bench.Steps {
		status := st.Status.Name()
		if st.Optional && st.Status == guitar.Todo {
			status = "if wanted"
		}
		line := st.Name
		if do := st.Advice.Do.In(s); do != "" && st.Status != guitar.Todo {
			line = fmt.Sprintf("%-18s  %s", st.Name, do)
		}
		t.row(fmt.Sprintf("%-9s  %s", status, st.Step), line)
	}
	t.end()
	a.next(v)
}

func side(offset unit.Length) string {
	if offset < 0 {
		return "bass"
	}
	return "treble"
}

// advice says what a step's last reading means: the action, why, how sure, then the figures.
func (a *app) advice(v shop.View, step guitar.Step) {
	s := a.style()
	st := v.Bench.Step(step)
	if st.Name == "" {
		a.printf("Entered.\n")
		return
	}
	a.printf("%s: %s\n", st.Name, st.Status.Name())
	a.said(st.Advice, s)
}

func (a *app) said(ad guitar.Advice, s unit.Style) {
	a.para("  ", ad.Do.In(s))
	a.para("  ", ad.Why.In(s))
	a.para("  ", ad.Doubt.In(s))
	t := a.table()
	for _, f := range ad.Figures {
		t.row("  "+f.Label, f.Say.In(s))
	}
	t.end()
	a.others(ad.Other, s)
}

func (a *app) others(rs []neckset.Remedy, s unit.Style) {
	if len(rs) == 0 {
		return
	}
	a.printf("  What else would help:\n")
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
	fmt.Fprintf(w, "  depth\tbass\ttreble\n")
	fmt.Fprintf(w, "  top edge\t%s\t%s\n", c.Planned.TopBass.Fine(s), c.Planned.TopTreble.Fine(s))
	fmt.Fprintf(w, "  cap\t%s\t%s\n", c.Planned.CapBass.Fine(s), c.Planned.CapTreble.Fine(s))
	w.Flush()
	t := a.table()
	t.row("tool", fmt.Sprintf("%s (%s)", n.Tool.Name, n.Tool.Key))
	learned := "a stated guess until passes have been counted"
	if n.Rate.Own+n.Rate.Shop > 0 {
		learned = fmt.Sprintf("learned from %d passes on this guitar and %d on others", n.Rate.Own, n.Rate.Shop)
	}
	t.row("strokes", fmt.Sprintf("about %d (%s)", n.Strokes, learned))
	t.row("chance of going past", fmt.Sprintf("%.1f %%", c.PastChance*100))
	t.row("further passes to expect", fmt.Sprintf("%.1f", c.RecutExpected))
	t.row("neck comes nearer the bridge by", c.PlannedShift.Fine(s))
	t.row("wood the shoulders can lose", n.Spare.Fine(s))
	t.end()
	for _, w := range n.Warnings {
		a.para("  ! ", w.Say.In(s))
	}
	a.para("", "Caution. "+st.Caution)
}

// next says the step that waits and how to answer it.
func (a *app) next(v shop.View) {
	g, ok := guitar.FindGuide(v.Bench.Waiting)
	if !ok {
		a.printf("\nFinished.\n")
		return
	}
	a.printf("\nNext: %s. %s\n", g.Name, g.Question)
	if stuck := v.Bench.Stuck.In(a.style()); stuck != "" {
		a.printf("  Stuck: it %s.\n", stuck)
	}
	if g.ReadWith != "" && g.Step != guitar.StepCut {
		a.printf("  Read with: %s\n", g.ReadWith)
	}
	name := quoteArg(v.Guitar.Name)
	if g.Step == guitar.StepCut {
		a.printf("  fairset cut %s\n", name)
	} else {
		a.printf("  fairset read %s %s --help\n", name, g.Step)
	}
	if g.Caution != "" {
		a.para("  ", "Caution. "+g.Caution)
	}
}
