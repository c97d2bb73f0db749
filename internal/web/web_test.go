package web_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"fairset/internal/demo"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
	"fairset/internal/web"
	"fairset/unit"
)

// bench is a browser without script at a shop of its own.
type bench struct {
	t       *testing.T
	shop    *shop.Shop
	handler http.Handler
	cookies map[string]string
}

// newBench opens an empty shop whose makers read millimetres.
func newBench(t *testing.T) *bench {
	t.Helper()
	db, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	s := shop.New(db)
	h, err := web.New(s, web.Options{Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{t: t, shop: s, handler: h, cookies: map[string]string{}}
	b.units(unit.Millimetre)
	return b
}

// newDemo opens the made-up shop.
func newDemo(t *testing.T) *bench {
	b := newBench(t)
	if err := demo.Fill(context.Background(), b.shop); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *bench) units(s unit.Style) { b.cookies["fairset_units"] = string(s) }

// beside is another browser at the same shop.
func (b *bench) beside(name string) *bench {
	return &bench{t: b.t, shop: b.shop, handler: b.handler, cookies: map[string]string{"fairset_units": "mm", "fairset_bench": url.QueryEscape(name)}}
}

// guitar returns a guitar by its name.
func (b *bench) guitar(name string) shop.View {
	b.t.Helper()
	v, err := b.shop.Guitar(context.Background(), name)
	if err != nil {
		b.t.Fatal(err)
	}
	return v
}

// page is an answer.
type page struct {
	t      *testing.T
	status int
	header http.Header
	text   string
	doc    *html.Node
}

func (b *bench) do(r *http.Request) *page {
	b.t.Helper()
	for k, v := range b.cookies {
		r.AddCookie(&http.Cookie{Name: k, Value: v})
	}
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if c.MaxAge < 0 {
			delete(b.cookies, c.Name)
		} else {
			b.cookies[c.Name] = c.Value
		}
	}
	p := &page{t: b.t, status: w.Code, header: w.Header(), text: w.Body.String()}
	if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		doc, err := html.Parse(strings.NewReader(p.text))
		if err != nil {
			b.t.Fatal(err)
		}
		p.doc = doc
	}
	return p
}

func (b *bench) get(path string) *page {
	b.t.Helper()
	return b.do(httptest.NewRequest("GET", path, nil))
}

func (b *bench) post(path string, form url.Values) *page {
	b.t.Helper()
	return b.do(newPost(path, form))
}

