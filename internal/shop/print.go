package shop

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"

	"fairset/craft/bill"
	"fairset/craft/guitar"
	"fairset/printing"
	"fairset/unit"
)

// Source is what the sheets of a guitar are drawn from, in a maker's units.
func (s *Shop) Source(v View, style unit.Style, o printing.Options) printing.Source {
	prices, err := bill.ParsePrices(v.Settings.Prices)
	if err != nil {
		prices = nil // they were read when they were kept; without them the sheet says that there are none
	}
	return printing.Source{Guitar: v.Guitar, Bench: v.Bench, Date: style.Date(s.now().Local(), "2 January 2006"), Style: style, Options: o, Shop: printing.Shop{Prices: prices, Currency: v.Settings.Currency}}
}

// Name is a guitar's id and what it is called.
type Name struct{ ID, Name string }

// Names returns every guitar that is not removed and that whoever asks may see, by name.
func (s *Shop) Names(ctx context.Context) ([]Name, error) {
	all, err := s.Store.List(ctx)
	if err != nil {
		return nil, err
	}
	out := []Name{}
	for _, r := range s.own(ctx, all) {
		out = append(out, Name{r.Guitar.ID, r.Guitar.Name})
	}
	slices.SortFunc(out, func(a, b Name) int {
		return cmp.Or(cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)), cmp.Compare(a.ID, b.ID))
	})
	return out, nil
}

// PrintEach prints guitars, named by their ids, one after the other, giving each file a name of its own. A guitar of
// which nothing can be drawn yet does not keep the others from the paper. said hears what became of each guitar; its
// error, when there is one, is a *printing.NeedError. job says what is printed of each.
func (s *Shop) PrintEach(ctx context.Context, ids []string, job func(View) printing.Job, style unit.Style, o printing.Options, put printing.Put, said func(View, printing.Report, error)) error {
	names := printing.FileNames{}
	return s.Each(ctx, ids, func(v View) error {
		r, err := job(v).Make(s.Source(v, style, o), names.Own(v.Guitar.Name, v.Guitar.ID, put))
		var need *printing.NeedError
		if err != nil && !errors.As(err, &need) {
			return err
		}
		said(v, r, err)
		return nil
	})
}

// Each calls do with each of the guitars named by their ids, in that order, holding one at a time. It ends at the
// first error, or when ctx is done.
func (s *Shop) Each(ctx context.Context, ids []string, do func(View) error) error {
	taught, err := s.taught(ctx)
	if err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	for _, id := range ids {
		if err := ctx.Err(); err != nil {
			return err
		}
		r, err := s.get(ctx, id)
		if err != nil {
			return err
		}
		if err := do(View{r, r.Guitar.Bench(guitar.Options{Shop: taught, Drills: set.Drills}), set}); err != nil {
			return err
		}
	}
	return nil
}
