package figure

import (
	"fmt"

	"fairset/craft/stringset"
	"fairset/unit"
)

const methodStrings = "docs/method/stringset.md"

// stringLimit is stringset.LimitOf with the modulus in the unit its field is named in.
func stringLimit(key string) (unit.Limit, bool) {
	l, ok := stringset.LimitOf(key)
	if l.Field == "young" {
		l.Min, l.Max = l.Min/1e9, l.Max/1e9
	}
	return l, ok
}

// strings

const stringsExample = `{
  "scale_length_mm": "25 1/4 in",
  "strings": [
    {"name": "D2", "midi": 38, "kind": "wound", "diameter_mm": "0.056 in", "core_diameter_mm": 0.49, "density_kg_m3": 7850, "wrap_density_kg_m3": 8800, "young_gpa": 203},
    {"name": "A2", "midi": 45, "kind": "wound", "diameter_mm": 1.08, "core_diameter_mm": 0.42, "density_kg_m3": 7850, "wrap_density_kg_m3": 8800, "young_gpa": 203, "printed_tension_n": 131, "printed_length_mm": 648, "printed_pitch_hz": 110},
    {"name": "B3", "pitch_hz": 246.9, "kind": "plain", "diameter_mm": "16 thou", "density_kg_m3": 7850, "young_gpa": 203}
  ]
}
`

type stringIn struct {
	Name          string      `json:"name" key:"strings.name" doc:"what to call it" default:"\"\""`
	Midi          float64     `json:"midi" key:"strings.midi" doc:"note number of the open string: A4 is 69, E2 is 40; this or pitch_hz" optional:"yes"`
	Pitch         float64     `json:"pitch_hz" key:"strings.pitch" doc:"pitch of the open string; this or midi" optional:"yes"`
	Kind          string      `json:"kind" key:"strings.kind" doc:"plain, bare nylon included, or wound" enum:"plain,wound"`
	Diameter      unit.Length `json:"diameter_mm" doc:"outside"`
	CoreDiameter  unit.Length `json:"core_diameter_mm" doc:"of a wound string; across the flats of a hexagonal core" optional:"yes" zero:"yes"`
	CoreShape     string      `json:"core_shape" key:"strings.core_shape" doc:"of a wound string" enum:"round,hex" default:"\"round\""`
	Density       float64     `json:"density_kg_m3" key:"strings.density" doc:"of a plain string, or of the core"`
	WrapDensity   float64     `json:"wrap_density_kg_m3" key:"strings.wrap_density" doc:"of a wound string's wrap" optional:"yes" zero:"yes"`
	Young         float64     `json:"young_gpa" key:"strings.young" doc:"Young's modulus of a plain string, or of the core"`
	CoreFill      float64     `json:"core_fill" doc:"share of the core's circle that is material; less than 1 for a bundle of filaments" default:"1"`
	BendingFactor float64     `json:"bending_factor" doc:"share of a solid core's bending stiffness that is left" default:"1"`
	Mass          float64     `json:"mu_kg_m" key:"strings.mu" doc:"mass per length as printed on the packet" optional:"yes"`
	PrintedPull   unit.Force  `json:"printed_tension_n" doc:"pull as printed on the packet, with the next two" optional:"yes"`
	PrintedLength unit.Length `json:"printed_length_mm" doc:"length that pull is for" optional:"yes"`
	PrintedPitch  float64     `json:"printed_pitch_hz" key:"strings.printed_pitch" doc:"pitch that pull is for" optional:"yes"`
	MeasuredB     float64     `json:"measured_b" key:"strings.measured_b" doc:"measured inharmonicity at this scale and pitch" optional:"yes"`
	Axial         unit.Force  `json:"axial_stiffness_n" doc:"measured modulus times area" optional:"yes"`
}

type stringsIn struct {
	ScaleLength unit.Length `json:"scale_length_mm" doc:"speaking length, without setbacks"`
	A4          float64     `json:"a4_hz" key:"a4" doc:"pitch of A4" default:"440"`
	Strings     []stringIn  `json:"strings" doc:"the strings in any order; balance is said bass first" items:"1,24"`
}

