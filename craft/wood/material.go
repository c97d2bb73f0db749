package wood

import (
	"math"

	"fairset/unit"
)

// Cut is how a board or brace was sawn.
type Cut string

// The cuts.
const (
	Quartersawn Cut = "quartersawn" // rings stand across the thickness: R in the width, T in the thickness
	Flatsawn    Cut = "flatsawn"    // rings lie in the width: T in the width, R in the thickness
)

// Orthotropic is a material in its own axes: 1 along the grain, 2 across the width, 3 through the thickness.
// Nu12 is the contraction along 2 under stress along 1; Nu12/E1 = Nu21/E2, and so on.
type Orthotropic struct {
	E1, E2, E3       unit.Stress
	Nu12, Nu13, Nu23 float64
	G12, G13, G23    unit.Stress
	Density          unit.Density
}

// Borrowed is a ratio that another wood stood in for.
type Borrowed struct {
	Ratio string      // "G_RT/E_L"
	From  unit.Text   // the other wood's name
	Why   unit.Phrase // how near it is
}

// Board is one piece of wood: its kind, and what was measured of it, which goes before the kind's mean.
// Modulus and Density of 0 are not measured.
type Board struct {
	Species Species
	Cut     Cut
	Modulus unit.Stress // along the grain
	Density unit.Density
}

// Material returns the constants of a board for a plate or beam.
//
// They are built from L-R, L-T and R-T of the tables and the moduli, so that nu_ij/E_i = nu_ji/E_j holds; the
// tables' own reverse ratios, measured one by one, do not satisfy it exactly. A measured modulus scales all
// stiffnesses alike. The modulus counts no shear as bending: a model with shear uses it as it is.
//
// A missing ratio is taken from the species' proxy and listed. Errors are *unit.RangeError on species (no
// modulus is known and none is measured), modulus or density. Source: Wood Handbook, FPL-GTR-282, chapter 5.
func (b Board) Material() (Orthotropic, []Borrowed, error) {
	s := b.Species
	E, rho := b.Modulus, b.Density
	if E == 0 {
		E = s.Modulus
	}
	if rho == 0 {
		rho = s.Density
	}
	lacks := func(what any) error {
		return &unit.RangeError{Limit: unit.Limit{Field: "species", Label: unit.Say("wood"), Kind: unit.KindChoice}, Found: unit.Say(s.Name), Why: unit.Say("no table gives its %v: measure your own board", what)}
	}
	if E == 0 {
		return Orthotropic{}, nil, lacks(unit.Text("modulus"))
	}
	if rho == 0 {
		return Orthotropic{}, nil, lacks(unit.Text("density"))
	}
	if err := unit.Checks(need("modulus", float64(E)), need("density", float64(rho))); err != nil {
		return Orthotropic{}, nil, err
	}
	r, borrowed := s.Ratios, []Borrowed(nil)
	proxy, ok := Find(s.Proxy)
	for _, f := range []struct {
		name string
		mine *float64
		its  float64
	}{
		{"E_T/E_L", &r.ET, proxy.Ratios.ET}, {"E_R/E_L", &r.ER, proxy.Ratios.ER}, {"G_LR/E_L", &r.GLR, proxy.Ratios.GLR},
		{"G_LT/E_L", &r.GLT, proxy.Ratios.GLT}, {"G_RT/E_L", &r.GRT, proxy.Ratios.GRT},
		{"nu_LR", &r.LR, proxy.Ratios.LR}, {"nu_LT", &r.LT, proxy.Ratios.LT}, {"nu_RT", &r.RT, proxy.Ratios.RT},
	} {
		if *f.mine != 0 {
			continue
		}
		from := proxy
		why := unit.Say(s.ProxyWhy)
		if f.its == 0 { // the stand-in lacks it too: its own stand-in
			from, ok = Find(proxy.Proxy)
			why = unit.Say("standing in for %v, %v", proxy.Name, proxy.ProxyWhy)
			f.its = map[string]float64{"G_RT/E_L": from.Ratios.GRT, "G_LT/E_L": from.Ratios.GLT}[f.name]
		}
		if !ok || f.its == 0 {
			return Orthotropic{}, nil, lacks(f.name)
		}
		*f.mine = f.its
		borrowed = append(borrowed, Borrowed{f.name, from.Name, why})
	}
	e := float64(E)
	m := Orthotropic{E1: E, E2: unit.Stress(r.ER * e), E3: unit.Stress(r.ET * e), Nu12: r.LR, Nu13: r.LT, Nu23: r.RT,
		G12: unit.Stress(r.GLR * e), G13: unit.Stress(r.GLT * e), G23: unit.Stress(r.GRT * e), Density: rho}
	if b.Cut == Flatsawn {
		m = m.turned()
	}
	return m, borrowed, nil
}

// turned swaps the axes across the grain.
func (m Orthotropic) turned() Orthotropic {
	return Orthotropic{E1: m.E1, E2: m.E3, E3: m.E2, Nu12: m.Nu13, Nu13: m.Nu12, Nu23: m.Nu23 * float64(m.E3/m.E2),
		G12: m.G13, G13: m.G12, G23: m.G23, Density: m.Density}
}

// Stable reports whether the constants can be those of a material: every strain stores energy.
func (m Orthotropic) Stable() bool {
	if min(m.E1, m.E2, m.E3, m.G12, m.G13, m.G23) <= 0 {
		return false
	}
	n21 := m.Nu12 * float64(m.E2/m.E1)
	n31 := m.Nu13 * float64(m.E3/m.E1)
	n32 := m.Nu23 * float64(m.E3/m.E2)
	return math.Abs(m.Nu12) < math.Sqrt(float64(m.E1/m.E2)) && math.Abs(m.Nu13) < math.Sqrt(float64(m.E1/m.E3)) && math.Abs(m.Nu23) < math.Sqrt(float64(m.E2/m.E3)) &&
		1-m.Nu12*n21-m.Nu23*n32-m.Nu13*n31-2*n21*n32*m.Nu13 > 0
}

// String says a borrowed ratio in a sentence.
func (b Borrowed) Say() unit.Phrase {
	return unit.Say("%s is that of %v (%v)", b.Ratio, b.From, b.Why)
}

// ShearRatio is the shear modulus over the modulus along the grain that a bending test on the board's face
// meets, as far as the tables give it; 0 when they do not.
func (b Board) ShearRatio() float64 {
	if b.Cut == Flatsawn {
		return b.Species.Ratios.GLR
	}
	return b.Species.Ratios.GLT
}
