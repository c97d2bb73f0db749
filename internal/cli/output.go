package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"fairset/craft/guitar"
	"fairset/internal/store"
)

// watched remembers that something could not be written, which the many small writes of a table would lose.
type watched struct {
	w   io.Writer
	err error
}

func (w *watched) Write(p []byte) (int, error) {
	n, err := w.w.Write(p)
	if err != nil && w.err == nil {
		w.err = err
	}
	return n, err
}

// writeFile puts a whole file in place or leaves nothing: it is written beside its name, made durable, and
// renamed. "-" and "" are standard output.
func (a *app) writeFile(path string, data []byte) (err error) {
	if path == "" || path == "-" {
		_, err := a.Out.Write(data)
		return err
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real // the file is replaced, not the link to it
	}
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() && !st.IsDir() {
		// A device or a pipe is written to, never replaced.
		if err := os.WriteFile(path, data, 0o644); err != nil {
			return a.cannotWrite(path, err)
		}
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return a.cannotWrite(path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
			err = a.cannotWrite(path, err)
		}
	}()
	if _, err := f.Write(data); err != nil {
		return err
	}
	if err := f.Chmod(0o644); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

func (a *app) cannotWrite(path string, err error) error {
	kind, say := store.Internal, fmt.Sprintf("%s cannot be written: %v.", path, bare(err))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		kind, say = store.NotFound, fmt.Sprintf("There is no folder %s.", filepath.Dir(path))
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		kind, say = store.ReadOnly, fmt.Sprintf("%s may not be written.", path)
	case errors.Is(err, syscall.ENOSPC):
		kind, say = store.Full, fmt.Sprintf("There is no room left on the disk for %s.", path)
	}
	return &hinted{store.Errorf(kind, err, "%s Nothing was left there.", say), "choose another place"}
}

// readFile reads a whole file of bounded size; "-" is standard input.
func (a *app) readFile(path string) ([]byte, error) {
	r := a.In
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			if errors.Is(err, fs.ErrNotExist) {
				return nil, &hinted{store.Errorf(store.NotFound, err, "There is no file %s.", path), "check the name, and the folder you are in"}
			}
			return nil, store.Errorf(store.Invalid, err, "%s cannot be read: %v.", path, bare(err))
		}
		defer f.Close()
		r = f
	}
	return bounded(r, guitar.MaxFile)
}

func bare(err error) error {
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

// bounded reads at most one byte more than most, so that whoever reads on can tell it was too much.
func bounded(r io.Reader, most int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, store.Errorf(store.Invalid, err, "The input cannot be read: %v.", bare(err))
	}
	return data, nil
}

// json writes v to standard output.
func (a *app) json(v any) error {
	e := json.NewEncoder(a.Out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// printf writes to standard output.
func (a *app) printf(format string, args ...any) { fmt.Fprintf(a.Out, format, args...) }

// para writes a sentence or several, indented, wrapped at a readable width.
func (a *app) para(indent, text string) {
	if text == "" {
		return
	}
	const width = 100
	line := indent
	for _, w := range strings.Fields(text) {
		if len([]rune(line))+1+len([]rune(w)) > width && line != indent {
			a.printf("%s\n", strings.TrimRight(line, " "))
			line = indent
		}
		line += w + " "
	}
	a.printf("%s\n", strings.TrimRight(line, " "))
}
