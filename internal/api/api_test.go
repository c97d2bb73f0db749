package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/figure"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
	"fairset/printing"
)

// bench is a served shop and somebody who asks it.
type bench struct {
	t   *testing.T
	h   http.Handler
	doc *contract // when set, every exchange is held against the document
}

func newBench(t *testing.T) *bench {
	t.Helper()
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return &bench{t: t, h: New(shop.New(db))}
}

func (b *bench) document() []byte {
	b.t.Helper()
	return b.ask("GET", "/openapi.json", nil, 200)
}

// ask sends a request and returns the body of the reply, which must be JSON and have this status.
func (b *bench) ask(method, path string, body any, status int) []byte {
	b.t.Helper()
	r := b.exchange(method, path, body, status)
	raw := r.Body.Bytes()
	if ct := r.Header().Get("Content-Type"); ct != "application/json" {
		b.t.Errorf("%s %s: content type %q", method, path, ct)
	}
	if !json.Valid(raw) {
		b.t.Errorf("%s %s: not JSON: %s", method, path, raw)
	}
	return raw
}

// exchange sends a request and returns the reply, which must have this status.
func (b *bench) exchange(method, path string, body any, status int) *httptest.ResponseRecorder {
	b.t.Helper()
	var raw []byte
	switch v := body.(type) {
	case nil:
	case []byte:
		raw = v
	case string:
		raw = []byte(v)
	default:
		var err error
		if raw, err = json.Marshal(v); err != nil {
			b.t.Fatal(err)
		}
	}
	request := func() *http.Request {
		r := httptest.NewRequest(method, Prefix+path, bytes.NewReader(raw))
		if raw != nil {
			r.Header.Set("Content-Type", "application/json")
			if bytes.HasPrefix(raw, []byte{0xff, 0xd8}) {
				r.Header.Set("Content-Type", "image/jpeg")
			}
		}
		return r
	}
	w := httptest.NewRecorder()
	b.h.ServeHTTP(w, request())
	if w.Code != status {
		b.t.Fatalf("%s %s: got status %d, want %d: %s", method, path, w.Code, status, w.Body)
	}
	if b.doc != nil {
		for _, err := range b.doc.hold(request(), raw, w) {
			b.t.Errorf("%s %s: not as documented: %v", method, path, err)
		}
	}
	return w
}

func into[T any](b *bench, raw []byte) (out T) {
	b.t.Helper()
	if err := json.Unmarshal(raw, &out); err != nil {
		b.t.Fatalf("%v: %s", err, raw)
	}
	return out
}

type m = map[string]any

func (b *bench) held() *bench {
	b.t.Helper()
	k, faults := newContract(b.document())
	for _, err := range faults {
		b.t.Errorf("the document is not OpenAPI: %v", err)
	}
	if k == nil {
		b.t.FailNow()
	}
	b.doc = k
	return b
}

