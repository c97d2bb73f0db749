package soundboard

import (
	"math"
	"slices"
	"sync"
)

// cell is one square of the grid and what of the plate lies in it.
type cell struct {
	share  float64     // of its area that is wood
	full   bool        // nothing of an edge or patch border in it
	weight [][]float64 // of the plate, then of each patch: weights on the Gauss points, nil where there is none; full cells share
	patch  uint32      // patches that cover it whole, for a full cell
}

// grid is a plate cut into cells, with the numbers of its unknowns.
type grid struct {
	m            *Model
	outline      []vec // anticlockwise
	holes        [][]vec
	patches      [][]vec
	nx, ny       int
	hx, hy       float64
	x0, y0       float64
	cells        []cell
	number       [5][]int32 // unknown of each function of each field, -1 when it is not used
	dofs         int
	plate        *laminate
	doubler      []*laminate // what each patch adds
	curve        float64
	elems        []element
	nextID       uint64
	full         []float64 // the ordinary Gauss weights
	areaOf       float64
	react        [3][]float64 // the rim's forces on the plate, from the unknowns
	stiff, heavy map[uint32][]float64
	strainAt     rowsAt
	motionAt     rowsAt
	ghostForm    [2][5][]float64 // of each axis and field
}

// fields' functions a side beyond the cells.
var more = [5]int{2, 2, 3, 2, 2}

// newGrid lays n cells along the longer side of the outline. The outline stands a little inside the grid, so that a straight
// edge does not fall on a line of the grid, and the grid is symmetric when the outline is.
func newGrid(m *Model, n int) *grid {
	g := &grid{m: m, stiff: map[uint32][]float64{}, heavy: map[uint32][]float64{}}
	for _, p := range m.Outline {
		g.outline = append(g.outline, vec{float64(p.X), float64(p.Y)})
	}
	if area(g.outline) < 0 {
		for i, j := 0, len(g.outline)-1; i < j; i, j = i+1, j-1 {
			g.outline[i], g.outline[j] = g.outline[j], g.outline[i]
		}
	}
	lo, hi := bounds(g.outline)
	size := hi.sub(lo)
	const inset = 0.3 // of a cell, each side
	h := math.Max(size.x, size.y) / (float64(n) - 2*inset)
	g.nx, g.ny = max(3, int(math.Round(size.x/h+2*inset))), max(3, int(math.Round(size.y/h+2*inset)))
	g.hx, g.hy = size.x/(float64(g.nx)-2*inset), size.y/(float64(g.ny)-2*inset)
	g.x0, g.y0 = lo.x-inset*g.hx, lo.y-inset*g.hy
	for _, h := range m.Holes {
		n := max(48, 8*int(math.Ceil(2*math.Pi*float64(h.Radius)/g.hx/2)))
		g.holes = append(g.holes, round(vec{float64(h.Centre.X), float64(h.Centre.Y)}, float64(h.Radius), n))
	}
	h0 := float64(m.Thickness)
	top := newPly(m.Material, m.Grain, -h0/2, h0/2)
	g.plate = newLaminate()
	g.plate.add(top, 1)
	xx, yy, xy := shearBlock(m.Material, m.Grain, h0)
	g.plate.c[6][6], g.plate.c[7][7], g.plate.c[6][7], g.plate.c[7][6] = xx, yy, xy, xy
	for _, p := range m.Patches {
		g.patches = append(g.patches, quad(p.Corners))
		t := float64(p.Thickness)
		l := newLaminate()
		var layers []ply
		if p.Side == Under {
			y := newPly(p.Material, p.Grain, -h0/2-t, -h0/2)
			l.add(y, 1)
			layers = []ply{y, top}
		} else {
			y := newPly(p.Material, p.Grain, h0/2, h0/2+t)
			l.add(y, 1)
			layers = []ply{top, y}
		}
		alone := []ply{top}
		l.c[6][6] = shearStiffness(layers, 0) - shearStiffness(alone, 0)
		l.c[7][7] = shearStiffness(layers, 1) - shearStiffness(alone, 1)
		g.doubler = append(g.doubler, l)
	}
	if m.DomeRadius != 0 {
		g.curve = 1 / float64(m.DomeRadius)
	}
	g.full = make([]float64, points*points)
	for i, a := range gaussW {
		for j, b := range gaussW {
			g.full[i*points+j] = a * b * g.hx * g.hy
		}
	}
	g.fill()
	g.numberUnknowns()
	g.fieldsAtPoints()
	g.assemble()
	return g
}

