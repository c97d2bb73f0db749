package soundboard

// gemmNT takes A·Bᵀ from C: rows of A, cols rows of B, each n long, ld apart. Where the processor can work on four numbers at
// once it does; the sums then differ in their last digits from those of other machines, but not from run to run.
func gemmNT(c []float64, ldc int, a []float64, lda int, b []float64, ldb int, rows, cols, n int) {
	r4, c3, n4 := rows-rows%4, cols-cols%3, n-n%4
	if !wide || r4 == 0 || c3 == 0 || n4 < 8 {
		plainNT(c, ldc, a, lda, b, ldb, rows, cols, n)
		return
	}
	_, _, _ = a[(rows-1)*lda+n-1], b[(cols-1)*ldb+n-1], c[(rows-1)*ldc+cols-1] // the kernel does not look
	var s [12]float64
	for i := 0; i < r4; i += 4 {
		for j := 0; j < c3; j += 3 {
			dot4x3(n4, &a[i*lda], lda, &b[j*ldb], ldb, &s[0])
			for p := range 4 {
				r := c[(i+p)*ldc+j : (i+p)*ldc+j+3]
				r[0] -= s[p*3]
				r[1] -= s[p*3+1]
				r[2] -= s[p*3+2]
			}
		}
	}
	if n4 < n {
		plainNT(c, ldc, a[n4:], lda, b[n4:], ldb, r4, c3, n-n4)
	}
	if c3 < cols {
		plainNT(c[c3:], ldc, a, lda, b[c3*ldb:], ldb, r4, cols-c3, n)
	}
	if r4 < rows {
		plainNT(c[r4*ldc:], ldc, a[r4*lda:], lda, b, ldb, rows-r4, cols, n)
	}
}

// plainNT is gemmNT for any machine.
func plainNT(c []float64, ldc int, a []float64, lda int, b []float64, ldb int, rows, cols, n int) {
	const chunk = 256
	for q := 0; q < n; q += chunk {
		w := min(chunk, n-q)
		i := 0
		for ; i+3 <= rows; i += 3 {
			a0, a1, a2 := a[i*lda+q:], a[(i+1)*lda+q:], a[(i+2)*lda+q:]
			a0, a1, a2 = a0[:w], a1[:w], a2[:w]
			j := 0
			for ; j+3 <= cols; j += 3 {
				b0, b1, b2 := b[j*ldb+q:], b[(j+1)*ldb+q:], b[(j+2)*ldb+q:]
				b0, b1, b2 = b0[:w], b1[:w], b2[:w]
				var s00, s01, s02, s10, s11, s12, s20, s21, s22 float64
				for k := range w {
					x0, x1, x2 := a0[k], a1[k], a2[k]
					y := b0[k]
					s00 += x0 * y
					s10 += x1 * y
					s20 += x2 * y
					y = b1[k]
					s01 += x0 * y
					s11 += x1 * y
					s21 += x2 * y
					y = b2[k]
					s02 += x0 * y
					s12 += x1 * y
					s22 += x2 * y
				}
				r := c[i*ldc+j : i*ldc+j+3]
				r[0] -= s00
				r[1] -= s01
				r[2] -= s02
				r = c[(i+1)*ldc+j : (i+1)*ldc+j+3]
				r[0] -= s10
				r[1] -= s11
				r[2] -= s12
				r = c[(i+2)*ldc+j : (i+2)*ldc+j+3]
				r[0] -= s20
				r[1] -= s21
				r[2] -= s22
			}
			for ; j < cols; j++ {
				bj := b[j*ldb+q:][:w]
				var s0, s1, s2 float64
				for k, y := range bj {
					s0 += a0[k] * y
					s1 += a1[k] * y
					s2 += a2[k] * y
				}
				c[i*ldc+j] -= s0
				c[(i+1)*ldc+j] -= s1
				c[(i+2)*ldc+j] -= s2
			}
		}
		for ; i < rows; i++ {
			ai := a[i*lda+q:][:w]
			for j := range cols {
				bj := b[j*ldb+q:][:w]
				var s float64
				for k, y := range bj {
					s += ai[k] * y
				}
				c[i*ldc+j] -= s
			}
		}
	}
}
