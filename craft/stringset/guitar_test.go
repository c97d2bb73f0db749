package stringset_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fairset/craft/stringset"
	"fairset/internal/reftest"
	"fairset/unit"
)

// lightSix is a light set on a 25.4 in board, 54 mm across at the saddle, action falling to the treble.
func lightSix(t testing.TB) (all []stringset.Strung, models []*stringset.Model, across []unit.Length) {
	t.Helper()
	set, err := stringset.FindSet("light")
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range set.Strings {
		z := unit.Length(-27+10.8*float64(i)) * unit.MM
		all = append(all, stringset.Strung{String: s, Setup: board(t, unit.Length(2.5-0.1*float64(i))*unit.MM, nil), Across: z})
		across = append(across, z)
	}
	models, warns, err := stringset.Strings(all)
	if err != nil || len(warns) != 0 {
		t.Fatal(err, warns)
	}
	return all, models, across
}

func TestStraightSaddle(t *testing.T) {
	_, models, across := lightSix(t)
	best, err := stringset.StraightSaddle(models, across, nil)
	if err != nil {
		t.Fatal(err)
	}
	if best.Slope >= 0 || best.Angle >= 0 {
		t.Errorf("the bass end should stand farther back: slope %v", best.Slope)
	}
	reftest.Near(t, "angle", math.Tan(float64(best.Angle)), best.Slope, 1e-12)
	r := rand.New(rand.NewPCG(1, 9))
	for range 200 {
		centre := best.Centre + unit.Length(r.NormFloat64()*math.Pow(10, -3+3*r.Float64()))*unit.MM
		slope := best.Slope + r.NormFloat64()*math.Pow(10, -5+3*r.Float64())
		line := make([]unit.Length, len(across))
		for i, z := range across {
			line[i] = centre + unit.Length(slope)*z
		}
		near, err := stringset.Board(models, nil, line)
		if err != nil {
			t.Fatal(err)
		}
		if near.RMS < best.Map.RMS-1e-10 {
			t.Fatalf("a neighbour does better by %g", best.Map.RMS-near.RMS)
		}
	}

	// Two strings set two figures: each gets its own best place.
	two, err := stringset.StraightSaddle(models[:2], across[:2], nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		reftest.Near(t, "own place", two.Saddle[i].MM(), models[i].SaddleOnly().Saddle.MM(), 1e-6)
	}
	// One string, or all in one place, leaves the line square.
	one, err := stringset.StraightSaddle(models[:1], across[:1], nil)
	if err != nil || one.Slope != 0 {
		t.Errorf("one string: %+v, %v", one, err)
	}
	reftest.Near(t, "one string", one.Centre.MM(), models[0].SaddleOnly().Saddle.MM(), 1e-6)

	// A compensated saddle does at least as well, and with the nut's help better still.
	each, err := stringset.CompensatedSaddle(models, across, false, 0)
	if err != nil {
		t.Fatal(err)
	}
	both, err := stringset.CompensatedSaddle(models, across, true, 0)
	if err != nil {
		t.Fatal(err)
	}
	if each.Map.RMS >= best.Map.RMS || both.Map.RMS >= each.Map.RMS {
		t.Errorf("straight %.3f, each %.3f, with the nut %.3f cents", best.Map.RMS, each.Map.RMS, both.Map.RMS)
	}
	// A straight saddle behind that compensated nut must not be worse than behind the plain one.
	behind, err := stringset.StraightSaddle(models, across, both.Nut)
	if err != nil || behind.Map.RMS >= best.Map.RMS {
		t.Errorf("behind the nut %.3f, %v", behind.Map.RMS, err)
	}
}

// The blank: a second route turns the slot in small steps.
func TestBlankWidth(t *testing.T) {
	_, models, across := lightSix(t)
	got, err := stringset.CompensatedSaddle(models, across, false, 0.5*unit.MM)
	if err != nil {
		t.Fatal(err)
	}
	width := func(angle float64) float64 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range across {
			v := got.Saddle[i].MM()*math.Cos(angle) - across[i].MM()*math.Sin(angle)
			lo, hi = min(lo, v), max(hi, v)
		}
		return hi - lo + 1
	}
	least := math.Inf(1)
	for a := -0.5; a < 0.5; a += 1e-5 {
		least = min(least, width(a))
	}
	reftest.NearMM(t, "blank", got.Blank, least, 1e-3)
	reftest.NearMM(t, "blank at the angle it names", got.Blank, width(float64(got.Angle)), 1e-9)
	reftest.NearMM(t, "square slot", got.BlankSquare, width(0), 1e-9)
	for i, z := range across {
		off := (got.Saddle[i] - got.Centre - unit.Length(got.Slope)*z).MM() * math.Cos(float64(got.Angle))
		if math.Abs(off) > got.Blank.MM()/2-0.5+1e-9 {
			t.Errorf("string %d lies %.3f mm off the middle of a blank %.3f mm wide", i, off, got.Blank.MM())
		}
	}
}

