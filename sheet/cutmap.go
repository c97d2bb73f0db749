package sheet

import (
	"fmt"
	"math"

	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/unit"
)

// CutMapInput is a cut over the heel's face.
type CutMapInput struct {
	Heel       neckset.Heel
	Depth      neckset.Corners // to take off; those of a plane through the corners
	TenonWidth unit.Length     // cut out of the paper, since the tenon stands there; 0: none
	Do         string          // what to do, in the maker's language as Read and Caution; "" leaves it away
	Read       string          // day of the readings it goes by; "" leaves it away
	Caution    string
}

// cutMapBands is how many bands of depth the map has at most: contours nearer each other than about a tenth of the heel are
// no help to a chisel.
const cutMapBands = 8

// foldStrip is how far the paper runs past the top edge, to be folded up under the board, in mm.
const foldStrip = 12.0

// CutMap draws the face of the heel at full size, to cut out and lay on the wood: the depth to take off at every corner
// and contour lines of equal depth between. It is drawn as the maker sees it holding the neck with the heel toward them,
// strings up: treble on the right of a right-handed guitar, on the left of a left-handed one.
//
// The heel's outline is the Polyline "heel", its corners top bass, top treble, cap treble, cap bass; "tenon" is what to cut
// out of the paper for the tenon, "fold" the line of the top edge along which it folds. Contours are Lines "contour-1" and so
// on, from the shallowest, one on each shoulder where the tenon parts them; the corner figures are texts
// "depth-top-bass" and so on. The zero is the middle of the top edge.
func CutMap(h Head, in CutMapInput) *drawing.Sheet {
	say := h.Style.Say
	f := newFull(h, "Map of the next cut")
	f.sheet.LayerNames = map[drawing.Layer]string{drawing.LayerCut: "outline", drawing.LayerScore: "contours"}
	treble := 1.0 // side of the page treble is on
	if h.Left {
		treble = -1
	}
	wt, wc, tall := in.Heel.WidthTop.MM(), in.Heel.WidthCap.MM(), in.Heel.Height.MM()
	wide := math.Max(wt, wc)
	plane := planeOf(in.Heel, in.Depth, cutMapBands, h.Style)
	P := func(q [2]float64) drawing.Point { return pt(treble*q[0], q[1]) }
	points := func(ps [][2]float64) []drawing.Point {
		out := make([]drawing.Point, len(ps))
		for i, p := range ps {
			out[i] = P(p)
		}
		return out
	}
	half := func(z float64) float64 { return (wt + (wc-wt)*(-z/tall)) / 2 }
	tenon := math.Min(in.TenonWidth.MM()/2, math.Min(wt, wc)/2-1)

	tones := drawing.Bands()
	for i := range plane.bands {
		if part := plane.band(i); len(part) > 2 {
			f.fill(drawing.LayerPaper, "band", tones[i*len(tones)/cutMapBands], points(part)...)
		}
	}
	f.rect(drawing.LayerPaper, "fold-strip", "", -wt/2, 0, wt/2, foldStrip).Pen = drawing.Pen{Tone: drawing.Ink}
	contours := plane.contours()
	for i, q := range contours {
		for _, part := range besideTenon(q.ends, tenon) {
			a, b := P(part[0]), P(part[1])
			f.add(drawing.Item{Layer: drawing.LayerScore, Name: fmt.Sprintf("contour-%d", i+1), Shape: drawing.Line{From: a, To: b}}).Pen.Weight = mm(0.3)
		}
	}
	if tenon > 0 {
		f.rect(drawing.LayerCut, "tenon", drawing.Paper, -tenon, -tall, tenon, 0)
		if words := say("cut out: tenon"); tall > width(words, small, false)+6 && 2*tenon > small*1.4 {
			t := label(small*0.34, -tall/2, small, drawing.Middle, words)
			t.Turn = 90 * unit.Degree
			f.text("", t)
		}
	}
	f.polygon(drawing.LayerCut, "heel", "", points(plane.face)...).Pen.Weight = mm(0.4)
	f.line(drawing.LayerScore, "fold", -wt/2, 0, wt/2, 0).Pen = drawing.Pen{Dash: []unit.Length{mm(2), mm(1)}}

	// Words round the face.
	f.text("", label(0, foldStrip+small*0.4, small, drawing.Middle, say("fold this strip up, under the board")))
	f.text("", label(0, -tall-small*1.3, small, drawing.Middle, say("CAP‖of a heel")))
	corner := func(name string, y, z float64, d unit.Length) {
		figure, symbol := fineNumber(d, h.Style)
		if d.MM() < 0.005 {
			figure = "0"
		}
		side := 1.0
		if treble*y < 0 {
			side = -1
		}
		fw, uw := width(figure, big, true), width(symbol, small, false)
		off := 3.0 // and what the heel spreads beside the words
		if z < 0 {
			off += math.Max(0, (wt-wc)/2/tall*big*(0.15+drawing.Rise))
		} else {
			off += math.Max(0, (wc-wt)/2/tall*big*(0.9+drawing.Fall))
		}
		x := treble*y + side*off
		if side < 0 {
			x -= fw + 1 + uw
		}
		at := z - big*0.9
		if z < 0 {
			at = z + big*0.15
		}
		t := label(x, at, big, drawing.Start, figure)
		t.Bold = true
		f.text("depth-"+name, t)
		f.text("", label(x+fw+1, at, small, drawing.Start, symbol))
		f.circle(drawing.LayerMark, "", drawing.Paper, treble*y, z, 0.8)
	}
	corner("top-bass", -wt/2, 0, in.Depth.TopBass)
	corner("top-treble", wt/2, 0, in.Depth.TopTreble)
	corner("cap-bass", -wc/2, -tall, in.Depth.CapBass)
	corner("cap-treble", wc/2, -tall, in.Depth.CapTreble)
	f.sides(0, -tall/2, wide/2+17, treble, middle, true)
	// Each contour says its depth on every shoulder it crosses, on the paper to be cut out where there is room, else beside it.
	room := box(-wide/2-16, -tall+big*1.2, wide/2+16, -big*1.2)
	beside := 1.5 + math.Abs(wc-wt)/2/tall*small/2 // clear of a side that slants behind the letters
	for _, q := range contours {
		figure, _ := fineNumber(mm(q.depth), h.Style)
		fw := width(figure, small, false)
		for _, part := range besideTenon(q.ends, tenon) {
			var spots []drawing.Text
			for _, k := range []float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8} {
				y, z := part[0][0]+k*(part[1][0]-part[0][0]), part[0][1]+k*(part[1][1]-part[0][1])
				if math.Min(half(z+small/2), half(z-small/2))-math.Abs(y) < fw/2+0.4 || (tenon > 0 && math.Abs(y)-tenon < fw/2+0.4) || z > -small || z < -tall+small {
					continue
				}
				t := label(treble*y, z-small*0.34, small, drawing.Middle, figure)
				t.Halo = drawing.Paper
				spots = append(spots, t)
			}
			for _, e := range part {
				if e[1] > -1e-6 || e[1] < -tall+1e-6 || math.Abs(e[0]) < tenon+1e-6 {
					continue
				}
				t := label(treble*e[0]+beside, e[1]-small*0.34, small, drawing.Start, figure)
				if treble*e[0] < 0 {
					t.At.X, t.Anchor = mm(treble*e[0]-beside), drawing.End
				}
				spots = append(spots, t)
			}
			f.place("contour-label", room, spots...)
		}
	}

	seen := say("Drawn as you see it holding the neck with the heel toward you, strings up: treble on your right, bass on your left.")
	if h.Left {
		seen = say("Drawn as you see it holding the neck with the heel toward you, strings up: bass on your right, treble on your left.")
	}
	lay := say("Lay it on the heel, printed side toward you, and prick the corners and contours through. Figures are depths to take off, in inches.")
	if h.Style.Metric() {
		lay = say("Lay it on the heel, printed side toward you, and prick the corners and contours through. Figures are depths to take off, in millimetres.")
	}
	notes := []string{}
	if in.Do != "" {
		notes = append(notes, figureAndUnit.ReplaceAllString(in.Do, "$1\u00a0$2"))
	}
	if in.Read != "" {
		notes = append(notes, say("By the readings of %s. Once wood has come off, read again: this map is then used up.", in.Read))
	}
	notes = append(notes, seen, lay)
	if tenon > 0 {
		notes = append(notes, say("Cut the tenon's window out of the paper: the tenon and its shoulder line between the cheeks are left alone."))
	}
	if in.Caution != "" {
		notes = append(notes, in.Caution)
	}
	f.sheet.Desc = say("The face of the heel with the wood to take off. %s Top edge, bass side %s, treble side %s; cap, bass side %s, treble side %s.", seen,
		in.Depth.TopBass.Fine(h.Style), in.Depth.TopTreble.Fine(h.Style), in.Depth.CapBass.Fine(h.Style), in.Depth.CapTreble.Fine(h.Style))
	f.sheet.Table = [][]string{{say("Place"), say("Depth to take off")},
		{say("Top edge, bass side"), in.Depth.TopBass.Fine(h.Style)}, {say("Top edge, treble side"), in.Depth.TopTreble.Fine(h.Style)},
		{say("Cap, bass side"), in.Depth.CapBass.Fine(h.Style)}, {say("Cap, treble side"), in.Depth.CapTreble.Fine(h.Style)}}
	for i, q := range contours {
		f.sheet.Table = append(f.sheet.Table, []string{say("Contour %d", i+1), mm(q.depth).Fine(h.Style)})
	}
	return f.done("the heel's top edge, on the centreline", notes...)
}

// besideTenon keeps the parts of a line that lie farther from the centreline than the tenon's cheeks.
func besideTenon(l [2][2]float64, tenon float64) [][2][2]float64 {
	if tenon <= 0 {
		return [][2][2]float64{l}
	}
	var out [][2][2]float64
	for _, side := range []float64{-1, 1} {
		a, b := l[0], l[1]
		fa, fb := side*a[0]-tenon, side*b[0]-tenon
		if fa <= 0 && fb <= 0 {
			continue
		}
		meet := func() [2]float64 {
			k := fa / (fa - fb)
			return [2]float64{a[0] + k*(b[0]-a[0]), a[1] + k*(b[1]-a[1])}
		}
		if fa < 0 {
			a = meet()
		} else if fb < 0 {
			b = meet()
		}
		out = append(out, [2][2]float64{a, b})
	}
	return out
}
