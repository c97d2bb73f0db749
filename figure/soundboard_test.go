package figure_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"fairset/figure"
	"fairset/internal/reftest"
)

const boardWoods = `"materials": {"top": {"e1_mpa": 11000, "e2_mpa": 900, "e3_mpa": 480, "nu12": 0.37, "nu13": 0.47, "nu23": 0.44,
	"g12_mpa": 720, "g13_mpa": 670, "g23_mpa": 36, "density_kg_m3": 430}}, "top_material": "top"`

func TestSoundboardRectangle(t *testing.T) {
	in := func(edge, load string) string {
		return `{"outline_mm": [[0, 0], [400, 0], [400, "30 cm"], [0, 300]], "thickness_mm": 2.8, "edge": "` + edge + `", ` + boardWoods + `, "load": ` + load + `, "modes": 6}`
	}
	for _, c := range []struct {
		edge, load string
		w, tol     float64
		f          []float64
	}{
		// source: Mindlin with factor 5/6, hard support, computed elsewhere; thin-plate deflection 1.116089 mm, which shear adds to
		{"simple", `{"pressure_pa": 100}`, 1.118, 2e-3, []float64{54.492, 109.406, 173.394, 207.938, 217.294, 303.031}},
		// source: three-dimensional solid finite elements
		{"simple", `{"point_n": 10, "at_mm": [200, 150]}`, 2.718, 1.5e-2, nil},
		{"clamped", `{"pressure_pa": 100}`, 0.2871, 5e-3, []float64{109.10, 172.47, 265.30, 284.12, 313.77, 406.56}},
	} {
		r := run(t, "soundboard", in(c.edge, c.load))
		reftest.Near(t, c.edge+c.load+" rise", r.Result["rise_mm"].(float64), c.w, c.tol*c.w)
		for k, xy := range r.Result["rise_at_mm"].([]any) {
			reftest.Near(t, "place", xy.(float64), []float64{200, 150}[k], 0.1)
		}
		got := r.Result["frequencies_hz"].([]any)
		if len(got) != 6 {
			t.Fatalf("%d frequencies", len(got))
		}
		for i, f := range c.f {
			reftest.Near(t, fmt.Sprintf("%s mode %d", c.edge, i+1), got[i].(float64), f, 0.007*f)
		}
		if _, ok := r.Result["bridge_rotation_deg"]; ok {
			t.Error("a rotation without a bridge")
		}
		if _, ok := r.Result["bridge_mean_mm"]; ok {
			t.Error("a mean without a bridge")
		}
		if r.Result["degrees_of_freedom"].(float64) < 500 {
			t.Error("too few unknowns to be true")
		}
	}
}

// mindlinNavier is the deflection in the middle of a simply supported plate under a pressure: Navier's double series for a plate
// that shears (factor 5/6, hard support). source: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells; Mindlin 1951; for
// each term w, φx, φy follow from three equations, worked out here for the orthotropic plate.
func mindlinNavier(q, a, b, h float64) float64 {
	const e1, e2, nu12, g12, g13, g23 = 11e9, 0.9e9, 0.37, 0.72e9, 0.67e9, 0.036e9
	d := 1 - nu12*nu12*e2/e1
	k := h * h * h / 12
	d11, d22, d12, d66 := e1/d*k, e2/d*k, nu12*e2/d*k, g12*k
	s1, s2 := 5.0/6*g13*h, 5.0/6*g23*h
	w := 0.0
	for m := 1; m < 200; m += 2 {
		for n := 1; n < 200; n += 2 {
			x, y := math.Pi*float64(m)/a, math.Pi*float64(n)/b
			// Turns out of their own two equations; what is left is the stiffness against w.
			kxx, kyy, kxy := d11*x*x+d66*y*y+s1, d66*x*x+d22*y*y+s2, (d12+d66)*x*y
			det := kxx*kyy - kxy*kxy
			fx, fy := s1*x, s2*y
			stiff := s1*x*x + s2*y*y - (fx*fx*kyy-2*fx*fy*kxy+fy*fy*kxx)/det
			sign := 1.0
			if (m+n)/2%2 == 0 {
				sign = -1
			}
			w += sign * 16 * q / (math.Pi * math.Pi * float64(m*n)) / stiff
		}
	}
	return w
}

