package unit_test

import (
	"strings"
	"testing"

	"fairset/unit"
)

// source: OWASP, "CSV Injection"
func TestCellsAreNoFormulas(t *testing.T) {
	for in, want := range map[string]string{
		"=1+1": "'=1+1", "@SUM(A1)": "'@SUM(A1)", "+cmd|' /C calc'!A0": "'+cmd|' /C calc'!A0", "-2+3": "'-2+3", "\t=1": "'\t=1", "\r=1": "'\r=1", "\n=1": "'\n=1",
		"＝1": "'＝1", "  =1": "'  =1", "\u00a0=1": "'\u00a0=1",
		"": "", "Larch": "Larch", "-1.5": "-1.5", "+0.25": "+0.25", "1e-3": "1e-3", "25 1/2": "25 1/2", "'=1": "'=1", "-": "'-", "-inf": "'-inf", "-0x1p-2": "'-0x1p-2", "-1/64": "'-1/64",
	} {
		if got := unit.Cell(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

// FuzzCell: no cell begins as a formula does, and the text can be had back.
func FuzzCell(f *testing.F) {
	for _, s := range []string{"", "=1", " =1", "-1", "\t", "＝", "Larch", "\xff=1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c := unit.Cell(s)
		if strings.TrimPrefix(c, "'") != s && c != s {
			t.Fatalf("%q becomes %q", s, c)
		}
		if c != "" && strings.ContainsAny(c[:1], "=@\t\r\n") {
			t.Fatalf("%q begins as a formula does", c)
		}
	})
}
