// Package web serves the pages of the bench companion: plain forms that work without script, drawn on
// the server, quicker with the little script that is embedded.
//
// Every number on a page comes from the craft packages through internal/shop; nothing is worked out here.
package web

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"runtime/debug"
	"strings"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/backup"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

//go:embed static
var staticFiles embed.FS

// Options are what the pages need besides the shop.
type Options struct {
	Log  *slog.Logger    // nil for slog.Default
	API  http.Handler    // served under /api/; nil for none
	Stop context.Context // ends what goes on behind the pages, such as a long print; nil for never
	Demo bool            // the shop is the built-in demonstration, gone when the program stops
	// Share says how the shop is shared on the network; nil when it is not. Its door's Handler must stand before
	// the pages and the API: without it nobody has signed in.
	Share *Share
	// Backups keeps copies of the shop; nil for a shop that is not copied from here.
	Backups *backup.Keeper
}

// Share is what the pages need to know of a shared shop.
type Share struct {
	Door    *access.Door
	Address string // where phones open the pages: "https://192.0.2.7:8443/"
	// Authority is the certificate that a phone must trust once, in PEM; nil when the shop's own is not used.
	Authority []byte
}

// maxBody bounds a posted form; an imported file has its own bound.
const maxBody = 1 << 20

type server struct {
	shop   *shop.Shop
	log    *slog.Logger
	demo   bool
	share  *Share
	keeps  *backup.Keeper
	views  map[string]*view
	asset  *assets
	worker []byte
	jobs   jobs

	streams streams
}

// New returns the handler of every page. It fails when a template is missing or cannot be read.
func New(s *shop.Shop, o Options) (http.Handler, error) {
	srv := &server{shop: s, log: o.Log, demo: o.Demo, share: o.Share, keeps: o.Backups}
	if srv.log == nil {
		srv.log = slog.Default()
	}
	srv.jobs.ctx = o.Stop
	if o.Stop == nil {
		srv.jobs.ctx = context.Background()
	}
	var err error
	if srv.asset, err = loadAssets(staticFiles); err != nil {
		return nil, err
	}
	if srv.views, err = loadViews(srv.asset); err != nil {
		return nil, err
	}
	if srv.worker, err = makeWorker(srv.asset); err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	for _, r := range srv.routes() {
		if !r.who.Valid() {
			return nil, fmt.Errorf("route %q does not say who may use it", r.pattern)
		}
		mux.Handle(r.pattern, srv.page(r))
	}
	mux.Handle("GET /static/", srv.asset)
	if o.API != nil {
		mux.Handle("/api/", o.API)
	}
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		srv.fail(w, r, refuse(http.StatusForbidden, "This form was sent from another site, so it was not taken. Open the page here and send it again."))
	}))
	return headers(guard.Handler(mux)), nil
}

// route is one page: a method and pattern, and the function that answers it.
type route struct {
	pattern string
	who     access.Rule // who may use it
	serve   func(*request) error
	body    int64 // largest body taken; 0 for maxBody
}

// request is one visit: who asks, in which units, and where to answer.
type request struct {
	*http.Request
	w     http.ResponseWriter
	srv   *server
	prefs prefs
	who   access.Who

	signedIn bool
}

// page wraps a route: who may not use it is turned away, preferences are read, the body is bounded, errors and panics become pages.
func (s *server) page(r route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		limit := r.body
		if limit == 0 {
			limit = maxBody
		}
		req.Body = http.MaxBytesReader(w, req.Body, limit)
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.log.Error("page failed", "path", req.URL.Path, "panic", p, "stack", string(debug.Stack()))
				s.fail(w, req, refuse(http.StatusInternalServerError, "Something in the program went wrong. Nothing you entered before is lost; try again."))
			}
		}()
		in := &request{Request: req, w: w, srv: s, prefs: s.readPrefs(req)}
		in.who, in.signedIn = s.shop.Who(req.Context())
		err := r.who.Check(in.who, in.signedIn)
		if err == nil {
			err = r.serve(in)
		} else if store.KindOf(err) == store.SignIn && req.Method == http.MethodGet {
			err = in.back("/sign-in?to="+url.QueryEscape(req.URL.RequestURI()), "")
		}
		if err != nil {
			s.fail(w, req, err)
		}
	})
}

// headers sets what keeps a page from running or loading anything of somebody else's.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; worker-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if !strings.HasPrefix(r.URL.Path, "/static/") {
			h.Set("Cache-Control", "no-store")
		}
		next.ServeHTTP(w, r)
	})
}

