package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"math"
	"strings"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/unit"
)

var _ store.People = (*Store)(nil)

const accountColumns = "id, name, role, secret, wrong, locked, made"

func scanAccount(row interface{ Scan(...any) error }) (store.Account, error) {
	var a store.Account
	var role, made string
	if err := row.Scan(&a.ID, &a.Name, &role, &a.Secret, &a.Wrong, &a.Locked, &made); err != nil {
		return a, err
	}
	a.Role = store.Role(role)
	var err error
	a.Made, err = readTime(made)
	return a, err
}

// Accounts returns every account, by name.
func (s *Store) Accounts(ctx context.Context) ([]store.Account, error) {
	out := []store.Account{}
	err := s.read(ctx, "reading the accounts", func(tx *sql.Tx) error {
		out = out[:0]
		rows, err := tx.QueryContext(ctx, "SELECT "+accountColumns+" FROM account ORDER BY role DESC, length(name), folded")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			a, err := scanAccount(rows)
			if err != nil {
				return err
			}
			out = append(out, a)
		}
		return rows.Err()
	})
	return out, err
}

// Account returns one account.
func (s *Store) Account(ctx context.Context, id string) (store.Account, error) {
	var a store.Account
	err := s.read(ctx, "reading the account", func(tx *sql.Tx) (err error) {
		a, err = s.account(ctx, tx, id)
		return err
	})
	return a, err
}

func (s *Store) account(ctx context.Context, q querier, id string) (store.Account, error) {
	a, err := scanAccount(q.QueryRowContext(ctx, "SELECT "+accountColumns+" FROM account WHERE id = $1", id))
	if errors.Is(err, sql.ErrNoRows) {
		return a, store.NoAccount(id)
	}
	return a, err
}

// AddAccount keeps a new account.
func (s *Store) AddAccount(ctx context.Context, a store.Account) (store.Account, error) {
	a, err := store.CheckAccount(a)
	if err != nil {
		return a, err
	}
	err = s.write(ctx, "making the account", func(tx *Tx) error {
		folded := strings.ToLower(a.Name)
		var n int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM account WHERE folded = $1", folded).Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return store.Errorf(store.Invalid, nil, "There is already an account called %q.", a.Name)
		}
		for a.ID == "" {
			id := store.NewID()
			if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM account WHERE id = $1", id).Scan(&n); err != nil {
				return err
			}
			if n == 0 {
				a.ID = id
			}
		}
		a.Made = store.Moment(s.now())
		_, err := tx.ExecContext(ctx, "INSERT INTO account (id, name, folded, role, secret, wrong, locked, made) VALUES ($1, $2, $3, $4, $5, 0, FALSE, $6)",
			a.ID, a.Name, folded, string(a.Role), a.Secret, writeTime(a.Made))
		return err
	})
	return a, err
}

// onAccount runs a statement that must meet one account.
func (s *Store) onAccount(ctx context.Context, doing unit.Text, id string, do func(tx *Tx) error) error {
	return s.write(ctx, doing, func(tx *Tx) error {
		if _, err := s.account(ctx, tx, id); err != nil {
			return err
		}
		return do(tx)
	})
}

// SetSecret gives an account another secret and ends its sessions.
func (s *Store) SetSecret(ctx context.Context, id, secret string) error {
	return s.onAccount(ctx, "changing the passphrase", id, func(tx *Tx) error {
		if _, err := tx.ExecContext(ctx, "UPDATE account SET secret = $1, wrong = 0, locked = FALSE WHERE id = $2", secret, id); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "DELETE FROM session WHERE account = $1", id)
		return err
	})
}

// Tried counts a try to sign in.
func (s *Store) Tried(ctx context.Context, id string, right bool, lockAt int) (store.Account, error) {
	var a store.Account
	err := s.onAccount(ctx, "counting the try", id, func(tx *Tx) (err error) {
		if a, err = s.account(ctx, tx, id); err != nil {
			return err
		}
		if right {
			a.Wrong = 0
		} else {
			a.Wrong++
			a.Locked = a.Locked || lockAt > 0 && a.Wrong >= lockAt
		}
		_, err = tx.ExecContext(ctx, "UPDATE account SET wrong = $1, locked = $2 WHERE id = $3", a.Wrong, a.Locked, id)
		return err
	})
	return a, err
}