// TestEveryRoute asks every route once, holds request and reply against the served document by a JSON Schema
// library that is not ours, and fails for a route of the document that was not asked.
func TestEveryRoute(t *testing.T) {
	b := newBench(t).held()
	asked := map[string]bool{}
	ask := func(method, path, route string, body any, status int) []byte {
		t.Helper()
		asked[method+" "+Prefix+route] = true
		return b.ask(method, path, body, status)
	}
	g := into[Guitar](b, ask("POST", "/guitars", "/guitars", m{"name": "Heron", "design": "steel-14", "values": m{"scale_length": "25 1/2 in"}}, 201))
	at := "/guitars/" + g.ID
	ask("GET", "/guitars?units=inch", "/guitars", nil, 200)
	ask("GET", at+"?units=mm", "/guitars/{id}", nil, 200)
	for _, part := range []string{"strings", "intonation", "strungup", "board", "bill"} {
		ask("GET", at+"/"+part+"?units=mm", "/guitars/{id}/"+part, nil, 200)
	}
	ask("GET", at+"/air", "/guitars/{id}/air", nil, 422)
	ask("GET", at+"/top", "/guitars/{id}/top", nil, 200)
	ask("GET", at+"/top/wood", "/guitars/{id}/top/wood", nil, 422) // no notes yet
	enter := func(step string, values m) {
		t.Helper()
		g = into[Guitar](b, ask("POST", at+"/entries", "/guitars/{id}/entries", m{"revision": g.Revision, "step": step, "values": values, "bench": "bench 3"}, 201))
	}
	enter("lean", m{"gap": []any{"19/64 in", 6.0, "6.1 mm"}, "surface": "frets", "graduation": "0.2 mm"})
	enter("point", m{"offset": []any{1.5}, "toward": "bass", "graduation": 0.2})
	ask("GET", at+"/cut?tool=board-120&judged=strokes&units=mm", "/guitars/{id}/cut", nil, 200)
	enter("cut", m{"tool": "board-120", "judged": "marks", "strokes": 40})
	enter("design", m{"action_bass": "3/32 in"})
	undone := into[Undone](b, ask("POST", at+"/undo", "/guitars/{id}/undo", m{"revision": g.Revision}, 200))
	if undone.Entry.Step != "design" || !undone.Entry.Undone {
		t.Errorf("undo undid %+v", undone.Entry)
	}
	g = undone.Guitar
	g = into[Guitar](b, ask("PATCH", at, "/guitars/{id}", m{"revision": g.Revision, "name": "Grey heron"}, 200))
	var shot bytes.Buffer
	if err := jpeg.Encode(&shot, image.NewGray(image.Rect(0, 0, 40, 30)), nil); err != nil {
		t.Fatal(err)
	}
	photo := into[PhotoInfo](b, ask("POST", at+"/photos?entry=1&alt=the+gap", "/guitars/{id}/photos", shot.Bytes(), 201))
	if all := into[Photos](b, ask("GET", at+"/photos", "/guitars/{id}/photos", nil, 200)); len(all.Photos) != 1 || all.Photos[0] != photo {
		t.Errorf("photos %+v, added %+v", all, photo)
	}
	asked["GET "+Prefix+"/guitars/{id}/photos/{photo}"] = true
	if r := b.exchange("GET", at+"/photos/"+photo.ID+"?size=small", nil, 200); r.Header().Get("Content-Type") != "image/jpeg" {
		t.Errorf("a photo's type is %q", r.Header().Get("Content-Type"))
	}
	ask("DELETE", at+"/photos/"+photo.ID, "/guitars/{id}/photos/{photo}", nil, 200)
	one := ask("GET", at+"/export", "/guitars/{id}/export", nil, 200)
	all := ask("GET", "/export", "/export", nil, 200)
	ask("DELETE", fmt.Sprintf("%s?revision=%d", at, g.Revision), "/guitars/{id}", nil, 200)
	ask("POST", at+"/restore", "/guitars/{id}/restore", nil, 200)
	for _, data := range [][]byte{one, all} {
		if got := into[Imports](b, ask("POST", "/import", "/import", data, 200)); got.Air != nil || len(got.Guitars) != 1 || got.Guitars[0].Result != "skipped" {
			t.Errorf("importing what is there: %+v", got)
		}
	}
	some := into[Guitars](b, b.ask("GET", "/guitars", nil, 200)).Guitars[0]
	ask("POST", "/class/changes", "/class/changes", m{"values": m{"bridge_thickness": "8.1 mm"}, "guitars": []m{{"id": some.ID, "revision": some.Revision}}, "preview": true}, 200)
	asked["GET "+Prefix+"/album"], asked["POST "+Prefix+"/album"] = true, true // TestAlbumOverHTTP
	asked["GET "+Prefix+"/tables"] = true
	if r := b.exchange("GET", "/tables", nil, 200); r.Header().Get("Content-Type") != "application/zip" || !strings.HasPrefix(r.Body.String(), "PK\x03\x04") { // source: ZIP application note, local file header
		t.Errorf("tables: type %q, %d bytes", r.Header().Get("Content-Type"), r.Body.Len())
	}
	ask("POST", "/class/copies", "/class/copies", m{"from": "Grey heron", "names": "Alder 1 to 2"}, 201)
	for _, path := range []string{"/class", "/class/learned", "/class/report"} {
		ask("GET", path+"?units=mm", path, nil, 200)
	}
	ask("GET", "/sheets", "/sheets", nil, 200)
	ask("GET", at+"/sheets?units=mm&jig_length=400+mm", "/guitars/{id}/sheets", nil, 200)
	for _, f := range printing.Formats() {
		for _, one := range []struct {
			method, path, route string
			body                any
		}{{"GET", at + "/sheets/frets", "/guitars/{id}/sheets/{sheet}", nil}, {"POST", "/sheets/frets", "/sheets/{sheet}", one}} {
			asked[one.method+" "+Prefix+one.route] = true
			r := b.exchange(one.method, one.path+"?format="+string(f), one.body, 200)
			if ct := r.Header().Get("Content-Type"); ct != f.MediaType() || r.Header().Get("Fairset-Pages") != "1" || r.Body.Len() < 1000 {
				t.Errorf("%s as %s: type %q, %s pages, %d bytes", one.path, f, ct, r.Header().Get("Fairset-Pages"), r.Body.Len())
			}
		}
	}
	air := m{"at": "2026-03-02T09:00:00Z", "place": "bench", "temperature_c": 21.0, "relative_humidity_percent": 45.0}
	if got := into[AirAdded](b, ask("POST", "/climate", "/climate", m{"readings": []any{air}}, 201)); got.Added != 1 {
		t.Errorf("air %+v", got)
	}
	taken := into[AirTaken](b, ask("POST", "/climate/import", "/climate/import", m{"csv": "time;temp °C;rh\n02.03.2026 09:00;21,0;45,0\n02.03.2026 10:00;20,0;44,0\nx;y;z\n", "place": "bench"}, 200))
	if taken.Added != 1 || taken.Same != 1 || len(taken.Bad) != 1 || taken.Bad[0].Line != 4 {
		t.Errorf("a logger's file %+v", taken)
	}
	ask("POST", "/climate/import", "/climate/import", m{"csv": "time;temp °C;rh\n02/03/2026 09:00;21,0;45,0\n"}, 422)
	// source: Wood Handbook table 4-2: 8.5 % at 70 °F and 45 %, to its printed tenth
	if log := into[AirLog](b, ask("GET", "/climate?thickness_mm=20", "/climate", nil, 200)); len(log.Readings) != 2 || log.Place != "bench" || math.Abs(log.Readings[0].EMC-8.5) > 0.05 || log.Readings[1].Behind <= log.Readings[1].EMC {
		t.Errorf("log %+v", log)
	}
	ask("DELETE", "/climate?at=2026-03-02T09:00:00Z&place=bench", "/climate", nil, 200)
	ask("GET", "/schema", "/schema", nil, 200)
	ask("GET", "/steps", "/steps", nil, 200)
	ask("GET", "/designs", "/designs", nil, 200)
	ask("GET", "/openapi.json", "/openapi.json", nil, 200)
	for _, topic := range into[Topics](b, ask("GET", "/figure", "/figure", nil, 200)).Topics {
		out := ask("POST", "/figure/"+topic.Topic, "/figure/"+topic.Topic, topic.Example, 200)
		raw, err := json.Marshal(topic.Example)
		if err != nil {
			t.Fatal(err)
		}
		want, err := figure.Run(topic.Topic, raw)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(out, want) {
			t.Errorf("%s: the reply is not what the calculation gives", topic.Topic)
		}
	}
	for _, r := range documented(t, b.document()) {
		if !asked[r] {
			t.Errorf("%s stands in the document and was not asked", r)
		}
		delete(asked, r)
	}
	for r := range asked {
		t.Errorf("%s answers and does not stand in the document", r)
	}
}

