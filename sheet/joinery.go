package sheet

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"fairset/craft/fastening"
	"fairset/drawing"
	"fairset/unit"
)

// JoineryInput is a heel and the body it is bolted to.
type JoineryInput struct {
	Bolts       BoltInput      // heel, tenon and depths; the holes are the plan's
	Plan        fastening.Plan // every hole and its stop
	Barrel      fastening.Barrel
	TenonLength unit.Length // 0: no tenon
	Block       unit.Length // wood of the body the bolts pass; 0 when not known
	// MortiseWidth and MortiseDepth as measured; 0 where they have not been: the mortise is then made to the tenon.
	MortiseWidth, MortiseDepth unit.Length
	Proud                      unit.Length // underside of the board over the top at the joint
	Caution                    string      // of drilling, in the reader's language
}

// hole finds a hole of the plan by its key; one without a drill is not there.
func (in JoineryInput) hole(key string) (fastening.Hole, bool) {
	for _, h := range in.Plan.Holes {
		if h.Key == key {
			return h, true
		}
	}
	return fastening.Hole{}, false
}

// drill says what to do at one hole: "lead hole 4.4 mm, stop at 30.0 mm".
func (f *full) drill(h fastening.Hole) string {
	if h.Depth > 0 {
		return f.say("%v %s, stop at %s", h.What, nb(h.Drill.In(f.head.Style)), nb(f.fine(h.Depth)))
	}
	return f.say("%v %s, right through", h.What, nb(h.Drill.In(f.head.Style)))
}

// depth is something that lies so far under the top edge, in a view whose top edge is y = 0.
type depth struct {
	name, words string
	value       unit.Length
	x           float64 // where it is measured to
}

// depths draws running dimensions from the top edge down, to the left of x, the deeper the further out, with their
// words beyond in a column, and returns the left end of the words and their top and foot.
func (f *full) depths(x float64, list []depth) (left, top, low float64) {
	sort.SliceStable(list, func(i, j int) bool { return list[i].value < list[j].value })
	want := make([]float64, len(list))
	for i, d := range list {
		want[i] = d.value.MM()
	}
	rows := apart(want, small*1.25)
	col := func(i int) float64 { return x - 4 - 4.5*float64(i) }
	words := col(len(list)-1) - 5
	f.line(drawing.LayerDatum, "", words, 0, x, 0)
	for i, d := range list {
		y := -d.value.MM()
		thin(f.line(drawing.LayerDim, "", d.x, y, col(i)-1, y))
		it := noExtend(dim(pt(d.x, 0), pt(d.x, y), 90, pt(col(i), 0), drawing.Text{}))
		f.add(drawing.Item{Layer: drawing.LayerDim, Name: d.name, Shape: it})
		thin(f.line(drawing.LayerDim, "", col(i)-1, y, words+0.8, -rows[i]))
		t := label(words, -rows[i]-small*0.34, small, drawing.End, d.words)
		t.Halo = drawing.Paper // a hole just under the edge has its words across the edge's line
		f.text(d.name+"-figure", t)
		left, top, low = math.Min(left, t.Box().Left.MM()), math.Max(top, t.Box().Top.MM()), math.Min(low, t.Box().Bottom.MM())
	}
	return left, top, low
}

// hole draws a hole seen from the front, with its centre cross.
func (f *full) hole(name string, x, y, r float64) {
	f.circle(drawing.LayerDrill, name, "", x, y, r)
	arm := r + 2.5
	for _, l := range [][4]float64{{x - arm, y, x + arm, y}, {x, y - arm, x, y + arm}} {
		f.line(drawing.LayerDrill, name+"-cross", l[0], l[1], l[2], l[3]).Pen.Weight = mm(0.13)
	}
}

