package sheet

import (
	"fmt"
	"math"
	"testing"

	"fairset/craft/fretting"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/craft/strungup"
	"fairset/drawing"
	"fairset/unit"
)

// strung makes the strings of a starting set on a board of our own, 54 mm across at the saddle.
func strung(t testing.TB, key string, scale unit.Length, frets int) (all []stringset.Strung, models []*stringset.Model, across []unit.Length) {
	t.Helper()
	set, err := stringset.FindSet(key)
	if err != nil {
		t.Fatal(err)
	}
	n := len(set.Strings)
	for i, s := range set.Strings {
		f := float64(i) / float64(n-1)
		st := stringset.DefaultSetup()
		st.ScaleLength, st.Frets, st.NutHeight, st.Relief = scale, frets, 0.45*mmU, 0.2*mmU
		st.SaddleHeight, err = st.SaddleHeightFor(mm(2.5 - 0.5*f))
		if err != nil {
			t.Fatal(err)
		}
		z := mm(-27 + 54*f)
		all = append(all, stringset.Strung{String: s, Setup: st, Across: z})
		across = append(across, z)
	}
	models, _, err = stringset.Strings(all)
	if err != nil {
		t.Fatal(err)
	}
	return all, models, across
}

// boards of our own, from a small ukulele to nine strings on two scales.
func boards() map[string]fretting.Board {
	gauges := func(n int, from, to float64) []unit.Length {
		out := make([]unit.Length, n)
		for i := range out {
			out[i] = mm(from + (to-from)*float64(i)/math.Max(float64(n-1), 1))
		}
		return out
	}
	six := fretting.Board{BassScale: 640 * mmU, TrebleScale: 640 * mmU, Frets: 20, NutWidth: 44 * mmU, Width: 55 * mmU, WidthFret: 14, NutRadius: 400 * mmU, EndRadius: 400 * mmU,
		Gauges: gauges(6, 1.35, 0.3), AtNut: fretting.Spacing{Even: fretting.EqualGap, Spread: 37 * mmU}, AtSaddle: fretting.Spacing{Spread: 54 * mmU}}
	fan := six
	fan.BassScale, fan.TrebleScale, fan.AlongStrings, fan.PerpendicularFret, fan.Frets, fan.NutRadius, fan.EndRadius = 660*mmU, 635*mmU, true, 7, 24, 300*mmU, 500*mmU
	flat := six
	flat.BassScale, flat.TrebleScale, flat.Frets, flat.NutWidth, flat.Width, flat.WidthFret, flat.NutRadius, flat.EndRadius = 650*mmU, 650*mmU, 19, 52*mmU, 62*mmU, 12, 0, 0
	flat.AtNut.Spread, flat.AtSaddle.Spread, flat.Gauges = 43*mmU, 58*mmU, gauges(6, 1.1, 0.7)
	uke := flat
	uke.BassScale, uke.TrebleScale, uke.Frets, uke.NutWidth, uke.Width, uke.Gauges, uke.WidthFret = 345*mmU, 345*mmU, 12, 35*mmU, 42*mmU, gauges(4, 0.6, 0.9), 0
	uke.AtNut.Spread, uke.AtSaddle.Spread = 28*mmU, 42*mmU
	twelve := six
	twelve.NutWidth, twelve.Gauges, twelve.AtNut = 48*mmU, gauges(12, 1.3, 0.25), fretting.Spacing{Spread: 41 * mmU}
	nine := fan
	nine.BassScale, nine.TrebleScale, nine.PerpendicularFret, nine.Frets, nine.NutWidth, nine.Width, nine.WidthFret = 860*mmU, 800*mmU, 0, 36, 90*mmU, 120*mmU, 0
	nine.Gauges, nine.AtNut, nine.AtSaddle = gauges(9, 3.2, 0.3), fretting.Spacing{Spread: 80 * mmU}, fretting.Spacing{Spread: 120 * mmU}
	single := uke
	single.Gauges, single.NutWidth, single.Width = gauges(1, 1, 1), 25*mmU, 25*mmU
	return map[string]fretting.Board{"six": six, "two scales": fan, "flat": flat, "uke": uke, "twelve": twelve, "nine 36 frets": nine, "single": single}
}

