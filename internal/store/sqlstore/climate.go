package sqlstore

import (
	"context"
	"database/sql"
	"math"
	"time"

	"fairset/craft/climate"
	"fairset/internal/store"
)

// AddClimate keeps readings of the air that are not here yet.
func (s *Store) AddClimate(ctx context.Context, rs []climate.Reading) (store.ClimateAdded, error) {
	rs, err := store.NormalClimate(rs)
	if err != nil {
		return store.ClimateAdded{}, err
	}
	var out store.ClimateAdded
	err = s.write(ctx, "saving the air", func(tx *Tx) error {
		out = store.ClimateAdded{}
		insert, err := tx.PrepareContext(ctx, "INSERT INTO climate (at, place, temperature_c, humidity_percent) VALUES ($1, $2, $3, $4) ON CONFLICT (at, place) DO NOTHING")
		if err != nil {
			return err
		}
		defer insert.Close()
		for _, r := range rs {
			res, err := insert.ExecContext(ctx, r.At.Unix(), r.Place, r.Temperature, r.Humidity)
			if err != nil {
				return err
			}
			if n, err := res.RowsAffected(); err != nil {
				return err
			} else if n > 0 {
				out.Added++
				continue
			}
			here := r
			if err := tx.QueryRowContext(ctx, "SELECT temperature_c, humidity_percent FROM climate WHERE at = $1 AND place = $2", r.At.Unix(), r.Place).Scan(&here.Temperature, &here.Humidity); err != nil {
				return err
			}
			if climate.Same(here, r) {
				out.Same++
			} else {
				out.Differ = append(out.Differ, r)
			}
		}
		return nil
	})
	if err != nil {
		return store.ClimateAdded{}, err
	}
	return out, nil
}

// Climate returns the readings from a time on and before another, in order of time; a zero time is open.
func (s *Store) Climate(ctx context.Context, from, before time.Time) ([]climate.Reading, error) {
	lo, hi := int64(math.MinInt64), int64(math.MaxInt64)
	if !from.IsZero() {
		lo = from.Unix()
	}
	if !before.IsZero() {
		hi = before.Unix()
	}
	out := []climate.Reading{}
	err := s.read(ctx, "reading the air", func(tx *sql.Tx) error {
		out = out[:0]
		return s.climate(ctx, tx, "WHERE at >= $1 AND at < $2 ORDER BY at, place", []any{lo, hi}, func(r climate.Reading) error {
			out = append(out, r)
			return nil
		})
	})
	return out, err
}

// climate hands on readings of the air; where says which.
func (s *Store) climate(ctx context.Context, tx *sql.Tx, where string, args []any, do func(climate.Reading) error) error {
	return s.rows(ctx, tx, "climate", where, args, func(v sealedRow) error {
		return do(climate.Reading{At: time.Unix(v.whole("at"), 0).UTC(), Place: v.text("place"), Temperature: v.number("temperature_c"), Humidity: v.number("humidity_percent")})
	})
}

// RemoveClimate takes a reading away, as one that was typed wrong.
func (s *Store) RemoveClimate(ctx context.Context, at time.Time, place string) error {
	return s.write(ctx, "removing the reading", func(tx *Tx) error {
		res, err := tx.ExecContext(ctx, "DELETE FROM climate WHERE at = $1 AND place = $2", at.Unix(), place)
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n > 0 {
			return err
		}
		return store.NoReading(at, place)
	})
}
