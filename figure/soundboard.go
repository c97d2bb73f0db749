package figure

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"

	"fairset/craft/soundboard"
	"fairset/unit"
)

const methodSoundboard = "docs/method/soundboard.md"

const soundboardExample = `{
  "outline_mm": [[0, -60], [0, 60], [38, 128], [100, 168], [160, 176], [225, 150], [285, 116], [335, 112], [395, 124], [445, 96], [462, 40], [462, -40],
                 [445, -96], [395, -124], [335, -112], [285, -116], [225, -150], [160, -176], [100, -168], [38, -128]],
  "holes": [{"centre_mm": [318, 0], "radius_mm": 46}],
  "thickness_mm": 2.7, "top_material": "top", "grain": [1, 0], "edge": "clamped",
  "materials": {
    "top": {"e1_mpa": 10500, "e2_mpa": 820, "e3_mpa": 460, "nu12": 0.37, "nu13": 0.45, "nu23": 0.45, "g12_mpa": 700, "g13_mpa": 650, "g23_mpa": 40, "density_kg_m3": 410},
    "brace": {"e1_mpa": 10500, "e2_mpa": 460, "e3_mpa": 820, "nu12": 0.45, "nu13": 0.37, "nu23": 0.25, "g12_mpa": 650, "g13_mpa": 700, "g23_mpa": 40, "density_kg_m3": 410},
    "hardwood": {"e1_mpa": 11500, "e2_mpa": 1200, "e3_mpa": 1200, "nu12": 0.4, "nu13": 0.4, "nu23": 0.5, "g12_mpa": 950, "g13_mpa": 950, "g23_mpa": 320, "density_kg_m3": 680}
  },
  "braces": [
    {"name": "X, bass", "from_mm": [70, 130], "to_mm": [335, -92], "width_mm": "5/16 in", "heights": [[0, 6], [0.3, 13], [0.62, 15], [0.9, 9], [1, 5]], "material": "brace"},
    {"name": "X, treble", "from_mm": [70, -130], "to_mm": [335, 92], "width_mm": "5/16 in", "heights": [[0, 6], [0.3, 13], [0.62, 15], [0.9, 9], [1, 5]], "material": "brace"},
    {"name": "tone bar", "from_mm": [120, -45], "to_mm": [55, 92], "width_mm": 6.5, "heights": [[0, 5], [0.5, 11], [1, 5]], "material": "brace"},
    {"name": "upper transverse", "from_mm": [386, -105], "to_mm": [386, 105], "width_mm": 12, "heights": [[0, 8], [0.5, 14], [1, 8]], "material": "brace"}
  ],
  "patches": [{"name": "bridge plate", "corners_mm": [[135, -80], [190, -32], [190, 32], [135, 80]], "thickness_mm": 2.4, "side": "under", "grain": [0, 1], "material": "hardwood"}],
  "bridge": {"centre_mm": [162, 0], "length_mm": 32, "width_mm": 148},
  "load": {"moment_n_mm": 9000, "pull_n": 690},
  "modes": 6
}
`

type placeIn struct {
	X unit.Length `json:"x_mm" key:"board.place" doc:"along the strings, from tail to neck"`
	Y unit.Length `json:"y_mm" key:"board.place" doc:"across"`
}

func (placeIn) isTuple() {}

func (p placeIn) point() soundboard.Point { return soundboard.Point{X: p.X, Y: p.Y} }

type directionIn struct {
	X float64 `json:"x" key:"board.direction" doc:"along the strings"`
	Y float64 `json:"y" key:"board.direction" doc:"across"`
}

func (directionIn) isTuple() {}

type stationIn struct {
	At     float64     `json:"share" key:"board.share" doc:"of the brace's length"`
	Height unit.Length `json:"height_mm" key:"board.height" doc:"of the brace there"`
}

func (stationIn) isTuple() {}

type holeIn struct {
	Centre placeIn     `json:"centre_mm" doc:"its middle"`
	Radius unit.Length `json:"radius_mm" key:"board.radius" doc:"its radius"`
}

type woodIn struct {
	E1      unit.Stress `json:"e1_mpa" key:"board.modulus" doc:"modulus along the grain"`
	E2      unit.Stress `json:"e2_mpa" key:"board.modulus" doc:"modulus across the grain, in the part's width"`
	E3      unit.Stress `json:"e3_mpa" key:"board.modulus" doc:"modulus across the grain, through its thickness"`
	Nu12    float64     `json:"nu12" key:"board.nu" doc:"contraction along 2 under stress along 1"`
	Nu13    float64     `json:"nu13" key:"board.nu" doc:"contraction along 3 under stress along 1"`
	Nu23    float64     `json:"nu23" key:"board.nu" doc:"contraction along 3 under stress along 2"`
	G12     unit.Stress `json:"g12_mpa" key:"board.modulus" doc:"shear modulus in the plane of 1 and 2"`
	G13     unit.Stress `json:"g13_mpa" key:"board.modulus" doc:"shear modulus in the plane of 1 and 3"`
	G23     unit.Stress `json:"g23_mpa" key:"board.modulus" doc:"shear modulus in the plane of 2 and 3: rolling shear"`
	Density float64     `json:"density_kg_m3" key:"board.density" doc:"its density"`
}