func newPost(path string, form url.Values) *http.Request {
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

func (b *bench) upload(path string, data []byte) *page {
	b.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	f, err := m.CreateFormFile("file", "shop.json")
	if err != nil {
		b.t.Fatal(err)
	}
	_, _ = f.Write(data)
	_ = m.Close()
	r := httptest.NewRequest("POST", path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return b.do(r)
}

// follow sees the page a post leads to.
func (b *bench) follow(p *page) *page {
	b.t.Helper()
	p.want(http.StatusSeeOther)
	return b.get(p.header.Get("Location"))
}

func (p *page) want(status int, texts ...string) *page {
	p.t.Helper()
	if p.status != status {
		p.t.Fatalf("status %d, want %d\n%s", p.status, status, p.words())
	}
	words := p.words()
	for _, s := range texts {
		if !strings.Contains(words, s) {
			p.t.Errorf("the page does not say %q:\n%s", s, words)
		}
	}
	return p
}

func (p *page) lacks(texts ...string) *page {
	p.t.Helper()
	words := p.words()
	for _, s := range texts {
		if strings.Contains(words, s) {
			p.t.Errorf("the page says %q:\n%s", s, words)
		}
	}
	return p
}

// words is what a reader of the page meets, in one line.
func (p *page) words() string {
	if p.doc == nil {
		return p.text
	}
	var out []string
	walk(p.doc, func(n *html.Node) {
		if n.Type == html.TextNode && n.Parent != nil && n.Parent.DataAtom != atom.Script {
			out = append(out, n.Data)
		}
	})
	return strings.Join(strings.Fields(strings.Join(out, " ")), " ")
}

// form returns what a browser would send of the form that posts to an action, untouched.
func (p *page) form(action string) url.Values {
	p.t.Helper()
	out, found := url.Values{}, false
	id := ""
	walk(p.doc, func(n *html.Node) {
		if n.DataAtom == atom.Form && attr(n, "action") == action && attr(n, "method") == "post" {
			found, id = true, attr(n, "id")
		}
	})
	if !found {
		p.t.Fatalf("no form posts to %s", action)
	}
	walk(p.doc, func(n *html.Node) {
		name := attr(n, "name")
		if name == "" || has(n, "disabled") {
			return
		}
		f := within(n, atom.Form)
		if mine := f != nil && attr(f, "action") == action && attr(f, "method") == "post" && !has(n, "form") || id != "" && attr(n, "form") == id; !mine {
			return
		}
		switch n.DataAtom {
		case atom.Input:
			switch attr(n, "type") {
			case "radio", "checkbox":
				if has(n, "checked") {
					out.Add(name, attr(n, "value"))
				}
			case "file", "submit":
			default:
				out.Add(name, attr(n, "value"))
			}
		case atom.Select:
			walk(n, func(o *html.Node) {
				if o.DataAtom == atom.Option && has(o, "selected") {
					out.Add(name, attr(o, "value"))
				}
			})
		case atom.Textarea:
			text := ""
			if n.FirstChild != nil {
				text = n.FirstChild.Data
			}
			out.Add(name, text)
		}
	})
	return out
}

func walk(n *html.Node, see func(*html.Node)) {
	see(n)
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		walk(c, see)
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

func within(n *html.Node, tag atom.Atom) *html.Node {
	for n = n.Parent; n != nil; n = n.Parent {
		if n.DataAtom == tag {
			return n
		}
	}
	return nil
}

// faults lists what a page must not have: looks or script of its own that the strict policy would refuse,
// ids given twice, references to nothing, inputs without a name, tables without heads.
func (p *page) faults() []string {
	var out []string
	fault := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	ids, labelled := map[string]int{}, map[string]bool{}
	h1 := 0
	walk(p.doc, func(n *html.Node) {
		if id := attr(n, "id"); id != "" {
			ids[id]++
		}
		if n.DataAtom == atom.Label {
			labelled[attr(n, "for")] = true
		}
		if n.DataAtom == atom.H1 {
			h1++
		}
	})
	for id, n := range ids {
		if n > 1 {
			fault("id %q stands %d times", id, n)
		}
	}
	if h1 != 1 {
		fault("%d h1", h1)
	}
	walk(p.doc, func(n *html.Node) {
		if n.Type != html.ElementNode {
			return
		}
		for _, a := range n.Attr {
			switch {
			case a.Key == "style" || strings.HasPrefix(a.Key, "on"):
				fault("<%s %s=%q>", n.Data, a.Key, a.Val)
			case strings.HasPrefix(a.Key, "aria-labelledby"), a.Key == "aria-describedby":
				for _, id := range strings.Fields(a.Val) {
					if ids[id] == 0 {
						fault("<%s %s> names %q, which is not there", n.Data, a.Key, id)
					}
				}
			case a.Key == "href" && strings.HasPrefix(a.Val, "#") && ids[a.Val[1:]] == 0:
				fault("a link leads to %q, which is not there", a.Val)
			case a.Key == "for" && ids[a.Val] == 0:
				fault("a label is for %q, which is not there", a.Val)
			}
		}
		switch n.DataAtom {
		case atom.Style:
			fault("<style>")
		case atom.Script:
			if attr(n, "src") == "" {
				fault("script in the page")
			}
		case atom.Input, atom.Textarea, atom.Select:
			if attr(n, "type") == "hidden" {
				return
			}
			if !labelled[attr(n, "id")] && attr(n, "aria-label") == "" && within(n, atom.Label) == nil {
				fault("<%s name=%q> has no label", n.Data, attr(n, "name"))
			}
		case atom.Th:
			if attr(n, "scope") == "" {
				fault("th %q without scope", text(n))
			}
		case atom.Img:
			if !has(n, "alt") {
				fault("img without alt")
			}
		case atom.Button, atom.A:
			if strings.TrimSpace(text(n)) == "" {
				fault("<%s> without words", n.Data)
			}
		case atom.Svg:
			if attr(n, "aria-hidden") != "true" && (attr(n, "role") != "img" || attr(n, "aria-labelledby") == "") {
				fault("a drawing without its words")
			}
		}
	})
	return out
}

func text(n *html.Node) string {
	var b strings.Builder
	walk(n, func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data)
		}
	})
	return b.String()
}

