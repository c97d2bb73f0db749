package guitar

import (
	"errors"
	"math"
	"strings"
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"
)

// needs is the sentence of a *NotYet.
func needs(t *testing.T, err error, say string) {
	t.Helper()
	var n *NotYet
	if !errors.As(err, &n) {
		t.Fatalf("error %v (%T), want one that says what to do first", err, err)
	}
	if !strings.Contains(n.Say.String(), say) {
		t.Errorf("%q does not say %q", n.Say.String(), say)
	}
}

func readTwice(t *testing.T, g Guitar, gap unit.Length, offset string) Guitar {
	t.Helper()
	for range 2 {
		g = enter(t, g, StepLean, "gap", mmText(gap), "gap", mmText(gap), "surface", "frets", "graduation", "0.1")
		toward := "treble"
		if offset == "0" {
			toward = "centre"
		}
		g = enter(t, g, StepPoint, "offset", offset, "offset", offset, "toward", toward, "graduation", "0.1")
	}
	return g
}

func TestCutAskedSaysWhatToReadFirst(t *testing.T) {
	g := wren(t)
	asked := func(g Guitar) (NextCut, error) { return g.Bench(Options{}).CutAsked() }
	_, err := asked(g)
	needs(t, err, "Read the lean first.")
	want := g.Bench(Options{}).Aim.GapOnFrets
	lean := enter(t, g, StepLean, "gap", mmText(want-1.2*unit.MM), "surface", "frets", "graduation", "0.1")
	_, err = asked(lean)
	needs(t, err, "Read where the neck points first")

	off := readTwice(t, g, want-1.2*unit.MM, "1.3")
	cut, err := asked(off)
	if err != nil || cut.Cut.Planned.Deepest() <= 0 {
		t.Fatalf("cut %+v, %v", cut.Cut.Planned, err)
	}
	if cut.Cut != off.Bench(Options{}).Cut.Cut {
		t.Error("the cut to draw is not the bench's")
	}
	// Once made, the readings are used up.
	_, err = asked(enter(t, off, StepCut, "tool", "chisel", "judged", "marks"))
	needs(t, err, "again")
	// Where it should be, none is wanted.
	_, err = asked(readTwice(t, g, want, "0"))
	needs(t, err, "No cut is wanted now.")
	// More wood than there is: no map to cut by.
	_, err = asked(readTwice(t, enter(t, g, StepDesign, "shoulder_spare", "1"), want-12*unit.MM, "0"))
	needs(t, err, "Stop")
}

func TestSaddleIsPlacedFromTheLastReading(t *testing.T) {
	g := wren(t)
	_, err := g.SaddlePlace()
	needs(t, err, "never placed from the plan")

	plan := g.Bench(Options{}).Aim.Target.NutToJoint
	g = readTwice(t, g, g.Bench(Options{}).Aim.GapOnFrets-1.2*unit.MM, "1.3")
	g = enter(t, g, StepCut, "tool", "chisel", "judged", "marks")
	measured := plan - 0.4*unit.MM
	g = enter(t, g, StepBridge, "nut_to_joint", mmText(measured))
	p, err := g.SaddlePlace()
	if err != nil {
		t.Fatal(err)
	}
	// Scale 648 mm and setback 2.4 mm from the nut, less what was measured; the plan does not come into it.
	// source: by hand.
	reftest.Near(t, "from the nut", p.FromNut.MM(), 650.4, 1e-9)
	reftest.Near(t, "from the body's edge", p.FromJoint.MM(), 650.4-measured.MM(), 1e-5)
	reftest.Near(t, "plan", p.Planned.MM(), 648*(1-math.Exp2(-14.0/12)), 1e-9)
	in, err := IntonationOf(g.Design())
	if err != nil {
		t.Fatal(err)
	}
	for i, q := range p.Points {
		reftest.Near(t, "string from the nut", q.FromNut.MM(), 648+in.SaddleOnly[i].Saddle.MM(), 1e-9)
		reftest.Near(t, "string across", q.Across.MM(), -27.5+11*float64(i), 1e-9)
	}
	reftest.Near(t, "what the strings would have", p.Wanted.MM(), in.Centre.MM()-2.4, 1e-9)
	// With the setback taken from the strings there is nothing left to want.
	fromStrings := enter(t, g, StepDesign, "setback_from", FromStrings)
	if q, err := fromStrings.SaddlePlace(); err != nil || math.Abs(q.Wanted.MM()) > 1e-9 {
		t.Errorf("wanted %v, %v", q.Wanted, err)
	}

	// Wood that comes off after the measuring moves the nut: it must be measured again, and the step says so too.
	again := readTwice(t, g, g.Bench(Options{}).Aim.GapOnFrets-1*unit.MM, "1")
	again = enter(t, again, StepCut, "tool", "chisel", "judged", "marks")
	_, err = again.SaddlePlace()
	needs(t, err, "Measure from the nut to the body's edge again")
	if st := again.Bench(Options{}).Step(StepBridge); st.Status != Again {
		t.Errorf("the bridge's step is %s", st.Status.Name())
	}
	again = enter(t, again, StepBridge, "nut_to_joint", mmText(measured))
	if _, err := again.SaddlePlace(); err != nil {
		t.Error(err)
	}
	// So does a shim.
	_, err = enter(t, again, StepShim, "edge", "top", "thickness", "0.5").SaddlePlace()
	needs(t, err, "again")
	// A reading that leaves no room for a body is asked for again.
	_, err = enter(t, g, StepBridge, "nut_to_joint", "640").SaddlePlace()
	needs(t, err, "measure again")
}

