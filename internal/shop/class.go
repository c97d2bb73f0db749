package shop

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/unit"
)

// Teachers are the owner of guitars that belong to no bench, where guitars are picked by owner.
const Teachers = "teachers"

// Pick says which guitars of a class are meant; the zero Pick is all of them.
type Pick struct {
	Owner string // id of an account; Teachers for those of no bench
	Step  string // key of the step they wait at; "finished" for those that wait at none
}

func (p Pick) takes(v View) bool {
	waiting := string(v.Bench.Waiting)
	if waiting == "" {
		waiting = "finished"
	}
	owner := v.Owner
	if owner == "" {
		owner = Teachers
	}
	return (p.Step == "" || p.Step == waiting) && (p.Owner == "" || p.Owner == owner)
}

// owners are the names of the accounts, by id; none where nobody signs in.
func (s *Shop) owners(ctx context.Context) (map[string]string, error) {
	out := map[string]string{}
	p, ok := s.Store.(store.People)
	if !ok || !s.Shared {
		return out, nil
	}
	all, err := p.Accounts(ctx)
	for _, a := range all {
		out[a.ID] = a.Name
	}
	return out, err
}

// Class returns the guitars of the class that are picked, by name. For teachers.
func (s *Shop) Class(ctx context.Context, pick Pick) ([]class.Member, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	names, err := s.owners(ctx)
	if err != nil {
		return nil, err
	}
	all, err := s.Guitars(ctx)
	if err != nil {
		return nil, err
	}
	var out []class.Member
	for _, v := range all {
		if pick.takes(v) {
			out = append(out, class.Member{Guitar: v.Guitar, Bench: v.Bench, Owner: names[v.Owner]})
		}
	}
	slices.SortStableFunc(out, func(a, b class.Member) int { return class.ByName(a.Guitar.Name, b.Guitar.Name) })
	return out, nil
}

// Glance returns how the class stands now. long is after how long without an entry a guitar waits long; 0 for class.LongWait.
func (s *Shop) Glance(ctx context.Context, pick Pick, long time.Duration) (class.Glance, error) {
	ms, err := s.Class(ctx, pick)
	if err != nil {
		return class.Glance{}, err
	}
	if long <= 0 {
		long = class.LongWait
	}
	return class.Look(ms, s.now(), long), nil
}

// Learned returns what the shop's own history teaches. For teachers.
func (s *Shop) Learned(ctx context.Context) (*neckset.Learned, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	return s.taught(ctx)
}

// Changes tells of changes of the class, as store.Store's Watch does. For teachers.
func (s *Shop) Changes(ctx context.Context) (<-chan store.Change, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	return s.Store.Watch(ctx)
}

// Report returns what came of the class. For teachers.
func (s *Shop) Report(ctx context.Context, pick Pick) (class.Report, error) {
	ms, err := s.Class(ctx, pick)
	return class.Reported(ms), err
}

// ReportPDF writes the report with the record of every guitar. For teachers.
func (s *Shop) ReportPDF(ctx context.Context, pick Pick, setup printing.Setup, style unit.Style, w io.Writer) error {
	ms, err := s.Class(ctx, pick)
	if err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	title := set.ShopName
	if title == "" {
		title = "Fairset"
	}
	date, i := style.Date(s.now().Local(), "2 January 2006"), 0
	return printing.ClassPDF(w, setup, style, title, date, class.Reported(ms), func() (printing.Source, bool, error) {
		if i == len(ms) || ctx.Err() != nil {
			return printing.Source{}, false, ctx.Err()
		}
		m := ms[i]
		i++
		return printing.Source{Guitar: m.Guitar, Bench: m.Bench, Date: date, Style: style}, true, nil
	})
}

// many is the part of the store that changes many guitars at once.
func (s *Shop) many() (store.Many, error) {
	if m, ok := s.Store.(store.Many); ok {
		return m, nil
	}
	return nil, store.Errorf(store.Invalid, nil, "A file of one guitar holds no class; a shop's file does.")
}

