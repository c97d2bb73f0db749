package fretting

import (
	"math"

	"fairset/unit"
)

// playLimits are ranges for a strung board. source: common practice, no source.
var playLimits = []unit.Limit{
	mm("relief", "relief when strung", -0.3, 1.5),
	{Field: "joint_fret", Label: unit.Say("fret the relief ends at"), Kind: unit.KindCount, Min: 2, Max: MostFrets},
	mm("fall_away", "last fret below the line past the joint", -1, 2),
	mm("action12.bass", "action at fret 12, bass side", 0.3, 8),
	mm("action12.treble", "action at fret 12, treble side", 0.3, 8),
	mm("nut_height.bass", "string height at the nut, bass side", 0, 4),
	mm("nut_height.treble", "string height at the nut, treble side", 0, 4),
	mm("pluck", "pull of the string off its rest, toward or from the board", 0, 8),
	mm("pluck_at", "place of the pluck, from the saddle", 5, 600),
}

// Way is the direction a string is pulled before it is let go, as far as it is square to the board.
type Way string

// A string let go from below its rest swings there first; one let go from above comes down on the far side
// of its middle. EitherWay takes the worse at each fret.
const (
	EitherWay Way = ""
	Toward    Way = "toward" // pressed toward the board
	From      Way = "from"   // lifted from the board
)

// Pluck is how hard and where a string is played.
type Pluck struct {
	Pull      unit.Length // displacement at the plucked place, square to the board, on the open string
	At        unit.Length // from the saddle
	Way       Way
	EvenForce bool // keep the force that pull takes, so that shorter strings are pulled less; else the pull
}

// Pair is a figure on each side of the guitar.
type Pair struct{ Bass, Treble unit.Length }

// Played is a strung board: how the strings lie over it and how they are played.
type Played struct {
	NutHeight Pair // underside of the outer strings over the line of the fret tops, at the nut
	Action12  Pair // the same over fret 12, as read
	Relief    unit.Length
	JointFret int         // the relief lies between fret 1 and this fret
	FallAway  unit.Length // last fret below the straight line past the joint
	Pluck     Pluck
}

// Clearance is one string held at one fret.
type Clearance struct {
	String  int // from 0, the bass
	Stop    int // fret it is held at; 0 open
	Rest    []unit.Length
	Margin  []unit.Length // at the frets after Stop: Rest less what the string swings; negative: it buzzes there
	Nearest int           // fret with the least margin
	Least   unit.Length
}

// Buzzes reports whether the string touches a fret.
func (c Clearance) Buzzes() bool { return c.Least < 0 }

// Swing returns how far an ideal string of length l, plucked a from one end by pull, ever comes below its
// rest at x from the same end.
//
//	toward   pull × (x/a to a, (l-x)/(l-a) after)
//	from     pull × (x/(l-a) to l-a, (l-x)/a after)
//
// The string moves inside the parallelogram of its first shape and that shape turned half about the middle.
// Stiffness and loss are left out: both make the swing smaller. Source: d'Alembert's solution; derived in
// docs/method/fretting.md.
func Swing(l, a, x, pull unit.Length, way Way) unit.Length {
	if x <= 0 || x >= l || a <= 0 || a >= l {
		return 0
	}
	peak := func(a unit.Length) unit.Length {
		if x < a {
			return pull * x / a
		}
		return pull * (l - x) / (l - a)
	}
	switch way {
	case Toward:
		return peak(a)
	case From:
		return peak(l - a)
	}
	return max(peak(a), peak(l-a))
}

