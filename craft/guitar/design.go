package guitar

import (
	"maps"
	"math"
	"slices"

	"fairset/craft/body"
	"fairset/craft/fastening"
	"fairset/craft/neckset"
	"fairset/unit"
)

// Start says how a guitar's record begins.
type Start string

// A guitar begins from a design, or, for a repair, from readings alone.
const (
	FromDesign   Start = "design"
	FromReadings Start = "readings"
)

// Basis is a starting design: figures of our own for a common kind of instrument.
type Basis struct {
	Key         string
	Name, About unit.Text
	Values      Values
}

// Bases returns the starting designs in the order they are offered. The figures are invented ordinary
// ones; common practice, no source.
func Bases() []Basis { return slices.Clone(bases) }

// FindBasis returns a starting design by its key.
func FindBasis(key string) (Basis, error) {
	var keys []string
	for _, b := range bases {
		if b.Key == key {
			return b, nil
		}
		keys = append(keys, b.Key)
	}
	return Basis{}, &unit.RangeError{Limit: unit.Limit{Field: "design", Label: unit.Say("starting design"), Kind: unit.KindChoice}, Got: key, Value: math.NaN(), Choices: keys}
}

// Every basis states only what differs from the first.
var bases = func() []Basis {
	steel := figures{
		"scale_length": 648, "joint_fret": 14, "frets": 20, "saddle_setback": 2.4, "strings": 6, "string_tension": 700,
		"board_thickness": 6.2, "fret_crown": 1.1, "neck_proud": 0, "nut_height": 0.45, "relief": 0.12, "relief_unstrung": 0,
		"joint_offset": 0, "joint_fold": 0.03, "heel_height": 92, "heel_width_top": 58, "heel_width_cap": 34, "tenon_width": 20, "tenon_length": 14, "shoulder_spare": 3,
		"arc_radius": 330, "side_thickness": 2.3, "side_limit": 0.33, "body_share": 0.5, "top_radius": 9000, "top_apex": 270, "top_rise": 0.3,
		"bridge_thickness": 8.0, "saddle_projection": 2.8, "action_bass": 2.4, "action_treble": 1.9,
		"bolt_bite": 24, "bolt_out": 6.35, "heel_gravity": 0.49,
		"gap_tolerance": 0.4, "offset_tolerance": 0.6, "risk": 0.05, "jig_run": 300,
	}
	maps.Copy(steel, figures{"neck_width_nut": 44, "neck_width_joint": 56, "nut_spread": 37, "saddle_spread": 55, "board_radius_nut": 400, "board_radius_end": 400, "neck_depth_nut": 15, "neck_depth_joint": 17, "rod_stiffness": 30,
		"rod_channel_width": 6.35, "rod_channel_depth": 9.5, "bridge_across": 152, "bridge_along": 30, "bridge_front": 10, "pins_behind": 13})
	maps.Copy(steel, figures{"body_length": 498, "lower_width": 392, "lower_at": 137, "waist_width": 252, "waist_at": 311, "upper_width": 290, "upper_at": 411, "hole_diameter": 100, "hole_from_neck": 155, "top_thickness": 2.8, "plate_thickness": 2.5})
	words := map[string][]string{"string_set": {"light"}, "saddle_kind": {SaddleStraight}, "nut_kind": {NutPlain}, "neck_wood": {"honduran-mahogany"}, "board_wood": {"indian-rosewood"}, "rod": {rodAdjustable},
		"top_wood": {"sitka-spruce"}, "brace_wood": {"sitka-spruce"}, "plate_wood": {"sugar-maple"}, "brace_pattern": {string(body.PatternX)},
		"setback_from": {FromTyped}, "tension_from": {FromTyped}, "pull_from": {FromTyped}, "hand": {"right"}, "thread": {"1/4-20 UNC"}, "drill_series": {"fractional", "metric"}, "clearance_fit": {"normal"}}
	basis := func(key string, name, about unit.Text, depths []float64, change figures, reword map[string][]string) Basis {
		f := maps.Clone(steel)
		maps.Copy(f, change)
		maps.DeleteFunc(f, func(_ string, v float64) bool { return math.IsNaN(v) })
		w := maps.Clone(words)
		maps.Copy(w, reword)
		return Basis{Key: key, Name: name, About: about, Values: f.values(depths, w)}
	}
	return []Basis{
		basis("steel-14", "Steel-string, 14 frets clear", "Six steel strings, neck meeting the body at fret 14, gently domed top.", []float64{31.75, 57.15}, nil, nil),
		basis("steel-12", "Steel-string, 12 frets clear", "A shorter neck over a longer body, wider board.", []float64{31.75, 57.15}, figures{
			"scale_length": 632, "joint_fret": 12, "frets": 19, "saddle_setback": 2.3, "string_tension": 640, "heel_width_top": 60, "bridge_thickness": 8.2, "action_bass": 2.5, "action_treble": 2.0,
			"neck_width_nut": 46, "neck_width_joint": 57, "nut_spread": 38.5, "saddle_spread": 57,
			"body_length": 512, "lower_width": 388, "lower_at": 140, "waist_width": 248, "waist_at": 318, "upper_width": 286, "upper_at": 424, "hole_from_neck": 161}, map[string][]string{"string_set": {"custom-light"}}),
		basis("nylon-12", "Nylon-string, 12 frets clear", "Lower tension, higher action, flatter lean.", []float64{30, 56}, figures{
			"scale_length": 650, "joint_fret": 12, "frets": 19, "saddle_setback": 1.4, "string_tension": 400, "board_thickness": 6.5, "nut_height": 0.6, "relief": 0.1,
			"heel_width_top": 60, "heel_width_cap": 32, "top_radius": 0, "top_rise": 0.2, "joint_fold": 0.02, "bridge_thickness": 8.5, "saddle_projection": 3.2, "action_bass": 3.8, "action_treble": 3.0, "arc_radius": 300, "side_thickness": 2.2,
			"neck_width_nut": 52, "neck_width_joint": 62, "nut_spread": 43, "saddle_spread": 58, "board_radius_nut": 0, "board_radius_end": 0, "neck_depth_nut": 15.5, "neck_depth_joint": 18, "rod_stiffness": unset, "rod_channel_width": unset, "rod_channel_depth": unset, "pluck": 1.2,
			"body_length": 490, "lower_width": 368, "lower_at": 126, "waist_width": 238, "waist_at": 300, "upper_width": 284, "upper_at": 402, "hole_diameter": 86, "hole_from_neck": 157, "top_thickness": 2.4, "plate_thickness": 2,
			"bridge_across": 188, "bridge_along": 28, "bridge_front": 8, "pins_behind": unset},
			map[string][]string{"top_wood": {"western-redcedar"}, "brace_pattern": {string(body.PatternFan)}, "thread": {"M6x1"}, "drill_series": {"metric", "fractional"}, "string_set": {"nylon-normal"}, "neck_wood": {"spanish-cedar"}, "rod": {rodNone}}),
		basis("small-four", "Ukulele size, 14 frets clear", "Four nylon strings on a short scale; everything is smaller and the tolerances follow.", []float64{16, 32}, figures{
			"scale_length": 432, "joint_fret": 14, "frets": 18, "saddle_setback": 1.6, "strings": 4, "string_tension": 190, "board_thickness": 5, "fret_crown": 0.9, "nut_height": 0.45, "relief": 0.05,
			"heel_height": 55, "heel_width_top": 40, "heel_width_cap": 24, "tenon_width": 14, "tenon_length": 9, "shoulder_spare": 2, "arc_radius": 180, "side_thickness": 1.8, "top_radius": 0, "top_apex": 150, "top_rise": 0.1, "joint_fold": 0.01,
			"bridge_thickness": 6.5, "saddle_projection": 2.4, "action_bass": 2.4, "action_treble": 2.4, "bolt_bite": 14, "bolt_out": 5, "gap_tolerance": 0.3, "jig_run": 200,
			"neck_width_nut": 36, "neck_width_joint": 44, "nut_spread": 28, "saddle_spread": 39, "board_radius_nut": 0, "board_radius_end": 0, "neck_depth_nut": 13, "neck_depth_joint": 14, "rod_stiffness": unset, "rod_channel_width": unset, "rod_channel_depth": unset,
			"body_length": 280, "lower_width": 210, "lower_at": 76, "waist_width": 134, "waist_at": 172, "upper_width": 160, "upper_at": 232, "hole_diameter": 60, "hole_from_neck": 80, "top_thickness": 1.8, "plate_thickness": 1.8, "brace_bars": 3,
			"bridge_across": 90, "bridge_along": 20, "bridge_front": 7, "pins_behind": unset},
			map[string][]string{"top_wood": {"honduran-mahogany"}, "brace_pattern": {string(body.PatternLadder)}, "thread": {"10-24 UNC"}, "string_set": {"ukulele"}, "rod": {rodNone}}),
		basis("baritone-14", "Baritone, 14 frets clear", "A long scale tuned low, for heavy strings.", []float64{31.75, 60}, figures{
			"scale_length": 705, "joint_fret": 14, "frets": 20, "saddle_setback": 3.6, "string_tension": 760, "heel_height": 96, "heel_width_top": 60, "bridge_thickness": 8.6, "saddle_projection": 3.0, "action_bass": 2.8, "action_treble": 2.2, "relief": 0.15,
			"neck_width_nut": 45, "neck_width_joint": 57, "nut_spread": 38, "saddle_spread": 56, "neck_depth_nut": 16, "neck_depth_joint": 18,
			"body_length": 510, "lower_width": 402, "lower_at": 142, "waist_width": 262, "waist_at": 318, "upper_width": 296, "upper_at": 420, "hole_diameter": 104, "hole_from_neck": 163, "top_thickness": 3}, map[string][]string{"string_set": {"baritone"}}),
	}
}()

