package sheet

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"fairset/craft/climate"
	"fairset/drawing"
	"fairset/language"
	"fairset/unit"
)

// unsaid are letters that stay in every language: units and what threads and drills are called.
var unsaid = []string{"mm", "cm", "in", "lbf", "MPa", "GPa", "kg", "Hz", "UNC", "UNF"}

var letterRuns = regexp.MustCompile(`\pL{2,}`)

// unmarked finds the words that did not go through a catalogue, in lines written in the language that marks those that did. A
// text may run on over lines; one cut short ends in an ellipsis.
func unmarked(lines []string) (words []string, closed bool) {
	depth := 0
	var out strings.Builder
	for _, l := range lines {
		for _, r := range l {
			switch {
			case r == '⟦':
				depth++
				out.WriteByte(' ')
			case r == '⟧':
				depth--
				out.WriteByte(' ')
			case depth == 0:
				out.WriteRune(r)
			}
		}
		if strings.HasSuffix(l, "…") {
			depth = 0
		}
		out.WriteByte('\n')
	}
	for _, w := range letterRuns.FindAllString(out.String(), -1) {
		if !slices.Contains(unsaid, w) {
			words = append(words, w)
		}
	}
	return words, depth == 0
}

// mustBeSaid fails for every word of a sheet in the marking language that stands there in English: drawn, in its title, its
// description or its table. Names that a test made up stand in allow.
func mustBeSaid(t testing.TB, name string, s *drawing.Sheet, allow ...string) {
	t.Helper()
	var drawn []string
	for _, it := range s.Parts() {
		if x, ok := it.Shape.(drawing.Text); ok {
			drawn = append(drawn, x.String)
		}
	}
	check := func(where string, lines ...string) {
		words, closed := unmarked(lines)
		if !closed {
			t.Errorf("%s: a text of its %s does not end: %q", name, where, lines)
		}
		for _, w := range words {
			if !slices.Contains(allow, w) {
				t.Errorf("%s: %q in its %s is said in English", name, w, where)
			}
		}
	}
	check("drawing", drawn...)
	check("title", s.Title)
	check("description", s.Desc)
	for _, row := range s.Table {
		check("table", row...)
	}
}

// Every word on a drawing of the bench, and beside it, comes out of a catalogue.
func TestEveryWordIsSaidInTheReadersLanguage(t *testing.T) {
	n := 0
	forEachIn(t, map[string]unit.Style{"mm": unit.Millimetre.Speaking(language.Pseudo), "in64": unit.Inch64.Speaking(language.Pseudo)}, func(name string, s *drawing.Sheet) {
		n++
		mustBeSaid(t, name, s)
	})
	mustBeSaid(t, "no air", ClimateChart(nil, climate.UsualBand(), ClimateOptions{Style: unit.Millimetre.Speaking(language.Pseudo)}))
	if n < 500 {
		t.Fatalf("only %d drawings looked at", n)
	}
}

func TestUnmarkedWordsAreFound(t *testing.T) {
	for _, c := range []struct {
		lines  []string
		words  []string
		closed bool
	}{
		{[]string{"⟦one two⟧ 3.0 mm E2"}, nil, true},
		{[]string{"⟦one", "⟦two⟧ three⟧", "four"}, []string{"four"}, true},
		{[]string{"⟦one tw…", "three"}, []string{"three"}, true},
		{[]string{"a ⟦b⟧", "bass, ⟦c"}, []string{"bass"}, false},
	} {
		if words, closed := unmarked(c.lines); !slices.Equal(words, c.words) || closed != c.closed {
			t.Errorf("%q: %q, %v", c.lines, words, closed)
		}
	}
}
