package web

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/access"
)

func (sh *shared) as(name string) context.Context {
	sh.t.Helper()
	who, err := sh.door.Enter(context.Background(), sh.tokens[name], false)
	if err != nil {
		sh.t.Fatal(err)
	}
	return access.With(context.Background(), who)
}

func (sh *shared) account(name string) string {
	sh.t.Helper()
	all, err := sh.door.People.Accounts(context.Background())
	if err != nil {
		sh.t.Fatal(err)
	}
	for _, a := range all {
		if a.Name == name {
			return a.ID
		}
	}
	sh.t.Fatal("no account", name)
	return ""
}

func TestCopyADesignToAClass(t *testing.T) {
	sh := newShared(t)
	form := url.Values{"from": {sh.larch.Guitar.ID}, "names": {"Alder 1…3"}, "bench": {sh.account("bench 3"), sh.account("bench 4")}}
	if w := sh.ask("bench 3", http.MethodPost, "/class/copy", form); w.Code != http.StatusForbidden {
		t.Errorf("a bench copies to the class: %d", w.Code)
	}
	if w := sh.ask("desk", http.MethodPost, "/class/copy", form); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	for _, c := range []struct{ as, sees, not string }{{"bench 3", "Alder 1", "Alder 2"}, {"bench 4", "Alder 2", "Alder 1"}, {"desk", "Alder 3", "no such"}} {
		body := sh.ask(c.as, http.MethodGet, "/", nil).Body.String()
		if !strings.Contains(body, c.sees) || strings.Contains(body, c.not) {
			t.Errorf("%s sees the wrong guitars", c.as)
		}
	}
	before, _ := sh.shop.Guitars(sh.as("desk"))
	// Taken names, a run the wrong way, a teacher as a bench: none is made, and what was typed stays.
	for _, bad := range []url.Values{{"from": {"steel-14"}, "names": {"Elm, Alder 2"}}, {"from": {"steel-14"}, "names": {"Elm 3…1"}}, {"from": {"steel-14"}, "names": {"Elm 1…2"}, "bench": {sh.account("desk")}}} {
		w := sh.ask("desk", http.MethodPost, "/class/copy", bad)
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), bad.Get("names")) {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	if after, _ := sh.shop.Guitars(sh.as("desk")); len(after) != len(before) {
		t.Errorf("%d guitars became %d", len(before), len(after))
	}
}

func TestChangeOneFigureForMany(t *testing.T) {
	sh := newShared(t)
	desk := sh.as("desk")
	rs, err := sh.shop.CopyDesign(desk, "steel-14", "Alder 1…3", nil)
	if err != nil {
		t.Fatal(err)
	}
	// One goes its own way.
	if _, err := sh.shop.Change(desk, rs[2].Guitar.ID, 1, map[string][]string{"action_bass": {"2.9"}}, "mm", ""); err != nil {
		t.Fatal(err)
	}
	w := sh.ask("desk", http.MethodGet, "/class/change?field=action_bass&value=2.2+mm", nil)
	if body := w.Body.String(); w.Code != http.StatusOK || !strings.Contains(body, "differs from the rest") || !strings.Contains(body, "2.2 mm") {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	form := url.Values{"field": {"action_bass"}, "value": {"2.2 mm"}, "units": {"mm"}}
	for i, r := range rs {
		form.Add("on", r.Guitar.ID)
		form.Set("revision_"+r.Guitar.ID, []string{"1", "1", "1"}[i]) // the third has gone on
	}
	if w := sh.ask("bench 3", http.MethodPost, "/class/change", form); w.Code != http.StatusForbidden {
		t.Errorf("a bench changes the class: %d", w.Code)
	}
	if w := sh.ask("desk", http.MethodPost, "/class/change", form); w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), "Nothing was changed") {
		t.Errorf("a stale form: %d", w.Code)
	}
	if r := sh.record(rs[0].Guitar.ID); r.Revision != 1 {
		t.Error("one was changed of none")
	}
	form.Set("revision_"+rs[2].Guitar.ID, "2")
	form.Set("value", "900 mm")
	if w := sh.ask("desk", http.MethodPost, "/class/change", form); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a figure out of range: %d", w.Code)
	}
	form.Set("value", "2.2 mm")
	if w := sh.ask("desk", http.MethodPost, "/class/change", form); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	for _, r := range rs {
		now := sh.record(r.Guitar.ID)
		if got := now.Guitar.Design().Length("action_bass").MM(); got < 2.1999 || got > 2.2001 {
			t.Errorf("%s: %v", now.Guitar.Name, got)
		}
		if e, _ := now.Guitar.LastEntry(); e.Step != guitar.StepDesign || e.Bench != "desk" {
			t.Errorf("%+v", e)
		}
	}
}

