package soundboard

import (
	"math"
	"math/bits"
)

// The unknowns are coefficients of B-splines on a square grid laid over the outline: cubic for the deflection w, quadratic for
// the stretches u, v and for the shear angles γx, γy that stand beside the slope of w. The plate's section turns by
// φ = γ - grad w, so a thin plate needs no shear at all and nothing can lock (Echter, Oesterle & Bischoff, Comput. Methods
// Appl. Mech. Eng. 254, 2013; from memory).

const (
	nQuad  = 9  // functions of a quadratic field in a cell
	nCubic = 16 // of the cubic field
	offU   = 0
	offV   = offU + nQuad
	offW   = offV + nQuad
	offGX  = offW + nCubic
	offGY  = offGX + nQuad
	nCell  = offGY + nQuad
	points = 7 // Gauss points a side: exact for products of two cubic functions and their derivatives
	// nStrain strains of the plate: εx εy γxy κx κy κxy γxz γyz.
	nStrain = 8
	nMotion = 5 // u v w φx φy
)

// quadratic and cubic give the B-splines of a cell at t in 0..1 and their derivatives, by t.
func quadratic(t float64) (f, d, dd [3]float64) {
	s := 1 - t
	return [3]float64{s * s / 2, 0.5 + t*s, t * t / 2}, [3]float64{-s, 1 - 2*t, t}, [3]float64{1, -2, 1}
}

func cubic(t float64) (f, d, dd [4]float64) {
	s := 1 - t
	f = [4]float64{s * s * s / 6, (3*t*t*t - 6*t*t + 4) / 6, (3*s*s*s - 6*s*s + 4) / 6, t * t * t / 6}
	d = [4]float64{-s * s / 2, (3*t*t - 4*t) / 2, -(3*s*s - 4*s) / 2, t * t / 2}
	dd = [4]float64{s, 3*t - 2, 3*s - 2, t}
	return f, d, dd
}

// legendreNodes gives the n-point Gauss rule on 0..1.
func legendreNodes(n int) (x, w []float64) {
	x, w = make([]float64, n), make([]float64, n)
	for i := range n {
		z := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(n) + 0.5))
		var dp float64
		for range 50 {
			p0, p1 := 1.0, z
			for k := 2; k <= n; k++ {
				p0, p1 = p1, (float64(2*k-1)*z*p1-float64(k-1)*p0)/float64(k)
			}
			if n == 1 {
				p0, p1 = 1, z
			}
			dp = float64(n) * (z*p1 - p0) / (z*z - 1)
			step := p1 / dp
			z -= step
			if math.Abs(step) < 1e-16 {
				break
			}
		}
		x[n-1-i] = (1 + z) / 2
		w[n-1-i] = 1 / ((1 - z*z) * dp * dp)
	}
	return x, w
}

var gaussX, gaussW = legendreNodes(points)

// local holds the fields' functions and derivatives at a point of a cell, by length.
type local struct {
	q, qx, qy             [nQuad]float64
	w, wx, wy, xx, xy, yy [nCubic]float64
}

// at evaluates the functions of a cell with sides hx, hy at (s, t) in 0..1.
func (l *local) at(s, t, hx, hy float64) {
	fx, dx, _ := quadratic(s)
	fy, dy, _ := quadratic(t)
	for i := range 3 {
		for j := range 3 {
			k := i*3 + j
			l.q[k], l.qx[k], l.qy[k] = fx[i]*fy[j], dx[i]*fy[j]/hx, fx[i]*dy[j]/hy
		}
	}
	cx, ex, ddx := cubic(s)
	cy, ey, ddy := cubic(t)
	for i := range 4 {
		for j := range 4 {
			k := i*4 + j
			l.w[k], l.wx[k], l.wy[k] = cx[i]*cy[j], ex[i]*cy[j]/hx, cx[i]*ey[j]/hy
			l.xx[k], l.xy[k], l.yy[k] = ddx[i]*cy[j]/(hx*hx), ex[i]*ey[j]/(hx*hy), cx[i]*ddy[j]/(hy*hy)
		}
	}
}

type row [nCell]float64

// strains fills the rows that give the plate's strains from a cell's unknowns. curve is 1/R of the dome.
func (l *local) strains(b *[nStrain]row, curve float64) {
	*b = [nStrain]row{}
	for k := range nQuad {
		b[0][offU+k] = l.qx[k]
		b[1][offV+k] = l.qy[k]
		b[2][offU+k], b[2][offV+k] = l.qy[k], l.qx[k]
		b[3][offGX+k] = l.qx[k]
		b[4][offGY+k] = l.qy[k]
		b[5][offGX+k], b[5][offGY+k] = l.qy[k], l.qx[k]
		b[6][offGX+k], b[7][offGY+k] = l.q[k], l.q[k]
	}
	for k := range nCubic {
		b[3][offW+k], b[4][offW+k], b[5][offW+k] = -l.xx[k], -l.yy[k], -2*l.xy[k]
		if curve != 0 {
			b[0][offW+k], b[1][offW+k] = curve*l.w[k], curve*l.w[k]
		}
	}
}

