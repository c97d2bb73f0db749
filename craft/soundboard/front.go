package soundboard

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync"
)

// The stiffness is factorised by a multifrontal Cholesky method with nested dissection (Duff & Reid, ACM Trans. Math. Softw.
// 9, 1983; George, SIAM J. Numer. Anal. 10, 1973; both from memory). The plate is halved again and again; the unknowns that
// both halves share are eliminated after all others. Each half keeps what it hands upward, so that moving one brace renews
// only the halves the brace lies in.

// element is a small dense stiffness and mass on the unknowns it names, lying in one cell. Many cells share one matrix.
type element struct {
	cell int
	dofs []int32
	k, m []float64 // len(dofs)², row by row, symmetric; m may be nil
	id   uint64    // changes whenever the element does
}

// box is a rectangle of cells.
type box struct{ x0, x1, y0, y1 int } // half open

// front is one step of the elimination.
type front struct {
	box         box
	left, right *front
	elems       []int // of a leaf
	own, bnd    []int32
	rows        []int32 // own then bnd
	key         uint64  // what it was factorised from
	l           []float64
	inv         []float64 // 1/diagonal of l
	up          []float64 // what it hands upward, bnd²
	spare       [2][]float64
	toLeft      []int32 // place of each of left's bnd in rows
	toRight     []int32
}

// factor is a Cholesky factor and what is needed to renew it.
type factor struct {
	n     int
	once  bool // nothing is kept for a renewal
	root  *front
	old   map[box]*front
	fresh int // fronts renewed by the last call
	nnz   int
	flops float64
}

var errNotPositive = errors.New("the stiffness is not positive definite")

const leafCells = 20

// plan finds the order of elimination. nx and ny are the cells of the grid.
func plan(nx, ny, n int, elems []element) *front {
	lo, hi := make([][2]int16, n), make([][2]int16, n)
	for i := range lo {
		lo[i] = [2]int16{math.MaxInt16, math.MaxInt16}
		hi[i] = [2]int16{-1, -1}
	}
	at := make([][]int, nx*ny)
	for e := range elems {
		c := elems[e].cell
		at[c] = append(at[c], e)
		x, y := int16(c/ny), int16(c%ny)
		for _, d := range elems[e].dofs {
			lo[d] = [2]int16{min(lo[d][0], x), min(lo[d][1], y)}
			hi[d] = [2]int16{max(hi[d][0], x), max(hi[d][1], y)}
		}
	}
	var all []int32
	for d := range int32(n) {
		if hi[d][0] >= 0 {
			all = append(all, d)
		}
	}
	mark := make([]int32, n)
	stamp := int32(0)
	var build func(b box, dofs []int32) *front
	build = func(b box, dofs []int32) *front {
		f := &front{box: b}
		cells := 0
		for x := b.x0; x < b.x1; x++ {
			for y := b.y0; y < b.y1; y++ {
				if len(at[x*ny+y]) > 0 {
					cells++
				}
			}
		}
		if cells <= leafCells || b.x1-b.x0 == 1 && b.y1-b.y0 == 1 {
			f.own = dofs
			stamp++
			for _, d := range dofs {
				mark[d] = stamp
			}
			for x := b.x0; x < b.x1; x++ {
				for y := b.y0; y < b.y1; y++ {
					for _, e := range at[x*ny+y] {
						f.elems = append(f.elems, e)
						for _, d := range elems[e].dofs {
							if mark[d] != stamp {
								mark[d] = stamp
								f.bnd = append(f.bnd, d)
							}
						}
					}
				}
			}
			return f
		}
		axis := 0
		if b.y1-b.y0 > b.x1-b.x0 {
			axis = 1
		}
		// Halve the cells, not the box.
		from, to := b.x0, b.x1
		if axis == 1 {
			from, to = b.y0, b.y1
		}
		cut, sum := from+1, 0
		for i := from; i < to-1; i++ {
			sum2 := sum
			if axis == 0 {
				for y := b.y0; y < b.y1; y++ {
					if len(at[i*ny+y]) > 0 {
						sum2++
					}
				}
			} else {
				for x := b.x0; x < b.x1; x++ {
					if len(at[x*ny+i]) > 0 {
						sum2++
					}
				}
			}
			sum = sum2
			cut = i + 1
			if 2*sum >= cells {
				break
			}
		}
		bl, br := b, b
		if axis == 0 {
			bl.x1, br.x0 = cut, cut
		} else {
			bl.y1, br.y0 = cut, cut
		}
		var dl, dr []int32
		for _, d := range dofs {
			switch {
			case int(hi[d][axis]) < cut:
				dl = append(dl, d)
			case int(lo[d][axis]) >= cut:
				dr = append(dr, d)
			default:
				f.own = append(f.own, d)
			}
		}
		f.left, f.right = build(bl, dl), build(br, dr)
		stamp++
		for _, d := range f.own {
			mark[d] = stamp
		}
		for _, c := range []*front{f.left, f.right} {
			for _, d := range c.bnd {
				if mark[d] != stamp {
					mark[d] = stamp
					f.bnd = append(f.bnd, d)
				}
			}
		}
		return f
	}
	root := build(box{0, nx, 0, ny}, all)

	// Number the unknowns as they are eliminated, and sort each boundary by that.
	pos := make([]int32, n)
	next := int32(0)
	var number func(f *front)
	number = func(f *front) {
		if f.left != nil {
			number(f.left)
			number(f.right)
		}
		for _, d := range f.own {
			pos[d] = next
			next++
		}
	}
	number(root)
	place := make([]int32, n)
	var finish func(f *front)
	finish = func(f *front) {
		slices.SortFunc(f.bnd, func(a, b int32) int { return int(pos[a]) - int(pos[b]) })
		f.rows = append(append(make([]int32, 0, len(f.own)+len(f.bnd)), f.own...), f.bnd...)
		if f.left == nil {
			return
		}
		finish(f.left)
		finish(f.right)
		for i, d := range f.rows {
			place[d] = int32(i)
		}
		seat := func(c *front) []int32 {
			out := make([]int32, len(c.bnd))
			for i, d := range c.bnd {
				out[i] = place[d]
			}
			return out
		}
		f.toLeft, f.toRight = seat(f.left), seat(f.right)
	}
	finish(root)
	return root
}

