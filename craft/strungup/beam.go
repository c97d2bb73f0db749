package strungup

import (
	"math"
	"sort"

	"fairset/unit"
)

// Station is the neck's section at one place.
type Station struct {
	At    unit.Length // from the nut
	Width unit.Length
	Depth unit.Length // of the neck's wood, under the board
}

// Rod is a stiffening rod: a bar, or a truss rod as set. It lies in the neck without being glued along its
// length, so that it bends beside the wood.
type Rod struct {
	Stiffness float64     // EI, N·m²; 0: none
	Bow       unit.Length // its own bow over its length if it were free; + hollow under the strings
	From, To  unit.Length // from the nut; 0 and 0: the whole neck
}

// Neck is what bends.
type Neck struct {
	Stations     []Station   // in order from the nut; straight between, constant before the first and after the last
	Fullness     float64     // of the back: 1 a straight V, 2 half an ellipse, 3 and more a full D; 0: 2
	Modulus      unit.Stress // of the neck's wood, along the grain
	BoardModulus unit.Stress
	Channel      Channel
	Rod          Rod
}

// Channel is the slot for a rod under the board: wood that is not there.
type Channel struct{ Width, Depth unit.Length }

// Beam is a neck between its nut and the joint under straight strings.
type Beam struct {
	Neck
	Board              unit.Length // thickness
	Length             unit.Length // nut to joint
	Tension            unit.Force
	StringNut          unit.Length // strings over the board's face at the nut
	StringEnd          unit.Length // and at the joint
	Hollow, HollowFrom unit.Length // hollow there before the strings: a parabola this deep from HollowFrom to the joint
}

// Section is what a cut across the neck is worth.
type Section struct {
	Area     float64     // of the neck's wood, m²
	Centroid unit.Length // of that wood, below its flat
	Second   float64     // of that wood, about its own centroid, m⁴
	Axis     unit.Length // elastic centroid of wood and board together, below the board's face
	Bending  float64     // EI of both together about it, N·m²; the rod is not in it
}

// moments are the integrals of a back of unit width and depth: its area, and its first and second moment
// about the flat.
type moments [3]float64

// newMoments integrates |2y/b|^n + (z/d)^n = 1 over z: the mth moment is B((m+1)/n, 1 + 1/n)/n.
// Source: definition of the beta function; derived in docs/method/strungup.md.
func newMoments(fullness float64) moments {
	n := fullness
	if n == 0 {
		n = 2
	}
	lg := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	var out moments
	for m := range out {
		a, b := float64(m+1)/n, 1+1/n
		out[m] = math.Exp(lg(a)+lg(b)-lg(a+b)) / n
	}
	return out
}

func (m moments) section(width, depth, board float64, n *Neck) Section {
	area, first, second := width*depth*m[0], width*depth*depth*m[1], width*depth*depth*depth*m[2]
	cw, cd := float64(n.Channel.Width), float64(n.Channel.Depth)
	area -= cw * cd
	first -= cw * cd * cd / 2
	second -= cw * cd * cd * cd / 3
	c := first / area
	own := second - area*c*c
	en, eb := float64(n.Modulus), float64(n.BoardModulus)
	ba := width * board
	// Heights below the flat between board and neck; the board's middle lies half its thickness above.
	stiff := en*area + eb*ba
	axis := (en*first - eb*ba*board/2) / stiff
	ei := en*(own+area*(c-axis)*(c-axis)) + eb*(ba*board*board/12+ba*(board/2+axis)*(board/2+axis))
	return Section{Area: area, Centroid: unit.Length(c), Second: own, Axis: unit.Length(axis + board), Bending: ei}
}

// SectionAt returns the section at u from the nut.
func (b Beam) SectionAt(u unit.Length) (Section, error) {
	if err := b.check(); err != nil {
		return Section{}, err
	}
	w, d := b.size(float64(u))
	return newMoments(b.Fullness).section(w, d, float64(b.Board), &b.Neck), nil
}

// size interpolates width and depth.
func (n *Neck) size(u float64) (width, depth float64) {
	s := n.Stations
	i := 0
	for i < len(s) && float64(s[i].At) <= u {
		i++
	}
	switch i {
	case 0:
		return float64(s[0].Width), float64(s[0].Depth)
	case len(s):
		return float64(s[i-1].Width), float64(s[i-1].Depth)
	}
	a, z := s[i-1], s[i]
	k := (u - float64(a.At)) / float64(z.At-a.At)
	return float64(a.Width) + k*float64(z.Width-a.Width), float64(a.Depth) + k*float64(z.Depth-a.Depth)
}

