package neckset_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"
)

func board(t *testing.T) neckset.Tool {
	t.Helper()
	tool, ok := neckset.FindTool("board-120")
	if !ok {
		t.Fatal("no board-120")
	}
	return tool
}

func TestEveryToolHasItsCaution(t *testing.T) {
	seen := map[string]bool{}
	for _, tool := range neckset.Tools() {
		if tool.Name == "" || tool.Caution == "" || !(tool.PerStroke > 0) || tool.PerStroke > 0.5*mm || !(tool.SpreadLn > 0) || seen[tool.Key] {
			t.Errorf("%+v", tool)
		}
		seen[tool.Key] = true
	}
	if _, ok := neckset.FindTool("spoon"); ok {
		t.Error("found a tool that is not there")
	}
}

func TestRateWithNothingSeen(t *testing.T) {
	tool := board(t)
	r := neckset.LearnRate(tool, "wren", nil)
	NearMM(t, "stated guess", r.PerStroke, tool.PerStroke.MM(), 1e-9)
	// source: hand derivation: the shop's doubt 0.7 and the guitars' scatter 0.3 add as squares.
	Near(t, "spread", r.SpreadLn, math.Sqrt(0.7*0.7+0.3*0.3), 1e-9)
	if r.Own != 0 || r.Shop != 0 {
		t.Errorf("%+v", r)
	}
	// Passes that teach nothing.
	nan := unit.Length(math.NaN())
	r2 := neckset.LearnRate(tool, "wren", []neckset.Removal{
		{"wren", "file", 10, 1 * mm, 0.1 * mm}, {"wren", tool.Key, 0, 1 * mm, 0.1 * mm}, {"wren", tool.Key, 10, nan, 0.1 * mm}, {"wren", tool.Key, 10, 1 * mm, 0}, {"wren", tool.Key, 10, 1 * mm, unit.Length(math.Inf(1))},
	})
	if r2 != r {
		t.Errorf("%+v became %+v", r, r2)
	}
}

// source: hand derivation: with one exact pass the log rate is drawn from the guess toward what was seen by the
// ratio of the variances, prior 0.7² + 0.3², pass 0.15².
func TestRateFromOneExactPass(t *testing.T) {
	tool := board(t)
	twice := tool.PerStroke * 2
	r := neckset.LearnRate(tool, "wren", []neckset.Removal{{"wren", tool.Key, 100, 100 * twice, 1e-9 * mm}})
	prior, pass := 0.7*0.7+0.3*0.3, 0.15*0.15
	// The pass's scatter is a share of the depth expected, so the pull is not quite that of a plain logarithm:
	// 1.5 % of the rate covers it.
	Near(t, "log of the rate over the guess", math.Log(float64(r.PerStroke/tool.PerStroke)), math.Ln2*prior/(prior+pass), 0.015)
	Near(t, "spread", r.SpreadLn, math.Sqrt(prior*pass/(prior+pass)), 0.005)
	if r.Own != 1 {
		t.Errorf("%+v", r)
	}
}