func (g *grid) at(c int) (x, y float64) {
	return g.x0 + float64(c/g.ny)*g.hx, g.y0 + float64(c%g.ny)*g.hy
}

// find gives the cell a point lies in and its place there.
func (g *grid) find(p vec) (c int, s, t float64) {
	fx, fy := (p.x-g.x0)/g.hx, (p.y-g.y0)/g.hy
	i, j := min(max(int(math.Floor(fx)), 0), g.nx-1), min(max(int(math.Floor(fy)), 0), g.ny-1)
	return i*g.ny + j, fx - float64(i), fy - float64(j)
}

// fill finds what of each cell is wood.
func (g *grid) fill() {
	g.cells = make([]cell, g.nx*g.ny)
	touched := make([]bool, len(g.cells)) // by a border of outline, hole or patch
	trace := func(p []vec) {
		for i, a := range p {
			b := p[(i+1)%len(p)]
			g.walk(a, b, func(c int, _, _ float64) { touched[c] = true })
		}
	}
	trace(g.outline)
	for _, h := range g.holes {
		trace(h)
	}
	for _, p := range g.patches {
		trace(p)
	}
	parallel(g.nx, func(i int) {
		for j := range g.ny {
			c := i*g.ny + j
			x, y := g.at(c)
			ce := &g.cells[c]
			mid := vec{x + g.hx/2, y + g.hy/2}
			if !touched[c] {
				in := within(g.outline, mid)
				for _, h := range g.holes {
					in = in && !within(h, mid)
				}
				if !in {
					continue
				}
				ce.full, ce.share = true, 1
				for k, p := range g.patches {
					if within(p, mid) {
						ce.patch |= 1 << k
					}
				}
				continue
			}
			region := clipBox(g.outline, x, x+g.hx, y, y+g.hy)
			if len(region) == 0 {
				continue
			}
			var holes [][]vec
			for _, h := range g.holes {
				if q := clipBox(h, x, x+g.hx, y, y+g.hy); len(q) > 2 {
					holes = append(holes, q)
				}
			}
			weights := func(within []vec) []float64 {
				m := make([]float64, points*points)
				p := region
				if within != nil {
					p = clipConvex(p, within)
				}
				g.moments(m, p, x, y, 1)
				for _, h := range holes {
					if within != nil {
						h = clipConvex(h, within)
					}
					g.moments(m, h, x, y, -1)
				}
				return m
			}
			m := weights(nil)
			a := m[0] / (g.hx * g.hy)
			if a < 1e-7 {
				continue
			}
			ce.share = a
			ce.weight = append(ce.weight, g.weights(m))
			for _, q := range g.patches {
				m := weights(q)
				if m[0] < 1e-9*g.hx*g.hy {
					ce.weight = append(ce.weight, nil)
					continue
				}
				ce.weight = append(ce.weight, g.weights(m))
			}
		}
	})
	for c := range g.cells {
		g.areaOf += g.cells[c].share * g.hx * g.hy
	}
}

var sideX, sideW = legendreNodes(points)

