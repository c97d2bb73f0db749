package soundboard

import (
	_ "embed"
	"fmt"
	"strings"
	"testing"

	"fairset/unit"
)

var (
	topSpruce   = Material{E1: 11e9, E2: 0.9e9, E3: 0.48e9, Nu12: 0.37, Nu13: 0.47, Nu23: 0.44, G12: 0.72e9, G13: 0.67e9, G23: 0.036e9, Density: 430}
	braceSpruce = Material{E1: 11e9, E2: 0.48e9, E3: 0.90e9, Nu12: 0.47, Nu13: 0.37, Nu23: 0.2352, G12: 0.67e9, G13: 0.72e9, G23: 0.036e9, Density: 430}
	plateWood   = Material{E1: 12e9, E2: 1.2e9, E3: 1.2e9, Nu12: 0.40, Nu13: 0.40, Nu23: 0.50, G12: 1.0e9, G13: 1.0e9, G23: 0.30e9, Density: 700}
)

//go:embed testdata/outline.csv
var outlineCSV string

func outline(t testing.TB) []Point {
	var out []Point
	for _, l := range strings.Split(strings.TrimSpace(outlineCSV), "\n")[1:] {
		var x, y float64
		if _, err := fmt.Sscanf(l, "%g,%g", &x, &y); err != nil {
			t.Fatal(err)
		}
		out = append(out, Point{unit.Length(x), unit.Length(y)})
	}
	return out
}

func guitarTop(t testing.TB, bridgePlate bool) Model {
	m := Model{Outline: outline(t), Holes: []Hole{{Point{0.330, 0}, 0.050}}, Thickness: 2.8e-3, Material: topSpruce, Grain: [2]float64{1, 0}, Edge: Clamped,
		Bridge: &Bridge{Centre: Point{0.170, 0}, Length: 0.030, Width: 0.150}}
	if bridgePlate {
		m.Patches = []Patch{{"bridge plate", [4]Point{{0.140, -0.086}, {0.200, -0.033}, {0.200, 0.033}, {0.140, 0.086}}, 2.5e-3, Under, [2]float64{0, 1}, plateWood}}
	}
	return m
}

func guitarBraces() []Brace {
	b := func(name string, x0, y0, x1, y1 unit.Length, w, h unit.Length) Brace {
		return Brace{name, Point{x0, y0}, Point{x1, y1}, w, []Station{{0, h}}, braceSpruce}
	}
	return []Brace{
		b("X left", 0.0777924, 0.1505544, 0.3564717, -0.1003696, 8e-3, 15e-3),
		b("X right", 0.0777924, -0.1505544, 0.3564717, 0.1003696, 8e-3, 15e-3),
		b("tone bar 1", 0.128, -0.050, 0.062, 0.098, 6e-3, 11e-3),
		b("tone bar 2", 0.080, -0.060, 0.032, 0.045, 6e-3, 9e-3),
		b("upper transverse", 0.402, -0.115, 0.402, 0.115, 10e-3, 14e-3),
	}
}
