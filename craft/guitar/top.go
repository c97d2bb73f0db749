package guitar

import (
	"errors"

	"fairset/craft/body"
	"fairset/craft/soundboard"
	"fairset/craft/wood"
	"fairset/unit"
)

// edgeVertices is how finely a body's edge is handed to the sums of the plate.
const edgeVertices = 240

// Top is a design's top as the sums of a plate take it: model and braces, in the frame of package body, edge clamped. The top and the plates are taken
// as quartersawn, braces with their rings lying across their width, so that they are radial in height. Constants are the means of each kind of wood, times the shares the design gives for this one; those that
// another wood stood in for are told as warnings.
//
// Errors are Problems naming the fields to fill or to mend.
func Top(d Values) (soundboard.Model, []soundboard.Brace, []unit.Warning, error) {
	s, warns, err := Body(d)
	if err != nil {
		return soundboard.Model{}, nil, nil, err
	}
	m, braces, more, err := topOf(d, s)
	return m, braces, append(warns, more...), err
}

// topOf is Top of a body worked out already.
func topOf(d Values, s body.Soundboard) (soundboard.Model, []soundboard.Brace, []unit.Warning, error) {
	var warns []unit.Warning
	var problems Problems
	told := map[string]bool{}
	material := func(key, field string, cut wood.Cut) soundboard.Material {
		species, ok := wood.Find(key)
		if !ok {
			if problems.For(field) == nil {
				problems = append(problems, needed(field, "what the top does under the strings cannot be worked out without it"))
			}
			return soundboard.Material{}
		}
		m, borrowed, err := wood.Board{Species: species, Cut: cut}.Material()
		if err != nil {
			if problems.For(field) == nil {
				problems = append(problems, woodProblem(d, field, err))
			}
			return soundboard.Material{}
		}
		for _, b := range borrowed {
			say := unit.Say("%s of %v is not in the tables: %v stands in for it.", b.Ratio, species.Name, b.From)
			if !told[say.English()] {
				told[say.English()] = true
				warns = append(warns, unit.Warning{Code: "borrowed_ratio", Field: field, Say: say})
			}
		}
		return soundboard.Material(m)
	}
	points := func(ps []body.Point) []soundboard.Point {
		out := make([]soundboard.Point, len(ps))
		for i, p := range ps {
			out[i] = soundboard.Point(p)
		}
		return out
	}
	share := func(key string) float64 {
		if d.Has(key) {
			return d.Ratio(key)
		}
		return 1
	}
	along, across, ofBraces := share("top_along"), share("top_across"), share("brace_stiffness")
	edge, err := s.Outline.Polygon(edgeVertices)
	if err != nil {
		return soundboard.Model{}, nil, nil, err
	}
	m := soundboard.Model{Outline: points(edge), Thickness: s.Thickness, Grain: s.Grain, Edge: soundboard.Clamped, DomeRadius: s.Dome, Material: stiffer(material(s.Wood, "top_wood", wood.Quartersawn), along, across)}
	if d.Has("top_density") {
		m.Material.Density = unit.Density(d.Ratio("top_density"))
	}
	for _, h := range s.Holes {
		m.Holes = append(m.Holes, soundboard.Hole{Centre: soundboard.Point(h.Centre), Radius: h.Radius})
	}
	for _, p := range s.Patches {
		q := soundboard.Patch{Name: p.Name, Corners: [4]soundboard.Point(points(p.Corners[:])), Thickness: p.Thickness, Grain: p.Grain, Material: material(p.Wood, "plate_wood", wood.Quartersawn)}
		if p.Side == body.Over {
			q.Side = soundboard.Over
		}
		m.Patches = append(m.Patches, q)
	}
	if b := s.Bridge; b != nil {
		m.Bridge = &soundboard.Bridge{Centre: soundboard.Point(b.Centre), Length: b.Along, Width: b.Across}
	}
	var braces []soundboard.Brace
	for _, b := range s.Braces {
		q := soundboard.Brace{Name: b.Name, From: soundboard.Point(b.From), To: soundboard.Point(b.To), Width: b.Width, Material: stiffer(material(b.Wood, braceWoodField(d, b.Wood), wood.Flatsawn), ofBraces, ofBraces)}
		for _, h := range b.Heights {
			q.Heights = append(q.Heights, soundboard.Station(h))
		}
		braces = append(braces, q)
	}
	if len(problems) > 0 {
		return soundboard.Model{}, nil, nil, problems
	}
	return m, braces, warns, nil
}

// braceWoodField is the field a brace's wood comes from: one that only the list of braces names comes from there.
func braceWoodField(d Values, key string) string {
	if key != "" && key != d.Choice("brace_wood") && key != d.Choice("top_wood") {
		return "brace_list"
	}
	return "brace_wood"
}

// woodProblem names the field a wood without figures was chosen in.
func woodProblem(d Values, field string, err error) *unit.RangeError {
	var re *unit.RangeError
	why := unit.Say("%v", err)
	if errors.As(err, &re) && !re.Why.Empty() {
		why = re.Why
	}
	return wrong(d, field, "%v", why)
}
