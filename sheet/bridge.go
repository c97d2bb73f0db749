package sheet

import (
	"fmt"
	"math"

	"fairset/drawing"
	"fairset/unit"
)

// BridgeInput is where a saddle stands on one guitar as it is. "Along" is from where the nut crosses the centreline.
type BridgeInput struct {
	FromNut    unit.Length // of the saddle line, along the centreline
	NutToJoint unit.Length // as measured with the neck bolted up
	Planned    unit.Length // the same as designed; 0: not known
	Slope      float64     // of the saddle line: along over across

	// Of the strings, bass first; empty when they are not known.
	Names  []string
	Across []unit.Length // from the centreline, + treble
	Along  []unit.Length // where each would break over the saddle
	Wanted unit.Length   // how far behind FromNut the strings would have the line
	Blank  unit.Length   // width of a compensated saddle; 0: only its line is drawn

	// Of the bridge; zeros where it is not known.
	Width, Depth unit.Length // across the top, along it
	Front        unit.Length // front edge to the saddle line, on the centreline
	PinsBehind   unit.Length // 0: no pins
	PinSpread    unit.Length // 0: as the strings

	Read    string // day the nut was measured from the body's edge; "" leaves it away
	Caution string // in the reader's language
}

// Sizes of the bridge sheet in mm.
const (
	bridgeWhole = 130.0 // a saddle nearer the body's edge than this is drawn with it
	bridgeAhead = 15.0  // least from the rule line to what lies behind it
	bridgeReach = 40.0  // half the rule line where no bridge is wider
	bridgeWood  = 3.0   // from the middle of saddle or pin to the bridge's edge, at least; common practice, no source
)

