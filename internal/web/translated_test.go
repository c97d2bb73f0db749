package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/demo"
	"fairset/language"
	"fairset/printing"
)

// Only tests read the pages in the language that marks what went through a catalogue.
func init() {
	parseLanguage = func(tag string) (language.Code, bool) {
		if tag == string(language.Pseudo) {
			return language.Pseudo, true
		}
		return language.Parse(tag)
	}
}

// stays are words that are the same in every language, or are not words: units, notes, names of threads, drills and papers, file
// kinds, what somebody typed, addresses, the names of the made-up shop.
var stays = regexp.MustCompile(`(?i)\b(?:` + strings.Join([]string{
	"mm", "cm", "in", "lbf", "MPa", "GPa", "Hz", "kg", "lb", "oz", "ft", "MB", "KB", "KiB", "kB", "MiB", "deg",
	"PIN", "PDF", "SVG", "PNG", "JPEG", "WebP", "JSON", "CSV", "DXF", "RMS", "EMC", "ISO", "ASME", "NDS", "UNC", "UNF",
	"A[0-9]", "Letter", "Legal", "Tabloid", "M[0-9.]+", "[A-G][#b]?[0-9]",
	"Deutsch", "English", "Fairset", "OpenAPI", "G_RT/E_L",
	"nobody", "none", "ell", "xx", // asked for by this test

}, "|") + `)\b`)

var digits = regexp.MustCompile(`[0-9.]+`)

var letters = regexp.MustCompile(`\p{L}{2,}`)

// spoken is a walk through the pages in the language that marks texts.
type spoken struct {
	sh    *shared
	names *regexp.Regexp // names of guitars, people and the shop
	said  map[string]string
	seen  map[string]bool
	depth int // of the marks that are open: a text goes on over the tags in it
}

// visit asks for a page, and notes what on it did not go through a catalogue.
func (s *spoken) visit(method, path string, form url.Values) *html.Node {
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	r.AddCookie(&http.Cookie{Name: "fairset_in", Value: s.sh.tokens["desk"]})
	r.AddCookie(&http.Cookie{Name: cookieLanguage, Value: string(language.Pseudo)})
	r.AddCookie(&http.Cookie{Name: cookieUnits, Value: "mm"})
	w := httptest.NewRecorder()
	s.sh.handler.ServeHTTP(w, r)
	if w.Code == http.StatusInternalServerError {
		s.sh.t.Errorf("%s %s: %d", method, path, w.Code)
	}
	if to := w.Header().Get("Location"); to != "" {
		for _, c := range w.Result().Cookies() {
			if c.Name == cookieNotice && c.Value != "" {
				n := httptest.NewRequest(http.MethodGet, "/", nil)
				n.AddCookie(c)
				s.look((&request{Request: n, w: httptest.NewRecorder(), srv: &server{}}).takeNotice(), "the notice after "+method+" "+path)
			}
		}
		return nil
	}
	if !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		return nil
	}
	doc, err := html.ParseWithOptions(w.Body, html.ParseOptionEnableScripting(false))
	if err != nil {
		s.sh.t.Fatal(err)
	}
	s.depth = 0
	s.read(doc, method+" "+path)
	return doc
}

func (s *spoken) read(n *html.Node, page string) {
	if n.Type == html.ElementNode {
		switch n.Data {
		case "script", "style", "code":
			return
		}
		if value(n, "lang") != "" && n.DataAtom != atom.Html { // words of another language, such as a licence
			return
		}
		for _, k := range n.Attr {
			switch k.Key {
			case "alt", "title", "placeholder", "aria-label", "aria-description", "aria-valuetext", "data-say", "data-text", "label", "data-keep":
				open := s.depth
				s.depth = 0
				s.look(k.Val, page)
				s.depth = open
			}
		}
	}
	if n.Type == html.TextNode {
		s.look(n.Data, page)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		s.read(c, page)
	}
}

// look notes a text with words that did not go through a catalogue.
func (s *spoken) look(text, page string) {
	var out strings.Builder
	for _, r := range text {
		switch {
		case r == '⟦':
			s.depth++
			out.WriteRune(' ')
		case r == '⟧':
			s.depth--
		case s.depth == 0:
			out.WriteRune(r)
		}
	}
	rest := stays.ReplaceAllString(s.names.ReplaceAllString(out.String(), " "), " ")
	if letters.MatchString(rest) {
		key := digits.ReplaceAllString(strings.Join(strings.Fields(text), " "), "0")
		if _, ok := s.said[key]; !ok {
			s.said[key] = page + ": " + strings.Join(letters.FindAllString(rest, -1), " ")
		}
	}
}

// posts sends every form of a page: as it stands, with nonsense in every line, and as from a page that is out of date.
func (s *spoken) posts(doc *html.Node) {
	if doc == nil {
		return
	}
	for n := range doc.Descendants() {
		if n.DataAtom != atom.Form || !strings.EqualFold(value(n, "method"), "post") {
			continue
		}
		action := value(n, "action")
		pattern := regexp.MustCompile(`/guitar/[^/]+`).ReplaceAllString(action, "/guitar/x")
		switch {
		case action == "/prefs", strings.HasSuffix(action, "/out"), strings.HasSuffix(action, "/remove"), strings.HasSuffix(action, "/secret"), strings.HasSuffix(action, "/end"):
			continue
		case s.seen[pattern] && !strings.HasSuffix(action, "/design"):
			continue
		}
		s.seen[pattern] = true
		s.visit(http.MethodPost, action, filledIn(n, "!?", "1"))
		s.visit(http.MethodPost, action, filledIn(n, "", ""))
		s.visit(http.MethodPost, action, filledIn(n, "1", "1"))
		s.visit(http.MethodPost, action, filledIn(n, "1", ""))
	}
}

