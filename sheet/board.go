package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/fretting"
	"fairset/drawing"
	"fairset/unit"
)

// BoardPlanOptions of a board plan.
type BoardPlanOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
	Dots       []fretting.Mark // on the face; a pair stands either side of the middle
	ToSaddle   bool            // draws the strings on to the saddle's line; else they end with the board
}

// BoardPlan draws a fretboard from above with its slots, strings and dots, lengths and widths to one scale (ScaleX): upright
// with the nut at the top on a narrow sheet, else with the nut to the left. Beside every slot stands its distance from
// the nut on the centreline.
//
// Slots are named "slot-1" and so on, strings "string", the outline "board", dots "dot"; the dimension lines are
// "nut-width", "end-width" and "board-length".
func BoardPlan(l fretting.Layout, o BoardPlanOptions) *drawing.Sheet {
	w, say := pageWidth(o.Narrow), o.Style.Say
	c := newCanvas(w, say("The fretboard from above"))
	side := 1.0
	if o.LeftHanded {
		side = -1
	}
	// What is drawn, in the board's own frame.
	lo, hi, half := 0.0, l.Length.MM(), 0.0
	for _, p := range l.Outline {
		lo, hi, half = math.Min(lo, p.X.MM()), math.Max(hi, p.X.MM()), math.Max(half, math.Abs(p.Y.MM()))
	}
	if o.ToSaddle {
		for _, r := range l.Strings {
			hi, half = math.Max(hi, r.Saddle.X.MM()), math.Max(half, math.Abs(r.Saddle.Y.MM()))
		}
		hi += 2
	}
	for _, k := range l.Slots { // leaning slots can reach past the board's end
		hi = math.Max(hi, math.Max(k.Line.Bass.X.MM(), k.Line.Treble.X.MM()))
	}
	if len(l.Slots) == 0 || !(hi > 0) || !(half > 0) {
		c.text("", label(margin, -small, small, drawing.Start, say("No board yet.")))
		c.sheet.Desc, c.sheet.Table = say("No board yet."), [][]string{{say("Fret")}}
		return c.done(-small*1.6, 1)
	}
	lo -= 4 // the nut's own body
	figures := make([]string, len(l.Slots))
	figureRoom := 0.0
	for i, s := range l.Slots {
		figures[i] = s.Centre.Number(o.Style)
		figureRoom = math.Max(figureRoom, width(figures[i], small, false))
	}
	numberRoom := width("00", small, true)
	const leader = 5.0
	var s float64
	var P func(x, y float64) drawing.Point // board to page
	if o.Narrow {
		s = math.Min(136/(hi-lo), (w-2*margin-numberRoom-figureRoom-2*leader-4)/(2*half))
		cx := margin + numberRoom + leader + 2 + half*s
		cx += math.Max(0, (w-margin-(cx+half*s+leader+2+figureRoom))/2)
		P = func(x, y float64) drawing.Point { return pt(cx+side*y*s, -(x-lo)*s) }
	} else {
		// Seen from above with the neck to the left, treble of a right-handed guitar is the farther side.
		s = math.Min((w-2*margin-12)/(hi-lo), 64/(2*half))
		x0 := margin + 12 + math.Max(0, (w-2*margin-12-(hi-lo)*s)/2)
		P = func(x, y float64) drawing.Point { return pt(x0+(x-lo)*s, side*y*s) }
	}
	c.sheet.ScaleX, c.sheet.ScaleY = s, s
	at := func(p fretting.Point) drawing.Point { return P(p.X.MM(), p.Y.MM()) }

	board := make([]drawing.Point, 0, 4)
	for _, p := range l.Outline {
		board = append(board, at(p))
	}
	c.polygon(drawing.LayerWood, "board", drawing.Dark, board...)
	back := func(p fretting.Point) drawing.Point { return P(p.X.MM()-4, p.Y.MM()) }
	c.polygon(drawing.LayerWood, "nut", drawing.Bone, at(l.Nut.Bass), at(l.Nut.Treble), back(l.Nut.Treble), back(l.Nut.Bass)).Pen.Weight = mm(0.2)
	for _, k := range l.Slots {
		it := c.line(drawing.LayerMark, fmt.Sprintf("slot-%d", k.Fret), 0, 0, 0, 0)
		it.Shape = drawing.Line{From: at(k.Line.Bass), To: at(k.Line.Treble)}
		it.Pen = drawing.Pen{Tone: drawing.Bone, Weight: mm(0.35)}
	}
	middleOf := func(fret int) float64 {
		a := 0.0
		if fret > 1 {
			a = l.Slots[fret-2].Centre.MM()
		}
		return (a + l.Slots[fret-1].Centre.MM()) / 2
	}
	for _, d := range o.Dots {
		if d.Fret < 1 || d.Fret > len(l.Slots) || d.Count < 1 || d.Count > 3 {
			continue
		}
		x := middleOf(d.Fret)
		pair := l.WidthAt(mm(x)).MM() / 2
		for i := range d.Count {
			y := (float64(i) - float64(d.Count-1)/2) * pair
			p := P(x, y)
			c.circle(drawing.LayerMark, "dot", drawing.Bone, p.X.MM(), p.Y.MM(), clamp(3*s, 0.6, 2)).Pen.None = true
		}
	}
	for _, r := range l.Strings {
		end := r.Saddle
		if !o.ToSaddle {
			if run := (r.Saddle.X - r.Nut.X).MM(); run > 0 {
				k := unit.Length((hi - r.Nut.X.MM()) / run)
				end = fretting.Point{X: r.Nut.X + k*(r.Saddle.X-r.Nut.X), Y: r.Nut.Y + k*(r.Saddle.Y-r.Nut.Y)}
			}
		}
		it := c.line(drawing.LayerString, "string", 0, 0, 0, 0)
		it.Shape = drawing.Line{From: at(r.Nut), To: at(end)}
		it.Pen.Weight = mm(clamp(r.Gauge.MM()*s, 0.18, 0.6))
	}
	if o.ToSaddle && len(l.Strings) > 0 {
		a, b := at(l.Saddle.Bass), at(l.Saddle.Treble)
		it := c.line(drawing.LayerEdge, "saddle-line", 0, 0, 0, 0)
		it.Shape = drawing.Line{From: a, To: b}
		if len(l.Strings) == 1 {
			it.Shape = drawing.Line{From: P(l.Saddle.Bass.X.MM(), l.Saddle.Bass.Y.MM()-8), To: P(l.Saddle.Bass.X.MM(), l.Saddle.Bass.Y.MM()+8)}
		}
	}

	marked := map[int]bool{}
	for _, d := range o.Dots {
		marked[d.Fret] = true
	}
	bass, treble := say("BASS"), say("TREBLE")
	nutWidth, endWidth := l.WidthAt(0), l.WidthAt(l.Length)
	var top, low float64
	if o.Narrow {
		// Numbers to the left of their slots, distances to the right, pushed apart where slots crowd.
		leftX, rightX := P(0, -side*half).X.MM()-leader-1, P(0, side*half).X.MM()+leader+1
		want := make([]float64, len(l.Slots))
		leftEnd, rightEnd := make([]drawing.Point, len(l.Slots)), make([]drawing.Point, len(l.Slots))
		for i, k := range l.Slots {
			leftEnd[i], rightEnd[i] = at(k.Line.Bass), at(k.Line.Treble)
			if o.LeftHanded {
				leftEnd[i], rightEnd[i] = rightEnd[i], leftEnd[i]
			}
			want[i] = -leftEnd[i].Y.MM()
		}
		rows := apart(want, small*1.18)
		for i := range want {
			want[i] = -rightEnd[i].Y.MM()
		}
		rightRows := apart(want, small*1.18)
		for i, k := range l.Slots {
			t := label(leftX, -rows[i]-small*0.34, small, drawing.End, fmt.Sprint(k.Fret))
			t.Bold = marked[k.Fret]
			c.text("", t)
			thin(c.line(drawing.LayerDim, "", leftX+0.6, -rows[i], leftEnd[i].X.MM()-0.4, leftEnd[i].Y.MM()))
			c.text("from-nut", label(rightX, -rightRows[i]-small*0.34, small, drawing.Start, figures[i]))
			thin(c.line(drawing.LayerDim, "", rightX-0.6, -rightRows[i], rightEnd[i].X.MM()+0.4, rightEnd[i].Y.MM()))
			low = math.Min(low, math.Min(-rows[i], -rightRows[i])-small*0.6)
		}
		low = math.Min(low, P(hi, 0).Y.MM())
		// Over the nut: its width, the sides and what the columns hold.
		y := P(lo, 0).Y.MM() + 2.2
		a, b := P(0, -nutWidth.MM()/2), P(0, nutWidth.MM()/2)
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: "nut-width", Shape: noExtend(dim(a, b, 0, pt(0, y), drawing.Text{}))})
		y += 1.6
		t := label((a.X+b.X).MM()/2, y, small, drawing.Middle, nutWidth.In(o.Style))
		c.text("", t)
		y += small * 1.3
		lt, rt := bass, treble
		if o.LeftHanded {
			lt, rt = rt, lt
		}
		c.text("", label(margin, y, small, drawing.Start, lt))
		c.text("", label(w-margin, y, small, drawing.End, rt))
		c.text("", label(w/2, y, small, drawing.Middle, say("head‖of a neck")))
		top = y + small
		if !o.ToSaddle {
			end := P(l.Length.MM(), 0).Y.MM()
			low = math.Min(low, end)
			ya := end - 3
			a, b = P(0, -endWidth.MM()/2), P(0, endWidth.MM()/2)
			c.add(drawing.Item{Layer: drawing.LayerDim, Name: "end-width", Shape: noExtend(dim(a, b, 0, pt(0, ya), drawing.Text{}))})
			word := label((a.X+b.X).MM()/2, math.Min(ya-1.2-small*0.74, low-small*0.9), small, drawing.Middle, endWidth.In(o.Style))
			c.text("", word)
			low = word.At.Y.MM() - 1.5
		}
	} else {
		nearEnd, farEnd := make([]drawing.Point, len(l.Slots)), make([]drawing.Point, len(l.Slots))
		want := make([]float64, len(l.Slots))
		for i, k := range l.Slots {
			nearEnd[i], farEnd[i] = at(k.Line.Bass), at(k.Line.Treble)
			if o.LeftHanded {
				nearEnd[i], farEnd[i] = farEnd[i], nearEnd[i]
			}
			want[i] = farEnd[i].X.MM()
		}
		cols := apart(want, small*1.18)
		for i := range want {
			want[i] = nearEnd[i].X.MM()
		}
		nearCols := apart(want, small*1.35)
		high := half*s + leader + 0.6
		low = -half*s - leader - 0.6 - small*0.74
		for i, k := range l.Slots {
			t := label(cols[i]+small*0.34, high, small, drawing.Start, figures[i])
			t.Turn = 90 * unit.Degree
			if t.Box().Right.MM() < w-1 {
				c.text("from-nut", t)
				thin(c.line(drawing.LayerDim, "", cols[i], high-0.6, farEnd[i].X.MM(), farEnd[i].Y.MM()+0.4))
			}
			f := label(nearCols[i], low, small, drawing.Middle, fmt.Sprint(k.Fret))
			f.Bold = marked[k.Fret]
			if f.Box().Right.MM() < w-1 && (i == 0 || nearCols[i]-nearCols[i-1] > small*1.3) {
				c.text("", f)
				thin(c.line(drawing.LayerDim, "", nearCols[i], low+small*0.8, nearEnd[i].X.MM(), nearEnd[i].Y.MM()-0.4))
			}
		}
		top = high + figureRoom + 1
		end := P(l.Length.MM(), 0).X.MM()
		start := P(0, 0).X.MM()
		ya := low - 3.4
		bl := label((start+end)/2, ya+1.1, small, drawing.Middle, say("board %v", l.Length))
		bl.At.Y = mm(ya - small*1.05)
		c.add(drawing.Item{Layer: drawing.LayerDim, Name: "board-length", Shape: noExtend(dim(pt(start, 0), pt(end, 0), 0, pt(0, ya), bl))})
		low = ya - small*1.4
		// Widths stand at the ends, turned.
		for _, k := range []struct {
			name  string
			width unit.Length
			x     float64
			draw  bool
		}{{"nut-width", nutWidth, P(lo, 0).X.MM() - 2.5, true}, {"end-width", endWidth, end + 2.5, !o.ToSaddle && end+2.5+small*1.5 < w-1}} {
			if !k.draw {
				continue
			}
			h := k.width.MM() * s / 2
			c.add(drawing.Item{Layer: drawing.LayerDim, Name: k.name, Shape: noExtend(dim(pt(k.x, -h), pt(k.x, h), 90, pt(k.x, 0), drawing.Text{}))})
			dx := -1.4
			if k.name == "end-width" {
				dx = 1.4 + small*0.74
			}
			t := label(k.x+dx, 0, small, drawing.Middle, k.width.In(o.Style))
			t.Turn = 90 * unit.Degree
			c.text("", t)
		}
		lt, rt := treble, bass
		if o.LeftHanded {
			lt, rt = rt, lt
		}
		// Beside the board's corners; farther out where figures stand there.
		corner := func(t drawing.Text, away float64) {
			for i := 0; i < 8 && c.meets(t.Box()); i++ {
				t.At.Y += mm(away * small * 0.6)
			}
			c.text("", t)
			top, low = math.Max(top, t.At.Y.MM()+small), math.Min(low, t.At.Y.MM())
		}
		corner(label(margin, half*s+leader, small, drawing.Start, lt), 1)
		corner(label(margin, -half*s-leader-small*0.8, small, drawing.Start, rt), -1)
	}
	edges := -1 // which of the sentences is about the edges
	var words []string
	words = append(words, say("Each slot's number, and its distance from the nut on the centreline, in %s.", symbolInWords(o.Style)))
	multi := l.ScaleSpan > 0.5*unit.MM
	turned := leans(l)
	if turned {
		words = append(words, say("Slots lean: mark both edges, from the table."))
		multi = true
	}
	if len(l.Strings) > 1 {
		first, last := l.Strings[0], l.Strings[len(l.Strings)-1]
		if multi {
			words = append(words, say("Scale length %s on the bass string, %s on the treble.", nb(first.Scale.In(o.Style)), nb(last.Scale.In(o.Style))))
		}
		edges = len(words)
		words = append(words, say("From the outer strings' outsides to the edge: bass %s at the nut and %s at the last fret, treble %s and %s.",
			nb(l.NutMargin[0].In(o.Style)), nb(l.EndMargin[0].In(o.Style)), nb(l.NutMargin[1].In(o.Style)), nb(l.EndMargin[1].In(o.Style))))
	}
	words = append(words, say("Reduced: not for cutting from."))
	said := words
	if o.Narrow { // a phone has no room for all of it; the margins are in the description
		said = nil
		for i, s := range words {
			if i != edges {
				said = append(said, s)
			}
		}
	}
	bottom := c.caption(low-1, said...)
	c.sheet.Desc = say("A fretboard of %d frets from above, %v wide at the nut and %v at its end, %v long.", len(l.Slots), nutWidth, endWidth, l.Length) + " " + plain(words)
	c.sheet.Table = slotTable(l, o.Style)
	return c.done(bottom-1, top+1)
}