func documented(t *testing.T, doc []byte) []string {
	t.Helper()
	var d struct {
		Paths map[string]map[string]json.RawMessage
	}
	if err := json.Unmarshal(doc, &d); err != nil {
		t.Fatal(err)
	}
	var out []string
	for p, item := range d.Paths {
		for method := range item {
			out = append(out, strings.ToUpper(method)+" "+p)
		}
	}
	if len(out) < 20 {
		t.Fatalf("only %d routes in the document", len(out))
	}
	return out
}

// recorder notes every pattern that is served.
type recorder struct {
	*http.ServeMux
	patterns []string
}

func (r *recorder) HandleFunc(pattern string, h func(http.ResponseWriter, *http.Request)) {
	r.patterns = append(r.patterns, pattern)
	r.ServeMux.HandleFunc(pattern, h)
}

func TestServedIsDocumented(t *testing.T) {
	r := &recorder{ServeMux: http.NewServeMux()}
	s := newServer(nil, r)
	s.routes()
	raw, err := s.document()
	if err != nil {
		t.Fatal(err)
	}
	doc := documented(t, raw)
	slices.Sort(doc)
	slices.Sort(r.patterns)
	if !slices.Equal(doc, r.patterns) {
		t.Errorf("documented:\n%s\nserved:\n%s", strings.Join(doc, "\n"), strings.Join(r.patterns, "\n"))
	}
}

