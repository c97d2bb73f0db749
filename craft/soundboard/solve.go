package soundboard

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"fairset/unit"
)

// Options tune the calculation; the zero value is what the topic uses.
type Options struct {
	// Cells along the longer side of the outline; 0: 64. More is finer and slower.
	Cells int
	// Single leaves out the second, coarser grid, and with it the step to a vanishing cell: quicker and rougher.
	Single bool
	// Once keeps nothing for a second Solve, which saves memory; a second Solve then starts afresh.
	Once bool
	// Progress is told how far a factorisation has come, from 0 to 1; may be nil.
	Progress func(share float64)
}

const (
	usualCells = 64
	fewCells   = 8
	mostCells  = 160
	coarser    = 0.5 // cells of the second grid, to those of the first
)

// Plate is a prepared top. Solve puts braces under it and loads on it; a second Solve renews only the parts of the factorisation
// that lie near a brace that changed. A Plate may be used from several goroutines; calls wait for each other.
type Plate struct {
	mu     sync.Mutex
	m      Model
	fine   *level
	coarse *level // nil: none
}

// level is a plate on one grid.
type level struct {
	m        *Model
	progress func(float64)
	g        *grid
	fa       factor
	foot     *foot
	sweep    []float64 // the volume under the deflection
	last     []Brace
	beams    []beam
	beamEl   [][]element
	elems    []element
	n        int
	basis    []float64 // a panel of the lowest modes of last time
	other    []float64 // memory for the second processor's sums
}

// foot holds the bridge's sums over its footprint.
type foot struct{ mean, turn, shift []float64 }

