package wood

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Reading is a figure as read and how sure it is, as a standard deviation; both SI.
type Reading struct{ Value, SD float64 }

// Estimate is what readings come to.
type Estimate struct {
	Value, SD float64
	From      string // the reading most of the doubt comes from, by its field
}

// power is a reading and the power it enters a product with.
type power struct {
	field string
	read  Reading
	to    float64
}

// product multiplies readings to their powers: its relative spread is the root of the sum of each one's own
// times its power, to first order.
func product(factor float64, parts []power) Estimate {
	e := Estimate{Value: factor}
	sum, most := 0.0, 0.0
	for _, p := range parts {
		e.Value *= math.Pow(p.read.Value, p.to)
		part := math.Abs(p.to) * p.read.SD / p.read.Value
		sum += part * part
		if part > most {
			most, e.From = part, p.field
		}
	}
	e.SD = math.Abs(e.Value) * math.Sqrt(sum)
	return e
}

// readable checks readings and their spreads: a spread may not pass a third of its figure, or it is no
// reading.
func readable(parts []power) error {
	for _, p := range parts {
		if err := need(p.field, p.read.Value); err != nil {
			return err
		}
		if !(p.read.SD >= 0 && p.read.SD <= p.read.Value/3) {
			l := limits[p.field]
			l.Field, l.Label, l.Min, l.Max = p.field+"_sd", unit.Say("spread of the %v", l.Label), 0, p.read.Value/3
			return &unit.RangeError{Limit: l, Value: p.read.SD, Why: unit.Say("a spread is 0 or more, and at most a third of its reading")}
		}
	}
	return nil
}

// Weigh returns a board's density from its mass and its sides: mass over length × width × thickness.
// Errors are *unit.RangeError naming mass, length, width or thickness, or one's spread.
func Weigh(mass, length, width, thickness Reading) (Estimate, error) {
	parts := []power{{"mass", mass, 1}, {"length", length, -1}, {"width", width, -1}, {"thickness", thickness, -1}}
	if err := readable(parts); err != nil {
		return Estimate{}, err
	}
	e := product(1, parts)
	return e, need("density", e.Value)
}

// Modulus is a board's stiffness along its length.
type Modulus struct {
	Estimate          // shear taken out
	Apparent Estimate // as if all of the sag were bending
	Shear    float64  // share of the sag, or of the tap test's softening, that was shear
}

// Sag is a board laid on two edges and loaded in the middle, or clamped at one end and loaded at the other.
type Sag struct {
	Span       Reading // between the edges, or clamp to load
	Load       Reading // N: 9.81 times the mass in kg
	Deflection Reading // at the load, from the reading without it
	Width      Reading
	Thickness  Reading
	Cantilever bool
	ShearRatio float64 // G/E of the wood in the plane of bending (G_LR/E_L or G_LT/E_L); 0 leaves shear in
}

// Modulus returns what a sag test comes to.
//
//	three points: E = P L³/(4 b h³ w),   cantilever: E = 4 P L³/(b h³ w)
//	shear taken out: E = E_apparent + shear,  share s = 1.2 (E/G)(h/L)², a cantilever's a quarter of it
//
// At the handbook's span of 14 depths and G/E = 1/16 the share is a tenth: the same tenth by which the
// handbook raises its bending modulus. So a modulus from here with its shear taken out stands beside
// Species.Modulus, one with shear left in beside Species.Bending. Warns when the sag passes a fiftieth of the
// span (no longer small), or the span is under 12 depths.
// Errors are *unit.RangeError naming the reading. Source: beam theory (Timoshenko); Wood Handbook,
// FPL-GTR-282, chapter 5 for the tenth.
func (s Sag) Modulus() (Modulus, []unit.Warning, error) {
	parts := []power{{"load", s.Load, 1}, {"span", s.Span, 3}, {"width", s.Width, -1}, {"thickness", s.Thickness, -3}, {"deflection", s.Deflection, -1}}
	if err := unit.Checks(readable(parts), need("shear_ratio", s.ShearRatio)); err != nil {
		return Modulus{}, nil, err
	}
	factor, spans := 0.25, 1.0
	if s.Cantilever {
		factor, spans = 4, 0.25
	}
	m := Modulus{Apparent: product(factor, parts)}
	slender := s.Thickness.Value / s.Span.Value
	part := 0.0
	if s.ShearRatio > 0 {
		part = spans * 1.2 / s.ShearRatio * slender * slender
	}
	m.Estimate = m.Apparent
	m.Value *= 1 + part
	m.SD *= 1 + part
	m.Shear = part / (1 + part)
	var warn []unit.Warning
	if s.Deflection.Value > s.Span.Value/50 {
		warn = append(warn, unit.Warning{Code: "sag_not_small", Field: "deflection", Say: unit.Say("The board sags by more than a fiftieth of the span: take less load, or the figure comes out wrong.")})
	}
	if slender > 1.0/12 {
		warn = append(warn, unit.Warning{Code: "span_short", Field: "span", Say: unit.Say("The span is under twelve thicknesses: much of the sag is shear. Use a longer span.")})
	}
	return m, warn, checkModulus(m)
}

