package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairset/craft/fastening"
	"fairset/craft/fretting"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/internal/reftest"
	"fairset/unit"

	"pgregory.net/rapid"
)

// seen finds the parts of one name, measured from the sheet's own zero, in millimetres.
type seen struct {
	t reftest.TB
	s *drawing.Sheet
}

func (v seen) all(name string) (out []drawing.Item) {
	for _, it := range v.s.Parts() {
		if it.Name == name {
			out = append(out, it)
		}
	}
	return out
}

func (v seen) line(name string) (x1, y1, x2, y2 float64) {
	v.t.Helper()
	for _, it := range v.all(name) {
		if l, ok := it.Shape.(drawing.Line); ok {
			o := v.s.Origin
			return (l.From.X - o.X).MM(), (l.From.Y - o.Y).MM(), (l.To.X - o.X).MM(), (l.To.Y - o.Y).MM()
		}
	}
	v.t.Errorf("%s: no line %q", v.s.Title, name)
	return math.NaN(), math.NaN(), math.NaN(), math.NaN()
}

// long is the length of a line or dimension line.
func (v seen) long(name string) float64 {
	v.t.Helper()
	x1, y1, x2, y2 := v.line(name)
	return math.Hypot(x2-x1, y2-y1)
}

func (v seen) circles(name string) (out [][3]float64) {
	for _, it := range v.all(name) {
		if c, ok := it.Shape.(drawing.Circle); ok {
			out = append(out, [3]float64{(c.Centre.X - v.s.Origin.X).MM(), (c.Centre.Y - v.s.Origin.Y).MM(), c.Radius.MM()})
		}
	}
	return out
}

func (v seen) points(name string) (out [][2]float64) {
	v.t.Helper()
	for _, it := range v.all(name) {
		if p, ok := it.Shape.(drawing.Polyline); ok {
			for _, q := range p.Points {
				out = append(out, [2]float64{(q.X - v.s.Origin.X).MM(), (q.Y - v.s.Origin.Y).MM()})
			}
			return out
		}
	}
	v.t.Errorf("%s: no outline %q", v.s.Title, name)
	return nil
}

func (v seen) words() string {
	var out []string
	for _, it := range v.s.Parts() {
		if x, ok := it.Shape.(drawing.Text); ok {
			out = append(out, strings.ReplaceAll(x.String, "\u00a0", " "))
		}
	}
	return strings.Join(out, "\n")
}

func fretLayout(t testing.TB, name string, h Head) (seen, fretting.Board) {
	t.Helper()
	b := boards()[name]
	return seen{t, FretLayout(FretInput{Layout: lay(t, b), Dots: fretting.Usual(), Thickness: mm(6)}, h)}, b
}

func TestFretSlotsStandWhereTheTwelfthRootPutsThem(t *testing.T) {
	// d = L (1 - 2^(-n/12)) from the nut. source: definition of twelve-tone equal temperament.
	for _, name := range []string{"six", "flat", "uke", "twelve", "single"} {
		for _, left := range []bool{false, true} {
			v, b := fretLayout(t, name, Head{Style: unit.Millimetre, Left: left})
			L, nut, end := b.BassScale.MM(), b.NutWidth.MM(), b.Width.MM()
			wide := L * (1 - math.Exp2(-float64(b.WidthFret)/12)) // where the width further along is given
			if b.WidthFret == 0 {
				wide = v.points("board")[2][0]
			}
			for n := 1; n <= b.Frets; n++ {
				want := L * (1 - math.Exp2(-float64(n)/12))
				x1, y1, x2, y2 := v.line(fmt.Sprintf("slot-%d", n))
				reftest.Near(t, fmt.Sprintf("%s slot %d, bass end", name, n), x1, want, 1e-6)
				reftest.Near(t, fmt.Sprintf("%s slot %d, treble end", name, n), x2, want, 1e-6)
				// The slot ends at the board's edges, which taper straight from the nut.
				half := (nut + (end-nut)*want/wide) / 2
				if left {
					half = -half
				}
				reftest.Near(t, fmt.Sprintf("%s slot %d, bass edge", name, n), y1, -half, 1e-6)
				reftest.Near(t, fmt.Sprintf("%s slot %d, treble edge", name, n), y2, half, 1e-6)
			}
		}
	}
}

