// Package filestore keeps one guitar in one guitar file, for work without a shop: the file is the record, and
// a change replaces it whole or not at all.
package filestore

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/internal/place"
	"fairset/internal/store"
	"fairset/unit"
)

// Store is one guitar file. The revision of its guitar is made from the file's bytes, so a change by hand or
// by another program counts as a change too.
type Store struct {
	path string
	hub  store.Hub
}

var _ store.Store = (*Store)(nil)

// removedSuffix marks a guitar file that was put aside.
const removedSuffix = ".removed"

// unnamed is the id of a guitar whose file gives none; the first change writes a real one.
const unnamed = "unnamed"

// Open returns the store for the guitar file at path, which need not exist yet. A file that cannot be read as
// a guitar file is refused and left as it is.
func Open(path string) (*Store, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, store.Errorf(store.Invalid, err, "%q is not a file name that can be used.", path)
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		abs = real // a change replaces the file, not the link to it
	}
	s := &Store{path: abs}
	if _, _, err := s.load(abs); err != nil && store.KindOf(err) != store.NotFound {
		return nil, err
	}
	return s, nil
}

// Path returns the file.
func (s *Store) Path() string { return s.path }

// Close ends every watch. The file is open only while it is read or changed.
func (s *Store) Close() error {
	s.hub.Close()
	return nil
}

// Watch tells of changes made through this store.
func (s *Store) Watch(ctx context.Context) (<-chan store.Change, error) { return s.hub.Watch(ctx), nil }

// told passes a record on, and tells watchers of it.
func (s *Store) told(r store.Record, err error) (store.Record, error) {
	if err == nil {
		s.hub.Tell(store.Change{ID: r.Guitar.ID, Revision: r.Revision})
	}
	return r, err
}

// load reads the guitar file at path, and its bytes.
func (s *Store) load(path string) (store.Record, []byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return store.Record{}, nil, s.trouble(err, notRead)
	}
	defer f.Close()
	return s.read(f)
}

func (s *Store) read(f *os.File) (store.Record, []byte, error) {
	st, err := f.Stat()
	if err != nil {
		return store.Record{}, nil, s.trouble(err, notRead)
	}
	if st.IsDir() {
		return store.Record{}, nil, store.Errorf(store.Invalid, nil, "%s is a folder; name a guitar file.", f.Name())
	}
	if st.Size() > guitar.MaxFile {
		return store.Record{}, nil, store.Errorf(store.Foreign, nil, "%s is larger than any guitar file (%d MiB).", f.Name(), guitar.MaxFile>>20)
	}
	data, err := io.ReadAll(io.LimitReader(f, guitar.MaxFile+1))
	if err != nil {
		return store.Record{}, nil, s.trouble(err, notRead)
	}
	r, err := record(f.Name(), data, st.ModTime())
	return r, data, err
}

// record is the guitar that the bytes of a file hold.
func record(name string, data []byte, changed time.Time) (store.Record, error) {
	gs, err := guitar.Decode(data)
	var fe *guitar.FileError
	switch {
	case errors.As(err, &fe) && fe.Newer:
		return store.Record{}, store.Errorf(store.Newer, err, "%s: %v.", name, fe.Why)
	case errors.As(err, &fe) && fe.Where == "format":
		return store.Record{}, store.Errorf(store.Foreign, err, "%s is not a guitar file of this program (%v). It was left as it is.", name, fe)
	case err != nil:
		return store.Record{}, store.Errorf(store.Damaged, err, "%s cannot be used: %v. It was left as it is.", name, err)
	case len(gs) != 1 || !bytes.Contains(data[:min(len(data), 200)], []byte(guitar.FileFormat)):
		return store.Record{}, store.Errorf(store.Invalid, nil, "%s holds a whole shop; import it into a shop, or export one guitar from there.", name)
	}
	g := gs[0]
	if g.ID == "" {
		g.ID = unnamed
	}
	return store.Record{Guitar: g, Revision: revision(data), Changed: store.Moment(changed)}, nil
}

// revision makes a number from the file's bytes; 53 bits, so that any JSON reader holds it exactly.
func revision(data []byte) int64 {
	sum := sha256.Sum256(data)
	return int64(binary.BigEndian.Uint64(sum[:8])>>11) | 1
}

