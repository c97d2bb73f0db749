package move

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"

	"fairset/internal/backup"
	"fairset/internal/place"
	"fairset/internal/store"
	"fairset/internal/store/postgres"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/sqlstore"
)

// Source returns what copies a shop to a file, while the shop is used. Errors are of kind Invalid.
func Source(s store.Store) (backup.Source, error) {
	switch s := s.(type) {
	case *sqlite.Store:
		return s, nil
	case *postgres.Store:
		return database{s}, nil
	}
	return nil, store.Errorf(store.Invalid, nil, "Only a shop's file or a database can be copied.")
}

// database copies a shop in a database to a file, such as the shop's file copies itself to.
type database struct{ *postgres.Store }

// Backup reads the shop as it is at one moment into a file, compares every row and every guitar of the two, and keeps the
// file as a copy of a shop's file is kept: read back whole, with its sum beside it. Benches go on saving meanwhile.
func (d database) Backup(ctx context.Context, to string) error {
	work, err := os.MkdirTemp(filepath.Dir(to), "."+filepath.Base(to)+".*.part")
	if err != nil {
		return place.Refused(to, err)
	}
	defer os.RemoveAll(work)
	file, err := sqlite.Open(ctx, filepath.Join(work, "shop.db"), sqlite.Options{})
	if err != nil {
		return err
	}
	if _, err := sqlstore.Snapshot(ctx, d.Store.Store, file.Store); err != nil {
		return errors.Join(err, file.Close())
	}
	return errors.Join(file.Backup(ctx, to), file.Close())
}

// Restored says what Restore put back.
type Restored struct {
	sqlite.Contents
	Moved Moved
}

// Restore puts a copy into an empty database. The copy is examined first and stays as it is, also one that an older
// program made; what arrived is compared with it before it is kept. Errors are those of sqlite.Examine and Move.
func Restore(ctx context.Context, copied string, to *postgres.Store) (Restored, error) {
	var r Restored
	var err error
	if r.Contents, err = sqlite.Examine(ctx, copied); err != nil {
		return r, err
	}
	work, err := os.MkdirTemp("", "fairset-restore-")
	if err != nil {
		return r, place.Refused(os.TempDir(), err)
	}
	defer os.RemoveAll(work)
	path := filepath.Join(work, "shop.db")
	if err := place.File(ctx, path, func(w io.Writer) error {
		f, err := os.Open(copied)
		if err != nil {
			return store.Errorf(store.Invalid, err, "%s cannot be read: %v.", copied, place.Bare(err))
		}
		defer f.Close()
		_, err = io.Copy(w, f)
		return err
	}); err != nil {
		return r, err
	}
	from, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return r, err
	}
	defer from.Close()
	r.Moved, err = Move(ctx, from, to)
	return r, err
}
