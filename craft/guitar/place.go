package guitar

import (
	"math"

	"fairset/craft/fretting"
	"fairset/unit"
)

const groupBridgeShape = "Bridge outline and pins"

// bridgeFields describe a bridge made or bought; without them its outline is not drawn.
func bridgeFields() []Field {
	return []Field{
		length("bridge_across", "bridge across the top", groupBridgeShape, 30, 260, 0, "From wing to wing. Without it the bridge sheet has no outline, and the braces go by an ordinary bridge."),
		length("bridge_along", "bridge along the top", groupBridgeShape, 8, 60, 0, "From its front edge to its back edge, on the centreline."),
		length("bridge_front", "bridge's front edge to the saddle line", groupBridgeShape, 1, 50, 0, "On the centreline, toward the nut."),
		length("pins_behind", "pins behind the saddle line", groupBridgeShape, 2, 45, 0, "From each string's place on the saddle line to the middle of its pin. Leave empty for a bridge without pins."),
		length("pin_spread", "outer pins apart", groupBridgeShape, 0, 180, 0, "Middle to middle. Leave empty for pins that stand as the strings do at the saddle."),
	}
}

// BridgeShape is a bridge as its maker made it; zeros where the design does not say.
type BridgeShape struct {
	Across, Along unit.Length
	Front         unit.Length // front edge to the saddle line, on the centreline
	PinsBehind    unit.Length // 0: no pins
	PinSpread     unit.Length // 0: as the strings
}

// BridgeShapeOf reads the bridge's own figures. Those of the outline belong together: with one of them missing
// it has none.
func BridgeShapeOf(d Values) BridgeShape {
	b := BridgeShape{PinsBehind: d.Length("pins_behind"), PinSpread: d.Length("pin_spread")}
	if d.Has("bridge_across") && d.Has("bridge_along") && d.Has("bridge_front") && d.Length("bridge_front") < d.Length("bridge_along") {
		b.Across, b.Along, b.Front = d.Length("bridge_across"), d.Length("bridge_along"), d.Length("bridge_front")
	}
	return b
}

// NotYet says what must be done at the bench before something can be worked out.
type NotYet struct{ Say unit.Phrase }

func (e *NotYet) Error() string { return e.In(unit.Millimetre) }

// In writes the error for a maker.
func (e *NotYet) In(s unit.Style) string { return e.Say.In(s) }

// CutAsked returns the cut to make now. When there is none the error is a *NotYet that says why, and what to
// read first.
func (b Bench) CutAsked() (NextCut, error) {
	st := b.Step(StepCut)
	if b.Cut != nil && st.Status == Working && !b.Cut.TooDeep && b.Cut.Cut.Planned.Deepest() > 0 {
		return *b.Cut, nil
	}
	why := st.Advice.Do
	if why.Empty() {
		why = unit.Say("Read the lean and where the neck points first.")
	}
	if b.Cut != nil && b.Cut.Cut.Leave && st.Status == Done {
		why = unit.Join(unit.Say("No cut is wanted now."), why)
	} else {
		why = unit.Join(unit.Say("There is no cut to draw yet."), why)
	}
	return NextCut{}, &NotYet{unit.Join(why, st.Advice.Why)}
}

// SaddlePoint is where one string meets the saddle on this guitar.
type SaddlePoint struct {
	Name    string
	Across  unit.Length // from the centreline, + treble
	FromNut unit.Length // along the centreline, from where the nut crosses it
}

// SaddlePlace is where the saddle stands on one guitar as it is, not as it was drawn. Along is along the
// centreline, from where the nut crosses it.
type SaddlePlace struct {
	NutToJoint unit.Length   // as measured, bolted up
	Planned    unit.Length   // the same as the design has it; 0 for a repair
	FromNut    unit.Length   // of the saddle line, on the centreline
	FromJoint  unit.Length   // the same, from the body's edge
	Slope      float64       // of the saddle line: along over across; usually negative, the bass end standing farther back
	Points     []SaddlePoint // each string's own best place, bass first; nil when the strings are not known
	Blank      unit.Length   // width of a compensated saddle, square across it; 0 for a straight one
	// Wanted is how far behind FromNut the strings would have the line: 0 when it goes by them, or they are not known.
	Wanted unit.Length
}

