package storetest

import (
	"errors"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
)

// Shared is a store that also keeps the people of a shared shop.
type Shared interface {
	store.Store
	store.People
}

// RunPeople runs what every store of a shared shop must do with accounts, sessions, the trail and owners.
func RunPeople(t *testing.T, open func(t *testing.T) (s Shared, reopen func() Shared)) {
	ctx := t.Context()
	must := func(t *testing.T, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	is := func(t *testing.T, err error, want *store.Error) {
		t.Helper()
		if !errors.Is(err, want) {
			t.Fatalf("got %v, want an error of kind %q", err, want.Kind)
		}
	}
	add := func(t *testing.T, s Shared, name string, role store.Role) store.Account {
		t.Helper()
		a, err := s.AddAccount(ctx, store.Account{Name: name, Role: role, Secret: "hash of " + name})
		must(t, err)
		return a
	}

	t.Run("many guitars are made and changed all or none", func(t *testing.T) {
		s, reopen := open(t)
		many, ok := s.(store.Many)
		if !ok {
			t.Fatal("the store keeps accounts and does not change many guitars at once")
		}
		a := add(t, s, "bench 3", store.Bench)
		one := func(name string) guitar.Guitar {
			g, err := guitar.New(name, "steel-14", nil)
			must(t, err)
			g.Created = Day
			return g
		}
		// The third has no owner that is here: none is made.
		_, err := many.CreateAll(ctx, []store.New{{Guitar: one("Alder 1")}, {Guitar: one("Alder 2"), Owner: a.ID}, {Guitar: one("Alder 3"), Owner: "nobody"}})
		is(t, err, &store.Error{Kind: store.NotFound})
		if all, err := s.List(ctx); err != nil || len(all) != 0 {
			t.Fatalf("%d guitars are left of none, %v", len(all), err)
		}
		rs, err := many.CreateAll(ctx, []store.New{{Guitar: one("Alder 1")}, {Guitar: one("Alder 2"), Owner: a.ID}})
		must(t, err)
		if len(rs) != 2 || rs[0].Guitar.ID == rs[1].Guitar.ID || rs[1].Owner != a.ID || rs[0].Revision != 1 {
			t.Fatalf("made %v", rs)
		}
		note := func(r store.Record) store.Addition {
			e, err := r.Guitar.Enter(guitar.StepNote, guitar.Values{"text": {{Text: "begun"}}}, Day, "", guitar.Options{})
			must(t, err)
			return store.Addition{ID: r.Guitar.ID, Revision: r.Revision, Entry: e}
		}
		stale := note(rs[1])
		stale.Revision++
		_, err = many.AppendAll(ctx, []store.Addition{note(rs[0]), stale})
		is(t, err, &store.Error{Kind: store.Conflict})
		if r, err := s.Get(ctx, rs[0].Guitar.ID); err != nil || r.Revision != 1 || len(r.Guitar.Log) != 0 {
			t.Fatalf("an entry was kept of none: %v, %v", r, err)
		}
		now, err := many.AppendAll(ctx, []store.Addition{note(rs[0]), note(rs[1])})
		must(t, err)
		if len(now) != 2 || now[0].Revision != 2 || len(now[1].Guitar.Log) != 1 {
			t.Fatalf("%v", now)
		}
		s = reopen()
		for _, r := range now {
			back, err := s.Get(ctx, r.Guitar.ID)
			must(t, err)
			if back.Revision != 2 || len(back.Guitar.Log) != 1 || back.Owner != r.Owner {
				t.Errorf("%v came back as %v", r, back)
			}
		}
	})

	t.Run("accounts stay, and no name is taken twice", func(t *testing.T) {
		s, reopen := open(t)
		a, b := add(t, s, "  Bench  3 ", store.Bench), add(t, s, "Front desk", store.Teacher)
		if a.ID == "" || a.ID == b.ID || a.Name != "Bench 3" || a.Made.IsZero() {
			t.Errorf("new accounts %+v and %+v", a, b)
		}
		for _, bad := range []store.Account{{Name: "BENCH 3", Role: store.Bench}, {Name: "", Role: store.Bench}, {Name: "x\ny", Role: store.Bench}, {Name: "bench 4", Role: "owner"}} {
			_, err := s.AddAccount(ctx, bad)
			if bad.Name == "x\ny" {
				must(t, err) // a line's end counts as a space, as it does in a guitar's name
				continue
			}
			is(t, err, store.ErrInvalid)
		}
		must(t, s.Close())
		s = reopen()
		all, err := s.Accounts(ctx)
		must(t, err)
		if len(all) != 3 || all[0].Role != store.Teacher {
			t.Errorf("accounts after a restart: %+v", all)
		}
		got, err := s.Account(ctx, a.ID)
		must(t, err)
		if got != a {
			t.Errorf("got %+v, want %+v", got, a)
		}
		_, err = s.Account(ctx, "none")
		is(t, err, store.ErrNotFound)
	})

	t.Run("wrong tries add up to a lock, and a right one starts again", func(t *testing.T) {
		s, _ := open(t)
		a := add(t, s, "bench 3", store.Bench)
		for n := 1; n <= 2; n++ {
			got, err := s.Tried(ctx, a.ID, false, 3)
			must(t, err)
			if got.Wrong != n || got.Locked {
				t.Errorf("after %d: %+v", n, got)
			}
		}
		got, err := s.Tried(ctx, a.ID, true, 3)
		must(t, err)
		if got.Wrong != 0 {
			t.Errorf("after a right one: %+v", got)
		}
		for range 3 {
			got, err = s.Tried(ctx, a.ID, false, 3)
			must(t, err)
		}
		if !got.Locked {
			t.Error("three wrong ones do not lock")
		}
		if got, _ = s.Tried(ctx, a.ID, true, 3); !got.Locked {
			t.Error("a right one lifts a lock")
		}
		must(t, s.Unlock(ctx, a.ID))
		if got, _ = s.Account(ctx, a.ID); got.Locked || got.Wrong != 0 {
			t.Errorf("unlocked: %+v", got)
		}
		for range 20 {
			if got, err = s.Tried(ctx, a.ID, false, 0); err != nil || got.Locked {
				t.Fatalf("locked without a bound: %+v, %v", got, err)
			}
		}
		is(t, s.Unlock(ctx, "none"), store.ErrNotFound)
	})

	t.Run("sessions end one by one, with their account, and with a new secret", func(t *testing.T) {
		s, reopen := open(t)
		a, b := add(t, s, "bench 3", store.Bench), add(t, s, "bench 4", store.Bench)
		day := Day.Truncate(time.Microsecond)
		for _, v := range []store.Session{
			{Hash: "h1", Account: a.ID, Kind: store.PageSession, Made: day, Seen: day, Ends: day.AddDate(50, 0, 0)},
			{Hash: "h2", Account: a.ID, Kind: store.ScriptSession, Label: "scale", Made: day.Add(time.Hour), Seen: day},
			{Hash: "h3", Account: b.ID, Kind: store.PageSession, Made: day, Seen: day, Ends: day.AddDate(50, 0, 0)},
		} {
			must(t, s.AddSession(ctx, v))
			got, err := s.Session(ctx, v.Hash)
			must(t, err)
			if got != v {
				t.Errorf("got %+v, want %+v", got, v)
			}
		}
		is(t, s.AddSession(ctx, store.Session{Hash: "h4", Account: "none", Kind: store.PageSession}), store.ErrNotFound)
		must(t, s.Seen(ctx, "h1", day.Add(time.Minute)))
		must(t, s.Close())
		s = reopen()
		if got, err := s.Session(ctx, "h1"); err != nil || !got.Seen.Equal(day.Add(time.Minute)) {
			t.Errorf("seen %v, %v", got.Seen, err)
		}
		if all, err := s.Sessions(ctx, a.ID); err != nil || len(all) != 2 || all[0].Hash != "h2" {
			t.Errorf("sessions %+v, %v", all, err)
		}
		must(t, s.EndSessions(ctx, a.ID, "h2"))
		_, err := s.Session(ctx, "h1")
		is(t, err, store.ErrNotFound)
		if _, err := s.Session(ctx, "h2"); err != nil {
			t.Error(err)
		}
		must(t, s.SetSecret(ctx, a.ID, "another"))
		_, err = s.Session(ctx, "h2")
		is(t, err, store.ErrNotFound)
		if _, err := s.Session(ctx, "h3"); err != nil {
			t.Errorf("another account's: %v", err)
		}
		must(t, s.EndSession(ctx, "h3"))
		_, err = s.Session(ctx, "h3")
		is(t, err, store.ErrNotFound)
	})

	t.Run("the trail grows, newest first", func(t *testing.T) {
		s, _ := open(t)
		for i := range 5 {
			must(t, s.Note(ctx, store.Event{At: Day.Add(time.Duration(i) * time.Minute), Who: "bench 3", Did: "signed in", Guitar: ""}))
		}
		all, err := s.Events(ctx, 0, 3)
		must(t, err)
		if len(all) != 3 || !all[0].At.After(all[1].At) {
			t.Fatalf("events %+v", all)
		}
		more, err := s.Events(ctx, all[2].Seq, 10)
		must(t, err)
		if len(more) != 2 {
			t.Errorf("the rest: %+v", more)
		}
	})

	t.Run("a guitar's owner changes without a new revision", func(t *testing.T) {
		s, reopen := open(t)
		a, b := add(t, s, "bench 3", store.Bench), add(t, s, "bench 4", store.Bench)
		r, err := s.CreateFor(ctx, New(t, "Larch"), a.ID)
		must(t, err)
		if r.Owner != a.ID {
			t.Errorf("owner %q", r.Owner)
		}
		_, err = s.CreateFor(ctx, New(t, "Elm"), "none")
		is(t, err, store.ErrNotFound)
		now, err := s.Assign(ctx, r.Guitar.ID, b.ID)
		must(t, err)
		if now.Owner != b.ID || now.Revision != r.Revision {
			t.Errorf("assigned: %v owner %q", now, now.Owner)
		}
		_, err = s.Assign(ctx, r.Guitar.ID, "none")
		is(t, err, store.ErrNotFound)
		must(t, s.Close())
		s = reopen()
		if got, err := s.Get(ctx, r.Guitar.ID); err != nil || got.Owner != b.ID {
			t.Errorf("owner %q, %v", got.Owner, err)
		}
		if all, err := s.List(ctx); err != nil || len(all) != 1 || all[0].Owner != b.ID {
			t.Errorf("list %v, %v", all, err)
		}
		if _, err := s.Append(ctx, r.Guitar.ID, r.Revision, Lean(t, r.Guitar, 1)); err != nil {
			t.Error(err)
		}
		if got, err := s.Get(ctx, r.Guitar.ID); err != nil || got.Owner != b.ID {
			t.Errorf("owner after an entry %q, %v", got.Owner, err)
		}
	})

	t.Run("a name is taken out of everything, and of nobody else's", func(t *testing.T) {
		s, _ := open(t)
		a := add(t, s, "bench 3", store.Bench)
		add(t, s, "bench 30", store.Bench)
		r, err := s.CreateFor(ctx, New(t, "Larch"), a.ID)
		must(t, err)
		e := Lean(t, r.Guitar, 1) // entered by bench 3
		r, err = s.Append(ctx, r.Guitar.ID, r.Revision, e)
		must(t, err)
		e = Lean(t, r.Guitar, 2)
		e.Bench = "bench 30"
		r, err = s.Append(ctx, r.Guitar.ID, r.Revision, e)
		must(t, err)
		must(t, s.Note(ctx, store.Event{At: Day, Who: "bench 3", Did: "signed in"}))
		must(t, s.Note(ctx, store.Event{At: Day, Who: "bench 30", Did: "lifted the lock of " + store.Quoted("bench 3") + ", not of " + store.Quoted("bench 30")}))
		must(t, s.AddSession(ctx, store.Session{Hash: "h1", Account: a.ID, Kind: store.PageSession, Made: Day, Seen: Day}))
		n, err := s.Forget(ctx, a.ID, "former bench "+a.ID)
		must(t, err)
		if n != 3 {
			t.Errorf("%d places changed, want an entry and two events", n)
		}
		got, err := s.Get(ctx, r.Guitar.ID)
		must(t, err)
		if got.Owner != "" || got.Revision <= r.Revision || got.Guitar.Log[0].Bench != "former bench "+a.ID || got.Guitar.Log[1].Bench != "bench 30" {
			t.Errorf("after: owner %q, log by %q and %q", got.Owner, got.Guitar.Log[0].Bench, got.Guitar.Log[1].Bench)
		}
		events, err := s.Events(ctx, 0, 10)
		must(t, err)
		if events[0].Who != "bench 30" || events[0].Did != "lifted the lock of "+store.Quoted("former bench "+a.ID)+", not of "+store.Quoted("bench 30") || events[1].Who != "former bench "+a.ID {
			t.Errorf("trail after: %+v", events)
		}
		_, err = s.Account(ctx, a.ID)
		is(t, err, store.ErrNotFound)
		_, err = s.Session(ctx, "h1")
		is(t, err, store.ErrNotFound)
		must(t, s.Check(ctx))
	})
}
