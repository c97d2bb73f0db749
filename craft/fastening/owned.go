package fastening

import (
	"math"
	"strings"

	"fairset/unit"
)

// MostOwned bounds a list of drills on hand, in items.
const MostOwned = 100

// ownedExact is how near a typed size must come to a drill's to mean it: rounding, and no more.
const ownedExact = 0.001 * unit.MM

// Owned reads what drills a shop has, thinnest first. Each item is
//
//   - a series: fractional, number, letter, metric
//   - a series with its step: "fractional by 1/32", "metric by 0.5 mm"
//   - a series with its largest: "fractional to 3/8", or both: "metric by 0.5 mm to 10 mm"
//   - one drill: 11/64, #7, F, 4.5 mm
//
// Empty items are passed over. At least one drill must come of it. Errors are *unit.RangeError naming drills.
func Owned(items ...string) ([]Drill, error) {
	if len(items) > MostOwned {
		return nil, &unit.RangeError{Limit: unit.Limit{Field: "drills", Label: unit.Say("drills on hand"), Kind: unit.KindCount, Min: 1, Max: MostOwned}, Value: float64(len(items))}
	}
	have := map[string]bool{}
	for _, item := range items {
		if strings.TrimSpace(item) == "" {
			continue
		}
		match, why := ownedItem(item)
		if match == nil {
			return nil, ownedError(item, why)
		}
		n := 0
		for _, d := range tables().drills {
			if match(d) {
				have[d.Series+" "+d.Name] = true
				n++
			}
		}
		if n == 0 {
			return nil, ownedError(item, unit.Say("no drill of the tables is of that size"))
		}
	}
	var out []Drill
	for _, d := range tables().drills {
		if have[d.Series+" "+d.Name] {
			out = append(out, d)
		}
	}
	if len(out) == 0 {
		return nil, ownedError("", unit.Say("name at least one drill or set"))
	}
	return out, nil
}

func ownedError(item string, why unit.Phrase) error {
	if r := []rune(item); len(r) > 40 {
		item = string(r[:40]) + "…"
	}
	return &unit.RangeError{Limit: unit.Limit{Field: "drills", Label: unit.Say("drills on hand"), Kind: unit.KindChoice}, Got: item, Value: math.NaN(), Why: why,
		Choices: []string{"fractional", "number", "letter", "metric", "fractional by 1/32", "metric by 0.5 mm to 10 mm", "11/64", "#7", "F", "4.5 mm"}}
}

// ownedItem returns which drills an item means, or why it cannot be read.
func ownedItem(item string) (func(Drill) bool, unit.Phrase) {
	text := strings.ToLower(strings.Join(strings.Fields(item), " "))
	for _, s := range Series() {
		if rest, ok := strings.CutPrefix(text, s); ok && (rest == "" || rest[0] == ' ') {
			return seriesItem(s, strings.TrimSpace(rest))
		}
	}
	name := strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(text, "no. "), "no "), "no.")
	if name != text {
		name = "#" + strings.TrimSpace(name)
	}
	for _, d := range tables().drills {
		if strings.EqualFold(d.Name, name) {
			return func(x Drill) bool { return x == d }, unit.Phrase{}
		}
	}
	v, err := unit.ParseLength(text, unit.Millimetre)
	if err != nil {
		return nil, unit.Say("write a set or one drill")
	}
	return func(d Drill) bool {
		return (d.Series == "fractional" || d.Series == "metric") && (d.Diameter-v).Abs() <= ownedExact
	}, unit.Phrase{}
}

func seriesItem(series, rest string) (func(Drill) bool, unit.Phrase) {
	step, most := unit.Length(0), unit.Length(math.Inf(1))
	bare := unit.Millimetre
	if series != "metric" {
		bare = unit.InchDecimal
	}
	for rest != "" {
		var into *unit.Length
		switch {
		case strings.HasPrefix(rest, "by "):
			into = &step
		case strings.HasPrefix(rest, "to "):
			into = &most
		default:
			return nil, unit.Say("after a set write nothing, by and a step, or to and a size")
		}
		text := rest[3:]
		rest = ""
		for _, word := range []string{" by ", " to "} {
			if i := strings.Index(text, word); i >= 0 {
				text, rest = text[:i], text[i+1:]
			}
		}
		v, err := unit.ParseLength(text, bare)
		if err != nil || v <= 0 {
			return nil, unit.Say("%q is not a size", text)
		}
		*into = v
	}
	return func(d Drill) bool {
		if d.Series != series || d.Diameter > most+ownedExact {
			return false
		}
		n := float64(d.Diameter / step)
		return step == 0 || math.Abs(n-math.Round(n))*float64(step) < float64(ownedExact)
	}, unit.Phrase{}
}
