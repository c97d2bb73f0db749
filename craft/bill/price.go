package bill

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairset/unit"
)

// Per is what a price is for.
type Per string

// What prices can be for.
const (
	PerEach      Per = "each"
	PerSet       Per = "set"
	PerBoardFoot Per = "board foot"
	PerLitre     Per = "litre"
	PerMetre     Per = "metre"
	PerFoot      Per = "foot"
)

// Price is one of the maker's own prices, in the maker's own currency.
type Price struct {
	Amount float64
	Per    Per
}

// Prices are the maker's own, by the key of an item.
type Prices map[string]Price

// Priced is something a price can be given for.
type Priced struct {
	Key, Name string
	Kind      Kind
}

// MostPrice bounds one price.
const MostPrice = 1e6

// Priceable lists what a price can be given for, in the order of a bill.
func Priceable() []Priced {
	return []Priced{
		{"neck", "neck shaft and head", ByVolume}, {"heel", "heel stack, a piece", ByVolume}, {"board", "fretboard", ByVolume}, {"nut", "nut", ByVolume}, {"saddle", "saddle", ByVolume}, {"bridge", "bridge", ByVolume},
		{"top", "top, a half", ByVolume}, {"back", "back, a half", ByVolume}, {"side", "side", ByVolume}, {"brace", "brace", ByVolume}, {"plate", "bridge plate", ByVolume}, {"block", "neck block", ByVolume},
		{"hanger", "hanger bolt", ByPiece}, {"bolt", "machine bolt", ByPiece}, {"insert", "threaded insert", ByPiece}, {"barrel", "barrel nut", ByPiece}, {"screw", "wood screw", ByPiece}, {"washer", "washer", ByPiece}, {"nut-hex", "nut for a bolt", ByPiece},
		{"wire", "fret wire", ByLength}, {"tuner", "tuning machine or peg", ByPiece}, {"rod", "rod for the neck", ByPiece}, {"strings", "set of strings", BySet},
	}
}

// pers are what a price of each kind of item can be for; the first is meant when none is said.
var pers = map[Kind][]Per{ByPiece: {PerEach}, BySet: {PerSet, PerEach}, ByLength: {PerMetre, PerFoot}, ByVolume: {PerEach, PerBoardFoot, PerLitre}}

// Pers lists what a price of a kind of item can be for.
func (k Kind) Pers() []Per { return slices.Clone(pers[k]) }

// ParsePrice reads a price as a maker types it: "12.50", "12,50 each", "9 per board foot", "4/metre". Without
// a word it is for each, a set, or a metre. Errors are *unit.RangeError naming field.
func ParsePrice(field string, kind Kind, text string) (Price, error) {
	l := unit.Limit{Field: field, Label: unit.Say("price"), Kind: unit.KindRatio, Min: 0, Max: MostPrice}
	bad := func(why string) (Price, error) {
		if r := []rune(text); len(r) > 40 {
			text = string(r[:40]) + "…"
		}
		return Price{}, &unit.RangeError{Limit: l, Value: math.NaN(), Got: text, Why: unit.Say(why)}
	}
	t := strings.ToLower(strings.Join(strings.Fields(text), " "))
	end := strings.IndexFunc(t, func(r rune) bool { return !strings.ContainsRune("0123456789.,", r) })
	if end < 0 {
		end = len(t)
	}
	v, err := strconv.ParseFloat(strings.Replace(t[:end], ",", ".", 1), 64)
	if err != nil || !unit.Finite(v) {
		return bad("write a figure, and what it is for: " + perWords(kind))
	}
	if v < 0 || v > MostPrice {
		return Price{}, &unit.RangeError{Limit: l, Value: v, Got: text}
	}
	word := strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(strings.TrimSpace(t[end:]), "/"), "per "))
	word = strings.TrimPrefix(strings.TrimPrefix(word, "a "), "the ")
	if word == "" {
		return Price{v, pers[kind][0]}, nil
	}
	for _, p := range pers[kind] {
		if slices.Contains(spelled[p], word) {
			return Price{v, p}, nil
		}
	}
	return bad("it can be for: " + perWords(kind))
}

