package soundboard

import (
	"math"
	"sort"
)

// A brace is a beam that shears (Timoshenko): its section turns by an angle ψ of its own, a quadratic spline along it, while its
// glued face goes with the plate's underside. Along the brace s and down from the glue line ζ = z + h/2 <= 0,
//
//	strain       ∂s(u_s - h/2 φ_s) + ζ ψ'
//	shear strain ψ + ∂s w, with factor 5/6 on the section
//	twist        ∂s ∂t w, times the torsion stiffness of an orthotropic rectangle (Saint-Venant)

// height is the brace's height at a share t of its length.
func (b *Brace) height(t float64) float64 {
	h := b.Heights
	if len(h) == 1 {
		return float64(h[0].Height)
	}
	k := sort.Search(len(h), func(i int) bool { return h[i].At >= t })
	k = min(max(k, 1), len(h)-1)
	a, z := h[k-1], h[k]
	f := (t - a.At) / (z.At - a.At)
	return float64(a.Height) + f*float64(z.Height-a.Height)
}

// twistStiffness is Saint-Venant's for a rectangle b wide and h high whose two shear moduli differ: the rectangle is stretched
// until they agree. Source: Lekhnitskii, Theory of Elasticity of an Anisotropic Body; Roark's formula for the rectangle (from memory).
func twistStiffness(b, h, g12, g13 float64) float64 {
	p, q := b*math.Sqrt(g13), h*math.Sqrt(g12)
	long, short := math.Max(p, q), math.Min(p, q)
	r := short / long
	return long * short * short * short / 3 * (1 - 0.63*r*(1-r*r*r*r/12)) / math.Sqrt(g12*g13)
}

// beam is a brace on a grid.
type beam struct {
	b         *Brace
	from, to  vec
	length    float64
	intervals int // of its own spline
	first     int32
}

func (g *grid) beam(b *Brace, first int32) beam {
	m := beam{b: b, from: vec{float64(b.From.X), float64(b.From.Y)}, to: vec{float64(b.To.X), float64(b.To.Y)}, first: first}
	m.length = m.to.sub(m.from).len()
	m.intervals = max(2, int(math.Round(m.length/math.Sqrt(g.hx*g.hy))))
	return m
}

// mostTurns is a bound on the unknowns of one brace's own spline.
func (g *grid) mostTurns() int {
	return int(math.Hypot(float64(g.nx)*g.hx, float64(g.ny)*g.hy)/math.Sqrt(g.hx*g.hy)) + 6
}

// station is what a brace's section does at one point, as rows of a cell's unknowns and of three spline functions.
type station struct {
	s        float64 // share of the length
	height   float64
	stretch  row    // strain at the glue line
	slope    row    // ∂s w
	twist    row    // ∂s of the tip
	side     row    // strain across, at the middle surface
	sideTurn row    // curvature across
	move     [3]row // along, across at the glue line; w
	tip      row    // ∂t w
	psi, dps [3]float64
	k        int // first function of the spline
	wt       float64
}

// stations goes along the brace; do gets each point's cell.
func (g *grid) stations(m *beam, gauss, across int, do func(c int, st *station)) {
	dir := m.to.sub(m.from).scale(1 / m.length)
	x, w := legendreNodes(across)
	for i := range x {
		off := vec{-dir.y, dir.x}.scale(float64(m.b.Width) * (x[i] - 0.5))
		g.stationsAlong(m, dir, m.from.add(off), m.to.add(off), gauss, w[i], do)
	}
}

