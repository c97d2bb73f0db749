package soundboard

import (
	"fmt"
	"testing"
)

func TestTry3(t *testing.T) {
	m := guitarTop(t, false)
	for _, n := range []int{16, 40, 48, 63, 64, 65, 66} {
		g := newGrid(&m, n)
		odd := 0
		sum := 0.0
		for c := range g.cells {
			if !g.cells[c].full && g.cells[c].share > 0 {
				sum += g.cells[c].share
			}
			if g.cells[c].share < 0 || g.cells[c].share > 1.0001 {
				odd++
			}
		}
		fmt.Printf("n %d nx %d ny %d area %.8f odd %d\n", n, g.nx, g.ny, g.areaOf, odd)
	}
}