// across draws a width with its words under or over it.
func (f *full) across(name string, x1, x2, from, y float64, words string) {
	f.add(drawing.Item{Layer: drawing.LayerDim, Name: name, Shape: dim(pt(x1, from), pt(x2, from), 0, pt(0, y), drawing.Text{})})
	at := y + 1.3
	if y < from {
		at = y - 1.3 - small*0.74
	}
	t := label((x1+x2)/2, at, small, drawing.Middle, words)
	t.Halo = drawing.Paper // a line further out may pass behind
	f.text(name+"-figure", t)
}

// spot is words centred at x.
type spot struct {
	x     float64
	words string
}

// reach widens a view from lo to hi by the words centred over and under it.
func reach(lo, hi float64, list ...spot) (float64, float64) {
	for _, s := range list {
		half := width(s.words, small, true) / 2 // titles are bold
		lo, hi = math.Min(lo, s.x-half), math.Max(hi, s.x+half)
	}
	return lo, hi
}

func (in JoineryInput) depthsOf(f *full, what string, x float64, withHeel bool) []depth {
	var out []depth
	for i, d := range in.Bolts.Depths {
		out = append(out, depth{fmt.Sprintf("%s-bolt-%d", what, i+1), f.say("bolt %d: %s", i+1, f.fine(d)), d, x})
	}
	if withHeel {
		out = append(out, depth{"heel-height", f.say("cap: %s", f.fine(in.Bolts.Heel.Height)), in.Bolts.Heel.Height, x})
	}
	return out
}

// proudNote says what the top edge is where the board does not lie on the top.
func (in JoineryInput) proudNote(f *full) string {
	if in.Proud.Abs() < 0.05*unit.MM {
		return ""
	}
	if in.Proud < 0 {
		return f.say("The board's underside lies %s under the top: on the heel the datum is the line of the top, not the board.", nb(f.fine(in.Proud.Abs())))
	}
	return f.say("The board's underside lies %s over the top: on the heel the datum is the line of the top, not the board.", nb(f.fine(in.Proud.Abs())))
}

