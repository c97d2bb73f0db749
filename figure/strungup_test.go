package figure_test

import (
	"encoding/json"
	"errors"
	"maps"
	"math"
	"strings"
	"testing"

	"fairset/craft/wood"
	"fairset/figure"
	"fairset/internal/reftest"
)

// strungupWith is the topic's example with fields changed.
func strungupWith(t testing.TB, change map[string]any) string {
	t.Helper()
	return text(t, exampleWith(t, "strungup", change))
}

func TestStrungUpFeedsTheNeckSet(t *testing.T) {
	for _, change := range []map[string]any{
		nil,
		{"hold_relief": true, "relief_mm": 0.15},
		{"joint_fold_deg": nil, "joint_stiffness_n_m_per_rad": 12000},
		{"gap_on_frets_mm": 0, "joint_fret": 12},
	} {
		text := strungupWith(t, change)
		r := run(t, "strungup", text)
		var in map[string]any
		if err := json.Unmarshal([]byte(text), &in); err != nil {
			t.Fatal(err)
		}
		for _, f := range []string{"string_tension_n", "neck", "spreads", "action12_sides_mm", "hold_relief", "joint_stiffness_n_m_per_rad", "gap_on_frets_mm"} {
			delete(in, f)
		}
		for k, v := range r.Result["neckset"].(map[string]any) {
			in[k] = v
		}
		body, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		n := run(t, "neckset", string(body))
		reftest.Near(t, "target", n.Result["gap_on_frets_mm"].(float64), r.Result["gap_target_mm"].(float64), 1e-7)
		read := r.Result["gap_unstrung_mm"].(float64)
		if _, given := change["gap_on_frets_mm"]; given {
			reftest.Near(t, "a gap of 0 that was read is taken", read, 0, 0)
		} else {
			reftest.Near(t, "without a reading the target is taken", read, r.Result["gap_target_mm"].(float64), 1e-9)
			// source: the wanted action, as given
			same(t, "action", r.Result["action12_mm"], map[string]any{"bass": 2.3, "treble": 1.9})
		}
	}
}

func TestStrungUpUnits(t *testing.T) {
	wood := run(t, "strungup", strungupWith(t, nil))
	// source: Wood Handbook, modulus in bending raised by a tenth: 11,330 MPa for Honduran mahogany, 13,530 for Indian rosewood
	typed := run(t, "strungup", strungupWith(t, map[string]any{"neck.wood": nil, "neck.modulus_mpa": 11330, "neck.board_wood": nil, "neck.board_modulus_mpa": 13530}))
	same(t, "modulus in MPa", typed.Result, wood.Result)
	// source: by hand: Σ of the squares of the shares is the variance
	sum := 0.0
	for _, s := range wood.Result["shares"].([]any) {
		v := s.(map[string]any)["gap_target_mm"].(float64)
		sum += v * v
	}
	sd := wood.Result["spread"].(map[string]any)["gap_target_mm"].(float64)
	reftest.Near(t, "shares and spread", sum, sd*sd, 1e-9)
	none := run(t, "strungup", strungupWith(t, map[string]any{"string_tension_n": 0}))
	if none.Result["added_relief_mm"] != 0.0 {
		t.Errorf("no pull adds %v", none.Result["added_relief_mm"])
	}
	wide := run(t, "strungup", strungupWith(t, map[string]any{"spreads": map[string]any{"neck_modulus_mpa": 4000}}))
	if wide.Result["spread"].(map[string]any)["added_relief_mm"].(float64) <= wood.Result["spread"].(map[string]any)["added_relief_mm"].(float64) {
		t.Error("a less sure modulus gives no wider spread")
	}
}