// leans reports whether the slots of a board stand at different angles, as those of a multi-scale board do.
func leans(l fretting.Layout) bool {
	for _, k := range l.Slots {
		if math.Abs(float64(k.Angle)) > 1e-9 {
			return true
		}
	}
	return false
}

// slotTable lists every slot's distance from the nut, of leaning ones at both edges too.
func slotTable(l fretting.Layout, style unit.Style) [][]string {
	turned := leans(l)
	head := unit.Texts{"Fret", "From the nut", "Board's width there", "Wire, edge to edge"}
	if turned {
		head = unit.Texts{"Fret", "On the centreline", "On the bass edge", "On the treble edge", "Turn‖of a leaning slot", "Wire, edge to edge"}
	}
	out := [][]string{head.In(style)}
	for _, k := range l.Slots {
		row := []string{fmt.Sprint(k.Fret), k.Centre.Exact(style), l.WidthAt(k.Centre).Exact(style), k.Wire.Exact(style)}
		if turned {
			row = []string{fmt.Sprint(k.Fret), k.Centre.Exact(style), k.Line.Bass.X.Exact(style), k.Line.Treble.X.Exact(style),
				style.Say("%+.2f°", k.Angle.Degrees()), k.Wire.Exact(style)}
		}
		out = append(out, row)
	}
	return out
}

