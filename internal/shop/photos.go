package shop

import (
	"context"
	"errors"

	"fairset/craft/guitar"
	"fairset/internal/photo"
	"fairset/internal/store"
	"fairset/unit"
)

// photos returns the part of the store that keeps photos.
func (s *Shop) photos() (store.Photos, error) {
	if p, ok := s.Store.(store.Photos); ok {
		return p, nil
	}
	return nil, store.NoPhotos()
}

// KeepsPhotos reports whether the shop keeps photos at all: a single guitar file does not.
func (s *Shop) KeepsPhotos() bool { _, err := s.photos(); return err == nil }

// Photos returns a guitar's photos in the order they were added; none where none are kept.
func (s *Shop) Photos(ctx context.Context, id string) ([]store.Photo, error) {
	p, err := s.photos()
	if err != nil {
		return nil, nil
	}
	if _, err := s.get(ctx, id); err != nil {
		return nil, err
	}
	return p.Photos(ctx, id)
}

// ReadPhoto checks a picture as it was sent and makes it fit to keep; see photo.Read. Errors are of kind Invalid.
func ReadPhoto(data []byte) (photo.Picture, error) {
	p, err := photo.Read(data)
	return p, pictureError(err)
}

func pictureError(err error) error {
	var e *photo.Error
	if errors.As(err, &e) {
		return &store.Error{Kind: store.Invalid, Cause: e.Cause, Say: e.Say}
	}
	return err
}

// AddPhotos keeps pictures of a guitar, all or none. entry is the number of the entry they were taken with, 0 for
// none; alt says what they show, and when it is blank the step's name does, in the language of the style.
func (s *Shop) AddPhotos(ctx context.Context, id string, entry int, alt, bench string, style unit.Style, pictures []photo.Picture) ([]store.Photo, error) {
	p, err := s.photos()
	if err != nil {
		return nil, err
	}
	r, err := s.get(ctx, id)
	if err != nil {
		return nil, err
	}
	w := s.who(ctx)
	if s.Shared {
		bench = w.Name
	}
	if bench != "" {
		if bench, err = guitar.CheckName("bench", bench); err != nil {
			return nil, err
		}
	}
	if alt, err = store.CheckAlt(alt); err != nil {
		return nil, err
	}
	if alt == "" {
		alt = Shows(r.Guitar, entry).In(style)
	}
	var files []store.PhotoFile
	for _, x := range pictures {
		files = append(files, store.PhotoFile{
			Photo: store.Photo{Guitar: r.Guitar.ID, Entry: entry, Alt: alt, At: s.now(), By: bench, Account: w.Account, Width: x.Width, Height: x.Height},
			Full:  x.Full, Thumb: x.Thumb})
	}
	out, err := p.AddPhotos(ctx, files)
	if len(out) > 0 {
		s.tell(ctx, err, r.Guitar.ID, store.DidAddPhotos, len(out), r.Guitar.Name)
	}
	return out, err
}

// Shows is what a photo taken with an entry is taken to show until somebody says better.
func Shows(g guitar.Guitar, entry int) unit.Phrase {
	if entry >= 1 && entry <= len(g.Log) {
		if guide, ok := guitar.FindGuide(g.Log[entry-1].Step); ok {
			return unit.Say(guide.Name)
		}
	}
	return unit.Plain(g.Name)
}

// photo returns a photo and its guitar. One of a guitar that whoever asks may not see is NotFound, as if it were not
// there, and so is one of another guitar than it is asked of.
func (s *Shop) photo(ctx context.Context, guitarID, id string) (store.Photos, store.Photo, store.Record, error) {
	p, err := s.photos()
	if err != nil {
		return nil, store.Photo{}, store.Record{}, err
	}
	r, err := s.get(ctx, guitarID)
	if err != nil {
		return nil, store.Photo{}, r, err
	}
	one, err := p.Photo(ctx, id)
	if err == nil && one.Guitar != r.Guitar.ID {
		err = store.NoPhoto(id)
	}
	return p, one, r, err
}

// Photo returns one photo of a guitar.
func (s *Shop) Photo(ctx context.Context, guitarID, id string) (store.Photo, error) {
	_, one, _, err := s.photo(ctx, guitarID, id)
	return one, err
}

// PhotoBytes returns a photo's picture, or its thumbnail, as JPEG.
func (s *Shop) PhotoBytes(ctx context.Context, guitarID, id string, thumb bool) ([]byte, error) {
	p, _, _, err := s.photo(ctx, guitarID, id)
	if err != nil {
		return nil, err
	}
	return p.PhotoBytes(ctx, id, thumb)
}

// DescribePhoto says anew what a photo shows.
func (s *Shop) DescribePhoto(ctx context.Context, guitarID, id, alt string) (store.Photo, error) {
	p, _, _, err := s.photo(ctx, guitarID, id)
	if err != nil {
		return store.Photo{}, err
	}
	return p.DescribePhoto(ctx, id, alt)
}

// RemovePhoto erases a photo for good.
func (s *Shop) RemovePhoto(ctx context.Context, guitarID, id string) error {
	p, _, r, err := s.photo(ctx, guitarID, id)
	if err != nil {
		return err
	}
	_, err = p.RemovePhotos(ctx, id)
	s.tell(ctx, err, r.Guitar.ID, store.DidErasePhoto, r.Guitar.Name)
	return err
}

// PhotosBy returns the photos an account added, of whatever guitar. For teachers.
func (s *Shop) PhotosBy(ctx context.Context, account string) ([]store.Photo, error) {
	if err := s.teacher(ctx); err != nil {
		return nil, err
	}
	p, err := s.photos()
	if err != nil {
		return nil, nil
	}
	return p.PhotosBy(ctx, account)
}

// ErasePhotos erases photos of whatever guitar, all or none, and returns how many there were. For teachers.
func (s *Shop) ErasePhotos(ctx context.Context, photos []store.Photo) (int, error) {
	if err := s.teacher(ctx); err != nil || len(photos) == 0 {
		return 0, err
	}
	p, err := s.photos()
	if err != nil {
		return 0, err
	}
	var ids []string
	for _, x := range photos {
		ids = append(ids, x.ID)
	}
	n, err := p.RemovePhotos(ctx, ids...)
	s.tell(ctx, err, "", store.DidErasePhotos, n)
	return n, err
}
