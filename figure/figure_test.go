package figure_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fairset/figure"
	"fairset/internal/reftest"
)

// reply is what every answer holds.
type reply struct {
	Result   map[string]any
	Warnings []struct{ Code, Field, Message string }
	Sources  []string
}

func run(t testing.TB, topic, in string) reply {
	t.Helper()
	out, err := figure.Run(topic, []byte(in))
	if err != nil {
		t.Fatalf("%s %s: %v", topic, in, err)
	}
	var r reply
	if err := json.Unmarshal(out, &r); err != nil {
		t.Fatalf("%s: %v in %s", topic, err, out)
	}
	return r
}

// same compares every figure of want with got, going into objects and lists.
func same(t *testing.T, what string, got, want any) {
	t.Helper()
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok {
			t.Errorf("%s: got %v, want an object", what, got)
			return
		}
		for k, v := range w {
			same(t, what+"."+k, g[k], v)
		}
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			t.Errorf("%s: got %v, want %d items", what, got, len(w))
			return
		}
		for i, v := range w {
			same(t, fmt.Sprintf("%s[%d]", what, i), g[i], v)
		}
	case float64:
		g, ok := got.(float64)
		if !ok {
			t.Errorf("%s: got %v, want %v", what, got, w)
			return
		}
		reftest.Near(t, what, g, w, reftest.WorkedCase)
	default:
		if got != want {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
}

func TestWorkedCases(t *testing.T) {
	raw, err := os.ReadFile("testdata/worked.json") // source: independent calculation, worked cases
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			Topic  string
			In     json.RawMessage
			Result map[string]any
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) != 7 {
		t.Fatalf("got %d worked cases", len(file.Cases))
	}
	for i, c := range file.Cases {
		t.Run(fmt.Sprintf("%d %s", i, c.Topic), func(t *testing.T) {
			r := run(t, c.Topic, string(c.In))
			same(t, c.Topic, r.Result, c.Result)
			if len(r.Sources) == 0 {
				t.Error("no sources")
			}
		})
	}
}

func TestNextcutSaysHowManyPasses(t *testing.T) {
	r := run(t, "nextcut", `{"saddle_distance_mm": 284, "heel_height_mm": 88, "heel_width_top_mm": 58, "heel_width_cap_mm": 32, "gap_target_mm": 6.9, "gap_measured_mm": 5.2, "gap_sd_mm": 0.15, "cut_sd_fraction": 0.15, "overshoot_risk": 0.05}`)
	n, ok := r.Result["recut_expected"].(float64)
	if !ok || n < 0 || n > 20 {
		t.Errorf("recut_expected: %v", r.Result["recut_expected"])
	}
	if r.Result["verdict"] != "cut" {
		t.Errorf("verdict: %v", r.Result["verdict"])
	}
}

func TestFrets(t *testing.T) {
	r := run(t, "frets", `{"scale_length_mm": 650, "frets": 24}`)
	pos := r.Result["fret_positions_mm"].([]any)
	if len(pos) != 24 {
		t.Fatalf("got %d frets", len(pos))
	}
	reftest.Near(t, "fret 1", pos[0].(float64), 36.4817, 0.6e-4)  // source: fret table computed elsewhere, 0.0001 mm
	reftest.Near(t, "fret 7", pos[6].(float64), 216.1770, 0.6e-4) // source: as above
	reftest.Near(t, "fret 12", pos[11].(float64), 325, 1e-9)      // source: octave halves
	reftest.Near(t, "fret 24", pos[23].(float64), 487.5, 1e-9)    // source: two octaves
	dots := r.Result["dots"].([]any)
	twelve := dots[4].(map[string]any)
	if twelve["fret"] != 12.0 || twelve["count"] != 2.0 || len(dots) != 10 {
		t.Errorf("dots: %v", dots)
	}
	reftest.Near(t, "double dot", twelve["position_mm"].(float64), (305.6745+325)/2, 1e-4) // source: fret table
	if small := run(t, "frets", `{"scale_length_mm": "15 in", "frets": 12, "dot_pattern": "small"}`).Result["dots"].([]any); len(small) != 4 {
		t.Errorf("small pattern: %v", small)
	}
}

