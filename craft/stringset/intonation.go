package stringset

import (
	"math"

	"fairset/unit"
)

// span is a length of string with its derivatives for saddle and nut setback.
type span struct{ v, saddle, nut float64 }

func (a span) plus(b span) span { return span{a.v + b.v, a.saddle + b.saddle, a.nut + b.nut} }

// taut is the tight line from a to b over the crowns between that stand in its way, and the direction cosine
// of its first leg: at each point the next is the one seen highest.
func taut(a, b point, between []point) (length, cosine float64) {
	at := a
	for {
		next, left := b, len(between)
		rise := (b.y - at.y) / (b.x - at.x)
		for i, p := range between {
			if r := (p.y - at.y) / (p.x - at.x); r > rise {
				rise, next, left = r, p, i+1
			}
		}
		d := at.to(next)
		if at == a {
			cosine = (next.x - at.x) / d
		}
		length += d
		if left == len(between) && next == b {
			return length, cosine
		}
		at, between = next, between[left:]
	}
}

// run is the tight line from a to the finger; the crowns are left out on the basic path.
func (m *Model) run(a, b point, between []point) (length, cosine float64) {
	if !m.full {
		between = nil
	}
	return taut(a, b, between)
}

// state is what does not depend on the fret.
type state struct {
	nut, saddle point
	open        span // the whole open string, without a capo
	head        span // nut to the crown under the capo; zero without one
	from        int  // the crown the head ends at
	stretchRef  span // of the sounding open string over the open one
	lengthRef   float64
	tension     span // of the sounding open string
	mass        float64
}

// lengths returns the whole length and the speaking length of the string pressed at fret n.
func (m *Model) lengths(st *state, n int, f held) (whole, speaking span) {
	crown, finger := m.crown[n], f.point
	d := crown.to(st.saddle)
	speaking = span{v: d, saddle: (st.saddle.x - crown.x) / d}
	follows := 0.0 // how much of the nut's move the finger follows
	if n == 1 && f.middle {
		follows, finger.x = 0.5, finger.x+st.nut.x/2
	}
	back := finger.to(crown)
	whole = span{v: back, nut: -follows * (crown.x - finger.x) / back}
	if st.from > 0 {
		v, _ := m.run(m.crown[st.from], finger, m.crown[st.from+1:n])
		whole.v += v
		whole = whole.plus(st.head)
	} else {
		v, cos := m.run(st.nut, finger, m.crown[1:n])
		whole = whole.plus(span{v: v, nut: -cos * (1 - follows)})
	}
	return whole.plus(speaking), speaking
}

// stretch is the strain over the open string, shared with the string beyond nut and saddle.
func (m *Model) stretch(st *state, whole span) span {
	give := st.open.v + m.beyond
	e := (whole.v - st.open.v) / give
	return span{e, (whole.saddle-st.open.saddle)/give - e*st.open.saddle/give, (whole.nut-st.open.nut)/give - e*st.open.nut/give}
}

// massAt is the mass per length at a strain, with the relative derivatives.
func (m *Model) massAt(e span) (mu float64, saddle, nut float64) {
	if !m.full {
		return m.mu, 0, 0
	}
	return m.mu / (1 + e.v), -e.saddle / (1 + e.v), -e.nut / (1 + e.v)
}

// begin works out the tension that sounds the open string at its pitch, with nut and saddle where they are.
//
// With q = √EI/l the pitch is (√T + k·q + c·q²/√T) / (2·l·√μ), so √T is the larger root of a quadratic.
func (m *Model) begin(nut, saddle float64) state {
	st := state{nut: point{nut, m.hN}, saddle: point{m.L + saddle, m.hS}}
	d := st.nut.to(st.saddle)
	cos := (st.saddle.x - st.nut.x) / d
	st.open = span{d, cos, -cos}
	sounding, strain := st.open, span{}
	if n := m.Setup.Capo.Fret; n > 0 {
		whole, speaking := m.lengths(&st, n, m.capoAt)
		st.head = span{whole.v - speaking.v, 0, whole.nut}
		st.from, sounding = n, speaking
		strain = m.stretch(&st, whole)
	}
	st.stretchRef, st.lengthRef = strain, sounding.v
	st.tension, st.mass = m.tune(sounding, strain, m.pitch)
	return st
}

// tune returns the tension at which a length of this strain sounds a pitch.
func (m *Model) tune(l, strain span, pitch float64) (tension span, mass float64) {
	mu, muSaddle, muNut := m.massAt(strain)
	q := m.rootEI / l.v
	a := 2 * l.v * pitch * math.Sqrt(mu)
	b := a - m.k*q
	root := (b + math.Sqrt(b*b-4*m.c*q*q)) / 2
	slope := func(lp, mup float64) float64 {
		dq := -q * lp / l.v
		db := a*(lp/l.v+mup/2) - m.k*dq
		return 2 * root * (db*root - 2*m.c*q*dq) / (2*root - b)
	}
	return span{root * root, slope(l.saddle, muSaddle), slope(l.nut, muNut)}, mu
}