func (w woodIn) material() soundboard.Material {
	return soundboard.Material{E1: w.E1, E2: w.E2, E3: w.E3, Nu12: w.Nu12, Nu13: w.Nu13, Nu23: w.Nu23, G12: w.G12, G13: w.G13, G23: w.G23, Density: unit.Density(w.Density)}
}

type braceIn struct {
	Name     string      `json:"name" doc:"for messages" default:"\"\""`
	From     placeIn     `json:"from_mm" doc:"one end of its middle line"`
	To       placeIn     `json:"to_mm" doc:"the other end"`
	Width    unit.Length `json:"width_mm" key:"board.width" doc:"its width"`
	Heights  []stationIn `json:"heights" doc:"from share 0 to share 1 of its length, straight between; one entry: the same all along" items:"1,50"`
	Material string      `json:"material" doc:"a name in materials; its axis 1 runs along the brace, 2 across its width, 3 up its height"`
}

type patchIn struct {
	Name      string      `json:"name" doc:"for messages" default:"\"\""`
	Corners   []placeIn   `json:"corners_mm" doc:"four corners in order, without hollow" items:"4,4"`
	Thickness unit.Length `json:"thickness_mm" key:"board.patch" doc:"its thickness"`
	Side      string      `json:"side" doc:"the face of the top it is glued to" enum:"under,over" default:"\"under\""`
	Grain     directionIn `json:"grain" doc:"direction of its grain" default:"[0,1]"`
	Material  string      `json:"material" doc:"a name in materials"`
}

type bridgeIn struct {
	Centre placeIn     `json:"centre_mm" doc:"middle of its footprint"`
	Length unit.Length `json:"length_mm" key:"board.foot" doc:"of the footprint, along the strings"`
	Width  unit.Length `json:"width_mm" key:"board.foot" doc:"of the footprint, across"`
}

type boardLoadIn struct {
	Moment   float64    `json:"moment_n_mm" key:"board.moment" doc:"on the bridge; + tips its top towards the neck" absent:"nan"`
	Pull     unit.Force `json:"pull_n" key:"board.force" doc:"on the bridge, towards the neck in the middle of the top's thickness" absent:"nan"`
	Pressure float64    `json:"pressure_pa" key:"board.pressure" doc:"on the whole top, upward" absent:"nan"`
	Point    unit.Force `json:"point_n" key:"board.force" doc:"upward at one place" absent:"nan"`
	At       placeIn    `json:"at_mm" doc:"where point_n acts" absent:"nan"`
}

// plateIn is a top without what loads it.
type plateIn struct {
	Outline   []placeIn         `json:"outline_mm" doc:"corners of the outline in order, either way round; it closes by itself" items:"3,2000"`
	Holes     []holeIn          `json:"holes" doc:"round holes with a free edge" items:"0,20" optional:"yes"`
	Thickness unit.Length       `json:"thickness_mm" key:"board.thickness" doc:"of the top"`
	Material  string            `json:"top_material" doc:"a name in materials; axis 1 is the grain, 2 lies across it in the top, 3 goes through its thickness"`
	Grain     directionIn       `json:"grain" doc:"direction of the top's grain" default:"[1,0]"`
	Edge      string            `json:"edge" doc:"how the rim holds the outline: neither moving nor turning, or free to turn about its own line" enum:"clamped,simple" default:"\"clamped\""`
	Materials map[string]woodIn `json:"materials" doc:"woods by name" items:"1,40"`
	Braces    []braceIn         `json:"braces" doc:"glued to the underside along their whole length" items:"0,40" optional:"yes"`
	Patches   []patchIn         `json:"patches" doc:"plates glued on" items:"0,12" optional:"yes"`
	Bridge    bridgeIn          `json:"bridge" doc:"footprint that loads are spread over and rotation is read on" optional:"yes"`
}

type soundboardIn struct {
	plateIn
	Load  boardLoadIn `json:"load" doc:"a moment and pull on the bridge, or a pressure, or a force at one place"`
	Modes int         `json:"modes" key:"board.modes" doc:"how many natural frequencies to work out, lowest first" default:"6"`
}