func symbolInWords(s unit.Style) string {
	if s.Metric() {
		return s.Say("millimetres")
	}
	return s.Say("inches")
}

func thin(it *drawing.Item) {
	it.Pen = drawing.Pen{Tone: drawing.Faint, Weight: mm(0.15)}
}

func noExtend(d drawing.Dimension) drawing.Dimension {
	d.NoExtend, d.Arrow = true, mm(1.3)
	return d
}

// apart moves places in rising order as little as keeps neighbours a step from each other: each crowd stands around its
// own middle (pool adjacent violators, so the sum of squared moves is least).
func apart(want []float64, step float64) []float64 {
	type crowd struct {
		sum float64 // of place less its share of the steps
		n   int
	}
	var crowds []crowd
	for i, v := range want {
		if !unit.Finite(v) {
			v = 0
		}
		crowds = append(crowds, crowd{v - float64(i)*step, 1})
		for k := len(crowds) - 1; k > 0 && crowds[k-1].sum/float64(crowds[k-1].n) > crowds[k].sum/float64(crowds[k].n); k-- {
			crowds[k-1].sum += crowds[k].sum
			crowds[k-1].n += crowds[k].n
			crowds = crowds[:k]
		}
	}
	out := make([]float64, 0, len(want))
	for _, c := range crowds {
		for range c.n {
			out = append(out, c.sum/float64(c.n)+float64(len(out))*step)
		}
	}
	return out
}