func TestBoardMap(t *testing.T) {
	_, models, across := lightSix(t)
	line, err := stringset.StraightSaddle(models, across, nil)
	if err != nil {
		t.Fatal(err)
	}
	worst, sum := 0.0, 0.0
	for i, row := range line.Map.Rows {
		c, err := models[i].Cents(0, line.Saddle[i])
		if err != nil || !slices.Equal(c, row.Cents) || row.First != 1 || len(c) != 20 {
			t.Errorf("row %d differs: %v", i, err)
		}
		for _, v := range c[:12] {
			sum += v * v
			worst = max(worst, math.Abs(v))
		}
	}
	reftest.Near(t, "RMS", line.Map.RMS, math.Sqrt(sum/72), 1e-12)
	reftest.Near(t, "worst", math.Abs(line.Map.Worst), worst, 1e-12)
	reftest.Near(t, "where it is", line.Map.Rows[line.Map.WorstRow].Cents[line.Map.WorstFret-1], line.Map.Worst, 1e-12)
}

func TestRescore(t *testing.T) {
	all, models, across := lightSix(t)
	line, err := stringset.StraightSaddle(models, across, nil)
	if err != nil {
		t.Fatal(err)
	}
	scores, warns, err := stringset.Rescore(all, nil, line.Saddle, stringset.ConcertA, stringset.Occasions(6))
	if err != nil || len(warns) != 0 {
		t.Fatal(err, warns)
	}
	if len(scores) != 8 || scores[0].Map.RMS != line.Map.RMS {
		t.Errorf("as tuned: %v, want %v, of %d", scores[0].Map.RMS, line.Map.RMS, len(scores))
	}
	for _, s := range scores {
		switch s.Name.In(unit.Millimetre) {
		case "capo at fret 4":
			if r := s.Map.Rows[0]; r.First != 5 || len(r.Cents) != 16 || r.CapoPull <= 0 {
				t.Errorf("capo: %+v", r)
			}
		case "Drop D":
			// The bass string, slacker, sounds sharper up the neck; the others are as they were.
			if was, is := scores[0].Map.Rows[0].Cents[11], s.Map.Rows[0].Cents[11]; is <= was {
				t.Errorf("low string at fret 12: %.2f, before %.2f", is, was)
			}
			reftest.Near(t, "the next string", s.Map.Rows[1].Cents[11], scores[0].Map.Rows[1].Cents[11], 1e-9)
		}
	}
	// By name and by steps are the same occasion.
	drop, err := stringset.FindTuning("drop-d")
	if err != nil {
		t.Fatal(err)
	}
	named, _, err := stringset.Rescore(all, nil, line.Saddle, stringset.ConcertA, []stringset.Occasion{{Name: unit.Say("drop"), Tuning: drop}})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range scores {
		if s.Name.In(unit.Millimetre) == "Drop D" {
			reftest.Near(t, "by name", named[0].Map.RMS, s.Map.RMS, 1e-9)
		}
	}
	if got := stringset.Occasions(4); len(got) != 5 || len(got[4].Steps) != 4 {
		t.Errorf("four strings: %v", got)
	}
}

