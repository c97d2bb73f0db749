package stringset

import (
	"math"

	"fairset/craft/fretting"
	"fairset/unit"
)

// Ends says how the string is held at the two ends of its speaking length, which decides how much its
// stiffness sharpens it.
type Ends string

// The ends. An edge the string runs on over lets it turn a little and so acts half like a clamp; two such
// edges are as one clamp and one hinge.
const (
	Clamped       Ends = "clamped"        // gripped at both
	ClampedPinned Ends = "clamped-pinned" // gripped at one, hinged at the other
	Continuous    Ends = "continuous"     // running on over an edge at both
	Pinned        Ends = "pinned"         // hinged at both
)

// EndChoices lists the ends.
func EndChoices() []string {
	return []string{string(Clamped), string(ClampedPinned), string(Continuous), string(Pinned)}
}

// Path says how closely a pressed string is followed.
type Path string

// The paths.
const (
	// Full lays the string over the crowns behind the finger and thins its mass as it stretches.
	Full Path = "full"
	// Basic takes the straight run from nut to finger and the mass as it is at pitch.
	Basic Path = "basic"
)

// Paths lists the paths.
func Paths() []string { return []string{string(Full), string(Basic)} }

// Setup is one string's place over the frets and how it is played.
type Setup struct {
	ScaleLength   unit.Length
	Frets         int
	NutHeight     unit.Length // string over the plane of the fret tops, at the nut's front edge
	SaddleHeight  unit.Length // the same at the saddle; SaddleHeightFor works it out from the action
	Press         unit.Length // string below the crown, at the finger
	Finger        unit.Length // behind the crown; 0 for the middle between the frets
	Relief        unit.Length
	ReliefEndFret int // relief runs from the nut to this fret
	Ends          Ends
	Beyond        unit.Length // string past nut and saddle that shares the stretch; 0 when both grip
	Path          Path
	FitFrets      int       // the best setbacks are sought over frets 1 to this
	Weights       []float64 // of those frets, in order; all alike when empty
	Capo          Capo
}

// Capo stops the string at a fret. The guitar is taken to be tuned with the capo on.
type Capo struct {
	Fret   int         // 0 for none
	Press  unit.Length // below the crown
	Behind unit.Length // the crown; 0 for the middle between the frets
}

// DefaultSetup returns how a steel-string of ordinary setting is played; heights and scale are the guitar's own and
// are left at zero. WhyDefault says why.
func DefaultSetup() Setup {
	return Setup{Frets: 20, Press: 0.1 * unit.MM, Ends: Continuous, Beyond: 150 * unit.MM, Path: Full, FitFrets: 12, ReliefEndFret: 14}
}

// WhyDefault says why the default is what it is.
func WhyDefault() unit.Phrase {
	return unit.Say("The string is taken to run on over nut and saddle, with %v beyond them that gives when a note is pressed, and the finger to press it %v below the fret's top. "+
		"Gripped hard at both ends, the sums ask for 3 to 8 mm of saddle setback on steel strings; builders set about 1.5 to 5 mm (common practice, from memory), and this setting lands there. "+
		"Read the cents at fret 12 on the strung guitar and let them correct it.", 150*unit.MM, unit.FineLength(0.1*unit.MM))
}

// Drop returns how far relief lowers the fret tops below the straight line at a distance from the nut.
//
//	4·r·u·(1-u), u = x / x_end, within the span
//
// Source: a parabola through nut, deepest place and end of the span; derived in docs/method/stringset.md.
func (s Setup) Drop(x unit.Length) unit.Length {
	end := fretting.Distance(s.ScaleLength, s.ReliefEndFret)
	if end <= 0 {
		return 0
	}
	u := float64(x / end)
	if u <= 0 || u >= 1 {
		return 0
	}
	return unit.Length(4 * float64(s.Relief) * u * (1 - u))
}

// SaddleHeightFor returns the height at the saddle that puts the open string at this action over fret 12.
// The other figures of the setup are used; errors are *unit.RangeError naming action12 or the field.
func (s Setup) SaddleHeightFor(action12 unit.Length) (unit.Length, error) {
	var c checker
	c.need("scale_length", float64(s.ScaleLength))
	c.need("nut_height", float64(s.NutHeight))
	c.need("relief", float64(s.Relief))
	c.need("relief_end_fret", float64(s.ReliefEndFret))
	c.need("action12", float64(action12))
	h := 2*(action12-s.Drop(s.ScaleLength/2)) - s.NutHeight
	if h < 0 {
		c.fail("action12", float64(action12), "so low an action would put the string below the frets at the saddle")
	}
	return h, c.err
}

