// Package shop is what a maker can do with the shop's guitars. The pages, the HTTP interface and the command
// line all call it, so that none of them can do or say something the others do not.
package shop

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/store"
	"fairset/unit"
)

// Shop works on a store. Now is the clock; nil for the real one. A Shop may be used by many at once.
//
// Shared shops ask of every call whose it is (access.Of): a bench finds its own guitars only, and what is the
// shop's is for teachers. A shop that is not shared belongs to whoever is at the machine.
type Shop struct {
	Store  store.Store
	Now    func() time.Time
	Shared bool

	mu        sync.Mutex
	histories map[string]history // by guitar id
	learned   *neckset.Learned   // from those histories

	tops tops
}

// history is what one guitar teaches, at one revision of it.
type history struct {
	revision int64
	neckset.History
}

// New returns a shop that keeps its guitars in s.
func New(s store.Store) *Shop { return &Shop{Store: s} }

// View is a guitar with what the bench knows of it now.
type View struct {
	store.Record
	Bench    guitar.Bench
	Settings store.Settings // of the shop
}

// now is the moment of an entry, to the millisecond: finer means nothing at a bench.
func (s *Shop) now() time.Time {
	if s.Now != nil {
		return s.Now().UTC().Truncate(time.Millisecond)
	}
	return time.Now().UTC().Truncate(time.Millisecond)
}

// Time is the shop's clock.
func (s *Shop) Time() time.Time { return s.now() }

// Guitars returns every guitar that is not removed, the newest change first.
func (s *Shop) Guitars(ctx context.Context) ([]View, error) {
	all, err := s.Store.List(ctx)
	if err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	taught := s.learn(all)
	out := []View{}
	for _, r := range s.own(ctx, all) {
		if err := guitar.WarmTop(ctx, r.Guitar.Design()); err != nil {
			return nil, err
		}
		out = append(out, View{r, r.Guitar.Bench(guitar.Options{Shop: taught, Drills: set.Drills}), set})
	}
	return out, nil
}

// learn returns what the shop's guitars teach, working out anew only what changed since it last did.
func (s *Shop) learn(all []store.Record) *neckset.Learned {
	s.mu.Lock()
	defer s.mu.Unlock()
	fresh := make(map[string]history, len(all))
	same := s.learned != nil && len(all) == len(s.histories)
	for _, r := range all {
		h, ok := s.histories[r.Guitar.ID]
		if !ok || h.revision != r.Revision {
			h = history{r.Revision, r.Guitar.Teaches()}
			same = false
		}
		fresh[r.Guitar.ID] = h
	}
	if !same {
		hs := make([]neckset.History, 0, len(fresh))
		for _, h := range fresh {
			hs = append(hs, h.History)
		}
		s.histories, s.learned = fresh, neckset.LearnShop(hs)
	}
	return s.learned
}

// taught is what the shop's guitars teach.
func (s *Shop) taught(ctx context.Context) (*neckset.Learned, error) {
	all, err := s.Store.List(ctx)
	if err != nil {
		return nil, err
	}
	return s.learn(all), nil
}

// options are what the bench of one guitar must know of the shop and its other guitars.
func (s *Shop) options(ctx context.Context, id string) (guitar.Options, store.Settings, error) {
	taught, err := s.taught(ctx)
	if err != nil {
		return guitar.Options{}, store.Settings{}, err
	}
	set, err := s.Settings(ctx)
	return guitar.Options{Shop: taught, Drills: set.Drills}, set, err
}

func (s *Shop) view(ctx context.Context, r store.Record, err error) (View, error) {
	if err != nil {
		return View{}, err
	}
	o, set, err := s.options(ctx, r.Guitar.ID)
	if err != nil {
		return View{}, err
	}
	return View{r, r.Guitar.Bench(o), set}, nil
}

// Guitar returns one guitar, by its id or by a name that only one guitar has. Removed guitars are found by
// their id only.
func (s *Shop) Guitar(ctx context.Context, nameOrID string) (View, error) {
	r, err := s.FindByNameOrID(ctx, nameOrID)
	return s.view(ctx, r, err)
}

// GuitarWith is Guitar for someone who means to cut with a certain tool, and to judge the depth by marks or
// by strokes; either may be empty, for as last time.
func (s *Shop) GuitarWith(ctx context.Context, nameOrID, tool, by string) (View, error) {
	r, err := s.FindByNameOrID(ctx, nameOrID)
	if err != nil {
		return View{}, err
	}
	o, set, err := s.options(ctx, r.Guitar.ID)
	if err != nil {
		return View{}, err
	}
	o.Tool, o.By = tool, by
	return View{r, r.Guitar.Bench(o), set}, nil
}

