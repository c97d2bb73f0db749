package storetest

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"fairset/internal/store"
)

// Once is a store that also keeps keys of entries.
type Once interface {
	store.Store
	store.Keys
}

// RunKeys runs what every store that keeps keys of entries must do.
func RunKeys(t *testing.T, open func(t *testing.T) (s Once, reopen func() Once)) {
	ctx := t.Context()
	made := func(t *testing.T, s Once) store.Record {
		t.Helper()
		r, err := s.Create(ctx, New(t, "Larch"))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}

	t.Run("a key is kept with its entry, and belongs to its account", func(t *testing.T) {
		s, reopen := open(t)
		r := made(t, s)
		k := store.Key{Account: "", Text: "k-1", What: "lean 6.4"}
		if _, err := s.Sent(ctx, k.Account, k.Text); !errors.Is(err, store.ErrNotFound) {
			t.Fatalf("before it was used: %v", err)
		}
		now, err := s.AppendOnce(ctx, r.Guitar.ID, r.Revision, Lean(t, r.Guitar, 1), k)
		if err != nil {
			t.Fatal(err)
		}
		want := store.Sent{Key: k, Guitar: r.Guitar.ID, Seq: 1, Revision: now.Revision}
		s = reopen()
		if got, err := s.Sent(ctx, "", "k-1"); err != nil || got != want {
			t.Errorf("got %+v, %v; want %+v", got, err, want)
		}
		if _, err := s.Sent(ctx, "another", "k-1"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("another account's: %v", err)
		}
		// The same key again makes no second entry, whatever revision it names.
		for _, revision := range []int64{r.Revision, now.Revision} {
			_, err := s.AppendOnce(ctx, r.Guitar.ID, revision, Lean(t, now.Guitar, 1), k)
			if !errors.Is(err, store.ErrConflict) {
				t.Errorf("again at revision %d: %v", revision, err)
			}
		}
		k.Account = "another"
		if _, err := s.AppendOnce(ctx, r.Guitar.ID, now.Revision, Lean(t, now.Guitar, 2), k); err != nil {
			t.Errorf("the same key of another account: %v", err)
		}
		after, err := s.Get(ctx, r.Guitar.ID)
		if err != nil || len(after.Guitar.Log) != 2 {
			t.Errorf("%d entries, %v; want 2", len(after.Guitar.Log), err)
		}
		if err := s.Check(ctx); err != nil {
			t.Error(err)
		}
	})

	t.Run("an entry that is refused leaves no key", func(t *testing.T) {
		s, _ := open(t)
		r := made(t, s)
		if _, err := s.AppendOnce(ctx, r.Guitar.ID, r.Revision+1, Lean(t, r.Guitar, 1), store.Key{Text: "k"}); !errors.Is(err, store.ErrConflict) {
			t.Fatalf("at a revision that is not: %v", err)
		}
		bad := Lean(t, r.Guitar, 1)
		bad.Seq = 7
		if _, err := s.AppendOnce(ctx, r.Guitar.ID, r.Revision, bad, store.Key{Text: "k"}); !errors.Is(err, store.ErrInvalid) {
			t.Fatalf("numbered wrong: %v", err)
		}
		if _, err := s.Sent(ctx, "", "k"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("the key stands: %v", err)
		}
	})

	t.Run("of many at once with one key, one is kept", func(t *testing.T) {
		s, _ := open(t)
		r := made(t, s)
		var wg sync.WaitGroup
		kept := make(chan int64, 8)
		for i := range 8 {
			e := Lean(t, r.Guitar, i)
			wg.Go(func() {
				if now, err := s.AppendOnce(context.WithoutCancel(ctx), r.Guitar.ID, r.Revision, e, store.Key{Text: "same"}); err == nil {
					kept <- now.Revision
				} else if !errors.Is(err, store.ErrConflict) {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		if len(kept) != 1 {
			t.Errorf("%d were kept", len(kept))
		}
		if got, err := s.Sent(ctx, "", "same"); err != nil || got.Seq != 1 || got.Revision != <-kept {
			t.Errorf("the key stands for %+v, %v", got, err)
		}
	})

	t.Run("keys of every kind", func(t *testing.T) {
		s, _ := open(t)
		r := made(t, s)
		for i, text := range []string{"K", "k", "'; DROP TABLE sent; --", strings.Repeat("~", store.MaxKey)} {
			var err error
			if r, err = s.AppendOnce(ctx, r.Guitar.ID, r.Revision, Lean(t, r.Guitar, i), store.Key{Text: text, What: fmt.Sprint(i)}); err != nil {
				t.Fatalf("%q: %v", text, err)
			}
			if got, err := s.Sent(ctx, "", text); err != nil || got.Seq != i+1 || got.What != fmt.Sprint(i) {
				t.Errorf("%q stands for %+v, %v", text, got, err)
			}
		}
	})
}
