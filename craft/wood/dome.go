package wood

import (
	"math"

	"fairset/unit"
)

// Braced is a strip of a top with the brace that crosses its grain: as wide as the braces stand apart.
type Braced struct {
	Width, Thickness unit.Length // of the strip of top
	Modulus          unit.Stress // of the top across its grain
	BraceWidth       unit.Length
	BraceHeight      unit.Length
	BraceModulus     unit.Stress // of the brace along its grain
}

func (b Braced) check() error {
	return unit.Checks(need("strip_width", float64(b.Width)), need("thickness", float64(b.Thickness)), need("across_modulus", float64(b.Modulus)),
		need("brace_width", float64(b.BraceWidth)), need("brace_height", float64(b.BraceHeight)), need("modulus", float64(b.BraceModulus)))
}

// stiffness returns the two parts' stiffness in stretch and in bending, and how far apart their middles lie.
func (b Braced) stiffness() (ea1, ea2, ei1, ei2, d float64) {
	h, t := float64(b.BraceHeight), float64(b.Thickness)
	ea1 = float64(b.Modulus) * float64(b.Width) * t
	ea2 = float64(b.BraceModulus) * float64(b.BraceWidth) * h
	return ea1, ea2, ea1 * t * t / 12, ea2 * h * h / 12, (t + h) / 2
}

// Curvature returns how much the strip bows, in 1/m, when its top would by itself grow by a share strain and
// its brace not at all: + arches it, the top outside.
//
//	κ = S d ε/(EI1 + EI2 + S d²),  S = EA1 EA2/(EA1 + EA2)
//
// Free of the rim, glued along the whole of the brace, no creep: an upper bound for a built guitar. Errors
// are *unit.RangeError naming the field; strain must lie within 0.1 either way.
// Source: S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233-255.
func (b Braced) Curvature(strain float64) (float64, error) {
	if err := unit.Checks(b.check(), need("strain", strain)); err != nil {
		return 0, err
	}
	ea1, ea2, ei1, ei2, d := b.stiffness()
	s := ea1 * ea2 / (ea1 + ea2)
	return s * d * strain / (ei1 + ei2 + s*d*d), nil
}

// Radius is a dome's radius after its curvature has changed, 0 for flat and negative for hollow. A start of
// 0 is flat.
func Radius(start unit.Length, curvature float64) unit.Length {
	k := curvature
	if start != 0 {
		k += 1 / float64(start)
	}
	if k == 0 {
		return 0
	}
	return unit.Length(1 / k)
}

// Rise is how far the middle of a strip comes up over its ends when its curvature changes: κ a²/2, with a
// the half span; the shallow arc's figure, right to one part in a thousand for any dome of a guitar.
func Rise(curvature float64, half unit.Length) unit.Length {
	return unit.Length(curvature * float64(half) * float64(half) / 2)
}

// Held is the share of the top's own movement that the brace alone holds back where it is glued: what is
// left of it is stress.
func (b Braced) Held() float64 {
	ea1, ea2, _, _, _ := b.stiffness()
	return ea2 / (ea1 + ea2)
}

// Danger says how near a top comes to cracking along the grain.
type Danger struct {
	Strain  float64     // what the wood would shrink by if it could, as a share
	Stress  unit.Stress // what holding it back pulls across the grain
	Breaks  unit.Stress // strength in tension across the grain; 0 when no table gives it
	Share   float64     // Stress over Breaks; with no strength, Strain over UsualStrain
	Guessed bool        // no strength is known: Share is by strain
	Level   Level
}

// Level is how loudly to warn.
type Level int

// The levels.
const (
	Quiet Level = iota
	Watch       // half the way to breaking
	Crack       // all the way
)

// UsualStrain is the strain across the grain at which wood is taken to crack where no table gives its
// strength: common practice, no source.
const UsualStrain = 0.003

// CrackDanger says how near drying brings a piece whose width is held: by braces and rim for a top.
//
//	stress = held × E across × coefficient × (from - to)
//
// held is the share that cannot move, 1 for all of it. Elastic, with no creep, which eases wood that dries
// slowly: so it is the cautious side. Swelling gives Quiet. Source: Hooke's law; strength in tension across
// the grain, Wood Handbook table 5-3a (from memory), mean of a kind that differs by a quarter from board to
// board.
func CrackDanger(s Species, across unit.Stress, held float64, from, to Percent) Danger {
	d := Danger{Strain: max(0, s.Radial*float64(from-to)) * held, Breaks: s.Across}
	d.Stress = unit.Stress(d.Strain * float64(across))
	if s.Across > 0 && across > 0 {
		d.Share = float64(d.Stress / s.Across)
	} else {
		d.Share, d.Guessed = d.Strain/UsualStrain, true
	}
	switch {
	case d.Share >= 1:
		d.Level = Crack
	case d.Share >= 0.5:
		d.Level = Watch
	}
	return d
}

// root of the sum of squares
func hypot(vs ...float64) float64 {
	sum := 0.0
	for _, v := range vs {
		sum += v * v
	}
	return math.Sqrt(sum)
}
