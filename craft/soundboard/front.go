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
	// apart is whether m ties a cell's stretches to nothing but themselves.
	apart bool
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
	ld          int     // from one row of l to the next: columns beyond own are 0
	l           []float64
	inv         []float64 // 1/diagonal of l
	up          []float64 // what it hands upward, a lower triangle in strips: see stripped
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
	work  [2]arena
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
			f.l, f.ld, f.inv, f.up = o.l, o.ld, o.inv, o.up
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
	var used [2]pool
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
		if fa.once {
			f.spare[1] = used[worker].take(stripped(len(f.bnd), len(f.bnd)))
		}
		if err := f.eliminate(elems, place[worker], workers); err != nil {
			return err
		}
		if fa.once && f.left != nil {
			used[worker] = append(used[worker], f.left.up, f.right.up)
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
	ld := ceil(k)
	l, up := zeros(f.spare[0], (m+3)*ld), zeros(f.spare[1], stripped(b, b)) // rows of the factor, with room to work on four at a time
	f.spare = [2][]float64{}
	at := make([]int, b) // where each column of up would begin
	for j := range at {
		at[j] = stripped(b, j) - j/panel*panel*panel + j%panel
	}
	if f.left == nil {
		f.assemble(elems, place, l, ld, up, at)
	} else {
		f.take(f.left, f.toLeft, l, ld, up, at)
		f.take(f.right, f.toRight, l, ld, up, at)
	}
	// Columns go in strips as broad as a panel: first what stands left of a strip is taken from it, then it is divided by its own triangle.
	inv := make([]float64, k)
	x := make([]float64, max(k, panel)*panel)
	for s := 0; s < k; s += panel {
		e := min(s+panel, k)
		if s > 0 {
			turn(x, l[s*ld:], ld, e-s, s)
			spread(workers, s, m, func(a, z int) {
				for i := a; i < z; i += 4 {
					takePanel(s, l[i*ld:], ld, 1, x, l[i*ld+s:], ld, false)
				}
			})
		}
		if !triangle(l[s*ld+s:], ld, inv[s:e], x) {
			return errNotPositive
		}
		spread(workers, e, m, func(a, z int) {
			for i := a; i < z; i += 4 {
				takePanel(e-s, l[i*ld+s:], ld, 1, x, l[i*ld+s:], ld, true)
			}
		})
	}
	if k > 0 {
		for s := 0; s < b; s += panel {
			turn(x, l[(k+s)*ld:], ld, min(panel, b-s), k)
			for i := s; i < b; i += 4 {
				takePanel(k, l[(k+i)*ld:], ld, 1, x, up[at[s]+i*panel:], panel, false)
			}
		}
	}
	f.l, f.ld, f.inv, f.up = l, ld, inv, up
	return nil
}

// assemble sums a leaf's elements.
func (f *front) assemble(elems []element, place []int32, l []float64, ld int, up []float64, at []int) {
	k := len(f.own)
	for i, d := range f.rows {
		place[d] = int32(i)
	}
	// An element's unknowns in the order of their rows: its place there, and by the last byte its own.
	var order []int
	for _, e := range f.elems {
		el := &elems[e]
		nd := len(el.dofs)
		order = order[:0]
		for c, d := range el.dofs {
			order = append(order, int(place[d])<<8|c)
		}
		slices.Sort(order)
		here, _ := slices.BinarySearch(order, k<<8)
		for r, o := range order {
			i, row := o>>8, el.k[o&255*nd:(o&255+1)*nd]
			dst := l[i*ld : i*ld+k]
			for _, q := range order[:min(r+1, here)] {
				dst[q>>8] += row[q&255]
			}
			for _, q := range order[min(r+1, here) : r+1] {
				up[at[q>>8-k]+(i-k)*panel] += row[q&255]
			}
		}
	}
}