// TestBadInput sends what cannot be used: the reply names the field and nothing is saved.
func TestBadInput(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	at := "/guitars/" + g.ID
	entry := func(step string, values any) m { return m{"revision": g.Revision, "step": step, "values": values} }
	lean := m{"gap": 6.8, "surface": "frets", "graduation": 0.5}
	with := func(k string, v any) m {
		out := m{}
		for key, x := range lean {
			out[key] = x
		}
		out[k] = v
		return out
	}
	for _, c := range []struct {
		name, method, path string
		body               any
		status             int
		field              string
	}{
		{"gap too large", "POST", at + "/entries", entry("lean", with("gap", 70)), 422, "gap"},
		{"gap too large among good ones", "POST", at + "/entries", entry("lean", with("gap", []any{6.8, "7 in"})), 422, "gap"},
		{"gap not a length", "POST", at + "/entries", entry("lean", with("gap", "wide")), 422, "gap"},
		{"gap an object", "POST", at + "/entries", entry("lean", with("gap", m{"mm": 6})), 422, "gap"},
		{"gap null", "POST", at + "/entries", entry("lean", with("gap", nil)), 422, "gap"},
		{"too many readings", "POST", at + "/entries", entry("lean", with("gap", slices.Repeat([]any{6.8}, 13))), 422, "gap"},
		{"absurdly many readings", "POST", at + "/entries", entry("lean", with("gap", slices.Repeat([]any{6.8}, 5000))), 422, "gap"},
		{"absurd number", "POST", at + "/entries", entry("lean", with("gap", 1e300)), 422, "gap"},
		{"unknown field", "POST", at + "/entries", entry("lean", with("gab", 6.8)), 422, "gab"},
		{"unknown choice", "POST", at + "/entries", entry("lean", with("surface", "table")), 422, "surface"},
		{"field missing", "POST", at + "/entries", entry("lean", m{"gap": 6.8, "surface": "frets"}), 422, "graduation"},
		{"unknown step", "POST", at + "/entries", entry("glue", m{}), 422, "step"},
		{"a cut before reading", "POST", at + "/entries", entry("cut", m{"tool": "file", "judged": "marks"}), 422, "tool"},
		{"values a list", "POST", at + "/entries", entry("lean", []any{1}), 422, "values"},
		{"bench too long", "POST", at + "/entries", m{"revision": g.Revision, "step": "lean", "values": lean, "bench": strings.Repeat("x", 81)}, 422, "bench"},
		{"no revision", "POST", at + "/entries", m{"step": "lean", "values": lean}, 422, "revision"},
		{"an extra member", "POST", at + "/entries", m{"revision": 1, "step": "lean", "values": lean, "force": true}, 422, "force"},
		{"key twice", "POST", at + "/entries", `{"revision":1,"step":"lean","values":{"gap":6,"gap":7,"surface":"frets","graduation":0.5}}`, 422, "gap"},
		{"not JSON", "POST", at + "/entries", `{"revision":1,`, 400, ""},
		{"empty body", "POST", at + "/entries", ``, 400, ""},
		{"unknown design", "POST", "/guitars", m{"name": "X", "design": "lute"}, 422, "design"},
		{"no name", "POST", "/guitars", m{"design": "steel-14"}, 422, "name"},
		{"blank name", "POST", "/guitars", m{"name": "  ", "design": "steel-14"}, 422, "name"},
		{"scale too long", "POST", "/guitars", m{"name": "X", "design": "steel-14", "values": m{"scale_length": "64.8 m"}}, 422, "scale_length"},
		{"repair with a design", "POST", "/guitars", m{"name": "X", "start": "readings", "design": "steel-14"}, 422, "design"},
		{"repair without readings", "POST", "/guitars", m{"name": "X", "start": "readings"}, 422, "scale_length"},
		{"units unknown", "GET", at + "?units=feet", nil, 422, "units"},
		{"query unknown", "GET", at + "?unit=mm", nil, 422, "unit"},
		{"tool unknown", "GET", at + "/cut?tool=axe", nil, 422, "tool"},
		{"judged unknown", "GET", at + "/cut?judged=eye", nil, 422, "judged"},
		{"undo of nothing", "POST", at + "/undo", m{"revision": g.Revision}, 422, ""},
		{"no such guitar", "GET", "/guitars/nobody", nil, 404, ""},
		{"no such guitar to restore", "POST", "/guitars/nobody/restore", nil, 404, ""},
		{"import of something else", "POST", "/import", `{"format":"pdf"}`, 422, "format"},
		{"import of a newer file", "POST", "/import", `{"format":"fairset.guitar","version":99}`, 422, "version"},
		{"figure, unknown field", "POST", "/figure/frets", m{"scale_length_mm": 648, "frets": 20, "colour": 1}, 422, "colour"},
		{"figure, out of range", "POST", "/figure/frets", m{"scale_length_mm": -1, "frets": 20}, 422, "scale_length_mm"},
		{"figure, no body", "POST", "/figure/frets", ``, 400, ""},
		{"no such topic", "POST", "/figure/banjo", m{}, 404, "topic"},
		{"no such path", "GET", "/nothing", nil, 404, "path"},
		{"no such method", "PUT", at, m{}, 405, "method"},
		{"too large", "POST", "/figure/frets", `{"scale_length_mm": "` + strings.Repeat("6", 1<<20) + `"}`, 413, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := *b
			b.t = t
			p := into[Problem](&b, b.ask(c.method, c.path, c.body, c.status))
			if p.Fault.Field != c.field {
				t.Errorf("field %q, want %q: %s", p.Fault.Field, c.field, p.Fault.Message)
			}
			if p.Fault.Message == "" {
				t.Error("nothing is said")
			}
		})
	}
	now := into[Guitar](b, b.ask("GET", at, nil, 200))
	if now.Revision != g.Revision || len(now.Log) != 0 {
		t.Errorf("something was saved: revision %d, was %d; %d entries", now.Revision, g.Revision, len(now.Log))
	}
	if list := into[Guitars](b, b.ask("GET", "/guitars", nil, 200)); len(list.Guitars) != 1 {
		t.Errorf("%d guitars, want 1", len(list.Guitars))
	}
}

