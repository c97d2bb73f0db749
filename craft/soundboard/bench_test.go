package soundboard

import (
	"context"
	"fmt"
	"testing"
	"time"

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

// One tone bar moves to and fro: the load alone, and with ten modes. "both" are the two grids every answer is carried on from. The best
// time of all rounds is told besides their mean: on a busy machine it comes nearest to what the work itself takes.
func BenchmarkMoveOneBrace(b *testing.B) {
	m := guitarTop(b, true)
	for _, modes := range []int{0, 10} {
		for _, o := range []struct {
			name string
			Options
		}{{"24 cells", Options{Cells: 24, Single: true}}, {"32 cells", Options{Cells: 32, Single: true}}, {"40 cells", Options{Cells: 40, Single: true}},
			{"64 cells", Options{Cells: 64, Single: true}}, {"both", Options{}}} {
			b.Run(fmt.Sprintf("%s %d modes", o.name, modes), func(b *testing.B) {
				p, err := Prepare(context.Background(), m, o.Options)
				if err != nil {
					b.Fatal(err)
				}
				braces := guitarBraces()
				req := Request{Load: Load{Moment: 9.38, Pull: 700}, Modes: modes}
				if _, err := p.Solve(context.Background(), braces, req); err != nil {
					b.Fatal(err)
				}
				best := time.Hour
				for i := 0; b.Loop(); i++ {
					braces[2].To.X += 0.001 * (1 - 2*unit.Length(i%2))
					t0 := time.Now()
					if _, err := p.Solve(context.Background(), braces, req); err != nil {
						b.Fatal(err)
					}
					best = min(best, time.Since(t0))
				}
				b.ReportMetric(best.Seconds()*1000, "best-ms/op")
			})
		}
	}
}
