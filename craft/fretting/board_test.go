package fretting_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/fretting"
	"fairset/internal/reftest"
	"fairset/unit"
)

const mm = unit.MM

// gauges of a made-up set of six.
func gauges() []unit.Length {
	return []unit.Length{1.3 * mm, 1.0 * mm, 0.8 * mm, 0.6 * mm, 0.4 * mm, 0.3 * mm}
}

func board() fretting.Board {
	return fretting.Board{BassScale: 640 * mm, TrebleScale: 640 * mm, Frets: 20, NutWidth: 44 * mm, Width: 56 * mm, WidthFret: 14,
		NutRadius: 300 * mm, EndRadius: 400 * mm, Gauges: gauges(),
		AtNut: fretting.Spacing{Spread: 37 * mm}, AtSaddle: fretting.Spacing{Spread: 56 * mm}}
}

func fan() fretting.Board {
	b := board()
	b.BassScale, b.TrebleScale, b.PerpendicularFret = 686*mm, 648*mm, 7
	b.AtNut.Spread, b.AtSaddle.Spread = 40*mm, 56*mm
	return b
}

func lay(t testing.TB, b fretting.Board) fretting.Layout {
	t.Helper()
	l, _, err := b.Lay()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestEqualScalesAreTheOrdinaryBoard(t *testing.T) {
	for _, perpendicular := range []float64{0, 7, 12.5} {
		b := board()
		b.PerpendicularFret = perpendicular
		l := lay(t, b)
		for i, s := range l.Slots {
			// source: definition of equal temperament, by the older function
			reftest.Near(t, fmt.Sprint("fret ", i+1), s.Centre.MM(), fretting.Distance(640*mm, i+1).MM(), 1e-9)
			if s.Angle != 0 || s.Line.Bass.X != s.Line.Treble.X {
				t.Errorf("fret %d slants by %v", i+1, s.Angle)
			}
		}
		reftest.NearMM(t, "width at fret 14", -2*l.Slots[13].Line.Bass.Y, 56, 1e-9) // source: as given
		reftest.NearMM(t, "width at the nut", l.Nut.Length(), 44, 1e-9)             // source: as given
	}
}

func TestFanByPlaneGeometry(t *testing.T) {
	l := lay(t, fan())
	seven, twelve := l.Slots[6], l.Slots[11]
	reftest.NearDeg(t, "the chosen fret is square", seven.Angle, 0, 1e-9)
	// source: derived by hand. 2^(-7/12) = 0.667419927, so from fret 7 to fret 12 the bass string runs
	// 686 × 0.167419927 = 114.850070 mm and the treble 648 × 0.167419927 = 108.488113 mm along the board; at
	// fret 12 they are (40 + 56)/2 = 48 mm apart, so the slot turns by atan(6.361957/48) = 7.54990°.
	bass, treble := l.Crossing(0, 12), l.Crossing(5, 12)
	reftest.NearMM(t, "bass string, fret 7 to 12", bass.X-l.Crossing(0, 7).X, 114.850070, 1e-6)
	reftest.NearMM(t, "treble string, fret 7 to 12", treble.X-l.Crossing(5, 7).X, 108.488113, 1e-6)
	reftest.NearMM(t, "strings apart at fret 12", treble.Y-bass.Y, 48, 1e-9)
	reftest.NearDeg(t, "fret 12 turns its treble end to the nut", twelve.Angle, -math.Atan(6.361957/48)*180/math.Pi, 1e-6)
	// At the nut the bass end lies 38 × 0.332580073 = 12.638043 mm further from the saddle. source: derived by hand
	reftest.NearMM(t, "nut slant", l.Strings[5].Nut.X-l.Strings[0].Nut.X, 12.638043, 1e-6)
	// The nut crosses the centreline at the origin, midway between the outer strings.
	reftest.NearMM(t, "origin", l.Strings[0].Nut.X+l.Strings[5].Nut.X, 0, 1e-9)
	// Edge points lie on the slot's line and on the tapered edge.
	for _, s := range l.Slots {
		for _, p := range []fretting.Point{s.Line.Bass, s.Line.Treble} {
			reftest.NearMM(t, "on the edge", p.Y.Abs()-l.WidthAt(p.X)/2, 0, 1e-9)
		}
		a, b, p := l.Crossing(0, s.Fret), l.Crossing(5, s.Fret), s.Line.Treble
		cross := float64((b.X-a.X)*(p.Y-a.Y) - (b.Y-a.Y)*(p.X-a.X))
		reftest.Near(t, "on the line", cross, 0, 1e-12)
	}
}

// A string the same share of the way across at both ends keeps equal temperament on its own length, since
// every fret cuts all such strings in one ratio (Thales).
func TestInnerStringsOfAFanAreInTune(t *testing.T) {
	l := lay(t, fan())
	for i, r := range l.Strings {
		whole := math.Hypot(float64(r.Saddle.X-r.Nut.X), float64(r.Saddle.Y-r.Nut.Y))
		for f := 1; f <= 20; f++ {
			p := l.Crossing(i, f)
			got := math.Hypot(float64(p.X-r.Nut.X), float64(p.Y-r.Nut.Y)) / whole
			reftest.Near(t, fmt.Sprintf("string %d fret %d", i, f), got, 1-math.Pow(2, -float64(f)/12), 1e-12) // source: definition
		}
	}
	b := fan()
	b.AtNut.Even, b.AtSaddle.Even = fretting.EqualGap, fretting.EqualGap
	l = lay(t, b)
	worst := 0.0
	for i, r := range l.Strings {
		for f := 1; f <= 20; f++ {
			p := l.Crossing(i, f)
			d := math.Hypot(float64(p.X-r.Nut.X), float64(p.Y-r.Nut.Y)) - (1-math.Pow(2, -float64(f)/12))*float64(r.Scale)
			worst = math.Max(worst, math.Abs(d)*1000)
		}
	}
	t.Logf("with equal gaps the inner strings' frets are off by up to %.4f mm", worst)
	if worst == 0 || worst > 0.1 {
		t.Errorf("equal gaps move frets by %.4f mm, want a little, under 0.1", worst)
	}
}

func TestScaleAlongTheStrings(t *testing.T) {
	b := fan()
	b.AlongStrings = true
	l := lay(t, b)
	reftest.NearMM(t, "bass", l.Strings[0].Scale, 686, 1e-9)   // source: as given
	reftest.NearMM(t, "treble", l.Strings[5].Scale, 648, 1e-9) // source: as given
	b.AlongStrings = false
	l = lay(t, b)
	// source: derived, Pythagoras: each outer string runs 8 mm outward
	reftest.NearMM(t, "bass slanting", l.Strings[0].Scale, math.Sqrt(686*686+8*8), 1e-9)
}

func TestSpacing(t *testing.T) {
	g := gauges()
	y, err := fretting.Spacing{Spread: 37 * mm}.Places(g)
	if err != nil {
		t.Fatal(err)
	}
	for i := range y {
		reftest.NearMM(t, "equal centres", y[i], -18.5+7.4*float64(i), 1e-9) // source: by hand, 37/5 = 7.4
	}
	y, err = fretting.Spacing{Even: fretting.EqualGap, Spread: 37 * mm, Shift: 0.2 * mm}.Places(g)
	if err != nil {
		t.Fatal(err)
	}
	// source: by hand: (37 - 0.65 - 0.15 - 2.8)/5 = 6.68 mm of air
	for i := 1; i < len(y); i++ {
		reftest.NearMM(t, "gap", (y[i]-g[i]/2)-(y[i-1]+g[i-1]/2), 6.68, 1e-9)
	}
	reftest.NearMM(t, "outer strings", y[5]-y[0], 37, 1e-9)
	reftest.NearMM(t, "shift", (y[5]+y[0])/2, 0.2, 1e-9)

	s, err := fretting.Within(44*mm, 3*mm, 3.5*mm, fretting.EqualGap, g)
	if err != nil {
		t.Fatal(err)
	}
	// source: by hand: from -22 + 3 + 0.65 = -18.35 to 22 - 3.5 - 0.15 = 18.35
	reftest.NearMM(t, "spread within margins", s.Spread, 36.7, 1e-9)
	reftest.NearMM(t, "shift within margins", s.Shift, 0, 1e-9)
	b := board()
	b.AtNut = s
	l := lay(t, b)
	reftest.NearMM(t, "bass margin", l.NutMargin[0], 3, 1e-9)
	reftest.NearMM(t, "treble margin", l.NutMargin[1], 3.5, 1e-9)
}

// The cone is built again in space: a point belongs to it when the line to it from the cone's tip makes the
// half angle with the axis. The centreline of the board is one of its straight lines.
func TestConeAgainstItsConstructionInSpace(t *testing.T) {
	for _, c := range []struct{ nut, end, length float64 }{{254, 406.4, 480}, {184, 300, 420}, {500, 320, 450}} {
		s, err := fretting.NewSurface(unit.Length(c.nut)*mm, unit.Length(c.end)*mm, unit.Length(c.length)*mm)
		if err != nil {
			t.Fatal(err)
		}
		k := (c.end - c.nut) / c.length
		tip := -c.nut / k
		beta := math.Atan(k)                       // half angle
		ax, az := math.Cos(beta), -math.Sin(beta)  // axis, below the board
		outside := func(x, y, z float64) float64 { // 0 on the cone
			dx := x - tip
			along := dx*ax + z*az
			r := math.Sqrt(dx*dx + y*y + z*z - along*along)
			return r - math.Abs(along)*math.Abs(math.Tan(beta))
		}
		for _, x := range []float64{0, 130, c.length} {
			for _, y := range []float64{-29, -11, 0, 7, 24} {
				lo, hi := -20.0, 1e-9
				for range 200 {
					if m := (lo + hi) / 2; outside(x, y, m) > 0 == (outside(x, y, hi) > 0) {
						hi = m
					} else {
						lo = m
					}
				}
				want := (lo + hi) / 2
				if y == 0 {
					want = 0
				}
				// source: computed here from the cone's definition by bisection
				reftest.NearMM(t, fmt.Sprintf("cone %v at (%v, %v)", c, x, y), s.Height(unit.Length(x)*mm, unit.Length(y)*mm), want, 1e-7)
			}
			// A gauge reads the radius of curvature across: h²/(z(h) - 2z(0) + z(-h)). source: definition of curvature
			h := 0.5
			z := s.Height(unit.Length(x)*mm, unit.Length(h)*mm).MM()
			reftest.Near(t, "radius", -h*h/(2*z), s.Radius(unit.Length(x)*mm).MM(), 0.01)
		}
		// Every line from the tip lies in the face: the height is in proportion to the distance from the tip.
		ratio := func(x float64) float64 {
			return s.Height(unit.Length(x)*mm, unit.Length(0.03*(x-tip))*mm).MM() / (x - tip)
		}
		if math.Abs(tip) < 2000 {
			reftest.Near(t, "straight toward the tip", ratio(300), ratio(20), 1e-12)
		}
	}
}

func TestOneRadiusIsACircle(t *testing.T) {
	s, err := fretting.NewSurface(300*mm, 300*mm, 450*mm)
	if err != nil {
		t.Fatal(err)
	}
	// source: by hand, sagitta 300 - sqrt(300² - 28²) = 1.309524 mm; arc 2·300·asin(28/300) = 56.081561 mm
	reftest.NearMM(t, "sagitta", s.Height(100*mm, 28*mm), -(300 - math.Sqrt(300*300-28*28)), 1e-9)
	reftest.NearMM(t, "sagitta in figures", s.Height(100*mm, 28*mm), -1.309524, 1e-6)
	l := fretting.Line{Bass: fretting.Point{X: 0.1, Y: -0.028}, Treble: fretting.Point{X: 0.1, Y: 0.028}}
	reftest.NearMM(t, "arc", s.Along(l), 600*math.Asin(28.0/300), 2e-5)
	flat, err := fretting.NewSurface(0, 0, 450*mm)
	if err != nil {
		t.Fatal(err)
	}
	if flat.Height(0.1, 0.02) != 0 || flat.Along(l) != l.Length() {
		t.Error("a flat board has no drop")
	}
}

func TestWireSlotsAndNut(t *testing.T) {
	b := board()
	b.NutRadius, b.EndRadius = 300*mm, 300*mm
	l := lay(t, b)
	w, err := l.Wire(3*mm, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i, s := range l.Slots {
		half := s.Line.Treble.Y.MM()
		want := 600*math.Asin(half/300) + 6 // source: derived, arc of a circle and two overhangs
		reftest.NearMM(t, fmt.Sprint("wire of fret ", i+1), w.Pieces[i], want, 3e-5)
		sum += want
	}
	reftest.NearMM(t, "wire in all", w.Total, sum, 1e-3)
	reftest.NearMM(t, "wire to buy", w.Buy, sum*1.1, 1e-3)

	d, warn, err := l.SlotDepths(1.6*mm, 0.3*mm, 6*mm)
	if err != nil || len(warn) != 0 {
		t.Fatal(err, warn)
	}
	fourteen := d[13]
	reftest.NearMM(t, "along the curve", fourteen.Follow, 1.9, 1e-9)
	reftest.NearMM(t, "straight floor", fourteen.Flat, 1.9+1.309524, 1e-6) // source: by hand, sagitta of 28 mm on 300 mm
	reftest.NearMM(t, "wood left", fourteen.Left, 6-1.9-1.309524, 1e-6)
	if _, warn, _ = l.SlotDepths(1.6*mm, 0.3*mm, 4.5*mm); len(warn) != 1 || warn[0].Code != "thin_under_slot" {
		t.Errorf("warnings %v", warn)
	}

	// On two scales a slot's ends lie at different widths: the wider end sets a straight floor.
	b = fan()
	b.NutRadius, b.EndRadius = 300*mm, 300*mm
	f := lay(t, b)
	for i, s := range []int{0, 19} {
		line := f.Slots[s].Line
		wide := math.Max(line.Bass.Y.Abs().MM(), line.Treble.Y.Abs().MM())
		if (wide == line.Bass.Y.Abs().MM()) != (i == 1) {
			t.Errorf("fret %d: the wider end is not where the board is wider", s+1)
		}
		if d, _, err = f.SlotDepths(1.6*mm, 0.3*mm, 6*mm); err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, "straight floor of a slanting slot", d[s].Flat, 1.9+300-math.Sqrt(300*300-wide*wide), 1e-9) // source: derived, sagitta
	}

	slots, err := l.NutSlots(fretting.NutCut{Crown: 1.1 * mm, Height: 0.45 * mm, Allowance: 0.05 * mm})
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "first slot from the edge", slots[0].FromBass, 22-18.5, 1e-9) // source: by hand
	reftest.NearMM(t, "its width", slots[0].Width, 1.35, 1e-9)
	reftest.NearMM(t, "its floor over the board", slots[0].Floor, 1.55, 1e-9)
	reftest.NearMM(t, "its depth", slots[0].Depth, 0.65, 1e-9)
}

