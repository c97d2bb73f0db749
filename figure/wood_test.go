package figure_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"fairset/craft/wood"
	"fairset/figure"
	"fairset/internal/reftest"
	"fairset/unit"
)

// source: Wood Handbook FPL-GTR-190, table 4-2, to its printed tenth
func TestEMCTopic(t *testing.T) {
	for _, c := range []struct {
		celsius, humidity string
		want              float64
	}{{"21.111111", "30", 6.2}, {"21.111111", "65", 12.0}, {"10", "40", 7.9}, {"32.222222", "80", 15.4}} {
		r := run(t, "emc", `{"temperature_c": `+c.celsius+`, "relative_humidity_percent": `+c.humidity+`}`)
		reftest.Near(t, c.celsius+" °C, "+c.humidity+" %", number(t, r.Result, "emc_percent"), c.want, 0.05)
		if len(r.Warnings) > 0 || !strings.Contains(strings.Join(r.Sources, " "), "4-5") {
			t.Errorf("%v %v", r.Warnings, r.Sources)
		}
	}
	if r := run(t, "emc", `{"temperature_c": -15, "relative_humidity_percent": 98}`); len(r.Warnings) != 2 || r.Warnings[0].Field != "temperature_c" || r.Warnings[1].Field != "relative_humidity_percent" {
		t.Errorf("%+v", r.Warnings)
	}
}

// source: by hand with Wood Handbook tables 4-2 and 13-5: 300 mm × 0.00148 × (6.2 - 8.5), to the table's tenth
func TestMovementTopic(t *testing.T) {
	r := run(t, "movement", `{"width_mm": 300, "species": "sitka-spruce", "direction": "radial",
		"from": {"temperature_c": 21.111111, "relative_humidity_percent": 45}, "to": {"temperature_c": 21.111111, "relative_humidity_percent": 30}}`)
	reftest.Near(t, "change", number(t, r.Result, "change_mm"), -300*0.00148*2.3, 300*0.00148*0.1)
	reftest.Near(t, "from", number(t, r.Result, "emc_from_percent"), 8.5, 0.05)
	reftest.Near(t, "to", number(t, r.Result, "emc_to_percent"), 6.2, 0.05)
	r = run(t, "movement", `{"width_mm": "10 in", "coefficient_per_percent": 0.002, "from": {"emc_percent": 8}, "to": {"emc_percent": 9.5}}`)
	reftest.Near(t, "by coefficient", number(t, r.Result, "change_mm"), 254*0.002*1.5, 1e-9) // source: by hand
	r = run(t, "movement", `{"width_mm": 50, "species": "sapele", "direction": "tangential", "from": {"emc_percent": 8}, "to": {"emc_percent": 4}}`)
	if len(r.Warnings) != 1 || r.Warnings[0].Field != "to" || !strings.Contains(strings.Join(r.Sources, " "), "from its shrinkage") {
		t.Errorf("%+v %v", r.Warnings, r.Sources)
	}
	r = run(t, "movement", `{"width_mm": 50, "species": "sapele", "direction": "tangential", "from": {"emc_percent": 8}, "to": {"temperature_c": 21, "relative_humidity_percent": 2}}`)
	if len(r.Warnings) == 0 || r.Warnings[0].Field != "to.relative_humidity_percent" {
		t.Errorf("%+v", r.Warnings)
	}
}

