package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"reflect"
	"regexp"
	"strings"

	"fairset/craft/guitar"
	"fairset/drawing/svg"
	"fairset/language"
	"fairset/sheet"
	"fairset/unit"
)

// assets serves the embedded style sheet, script and icons under names that change with their content,
// so that a browser may keep them for good.
type assets struct {
	byURL map[string]asset
	byKey map[string]string
}

type asset struct {
	data []byte
	kind string
}

func loadAssets(files embed.FS) (*assets, error) {
	a := &assets{map[string]asset{}, map[string]string{}}
	err := fs.WalkDir(files, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := files.ReadFile(p)
		if err != nil {
			return err
		}
		name := strings.TrimPrefix(p, "static/")
		ext := path.Ext(name)
		kind := mime.TypeByExtension(ext)
		switch ext { // not every machine's table knows these
		case ".css":
			kind = "text/css; charset=utf-8"
		case ".js":
			kind = "text/javascript; charset=utf-8"
		case ".svg":
			kind = "image/svg+xml"
		}
		a.add(name, data, kind)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := a.addWords(); err != nil {
		return nil, err
	}
	return a, a.addMeasures()
}

// wordsFile is the name of the file with the words of the pages' script in a language.
func wordsFile(c language.Code) string { return "words-" + c.Tag() + ".js" }

// addWords adds, for each language but English, what the pages' script says: a file of its own, so that a page only names it.
func (a *assets) addWords() error {
	script := string(a.byURL[a.byKey["fairset.js"]].data)
	for _, c := range language.Codes() {
		if c == language.English {
			continue
		}
		words := map[string]string{}
		for _, m := range inSay.FindAllStringSubmatch(script, -1) {
			var english string
			if err := json.Unmarshal([]byte(m[1]), &english); err != nil {
				return fmt.Errorf("the script says %s: %w", m[1], err)
			}
			words[english], _ = c.Find(english)
		}
		list, err := json.Marshal(words)
		if err != nil {
			return err
		}
		a.add(wordsFile(c), []byte("window.fairsetWords = "+string(list)+";\n"), "text/javascript; charset=utf-8")
	}
	return nil
}

// inSay is a text in the pages' script: the first argument of say.
var inSay = regexp.MustCompile(`\bsay\(\s*("(?:[^"\\]|\\.)*")`)

// measureFile is the name of the small drawing of where a figure is taken.
func measureFile(view, mark string, c language.Code) string {
	return "measure-" + view + "-" + mark + "." + c.Tag() + ".svg"
}

// addMeasures draws where each figure is taken, in each language: small files that a page asks for when they are looked at.
func (a *assets) addMeasures() error {
	for _, key := range guitar.MeasuredFields() {
		m, _ := guitar.Measure(key)
		for _, c := range language.Codes() {
			name := measureFile(m.View, m.Mark, c)
			if _, ok := a.byKey[name]; ok {
				continue
			}
			style := unit.Millimetre.Speaking(c)
			s := sheet.Measure(m.View, m.Mark, style.Say("Where a figure is taken"), style)
			if s == nil {
				return fmt.Errorf("no small drawing %q for %s", m.View, key)
			}
			data, err := svg.Bytes(s, svg.Options{Mode: svg.Screen, ID: "measure", File: true})
			if err != nil {
				return err
			}
			a.add(name, data, "image/svg+xml")
		}
	}
	return nil
}

// measure is the address of the small drawing of where a figure is taken.
func (a *assets) measure(m guitar.Measuring, c language.Code) (string, error) {
	if u, ok := a.byKey[measureFile(m.View, m.Mark, c)]; ok {
		return u, nil
	}
	return a.url(measureFile(m.View, m.Mark, language.English))
}

// add keeps a file under a name that changes with its content.
func (a *assets) add(name string, data []byte, kind string) {
	sum := sha256.Sum256(data)
	ext := path.Ext(name)
	u := "/static/" + strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:6]) + ext
	a.byURL[u], a.byKey[name] = asset{data, kind}, u
}

func (a *assets) url(name string) (string, error) {
	if u, ok := a.byKey[name]; ok {
		return u, nil
	}
	return "", fmt.Errorf("no embedded file %q", name)
}

func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f, ok := a.byURL[r.URL.Path]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", f.kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	_, _ = w.Write(f.data)
}

func listLen(list any) int {
	v := reflect.ValueOf(list)
	switch v.Kind() {
	case reflect.Slice, reflect.Array, reflect.Map, reflect.String:
		return v.Len()
	}
	return 0
}