// What is told of a failure that nothing more is known of.
const (
	notRead     unit.Text = "Reading %s did not work; the file is as it was."
	notWritten  unit.Text = "Writing %s did not work; the file is as it was."
	notRemoved  unit.Text = "Removing %s did not work; the file is as it was."
	notRestored unit.Text = "Restoring %s did not work; the file is as it was."
)

func (s *Store) trouble(err error, say unit.Text) error {
	var known *store.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &known):
		return err
	case errors.Is(err, fs.ErrNotExist):
		if _, e := os.Stat(filepath.Dir(s.path)); e != nil {
			return store.Errorf(store.Invalid, err, "There is no folder %s. Make it first, or choose another place for the guitar file.", filepath.Dir(s.path))
		}
		return store.Errorf(store.NotFound, err, "There is no guitar file %s.", s.path)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return store.Errorf(store.ReadOnly, err, "%s cannot be written: the file, its folder or the disk is read-only for this user. Nothing was saved: allow writing there, or copy the file elsewhere.", s.path)
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return store.Errorf(store.Full, err, "There is no room left on the disk that holds %s. Nothing of this was saved, and the file is as it was: make room, then enter it again.", s.path)
	}
	return store.Errorf(store.Internal, err, say, s.path)
}

// lock holds the file against other writers. Where a held file cannot be replaced the lock stands beside it.
func (s *Store) lock() (*lockedfile.File, error) {
	if runtime.GOOS == "windows" {
		return lockedfile.OpenFile(s.path+".lock", os.O_RDWR|os.O_CREATE, 0o600)
	}
	for {
		f, err := lockedfile.OpenFile(s.path, os.O_RDWR, 0)
		if err != nil {
			return nil, err
		}
		// Whoever held the lock before may have put a new file in its place: then this one is the old one.
		held, err1 := f.Stat()
		there, err2 := os.Stat(s.path)
		if err1 == nil && err2 == nil && os.SameFile(held, there) {
			return f, nil
		}
		f.Close()
		if err2 != nil {
			return nil, err2
		}
	}
}

// write writes a guitar where its file is and returns what was written. It does not read the file again: once
// it stands there, the lock on the one before holds nobody back, and another may have changed it already.
func (s *Store) write(g guitar.Guitar, create bool) (store.Record, error) {
	data := guitar.Encode(g)
	at, err := s.replace(data, create)
	if err != nil {
		return store.Record{}, err
	}
	return record(s.path, data, at)
}

// replace writes data where the guitar file is, and returns the time the new file carries. Until the last step
// succeeds the old file stands, and after it the new one is on the disk.
func (s *Store) replace(data []byte, create bool) (at time.Time, err error) {
	dir := filepath.Dir(s.path)
	mode := fs.FileMode(0o644)
	if st, err := os.Stat(s.path); err == nil {
		mode = st.Mode().Perm()
	}
	tmp, err := os.CreateTemp(dir, "."+filepath.Base(s.path)+".*.tmp")
	if err != nil {
		return at, err
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
		}
	}()
	if err := tmp.Chmod(mode); err != nil && runtime.GOOS != "windows" {
		return at, err
	}
	if _, err := tmp.Write(data); err != nil {
		return at, err
	}
	if err := tmp.Sync(); err != nil {
		return at, err
	}
	st, err := tmp.Stat()
	if err != nil {
		return at, err
	}
	at = st.ModTime()
	if err := tmp.Close(); err != nil {
		return at, err
	}
	if create {
		// A link, unlike a rename, fails when someone else made the file meanwhile.
		switch err := os.Link(tmp.Name(), s.path); {
		case err == nil:
			os.Remove(tmp.Name())
			return at, syncDir(dir)
		case errors.Is(err, fs.ErrExist):
			return at, err
		}
		// This disk knows no links: look, then rename.
		if _, err := os.Lstat(s.path); err == nil {
			return at, fs.ErrExist
		}
	}
	if err := os.Rename(tmp.Name(), s.path); err != nil {
		return at, err
	}
	return at, syncDir(dir)
}

