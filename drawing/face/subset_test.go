package face

import (
	"bytes"
	"slices"
	"testing"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Every letter the subset keeps is the letter of the whole font, and the file stands on its own.
func TestSubset(t *testing.T) {
	for _, bold := range []bool{false, true} {
		f := Of(bold)
		tables := []string{"OS/2", "cmap", "cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "name", "post", "prep"} // what the reader below insists on
		var use []Glyph
		words := "Fret ½ ä Å 12 → é"
		for _, r := range words {
			use = append(use, f.Glyph(r))
		}
		small := f.subset(use, tables...)
		if again := f.subset(use, tables...); !bytes.Equal(small, again) {
			t.Error("the same letters gave other bytes")
		}
		sub, err := sfnt.Parse(small)
		if err != nil {
			t.Fatal(err)
		}
		var b1, b2 sfnt.Buffer
		for i, g := range use {
			want, err := f.font.LoadGlyph(&b1, g, fixed.I(2048), nil)
			if err != nil {
				t.Fatal(err)
			}
			got, err := sub.LoadGlyph(&b2, g, fixed.I(2048), nil)
			if err != nil || !slices.Equal(got, want) {
				t.Errorf("letter %d of %q differs: %v", i, words, err)
			}
		}
		if n := len(f.Subset(use)); n > 60_000 {
			t.Errorf("%d letters take %d bytes", len(use), n)
		}
	}
}
