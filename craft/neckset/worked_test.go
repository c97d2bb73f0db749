package neckset_test

import (
	"testing"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"
)

const mm = unit.MM

// steelDome is the first worked case's design.
func steelDome() neckset.Build {
	return neckset.Build{
		ScaleLength: 632 * mm, JointFret: 14, SaddleSetback: 2.2 * mm,
		BoardThickness: 6 * mm, FretCrown: 1.1 * mm,
		Relief: 0.15 * mm, JointFold: 0.03 * unit.Degree, TopRise: 0.4 * mm,
		BridgeThickness: 8.5 * mm, SaddleProjection: 3 * mm, NutHeight: 0.45 * mm, Action12: 2.2 * mm,
		Top: neckset.Top{Radius: 7620 * mm, Apex: 250 * mm},
	}
}

// twelveFlat is the second: joint at fret 12, flat top, no change from unstrung to strung.
func twelveFlat() neckset.Build {
	b := steelDome()
	b.JointFret, b.ReliefUnstrung, b.JointFold, b.TopRise, b.Top = 12, 0.15*mm, 0, 0, neckset.Top{}
	return b
}

// source: independent calculation, worked cases of the neck-set arithmetic (mm, degrees)
func TestTargetWorkedCases(t *testing.T) {
	for _, tc := range []struct {
		name                                                                     string
		build                                                                    neckset.Build
		distance, joint, dip, height, strung, onFrets, onBoard, topHeight, angle float64
	}{
		{"14 frets, domed", steelDome(), 283.7239949323472, 350.4760050676528, 0.058480565906690554, 3.844815269310054,
			7.655184730689946, 8.689465667499565, 7.5894656674995655, 4.027527182706763, 1.134158385877908},
		{"12 frets, flat", twelveFlat(), 318.2, 316.0, 0.0, 3.962183544303798,
			7.537816455696202, 7.537816455696202, 6.437816455696202, 0.0, 0.07883412722476314},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got, warns, err := tc.build.Target()
			if err != nil || len(warns) != 0 {
				t.Fatal(err, warns)
			}
			NearMM(t, "saddle distance", got.SaddleDistance, tc.distance, WorkedCase)
			NearMM(t, "nut to joint", got.NutToJoint, tc.joint, WorkedCase)
			NearMM(t, "dip at fret 12", got.Fret12Dip, tc.dip, WorkedCase)
			NearMM(t, "string height", got.StringHeightAtSaddle, tc.height, WorkedCase)
			NearMM(t, "gap strung", got.GapStrung, tc.strung, WorkedCase)
			NearMM(t, "gap on frets", got.GapOnFrets, tc.onFrets, WorkedCase)
			NearMM(t, "gap on board", got.GapOnBoard, tc.onBoard, WorkedCase)
			NearMM(t, "top height", got.TopHeightAtSaddle, tc.topHeight, WorkedCase)
			NearDeg(t, "neck angle", got.NeckAngle, tc.angle, WorkedCase)
		})
	}
}

// workedCut is the heel and the spreads both worked cuts share.
func workedCut(target, measured, offset float64) neckset.CutInput {
	return neckset.CutInput{
		SaddleDistance: 284 * mm, Heel: neckset.Heel{Height: 88 * mm, WidthTop: 58 * mm, WidthCap: 32 * mm},
		GapTarget: unit.Length(target) * mm, GapMeasured: unit.Length(measured) * mm, OffsetMeasured: unit.Length(offset) * mm,
		GapSD: 0.15 * mm, OffsetSD: 0.25 * mm, CutSD: 0.15, Risk: 0.05,
	}
}

func nearCorners(t *testing.T, what string, got neckset.Corners, topBass, topTreble, capBass, capTreble float64) {
	t.Helper()
	NearMM(t, what+" top bass", got.TopBass, topBass, WorkedCase)
	NearMM(t, what+" top treble", got.TopTreble, topTreble, WorkedCase)
	NearMM(t, what+" cap bass", got.CapBass, capBass, WorkedCase)
	NearMM(t, what+" cap treble", got.CapTreble, capTreble, WorkedCase)
}