func TestDrillByStandard(t *testing.T) {
	r := run(t, "drill", `{"thread": "1/4-20 UNC", "specific_gravity": 0.47, "clearance_fit": "normal", "drill_series": ["fractional"]}`)
	same(t, "drill", r.Result, map[string]any{
		"clearance_drill": map[string]any{"name": "9/32", "diameter_mm": 7.14375},   // source: ASME B18.2.8; exact fraction
		"pilot_drill":     map[string]any{"name": "11/64", "diameter_mm": 4.365625}, // source: NDS 12.1.4.2; exact fraction
		"pilot_range_mm":  []any{2.54, 4.445},                                       // source: 40 % and 70 % of 6.35
		"float_mm":        0.396875,                                                 // source: (9/32 - 1/4)/2 in
		"ream_to_mm":      0.0, "nut_across_flats_mm": 11.1125, "wrench": "7/16 in", // source: ASME B18.2.2
	})
	if len(r.Result["sources"].([]any)) == 0 || len(r.Sources) == 0 {
		t.Error("no sources")
	}
	m := run(t, "drill", `{"thread": "M6", "specific_gravity": 0.64, "clearance_fit": "close", "drill_series": ["metric"], "hole_errors_mm": [0.1, 0.5]}`)
	same(t, "M6", m.Result, map[string]any{
		"clearance_drill": map[string]any{"name": "6.4 mm", "diameter_mm": 6.4}, // source: ISO 273 fine
		"pilot_drill":     map[string]any{"name": "5.1 mm", "diameter_mm": 5.1}, // source: NDS 85 % of 6
		"float_mm":        0.2, "ream_to_mm": 7.0, "nut_across_flats_mm": 10.0,  // source: derived 6 + 2·0.5; ISO 4032
	})
}

func TestLengthsMayCarryTheirUnit(t *testing.T) {
	number := run(t, "frets", `{"scale_length_mm": 647.7, "frets": 20}`)
	for _, text := range []string{"25 1/2 in", "25.5 in", `25 1/2\"`, "647.7 mm", "647.7", "64.77 cm", "25-1/2", "25½ in"} {
		got := run(t, "frets", `{"scale_length_mm": "`+text+`", "frets": 20}`)
		same(t, text, got.Result, number.Result)
	}
}

func TestDefaultsAreNeutral(t *testing.T) {
	short := run(t, "neckset", `{"scale_length_mm": 632, "joint_fret": 14, "board_thickness_mm": 6, "fret_crown_mm": 1.1, "bridge_thickness_mm": 8.5, "saddle_projection_mm": 3, "nut_height_mm": 0.45, "action12_mm": 2.2}`)
	long := run(t, "neckset", `{"scale_length_mm": 632, "joint_fret": 14, "saddle_setback_mm": 0, "joint_offset_mm": 0, "board_thickness_mm": 6, "fret_crown_mm": 1.1, "neck_proud_mm": 0, "relief_mm": 0, "relief_unstrung_mm": 0, "joint_fold_deg": 0, "top_rise_mm": 0, "bridge_thickness_mm": 8.5, "saddle_projection_mm": 3, "nut_height_mm": 0.45, "action12_mm": 2.2, "top": {"kind": "flat"}}`)
	same(t, "neckset", short.Result, long.Result)
	r := run(t, "setup", `{"scale_length_mm": 632, "action12_mm": {"bass": 2.8, "treble": 2.3}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}}`)
	if m, ok := r.Result["saddle_move_mm"].([]any); !ok || len(m) != 0 {
		t.Errorf("without cents there is no saddle move: %v", r.Result["saddle_move_mm"])
	}
}

func TestFlatBodyEndIsZero(t *testing.T) {
	r := run(t, "seat", `{"body_arc_radius_mm": 0, "heel_width_mm": 58, "tenon_width_mm": 20, "body_share": 0.5, "side_thickness_mm": 2.2}`)
	same(t, "seat", r.Result, map[string]any{"edge_gap_mm": 0.0, "body_removal_mm": 0.0, "heel_removal_mm": 0.0, "body_limited": false}) // source: derived, flat on flat
}

