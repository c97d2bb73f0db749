// Package sqlite keeps a shop in one SQLite file. SQL that only SQLite understands stays in this package; the
// queries are sqlstore's.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"time"

	"fairset/internal/store"
	"fairset/internal/store/sqlstore"
	"fairset/unit"
)

// Store is a shop in one file. One connection writes, so that saves wait their turn instead of failing; a
// few others read and cannot write.
type Store struct {
	*sqlstore.Store
	path           string
	now            func() time.Time
	writer, reader *sql.DB

	watched sync.Once
	closed  chan struct{}
	closing sync.Once
	looking sync.WaitGroup
}

var (
	_ store.Store  = (*Store)(nil)
	_ store.People = (*Store)(nil)
	_ store.Photos = (*Store)(nil)
)

// Path returns the file the shop is kept in.
func (s *Store) Path() string { return s.path }

// Close closes the file.
func (s *Store) Close() error {
	s.closing.Do(func() { close(s.closed) })
	s.looking.Wait()
	return s.Store.Close()
}

// RemovePhotos erases photos. What is deleted is overwritten in the file (secure_delete); what the log beside the
// file still had of it goes now, or when whoever reads the shop at this moment has ended.
func (s *Store) RemovePhotos(ctx context.Context, ids ...string) (int, error) {
	n, err := s.Store.RemovePhotos(ctx, ids...)
	if err != nil || n == 0 {
		return n, err
	}
	_, err = s.writer.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	return n, sqlstore.Trouble(engine{s.path}, err, "erasing the photos")
}

// lookEvery is how often the file is looked at for what another program wrote, while somebody watches.
const lookEvery = time.Second

// Watch tells of changes: those made through this store at once, those another program made to the file within
// a second or so, as that anything may have changed.
func (s *Store) Watch(ctx context.Context) (<-chan store.Change, error) {
	s.watched.Do(func() {
		was := s.version()
		s.looking.Go(func() { s.look(was) })
	})
	return s.Store.Watch(ctx)
}

// version is a number that differs once somebody else wrote; -1 when it cannot be had now. Only the writer's
// connection can say so: to it nobody of this program is somebody else.
// source: SQLite pragma documentation: data_version changes when another connection commits
func (s *Store) version() int64 {
	v := int64(-1)
	if err := s.writer.QueryRow("PRAGMA data_version").Scan(&v); err != nil {
		return -1
	}
	return v
}

// look tells watchers when somebody else wrote.
func (s *Store) look(was int64) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		select {
		case <-s.closed:
			return
		case <-tick.C:
		}
		if now := s.version(); now >= 0 && now != was {
			s.Heard(store.Change{})
			was = now
		}
	}
}

// close closes what is open of a store that did not get ready.
func (s *Store) close() {
	for _, db := range []*sql.DB{s.reader, s.writer} {
		if db != nil {
			db.Close()
		}
	}
	s.reader, s.writer = nil, nil
}

// engine is SQLite's part of the queries.
type engine struct{ path string }

// Trouble turns a failure of the database or the disk into an error a person can act on.
func (e engine) Trouble(err error, doing unit.Text) error { return trouble(err, doing, e.path) }

// Damaged is the error for a record that cannot be used.
func (e engine) Damaged(cause error) error { return damaged(cause, e.path) }

// Again is never so: the one writing connection waits for the file instead.
func (engine) Again(error) bool { return false }

// Hold has nothing to do: every transaction that writes holds the whole file from its beginning.
func (engine) Hold(context.Context, *sql.Tx, string) error { return nil }

// Announce has nobody to tell: other programs look at the file.
func (engine) Announce(context.Context, *sql.Tx, []store.Change) (string, error) { return "", nil }

// Settle knows that a commit which fails leaves the file as it was.
func (engine) Settle(context.Context, string, error) sqlstore.Outcome { return sqlstore.Failed }

// Lost is never asked for.
func (e engine) Lost(cause error) error { return e.Trouble(cause, "saving") }

// Whole reads every page, and what no row holds.
func (e engine) Whole(ctx context.Context, tx *sql.Tx) error {
	var says string
	if err := tx.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&says); err != nil {
		return err
	}
	if says != "ok" {
		return damaged(errors.New(says), e.path)
	}
	steps, err := steps()
	if err != nil {
		return err
	}
	return unsound(sound(ctx, tx, steps), e.path)
}

// Long lets rows come before those they refer to.
func (engine) Long(ctx context.Context, tx *sql.Tx) error {
	_, err := tx.ExecContext(ctx, "PRAGMA defer_foreign_keys = 1")
	return err
}

// Counted has nothing to do: SQLite counts on from the highest number it was given.
func (engine) Counted(context.Context, *sql.Tx) error { return nil }

// Tables returns every table. SQLite keeps values in the shared form already.
func (engine) Tables(ctx context.Context, tx *sql.Tx) ([]sqlstore.Table, error) {
	// source: SQLite documentation: names that begin with sqlite_ are its own
	rows, err := tx.QueryContext(ctx, `SELECT t.name, c.name, c.pk FROM sqlite_schema t, pragma_table_info(t.name) c
		WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY t.name, c.pk, c.cid`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []sqlstore.Table
	for rows.Next() {
		var table, column string
		var key int
		if err := rows.Scan(&table, &column, &key); err != nil {
			return nil, err
		}
		if len(out) == 0 || out[len(out)-1].Name != table {
			out = append(out, sqlstore.Table{Name: table})
		}
		t := &out[len(out)-1]
		t.Columns = append(t.Columns, sqlstore.Column{Name: column, Read: column, Write: "%s"})
		if key > 0 {
			t.Key = append(t.Key, column)
		}
	}
	return out, rows.Err()
}
