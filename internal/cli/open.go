package cli

import (
	"errors"
	"os"
	"path/filepath"

	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/store/filestore"
	"fairset/internal/store/sqlite"
)

// open opens the guitar file that arg names, or the shop.
func (a *app) open(arg string) (*shop.Shop, error) {
	if isFile(arg) {
		if _, err := os.Stat(arg); errors.Is(err, os.ErrNotExist) {
			return nil, &hinted{store.Errorf(store.NotFound, err, "There is no file %s.", arg), "fairset new --out makes a guitar file"}
		}
		f, err := filestore.Open(arg)
		if err != nil {
			return nil, err
		}
		return shop.New(f), nil
	}
	path, err := a.dbPath()
	if err != nil {
		return nil, err
	}
	if a.db == "" && a.getenv("FAIRSET_DB") == "" {
		// The usual place is ours to make; a folder that somebody named is not.
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, &hinted{store.Errorf(store.ReadOnly, err, "The folder %s cannot be made: %v.", filepath.Dir(path), place.Bare(err)), "say where the shop's file is with --db or the variable FAIRSET_DB"}
		}
	}
	db, err := sqlite.Open(a.ctx, path, sqlite.Options{})
	if err != nil {
		return nil, err
	}
	return shop.New(db), nil
}
