package shop_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
)

// A top is worked out once, shown to whoever asks again at no cost, and given up when nobody waits for it any more.
func TestTopsAreKept(t *testing.T) {
	d := guitar.Bases()[3].Values // the smallest
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s := shop.New(db)
	if _, ok := s.TopKept(d, 0); ok {
		t.Error("a top that nobody asked for is kept")
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.TopOf(ended, d, 0, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("given up, it says %v", err)
	}
	var shares []float64
	a, err := s.TopOf(t.Context(), d, 0, func(share float64) { shares = append(shares, share) })
	if err != nil {
		t.Fatal(err)
	}
	if len(shares) < 2 || shares[0] < 0 || shares[len(shares)-1] > 1 {
		t.Errorf("told of its progress %d times", len(shares))
	}
	if _, ok := s.TopKept(d, guitar.TopModes); ok {
		t.Error("modes are kept that nobody asked for")
	}
	told := len(shares)
	b, err := s.TopOf(t.Context(), d, 0, func(share float64) { shares = append(shares, share) })
	if err != nil || b.SaddleRise != a.SaddleRise || len(shares) != told {
		t.Errorf("asked again: %v, %v against %v, %d steps", err, b.SaddleRise, a.SaddleRise, len(shares)-told)
	}
	s.Warm(ended)
}
