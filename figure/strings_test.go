package figure_test

import (
	"encoding/json"
	"errors"
	"maps"
	"os"
	"strings"
	"testing"

	"fairset/figure"
	"fairset/internal/reftest"
)

// half is half the last printed digit of the strings' worked cases, with room for their own rounding.
const half = 0.0051

type stringCase struct {
	Name       string
	In         map[string]any
	Properties map[string]float64
	Paths      map[string]struct {
		Cents         []float64
		RMSBefore     float64 `json:"rms_before"`
		SaddleOnly    float64 `json:"saddle_only_mm"`
		SaddleOnlyRMS float64 `json:"saddle_only_rms"`
		Octave        float64 `json:"octave_mm"`
		Nut           float64 `json:"nut_mm"`
		Saddle        float64 `json:"saddle_mm"`
		RMS           float64 `json:"rms"`
	}
}

func stringCases(t *testing.T) []stringCase {
	t.Helper()
	raw, err := os.ReadFile("../craft/stringset/testdata/worked.json") // source: independent calculation, worked cases
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []stringCase }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) != 6 {
		t.Fatalf("got %d worked cases", len(file.Cases))
	}
	return file.Cases
}

func number(t *testing.T, in map[string]any, path string) float64 {
	t.Helper()
	var v any = in
	for _, p := range strings.Split(path, ".") {
		m, ok := v.(map[string]any)
		if !ok {
			t.Fatalf("%s: %v is no object", path, v)
		}
		v = m[p]
	}
	x, ok := v.(float64)
	if !ok {
		t.Fatalf("%s is %v", path, v)
	}
	return x
}

func TestIntonationWorkedCases(t *testing.T) {
	for _, c := range stringCases(t) {
		for path, want := range c.Paths {
			t.Run(c.Name+" "+path, func(t *testing.T) {
				in := maps.Clone(c.In)
				in["path"] = path
				body, err := json.Marshal(in)
				if err != nil {
					t.Fatal(err)
				}
				r := run(t, "intonation", string(body))
				cents := r.Result["cents"].([]any)
				if len(cents) != len(want.Cents) || len(r.Sources) == 0 {
					t.Fatalf("%d cents, %d sources", len(cents), len(r.Sources))
				}
				for i, w := range want.Cents {
					reftest.Near(t, "cents", cents[i].(float64), w, half)
				}
				for name, w := range map[string]float64{"rms_cents": want.RMSBefore, "saddle_only.saddle_mm": want.SaddleOnly, "saddle_only.rms_cents": want.SaddleOnlyRMS,
					"octave_saddle_mm": want.Octave, "nut_and_saddle.nut_mm": want.Nut, "nut_and_saddle.saddle_mm": want.Saddle, "nut_and_saddle.rms_cents": want.RMS,
					"tension_n": c.Properties["mersenne_n"], "tuned_tension_n": c.Properties["tuned_n"]} {
					reftest.Near(t, name, number(t, r.Result, name), w, half)
				}
				for _, part := range []string{"saddle_only", "nut_and_saddle"} {
					if n := len(r.Result[part].(map[string]any)["cents"].([]any)); n != 20 {
						t.Errorf("%s: %d cents", part, n)
					}
				}
			})
		}
	}
}

