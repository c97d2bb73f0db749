package bill

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"fairset/language"
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

// Name says what a price is for.
func (p Per) Name() unit.Text {
	switch p {
	case PerEach:
		return "each‖price"
	case PerSet:
		return "set‖of strings"
	case PerBoardFoot:
		return "board foot"
	case PerLitre:
		return "litre"
	case PerMetre:
		return "metre"
	case PerFoot:
		return "foot"
	}
	return unit.FromTable(string(p))
}

// price is the sentence for a price, whose figure is its argument.
func (p Per) price() unit.Text {
	switch p {
	case PerEach:
		return "%s each"
	case PerSet:
		return "%s per set"
	case PerBoardFoot:
		return "%s per board foot"
	case PerLitre:
		return "%s per litre"
	case PerMetre:
		return "%s per metre"
	case PerFoot:
		return "%s per foot"
	}
	return "%s"
}

// Price is one of the maker's own prices, in the maker's own currency.
type Price struct {
	Amount float64
	Per    Per
}

// Prices are the maker's own, by the key of an item.
type Prices map[string]Price

// Priced is something a price can be given for.
type Priced struct {
	Key  string
	Name unit.Text
	Kind Kind
}

// MostPrice bounds one price.
const MostPrice = 1e6

// Priceable lists what a price can be given for, in the order of a bill.
func Priceable() []Priced {
	return []Priced{
		{"neck", "neck shaft and head", ByVolume}, {"heel", "heel stack, a piece", ByVolume}, {"board", "fretboard", ByVolume}, {"nut", "nut‖of the neck", ByVolume}, {"saddle", "saddle", ByVolume}, {"bridge", "bridge", ByVolume},
		{"top", "top, a half", ByVolume}, {"back", "back, a half", ByVolume}, {"side", "side‖of the body", ByVolume}, {"brace", "brace", ByVolume}, {"plate", "bridge plate", ByVolume}, {"block", "neck block", ByVolume},
		{"hanger", "hanger bolt", ByPiece}, {"bolt", "machine bolt", ByPiece}, {"insert", "threaded insert", ByPiece}, {"barrel", "barrel nut", ByPiece}, {"screw", "wood screw", ByPiece}, {"washer", "washer", ByPiece}, {"nut-hex", "nut for a bolt", ByPiece},
		{"wire", "fret wire", ByLength}, {"tuner", "tuning machine or peg", ByPiece}, {"rod", "rod for the neck", ByPiece}, {"strings", setOfStrings, BySet},
	}
}

// pers are what a price of each kind of item can be for; the first is meant when none is said.
var pers = map[Kind][]Per{ByPiece: {PerEach}, BySet: {PerSet, PerEach}, ByLength: {PerMetre, PerFoot}, ByVolume: {PerEach, PerBoardFoot, PerLitre}}

// Pers lists what a price of a kind of item can be for.
func (k Kind) Pers() []Per { return slices.Clone(pers[k]) }

// ParsePrice reads a price as a maker types it: "12.50", "12,50 each", "9 per board foot", "4/metre"; its words can be those of any
// language. Without a word it is for each, a set, or a metre. Errors are *unit.RangeError naming field.
func ParsePrice(field string, kind Kind, text string) (Price, error) {
	l := unit.Limit{Field: field, Label: unit.Say("price"), Kind: unit.KindRatio, Min: 0, Max: MostPrice}
	bad := func(why unit.Text) (Price, error) {
		if r := []rune(text); len(r) > 40 {
			text = string(r[:40]) + "…"
		}
		return Price{}, &unit.RangeError{Limit: l, Value: math.NaN(), Got: text, Why: unit.Say(why, perWords(kind))}
	}
	t := strings.ToLower(strings.Join(strings.Fields(text), " "))
	end := strings.IndexFunc(t, func(r rune) bool { return !strings.ContainsRune("0123456789.,", r) })
	if end < 0 {
		end = len(t)
	}
	v, err := strconv.ParseFloat(strings.Replace(t[:end], ",", ".", 1), 64)
	if err != nil || !unit.Finite(v) {
		return bad("write a figure, and what it is for: %v")
	}
	if v < 0 || v > MostPrice {
		return Price{}, &unit.RangeError{Limit: l, Value: v, Got: text}
	}
	said := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(t[end:]), "/"))
	word := strings.TrimPrefix(said, "per ")
	word = strings.TrimPrefix(strings.TrimPrefix(word, "a "), "the ")
	if word == "" {
		return Price{v, pers[kind][0]}, nil
	}
	for _, p := range pers[kind] {
		if slices.Contains(spelled[p], word) || slices.Contains(p.translated(), said) {
			return Price{v, p}, nil
		}
	}
	return bad("it can be for: %v")
}

var spelled = map[Per][]string{
	PerEach: {"each", "piece", "one", "apiece"}, PerSet: {"set", "sets"}, PerBoardFoot: {"board foot", "board feet", "bf", "bd ft"}, PerLitre: {"litre", "litres", "liter", "l", "dm3"},
	PerMetre: {"metre", "meter", "m"}, PerFoot: {"foot", "ft", "feet"},
}

// translated are the words for what a price is for in every other language, in small letters: with the word for "per", and alone.
func (p Per) translated() []string {
	var out []string
	for _, code := range language.Codes() {
		s := unit.Millimetre.Speaking(code)
		out = append(out, strings.ToLower(strings.TrimSpace(s.Say(p.price(), ""))), strings.ToLower(p.Name().In(s)))
	}
	return out
}

// perWords lists what a price can be for.
type perWords Kind

func (k perWords) In(s unit.Style) string {
	var out []string
	for _, p := range pers[Kind(k)] {
		out = append(out, p.Name().In(s))
	}
	return strings.Join(out, ", ")
}

// String writes the price in English so that ParsePrice reads it again.
func (p Price) String() string { return p.Edit(unit.Millimetre) }

// Edit writes the price for a maker so that ParsePrice reads it again.
func (p Price) Edit(s unit.Style) string {
	decimals := 0
	if _, part, ok := strings.Cut(strconv.FormatFloat(p.Amount, 'f', -1, 64), "."); ok {
		decimals = max(2, len(part))
	}
	return s.Say(p.Per.price(), s.Decimal(p.Amount, decimals))
}

// In writes the price for a maker with the shop's currency: "€9.00 per board foot".
func (p Price) In(currency string, s unit.Style) string {
	return s.Say(p.Per.price(), Money(p.Amount, currency, s))
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

// Money writes a sum to two decimals with the shop's currency: before it, and in German behind it.
//
// source: DIN 5008.
func Money(v float64, currency string, s unit.Style) string {
	sum := s.Decimal(v, 2)
	switch n := len([]rune(currency)); {
	case n == 0:
		return sum
	case s.Language() == language.German:
		return sum + "\u00a0" + currency
	case n > 1:
		return currency + "\u00a0" + sum
	}
	return currency + sum
}