// Tap is a strip hung or held at its nodes, 22.4 % in from each end, tapped in the middle: its lowest note.
type Tap struct {
	Mass, Length, Width, Thickness Reading
	Frequency                      Reading // Hz
	ShearRatio                     float64 // as in Sag; 0 leaves shear and turning in
}

// Modulus returns what a tap test comes to.
//
//	E = 0.94642 (m f²/b)(L³/t³),   0.94642 = 48 π²/β⁴, β = 4.73004
//	shear and turning taken out: times 1 + (t/L)² (49.48 + 12.30 E/(5/6 G))/12
//
// Warns when the strip is under twenty times as long as thick. A piece wider than a third of its length is a
// plate and rings otherwise: warned of too. Errors are *unit.RangeError naming the reading.
// Source: ASTM E1876 (its 0.9465 and, for ν = 0, its 6.585 (t/L)²); R. F. S. Hearmon, Br. J. Appl. Phys. 9
// (1958) for other E/G (from memory).
func (t Tap) Modulus() (Modulus, []unit.Warning, error) {
	parts := []power{{"mass", t.Mass, 1}, {"frequency", t.Frequency, 2}, {"width", t.Width, -1}, {"length", t.Length, 3}, {"thickness", t.Thickness, -3}}
	if err := unit.Checks(readable(parts), need("shear_ratio", t.ShearRatio)); err != nil {
		return Modulus{}, nil, err
	}
	const beta = 4.730040744862704 // first root of cos β cosh β = 1
	m := Modulus{Apparent: product(48*math.Pi*math.Pi/(beta*beta*beta*beta), parts)}
	slender := t.Thickness.Value / t.Length.Value
	part := 0.0
	if t.ShearRatio > 0 {
		part = slender * slender * (49.48 + 12.30/(5.0/6*t.ShearRatio)) / 12
	}
	m.Estimate = m.Apparent
	m.Value *= 1 + part
	m.SD *= 1 + part
	m.Shear = part / (1 + part)
	var warn []unit.Warning
	if slender > 1.0/20 {
		warn = append(warn, unit.Warning{Code: "strip_short", Field: "length", Say: unit.Say("The strip is under twenty thicknesses long: shear softens its note. Tap a longer strip.")})
	}
	if t.Width.Value > t.Length.Value/3 {
		warn = append(warn, unit.Warning{Code: "strip_wide", Field: "width", Say: unit.Say("The piece is wider than a third of its length: it rings as a plate and the figure is rough. Tap a narrower strip.")})
	}
	return m, warn, checkModulus(m)
}

// checkModulus refuses a modulus no wood has: a reading must be wrong.
func checkModulus(m Modulus) error {
	err := limits["board_modulus"].Check(m.Value)
	if re, ok := err.(*unit.RangeError); ok {
		re.Why = unit.Say("no wood is so: one of the readings must be wrong, most likely a unit")
	}
	return err
}

// Agree joins two estimates of one figure, each weighed by how sure it is, and warns when they differ by
// more than twice what their spreads allow.
func Agree(a, b Estimate) (Estimate, []unit.Warning) {
	if a.SD == 0 || b.SD == 0 {
		if b.SD == 0 {
			a = b
		}
		return a, nil
	}
	wa, wb := 1/(a.SD*a.SD), 1/(b.SD*b.SD)
	out := Estimate{Value: (a.Value*wa + b.Value*wb) / (wa + wb), SD: 1 / math.Sqrt(wa+wb), From: a.From}
	if b.SD < a.SD {
		out.From = b.From
	}
	if apart := math.Abs(a.Value - b.Value); apart > 2*hypot(a.SD, b.SD) {
		return out, []unit.Warning{{Code: "tests_disagree", Field: "frequency",
			Say: unit.Say("The two tests differ by %v GPa, more than their spreads allow: measure the thickness again and repeat one.", fmt.Sprintf("%.1f", apart/1e9))}}
	}
	return out, nil
}