func TestErrorsNameTheField(t *testing.T) {
	const (
		frets = `{"scale_length_mm": 648, "frets": 20}`
		bolts = `"string_tension_n": 690, "string_height_at_joint_mm": 9.4, "specific_gravity": 0.47, "bolts": `
	)
	neckset := func(change string) string {
		return `{"scale_length_mm": 632, "joint_fret": 14, "board_thickness_mm": 6, "fret_crown_mm": 1.1, "bridge_thickness_mm": 8.5, "saddle_projection_mm": 3, "nut_height_mm": 0.45, "action12_mm": 2.2` + change + `}`
	}
	nextcut := `"saddle_distance_mm": 284, "heel_height_mm": 88, "heel_width_top_mm": 58, "heel_width_cap_mm": 32, "gap_target_mm": 6.9, "gap_measured_mm": 7.8`
	for _, c := range []struct{ name, topic, in, field, says string }{
		{"no such topic", "bracing", `{}`, "topic", "frets"},
		{"nothing", "frets", ``, "", "empty"},
		{"blank", "frets", " \n", "", "empty"},
		{"not JSON", "frets", `scale 648`, "", "JSON"},
		{"a list", "frets", `[]`, "", "object"},
		{"null", "frets", `null`, "", "object"},
		{"cut short", "frets", `{"scale_length_mm": 648`, "", "JSON"},
		{"cut in a value", "frets", `{"scale_length_mm": `, "scale_length_mm", "too early"},
		{"trailing", "frets", frets + `{}`, "", "follows"},
		{"trailing word", "frets", frets + ` x`, "", "follows"},
		{"trailing comma", "frets", `{"scale_length_mm": 648, "frets": 20,}`, "", "JSON"},
		{"missing", "frets", `{"frets": 20}`, "scale_length_mm", "missing"},
		{"missing second", "frets", `{"scale_length_mm": 648}`, "frets", "missing"},
		{"unknown", "frets", `{"scale_length_mm": 648, "frets": 20, "colour": 1}`, "colour", "no field"},
		{"wrong unit", "frets", `{"scale_length_in": 25.5, "frets": 20}`, "scale_length_in", "unit"},
		{"other case", "frets", `{"Scale_Length_mm": 648, "frets": 20}`, "Scale_Length_mm", "no field"},
		{"twice", "frets", `{"scale_length_mm": 648, "scale_length_mm": 650, "frets": 20}`, "scale_length_mm", "twice"},
		{"NaN", "frets", `{"scale_length_mm": NaN, "frets": 20}`, "scale_length_mm", "JSON"},
		{"Infinity", "frets", `{"scale_length_mm": Infinity, "frets": 20}`, "scale_length_mm", "JSON"},
		{"minus Infinity", "frets", `{"scale_length_mm": -Infinity, "frets": 20}`, "scale_length_mm", "JSON"},
		{"NaN as text", "frets", `{"scale_length_mm": "NaN", "frets": 20}`, "scale_length_mm", "not a length"},
		{"beyond float64", "frets", `{"scale_length_mm": 1e999, "frets": 20}`, "scale_length_mm", "finite"},
		{"negative", "frets", `{"scale_length_mm": -648, "frets": 20}`, "scale_length_mm", "too small"},
		{"zero", "frets", `{"scale_length_mm": 0, "frets": 20}`, "scale_length_mm", "too small"},
		{"absurd", "frets", `{"scale_length_mm": 6480, "frets": 20}`, "scale_length_mm", "did you mean 648 mm?"},
		{"inches as a bare number", "frets", `{"scale_length_mm": 25.5, "frets": 20}`, "scale_length_mm", "did you mean 647.7 mm?"},
		{"inches as bare text", "frets", `{"scale_length_mm": "25.5", "frets": 20}`, "scale_length_mm", "too small"},
		{"null value", "frets", `{"scale_length_mm": null, "frets": 20}`, "scale_length_mm", "null"},
		{"true for a length", "frets", `{"scale_length_mm": true, "frets": 20}`, "scale_length_mm", "number"},
		{"list for a length", "frets", `{"scale_length_mm": [648], "frets": 20}`, "scale_length_mm", "number"},
		{"object for a length", "frets", `{"scale_length_mm": {}, "frets": 20}`, "scale_length_mm", "number"},
		{"words", "frets", `{"scale_length_mm": "long", "frets": 20}`, "scale_length_mm", "not a length"},
		{"divided by nothing", "frets", `{"scale_length_mm": "25 1/0 in", "frets": 20}`, "scale_length_mm", "0 below the line"},
		{"half a fret", "frets", `{"scale_length_mm": 648, "frets": 20.5}`, "frets", "whole"},
		{"frets as text", "frets", `{"scale_length_mm": 648, "frets": "20"}`, "frets", "without quotes"},
		{"too many frets", "frets", `{"scale_length_mm": 648, "frets": 1000000}`, "frets", "too large"},
		{"frets past int64", "frets", `{"scale_length_mm": 648, "frets": 1e300}`, "frets", "too large"},
		{"no frets", "frets", `{"scale_length_mm": 648, "frets": 0}`, "frets", "too small"},
		{"no such pattern", "frets", `{"scale_length_mm": 648, "frets": 20, "dot_pattern": "stars"}`, "dot_pattern", "usual, small"},

		{"scale out of range", "neckset", strings.Replace(neckset(``), "632", "1500", 1), "scale_length_mm", "300 to 900 mm"},
		{"joint fret", "neckset", strings.Replace(neckset(``), "14", "4", 1), "joint_fret", "10 to 22"},
		{"negative board", "neckset", strings.Replace(neckset(``), `"board_thickness_mm": 6`, `"board_thickness_mm": -6`, 1), "board_thickness_mm", "too small"},
		{"angle", "neckset", neckset(`, "joint_fold_deg": 45`), "joint_fold_deg", "degrees"},
		{"angle as text", "neckset", neckset(`, "joint_fold_deg": "1 deg"`), "joint_fold_deg", "without quotes"},
		{"top as text", "neckset", neckset(`, "top": "flat"`), "top", "object"},
		{"top of no kind", "neckset", neckset(`, "top": {}`), "top.kind", "missing"},
		{"top of unknown kind", "neckset", neckset(`, "top": {"kind": "wavy"}`), "top.kind", "flat, dome"},
		{"dome without radius", "neckset", neckset(`, "top": {"kind": "dome"}`), "top.radius_mm", "missing"},
		{"dome too round", "neckset", neckset(`, "top": {"kind": "dome", "radius_mm": 50}`), "top.radius_mm", "too small"},
		{"flat with radius", "neckset", neckset(`, "top": {"kind": "flat", "radius_mm": 8000}`), "top.radius_mm", "flat"},
		{"unknown inside", "neckset", neckset(`, "top": {"kind": "flat", "colour": 1}`), "top.colour", "no field"},

		{"unit slip in a reading", "nextcut", `{` + strings.Replace(nextcut, "7.8", "78", 1) + `, "gap_sd_mm": 0.1}`, "gap_measured_mm", "did you mean 7.8 mm?"},
		{"no spread", "nextcut", `{` + nextcut + `}`, "gap_sd_mm", "missing"},
		{"negative spread", "nextcut", `{` + nextcut + `, "gap_sd_mm": -0.1}`, "gap_sd_mm", "too small"},
		{"offset without spread", "nextcut", `{` + nextcut + `, "gap_sd_mm": 0.1, "offset_measured_mm": 1}`, "offset_sd_mm", "missing"},
		{"certain risk", "nextcut", `{` + nextcut + `, "gap_sd_mm": 0.1, "overshoot_risk": 1}`, "overshoot_risk", "too large"},
		{"risk in percent", "nextcut", `{` + nextcut + `, "gap_sd_mm": 0.1, "overshoot_risk": 5}`, "overshoot_risk", "too large"},
		{"no risk at all", "nextcut", `{` + nextcut + `, "gap_sd_mm": 0.1, "overshoot_risk": 0}`, "overshoot_risk", "too small"},

		{"tenon as wide as the heel", "seat", `{"body_arc_radius_mm": 310, "heel_width_mm": 40, "tenon_width_mm": 40, "body_share": 0.5, "side_thickness_mm": 2.2}`, "tenon_width_mm", "narrower"},
		{"share over one", "seat", `{"body_arc_radius_mm": 310, "heel_width_mm": 58, "tenon_width_mm": 20, "body_share": 1.5, "side_thickness_mm": 2.2}`, "body_share", "0 to 1"},
		{"arc too round", "seat", `{"body_arc_radius_mm": 10, "heel_width_mm": 58, "tenon_width_mm": 20, "body_share": 0.5, "side_thickness_mm": 2.2}`, "body_arc_radius_mm", "or 0"},

		{"one side only", "setup", `{"scale_length_mm": 632, "action12_mm": {"bass": 2.8}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}}`, "action12_mm.treble", "missing"},
		{"action too high", "setup", `{"scale_length_mm": 632, "action12_mm": {"bass": 28, "treble": 2}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}}`, "action12_mm.bass", "did you mean 2.8 mm?"},
		{"no cents", "setup", `{"scale_length_mm": 632, "action12_mm": {"bass": 2.8, "treble": 2}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}, "cents_at_12": []}`, "cents_at_12", "empty"},
		{"cents of a fifth", "setup", `{"scale_length_mm": 632, "action12_mm": {"bass": 2.8, "treble": 2}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}, "cents_at_12": [1, 700]}`, "cents_at_12[1]", "too large"},
		{"cents as text", "setup", `{"scale_length_mm": 632, "action12_mm": {"bass": 2.8, "treble": 2}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}, "cents_at_12": ["4"]}`, "cents_at_12[0]", "without quotes"},

		{"no bolts", "joint", `{` + bolts + `[]}`, "bolts", "empty"},
		{"bolts not a list", "joint", `{` + bolts + `{}}`, "bolts", "list"},
		{"bolt without depth", "joint", `{` + bolts + `[{"diameter_mm": 6, "thread_penetration_mm": 20}]}`, "bolts[0].depth_mm", "missing"},
		{"second bolt too deep", "joint", `{` + bolts + `[{"depth_mm": 30, "diameter_mm": 6, "thread_penetration_mm": 20}, {"depth_mm": 3000, "diameter_mm": 6, "thread_penetration_mm": 20}]}`, "bolts[1].depth_mm", "too large"},
		{"bolt is a number", "joint", `{` + bolts + `[30]}`, "bolts[0]", "object"},
		{"grain as text", "joint", `{"end_grain": "yes", ` + bolts + `[]}`, "end_grain", "true or false"},
		{"nine bolts", "joint", `{` + bolts + `[` + strings.TrimSuffix(strings.Repeat(`{"depth_mm": 30, "diameter_mm": 6, "thread_penetration_mm": 20},`, 9), ",") + `]}`, "bolts", "more than 8"},

		{"no such thread", "drill", `{"thread": "M7", "specific_gravity": 0.5}`, "thread", "M6x1"},
		{"thread as number", "drill", `{"thread": 6, "specific_gravity": 0.5}`, "thread", "quotes"},
		{"size of two threads", "drill", `{"thread": "10", "specific_gravity": 0.5}`, "thread", "10-24 UNC, 10-32 UNF"},
		{"no thread", "drill", `{"specific_gravity": 0.5}`, "thread", "M6"},
		{"empty thread", "drill", `{"thread": "", "specific_gravity": 0.5}`, "thread", "chosen"},
		{"no such fit", "drill", `{"thread": "M6", "specific_gravity": 0.5, "clearance_fit": "snug"}`, "clearance_fit", "close, normal, loose"},
		{"no such series", "drill", `{"thread": "M6", "specific_gravity": 0.5, "drill_series": ["metric", "wire"]}`, "drill_series[1]", "fractional"},
		{"no series", "drill", `{"thread": "M6", "specific_gravity": 0.5, "drill_series": []}`, "drill_series", "empty"},
		{"negative miss", "drill", `{"thread": "M6", "specific_gravity": 0.5, "hole_errors_mm": [0.1, -0.1]}`, "hole_errors_mm[1]", "too small"},
		{"density", "drill", `{"thread": "M6", "specific_gravity": 490}`, "specific_gravity", "too large"},
	} {
		t.Run(c.topic+"/"+c.name, func(t *testing.T) {
			out, err := figure.Run(c.topic, []byte(c.in))
			if out != nil {
				t.Errorf("an error came with output %s", out)
			}
			var e *figure.Error
			if !errors.As(err, &e) {
				t.Fatalf("got %v", err)
			}
			if e.Field != c.field {
				t.Errorf("field %q, want %q (%v)", e.Field, c.field, e)
			}
			if !strings.Contains(e.Error(), c.says) {
				t.Errorf("message %q does not say %q", e.Error(), c.says)
			}
			if e.Allowed == "" {
				t.Errorf("nothing is said of what is allowed: %+v", e)
			}
			var body struct {
				Error struct{ Field, Message, Allowed string }
			}
			d := json.NewDecoder(bytes.NewReader(e.Body()))
			d.DisallowUnknownFields()
			if err := d.Decode(&body); err != nil || body.Error.Field != c.field || body.Error.Message == "" {
				t.Errorf("body %s: %v", e.Body(), err)
			}
		})
	}
}

