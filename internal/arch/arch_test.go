package arch

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

type pkg struct {
	ImportPath, Dir string
	GoFiles         []string
	Imports, Deps   []string
}

func list(t *testing.T, pattern string) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Dir,GoFiles,Imports,Deps", pattern)
	cmd.Dir = "../.."
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %s: %v", pattern, err)
	}
	var pkgs []pkg
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		pkgs = append(pkgs, p)
	}
	if len(pkgs) == 0 {
		t.Fatalf("go list %s: nothing found, so nothing was checked", pattern)
	}
	return pkgs
}

func under(path, dir string) bool { return path == dir || strings.HasPrefix(path, dir+"/") }

func TestImportsPointUpward(t *testing.T) {
	for _, rule := range []struct {
		from   string   // packages under this
		deny   []string // may not import these, or anything below them
		deep   bool     // not even through others
		reason string
	}{
		{"fairset/unit", []string{"fairset/craft", "fairset/drawing", "fairset/sheet", "fairset/printing", "fairset/figure", "fairset/internal"}, true, "quantities stand at the bottom"},
		{"fairset/craft", []string{"fairset/drawing", "fairset/sheet", "fairset/figure", "fairset/internal", "database/sql", "net/http"}, true, "the craft knows nothing of drawings, storage, pages or commands"},
		{"fairset/craft", []string{"os", "math/rand"}, false, "the craft reads no files and draws no unseeded random numbers"},
		{"fairset/drawing", []string{"fairset/craft", "fairset/sheet", "fairset/figure", "fairset/internal", "database/sql", "net/http"}, true, "a drawing does not know what it draws"},
		{"fairset/drawing", []string{"os"}, false, "a drawing is made in memory"},
		{"fairset/sheet", []string{"fairset/printing", "fairset/figure", "fairset/internal", "database/sql", "net/http"}, true, "sheets are pure functions of a guitar"},
		{"fairset/sheet", []string{"fairset/drawing/pdf", "fairset/drawing/dxf", "fairset/drawing/png", "fairset/drawing/tile", "fairset/drawing/face"}, true, "a sheet does not know how it is written"},
		{"fairset/drawing/tile", []string{"fairset/drawing/pdf", "fairset/drawing/svg", "fairset/drawing/dxf", "fairset/drawing/png", "fairset/drawing/face"}, true, "tiles are pages for any writer"},
		{"fairset/drawing/svg", []string{"fairset/drawing/face", "fairset/drawing/pdf", "fairset/drawing/dxf", "fairset/drawing/png"}, true, "a writer knows no other, and a browser has letters of its own"},
		{"fairset/drawing/dxf", []string{"fairset/drawing/face", "fairset/drawing/pdf", "fairset/drawing/svg", "fairset/drawing/png"}, true, "a writer knows no other, and a drawing program has letters of its own"},
		{"fairset/drawing/pdf", []string{"fairset/drawing/svg", "fairset/drawing/dxf", "fairset/drawing/png", "fairset/drawing/tile"}, true, "a writer knows no other"},
		{"fairset/drawing/png", []string{"fairset/drawing/svg", "fairset/drawing/dxf", "fairset/drawing/pdf", "fairset/drawing/tile"}, true, "a writer knows no other"},
		{"fairset/drawing/pdf", []string{"codeberg.org/go-pdf/fpdf"}, true, "that library only measures ours in benchmarks"},
		{"fairset/sheet", []string{"os"}, false, "sheets are pure functions of a guitar"},
		{"fairset/printing", []string{"fairset/figure", "fairset/internal", "database/sql", "net/http"}, true, "what can be printed is a pure function of a guitar"},
		{"fairset/printing", []string{"os"}, false, "sheets are drawn in memory"},
		{"fairset/figure", []string{"fairset/internal", "fairset/sheet", "database/sql", "net/http"}, true, "the JSON interface is pure"},
		{"fairset/figure", []string{"os"}, false, "the JSON interface is pure"},
		{"fairset/language", []string{"fairset/unit", "fairset/craft", "fairset/drawing", "fairset/sheet", "fairset/printing", "fairset/figure", "fairset/internal", "database/sql", "net/http"}, true, "a catalogue does not know who says its words"},
		{"fairset/language", []string{"os"}, false, "catalogues are embedded"},
		{"fairset/internal/store", []string{"fairset/internal/web", "fairset/internal/cli", "fairset/internal/api", "html/template"}, true, "the store knows no page"},
		{"fairset/internal/web", []string{"fairset/internal/store/sqlite", "fairset/internal/store/postgres", "fairset/internal/store/sqlstore", "fairset/internal/cli", "database/sql"}, true, "pages know no SQL"},
		{"fairset/internal/api", []string{"fairset/internal/store/sqlite", "fairset/internal/store/postgres", "fairset/internal/store/sqlstore", "fairset/internal/cli", "fairset/internal/web", "database/sql"}, true, "the API knows no SQL and no page"},
		{"fairset/internal/shop", []string{"fairset/internal/store/sqlite", "fairset/internal/store/postgres", "fairset/internal/store/sqlstore", "fairset/internal/web", "fairset/internal/cli", "database/sql"}, true, "the service works on any store"},
	} {
		seen := false
		for _, p := range list(t, "./...") {
			if !under(p.ImportPath, rule.from) {
				continue
			}
			seen = true
			imports := p.Imports
			if rule.deep {
				imports = p.Deps
			}
			for _, i := range imports {
				for _, d := range rule.deny {
					if i == d || strings.HasPrefix(d, "fairset/") && under(i, d) {
						t.Errorf("%s imports %s: %s", p.ImportPath, i, rule.reason)
					}
				}
			}
		}
		if !seen {
			t.Errorf("no package under %s: the rule checks nothing", rule.from)
		}
	}
}

// The craft never asks the time: time.Now and its kin make the same record give different answers.
func TestPurePackagesNeverAskTheTime(t *testing.T) {
	for _, p := range list(t, "./...") {
		pure := false
		for _, dir := range []string{"fairset/unit", "fairset/craft", "fairset/drawing", "fairset/sheet", "fairset/printing", "fairset/figure", "fairset/language"} {
			pure = pure || under(p.ImportPath, dir)
		}
		if !pure {
			continue
		}
		for _, name := range p.GoFiles {
			fset := token.NewFileSet()
			file, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(file, func(n ast.Node) bool {
				sel, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" {
					switch sel.Sel.Name {
					case "Now", "Since", "Until", "After", "Tick", "Sleep", "NewTimer":
						t.Errorf("%s asks the time", fset.Position(sel.Pos()))
					}
				}
				return true
			})
		}
	}
}
