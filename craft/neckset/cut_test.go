package neckset_test

import (
	"math"
	"testing"

	"fairset/craft/neckset"
	. "fairset/internal/reftest"
	"fairset/unit"
)

func TestVerdicts(t *testing.T) {
	for _, tc := range []struct {
		name        string
		gap, offset float64 // measured; the target is 7
		change      func(*neckset.CutInput)
		want        neckset.Verdict
	}{
		{"far off", 5, 2, nil, neckset.CutNow},
		{"on the spot", 7, 0, sharp, neckset.LeaveIt},
		{"well within", 6.85, 0.1, sharp, neckset.LeaveIt},
		{"within, read coarsely", 6.75, 0, func(in *neckset.CutInput) { in.GapSD, in.GapReadSD = 0.4*mm, 0.4*mm }, neckset.ReadAgain},
		{"just outside, not sharp enough to cut", 6.65, 0, func(in *neckset.CutInput) { in.GapSD, in.GapReadSD = 0.2*mm, 0.2*mm }, neckset.ReadAgain},
		{"leaned back too far", 7.9, 0, func(in *neckset.CutInput) { sharp(in); in.GapMade = 1.5 * mm }, neckset.GonePast},
		{"starts leaned back", 7.9, 0, sharp, neckset.CutNow},
		{"gap not read", 7, 2, func(in *neckset.CutInput) { sharp(in); in.GapSD = unit.Length(math.Inf(1)) }, neckset.CutNow},
		{"nothing read", 7, 0, func(in *neckset.CutInput) {
			in.GapSD, in.OffsetSD = unit.Length(math.Inf(1)), unit.Length(math.Inf(1))
		}, neckset.ReadAgain},
		{"no tolerance, less than can be told", 6.9, 0.1, bare, neckset.LeaveIt},
		{"no tolerance, unsure", 6.8, 0, bare, neckset.ReadAgain},
	} {
		in := withTolerance(workedCut(7, tc.gap, tc.offset))
		in.GapReadSD, in.OffsetReadSD = in.GapSD, in.OffsetSD
		if tc.change != nil {
			tc.change(&in)
		}
		c, _, err := neckset.NextCut(in)
		if err != nil {
			t.Fatal(err)
		}
		if c.Verdict != tc.want {
			t.Errorf("%s: %q, want %q (%+v)", tc.name, c.Verdict, tc.want, c)
		}
	}
}

// sharp is a gap and offset read about ten times over.
func sharp(in *neckset.CutInput) { in.GapSD, in.OffsetSD = 0.05*mm, 0.08*mm }

func bare(in *neckset.CutInput) { in.GapTolerance, in.OffsetTolerance = 0, 0 }

// A pass is for the axis that needs it: an axis well within its tolerance is not touched.
func TestAxisWithinToleranceIsLeft(t *testing.T) {
	in := withTolerance(workedCut(7, 5, 0.1))
	sharp(&in)
	c, _, err := neckset.NextCut(in)
	if err != nil {
		t.Fatal(err)
	}
	if c.PlannedGap <= 0 || c.PlannedOffset != 0 || c.Planned.TopBass != 0 || c.Planned.CapBass != c.Planned.CapTreble {
		t.Errorf("%+v", c)
	}
}

func TestAfterTakesCareOfSigns(t *testing.T) {
	c, _, err := neckset.NextCut(workedCut(6.9, 5.2, 1.5))
	if err != nil {
		t.Fatal(err)
	}
	gap, off := c.After(neckset.Belief{Mean: 5.2 * mm, SD: 0.15 * mm}, neckset.Belief{Mean: 1.5 * mm, SD: 0.25 * mm}, 0.15)
	if !(gap.Mean > 5.2*mm && gap.Mean < 6.9*mm) || !(off.Mean > 0 && off.Mean < 1.5*mm) {
		t.Errorf("after the cut: gap %v, offset %v", gap.Mean, off.Mean)
	}
}

