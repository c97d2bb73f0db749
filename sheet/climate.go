package sheet

import (
	"math"
	"time"

	"fairset/craft/climate"
	"fairset/drawing"
	"fairset/unit"
)

// ClimateOptions of a chart of a shop's air.
type ClimateOptions struct {
	Narrow bool
	Style  unit.Style     // temperatures are in °F for those who read inches
	Zone   *time.Location // dates are written in it; nil is UTC
}

// chartGap is how long two readings may lie apart and still be joined by a line.
const chartGap = 24 * time.Hour

// readAt is how the time of a reading is written.
const readAt unit.Text = "2 Jan 2006 15:04"

// mostTableRows bounds the figures beside the chart.
const mostTableRows = 40

// ClimateChart draws the humidity of a place over time with the band that is wanted, and under it the moisture
// wood would come to in that air and that of wood which follows slowly. Lines are named "humidity", "emc" and
// "behind", the band "band". Many readings are drawn by their least and greatest in each step of a third of a
// millimetre. The points must be in order of time.
func ClimateChart(ps []climate.Point, band climate.Band, o ClimateOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("The air, and wood in it"))
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if len(ps) == 0 {
		c.sheet.Desc = say("No readings yet.")
		bottom := c.caption(-2, c.sheet.Desc)
		return c.done(bottom-1, 3)
	}
	height := 46.0
	if o.Narrow {
		height = 40
	}
	left, right := margin+width("100 %", small, false)+2, w-margin-1
	from, to := ps[0].At, ps[len(ps)-1].At
	if !to.After(from) {
		from, to = from.Add(-time.Hour), to.Add(time.Hour)
	}
	X := func(t time.Time) float64 { return left + (right-left)*float64(t.Sub(from))/float64(to.Sub(from)) }

	panel := func(top, lo, hi, step float64, decimals int) (Y func(float64) float64, foot float64) {
		foot = top - height
		Y = func(v float64) float64 { return foot + height*(v-lo)/(hi-lo) }
		for v := math.Ceil(lo/step) * step; v <= hi+1e-9; v += step {
			c.line(drawing.LayerDatum, "", left, Y(v), right, Y(v))
			c.text("", label(left-1.5, Y(v)-small*0.34, small, drawing.End, o.Style.Short(v, decimals)+" %"))
		}
		return Y, foot
	}
	ticks := func(foot float64) {
		most := 6
		if o.Narrow {
			most = 3
		}
		for _, t := range chartTicks(from, to, most, o.Zone, o.Style) {
			x := X(t.at)
			c.line(drawing.LayerDatum, "", x, foot, x, foot+height)
			tw := width(t.say, small, false)
			c.text("", label(clamp(x-tw/2, left, w-margin-tw), foot-small*1.3, small, drawing.Start, t.say))
		}
	}

	// Humidity.
	lo, hi := band.Low, band.High
	for _, p := range ps {
		lo, hi = min(lo, p.Humidity), max(hi, p.Humidity)
	}
	lo, hi = max(0, math.Floor((lo-3)/10)*10), min(100, math.Ceil((hi+3)/10)*10)
	heading := func(y float64, s string) float64 {
		t := label(left, y-small, small, drawing.Start, s)
		t.Bold = true
		c.text("", t)
		return y - small*1.7
	}
	top := heading(0, say("Relative humidity"))
	foot := top - height
	scale := func(v float64) float64 { return foot + height*(v-lo)/(hi-lo) }
	c.rect(drawing.LayerTarget, "band", drawing.Zone, left, scale(band.Low), right, scale(band.High))
	Y, foot := panel(top, lo, hi, axisStep(hi-lo, 5), 0)
	for _, run := range chartRuns(ps, X, right-left, func(p climate.Point) float64 { return Y(p.Humidity) }) {
		c.trace(drawing.LayerGap, "humidity", run)
	}
	ticks(foot)

	// Wood.
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range ps {
		lo, hi = min(lo, p.EMC, p.Behind), max(hi, p.EMC, p.Behind)
	}
	lo, hi = max(0, math.Floor(lo-0.3)), math.Ceil(hi+0.3)
	top = heading(foot-small*2.4, say("Moisture of wood"))
	Y, foot = panel(top, lo, hi, axisStep(hi-lo, 5), 1)
	for _, run := range chartRuns(ps, X, right-left, func(p climate.Point) float64 { return Y(p.EMC) }) {
		it := c.trace(drawing.LayerDatum, "emc", run)
		it.Pen = drawing.Pen{Tone: drawing.Steel, Weight: mm(0.25)}
	}
	for _, run := range chartRuns(ps, X, right-left, func(p climate.Point) float64 { return Y(p.Behind) }) {
		it := c.trace(drawing.LayerGap, "behind", run)
		it.Pen = drawing.Pen{Tone: drawing.Accent, Weight: mm(0.6)}
	}
	ticks(foot)
	last := ps[len(ps)-1]
	words := []string{
		say("The ground marks %.0f to %.0f %%, the band that is wanted.", band.Low, band.High),
		say("Thin line: what wood would come to if it settled at once. Thick: wood that follows slowly, an order of magnitude."),
		say("Last: %.0f %%, %s, %s.", last.Humidity, nb(unit.Write(last.Temperature, unit.KindTemperature, o.Style)), nb(o.Style.Date(last.At.In(o.Zone), readAt))),
	}
	c.sheet.Desc = words[0] + " " + words[2]
	bottom := c.caption(foot-small*2.2, words...)
	c.sheet.Table = [][]string{{say("Time"), say("Humidity"), say("Temperature"), say("Wood would come to"), say("Wood behind it‖follows the air slowly")}}
	step := max(1, (len(ps)+mostTableRows-1)/mostTableRows)
	for i := len(ps) - 1; i >= 0; i -= step {
		p := ps[i]
		c.sheet.Table = append(c.sheet.Table, []string{o.Style.Date(p.At.In(o.Zone), readAt), percent(p.Humidity, 1, o.Style), unit.Write(p.Temperature, unit.KindTemperature, o.Style),
			percent(p.EMC, 1, o.Style), percent(p.Behind, 1, o.Style)})
	}
	return c.done(bottom-1, 3)
}

