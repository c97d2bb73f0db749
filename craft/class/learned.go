package class

import (
	"math"

	"fairset/craft/neckset"
	"fairset/unit"
)

// Figure is one thing a shop's history teaches, with what it started from and how much stands behind it.
type Figure struct {
	Key        string
	Name       unit.Phrase
	Say        unit.Phrase // as learned
	Guess      unit.Phrase // what is taken before anything is learned; empty when there is no guess
	N, Guitars int         // passes, readings, holes or guitars behind it, and the guitars they come from
	Of         string      // what N counts: "passes"
	Used       bool        // the next cut of every guitar leans on it
}

// Behind says how much stands behind the figure.
func (f Figure) Behind() unit.Phrase {
	guitars := unit.Plural(f.Guitars, "%d guitar", "%d guitars")
	switch {
	case f.N == 0:
		return nothingYet
	case f.Of == "guitars":
		return unit.Plural(f.N, "%d guitar", "%d guitars")
	case f.Of == "passes":
		return unit.Plural(f.N, "%d pass on %v", "%d passes on %v", guitars)
	case f.Of == "readings":
		return unit.Plural(f.N, "%d reading on %v", "%d readings on %v", guitars)
	}
	return unit.Plural(f.N, "%d hole on %v", "%d holes on %v", guitars)
}

var nothingYet = unit.Say("nothing yet")

// differs says how much something differs, as a share.
func differs(share float64) unit.Phrase { return unit.Say("differs by %.0f %%", 100*share) }

// Learned lists what a shop's history teaches: what strokes take tool by tool, how far cuts to marks come out, how
// finely readings are taken, and the misses that are typical here.
func Learned(l *neckset.Learned) []Figure {
	if l == nil {
		l = neckset.LearnShop(nil)
	}
	var out []Figure
	for _, r := range l.Rates() {
		out = append(out, Figure{Key: "rate_" + r.Tool.Key, Name: unit.Say("20 strokes, %v", r.Tool.Name), N: r.Shop, Guitars: r.Guitars, Of: "passes", Used: true,
			Say:   unit.Say("%v on the next guitar, give or take %.0f %%", unit.FineLength(20*r.PerStroke), 100*r.CutSD()),
			Guess: unit.Say("%v, give or take %.0f %%", unit.FineLength(20*r.Tool.PerStroke), 100*neckset.LearnRate(r.Tool, "", nil).CutSD())})
	}
	estimate := func(key string, name unit.Text, of string, e neckset.Estimate, say func(float64) unit.Phrase) {
		out = append(out, Figure{Key: key, Name: unit.Say(name), N: e.N, Guitars: e.Guitars, Of: of, Used: true, Say: say(e.Value), Guess: say(e.Guess)})
	}
	factor := func(ln float64) unit.Phrase { return differs(math.Expm1(ln)) } // a spread of logarithms as a share either way
	estimate("rate_between", "rate of a tool, from guitar to guitar", "passes", l.Between, factor)
	estimate("rate_pass", "rate of a tool, from pass to pass", "passes", l.Pass, factor)
	estimate("marks_share", "cut to marks, of what was marked", "passes", l.Share, func(v float64) unit.Phrase { return unit.Say("%.0f %% is taken", 100*v) })
	estimate("marks_pass", "cut to marks, from pass to pass", "passes", l.ShareSD, differs)
	estimate("reading", "one reading", "readings", l.Reading, func(v float64) unit.Phrase { return unit.Say("good to %.2f of a graduation", v) })
	// above and below are said of one, and of several on average.
	typical := func(key string, name unit.Text, of string, t neckset.Typical, guitars int, above, below [2]unit.Text) {
		f := Figure{Key: key, Name: unit.Say(name), N: t.N, Guitars: guitars, Of: of, Say: nothingYet}
		way := above
		if t.Mean < 0 {
			way = below
		}
		switch {
		case t.N == 1:
			f.Say = unit.Say(way[0], unit.FineLength(t.Mean.Abs()))
		case t.N > 1:
			f.Say = unit.Say(way[1], unit.FineLength(t.Mean.Abs()), unit.FineLength(t.SD))
		}
		out = append(out, f)
	}
	typical("first_gap", "straight edge at the first reading", "guitars", l.FirstGap, l.FirstGap.N,
		[2]unit.Text{"%v high", "%v high on average, give or take %v"}, [2]unit.Text{"%v low", "%v low on average, give or take %v"})
	typical("first_offset", "line at the first reading", "guitars", l.FirstOffset, l.FirstOffset.N,
		[2]unit.Text{"%v to treble", "%v to treble on average, give or take %v"}, [2]unit.Text{"%v to bass", "%v to bass on average, give or take %v"})
	off := [2]unit.Text{"%v", "%v on average, give or take %v"}
	typical("holes", "bolt holes off their partners", "holes", l.Holes, l.HoleGuitars, off, off)
	return out
}
