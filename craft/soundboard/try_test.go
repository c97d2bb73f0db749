package soundboard

import (
	"context"
	"fmt"
	"testing"
	"time"

	"fairset/unit"
)

var topSpruce = Material{E1: 11e9, E2: 0.9e9, E3: 0.48e9, Nu12: 0.37, Nu13: 0.47, Nu23: 0.44, G12: 0.72e9, G13: 0.67e9, G23: 0.036e9, Density: 430}

func TestTry(t *testing.T) {
	ctx := context.Background()
	for _, edge := range []Edge{Simple, Clamped} {
		for _, n := range []int{12, 20, 32, 44, 64} {
			t0 := time.Now()
			m := Model{Outline: []Point{{0, 0}, {0.4, 0}, {0.4, 0.3}, {0, 0.3}}, Thickness: 2.8e-3, Material: topSpruce, Grain: [2]float64{1, 0}, Edge: edge}
			p, err := Prepare(ctx, m, Options{Cells: n})
			if err != nil {
				t.Fatal(err)
			}
			t1 := time.Now()
			r, err := p.Solve(ctx, nil, Request{Load: Load{Pressure: 100}, Modes: 6})
			if err != nil {
				t.Fatal(err)
			}
			t2 := time.Now()
			w, _ := r.W.At(Point{0.2, 0.15})
			fmt.Printf("%s n=%d dofs=%d w=%.6e react=%v work=%.6e energy=%.6e prep %v solve %v nnz=%d Gflop %.2f\n", edge, n, r.Unknowns, float64(w), r.Reaction, r.Work, r.Energy, t1.Sub(t0), t2.Sub(t1), p.fa.nnz, p.fa.flops/1e9)
			for _, m := range r.Modes {
				fmt.Printf(" %.4f", float64(m.Frequency))
			}
			r, _ = p.Solve(ctx, nil, Request{Load: Load{Point: 10, At: Point{0.2, 0.15}}})
			w, _ = r.W.At(Point{0.2, 0.15})
			fmt.Printf(" point %.5e\n", float64(w))
		}
	}
	_ = unit.MM
}
