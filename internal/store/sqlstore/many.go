package sqlstore

import (
	"context"

	"fairset/internal/store"
	"fairset/unit"
)

// CreateAll keeps all of the guitars or none.
func (s *Store) CreateAll(ctx context.Context, gs []store.New) ([]store.Record, error) {
	for i := range gs {
		g, err := store.NormalGuitar(gs[i].Guitar)
		if err != nil {
			return nil, err
		}
		gs[i].Guitar = g
	}
	return s.all(ctx, "making the guitars", len(gs), func(tx *Tx, i int) (store.Record, error) {
		return s.made(ctx, tx, gs[i].Guitar, gs[i].Owner)
	})
}

// AppendAll adds all of the entries or none.
func (s *Store) AppendAll(ctx context.Context, as []store.Addition) ([]store.Record, error) {
	return s.all(ctx, "saving the entries", len(as), func(tx *Tx, i int) (store.Record, error) {
		return s.changed(ctx, tx, as[i].ID, as[i].Revision, func(tx *Tx, now store.Record) (store.Record, error) {
			return s.appended(ctx, tx, now, as[i].Entry)
		})
	})
}

// all does n things in one transaction.
func (s *Store) all(ctx context.Context, doing unit.Text, n int, do func(tx *Tx, i int) (store.Record, error)) ([]store.Record, error) {
	var out []store.Record
	err := s.write(ctx, doing, func(tx *Tx) error {
		out = make([]store.Record, n)
		for i := range out {
			r, err := do(tx, i)
			if err != nil {
				return err
			}
			out[i] = r
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, r := range out {
		s.remember(r)
	}
	return out, nil
}
