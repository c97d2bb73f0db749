package soundboard

import (
	"math"

	"fairset/unit"
)

// Source says where the method comes from, for a list of sources.
const Source = "orthotropic plate with transverse shear (Reissner 1945, Mindlin 1951), shear-flexible eccentric braces (Timoshenko), from memory; checked against three-dimensional solid finite elements"

// Doubts lists what makes a result doubtful.
func (m *Model) Doubts(braces []Brace, r *Result) []unit.Warning {
	var out []unit.Warning
	say := func(code, field string, p unit.Phrase) {
		out = append(out, unit.Warning{Code: code, Field: field, Say: p})
	}
	pts := make([]vec, len(m.Outline))
	for i, p := range m.Outline {
		pts[i] = vec{float64(p.X), float64(p.Y)}
	}
	lo, hi := bounds(pts)
	span := math.Min(hi.x-lo.x, hi.y-lo.y)
	if h := float64(m.Thickness); h > span/10 {
		say("thick_plate", "thickness", unit.Say("The top is thick for its size (1 to %.1f): a plate theory is rough below 1 to 10.", span/h))
	}
	// A usual design limit of the trade, from memory; it decides nothing here.
	if r.HasBridge && r.Rotation.Degrees() > 2 {
		say("bridge_tilts_far", "braces", unit.Say("The bridge tips by %.1f°; makers usually keep it below about 2°.", r.Rotation.Degrees()))
	}
	if w := math.Max(math.Abs(float64(r.Rise)), math.Abs(float64(r.Dip))); w > float64(m.Thickness)/2 {
		say("large_deflection", "load", unit.Say("The top moves by %v, more than half its thickness: it will stiffen as it stretches, and move less than this.", unit.Length(w)))
	}
	if r.Apart > 0.15 {
		say("coarse_grid", "", unit.Say("Two grids differ by %.0f %%: something here is too small, too thin or too sharp for them, and the figures are rough.", 100*r.Apart))
	}
	for i := range m.Patches {
		for j := range i {
			if p, q := m.Patches[i], m.Patches[j]; p.Side == q.Side && overlap(p.Corners, q.Corners) {
				say("patches_overlap", "patches", unit.Say("Patches %d and %d lie over each other on one side: each is reckoned as if glued to the top itself.", j, i))
			}
		}
	}
	for i := range braces {
		for _, s := range braces[i].Heights {
			if s.Height > 4*braces[i].Width {
				say("thin_brace", "braces", unit.Say("Brace %d is more than four times as tall as it is wide: it may lean over before it bends.", i))
				break
			}
		}
	}
	return out
}

func overlap(a, b [4]Point) bool {
	p, q := quad(a), quad(b)
	return math.Abs(area(clipConvex(p, q))) > 1e-8
}

// quad is a patch's corners, anticlockwise.
func quad(c [4]Point) []vec {
	q := make([]vec, 4)
	for i, p := range c {
		q[i] = vec{float64(p.X), float64(p.Y)}
	}
	if area(q) < 0 {
		q[1], q[3] = q[3], q[1]
	}
	return q
}