// Joinery draws heel and body at full size, all four views hung from the same line: the heel's face and side with
// tenon and pilot holes, the body's end with the mortise and clearance holes, and the block cut through.
//
// The top edge is y = 0 in every view and the heel's middle x = 0. Holes are "pilot", "pilot-side", "clearance" and
// "clearance-side"; outlines "heel", "tenon", "heel-side", "tenon-side", "body-end", "mortise", "block" and
// "mortise-side". Running depths are "heel-bolt-1", "body-bolt-1" and so on, and "heel-height"; other dimension lines are
// "heel-width-top", "heel-width-cap", "tenon-width", "tenon-length", "stop-depth", "mortise-width" and "mortise-depth".
func Joinery(in JoineryInput, h Head) *drawing.Sheet {
	f := newFull(h, "Heel, mortise and bolts")
	wt, wc, high := in.Bolts.Heel.WidthTop.MM(), in.Bolts.Heel.WidthCap.MM(), in.Bolts.Heel.Height.MM()
	wide := math.Max(wt, wc)
	tenon := math.Min(in.Bolts.TenonWidth.MM(), math.Min(wt, wc))
	long := in.TenonLength.MM()
	if tenon <= 0 || long <= 0 {
		tenon, long = 0, 0
	}
	mw, md := in.MortiseWidth.MM(), in.MortiseDepth.MM()
	if mw <= 0 {
		mw = tenon
	}
	if md <= 0 {
		md = long
	}
	in.Bolts = in.Bolts.With(in.Plan)
	heelHole, _ := in.hole("heel")
	if _, ok := in.hole("cross"); !ok {
		in.Barrel = fastening.Barrel{}
	}
	dashes := []unit.Length{mm(1.6), mm(1)}
	var titles []callout
	face := func(x float64) []drawing.Point {
		return []drawing.Point{pt(x-wt/2, 0), pt(x+wt/2, 0), pt(x+wc/2, -high), pt(x-wc/2, -high)}
	}

	// The heel's face, seen from the body.
	f.polygon(drawing.LayerWood, "heel", "", face(0)...)
	if tenon > 0 {
		f.rect(drawing.LayerWood, "tenon", "", -tenon/2, -high, tenon/2, 0)
	}
	f.line(drawing.LayerDatum, "", 0, 3, 0, -high-3)
	for _, d := range in.Bolts.Depths {
		f.hole("pilot", 0, -d.MM(), in.Bolts.Pilot.MM()/2)
	}
	topWords, tenonAcross, capWords := f.say("top %s", f.fine(in.Bolts.Heel.WidthTop)), f.say("tenon %s", f.fine(in.Bolts.TenonWidth)), f.say("cap %s", f.fine(in.Bolts.Heel.WidthCap))
	heelTitle := f.say("HEEL FROM THE BODY")
	left, top, words := f.depths(-wide/2, in.depthsOf(f, "heel", 0, true))
	under := math.Min(-high, words)
	f.across("heel-width-top", -wt/2, wt/2, 0, 6, topWords)
	if tenon > 0 {
		f.across("tenon-width", -tenon/2, tenon/2, -high, under-11-small*1.3, tenonAcross)
	}
	f.across("heel-width-cap", -wc/2, wc/2, -high, under-6, capWords)
	titles = append(titles, callout{x: 0, text: heelTitle})
	_, right := reach(-wide/2, wide/2, spot{0, tenonAcross}, spot{0, topWords}, spot{0, capWords}, spot{0, heelTitle})

	// The heel from its side: face to the right, as it goes into the body on the next view but one.
	tenonWords, stopWords, barrelWords := f.say("tenon %s", f.fine(in.TenonLength)), f.say("stop %s", f.fine(heelHole.Depth)), f.say("barrel %s", f.fine(in.Barrel.Set))
	sideTitle := f.say("HEEL FROM THE SIDE")
	heelBack := math.Max(26, math.Max(heelHole.Depth.MM(), in.Barrel.Set.MM())-long+8)
	lo, hi := reach(-heelBack-8, long, spot{long / 2, tenonWords}, spot{long - heelHole.Depth.MM()/2, stopWords},
		spot{long - in.Barrel.Set.MM()/2, barrelWords}, spot{(long - heelBack) / 2, sideTitle})
	sx := right + 8 - lo
	f.add(drawing.Item{Layer: drawing.LayerWood, Name: "heel-side", Shape: drawing.Path{Steps: []drawing.Step{
		{Verb: drawing.MoveTo, To: pt(sx-heelBack-8, 0)}, {Verb: drawing.LineTo, To: pt(sx, 0)}, {Verb: drawing.LineTo, To: pt(sx, -high)},
		{Verb: drawing.LineTo, To: pt(sx-heelBack, -high)},
		{Verb: drawing.CurveTo, A: pt(sx-heelBack-2, -high*0.8), B: pt(sx-heelBack-2, -high*0.5), To: pt(sx-heelBack-8, -high*0.25)}}}})
	f.breakLine(sx-heelBack-8, -high*0.25, sx-heelBack-8, 0)
	if tenon > 0 {
		f.polyline(drawing.LayerWood, "tenon-side", pt(sx, 0), pt(sx+long, 0), pt(sx+long, -high), pt(sx, -high))
		f.across("tenon-length", sx, sx+long, 0, 6, tenonWords)
	}
	end, stop := sx+long, heelHole.Depth.MM()
	for _, d := range in.Bolts.Depths {
		r := in.Bolts.Pilot.MM() / 2
		f.polyline(drawing.LayerDrill, "pilot-side", pt(end, -d.MM()+r), pt(end-stop, -d.MM()+r), pt(end-stop, -d.MM()-r), pt(end, -d.MM()-r)).Pen.Dash = dashes
		f.line(drawing.LayerDatum, "", end-stop-3, -d.MM(), end+3, -d.MM())
	}
	if cross, ok := in.hole("cross"); ok {
		for _, d := range in.Bolts.Depths {
			f.hole("cross", end-in.Barrel.Set.MM(), -d.MM(), cross.Drill.Diameter.MM()/2)
		}
		f.across("barrel-set", end-in.Barrel.Set.MM(), end, -high, -high-6-small*1.3-5, barrelWords)
	}
	if len(in.Bolts.Depths) > 0 && heelHole.Depth > 0 {
		f.across("stop-depth", end-stop, end, -high, -high-6, stopWords)
	}
	titles = append(titles, callout{x: sx + (long-heelBack)/2, text: sideTitle})
	right = sx + hi

	// The body's end, seen from the neck.
	body := in.depthsOf(f, "body", 0, false)
	room := 4 + 4.5*float64(len(body)) + 5
	for _, d := range body {
		room = math.Max(room, 4+4.5*float64(len(body))+5+width(d.words, small, false))
	}
	const rim = 10.0
	bodyTitle, fits := f.say("BODY END FROM THE NECK"), f.say("mortise to fit the tenon, %s", f.fine(in.Bolts.TenonWidth))
	lo, hi = reach(0, wide/2+rim, spot{0, fits}, spot{0, bodyTitle})
	bx := right + 8 + math.Max(room+wide/2+rim, -lo)
	for i := range body {
		body[i].x = bx
	}
	f.polyline(drawing.LayerWood, "body-end", pt(bx-wide/2-rim, 0), pt(bx+wide/2+rim, 0))
	f.breakLine(bx-wide/2-rim, 0, bx-wide/2-rim, -high-rim)
	f.breakLine(bx-wide/2-rim, -high-rim, bx+wide/2+rim, -high-rim)
	f.breakLine(bx+wide/2+rim, -high-rim, bx+wide/2+rim, 0)
	f.polygon(drawing.LayerScore, "seat", "", face(bx)...).Pen.Dash = dashes
	if tenon > 0 {
		f.rect(drawing.LayerWood, "mortise", "", bx-mw/2, -high, bx+mw/2, 0)
	}
	_, bodyTop, bodyLow := f.depths(bx-wide/2-rim, body)
	top, under = math.Max(top, bodyTop), math.Min(-high-rim, bodyLow)
	if tenon > 0 {
		if in.MortiseWidth > 0 {
			fits = f.say("mortise %s", f.fine(mm(mw)))
		}
		f.across("mortise-width", bx-mw/2, bx+mw/2, -high, under-6, fits)
	}
	f.line(drawing.LayerDatum, "", bx, 3, bx, -high-3)
	for _, d := range in.Bolts.Depths {
		f.hole("clearance", bx, -d.MM(), in.Bolts.Clearance.MM()/2)
	}
	titles = append(titles, callout{x: bx, text: bodyTitle})
	right = bx + hi

	// The block cut through on the centreline, the neck to the left.
	deep, known := md+28, in.Block > 0
	if known {
		deep = md + in.Block.MM()
	}
	depthWords, blockWords, cutTitle := f.say("mortise %s", f.fine(mm(md))), f.say("block %s", f.fine(in.Block)), f.say("BLOCK, CUT THROUGH")
	if in.MortiseDepth <= 0 {
		depthWords = f.say("a little over %s", f.fine(in.TenonLength))
	}
	lo, _ = reach(0, deep, spot{md / 2, depthWords}, spot{(md + deep) / 2, blockWords}, spot{deep / 2, cutTitle})
	cx := right + 8 - lo
	block := []drawing.Point{pt(cx+deep, 0), pt(cx+md, 0), pt(cx+md, -high), pt(cx, -high), pt(cx, -high-rim), pt(cx+deep, -high-rim)}
	f.polyline(drawing.LayerWood, "block", block...)
	f.line(drawing.LayerWood, "mortise-side", cx, 0, cx+md, 0).Pen.Dash = dashes
	f.line(drawing.LayerWood, "", cx, 0, cx, -high).Pen.Dash = dashes
	if known {
		f.line(drawing.LayerWood, "block-back", cx+deep, -high-rim, cx+deep, 0)
	} else {
		f.breakLine(cx+deep, -high-rim, cx+deep, 0)
	}
	for _, d := range in.Bolts.Depths {
		r := in.Bolts.Clearance.MM() / 2
		for _, y := range []float64{-d.MM() - r, -d.MM() + r} {
			f.line(drawing.LayerDrill, "clearance-side", cx+md, y, cx+deep, y).Pen.Dash = dashes
		}
		f.line(drawing.LayerDatum, "", cx+md-3, -d.MM(), cx+deep+3, -d.MM())
	}
	if known {
		f.across("block-thickness", cx+md, cx+deep, -high-rim, -high-rim-6, blockWords)
	}
	if tenon > 0 {
		f.across("mortise-depth", cx, cx+md, 0, 6, depthWords)
	}
	neckward := label(cx+deep/2, -high-rim-8-small*2, small, drawing.Middle, f.say("neck to the left"))
	neckward.Halo = drawing.Paper // a bolt under the cap may pass here
	f.text("", neckward)
	titles = append(titles, callout{x: cx + deep/2, text: cutTitle})

	// One datum through all, under what was drawn so far.
	f.sheet.Items = slices.Insert(f.sheet.Items, 0, drawing.Item{Layer: drawing.LayerDatum, Name: "top-edge", Pen: drawing.Pen{Tone: drawing.Accent, Weight: mm(0.25)},
		Shape: drawing.Line{From: pt(left, 0), To: pt(cx+deep+6, 0)}})
	base := math.Max(top, 6+small*3.1) + 4
	for _, k := range titles {
		w := label(k.x, base, small, drawing.Middle, k.text)
		w.Bold = true
		f.text("", w)
	}
	lt, rt := f.say("BASS"), f.say("TREBLE")
	widest := math.Max(width(lt, small, false), width(rt, small, false))
	if h.Left {
		lt, rt = rt, lt
	}
	for _, v := range []struct {
		x, out      float64
		left, right string
	}{{0, wide / 2, lt, rt}, {bx, wide/2 + rim, rt, lt}} {
		out := math.Max(v.out, widest+1)
		f.text("", label(v.x-out, base-small*1.4, small, drawing.Start, v.left))
		f.text("", label(v.x+out, base-small*1.4, small, drawing.End, v.right))
	}

	notes := in.holes(f)
	notes = append(notes, f.say("Put the stop on the drill, not on the eye. Mark both parts from the top edge with one setting of the square."),
		f.say("Bass and treble change sides between the two faces. Where nothing is said of them, outlines are in usual proportion."))
	if s := in.proudNote(f); s != "" {
		notes = append(notes, s)
	}
	if in.Caution != "" {
		notes = append(notes, in.Caution)
	}
	f.sheet.Desc = f.say("Heel and body end with %d bolt holes at the same depth under the top edge.", len(in.Bolts.Depths)) + " " + plain(in.holes(f))
	f.sheet.Table = in.table(h.Style)
	return f.done("the top edge, the same line on neck and body", notes...)
}

