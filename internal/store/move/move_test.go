package move

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

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

// fill makes a shop in which everything a shop can hold is held.
func fill(t *testing.T, s Store) {
	t.Helper()
	ctx := t.Context()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(s.SaveSettings(ctx, store.Settings{Units: unit.Millimetre, ShopName: "Heron Lane — “λ ½”", Drills: []string{"3.2 mm", "1/8"}, Currency: "€"}))
	front, err := s.AddAccount(ctx, store.Account{Name: "Front desk", Role: store.Teacher, Secret: "hash of one"})
	must(err)
	bench, err := s.AddAccount(ctx, store.Account{Name: "bench 3", Role: store.Bench, Secret: "hash of two"})
	must(err)
	_, err = s.Tried(ctx, bench.ID, false, 1)
	must(err)
	must(s.AddSession(ctx, store.Session{Hash: "h1", Account: front.ID, Kind: store.PageSession, Made: storetest.Day, Seen: storetest.Day, Ends: storetest.Day.AddDate(50, 0, 0)}))
	must(s.AddSession(ctx, store.Session{Hash: "h2", Account: front.ID, Kind: store.ScriptSession, Label: "scale", Made: storetest.Day, Seen: storetest.Day}))
	for i := range 3 {
		must(s.Note(ctx, store.Event{At: storetest.Day.Add(time.Duration(i)), Who: "bench 3", Did: "signed in"}))
	}
	_, err = s.AddClimate(ctx, storetest.Air())
	must(err)
	for i := range 5 {
		r, err := s.CreateFor(ctx, storetest.Worked(t, fmt.Sprint("Larch ", i)), bench.ID)
		must(err)
		r, _, err = s.Undo(ctx, r.Guitar.ID, r.Revision)
		must(err)
		r, err = s.Append(ctx, r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, i))
		must(err)
		ps, err := s.AddPhotos(ctx, []store.PhotoFile{storetest.Shot(r.Guitar.ID, i), storetest.Shot(r.Guitar.ID, i+10)})
		must(err)
		if i == 1 {
			_, err = s.RemovePhotos(ctx, ps[0].ID)
			must(err)
			_, err = s.AppendOnce(ctx, r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, i), store.Key{Account: bench.ID, Text: "K1", What: "lean"})
			must(err)
		}
		if i == 2 {
			_, err = s.Remove(ctx, r.Guitar.ID, r.Revision)
			must(err)
		}
		if i == 3 {
			_, err = s.Assign(ctx, r.Guitar.ID, "")
			must(err)
		}
	}
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
	fill(t, s)
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
		fill(t, from)
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
			fill(t, from)
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
	var out []string
	for _, p := range m.Say() {
		out = append(out, p.In(unit.Millimetre))
	}
	return strings.Join(out, ", ")
}