// d'Alembert: the string is half the sum of its first shape run right and left, that shape drawn on odd about
// both ends. The envelope is sought over a whole period, without the parallelogram the package uses.
func TestSwingAgainstTravellingWaves(t *testing.T) {
	const l, pull = 1.0, 1.0
	worst := 0.0
	for _, a := range []float64{0.07, 0.2, 1.0 / 3, 0.5, 0.8} {
		first := func(x float64) float64 {
			x = math.Mod(math.Mod(x, 2)+2, 2)
			sign := 1.0
			if x > 1 {
				x, sign = 2-x, -1
			}
			if x < a {
				return sign * x / a
			}
			return sign * (l - x) / (l - a)
		}
		for x := 0.05; x < 1; x += 0.05 {
			up, down := 0.0, 0.0
			for i := range 8000 {
				s := 2 * float64(i) / 8000
				y := (first(x-s) + first(x+s)) / 2
				up, down = math.Max(up, y), math.Min(down, y)
			}
			got := [2]float64{float64(fretting.Swing(l, unit.Length(a), unit.Length(x), pull, fretting.Toward)), float64(fretting.Swing(l, unit.Length(a), unit.Length(x), pull, fretting.From))}
			reftest.Near(t, fmt.Sprintf("pressed in at %.2f, seen at %.2f", a, x), got[0], up, 3e-3) // source: computed here, 8000 instants
			reftest.Near(t, fmt.Sprintf("lifted at %.2f, seen at %.2f", a, x), got[1], -down, 3e-3)
			worst = math.Max(worst, math.Max(math.Abs(got[0]-up), math.Abs(got[1]+down)))
			if e := fretting.Swing(l, unit.Length(a), unit.Length(x), pull, fretting.EitherWay); float64(e) != math.Max(got[0], got[1]) {
				t.Errorf("either way: %v of %v", e, got)
			}
		}
	}
	t.Logf("travelling waves: largest difference %.5f of the pull", worst)
}