func TestLargeBodiesAreRefusedUnread(t *testing.T) {
	_, err := figure.Run("frets", bytes.Repeat([]byte(" "), figure.MostBytes+1))
	var e *figure.Error
	if !errors.As(err, &e) || !strings.Contains(e.Error(), "bytes") {
		t.Errorf("got %v", err)
	}
	deep := `{"scale_length_mm": ` + strings.Repeat("[", 400000)
	if _, err := figure.Run("frets", []byte(deep)); err == nil {
		t.Error("a deep nest was accepted")
	}
	long := `{"scale_length_mm": 632, "action12_mm": {"bass": 2.8, "treble": 2}, "target_action12_mm": {"bass": 2.3, "treble": 1.8}, "cents_at_12": [` + strings.Repeat("1,", 300000) + `1]}`
	if _, err := figure.Run("setup", []byte(long)); !errors.As(err, &e) || e.Field != "cents_at_12" {
		t.Errorf("a long list: %v", err)
	}
}

// A craft warning or error that speaks of a field must speak of it by the name the input uses.
func TestWarningsNameTheInput(t *testing.T) {
	r := run(t, "seat", `{"body_arc_radius_mm": 310, "heel_width_mm": 58, "tenon_width_mm": 20, "body_share": 0.5, "side_thickness_mm": 2.2}`)
	if len(r.Warnings) == 0 || r.Warnings[0].Field != "body_share" || r.Warnings[0].Message == "" {
		t.Errorf("seat: %+v", r.Warnings)
	}
	r = run(t, "joint", `{"string_tension_n": 690, "string_height_at_joint_mm": 9.4, "specific_gravity": 0.47, "bolts": [{"depth_mm": 30, "diameter_mm": 6, "thread_penetration_mm": 24}, {"depth_mm": 60, "diameter_mm": 6, "thread_penetration_mm": 8}]}`)
	if i := slices.IndexFunc(r.Warnings, func(w struct{ Code, Field, Message string }) bool { return w.Code == "short_thread" }); i < 0 || r.Warnings[i].Field != "bolts[1].thread_penetration_mm" {
		t.Errorf("joint: %+v", r.Warnings)
	}
	for _, scale := range []string{"250", "1000"} {
		if r := run(t, "frets", `{"scale_length_mm": `+scale+`, "frets": 20}`); len(r.Warnings) != 1 || r.Warnings[0].Field != "scale_length_mm" {
			t.Errorf("frets at %s mm: %+v", scale, r.Warnings)
		}
	}
	if r := run(t, "frets", `{"scale_length_mm": 648, "frets": 20}`); r.Warnings == nil || len(r.Warnings) != 0 {
		t.Errorf("frets: warnings must be an empty list, got %v", r.Warnings)
	}
}

