package web

import (
	"math"
	"net/url"
	"strconv"

	"fairset/unit"
)

// slider is one figure that may be pulled about to see what it does. Nothing of it is saved.
type slider struct {
	Key, Label            string
	Min, Max, Step, Value string // millimetres, as a browser reads numbers
	Says                  string // the value in the maker's units
}

// sliders reads a form of sliders from an address.
type sliders struct {
	query    url.Values
	style    unit.Style
	list     []slider
	problems []string
	moved    bool // some figure is not the design's
}

// add makes one slider over lo to hi about where the figure stands now, and returns what the address asks
// for. Its marks pass through now, so that a figure nobody touched is sent back as it is.
func (s *sliders) add(key string, label unit.Phrase, now, lo, hi, step unit.Length) unit.Length {
	v := now
	lo, hi = min(lo, now), max(hi, now)
	first := now - unit.Length(math.Floor(float64((now-lo)/step)+1e-9))*step
	limit := unit.Limit{Field: key, Label: label, Kind: unit.KindLength, Min: float64(first), Max: float64(hi)}
	if text := s.query.Get(key); text != "" {
		mm, err := strconv.ParseFloat(text, 64)
		asked := unit.Length(mm) * unit.MM
		switch {
		case err != nil:
			e := &unit.RangeError{Limit: limit, Got: text, Value: math.NaN(), Why: unit.Say("must be a number of millimetres")}
			s.problems = append(s.problems, e.In(s.style))
		case !asked.Finite() || asked < first-step/2 || asked > hi+step/2:
			e := &unit.RangeError{Limit: limit, Got: text + " mm", Value: float64(asked)}
			s.problems = append(s.problems, e.In(s.style))
		case (asked - now).Abs() > step/100:
			v, s.moved = asked, true
		}
	}
	s.list = append(s.list, slider{Key: key, Label: label.In(s.style), Min: millimetres(first), Max: millimetres(hi), Step: millimetres(step), Value: millimetres(v), Says: v.Fine(s.style)})
	return v
}

// choose reads one word of several; the first is meant when none is given.
func (s *sliders) choose(key, now string, of ...string) string {
	got := s.query.Get(key)
	if got == "" {
		return now
	}
	for _, k := range of {
		if k == got {
			s.moved = s.moved || k != now
			return k
		}
	}
	e := &unit.RangeError{Limit: unit.Limit{Field: key, Kind: unit.KindChoice}, Got: got, Value: math.NaN(), Choices: of}
	s.problems = append(s.problems, e.In(s.style))
	return now
}

func millimetres(l unit.Length) string {
	return strconv.FormatFloat(math.Round(l.MM()*1e6)/1e6, 'f', -1, 64)
}
