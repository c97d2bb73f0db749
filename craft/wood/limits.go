package wood

import "fairset/unit"

func mm(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: lo / 1000, Max: hi / 1000}
}

func number(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindRatio, Min: lo, Max: hi}
}

// Wider than any guitar needs: common practice, no source. Moisture goes up to where wood stops swelling.
var limits = func() map[string]unit.Limit {
	m := map[string]unit.Limit{}
	for _, l := range []unit.Limit{
		number("temperature", "temperature in °C", -20, 60),
		number("relative_humidity", "relative humidity in %", 1, 99),
		number("emc", "moisture of the wood in %", 0, 30),
		{Field: "modulus", Label: unit.Say("modulus along the grain"), Kind: unit.KindStress, Min: 2e9, Max: 40e9},
		number("density", "density in kg/m³", 100, 1500),
		mm("width", "width", 0.1, 3000),
		number("coefficient", "change of width for 1 % of moisture, as a share", 0, 0.02),
		mm("strip_width", "strip of top to each brace", 5, 1000),
		mm("thickness", "thickness", 0.1, 200),
		mm("length", "length", 20, 3000),
		mm("span", "span", 20, 3000),
		mm("deflection", "sag under the load", 0.001, 200),
		mm("brace_width", "brace width", 1, 100),
		mm("brace_height", "brace height", 1, 100),
		number("mass", "mass in kg", 0.0001, 100),
		number("frequency", "note of the tap in Hz", 1, 20000),
		number("shear_ratio", "shear modulus over modulus along the grain", 0, 1),
		number("strain", "growth as a share", -0.1, 0.1),
		{Field: "load", Label: unit.Say("load"), Kind: unit.KindForce, Min: 0.001, Max: 2000},
		{Field: "across_modulus", Label: unit.Say("modulus across the grain"), Kind: unit.KindStress, Min: 1e7, Max: 40e9},
		{Field: "board_modulus", Label: unit.Say("modulus the readings come to"), Kind: unit.KindStress, Min: 1e7, Max: 60e9},
		number("rings", "angle of the rings to the face in degrees", 0, 90),
	} {
		m[l.Field] = l
	}
	return m
}()

// LimitOf returns the range a field is accepted in, by its key, and whether there is such a field. Lengths and
// stresses are SI, temperatures °C, moisture and humidity percent.
func LimitOf(field string) (unit.Limit, bool) {
	l, ok := limits[field]
	return l, ok
}

func need(field string, v float64) error { return limits[field].CheckOffering(v) }