// Under a pressure or a force at one place, rise is the largest and dip the smallest deflection anywhere, with a bridge or without, and
// the edge itself does not move.
func TestSoundboardPressureAndPoint(t *testing.T) {
	ellipse := func() string {
		var b strings.Builder
		// Of the same area as the true ellipse.
		const n = 240
		s := math.Sqrt(2 * math.Pi / n / math.Sin(2*math.Pi/n))
		for i := range n {
			y, x := math.Sincos(2 * math.Pi * float64(i) / n)
			fmt.Fprintf(&b, "[%.6f, %.6f],", 240*s*x, 190*s*y)
		}
		return "[" + strings.TrimSuffix(b.String(), ",") + "]"
	}
	const rectangle = `[[0, 0], [400, 0], [400, 300], [0, 300]]`
	bridge := `"bridge": {"centre_mm": [120, 120], "length_mm": 30, "width_mm": 100},`
	for _, c := range []struct {
		name, outline, edge, more, load string
		rise, tol                       float64 // mm
		x, y                            float64
	}{
		{"simple rectangle", rectangle, "simple", "", `{"pressure_pa": 100}`, 1000 * mindlinNavier(100, 0.4, 0.3, 2.8e-3), 3e-4, 200, 150},
		{"simple rectangle with a bridge", rectangle, "simple", bridge, `{"pressure_pa": 100}`, 1000 * mindlinNavier(100, 0.4, 0.3, 2.8e-3), 3e-4, 200, 150},
		// source: spectral Ritz, thin plate, 2.853677e-4; solid finite elements lie 0.6 % higher, which is the shear
		{"clamped rectangle", rectangle, "clamped", "", `{"pressure_pa": 100}`, 0.2853677, 1e-2, 200, 150},
		// source: spectral Ritz, thin plate, 1.1326e-3; shear under the force adds some per cent
		{"clamped rectangle, force", rectangle, "clamped", "", `{"point_n": 10, "at_mm": [200, 150]}`, 1.1326 * 1.02, 1.5e-2, 200, 150},
		// source: exact for the thin plate, q/(24 D11/a⁴ + 16(D12+2 D66)/(ab)² + 24 D22/b⁴) = 4.928878e-4; solid finite elements 4.935e-4
		{"clamped ellipse", ellipse(), "clamped", "", `{"pressure_pa": 100}`, 0.4935, 4e-3, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := func(load string) string {
				return `{"outline_mm": ` + c.outline + `, "thickness_mm": 2.8, "edge": "` + c.edge + `", ` + c.more + boardWoods + `, "load": ` + load + `, "modes": 0}`
			}
			r := run(t, "soundboard", in(c.load)).Result
			reftest.Near(t, "rise", r["rise_mm"].(float64)/c.rise, 1, c.tol)
			for k, xy := range r["rise_at_mm"].([]any) {
				reftest.Near(t, "place", xy.(float64), []float64{c.x, c.y}[k], 0.5)
			}
			reftest.Near(t, "dip", r["dip_mm"].(float64), 0, 2e-3*c.rise)
			if c.more == "" && !strings.Contains(c.load, "point") {
				return
			}
			down := run(t, "soundboard", in(strings.NewReplacer(`"pressure_pa": `, `"pressure_pa": -`, `"point_n": `, `"point_n": -`).Replace(c.load))).Result
			reftest.Near(t, "pressed down, the dip", down["dip_mm"].(float64), -r["rise_mm"].(float64), 1e-6*c.rise)
		})
	}
}

// boardWith is the topic's example with values changed.
func boardWith(t testing.TB, change map[string]any) string {
	t.Helper()
	return text(t, exampleWith(t, "soundboard", change))
}

// exampleWith is a topic's example with values changed; a nil value takes one out. Dots go inward, numbers into lists.
func exampleWith(t testing.TB, topic string, change map[string]any) any {
	t.Helper()
	ex, err := figure.Example(topic)
	if err != nil {
		t.Fatal(err)
	}
	var in any
	if err := json.Unmarshal(ex, &in); err != nil {
		t.Fatal(err)
	}
	for path, v := range change {
		at := in
		parts := strings.Split(path, ".")
		for i, p := range parts {
			last := i == len(parts)-1
			switch c := at.(type) {
			case map[string]any:
				if !last {
					at = c[p]
				} else if v == nil {
					delete(c, p)
				} else {
					c[p] = v
				}
			case []any:
				var k int
				if _, err := fmt.Sscan(p, &k); err != nil {
					t.Fatal(err)
				}
				if last {
					c[k] = v
				} else {
					at = c[k]
				}
			default:
				t.Fatalf("%s: nothing at %s", path, p)
			}
		}
	}
	return in
}