// BridgePlace draws the saddle and its bridge at full size, neck up, as they lie on this guitar's top: the line of the
// saddle, where each string breaks over it, pins, outline and centreline. What is too far off to be drawn, body's edge and
// nut, is cut away at a break line, and a rule line stands at a round figure from the body's edge instead, so that the paper
// can be placed with a rule.
//
// The zero is where the saddle line crosses the centreline. Circles "point-1" and so on (string 1 is the bass) and "pin-1" are
// to full size, Lines "saddle-line", "rule-line" and, on a small guitar, "body-edge" too; "bridge" is the outline, "blank" the
// saddle's. The dimension line "rule-to-saddle" runs along the centreline.
func BridgePlace(h Head, in BridgeInput) *drawing.Sheet {
	f := newFull(h, "Bridge and saddle")
	f.sheet.LayerNames = map[drawing.Layer]string{drawing.LayerCut: "outline", drawing.LayerScore: "saddle", drawing.LayerDrill: "pins"}
	treble := 1.0 // looking down on the top, neck up
	if h.Left {
		treble = -1
	}
	zero := in.FromNut.MM()
	toEdge := zero - in.NutToJoint.MM()
	X := func(across float64) float64 { return treble * across }
	Y := func(behind float64) float64 { return -behind } // behind the saddle line's middle
	n := min(len(in.Across), len(in.Along))
	behind := func(i int) float64 { return in.Along[i].MM() - zero }

	reach, front, back := bridgeReach, 6.0, 10.0
	half := 30.0 // of the saddle line
	for i := range n {
		half = math.Max(half, math.Abs(in.Across[i].MM())+8)
	}
	tilt := math.Hypot(1, in.Slope)
	slanted := half*math.Abs(in.Slope) + in.Blank.MM()*tilt/2
	front, back = math.Max(front, slanted), math.Max(back, slanted)
	for i := range n {
		front, back = math.Max(front, -behind(i)), math.Max(back, behind(i)+4)
	}
	if in.Width > 0 {
		reach = math.Max(reach, in.Width.MM()/2)
		front, back = math.Max(front, in.Front.MM()), math.Max(back, in.Depth.MM()-in.Front.MM())
	}
	reach = math.Max(reach, half)
	if in.PinsBehind > 0 {
		back = math.Max(back, in.PinsBehind.MM()+half*math.Abs(in.Slope)+3)
		reach = math.Max(reach, in.PinSpread.MM()/2+4)
	}

	// The rule line stands at a round figure from the body's edge.
	step := 10.0
	if !h.Style.Metric() {
		step = 12.7
	}
	rule := math.Floor((toEdge-front-bridgeAhead)/step) * step
	whole := toEdge <= bridgeWhole || rule <= 0
	if rule <= 0 {
		rule = 0
	}
	ruleY := Y(rule - toEdge)
	ruleFromNut := mm(in.NutToJoint.MM() + rule)
	ruleSays := drawing.Wrap(f.say("Rule line: %s from the body's edge, %s from the nut", nb(mm(rule).Exact(h.Style)), nb(ruleFromNut.Exact(h.Style))), mm(small), true, mm(2*reach))
	top := ruleY + 6 + float64(len(ruleSays))*small*1.32
	if whole {
		top = Y(-toEdge) + 8
	}

	// Bridge, saddle, strings.
	if in.Width > 0 {
		w := in.Width.MM() / 2
		f.rect(drawing.LayerCut, "bridge", "", -w, Y(in.Depth.MM()-in.Front.MM()), w, Y(-in.Front.MM()))
	}
	at := func(across, off float64) drawing.Point { return pt(X(across), Y(in.Slope*across+off*tilt)) }
	if in.Blank > 0 {
		b := in.Blank.MM() / 2
		f.polygon(drawing.LayerWood, "blank", "", at(-half+3, -b), at(half-3, -b), at(half-3, b), at(-half+3, b))
	}
	f.line(drawing.LayerDatum, "centre", 0, top, 0, Y(back+8)).Pen.Tone = drawing.Ink
	a, b := at(-half, 0), at(half, 0)
	f.add(drawing.Item{Layer: drawing.LayerScore, Name: "saddle-line", Shape: drawing.Line{From: a, To: b}}).Pen.Weight = mm(0.35)
	xs, names := make([]float64, n), make([]string, n)
	spread := 0.0
	if n > 1 {
		spread = math.Abs(in.Across[n-1].MM() - in.Across[0].MM())
	}
	pinAcross := func(across float64) float64 {
		if in.PinSpread > 0 && spread > 0 {
			return across * in.PinSpread.MM() / spread
		}
		return across
	}
	for i := range n {
		across := in.Across[i].MM()
		xs[i], names[i] = X(across), fmt.Sprint(i+1)
		if i < len(in.Names) && in.Names[i] != "" {
			names[i] = in.Names[i]
		}
		x, y := xs[i], Y(behind(i))
		f.line(drawing.LayerString, "string", x, ruleY-6, x, y).Pen.Weight = mm(0.2)
		f.circle(drawing.LayerMark, fmt.Sprintf("point-%d", i+1), drawing.Paper, x, y, 0.9)
		f.line(drawing.LayerMark, "", x-1.6, y, x+1.6, y).Pen.Weight = mm(0.2)
		if in.PinsBehind > 0 {
			px := pinAcross(across)
			py := Y(in.Slope*across + in.PinsBehind.MM())
			f.circle(drawing.LayerDrill, fmt.Sprintf("pin-%d", i+1), drawing.Paper, X(px), py, 1.2)
			f.line(drawing.LayerDrill, "", X(px)-2, py, X(px)+2, py).Pen.Weight = mm(0.2)
			f.line(drawing.LayerDrill, "", X(px), py-2, X(px), py+2).Pen.Weight = mm(0.2)
		}
	}

	// What a bridge must have wood round, as far as it lies outside or nearer the edge than a chisel leaves it whole.
	saddle, pins := false, false
	if in.Width > 0 {
		off := func(across, back float64) bool {
			return math.Abs(across) > in.Width.MM()/2-bridgeWood || back < -in.Front.MM()+bridgeWood || back > in.Depth.MM()-in.Front.MM()-bridgeWood
		}
		for i := range n {
			y := in.Across[i].MM()
			saddle = saddle || off(y, behind(i)) || off(y, in.Slope*y)
			if in.PinsBehind > 0 {
				pins = pins || off(pinAcross(y), in.Slope*y+in.PinsBehind.MM())
			}
		}
	}

	// Rule line, and what lies beyond it.
	f.line(drawing.LayerDatum, "rule-line", -reach, ruleY, reach, ruleY).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.35), Dash: []unit.Length{}}
	for _, x := range []float64{-reach, reach} {
		f.line(drawing.LayerMark, "", x, ruleY-2.5, x, ruleY+2.5)
	}
	if rule > 0 {
		for i, l := range ruleSays {
			t := label(0, ruleY+1.6+float64(len(ruleSays)-1-i)*small*1.32, small, drawing.Middle, l)
			t.Bold, t.Halo = true, drawing.Paper
			f.text("rule-line-text", t)
		}
	}
	if whole {
		y := Y(-toEdge)
		if rule > 0 {
			f.line(drawing.LayerWood, "body-edge", -reach, y, reach, y).Pen.Weight = mm(0.5)
		}
		t := label(0, y+1.6, small, drawing.Middle, f.say("BODY'S EDGE: %s from the nut", nb(in.NutToJoint.Exact(h.Style))))
		t.Halo = drawing.Paper
		f.text("", t)
	} else {
		f.breakLine(-reach, top-2, reach, top-2)
		t := label(0, top+0.8, small, drawing.Middle, f.say("to the body's edge and the nut"))
		f.text("", t)
	}
	dx := -reach - 7
	if ruleY > 0 {
		d := dim(pt(-reach, ruleY), pt(-reach, 0), 90, pt(dx, 0), drawing.Text{})
		f.add(drawing.Item{Layer: drawing.LayerDim, Name: "rule-to-saddle", Shape: d})
		t := label(dx-1.2, ruleY/2, small, drawing.Middle, mm(ruleY).Exact(h.Style))
		t.Turn = 90 * unit.Degree
		f.text("rule-to-saddle-text", t)
	}
	y := math.Min(Y(back), 0) - 3
	if n > 0 {
		y = f.spreadWithin(-reach, reach, y-1, xs, names, true)
	}
	t := label(0, y-small, small, drawing.Middle, f.say("toward the tail"))
	t.Halo = drawing.Paper
	f.text("", t)
	f.sides(0, y-small, reach, treble, small, false)
	y -= small + 5

	f.sheet.Table = [][]string{unit.Texts{"What", "Across, + to treble", "From the nut", "From the body's edge"}.In(h.Style)}
	row := func(what string, across string, fromNut unit.Length) []string {
		return []string{what, across, fromNut.Exact(h.Style), (fromNut - in.NutToJoint).Exact(h.Style)}
	}
	f.sheet.Table = append(f.sheet.Table, row(f.say("Rule line"), "", ruleFromNut), row(f.say("Saddle line, on the centreline"), "0", in.FromNut))
	for i := range n {
		f.sheet.Table = append(f.sheet.Table, row(f.say("String %s", names[i]), in.Across[i].Exact(h.Style), in.Along[i]))
	}
	f.columns(-reach, y, f.sheet.Table)

	measured := f.say("Nut to body's edge: %s, as measured on this guitar, bolted up.", nb(in.NutToJoint.Exact(h.Style)))
	if in.Read != "" {
		measured = f.say("Nut to body's edge: %s, as measured on this guitar on %s, bolted up.", nb(in.NutToJoint.Exact(h.Style)), in.Read)
	}
	notes := []string{
		measured + " " + f.say("The saddle line is set out from that, never from the plan."),
		f.say("Draw the centreline on the top. Lay the paper's on it, with the rule line %s from the body's edge, measured on both sides, and prove it from the nut: %s to the saddle line.", nb(mm(rule).Exact(h.Style)), nb(in.FromNut.Exact(h.Style))),
	}
	careful := func(said unit.Text) {
		notes = append(notes, f.say(said, nb(mm(bridgeWood).In(h.Style)))+" "+f.say("Make the bridge larger, or turn it to the saddle."))
	}
	switch {
	case saddle && pins:
		careful("Careful: the saddle and the pins would come nearer the bridge's edge than %s, or past it.")
	case saddle:
		careful("Careful: the saddle would come nearer the bridge's edge than %s, or past it.")
	case pins:
		careful("Careful: the pins would come nearer the bridge's edge than %s, or past it.")
	}
	if d := in.NutToJoint - in.Planned; in.Planned > 0 && d.Abs() >= 0.05*unit.MM {
		say := unit.Text("The nut stands %s farther from the body's edge than the plan had it.")
		if d < 0 {
			say = "The nut stands %s nearer the body's edge than the plan had it."
		}
		notes = append(notes, f.say(say, nb(d.Abs().Fine(h.Style))))
	}
	switch {
	case n == 0:
		notes = append(notes, f.say("The design does not say what the strings are, so the line is drawn square to the centreline and no string has its own point."))
	case in.Wanted.Abs() >= 0.25*unit.MM:
		say := unit.Text("Rings: where each string would like to break. They would have the line %s behind the one drawn, which goes by the setback typed in the design.")
		if in.Wanted < 0 {
			say = "Rings: where each string would like to break. They would have the line %s in front of the one drawn, which goes by the setback typed in the design."
		}
		notes = append(notes, f.say(say, nb(in.Wanted.Abs().Fine(h.Style))))
	default:
		notes = append(notes, f.say("Rings: where each string would like to break over the saddle."))
	}
	slant := math.Atan(math.Abs(in.Slope)) * 180 / math.Pi
	switch {
	case slant < 0.005:
	case in.Slope < 0:
		notes = append(notes, f.say("The saddle turns %.2f°: its bass end stands farther back.", slant))
	default:
		notes = append(notes, f.say("The saddle turns %.2f°: its treble end stands farther back.", slant))
	}
	if in.Width <= 0 {
		notes = append(notes, f.say("The design does not give the bridge's own sizes, so its outline is not drawn."))
	}
	if in.Caution != "" {
		notes = append(notes, in.Caution)
	}
	f.sheet.Desc = f.say("The saddle and its bridge on the top, from above, neck up. Saddle line %s from the nut and %s from the body's edge, on the centreline. Rule line %s from the body's edge.",
		in.FromNut.Exact(h.Style), mm(toEdge).Exact(h.Style), mm(rule).Exact(h.Style)) + " " + plain(notes[2:])
	return f.done("where the saddle line crosses the centreline", notes...)
}

// columns writes a table with its header at (x, y) and returns the y under it. The first column runs from the left, the others
// end at their right.
func (f *full) columns(x, y float64, rows [][]string) float64 {
	if len(rows) == 0 {
		return y
	}
	const between = 6.0
	widths := make([]float64, len(rows[0]))
	for r, row := range rows {
		for i, s := range row {
			widths[i] = math.Max(widths[i], width(s, small, r == 0))
		}
	}
	for r, row := range rows {
		y -= small * 1.4
		left := x
		for i, s := range row {
			t := label(left, y, small, drawing.Start, s)
			if i > 0 {
				t.At.X, t.Anchor = mm(left+widths[i]), drawing.End
			}
			t.Bold = r == 0
			f.text("table", t)
			left += widths[i] + between
		}
		if r == 0 {
			f.line(drawing.LayerDim, "", x, y-1.3, left-between, y-1.3)
			y -= 1
		}
	}
	return y - small*0.4
}
