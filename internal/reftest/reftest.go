// Package reftest holds what tests of figures share: comparison within a stated tolerance, and the check
// that bad input is answered by naming the field.
package reftest

import (
	"errors"
	"math"

	"fairset/unit"
)

// TB is what is asked of a test: *testing.T, *testing.B, *testing.F and property checks have it.
type TB interface {
	Helper()
	Errorf(format string, args ...any)
}

// WorkedCase is the tolerance of the independent worked cases, in the unit they are printed in (mm, deg).
const WorkedCase = 1e-6

// Near fails the test when got lies further from want than tol, or is not a finite number.
func Near(t TB, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.IsInf(got, 0) || math.Abs(got-want) > tol {
		t.Errorf("%s: got %.10g, want %.10g within %.3g (off by %.3g)", what, got, want, tol, got-want)
	}
}

// NearMM compares a length with a figure in millimetres.
func NearMM(t TB, what string, got unit.Length, wantMM, tolMM float64) {
	t.Helper()
	Near(t, what+" in mm", got.MM(), wantMM, tolMM)
}

// NearDeg compares an angle with a figure in degrees.
func NearDeg(t TB, what string, got unit.Angle, wantDeg, tolDeg float64) {
	t.Helper()
	Near(t, what+" in degrees", got.Degrees(), wantDeg, tolDeg)
}

// RangeError fails the test unless err is a *unit.RangeError naming the field, and returns it.
func RangeError(t TB, err error, field string) *unit.RangeError {
	t.Helper()
	var re *unit.RangeError
	if !errors.As(err, &re) {
		t.Errorf("want a range error for %q, got %v", field, err)
		return nil
	}
	if re.Field != field {
		t.Errorf("error names field %q, want %q: %v", re.Field, field, err)
	}
	return re
}
