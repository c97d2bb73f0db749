package guitar

import (
	"context"
	"math"
	"strings"

	"fairset/craft/body"
	"fairset/craft/soundboard"
	"fairset/unit"
)

// TopModes is how many of a top's modes are worked out.
const TopModes = 6

// shapeStep is how far apart a shape is sampled.
const shapeStep = 5 * unit.MM

// airTemperature is of the air in a body, °C.
const airTemperature = 20

// TopPlate prepares a top to be solved; soundboard.Prepare does it afresh, a keeper of prepared tops sooner.
type TopPlate interface {
	Solve(ctx context.Context, braces []soundboard.Brace, req soundboard.Request) (*soundboard.Result, error)
}

// TopStudy is what a design's top does under its strings, and how it rings by itself. Every figure is an estimate.
type TopStudy struct {
	Body        body.Soundboard
	Pull        TopPull
	Couple      float64     // on the bridge, about the middle of the top, N·m
	SaddleRise  unit.Length // what goes into the target gap
	Rise, Dip   unit.Length // most behind the bridge, least ahead of it
	RiseAt      body.Point
	DipAt       body.Point
	Tilt        unit.Angle
	Mean        unit.Length // of the bridge's foot
	Stiffness   float64     // couple for a degree of tilt, N·m
	Mass        unit.Mass   // of top, braces and plates, without the bridge
	Braces      []soundboard.BraceState
	Deflection  TopShape
	Modes       []TopMode
	Air         *soundboard.Coupled // with the air in the body; nil without modes
	Depth       unit.Length         // of the body, as taken for its air
	Gap         unit.Length         // to set on the frets, on this top
	GapAsTyped  unit.Length         // with the rise as typed
	GapKnown    bool
	UsedInAim   bool // the design's target goes by the rise worked out
	Warnings    []unit.Warning
	Unknowns    int
	HeldTyped   unit.Length // the rise that is typed
	WithoutLoad bool        // no strings to pull
}

// TopMode is one way a top rings.
type TopMode struct {
	Frequency unit.Frequency
	Mass      unit.Mass
	Name      unit.Phrase // what it does; empty when nothing can be said
	Parts     int         // that move against each other
	Shape     TopShape
}

// TopShape is a deflection of the top at corners 5 mm apart: NaN in holes and off the top.
type TopShape struct {
	From          body.Point // of the first value
	Step          unit.Length
	Along, Across int       // how many: along x within each row, rows across y
	At            []float64 // m
}

// Value is the deflection at a corner: i along from the tail, j across from the treble side.
func (s *TopShape) Value(i, j int) float64 { return s.At[j*s.Along+i] }

// Place is where a corner lies.
func (s *TopShape) Place(i, j int) body.Point {
	return body.Point{X: s.From.X + unit.Length(i)*s.Step, Y: s.From.Y + unit.Length(j)*s.Step}
}

func sampled(o body.Outline, w *soundboard.Field) TopShape {
	widest, _ := o.Widest()
	half := int(math.Ceil(float64(widest/2/shapeStep))) + 1
	s := TopShape{From: body.Point{X: -shapeStep, Y: -unit.Length(half) * shapeStep}, Step: shapeStep, Along: int(math.Ceil(float64(o.Length()/shapeStep))) + 3, Across: 2*half + 1}
	s.At = make([]float64, s.Along*s.Across)
	for j := range s.Across {
		for i := range s.Along {
			v, ok := w.At(soundboard.Point(s.Place(i, j)))
			s.At[j*s.Along+i] = float64(v)
			if !ok {
				s.At[j*s.Along+i] = math.NaN()
			}
		}
	}
	return s
}

// StudyTop works out a design's top. prepare makes a plate ready and may keep it for the next time; modes is how many are asked for, up to TopModes.
// Errors are Problems naming the fields to fill or to mend, or ctx's.
func StudyTop(ctx context.Context, d Values, modes int, prepare func(context.Context, soundboard.Model) (TopPlate, error)) (TopStudy, error) {
	m, braces, saddle, warns, err := plateOf(d)
	if err != nil {
		return TopStudy{}, err
	}
	b, _, err := Body(d)
	if err != nil {
		return TopStudy{}, err
	}
	plate, err := prepare(ctx, m)
	if err != nil {
		return TopStudy{}, bodyError(d, err)
	}
	s := TopStudy{Body: b, Pull: PullOnTop(d), Warnings: warns, UsedInAim: d.Choice("top_rise_from") == FromTop, HeldTyped: d.Length("top_rise"), Depth: d.Length("heel_height")}
	load := s.Pull.Load(m.Thickness)
	r, err := plate.Solve(ctx, braces, soundboard.Request{Load: load, Modes: min(modes, TopModes)})
	if err != nil {
		return TopStudy{}, bodyError(d, err)
	}
	s.Couple, s.SaddleRise, s.Rise, s.Dip, s.Tilt, s.Mean = load.Moment, SaddleRise(m, r, saddle), r.Rise, r.Dip, r.Rotation, r.Mean
	s.RiseAt, s.DipAt, s.Braces, s.Unknowns = body.Point(r.RiseAt), body.Point(r.DipAt), r.Braces, r.Unknowns
	s.Warnings = append(s.Warnings, m.Doubts(braces, r)...)
	if t := math.Tan(float64(r.Rotation)); t != 0 {
		s.Stiffness = load.Moment / (t / math.Tan(float64(unit.Degree)))
	}
	s.Mass = topMass(b, m, braces)
	s.Deflection = sampled(b.Outline, &r.W)
	for i := range r.Modes {
		q := &r.Modes[i]
		mode := TopMode{Frequency: q.Frequency, Mass: q.Mass, Shape: sampled(b.Outline, &q.Shape)}
		mode.Name, mode.Parts = mode.Shape.said()
		s.Modes = append(s.Modes, mode)
	}
	if len(r.Modes) > 0 && len(m.Holes) > 0 && s.Depth > 0 {
		air := soundboard.Body{Volume: b.Outline.Area() * float64(s.Depth), Hole: m.Holes[0].Radius, Temperature: airTemperature}
		if c, err := soundboard.Couple(&m, &r.Modes[0], air); err == nil {
			s.Air = &c
		}
	}
	typed := typedRise(d, d.Length("top_rise"))
	if t, _, err := Build(typed).Target(); err == nil {
		s.GapAsTyped = t.GapOnFrets
	}
	if t, _, err := Build(typedRise(d, s.SaddleRise)).Target(); err == nil {
		s.Gap, s.GapKnown = t.GapOnFrets, true
	}
	return s, nil
}