func TestSlantingSlotsShareOutBothOuterStrings(t *testing.T) {
	// Fret n divides each outer string at the same share 1 - 2^(-n/12). source: definition of twelve-tone equal
	// temperament, applied to each string.
	for _, name := range []string{"two scales", "nine 36 frets"} {
		v, b := fretLayout(t, name, Head{Style: unit.Inch64})
		l := lay(t, b)
		for _, s := range []fretting.Run{l.Strings[0], l.Strings[len(l.Strings)-1]} {
			for n := 1; n <= b.Frets; n++ {
				name := fmt.Sprintf("slot-%d", n)
				if len(v.all(name)) == 0 {
					continue // the board ends before it
				}
				x1, y1, x2, y2 := v.line(name)
				share := 1 - math.Exp2(-float64(n)/12)
				x := s.Nut.X.MM() + share*(s.Saddle.X-s.Nut.X).MM()
				y := s.Nut.Y.MM() + share*(s.Saddle.Y-s.Nut.Y).MM()
				// The place lies on the line the slot is part of.
				off := ((x2-x1)*(y-y1) - (y2-y1)*(x-x1)) / math.Hypot(x2-x1, y2-y1)
				reftest.Near(t, name+" off the string's own place", off, 0, 1e-6)
			}
		}
		// The fret that stands square does.
		if n := int(b.PerpendicularFret); n > 0 {
			x1, _, x2, _ := v.line(fmt.Sprintf("slot-%d", n))
			reftest.Near(t, "square fret", x1, x2, 1e-6)
		}
	}
}

func TestSlotsDotsAndOutlineAreAloneOnTheirLayers(t *testing.T) {
	for name, b := range boards() {
		v, _ := fretLayout(t, name, head)
		slots := 0
		end := v.points("board")[2][0]
		for _, it := range v.s.Parts() {
			if v.s.LayerNames[it.Layer] == "" {
				t.Errorf("%s: layer %q has no name of its own", name, it.Layer)
			}
			switch v.s.LayerNames[it.Layer] {
			case "outline":
				if it.Name != "board" {
					t.Errorf("%s: %q lies on the outline's layer", name, it.Name)
				}
				continue
			case "dots":
				c, ok := it.Shape.(drawing.Circle)
				if x := (c.Centre.X - v.s.Origin.X).MM(); !ok || it.Name != "dot" || x < 0 || x > end {
					t.Errorf("%s: %q on the dots' layer is no dot on the board", name, it.Name)
				}
				continue
			case "slots":
			default:
				continue
			}
			slots++
			l, ok := it.Shape.(drawing.Line)
			if !ok || !strings.HasPrefix(it.Name, "slot-") {
				t.Errorf("%s: %q on the slots' layer is no slot", name, it.Name)
			} else if x := (max(l.From.X, l.To.X) - v.s.Origin.X).MM(); x > end+1e-9 {
				t.Errorf("%s: %s runs %v mm past the board's end", name, it.Name, x-end)
			}
		}
		if name != "nine 36 frets" && slots != b.Frets {
			t.Errorf("%s: %d slots, want %d", name, slots, b.Frets)
		}
	}
}

func TestSlotsPastTheBoardsEndAreLeftOutAndSaid(t *testing.T) {
	b := boards()["six"]
	b.Length = 400 * mmU // fret 17 of 640 mm stands at 400.3 mm. source: 640 (1 - 2^(-17/12)), by hand
	s := FretLayout(FretInput{Layout: lay(t, b), Dots: fretting.Usual(), Thickness: mm(6)}, head)
	v := seen{t, s}
	if len(v.all("slot-16")) != 1 || len(v.all("slot-17")) != 0 {
		t.Error("slots past the board's end are drawn, or one on the board is not")
	}
	if !strings.Contains(v.words(), "The board ends before fret 17: it carries 16.") {
		t.Error("nothing says that frets are missing")
	}
	wellSet(t, s)
}

