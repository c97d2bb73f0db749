package sheet

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/craft/strungup"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/drawing/svg/svgtest"
	"fairset/internal/reftest"
	"fairset/unit"
)

// span is how wide and high a shape of corners is.
func span(e svgtest.Element) (x1, y1, x2, y2 float64) {
	x1, y1, x2, y2 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range e.Points() {
		x1, y1, x2, y2 = math.Min(x1, p[0]), math.Min(y1, p[1]), math.Max(x2, p[0]), math.Max(y2, p[1])
	}
	return
}

func TestBarsAreAsLongAsThePulls(t *testing.T) {
	pulls := []float64{100, 150, 80, 110}
	b := stringset.Balance{Total: 440, Mean: 110, Loosest: 2, Tightest: 1, StepFrom: 1, LargestStep: 70, BassShare: 250.0 / 440}
	for i, p := range pulls {
		b.Strings = append(b.Strings, stringset.Pull{Name: fmt.Sprint("s", i), AtPitch: stringset.AtPitch{Tension: unit.Force(p)}, Share: p / 440, Mean: p / 110})
	}
	for _, narrow := range []bool{true, false} {
		d := written(t, TensionChart(b, TensionOptions{Style: unit.Millimetre, Narrow: narrow}))
		bars := d.Named("bar")
		if len(bars) != 4 {
			t.Fatalf("%d bars", len(bars))
		}
		left, _, right, _ := span(bars[0])
		perNewton := (right - left) / 100
		below := math.Inf(-1)
		for i, bar := range bars {
			x1, y1, x2, y2 := span(bar)
			reftest.Near(t, "bar", x2-x1, pulls[i]*perNewton, readback)
			reftest.Near(t, "bars begin together", x1, left, readback)
			if y1 < below {
				t.Errorf("bar %d lies over the one before", i)
			}
			below = y2
		}
		reftest.Near(t, "mean", one(t, d, "mean").Num("x1")-left, 110*perNewton, readback)
	}

	// A plain string of 0.012 in at E4 on 25.4 in pulls 103.617 N, 23.294 lbf.
	// source: Mersenne's law, independent calculation, worked case.
	solid, _, err := stringset.Pulls([]stringset.String{{Name: "E4", Pitch: 329.6275569128699, Kind: stringset.Plain, Diameter: 0.012 * unit.Inch, Density: 7850, Young: 200e9}}, 25.4*unit.Inch)
	if err != nil {
		t.Fatal(err)
	}
	for style, want := range map[unit.Style]string{unit.Millimetre: "103.6 N", unit.InchDecimal: "23.3 lbf", unit.Inch64: "23.3 lbf"} {
		if got := one(t, written(t, TensionChart(solid, TensionOptions{Style: style})), "pull").Text; !strings.HasPrefix(got, want+",") {
			t.Errorf("%s: the bar says %q, want %s", style, got, want)
		}
	}
}

// ruled is a map with figures at, under and over every step of the key.
func ruled() (stringset.Map, [][]float64) {
	figures := [][]float64{
		{0, 0.04, -0.04, 0.94, -0.94, 0.96, -0.96, 1.94, -1.94, 2, -2, 4.9, -4.9},
		{5, -5, 9.94, -9.94, 10, -10, 33.3, -33.3, 0.5, -0.5, 1.5, -1.5, 7},
		{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13},
	}
	var m stringset.Map
	for i, f := range figures {
		m.Rows = append(m.Rows, stringset.Row{Name: fmt.Sprint("S", i), First: 1, Cents: f, RMS: float64(i) + 0.25})
	}
	return m, figures
}