func TestStringsWorkedCases(t *testing.T) {
	total := 0.0
	var list []any
	var want []stringCase
	for _, c := range stringCases(t) {
		if c.In["scale_length_mm"] != 645.16 {
			continue
		}
		s := map[string]any{"name": c.Name}
		for _, k := range []string{"midi", "kind", "diameter_mm", "core_diameter_mm", "density_kg_m3", "wrap_density_kg_m3", "young_gpa"} {
			if v, ok := c.In[k]; ok {
				s[k] = v
			}
		}
		list, want = append(list, s), append(want, c)
		total += c.Properties["mersenne_n"]
	}
	body, err := json.Marshal(map[string]any{"scale_length_mm": "25.4 in", "a4_hz": 440, "strings": list})
	if err != nil {
		t.Fatal(err)
	}
	r := run(t, "strings", string(body))
	got := r.Result["strings"].([]any)
	if len(got) != 4 || len(want) != 4 {
		t.Fatalf("%d strings of %d", len(got), len(want))
	}
	for i, c := range want {
		s := got[i].(map[string]any)
		if s["name"] != c.Name {
			t.Errorf("name: %v", s["name"])
		}
		reftest.Near(t, c.Name+" mass", number(t, s, "mu_kg_m"), c.Properties["mu_kg_m"], 1e-6*c.Properties["mu_kg_m"])
		reftest.Near(t, c.Name+" pull", number(t, s, "tension_n"), c.Properties["mersenne_n"], half)
		reftest.Near(t, c.Name+" B", number(t, s, "inharmonicity_b"), c.Properties["b"], 5e-4*c.Properties["b"])
	}
	reftest.Near(t, "total", number(t, r.Result, "total_tension_n"), total, 4*half)
}

func TestStringsBesidesTheMake(t *testing.T) {
	const plain = `"kind": "plain", "diameter_mm": "0.012 in", "density_kg_m3": 7850, "young_gpa": 200`
	one := func(fields string) string {
		return `{"scale_length_mm": "25.4 in", "strings": [{` + fields + `}]}`
	}
	base := run(t, "strings", one(plain+`, "midi": 64`)).Result
	reftest.Near(t, "E4", number(t, base, "total_tension_n"), 103.617, 0.0006) // source: independent calculation
	// A pitch in Hz is the same as its note; zeros of a plain string's missing core are taken.
	byPitch := run(t, "strings", one(plain+`, "pitch_hz": 329.6275569, "core_diameter_mm": 0, "wrap_density_kg_m3": 0`)).Result
	reftest.Near(t, "by pitch", number(t, byPitch, "total_tension_n"), number(t, base, "total_tension_n"), 1e-6)
	// Pull goes as the square of A4. source: Mersenne's law
	low := run(t, "strings", `{"scale_length_mm": "25.4 in", "a4_hz": 432, "strings": [{`+plain+`, "midi": 64}]}`).Result
	reftest.Near(t, "A4 at 432", number(t, low, "total_tension_n"), number(t, base, "total_tension_n")*432*432/(440*440), 1e-9)
	// What the packet prints is what comes back at that length and pitch. source: the identity
	packet := run(t, "strings", one(plain+`, "pitch_hz": 330, "printed_tension_n": 99, "printed_length_mm": 645.16, "printed_pitch_hz": 330, "measured_b": 3e-5`)).Result
	reftest.Near(t, "packet", number(t, packet, "total_tension_n"), 99, 1e-9)
	reftest.Near(t, "measured B", number(t, packet["strings"].([]any)[0].(map[string]any), "inharmonicity_b"), 3e-5, 1e-15)
}

func TestIntonationDefaults(t *testing.T) {
	const short = `"midi": 40, "kind": "wound", "diameter_mm": 1.3462, "core_diameter_mm": 0.4699, "density_kg_m3": 7850, "wrap_density_kg_m3": 8800, "young_gpa": 200, "scale_length_mm": 645.16, "nut_height_mm": 0.5, "saddle_height_mm": 4.358`
	a := run(t, "intonation", `{`+short+`}`)
	b := run(t, "intonation", `{`+short+`, "a4_hz": 440, "press_mm": 0.1, "finger_mm": 0, "relief_mm": 0, "relief_end_fret": 14, "ends": "continuous", "beyond_mm": 150, "path": "full", "frets": 20, "fit_frets": 12, "weights": [2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2]}`)
	same(t, "intonation", a.Result, b.Result)
	if why, _ := a.Result["why_default"].(string); !strings.Contains(why, "150.0 mm") {
		t.Errorf("reason: %v", a.Result["why_default"])
	}
	few := run(t, "intonation", `{`+short+`, "frets": 7}`)
	reftest.Near(t, "octave past the board's end", number(t, few.Result, "octave_saddle_mm"), number(t, a.Result, "octave_saddle_mm"), 1e-9)
	if n := len(few.Result["cents"].([]any)); n != 7 {
		t.Errorf("%d cents on 7 frets", n)
	}
}