// guitars draws a true string from the doubt, reads it, and asks for the correction. It returns how far the
// asked move lies from the true best one, in units of the stated spread.
func drawn(t *testing.T, r *rand.Rand, frets []int, sd float64, spoil func(fret int) float64) (z float64, c stringset.Correction, before, after float64) {
	t.Helper()
	d := stringset.UsualDoubt()
	s := steel(t, "A2", .042, .0165)
	set := board(t, 2.3*unit.MM, func(b *stringset.Setup) { b.Press = 0.15 * unit.MM })
	m := model(t, s, set)
	saddle := 2 * unit.MM

	trueString, trueSet := s, set
	p := at(t, s, fullScale)
	trueString.AxialStiffness = p.Axial * unit.Force(math.Exp(d.Axial*r.NormFloat64()))
	trueString.MeasuredBending = p.Bending * stringset.Bending(math.Exp(d.Bending*r.NormFloat64()))
	trueSet.Press *= unit.Length(math.Exp(d.Press * r.NormFloat64()))
	trueSaddle := saddle + d.Saddle*unit.Length(r.NormFloat64())
	trueNut := d.Nut * unit.Length(r.NormFloat64())
	open := d.Open * r.NormFloat64()
	real := model(t, trueString, trueSet)
	cents, err := real.Cents(trueNut, trueSaddle)
	if err != nil {
		t.Fatal(err)
	}
	var readings []stringset.Reading
	for _, f := range frets {
		readings = append(readings, stringset.Reading{Fret: f, Cents: cents[f-1] - open + sd*r.NormFloat64() + spoil(f), SD: sd})
	}
	if c, err = m.Correct(0, saddle, readings, d); err != nil {
		t.Fatal(err)
	}
	best, err := real.SaddleFor(trueNut)
	if err != nil {
		t.Fatal(err)
	}
	was, err := real.At(trueNut, trueSaddle)
	if err != nil {
		t.Fatal(err)
	}
	is, err := real.At(trueNut, trueSaddle+c.Move)
	if err != nil {
		t.Fatal(err)
	}
	return float64((c.Move - (best.Saddle - trueSaddle)) / c.MoveSD), c, was.RMS, is.RMS
}

func none(int) float64 { return 0 }

// The stated spread must be the real one: strings drawn from the doubt itself, read with noise.
func TestCorrectionIsAsSureAsItSays(t *testing.T) {
	for _, c := range []struct {
		frets []int
		sd    float64
	}{{[]int{12}, 2}, {[]int{12}, 0.5}, {[]int{5, 7, 12}, 1}, {[]int{1, 2, 3, 5, 7, 9, 12, 15}, 1}} {
		t.Run(fmt.Sprint(c.frets, c.sd), func(t *testing.T) {
			r := rand.New(rand.NewPCG(17, uint64(len(c.frets))))
			const n = 600
			var sum, squares, before, after float64
			worn := 0
			for range n {
				z, got, was, is := drawn(t, r, c.frets, c.sd, none)
				sum += z
				squares += z * z
				before += was * was
				after += is * is
				if got.Worn {
					worn++
				}
			}
			// source: derived: the mean of n standard normals is 1/√n off, their spread 1/√(2n); 4 of those, and
			// 0.1 for what the straight-line sums leave out.
			reftest.Near(t, "mean of the miss over its spread", sum/n, 0, 4/math.Sqrt(n)+0.05)
			reftest.Near(t, "spread of the miss over its spread", math.Sqrt(squares/n), 1, 4/math.Sqrt(2*n)+0.05)
			t.Logf("miss over spread %.3f ± %.3f; %.2f cents before the move, %.2f after; %d of %d called worn", sum/n, math.Sqrt(squares/n), math.Sqrt(before/n), math.Sqrt(after/n), worn, n)
			if after > 0.6*before {
				t.Errorf("the move leaves %.2f cents of %.2f", math.Sqrt(after/n), math.Sqrt(before/n))
			}
			if worn > n*3/100 {
				t.Errorf("%d of %d sound strings are called worn", worn, n)
			}
		})
	}
}