type soundboardOut struct {
	Rise        unit.Length `json:"rise_mm" doc:"largest deflection behind the bridge's middle; under a pressure or a force at one place, anywhere"`
	RiseAt      placeIn     `json:"rise_at_mm" doc:"where"`
	Dip         unit.Length `json:"dip_mm" doc:"smallest deflection ahead of the bridge's middle; under a pressure or a force at one place, anywhere"`
	DipAt       placeIn     `json:"dip_at_mm" doc:"where"`
	Rotation    unit.Angle  `json:"bridge_rotation_deg" doc:"of the footprint; + when the bridge's top tips towards the neck; left out without a bridge" absent:"nan"`
	Mean        unit.Length `json:"bridge_mean_mm" doc:"mean deflection of the footprint; left out without a bridge" absent:"nan"`
	Frequencies []float64   `json:"frequencies_hz" doc:"natural frequencies, lowest first, without strings or air"`
	Freedom     int         `json:"degrees_of_freedom" doc:"unknowns of the calculation"`
}

// boardLimit looks up the soundboard's limits.
func boardLimit(key string) (unit.Limit, bool) {
	l, ok := map[string]unit.Limit{
		"board.place": soundboard.LimitPlace, "board.thickness": soundboard.LimitThickness, "board.radius": soundboard.LimitRadius,
		"board.patch": soundboard.LimitPatch, "board.width": soundboard.LimitWidth, "board.height": soundboard.LimitHeight,
		"board.modulus": soundboard.LimitModulus, "board.nu": soundboard.LimitNu, "board.density": soundboard.LimitDensity,
		"board.foot": soundboard.LimitFoot, "board.modes": soundboard.LimitModes, "board.force": soundboard.LimitForce,
		"board.pressure":  soundboard.LimitPressure,
		"board.moment":    {Field: "load.moment", Kind: unit.KindRatio, Min: soundboard.LimitMoment.Min * 1000, Max: soundboard.LimitMoment.Max * 1000},
		"board.share":     {Field: "share", Kind: unit.KindRatio, Min: 0, Max: 1},
		"board.direction": {Field: "grain", Kind: unit.KindRatio, Min: -1e6, Max: 1e6},
	}[key]
	return l, ok
}

// boardNames turn craft's names of a soundboard's fields into those of the input.
var boardNames = strings.NewReplacer(
	"outline", "outline_mm", "centre", "centre_mm", "radius", "radius_mm", "thickness", "thickness_mm", "corners", "corners_mm",
	".from", ".from_mm", ".to", ".to_mm", "width", "width_mm", "bridge.length", "bridge.length_mm",
	"load.moment", "load.moment_n_mm", "load.pull", "load.pull_n", "load.pressure", "load.pressure_pa", "load.point", "load.point_n", "load.at", "load.at_mm")

var boardMaterial = regexp.MustCompile(`^materials\..*\.(e1|e2|e3|g12|g13|g23|density)$`)

// boardFault names a craft error's field as the input does.
func boardFault(err error, field string) error {
	var re *unit.RangeError
	if !errors.As(err, &re) {
		return err
	}
	if field == "" {
		field = boardNames.Replace(re.Field)
	} else {
		field += re.Field
		if m := boardMaterial.FindStringSubmatch(field); m != nil {
			suffix := "_mpa"
			if m[1] == "density" {
				suffix = "_kg_m3"
			}
			field += suffix
		}
	}
	got := given(re)
	if got == "" {
		got = unit.Write(re.Value, re.Kind, unit.Millimetre)
	}
	why := re.Why.In(unit.Millimetre)
	if why == "" {
		why = "out of range"
	}
	allowed := re.Allowed(unit.Millimetre)
	if allowed == "" {
		allowed = why
	}
	return &Error{field, fmt.Sprintf("%s is %s: %s", field, got, why), allowed}
}