func TestStringErrorsNameTheField(t *testing.T) {
	const wound = `"kind": "wound", "diameter_mm": 1.3462, "core_diameter_mm": 0.4699, "density_kg_m3": 7850, "wrap_density_kg_m3": 8800, "young_gpa": 200`
	const board = `, "scale_length_mm": 645.16, "nut_height_mm": 0.5, "saddle_height_mm": 4.358`
	two := func(second string) string {
		return `{"scale_length_mm": 645.16, "strings": [{` + wound + `, "midi": 40}, {` + second + `}]}`
	}
	for _, c := range []struct{ topic, in, field, says string }{
		{"strings", `{"scale_length_mm": 645.16, "strings": []}`, "strings", "empty"},
		{"strings", two(wound), "strings[1].midi", "missing"},
		{"strings", two(wound + `, "midi": 45, "pitch_hz": 110`), "strings[1].pitch_hz", "one of them"},
		{"strings", two(wound + `, "midi": 300`), "strings[1].midi", "too large"},
		{"strings", two(strings.Replace(wound, "0.4699", "1.4", 1) + `, "midi": 45`), "strings[1].core_diameter_mm", "thinner"},
		{"strings", two(strings.Replace(wound, `"core_diameter_mm": 0.4699, `, "", 1) + `, "midi": 45`), "strings[1].core_diameter_mm", "too small"},
		{"strings", two(strings.Replace(wound, "wound", "plain", 1) + `, "midi": 45`), "strings[1].core_diameter_mm", "wound"},
		{"strings", two(strings.Replace(wound, "wound", "braided", 1) + `, "midi": 45`), "strings[1].kind", "choose"},
		{"strings", two(strings.Replace(wound, "200", "200000", 1) + `, "midi": 45`), "strings[1].young_gpa", "0.1 to 500"},
		{"strings", two(wound + `, "midi": 45, "printed_tension_n": 120`), "strings[1].printed_length_mm", "too small"},
		{"strings", two(wound + `, "midi": 45, "colour": 1`), "strings[1].colour", "no field"},
		{"strings", `{"scale_length_mm": -645, "strings": [{` + wound + `, "midi": 40}]}`, "scale_length_mm", "645"},
		{"intonation", `{` + wound + board + `}`, "midi", "missing"},
		{"intonation", `{` + wound + board + `, "midi": 40, "ends": "glued"}`, "ends", "clamped"},
		{"intonation", `{` + wound + board + `, "midi": 40, "frets": 14, "fit_frets": 20}`, "fit_frets", "14 frets"},
		{"intonation", `{` + wound + board + `, "midi": 40, "weights": [1, 1]}`, "weights", "12"},
		{"intonation", `{` + wound + board + `, "midi": 40, "weights": []}`, "weights", "empty"},
		{"intonation", `{` + wound + board + `, "midi": 40, "weights": [1, -1]}`, "weights[1]", "too small"},
		{"intonation", `{` + wound + board + `, "midi": 40, "press_mm": 40}`, "press_mm", "too large"},
		{"intonation", `{` + wound + board + `, "midi": 40, "relief_mm": "NaN"}`, "relief_mm", "length"},
		{"intonation", `{"kind": "plain", "diameter_mm": 4, "density_kg_m3": 22000, "young_gpa": 500, "midi": 12` + strings.Replace(board, "645.16", "200", 1) + `}`, "diameter_mm", "rod"},
	} {
		out, err := figure.Run(c.topic, []byte(c.in))
		var e *figure.Error
		if !errors.As(err, &e) {
			t.Errorf("%s %s: no error but %s", c.topic, c.in, out)
			continue
		}
		if e.Field != c.field || !strings.Contains(e.Message+e.Allowed, c.says) {
			t.Errorf("%s %s: field %q says %q (allowed %q), want field %q and %q", c.topic, c.in, e.Field, e.Message, e.Allowed, c.field, c.says)
		}
	}
}