// A string that has lost mass over some span: the note with its speaking length from a to the saddle changes by
// -(1/2)·δμ/μ·(2/l)·∫ sin²(π z/l) dz over that span. source: Rayleigh's first-order perturbation (textbook, from memory);
// δ ln f = -½·∫δμ sin² / ∫μ sin².
func TestWornStringIsNoticed(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 1))
	lost := func(fret int) float64 {
		L := fullScale.MM()
		change := func(start float64) float64 { // of the note stopped at start, relative
			l, sum := L-start, 0.0
			for x := 60.0; x < 260; x++ { // frets have worn the string from 60 to 260 mm: 6 % of its mass is gone
				if x > start {
					sum += sq(math.Sin(math.Pi * (x - start) / l))
				}
			}
			return 0.06 * sum / l
		}
		return 1200 / math.Ln2 * (change(L*(1-math.Exp2(-float64(fret)/12))) - change(0))
	}
	noticed := 0
	const n = 100
	for range n {
		_, c, _, _ := drawn(t, r, []int{1, 2, 3, 4, 5, 7, 9, 12, 15}, 1, lost)
		if c.Worn {
			noticed++
			if !strings.Contains(c.Say.String(), "fresh string") {
				t.Fatalf("it says %q", c.Say)
			}
		}
	}
	t.Logf("noticed %d of %d worn strings", noticed, n)
	if noticed < n*8/10 {
		t.Errorf("noticed %d of %d", noticed, n)
	}
	// One fret out of place by 15 cents among good ones is no saddle either.
	_, c, _, _ := drawn(t, r, []int{3, 5, 7, 9, 12}, 1, func(f int) float64 {
		if f == 7 {
			return 15
		}
		return 0
	})
	if !c.Worn {
		t.Errorf("chance %v", c.Chance)
	}
}

func TestCorrectionWithoutDoubtOrNews(t *testing.T) {
	m := model(t, steel(t, "A2", .042, .0165), board(t, 2.3*unit.MM, nil))
	best := m.SaddleOnly()
	var readings []stringset.Reading
	for _, f := range []int{3, 7, 12} {
		readings = append(readings, stringset.Reading{Fret: f, Cents: best.Cents[f-1], SD: 1})
	}
	c, err := m.Correct(0, best.Saddle, readings, stringset.UsualDoubt())
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "nothing to move", c.Move, 0, 1e-6)
	if c.Worn || !strings.Contains(c.Say.String(), "Leave") {
		t.Errorf("%+v", c)
	}
	// With everything certain but the saddle, a sharp octave asks for what the slope says.
	d := stringset.Doubt{Saddle: 100 * unit.MM}
	readings = []stringset.Reading{{Fret: 12, Cents: best.Cents[11] + 2.683, SD: 0.05}} // source: -2.683 cents per mm, exact calculus
	if c, err = m.Correct(0, best.Saddle, readings, d); err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "one millimetre back", c.Move, 1, 0.03) // the string's own stiffness bends the slope a little
}

func TestNotesAndTunings(t *testing.T) {
	for text, want := range map[string]int{"A4": 69, "C4": 60, "E2": 40, "F#3": 54, "Bb2": 46, "B♭2": 46, "c♯4": 61, "b2": 47, "bb2": 46, "Cb4": 59, "B#3": 60, "E-1": 4, " G3 ": 55} { // source: MIDI note numbers
		n, err := stringset.ParseNote(text)
		if err != nil || int(n) != want {
			t.Errorf("%q is read as %d, want %d (%v)", text, n, want, err)
		}
	}
	for _, text := range []string{"", "H2", "E", "2", "E22", "E##2", "EE2", strings.Repeat("E2", 30), "E١"} {
		if n, err := stringset.ParseNote(text); err == nil {
			t.Errorf("%q is read as %v", text, n)
		} else {
			reftest.RangeError(t, err, "note")
		}
	}
	for n := stringset.Note(0); n < 128; n++ {
		if back, err := stringset.ParseNote(n.String()); err != nil || back != n {
			t.Errorf("%d is written %s and read %d, %v", n, n, back, err)
		}
	}
	reftest.Near(t, "E4", float64(pitch(t, "E4")), 329.6276, 0.00006)                                 // source: worked case
	reftest.Near(t, "A4 at 432", float64(stringset.Note(69).Frequency(432)), 432, 1e-12)              // definition
	reftest.Near(t, "E2 at 442", float64(stringset.Note(40).Frequency(442)), 82.4069*442/440, 0.0001) // source: worked case, scaled

	set, err := stringset.FindSet("light")
	if err != nil {
		t.Fatal(err)
	}
	for _, tuning := range stringset.Tunings() {
		strs, err := stringset.Tune(set.Strings, tuning, stringset.ConcertA)
		if len(tuning.Notes) != 6 {
			reftest.RangeError(t, err, "tuning")
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", tuning.Key, err)
		}
		if _, _, err := stringset.Pulls(strs, fullScale); err != nil {
			t.Errorf("%s: %v", tuning.Key, err)
		}
		if one, err := stringset.FindTuning(tuning.Key); err != nil || !slices.Equal(one.Notes, tuning.Notes) {
			t.Errorf("%s: %v", tuning.Key, err)
		}
	}
	drop, _ := stringset.FindTuning("drop-d")
	strs, err := stringset.Tune(set.Strings, drop, stringset.ConcertA)
	if err != nil {
		t.Fatal(err)
	}
	// A whole step down leaves 2^(-1/6)² of the pull. source: Mersenne's law, T goes as f²
	reftest.Near(t, "drop D", float64(at(t, strs[0], fullScale).Tension/at(t, set.Strings[0], fullScale).Tension), math.Exp2(-2.0/6), 1e-12)
	if _, err := stringset.NewTuning("mine", "E2, A2 D3 G3 H3 E4"); err == nil || !strings.Contains(err.Error(), "H3") {
		t.Errorf("unknown note: %v", err)
	}
}