func TestReportAsATable(t *testing.T) {
	sh := newShared(t)
	if _, err := sh.shop.CopyDesign(sh.as("desk"), "steel-14", "=SUM(A1), Birch", nil); err != nil {
		t.Fatal(err)
	}
	w := sh.ask("desk", http.MethodGet, "/class/report.csv", nil)
	rows, err := csv.NewReader(w.Body).ReadAll()
	if err != nil || w.Code != http.StatusOK || len(rows) != 4 {
		t.Fatalf("%d, %v, %v", w.Code, rows, err)
	}
	for _, r := range rows {
		if len(r) != len(rows[0]) || strings.HasPrefix(r[0], "=") {
			t.Errorf("%q", r)
		}
	}
	pdf := sh.ask("desk", http.MethodGet, "/class/report.pdf", nil)
	if !strings.HasPrefix(pdf.Body.String(), "%PDF-") || pdf.Header().Get("Content-Type") != "application/pdf" {
		t.Errorf("%d %q", pdf.Code, pdf.Header().Get("Content-Type"))
	}
	if w := sh.ask("bench 3", http.MethodGet, "/class/report.csv", nil); w.Code != http.StatusForbidden {
		t.Errorf("a bench reads the report: %d", w.Code)
	}
}

// listening is a page that is told of changes.
type listening struct {
	t     testing.TB
	lines *bufio.Scanner
	got   chan string
}

func (sh *shared) listen(server *httptest.Server, as, path, last string) (*listening, func()) {
	sh.t.Helper()
	ctx, leave := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, server.URL+path, nil)
	if err != nil {
		sh.t.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: "fairset_in", Value: sh.tokens[as]})
	if last != "" {
		r.Header.Set("Last-Event-ID", last)
	}
	w, err := server.Client().Do(r)
	if err != nil {
		sh.t.Fatal(err)
	}
	if w.StatusCode != http.StatusOK || w.Header.Get("Content-Type") != "text/event-stream" {
		sh.t.Fatalf("%s listens: %d %s", as, w.StatusCode, w.Header.Get("Content-Type"))
	}
	l := &listening{sh.t, bufio.NewScanner(w.Body), make(chan string, 100)}
	go func() {
		defer close(l.got)
		for l.lines.Scan() {
			if id, ok := strings.CutPrefix(l.lines.Text(), "id: "); ok {
				l.got <- id
			}
		}
	}()
	return l, func() { leave(); w.Body.Close() }
}

// event is the id of the next event; "" when none comes.
func (l *listening) event(wait time.Duration) string {
	select {
	case id := <-l.got:
		return id
	case <-time.After(wait):
		return ""
	}
}

func TestToldOfChanges(t *testing.T) {
	sh := newShared(t)
	server := httptest.NewServer(sh.handler)
	defer server.Close()
	desk := sh.as("desk")
	mark, err := sh.shop.ClassMark(desk)
	if err != nil {
		t.Fatal(err)
	}
	l, leave := sh.listen(server, "desk", "/class/events?since="+mark, "")
	defer leave()
	if id := l.event(300 * time.Millisecond); id != "" {
		t.Errorf("told of %q while nothing happened", id)
	}
	for _, gap := range []string{"5.0", "5.1"} { // two at once are told once or twice, the last one for sure
		r := sh.record(sh.larch.Guitar.ID)
		if _, err := sh.shop.Enter(sh.as("bench 3"), r.Guitar.ID, r.Revision, guitar.StepLean, map[string][]string{"gap": {gap}, "surface": {"frets"}, "graduation": {"0.5"}}, "mm", ""); err != nil {
			t.Fatal(err)
		}
	}
	now, err := sh.shop.ClassMark(desk)
	if err != nil || now == mark {
		t.Fatal(now, err)
	}
	for id := l.event(5 * time.Second); id != now; id = l.event(5 * time.Second) {
		if id == "" {
			t.Fatal("not told of a change")
		}
	}
	// Whoever comes back is told at once of what it missed, and of nothing when it missed nothing.
	back, leave2 := sh.listen(server, "desk", "/class/events?since="+mark, mark)
	defer leave2()
	if id := back.event(5 * time.Second); id != now {
		t.Errorf("came back and was told %q", id)
	}
	still, leave3 := sh.listen(server, "desk", "/class/events?since="+mark, now)
	defer leave3()
	if id := still.event(300 * time.Millisecond); id != "" {
		t.Errorf("came back to nothing new and was told %q", id)
	}
	if w := sh.ask("bench 3", http.MethodGet, "/class/events", nil); w.Code != http.StatusForbidden {
		t.Errorf("a bench listens to the class: %d", w.Code)
	}
}

// Nobody can take every place of those who are told of changes.
func TestStreamsAreShared(t *testing.T) {
	var s streams
	for range streamsEach {
		if !s.begin("192.0.2.1") {
			t.Fatal("turned away too soon")
		}
	}
	if s.begin("192.0.2.1") || !s.begin("192.0.2.2") {
		t.Error("one address has all the places, or shuts out another")
	}
	for n := 3; s.begin(fmt.Sprint("192.0.2.", n)); n++ {
		if n > streamsMost {
			t.Fatal("there is no end to it")
		}
	}
	if s.all != streamsMost {
		t.Errorf("%d are told", s.all)
	}
	s.end("192.0.2.2")
	if !s.begin("192.0.2.2") || len(s.by) == 0 {
		t.Error("a place that is free again is not taken")
	}
}

func BenchmarkClassPage200(b *testing.B) {
	sh := newShared(b)
	desk := sh.as("desk")
	if _, err := sh.shop.CopyDesign(desk, "steel-14", "Alder 1…200", nil); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if w := sh.ask("desk", http.MethodGet, "/class", nil); w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}