// note is how sharp a fret is, with its derivatives in cents per metre.
func (m *Model) note(st *state, n int) span {
	whole, l := m.lengths(st, n, m.finger[n])
	e := m.stretch(st, whole)
	mu, muSaddle, muNut := m.massAt(e)
	T := st.tension.v + m.ea*(e.v-st.stretchRef.v)
	root := math.Sqrt(T)
	q := m.rootEI / l.v
	g := root + m.k*q + m.c*q*q/root
	slope := func(Tp, ep, refp, lp, mup float64) float64 {
		dRoot := (Tp + m.ea*(ep-refp)) / (2 * root)
		dq := -q * lp / l.v
		dg := dRoot*(1-m.c*q*q/T) + dq*(m.k+2*m.c*q/root)
		return cent * (dg/g - lp/l.v - mup/2)
	}
	f := g / (2 * l.v * math.Sqrt(mu))
	return span{
		cent*math.Log(f/m.pitch) - 100*float64(n-m.Setup.Capo.Fret),
		slope(st.tension.saddle, e.saddle, st.stretchRef.saddle, l.saddle, muSaddle),
		slope(st.tension.nut, e.nut, st.stretchRef.nut, 0, muNut),
	}
}

func checkSetbacks(nut, saddle unit.Length) error {
	return unit.Checks(fieldLimits["nut"].Check(float64(nut)), fieldLimits["saddle"].Check(float64(saddle)))
}

// Cents returns how sharp each fret sounds with nut and saddle set back so far; the frets are those of
// Range. Errors are *unit.RangeError naming nut or saddle.
func (m *Model) Cents(nut, saddle unit.Length) ([]float64, error) {
	if err := checkSetbacks(nut, saddle); err != nil {
		return nil, err
	}
	return m.cents(float64(nut), float64(saddle)), nil
}

func (m *Model) cents(nut, saddle float64) []float64 {
	st := m.begin(nut, saddle)
	out := make([]float64, m.last-m.first+1)
	for i := range out {
		out[i] = m.note(&st, m.first+i).v
	}
	return out
}

// Tuned returns the pull of the open string once it is in tune, its stiffness and true length counted.
func (m *Model) Tuned() unit.Force {
	return unit.Force(m.begin(0, 0).tension.v)
}

// CapoPull returns how many cents sharp the open string goes when the capo is put on and nothing is
// retuned; 0 without a capo.
func (m *Model) CapoPull(nut, saddle unit.Length) float64 {
	n := m.Setup.Capo.Fret
	if n == 0 {
		return 0
	}
	st := m.begin(float64(nut), float64(saddle))
	T0, _ := m.tune(st.open, span{}, m.pitchBeforeCapo)
	T := T0.v + m.ea*st.stretchRef.v
	q, root := m.rootEI/st.lengthRef, math.Sqrt(T)
	return cent * math.Log((root+m.k*q+m.c*q*q/root)/(2*st.lengthRef*math.Sqrt(st.mass))/m.pitch)
}

// Causes is what makes a note sharp, in cents; they add up to the whole.
type Causes struct{ Length, Tension, Mass, Stiffness float64 }

// Causes splits a fret's error with nut and saddle set back so far. Errors are *unit.RangeError naming fret, nut or
// saddle.
func (m *Model) Causes(fret int, nut, saddle unit.Length) (Causes, error) {
	if err := checkSetbacks(nut, saddle); err != nil {
		return Causes{}, err
	}
	if fret < m.first || fret > m.last {
		l := fieldLimits["fret"]
		l.Min, l.Max = float64(m.first), float64(m.last)
		return Causes{}, &unit.RangeError{Limit: l, Value: float64(fret)}
	}
	st := m.begin(float64(nut), float64(saddle))
	whole, l := m.lengths(&st, fret, m.finger[fret])
	e := m.stretch(&st, whole)
	mu, _, _ := m.massAt(e)
	T := st.tension.v + m.ea*(e.v-st.stretchRef.v)
	series := func(T, l float64) float64 {
		x := m.rootEI / math.Sqrt(T) / l
		return 1 + m.k*x + m.c*x*x
	}
	return Causes{
		Length:    cent*math.Log(st.lengthRef/l.v) - 100*float64(fret-m.Setup.Capo.Fret),
		Tension:   cent / 2 * math.Log(T/st.tension.v),
		Mass:      cent / 2 * math.Log(st.mass/mu),
		Stiffness: cent * math.Log(series(T, l.v)/series(st.tension.v, st.lengthRef)),
	}, nil
}

// Setback is a place for nut and saddle and what it leaves.
type Setback struct {
	Nut, Saddle unit.Length
	RMS         float64   // cents, over the frets fitted
	Cents       []float64 // of all frets, as Model.Cents
}

