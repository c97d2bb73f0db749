package store

import (
	"fmt"
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
			which := ""
			if len(rs) > 1 {
				which = fmt.Sprintf("reading %d: ", i+1)
			}
			return nil, Errorf(Invalid, err, "%s%s", which, err)
		}
		out[i] = n
	}
	return out, nil
}

// NoReading is the error for a reading of the air that is not here.
func NoReading(at time.Time, place string) *Error {
	where := ""
	if place != "" {
		where = fmt.Sprintf(" at %q", place)
	}
	return Errorf(NotFound, nil, "There is no reading of %s%s here.", at.UTC().Format(time.RFC3339), where)
}
