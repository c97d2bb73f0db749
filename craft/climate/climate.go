// Package climate keeps what a shop's air was: readings of temperature and humidity by place and time, read
// from the files of any logger, and what they mean for wood.
//
// Temperatures are °C, humidity is relative and in percent, times are moments; a file's own times, which
// name no zone, are taken in the zone the caller gives.
package climate

import (
	"bytes"
	"encoding/csv"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"fairset/craft/wood"
	"fairset/unit"
)

// Reading is the air at one place and time.
type Reading struct {
	At          time.Time // to the second, UTC
	Place       string    // may be empty
	Temperature float64   // °C
	Humidity    float64   // % relative
}

// MostPlace bounds a place's name, in characters.
const MostPlace = 60

// The years a reading can be of.
const (
	firstYear = 1990
	lastYear  = 2099
)

// Normal returns the reading as it is kept: the place's spaces tidied, the time in whole seconds UTC. Errors
// are *unit.RangeError naming at, place, temperature (-20 to 60 °C) or relative_humidity (1 to 99 %).
func (r Reading) Normal() (Reading, error) {
	r.At = r.At.UTC().Truncate(time.Second)
	r.Place = strings.Join(strings.Fields(r.Place), " ")
	if y := r.At.Year(); y < firstYear || y > lastYear {
		return r, &unit.RangeError{Limit: unit.Limit{Field: "at", Label: unit.Say("time"), Kind: unit.KindText}, Got: r.At.Format("2006-01-02"), Value: math.NaN(), Why: unit.Say("no reading is of that year")}
	}
	if !utf8.ValidString(r.Place) || utf8.RuneCountInString(r.Place) > MostPlace || strings.ContainsFunc(r.Place, unicode.IsControl) {
		return r, &unit.RangeError{Limit: unit.Limit{Field: "place", Label: unit.Say("place"), Kind: unit.KindText}, Got: r.Place, Value: math.NaN(), Why: unit.Say("keep it to %d characters on one line", MostPlace)}
	}
	return r, unit.Checks(check("temperature", r.Temperature), check("relative_humidity", r.Humidity))
}

func check(field string, v float64) error {
	l, _ := wood.LimitOf(field)
	return l.Check(v)
}

// Same reports whether two readings of one place and time say the same, to the tenth that loggers show.
func Same(a, b Reading) bool {
	return math.Abs(a.Temperature-b.Temperature) < 0.051 && math.Abs(a.Humidity-b.Humidity) < 0.051
}

// Compare orders readings by time, then by place.
func Compare(a, b Reading) int {
	if c := a.At.Compare(b.At); c != 0 {
		return c
	}
	return strings.Compare(a.Place, b.Place)
}

// EMC is the moisture wood would come to in this air.
func (r Reading) EMC() float64 {
	m, _, err := wood.Climate{Temperature: r.Temperature, Humidity: wood.Percent(r.Humidity)}.EMC()
	if err != nil {
		return math.NaN() // Normal lets none through
	}
	return float64(m)
}

// Encode writes readings as CSV that Parse reads back whole: UTC in ISO form, °C, decimal points.
func Encode(rs []Reading) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write([]string{"time", "place", "temperature (°C)", "relative humidity (%)", "wood moisture at rest (%)"})
	for _, r := range rs {
		_ = w.Write([]string{r.At.UTC().Format(time.RFC3339), r.Place, strconv.FormatFloat(r.Temperature, 'f', -1, 64), strconv.FormatFloat(r.Humidity, 'f', -1, 64), strconv.FormatFloat(r.EMC(), 'f', 2, 64)})
	}
	w.Flush()
	return b.Bytes()
}

// Point is a reading with what it means for wood.
type Point struct {
	Reading
	EMC    float64 // moisture wood would come to, %
	Behind float64 // moisture of wood that follows the air slowly, %
}