// trace draws a run of points, a lone one as a dot.
func (c *canvas) trace(l drawing.Layer, name string, run []drawing.Point) *drawing.Item {
	if len(run) == 1 {
		return c.circle(l, name, drawing.Accent, run[0].X.MM(), run[0].Y.MM(), 0.7)
	}
	return c.polyline(l, name, run...)
}

// axisStep is a round step that parts a span into at most n.
func axisStep(span float64, n int) float64 {
	for _, s := range []float64{0.5, 1, 2, 5, 10, 20, 50} {
		if span/s <= float64(n) {
			return s
		}
	}
	return 100
}

// chartRuns turns points into lines, a new one after every gap, with at most four points for each step of a
// third of a millimetre: first, least, greatest and last.
func chartRuns(ps []climate.Point, X func(time.Time) float64, room float64, Y func(climate.Point) float64) [][]drawing.Point {
	const step = 1.0 / 3
	var out [][]drawing.Point
	var run []drawing.Point
	thin := float64(len(ps)) > 2*room/step
	for i := 0; i < len(ps); {
		if i > 0 && ps[i].At.Sub(ps[i-1].At) > chartGap {
			out, run = append(out, run), nil
		}
		j, cell := i+1, math.Floor(X(ps[i].At)/step)
		least, most := i, i
		for thin && j < len(ps) && math.Floor(X(ps[j].At)/step) == cell && ps[j].At.Sub(ps[j-1].At) <= chartGap {
			if Y(ps[j]) < Y(ps[least]) {
				least = j
			}
			if Y(ps[j]) > Y(ps[most]) {
				most = j
			}
			j++
		}
		was := -1
		for _, k := range []int{i, min(least, most), max(least, most), j - 1} {
			if k > was {
				run = append(run, pt(X(ps[k].At), Y(ps[k])))
				was = k
			}
		}
		i = j
	}
	return append(out, run)
}

type chartTick struct {
	at  time.Time
	say string
}

// chartTicks are round times: hours, days or months, at most so many.
func chartTicks(from, to time.Time, most int, zone *time.Location, style unit.Style) []chartTick {
	from, to = from.In(zone), to.In(zone)
	var out []chartTick
	span := to.Sub(from)
	midnight := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, zone)
	switch days := span.Hours() / 24; {
	case days <= 2:
		for _, h := range []int{1, 2, 3, 6, 12, 24} {
			if span.Hours()/float64(h) <= float64(most) || h == 24 {
				for t := midnight; !t.After(to); t = t.Add(time.Duration(h) * time.Hour) {
					out = append(out, chartTick{t, t.Format("15:04")})
				}
				break
			}
		}
	case days <= 31*float64(most):
		for _, d := range []int{1, 2, 5, 7, 14, 31} {
			if days/float64(d) <= float64(most) || d == 31 {
				for t := midnight; !t.After(to); t = t.AddDate(0, 0, d) {
					out = append(out, chartTick{t, style.Date(t, "2 Jan")})
				}
				break
			}
		}
	default:
		months := max(1, int(math.Ceil(days/30.4/float64(most))))
		for t := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, zone); !t.After(to); t = t.AddDate(0, months, 0) {
			out = append(out, chartTick{t, style.Date(t, "Jan 2006")})
		}
	}
	for len(out) > 0 && out[0].at.Before(from) {
		out = out[1:]
	}
	return out
}
