package figure

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/wood"
	"fairset/unit"
)

const methodWood = "docs/method/wood.md"

const emcSource = "moisture in equilibrium with air: Wood Handbook, FPL-GTR-282, equation 4-5; " + methodWood

// woodLimit is wood.LimitOf for the fields of the climates a board goes from and to, and for readings.
func woodLimit(key string) (unit.Limit, bool) {
	name := key[strings.LastIndexByte(key, '.')+1:]
	name, sd := strings.CutSuffix(name, "_sd")
	l, ok := wood.LimitOf(name)
	if ok && sd {
		l.Field, l.Label, l.Min, l.Max = key, unit.Say("spread of the %v", l.Label), 0, l.Max/3
	}
	return l, ok
}

// emc

const emcExample = `{"temperature_c": 21, "relative_humidity_percent": 45}
`

type emcIn struct {
	Temperature float64 `json:"temperature_c" key:"temperature" doc:"of the air"`
	Humidity    float64 `json:"relative_humidity_percent" key:"relative_humidity" doc:"of the air"`
}

type emcOut struct {
	EMC float64 `json:"emc_percent" doc:"moisture wood comes to, in percent of its dry mass"`
}

func emc(in emcIn) (emcOut, []unit.Warning, []string, error) {
	m, warn, err := wood.Climate{Temperature: in.Temperature, Humidity: wood.Percent(in.Humidity)}.EMC()
	return emcOut{float64(m)}, warn, []string{emcSource}, err
}

// movement

const movementExample = `{
  "width_mm": "16 in", "species": "sitka-spruce", "direction": "radial",
  "from": {"temperature_c": 21, "relative_humidity_percent": 45}, "to": {"emc_percent": 5.5}
}
`

type airIn struct {
	EMC         float64 `json:"emc_percent" doc:"moisture of the wood; this, or the next two" absent:"nan"`
	Temperature float64 `json:"temperature_c" doc:"of the air the wood has settled in" absent:"nan"`
	Humidity    float64 `json:"relative_humidity_percent" doc:"of that air" absent:"nan"`
}

type movementIn struct {
	Width       unit.Length `json:"width_mm" doc:"across the grain, at the first moisture"`
	Coefficient float64     `json:"coefficient_per_percent" key:"coefficient" doc:"change of width for 1 % of moisture, as a share of the width; this, or species and direction" absent:"nan"`
	Species     string      `json:"species" doc:"the wood, by its key or name: sitka-spruce, Sitka spruce, Picea sitchensis" optional:"yes"`
	Direction   string      `json:"direction" doc:"radial for the width of a quartersawn board, tangential for a flatsawn one" optional:"yes" enum:"radial,tangential"`
	From        airIn       `json:"from" doc:"moisture of the wood, or the air it has settled in"`
	To          airIn       `json:"to" doc:"what it goes to"`
}

type movementOut struct {
	Change unit.Length `json:"change_mm" doc:"+ wider"`
	From   float64     `json:"emc_from_percent"`
	To     float64     `json:"emc_to_percent"`
}

// moisture takes a moisture as given, or from the air; under is the object's name.
func (a airIn) moisture(under string) (wood.Percent, []unit.Warning, error) {
	const allowed = "emc_percent, or temperature_c and relative_humidity_percent"
	given := func(v float64) bool { return !math.IsNaN(v) }
	switch t, h := given(a.Temperature), given(a.Humidity); {
	case given(a.EMC) && (t || h):
		return 0, nil, &Error{under + ".emc_percent", fmt.Sprintf("%s gives the wood's moisture and the air too: give one of them", under), allowed}
	case given(a.EMC):
		return wood.Percent(a.EMC), nil, nil
	case !t && !h:
		return 0, nil, &Error{under, fmt.Sprintf("%s is empty: give the wood's moisture, or the air it stands in", under), allowed}
	case !t:
		return 0, nil, &Error{under + ".temperature_c", fmt.Sprintf("%s.temperature_c is missing: humidity alone does not give the wood's moisture", under), allowed}
	case !h:
		return 0, nil, &Error{under + ".relative_humidity_percent", fmt.Sprintf("%s.relative_humidity_percent is missing: temperature alone does not give the wood's moisture", under), allowed}
	}
	m, warn, err := wood.Climate{Temperature: a.Temperature, Humidity: wood.Percent(a.Humidity)}.EMC()
	for i := range warn {
		warn[i].Field = under + "." + warn[i].Field
	}
	return m, warn, err
}

