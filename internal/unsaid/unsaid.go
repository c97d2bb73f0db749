// Package unsaid finds words that a maker would read in English whatever their language: those that did not go through a catalogue.
// It is used by tests.
package unsaid

import (
	"regexp"
	"slices"
	"strings"
)

// always are letters that stay in every language: units, and what threads, drills and kinds of file are called.
var always = []string{"mm", "cm", "in", "ft", "lbf", "MPa", "GPa", "kg", "kB", "MB", "Hz", "UNC", "UNF", "PDF", "SVG", "DXF", "PNG", "CSV", "JSON"}

var runs = regexp.MustCompile(`\pL{2,}`)

// Words returns the words of lines that are written in the language that marks what it says (language.Pseudo) and are not
// marked, but for those in allow. A text may run on over lines; one cut short ends in an ellipsis. closed is false when a text does
// not end.
func Words(lines []string, allow ...string) (words []string, closed bool) {
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
	for _, w := range runs.FindAllString(out.String(), -1) {
		if !slices.Contains(always, w) && !slices.Contains(allow, w) {
			words = append(words, w)
		}
	}
	return words, depth == 0
}
