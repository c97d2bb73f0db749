package neckset

import (
	"math"

	"fairset/unit"
)

// Belief is what is known of one quantity at the saddle (gap or offset): its likeliest value and the
// standard deviation of that. An infinite SD means nothing is known yet.
type Belief struct{ Mean, SD unit.Length }

// Unknown is the belief before the first reading.
func Unknown() Belief { return Belief{SD: unit.Length(math.Inf(1))} }

// Known reports whether there has been any reading.
func (b Belief) Known() bool { return b.SD.Finite() && b.Mean.Finite() }

// Read takes in a reading with its own standard deviation, each weighted by how sure it is. Surprise is the
// distance of the reading from what was believed, in standard deviations of that distance: 0 when nothing
// was known, above about 3 when one of the two is wrong.
//
//	K = v/(v + r²);  mean' = mean + K (reading - mean);  v' = K r²
func (b Belief) Read(value, sd unit.Length) (after Belief, surprise float64) {
	if !b.Known() {
		return Belief{value, sd}, 0
	}
	v, r2 := float64(b.SD)*float64(b.SD), float64(sd)*float64(sd)
	d := float64(value - b.Mean)
	if v+r2 == 0 {
		// Both claim to be exact: the newer is kept, and any difference at all is a contradiction.
		if d != 0 {
			surprise = math.Inf(1)
		}
		return Belief{value, 0}, surprise
	}
	if math.IsInf(r2, 1) {
		return b, 0
	}
	k := v / (v + r2)
	return Belief{b.Mean + unit.Length(k*d), unit.Length(math.Sqrt(k * r2))}, math.Abs(d) / math.Sqrt(v+r2)
}

// Cut takes in a change that was made on purpose, with the standard deviation of how much was really done.
func (b Belief) Cut(change, sd unit.Length) Belief {
	if !b.Known() {
		return b
	}
	return Belief{b.Mean + change, unit.Length(math.Hypot(float64(b.SD), float64(sd)))}
}

// Within returns the chance that the true value lies within tol of want.
func (b Belief) Within(want, tol unit.Length) float64 {
	if !b.Known() {
		return 0
	}
	return chanceWithin(float64(b.Mean-want), float64(b.SD), float64(tol))
}

// Sample is several readings of one thing taken together.
type Sample struct {
	Mean, SD unit.Length // SD of the mean; infinite when there is nothing to judge it by
	N        int
	Agree    bool // false when the readings lie further apart than readings with that rule should
}

// Combine takes several readings, and the graduation of the rule they were read with, together.
//
// One reading is taken to have a standard deviation of half a graduation (common practice, no source); the
// readings' own scatter replaces that guess as they grow in number, the guess counting as three degrees of
// freedom. The mean is never called surer than graduation/√12, the deviation of a true value spread evenly
// over one graduation: repeated reading does not make a rule finer. Values that are not finite are left out.
func Combine(values []unit.Length, graduation unit.Length) Sample {
	return CombineAs(values, graduation, readingGuess)
}

// CombineAs is Combine where one reading is taken to have a standard deviation of so many graduations, as learned
// from a shop's own readings. Whether readings agree is still judged by half a graduation, so that a shop that
// reads carelessly is told so.
func CombineAs(values []unit.Length, graduation unit.Length, one float64) Sample {
	var n, sum float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if !v.Finite() {
			continue
		}
		n++
		sum += float64(v)
		lo, hi = math.Min(lo, float64(v)), math.Max(hi, float64(v))
	}
	if n == 0 {
		return Sample{SD: unit.Length(math.Inf(1)), Agree: true}
	}
	mean := sum / n
	ss := 0.0
	for _, v := range values {
		if v.Finite() {
			ss += (float64(v) - mean) * (float64(v) - mean)
		}
	}
	g := float64(graduation)
	s := Sample{Mean: unit.Length(mean), N: int(n), Agree: true}
	if !(g > 0) || math.IsInf(g, 0) {
		s.SD = unit.Length(math.Inf(1))
		if n > 1 {
			s.SD = unit.Length(math.Sqrt(ss / (n - 1) / n))
		}
		return s
	}
	const guessWeight = 3
	s0 := g * one
	v := (guessWeight*s0*s0 + ss) / (guessWeight + n - 1)
	s.SD = unit.Length(math.Max(math.Sqrt(v/n), g/math.Sqrt(12)))
	s.Agree = hi-lo <= range95(int(n))*g*readingGuess
	return s
}

// range95 is the 95 % point of the range of n readings, in standard deviations of one.
// source: upper 5 % points of the studentised range with infinite degrees of freedom (standard table, from memory)
func range95(n int) float64 {
	table := [...]float64{0, 0, 2.77, 3.31, 3.63, 3.86, 4.03, 4.17, 4.29, 4.39, 4.47}
	return table[min(n, len(table)-1)]
}

// normal distribution helpers

func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// quantile is the normal quantile, by the inverse error function.
func quantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// chanceWithin is P(|X| <= tol) for X normal with that mean and sd.
func chanceWithin(mean, sd, tol float64) float64 {
	if sd == 0 {
		if math.Abs(mean) <= tol {
			return 1
		}
		return 0
	}
	return phi((tol-mean)/sd) - phi((-tol-mean)/sd)
}
