package web_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
)

func (b *bench) visit(path string) *httptest.ResponseRecorder {
	b.t.Helper()
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for k, v := range b.cookies {
		r.AddCookie(&http.Cookie{Name: k, Value: v})
	}
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	if w.Code != http.StatusOK {
		b.t.Fatalf("%s: %d", path, w.Code)
	}
	return w
}

// Everything a device keeps from the start is there, is this program's own, and says nothing of the shop's.
func TestWhatADeviceKeeps(t *testing.T) {
	b := newDemo(t)
	script := b.visit("/worker.js")
	if ct := script.Header().Get("Content-Type"); !strings.HasPrefix(ct, "text/javascript") {
		t.Errorf("the worker is %q", ct)
	}
	m := regexp.MustCompile(`(?m)^const FILES = (\[.*\]);$`).FindStringSubmatch(script.Body.String())
	if m == nil {
		t.Fatal("the worker has no list of files")
	}
	var files []string
	if err := json.Unmarshal([]byte(m[1]), &files); err != nil {
		t.Fatal(err)
	}
	drawings := 0
	for _, f := range files {
		body := b.visit(f).Body.String()
		if strings.Contains(f, "/measure-") {
			drawings++
		}
		for _, ours := range []string{"Reed Lane", "Plover"} {
			if strings.Contains(body, ours) {
				t.Errorf("%s says %q", f, ours)
			}
		}
	}
	if drawings < 40 {
		t.Errorf("%d small drawings are kept", drawings)
	}
	var app struct {
		Icons []struct{ Src string }
		Name  string
	}
	if err := json.Unmarshal(b.visit("/app.webmanifest").Body.Bytes(), &app); err != nil || app.Name == "" {
		t.Fatalf("%+v, %v", app, err)
	}
	for _, i := range app.Icons {
		b.visit(i.Src)
	}
}

// A page asked for to be kept does not use up what was to be told to a person.
func TestAKeptPageLeavesTheNotice(t *testing.T) {
	b := newDemo(t)
	b.cookies["fairset_notice"] = "U2F2ZWQu" // "Saved."
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	r.Header.Set("Fairset-Keep", "yes")
	r.AddCookie(&http.Cookie{Name: "fairset_notice", Value: b.cookies["fairset_notice"]})
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	if strings.Contains(w.Body.String(), `class="notice"`) || strings.Contains(w.Header().Get("Set-Cookie"), "fairset_notice") {
		t.Error("the notice was used up")
	}
	if !strings.Contains(b.visit("/").Body.String(), "Saved.") {
		t.Error("the notice is not shown to a person")
	}
}
