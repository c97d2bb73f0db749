package bill_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/bill"
	"fairset/craft/guitar"
	"fairset/internal/reftest"
	"fairset/unit"
)

func basis(t *testing.T, key string, kv ...string) guitar.Values {
	t.Helper()
	texts := map[string][]string{}
	for i := 0; i < len(kv); i += 2 {
		texts[kv[i]] = append(texts[kv[i]], kv[i+1])
	}
	v, err := guitar.Parse(guitar.Optional(guitar.DesignFields()), texts, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	g, err := guitar.New("Wren", key, v)
	if err != nil {
		t.Fatal(err)
	}
	return g.Design()
}

func part(t *testing.T, d guitar.Values, key string) bill.Part {
	t.Helper()
	ps, _ := bill.Parts(d)
	for _, p := range ps {
		if p.Key == key {
			return p
		}
	}
	t.Fatalf("no %s among %v", key, ps)
	return bill.Part{}
}

func TestBoardFoot(t *testing.T) {
	// source: by definition 1 ft × 1 ft × 1 in = 144 in³ = 2.359737216 litres (the inch is exactly 25.4 mm)
	reftest.Near(t, "board foot, litres", bill.BoardFoot/bill.Litre, 2.359737216, 1e-12)
	p := bill.Part{Count: 1, Rough: [3]unit.Length{12 * unit.Inch, 12 * unit.Inch, unit.Inch}}
	reftest.Near(t, "a foot square, an inch thick", p.BoardFeet(), 1, 1e-12)
	p = bill.Part{Count: 3, Rough: [3]unit.Length{8 * 12 * unit.Inch, 6 * unit.Inch, 2 * unit.Inch}}
	reftest.Near(t, "three 2 × 6 of 8 ft", p.BoardFeet(), 24, 1e-9) // source: derived, 8 × 6 × 2 / 12 = 8 each
	reftest.Near(t, "in litres", p.Litres(), 24*2.359737216, 1e-9)
}

func TestParts(t *testing.T) {
	d := basis(t, "steel-14", "block_thickness", "13")
	target, _, err := guitar.Build(d).Target()
	if err != nil {
		t.Fatal(err)
	}
	neck := part(t, d, "neck")
	reftest.NearMM(t, "neck", neck.Finished[0], 180+target.NutToJoint.MM()+14, 1e-6) // source: derived: head, nut to joint, tenon of 14 mm
	reftest.NearMM(t, "as wide as the heel", neck.Finished[1], 58, 1e-9)
	reftest.NearMM(t, "shaft", neck.Finished[2], 17, 1e-9)
	heel := part(t, d, "heel")
	if heel.Count != 5 { // source: derived: 92 mm less 17 mm, in layers no thicker than 17 mm
		t.Errorf("heel in %d layers", heel.Count)
	}
	reftest.NearMM(t, "layers make up the heel", heel.Finished[2]*5+neck.Finished[2], 92, 1e-9)
	block := part(t, d, "block")
	reftest.NearMM(t, "block", block.Finished[2], 13+14, 1e-9) // source: derived: wood behind the mortise, and the mortise
	for _, p := range []bill.Part{neck, heel, block} {
		for i := range p.Rough {
			if p.Rough[i] <= p.Finished[i] {
				t.Errorf("%s: rough %v is not over finished %v", p.Name, p.Rough, p.Finished)
			}
		}
		if p.From == "" {
			t.Errorf("%s does not say how it follows", p.Name)
		}
	}
	board := part(t, d, "board")
	laid, err := guitar.BoardOf(d)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "board", board.Finished[0], laid.Layout.Length.MM(), 1e-9)
	reftest.NearMM(t, "board's wide end", board.Finished[1], laid.Layout.WidthAt(laid.Layout.Length).MM(), 1e-6) // source: the laid out board's own taper
	if ps, missing := bill.Parts(guitar.RepairStart()); len(ps) != 0 || len(missing) == 0 {
		t.Errorf("a repair has %v", ps)
	}
	_, missing := bill.Parts(basis(t, "steel-14"))
	if s := unit.Join(missing...).In(unit.Millimetre); !strings.Contains(s, "neck block") {
		t.Errorf("what is missing is not named: %s", s)
	}
}

