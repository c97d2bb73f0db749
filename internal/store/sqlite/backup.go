package sqlite

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	lib "modernc.org/sqlite/lib"

	"fairset/internal/place"
	"fairset/internal/store"
	"fairset/internal/store/sqlstore"
)

// sumSuffix names the file beside a copy that holds its SHA-256, in the form that sha256sum reads: a flipped bit
// that makes another figure of one, which no database sees, shows in a copy.
const sumSuffix = ".sha256"

// Contents is what was found in a whole shop file.
type Contents struct {
	Schema           int
	Guitars, Removed int // on the bench, and taken off it
	Entries          int
	Changed          time.Time // the last change of a guitar; zero for none
	Summed           bool      // it agrees with the SHA-256 beside it
	// Older files are brought up to date when they are opened; until then what is in them is not counted.
	Older bool
}

// Backup copies the shop as it is at one moment to a file that must not exist, while the shop is used. The copy
// is on the disk and was read again whole when Backup returns; after an error there is no copy.
func (s *Store) Backup(ctx context.Context, to string) (err error) {
	if to, err = filepath.Abs(to); err != nil {
		return store.Errorf(store.Invalid, err, "%q is not a file name that can be used.", to)
	}
	if _, err := os.Lstat(to); err == nil {
		return takenName(to, nil)
	}
	// VACUUM INTO fills an empty file, which is private from the start.
	f, err := os.CreateTemp(filepath.Dir(to), "."+filepath.Base(to)+".*.part")
	if err != nil {
		return place.Refused(to, err)
	}
	part := f.Name()
	defer func() { _ = os.Remove(part) }()
	if err := f.Close(); err != nil {
		return place.Refused(to, err)
	}
	db, err := open(name(s.path, false), 1)
	if err != nil {
		return err
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", part); err != nil {
		return s.notCopied(ctx, err, to)
	}
	if err := syncFile(part); err != nil {
		return place.Refused(to, err)
	}
	sum, err := summed(part)
	if err != nil {
		return place.Refused(to, err)
	}
	if _, err := Examine(ctx, part); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return store.Errorf(store.Damaged, err, "The copy at %s did not read back whole, so it was not kept. Check the shop with fairset check, and the disk.", to)
	}
	// The sum comes first: a copy is there only with its sum.
	if err := place.File(ctx, to+sumSuffix, func(w io.Writer) error {
		_, err := fmt.Fprintf(w, "%s  %s\n", sum, filepath.Base(to))
		return err
	}); err != nil {
		return err
	}
	if err := place.Name(part, to); err != nil {
		_ = os.Remove(to + sumSuffix)
		if errors.Is(err, fs.ErrExist) {
			return takenName(to, err)
		}
		return place.Refused(to, err)
	}
	return nil
}

func takenName(to string, cause error) error {
	return store.Errorf(store.Invalid, cause, "There is already a file %s, and it was left as it is: choose another name.", to)
}

// notCopied says why SQLite could not write a copy.
func (s *Store) notCopied(ctx context.Context, err error, to string) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	switch c := code(err); {
	case c == lib.SQLITE_CORRUPT || c == lib.SQLITE_NOTADB:
		return damaged(err, s.path)
	case store.KindOf(trouble(err, "", to)) == store.Full:
		return store.Errorf(store.Full, err, "There is no room left on the disk for a copy at %s. Nothing was left there, and the shop is as it was: make room, or choose another disk.", to)
	}
	return trouble(err, "copying the shop", to)
}

