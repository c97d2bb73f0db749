package body

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"fairset/unit"
)

// A brace is written on one line, as a maker would say it:
//
//	tone bar 1: from 128; -50 to 62; 98 wide 6 high 1.5; 11 at 0.2; 11 at 0.8; 1.5 of sitka-spruce
//	tone bar 2: none
//
// Its name stands before the colon. "from" and "to" give both ends, along the grain from the tail and across from the centreline.
// "high" gives its heights by the share of its length, straight between them; the first stands at 0 and the last at 1, and
// without any "at" they stand in equal steps. "of" names the wood and may be left out. A figure without a unit is in millimetres;
// any length a maker can type may stand there ("1 1/2 in"). "none" leaves a brace of that name out. Lists part at semicolons, lines at line
// breaks; blank lines do not count.

// Line is one line of a list of braces.
type Line struct {
	Brace
	None bool // the brace of this name is left out
}

// Bounds of a list of braces.
const (
	maxLines   = 60
	maxNaming  = 40
	maxHeights = 20
)

var (
	reWord = regexp.MustCompile(`(?i)\b(from|to|wide|high|of)\b`)
	reAt   = regexp.MustCompile(`(?i)^(.*?)\bat\b(.*)$`)
	order  = []string{"from", "to", "wide", "high", "of"}
)

func badLine(line string, why unit.Text, args ...any) error {
	return badLineFor(line, unit.Say(why, args...))
}

func badLineFor(line string, why unit.Phrase) error {
	if len(line) > 60 {
		line = strings.ToValidUTF8(line[:60], "") + "…"
	}
	return &unit.RangeError{Limit: unit.Limit{Field: "braces", Label: unit.Say("braces"), Kind: unit.KindText}, Got: line, Value: math.NaN(), Why: why}
}

