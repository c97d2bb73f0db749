package shop

import (
	"context"
	"reflect"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/unit"
)

// Checked is what reading everything that is stored found.
type Checked struct {
	Guitars, Removed int // on the bench, and taken off it
	Entries          int
	Readings         int // of the air
	Doubts           []Doubt
}

// Doubt is one thing about a guitar that wants a look. A figure that Differs is not what it was when it was
// kept; the rest are the warnings that stand beside the guitar's figures on its pages.
type Doubt struct {
	ID, Name string
	Differs  bool
	Say      unit.Phrase
}

// Differing is how many of the doubts are differences.
func (c Checked) Differing() int {
	n := 0
	for _, d := range c.Doubts {
		if d.Differs {
			n++
		}
	}
	return n
}

// Check reads everything that is stored, as the store's own check does, then writes out and reads back every guitar
// and works out all its sums again, taken off the bench or not. It returns what differs and what is warned of.
func (s *Shop) Check(ctx context.Context) (Checked, error) {
	var c Checked
	if err := s.teacher(ctx); err != nil {
		return c, err
	}
	if err := s.Store.Check(ctx); err != nil {
		return c, err
	}
	on, err := s.Store.List(ctx)
	if err != nil {
		return c, err
	}
	off, err := s.Store.Removed(ctx)
	if err != nil {
		return c, err
	}
	air, err := s.Store.Climate(ctx, time.Time{}, time.Time{})
	if err != nil {
		return c, err
	}
	c.Guitars, c.Removed, c.Readings = len(on), len(off), len(air)
	for _, r := range append(append([]store.Record{}, on...), off...) {
		if err := ctx.Err(); err != nil {
			return c, err
		}
		c.Entries += len(r.Guitar.Log)
		o, _, err := s.options(ctx, r.Guitar.ID)
		if err != nil {
			return c, err
		}
		c.Doubts = append(c.Doubts, doubts(r.Guitar, o)...)
	}
	return c, nil
}

func doubts(g guitar.Guitar, o guitar.Options) (out []Doubt) {
	add := func(differs bool, say unit.Phrase) {
		out = append(out, Doubt{g.ID, g.Name, differs, say})
	}
	defer func() {
		if p := recover(); p != nil {
			add(true, unit.Say("its sums cannot be worked out: %v", p))
		}
	}()
	switch back, err := guitar.Decode(guitar.Encode(g)); {
	case err != nil:
		add(true, unit.Say("%v", err))
	case !reflect.DeepEqual(back[0], g):
		add(true, unit.Say("written out and read back it is not the same guitar"))
	}
	b := g.Bench(o)
	for _, w := range b.Aim.Warnings {
		add(false, w.Say)
	}
	if b.Cut != nil {
		for _, w := range b.Cut.Warnings {
			add(false, w.Say)
		}
	}
	return out
}