// CopyDesign makes guitars that all start from one design, all of them or none: that of a guitar here, by id or
// name, as it stands now, or else a starting design by its key. names are as class.Names reads them. The guitars go
// to the accounts of benches in turn, those left over to the teachers. A name that a guitar here has already is
// refused. For teachers.
func (s *Shop) CopyDesign(ctx context.Context, from, names string, benches []string) ([]store.Record, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	many, err := s.many()
	if err != nil {
		return nil, err
	}
	wanted, err := class.Names(names)
	if err != nil {
		return nil, err
	}
	all, err := s.Store.List(ctx)
	if err != nil {
		return nil, err
	}
	here := map[string]bool{}
	for _, r := range all {
		here[strings.ToLower(r.Guitar.Name)] = true
	}
	var taken []string
	for _, n := range wanted {
		if here[strings.ToLower(n)] {
			taken = append(taken, n)
		}
	}
	if len(taken) > 0 {
		return nil, heldBy(taken)
	}
	basis, values, err := s.designOf(ctx, from)
	if err != nil {
		return nil, err
	}
	if err := s.theseAreBenches(ctx, benches); err != nil {
		return nil, err
	}
	gs := make([]store.New, len(wanted))
	for i, n := range wanted {
		g, err := guitar.New(n, basis, values)
		if err != nil {
			return nil, err
		}
		// A moment apart, so that each can be told from the others whatever file it is taken in from later.
		g.Created = s.now().Add(time.Duration(i) * time.Millisecond)
		gs[i].Guitar = g
		if i < len(benches) {
			gs[i].Owner = benches[i]
		}
	}
	rs, err := many.CreateAll(ctx, gs)
	s.tell(ctx, err, "", store.DidCopyDesign, len(gs), wanted[0], wanted[len(wanted)-1])
	return rs, err
}

// heldBy is the error for names that guitars here have already.
func heldBy(names []string) error {
	const few = 3
	switch n := len(names); {
	case n > few:
		return store.Errorf(store.Invalid, nil, "Names: %s and others are here already. Choose other names.", strings.Join(names[:few], ", "))
	case n == 3:
		return store.Errorf(store.Invalid, nil, "Names: %s and %s and %s are here already. Choose other names.", names[0], names[1], names[2])
	case n == 2:
		return store.Errorf(store.Invalid, nil, "Names: %s and %s are here already. Choose other names.", names[0], names[1])
	}
	return store.Errorf(store.Invalid, nil, "Names: %s is here already. Choose other names.", names[0])
}

// designOf is a starting design and what a guitar's design, as it stands, says otherwise.
func (s *Shop) designOf(ctx context.Context, from string) (string, guitar.Values, error) {
	if b, err := guitar.FindBasis(from); err == nil {
		return b.Key, nil, nil
	}
	r, err := s.FindByNameOrID(ctx, from)
	switch {
	case err != nil:
		return "", nil, err
	case r.Guitar.Start != guitar.FromDesign:
		return "", nil, store.Errorf(store.Invalid, nil, "%s is a repair, started from readings: it has no design to copy.", r.Guitar.Name)
	}
	return r.Guitar.Basis, r.Guitar.Design(), nil
}

func (s *Shop) theseAreBenches(ctx context.Context, ids []string) error {
	if len(ids) == 0 {
		return nil
	}
	p, err := s.people()
	if err != nil {
		return err
	}
	for _, id := range ids {
		a, err := p.Account(ctx, id)
		if err != nil {
			return err
		}
		if a.Role != store.Bench {
			return store.Errorf(store.Invalid, nil, "%q is a teacher, who sees every guitar anyway. Choose benches.", a.Name)
		}
	}
	return nil
}

// Changed is one guitar in a change of one figure for many.
type Changed struct {
	View
	Field     guitar.Field
	Now, Will []guitar.Value
	Same      bool // it has that figure already: nothing is entered
	Diverged  bool // its figure is not the one most of them have
	Begun     bool // wood has been cut to the design as it is
	Gap, To   unit.Length
	GapKnown  bool
	Refused   string // why its design does not take the figure; "" when it does
	entry     *guitar.Entry
}