var unitSuffix = regexp.MustCompile(`_(mm|deg|n|n_mm|hz|kg_m3|mpa|c|percent|cents)$`)

func TestSchemasAndExamples(t *testing.T) {
	for _, name := range []string{"frets", "neckset", "nextcut", "seat", "setup", "joint", "drill", "strings", "intonation", "strungup", "emc", "movement"} {
		if !figure.Known(name) {
			t.Errorf("there is no %s", name)
		}
	}
	for _, topic := range figure.Topics() {
		t.Run(topic.Name, func(t *testing.T) {
			if topic.Summary == "" || !figure.Known(topic.Name) {
				t.Error("no summary, or not known")
			}
			raw, err := figure.Schema(topic.Name)
			if err != nil {
				t.Fatal(err)
			}
			in, out := compile(t, raw, "input"), compile(t, raw, "output")
			example, err := figure.Example(topic.Name)
			if err != nil {
				t.Fatal(err)
			}
			if err := in.Validate(parse(t, example)); err != nil {
				t.Errorf("the example breaks the input schema: %v", err)
			}
			answer, err := figure.Run(topic.Name, example)
			if err != nil {
				t.Fatalf("the example is refused: %v", err)
			}
			if err := out.Validate(parse(t, answer)); err != nil {
				t.Errorf("the answer breaks the output schema: %v", err)
			}
			if in.Validate(parse(t, []byte(`{"colour": 1}`))) == nil || out.Validate(parse(t, []byte(`{"result": {}}`))) == nil {
				t.Error("the schema takes anything")
			}
			// Every field says what it is and every number where it may lie.
			var doc struct{ Input map[string]any }
			if err := json.Unmarshal(raw, &doc); err != nil {
				t.Fatal(err)
			}
			checkFields(t, "", doc.Input)
		})
	}
	for _, f := range []func(string) ([]byte, error){figure.Schema, figure.Example} {
		if _, err := f("bracing"); err == nil {
			t.Error("an unknown topic has a schema or example")
		}
	}
}

