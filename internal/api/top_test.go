package api

import (
	"math"
	"testing"
)

func TestTopOverHTTP(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "small-four"}, 201))
	got := into[TopReply](b, b.ask("GET", "/guitars/"+g.ID+"/top", nil, 200))
	if len(got.Modes) != 6 || got.Tilt <= 0 || got.Rise <= 0 || got.Dip >= 0 || got.Air == nil || len(got.Braces) == 0 || got.Used {
		t.Errorf("%+v", got)
	}
	if off := got.Stiffness*math.Tan(got.Tilt*math.Pi/180)/math.Tan(math.Pi/180) - got.Couple; math.Abs(off) > 1e-6*got.Couple {
		t.Errorf("stiffness %v and tilt %v do not make the couple %v", got.Stiffness, got.Tilt, got.Couple)
	}
	b.ask("GET", "/guitars/"+g.ID+"/top/wood", nil, 422) // no notes yet
	b.ask("GET", "/guitars/nobody/top", nil, 404)
}