func TestFretDistancesAreRunning(t *testing.T) {
	// Figures at the slots are from the nut. source: 640 (1 - 2^(-n/12)), by hand.
	v, _ := fretLayout(t, "six", Head{Style: unit.Millimetre})
	for n, want := range map[int]string{1: "35.92 mm", 5: "160.54 mm", 12: "320.00 mm"} {
		it, ok := v.s.Find(fmt.Sprintf("from-nut-%d", n))
		if got := it.Shape.(drawing.Text).String; !ok || got != want {
			t.Errorf("fret %d: %q, want %q", n, got, want)
		}
	}
}

func TestDotsStandMidway(t *testing.T) {
	v, _ := fretLayout(t, "six", head)
	at := func(n int) float64 { return 640 * (1 - math.Exp2(-float64(n)/12)) } // source: as above
	face, side := v.circles("dot"), v.circles("side-dot")
	reftest.Near(t, "first dot, on the centreline", face[0][1], 0, 1e-9)
	reftest.Near(t, "first dot, between frets 2 and 3", face[0][0], (at(2)+at(3))/2, 1e-6)
	reftest.Near(t, "first side dot", side[0][0], (at(2)+at(3))/2, 1e-6)
	// 3, 5, 7, 9, a pair at 12, then 15, 17, 19 on 20 frets. source: common practice, no source.
	if len(face) != 9 || len(side) != 9 {
		t.Errorf("%d dots and %d side dots, want 9 each", len(face), len(side))
	}
}

func TestBoardsEndsHaveTheirRadius(t *testing.T) {
	// An arc of radius R over a chord w rises R - sqrt(R² - w²/4) in its middle. source: by hand.
	v, b := fretLayout(t, "six", head)
	for _, end := range []string{"nut", "end"} {
		face := v.points(end + "-section-face")
		w := face[len(face)-1][0] - face[0][0]
		reftest.Near(t, end+" width", w, v.long(end+"-width"), 1e-9)
		R := b.NutRadius.MM()
		reftest.Near(t, end+" rise", face[len(face)/2][1]-face[0][1], R-math.Sqrt(R*R-w*w/4), 1e-9)
	}
	reftest.Near(t, "width at the nut", v.long("nut-width"), 44, 1e-9)
	// A compound board: 300 mm at the nut, 500 mm at the end.
	v, _ = fretLayout(t, "two scales", head)
	for end, R := range map[string]float64{"nut": 300, "end": 500} {
		face := v.points(end + "-section-face")
		w := face[len(face)-1][0] - face[0][0]
		rise := face[len(face)/2][1] - face[0][1]
		// The radius a gauge reads there; the cone's slant changes it by less than a thousandth.
		reftest.Near(t, end+" radius", (w*w/4+rise*rise)/(2*rise), R, 0.001*R)
	}
}

func jointInput(t testing.TB, b neckset.Build) JointInput {
	return JointInput{Build: b, Target: target(t, b), Heel: heels["usual"], TenonLength: mm(14), Frets: 20}
}

func TestJointSideIsFullSize(t *testing.T) {
	v := seen{t, JointSide(jointInput(t, workedBuild()), Head{Style: unit.Millimetre})}
	// source: independent calculation, worked case (mm, degrees): the case of the reduced side view.
	const gap, saddle, angle, topD = 8.689465667499565, 283.7239949323472, 1.134158385877908, 4.027527182706763
	for name, want := range map[string]float64{"gap": gap, "saddle-distance": saddle, "top-at-saddle": topD, "bridge-thickness": 8.5, "saddle-projection": 3,
		"frets-at-joint": 6 + 1.1, "heel-height": 88} {
		reftest.Near(t, name, v.long(name), want, reftest.WorkedCase)
	}
	x1, y1, x2, y2 := v.line("straight-edge")
	reftest.Near(t, "neck angle", math.Atan2(y2-y1, x2-x1)*180/math.Pi, angle, 1e-6)
	reftest.Near(t, "straight edge ends over the saddle", x2, saddle, reftest.WorkedCase)
	top := v.points("top")
	reftest.Near(t, "top at the joint is the datum", math.Hypot(top[0][0], top[0][1]), 0, 1e-9)
	str := v.points("string")
	reftest.Near(t, "saddle's top", str[1][1], topD+8.5+3, reftest.WorkedCase)
	if x, _, _, _ := v.line("body-end"); math.Abs(x) > 1e-9 {
		t.Errorf("the body ends at %v, not at the datum", x)
	}
}