// NutInput is a nut to be slotted.
type NutInput struct {
	Layout fretting.Layout
	Slots  []fretting.NutSlot // Layout.NutSlots, bass first
	Crown  unit.Length        // fret over the board
	Names  []string           // of the strings
}

// NutOptions of nut slots.
type NutOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool
}

// NutSlots draws the nut as seen from the body, over the board's end, with slots and strings, to one scale (ScaleX).
// Slots are named "slot-1" and so on, strings "string-1", the face of the board "face", the line of the fret tops
// "frets"; "from-bass-1" measures from the board's bass edge to the middle of slot 1.
func NutSlots(in NutInput, o NutOptions) *drawing.Sheet {
	w, say := pageWidth(o.Narrow), o.Style.Say
	c := newCanvas(w, say("Slots of the nut"))
	l, n := in.Layout, min(len(in.Slots), len(in.Layout.Strings))
	long := l.Nut.Length().MM()
	if !(long > 0) {
		long = 1
	}
	s := (w - 2*margin - 4) / long
	c.sheet.ScaleX, c.sheet.ScaleY = s, s
	X := func(u float64) float64 { // u from the bass edge
		if o.LeftHanded {
			u = long - u
		}
		return margin + 2 + u*s
	}
	face := func(u float64) float64 {
		k := unit.Length(u / long)
		return l.Surface.Height(l.Nut.Bass.X+k*(l.Nut.Treble.X-l.Nut.Bass.X), l.Nut.Bass.Y+k*(l.Nut.Treble.Y-l.Nut.Bass.Y)).MM()
	}
	const steps = 40
	var upper, crowns []drawing.Point
	low := 0.0
	for i := 0; i <= steps; i++ {
		u := long * float64(i) / steps
		upper = append(upper, pt(X(u), face(u)*s))
		crowns = append(crowns, pt(X(u), (face(u)+in.Crown.MM())*s))
		low = math.Min(low, face(u)*s)
	}
	low -= 5
	// The nut's finished top: over each slot by its depth, straight between, level with the outer slots at the ends.
	type place struct{ u, floor, top, width float64 }
	var ps []place
	high := 0.0
	for i := range n {
		k := in.Slots[i]
		u := k.FromBass.MM()
		p := place{u, face(u) + k.Floor.MM(), face(u) + k.Floor.MM() + k.Depth.MM(), k.Width.MM()}
		ps = append(ps, p)
		high = math.Max(high, math.Max(p.top, p.floor+l.Strings[i].Gauge.MM()))
	}
	if n > 0 {
		nut := []drawing.Point{}
		for i := 0; i <= steps; i++ {
			nut = append(nut, upper[i])
		}
		topAt := func(u, z float64) { nut = append(nut, pt(X(u), z*s)) }
		topAt(long, face(long)+ps[n-1].top-face(ps[n-1].u))
		for i := n - 1; i >= 0; i-- {
			topAt(ps[i].u, ps[i].top)
		}
		topAt(0, face(0)+ps[0].top-face(ps[0].u))
		c.polygon(drawing.LayerWood, "nut", drawing.Bone, nut...).Pen.Weight = mm(0.25)
	}
	wood := append([]drawing.Point{}, upper...)
	wood = append(wood, pt(X(long), low), pt(X(0), low))
	c.fill(drawing.LayerWood, "board", drawing.Dark, wood...)
	c.polyline(drawing.LayerWood, "face", upper...)
	c.polyline(drawing.LayerDatum, "frets", crowns...).Pen.Tone = drawing.Accent
	for i, p := range ps {
		a, b := X(p.u-p.width/2), X(p.u+p.width/2)
		r := math.Min(p.width/2, math.Max(p.top-p.floor, 0)) * s
		mid := p.floor*s + r
		slot := []drawing.Point{pt(a, p.top*s+0.05), pt(a, mid)}
		for j := 1; j < 12; j++ {
			sin, cos := math.Sincos(math.Pi * float64(j) / 12)
			slot = append(slot, pt((a+b)/2-(b-a)/2*cos, mid-r*sin))
		}
		slot = append(slot, pt(b, mid), pt(b, p.top*s+0.05))
		c.polygon(drawing.LayerCut, fmt.Sprintf("slot-%d", i+1), drawing.Paper, slot...).Pen.Weight = mm(0.18)
		g := l.Strings[i].Gauge.MM()
		c.circle(drawing.LayerString, fmt.Sprintf("string-%d", i+1), drawing.Steel, X(p.u), (p.floor+g/2)*s, g/2*s).Pen.Weight = mm(0.1)
	}
	y := low - 2.4
	for i, p := range ps {
		d := dim(pt(X(0), low), pt(X(p.u), low), 0, pt(0, y), drawing.Text{})
		d.NoExtend, d.Arrow = true, mm(1)
		it := c.add(drawing.Item{Layer: drawing.LayerDim, Name: fmt.Sprintf("from-bass-%d", i+1), Shape: d})
		it.Pen.Weight = mm(0.18)
		thin(c.line(drawing.LayerDim, "", X(p.u), p.floor*s, X(p.u), y-0.8))
	}
	c.line(drawing.LayerDim, "", X(0), low, X(0), y-1.4)
	xs, names := make([]float64, n), make([]string, n)
	rows := [4][]string{make([]string, n), make([]string, n), make([]string, n), make([]string, n)}
	for i := range n {
		k := in.Slots[i]
		xs[i] = X(k.FromBass.MM())
		names[i] = fmt.Sprint(i + 1)
		if i < len(in.Names) && in.Names[i] != "" {
			names[i] = in.Names[i]
		}
		for j, v := range []unit.Length{k.FromBass, k.Width, k.Floor, k.Depth} {
			rows[j][i], _ = fineNumber(v, o.Style)
		}
	}
	_, symbol := fineNumber(0, o.Style)
	y = c.spread(y-1.6, xs, names, true)
	for j, title := range (unit.Texts{"from the bass edge to the slot's middle", "width of the slot", "floor of the slot over the board", "depth below the nut's top"}).In(o.Style) {
		y -= small * 1.15
		c.text("", label(margin, y, small, drawing.Start, title+" ("+symbol+")"))
		y = c.spread(y-0.6, xs, rows[j], false)
	}
	words := []string{
		say("Seen from the body, as you file. Dashed: the line of the fret tops."),
		say("File the last of each slot with its string slack, check the string's height at the first fret, then go deeper."),
	}
	bottom := c.caption(y-1, words...)
	top := math.Max(high*s, in.Crown.MM()*s) + 2
	lt, rt := say("BASS"), say("TREBLE")
	if o.LeftHanded {
		lt, rt = rt, lt
	}
	c.text("", label(margin, top, small, drawing.Start, lt))
	c.text("", label(w-margin, top, small, drawing.End, rt))
	c.sheet.Desc = say("The nut of %d strings seen from the body, %v along its front edge.", n, l.Nut.Length()) + " " + strings.Join(words, " ")
	c.sheet.Table = [][]string{unit.Texts{"String", "From the bass edge", "Slot's width", "Floor over the board", "Depth below the nut's top"}.In(o.Style)}
	for i := range n {
		k := in.Slots[i]
		c.sheet.Table = append(c.sheet.Table, []string{names[i], k.FromBass.Fine(o.Style), k.Width.Fine(o.Style), k.Floor.Fine(o.Style), k.Depth.Fine(o.Style)})
	}
	return c.done(bottom-1, top+small)
}