func TestEveryNoteSaysItsCents(t *testing.T) {
	m, figures := ruled()
	for _, narrow := range []bool{true, false} {
		for _, left := range []bool{false, true} {
			d := written(t, CentsMap(m, CentsOptions{Narrow: narrow, LeftHanded: left, Fit: 12}))
			place := map[[2]int][4]float64{}
			for i, row := range figures {
				for k, v := range row {
					id := fmt.Sprintf("%d-%d", i+1, k+1)
					text, cell := one(t, d, "cents-"+id), one(t, d, "cell-"+id)
					// The figure reads back, with a sign that is not left to colour.
					got, err := strconv.ParseFloat(text.Text, 64)
					if err != nil {
						t.Fatal(err)
					}
					reftest.Near(t, "figure "+id, got, v, 0.0501)
					if got != 0 && text.Text[0] != '+' && text.Text[0] != '-' {
						t.Errorf("%s reads %q, without its sign", id, text.Text)
					}
					// Sharp is filled, flat is striped, and what rounds below one cent is neither.
					shade, stripes := cell.Attr["fill"] != "" && cell.Attr["fill"] != drawing.Paper.Hex(), len(d.Named("stripes-"+id)) == 1
					if a := math.Abs(got); shade != (a >= 1 && got > 0) || stripes != (a >= 1 && got < 0) {
						t.Errorf("%s, %s: filled %v, striped %v", id, text.Text, shade, stripes)
					}
					// The figure stands in its own cell.
					x1, y1, x2, y2 := span(cell)
					if x, y := text.Num("x"), text.Num("y"); x < x1 || x > x2 || y < y1 || y > y2 {
						t.Errorf("%s stands outside its cell", id)
					}
					place[[2]int{i, k}] = [4]float64{x1, y1, x2, y2}
				}
			}
			// No two cells overlap.
			for a, p := range place {
				for b, q := range place {
					if a != b && p[0] < q[2]-readback && q[0] < p[2]-readback && p[1] < q[3]-readback && q[1] < p[3]-readback {
						t.Errorf("cells %v and %v overlap", a, b)
					}
				}
			}
			// Upright: bass of a right-handed guitar on the left, frets downward. Lying with the nut to the left: treble on
			// top, frets to the right. A left-handed guitar is the mirror image.
			bass, treble, next := place[[2]int{0, 0}], place[[2]int{2, 0}], place[[2]int{0, 1}]
			if narrow {
				if (bass[0] < treble[0]) == left || next[1] <= bass[1] {
					t.Errorf("left-handed %v: upright board stands wrong", left)
				}
			} else if (treble[1] < bass[1]) == left || next[0] <= bass[0] {
				t.Errorf("left-handed %v: lying board lies wrong", left)
			}
		}
	}
}

func TestTonesGrowWithTheCents(t *testing.T) {
	m, figures := ruled()
	d := written(t, CentsMap(m, CentsOptions{}))
	type cell struct {
		v    float64
		tone string
	}
	var sharp, flat []cell
	for i, row := range figures {
		for k, v := range row {
			id := fmt.Sprintf("%d-%d", i+1, k+1)
			if fill := one(t, d, "cell-"+id).Attr["fill"]; v >= 1 {
				sharp = append(sharp, cell{v, fill})
			}
			if v <= -1 {
				flat = append(flat, cell{-v, one(t, d, "stripes-"+id).Attr["stroke"]})
			}
		}
	}
	for _, list := range [][]cell{sharp, flat} {
		slices.SortFunc(list, func(a, b cell) int { return int(math.Copysign(1, a.v-b.v)) })
		rank := map[string]int{}
		for i, b := range drawing.Bands() {
			rank[b.Hex()] = i + 1
		}
		seen := map[string]bool{}
		for i, c := range list {
			if rank[c.tone] == 0 || i > 0 && rank[c.tone] < rank[list[i-1].tone] {
				t.Errorf("%v cents have tone %s, after %s", c.v, c.tone, list[max(i-1, 0)].tone)
			}
			seen[c.tone] = true
		}
		if len(seen) != len(centsLevels) {
			t.Errorf("%d tones used, want %d", len(seen), len(centsLevels))
		}
	}
}