// A brace is as long as its ends lie apart: 30, 40, 50 mm by Pythagoras. Half way round a body is half its edge.
func TestPartsOfTheTop(t *testing.T) {
	d := basis(t, "steel-14", "brace_list", "side bar: from 230; 60 to 260; 100 wide 5 high 2; 9; 3")
	bar := bill.Part{}
	ps, missing := bill.Parts(d)
	for _, p := range ps {
		if p.Name.In(unit.Millimetre) == "side bar" {
			bar = p
		}
	}
	reftest.NearMM(t, "side bar, long", bar.Finished[0], 50, 1e-6)
	reftest.NearMM(t, "side bar, high", bar.Finished[1], 9, 1e-6)
	reftest.NearMM(t, "side bar, wide", bar.Finished[2], 5, 1e-6)
	if bar.Wood != "Spruce, Sitka" || bar.From == "" {
		t.Errorf("%+v", bar)
	}
	reftest.NearMM(t, "half of the top", part(t, d, "top").Finished[1], 392.0/2, 0.01)
	reftest.NearMM(t, "bridge plate", part(t, d, "plate").Finished[2], 2.5, 1e-9)
	if s := unit.Join(missing...).In(unit.Millimetre); strings.Contains(s, "bridge plate") {
		t.Errorf("still missing: %s", s)
	}
}

func TestHoles(t *testing.T) {
	d := basis(t, "steel-14")
	hs, warn, err := bill.Holes("Wren", d, nil)
	if err != nil || len(warn) != 0 {
		t.Fatal(err, warn)
	}
	if len(hs) != 3 || hs[0].Drill.Name != "9/32" || hs[0].Depth != 0 || hs[0].Count != 2 || hs[1].Part != "heel" {
		t.Errorf("%+v", hs)
	}
	// source: frets 3, 5, 7, 9, twice 12, 15, 17, 19: the usual side dots of 20 frets (common practice, no source)
	if hs[2].Count != 9 {
		t.Errorf("%d side dots", hs[2].Count)
	}
	two, _, err := bill.Holes("Heron", d, nil)
	if err != nil {
		t.Fatal(err)
	}
	nylon, _, err := bill.Holes("Ruff", basis(t, "nylon-12"), nil)
	if err != nil {
		t.Fatal(err)
	}
	sum := bill.AddHoles(hs, two, nylon)
	n := map[string]int{}
	for i, h := range sum {
		n[h.Part.In(unit.Millimetre)+" "+h.Drill.Name] += h.Count
		if i > 0 && h.Drill.Diameter < sum[i-1].Drill.Diameter {
			t.Error("drills are not in order")
		}
	}
	if n["body 9/32"] != 4 || n["body 6.6 mm"] != 2 { // source: derived, two guitars of two bolts and one; ISO 273 for M6
		t.Errorf("%v", n)
	}
	for _, h := range hs {
		if len(h.Guitars) != 1 {
			t.Error("adding up changed the list it was given")
		}
	}
	if hs, _, err := bill.Holes("Coot", guitar.RepairStart(), nil); err != nil || len(hs) != 0 {
		t.Errorf("a repair: %v, %v", hs, err)
	}
	if _, _, err := bill.Holes("Wren", d, []string{"nonsense"}); err == nil {
		t.Error("drills that cannot be read were passed over")
	}
}

func TestItemsByKind(t *testing.T) {
	for kind, want := range map[string]string{"hanger": "hanger bolt", "insert": "threaded insert", "barrel": "barrel nut", "screw": "#12 wood screw"} {
		found := false
		for _, i := range bill.Items(basis(t, "steel-14", "fastening", kind)) {
			if strings.Contains(i.Name.In(unit.Millimetre), want) {
				found = i.Amount == 2
			}
		}
		if !found {
			t.Errorf("%s: not two of %s", kind, want)
		}
	}
	if got := bill.Items(guitar.RepairStart()); len(got) != 1 || got[0].Key != "strings" {
		t.Errorf("a repair takes %v", got)
	}
}

