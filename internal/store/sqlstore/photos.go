package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"fairset/internal/store"
)

var _ store.Photos = (*Store)(nil)

const photoColumns = "id, guitar_id, entry, alt, added, bench, account, width, height, size, removed"

func scanPhoto(row interface{ Scan(...any) error }) (store.Photo, error) {
	var p store.Photo
	var at string
	if err := row.Scan(&p.ID, &p.Guitar, &p.Entry, &p.Alt, &at, &p.By, &p.Account, &p.Width, &p.Height, &p.Size, &p.Removed); err != nil {
		return p, err
	}
	var err error
	p.At, err = readTime(at)
	return p, err
}

// photo returns a photo, removed or not.
func (s *Store) photo(ctx context.Context, q querier, id string) (store.Photo, error) {
	p, err := scanPhoto(q.QueryRowContext(ctx, "SELECT "+photoColumns+" FROM photo WHERE id = $1", id))
	if errors.Is(err, sql.ErrNoRows) {
		return p, store.NoPhoto(id)
	}
	return p, err
}

// AddPhotos keeps photos.
func (s *Store) AddPhotos(ctx context.Context, ps []store.PhotoFile) ([]store.Photo, error) {
	var out []store.Photo
	ps = slices.Clone(ps)
	for i := range ps {
		p, err := store.CheckPhoto(ps[i])
		if err != nil {
			return nil, err
		}
		ps[i] = p
	}
	err := s.write(ctx, "saving the photos", func(tx *Tx) error {
		out = nil
		for _, p := range ps {
			p, err := s.addPhoto(ctx, tx, p)
			if err != nil {
				return err
			}
			out = append(out, p)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (s *Store) addPhoto(ctx context.Context, tx *Tx, p store.PhotoFile) (store.Photo, error) {
	r, err := s.get(ctx, tx.Tx, p.Guitar)
	if err != nil {
		return p.Photo, err
	}
	if r.Removed {
		return p.Photo, store.Gone(r)
	}
	if p.Entry < 0 || p.Entry > len(r.Guitar.Log) {
		return p.Photo, store.Errorf(store.Invalid, nil, "entry: %q has no entry %d; its last is %d, and 0 is for a photo that belongs to none.", r.Guitar.Name, p.Entry, len(r.Guitar.Log))
	}
	if p.ID != "" {
		switch old, err := s.photo(ctx, tx, p.ID); {
		case err == nil && old.Guitar == p.Guitar:
			return old, nil
		case err == nil:
			p.ID = ""
		case store.KindOf(err) != store.NotFound:
			return p.Photo, err
		}
	}
	var n int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM photo WHERE guitar_id = $1 AND NOT removed", p.Guitar).Scan(&n); err != nil {
		return p.Photo, err
	}
	if n >= store.MaxPhotos {
		return p.Photo, store.Errorf(store.Invalid, nil, "%q has %d photos already, which is as many as are kept of one guitar. Remove some first.", r.Guitar.Name, n)
	}
	for p.ID == "" {
		id := store.NewID()
		if _, err := s.photo(ctx, tx, id); store.KindOf(err) == store.NotFound && err != nil {
			p.ID = id
		} else if err != nil {
			return p.Photo, err
		}
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO photo ("+photoColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, FALSE)",
		p.ID, p.Guitar, p.Entry, p.Alt, writeTime(p.At), p.By, p.Account, p.Width, p.Height, p.Size); err != nil {
		return p.Photo, err
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO photo_bytes (photo_id, picture, thumb) VALUES ($1, $2, $3)", p.ID, p.Full, p.Thumb); err != nil {
		return p.Photo, err
	}
	tx.changed(store.Change{ID: p.Guitar, Revision: r.Revision})
	return p.Photo, nil
}

// Photos returns a guitar's photos.
func (s *Store) Photos(ctx context.Context, guitarID string) ([]store.Photo, error) {
	return s.photos(ctx, "guitar_id", guitarID)
}

// PhotosBy returns the photos an account added.
func (s *Store) PhotosBy(ctx context.Context, account string) ([]store.Photo, error) {
	if account == "" {
		return []store.Photo{}, nil // nobody's account
	}
	return s.photos(ctx, "account", account)
}

func (s *Store) photos(ctx context.Context, column, is string) ([]store.Photo, error) {
	out := []store.Photo{}
	err := s.read(ctx, "reading the photos", func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, "SELECT "+photoColumns+" FROM photo WHERE "+column+" = $1 AND NOT removed ORDER BY seq", is)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			p, err := scanPhoto(rows)
			if err != nil {
				return err
			}
			out = append(out, p)
		}
		return rows.Err()
	})
	return out, err
}

// Photo returns one photo.
func (s *Store) Photo(ctx context.Context, id string) (store.Photo, error) {
	var p store.Photo
	err := s.read(ctx, "reading the photo", func(tx *sql.Tx) (err error) {
		if p, err = s.photo(ctx, tx, id); err == nil && p.Removed {
			return store.NoPhoto(id)
		}
		return err
	})
	return p, err
}

// PhotoBytes returns a picture, and refuses one that is not as it was written; a thumbnail is read by itself, so
// that a page of them reads no picture.
func (s *Store) PhotoBytes(ctx context.Context, id string, thumb bool) ([]byte, error) {
	var data []byte
	err := s.read(ctx, "reading the photo", func(tx *sql.Tx) error {
		var err error
		data = nil
		if thumb {
			err = tx.QueryRowContext(ctx, "SELECT thumb FROM photo_bytes WHERE photo_id = $1", id).Scan(&data)
		} else {
			err = s.rows(ctx, tx, "photo_bytes", "WHERE photo_id = $1", []any{id}, func(v sealedRow) error {
				data = value[[]byte](v, "picture")
				return nil
			})
		}
		if errors.Is(err, sql.ErrNoRows) || err == nil && data == nil {
			return store.NoPhoto(id)
		}
		return err
	})
	return data, err
}

// DescribePhoto says anew what a photo shows.
func (s *Store) DescribePhoto(ctx context.Context, id, alt string) (store.Photo, error) {
	alt, err := store.CheckAlt(alt)
	if err != nil {
		return store.Photo{}, err
	}
	var p store.Photo
	err = s.write(ctx, "saving what the photo shows", func(tx *Tx) (err error) {
		if p, err = s.photo(ctx, tx, id); err != nil {
			return err
		}
		if p.Removed {
			return store.NoPhoto(id)
		}
		p.Alt = alt
		_, err = tx.ExecContext(ctx, "UPDATE photo SET alt = $1 WHERE id = $2", alt, id)
		return err
	})
	return p, err
}

// RemovePhotos erases photos.
func (s *Store) RemovePhotos(ctx context.Context, ids ...string) (int, error) {
	n := 0
	err := s.write(ctx, "removing the photos", func(tx *Tx) error {
		n = 0
		for _, id := range ids {
			p, err := s.photo(ctx, tx, id)
			if err != nil {
				return err
			}
			if p.Removed {
				continue
			}
			n++
			if _, err := tx.ExecContext(ctx, "UPDATE photo SET removed = TRUE, alt = '', width = 0, height = 0, size = 0 WHERE id = $1", id); err != nil {
				return err
			}
			if _, err := tx.ExecContext(ctx, "DELETE FROM photo_bytes WHERE photo_id = $1", id); err != nil {
				return err
			}
		}
		return nil
	})
	return n, err
}

// checkPhotos finds photos that are not as they were written.
func (s *Store) checkPhotos(ctx context.Context, q querier) error {
	for what, query := range map[string]string{
		"photos of no guitar":        "SELECT count(*) FROM photo WHERE guitar_id NOT IN (SELECT id FROM guitar)",
		"photos without their bytes": "SELECT count(*) FROM photo WHERE NOT removed AND id NOT IN (SELECT photo_id FROM photo_bytes)",
		"bytes of no photo":          "SELECT count(*) FROM photo_bytes WHERE photo_id NOT IN (SELECT id FROM photo WHERE NOT removed)",
		"photos cut short":           "SELECT count(*) FROM photo p JOIN photo_bytes b ON b.photo_id = p.id WHERE length(b.picture) <> p.size",
	} {
		var n int
		if err := q.QueryRowContext(ctx, query).Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return s.engine.Damaged(fmt.Errorf("%d %s", n, what))
		}
	}
	return nil
}
