package api

import (
	"net/http/httptest"
	"strings"
	"testing"
)

func TestAnEntrySentTwiceIsKeptOnce(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	path := "/guitars/" + g.ID + "/entries"
	send := func(key, gap string, status int) *httptest.ResponseRecorder {
		t.Helper()
		r := httptest.NewRequest("POST", Prefix+path, strings.NewReader(`{"revision":1,"step":"lean","values":{"gap":"`+gap+`","surface":"frets","graduation":"0.5 mm"}}`))
		r.Header.Set("Content-Type", "application/json")
		if key != "" {
			r.Header.Set("Idempotency-Key", key)
		}
		w := httptest.NewRecorder()
		b.h.ServeHTTP(w, r)
		if w.Code != status {
			t.Fatalf("key %q, gap %s: status %d, want %d: %s", key, gap, w.Code, status, w.Body)
		}
		return w
	}
	first := send("k-1", "6.4 mm", 201)
	again := send("k-1", "6.4 mm", 201)
	for _, w := range []*httptest.ResponseRecorder{first, again} {
		if e, r := w.Header().Get("Fairset-Entry"), w.Header().Get("Fairset-Revision"); e != "1" || r != "2" {
			t.Errorf("entry %q at revision %q", e, r)
		}
	}
	if a, b := first.Header().Get("Fairset-Again"), again.Header().Get("Fairset-Again"); a == "true" || b != "true" {
		t.Errorf("again is said as %q and then %q", a, b)
	}
	if first.Body.String() != again.Body.String() {
		t.Error("the same key gave another answer")
	}
	send("k-1", "6.5 mm", 422)
	send("", "6.4 mm", 409)
	send("two words", "6.4 mm", 422)
	if now := into[Guitar](b, b.ask("GET", "/guitars/"+g.ID, nil, 200)); now.Revision != 2 {
		t.Errorf("revision %d, want 2", now.Revision)
	}
}