func TestNextCutRefuses(t *testing.T) {
	bad := map[string]func(*neckset.CutInput, unit.Length){
		"saddle_distance": func(in *neckset.CutInput, v unit.Length) { in.SaddleDistance = v }, "heel_height": func(in *neckset.CutInput, v unit.Length) { in.Heel.Height = v },
		"heel_width_top": func(in *neckset.CutInput, v unit.Length) { in.Heel.WidthTop = v }, "heel_width_cap": func(in *neckset.CutInput, v unit.Length) { in.Heel.WidthCap = v },
		"gap_target": func(in *neckset.CutInput, v unit.Length) { in.GapTarget = v }, "gap_measured": func(in *neckset.CutInput, v unit.Length) { in.GapMeasured = v },
		"offset_measured": func(in *neckset.CutInput, v unit.Length) { in.OffsetMeasured = v }, "gap_sd": func(in *neckset.CutInput, v unit.Length) { in.GapSD = v },
		"offset_sd": func(in *neckset.CutInput, v unit.Length) { in.OffsetSD = v }, "cut_sd_fraction": func(in *neckset.CutInput, v unit.Length) { in.CutSD = float64(v) },
		"overshoot_risk": func(in *neckset.CutInput, v unit.Length) { in.Risk = float64(v) }, "gap_tolerance": func(in *neckset.CutInput, v unit.Length) { in.GapTolerance = v },
		"offset_tolerance": func(in *neckset.CutInput, v unit.Length) { in.OffsetTolerance = v }, "gap_read_sd": func(in *neckset.CutInput, v unit.Length) { in.GapReadSD = v },
		"offset_read_sd": func(in *neckset.CutInput, v unit.Length) { in.OffsetReadSD = v }, "gap_made": func(in *neckset.CutInput, v unit.Length) { in.GapMade = v },
		"offset_made": func(in *neckset.CutInput, v unit.Length) { in.OffsetMade = v },
	}
	inf := math.Inf(1)
	for field, set := range bad {
		for _, v := range []float64{math.NaN(), inf, -inf, -99, 1e6} {
			if math.IsInf(v, 1) && (field == "gap_sd" || field == "offset_sd") {
				continue // not read yet
			}
			in := workedCut(6.9, 7.8, 1.5)
			set(&in, unit.Length(v))
			_, _, err := neckset.NextCut(in)
			RangeError(t, err, field)
		}
	}
	// A slipped point is offered back. source: the usual slip, 70 for 7.0 (common practice, no source)
	in := workedCut(6.9, 70, 0)
	_, _, err := neckset.NextCut(in)
	if re := RangeError(t, err, "gap_measured"); re != nil && re.Likely != "7.0 mm" {
		t.Errorf("likely %q", re.Likely)
	}
}

func TestCutWarnings(t *testing.T) {
	for _, tc := range []struct {
		code string
		in   neckset.CutInput
	}{
		{"deep_cut", workedCut(24, -4, 0)},
		{"heel_flares", func() neckset.CutInput {
			in := workedCut(6.9, 7.8, 0)
			in.Heel.WidthTop, in.Heel.WidthCap = 32*mm, 58*mm
			return in
		}()},
		{"gap_unread", func() neckset.CutInput { in := workedCut(6.9, 0, 0); in.GapSD = unit.Length(math.Inf(1)); return in }()},
		{"neck_shift", workedCut(0, 6, 0)},
		{"rule_too_coarse", func() neckset.CutInput {
			in := withTolerance(workedCut(7, 6.95, 0))
			in.GapTolerance, in.GapSD, in.GapReadSD = 0.05*mm, 0.15*mm, 0.4*mm
			return in
		}()},
		{"unusual", workedCut(6.9, 7.8, 12)},
	} {
		_, warns, err := neckset.NextCut(tc.in)
		if err != nil {
			t.Fatal(tc.code, err)
		}
		if !hasCode(warns, tc.code) {
			t.Errorf("no %q among %v", tc.code, warns)
		}
	}
	if _, warns, _ := neckset.NextCut(workedCut(6.9, 7.8, 1.5)); len(warns) != 0 {
		t.Errorf("an ordinary cut warns: %v", warns)
	}
}

func hasCode(warns []unit.Warning, code string) bool {
	for _, w := range warns {
		if w.Code == code && !w.Say.Empty() {
			return true
		}
	}
	return false
}

func TestTargetRefuses(t *testing.T) {
	inf := math.Inf(1)
	for field, set := range map[string]func(*neckset.Build, float64){
		"scale_length": func(b *neckset.Build, v float64) { b.ScaleLength = unit.Length(v) }, "saddle_setback": func(b *neckset.Build, v float64) { b.SaddleSetback = unit.Length(v) },
		"joint_offset": func(b *neckset.Build, v float64) { b.JointOffset = unit.Length(v) }, "board_thickness": func(b *neckset.Build, v float64) { b.BoardThickness = unit.Length(v) },
		"fret_crown": func(b *neckset.Build, v float64) { b.FretCrown = unit.Length(v) }, "neck_proud": func(b *neckset.Build, v float64) { b.NeckProud = unit.Length(v) },
		"relief": func(b *neckset.Build, v float64) { b.Relief = unit.Length(v) }, "relief_unstrung": func(b *neckset.Build, v float64) { b.ReliefUnstrung = unit.Length(v) },
		"joint_fold": func(b *neckset.Build, v float64) { b.JointFold = unit.Angle(v) }, "top_rise": func(b *neckset.Build, v float64) { b.TopRise = unit.Length(v) },
		"bridge_thickness": func(b *neckset.Build, v float64) { b.BridgeThickness = unit.Length(v) }, "saddle_projection": func(b *neckset.Build, v float64) { b.SaddleProjection = unit.Length(v) },
		"nut_height": func(b *neckset.Build, v float64) { b.NutHeight = unit.Length(v) }, "action12": func(b *neckset.Build, v float64) { b.Action12 = unit.Length(v) },
		"top_radius": func(b *neckset.Build, v float64) { b.Top.Radius = unit.Length(v) }, "top_apex": func(b *neckset.Build, v float64) { b.Top.Apex = unit.Length(v) },
	} {
		for _, v := range []float64{math.NaN(), inf, -inf, -1e3, 1e9} {
			b := steelDome()
			set(&b, v)
			_, _, err := b.Target()
			RangeError(t, err, field)
		}
		if _, ok := neckset.LimitOf(field); !ok {
			t.Errorf("no limit for %s", field)
		}
	}
	for _, n := range []int{0, 9, 23, -14, 1 << 40} {
		b := steelDome()
		b.JointFret = n
		_, _, err := b.Target()
		RangeError(t, err, "joint_fret")
	}
	// Infinite and NaN angles and spans of a flat top are refused too.
	b := twelveFlat()
	b.Top.Apex = unit.Length(math.NaN())
	_, _, err := b.Target()
	RangeError(t, err, "top_apex")
}