func movement(in movementIn) (movementOut, []unit.Warning, []string, error) {
	none := movementOut{}
	c, sources := in.Coefficient, []string{"Wood Handbook, FPL-GTR-282, equation 13-2; " + methodWood}
	const allowed = "coefficient_per_percent, or species and direction"
	switch typed := !math.IsNaN(c); {
	case typed && (in.Species != "" || in.Direction != ""):
		return none, nil, nil, &Error{"coefficient_per_percent", "coefficient_per_percent and a species or direction are both given: give one of them", allowed}
	case !typed && in.Species == "":
		return none, nil, nil, &Error{"species", "species is missing: give it, or coefficient_per_percent", allowed}
	case !typed && in.Direction == "":
		return none, nil, nil, &Error{"direction", "direction is missing: radial for a quartersawn board, tangential for a flatsawn one", "radial, tangential"}
	case !typed:
		s, err := woodNamed(in.Species)
		if err != nil {
			return none, nil, nil, err
		}
		c = s.Moves(wood.Direction(in.Direction))
		from := sourceOf(s)
		if s.Estimated {
			from += "; its movement is worked out from its shrinkage"
		}
		if s.Note != "" {
			from += "; " + s.Note
		}
		sources = append(sources, from)
	}
	from, warn, err := in.From.moisture("from")
	if err != nil {
		return none, nil, nil, err
	}
	to, more, err := in.To.moisture("to")
	if err != nil {
		return none, nil, nil, err
	}
	warn = append(warn, more...)
	if math.IsNaN(in.From.EMC) || math.IsNaN(in.To.EMC) {
		sources = append(sources, emcSource)
	}
	change, more, err := wood.Move{Width: in.Width, Coefficient: c, From: from, To: to}.Change()
	return movementOut{change, float64(from), float64(to)}, append(warn, more...), sources, err
}

// board

const boardExample = `{
  "species": "sitka-spruce", "cut": "quartersawn",
  "weighed": {"mass_kg": 0.236, "mass_sd_kg": 0.001, "length_mm": 560, "length_sd_mm": 0.5, "width_mm": 215, "width_sd_mm": 0.5, "thickness_mm": 4.3, "thickness_sd_mm": 0.05},
  "sag": {"span_mm": 500, "span_sd_mm": 0.5, "load_n": 9.81, "load_sd_n": 0.01, "deflection_mm": 1.6, "deflection_sd_mm": 0.05, "width_mm": 215, "width_sd_mm": 0.5, "thickness_mm": 4.3, "thickness_sd_mm": 0.05}
}
`

type weighedIn struct {
	Mass        float64     `json:"mass_kg" key:"weighed.mass" doc:"on the scales"`
	MassSD      float64     `json:"mass_sd_kg" key:"weighed.mass_sd" doc:"how sure it is" default:"0"`
	Length      unit.Length `json:"length_mm" key:"weighed.length" doc:"along the grain"`
	LengthSD    unit.Length `json:"length_sd_mm" key:"weighed.length_sd" doc:"how sure it is" default:"0"`
	Width       unit.Length `json:"width_mm" key:"weighed.width" doc:"across the grain"`
	WidthSD     unit.Length `json:"width_sd_mm" key:"weighed.width_sd" doc:"how sure it is" default:"0"`
	Thickness   unit.Length `json:"thickness_mm" key:"weighed.thickness" doc:"mean of several places"`
	ThicknessSD unit.Length `json:"thickness_sd_mm" key:"weighed.thickness_sd" doc:"how sure it is" default:"0"`
}

type sagIn struct {
	Kind         string      `json:"kind" doc:"three-point: on two edges, loaded in the middle; cantilever: clamped at one end, loaded at the other" enum:"three-point,cantilever" default:"\"three-point\""`
	Span         unit.Length `json:"span_mm" doc:"edge to edge, or clamp to load"`
	SpanSD       unit.Length `json:"span_sd_mm" key:"sag.span_sd" doc:"how sure it is" default:"0"`
	Load         unit.Force  `json:"load_n" doc:"9.81 times the weight's mass in kg"`
	LoadSD       unit.Force  `json:"load_sd_n" key:"sag.load_sd" doc:"how sure it is" default:"0"`
	Deflection   unit.Length `json:"deflection_mm" doc:"what the load adds to the sag, at the load"`
	DeflectionSD unit.Length `json:"deflection_sd_mm" key:"sag.deflection_sd" doc:"how sure it is" default:"0"`
	Width        unit.Length `json:"width_mm" doc:"of the strip"`
	WidthSD      unit.Length `json:"width_sd_mm" key:"sag.width_sd" doc:"how sure it is" default:"0"`
	Thickness    unit.Length `json:"thickness_mm" doc:"mean of several places"`
	ThicknessSD  unit.Length `json:"thickness_sd_mm" key:"sag.thickness_sd" doc:"how sure it is" default:"0"`
}