// stationsAlong goes along one line of the glued face, which stands for a share of its width.
func (g *grid) stationsAlong(m *beam, dir, from, to vec, gauss int, share float64, do func(c int, st *station)) {
	gx, gw := legendreNodes(gauss)
	half := float64(g.m.Thickness) / 2
	var st station
	g.walk(from, to, func(c int, t0, t1 float64) {
		cuts := []float64{t0}
		for k := 1; k < m.intervals; k++ {
			if t := float64(k) / float64(m.intervals); t > t0 && t < t1 {
				cuts = append(cuts, t)
			}
		}
		for _, h := range m.b.Heights {
			if h.At > t0 && h.At < t1 {
				cuts = append(cuts, h.At)
			}
		}
		sortFloats(cuts)
		cuts = append(cuts, t1)
		if g.cells[c].share == 0 {
			// The brace's end stands on a sliver that does not count: its neighbour carries on to there.
			c2 := g.nearestWood(from.lerp(to, (t0+t1)/2))
			if c2 < 0 {
				return
			}
			c = c2
		}
		cx, cy := g.at(c)
		for i := 0; i+1 < len(cuts); i++ {
			a, z := cuts[i], cuts[i+1]
			if z-a < 1e-12 {
				continue
			}
			k := min(int((a+z)/2*float64(m.intervals)), m.intervals-1)
			for j, x := range gx {
				t := a + x*(z-a)
				p := from.lerp(to, t)
				var lo local
				lo.at((p.x-cx)/g.hx, (p.y-cy)/g.hy, g.hx, g.hy)
				st = station{s: t, height: m.b.height(t), wt: share * gw[j] * (z - a) * m.length, k: k}
				step := m.length / float64(m.intervals)
				f, d, _ := quadratic(t*float64(m.intervals) - float64(k))
				for q := range 3 {
					st.psi[q], st.dps[q] = f[q], d[q]/step
				}
				cs, sn := dir.x, dir.y
				for q := range nQuad {
					ds := cs*lo.qx[q] + sn*lo.qy[q]
					st.stretch[offU+q], st.stretch[offV+q] = cs*ds, sn*ds
					st.stretch[offGX+q], st.stretch[offGY+q] = -half*cs*ds, -half*sn*ds
					dt := -sn*lo.qx[q] + cs*lo.qy[q]
					st.side[offU+q], st.side[offV+q] = -sn*dt, cs*dt
					st.sideTurn[offGX+q], st.sideTurn[offGY+q] = -sn*dt, cs*dt
					v := lo.q[q]
					st.move[0][offU+q], st.move[0][offV+q] = cs*v, sn*v
					st.move[0][offGX+q], st.move[0][offGY+q] = -half*cs*v, -half*sn*v
					st.move[1][offU+q], st.move[1][offV+q] = -sn*v, cs*v
					st.move[1][offGX+q], st.move[1][offGY+q] = half*sn*v, -half*cs*v
				}
				for q := range nCubic {
					along := cs*lo.wx[q] + sn*lo.wy[q]
					across := -sn*lo.wx[q] + cs*lo.wy[q]
					st.stretch[offW+q] = half*(cs*cs*lo.xx[q]+2*cs*sn*lo.xy[q]+sn*sn*lo.yy[q]) + g.curve*lo.w[q]
					st.slope[offW+q] = along
					st.twist[offW+q] = cs*(-sn*lo.xx[q]+cs*lo.xy[q]) + sn*(-sn*lo.xy[q]+cs*lo.yy[q])
					st.move[0][offW+q] = half * along
					st.move[1][offW+q] = half * across
					st.move[2][offW+q] = lo.w[q]
					st.side[offW+q] = g.curve * lo.w[q]
					st.sideTurn[offW+q] = -(sn*sn*lo.xx[q] - 2*sn*cs*lo.xy[q] + cs*cs*lo.yy[q])
					st.tip[offW+q] = across
				}
				do(c, &st)
			}
		}
	})
}

// acrossPoints lines stand for the glued width.
const acrossPoints = 3

func (g *grid) nearestWood(p vec) int {
	best, at := math.Inf(1), -1
	c0, _, _ := g.find(p)
	i0, j0 := c0/g.ny, c0%g.ny
	for i := max(0, i0-1); i <= min(g.nx-1, i0+1); i++ {
		for j := max(0, j0-1); j <= min(g.ny-1, j0+1); j++ {
			c := i*g.ny + j
			if g.cells[c].share == 0 {
				continue
			}
			x, y := g.at(c)
			if d := p.sub(vec{x + g.hx/2, y + g.hy/2}).len(); d < best {
				best, at = d, c
			}
		}
	}
	return at
}