func TestJointSideCutShortStillSaysTheGap(t *testing.T) {
	b := builds()["long10"]
	s := JointSide(jointInput(t, b), Head{Style: unit.Millimetre})
	v := seen{t, s}
	if len(v.all("gap")) > 0 || len(v.all("bridge")) > 0 {
		t.Error("a saddle beyond the sheet is drawn")
	}
	// The dimension at the cut is the straight edge over the drawn top there.
	x, y, _, edge := v.line("straight-edge")
	_, _, x2, _ := v.line("straight-edge")
	top := v.points("top")
	last := top[len(top)-1]
	reftest.Near(t, "cut", last[0], x2, 1e-9)
	reftest.Near(t, "line over the top", v.long("line-over-top"), edge-last[1], 1e-9)
	if tg := target(t, b); math.Abs(y-(b.FretLine(mm(x), tg)).MM()) > 1e-6 {
		t.Error("the straight edge does not lie on the frets' line")
	}
	if !strings.Contains(v.words(), "Cut short") {
		t.Error("nothing says that the view is cut short")
	}
}

func TestJigRisesByTheAngle(t *testing.T) {
	tg := target(t, workedBuild())
	// source: independent calculation, worked case: 1.134158385877908°; rise = run tan(angle), by hand.
	tan := math.Tan(1.134158385877908 * math.Pi / 180)
	for _, run := range []float64{0, 50, 200, 300, 600} {
		s := JigTemplate(JigInput{Target: tg, Run: mm(run)}, Head{Style: unit.Millimetre})
		v := seen{t, s}
		long := run
		if long == 0 {
			long = 300
		}
		reftest.Near(t, "run", v.long("run"), long, 1e-9)
		reftest.Near(t, "rise", v.long("rise"), long*tan, 1e-6)
		wedge := v.points("wedge")
		reftest.Near(t, "wedge's thick end", wedge[2][1]-wedge[1][1], long*tan, 1e-6)
		_, y1, _, y2 := v.line("height-1")
		x, _, _, _ := v.line("height-1")
		reftest.Near(t, "height on the way", y2-y1, x*tan, 1e-6)
		x1, y1, x2, y2 := v.line("bevel-heel")
		reftest.Near(t, "bevel", math.Atan2(y2-y1, x2-x1)*180/math.Pi, 90-1.134158385877908, 1e-6)
	}
}

func plan(t testing.TB, k fastening.Kind) (fastening.Plan, fastening.PlanInput) {
	t.Helper()
	in := fastening.PlanInput{Kind: k, Drill: fastening.DrillInput{Thread: "1/4-20 UNC", SpecificGravity: 0.49, Fit: "normal"}, Bite: mm(24), Out: mm(6), Block: mm(20),
		Barrel: fastening.UsualBarrel(), Insert: fastening.Insert{Outer: mm(12), Root: mm(10), Length: mm(15)}, Screw: "#12", Depths: []unit.Length{mm(31.75), mm(57.15)}, HeelHeight: mm(88), HolderWidth: mm(20)}
	p, _, err := fastening.PlanJoint(in)
	if err != nil {
		t.Fatal(err)
	}
	return p, in
}

func joineryInput(t testing.TB, k fastening.Kind) JoineryInput {
	p, in := plan(t, k)
	return JoineryInput{Bolts: BoltInput{Heel: heels["usual"], TenonWidth: mm(20), Depths: in.Depths}, Plan: p, Barrel: in.Barrel, TenonLength: mm(14), Block: in.Block, Caution: "Clamp the work."}
}