// Bend is a neck's shape under its strings: how far it lies below the chord from nut to joint.
type Bend struct {
	u, v, s []float64 // place, depth, slope
	l       float64
	first   float64 // sag between HollowFrom and the joint without the second-order part
	firstV  []float64
	firstS  []float64
}

// steps is how many steps the whole neck is integrated in; each piece between stations has at least four.
// Halving them changes the sag by less than a ten-millionth (see the tests).
const steps = 48

// Bend solves the neck as a beam whose ends stay on the chord.
//
//	EI(u) v'' = -T (e(u) + v) - EI_rod κ_rod,   v(0) = v(l) = 0
//
// e is the height of the strings over the elastic axis before the bend and v the bend itself, which
// lengthens the lever. The equation is linear: two runs of a fourth-order Runge-Kutta rule, one with the
// load and one without, are joined to meet the far end. Pieces end where the section or the rod changes.
// Source: Euler-Bernoulli beam under eccentric load; derived in docs/method/strungup.md. Errors are
// *unit.RangeError naming the field; a neck past its buckling load is one on tension.
func (b Beam) Bend() (Bend, error) {
	if err := b.check(); err != nil {
		return Bend{}, err
	}
	m := newMoments(b.Fullness)
	T, l, board := float64(b.Tension), float64(b.Length), float64(b.Board)
	rod := b.Rod
	from, to := float64(rod.From), float64(rod.To)
	if rod.From == 0 && rod.To == 0 {
		to = l
	}
	to = min(to, l)
	kappa := 0.0
	if rod.Stiffness > 0 {
		run := float64(rod.To - rod.From)
		if run == 0 {
			run = l
		}
		kappa = 8 * float64(rod.Bow) / (run * run)
	}
	h0, h1 := float64(b.StringNut), float64(b.StringEnd)
	hollow, hf := float64(b.Hollow), float64(b.HollowFrom)
	// load and give of v'' = -(load + give v)
	at := func(u float64, inRod bool) (load, give float64) {
		w, d := b.size(u)
		s := m.section(w, d, board, &b.Neck)
		ei := s.Bending
		e := h0 + (h1-h0)*u/l + float64(s.Axis)
		if u > hf {
			e += 4 * hollow * (u - hf) * (l - u) / ((l - hf) * (l - hf))
		}
		load = T * e
		if inRod {
			ei += rod.Stiffness
			load += rod.Stiffness * kappa
		}
		return load / ei, T / ei
	}
	cuts := []float64{0, l}
	for _, s := range b.Stations {
		cuts = append(cuts, float64(s.At))
	}
	cuts = append(cuts, hf)
	if rod.Stiffness > 0 {
		cuts = append(cuts, from, to)
	}
	sort.Float64s(cuts)
	type run struct{ v, s float64 }
	// p: with the load; h: without; f: with the load but without its second-order part.
	p, h, f := run{}, run{0, 1}, run{}
	us := make([]float64, 0, steps+16)
	ps, hs, fs := make([]run, 0, steps+16), make([]run, 0, steps+16), make([]run, 0, steps+16)
	keep := func(u float64) { us, ps, hs, fs = append(us, u), append(ps, p), append(hs, h), append(fs, f) }
	keep(0)
	for i := 1; i < len(cuts); i++ {
		a, z := max(cuts[i-1], 0), min(cuts[i], l)
		if z-a < 1e-9*l {
			continue
		}
		n := max(4, int(math.Ceil(steps*(z-a)/l)))
		d := (z - a) / float64(n)
		inRod := rod.Stiffness > 0 && (a+z)/2 > from && (a+z)/2 < to
		l0, g0 := at(a, inRod)
		for j := range n {
			u := a + float64(j)*d
			l1, g1 := at(u+d/2, inRod)
			l2, g2 := at(u+d, inRod)
			step := func(r run, on, second float64) run {
				acc := func(l, g, v float64) float64 { return -(on*l + second*g*v) }
				k1v, k1s := r.s, acc(l0, g0, r.v)
				k2v, k2s := r.s+d/2*k1s, acc(l1, g1, r.v+d/2*k1v)
				k3v, k3s := r.s+d/2*k2s, acc(l1, g1, r.v+d/2*k2v)
				k4v, k4s := r.s+d*k3s, acc(l2, g2, r.v+d*k3v)
				return run{r.v + d/6*(k1v+2*k2v+2*k3v+k4v), r.s + d/6*(k1s+2*k2s+2*k3s+k4s)}
			}
			p, h, f = step(p, 1, 1), step(h, 0, 1), step(f, 1, 0)
			l0, g0 = l2, g2
			keep(u + d)
		}
	}
	// h meets the chord again before the joint once the load is past the first buckling load.
	for i := 1; i < len(us); i++ {
		if hs[i].v <= 1e-3*us[i] {
			return Bend{}, refuse("tension", T, "the neck would buckle under these strings: make it deeper or of stiffer wood")
		}
	}
	k, kf := -p.v/h.v, -f.v/l
	out := Bend{u: us, v: make([]float64, len(us)), s: make([]float64, len(us)), firstV: make([]float64, len(us)), firstS: make([]float64, len(us)), l: l}
	for i := range us {
		out.v[i] = ps[i].v + k*hs[i].v
		out.s[i] = ps[i].s + k*hs[i].s
		out.firstV[i] = fs[i].v + kf*us[i]
		out.firstS[i] = fs[i].s + kf
	}
	mid := (hf + l) / 2
	out.first = hermite(out.u, out.firstV, out.firstS, mid) - hermite(out.u, out.firstV, out.firstS, hf)/2
	return out, nil
}

