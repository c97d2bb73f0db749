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
	rho := a.deep(z)
	c := (n - z*a.sd) * (n + z*a.sd)
	p := c / (n + math.Sqrt(n*n-(1-z*z*rho*rho)*c))
	return math.Copysign(min(p, n), a.need)
}

// deep is the spread of the cut as it looks from its deep side at the quantile z.
//
// What strokes take over what they should is a factor, as likely half as double, so it reaches further on
// the deep side than a normal spread does: exp(z sigma) - 1 where the normal has z rho. The difference is
// small for a practised hand (0.15 looks like 0.17) and large for a rate still guessed (0.35 like 0.5).
// Without a tolerance the plain normal rule is kept.
func (a axis) deep(z float64) float64 {
	if a.tol == 0 || z < 1e-6 || a.rho == 0 {
		return a.rho
	}
	sigma := math.Sqrt(math.Log1p(a.rho * a.rho))
	return math.Expm1(z*sigma) / z
}

// pastChance is the chance that aiming at p, planned as carefully as the quantile z, goes past the target: by
// construction that of the quantile, or nothing when neither the reading nor the hand is unsure.
func (a axis) pastChance(p, z float64) float64 {
	if p == 0 || math.Hypot(a.sd, a.rho*p) < exact {
		return 0
	}
	return phi(-z)
}

// inChance is the chance of lying within tolerance now.
func (a axis) inChance() float64 {
	if a.tol == 0 || math.IsInf(a.sd, 1) {
		return 0
	}
	return chanceWithin(a.need, a.sd, a.tol)
}

// within reports whether the need as believed lies within tolerance; the last bit of a difference of two
// typed figures does not put it outside.
func (a axis) within() bool { return a.tol > 0 && math.Abs(a.need) <= a.tol+exact }

// afterwards is the chance of lying within tolerance once p has been aimed at.
func (a axis) afterwards(p float64) float64 {
	return chanceWithin(a.need-p, math.Hypot(a.sd, a.rho*p), a.tol)
}

// The policy's figures. They were set by trial over simulated necks (package sim, where the frontier
// is drawn); each can be said in a sentence.
const (
	// sure: an axis this likely to be within tolerance needs no further reading.
	sure = 0.8
	// sharp: once the belief is half as wide as one reading (about four readings' worth), another is not asked for.
	sharp = 0.5
	// fine: a belief five times finer than the tolerance is good enough to leave an axis by.
	fine = 0.2
	// worthReading: another reading comes first if it would raise the chance that the next cut ends within
	// tolerance by a tenth.
	worthReading = 0.1
	// fair: a pass with less than this chance of being its axis's last is made without waiting for the other.
	fair = 0.1
	// passShare: a neck takes two to four passes, so each may take a quarter of the risk accepted for the whole.
	passShare = 0.25
)

// canSharpen reports whether one more reading would still tell much.
func (a axis) canSharpen() bool { return a.read > 0 && a.sd > sharp*a.read }

// hopeless reports whether an axis with a tolerance can neither be told to be within it nor be read better.
func (a axis) hopeless() bool {
	return a.tol > 0 && !math.IsInf(a.sd, 1) && !a.canSharpen() && a.inChance() < 0.5 && math.Abs(a.need) <= 3*a.sd
}

// sharper is the axis after one more reading that shows what is believed already.
func (a axis) sharper() axis {
	k := a.sd * a.sd / (a.sd*a.sd + a.read*a.read)
	a.sd = math.Sqrt(k) * a.read
	return a
}

// wants is what an axis asks for.
type wants int

const (
	settled wants = iota // leave it
	blurred              // read once more
	cutting
)

// wants weighs leaving the axis, reading it again and cutting it, when a cut must be as careful as z says.
func (a axis) wants(z float64) wants {
	if math.IsInf(a.sd, 1) {
		return blurred
	}
	p := a.careful(z)
	if a.tol == 0 {
		switch {
		case p != 0:
			return cutting
		case math.Abs(a.need) > a.sd:
			return blurred
		}
		return settled // a need smaller than its own spread cannot be told from nothing
	}
	if a.within() {
		// More likely in than not, once it is read finely enough for the tolerance: a pass would more likely
		// do nothing, or hurt, than help.
		if a.inChance() < sure && a.canSharpen() && a.sd > a.tol*fine {
			return blurred
		}
		return settled
	}
	if p == 0 {
		return blurred
	}
	if a.canSharpen() {
		b := a.sharper()
		if b.afterwards(b.careful(z))-a.afterwards(p) > worthReading {
			return blurred
		}
	}
	return cutting
}