// motions fills the rows that give u, v, w and the section's turns.
func (l *local) motions(b *[nMotion]row) {
	*b = [nMotion]row{}
	for k := range nQuad {
		b[0][offU+k], b[1][offV+k], b[3][offGX+k], b[4][offGY+k] = l.q[k], l.q[k], l.q[k], l.q[k]
	}
	for k := range nCubic {
		b[2][offW+k], b[3][offW+k], b[4][offW+k] = l.w[k], -l.wx[k], -l.wy[k]
	}
}

// rowsAt are n rows of numbers, one for each unknown, as panels one after the other; the last panel begins earlier, so as not to reach
// beyond the unknowns. Rows that belong together, size of them, make a group; uses tells by bits which groups a panel is not 0 in.
type rowsAt struct {
	n, unknowns, size int
	v                 []float64
	uses              []uint32
}

func newRowsAt(groups, size, unknowns int) (r rowsAt) {
	r.reset(groups, size, unknowns)
	return r
}

// reset makes all rows 0, in the memory there is if it is enough.
func (r *rowsAt) reset(groups, size, unknowns int) {
	panels := (unknowns + panel - 1) / panel
	r.n, r.unknowns, r.size = groups*size, unknowns, size
	r.v = zeros(r.v, panels*r.n*panel)
	r.uses = append(r.uses[:0], make([]uint32, panels)...)
}

func (r *rowsAt) first(p int) int { return min(p*panel, r.unknowns-panel) }

// put writes a row that is still 0.
func (r *rowsAt) put(group, at int, from []float64) {
	t := group*r.size + at
	for i, v := range from {
		if v != 0 {
			p := i / panel
			r.v[(p*r.n+t)*panel+i-r.first(p)] = v
			r.uses[p] |= 1 << group
		}
	}
}

// lines are a line of numbers for each unknown, as long as there are rows to multiply them with; there is room for three more lines. uses
// tells by bits which groups four lines are not 0 in.
type lines struct {
	v    []float64
	uses []uint32
}

func (r *rowsAt) newLines() (l lines) {
	l.reset(r)
	return l
}

// reset makes lines that fit r, all 0, in the memory there is if it is enough.
func (l *lines) reset(r *rowsAt) {
	l.v = zeros(l.v, (r.unknowns+3)*r.n)
	l.uses = append(l.uses[:0], make([]uint32, (r.unknowns+3)/4)...)
}

// put writes the numbers of one row, still 0, into the lines, times scale.
func (l lines) put(r *rowsAt, group, at int, from []float64, scale float64) {
	t := group*r.size + at
	for i, v := range from {
		if v != 0 {
			l.v[i*r.n+t] = scale * v
			l.uses[i/4] |= 1 << group
		}
	}
}

// addProduct takes aᵀ r from the lower triangle of k, which has room for three more rows unless the unknowns come in fours.
func (r *rowsAt) addProduct(k []float64, a lines) {
	for p, mine := range r.uses {
		for i := p * panel; i < r.unknowns; i += 4 {
			for both := mine & a.uses[i/4]; both != 0; {
				from := bits.TrailingZeros32(both)
				many := bits.TrailingZeros32(^(both >> from)) // groups in a row
				takePanel(many*r.size, a.v[i*r.n+from*r.size:], r.n, 1, r.v[(p*r.n+from*r.size)*panel:], k[i*r.unknowns+r.first(p):], r.unknowns, false)
				both &^= (1<<many - 1) << from
			}
		}
	}
}

// addForm adds Σ w Bᵀ C B over a cell's Gauss points to the lower triangle of k; r holds the strains B, each at all points, and cb C B.
func (r *rowsAt) addForm(k []float64, cb lines, w []float64, work *lines) {
	work.uses = cb.uses
	for i := range nCell {
		for g := range r.n / r.size {
			if cb.uses[i/4]&(1<<g) == 0 {
				continue
			}
			from := i*r.n + g*r.size
			dst, src := work.v[from:from+r.size], cb.v[from:from+r.size]
			for q, x := range w {
				dst[q] = -x * src[q]
			}
		}
	}
	r.addProduct(k, *work)
}

// mirror fills the upper triangle from the lower.
func mirror(k []float64, n int) {
	for i := range n {
		for j := range i {
			k[j*n+i] = k[i*n+j]
		}
	}
}

// laminate is a section's stiffness and mass about the top's middle surface.
type laminate struct {
	c      [][]float64 // nStrain², A B D and the shear block
	m      [][]float64 // nMotion²
	cb, mb lines       // the same times a cell's strains and motions at its Gauss points
}

