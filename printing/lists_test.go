package printing_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/bill"
	"fairset/craft/fastening"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/printing"
	"fairset/unit"
)

var listNames = []string{"drill-chart", "cut-list", "tools", "cost", "bench-card", "record"}

// lettering is every word on the pages with one space between pieces.
func lettering(sheets []*drawing.Sheet) string {
	var out []string
	for _, s := range sheets {
		for _, it := range s.Parts() {
			if x, ok := it.Shape.(drawing.Text); ok {
				out = append(out, strings.ReplaceAll(x.String, "\u00a0", " "))
			}
		}
	}
	return strings.Join(out, " ")
}

func listed(t *testing.T, s printing.Source, name string) string {
	t.Helper()
	e, err := printing.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := e.Sheets(s)
	if err != nil {
		t.Fatal(err)
	}
	return lettering(sheets)
}

func wants(t *testing.T, what, got string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(got, w) {
			t.Errorf("%s does not say %q", what, w)
		}
	}
}

func TestListsSayWhatTheyMust(t *testing.T) {
	s := source(t, "steel-14", unit.Millimetre)
	s.Shop = printing.Shop{Currency: "€", Prices: bill.Prices{"hanger": {Amount: 1.25, Per: bill.PerEach}, "strings": {Amount: 7, Per: bill.PerSet}}}
	// source: ASME B18.2.8 normal hole for 1/4 in; 24 mm of thread, a point of 5/32 in and 2 mm of room; ASME B18.2.2
	wants(t, "drill chart", listed(t, s, "drill-chart"), "9/32 in", "7.14 mm", "30.0 mm from the end of the heel", "7/16 in", "31.8 mm", "57.1 mm", "estimate", "Drilling: protect eyes", "No torque")
	wants(t, "cut list", listed(t, s, "cut-list"), "fretboard", "144 cubic inches", "Together", "Not in the list", "Rough sizes are finished sizes and")
	wants(t, "tools", listed(t, s, "tools"), "both hands behind the edge", "straight edge", "wear eye protection", "dot rod")
	// source: derived: two bolts of 1.25 and a set of 7
	wants(t, "cost", listed(t, s, "cost"), "€2.50", "€7.00", "€9.50", "no price yet", "not in the sum")
	wants(t, "bench card", listed(t, s, "bench-card"), "gap at the saddle, on the frets", s.Bench.Aim.GapOnFrets.In(unit.Millimetre), "nut to the saddle line", "9/32 in, through", "action at fret 12")
	wants(t, "record", listed(t, s, "record"), "As designed", "scale length", "648.0 mm")

	s.Bench = s.Guitar.Bench(guitar.Options{Drills: []string{"4 mm", "7.5 mm"}})
	wants(t, "drill chart from the shop's own drills", listed(t, s, "drill-chart"), "7.5 mm", "4.0 mm")
	wants(t, "bench card from the shop's own drills", listed(t, s, "bench-card"), "7.5 mm, through")
}

// A bench card is one page: it hangs on a wall.
func TestBenchCardIsOnePage(t *testing.T) {
	for _, b := range guitar.Bases() {
		for _, style := range unit.Styles() {
			for _, k := range fastening.Kinds() {
				s := source(t, b.Key, style)
				s.Bench.Design = s.Bench.Design.Clone()
				s.Bench.Design["fastening"] = []guitar.Value{{Text: string(k)}}
				e, _ := printing.Find("bench-card")
				if got, err := e.Sheets(s); err != nil || len(got) != 1 {
					t.Errorf("%s, %s, %s: %d pages, %v", b.Key, style, k, len(got), err)
				}
			}
		}
	}
}

// Any guitar, whatever it is called and held by: every list is legible, nothing lies on anything else.
func TestListsOfAnyGuitar(t *testing.T) {
	drills := [][]string{nil, {"metric by 0.5 mm"}, {"#7"}, {"letter"}}
	rapid.Check(t, func(t *rapid.T) {
		bs := guitar.Bases()
		d := bs[rapid.IntRange(0, len(bs)-1).Draw(t, "basis")]
		name := rapid.StringMatching(`[A-Za-zÀ-ž0-9 '×-]{1,80}`).Draw(t, "name")
		if strings.TrimSpace(name) == "" {
			name = "Wren"
		}
		g, err := guitar.New(name, d.Key, nil)
		if err != nil {
			t.Fatal(err)
		}
		g.First = g.First.Clone()
		for _, key := range []string{"fastening", "screw_size", "block_thickness", "insert_outer", "barrel_set", "body_length", "lower_width", "bridge_across", "bridge_along", "neck_depth_joint", "bolt_bite"} {
			f, err := guitar.DesignField(key)
			if err != nil || !rapid.Bool().Draw(t, key+" given") {
				continue
			}
			if f.Kind == unit.KindChoice {
				g.First[key] = []guitar.Value{{Text: f.Choices[rapid.IntRange(0, len(f.Choices)-1).Draw(t, key)].Key}}
			} else {
				g.First[key] = []guitar.Value{{SI: rapid.Float64Range(f.Min, f.Max).Draw(t, key)}}
			}
		}
		if guitar.CheckDesign(g.First, g.Start) != nil {
			return
		}
		s := printing.Source{Guitar: g, Bench: g.Bench(guitar.Options{Drills: rapid.SampledFrom(drills).Draw(t, "drills")}), Date: "3 May 2026", Style: rapid.SampledFrom(unit.Styles()).Draw(t, "style")}
		for _, n := range listNames {
			e, err := printing.Find(n)
			if err != nil {
				t.Fatal(err)
			}
			sheets, err := e.Sheets(s)
			if err != nil {
				t.Fatalf("%s: %v", n, err)
			}
			for _, p := range sheets {
				var words []drawing.Text
				for _, it := range p.Parts() {
					x, ok := it.Shape.(drawing.Text)
					if !ok {
						continue
					}
					if x.Size < 3.5*unit.MM || strings.Contains(x.String, "%!") || strings.Contains(x.String, "%v") || !x.Box().Inside(drawing.Box{Right: p.Width, Top: p.Height}) {
						t.Fatalf("%s: %q, %v high", n, x.String, x.Size)
					}
					for _, y := range words {
						if x.Box().Overlaps(y.Box()) {
							t.Fatalf("%s: %q lies on %q", n, x.String, y.String)
						}
					}
					words = append(words, x)
				}
			}
		}
	})
}

func TestListsOfARepair(t *testing.T) {
	start := guitar.RepairStart()
	v, err := guitar.Parse(guitar.Optional(guitar.RepairFields()), map[string][]string{"scale_length": {"648"}, "saddle_distance": {"290"}, "action_bass_now": {"3.5"}, "action_treble_now": {"3"}}, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	for k, x := range v {
		start[k] = x
	}
	g, err := guitar.NewRepair("Coot", start)
	if err != nil {
		t.Fatal(err)
	}
	s := printing.Source{Guitar: g, Bench: g.Bench(guitar.Options{}), Style: unit.Millimetre}
	for name, can := range map[string]bool{"drill-chart": false, "cut-list": false, "bench-card": false, "tools": true, "cost": true, "record": true} {
		e, _ := printing.Find(name)
		if _, err := e.Sheets(s); (err == nil) != can {
			t.Errorf("%s of a repair without readings: %v", name, err)
		}
	}
	wants(t, "record", listed(t, s, "record"), "As it came in", "290.0 mm")
}
