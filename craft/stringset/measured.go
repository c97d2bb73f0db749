package stringset

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Reading is one note read with a tuner: how sharp the pressed note is, counted from the open string as it
// sounded.
type Reading struct {
	Fret  int
	Cents float64
	SD    float64 // spread of the reading, one standard deviation
}

// UsualReadingSD is the spread of a fretted note from press to press in cents.
// source: Mottola, Savart Journal: ten players, frets 1, 5 and 12 of a G string, ±2 cents (one standard deviation).
const UsualReadingSD = 2

// Doubt is how far the figures a model was made with may be off, one standard deviation each.
type Doubt struct {
	Axial, Bending, Press float64     // relative
	Saddle, Nut           unit.Length // where they really break the string
	Open                  float64     // cents the open string was out of tune when it was read
}

// UsualDoubt is what may be supposed when nothing better is known: a core's diameter is only known by
// common practice, and the place where a rounded saddle breaks the string is hard to see.
// Common practice, no source.
func UsualDoubt() Doubt {
	return Doubt{Axial: 0.15, Bending: 0.3, Press: 0.4, Saddle: 1.5 * unit.MM, Nut: 0.2 * unit.MM, Open: 0.5}
}

// Correction is what readings say about a string.
type Correction struct {
	// Factors by which the string seems stiffer than supposed, in stretch and in bending, and by which it is
	// pressed deeper.
	Axial, Bending, Press float64
	Saddle, Nut           unit.Length // farther back than supposed; setback signs

	Move   unit.Length // of the saddle from where it stands, + away from the nut, for the least error over the fitted frets
	MoveSD unit.Length
	Fitted []float64 // cents at the readings, after the correction and before the move
	Left   []float64 // reading less fitted
	After  []float64 // cents of every fret to expect after the move
	// Chance is how often readings at least as odd as these would come from a sound string with its saddle out of
	// place, given the doubt.
	Chance float64
	Worn   bool // the pattern does not fit a saddle out of place
	Say    unit.Phrase
}

// MostReadings bounds a list of readings.
const MostReadings = 100

const nudges = 6 // saddle, nut, axial, bending, press, open string

// nudged is the model with its doubtful figures changed: metres for saddle and nut, logarithms of factors for
// stretch, bending and press.
func (m *Model) nudged(by [nudges]float64) *Model {
	n := *m
	n.ea *= math.Exp(by[2])
	n.rootEI *= math.Exp(by[3] / 2)
	deeper := float64(m.Setup.Press) * math.Expm1(by[4])
	n.finger = make([]held, len(m.finger))
	for i, f := range m.finger {
		f.y -= deeper
		n.finger[i] = f
	}
	return &n
}

// Correct fits the model to readings and says where to move the saddle.
//
// Every doubtful figure may give, each held back by its doubt (regularised least squares): many readings can
// tell stretch from a saddle out of place, a single one at fret 12 is shared out by what is likelier. The move
// is then the one that leaves the corrected string the least error; its spread carries the doubt that is left.
//
// Valid for: 1 to 100 readings on frets of Range, with spreads 0.02 to 50 cents. Errors are *unit.RangeError naming
// readings, readings[i].fret, .cents or .cents_sd, nut or saddle.
func (m *Model) Correct(nut, saddle unit.Length, readings []Reading, d Doubt) (Correction, error) {
	if err := m.checkReadings(nut, saddle, readings); err != nil {
		return Correction{}, err
	}
	prior := [nudges]float64{float64(d.Saddle), float64(d.Nut), d.Axial, d.Bending, d.Press, d.Open}
	for i, v := range prior {
		if !unit.Finite(v) || v < 0 {
			return Correction{}, &unit.RangeError{Limit: unit.Limit{Field: "doubt", Label: unit.Say("doubt"), Kind: unit.KindRatio, Min: 0, Max: math.Inf(1)}, Value: prior[i], Why: unit.Say("each spread must be a finite number, 0 or more")}
		}
	}
	// The unknowns are in units of their doubt, so a doubt of zero simply never moves.
	by := func(u [nudges]float64) (out [nudges]float64) {
		for i := range u {
			out[i] = u[i] * prior[i]
		}
		return out
	}
	at := func(u [nudges]float64) []float64 {
		b := by(u)
		cents := m.nudged(b).cents(float64(nut)+b[1], float64(saddle)+b[0])
		out := make([]float64, len(readings))
		for i, r := range readings {
			out[i] = cents[r.Fret-m.first] - b[5]
		}
		return out
	}
	move := func(u [nudges]float64) (to float64, after *Model, b [nudges]float64) {
		b = by(u)
		after = m.nudged(b)
		_, to = after.best(float64(nut)+b[1], float64(saddle)+b[0], false)
		return to, after, b
	}

	var u [nudges]float64
	var A [nudges][nudges]float64
	const h = 1e-3
	for range 6 {
		fit := at(u)
		var slope [nudges][]float64
		for j := range u {
			up, down := u, u
			up[j] += h
			down[j] -= h
			hi, lo := at(up), at(down)
			for i := range hi {
				hi[i] = (hi[i] - lo[i]) / (2 * h)
			}
			slope[j] = hi
		}
		var g [nudges]float64
		for j := range u {
			for k := range u {
				A[j][k] = 0
			}
			A[j][j] = 1
			g[j] = -u[j]
			for i, r := range readings {
				w := 1 / (r.SD * r.SD)
				g[j] += w * slope[j][i] * (r.Cents - fit[i])
				for k := range u {
					A[j][k] += w * slope[j][i] * slope[k][i]
				}
			}
		}
		step := solve(A, g)
		change := 0.0
		for j := range u {
			u[j] = min(max(u[j]+step[j], -8), 8)
			change += math.Abs(step[j])
		}
		if change < 1e-9 {
			break
		}
	}

	to, after, b := move(u)
	out := Correction{Axial: math.Exp(b[2]), Bending: math.Exp(b[3]), Press: math.Exp(b[4]), Saddle: unit.Length(b[0]), Nut: unit.Length(b[1]),
		Move: unit.Length(to - float64(saddle) - b[0]), After: after.cents(float64(nut)+b[1], to), Fitted: at(u)}
	oddness := 0.0
	for i, r := range readings {
		left := r.Cents - out.Fitted[i]
		out.Left = append(out.Left, left)
		oddness += sq(left / r.SD)
	}
	var gradient [nudges]float64
	for j := range u {
		oddness += u[j] * u[j]
		up, down := u, u
		up[j] += 0.01
		down[j] -= 0.01
		hi, _, bh := move(up)
		lo, _, bl := move(down)
		gradient[j] = ((hi - bh[0]) - (lo - bl[0])) / 0.02
	}
	spread := solve(A, gradient)
	variance := 0.0
	for j := range u {
		variance += gradient[j] * spread[j]
	}
	out.MoveSD = unit.Length(math.Sqrt(variance))
	// For a linear model this sum is distributed as chi-squared with one degree of freedom for each reading.
	out.Chance = chiSquaredTail(oddness, len(readings))
	out.Worn = out.Chance < 0.01 && len(readings) > 1
	out.Say = out.say(len(readings))
	return out, nil
}