// model is the top as the craft takes it, its names of woods looked up.
func (in plateIn) model() (m soundboard.Model, braces []soundboard.Brace, err error) {
	woods := map[string]soundboard.Material{}
	for name, w := range in.Materials {
		woods[name] = w.material()
	}
	for _, name := range slices.Sorted(maps.Keys(woods)) {
		if err := woods[name].Check(""); err != nil {
			return m, nil, boardFault(err, "materials."+name)
		}
	}
	pick := func(name, field string) (soundboard.Material, error) {
		m, ok := woods[name]
		if !ok {
			return m, &Error{field, fmt.Sprintf("%s is %s: there is no such name in materials", field, quote(name)), "a name in materials"}
		}
		return m, nil
	}
	m = soundboard.Model{Thickness: in.Thickness, Grain: [2]float64{in.Grain.X, in.Grain.Y}, Edge: soundboard.Edge(in.Edge)}
	if m.Material, err = pick(in.Material, "top_material"); err != nil {
		return m, nil, err
	}
	for _, p := range in.Outline {
		m.Outline = append(m.Outline, p.point())
	}
	for _, h := range in.Holes {
		m.Holes = append(m.Holes, soundboard.Hole{Centre: h.Centre.point(), Radius: h.Radius})
	}
	for i, p := range in.Patches {
		q := soundboard.Patch{Name: p.Name, Thickness: p.Thickness, Grain: [2]float64{p.Grain.X, p.Grain.Y}, Side: soundboard.Under}
		if p.Side == "over" {
			q.Side = soundboard.Over
		}
		for k := range q.Corners {
			q.Corners[k] = p.Corners[k].point()
		}
		if q.Material, err = pick(p.Material, fmt.Sprintf("patches[%d].material", i)); err != nil {
			return m, nil, err
		}
		m.Patches = append(m.Patches, q)
	}
	for i, b := range in.Braces {
		q := soundboard.Brace{Name: b.Name, From: b.From.point(), To: b.To.point(), Width: b.Width}
		for _, s := range b.Heights {
			q.Heights = append(q.Heights, soundboard.Station{At: s.At, Height: s.Height})
		}
		if q.Material, err = pick(b.Material, fmt.Sprintf("braces[%d].material", i)); err != nil {
			return m, nil, err
		}
		braces = append(braces, q)
	}
	if in.Bridge.Length != 0 {
		m.Bridge = &soundboard.Bridge{Centre: in.Bridge.Centre.point(), Length: in.Bridge.Length, Width: in.Bridge.Width}
	}
	return m, braces, nil
}

func soundboardUnder(in soundboardIn) (soundboardOut, []unit.Warning, []string, error) {
	none := soundboardOut{}
	m, braces, err := in.model()
	if err != nil {
		return none, nil, nil, err
	}
	load, err := in.Load.load()
	if err != nil {
		return none, nil, nil, err
	}
	// Everything is looked at before anything is worked out.
	if err := unit.Checks(m.Check(), m.CheckBraces(braces), load.Check(&m)); err != nil {
		return none, nil, nil, boardFault(err, "")
	}
	ctx := context.Background()
	plate, err := soundboard.Prepare(ctx, m, soundboard.Options{Once: true})
	if err != nil {
		return none, nil, nil, boardFault(err, "")
	}
	r, err := plate.Solve(ctx, braces, soundboard.Request{Load: load, Modes: in.Modes})
	if err != nil {
		return none, nil, nil, boardFault(err, "")
	}
	out := soundboardOut{Rise: r.Rise, RiseAt: placeIn{r.RiseAt.X, r.RiseAt.Y}, Dip: r.Dip, DipAt: placeIn{r.DipAt.X, r.DipAt.Y},
		Rotation: unit.Angle(math.NaN()), Mean: unit.Length(math.NaN()), Freedom: r.Unknowns}
	if r.HasBridge {
		out.Rotation, out.Mean = r.Rotation, r.Mean
	}
	for _, f := range r.Modes {
		out.Frequencies = append(out.Frequencies, float64(f.Frequency))
	}
	doubts := m.Doubts(braces, r)
	for i := range doubts {
		doubts[i].Field = boardNames.Replace(doubts[i].Field)
	}
	return out, doubts, []string{methodSoundboard, soundboard.Source}, nil
}

// load reads which of the three kinds of load was given.
func (in boardLoadIn) load() (soundboard.Load, error) {
	given := func(v float64) bool { return !math.IsNaN(v) }
	bridge := given(in.Moment) || given(float64(in.Pull))
	pressure, point := given(in.Pressure), given(float64(in.Point))
	or0 := func(v float64) float64 {
		if math.IsNaN(v) {
			return 0
		}
		return v
	}
	allowed := "moment_n_mm and pull_n, or pressure_pa, or point_n with at_mm"
	kinds := 0
	for _, k := range []bool{bridge, pressure, point} {
		if k {
			kinds++
		}
	}
	switch {
	case kinds != 1:
		return soundboard.Load{}, &Error{"load", fmt.Sprintf("load has %d kinds of load: give one of them", kinds), allowed}
	case point && !given(float64(in.At.X)):
		return soundboard.Load{}, &Error{"load.at_mm", "load.at_mm is missing: say where point_n acts", "a place on the top"}
	case !point && given(float64(in.At.X)):
		return soundboard.Load{}, &Error{"load.at_mm", "load.at_mm goes with point_n only", allowed}
	}
	l := soundboard.Load{Moment: or0(in.Moment) / 1000, Pull: unit.Force(or0(float64(in.Pull))), Pressure: unit.Stress(or0(in.Pressure)), Point: unit.Force(or0(float64(in.Point)))}
	if point {
		l.At = in.At.point()
	}
	return l, nil
}
