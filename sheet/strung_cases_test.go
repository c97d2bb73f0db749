package sheet

import (
	"fmt"
	"testing"

	"fairset/craft/stringset"
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
			do("cents "+g.set+" "+name+tag, CentsMap(m, CentsOptions{Narrow: narrow, LeftHanded: left, Fit: 12}))
		}
		own := make([]unit.Length, len(models))
		names := make([]string, len(models))
		for i, m := range models {
			own[i], names[i] = m.SaddleOnly().Saddle, m.String.Name
		}
		do("saddle straight "+g.set+tag, SaddleTop(SaddleInput{Names: names, Across: across, Own: own, Centre: straight.Centre, Slope: straight.Slope, Blank: mm(2.4)}, SaddleOptions{Style: st, Narrow: narrow, LeftHanded: left}))
		do("saddle line "+g.set+tag, SaddleTop(SaddleInput{Names: names, Across: across, Own: own, Centre: straight.Centre, Slope: straight.Slope}, SaddleOptions{Style: st, Narrow: narrow}))
		do("saddle both "+g.set+tag, SaddleTop(SaddleInput{Names: names, Across: across, Own: each.Saddle, Centre: each.Centre, Slope: each.Slope, Blank: each.Blank, Compensated: true, Nut: each.Nut}, SaddleOptions{Style: st, Narrow: narrow, LeftHanded: left}))
	}

	// Made up, to press the room: twelve strings in pairs, a single string, none, figures far out.
	var many stringset.Balance
	var rows []stringset.Row
	var across, own, nut []unit.Length
	for i := range 12 {
		p := stringset.Pull{Name: fmt.Sprintf("F#%d octave", i), Share: 1.0 / 12, Mean: 0.8 + 0.03*float64(i)}
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
	do("tension many"+tag, TensionChart(many, TensionOptions{Style: st, Narrow: narrow, Names: []string{"a very long name of a string that is thick"}}))
	do("tension none"+tag, TensionChart(stringset.Balance{}, TensionOptions{Style: st, Narrow: narrow}))
	do("tension one"+tag, TensionChart(stringset.Balance{Strings: many.Strings[:1], Total: 80, Mean: 80, BassShare: 0.5}, TensionOptions{Style: st, Narrow: narrow}))
	do("cents 36 frets"+tag, CentsMap(stringset.Map{Rows: rows, RMS: 13.4, Worst: 33.6, WorstRow: 11, WorstFret: 36}, CentsOptions{Narrow: narrow, Fit: 36}))
	for i := range rows {
		rows[i].Cents = rows[i].Cents[:24]
	}
	do("cents many"+tag, CentsMap(stringset.Map{Rows: rows, RMS: 13.4, Worst: -23.6}, CentsOptions{Narrow: narrow, Fit: 24}))
	do("cents one"+tag, CentsMap(stringset.Map{Rows: rows[:1], RMS: 13.4}, CentsOptions{Narrow: narrow}))
	do("cents none"+tag, CentsMap(stringset.Map{}, CentsOptions{Narrow: narrow}))
	capo := rows[:4:4]
	capo[0].First, capo[0].Cents = 4, capo[0].Cents[:17]
	do("cents capo"+tag, CentsMap(stringset.Map{Rows: capo[:1], RMS: 3}, CentsOptions{Narrow: narrow, Fit: 12, Names: []string{"lowest"}}))
	do("saddle many"+tag, SaddleTop(SaddleInput{Across: across, Own: own, Centre: mm(1.5), Slope: -0.03, Blank: mm(4.5), Compensated: true, Nut: nut}, SaddleOptions{Style: st, Narrow: narrow}))
	do("saddle far"+tag, SaddleTop(SaddleInput{Across: across[:6], Own: own[:6], Centre: mm(-8), Slope: 0.2, Blank: mm(6)}, SaddleOptions{Style: st, Narrow: narrow}))
	do("saddle one"+tag, SaddleTop(SaddleInput{Across: across[:1], Own: own[:1], Centre: mm(2)}, SaddleOptions{Style: st, Narrow: narrow}))
	do("saddle none"+tag, SaddleTop(SaddleInput{}, SaddleOptions{Style: st, Narrow: narrow}))
}
