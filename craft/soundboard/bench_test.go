package soundboard

import (
	"context"
	"fmt"
	"testing"

	"fairset/unit"
)

func BenchmarkSolve(b *testing.B) {
	m := guitarTop(b, true)
	for _, n := range []int{24, 32, 40, 48, 64, 80} {
		b.Run(fmt.Sprintf("%d cells", n), func(b *testing.B) {
			size := 0
			for b.Loop() {
				p, err := Prepare(context.Background(), m, Options{Cells: n, Single: true})
				if err != nil {
					b.Fatal(err)
				}
				r, err := p.Solve(context.Background(), guitarBraces(), Request{Load: Load{Moment: 9.38, Pull: 700}, Modes: 10})
				if err != nil {
					b.Fatal(err)
				}
				size = r.Unknowns
			}
			b.ReportMetric(float64(size), "unknowns")
		})
	}
}

// One tone bar moves to and fro.
func BenchmarkMoveOneBrace(b *testing.B) {
	m := guitarTop(b, true)
	for _, modes := range []int{0, 10} {
		for _, n := range []int{24, 32, 40, 64} {
			b.Run(fmt.Sprintf("%d cells %d modes", n, modes), func(b *testing.B) {
				p, err := Prepare(context.Background(), m, Options{Cells: n, Single: true})
				if err != nil {
					b.Fatal(err)
				}
				braces := guitarBraces()
				req := Request{Load: Load{Moment: 9.38, Pull: 700}, Modes: modes}
				if _, err := p.Solve(context.Background(), braces, req); err != nil {
					b.Fatal(err)
				}
				i := 0
				for b.Loop() {
					i++
					braces[2].To.X += 0.001 * (1 - 2*unit.Length(i%2))
					if _, err := p.Solve(context.Background(), braces, req); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
