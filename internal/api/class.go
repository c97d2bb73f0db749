package api

import (
	"context"
	"math"
	"strings"
	"time"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/printing"
	"fairset/unit"
)

// ClassReply is a class at one moment.
type ClassReply struct {
	Count    int         `json:"count"`
	Stuck    int         `json:"stuck"`
	Finished int         `json:"finished"`
	Steps    []ClassStep `json:"steps" doc:"in the order of the work; only steps that somebody waits at"`
}

// ClassStep is the guitars that wait at one step, and what it takes.
type ClassStep struct {
	Step        string       `json:"step" doc:"empty for finished guitars"`
	Name        string       `json:"name"`
	Guitars     []ClassOne   `json:"guitars" doc:"those that are stuck first"`
	Print       []string     `json:"print_next" doc:"names of the sheets the step is worked from"`
	Hardware    []ClassThing `json:"hardware" doc:"the step takes, for all of them"`
	Holes       []BillHole   `json:"holes" doc:"to lay out drills for"`
	Consumables []string     `json:"consumables" doc:"to have at hand; no amounts"`
	Tools       []string     `json:"tools"`
	Caution     string       `json:"caution"`
}

// ClassThing is how many of something.
type ClassThing struct {
	Name string `json:"name"`
	Say  string `json:"quantity"`
}

// ClassOne is one guitar of a class.
type ClassOne struct {
	ID    string       `json:"id"`
	Name  string       `json:"name"`
	Owner string       `json:"owner" doc:"empty for the teachers', and where nobody signs in"`
	Last  time.Time    `json:"last_entry" doc:"or when it was begun"`
	State string       `json:"state" doc:"how the neck stands; may be empty"`
	Stuck []ClassStuck `json:"stuck"`
}

// ClassStuck is why a guitar is stuck.
type ClassStuck struct {
	Code string `json:"code" enum:"wood,nearer,passes,doubt,coarse,side,waiting"`
	Say  string `json:"say"`
	Help string `json:"help"`
}

// LearnedReply is what a shop's history teaches.
type LearnedReply struct {
	Guitars int          `json:"guitars" doc:"that taught anything"`
	Figures []LearnedOne `json:"figures"`
}

// LearnedOne is one figure that was learned.
type LearnedOne struct {
	Key     string `json:"key"`
	Name    string `json:"name"`
	Say     string `json:"say"`
	Guess   string `json:"started_from" doc:"the stated guess; empty for none"`
	N       int    `json:"behind" doc:"passes, readings, holes or guitars"`
	Of      string `json:"behind_of" enum:"passes,readings,holes,guitars"`
	Guitars int    `json:"guitars" doc:"they come from"`
	Used    bool   `json:"used" doc:"the next cut of every guitar leans on it"`
}

// ReportReply is what came of a class.
type ReportReply struct {
	Guitars int         `json:"guitars"`
	Rows    []ReportOne `json:"rows" doc:"by name"`
}

// ReportOne is what came of one guitar. What is not known is null.
type ReportOne struct {
	ID          string   `json:"id"`
	Name        string   `json:"name"`
	Owner       string   `json:"owner"`
	Step        string   `json:"stands_at"`
	Finished    bool     `json:"finished"`
	Entries     int      `json:"entries"`
	Days        int      `json:"days" doc:"something was entered on"`
	LongestWait float64  `json:"longest_wait_days"`
	Readings    int      `json:"readings"`
	Doubtful    int      `json:"readings_in_doubt"`
	Passes      int      `json:"passes"`
	Past        int      `json:"past_target" doc:"readings after a pass that lay beyond the target by more than the tolerance"`
	Gap         *float64 `json:"gap_mm"`
	Target      *float64 `json:"gap_target_mm"`
	GapIn       *bool    `json:"gap_in_tolerance"`
	Offset      *float64 `json:"offset_mm" doc:"+ to treble"`
	OffsetIn    *bool    `json:"offset_in_tolerance"`
	HoleMiss    *float64 `json:"hole_miss_mm"`
	ActionBass  *float64 `json:"action_bass_mm"`
	ActionTreb  *float64 `json:"action_treble_mm"`
	WantedBass  *float64 `json:"action_bass_wanted_mm"`
	WantedTreb  *float64 `json:"action_treble_wanted_mm"`
}

// CopiesReply is the guitars that were made.
type CopiesReply struct {
	Guitars []CopiedOne `json:"guitars"`
}

// CopiedOne is one of them.
type CopiedOne struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

