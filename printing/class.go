package printing

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"time"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/drawing/pdf"
	"fairset/sheet"
	"fairset/unit"
)

// stepSheets are the sheets a step is worked from.
var stepSheets = map[guitar.Step][]string{
	guitar.StepTenon: {"heel"}, guitar.StepSeat: {"gauges"}, guitar.StepLean: {"bench-card", "side"}, guitar.StepPoint: {"bench-card"}, guitar.StepRoll: {"bench-card"},
	guitar.StepCut: {"cut-map"}, guitar.StepDrill: {"drill-template", "drill-chart"}, guitar.StepTighten: {"bench-card"}, guitar.StepDots: {"frets"},
	guitar.StepSign: {"record"}, guitar.StepBridge: {"bridge"}, guitar.StepStrung: {"nut-saddle"}, "": {"record"},
}

// ForStep returns the sheets a guitar that waits at a step needs next; those of a finished guitar ("") are its record.
func ForStep(step guitar.Step) []Entry {
	var out []Entry
	for _, name := range stepSheets[step] {
		if e, err := Find(name); err == nil {
			out = append(out, e)
		}
	}
	return out
}

// ClassBlocks are the tables of an end-of-class report: the class as a whole, then each guitar.
func ClassBlocks(r class.Report, style unit.Style) []sheet.Block {
	s := r.Summary
	fine := func(l unit.Length) string { return nb(l.Fine(style)) }
	notRead := style.Say("not read")
	typical := func(t neckset.Typical) string {
		switch t.N {
		case 0:
			return notRead
		case 1:
			return Signed(t.Mean, style)
		}
		return style.Say("%s on average, give or take %s", Signed(t.Mean, style), fine(t.SD))
	}
	row := func(label unit.Text, say string) []string { return []string{label.In(style), say} }
	of := func(in, of int) string { return style.Say("%d of %d read", in, of) }
	whole := sheet.Block{Heading: style.Say("The class"), First: 75, Rows: [][]string{
		row("Guitars", fmt.Sprint(s.Guitars)), row("Finished", fmt.Sprint(s.Finished)),
		row("Passes, middle guitar of the class", style.Short(s.MedianPasses, 1)),
		row("Passes in all", style.Say("%d; past the target by more than the tolerance: %d", s.Passes, s.Past)),
		row("Readings in all", style.Say("%d; in doubt: %d", s.Readings, s.Doubt)),
		row("Days at the bench, middle guitar", style.Short(s.MedianDays, 1)),
		row("Gap within tolerance", of(s.GapIn, s.GapOf)),
		row("Line within tolerance", of(s.OffsetIn, s.OffsetOf)),
		row("Gap, read less target", typical(s.GapMiss)), row("Line past the centre, + treble", typical(s.OffsetMiss)),
	}}
	if s.Finished > 0 {
		whole.Rows = append(whole.Rows, row("First to last entry, middle one of the finished", Span(s.MedianSpan, style)))
	}
	necks := sheet.Block{Heading: style.Say("Necks"), Head: unit.Texts{"Guitar", "Stands at", "Passes", "Past‖the target, of passes", "In doubt", "Gap", "Target", "Line‖of the neck"}.In(style), Right: []int{2, 3, 4}, First: 38,
		After: []string{style.Say("Past: readings after a pass that lay beyond the target by more than the tolerance. In doubt: readings that disagreed. Line: past the centre at the saddle, + to treble. A figure in brackets lies outside its tolerance.")}}
	times := sheet.Block{Heading: style.Say("Time and setup"), Head: unit.Texts{"Guitar", "First entry", "Last entry", "Days", "Longest wait", "Holes off by", "Action, bass; treble", "Wanted"}.In(style), Right: []int{3}, First: 38}
	for _, x := range r.Rows {
		name := x.Name
		if x.Owner != "" {
			name += " (" + x.Owner + ")"
		}
		gap, target, line := notRead, "", notRead
		if x.Known {
			gap, target = bracketed(fine(x.Gap), x.GapIn), fine(x.Target)
		}
		if x.OffsetKnown {
			line = bracketed(Signed(x.Offset, style), x.OffsetIn)
		}
		necks.Rows = append(necks.Rows, []string{name, x.Step.In(style), fmt.Sprint(x.Passes), fmt.Sprint(x.Past), fmt.Sprint(x.Doubtful), gap, target, line})
		hole, action, wanted := "", "", ""
		if x.HoleRead {
			hole = fine(x.HoleMiss)
		}
		if x.Action.Known {
			action = fine(x.Action.Bass) + "; " + fine(x.Action.Treble)
		}
		if x.Wanted.Known {
			wanted = fine(x.Wanted.Bass) + "; " + fine(x.Wanted.Treble)
		}
		times.Rows = append(times.Rows, []string{name, day(x.Begun), day(x.Last), fmt.Sprint(x.Days), Span(x.LongestWait, style), hole, action, wanted})
	}
	return []sheet.Block{whole, necks, times}
}