func TestSaddleIsToScale(t *testing.T) {
	// A slot that falls 2 mm in 54: its angle is atan(2/54) = 2.1211°. source: derived by hand.
	across := []unit.Length{mm(-27), mm(-9), mm(9), mm(27)}
	own := []unit.Length{mm(3.4), mm(2.1), mm(2.9), mm(1.2)}
	nut := []unit.Length{mm(0.4), mm(0.2), 0, mm(0.55)}
	in := SaddleInput{Across: across, Own: own, Centre: mm(2.3), Slope: -2.0 / 54, Blank: mm(2.6), Nut: nut}
	line := []float64{3.3, 2.3 + 1.0/3, 2.3 - 1.0/3, 1.3} // 2.3 - 2/54·y. source: derived by hand
	for _, narrow := range []bool{true, false} {
		for _, left := range []bool{false, true} {
			for _, compensated := range []bool{false, true} {
				in.Compensated = compensated
				s := SaddleTop(in, SaddleOptions{Style: unit.Millimetre, Narrow: narrow, LeftHanded: left})
				d := written(t, s)
				zero := one(t, d, "scale-line").Num("y1")
				for i := range across {
					want := line[i]
					if compensated {
						want = own[i].MM()
					}
					id := strconv.Itoa(i + 1)
					dl := one(t, d, "setback-"+id)
					reftest.Near(t, "setback "+id, (dl.Num("y2")-zero)/s.ScaleY, want, 0.005)
					reftest.Near(t, "setback from the scale line", dl.Num("y1"), zero, readback)
					reftest.Near(t, "nut "+id, one(t, d, "nut-"+id).Length()/s.ScaleY, nut[i].MM(), 0.005)
					place := d.Named("place")[i]
					reftest.Near(t, "own place", (place.Num("cy")-zero)/s.ScaleY, own[i].MM(), 0.005)
					side := 1.0
					if left {
						side = -1
					}
					reftest.Near(t, "across", side*(place.Num("cx")-s.Width.MM()/2)/s.ScaleX, across[i].MM(), 0.005)
				}
				ps := one(t, d, "slot").Points()
				rise := (ps[1][1] - ps[0][1]) / s.ScaleY
				run := math.Abs(ps[1][0]-ps[0][0]) / s.ScaleX
				reftest.Near(t, "angle of the slot", math.Atan2(rise, run)*180/math.Pi, -2.1211, 0.005)
				// Width of the blank: distance of a corner of one edge from the line of the other.
				q := one(t, d, "blank").Points()
				for i := range q {
					q[i][0], q[i][1] = q[i][0]/s.ScaleX, q[i][1]/s.ScaleY
				}
				ux, uy := q[1][0]-q[0][0], q[1][1]-q[0][1]
				dist := math.Abs(ux*(q[3][1]-q[0][1])-uy*(q[3][0]-q[0][0])) / math.Hypot(ux, uy)
				reftest.Near(t, "blank", dist, 2.6, 0.006)
			}
		}
	}
	// A steep slot, so that the width square across it differs from the width along the strings.
	steep := in
	steep.Slope, steep.Blank = 0.25, mm(4)
	s := SaddleTop(steep, SaddleOptions{Style: unit.Millimetre})
	q := one(t, written(t, s), "blank").Points()
	for i := range q {
		q[i][0], q[i][1] = q[i][0]/s.ScaleX, q[i][1]/s.ScaleY
	}
	ux, uy := q[1][0]-q[0][0], q[1][1]-q[0][1]
	reftest.Near(t, "blank of a steep slot", math.Abs(ux*(q[3][1]-q[0][1])-uy*(q[3][0]-q[0][0]))/math.Hypot(ux, uy), 4, 0.006)

	in.Nut = make([]unit.Length, 4)
	if d := written(t, SaddleTop(in, SaddleOptions{})); len(d.Named("nut-1")) != 0 {
		t.Error("a nut without compensation is drawn")
	}
}

// boardPoint turns page coordinates back into the board's frame: along from the nut, across to treble.
func boardPoint(s *drawing.Sheet, d svgtest.Drawing, narrow bool) func(x, y float64) (along, across float64) {
	corners := d.Named("board")[0].Points() // bass at the nut, treble at the nut, treble and bass at the end
	// The corner at the nut on the bass side lies at half the nut's width; middle and direction follow from both.
	a, b := corners[0], corners[1]
	mx, my := (a[0]+b[0])/2, (a[1]+b[1])/2
	if narrow {
		side := math.Copysign(1, b[0]-a[0])
		return func(x, y float64) (float64, float64) { return (y - my) / s.ScaleY, side * (x - mx) / s.ScaleX }
	}
	side := math.Copysign(1, b[1]-a[1])
	return func(x, y float64) (float64, float64) { return (x - mx) / s.ScaleX, side * (y - my) / s.ScaleY }
}

