package stringset

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Strung is a string in its place on a guitar.
type Strung struct {
	String
	Setup
	Across unit.Length // of the string at the saddle, from the centreline; + to treble
}

// Strings makes the models of a guitar's strings, bass first. Errors are *unit.RangeError naming strings
// or the field ("strings[2].diameter").
func Strings(all []Strung) ([]*Model, []unit.Warning, error) {
	c := checker{}
	if n := len(all); n < 1 || n > MostStrings {
		return nil, nil, &unit.RangeError{Limit: unit.Limit{Field: "strings", Label: unit.Say("strings"), Kind: unit.KindCount, Min: 1, Max: MostStrings}, Value: float64(n)}
	}
	out := make([]*Model, len(all))
	for i, s := range all {
		c.under = fmt.Sprintf("strings[%d].", i)
		c.need("across", float64(s.Across))
		out[i] = build(&c, s.String, s.Setup)
		if c.err != nil {
			return nil, nil, c.err
		}
	}
	return out, c.warns, nil
}

// Row is one string of a Map.
type Row struct {
	Name        string
	Nut, Saddle unit.Length
	First       int       // the fret of the first figure
	Cents       []float64 // of each fret
	RMS         float64   // over the frets fitted
	CapoPull    float64   // cents the open string went sharp by when the capo was put on, before retuning
}

// Map is how sharp every note on the board is.
type Map struct {
	Rows                []Row   // bass first
	RMS                 float64 // over the fitted frets of all strings
	Worst               float64 // the note farthest from true, with its sign, of the fitted frets
	WorstRow, WorstFret int
}

// Board returns the cents of every note with each string's nut and saddle set back as given: one figure for
// each string, or none for no setback. Errors are *unit.RangeError naming nut or saddle.
func Board(models []*Model, nut, saddle []unit.Length) (Map, error) {
	for _, l := range []struct {
		field string
		label unit.Text
		n     int
	}{{"nut", "setbacks of the nut", len(nut)}, {"saddle", "setbacks of the saddle", len(saddle)}} {
		if l.n != 0 && l.n != len(models) {
			limit := unit.Limit{Field: l.field, Label: unit.Say(l.label), Kind: unit.KindCount}
			return Map{}, &unit.RangeError{Limit: limit, Value: float64(l.n), Why: unit.Say("give one for each of the %d strings", len(models))}
		}
	}
	at := func(list []unit.Length, i int) unit.Length {
		if len(list) == 0 {
			return 0
		}
		return list[i]
	}
	out := Map{Rows: make([]Row, len(models))}
	sum, weights := 0.0, 0.0
	for i, m := range models {
		s, err := m.At(at(nut, i), at(saddle, i))
		if err != nil {
			return Map{}, err
		}
		out.Rows[i] = Row{Name: m.String.Name, Nut: s.Nut, Saddle: s.Saddle, First: m.first, Cents: s.Cents, RMS: s.RMS, CapoPull: m.CapoPull(s.Nut, s.Saddle)}
		sum += s.RMS * s.RMS * m.weightSum
		weights += m.weightSum
		for j := range m.weight {
			if c := s.Cents[j]; math.Abs(c) > math.Abs(out.Worst) {
				out.Worst, out.WorstRow, out.WorstFret = c, i, m.first+j
			}
		}
	}
	out.RMS = math.Sqrt(sum / weights)
	return out, nil
}

// Straight is a saddle in one straight line: setback = Centre + Slope × place across.
type Straight struct {
	Centre unit.Length // setback on the centreline
	Slope  float64     // of setback over place across; usually negative, the bass end standing farther back
	Angle  unit.Angle  // of the line to the frets, with the sign of Slope
	Saddle []unit.Length
	Map    Map
}