func value(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// filledIn is a form with text in its lines, "" to leave them as they are, and made from a revision.
func filledIn(form *html.Node, text, revision string) url.Values {
	out := url.Values{}
	for n := range form.Descendants() {
		name := value(n, "name")
		if name == "" {
			continue
		}
		switch {
		case n.DataAtom == atom.Input && value(n, "type") == "hidden":
			out.Add(name, value(n, "value"))
		case n.DataAtom == atom.Input && slices.Contains([]string{"radio", "checkbox"}, value(n, "type")):
			if slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == "checked" }) || text == "1" {
				out.Set(name, value(n, "value"))
			}
		case n.DataAtom == atom.Input && value(n, "type") == "file":
		case n.DataAtom == atom.Input:
			v := value(n, "value")
			if text != "" {
				v = text
			}
			out.Add(name, v)
		case n.DataAtom == atom.Textarea:
			out.Add(name, text)
		}
	}
	if revision != "" && out.Has("revision") {
		out.Set("revision", revision)
	}
	return out
}

// Every page of the made-up shop, every answer to a form filled in wrongly and every error page says all it says through
// a catalogue: a text that stands in English only is found here.
func TestEveryPageIsTranslated(t *testing.T) {
	sh := newShared(t)
	ctx := access.With(context.Background(), access.Local)
	if err := demo.Fill(ctx, sh.shop); err != nil {
		t.Fatal(err)
	}
	all, err := sh.shop.Guitars(ctx)
	if err != nil {
		t.Fatal(err)
	}
	copied, err := sh.keeps.Make(ctx)
	if err != nil {
		t.Fatal(err)
	}
	photo := sh.photo(sh.larch.Guitar.ID)
	practice, err := sh.shop.NewFromDesign(ctx, demo.PracticeName.English(), demo.PracticeBasis, nil, "mm")
	if err != nil {
		t.Fatal(err)
	}
	names := []string{"The shed on Reed Lane (made up)", "desk"}
	for _, v := range all {
		names = append(names, v.Guitar.Name)
	}
	for _, v := range all {
		for _, e := range v.Guitar.Log {
			words := strings.Fields(e.Note())
			for i := range max(0, len(words)-1) { // a drawing breaks a note into lines
				names = append(names, strings.Join(words[i:], " "), strings.Join(words[:len(words)-i], " "))
			}
		}
	}
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) })
	for i := range names {
		names[i] = regexp.QuoteMeta(names[i])
	}
	// Sets of drills are typed in these words, whatever the language.
	names = append(names, "metric by [0-9.]+.mm to [0-9.]+.mm", "fractional", "metric", "number", "letter", `\bby\b`, "bench [0-9]+", regexp.QuoteMeta(copied.Name), regexp.QuoteMeta(sh.keeps.Dir), demo.PracticeName.English(), `https?://\S+`, `[0-9A-Za-z.-]+\.fairset\.json`)
	s := &spoken{sh: sh, names: regexp.MustCompile("(?i)" + strings.Join(names, "|")), said: map[string]string{}, seen: map[string]bool{}}

	var paths []string
	for _, r := range sh.routes {
		method, pattern, _ := strings.Cut(r.pattern, " ")
		if method != http.MethodGet || strings.Contains(pattern, "{") || strings.Contains(pattern, "events") {
			continue
		}
		paths = append(paths, pattern)
	}
	paths = append(paths, "/", "/nowhere", "/guitar/nobody", "/print/none", "/guitar/"+sh.larch.Guitar.ID+"/photo/"+photo, "/guitar/"+practice.Guitar.ID+"/walk",
		"/class/copy?from="+sh.larch.Guitar.ID, "/class/change?field=scale_length&value=640", "/class/change?field=risk&value=5", "/climate?place=x", "/sign-in?to=/")
	for _, v := range append(all, sh.larch, practice) {
		at := "/guitar/" + v.Guitar.ID
		for _, sub := range []string{"", "/design", "/strings", "/board", "/top", "/top?whole=yes&fit=yes", "/top?brace=1&whole=yes", "/setup", "/history", "/paper", "/print", "/step/nothing", "/step/cut?tool=chisel&judged=strokes", "/step/cut?judged=marks",
			"/strings?setback=9", "/strings?setback=x", "/board?pull=4&way=toward", "/board?pull=x", "/photo/none", "/print/none"} {
			paths = append(paths, at+sub)
		}
		for _, g := range guitar.Guides() {
			paths = append(paths, at+"/step/"+string(g.Step))
		}
		for _, e := range printing.List() {
			paths = append(paths, at+"/print/"+e.Name)
		}
	}
	var docs []*html.Node
	for _, path := range paths {
		docs = append(docs, s.visit(http.MethodGet, path, nil))
	}
	for _, doc := range docs {
		s.posts(doc)
	}
	id := "/guitar/" + sh.larch.Guitar.ID
	for _, p := range []struct{ path, form string }{{"/sign-in", "name=desk&secret=wrong"}, {id + "/remove", "revision=1"}, {id + "/remove", ""}, {id + "/undo", "revision=9999"}, {"/people/none/remove", ""}, {"/account/end", "session=x"}, {"/class/print", "step=lean"}, {"/prefs", "units=ell"}, {"/prefs", "language=xx"}} {
		form, _ := url.ParseQuery(p.form)
		s.visit(http.MethodPost, p.path, form)
	}
	said := make([]string, 0, len(s.said))
	for text, page := range s.said {
		said = append(said, fmt.Sprintf("%s\n\t%s", text, page))
	}
	slices.Sort(said)
	for _, line := range said {
		t.Error(line)
	}
	if len(paths) < 200 {
		t.Errorf("only %d pages were looked at", len(paths))
	}
}