// TestConflict: of two benches that read the same revision the second is told what the first entered.
func TestConflict(t *testing.T) {
	b := newBench(t).held()
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	at := "/guitars/" + g.ID
	entry := m{"revision": g.Revision, "step": "lean", "values": m{"gap": 6.8, "surface": "frets", "graduation": 0.5}, "bench": "bench 1"}
	first := into[Guitar](b, b.ask("POST", at+"/entries", entry, 201))
	p := into[Problem](b, b.ask("POST", at+"/entries", entry, 409))
	if p.Revision == nil || *p.Revision != first.Revision || len(p.Entries) != 1 || p.Entries[0].Bench != "bench 1" || p.Fault.Field != "revision" {
		t.Errorf("conflict says %+v", p)
	}
	for _, c := range []struct {
		method, path string
		body         any
	}{
		{"POST", at + "/undo", m{"revision": g.Revision}},
		{"PATCH", at, m{"revision": g.Revision, "name": "Other"}},
		{"DELETE", fmt.Sprintf("%s?revision=%d", at, g.Revision), nil},
	} {
		b.ask(c.method, c.path, c.body, 409)
	}
	if now := into[Guitar](b, b.ask("GET", at, nil, 200)); now.Revision != first.Revision || now.Name != "Heron" || len(now.Log) != 1 {
		t.Errorf("something was overwritten: %+v", now.Summary)
	}
}

// TestLengthsInAnyUnit: the same length in inches, millimetres and as a number is the same entry, and what
// was typed is kept.
func TestLengthsInAnyUnit(t *testing.T) {
	b := newBench(t)
	var first float64
	for i, scale := range []any{"25 1/2 in", "647.7 mm", 647.7, "64.77 cm", "25.5\""} {
		g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14", "values": m{"scale_length": scale}}, 201))
		if got, _ := g.Design["scale_length_mm"].(float64); got < 647.6999999 || got > 647.7000001 { // source: 25.5 x 25.4 exactly
			t.Errorf("%v is %v mm, want 647.7", scale, got)
		}
		if s, ok := scale.(string); ok && (len(g.Typed["scale_length"]) != 1 || g.Typed["scale_length"][0] != s) {
			t.Errorf("typed %q came back as %q", s, g.Typed["scale_length"])
		}
		if i == 0 {
			first = g.Aim.GapOnFrets
		} else if d := g.Aim.GapOnFrets - first; d > 1e-9 || d < -1e-9 { // mm; far below any rule
			t.Errorf("%v gives a gap of %v mm, the first %v", scale, g.Aim.GapOnFrets, first)
		}
	}
}

