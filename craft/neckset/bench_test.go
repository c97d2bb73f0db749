package neckset_test

import (
	"testing"

	"fairset/craft/neckset"
)

func BenchmarkTarget(b *testing.B) {
	d := steelDome()
	for b.Loop() {
		if _, _, err := d.Target(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNextCut(b *testing.B) {
	in := workedCut(6.9, 7.8, 1.5)
	b.Run("no tolerance", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := neckset.NextCut(in); err != nil {
				b.Fatal(err)
			}
		}
	})
	in.GapTolerance, in.OffsetTolerance = 0.25*mm, 0.4*mm
	b.Run("with tolerance", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := neckset.NextCut(in); err != nil {
				b.Fatal(err)
			}
		}
	})
}