// Prepare checks the model and cuts it into grids. Errors are *unit.RangeError, or ctx's.
func Prepare(ctx context.Context, m Model, opt Options) (*Plate, error) {
	if err := m.Check(); err != nil {
		return nil, err
	}
	if opt.Cells == 0 {
		opt.Cells = usualCells
	}
	if opt.Cells < fewCells || opt.Cells > mostCells {
		return nil, refuse("cells", "cells", fmt.Sprint(opt.Cells), "it must lie from %d to %d", fewCells, mostCells)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p := &Plate{m: m}
	p.fine = newLevel(&p.m, opt.Cells, opt)
	if !opt.Single {
		p.coarse = newLevel(&p.m, int(math.Round(coarser*float64(opt.Cells))), Options{Once: opt.Once})
	}
	return p, nil
}

func newLevel(m *Model, cells int, opt Options) *level {
	p := &level{m: m, progress: opt.Progress, g: newGrid(m, cells)}
	p.fa.once = opt.Once
	if m.Bridge != nil {
		p.foot = p.g.footprint(m.Bridge)
	}
	p.sweep = p.g.sweep()
	return p
}

// size is the number of unknowns, with those of the braces.
func (p *level) size() int {
	n := p.g.dofs
	for i := range p.beams {
		n += p.beams[i].intervals + 2
	}
	return n
}

func sameBrace(a, b *Brace) bool {
	if a.From != b.From || a.To != b.To || a.Width != b.Width || a.Material != b.Material || len(a.Heights) != len(b.Heights) {
		return false
	}
	for i := range a.Heights {
		if a.Heights[i] != b.Heights[i] {
			return false
		}
	}
	return true
}

// brace puts the braces under the plate and factorises.
func (p *level) brace(ctx context.Context, braces []Brace) error {
	g := p.g
	room := g.mostTurns()
	beams, els := make([]beam, len(braces)), make([][]element, len(braces))
	own := append([]Brace(nil), braces...)
	for i := range own {
		own[i].Heights = append([]Station(nil), own[i].Heights...)
	}
	for i := range own {
		beams[i] = g.beam(&own[i], int32(g.dofs+i*room))
		if i < len(p.last) && sameBrace(&own[i], &p.last[i]) {
			els[i] = p.beamEl[i]
			continue
		}
		els[i] = g.beamElements(&beams[i])
	}
	elems := append([]element(nil), g.elems...)
	for _, e := range els {
		elems = append(elems, e...)
	}
	n := g.dofs + len(own)*room
	err := p.fa.update(ctx, g.nx, g.ny, n, elems, p.progress)
	if errors.Is(err, errNotPositive) {
		return tooFarApart()
	}
	if err != nil {
		return err
	}
	if len(own) != len(p.last) {
		p.basis = nil // of another top
	}
	p.last, p.beams, p.beamEl, p.elems, p.n = own, beams, els, elems, n
	return nil
}

func tooFarApart() error {
	return refuse("materials", "materials", "too far apart", "their moduli differ by more than this calculation can hold in its figures; bring the largest and the smallest nearer to each other")
}

// footprint makes the bridge's sums: mean deflection, rotation, and mean shift along x.
func (g *grid) footprint(b *Bridge) *foot {
	f := &foot{make([]float64, g.dofs), make([]float64, g.dofs), make([]float64, g.dofs)}
	r := rect(b)
	lx, ly := float64(b.Length), float64(b.Width)
	xc := float64(b.Centre.X)
	g.overRect(r[0], r[2], func(dofs []int32, lo *local, p vec, wt float64) {
		for k := range nCubic {
			v := lo.w[k] * wt
			f.mean[dofs[offW+k]] += v / (lx * ly)
			f.turn[dofs[offW+k]] -= v * (p.x - xc) / (ly * lx * lx * lx / 12)
		}
		for k := range nQuad {
			f.shift[dofs[offU+k]] += lo.q[k] * wt / (lx * ly)
		}
	})
	return f
}

// overRect goes over the Gauss points of a rectangle, cell by cell.
func (g *grid) overRect(a, b vec, do func(dofs []int32, lo *local, p vec, wt float64)) {
	var lo local
	for c := range g.cells {
		if g.cells[c].share == 0 {
			continue
		}
		x, y := g.at(c)
		x0, x1 := math.Max(x, a.x), math.Min(x+g.hx, b.x)
		y0, y1 := math.Max(y, a.y), math.Min(y+g.hy, b.y)
		if x1 <= x0 || y1 <= y0 {
			continue
		}
		dofs := g.unknowns(c)
		for i, s := range edgeX {
			for j, t := range edgeX {
				p := vec{x0 + s*(x1-x0), y0 + t*(y1-y0)}
				lo.at((p.x-x)/g.hx, (p.y-y)/g.hy, g.hx, g.hy)
				do(dofs, &lo, p, edgeW[i]*edgeW[j]*(x1-x0)*(y1-y0))
			}
		}
	}
}

// sweep is the volume under the deflection, by the unknowns.
func (g *grid) sweep() []float64 {
	out := make([]float64, g.dofs)
	var at [points * points][nCubic]float64
	for i, s := range gaussX {
		for j, t := range gaussX {
			cx, _, _ := cubic(s)
			cy, _, _ := cubic(t)
			for k := range nCubic {
				at[i*points+j][k] = cx[k/4] * cy[k%4]
			}
		}
	}
	for c := range g.cells {
		ce := &g.cells[c]
		if ce.share == 0 {
			continue
		}
		w := g.full
		if !ce.full {
			w = ce.weight[0]
		}
		var sum [nCubic]float64
		for q, x := range w {
			for k, v := range at[q] {
				sum[k] += x * v
			}
		}
		for k, d := range g.unknowns(c)[offW:offGX] {
			out[d] += sum[k]
		}
	}
	return out
}

func (p *level) loadVector(l *Load) []float64 {
	g := p.g
	f := make([]float64, p.n)
	if p.foot != nil {
		for i := range p.foot.mean {
			f[i] += float64(l.Lift)*p.foot.mean[i] + l.Moment*p.foot.turn[i] + float64(l.Pull)*p.foot.shift[i]
		}
	}
	if l.Pressure != 0 {
		for i, v := range p.sweep {
			f[i] += float64(l.Pressure) * v
		}
	}
	if l.Point != 0 {
		at := vec{float64(l.At.X), float64(l.At.Y)}
		c, s, t := g.find(at)
		if g.cells[c].share == 0 {
			c = g.nearestWood(at)
			x, y := g.at(c)
			s, t = (at.x-x)/g.hx, (at.y-y)/g.hy
		}
		var lo local
		lo.at(s, t, g.hx, g.hy)
		for k, d := range g.unknowns(c)[offW:offGX] {
			f[d] += float64(l.Point) * lo.w[k]
		}
	}
	return f
}

// Field is a deflection over the plate.
type Field struct {
	g     *grid
	x     []float64
	scale float64
}

// At returns the deflection at a place; ok is false off the plate.
func (f *Field) At(q Point) (w unit.Length, ok bool) {
	v := vec{float64(q.X), float64(q.Y)}
	if !f.g.inside(v) {
		return 0, false
	}
	return unit.Length(f.w(v) * f.scale), true
}

func (g *grid) inside(v vec) bool {
	if !within(g.outline, v) && depth(g.outline, v) < -1e-9 {
		return false
	}
	for _, h := range g.m.Holes {
		if v.sub(vec{float64(h.Centre.X), float64(h.Centre.Y)}).len() < float64(h.Radius)-1e-9 {
			return false
		}
	}
	return true
}

func (f *Field) w(v vec) float64 {
	g := f.g
	c, s, t := g.find(v)
	if g.cells[c].share == 0 {
		if c = g.nearestWood(v); c < 0 {
			return 0
		}
		x, y := g.at(c)
		s, t = (v.x-x)/g.hx, (v.y-y)/g.hy
	}
	cx, _, _ := cubic(s)
	cy, _, _ := cubic(t)
	i, j := c/g.ny, c%g.ny
	my := g.ny + more[2]
	sum := 0.0
	for a := range 4 {
		for b := range 4 {
			sum += f.x[g.number[2][(i+a)*my+j+b]] * cx[a] * cy[b]
		}
	}
	return sum
}

// extreme finds the largest of sign·w where keep holds, from sub² places in each cell and then by steps ever smaller.
func (f *Field) extreme(sign float64, sub int, keep func(vec) bool) (float64, vec) {
	g := f.g
	best, at := math.Inf(-1), vec{}
	try := func(v vec) bool {
		if w := sign * f.w(v); w > best {
			best, at = w, v
			return true
		}
		return false
	}
	part := 1 / float64(sub)
	for c := range g.cells {
		if g.cells[c].share == 0 {
			continue
		}
		x, y := g.at(c)
		for i := range sub {
			for j := range sub {
				v := vec{x + (float64(i)+0.5)*part*g.hx, y + (float64(j)+0.5)*part*g.hy}
				if keep(v) && (g.cells[c].full || within(g.outline, v) && g.inside(v)) {
					try(v)
				}
			}
		}
	}
	if math.IsInf(best, -1) {
		return 0, at
	}
	for step := math.Max(g.hx, g.hy) * part; step > 1e-8; {
		moved := false
		for _, d := range []vec{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			if v := at.add(d.scale(step)); keep(v) && g.inside(v) && try(v) {
				moved = true
				break
			}
		}
		if !moved {
			step /= 2
		}
	}
	return sign * best, at
}

// BraceState is what a load does to one brace.
type BraceState struct {
	Name string
	// Strain is the largest in size along the brace, at its free edge; Place is where, as a share of its length; + stretched.
	Strain, Place float64
	// Middle is the strain of the free edge halfway along.
	Middle float64
}

// Mode is one natural vibration.
type Mode struct {
	Frequency unit.Frequency
	Shape     Field     // scaled so that its largest deflection is 1 m
	Mass      unit.Mass // which, moving with the largest deflection, has the mode's energy
	Swept     float64   // m² of piston, moving with the largest deflection, that sweeps the mode's volume
}

// Result is what a load does.
type Result struct {
	W         Field
	Rise, Dip unit.Length // largest behind and smallest ahead of the bridge's middle; without bridge load, of the whole plate
	RiseAt    Point
	DipAt     Point
	HasBridge bool
	Rotation  unit.Angle
	Mean      unit.Length
	Reaction  [3]unit.Force // of the rim on the plate, along x, y, z
	Work      float64       // half the load times what it moves, J
	Energy    float64       // in the plate, braces and rim, J
	Braces    []BraceState
	Modes     []Mode
	Unknowns  int
	Entries   int     // of the stiffness's factor, on the finer grid
	Apart     float64 // how far the two grids lie apart, as a share: of the work or of a frequency, whichever is worse
}

// Request is what to work out.
type Request struct {
	Load  Load
	Modes int
}

// Solve puts the braces under the plate and works out what the load does, and the lowest modes.
//
// With two grids (see Options.Single) the bridge's rotation and mean, rise, dip and frequencies are carried on to a vanishing
// cell (Richardson): their error falls with the cell's first power where braces bend the plate sharply, else with its second.
// Fields, strains, reaction and energy are the finer grid's. Errors are *unit.RangeError, or ctx's when it is cancelled.
func (p *Plate) Solve(ctx context.Context, braces []Brace, req Request) (*Result, error) {
	if err := unit.Checks(p.m.CheckBraces(braces), req.Load.Check(&p.m), LimitModes.Check(float64(req.Modes))); err != nil {
		return nil, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	none := func() (*level, error) { return nil, nil }
	if p.coarse == nil {
		r, found, err := p.fine.solve(ctx, braces, req, none)
		if err != nil {
			return nil, err
		}
		r.Modes = p.fine.shapes(found, req.Modes)
		return r, nil
	}
	var rough *Result
	var roughFound *krylov
	var roughErr error
	var wg sync.WaitGroup
	wg.Add(1)
	go func() {
		defer wg.Done()
		rough, roughFound, roughErr = p.coarse.solve(ctx, braces, req, none)
	}()
	r, found, err := p.fine.solve(ctx, braces, req, func() (*level, error) { wg.Wait(); return p.coarse, roughErr })
	wg.Wait()
	if err != nil {
		return nil, err
	}
	if roughErr != nil {
		return nil, roughErr
	}
	r.Modes = p.fine.shapes(found, req.Modes)
	order := 2.0
	if len(braces) > 0 || len(p.m.Patches) > 0 {
		order = 1
	}
	part := 1 / (math.Pow(p.coarse.g.hx/p.fine.g.hx, order) - 1)
	onward := func(fine, coarse float64) float64 { return fine + part*(fine-coarse) }
	r.Rise = unit.Length(onward(float64(r.Rise), float64(rough.Rise)))
	r.Dip = unit.Length(onward(float64(r.Dip), float64(rough.Dip)))
	r.Mean = unit.Length(onward(float64(r.Mean), float64(rough.Mean)))
	r.Rotation = unit.Angle(onward(float64(r.Rotation), float64(rough.Rotation)))
	for i := range r.Modes {
		// In logarithms, so that a frequency stays positive however rough the grid.
		f, c := float64(r.Modes[i].Frequency), float64(frequency(roughFound.values[i]))
		r.Modes[i].Frequency = unit.Frequency(f * math.Pow(f/c, part))
		r.Apart = math.Max(r.Apart, math.Abs(f/c-1))
	}
	slices.SortStableFunc(r.Modes, func(a, b Mode) int { return cmp.Compare(a.Frequency, b.Frequency) })
	if r.Work > 0 {
		r.Apart = math.Max(r.Apart, math.Abs(rough.Work/r.Work-1))
	}
	return r, nil
}

// solve works out a request on one grid. Where there are no modes of last time, they start from those of the grid that
// coarser gives, if any, once they are known.
func (p *level) solve(ctx context.Context, braces []Brace, req Request, coarser func() (*level, error)) (*Result, *krylov, error) {
	if err := p.brace(ctx, braces); err != nil {
		return nil, nil, err
	}
	g := p.g
	f := p.loadVector(&req.Load)
	x := append([]float64(nil), f...)
	p.fa.solve(x, 1)
	// What the sums leave of the load is rounding, some 1e-12 of it; where it is more, it is solved for again.
	r := make([]float64, p.n)
	for round := 0; ; round++ {
		copy(r, f)
		p.stiffTimes(x, r, -1)
		if round == 2 || dot(r, r) <= 1e-20*dot(f, f) {
			break
		}
		p.fa.solve(r, 1)
		for i := range x {
			x[i] += r[i]
		}
	}
	res := &Result{W: Field{g, x, 1}, Unknowns: p.size(), Entries: p.fa.nnz, HasBridge: p.foot != nil, Work: dot(f, x) / 2}
	res.Energy = res.Work - dot(r, x)/2 // K x is f - r
	for a := range 3 {
		s := 0.0
		for i, v := range g.react[a] {
			s += v * x[i]
		}
		res.Reaction[a] = unit.Force(s)
	}
	before, after := func(vec) bool { return true }, func(vec) bool { return true }
	if p.foot != nil {
		var mean, turn float64
		for i, v := range p.foot.mean {
			mean += v * x[i]
			turn += p.foot.turn[i] * x[i]
		}
		res.Mean, res.Rotation = unit.Length(mean), unit.Angle(math.Atan(turn))
		if req.Load.Point == 0 && req.Load.Pressure == 0 {
			xc := float64(p.m.Bridge.Centre.X)
			before, after = func(v vec) bool { return v.x < xc }, func(v vec) bool { return v.x >= xc }
		}
	}
	up, at := res.W.extreme(1, 2, before)
	res.Rise, res.RiseAt = unit.Length(up), Point{unit.Length(at.x), unit.Length(at.y)}
	down, at := res.W.extreme(-1, 2, after)
	res.Dip, res.DipAt = unit.Length(down), Point{unit.Length(at.x), unit.Length(at.y)}
	for i := range p.beams {
		res.Braces = append(res.Braces, g.strainOf(&p.beams[i], x))
	}
	if req.Modes == 0 {
		return res, nil, nil
	}
	var coarse *level
	if p.basis == nil {
		var err error
		if coarse, err = coarser(); err != nil {
			return nil, nil, err
		}
	}
	found, err := p.modes(ctx, req.Modes, p.start(coarse))
	return res, found, err
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

// stiffTimes adds sign·K x to y, half of the elements on each of two processors.
func (p *level) stiffTimes(x, y []float64, sign float64) {
	p.other = zeros(p.other, len(y))
	other := p.other
	half := len(p.elems) / 2
	parallel(2, func(w int) {
		elems, y := p.elems[:half], y
		if w == 1 {
			elems, y = p.elems[half:], other
		}
		var loc [2 * nCell]float64
		for i := range elems {
			e := &elems[i]
			n := len(e.dofs)
			for a, d := range e.dofs {
				loc[a] = sign * x[d]
			}
			for a, d := range e.dofs {
				s := 0.0
				for b, v := range e.k[a*n : a*n+n] {
					s += v * loc[b]
				}
				y[d] += s
			}
		}
	})
	for i, v := range other {
		y[i] += v
	}
}

// strainOf finds the strain along a brace's free edge: the largest, and that halfway along.
func (g *grid) strainOf(m *beam, x []float64) BraceState {
	out := BraceState{Name: m.b.Name}
	var before, after float64
	from, to := math.Inf(-1), math.Inf(1)
	g.stations(m, 2, 1, func(c int, st *station) {
		e := 0.0
		for i, d := range g.unknowns(c) {
			e += st.stretch[i] * x[d]
		}
		for q := range 3 {
			e -= st.height * st.dps[q] * x[int(m.first)+st.k+q]
		}
		if math.Abs(e) > math.Abs(out.Strain) {
			out.Strain, out.Place = e, st.s
		}
		if st.s <= 0.5 && st.s > from {
			from, before = st.s, e
		} else if st.s > 0.5 && st.s < to {
			to, after = st.s, e
		}
	})
	out.Middle = before + (after-before)*(0.5-from)/(to-from)
	return out
}