// Unlock lifts a lock.
func (s *Store) Unlock(ctx context.Context, id string) error {
	return s.onAccount(ctx, "lifting the lock", id, func(tx *Tx) error {
		_, err := tx.ExecContext(ctx, "UPDATE account SET wrong = 0, locked = FALSE WHERE id = $1", id)
		return err
	})
}

// Forget removes an account and its name from everything.
func (s *Store) Forget(ctx context.Context, id, neutral string) (int, error) {
	changed := 0
	err := s.write(ctx, "removing the account", func(tx *Tx) error {
		changed = 0
		a, err := s.account(ctx, tx, id)
		if err != nil {
			return err
		}
		tx.changed(store.Change{})
		// The guitars' revisions rise, so that no page goes on showing the name.
		touched, err := ids(ctx, tx, "SELECT DISTINCT guitar_id FROM entry WHERE lower(bench) = lower($1)", a.Name)
		if err != nil {
			return err
		}
		for _, g := range touched {
			if _, err := tx.ExecContext(ctx, "UPDATE guitar SET revision = revision + 1 WHERE id = $1", g); err != nil {
				return err
			}
		}
		for _, q := range []struct {
			sql   string
			args  []any
			count bool
		}{
			{"UPDATE entry SET bench = $1 WHERE lower(bench) = lower($2)", []any{neutral, a.Name}, true},
			{"UPDATE event SET who = $1 WHERE lower(who) = lower($2)", []any{neutral, a.Name}, true},
			{"UPDATE event SET did = replace(did, $2, $1) WHERE replace(did, $2, $1) <> did", []any{store.Quoted(neutral), store.Quoted(a.Name)}, true},
			{"UPDATE guitar SET owner = '' WHERE owner = $1", []any{id}, false},
			{"UPDATE photo SET bench = $1 WHERE lower(bench) = lower($2)", []any{neutral, a.Name}, true},
			{"UPDATE photo SET account = '' WHERE account = $1", []any{id}, false},
			{"DELETE FROM session WHERE account = $1", []any{id}, false},
			{"DELETE FROM sent WHERE account = $1", []any{id}, false},
			{"DELETE FROM account WHERE id = $1", []any{id}, false},
		} {
			res, err := tx.ExecContext(ctx, q.sql, q.args...)
			if err != nil {
				return err
			}
			if n, err := res.RowsAffected(); err == nil && q.count {
				changed += int(n)
			}
		}
		return nil
	})
	return changed, err
}

const sessionColumns = "hash, account, kind, label, made, seen, ends"

func scanSession(row interface{ Scan(...any) error }) (store.Session, error) {
	var v store.Session
	var kind, made, seen, ends string
	if err := row.Scan(&v.Hash, &v.Account, &kind, &v.Label, &made, &seen, &ends); err != nil {
		return v, err
	}
	v.Kind = store.SessionKind(kind)
	var errs [3]error
	v.Made, errs[0] = readTime(made)
	v.Seen, errs[1] = readTime(seen)
	if ends != "" {
		v.Ends, errs[2] = readTime(ends)
	}
	return v, errors.Join(errs[:]...)
}

// AddSession keeps a session.
func (s *Store) AddSession(ctx context.Context, v store.Session) error {
	ends := ""
	if !v.Ends.IsZero() {
		ends = writeTime(v.Ends)
	}
	return s.onAccount(ctx, "signing in", v.Account, func(tx *Tx) error {
		// Those that ended by themselves are swept up here, where somebody waits anyway.
		if _, err := tx.ExecContext(ctx, "DELETE FROM session WHERE ends <> '' AND ends < $1", writeTime(s.now())); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO session ("+sessionColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7)",
			v.Hash, v.Account, string(v.Kind), v.Label, writeTime(v.Made), writeTime(v.Seen), ends)
		return err
	})
}