func TestStrungUpErrorsNameTheField(t *testing.T) {
	for _, c := range []struct {
		field, says string
		change      map[string]any
	}{
		{"string_tension_n", "missing", map[string]any{"string_tension_n": nil}},
		{"neck", "missing", map[string]any{"neck": nil}},
		{"neck.sections", "empty", map[string]any{"neck.sections": []any{}}},
		{"neck.sections[1].from_nut_mm", "in order", map[string]any{"neck.sections": []any{
			map[string]any{"from_nut_mm": 10, "width_mm": 44, "depth_mm": 15}, map[string]any{"from_nut_mm": 5, "width_mm": 44, "depth_mm": 15}}}},
		{"neck.sections[0].depth_mm", "too large", map[string]any{"neck.sections": []any{map[string]any{"from_nut_mm": 10, "width_mm": 44, "depth_mm": 150}}}},
		{"neck.wood", "choose", map[string]any{"neck.wood": "driftwood"}},
		{"neck.modulus_mpa", "both", map[string]any{"neck.modulus_mpa": 11000}},
		{"neck.modulus_mpa", "missing", map[string]any{"neck.wood": nil}},
		{"neck.board_modulus_mpa", "too small; give 2000 to 200000 MPa", map[string]any{"neck.board_wood": nil, "neck.board_modulus_mpa": 13}},
		{"neck.rod.bow_mm", "stiffness", map[string]any{"neck.rod": map[string]any{"stiffness_n_m2": 0, "bow_mm": 1}}},
		{"neck.channel_depth_mm", "too little", map[string]any{"neck.channel_depth_mm": 13}},
		{"joint_stiffness_n_m_per_rad", "typed too", map[string]any{"joint_stiffness_n_m_per_rad": 9000}},
		{"string_tension_n", "buckle", map[string]any{"string_tension_n": 4000, "neck.sections": []any{map[string]any{"from_nut_mm": 0, "width_mm": 20, "depth_mm": 6}}, "neck.channel_width_mm": 0, "neck.channel_depth_mm": 0, "board_thickness_mm": 3, "neck.rod": nil, "neck.fullness": 1, "neck.wood": nil, "neck.modulus_mpa": 2000, "neck.board_wood": nil, "neck.board_modulus_mpa": 2000}},
		{"spreads.luck", "no field", map[string]any{"spreads": map[string]any{"luck": 1}}},
		{"spreads.neck_depth_mm", "too small", map[string]any{"spreads": map[string]any{"neck_depth_mm": -0.1}}},
		{"spreads.joint_stiffness_n_m_per_rad", "not given", map[string]any{"spreads": map[string]any{"joint_stiffness_n_m_per_rad": 100}}},
		{"action12_sides_mm.treble", "missing", map[string]any{"action12_sides_mm": map[string]any{"bass": 2}}},
		{"saddle_projection_sides_mm.bass", "too small", map[string]any{"saddle_projection_sides_mm": map[string]any{"bass": -2, "treble": 2}}},
		{"gap_on_frets_mm", "did you mean", map[string]any{"gap_on_frets_mm": 70}},
	} {
		_, err := figure.Run("strungup", []byte(strungupWith(t, c.change)))
		var e *figure.Error
		if !errors.As(err, &e) {
			t.Errorf("%s: got %v", c.field, err)
			continue
		}
		if e.Field != c.field || !strings.Contains(e.Message, c.says) || e.Allowed == "" {
			t.Errorf("got field %q, message %q, allowed %q; want %s and %q", e.Field, e.Message, e.Allowed, c.field, c.says)
		}
	}
}

// The choices of wood are written out in the field's tag; this keeps them those of the craft.
func TestEveryWoodCanBeChosen(t *testing.T) {
	raw, err := figure.Schema("strungup")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Input struct {
			Properties struct {
				Neck struct {
					Properties map[string]struct{ Enum []string }
				}
			}
		}
	}
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, w := range wood.Stiff() {
		keys = append(keys, w.Key)
	}
	for _, f := range []string{"wood", "board_wood"} {
		if got := doc.Input.Properties.Neck.Properties[f].Enum; strings.Join(got, " ") != strings.Join(keys, " ") {
			t.Errorf("%s offers %v, the craft knows %v", f, got, keys)
		}
	}
}

// strungTop is the soundboard topic's example as the guitar's own top, with fields changed.
func strungTop(t testing.TB, change map[string]any) map[string]any {
	t.Helper()
	own := map[string]any{"load": nil, "modes": nil}
	maps.Copy(own, change)
	return exampleWith(t, "soundboard", own).(map[string]any)
}

