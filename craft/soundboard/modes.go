package soundboard

import (
	"context"
	"math"
	"slices"

	"fairset/unit"
)

// massTimes gives M x for a panel, half of the elements on each of two processors.
func (p *level) massTimes(x []float64) []float64 {
	y := zeros(nil, len(x))
	p.other = zeros(p.other, len(x))
	other := p.other
	half := len(p.elems) / 2
	parallel(2, func(w int) {
		elems, y := p.elems[:half], y
		if w == 1 {
			elems, y = p.elems[half:], other
		}
		var in, out []float64
		for i := range elems {
			e := &elems[i]
			if e.m == nil {
				continue
			}
			nd := len(e.dofs)
			if len(in) < nd*panel {
				in, out = make([]float64, nd*panel), make([]float64, nd*panel)
			}
			for a, d := range e.dofs {
				copy(in[a*panel:a*panel+panel], x[int(d)*panel:])
			}
			clear(out)
			a := 0
			for ; a+4 <= nd; a += 4 {
				from, to := 0, nd
				switch {
				case e.apart && a+4 <= offW:
					to = offW
				case e.apart && a >= offW:
					from = offW
				}
				takePanel(to-from, e.m[a*nd+from:], nd, 1, in[from*panel:], out[a*panel:], panel, false)
			}
			for ; a < nd; a++ {
				for b, v := range e.m[a*nd : a*nd+nd] {
					addTwelve(out[a*panel:], in[b*panel:], -v)
				}
			}
			for a, d := range e.dofs {
				addTwelve(y[int(d)*panel:], out[a*panel:], -1)
			}
		}
	})
	axpyRow(y, other, 1)
	if p.foot != nil && p.m.Bridge.Mass > 0 {
		// A stiff block: its mass moves with the footprint's mean and turns with it.
		m := float64(p.m.Bridge.Mass)
		i := m * float64(p.m.Bridge.Length*p.m.Bridge.Length) / 12
		for c := range panel {
			var a, b float64
			for k, v := range p.foot.mean {
				a += v * x[k*panel+c]
				b += p.foot.turn[k] * x[k*panel+c]
			}
			for k, v := range p.foot.mean {
				y[k*panel+c] += m*a*v + i*b*p.foot.turn[k]
			}
		}
	}
	return y
}

// settled is how far K⁻¹M may throw a mode off itself, squared, as a share of its value. The value is off by as much again where the modes
// still left out lie far below, and the last step takes off most of that: frequencies are within some 1e-6.
// Source: Parlett, The Symmetric Eigenvalue Problem, ch. 11 (from memory).
const settled = 2e-6

// modes finds the lowest natural vibrations by block Lanczos steps on K⁻¹M from the panel v, with every vector kept orthogonal to all
// before it. Source: Grimes, Lewis & Simon, SIAM J. Matrix Anal. Appl. 15, 1994 (from memory).
//
// It gives 1/ω² of each, largest first, and keeps a panel of the vectors for the next call to start from.
func (p *level) modes(ctx context.Context, want int, v []float64) (*krylov, error) {
	mv := p.massTimes(v)
	if !orthonormal(v, mv) {
		return nil, tooFarApart()
	}
	var k krylov
	for step := 0; step < 30+want; step++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		q := slices.Clone(mv)
		p.fa.solve(q, panel)
		k.add(v, mv, q)
		mv = p.massTimes(q)
		k.judge(q, mv)
		if k.off(want) <= settled || !orthonormal(q, mv) {
			break
		}
		v = q
	}
	if k.off(want) > 1e-2 {
		return nil, tooFarApart()
	}
	k.improve(want)
	p.basis = zeros(nil, len(v))
	for first := 0; first < want; first += panel {
		axpyRow(p.basis, k.panelOf(first), 1)
	}
	return &k, nil
}

// shapes makes modes of the values and vectors.
func (p *level) shapes(k *krylov, want int) []Mode {
	var out []Mode
	for first := 0; k != nil && first < want; first += panel {
		x := k.panelOf(first)
		for i := first; i < min(first+panel, want, len(k.values)); i++ {
			own := make([]float64, p.n)
			for r := range own {
				own[r] = x[r*panel+i-first]
			}
			out = append(out, p.mode(own, k.values[i]))
		}
	}
	return out
}

// krylov is what is known of A = K⁻¹M from the panels it was tried on.
type krylov struct {
	v, mv   [][]float64 // panels M-orthonormal; their M images
	h       [][]float64 // vᵀ M A v
	q       []float64   // what A makes of the last panel, less what of it lies in all panels
	left    []float64   // qᵀ M q
	values  []float64   // of A, largest first
	vectors [][]float64 // by v, and from improve on by q too
}

