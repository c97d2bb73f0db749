package shop

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/store"
	"fairset/unit"
)

// sendAs enters a lean under a key as whoever the context says.
func sendAs(ctx context.Context, s *Shop, key string, v View, gap string) (View, Kept, error) {
	return s.EnterOnce(ctx, key, v.Guitar.ID, v.Revision, guitar.StepLean, lean(gap), unit.Millimetre, "bench 3")
}

func TestTheSameKeyIsOneEntry(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	first, kept, err := sendAs(t.Context(), s, "k1", v, "6.4")
	if err != nil || kept != (Kept{Seq: 1, Revision: first.Revision}) {
		t.Fatalf("the first time: %+v, %v", kept, err)
	}
	second := enter(t, s, first, guitar.StepPoint, point("1.5"))
	// Sent again from where it was sent the first time, after another entry: the same answer, and the guitar as it is.
	again, k2, err := sendAs(t.Context(), s, `"k1"`, v, " 6.4 ")
	if err != nil || k2 != (Kept{Seq: 1, Revision: first.Revision, Again: true}) || again.Revision != second.Revision || len(again.Guitar.Log) != 2 {
		t.Errorf("again: %+v, revision %d, log of %d, %v", k2, again.Revision, len(again.Guitar.Log), err)
	}
	// Undone since, it still is not made again.
	undone, _, err := s.Undo(t.Context(), v.Guitar.ID, second.Revision)
	if err != nil {
		t.Fatal(err)
	}
	if _, k, err := sendAs(t.Context(), s, "k1", undone, "6.4"); err != nil || !k.Again {
		t.Errorf("after an undo: %+v, %v", k, err)
	}
	// With something else in it the key is refused.
	_, _, err = sendAs(t.Context(), s, "k1", undone, "6.5")
	if !errors.Is(err, ErrOtherEntry) || KindOf(err) != store.Invalid || !strings.Contains(Sentence(err), "another entry") {
		t.Errorf("another entry under the key: %v", err)
	}
	// What was refused leaves the key free.
	if _, _, err := sendAs(t.Context(), s, "k2", v, "6.6"); KindOf(err) != store.Conflict {
		t.Errorf("from an old page: %v", err)
	}
	if _, _, err := sendAs(t.Context(), s, "k2", undone, "66 in"); KindOf(err) != store.Invalid {
		t.Errorf("out of range: %v", err)
	}
	if _, k, err := sendAs(t.Context(), s, "k2", undone, "6.6"); err != nil || k.Again || k.Seq != 3 {
		t.Errorf("the refused key, put right: %+v, %v", k, err)
	}
	for _, bad := range []string{"two words", `""`, strings.Repeat("x", store.MaxKey+1), "naïve", "a\nb"} {
		if _, _, err := sendAs(t.Context(), s, bad, undone, "6.6"); KindOf(err) != store.Invalid || errors.Is(err, ErrOtherEntry) {
			t.Errorf("key %q: %v", bad, err)
		}
	}
}

func TestAChangeOfDesignUnderAKey(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	change := map[string][]string{"bridge_thickness": {"5/16 in"}}
	do := func() (Kept, error) {
		_, k, err := s.EnterOnce(t.Context(), "d", v.Guitar.ID, v.Revision, guitar.StepDesign, change, unit.Millimetre, "")
		return k, err
	}
	if k, err := do(); err != nil || k.Seq != 1 || k.Again {
		t.Fatalf("first: %+v, %v", k, err)
	}
	if k, err := do(); err != nil || k.Seq != 1 || !k.Again {
		t.Errorf("again: %+v, %v", k, err)
	}
	now, err := s.Guitar(t.Context(), v.Guitar.ID)
	if err != nil {
		t.Fatal(err)
	}
	if _, k, err := s.EnterOnce(t.Context(), "none", v.Guitar.ID, now.Revision, guitar.StepDesign, change, unit.Millimetre, ""); err != nil || k != (Kept{Revision: now.Revision}) {
		t.Errorf("nothing different: %+v, %v", k, err)
	}
}

// Twenty proxies that try again at once.
func TestOneKeyFromManySides(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	var wg sync.WaitGroup
	fresh := make(chan Kept, 20)
	for range 20 {
		wg.Go(func() {
			_, k, err := sendAs(context.WithoutCancel(t.Context()), s, "same", v, "6.4")
			if err != nil || k.Seq != 1 {
				t.Errorf("%+v, %v", k, err)
			}
			if !k.Again {
				fresh <- k
			}
		})
	}
	wg.Wait()
	now, err := s.Guitar(t.Context(), v.Guitar.ID)
	if err != nil || len(now.Guitar.Log) != 1 || len(fresh) != 1 {
		t.Errorf("%d entries, %d said to be new, %v", len(now.Guitar.Log), len(fresh), err)
	}
}

// A key is its account's: another account's key of the same letters is another key, and never shows its guitar.
func TestKeysBelongToTheAccount(t *testing.T) {
	s := testShop(t)
	s.Shared = true
	who := func(name string) context.Context {
		a, err := s.Store.(store.People).AddAccount(t.Context(), store.Account{Name: name, Role: store.Bench, Secret: "x"})
		if err != nil {
			t.Fatal(err)
		}
		return access.With(t.Context(), access.Who{Account: a.ID, Name: a.Name, Role: a.Role})
	}
	three, four := who("bench 3"), who("bench 4")
	mine, err := s.NewFromDesign(three, "Larch", "steel-14", nil, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	yours, err := s.NewFromDesign(four, "Elm", "steel-14", nil, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	if _, k, err := sendAs(three, s, "k", mine, "6.4"); err != nil || k.Again {
		t.Fatal(err)
	}
	if v, k, err := sendAs(four, s, "k", yours, "6.4"); err != nil || k.Again || v.Guitar.ID != yours.Guitar.ID {
		t.Errorf("the other account's: %+v, %v", k, err)
	}
	if _, _, err := sendAs(four, s, "k2", mine, "6.4"); KindOf(err) != store.NotFound {
		t.Errorf("somebody else's guitar: %v", err)
	}
}