// unset leaves out of a basis what the first one has.
var unset = math.NaN()

// figures are design figures in millimetres, degrees, newtons or as plain numbers.
type figures map[string]float64

func (f figures) values(depths []float64, words map[string][]string) Values {
	out := Values{}
	for _, field := range designFields {
		switch field.Kind {
		case unit.KindChoice:
			for _, w := range words[field.Field] {
				out[field.Field] = append(out[field.Field], Value{Text: w})
			}
		case unit.KindLength:
			if field.Field == "bolt_depths" {
				for _, d := range depths {
					out[field.Field] = append(out[field.Field], Value{SI: d / 1000})
				}
			} else if v, ok := f[field.Field]; ok {
				out[field.Field] = []Value{{SI: v / 1000}}
			}
		default:
			if v, ok := f[field.Field]; ok {
				if field.Kind == unit.KindAngle {
					v *= deg
				}
				out[field.Field] = []Value{{SI: v}}
			}
		}
	}
	return out
}

// Heel returns the heel face of a design.
func Heel(d Values) neckset.Heel {
	return neckset.Heel{Height: d.Length("heel_height"), WidthTop: d.Length("heel_width_top"), WidthCap: d.Length("heel_width_cap")}
}

// Spreads returns how sure each figure that moves the target is: as typed, else the field's usual spread.
// Bass and treble action enter as their mean, whose spread is that of two independent readings.
func Spreads(d Values) []neckset.Spread {
	sum := map[string]float64{}
	var order []string
	workedOut := pullSpreads(d)
	for _, f := range designFields {
		if f.Spread == 0 || !f.movesTarget() || (f.Flat && d.Length(f.Field) == 0) {
			continue
		}
		if f.Field == "top_apex" && d.Length("top_radius") == 0 {
			continue
		}
		sd, part := f.Spread, f.Field
		if d.Has(f.Field + spreadSuffix) {
			sd = d.Ratio(f.Field + spreadSuffix)
		} else if w, ok := workedOut[f.Field]; ok {
			sd = w
		}
		if f.Part != "" {
			part = f.Part
			sd /= 2
		}
		if _, seen := sum[part]; !seen {
			order = append(order, part)
		}
		sum[part] += sd * sd
	}
	var out []neckset.Spread
	for _, part := range order {
		out = append(out, neckset.Spread{Field: part, SD: math.Sqrt(sum[part])})
	}
	return out
}

