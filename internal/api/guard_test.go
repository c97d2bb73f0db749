package api

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"

	"github.com/danielgtaylor/huma/v2"
)

// Every operation by its rule: nobody, the bench whose guitar it is, another bench, a teacher. The operations
// are read from the document, so a new one is tried without being named here.
func TestEveryOperationKeepsItsRule(t *testing.T) {
	ctx := t.Context()
	db, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	s := shop.New(db)
	s.Shared = true
	door := &access.Door{People: db}
	mux := http.NewServeMux()
	srv := newServer(s, mux)
	srv.routes()
	h := door.Handler(mux)
	tokens := map[string]string{}
	for _, p := range []struct {
		name   string
		role   store.Role
		secret string
	}{{"desk", store.Teacher, "spruce and cedar"}, {"bench 3", store.Bench, "4821"}, {"bench 4", store.Bench, "4821"}} {
		a, err := door.Add(ctx, access.Local, p.name, p.role, p.secret)
		if err != nil {
			t.Fatal(err)
		}
		if tokens[p.name], err = door.NewScript(ctx, access.Who{Account: a.ID, Name: a.Name, Role: a.Role}, "test"); err != nil {
			t.Fatal(err)
		}
	}
	who, err := door.Enter(ctx, tokens["bench 3"], true)
	if err != nil {
		t.Fatal(err)
	}
	larch, err := s.NewFromDesign(access.With(ctx, who), "Larch", "steel-14", nil, "mm")
	if err != nil {
		t.Fatal(err)
	}
	kept, err := db.AddPhotos(ctx, []store.PhotoFile{{Photo: store.Photo{Guitar: larch.Guitar.ID, Alt: "Larch's heel", Width: 1, Height: 1}, Full: []byte("a picture of Larch"), Thumb: []byte("Larch, small")}})
	if err != nil {
		t.Fatal(err)
	}
	ask := func(as string, op *huma.Operation, path, body string) (int, string) {
		r := httptest.NewRequest(op.Method, path, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		if tokens[as] != "" {
			r.Header.Set("Authorization", "Bearer "+tokens[as])
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		out, err := io.ReadAll(w.Result().Body)
		if err != nil {
			t.Fatal(err)
		}
		return w.Code, string(out)
	}
	// Bodies that are taken as far as the guitar is looked for.
	bodies := map[string]string{
		"/guitars/{id}/entries": `{"revision":1,"step":"lean","values":{"gap":6.4,"surface":"frets","graduation":0.1}}`,
		"/guitars/{id}/undo":    `{"revision":1}`,
		"PATCH /guitars/{id}":   `{"revision":1,"name":"Elm"}`,

		"POST /guitars/{id}/photos": "no picture",
	}
	tried := 0
	for path, item := range srv.api.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Patch, item.Delete} {
			if op == nil {
				continue
			}
			tried++
			rule, ok := op.Metadata[ruleKey].(access.Rule)
			if !ok || !rule.Valid() {
				t.Errorf("%s %s has no rule", op.Method, path)
				continue
			}
			short := strings.TrimPrefix(path, Prefix)
			body := bodies[short]
			if b, ok := bodies[op.Method+" "+short]; ok {
				body = b
			}
			full := strings.NewReplacer("{id}", larch.Guitar.ID, "{sheet}", "frets", "{format}", "svg", "{photo}", kept[0].ID).Replace(path)
			if strings.Contains(full, "{") {
				t.Errorf("%s: this test cannot fill in its path", path)
			}
			if op.Method == http.MethodDelete && short == "/guitars/{id}" {
				full += "?revision=1"
			}
			code, out := ask("", op, full, body)
			if rule == access.Anyone == (code == http.StatusUnauthorized) {
				t.Errorf("%s %s, nobody: %d", op.Method, path, code)
			}
			if strings.Contains(out, "Larch") {
				t.Errorf("%s %s, nobody: reads the name of a guitar", op.Method, path)
			}
			code, out = ask("bench 4", op, full, body)
			switch {
			case rule == access.Teacher:
				if code != http.StatusForbidden {
					t.Errorf("%s %s, a bench: %d", op.Method, path, code)
				}
			case strings.Contains(path, "{id}"):
				if code != http.StatusNotFound {
					t.Errorf("%s %s, another bench: %d %s", op.Method, path, code, out)
				}
			case code == http.StatusUnauthorized || code == http.StatusForbidden:
				t.Errorf("%s %s, a bench: %d", op.Method, path, code)
			}
			if strings.Contains(out, "Larch") {
				t.Errorf("%s %s, another bench: reads the name of a guitar of bench 3", op.Method, path)
			}
			now, err := db.Get(ctx, larch.Guitar.ID)
			if err != nil || now.Revision != larch.Revision || now.Removed {
				t.Fatalf("%s %s: somebody who may not changed the guitar: %v, %v", op.Method, path, now, err)
			}
			if op.Method == http.MethodGet {
				for _, as := range []string{"bench 3", "desk"} {
					if as == "bench 3" && rule == access.Teacher {
						continue
					}
					if code, out := ask(as, op, full, body); code == 401 || code == 403 || code == 404 {
						t.Errorf("%s %s, %s: %d %s", op.Method, path, as, code, out)
					}
				}
			}
		}
	}
	if tried < 20 {
		t.Errorf("only %d operations found", tried)
	}
	// A browser's cookie is no script's token, and the other way round.
	page, _, err := door.SignIn(ctx, "bench 3", "4821", "192.0.2.1")
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("GET", Prefix+"/guitars", bytes.NewReader(nil))
	r.Header.Set("Authorization", "Bearer "+page)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if w.Code != http.StatusUnauthorized || w.Header().Get("WWW-Authenticate") == "" {
		t.Errorf("a cookie's token as a script's: %d", w.Code)
	}
}
