package api

import "testing"

func TestClass(t *testing.T) {
	b := newBench(t)
	made := into[CopiesReply](b, b.ask("POST", "/class/copies", m{"from": "steel-14", "names": "Alder 1…3"}, 201))
	if len(made.Guitars) != 3 || made.Guitars[2].Name != "Alder 3" {
		t.Fatalf("%+v", made)
	}
	b.ask("POST", "/class/copies", m{"from": "steel-14", "names": "Elm, Alder 2"}, 422)
	b.ask("POST", "/class/copies", m{"from": "nothing", "names": "Elm"}, 404)
	b.ask("POST", "/class/copies", m{"from": "steel-14", "names": "Elm 9…1"}, 422)
	got := into[ClassReply](b, b.ask("GET", "/class", nil, 200))
	if got.Count != 3 || got.Stuck != 0 || len(got.Steps) != 1 || got.Steps[0].Step != "tenon" || len(got.Steps[0].Guitars) != 3 || len(got.Steps[0].Print) == 0 || len(got.Steps[0].Tools) == 0 {
		t.Errorf("%+v", got)
	}
	if got := into[ClassReply](b, b.ask("GET", "/class?step=drill", nil, 200)); got.Count != 0 || len(got.Steps) != 0 {
		t.Errorf("%+v", got)
	}
	r := into[ReportReply](b, b.ask("GET", "/class/report", nil, 200))
	if len(r.Rows) != 3 || r.Rows[0].Gap != nil || r.Rows[0].WantedBass == nil || r.Rows[0].Step != "Fit the tenon" {
		t.Errorf("%+v", r)
	}
	l := into[LearnedReply](b, b.ask("GET", "/class/learned?units=mm", nil, 200))
	if l.Guitars != 0 || len(l.Figures) == 0 || l.Figures[0].N != 0 || l.Figures[0].Guess == "" {
		t.Errorf("%+v", l)
	}
}