// syncDir makes a rename in dir last through a power cut.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil // folders cannot be synced there
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// Create writes a new guitar file. An existing file is never overwritten.
func (s *Store) Create(_ context.Context, g guitar.Guitar) (store.Record, error) {
	if g.ID == "" {
		g.ID = store.NewID()
	}
	g, err := store.NormalGuitar(g)
	if err != nil {
		return store.Record{}, err
	}
	r, err := s.write(g, true)
	if errors.Is(err, fs.ErrExist) {
		return store.Record{}, store.Errorf(store.Invalid, err, "There is already a file %s, and it was left as it is: choose another name.", s.path)
	}
	if err != nil {
		return store.Record{}, s.trouble(err, notWritten)
	}
	return s.told(r, nil)
}

// Get returns the guitar if it has this id.
func (s *Store) Get(_ context.Context, id string) (store.Record, error) {
	r, _, err := s.load(s.path)
	if store.KindOf(err) == store.NotFound {
		if r, _, err = s.load(s.path + removedSuffix); err == nil {
			r.Removed = true
		}
	}
	switch {
	case store.KindOf(err) == store.NotFound && err != nil:
		return store.Record{}, store.Missing(id)
	case err != nil:
		return store.Record{}, err
	case r.Guitar.ID != id:
		return store.Record{}, store.Missing(id)
	}
	return r, nil
}

// List returns the one guitar, or none when there is no file yet.
func (s *Store) List(context.Context) ([]store.Record, error) { return s.list(s.path, false) }

// Removed returns the guitar that was put aside, if there is one.
func (s *Store) Removed(context.Context) ([]store.Record, error) {
	return s.list(s.path+removedSuffix, true)
}

func (s *Store) list(path string, removed bool) ([]store.Record, error) {
	r, _, err := s.load(path)
	switch {
	case err == nil:
		r.Removed = removed
		return []store.Record{r}, nil
	case store.KindOf(err) == store.NotFound:
		return []store.Record{}, nil
	}
	return nil, err
}

// change makes one change under the lock.
func (s *Store) change(ctx context.Context, id string, revision int64, do func(now store.Record) (guitar.Guitar, error)) (store.Record, error) {
	if r, err := s.Get(ctx, id); err != nil {
		return store.Record{}, err
	} else if r.Removed {
		return store.Record{}, store.Gone(r)
	}
	held, err := s.lock()
	if err != nil {
		return store.Record{}, s.trouble(err, notWritten)
	}
	defer held.Close()
	now, _, err := s.load(s.path)
	switch {
	case err != nil:
		return store.Record{}, err
	case now.Guitar.ID != id:
		return store.Record{}, store.Missing(id)
	case now.Revision != revision:
		return store.Record{}, store.Changed(now)
	}
	if now.Guitar.ID == unnamed {
		now.Guitar.ID = store.NewID()
	}
	g, err := do(now)
	if err != nil {
		return store.Record{}, err
	}
	r, err := s.write(g, false)
	if err != nil {
		return store.Record{}, s.trouble(err, notWritten)
	}
	return s.told(r, nil)
}

// Append adds an entry.
func (s *Store) Append(ctx context.Context, id string, revision int64, e guitar.Entry) (store.Record, error) {
	return s.change(ctx, id, revision, func(now store.Record) (guitar.Guitar, error) {
		e, err := store.Normal(now.Guitar, e)
		return now.Guitar.With(e), err
	})
}

// Undo marks the last standing entry as undone.
func (s *Store) Undo(ctx context.Context, id string, revision int64) (store.Record, guitar.Entry, error) {
	var undone guitar.Entry
	r, err := s.change(ctx, id, revision, func(now store.Record) (g guitar.Guitar, err error) {
		if g, undone, err = now.Guitar.Undo(); err != nil {
			return g, store.NothingToUndo(now)
		}
		return g, nil
	})
	return r, undone, err
}

// Rename gives the guitar another name; the file keeps its own.
func (s *Store) Rename(ctx context.Context, id string, revision int64, name string) (store.Record, error) {
	name, err := guitar.CheckName("name", name)
	if err != nil {
		return store.Record{}, err
	}
	return s.change(ctx, id, revision, func(now store.Record) (guitar.Guitar, error) {
		now.Guitar.Name = name
		return now.Guitar, nil
	})
}

