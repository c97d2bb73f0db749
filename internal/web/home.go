package web

import (
	"net/http"
	"time"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/unit"
)

// homePage lists every guitar under the step it waits at.
type homePage struct {
	layout
	Benches []benchGroup
	Count   int
	Stuck   int
}

// benchGroup is the guitars that wait at one step; Step is "" for the finished ones.
type benchGroup struct {
	Step           guitar.Step
	Name, Question unit.Text
	Guitars        []guitarCard
}

// guitarCard is a guitar as the class sees it, and why it is stuck, the gravest reason only.
type guitarCard struct {
	class.Card
	Stuck   unit.Phrase
	Changed string
}

func home(in *request) error {
	all, err := in.srv.shop.Guitars(in.Context())
	if err != nil {
		return err
	}
	p := homePage{layout: in.layout("Guitars"), Count: len(all)}
	byStep := map[guitar.Step][]guitarCard{}
	for _, v := range all {
		c := in.card(v)
		if !c.Stuck.Empty() {
			p.Stuck++
		}
		byStep[v.Bench.Waiting] = append(byStep[v.Bench.Waiting], c)
	}
	for _, g := range guitar.Guides() {
		if cards := byStep[g.Step]; len(cards) > 0 {
			p.Benches = append(p.Benches, benchGroup{g.Step, g.Name, g.Question, cards})
		}
	}
	if cards := byStep[""]; len(cards) > 0 {
		p.Benches = append(p.Benches, benchGroup{"", "Finished", "Set, strung and settled.", cards})
	}
	return in.render(http.StatusOK, "home", p)
}

func (in *request) card(v shop.View) guitarCard {
	c := guitarCard{Card: class.Member{Guitar: v.Guitar, Bench: v.Bench}.Card(in.srv.shop.Time(), class.LongWait)}
	if len(c.Troubles) > 0 {
		c.Stuck = c.Troubles[0].Say
	}
	c.Changed = in.when(c.Last)
	return c
}

// when writes a time as one would say it in the shop: the day is left out today, the year this year.
func (in *request) when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	t, now := t.Local(), in.srv.shop.Time().Local()
	switch {
	case t.YearDay() == now.YearDay() && t.Year() == now.Year():
		return in.tell("today, %s", t.Format("15:04"))
	case t.Year() == now.Year():
		return in.prefs.Units.Date(t, "2 Jan, 15:04")
	}
	return in.prefs.Units.Date(t, "2 Jan 2006, 15:04")
}

// lost answers every address that no page has.
func lost(*request) error {
	return refuse(http.StatusNotFound, "There is no page at this address. It may have been typed wrongly, or the guitar it belongs to was removed.")
}

// Tally says how many guitars there are, Held how many are stuck.
func (p homePage) Tally() unit.Phrase { return unit.Plural(p.Count, "%d guitar", "%d guitars") }
func (p homePage) Held() unit.Phrase  { return held(p.Stuck) }
