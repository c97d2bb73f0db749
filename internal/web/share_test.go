package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/backup"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"
)

// shared is a shop that two benches and a teacher have signed in to.
type shared struct {
	t       testing.TB
	shop    *shop.Shop
	door    *access.Door
	handler http.Handler
	routes  []route
	keeps   *backup.Keeper
	now     time.Time
	tokens  map[string]string // by name
	larch   shop.View         // the guitar of bench 3
}

const (
	pin        = "4821"
	passphrase = "spruce and cedar"
)

func newShared(t testing.TB) *shared {
	t.Helper()
	ctx := context.Background()
	sh := &shared{t: t, now: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), tokens: map[string]string{}}
	db, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{Now: func() time.Time { return sh.now }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	sh.shop = shop.New(db)
	sh.shop.Shared = true
	sh.shop.Now = func() time.Time { return sh.now }
	sh.door = &access.Door{People: db, Now: sh.shop.Now}
	sh.keeps = &backup.Keeper{Folder: backup.Beside(db.Path()), From: db, Policy: backup.Usual, Now: sh.shop.Now}
	pages, err := New(sh.shop, Options{Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Share: &Share{Door: sh.door, Address: "https://192.0.2.7:8443/"}, Backups: sh.keeps})
	if err != nil {
		t.Fatal(err)
	}
	sh.handler = sh.door.Handler(pages)
	sh.routes = (&server{}).routes()
	for _, p := range []struct {
		name   string
		role   store.Role
		secret string
	}{{"desk", store.Teacher, passphrase}, {"bench 3", store.Bench, pin}, {"bench 4", store.Bench, pin}} {
		if _, err := sh.door.Add(ctx, access.Local, p.name, p.role, p.secret); err != nil {
			t.Fatal(err)
		}
		token, _, err := sh.door.SignIn(ctx, p.name, p.secret, "192.0.2.1")
		if err != nil {
			t.Fatal(err)
		}
		sh.tokens[p.name] = token
	}
	who, err := sh.door.Enter(ctx, sh.tokens["bench 3"], false)
	if err != nil {
		t.Fatal(err)
	}
	if sh.larch, err = sh.shop.NewFromDesign(access.With(ctx, who), "Larch", "steel-14", nil, "mm"); err != nil {
		t.Fatal(err)
	}
	return sh
}

