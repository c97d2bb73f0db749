package neckset_test

import (
	"math"
	"testing"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

// Second route for the seat: points sampled on the circle, and a flat laid against them.
func TestSeatBySampledPoints(t *testing.T) {
	in := neckset.SeatInput{ArcRadius: 310 * mm, HeelWidth: 58 * mm, TenonWidth: 20 * mm, BodyShare: 0.5, SideThickness: 2.2 * mm, SideLimit: 0.25}
	got, _, err := neckset.FitSeat(in)
	if err != nil {
		t.Fatal(err)
	}
	// The body's end: x(y) with the crown at x = 0 and the body at x > 0; the mortise takes |y| < t.
	const n = 200_000
	type point struct{ x, y float64 }
	var arc []point
	for i := range n + 1 {
		a := (float64(i)/n - 0.5) * 0.3 // radians either side of the crown
		arc = append(arc, point{0.310 - 0.310*math.Cos(a), 0.310 * math.Sin(a)})
	}
	touch, edge := math.Inf(1), 0.0
	for _, p := range arc {
		if y := math.Abs(p.y); y >= 0.010 && y <= 0.029 {
			touch = math.Min(touch, p.x)
			edge = math.Max(edge, p.x)
		}
	}
	NearMM(t, "edge gap", got.EdgeGap, (edge-touch)*1000, 0.002) // the samples stand 0.5 µm apart
	wide := 0.0
	for _, p := range arc {
		if p.x <= touch+float64(got.BodyRemoval) {
			wide = math.Max(wide, 2*math.Abs(p.y))
		}
	}
	NearMM(t, "flat width", got.BodyFlatWidth, wide*1000, 0.005)
	// Flattened all the way, the flat is as wide as the heel and nothing is left to hollow.
	in.BodyShare, in.SideLimit, in.SideThickness = 1, 0.5, 3*mm
	got, _, err = neckset.FitSeat(in)
	if err != nil {
		t.Fatal(err)
	}
	NearMM(t, "flat width, all from the body", got.BodyFlatWidth, 58, 1e-9)
	NearMM(t, "left to hollow", got.HeelRemoval, 0, 1e-12)
}

func TestFlatBodyEndNeedsNothing(t *testing.T) {
	got, _, err := neckset.FitSeat(neckset.SeatInput{HeelWidth: 58 * mm, TenonWidth: 20 * mm, BodyShare: 0.5, SideThickness: 2.2 * mm, SideLimit: 0.25})
	if err != nil || got.EdgeGap != 0 || got.BodyRemoval != 0 || got.HeelRemoval != 0 || got.BodyFlatWidth != 58*mm {
		t.Errorf("%+v, %v", got, err)
	}
	// And an arc grows flat: at a kilometre the stand-off is under a thousandth of a millimetre.
	got, _, err = neckset.FitSeat(neckset.SeatInput{ArcRadius: 1000, HeelWidth: 58 * mm, TenonWidth: 20 * mm, BodyShare: 0, SideThickness: 2.2 * mm, SideLimit: 0.25})
	if err != nil || got.EdgeGap <= 0 || got.EdgeGap > 0.001*mm {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestArcFromChord(t *testing.T) {
	// source: hand derivation: a half circle has rise = half chord = radius; 3-4-5: chord 8, radius 5 leaves a rise of 2.
	for _, tc := range []struct{ chord, rise, radius float64 }{{200, 100, 100}, {80, 20, 50}} {
		r, err := neckset.ArcFromChord(unit.Length(tc.chord)*mm, unit.Length(tc.rise)*mm)
		if err != nil {
			t.Fatal(err)
		}
		NearMM(t, "radius", r, tc.radius, 1e-9)
	}
	_, err := neckset.ArcFromChord(100*mm, 51*mm)
	RangeError(t, err, "rise")
	_, err = neckset.ArcFromChord(100*mm, 0)
	RangeError(t, err, "rise")
	_, err = neckset.ArcFromChord(0, 1*mm)
	RangeError(t, err, "chord")
}

// Second route for the setup: the frequencies themselves. Stopped at fret 12 the string sounds 2·2^(c/1200)
// times the open one; after the move it must sound exactly twice.
func TestSetUpByFrequencyRatio(t *testing.T) {
	const L, S = 632.0, 2.2
	cents := []float64{-60, -8, -0.5, 0.01, 4, 17, 60}
	got, _, err := neckset.SetUp(neckset.SetupInput{ScaleLength: L * mm, SaddleSetback: S * mm, Action: neckset.Sides{Bass: 2 * mm, Treble: 2 * mm}, Wanted: neckset.Sides{Bass: 2 * mm, Treble: 2 * mm}, Cents: cents})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range cents {
		open, stopped := 1/(L+S), 1/(L/2+S)
		pull := 2 * math.Pow(2, c/1200) * open / stopped // what pressing the string does, taken to stay the same
		d := got.SaddleMove[i].MM()
		Near(t, "ratio at fret 12 after the move", pull*(L+S+d)/(L/2+S+d), 2, 1e-12)
	}
	NearMM(t, "nothing to take off", got.SaddleRemoval.Bass, 0, 1e-12)
}

// Second route for the repair: the same guitar as a design, once with the action it has and once with the
// one wanted; the two targets differ by what the neck must turn.
func TestRepairByDesign(t *testing.T) {
	now, want := steelDome(), steelDome()
	now.Action12, want.Action12 = 3.4*mm, 2.2*mm
	a, _, err := now.Target()
	if err != nil {
		t.Fatal(err)
	}
	b, _, err := want.Target()
	if err != nil {
		t.Fatal(err)
	}
	got, twist, err := neckset.Repair(neckset.RepairInput{
		ScaleLength: now.ScaleLength, SaddleSetback: now.SaddleSetback, Gap: a.GapOnFrets,
		Action: neckset.Sides{Bass: 3.6 * mm, Treble: 3.2 * mm}, Wanted: neckset.Sides{Bass: 2.3 * mm, Treble: 2.1 * mm},
	})
	if err != nil {
		t.Fatal(err)
	}
	NearMM(t, "gap to set to", got, b.GapOnFrets.MM(), 1e-9)
	NearMM(t, "twist", twist, 1.3-1.1, 1e-9)
	if got <= a.GapOnFrets {
		t.Error("a high action must ask for more lean, so a larger gap")
	}
}

// Common practice, no source: a straight edge on the neck stands about 1/4 in over the top at the bridge on
// a common flat-ish steel-string. An ordinary design of that kind must land within 1/16 in of it, on the
// frets and on the bare board.
func TestQuarterInchOverTheTop(t *testing.T) {
	// Our own ordinary design: bridge 5/16 in, saddle 7/64 in over it, 3/32 in of action.
	b := neckset.Build{
		ScaleLength: 25.4 * unit.Inch, JointFret: 14, SaddleSetback: 2.5 * mm,
		BoardThickness: 0.25 * unit.Inch, FretCrown: 1.1 * mm, Relief: 0.15 * mm, JointFold: 0.02 * unit.Degree, TopRise: 0.3 * mm,
		BridgeThickness: 5.0 / 16 * unit.Inch, SaddleProjection: 7.0 / 64 * unit.Inch, NutHeight: 0.45 * mm, Action12: 3.0 / 32 * unit.Inch,
		Top: neckset.Top{Radius: 12 * unit.Metre, Apex: 200 * mm},
	}
	got, _, err := b.Target()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("on the frets %.3f in, on the board %.3f in", got.GapOnFrets.Inches(), got.GapOnBoard.Inches())
	Near(t, "gap on frets in inches", got.GapOnFrets.Inches(), 0.25, 1.0/16)
	Near(t, "gap on board in inches", got.GapOnBoard.Inches(), 0.25, 1.0/16)

	// Which dimension moves it: the action at fret 12, by the ratio of the whole string to half of it; bridge
	// and saddle one for one. source: derived, slopes of the formula by hand.
	slopes, err := b.Slopes()
	if err != nil {
		t.Fatal(err)
	}
	L, S := b.ScaleLength.MM(), b.SaddleSetback.MM()
	Near(t, "slope of action", slopes["action12"], -(L+S)/(L/2), 1e-6)
	Near(t, "slope of bridge", slopes["bridge_thickness"], 1, 1e-6)
	Near(t, "slope of saddle", slopes["saddle_projection"], 1, 1e-6)
	Near(t, "slope of fold, mm a radian", slopes["joint_fold"]*1000, got.SaddleDistance.MM(), 1e-3)
	Near(t, "slope of nut", slopes["nut_height"], (L+S)/(L/2)-1, 1e-6)
	Near(t, "slope of board", slopes["board_thickness"], 0, 1e-9)
	// Relief moves it more, millimetre for millimetre, but relief is a matter of tenths. With what each is
	// usually unsure by (our own guesses), the action comes first and relief well after.
	budget, err := b.Budget([]neckset.Spread{
		{"relief", 0.05e-3}, {"bridge_thickness", 0.25e-3}, {"saddle_projection", 0.25e-3}, {"action12", 0.25e-3},
		{"nut_height", 0.1e-3}, {"joint_fold", 0.02 * float64(unit.Degree)}, {"top_rise", 0.2e-3}, {"scale_length", 0.5e-3},
	}, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	if budget.Shares[0].Field != "action12" {
		t.Errorf("%+v comes first", budget.Shares[0])
	}
}

// A radius gives back the chord and rise it came from.
func TestArcRiseUndoesArcFromChord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chord := rapid.Float64Range(20, 200).Draw(t, "chord")
		rise := rapid.Float64Range(0.05, 0.49*chord).Draw(t, "rise")
		r, err := neckset.ArcFromChord(unit.Length(chord)*unit.MM, unit.Length(rise)*unit.MM)
		if err != nil {
			t.Skip(err)
		}
		Near(t, "rise", neckset.ArcRise(r, unit.Length(chord)*unit.MM).MM(), rise, 1e-6)
	})
	// s = R - sqrt(R² - c²/4): 330 mm and a chord of 58 mm rise 1.276712 mm. source: sagitta of a circle, by hand.
	Near(t, "rise", neckset.ArcRise(330*unit.MM, 58*unit.MM).MM(), 1.276712, 1e-6)
	if neckset.ArcRise(0, 58*unit.MM) != 0 || unit.Finite(float64(neckset.ArcRise(20*unit.MM, 58*unit.MM))) {
		t.Error("a flat rises, or a chord is longer than its circle is wide")
	}
}
