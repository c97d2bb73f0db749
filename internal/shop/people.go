package shop

import (
	"context"
	"log/slog"
	"slices"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/store"
	"fairset/unit"
)

// Who returns whose request this is, and whether anybody has signed in. In a shop that is not shared it is
// whoever is at the machine; in a shared one a request of nobody's is somebody's who may do nothing.
func (s *Shop) Who(ctx context.Context) (access.Who, bool) {
	if !s.Shared {
		return access.Local, true
	}
	return access.Of(ctx)
}

func (s *Shop) who(ctx context.Context) access.Who {
	w, _ := s.Who(ctx)
	return w
}

// teacher refuses whoever is not one.
func (s *Shop) teacher(ctx context.Context) error {
	return access.Teacher.Check(s.who(ctx), true)
}

// own returns those of the records that whoever asks may see.
func (s *Shop) own(ctx context.Context, all []store.Record) []store.Record {
	w := s.who(ctx)
	if w.Teacher() {
		return all
	}
	out := []store.Record{}
	for _, r := range all {
		if w.Owns(r.Owner) {
			out = append(out, r)
		}
	}
	return out
}

// get returns one guitar. One of somebody else's is NotFound, as if it were not there.
func (s *Shop) get(ctx context.Context, id string) (store.Record, error) {
	r, err := s.Store.Get(ctx, id)
	if err == nil && !s.who(ctx).Owns(r.Owner) {
		return store.Record{}, store.Missing(id)
	}
	return r, err
}

// keep keeps a new guitar: a bench's is its own.
func (s *Shop) keep(ctx context.Context, g guitar.Guitar) (store.Record, error) {
	w := s.who(ctx)
	if p, ok := s.Store.(store.People); ok && w.Account != "" && !w.Teacher() {
		return p.CreateFor(ctx, g, w.Account)
	}
	if !w.Teacher() {
		return store.Record{}, store.Errorf(store.SignIn, nil, "Sign in first.")
	}
	return s.Store.Create(ctx, g)
}

// tell writes what was done, one of store.Dids, into the trail of a shared shop, unless it failed.
func (s *Shop) tell(ctx context.Context, err error, guitarID string, did unit.Text, args ...any) {
	p, ok := s.Store.(store.People)
	if err != nil || !s.Shared || !ok {
		return
	}
	e := store.Event{At: s.now(), Who: s.who(ctx).Name, Did: store.Did(did, args...), Guitar: guitarID}
	if err := p.Note(context.WithoutCancel(ctx), e); err != nil {
		slog.Error("the trail was not written", "event", e.Did, "err", err)
	}
}

// Note writes into the trail of a shared shop what was done besides its guitars: one of store.Dids.
func (s *Shop) Note(ctx context.Context, did unit.Text, args ...any) {
	s.tell(ctx, nil, "", did, args...)
}

// people returns the part of the store that keeps accounts.
func (s *Shop) people() (store.People, error) {
	if p, ok := s.Store.(store.People); ok {
		return p, nil
	}
	return nil, store.Errorf(store.Invalid, nil, "A file of guitars keeps no accounts; a shop's file does.")
}

// Assign gives a guitar to a bench's account, "" to the teachers.
func (s *Shop) Assign(ctx context.Context, id, account string) (View, error) {
	if err := s.teacher(ctx); err != nil {
		return View{}, err
	}
	p, err := s.people()
	if err != nil {
		return View{}, err
	}
	did, to := store.DidGiveTeachers, []any(nil)
	if account != "" {
		a, err := p.Account(ctx, account)
		if err != nil {
			return View{}, err
		}
		if a.Role != store.Bench {
			return View{}, store.Errorf(store.Invalid, nil, "%q is a teacher, who sees every guitar anyway. Give it to a bench.", a.Name)
		}
		did, to = store.DidGive, []any{a.Name}
	}
	r, err := p.Assign(ctx, id, account)
	s.tell(ctx, err, id, did, append([]any{r.Guitar.Name}, to...)...)
	return s.view(ctx, r, err)
}

// Done is one line of the trail: an entry of a guitar's log, or an event.
type Done struct {
	store.Event
	Name   string         // of the guitar
	Step   guitar.Step    // of an entry
	Log    *guitar.Entry  // of an entry
	Fields []guitar.Field // of its step
}

// Trail returns what was done in the shop, the newest first, at most n: who changed which figure, and what
// no guitar's log tells. For teachers.
func (s *Shop) Trail(ctx context.Context, n int) ([]Done, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	p, err := s.people()
	if err != nil {
		return nil, err
	}
	events, err := p.Events(ctx, 0, n)
	if err != nil {
		return nil, err
	}
	on, err := s.Store.List(ctx)
	if err != nil {
		return nil, err
	}
	off, err := s.Store.Removed(ctx)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	var out []Done
	for _, r := range append(slices.Clip(on), off...) {
		names[r.Guitar.ID] = r.Guitar.Name
		for i := range r.Guitar.Log {
			e := &r.Guitar.Log[i]
			out = append(out, Done{Event: store.Event{At: e.At, Who: e.Bench, Guitar: r.Guitar.ID}, Name: r.Guitar.Name, Step: e.Step, Log: e, Fields: r.Guitar.Fields(e.Step)})
		}
	}
	for _, e := range events {
		out = append(out, Done{Event: e, Name: names[e.Guitar]})
	}
	slices.SortStableFunc(out, func(a, b Done) int { return b.At.Compare(a.At) })
	return out[:min(len(out), n)], nil
}
