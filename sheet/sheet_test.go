package sheet

import (
	"bytes"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/drawing/svg/svgtest"
	"fairset/internal/reftest"
	"fairset/language"
	"fairset/unit"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// readback is what a measured length may be off by: coordinates are written to 0.001 mm of paper.
const readback = 0.002

func written(t testing.TB, s *drawing.Sheet) svgtest.Drawing {
	t.Helper()
	b, err := svg.Bytes(s, svg.Options{ID: "t"})
	if err != nil {
		t.Fatal(err)
	}
	d, err := svgtest.Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func one(t testing.TB, d svgtest.Drawing, name string) svgtest.Element {
	t.Helper()
	e, err := d.One(name)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// workedBuild is a 14-fret build over a dome.
// source: independent calculation, worked case.
func workedBuild() neckset.Build {
	return neckset.Build{ScaleLength: 632 * mmU, JointFret: 14, SaddleSetback: 2.2 * mmU, BoardThickness: 6 * mmU, FretCrown: 1.1 * mmU,
		Relief: 0.15 * mmU, JointFold: 0.03 * deg, TopRise: 0.4 * mmU, BridgeThickness: 8.5 * mmU, SaddleProjection: 3 * mmU,
		NutHeight: 0.45 * mmU, Action12: 2.2 * mmU, Top: neckset.Top{Radius: 7620 * mmU, Apex: 250 * mmU}}
}

func TestSideViewIsToScale(t *testing.T) {
	b := workedBuild()
	tg := target(t, b)
	// source: independent calculation, worked case (mm, degrees).
	const gap, gapBoard, gapStrung, saddle, nut, angle, topD = 8.689465667499565, 7.5894656674995655, 7.655184730689946, 283.7239949323472, 350.4760050676528, 1.134158385877908, 4.027527182706763
	for _, narrow := range []bool{true, false} {
		for _, e := range []float64{0, 1, 3, 5, 10} {
			s := SideView(b, tg, SideOptions{Style: unit.Millimetre, Exaggeration: e, Narrow: narrow})
			d := written(t, s)
			reftest.Near(t, "exaggeration", s.ScaleY/s.ScaleX, math.Max(e, 1), 1e-12)
			reftest.Near(t, "gap", one(t, d, "gap").Length(), gap*s.ScaleY, readback)
			reftest.Near(t, "joint to saddle", one(t, d, "saddle-distance").Length(), saddle*s.ScaleX, readback)
			if !narrow {
				reftest.Near(t, "nut to joint", one(t, d, "nut-to-joint").Length(), nut*s.ScaleX, readback)
			}

			// The parts agree with the dimension: the straight edge ends over the saddle, gap over the top's line.
			edge := one(t, d, "straight-edge").Points()
			end := edge[1]
			under := heightAt(t, one(t, d, "top").Points(), end[0])
			reftest.Near(t, "straight edge over the drawn top", under-end[1], gap*s.ScaleY, 0.02*s.ScaleY+readback) // the top's arc is drawn in chords
			run := (end[0] - edge[0][0]) / s.ScaleX
			rise := (edge[0][1] - end[1]) / s.ScaleY
			reftest.Near(t, "neck angle", math.Atan2(rise, run)*180/math.Pi, angle, 0.02)
			// The top climbs from the joint to the saddle by what the dome makes.
			top := one(t, d, "top").Points()
			reftest.Near(t, "top at the saddle over the joint", (top[0][1]-under)/s.ScaleY, topD, 0.03)
			// The saddle's tip is bridge and saddle high over the top.
			tip := math.Inf(1)
			for _, p := range one(t, d, "saddle").Points() {
				tip = math.Min(tip, p[1])
			}
			reftest.Near(t, "saddle over the top", (under-tip)/s.ScaleY, 8.5+3, 0.03)
			// The joint is where the body ends.
			reftest.Near(t, "body end to saddle", end[0]-one(t, d, "body-end").Points()[0][0], saddle*s.ScaleX, readback)
		}
		board := SideView(b, tg, SideOptions{Style: unit.Millimetre, Exaggeration: 1, Narrow: narrow, Board: true})
		reftest.Near(t, "gap on the bare board", one(t, written(t, board), "gap").Length(), gapBoard*board.ScaleY, readback)

		strung := SideView(b, tg, SideOptions{Style: unit.Millimetre, Exaggeration: 5, Narrow: narrow, State: Strung})
		d := written(t, strung)
		reftest.Near(t, "strung gap", one(t, d, "gap").Length(), gapStrung*strung.ScaleY, readback)
		// With the strings on, the drawn string stands the wanted action over the drawn fret 12.
		reftest.Near(t, "action", one(t, d, "action12").Length(), 2.2*strung.ScaleY, readback)
	}
}

// heightAt interpolates a polyline.
func heightAt(t testing.TB, ps [][2]float64, x float64) float64 {
	t.Helper()
	for i := 1; i < len(ps); i++ {
		if a, b := ps[i-1], ps[i]; (a[0]-x)*(b[0]-x) <= 0 && a[0] != b[0] {
			return a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
		}
	}
	t.Fatalf("no point at x = %v", x)
	return 0
}

func TestSideViewOfEveryBuild(t *testing.T) {
	for name, b := range builds() {
		tg := target(t, b)
		for _, narrow := range []bool{true, false} {
			s := SideView(b, tg, SideOptions{Style: unit.Millimetre, Exaggeration: 1, Narrow: narrow})
			d := written(t, s)
			reftest.Near(t, name+" gap", one(t, d, "gap").Length(), math.Abs(tg.GapOnFrets.MM())*s.ScaleY, 0.02*s.ScaleY)
			reftest.Near(t, name+" saddle", one(t, d, "saddle-distance").Length(), tg.SaddleDistance.MM()*s.ScaleX, readback)
		}
	}
}

func TestTrebleIsOnTheRightOfARightHandedHeel(t *testing.T) {
	// Hold the neck, heel toward you, strings up: you look along -x with z up, and the right hand is at
	// (-x) × z = +y, the treble side. A left-handed guitar is the mirror image; so is the flipped view.
	h := heels["usual"]
	cut := corners(0, 0.3, 0, 0.3)
	for _, c := range []struct {
		flip, left, trebleRight bool
	}{{false, false, true}, {true, false, false}, {false, true, false}, {true, true, true}} {
		s := HeelFace(h, cut, HeelOptions{Style: unit.Millimetre, Flip: c.flip, LeftHanded: c.left})
		d := written(t, s)
		bass, treble := one(t, d, "side-BASS").Num("x"), one(t, d, "side-TREBLE").Num("x")
		if (treble > bass) != c.trebleRight {
			t.Errorf("flip %v left-handed %v: treble at %v, bass at %v", c.flip, c.left, treble, bass)
		}
		// The deep figures stand on the treble side, and the first corner of the outline is top bass.
		if (one(t, d, "depth-top-treble").Num("x") > one(t, d, "depth-top-bass").Num("x")) != c.trebleRight {
			t.Errorf("flip %v left-handed %v: corner figures on the wrong side", c.flip, c.left)
		}
		if got := one(t, d, "depth-top-treble").Text; got != "0.30" {
			t.Errorf("treble figure reads %q", got)
		}
		ps := one(t, d, "heel").Points()
		if (ps[1][0] > ps[0][0]) != c.trebleRight {
			t.Errorf("flip %v left-handed %v: outline runs the wrong way", c.flip, c.left)
		}
		mirrored := strings.Contains(s.Desc, "Mirrored")
		if mirrored != c.flip {
			t.Errorf("flip %v: description says %q", c.flip, s.Desc)
		}
		// Top edge over the cap.
		if ps[0][1] >= ps[3][1] {
			t.Error("top edge is drawn under the cap")
		}
	}
}

func TestHeelFaceIsToScale(t *testing.T) {
	for name, h := range heels {
		for _, narrow := range []bool{true, false} {
			s := HeelFace(h, corners(0, 0, 0.4, 0.4), HeelOptions{Style: unit.Millimetre, Narrow: narrow, TenonWidth: 10 * mmU})
			d := written(t, s)
			ps := one(t, d, "heel").Points()
			reftest.Near(t, name+" width at the top", (ps[1][0]-ps[0][0])/s.ScaleX, h.WidthTop.MM(), 0.02)
			reftest.Near(t, name+" width at the cap", (ps[2][0]-ps[3][0])/s.ScaleX, h.WidthCap.MM(), 0.02)
			reftest.Near(t, name+" height", (ps[3][1]-ps[0][1])/s.ScaleY, h.Height.MM(), 0.02)
			reftest.Near(t, name+" middle", (ps[0][0]+ps[1][0])/2, (ps[2][0]+ps[3][0])/2, readback)
			tenon := one(t, d, "tenon").Points()
			reftest.Near(t, name+" tenon", (tenon[1][0]-tenon[0][0])/s.ScaleX, 10, 0.02)
		}
	}
}

// TestContoursLieAtTheirDepth finds the depth at each contour's ends from the corners alone, along the edges
// of the face, where depth runs straight from corner to corner.
func TestContoursLieAtTheirDepth(t *testing.T) {
	for hn, h := range heels {
		for pn, c := range planes(h) {
			for _, style := range unit.Styles() {
				d := written(t, HeelFace(h, c, HeelOptions{Style: style}))
				ps := one(t, d, "heel").Points()
				depths := []float64{c.TopBass.MM(), c.TopTreble.MM(), c.CapTreble.MM(), c.CapBass.MM()}
				at := func(p [2]float64) float64 {
					best, depth := math.Inf(1), 0.0
					for i := range ps {
						a, b := ps[i], ps[(i+1)%4]
						n := math.Hypot(b[0]-a[0], b[1]-a[1])
						f := ((p[0]-a[0])*(b[0]-a[0]) + (p[1]-a[1])*(b[1]-a[1])) / (n * n)
						away := math.Abs((p[0]-a[0])*(b[1]-a[1])-(p[1]-a[1])*(b[0]-a[0])) / n
						if f > -0.001 && f < 1.001 && away < best {
							best, depth = away, depths[i]+f*(depths[(i+1)%4]-depths[i])
						}
					}
					if best > 0.01 {
						t.Fatalf("%s, %s: contour ends %v mm off the face's edge", hn, pn, best)
					}
					return depth
				}
				var step float64
				lines := d.Named("contour")
				for i, l := range lines {
					e := l.Points()
					a, b := at(e[0]), at(e[1])
					reftest.Near(t, hn+" "+pn+" contour is level", a, b, 0.004)
					if i == 0 {
						step = a
					}
					reftest.Near(t, hn+" "+pn+" contours are evenly spaced", a, step*float64(i+1), 0.004)
				}
				deepest := math.Max(math.Max(depths[0], depths[1]), math.Max(depths[2], depths[3]))
				if deepest > 0.2 && len(lines) < 2 {
					t.Errorf("%s, %s, %s: %d contours for a cut of %.2f mm", hn, pn, style, len(lines), deepest)
				}
				if deepest == 0 && (len(lines) > 0 || len(d.Named("band")) > 0) {
					t.Errorf("%s, %s: a cut of nothing has contours", hn, pn)
				}
				// Figures on the contours are their depths.
				for _, l := range d.Named("contour-label") {
					v, err := strconv.ParseFloat(l.Text, 64)
					if err != nil {
						t.Fatal(err)
					}
					if style != unit.Millimetre {
						v *= 25.4
					}
					if n := v / step; math.Abs(n-math.Round(n)) > 0.15 || n > float64(len(lines))+0.2 {
						t.Errorf("%s, %s, %s: contour says %s, steps are %v mm", hn, pn, style, l.Text, step)
					}
				}
			}
		}
	}
}

// TestBandsCoverTheFace adds up the bands' areas (shoelace) against the trapezoid's.
func TestBandsCoverTheFace(t *testing.T) {
	area := func(ps [][2]float64) float64 {
		sum := 0.0
		for i, p := range ps {
			q := ps[(i+1)%len(ps)]
			sum += p[0]*q[1] - q[0]*p[1]
		}
		return math.Abs(sum) / 2
	}
	for hn, h := range heels {
		for pn, c := range planes(h) {
			if pn == "zero" {
				continue
			}
			d := written(t, HeelFace(h, c, HeelOptions{Style: unit.Millimetre}))
			sum := 0.0
			for _, b := range d.Named("band") {
				sum += area(b.Points())
			}
			whole := area(one(t, d, "heel").Points())
			reftest.Near(t, hn+" "+pn+" bands", sum/whole, 1, 2e-3)
		}
	}
}

func TestBoltsHangFromOneDatum(t *testing.T) {
	in := BoltInput{Heel: heels["usual"], TenonWidth: 20 * mmU, Depths: []unit.Length{1.25 * unit.Inch, 2.25 * unit.Inch}, Pilot: 4.8 * mmU, Clearance: 7.14 * mmU}
	for _, narrow := range []bool{true, false} {
		s := BoltLayout(in, BoltOptions{Style: unit.Inch64, Narrow: narrow})
		d := written(t, s)
		datum := one(t, d, "datum").Points()[0][1]
		pilots, clears := d.Named("pilot"), d.Named("clearance")
		if len(pilots) != 2 || len(clears) != 2 {
			t.Fatalf("%d pilot and %d clearance holes", len(pilots), len(clears))
		}
		for i, depth := range []float64{31.75, 57.15} { // 1 1/4 in and 2 1/4 in. source: 25.4 mm to the inch, exact
			for _, hole := range []svgtest.Element{pilots[i], clears[i]} {
				reftest.Near(t, "depth", (hole.Num("cy")-datum)/s.ScaleY, depth, 0.01)
			}
			reftest.Near(t, "pilot", 2*pilots[i].Num("r")/s.ScaleX, 4.8, 0.01)
			reftest.Near(t, "clearance", 2*clears[i].Num("r")/s.ScaleX, 7.14, 0.01)
			reftest.Near(t, "dimension", one(t, d, "bolt-"+strconv.Itoa(i+1)).Length()/s.ScaleY, depth, 0.01)
		}
		// Holes on the parts' centrelines.
		centres := d.Named("centre")
		reftest.Near(t, "pilot on the heel's centre", pilots[0].Num("cx"), centres[0].Num("x1"), readback)
		reftest.Near(t, "clearance on the body's centre", clears[0].Num("cx"), centres[1].Num("x1"), readback)
	}
}

func TestSeatPlanIsToScale(t *testing.T) {
	// source: independent calculation, worked case: arc 310, heel 58, tenon 20 leaves 1.198100045482363 at the edge.
	in := neckset.SeatInput{ArcRadius: 310 * mmU, HeelWidth: 58 * mmU, TenonWidth: 20 * mmU, BodyShare: 0.5, SideThickness: 2.2 * mmU, SideLimit: 0.25}
	seat, _, err := neckset.FitSeat(in)
	if err != nil {
		t.Fatal(err)
	}
	s := SeatPlan(in, seat, SeatOptions{Style: unit.Millimetre, Narrow: true})
	d := written(t, s)
	reftest.Near(t, "edge gap", one(t, d, "edge-gap").Length()/s.ScaleY, 1.198100045482363, 0.002)
	// Every point of the body's end lies on the circle, once the page's two scales are taken off.
	crown := math.Inf(1)
	for _, p := range one(t, d, "body").Points() {
		crown = math.Min(crown, p[1])
	}
	centre := one(t, d, "centre").Num("x1")
	for _, run := range d.Named("body-end") {
		for _, p := range run.Points() {
			y, x := (p[0]-centre)/s.ScaleX, (p[1]-crown)/s.ScaleY
			reftest.Near(t, "distance from the arc's centre", math.Hypot(y, 310-x), 310, 0.02)
		}
	}
}

func TestTenonPlanIsToScale(t *testing.T) {
	in := TenonInput{Length: mm(28), Width: mm(20), MortiseDepth: mm(29.5), MortiseWidth: mm(20.4)}
	across, end := in.Play()
	reftest.NearMM(t, "play across", across, 0.4, 1e-9)
	reftest.NearMM(t, "room at the end", end, 1.5, 1e-9)
	s := TenonPlan(in, SeatOptions{Style: unit.Millimetre})
	d := written(t, s)
	for name, want := range map[string]float64{"tenon-length": 28, "tenon-width": 20, "mortise-depth": 29.5, "mortise-width": 20.4} {
		reftest.Near(t, name, one(t, d, name).Length()/s.ScaleX, want, 0.005)
	}
	tenon, mortise := one(t, d, "tenon").Points(), one(t, d, "mortise").Points()
	reftest.Near(t, "drawn room at the end", (mortise[0][1]-tenon[0][1])/s.ScaleY, 1.5, 0.005)
	reftest.Near(t, "drawn play across", ((mortise[1][0]-mortise[0][0])-(tenon[1][0]-tenon[0][0]))/s.ScaleX, 0.4, 0.005)
}

func TestRollAndLineAreToScale(t *testing.T) {
	s := Roll(RollInput{Bass: mm(7.2), Treble: mm(6.4)}, RollOptions{Style: unit.Millimetre})
	d := written(t, s)
	reftest.Near(t, "bass", one(t, d, "bass").Length()/s.ScaleY, 7.2, 0.005)
	reftest.Near(t, "treble", one(t, d, "treble").Length()/s.ScaleY, 6.4, 0.005)
	if b, tr := one(t, d, "bass").Num("x1"), one(t, d, "treble").Num("x1"); b > tr {
		t.Error("seen from the tail, treble of a right-handed guitar is on the right")
	}
	for _, left := range []bool{false, true} {
		s = LineView(LineInput{Offset: mm(1.4), SaddleDistance: mm(284)}, LineOptions{Style: unit.Millimetre, LeftHanded: left})
		d = written(t, s)
		reftest.Near(t, "offset", one(t, d, "offset").Length()/s.ScaleX, 1.4, 0.005)
		ps := one(t, d, "neck-line").Points()
		if (ps[1][0] > one(t, d, "centre").Num("x1")) == left {
			t.Errorf("left-handed %v: an offset to treble is drawn on the wrong side", left)
		}
		// The drawn line turns about the joint: on the neck's side it lies over to bass, in proportion.
		joint := one(t, d, "body").Points()[0][1]
		cx := one(t, d, "centre").Num("x1")
		cross := (ps[0][0]-cx)*(ps[1][1]-joint) - (ps[1][0]-cx)*(ps[0][1]-joint)
		reftest.Near(t, "neck line off the joint's middle", cross/100, 0, 0.01)
	}
}

func TestSideDotsStandMidSpace(t *testing.T) {
	dots, err := fretting.Dots(640*mmU, 20)
	if err != nil {
		t.Fatal(err)
	}
	s := SideDots(640*mmU, 20, dots, DotOptions{Style: unit.Millimetre})
	d := written(t, s)
	frets := d.Named("fret")
	nut := one(t, d, "nut").Points()[1][0] // its working edge
	x := func(n int) float64 {
		if n == 0 {
			return nut
		}
		return frets[n-1].Num("x1")
	}
	// source: fret 12 halves the string.
	reftest.Near(t, "fret 12", (x(12)-nut)/s.ScaleX, 320, 0.01)
	want := map[float64]int{}
	for _, n := range []int{3, 5, 7, 9, 15, 17, 19} { // source: common practice, no source
		want[(x(n)+x(n-1))/2]++
	}
	got := d.Named("dot")
	if len(got) != 9 { // and a pair at 12
		t.Fatalf("%d dots", len(got))
	}
	for at := range want {
		near := math.Inf(1)
		for _, e := range got {
			near = math.Min(near, math.Abs(e.Num("cx")-at))
		}
		reftest.Near(t, "nearest dot to mid-space", near, 0, readback)
	}
}

func TestBudgetBarsAreAsLongAsTheEffects(t *testing.T) {
	b := neckset.Budget{GapSD: mm(0.5), Shares: []neckset.Share{{Field: "a", Effect: mm(0.4), Part: 0.64}, {Field: "b", Effect: mm(0.3), Part: 0.36}}}
	s := BudgetBars(b, strings.ToUpper, BudgetOptions{Style: unit.Millimetre})
	d := written(t, s)
	wide := func(e svgtest.Element) float64 { ps := e.Points(); return (ps[1][0] - ps[0][0]) / s.ScaleX }
	bars := d.Named("bar")
	reftest.Near(t, "first bar", wide(bars[0]), 0.4, 0.001)
	reftest.Near(t, "second bar", wide(bars[1]), 0.3, 0.001)
	reftest.Near(t, "total", wide(one(t, d, "total")), 0.5, 0.001)
}

func TestProgressPointsStandAtTheirReadings(t *testing.T) {
	ps := []ProgressPoint{{Label: "start", Gap: mm(5), GapSD: mm(0.1), HasGap: true}, {Label: "pass 1", Gap: mm(6), GapSD: mm(0.2), HasGap: true}, {Label: "pass 2", Gap: mm(7), GapSD: mm(0.1), HasGap: true}}
	d := written(t, Progress(ps, Aim{Gap: mm(7), GapTolerance: mm(0.25)}, ProgressOptions{Style: unit.Millimetre}))
	pts := d.Named("gap-point")
	per := (pts[0].Num("cy") - pts[2].Num("cy")) / 2 // page per mm
	if per <= 0 {
		t.Fatal("a higher reading is drawn lower")
	}
	reftest.Near(t, "readings one apart", pts[0].Num("cy")-pts[1].Num("cy"), per, readback)
	bars := d.Named("gap-bar")
	reftest.Near(t, "bar of two standard deviations each way", bars[1].Length(), 4*0.2*per, readback)
	reftest.Near(t, "target through the last reading", one(t, d, "gap-target").Num("y1"), pts[2].Num("cy"), readback)
	band := one(t, d, "gap-band").Points()
	reftest.Near(t, "band", band[0][1]-band[2][1], 0.5*per, readback)
}

// TestWordsHaveRoom looks at every drawing of the cases: words keep apart, lie on the page and are large
// enough to read at the bench. Boxes are estimated from font metrics.
func TestWordsHaveRoom(t *testing.T) {
	n := 0
	forEach(t, func(name string, s *drawing.Sheet) {
		n++
		wordsHaveRoom(t, name, s, 190)
	})
	if n < 500 {
		t.Fatalf("only %d drawings looked at", n)
	}
}

// TestLongerWordsHaveRoom does the same with the words of other languages, and with English words made longer.
func TestLongerWordsHaveRoom(t *testing.T) {
	forEachIn(t, map[string]unit.Style{
		"mm/de": unit.Millimetre.Speaking(language.German), "in64/de": unit.Inch64.Speaking(language.German),
		"mm/longer": unit.Millimetre.Speaking(language.Pseudo), "in64/longer": unit.Inch64.Speaking(language.Pseudo),
	}, func(name string, s *drawing.Sheet) { wordsHaveRoom(t, name, s, 200) })
}

// wordsHaveRoom is what both ask of a drawing; most is how high it may be, in mm.
func wordsHaveRoom(t testing.TB, name string, s *drawing.Sheet, most float64) {
	t.Helper()
	page := drawing.Box{Right: s.Width, Top: s.Height}
	type word struct {
		s string
		b drawing.Box
	}
	var words []word
	for _, it := range s.Parts() {
		tx, ok := it.Shape.(drawing.Text)
		if !ok {
			continue
		}
		b := tx.Box()
		if !b.Inside(page) {
			t.Errorf("%s: %q leaves the page: %v", name, tx.String, b)
		}
		if tx.Size < mm(3.6) {
			t.Errorf("%s: %q is only %v high", name, tx.String, tx.Size)
		}
		for _, w := range words {
			if w.b.Overlaps(b) {
				t.Errorf("%s: %q lies over %q", name, tx.String, w.s)
			}
		}
		words = append(words, word{tx.String, b})
	}
	if s.Title == "" || s.Desc == "" || len(s.Table) == 0 {
		t.Errorf("%s: title, description or table is missing", name)
	}
	for i, row := range s.Table {
		if len(row) != len(s.Table[0]) {
			t.Errorf("%s: row %d of the table has %d cells, header has %d", name, i, len(row), len(s.Table[0]))
		}
	}
	if h := s.Height.MM(); h > most && !strings.Contains(name, "36 frets") {
		t.Errorf("%s: %v mm high is more than a phone shows at once", name, h)
	}
	// Nothing else leaves the paper either, and leaders keep off words that are not theirs.
	for _, it := range s.Parts() {
		l, ok := it.Shape.(drawing.Line)
		if !ok {
			continue
		}
		if strings.HasPrefix(name, "side") && it.Layer == drawing.LayerDim && it.Name == "" && l.From.X == l.To.X {
			leader := drawing.Box{Left: l.From.X, Right: l.From.X + mm(0.01), Bottom: min(l.From.Y, l.To.Y), Top: max(l.From.Y, l.To.Y) - mm(0.3)}
			for _, w := range words {
				if w.b.Overlaps(leader) {
					t.Errorf("%s: a leader runs through %q", name, w.s)
				}
			}
		}
		for _, p := range []drawing.Point{l.From, l.To} {
			if p.X < -mm(0.1) || p.X > s.Width+mm(0.1) || p.Y < -mm(0.1) || p.Y > s.Height+mm(0.1) {
				t.Errorf("%s: line %q leaves the page at %v, %v", name, it.Name, p.X, p.Y)
			}
		}
	}
}

// TestNonsenseIsRefusedNotDrawn: figures that are none give a sheet that no writer accepts, never a hang or
// a drawing with NaN in it.
func TestNonsenseIsRefusedNotDrawn(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		l := unit.Length(v)
		for name, s := range map[string]*drawing.Sheet{
			"side":   SideView(neckset.Build{ScaleLength: l}, neckset.Target{SaddleDistance: l}, SideOptions{}),
			"heel":   HeelFace(neckset.Heel{Height: l, WidthTop: l, WidthCap: l}, neckset.Corners{CapBass: l}, HeelOptions{}),
			"bolts":  BoltLayout(BoltInput{Heel: neckset.Heel{Height: l}, Depths: []unit.Length{l}}, BoltOptions{}),
			"seat":   SeatPlan(neckset.SeatInput{HeelWidth: l}, neckset.Seat{EdgeGap: l}, SeatOptions{}),
			"roll":   Roll(RollInput{Bass: l}, RollOptions{}),
			"tenon":  TenonPlan(TenonInput{Length: l, Width: l}, SeatOptions{}),
			"line":   LineView(LineInput{Offset: l}, LineOptions{}),
			"budget": BudgetBars(neckset.Budget{GapSD: l, Shares: []neckset.Share{{Effect: l}}}, strings.ToUpper, BudgetOptions{}),
			"dots":   SideDots(l, 20, []fretting.Dot{{Fret: 3, Position: l, Count: 1}}, DotOptions{}),
		} {
			b, err := svg.Bytes(s, svg.Options{})
			if err == nil && (bytes.Contains(b, []byte("NaN")) || bytes.Contains(b, []byte("Inf"))) {
				t.Errorf("%s drew %v", name, v)
			}
		}
		// A reading that is none is left out of the plot.
		s := Progress([]ProgressPoint{{Gap: l, HasGap: true}, {Gap: mm(5), GapSD: l, HasGap: true}}, Aim{Gap: l, GapTolerance: l}, ProgressOptions{})
		if len(written(t, s).Named("gap-point")) != 0 {
			t.Error("drew a reading that is no number")
		}
	}
	written(t, SideDots(640*mmU, 0, nil, DotOptions{}))
	written(t, BoltLayout(BoltInput{Heel: heels["usual"]}, BoltOptions{}))
}

// TestGolden proves only that a few drawings are unchanged, byte for byte.
func TestGolden(t *testing.T) {
	b := workedBuild()
	tg := target(t, b)
	dots, _ := fretting.Dots(632*mmU, 20)
	_, models, across := strung(t, "light", 640*mmU, 20)
	each, err := stringset.CompensatedSaddle(models, across, true, mm(0.5))
	if err != nil {
		t.Fatal(err)
	}
	pb, ptg, pr := worked(t, chains(t)["steel"])
	for name, s := range map[string]*drawing.Sheet{
		"side-phone":   SideView(b, tg, SideOptions{Style: unit.Inch64, Exaggeration: 5, Narrow: true}),
		"side-wide":    SideView(b, tg, SideOptions{Style: unit.Millimetre, Exaggeration: 3}),
		"heel-phone":   HeelFace(heels["usual"], planes(heels["usual"])["both"], HeelOptions{Style: unit.Millimetre, Narrow: true, TenonWidth: 20 * mmU}),
		"cents-phone":  CentsMap(each.Map, CentsOptions{Narrow: true, Fit: 12}),
		"saddle-phone": SaddleTop(SaddleInput{Across: across, Own: each.Saddle, Centre: each.Centre, Slope: each.Slope, Blank: each.Blank, Compensated: true, Nut: each.Nut}, SaddleOptions{Style: unit.InchDecimal, Narrow: true}),
		"board-wide":   BoardPlan(lay(t, boards()["two scales"]), BoardPlanOptions{Style: unit.Millimetre, Dots: fretting.Usual()}),
		"pair-wide":    StrungPair(pb, ptg, pr, PairOptions{Style: unit.Millimetre}),
		"dots-wide":    SideDots(632*mmU, 20, dots, DotOptions{Style: unit.Millimetre}),
	} {
		golden(t, name, s)
	}
}

// golden compares a drawing with what it was, byte for byte.
func golden(t *testing.T, name string, s *drawing.Sheet) {
	t.Helper()
	got, err := svg.Bytes(s, svg.Options{Mode: svg.Paper, ID: name, File: true})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join("testdata", name+".svg")
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(got, want) {
		return
	}
	g, w := strings.Split(string(got), "\n"), strings.Split(string(want), "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			t.Errorf("%s changed at line %d; look at it, then run with -update\n got %s\nwant %s", name, i+1, g[i], w[i])
			break
		}
	}
	if len(g) != len(w) {
		t.Errorf("%s: %d lines, were %d", name, len(g), len(w))
	}
}

func BenchmarkHeelFace(b *testing.B) {
	h := heels["usual"]
	cut := planes(h)["both"]
	b.ReportAllocs()
	for b.Loop() {
		s := HeelFace(h, cut, HeelOptions{Style: unit.Millimetre, TenonWidth: 20 * mmU, Narrow: true})
		if _, err := svg.Bytes(s, svg.Options{ID: "heel"}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSideView(b *testing.B) {
	build := workedBuild()
	tg := target(b, build)
	b.ReportAllocs()
	for b.Loop() {
		s := SideView(build, tg, SideOptions{Style: unit.Millimetre, Exaggeration: 5, Narrow: true})
		if _, err := svg.Bytes(s, svg.Options{ID: "side"}); err != nil {
			b.Fatal(err)
		}
	}
}
