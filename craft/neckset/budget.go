package neckset

import (
	"math"
	"math/rand/v2"
	"sort"

	"fairset/unit"
)

// Spread is the standard deviation of one input of a Build, in SI, by the input's key ("bridge_thickness").
type Spread struct {
	Field string
	SD    float64
}

// Share is one input's part in the doubt of the gap.
type Share struct {
	Field  string
	SD     float64     // SI
	Slope  float64     // change of the gap per change of the input, both SI
	Effect unit.Length // |slope| × SD
	Part   float64     // of the variance, 0 to 1
}

// Budget is how sure the target gap is, and which inputs the doubt comes from.
type Budget struct {
	GapSD   unit.Length // to first order
	Shares  []Share     // largest first
	CheckSD unit.Length // the same from drawn inputs; 0 when Trials is 0
	Trials  int
}

// inputs reaches every length and angle of a Build by its key.
var inputs = map[string]func(*Build) *float64{
	"scale_length":      func(b *Build) *float64 { return (*float64)(&b.ScaleLength) },
	"saddle_setback":    func(b *Build) *float64 { return (*float64)(&b.SaddleSetback) },
	"joint_offset":      func(b *Build) *float64 { return (*float64)(&b.JointOffset) },
	"board_thickness":   func(b *Build) *float64 { return (*float64)(&b.BoardThickness) },
	"fret_crown":        func(b *Build) *float64 { return (*float64)(&b.FretCrown) },
	"neck_proud":        func(b *Build) *float64 { return (*float64)(&b.NeckProud) },
	"relief":            func(b *Build) *float64 { return (*float64)(&b.Relief) },
	"relief_unstrung":   func(b *Build) *float64 { return (*float64)(&b.ReliefUnstrung) },
	"joint_fold":        func(b *Build) *float64 { return (*float64)(&b.JointFold) },
	"top_rise":          func(b *Build) *float64 { return (*float64)(&b.TopRise) },
	"bridge_thickness":  func(b *Build) *float64 { return (*float64)(&b.BridgeThickness) },
	"saddle_projection": func(b *Build) *float64 { return (*float64)(&b.SaddleProjection) },
	"nut_height":        func(b *Build) *float64 { return (*float64)(&b.NutHeight) },
	"action12":          func(b *Build) *float64 { return (*float64)(&b.Action12) },
	"top_radius":        func(b *Build) *float64 { return (*float64)(&b.Top.Radius) },
	"top_apex":          func(b *Build) *float64 { return (*float64)(&b.Top.Apex) },
}

// Slopes returns the change of the target gap (on the frets) per change of each input, SI over SI.
func (b Build) Slopes() (map[string]float64, error) {
	var c checker
	b.check(&c)
	if c.err != nil {
		return nil, c.err
	}
	out := make(map[string]float64, len(inputs))
	for field := range inputs {
		out[field] = b.slope(field)
	}
	return out, nil
}

// slope is a central difference. The step is a ten-thousandth of the field's range: far above rounding, and
// small beside what bends the gap's dependence on any input.
func (b Build) slope(field string) float64 {
	l := limits[field]
	h := (l.Max - l.Min) * 1e-4
	if field == "top_radius" && b.Top.Radius == 0 {
		return 0 // a flat top has no radius to be unsure of
	}
	up, down := b, b
	*inputs[field](&up) += h
	*inputs[field](&down) -= h
	return float64(up.target().GapOnFrets-down.target().GapOnFrets) / (2 * h)
}

// maxTrials bounds the drawn check; 200,000 trials take about 20 ms.
const maxTrials = 200_000

// Budget returns the spread of the target gap (on the frets) that the spreads of the inputs give, to first
// order, each input independent of the others; and, when trials > 0, the same from that many seeded draws of
// normal inputs put through the full formula. Fields are the keys of Build's inputs except joint_fret, which
// is a whole number. An unknown or repeated field, a negative or infinite SD, or trials outside
// 0 to 200,000 is a *unit.RangeError.
func (b Build) Budget(spreads []Spread, trials int, seed uint64) (Budget, error) {
	var c checker
	b.check(&c)
	if c.err != nil {
		return Budget{}, c.err
	}
	if trials < 0 || trials > maxTrials {
		return Budget{}, &unit.RangeError{Limit: unit.Limit{Field: "trials", Label: unit.Say("trials"), Kind: unit.KindCount, Min: 0, Max: maxTrials}, Value: float64(trials)}
	}
	seen := map[string]bool{}
	var out Budget
	variance := 0.0
	for _, s := range spreads {
		l := limits[s.Field]
		if inputs[s.Field] == nil {
			return Budget{}, &unit.RangeError{Limit: unit.Limit{Field: s.Field, Kind: unit.KindText}, Value: s.SD, Got: s.Field, Why: unit.Say("not an input of the neck set that can have a spread")}
		}
		if seen[s.Field] {
			return Budget{}, &unit.RangeError{Limit: l.Limit, Value: s.SD, Why: unit.Say("its spread is given twice")}
		}
		seen[s.Field] = true
		lim := unit.Limit{Field: s.Field, Label: unit.Say("spread of the %v", l.Label), Kind: l.Kind, Min: 0, Max: (l.Max - l.Min) / 2}
		if err := lim.Check(s.SD); err != nil {
			return Budget{}, err
		}
		k := b.slope(s.Field)
		e := math.Abs(k) * s.SD
		variance += e * e
		out.Shares = append(out.Shares, Share{Field: s.Field, SD: s.SD, Slope: k, Effect: unit.Length(e)})
	}
	out.GapSD = unit.Length(math.Sqrt(variance))
	for i := range out.Shares {
		if variance > 0 {
			e := float64(out.Shares[i].Effect)
			out.Shares[i].Part = e * e / variance
		}
	}
	sort.SliceStable(out.Shares, func(i, j int) bool {
		a, z := out.Shares[i], out.Shares[j]
		if a.Effect != z.Effect {
			return a.Effect > z.Effect
		}
		return a.Field < z.Field
	})
	if trials > 1 {
		out.Trials = trials
		out.CheckSD = b.drawn(out.Shares, trials, seed)
	}
	return out, nil
}

// drawn is the standard deviation of the gap over seeded draws of the inputs.
func (b Build) drawn(shares []Share, trials int, seed uint64) unit.Length {
	r := rand.New(rand.NewPCG(seed, 0x6e65636b))
	at := make([]func(*Build) *float64, len(shares))
	for i, s := range shares {
		at[i] = inputs[s.Field]
	}
	// Welford's running mean and sum of squares: no loss when the spread is small beside the gap.
	var mean, ss float64
	for n := 1; n <= trials; n++ {
		draw := b
		for i, s := range shares {
			*at[i](&draw) += s.SD * r.NormFloat64()
		}
		g := float64(draw.target().GapOnFrets)
		d := g - mean
		mean += d / float64(n)
		ss += d * (g - mean)
	}
	return unit.Length(math.Sqrt(ss / float64(trials-1)))
}
