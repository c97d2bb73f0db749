package web_test

import (
	"net/http"
	"testing"
)

func TestClassAtAGlance(t *testing.T) {
	b := newDemo(t)
	p := b.get("/class").want(http.StatusOK, "8 guitars", "stuck", "Lapwing", "The next cut asks for", "Don't cut further", "Print what everyone needs next", "To have ready for the next lesson")
	for _, f := range p.faults() {
		t.Error(f)
	}
	b.get("/class?step=drill").want(http.StatusOK, "1 guitar", "Sandpiper", "Hardware", "Drill")
	b.get("/class?step=sign").want(http.StatusOK, "No guitar is picked")
	for path, want := range map[string]string{"/class/report": "Passes in all", "/class/learned": "What the next cut leans on", "/class/copy": "What shall they be called?", "/class/change": "Which figure of the design?"} {
		p := b.get(path).want(http.StatusOK, want)
		for _, f := range p.faults() {
			t.Errorf("%s: %s", path, f)
		}
	}
}
