package unit

import (
	"strconv"
	"strings"
	"unicode"
)

// Cell returns a text as a cell of a table. One that a spreadsheet could take for a formula gets an apostrophe
// before it; plain numbers stay.
//
// source: OWASP, "CSV Injection": cells that begin with = + - @, tab, carriage return or line feed, or with the
// full-width forms of the signs. Spaces before them are looked through.
func Cell(s string) string {
	rest := strings.TrimLeftFunc(s, func(r rune) bool { return unicode.IsSpace(r) && !strings.ContainsRune("\t\r\n", r) })
	if rest == "" || !strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(rest)[0]) {
		return s
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil && !strings.ContainsAny(s, "nNiIxX_") {
		return s
	}
	return "'" + s
}