func TestBothPartsAreMeasuredFromTheSameEdge(t *testing.T) {
	in := joineryInput(t, fastening.KindHanger)
	for _, s := range []*drawing.Sheet{Joinery(in, head), DrillTemplate(in, head)} {
		v := seen{t, s}
		pilots, clears := v.circles("pilot"), v.circles("clearance")
		if len(pilots) != 2 || len(clears) != 2 {
			t.Fatalf("%s: %d holes in the heel, %d in the body", s.Title, len(pilots), len(clears))
		}
		for i, want := range []float64{31.75, 57.15} { // what the design says, in mm
			reftest.Near(t, "hole in the heel under the edge", -pilots[i][1], want, 1e-9)
			reftest.Near(t, "hole in the body under the edge", -clears[i][1], want, 1e-9)
			reftest.Near(t, "hole on the heel's centreline", pilots[i][0], 0, 1e-9)
			for _, part := range []string{"heel", "body"} {
				name := fmt.Sprintf("%s-bolt-%d", part, i+1)
				_, y1, _, y2 := v.line(name)
				reftest.Near(t, name+" starts at the edge", math.Max(y1, y2), 0, 1e-9)
				reftest.Near(t, name, math.Abs(y1-y2), want, 1e-9)
			}
			// source: ASME B18.2.8, 1/4 in, normal fit: 9/32 in.
			reftest.Near(t, "clearance hole", 2*clears[i][2], 9.0/32*25.4, 1e-6)
		}
	}
	v := seen{t, DrillTemplate(in, head)}
	for _, part := range []string{"heel", "body"} {
		x1, y1, x2, y2 := v.line(part + "-fold")
		if y1 != 0 && math.Abs(y1) > 1e-9 || math.Abs(y2) > 1e-9 || x2-x1 < 58 {
			t.Errorf("the %s's fold does not lie along the top edge", part)
		}
		_, y := v.points(part + "-template")[0][0], v.points(part + "-template")[0][1]
		if y < 15 {
			t.Errorf("the %s's flap is only %v mm", part, y)
		}
	}
	for _, want := range []string{"fold", "HEEL", "BODY END", "right through", "stop at", "Clamp the work."} {
		if !strings.Contains(v.words(), want) {
			t.Errorf("the template does not say %q", want)
		}
	}
}

func TestJoineryIsFullSize(t *testing.T) {
	in := joineryInput(t, fastening.KindHanger)
	v := seen{t, Joinery(in, head)}
	heelHole, _ := in.hole("heel")
	for name, want := range map[string]float64{"heel-height": 88, "heel-width-top": 58, "heel-width-cap": 32, "tenon-width": 20, "tenon-length": 14, "stop-depth": heelHole.Depth.MM(),
		"mortise-width": 20, "mortise-depth": 14, "block-thickness": 20} {
		reftest.Near(t, name, v.long(name), want, 1e-9)
	}
	// The drawn hole is as deep as the stop: thread 24 mm, point 5/8 of 1/4 in, 2 mm of room.
	// source: NDS 2018, Table L2, tip E (from memory); room: common practice, no source.
	hole := v.points("pilot-side")
	reftest.Near(t, "drawn hole", hole[0][0]-hole[1][0], 24+0.625*6.35+2, 1e-6)
	// What was measured at the bench takes the place of the plan.
	in.MortiseWidth, in.MortiseDepth = mm(20.4), mm(15.5)
	v = seen{t, Joinery(in, head)}
	reftest.Near(t, "measured mortise width", v.long("mortise-width"), 20.4, 1e-9)
	reftest.Near(t, "measured mortise depth", v.long("mortise-depth"), 15.5, 1e-9)
}

func TestBarrelsCrossTheHeelOnTheBoltsLine(t *testing.T) {
	in := joineryInput(t, fastening.KindBarrel)
	v := seen{t, Joinery(in, head)}
	cross := v.circles("cross")
	if len(cross) != 2 {
		t.Fatalf("%d barrels, want 2", len(cross))
	}
	end := 0.0
	for _, p := range v.points("tenon-side") {
		end = math.Max(end, p[0])
	}
	for i, want := range []float64{31.75, 57.15} {
		reftest.Near(t, "barrel under the edge", -cross[i][1], want, 1e-9)
		reftest.Near(t, "barrel from the tenon's end", end-cross[i][0], 30, 1e-9)
	}
	reftest.Near(t, "barrel dimension", v.long("barrel-set"), 30, 1e-9)
	if !strings.Contains(v.words(), "hole across the heel for the barrel") {
		t.Error("nothing says how the barrel's hole is drilled")
	}
}

