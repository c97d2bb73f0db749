package move

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fairset/internal/backup"
	"fairset/internal/store"
	"fairset/internal/store/postgres"
	"fairset/internal/store/postgres/pgtest"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/storetest"
	"fairset/unit"
)

func openAt(t *testing.T, place string) Store {
	t.Helper()
	var s Store
	var err error
	if postgres.Is(place) {
		s, err = postgres.Open(t.Context(), place, postgres.Options{})
	} else {
		s, err = sqlite.Open(t.Context(), place, sqlite.Options{})
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// everything reads a shop through the duties of a store.
func everything(t *testing.T, s Store) map[string]any {
	t.Helper()
	ctx := context.Background()
	out := map[string]any{}
	keep := func(what string, v any, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		out[what] = v
	}
	on, err := s.List(ctx)
	keep("guitars", on, err)
	off, err := s.Removed(ctx)
	keep("removed", off, err)
	settings, err := s.Settings(ctx)
	keep("settings", settings, err)
	air, err := s.Climate(ctx, time.Time{}, time.Time{})
	keep("air", air, err)
	accounts, err := s.Accounts(ctx)
	keep("accounts", accounts, err)
	for _, a := range accounts {
		sessions, err := s.Sessions(ctx, a.ID)
		keep("sessions of "+a.Name, sessions, err)
	}
	for _, a := range accounts {
		if k, err := s.Sent(ctx, a.ID, "K1"); store.KindOf(err) != store.NotFound {
			keep("key of "+a.Name, k, err)
		}
	}
	for _, r := range append(slices.Clone(on), off...) {
		photos, err := s.Photos(ctx, r.Guitar.ID)
		keep("photos of "+r.Guitar.Name, photos, err)
		for _, p := range photos {
			data, err := s.PhotoBytes(ctx, p.ID, false)
			keep("picture "+p.ID, data, err)
		}
	}
	events, err := s.Events(ctx, 0, 100)
	keep("events", events, err)
	return out
}

func TestThereAndBack(t *testing.T) {
	first := filepath.Join(t.TempDir(), "shop.db")
	second, third := pgtest.Schema(t), filepath.Join(t.TempDir(), "back.db")
	s := openAt(t, first)
	storetest.Fill(t, s)
	want := everything(t, s)
	for _, place := range []string{second, pgtest.Schema(t), third} {
		to := openAt(t, place)
		n, err := Move(t.Context(), s, to)
		if err != nil {
			t.Fatal(err)
		}
		if say := said(n); say != "5 guitars, 31 entries, 2 accounts, 2 sessions, 3 events, 3 readings of the air, 10 photos" {
			t.Errorf("moved %s", say)
		}
		if got := everything(t, to); !reflect.DeepEqual(got, want) {
			t.Errorf("in %s:\n got %+v\nwant %+v", place, got, want)
		}
		if got := everything(t, s); !reflect.DeepEqual(got, want) {
			t.Error("the shop it came from changed")
		}
		s = to
	}
	// Life goes on: numbers go on after those that came along.
	s = openAt(t, second)
	if err := s.Note(t.Context(), store.Event{At: storetest.Day, Who: "bench 3", Did: "signed out"}); err != nil {
		t.Fatal(err)
	}
	if events, err := s.Events(t.Context(), 0, 1); err != nil || events[0].Seq != 4 || events[0].Did != "signed out" {
		t.Errorf("%+v, %v", events, err)
	}
}

func TestNothingIsOverwritten(t *testing.T) {
	for _, place := range []string{filepath.Join(t.TempDir(), "a.db"), pgtest.Schema(t)} {
		from, to := openAt(t, filepath.Join(t.TempDir(), "b.db")), openAt(t, place)
		storetest.Fill(t, from)
		if _, err := to.Create(t.Context(), storetest.New(t, "Elm")); err != nil {
			t.Fatal(err)
		}
		want := everything(t, to)
		if _, err := Move(t.Context(), from, to); !errors.Is(err, store.ErrInvalid) || !strings.Contains(storetest.KindlySaid(err), "not empty") {
			t.Errorf("to a shop in use: %v", err)
		}
		if got := everything(t, to); !reflect.DeepEqual(got, want) {
			t.Error("it was changed")
		}
		named := openAt(t, filepath.Join(t.TempDir(), "c.db"))
		if err := named.SaveSettings(t.Context(), store.Settings{Units: unit.Inch64, ShopName: "Heron Lane"}); err != nil {
			t.Fatal(err)
		}
		if _, err := Move(t.Context(), from, named); !errors.Is(err, store.ErrInvalid) {
			t.Errorf("to a shop with a name: %v", err)
		}
		if _, err := Move(t.Context(), from, from); err == nil {
			t.Error("moved to itself")
		}
	}
}

// A copy that does not come out the same is not kept.
func TestACopyThatDiffersIsNotKept(t *testing.T) {
	for name, spoil := range map[string]string{
		"a figure":   `CREATE FUNCTION spoil() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN NEW.values_json = replace(NEW.values_json::text, '17/64', '18/64')::json; RETURN NEW; END$$; CREATE TRIGGER spoil BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION spoil()`,
		"a row":      `CREATE FUNCTION spoil() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN RETURN NULL; END$$; CREATE TRIGGER spoil BEFORE INSERT ON climate FOR EACH ROW EXECUTE FUNCTION spoil()`,
		"a revision": `CREATE FUNCTION spoil() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN NEW.revision = NEW.revision + 1; RETURN NEW; END$$; CREATE TRIGGER spoil BEFORE INSERT ON guitar FOR EACH ROW EXECUTE FUNCTION spoil()`,
	} {
		t.Run(name, func(t *testing.T) {
			address := pgtest.Schema(t)
			from, to := openAt(t, filepath.Join(t.TempDir(), "shop.db")), openAt(t, address)
			storetest.Fill(t, from)
			if err := pgtest.Exec(t, address, spoil); err != nil {
				t.Fatal(err)
			}
			if _, err := Move(t.Context(), from, to); !errors.Is(err, store.ErrDamaged) || !strings.Contains(storetest.KindlySaid(err), "not the same") {
				t.Fatalf("got %v", err)
			}
			if all, err := to.List(t.Context()); err != nil || len(all) != 0 {
				t.Errorf("%d guitars kept, %v", len(all), err)
			}
			if s, err := to.Settings(t.Context()); err != nil || !s.Equal(store.DefaultSettings()) {
				t.Errorf("settings kept: %+v, %v", s, err)
			}
		})
	}
}

// said is what the program says was moved.
func said(m Moved) string {
	return strings.Join(unit.Each(m.Say(), unit.Millimetre), ", ")
}

// contents is everything in a shop's file or copy, through the duties of a store.
func contents(t *testing.T, path string) map[string]any {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := filepath.Join(t.TempDir(), "opened.db") // a copy stays as it is
	if err := os.WriteFile(at, data, 0o600); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, at)
	return everything(t, s)
}

// A database is copied while benches save: the copy is one moment of the shop, whole and with its sum, and nobody waits.
func TestDatabaseCopiedWhileBenchesSave(t *testing.T) {
	s := openAt(t, pgtest.Schema(t))
	storetest.Fill(t, s)
	// Two guitars that always change in one stroke: in a copy of one moment both have as many entries.
	var pair []store.Record
	for i := range 2 {
		r, err := s.Create(t.Context(), storetest.New(t, fmt.Sprint("Pair ", i)))
		if err != nil {
			t.Fatal(err)
		}
		pair = append(pair, r)
	}
	many := s.(store.Many)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var saving sync.WaitGroup
	var saves atomic.Int64
	saving.Go(func() {
		for ctx.Err() == nil {
			var as []store.Addition
			for _, r := range pair {
				as = append(as, store.Addition{ID: r.Guitar.ID, Revision: r.Revision, Entry: storetest.Lean(t, r.Guitar, 1)})
			}
			got, err := many.AppendAll(t.Context(), as)
			if err != nil {
				t.Error(err)
				return
			}
			pair = got
			saves.Add(1)
		}
	})
	src, err := Source(s)
	if err != nil {
		t.Fatal(err)
	}
	f := backup.Folder{Dir: filepath.Join(t.TempDir(), "copies"), Shop: "/db.example.org:5432/public/fairset"}
	k := &backup.Keeper{Folder: f, From: src, Policy: backup.Policy{Last: 2}}
	during := int64(0)
	for range 4 {
		was := saves.Load()
		c, err := k.Make(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		during += saves.Load() - was
		if e, err := sqlite.Examine(t.Context(), c.Path); err != nil || !e.Summed || e.Guitars+e.Removed != 7 {
			t.Errorf("%s: %+v, %v", c.Name, e, err)
		}
		var lengths []int
		for _, r := range contents(t, c.Path)["guitars"].([]store.Record) {
			if strings.HasPrefix(r.Guitar.Name, "Pair") {
				lengths = append(lengths, len(r.Guitar.Log))
			}
		}
		if len(lengths) != 2 || lengths[0] != lengths[1] {
			t.Errorf("%s is no single moment: %v", c.Name, lengths)
		}
	}
	stop()
	saving.Wait()
	t.Logf("%d saves while four copies were made", during)
	if during == 0 {
		t.Error("nobody could save while a copy was made")
	}
	if all, err := f.List(); err != nil || len(all) != 2 {
		t.Errorf("%d copies stay of four, %v; two were to be kept", len(all), err)
	}
	if left, err := os.ReadDir(f.Dir); err != nil || len(left) != 4 { // with their sums
		t.Errorf("left in the folder: %v, %v", left, err)
	}
	k.Policy = backup.Usual
	c, err := k.Make(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	want := everything(t, s)
	if got := contents(t, c.Path); !reflect.DeepEqual(got, want) {
		t.Errorf("the copy is another shop:\n got %+v\nwant %+v", got, want)
	}
	// And back: into an empty database, and nowhere else.
	empty := openAt(t, pgtest.Schema(t))
	r, err := Restore(t.Context(), c.Path, empty.(*postgres.Store))
	if err != nil || r.Guitars+r.Removed != 7 || !r.Summed {
		t.Fatalf("%+v, %v", r, err)
	}
	if got := everything(t, empty); !reflect.DeepEqual(got, want) {
		t.Errorf("restored it is another shop:\n got %+v\nwant %+v", got, want)
	}
	if _, err := Restore(t.Context(), c.Path, empty.(*postgres.Store)); !errors.Is(err, store.ErrInvalid) {
		t.Errorf("restored over a shop: %v", err)
	}
	data, err := os.ReadFile(c.Path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 4
	if err := os.WriteFile(c.Path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	third := openAt(t, pgtest.Schema(t))
	if _, err := Restore(t.Context(), c.Path, third.(*postgres.Store)); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("a spoilt copy: %v", err)
	}
	if all, err := third.List(t.Context()); err != nil || len(all) != 0 {
		t.Errorf("%d guitars of a spoilt copy, %v", len(all), err)
	}
}

// Copies that older programs made of a file go into a database as well.
func TestOlderCopiesGoIntoADatabase(t *testing.T) {
	old, err := filepath.Glob("../sqlite/testdata/schema-*.sqlite")
	if err != nil || len(old) < 6 {
		t.Fatal(old, err)
	}
	for _, path := range old {
		to := openAt(t, pgtest.Schema(t))
		r, err := Restore(t.Context(), path, to.(*postgres.Store))
		if err != nil || !strings.HasPrefix(said(r.Moved), "2 guitars, ") {
			t.Errorf("%s: %+v, %v", path, r, err)
		}
		if err := to.Check(t.Context()); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
}
