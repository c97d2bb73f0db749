package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// The language is the one chosen here, else the shop's, else what the browser asks for, else English.
func TestWhoseLanguage(t *testing.T) {
	b := newDemo(t)
	is := func(accept, want string) {
		t.Helper()
		r := httptest.NewRequest(http.MethodGet, "/help", nil)
		r.Header.Set("Accept-Language", accept)
		if p := b.do(r); !strings.Contains(p.text, `<html lang="`+want+`">`) {
			t.Errorf("asked for %q, the page is not in %s", accept, want)
		}
	}
	is("", "en")
	is("fr", "en")
	is("de-AT,en;q=0.5", "de")
	is("en-GB,de;q=0.9", "en")

	form := b.get("/shop").form("/shop")
	form.Set("language", "de")
	b.post("/shop", form)
	is("en-GB", "de")
	p := b.get("/shop")
	if got := p.form("/shop").Get("language"); got != "de" {
		t.Errorf("the shop's language is %q", got)
	}
	form.Set("language", "xx")
	b.post("/shop", form).want(http.StatusUnprocessableEntity)

	b.follow(b.post("/prefs", url.Values{"language": {"en"}, "back": {"/help"}})).want(http.StatusOK, "Language")
	is("de", "en")
	b.post("/prefs", url.Values{"language": {"xx"}}).want(http.StatusUnprocessableEntity)

	// What is posted names units alone, and leaves the language.
	b.post("/prefs", url.Values{"language": {"de"}})
	b.post("/prefs", url.Values{"units": {"in64"}})
	is("en", "de")
	b.post("/prefs", url.Values{"units": {"mm/de"}}).want(http.StatusUnprocessableEntity)
	if u := b.get("/print").form("/print/paper").Get("units"); u != "in64" {
		t.Errorf("a form is made in units %q", u)
	}
}
