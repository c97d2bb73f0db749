// Package wood gives a maker what is known of a kind of wood, what one board measures, and what air does to
// both: how much water wood takes up, how far it moves across the grain, what that does to a domed top and
// to the string height, and when it may crack.
//
// Axes of wood: L along the grain, R across it from the pith outward (radial), T across it along the rings
// (tangential). A quartersawn board carries R across its width, a flatsawn one T. Moisture and humidity are
// in percent, as the trade says them; temperature is in degrees Celsius; everything else is SI.
//
// Figures of a kind of wood are means of clear, straight-grained wood: a single board differs, see Spread.
// A figure that no table gives is missing here too, and never made up; where something must be had, the
// figure of a named other wood stands in and is said to.
//
// Derivations, sources and checks: docs/method/wood.md.
package wood

import (
	"embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"fairset/unit"
)

//go:embed data/species.csv
var data embed.FS

// Percent is moisture in percent of the dry mass, or relative humidity in percent.
type Percent float64

// Use is what a wood is often used for on a guitar: common practice, no source.
type Use string

// The uses.
const (
	TopWood   Use = "top"
	BackWood  Use = "back"
	BraceWood Use = "brace"
	PlateWood Use = "plate" // bridge plate
	NeckWood  Use = "neck"
	BoardWood Use = "board" // fretboard
)

// Direction is a direction across the grain.
type Direction string

// The two directions across the grain.
const (
	Radial     Direction = "radial"
	Tangential Direction = "tangential"
)

// Ratios are stiffnesses over that along the grain, and contractions along the second letter under stress
// along the first. A ratio of 0 is missing.
type Ratios struct {
	ET, ER, GLR, GLT, GRT float64 // over EL
	LR, LT, RT            float64 // Poisson
}

// Shrinkage is how much wood shrinks from green to ovendry, as a share of its green size; 0 is missing.
type Shrinkage struct{ Radial, Tangential, Volume float64 }

// Species is one kind of wood. A figure of 0 is missing.
type Species struct {
	Key       string
	Name      unit.Text
	Botanical string
	Softwood  bool
	Uses      []Use

	GravityGreen, Gravity12, GravityDry float64 // specific gravity: dry mass over volume when green, at 12 %, ovendry
	Gravity12Basis                      string
	Density                             unit.Density // at 12 % moisture
	Bending                             unit.Stress  // modulus in the handbook's bending test, which counts shear as bending
	Modulus                             unit.Stress  // along the grain, Bending raised by a tenth for that shear: do not raise it again
	Strength                            unit.Stress  // in bending
	Across                              unit.Stress  // strength in tension across the grain
	Ratios                              Ratios
	Shrink                              Shrinkage
	Radial, Tangential                  float64 // change of width for 1 % of moisture, as a share; from the shrinkage where Estimated
	Estimated                           bool    // the two coefficients are worked out from the shrinkage, no table gives them
	FibreSaturation                     Percent // the moisture up to which wood swells, as the coefficients take it

	Proxy        string
	ProxyWhy     unit.Text // the wood whose ratios stand in for missing ones, and how near it is
	Source, Note string
}

// Fits reports whether a wood is often used so.
func (s Species) Fits(u Use) bool { return slices.Contains(s.Uses, u) }

// Moves returns the change of width for 1 % of moisture, as a share.
func (s Species) Moves(d Direction) float64 {
	if d == Tangential {
		return s.Tangential
	}
	return s.Radial
}

// Species mean figures differ from board to board by these coefficients of variation.
// source: Wood Handbook, FPL-GTR-282, table 5-6 (from memory): modulus in bending 22 %, specific gravity 10 %.
const (
	SpreadModulus = 0.22
	SpreadDensity = 0.10
)

// SpreadSource says where the two spreads come from.
const SpreadSource = "spread of a wood's modulus, 22 %, and of its density, 10 %: Wood Handbook, FPL-GTR-282, table 5-6 (from memory)"

// All lists the woods known here, necks first.
func All() []Species {
	out := slices.Clone(load())
	for i := range out {
		out[i].Uses = slices.Clone(out[i].Uses)
	}
	return out
}

// Stiff lists the woods whose modulus along the grain is known.
func Stiff() []Species {
	return slices.DeleteFunc(All(), func(s Species) bool { return s.Modulus == 0 })
}

