package fastening_test

import (
	"testing"

	"fairset/craft/fastening"
	"fairset/language"
	"fairset/unit"
)

// A metric drill is a number of millimetres, written as each language writes numbers; the others are names, the same in all.
func TestDrillsAreNamedInTheMakersLanguage(t *testing.T) {
	for _, c := range []struct{ name, english, german string }{{"4.5 mm", "4.5 mm", "4,5 mm"}, {"#7", "#7", "#7"}, {"9/32", "9/32 in", "9/32 in"}, {"F", "F", "F"}} {
		ds, err := fastening.Owned(c.name)
		if err != nil || len(ds) != 1 {
			t.Fatalf("%s: %v, %v", c.name, ds, err)
		}
		if got := ds[0].In(unit.Millimetre); got != c.english {
			t.Errorf("%s is called %q", c.name, got)
		}
		if got := ds[0].In(unit.Millimetre.Speaking(language.German)); got != c.german {
			t.Errorf("%s is called %q in German", c.name, got)
		}
	}
}