func TestBoardIsToScale(t *testing.T) {
	l := lay(t, boards()["six"])
	for _, narrow := range []bool{true, false} {
		for _, left := range []bool{false, true} {
			s := BoardPlan(l, BoardPlanOptions{Style: unit.Millimetre, Narrow: narrow, LeftHanded: left, Dots: fretting.Usual(), ToSaddle: true})
			d := written(t, s)
			reftest.Near(t, "one scale both ways", s.ScaleX, s.ScaleY, 0)
			at := boardPoint(s, d, narrow)
			// source: fret 12 halves 640 mm; fret 7 of equal temperament at 640 (1 - 2^(-7/12)) = 212.8574 mm; both by hand.
			for fret, want := range map[int]float64{12: 320, 7: 640 * (1 - 1/math.Pow(2, 7.0/12))} {
				e := one(t, d, fmt.Sprintf("slot-%d", fret)).Points()
				for _, p := range e {
					x, _ := at(p[0], p[1])
					reftest.Near(t, fmt.Sprintf("fret %d", fret), x, want, 0.01)
				}
				_, b := at(e[0][0], e[0][1])
				_, tr := at(e[1][0], e[1][1])
				if b >= 0 || tr <= 0 {
					t.Errorf("slot %d runs from %v to %v, want bass to treble", fret, b, tr)
				}
			}
			// Board 44 mm at the nut, 55 at fret 14. source: the board's own input.
			reftest.Near(t, "nut", one(t, d, "nut-width").Length()/s.ScaleX, 44, 0.01)
			e := one(t, d, "slot-14").Points()
			_, b := at(e[0][0], e[0][1])
			_, tr := at(e[1][0], e[1][1])
			reftest.Near(t, "width at fret 14", tr-b, 55, 0.01)
			// Strings 37 mm apart at the nut and 54 at the saddle, which is where the scale length ends.
			ss := d.Named("string")
			if len(ss) != 6 {
				t.Fatalf("%d strings", len(ss))
			}
			first, last := ss[0].Points(), ss[5].Points()
			_, y1 := at(first[0][0], first[0][1])
			_, y2 := at(last[0][0], last[0][1])
			reftest.Near(t, "spread at the nut", y2-y1, 37, 0.01)
			x1, y1 := at(first[1][0], first[1][1])
			_, y2 = at(last[1][0], last[1][1])
			reftest.Near(t, "spread at the saddle", y2-y1, 54, 0.01)
			reftest.Near(t, "scale length", x1, 640, 0.01)
			// Dots stand half way between their fret and the one before; the pair at 12 either side of the middle.
			var pair int
			for _, dot := range d.Named("dot") {
				x, y := at(dot.Num("cx"), dot.Num("cy"))
				if math.Abs(y) > 1 {
					pair++
					eleven := 640 * (1 - 1/math.Pow(2, 11.0/12))
					reftest.Near(t, "pair at 12", x, (320+eleven)/2, 0.01)
				}
			}
			if pair != 2 {
				t.Errorf("%d dots off the middle, want the pair at 12", pair)
			}
			// Upright: bass of a right-handed guitar on the left. Lying with the nut to the left: treble on top.
			corners := one(t, d, "board").Points()
			if narrow && (corners[0][0] < corners[1][0]) == left || !narrow && (corners[1][1] < corners[0][1]) == left {
				t.Errorf("narrow %v, left-handed %v: bass and treble change places", narrow, left)
			}
		}
	}
}

// On two scales each outer string is cut by fret n in the share 1 - 2^(-n/12) of its own length, and the fret chosen to be
// square is. source: the definition of equal temperament on each string; derived by hand.
func TestTwoScalesAreDrawnTrue(t *testing.T) {
	b := boards()["two scales"] // 660 and 635 mm along the strings, fret 7 square
	l := lay(t, b)
	for _, narrow := range []bool{true, false} {
		s := BoardPlan(l, BoardPlanOptions{Style: unit.Millimetre, Narrow: narrow, ToSaddle: true})
		d := written(t, s)
		strs := d.Named("string")
		cross := func(p, q [][2]float64) float64 { // share of p at which q crosses it
			ax, ay := p[1][0]-p[0][0], p[1][1]-p[0][1]
			bx, by := q[1][0]-q[0][0], q[1][1]-q[0][1]
			cx, cy := q[0][0]-p[0][0], q[0][1]-p[0][1]
			return (cx*by - cy*bx) / (ax*by - ay*bx)
		}
		for _, k := range []struct {
			str  int
			long float64
		}{{0, 660}, {5, 635}} {
			p := strs[k.str].Points()
			reftest.Near(t, "scale length", strs[k.str].Length()/s.ScaleX, k.long, 0.02)
			for n := 1; n <= 24; n++ {
				got := cross(p, one(t, d, fmt.Sprintf("slot-%d", n)).Points())
				reftest.Near(t, fmt.Sprintf("string %d, fret %d", k.str, n), got*k.long, k.long*(1-math.Pow(2, -float64(n)/12)), 0.03)
			}
		}
		e := one(t, d, "slot-7").Points()
		along := 0
		if narrow {
			along = 1
		}
		reftest.Near(t, "fret 7 is square", e[0][along], e[1][along], readback)
		if a, z := one(t, d, "slot-1").Points(), one(t, d, "slot-20").Points(); (a[0][along]-a[1][along])*(z[0][along]-z[1][along]) >= 0 {
			t.Error("slots before and beyond the square one lean the same way")
		}
	}
}

