package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/craft/strungup"
	"fairset/drawing"
	"fairset/unit"
)

// PairOptions of a strung pair.
type PairOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool // only changes the words
}

// StrungPair draws the guitar from its side twice, before stringing and with the strings on, both to the same scales and side by
// side (one over the other on a narrow sheet), and under them the bend of the neck, drawn much larger.
//
// b is the chain put into the build (strungup's Result.Build), t its target, r the chain. Heights of the two views are to
// ScaleY. The dimension lines are named "gap-unstrung", "gap-strung" and "action12"; the bends "bend-unstrung" and
// "bend-strung", with "bend-scale" a bar of the length its label says.
func StrungPair(b neckset.Build, t neckset.Target, r strungup.Result, o PairOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Unstrung and strung"))
	const between = 7.0
	panelW := w - 2*margin
	if !o.Narrow {
		panelW = (panelW - between) / 2
	}
	L, l, D := b.ScaleLength.MM(), t.NutToJoint.MM(), t.SaddleDistance.MM()
	k := L / 648
	crown, board := b.FretCrown.MM(), b.BoardThickness.MM()
	F0 := board + crown + b.NeckProud.MM()
	topD := t.TopHeightAtSaddle.MM()
	bridge := b.BridgeThickness.MM()
	saddle := (r.SaddleProjection.Bass + r.SaddleProjection.Treble).MM() / 2
	nutHeight := b.NutHeight.MM()
	x0, x1 := -l-12*k, D+30*k
	sx := panelW / (x1 - x0)

	type view struct {
		gap, rise, slope float64
		strung           bool
	}
	views := [2]view{{gap: r.GapUnstrung.MM()}, {gap: r.GapStrung.MM(), rise: r.TopRise.MM(), strung: true}}
	lowest, highest := 0.0, F0
	for i := range views {
		v := &views[i]
		v.slope = (v.gap + topD + v.rise - F0) / D
		for _, z := range []float64{F0 + v.slope*D, F0 - v.slope*l + nutHeight, topD + v.rise + bridge + saddle} {
			highest = math.Max(highest, z)
		}
		lowest = math.Min(lowest, F0-v.slope*l-crown-board)
	}
	e := 1.0
	for _, f := range []float64{1, 2, 3, 5, 8} {
		if (highest-lowest)*f*sx <= 30 {
			e = f
		}
	}
	sy := sx * e
	c.sheet.ScaleX, c.sheet.ScaleY = sx, sy
	sag := func(u float64, strung bool) float64 { // below the line from fret 1 to the joint's fret
		s := r.Sags
		pick := func(k strungup.Sag) float64 {
			if strung {
				return k.Strung.MM()
			}
			return k.Unstrung.MM()
		}
		if len(s) == 0 || u > s[len(s)-1].At.MM() {
			return 0
		}
		for i := 1; i < len(s); i++ {
			if a, z := s[i-1].At.MM(), s[i].At.MM(); u <= z && z > a {
				return pick(s[i-1]) + (pick(s[i])-pick(s[i-1]))*math.Max(0, u-a)/(z-a)
			}
		}
		return 0
	}
	panel := func(left, base float64, v view) {
		X := func(x float64) float64 { return left + (x-x0)*sx }
		Y := func(z float64) float64 { return base + (z-lowest)*sy }
		P := func(x, z float64) drawing.Point { return pt(X(x), Y(z)) }
		chord := func(x float64) float64 { return F0 + v.slope*x }
		fret := func(x float64) float64 { return chord(x) - sag(x+l, v.strung) }
		top := func(x float64) float64 {
			return b.Top.Height(mm(x)).MM() + v.rise*math.Sin(math.Min(clamp(x/D, 0, 1.2), 1)*math.Pi/2)
		}
		name := "unstrung"
		if v.strung {
			name = "strung"
		}
		floor := base - 7.0
		var surface []drawing.Point
		for i := 0; i <= 16; i++ {
			x := x1 * float64(i) / 16
			surface = append(surface, P(x, top(x)))
		}
		body := append([]drawing.Point{pt(X(0), floor)}, surface...)
		body = append(body, pt(X(x1), floor))
		c.fill(drawing.LayerWood, "", drawing.Spruce, body...)
		c.polyline(drawing.LayerWood, "top-"+name, surface...)
		c.line(drawing.LayerWood, "", X(0), floor, X(0), Y(0))
		end := math.Min(fretting.Distance(b.ScaleLength, 20).MM()-l+6*k, D-24*k)
		end = math.Max(end, math.Min(4*k, D/2))
		var upper, lower, back []drawing.Point
		for i := 0; i <= 40; i++ {
			x := -l + (end+l)*float64(i)/40
			upper = append(upper, P(x, fret(x)-crown))
			lower = append([]drawing.Point{P(x, fret(x)-crown-board)}, lower...)
			if x < 0 {
				back = append(back, pt(X(x), Y(fret(x)-crown-board)))
			}
		}
		neck := append([]drawing.Point{}, back...)
		neck = append(neck, pt(X(0), Y(F0-crown-board)), pt(X(0), floor), pt(X(-26*k), floor), pt(X(-40*k), Y(fret(-40*k)-crown-board)-2.4), pt(X(-l), Y(fret(-l)-crown-board)-2.2))
		c.polygon(drawing.LayerWood, "", drawing.Wood, neck...).Pen.Weight = mm(0.25)
		c.polygon(drawing.LayerWood, "", drawing.Dark, append(upper, lower...)...).Pen.Weight = mm(0.2)
		for i := 1; i <= 20; i++ {
			if x := fretting.Distance(b.ScaleLength, i).MM() - l; x < end {
				c.line(drawing.LayerMark, "", X(x), Y(fret(x)-crown), X(x), Y(fret(x))).Pen = drawing.Pen{Tone: drawing.Steel, Weight: mm(0.25)}
			}
		}
		nutZ := chord(-l) + nutHeight
		c.rect(drawing.LayerWood, "", drawing.Bone, X(-l)-1, Y(fret(-l)-crown-board*0.3), X(-l), Y(nutZ)).Pen.Weight = mm(0.15)
		foot := topD + v.rise
		c.polygon(drawing.LayerWood, "", drawing.Dark, P(D-12*k, top(D-12*k)), P(D-3*k, foot+bridge), P(D+4*k, foot+bridge), P(D+17*k, top(D+17*k))).Pen.Weight = mm(0.2)
		tip := foot + bridge + saddle
		c.rect(drawing.LayerWood, "", drawing.Bone, X(D)-0.5, Y(foot+bridge*0.7), X(D)+0.5, Y(tip)).Pen.Weight = mm(0.15)
		str := c.line(drawing.LayerString, "string-"+name, X(-l), Y(nutZ), X(D), Y(tip))
		if !v.strung {
			str.Pen.Dash = []unit.Length{mm(0.9), mm(0.7)}
		}
		c.line(drawing.LayerEdge, "edge-"+name, X(-l), Y(chord(-l)), X(D), Y(chord(D)))
		c.add(drawing.Item{Layer: drawing.LayerGap, Name: "gap-" + name, Shape: dim(P(D, foot), P(D, foot+v.gap), 90, pt(X(D+24*k), 0), drawing.Text{})})
		if x12 := L/2 - l; v.strung && x12 > -l {
			f12 := chord(x12) - r.Fret12Dip.MM()
			d := dim(P(x12, f12), P(x12, nutZ+(tip-nutZ)*(x12+l)/(D+l)), 90, P(x12, 0), drawing.Text{})
			d.Arrow = mm(1)
			c.add(drawing.Item{Layer: drawing.LayerGap, Name: "action12", Shape: d})
		}
	}
	tall := (highest-lowest)*sy + 7
	// Words of one view: a heading, then figure by figure.
	type fact struct{ what, figure string }
	before := []fact{{say("gap at the saddle"), said(r.GapUnstrung, o.Style)}, {say("relief"), r.ReliefUnstrung.Fine(o.Style)}}
	after := []fact{{say("gap at the saddle"), said(r.GapStrung, o.Style)}, {say("relief"), r.ReliefStrung.Fine(o.Style)},
		{say("action at fret 12"), bothSides(r.Action12, o.Style)}}
	write := func(left, y float64, list []fact) float64 {
		for _, f := range list {
			y -= small * 1.3
			t := label(left+panelW, y, small, drawing.End, f.figure)
			t.Bold = true
			c.text("", t)
			c.text("", label(left, y, small, drawing.Start, f.what))
		}
		return y
	}
	heading := func(left, y float64, s string) {
		t := label(left, y-middle, middle, drawing.Start, s)
		t.Bold = true
		c.text("", t)
	}
	y, states := 0.0, [2]string{say("Before stringing"), say("With the strings on")}
	if o.Narrow {
		for i, v := range views {
			heading(margin, y, states[i])
			y -= middle + 2.6 + tall
			panel(margin, y+7, v)
			y = write(margin, y-0.8, [2][]fact{before, after}[i]) - 4
		}
		y += 1
	} else {
		right := margin + panelW + between
		heading(margin, y, states[0])
		heading(right, y, states[1])
		y -= middle + 2.6 + tall
		panel(margin, y+7, views[0])
		panel(right, y+7, views[1])
		y = math.Min(write(margin, y-0.8, before), write(right, y-0.8, after)) - 3
	}
	y = c.bend(y, r, o)

	words := []string{say("Heights of the views drawn %.3g times as large as lengths.", e),
		say("Dashes: the straight edge on the frets; dots before stringing: where the string will run."),
		say("All of it is an estimate: read the guitar once it is strung.")}
	bottom := c.caption(y, words...)
	c.sheet.Desc = say("The guitar from its %v, neck to the left. Before stringing the straight edge passes %s over the top at the saddle; with the strings on %s. Relief goes from %s to %s. An estimate.",
		seenSide(o.LeftHanded), r.GapUnstrung.Exact(o.Style), r.GapStrung.Exact(o.Style), r.ReliefUnstrung.Fine(o.Style), r.ReliefStrung.Fine(o.Style))
	c.sheet.Table = [][]string{
		{say("Figure"), states[0], states[1]},
		{say("Straight edge over the top at the saddle"), r.GapUnstrung.Exact(o.Style), r.GapStrung.Exact(o.Style)},
		{say("Relief"), r.ReliefUnstrung.Fine(o.Style), r.ReliefStrung.Fine(o.Style)},
		{say("Turn of the neck's fret line by its bend"), "", angleSaid(r.Turn, o.Style)},
		{say("Fold of joint and body"), "", angleSaid(r.Fold, o.Style)},
		{say("Rise of the top at the saddle"), "", r.TopRise.Fine(o.Style)},
		{say("Action at fret 12, bass side"), "", r.Action12.Bass.Fine(o.Style)},
		{say("Action at fret 12, treble side"), "", r.Action12.Treble.Fine(o.Style)},
	}
	return c.done(bottom-1, 1.5)
}

