package sqlite

// The driver stays behind this file: how a connection is named, and what its error codes mean.

import (
	"database/sql"
	"errors"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"fairset/internal/store"
	"fairset/unit"
)

// name makes the data source name of a connection to path. Pragmas are given here because most of them hold
// for one connection only.
func name(path string, immediate bool, pragmas ...string) string {
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // C:/shop.db
	}
	v := url.Values{}
	for _, p := range append([]string{"busy_timeout(5000)", "foreign_keys(1)", "trusted_schema(0)", "secure_delete(1)"}, pragmas...) {
		v.Add("_pragma", p)
	}
	if immediate {
		v.Set("_txlock", "immediate")
	}
	return "file://" + (&url.URL{Path: slashed}).EscapedPath() + "?" + v.Encode()
}

// open opens a pool of at most n connections that are kept.
func open(dsn string, n int) (*sql.DB, error) {
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(n)
	db.SetMaxIdleConns(n)
	return db, nil
}

// code returns SQLite's primary result code, or -1.
func code(err error) int {
	var e *driver.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return -1
}

// trouble turns a failure of the database or the disk into an error a person can act on.
func trouble(err error, doing unit.Text, path string) error {
	switch code(err) {
	case lib.SQLITE_ERROR:
		if strings.Contains(err.Error(), "unsupported file format") { // what the head of the file says of it
			return damaged(err, path)
		}
	case lib.SQLITE_FULL:
		return full(err, path)
	case lib.SQLITE_READONLY, lib.SQLITE_PERM, lib.SQLITE_AUTH:
		return readOnly(err, path)
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return damaged(err, path)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return store.Errorf(store.Busy, err, "Another program is writing to %s and did not finish within 5 seconds. Nothing was saved: try again, and close the other program if it goes on.", path)
	case lib.SQLITE_IOERR, lib.SQLITE_CANTOPEN:
		// SQLite does not say why the disk refused; writing beside the file tells.
		switch probe := probe(filepath.Dir(path)); {
		case probe == nil:
		case errors.Is(probe, fs.ErrPermission), errors.Is(probe, syscall.EROFS):
			return readOnly(err, path)
		default:
			return full(err, path)
		}
	}
	return store.Errorf(store.Internal, err, "Something went wrong while %v; nothing was saved. The log says more.", doing)
}

func full(err error, path string) error {
	return store.Errorf(store.Full, err, "There is no room left on the disk that holds %s. Nothing of this was saved, and everything saved before is safe: make room, then enter it again.", path)
}

func readOnly(err error, path string) error {
	return store.Errorf(store.ReadOnly, err, "%s cannot be written: the file, its folder or the disk is read-only for this user. Nothing was saved: allow writing there, or choose another place for the shop's file.", path)
}

func damaged(err error, path string) error {
	return store.Errorf(store.Damaged, err, "%s is damaged and was left as it is. Take a copy of it first. Then put a backup in its place (fairset backup list, fairset backup restore), or import an exported shop file into a new one.", path)
}

// probe tries to write a little in a folder and takes it away again.
func probe(dir string) error {
	f, err := os.CreateTemp(dir, ".fairset-probe-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	defer f.Close()
	if _, err := f.Write(make([]byte, 64<<10)); err != nil {
		return err
	}
	return f.Sync()
}