// The same from the string's modes: y = Σ 2 pull/(n²π² s(1-s)) sin(nπs) sin(nπx) cos(nπt), s = a/l.
// source: Fourier series of a plucked string, textbook result (from memory), derived again in the method page.
func TestSwingAgainstModes(t *testing.T) {
	const modes = 1500
	worst := 0.0
	for _, s := range []float64{0.12, 0.31} {
		for _, x := range []float64{0.1, 0.42, 0.69, 0.88} {
			c := make([]float64, modes+1)
			for n := 1; n <= modes; n++ {
				k := float64(n) * math.Pi
				c[n] = 2 / (k * k * s * (1 - s)) * math.Sin(k*s) * math.Sin(k*x)
			}
			down := 0.0
			for i := range 600 {
				th := math.Pi * 2 * float64(i) / 600
				y := 0.0
				for n := 1; n <= modes; n++ {
					y += c[n] * math.Cos(float64(n)*th)
				}
				down = math.Min(down, y)
			}
			got := float64(fretting.Swing(1, unit.Length(s), unit.Length(x), 1, fretting.From))
			reftest.Near(t, fmt.Sprintf("lifted at %.2f, seen at %.2f", s, x), got, -down, 2e-3)
			worst = math.Max(worst, math.Abs(got+down))
		}
	}
	t.Logf("modes: largest difference %.5f of the pull", worst)
}

