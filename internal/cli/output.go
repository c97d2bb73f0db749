package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"fairset/craft/guitar"
	"fairset/internal/place"
	"fairset/internal/store"
	"fairset/unit"
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

// writeFile puts a whole file in place or leaves what was there. "-" and "" are standard output.
func (a *app) writeFile(path string, data []byte) error {
	return a.writeTo(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// writeTo is writeFile for what is made while it is written.
func (a *app) writeTo(path string, write func(io.Writer) error) error {
	if path == "" || path == "-" {
		return write(a.Out)
	}
	err := place.File(a.ctx, path, write)
	var kept *store.Error
	if errors.As(err, &kept) {
		return withHint(err, "choose another place")
	}
	return err
}

// readFile reads a whole file of bounded size; "-" is standard input.
func (a *app) readFile(path string) ([]byte, error) {
	r := a.In
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			if errors.Is(err, fs.ErrNotExist) {
				return nil, withHint(store.Errorf(store.NotFound, err, "There is no file %s.", path), "check the name, and the folder you are in")
			}
			return nil, store.Errorf(store.Invalid, err, "%s cannot be read: %v.", path, place.Bare(err))
		}
		defer f.Close()
		r = f
	}
	return bounded(r, guitar.MaxFile)
}

// bounded reads at most one byte more than most, so that whoever reads on can tell it was too much.
func bounded(r io.Reader, most int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, store.Errorf(store.Invalid, err, "The input cannot be read: %v.", place.Bare(err))
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

// note writes a sentence as para does.
func (a *app) note(indent string, text unit.Text, args ...any) {
	a.para(indent, a.style().Say(text, args...))
}

// warn writes doubts that travel beside figures.
func (a *app) warn(ws []unit.Warning) {
	for _, w := range ws {
		a.para("  ! ", w.Say.In(a.style()))
	}
}

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
