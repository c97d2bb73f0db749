package printing_test

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/printing"
	"fairset/unit"
)

func TestEveryStepHasItsSheets(t *testing.T) {
	names := printing.Names()
	for _, g := range guitar.Guides() {
		es := printing.ForStep(g.Step)
		if len(es) == 0 && g.Step != guitar.StepShim && g.Step != guitar.StepNote && g.Step != guitar.StepDesign {
			t.Errorf("%s has no sheet to print", g.Step)
		}
		for _, e := range es {
			if !slices.Contains(names, e.Name) {
				t.Errorf("%s: no sheet %q", g.Step, e.Name)
			}
		}
	}
	if es := printing.ForStep(""); len(es) != 1 || es[0].Name != "record" {
		t.Errorf("a finished guitar: %v", es)
	}
}

func TestClassReportIsWritten(t *testing.T) {
	var ms []class.Member
	for _, name := range []string{"Alder 2", "=1+1", "Alder, the \"first\""} {
		g, err := guitar.New(name, "steel-14", nil)
		if err != nil {
			t.Fatal(err)
		}
		ms = append(ms, class.Member{Guitar: g, Bench: g.Bench(guitar.Options{}), Owner: "@bench"})
	}
	r := class.Reported(ms)
	var b bytes.Buffer
	if err := printing.ClassCSV(&b, r); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 4 {
		t.Fatalf("%v, %v", rows, err)
	}
	// source: RFC 4180 for the form; a cell that begins with one of = + - @ is a formula to a spreadsheet.
	if rows[1][0] != "'=1+1" || rows[3][0] != `Alder, the "first"` || rows[2][0] != "Alder 2" || rows[1][2] != "'@bench" {
		t.Errorf("%q", rows)
	}
	at := slices.Index(rows[0], "action_bass_wanted_mm")
	if want := ms[0].Bench.Design.Length("action_bass").MM(); rows[3][at] != strings.TrimSpace(unitText(want)) {
		t.Errorf("action wanted %q of %v", rows[3][at], want)
	}
	for _, style := range unit.Styles() {
		i := 0
		var doc bytes.Buffer
		err := printing.ClassPDF(&doc, printing.Setup{}, style, "The shed", "3 May 2026", r, func() (printing.Source, bool, error) {
			if i == len(ms) {
				return printing.Source{}, false, nil
			}
			i++
			return printing.Source{Guitar: ms[i-1].Guitar, Bench: ms[i-1].Bench, Style: style}, true, nil
		})
		// A page of the summary at least, and one for each guitar's record.
		if err != nil || !bytes.HasPrefix(doc.Bytes(), []byte("%PDF-")) || bytes.Count(doc.Bytes(), []byte("/Type /Page "))+bytes.Count(doc.Bytes(), []byte("/Type /Page\n"))+bytes.Count(doc.Bytes(), []byte("/Type/Page/")) < 4 {
			t.Errorf("%v, %d bytes", err, doc.Len())
		}
		for _, block := range printing.ClassBlocks(r, style) {
			for _, row := range block.Rows {
				if len(block.Head) > 0 && len(row) != len(block.Head) || strings.Contains(strings.Join(row, ""), "NaN") {
					t.Errorf("%s: %q", block.Heading, row)
				}
			}
		}
	}
}

func TestSpan(t *testing.T) {
	for d, want := range map[string]string{"30s": "under a minute", "1m": "1 minute", "90m": "90 minutes", "3h": "3 hours", "47h": "47 hours", "72h": "3 days"} {
		if got := strings.ReplaceAll(printing.Span(duration(t, d), unit.Millimetre), "\u00a0", " "); got != want {
			t.Errorf("%s: %q, want %q", d, got, want)
		}
	}
}

func unitText(mm float64) string { return strconv.FormatFloat(mm, 'f', 3, 64) }

func duration(t *testing.T, s string) time.Duration {
	t.Helper()
	d, err := time.ParseDuration(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