func lay(t testing.TB, b fretting.Board) fretting.Layout {
	t.Helper()
	l, _, err := b.Lay()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// chains are guitars worked from unstrung to strung.
func chains(t testing.TB) map[string]strungup.Input {
	t.Helper()
	neck := strungup.Neck{Stations: []strungup.Station{{Width: 44 * mmU, Depth: 15 * mmU}, {At: 320 * mmU, Width: 53 * mmU, Depth: 18 * mmU}},
		Fullness: 2, Modulus: 10e9, BoardModulus: 13e9}
	steel := strungup.Input{Build: builds()["steel"], Tension: 700, Neck: neck}
	nylon := strungup.Input{Build: builds()["nylon"], Tension: 380, Neck: neck}
	long := strungup.Input{Build: builds()["long"], Tension: 500, Neck: neck}
	long.Neck.Rod.Stiffness = 60
	uke := strungup.Input{Build: builds()["uke"], Tension: 200, Neck: neck}
	low := steel
	low.Gap, low.GapRead = 5.1*mmU, true
	low.NutHeight, low.SaddleProjection = neckset.Sides{Bass: 0.5 * mmU, Treble: 0.4 * mmU}, neckset.Sides{Bass: 3.2 * mmU, Treble: 2.6 * mmU}
	return map[string]strungup.Input{"steel": steel, "nylon": nylon, "long": long, "uke": uke, "low": low}
}

func worked(t testing.TB, in strungup.Input) (neckset.Build, neckset.Target, strungup.Result) {
	t.Helper()
	r, _, err := strungup.Chain(in)
	if err != nil {
		t.Fatal(err)
	}
	b := r.Build(in.Build)
	return b, target(t, b), r
}

// plays are settings of a board, from clear to buzzing.
func plays() map[string]fretting.Played {
	usual := fretting.Played{NutHeight: fretting.Pair{Bass: 0.5 * mmU, Treble: 0.4 * mmU}, Action12: fretting.Pair{Bass: 2.6 * mmU, Treble: 2 * mmU}, Relief: 0.15 * mmU, JointFret: 14,
		Pluck: fretting.Pluck{Pull: 1.2 * mmU, At: 130 * mmU}}
	low := usual
	low.Action12 = fretting.Pair{Bass: 1.6 * mmU, Treble: 1.2 * mmU}
	low.Pluck.Pull = 2.5 * mmU
	high := usual
	high.Action12, high.Pluck.EvenForce = fretting.Pair{Bass: 5 * mmU, Treble: 5 * mmU}, true
	return map[string]fretting.Played{"usual": usual, "low": low, "high": high}
}

// forEachStrung gives every drawing of the strung guitar, in one style and width.
func forEachStrung(t testing.TB, st unit.Style, narrow bool, tag string, do func(name string, s *drawing.Sheet)) {
	t.Helper()
	for _, g := range []struct {
		set   string
		scale float64
		frets int
	}{{"light", 640, 20}, {"nylon-normal", 650, 19}, {"ukulele", 345, 15}, {"baritone", 700, 24}} {
		all, models, across := strung(t, g.set, mm(g.scale), g.frets)
		left := g.set == "ukulele"
		var strs []stringset.String
		for _, s := range all {
			strs = append(strs, s.String)
		}
		b, _, err := stringset.Pulls(strs, mm(g.scale))
		if err != nil {
			t.Fatal(err)
		}
		do("tension "+g.set+tag, TensionChart(b, TensionOptions{Style: st, Narrow: narrow}))
		bare, err := stringset.Board(models, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		straight, err := stringset.StraightSaddle(models, across, nil)
		if err != nil {
			t.Fatal(err)
		}
		each, err := stringset.CompensatedSaddle(models, across, true, mm(0.5))
		if err != nil {
			t.Fatal(err)
		}
		for name, m := range map[string]stringset.Map{"bare": bare, "straight": straight.Map, "both": each.Map} {
			do("cents "+g.set+" "+name+tag, CentsMap(m, CentsOptions{Style: st, Narrow: narrow, LeftHanded: left, Fit: 12}))
		}
		scores, _, err := stringset.Rescore(all, nil, straight.Saddle, stringset.ConcertA, stringset.Occasions(len(all)))
		if err != nil {
			t.Fatal(err)
		}
		do("scores "+g.set+tag, ScoreChart(scores, ScoreOptions{Style: st, Narrow: narrow}))
		own := make([]unit.Length, len(models))
		names := make([]string, len(models))
		for i, m := range models {
			own[i], names[i] = m.SaddleOnly().Saddle, m.String.Name
		}
		do("saddle straight "+g.set+tag, SaddleTop(SaddleInput{Names: names, Across: across, Own: own, Centre: straight.Centre, Slope: straight.Slope, Blank: mm(2.4)}, SaddleOptions{Style: st, Narrow: narrow, LeftHanded: left}))
		do("saddle line "+g.set+tag, SaddleTop(SaddleInput{Names: names, Across: across, Own: own, Centre: straight.Centre, Slope: straight.Slope}, SaddleOptions{Style: st, Narrow: narrow}))
		do("saddle both "+g.set+tag, SaddleTop(SaddleInput{Names: names, Across: across, Own: each.Saddle, Centre: each.Centre, Slope: each.Slope, Blank: each.Blank, Compensated: true, Nut: each.Nut}, SaddleOptions{Style: st, Narrow: narrow, LeftHanded: left}))
	}

	for name, b := range boards() {
		l := lay(t, b)
		left := name == "uke"
		for _, saddle := range []bool{false, true} {
			do(fmt.Sprintf("board %s %v%s", name, saddle, tag), BoardPlan(l, BoardPlanOptions{Style: st, Narrow: narrow, LeftHanded: left, Dots: fretting.Usual(), ToSaddle: saddle}))
		}
		slots, err := l.NutSlots(fretting.NutCut{Crown: mm(1.1), Height: mm(0.45), Allowance: mm(0.05)})
		if err != nil {
			t.Fatal(err)
		}
		for pn, p := range plays() {
			cs, err := l.Clear(p)
			if err != nil {
				t.Fatal(err)
			}
			do("clear "+name+" "+pn+tag, ClearanceMap(cs, ClearanceOptions{Style: st, Narrow: narrow, LeftHanded: left}))
			for _, k := range cs {
				if k.Stop%5 == 0 && (k.String == 0 || pn == "low") || k.Stop == len(l.Slots)-1 {
					do(fmt.Sprintf("over %s %s %d %d%s", name, pn, k.String, k.Stop, tag), ClearanceOver(l, k, ClearanceOptions{Style: st, Narrow: narrow}))
				}
			}
		}
		do("nut "+name+tag, NutSlots(NutInput{Layout: l, Slots: slots, Crown: mm(1.1)}, NutOptions{Style: st, Narrow: narrow, LeftHanded: left}))
	}
	for name, in := range chains(t) {
		b, tg, r := worked(t, in)
		do("pair "+name+tag, StrungPair(b, tg, r, PairOptions{Style: st, Narrow: narrow, LeftHanded: name == "uke"}))
	}
	spots := []SetupSpot{
		{Place: AtRelief, Heading: st.Say("Relief"), Words: st.Say("Turn the rod until a feeler of 0.15 mm just passes at fret 7. This takes 0.2 mm off the action at fret 12."), Done: true},
		{Place: AtNut, Heading: st.Say("Nut slots"), Words: st.Say("File the slots until each string clears fret 1 by 0.35 mm. String slack, a stroke or two at a time.")},
		{Place: AtHeight, Heading: st.Say("Saddle height"), Words: st.Say("Take 0.6 mm off the saddle's foot on the bass side, 0.4 mm on the treble.")},
		{Place: AtLine, Heading: st.Say("Saddle line"), Words: st.Say("Move where the strings break: bass 0.3 mm back, treble stays.")},
		{Place: AtLine, Heading: st.Say("Read again"), Words: st.Say("Read every string at fret 12.")},
	}
	do("order"+tag, SetupOrder(spots, SetupOptions{Style: st, Narrow: narrow}))
	do("order one"+tag, SetupOrder(spots[1:2], SetupOptions{Style: st, Narrow: narrow, LeftHanded: true}))
	do("order none"+tag, SetupOrder(nil, SetupOptions{Style: st, Narrow: narrow}))
	do("scores none"+tag, ScoreChart(nil, ScoreOptions{Style: st, Narrow: narrow}))
	do("clear none"+tag, ClearanceMap(nil, ClearanceOptions{Style: st, Narrow: narrow}))
	do("over none"+tag, ClearanceOver(fretting.Layout{}, fretting.Clearance{}, ClearanceOptions{Style: st, Narrow: narrow}))
	do("board none"+tag, BoardPlan(fretting.Layout{}, BoardPlanOptions{Style: st, Narrow: narrow}))
	do("nut none"+tag, NutSlots(NutInput{}, NutOptions{Style: st, Narrow: narrow}))

	// Made up, to press the room: twelve strings in pairs, a single string, none, figures far out.
	var many stringset.Balance
	var rows []stringset.Row
	var across, own, nut []unit.Length
	for i := range 12 {
		p := stringset.Pull{Name: st.Say("F#%d octave", i), Share: 1.0 / 12, Mean: 0.8 + 0.03*float64(i)}
		p.Tension = unit.Force(80 + 8*i)
		many.Strings = append(many.Strings, p)
		many.Total += p.Tension
		r := stringset.Row{Name: fmt.Sprintf("F#%d", i%6), First: 1, RMS: 13.4}
		for f := range 36 {
			r.Cents = append(r.Cents, float64(f-18)*1.31+float64(i))
		}
		rows = append(rows, r)
		across = append(across, mm(-28+10.6*float64(i/2)+2.4*float64(i%2)))
		own = append(own, mm(1.2+0.31*float64(i%5)-2*float64(i%2)))
		nut = append(nut, mm(0.1*float64(i%4)))
	}
	many.Mean, many.Tightest, many.StepFrom, many.LargestStep, many.BassShare = many.Total/12, 11, 10, 8, 0.4
	do("tension many"+tag, TensionChart(many, TensionOptions{Style: st, Narrow: narrow, Names: []string{st.Say("a very long name of a string that is thick")}}))
	do("tension none"+tag, TensionChart(stringset.Balance{}, TensionOptions{Style: st, Narrow: narrow}))
	do("tension one"+tag, TensionChart(stringset.Balance{Strings: many.Strings[:1], Total: 80, Mean: 80, BassShare: 0.5}, TensionOptions{Style: st, Narrow: narrow}))
	do("cents 36 frets"+tag, CentsMap(stringset.Map{Rows: rows, RMS: 13.4, Worst: 33.6, WorstRow: 11, WorstFret: 36}, CentsOptions{Style: st, Narrow: narrow, Fit: 36}))
	for i := range rows {
		rows[i].Cents = rows[i].Cents[:24]
	}
	do("cents many"+tag, CentsMap(stringset.Map{Rows: rows, RMS: 13.4, Worst: -23.6}, CentsOptions{Style: st, Narrow: narrow, Fit: 24}))
	do("cents one"+tag, CentsMap(stringset.Map{Rows: rows[:1], RMS: 13.4}, CentsOptions{Style: st, Narrow: narrow}))
	do("cents none"+tag, CentsMap(stringset.Map{}, CentsOptions{Style: st, Narrow: narrow}))
	capo := rows[:4:4]
	capo[0].First, capo[0].Cents = 4, capo[0].Cents[:17]
	do("cents capo"+tag, CentsMap(stringset.Map{Rows: capo[:1], RMS: 3}, CentsOptions{Style: st, Narrow: narrow, Fit: 12, Names: []string{st.Say("lowest")}}))
	do("saddle many"+tag, SaddleTop(SaddleInput{Across: across, Own: own, Centre: mm(1.5), Slope: -0.03, Blank: mm(4.5), Compensated: true, Nut: nut}, SaddleOptions{Style: st, Narrow: narrow}))
	do("saddle far"+tag, SaddleTop(SaddleInput{Across: across[:6], Own: own[:6], Centre: mm(-8), Slope: 0.2, Blank: mm(6)}, SaddleOptions{Style: st, Narrow: narrow}))
	do("saddle one"+tag, SaddleTop(SaddleInput{Across: across[:1], Own: own[:1], Centre: mm(2)}, SaddleOptions{Style: st, Narrow: narrow}))
	do("saddle none"+tag, SaddleTop(SaddleInput{}, SaddleOptions{Style: st, Narrow: narrow}))
}

// forEachDesign gives the drawings of every starting design, of either hand.
func forEachDesign(t testing.TB, st unit.Style, narrow bool, tag string, do func(name string, s *drawing.Sheet)) {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, base := range guitar.Bases() {
		d := base.Values
		b := guitar.Build(d)
		tg := target(t, b)
		heel := guitar.Heel(d)
		for _, left := range []bool{false, true} {
			tag := fmt.Sprintf(" %s %v%s", base.Key, left, tag)
			do("side design"+tag, SideView(b, tg, SideOptions{Style: st, Exaggeration: 5, Narrow: narrow, LeftHanded: left, HeelHeight: heel.Height, Frets: d.Count("frets")}))
			do("heel design"+tag, HeelFace(heel, planes(heel)["both"], HeelOptions{Style: st, Narrow: narrow, LeftHanded: left, TenonWidth: d.Length("tenon_width")}))
			do("line design"+tag, LineView(LineInput{Offset: mm(-0.8), Tolerance: d.Length("offset_tolerance"), SaddleDistance: tg.SaddleDistance, NutToJoint: tg.NutToJoint}, LineOptions{Style: st, Narrow: narrow, LeftHanded: left}))
			dots, err := fretting.Dots(b.ScaleLength, d.Count("frets"))
			must(err)
			do("dots design"+tag, SideDots(b.ScaleLength, d.Count("frets"), dots, DotOptions{Style: st, Narrow: narrow, LeftHanded: left}))
			pulls, err := guitar.StringSetUp(d)
			must(err)
			do("tension design"+tag, TensionChart(pulls.Balance, TensionOptions{Style: st, Narrow: narrow}))
			in, err := guitar.IntonationOf(d)
			must(err)
			do("cents design"+tag, CentsMap(in.Map, CentsOptions{Style: st, Narrow: narrow, LeftHanded: left, Fit: in.Strung[0].FitFrets}))
			saddle := SaddleInput{Across: in.Across, Centre: in.Straight.Centre, Slope: in.Straight.Slope}
			for i, m := range in.Models {
				saddle.Names, saddle.Own = append(saddle.Names, m.String.Name), append(saddle.Own, in.SaddleOnly[i].Saddle)
			}
			do("saddle design"+tag, SaddleTop(saddle, SaddleOptions{Style: st, Narrow: narrow, LeftHanded: left}))
			board, err := guitar.BoardOf(d)
			must(err)
			do("board design"+tag, BoardPlan(board.Layout, BoardPlanOptions{Style: st, Narrow: narrow, LeftHanded: left}))
			do("nut design"+tag, NutSlots(NutInput{Layout: board.Layout, Slots: board.Nut, Crown: d.Length("fret_crown"), Names: board.Names}, NutOptions{Style: st, Narrow: narrow, LeftHanded: left}))
			strung, _, err := guitar.Chain(d)
			must(err)
			pulled := strung.Build(b)
			do("pair design"+tag, StrungPair(pulled, target(t, pulled), strung, PairOptions{Style: st, Narrow: narrow, LeftHanded: left}))
		}
	}
}
