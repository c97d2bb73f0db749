// Package storetest holds what every store must do, whatever it keeps guitars in, and the guitars to try it
// with. A new store runs Run in its own tests.
package storetest

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/unit"
)

// Day is when the guitars of these tests were begun.
var Day = time.Date(2026, 3, 2, 9, 0, 0, 123456000, time.UTC)

// New makes a guitar from a starting design, without an id.
func New(t testing.TB, name string) guitar.Guitar {
	t.Helper()
	changes, err := guitar.Parse(guitar.Optional(guitar.DesignFields()), map[string][]string{"scale_length": {"25 1/2"}}, unit.Inch64)
	if err != nil {
		t.Fatal(err)
	}
	g, err := guitar.New(name, "steel-14", changes)
	if err != nil {
		t.Fatal(err)
	}
	g.Created = Day
	return g
}

// Entry makes the next entry of a guitar from texts as typed.
func Entry(t testing.TB, g guitar.Guitar, step guitar.Step, texts map[string][]string) guitar.Entry {
	t.Helper()
	fields := g.Fields(step)
	if step == guitar.StepDesign {
		fields = guitar.Optional(fields)
	}
	v, err := guitar.Parse(fields, texts, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	e, err := g.Enter(step, v, Day.Add(time.Duration(len(g.Log)+1)*time.Minute), "bench 3", guitar.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Lean is a reading of the gap, which differs with n.
func Lean(t testing.TB, g guitar.Guitar, n int) guitar.Entry {
	return Entry(t, g, guitar.StepLean, map[string][]string{"gap": {fmt.Sprintf("%d.%02d mm", 5+n%3, n%100), "6.8"}, "surface": {"frets"}, "graduation": {"0.1"}})
}

// Worked makes a guitar with readings, a cut with its plan, a change of design and a note in its log.
func Worked(t testing.TB, name string) guitar.Guitar {
	t.Helper()
	g := New(t, name)
	cut := map[string][]string{}
	for _, f := range g.Fields(guitar.StepCut) {
		if f.Required {
			cut[f.Field] = []string{f.Choices[0].Key}
		}
	}
	for _, a := range []struct {
		step  guitar.Step
		texts map[string][]string
	}{
		{guitar.StepLean, map[string][]string{"gap": {"17/64"}, "surface": {"frets"}, "graduation": {"1/64"}}},
		{guitar.StepPoint, map[string][]string{"offset": {"1.5"}, "toward": {"treble"}, "graduation": {"0.5"}}},
		{guitar.StepCut, cut},
		{guitar.StepDesign, map[string][]string{"bridge_thickness": {"5/16"}, "scale_length_give": {"0.2"}}},
		{guitar.StepNote, map[string][]string{"text": {"<b> & \"quotes\",\nλ ½, 'semi;colon'; DROP TABLE guitar; --"}}},
	} {
		g = g.With(Entry(t, g, a.step, a.texts))
	}
	return g
}

// Air is a shop's air: two places, one of them read twice.
func Air() []climate.Reading {
	at := Day.Truncate(time.Second)
	return []climate.Reading{
		{At: at, Place: "bench", Temperature: 21, Humidity: 45},
		{At: at, Place: "store", Temperature: 18.5, Humidity: 52.5},
		{At: at.Add(time.Hour), Place: "bench", Temperature: 20.5, Humidity: 44},
	}
}

// Options say what a store cannot do.
type Options struct {
	One bool // it keeps one guitar and no settings
}

// Run tries everything a store must do. open returns a store on a place of its own; reopen opens the same
// place again after the store was closed.
func Run(t *testing.T, o Options, open func(t *testing.T) (s store.Store, reopen func() store.Store)) {
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
		if KindlySaid(err) == "" {
			t.Errorf("%v says nothing to a person", err)
		}
	}

	t.Run("what goes in comes out, and again after a restart", func(t *testing.T) {
		s, reopen := open(t)
		g := Worked(t, "Larch")
		r, err := s.Create(ctx, g)
		must(t, err)
		if r.Guitar.ID == "" || r.Revision < 1 || r.Removed || r.Changed.IsZero() {
			t.Errorf("new record %v, removed %v, changed %v", r, r.Removed, r.Changed)
		}
		g.ID = r.Guitar.ID
		same(t, "Create", r.Guitar, g)
		got, err := s.Get(ctx, g.ID)
		must(t, err)
		same(t, "Get", got.Guitar, g)
		must(t, s.Check(ctx))
		must(t, s.Close())
		s = reopen()
		again, err := s.Get(ctx, g.ID)
		must(t, err)
		if !reflect.DeepEqual(again, got) {
			t.Errorf("after a restart: got %+v, want %+v", again, got)
		}
		must(t, s.Check(ctx))
	})

	t.Run("entries, undo and history", func(t *testing.T) {
		s, reopen := open(t)
		r, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		id := r.Guitar.ID
		want := r.Guitar
		for n := range 3 {
			e := Lean(t, want, n)
			want = want.With(e)
			r, err = s.Append(ctx, id, r.Revision, e)
			must(t, err)
			same(t, "Append", r.Guitar, want)
		}
		for n := 3; n >= 1; n-- {
			before := r.Revision
			var e guitar.Entry
			r, e, err = s.Undo(ctx, id, r.Revision)
			must(t, err)
			if e.Seq != n || !e.Undone || r.Revision == before {
				t.Errorf("undid entry %d (undone %v) at revision %d, want entry %d and a new revision", e.Seq, e.Undone, r.Revision, n)
			}
		}
		_, _, err = s.Undo(ctx, id, r.Revision)
		is(t, err, store.ErrInvalid)
		e := Lean(t, r.Guitar, 7)
		r, err = s.Append(ctx, id, r.Revision, e)
		must(t, err)
		if len(r.Guitar.Log) != 4 || len(r.Guitar.Live()) != 1 || r.Guitar.Log[3].Seq != 4 {
			t.Errorf("log of %d with %d standing, want 4 and 1: nothing undone is erased", len(r.Guitar.Log), len(r.Guitar.Live()))
		}
		must(t, s.Close())
		again, err := reopen().Get(ctx, id)
		must(t, err)
		same(t, "after a restart", again.Guitar, r.Guitar)
		if again.Revision != r.Revision {
			t.Errorf("revision %d after a restart, want %d", again.Revision, r.Revision)
		}
	})

	t.Run("the second of two benches is told and nothing is overwritten", func(t *testing.T) {
		s, _ := open(t)
		r, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		id, seen := r.Guitar.ID, r.Revision
		first, err := s.Append(ctx, id, seen, Lean(t, r.Guitar, 1))
		must(t, err)
		_, err = s.Append(ctx, id, seen, Lean(t, r.Guitar, 2))
		is(t, err, store.ErrConflict)
		now, ok := store.Current(err)
		if !ok || now.Revision != first.Revision {
			t.Fatalf("the conflict carries %v, %v; want the current record", now, ok)
		}
		same(t, "the conflict's record", now.Guitar, first.Guitar)
		if say := KindlySaid(err); !strings.Contains(say, "bench 3") || !strings.Contains(say, "Set the lean") {
			t.Errorf("the conflict does not say who entered what: %s", say)
		}
		_, _, err = s.Undo(ctx, id, seen)
		is(t, err, store.ErrConflict)
		_, err = s.Rename(ctx, id, seen, "Elm")
		is(t, err, store.ErrConflict)
		_, err = s.Remove(ctx, id, seen)
		is(t, err, store.ErrConflict)
		got, err := s.Get(ctx, id)
		must(t, err)
		same(t, "afterwards", got.Guitar, first.Guitar)
	})

	t.Run("many at once", func(t *testing.T) {
		s, _ := open(t)
		r, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		const benches, each = 6, 5
		// Entries are made here: a test may only be failed from its own goroutine.
		var wg sync.WaitGroup
		var mu sync.Mutex
		won := map[int]bool{}
		var trouble []error
		template := Lean(t, r.Guitar, 1)
		for range benches {
			wg.Go(func() {
				for done := 0; done < each; {
					now, err := s.Get(ctx, r.Guitar.ID)
					if err == nil {
						e := template
						e.Seq = len(now.Guitar.Log) + 1
						var after store.Record
						if after, err = s.Append(ctx, r.Guitar.ID, now.Revision, e); err == nil {
							done++
							mu.Lock()
							if won[e.Seq] {
								trouble = append(trouble, fmt.Errorf("entry %d was acknowledged twice", e.Seq))
							}
							won[e.Seq] = true
							if len(after.Guitar.Log) != e.Seq {
								trouble = append(trouble, fmt.Errorf("entry %d came back in a log of %d", e.Seq, len(after.Guitar.Log)))
							}
							mu.Unlock()
							continue
						}
					}
					if !errors.Is(err, store.ErrConflict) {
						mu.Lock()
						trouble = append(trouble, err)
						mu.Unlock()
						return
					}
				}
			})
		}
		wg.Wait()
		for _, err := range trouble {
			t.Error(err)
		}
		got, err := s.Get(ctx, r.Guitar.ID)
		must(t, err)
		if len(got.Guitar.Log) != benches*each {
			t.Errorf("%d entries, want %d", len(got.Guitar.Log), benches*each)
		}
		must(t, s.Check(ctx))
	})

	t.Run("what could not be read back is not kept", func(t *testing.T) {
		s, _ := open(t)
		r, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		good := Lean(t, r.Guitar, 1)
		for name, spoil := range map[string]func(e *guitar.Entry){
			"a number too high":      func(e *guitar.Entry) { e.Seq = 2 },
			"a number used already":  func(e *guitar.Entry) { e.Seq = 0 },
			"no such step":           func(e *guitar.Entry) { e.Step = "sing" },
			"no figures":             func(e *guitar.Entry) { e.Values = guitar.Values{} },
			"a figure out of range":  func(e *guitar.Entry) { e.Values = e.Values.Clone(); e.Values["gap"][0] = guitar.Value{SI: 0.5} },
			"an unknown figure":      func(e *guitar.Entry) { e.Values = e.Values.Clone(); e.Values["gapp"] = e.Values["gap"] },
			"a plan without a cut":   func(e *guitar.Entry) { e.Plan = &guitar.Plan{} },
			"a bench nobody can say": func(e *guitar.Entry) { e.Bench = "bench\x00" },
		} {
			e := good
			spoil(&e)
			_, err := s.Append(ctx, r.Guitar.ID, r.Revision, e)
			if !errors.Is(err, store.ErrInvalid) {
				t.Errorf("%s: got %v, want an error of kind invalid", name, err)
			}
		}
		bad := New(t, "Elm")
		bad.First = guitar.Values{}
		if _, err := s.Create(ctx, bad); err == nil {
			t.Error("a guitar without figures was kept")
		}
		_, err = s.Rename(ctx, r.Guitar.ID, r.Revision, " ")
		if err == nil {
			t.Error("a guitar was renamed to nothing")
		}
		got, err := s.Get(ctx, r.Guitar.ID)
		must(t, err)
		if !reflect.DeepEqual(got, r) {
			t.Errorf("the record changed: %v, want %v", got, r)
		}
		if _, err = s.Append(ctx, r.Guitar.ID, r.Revision, good); err != nil {
			t.Errorf("the good entry after them: %v", err)
		}
	})

	t.Run("an id nobody has", func(t *testing.T) {
		s, _ := open(t)
		_, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		for _, id := range []string{"nobody", "", "%", "' OR 1=1 --"} {
			_, err := s.Get(ctx, id)
			is(t, err, store.ErrNotFound)
			_, err = s.Append(ctx, id, 1, guitar.Entry{Seq: 1})
			is(t, err, store.ErrNotFound)
			_, err = s.Restore(ctx, id)
			is(t, err, store.ErrNotFound)
		}
	})

	t.Run("rename", func(t *testing.T) {
		s, _ := open(t)
		r, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		r, err = s.Rename(ctx, r.Guitar.ID, r.Revision, "  Weeping   elm ")
		must(t, err)
		if r.Guitar.Name != "Weeping elm" {
			t.Errorf("got %q, want the spaces tidied", r.Guitar.Name)
		}
		got, err := s.Get(ctx, r.Guitar.ID)
		must(t, err)
		same(t, "Get", got.Guitar, r.Guitar)
	})

	t.Run("remove and restore", func(t *testing.T) {
		s, reopen := open(t)
		r, err := s.Create(ctx, Worked(t, "Larch"))
		must(t, err)
		id := r.Guitar.ID
		whole := r.Guitar
		r, err = s.Remove(ctx, id, r.Revision)
		must(t, err)
		if !r.Removed {
			t.Error("the record does not say it is removed")
		}
		count(t, s, 0, 1)
		got, err := s.Get(ctx, id)
		must(t, err)
		if !got.Removed {
			t.Error("a removed guitar is found without saying so")
		}
		_, err = s.Append(ctx, id, got.Revision, Lean(t, got.Guitar, 1))
		is(t, err, store.ErrConflict)
		must(t, s.Close())
		s = reopen()
		count(t, s, 0, 1)
		r, err = s.Restore(ctx, id)
		must(t, err)
		if r.Removed {
			t.Error("the restored guitar says it is removed")
		}
		same(t, "restored", r.Guitar, whole)
		count(t, s, 1, 0)
		_, err = s.Append(ctx, id, r.Revision, Lean(t, r.Guitar, 1))
		must(t, err)
		again, err := s.Restore(ctx, id)
		must(t, err)
		if again.Removed || len(again.Guitar.Log) != len(whole.Log)+1 {
			t.Error("restoring what stands changed it")
		}
	})

	t.Run("import the same file twice", func(t *testing.T) {
		s, _ := open(t)
		g := Worked(t, "Larch")
		g.ID = "q7k4mb"
		for _, want := range []store.Outcome{store.Added, store.Skipped, store.Skipped} {
			got, err := s.Import(ctx, []guitar.Guitar{g})
			must(t, err)
			if len(got) != 1 || got[0].Outcome != want || got[0].Was != "q7k4mb" || got[0].Record.Guitar.ID != "q7k4mb" {
				t.Errorf("got %+v, want %s", got, want)
			}
		}
		r, err := s.Get(ctx, "q7k4mb")
		must(t, err)
		same(t, "imported", r.Guitar, g)
	})

	t.Run("whoever watches is told", func(t *testing.T) {
		s, _ := open(t)
		watching, stop := context.WithCancel(ctx)
		defer stop()
		changes, err := s.Watch(watching)
		must(t, err)
		told := func(r store.Record, err error) store.Record {
			t.Helper()
			must(t, err)
			Told(t, changes, r)
			return r
		}
		r := told(s.Create(ctx, New(t, "Larch")))
		id := r.Guitar.ID
		r = told(s.Append(ctx, id, r.Revision, Lean(t, r.Guitar, 1)))
		undone, _, err := s.Undo(ctx, id, r.Revision)
		r = told(undone, err)
		r = told(s.Rename(ctx, id, r.Revision, "Elm"))
		told(s.Remove(ctx, id, r.Revision))
		r = told(s.Restore(ctx, id))
		// What was refused is no change.
		_, err = s.Append(ctx, id, r.Revision+2, Lean(t, r.Guitar, 2))
		is(t, err, store.ErrConflict)
		if !o.One {
			must(t, s.SaveSettings(ctx, store.DefaultSettings()))
			if c := next(t, changes); !c.Everything() {
				t.Errorf("settings were saved: told %+v", c)
			}
		}
		select {
		case c := <-changes:
			t.Errorf("told of %+v, which nobody made", c)
		case <-time.After(50 * time.Millisecond):
		}
		other, err := s.Watch(ctx)
		must(t, err)
		stop()
		ends(t, changes)
		must(t, s.Close())
		ends(t, other)
	})

	if o.One {
		t.Run("one guitar and no more", func(t *testing.T) {
			s, _ := open(t)
			r, err := s.Create(ctx, New(t, "Larch"))
			must(t, err)
			_, err = s.Create(ctx, New(t, "Elm"))
			is(t, err, store.ErrInvalid)
			_, err = s.Import(ctx, []guitar.Guitar{Worked(t, "Elm")})
			is(t, err, store.ErrInvalid)
			_, err = s.Import(ctx, []guitar.Guitar{r.Guitar, r.Guitar})
			is(t, err, store.ErrInvalid)
			is(t, s.SaveSettings(ctx, store.DefaultSettings()), store.ErrInvalid)
			_, err = s.AddClimate(ctx, Air())
			is(t, err, store.ErrInvalid)
			is(t, s.RemoveClimate(ctx, Day, ""), store.ErrInvalid)
			if air, err := s.Climate(ctx, time.Time{}, time.Time{}); err != nil || len(air) != 0 {
				t.Errorf("air of a guitar file: %v, %v", air, err)
			}
			count(t, s, 1, 0)
			got, err := s.Get(ctx, r.Guitar.ID)
			must(t, err)
			same(t, "afterwards", got.Guitar, r.Guitar)
		})
		return
	}

	t.Run("the newest change first", func(t *testing.T) {
		s, _ := open(t)
		var rs []store.Record
		for _, name := range []string{"Larch", "Elm", "Yew"} {
			r, err := s.Create(ctx, New(t, name))
			must(t, err)
			rs = append(rs, r)
			time.Sleep(2 * time.Millisecond)
		}
		_, err := s.Append(ctx, rs[0].Guitar.ID, rs[0].Revision, Lean(t, rs[0].Guitar, 1))
		must(t, err)
		all, err := s.List(ctx)
		must(t, err)
		var names []string
		for _, r := range all {
			names = append(names, r.Guitar.Name)
		}
		if got := strings.Join(names, " "); got != "Larch Yew Elm" {
			t.Errorf("got %s, want Larch Yew Elm", got)
		}
	})

	t.Run("ids are given once", func(t *testing.T) {
		s, _ := open(t)
		g := New(t, "Larch")
		g.ID = "q7k4mb"
		_, err := s.Create(ctx, g)
		must(t, err)
		_, err = s.Create(ctx, g)
		is(t, err, store.ErrInvalid)
		same, err := s.Create(ctx, New(t, "Larch"))
		must(t, err)
		if same.Guitar.ID == "q7k4mb" {
			t.Error("two guitars of one name share an id")
		}
	})

	t.Run("import beside a different guitar of the same id", func(t *testing.T) {
		s, _ := open(t)
		g := Worked(t, "Larch")
		g.ID = "q7k4mb"
		r, err := s.Create(ctx, g)
		must(t, err)
		other := g
		other.Log = other.Log[:3]
		again := New(t, "Yew") // no id of its own
		for n, want := range []store.Outcome{store.Copied, store.Skipped} {
			got, err := s.Import(ctx, []guitar.Guitar{other, again})
			must(t, err)
			if len(got) != 2 || got[0].Outcome != want || got[0].Record.Guitar.ID == "q7k4mb" || got[0].Was != "q7k4mb" {
				t.Errorf("import %d: got %+v, want %s under another id", n+1, got, want)
			}
			if got[1].Record.Guitar.ID == "" || got[1].Outcome != []store.Outcome{store.Added, store.Skipped}[n] {
				t.Errorf("import %d: the guitar without an id: %+v", n+1, got[1])
			}
		}
		now, err := s.Get(ctx, "q7k4mb")
		must(t, err)
		if !reflect.DeepEqual(now, r) {
			t.Errorf("the guitar that was here changed: %v, want %v", now, r)
		}
		count(t, s, 3, 0)
	})

	t.Run("import what was removed", func(t *testing.T) {
		s, _ := open(t)
		g := Worked(t, "Larch")
		g.ID = "q7k4mb"
		r, err := s.Create(ctx, g)
		must(t, err)
		_, err = s.Remove(ctx, g.ID, r.Revision)
		must(t, err)
		got, err := s.Import(ctx, []guitar.Guitar{g})
		must(t, err)
		if got[0].Outcome != store.Restored || got[0].Record.Removed {
			t.Errorf("got %+v, want restored", got[0])
		}
		count(t, s, 1, 0)
	})

	t.Run("import all or nothing", func(t *testing.T) {
		s, _ := open(t)
		bad := New(t, "Elm")
		bad.First = guitar.Values{}
		_, err := s.Import(ctx, []guitar.Guitar{New(t, "Larch"), bad})
		is(t, err, store.ErrInvalid)
		count(t, s, 0, 0)
	})

	t.Run("settings", func(t *testing.T) {
		s, reopen := open(t)
		got, err := s.Settings(ctx)
		must(t, err)
		if !got.Equal(store.DefaultSettings()) {
			t.Errorf("a new shop has %+v", got)
		}
		want := store.Settings{Units: unit.Millimetre, Language: "de", ShopName: "Heron Lane guitar class", Drills: []string{"fractional by 1/32", "#7"}, Prices: map[string]string{"neck": "9,50 per board foot"}, Currency: "€"}
		must(t, s.SaveSettings(ctx, want))
		is(t, s.SaveSettings(ctx, store.Settings{Units: "furlong"}), store.ErrInvalid)
		is(t, s.SaveSettings(ctx, store.Settings{Units: unit.Inch64, Language: "xx"}), store.ErrInvalid)
		is(t, s.SaveSettings(ctx, store.Settings{Units: unit.Inch64, ShopName: strings.Repeat("x", 500)}), store.ErrInvalid)
		var re *unit.RangeError
		if err := s.SaveSettings(ctx, store.Settings{Units: unit.Inch64, Drills: []string{"nonsense"}}); !errors.As(err, &re) || re.Field != "drills" {
			t.Errorf("drills that cannot be read: %v", err)
		}
		if err := s.SaveSettings(ctx, store.Settings{Units: unit.Inch64, Prices: map[string]string{"neck": "dear"}}); !errors.As(err, &re) || re.Field != "price_neck" {
			t.Errorf("a price that cannot be read: %v", err)
		}
		is(t, s.SaveSettings(ctx, store.Settings{Units: unit.Inch64, Currency: "doubloons"}), store.ErrInvalid)
		must(t, s.Close())
		got, err = reopen().Settings(ctx)
		must(t, err)
		if !got.Equal(want) {
			t.Errorf("got %+v, want %+v", got, want)
		}
	})

	t.Run("air goes in once and comes out", func(t *testing.T) {
		s, reopen := open(t)
		got, err := s.AddClimate(ctx, Air())
		must(t, err)
		if got.Added != 3 || got.Same != 0 || len(got.Differ) != 0 {
			t.Errorf("added %+v", got)
		}
		other := Air()
		other[0].Humidity = 60                                                                                    // says otherwise
		other[1].Place = "  store "                                                                               // the same place
		other = append(other, climate.Reading{At: Air()[0].At.Add(2 * time.Hour), Temperature: 20, Humidity: 43}) // a place without a name
		got, err = s.AddClimate(ctx, other)
		must(t, err)
		if got.Added != 1 || got.Same != 2 || len(got.Differ) != 1 || got.Differ[0].Humidity != 60 {
			t.Errorf("added again %+v", got)
		}
		must(t, s.Close())
		s = reopen()
		all, err := s.Climate(ctx, time.Time{}, time.Time{})
		must(t, err)
		if want := append(Air(), other[3]); !reflect.DeepEqual(all, want) {
			t.Errorf("got %v, want %v", all, want)
		}
		some, err := s.Climate(ctx, Air()[2].At, Air()[2].At.Add(time.Hour))
		must(t, err)
		if !reflect.DeepEqual(some, Air()[2:]) {
			t.Errorf("from one hour to the next %v", some)
		}
		must(t, s.RemoveClimate(ctx, Day, "bench"))
		is(t, s.RemoveClimate(ctx, Day, "bench"), store.ErrNotFound)
		if all, err = s.Climate(ctx, time.Time{}, time.Time{}); err != nil || len(all) != 3 {
			t.Errorf("after one was taken away %v, %v", all, err)
		}
		must(t, s.Check(ctx))
	})

	t.Run("air that cannot be is not kept, nor what came with it", func(t *testing.T) {
		s, _ := open(t)
		bad := append(Air(), climate.Reading{At: Day, Place: "attic", Temperature: 200, Humidity: 45})
		_, err := s.AddClimate(ctx, bad)
		is(t, err, store.ErrInvalid)
		if all, err := s.Climate(ctx, time.Time{}, time.Time{}); err != nil || len(all) != 0 {
			t.Errorf("%v, %v", all, err)
		}
	})
}

// KindlySaid returns the sentence of a store's error.
func KindlySaid(err error) string {
	var e *store.Error
	if errors.As(err, &e) {
		return e.Say.In(unit.Millimetre)
	}
	return ""
}

// Told waits until a watcher is told of a record.
func Told(t *testing.T, changes <-chan store.Change, r store.Record) {
	t.Helper()
	if c := next(t, changes); c.ID != r.Guitar.ID || c.Revision != r.Revision {
		t.Errorf("told %+v, want %v", c, r)
	}
}

// patience is how long a change may be on its way.
const patience = 10 * time.Second

func next(t *testing.T, changes <-chan store.Change) store.Change {
	t.Helper()
	select {
	case c, ok := <-changes:
		if !ok {
			t.Fatal("the watch ended")
		}
		return c
	case <-time.After(patience):
		t.Fatal("nobody told")
	}
	return store.Change{}
}

func ends(t *testing.T, changes <-chan store.Change) {
	t.Helper()
	for late := time.After(patience); ; {
		select {
		case _, ok := <-changes:
			if !ok {
				return
			}
		case <-late:
			t.Fatal("the watch goes on")
		}
	}
}

func same(t *testing.T, what string, got, want guitar.Guitar) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s:\n got %s\nwant %s", what, guitar.Encode(got), guitar.Encode(want))
	}
}

func count(t *testing.T, s store.Store, standing, removed int) {
	t.Helper()
	ctx := context.Background()
	all, err := s.List(ctx)
	if err != nil {
		t.Fatal(err)
	}
	gone, err := s.Removed(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != standing || len(gone) != removed {
		t.Errorf("%d guitars and %d removed, want %d and %d", len(all), len(gone), standing, removed)
	}
}