// For lists the woods often used so.
func For(u Use) []Species {
	return slices.DeleteFunc(All(), func(s Species) bool { return !s.Fits(u) })
}

// Find returns a wood by its key ("sitka-spruce").
func Find(key string) (Species, bool) {
	for _, s := range load() {
		if s.Key == key {
			s.Uses = slices.Clone(s.Uses)
			return s, true
		}
	}
	return Species{}, false
}

// Named returns the wood that a text names: its key, its name or its botanical name, whatever its case and
// punctuation; or any longer name with all the words of one key and of no other ("Mahogany, true (Honduran)").
func Named(text string) (Species, bool) {
	if s, ok := Find(text); ok {
		return s, true
	}
	words := func(s string) []string {
		return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) })
	}
	said := words(text)
	if len(said) == 0 {
		return Species{}, false
	}
	var found []Species
	for _, s := range load() {
		if slices.Equal(said, words(s.Name.English())) || slices.Equal(said, words(s.Botanical)) {
			return Find(s.Key)
		}
		if !slices.ContainsFunc(words(s.Key), func(w string) bool { return !slices.Contains(said, w) }) {
			found = append(found, s)
		}
	}
	if len(found) != 1 {
		return Species{}, false
	}
	return Find(found[0].Key)
}

// load reads the table once. A fault in it is ours, so it panics.
var load = sync.OnceValue(func() []Species {
	raw, err := data.ReadFile("data/species.csv")
	if err != nil {
		panic(err)
	}
	lines, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("wood: species: %v", err))
	}
	text := func(line []string, column string) string {
		i := slices.Index(lines[0], column)
		if i < 0 {
			panic("wood: species: no column " + column)
		}
		return line[i]
	}
	out := make([]Species, 0, len(lines))
	for _, line := range lines[1:] {
		number := func(column string) float64 {
			t := text(line, column)
			if t == "" {
				return 0
			}
			v, err := strconv.ParseFloat(t, 64)
			if err != nil {
				panic(fmt.Sprintf("wood: species: %s: %v", column, err))
			}
			return v
		}
		stress := func(column string) unit.Stress { return unit.Stress(number(column) * 1e6) }
		s := Species{Key: text(line, "key"), Name: unit.FromTable(text(line, "name")), Botanical: text(line, "botanical"), Softwood: text(line, "kind") == "softwood",
			GravityGreen: number("sg_basic"), Gravity12: number("sg_12"), GravityDry: number("sg_ovendry"), Gravity12Basis: text(line, "sg_12_basis"),
			Density: unit.Density(number("density_12_kg_m3")), Bending: stress("moe_12_mpa"), Modulus: stress("el_12_mpa"), Strength: stress("mor_12_mpa"),
			Across: stress("tension_perpendicular_12_mpa"),
			Ratios: Ratios{ET: number("et_el"), ER: number("er_el"), GLR: number("glr_el"), GLT: number("glt_el"), GRT: number("grt_el"),
				LR: number("nu_lr"), LT: number("nu_lt"), RT: number("nu_rt")},
			Shrink: Shrinkage{number("shrink_radial_pct") / 100, number("shrink_tangential_pct") / 100, number("shrink_volumetric_pct") / 100},
			Radial: number("c_r"), Tangential: number("c_t"), FibreSaturation: Percent(number("fsp_pct")),
			Proxy: text(line, "proxy"), ProxyWhy: unit.FromTable(text(line, "proxy_why")), Source: text(line, "source"), Note: text(line, "note")}
		for _, u := range strings.Fields(text(line, "uses")) {
			s.Uses = append(s.Uses, Use(u))
		}
		if s.Radial == 0 {
			s.Radial, s.Tangential, s.Estimated = number("c_r_from_shrinkage"), number("c_t_from_shrinkage"), true
		}
		out = append(out, s)
	}
	return out
})

// Words lists every text that comes from the table: the woods' names, and how near their proxies are.
func Words() []unit.Text {
	var out []unit.Text
	for _, s := range All() {
		out = append(out, s.Name)
		if s.ProxyWhy != "" {
			out = append(out, s.ProxyWhy)
		}
	}
	return out
}