func newLaminate() *laminate {
	l := &laminate{c: make([][]float64, nStrain), m: make([][]float64, nMotion)}
	for i := range l.c {
		l.c[i] = make([]float64, nStrain)
	}
	for i := range l.m {
		l.m[i] = make([]float64, nMotion)
	}
	return l
}

// ply is one layer: its in-plane stiffness and shear moduli in the frame, from z0 to z1.
type ply struct {
	q      [3][3]float64
	gx, gy float64
	rho    float64
	z0, z1 float64
}

func newPly(m Material, grain [2]float64, z0, z1 float64) ply {
	e1, e2 := float64(m.E1), float64(m.E2)
	n21 := m.Nu12 * e2 / e1
	d := 1 - m.Nu12*n21
	q11, q22, q12, q66 := e1/d, e2/d, m.Nu12*e2/d, float64(m.G12)
	n := math.Hypot(grain[0], grain[1])
	c, s := grain[0]/n, grain[1]/n
	c2, s2 := c*c, s*s
	p := ply{rho: float64(m.Density), z0: z0, z1: z1}
	p.q[0][0] = q11*c2*c2 + 2*(q12+2*q66)*s2*c2 + q22*s2*s2
	p.q[1][1] = q11*s2*s2 + 2*(q12+2*q66)*s2*c2 + q22*c2*c2
	p.q[0][1] = (q11+q22-4*q66)*s2*c2 + q12*(s2*s2+c2*c2)
	p.q[0][2] = (q11-q12-2*q66)*s*c2*c + (q12-q22+2*q66)*s2*s*c
	p.q[1][2] = (q11-q12-2*q66)*s2*s*c + (q12-q22+2*q66)*s*c2*c
	p.q[2][2] = (q11+q22-2*q12-2*q66)*s2*c2 + q66*(s2*s2+c2*c2)
	p.q[1][0], p.q[2][0], p.q[2][1] = p.q[0][1], p.q[0][2], p.q[1][2]
	g13, g23 := float64(m.G13), float64(m.G23)
	p.gx, p.gy = 1/(c2/g13+s2/g23), 1/(s2/g13+c2/g23)
	return p
}

// shearBlock is the transverse shear stiffness of one layer alone, with factor 5/6, in the frame.
func shearBlock(m Material, grain [2]float64, h float64) (xx, yy, xy float64) {
	n := math.Hypot(grain[0], grain[1])
	c, s := grain[0]/n, grain[1]/n
	a, b := 5.0/6*float64(m.G13)*h, 5.0/6*float64(m.G23)*h
	return a*c*c + b*s*s, a*s*s + b*c*c, (a - b) * s * c
}

func (l *laminate) add(p ply, sign float64) {
	h, s, i := p.z1-p.z0, (p.z1*p.z1-p.z0*p.z0)/2, (p.z1*p.z1*p.z1-p.z0*p.z0*p.z0)/3
	for a := range 3 {
		for b := range 3 {
			l.c[a][b] += sign * p.q[a][b] * h
			l.c[a][b+3] += sign * p.q[a][b] * s
			l.c[a+3][b] += sign * p.q[a][b] * s
			l.c[a+3][b+3] += sign * p.q[a][b] * i
		}
	}
	r := sign * p.rho
	l.m[0][0] += r * h
	l.m[1][1] += r * h
	l.m[2][2] += r * h
	l.m[3][3] += r * i
	l.m[4][4] += r * i
	l.m[0][3] += r * s
	l.m[3][0] += r * s
	l.m[1][4] += r * s
	l.m[4][1] += r * s
}

// shearStiffness is that of a laminate bent in one direction: the shear stress follows from equilibrium, the stiffness from its
// energy. e and g are each layer's modulus in the direction and shear modulus, z its borders from the bottom. One layer gives
// 5/6 G h. Source: Whitney, J. Appl. Mech. 40, 1973 (from memory).
func shearStiffness(layers []ply, along int) float64 {
	e := func(p ply) float64 { return p.q[along][along] }
	var ea, es float64
	for _, p := range layers {
		ea += e(p) * (p.z1 - p.z0)
		es += e(p) * (p.z1*p.z1 - p.z0*p.z0) / 2
	}
	zn := es / ea
	var ei float64
	for _, p := range layers {
		a, b := p.z0-zn, p.z1-zn
		ei += e(p) * (b*b*b - a*a*a) / 3
	}
	x, w := legendreNodes(4)
	tau, energy := 0.0, 0.0
	for _, p := range layers {
		g := p.gx
		if along == 1 {
			g = p.gy
		}
		a := p.z0 - zn
		for i, t := range x {
			z := a + t*(p.z1-p.z0)
			f := tau - e(p)*(z*z-a*a)/2
			energy += w[i] * (p.z1 - p.z0) * f * f / g
		}
		b := p.z1 - zn
		tau -= e(p) * (b*b - a*a) / 2
	}
	return ei * ei / energy
}
