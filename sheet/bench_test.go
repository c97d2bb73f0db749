package sheet_test

import (
	"testing"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing/svg"
	"fairset/sheet"
	"fairset/unit"
)

// One design, its target, the next cut and the heel drawn for it: what a reading costs. Wanted under 1 ms.
func BenchmarkTargetCutAndDrawing(b *testing.B) {
	d := guitar.Bases()[0].Values
	for b.Loop() {
		target, _, err := guitar.Build(d).Target()
		if err != nil {
			b.Fatal(err)
		}
		in := neckset.CutInput{SaddleDistance: target.SaddleDistance, Heel: guitar.Heel(d), GapTarget: target.GapOnFrets,
			GapMeasured: target.GapOnFrets - 1.2*unit.MM, OffsetMeasured: 1.1 * unit.MM, GapSD: 0.15 * unit.MM, OffsetSD: 0.25 * unit.MM,
			CutSD: 0.15, Risk: 0.05, GapTolerance: 0.4 * unit.MM, OffsetTolerance: 0.6 * unit.MM}
		cut, _, err := neckset.NextCut(in)
		if err != nil {
			b.Fatal(err)
		}
		s := sheet.HeelFace(in.Heel, cut.Planned, sheet.HeelOptions{Style: unit.Millimetre, TenonWidth: 20 * unit.MM, Narrow: true})
		if _, err := svg.Bytes(s, svg.Options{Mode: svg.Screen, ID: "heel"}); err != nil {
			b.Fatal(err)
		}
	}
}
