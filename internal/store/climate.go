package store

import (
	"time"

	"fairset/craft/climate"
)

// ClimateAdded says what became of readings of the air that were handed over.
type ClimateAdded struct {
	Added  int
	Same   int               // here already, to the tenth
	Differ []climate.Reading // kept out: another figure is here for the same time and place
}

// NormalClimate returns readings as they will come back. One that may not be kept is Invalid and says which.
func NormalClimate(rs []climate.Reading) ([]climate.Reading, error) {
	out := make([]climate.Reading, len(rs))
	for i, r := range rs {
		n, err := r.Normal()
		if err != nil {
			if len(rs) > 1 {
				return nil, Errorf(Invalid, err, "reading %d: %v", i+1, err)
			}
			return nil, Errorf(Invalid, err, "%v", err)
		}
		out[i] = n
	}
	return out, nil
}

// NoReading is the error for a reading of the air that is not here.
func NoReading(at time.Time, place string) *Error {
	if place != "" {
		return Errorf(NotFound, nil, "There is no reading of %s at %q here.", at.UTC().Format(time.RFC3339), place)
	}
	return Errorf(NotFound, nil, "There is no reading of %s here.", at.UTC().Format(time.RFC3339))
}
