package storetest

import (
	"fmt"
	"testing"
	"time"

	"fairset/internal/store"
	"fairset/unit"
)

// Everything is a store of all there is.
type Everything interface {
	Pictured
	store.Keys
}

// Fill makes a shop in which everything a shop can hold is held.
func Fill(t testing.TB, s Everything) {
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
	must(s.AddSession(ctx, store.Session{Hash: "h1", Account: front.ID, Kind: store.PageSession, Made: Day, Seen: Day, Ends: Day.AddDate(50, 0, 0)}))
	must(s.AddSession(ctx, store.Session{Hash: "h2", Account: front.ID, Kind: store.ScriptSession, Label: "scale", Made: Day, Seen: Day}))
	for i := range 3 {
		must(s.Note(ctx, store.Event{At: Day.Add(time.Duration(i)), Who: "bench 3", Did: "signed in"}))
	}
	_, err = s.AddClimate(ctx, Air())
	must(err)
	for i := range 5 {
		r, err := s.CreateFor(ctx, Worked(t, fmt.Sprint("Larch ", i)), bench.ID)
		must(err)
		r, _, err = s.Undo(ctx, r.Guitar.ID, r.Revision)
		must(err)
		r, err = s.Append(ctx, r.Guitar.ID, r.Revision, Lean(t, r.Guitar, i))
		must(err)
		ps, err := s.AddPhotos(ctx, []store.PhotoFile{Shot(r.Guitar.ID, i), Shot(r.Guitar.ID, i+10)})
		must(err)
		if i == 1 {
			_, err = s.RemovePhotos(ctx, ps[0].ID)
			must(err)
			_, err = s.AppendOnce(ctx, r.Guitar.ID, r.Revision, Lean(t, r.Guitar, i), store.Key{Account: bench.ID, Text: "K1", What: "lean"})
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
