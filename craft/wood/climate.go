package wood

import (
	"math"

	"fairset/unit"
)

// Climate is the air wood stands in.
type Climate struct {
	Temperature float64 // °C
	Humidity    Percent // relative
}

// Where the handbook's table of moisture against air ends: 30 °F and 5 and 95 % relative humidity.
// source: Wood Handbook, FPL-GTR-282, table 4-2.
const (
	tableColdest = (30.0 - 32) * 5 / 9
	tableDriest  = Percent(5)
	tableWettest = Percent(95)
)

// EMC returns the moisture wood comes to in a climate, its equilibrium moisture content, in percent of its
// dry mass.
//
//	M = (1800/W) (x/(1 - x) + (K1 x + 2 K1 K2 x²)/(1 + K1 x + K1 K2 x²)),  x = K h
//
// with h the relative humidity as a fraction and W, K, K1, K2 quadratics in the temperature. Any kind of
// wood, for most practical purposes; real wood sits above the figure while it dries and below while it takes
// up water, by one percent or so. Valid for -20 to 60 °C and 1 to 99 %; outside the handbook's table (below
// -1.1 °C, 5 to 95 %) with a warning. Errors are *unit.RangeError on temperature or relative_humidity.
// Source: Wood Handbook, FPL-GTR-282, equation 4-5, after Hailwood and Horrobin (1946) and Simpson (1973).
func (c Climate) EMC() (Percent, []unit.Warning, error) {
	if err := c.check(); err != nil {
		return 0, nil, err
	}
	var warn []unit.Warning
	if c.Temperature < tableColdest {
		warn = append(warn, unit.Warning{Code: "colder_than_table", Field: "temperature",
			Say: unit.Say("Below −1.1 °C the handbook's table ends: the formula is carried on beyond it. Treat the figure as rough.")})
	}
	if c.Humidity < tableDriest || c.Humidity > tableWettest {
		warn = append(warn, unit.Warning{Code: "humidity_beyond_table", Field: "relative_humidity",
			Say: unit.Say("The handbook's table runs from 5 to 95 %% relative humidity: the formula is carried on beyond it. Treat the figure as rough.")})
	}
	return c.emc(), warn, nil
}

func (c Climate) check() error {
	return unit.Checks(need("temperature", c.Temperature), need("relative_humidity", float64(c.Humidity)))
}

func (c Climate) emc() Percent {
	t := c.Temperature
	quad := func(a, b, c float64) float64 { return a + t*(b+t*c) }
	w := quad(349, 1.29, 0.0135)
	k := quad(0.805, 0.000736, -0.00000273)
	k1 := quad(6.27, -0.00938, -0.000303)
	k2 := quad(1.91, 0.0407, -0.000293)
	x := k * float64(c.Humidity) / 100
	return Percent(1800 / w * (x/(1-x) + (k1*x+2*k1*k2*x*x)/(1+k1*x+k1*k2*x*x)))
}

// HumidityFor returns the relative humidity at which wood comes to a moisture, at a temperature. Errors are
// *unit.RangeError on temperature, or on emc when no humidity from 1 to 99 % gives it.
func HumidityFor(moisture Percent, temperature float64) (Percent, []unit.Warning, error) {
	if err := need("temperature", temperature); err != nil {
		return 0, nil, err
	}
	at := func(h Percent) Percent { return Climate{temperature, h}.emc() }
	lo, hi := Percent(1), Percent(99)
	l := limits["emc"]
	l.Min, l.Max = math.Ceil(float64(at(lo))*100)/100, math.Floor(float64(at(hi))*100)/100
	if err := l.Check(float64(moisture)); err != nil {
		return 0, nil, err
	}
	for range 60 { // halving 98 % sixty times leaves nothing of it; the formula rises with humidity
		if mid := (lo + hi) / 2; at(mid) < moisture {
			lo = mid
		} else {
			hi = mid
		}
	}
	c := Climate{temperature, (lo + hi) / 2}
	_, warn, err := c.EMC()
	return c.Humidity, warn, err
}