func TestBassAndTrebleChangeSidesWithTheView(t *testing.T) {
	// Looking at the heel from the body treble is on the right, looking at the body from the neck on the left; a
	// left-handed guitar is the mirror image. source: the package comment's vectors.
	for _, left := range []bool{false, true} {
		h := head
		h.Left = left
		for _, s := range []*drawing.Sheet{Joinery(joineryInput(t, fastening.KindHanger), h), DrillTemplate(joineryInput(t, fastening.KindHanger), h)} {
			var order []string
			for {
				best, at := "", math.Inf(1)
				for _, it := range s.Parts() {
					x, ok := it.Shape.(drawing.Text)
					if !ok || x.String != "BASS" && x.String != "TREBLE" {
						continue
					}
					if c := float64(x.Box().Left); c < at && (len(order) == 0 || c > lastAt(s, len(order))) {
						best, at = x.String, c
					}
				}
				if best == "" {
					break
				}
				order = append(order, best)
			}
			want := "BASS TREBLE TREBLE BASS"
			if left {
				want = "TREBLE BASS BASS TREBLE"
			}
			if got := strings.Join(order, " "); got != want {
				t.Errorf("%s, left %v: %s, want %s", s.Title, left, got, want)
			}
		}
	}
}

// lastAt is where the n-th word BASS or TREBLE from the left begins.
func lastAt(s *drawing.Sheet, n int) float64 {
	at := math.Inf(-1)
	for range n {
		next := math.Inf(1)
		for _, it := range s.Parts() {
			if x, ok := it.Shape.(drawing.Text); ok && (x.String == "BASS" || x.String == "TREBLE") {
				if c := float64(x.Box().Left); c > at && c < next {
					next = c
				}
			}
		}
		at = next
	}
	return at
}