func text(t testing.TB, in any) string {
	t.Helper()
	out, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

func TestSoundboardErrorsNameTheField(t *testing.T) {
	apart := map[string]any{"e1_mpa": 1e6, "e2_mpa": 0.1, "e3_mpa": 0.1, "nu12": 0.3, "nu13": 0.3, "nu23": 0.3, "g12_mpa": 0.1, "g13_mpa": 0.1, "g23_mpa": 0.1, "density_kg_m3": 400}
	brace := map[string]any{"name": "", "from_mm": []any{70, 130}, "to_mm": []any{335, -92}, "width_mm": 8, "heights": []any{[]any{0, 6}}, "material": "brace"}
	for _, c := range []struct {
		name   string
		change map[string]any
		field  string
	}{
		{"crossed outline", map[string]any{"outline_mm": []any{[]any{0, 0}, []any{400, 300}, []any{400, 0}, []any{0, 300}}}, "outline_mm[2]"},
		{"two corners", map[string]any{"outline_mm": []any{[]any{0, 0}, []any{400, 300}}}, "outline_mm"},
		{"half a place", map[string]any{"outline_mm.3": []any{40}}, "outline_mm[3]"},
		{"a place of three", map[string]any{"outline_mm.3": []any{40, 2, 3}}, "outline_mm[3]"},
		{"a word for a place", map[string]any{"outline_mm.3": "here"}, "outline_mm[3]"},
		{"far away", map[string]any{"outline_mm.3": []any{40, 1e7}}, "outline_mm[3][1]"},
		{"hole outside", map[string]any{"holes.0.centre_mm": []any{600, 0}}, "holes[0].radius_mm"},
		{"hole of nothing", map[string]any{"holes.0.radius_mm": 0}, "holes[0].radius_mm"},
		{"no thickness", map[string]any{"thickness_mm": 0}, "thickness_mm"},
		{"thickness below nothing", map[string]any{"thickness_mm": -2.8}, "thickness_mm"},
		{"no such wood", map[string]any{"top_material": "elf"}, "top_material"},
		{"no such wood in a brace", map[string]any{"braces.1.material": "elf"}, "braces[1].material"},
		{"impossible wood", map[string]any{"materials.top.nu12": 3.9}, "materials.top.nu12"},
		{"unused and impossible", map[string]any{"materials.spare": map[string]any{"e1_mpa": 1000, "e2_mpa": 1000, "e3_mpa": 1000, "nu12": 0.8, "nu13": 0.8, "nu23": 0.8, "g12_mpa": 400, "g13_mpa": 400, "g23_mpa": 400, "density_kg_m3": 400}}, "materials.spare.nu23"},
		{"woods too far apart", map[string]any{"materials.top": apart, "materials.brace": apart, "materials.hardwood": apart}, "materials"},
		{"no modulus", map[string]any{"materials.top.e2_mpa": 0}, "materials.top.e2_mpa"},
		{"no woods", map[string]any{"materials": map[string]any{}}, "materials"},
		{"grain nowhere", map[string]any{"grain": []any{0, 0}}, "grain"},
		{"edge", map[string]any{"edge": "free"}, "edge"},
		{"brace off", map[string]any{"braces.2.to_mm": []any{55, 400}}, "braces[2].to_mm"},
		{"brace of no width", map[string]any{"braces.0.width_mm": 0}, "braces[0].width_mm"},
		{"brace of no height", map[string]any{"braces.0.heights": []any{}}, "braces[0].heights"},
		{"share beyond", map[string]any{"braces.0.heights": []any{[]any{0, 5}, []any{1.5, 5}}}, "braces[0].heights[1][0]"},
		{"heights short", map[string]any{"braces.0.heights": []any{[]any{0, 5}, []any{0.5, 5}}}, "braces[0].heights"},
		{"patch crossed", map[string]any{"patches.0.corners_mm": []any{[]any{135, -80}, []any{190, 32}, []any{190, -32}, []any{135, 80}}}, "patches[0].corners_mm"},
		{"patch off", map[string]any{"patches.0.corners_mm.0": []any{135, -800}}, "patches[0].corners_mm[0]"},
		{"three corners", map[string]any{"patches.0.corners_mm": []any{[]any{135, -80}, []any{190, 32}, []any{190, -32}}}, "patches[0].corners_mm"},
		{"side", map[string]any{"patches.0.side": "left"}, "patches[0].side"},
		{"bridge off", map[string]any{"bridge.centre_mm": []any{162, 170}}, "bridge.centre_mm"},
		{"bridge of no length", map[string]any{"bridge.length_mm": 0}, "bridge.length_mm"},
		{"no load", map[string]any{"load": map[string]any{}}, "load"},
		{"two loads", map[string]any{"load": map[string]any{"pull_n": 3, "pressure_pa": 2}}, "load"},
		{"a force nowhere", map[string]any{"load": map[string]any{"point_n": 3}}, "load.at_mm"},
		{"a force off the top", map[string]any{"load": map[string]any{"point_n": 3, "at_mm": []any{700, 0}}}, "load.at_mm"},
		{"a place for no force", map[string]any{"load": map[string]any{"pull_n": 3, "at_mm": []any{70, 0}}}, "load.at_mm"},
		{"no bridge for the moment", map[string]any{"bridge": nil}, "load.moment_n_mm"},
		{"too many modes", map[string]any{"modes": 1000}, "modes"},
		{"half a mode", map[string]any{"modes": 2.5}, "modes"},
		{"an outline of a hundred thousand", map[string]any{"outline_mm": slices.Repeat([]any{[]any{0, 0}, []any{400, 0}, []any{400, 300}, []any{0, 300}}, 25_000)}, "outline_mm"},
		{"ten thousand braces", map[string]any{"braces": slices.Repeat([]any{brace}, 10_000)}, "braces"},
		{"thinner than a hair", map[string]any{"thickness_mm": 1e-9}, "thickness_mm"},
		{"thicker than a table", map[string]any{"thickness_mm": 1e9}, "thickness_mm"},
		{"no rolling shear", map[string]any{"materials.top.g23_mpa": 0}, "materials.top.g23_mpa"},
		{"modes below nothing", map[string]any{"modes": -1}, "modes"},
		{"unknown", map[string]any{"bracing": 1}, "bracing"},
		{"unknown in a wood", map[string]any{"materials.top.colour": 1}, "materials.top.colour"},
	} {
		t.Run(c.name, func(t *testing.T) {
			out, err := figure.Run("soundboard", []byte(boardWith(t, c.change)))
			var e *figure.Error
			if !errors.As(err, &e) {
				t.Fatalf("got %s, %v", out, err)
			}
			if e.Field != c.field {
				t.Errorf("names %q, want %q: %v", e.Field, c.field, err)
			}
			if e.Message == "" || e.Allowed == "" {
				t.Errorf("message %q, allowed %q", e.Message, e.Allowed)
			}
		})
	}
}

func TestSoundboardWarns(t *testing.T) {
	r := run(t, "soundboard", boardWith(t, map[string]any{"braces": []any{}, "patches": nil, "modes": 0}))
	codes := map[string]string{}
	for _, w := range r.Warnings {
		codes[w.Code] = w.Field
	}
	// source: a usual design limit, about 2 degrees (trade lore, from memory)
	if f, ok := codes["bridge_tilts_far"]; !ok || f != "braces" || r.Result["bridge_rotation_deg"].(float64) <= 2 {
		t.Errorf("an unbraced top: %v, %+v", r.Result["bridge_rotation_deg"], r.Warnings)
	}
	if _, ok := codes["large_deflection"]; !ok {
		t.Errorf("%+v", r.Warnings)
	}
	if f := r.Result["frequencies_hz"].([]any); len(f) != 0 {
		t.Errorf("no modes were asked for: %v", f)
	}
	// Twice the load, twice the answer: the example bears no warning.
	a, b := run(t, "soundboard", boardWith(t, map[string]any{"modes": 0})), run(t, "soundboard", boardWith(t, map[string]any{"modes": 0, "load": map[string]any{"moment_n_mm": 4500, "pull_n": 345}}))
	if len(a.Warnings) != 0 {
		t.Errorf("%+v", a.Warnings)
	}
	ra, rb := a.Result["bridge_rotation_deg"].(float64), b.Result["bridge_rotation_deg"].(float64)
	reftest.Near(t, "tangent", math.Tan(ra*math.Pi/180)/math.Tan(rb*math.Pi/180), 2, 1e-4)
	if ra <= 0 || a.Result["rise_mm"].(float64) <= 0 || a.Result["dip_mm"].(float64) >= 0 {
		t.Errorf("signs: %v", a.Result)
	}
}