func TestNutSlotsAreToScale(t *testing.T) {
	for name, radius := range map[string]float64{"six": 400, "flat": 0} {
		l := lay(t, boards()[name])
		slots, err := l.NutSlots(fretting.NutCut{Crown: mm(1.1), Height: mm(0.45), Allowance: mm(0.06)})
		if err != nil {
			t.Fatal(err)
		}
		long := map[string]float64{"six": 44, "flat": 52}[name]
		spread := map[string]float64{"six": 37, "flat": 43}[name]
		for _, narrow := range []bool{true, false} {
			for _, left := range []bool{false, true} {
				s := NutSlots(NutInput{Layout: l, Slots: slots, Crown: mm(1.1)}, NutOptions{Style: unit.Millimetre, Narrow: narrow, LeftHanded: left})
				d := written(t, s)
				face := one(t, d, "face").Points()
				mid := face[len(face)/2]
				reftest.Near(t, name+" nut's length", math.Abs(face[0][0]-face[len(face)-1][0])/s.ScaleX, long, 0.005)
				for i := range slots {
					// Outer strings stand half the spread off the middle.
					g := one(t, d, fmt.Sprintf("string-%d", i+1))
					y := (g.Num("cx") - mid[0]) / s.ScaleX
					if left {
						y = -y
					}
					if i == 0 {
						reftest.Near(t, "bass string", y, -spread/2, 0.005)
					}
					if i == 5 {
						reftest.Near(t, "treble string", y, spread/2, 0.005)
					}
					reftest.Near(t, "gauge", 2*g.Num("r")/s.ScaleX, l.Strings[i].Gauge.MM(), 0.005)
					// The string's underside stands crown and height, 1.1 + 0.45 mm, over the board's face, which falls away from
					// the middle by R - √(R² - y²). source: the circle, by hand.
					drop := 0.0
					if radius > 0 {
						drop = radius - math.Sqrt(radius*radius-y*y)
					}
					under := (mid[1] - g.Num("cy") - g.Num("r")) / s.ScaleY
					reftest.Near(t, fmt.Sprintf("%s string %d over the board", name, i+1), under, 1.55-drop, 0.005)
					x1, _, x2, deepest := span(one(t, d, fmt.Sprintf("slot-%d", i+1)))
					reftest.Near(t, "slot's width", (x2-x1)/s.ScaleX, l.Strings[i].Gauge.MM()+0.06, 0.005)
					reftest.Near(t, "string lies on the slot's floor", deepest, g.Num("cy")+g.Num("r"), 0.02)
					reftest.Near(t, "dimension", one(t, d, fmt.Sprintf("from-bass-%d", i+1)).Length()/s.ScaleX, long/2+y, 0.005)
				}
			}
		}
	}
}

