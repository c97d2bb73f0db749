package shop

import (
	"archive/zip"
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"path/filepath"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/photo"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/storetest"
	"fairset/unit"
)

type zipped struct {
	name string
	data []byte
}

func album(t *testing.T, files ...zipped) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		w, err := z.Create(f.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(f.data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestAlbumsThatAreRefused(t *testing.T) {
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	s := New(db)
	g := storetest.Worked(t, "Larch")
	g.ID = "larch"
	one := zipped{"shop.json", guitar.EncodeShop([]guitar.Guitar{g})}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 30, 20)), nil); err != nil {
		t.Fatal(err)
	}
	pic := b.Bytes()
	list := func(entries string) zipped {
		return zipped{"photos.json", []byte(`{"format":"fairset-album","photos":[` + entries + `]}`)}
	}
	entry := func(id, guitar string, n int) string {
		return fmt.Sprintf(`{"id":%q,"guitar":%q,"entry":%d,"alt":"heel","at":"2026-03-02T09:00:00Z","by":"bench 3","file":"photos/%s.jpg"}`, id, guitar, n, id)
	}
	bomb := zipped{"photos/p.jpg", make([]byte, 8<<20)}
	many := []zipped{one, list("")}
	for i := range MaxAlbumFiles {
		many = append(many, zipped{fmt.Sprintf("photos/p%d.jpg", i), nil})
	}
	whole := album(t, one, list(entry("p", "larch", 1)), zipped{"photos/p.jpg", pic})
	spoilt := bytes.Clone(whole)
	at := bytes.Index(spoilt, pic[len(pic)/2:len(pic)/2+20])
	if at < 0 { // deflated: spoil the middle of its data
		at = bytes.Index(spoilt, []byte("photos/p.jpg")) + 60
	}
	spoilt[at] ^= 0xff
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"no zip":                      {[]byte("PK\x03\x04 but no zip"), "no whole zip"},
		"a zip cut in half":           {whole[:len(whole)/2], "no whole zip"},
		"a spoilt photo":              {spoilt, "damaged"},
		"a path out of the folder":    {album(t, one, list(""), zipped{"../../etc/passwd", nil}), "none of a shop's"},
		"a path within, out again":    {album(t, one, list(""), zipped{"photos/../../p.jpg", nil}), "none of a shop's"},
		"a path from the root":        {album(t, one, list(""), zipped{"/photos/p.jpg", nil}), "none of a shop's"},
		"a path of another system":    {album(t, one, list(""), zipped{`photos\..\p.jpg`, nil}), "none of a shop's"},
		"a file of another kind":      {album(t, one, list(""), zipped{"run.sh", nil}), "none of a shop's"},
		"the same file twice":         {album(t, one, list(""), zipped{"photos/p.jpg", pic}, zipped{"photos/p.jpg", pic}), "two files"},
		"no guitars":                  {album(t, list("")), "no shop.json"},
		"no list":                     {album(t, one), "no photos.json"},
		"a list of something else":    {album(t, one, zipped{"photos.json", []byte(`{}`)}), "not a list of photos"},
		"a photo packed like a bomb":  {album(t, one, list(entry("p", "larch", 1)), bomb), "more tightly"},
		"more files than may be":      {album(t, many...), "more than 20000"},
		"a list that blows up":        {album(t, one, zipped{"photos.json", make([]byte, maxAlbumList+1)}), "larger than"},
		"a photo of no guitar in it":  {album(t, one, list(entry("p", "elm", 0)), zipped{"photos/p.jpg", pic}), "not in it"},
		"a photo of no entry":         {album(t, one, list(entry("p", "larch", 99)), zipped{"photos/p.jpg", pic}), "entry 99"},
		"a photo that is a page":      {album(t, one, list(entry("p", "larch", 1)), zipped{"photos/p.jpg", []byte("<html>")}), "no JPEG"},
		"two photos of one name":      {album(t, one, list(entry("p", "larch", 1)+","+entry("p", "larch", 1)), zipped{"photos/p.jpg", pic}), "name of its own"},
		"a name that leads elsewhere": {album(t, one, list(entry("../p", "larch", 1))), "name of its own"},
		"guitars that cannot be read": {album(t, zipped{"shop.json", []byte("{}")}, list("")), "format"},
	} {
		taken, err := s.ImportAlbum(t.Context(), bytes.NewReader(c.data), int64(len(c.data)))
		n := taken.Photos
		if err == nil || n != 0 || !strings.Contains(Sentence(err), c.says) || KindOf(err) != store.Invalid {
			t.Errorf("%s: %d, %v, want it to say %q", name, n, err, c.says)
		}
		if all, err := db.List(t.Context()); err != nil || len(all) != 0 {
			t.Fatalf("%s: %d guitars were kept, %v", name, len(all), err)
		}
	}
	got, err := s.ImportAlbum(t.Context(), bytes.NewReader(whole), int64(len(whole)))
	if err != nil || len(got.Guitars) != 1 || got.Photos != 1 {
		t.Fatalf("a whole one: %+v, %v", got, err)
	}
	// Beside a guitar that differs it is kept as a copy, with its photo.
	g.Name = "Larch again"
	other := album(t, zipped{"shop.json", guitar.EncodeShop([]guitar.Guitar{g})}, list(entry("p", "larch", 1)), zipped{"photos/p.jpg", pic})
	got, err = s.ImportAlbum(t.Context(), bytes.NewReader(other), int64(len(other)))
	if err != nil || got.Photos != 1 || got.Guitars[0].Outcome != store.Copied {
		t.Fatalf("a copy: %+v, %v", got, err)
	}
	if ps, err := db.Photos(t.Context(), got.Guitars[0].Record.Guitar.ID); err != nil || len(ps) != 1 || ps[0].ID == "p" || ps[0].Entry != 1 {
		t.Errorf("the copy's photos: %+v, %v", ps, err)
	}
}

func TestAFileKeepsNoPhotos(t *testing.T) {
	s := New(noPhotos{})
	if s.KeepsPhotos() {
		t.Error("it keeps photos")
	}
	if _, err := s.AddPhotos(t.Context(), "x", 0, "", "", unit.Millimetre, []photo.Picture{{}}); err == nil || !strings.Contains(Sentence(err), "keeps no photos") {
		t.Errorf("got %v", err)
	}
	if ps, err := s.Photos(t.Context(), "x"); err != nil || len(ps) != 0 {
		t.Errorf("got %v, %v", ps, err)
	}
}

// noPhotos is a store that keeps none.
type noPhotos struct{ store.Store }
