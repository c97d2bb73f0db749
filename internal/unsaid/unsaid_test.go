package unsaid_test

import (
	"slices"
	"testing"

	"fairset/internal/unsaid"
)

func TestUnmarkedWordsAreFound(t *testing.T) {
	for _, c := range []struct {
		lines  []string
		words  []string
		closed bool
	}{
		{[]string{"⟦one two⟧ 3.0 mm E2 Heron"}, nil, true},
		{[]string{"⟦one", "⟦two⟧ three⟧", "four"}, []string{"four"}, true},
		{[]string{"⟦one tw…", "three"}, []string{"three"}, true},
		{[]string{"a ⟦b⟧", "bass, ⟦c"}, []string{"bass"}, false},
	} {
		if words, closed := unsaid.Words(c.lines, "Heron"); !slices.Equal(words, c.words) || closed != c.closed {
			t.Errorf("%q: %q, %v", c.lines, words, closed)
		}
	}
}