// take adds what a child hands up; to tells its rows' places. They stand in the order of elimination in child and parent alike: first those
// taken out here, then the others.
func (f *front) take(child *front, to []int32, l []float64, ld int, up []float64, at []int) {
	k, n := len(f.own), len(to)
	here, _ := slices.BinarySearch(to, int32(k))
	var cols [panel]int
	for s := 0; s < n; s += panel {
		w := min(panel, n-s)
		mine := min(max(here-s, 0), w)
		for c := range w {
			cols[c] = int(to[s+c])
			if c >= mine {
				cols[c] = at[cols[c]-k] - k*panel
			}
		}
		from := stripped(n, s)
		for r := s; r < n; r++ {
			i, src := int(to[r]), child.up[from+(r-s)*panel:from+(r-s)*panel+panel]
			many := min(w, r-s+1)
			if mine > 0 {
				dst := l[i*ld : i*ld+k]
				for c, v := range src[:min(mine, many)] {
					dst[cols[c]] += v
				}
			}
			for c := mine; c < many; c++ {
				up[cols[c]+i*panel] += src[c]
			}
		}
	}
}

// stripped is where the strip of column j begins in a lower triangle of n rows laid out in strips as broad as a panel, each from its own
// first row down, with room to work on four rows at a time; for j = n it is the size of all.
func stripped(n, j int) int {
	p := j / panel
	if j == n {
		p = (n + panel - 1) / panel
	}
	return panel * (p*((n+3)&^3) - p*(p-1)/2*panel)
}

// turn lays a block's rows, n long, side by side as the columns of a panel; columns it has no row for are 0.
func turn(x, block []float64, ld, rows, n int) {
	if rows < panel {
		clear(x[:n*panel])
	}
	for c := range rows {
		for t, v := range block[c*ld : c*ld+n] {
			x[t*panel+c] = v
		}
	}
}

// triangle takes the root of a small block L Lᵀ and puts -L⁻ᵀ into a panel; inv gets 1/diagonal. It fails where the block is not positive.
func triangle(l []float64, ld int, inv, x []float64) bool {
	n := len(inv)
	for j := range n {
		row := l[j*ld : j*ld+j]
		d := l[j*ld+j]
		for _, v := range row {
			d -= v * v
		}
		if !(d > 0) || math.IsInf(d, 0) {
			return false
		}
		d = math.Sqrt(d)
		l[j*ld+j], inv[j] = d, 1/d
		for i := j + 1; i < n; i++ {
			s := l[i*ld+j]
			for q, v := range row {
				s -= v * l[i*ld+q]
			}
			l[i*ld+j] = s * inv[j]
		}
	}
	// Column c of the panel is row c of -L⁻¹.
	clear(x[:n*panel])
	for t := range n {
		x[t*panel+t] = -inv[t]
		for c := t + 1; c < n; c++ {
			s := 0.0
			for q := t; q < c; q++ {
				s -= l[c*ld+q] * x[t*panel+q]
			}
			x[t*panel+c] = s * inv[c]
		}
	}
	return true
}

// ceil is n, or what comes next that fills whole panels.
func ceil(n int) int { return (n + panel - 1) / panel * panel }

// pool is memory to be used again.
type pool [][]float64

