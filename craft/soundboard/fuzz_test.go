package soundboard

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fairset/unit"
)

// drawn makes numbers of a fuzzer's bytes: each byte is one number of a range, or now and then something wild.
type drawn struct{ from []byte }

func (d *drawn) byte() byte {
	if len(d.from) == 0 {
		return 128
	}
	b := d.from[0]
	d.from = d.from[1:]
	return b
}

func (d *drawn) num(lo, hi float64) float64 {
	wild := [...]float64{0, -1, 1e-9, 1e9, math.Inf(1), math.NaN(), 1e308}
	b := d.byte()
	if b == 255 {
		if k := int(d.byte()); k < len(wild) {
			return wild[k]
		}
	}
	return lo + (hi-lo)*float64(b)/255
}

func (d *drawn) point(size float64) Point {
	return Point{unit.Length(d.num(-size, size)), unit.Length(d.num(-size, size))}
}

func (d *drawn) material() Material {
	m := topSpruce
	if d.byte() > 200 {
		m = Material{E1: unit.Stress(math.Pow(10, d.num(4, 13))), E2: unit.Stress(math.Pow(10, d.num(4, 13))), E3: unit.Stress(math.Pow(10, d.num(4, 13))),
			Nu12: d.num(-1, 1), Nu13: d.num(-1, 1), Nu23: d.num(-1, 1),
			G12: unit.Stress(math.Pow(10, d.num(4, 13))), G13: unit.Stress(math.Pow(10, d.num(4, 13))), G23: unit.Stress(math.Pow(10, d.num(4, 13))), Density: unit.Density(d.num(1, 30000))}
	}
	return m
}

// model makes a top from bytes: a star-shaped outline mostly, now and then any polygon.
func (d *drawn) model() (Model, []Brace, Request) {
	m := Model{Thickness: unit.Length(d.num(0.2e-3, 12e-3)), Material: d.material(), Grain: [2]float64{d.num(-1, 1), d.num(-1, 1)}, Edge: []Edge{Clamped, Simple, Elastic, "glued"}[min(3, d.byte()/80)], RimStiffness: d.num(0, 1e5)}
	n := 3 + int(d.byte()%10)
	star := d.byte() < 220
	for i := range n {
		if star {
			y, x := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := d.num(0.08, 0.3)
			m.Outline = append(m.Outline, Point{unit.Length(r * x), unit.Length(r * y)})
		} else {
			m.Outline = append(m.Outline, d.point(0.3))
		}
	}
	if d.byte() > 180 {
		m.DomeRadius = unit.Length(d.num(-8, 8))
	}
	for range d.byte() % 3 {
		m.Holes = append(m.Holes, Hole{d.point(0.1), unit.Length(d.num(0, 0.06))})
	}
	for range d.byte() % 3 {
		c, a, b := d.point(0.08), unit.Length(d.num(0.002, 0.05)), unit.Length(d.num(0.002, 0.05))
		q := Patch{Corners: [4]Point{{c.X - a, c.Y - b}, {c.X + a, c.Y - b}, {c.X + a, c.Y + b}, {c.X - a, c.Y + b}}, Thickness: unit.Length(d.num(0.05e-3, 6e-3)), Side: Side(d.byte() % 2), Grain: [2]float64{d.num(-1, 1), d.num(-1, 1)}, Material: d.material()}
		if d.byte() > 230 {
			q.Corners[d.byte()%4] = d.point(0.2)
		}
		m.Patches = append(m.Patches, q)
	}
	if d.byte() > 90 {
		m.Bridge = &Bridge{Centre: d.point(0.05), Length: unit.Length(d.num(0.001, 0.05)), Width: unit.Length(d.num(0.001, 0.15)), Mass: unit.Mass(d.num(0, 0.05))}
	}
	var braces []Brace
	for range d.byte() % 5 {
		b := Brace{From: d.point(0.12), To: d.point(0.12), Width: unit.Length(d.num(0.4e-3, 20e-3)), Material: d.material()}
		last := int(d.byte() % 3)
		for k := range 1 + last {
			at := float64(k) / float64(max(1, last))
			if d.byte() > 240 {
				at = d.num(-0.1, 1.1)
			}
			b.Heights = append(b.Heights, Station{at, unit.Length(d.num(0.2e-3, 30e-3))})
		}
		braces = append(braces, b)
	}
	req := Request{Modes: int(d.byte() % 5)}
	switch d.byte() % 4 {
	case 0:
		req.Load = Load{Moment: d.num(-20, 20), Pull: unit.Force(d.num(-900, 900))}
	case 1:
		req.Load = Load{Pressure: unit.Stress(d.num(-500, 500))}
	case 2:
		req.Load = Load{Point: unit.Force(d.num(-50, 50)), At: d.point(0.1)}
	default:
		req.Load = Load{Lift: unit.Force(d.num(-50, 50)), Pressure: unit.Stress(d.num(-500, 500))}
	}
	return m, braces, req
}

// Any top is refused with the field named, or has a finite answer that holds together: never a panic, a number that is none, or no end.
func FuzzModel(f *testing.F) {
	f.Add([]byte{})
	random := rand.New(rand.NewPCG(1, 2))
	for range 60 { // about one in twelve is a top that can be
		seed := make([]byte, 150)
		for i := range seed {
			seed[i] = byte(random.Uint32())
		}
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, from []byte) {
		d := drawn{from}
		m, braces, req := d.model()
		ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
		defer stop()
		err := m.Check()
		var r *Result
		if err == nil {
			p := &Plate{m: m}
			p.fine = newLevel(&p.m, 5, Options{Once: true}) // fewer cells than anyone may ask for, to try more tops
			r, err = p.Solve(ctx, braces, req)
		}
		if err != nil {
			var re *unit.RangeError
			if !errors.As(err, &re) || re.Field == "" {
				t.Fatalf("no field is named: %v", err)
			}
			return
		}
		for name, v := range map[string]float64{"rise": float64(r.Rise), "dip": float64(r.Dip), "rotation": float64(r.Rotation), "mean": float64(r.Mean), "work": r.Work, "energy": r.Energy,
			"reaction x": float64(r.Reaction[0]), "reaction y": float64(r.Reaction[1]), "reaction z": float64(r.Reaction[2])} {
			if !unit.Finite(v) {
				t.Errorf("%s is %g", name, v)
			}
		}
		if r.Work < 0 || r.Energy < -1e-9*r.Work {
			t.Errorf("the load works %g J, the top holds %g J", r.Work, r.Energy)
		}
		for _, b := range r.Braces {
			if !unit.Finite(b.Strain) || !unit.Finite(b.Middle) || b.Place < 0 || b.Place > 1 || math.Abs(b.Middle) > math.Abs(b.Strain)*(1+1e-12) {
				t.Errorf("brace %+v", b)
			}
		}
		last := unit.Frequency(0)
		for i, mode := range r.Modes {
			if !unit.Finite(float64(mode.Frequency)) || mode.Frequency < last || mode.Frequency <= 0 || !unit.Finite(float64(mode.Mass)) {
				t.Errorf("mode %d: %+v", i+1, mode)
			}
			last = mode.Frequency
		}
		m.Doubts(braces, r)
	})
}