// leastJointToSaddle is nearer the body's edge than any saddle: the shortest scale leaves 84 mm behind fret 22, less
// what the joint may be off.
const leastJointToSaddle = 60 * unit.MM

// SaddlePlace works out where the saddle goes from the last nut-to-body reading. It is never taken from the
// plan: without a reading, or when wood came off heel or seat after it, the error is a *NotYet. Strings that
// are not known, or lack a figure, leave Points empty and the line square to the centreline; errors of the
// strings are Problems.
func (g Guitar) SaddlePlace() (SaddlePlace, error) {
	e, ok := g.Last(StepBridge)
	if !ok {
		return SaddlePlace{}, &NotYet{unit.Say("Bolt the neck up and measure from the nut to the body's edge first: the saddle is never placed from the plan.")}
	}
	d := g.Design()
	if a, stale := g.replay(d, untaught.ReadingSD(g.ID)).staleJoint(e.Seq); stale {
		return SaddlePlace{}, &NotYet{unit.Join(a.Do, a.Why)}
	}
	out := SaddlePlace{NutToJoint: e.Values.Length("nut_to_joint")}
	out.FromNut, out.FromJoint = SaddleLine(d, out.NutToJoint)
	if out.FromJoint < leastJointToSaddle {
		return SaddlePlace{}, &NotYet{unit.Say("The nut was measured %v from the body's edge, which would leave %v from there to the saddle: measure again, bolted up.", out.NutToJoint, out.FromJoint)}
	}
	if g.Start == FromReadings {
		return out, nil
	}
	if t, _, err := Build(d).Target(); err == nil {
		out.Planned = t.NutToJoint
	}
	if !HasStrings(d) || !d.Has("saddle_spread") {
		return out, nil
	}
	in, err := IntonationOf(d)
	if err != nil {
		return SaddlePlace{}, err
	}
	runs, err := runsOf(d, in)
	if err != nil {
		return SaddlePlace{}, err
	}
	out.Slope, out.Blank = in.Straight.Slope, 0
	if in.SaddleKind == SaddleCompensated {
		out.Slope, out.Blank = in.Compensated.Slope, in.Compensated.Blank
	}
	if n := len(runs); n > 1 && runs[n-1].across != runs[0].across {
		out.Slope += float64(runs[n-1].saddle-runs[0].saddle) / float64(runs[n-1].across-runs[0].across)
	}
	for i, r := range runs {
		out.Points = append(out.Points, SaddlePoint{Name: in.List[i].Name, Across: r.across, FromNut: r.saddle + in.own(i)})
	}
	out.Wanted = in.Centre - Build(d).SaddleSetback
	return out, nil
}

// own is a string's own best place behind its scale length.
func (in Intonation) own(i int) unit.Length {
	if in.NutKind == NutCompensated {
		return in.NutAndSaddle[i].Saddle
	}
	return in.SaddleOnly[i].Saddle
}

// staleJoint tells whether wood came off between neck and body after an entry, which moves the nut.
func (t *track) staleJoint(seq int) (Advice, bool) {
	if t.cutSeq <= seq && t.seatSeq <= seq {
		return Advice{}, false
	}
	return Advice{Do: unit.Say("Measure from the nut to the body's edge again, bolted up."), Why: unit.Say("The joint was worked on since it was measured.")}, true
}

// run is one string's end at the saddle, without setback.
type run struct{ across, saddle unit.Length }

// runsOf are the strings' ends. A board of one scale ends square at the scale length.
func runsOf(d Values, in Intonation) ([]run, error) {
	out := make([]run, len(in.Across))
	for i, y := range in.Across {
		out[i] = run{y, in.Scales[i]}
	}
	if !multiScale(d) {
		return out, nil
	}
	plan, err := boardPlan(d, in.List)
	if err != nil {
		return nil, err
	}
	lay, _, err := plan.Lay()
	if err != nil {
		return nil, designError(d, err)
	}
	for i, r := range lay.Strings {
		out[i].saddle = r.Saddle.X
	}
	return out, nil
}