func (s Setup) check(c *checker) {
	c.need("scale_length", float64(s.ScaleLength))
	c.need("frets", float64(s.Frets))
	c.need("nut_height", float64(s.NutHeight))
	c.need("saddle_height", float64(s.SaddleHeight))
	c.need("press", float64(s.Press))
	c.need("finger", float64(s.Finger))
	c.need("relief", float64(s.Relief))
	c.need("relief_end_fret", float64(s.ReliefEndFret))
	c.choose("ends", "ends", string(s.Ends), EndChoices())
	c.need("beyond", float64(s.Beyond))
	c.choose("path", "path", string(s.Path), Paths())
	c.need("fit_frets", float64(s.FitFrets))
	c.need("capo", float64(s.Capo.Fret))
	c.need("capo_press", float64(s.Capo.Press))
	c.need("capo_behind", float64(s.Capo.Behind))
	if s.FitFrets > s.Frets {
		c.fail("fit_frets", float64(s.FitFrets), "the board has only %d frets", s.Frets)
	}
	if s.Capo.Fret >= s.Frets {
		c.fail("capo", float64(s.Capo.Fret), "no fret is left to play above it on a board of %d", s.Frets)
	}
	if n := len(s.Weights); n != 0 {
		if n != s.FitFrets {
			c.fail("weights", float64(n), "give one weight for each of the %d frets the best place is sought over", s.FitFrets)
		}
		sum := 0.0
		for _, w := range s.Weights {
			c.need("weights", w)
			sum += w
		}
		if sum == 0 {
			c.fail("weights", 0, "at least one fret must count")
		}
	}
}

// point is a place on the string, in metres.
type point struct{ x, y float64 }

func (p point) to(q point) float64 { return math.Hypot(q.x-p.x, q.y-p.y) }

// Model is one string on one board, ready to be asked for cents and for its best setbacks. It is not changed
// by use, so several may ask it at once.
type Model struct {
	String String
	Setup  Setup
	AtPitch

	L, beyond       float64
	mu, ea, rootEI  float64
	pitch           float64 // of the sounding open string, capo on
	k, c            float64 // stiffness series 1 + k·e + c·e²
	hN, hS          float64
	crown           []point // 0 to Frets; 0 is where a fret at the nut would be and is not touched
	finger          []held  // behind the crown of the same number
	capoAt          held
	first, last     int // frets asked for
	fitLast         int
	weight          []float64 // by fret less first
	weightSum       float64
	full            bool
	pitchBeforeCapo float64
}

// New checks a string and its setup and makes their Model.
//
// Valid for: the ranges of LimitOf; otherwise the error is a *unit.RangeError naming the field. Warnings say
// where the sums hold less well: a stiff string, a finger that would lie behind the next fret, a string that would
// touch another fret.
func New(s String, set Setup) (*Model, []unit.Warning, error) {
	var c checker
	m := build(&c, s, set)
	if c.err != nil {
		return nil, nil, c.err
	}
	return m, c.warns, nil
}

func build(c *checker, s String, set Setup) *Model {
	set.check(c)
	if c.err != nil {
		return nil
	}
	p := s.at(c, set.ScaleLength)
	if c.err != nil {
		return nil
	}
	m := newModel(s, set, p)
	// The shorter the string left, the more its stiffness weighs.
	e := math.Sqrt(float64(p.Bending)/float64(p.Tension)) / m.L
	if n := set.Capo.Fret; e*math.Exp2(float64(n)/12) > slackest {
		c.fail("capo", float64(n), "so stiff a string cannot be worked out with so little of it left over the capo")
		return nil
	}
	if last := e * math.Exp2(float64(set.Frets)/12); last > 0.03 && e <= stiffest {
		c.warn("stiff", "frets", unit.Say("This string is so stiff that its note at fret %d is only known to about %.2g cents.", set.Frets, 20.6*last*last*last*cent))
	}
	m.doubts(c)
	return m
}