func played() fretting.Played {
	return fretting.Played{NutHeight: fretting.Pair{Bass: 0.5 * mm, Treble: 0.4 * mm}, Action12: fretting.Pair{Bass: 2.4 * mm, Treble: 1.9 * mm}, JointFret: 14, Pluck: fretting.Pluck{At: 120 * mm}}
}

func TestClearanceByHand(t *testing.T) {
	b := board()
	b.NutRadius, b.EndRadius = 0, 0
	l := lay(t, b)
	p := played()
	c, err := l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(c) != 6*20 {
		t.Fatalf("%d clearances", len(c))
	}
	open := c[0]
	reftest.NearMM(t, "open bass over fret 12 is its action", open.Rest[11], 2.4, 1e-9) // source: as given
	// source: by hand: fret 1 at 0.0561257 of the string; the string climbs 3.8 mm from nut to saddle: 0.5 + 0.2132777
	reftest.NearMM(t, "open bass over fret 1", open.Rest[0], 0.5+3.8*(1-math.Pow(2, -1.0/12)), 1e-9)
	// source: by hand: held at fret 12 the string climbs from 0 to 0.5 + 3.8 = 4.3 mm over the other half; fret 19
	// lies 2(2^(-1) - 2^(-19/12)) = 0.3325801 of it on: 1.4300943 mm.
	held := c[12]
	if held.Stop != 12 || held.String != 0 {
		t.Fatalf("the 13th is string %d stop %d", held.String, held.Stop)
	}
	reftest.NearMM(t, "held at 12, over fret 19", held.Rest[19-13], 4.3*0.33258007, 1e-6)
	reftest.NearMM(t, "treble action", c[5*20].Rest[11], 1.9, 1e-9) // source: as given

	// Pull 1.2 mm open at 120 mm: at fret 12 (half way, 320 mm) pressed in it swings 1.2·320/520 = 0.738462 (plus
	// nothing for the slant, which shortens both alike). source: by hand
	p.Pluck.Pull, p.Pluck.Way = 1.2*mm, fretting.Toward
	c, err = l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "swing over fret 12", c[0].Rest[11]-c[0].Margin[11], 0.738462, 1e-4)
	// Fret 5 is 640 × 0.250846 = 160.5417 mm from the nut: 1.2·160.5417/520 = 0.370481. source: by hand
	reftest.NearMM(t, "swing over fret 5", c[0].Rest[4]-c[0].Margin[4], 0.370481, 1e-4)
	// Lifted, the peak lies 120 mm from the nut, and fret 5 past it: 1.2·(640 - 160.5417)/520 = 1.106442. source: by hand
	p.Pluck.Way = fretting.From
	if c, err = l.Clear(p); err != nil {
		t.Fatal(err)
	}
	// Held at fret 19, 213.5743 mm are left and the hand moves to their middle; fret 20 is 11.9870 mm on:
	// 1.2·11.9870/106.7871 = 0.134702 either way. source: by hand
	reftest.NearMM(t, "swing held at 19 over fret 20", c[19].Rest[0]-c[19].Margin[0], 0.134702, 1e-5)
	reftest.NearMM(t, "lifted swing over fret 5", c[0].Rest[4]-c[0].Margin[4], 1.106442, 1e-4)

	// Relief 0.2 mm lowers fret 12 by 0.2·0.3898706 against the action read there, so the string meets the nut
	// side of the board as before and fret 7 gains. source: derived, parabola between fret 1 and joint 14
	p = played()
	p.Relief = 0.2 * mm
	c, err = l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	r := func(n float64) float64 { return 1 - math.Pow(2, -n/12) }
	dip := func(n float64) float64 {
		return 0.8 * (r(n) - r(1)) * (r(14) - r(n)) / ((r(14) - r(1)) * (r(14) - r(1)))
	}
	reftest.NearMM(t, "action stays as read", c[0].Rest[11], 2.4, 1e-9)
	reftest.NearMM(t, "fret 7 with relief", c[0].Rest[6], 0.5+(2.4-dip(12)-0.5)*r(7)*2+dip(7), 1e-6)
	// A last fret that falls away 0.3 mm gains as much. source: as given
	p.FallAway = 0.3 * mm
	f, err := l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "fall away", f[0].Rest[19]-c[0].Rest[19], 0.3, 1e-9)
	if f[0].Rest[13] != c[0].Rest[13] {
		t.Error("the joint's fret fell away too")
	}
}

