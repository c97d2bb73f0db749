package soundboard

import (
	"context"
	"fmt"
	"testing"
	"time"
)

func TestTry2(t *testing.T) {
	ctx := context.Background()
	for _, braced := range []bool{false, true} {
		for _, n := range []int{64} {
			t0 := time.Now()
			m := guitarTop(t, braced)
			p, err := Prepare(ctx, m, Options{Cells: n})
			if err != nil {
				t.Fatal(err)
			}
			t1 := time.Now()
			var br []Brace
			if braced {
				br = guitarBraces()
			}
			r, err := p.Solve(ctx, br, Request{Load: Load{Moment: 8.4}})
			if err != nil {
				t.Fatal(n, err)
			}
			t2 := time.Now()
			r2, err := p.Solve(ctx, br, Request{Load: Load{Moment: 700 * (0.012 + 1.4e-3), Pull: 700}, Modes: 12})
			if err != nil {
				t.Fatal(n, err)
			}
			t3 := time.Now()
			for _, r := range []*Result{r, r2} {
				fmt.Printf("n=%d dofs=%d rise %.4f (%.0f %.0f) dip %.4f rot %.4f mean %.4f | ", n, r.Unknowns, r.Rise.MM(), r.RiseAt.X.MM(), r.RiseAt.Y.MM(), r.Dip.MM(), r.Rotation.Degrees(), r.Mean.MM())
			}
			fmt.Printf("react %.6v prep %v static %v modes+static %v nnz %d gf %.2f\n  ", r2.Reaction, t1.Sub(t0), t2.Sub(t1), t3.Sub(t2), p.fa.nnz, p.fa.flops/1e9)
			for _, m := range r2.Modes {
				fmt.Printf(" %.3f", float64(m.Frequency))
			}
			fmt.Println()
		}
	}
}