// moments adds the polygon's integrals of products of Legendre polynomials over the cell at (x, y). By Green's theorem they are integrals
// along its sides, ∮ Q(x) P(y) dy with Q' = P, which the Gauss rule gives exactly.
func (g *grid) moments(m []float64, p []vec, x, y, sign float64) {
	if len(p) < 3 {
		return
	}
	for i, a := range p {
		b := p[(i+1)%len(p)]
		s, t := (a.x-x)/g.hx, (a.y-y)/g.hy
		ds, dt := (b.x-a.x)/g.hx, (b.y-a.y)/g.hy
		if dt == 0 {
			continue
		}
		for k, r := range sideX {
			px, py := legendre(s+r*ds), legendre(t+r*dt)
			// The next polynomial, for the integral of the last.
			z := 2*(s+r*ds) - 1
			const n = points - 1
			next := (float64(2*n+1)*z*px[n] - float64(n)*px[n-1]) / float64(n+1)
			wt := sign * sideW[k] * dt * g.hx * g.hy
			for u := range points {
				q := next
				if u+1 < points {
					q = px[u+1]
				}
				if u > 0 {
					q -= px[u-1]
				}
				f := wt * q / float64(2*(2*u+1))
				dst := m[u*points : u*points+points]
				for v := range dst {
					dst[v] += f * py[v]
				}
			}
		}
	}
}

// legendre gives the Legendre polynomials on 0..1 up to degree points-1.
func legendre(t float64) (p [points]float64) {
	z := 2*t - 1
	p[0], p[1] = 1, z
	for k := 2; k < points; k++ {
		p[k] = (float64(2*k-1)*z*p[k-1] - float64(k-1)*p[k-2]) / float64(k)
	}
	return p
}

var legendreAt = func() (p [points][points]float64) {
	for i, t := range gaussX {
		p[i] = legendre(t)
	}
	return p
}()

// weights turns moments into weights on the cell's Gauss points: a sum with them is exact for polynomials up to degree
// points-1 in each direction, whatever the shape of the wood.
func (g *grid) weights(m []float64) []float64 {
	out := make([]float64, points*points)
	for i := range points {
		for j := range points {
			s := 0.0
			for u := range points {
				for v := range points {
					s += m[u*points+v] * float64(2*u+1) * float64(2*v+1) * legendreAt[i][u] * legendreAt[j][v]
				}
			}
			out[i*points+j] = s * gaussW[i] * gaussW[j]
		}
	}
	return out
}

// walk goes along a segment from cell to cell; do gets the cell and the piece's ends as shares of the segment.
func (g *grid) walk(a, b vec, do func(c int, t0, t1 float64)) {
	cuts := []float64{0}
	lines := func(p, q, o, h float64) {
		if p == q {
			return
		}
		lo, hi := (math.Min(p, q)-o)/h, (math.Max(p, q)-o)/h
		for k := math.Ceil(lo); k <= hi; k++ {
			if t := (o + k*h - p) / (q - p); t > 0 && t < 1 {
				cuts = append(cuts, t)
			}
		}
	}
	lines(a.x, b.x, g.x0, g.hx)
	lines(a.y, b.y, g.y0, g.hy)
	sortFloats(cuts)
	cuts = append(cuts, 1)
	for i := 0; i+1 < len(cuts); i++ {
		if cuts[i+1]-cuts[i] < 1e-12 {
			continue
		}
		c, _, _ := g.find(a.lerp(b, (cuts[i]+cuts[i+1])/2))
		do(c, cuts[i], cuts[i+1])
	}
}

func sortFloats(x []float64) {
	for i := 1; i < len(x); i++ {
		for j := i; j > 0 && x[j] < x[j-1]; j-- {
			x[j], x[j-1] = x[j-1], x[j]
		}
	}
}

// parallel calls do for 0..n-1 on two processors; each call must write its own place only.
func parallel(n int, do func(i int)) {
	var wg sync.WaitGroup
	for w := range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := w; i < n; i += 2 {
				do(i)
			}
		}()
	}
	wg.Wait()
}

func (g *grid) numberUnknowns() {
	next := int32(0)
	for f := range 5 {
		my := g.ny + more[f]
		g.number[f] = make([]int32, (g.nx+more[f])*my)
		for i := range g.number[f] {
			g.number[f][i] = -1
		}
	}
	for i := range g.nx {
		for j := range g.ny {
			if g.cells[i*g.ny+j].share == 0 {
				continue
			}
			for f := range 5 {
				my := g.ny + more[f]
				for a := 0; a <= more[f]; a++ {
					for b := 0; b <= more[f]; b++ {
						if n := &g.number[f][(i+a)*my+j+b]; *n < 0 {
							*n = next
							next++
						}
					}
				}
			}
		}
	}
	g.dofs = int(next)
}

