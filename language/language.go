// Package language holds what Fairset says in languages other than English.
//
// Texts stand in English where they are said: in the Go sources as unit.Text, in the page templates as plain
// words, in the pages' script as arguments of say. A catalogue gives each its words in another language, found by the
// English text itself; one that has none is said in English. Catalogues are PO files (GNU gettext manual, "The
// Format of PO Files"), so that a translator can use any PO editor.
//
// An English text may end in a double bar and a hint ("top‖of the guitar"): the hint tells apart words that are one in English
// and several elsewhere, is the entry's msgctxt, and is never shown.
package language

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/leonelquinteros/gotext"
	"golang.org/x/text/language"
)

// Code names a language by its BCP 47 tag. English, which the sources are written in, is "".
type Code string

// The languages. Pseudo marks every text that went through a catalogue with ⟦ and ⟧, so that tests see those that did
// not; it is never offered.
const (
	English Code = ""
	German  Code = "de"
	Pseudo  Code = "qps"
)

// Codes lists the languages that are offered, English first.
func Codes() []Code { return []Code{English, German} }

// Parse reads a language's tag as browsers and systems write it: "de", "de-AT", "de_DE.UTF-8", "en"; "C" and "POSIX" are
// English. ok is false for a language that is not offered.
func Parse(tag string) (c Code, ok bool) {
	tag, _, _ = strings.Cut(tag, ".")
	base, _, _ := strings.Cut(strings.ReplaceAll(strings.ToLower(tag), "_", "-"), "-")
	switch base {
	case "en", "c", "posix":
		return English, true
	}
	c = Code(base)
	return c, base != "" && slices.Contains(Codes(), c)
}

// Match returns the offered language that suits an Accept-Language header best; English when none does.
//
// source: RFC 9110, 12.5.4; RFC 4647.
func Match(header string) Code {
	wanted, _, err := language.ParseAcceptLanguage(header)
	if err != nil || len(wanted) == 0 {
		return English
	}
	_, at, _ := matcher().Match(wanted...)
	return Codes()[at]
}

var matcher = sync.OnceValue(func() language.Matcher {
	var tags []language.Tag
	for _, c := range Codes() {
		tags = append(tags, language.Make(c.Tag()))
	}
	return language.NewMatcher(tags)
})

// Tag is the BCP 47 tag, for the lang attribute of a page.
func (c Code) Tag() string {
	if c == English {
		return "en"
	}
	return string(c)
}

// Name is what the language calls itself.
func (c Code) Name() string {
	switch c {
	case English:
		return "English"
	case German:
		return "Deutsch"
	}
	return string(c)
}

// Comma reports that decimals stand behind a comma.
func (c Code) Comma() bool { return c == German }

// Capitals reports that nouns begin with a capital wherever they stand, so that the first letter of a name is not made
// small within a sentence.
func (c Code) Capitals() bool { return c == German }

// Split takes the hint off an English text.
func Split(id string) (text, hint string) {
	text, hint, _ = strings.Cut(id, "‖")
	return text, hint
}

// Find returns the words for an English text, with its hint if it has one. ok is false when the catalogue has none; the English words come
// back then.
func (c Code) Find(id string) (words string, ok bool) {
	switch c {
	case English:
		words, _ = Split(id)
		return words, true
	case Pseudo:
		words, _ = Split(id)
		return mark(words), true
	}
	if words, ok = c.catalogue().one[id]; ok {
		return words, true
	}
	words, _ = Split(id)
	return words, false
}

// FindMany returns the words for n of something; one and many are the English texts for one and for several.
func (c Code) FindMany(one, many string, n int) (words string, ok bool) {
	english := many
	if n == 1 {
		english = one
	}
	english, _ = Split(english)
	switch c {
	case English:
		return english, true
	case Pseudo:
		return mark(english), true
	}
	forms := c.catalogue().many[one+"\x00"+many]
	if i := c.form(n); i < len(forms) {
		return forms[i], true
	}
	return english, false
}

// form is the plural form for n. Those of English and German are alike: one for exactly one, one for all others.
// A language with other rules adds its own here.
//
// source: Unicode CLDR plural rules.
func (c Code) form(n int) int {
	if n == 1 {
		return 0
	}
	return 1
}

func mark(words string) string {
	if words == "" {
		return ""
	}
	return strings.ReplaceAll("⟦"+figure.ReplaceAllString(words, "⟧$0⟦")+"⟧", "⟦⟧", "")
}

// figure is what stands in a text for a figure or another text, and is not marked with it: that must have come through a catalogue itself.
var figure = regexp.MustCompile(`%%|%[-+#0]*(?:\[\d+\])?[0-9]*(?:\.[0-9]+)?[a-zA-Z]|\{\d+\}`)

//go:embed de/*.po
var files embed.FS

type catalogue struct {
	one  map[string]string
	many map[string][]string // by both English texts
}

var german = sync.OnceValue(func() catalogue { return mustRead(German) })

func (c Code) catalogue() catalogue {
	if c == German {
		return german()
	}
	return catalogue{}
}

// mustRead reads the embedded catalogues of a language; that they can be read is tested.
func mustRead(c Code) catalogue {
	names, err := fs.Glob(files, path.Join(string(c), "*.po"))
	if err != nil || len(names) == 0 {
		panic(fmt.Sprintf("language %s has no catalogue", c))
	}
	out := catalogue{map[string]string{}, map[string][]string{}}
	for _, name := range names {
		b, err := files.ReadFile(name)
		if err != nil {
			panic(err)
		}
		for _, e := range Read(b) {
			switch {
			case len(e.Words) == 0:
			case e.Many != "":
				out.many[e.ID+"\x00"+e.Many] = e.Words
			default:
				out.one[e.ID] = e.Words[0]
			}
		}
	}
	return out
}

// Entry is one text of a catalogue.
type Entry struct {
	ID    string   // English, with its hint
	Many  string   // English for several, with its hint; "" for a text without number
	Words []string // one for each plural form; empty when not translated yet
}

// Read reads a PO file, its entries sorted by English text.
func Read(po []byte) []Entry {
	file := gotext.NewPo()
	file.Parse(po)
	var out []Entry
	add := func(hint string, list map[string]*gotext.Translation) {
		for _, t := range list {
			if t.ID == "" {
				continue
			}
			e := Entry{ID: t.ID, Many: t.PluralID}
			if hint != "" {
				e.ID += "‖" + hint
				if e.Many != "" {
					e.Many += "‖" + hint
				}
			}
			for i := range len(t.Trs) {
				if w := t.Trs[i]; w != "" {
					e.Words = append(e.Words, w)
				}
			}
			out = append(out, e)
		}
	}
	add("", file.GetDomain().GetTranslations())
	for hint, list := range file.GetDomain().GetCtxTranslations() {
		add(hint, list)
	}
	slices.SortFunc(out, func(a, b Entry) int { return strings.Compare(a.ID+"\x00"+a.Many, b.ID+"\x00"+b.Many) })
	return out
}
