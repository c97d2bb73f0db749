package words

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"fairset/internal/cli"
	"fairset/language"
	"fairset/language/markup"
)

// areas are the files of a catalogue, and what of the sources each holds the words of: a text belongs to the first area it is said in.
var areas = []struct {
	name  string
	under []string
}{
	{"craft", []string{"unit/", "craft/"}},
	{"guitar", []string{"craft/guitar/", "craft/bill/", "craft/class/"}},
	{"paper", []string{"sheet/", "printing/", "drawing/"}},
	{"pages", []string{"internal/web/templates/"}},
	{"web", []string{"internal/web/", "internal/shop/", "internal/access/", "internal/photo/", "internal/store/", "internal/demo/", "internal/place/", "internal/backup/"}},
	{"commands", []string{""}},
}

// areaOf is the area of a file: the one with the longest match.
func areaOf(file string) string {
	best, length := "", -1
	for _, a := range areas {
		for _, u := range a.under {
			if strings.HasPrefix(file, u) && len(u) > length {
				best, length = a.name, len(u)
			}
		}
	}
	return best
}

// All finds every text, each once, in the order of the areas and their files.
func All(root string) ([]Found, []Fault, error) {
	found, faults, err := InGo(root, "./...")
	if err != nil {
		return nil, nil, err
	}
	templates, err := filepath.Glob(filepath.Join(root, "internal/web/templates/*.html"))
	if err != nil || len(templates) == 0 {
		return nil, nil, fmt.Errorf("no page templates under %s: %w", root, err)
	}
	for _, name := range templates {
		b, err := os.ReadFile(name)
		if err != nil {
			return nil, nil, err
		}
		for _, id := range markup.Messages(string(b)) {
			found = append(found, Found{ID: id, File: "internal/web/templates/" + filepath.Base(name)})
		}
	}
	for _, script := range []string{"internal/web/static/fairset.js", "internal/web/static/worker.js"} {
		texts, err := InScript(root, script)
		if err != nil {
			return nil, nil, err
		}
		found = append(found, texts...)
	}
	found = append(found, inTables()...)
	for _, id := range cli.Words() {
		found = append(found, Found{ID: id, File: "internal/cli/commands"})
	}
	rank := func(f Found) int {
		return slices.IndexFunc(areas, func(a struct {
			name  string
			under []string
		}) bool {
			return a.name == areaOf(f.File)
		})
	}
	slices.SortStableFunc(found, func(a, b Found) int {
		if d := rank(a) - rank(b); d != 0 {
			return d
		}
		return strings.Compare(a.File, b.File)
	})
	seen := map[string]bool{}
	found = slices.DeleteFunc(found, func(f Found) bool {
		was := seen[f.ID+"\x00"+f.Many]
		seen[f.ID+"\x00"+f.Many] = true
		return was
	})
	return found, faults, nil
}

// header is what a catalogue file begins with.
const header = `msgid ""
msgstr ""
"Language: %s\n"
"Content-Type: text/plain; charset=UTF-8\n"
"Content-Transfer-Encoding: 8bit\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"
`

// Write writes the catalogue files of a language into dir/<language>: every text found, with the words it had. Words no longer said are
// dropped.
func Write(dir string, c language.Code, found []Found, known map[string][]string) error {
	for _, a := range areas {
		var b strings.Builder
		fmt.Fprintf(&b, header, c.Tag())
		for _, f := range found {
			if areaOf(f.File) != a.name {
				continue
			}
			id, hint := language.Split(f.ID)
			fmt.Fprintf(&b, "\n#: %s\n", f.File)
			if strings.Contains(f.ID, "%") {
				b.WriteString("#, c-format\n")
			}
			if hint != "" {
				fmt.Fprintf(&b, "msgctxt %s\n", quote(hint))
			}
			fmt.Fprintf(&b, "msgid %s\n", quote(id))
			words := known[f.ID+"\x00"+f.Many]
			if f.Many == "" {
				fmt.Fprintf(&b, "msgstr %s\n", quote(strings.Join(words, "")))
				continue
			}
			many, _ := language.Split(f.Many)
			fmt.Fprintf(&b, "msgid_plural %s\n", quote(many))
			for i := range 2 {
				w := ""
				if i < len(words) {
					w = words[i]
				}
				fmt.Fprintf(&b, "msgstr[%d] %s\n", i, quote(w))
			}
		}
		if err := os.WriteFile(filepath.Join(dir, string(c), a.name+".po"), []byte(b.String()), 0o644); err != nil { //nolint:gosec // a source file
			return err
		}
	}
	return nil
}

func quote(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\t", `\t`).Replace(s) + `"`
}

// Known reads the catalogue files of a language under dir, by English text. A text with different words in two files is an error.
func Known(dir string, c language.Code) (map[string][]string, error) {
	files, err := filepath.Glob(filepath.Join(dir, string(c), "*.po"))
	if err != nil || len(files) == 0 {
		return nil, fmt.Errorf("no catalogue of %s: %w", strconv.Quote(string(c)), err)
	}
	out := map[string][]string{}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		for _, e := range language.Read(b) {
			key := e.ID + "\x00" + e.Many
			if old, ok := out[key]; ok && len(old) > 0 && len(e.Words) > 0 && !slices.Equal(old, e.Words) {
				return nil, fmt.Errorf("%q stands twice, as %q and %q", e.ID, old, e.Words)
			}
			if len(e.Words) > 0 || out[key] == nil {
				out[key] = e.Words
			}
		}
	}
	return out, nil
}
