package web

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"path"
	"strings"

	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/unit"
)

//go:embed templates
var templateFiles embed.FS

// view is one page's parsed templates, once for each way of writing lengths, so that {{say}} and {{len}}
// need no argument.
type view struct {
	byStyle map[unit.Style]*template.Template
	root    string
}

func (v *view) execute(w io.Writer, s unit.Style, data any) error {
	return v.byStyle[s].ExecuteTemplate(w, v.root, data)
}

// pages are the templates that must exist; a name ending in "_part" is a fragment without the layout.
var pages = []string{"home", "new", "repair", "design", "design_part", "guitar", "step", "cut", "history", "photo", "strings", "strings_part", "board", "board_part", "top", "top_line_part", "top_part", "figures_part", "modes_part", "setup", "paper", "print", "sheet", "printer", "class", "glance", "glance_part", "copies", "change", "report", "learned", "job", "job_part", "shop", "backups", "climate", "help", "first", "walk", "offline", "unsaved", "waiting", "error", "signin", "account", "people", "trail", "trust"}

func loadViews(a *assets) (map[string]*view, error) {
	out := map[string]*view{}
	for _, name := range pages {
		v := &view{byStyle: map[unit.Style]*template.Template{}, root: "layout"}
		if strings.HasSuffix(name, "_part") {
			v.root = name
		}
		for _, style := range unit.Styles() {
			t, err := template.New(name).Funcs(funcs(style, a)).Option("missingkey=error").
				ParseFS(templateFiles, "templates/layout.html", "templates/parts.html", path.Join("templates", fileOf(name)+".html"))
			if err != nil {
				return nil, fmt.Errorf("read page template %q: %w", name, err)
			}
			if t.Lookup(v.root) == nil {
				return nil, fmt.Errorf("page template %q does not define %q", name, v.root)
			}
			v.byStyle[style] = t
		}
		out[name] = v
	}
	return out, nil
}

// fileOf is the file a template stands in: a fragment's that of its page.
func fileOf(name string) string {
	switch name {
	case "top_line_part", "figures_part", "modes_part":
		return "top"
	}
	return strings.TrimSuffix(name, "_part")
}

func funcs(style unit.Style, a *assets) template.FuncMap {
	return template.FuncMap{
		"say":   func(p unit.Phrase) string { return p.In(style) },
		"len":   func(l unit.Length) string { return l.In(style) },
		"exact": func(l unit.Length) string { return l.Exact(style) },
		"fine":  func(l unit.Length) string { return l.Fine(style) },
		"count": func(list any) int { return listLen(list) },
		"draw":  func(f figure) (template.HTML, error) { return f.html() },
		"asset": a.url,
		"key":   newKey,
		"plus":  func(a, b int) int { return a + b },
		"spare": func(in input) []int { // blank inputs after the filled ones, so that several readings fit without script
			var out []int
			room := in.Room
			if room == 0 {
				room = max(3, len(in.Values)+1)
			}
			for i := len(in.Values); i < min(room, 12); i++ {
				out = append(out, i)
			}
			return out
		},
		"symbol": func() string {
			return style.Symbol()
		},
		"styles": unit.Styles,
		"lower": func(s string) string {
			if s == "" {
				return s
			}
			return strings.ToLower(s[:1]) + s[1:]
		},
	}
}

// figure is a drawing with the same numbers as a table for those who cannot see it.
type figure struct {
	ID    string // unique on its page
	Sheet *drawing.Sheet
	Open  bool // the table is shown, not folded
	Later bool // the table's rows come with the next whole drawing: a slider is still moving
}

func (f figure) html() (template.HTML, error) {
	if f.Sheet == nil {
		return "", nil
	}
	b, err := svg.Bytes(f.Sheet, svg.Options{Mode: svg.Screen, ID: f.ID})
	if err != nil {
		return "", err
	}
	return template.HTML(b), nil //nolint:gosec // our own writer escapes every text
}