// Strings along straight lines of a cone lie over it as over a flat board.
func TestStringsAlongAConeLieAsOverAFlatBoard(t *testing.T) {
	b := board()
	// The tip lies 300/0.25 = 1200 mm before the nut; the strings fan out from it. source: by hand
	b.NutRadius, b.EndRadius, b.Length = 300*mm, 412.5*mm, 450*mm
	b.AtNut.Spread, b.AtSaddle.Spread = 37*mm, 37*mm*1840/1200
	p := played()
	p.Relief = 0.2 * mm
	curved, err := lay(t, b).Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	b.NutRadius, b.EndRadius = 0, 0
	flat, err := lay(t, b).Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	for i := range flat {
		for j := range flat[i].Rest {
			reftest.NearMM(t, fmt.Sprintf("string %d stop %d, %d on", flat[i].String, flat[i].Stop, j+1), curved[i].Rest[j], flat[i].Rest[j].MM(), 1e-9)
		}
	}
	// Strings that do not fan out from the tip lie differently.
	b.NutRadius, b.EndRadius = 300*mm, 412.5*mm
	b.AtSaddle.Spread = 90 * mm
	wide, err := lay(t, b).Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	if wide[0].Rest[4] == flat[0].Rest[4] {
		t.Error("the spread at the saddle makes no difference")
	}
}

