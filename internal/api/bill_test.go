package api

import "testing"

func TestBill(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	got := into[BillReply](b, b.ask("GET", "/guitars/"+g.ID+"/bill", nil, 200))
	if len(got.Guitars) != 1 || len(got.Items) < 8 || len(got.Parts) < 4 || len(got.Missing) == 0 || got.Total != 0 || got.Without != len(got.Items) {
		t.Errorf("%+v", got)
	}
	// source: ASME B18.2.8, normal hole for 1/4 in
	if h := got.Holes[0]; h.Drill != "9/32 in" || h.Stop != 0 || h.Count != 2 || h.Part != "body" {
		t.Errorf("%+v", h)
	}
	for _, p := range got.Parts {
		// source: 1 board foot = 2.359737216 litres, by definition
		if d := p.Litres - 2.359737216*p.BoardFeet; d > 1e-9 || d < -1e-9 {
			t.Errorf("%s: %v litres, %v board feet", p.Name, p.Litres, p.BoardFeet)
		}
	}
	r := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Tern", "start": "readings", "values": m{"scale_length": 648, "saddle_distance": 291,
		"action_bass_now": 3.9, "action_treble_now": 3.4, "action_bass": 2.5, "action_treble": 2.0}}, 201))
	if got := into[BillReply](b, b.ask("GET", "/guitars/"+r.ID+"/bill", nil, 200)); len(got.Items) != 1 || len(got.Holes) != 0 {
		t.Errorf("a repair takes %+v", got)
	}
	b.ask("GET", "/guitars/nobody/bill", nil, 404)
}
