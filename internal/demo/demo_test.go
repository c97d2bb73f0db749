package demo_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/demo"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
)

// TestFill shows that the made-up shop has something to see at every kind of step.
func TestFill(t *testing.T) {
	db, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s := shop.New(db)
	if err := demo.Fill(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	vs, err := s.Guitars(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	waiting := map[string]guitar.Step{}
	for _, v := range vs {
		waiting[v.Guitar.Name] = v.Bench.Waiting
		t.Logf("%-10s waits for %q after %d entries, %d passes %s", v.Guitar.Name, v.Bench.Waiting, len(v.Guitar.Log), len(v.Bench.Passes), v.Bench.Stuck)
		if v.Changed.Before(v.Guitar.Created) {
			t.Errorf("%s changed before it was made", v.Guitar.Name)
		}
	}
	for _, v := range vs {
		if got, want := !v.Bench.Stuck.Empty(), v.Guitar.Name == "Lapwing"; got != want {
			t.Errorf("%s is stuck: %v, want %v", v.Guitar.Name, got, want)
		}
		if v.Guitar.Log[len(v.Guitar.Log)-1].At.After(time.Now()) {
			t.Errorf("%s has an entry from tomorrow", v.Guitar.Name)
		}
	}
	for name, want := range map[string]guitar.Step{"Dunlin": "", "Godwit": guitar.StepStrung, "Whimbrel": guitar.StepCut, "Sandpiper": guitar.StepDrill, "Heron": guitar.StepTenon, "Ruff": guitar.StepLean, "Lapwing": guitar.StepCut} {
		if got, ok := waiting[name]; !ok || got != want {
			t.Errorf("%s waits for %q (there: %v), want %q", name, got, ok, want)
		}
	}
}
