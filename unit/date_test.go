package unit_test

import (
	"testing"
	"time"

	"fairset/language"
	"fairset/unit"
)

// In English a date reads as package time writes it, whatever the month.
func TestDatesReadAsTheirLayouts(t *testing.T) {
	for _, layout := range []unit.Text{"2 Jan 2006 15:04", "2 January 2006", "Jan 2006", "2 Jan", "15:04"} {
		for m := time.January; m <= time.December; m++ {
			at := time.Date(2026, m, 3, 9, 5, 0, 0, time.UTC)
			if got, want := unit.Millimetre.Date(at, layout), at.Format(string(layout)); got != want {
				t.Errorf("%q: %q, want %q", layout, got, want)
			}
		}
	}
	at := time.Date(2026, time.May, 3, 9, 5, 0, 0, time.UTC)
	if got, want := unit.Millimetre.Speaking(language.Pseudo).Date(at, "2 Jan 2006 15:04"), "⟦3 ⟦May⟧ 2026 09:05⟧"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
