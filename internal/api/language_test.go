package api

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/language"
	"fairset/unit"
)

// Words come in the language of the query, else of the header, else in English; keys never change.
func TestRepliesSpeakTheLanguageAskedFor(t *testing.T) {
	h := newBench(t).h
	german := unit.Millimetre.Speaking(language.German)
	g := guitar.Guides()[0]
	if g.Name.In(german) == g.Name.In(unit.Millimetre) {
		t.Fatal("the first step has no German name, so nothing is tested")
	}
	for _, c := range []struct {
		query, header string
		want          unit.Style
	}{
		{"", "", unit.Millimetre}, {"?language=de", "", german}, {"", "de-AT,de;q=0.9,en;q=0.5", german}, {"?language=en", "de", unit.Millimetre},
		{"?language=de", "en-GB", german}, {"", "fr,es;q=0.8", unit.Millimetre}, {"", ";;;", unit.Millimetre},
	} {
		ask := func(path string, status int) string {
			t.Helper()
			r := httptest.NewRequest(http.MethodGet, Prefix+path+c.query, nil)
			if c.header != "" {
				r.Header.Set("Accept-Language", c.header)
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			if w.Code != status {
				t.Fatalf("%s%s: %d: %s", path, c.query, w.Code, w.Body)
			}
			return w.Body.String()
		}
		if got := ask("/steps", 200); !strings.Contains(got, `"name":"`+g.Name.In(c.want)+`"`) {
			t.Errorf("%q, %q: the first step is not called %q", c.query, c.header, g.Name.In(c.want))
		}
		missing := c.want.Say("No guitar here is called %q, and none has that id.", "Wren")
		if got := into[Problem](&bench{t: t}, []byte(ask("/guitars/Wren", 404))); got.Fault.Message != missing {
			t.Errorf("%q, %q: %q, want %q", c.query, c.header, got.Fault.Message, missing)
		}
		if got := into[Problem](&bench{t: t}, []byte(ask("/nothing", 404))); got.Fault.Message != c.want.Say("there is nothing at %s", Prefix+"/nothing") {
			t.Errorf("%q, %q: %q", c.query, c.header, got.Fault.Message)
		}
	}
	r := httptest.NewRequest(http.MethodGet, Prefix+"/steps?language=xx", nil)
	w := httptest.NewRecorder()
	if h.ServeHTTP(w, r); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a language that is not here is answered %d", w.Code)
	}
}

// The document names the languages there are.
func TestDocumentNamesTheLanguages(t *testing.T) {
	var tags []string
	for _, c := range language.Codes() {
		tags = append(tags, c.Tag())
	}
	doc := string(newBench(t).document())
	if want := `"enum":["` + strings.Join(tags, `","`) + `"]`; !strings.Contains(strings.Join(strings.Fields(doc), ""), want) {
		t.Errorf("no %s in the document", want)
	}
}