// add takes in a panel v, its image and q = A v; of q is left what is orthogonal to all panels.
func (k *krylov) add(v, mv, q []float64) {
	k.v, k.mv = append(k.v, v), append(k.mv, mv)
	last := len(k.h)
	for i := range k.h {
		k.h[i] = append(k.h[i], make([]float64, panel)...)
	}
	for range panel {
		k.h = append(k.h, make([]float64, last+panel))
	}
	for round := range 2 { // the second against rounding
		for b := range k.v {
			d := inner(k.mv[b], q)
			combine(q, k.v[b], d)
			if round > 0 {
				continue
			}
			for i, x := range d {
				at, by := b*panel+i/panel, last+i%panel
				k.h[at][by], k.h[by][at] = x, x
			}
		}
	}
}

// judge finds the values in the panels; mq is q's M image.
func (k *krylov) judge(q, mq []float64) {
	k.q, k.left = q, inner(q, mq)
	k.values, k.vectors = jacobi(k.h)
}

// rest is the product of what A throws two vectors off by, out of the panels.
func (k *krylov) rest(i, j int) float64 {
	last := len(k.h) - panel
	sum := 0.0
	for a, x := range k.vectors[i][last:] {
		for b, y := range k.vectors[j][last:] {
			sum += x * y * k.left[a*panel+b]
		}
	}
	return sum
}

// off is how far the worst of the lowest modes is from settled.
func (k *krylov) off(want int) float64 {
	worst := 0.0
	for i := range min(want, len(k.values)) {
		if !(k.values[i] > 0) {
			return math.Inf(1)
		}
		worst = math.Max(worst, k.rest(i, i)/(k.values[i]*k.values[i]))
	}
	if len(k.values) < want {
		return math.Inf(1)
	}
	return worst
}

// improve takes K's and M's own quotients over what A makes of the vectors found, which costs no further solution: for vectors y of values θ,
// (A y)ᵀ K (A y) = θ and (A y)ᵀ M (A y) = θ² + rest. So 1/ω² is a value of θ + rest/√(θ θ').
func (k *krylov) improve(want int) {
	n := 0
	for n < min(want+panel, len(k.values)) && k.values[n] > 0 {
		n++
	}
	g := make([][]float64, n)
	for i := range g {
		g[i] = make([]float64, n)
		for j := range i {
			g[i][j] = k.rest(i, j) / math.Sqrt(k.values[i]*k.values[j])
			g[j][i] = g[i][j]
		}
		g[i][i] = k.values[i] + k.rest(i, i)/k.values[i]
	}
	size := len(k.h)
	values, mixes := jacobi(g)
	vectors := make([][]float64, n)
	for m, mix := range mixes {
		vectors[m] = make([]float64, size+panel)
		for i, u := range mix {
			root := math.Sqrt(k.values[i])
			scale := u / math.Sqrt(values[m])
			axpyRow(vectors[m][:size], k.vectors[i], scale*root)
			axpyRow(vectors[m][size:], k.vectors[i][size-panel:], scale/root)
		}
	}
	k.values, k.vectors = values, vectors
}

// panelOf gives twelve vectors, of mass 1, from first on; 0 where there are no more.
func (k *krylov) panelOf(first int) []float64 {
	x := zeros(nil, len(k.q))
	s := make([]float64, panel*panel)
	for b, v := range append(k.v[:len(k.v):len(k.v)], k.q) {
		clear(s)
		for c := range min(panel, len(k.vectors)-first) {
			for a := range panel {
				s[a*panel+c] = -k.vectors[first+c][b*panel+a]
			}
		}
		combine(x, v, s)
	}
	return x
}

// mode tells a vibration by its shape, of mass 1, and by 1/ω².
func (p *level) mode(x []float64, value float64) Mode {
	f := Field{p.g, x, 1}
	top, _ := f.extreme(1, 1, func(vec) bool { return true })
	low, _ := f.extreme(-1, 1, func(vec) bool { return true })
	peak := top
	if -low > top*(1+1e-9) {
		peak = low
	}
	f.scale = 1 / peak
	swept := dot(p.sweep, x)
	return Mode{Frequency: frequency(value), Shape: f, Mass: unit.Mass(1 / (peak * peak)), Swept: swept / peak}
}

// frequency is that of 1/ω².
func frequency(value float64) unit.Frequency {
	return unit.Frequency(1 / math.Sqrt(value) / (2 * math.Pi))
}

// rowsOf is n with room for rows to be read four at a time.
func rowsOf(n int) int { return (n + 3) &^ 3 }

