package neckset

import "math"

// axis is one of the two quantities a pass changes, in metres at the saddle.
type axis struct {
	need, sd  float64 // change still needed, and its spread
	rho       float64 // spread of a cut, as a fraction
	tol       float64 // 0: none
	read      float64 // spread of the next reading
	direction float64 // sign of what has been cut so far, 0 if nothing
}

func (in CutInput) axes() (gap, off axis) {
	next := func(read, sd float64) float64 {
		if read > 0 {
			return read
		}
		return sd
	}
	sign := func(v float64) float64 {
		switch {
		case v > finest:
			return 1
		case v < -finest:
			return -1
		}
		return 0
	}
	gs, os := float64(in.GapSD), float64(in.OffsetSD)
	gap = axis{float64(in.GapTarget - in.GapMeasured), gs, in.CutSD, float64(in.GapTolerance), next(float64(in.GapReadSD), gs), sign(float64(in.GapMade))}
	off = axis{float64(in.OffsetMeasured), os, in.CutSD, float64(in.OffsetTolerance), next(float64(in.OffsetReadSD), os), sign(float64(in.OffsetMade))}
	return gap, off
}

// careful returns the signed change to aim at, so that the chance of going past is that of the quantile z.
//
// Squaring p + z sqrt(s² + (rho p)²) = n gives (1 - z²rho²) p² - 2 n p + (n² - z²s²) = 0; the smaller root
// is written so that it holds for every sign of the leading term.
func (a axis) careful(z float64) float64 {
	n := math.Abs(a.need)
	if n <= z*a.sd || n == 0 {
		return 0
	}
	c := (n - z*a.sd) * (n + z*a.sd)
	p := c / (n + math.Sqrt(n*n-(1-z*z*a.rho*a.rho)*c))
	return math.Copysign(p, a.need)
}

// pastChance is the chance that aiming at p goes past the target.
func (a axis) pastChance(p float64) float64 {
	if p == 0 {
		return 0
	}
	sd := math.Hypot(a.sd, a.rho*p)
	over := math.Abs(p) - math.Abs(a.need)
	if sd == 0 {
		if over > 0 {
			return 1
		}
		return 0
	}
	return phi(over / sd)
}

func (a axis) inChance() float64 {
	if a.tol == 0 || math.IsInf(a.sd, 1) {
		return 0
	}
	return chanceWithin(a.need, a.sd, a.tol)
}

// rule is how much risk a pass may take.
type rule struct {
	risk   float64
	spent  float64
	budget bool // the risk is for the whole neck, not for one axis and pass
}

func (in CutInput) budget() rule {
	return rule{in.Risk, in.RiskSpent, in.GapTolerance > 0 || in.OffsetTolerance > 0}
}

type plan struct {
	gap, off float64
	z        float64
	verdict  Verdict
}

// wants says what an axis asks for before any risk is weighed.
type wants int

const (
	settled wants = iota // leave it
	blurred              // read once more
	cutting
)

func (a axis) wants() wants {
	switch {
	case math.IsInf(a.sd, 1):
		return blurred
	case a.tol == 0:
		return cutting
	case math.Abs(a.need) > a.tol:
		return cutting
	case a.inChance() >= 0.5:
		return settled
	}
	return blurred
}

func (r rule) plan(gap, off axis) plan {
	wg, wo := gap.wants(), off.wants()
	z := r.quantile(wg, wo)
	p := plan{z: z}
	if wg == cutting {
		p.gap = gap.careful(z)
	}
	if wo == cutting {
		p.off = off.careful(z)
	}
	p.verdict = verdict(gap, off, wg, wo, p)
	return p
}

func (r rule) quantile(wg, wo wants) float64 {
	q := r.risk
	if r.budget {
		if wg == cutting && wo == cutting {
			q /= 2
		}
	}
	return quantile(1 - q)
}

func verdict(gap, off axis, wg, wo wants, p plan) Verdict {
	gone := func(a axis, w wants, p float64) bool {
		return w == cutting && p != 0 && a.direction != 0 && a.direction*p < 0
	}
	// Without a tolerance, a need smaller than its own spread cannot be told from nothing.
	lost := func(a axis, w wants, p float64) bool {
		return w == blurred || w == cutting && p == 0 && math.Abs(a.need) > a.sd
	}
	switch {
	case gone(gap, wg, p.gap) || gone(off, wo, p.off):
		return GonePast
	case p.gap != 0 || p.off != 0:
		return CutNow
	case lost(gap, wg, p.gap) || lost(off, wo, p.off):
		return ReadAgain
	}
	return LeaveIt
}

// levels is how many further passes the forecast looks ahead, and nodes how finely it follows each.
const levels = 4

var nodes = [levels]int{6, 3, 2, 1}

// forecast returns the expected number of passes after this one: the sum over k of the chance that either
// axis needs more than k.
func (r rule) forecast(gap, off axis, p plan) float64 {
	var tg, to [levels]float64
	z := p.z
	gap.follow(p.gap, z, 0, 1, &tg)
	off.follow(p.off, z, 0, 1, &to)
	sum := 0.0
	for k := range tg {
		sum += 1 - (1-min(tg[k], 1))*(1-min(to[k], 1))
	}
	return sum
}

// follow adds to tail[k], k >= level, the chance that an axis needs a pass after this one, another after
// that, and so on, weighted by w, the chance of having come this far.
//
// After aiming at p the need is normal with mean m and variance v; the next reading, of spread r, moves the
// believed need to a normal of mean m and variance v²/(v + r²), and leaves it the spread sqrt(v r²/(v + r²)).
// The believed need asks for another pass where it lies beyond a; both tails are followed at evenly spaced
// quantiles, so the result is the same every time.
func (a axis) follow(p, z float64, level int, w float64, tail *[levels]float64) {
	if math.IsInf(a.sd, 1) {
		return
	}
	m := a.need - p
	v := a.sd*a.sd + a.rho*a.rho*p*p
	r2 := a.read * a.read
	var sigma, next float64
	if v > 0 {
		k := v / (v + r2)
		sigma, next = math.Sqrt(k*v), math.Sqrt(k*r2)
	}
	edge := a.tol
	if edge == 0 {
		edge = max(z*next, finest)
	}
	one := func(weight, need float64) {
		b := a
		b.need, b.sd = need, next
		q := b.careful(z)
		if level+1 < levels && weight > 1e-3 {
			b.follow(q, z, level+1, weight, tail)
		}
	}
	if sigma == 0 {
		if math.Abs(m) > edge {
			tail[level] += w
			one(w, m)
		}
		return
	}
	n := nodes[level]
	for _, side := range [2]float64{1, -1} {
		share := phi(-(edge - side*m) / sigma)
		tail[level] += w * share
		if level+1 == levels || w*share < 1e-3 {
			continue
		}
		for i := range n {
			u := share * (float64(i) + 0.5) / float64(n)
			one(w*share/float64(n), m-side*sigma*quantile(u))
		}
	}
}