// unknowns lists those of a cell in the order of its functions.
func (g *grid) unknowns(c int) []int32 {
	i, j := c/g.ny, c%g.ny
	out := make([]int32, 0, nCell)
	for f := range 5 {
		my := g.ny + more[f]
		for a := 0; a <= more[f]; a++ {
			for b := 0; b <= more[f]; b++ {
				out = append(out, g.number[f][(i+a)*my+j+b])
			}
		}
	}
	return out
}

func (g *grid) newID() uint64 { g.nextID++; return g.nextID * 0x9E3779B97F4A7C15 }

// fieldsAtPoints works out strains and motions at the Gauss points, which are the same in all cells, and what each lamina makes of them.
func (g *grid) fieldsAtPoints() {
	g.strainAt, g.motionAt = newRowsAt(nStrain, points*points, nCell), newRowsAt(nMotion, points*points, nCell)
	layers := append([]*laminate{g.plate}, g.doubler...)
	for _, l := range layers {
		l.cb, l.mb = g.strainAt.newLines(), g.motionAt.newLines()
	}
	put := func(at int, rows []row, into *rowsAt, of func(*laminate) (lines, [][]float64)) {
		for a := range rows {
			into.put(a, at, rows[a][:])
			for _, l := range layers {
				to, c := of(l)
				var sum row
				for b, x := range c[a] {
					if x != 0 {
						axpyRow(sum[:], rows[b][:], x)
					}
				}
				to.put(into, a, at, sum[:], 1)
			}
		}
	}
	var lo local
	var b [nStrain]row
	var v [nMotion]row
	for i, s := range gaussX {
		for j, t := range gaussX {
			lo.at(s, t, g.hx, g.hy)
			lo.strains(&b, g.curve)
			lo.motions(&v)
			put(i*points+j, b[:], &g.strainAt, func(l *laminate) (lines, [][]float64) { return l.cb, l.c })
			put(i*points+j, v[:], &g.motionAt, func(l *laminate) (lines, [][]float64) { return l.mb, l.m })
		}
	}
}

// form adds a lamina's stiffness and mass with the given weights to lower triangles.
func (g *grid) form(k, m []float64, l *laminate, w []float64, work *lines) {
	g.strainAt.addForm(k, l.cb, w, work)
	g.motionAt.addForm(m, l.mb, w, work)
}

// Strength of the terms that hold the edge and steady the cells it cuts.
const (
	holdFactor  = 20.0
	ghostFactor = 0.02
)

func (g *grid) assemble() {
	work := g.strainAt.newLines()
	// Whole cells with the same patches share one matrix.
	for c := range g.cells {
		ce := &g.cells[c]
		if !ce.full || g.stiff[ce.patch] != nil {
			continue
		}
		k, m := make([]float64, nCell*nCell), make([]float64, nCell*nCell)
		g.form(k, m, g.plate, g.full, &work)
		for p := range g.patches {
			if ce.patch&(1<<p) != 0 {
				g.form(k, m, g.doubler[p], g.full, &work)
			}
		}
		mirror(k, nCell)
		mirror(m, nCell)
		g.stiff[ce.patch], g.heavy[ce.patch] = k, m
	}
	for a := range g.react {
		g.react[a] = make([]float64, g.dofs)
	}
	rim := g.rim()
	pulls := make([]*[3]row, len(g.cells))
	own := make([]element, len(g.cells))
	parallel(2, func(worker int) {
		work := g.strainAt.newLines()
		var pairs rowPairs
		for c := worker; c < len(g.cells); c += 2 {
			ce := &g.cells[c]
			if ce.share == 0 {
				continue
			}
			e := element{cell: c, dofs: g.unknowns(c), apart: ce.patch == 0}
			switch {
			case !ce.full:
				e.k, e.m = zeros(nil, nCell*nCell), zeros(nil, nCell*nCell)
				g.form(e.k, e.m, g.plate, ce.weight[0], &work)
				for p, w := range ce.weight[1:] {
					if w != nil {
						e.apart = false
						g.form(e.k, e.m, g.doubler[p], w, &work)
					}
				}
			case len(rim[c]) > 0:
				e.k, e.m = slices.Clone(g.stiff[ce.patch]), g.heavy[ce.patch] // the others keep the shared one
			default:
				e.k, e.m = g.stiff[ce.patch], g.heavy[ce.patch]
			}
			if len(rim[c]) > 0 {
				pulls[c] = g.holdEdge(e.k, c, rim[c], &pairs)
			}
			if !ce.full {
				mirror(e.m, nCell)
			}
			if !ce.full || len(rim[c]) > 0 {
				mirror(e.k, nCell)
			}
			own[c] = e
		}
	})
	for c := range own {
		if own[c].dofs == nil {
			continue
		}
		if pulls[c] != nil {
			for a := range g.react {
				for i, d := range own[c].dofs {
					g.react[a][d] += pulls[c][a][i]
				}
			}
		}
		own[c].id = g.newID()
		g.elems = append(g.elems, own[c])
	}
	g.ghosts()
}