// Whatever a guitar is like, words keep apart and on the page.
func TestFullSizeSheetsOfAnyGuitarAreWellSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		length := func(name string, lo, hi float64) unit.Length { return mm(num(name, lo, hi)) }
		h := Head{Guitar: "Marsh Wren", Date: "2026-03-02", Style: rapid.SampledFrom(spoken()).Draw(t, "style"), Left: rapid.Bool().Draw(t, "left")}
		board := fretting.Board{BassScale: length("bass", 300, 900), Frets: rapid.IntRange(10, 30).Draw(t, "frets"), NutWidth: length("nut", 30, 70)}
		board.TrebleScale = board.BassScale
		if rapid.Bool().Draw(t, "multi") {
			board.TrebleScale -= length("shorter", 1, 50)
			board.PerpendicularFret = num("square", 0, 12)
		}
		board.Width = board.NutWidth + length("wider", 0, 20)
		n := rapid.IntRange(1, 12).Draw(t, "strings")
		if n == 1 {
			board.TrebleScale = board.BassScale
		}
		for range n {
			board.Gauges = append(board.Gauges, mm(0.5))
		}
		board.AtNut.Spread, board.AtSaddle.Spread = board.NutWidth*0.8, board.Width*0.9
		if rapid.Bool().Draw(t, "radius") {
			board.NutRadius, board.EndRadius = length("r1", 200, 500), length("r2", 200, 700)
		}
		if rapid.Bool().Draw(t, "cut") {
			board.Length = board.BassScale * unit.Length(num("length", 0.4, 0.8))
		}
		if l, _, err := board.Lay(); err == nil {
			marks := fretting.Usual()
			if n == 4 {
				marks = fretting.Small()
			}
			wellSet(t, FretLayout(FretInput{Layout: l, Dots: marks, Thickness: length("thick", 3, 10)}, h))
		}

		heel := neckset.Heel{Height: length("heel", 40, 130), WidthTop: length("top", 15, 80)}
		heel.WidthCap = heel.WidthTop * unit.Length(num("cap", 0.3, 1))
		tenon := length("tenon", 0, 60)
		b := neckset.Build{ScaleLength: board.BassScale, JointFret: rapid.IntRange(10, 22).Draw(t, "joint"), SaddleSetback: length("setback", -1, 10), JointOffset: length("offset", -15, 15),
			BoardThickness: length("board", 3, 10), FretCrown: length("crown", 0.5, 1.8), NeckProud: length("proud", -5, 15), Relief: length("relief", -0.3, 1), BridgeThickness: length("bridge", 4, 15),
			SaddleProjection: length("saddle", 0.5, 8), NutHeight: length("over", 0, 3), Action12: length("action", 0.5, 6)}
		if rapid.Bool().Draw(t, "dome") {
			b.Top = neckset.Top{Radius: length("dome radius", 2000, 30000), Apex: length("apex", 0, 600)}
		}
		if tg, _, err := b.Target(); err == nil {
			wellSet(t, JointSide(JointInput{Build: b, Target: tg, Heel: heel, TenonLength: tenon, Frets: board.Frets}, h))
			wellSet(t, JigTemplate(JigInput{Target: tg, Run: length("run", 50, 1000)}, h))
		}

		in := fastening.PlanInput{Kind: rapid.SampledFrom(fastening.Kinds()).Draw(t, "kind"), Drill: fastening.DrillInput{Thread: rapid.SampledFrom(fastening.Threads()).Draw(t, "thread").Name, SpecificGravity: num("gravity", 0.25, 1.2)},
			Bite: length("bite", 5, 60), Out: length("out", 0, 20), Insert: fastening.Insert{Outer: mm(12), Root: mm(10), Length: length("insert", 5, 40)},
			Barrel: fastening.Barrel{Diameter: length("barrel", 5, 13), Length: length("barrel length", 8, 60), Set: length("set", 8, 120)}, Screw: "#12", HolderWidth: tenon}
		for range rapid.IntRange(0, fastening.MostBolts).Draw(t, "bolts") {
			in.Depths = append(in.Depths, length("depth", 5, 120))
		}
		if rapid.Bool().Draw(t, "block") {
			in.Block = length("block thickness", 2, 100)
		}
		p, _, err := fastening.PlanJoint(in)
		if err != nil {
			return
		}
		j := JoineryInput{Bolts: BoltInput{Heel: heel, TenonWidth: tenon, Depths: in.Depths}, Plan: p, Barrel: in.Barrel, TenonLength: length("tenon length", 0, 60), Block: in.Block,
			Proud: b.NeckProud, Caution: "Clamp the work, and keep the dust out of your lungs."}
		if rapid.Bool().Draw(t, "measured") {
			j.MortiseWidth, j.MortiseDepth = length("mortise", 5, 65), length("mortise depth", 3, 80)
		}
		wellSet(t, Joinery(j, h))
		wellSet(t, DrillTemplate(j, h))
	})
}

func TestGoldenFullSize(t *testing.T) {
	h := head
	h.Style = unit.Millimetre
	golden(t, "full-frets", FretLayout(FretInput{Layout: lay(t, boards()["two scales"]), Dots: fretting.Usual(), Thickness: mm(6)}, h))
	golden(t, "full-side", JointSide(jointInput(t, workedBuild()), head))
	golden(t, "full-jig", JigTemplate(JigInput{Target: target(t, workedBuild())}, h))
	golden(t, "full-heel", Joinery(joineryInput(t, fastening.KindHanger), head))
	golden(t, "full-drill-template", DrillTemplate(joineryInput(t, fastening.KindHanger), head))
}

func BenchmarkFretLayout(b *testing.B) {
	in := FretInput{Layout: lay(b, boards()["two scales"]), Dots: fretting.Usual(), Thickness: mm(6)}
	b.ReportAllocs()
	for b.Loop() {
		FretLayout(in, head)
	}
}