// Drawn guitars of a drawn shop: the rate learned comes near the true one, is as sure as it says, and the
// shop's other guitars help before this one has been touched.
func TestRateLearns(t *testing.T) {
	tool := board(t)
	r := rand.New(rand.NewPCG(1, 2))
	var z2, guess2, shop2, own2 float64
	const shops = 400
	for range shops {
		shop := math.Log(float64(tool.PerStroke)) + 0.7*r.NormFloat64()
		truth := shop + 0.3*r.NormFloat64()
		pass := func(guitar string, ln float64) neckset.Removal {
			strokes := 20 + r.IntN(60)
			d := float64(strokes) * math.Exp(ln+0.15*r.NormFloat64())
			sd := 0.15 * d
			return neckset.Removal{Guitar: guitar, Tool: tool.Key, Strokes: strokes, Depth: unit.Length(d + sd*r.NormFloat64()), DepthSD: unit.Length(sd)}
		}
		var seen []neckset.Removal
		for _, g := range []string{"a", "b", "c", "d"} {
			ln := shop + 0.3*r.NormFloat64()
			seen = append(seen, pass(g, ln), pass(g, ln))
		}
		before := neckset.LearnRate(tool, "wren", seen)
		seen = append(seen, pass("wren", truth), pass("wren", truth), pass("wren", truth))
		after := neckset.LearnRate(tool, "wren", seen)
		if before.Shop != 8 || after.Own != 3 || after.SpreadLn >= before.SpreadLn {
			t.Fatalf("%+v then %+v", before, after)
		}
		off := func(rate unit.Length) float64 { return math.Log(float64(rate)) - truth }
		guess2 += off(tool.PerStroke) * off(tool.PerStroke)
		shop2 += off(before.PerStroke) * off(before.PerStroke)
		own2 += off(after.PerStroke) * off(after.PerStroke)
		z2 += off(after.PerStroke) * off(after.PerStroke) / (after.SpreadLn * after.SpreadLn)
	}
	t.Logf("error of the log rate: guess %.2f, shop %.2f, own %.2f", math.Sqrt(guess2/shops), math.Sqrt(shop2/shops), math.Sqrt(own2/shops))
	if !(shop2 < guess2/2 && own2 < shop2/2) {
		t.Errorf("squares of the error: guess %.3f, shop %.3f, own %.3f", guess2/shops, shop2/shops, own2/shops)
	}
	// As sure as it says: the mean square of error over stated spread is 1, with a standard error of
	// sqrt(2/400) = 0.07; the reading's own curvature adds some.
	Near(t, "error over stated spread, squared", z2/shops, 1, 0.3)
}

func TestStrokes(t *testing.T) {
	r := neckset.Rate{PerStroke: 0.01 * mm}
	for _, tc := range []struct {
		depth unit.Length
		want  int
	}{{0.4 * mm, 40}, {0.001 * mm, 1}, {0, 0}, {-1 * mm, 0}, {unit.Length(math.NaN()), 0}, {unit.Length(math.Inf(1)), 1e6}} {
		if got := r.Strokes(tc.depth); got != tc.want {
			t.Errorf("%v: %d strokes, want %d", tc.depth, got, tc.want)
		}
	}
	if (neckset.Rate{}).Strokes(1*mm) != 0 {
		t.Error("strokes without a rate")
	}
	// source: coefficient of variation of a log-normal, sqrt(exp(s²) - 1), with the pass's own 0.15.
	Near(t, "cut spread", neckset.Rate{SpreadLn: 0.2}.CutSD(), math.Sqrt(math.Exp(0.0625)-1), 1e-9)
	if s := (neckset.Rate{SpreadLn: 3}).CutSD(); s != 1 {
		t.Errorf("spread %v", s)
	}
}

func TestInferRemoval(t *testing.T) {
	c, _, err := neckset.NextCut(workedCut(6.9, 5.2, 2))
	if err != nil {
		t.Fatal(err)
	}
	// Both axes went 80 % of the way.
	d, sd, ok := neckset.InferRemoval(c, c.PlannedGap*0.8, 0.1*mm, -c.PlannedOffset*0.8, 0.2*mm)
	if !ok || !(sd > 0) {
		t.Fatal(d, sd, ok)
	}
	NearMM(t, "depth", d, c.Planned.Deepest().MM()*0.8, 1e-9)
	// One axis read: still known, less surely. None: nothing.
	_, sd1, ok := neckset.InferRemoval(c, c.PlannedGap*0.8, 0.1*mm, 0, unit.Length(math.Inf(1)))
	if !ok || !(sd1 > sd) {
		t.Errorf("spread %v with one axis, %v with both", sd1, sd)
	}
	if _, _, ok := neckset.InferRemoval(c, 0, 0, 0, unit.Length(math.Inf(1))); ok {
		t.Error("learned from no reading")
	}
	if _, _, ok := neckset.InferRemoval(neckset.Cut{}, 1*mm, 0.1*mm, 1*mm, 0.1*mm); ok {
		t.Error("learned from no cut")
	}
}

