package guitar

import (
	"math"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/unit"
)

// otherFrets are the suffixes of the frets besides 12 that a tuner may be read at.
var otherFrets = []string{"", "2"}

// StringCorrection is what readings say about one string's place on the saddle.
type StringCorrection struct {
	Name     string
	Readings []stringset.Reading
	stringset.Correction
}

// Near reports whether every note read is as true as a bench asks for: then nothing need be moved, whatever
// the fit would still gain.
func (c StringCorrection) Near() bool {
	for _, r := range c.Readings {
		if math.Abs(r.Cents) > centsClose {
			return false
		}
	}
	return true
}

// Odd reports whether the readings do not look like a saddle out of place: a worn or faulty string, or a slip.
func (c StringCorrection) Odd() bool { return c.Worn || c.Chance < 0.01 }

// Advice says what to do about one string.
func (c StringCorrection) Advice() unit.Phrase {
	if c.Near() && !c.Odd() {
		return unit.Say("Within %.0f cents: leave it.", centsClose)
	}
	return c.Say
}

// settingRead is how high the strings lie as read on the strung guitar; what was not read is as designed.
func settingRead(d, strung Values) setting {
	s := setting{action: neckset.Sides{Bass: strung.Length("action_bass"), Treble: strung.Length("action_treble")}, relief: Build(d).Relief}
	if strung.Has("relief") {
		s.relief = strung.Length("relief")
	}
	if strung.Has("nut_bass") && strung.Has("nut_treble") {
		over := stringset.Setup{ScaleLength: d.Length("scale_length"), Relief: s.relief, ReliefEndFret: d.Count("joint_fret")}
		first := fretting.Distance(over.ScaleLength, 1)
		// The string is straight over fret 1 and fret 12, both of which the relief has lowered.
		at := func(one, twelve unit.Length) unit.Length {
			return nutFrom(one-over.Drop(first), twelve-over.Drop(over.ScaleLength/2), first, over.ScaleLength)
		}
		s.nut = &neckset.Sides{Bass: at(strung.Length("nut_bass"), s.action.Bass), Treble: at(strung.Length("nut_treble"), s.action.Treble)}
	}
	return s
}

// nutFrom is the height at the nut of a straight string with these heights over the same line at fret 1 and
// fret 12. Readings round: what comes out a hair under the line lies on it.
func nutFrom(one, twelve, first, scale unit.Length) unit.Length {
	k := float64(first / (scale / 2))
	return max(0, unit.Length((float64(one)-k*float64(twelve))/(1-k)))
}

// readingsOf gathers what a tuner said of each string, bass first; nil when nothing was read.
func readingsOf(strung Values, strs int) [][]stringset.Reading {
	out := make([][]stringset.Reading, strs)
	some := false
	add := func(fret int, key string) {
		if len(strung[key]) != strs {
			return
		}
		for i, c := range strung[key] {
			out[i] = append(out[i], stringset.Reading{Fret: fret, Cents: c.SI, SD: stringset.UsualReadingSD})
			some = true
		}
	}
	add(12, "cents")
	for _, n := range otherFrets {
		if f := strung.Count("cents_fret" + n); f > 0 {
			add(f, "cents_other"+n)
		}
	}
	if !some {
		return nil
	}
	return out
}

// strungModels are the strings of a design at a setting, with nut and saddle where they were made: the
// saddle as chosen, at the setback the neck set goes by.
type strungModels struct {
	in          Intonation
	models      []*stringset.Model
	nut, saddle []unit.Length
}

func modelsAt(d Values, set setting) (strungModels, error) {
	in, err := IntonationOf(d)
	if err != nil {
		return strungModels{}, err
	}
	out := strungModels{in: in, nut: in.Nut, saddle: make([]unit.Length, len(in.Saddle))}
	made := Build(d).SaddleSetback
	for i, s := range in.Saddle {
		out.saddle[i] = s + made - in.Centre
	}
	if out.models, err = in.modelsAt(d, set); err != nil {
		return strungModels{}, err
	}
	return out, nil
}

func (in Intonation) modelsAt(d Values, set setting) ([]*stringset.Model, error) {
	strung, err := strungAt(d, in.Strings, in.Across, set)
	if err != nil {
		return nil, err
	}
	models, _, err := stringset.Strings(strung)
	if err != nil {
		return nil, designError(d, err)
	}
	return models, nil
}