func TestMaterials(t *testing.T) {
	for _, m := range stringset.Materials() {
		if m.Source == "" || m.Density <= 0 || m.Young <= 0 {
			t.Errorf("%+v", m)
		}
	}
	for _, c := range []struct {
		gauge unit.Length
		gpa   float64
	}{{.012 * unit.Inch, 203.4}, {.032 * unit.Inch, 203.4}, {.04 * unit.Inch, 200}, {.08 * unit.Inch, 196.5}, {.2 * unit.Inch, 196.5}} { // source: Shigley, Table 10-5
		m, err := stringset.FindMaterial("music-wire", c.gauge)
		if err != nil {
			t.Fatal(err)
		}
		reftest.Near(t, "music wire", float64(m.Young)/1e9, c.gpa, 1e-9)
	}
	_, err := stringset.FindMaterial("unobtainium", 0)
	reftest.RangeError(t, err, "material")
	_, err = stringset.FindSet("heavy")
	reftest.RangeError(t, err, "set")
	_, err = stringset.FindTuning("open-h")
	reftest.RangeError(t, err, "tuning")
}

func TestBadInputNamesTheField(t *testing.T) {
	good := steel(t, "A2", .042, .0165)
	fine := board(t, 2.3*unit.MM, nil)
	if _, _, err := stringset.New(good, fine); err != nil {
		t.Fatal(err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		field  string
		change func(*stringset.String, *stringset.Setup)
	}{
		{"scale_length", func(_ *stringset.String, b *stringset.Setup) { b.ScaleLength = 648 }},
		{"scale_length", func(_ *stringset.String, b *stringset.Setup) { b.ScaleLength = unit.Length(nan) }},
		{"pitch", func(s *stringset.String, _ *stringset.Setup) { s.Pitch = 0 }},
		{"pitch", func(s *stringset.String, _ *stringset.Setup) { s.Pitch = unit.Frequency(inf) }},
		{"kind", func(s *stringset.String, _ *stringset.Setup) { s.Kind = "braided" }},
		{"diameter", func(s *stringset.String, _ *stringset.Setup) { s.Diameter = -s.Diameter }},
		{"density", func(s *stringset.String, _ *stringset.Setup) { s.Density = 0 }},
		{"wrap_density", func(s *stringset.String, _ *stringset.Setup) { s.WrapDensity = 0 }},
		{"core_diameter", func(s *stringset.String, _ *stringset.Setup) { s.CoreDiameter = 0 }},
		{"core_diameter", func(s *stringset.String, _ *stringset.Setup) { s.CoreDiameter = s.Diameter }},
		{"core_diameter", func(s *stringset.String, _ *stringset.Setup) {
			s.CoreDiameter, s.CoreShape = 0.95*s.Diameter, stringset.HexCore
		}},
		{"core_diameter", func(s *stringset.String, _ *stringset.Setup) { s.Kind = stringset.Plain }},
		{"core_shape", func(s *stringset.String, _ *stringset.Setup) { s.CoreShape = "square" }},
		{"core_fill", func(s *stringset.String, _ *stringset.Setup) { s.CoreFill = 1.2 }},
		{"bending_factor", func(s *stringset.String, _ *stringset.Setup) { s.BendingFactor = -1 }},
		{"young", func(s *stringset.String, _ *stringset.Setup) { s.Young = 200 }},
		{"young_slope", func(s *stringset.String, _ *stringset.Setup) { s.YoungSlope = nan }},
		{"mu", func(s *stringset.String, _ *stringset.Setup) { s.Mass = -1 }},
		{"printed_tension", func(s *stringset.String, _ *stringset.Setup) { s.Printed.Length = fullScale }},
		{"printed_length", func(s *stringset.String, _ *stringset.Setup) { s.Printed.Tension = 100 }},
		{"printed_pitch", func(s *stringset.String, _ *stringset.Setup) {
			s.Printed = stringset.Printed{Tension: 100, Length: fullScale}
		}},
		{"printed_tension", func(s *stringset.String, _ *stringset.Setup) {
			s.Mass, s.Printed = 6e-3, stringset.Printed{Tension: 100, Length: fullScale, Pitch: 110}
		}},
		{"measured_b", func(s *stringset.String, _ *stringset.Setup) { s.Measured.Pitch = 110 }},
		{"measured_length", func(s *stringset.String, _ *stringset.Setup) { s.Measured = stringset.Measured{B: 1e-4, Pitch: 110} }},
		{"axial_stiffness", func(s *stringset.String, _ *stringset.Setup) { s.AxialStiffness = unit.Force(nan) }},
		{"bending", func(s *stringset.String, _ *stringset.Setup) { s.MeasuredBending = 1 }},
		{"diameter", func(s *stringset.String, _ *stringset.Setup) { // a slack rod
			*s = steel(t, "E2", .15, 0)
			s.Pitch = 16
		}},
		{"frets", func(_ *stringset.String, b *stringset.Setup) { b.Frets = 0 }},
		{"frets", func(_ *stringset.String, b *stringset.Setup) { b.Frets = 1 << 40 }},
		{"fit_frets", func(_ *stringset.String, b *stringset.Setup) { b.FitFrets = 21 }},
		{"nut_height", func(_ *stringset.String, b *stringset.Setup) { b.NutHeight = -1 * unit.MM }},
		{"saddle_height", func(_ *stringset.String, b *stringset.Setup) { b.SaddleHeight = 60 * unit.MM }},
		{"press", func(_ *stringset.String, b *stringset.Setup) { b.Press = 3 * unit.MM }},
		{"finger", func(_ *stringset.String, b *stringset.Setup) { b.Finger = -1 * unit.MM }},
		{"relief", func(_ *stringset.String, b *stringset.Setup) { b.Relief = unit.Length(inf) }},
		{"relief_end_fret", func(_ *stringset.String, b *stringset.Setup) { b.ReliefEndFret = 0 }},
		{"ends", func(_ *stringset.String, b *stringset.Setup) { b.Ends = "loose" }},
		{"beyond", func(_ *stringset.String, b *stringset.Setup) { b.Beyond = -1 }},
		{"path", func(_ *stringset.String, b *stringset.Setup) { b.Path = "" }},
		{"weights", func(_ *stringset.String, b *stringset.Setup) { b.Weights = []float64{1} }},
		{"weights", func(_ *stringset.String, b *stringset.Setup) { b.Weights = make([]float64, 12) }},
		{"weights", func(_ *stringset.String, b *stringset.Setup) { b.Weights = slices.Repeat([]float64{nan}, 12) }},
		{"capo", func(_ *stringset.String, b *stringset.Setup) { b.Capo.Fret = 20 }},
		{"capo_press", func(_ *stringset.String, b *stringset.Setup) { b.Capo = stringset.Capo{Fret: 2, Press: -1} }},
	} {
		s, b := good, fine
		c.change(&s, &b)
		m, _, err := stringset.New(s, b)
		reftest.RangeError(t, err, c.field)
		if m != nil {
			t.Errorf("%s: a model all the same", c.field)
		}
		if err != nil && (len(err.Error()) > 300 || !strings.Contains(err.Error(), " ")) {
			t.Errorf("%s: %q", c.field, err)
		}
	}
	m := model(t, good, fine)
	_, err := m.Cents(unit.Length(nan), 0)
	reftest.RangeError(t, err, "nut")
	_, err = m.At(0, 1)
	reftest.RangeError(t, err, "saddle")
	_, err = m.Causes(21, 0, 0)
	reftest.RangeError(t, err, "fret")
	_, err = m.SaddleFor(-1)
	reftest.RangeError(t, err, "nut")
	for _, c := range []struct {
		field string
		r     []stringset.Reading
	}{
		{"readings", nil}, {"readings", make([]stringset.Reading, 101)}, {"readings[1].fret", []stringset.Reading{{12, 1, 1}, {0, 1, 1}}}, {"readings[0].fret", []stringset.Reading{{22, 1, 1}}},
		{"readings[0].cents", []stringset.Reading{{12, nan, 1}}}, {"readings[0].cents_sd", []stringset.Reading{{12, 1, 0}}},
	} {
		_, err := m.Correct(0, 0, c.r, stringset.UsualDoubt())
		reftest.RangeError(t, err, c.field)
	}
	_, _, err = stringset.Pulls(nil, fullScale)
	reftest.RangeError(t, err, "strings")
	bad := good
	bad.Diameter = 0
	_, _, err = stringset.Pulls([]stringset.String{good, bad}, fullScale)
	reftest.RangeError(t, err, "strings[1].diameter")
	all, models, across := lightSix(t)
	all[2].Press = unit.Length(nan)
	_, _, err = stringset.Strings(all)
	reftest.RangeError(t, err, "strings[2].press")
	_, err = stringset.StraightSaddle(models, across[:2], nil)
	reftest.RangeError(t, err, "across")
	_, err = stringset.StraightSaddle(models, across, across[:1])
	reftest.RangeError(t, err, "nut")
	_, err = stringset.CompensatedSaddle(models, across, false, 1)
	reftest.RangeError(t, err, "edge")
	_, err = stringset.Board(models, nil, across[:1])
	reftest.RangeError(t, err, "saddle")
	if l, ok := stringset.LimitOf("strings.diameter"); !ok || l.Field != "diameter" {
		t.Errorf("limit of strings.diameter: %v", l)
	}
}

func TestDoubtsAreSaid(t *testing.T) {
	codes := func(s stringset.String, b stringset.Setup) (out []string) {
		_, warns, err := stringset.New(s, b)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range warns {
			out = append(out, w.Code)
			if w.Say.Empty() || w.Field == "" {
				t.Errorf("%+v", w)
			}
		}
		return out
	}
	a := steel(t, "A2", .042, .0165)
	fine := board(t, 2.3*unit.MM, nil)
	if got := codes(a, fine); len(got) != 0 {
		t.Errorf("an ordinary string: %v", got)
	}
	buzz, far, deep := fine, fine, fine
	buzz.SaddleHeight = 0.1 * unit.MM
	buzz.Relief = 0.4 * unit.MM
	far.Finger = 20 * unit.MM
	deep.Press = 1.5 * unit.MM
	heavy, tight, slack := a, steel(t, "A4", .012, 0), a
	heavy.Mass = 0.02
	slack.Pitch = 30
	for _, c := range []struct {
		code string
		s    stringset.String
		b    stringset.Setup
	}{{"would_buzz", a, buzz}, {"finger_moved", a, far}, {"pressed_into_board", a, deep}, {"mass_disagrees", heavy, fine}, {"may_break", tight, fine}, {"unusual_tension", slack, fine}} {
		if got := codes(c.s, c.b); !slices.Contains(got, c.code) {
			t.Errorf("want %s, got %v", c.code, got)
		}
	}
}

func FuzzTuning(f *testing.F) {
	for _, s := range []string{"E2 A2 D3 G3 B3 E4", "", "bb2", "F♯3,Db4", "E-1", "\xff", strings.Repeat("A4 ", 30)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := stringset.NewTuning("x", text)
		if err != nil {
			if reftest.RangeError(t, err, "tuning") == nil || len(err.Error()) > 600 {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		var words []string
		for _, n := range got.Notes {
			words = append(words, n.String())
		}
		back, err := stringset.NewTuning("x", strings.Join(words, " "))
		if err != nil || !slices.Equal(back.Notes, got.Notes) {
			t.Fatalf("%q: %v, %v", text, back, err)
		}
	})
}

func ExampleModel_SaddleOnly() {
	set, _ := stringset.FindSet("light")
	setup := stringset.DefaultSetup()
	setup.ScaleLength, setup.NutHeight = 648*unit.MM, 0.45*unit.MM
	setup.SaddleHeight, _ = setup.SaddleHeightFor(2.4 * unit.MM)
	m, _, err := stringset.New(set.Strings[0], setup)
	if err != nil {
		fmt.Println(err)
		return
	}
	best := m.SaddleOnly()
	fmt.Printf("%s: set the saddle back by about %.0f mm\n", m.String.Name, best.Saddle.MM())
	// Output: E2: set the saddle back by about 5 mm
}

// With only one figure in doubt, and sharp readings, that figure is found.
func TestCorrectionFindsWhatIsOff(t *testing.T) {
	s, set := steel(t, "A2", .042, .0165), board(t, 2.3*unit.MM, nil)
	p := at(t, s, fullScale)
	stretchy, stiff, deep := s, s, set
	stretchy.AxialStiffness = p.Axial * 1.25
	stiff.MeasuredBending = p.Bending * 1.3
	deep.Press *= 1.5
	none := stringset.Doubt{}
	axial, bending, press, place, nut := none, none, none, none, none
	axial.Axial, bending.Bending, press.Press, place.Saddle, nut.Nut = 1, 1, 1, 10*unit.MM, 10*unit.MM
	for _, c := range []struct {
		what        string
		real        *stringset.Model
		nut, saddle unit.Length // where they really are, beyond 0 and 2 mm
		doubt       stringset.Doubt
		want        stringset.Correction
	}{
		{"stretch", model(t, stretchy, set), 0, 0, axial, stringset.Correction{Axial: 1.25, Bending: 1, Press: 1}},
		{"bending", model(t, stiff, set), 0, 0, bending, stringset.Correction{Axial: 1, Bending: 1.3, Press: 1}},
		{"press", model(t, s, deep), 0, 0, press, stringset.Correction{Axial: 1, Bending: 1, Press: 1.5}},
		{"saddle", model(t, s, set), 0, 1.2 * unit.MM, place, stringset.Correction{Axial: 1, Bending: 1, Press: 1, Saddle: 1.2 * unit.MM}},
		{"nut", model(t, s, set), 0.3 * unit.MM, 0, nut, stringset.Correction{Axial: 1, Bending: 1, Press: 1, Nut: 0.3 * unit.MM}},
	} {
		cents, err := c.real.Cents(c.nut, 2*unit.MM+c.saddle)
		if err != nil {
			t.Fatal(err)
		}
		var readings []stringset.Reading
		for _, f := range []int{1, 3, 5, 7, 9, 12} {
			readings = append(readings, stringset.Reading{Fret: f, Cents: cents[f-1], SD: 0.02})
		}
		got, err := model(t, s, set).Correct(0, 2*unit.MM, readings, c.doubt)
		if err != nil {
			t.Fatal(err)
		}
		reftest.Near(t, c.what+": stretch", got.Axial, c.want.Axial, 1e-3)
		reftest.Near(t, c.what+": bending", got.Bending, c.want.Bending, 1e-3)
		reftest.Near(t, c.what+": press", got.Press, c.want.Press, 2e-3)
		reftest.NearMM(t, c.what+": saddle", got.Saddle, c.want.Saddle.MM(), 2e-3)
		reftest.NearMM(t, c.what+": nut", got.Nut, c.want.Nut.MM(), 2e-3)
		// The move ends where the true string's best saddle is.
		best, err := c.real.SaddleFor(c.nut)
		if err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, c.what+": move", got.Move, (best.Saddle - 2*unit.MM - c.saddle).MM(), 5e-3)
		reftest.Near(t, c.what+": after", got.After[11], best.Cents[11], 0.02)
	}
}

func TestBalanceByHand(t *testing.T) {
	// The pull goes as f², so a string an octave up of the same make pulls four times as much. source: Mersenne's law
	s := steel(t, "E2", .024, .0135)
	low, mid, high := s, s, s
	low.Pitch, mid.Pitch, high.Pitch = 100, 141.4213562373095, 200 // pulls as 1 : 2 : 4
	b, _, err := stringset.Pulls([]stringset.String{low, mid, high}, fullScale)
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "bass half", b.BassShare, 2.0/7, 1e-9) // the low string and half the middle one
	reftest.Near(t, "largest step over the total", float64(b.LargestStep/b.Total), 2.0/7, 1e-9)
	reftest.Near(t, "tight to loose", b.TightToLoose, 4, 1e-9)
	reftest.Near(t, "mean", b.Strings[2].Mean, 12.0/7, 1e-9)
	if b.Loosest != 0 || b.Tightest != 2 || b.StepFrom != 1 {
		t.Errorf("loosest %d, tightest %d, step from %d", b.Loosest, b.Tightest, b.StepFrom)
	}
}