// section is the stiffness of a cell for the edge terms: the plate and the patches that reach into the cell by most of its wood.
func (g *grid) section(c int) [nStrain][nStrain]float64 {
	var out [nStrain][nStrain]float64
	for a := range nStrain {
		for b := range nStrain {
			out[a][b] = g.plate.c[a][b]
		}
	}
	ce := &g.cells[c]
	for p, l := range g.doubler {
		share := 0.0
		if ce.full {
			if ce.patch&(1<<p) != 0 {
				share = 1
			}
		} else if w := ce.weight[p+1]; w != nil {
			s, t := 0.0, 0.0
			for i := range w {
				s += w[i]
				t += ce.weight[0][i]
			}
			share = s / t
		}
		if share > 0 {
			for a := range nStrain {
				for b := range nStrain {
					out[a][b] += share * l.c[a][b]
				}
			}
		}
	}
	return out
}

// rimPoint is a point of the outline where it is held: n points outward, wt is the length it stands for.
type rimPoint struct {
	at, n vec
	wt    float64
}

// rim gives the points of the outline by the cells that hold them.
func (g *grid) rim() [][]rimPoint {
	out := make([][]rimPoint, len(g.cells))
	for i, a := range g.outline {
		b := g.outline[(i+1)%len(g.outline)]
		d := b.sub(a)
		n := vec{d.y / d.len(), -d.x / d.len()}
		g.walk(a, b, func(c int, t0, t1 float64) {
			if g.cells[c].share == 0 {
				// The wood of this cell is too little to count: its neighbour holds the edge.
				mid := a.lerp(b, (t0+t1)/2).sub(n.scale(1e-3 * math.Min(g.hx, g.hy)))
				if c, _, _ = g.find(mid); g.cells[c].share == 0 {
					return
				}
			}
			for i, t := range edgeX {
				out[c] = append(out[c], rimPoint{a.lerp(b, t0+t*(t1-t0)), n, edgeW[i] * (t1 - t0) * d.len()})
			}
		})
	}
	return out
}

var edgeX, edgeW = legendreNodes(5)

// rowPairs are pairs of rows a, b whose products aᵀb are a part of an element's matrix.
type rowPairs struct {
	n int
	a lines
	b rowsAt
}

// reset makes room for as many pairs.
func (h *rowPairs) reset(most, unknowns int) {
	h.n = 0
	h.b.reset(1, most, unknowns)
	h.a.reset(&h.b)
}

func (h *rowPairs) put(a, b []float64, scale float64) {
	h.a.put(&h.b, 0, h.n, a, -scale)
	h.b.put(0, h.n, b)
	h.n++
}

// addTo adds the products to the lower triangle of k.
func (h *rowPairs) addTo(k []float64) { h.b.addProduct(k, h.a) }

