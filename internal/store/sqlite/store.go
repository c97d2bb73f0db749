// Package sqlite keeps a shop in one SQLite file. SQL that only SQLite understands stays in this package; the
// queries are sqlstore's.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"fairset/internal/store"
	"fairset/internal/store/sqlstore"
)

// Store is a shop in one file. One connection writes, so that saves wait their turn instead of failing; a
// few others read and cannot write.
type Store struct {
	*sqlstore.Store
	path           string
	now            func() time.Time
	writer, reader *sql.DB
}

var (
	_ store.Store  = (*Store)(nil)
	_ store.People = (*Store)(nil)
)

// Path returns the file the shop is kept in.
func (s *Store) Path() string { return s.path }

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
func (e engine) Trouble(err error, doing string) error { return trouble(err, doing, e.path) }

// Damaged is the error for a record that cannot be used.
func (e engine) Damaged(cause error) error { return damaged(cause, e.path) }

// Again is never so: the one writing connection waits for the file instead.
func (engine) Again(error) bool { return false }

// Whole reads every page.
func (e engine) Whole(ctx context.Context, tx *sql.Tx) error {
	var says string
	if err := tx.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&says); err != nil {
		return err
	}
	if says != "ok" {
		return damaged(errors.New(says), e.path)
	}
	return nil
}