func TestRemedies(t *testing.T) {
	in := workedCut(7, 7, 0)
	b := steelDome()
	find := func(rs []neckset.Remedy, code string) neckset.Remedy {
		for _, r := range rs {
			if r.Code == code {
				return r
			}
		}
		t.Errorf("no %q in %v", code, rs)
		return neckset.Remedy{}
	}
	// Lean back by 1 mm at the saddle, 284 mm off, on a heel 88 mm high. source: similar triangles.
	depth := 1.0 * 88 / 284
	rs := neckset.Remedies(in, 1*mm, 0, &b)
	cut, shim := find(rs, "cut"), find(rs, "shim")
	NearMM(t, "cut", cut.Amount, depth, 1e-9)
	NearMM(t, "shim", shim.Amount, depth, 1e-9)
	NearMM(t, "cut's shift", cut.NeckShift, 0, 1e-9)
	NearMM(t, "shim's shift", shim.NeckShift, -depth, 1e-9)
	if cut.Where != "cap" || shim.Where != "top edge" {
		t.Errorf("cut at the %s, shim at the %s", cut.Where, shim.Where)
	}
	// A bridge 1 mm thinner asks for a gap 1 mm less: the target itself as a second route.
	low := b
	low.BridgeThickness += find(rs, "bridge").Amount
	was, _, _ := b.Target()
	is, _, _ := low.Target()
	NearMM(t, "target with the other bridge", is.GapOnFrets, was.GapOnFrets.MM()-1, 1e-9)
	low = b
	low.SaddleProjection += find(rs, "saddle").Amount
	is, _, _ = low.Target()
	NearMM(t, "target with the other saddle", is.GapOnFrets, was.GapOnFrets.MM()-1, 1e-9)
	// Planing the board: the line through the two ends, by hand. source: similar triangles.
	l, D := was.NutToJoint.MM(), 284.0
	p := find(rs, "plane_board")
	NearMM(t, "height gained at the saddle", p.Amount, 1*l/D, 1e-9)
	fwd := neckset.Remedies(in, -1*mm, 0, &b)
	p = find(fwd, "plane_board")
	// From 0 at the nut to -t at the joint, on to the saddle: -t (l + D)/l.
	Near(t, "height lost at the saddle", p.Amount.MM()*(l+D)/l, 1, 1e-9)
	cut, shim = find(fwd, "cut"), find(fwd, "shim")
	NearMM(t, "cut at the top edge brings the nut nearer by all of it", cut.NeckShift, depth, 1e-9)
	NearMM(t, "shim at the cap leaves the nut where it is", shim.NeckShift, 0, 1e-9)
	if cut.Where != "top edge" || shim.Where != "cap" {
		t.Errorf("cut at the %s, shim at the %s", cut.Where, shim.Where)
	}
	// Swing alone: cheeks, and nothing that cannot swing.
	swing := neckset.Remedies(in, 0, 1*mm, &b)
	if len(swing) != 2 || !within(swing[0].Where.English(), "treble") || !within(swing[1].Where.English(), "bass") {
		t.Errorf("%+v", swing)
	}
	if got := neckset.Remedies(in, 0, 0, &b); got != nil {
		t.Errorf("nothing to cure: %v", got)
	}
	if got := neckset.Remedies(neckset.CutInput{}, 1*mm, 0, nil); got != nil {
		t.Errorf("no heel: %v", got)
	}
	find(neckset.Remedies(in, 14*mm, 0, nil), "new_neck")
	for _, r := range append(append(rs, fwd...), swing...) {
		for _, s := range unit.Styles() {
			if text := r.Say.In(s); text == "" || within(text, "%!") {
				t.Errorf("%s: %q", r.Code, text)
			}
		}
	}
}

func within(s, part string) bool { return strings.Contains(s, part) }