// At returns what a place of nut and saddle leaves. Errors are *unit.RangeError naming nut or saddle.
func (m *Model) At(nut, saddle unit.Length) (Setback, error) {
	if err := checkSetbacks(nut, saddle); err != nil {
		return Setback{}, err
	}
	return m.setback(float64(nut), float64(saddle)), nil
}

func (m *Model) setback(nut, saddle float64) Setback {
	s := Setback{Nut: unit.Length(nut), Saddle: unit.Length(saddle), Cents: m.cents(nut, saddle)}
	sum := 0.0
	for i, w := range m.weight {
		sum += w * s.Cents[i] * s.Cents[i]
	}
	s.RMS = math.Sqrt(sum / m.weightSum)
	return s
}

// SaddleOnly returns the saddle that leaves the least root-mean-square error over the fitted frets, with
// the nut where its slot for the scale length is.
func (m *Model) SaddleOnly() Setback {
	_, saddle := m.best(0, 0, false)
	return m.setback(0, saddle)
}

// SaddleFor is SaddleOnly for a nut already set back. Errors are *unit.RangeError naming nut.
func (m *Model) SaddleFor(nut unit.Length) (Setback, error) {
	if err := checkSetbacks(nut, 0); err != nil {
		return Setback{}, err
	}
	_, saddle := m.best(float64(nut), 0, false)
	return m.setback(float64(nut), saddle), nil
}

// NutAndSaddle returns the places of both that leave the least error. With a capo on, the nut hardly matters
// and is left where it is.
func (m *Model) NutAndSaddle() Setback {
	// From the saddle's own best place on, so that it can only get better.
	_, saddle := m.best(0, 0, false)
	return m.setback(m.best(0, saddle, m.Setup.Capo.Fret == 0))
}

// Doubts warns of a setback that no guitar has: then a figure of the string or its setup is likely wrong.
// The usual range is common practice, no source.
func (s Setback) Doubts() []unit.Warning {
	if s.Saddle >= -2*unit.MM && s.Saddle <= 12*unit.MM && s.Nut >= -1*unit.MM && s.Nut <= 4*unit.MM {
		return nil
	}
	return []unit.Warning{{Code: "unusual_setback", Say: unit.Say("The best place comes to %v behind the scale length at the saddle and %v in front of it at the nut: no guitar has that, so check gauge, stiffness, heights and the finger.", unit.FineLength(s.Saddle), unit.FineLength(s.Nut))}}
}

// normal is the weighted normal equations of the fit at one place.
func (m *Model) normal(nut, saddle float64) (sum, ss, sn, nn, gs, gn float64) {
	st := m.begin(nut, saddle)
	for i, w := range m.weight {
		c := m.note(&st, m.first+i)
		sum += w * c.v * c.v
		ss += w * c.saddle * c.saddle
		sn += w * c.saddle * c.nut
		nn += w * c.nut * c.nut
		gs += w * c.saddle * c.v
		gn += w * c.nut * c.v
	}
	return
}

// best is Gauss and Newton's method with the exact slopes: cents are so nearly straight in the setbacks that
// three or four steps reach the last digit.
func (m *Model) best(nut, saddle float64, both bool) (float64, float64) {
	sum, ss, sn, nn, gs, gn := m.normal(nut, saddle)
	for range 40 {
		var dn, ds float64
		if both {
			// The ridge decides only when one fret is to place two things: then both move least.
			ridge := 1e-12 * (ss + nn)
			a, b := ss+ridge, nn+ridge
			det := a*b - sn*sn
			ds, dn = -(b*gs-sn*gn)/det, -(a*gn-sn*gs)/det
		} else {
			ds = -gs / ss
		}
		if math.Abs(dn)+math.Abs(ds) < 1e-10 { // a ten-millionth of a millimetre
			break
		}
		for half := 1.0; ; half /= 2 {
			if half < 1e-6 {
				return nut, saddle
			}
			var next float64
			next, ss, sn, nn, gs, gn = m.normal(nut+half*dn, saddle+half*ds)
			if next <= sum*(1+1e-9)+1e-12 { // near the end the sum's own rounding shows
				nut, saddle, sum = nut+half*dn, saddle+half*ds, next
				break
			}
		}
	}
	return nut, saddle
}

// Octave returns the saddle that makes the note an octave over the sounding open string true, with the nut set
// back so far; ok is false when the board does not reach it.
func (m *Model) Octave(nut unit.Length) (saddle unit.Length, ok bool) {
	n := m.Setup.Capo.Fret + 12
	if n > m.last || checkSetbacks(nut, 0) != nil {
		return 0, false
	}
	s := 0.0
	for range 40 {
		st := m.begin(float64(nut), s)
		c := m.note(&st, n)
		step := -c.v / c.saddle
		s += step
		if math.Abs(step) < 1e-12 {
			return unit.Length(s), true
		}
	}
	return 0, false
}
