package shop

import (
	"path/filepath"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/storetest"
)

// A clock that jumps between entries changes when they say they were made, and nothing else: they stand in the order they
// came in, the figures are those of the last, a key sent again finds its entry, and an old page is still told.
func TestEntriesKeepTheirOrderWhateverTheClock(t *testing.T) {
	now := storetest.Day.Truncate(time.Millisecond)
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s := New(db)
	s.Now = func() time.Time { return now }
	v := larch(t, s)
	start := v
	var said []time.Time
	for n, jump := range []struct {
		years, days int
		gap         string
	}{{0, 0, "6.0"}, {0, -1, "6.1"}, {10, 0, "6.2"}, {-10, 0, "6.3"}, {-60, 0, "6.4"}, {60, 1, "6.5"}} {
		now = now.AddDate(jump.years, 0, jump.days)
		said = append(said, now)
		key := "k" + jump.gap
		next, k, err := sendAs(t.Context(), s, key, v, jump.gap)
		if err != nil || k.Again || k.Seq != n+1 || next.Revision != v.Revision+1 {
			t.Fatalf("entry %d at %v: %+v, %v", n+1, now, k, err)
		}
		for _, later := range []int{-1, 3650} { // the phone was out of reach, and sends it again at another time
			now = now.AddDate(0, 0, later)
			if _, again, err := sendAs(t.Context(), s, key, v, jump.gap); err != nil || !again.Again || again.Seq != k.Seq {
				t.Errorf("sent again %d days later: %+v, %v", later, again, err)
			}
			now = now.AddDate(0, 0, -later)
		}
		s.Note(t.Context(), "entry %d", n+1)
		v = next
	}
	if _, _, err := sendAs(t.Context(), s, "late", start, "7.0"); KindOf(err) != store.Conflict {
		t.Errorf("from an old page: %v", err)
	}
	again, err := s.Guitar(t.Context(), v.Guitar.ID)
	if err != nil || len(again.Guitar.Log) != 6 {
		t.Fatalf("%d entries, %v", len(again.Guitar.Log), err)
	}
	for i, e := range again.Guitar.Log {
		if e.Seq != i+1 || !e.At.Equal(said[i]) {
			t.Errorf("entry %d is number %d of %v, made at %v", i+1, e.Seq, e.At, said[i])
		}
	}
	last := again.Guitar.Log[5]
	if last.Step != guitar.StepLean || last.Values["gap"][0].Text != "6.5" {
		t.Errorf("the last reading is %v", last.Values)
	}
	undone, e, err := s.Undo(t.Context(), v.Guitar.ID, v.Revision)
	if err != nil || e.Seq != 6 || !undone.Guitar.Log[5].Undone {
		t.Errorf("undone is %d, %v", e.Seq, err)
	}
	events, err := db.Events(t.Context(), 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(events); i++ {
		if events[i].Seq >= events[i-1].Seq {
			t.Errorf("event %d comes after event %d", events[i].Seq, events[i-1].Seq)
		}
	}
	if err := db.Check(t.Context()); err != nil {
		t.Error(err)
	}
}