func TestTargetWarnings(t *testing.T) {
	b := steelDome()
	b.BridgeThickness, b.SaddleProjection, b.Action12 = 4*mm, 0.5*mm, 6*mm
	_, warns, err := b.Target()
	if err != nil || !hasCode(warns, "unusual") {
		t.Errorf("%v %v", warns, err)
	}
	b = steelDome()
	b.NeckProud, b.BridgeThickness, b.SaddleProjection, b.JointFret = 15*mm, 4*mm, 0.5*mm, 20
	if _, warns, err = b.Target(); err != nil || !hasCode(warns, "neck_angle") {
		t.Errorf("%v %v", warns, err)
	}
	b = steelDome()
	b.Action12, b.NutHeight = 0.5*mm, 3*mm
	if _, warns, err = b.Target(); err != nil || !hasCode(warns, "action_below_nut") {
		t.Errorf("%v %v", warns, err)
	}
}

func TestOtherFiguresRefuse(t *testing.T) {
	seat := neckset.SeatInput{ArcRadius: 310 * mm, HeelWidth: 58 * mm, TenonWidth: 20 * mm, BodyShare: 0.5, SideThickness: 2.2 * mm, SideLimit: 0.25}
	for field, set := range map[string]func(*neckset.SeatInput, float64){
		"body_arc_radius": func(s *neckset.SeatInput, v float64) { s.ArcRadius = unit.Length(v) }, "heel_width": func(s *neckset.SeatInput, v float64) { s.HeelWidth = unit.Length(v) },
		"tenon_width": func(s *neckset.SeatInput, v float64) { s.TenonWidth = unit.Length(v) }, "body_share": func(s *neckset.SeatInput, v float64) { s.BodyShare = v },
		"side_thickness": func(s *neckset.SeatInput, v float64) { s.SideThickness = unit.Length(v) }, "side_limit_fraction": func(s *neckset.SeatInput, v float64) { s.SideLimit = v },
	} {
		for _, v := range []float64{math.NaN(), math.Inf(1), -1, 1e9} {
			in := seat
			set(&in, v)
			_, _, err := neckset.FitSeat(in)
			RangeError(t, err, field)
		}
	}
	in := seat
	in.TenonWidth, in.HeelWidth = 40*mm, 38*mm
	_, _, err := neckset.FitSeat(in)
	RangeError(t, err, "tenon_width")

	good := neckset.SetupInput{ScaleLength: 632 * mm, SaddleSetback: 2 * mm, Action: neckset.Sides{Bass: 3 * mm, Treble: 2 * mm}, Wanted: neckset.Sides{Bass: 2 * mm, Treble: 2 * mm}}
	for _, cents := range [][]float64{{math.NaN()}, {0, 101}, {-101}, {math.Inf(-1)}, make([]float64, 25)} {
		s := good
		s.Cents = cents
		_, _, err = neckset.SetUp(s)
		RangeError(t, err, "cents_at_12")
	}
	s := good
	s.Action.Bass = unit.Length(math.NaN())
	_, _, err = neckset.SetUp(s)
	RangeError(t, err, "action12.bass")
	s = good
	s.Wanted.Treble = 20 * mm
	_, _, err = neckset.SetUp(s)
	RangeError(t, err, "target_action12.treble")
	s = good
	s.Action.Treble = 1 * mm
	if _, warns, err := neckset.SetUp(s); err != nil || !hasCode(warns, "saddle_too_low") {
		t.Errorf("%v %v", warns, err)
	}
	_, _, err = neckset.Repair(neckset.RepairInput{ScaleLength: 632 * mm, Action: good.Action, Wanted: good.Wanted, Gap: unit.Length(math.Inf(1))})
	RangeError(t, err, "gap")
}