// PreviewChange says what one figure of the design would be changed to on each of the guitars, named by their ids, and
// who has diverged from the rest. Nothing is kept. Errors of what was typed are guitar.Problems. For teachers.
func (s *Shop) PreviewChange(ctx context.Context, ids []string, field, text string, style unit.Style, bench string) ([]Changed, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	if w := s.who(ctx); s.Shared {
		bench = w.Name
	}
	f, err := guitar.DesignField(field)
	if err != nil {
		return nil, store.Errorf(store.Invalid, err, "No figure of a design is called %q.", field)
	}
	texts := map[string][]string{field: {text}}
	if f.Many {
		texts[field] = strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' })
	}
	if _, err := guitar.Parse([]guitar.Field{f}, texts, style); err != nil {
		return nil, err
	}
	var out []Changed
	err = s.Each(ctx, ids, func(v View) error {
		c, err := s.would(v, f, texts, style, bench)
		out = append(out, c)
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(out, func(a, b Changed) int { return class.ByName(a.Guitar.Name, b.Guitar.Name) })
	usual := most(out)
	for i := range out {
		out[i].Diverged = out[i].Refused == "" && key(f, out[i].Now) != usual
	}
	return out, nil
}

// key tells figures apart as the maker would: numbers to a thousandth of a millimetre or so, however they were typed.
func key(f guitar.Field, vs []guitar.Value) string {
	var b strings.Builder
	for _, v := range vs {
		if f.Kind == unit.KindChoice || f.Kind == unit.KindText {
			b.WriteString(v.Text)
		} else {
			fmt.Fprintf(&b, "%.6f", v.SI)
		}
		b.WriteByte(0)
	}
	return b.String()
}

// most is the figure that most of the guitars have; of two as common, the one that comes first by name.
func most(cs []Changed) string {
	counts, best := map[string]int{}, ""
	for _, c := range cs {
		if c.Refused == "" {
			counts[key(c.Field, c.Now)]++
		}
	}
	for _, c := range cs {
		if k := key(c.Field, c.Now); counts[k] > counts[best] {
			best = k
		}
	}
	return best
}

func (s *Shop) would(v View, f guitar.Field, texts map[string][]string, style unit.Style, bench string) (Changed, error) {
	c := Changed{View: v, Field: f, Now: v.Bench.Design[f.Field], Begun: len(v.Bench.Passes) > 0, Gap: v.Bench.Aim.GapOnFrets, GapKnown: v.Bench.Aim.Known}
	refuse := func(err error) (Changed, error) {
		var ps guitar.Problems
		var re *unit.RangeError
		if errors.As(err, &ps) || errors.As(err, &re) {
			c.Refused = SentenceIn(err, style)
			return c, nil
		}
		return c, err
	}
	if v.Guitar.Start != guitar.FromDesign {
		c.Refused = style.Say("It is a repair, started from readings: it has no design.")
		return c, nil
	}
	change, err := designChange(v.Record, texts, style)
	if err != nil {
		return refuse(err)
	}
	if len(change) == 0 {
		c.Same, c.Will, c.To = true, c.Now, c.Gap
		return c, nil
	}
	e, err := v.Guitar.Enter(guitar.StepDesign, change, s.now(), bench, guitar.Options{})
	if err != nil {
		return refuse(err)
	}
	c.entry, c.Will = &e, change[f.Field]
	aim := v.Guitar.With(e).Bench(guitar.Options{}).Aim
	c.To, c.GapKnown = aim.GapOnFrets, c.GapKnown && aim.Known
	return c, nil
}

// ChangeMany changes one figure of the design of each guitar, all of them or none: those that a preview of the same
// revisions, by id, did not refuse and that do not have the figure already. It returns how many were changed. When a
// guitar was changed meanwhile the error is a Conflict and nothing is kept. For teachers.
func (s *Shop) ChangeMany(ctx context.Context, revisions map[string]int64, field, text string, style unit.Style, bench string) (int, error) {
	many, err := s.many()
	if err != nil {
		return 0, err
	}
	ids := make([]string, 0, len(revisions))
	for id := range revisions {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	if bench != "" {
		if bench, err = guitar.CheckName("bench", bench); err != nil {
			return 0, err
		}
	}
	cs, err := s.PreviewChange(ctx, ids, field, text, style, bench)
	if err != nil {
		return 0, err
	}
	var as []store.Addition
	for _, c := range cs {
		switch {
		case c.Removed:
			return 0, store.Gone(c.Record)
		case c.Revision != revisions[c.Guitar.ID]:
			return 0, store.Changed(c.Record)
		case c.Refused != "":
			return 0, store.Errorf(store.Invalid, nil, "%s does not take it, so nothing was changed: %s", c.Guitar.Name, c.Refused)
		case c.entry != nil:
			as = append(as, store.Addition{ID: c.Guitar.ID, Revision: c.Revision, Entry: *c.entry})
		}
	}
	if len(as) == 0 {
		return 0, nil
	}
	_, err = many.AppendAll(ctx, as)
	s.tell(ctx, err, "", store.DidChangeMany, field, len(as))
	return len(as), err
}

// ClassMark is the same as long as no guitar of the class is added, changed, removed or given to another. For teachers.
func (s *Shop) ClassMark(ctx context.Context) (string, error) {
	if err := s.teacher(ctx); err != nil {
		return "", err
	}
	all, err := s.Store.List(ctx)
	if err != nil {
		return "", err
	}
	slices.SortFunc(all, func(a, b store.Record) int { return strings.Compare(a.Guitar.ID, b.Guitar.ID) })
	h := fnv.New64a()
	for _, r := range all {
		fmt.Fprintf(h, "%s %d %s\n", r.Guitar.ID, r.Revision, r.Owner)
	}
	return strconv.FormatUint(h.Sum64(), 36), nil
}