func TestShortBoardUsesThePlaceOfFret12(t *testing.T) {
	p := played()
	p.Relief = 0.3 * mm
	b := board()
	long, err := lay(t, b).Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	b.Length = lay(t, b).Length // the same face
	b.Frets = 9
	short, err := lay(t, b).Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	for f := range 9 {
		reftest.NearMM(t, fmt.Sprint("open bass over fret ", f+1), short[0].Rest[f], long[0].Rest[f].MM(), 1e-4) // the string's own line, not the slot's, finds fret 12
	}
}

func TestHardPlayingBuzzesFirstWhereClearanceIsLeast(t *testing.T) {
	l := lay(t, board())
	p := played()
	p.Relief = 0.15 * mm
	last := math.Inf(1)
	for _, pull := range []float64{0, 0.5, 1, 2, 4} {
		p.Pluck.Pull = unit.Length(pull) * mm
		c, err := l.Clear(p)
		if err != nil {
			t.Fatal(err)
		}
		least := math.Inf(1)
		for _, x := range c {
			least = math.Min(least, float64(x.Least))
			if x.Buzzes() != (x.Least < 0) || x.Nearest <= x.Stop {
				t.Fatalf("%+v", x)
			}
		}
		if least >= last {
			t.Errorf("pull %v mm leaves %v m, no less than before (%v m)", pull, least, last)
		}
		last = least
	}
	if last >= 0 {
		t.Error("4 mm of pull does not buzz")
	}
	p.Pluck.EvenForce = true
	even, err := l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	p.Pluck.EvenForce = false
	same, err := l.Clear(p)
	if err != nil {
		t.Fatal(err)
	}
	for i := range even {
		if even[i].Least < same[i].Least-1e-12 {
			t.Errorf("an even force swings string %d at stop %d further than an even pull", even[i].String, even[i].Stop)
		}
	}
}

