package guitar

import (
	"context"
	"fmt"
	"math"

	"fairset/craft/soundboard"
	"fairset/unit"
)

const groupTap = "Tap tones of the top"

// mostTaps is how many of a top's notes can be entered.
const mostTaps = 5

func tapFields() []Field {
	out := []Field{scalar(unit.KindRatio, "top_density", "top wood's own density, kg/m³", groupTap, 200, 1200, 0, "Weigh the board and divide by its length, width and thickness. Leave empty for the mean of its kind.")}
	for n := 1; n <= mostTaps; n++ {
		help := unit.Text("In Hz, as computed mode for mode. Leave empty what you could not hear or tell apart.")
		if n == 1 {
			help = "In Hz: the lowest note of the glued top, braced, edge glued to the rim, before the bridge is on and without strings. Damp the back."
		}
		f := scalar(unit.KindRatio, tapKey(n), "", groupTap, 20, 5000, 0, help)
		f.Label = unit.Say("note of mode %d, Hz", n)
		out = append(out, f)
	}
	return out
}

func tapKey(n int) string { return fmt.Sprintf("tap_mode%d", n) }

// TopShares are the design's figures of its top's and braces' own stiffness, in the order a fit gives them.
var TopShares = [3]string{"top_along", "top_across", "brace_stiffness"}

// Spreads of the fit, as shares.
const (
	// tapPrior is how far top along, top across and braces lie from their kinds' means: see topStiffness.
	tapPrior = topStiffness
	// tapDoubt is how far a note may lie from the plate's when every stiffness is right: the sums, a rim that gives, the ear. A stated guess, no source.
	tapDoubt = 0.03
)

// Wood is a share of the mean of its kind, with its spread as a share.
type Wood struct{ Share, SD float64 }

// TapNote is one note heard beside one computed.
type TapNote struct {
	Mode                 int
	Heard, Before, After unit.Frequency // as the design stands; with the wood as fitted
	Far                  bool           // off by more than is likely: perhaps another mode
}

// TapFit is what the notes of a glued top say of its wood.
type TapFit struct {
	Notes                 []TapNote
	Along, Across, Braces Wood
	// Told is how much of the doubt the notes took away from each, 0 to 1.
	Told [3]float64
}

// HasTaps reports whether a design holds notes of its top.
func HasTaps(d Values) bool {
	for n := 1; n <= mostTaps; n++ {
		if d.Has(tapKey(n)) {
			return true
		}
	}
	return false
}

// FitTaps adjusts the stiffness of a glued top's wood, along the grain, across it with shear, and of its braces, to the notes heard. Shares are of the mean
// of each kind, whatever the design says of them so far. Least squares with a prior:
//
//	sum over notes ((ln f_heard - ln f(p))/0.03)² + sum (ln p/0.2)² → min
//
// by Gauss and Newton, the slopes by differences on a coarse grid, which is brought in line with the fine one where the sums begin. The spread is
// that of the straightened problem. Notes are told apart by the number of their mode alone. Errors are Problems, or ctx's.
func FitTaps(ctx context.Context, d Values) (TapFit, error) {
	if !HasTaps(d) {
		return TapFit{}, Problems{needed(tapKey(1), "no note has been entered yet")}
	}
	now := [3]float64{1, 1, 1}
	for i, k := range TopShares {
		if d.Has(k) {
			now[i] = d.Ratio(k)
		}
	}
	plain := d.Clone()
	for _, k := range TopShares {
		delete(plain, k)
	}
	m, braces, _, _, err := plateOf(plain)
	if err != nil {
		return TapFit{}, err
	}
	if m.Bridge != nil {
		m.Bridge = nil // not glued on yet
	}
	last := 0
	for n := 1; n <= mostTaps; n++ {
		if d.Has(tapKey(n)) {
			last = n
		}
	}
	ring := func(p [3]float64, o soundboard.Options) ([]float64, error) {
		pm, pb := m, make([]soundboard.Brace, len(braces))
		pm.Material = stiffer(m.Material, p[0], p[1])
		for i, b := range braces {
			b.Material = stiffer(b.Material, p[2], p[2])
			pb[i] = b
		}
		plate, err := soundboard.Prepare(ctx, pm, o)
		if err != nil {
			return nil, err
		}
		r, err := plate.Solve(ctx, pb, soundboard.Request{Load: soundboard.Load{Pressure: 1}, Modes: last})
		if err != nil {
			return nil, err
		}
		out := make([]float64, last)
		for i := range min(last, len(r.Modes)) {
			out[i] = float64(r.Modes[i].Frequency)
		}
		return out, nil
	}
	fine, err := ring(now, soundboard.Options{})
	if err != nil {
		return TapFit{}, bodyError(d, err)
	}
	rough, err := ring(now, coarse)
	if err != nil {
		return TapFit{}, bodyError(d, err)
	}
	level := make([]float64, last)
	for i := range level {
		level[i] = fine[i] / rough[i]
	}
	heard := make([]float64, last)
	for i := range heard {
		heard[i] = d.Ratio(tapKey(i + 1))
	}
	fit, err := fitShares(heard, func(p [3]float64) ([]float64, error) {
		f, err := ring(p, coarse)
		for i := range f {
			f[i] *= level[i]
		}
		return f, err
	})
	if err != nil {
		return TapFit{}, bodyError(d, err)
	}
	for i := range fit.Notes {
		fit.Notes[i].Before = unit.Frequency(fine[fit.Notes[i].Mode-1])
	}
	return fit, nil
}

