package sheet

import (
	"math"
	"strconv"

	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// ProgressPoint is what is known after one pass, or one reading.
type ProgressPoint struct {
	Label             string // "start", "pass 1", in the maker's language; short
	Gap, GapSD        unit.Length
	Offset, OffsetSD  unit.Length
	HasGap, HasOffset bool
	Planned           bool // what the next cut aims at: drawn hollow
}

// Aim is where the readings should arrive. A target that is not a finite number is not drawn.
type Aim struct {
	Gap, GapTolerance       unit.Length
	Offset, OffsetTolerance unit.Length
}

// ProgressOptions of a progress plot.
type ProgressOptions struct {
	Style  unit.Style
	Narrow bool
}

// Progress plots the readings in order against the band where they should arrive: the gap above, and below
// it the offset when any point has one. Bars reach two standard deviations each way. Each reading is a
// shape named "gap-point" or "offset-point".
func Progress(points []ProgressPoint, aim Aim, o ProgressOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Progress of the readings"))
	type reading struct {
		at       int
		mean, sd float64
		planned  bool
	}
	var gaps, offsets []reading
	for i, p := range points {
		if p.HasGap && p.Gap.Finite() && p.GapSD.Finite() {
			gaps = append(gaps, reading{i, p.Gap.MM(), p.GapSD.MM(), p.Planned})
		}
		if p.HasOffset && p.Offset.Finite() && p.OffsetSD.Finite() {
			offsets = append(offsets, reading{i, p.Offset.MM(), p.OffsetSD.MM(), p.Planned})
		}
	}
	left := margin + 1.5
	for _, s := range steps(o.Style) {
		left = math.Max(left, margin+1.5+math.Min(width(mm(s*7).Number(o.Style), small, false), 14))
	}
	right := w - 24
	n := max(len(points), 2)
	X := func(i int) float64 { return left + 6 + (right-left-10)*float64(i)/float64(n-1) }

	panel := func(y float64, name, title, highWord, lowWord string, rs []reading, want, tol float64) float64 {
		const height = 46.0
		aimed := unit.Finite(want) && unit.Finite(tol)
		if !aimed && len(rs) > 0 {
			want, tol = rs[0].mean, 0
		} else if !aimed {
			want, tol = 0, 0
		}
		lo, hi := want-tol, want+tol
		for _, r := range rs {
			lo, hi = math.Min(lo, r.mean-2*r.sd), math.Max(hi, r.mean+2*r.sd)
		}
		if hi-lo < 0.2 {
			lo, hi = lo-0.1, hi+0.1
		}
		step := stepFor(hi-lo, 5, steps(o.Style))
		lo, hi = math.Floor(lo/step-0.15)*step, math.Ceil(hi/step+0.15)*step
		t := label(margin, y-middle, middle, drawing.Start, title)
		t.Bold = true
		c.text("", t)
		y -= middle + 3.6
		bottom := y - height
		Y := func(v float64) float64 { return bottom + (v-lo)/(hi-lo)*height }
		c.fill(drawing.LayerPaper, "", drawing.Paper, pt(left, bottom), pt(right, bottom), pt(right, y), pt(left, y))
		if tol > 0 {
			c.fill(drawing.LayerTarget, name+"-band", drawing.Zone, pt(left, Y(want-tol)), pt(right, Y(want-tol)), pt(right, Y(want+tol)), pt(left, Y(want+tol)))
			for _, v := range []float64{want - tol, want + tol} {
				it := c.line(drawing.LayerTarget, "", left, Y(v), right, Y(v))
				it.Pen.Weight = mm(0.2)
			}
		}
		for i := 0; ; i++ {
			v := lo + float64(i)*step
			if v > hi+step/2 {
				break
			}
			it := c.line(drawing.LayerPaper, "", left, Y(v), right, Y(v))
			it.Pen.Weight = mm(0.12)
			if Y(v) > bottom-1 {
				c.text("", label(left-1.2, Y(v)-small*0.34, small, drawing.End, axisNumber(v, step, o.Style)))
			}
		}
		if aimed {
			c.line(drawing.LayerTarget, name+"-target", left, Y(want), right, Y(want)).Pen.Dash = []unit.Length{}
		}
		// Words on the right: the target, kept clear of the last figure.
		ty := Y(want) - small*0.34
		if len(rs) > 0 {
			last := rs[len(rs)-1]
			ly := Y(last.mean) - middle*0.34
			lt := label(right+1.2, ly, middle, drawing.Start, said(mm(last.mean), o.Style))
			lt.Bold = true
			c.text(name+"-last", lt)
			if d := ty - ly; math.Abs(d) < middle*1.25 {
				if d >= 0 {
					ty = ly + middle*1.25
				} else {
					ty = ly - middle*1.25
				}
			}
		}
		if tt := label(right+1.2, ty, small, drawing.Start, say("target")); aimed {
			c.add(drawing.Item{Layer: drawing.LayerNote, Fill: drawing.Goal, Shape: tt})
			c.taken = append(c.taken, tt.Box())
		}
		edge := func(word string, at float64) {
			spot := label(right+1.2, at, small, drawing.Start, word)
			c.place("", box(0, bottom-2, w, y+3), spot)
		}
		edge(highWord, y-small*0.75)
		edge(lowWord, bottom+0.2)

		var path []drawing.Point
		for _, r := range rs {
			path = append(path, pt(X(r.at), Y(r.mean)))
		}
		if len(path) > 1 {
			c.polyline(drawing.LayerGap, "", path...).Pen.Weight = mm(0.25)
		}
		for _, r := range rs {
			x := X(r.at)
			if r.sd > 0 {
				a, b := Y(r.mean-2*r.sd), Y(r.mean+2*r.sd)
				c.line(drawing.LayerGap, name+"-bar", x, a, x, b).Pen.Weight = mm(0.3)
				c.line(drawing.LayerGap, "", x-1.1, a, x+1.1, a).Pen.Weight = mm(0.3)
				c.line(drawing.LayerGap, "", x-1.1, b, x+1.1, b).Pen.Weight = mm(0.3)
			}
			tone := drawing.Accent
			if r.planned {
				tone = drawing.Paper
			}
			c.circle(drawing.LayerGap, name+"-point", tone, x, Y(r.mean), 1.1)
		}
		// Labels along the foot, as many as have room.
		end := math.Inf(-1)
		for i, p := range points {
			fw := width(p.Label, small, false)
			x := clamp(X(i)-fw/2, margin, w-margin-fw)
			keepLast := i == len(points)-1
			lastW := width(points[len(points)-1].Label, small, false)
			lastX := clamp(X(len(points)-1)-lastW/2, margin, w-margin-lastW)
			if p.Label == "" || x < end+1.5 || (!keepLast && x+fw+1.5 > lastX) {
				continue
			}
			c.text("", label(x, bottom-small*1.35, small, drawing.Start, p.Label))
			end = x + fw
		}
		return bottom - small*1.9
	}

	symbol := o.Style.Symbol()
	y := panel(0, "gap", say("Gap at the saddle, %s", symbol), say("high‖of a gap"), say("low‖of a gap"), gaps, aim.Gap.MM(), aim.GapTolerance.MM())
	if len(offsets) > 0 {
		y = panel(y-2, "offset", say("Where the neck points, %s", symbol), say("treble"), say("bass"), offsets, aim.Offset.MM(), aim.OffsetTolerance.MM())
	}
	var words []string
	if len(gaps)+len(offsets) > 0 {
		words = append(words, say("Bars: sure to 19 in 20."))
	} else {
		words = append(words, say("No reading yet."))
	}
	if len(gaps) > 0 && aim.GapTolerance > 0 || len(offsets) > 0 && aim.OffsetTolerance > 0 {
		words = append(words, say("Shaded between dashed lines: within tolerance."))
	}
	if len(points) > 0 && points[len(points)-1].Planned {
		words = append(words, say("Hollow: what the next cut aims at."))
	}
	bottom := c.caption(y+small*0.4, words...)

	c.sheet.Table = [][]string{{say("Reading‖one measurement"), say("Gap"), say("Spread‖of readings"), say("Offset"), say("Spread‖of readings")}}
	for i, p := range points {
		row := []string{p.Label, "", "", "", ""}
		if row[0] == "" {
			row[0] = strconv.Itoa(i + 1)
		}
		if p.HasGap {
			row[1], row[2] = p.Gap.Exact(o.Style), p.GapSD.Fine(o.Style)
		}
		if p.HasOffset {
			row[3], row[4] = p.Offset.Exact(o.Style), p.OffsetSD.Fine(o.Style)
		}
		c.sheet.Table = append(c.sheet.Table, row)
	}
	c.sheet.Desc = say("No reading yet.")
	if len(gaps) > 0 {
		c.sheet.Desc = unit.Plural(len(gaps), "%d reading of the gap, from %v to %v; the target is %v.", "%d readings of the gap, from %v to %v; the target is %v.",
			mm(gaps[0].mean), mm(gaps[len(gaps)-1].mean), aim.Gap).In(o.Style)
	}
	return c.done(bottom-1, 1.5)
}

// BudgetOptions of an error budget.
type BudgetOptions struct {
	Style  unit.Style
	Narrow bool
	Most   int // bars shown, the rest taken together; 0: 6
}

// BudgetBars draws how much each input adds to the doubt of the gap, largest first. labelOf gives a field's
// name as a maker says it, in their language. Bars are as long as the input's own effect on the gap (one standard deviation)
// and named "bar"; the two worth measuring better are marked.
func BudgetBars(b neckset.Budget, labelOf func(field string) string, o BudgetOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("What the doubt of the gap comes from"))
	most := o.Most
	if most <= 0 {
		most = 6
	}
	type bar struct {
		name         string
		effect, part float64
		rest         bool
	}
	var bars []bar
	rest := bar{name: say("all the others together"), rest: true}
	for _, s := range b.Shares {
		if s.Effect <= 0 {
			continue
		}
		if len(bars) < most {
			bars = append(bars, bar{name: labelOf(s.Field), effect: s.Effect.MM(), part: s.Part})
			continue
		}
		rest.effect = math.Hypot(rest.effect, s.Effect.MM())
		rest.part += s.Part
	}
	if rest.effect > 0 {
		bars = append(bars, rest)
	}
	longest := b.GapSD.MM()
	for _, k := range bars {
		longest = math.Max(longest, k.effect)
	}
	room := w - 2*margin
	scale := 0.0
	if longest > 0 {
		scale = room / longest
	}
	c.sheet.ScaleX = scale
	y := 0.0
	row := func(name, words, figure string, effect float64, tone drawing.Tone, strong bool) {
		y -= small * 1.25
		f := label(w-margin, y, small, drawing.End, figure)
		t := label(margin, y, small, drawing.Start, "")
		f.Bold, t.Bold = strong, strong
		t.String = fit(words, small, strong, room-width(figure, small, strong)-3)
		c.text("", t)
		c.text("", f)
		y -= 1.4
		c.rect(drawing.LayerGap, name, tone, margin, y-3.2, margin+math.Max(effect*scale, 0.2), y).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.2)}
		y -= 3.2 + 2.2
	}
	for i, k := range bars {
		tone := drawing.Band3
		words := k.name
		if i < 2 && !k.rest {
			tone = drawing.Band5
		}
		row("bar", words, mm(k.effect).Fine(o.Style)+", "+percent(100*k.part, 0, o.Style), k.effect, tone, i < 2 && !k.rest)
	}
	if len(bars) > 0 {
		y -= 0.6
		c.line(drawing.LayerDim, "", margin, y, w-margin, y)
		y -= 1
	}
	if len(bars) > 0 {
		row("total", say("the gap, all together"), b.GapSD.Fine(o.Style), b.GapSD.MM(), drawing.Faint, true)
	}
	words := []string{say("Each bar: what one usual error of that input moves the gap by, and its part of the whole doubt.")}
	switch len(bars) {
	case 0:
		words = []string{say("No spread is given for any input.")}
	case 1:
		words = append(words, say("Measuring %s better would help most.", bars[0].name))
	default:
		words = append(words, say("Dark bars, in bold: measuring these better would help most."))
	}
	bottom := c.caption(y, words...)
	c.sheet.Desc = say("The gap is sure to %s (one standard deviation).", b.GapSD.Fine(o.Style))
	if len(bars) > 0 {
		c.sheet.Desc += " " + say("Most of it comes from %s.", bars[0].name)
	}
	c.sheet.Table = [][]string{{say("Input"), say("Moves the gap by"), say("Part of the doubt")}}
	for _, k := range b.Shares {
		c.sheet.Table = append(c.sheet.Table, []string{labelOf(k.Field), k.Effect.Fine(o.Style), percent(100*k.Part, 0, o.Style)})
	}
	c.sheet.Table = append(c.sheet.Table, []string{say("All together"), b.GapSD.Fine(o.Style), ""})
	return c.done(bottom-1, 1.5)
}