var spelled = map[Per][]string{
	PerEach: {"each", "piece", "one", "apiece"}, PerSet: {"set", "sets"}, PerBoardFoot: {"board foot", "board feet", "bf", "bd ft"}, PerLitre: {"litre", "litres", "liter", "l", "dm3"},
	PerMetre: {"metre", "meter", "m"}, PerFoot: {"foot", "ft", "feet"},
}

func perWords(k Kind) string {
	var out []string
	for _, p := range pers[k] {
		out = append(out, string(p))
	}
	return strings.Join(out, ", ")
}

// String writes the price so that ParsePrice reads it again.
func (p Price) String() string {
	f := strconv.FormatFloat(p.Amount, 'f', -1, 64)
	if whole, part, ok := strings.Cut(f, "."); ok && len(part) == 1 {
		f = whole + "." + part + "0"
	}
	if p.Per == PerEach {
		return f + " each"
	}
	return f + " per " + string(p.Per)
}

// In writes the price with the maker's currency: "€9.00 per board foot".
func (p Price) In(currency string) string {
	if p.Per == PerEach {
		return Money(p.Amount, currency) + " each"
	}
	return Money(p.Amount, currency) + " per " + string(p.Per)
}

// ParsePrices reads the maker's prices by key. Blank texts are no price. Errors are *unit.RangeError naming
// price_KEY; a key that no item has is one.
func ParsePrices(texts map[string]string) (Prices, error) {
	out := Prices{}
	all := Priceable()
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		if strings.TrimSpace(texts[key]) == "" {
			continue
		}
		at := slices.IndexFunc(all, func(p Priced) bool { return p.Key == key })
		if at < 0 {
			var keys []string
			for _, p := range all {
				keys = append(keys, p.Key)
			}
			return nil, &unit.RangeError{Limit: unit.Limit{Field: "prices", Label: unit.Say("what a price is for"), Kind: unit.KindChoice}, Got: key, Value: math.NaN(), Why: unit.Say("nothing of that name is on a bill"), Choices: keys}
		}
		p, err := ParsePrice("price_"+key, all[at].Kind, texts[key])
		if err != nil {
			return nil, err
		}
		out[key] = p
	}
	return out, nil
}

// Line is one item of a bill with what it costs.
type Line struct {
	Item
	Price  Price
	Priced bool
	Cost   float64
}

// Bill is what a guitar, or several, cost as far as prices are known.
type Bill struct {
	Lines   []Line
	Total   float64 // of the priced lines
	Without int     // lines without a price
}

// Cost puts the maker's prices to items.
func Cost(items []Item, prices Prices) Bill {
	var b Bill
	for _, i := range items {
		l := Line{Item: i}
		if p, ok := prices[i.Key]; ok {
			if n, ok := i.count(p.Per); ok {
				// To the hundredth, so that the lines as written add up to the sum as written.
				l.Price, l.Priced, l.Cost = p, true, math.Round(n*p.Amount*100)/100
				b.Total += l.Cost
			}
		}
		if !l.Priced {
			b.Without++
		}
		b.Lines = append(b.Lines, l)
	}
	return b
}

// count is how many of what a price is for an item has.
func (i Item) count(per Per) (float64, bool) {
	if !slices.Contains(pers[i.Kind], per) {
		return 0, false
	}
	switch per {
	case PerBoardFoot:
		return i.Amount / BoardFoot, true
	case PerLitre:
		return i.Amount / Litre, true
	case PerFoot:
		return i.Amount / 0.3048, true
	case PerEach:
		if i.Kind == ByVolume {
			return float64(i.Pieces), true
		}
	}
	return i.Amount, true
}

// Money writes a sum to two decimals with the maker's currency before it.
func Money(v float64, currency string) string {
	s := fmt.Sprintf("%.2f", v)
	switch n := len([]rune(currency)); {
	case n == 0:
		return s
	case n > 1:
		return currency + "\u00a0" + s
	}
	return currency + s
}
