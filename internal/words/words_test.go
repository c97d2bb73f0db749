package words

import (
	"flag"
	"testing"

	"fairset/language"
	"fairset/language/markup"
)

var update = flag.Bool("update", false, "write the catalogues anew: new texts without words, old ones dropped")

const root = "../.."

// Every text has its words in every language, none is left over, and the words can stand where the text does.
func TestCataloguesAreWhole(t *testing.T) {
	found, faults, err := All(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		t.Errorf("%s: %s", f.At, f.Why)
	}
	for _, c := range language.Codes() {
		if c == language.English {
			continue
		}
		known, err := Known(root+"/language", c)
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := Write(root+"/language", c, found, known); err != nil {
				t.Fatal(err)
			}
		}
		missing := 0
		for _, f := range found {
			words := known[f.ID+"\x00"+f.Many]
			delete(known, f.ID+"\x00"+f.Many)
			if len(words) == 0 {
				missing++
				if missing <= 20 {
					t.Errorf("%s: %s has no words for %q", f.File, c.Name(), f.ID)
				}
				continue
			}
			err := Check(f.ID, f.Many, words)
			if err == nil && areaOf(f.File) == "pages" {
				err = markup.Check(f.ID, words[0])
			}
			if err != nil {
				t.Errorf("%s: %q for %q: %v", f.File, words, f.ID, err)
			}
		}
		if missing > 20 {
			t.Errorf("%s lacks words for %d of %d texts", c.Name(), missing, len(found))
		}
		if !*update {
			for id := range known {
				t.Errorf("%s has words for %q, which nobody says", c.Name(), id)
			}
		}
	}
}
