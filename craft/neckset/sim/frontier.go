package sim

import "fairset/unit"

// Frontier returns the policies the frontier is drawn from: ours over a range of accepted risk, and the
// plain rules it must lie ahead of.
func Frontier() (ours, plain []Policy) {
	for _, q := range []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5} {
		ours = append(ours, Carried(q))
	}
	for _, q := range []float64{0.1, 0.15, 0.2, 0.3, 0.4, 0.5} {
		ours = append(ours, CarriedPerPass(q))
	}
	for _, f := range []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1} {
		plain = append(plain, Fraction(f))
	}
	for _, s := range []unit.Length{0.2, 0.3, 0.5, 0.8} {
		plain = append(plain, Fixed(s*unit.MM))
	}
	for _, q := range []float64{0.02, 0.05, 0.1, 0.2} {
		plain = append(plain, Single(q, 0.15))
	}
	return ours, plain
}

// TwoReadings returns plain rules that read twice each time: they go past less, for twice the reading.
func TwoReadings() []Policy {
	var out []Policy
	for _, f := range []float64{0.3, 0.5, 0.7, 0.9} {
		out = append(out, FractionOfTwo(f))
	}
	return out
}