// TestNumbersAgree: the target by the guitar is the target by the calculation of that name.
func TestNumbersAgree(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	in := m{}
	var schema struct {
		Input struct{ Properties map[string]any }
	}
	raw, err := figure.Schema("neckset")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &schema); err != nil {
		t.Fatal(err)
	}
	for k := range schema.Input.Properties {
		if v, ok := g.Design[k]; ok {
			in[k] = v
		}
	}
	bass, treble := g.Design["action_bass_mm"].(float64), g.Design["action_treble_mm"].(float64)
	for k := range schema.Input.Properties {
		if strings.HasPrefix(k, "action") {
			in[k] = (bass + treble) / 2
		}
	}
	// The calculation takes the top as an object of its own.
	if _, ok := schema.Input.Properties["top"]; ok {
		in["top"] = m{"kind": "dome", "radius_mm": g.Design["top_radius_mm"], "apex_mm": g.Design["top_apex_mm"]}
	}
	out := b.ask("POST", "/figure/neckset", in, 200)
	var got struct{ Result map[string]any }
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	found := 0
	for k, want := range map[string]float64{"gap_on_frets_mm": g.Aim.GapOnFrets, "gap_on_board_mm": g.Aim.GapOnBoard, "saddle_distance_mm": g.Aim.SaddleDistance} {
		v, ok := got.Result[k].(float64)
		if !ok {
			continue
		}
		found++
		if d := v - want; d > 1e-9 || d < -1e-9 {
			t.Errorf("%s: %v by the calculation, %v by the guitar", k, v, want)
		}
	}
	if found == 0 {
		t.Fatalf("no figure in common: %v", got.Result)
	}
}

func TestOtherSitesAreRefused(t *testing.T) {
	b := newBench(t)
	r := httptest.NewRequest("POST", Prefix+"/guitars", strings.NewReader(`{"name":"X","design":"steel-14"}`))
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	b.h.ServeHTTP(w, r)
	body, _ := io.ReadAll(w.Body)
	if w.Code != http.StatusForbidden || into[Problem](b, body).Fault.Message == "" {
		t.Errorf("status %d: %s", w.Code, body)
	}
	if list := into[Guitars](b, b.ask("GET", "/guitars", nil, 200)); len(list.Guitars) != 0 {
		t.Error("it was taken all the same")
	}
}

func TestMethodsAreNamed(t *testing.T) {
	b := newBench(t)
	w := httptest.NewRecorder()
	b.h.ServeHTTP(w, httptest.NewRequest("PUT", Prefix+"/guitars/x", nil))
	if got, want := w.Header().Get("Allow"), "GET, PATCH, DELETE"; got != want {
		t.Errorf("Allow %q, want %q", got, want)
	}
}

func TestFieldKeysAreTheirOwn(t *testing.T) {
	for _, fields := range [][]guitar.Field{guitar.DesignFields(), guitar.RepairFields()} {
		seen := map[string]bool{}
		for _, f := range fields {
			if k := Key(f); seen[k] {
				t.Errorf("two fields are written as %s", k)
			} else {
				seen[k] = true
			}
		}
	}
}

func FuzzAnswers(f *testing.F) {
	for _, s := range []string{`{"gap":["19/64 in",7.6],"surface":"frets"}`, `{"gap":1e-7}`, `{}`, `null`, `{"gap":[[]]}`, `{"a":-0.0}`, `{"gap":123456789012345678901234567890}`} {
		f.Add([]byte(s))
	}
	fields := guitar.DesignFields()
	f.Fuzz(func(t *testing.T, raw []byte) {
		var a Answers
		if json.Unmarshal(raw, &a) != nil {
			return
		}
		texts, err := a.Texts(fields)
		if err != nil {
			return
		}
		for key, list := range texts {
			if len(list) > maxAnswers {
				t.Errorf("%s holds %d", key, len(list))
			}
		}
	})
}