type (
	// ClassPick says which guitars of a class.
	ClassPick struct {
		Units
		Owner string `query:"owner" maxLength:"60" doc:"id of an account; teachers for those of no bench"`
		Step  string `query:"step" maxLength:"60" doc:"key of the step they wait at, or finished"`
	}
	// NewCopies makes a class of one design.
	NewCopies struct {
		Units
		Body struct {
			From    string   `json:"from" minLength:"1" maxLength:"200" doc:"a guitar's id or name, or the key of a starting design"`
			Names   string   `json:"names" minLength:"1" maxLength:"8000" doc:"such as Alder 1…12, or names parted by commas; 200 at most"`
			Benches []string `json:"benches,omitempty" maxItems:"200" doc:"ids of accounts that get one each, in this order"`
		}
	}
)

// Changes changes one figure of the design of many guitars.
type Changes struct {
	Units
	Body struct {
		Values  Answers      `json:"values" doc:"one figure of a design"`
		Guitars []ChangedFor `json:"guitars" minItems:"1" maxItems:"2000"`
		Bench   string       `json:"bench,omitempty" maxLength:"80" doc:"who changes it, such as bench 3"`
		Preview bool         `json:"preview,omitempty" doc:"only say what would be changed"`
	}
}

// ChangedFor is one guitar of a change.
type ChangedFor struct {
	ID       string `json:"id" minLength:"1" maxLength:"60"`
	Revision int64  `json:"revision" doc:"the change is made against; 0 will do for a preview"`
}

// ChangesReply is what was changed, or would be.
type ChangesReply struct {
	Changed int          `json:"changed" doc:"guitars that got the figure; 0 for a preview"`
	Guitars []ChangesOne `json:"guitars" doc:"as they stood before"`
}

// ChangesOne is one guitar of a change.
type ChangesOne struct {
	ID       string  `json:"id"`
	Name     string  `json:"name"`
	Revision int64   `json:"revision"`
	Now      Figures `json:"now" doc:"the figure it has; empty for none"`
	Will     Figures `json:"will" doc:"the figure it gets; empty when it is refused"`
	Same     bool    `json:"same" doc:"it has that figure already, so nothing is entered"`
	Diverged bool    `json:"diverged" doc:"it has not the figure that most of them have"`
	Begun    bool    `json:"begun" doc:"wood has been cut to the design as it is"`
	Refused  string  `json:"refused" doc:"why its design does not take the figure; empty when it does"`
}

func (p ClassPick) pick() shop.Pick { return shop.Pick{Owner: p.Owner, Step: p.Step} }

func (s *server) classRoutes() {
	add(s, access.Teacher, "GET", "/class", "The class at a glance: who waits where, who is stuck and why, what to print and what the next lesson takes", s.class)
	add(s, access.Teacher, "GET", "/class/learned", "What the shop's own history teaches, and how much stands behind it", s.learned)
	add(s, access.Teacher, "GET", "/class/report", "What came of each guitar", s.report)
	add(s, access.Teacher, "POST", "/class/copies", "Make guitars that start from one design, all of them or none", s.copies, created)
	add(s, access.Teacher, "POST", "/class/changes", "Change one figure of the design of many guitars, all of them or none; or say what would be changed", s.changes)
}

func (s *server) class(ctx context.Context, in *ClassPick) (ClassReply, error) {
	g, err := s.shop.Glance(ctx, in.pick(), 0)
	if err != nil {
		return ClassReply{}, err
	}
	return ClassOf(g, s.style(ctx, in.Units)), nil
}

func (s *server) changes(ctx context.Context, in *Changes) (ChangesReply, error) {
	b := in.Body
	out := ChangesReply{Guitars: []ChangesOne{}}
	texts, err := b.Values.Texts(guitar.DesignFields())
	if err != nil {
		return out, err
	}
	if len(texts) != 1 {
		return out, refuse("values", unit.Say("one figure at a time"), "there are %d figures", len(texts))
	}
	var field, text string
	for key, list := range texts {
		field, text = key, strings.Join(list, ";")
	}
	revisions, ids := map[string]int64{}, []string{}
	for _, g := range b.Guitars {
		if _, twice := revisions[g.ID]; twice {
			return out, refuse("guitars", unit.Say("each guitar once"), "%s is there twice", clip(g.ID))
		}
		revisions[g.ID] = g.Revision
		ids = append(ids, g.ID)
	}
	style := s.style(ctx, in.Units)
	cs, err := s.shop.PreviewChange(ctx, ids, field, text, style, b.Bench)
	if err != nil {
		return out, err
	}
	for _, c := range cs {
		only := func(vs []guitar.Value) Figures {
			f, _ := figures([]guitar.Field{c.Field}, guitar.Values{c.Field.Field: vs})
			return f
		}
		out.Guitars = append(out.Guitars, ChangesOne{ID: c.Guitar.ID, Name: c.Guitar.Name, Revision: c.Revision, Now: only(c.Now), Will: only(c.Will),
			Same: c.Same, Diverged: c.Diverged, Begun: c.Begun, Refused: c.Refused})
	}
	if b.Preview {
		return out, nil
	}
	out.Changed, err = s.shop.ChangeMany(ctx, revisions, field, text, style, b.Bench)
	return out, err
}