// take gives the smallest piece that holds n numbers, or nil.
func (p *pool) take(n int) []float64 {
	best := -1
	for i, x := range *p {
		if cap(x) >= n && (best < 0 || cap(x) < cap((*p)[best])) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	x := (*p)[best]
	*p = slices.Delete(*p, best, best+1)
	return x
}

// zeros gives n of them, in old's memory where that is enough.
func zeros(old []float64, n int) []float64 {
	if cap(old) < n {
		x := make([]float64, n)
		// New memory that is read before it is written takes the system's attention twice; this writes something into every page.
		for i := 0; i < n; i += 512 {
			x[i] = 0
		}
		return x
	}
	old = old[:n]
	clear(old)
	return old
}

// spread shares rows a..z among workers, in fours.
func spread(workers, a, z int, do func(a, z int)) {
	if a >= z {
		return
	}
	if workers < 2 || z-a < 64 {
		do(a, z)
		return
	}
	mid := a + (z-a)/8*4
	var wg sync.WaitGroup
	wg.Add(1)
	go func() { defer wg.Done(); do(a, mid) }()
	do(mid, z)
	wg.Wait()
}

// arena is memory one processor solves in.
type arena struct {
	loc, stack []float64
	at         int // of the stack
}

// room gives n numbers, not cleared, that serve until the next call.
func (a *arena) room(n int) []float64 {
	if len(a.loc) < n {
		a.loc = make([]float64, n)
	}
	return a.loc[:n]
}

// push copies x onto the stack at a place.
func (a *arena) push(at int, x []float64) []float64 {
	if len(a.stack) < at+len(x) {
		a.stack = make([]float64, 2*(at+len(x))) // what lies on the old one stays there
	}
	a.at = at + len(x)
	copy(a.stack[at:a.at], x)
	return a.stack[at:a.at]
}

// solve overwrites x with K⁻¹ x; x has one number, or a panel's row, for each unknown: width is 1 or panel.
func (fa *factor) solve(x []float64, width int) {
	fa.work[0].at, fa.work[1].at = 0, 0
	fa.root.forward(x, width, &fa.work[0], &fa.work[1])
	fa.root.backward(x, width, &fa.work[0], &fa.work[1])
}

// both runs a and b, beside each other where there is a second arena to work in.
func both(mine, other *arena, a, b func(*arena)) {
	if other == nil {
		a(mine)
		b(mine)
		return
	}
	var wg sync.WaitGroup
	wg.Add(1)
	go func() { defer wg.Done(); a(other) }()
	b(mine)
	wg.Wait()
}

// forward solves L y = x; what the fronts add to their boundaries is handed up, so that halves do not write in one place. Where
// x is 0, as most of a load is, it hands up nil.
func (f *front) forward(x []float64, w int, mine, other *arena) []float64 {
	k, m, ld := len(f.own), len(f.rows), f.ld
	at := mine.at
	var ul, ur []float64
	if f.left != nil {
		both(mine, other, func(a *arena) { ul = f.left.forward(x, w, a, nil) }, func(a *arena) { ur = f.right.forward(x, w, a, nil) })
	}
	if w == 1 && ul == nil && ur == nil && !slices.ContainsFunc(f.own, func(d int32) bool { return x[d] != 0 }) {
		return nil
	}
	loc := mine.room((m + 3) * w)
	for i, d := range f.own {
		copy(loc[i*w:i*w+w], x[int(d)*w:int(d)*w+w])
	}
	clear(loc[k*w:])
	for _, c := range []struct {
		up []float64
		to []int32
	}{{ul, f.toLeft}, {ur, f.toRight}} {
		if c.up != nil {
			for i, p := range c.to {
				if w == panel {
					addTwelve(loc[int(p)*w:], c.up[i*w:], 1)
				} else {
					loc[p] += c.up[i]
				}
			}
		}
	}
	// Four rows at once: all left of them, then what lies between them.
	for i := 0; i < m; i += 4 {
		n := min(i, k)
		if w == panel {
			takePanel(n, f.l[i*ld:], ld, 1, loc, loc[i*w:], w, false)
		} else {
			takeFour(f.l[i*ld:], ld, loc[:n], loc[i:])
		}
		for r := i; r < min(i+4, m); r++ {
			lr := loc[r*w : r*w+w]
			for j := n; j < min(r, k); j++ {
				axpyRow(lr, loc[j*w:j*w+w], -f.l[r*ld+j])
			}
			if r < k {
				for c := range lr {
					lr[c] *= f.inv[r]
				}
			}
		}
	}
	for i, d := range f.own {
		copy(x[int(d)*w:int(d)*w+w], loc[i*w:i*w+w])
	}
	return mine.push(at, loc[k*w:m*w])
}

// takeFour takes four rows' products with x from four numbers.
func takeFour(a []float64, ld int, x, c []float64) {
	n := len(x)
	a0, a1, a2, a3 := a[:n], a[ld:ld+n], a[2*ld:2*ld+n], a[3*ld:3*ld+n]
	var s0, s1, s2, s3 float64
	for j, v := range x {
		s0 += a0[j] * v
		s1 += a1[j] * v
		s2 += a2[j] * v
		s3 += a3[j] * v
	}
	c[0] -= s0
	c[1] -= s1
	c[2] -= s2
	c[3] -= s3
}

// takeRows takes four rows, each times its own number, from y.
func takeRows(y, a []float64, ld int, x []float64) {
	n := len(y)
	a0, a1, a2, a3 := a[:n], a[ld:ld+n], a[2*ld:2*ld+n], a[3*ld:3*ld+n]
	x0, x1, x2, x3 := x[0], x[1], x[2], x[3]
	for j := range y {
		y[j] -= x0*a0[j] + x1*a1[j] + x2*a2[j] + x3*a3[j]
	}
}

// addTwelve adds a times the twelve numbers of x to those of y.
func addTwelve(y, x []float64, a float64) {
	p, q := (*[panel]float64)(y), (*[panel]float64)(x)
	p[0] += a * q[0]
	p[1] += a * q[1]
	p[2] += a * q[2]
	p[3] += a * q[3]
	p[4] += a * q[4]
	p[5] += a * q[5]
	p[6] += a * q[6]
	p[7] += a * q[7]
	p[8] += a * q[8]
	p[9] += a * q[9]
	p[10] += a * q[10]
	p[11] += a * q[11]
}

func axpyRow(y, x []float64, a float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += a * v
	}
}

