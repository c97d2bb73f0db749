package sheet

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"fairset/craft/body"
	"fairset/craft/fastening"
	"fairset/craft/fretting"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/language"
	"fairset/unit"
)

// spoken are the styles in every language, and in the one that marks its words.
func spoken() []unit.Style {
	var out []unit.Style
	for _, c := range append(language.Codes(), language.Pseudo) {
		for _, s := range unit.Styles() {
			out = append(out, s.Speaking(c))
		}
	}
	return out
}

// everyFullSize gives every full-size sheet, of guitars large and small.
func everyFullSize(t testing.TB, style unit.Style, left bool, do func(name string, s *drawing.Sheet)) {
	t.Helper()
	h := Head{Guitar: "Marsh Wren", Date: "2026-03-02", Style: style, Left: left}
	for name, b := range boards() {
		l := lay(t, b)
		do("frets "+name, FretLayout(FretInput{Layout: l, Dots: fretting.Usual(), Thickness: mm(6)}, h))
		slots, err := l.NutSlots(fretting.NutCut{Crown: 1.1 * mmU, Height: 0.45 * mmU, Allowance: 0.05 * mmU})
		if err != nil {
			t.Fatal(err)
		}
		for _, blank := range []float64{0, 2.6} {
			in := BlankInput{Layout: l, Slots: slots, Radius: mm(150 * blank), Blank: mm(blank)}
			for i, s := range slots {
				in.Saddle = append(in.Saddle, SaddleTopPlace{Along: (s.FromBass - slots[len(slots)-1].FromBass/2) * 1.4, Over: mm(2.9), Wanted: mm(0.2 * float64(i%3))})
				in.Moves = append(in.Moves, mm(blank*0.1))
			}
			do(fmt.Sprintf("blanks %s %g", name, blank), Blanks(h, in))
		}
	}
	short := boards()["six"]
	short.Length = 400 * mmU
	do("frets short", FretLayout(FretInput{Layout: lay(t, short), Dots: fretting.Small(), Thickness: mm(6)}, h))
	for name, b := range builds() {
		do("side "+name, JointSide(jointInput(t, b), h))
		do("jig "+name, JigTemplate(JigInput{Target: target(t, b)}, h))
	}
	for _, k := range fastening.Kinds() {
		in := joineryInput(t, k)
		in.Caution = ""
		do(fmt.Sprintf("heel %v", k), Joinery(in, h))
		do(fmt.Sprintf("template %v", k), DrillTemplate(in, h))
		in.MortiseWidth, in.MortiseDepth, in.Proud, in.Block = mm(20.4), mm(15.5), mm(1.2), 0
		do(fmt.Sprintf("heel measured %v", k), Joinery(in, h))
		in.TenonLength, in.Proud = 0, mm(-1.2)
		do(fmt.Sprintf("heel plain %v", k), Joinery(in, h))
		do(fmt.Sprintf("template plain %v", k), DrillTemplate(in, h))
	}
	for i, change := range []func(*GaugeInput){func(*GaugeInput) {}, func(g *GaugeInput) { g.Flatten, g.Flat = mm(0.5), mm(40) }, func(g *GaugeInput) { g.Flatten, g.Flat = mm(0.5), mm(60) },
		func(g *GaugeInput) { g.BoardEnd, g.Dome, g.Arc, g.WidthEnd = g.BoardNut, 0, 0, 0 }, func(g *GaugeInput) { g.BoardNut = 0 }} {
		in := gaugeCase()
		change(&in)
		s, _ := Gauges(h, in)
		do(fmt.Sprint("gauges ", i), s)
	}
	for name, heel := range heels {
		do("cut map "+name, CutMap(h, CutMapInput{Heel: heel, TenonWidth: min(20*mmU, heel.WidthCap-5*mmU), Depth: planes(heel)["both"], Read: "2026-05-03"}))
	}
	for i, change := range []func(*BridgeInput){func(*BridgeInput) {}, func(b *BridgeInput) { b.Slope, b.Wanted = -0.3, mm(1) }, func(b *BridgeInput) { b.PinsBehind, b.Wanted, b.Read = 18*mmU, mm(-1), "" },
		func(b *BridgeInput) { b.Planned, b.Slope = mm(358), 0.04 }, func(b *BridgeInput) { *b = BridgeInput{FromNut: mm(650.4), NutToJoint: mm(358.9)} },
		func(b *BridgeInput) {
			*b = BridgeInput{FromNut: mm(301), NutToJoint: mm(190), Width: 60 * mmU, Depth: 16 * mmU, Front: 6 * mmU}
		}} {
		in := bridgeCase()
		in.Caution = ""
		change(&in)
		do(fmt.Sprint("bridge ", i), BridgePlace(h, in))
	}
	for _, p := range body.Patterns() {
		for _, k := range []float64{0.5, 1, 1.1} {
			b := aBody(t, p.Key, k)
			do(fmt.Sprintf("body %s %g", p.Key, k), BodyPlan(h, b))
			do(fmt.Sprintf("body half %s %g", p.Key, k), BodyHalf(h, b))
		}
	}
	ps := profiles()
	for i := range ps {
		ps[i].Name = style.Say("nut")
	}
	do("neck", NeckProfiles(h, ps))
	for i, s := range Pages(h, style.Say("Nut and saddle"), "2026-05-03", Block{Heading: style.Say("Part"), Caution: true, Before: []string{style.Say("Take care.")}, Head: []string{style.Say("Part")}, Rows: make([][]string, 70)}) {
		do(fmt.Sprint("list ", i), s)
	}
}

// Every word on a full-size sheet and beside it comes out of a catalogue, and longer words have room there too.
func TestFullSizeSheetsInEveryLanguage(t *testing.T) {
	for _, c := range []language.Code{language.Pseudo, language.German} {
		for _, s := range []unit.Style{unit.Millimetre.Speaking(c), unit.Inch64.Speaking(c)} {
			n := 0
			everyFullSize(t, s, s.Metric(), func(name string, d *drawing.Sheet) {
				n++
				t.Run(string(s)+" "+name, func(t *testing.T) {
					if c == language.Pseudo {
						mustBeSaid(t, name, d, "Marsh", "Wren")
					}
					if !strings.HasPrefix(name, "list") {
						wellSet(t, d)
					}
				})
			})
			if n < 100 {
				t.Fatalf("only %d sheets looked at", n)
			}
		}
	}
}

// Every word of the drawings that show where a figure is taken comes out of a catalogue.
func TestEveryWordOfMeasuringIsSaid(t *testing.T) {
	keys := guitar.MeasuredFields()
	slices.Sort(keys)
	style := unit.Millimetre.Speaking(language.Pseudo)
	for _, key := range keys {
		m, _ := guitar.Measure(key)
		mustBeSaid(t, key, Measure(m.View, m.Mark, style.Say("nut"), style))
	}
}

// Nets and pictures of a top that moves.
func TestEveryWordOfAMovingTopIsSaid(t *testing.T) {
	s := aBody(t, body.PatternX, 1)
	style := unit.Millimetre.Speaking(language.Pseudo)
	shape := bowl(s, body.Point{X: 150 * unit.MM}, 1*unit.MM, 90*unit.MM)
	for _, narrow := range []bool{false, true} {
		d := TopDeflection(s, shape, TopOptions{Style: style, Narrow: narrow, Marked: 1})
		mustBeSaid(t, "deflection", d)
	}
	mustBeSaid(t, "mode", TopMode(s, shape, TopOptions{Style: style, Title: style.Say("nut")}))
	mustBeSaid(t, "net", TopMesh(s, shape, false).Still(style.Say("nut"), 1, style))
}
