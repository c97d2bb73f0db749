package api

import (
	"context"
	"net/http"
	"strings"
	"time"

	"fairset/internal/access"
	"fairset/internal/photo"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// The requests.
type (
	// NewPhoto adds a picture to a guitar.
	NewPhoto struct {
		One
		Entry   int    `query:"entry" minimum:"0" doc:"number of the entry it was taken with; 0 for the guitar itself"`
		Alt     string `query:"alt" maxLength:"200" doc:"what it shows; the step's name when left out"`
		Bench   string `query:"bench" maxLength:"80" doc:"who adds it, such as bench 3"`
		RawBody []byte `contentType:"application/octet-stream"`
	}
	// OnePhoto names a photo.
	OnePhoto struct {
		One
		Photo string `path:"photo" maxLength:"40" doc:"the photo's id"`
	}
	// AskPhoto asks for a picture.
	AskPhoto struct {
		OnePhoto
		Size string `query:"size" enum:"large,small" default:"large" doc:"small is a thumbnail"`
	}
)

// The replies.
type (
	// PhotoInfo is what is known of a photo.
	PhotoInfo struct {
		ID     string    `json:"id"`
		Entry  int       `json:"entry" doc:"number of the entry it was taken with; 0 for the guitar itself"`
		Alt    string    `json:"alt" doc:"what it shows"`
		At     time.Time `json:"at"`
		By     string    `json:"by" doc:"who added it"`
		Width  int       `json:"width" doc:"in pixels"`
		Height int       `json:"height" doc:"in pixels"`
		Bytes  int       `json:"bytes"`
	}
	// Photos are a guitar's photos.
	Photos struct {
		Photos []PhotoInfo `json:"photos" doc:"in the order they were added"`
	}
	picture struct {
		Type  string `header:"Content-Type"`
		Cache string `header:"Cache-Control"`
		Body  []byte
	}
)

func photoInfo(p store.Photo) PhotoInfo {
	return PhotoInfo{p.ID, p.Entry, p.Alt, p.At, p.By, p.Width, p.Height, p.Size}
}

const photosPath = "/guitars/{id}/photos"

func (s *server) photoRoutes() {
	add(s, access.Member, "GET", photosPath, "The photos of a guitar", s.photos)
	add(s, access.Member, "POST", photosPath, "Add a photo: the body is a JPEG, PNG or WebP file. It is kept as a JPEG of at most 2048 pixels, without where it was taken", s.addPhoto, created, func(op *huma.Operation) {
		op.MaxBodyBytes, op.SkipValidateBody = photo.MaxBytes+1, true // it is looked at for what it is
		op.BodyReadTimeout = -1
	})
	file := &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}
	s.api.OpenAPI().Paths[Prefix+photosPath].Post.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"application/octet-stream": file, "image/jpeg": file, "image/png": file, "image/webp": file}}
	op := huma.Operation{Method: "GET", Path: Prefix + photosPath + "/{photo}", Summary: "One photo, as a JPEG", OperationID: name("GET", photosPath+"/{photo}")}
	s.guard(&op, access.Member)
	op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: map[string]*huma.MediaType{"image/jpeg": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}}}}
	huma.Register(s.api, op, func(ctx context.Context, in *AskPhoto) (*picture, error) {
		out, err := s.picture(ctx, in)
		if err != nil {
			return nil, s.said(ctx, in, err)
		}
		return out, nil
	})
	add(s, access.Member, "DELETE", photosPath+"/{photo}", "Erase a photo for good", s.removePhoto)
}

func (s *server) photos(ctx context.Context, in *One) (out Photos, err error) {
	out.Photos = []PhotoInfo{}
	r, err := s.shop.FindByNameOrID(ctx, in.ID)
	if err != nil {
		return out, err
	}
	all, err := s.shop.Photos(ctx, r.Guitar.ID)
	for _, p := range all {
		out.Photos = append(out.Photos, photoInfo(p))
	}
	return out, err
}

func (s *server) addPhoto(ctx context.Context, in *NewPhoto) (PhotoInfo, error) {
	r, err := s.shop.FindByNameOrID(ctx, in.ID)
	if err != nil {
		return PhotoInfo{}, err
	}
	p, err := shop.ReadPhoto(in.RawBody)
	if err != nil {
		return PhotoInfo{}, refuse("body", unit.Say("JPEG, PNG or WebP, at most %d MB", photo.MaxBytes>>20), "%v", err)
	}
	ps, err := s.shop.AddPhotos(ctx, r.Guitar.ID, in.Entry, in.Alt, in.Bench, s.style(ctx, in.Units), []photo.Picture{p})
	if err != nil {
		return PhotoInfo{}, err
	}
	return photoInfo(ps[0]), nil
}

func (s *server) picture(ctx context.Context, in *AskPhoto) (*picture, error) {
	r, err := s.shop.FindByNameOrID(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	data, err := s.shop.PhotoBytes(ctx, r.Guitar.ID, in.Photo, in.Size == "small")
	return &picture{"image/jpeg", "private, no-store", data}, err
}

// Gone says that something is not there any more.
type Gone struct {
	Erased string `json:"erased" doc:"id of what was erased"`
}

func (s *server) removePhoto(ctx context.Context, in *OnePhoto) (Gone, error) {
	r, err := s.shop.FindByNameOrID(ctx, in.ID)
	if err != nil {
		return Gone{}, err
	}
	return Gone{in.Photo}, s.shop.RemovePhoto(ctx, r.Guitar.ID, in.Photo)
}

// bringsPhoto reports whether a request may have a photo for its body.
func bringsPhoto(r *http.Request) bool {
	return r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, Prefix+"/guitars/") && strings.HasSuffix(r.URL.Path, "/photos")
}