// PartLabel names a neckset.Build input as a maker says it.
func PartLabel(part string) unit.Phrase {
	if part == "action12" {
		return unit.Say("action wanted at fret 12")
	}
	if f, ok := find(designFields, part); ok {
		return f.Label
	}
	return unit.Plain(part)
}

// repairFields are what a repair needs to know before the first reading: no design, only what is there.
var repairFields = func() []Field {
	var out []Field
	add := func(f Field) { out = append(out, f) }
	pick := func(keys ...string) {
		for _, k := range keys {
			f, ok := find(designFields, k)
			if !ok {
				panic("guitar: no design field " + k)
			}
			add(f)
		}
	}
	pick("hand", "scale_length")
	add(length("saddle_setback", "saddle setback", groupScale, -1, 10, 0, "How far the saddle lies behind the scale length; leave it at 2 mm if you cannot tell."))
	add(length("saddle_distance", "joint to saddle", groupScale, 100, 600, 0, "From the body's edge at the neck to the saddle, along the centreline.").required())
	add(length("action_bass_now", "action now, bass", groupBridge, 0.5, 12, 0, "String over fret 12 on the bass side, as the guitar stands.").required())
	add(length("action_treble_now", "action now, treble", groupBridge, 0.5, 12, 0, "String over fret 12 on the treble side, as the guitar stands.").required())
	pick("action_bass", "action_treble", "fret_crown", "heel_height", "heel_width_top", "heel_width_cap", "tenon_width", "shoulder_spare", "gap_tolerance", "offset_tolerance", "risk")
	return out
}()

