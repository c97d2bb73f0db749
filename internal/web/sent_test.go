package web_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"fairset/craft/guitar"
)

// send posts a form as a device does that kept it, or as a browser does.
func (b *bench) send(path string, form url.Values, head map[string]string) *httptest.ResponseRecorder {
	b.t.Helper()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for k, v := range head {
		r.Header.Set(k, v)
	}
	for k, v := range b.cookies {
		r.AddCookie(&http.Cookie{Name: k, Value: v})
	}
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	return w
}

type told struct {
	Saved, Again bool
	Seq, Seen    int
	Revision     int64
	Say          string
	Theirs       []string
	Problems     []string
}

func TestAFormIsSavedOnce(t *testing.T) {
	b := newDemo(t)
	v := b.guitar("Ruff")
	step := "/guitar/" + v.Guitar.ID + "/step/lean"
	had := len(v.Guitar.Log)
	form := url.Values{"key": {"K1"}, "revision": {"1"}, "seen": {"0"}, "units": {"mm"}, "gap": {"9.1", ""}, "surface": {"frets"}, "graduation": {"0.5"}, "said": {"gap: 9.1"}}
	form.Set("revision", itoa(v.Revision))
	for i := range 3 {
		if w := b.send(step, form, nil); w.Code != http.StatusSeeOther {
			t.Fatalf("time %d: %d: %s", i+1, w.Code, w.Body)
		}
	}
	now := b.guitar("Ruff")
	if len(now.Guitar.Log) != had+1 {
		t.Fatalf("%d entries, want one more than %d", len(now.Guitar.Log), had)
	}
	ask := map[string]string{"Accept": "application/json"}
	tell := func(form url.Values, head map[string]string, status int) (a told) {
		t.Helper()
		w := b.send(step, form, head)
		if w.Code != status {
			t.Fatalf("status %d, want %d: %s", w.Code, status, w.Body)
		}
		if err := json.Unmarshal(w.Body.Bytes(), &a); err != nil {
			t.Fatal(err)
		}
		return a
	}
	if a := tell(form, ask, http.StatusOK); !a.Saved || !a.Again || a.Seq != had+1 || a.Revision != now.Revision {
		t.Errorf("a device asking again is told %+v", a)
	}
	// Typed over after going back: an old page, so both are shown and nothing is saved.
	form.Set("gap", "9.4")
	if w := b.send(step, form, nil); w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), "9.4") || !strings.Contains(w.Body.String(), "9.1") {
		t.Errorf("typed over: %d", w.Code)
	}
	// A device's conflict says what came between; its bad figure says what is wrong.
	form.Set("key", "K2")
	form.Set("seen", itoa(int64(had)))
	if a := tell(form, ask, http.StatusConflict); a.Saved || len(a.Theirs) != 1 || !strings.Contains(a.Theirs[0], "9.1") || a.Revision != now.Revision || a.Seen != had+1 {
		t.Errorf("a conflict: %+v", a)
	}
	form.Set("revision", itoa(now.Revision))
	form.Set("gap", "91")
	if a := tell(form, ask, http.StatusUnprocessableEntity); len(a.Problems) != 1 || a.Saved {
		t.Errorf("out of range: %+v", a)
	}
	form.Set("gap", "9.2")
	if a := tell(form, map[string]string{"Accept": "application/json", "Idempotency-Key": "K3"}, http.StatusCreated); a.Seq != had+2 || a.Again || a.Revision != now.Revision+1 {
		t.Errorf("by the header's key: %+v", a)
	}
	if e, _ := b.guitar("Ruff").Guitar.Last(guitar.StepLean); e.Values["gap"][0].Text != "9.2" {
		t.Errorf("kept %+v", e.Values["gap"])
	}
	// Typed while somebody else was signed in.
	form.Set("who", "another")
	if w := b.send(step, form, ask); w.Code != http.StatusForbidden {
		t.Errorf("somebody else's entry: %d", w.Code)
	}
}

func TestEveryStepFormHasAKeyOfItsOwn(t *testing.T) {
	b := newDemo(t)
	v := b.guitar("Plover")
	seen := map[string]bool{}
	for _, g := range guitar.Guides() {
		for range 2 {
			w := httptest.NewRecorder()
			b.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/guitar/"+v.Guitar.ID+"/step/"+string(g.Step), nil))
			_, rest, ok := strings.Cut(w.Body.String(), `name="key" value="`)
			key, _, _ := strings.Cut(rest, `"`)
			if !ok || len(key) < 20 || seen[key] {
				t.Errorf("%s: key %q", g.Step, key)
			}
			seen[key] = true
		}
	}
}

func itoa(n int64) string { return strconv.FormatInt(n, 10) }