func (c Correction) say(readings int) unit.Phrase {
	back, size := unit.Text("back, away from the nut"), c.Move
	if c.Move < 0 {
		back, size = "forward, toward the nut", -c.Move
	}
	doubt := unit.FineLength(c.MoveSD)
	switch {
	case c.Worn:
		return unit.Say("Cut nothing yet. These readings do not look like a saddle out of place: the string may be worn or faulty, or a fret may be high or misplaced. Put on a fresh string and read again.")
	case c.Chance < 0.01:
		return unit.Say("Cut nothing yet. One reading this far out is more likely a slip or a faulty string: read it again, and read another fret.")
	case size < 0.15*unit.MM:
		return unit.Say("Leave the saddle where it is for this string, give or take %v.", doubt)
	case size < c.MoveSD:
		return unit.Say("Read more frets before moving anything: the move comes to %v, but it may be off by %v.", unit.FineLength(size), doubt)
	case readings == 1:
		return unit.Say("Move this string's place on the saddle %v %v, give or take %v. A reading at one or two more frets would make it surer.", unit.FineLength(size), back, doubt)
	}
	return unit.Say("Move this string's place on the saddle %v %v, give or take %v.", unit.FineLength(size), back, doubt)
}

func (m *Model) checkReadings(nut, saddle unit.Length, readings []Reading) error {
	if err := checkSetbacks(nut, saddle); err != nil {
		return err
	}
	if n := len(readings); n < 1 || n > MostReadings {
		return &unit.RangeError{Limit: unit.Limit{Field: "readings", Label: unit.Say("readings"), Kind: unit.KindCount, Min: 1, Max: MostReadings}, Value: float64(n)}
	}
	for i, r := range readings {
		c := checker{under: fmt.Sprintf("readings[%d].", i)}
		c.need("fret", float64(r.Fret))
		if c.err == nil && (r.Fret < m.first || r.Fret > m.last) {
			c.fail("fret", float64(r.Fret), "this board plays frets %d to %d", m.first, m.last)
		}
		c.need("cents", r.Cents)
		c.need("cents_sd", r.SD)
		if c.err != nil {
			return c.err
		}
	}
	return nil
}

// solve returns x of A·x = b for a positive definite A, by elimination without exchange of rows.
func solve(A [nudges][nudges]float64, b [nudges]float64) [nudges]float64 {
	for i := range nudges {
		for j := i + 1; j < nudges; j++ {
			f := A[j][i] / A[i][i]
			for k := i; k < nudges; k++ {
				A[j][k] -= f * A[i][k]
			}
			b[j] -= f * b[i]
		}
	}
	for i := nudges - 1; i >= 0; i-- {
		for k := i + 1; k < nudges; k++ {
			b[i] -= A[i][k] * b[k]
		}
		b[i] /= A[i][i]
	}
	return b
}

// chiSquaredTail is the chance of more than x with n degrees of freedom, by the cube-root approximation.
// Source: E. B. Wilson and M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684 (from memory); within 0.003 of the
// tabled chances near 1 % and 5 %.
func chiSquaredTail(x float64, n int) float64 {
	v := 2 / (9 * float64(n))
	z := (math.Cbrt(x/float64(n)) - (1 - v)) / math.Sqrt(v)
	return math.Erfc(z/math.Sqrt2) / 2
}