// The schema and the decoder come from one description; this holds them to it at the edges of every range.
func TestSchemaAndDecoderAgreeOnRanges(t *testing.T) {
	edges := 0
	for _, topic := range figure.Topics() {
		raw, err := figure.Schema(topic.Name)
		if err != nil {
			t.Fatal(err)
		}
		schema := compile(t, raw, "input")
		var doc struct {
			Input struct{ Properties map[string]map[string]any }
		}
		if err := json.Unmarshal(raw, &doc); err != nil {
			t.Fatal(err)
		}
		ex, err := figure.Example(topic.Name)
		if err != nil {
			t.Fatal(err)
		}
		for name, p := range doc.Input.Properties {
			if ways, ok := p["anyOf"].([]any); ok {
				p = ways[0].(map[string]any)
			}
			lo, ok := p["minimum"].(float64)
			if !ok {
				continue
			}
			hi := p["maximum"].(float64)
			for _, c := range []struct {
				v  float64
				ok bool
			}{{lo, true}, {hi, true}, {lo - 1, false}, {hi + 1, false}} {
				edges++
				var in map[string]any
				if err := json.Unmarshal(ex, &in); err != nil {
					t.Fatal(err)
				}
				in[name] = c.v
				body, _ := json.Marshal(in)
				if got := schema.Validate(parse(t, body)) == nil; got != c.ok {
					t.Errorf("%s: the schema takes %s = %v: %v, want %v", topic.Name, name, c.v, got, c.ok)
				}
				_, err := figure.Run(topic.Name, body)
				var e *figure.Error
				refused := errors.As(err, &e) && e.Field == name && strings.Contains(e.Message, "too ")
				if refused == c.ok {
					t.Errorf("%s: %s = %v refused: %v (%v)", topic.Name, name, c.v, refused, err)
				}
			}
		}
	}
	if edges < 100 {
		t.Errorf("only %d edges were tried", edges)
	}
}

