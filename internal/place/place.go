// Package place puts whole files in place, or leaves nothing: whoever looks at a name finds the old file or the
// whole new one, however the program ended.
package place

import (
	"bufio"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fairset/internal/store"
	"fairset/unit"
)

// File writes a file through write and puts it at path when it is whole and durable. An older file at path stays as
// it is until then, and stays for good when write fails, the disk is full or ctx is done. A link is followed: the
// file it names is replaced. A device or a pipe is written to as it is.
//
// Errors of writing are *store.Error with a sentence; those of write itself come back as they are.
func File(ctx context.Context, path string, write func(io.Writer) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	ignoreSizeSignal()
	mode := fs.FileMode(0o644)
	switch st, err := os.Stat(path); {
	case err == nil && st.IsDir():
		return store.Errorf(store.Invalid, nil, "%s is a folder, and a file was to be written there.", path)
	case err == nil && !st.Mode().IsRegular():
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return Refused(path, err)
		}
		err = fill(ctx, f, path, write)
		if cerr := f.Close(); err == nil && cerr != nil {
			err = Refused(path, cerr)
		}
		return err
	case err == nil:
		mode = st.Mode().Perm()
	}
	d, err := begin(path)
	if err != nil {
		return Refused(path, err)
	}
	defer d.drop()
	if err := fill(ctx, d.File, path, write); err != nil {
		return err
	}
	if err := errors.Join(d.Chmod(mode), d.Sync()); err != nil {
		return Refused(path, err)
	}
	// The last moment to stop: from here on the file is whole.
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := d.settle(path); err != nil {
		return Refused(path, err)
	}
	return nil
}

// draft is a file being written beside the name it is to have.
type draft struct {
	*os.File
	name string // where it stands meanwhile; "" while it has no name at all
}

// begin opens a draft: without any name where the system can, so that even a killed program leaves nothing.
func begin(path string) (*draft, error) {
	if f := nameless(filepath.Dir(path)); f != nil {
		return &draft{f, ""}, nil
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return nil, err
	}
	return &draft{f, f.Name()}, nil
}

// settle gives the draft its name, in place of what had it.
func (d *draft) settle(path string) error {
	if d.name == "" {
		err := link(d.File, path)
		if err == nil {
			syncFolder(path)
			return d.Close()
		}
		if !errors.Is(err, fs.ErrExist) {
			return err
		}
		var b [6]byte
		rand.Read(b[:])
		d.name = filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+"."+hex.EncodeToString(b[:]))
		if err := link(d.File, d.name); err != nil {
			d.name = ""
			return err
		}
	}
	if err := d.Close(); err != nil {
		return err
	}
	if err := os.Rename(d.name, path); err != nil {
		return err
	}
	d.name = ""
	syncFolder(path)
	return nil
}

// drop forgets a draft that did not settle; after settle it does nothing.
func (d *draft) drop() {
	_ = d.Close()
	if d.name != "" {
		_ = os.Remove(d.name)
	}
}

// fill writes through a buffer, gives up when ctx is done, and tells trouble of the disk from trouble of write.
func fill(ctx context.Context, f *os.File, path string, write func(io.Writer) error) error {
	w := &watched{ctx: ctx, f: f}
	b := bufio.NewWriterSize(w, 64<<10)
	err := write(b)
	if err == nil {
		err = b.Flush()
	}
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case w.err != nil:
		return Refused(path, w.err)
	}
	return err
}

type watched struct {
	ctx context.Context
	f   *os.File
	err error
}

func (w *watched) Write(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := w.f.Write(p)
	if err != nil {
		w.err = err
	}
	return n, err
}

// Refused says why a file cannot be written.
func Refused(path string, err error) error {
	kind, say := store.Internal, unit.Say("%s cannot be written: %v.", path, Bare(err))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		kind, say = store.NotFound, unit.Say("There is no folder %s.", filepath.Dir(path))
	case errors.Is(err, fs.ErrPermission), readOnly(err):
		kind, say = store.ReadOnly, unit.Say("%s may not be written.", path)
	case full(err):
		kind, say = store.Full, unit.Say("There is no room left on the disk for %s.", path)
	}
	after := unit.Say("Nothing was left there.")
	if st, serr := os.Stat(path); serr == nil && st.Mode().IsRegular() {
		after = unit.Say("The file that was there is as it was.")
	}
	return &store.Error{Kind: kind, Cause: err, Say: unit.Join(say, after)}
}

// Name gives a whole file that is on the disk already another name in the same folder, which nothing may have yet:
// fs.ErrExist then, and the file is as it was.
func Name(from, to string) error {
	switch err := os.Link(from, to); {
	case err == nil:
		_ = os.Remove(from)
	case errors.Is(err, fs.ErrExist):
		return err
	default: // a disk without links: look, then rename
		if _, err := os.Lstat(to); err == nil {
			return &os.LinkError{Op: "link", Old: from, New: to, Err: fs.ErrExist}
		}
		if err := os.Rename(from, to); err != nil {
			return err
		}
	}
	syncFolder(to)
	return nil
}

// Bare is what the system said, without the path that the sentence names already.
func Bare(err error) error {
	var pe *os.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		return pe.Err
	case errors.As(err, &le):
		return le.Err
	}
	return err
}

// Scratch opens a file without a name, or with one that Close takes away: what is written there is gone afterwards
// whatever happens. dir "" is the system's folder for such files.
func Scratch(dir string) (*Temporary, error) {
	if dir == "" {
		dir = os.TempDir()
	}
	ignoreSizeSignal()
	if f := nameless(dir); f != nil {
		return &Temporary{f, ""}, nil
	}
	f, err := os.CreateTemp(dir, "fairset-*")
	if err != nil {
		return nil, Refused(filepath.Join(dir, "a temporary file"), err)
	}
	if os.Remove(f.Name()) == nil { // open files may lose their name here
		return &Temporary{f, ""}, nil
	}
	return &Temporary{f, f.Name()}, nil
}

// Temporary is a file of Scratch.
type Temporary struct {
	*os.File
	name string
}

// Close ends the file and all that was in it.
func (t *Temporary) Close() error {
	err := t.File.Close()
	if t.name != "" {
		return errors.Join(err, os.Remove(t.name))
	}
	return err
}

// Why says why a temporary file could not be written; other errors come back as they are.
func (t *Temporary) Why(err error) error {
	var pe *os.PathError
	if err == nil || !errors.As(err, &pe) {
		return err
	}
	return Refused(filepath.Join(os.TempDir(), "a temporary file"), err)
}
