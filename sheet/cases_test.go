package sheet

import (
	"flag"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairset/craft/body"
	"fairset/craft/climate"
	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/language"
	"fairset/unit"
)

var (
	gallery  = flag.String("gallery", "", "write every drawing of the cases to this folder, to look at")
	speaking = flag.String("speaking", "", "the language of the gallery, as de")
)

const (
	mmU = unit.MM
	deg = unit.Degree
)

// Builds of our own, from ordinary to the ends of what is accepted.
func builds() map[string]neckset.Build {
	steel := neckset.Build{ScaleLength: 640 * mmU, JointFret: 14, SaddleSetback: 2.4 * mmU, BoardThickness: 6.2 * mmU, FretCrown: 1.1 * mmU,
		Relief: 0.2 * mmU, JointFold: 0.03 * deg, TopRise: 0.5 * mmU, BridgeThickness: 8.8 * mmU, SaddleProjection: 3.2 * mmU, NutHeight: 0.45 * mmU, Action12: 2.2 * mmU,
		Top: neckset.Top{Radius: 8000 * mmU, Apex: 240 * mmU}}
	nylon := steel
	nylon.ScaleLength, nylon.JointFret, nylon.Action12, nylon.Top = 650*mmU, 12, 3.4*mmU, neckset.Top{}
	uke := steel
	uke.ScaleLength, uke.JointFret, uke.BridgeThickness, uke.SaddleProjection, uke.BoardThickness, uke.Top = 345*mmU, 12, 6*mmU, 2*mmU, 4*mmU, neckset.Top{}
	tiny := uke
	tiny.ScaleLength, tiny.JointFret = 300*mmU, 10
	long := steel
	long.ScaleLength, long.JointFret, long.BridgeThickness, long.SaddleProjection = 900*mmU, 22, 15*mmU, 8*mmU
	longLow := steel
	longLow.ScaleLength, longLow.JointFret = 900*mmU, 10
	forward := steel
	forward.BridgeThickness, forward.SaddleProjection, forward.BoardThickness, forward.Action12 = 4*mmU, 0.6*mmU, 10*mmU, 6*mmU
	back := steel
	back.BridgeThickness, back.SaddleProjection, back.BoardThickness, back.Action12 = 15*mmU, 8*mmU, 3*mmU, 0.8*mmU
	return map[string]neckset.Build{"steel": steel, "nylon": nylon, "uke": uke, "tiny": tiny, "long": long, "long10": longLow, "forward": forward, "back": back}
}

