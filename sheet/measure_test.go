package sheet

import (
	"slices"
	"testing"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/language"
	"fairset/unit"
)

// Each small drawing shows its one figure, with words that are large, on the paper and clear of each other.
func TestSmallDrawingsOfMeasuring(t *testing.T) {
	used := map[string]bool{}
	for _, key := range guitar.MeasuredFields() {
		m, _ := guitar.Measure(key)
		used[m.View] = true
		for _, c := range append(language.Codes(), language.Pseudo) {
			shown(t, key, m, unit.Millimetre.Speaking(c))
		}
	}
	for view := range measureViews {
		if !used[view] {
			t.Errorf("nobody uses the view %q", view)
		}
	}
	if Measure("none", "", "", unit.Millimetre) != nil {
		t.Error("a view there is none of is drawn")
	}
	a, b := Measure("side", "gap", "x", unit.Millimetre), Measure("side", "gap", "x", unit.Millimetre)
	if !slices.EqualFunc(a.Items, b.Items, func(p, q drawing.Item) bool { return p.Name == q.Name && p.Layer == q.Layer }) {
		t.Error("the same drawing differs")
	}
}

// shown is what the small drawing of a field must be, in any language.
func shown(t *testing.T, key string, m guitar.Measuring, style unit.Style) {
	t.Helper()
	s := Measure(m.View, m.Mark, "Where it is taken", style)
	if s == nil {
		t.Errorf("%s: no view %q", key, m.View)
		return
	}
	if err := s.Check(); err != nil {
		t.Errorf("%s: %v", key, err)
	}
	if _, ok := s.Find("mark"); !ok {
		t.Errorf("%s: the %s has no mark %q", key, m.View, m.Mark)
	}
	var words []drawing.Text
	for _, it := range s.Parts() {
		if x, ok := it.Shape.(drawing.Text); ok && x.String != "" {
			words = append(words, x)
		}
	}
	page := box(0, 0, narrowWidth, measureHeight)
	for i, w := range words {
		if w.Size < mm(small) {
			t.Errorf("%s: %q is too small", key, w.String)
		}
		if !w.Box().Inside(page) {
			t.Errorf("%s: %q leaves the paper", key, w.String)
		}
		for _, o := range words[:i] {
			if w.Box().Overlaps(o.Box()) {
				t.Errorf("%s: %q lies over %q", key, w.String, o.String)
			}
		}
	}
}