func TestWoodTopicsRefuse(t *testing.T) {
	const air = `"from": {"emc_percent": 8}, "to": {"emc_percent": 9}`
	const strip = `"width_mm": 20, "thickness_mm": 10`
	for _, c := range []struct{ topic, in, field, says string }{
		{"emc", `{"temperature_c": 61, "relative_humidity_percent": 45}`, "temperature_c", "-20 to 60 °C"},
		{"emc", `{"temperature_c": 21, "relative_humidity_percent": 0}`, "relative_humidity_percent", "1 to 99 %"},
		{"emc", `{"temperature_c": 21}`, "relative_humidity_percent", "missing"},
		{"emc", `{"temperature_c": "21", "relative_humidity_percent": 45}`, "temperature_c", "number"},
		{"movement", `{"width_mm": -3, "coefficient_per_percent": 0.002, ` + air + `}`, "width_mm", "too small"},
		{"movement", `{"width_mm": 3, ` + air + `}`, "species", "missing"},
		{"movement", `{"width_mm": 3, "species": "sapele", ` + air + `}`, "direction", "radial"},
		{"movement", `{"width_mm": 3, "species": "driftwood", "direction": "radial", ` + air + `}`, "species", "there is no wood"},
		{"movement", `{"width_mm": 3, "species": "sapele", "coefficient_per_percent": 0.002, ` + air + `}`, "coefficient_per_percent", "both"},
		{"movement", `{"width_mm": 3, "coefficient_per_percent": 0.002, "from": {}, "to": {"emc_percent": 9}}`, "from", "empty"},
		{"movement", `{"width_mm": 3, "coefficient_per_percent": 0.002, "from": {"emc_percent": 8, "temperature_c": 20}, "to": {"emc_percent": 9}}`, "from.emc_percent", "too"},
		{"movement", `{"width_mm": 3, "coefficient_per_percent": 0.002, "from": {"emc_percent": 8}, "to": {"temperature_c": 20}}`, "to.relative_humidity_percent", "missing"},
		{"movement", `{"width_mm": 3, "coefficient_per_percent": 0.002, "from": {"emc_percent": 8}, "to": {"relative_humidity_percent": 20}}`, "to.temperature_c", "missing"},
		{"movement", `{"width_mm": 3, "coefficient_per_percent": 0.002, "from": {"emc_percent": 80}, "to": {"emc_percent": 9}}`, "from.emc_percent", "0 to 30 %"},
		{"board", `{"species": "persimmon"}`, "species", "modulus"},
		{"board", `{"species": "sapele", "weighed": {"mass_kg": 99, "length_mm": 500, ` + strip + `}}`, "weighed.density", "density"},
		{"board", `{"species": "sapele", "sag": {"span_mm": 400, "load_n": 10, "deflection_mm": 0, ` + strip + `}}`, "sag.deflection_mm", "too small"},
		{"board", `{"species": "sapele", "tap": {"mass_kg": 0.04, "length_mm": 300, "frequency_hz": 15000, ` + strip + `}}`, "tap.board_modulus", "no wood"},
		{"board", `{"species": "sapele", "tap": {"mass_kg": 0.04, "mass_sd_kg": 0.03, "length_mm": 300, "frequency_hz": 300, ` + strip + `}}`, "tap.mass_sd_kg", "a third of its reading"},
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

// source: by hand: 10 N × (400 mm)³/(4 × 20 × (10 mm)³ × 1 mm) = 8000 MPa, and 1.2 (E/G)(h/L)² of it for shear;
// 0.048 kg/(0.5 × 0.02 × 0.01 m³) = 480 kg/m³
func TestBoardTopic(t *testing.T) {
	const in = `{"species": "sitka-spruce",
		"weighed": {"mass_kg": 0.048, "length_mm": 500, "width_mm": 20, "thickness_mm": 10},
		"sag": {"span_mm": 400, "load_n": 10, "deflection_mm": 1, "deflection_sd_mm": 0.02, "width_mm": 20, "thickness_mm": 10}`
	r := run(t, "board", in+`}`)
	want := 8000 * (1 + 1.2/0.061*1e2/16e4)
	reftest.Near(t, "modulus", number(t, r.Result, "sag_e_mpa"), want, 1e-6)
	reftest.Near(t, "its spread", number(t, r.Result, "e1_sd_mpa"), want*0.02, 1e-6)
	m := r.Result["material"].(map[string]any)
	reftest.Near(t, "density", m["density_kg_m3"].(float64), 480, 1e-9)
	reftest.Near(t, "E1", m["e1_mpa"].(float64), want, 1e-6)
	reftest.Near(t, "E2", m["e2_mpa"].(float64), want*0.078, 1e-6)
	r = run(t, "board", in+`, "tap": {"mass_kg": 0.048, "length_mm": 500, "width_mm": 20, "thickness_mm": 10, "frequency_hz": 250, "frequency_sd_hz": 1}}`)
	if len(r.Warnings) != 1 || r.Warnings[0].Code != "tests_disagree" || r.Warnings[0].Field != "tap.frequency_hz" {
		t.Errorf("%+v", r.Warnings)
	}
	r = run(t, "board", `{"species": "sapele", "cut": "flatsawn"}`)
	if len(r.Warnings) != 1 || r.Warnings[0].Code != "stand_in" || len(r.Result["stand_ins"].([]any)) != 8 {
		t.Errorf("%+v %v", r.Warnings, r.Result)
	}
	reftest.Near(t, "a kind's own spread", number(t, r.Result, "e1_sd_mpa"), 0.22*13750, 1e-6) // source: Wood Handbook table 5-6 (from memory)
}

func TestWoodTopicsTakeEveryWood(t *testing.T) {
	for _, w := range wood.All() {
		for _, name := range []string{w.Key, w.Name.In(unit.Millimetre), w.Botanical} {
			in := fmt.Sprintf(`{"width_mm": 400, "species": %q, "direction": "radial", "from": {"emc_percent": 8}, "to": {"emc_percent": 9}}`, name)
			if _, err := figure.Run("movement", []byte(in)); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	// One that is not there is refused with those that are.
	_, err := figure.Run("movement", []byte(`{"width_mm": 400, "species": "driftwood", "direction": "radial", "from": {"emc_percent": 8}, "to": {"emc_percent": 9}}`))
	if err == nil || !strings.Contains(err.Error(), "driftwood") {
		t.Errorf("got %v", err)
	}
}