func TestParsePrice(t *testing.T) {
	for _, c := range []struct {
		kind bill.Kind
		text string
		want bill.Price
	}{
		{bill.ByPiece, "12.50", bill.Price{Amount: 12.5, Per: bill.PerEach}}, {bill.ByPiece, " 12,5 each ", bill.Price{Amount: 12.5, Per: bill.PerEach}},
		{bill.ByVolume, "9 per board foot", bill.Price{Amount: 9, Per: bill.PerBoardFoot}}, {bill.ByVolume, "9/bf", bill.Price{Amount: 9, Per: bill.PerBoardFoot}}, {bill.ByVolume, "4 a litre", bill.Price{Amount: 4, Per: bill.PerLitre}},
		{bill.ByLength, "3", bill.Price{Amount: 3, Per: bill.PerMetre}}, {bill.ByLength, "1 per foot", bill.Price{Amount: 1, Per: bill.PerFoot}}, {bill.BySet, "11", bill.Price{Amount: 11, Per: bill.PerSet}}, {bill.ByPiece, "0", bill.Price{Per: bill.PerEach}},
	} {
		got, err := bill.ParsePrice("price_x", c.kind, c.text)
		if err != nil || got != c.want {
			t.Errorf("%q: %v, %v", c.text, got, err)
		}
	}
	for _, bad := range []string{"", "x", "-1", "1 per mile", "1.2.3", "1e9", "9999999", "NaN", "inf", "5 litre each", strings.Repeat("1", 500)} {
		_, err := bill.ParsePrice("price_neck", bill.ByVolume, bad)
		reftest.RangeError(t, err, "price_neck")
	}
	_, err := bill.ParsePrices(map[string]string{"anchor": "3"})
	reftest.RangeError(t, err, "prices")
	_, err = bill.ParsePrices(map[string]string{"neck": "dear"})
	reftest.RangeError(t, err, "price_neck")
	got, err := bill.ParsePrices(map[string]string{"neck": "9 per litre", "wire": " "})
	if err != nil || len(got) != 1 {
		t.Errorf("%v, %v", got, err)
	}
}

func FuzzParsePrice(f *testing.F) {
	for _, s := range []string{"12.50 each", "9 per board foot", "1,5/m", "0.1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, k := range []bill.Kind{bill.ByPiece, bill.BySet, bill.ByLength, bill.ByVolume} {
			p, err := bill.ParsePrice("price_x", k, s)
			if err != nil {
				continue
			}
			if q, err := bill.ParsePrice("price_x", k, p.String()); err != nil || q != p {
				t.Fatalf("%q came to %v, read again %v, %v", s, p, q, err)
			}
		}
	})
}

func TestCost(t *testing.T) {
	items := []bill.Item{
		{Key: "neck", Name: unit.Say("neck"), Kind: bill.ByVolume, Amount: 2 * bill.BoardFoot, Pieces: 3},
		{Key: "wire", Name: unit.Say("wire"), Kind: bill.ByLength, Amount: 3.048}, {Key: "hanger", Name: unit.Say("bolt"), Kind: bill.ByPiece, Amount: 4}, {Key: "strings", Name: unit.Say("set"), Kind: bill.BySet, Amount: 1},
	}
	// source: derived by hand
	for _, c := range []struct {
		prices bill.Prices
		total  float64
		none   int
	}{
		{nil, 0, 4},
		{bill.Prices{"neck": {Amount: 9, Per: bill.PerBoardFoot}}, 18, 3},
		{bill.Prices{"neck": {Amount: 10, Per: bill.PerEach}, "wire": {Amount: 2, Per: bill.PerFoot}, "hanger": {Amount: 1.25, Per: bill.PerEach}, "strings": {Amount: 7, Per: bill.PerSet}}, 30 + 20 + 5 + 7, 0},
		{bill.Prices{"neck": {Amount: 1, Per: bill.PerLitre}, "wire": {Amount: 2, Per: bill.PerMetre}}, 4.72 + 6.10, 2}, // each line to the hundredth: 4.719… and 6.096
		{bill.Prices{"neck": {Amount: 0.004, Per: bill.PerEach}, "hanger": {Amount: 0.001, Per: bill.PerEach}}, 0.01, 2},
		{bill.Prices{"hanger": {Amount: 1, Per: bill.PerLitre}}, 0, 4}, // a price that does not fit is none
	} {
		b := bill.Cost(items, c.prices)
		reftest.Near(t, "total", b.Total, c.total, 1e-9)
		if b.Without != c.none {
			t.Errorf("%d lines without a price, want %d", b.Without, c.none)
		}
	}
	if s := bill.Money(3.456, "€", unit.Millimetre); s != "€3.46" {
		t.Errorf("%q", s)
	}
	if s := bill.Money(3, "kr", unit.Millimetre); s != "kr\u00a03.00" {
		t.Errorf("%q", s)
	}
}