// Correct says what the cents read on the strung guitar mean for each string's place on the saddle: at fret
// 12, and at the other frets that were read. Strings lie as high as they were read. It is nil when no cents
// were read. Errors are Problems naming the design's fields.
func Correct(d, strung Values) ([]StringCorrection, error) {
	readings := readingsOf(strung, d.Count("strings"))
	if readings == nil {
		return nil, nil
	}
	m, err := modelsAt(d, settingRead(d, strung))
	if err != nil {
		return nil, err
	}
	return m.correct(d, readings)
}

func (m strungModels) correct(d Values, readings [][]stringset.Reading) ([]StringCorrection, error) {
	out := make([]StringCorrection, len(m.models))
	for i, model := range m.models {
		c, err := model.Correct(m.nut[i], m.saddle[i], readings[i], stringset.UsualDoubt())
		if err != nil {
			return nil, designError(d, under(err, i))
		}
		out[i] = StringCorrection{Name: model.String.Name, Readings: readings[i], Correction: c}
	}
	return out, nil
}

// checkCents checks that cents were read for every string at frets the board has.
func (g Guitar) checkCents(v Values, problem func(key string, got any, why unit.Text, args ...any)) {
	d := g.Design()
	strs := d.Count("strings")
	each := func(key string) {
		if n := len(v[key]); n > 0 && strs > 0 && n != strs {
			problem(key, unit.Say("%d figures", n), "give one for each of the %d strings", strs)
		}
	}
	each("cents")
	seen := map[int]bool{12: true}
	for _, n := range otherFrets {
		fret, other := "cents_fret"+n, "cents_other"+n
		each(other)
		switch f := v.Count(fret); {
		case v.Has(fret) != v.Has(other) && v.Has(fret):
			problem(other, unit.Say("left empty"), "give the cents read there, one for each string, or leave the fret empty too")
		case v.Has(fret) != v.Has(other):
			problem(fret, unit.Say("left empty"), "say at which fret they were read")
		case f == 0:
		case seen[f]:
			problem(fret, v[fret][0].Text, "that fret is given already")
		case d.Has("frets") && f > d.Count("frets"):
			problem(fret, v[fret][0].Text, "the board has only %d frets", d.Count("frets"))
		default:
			seen[f] = true
		}
	}
}

// mean12 is how sharp the strings are on average at a fret.
func (m strungModels) mean(models []*stringset.Model, fret int) (float64, bool) {
	sum := 0.0
	for i, model := range models {
		c, err := model.Cents(m.nut[i], m.saddle[i])
		first, last := model.Range()
		if err != nil || fret < first || fret > last {
			return 0, false
		}
		sum += c[fret-first]
	}
	return sum / float64(len(models)), true
}

// setupGeometry is what the order of a setup is worked out from: the neck set's straight line over the frets.
type setupGeometry struct{ L, S, l, u1, D, perRelief12 float64 }

func geometryOf(b neckset.Build) setupGeometry {
	L, S := float64(b.ScaleLength), float64(b.SaddleSetback)
	l := L * (1 - math.Exp2(-float64(b.JointFret)/12))
	g := setupGeometry{L: L, S: S, l: l, u1: L * (1 - math.Exp2(-1.0/12)), D: L - l + S - float64(b.JointOffset)}
	if L/2 < l {
		g.perRelief12 = 4 * (L/2 - g.u1) * (l - L/2) / ((l - g.u1) * (l - g.u1))
	}
	return g
}

// actionOfRelief is how far the action at fret 12 rises for each length of relief that a rod lets the neck have:
// fret 12 dips, and the whole line of the frets drops at the saddle, as the neck set has it.
func (g setupGeometry) actionOfRelief() float64 {
	return g.perRelief12 + 4*g.D/g.l*(g.L/2)/(g.L+g.S)
}

// actionOfNut is the same for each length of nut.
func (g setupGeometry) actionOfNut() float64 { return (g.L/2 + g.S) / (g.L + g.S) }

// saddleOfAction is the saddle's height for each length of action at fret 12.
func (g setupGeometry) saddleOfAction() float64 { return (g.L + g.S) / (g.L / 2) }
