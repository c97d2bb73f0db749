package sheet

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"fairset/drawing"
	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

// wellListed checks what holds of every page of a list: check bar of true length, letters to read at arm's
// length, words on the page and never on other words, and a page that fits A4 and letter paper.
func wellListed(t reftest.TB, pages []*drawing.Sheet) {
	t.Helper()
	for n, s := range pages {
		if err := s.Check(); err != nil {
			t.Errorf("%v", err)
			continue
		}
		// source: ISO 216 A4 210 x 297 mm, ANSI letter 215.9 x 279.4 mm, less 6 mm all round for the printer
		if s.Width.MM() > 210-12 || s.Height.MM() > 279.4-12 {
			t.Errorf("page %d: %v by %v does not fit the paper", n+1, s.Width, s.Height)
		}
		it, ok := s.Find("check-100mm-x")
		l, isLine := it.Shape.(drawing.Line)
		if !ok || !isLine {
			t.Errorf("page %d: no check bar", n+1)
			continue
		}
		reftest.Near(t, "check bar", (l.To.X - l.From.X).Abs().MM(), 100, 1e-9)
		page := drawing.Box{Right: s.Width, Top: s.Height}
		if !bounds(s.Parts()).Inside(page) {
			t.Errorf("page %d: something is drawn off the page: %v of %v", n+1, bounds(s.Parts()), page)
		}
		var words []drawing.Text
		for _, it := range s.Parts() {
			x, ok := it.Shape.(drawing.Text)
			if !ok {
				continue
			}
			if x.Size < 3.5*unit.MM {
				t.Errorf("page %d: %q is %v high", n+1, x.String, x.Size)
			}
			for _, y := range words {
				if x.Box().Overlaps(y.Box()) {
					t.Errorf("page %d: %q lies on %q", n+1, x.String, y.String)
				}
			}
			words = append(words, x)
		}
		if want := regexp.MustCompile(fmt.Sprintf(`\b%d\P{N}+%d\b`, n+1, len(pages))); !want.MatchString(s.Desc) { // page 1 of 3
			t.Errorf("%q does not say which page it is", s.Desc)
		}
	}
}

// lettered is all that is written on the pages, without spaces.
func lettered(pages []*drawing.Sheet) string {
	var b strings.Builder
	for _, s := range pages {
		for _, it := range s.Parts() {
			if x, ok := it.Shape.(drawing.Text); ok {
				b.WriteString(bare(x.String))
			}
		}
	}
	return b.String()
}

func bare(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\u00a0' || r == '\n' || r == '\t' }), "")
}

func TestPages(t *testing.T) {
	short := Pages(head, "Trial list", "3 May 2026", Block{Heading: "Parts", Head: []string{"Part", "Long"}, Rows: [][]string{{"neck", "560"}, {"board", "460"}}, Right: []int{1}, Tick: true, Strong: true})
	wellListed(t, short)
	if len(short) != 1 {
		t.Fatalf("two rows take %d pages", len(short))
	}
	ticks := 0
	for _, it := range short[0].Parts() {
		if it.Name == "tick" {
			ticks++
		}
	}
	if ticks != 1 { // the last row is a sum
		t.Errorf("%d boxes to tick, want 1", ticks)
	}
	said := lettered(short)
	for _, w := range []string{"Trial list", "Marsh Wren", "design of 2026-03-02", "printed 3 May 2026", "inches in 64ths", "page 1 of 1"} {
		if !strings.Contains(said, bare(w)) {
			t.Errorf("%q is not written", w)
		}
	}

	long := Block{Heading: "Readings", Head: []string{"Number", "What"}}
	for i := range 120 {
		long.Rows = append(long.Rows, []string{fmt.Sprint(i), "a line of it"})
	}
	pages := Pages(head, "Long list", "", long)
	wellListed(t, pages)
	if len(pages) < 3 {
		t.Errorf("120 rows on %d pages", len(pages))
	}
	for n, p := range pages {
		if !strings.Contains(lettered([]*drawing.Sheet{p}), "NumberWhat") {
			t.Errorf("page %d does not repeat the table's head", n+1)
		}
	}

	tall := Pages(head, "Tall row", "", Block{Rows: [][]string{{"note", strings.Repeat("many words of one note ", 400)}}, First: 30})
	wellListed(t, tall)
	if got := strings.Count(lettered(tall), "many"); got != 400 {
		t.Errorf("%d of 400 sentences were kept", got)
	}
	wellListed(t, Pages(Head{}, "Nothing", ""))
	wellListed(t, Pages(head, "Words", "", Block{Caution: true, Before: []string{strings.Repeat("mind your fingers ", 300)}}))
}