// rule is how much risk a pass may take.
type rule struct {
	risk  float64
	whole bool // the risk is for the whole neck; otherwise for each axis and each pass
}

func (in CutInput) rule() rule {
	return rule{in.Risk, in.GapTolerance > 0 || in.OffsetTolerance > 0}
}

// plan is what one pass aims at.
type plan struct {
	gap, off float64
	z        float64 // the quantile both were planned at
	verdict  Verdict
}

func (r rule) plan(gap, off axis) plan {
	if !r.whole {
		return r.at(quantile(1-r.risk), gap, off)
	}
	q := r.risk * passShare
	p := r.at(quantile(1-q), gap, off)
	if p.gap != 0 && p.off != 0 {
		// Two axes may each go past: the chance that neither does is the product.
		p = r.at(quantile(math.Sqrt(1-q)), gap, off)
	}
	return p
}

// at plans both axes at one quantile. The plan is there to be cut even when the verdict is to read first.
func (r rule) at(z float64, gap, off axis) plan {
	wg, wo := gap.wants(z), off.wants(z)
	p := plan{z: z, verdict: LeaveIt}
	p.gap, p.off = gap.share(wg, z), off.share(wo, z)
	if r.whole {
		// When a pass is made anyway, the other axis may as well gain what it safely can.
		switch {
		case p.gap != 0 && p.off == 0 && off.unsure():
			p.off = off.careful(z)
		case p.off != 0 && p.gap == 0 && gap.unsure():
			p.gap = gap.careful(z)
		}
	}
	unread := math.IsInf(gap.sd, 1) || math.IsInf(off.sd, 1)
	blur := wg == blurred || wo == blurred
	// A reading costs less than a pass, so where one would help it comes first; unless the cut leaves another
	// pass to make, and so another reading to take, whatever this one said.
	hold := blur && r.whole && !unread && gap.mayFinish(p.gap) && off.mayFinish(p.off)
	switch {
	case hold:
		p.verdict = ReadAgain
	case gap.goneBack(p.gap) || off.goneBack(p.off):
		p.verdict = GonePast
	case p.gap != 0 || p.off != 0:
		p.verdict = CutNow
	case blur:
		p.verdict = ReadAgain
	}
	return p
}

// share is what a pass made now would aim at for an axis that asks to be cut, or would if it were read better.
func (a axis) share(w wants, z float64) float64 {
	if w == settled || math.IsInf(a.sd, 1) || a.within() {
		return 0
	}
	return a.careful(z)
}

// unsure reports whether an axis within its tolerance may well lie outside it.
func (a axis) unsure() bool {
	return a.tol > 0 && !math.IsInf(a.sd, 1) && a.within() && a.inChance() < sure
}

// mayFinish reports whether aiming at p has a fair chance of bringing the axis within tolerance,
// or whether it is not cut at all.
func (a axis) mayFinish(p float64) bool {
	return p == 0 || a.tol == 0 || a.afterwards(p) >= fair
}

// goneBack reports whether aiming at p undoes what was cut before.
func (a axis) goneBack(p float64) bool { return a.direction*p < 0 }

// levels is how many further passes the forecast looks ahead, and nodes how finely it follows each.
const levels = 6

var nodes = [levels]int{6, 3, 2, 1, 1, 1}

// course is what is to be expected of one axis from pass to pass.
type course struct {
	asks [levels]float64 // chance that this axis itself asks for a pass, then another, and so on
	late [levels]float64 // chance that it asked up to the pass before last, not after the last, and then again
}

// again is the chance that the axis asks for a pass after pass k, given that it asked for pass k, or did not.
func (c course) again(k int) (asked, idle float64) {
	before := 1.0
	if k > 0 {
		before = c.asks[k-1]
	}
	if c.asks[k] > 0 {
		asked = min(1, c.asks[k+1]/c.asks[k])
	}
	if d := before - c.asks[k]; d > 1e-9 {
		idle = min(1, c.late[k+1]/d)
	}
	return asked, idle
}