// holdEdge adds Nitsche's terms for a cell's part of the outline to the lower triangle of k: what the plate pulls the rim with, and a stiff
// spring. It gives the rows of the rim's force on the plate.
// Source: Nitsche, Abh. Math. Sem. Univ. Hamburg 36, 1971; Embar, Dolbow & Harari, Int. J. Numer. Meth. Eng. 83, 2010 (from memory).
func (g *grid) holdEdge(k []float64, c int, rim []rimPoint, pairs *rowPairs) *[3]row {
	pull := new([3]row)
	pairs.reset(2*nMotion*len(rim), nCell)
	cx, cy := g.at(c)
	sec := g.section(c)
	var lo local
	for _, p := range rim {
		lo.at((p.at.x-cx)/g.hx, (p.at.y-cy)/g.hy, g.hx, g.hy)
		g.holdPoint(&lo, &sec, p, pairs, pull)
	}
	pairs.addTo(k)
	return pull
}

// holdPoint gives the edge's terms at one point. Held are u, v, w and the turns about both axes, or about one for a simple edge.
func (g *grid) holdPoint(lo *local, sec *[nStrain][nStrain]float64, p rimPoint, pairs *rowPairs, pull *[3]row) {
	n, wt := p.n, p.wt
	var b [nStrain]row
	var v [nMotion]row
	lo.strains(&b, g.curve)
	lo.motions(&v)
	// Stress resultants as rows of the unknowns.
	var s [nStrain]row
	for a := range nStrain {
		for c := range nStrain {
			if x := sec[a][c]; x != 0 {
				for i := range s[a] {
					s[a][i] += x * b[c][i]
				}
			}
		}
	}
	// Traction conjugate to each motion, and the stiffness it sees along the normal.
	var t [nMotion]row
	for i := range t[0] {
		t[0][i] = n.x*s[0][i] + n.y*s[2][i]
		t[1][i] = n.x*s[2][i] + n.y*s[1][i]
		t[2][i] = n.x*s[6][i] + n.y*s[7][i]
		t[3][i] = n.x*s[3][i] + n.y*s[5][i]
		t[4][i] = n.x*s[5][i] + n.y*s[4][i]
	}
	block := func(o int) (xx, xy, yy float64) {
		c := func(i, j int) float64 { return sec[o+i][o+j] }
		xx = n.x*n.x*c(0, 0) + 2*n.x*n.y*c(0, 2) + n.y*n.y*c(2, 2)
		xy = n.x*n.x*c(0, 2) + n.x*n.y*(c(0, 1)+c(2, 2)) + n.y*n.y*c(1, 2)
		yy = n.x*n.x*c(2, 2) + 2*n.x*n.y*c(1, 2) + n.y*n.y*c(1, 1)
		return
	}
	f := holdFactor / math.Min(g.hx, g.hy)
	// rᵀ(pen r + mixed q - t) - tᵀr
	hold := func(r, t *row, pen float64, q *row, mixed float64) {
		var x row
		for i := range r {
			x[i] = pen*r[i] + mixed*q[i] - t[i]
		}
		pairs.put(r[:], x[:], wt)
		pairs.put(t[:], r[:], -wt)
	}
	xx, xy, yy := block(0)
	hold(&v[0], &t[0], f*xx, &v[1], f*xy)
	hold(&v[1], &t[1], f*yy, &v[0], f*xy)
	pw := f * (n.x*n.x*sec[6][6] + 2*n.x*n.y*sec[6][7] + n.y*n.y*sec[7][7])
	hold(&v[2], &t[2], pw, &v[2], 0)
	for i := range pull[0] {
		pull[0][i] += wt * (t[0][i] - f*(xx*v[0][i]+xy*v[1][i]))
		pull[1][i] += wt * (t[1][i] - f*(xy*v[0][i]+yy*v[1][i]))
		pull[2][i] += wt * (t[2][i] - pw*v[2][i])
	}
	xx, xy, yy = block(3)
	if g.m.Edge == Clamped {
		hold(&v[3], &t[3], f*xx, &v[4], f*xy)
		hold(&v[4], &t[4], f*yy, &v[3], f*xy)
		return
	}
	// Only the turn along the edge is held: φ·τ with τ along it.
	var along, moment, across row
	for i := range along {
		along[i] = -n.y*v[3][i] + n.x*v[4][i]
		moment[i] = -n.y*t[3][i] + n.x*t[4][i]
		across[i] = n.x*v[3][i] + n.y*v[4][i]
	}
	hold(&along, &moment, f*(n.y*n.y*xx-2*n.x*n.y*xy+n.x*n.x*yy), &along, 0)
	if g.m.Edge == Elastic && g.m.RimStiffness > 0 {
		pairs.put(across[:], across[:], wt*g.m.RimStiffness)
	}
}