// ParseBraces reads a list of braces, one a line. Errors are *unit.RangeError naming braces, with the line that cannot be read.
// Figures are checked for being numbers; whether the braces fit their body Soundboard.Check tells.
func ParseBraces(text string) ([]Line, error) {
	var out []Line
	seen := map[string]bool{}
	for _, line := range strings.Split(strings.ReplaceAll(text, "\r", "\n"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		if len(out) == maxLines {
			return nil, badLine(line, "give at most %d braces", maxLines)
		}
		l, err := parseLine(line)
		if err != nil {
			return nil, err
		}
		if key := strings.ToLower(l.Name); seen[key] {
			return nil, badLine(line, "this name stands on two lines")
		} else {
			seen[key] = true
		}
		out = append(out, l)
	}
	return out, nil
}

func parseLine(line string) (Line, error) {
	var l Line
	name, rest, ok := strings.Cut(line, ":")
	l.Name = strings.Join(strings.Fields(name), " ")
	switch {
	case !ok || l.Name == "":
		return l, badLine(line, `begin with the brace's name and a colon, as in "tone bar 1: from 128; -50 to 62; 98 wide 6 high 2; 11; 2"`)
	case len(l.Name) > maxNaming:
		return l, badLine(line, "keep the name under %d letters", maxNaming)
	}
	rest = strings.TrimSpace(rest)
	if strings.EqualFold(rest, "none") {
		l.None = true
		return l, nil
	}
	said := map[string]string{}
	words := reWord.FindAllStringIndex(rest, -1)
	if len(words) == 0 || strings.TrimSpace(rest[:words[0][0]]) != "" {
		return l, badLine(line, `after the colon write from, to, wide and high, in this order, or none`)
	}
	last := -1
	for i, w := range words {
		key := strings.ToLower(rest[w[0]:w[1]])
		end := len(rest)
		if key == "of" { // a wood's name may hold any word
			last = 4
			said[key] = strings.TrimSpace(rest[w[1]:])
			break
		}
		if i+1 < len(words) {
			end = words[i+1][0]
		}
		if order[min(last+1, 4)] != key {
			return l, badLine(line, "from, to, wide and high stand once each, in this order")
		}
		last++
		said[key] = strings.TrimSpace(rest[w[1]:end])
	}
	if _, ok := said["high"]; !ok {
		return l, badLine(line, "from, to, wide and high stand once each, in this order")
	}
	var err error
	if l.From, err = parsePoint(line, said["from"]); err != nil {
		return l, err
	}
	if l.To, err = parsePoint(line, said["to"]); err != nil {
		return l, err
	}
	if l.Width, err = parseMM(line, said["wide"]); err != nil {
		return l, err
	}
	if l.Heights, err = parseHeights(line, said["high"]); err != nil {
		return l, err
	}
	if w, ok := said["of"]; ok {
		if w == "" || len(w) > maxNaming {
			return l, badLine(line, `after "of" write the wood's key, as in sitka-spruce, or leave it out`)
		}
		l.Wood = w
	}
	return l, nil
}

// parseMM reads a length, in millimetres when it names no unit.
func parseMM(line, text string) (unit.Length, error) {
	v, err := unit.ParseLength(strings.TrimSpace(text), unit.Millimetre)
	if err != nil {
		return 0, badLine(line, "%v", err)
	}
	if v.Abs() > 2 {
		return 0, badLine(line, "%v is larger than any body", v)
	}
	return v, nil
}

func parsePoint(line, text string) (Point, error) {
	parts := strings.Split(text, ";")
	if len(parts) != 2 {
		return Point{}, badLine(line, "an end has two figures with a semicolon between: along from the tail, and across from the centreline")
	}
	x, err := parseMM(line, parts[0])
	if err != nil {
		return Point{}, err
	}
	y, err := parseMM(line, parts[1])
	return Point{x, y}, err
}

func parseHeights(line, text string) ([]Height, error) {
	parts := strings.Split(text, ";")
	if len(parts) > maxHeights {
		return nil, badLine(line, "give at most %d heights", maxHeights)
	}
	if len(parts) == 1 { // the same all along
		parts = append(parts, parts[0])
	}
	out := make([]Height, len(parts))
	placed := 0
	for i, p := range parts {
		out[i].At = float64(i) / float64(len(parts)-1)
		if m := reAt.FindStringSubmatch(p); m != nil {
			share, err := parseShare(m[2])
			if err != nil {
				return nil, badLine(line, "%v", err)
			}
			out[i].At, p = share, m[1]
			placed++
		}
		h, err := parseMM(line, p)
		if err != nil {
			return nil, err
		}
		out[i].Height = h
	}
	if inner := len(parts) - 2; placed > 0 && placed < inner {
		return nil, badLine(line, `give "at" for every height between the ends, or for none`)
	}
	if err := checkHeights("braces", unit.Say("braces"), out); err != nil {
		e := err.(*unit.RangeError)
		why := e.Why
		if why.Empty() {
			why = unit.Say("height %v", e.Limit)
		}
		return nil, badLineFor(line, why)
	}
	return out, nil
}

var reShare = regexp.MustCompile(`^[0-9]{0,3}(?:[.,][0-9]{0,12})?$`)

func parseShare(text string) (float64, error) {
	text = strings.TrimSpace(text)
	number, percent := strings.CutSuffix(text, "%")
	number = strings.Replace(strings.TrimSpace(number), ",", ".", 1)
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || !reShare.MatchString(number) {
		return 0, fmt.Errorf("%q is not a place along a brace: write a share from 0 to 1, or a percentage", text)
	}
	if percent {
		v /= 100
	}
	if v < 0 || v > 1 {
		return 0, fmt.Errorf("%q lies off the brace: its places run from 0 to 1", text)
	}
	return v, nil
}

// bare writes a length in millimetres without its unit, to a thousandth.
func bare(l unit.Length) string {
	return strconv.FormatFloat(math.Round(l.MM()*1e3)/1e3+0, 'f', -1, 64)
}

// String writes the brace as ParseBraces reads it, in millimetres to a thousandth and shares to a hundred-thousandth.
func (b Brace) String() string {
	var s strings.Builder
	fmt.Fprintf(&s, "%s: from %s; %s to %s; %s wide %s high ", b.Name, bare(b.From.X), bare(b.From.Y), bare(b.To.X), bare(b.To.Y), bare(b.Width))
	for i, h := range b.Heights {
		if i > 0 {
			s.WriteString("; ")
		}
		s.WriteString(bare(h.Height))
		if i > 0 && i < len(b.Heights)-1 {
			s.WriteString(" at " + strconv.FormatFloat(math.Round(h.At*1e5)/1e5, 'f', -1, 64))
		}
	}
	if b.Wood != "" {
		s.WriteString(" of " + b.Wood)
	}
	return s.String()
}

// String writes the line as ParseBraces reads it.
func (l Line) String() string {
	if l.None {
		return l.Name + ": none"
	}
	return l.Brace.String()
}

// Merge puts a list of lines over braces: a brace of the same name, large and small letters alike, is replaced in its place or left
// out, any other is added at the end. A line without a wood keeps that of the brace it replaces, else gets the wood given.
func Merge(braces []Brace, lines []Line, wood string) []Brace {
	byName := map[string]int{}
	for i, l := range lines {
		byName[strings.ToLower(l.Name)] = i
	}
	used := make([]bool, len(lines))
	var out []Brace
	for _, b := range braces {
		i, ok := byName[strings.ToLower(b.Name)]
		if !ok {
			out = append(out, b)
			continue
		}
		used[i] = true
		if lines[i].None {
			continue
		}
		n := lines[i].Brace
		if n.Wood == "" {
			n.Wood = b.Wood
		}
		out = append(out, n)
	}
	for i, l := range lines {
		if used[i] || l.None {
			continue
		}
		n := l.Brace
		if n.Wood == "" {
			n.Wood = wood
		}
		out = append(out, n)
	}
	return out
}

// ParsePoints reads the points of a half outline: figures with semicolons between them, along and across by turns; a line break
// parts them as well. Millimetres unless a unit is written. Errors are *unit.RangeError naming points.
func ParsePoints(text string) ([]Point, error) {
	bad := func(got string, why unit.Text, args ...any) error {
		if len(got) > 60 {
			got = strings.ToValidUTF8(got[:60], "") + "…"
		}
		return refuseAs("points", limits["points"].Label, got, why, args...)
	}
	var vs []unit.Length
	for _, t := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' || r == '\r' }) {
		if strings.TrimSpace(t) == "" {
			continue
		}
		if len(vs) >= 2*mostPoints {
			return nil, bad(text, "give at most %d points", mostPoints)
		}
		v, err := unit.ParseLength(strings.TrimSpace(t), unit.Millimetre)
		if err != nil {
			return nil, bad(strings.TrimSpace(t), "%v", err)
		}
		vs = append(vs, v)
	}
	if len(vs)%2 != 0 {
		return nil, bad(fmt.Sprintf("%d figures", len(vs)), "each point has two: along from the tail, and across from the centreline")
	}
	out := make([]Point, len(vs)/2)
	for i := range out {
		out[i] = Point{vs[2*i], vs[2*i+1]}
	}
	return out, nil
}

// WritePoints writes points as ParsePoints reads them, one a line.
func WritePoints(points []Point) string {
	var lines []string
	for _, p := range points {
		lines = append(lines, bare(p.X)+"; "+bare(p.Y))
	}
	return strings.Join(lines, "\n")
}