func TestBoardsScale(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		b := board()
		b.BassScale = unit.Length(rapid.Float64Range(0.5, 0.75).Draw(r, "bass"))
		b.TrebleScale = b.BassScale - unit.Length(rapid.Float64Range(0, 0.04).Draw(r, "less"))
		b.PerpendicularFret = rapid.Float64Range(0, 12).Draw(r, "square")
		b.AtNut.Even = rapid.SampledFrom([]fretting.Even{fretting.EqualCentre, fretting.EqualGap}).Draw(r, "even")
		l, _, err := b.Lay()
		if err != nil {
			r.Fatal(err)
		}
		prev := l.Nut
		for _, s := range l.Slots {
			if s.Line.Bass.X <= prev.Bass.X || s.Line.Treble.X <= prev.Treble.X {
				r.Fatalf("fret %d does not lie past the one before", s.Fret)
			}
			prev = s.Line
			if s.Wire < s.Line.Length() {
				r.Fatalf("fret %d: wire %v shorter than its chord %v", s.Fret, s.Wire, s.Line.Length())
			}
		}
		k := unit.Length(1.25)
		g := b
		g.BassScale, g.TrebleScale, g.NutWidth, g.Width, g.NutRadius, g.EndRadius = k*b.BassScale, k*b.TrebleScale, k*b.NutWidth, k*b.Width, k*b.NutRadius, k*b.EndRadius
		g.AtNut.Spread, g.AtSaddle.Spread = k*b.AtNut.Spread, k*b.AtSaddle.Spread
		g.Gauges = nil
		for _, d := range b.Gauges {
			g.Gauges = append(g.Gauges, k*d)
		}
		m, _, err := g.Lay()
		if err != nil {
			r.Fatal(err)
		}
		for i := range l.Slots {
			if d := float64(m.Slots[i].Wire - k*l.Slots[i].Wire); math.Abs(d) > 1e-12 {
				r.Fatalf("fret %d: wire does not grow with the board (%g)", i+1, d)
			}
		}
	})
}