func checkFields(t *testing.T, path string, s map[string]any) {
	props, _ := s["properties"].(map[string]any)
	for name, p := range props {
		p := p.(map[string]any)
		at := path + name
		if p["description"] == nil {
			if !strings.Contains(path, "corner") {
				t.Errorf("%s: no description", at)
			}
		}
		item := p
		if it, ok := p["items"].(map[string]any); ok {
			item = it
			if p["minItems"] == nil || p["maxItems"] == nil {
				t.Errorf("%s: a list without bounds", at)
			}
		}
		if ways, ok := item["anyOf"].([]any); ok {
			item = ways[0].(map[string]any)
			if !unitSuffix.MatchString(name) && !strings.Contains(path, "_mm.") {
				t.Errorf("%s: a length whose name carries no unit", at)
			}
		}
		if k := item["type"]; (k == "number" || k == "integer") && (item["minimum"] == nil || item["maximum"] == nil) {
			t.Errorf("%s: no range", at)
		}
		checkFields(t, at+".", item)
	}
}

func parse(t *testing.T, b []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("%v in %s", err, b)
	}
	return v
}

func compile(t *testing.T, raw []byte, part string) *jsonschema.Schema {
	t.Helper()
	doc := parse(t, raw).(map[string]any)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource("mem:///"+part, doc[part]); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("mem:///" + part)
	if err != nil {
		t.Fatalf("the %s schema is not valid: %v", part, err)
	}
	return s
}