// angleSaid writes a small angle to a thousandth of a degree: these turn the gap by tenths of a millimetre.
func angleSaid(a unit.Angle, s unit.Style) string { return s.Decimal(a.Degrees(), 3) + "°" }

func bothSides(s neckset.Sides, st unit.Style) string {
	b, t := s.Bass.Fine(st), s.Treble.Fine(st)
	if b == t {
		return b
	}
	if f, _, ok := strings.Cut(b, " "); ok {
		return f + " / " + t
	}
	return b + " / " + t
}

// bend draws the fret tops from nut to joint against the line from fret 1 to the joint, unstrung and strung, under y.
func (c *canvas) bend(y float64, r strungup.Result, o PairOptions) float64 {
	s := r.Sags
	if len(s) < 2 {
		return y
	}
	say := o.Style.Say
	t := label(margin, y-middle, middle, drawing.Start, say("Bend of the neck, nut to joint"))
	t.Bold = true
	c.text("", t)
	y -= middle + 2
	lo, hi := 0.0, 0.05 // mm below the line
	for _, k := range s {
		lo = math.Min(lo, math.Min(k.Unstrung.MM(), k.Strung.MM()))
		hi = math.Max(hi, math.Max(k.Unstrung.MM(), k.Strung.MM()))
	}
	long := s[len(s)-1].At.MM()
	right := c.w - margin - 19
	sx := (right - margin - 1) / math.Max(long, 1)
	sy := 24 / (hi - lo)
	line := y + lo*sy - 1 // page height of the straight line
	X := func(u float64) float64 { return margin + 1 + u*sx }
	var a, b []drawing.Point
	for _, k := range s {
		a = append(a, pt(X(k.At.MM()), line-k.Unstrung.MM()*sy))
		b = append(b, pt(X(k.At.MM()), line-k.Strung.MM()*sy))
	}
	foot := line - hi*sy
	for _, k := range s[1:] {
		thin(c.line(drawing.LayerDim, "", X(k.At.MM()), line, X(k.At.MM()), line-k.Strung.MM()*sy))
	}
	c.line(drawing.LayerEdge, "bend-line", X(s[1].At.MM()), line, X(long), line)
	un := c.polyline(drawing.LayerMark, "bend-unstrung", a...)
	un.Pen = drawing.Pen{Tone: drawing.Faint, Weight: mm(0.4), Dash: []unit.Length{mm(0.9), mm(0.7)}}
	c.polyline(drawing.LayerMark, "bend-strung", b...).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.6)}
	// A bar to read heights by.
	step := steps(unit.Millimetre)[0]
	for _, v := range fineSteps(o.Style) {
		if v*sy <= 16 {
			step = v
		}
	}
	d := dim(pt(right+3, line), pt(right+3, line-step*sy), 90, pt(right+3, line), drawing.Text{})
	d.Arrow = mm(1.2)
	d.NoExtend = true
	c.add(drawing.Item{Layer: drawing.LayerDim, Name: "bend-scale", Shape: d})
	c.text("bend-scale-text", label(right+4.6, line-step*sy/2-small*0.34, small, drawing.Start, mm(step).Fine(o.Style)))
	y = foot - small*1.3
	page := box(0, y-3, c.w, y+5)
	for _, k := range []int{len(s) - 1, 1, 12, 5, 7, 9, 3} {
		if k < len(s) {
			tt := label(X(s[k].At.MM()), y, small, drawing.Middle, fmt.Sprint(s[k].Fret))
			c.place("", page, tt)
		}
	}
	c.place("", page, label(right+3, y, small, drawing.Start, say("fret")))
	y -= small * 1.5
	x := margin
	for _, kind := range []struct {
		strung bool
		words  string
	}{{false, say("unstrung %v", unit.FineLength(r.ReliefUnstrung))}, {true, say("strung %v", unit.FineLength(r.ReliefStrung))}} {
		it := c.line(drawing.LayerMark, "", x, y+small*0.34, x+7, y+small*0.34)
		it.Pen = drawing.Pen{Tone: drawing.Faint, Weight: mm(0.4), Dash: []unit.Length{mm(0.9), mm(0.7)}}
		if kind.strung {
			it.Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.6)}
		}
		c.text("", label(x+8.4, y, small, drawing.Start, kind.words))
		x += 8.4 + width(kind.words, small, false) + 4
	}
	return y - small*0.6
}