// newModel lays out crowns and fingers; everything has been checked.
func newModel(s String, set Setup, p AtPitch) *Model {
	m := &Model{String: s, Setup: set, AtPitch: p,
		L: float64(set.ScaleLength), beyond: float64(set.Beyond), mu: float64(p.Mass), ea: float64(p.Axial), rootEI: math.Sqrt(float64(p.Bending)),
		hN: float64(set.NutHeight), hS: float64(set.SaddleHeight), full: set.Path == Full, pitchBeforeCapo: float64(s.Pitch),
		first: set.Capo.Fret + 1, last: set.Frets}
	switch set.Ends {
	case Clamped:
		m.k = 2
	case ClampedPinned, Continuous:
		m.k = 1
	}
	m.c = m.k*m.k + math.Pi*math.Pi/2
	m.pitch = m.pitchBeforeCapo * math.Exp2(float64(set.Capo.Fret)/12)

	m.crown, m.finger = make([]point, set.Frets+1), make([]held, set.Frets+1)
	for n := 1; n <= set.Frets; n++ {
		x := fretting.Distance(set.ScaleLength, n)
		m.crown[n] = point{float64(x), -float64(set.Drop(x))}
		m.finger[n] = m.behind(n, float64(set.Finger), float64(set.Press))
	}
	if n := set.Capo.Fret; n > 0 {
		m.capoAt = m.behind(n, float64(set.Capo.Behind), float64(set.Capo.Press))
	}

	// With a capo the same number of frets above it is fitted, with the same weights.
	m.fitLast = min(set.Capo.Fret+set.FitFrets, set.Frets)
	m.weight = make([]float64, m.fitLast-m.first+1)
	for i := range m.weight {
		m.weight[i] = 1
		if len(set.Weights) > 0 {
			m.weight[i] = set.Weights[i]
		}
		m.weightSum += m.weight[i]
	}
	if m.weightSum == 0 { // a capo left only frets of no weight
		for i := range m.weight {
			m.weight[i] = 1
		}
		m.weightSum = float64(len(m.weight))
	}
	return m
}

// held is where a finger or a capo holds the string. At fret 1 the middle is between the nut's edge and the
// fret, so a finger there follows half of what the nut is moved.
type held struct {
	point
	middle bool
}

// behind is where a finger so far behind a crown and so far below it holds the string. Farther back than
// the fret before, it is taken to the middle.
func (m *Model) behind(n int, back, press float64) held {
	gap := m.crown[n].x - m.crown[n-1].x
	middle := back == 0 || back >= gap
	if middle {
		back = gap / 2
	}
	return held{point{m.crown[n].x - back, m.crown[n].y - press}, middle}
}

func (m *Model) doubts(c *checker) {
	set := m.Setup
	for n := 1; n <= set.Frets; n++ {
		if gap := m.crown[n].x - m.crown[n-1].x; float64(set.Finger) >= gap {
			c.warn("finger_moved", "finger", unit.Say("From fret %d up there is less room than that behind the fret: the finger was taken to the middle there.", n))
			break
		}
	}
	if set.Press > 1.2*unit.MM {
		c.warn("pressed_into_board", "press", unit.Say("Pressed %v below the crown, the string would reach the board of most guitars.", set.Press))
	}
	// A string that touches a crown on its way to the saddle sounds that fret, or buzzes.
	saddle := point{m.L, m.hS}
	from := point{0, m.hN}
	if set.Capo.Fret > 0 {
		from = m.crown[set.Capo.Fret]
	}
	for n := set.Capo.Fret; n < set.Frets; n++ {
		if n > set.Capo.Fret {
			from = m.crown[n]
		}
		for _, hit := range m.crown[n+1:] {
			if line := from.y + (saddle.y-from.y)*(hit.x-from.x)/(saddle.x-from.x); line <= hit.y {
				c.warn("would_buzz", "saddle_height", unit.Say("Played at fret %d the string would lie on another fret: raise it or change the relief. The cents of that note mean nothing.", n))
				return
			}
		}
	}
}

// Range names the first and last fret of what Cents returns: with a capo, the first is the one above it.
func (m *Model) Range() (first, last int) { return m.first, m.last }