func target(t testing.TB, b neckset.Build) neckset.Target {
	t.Helper()
	got, _, err := b.Target()
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func corners(tb, tt, cb, ct float64) neckset.Corners {
	return neckset.Corners{TopBass: mm(tb), TopTreble: mm(tt), CapBass: mm(cb), CapTreble: mm(ct)}
}

var heels = map[string]neckset.Heel{
	"usual":  {Height: 88 * mmU, WidthTop: 58 * mmU, WidthCap: 32 * mmU},
	"small":  {Height: 40 * mmU, WidthTop: 38 * mmU, WidthCap: 15 * mmU},
	"large":  {Height: 130 * mmU, WidthTop: 80 * mmU, WidthCap: 80 * mmU},
	"narrow": {Height: 130 * mmU, WidthTop: 16 * mmU, WidthCap: 15 * mmU},
	"upturn": {Height: 60 * mmU, WidthTop: 40 * mmU, WidthCap: 70 * mmU},
}

// planes gives cuts of one plane each over a heel: what a swing (mm at the saddle) and a lean ask for.
func planes(h neckset.Heel) map[string]neckset.Corners {
	out := map[string]neckset.Corners{}
	for name, g := range map[string][2]float64{"zero": {0, 0}, "lean back": {2, 0}, "lean forward": {-0.9, 0}, "swing": {0, 1.5}, "both": {-0.9, -1.5}, "back and swing": {1.2, 1.1}, "three": {9, 2}} {
		a, b := g[1]/284, -g[0]/284 // depth = k + a y + b z
		d := [4]float64{-a * h.WidthTop.MM() / 2, a * h.WidthTop.MM() / 2, -a*h.WidthCap.MM()/2 - b*h.Height.MM(), a*h.WidthCap.MM()/2 - b*h.Height.MM()}
		least := min(d[0], d[1], d[2], d[3])
		out[name] = corners(d[0]-least, d[1]-least, d[2]-least, d[3]-least)
	}
	return out
}

// forEach gives every drawing of the bench, in English.
func forEach(t testing.TB, do func(name string, s *drawing.Sheet)) {
	t.Helper()
	forEachIn(t, map[string]unit.Style{"mm": unit.Millimetre, "inch": unit.InchDecimal, "in64": unit.Inch64}, do)
}

// forEachIn gives every drawing of the bench in some styles.
func forEachIn(t testing.TB, styles map[string]unit.Style, do func(name string, s *drawing.Sheet)) {
	t.Helper()
	widths := map[string]bool{"phone": true, "wide": false}
	for sn, st := range styles {
		for wn, narrow := range widths {
			tag := " " + sn + " " + wn
			forEachStrung(t, st, narrow, tag, do)
			forEachDesign(t, st, narrow, tag, do)
			for _, step := range []time.Duration{20 * time.Minute, 6 * time.Hour, 9 * 24 * time.Hour} {
				do(fmt.Sprintf("air %v%s", step, tag), ClimateChart(airPoints(40, step), climate.UsualBand(), ClimateOptions{Style: st, Narrow: narrow}))
			}
			for _, pattern := range []body.Pattern{body.PatternX, body.PatternFan, body.PatternLadder, body.PatternNone} {
				for _, k := range []float64{0.5, 1, 1.1} {
					do(fmt.Sprintf("body %s %g%s", pattern, k, tag), BodyView(aBody(t, pattern, k), BodyViewOptions{Style: st, Narrow: narrow, LeftHanded: k < 1}))
				}
			}
			for bn, b := range builds() {
				tg := target(t, b)
				for _, e := range []float64{1, 3, 5, 10} {
					for state, stateName := range map[State]string{Unstrung: "", Strung: " strung"} {
						do(fmt.Sprintf("side %s %gx%s%s", bn, e, stateName, tag), SideView(b, tg, SideOptions{Style: st, Exaggeration: e, State: state, Narrow: narrow, Board: e == 3}))
					}
				}
				do("line "+bn+tag, LineView(LineInput{Offset: mm(1.4), Tolerance: mm(0.5), SaddleDistance: tg.SaddleDistance, NutToJoint: tg.NutToJoint}, LineOptions{Style: st, Narrow: narrow, LeftHanded: bn == "uke"}))
			}
			do("line zero"+tag, LineView(LineInput{SaddleDistance: mm(284)}, LineOptions{Style: st, Narrow: narrow}))
			do("line far"+tag, LineView(LineInput{Offset: mm(-15), SaddleDistance: mm(284)}, LineOptions{Style: st, Narrow: narrow}))
			for hn, h := range heels {
				for pn, p := range planes(h) {
					do("heel "+hn+" "+pn+tag, HeelFace(h, p, HeelOptions{Style: st, Narrow: narrow, TenonWidth: min(20*mmU, h.WidthCap-5*mmU), Flip: hn == "large"}))
					do("heel bare "+hn+" "+pn+tag, HeelFace(h, p, HeelOptions{Style: st, Narrow: narrow, LeftHanded: true}))
				}
				do("bolts "+hn+tag, BoltLayout(BoltInput{Heel: h, TenonWidth: min(20*mmU, h.WidthCap-5*mmU), Depths: []unit.Length{h.Height * 0.36, h.Height * 0.65}, Pilot: mm(4.8), Clearance: mm(7.1)}, BoltOptions{Style: st, Narrow: narrow}))
			}
			do("bolts close"+tag, BoltLayout(BoltInput{Heel: heels["usual"], Depths: []unit.Length{mm(30), mm(36), mm(60)}, Pilot: mm(4.8), Clearance: mm(7.1), PilotName: "3/16 in", ClearanceName: "9/32 in"}, BoltOptions{Style: st, Narrow: narrow, LeftHanded: true}))
			do("progress none"+tag, Progress(nil, Aim{Gap: mm(6.9), GapTolerance: mm(0.2)}, ProgressOptions{Style: st, Narrow: narrow}))
			var ps []ProgressPoint
			for i, g := range []float64{5.2, 6.3, 6.75, 6.85} {
				p := ProgressPoint{Label: st.Say("pass %d", i), Gap: mm(g), GapSD: mm(0.15), HasGap: true, Planned: i == 3, Offset: mm(1.2 - 0.35*float64(i)), OffsetSD: mm(0.25), HasOffset: true}
				if i == 0 {
					p.Label = st.Say("start")
				}
				ps = append(ps, p)
			}
			do("progress"+tag, Progress(ps, Aim{Gap: mm(6.9), GapTolerance: mm(0.2), OffsetTolerance: mm(0.4)}, ProgressOptions{Style: st, Narrow: narrow}))
			do("progress one"+tag, Progress(ps[:1], Aim{Gap: mm(6.9)}, ProgressOptions{Style: st, Narrow: narrow}))
			var many []ProgressPoint
			for i := range 30 {
				many = append(many, ProgressPoint{Label: st.Say("pass %d", i), Gap: mm(25 - float64(i)), GapSD: mm(0.15), HasGap: true})
			}
			do("progress many"+tag, Progress(many, Aim{Gap: mm(-4), GapTolerance: mm(0.1)}, ProgressOptions{Style: st, Narrow: narrow}))
			budget := neckset.Budget{GapSD: mm(0.42)}
			for i, e := range []float64{0.3, 0.2, 0.14, 0.1, 0.08, 0.05, 0.04, 0.01} {
				budget.Shares = append(budget.Shares, neckset.Share{Field: fmt.Sprintf("saddle_projection_%d", i), Effect: mm(e), Part: e * e / 0.17})
			}
			say := func(f string) string { return st.Say(unit.Text(strings.ReplaceAll(f, "_", " "))) }
			do("budget"+tag, BudgetBars(budget, say, BudgetOptions{Style: st, Narrow: narrow}))
			do("budget none"+tag, BudgetBars(neckset.Budget{}, say, BudgetOptions{Style: st, Narrow: narrow}))
			do("budget long names"+tag, BudgetBars(budget, func(f string) string { return st.Say(unit.Text(strings.Repeat("a very long name ", 6) + f)) }, BudgetOptions{Style: st, Narrow: narrow}))
			for _, in := range []neckset.SeatInput{
				{ArcRadius: 310 * mmU, HeelWidth: 58 * mmU, TenonWidth: 20 * mmU, BodyShare: 0.5, SideThickness: 2.2 * mmU, SideLimit: 0.25},
				{ArcRadius: 80 * mmU, HeelWidth: 80 * mmU, TenonWidth: 10 * mmU, BodyShare: 0, SideThickness: 2.2 * mmU, SideLimit: 0.25},
				{ArcRadius: 3000 * mmU, HeelWidth: 40 * mmU, TenonWidth: 20 * mmU, BodyShare: 1, SideThickness: 2.2 * mmU, SideLimit: 0.33},
				{HeelWidth: 58 * mmU, TenonWidth: 20 * mmU, BodyShare: 1, SideThickness: 2.2 * mmU, SideLimit: 0.25},
			} {
				seat, _, err := neckset.FitSeat(in)
				if err != nil {
					t.Fatal(err)
				}
				do(fmt.Sprintf("seat R%.0f%s", in.ArcRadius.MM(), tag), SeatPlan(in, seat, SeatOptions{Style: st, Narrow: narrow, LeftHanded: in.BodyShare == 0}))
			}
			for i, in := range []TenonInput{
				{Length: 28 * mmU, Width: 20 * mmU, MortiseDepth: 29.5 * mmU, MortiseWidth: 20.2 * mmU},
				{Length: 30 * mmU, Width: 21 * mmU, MortiseDepth: 29.5 * mmU, MortiseWidth: 20.2 * mmU},
				{Length: 8 * mmU, Width: 70 * mmU, MortiseDepth: 8 * mmU, MortiseWidth: 70 * mmU},
				{Length: 90 * mmU, Width: 8 * mmU, MortiseDepth: 92 * mmU, MortiseWidth: 8.1 * mmU},
				{},
			} {
				do(fmt.Sprintf("tenon %d%s", i, tag), TenonPlan(in, SeatOptions{Style: st, Narrow: narrow}))
			}
			for _, r := range [][2]float64{{7.2, 6.4}, {0, 0}, {-3, 2}, {25, 24}, {6.9, 6.95}, {0.3, 0.6}} {
				do(fmt.Sprintf("roll %g %g%s", r[0], r[1], tag), Roll(RollInput{Bass: mm(r[0]), Treble: mm(r[1]), Spread: mm(0.1)}, RollOptions{Style: st, Narrow: narrow}))
			}
			for _, d := range []struct {
				scale float64
				frets int
			}{{640, 20}, {300, 12}, {900, 24}, {345, 19}} {
				dots, err := fretting.Dots(mm(d.scale), d.frets)
				if err != nil {
					t.Fatal(err)
				}
				do(fmt.Sprintf("dots %g %d%s", d.scale, d.frets, tag), SideDots(mm(d.scale), d.frets, dots, DotOptions{Style: st, Narrow: narrow, LeftHanded: d.scale == 345}))
			}
		}
	}
}

// TestGallery writes the drawings for a person to look at; it checks nothing.
func TestGallery(t *testing.T) {
	if *gallery == "" {
		t.Skip("no -gallery folder")
	}
	index, c := map[string]*strings.Builder{}, language.Code(*speaking)
	forEachIn(t, map[string]unit.Style{"mm": unit.Millimetre.Speaking(c), "in64": unit.Inch64.Speaking(c)}, func(name string, s *drawing.Sheet) {
		b, err := svg.Bytes(s, svg.Options{ID: name})
		if err != nil {
			t.Fatal(err)
		}
		kind := strings.ReplaceAll(name, " ", "_")
		if index[kind] == nil {
			index[kind] = &strings.Builder{}
		}
		fmt.Fprintf(index[kind], "<figure><figcaption>%s</figcaption>%s</figure>", html.EscapeString(name), b)
	})
	for kind, b := range index {
		if err := os.WriteFile(filepath.Join(*gallery, kind+".html"), []byte("<!doctype html><meta charset=utf-8><body style='margin:16px;background:#fcfaf4'>"+b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