// Clear returns the clearance of every string at every stop, open first, over every fret beyond the stop.
//
// Each string is the straight line through its nut slot and its action over fret 12 (shared out between the
// sides by place across), so a board of fewer than 12 frets uses where fret 12 would be. Fret tops lie on
// the board's face plus one crown, less the relief's parabola between fret 1 and the joint. A stopped string
// runs from the top of its fret. A place of pluck past the middle of a short string is moved to the middle,
// as a hand would.
//
// Errors are *unit.RangeError naming relief, joint_fret, fall_away, action12.bass ..., pluck or pluck_at.
// Source: derived in docs/method/fretting.md.
func (l Layout) Clear(p Played) ([]Clearance, error) {
	err := unit.Checks(
		needLength("nut_height.bass", p.NutHeight.Bass), needLength("nut_height.treble", p.NutHeight.Treble),
		needLength("action12.bass", p.Action12.Bass), needLength("action12.treble", p.Action12.Treble),
		needLength("relief", p.Relief), need("joint_fret", float64(p.JointFret)), needLength("fall_away", p.FallAway),
		needLength("pluck", p.Pluck.Pull), needLength("pluck_at", p.Pluck.At),
	)
	if err != nil {
		return nil, err
	}
	switch p.Pluck.Way {
	case EitherWay, Toward, From:
	default:
		return nil, &unit.RangeError{Limit: unit.Limit{Field: "pluck_way", Label: unit.Say("way of the pluck"), Kind: unit.KindChoice}, Got: string(p.Pluck.Way),
			Why: unit.Say("not a way to pluck"), Choices: []string{string(Toward), string(From)}}
	}
	frets, n := len(l.Slots), len(l.Strings)
	var out []Clearance
	for i, run := range l.Strings {
		side := 0.5
		if n > 1 {
			side = float64((run.Saddle.Y - l.Strings[0].Saddle.Y) / (l.Strings[n-1].Saddle.Y - l.Strings[0].Saddle.Y))
		}
		mix := func(p Pair) float64 { return float64(p.Bass) + side*float64(p.Treble-p.Bass) }
		// Along the string: distance from its nut point, and the fret tops' height there.
		at, top := make([]float64, frets+1), make([]float64, frets+1)
		u1 := share(1) * float64(run.Scale)
		joint := share(float64(p.JointFret)) * float64(run.Scale)
		dip := func(u float64) float64 {
			if u <= u1 || u >= joint {
				return 0
			}
			return 4 * float64(p.Relief) * (u - u1) * (joint - u) / ((joint - u1) * (joint - u1))
		}
		// Height of the fret tops' surface, relief apart, at a point; the crown is the same everywhere and left out.
		face := func(q Point) float64 { return float64(l.Surface.Height(q.X, q.Y)) }
		for f := 1; f <= frets; f++ {
			q := l.Crossing(i, f)
			at[f] = float64(Line{run.Nut, q}.Length())
			top[f] = face(q) - dip(at[f])
		}
		if end := at[frets]; end > joint {
			for f := 1; f <= frets; f++ {
				if at[f] > joint {
					top[f] -= float64(p.FallAway) * (at[f] - joint) / (end - joint)
				}
			}
		}
		half, at12 := face(run.line().at(0.5)), float64(run.Scale)/2
		if frets >= 12 {
			half, at12 = top[12], at[12]
		} else {
			half -= dip(at12)
		}
		z0 := face(run.Nut) + mix(p.NutHeight)
		slope := (half + mix(p.Action12) - z0) / at12
		saddle := z0 + slope*float64(run.Scale)
		for stop := 0; stop < frets; stop++ {
			from, low := 0.0, z0
			if stop > 0 {
				from, low = at[stop], top[stop]
			}
			length := float64(run.Scale) - from
			pluck, pull := p.swung(length, float64(run.Scale))
			c := Clearance{String: i, Stop: stop, Least: unit.Length(math.Inf(1))}
			for f := stop + 1; f <= frets; f++ {
				u := at[f] - from
				rest := unit.Length(low + (saddle-low)*u/length - top[f])
				m := rest - Swing(unit.Length(length), unit.Length(length-pluck), unit.Length(u), unit.Length(pull), p.Pluck.Way)
				c.Rest, c.Margin = append(c.Rest, rest), append(c.Margin, m)
				if m < c.Least {
					c.Nearest, c.Least = f, m
				}
			}
			out = append(out, c)
		}
	}
	return out, nil
}

// swung gives the place from the saddle and the pull on a string shortened to length.
func (p Played) swung(length, open float64) (at, pull float64) {
	a := min(float64(p.Pluck.At), open/2)
	at, pull = min(a, length/2), float64(p.Pluck.Pull)
	if p.Pluck.EvenForce {
		// A force F pulls a string under tension T out by F a (l-a)/(T l).
		pull *= at * (length - at) / length / (a * (open - a) / open)
	}
	return at, pull
}