// StraightSaddle returns the straight, slanted saddle that leaves the least root-mean-square error over the
// fitted frets of all strings, two figures in all, with each string's nut set back as given (none for no
// setback). With one string, or all in one place, the line is square.
//
// Errors are *unit.RangeError naming strings, across or nut.
func StraightSaddle(models []*Model, across, nut []unit.Length) (Straight, error) {
	if len(across) != len(models) || len(models) == 0 {
		return Straight{}, &unit.RangeError{Limit: fieldLimits["across"], Value: math.NaN(), Got: fmt.Sprint(len(across)), Why: unit.Say("give one place for each of the %d strings", len(models))}
	}
	for _, z := range across {
		if err := fieldLimits["across"].Check(float64(z)); err != nil {
			return Straight{}, err
		}
	}
	if _, err := Board(models, nut, nil); err != nil {
		return Straight{}, err
	}
	// Places are taken from their middle, in units of half the spread, so that both unknowns are setbacks of
	// like size and nearly independent.
	lo, hi := float64(across[0]), float64(across[0])
	for _, z := range across {
		lo, hi = min(lo, float64(z)), max(hi, float64(z))
	}
	middle, reach := (lo+hi)/2, (hi-lo)/2
	if reach < 1e-9 {
		reach = 0
	}
	var a, b float64
	for range 40 {
		var aa, ab, bb, ga, gb float64
		for i, m := range models {
			z := 0.0
			if reach > 0 {
				z = (float64(across[i]) - middle) / reach
			}
			n := 0.0
			if len(nut) > 0 {
				n = float64(nut[i])
			}
			_, ss, _, _, gs, _ := m.normal(n, a+b*z)
			aa, ab, bb = aa+ss, ab+z*ss, bb+z*z*ss
			ga, gb = ga+gs, gb+z*gs
		}
		var da, db float64
		if reach > 0 {
			det := aa*bb - ab*ab
			da, db = -(bb*ga-ab*gb)/det, -(aa*gb-ab*ga)/det
		} else {
			da = -ga / aa
		}
		a, b = a+da, b+db
		if math.Abs(da)+math.Abs(db) < 1e-11 {
			break
		}
	}
	out := Straight{Saddle: make([]unit.Length, len(models))}
	if reach > 0 {
		out.Slope = b / reach
	}
	out.Angle = unit.Angle(math.Atan(out.Slope))
	out.Centre = unit.Length(a - out.Slope*middle)
	for i, z := range across {
		out.Saddle[i] = out.Centre + unit.Length(out.Slope)*z
	}
	var err error
	out.Map, err = Board(models, nut, out.Saddle)
	return out, err
}

// Compensated is a saddle with its own place for every string.
type Compensated struct {
	Nut, Saddle []unit.Length
	Map         Map
	Slope       float64     // of the slot that needs the narrowest blank
	Angle       unit.Angle  // of that slot to the frets
	Centre      unit.Length // setback of the middle of the blank, on the centreline
	Blank       unit.Length // width the blank must have, square across the slot
	// BlankSquare is the width for a slot parallel to the frets.
	BlankSquare unit.Length
}

// CompensatedSaddle returns each string's best saddle, with its best nut setback too when nutToo is set, and the
// narrowest blank that holds all the places with edge to spare on both sides: the strip between two parallel
// lines, one of which passes through two of the places.
//
// Valid for: edge 0 to 5 mm. Errors are *unit.RangeError naming edge, strings or across.
func CompensatedSaddle(models []*Model, across []unit.Length, nutToo bool, edge unit.Length) (Compensated, error) {
	if err := fieldLimits["edge"].Check(float64(edge)); err != nil {
		return Compensated{}, err
	}
	if len(across) != len(models) || len(models) == 0 {
		return Compensated{}, &unit.RangeError{Limit: fieldLimits["across"], Value: math.NaN(), Got: fmt.Sprint(len(across)), Why: unit.Say("give one place for each of the %d strings", len(models))}
	}
	out := Compensated{}
	for i, m := range models {
		if err := fieldLimits["across"].Check(float64(across[i])); err != nil {
			return Compensated{}, err
		}
		s := m.SaddleOnly()
		if nutToo {
			s = m.NutAndSaddle()
		}
		out.Nut, out.Saddle = append(out.Nut, s.Nut), append(out.Saddle, s.Saddle)
	}
	var err error
	if out.Map, err = Board(models, out.Nut, out.Saddle); err != nil {
		return Compensated{}, err
	}
	width, slope, centre := strip(across, out.Saddle)
	out.Slope, out.Angle = slope, unit.Angle(math.Atan(slope))
	out.Centre, out.Blank = unit.Length(centre), unit.Length(width)+2*edge
	lo, hi := out.Saddle[0], out.Saddle[0]
	for _, s := range out.Saddle {
		lo, hi = min(lo, s), max(hi, s)
	}
	out.BlankSquare = hi - lo + 2*edge
	return out, nil
}