// RepairFields returns the figures a repair starts from, in the order of its form.
func RepairFields() []Field { return slices.Clone(repairFields) }

// RepairStart returns ordinary figures to begin a repair form with; what must be read on the guitar is left out.
func RepairStart() Values {
	out := Values{}
	for _, f := range repairFields {
		if v, ok := bases[0].Values[f.Field]; ok {
			out[f.Field] = slices.Clone(v)
		}
	}
	out["saddle_setback"] = []Value{{SI: 2 * mm}}
	delete(out, "scale_length")
	return out
}

// CheckDesign makes the checks that take more than one figure.
func CheckDesign(d Values, start Start) error {
	var problems Problems
	problem := func(key string, why unit.Text, args ...any) {
		f, ok := find(designFields, key)
		if !ok {
			f, _ = find(repairFields, key)
		}
		var got string
		if len(d[key]) > 0 {
			got = f.Write(d[key][0], unit.Millimetre)
		}
		problems = append(problems, &unit.RangeError{Limit: f.Limit, Got: got, Why: unit.Say(why, args...)})
	}
	if d.Length("heel_width_cap") > d.Length("heel_width_top") {
		problem("heel_width_cap", "the heel cannot be wider at the cap than at the top edge")
	}
	if d.Length("tenon_width") >= d.Length("heel_width_top") {
		problem("tenon_width", "the tenon must be narrower than the heel")
	}
	if start == FromDesign {
		if d.Count("frets") < d.Count("joint_fret") {
			problem("frets", "the board must reach the joint at fret %d", d.Count("joint_fret"))
		}
		for _, z := range d.Lengths("bolt_depths") {
			if z >= d.Length("heel_height") {
				problem("bolt_depths", "a bolt must lie inside the heel, nearer the top edge than the cap")
				break
			}
		}
		problems = append(problems, checkSwitches(d)...)
		problems = append(problems, fasteningProblems(d)...)
	}
	if len(problems) > 0 {
		return problems
	}
	return nil
}

func threadChoices() []Choice {
	var out []Choice
	for _, t := range fastening.Threads() {
		out = append(out, Choice{t.Name, unit.Plain(t.Name)})
	}
	return out
}