// ClassOf says a class in a maker's units.
func ClassOf(g class.Glance, style unit.Style) ClassReply {
	out := ClassReply{Count: g.Count, Stuck: g.Stuck, Finished: g.Finished, Steps: []ClassStep{}}
	for _, group := range g.Groups {
		st := ClassStep{Step: string(group.Step), Name: group.Name.In(style), Guitars: []ClassOne{}, Print: []string{}, Hardware: []ClassThing{}, Holes: []BillHole{}, Consumables: []string{}, Tools: []string{}}
		for _, c := range group.Cards {
			one := ClassOne{ID: c.ID, Name: c.Name, Owner: c.Owner, Last: c.Last, Stuck: []ClassStuck{}, State: unit.Join(c.Lean, c.Point).In(style)}
			if !c.Lean.Empty() && !c.Point.Empty() {
				one.State = c.Lean.In(style) + "; " + c.Point.In(style)
			}
			for _, t := range c.Troubles {
				one.Stuck = append(one.Stuck, ClassStuck{t.Code, t.Say.In(style), t.Help.In(style)})
			}
			st.Guitars = append(st.Guitars, one)
		}
		for _, e := range printing.ForStep(group.Step) {
			st.Print = append(st.Print, e.Name)
		}
		for _, n := range g.Needs {
			if n.Step != group.Step {
				continue
			}
			for _, i := range n.Hardware {
				st.Hardware = append(st.Hardware, ClassThing{i.Name.In(style), i.Quantity(style)})
			}
			for _, h := range n.Holes {
				st.Holes = append(st.Holes, billHole(h, style))
			}
			st.Consumables, st.Tools, st.Caution = n.Consumables.In(style), unit.Each(n.Tools, style), n.Caution.In(style)
		}
		out.Steps = append(out.Steps, st)
	}
	return out
}

func (s *server) learned(ctx context.Context, in *struct{ Units }) (LearnedReply, error) {
	l, err := s.shop.Learned(ctx)
	if err != nil {
		return LearnedReply{}, err
	}
	out := LearnedReply{Guitars: l.Guitars, Figures: []LearnedOne{}}
	style := s.style(ctx, in.Units)
	for _, f := range class.Learned(l) {
		out.Figures = append(out.Figures, LearnedOne{f.Key, f.Name.In(style), f.Say.In(style), f.Guess.In(style), f.N, f.Of, f.Guitars, f.Used})
	}
	return out, nil
}

func (s *server) report(ctx context.Context, in *ClassPick) (ReportReply, error) {
	r, err := s.shop.Report(ctx, in.pick())
	if err != nil {
		return ReportReply{}, err
	}
	out, style := ReportReply{Guitars: r.Guitars, Rows: []ReportOne{}}, in.Spoken.style()
	mm := func(known bool, l unit.Length) *float64 {
		v := l.MM()
		if !known || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil
		}
		return &v
	}
	yes := func(known, b bool) *bool {
		if !known {
			return nil
		}
		return &b
	}
	for _, x := range r.Rows {
		out.Rows = append(out.Rows, ReportOne{ID: x.ID, Name: x.Name, Owner: x.Owner, Step: x.Step.In(style), Finished: x.Finished, Entries: x.Entries, Days: x.Days, LongestWait: x.LongestWait.Hours() / 24,
			Readings: x.Readings, Doubtful: x.Doubtful, Passes: x.Passes, Past: x.Past, Gap: mm(x.Known, x.Gap), Target: mm(x.Known, x.Target), GapIn: yes(x.Known, x.GapIn),
			Offset: mm(x.OffsetKnown, x.Offset), OffsetIn: yes(x.OffsetKnown, x.OffsetIn), HoleMiss: mm(x.HoleRead, x.HoleMiss),
			ActionBass: mm(x.Action.Known, x.Action.Bass), ActionTreb: mm(x.Action.Known, x.Action.Treble), WantedBass: mm(x.Wanted.Known, x.Wanted.Bass), WantedTreb: mm(x.Wanted.Known, x.Wanted.Treble)})
	}
	return out, nil
}

func (s *server) copies(ctx context.Context, in *NewCopies) (CopiesReply, error) {
	rs, err := s.shop.CopyDesign(ctx, in.Body.From, in.Body.Names, in.Body.Benches)
	out := CopiesReply{Guitars: []CopiedOne{}}
	for _, r := range rs {
		out.Guitars = append(out.Guitars, CopiedOne{r.Guitar.ID, r.Guitar.Name})
	}
	return out, err
}