func TestSaddleOnTwoScalesFollowsThem(t *testing.T) {
	g := enter(t, wren(t), StepDesign, "scale_length", "648", "bass_scale", "660", "treble_scale", "636", "perpendicular_fret", "7")
	g = enter(t, g, StepBridge, "nut_to_joint", "358")
	p, err := g.SaddlePlace()
	if err != nil {
		t.Fatal(err)
	}
	in, err := IntonationOf(g.Design())
	if err != nil {
		t.Fatal(err)
	}
	// Fret 7 stands square where 1 - 2^(-7/12) = 0.33258 of each string is behind it: from there to the saddle the bass string runs
	// 24 × 0.66742 = 16.018 mm farther than the treble one. source: by hand.
	first, last := p.Points[0], p.Points[5]
	reftest.Near(t, "bass end behind the treble end", (first.FromNut - in.SaddleOnly[0].Saddle - last.FromNut + in.SaddleOnly[5].Saddle).MM(), 24*math.Exp2(-7.0/12), 1e-6)
	reftest.Near(t, "slope", p.Slope, in.Straight.Slope-24*math.Exp2(-7.0/12)/55, 1e-6)
}

func TestBlanksStandAsTheActionAsks(t *testing.T) {
	// A flat board: each string's height at the saddle over the fret line is h + (a - dip - h)(L + S)/(L/2), its action going evenly
	// from bass to treble. Fret 12 is the joint, so there is no dip. source: docs/method/neckset.md, by hand.
	b, err := FindBasis("nylon-12")
	if err != nil {
		t.Fatal(err)
	}
	got, err := BlanksOf(b.Values)
	if err != nil {
		t.Fatal(err)
	}
	in, err := IntonationOf(b.Values)
	if err != nil {
		t.Fatal(err)
	}
	const L, h = 650.0, 0.6
	height := func(a, s float64) float64 { return h + (a-h)*(L+s)/(L/2) }
	for i, c := range got.Saddle {
		a := 3.8 - 0.8*float64(i)/5
		reftest.Near(t, "saddle over the bridge", c.Over.MM(), 3.2+height(a, in.Saddle[i].MM())-height(3.4, 1.4), 1e-6)
		reftest.Near(t, "on a straight saddle", c.Behind.MM(), 0, 1e-9)
		reftest.Near(t, "along it", c.Along.MM(), (-29+11.6*float64(i))*math.Hypot(1, in.Straight.Slope), 1e-6)
		// Square across the slot, what a string wants off the line is shorter by the slot's cosine.
		reftest.Near(t, "where it would be", c.Wanted.MM(), (in.SaddleOnly[i].Saddle-in.Straight.Saddle[i]).MM()*math.Cos(float64(in.Straight.Angle)), 0.001*math.Abs(c.Wanted.MM())+1e-3)
	}
	if got.Radius != 0 || got.Blank != 0 {
		t.Errorf("radius %v, blank %v", got.Radius, got.Blank)
	}
	reftest.Near(t, "slant", float64(got.Slant), math.Atan(in.Straight.Slope), 1e-12)

	// A board of 400 mm radius all along: the outer strings, 27.5 mm out, lie 27.5²/(400 + sqrt(400² - 27.5²)) = 0.9464 mm lower than on
	// a flat one, whatever the action. source: sagitta of a circle, by hand.
	steel := wren(t)
	round, err := BlanksOf(steel.Design())
	if err != nil {
		t.Fatal(err)
	}
	flat, err := BlanksOf(enter(t, steel, StepDesign, "board_radius_nut", "flat", "board_radius_end", "flat").Design())
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range []int{0, 5} {
		reftest.Near(t, "lower by the board's radius", (flat.Saddle[i].Over - round.Saddle[i].Over).MM(), 0.9464, 1e-4)
	}
	// A saddle at a slant cuts the round at a slant, where it is flatter by the square of the cosine. source: by hand.
	cos := math.Cos(float64(round.Slant))
	reftest.Near(t, "radius", round.Radius.MM(), 400/(cos*cos), 1e-9)
	// A cone from 300 mm at the nut to 400 mm at the board's end has gone on growing by the saddle.
	cone, err := BlanksOf(enter(t, steel, StepDesign, "board_radius_nut", "300", "board_radius_end", "400", "board_length", "460").Design())
	if err != nil {
		t.Fatal(err)
	}
	cos = math.Cos(float64(cone.Slant))
	reftest.Near(t, "radius at the saddle", cone.Radius.MM()*cos*cos, 300+100*(648+intonationCentre(t, steel))/460, 1e-3)

	// So low a saddle that a string would touch the bridge is refused, and says which figure to mend.
	low := enter(t, steel, StepDesign, "saddle_projection", "0.5", "board_radius_nut", "150", "board_radius_end", "150")
	_, err = BlanksOf(low.Design())
	var p Problems
	if !errors.As(err, &p) || p[0].Field != "saddle_projection" {
		t.Errorf("error %v, want one about the saddle's projection", err)
	}
}

func intonationCentre(t *testing.T, g Guitar) float64 {
	t.Helper()
	in, err := IntonationOf(g.Design())
	if err != nil {
		t.Fatal(err)
	}
	return in.Centre.MM()
}

func TestBridgeShapeNeedsItsWholeOutline(t *testing.T) {
	b := BridgeShapeOf(wren(t).Design())
	if b.Across.MM() != 152 || b.Along.MM() != 30 || b.Front.MM() != 10 || b.PinsBehind.MM() != 13 {
		t.Errorf("bridge %+v", b)
	}
	d := wren(t).Design()
	delete(d, "bridge_front")
	if b := BridgeShapeOf(d); b.Across != 0 || b.PinsBehind.MM() != 13 {
		t.Errorf("without its front edge the bridge is %+v", b)
	}
}