// Adding up keeps every amount and every hole, in any order of guitars.
func TestTotalsOfAClass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lists [][]bill.Item
		var holes [][]bill.Drilled
		amount, drilled := 0.0, 0
		for range rapid.IntRange(1, 5).Draw(t, "guitars") {
			bs := guitar.Bases()
			b := bs[rapid.IntRange(0, len(bs)-1).Draw(t, "basis")]
			d := b.Values
			hs, _, err := bill.Holes(b.Key, d, nil)
			if err != nil {
				t.Fatal(err)
			}
			is := bill.Items(d)
			for _, i := range is {
				amount += i.Amount
			}
			for _, h := range hs {
				drilled += h.Count
			}
			lists, holes = append(lists, is), append(holes, hs)
		}
		got, gotHoles := 0.0, 0
		names := map[string]bool{}
		for _, i := range bill.Add(lists...) {
			name := i.Name.In(unit.Millimetre)
			if names[name] {
				t.Fatalf("%s is listed twice", name)
			}
			names[name] = true
			got += i.Amount
		}
		for _, h := range bill.AddHoles(holes...) {
			gotHoles += h.Count
		}
		if math.Abs(got-amount) > 1e-9 || gotHoles != drilled {
			t.Fatalf("%v of %v, %d of %d holes", got, amount, gotHoles, drilled)
		}
		var back [][]bill.Item
		for i := range lists {
			back = append(back, lists[len(lists)-1-i])
		}
		if len(bill.Add(back...)) != len(bill.Add(lists...)) {
			t.Fatal("the order of guitars matters")
		}
	})
}

// The tools that a step is read with are listed one by one, and are those its guide names.
func TestToolsOfTheGuides(t *testing.T) {
	for _, s := range bill.Tools(guitar.Bases()[0].Values) {
		g, _ := guitar.FindGuide(s.Step)
		if s.Step == guitar.StepCut || s.Step == guitar.StepTighten { // read with a drawing, and as before
			continue
		}
		var said []string
		for _, x := range s.Tools {
			said = append(said, x.In(unit.Millimetre))
		}
		read := strings.ReplaceAll(g.ReadWith.In(unit.Millimetre), ", and ", ", ")
		if got := strings.Join(said, ", "); !strings.HasPrefix(got, read+", ") && got != read {
			t.Errorf("%s: %q does not begin with %q", s.Step, got, read)
		}
	}
}

func TestToolsAndCautions(t *testing.T) {
	for _, b := range guitar.Bases() {
		for _, s := range bill.Tools(b.Values) {
			g, ok := guitar.FindGuide(s.Step)
			if !ok || !s.Caution.Same(g.Caution) || len(s.Tools) == 0 {
				t.Errorf("%s: %+v", b.Key, s)
			}
			said := s.Consumables.In(unit.Millimetre)
			for _, x := range s.Tools {
				said = append(said, x.In(unit.Millimetre))
			}
			for _, x := range said {
				if strings.TrimSpace(x) != x || x == "" {
					t.Errorf("%s: tool %q", s.Name, x)
				}
			}
		}
	}
	got := bill.Consumables(guitar.Bases()[0].Values, guitar.Bases()[1].Values)
	seen := map[unit.Text]bool{}
	for _, c := range got {
		if seen[c] {
			t.Errorf("%s twice", c)
		}
		seen[c] = true
	}
	if len(got) < 5 {
		t.Errorf("%v", got)
	}
	if s := bill.Tools(basis(t, "steel-14"))[6].Tools[0].In(unit.Millimetre); !strings.Contains(s, "7/16 in wrench") { // source: ASME B18.2.2
		t.Errorf("to bolt up: %s", s)
	}
}