// source: independent calculation, worked cases of the neck-set arithmetic (mm, degrees)
func TestNextCutWorkedCases(t *testing.T) {
	got, _, err := neckset.NextCut(workedCut(6.9, 7.8, 1.5))
	if err != nil {
		t.Fatal(err)
	}
	NearDeg(t, "pitch", got.PitchChange, -0.18157052444497024, WorkedCase)
	NearDeg(t, "yaw", got.YawChange, 0.3026157398390266, WorkedCase)
	nearCorners(t, "full", got.Full, 0.2102112676056336, 0.5165492957746477, 0, 0.16901408450704225)
	NearMM(t, "full shift", got.FullShift, 0.36338028169014064, WorkedCase)
	NearMM(t, "planned gap", got.PlannedGap, -0.6108780972737654, WorkedCase)
	NearMM(t, "planned offset", got.PlannedOffset, 1.018130162122943, WorkedCase)
	nearCorners(t, "planned", got.Planned, 0.1426816213115954, 0.35060961216768943, 0, 0.11471889150681047)
	NearMM(t, "planned shift", got.PlannedShift, 0.24664561673964241, WorkedCase)
	if got.Verdict != neckset.CutNow {
		t.Errorf("verdict %q, want cut", got.Verdict)
	}

	got, _, err = neckset.NextCut(workedCut(6.9, 5.2, -0.3))
	if err != nil {
		t.Fatal(err)
	}
	NearDeg(t, "pitch", got.PitchChange, 0.3429635980436276, WorkedCase)
	NearDeg(t, "yaw", got.YawChange, -0.06052368824147622, WorkedCase)
	nearCorners(t, "full", got.Full, 0.06126760563380281, 0, 0.5742957746478874, 0.540492957746479)
	NearMM(t, "full shift", got.FullShift, 0.030633802816901406, WorkedCase)
	NearMM(t, "planned gap", got.PlannedGap, 1.2960984841307708, WorkedCase)
	NearMM(t, "planned offset", got.PlannedOffset, 0, WorkedCase)
	nearCorners(t, "planned", got.Planned, 0, 0, 0.401607980998267, 0.401607980998267)
	NearMM(t, "planned shift", got.PlannedShift, 0, WorkedCase)
}

// source: independent calculation, worked case of the neck-set arithmetic (mm)
func TestFitSeatWorkedCase(t *testing.T) {
	got, warns, err := neckset.FitSeat(neckset.SeatInput{ArcRadius: 310 * mm, HeelWidth: 58 * mm, TenonWidth: 20 * mm, BodyShare: 0.5, SideThickness: 2.2 * mm, SideLimit: 0.25})
	if err != nil {
		t.Fatal(err)
	}
	NearMM(t, "edge gap", got.EdgeGap, 1.198100045482363, WorkedCase)
	NearMM(t, "body removal", got.BodyRemoval, 0.55, WorkedCase)
	NearMM(t, "heel removal", got.HeelRemoval, 0.6481000454823629, WorkedCase)
	NearMM(t, "flat width", got.BodyFlatWidth, 41.97713827626933, WorkedCase)
	if !got.BodyLimited || len(warns) != 1 || warns[0].Code != "past_side_limit" {
		t.Errorf("limited %v, warnings %v", got.BodyLimited, warns)
	}
}

// source: independent calculation, worked case of the neck-set arithmetic (mm)
func TestSetUpWorkedCase(t *testing.T) {
	got, _, err := neckset.SetUp(neckset.SetupInput{
		ScaleLength: 632 * mm, SaddleSetback: 2.2 * mm,
		Action: neckset.Sides{Bass: 2.8 * mm, Treble: 2.3 * mm}, Wanted: neckset.Sides{Bass: 2.3 * mm, Treble: 1.8 * mm},
		Cents: []float64{6, -2, 0, 9, 3, 1},
	})
	if err != nil {
		t.Fatal(err)
	}
	NearMM(t, "bass removal", got.SaddleRemoval.Bass, 1.0034810126582279, WorkedCase)
	NearMM(t, "treble removal", got.SaddleRemoval.Treble, 1.0034810126582276, WorkedCase)
	for i, want := range []float64{2.22488980740226, -0.7364751240354649, 0, 3.346114298939337, 1.109533134837618, 0.3692000336171788} {
		NearMM(t, "saddle move", got.SaddleMove[i], want, WorkedCase)
	}
}