// strip is the narrowest strip over all the points that is not steeper than 30°: with few strings every pair is
// tried.
func strip(across, saddle []unit.Length) (width, slope, centre float64) {
	try := func(k float64) (w, c float64) {
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range across {
			v := float64(saddle[i]) - k*float64(across[i])
			lo, hi = min(lo, v), max(hi, v)
		}
		return (hi - lo) / math.Hypot(1, k), (lo + hi) / 2
	}
	width, centre = try(0)
	for i := range across {
		for j := range i {
			run := float64(across[i] - across[j])
			if math.Abs(run) < 1e-9 {
				continue
			}
			k := float64(saddle[i]-saddle[j]) / run
			if w, c := try(k); math.Abs(k) < math.Tan(math.Pi/6) && w < width {
				width, slope, centre = w, k, c
			}
		}
	}
	return width, slope, centre
}

// Occasion is a way of playing the guitar: another tuning, a capo, or both.
type Occasion struct {
	Name   unit.Phrase
	Tuning Tuning // the strings as they are when it has no notes
	Steps  []int  // semitones each string is then taken up from there; none when empty
	Capo   Capo
}

// Occasions returns those most asked for: capos, and for six strings the common tunings, each by the steps it
// lies from standard so that it suits a baritone too; for other numbers, all strings a half step down.
// Source: common practice, no source.
func Occasions(strs int) []Occasion {
	out := []Occasion{{Name: unit.Say("as it is tuned")}}
	for _, n := range []int{2, 4, 7} {
		out = append(out, Occasion{Name: unit.Say("capo at fret %d", n), Capo: Capo{Fret: n, Press: 0.2 * unit.MM}})
	}
	named := func(key string) Tuning {
		t, err := FindTuning(key)
		if err != nil {
			panic(err) // our own table
		}
		return t
	}
	standard := named("standard").Notes
	if strs != len(standard) {
		down := make([]int, strs)
		for i := range down {
			down[i] = -1
		}
		return append(out, Occasion{Name: unit.Say("Half step down"), Steps: down})
	}
	for _, key := range []string{"drop-d", "half-step-down", "dadgad", "open-g"} {
		t := named(key)
		o := Occasion{Name: unit.Say(t.Name), Steps: make([]int, strs)}
		for i, n := range t.Notes {
			o.Steps[i] = int(n - standard[i])
		}
		out = append(out, o)
	}
	return out
}

// Score is how a saddle does on one occasion.
type Score struct {
	Name unit.Phrase
	Map  Map
}

// Rescore plays a guitar on each occasion with nut and saddle left where they are. Heights are taken as they
// were: a slacker tuning lets the neck straighten and the action drop a little, which is left out.
//
// Errors are *unit.RangeError naming the string's field, tuning, capo, a4, nut or saddle.
func Rescore(all []Strung, nut, saddle []unit.Length, a4 unit.Frequency, occasions []Occasion) ([]Score, []unit.Warning, error) {
	var warns []unit.Warning
	out := make([]Score, 0, len(occasions))
	for _, o := range occasions {
		strung := make([]Strung, len(all))
		copy(strung, all)
		if len(o.Tuning.Notes) > 0 {
			plain := make([]String, len(all))
			for i, s := range all {
				plain[i] = s.String
			}
			tuned, err := Tune(plain, o.Tuning, a4)
			if err != nil {
				return nil, nil, err
			}
			for i := range strung {
				strung[i].String = tuned[i]
			}
		}
		if n := len(o.Steps); n != 0 && n != len(all) {
			return nil, nil, &unit.RangeError{Limit: unit.Limit{Field: "tuning", Label: unit.Say("steps of the tuning"), Kind: unit.KindCount}, Value: float64(n), Why: unit.Say("give one for each of the %d strings", len(all))}
		}
		for i := range strung {
			if len(o.Steps) > 0 {
				strung[i].Pitch *= unit.Frequency(math.Exp2(float64(o.Steps[i]) / 12))
			}
			if o.Capo.Fret != 0 {
				strung[i].Capo = o.Capo
			}
		}
		models, w, err := Strings(strung)
		if err != nil {
			return nil, nil, err
		}
		m, err := Board(models, nut, saddle)
		if err != nil {
			return nil, nil, err
		}
		for _, w := range w {
			w.Say = unit.Join(unit.Say("%v:", o.Name), w.Say)
			warns = append(warns, w)
		}
		out = append(out, Score{o.Name, m})
	}
	return out, warns, nil
}
