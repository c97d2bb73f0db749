package api

import (
	"bytes"
	"encoding/json"
	"fairset/unit"
	"image"
	"image/jpeg"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"fairset/internal/photo"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
)

func TestPhotosOverHTTP(t *testing.T) {
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	s := shop.New(db)
	v, err := s.NewFromDesign(t.Context(), "Larch", "steel-14", nil, "mm")
	if err != nil {
		t.Fatal(err)
	}
	h := New(s)
	ask := func(method, path string, body []byte) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, Prefix+"/guitars/"+v.Guitar.ID+"/photos"+path, bytes.NewReader(body))
		if body != nil {
			r.Header.Set("Content-Type", "image/jpeg")
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 4100, 2050)), nil); err != nil {
		t.Fatal(err)
	}
	w := ask("POST", "?alt=the+heel&bench=bench+3", b.Bytes())
	var p PhotoInfo
	if err := json.Unmarshal(w.Body.Bytes(), &p); w.Code != http.StatusCreated || err != nil || p.Width != 2048 || p.Height != 1024 || p.Alt != "the heel" || p.By != "bench 3" || p.ID == "" {
		t.Fatalf("adding: %d %s", w.Code, w.Body)
	}
	var all Photos
	if w := ask("GET", "", nil); json.Unmarshal(w.Body.Bytes(), &all) != nil || len(all.Photos) != 1 || all.Photos[0] != p {
		t.Errorf("list: %d %+v", w.Code, all)
	}
	for path, width := range map[string]int{"/" + p.ID: 2048, "/" + p.ID + "?size=small": 320} {
		w := ask("GET", path, nil)
		c, err := jpeg.DecodeConfig(w.Body)
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "image/jpeg" || w.Header().Get("X-Content-Type-Options") != "nosniff" || err != nil || c.Width != width {
			t.Errorf("%s: %d %v %+v %v", path, w.Code, w.Header(), c, err)
		}
	}
	for name, c := range map[string]struct {
		path, says string
		body       []byte
		code       int
	}{
		"no picture":     {"", "no JPEG, PNG or WebP", []byte("{}"), 422},
		"nothing":        {"", "", []byte{}, 400},
		"too large":      {"", "", make([]byte, photo.MaxBytes+2), 413},
		"no such entry":  {"?entry=3", "has no entry 3", b.Bytes(), 422},
		"too many words": {"?alt=" + strings.Repeat("x", 201), "alt", b.Bytes(), 422},
	} {
		w := ask("POST", c.path, c.body)
		var said Problem
		if err := json.Unmarshal(w.Body.Bytes(), &said); w.Code != c.code || err != nil || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s: %d %s", name, w.Code, w.Body)
		}
	}
	if w := ask("DELETE", "/"+p.ID, nil); w.Code != http.StatusOK {
		t.Errorf("erasing: %d %s", w.Code, w.Body)
	}
	for _, path := range []string{"/" + p.ID, "/none"} {
		if w := ask("GET", path, nil); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

// A shop with its photos goes out as a zip and comes into another; sent again nothing is doubled.
func TestAlbumOverHTTP(t *testing.T) {
	made := func() (*shop.Shop, http.Handler) {
		db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = db.Close() })
		s := shop.New(db)
		return s, New(s)
	}
	ask := func(h http.Handler, method string, body []byte) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, Prefix+"/album", bytes.NewReader(body))
		if body != nil {
			r.Header.Set("Content-Type", "application/zip")
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	s, h := made()
	v, err := s.NewFromDesign(t.Context(), "Larch", "steel-14", nil, "mm")
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 40, 30)), nil); err != nil {
		t.Fatal(err)
	}
	p, err := shop.ReadPhoto(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddPhotos(t.Context(), v.Guitar.ID, 0, "the heel", "bench 3", unit.Millimetre, []photo.Picture{p, p}); err != nil {
		t.Fatal(err)
	}
	out := ask(h, "GET", nil)
	if out.Code != http.StatusOK || out.Header().Get("Content-Type") != "application/zip" || !strings.Contains(out.Header().Get("Content-Disposition"), "fairset-shop.zip") {
		t.Fatalf("%d %v", out.Code, out.Header())
	}
	other, into := made()
	for n, want := range []struct {
		result string
		photos int
	}{{"added", 2}, {"skipped", 0}} {
		w := ask(into, "POST", out.Body.Bytes())
		var got AlbumTaken
		if err := json.Unmarshal(w.Body.Bytes(), &got); w.Code != http.StatusOK || err != nil || got.Photos != want.photos || len(got.Guitars) != 1 || got.Guitars[0].Result != want.result {
			t.Errorf("taken in the %d. time: %d %s", n+1, w.Code, w.Body)
		}
	}
	if ps, err := other.Photos(t.Context(), v.Guitar.ID); err != nil || len(ps) != 2 || ps[0].Alt != "the heel" {
		t.Errorf("%+v, %v", ps, err)
	}
	for name, body := range map[string][]byte{"no zip": []byte("{}"), "nothing": {}, "half a zip": out.Body.Bytes()[:out.Body.Len()/2]} {
		w := ask(into, "POST", body)
		var said Problem
		if err := json.Unmarshal(w.Body.Bytes(), &said); w.Code != http.StatusUnprocessableEntity || err != nil {
			t.Errorf("%s: %d %s", name, w.Code, w.Body)
		}
	}
}
