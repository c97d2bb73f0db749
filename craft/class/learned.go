package class

import (
	"fmt"
	"math"

	"fairset/craft/neckset"
	"fairset/unit"
)

// Figure is one thing a shop's history teaches, with what it started from and how much stands behind it.
type Figure struct {
	Key, Name  string
	Say        unit.Phrase // as learned
	Guess      unit.Phrase // what is taken before anything is learned; empty when there is no guess
	N, Guitars int         // passes, readings, holes or guitars behind it, and the guitars they come from
	Of         string      // what N counts: "passes"
	Used       bool        // the next cut of every guitar leans on it
}

// Behind says how much stands behind the figure.
func (f Figure) Behind() string {
	switch {
	case f.N == 0:
		return "nothing yet"
	case f.Of == "guitars":
		return unit.Count(f.N, "guitar", "")
	}
	of := f.Of
	if f.N == 1 {
		of = singular[of]
	}
	return fmt.Sprintf("%d %s on %s", f.N, of, unit.Count(f.Guitars, "guitar", ""))
}

var singular = map[string]string{"passes": "pass", "readings": "reading", "holes": "hole"}

func percent(v float64) string { return fmt.Sprintf("%.0f %%", v*100) }

// verb is a percentage to stand in a sentence that has figures, where its sign is written twice.
func verb(v float64) string { return percent(v) + "%" }

// factor says a spread of logarithms as a share either way.
func factor(ln float64) string { return percent(math.Expm1(ln)) }

// Learned lists what a shop's history teaches: what strokes take tool by tool, how far cuts to marks come out, how
// finely readings are taken, and the misses that are typical here.
func Learned(l *neckset.Learned) []Figure {
	if l == nil {
		l = neckset.LearnShop(nil)
	}
	var out []Figure
	for _, r := range l.Rates() {
		out = append(out, Figure{Key: "rate_" + r.Tool.Key, Name: "20 strokes, " + r.Tool.Name, N: r.Shop, Guitars: r.Guitars, Of: "passes", Used: true,
			Say:   unit.Say("%v on the next guitar, give or take "+verb(r.CutSD()), unit.FineLength(20*r.PerStroke)),
			Guess: unit.Say("%v, give or take "+verb(neckset.LearnRate(r.Tool, "", nil).CutSD()), unit.FineLength(20*r.Tool.PerStroke))})
	}
	estimate := func(key, name, of string, e neckset.Estimate, say func(float64) string) {
		out = append(out, Figure{Key: key, Name: name, N: e.N, Guitars: e.Guitars, Of: of, Used: true, Say: unit.Say(say(e.Value)), Guess: unit.Say(say(e.Guess))})
	}
	estimate("rate_between", "rate of a tool, from guitar to guitar", "passes", l.Between, func(v float64) string { return "differs by " + factor(v) })
	estimate("rate_pass", "rate of a tool, from pass to pass", "passes", l.Pass, func(v float64) string { return "differs by " + factor(v) })
	estimate("marks_share", "cut to marks, of what was marked", "passes", l.Share, func(v float64) string { return percent(v) + " is taken" })
	estimate("marks_pass", "cut to marks, from pass to pass", "passes", l.ShareSD, func(v float64) string { return "differs by " + percent(v) })
	estimate("reading", "one reading", "readings", l.Reading, func(v float64) string { return fmt.Sprintf("good to %.2f of a graduation", v) })
	typical := func(key, name, of string, t neckset.Typical, guitars int, above, below string) {
		f := Figure{Key: key, Name: name, N: t.N, Guitars: guitars, Of: of, Say: unit.Say("nothing yet")}
		way := above
		if t.Mean < 0 {
			way = below
		}
		switch {
		case t.N == 1:
			f.Say = unit.Say("%v"+way, unit.FineLength(t.Mean.Abs()))
		case t.N > 1:
			f.Say = unit.Say("%v"+way+" on average, give or take %v", unit.FineLength(t.Mean.Abs()), unit.FineLength(t.SD))
		}
		out = append(out, f)
	}
	typical("first_gap", "straight edge at the first reading", "guitars", l.FirstGap, l.FirstGap.N, " high", " low")
	typical("first_offset", "line at the first reading", "guitars", l.FirstOffset, l.FirstOffset.N, " to treble", " to bass")
	typical("holes", "bolt holes off their partners", "holes", l.Holes, l.HoleGuitars, "", "")
	return out
}
