package api

import (
	"math"
	"net/http"
	"testing"
)

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

// near reports whether a number of millimetres is one, to a millionth.
func near(v any, want float64) bool {
	x, ok := v.(float64)
	return ok && math.Abs(x-want) < 1e-6
}

// One figure changes on many guitars, all of them or none.
func TestChangeOneFigureOnMany(t *testing.T) {
	b := newBench(t)
	made := into[CopiesReply](b, b.ask("POST", "/class/copies", m{"from": "steel-14", "names": "Alder 1…3"}, 201)).Guitars
	at := func(revisions ...int) []m {
		var out []m
		for i, r := range revisions {
			out = append(out, m{"id": made[i].ID, "revision": r})
		}
		return out
	}
	change := func(values m, guitars []m, preview bool, status int) ChangesReply {
		t.Helper()
		raw := b.ask("POST", "/class/changes?units=mm", m{"values": values, "guitars": guitars, "bench": "bench 3", "preview": preview}, status)
		if status != http.StatusOK {
			return ChangesReply{}
		}
		return into[ChangesReply](b, raw)
	}
	got := change(m{"bridge_thickness": 8.2}, at(0, 0, 0), true, 200)
	if got.Changed != 0 || len(got.Guitars) != 3 || got.Guitars[0].Name != "Alder 1" || got.Guitars[0].Revision != 1 || got.Guitars[0].Same || !near(got.Guitars[0].Will["bridge_thickness_mm"], 8.2) {
		t.Errorf("a preview: %+v", got)
	}
	change(m{"bridge_thickness": 8.2}, at(1, 1, 2), false, 409) // one was changed meanwhile, or was never so
	if got := change(m{"bridge_thickness": "8.2 mm"}, at(1), false, 200); got.Changed != 1 {
		t.Errorf("one: %+v", got)
	}
	got = change(m{"bridge_thickness": 8.2}, at(2, 1, 1), false, 200)
	if got.Changed != 2 || !got.Guitars[0].Same || near(got.Guitars[1].Now["bridge_thickness_mm"], 8.2) {
		t.Errorf("the others: %+v", got)
	}
	for _, g := range made {
		r := into[Guitar](b, b.ask("GET", "/guitars/"+g.ID, nil, 200))
		if r.Revision != 2 {
			t.Errorf("%s stands at revision %d", g.Name, r.Revision)
		}
	}
	change(m{"bridge_thickness": "80 in"}, at(2, 2, 2), false, 422)
	change(m{"bridge_thickness": 8.2, "scale_length": 640}, at(2), false, 422)
	change(m{}, at(2), false, 422)
	change(m{"nothing": 1}, at(2), false, 422)
	change(m{"bridge_thickness": 8.3}, append(at(2), at(2)...), false, 422)
	change(m{"bridge_thickness": 8.3}, []m{{"id": "nobody", "revision": 1}}, false, 404)
}