// update factorises the sum of the elements, keeping each front whose elements are those of last time.
func (fa *factor) update(ctx context.Context, nx, ny, n int, elems []element, step func(float64)) error {
	root := plan(nx, ny, n, elems)
	fa.n = n
	now := map[box]*front{}
	var keys func(f *front) uint64
	keys = func(f *front) uint64 {
		h := uint64(14695981039346656037)
		mix := func(v uint64) { h = (h ^ v) * 1099511628211; h ^= h >> 29 }
		if f.left != nil {
			mix(keys(f.left))
			mix(keys(f.right))
		}
		for _, e := range f.elems {
			mix(elems[e].id)
		}
		for _, d := range f.rows {
			mix(uint64(d))
		}
		mix(uint64(len(f.own)))
		f.key = h
		now[f.box] = f
		return h
	}
	keys(root)
	fa.fresh, fa.nnz, fa.flops = 0, 0, 0
	total, done := 0.0, 0.0
	var todo func(f *front)
	var mu sync.Mutex
	todo = func(f *front) {
		k, m := float64(len(f.own)), float64(len(f.rows))
		fa.nnz += int(k * m)
		o := fa.old[f.box]
		switch {
		case o != nil && o.key == f.key && o.l != nil:
			f.l, f.inv, f.up = o.l, o.inv, o.up
		default:
			fa.fresh++
			total += k * m * m
			if o != nil {
				// Its memory serves again; should this call be broken off, the front is worked out afresh next time.
				f.spare, o.l, o.up = [2][]float64{o.l, o.up}, nil, nil
			}
		}
		if f.left != nil {
			todo(f.left)
			todo(f.right)
		}
	}
	todo(root)
	fa.flops = total
	place := [2][]int32{make([]int32, n), make([]int32, n)}
	var run func(f *front, workers, worker int) error
	run = func(f *front, workers, worker int) error {
		if f.l != nil {
			return nil
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if f.left != nil {
			if workers > 1 {
				var errLeft error
				var wg sync.WaitGroup
				wg.Add(1)
				go func() { defer wg.Done(); errLeft = run(f.left, 1, worker) }()
				errRight := run(f.right, 1, 1-worker)
				wg.Wait()
				if errLeft != nil {
					return errLeft
				}
				if errRight != nil {
					return errRight
				}
			} else {
				if err := run(f.left, 1, worker); err != nil {
					return err
				}
				if err := run(f.right, 1, worker); err != nil {
					return err
				}
			}
		}
		if err := f.eliminate(elems, place[worker], workers); err != nil {
			return err
		}
		if fa.once && f.left != nil {
			f.left.up, f.right.up = nil, nil
		}
		if step != nil && total > 0 {
			mu.Lock()
			done += float64(len(f.own)) * float64(len(f.rows)) * float64(len(f.rows))
			step(done / total)
			mu.Unlock()
		}
		return nil
	}
	if err := run(root, 2, 0); err != nil {
		return err
	}
	fa.root, fa.old = root, now
	if fa.once {
		fa.old = nil
	}
	return nil
}

// eliminate assembles the front and takes its own unknowns out.
func (f *front) eliminate(elems []element, place []int32, workers int) error {
	k, m := len(f.own), len(f.rows)
	b := m - k
	l, up := zeros(f.spare[0], m*k), zeros(f.spare[1], b*b) // rows of the factor; lower triangle
	f.spare = [2][]float64{}
	if f.left == nil {
		for i, d := range f.rows {
			place[d] = int32(i)
		}
		for _, e := range f.elems {
			el := &elems[e]
			nd := len(el.dofs)
			for r, dr := range el.dofs {
				i := int(place[dr])
				row := el.k[r*nd : r*nd+nd]
				for c, dc := range el.dofs {
					switch j := int(place[dc]); {
					case j > i:
					case j < k:
						l[i*k+j] += row[c]
					default:
						up[(i-k)*b+j-k] += row[c]
					}
				}
			}
		}
	} else {
		for _, c := range []struct {
			f  *front
			to []int32
		}{{f.left, f.toLeft}, {f.right, f.toRight}} {
			// Rows stand in the order of elimination in child and parent alike: first those taken out here, then the others.
			nb := len(c.to)
			here, _ := slices.BinarySearch(c.to, int32(k))
			for r := range nb {
				i := int(c.to[r])
				row := c.f.up[r*nb : r*nb+r+1]
				dst := l[i*k : i*k+k]
				first := min(here, len(row))
				for q, v := range row[:first] {
					dst[c.to[q]] += v
				}
				if first == len(row) {
					continue
				}
				dst = up[(i-k)*b : (i-k)*b+b]
				for q, v := range row[first:] {
					dst[int(c.to[first+q])-k] += v
				}
			}
		}
	}
	const nb = 48
	inv := make([]float64, k)
	for j0 := 0; j0 < k; j0 += nb {
		j1 := min(j0+nb, k)
		w := j1 - j0
		// The block column less what stands left of it.
		if j0 > 0 {
			lowerNT(l[j0*k+j0:], k, l[j0*k:], k, l[j0*k:], k, w, w, j0)
			spread(workers, j1, m, func(a, z int) {
				gemmNT(l[a*k+j0:], k, l[a*k:], k, l[j0*k:], k, z-a, w, j0)
			})
		}
		for j := j0; j < j1; j++ {
			row := l[j*k+j0 : j*k+j]
			d := l[j*k+j]
			for _, v := range row {
				d -= v * v
			}
			if !(d > 0) || math.IsInf(d, 0) {
				return errNotPositive
			}
			d = math.Sqrt(d)
			l[j*k+j] = d
			inv[j] = 1 / d
			for i := j + 1; i < j1; i++ {
				other := l[i*k+j0 : i*k+j]
				s := l[i*k+j]
				for q, v := range row {
					s -= v * other[q]
				}
				l[i*k+j] = s * inv[j]
			}
		}
		// The rows below, in strips of columns: what stands left of a strip goes by the fast product.
		spread(workers, j1, m, func(a, z int) {
			const strip = 12
			for s0 := 0; s0 < w; s0 += strip {
				s1 := min(s0+strip, w)
				if s0 > 0 {
					gemmNT(l[a*k+j0+s0:], k, l[a*k+j0:], k, l[(j0+s0)*k+j0:], k, z-a, s1-s0, s0)
				}
				for i := a; i < z; i++ {
					ri := l[i*k+j0+s0 : i*k+j0+s1]
					for j := range ri {
						at := (j0+s0+j)*k + j0 + s0
						rj := l[at : at+j]
						s := ri[j]
						x := ri[:len(rj)]
						for q, v := range rj {
							s -= v * x[q]
						}
						ri[j] = s * inv[j0+s0+j]
					}
				}
			}
		})
	}
	if b > 0 && k > 0 {
		const step = 96
		spreadTriangle(workers, b, func(a, z int) {
			for r := a; r < z; r += step {
				r1 := min(r+step, z)
				if r > 0 {
					gemmNT(up[r*b:], b, l[(k+r)*k:], k, l[k*k:], k, r1-r, r, k)
				}
				lowerNT(up[r*b+r:], b, l[(k+r)*k:], k, l[(k+r)*k:], k, r1-r, r1-r, k)
			}
		})
	}
	f.l, f.inv, f.up = l, inv, up
	return nil
}

// zeros gives n of them, in old's memory where that is enough.
func zeros(old []float64, n int) []float64 {
	if cap(old) < n {
		return make([]float64, n)
	}
	old = old[:n]
	clear(old)
	return old
}

// spread shares rows a..z among workers.
func spread(workers, a, z int, do func(a, z int)) {
	if a >= z {
		return
	}
	if workers < 2 || z-a < 64 {
		do(a, z)
		return
	}
	mid := a + (z-a)/2
	var wg sync.WaitGroup
	wg.Add(1)
	go func() { defer wg.Done(); do(a, mid) }()
	do(mid, z)
	wg.Wait()
}

// spreadTriangle shares the rows of a lower triangle so that both have equal work.
func spreadTriangle(workers, n int, do func(a, z int)) {
	if workers < 2 || n < 64 {
		do(0, n)
		return
	}
	mid := int(0.7071 * float64(n))
	var wg sync.WaitGroup
	wg.Add(1)
	go func() { defer wg.Done(); do(0, mid) }()
	do(mid, n)
	wg.Wait()
}

// lowerNT is gemmNT for a square block of which only the lower triangle is wanted; it works in strips.
func lowerNT(c []float64, ldc int, a []float64, lda int, b []float64, ldb int, rows, cols, n int) {
	const strip = 12
	for i := 0; i < rows; i += strip {
		i1 := min(i+strip, rows)
		gemmNT(c[i*ldc:], ldc, a[i*lda:], lda, b, ldb, i1-i, min(i1, cols), n)
	}
}

// solve overwrites x, n rows of width right sides, with K⁻¹ x.
func (fa *factor) solve(x []float64, width int) {
	if width == 0 {
		return
	}
	fa.root.forward(x, width, 2)
	fa.root.backward(x, width, 2)
}

func both(workers int, a, b func(workers int)) {
	if workers < 2 {
		a(1)
		b(1)
		return
	}
	var wg sync.WaitGroup
	wg.Add(1)
	go func() { defer wg.Done(); a(1) }()
	b(1)
	wg.Wait()
}

// forward solves L y = x; what the fronts add to their boundaries is handed up, so that halves do not write in one place. Where
// x is 0, as most of a load is, it hands up nil.
func (f *front) forward(x []float64, w, workers int) []float64 {
	k, m := len(f.own), len(f.rows)
	var ul, ur []float64
	if f.left != nil {
		both(workers, func(n int) { ul = f.left.forward(x, w, n) }, func(n int) { ur = f.right.forward(x, w, n) })
	}
	if ul == nil && ur == nil && !slices.ContainsFunc(f.own, func(d int32) bool {
		return slices.ContainsFunc(x[int(d)*w:int(d)*w+w], func(v float64) bool { return v != 0 })
	}) {
		return nil
	}
	loc := make([]float64, m*w)
	if ul != nil {
		for i, p := range f.toLeft {
			axpyRow(loc[int(p)*w:int(p)*w+w], ul[i*w:i*w+w], 1)
		}
	}
	if ur != nil {
		for i, p := range f.toRight {
			axpyRow(loc[int(p)*w:int(p)*w+w], ur[i*w:i*w+w], 1)
		}
	}
	for i, d := range f.own {
		axpyRow(loc[i*w:i*w+w], x[int(d)*w:int(d)*w+w], 1)
	}
	for i := range m {
		row := f.l[i*k : i*k+min(i, k)]
		li := loc[i*w : i*w+w]
		rowDots(li, row, loc, w)
		if i < k {
			s := f.inv[i]
			for c := range li {
				li[c] *= s
			}
		}
	}
	for i, d := range f.own {
		copy(x[int(d)*w:int(d)*w+w], loc[i*w:i*w+w])
	}
	return loc[k*w:]
}

// rowDots takes Σ row[j]·loc[j] from li.
func rowDots(li, row, loc []float64, w int) {
	switch w {
	case 1:
		s := 0.0
		loc = loc[:len(row)]
		for j, v := range row {
			s += v * loc[j]
		}
		li[0] -= s
	case 4:
		if wide && len(row) > 0 {
			_, _ = loc[4*len(row)-1], li[3]
			dots4(len(row), &row[0], &loc[0], &li[0])
			return
		}
		var s0, s1, s2, s3 float64
		for j, v := range row {
			q := loc[j*4 : j*4+4 : j*4+4]
			s0 += v * q[0]
			s1 += v * q[1]
			s2 += v * q[2]
			s3 += v * q[3]
		}
		li[0] -= s0
		li[1] -= s1
		li[2] -= s2
		li[3] -= s3
	default:
		for j, v := range row {
			axpyRow(li, loc[j*w:j*w+w], -v)
		}
	}
}

func axpyRow(y, x []float64, a float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += a * v
	}
}

