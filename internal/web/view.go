package web

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"path"
	"strings"
	"sync"
	"text/template/parse"
	"unicode"
	"unicode/utf8"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/language"
	"fairset/language/markup"
	"fairset/unit"
)

//go:embed templates
var templateFiles embed.FS

// view is one page's templates, parsed once for each way of reading, when the first who reads so asks for the page.
type view struct {
	name, root string
	asset      *assets

	mu      sync.Mutex
	byStyle map[unit.Style]*template.Template
}

func (v *view) execute(w io.Writer, s unit.Style, data any) error {
	t, err := v.in(s)
	if err != nil {
		return err
	}
	return t.ExecuteTemplate(w, v.root, data)
}

// in returns the templates for one way of reading, so that {{say}} and {{len}} need no argument.
func (v *view) in(s unit.Style) (*template.Template, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if t, ok := v.byStyle[s]; ok {
		return t, nil
	}
	t := template.New(v.name).Funcs(funcs(s, v.asset)).Option("missingkey=error")
	for _, file := range []string{"layout", "parts", fileOf(v.name)} {
		src, err := source(file, s.Language())
		if err != nil {
			return nil, err
		}
		if _, err := t.Parse(src); err != nil {
			return nil, fmt.Errorf("read page template %q: %w", file, err)
		}
	}
	if t.Lookup(v.root) == nil {
		return nil, fmt.Errorf("page template %q does not define %q", v.name, v.root)
	}
	for _, each := range t.Templates() {
		if each.Tree != nil {
			toReader(each.Tree.Root)
		}
	}
	v.byStyle[s] = t
	return t, nil
}

// source is a template file with its words in a language.
func source(file string, c language.Code) (string, error) {
	key := [2]string{file, c.Tag()}
	if src, ok := sources.Load(key); ok {
		return src.(string), nil
	}
	data, err := templateFiles.ReadFile(path.Join("templates", file+".html"))
	if err != nil {
		return "", err
	}
	src := string(data)
	if c != language.English || strings.Contains(src, "‖") {
		if src, err = markup.Translate(src, c.Find); err != nil {
			return "", fmt.Errorf("page template %q in %s: %w", file, c.Name(), err)
		}
	}
	sources.Store(key, src)
	return src, nil
}

var sources sync.Map

// toReader makes every value of a template be written for its reader: a text in their language, a length in their units.
func toReader(n parse.Node) {
	switch n := n.(type) {
	case *parse.ListNode:
		if n == nil {
			return
		}
		for _, each := range n.Nodes {
			toReader(each)
		}
	case *parse.ActionNode:
		if len(n.Pipe.Decl) == 0 {
			write := parse.NewIdentifier("write").SetPos(n.Pos).SetTree(nil)
			n.Pipe.Cmds = append(n.Pipe.Cmds, &parse.CommandNode{NodeType: parse.NodeCommand, Pos: n.Pos, Args: []parse.Node{write}})
		}
	case *parse.IfNode:
		toReader(n.List)
		toReader(n.ElseList)
	case *parse.RangeNode:
		toReader(n.List)
		toReader(n.ElseList)
	case *parse.WithNode:
		toReader(n.List)
		toReader(n.ElseList)
	}
}

// pages are the templates that must exist; a name ending in "_part" is a fragment without the layout.
var pages = []string{"home", "new", "repair", "design", "design_part", "guitar", "step", "cut", "history", "photo", "strings", "strings_part", "board", "board_part", "top", "top_line_part", "top_part", "figures_part", "modes_part", "setup", "paper", "print", "sheet", "printer", "class", "glance", "glance_part", "copies", "change", "report", "learned", "job", "job_part", "shop", "backups", "climate", "help", "first", "walk", "offline", "unsaved", "waiting", "error", "signin", "account", "people", "trail", "trust"}

// loadViews reads every page's templates once, in English, so that a fault in one is known when the program starts.
func loadViews(a *assets) (map[string]*view, error) {
	out := map[string]*view{}
	for _, name := range pages {
		v := &view{name: name, root: "layout", asset: a, byStyle: map[unit.Style]*template.Template{}}
		if strings.HasSuffix(name, "_part") {
			v.root = name
		}
		if _, err := v.in(unit.Millimetre); err != nil {
			return nil, err
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
		"write": func(v any) any {
			switch v := v.(type) {
			case unit.Said:
				return v.In(style)
			case error:
				return unit.Explain(v, style)
			}
			return v
		},
		"say": func(what unit.Said) string { return what.In(style) },
		"text": func(english string) string {
			words, _ := style.Language().Find(english)
			return words
		},
		"len":     func(l unit.Length) string { return l.In(style) },
		"exact":   func(l unit.Length) string { return l.Exact(style) },
		"fine":    func(l unit.Length) string { return l.Fine(style) },
		"count":   func(list any) int { return listLen(list) },
		"draw":    func(f figure) (template.HTML, error) { return f.html() },
		"asset":   a.url,
		"measure": func(m *guitar.Measuring) (string, error) { return a.measure(*m, style.Language()) },
		"words":   func() string { return a.byKey[wordsFile(style.Language())] },
		"key":     newKey,
		"join":    func(list []string) string { return strings.Join(list, ", ") },
		"plus":    func(a, b int) int { return a + b },
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
		"styles":    unit.Styles,
		"languages": language.Codes,
		// lower is for a name within a sentence. Nouns keep their capital where a language gives them one.
		"lower": func(name any) string {
			words, ok := name.(string)
			if said, is := name.(unit.Said); is {
				words, ok = said.In(style), true
			}
			if !ok {
				words = fmt.Sprint(name)
			}
			return lowered(words, style)
		},
	}
}

// lowered begins a name with a small letter, for use within a sentence, unless the language keeps the capitals of nouns.
func lowered(words string, style unit.Style) string {
	first, size := utf8.DecodeRuneInString(words)
	if size == 0 || style.Language().Capitals() {
		return words
	}
	return string(unicode.ToLower(first)) + words[size:]
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