// hermite reads a curve between its points by their values and slopes.
func hermite(u, v, s []float64, x float64) float64 {
	i := sort.SearchFloat64s(u, x)
	i = min(max(i, 1), len(u)-1)
	d := u[i] - u[i-1]
	t := (x - u[i-1]) / d
	return v[i-1]*(1+2*t)*(1-t)*(1-t) + s[i-1]*d*t*(1-t)*(1-t) + v[i]*t*t*(3-2*t) + s[i]*d*t*t*(t-1)
}

// Depth is how far the neck lies below the chord from nut to joint; + hollow under the strings.
func (b Bend) Depth(u unit.Length) unit.Length {
	return unit.Length(hermite(b.u, b.v, b.s, float64(u)))
}

// FirstOrder is Depth without what the bend adds to the strings' lever.
func (b Bend) FirstOrder(u unit.Length) unit.Length {
	return unit.Length(hermite(b.u, b.firstV, b.firstS, float64(u)))
}

// Slope is the slope of Depth at u: how the neck runs there against the chord, + falling away toward the joint.
func (b Bend) Slope(u unit.Length) unit.Angle {
	x := float64(u)
	i := sort.SearchFloat64s(b.u, x)
	i = min(max(i, 1), len(b.u)-1)
	d := b.u[i] - b.u[i-1]
	t := (x - b.u[i-1]) / d
	rise := (b.v[i] - b.v[i-1]) / d
	return unit.Angle(6*t*(1-t)*rise + b.s[i-1]*(1-t)*(1-3*t) + b.s[i]*t*(3*t-2))
}

// NutTurn is the angle between the neck's direction at the nut and at the joint.
func (b Bend) NutTurn() unit.Angle { return unit.Angle(b.s[0] - b.s[len(b.s)-1]) }

// dip is the depth at u below the line from u1 to the joint.
func (b Bend) dip(u1, u float64) float64 {
	return hermite(b.u, b.v, b.s, u) - hermite(b.u, b.v, b.s, u1)*(b.l-u)/(b.l-u1)
}

// sag is the dip half way along that line.
func (b Bend) sag(u1 float64) float64 { return b.dip(u1, (u1+b.l)/2) }

// turn is the angle between that line and the neck's direction at the joint.
func (b Bend) turn(u1 float64) float64 {
	return -b.s[len(b.s)-1] - hermite(b.u, b.v, b.s, u1)/(b.l-u1)
}

// twelve is the angle between the neck's direction at u and at the joint.
func (b Bend) twelve(u float64) float64 {
	if u >= b.l {
		return 0
	}
	return float64(b.Slope(unit.Length(u))) - b.s[len(b.s)-1]
}
