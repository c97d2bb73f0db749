// Package solidtest holds the soundboard against a method that shares nothing with it: three-dimensional solid finite elements
// (20-node bricks with reduced integration), written as input for the general-purpose solver CalculiX and read back from its
// output. Only tests use it.
package solidtest

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fairset/craft/soundboard"
)

// Mesh is a top with its parts as bricks. Sizes are counts of bricks.
type Mesh struct {
	nodes  [][3]float64
	bricks [][20]int
	sets   []set
	top    int // bricks of the top come first
	edge   []int
	// quads of the middle surface: eight nodes, for loads and readings
	mid [][8]int
	// pairs of nodes along each brace's free edge, on its two sides
	under [][][2]int
}

type set struct {
	name        string
	first, last int // bricks, half open
	material    soundboard.Material
	axis        [2]float64
	face        int // glued face: 1 bottom, 2 top of the brick
}

// block makes bricks on a logical box of i×j×k; place maps doubled logical positions (0..2i) to points. ring joins j's ends.
func (m *Mesh) block(ni, nj, nk int, ring bool, place func(i, j, k int) [3]float64) func(i, j, k int) int {
	seen := map[[3]int]int{}
	node := func(i, j, k int) int {
		if ring {
			j %= 2 * nj
		}
		q := [3]int{i, j, k}
		n, ok := seen[q]
		if !ok {
			m.nodes = append(m.nodes, place(i, j, k))
			n = len(m.nodes) // from 1
			seen[q] = n
		}
		return n
	}
	for i := range ni {
		for j := range nj {
			for k := range nk {
				a, b, c := 2*i, 2*j, 2*k
				m.bricks = append(m.bricks, [20]int{
					node(a, b, c), node(a+2, b, c), node(a+2, b+2, c), node(a, b+2, c),
					node(a, b, c+2), node(a+2, b, c+2), node(a+2, b+2, c+2), node(a, b+2, c+2),
					node(a+1, b, c), node(a+2, b+1, c), node(a+1, b+2, c), node(a, b+1, c),
					node(a+1, b, c+2), node(a+2, b+1, c+2), node(a+1, b+2, c+2), node(a, b+1, c+2),
					node(a, b, c+1), node(a+2, b, c+1), node(a+2, b+2, c+1), node(a, b+2, c+1),
				})
			}
		}
	}
	return node
}

const braceLayers = 2 // bricks in a brace's height