// On a flat board without relief the string is a straight line over the frets: it stands h + (a - h) x/(L/2) over a fret at x, and
// pulled A at q from the saddle toward the board swings A x/(L - q) below its rest there, for x up to L - q. source: derived by hand.
func TestClearanceIsToScale(t *testing.T) {
	l := lay(t, boards()["flat"]) // 650 mm
	p := fretting.Played{NutHeight: fretting.Pair{Bass: mm(0.5), Treble: mm(0.5)}, Action12: fretting.Pair{Bass: mm(2.4), Treble: mm(2.4)}, JointFret: 12,
		Pluck: fretting.Pluck{Pull: mm(2.5), At: mm(120), Way: fretting.Toward}}
	cs, err := l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	s := ClearanceOver(l, cs[0], ClearanceOptions{Style: unit.Millimetre})
	d := written(t, s)
	tops := one(t, d, "tops").Num("y1")
	buzzing := 0
	for n := 1; n <= 19; n++ {
		x := 650 * (1 - math.Pow(2, -float64(n)/12))
		rest := 0.5 + 1.9*x/325
		left := rest - 2.5*x/530
		// The bass string leans outward by 7.5 mm in 650, so along it lengths are 1.00007 times those on the centreline.
		r, w := one(t, d, fmt.Sprintf("rest-%d", n)), one(t, d, fmt.Sprintf("swing-%d", n))
		reftest.Near(t, "rest", (tops-r.Num("y2"))/s.ScaleY, rest, 0.002)
		reftest.Near(t, "lowest", (tops-w.Num("y2"))/s.ScaleY, left, 0.002)
		if left < 0 {
			buzzing++
		}
	}
	if got := len(d.Named("buzz")); got != buzzing {
		t.Errorf("%d crosses, want %d", got, buzzing)
	}

	// The map: every cell says the least of its row, dark where that is below nothing.
	s = ClearanceMap(cs, ClearanceOptions{Style: unit.Millimetre})
	d = written(t, s)
	dark := 0
	for _, k := range cs {
		id := fmt.Sprintf("%d-%d", k.String+1, k.Stop)
		text, cell := one(t, d, "room-"+id), one(t, d, "cell-"+id)
		least := math.Inf(1)
		for _, m := range k.Margin {
			least = math.Min(least, m.MM())
		}
		v, err := strconv.ParseFloat(text.Text, 64)
		if err != nil {
			t.Fatal(err)
		}
		reftest.Near(t, "least left "+id, v, least, 0.00501)
		if isDark := cell.Attr["fill"] == drawing.Band6.Hex(); isDark != (least < 0) || isDark != strings.HasPrefix(text.Text, "-") {
			t.Errorf("%s: least %v mm reads %q, dark %v", id, least, text.Text, isDark)
		}
		if least < 0 {
			dark++
		}
		if striped := len(d.Named("stripes-"+id)) == 1; striped != (least >= 0 && least < 0.1) {
			t.Errorf("%s: least %v mm, striped %v", id, least, striped)
		}
	}
	s = ClearanceMap([]fretting.Clearance{{Least: mm(0.15), Nearest: 3}, {Stop: 1, Least: mm(0.05), Nearest: 2}, {Stop: 2, Least: mm(0.25), Nearest: 4}}, ClearanceOptions{Style: unit.Millimetre})
	if e := written(t, s); len(e.Named("stripes-1-0"))+len(e.Named("stripes-1-2")) != 0 || len(e.Named("stripes-1-1")) != 1 {
		t.Error("close begins under 0.1 mm when nothing else is asked")
	}
	s = ClearanceMap([]fretting.Clearance{{Least: mm(0.15), Nearest: 3}}, ClearanceOptions{Style: unit.Millimetre, Close: mm(0.2)})
	if e := written(t, s); len(e.Named("stripes-1-0")) != 1 {
		t.Error("what is asked to count as close does not")
	}
	if dark == 0 || dark == len(cs) {
		t.Errorf("%d of %d buzz: the case shows only one kind", dark, len(cs))
	}
}

func TestRoomIsSaidShort(t *testing.T) {
	for _, c := range []struct {
		mm    float64
		style unit.Style
		tight bool
		want  string
	}{
		{0.354, unit.Millimetre, false, "0.35"}, {-0.127, unit.Millimetre, true, "-.13"}, {1.26, unit.Millimetre, true, "1.3"}, {-0.004, unit.Millimetre, false, "-0.00"},
		{0.127, unit.Inch64, false, "5"}, {-0.254, unit.InchDecimal, true, "-10"}, {0.001, unit.Inch64, true, "0"}, {math.NaN(), unit.Millimetre, false, ""},
	} {
		if got := roomSaid(mm(c.mm), c.style, c.tight); got != c.want {
			t.Errorf("%v mm in %s: %q, want %q", c.mm, c.style, got, c.want)
		}
	}
}

