package face_test

import (
	"math"
	"strings"
	"sync"
	"testing"

	"fairset/drawing"
	"fairset/drawing/face"
	"fairset/unit"
)

const mm = unit.MM

// A text takes no more room on paper than the drawing reckons with, whatever letters of Europe, fractions, arrows
// and signs it has.
func TestLettersAreNoWiderThanReckoned(t *testing.T) {
	for _, bold := range []bool{false, true} {
		f := face.Of(bold)
		var all []rune
		for r := ' '; r < 0x180; r++ {
			if r <= '~' || r >= 0xa0 {
				all = append(all, r)
			}
		}
		all = append(all, []rune("–—‘’“”„•…‰′″⁄⅛⅜⅝⅞⅓⅔←↑→↓↔↕∅−√∞≈≠≤≥∆ΩΣαβγδθλμνπρσφω")...)
		for _, r := range all {
			if f.Glyph(r) == 0 {
				if r != '⅓' && r != '⅔' && r != '∅' {
					t.Errorf("bold %v: no letter %q", bold, r)
				}
				continue
			}
			got, want := f.Width(string(r), 1000*mm).MM(), drawing.Width(string(r), 1000*mm, bold).MM()
			// The reckoned widths are whole thousandths. Of bold letters only whole words are reckoned, below.
			if !bold && (got > want+0.8 || r <= '~' && math.Abs(got-want) > 0.8) {
				t.Errorf("%q (%U) is %.1f wide, reckoned as %.1f", r, r, got, want)
			}
		}
	}
	for _, words := range []string{"TREBLE", "Side dots", "7.25 mm", "B2", "Tear off", "½ → ≤ ±", "Äußere Öffnung", "Fret 12 × 2", "saddle line"} {
		if got, want := face.Of(true).Width(words, 1000*mm).MM(), drawing.Width(words, 1000*mm, true).MM(); got > want {
			t.Errorf("bold %q is %.1f wide, reckoned as %.1f", words, got, want)
		}
	}
}

// The outline of a text lies in the box the drawing reckons with, for each anchor and turn.
func TestOutlineStandsWhereItShould(t *testing.T) {
	for _, anchor := range []drawing.Anchor{drawing.Start, drawing.Middle, drawing.End} {
		for _, turn := range []float64{0, 30, 90, 180, -45} {
			text := drawing.Text{At: drawing.At(50, 70), Size: 4 * mm, Anchor: anchor, Turn: unit.Angle(turn) * unit.Degree, String: "Mhpg 12"}
			box := text.Box()
			reach := drawing.Item{Shape: face.Of(false).Outline(text), Pen: drawing.Pen{Weight: 1e-9}}.Reach()
			if !reach.Inside(drawing.Box{Left: box.Left - 0.1*mm, Bottom: box.Bottom - 0.1*mm, Right: box.Right + 0.1*mm, Top: box.Top + 0.1*mm}) {
				t.Errorf("anchor %d turn %v: letters %v, box %v", anchor, turn, reach, box)
			}
		}
	}
	if p := face.Of(true).Outline(drawing.Text{Size: mm, String: " \t\n"}); len(p.Steps) != 0 {
		t.Error("spaces have outlines")
	}
}

func TestSeveralAtOnce(t *testing.T) {
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for r := rune(' '); r < 500; r++ {
				face.Of(false).Width(string(r), mm)
				face.Of(false).Outline(drawing.Text{Size: mm, String: string(r)})
			}
		})
	}
	wg.Wait()
}

func TestLicenceIsWithTheFont(t *testing.T) {
	for _, want := range []string{"SIL OPEN FONT LICENSE Version 1.1", "Reserved Font Name Liberation"} {
		if !strings.Contains(face.License, want) {
			t.Errorf("no %q", want)
		}
	}
}