func TestEveryPageIsWellMade(t *testing.T) {
	b := newDemo(t)
	empty := newBench(t)
	paths := []string{"/", "/new", "/repair", "/shop", "/help"}
	for _, name := range []string{"Heron", "Ruff", "Plover", "Lapwing", "Whimbrel", "Sandpiper", "Godwit", "Dunlin"} {
		id := b.guitar(name).Guitar.ID
		for _, p := range []string{"", "/design", "/history", "/paper"} {
			paths = append(paths, "/guitar/"+id+p)
		}
		for _, s := range b.guitar(name).Bench.Steps {
			paths = append(paths, "/guitar/"+id+"/step/"+string(s.Step))
		}
	}
	for _, style := range unit.Styles() {
		b.units(style)
		for _, path := range paths {
			p := b.get(path)
			if p.status != http.StatusOK {
				t.Errorf("%s: status %d: %s", path, p.status, p.words())
				continue
			}
			for _, f := range p.faults() {
				t.Errorf("%s (%s): %s", path, style, f)
			}
		}
	}
	for _, path := range []string{"/", "/shop"} {
		for _, f := range empty.get(path).want(http.StatusOK).faults() {
			t.Errorf("%s, empty shop: %s", path, f)
		}
	}
	for _, path := range []string{"/nowhere", "/guitar/none", "/guitar/none/design"} {
		for _, f := range empty.get(path).want(http.StatusNotFound).faults() {
			t.Errorf("%s: %s", path, f)
		}
	}
}

func TestPagesKeepOthersOut(t *testing.T) {
	b := newBench(t)
	p := b.get("/")
	if csp := p.header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") {
		t.Errorf("Content-Security-Policy is %q", csp)
	}
	r := httptest.NewRequest("POST", "/new", strings.NewReader("name=Wren&design=steel-14"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	b.do(r).want(http.StatusForbidden, "sent from another site")
	b.get("/").want(http.StatusOK, "No guitar yet")

	for _, back := range []string{"https://elsewhere.example/", "//elsewhere.example/", `/\elsewhere.example`, "javascript:alert(1)"} {
		if to := b.post("/prefs", url.Values{"units": {"mm"}, "back": {back}}).header.Get("Location"); to != "/" {
			t.Errorf("after %q the browser is sent to %q, want /", back, to)
		}
	}
	b.post("/prefs", url.Values{"units": {"furlongs"}, "back": {"/"}}).want(http.StatusUnprocessableEntity, "in64, inch or mm")
}

// Static files may be kept for good only because their names change with what is in them.
func TestStaticFilesAreFound(t *testing.T) {
	b := newBench(t)
	n := 0
	walk(b.get("/").doc, func(node *html.Node) {
		for _, key := range []string{"href", "src"} {
			if u := attr(node, key); strings.HasPrefix(u, "/static/") {
				n++
				if p := b.get(u); p.status != http.StatusOK || !strings.Contains(p.header.Get("Cache-Control"), "immutable") {
					t.Errorf("%s: status %d, Cache-Control %q", u, p.status, p.header.Get("Cache-Control"))
				}
			}
		}
	})
	if n < 3 {
		t.Errorf("the page names %d static files, want its style sheet, script and mark", n)
	}
	b.get("/static/fairset.css").want(http.StatusNotFound)
}

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