func TestStrungUpOnItsSoundboard(t *testing.T) {
	// A flat top, so that the soundboard topic, which knows no dome, can be asked the same.
	flat := map[string]any{"top": map[string]any{"kind": "flat"}, "top_rise_mm": nil, "soundboard": strungTop(t, nil)}
	got := run(t, "strungup", strungupWith(t, flat))
	rise, turn := got.Result["top_rise_mm"].(float64), got.Result["bridge_rotation_deg"].(float64)
	spread := got.Result["spread"].(map[string]any)
	if rise == 0 || turn <= 0 || spread["top_rise_mm"].(float64) < 0.05 || spread["bridge_rotation_deg"].(float64) <= 0 || spread["bridge_rotation_deg"].(float64) >= turn {
		t.Errorf("rise %v, rotation %v, spread %v", rise, turn, spread)
	}

	// The same chain as with this rise typed.
	typed := run(t, "strungup", strungupWith(t, map[string]any{"top": map[string]any{"kind": "flat"}, "top_rise_mm": rise}))
	if _, has := typed.Result["bridge_rotation_deg"]; has {
		t.Error("a rotation without a soundboard")
	}
	for k, want := range typed.Result {
		switch w := want.(type) {
		case float64:
			reftest.Near(t, k, got.Result[k].(float64), w, 1e-9)
		case map[string]any:
			if k == "spread" {
				continue
			}
			for side, v := range w {
				reftest.Near(t, k+"."+side, got.Result[k].(map[string]any)[side].(float64), v.(float64), 1e-9)
			}
		}
	}

	// source: by hand, docs/method/soundboard.md: couple T (b + s + h/2) and pull T, rise = mean - tan θ (x_s - x_c). The body's edge lies at
	// 462 mm, the saddle D before it.
	const tension, over, thickness = 690, 8.8 + 3.1, 2.7
	board := strungTop(t, map[string]any{"load": map[string]any{"moment_n_mm": tension * (over + thickness/2), "pull_n": tension}, "modes": 0})
	body, err := json.Marshal(board)
	if err != nil {
		t.Fatal(err)
	}
	alone := run(t, "soundboard", string(body)).Result
	saddle := 462 - (641.35*math.Exp2(-14.0/12) + 2.5)
	theta := alone["bridge_rotation_deg"].(float64)
	reftest.Near(t, "rotation", turn, theta, 1e-5) // the slope is linear in the load, the angle is not quite
	reftest.Near(t, "rise", rise, alone["bridge_mean_mm"].(float64)-math.Tan(theta*math.Pi/180)*(saddle-162), 1e-6)

	// Thrice the pull: the rise grows with it, and the tilt, thrice about 1°, is told.
	hard := run(t, "strungup", strungupWith(t, map[string]any{"top": map[string]any{"kind": "flat"}, "top_rise_mm": nil, "soundboard": strungTop(t, nil), "string_tension_n": 2070}))
	reftest.Near(t, "three times the pull", hard.Result["top_rise_mm"].(float64), 3*rise, 1e-9)
	found := false
	for _, w := range hard.Warnings {
		found = found || w.Code == "bridge_tilts_far" && w.Field == "soundboard.braces"
	}
	if !found {
		t.Errorf("tilt of %v°, warnings %v", hard.Result["bridge_rotation_deg"], hard.Warnings)
	}
	for _, w := range got.Warnings {
		if strings.HasPrefix(w.Code, "bridge_tilts") || strings.HasPrefix(w.Code, "saddle_off") || w.Code == "neck_set_refuses" {
			t.Errorf("a usual top is warned of: %v", w)
		}
	}
	// A bridge a little out of place is told: its footprint ends 20 mm behind the saddle.
	aft := run(t, "strungup", strungupWith(t, map[string]any{"top_rise_mm": nil, "spreads": map[string]any{"top_rise_mm": 0.2},
		"soundboard": strungTop(t, map[string]any{"bridge": map[string]any{"centre_mm": []any{saddle - 36, 0}, "length_mm": 32, "width_mm": 120}})}))
	found = false
	for _, w := range aft.Warnings {
		found = found || w.Code == "saddle_off_bridge" && w.Field == "soundboard.bridge.centre_mm" && strings.Contains(w.Message, "20")
	}
	if !found {
		t.Errorf("a saddle off its bridge is not told: %v", aft.Warnings)
	}
	// source: as given; it takes the place of the one worked out
	reftest.Near(t, "typed spread", aft.Result["spread"].(map[string]any)["top_rise_mm"].(float64), 0.2, 0.01)
}

