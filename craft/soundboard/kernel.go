package soundboard

// panel is how many columns the product of two blocks works on side by side, and how many vectors the modes are sought with: a panel holds
// twelve numbers a row.
const panel = 12

// takePanel takes a product from four rows of a panel: c[r] -= Σ a[row·r + step·t] x[t] over t < n for r < 4, where x[t] are the rows of a
// panel and those of c lie ldc numbers apart. With fresh what c held does not count. Where the processor can work on four numbers at once it
// does; the sums then differ in their last digits from those of other machines, but not from run to run.
func takePanel(n int, a []float64, row, step int, x, c []float64, ldc int, fresh bool) {
	if n == 0 {
		return
	}
	_, _, _ = a[3*row+(n-1)*step], x[n*panel-1], c[3*ldc+panel-1] // the kernel does not look
	if wide {
		take4x12(n, &a[0], row, step, &x[0], &c[0], ldc, fresh)
		return
	}
	plainPanel(n, a, row, step, x, c, ldc, fresh)
}

// plainPanel is takePanel for any machine.
func plainPanel(n int, a []float64, row, step int, x, c []float64, ldc int, fresh bool) {
	var s [4][panel]float64 // c may be where a is
	for q := 0; q < panel; q += 3 {
		var s00, s01, s02, s10, s11, s12, s20, s21, s22, s30, s31, s32 float64
		at := 0
		for t := range n {
			y := x[t*panel+q : t*panel+q+3 : t*panel+q+3]
			y0, y1, y2 := y[0], y[1], y[2]
			v := a[at]
			s00 += v * y0
			s01 += v * y1
			s02 += v * y2
			v = a[at+row]
			s10 += v * y0
			s11 += v * y1
			s12 += v * y2
			v = a[at+2*row]
			s20 += v * y0
			s21 += v * y1
			s22 += v * y2
			v = a[at+3*row]
			s30 += v * y0
			s31 += v * y1
			s32 += v * y2
			at += step
		}
		s[0][q], s[0][q+1], s[0][q+2] = s00, s01, s02
		s[1][q], s[1][q+1], s[1][q+2] = s10, s11, s12
		s[2][q], s[2][q+1], s[2][q+2] = s20, s21, s22
		s[3][q], s[3][q+1], s[3][q+2] = s30, s31, s32
	}
	for r := range s {
		y := c[r*ldc : r*ldc+panel]
		if fresh {
			clear(y)
		}
		for q, v := range s[r] {
			y[q] -= v
		}
	}
}
