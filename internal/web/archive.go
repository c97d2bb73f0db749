package web

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"strings"
	"time"

	"fairset/internal/place"
)

// archive is a zip being written to a file without a name, so that however many files go in, no more than one is in
// memory and nothing stays on the disk. Every file in it is whole.
type archive struct {
	*place.Temporary
	ctx context.Context
	zip *zip.Writer
	at  time.Time // of the files in it
	one bytes.Buffer
}

func newArchive(ctx context.Context) (*archive, error) {
	f, err := place.Scratch("")
	if err != nil {
		return nil, err
	}
	return &archive{Temporary: f, ctx: ctx, zip: zip.NewWriter(f), at: time.Now()}, nil
}

// put takes one file, see printing.Put. A file that fails, or that comes when ctx is done, is left out.
func (a *archive) put(name string, write func(io.Writer) error) error {
	a.one.Reset()
	if err := write(stoppable{a.ctx, &a.one}); err != nil {
		return err
	}
	if err := a.ctx.Err(); err != nil {
		return err
	}
	h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: a.at}
	if strings.HasSuffix(name, ".pdf") || strings.HasSuffix(name, ".png") {
		h.Method = zip.Store // packed already
	}
	w, err := a.zip.CreateHeader(h)
	if err == nil {
		_, err = a.one.WriteTo(w)
	}
	return a.Why(err)
}

// finish ends the zip, makes it ready to be read from its beginning, and returns its size.
func (a *archive) finish() (int64, error) {
	if err := a.zip.Close(); err != nil {
		return 0, a.Why(err)
	}
	size, err := a.Seek(0, io.SeekCurrent)
	if err != nil {
		return 0, a.Why(err)
	}
	return size, nil
}

// send finishes the zip and sends it.
func (a *archive) send(in *request, name string) error {
	size, err := a.finish()
	if err != nil {
		return err
	}
	in.attach(name, "application/zip", size)
	_, _ = io.Copy(in.w, io.NewSectionReader(a.File, 0, size))
	return nil
}

// stoppable is a writer that gives up when its context is done.
type stoppable struct {
	ctx context.Context
	w   io.Writer
}

func (s stoppable) Write(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.w.Write(p)
}
