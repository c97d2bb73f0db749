package wood

import (
	_ "embed"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"

	"fairset/internal/reftest"

	"pgregory.net/rapid"
)

//go:embed testdata/emc.csv
var handbookEMC string

type emcCell struct {
	fahrenheit float64
	climate    Climate
	percent    float64
}

// source: Wood Handbook FPL-GTR-190 (2010), table 4-2, all 342 cells
func emcCells(t reftest.TB) []emcCell {
	lines, err := csv.NewReader(strings.NewReader(handbookEMC)).ReadAll()
	if err != nil {
		t.Errorf("%v", err)
	}
	var out []emcCell
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Errorf("%v", err)
		}
		return v
	}
	for _, line := range lines[1:] {
		f := number(line[0])
		for i, v := range line[1:] {
			out = append(out, emcCell{f, Climate{(f - 32) * 5 / 9, Percent(number(lines[0][i+1]))}, number(v)})
		}
	}
	return out
}

func TestEMCAgainstEveryCellOfTheHandbook(t *testing.T) {
	cells := emcCells(t)
	if len(cells) != 342 {
		t.Fatalf("%d cells", len(cells))
	}
	worst, worstCold, within := emcCell{}, 0.0, 0
	off := 0.0
	for _, c := range cells {
		d := float64(c.climate.emc()) - c.percent
		if math.Abs(d) <= 0.05 {
			within++
		}
		if math.Abs(d) > math.Abs(off) {
			worst, off = c, d
		}
		if c.fahrenheit <= 140 { // 60 °C: what the program accepts
			worstCold = max(worstCold, math.Abs(d))
			got, warn, err := c.climate.EMC()
			if c.climate.Temperature >= -20 && (err != nil || len(warn) > 0 || float64(got)-c.percent != d) {
				t.Errorf("%v: %v %v %v", c, got, warn, err)
			}
		}
	}
	t.Logf("largest difference %+.4f at %.0f °F and %v %%; up to 140 °F %.4f; %d of %d within rounding", off, worst.fahrenheit, worst.climate.Humidity, worstCold, within, len(cells))
	if math.Abs(off) > 0.065 { // % moisture; the table is rounded to 0.1
		t.Errorf("largest difference %.4f at %+v", off, worst)
	}
	if worstCold > 0.055 {
		t.Errorf("largest difference up to 140 °F %.4f", worstCold)
	}
}

func TestEMCWarnsAndRefuses(t *testing.T) {
	for _, c := range []struct {
		climate Climate
		code    string
	}{
		{Climate{-10, 50}, "colder_than_table"}, {Climate{20, 3}, "humidity_beyond_table"}, {Climate{20, 97}, "humidity_beyond_table"},
	} {
		m, warn, err := c.climate.EMC()
		if err != nil || len(warn) != 1 || warn[0].Code != c.code || m <= 0 {
			t.Errorf("%v: %v %v %v", c.climate, m, warn, err)
		}
	}
	for _, c := range []struct {
		climate Climate
		field   string
	}{
		{Climate{-21, 50}, "temperature"}, {Climate{61, 50}, "temperature"}, {Climate{math.NaN(), 50}, "temperature"},
		{Climate{20, 0.5}, "relative_humidity"}, {Climate{20, 100}, "relative_humidity"}, {Climate{20, Percent(math.Inf(1))}, "relative_humidity"},
	} {
		_, _, err := c.climate.EMC()
		reftest.RangeError(t, err, c.field)
	}
	_, _, err := HumidityFor(60, 20)
	reftest.RangeError(t, err, "emc")
	_, _, err = HumidityFor(9, 90)
	reftest.RangeError(t, err, "temperature")
}

func TestEMCRisesWithHumidityAndComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(-20, 60).Draw(t, "temperature")
		h := Percent(rapid.Float64Range(1.001, 98.9).Draw(t, "humidity"))
		m, more := Climate{temp, h}.emc(), Climate{temp, h + 0.05}.emc()
		if !(m > 0 && more > m && m < 30) {
			t.Fatalf("at %v °C %v %%: %v, then %v", temp, h, m, more)
		}
		back, _, err := HumidityFor(max(m, Climate{temp, 1}.emc()+0.01), temp)
		if err != nil || math.Abs(float64(back-h)) > 0.2 {
			t.Fatalf("%v %% comes back as %v: %v", h, back, err)
		}
		if h > 2 {
			reftest.Near(t, "humidity back", float64(back), float64(h), 1e-9)
		}
	})
}