// pageError is an error with a sentence for the maker.
type pageError struct {
	status int
	say    unit.Phrase
}

func (e *pageError) Error() string { return e.In(unit.Millimetre) }

// In writes the sentence for a maker.
func (e *pageError) In(s unit.Style) string { return e.say.In(s) }

// refuse makes a *pageError.
func refuse(status int, text unit.Text, args ...any) error {
	return &pageError{status, unit.Say(text, args...)}
}

// errorPage is what error.html shows.
type errorPage struct {
	layout
	Status int
	Say    string
}

func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	in := &request{Request: r, w: w, srv: s, prefs: s.readPrefs(r)}
	status, say := shop.Status(err), shop.SentenceIn(err, in.prefs.Units)
	var pe *pageError
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &pe):
		status, say = pe.status, in.say(pe)
	case errors.As(err, &tooBig):
		status, say = http.StatusRequestEntityTooLarge, in.tell("That is larger than the %d KiB taken here. Nothing was changed.", tooBig.Limit>>10)
	}
	if status >= 500 {
		s.log.Error("page failed", "path", r.URL.Path, "err", err)
	}
	p := errorPage{layout: in.layout("That did not work"), Status: status, Say: say}
	if r.Method != http.MethodGet {
		p.Path = "/" // a posted address may not be one to come back to
	}
	if err := in.render(status, "error", p); err != nil {
		http.Error(w, say, status)
	}
}

// layout is what every page shows around its own content.
type layout struct {
	Title  string
	Shop   string
	Demo   bool
	Prefs  prefs
	Path   string // this page, to come back to
	Notice string
	Guitar *guitarBar // nil on pages of no one guitar
	Shared bool       // the shop is shared, and People may sign in
	Member string     // who has signed in; "" for nobody, or where nobody need
	Head   bool       // whoever it is may see and change everything
	Whose  string     // whose the entries kept on the device are, "" for nobody's
}

// guitarBar heads every page of one guitar.
type guitarBar struct {
	ID, Name string
	Revision int64
	Entries  int // in its log
	Tab      string
	Repair   bool
	Waiting  guitar.Step
	Steps    []guitar.StepState
}

func (in *request) layout(title unit.Text) layout {
	name := "Fairset"
	if set, err := in.srv.shop.Settings(in.Context()); err == nil && set.ShopName != "" {
		name = set.ShopName
	}
	in.who, in.signedIn = in.srv.shop.Who(in.Context())
	return layout{Title: in.say(title), Shop: name, Demo: in.srv.demo, Prefs: in.prefs, Path: in.URL.RequestURI(), Notice: in.takeNotice(),
		Shared: in.srv.share != nil, Member: in.who.Name, Head: in.who.Teacher(), Whose: in.whose()}
}

func (in *request) guitarLayout(title unit.Text, tab string, v shop.View) layout {
	l := in.layout(title)
	l.Title += " · " + v.Guitar.Name
	l.Guitar = &guitarBar{ID: v.Guitar.ID, Name: v.Guitar.Name, Revision: v.Revision, Entries: len(v.Guitar.Log), Tab: tab, Repair: v.Guitar.Start == guitar.FromReadings, Waiting: v.Bench.Waiting, Steps: v.Bench.Steps}
	return l
}

// render writes a page; nothing is sent until the whole page is made, so an error gives an error page.
func (in *request) render(status int, name string, data any) error {
	v, ok := in.srv.views[name]
	if !ok {
		return fmt.Errorf("no page template %q", name)
	}
	var b bytes.Buffer
	if err := v.execute(&b, in.prefs.Units, data); err != nil {
		return fmt.Errorf("make page %q: %w", name, err)
	}
	in.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	in.w.WriteHeader(status)
	_, _ = b.WriteTo(in.w)
	return nil
}

// guitar returns the guitar named in the path.
func (in *request) guitar() (shop.View, error) {
	return in.srv.shop.Guitar(in.Context(), in.PathValue("id"))
}

// back answers a post: see the page, with a notice on it; none for "".
func (in *request) back(to string, notice unit.Text, args ...any) error {
	if notice != "" {
		in.leaveNotice(in.tell(notice, args...))
	}
	http.Redirect(in.w, in.Request, to, http.StatusSeeOther)
	return nil
}

// say writes something in the maker's units and language; tell a sentence.
func (in *request) say(what unit.Said) string { return what.In(in.prefs.Units) }

func (in *request) tell(text unit.Text, args ...any) string { return in.prefs.Units.Say(text, args...) }
