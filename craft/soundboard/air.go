package soundboard

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Body is the air a top closes in.
type Body struct {
	Volume      float64     // m³
	Hole        unit.Length // radius of the soundhole
	Temperature float64     // °C
}

// Coupled are the two natural frequencies of the top's lowest mode and the body's air together, and what each would be alone.
type Coupled struct {
	Air   unit.Frequency // of the air in the hole against a stiff body
	Low   unit.Frequency
	High  unit.Frequency
	Swept float64 // m² of piston that sweeps the volume the mode sweeps
}

// Couple puts air into the body, under a mode of the top: the top is a piston of the mode's mass and swept area, the air in the
// hole another, and the air inside their common spring. The back and sides are stiff. An estimate.
//
//	ω² = (ωp² + ωx² + ωa²)/2 ± sqrt((ωp² + ωx² - ωa²)²/4 + ωx² ωa²)
//	ωx² = κ A²/m, ωa² = κ S²/mh, κ = ρ c²/V, mh = ρ S (h + 1.7 r)
//
// Source: Christensen & Vistisen, J. Acoust. Soc. Am. 68, 1980; Caldersmith, J. Acoust. Soc. Am. 63, 1978; end correction 0.85 r
// a side, Rayleigh, Theory of Sound (all from memory). Errors are *unit.RangeError.
func Couple(top *Model, mode *Mode, b Body) (Coupled, error) {
	if !unit.Finite(b.Volume) || b.Volume < 1e-4 || b.Volume > 1 {
		return Coupled{}, refuse("volume", "volume of the body", fmt.Sprintf("%g m³", b.Volume), "it must lie from 0.0001 to 1 m³")
	}
	if err := named(LimitRadius, "hole").CheckOffering(float64(b.Hole)); err != nil {
		return Coupled{}, err
	}
	if !unit.Finite(b.Temperature) || b.Temperature < -30 || b.Temperature > 60 {
		return Coupled{}, refuse("temperature", "temperature", fmt.Sprintf("%g °C", b.Temperature), "it must lie from -30 to 60 °C")
	}
	kelvin := 273.15 + b.Temperature
	rho := 101325 / (287.05 * kelvin)     // dry air at standard pressure
	c := math.Sqrt(1.4 * 287.05 * kelvin) // ideal gas
	r := float64(b.Hole)
	s := math.Pi * r * r
	kappa := rho * c * c / b.Volume
	wa := kappa * s / (rho * (float64(top.Thickness) + 1.7*r))
	wp := math.Pow(2*math.Pi*float64(mode.Frequency), 2)
	wx := kappa * mode.Swept * mode.Swept / float64(mode.Mass)
	mid, half := (wp+wx+wa)/2, math.Sqrt((wp+wx-wa)*(wp+wx-wa)/4+wx*wa)
	hz := func(w float64) unit.Frequency { return unit.Frequency(math.Sqrt(w) / (2 * math.Pi)) }
	// The product of both is ωp² ωa²; so the smaller is found without loss.
	return Coupled{Air: hz(wa), Low: hz(wp * wa / (mid + half)), High: hz(mid + half), Swept: math.Abs(mode.Swept)}, nil
}