type stringOut struct {
	Name    string     `json:"name"`
	Pitch   float64    `json:"pitch_hz"`
	Mass    float64    `json:"mu_kg_m"`
	Tension unit.Force `json:"tension_n" doc:"of an ideal flexible string"`
	B       float64    `json:"inharmonicity_b" doc:"partial m lies at m f √(1 + B m²)"`
	Axial   unit.Force `json:"ea_n" doc:"modulus times area"`
	Bending float64    `json:"ei_n_m2" doc:"bending stiffness"`
	Stress  float64    `json:"stress_mpa" doc:"in the plain string or the core"`
	Share   float64    `json:"share" doc:"of the whole pull"`
}

type stringsOut struct {
	Strings   []stringOut `json:"strings" doc:"in the order given"`
	Total     unit.Force  `json:"total_tension_n"`
	BassShare float64     `json:"bass_share" doc:"share of the pull on the first half of the strings given"`
}

// pitchOf reads a pitch given in one of two ways; under goes before the fields' names.
func pitchOf(under string, midi, hz, a4 float64) (unit.Frequency, error) {
	switch {
	case midi != 0 && hz != 0:
		return 0, &Error{under + "pitch_hz", under + "pitch_hz is given besides midi: give one of them", "one of midi and pitch_hz"}
	case hz != 0:
		return unit.Frequency(hz), nil
	case midi != 0:
		return stringset.PitchOf(midi, unit.Frequency(a4))
	}
	return 0, &Error{under + "midi", under + "midi is missing: give the note number or pitch_hz", "one of midi and pitch_hz"}
}

func (in stringIn) make(under string, scale unit.Length, a4 float64) (stringset.String, error) {
	f, err := pitchOf(under, in.Midi, in.Pitch, a4)
	s := stringset.String{Name: in.Name, Pitch: f, Kind: stringset.Kind(in.Kind), Diameter: in.Diameter, CoreDiameter: in.CoreDiameter,
		Density: unit.Density(in.Density), WrapDensity: unit.Density(in.WrapDensity), Young: unit.Stress(in.Young * 1e9),
		CoreFill: in.CoreFill, BendingFactor: in.BendingFactor, Mass: stringset.LineMass(in.Mass), AxialStiffness: in.Axial,
		Printed: stringset.Printed{Tension: in.PrintedPull, Length: in.PrintedLength, Pitch: unit.Frequency(in.PrintedPitch)}}
	if s.Kind == stringset.Wound {
		s.CoreShape = stringset.Core(in.CoreShape)
	}
	if in.MeasuredB != 0 {
		s.Measured = stringset.Measured{B: in.MeasuredB, Length: scale, Pitch: f}
	}
	return s, err
}

func pulls(in stringsIn) (stringsOut, []unit.Warning, []string, error) {
	strs := make([]stringset.String, len(in.Strings))
	for i, s := range in.Strings {
		var err error
		if strs[i], err = s.make(fmt.Sprintf("strings[%d].", i), in.ScaleLength, in.A4); err != nil {
			return stringsOut{}, nil, nil, err
		}
	}
	b, warn, err := stringset.Pulls(strs, in.ScaleLength)
	if err != nil {
		return stringsOut{}, nil, nil, err
	}
	out := stringsOut{Total: b.Total, BassShare: b.BassShare}
	for i, p := range b.Strings {
		out.Strings = append(out.Strings, stringOut{p.Name, float64(strs[i].Pitch), float64(p.Mass), p.Tension, p.B, p.Axial, float64(p.Bending), float64(p.Stress) / 1e6, p.Share})
	}
	return out, warn, []string{methodStrings, "Mersenne's law, T = 4 μ L² f² (textbook)"}, nil
}

// intonation

const intonationExample = `{
  "midi": 45, "kind": "wound", "diameter_mm": 1.07, "core_diameter_mm": 0.42, "density_kg_m3": 7850, "wrap_density_kg_m3": 8800, "young_gpa": 203,
  "scale_length_mm": "25 1/4 in", "nut_height_mm": 0.5, "saddle_height_mm": 4.1, "relief_mm": 0.2, "frets": 20
}
`

