package sheet

import (
	"math"

	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// HeelOptions of a heel face.
type HeelOptions struct {
	Style unit.Style
	// TenonWidth draws the tenon down the middle, where nothing is cut; 0 for none.
	TenonWidth unit.Length
	// Flip mirrors the picture: the heel as it lies against the body, seen from the neck.
	Flip       bool
	LeftHanded bool
	Narrow     bool
	// Title says which plane is drawn, in the maker's language: "Cut now" or "The whole cut".
	Title string
}

// HeelFace draws the face of the heel with the depth to take away at each corner, and contours and tones
// of equal depth between. The depths are those of a plane through the corners.
//
// The maker holds the neck with the heel toward them, strings up: on a right-handed guitar treble is then
// on the right (see the package comment). The heel's outline is named "heel", its corners run top bass, top
// treble, cap treble, cap bass; the corner figures are "depth-top-bass" and so on; contours are "contour".
func HeelFace(heel neckset.Heel, depth neckset.Corners, o HeelOptions) *drawing.Sheet {
	say, title := o.Style.Say, o.Title
	if title == "" {
		title = say("Cut on the heel face")
	}
	w := pageWidth(o.Narrow)
	c := newCanvas(w, title)
	treble := 1.0 // side of the page treble is on
	if o.Flip != o.LeftHanded {
		treble = -1
	}

	wt, wc, h := heel.WidthTop.MM(), heel.WidthCap.MM(), heel.Height.MM()
	wide := math.Max(wt, wc)
	roomW, roomH, cx := 44.0, 62.0, w/2
	if !o.Narrow {
		roomW, roomH, cx = 70, 84, 62
	}
	s := math.Min(roomW/wide, roomH/h)
	c.sheet.ScaleX, c.sheet.ScaleY = s, s
	X := func(y float64) float64 { return cx + treble*y*s } // y of the guitar's frame, toward treble
	Y := func(z float64) float64 { return z * s }
	P := func(y, z float64) drawing.Point { return pt(X(y), Y(z)) }
	half := func(z float64) float64 { return (wt + (wc-wt)*(-z/h)) / 2 }

	bands := drawing.Bands()
	plane := planeOf(heel, depth, len(bands), o.Style)
	face, n, step, deepest := plane.face, plane.bands, plane.step, plane.deepest
	points := func(ps [][2]float64) []drawing.Point {
		out := make([]drawing.Point, len(ps))
		for i, p := range ps {
			out[i] = P(p[0], p[1])
		}
		return out
	}
	c.fill(drawing.LayerWood, "", drawing.Wood, points(face)...)
	for i := range n {
		if part := plane.band(i); len(part) > 2 {
			c.fill(drawing.LayerCut, "band", bands[i], points(part)...)
		}
	}
	contours := plane.contours()
	for _, q := range contours {
		c.line(drawing.LayerCut, "contour", X(q.ends[0][0]), Y(q.ends[0][1]), X(q.ends[1][0]), Y(q.ends[1][1]))
	}
	tenon := o.TenonWidth.MM()
	if tenon > 0 && tenon < wide {
		tw := math.Min(tenon/2, math.Min(wt, wc)/2)
		ps := []drawing.Point{P(-tw, 0), P(tw, 0), P(tw, -h), P(-tw, -h)}
		c.polygon(drawing.LayerWood, "tenon", drawing.Wood, ps...)
		c.hatch(drawing.LayerScore, 45, 2.2, ps...)
		if words := say("tenon"); tw*2*s > small*1.3 && h*s > width(words, small, false)+4 {
			t := label(cx+small*0.34, Y(-h/2), small, drawing.Middle, words)
			t.Turn, t.Halo = 90*unit.Degree, drawing.Wood
			c.text("", t)
		}
	}
	c.polygon(drawing.LayerWood, "heel", "", points(face)...).Pen.Weight = mm(0.5)

	// Words round the face.
	topEdge := label(cx, 2.4, small, drawing.Middle, say("TOP EDGE"))
	c.text("", topEdge)
	capWords := label(cx, Y(-h)-small*1.15, small, drawing.Middle, say("CAP‖of a heel"))
	c.text("", capWords)
	type corner struct {
		name  string
		y, z  float64
		depth unit.Length
	}
	for _, k := range []corner{
		{"top-bass", -wt / 2, 0, depth.TopBass}, {"top-treble", wt / 2, 0, depth.TopTreble},
		{"cap-bass", -wc / 2, -h, depth.CapBass}, {"cap-treble", wc / 2, -h, depth.CapTreble},
	} {
		figure, symbol := fineNumber(k.depth, o.Style)
		if k.depth.MM() < 0.005 {
			figure = "0"
		}
		side := 1.0
		if X(k.y) < cx {
			side = -1
		}
		fw, uw := width(figure, big, true), width(symbol, small, false)
		x := X(k.y) + side*2.6
		if side < 0 {
			x -= fw + 1 + uw
		}
		y := Y(k.z) - big*0.35
		if k.z == 0 {
			y = Y(k.z) - big*0.55
		}
		f := label(x, y, big, drawing.Start, figure)
		f.Bold = true
		c.text("depth-"+k.name, f)
		c.text("", label(x+fw+1, y, small, drawing.Start, symbol))
		c.circle(drawing.LayerMark, "", drawing.Paper, X(k.y), Y(k.z), 0.9)
	}
	sideWord := func(name, words string, y float64) {
		x := X(y * half(-h/2))
		t := label(x, Y(-h/2)-small*0.3, small, drawing.Start, words)
		t.Bold = true
		if x < cx {
			t.At.X, t.Anchor = mm(cx-wide*s/2-2.6), drawing.End
		} else {
			t.At.X = mm(cx + wide*s/2 + 2.6)
		}
		c.text("side-"+name, t)
	}
	sideWord("BASS", say("BASS"), -1)
	sideWord("TREBLE", say("TREBLE"), 1)

	// A contour is labelled on a shoulder if it fits there, else beside the face; the key has them all.
	page := box(margin, Y(-h)-small*1.5, w-margin, 6)
	for _, q := range contours {
		figure, _ := fineNumber(mm(q.depth), o.Style)
		var spots []drawing.Text
		fw := width(figure, small, false)
		for _, f := range []float64{0.5, 0.3, 0.7, 0.15, 0.85, 0.08, 0.92} {
			y, z := q.ends[0][0]+f*(q.ends[1][0]-q.ends[0][0]), q.ends[0][1]+f*(q.ends[1][1]-q.ends[0][1])
			gapToEdge := (half(z) - math.Abs(y)) * s
			gapToTenon := (math.Abs(y) - tenon/2) * s
			if gapToEdge < fw/2+0.3 || (tenon > 0 && gapToTenon < fw/2+0.3) || z*s > -small || z*s < -h*s+small {
				continue
			}
			t := label(X(y), Y(z)-small*0.34, small, drawing.Middle, figure)
			t.Halo = drawing.Paper
			spots = append(spots, t)
		}
		for _, e := range q.ends {
			if e[1] > -1e-6 || e[1] < -h+1e-6 {
				continue
			}
			t := label(X(e[0])+1.2, Y(e[1])-small*0.34, small, drawing.Start, figure)
			if X(e[0]) < cx {
				t.At.X, t.Anchor = mm(X(e[0])-1.2), drawing.End
			}
			spots = append(spots, t)
		}
		c.place("contour-label", page, spots...)
	}

	// Key.
	low := Y(-h) - small*1.6
	const row = small * 1.5
	top := 2.4 + small
	if n > 0 {
		x, y, cols := margin+1, low-1.5, 2
		if !o.Narrow {
			x, y, cols = 121, -4, 1
		}
		_, symbol := fineNumber(0, o.Style)
		c.text("", label(x, y-small, small, drawing.Start, say("Depth to take off, %s", symbol)))
		y -= small + 1.2
		start := y
		colW := (w - 2*margin - 2) / float64(cols)
		rows := (n + cols - 1) / cols
		for i := 0; i < n; i++ {
			lo, _ := fineNumber(mm(float64(i)*step), o.Style)
			hi, _ := fineNumber(mm(float64(i+1)*step), o.Style)
			if i == n-1 {
				hi, _ = fineNumber(mm(deepest), o.Style)
			}
			xx := x + float64(i/rows)*colW
			yy := start - row*float64(i%rows+1)
			c.rect(drawing.LayerCut, "", bands[i], xx, yy-0.7, xx+7, yy-0.7+small)
			c.text("", label(xx+9, yy, small, drawing.Start, say("%s to %s", lo, hi)))
			y = math.Min(y, yy)
		}
		low = math.Min(low, y-1.5)
	}
	words := []string{say("The heel seen from the body: hold the neck with the heel toward you, strings up.")}
	if o.Flip {
		words[0] = say("Mirrored: the heel as it lies against the body, seen from the neck.")
	}
	if o.LeftHanded {
		words = append(words, say("Left-handed guitar."))
	}
	if n == 0 {
		words = append(words, say("Nothing comes off."))
	}
	bottom := c.caption(low-1, words...)

	c.sheet.Desc = say("%s Depth to take off: top edge, bass side %s, treble side %s; cap, bass side %s, treble side %s.",
		words[0], depth.TopBass.Fine(o.Style), depth.TopTreble.Fine(o.Style), depth.CapBass.Fine(o.Style), depth.CapTreble.Fine(o.Style))
	c.sheet.Table = [][]string{
		{say("Take off"), say("Bass side"), say("Treble side")},
		{say("Top edge"), depth.TopBass.Fine(o.Style), depth.TopTreble.Fine(o.Style)},
		{say("Cap‖of a heel"), depth.CapBass.Fine(o.Style), depth.CapTreble.Fine(o.Style)},
	}
	return c.done(bottom-1, top+2)
}

// facePlane is a cut over the heel's face: a depth k + a y + b z at every place, cut into bands of equal depth. Lengths are
// in mm, y toward treble and z up from the top edge.
type facePlane struct {
	k, a, b       float64
	face          [][2]float64 // top bass, top treble, cap treble, cap bass
	deepest, step float64
	bands         int // of one step each, the last one to the deepest place; 0 when nothing comes off
}

// planeOf divides a cut into most bands or fewer, by steps that a maker of the style would choose.
func planeOf(heel neckset.Heel, depth neckset.Corners, most int, style unit.Style) facePlane {
	wt, wc, h := heel.WidthTop.MM(), heel.WidthCap.MM(), heel.Height.MM()
	tb, tt, cb, ct := depth.TopBass.MM(), depth.TopTreble.MM(), depth.CapBass.MM(), depth.CapTreble.MM()
	p := facePlane{k: (tb + tt) / 2, a: (tt - tb + ct - cb) / (wt + wc), face: [][2]float64{{-wt / 2, 0}, {wt / 2, 0}, {wc / 2, -h}, {-wc / 2, -h}}}
	p.b = (p.k - (cb+ct)/2) / h
	p.deepest = math.Max(0, math.Max(math.Max(tb, tt), math.Max(cb, ct)))
	if p.deepest >= 0.0005 {
		p.step = stepFor(p.deepest, most, fineSteps(style))
		// A last band too thin to read joins the one before it.
		p.bands = min(max(1, int(math.Ceil((p.deepest-0.006)/p.step-1e-9))), most)
	}
	return p
}

func (p facePlane) at(q [2]float64) float64 { return p.k + p.a*q[0] + p.b*q[1] }

// band is the part of the face whose depth lies in band i.
func (p facePlane) band(i int) [][2]float64 {
	return clip(clip(p.face, func(q [2]float64) float64 { return p.at(q) - float64(i)*p.step }),
		func(q [2]float64) float64 {
			if i == p.bands-1 {
				return 1
			}
			return float64(i+1)*p.step - p.at(q)
		})
}

// contour is a line of one depth across the face.
type contour struct {
	depth float64
	ends  [2][2]float64
}

// contours lie between the bands.
func (p facePlane) contours() []contour {
	var out []contour
	for i := 1; i < p.bands; i++ {
		if e := crossing(p.face, func(q [2]float64) float64 { return p.at(q) - float64(i)*p.step }); len(e) == 2 {
			out = append(out, contour{float64(i) * p.step, [2][2]float64{e[0], e[1]}})
		}
	}
	return out
}

// clip keeps the part of a convex outline where f >= 0; f must be linear.
func clip(ps [][2]float64, f func([2]float64) float64) [][2]float64 {
	out := make([][2]float64, 0, len(ps)+2)
	for i, p := range ps {
		q := ps[(i+1)%len(ps)]
		fp, fq := f(p), f(q)
		if fp >= 0 {
			out = append(out, p)
		}
		if (fp > 0 && fq < 0) || (fp < 0 && fq > 0) {
			t := fp / (fp - fq)
			out = append(out, [2]float64{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])})
		}
	}
	return out
}

// crossing returns where f, linear, changes sign on a convex outline: two points or none.
func crossing(ps [][2]float64, f func([2]float64) float64) [][2]float64 {
	var out [][2]float64
	for i, p := range ps {
		q := ps[(i+1)%len(ps)]
		fp, fq := f(p), f(q)
		if (fp >= 0) != (fq >= 0) {
			t := fp / (fp - fq)
			out = append(out, [2]float64{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])})
		}
	}
	return out
}
