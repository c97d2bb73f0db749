package store_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strings"
	"testing"

	"fairset/internal/store"
	"fairset/language"
	"fairset/unit"
)

// What was done is found again in the words that an event keeps, whatever stands in them.
func TestWhatWasDoneIsSaidInAnotherLanguage(t *testing.T) {
	pseudo := unit.Millimetre.Speaking(language.Pseudo)
	for _, text := range store.Dids() {
		var args []any
		for _, verb := range strings.Split(string(text), "%")[1:] {
			args = append(args, map[byte]any{'d': 12, 'q': `“Rail” "1", 2 to 3 %d`, 's': "bench 3, on the left"}[verb[0]])
		}
		e := store.Event{Did: store.Did(text, args...)}
		if got := e.Says().In(unit.Millimetre); got != e.Did {
			t.Errorf("%q is said %q", e.Did, got)
		}
		if got, want := e.Says().In(pseudo), pseudo.Say(text, args...); got != want {
			t.Errorf("%q is said %q, want %q", e.Did, got, want)
		}
	}
	for _, other := range []string{"", "signed out", "undid entry twelve", "undid entry 99999999999999999999", `renamed the guitar from "a to "b"`} {
		if got := (store.Event{Did: other}).Says().In(pseudo); got != other {
			t.Errorf("%q is said %q", other, got)
		}
	}
}

// Dids lists every text there is.
func TestEveryDidIsListed(t *testing.T) {
	src, err := os.ReadFile("trail.go")
	if err != nil {
		t.Fatal(err)
	}
	file, err := parser.ParseFile(token.NewFileSet(), "trail.go", src, 0)
	if err != nil {
		t.Fatal(err)
	}
	var named []string
	ast.Inspect(file, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok && strings.HasPrefix(v.Names[0].Name, "Did") {
			named = append(named, strings.Trim(v.Values[0].(*ast.BasicLit).Value, `"`))
		}
		return true
	})
	if len(named) == 0 || len(named) != len(store.Dids()) {
		t.Errorf("%d texts, %d listed", len(named), len(store.Dids()))
	}
	for _, n := range named {
		if !slices.Contains(store.Dids(), unit.Text(n)) {
			t.Errorf("%q is not listed", n)
		}
	}
}