// intonationIn spells out the fields of stringIn again, so that both lie in one flat object.
type intonationIn struct {
	Name          string      `json:"name" doc:"what to call the string" default:"\"\""`
	Midi          float64     `json:"midi" doc:"note number of the open string: A4 is 69, E2 is 40; this or pitch_hz" optional:"yes"`
	Pitch         float64     `json:"pitch_hz" key:"pitch" doc:"pitch of the open string; this or midi" optional:"yes"`
	Kind          string      `json:"kind" doc:"plain, bare nylon included, or wound" enum:"plain,wound"`
	Diameter      unit.Length `json:"diameter_mm" doc:"outside"`
	CoreDiameter  unit.Length `json:"core_diameter_mm" doc:"of a wound string; across the flats of a hexagonal core" optional:"yes" zero:"yes"`
	CoreShape     string      `json:"core_shape" doc:"of a wound string" enum:"round,hex" default:"\"round\""`
	Density       float64     `json:"density_kg_m3" key:"density" doc:"of a plain string, or of the core"`
	WrapDensity   float64     `json:"wrap_density_kg_m3" key:"wrap_density" doc:"of a wound string's wrap" optional:"yes" zero:"yes"`
	Young         float64     `json:"young_gpa" key:"young" doc:"Young's modulus of a plain string, or of the core"`
	CoreFill      float64     `json:"core_fill" doc:"share of the core's circle that is material; less than 1 for a bundle of filaments" default:"1"`
	BendingFactor float64     `json:"bending_factor" doc:"share of a solid core's bending stiffness that is left" default:"1"`
	Mass          float64     `json:"mu_kg_m" key:"mu" doc:"mass per length as printed on the packet" optional:"yes"`
	PrintedPull   unit.Force  `json:"printed_tension_n" doc:"pull as printed on the packet, with the next two" optional:"yes"`
	PrintedLength unit.Length `json:"printed_length_mm" doc:"length that pull is for" optional:"yes"`
	PrintedPitch  float64     `json:"printed_pitch_hz" key:"printed_pitch" doc:"pitch that pull is for" optional:"yes"`
	MeasuredB     float64     `json:"measured_b" doc:"measured inharmonicity at this scale and pitch" optional:"yes"`
	Axial         unit.Force  `json:"axial_stiffness_n" doc:"measured modulus times area" optional:"yes"`

	ScaleLength  unit.Length `json:"scale_length_mm" doc:"twice the distance from the nut to fret 12, without setbacks"`
	A4           float64     `json:"a4_hz" key:"a4" doc:"pitch of A4" default:"440"`
	NutHeight    unit.Length `json:"nut_height_mm" doc:"string over the plane of the fret tops, at the nut"`
	SaddleHeight unit.Length `json:"saddle_height_mm" doc:"the same at the saddle"`
	Press        unit.Length `json:"press_mm" doc:"how far the finger presses the string below the crown" default:"0.1"`
	Finger       unit.Length `json:"finger_mm" doc:"distance of the finger behind the crown; 0 for the middle between the frets" default:"0"`
	Relief       unit.Length `json:"relief_mm" doc:"dip of the fret tops, deepest in the middle of its span" default:"0"`
	ReliefEnd    int         `json:"relief_end_fret" doc:"relief runs from the nut to this fret" default:"14"`
	Ends         string      `json:"ends" doc:"how nut or fret and saddle hold the string" enum:"clamped,clamped-pinned,continuous,pinned" default:"\"continuous\""`
	Beyond       unit.Length `json:"beyond_mm" doc:"string past nut and saddle that shares the stretch; 0 when both grip" default:"150"`
	Path         string      `json:"path" doc:"full: over the crowns behind the finger, mass thinning as the string stretches; basic: neither" enum:"full,basic" default:"\"full\""`
	Frets        int         `json:"frets" doc:"how many frets the board carries" default:"20"`
	FitFrets     int         `json:"fit_frets" doc:"the best places are sought over frets 1 to this; when left out, 12 or all of a shorter board" optional:"yes"`
	Weights      []float64   `json:"weights" doc:"how much each of those frets counts, fret 1 first; all alike when left out" items:"1,36" optional:"yes"`
}

type saddleOut struct {
	Saddle unit.Length `json:"saddle_mm" doc:"setback, + away from the nut"`
	RMS    float64     `json:"rms_cents" doc:"over the frets fitted"`
	Cents  []float64   `json:"cents" doc:"of every fret, + sharp"`
}