// Guitar meshes a clamped top with one hole, whose outline is seen whole from the hole's middle: around bricks along the
// outline, radial from hole to outline, two through the thickness.
func Guitar(top soundboard.Model, braces []soundboard.Brace, around, radial int) *Mesh {
	m := &Mesh{}
	h := float64(top.Thickness)
	hole := top.Holes[0]
	cx, cy, r := float64(hole.Centre.X), float64(hole.Centre.Y), float64(hole.Radius)
	rim := resample(top.Outline, 2*around)
	const layers = 2
	node := m.block(radial, around, layers, true, func(i, j, k int) [3]float64 {
		p := rim[j]
		if j%2 == 1 { // sides of bricks are straight
			a, b := rim[j-1], rim[(j+1)%len(rim)]
			p = [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
		}
		inner := func(q [2]float64) [2]float64 {
			d := math.Hypot(q[0]-cx, q[1]-cy)
			return [2]float64{cx + r*(q[0]-cx)/d, cy + r*(q[1]-cy)/d}
		}
		q := inner(p)
		if j%2 == 1 {
			a, b := inner(rim[j-1]), inner(rim[(j+1)%len(rim)])
			q = [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
		}
		t := float64(i) / float64(2*radial)
		return [3]float64{q[0] + t*(p[0]-q[0]), q[1] + t*(p[1]-q[1]), h * (float64(k)/(2*layers) - 0.5)}
	})
	m.sets = append(m.sets, set{"TOP", 0, len(m.bricks), top.Material, top.Grain, 1})
	m.top = len(m.bricks)
	for j := range 2 * around {
		for k := range 2*layers + 1 {
			if j%2 == 1 && k%2 == 1 {
				continue
			}
			m.edge = append(m.edge, node(2*radial, j, k))
		}
	}
	for i := range radial {
		for j := range around {
			a, b, c := 2*i, 2*j, layers
			m.mid = append(m.mid, [8]int{node(a, b, c), node(a+2, b, c), node(a+2, b+2, c), node(a, b+2, c),
				node(a+1, b, c), node(a+2, b+1, c), node(a+1, b+2, c), node(a, b+1, c)})
		}
	}
	for n, p := range top.Patches {
		first := len(m.bricks)
		c := p.Corners
		m.block(6, 14, 2, false, func(i, j, k int) [3]float64 {
			s, t := float64(i)/12, float64(j)/28
			f := [4]float64{(1 - s) * (1 - t), s * (1 - t), s * t, (1 - s) * t}
			x, y := 0.0, 0.0
			for q := range 4 {
				x += f[q] * float64(c[q].X)
				y += f[q] * float64(c[q].Y)
			}
			return [3]float64{x, y, -h/2 - float64(p.Thickness)*(1-float64(k)/4)}
		})
		m.sets = append(m.sets, set{fmt.Sprintf("PATCH%d", n), first, len(m.bricks), p.Material, p.Grain, 2})
	}
	for n, b := range braces {
		first := len(m.bricks)
		ax, ay := float64(b.From.X), float64(b.From.Y)
		dx, dy := float64(b.To.X)-ax, float64(b.To.Y)-ay
		l := math.Hypot(dx, dy)
		along := max(8, int(math.Ceil(l/10e-3)))
		w := float64(b.Width)
		node := m.block(along, 1, braceLayers, false, func(i, j, k int) [3]float64 {
			s := float64(i) / float64(2*along)
			t := w * (float64(j)/2 - 0.5)
			z := -h/2 - height(b, s)*(1-float64(k)/(2*braceLayers))
			return [3]float64{ax + s*dx - t*dy/l, ay + s*dy + t*dx/l, z}
		})
		var edge [][2]int
		for i := 0; i <= 2*along; i += 2 {
			edge = append(edge, [2]int{node(i, 0, 0), node(i, 2, 0)})
		}
		m.under = append(m.under, edge)
		m.sets = append(m.sets, set{fmt.Sprintf("BRACE%d", n), first, len(m.bricks), b.Material, [2]float64{dx / l, dy / l}, 2})
	}
	return m
}

func height(b soundboard.Brace, s float64) float64 {
	h := b.Heights
	for k := 1; k < len(h); k++ {
		if s <= h[k].At {
			f := (s - h[k-1].At) / (h[k].At - h[k-1].At)
			return float64(h[k-1].Height) + f*float64(h[k].Height-h[k-1].Height)
		}
	}
	return float64(h[len(h)-1].Height)
}

// resample puts n points at equal steps along a closed polygon.
func resample(p []soundboard.Point, n int) [][2]float64 {
	at := make([]float64, len(p)+1)
	q := func(i int) (x, y float64) { i %= len(p); return float64(p[i].X), float64(p[i].Y) }
	for i := range p {
		x0, y0 := q(i)
		x1, y1 := q(i + 1)
		at[i+1] = at[i] + math.Hypot(x1-x0, y1-y0)
	}
	out := make([][2]float64, n)
	k := 0
	for i := range out {
		s := at[len(p)] * float64(i) / float64(n)
		for at[k+1] < s {
			k++
		}
		t := (s - at[k]) / (at[k+1] - at[k])
		x0, y0 := q(k)
		x1, y1 := q(k + 1)
		out[i] = [2]float64{x0 + t*(x1-x0), y0 + t*(y1-y0)}
	}
	return out
}

func shape8(s, t float64) (n [8]float64, ds, dt [8]float64) {
	xs, xt := [4]float64{-1, 1, 1, -1}, [4]float64{-1, -1, 1, 1}
	for i := range 4 {
		a, b := 1+s*xs[i], 1+t*xt[i]
		n[i] = a * b * (s*xs[i] + t*xt[i] - 1) / 4
		ds[i] = xs[i] * b * (2*s*xs[i] + t*xt[i]) / 4
		dt[i] = xt[i] * a * (2*t*xt[i] + s*xs[i]) / 4
	}
	n[4], ds[4], dt[4] = (1-s*s)*(1-t)/2, -s*(1-t), -(1-s*s)/2
	n[6], ds[6], dt[6] = (1-s*s)*(1+t)/2, -s*(1+t), (1-s*s)/2
	n[5], ds[5], dt[5] = (1+s)*(1-t*t)/2, (1-t*t)/2, -(1+s)*t
	n[7], ds[7], dt[7] = (1-s)*(1-t*t)/2, -(1-t*t)/2, -(1-s)*t
	return
}

// find gives the quad of the middle surface a point lies in, and its shape functions there.
func (m *Mesh) find(x, y float64) ([8]int, [8]float64, bool) {
	for _, q := range m.mid {
		lox, hix, loy, hiy := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
		for _, n := range q[:4] {
			p := m.nodes[n-1]
			lox, hix, loy, hiy = math.Min(lox, p[0]), math.Max(hix, p[0]), math.Min(loy, p[1]), math.Max(hiy, p[1])
		}
		if x < lox || x > hix || y < loy || y > hiy {
			continue
		}
		s, t := 0.0, 0.0
		for range 20 {
			n, ds, dt := shape8(s, t)
			var fx, fy, xs, xt, ys, yt float64
			for i, k := range q {
				p := m.nodes[k-1]
				fx += n[i] * p[0]
				fy += n[i] * p[1]
				xs += ds[i] * p[0]
				xt += dt[i] * p[0]
				ys += ds[i] * p[1]
				yt += dt[i] * p[1]
			}
			d := xs*yt - xt*ys
			s += ((x-fx)*yt - (y-fy)*xt) / d
			t += (xs*(y-fy) - ys*(x-fx)) / d
		}
		if math.Abs(s) <= 1+1e-9 && math.Abs(t) <= 1+1e-9 {
			n, _, _ := shape8(s, t)
			return q, n, true
		}
	}
	return [8]int{}, [8]float64{}, false
}

// Bridge holds what a unit load on the footprint puts on each node, and so what the footprint reads.
type Bridge struct{ Mean, Turn map[int]float64 }

// Bridge integrates over the footprint.
func (m *Mesh) Bridge(b *soundboard.Bridge) (Bridge, error) {
	out := Bridge{map[int]float64{}, map[int]float64{}}
	lx, ly := float64(b.Length), float64(b.Width)
	const nx, ny = 24, 80
	for i := range nx {
		for j := range ny {
			u := lx * ((float64(i)+0.5)/nx - 0.5)
			x, y := float64(b.Centre.X)+u, float64(b.Centre.Y)+ly*((float64(j)+0.5)/ny-0.5)
			q, n, ok := m.find(x, y)
			if !ok {
				return out, fmt.Errorf("no brick at %g, %g", x, y)
			}
			da := lx * ly / (nx * ny)
			// The midpoint rule's own second moment, so that the unit moment is exact.
			inertia := ly * lx * lx * lx / 12 * (1 - 1.0/(nx*nx))
			for k := range 8 {
				out.Mean[q[k]] += n[k] * da / (lx * ly)
				out.Turn[q[k]] -= n[k] * u * da / inertia
			}
		}
	}
	return out, nil
}

// Load is a moment (N·m) and a pull along x (N) on the bridge's footprint.
type Load struct{ Moment, Pull float64 }

// Write writes the input: the load cases and the lowest modes.
func (m *Mesh) Write(w io.Writer, b Bridge, loads []Load, modes int) error {
	o := bufio.NewWriter(w)
	fmt.Fprintln(o, "*NODE, NSET=ALL")
	for i, p := range m.nodes {
		fmt.Fprintf(o, "%d, %.12g, %.12g, %.12g\n", i+1, p[0], p[1], p[2])
	}
	for i, s := range m.sets {
		fmt.Fprintf(o, "*ELEMENT, TYPE=C3D20R, ELSET=%s\n", s.name)
		for e := s.first; e < s.last; e++ {
			fmt.Fprintf(o, "%d", e+1)
			for k, n := range m.bricks[e] {
				if k == 14 {
					fmt.Fprint(o, ",\n")
					fmt.Fprintf(o, "%d", n)
					continue
				}
				fmt.Fprintf(o, ", %d", n)
			}
			fmt.Fprintln(o)
		}
		a := s.axis
		fmt.Fprintf(o, "*ORIENTATION, NAME=O%d, SYSTEM=RECTANGULAR\n%.12g, %.12g, 0, %.12g, %.12g, 0\n", i, a[0], a[1], -a[1], a[0])
		c := s.material
		fmt.Fprintf(o, "*MATERIAL, NAME=M%d\n*ELASTIC, TYPE=ENGINEERING CONSTANTS\n%g, %g, %g, %g, %g, %g, %g, %g,\n%g, 293\n*DENSITY\n%g\n", i,
			float64(c.E1), float64(c.E2), float64(c.E3), c.Nu12, c.Nu13, c.Nu23, float64(c.G12), float64(c.G13), float64(c.G23), float64(c.Density))
		fmt.Fprintf(o, "*SOLID SECTION, ELSET=%s, MATERIAL=M%d, ORIENTATION=O%d\n", s.name, i, i)
		// Glued faces: the top's underside (its lowest layer of bricks), the others' upper side.
		fmt.Fprintf(o, "*SURFACE, NAME=S%d\n", i)
		for e := s.first; e < s.last; e++ {
			layers := 2
			if strings.HasPrefix(s.name, "BRACE") {
				layers = braceLayers
			}
			if k := (e - s.first) % layers; s.face == 1 && k == 0 || s.face == 2 && k == layers-1 {
				fmt.Fprintf(o, "%d, S%d\n", e+1, s.face)
			}
		}
		if i > 0 {
			fmt.Fprintf(o, "*TIE, NAME=T%d, POSITION TOLERANCE=5e-4, ADJUST=NO\nS%d, S0\n", i, i)
		}
	}
	fmt.Fprintln(o, "*NSET, NSET=EDGE")
	for _, n := range m.edge {
		fmt.Fprintf(o, "%d,\n", n)
	}
	fmt.Fprintln(o, "*NSET, NSET=READ")
	seen := map[int]bool{}
	read := func(nodes []int) {
		for _, n := range nodes {
			if !seen[n] {
				seen[n] = true
				fmt.Fprintf(o, "%d,\n", n)
			}
		}
	}
	for _, q := range m.mid {
		read(q[:])
	}
	for _, e := range m.under {
		for _, q := range e {
			read(q[:])
		}
	}
	fmt.Fprintln(o, "*BOUNDARY\nEDGE, 1, 3")
	for _, l := range loads {
		fmt.Fprintln(o, "*STEP\n*STATIC\n*CLOAD, OP=NEW")
		for n := 1; n <= len(m.nodes); n++ {
			if v := b.Turn[n] * l.Moment; v != 0 {
				fmt.Fprintf(o, "%d, 3, %.12g\n", n, v)
			}
			if v := b.Mean[n] * l.Pull; v != 0 {
				fmt.Fprintf(o, "%d, 1, %.12g\n", n, v)
			}
		}
		fmt.Fprintln(o, "*NODE PRINT, NSET=READ\nU\n*END STEP")
	}
	fmt.Fprintf(o, "*STEP\n*FREQUENCY\n%d\n*END STEP\n", modes)
	return o.Flush()
}

// Answer is what CalculiX printed.
type Answer struct {
	U           []map[int][3]float64 // of the middle surface and the braces' free edges, one map for each load case
	Frequencies []float64            // Hz
}

// Read reads CalculiX's .dat file.
func Read(r io.Reader) (Answer, error) {
	var a Answer
	sc := bufio.NewScanner(r)
	eigen := false
	for sc.Scan() {
		line := sc.Text()
		f := strings.Fields(line)
		switch {
		case strings.Contains(line, "displacements"):
			a.U = append(a.U, map[int][3]float64{})
			eigen = false
		case strings.Contains(line, "E I G E N V A L U E   O U T P U T"):
			eigen = true
		case strings.Contains(line, "P A R T I C I P A T I O N"):
			eigen = false
		case eigen && len(f) == 5:
			v, err := strconv.ParseFloat(f[3], 64)
			if _, e := strconv.Atoi(f[0]); e == nil && err == nil {
				a.Frequencies = append(a.Frequencies, v)
			}
		case !eigen && len(f) == 4 && len(a.U) > 0:
			n, err := strconv.Atoi(f[0])
			if err != nil {
				continue
			}
			var u [3]float64
			for i := range u {
				if u[i], err = number(f[i+1]); err != nil {
					return a, err
				}
			}
			a.U[len(a.U)-1][n] = u
		}
	}
	return a, sc.Err()
}

// number reads a figure as Fortran prints it: the E is left out before a three-digit exponent.
func number(s string) (float64, error) {
	if k := strings.LastIndexAny(s, "+-"); k > 0 && !strings.ContainsAny(s, "Ee") {
		s = s[:k] + "E" + s[k:]
	}
	return strconv.ParseFloat(s, 64)
}

// Readings are the figures to hold against the soundboard's, in metres and degrees.
type Readings struct{ Rise, Dip, Rotation, Mean float64 }

// Readings reads one load case off the middle surface.
func (m *Mesh) Readings(u map[int][3]float64, b Bridge, xc float64) Readings {
	var out Readings
	for _, q := range m.mid {
		for _, n := range q {
			switch x, w := m.nodes[n-1][0], u[n][2]; {
			case x < xc && w > out.Rise:
				out.Rise = w
			case x >= xc && w < out.Dip:
				out.Dip = w
			}
		}
	}
	turn := 0.0
	for n, c := range b.Turn {
		turn += c * u[n][2]
	}
	for n, c := range b.Mean {
		out.Mean += c * u[n][2]
	}
	out.Rotation = math.Atan(turn) * 180 / math.Pi
	return out
}

// Strain is how each brick's length of a brace's free edge stretches, from end to end, in one load case.
func (m *Mesh) Strain(u map[int][3]float64, brace int) []float64 {
	edge := m.under[brace]
	place := func(q [2]int) (p, d [3]float64) {
		for i := range 3 {
			p[i] = (m.nodes[q[0]-1][i] + m.nodes[q[1]-1][i]) / 2
			d[i] = (u[q[0]][i] + u[q[1]][i]) / 2
		}
		return
	}
	var out []float64
	for i := range len(edge) - 1 {
		p, d := place(edge[i])
		q, e := place(edge[i+1])
		along, square := 0.0, 0.0
		for k := range 3 {
			along += (q[k] - p[k]) * (e[k] - d[k])
			square += (q[k] - p[k]) * (q[k] - p[k])
		}
		out = append(out, along/square)
	}
	return out
}

// Middle is the strain halfway along, of the brick or the two bricks there.
func Middle(strain []float64) float64 {
	n := len(strain)
	return (strain[(n-1)/2] + strain[n/2]) / 2
}