// FuzzFigure: no input makes any topic panic, and every answer or error is whole, finite JSON.
func FuzzFigure(f *testing.F) {
	names := []string{"bracing"}
	for _, t := range figure.Topics() {
		names = append(names, t.Name)
	}
	for i, n := range names {
		if ex, err := figure.Example(n); err == nil {
			f.Add(byte(i), ex)
		}
	}
	for i := range names {
		for _, s := range []string{`{}`, `[]`, `{"a":`, `{"scale_length_mm": "1/0"}`, `{"bolts": [{}]}`, "{\"\xff\": 1}", `{"top": {"kind": "dome"}}`} {
			f.Add(byte(i), []byte(s))
		}
	}
	raw, err := os.ReadFile("testdata/worked.json")
	if err != nil {
		f.Fatal(err)
	}
	var file struct {
		Cases []struct {
			Topic string
			In    json.RawMessage
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil || len(file.Cases) == 0 {
		f.Fatal("no worked cases to start from", err)
	}
	for _, c := range file.Cases {
		f.Add(byte(slices.Index(names, c.Topic)), []byte(c.In))
	}
	f.Fuzz(func(t *testing.T, which byte, in []byte) {
		topic := names[int(which)%len(names)]
		out, err := figure.Run(topic, in)
		if err != nil {
			var e *figure.Error
			if !errors.As(err, &e) || out != nil || e.Message == "" || !json.Valid(e.Body()) {
				t.Fatalf("error %v, output %s", err, out)
			}
			return
		}
		var r reply
		if err := json.Unmarshal(out, &r); err != nil {
			t.Fatalf("%v in %s", err, out)
		}
		finite(t, r.Result)
		if again, err := figure.Run(topic, in); err != nil || !bytes.Equal(again, out) {
			t.Fatal("the same input gave another answer")
		}
	})
}

func finite(t *testing.T, v any) {
	switch v := v.(type) {
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatal("not a number")
		}
	case map[string]any:
		if len(v) == 0 {
			t.Fatal("empty object")
		}
		for _, x := range v {
			finite(t, x)
		}
	case []any:
		for _, x := range v {
			finite(t, x)
		}
	case nil:
		t.Fatal("null in a result")
	}
}

func BenchmarkRun(b *testing.B) {
	for _, topic := range figure.Topics() {
		ex, err := figure.Example(topic.Name)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(topic.Name, func(b *testing.B) {
			for b.Loop() {
				if _, err := figure.Run(topic.Name, ex); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