// start gives a panel to begin with: the modes of last time, a coarser grid's, or waves that fill the outline's box; and a little of
// everything, so that no mode is missed.
func (p *level) start(coarse *level) []float64 {
	v := zeros(nil, rowsOf(p.n)*panel)
	switch {
	case p.basis != nil:
		copy(v, p.basis)
	case coarse != nil:
		p.refine(v, coarse)
	default:
		const along = 4
		rows := p.g.ny + more[2]
		for i, d := range p.g.number[2] {
			if d < 0 {
				continue
			}
			x, y := math.Pi*float64(i/rows)/float64(p.g.nx+more[2]), math.Pi*float64(i%rows)/float64(rows)
			for c := range panel {
				v[int(d)*panel+c] = math.Sin(float64(1+c%along)*x) * math.Sin(float64(1+c/along)*y)
			}
		}
	}
	state := uint64(88172645463325252)
	for i := range p.g.dofs * panel { // a brace's own turns must not start rough, and some do not exist
		state ^= state << 13
		state ^= state >> 7
		state ^= state << 17
		v[i] += 1e-3 * (float64(state>>11)/(1<<53) - 0.5)
	}
	return v
}

// refine fills v with a coarser grid's last modes.
func (p *level) refine(v []float64, coarse *level) {
	g, c := p.g, coarse.g
	for f := range 5 {
		my, cy := g.ny+more[f], c.ny+more[f]
		xs, ys := refined(more[f], g.nx, g.x0, g.hx, c.nx, c.x0, c.hx), refined(more[f], g.ny, g.y0, g.hy, c.ny, c.y0, c.hy)
		parallel(len(xs), func(i int) {
			for j := range ys {
				d := int(g.number[f][i*my+j])
				if d < 0 {
					continue
				}
				sum, dst := 0.0, v[d*panel:d*panel+panel]
				for _, a := range xs[i] {
					for _, b := range ys[j] {
						if o := int(c.number[f][a.at*cy+b.at]); o >= 0 {
							s := a.share * b.share
							sum += s
							addTwelve(dst, coarse.basis[o*panel:], s)
						}
					}
				}
				// Beyond the edge of the wood some of the shares are missing.
				for k := range dst {
					dst[k] /= math.Max(sum, 0.3)
				}
			}
		})
	}
	for i := range p.beams {
		m, o := &p.beams[i], &coarse.beams[i]
		for k, parts := range refined(2, m.intervals, 0, m.length/float64(m.intervals), o.intervals, 0, o.length/float64(o.intervals)) {
			d := int(m.first) + k
			for _, a := range parts {
				at := (int(o.first) + a.at) * panel
				axpyRow(v[d*panel:d*panel+panel], coarse.basis[at:at+panel], a.share)
			}
		}
	}
}

// part is how much of a coarse spline's coefficient goes into a fine one's.
type part struct {
	at    int
	share float64
}

// refined gives the parts of each of the fine splines of degree 2 or 3 over n cells of width h from x0, from those over m cells of width l
// from o. Source: the quasi-interpolant of three values, exact for polynomials of the degree (Lyche & Schumaker, J. Approx. Theory 15, 1975;
// from memory).
func refined(degree, n int, x0, h float64, m int, o, l float64) [][]part {
	aside := -1.0 / 8
	if degree == 3 {
		aside = -1.0 / 6
	}
	out := make([][]part, n+degree)
	sum := make([]float64, m+degree)
	for i := range out {
		clear(sum)
		for k, share := range [3]float64{aside, 1 - 2*aside, aside} {
			at := (x0 + (float64(i)-float64(degree-1)/2+float64(k-1))*h - o) / l
			at = min(max(at, 0), float64(m))
			c := min(int(at), m-1)
			if degree == 3 {
				f, _, _ := cubic(at - float64(c))
				for q, v := range f {
					sum[c+q] += share * v
				}
			} else {
				f, _, _ := quadratic(at - float64(c))
				for q, v := range f {
					sum[c+q] += share * v
				}
			}
		}
		for c, v := range sum {
			if v != 0 {
				out[i] = append(out[i], part{c, v})
			}
		}
	}
	return out
}

// inner is aᵀb of two panels.
func inner(a, b []float64) []float64 {
	d := make([]float64, panel*panel)
	for i := 0; i < panel; i += 4 {
		takePanel(len(a)/panel, a[i:], 1, panel, b, d[i*panel:], panel, false)
	}
	for i := range d {
		d[i] = -d[i]
	}
	return d
}

// combine takes v d from y.
func combine(y, v, d []float64) {
	for i := 0; i < len(y); i += 4 * panel {
		takePanel(panel, v[i:], panel, 1, d, y[i:], panel, false)
	}
}

// orthonormal makes a panel orthonormal in the mass, twice against rounding; mv is its image and follows. It fails where the columns depend
// on each other.
func orthonormal(v, mv []float64) bool {
	for range 2 {
		var inv [panel]float64
		var x [panel * panel]float64
		d := inner(v, mv)
		was := slices.Clone(d)
		if !triangle(d, panel, inv[:], x[:]) {
			return false
		}
		for i := range panel {
			if d[i*panel+i]*d[i*panel+i] < 1e-14*was[i*panel+i] {
				return false
			}
		}
		for _, y := range [][]float64{v, mv} {
			for i := 0; i < len(y); i += 4 * panel {
				takePanel(panel, y[i:], panel, 1, x[:], y[i:], panel, true)
			}
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
