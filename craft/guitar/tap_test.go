package guitar

import (
	"math"
	"testing"

	"fairset/internal/reftest"
)

// Notes that follow power laws of the shares: logarithms are linear in them, so the fit can be done by hand. One note f = f0 √p₁, heard a tenth high:
// x = a·y/s² / (a²/s² + 1/t²) with a = 1/2, y = ln 1.1, s = 0.03, t = 0.2; the spread is 1/√(a²/s² + 1/t²); the other two stay as they were.
func TestFitOfOneNoteByHand(t *testing.T) {
	ring := func(p [3]float64) ([]float64, error) { return []float64{200 * math.Sqrt(p[0])}, nil }
	got, err := fitShares([]float64{220}, ring)
	if err != nil {
		t.Fatal(err)
	}
	const a, s, w = 0.5, 0.03, 0.2
	weight := a*a/(s*s) + 1/(w*w)
	x := a * math.Log(1.1) / (s * s) / weight
	reftest.Near(t, "along", got.Along.Share, math.Exp(x), 1e-9)
	reftest.Near(t, "its spread", got.Along.SD/got.Along.Share, 1/math.Sqrt(weight), 1e-9)
	reftest.Near(t, "across, of which the note says nothing", got.Across.Share, 1, 1e-12)
	reftest.Near(t, "its spread", got.Across.SD, w, 1e-9)
	reftest.Near(t, "how much was told of it", got.Told[1], 0, 1e-9)
	if len(got.Notes) != 1 || got.Notes[0].Far {
		t.Errorf("notes %+v", got.Notes)
	}
}

// Notes made from known shares bring them back, but for what the prior holds against them; a note of another mode is told.
func TestFitBringsBackTheWood(t *testing.T) {
	ring := func(p [3]float64) ([]float64, error) {
		f := func(a, b, c, hz float64) float64 { return hz * math.Sqrt(a*p[0]+b*p[1]+c*p[2]) }
		return []float64{f(0.2, 0.1, 0.7, 190), f(0.6, 0.2, 0.2, 390), f(0.1, 0.8, 0.1, 420), f(0.3, 0.3, 0.4, 480), f(0.7, 0.1, 0.2, 590)}, nil
	}
	want := [3]float64{1.15, 0.85, 1.1}
	heard, _ := ring(want)
	got, err := fitShares(heard, ring)
	if err != nil {
		t.Fatal(err)
	}
	for i, w := range []Wood{got.Along, got.Across, got.Braces} {
		if off := math.Abs(math.Log(w.Share / want[i])); off > w.SD/w.Share || off > math.Abs(math.Log(want[i])) {
			t.Errorf("share %d came back as %.3f, not %.3f, give or take %.3f", i, w.Share, want[i], w.SD)
		}
		if got.Told[i] < 0.3 {
			t.Errorf("five notes took away %.2f of the doubt of share %d", got.Told[i], i)
		}
	}
	heard[1] *= 1.5
	if got, err = fitShares(heard, ring); err != nil || !got.Notes[1].Far {
		t.Errorf("a note half as high again passes: %+v, %v", got.Notes, err)
	}
	heard[1] = 0
	if got, err = fitShares(heard, ring); err != nil || len(got.Notes) != 4 {
		t.Errorf("a note left out: %+v, %v", got.Notes, err)
	}
}

func TestInverse(t *testing.T) {
	a := [3][3]float64{{4, 1, 0.5}, {1, 3, -0.2}, {0.5, -0.2, 2}}
	b := inverted(a)
	for i := range 3 {
		for j := range 3 {
			sum, want := 0.0, 0.0
			for k := range 3 {
				sum += a[i][k] * b[k][j]
			}
			if i == j {
				want = 1
			}
			reftest.Near(t, "product", sum, want, 1e-12)
		}
	}
}

// On the real plate: notes made with a stiffer top are answered with a stiffer top.
func TestTapsOfATop(t *testing.T) {
	d := set(bases[0].Values, "tap_mode1", "203.5") // a tenth over the 185 Hz that the mean of its kind gives
	got, err := FitTaps(t.Context(), d)
	if err != nil {
		t.Fatal(err)
	}
	n := got.Notes[0]
	if !(n.Before > 170 && n.Before < 200) {
		t.Errorf("the lowest note is computed as %v", n.Before)
	}
	if !(got.Along.Share > 1 && got.Across.Share > 1 && got.Braces.Share > 1 && n.After > n.Before && n.After < n.Heard) {
		t.Errorf("a note of 203.5 Hz gives %+v", got)
	}
	_, err = FitTaps(t.Context(), bases[0].Values)
	if p, ok := err.(Problems); !ok || p.For("tap_mode1") == nil {
		t.Errorf("without notes: %v", err)
	}
}
