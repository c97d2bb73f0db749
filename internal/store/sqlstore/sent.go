package sqlstore

import (
	"context"
	"database/sql"
	"errors"

	"fairset/craft/guitar"
	"fairset/internal/store"
)

var _ store.Keys = (*Store)(nil)

// AppendOnce adds an entry and its key in one transaction.
func (s *Store) AppendOnce(ctx context.Context, id string, revision int64, e guitar.Entry, k store.Key) (store.Record, error) {
	return s.append(ctx, id, revision, e, k)
}

// append adds an entry, with its key if it has one.
func (s *Store) append(ctx context.Context, id string, revision int64, e guitar.Entry, k store.Key) (store.Record, error) {
	return s.change(ctx, id, revision, "saving the entry", func(tx *Tx, now store.Record) (store.Record, error) {
		if k.Text != "" {
			switch _, err := sent(ctx, tx, k.Account, k.Text); {
			case err == nil:
				return now, store.Changed(now)
			case store.KindOf(err) != store.NotFound:
				return now, err
			}
		}
		next, err := s.appended(ctx, tx, now, e)
		if err != nil || k.Text == "" {
			return next, err
		}
		return next, s.insertSealed(ctx, tx, "sent", map[string]any{"account": k.Account, "sent_key": k.Text, "what": k.What, "guitar_id": id,
			"seq": int64(len(next.Guitar.Log)), "revision": now.Revision + 1})
	})
}

// Sent returns what an account used a key for.
func (s *Store) Sent(ctx context.Context, account, key string) (store.Sent, error) {
	var out store.Sent
	err := s.read(ctx, "looking for an entry", func(tx *sql.Tx) (err error) {
		out, err = sent(ctx, tx, account, key)
		return err
	})
	return out, err
}

func sent(ctx context.Context, q querier, account, key string) (store.Sent, error) {
	out := store.Sent{Key: store.Key{Account: account, Text: key}}
	err := q.QueryRowContext(ctx, "SELECT what, guitar_id, seq, revision FROM sent WHERE account = $1 AND sent_key = $2", account, key).Scan(&out.What, &out.Guitar, &out.Seq, &out.Revision)
	if errors.Is(err, sql.ErrNoRows) {
		return store.Sent{}, store.NotSent()
	}
	return out, err
}