// forecast returns the expected number of passes after this one: the sum over k of the chance that more than
// k follow. The axes are independent, but a pass made for one reads the other again, which may then ask too;
// so which of the two asked is carried from pass to pass.
func (p plan) forecast(gap, off axis) float64 {
	var g, o course
	gap.follow(p.gap, p.z, 0, 1, &g)
	off.follow(p.off, p.z, 0, 1, &o)
	g0, o0 := min(1, g.asks[0]), min(1, o.asks[0])
	both, one, other := g0*o0, g0*(1-o0), (1-g0)*o0
	last := both + one + other
	sum, ratio := last, 0.0
	for k := range levels - 1 {
		ga, gi := g.again(k)
		oa, oi := o.again(k)
		both, one, other = both*ga*oa+one*ga*oi+other*gi*oa,
			both*ga*(1-oa)+one*ga*(1-oi)+other*gi*(1-oa),
			both*(1-ga)*oa+one*(1-ga)*oi+other*(1-gi)*oa
		t := both + one + other
		if last > 0 {
			ratio = t / last
		}
		last = t
		sum += t
	}
	// Beyond that they thin out at the same rate.
	ratio = min(ratio, 0.9)
	return sum + last*ratio/(1-ratio)
}

// follow adds to asks[k], k >= level, the chance that an axis needs a pass after this one, another after
// that, and so on, weighted by w, the chance of having come this far.
//
// a.need and a.sd say where the true need lies. After aiming at p it is normal with mean m and variance v.
// The next reading, of spread r, will show a normal of mean m and variance v + r²; with K = v/(v + r²) it
// draws the true need to m + K (reading - m), with variance K r². Without a tolerance the rule judges that
// reading alone; with one it judges the belief, which then scatters by K sqrt(v + r²). Where what is judged
// lies beyond the edge another pass is made. Both tails are followed at evenly spaced quantiles, so the result
// is the same every time.
func (a axis) follow(p, z float64, level int, w float64, c *course) {
	if math.IsInf(a.sd, 1) {
		return
	}
	m := a.need - p
	v := a.sd*a.sd + a.rho*a.rho*p*p
	r2 := a.read * a.read
	carried := a.tol > 0
	if carried {
		r2 /= looks
	}
	var k float64
	if v > 0 {
		k = v / (v + r2)
	}
	next := math.Sqrt(k * r2)
	shown, judged, edge := math.Sqrt(v+r2), a.read, max(z*a.read, finest)
	if carried {
		shown, judged, edge = k*shown, next, a.tol
	}
	on := func(weight, shown float64) {
		rule, truth := a, a
		rule.need, rule.sd = shown, judged
		truth.need, truth.sd = shown, next
		if !carried {
			truth.need = m + k*(shown-m)
		}
		if level+1 < levels && weight > 1e-3 {
			truth.follow(rule.careful(z), z, level+1, weight, c)
		}
	}
	if shown < exact {
		if math.Abs(m) > edge {
			c.asks[level] += w
			on(w, m)
		}
		return
	}
	n := nodes[level]
	var up, down float64
	for _, side := range [2]float64{1, -1} {
		share := phi(-(edge - side*m) / shown)
		if side > 0 {
			up = share
		} else {
			down = share
		}
		c.asks[level] += w * share
		if level+1 == levels || w*share < 1e-3 {
			continue
		}
		for i := range n {
			u := share * (float64(i) + 0.5) / float64(n)
			on(w*share/float64(n), m-side*shown*quantile(u))
		}
	}
	if rest := 1 - up - down; level+1 < levels && w*rest > 2e-2 {
		// It did not ask, but may when it is read after the other axis's pass.
		for _, at := range [2]float64{0.25, 0.75} {
			reading := m - shown*quantile(up+rest*at)
			b := a
			b.need, b.sd = reading, next
			if !carried {
				b.need = m + k*(reading-m)
			}
			c.late[level+1] += w * rest / 2 * b.asksNext(edge, r2)
		}
	}
}

// asksNext is the chance that an axis left alone is found beyond the edge at its next reading, of variance r2.
func (a axis) asksNext(edge, r2 float64) float64 {
	v := a.sd * a.sd
	if v+r2 < exact*exact {
		return 0
	}
	shown := math.Sqrt(v + r2)
	if a.tol > 0 {
		shown *= v / (v + r2)
	}
	if shown < exact {
		return 0
	}
	return phi(-(edge-a.need)/shown) + phi(-(edge+a.need)/shown)
}

// looks is how many readings the policy takes for a pass, about, when there is a tolerance to read for.
const looks = 2

// exact is a spread too small to be one: a nanometre.
const exact = 1e-9
