package web_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"

	"fairset/internal/demo"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
	"fairset/internal/web"
)

// What a page costs, from the request to the last byte, on the made-up shop: the cut with its drawings, the
// design with target, budget and side view, and the front page.
func BenchmarkPage(b *testing.B) {
	db, err := sqlite.Open(context.Background(), filepath.Join(b.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	s := shop.New(db)
	if err := demo.Fill(context.Background(), s); err != nil {
		b.Fatal(err)
	}
	h, err := web.New(s, web.Options{Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		b.Fatal(err)
	}
	v, err := s.Guitar(context.Background(), "Plover")
	if err != nil {
		b.Fatal(err)
	}
	for name, path := range map[string]string{"cut": "/guitar/" + v.Guitar.ID + "/step/cut", "design": "/guitar/" + v.Guitar.ID + "/design", "guitars": "/"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				w := httptest.NewRecorder()
				h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
				if w.Code != http.StatusOK {
					b.Fatalf("%s: %d", path, w.Code)
				}
			}
		})
	}
}
