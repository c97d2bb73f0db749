package shop

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/json"
	"slices"
	"sync"

	"fairset/craft/guitar"
	"fairset/craft/soundboard"
)

// Most prepared plates kept: each holds a factorisation of some 80 MB. Most answers kept: each holds shapes of half a megabyte.
const (
	mostPlates  = 2
	mostStudies = 24
)

// tops keeps what is slow to work out of tops: the plates last used, so that moving a brace renews only what lies near it, and the
// last answers. It changes how long an answer takes, never what it is.
type tops struct {
	mu      sync.Mutex
	plates  []*plate // the last used first
	studies []study  // the same
	turns   chan struct{}
}

type study struct {
	sum   [sha256.Size]byte
	modes int
	is    guitar.TopStudy
}

// plate is a prepared top that one caller at a time may solve.
type plate struct {
	sum   [sha256.Size]byte
	ready *soundboard.Plate
	turn  chan struct{}
	told  func(float64) // progress of whoever has the turn
}

// TopOf works out what a design's top does under its strings and its lowest modes, as many as asked for. progress, which may be nil, is told how
// far the sums have come, from 0 to 1. Errors are guitar.Problems, or ctx's when it ends first.
func (s *Shop) TopOf(ctx context.Context, d guitar.Values, modes int, progress func(share float64)) (guitar.TopStudy, error) {
	sum := guitar.Sum(d)
	if got, ok := s.tops.find(sum, modes); ok {
		return got, nil
	}
	release, err := s.tops.enter(ctx)
	if err != nil {
		return guitar.TopStudy{}, err
	}
	defer release()
	if got, ok := s.tops.find(sum, modes); ok { // worked out while waiting
		return got, nil
	}
	got, err := guitar.StudyTop(ctx, d, modes, func(ctx context.Context, m soundboard.Model) (guitar.TopPlate, error) {
		p, err := s.tops.plate(ctx, m)
		return told{p, progress}, err
	})
	if err == nil {
		s.tops.keep(study{sum, modes, got})
	}
	return got, err
}

// enter waits for a place at work: two plates at a time take all of a small machine.
func (t *tops) enter(ctx context.Context) (release func(), err error) {
	t.mu.Lock()
	if t.turns == nil {
		t.turns = make(chan struct{}, 2)
	}
	t.mu.Unlock()
	select {
	case t.turns <- struct{}{}:
		return func() { <-t.turns }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (t *tops) find(sum [sha256.Size]byte, modes int) (guitar.TopStudy, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for i, s := range t.studies {
		if s.sum == sum && s.modes >= modes {
			copy(t.studies[1:i+1], t.studies[:i])
			t.studies[0] = s
			return s.is, true
		}
	}
	return guitar.TopStudy{}, false
}

func (t *tops) keep(s study) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.studies = append([]study{s}, t.studies...)
	if len(t.studies) > mostStudies {
		t.studies = t.studies[:mostStudies]
	}
}

// plate returns a prepared plate, the one kept if there is one.
func (t *tops) plate(ctx context.Context, m soundboard.Model) (*plate, error) {
	b, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(b)
	t.mu.Lock()
	for i, p := range t.plates {
		if p.sum == sum {
			copy(t.plates[1:i+1], t.plates[:i])
			t.plates[0] = p
			t.mu.Unlock()
			return p, nil
		}
	}
	t.mu.Unlock()
	p := &plate{sum: sum, turn: make(chan struct{}, 1)}
	p.ready, err = soundboard.Prepare(ctx, m, soundboard.Options{Progress: func(share float64) {
		if p.told != nil {
			p.told(share)
		}
	}})
	if err != nil {
		return nil, err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.plates = append([]*plate{p}, t.plates...)
	if len(t.plates) > mostPlates {
		t.plates = t.plates[:mostPlates]
	}
	return p, nil
}

// told is a plate whose progress goes to one caller.
type told struct {
	*plate
	progress func(float64)
}

// Solve waits for its turn at the plate.
func (t told) Solve(ctx context.Context, braces []soundboard.Brace, req soundboard.Request) (*soundboard.Result, error) {
	select {
	case t.turn <- struct{}{}:
		defer func() { <-t.turn }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	t.plate.told = t.progress
	return t.ready.Solve(ctx, braces, req)
}

// TopKept is TopOf if that takes no time: the answer is kept.
func (s *Shop) TopKept(d guitar.Values, modes int) (guitar.TopStudy, bool) {
	return s.tops.find(guitar.Sum(d), modes)
}

// Warm works out the tops that targets go by, one after another, so that the first page does not wait for them all. It ends with ctx.
func (s *Shop) Warm(ctx context.Context) {
	all, err := s.Store.List(ctx)
	if err != nil {
		return // the first page will say so
	}
	for _, r := range all {
		if r.Guitar.Start == guitar.FromDesign && guitar.WarmTop(ctx, r.Guitar.Design()) != nil {
			return
		}
	}
}

// FitTaps is guitar.FitTaps, in its turn.
func (s *Shop) FitTaps(ctx context.Context, d guitar.Values) (guitar.TapFit, error) {
	release, err := s.tops.enter(ctx)
	if err != nil {
		return guitar.TapFit{}, err
	}
	defer release()
	return guitar.FitTaps(ctx, d)
}

// WithTops lists whoever asks' guitars that have a body in their design, but for one, by name.
func (s *Shop) WithTops(ctx context.Context, but string) ([]Name, error) {
	all, err := s.Store.List(ctx)
	if err != nil {
		return nil, err
	}
	out := []Name{}
	for _, r := range s.own(ctx, all) {
		if r.Guitar.ID != but && r.Guitar.Start == guitar.FromDesign && guitar.HasBody(r.Guitar.Design()) {
			out = append(out, Name{r.Guitar.ID, r.Guitar.Name})
		}
	}
	slices.SortFunc(out, func(a, b Name) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out, nil
}