// SaddleCrown is one string's place on top of the saddle.
type SaddleCrown struct {
	Name   string
	Across unit.Length // from the centreline, + treble
	Over   unit.Length // underside of the string over the bridge's top
	Along  unit.Length // along the saddle, from where its middle crosses the centreline, + treble
	Behind unit.Length // break point from the saddle's middle, square across it, + away from the nut
	Wanted unit.Length // where the string would like its own, measured as Behind; the same on a compensated saddle
}

// Blanks is what the nut and the saddle are shaped to.
type Blanks struct {
	Board    Board           // with the nut's slots
	Saddle   []SaddleCrown   // bass first
	NutMoves []unit.Length   // of each string's edge toward fret 1; all 0 for a plain nut
	Radius   unit.Length     // of the saddle's top along it: the board's face carried on to it, cut at its slant; 0 for straight
	Slant    unit.Angle      // of the saddle, + when its treble end lies nearer the tail
	Blank    unit.Length     // width a compensated saddle needs; 0 for a straight one
	Played   fretting.Played // how the strings are to lie
}

// BlanksOf works out the nut and the saddle of a design.
//
//	over the bridge = projection + (h(i) - h) + drop(i)
//
// h(i) is the height over the fret line that gives string i its wanted action, h the same on the centreline for the
// mean action (neckset.Build.Target), and drop how far the board's face, carried on to the saddle, lies under its own
// centreline at the string (fretting.Surface.Height). The bridge's top is taken as level with the fret line over the
// few millimetres between the strings' places: within 0.1 mm for necks of up to 2° and places 3 mm apart.
//
// Errors are Problems naming the fields to fill or to mend. Source: derived in docs/method/setup.md.
func BlanksOf(d Values) (Blanks, error) {
	b, err := BoardOf(d)
	if err != nil {
		return Blanks{}, err
	}
	in, err := IntonationOf(d)
	if err != nil {
		return Blanks{}, err
	}
	runs, err := runsOf(d, in)
	if err != nil {
		return Blanks{}, err
	}
	build := Build(d)
	mean, _, err := build.Target()
	if err != nil {
		return Blanks{}, designError(d, err)
	}
	slope := in.Straight.Slope
	out := Blanks{Board: b, NutMoves: in.Nut, Played: PlayedAsDesigned(d)}
	if in.SaddleKind == SaddleCompensated {
		slope, out.Blank = in.Compensated.Slope, in.Compensated.Blank
	}
	if n := len(runs); n > 1 && runs[n-1].across != runs[0].across {
		slope += float64(runs[n-1].saddle-runs[0].saddle) / float64(runs[n-1].across-runs[0].across)
	}
	out.Slant = unit.Angle(math.Atan(slope))
	sin, cos := math.Sincos(float64(out.Slant))
	middle := build.ScaleLength + in.Centre
	action := actionWanted(d)
	for i, r := range runs {
		one := build
		one.ScaleLength, one.SaddleSetback = in.Scales[i], in.Saddle[i]
		one.Action12 = between(action, shareAcross(in.Across, i))
		t, _, err := one.Target()
		if err != nil {
			return Blanks{}, designError(d, under(err, i))
		}
		at := r.saddle + in.Saddle[i]
		x, y, own := float64(at-middle), float64(r.across), float64(r.saddle+in.own(i)-middle)
		out.Saddle = append(out.Saddle, SaddleCrown{Name: in.List[i].Name, Across: r.across, Along: unit.Length(y*cos + x*sin), Behind: unit.Length(x*cos - y*sin), Wanted: unit.Length(own*cos - y*sin),
			Over: build.SaddleProjection + t.StringHeightAtSaddle - mean.StringHeightAtSaddle + b.Layout.Surface.Height(at, r.across)})
	}
	// Cut at a slant, a round of radius R is flatter: across is along by the cosine, so z = -along² cos²/(2R).
	out.Radius = b.Layout.Surface.Radius(middle) / unit.Length(cos*cos)
	for _, s := range out.Saddle {
		if !(s.Over > 0) {
			return Blanks{}, Problems{wrong(d, "saddle_projection", "with this action and board radius the saddle would end %v over the bridge under string %s: give it more, or flatten the board", unit.FineLength(s.Over), s.Name)}
		}
	}
	return out, nil
}
