// Package api serves everything the shop does as JSON over HTTP, under /api/v1, and the OpenAPI document
// that describes it. The routes, what they take and what they give are Go structs; the document is made
// from the same structs, so it cannot say anything else.
//
// Lengths in a request are strings with their unit or numbers of millimetres; lengths in a reply are
// numbers of millimetres under keys that say so, and sentences in the units asked for by ?units= and the language asked for by
// ?language= or Accept-Language.
package api

import (
	"encoding/json"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strings"

	"fairset/craft/guitar"
	"fairset/figure"
	"fairset/internal/photo"
	"fairset/internal/shop"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// Prefix is where the API is mounted.
const Prefix = "/api/v1"

// Version is the version of the interface, not of the program.
const Version = "1.0.0"

type server struct {
	shop *shop.Shop
	api  huma.API
}

// New returns the handler of everything under /api/. Requests that another site's page makes are refused.
func New(s *shop.Shop) http.Handler {
	mux := http.NewServeMux()
	srv := newServer(s, mux)
	srv.routes()
	mux.HandleFunc("/", srv.missing(mux))
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		write(w, &Problem{status: http.StatusForbidden, Fault: Fault{Message: spokenOf(r).style().Say("another site's page sent this, so it was not taken")}})
	}))
	return guard.Handler(guarded(mux))
}

func newServer(s *shop.Shop, mux humago.Mux) *server {
	c := huma.DefaultConfig("Fairset", Version)
	c.Info.Description = "The bench companion for bolt-on necks: guitars, readings, the next cut, and every sum by itself. " +
		"Lengths in a request are strings with a unit (\"25 1/2 in\", \"648 mm\") or numbers of millimetres; lengths in a reply are numbers in the unit their key names."
	c.OpenAPIPath, c.DocsPath, c.SchemasPath = "", "", ""
	c.CreateHooks = nil // else replies carry links to schemas by this machine's name
	c.RejectUnknownQueryParameters = true
	return &server{shop: s, api: humago.New(mux, c)}
}

// missing answers what no route does, naming the methods that the path takes if it takes any.
func (s *server) missing(mux *http.ServeMux) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var allowed []string
		style := spokenOf(r).style()
		for _, m := range []string{http.MethodGet, http.MethodPost, http.MethodPatch, http.MethodDelete} {
			try := r.Clone(r.Context())
			try.Method = m
			if _, pattern := mux.Handler(try); pattern != "/" {
				allowed = append(allowed, m)
			}
		}
		if len(allowed) > 0 {
			w.Header().Set("Allow", strings.Join(allowed, ", "))
			write(w, &Problem{status: http.StatusMethodNotAllowed, Fault: Fault{Field: "method", Message: style.Say("%s is not taken here", clip(r.Method)), Allowed: strings.Join(allowed, ", ")}})
			return
		}
		f := Fault{Field: "path", Message: style.Say("there is nothing at %s", clip(r.URL.Path)), Allowed: style.Say("the paths of %s", Prefix+"/openapi.json")}
		if topic, ok := strings.CutPrefix(r.URL.Path, Prefix+"/figure/"); ok {
			f = Fault{Field: "topic", Message: style.Say("there is no topic %s", clip(topic)), Allowed: strings.Join(topics(), ", ")}
		}
		write(w, &Problem{status: http.StatusNotFound, Fault: f})
	}
}

func clip(s string) string {
	if len(s) > 80 {
		return strings.ToValidUTF8(s[:80], "") + "…"
	}
	return s
}

func topics() []string {
	var out []string
	for _, t := range figure.Topics() {
		out = append(out, t.Name)
	}
	return out
}

func write(w http.ResponseWriter, p *Problem) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(p.status)
	if err := json.NewEncoder(w).Encode(p); err != nil {
		slog.Debug("reply cut short", "error", err)
	}
}

// guarded bounds every body, keeps replies out of caches, and turns a panic of ours into a reply.
func guarded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		// A little over the routes' own bounds, so that theirs answer first.
		limit := int64(figure.MostBytes + 1<<10)
		if r.URL.Path == Prefix+"/import" {
			limit = guitar.MaxFile + 1<<10
		}
		if bringsPhoto(r) {
			limit = photo.MaxBytes + 1<<10
		}
		if bringsAlbum(r) {
			limit = shop.MaxAlbum + 1<<20
		}
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				slog.Error("request failed", "path", r.URL.Path, "panic", p, "stack", string(debug.Stack()))
				write(w, &Problem{status: http.StatusInternalServerError, Fault: Fault{Message: spokenOf(r).style().Say("something in the program went wrong; nothing entered before is lost")}})
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// Document returns the OpenAPI document as it is served.
func (s *server) document() ([]byte, error) {
	doc := s.api.OpenAPI()
	raw, err := json.Marshal(doc)
	if err != nil {
		return nil, err
	}
	return raw, nil
}
