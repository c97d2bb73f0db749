package sheet

import (
	"testing"

	"fairset/craft/climate"
	"fairset/drawing"
	"fairset/internal/unsaid"
	"fairset/language"
	"fairset/unit"
)

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
		words, closed := unsaid.Words(lines, allow...)
		if !closed {
			t.Errorf("%s: a text of its %s does not end: %q", name, where, lines)
		}
		for _, w := range words {
			t.Errorf("%s: %q in its %s is said in English", name, w, where)
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