// fitShares seeks the three shares for notes heard, 0 where none was. ring gives the notes for shares.
func fitShares(heard []float64, ring func([3]float64) ([]float64, error)) (TapFit, error) {
	const rounds, dither = 4, 0.05
	var x [3]float64 // logarithms of the shares
	shares := func(x [3]float64) (p [3]float64) {
		for i := range p {
			p[i] = math.Exp(x[i])
		}
		return p
	}
	var normal [3][3]float64
	for round := range rounds {
		f, err := ring(shares(x))
		if err != nil {
			return TapFit{}, err
		}
		var slope [3][]float64
		for i := range x {
			y := x
			y[i] += dither
			g, err := ring(shares(y))
			if err != nil {
				return TapFit{}, err
			}
			slope[i] = make([]float64, len(f))
			for k := range f {
				slope[i][k] = math.Log(g[k]/f[k]) / dither
			}
		}
		var right [3]float64
		normal = [3][3]float64{}
		for i := range x {
			normal[i][i] = 1 / (tapPrior * tapPrior)
			right[i] = -x[i] / (tapPrior * tapPrior)
		}
		for k, h := range heard {
			if h <= 0 {
				continue
			}
			off := math.Log(h / f[k])
			for i := range x {
				right[i] += slope[i][k] * off / (tapDoubt * tapDoubt)
				for j := range x {
					normal[i][j] += slope[i][k] * slope[j][k] / (tapDoubt * tapDoubt)
				}
			}
		}
		inverse := inverted(normal)
		most := 0.0
		for i := range x {
			step := 0.0
			for j := range x {
				step += inverse[i][j] * right[j]
			}
			// A long step would leave the range where slopes hold; three spreads is as far as wood goes.
			x[i] = math.Max(-3*tapPrior, math.Min(3*tapPrior, x[i]+step))
			most = math.Max(most, math.Abs(step))
		}
		if most < 1e-3 && round > 0 {
			break
		}
	}
	f, err := ring(shares(x))
	if err != nil {
		return TapFit{}, err
	}
	out := TapFit{}
	cover := inverted(normal)
	for i, w := range [3]*Wood{&out.Along, &out.Across, &out.Braces} {
		sd := math.Sqrt(cover[i][i])
		*w = Wood{Share: math.Exp(x[i]), SD: math.Exp(x[i]) * sd}
		out.Told[i] = math.Max(0, 1-sd/tapPrior)
	}
	for k, h := range heard {
		if h > 0 {
			out.Notes = append(out.Notes, TapNote{Mode: k + 1, Heard: unit.Frequency(h), After: unit.Frequency(f[k]), Far: math.Abs(math.Log(h/f[k])) > 3*tapDoubt})
		}
	}
	return out, nil
}

// inverted is the inverse of a symmetric matrix that is positive definite.
func inverted(a [3][3]float64) (b [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			k, l, m, n := (j+1)%3, (j+2)%3, (i+1)%3, (i+2)%3
			b[i][j] = a[k][m]*a[l][n] - a[k][n]*a[l][m]
		}
	}
	det := a[0][0]*b[0][0] + a[0][1]*b[1][0] + a[0][2]*b[2][0]
	for i := range b {
		for j := range b[i] {
			b[i][j] /= det
		}
	}
	return b
}
