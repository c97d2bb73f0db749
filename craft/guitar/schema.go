package guitar

import (
	"encoding/json"
	"math"

	"fairset/unit"
)

// SchemaID names the schema of the guitar file. It is a name, not an address: nothing is fetched.
const SchemaID = "urn:fairset:schema:guitar-1"

// object is one JSON object of the schema.
type object = map[string]any

// Schema returns the JSON Schema (2020-12) of guitar files and shop files, made from the same tables of
// fields that Decode checks against. Rules that take more than one figure, and what was typed agreeing with
// the figure beside it, are checked by Decode alone.
func Schema() []byte {
	defs := object{"plan": planSchema(), "time": object{"type": "string", "format": "date-time"}}
	for _, s := range []Start{FromDesign, FromReadings} {
		g := Guitar{Start: s}
		var entries []any
		for _, step := range steps() {
			name := "entry_" + string(step)
			if step == StepDesign {
				name += "_" + string(s)
			}
			defs[name] = entrySchema(g, step)
			entries = append(entries, ref(name))
		}
		defs["guitar_"+string(s)] = closed(object{
			"id":      object{"type": "string", "pattern": reID.String(), "description": "Given by the shop that made the record."},
			"name":    object{"type": "string", "pattern": `\S`, "description": "1 to 80 characters."},
			"start":   object{"const": s, "description": "Whether the record began from a design, or from readings alone (a repair)."},
			"basis":   object{"type": "string", "pattern": reID.String(), "description": "Key of the starting design."},
			"created": ref("time"),
			"first":   valuesSchema(g.Fields(StepDesign), false),
			"log":     object{"type": "array", "maxItems": maxLog, "items": object{"oneOf": entries}, "description": "Everything entered since, in order; seq counts from 1."},
		}, "name", "start", "created", "first", "log")
	}
	either := object{"oneOf": []any{ref("guitar_" + string(FromDesign)), ref("guitar_" + string(FromReadings))}}
	version := object{"const": FileVersion}
	return pretty(object{
		"$schema":     "https://json-schema.org/draft/2020-12/schema",
		"$id":         SchemaID,
		"title":       "Guitar file, version 1, and shop file, version 1 or 2",
		"description": "One guitar's record, or a whole shop's. Lengths are millimetres under \"mm\", angles degrees under \"deg\", forces newtons under \"n\"; \"typed\" keeps what the maker wrote.",
		"oneOf": []any{
			closed(object{"format": object{"const": FileFormat}, "version": version, "guitar": either}, "format", "version", "guitar"),
			closed(object{"format": object{"const": ShopFormat}, "version": version, "guitars": object{"type": "array", "maxItems": maxGuitars, "items": either}}, "format", "version", "guitars"),
			closed(object{"format": object{"const": ShopFormat}, "version": object{"const": ShopVersion}, "guitars": object{"type": "array", "maxItems": maxGuitars, "items": either},
				"air_csv": object{"type": "array", "items": object{"type": "string"}, "description": "The shop's air: each a CSV table with a heading, of time (RFC 3339, UTC), place, temperature in °C and relative humidity in percent."}}, "format", "version", "guitars"),
		},
		"$defs": defs,
	})
}

// steps are every step an entry can belong to.
func steps() []Step {
	out := []Step{StepDesign}
	for _, g := range Guides() {
		if g.Step != StepDesign {
			out = append(out, g.Step)
		}
	}
	return out
}

func ref(name string) object { return object{"$ref": "#/$defs/" + name} }

// closed is an object with these members and no others.
func closed(members object, required ...string) object {
	out := object{"type": "object", "properties": members, "additionalProperties": false}
	if len(required) > 0 {
		out["required"] = required
	}
	return out
}

func entrySchema(g Guitar, s Step) object {
	members := object{
		"seq":    object{"type": "integer", "minimum": 1, "maximum": maxLog},
		"at":     ref("time"),
		"bench":  object{"type": "string", "maxLength": maxName, "description": "Who entered it."},
		"step":   object{"const": s},
		"values": valuesSchema(g.Fields(s), s == StepDesign),
		"undone": object{"type": "boolean", "description": "Taken back since; kept for the history."},
	}
	required := []string{"seq", "at", "step", "values"}
	if s == StepCut || s == StepShim {
		members["plan"] = ref("plan")
		required = append(required, "plan")
	}
	return closed(members, required...)
}

func planSchema() object {
	mm := object{"type": "number", "minimum": -maxPlan.MM(), "maximum": maxPlan.MM()}
	out := closed(object{
		"gap_change_mm":    mm,
		"offset_change_mm": mm,
		"depth_mm":         closed(object{"top_bass": mm, "top_treble": mm, "cap_bass": mm, "cap_treble": mm}, "top_bass", "top_treble", "cap_bass", "cap_treble"),
		"neck_shift_mm":    mm,
		"sd_fraction":      object{"type": "number", "minimum": 0, "maximum": maxPlanSD},
		"risk_fraction":    object{"type": "number", "minimum": 0, "maximum": 1},
		"strokes":          object{"type": "integer", "minimum": 0, "maximum": maxStrokes},
	}, "gap_change_mm", "offset_change_mm", "depth_mm", "neck_shift_mm", "sd_fraction", "risk_fraction")
	out["description"] = "What the work was meant to do: changes at the saddle, depths at the corners of the heel face."
	return out
}

// valuesSchema is an answer. A change of design gives only what changed; an optional figure may be an empty
// list there, which takes it away.
func valuesSchema(fields []Field, change bool) object {
	members := object{}
	var required []string
	for _, f := range fields {
		one := fieldSchema(f)
		switch {
		case f.Many:
			least := 1
			if change && !f.Required {
				least = 0
			}
			members[f.Field] = object{"type": "array", "minItems": least, "maxItems": f.atMost(), "items": one, "description": f.Label.In(unit.Millimetre)}
		case change && !f.Required:
			members[f.Field] = object{"oneOf": []any{one, object{"type": "array", "maxItems": 0}}, "description": f.Label.In(unit.Millimetre)}
		default:
			one["description"] = f.Label.In(unit.Millimetre)
			members[f.Field] = one
		}
		if f.Required && !change {
			required = append(required, f.Field)
		}
	}
	return closed(members, required...)
}

func fieldSchema(f Field) object {
	typed := object{"type": "string", "maxLength": maxTyped, "description": "As the maker wrote it."}
	guessed := object{"type": "boolean"}
	switch f.Kind {
	case unit.KindChoice:
		return closed(object{"typed": object{"enum": f.choiceKeys()}, "unit_guessed": guessed}, "typed")
	case unit.KindText:
		return closed(object{"typed": object{"type": "string", "maxLength": maxNote}, "unit_guessed": guessed})
	}
	key, places := unitKey(f.Kind)
	figure := object{"type": "number"}
	if f.Kind == unit.KindCount {
		figure["type"] = "integer"
	}
	edge := func(name string, v float64) {
		if math.IsInf(v, 0) {
			return
		}
		if f.Kind == unit.KindAngle {
			v = degreesOf(v)
		}
		figure[name] = json.Number(newDecimal(v, places))
	}
	edge("minimum", f.Min)
	edge("maximum", f.Max)
	if f.Flat {
		figure = object{"anyOf": []any{object{"const": 0, "description": "flat"}, figure}}
	}
	return closed(object{"typed": typed, key: figure, "unit_guessed": guessed}, key)
}
