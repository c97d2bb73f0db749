package api

import (
	"context"
	"io"
	"net/http"

	"fairset/internal/access"
	"fairset/internal/place"
	"fairset/internal/shop"

	"fairset/unit"
	"github.com/danielgtaylor/huma/v2"
)

// TakeAlbum brings a zip, which is read as it comes: it may be larger than the memory.
type TakeAlbum struct {
	Units
	body io.Reader
}

// Resolve keeps the body for later.
func (in *TakeAlbum) Resolve(ctx huma.Context) []error {
	in.body = ctx.BodyReader()
	return nil
}

// AlbumTaken says what became of each guitar of a zip, and how many photos were added.
type AlbumTaken struct {
	Imports
	Photos int `json:"photos" doc:"that were added; those that were here, or had been, are left as they are"`
}

const albumPath = "/album"

func (s *server) albumRoutes() {
	s.addZip(albumPath, "The whole shop with its photos, as a zip that can be taken in again", "fairset-shop.zip", s.shop.ExportAlbum)
	add(s, access.Teacher, "POST", albumPath, "Take in a zip of a shop with its photos; nothing there is overwritten", s.takeAlbum)
	s.api.OpenAPI().Paths[Prefix+albumPath].Post.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"application/zip": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}}}
}

// takeAlbum writes the zip to a file without a name, and then takes it in.
func (s *server) takeAlbum(ctx context.Context, in *TakeAlbum) (out AlbumTaken, err error) {
	out.Imports = importsOf(shop.Taken{})
	f, err := place.Scratch("")
	if err != nil {
		return out, err
	}
	defer func() { _ = f.Close() }()
	w := &writing{w: f}
	size, err := io.Copy(w, in.body)
	switch {
	case w.err != nil:
		return out, f.Why(w.err)
	case err != nil:
		return out, refuse("body", unit.Say("a zip of at most 4 GB that was saved from here"), "the file did not arrive whole, so nothing was taken in")
	}
	got, err := s.shop.ImportAlbum(ctx, f, size)
	return AlbumTaken{importsOf(got), got.Photos}, err
}

// writing tells a disk that takes no more from a body that did not come.
type writing struct {
	w   io.Writer
	err error
}

func (w *writing) Write(p []byte) (int, error) {
	n, err := w.w.Write(p)
	if err != nil {
		w.err = err
	}
	return n, err
}

// bringsAlbum reports whether a request may have a zip for its body.
func bringsAlbum(r *http.Request) bool {
	return r.Method == http.MethodPost && r.URL.Path == Prefix+albumPath
}