func summed(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// Examine reads a shop file that no program has open, such as a copy, without changing it: every page, every
// guitar, and its sum where one stands beside it. Errors are of kind NotFound, Foreign, Newer, Damaged or Invalid.
func Examine(ctx context.Context, path string) (Contents, error) {
	var c Contents
	abs, err := filepath.Abs(path)
	if err != nil {
		return c, store.Errorf(store.Invalid, err, "%q is not a file name that can be used.", path)
	}
	st, err := os.Stat(abs)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return c, store.Errorf(store.NotFound, err, "There is no file %s.", abs)
	case err != nil:
		return c, store.Errorf(store.Invalid, err, "%s cannot be read: %v.", abs, place.Bare(err))
	case st.IsDir():
		return c, store.Errorf(store.Invalid, nil, "%s is a folder; name a copy in it.", abs)
	}
	if w, err := os.Stat(abs + "-wal"); err == nil && w.Size() > 0 {
		return c, store.Errorf(store.Invalid, nil, "%s is a shop in use, or one that was not closed: %s-wal beside it belongs to it. Open it with --db, and make a copy of it with fairset backup.", abs, abs)
	}
	f, err := os.Open(abs)
	if err != nil {
		return c, store.Errorf(store.Invalid, err, "%s cannot be read: %v.", abs, place.Bare(err))
	}
	err = known(f, abs)
	f.Close()
	if err != nil {
		return c, err
	}
	if st.Size() == 0 {
		return c, store.Errorf(store.Damaged, nil, "%s is empty.", abs)
	}
	if line, err := os.ReadFile(abs + sumSuffix); err == nil {
		want, _, _ := strings.Cut(string(bytes.TrimSpace(line)), " ")
		got, err := summed(abs)
		if err != nil {
			return c, store.Errorf(store.Damaged, err, "%s cannot be read whole: %v.", abs, place.Bare(err))
		}
		if got != want {
			return c, store.Errorf(store.Damaged, fmt.Errorf("sha256 %s, want %s", got, want), "%s is not as it was written: its sum differs from the one in %s%s. Choose another copy.", abs, abs, sumSuffix)
		}
		c.Summed = true
	}
	db, err := open(name(abs, false, "query_only(1)")+"&mode=ro&immutable=1", 1)
	if err != nil {
		return c, err
	}
	defer db.Close()
	e := engine{abs}
	is, _, err := standing(ctx, db)
	if err != nil {
		return c, sqlstore.Trouble(e, err, "reading a copy of the shop")
	}
	c.Schema = is
	own, err := steps()
	switch {
	case err != nil:
		return c, err
	case is > len(own):
		return c, newer(abs, is, len(own))
	case is < 1:
		return c, damaged(errors.New("no schema number"), abs)
	}
	reader := sqlstore.New(e, sqlstore.Pools{Writer: db, Reader: db}, nil)
	if is < len(own) {
		c.Older = true
		return c, sqlstore.Trouble(e, everyPage(ctx, db, e), "reading a copy of the shop")
	}
	if err := reader.Check(ctx); err != nil {
		return c, err
	}
	on, err := reader.List(ctx)
	if err != nil {
		return c, err
	}
	off, err := reader.Removed(ctx)
	if err != nil {
		return c, err
	}
	c.Guitars, c.Removed = len(on), len(off)
	for _, r := range append(on, off...) {
		c.Entries += len(r.Guitar.Log)
		if r.Changed.After(c.Changed) {
			c.Changed = r.Changed
		}
	}
	return c, nil
}

// everyPage reads every page of a file of any schema.
func everyPage(ctx context.Context, db *sql.DB, e engine) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	return e.Whole(ctx, tx)
}

// Restored says what Restore did.
type Restored struct {
	Contents
	Aside string // where the shop that was there is kept now; "" when there was none
}

// Restore puts a copy in the place of the shop's file. The copy is examined first; the file that was there is kept
// beside it under another name; a shop that any program has open is refused as Busy. Until the last step the old
// file stands, and after an error it still does.
func Restore(ctx context.Context, from, to string, now time.Time) (Restored, error) {
	var r Restored
	to, err := filepath.Abs(to)
	if err != nil {
		return r, store.Errorf(store.Invalid, err, "%q is not a file name that can be used.", to)
	}
	if a, err := os.Stat(from); err == nil {
		if b, err := os.Stat(to); err == nil && os.SameFile(a, b) {
			return r, store.Errorf(store.Invalid, nil, "%s is the shop's file itself; choose a copy.", to)
		}
	}
	if r.Contents, err = Examine(ctx, from); err != nil {
		return r, err
	}
	st, err := os.Stat(to)
	switch {
	case err == nil && st.IsDir():
		return r, store.Errorf(store.Invalid, nil, "%s is a folder; the shop's file was to be named.", to)
	case err == nil && st.Size() > 0:
		release, err := alone(ctx, to)
		if err != nil {
			return r, err
		}
		defer release()
		if runtime.GOOS == "windows" {
			release() // an open file keeps its name there
		}
		if r.Aside, err = aside(ctx, to, now); err != nil {
			return r, err
		}
	case err != nil:
		// An empty file is one never written to; made here, it is private from the start.
		f, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return r, place.Refused(to, err)
		}
		f.Close()
	}
	return r, place.File(ctx, to, func(w io.Writer) error {
		f, err := os.Open(from)
		if err != nil {
			return store.Errorf(store.Invalid, err, "%s cannot be read: %v.", from, place.Bare(err))
		}
		defer f.Close()
		_, err = io.Copy(w, f)
		return err
	})
}