// backward solves Lᵀ z = y from the root down.
func (f *front) backward(x []float64, w int, mine, other *arena) {
	k, m, ld := len(f.own), len(f.rows), f.ld
	loc := mine.room((m + 3) * w)
	for i, d := range f.rows {
		copy(loc[i*w:i*w+w], x[int(d)*w:int(d)*w+w])
	}
	if w == 1 {
		r := m
		for ; r >= k+4; r -= 4 {
			takeRows(loc[:k], f.l[(r-4)*ld:], ld, loc[r-4:r])
		}
		for r--; r >= 0; r-- {
			if r < k {
				loc[r] *= f.inv[r]
			}
			axpyRow(loc[:min(r, k)], f.l[r*ld:r*ld+min(r, k)], -loc[r])
		}
	} else {
		f.backwardPanel(loc)
	}
	for i, d := range f.own {
		copy(x[int(d)*w:int(d)*w+w], loc[i*w:i*w+w])
	}
	if f.left != nil {
		both(mine, other, func(a *arena) { f.left.backward(x, w, a, nil) }, func(a *arena) { f.right.backward(x, w, a, nil) })
	}
}

// backwardPanel does the same for a panel; loc holds its rows, of which own are overwritten.
func (f *front) backwardPanel(loc []float64) {
	const w, chunk = panel, 64 // rows that stay in near memory while all columns go over them
	k, m, ld := len(f.own), len(f.rows), f.ld
	clear(loc[m*w:])
	for r := k; r < m; r += chunk {
		for j := 0; j < k; j += 4 { // columns beyond own are 0
			takePanel(min(chunk, m-r), f.l[r*ld+j:], 1, ld, loc[r*w:], loc[j*w:], w, false)
		}
	}
	for j := (k - 1) &^ 3; j >= 0; j -= 4 {
		top := min(j+4, k)
		takePanel(k-top, f.l[top*ld+j:], 1, ld, loc[top*w:], loc[j*w:], w, false)
		for c := top - 1; c >= j; c-- {
			lc := loc[c*w : c*w+w]
			for r := c + 1; r < top; r++ {
				addTwelve(lc, loc[r*w:], -f.l[r*ld+c])
			}
			for q := range lc {
				lc[q] *= f.inv[c]
			}
		}
	}
}