type tapIn struct {
	Mass        float64     `json:"mass_kg" key:"tap.mass" doc:"of the strip"`
	MassSD      float64     `json:"mass_sd_kg" key:"tap.mass_sd" doc:"how sure it is" default:"0"`
	Length      unit.Length `json:"length_mm" doc:"of the strip"`
	LengthSD    unit.Length `json:"length_sd_mm" key:"tap.length_sd" doc:"how sure it is" default:"0"`
	Width       unit.Length `json:"width_mm" doc:"of the strip"`
	WidthSD     unit.Length `json:"width_sd_mm" key:"tap.width_sd" doc:"how sure it is" default:"0"`
	Thickness   unit.Length `json:"thickness_mm" doc:"mean of several places"`
	ThicknessSD unit.Length `json:"thickness_sd_mm" key:"tap.thickness_sd" doc:"how sure it is" default:"0"`
	Frequency   float64     `json:"frequency_hz" key:"tap.frequency" doc:"lowest note of the strip, held at 22.4 % from each end and tapped in the middle"`
	FrequencySD float64     `json:"frequency_sd_hz" key:"tap.frequency_sd" doc:"how sure it is" default:"0"`
}

type boardIn struct {
	Species string    `json:"species" doc:"the wood, by its key or name: its ratios of stiffness are taken, and its means where nothing was measured"`
	Cut     string    `json:"cut" doc:"quartersawn: rings upright in the board; flatsawn: rings flat in it, and a brace glued with its rings upright to the top" enum:"quartersawn,flatsawn" default:"\"quartersawn\""`
	Weighed weighedIn `json:"weighed" doc:"mass and sides, for the density" optional:"yes"`
	Sag     sagIn     `json:"sag" doc:"a sag test along the grain" optional:"yes"`
	Tap     tapIn     `json:"tap" doc:"a tap test along the grain" optional:"yes"`
}

type materialOut struct {
	E1      unit.Stress `json:"e1_mpa" doc:"along the grain"`
	E2      unit.Stress `json:"e2_mpa" doc:"across the width"`
	E3      unit.Stress `json:"e3_mpa" doc:"through the thickness"`
	Nu12    float64     `json:"nu12" doc:"contraction along 2 under stress along 1"`
	Nu13    float64     `json:"nu13"`
	Nu23    float64     `json:"nu23"`
	G12     unit.Stress `json:"g12_mpa"`
	G13     unit.Stress `json:"g13_mpa"`
	G23     unit.Stress `json:"g23_mpa"`
	Density float64     `json:"density_kg_m3"`
}

type boardOut struct {
	Material  materialOut `json:"material" doc:"as the soundboard topic takes it: built so that nu12/e1 = nu21/e2"`
	DensitySD float64     `json:"density_sd_kg_m3" doc:"standard deviation of the density"`
	ModulusSD unit.Stress `json:"e1_sd_mpa" doc:"standard deviation of the modulus along the grain"`
	Sag       unit.Stress `json:"sag_e_mpa" doc:"modulus from the sag test, shear taken out; 0 without one"`
	SagSD     unit.Stress `json:"sag_e_sd_mpa"`
	Tap       unit.Stress `json:"tap_e_mpa" doc:"modulus from the tap test, shear taken out; 0 without one"`
	TapSD     unit.Stress `json:"tap_e_sd_mpa"`
	Stand     []string    `json:"stand_ins" doc:"ratios that no table gives for this wood, and whose they are"`
}

// woodNamed finds a wood by its key or its name.
func woodNamed(text string) (wood.Species, error) {
	if s, ok := wood.Named(text); ok {
		return s, nil
	}
	var keys []string
	for _, s := range wood.All() {
		keys = append(keys, s.Key)
	}
	return wood.Species{}, &Error{"species", fmt.Sprintf("there is no wood %s here", quote(text)), strings.Join(keys, ", ")}
}