func TestBoardErrorsNameTheField(t *testing.T) {
	for _, c := range []struct {
		field string
		spoil func(*fretting.Board)
	}{
		{"bass_scale", func(b *fretting.Board) { b.BassScale = 0 }},
		{"treble_scale", func(b *fretting.Board) { b.TrebleScale = unit.Length(math.NaN()) }},
		{"treble_scale", func(b *fretting.Board) { b.BassScale, b.TrebleScale = 0.9, 0.5 }},
		{"perpendicular_fret", func(b *fretting.Board) { b.PerpendicularFret = -1 }},
		{"perpendicular_fret", func(b *fretting.Board) { b.BassScale, b.Frets, b.PerpendicularFret = 0.72, 3, 36 }},
		{"frets", func(b *fretting.Board) { b.Frets = 0 }},
		{"frets", func(b *fretting.Board) { b.Frets = 1 << 40 }},
		{"nut_width", func(b *fretting.Board) { b.NutWidth = 0.5 }},
		{"board_width", func(b *fretting.Board) { b.Width = unit.Length(math.Inf(1)) }},
		{"board_width", func(b *fretting.Board) { b.NutWidth, b.Width, b.WidthFret = 0.02, 0.16, 1 }},
		{"board_width_fret", func(b *fretting.Board) { b.WidthFret = 40 }},
		{"board_length", func(b *fretting.Board) { b.Length = 0.01 }},
		{"nut_radius", func(b *fretting.Board) { b.NutRadius = 0 }},
		{"end_radius", func(b *fretting.Board) { b.EndRadius = 99 }},
		{"gauges", func(b *fretting.Board) { b.Gauges = nil }},
		{"gauges", func(b *fretting.Board) { b.Gauges = make([]unit.Length, 1000) }},
		{"gauge", func(b *fretting.Board) { b.Gauges[2] = -1 }},
		{"nut_spread", func(b *fretting.Board) { b.AtNut.Spread = 0.003 }},
		{"saddle_spread", func(b *fretting.Board) { b.AtSaddle.Spread = 0.5 }},
		{"saddle_shift", func(b *fretting.Board) { b.AtSaddle.Shift = 1 }},
		{"spacing", func(b *fretting.Board) { b.AtNut.Even = "odd" }},
	} {
		b := board()
		c.spoil(&b)
		_, _, err := b.Lay()
		reftest.RangeError(t, err, c.field)
	}
	l := lay(t, board())
	for _, c := range []struct {
		field string
		spoil func(*fretting.Played)
	}{
		{"relief", func(p *fretting.Played) { p.Relief = 0.1 }},
		{"joint_fret", func(p *fretting.Played) { p.JointFret = 1 }},
		{"fall_away", func(p *fretting.Played) { p.FallAway = unit.Length(math.NaN()) }},
		{"action12.bass", func(p *fretting.Played) { p.Action12.Bass = 0 }},
		{"nut_height.treble", func(p *fretting.Played) { p.NutHeight.Treble = -1 }},
		{"pluck", func(p *fretting.Played) { p.Pluck.Pull = 1 }},
		{"pluck_at", func(p *fretting.Played) { p.Pluck.At = 0 }},
		{"pluck_way", func(p *fretting.Played) { p.Pluck.Way = "sideways" }},
	} {
		p := played()
		c.spoil(&p)
		_, err := l.Clear(p)
		reftest.RangeError(t, err, c.field)
	}
	_, err := l.Wire(-1, 0)
	reftest.RangeError(t, err, "overhang")
	_, _, err = l.SlotDepths(0, 0, 6*mm)
	reftest.RangeError(t, err, "tang_depth")
	_, err = l.NutSlots(fretting.NutCut{})
	reftest.RangeError(t, err, "fret_crown")
	_, err = fretting.Within(44*mm, 15*mm, 15*mm, "", []unit.Length{4 * mm, 4 * mm, 4 * mm, 4 * mm, 4 * mm})
	if err != nil {
		t.Error(err) // there is room: 44 - 30 - 4 = 10 mm between middles; only the strings would touch
	}
	_, err = fretting.Within(30*mm, 15*mm, 15*mm, "", gauges())
	reftest.RangeError(t, err, "margin")
}

func TestWarningsOfABoard(t *testing.T) {
	b := board()
	b.AtNut.Spread, b.Length = 43*mm, 400*mm
	_, warn, err := b.Lay()
	if err != nil {
		t.Fatal(err)
	}
	var codes []string
	for _, w := range warn {
		codes = append(codes, w.Code)
	}
	if got := strings.Join(codes, " "); got != "narrow_margin narrow_margin board_short" {
		t.Errorf("warnings %q: %v", got, warn)
	}
}

func BenchmarkLay(b *testing.B) {
	d := fan()
	for b.Loop() {
		if _, _, err := d.Lay(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkClear(b *testing.B) {
	l := lay(b, fan())
	p := played()
	p.Pluck.Pull = 1 * mm
	for b.Loop() {
		if _, err := l.Clear(p); err != nil {
			b.Fatal(err)
		}
	}
}