// FindByNameOrID returns the guitar with this id, or else the only one with this name. Case and the number
// of spaces do not matter in a name.
func (s *Shop) FindByNameOrID(ctx context.Context, nameOrID string) (store.Record, error) {
	r, err := s.get(ctx, nameOrID)
	if store.KindOf(err) != store.NotFound {
		return r, err
	}
	all, listErr := s.Store.List(ctx)
	if listErr != nil {
		return store.Record{}, listErr
	}
	want := strings.Join(strings.Fields(nameOrID), " ")
	var found []store.Record
	for _, r := range s.own(ctx, all) {
		if strings.EqualFold(r.Guitar.Name, want) {
			found = append(found, r)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return store.Record{}, store.Errorf(store.NotFound, nil, "No guitar here is called %q, and none has that id.", nameOrID)
	}
	var ids []string
	for _, r := range found {
		ids = append(ids, r.Guitar.ID)
	}
	return store.Record{}, store.Errorf(store.Invalid, nil, "%d guitars are called %q: say which by its id, %v.", len(found), want, oneOf(ids))
}

// oneOf lists what can be chosen from: "one or two".
type oneOf []string

func (c oneOf) In(s unit.Style) string {
	out := c[0]
	for _, x := range c[1:] {
		out = s.Say("%s or %s", out, x)
	}
	return out
}

// NewFromDesign makes a guitar from a starting design with some of its figures changed. Texts are as typed.
func (s *Shop) NewFromDesign(ctx context.Context, name, basis string, texts map[string][]string, style unit.Style) (View, error) {
	changes, err := s.parsed(name, guitar.Optional(guitar.DesignFields()), texts, style)
	if err != nil {
		return View{}, err
	}
	b, err := guitar.FindBasis(basis)
	if err != nil {
		return View{}, err
	}
	g, err := guitar.New(name, basis, differing(guitar.DesignFields(), b.Values, texts, changes, style))
	if err != nil {
		return View{}, err
	}
	return s.create(ctx, g)
}

// NewRepair makes a guitar from readings alone. What the form begins with stands unless it is given.
func (s *Shop) NewRepair(ctx context.Context, name string, texts map[string][]string, style unit.Style) (View, error) {
	fields, start := guitar.RepairFields(), guitar.RepairStart()
	must := slices.Clone(fields)
	for i, f := range must {
		if _, typed := texts[f.Field]; !typed && start.Has(f.Field) {
			must[i].Required = false
		}
	}
	given, err := s.parsed(name, must, texts, style)
	if err != nil {
		return View{}, err
	}
	for k, v := range differing(fields, start, texts, given, style) {
		start[k] = v
	}
	g, err := guitar.NewRepair(name, start)
	if err != nil {
		return View{}, err
	}
	return s.create(ctx, g)
}

// parsed reads texts and the name together, so that a form with two mistakes says both.
func (s *Shop) parsed(name string, fields []guitar.Field, texts map[string][]string, style unit.Style) (guitar.Values, error) {
	_, nameErr := guitar.CheckName("name", name)
	v, err := guitar.Parse(fields, texts, style)
	var problems guitar.Problems
	if e, ok := nameErr.(*unit.RangeError); ok {
		problems = append(problems, e)
	}
	if ps, ok := err.(guitar.Problems); ok {
		problems = append(problems, ps...)
	} else if err != nil {
		return nil, err
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return v, nil
}

func (s *Shop) create(ctx context.Context, g guitar.Guitar) (View, error) {
	g.Created = s.now()
	r, err := s.keep(ctx, g)
	return s.view(ctx, r, err)
}

// differing returns those of the answers that say something else than before. A text that is what the form
// showed says nothing new, whatever units the form is read in now.
func differing(fields []guitar.Field, before guitar.Values, texts map[string][]string, given guitar.Values, style unit.Style) guitar.Values {
	out := guitar.Values{}
	for _, f := range fields {
		now, ok := given[f.Field]
		if !ok {
			continue
		}
		var shown []string
		for _, v := range before[f.Field] {
			shown = append(shown, f.Edit(v, style))
		}
		if !slices.Equal(written(texts[f.Field]), shown) && !slices.Equal(now, before[f.Field]) {
			out[f.Field] = now
		}
	}
	return out
}

// written returns the texts that are not blank, without the spaces around them.
func written(texts []string) []string {
	var out []string
	for _, t := range texts {
		if t = strings.TrimSpace(t); t != "" {
			out = append(out, t)
		}
	}
	return out
}

// standing returns the guitar if it stands at this revision, so that nothing is worked out from a log the
// maker has not seen.
func (s *Shop) standing(ctx context.Context, id string, revision int64) (store.Record, error) {
	r, err := s.get(ctx, id)
	switch {
	case err != nil:
		return r, err
	case r.Removed:
		return r, store.Gone(r)
	case r.Revision != revision:
		return r, store.Changed(r)
	}
	return r, nil
}

// Enter checks an answer for a step and keeps it. Errors of what was typed are guitar.Problems or
// *unit.RangeError, and nothing is kept.
func (s *Shop) Enter(ctx context.Context, id string, revision int64, step guitar.Step, texts map[string][]string, style unit.Style, bench string) (View, error) {
	return s.answer(ctx, id, revision, step, texts, style, bench, store.Key{})
}

// answer is Enter, under a key if it has one.
func (s *Shop) answer(ctx context.Context, id string, revision int64, step guitar.Step, texts map[string][]string, style unit.Style, bench string, k store.Key) (View, error) {
	if step == guitar.StepDesign {
		return s.change(ctx, id, revision, texts, style, bench, k)
	}
	r, err := s.standing(ctx, id, revision)
	if err != nil {
		return View{}, err
	}
	if _, ok := guitar.FindGuide(step); !ok {
		return View{}, store.Errorf(store.NotFound, nil, "There is no step called %q.", step)
	}
	v, err := guitar.Parse(r.Guitar.Fields(step), texts, style)
	if err != nil {
		return View{}, err
	}
	return s.enter(ctx, r, step, v, bench, k)
}

func (s *Shop) enter(ctx context.Context, r store.Record, step guitar.Step, v guitar.Values, bench string, k store.Key) (View, error) {
	if w := s.who(ctx); s.Shared {
		bench = w.Name // whoever signed in, whatever the form says
	}
	if bench != "" {
		name, err := guitar.CheckName("bench", bench)
		if err != nil {
			return View{}, err
		}
		bench = name
	}
	o, set, err := s.options(ctx, r.Guitar.ID)
	if err != nil {
		return View{}, err
	}
	e, err := r.Guitar.Enter(step, v, s.now(), bench, o)
	if err != nil {
		return View{}, err
	}
	now, err := s.append(ctx, r, e, k)
	if err != nil {
		return View{}, err
	}
	return View{now, now.Guitar.Bench(o), set}, nil
}

// Change enters a change of design, or of the figures a repair started from. Only what differs from the
// design as it stands is kept; a key that is left out stays as it is, and an optional figure given as blank
// is taken away. Nothing different is no entry and no error.
func (s *Shop) Change(ctx context.Context, id string, revision int64, texts map[string][]string, style unit.Style, bench string) (View, error) {
	return s.change(ctx, id, revision, texts, style, bench, store.Key{})
}

func (s *Shop) change(ctx context.Context, id string, revision int64, texts map[string][]string, style unit.Style, bench string, k store.Key) (View, error) {
	r, err := s.standing(ctx, id, revision)
	if err != nil {
		return View{}, err
	}
	change, err := designChange(r, texts, style)
	if err != nil {
		return View{}, err
	}
	if len(change) == 0 {
		return s.view(ctx, r, nil)
	}
	return s.enter(ctx, r, guitar.StepDesign, change, bench, k)
}

// designChange is what the texts say otherwise than the design as it stands.
func designChange(r store.Record, texts map[string][]string, style unit.Style) (guitar.Values, error) {
	fields := r.Guitar.Fields(guitar.StepDesign)
	asked := slices.Clone(fields)
	for i, f := range asked {
		if _, typed := texts[f.Field]; !typed {
			asked[i].Required = false
		}
	}
	given, err := guitar.Parse(asked, texts, style)
	if err != nil {
		return nil, err
	}
	before := r.Guitar.Design()
	change := differing(fields, before, texts, given, style)
	for _, f := range fields {
		if _, typed := texts[f.Field]; typed && !f.Required && before.Has(f.Field) && len(written(texts[f.Field])) == 0 {
			change[f.Field] = []guitar.Value{}
		}
	}
	return change, nil
}

// Undo undoes the last standing entry and returns it.
func (s *Shop) Undo(ctx context.Context, id string, revision int64) (View, guitar.Entry, error) {
	if _, err := s.get(ctx, id); err != nil {
		return View{}, guitar.Entry{}, err
	}
	r, e, err := s.Store.Undo(ctx, id, revision)
	s.tell(ctx, err, id, store.DidUndo, e.Seq)
	v, err := s.view(ctx, r, err)
	return v, e, err
}

// Rename gives a guitar another name.
func (s *Shop) Rename(ctx context.Context, id string, revision int64, name string) (View, error) {
	was, err := s.get(ctx, id)
	if err != nil {
		return View{}, err
	}
	r, err := s.Store.Rename(ctx, id, revision, name)
	s.tell(ctx, err, id, store.DidRename, was.Guitar.Name, r.Guitar.Name)
	return s.view(ctx, r, err)
}

// Remove puts a guitar aside; Restore brings it back. Its passes no longer teach the others.
func (s *Shop) Remove(ctx context.Context, id string, revision int64) (View, error) {
	if _, err := s.get(ctx, id); err != nil {
		return View{}, err
	}
	r, err := s.Store.Remove(ctx, id, revision)
	s.tell(ctx, err, id, store.DidRemove, r.Guitar.Name)
	return s.view(ctx, r, err)
}

// Restore brings a removed guitar back, by its id.
func (s *Shop) Restore(ctx context.Context, id string) (View, error) {
	if _, err := s.get(ctx, id); err != nil {
		return View{}, err
	}
	r, err := s.Store.Restore(ctx, id)
	s.tell(ctx, err, id, store.DidRestore, r.Guitar.Name)
	return s.view(ctx, r, err)
}

// Removed returns the guitars that were put aside, the newest change first.
func (s *Shop) Removed(ctx context.Context) ([]store.Record, error) {
	all, err := s.Store.Removed(ctx)
	return s.own(ctx, all), err
}

// Settings returns the shop's defaults.
func (s *Shop) Settings(ctx context.Context) (store.Settings, error) { return s.Store.Settings(ctx) }

// SaveSettings changes the shop's defaults.
func (s *Shop) SaveSettings(ctx context.Context, v store.Settings) error {
	if err := s.teacher(ctx); err != nil {
		return err
	}
	v.ShopName = strings.Join(strings.Fields(v.ShopName), " ")
	v.Currency = strings.TrimSpace(v.Currency)
	v.Drills = written(v.Drills)
	prices := map[string]string{}
	for k, p := range v.Prices {
		if p = strings.TrimSpace(p); p != "" {
			prices[k] = p
		}
	}
	v.Prices = prices
	err := s.Store.SaveSettings(ctx, v)
	s.tell(ctx, err, "", store.DidSettings)
	return err
}

// Export writes one guitar as a guitar file.
func (s *Shop) Export(ctx context.Context, nameOrID string) ([]byte, error) {
	r, err := s.FindByNameOrID(ctx, nameOrID)
	if err != nil {
		return nil, err
	}
	return guitar.Encode(r.Guitar), nil
}

// ExportAll writes every guitar that is not removed, and that whoever asks may see, as one shop file, the
// oldest first, with the shop's air.
func (s *Shop) ExportAll(ctx context.Context) ([]byte, error) {
	f, err := s.exported(ctx)
	if err != nil {
		return nil, err
	}
	return guitar.EncodeShopFile(f), nil
}

// exported returns what ExportAll writes.
func (s *Shop) exported(ctx context.Context) (f guitar.ShopFile, err error) {
	all, err := s.Store.List(ctx)
	if err != nil {
		return f, err
	}
	for _, r := range s.own(ctx, all) {
		f.Guitars = append(f.Guitars, r.Guitar)
	}
	slices.SortFunc(f.Guitars, func(a, b guitar.Guitar) int { return cmp.Or(a.Created.Compare(b.Created), cmp.Compare(a.ID, b.ID)) })
	f.Air, err = s.Store.Climate(ctx, time.Time{}, time.Time{})
	return f, err
}

// Taken is what became of a file that was taken in.
type Taken struct {
	Guitars []store.Imported
	Air     store.ClimateAdded
	HadAir  bool // the file held the air of a shop
	Photos  int  // added, of a shop saved with them
}

// Import keeps every guitar of a guitar file or shop file, or none of them, and then the air of a shop file: all of
// it that is new. Nothing here is overwritten, so the same file can be taken in again when it was broken off.
func (s *Shop) Import(ctx context.Context, data []byte) (out Taken, err error) {
	if err := s.teacher(ctx); err != nil {
		return out, err
	}
	f, err := guitar.DecodeFile(data)
	if err != nil {
		return out, err
	}
	return s.takeIn(ctx, f)
}

// takeIn keeps what Import has read.
func (s *Shop) takeIn(ctx context.Context, f guitar.ShopFile) (out Taken, err error) {
	if len(f.Guitars) == 0 && len(f.Air) == 0 {
		return out, unit.Wrong("import: %v", &guitar.FileError{Where: "guitars", Why: unit.Say("there is no guitar in this file")})
	}
	if len(f.Guitars) > 0 {
		out.Guitars, err = s.Store.Import(ctx, f.Guitars)
		s.tell(ctx, err, "", store.DidTakeGuitars, len(f.Guitars))
		if err != nil {
			return out, err
		}
	}
	if out.HadAir = len(f.Air) > 0; out.HadAir {
		if out.Air, err = s.Store.AddClimate(ctx, f.Air); err != nil {
			return out, store.Errorf(store.KindOf(err), err, "The %d guitars were taken in, but not the shop's air: %v Take the file in again; no guitar is doubled.", len(f.Guitars), spoken{err})
		}
		s.tell(ctx, nil, "", store.DidTakeAir, out.Air.Added)
	}
	return out, nil
}