// sourceOf names a wood and where its figures come from.
func sourceOf(s wood.Species) string { return s.Name.In(unit.Millimetre) + ": " + s.Source }

func measured(in boardIn) (out boardOut, warn []unit.Warning, sources []string, err error) {
	s, err := woodNamed(in.Species)
	if err != nil {
		return out, nil, nil, err
	}
	under := func(err error, object string) error {
		if re, ok := err.(*unit.RangeError); ok {
			re.Field = object + "." + re.Field
		}
		return err
	}
	sources = []string{methodWood, sourceOf(s)}
	b := wood.Board{Species: s, Cut: wood.Cut(in.Cut)}
	out.Stand = []string{}
	if w := in.Weighed; w != (weighedIn{}) {
		e, err := wood.Weigh(wood.Reading{Value: w.Mass, SD: w.MassSD}, read(w.Length, w.LengthSD), read(w.Width, w.WidthSD), read(w.Thickness, w.ThicknessSD))
		if err != nil {
			return out, nil, nil, under(err, "weighed")
		}
		b.Density, out.DensitySD = unit.Density(e.Value), e.SD
	} else {
		out.DensitySD = wood.SpreadDensity * float64(s.Density)
		sources = append(sources, wood.SpreadSource)
	}
	var both []wood.Estimate
	if t := in.Sag; t != (sagIn{}) {
		m, w, err := wood.Sag{Span: read(t.Span, t.SpanSD), Load: wood.Reading{Value: float64(t.Load), SD: float64(t.LoadSD)}, Deflection: read(t.Deflection, t.DeflectionSD),
			Width: read(t.Width, t.WidthSD), Thickness: read(t.Thickness, t.ThicknessSD), Cantilever: t.Kind == "cantilever", ShearRatio: b.ShearRatio()}.Modulus()
		if err != nil {
			return out, nil, nil, under(err, "sag")
		}
		warn, both = append(warn, prefixed(w, "sag")...), append(both, m.Estimate)
		out.Sag, out.SagSD = unit.Stress(m.Value), unit.Stress(m.SD)
	}
	if t := in.Tap; t != (tapIn{}) {
		m, w, err := wood.Tap{Mass: wood.Reading{Value: t.Mass, SD: t.MassSD}, Length: read(t.Length, t.LengthSD), Width: read(t.Width, t.WidthSD), Thickness: read(t.Thickness, t.ThicknessSD),
			Frequency: wood.Reading{Value: t.Frequency, SD: t.FrequencySD}, ShearRatio: b.ShearRatio()}.Modulus()
		if err != nil {
			return out, nil, nil, under(err, "tap")
		}
		warn, both = append(warn, prefixed(w, "tap")...), append(both, m.Estimate)
		out.Tap, out.TapSD = unit.Stress(m.Value), unit.Stress(m.SD)
		sources = append(sources, "tap test: ASTM E1876")
	}
	switch len(both) {
	case 2:
		e, w := wood.Agree(both[0], both[1])
		both[0], warn = e, append(warn, prefixed(w, "tap")...)
		fallthrough
	case 1:
		b.Modulus, out.ModulusSD = unit.Stress(both[0].Value), unit.Stress(both[0].SD)
	default:
		out.ModulusSD = wood.SpreadModulus * s.Modulus
		if in.Weighed != (weighedIn{}) {
			sources = append(sources, wood.SpreadSource)
		}
	}
	m, borrowed, err := b.Material()
	if err != nil {
		return out, nil, nil, err
	}
	for _, x := range borrowed {
		out.Stand = append(out.Stand, fmt.Sprintf("%s is that of %s (%s)", x.Ratio, x.From.In(unit.Millimetre), x.Why.In(unit.Millimetre)))
	}
	if len(borrowed) > 0 {
		warn = append(warn, unit.Warning{Code: "stand_in", Field: "species", Say: unit.Say("No table gives all of this wood's ratios of stiffness; those of another wood stand in. See stand_ins.")})
	}
	out.Material = materialOut{m.E1, m.E2, m.E3, m.Nu12, m.Nu13, m.Nu23, m.G12, m.G13, m.G23, float64(m.Density)}
	return out, warn, sources, nil
}

func read(v, sd unit.Length) wood.Reading {
	return wood.Reading{Value: float64(v), SD: float64(sd)}
}

func prefixed(warn []unit.Warning, object string) []unit.Warning {
	for i := range warn {
		warn[i].Field = object + "." + warn[i].Field
	}
	return warn
}
