package printing_test

import (
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/drawingtest"
	"fairset/language"
	"fairset/printing"
	"fairset/unit"
)

// No line runs through words and no words lie on others, on any sheet of any starting design, for either hand, in any way of writing
// lengths and any language.
func TestWordsStandFree(t *testing.T) {
	styles := unit.Styles()
	for _, c := range []language.Code{language.German, language.Pseudo} {
		styles = append(styles, unit.Millimetre.Speaking(c), unit.Inch64.Speaking(c))
	}
	for _, b := range guitar.Bases() {
		for _, hand := range []string{"right", "left"} {
			g := readOff(t, started(t, b.Key, guitar.Values{"hand": {{Text: hand}}}), -2.3, 1.2)
			plan := g.Bench(guitar.Options{}).Aim.Target.NutToJoint
			g = entered(t, g, guitar.StepBridge, "nut_to_joint", inMM(plan))
			for _, style := range styles {
				for _, e := range printing.List() {
					sheets, err := e.Sheets(asked(g, style))
					if err != nil {
						continue // says what it needs; another test
					}
					for _, s := range sheets {
						for _, fault := range append(drawingtest.Struck(s), drawingtest.Crowded(s)...) {
							t.Errorf("%s, %s, %s: %s", b.Key, hand, style, fault)
						}
					}
				}
			}
		}
	}
}