// backward solves Lᵀ z = y from the root down.
func (f *front) backward(x []float64, w, workers int) {
	k, m := len(f.own), len(f.rows)
	loc := make([]float64, k*w)
	for i, d := range f.own {
		copy(loc[i*w:i*w+w], x[int(d)*w:int(d)*w+w])
	}
	for i := m - 1; i >= 0; i-- {
		var xi []float64
		if i < k {
			xi = loc[i*w : i*w+w]
			s := f.inv[i]
			for c := range xi {
				xi[c] *= s
			}
		} else {
			d := int(f.rows[i])
			xi = x[d*w : d*w+w]
		}
		row := f.l[i*k : i*k+min(i, k)]
		switch w {
		case 1:
			a := xi[0]
			dst := loc[:len(row)]
			for j, v := range row {
				dst[j] -= v * a
			}
		case 4:
			if wide && len(row) > 0 {
				_, _ = loc[4*len(row)-1], xi[3]
				take4(len(row), &row[0], &loc[0], &xi[0])
				continue
			}
			a0, a1, a2, a3 := xi[0], xi[1], xi[2], xi[3]
			for j, v := range row {
				q := loc[j*4 : j*4+4 : j*4+4]
				q[0] -= v * a0
				q[1] -= v * a1
				q[2] -= v * a2
				q[3] -= v * a3
			}
		default:
			for j, v := range row {
				axpyRow(loc[j*w:j*w+w], xi, -v)
			}
		}
	}
	for i, d := range f.own {
		copy(x[int(d)*w:int(d)*w+w], loc[i*w:i*w+w])
	}
	if f.left != nil {
		both(workers, func(n int) { f.left.backward(x, w, n) }, func(n int) { f.right.backward(x, w, n) })
	}
}
