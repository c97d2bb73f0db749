package stringset

import (
	"fmt"

	"fairset/unit"
)

// Pull is what one string of a set pulls.
type Pull struct {
	Name string
	AtPitch
	Share float64 // of the whole
	Mean  float64 // over the mean string, 1 is average
}

// Balance is the pull of a set and how evenly it is shared.
type Balance struct {
	Strings      []Pull // as given, bass first
	Total        unit.Force
	Mean         unit.Force
	BassShare    float64    // of the bass half; the middle string of an odd number counts half to each side
	Loosest      int        // index of the string that pulls least
	Tightest     int        // index of the string that pulls most
	LargestStep  unit.Force // between neighbours
	StepFrom     int        // index of the first of those neighbours
	TightToLoose float64
}

// MostStrings bounds a set.
const MostStrings = 24

// Pulls returns the pull of every string at its pitch on a scale, and their balance.
//
// Valid for: 1 to 24 strings. Errors are *unit.RangeError naming strings, scale_length or the string's
// field ("strings[2].diameter"); a string names fields without its unit.
func Pulls(strs []String, scale unit.Length) (Balance, []unit.Warning, error) {
	c := checker{}
	c.need("scale_length", float64(scale))
	c.count(len(strs))
	return c.balance(strs, func(int) unit.Length { return scale })
}

// PullsAt is Pulls for strings that need not share a scale: one scale for each string.
//
// Valid for: as many scales as strings. Errors are as for Pulls; a scale is named with its string
// ("strings[2].scale_length").
func PullsAt(strs []String, scales []unit.Length) (Balance, []unit.Warning, error) {
	c := checker{}
	c.count(len(strs))
	if c.err == nil && len(scales) != len(strs) {
		c.err = &unit.RangeError{Limit: unit.Limit{Field: "scale_length", Kind: unit.KindCount}, Value: float64(len(scales)), Why: unit.Say("give one scale for each string")}
	}
	for i := range scales {
		c.under = fmt.Sprintf("strings[%d].", i)
		c.need("scale_length", float64(scales[i]))
	}
	return c.balance(strs, func(i int) unit.Length { return scales[i] })
}

func (c *checker) count(n int) {
	if c.err == nil && (n < 1 || n > MostStrings) {
		c.err = &unit.RangeError{Limit: unit.Limit{Field: "strings", Label: unit.Say("strings"), Kind: unit.KindCount, Min: 1, Max: MostStrings}, Value: float64(n)}
	}
}

// balance works out every string at its scale, and how the pulls compare.
func (c *checker) balance(strs []String, scale func(i int) unit.Length) (Balance, []unit.Warning, error) {
	b := Balance{}
	for i, s := range strs {
		if c.err != nil {
			return Balance{}, nil, c.err
		}
		c.under = fmt.Sprintf("strings[%d].", i)
		b.Strings = append(b.Strings, Pull{Name: s.Name, AtPitch: s.at(c, scale(i))})
		b.Total += b.Strings[i].Tension
	}
	if c.err != nil {
		return Balance{}, nil, c.err
	}
	n := len(strs)
	b.Mean = b.Total / unit.Force(n)
	var bass unit.Force
	for i := range b.Strings {
		p := &b.Strings[i]
		p.Share, p.Mean = float64(p.Tension/b.Total), float64(p.Tension/b.Mean)
		if p.Tension < b.Strings[b.Loosest].Tension {
			b.Loosest = i
		}
		if p.Tension > b.Strings[b.Tightest].Tension {
			b.Tightest = i
		}
		if i > 0 {
			step := p.Tension - b.Strings[i-1].Tension
			if step < 0 {
				step = -step
			}
			if step > b.LargestStep {
				b.LargestStep, b.StepFrom = step, i-1
			}
		}
		switch {
		case 2*i+1 < n:
			bass += p.Tension
		case 2*i+1 == n:
			bass += p.Tension / 2
		}
	}
	b.BassShare = float64(bass / b.Total)
	b.TightToLoose = float64(b.Strings[b.Tightest].Tension / b.Strings[b.Loosest].Tension)
	return b, c.warns, nil
}
