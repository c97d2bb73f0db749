package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fairset/craft/climate"
	"fairset/drawing"
	"fairset/internal/reftest"
	"fairset/unit"
)

func airPoints(n int, step time.Duration) []climate.Point {
	var rs []climate.Reading
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for i := range n {
		rs = append(rs, climate.Reading{At: at.Add(time.Duration(i) * step), Temperature: 20, Humidity: 45 + 10*math.Sin(float64(i)/7)})
	}
	return climate.Follow(rs, 20*time.Hour)
}

func traces(s *drawing.Sheet, name string) (out []drawing.Polyline) {
	for _, it := range s.Items {
		if p, ok := it.Shape.(drawing.Polyline); ok && it.Name == name {
			out = append(out, p)
		}
	}
	return out
}

// Distances on the chart: two readings a known share of the time apart lie that share of the width apart, and ten
// percent of humidity is as tall everywhere, band and line alike.
func TestClimateChartIsToScale(t *testing.T) {
	for _, narrow := range []bool{false, true} {
		ps := airPoints(9, 3*time.Hour)
		ps[3].Humidity, ps[8].Humidity = 40, 50
		s := ClimateChart(ps, climate.Band{Low: 45, High: 50}, ClimateOptions{Narrow: narrow, Style: unit.Millimetre})
		line, band := traces(s, "humidity"), traces(s, "band")
		if len(line) != 1 || len(line[0].Points) != 9 || len(band) != 1 || len(traces(s, "emc")) != 1 || len(traces(s, "behind")) != 1 {
			t.Fatalf("%d lines of %d points, %d bands", len(line), len(line[0].Points), len(band))
		}
		p := line[0].Points
		reftest.Near(t, "third of eight steps", float64((p[3].X-p[0].X)/(p[8].X-p[0].X)), 3.0/8, 1e-9)
		top, foot := band[0].Points[0].Y, band[0].Points[0].Y
		for _, q := range band[0].Points {
			top, foot = max(top, q.Y), min(foot, q.Y)
		}
		reftest.NearMM(t, "50 % lies at the band's top", p[8].Y, top.MM(), 1e-6)
		reftest.NearMM(t, "40 % lies a band below its foot", p[3].Y, (2*foot - top).MM(), 1e-6)
	}
}

func TestClimateChartBreaksAtGapsAndThinsOut(t *testing.T) {
	ps := airPoints(40, time.Hour)
	for i := 20; i < 40; i++ {
		ps[i].At = ps[i].At.Add(50 * time.Hour)
	}
	if got := traces(ClimateChart(ps, climate.UsualBand(), ClimateOptions{}), "humidity"); len(got) != 2 {
		t.Errorf("%d lines over a gap", len(got))
	}
	many := airPoints(100000, 5*time.Minute)
	many[77777].Humidity = 90 // must not get lost
	s := ClimateChart(many, climate.UsualBand(), ClimateOptions{Narrow: true})
	n, highest := 0, unit.Length(math.Inf(-1))
	for _, l := range traces(s, "humidity") {
		n += len(l.Points)
		for _, p := range l.Points {
			highest = max(highest, p.Y)
		}
	}
	if n > 1200 {
		t.Errorf("%d points are drawn", n)
	}
	foot := traces(s, "band")[0].Points[0].Y
	if highest < foot+20*unit.MM/2 {
		t.Errorf("the one high reading is not drawn: highest %v over %v", highest, foot)
	}
	if len(s.Table) > mostTableRows+2 {
		t.Errorf("%d rows in the table", len(s.Table))
	}
}

func TestClimateChartOfNothingAndOfOne(t *testing.T) {
	if s := ClimateChart(nil, climate.UsualBand(), ClimateOptions{}); !strings.Contains(s.Desc, "No readings") {
		t.Errorf("%q", s.Desc)
	}
	s := ClimateChart(airPoints(1, time.Hour), climate.UsualBand(), ClimateOptions{Style: unit.Inch64})
	if len(s.Table) != 2 || !strings.Contains(fmt.Sprint(s.Table), "68 °F") {
		t.Errorf("%v", s.Table)
	}
	for _, it := range s.Items {
		if c, ok := it.Shape.(drawing.Circle); ok && !c.Centre.X.Finite() {
			t.Errorf("%+v", c)
		}
	}
}

func TestClimateTicksAreRoundAndFew(t *testing.T) {
	from := time.Date(2026, 3, 2, 9, 7, 0, 0, time.UTC)
	for _, span := range []time.Duration{time.Hour, 5 * time.Hour, 30 * time.Hour, 9 * 24 * time.Hour, 40 * 24 * time.Hour, 400 * 24 * time.Hour, 4000 * 24 * time.Hour} {
		got := chartTicks(from, from.Add(span), 6, time.UTC, unit.Millimetre)
		if len(got) > 8 {
			t.Errorf("%v: %d ticks", span, len(got))
		}
		for _, x := range got {
			if x.at.Before(from) || x.at.After(from.Add(span)) || x.at.Minute() != 0 {
				t.Errorf("%v: tick at %v", span, x.at)
			}
		}
	}
}