// holes says each hole of the plan in the order they are drilled, a sentence each.
func (in JoineryInput) holes(f *full) []string {
	var out []string
	for _, h := range in.Plan.Holes {
		switch neck := h.Part == "neck"; {
		case neck && h.Depth > 0:
			out = append(out, f.say("Heel: %s from %v.", f.drill(h), h.From))
		case neck:
			out = append(out, f.say("Heel: %s.", f.drill(h)))
		case h.Depth > 0:
			out = append(out, f.say("Body: %s from %v.", f.drill(h), h.From))
		default:
			out = append(out, f.say("Body: %s.", f.drill(h)))
		}
	}
	if _, ok := in.hole("cross"); ok {
		out = append(out, f.say("The barrel's middle lies %s from the tenon's end.", nb(f.fine(in.Barrel.Set))))
	}
	return out
}

// plain joins sentences, with ordinary spaces.
func plain(sentences []string) string {
	return strings.ReplaceAll(strings.Join(sentences, " "), "\u00a0", " ")
}

func (in JoineryInput) table(s unit.Style) [][]string {
	out := [][]string{{s.Say("What"), s.Say("Figure")}}
	put := func(what, figure string) { out = append(out, []string{what, figure}) }
	add := func(what unit.Text, v unit.Length) { put(what.In(s), v.Exact(s)) }
	for i, d := range in.Bolts.Depths {
		put(s.Say("Bolt %d, centre under the top edge, heel and body", i+1), d.Exact(s))
	}
	for _, h := range in.Plan.Holes {
		what := s.Say("%v, body", unit.Upper{Words: h.What})
		if h.Part == "neck" {
			what = s.Say("%v, neck", unit.Upper{Words: h.What})
		}
		put(what, h.Drill.In(s)+" ("+h.Drill.Diameter.Fine(s)+")")
		if h.Depth > 0 {
			put(s.Say("Stop for it, from %v", h.From), h.Depth.Exact(s))
		}
	}
	if _, ok := in.hole("cross"); ok {
		add("Tenon's end to the barrel's middle", in.Barrel.Set)
	}
	add("Heel height", in.Bolts.Heel.Height)
	add("Heel width at the top edge", in.Bolts.Heel.WidthTop)
	add("Heel width at the cap", in.Bolts.Heel.WidthCap)
	if in.Bolts.TenonWidth > 0 && in.TenonLength > 0 {
		add("Tenon width", in.Bolts.TenonWidth)
		add("Tenon length", in.TenonLength)
	}
	if in.MortiseWidth > 0 {
		add("Mortise width", in.MortiseWidth)
	}
	if in.MortiseDepth > 0 {
		add("Mortise depth", in.MortiseDepth)
	}
	if in.Block > 0 {
		add("Wood of the body the bolts pass", in.Block)
	}
	return out
}

