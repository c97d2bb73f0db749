// Package words finds every text that a maker reads, wherever the sources say it, and keeps the catalogues of package
// language in step with them.
//
// It is used by tests and at the desk, never by the program that serves.
package words

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/tools/go/packages"

	"fairset/language"
)

// Found is one text in the sources.
type Found struct {
	ID   string // English, with its hint
	Many string // English for several; "" for a text without number
	File string // where it is said first, from the top of the sources
}

// Fault is a place in the sources where a text would escape its translation.
type Fault struct{ At, Why string }

const unitPath = "fairset/unit"

// InGo finds the texts in the Go sources of packages (such as "./...") under root: every constant of type unit.Text. Faults are texts that are not constants, and texts or
// phrases handed to where they would be written in English.
func InGo(root string, patterns ...string) ([]Found, []Fault, error) {
	root, err := filepath.Abs(root)
	if err != nil {
		return nil, nil, err
	}
	conf := &packages.Config{Dir: root, Mode: packages.NeedName | packages.NeedFiles | packages.NeedSyntax | packages.NeedTypes | packages.NeedTypesInfo | packages.NeedImports | packages.NeedDeps}
	pkgs, err := packages.Load(conf, patterns...)
	if err != nil {
		return nil, nil, err
	}
	var found []Found
	var faults []Fault
	slices.SortFunc(pkgs, func(a, b *packages.Package) int { return strings.Compare(a.PkgPath, b.PkgPath) })
	for _, p := range pkgs {
		for _, e := range p.Errors {
			return nil, nil, fmt.Errorf("%s: %s", p.PkgPath, e)
		}
		for _, file := range p.Syntax {
			r := reader{pkg: p, root: root, pairs: map[ast.Expr]bool{}}
			ast.Inspect(file, r.visit)
			found = append(found, r.found...)
			faults = append(faults, r.faults...)
		}
	}
	if len(found) == 0 {
		return nil, nil, fmt.Errorf("no text under %s: nothing was read", root)
	}
	return found, faults, nil
}

type reader struct {
	pkg    *packages.Package
	root   string
	pairs  map[ast.Expr]bool // already taken as one of the two texts of a number
	found  []Found
	faults []Fault
}

func (r *reader) at(n ast.Node) token.Position { return r.pkg.Fset.Position(n.Pos()) }

func (r *reader) file(n ast.Node) string {
	rel, err := filepath.Rel(r.root, r.at(n).Filename)
	if err != nil {
		return r.at(n).Filename
	}
	return filepath.ToSlash(rel)
}

func (r *reader) fault(n ast.Node, format string, args ...any) {
	r.faults = append(r.faults, Fault{fmt.Sprintf("%s:%d", r.file(n), r.at(n).Line), fmt.Sprintf(format, args...)})
}

// said returns the constant a text is.
func (r *reader) said(e ast.Expr) (string, bool) {
	tv := r.pkg.TypesInfo.Types[e]
	if tv.Value == nil || tv.Value.Kind() != constant.String || !ofUnit(tv.Type, "Text") {
		return "", false
	}
	return constant.StringVal(tv.Value), true
}

func (r *reader) visit(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.CallExpr:
		r.call(n)
	case *ast.BasicLit, *ast.BinaryExpr:
		e := n.(ast.Expr)
		text, ok := r.said(e)
		if ok && !r.pairs[e] && letters(text) {
			r.found = append(r.found, Found{ID: text, File: r.file(n)})
		}
		return !ok
	}
	return true
}

