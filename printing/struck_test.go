package printing_test

import (
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/drawingtest"
	"fairset/printing"
	"fairset/unit"
)

// No line runs through words, on any sheet of any starting design, for either hand, in any way of writing lengths.
func TestNoLineRunsThroughWords(t *testing.T) {
	for _, b := range guitar.Bases() {
		for _, hand := range []string{"right", "left"} {
			g := readOff(t, started(t, b.Key, guitar.Values{"hand": {{Text: hand}}}), -2.3, 1.2)
			plan := g.Bench(guitar.Options{}).Aim.Target.NutToJoint
			g = entered(t, g, guitar.StepBridge, "nut_to_joint", inMM(plan))
			for _, style := range unit.Styles() {
				for _, e := range printing.List() {
					sheets, err := e.Sheets(asked(g, style))
					if err != nil {
						continue // says what it needs; another test
					}
					for _, s := range sheets {
						for _, fault := range drawingtest.Struck(s) {
							t.Errorf("%s, %s, %s: %s", b.Key, hand, style, fault)
						}
					}
				}
			}
		}
	}
}