// Follow works out the moisture of wood that follows the air with a lag, by the first-order law
//
//	dM/dt = (EMC - M)/lag
//
// solved exactly between readings, the air taken as running straight from one to the next. It starts settled
// at the first reading. lag is the time constant, at least a second: see wood.Lag. The readings must be of
// one place and in order of time. Source: the slowest part of diffusion into a slab; see wood.Lag.
func Follow(rs []Reading, lag time.Duration) []Point {
	out := make([]Point, len(rs))
	tau := max(lag.Seconds(), 1)
	for i, r := range rs {
		p := Point{Reading: r, EMC: r.EMC()}
		p.Behind = p.EMC
		if i > 0 {
			was := out[i-1]
			if dt := r.At.Sub(was.At).Seconds(); dt > 0 {
				slope := (p.EMC - was.EMC) / dt
				p.Behind = p.EMC - slope*tau + (was.Behind-was.EMC+slope*tau)*math.Exp(-dt/tau)
			} else {
				p.Behind = was.Behind
			}
		}
		out[i] = p
	}
	return out
}

// Band is the humidity a maker wants, in percent.
type Band struct{ Low, High float64 }

// UsualBand is what many shops keep: common practice, no source.
var usualBand = Band{45, 50}

// UsualBand returns what many shops keep, 45 to 50 %: common practice, no source.
func UsualBand() Band { return usualBand }

// Summary is what a stretch of readings comes to.
type Summary struct {
	Count                 int
	From, To              time.Time
	Low, High, Mean       float64       // humidity, %; the mean is over time
	LowT, HighT           float64       // °C
	LowEMC, HighEMC       float64       // %
	Inside, Drier, Damper float64       // share of the time in, below and above the band
	Longest               time.Duration // longest time between two readings
}

// Summarise sums up readings of one place in order of time. Times are weighed by the trapezium between
// readings; a gap of more than a day counts for nothing.
func Summarise(ps []Point, band Band) Summary {
	s := Summary{Count: len(ps)}
	if len(ps) == 0 {
		return s
	}
	s.From, s.To = ps[0].At, ps[len(ps)-1].At
	s.Low, s.LowT, s.LowEMC = math.Inf(1), math.Inf(1), math.Inf(1)
	s.High, s.HighT, s.HighEMC = math.Inf(-1), math.Inf(-1), math.Inf(-1)
	var total, sum, drier, damper float64
	for i, p := range ps {
		s.Low, s.High = min(s.Low, p.Humidity), max(s.High, p.Humidity)
		s.LowT, s.HighT = min(s.LowT, p.Temperature), max(s.HighT, p.Temperature)
		s.LowEMC, s.HighEMC = min(s.LowEMC, p.EMC), max(s.HighEMC, p.EMC)
		if i == 0 {
			continue
		}
		was := ps[i-1]
		gap := p.At.Sub(was.At)
		s.Longest = max(s.Longest, gap)
		if gap > 24*time.Hour {
			continue
		}
		dt := gap.Seconds()
		total += dt
		sum += dt * (p.Humidity + was.Humidity) / 2
		below := below(was.Humidity, p.Humidity, band.Low)
		above := 1 - upto(was.Humidity, p.Humidity, band.High)
		drier += dt * below
		damper += dt * above
	}
	if total == 0 { // one reading, or all far apart: each counts once
		for _, p := range ps {
			sum += p.Humidity
			switch {
			case p.Humidity < band.Low:
				drier++
			case p.Humidity > band.High:
				damper++
			}
		}
		total = float64(len(ps))
	}
	s.Mean, s.Drier, s.Damper = sum/total, drier/total, damper/total
	s.Inside = 1 - s.Drier - s.Damper
	return s
}

// below is the share of a straight run from a to b that lies under v; upto the share at or under it.
func below(a, b, v float64) float64 {
	if a == b {
		if a < v {
			return 1
		}
		return 0
	}
	return math.Max(0, math.Min(1, (v-min(a, b))/math.Abs(b-a)))
}

func upto(a, b, v float64) float64 {
	if a == b && a == v {
		return 1
	}
	return below(a, b, v)
}

// Places lists the places of readings, the one with most readings first.
func Places(rs []Reading) []string {
	n := map[string]int{}
	for _, r := range rs {
		n[r.Place]++
	}
	out := make([]string, 0, len(n))
	for p := range n {
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b string) int {
		if n[a] != n[b] {
			return n[b] - n[a]
		}
		return strings.Compare(a, b)
	})
	return out
}

// Of returns the readings of one place.
func Of(rs []Reading, place string) []Reading {
	var out []Reading
	for _, r := range rs {
		if r.Place == place {
			out = append(out, r)
		}
	}
	return out
}