// typedRise is a design whose top rises by a typed figure.
func typedRise(d Values, rise unit.Length) Values {
	out := d.Clone()
	out["top_rise_from"] = []Value{{Text: FromTyped}}
	out["top_rise"] = []Value{{SI: float64(rise)}}
	return out
}

// topMass is the wood in a top: plate, braces, patches.
func topMass(b body.Soundboard, m soundboard.Model, braces []soundboard.Brace) unit.Mass {
	area := b.Outline.Area()
	for _, h := range b.Holes {
		area -= math.Pi * float64(h.Radius) * float64(h.Radius)
	}
	sum := area * float64(m.Thickness) * float64(m.Material.Density)
	for i, q := range b.Braces {
		section := 0.0 // length times height, straight between stations
		for k := 1; k < len(q.Heights); k++ {
			section += (q.Heights[k].At - q.Heights[k-1].At) * float64(q.Heights[k].Height+q.Heights[k-1].Height) / 2
		}
		if len(q.Heights) == 1 {
			section = float64(q.Heights[0].Height)
		}
		sum += section * float64(q.Length()) * float64(q.Width) * float64(braces[i].Material.Density)
	}
	for i, p := range b.Patches {
		sum += math.Abs(body.Area(p.Corners[:])) * float64(p.Thickness) * float64(m.Patches[i].Material.Density)
	}
	return unit.Mass(sum)
}

// moving is the share of the largest deflection under which a place counts as standing still.
const moving = 0.1

// said names what a mode does, and counts the parts that move against each other, those of less than a fiftieth of the top left out. A name is given only where it holds: one part is a
// top that moves as one; mirrored ones are told by their symmetry about the centreline.
func (s *TopShape) said() (name unit.Phrase, parts int) {
	most, wood := 0.0, 0
	for _, v := range s.At {
		if a := math.Abs(v); a > most { // never so for NaN
			most = a
		}
		if unit.Finite(v) {
			wood++
		}
	}
	if most == 0 {
		return unit.Phrase{}, 0
	}
	seen := make([]bool, len(s.At))
	var queue []int
	for k, v := range s.At {
		if seen[k] || !(math.Abs(v) > moving*most) {
			continue
		}
		size := 0
		seen[k], queue = true, append(queue[:0], k)
		for len(queue) > 0 {
			size++
			q := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for _, n := range [4]int{q - 1, q + 1, q - s.Along, q + s.Along} {
				if n >= 0 && n < len(s.At) && !seen[n] && math.Abs(s.At[n]) > moving*most && s.At[n]*v > 0 {
					seen[n], queue = true, append(queue, n)
				}
			}
		}
		if size >= wood/50 {
			parts++
		}
	}
	var same, all float64 // of a place and its mirror image
	for j := range s.Across {
		for i := range s.Along {
			a, b := s.Value(i, j), s.Value(i, s.Across-1-j)
			if unit.Finite(a) && unit.Finite(b) {
				same += a * b
				all += a * a
			}
		}
	}
	mirror := same / all
	switch {
	case parts == 1:
		return unit.Say("top moving as one"), parts
	case parts == 2 && mirror < -0.8:
		return unit.Say("bass and treble side by turns"), parts
	case parts == 2 && mirror > 0.8:
		return unit.Say("near the tail and near the neck by turns"), parts
	case mirror < -0.8:
		return unit.Say("%v parts by turns, bass against treble", counted(parts)), parts
	case mirror > 0.8:
		return unit.Say("%v parts by turns, both sides alike", counted(parts)), parts
	}
	return unit.Say("%v parts by turns", counted(parts)), parts
}

func counted(n int) unit.Text {
	words := unit.Texts{"no‖parts", "one‖part", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	if n < len(words) {
		return words[n]
	}
	return "many‖parts"
}

// WithBrace is a design with one brace as given instead of that of the same name, or besides. The list of braces is kept within what a design can hold.
// Errors are Problems.
func WithBrace(d Values, b body.Brace) (Values, error) {
	lines, err := body.ParseBraces(d.Choice("brace_list"))
	if err != nil {
		return nil, bodyError(d, err)
	}
	var out []string
	found := false
	for _, l := range lines {
		if strings.EqualFold(l.Name, b.Name) {
			if found {
				continue
			}
			l, found = body.Line{Brace: b}, true
		}
		out = append(out, l.String())
	}
	if !found {
		out = append(out, b.String())
	}
	f, _ := find(designFields, "brace_list")
	v, bad := f.Parse(strings.Join(out, "\n"), unit.Millimetre)
	if bad != nil {
		return nil, Problems{bad}
	}
	e := d.Clone()
	e["brace_list"] = []Value{v}
	if _, _, err := Body(e); err != nil {
		return nil, err
	}
	return e, nil
}
