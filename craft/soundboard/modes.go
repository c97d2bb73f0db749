package soundboard

import (
	"context"
	"math"
	"slices"

	"fairset/unit"
)

// sparse is a symmetric matrix by rows.
type sparse struct {
	from []int
	col  []int32
	val  []float64
}

// newSparse sums the elements' masses.
func newSparse(n int, elems []element) sparse {
	first, next := make([]int32, n), []int32{}
	for i := range first {
		first[i] = -1
	}
	type use struct{ e, at int32 }
	var uses []use
	for e := range elems {
		if elems[e].m == nil {
			continue
		}
		for a, d := range elems[e].dofs {
			uses = append(uses, use{int32(e), int32(a)})
			next = append(next, first[d])
			first[d] = int32(len(uses) - 1)
		}
	}
	s := sparse{from: make([]int, n+1)}
	sum, seen := make([]float64, n), make([]bool, n)
	var cols []int32
	for d := range n {
		cols = cols[:0]
		for u := first[d]; u >= 0; u = next[u] {
			e := &elems[uses[u].e]
			nd := len(e.dofs)
			r := e.m[int(uses[u].at)*nd : int(uses[u].at+1)*nd]
			for b, c := range e.dofs {
				if r[b] == 0 {
					continue
				}
				if !seen[c] {
					seen[c] = true
					cols = append(cols, c)
				}
				sum[c] += r[b]
			}
		}
		slices.Sort(cols)
		for _, c := range cols {
			s.col = append(s.col, c)
			s.val = append(s.val, sum[c])
			sum[c], seen[c] = 0, false
		}
		s.from[d+1] = len(s.col)
	}
	return s
}

// massTimes gives M x for width columns.
func (p *level) massTimes(x []float64, width int) []float64 {
	y := make([]float64, len(x))
	s := &p.mass
	const strip = 512
	n := len(s.from) - 1
	parallel((n+strip-1)/strip, func(b int) {
		for i := b * strip; i < min(n, (b+1)*strip); i++ {
			dst := y[i*width : i*width+width]
			if width == 4 {
				var s0, s1, s2, s3 float64
				for k := s.from[i]; k < s.from[i+1]; k++ {
					v, q := s.val[k], x[int(s.col[k])*4:int(s.col[k])*4+4:int(s.col[k])*4+4]
					s0 += v * q[0]
					s1 += v * q[1]
					s2 += v * q[2]
					s3 += v * q[3]
				}
				dst[0], dst[1], dst[2], dst[3] = s0, s1, s2, s3
				continue
			}
			for k := s.from[i]; k < s.from[i+1]; k++ {
				axpyRow(dst, x[int(s.col[k])*width:int(s.col[k])*width+width], s.val[k])
			}
		}
	})
	for _, els := range p.beamEl {
		for i := range els {
			e := &els[i]
			nd := len(e.dofs)
			for a, d := range e.dofs {
				dst := y[int(d)*width : int(d)*width+width]
				for b, v := range e.m[a*nd : a*nd+nd] {
					if v != 0 {
						axpyRow(dst, x[int(e.dofs[b])*width:int(e.dofs[b])*width+width], v)
					}
				}
			}
		}
	}
	if p.foot != nil && p.m.Bridge.Mass > 0 {
		// A stiff block: its mass moves with the footprint's mean and turns with it.
		m := float64(p.m.Bridge.Mass)
		i := m * float64(p.m.Bridge.Length*p.m.Bridge.Length) / 12
		for c := range width {
			var a, b float64
			for k, v := range p.foot.mean {
				a += v * x[k*width+c]
				b += p.foot.turn[k] * x[k*width+c]
			}
			for k, v := range p.foot.mean {
				y[k*width+c] += m*a*v + i*b*p.foot.turn[k]
			}
		}
	}
	return y
}

const blockWidth = 4

