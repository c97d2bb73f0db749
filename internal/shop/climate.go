package shop

import (
	"context"
	"errors"
	"time"

	"fairset/craft/climate"
	"fairset/craft/wood"
	"fairset/internal/store"
	"fairset/unit"
)

// ClimateImport is what became of a logger's file.
type ClimateImport struct {
	climate.Import
	store.ClimateAdded
}

// AddClimate keeps one reading of the air, taken now when it says no time. Errors are *unit.RangeError or a
// store's.
func (s *Shop) AddClimate(ctx context.Context, r climate.Reading) (climate.Reading, store.ClimateAdded, error) {
	if r.At.IsZero() {
		r.At = s.now()
	}
	r, err := r.Normal()
	if err != nil {
		return r, store.ClimateAdded{}, err
	}
	got, err := s.Store.AddClimate(ctx, []climate.Reading{r})
	return r, got, err
}

// ImportClimate keeps the readings of a logger's file that are not here yet. Errors are *climate.Question when the
// file can be read in two ways, *climate.FileError, or a store's; then nothing is kept.
func (s *Shop) ImportClimate(ctx context.Context, data []byte, o climate.Options) (ClimateImport, error) {
	if o.Zone == nil {
		o.Zone = time.Local
	}
	var out ClimateImport
	var err error
	if out.Import, err = climate.Parse(data, o); err != nil {
		return out, err
	}
	out.ClimateAdded, err = s.Store.AddClimate(ctx, out.Readings)
	return out, err
}

// ExportClimate writes every reading as CSV that ImportClimate takes.
func (s *Shop) ExportClimate(ctx context.Context) ([]byte, error) {
	all, err := s.Store.Climate(ctx, time.Time{}, time.Time{})
	if err != nil {
		return nil, err
	}
	return climate.Encode(all), nil
}

// RemoveClimate takes away a reading that was typed wrong.
func (s *Shop) RemoveClimate(ctx context.Context, at time.Time, place string) error {
	return s.Store.RemoveClimate(ctx, at, place)
}

// ClimateAsk says what to show of the log.
type ClimateAsk struct {
	From, Before time.Time // zero is open
	Place        string    // "" and Any false: the place with most readings
	Named        bool      // Place counts even when it is empty
	Band         climate.Band
	Thickness    unit.Length // of the wood that follows the air; 0 for a top, 2.8 mm
	Sealed       bool        // it is open to the air on one face only
}

// usualThickness is a top's: common practice, no source.
const usualThickness = 2.8 * unit.MM

// ClimateView is the log of one place with what it means for wood.
type ClimateView struct {
	Places    []string
	Place     string
	Points    []climate.Point
	Band      climate.Band
	Summary   climate.Summary
	Thickness unit.Length
	Sealed    bool
	Lag       time.Duration
}

// Climate returns the log of one place. Errors are *unit.RangeError naming band or thickness, or a store's.
func (s *Shop) Climate(ctx context.Context, ask ClimateAsk) (ClimateView, error) {
	v := ClimateView{Band: ask.Band, Thickness: ask.Thickness, Sealed: ask.Sealed}
	if v.Band == (climate.Band{}) {
		v.Band = climate.UsualBand()
	}
	if b := v.Band; !(b.Low >= 1 && b.High <= 99 && b.Low < b.High) {
		return v, &unit.RangeError{Limit: unit.Limit{Field: "band", Label: unit.Say("band of humidity"), Kind: unit.KindRatio, Min: 1, Max: 99}, Value: b.Low, Why: unit.Say("the lower end must lie below the upper")}
	}
	if v.Thickness == 0 {
		v.Thickness = usualThickness
	}
	lag, err := wood.Lag(v.Thickness, v.Sealed)
	if err != nil {
		return v, err
	}
	v.Lag = time.Duration(lag * float64(time.Second))
	all, err := s.Store.Climate(ctx, ask.From, ask.Before)
	if err != nil {
		return v, err
	}
	v.Places = climate.Places(all)
	if v.Place = ask.Place; v.Place == "" && !ask.Named && len(v.Places) > 0 {
		v.Place = v.Places[0]
	}
	v.Points = climate.Follow(climate.Of(all, v.Place), v.Lag)
	v.Summary = climate.Summarise(v.Points, v.Band)
	return v, nil
}

// AskedOf returns the question of a file that can be read two ways.
func AskedOf(err error) (*climate.Question, bool) {
	var q *climate.Question
	ok := errors.As(err, &q)
	return q, ok
}
