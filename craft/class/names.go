package class

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/unit"
)

// MostCopies bounds how many guitars are made at once.
const MostCopies = 200

var run = regexp.MustCompile(`^(.*?)(\d{1,6})\s*(?:…|\.{2,3}|-|–|\bto\b|\bbis\b)\s*(\d{1,6})$`)

// Names reads how the guitars of a class shall be called: "Alder 1…12" (also 1..12, 1-12, 1 to 12, 1 bis 12) for a run of numbers,
// "Alder 01…12" for numbers of one length, or names parted by commas. Errors are *unit.RangeError naming names.
func Names(pattern string) ([]string, error) {
	l := unit.Limit{Field: "names", Label: unit.Say("names"), Kind: unit.KindText}
	bad := func(got string, why unit.Text, args ...any) ([]string, error) {
		if r := []rune(got); len(r) > 60 {
			got = string(r[:60]) + "…"
		}
		return nil, &unit.RangeError{Limit: l, Got: strconv.Quote(got), Value: math.NaN(), Why: unit.Say(why, args...)}
	}
	var out []string
	seen := map[string]bool{}
	for _, part := range strings.FieldsFunc(pattern, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		part = strings.Join(strings.Fields(part), " ")
		if part == "" {
			continue
		}
		list := []string{part}
		if m := run.FindStringSubmatch(part); m != nil {
			first, _ := strconv.Atoi(m[2]) // at most six digits
			last, _ := strconv.Atoi(m[3])
			if last < first {
				return bad(part, "the run goes backwards: write the smaller number first")
			}
			if last-first >= MostCopies {
				return bad(part, "a run is at most %d guitars", MostCopies)
			}
			list = nil
			for n := first; n <= last; n++ {
				list = append(list, fmt.Sprintf("%s%0*d", m[1], len(m[2]), n))
			}
		}
		for _, name := range list {
			name, err := guitar.CheckName("names", name)
			if err != nil {
				return nil, err
			}
			if key := strings.ToLower(name); seen[key] {
				return bad(name, "the name is there twice")
			} else {
				seen[key] = true
			}
			out = append(out, name)
		}
		if len(out) > MostCopies {
			return bad(pattern, "at most %d guitars are made at once", MostCopies)
		}
	}
	if len(out) == 0 {
		return bad(pattern, "say how the guitars shall be called, such as Alder 1…12")
	}
	return out, nil
}
