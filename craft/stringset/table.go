package stringset

import (
	"embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"fairset/unit"
)

//go:embed data/*.csv
var data embed.FS

// Material is what a string, a core or a wrap is made of.
type Material struct {
	Key         string
	Name        unit.Text
	Wrap        bool // used as a wrap, otherwise as a plain string or core
	Density     unit.Density
	Other       unit.Density // another figure met for the density
	Young       unit.Stress
	YoungSlope  float64     // what stress adds to the modulus; see String
	ThickestFor unit.Length // 0 for any thickness
	Source      string
}

// Set is a starting set of strings under a generic name.
type Set struct {
	Key     string
	Name    unit.Text
	Notes   Tuning
	Strings []String // bass first, at A4 = 440 Hz
	Sources []string // one for each string, in the same order
}

type tables struct {
	materials []Material
	sets      []Set
	tunings   []Tuning
}

// Materials returns the table of materials, each row with its source.
func Materials() []Material { return slices.Clone(load().materials) }

// FindMaterial returns a material by its key; music wire by its thickness too, for drawn wire is a little
// stiffer the thinner it is. Errors are *unit.RangeError naming material.
func FindMaterial(key string, thickness unit.Length) (Material, error) {
	if m := pick(load().materials, key, thickness); m != nil {
		return *m, nil
	}
	var keys []string
	for _, m := range load().materials {
		if !slices.Contains(keys, m.Key) {
			keys = append(keys, m.Key)
		}
	}
	return Material{}, choiceError("material", "material", key, keys)
}

// pick takes the first row that reaches the thickness, or the last there is; rows run from thin to thick.
func pick(all []Material, key string, thickness unit.Length) *Material {
	var best *Material
	for i, m := range all {
		if m.Key == key && (best == nil || best.ThickestFor != 0 && thickness > best.ThickestFor) {
			best = &all[i]
		}
	}
	return best
}

// Sets returns the starting sets.
func Sets() []Set {
	out := slices.Clone(load().sets)
	for i := range out {
		out[i] = out[i].clone()
	}
	return out
}

// FindSet returns a starting set by its key ("light"). Errors are *unit.RangeError naming set.
func FindSet(key string) (Set, error) {
	var keys []string
	for _, s := range load().sets {
		if s.Key == key {
			return s.clone(), nil
		}
		keys = append(keys, s.Key)
	}
	return Set{}, choiceError("set", "set of strings", key, keys)
}

func (s Set) clone() Set {
	s.Strings, s.Sources, s.Notes.Notes = slices.Clone(s.Strings), slices.Clone(s.Sources), slices.Clone(s.Notes.Notes)
	return s
}

// Tunings returns the named tunings, all common practice, no source.
func Tunings() []Tuning {
	out := slices.Clone(load().tunings)
	for i := range out {
		out[i].Notes = slices.Clone(out[i].Notes)
	}
	return out
}

// FindTuning returns a named tuning by its key ("drop-d"). Errors are *unit.RangeError naming tuning.
func FindTuning(key string) (Tuning, error) {
	var keys []string
	for _, t := range load().tunings {
		if t.Key == key {
			t.Notes = slices.Clone(t.Notes)
			return t, nil
		}
		keys = append(keys, t.Key)
	}
	return Tuning{}, choiceError("tuning", "tuning", key, keys)
}

// load reads the tables once. A fault in them is ours, so it panics.
var load = sync.OnceValue(func() *tables {
	t := &tables{}
	for _, r := range rows("materials") {
		t.materials = append(t.materials, Material{Key: r.text("key"), Name: unit.FromTable(r.text("name")), Wrap: r.text("use") == "wrap",
			Density: unit.Density(r.number("density_kg_m3")), Other: unit.Density(r.number("density_alternative_kg_m3")),
			Young: unit.Stress(r.number("young_gpa") * 1e9), YoungSlope: r.number("young_slope"),
			ThickestFor: unit.Length(r.number("thickest_in")) * unit.Inch, Source: r.text("source")})
	}
	material := func(key string, thickness unit.Length) Material {
		best := pick(t.materials, key, thickness)
		if best == nil {
			panic("stringset: no material " + key)
		}
		return *best
	}
	for _, r := range rows("sets") {
		n, err := ParseNote(r.text("note"))
		if err != nil {
			panic(err)
		}
		s := String{Name: n.String(), Pitch: n.Frequency(ConcertA), Kind: Kind(r.text("kind")), Diameter: unit.Length(r.number("gauge_mm") / 1000),
			CoreDiameter: unit.Length(r.number("core_mm") / 1000), CoreShape: Core(r.text("core_shape")),
			MeasuredBending: Bending(r.number("bending_n_m2"))}
		thickness := s.Diameter
		if s.Kind == Wound {
			thickness = s.CoreDiameter
			s.WrapDensity = material(r.text("wrap_material"), 0).Density
			s.CoreFill, s.BendingFactor = r.number("core_fill"), r.number("bending_factor")
		}
		m := material(r.text("core_material"), thickness)
		s.Density, s.Young, s.YoungSlope = m.Density, m.Young, m.YoungSlope
		if len(t.sets) == 0 || t.sets[len(t.sets)-1].Key != r.text("set") {
			t.sets = append(t.sets, Set{Key: r.text("set"), Name: unit.FromTable(r.text("name"))})
		}
		set := &t.sets[len(t.sets)-1]
		set.Strings = append(set.Strings, s)
		set.Sources = append(set.Sources, r.text("source"))
		set.Notes.Notes = append(set.Notes.Notes, n)
	}
	for i := range t.sets { // the table counts as packets do, from the treble
		s := &t.sets[i]
		slices.Reverse(s.Strings)
		slices.Reverse(s.Sources)
		slices.Reverse(s.Notes.Notes)
		s.Notes.Key, s.Notes.Name = s.Key, s.Name
	}
	for _, r := range rows("tunings") {
		tuning, err := NewTuning(unit.FromTable(r.text("name")), r.text("notes"))
		if err != nil {
			panic(err)
		}
		tuning.Key = r.text("key")
		t.tunings = append(t.tunings, tuning)
	}
	return t
})

type row struct {
	table  string
	values map[string]string
}

func (r row) text(column string) string {
	v, ok := r.values[column]
	if !ok {
		panic(fmt.Sprintf("stringset: %s has no column %s", r.table, column))
	}
	return v
}

func (r row) number(column string) float64 {
	text := r.text(column)
	if text == "" {
		return 0
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(fmt.Sprintf("stringset: %s, %s: %v", r.table, column, err))
	}
	return v
}

func rows(table string) []row {
	raw, err := data.ReadFile("data/" + table + ".csv")
	if err != nil {
		panic(err)
	}
	lines, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("stringset: %s: %v", table, err))
	}
	out := make([]row, 0, len(lines))
	for _, line := range lines[1:] {
		r := row{table, map[string]string{}}
		for i, column := range lines[0] {
			r.values[column] = line[i]
		}
		out = append(out, r)
	}
	return out
}

// Words lists every text that comes from the tables: the names of materials, sets and tunings.
func Words() []unit.Text {
	var out []unit.Text
	t := load()
	for _, m := range t.materials {
		out = append(out, m.Name)
	}
	for _, s := range t.sets {
		out = append(out, s.Name)
	}
	for _, x := range t.tunings {
		out = append(out, x.Name)
	}
	return out
}