type nutSaddleOut struct {
	Nut    unit.Length `json:"nut_mm" doc:"setback, + toward fret 1"`
	Saddle unit.Length `json:"saddle_mm" doc:"setback, + away from the nut"`
	RMS    float64     `json:"rms_cents" doc:"over the frets fitted"`
	Cents  []float64   `json:"cents" doc:"of every fret, + sharp"`
}

type intonationOut struct {
	Cents        []float64    `json:"cents" doc:"of every fret without setbacks, fret 1 first, + sharp"`
	RMS          float64      `json:"rms_cents" doc:"of them, over the frets fitted"`
	SaddleOnly   saddleOut    `json:"saddle_only"`
	NutAndSaddle nutSaddleOut `json:"nut_and_saddle"`
	Octave       unit.Length  `json:"octave_saddle_mm" doc:"saddle setback that makes fret 12 true, nut unmoved"`
	Mass         float64      `json:"mu_kg_m"`
	Tension      unit.Force   `json:"tension_n" doc:"of an ideal flexible string"`
	Tuned        unit.Force   `json:"tuned_tension_n" doc:"with stiffness and true length counted"`
	B            float64      `json:"inharmonicity_b"`
	Axial        unit.Force   `json:"ea_n"`
	Bending      float64      `json:"ei_n_m2"`
	Why          unit.Phrase  `json:"why_default" doc:"why ends, beyond_mm and press_mm are what they are when left out"`
}

func intonation(in intonationIn) (intonationOut, []unit.Warning, []string, error) {
	s, err := stringIn{in.Name, in.Midi, in.Pitch, in.Kind, in.Diameter, in.CoreDiameter, in.CoreShape, in.Density, in.WrapDensity, in.Young, in.CoreFill, in.BendingFactor,
		in.Mass, in.PrintedPull, in.PrintedLength, in.PrintedPitch, in.MeasuredB, in.Axial}.make("", in.ScaleLength, in.A4)
	if err != nil {
		return intonationOut{}, nil, nil, err
	}
	set := stringset.Setup{ScaleLength: in.ScaleLength, Frets: in.Frets, NutHeight: in.NutHeight, SaddleHeight: in.SaddleHeight, Press: in.Press, Finger: in.Finger,
		Relief: in.Relief, ReliefEndFret: in.ReliefEnd, Ends: stringset.Ends(in.Ends), Beyond: in.Beyond, Path: stringset.Path(in.Path), FitFrets: in.FitFrets, Weights: in.Weights}
	if set.FitFrets == 0 {
		set.FitFrets = min(12, set.Frets)
	}
	m, warn, err := stringset.New(s, set)
	if err != nil {
		return intonationOut{}, nil, nil, err
	}
	cents, err := m.At(0, 0)
	if err != nil {
		return intonationOut{}, nil, nil, err
	}
	// The octave stands where it stands, though the board may end before it.
	long := set
	long.Frets = max(12, set.Frets)
	lm, _, err := stringset.New(s, long)
	if err != nil {
		return intonationOut{}, nil, nil, err
	}
	octave, ok := lm.Octave(0)
	if !ok {
		return intonationOut{}, nil, nil, &Error{"saddle_height_mm", "with these figures no place of the saddle makes fret 12 true: check the heights, the gauge and the modulus", "heights and a string that a guitar could have"}
	}
	one, two := m.SaddleOnly(), m.NutAndSaddle()
	warn = append(warn, two.Doubts()...)
	if two.Doubts() == nil {
		warn = append(warn, one.Doubts()...)
	}
	return intonationOut{cents.Cents, cents.RMS, saddleOut{one.Saddle, one.RMS, one.Cents}, nutSaddleOut{two.Nut, two.Saddle, two.RMS, two.Cents}, octave,
			float64(m.Mass), m.Tension, m.Tuned(), m.B, m.Axial, float64(m.Bending), stringset.WhyDefault()}, warn,
		[]string{methodStrings, "stiff string: P. M. Morse 1936, H. Fletcher 1964 (from memory), checked against the exact frequency equation"}, nil
}