// Session finds a session by its hash.
func (s *Store) Session(ctx context.Context, hash string) (store.Session, error) {
	var v store.Session
	err := s.read(ctx, "reading the session", func(tx *sql.Tx) (err error) {
		v, err = scanSession(tx.QueryRowContext(ctx, "SELECT "+sessionColumns+" FROM session WHERE hash = $1", hash))
		if errors.Is(err, sql.ErrNoRows) {
			return store.Errorf(store.NotFound, nil, "There is no such session.")
		}
		return err
	})
	return v, err
}

// Seen marks that a session was used.
func (s *Store) Seen(ctx context.Context, hash string, at time.Time) error {
	return s.exec(ctx, "marking the session", "UPDATE session SET seen = $1 WHERE hash = $2", writeTime(at), hash)
}

// EndSession ends one session.
func (s *Store) EndSession(ctx context.Context, hash string) error {
	return s.exec(ctx, "signing out", "DELETE FROM session WHERE hash = $1", hash)
}

// EndSessions ends every session of an account but one.
func (s *Store) EndSessions(ctx context.Context, account, except string) error {
	return s.exec(ctx, "signing out", "DELETE FROM session WHERE account = $1 AND hash <> $2", account, except)
}

func (s *Store) exec(ctx context.Context, doing unit.Text, q string, args ...any) error {
	return s.write(ctx, doing, func(tx *Tx) error {
		_, err := tx.ExecContext(ctx, q, args...)
		return err
	})
}

// Sessions lists the sessions of an account.
func (s *Store) Sessions(ctx context.Context, account string) ([]store.Session, error) {
	out := []store.Session{}
	err := s.read(ctx, "reading the sessions", func(tx *sql.Tx) error {
		out = out[:0]
		rows, err := tx.QueryContext(ctx, "SELECT "+sessionColumns+" FROM session WHERE account = $1 ORDER BY made DESC, hash", account)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			v, err := scanSession(rows)
			if err != nil {
				return err
			}
			out = append(out, v)
		}
		return rows.Err()
	})
	return out, err
}

// Note keeps an event.
func (s *Store) Note(ctx context.Context, e store.Event) error {
	if len(e.Did) > store.MaxEventText {
		e.Did = strings.ToValidUTF8(e.Did[:store.MaxEventText], "") + "…"
	}
	return s.exec(ctx, "writing the trail", "INSERT INTO event (at, who, did, guitar) VALUES ($1, $2, $3, $4)", writeTime(e.At), e.Who, e.Did, e.Guitar)
}

// Events returns the newest events.
func (s *Store) Events(ctx context.Context, before int64, n int) ([]store.Event, error) {
	out := []store.Event{}
	if before == 0 {
		before = math.MaxInt64
	}
	err := s.read(ctx, "reading the trail", func(tx *sql.Tx) error {
		out = out[:0]
		rows, err := tx.QueryContext(ctx, "SELECT seq, at, who, did, guitar FROM event WHERE seq < $1 ORDER BY seq DESC LIMIT $2", before, n)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var e store.Event
			var at string
			if err := rows.Scan(&e.Seq, &at, &e.Who, &e.Did, &e.Guitar); err != nil {
				return err
			}
			if e.At, err = readTime(at); err != nil {
				return err
			}
			out = append(out, e)
		}
		return rows.Err()
	})
	return out, err
}

// CreateFor keeps a new guitar that belongs to an account.
func (s *Store) CreateFor(ctx context.Context, g guitar.Guitar, account string) (store.Record, error) {
	return s.create(ctx, g, account)
}

// Assign gives a guitar to an account.
func (s *Store) Assign(ctx context.Context, guitarID, account string) (store.Record, error) {
	var r store.Record
	err := s.writeGuitar(ctx, "giving the guitar to another bench", guitarID, func(tx *Tx) (err error) {
		if r, err = s.get(ctx, tx.Tx, guitarID); err != nil {
			return err
		}
		if account != "" {
			if _, err := s.account(ctx, tx, account); err != nil {
				return err
			}
		}
		r.Owner = account
		tx.changed(store.Change{ID: guitarID, Revision: r.Revision})
		_, err = tx.ExecContext(ctx, "UPDATE guitar SET owner = $1 WHERE id = $2", account, guitarID)
		return err
	})
	if err != nil {
		return store.Record{}, err
	}
	s.remember(r)
	return r, nil
}