// modes finds the lowest natural vibrations by block Lanczos steps on K⁻¹M, with every vector kept orthogonal to all before it.
// Source: Grimes, Lewis & Simon, SIAM J. Matrix Anal. Appl. 15, 1994 (from memory).
func (p *level) modes(ctx context.Context, want int) ([]Mode, error) {
	n, w := p.n, blockWidth
	v := p.start(w)
	var vs, ws [][]float64 // blocks M-orthonormal; their M images
	var h [][]float64      // Rayleigh quotient of K⁻¹M
	mv := p.massTimes(v, w)
	if !orthonormal(v, mv, w, nil) {
		return nil, tooFarApart()
	}
	var values, old []float64
	var vectors [][]float64
	steps := (want + w - 1) / w
	for step := 0; step < 4*steps+30; step++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		vs, ws = append(vs, v), append(ws, mv)
		q := append([]float64(nil), mv...)
		p.fa.solve(q, w)
		size := len(vs) * w
		for i := range h {
			for len(h[i]) < size {
				h[i] = append(h[i], 0)
			}
		}
		for len(h) < size {
			h = append(h, make([]float64, size))
		}
		for b, mb := range ws {
			d := blockDot(mb, q, w)
			for i := range w {
				for j := range w {
					h[b*w+i][size-w+j], h[size-w+j][b*w+i] = d[i*w+j], d[i*w+j]
				}
			}
		}
		if size >= want+w {
			values, vectors = jacobi(h)
			done := len(old) > 0
			for i := 0; done && i < want; i++ {
				done = math.Abs(values[i]-old[i]) < 1e-9*values[i]
			}
			if done {
				break
			}
			old = values
		}
		for range 2 {
			for b := range vs {
				d := blockDot(ws[b], q, w)
				blockTake(q, vs[b], d, w)
			}
		}
		mv = p.massTimes(q, w)
		if !orthonormal(q, mv, w, p.massTimes) {
			break
		}
		v = q
	}
	if len(values) == 0 {
		values, vectors = jacobi(h)
	}
	var out []Mode
	p.basis = make([]float64, n*w)
	for k := range min(want, len(values)) {
		if values[k] <= 0 {
			break
		}
		x := make([]float64, n)
		for b := range vs {
			for i := range w {
				c := vectors[k][b*w+i]
				if c == 0 {
					continue
				}
				for r := range n {
					x[r] += c * vs[b][r*w+i]
				}
			}
		}
		for r := range n {
			p.basis[r*w+k%w] += x[r]
		}
		f := Field{p.g, x, 1}
		top, _ := f.extreme(1, 1, func(vec) bool { return true })
		low, _ := f.extreme(-1, 1, func(vec) bool { return true })
		peak := top
		if -low > top*(1+1e-9) {
			peak = low
		}
		f.scale = 1 / peak
		swept := 0.0
		for i, v := range p.sweep {
			swept += v * x[i]
		}
		out = append(out, Mode{Frequency: unit.Frequency(1 / math.Sqrt(values[k]) / (2 * math.Pi)), Shape: f, Mass: unit.Mass(1 / (peak * peak)), Swept: swept / peak})
	}
	p.width = w
	return out, nil
}

// start gives the first block: last time's modes mixed, or smooth and rough shapes that no mode is blind to.
func (p *level) start(w int) []float64 {
	v := make([]float64, p.n*w)
	if p.width == w && len(p.basis) >= p.g.dofs*w {
		copy(v, p.basis[:min(len(p.basis), len(v))])
	}
	state := uint64(88172645463325252)
	for i := range v {
		state ^= state << 13
		state ^= state >> 7
		state ^= state << 17
		r := float64(state>>11)/(1<<53) - 0.5
		if len(p.basis) > 0 {
			r *= 1e-3
		}
		v[i] += r
	}
	for d := p.g.dofs; d < p.n; d++ { // a brace's own turns must not start rough, and some do not exist
		for c := range w {
			v[d*w+c] = 0
		}
	}
	m := p.massTimes(v, w)
	p.fa.solve(m, w)
	return m
}