func TestStrungUpSoundboardErrorsNameTheField(t *testing.T) {
	wood := strungTop(t, nil)["materials"].(map[string]any)
	brace := map[string]any{"from_mm": []any{70, 130}, "to_mm": []any{335, -92}, "width_mm": 8, "heights": []any{[]any{0, 8}}, "material": "brace"}
	for _, c := range []struct {
		field, says string
		change, top map[string]any
	}{
		{"top_rise_mm", "both", map[string]any{"top_rise_mm": 0}, nil},
		{"soundboard.load", "strings of this guitar", nil, map[string]any{"load": map[string]any{"pull_n": 690}}},
		{"soundboard.modes", "soundboard topic", nil, map[string]any{"modes": 6}},
		{"soundboard.lood", "no field", nil, map[string]any{"lood": 6}},
		{"soundboard.bridge", "missing", nil, map[string]any{"bridge": nil}},
		{"soundboard.outline_mm", "missing", nil, map[string]any{"outline_mm": nil}},
		{"soundboard.thickness_mm", "soundboard.thickness_mm is 270: too large", nil, map[string]any{"thickness_mm": 270}},
		{"soundboard.thickness_mm", "missing", nil, map[string]any{"thickness_mm": nil}},
		{"soundboard.top_material", "soundboard.top_material is \"oak\": there is no such name", nil, map[string]any{"top_material": "oak"}},
		{"soundboard.braces[0].width_mm", "too large", nil, map[string]any{"braces": []any{map[string]any{"from_mm": []any{70, 130}, "to_mm": []any{335, -92}, "width_mm": 8000, "heights": []any{[]any{0, 8}}, "material": "brace"}}}},
		{"soundboard.braces[1].material", "no such name", nil, map[string]any{"braces": []any{brace, map[string]any{"from_mm": []any{70, 130}, "to_mm": []any{335, -92}, "width_mm": 8, "heights": []any{[]any{0, 8}}, "material": "oak"}}}},
		{"soundboard.materials.top.e1_mpa", "soundboard.materials.top.e1_mpa is", nil, map[string]any{"materials": map[string]any{"top": map[string]any{
			"e1_mpa": 0, "e2_mpa": 820, "e3_mpa": 460, "nu12": 0.37, "nu13": 0.45, "nu23": 0.45, "g12_mpa": 700, "g13_mpa": 650, "g23_mpa": 40, "density_kg_m3": 410}, "brace": wood["brace"], "hardwood": wood["hardwood"]}}},
		{"soundboard.bridge.centre_mm", "footprint must lie on the top", nil, map[string]any{"bridge": map[string]any{"centre_mm": []any{900, 0}, "length_mm": 32, "width_mm": 148}}},
		{"top.radius_mm", "top.radius_mm is 2000 mm", map[string]any{"top": map[string]any{"kind": "dome", "radius_mm": 2000}}, map[string]any{"outline_mm": []any{[]any{0, -1100}, []any{2200, -1100}, []any{2200, 1100}, []any{0, 1100}}}},
		{"soundboard.bridge.centre_mm", "far off this bridge", map[string]any{"scale_length_mm": 500, "saddle_setback_mm": 1}, nil},
	} {
		change := map[string]any{"top_rise_mm": nil, "soundboard": strungTop(t, c.top)}
		for k, v := range c.change {
			change[k] = v
		}
		_, err := figure.Run("strungup", []byte(strungupWith(t, change)))
		var e *figure.Error
		if !errors.As(err, &e) {
			t.Errorf("%s: got %v", c.field, err)
			continue
		}
		if e.Field != c.field || !strings.Contains(e.Message, c.says) || e.Allowed == "" {
			t.Errorf("got field %q, message %q, allowed %q; want %s and %q", e.Field, e.Message, e.Allowed, c.field, c.says)
		}
	}
}