// No heading is left alone at the foot of a page, whatever stands before it.
func TestHeadingsKeepTheirTable(t *testing.T) {
	for n := range 60 {
		first := Block{Heading: "First"}
		for i := range n {
			first.Rows = append(first.Rows, []string{fmt.Sprint(i), "x"})
		}
		pages := Pages(head, "List", "", first, Block{Heading: "Second", Head: []string{"Head"}, Rows: [][]string{{"row"}}})
		for _, p := range pages {
			said := lettered([]*drawing.Sheet{p})
			if strings.Contains(said, "Second") && !strings.Contains(said, "SecondHeadrow") {
				t.Errorf("after %d rows the heading stands alone", n)
			}
		}
	}
}

// Whatever is listed stands on the pages whole, and no word lies on another.
func TestAnyList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.OneOf(rapid.StringMatching(`[a-zA-Z0-9/.,×é-]{1,12}`), rapid.StringMatching(`[a-zW]{1,40}`))
		cell := rapid.Custom(func(t *rapid.T) string {
			return strings.Join(rapid.SliceOfN(word, 0, 6).Draw(t, "words"), rapid.SampledFrom([]string{" ", "\u00a0"}).Draw(t, "space"))
		})
		var blocks []Block
		all := ""
		for range rapid.IntRange(0, 4).Draw(t, "blocks") {
			n := rapid.IntRange(1, 6).Draw(t, "columns")
			b := Block{Heading: cell.Draw(t, "heading"), Before: rapid.SliceOfN(cell, 0, 2).Draw(t, "before"), After: rapid.SliceOfN(cell, 0, 2).Draw(t, "after"),
				Tick: rapid.Bool().Draw(t, "tick"), Big: rapid.Bool().Draw(t, "big"), Strong: rapid.Bool().Draw(t, "strong"), Right: []int{rapid.IntRange(0, 7).Draw(t, "right")}}
			if rapid.Bool().Draw(t, "head") {
				b.Head = rapid.SliceOfN(cell, n, n).Draw(t, "heads")
			}
			if rapid.Bool().Draw(t, "first") {
				b.First = rapid.Float64Range(15, 110).Draw(t, "width")
			}
			b.Rows = rapid.SliceOfN(rapid.SliceOfN(cell, 0, n), 0, 8).Draw(t, "rows")
			blocks = append(blocks, b)
			for _, r := range b.Rows {
				for _, c := range r {
					all += bare(c)
				}
			}
		}
		h := head
		h.Guitar, h.Style = cell.Draw(t, "name"), rapid.SampledFrom(spoken()).Draw(t, "style")
		pages := Pages(h, "List", "3 May 2026", blocks...)
		wellListed(t, pages)
		// Cells stand side by side, so only the letters can be counted.
		count := func(s string) map[rune]int {
			m := map[rune]int{}
			for _, r := range s {
				m[r]++
			}
			return m
		}
		got := count(lettered(pages))
		for r, n := range count(all) {
			if got[r] < n {
				t.Fatalf("letter %q: %d of %d are on the pages", r, got[r], n)
			}
		}
	})
}

// The page of a fixed list, as it was when somebody looked at it: a change shows here, and is no check of a figure.
func TestListGolden(t *testing.T) {
	pages := Pages(head, "Cut list", "3 May 2026", Block{Caution: true, Before: []string{"Sanding: wear a dust mask and eye protection."}},
		Block{Heading: "Parts", Head: []string{"Part", "How many", "Rough in mm: long × wide × thick"}, Rows: [][]string{{"neck shaft and head, mahogany", "1", "531 × 67 × 21"}, {"half of the top, a spruce with a very long name that wraps onto another line", "2", "502 × 189 × 4"}}, Right: []int{1}, Tick: true, After: []string{"Rough sizes are finished sizes and 12 mm in length."}},
		Block{Heading: "Wood", First: 60, Head: []string{"Part", "Litres"}, Rows: [][]string{{"neck", "0.75"}, {"Together", "0.75"}}, Strong: true})
	if len(pages) != 1 {
		t.Fatalf("%d pages", len(pages))
	}
	golden(t, "list-page", pages[0])
}