// alone makes sure that nobody else has the shop open, folds its log into it, and keeps others out until release.
// A file too damaged for that is let through.
func alone(ctx context.Context, path string) (release func(), err error) {
	db, err := open(name(path, false, "busy_timeout(1000)"), 1)
	if err != nil {
		return nil, err
	}
	var mode string
	// Every program that has the file open in its usual mode holds it, so this mode is had only alone.
	// source: SQLite documentation, "Write-Ahead Logging", section 3
	err = db.QueryRowContext(ctx, "PRAGMA journal_mode = DELETE").Scan(&mode)
	if err == nil && mode == "delete" {
		_, err = db.ExecContext(ctx, "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE")
	}
	switch c := code(err); {
	case c == lib.SQLITE_BUSY || c == lib.SQLITE_LOCKED || err == nil && mode != "delete":
		db.Close()
		return nil, store.Errorf(store.Busy, err, "%s is open in another program, such as fairset serve. Nothing was changed: stop it, then restore.", path)
	case err != nil && c != lib.SQLITE_CORRUPT && c != lib.SQLITE_NOTADB:
		db.Close()
		return nil, trouble(err, "closing the shop that is there", path)
	}
	return func() { db.Close() }, nil
}

// aside gives the shop's file a second name, and moves away what belongs to a damaged one.
func aside(ctx context.Context, path string, now time.Time) (string, error) {
	to := free(fmt.Sprintf("%s.before-%s", path, now.UTC().Format("20060102-150405")))
	err := os.Link(path, to)
	if err != nil { // a disk without links
		err = place.File(ctx, to, func(w io.Writer) error {
			f, err := os.Open(path)
			if err != nil {
				return err
			}
			defer f.Close()
			_, err = io.Copy(w, f)
			return err
		})
	}
	for _, s := range []string{"-wal", "-shm", "-journal"} {
		if merr := os.Rename(path+s, to+s); merr != nil && !errors.Is(merr, fs.ErrNotExist) {
			err = errors.Join(err, merr)
		}
	}
	if err != nil {
		return "", store.Errorf(store.ReadOnly, err, "The shop's file %s could not be kept aside as %s, so nothing was restored.", path, to)
	}
	return to, nil
}

// free returns base, or base with a number, whichever no file has.
func free(base string) string {
	to := base
	for n := 2; ; n++ {
		if _, err := os.Lstat(to); errors.Is(err, fs.ErrNotExist) {
			return to
		}
		to = fmt.Sprintf("%s-%d", base, n)
	}
}

// steps are the migrations this program knows.
func steps() ([]sqlstore.Migration, error) {
	files, err := fs.Sub(embedded, "migrations")
	if err != nil {
		return nil, err
	}
	return sqlstore.Migrations(files)
}

func newer(path string, is, knows int) error {
	return store.Errorf(store.Newer, nil, "%s was written by a newer program (schema %d; this one knows up to %d). It was left as it is: update this program, then open it again.", path, is, knows)
}

// known looks at the head of a file: ours, somebody else's, or cut off. An empty file is new.
func known(f *os.File, path string) error {
	if st, err := f.Stat(); err == nil && st.Size() == 0 {
		return nil // new, or made and never written to
	}
	foreign := func(cause error) error {
		return store.Errorf(store.Foreign, cause, "%s is not a shop file of this program. It was left as it is: choose another file. (A guitar or shop that was exported is imported, not opened.)", path)
	}
	head := make([]byte, 100)
	if _, err := io.ReadFull(f, head); err != nil {
		if strings.HasPrefix(string(head), sqliteMagic) {
			return damaged(err, path)
		}
		return foreign(err)
	}
	if !strings.HasPrefix(string(head), sqliteMagic) {
		return foreign(nil)
	}
	// source: SQLite file format, section 1.3: the application id stands at offset 68.
	if id := binary.BigEndian.Uint32(head[68:]); id != appID {
		return foreign(fmt.Errorf("application_id %#x", id))
	}
	return nil
}
