package figure_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"fairset/craft/wood"
	"fairset/figure"
	"fairset/internal/reftest"
)

// strungupWith is the topic's example with fields changed; a nil value takes a field out. Dots go inward.
func strungupWith(t testing.TB, change map[string]any) string {
	t.Helper()
	ex, err := figure.Example("strungup")
	if err != nil {
		t.Fatal(err)
	}
	var in map[string]any
	if err := json.Unmarshal(ex, &in); err != nil {
		t.Fatal(err)
	}
	for path, v := range change {
		m := in
		parts := strings.Split(path, ".")
		for _, p := range parts[:len(parts)-1] {
			m = m[p].(map[string]any)
		}
		if last := parts[len(parts)-1]; v == nil {
			delete(m, last)
		} else {
			m[last] = v
		}
	}
	out, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
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