// Signed writes a length with its sign.
func Signed(l unit.Length, style unit.Style) string {
	if l < 0 {
		return nb("−" + l.Abs().Fine(style))
	}
	return nb("+" + l.Fine(style))
}

func bracketed(s string, in bool) string {
	if in {
		return s
	}
	return "(" + s + ")"
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return nb(t.UTC().Format(time.DateOnly))
}

// Span says a time to a maker in the unit it is counted in.
func Span(d time.Duration, s unit.Style) string {
	switch {
	case d < time.Minute:
		return nb(s.Say("under a minute"))
	case d < 2*time.Hour:
		return nb(s.Count(int(math.Round(d.Minutes())), "%d minute", "%d minutes"))
	case d < 48*time.Hour:
		return nb(s.Count(int(math.Round(d.Hours())), "%d hour", "%d hours"))
	}
	return nb(s.Count(int(math.Round(d.Hours()/24)), "%d day", "%d days"))
}

// ClassPDF writes the report of a class: the summary, and then the record of each guitar that next gives until it
// gives false. Errors of next end it.
func ClassPDF(w io.Writer, setup Setup, style unit.Style, title, date string, r class.Report, next func() (Source, bool, error)) error {
	f := pdf.New(w, pdf.Options{Title: title, Language: style.Language(), Desc: style.Say("End-of-class report: a summary, and the record of each guitar.")})
	add := func(e Entry, s Source) error {
		p, err := setup.Plan(e, s, PDF)
		if err != nil {
			return err
		}
		for _, x := range p.Pages {
			if err := f.Add(x); err != nil {
				return err
			}
		}
		return nil
	}
	const end unit.Text = "End of class"
	summary := Entry{Name: "class-report", Title: end, Draw: func(s Source) ([]*drawing.Sheet, error) {
		return sheet.Pages(sheet.Head{Guitar: title, Style: style}, end.In(style), date, ClassBlocks(r, style)...), nil
	}}
	if err := add(summary, Source{Style: style}); err != nil {
		return err
	}
	each, err := Find("record")
	if err != nil {
		return err
	}
	for {
		s, ok, err := next()
		if err != nil {
			return err
		}
		if !ok {
			return f.Close()
		}
		if err := add(each, s); err != nil {
			return err
		}
	}
}

// classHead are the columns of a report as a table; lengths are millimetres.
var classHead = []string{"guitar", "id", "owner", "stands_at", "finished", "first_entry", "last_entry", "days", "longest_wait_days", "entries", "readings", "readings_in_doubt", "passes", "past_target",
	"gap_mm", "gap_target_mm", "gap_in_tolerance", "offset_mm", "offset_in_tolerance", "hole_miss_mm", "action_bass_mm", "action_treble_mm", "action_bass_wanted_mm", "action_treble_wanted_mm", "relief_mm", "relief_wanted_mm"}

// ClassCSV writes the report of a class as comma separated values (RFC 4180), a guitar a row: lengths in
// millimetres, times in UTC, offsets + to treble. What is not known is left empty.
func ClassCSV(w io.Writer, r class.Report) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write(classHead); err != nil {
		return err
	}
	mm := func(known bool, l unit.Length) string {
		if !known || !l.Finite() {
			return ""
		}
		return fmt.Sprintf("%.3f", math.Round(l.MM()*1000)/1000+0)
	}
	yes := func(known, b bool) string {
		switch {
		case !known:
			return ""
		case b:
			return "yes"
		}
		return "no"
	}
	at := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.UTC().Format(time.RFC3339)
	}
	for _, x := range r.Rows {
		row := []string{unit.Cell(x.Name), unit.Cell(x.ID), unit.Cell(x.Owner), x.Step.In(unit.Millimetre), yes(true, x.Finished), at(x.Begun), at(x.Last), fmt.Sprint(x.Days), fmt.Sprintf("%.1f", x.LongestWait.Hours()/24),
			fmt.Sprint(x.Entries), fmt.Sprint(x.Readings), fmt.Sprint(x.Doubtful), fmt.Sprint(x.Passes), fmt.Sprint(x.Past),
			mm(x.Known, x.Gap), mm(x.Known, x.Target), yes(x.Known, x.GapIn), mm(x.OffsetKnown, x.Offset), yes(x.OffsetKnown, x.OffsetIn), mm(x.HoleRead, x.HoleMiss),
			mm(x.Action.Known, x.Action.Bass), mm(x.Action.Known, x.Action.Treble), mm(x.Wanted.Known, x.Wanted.Bass), mm(x.Wanted.Known, x.Wanted.Treble),
			mm(x.ReliefRead, x.Relief), mm(x.Relieve != 0, x.Relieve)}
		if err := c.Write(row); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}
