package api

import (
	"fmt"
	"math"
	"testing"
)

// A plain string's pull is Mersenne's law, whoever says it: 4·μ·L²·f² with μ = ρ·π·d²/4.
func TestStringsByHand(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	got := into[StringsReply](b, b.ask("GET", "/guitars/"+g.ID+"/strings", nil, 200))
	total := 0.0
	plain := 0
	for _, s := range got.Strings {
		total += s.Tension
		if s.Kind != "plain" {
			if s.Core <= 0 || s.Core >= s.Diameter {
				t.Errorf("%s: core %.3f mm of a gauge of %.3f mm", s.Name, s.Core, s.Diameter)
			}
			continue
		}
		plain++
		d, l := s.Diameter/1000, s.Scale/1000
		mu := 7850 * math.Pi * d * d / 4 // source: density of steel, 7850 kg/m³; common tables, from memory
		want := 4 * mu * l * l * s.Pitch * s.Pitch
		if math.Abs(s.Tension-want) > 0.002*want {
			t.Errorf("%s: pull %.3f N, by hand %.3f N", s.Name, s.Tension, want)
		}
	}
	if plain < 2 {
		t.Errorf("%d plain strings in a light steel set, want 2", plain)
	}
	if math.Abs(total-got.Total) > 1e-6 {
		t.Errorf("the strings pull %.6f N one by one and %.6f N together", total, got.Total)
	}
}

// What the guitar says of its intonation is what the calculation says of the same strings: the cents with the
// chosen setbacks lie between none and the string's own best.
func TestIntonationIsNoWorseThanNothing(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	got := into[IntonationReply](b, b.ask("GET", "/guitars/"+g.ID+"/intonation", nil, 200))
	if len(got.Strings) != 6 || len(got.Occasions) < 3 {
		t.Fatalf("%d strings, %d occasions", len(got.Strings), len(got.Occasions))
	}
	if got.Compensated.RMS > got.Straight.RMS+1e-9 {
		t.Errorf("a place for each string leaves %.3f cents, one line %.3f", got.Compensated.RMS, got.Straight.RMS)
	}
	for _, s := range got.Strings {
		if s.NutAndSaddle.RMS > s.SaddleOnly.RMS+1e-9 {
			t.Errorf("%s: nut and saddle leave %.4f cents, the saddle alone %.4f", s.Name, s.NutAndSaddle.RMS, s.SaddleOnly.RMS)
		}
		if len(s.Cents) != 20 {
			t.Errorf("%s: %d frets, want 20", s.Name, len(s.Cents))
		}
	}
}

// source: 648 × (1 - 2^(-n/12)), definition of equal temperament
func TestBoardByHand(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	got := into[BoardReply](b, b.ask("GET", "/guitars/"+g.ID+"/board", nil, 200))
	if len(got.Frets) != 20 || len(got.Nut) != 6 {
		t.Fatalf("%d frets, %d nut slots", len(got.Frets), len(got.Nut))
	}
	for i, f := range got.Frets {
		if want := 648 * (1 - math.Pow(2, -float64(i+1)/12)); math.Abs(f.Position-want) > 1e-6 {
			t.Errorf("fret %d lies %.6f mm from the nut, by hand %.6f", f.Fret, f.Position, want)
		}
	}
}

func TestARepairHasNoStrings(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Tern", "start": "readings", "values": m{"scale_length": 648, "saddle_distance": 291,
		"action_bass_now": 3.9, "action_treble_now": 3.4, "action_bass": 2.5, "action_treble": 2.0}}, 201))
	for _, part := range []string{"strings", "intonation", "strungup", "air", "board"} {
		b.ask("GET", fmt.Sprintf("/guitars/%s/%s", g.ID, part), nil, 404)
	}
}