// Remove renames the file to one that ends in .removed.
func (s *Store) Remove(ctx context.Context, id string, revision int64) (store.Record, error) {
	aside := s.path + removedSuffix
	if _, err := os.Lstat(aside); err == nil {
		return store.Record{}, store.Errorf(store.Invalid, nil, "There is already a removed guitar in %s: move it away first.", aside)
	}
	if r, err := s.Get(ctx, id); err != nil {
		return store.Record{}, err
	} else if r.Revision != revision {
		return store.Record{}, store.Changed(r)
	}
	held, err := s.lock()
	if err != nil {
		return store.Record{}, s.trouble(err, notRemoved)
	}
	defer held.Close()
	now, _, err := s.load(s.path)
	if err == nil && now.Revision != revision {
		err = store.Changed(now)
	}
	if err == nil {
		err = move(s.path, aside)
	}
	if err != nil {
		return store.Record{}, s.trouble(err, notRemoved)
	}
	now.Removed = true
	return s.told(now, nil)
}

// Restore gives the file its name back.
func (s *Store) Restore(ctx context.Context, id string) (store.Record, error) {
	r, err := s.Get(ctx, id)
	if err != nil || !r.Removed {
		return r, err
	}
	switch err := place.Name(s.path+removedSuffix, s.path); {
	case errors.Is(err, fs.ErrExist): // made since we looked
		return store.Record{}, store.Errorf(store.Invalid, err, "There is a file %s again, and it was left as it is: move it away first.", s.path)
	case err != nil:
		return store.Record{}, s.trouble(err, notRestored)
	}
	r.Removed = false
	return s.told(r, nil)
}

func move(from, to string) error {
	if err := os.Rename(from, to); err != nil {
		return err
	}
	return syncDir(filepath.Dir(to))
}

// Import takes one guitar into a file that does not exist yet.
func (s *Store) Import(ctx context.Context, gs []guitar.Guitar) ([]store.Imported, error) {
	if len(gs) != 1 {
		return nil, store.Errorf(store.Invalid, nil, "A guitar file holds one guitar and this is %d: import them into a shop.", len(gs))
	}
	g, err := store.NormalGuitar(gs[0])
	if err != nil {
		return nil, err
	}
	now, _, err := s.load(s.path)
	switch {
	case err == nil && store.Same(now.Guitar, g):
		return []store.Imported{{Record: now, Outcome: store.Skipped, Was: g.ID}}, nil
	case err == nil:
		return nil, store.Errorf(store.Invalid, nil, "%s holds another guitar, %q, and was left as it is: choose another file, or import into a shop.", s.path, now.Guitar.Name)
	case store.KindOf(err) != store.NotFound:
		return nil, err
	}
	r, err := s.Create(ctx, g)
	if err != nil {
		return nil, err
	}
	return []store.Imported{{Record: r, Outcome: store.Added, Was: g.ID}}, nil
}

// Settings returns the defaults: a single guitar file keeps none.
func (s *Store) Settings(context.Context) (store.Settings, error) {
	return store.DefaultSettings(), nil
}

// SaveSettings is refused.
func (s *Store) SaveSettings(context.Context, store.Settings) error {
	return store.Errorf(store.Invalid, nil, "A single guitar file keeps no shop settings; they belong to a shop.")
}

// noClimate is the refusal of readings of the air.
func noClimate() *store.Error {
	return store.Errorf(store.Invalid, nil, "A single guitar file keeps no readings of the shop's air; they belong to a shop.")
}

// AddClimate is refused.
func (s *Store) AddClimate(context.Context, []climate.Reading) (store.ClimateAdded, error) {
	return store.ClimateAdded{}, noClimate()
}

// Climate returns none.
func (s *Store) Climate(context.Context, time.Time, time.Time) ([]climate.Reading, error) {
	return []climate.Reading{}, nil
}

// RemoveClimate is refused.
func (s *Store) RemoveClimate(context.Context, time.Time, string) error { return noClimate() }

// Check reads the file, and makes sure that writing it again would lose nothing.
func (s *Store) Check(context.Context) error {
	r, _, err := s.load(s.path)
	if err != nil {
		return err
	}
	if _, err := store.NormalGuitar(r.Guitar); err != nil {
		return store.Errorf(store.Damaged, err, "%s cannot be written back: %v.", s.path, err)
	}
	return nil
}
