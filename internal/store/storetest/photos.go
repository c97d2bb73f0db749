package storetest

import (
	"bytes"
	"errors"
	"fmt"
	"testing"
	"time"

	"fairset/internal/store"
)

// Pictured is a store that keeps photos, of a shared shop.
type Pictured interface {
	Shared
	store.Photos
}

// Shot is a photo to keep. Its bytes are no picture: what a picture is, a store does not know.
func Shot(guitarID string, n int) store.PhotoFile {
	return store.PhotoFile{
		Photo: store.Photo{Guitar: guitarID, Alt: fmt.Sprintf("the heel, view %d", n), At: Day.Add(time.Duration(n) * time.Minute), By: "bench 3", Width: 2048, Height: 1536},
		Full:  bytes.Repeat([]byte{0, 0xff, byte(n), '\'', '\\'}, 20000+n), Thumb: []byte{0, byte(n), 0xff},
	}
}

// RunPhotos runs what every store of photos must do.
func RunPhotos(t *testing.T, open func(t *testing.T) (s Pictured, reopen func() Pictured)) {
	ctx := t.Context()
	must := func(t *testing.T, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	is := func(t *testing.T, err error, want *store.Error) {
		t.Helper()
		if !errors.Is(err, want) {
			t.Fatalf("got %v, want an error of kind %q", err, want.Kind)
		}
		if KindlySaid(err) == "" {
			t.Errorf("%v says nothing to a person", err)
		}
	}
	with := func(t *testing.T, s Pictured, name string) store.Record {
		t.Helper()
		r, err := s.Create(ctx, New(t, name))
		must(t, err)
		return r
	}

	t.Run("photos stay with their guitar, byte for byte, in their order", func(t *testing.T) {
		s, reopen := open(t)
		larch, elm := with(t, s, "Larch"), with(t, s, "Elm")
		larch, err := s.Append(ctx, larch.Guitar.ID, larch.Revision, Lean(t, larch.Guitar, 1))
		must(t, err)
		shots := []store.PhotoFile{Shot(larch.Guitar.ID, 3), Shot(larch.Guitar.ID, 1), Shot(elm.Guitar.ID, 2)}
		shots[1].Entry = 1
		ps, err := s.AddPhotos(ctx, shots)
		must(t, err)
		if len(ps) != 3 || ps[0].ID == "" || ps[0].ID == ps[1].ID || ps[1].ID == ps[2].ID {
			t.Fatalf("added %+v", ps)
		}
		must(t, s.Close())
		s = reopen()
		got, err := s.Photos(ctx, larch.Guitar.ID)
		must(t, err)
		if len(got) != 2 || got[0] != ps[0] || got[1] != ps[1] || got[1].Entry != 1 || got[0].Alt != "the heel, view 3" || !got[0].At.Equal(store.Moment(shots[0].At)) {
			t.Errorf("photos after a restart: %+v, want %+v", got, ps[:2])
		}
		for i, p := range ps {
			full, err := s.PhotoBytes(ctx, p.ID, false)
			must(t, err)
			thumb, err := s.PhotoBytes(ctx, p.ID, true)
			must(t, err)
			if !bytes.Equal(full, shots[i].Full) || !bytes.Equal(thumb, shots[i].Thumb) || p.Size != len(full) {
				t.Errorf("photo %d came back otherwise: %d and %d bytes, said %d", i, len(full), len(thumb), p.Size)
			}
		}
		now, err := s.Get(ctx, larch.Guitar.ID)
		must(t, err)
		if now.Revision != larch.Revision {
			t.Errorf("photos changed the revision from %d to %d", larch.Revision, now.Revision)
		}
		must(t, s.Check(ctx))
	})

	t.Run("all are kept or none", func(t *testing.T) {
		s, _ := open(t)
		r := with(t, s, "Larch")
		id := r.Guitar.ID
		for name, c := range map[string]struct {
			bad  func(p *store.PhotoFile)
			want *store.Error
		}{
			"a guitar that is not here": {func(p *store.PhotoFile) { p.Guitar = "none" }, store.ErrNotFound},
			"an entry that is not":      {func(p *store.PhotoFile) { p.Entry = 1 }, store.ErrInvalid},
			"an entry below nought":     {func(p *store.PhotoFile) { p.Entry = -1 }, store.ErrInvalid},
			"no bytes":                  {func(p *store.PhotoFile) { p.Full = nil }, store.ErrInvalid},
			"too long a word":           {func(p *store.PhotoFile) { p.Alt = string(bytes.Repeat([]byte("x"), store.MaxAlt+1)) }, store.ErrInvalid},
		} {
			bad := Shot(id, 2)
			c.bad(&bad)
			if _, err := s.AddPhotos(ctx, []store.PhotoFile{Shot(id, 1), bad}); !errors.Is(err, c.want) {
				t.Errorf("%s: got %v, want an error of kind %q", name, err, c.want.Kind)
			}
			if all, err := s.Photos(ctx, id); err != nil || len(all) != 0 {
				t.Errorf("%s: %d were kept, %v", name, len(all), err)
			}
		}
		r, err := s.Remove(ctx, id, r.Revision)
		must(t, err)
		_, err = s.AddPhotos(ctx, []store.PhotoFile{Shot(id, 1)})
		is(t, err, store.ErrConflict)
	})

	t.Run("the same photo is not doubled, and another's id is not taken", func(t *testing.T) {
		s, _ := open(t)
		larch, elm := with(t, s, "Larch"), with(t, s, "Elm")
		a := Shot(larch.Guitar.ID, 1)
		a.ID = "mine"
		first, err := s.AddPhotos(ctx, []store.PhotoFile{a})
		must(t, err)
		again, err := s.AddPhotos(ctx, []store.PhotoFile{a})
		must(t, err)
		if first[0].ID != "mine" || again[0] != first[0] {
			t.Errorf("first %+v, again %+v", first, again)
		}
		b := Shot(elm.Guitar.ID, 1)
		b.ID = "mine"
		other, err := s.AddPhotos(ctx, []store.PhotoFile{b})
		must(t, err)
		if other[0].ID == "mine" || other[0].Guitar != elm.Guitar.ID {
			t.Errorf("another guitar's: %+v", other)
		}
		_, err = s.RemovePhotos(ctx, "mine")
		must(t, err)
		gone, err := s.AddPhotos(ctx, []store.PhotoFile{a})
		must(t, err)
		if !gone[0].Removed {
			t.Error("taking in a copy brought a removed photo back")
		}
	})

	t.Run("a removed photo's bytes are erased", func(t *testing.T) {
		s, reopen := open(t)
		r := with(t, s, "Larch")
		ps, err := s.AddPhotos(ctx, []store.PhotoFile{Shot(r.Guitar.ID, 1), Shot(r.Guitar.ID, 2)})
		must(t, err)
		_, err = s.RemovePhotos(ctx, ps[0].ID, "none")
		is(t, err, store.ErrNotFound)
		if _, err := s.Photo(ctx, ps[0].ID); err != nil {
			t.Errorf("one of several that could not all be removed: %v", err)
		}
		n, err := s.RemovePhotos(ctx, ps[0].ID)
		must(t, err)
		if again, err := s.RemovePhotos(ctx, ps[0].ID); n != 1 || err != nil || again != 0 {
			t.Errorf("removed %d, and again %d, %v", n, again, err)
		}
		must(t, s.Close())
		s = reopen()
		for _, thumb := range []bool{false, true} {
			_, err = s.PhotoBytes(ctx, ps[0].ID, thumb)
			is(t, err, store.ErrNotFound)
		}
		_, err = s.Photo(ctx, ps[0].ID)
		is(t, err, store.ErrNotFound)
		_, err = s.DescribePhoto(ctx, ps[0].ID, "a face")
		is(t, err, store.ErrNotFound)
		if all, err := s.Photos(ctx, r.Guitar.ID); err != nil || len(all) != 1 || all[0] != ps[1] {
			t.Errorf("left %+v, %v", all, err)
		}
		must(t, s.Check(ctx))
	})

	t.Run("what a photo shows can be said anew", func(t *testing.T) {
		s, _ := open(t)
		r := with(t, s, "Larch")
		ps, err := s.AddPhotos(ctx, []store.PhotoFile{Shot(r.Guitar.ID, 1)})
		must(t, err)
		got, err := s.DescribePhoto(ctx, ps[0].ID, "  the \n cap's  edge ")
		must(t, err)
		if now, err := s.Photo(ctx, ps[0].ID); err != nil || now != got || got.Alt != "the cap's edge" {
			t.Errorf("got %+v, reads %+v, %v", got, now, err)
		}
		_, err = s.DescribePhoto(ctx, ps[0].ID, "a\x00b")
		is(t, err, store.ErrInvalid)
	})

	t.Run("an account's photos are found, and its name goes with it", func(t *testing.T) {
		s, _ := open(t)
		a, err := s.AddAccount(ctx, store.Account{Name: "Bench 3", Role: store.Bench, Secret: "hash"})
		must(t, err)
		r := with(t, s, "Larch")
		mine, theirs := Shot(r.Guitar.ID, 1), Shot(r.Guitar.ID, 2)
		mine.Account, theirs.By = a.ID, "bench 30"
		ps, err := s.AddPhotos(ctx, []store.PhotoFile{mine, theirs})
		must(t, err)
		if by, err := s.PhotosBy(ctx, a.ID); err != nil || len(by) != 1 || by[0] != ps[0] {
			t.Errorf("by the account: %+v, %v", by, err)
		}
		if by, err := s.PhotosBy(ctx, ""); err != nil || len(by) != 0 {
			t.Errorf("by nobody: %+v, %v", by, err)
		}
		_, err = s.Forget(ctx, a.ID, "former bench "+a.ID)
		must(t, err)
		all, err := s.Photos(ctx, r.Guitar.ID)
		must(t, err)
		if len(all) != 2 || all[0].By != "former bench "+a.ID || all[0].Account != "" || all[1].By != "bench 30" {
			t.Errorf("after: %+v", all)
		}
	})

	t.Run("a guitar has room for so many", func(t *testing.T) {
		s, _ := open(t)
		r := with(t, s, "Larch")
		var many []store.PhotoFile
		for range store.MaxPhotos {
			p := Shot(r.Guitar.ID, 1)
			p.Full = []byte{1}
			many = append(many, p)
		}
		_, err := s.AddPhotos(ctx, many)
		must(t, err)
		_, err = s.AddPhotos(ctx, many[:1])
		is(t, err, store.ErrInvalid)
		all, err := s.Photos(ctx, r.Guitar.ID)
		must(t, err)
		_, err = s.RemovePhotos(ctx, all[0].ID)
		must(t, err)
		_, err = s.AddPhotos(ctx, many[:1])
		must(t, err)
	})
}