// DrillTemplate draws two templates to cut out, fold over the top edge and prick the bolt centres through: one for the
// heel, one for the body, with the holes at the same depth under the fold.
//
// The fold is y = 0 in both; the heel's centreline is x = 0. Outlines are "heel-template" and "body-template", folds
// "heel-fold" and "body-fold", holes "pilot" and "clearance", running depths "heel-bolt-1", "body-bolt-1" and so on.
func DrillTemplate(in JoineryInput, h Head) *drawing.Sheet {
	f := newFull(h, "Drilling template")
	wt, wc, high := in.Bolts.Heel.WidthTop.MM(), in.Bolts.Heel.WidthCap.MM(), in.Bolts.Heel.Height.MM()
	wide := math.Max(wt, wc)
	tenon := math.Min(in.Bolts.TenonWidth.MM(), math.Min(wt, wc))
	if in.TenonLength <= 0 {
		tenon = 0
	}
	in.Bolts = in.Bolts.With(in.Plan)
	heelHole, _ := in.hole("heel")
	bodyHole, _ := in.hole("body")
	dashes := []unit.Length{mm(3), mm(1.2)}
	right := 0.0
	panel := func(what, title string, r float64, lay, drill string, first bool) {
		list := in.depthsOf(f, what, 0, false)
		room := 0.0
		for _, d := range list {
			room = math.Max(room, width(d.words, small, false))
		}
		lt, rt := f.say("BASS"), f.say("TREBLE")
		if h.Left == first {
			lt, rt = rt, lt
		}
		room = math.Max(room+4+4.5*float64(len(list))+5, width(lt, small, false)-5.4)
		x := 0.0
		if !first {
			x = right + 10 + room + wide/2
		}
		for i := range list {
			list[i].x = x
		}
		// The flap is as deep as its words need.
		lines := drawing.Wrap(lay, mm(small), false, mm(math.Max(wt-4, 1)))
		flap := math.Max(22, float64(len(lines)+1)*small*1.35+6)
		f.polygon(drawing.LayerWood, what+"-template", "", pt(x-wt/2, flap), pt(x+wt/2, flap), pt(x+wt/2, 0), pt(x+wc/2, -high), pt(x-wc/2, -high), pt(x-wt/2, 0))
		f.line(drawing.LayerDatum, what+"-fold", x-wt/2-6, 0, x+wt/2+6, 0).Pen = drawing.Pen{Tone: drawing.Accent, Weight: mm(0.4), Dash: dashes}
		f.line(drawing.LayerDatum, "", x, -4.5, x, -high-3)
		if tenon > 0 {
			for _, s := range []float64{-1, 1} {
				f.line(drawing.LayerScore, what+"-cheek", x+s*tenon/2, 0, x+s*tenon/2, -high).Pen.Dash = []unit.Length{mm(1.2), mm(0.8)}
			}
		}
		y := flap - 2 - small*0.74
		head := label(x, y, small, drawing.Middle, fit(title, small, true, wt-2))
		head.Bold = true
		f.text("", head)
		for _, l := range lines {
			y -= small * 1.35
			f.text("", label(x, y, small, drawing.Middle, fit(l, small, false, wt-2)))
		}
		fold := f.say("fold")
		f.text("", label(x+wt/2+8, -small*0.34, small, drawing.Start, fold))
		hole := "pilot"
		if !first {
			hole = "clearance"
		}
		for _, d := range in.Bolts.Depths {
			f.hole(hole, x, -d.MM(), r)
		}
		right = x + wt/2 + 8 + width(fold, small, false)
		top := 2.0
		if len(list) > 0 {
			_, words, _ := f.depths(x-wide/2, list)
			top = math.Max(top, words)
			// One leader to the lowest hole says the drill of all.
			low := -in.Bolts.Depths[0].MM()
			for _, d := range in.Bolts.Depths {
				low = math.Min(low, -d.MM())
			}
			thin(f.line(drawing.LayerDim, "", x+r*0.71, low-r*0.71, x+wide/2+3, low-r-4))
			dy := low - r - 4 - small*0.34
			for i, l := range drawing.Wrap(drill, mm(small), false, mm(44)) {
				t := label(x+wide/2+4, dy-float64(i)*small*1.35, small, drawing.Start, l)
				f.text("", t)
				right = math.Max(right, t.Box().Right.MM())
			}
		}
		f.text("", label(x-wt/2-3, top+3, small, drawing.End, lt))
		f.text("", label(x+wt/2+3, top+3, small, drawing.Start, rt))
		right = math.Max(right, x+wt/2+3+width(rt, small, false))
	}
	panel("heel", f.say("HEEL"), in.Bolts.Pilot.MM()/2, f.say("fold: this flap lies on the heel's top edge, or under the board where that is on"), f.say("all: %s", f.drill(heelHole)), true)
	panel("body", f.say("BODY END"), in.Bolts.Clearance.MM()/2, f.say("fold back: this flap lies on the top"), f.say("all: %s", f.drill(bodyHole)), false)

	notes := []string{
		f.say("Cut out along the outlines, fold on the red dashes and lay the fold on the top edge, so that both parts are marked from the same line. Prick the centres with an awl, then drill."),
	}
	if tenon > 0 {
		notes = append(notes, f.say("Fine dashes: the tenon's cheeks. Cut along them to lay the template on the tenon's end and in the mortise."))
	}
	if s := in.proudNote(f); s != "" {
		notes = append(notes, s)
	}
	notes = append(notes, f.say("The heel's side is printed as seen from the body, the body's as seen from the neck: bass and treble change sides."))
	if in.Caution != "" {
		notes = append(notes, in.Caution)
	}
	if _, ok := in.hole("cross"); ok {
		notes = append(notes, in.holes(f)...)
	}
	f.sheet.Desc = f.say("Two templates that fold over the top edge, one for the heel and one for the body, with %d bolt centres at the same depth under the fold.", len(in.Bolts.Depths)) +
		" " + plain(in.holes(f))
	f.sheet.Table = in.table(h.Style)
	return f.done("the fold, which lies on the top edge of neck and body alike", notes...)
}