// blockDot is aᵀb of two blocks.
func blockDot(a, b []float64, w int) []float64 {
	d := make([]float64, w*w)
	if w == 4 {
		var s [16]float64
		for i := 0; i+4 <= len(a); i += 4 {
			x, y := a[i:i+4:i+4], b[i:i+4:i+4]
			y0, y1, y2, y3 := y[0], y[1], y[2], y[3]
			for q, v := range x {
				s[q*4] += v * y0
				s[q*4+1] += v * y1
				s[q*4+2] += v * y2
				s[q*4+3] += v * y3
			}
		}
		copy(d, s[:])
		return d
	}
	for i := 0; i+w <= len(a); i += w {
		for q := range w {
			for r := range w {
				d[q*w+r] += a[i+q] * b[i+r]
			}
		}
	}
	return d
}

// blockTake takes v d from q.
func blockTake(q, v, d []float64, w int) {
	for i := 0; i+w <= len(q); i += w {
		for a := range w {
			x := v[i+a]
			for b := range w {
				q[i+b] -= x * d[a*w+b]
			}
		}
	}
}

// orthonormal makes a block orthonormal in the mass; mv is its image and follows. times is used once more against rounding.
func orthonormal(v, mv []float64, w int, times func([]float64, int) []float64) bool {
	for round := range 2 {
		d := blockDot(v, mv, w)
		l := make([]float64, w*w)
		for j := range w {
			s := d[j*w+j]
			for k := range j {
				s -= l[j*w+k] * l[j*w+k]
			}
			if !(s > 1e-24*d[j*w+j]) || d[j*w+j] <= 0 {
				return false
			}
			l[j*w+j] = math.Sqrt(s)
			for i := j + 1; i < w; i++ {
				s := d[i*w+j]
				for k := range j {
					s -= l[i*w+k] * l[j*w+k]
				}
				l[i*w+j] = s / l[j*w+j]
			}
		}
		for _, x := range [][]float64{v, mv} {
			for i := 0; i+w <= len(x); i += w {
				for j := range w {
					s := x[i+j]
					for k := range j {
						s -= x[i+k] * l[j*w+k]
					}
					x[i+j] = s / l[j*w+j]
				}
			}
		}
		if round == 0 && times != nil {
			copy(mv, times(v, w))
		}
	}
	return true
}

// jacobi gives the eigenvalues of a symmetric matrix, largest first, and their vectors.
func jacobi(h [][]float64) ([]float64, [][]float64) {
	n := len(h)
	a, v := make([][]float64, n), make([][]float64, n)
	for i := range h {
		a[i] = append([]float64(nil), h[i]...)
		v[i] = make([]float64, n) // row i is vector i
		v[i][i] = 1
	}
	for range 40 {
		off, all := 0.0, 0.0
		for i := range n {
			for j := range n {
				if i != j {
					off += a[i][j] * a[i][j]
				}
				all += a[i][j] * a[i][j]
			}
		}
		if off <= 1e-28*all {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				if math.Abs(a[p][q]) <= 1e-17*math.Sqrt(math.Abs(a[p][p]*a[q][q])) {
					continue
				}
				th := (a[q][q] - a[p][p]) / (2 * a[p][q])
				t := 1 / (math.Abs(th) + math.Sqrt(th*th+1))
				if th < 0 {
					t = -t
				}
				c := 1 / math.Sqrt(t*t+1)
				s := t * c
				ap, aq := a[p], a[q]
				for k := range n {
					x, y := ap[k], aq[k]
					ap[k], aq[k] = c*x-s*y, s*x+c*y
				}
				for k := range n {
					x, y := a[k][p], a[k][q]
					a[k][p], a[k][q] = c*x-s*y, s*x+c*y
				}
				vp, vq := v[p], v[q]
				for k := range n {
					x, y := vp[k], vq[k]
					vp[k], vq[k] = c*x-s*y, s*x+c*y
				}
			}
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int {
		switch {
		case a[x][x] > a[y][y]:
			return -1
		case a[x][x] < a[y][y]:
			return 1
		}
		return 0
	})
	values, vectors := make([]float64, n), make([][]float64, n)
	for i, o := range order {
		values[i], vectors[i] = a[o][o], v[o]
	}
	return values, vectors
}
