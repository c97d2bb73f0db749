// Package unit gives the quantities of the trade small named types in SI, reads what a maker types and
// writes figures the way a maker says them.
//
// Everything inside the program is metres, radians, newtons; millimetres, inches and degrees appear only
// where a person types or reads. Conversions from inches and millimetres are exact: a typed fraction is
// held as a ratio of whole numbers until the nearest float64 in metres is taken once.
package unit

import "math"

// Length is a length in metres. 25.4 mm is exactly one inch.
type Length float64

// Angle is an angle in radians.
type Angle float64

// Force is a force in newtons.
type Force float64

// Mass is a mass in kilograms.
type Mass float64

// Stress is a stress or modulus in pascals.
type Stress float64

// Density is a density in kg/m³.
type Density float64

// Frequency is a frequency in hertz.
type Frequency float64

// Lengths, angles and forces to write literals with: 648 * unit.MM, 25.5 * unit.Inch, 1.5 * unit.Degree.
const (
	Metre  Length = 1
	CM     Length = 1e-2
	MM     Length = 1e-3
	Inch   Length = 0.0254
	Thou   Length = 0.0254e-3
	Degree Angle  = math.Pi / 180
	Newton Force  = 1
	// PoundForce is exact: 0.45359237 kg × 9.80665 m/s². source: international avoirdupois pound (1959) and standard gravity (CGPM 1901).
	PoundForce Force = 0.45359237 * 9.80665
)

// MM returns the length in millimetres.
func (l Length) MM() float64 { return float64(l) * 1000 }

// Inches returns the length in inches.
func (l Length) Inches() float64 { return float64(l) / 0.0254 }

// Abs returns the length without its sign.
func (l Length) Abs() Length { return Length(math.Abs(float64(l))) }

// Finite reports whether the length is an ordinary number.
func (l Length) Finite() bool { return Finite(float64(l)) }

// Degrees returns the angle in degrees.
func (a Angle) Degrees() float64 { return float64(a) * (180 / math.Pi) }

// Finite reports whether v is neither NaN nor infinite.
func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