func (r *reader) call(call *ast.CallExpr) {
	info := r.pkg.TypesInfo
	inUnit := r.pkg.PkgPath == unitPath
	if to := info.Types[call.Fun]; to.IsType() && len(call.Args) == 1 {
		from := info.Types[call.Args[0]]
		switch {
		case inUnit:
		case ofUnit(to.Type, "Text") && from.Value == nil && !ofUnit(from.Type, "Text"):
			r.fault(call, "a text must be a constant; words of a table come from unit.FromTable")
		case types.Identical(to.Type.Underlying(), types.Typ[types.String]) && !ofUnit(to.Type, "Text") && ofUnit(from.Type, "Text"):
			r.fault(call, "a text turned into a string loses its translation: use In")
		}
		return
	}
	f, ok := callee(info, call).(*types.Func)
	if !ok || f.Pkg() == nil {
		return
	}
	switch {
	case f.Pkg().Path() == unitPath && (f.Name() == "Plural" || f.Name() == "Count") && len(call.Args) >= 3:
		one, ok1 := r.said(call.Args[1])
		many, ok2 := r.said(call.Args[2])
		if !ok1 || !ok2 {
			if !inUnit {
				r.fault(call, "both texts of a number must be constants")
			}
			return
		}
		r.pairs[call.Args[1]], r.pairs[call.Args[2]] = true, true
		r.found = append(r.found, Found{ID: one, Many: many, File: r.file(call)})
	case f.Name() == "String" && !inUnit:
		if sel, ok := call.Fun.(*ast.SelectorExpr); ok && r.english(info.Types[sel.X].Type) {
			r.fault(call, "String writes English: use In")
		}
	case slices.Contains([]string{"fmt", "strings", "errors", "log/slog"}, f.Pkg().Path()):
		for _, a := range call.Args {
			if r.english(info.Types[a].Type) {
				r.fault(call, "%s.%s writes a text in English: use unit.Say or In", f.Pkg().Name(), f.Name())
			}
		}
	}
}

// english reports types whose String writes English.
func (r *reader) english(t types.Type) bool {
	return t != nil && (ofUnit(t, "Text") || ofUnit(t, "Phrase") || ofUnit(t, "Texts"))
}

func callee(info *types.Info, call *ast.CallExpr) types.Object {
	switch f := ast.Unparen(call.Fun).(type) {
	case *ast.Ident:
		return info.Uses[f]
	case *ast.SelectorExpr:
		return info.Uses[f.Sel]
	}
	return nil
}

func ofUnit(t types.Type, name string) bool {
	n, ok := types.Unalias(t).(*types.Named)
	return ok && n.Obj().Name() == name && n.Obj().Pkg() != nil && n.Obj().Pkg().Path() == unitPath
}

func letters(s string) bool {
	s, _ = language.Split(reVerb.ReplaceAllString(s, ""))
	return strings.ContainsFunc(s, unicode.IsLetter)
}

// reVerb is a verb of package fmt.
var reVerb = regexp.MustCompile(`%[-+#0]*(?:\[(\d+)\])?[0-9]*(?:\.[0-9]+)?([a-zA-Z%])`)

// reSay is a text in the script of the pages.
var reSay = regexp.MustCompile(`\bsay\(\s*"((?:[^"\\]|\\.)*)"`)

// InScript finds the texts in a script: the first argument of say, a string in double quotes.
func InScript(root, file string) ([]Found, error) {
	b, err := os.ReadFile(filepath.Join(root, file))
	if err != nil {
		return nil, err
	}
	var out []Found
	for _, m := range reSay.FindAllStringSubmatch(string(b), -1) {
		out = append(out, Found{ID: strings.NewReplacer(`\"`, `"`, `\\`, `\`, `\n`, "\n").Replace(m[1]), File: file})
	}
	return out, nil
}

// Check says why words cannot stand for a text: other figures in them, another hint of a sentence's end. It does not know
// the language.
func Check(id, many string, words []string) error {
	forms := []string{id}
	if many != "" {
		forms = append(forms, many)
	}
	if len(words) != len(forms) {
		return fmt.Errorf("%d forms instead of %d", len(words), len(forms))
	}
	for i, w := range words {
		english, _ := language.Split(forms[i])
		if a, b := verbs(english), verbs(w); !slices.Equal(a, b) {
			return fmt.Errorf("figures %v instead of %v", b, a)
		}
		if head(english) != head(w) || tail(english) != tail(w) {
			return fmt.Errorf("begins or ends with another space or stop than the English")
		}
	}
	return nil
}

// verbs lists the verbs of a format by the argument they write, without their width.
func verbs(format string) []string {
	var out []string
	next := 1
	for _, m := range reVerb.FindAllStringSubmatch(format, -1) {
		if m[2] == "%" {
			out = append(out, "%%")
			continue
		}
		if m[1] != "" {
			fmt.Sscan(m[1], &next)
		}
		out = append(out, fmt.Sprint(next, m[2]))
		next++
	}
	slices.Sort(out)
	return out
}

func head(s string) string { return s[:len(s)-len(strings.TrimLeft(s, " ,;"))] }

func tail(s string) string {
	s = strings.TrimRight(s, `"“”»«)`)
	rest := strings.TrimRight(s, " .:?!…")
	return s[len(rest):]
}