func TestStrungPairIsToScale(t *testing.T) {
	for name, in := range chains(t) {
		b, tg, r := worked(t, in)
		for _, narrow := range []bool{true, false} {
			s := StrungPair(b, tg, r, PairOptions{Style: unit.Millimetre, Narrow: narrow})
			d := written(t, s)
			reftest.Near(t, name+" gap before", one(t, d, "gap-unstrung").Length()/s.ScaleY, math.Abs(r.GapUnstrung.MM()), 0.005)
			reftest.Near(t, name+" gap after", one(t, d, "gap-strung").Length()/s.ScaleY, math.Abs(r.GapStrung.MM()), 0.005)
			action := (r.Action12.Bass + r.Action12.Treble).MM() / 2
			reftest.Near(t, name+" action", one(t, d, "action12").Length()/s.ScaleY, action, 0.01)
			// Both views to one scale: the straight edges are as long across the page, and the strings turn the neck forward.
			before, after := one(t, d, "edge-unstrung").Points(), one(t, d, "edge-strung").Points()
			reftest.Near(t, "run", before[1][0]-before[0][0], after[1][0]-after[0][0], readback)
			reftest.Near(t, "run", (after[1][0]-after[0][0])/s.ScaleX, tg.NutToJoint.MM()+tg.SaddleDistance.MM(), 0.02)
			slope := func(p [][2]float64) float64 {
				return (p[0][1] - p[1][1]) / s.ScaleY / ((p[1][0] - p[0][0]) / s.ScaleX)
			}
			// Turn and fold, and nothing else, lie between the two edges. The views are drawn with slopes, not angles.
			reftest.Near(t, name+" turn and fold", slope(before)-slope(after), float64(r.Turn+r.Fold), 3e-5)
			// The bend is read by its own bar.
			bar, err := strconv.ParseFloat(strings.Fields(one(t, d, "bend-scale-text").Text)[0], 64)
			if err != nil {
				t.Fatal(err)
			}
			perMM := one(t, d, "bend-scale").Length() / bar
			line := one(t, d, "bend-line").Num("y1")
			strung, un := one(t, d, "bend-strung").Points(), one(t, d, "bend-unstrung").Points()
			for i, k := range r.Sags {
				reftest.Near(t, name+" bend strung", (strung[i][1]-line)/perMM, k.Strung.MM(), 0.002)
				reftest.Near(t, name+" bend unstrung", (un[i][1]-line)/perMM, k.Unstrung.MM(), 0.002)
			}
			// Side by side on a wide sheet, one over the other on a narrow one.
			if narrow == (after[0][0] > before[1][0]) || narrow != (after[0][1] > before[0][1]+10) {
				t.Errorf("narrow %v: views at %v and %v", narrow, before[0], after[0])
			}
		}
	}
}

func TestScoresAreAsLongAsTheirCents(t *testing.T) {
	rms := []float64{1.7, 2.4, 0.6}
	var scores []stringset.Score
	for i, v := range rms {
		scores = append(scores, stringset.Score{Name: unit.Say("way %d", i), Map: stringset.Map{RMS: v, Worst: -3.3, WorstFret: 5, Rows: []stringset.Row{{Name: "E2"}}}})
	}
	d := written(t, ScoreChart(scores, ScoreOptions{Narrow: true}))
	bars := d.Named("bar")
	x1, _, x2, _ := span(bars[0])
	for i, bar := range bars {
		a, _, b, _ := span(bar)
		reftest.Near(t, "bar", (b-a)/(x2-x1), rms[i]/rms[0], 0.001)
		if got, want := d.Named("rms")[i].Text, fmt.Sprintf("%.1f", rms[i]); got != want {
			t.Errorf("bar %d says %s, want %s", i, got, want)
		}
	}
}

func TestSetupStepsAreNumberedInOrder(t *testing.T) {
	d := written(t, SetupOrder([]SetupSpot{{Place: AtRelief, Heading: "Relief", Done: true}, {Place: AtNut, Heading: "Nut"}, {Place: AtHeight, Heading: "Height", Done: true}, {Place: AtLine, Heading: "Line"}, {Place: AtLine, Heading: "Again"}}, SetupOptions{}))
	x := func(n int) float64 { return one(t, d, fmt.Sprint("spot-", n)).Num("cx") }
	// Neck to the left: nut, middle of the neck, saddle; two at one place stand beside each other, not on each other.
	if x(2) >= x(1) || x(1) >= x(3) || x(3) >= x(4) {
		t.Errorf("nut %v, neck %v, saddle %v and %v", x(2), x(1), x(3), x(4))
	}
	if r := one(t, d, "spot-4").Num("r"); math.Abs(x(5)-x(4)) < 2*r {
		t.Error("two rounds at the saddle lie on each other")
	}
	if got := len(d.Named("tick")); got != 2 {
		t.Errorf("%d ticks, want 2", got)
	}
}