// ghosts ties each cut cell to its neighbours by the jump of the highest derivative, so that a sliver of wood cannot leave a
// function without stiffness. Source: Burman, C. R. Acad. Sci. Paris 348, 2010 (from memory).
func (g *grid) ghosts() {
	g.ghostForms()
	for i := range g.nx {
		for j := range g.ny {
			c := i*g.ny + j
			if g.cells[c].share == 0 {
				continue
			}
			for axis, o := range []int{g.ny, 1} {
				if axis == 0 && i+1 == g.nx || axis == 1 && j+1 == g.ny {
					continue
				}
				d := c + o
				if g.cells[d].share == 0 || g.cells[c].share > 0.999 && g.cells[d].share > 0.999 {
					continue
				}
				g.ghost(c, axis)
			}
		}
	}
}

// ghost ties the fields of cell c to those of the next cell along an axis.
func (g *grid) ghost(c, axis int) {
	ci, cj := c/g.ny, c%g.ny
	for f, k := range g.ghostForm[axis] {
		my := g.ny + more[f]
		e := element{cell: c, k: k, id: g.newID()}
		for a := range more[f] + 2 {
			for b := range more[f] + 1 {
				if axis == 0 {
					e.dofs = append(e.dofs, g.number[f][(ci+a)*my+cj+b])
				} else {
					e.dofs = append(e.dofs, g.number[f][(ci+b)*my+cj+a])
				}
			}
		}
		g.elems = append(g.elems, e)
	}
}

// ghostForms works out the ties of each field, which are the same between all cells: the square of the jump of the third derivative of the
// cubics and of the second of the quadratics, along the cells' common side.
func (g *grid) ghostForms() {
	sec := g.plate.c
	for axis := range 2 {
		h, across, s, t := g.hx, g.hy, 0, 1
		if axis == 1 {
			h, across, s, t = g.hy, g.hx, 1, 0
		}
		h3, h5 := h*h*h, h*h*h*h*h
		// Strength: of stretch or bending along the axis for the field's own direction, else of in-plane shear or twist.
		scale := [5]float64{2: sec[3+s][3+s] * h3}
		scale[s], scale[t] = sec[s][s]*h3, sec[2][2]*h3
		scale[3+s], scale[3+t] = sec[3+s][3+s]*h3+sec[6+s][6+s]*h5, sec[5][5]*h3+sec[6+t][6+t]*h5
		for f := range g.ghostForm[axis] {
			jump, high := []float64{1, -3, 3, -1}, h*h
			if f == 2 {
				jump, high = []float64{-1, 4, -6, 4, -1}, h3
			}
			nb := more[f] + 1
			nd := len(jump) * nb
			k := make([]float64, nd*nd)
			for q, at := range edgeX {
				cubics, _, _ := cubic(at)
				quads, _, _ := quadratic(at)
				along := quads[:]
				if f == 2 {
					along = cubics[:]
				}
				var r []float64
				for _, x := range jump {
					for _, y := range along {
						r = append(r, x*y/high)
					}
				}
				w := ghostFactor * scale[f] * edgeW[q] * across
				for x, rx := range r {
					for y, ry := range r {
						k[x*nd+y] += w * rx * ry
					}
				}
			}
			g.ghostForm[axis][f] = k
		}
	}
}
