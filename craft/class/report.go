package class

import (
	"cmp"
	"slices"
	"time"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/unit"
)

// Sides are two figures of which either may not be known.
type Sides struct {
	neckset.Sides
	Known bool
}

// Row is what came of one guitar.
type Row struct {
	ID, Name, Owner string
	Step            unit.Text // name of the step it waits at; "finished"
	Finished        bool
	Begun, Last     time.Time // first and last entry that stands; zero for none
	Days            int       // days something was entered on
	LongestWait     time.Duration
	Entries         int
	Readings        int // of lean and point
	Doubtful        int // of those
	Passes          int
	Past            int         // axes found past their target, beyond the tolerance, by the reading after a pass
	HoleMiss        unit.Length // the worst of the bolt holes
	HoleRead        bool

	Known           bool // a target is known and the lean was read
	Gap, Target     unit.Length
	GapIn           bool // within tolerance
	OffsetKnown     bool
	Offset          unit.Length
	OffsetIn        bool
	Action, Wanted  Sides
	Relief, Relieve unit.Length // read and wanted
	ReliefRead      bool
}

// Summary is what came of a class.
type Summary struct {
	Guitars, Finished             int
	Passes, Past, Readings, Doubt int
	MedianPasses                  float64
	MedianDays                    float64       // days something was entered on, of those with an entry
	MedianSpan                    time.Duration // first to last entry, of the finished ones
	GapIn, GapOf                  int           // within tolerance, of those read
	OffsetIn, OffsetOf            int
	GapMiss, OffsetMiss           neckset.Typical // reading less target
}

// Report is what came of a class, by name.
type Report struct {
	Rows []Row
	Summary
}

// Reported makes the report of a class.
func Reported(members []Member) Report {
	var r Report
	for _, m := range members {
		r.Rows = append(r.Rows, row(m))
	}
	slices.SortStableFunc(r.Rows, func(a, b Row) int { return cmp.Or(ByName(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	s := &r.Summary
	var passes, days, spans []float64
	var gaps, offsets []unit.Length
	for _, x := range r.Rows {
		s.Guitars++
		s.Passes += x.Passes
		s.Past += x.Past
		s.Readings += x.Readings
		s.Doubt += x.Doubtful
		passes = append(passes, float64(x.Passes))
		if x.Entries > 0 {
			days = append(days, float64(x.Days))
		}
		if x.Finished {
			s.Finished++
			spans = append(spans, float64(x.Last.Sub(x.Begun)))
		}
		if x.Known {
			s.GapOf++
			if x.GapIn {
				s.GapIn++
			}
			gaps = append(gaps, x.Gap-x.Target)
		}
		if x.OffsetKnown {
			s.OffsetOf++
			if x.OffsetIn {
				s.OffsetIn++
			}
			offsets = append(offsets, x.Offset)
		}
	}
	s.MedianPasses, s.MedianDays, s.MedianSpan = median(passes), median(days), time.Duration(median(spans))
	s.GapMiss, s.OffsetMiss = neckset.TypicalOf(gaps), neckset.TypicalOf(offsets)
	return r
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

func row(m Member) Row {
	g, b := m.Guitar, m.Bench
	r := Row{ID: g.ID, Name: g.Name, Owner: m.Owner, Finished: b.Waiting == "", Step: "finished‖guitar", Passes: len(b.Passes)}
	if guide, ok := guitar.FindGuide(b.Waiting); ok {
		r.Step = guide.Name
	}
	days := map[string]bool{}
	for i, e := range g.Live() {
		r.Entries++
		days[e.At.UTC().Format(time.DateOnly)] = true
		if i == 0 {
			r.Begun, r.Last = e.At, e.At
		}
		r.LongestWait = max(r.LongestWait, e.At.Sub(r.Last))
		r.Last = e.At
		if e.Step == guitar.StepDrill {
			r.HoleMiss, r.HoleRead = 0, e.Values.Has("miss")
			for _, x := range e.Values.Lengths("miss") {
				r.HoleMiss = max(r.HoleMiss, x.Abs())
			}
		}
	}
	r.Days = len(days)
	tolGap, tolOffset := b.Design.Length("gap_tolerance"), b.Design.Length("offset_tolerance")
	for _, x := range b.Readings {
		r.Readings++
		if x.Doubtful {
			r.Doubtful++
		}
	}
	for i, p := range b.Passes {
		if x, ok := readAfter(b, guitar.StepLean, i+1); ok && b.Aim.Known && past(float64(b.Aim.GapOnFrets-x.Value), float64(p.Plan.GapChange), float64(tolGap)) {
			r.Past++
		}
		if x, ok := readAfter(b, guitar.StepPoint, i+1); ok && past(float64(-x.Value), float64(p.Plan.OffsetChange), float64(tolOffset)) {
			r.Past++
		}
	}
	if r.Known = b.Aim.Known && b.Lean.Known(); r.Known {
		r.Gap, r.Target = b.Lean.Mean, b.Aim.GapOnFrets
		r.GapIn = (r.Gap - r.Target).Abs() <= tolGap
	}
	if r.OffsetKnown = b.Point.Known(); r.OffsetKnown {
		r.Offset = b.Point.Mean
		r.OffsetIn = r.Offset.Abs() <= tolOffset
	}
	d := b.Design
	r.Wanted = Sides{neckset.Sides{Bass: d.Length("action_bass"), Treble: d.Length("action_treble")}, d.Has("action_bass") && d.Has("action_treble")}
	r.Relieve = d.Length("relief")
	if e, ok := g.Last(guitar.StepStrung); ok {
		r.Action = Sides{neckset.Sides{Bass: e.Values.Length("action_bass"), Treble: e.Values.Length("action_treble")}, true}
		r.Relief, r.ReliefRead = e.Values.Length("relief"), e.Values.Has("relief")
	}
	return r
}

// past reports whether what is needed after a change lies on the other side by more than the tolerance.
func past(left, change, tol float64) bool { return left*change < 0 && max(left, -left) > tol }