// beamElements gives a brace's elements, one for each cell it runs through.
func (g *grid) beamElements(m *beam) []element {
	byCell := map[int]*element{}
	var order []int
	b := m.b
	e1, g12, g13 := float64(b.Material.E1), float64(b.Material.G12), float64(b.Material.G13)
	w, rho := float64(b.Width), float64(b.Material.Density)
	lowest := map[int]int{}
	highest := map[int]int{}
	g.stations(m, 2, acrossPoints, func(c int, st *station) {
		if _, ok := lowest[c]; !ok {
			lowest[c], highest[c] = st.k, st.k
			order = append(order, c)
		}
		lowest[c], highest[c] = min(lowest[c], st.k), max(highest[c], st.k)
	})
	for _, c := range order {
		e := &element{cell: c, dofs: g.unknowns(c)}
		for k := lowest[c]; k < highest[c]+3; k++ {
			e.dofs = append(e.dofs, m.first+int32(k))
		}
		n := len(e.dofs)
		e.k, e.m = zeros(nil, (n+3)*n), zeros(nil, (n+3)*n) // with room to work on four rows
		byCell[c] = e
	}
	// Stations in one cell, one after the other, go together.
	const together = 8
	var rows [6][]float64 // of one station, over an element's unknowns
	var mix []float64
	var stiff, heavy rowPairs
	at, held := -1, 0
	flush := func() {
		if held > 0 {
			stiff.addTo(byCell[at].k)
			heavy.addTo(byCell[at].m)
		}
		held = 0
	}
	// form adds wt·rowsᵀ c rows.
	form := func(to *rowPairs, c *[6][6]float64, wt float64) {
		for a := range rows {
			clear(mix)
			for b, x := range c[a] {
				if x != 0 {
					axpyRow(mix, rows[b], x)
				}
			}
			to.put(rows[a], mix, wt)
		}
	}
	g.stations(m, 4, acrossPoints, func(c int, st *station) {
		e := byCell[c]
		n := len(e.dofs)
		h := st.height
		s, i := -h*h/2, h*h*h/3
		if c != at || held == together {
			flush()
			at = c
			stiff.reset(together*len(rows), n)
			heavy.reset(together*len(rows), n)
		}
		held++
		mix = append(mix[:0], make([]float64, n)...)
		put := func(k int, r *row, turn *[3]float64) {
			rows[k] = append(rows[k][:0], make([]float64, n)...)
			if r != nil {
				copy(rows[k], r[:])
			}
			if turn != nil {
				copy(rows[k][nCell+st.k-lowest[c]:], turn[:])
			}
		}
		// Stretch and bending, shear, twist. What the slope's change over the width already stores as shear is not counted twice.
		put(0, &st.stretch, nil)
		put(1, nil, &st.dps)
		put(2, &st.slope, &st.psi)
		put(3, &st.twist, nil)
		put(4, &st.side, nil)
		put(5, &st.sideTurn, nil)
		// The glue holds the top's underside to a section that hardly bends across: its upper part, half its width deep.
		deep := math.Min(h, w/2)
		z0, z1 := -float64(g.m.Thickness)/2-deep, -float64(g.m.Thickness)/2
		e2 := float64(b.Material.E2) * w
		q := e2 * (z1*z1 - z0*z0) / 2
		form(&stiff, &[6][6]float64{
			{e1 * w * h, e1 * w * s},
			{e1 * w * s, e1 * w * i},
			{2: 5.0 / 6 * g13 * w * h},
			{3: math.Max(0, twistStiffness(w, h, g12, g13)-5.0/6*g13*h*w*w*w/12)},
			{4: e2 * (z1 - z0), 5: q},
			{4: q, 5: e2 * (z1*z1*z1 - z0*z0*z0) / 3},
		}, st.wt)
		put(0, &st.move[0], nil)
		put(1, nil, &st.psi)
		put(2, &st.move[1], nil)
		put(3, &st.tip, nil)
		put(4, &st.move[2], nil)
		form(&heavy, &[6][6]float64{
			{rho * w * h, rho * w * s},
			{rho * w * s, rho * w * i},
			{2: rho * w * h, 3: -rho * w * s},
			{2: -rho * w * s, 3: rho * w * i},
			{4: rho * w * h},
		}, st.wt)
	})
	flush()
	for _, e := range byCell {
		n := len(e.dofs)
		mirror(e.k, n)
		mirror(e.m, n)
	}
	out := make([]element, 0, len(order))
	for _, c := range order {
		e := byCell[c]
		e.id = g.newID()
		out = append(out, *e)
	}
	return out
}