// Places pushed apart keep their order and distance, and move the least in squares: no neighbour does better.
func TestApart(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 8))
	cost := func(a, b []float64) (sum float64) {
		for i := range a {
			sum += (a[i] - b[i]) * (a[i] - b[i])
		}
		return
	}
	for range 200 {
		want := make([]float64, 1+r.IntN(8))
		for i := range want {
			want[i] = r.Float64() * 20
		}
		slices.Sort(want)
		const step = 3.0
		got := apart(want, step)
		for i := 1; i < len(got); i++ {
			if got[i]-got[i-1] < step-1e-9 {
				t.Fatalf("%v from %v stand closer than %v", got, want, step)
			}
		}
		best := cost(got, want)
		for range 100 {
			try := slices.Clone(got)
			for i := range try {
				try[i] += r.NormFloat64() * 0.3
			}
			ok := true
			for i := 1; i < len(try); i++ {
				ok = ok && try[i]-try[i-1] >= step
			}
			if ok && cost(try, want) < best-1e-9 {
				t.Fatalf("%v moves %v less than %v", try, want, got)
			}
		}
	}
	if got := apart([]float64{1, 9, 20}, 3); !slices.Equal(got, []float64{1, 9, 20}) {
		t.Errorf("what stands apart was moved: %v", got)
	}
}

// TestStrungNonsenseIsRefusedNotDrawn: as TestNonsenseIsRefusedNotDrawn, for the strung guitar.
func TestStrungNonsenseIsRefusedNotDrawn(t *testing.T) {
	good := lay(t, boards()["six"])
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		l := unit.Length(v)
		bad := good
		bad.Length = l
		slots := slices.Clone(good.Slots)
		slots[3].Centre, slots[3].Line.Bass.X = l, l
		bent := good
		bent.Slots = slots
		for name, s := range map[string]*drawing.Sheet{
			"tension": TensionChart(stringset.Balance{Strings: []stringset.Pull{{AtPitch: stringset.AtPitch{Tension: unit.Force(v)}}}, Mean: unit.Force(v)}, TensionOptions{}),
			"cents":   CentsMap(stringset.Map{RMS: v, Worst: v, Rows: []stringset.Row{{First: 1, RMS: v, Cents: []float64{1, v}}}}, CentsOptions{}),
			"saddle":  SaddleTop(SaddleInput{Across: []unit.Length{l}, Own: []unit.Length{l}, Centre: l, Slope: v}, SaddleOptions{}),
			"board":   BoardPlan(bad, BoardPlanOptions{}),
			"slot":    BoardPlan(bent, BoardPlanOptions{}),
			"nut":     NutSlots(NutInput{Layout: good, Slots: []fretting.NutSlot{{FromBass: l, Width: l, Floor: l, Depth: l}}}, NutOptions{}),
			"clear":   ClearanceMap([]fretting.Clearance{{Least: l}, {Stop: 1, Least: l}}, ClearanceOptions{}),
			"over":    ClearanceOver(good, fretting.Clearance{Rest: []unit.Length{l}, Margin: []unit.Length{l}, Nearest: 1}, ClearanceOptions{}),
			"pair":    StrungPair(neckset.Build{ScaleLength: l}, neckset.Target{SaddleDistance: l}, strungup.Result{GapStrung: l, Sags: []strungup.Sag{{}, {Strung: l}}}, PairOptions{}),
		} {
			b, err := svg.Bytes(s, svg.Options{})
			if err == nil && (bytes.Contains(b, []byte("NaN")) || bytes.Contains(b, []byte("Inf"))) {
				t.Errorf("%s drew %v", name, v)
			}
		}
	}
}

func BenchmarkCentsMap(b *testing.B) {
	_, models, across := strung(b, "light", 640*mmU, 20)
	line, err := stringset.StraightSaddle(models, across, nil)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s := CentsMap(line.Map, CentsOptions{Narrow: true, Fit: 12})
		if _, err := svg.Bytes(s, svg.Options{ID: "cents"}); err != nil {
			b.Fatal(err)
		}
	}
}
