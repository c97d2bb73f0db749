package fastening

import (
	"fmt"
	"math"

	"fairset/unit"
)

// Miss is where a hole of the body stands from the middle of its bolt: across, + toward treble, and down,
// + toward the heel cap.
type Miss struct{ Across, Down unit.Length }

// Far is how far the hole misses, whichever way.
func (m Miss) Far() unit.Length {
	return unit.Length(math.Hypot(float64(m.Across), float64(m.Down)))
}

// Way says where from a point the miss lies: "toward the top and toward bass"; empty for no miss.
func (m Miss) Way() unit.Phrase {
	const slight = 0.05 * unit.MM // less than anyone can file on purpose
	var ways []unit.Phrase
	switch {
	case m.Down > slight:
		ways = append(ways, unit.Say("toward the cap"))
	case m.Down < -slight:
		ways = append(ways, unit.Say("toward the top"))
	}
	switch {
	case m.Across > slight:
		ways = append(ways, unit.Say("toward treble"))
	case m.Across < -slight:
		ways = append(ways, unit.Say("toward bass"))
	}
	switch len(ways) {
	case 0:
		return unit.Phrase{}
	case 1:
		return ways[0]
	}
	return unit.Say("%v and %v", ways[0], ways[1])
}

// Meeting says how holes that miss can be made to meet.
type Meeting struct {
	Worst int         // the hole that misses most as the neck stands, from 0
	Most  unit.Length // by how much
	Shift Miss        // move of the neck, all bolts together, that leaves the smallest worst miss
	Least unit.Length // the worst miss after that move
	Left  []Miss      // each miss after that move
}

// Meet finds the one move of the neck, across and along the heel, after which the worst of the holes misses
// least: the middle of the smallest circle around all misses. The neck is not turned.
//
// misses holds 1 to 16, each within 10 mm. Errors are *unit.RangeError naming hole_errors.
// Source: the smallest enclosing circle is fixed by two points as its diameter or by three on it (J. J.
// Sylvester's problem of 1857); with so few holes every pair and triple is tried.
func Meet(misses []Miss) (Meeting, error) {
	var m Meeting
	if n := len(misses); n < 1 || n > MostHoles {
		return m, &unit.RangeError{Limit: unit.Limit{Field: "hole_errors", Label: unit.Say("number of holes"), Kind: unit.KindCount, Min: 1, Max: MostHoles}, Value: float64(n)}
	}
	for i, x := range misses {
		l := errorLimit
		l.Field, l.Min = fmt.Sprintf("hole_errors[%d]", i), -errorLimit.Max
		if err := unit.Checks(l.Check(float64(x.Across)), l.Check(float64(x.Down))); err != nil {
			return m, err
		}
		if far := x.Far(); far > m.Most {
			m.Worst, m.Most = i, far
		}
	}
	m.Shift = smallestCircle(misses)
	for _, x := range misses {
		left := Miss{x.Across - m.Shift.Across, x.Down - m.Shift.Down}
		m.Left = append(m.Left, left)
		m.Least = max(m.Least, left.Far())
	}
	return m, nil
}

// smallestCircle returns the middle of the smallest circle around the points.
func smallestCircle(ps []Miss) Miss {
	best, radius := ps[0], reach(ps, ps[0])
	try := func(c Miss) {
		if r := reach(ps, c); r < radius {
			best, radius = c, r
		}
	}
	for i, a := range ps {
		for j, b := range ps[:i] {
			try(Miss{(a.Across + b.Across) / 2, (a.Down + b.Down) / 2})
			for _, c := range ps[:j] {
				if m, ok := circumcentre(a, b, c); ok {
					try(m)
				}
			}
		}
	}
	return best
}

func reach(ps []Miss, c Miss) unit.Length {
	r := unit.Length(0)
	for _, p := range ps {
		r = max(r, Miss{p.Across - c.Across, p.Down - c.Down}.Far())
	}
	return r
}

// circumcentre returns the point as far from a as from b and c; ok is false when they lie in line.
func circumcentre(a, b, c Miss) (Miss, bool) {
	// From a, in micrometres, so that the products stay of ordinary size.
	const um = 1e6
	bx, by := float64(b.Across-a.Across)*um, float64(b.Down-a.Down)*um
	cx, cy := float64(c.Across-a.Across)*um, float64(c.Down-a.Down)*um
	d := 2 * (bx*cy - by*cx)
	if d == 0 {
		return Miss{}, false
	}
	x := (cy*(bx*bx+by*by) - by*(cx*cx+cy*cy)) / d
	y := (bx*(cx*cx+cy*cy) - cx*(bx*bx+by*by)) / d
	m := Miss{a.Across + unit.Length(x/um), a.Down + unit.Length(y/um)}
	return m, m.Across.Finite() && m.Down.Finite()
}

// Ream is what one hole of the body needs so that its bolt passes.
type Ream struct {
	Hole   int         // from 0
	Miss   Miss        // where the hole stands from its bolt
	Need   unit.Length // least diameter that passes the bolt; 0 when it passes as drilled
	Drill  Drill       // owned drill for it; zero value when none is needed or none is large enough
	Washer Washer      // smallest that still covers
	Covers bool
	Say    unit.Phrase
}

// ReamEach says of every hole of the body whether its bolt passes, and if not which way and how far to open
// it. Only the body's holes are opened: the heel's must hold a thread.
//
// a is the advice for the bolt from the same drills. Errors are those of Meet and of the drills.
func ReamEach(a DrillAdvice, in DrillInput, misses []Miss) ([]Ream, error) {
	if _, err := Meet(misses); err != nil {
		return nil, err
	}
	owned, err := in.owned()
	if err != nil {
		return nil, err
	}
	var out []Ream
	for i, m := range misses {
		r := Ream{Hole: i, Miss: m}
		hole, far := a.Clearance.Diameter, m.Far()
		if far > a.Float+hair {
			r.Need = a.Thread.Major + 2*far
			hole = r.Need
			if d, ok := atOrAbove(owned, r.Need); ok {
				r.Drill, hole = d, d.Diameter
			}
		}
		r.Washer, r.Covers = a.Thread.washer(hole, far)
		// The bolt lies on the other side of the hole than the hole of the bolt.
		toward := Miss{-m.Across, -m.Down}.Way()
		switch {
		case r.Need == 0:
			r.Say = unit.Say("Hole %d passes its bolt.", i+1)
		case r.Drill.Diameter == 0:
			r.Say = unit.Say("Hole %d misses by %v; no drill at hand is as large as %v. Plug the body's hole with a glued dowel and drill it again.", i+1, unit.FineLength(far), unit.FineLength(r.Need))
		default:
			r.Say = unit.Say("Hole %d misses by %v: open the body's hole %v by %v, or ream it all round to %s (%v). Never the neck's.", i+1, unit.FineLength(far), toward, unit.FineLength(far-a.Float), r.Drill.Name, unit.FineLength(r.Drill.Diameter))
		}
		if !r.Covers {
			r.Say = unit.Join(r.Say, unit.Say("No washer of the table covers it then: plug the hole and drill again, or make a wider washer."))
		}
		out = append(out, r)
	}
	return out, nil
}

// washer returns the smallest washer that still covers a hole standing some way off its bolt. The washer may
// slide on the bolt: on one side it covers that much less.
func (t Thread) washer(hole, off unit.Length) (w Washer, covers bool) {
	for _, w = range t.Washers {
		rim := w.Outer/2 - (w.Inner-t.Major)/2 - (hole/2 + off)
		if covers = rim >= minRim; covers {
			break
		}
	}
	return w, covers
}