func (sh *shared) ask(as, method, path string, form url.Values) *httptest.ResponseRecorder {
	sh.t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	if strings.Contains(path, "/events") { // goes on until the asker leaves
		ctx, leave := context.WithTimeout(context.Background(), 200*time.Millisecond)
		defer leave()
		r = r.WithContext(ctx)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if token := sh.tokens[as]; token != "" {
		r.AddCookie(&http.Cookie{Name: "fairset_in", Value: token})
	}
	w := httptest.NewRecorder()
	sh.handler.ServeHTTP(w, r)
	return w
}

// teacherRecord reads a guitar as it stands.
func (sh *shared) record(id string) store.Record {
	sh.t.Helper()
	r, err := sh.shop.Store.Get(context.Background(), id)
	if err != nil {
		sh.t.Fatal(err)
	}
	return r
}

// Every page by every rule: nobody, the bench whose guitar it is, another bench, a teacher. A route without a
// rule does not start; a new one is tried here without being named.
func TestEveryRouteKeepsItsRule(t *testing.T) {
	sh := newShared(t)
	copied, err := sh.keeps.Make(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	before := sh.record(sh.larch.Guitar.ID)
	photo := sh.photo(sh.larch.Guitar.ID)
	fill := strings.NewReplacer("{id}", sh.larch.Guitar.ID, "{step}", "lean", "{sheet}", "frets", "{file}", "file.svg", "{job}", "none", "{name}", copied.Name, "{photo}", photo, "{$}", "")
	for _, r := range sh.routes {
		if r.pattern == "/" {
			continue
		}
		method, pattern, _ := strings.Cut(r.pattern, " ")
		path := fill.Replace(pattern)
		guitars := strings.Contains(pattern, "/guitar/{id}") || strings.Contains(pattern, "restore/{id}")
		if strings.Contains(path, "{") {
			t.Errorf("%s: this test cannot fill in its path", r.pattern)
		}
		nobody := sh.ask("", method, path, nil)
		switch {
		case r.who == access.Anyone:
			if nobody.Code == http.StatusUnauthorized && path != "/sign-in" || nobody.Code == http.StatusForbidden {
				t.Errorf("%s, nobody: %d", r.pattern, nobody.Code)
			}
		case method == http.MethodGet:
			if nobody.Code != http.StatusSeeOther || !strings.HasPrefix(nobody.Header().Get("Location"), "/sign-in?to=") {
				t.Errorf("%s, nobody: %d to %q", r.pattern, nobody.Code, nobody.Header().Get("Location"))
			}
		default:
			if nobody.Code != http.StatusUnauthorized {
				t.Errorf("%s, nobody: %d", r.pattern, nobody.Code)
			}
		}
		if strings.Contains(nobody.Body.String(), "Larch") {
			t.Errorf("%s, nobody: reads the name of a guitar", r.pattern)
		}
		if strings.HasPrefix(pattern, "/account/out") || strings.HasPrefix(pattern, "/account/secret") {
			continue // they end the sessions this test goes on with; TestSignInAndOut tries them
		}
		other := sh.ask("bench 4", method, path, nil)
		switch {
		case r.who == access.Teacher:
			if other.Code != http.StatusForbidden {
				t.Errorf("%s, a bench: %d", r.pattern, other.Code)
			}
		case guitars:
			if other.Code != http.StatusNotFound {
				t.Errorf("%s, another bench: %d", r.pattern, other.Code)
			}
		}
		if strings.Contains(other.Body.String(), "Larch") {
			t.Errorf("%s, another bench: reads the name of a guitar of bench 3", r.pattern)
		}
		if now := sh.record(sh.larch.Guitar.ID); !reflect.DeepEqual(now, before) {
			t.Fatalf("%s: somebody who may not changed the guitar", r.pattern)
		}
	}
	// What the owner and a teacher may do, they can. What they post is empty here, so it may be refused as bad
	// input, but not for who they are.
	for _, r := range sh.routes {
		method, pattern, _ := strings.Cut(r.pattern, " ")
		if r.pattern == "/" || method != http.MethodGet || strings.Contains(pattern, "{job}") || strings.HasPrefix(pattern, "/trust") {
			continue
		}
		for _, as := range []string{"bench 3", "desk"} {
			if as != "desk" && r.who == access.Teacher {
				continue
			}
			got := sh.ask(as, method, fill.Replace(pattern), nil)
			if got.Code >= 400 && got.Code != http.StatusUnprocessableEntity {
				t.Errorf("%s, %s: %d", r.pattern, as, got.Code)
			}
		}
	}
}

func TestARouteWithoutARuleDoesNotStart(t *testing.T) {
	if (route{pattern: "GET /x"}).who.Valid() {
		t.Error("a route that says nothing has a rule")
	}
	for _, r := range (&server{}).routes() {
		if !r.who.Valid() {
			t.Errorf("%s has no rule", r.pattern)
		}
	}
}

func TestABenchSeesItsOwnGuitarsOnly(t *testing.T) {
	sh := newShared(t)
	for as, sees := range map[string]bool{"bench 3": true, "bench 4": false, "desk": true} {
		for _, path := range []string{"/", "/shop/export"} {
			if got := strings.Contains(sh.ask(as, "GET", path, nil).Body.String(), "Larch"); got != sees {
				t.Errorf("%s at %s: sees Larch: %v", as, path, got)
			}
		}
	}
	// A bench's entry is signed with its account, whatever the form or a cookie says.
	w := sh.ask("bench 3", "POST", "/guitar/"+sh.larch.Guitar.ID+"/step/lean", url.Values{"revision": {"1"}, "seen": {"0"}, "gap": {"6.4"}, "surface": {"frets"}, "graduation": {"0.1"}, "bench": {"bench 9"}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("saving: %d %s", w.Code, w.Body)
	}
	log := sh.record(sh.larch.Guitar.ID).Guitar.Log
	if len(log) != 1 || log[0].Bench != "bench 3" || log[0].Step != guitar.StepLean {
		t.Fatalf("log %+v", log)
	}
	// Given to another bench, it is that one's.
	accounts, err := sh.door.People.Accounts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range accounts {
		if a.Name == "bench 4" {
			if w := sh.ask("desk", "POST", "/guitar/"+sh.larch.Guitar.ID+"/owner", url.Values{"owner": {a.ID}}); w.Code != http.StatusSeeOther {
				t.Fatalf("giving it on: %d", w.Code)
			}
		}
	}
	if w := sh.ask("bench 3", "GET", "/guitar/"+sh.larch.Guitar.ID, nil); w.Code != http.StatusNotFound {
		t.Errorf("the bench it was taken from: %d", w.Code)
	}
	if w := sh.ask("bench 4", "GET", "/guitar/"+sh.larch.Guitar.ID, nil); w.Code != http.StatusOK {
		t.Errorf("the bench it was given to: %d", w.Code)
	}
	trail := sh.ask("desk", "GET", "/trail", nil).Body.String()
	for _, want := range []string{"gave the guitar", "signed in", "entry 1", "6.4"} {
		if !strings.Contains(trail, want) {
			t.Errorf("the trail does not say %q", want)
		}
	}
}

func TestSignInAndOut(t *testing.T) {
	sh := newShared(t)
	form := func(name, secret string) url.Values {
		return url.Values{"name": {name}, "secret": {secret}, "to": {"//elsewhere.example/x"}}
	}
	// The same answer for a wrong name and a wrong secret.
	a, b := sh.ask("", "POST", "/sign-in", form("bench 3", "9999")), sh.ask("", "POST", "/sign-in", form("bench 77", "9999"))
	strip := func(w *httptest.ResponseRecorder) string {
		return strings.ReplaceAll(strings.ReplaceAll(w.Body.String(), "bench 77", "X"), "bench 3", "X")
	}
	if a.Code != http.StatusUnauthorized || b.Code != a.Code || strip(a) != strip(b) {
		t.Errorf("a wrong PIN gives %d, a wrong name %d; same page: %v", a.Code, b.Code, strip(a) == strip(b))
	}
	// A session chosen by somebody else is worth nothing before, and is not the one after.
	r := httptest.NewRequest("POST", "/sign-in", strings.NewReader(form("bench 3", pin).Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.AddCookie(&http.Cookie{Name: "fairset_in", Value: "chosen-by-a-stranger"})
	w := httptest.NewRecorder()
	sh.handler.ServeHTTP(w, r)
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/" {
		t.Fatalf("signing in: %d to %q", w.Code, w.Header().Get("Location"))
	}
	for _, c := range w.Result().Cookies() {
		if c.Name == "fairset_in" {
			if c.Value == "chosen-by-a-stranger" || len(c.Value) < 40 || !c.HttpOnly || c.SameSite != http.SameSiteLaxMode {
				t.Errorf("cookie %+v", c)
			}
			sh.tokens["new"] = c.Value
		}
	}
	sh.tokens["stranger"] = "chosen-by-a-stranger"
	if w := sh.ask("stranger", "GET", "/account", nil); w.Code != http.StatusSeeOther {
		t.Errorf("the stranger's token: %d", w.Code)
	}
	if w := sh.ask("new", "GET", "/account", nil); w.Code != http.StatusOK {
		t.Fatalf("signed in: %d", w.Code)
	}
	// Signing out ends this one; a changed PIN ends them all.
	if w := sh.ask("new", "POST", "/account/out", nil); w.Code != http.StatusSeeOther {
		t.Errorf("signing out: %d", w.Code)
	}
	if w := sh.ask("new", "GET", "/account", nil); w.Code != http.StatusSeeOther {
		t.Errorf("after signing out: %d", w.Code)
	}
	if w := sh.ask("bench 3", "GET", "/account", nil); w.Code != http.StatusOK {
		t.Errorf("the other session: %d", w.Code)
	}
	change := func(now, secret, again string) *httptest.ResponseRecorder {
		return sh.ask("bench 3", "POST", "/account/secret", url.Values{"now": {now}, "secret": {secret}, "again": {again}})
	}
	for what, w := range map[string]*httptest.ResponseRecorder{"the old one wrong": change("0000", "7193", "7193"), "not the same twice": change(pin, "7193", "7194"), "too short": change(pin, "71", "71")} {
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", what, w.Code)
		}
	}
	if w := change(pin, "7193", "7193"); w.Code != http.StatusSeeOther {
		t.Fatalf("changing the PIN: %d", w.Code)
	}
	if w := sh.ask("bench 3", "GET", "/account", nil); w.Code != http.StatusSeeOther {
		t.Errorf("the session from before the change: %d", w.Code)
	}
	// Sessions end by themselves.
	sh.now = sh.now.Add(access.TeacherIdle - time.Minute)
	if w := sh.ask("desk", "GET", "/people", nil); w.Code != http.StatusOK {
		t.Errorf("just before: %d", w.Code)
	}
	sh.now = sh.now.Add(access.TeacherIdle + 2*time.Minute)
	if w := sh.ask("desk", "GET", "/people", nil); w.Code != http.StatusSeeOther {
		t.Errorf("left idle: %d", w.Code)
	}
}

func TestAForeignSiteCannotPost(t *testing.T) {
	sh := newShared(t)
	r := httptest.NewRequest("POST", "/guitar/"+sh.larch.Guitar.ID+"/remove", strings.NewReader("revision=1&seen=0"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	r.AddCookie(&http.Cookie{Name: "fairset_in", Value: sh.tokens["bench 3"]})
	w := httptest.NewRecorder()
	sh.handler.ServeHTTP(w, r)
	if w.Code != http.StatusForbidden {
		t.Errorf("cross-site post: %d", w.Code)
	}
	if sh.record(sh.larch.Guitar.ID).Removed {
		t.Error("another site removed a guitar")
	}
}

func TestPeoplePages(t *testing.T) {
	sh := newShared(t)
	add := url.Values{"name": {"bench 5"}, "role": {"bench"}, "secret": {"6042"}, "again": {"6042"}}
	if w := sh.ask("desk", "POST", "/people", add); w.Code != http.StatusSeeOther {
		t.Fatalf("adding: %d %s", w.Code, w.Body)
	}
	if w := sh.ask("desk", "POST", "/people", add); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("the same name again: %d", w.Code)
	}
	var id string
	all, err := sh.door.People.Accounts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range all {
		if a.Name == "bench 5" {
			id = a.ID
		}
	}
	// Locked by wrong tries, and freed by a teacher.
	for range access.LockAt {
		sh.now = sh.now.Add(time.Minute)
		sh.ask("", "POST", "/sign-in", url.Values{"name": {"bench 5"}, "secret": {"0000"}})
	}
	right := url.Values{"name": {"bench 5"}, "secret": {"6042"}}
	if w := sh.ask("", "POST", "/sign-in", right); w.Code != http.StatusForbidden {
		t.Errorf("locked, with the right PIN: %d", w.Code)
	}
	if w := sh.ask("desk", "GET", "/people", nil); !strings.Contains(w.Body.String(), "Lift the lock") {
		t.Error("the page does not say who is locked")
	}
	if w := sh.ask("desk", "POST", "/people/"+id+"/unlock", nil); w.Code != http.StatusSeeOther {
		t.Errorf("unlocking: %d", w.Code)
	}
	if w := sh.ask("", "POST", "/sign-in", right); w.Code != http.StatusSeeOther {
		t.Errorf("unlocked: %d", w.Code)
	}
	if w := sh.ask("desk", "POST", "/people/"+id+"/remove", nil); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("removing without meaning it: %d", w.Code)
	}
	if w := sh.ask("desk", "POST", "/people/"+id+"/remove", url.Values{"sure": {"yes"}}); w.Code != http.StatusSeeOther {
		t.Errorf("removing: %d", w.Code)
	}
	if trail := sh.ask("desk", "GET", "/trail", nil).Body.String(); strings.Contains(trail, "bench 5") || !strings.Contains(trail, "former bench "+id) {
		t.Error("the name is still in the trail")
	}
	if csv := sh.ask("desk", "GET", "/trail.csv", nil); csv.Code != http.StatusOK || strings.Contains(csv.Body.String(), "bench 5") {
		t.Errorf("trail.csv: %d", csv.Code)
	}
}
