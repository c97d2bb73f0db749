package shop

import (
	"archive/zip"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/photo"
	"fairset/internal/store"
	"fairset/unit"
)

// The files of an album, a shop with its photos in one zip: the guitars as a shop file, a list of the photos, and each
// photo as a JPEG.
const (
	albumShop   = "shop.json"
	albumPhotos = "photos.json"
	albumFormat = "fairset-album"
)

// What an album may hold, so that a small file cannot fill the memory or the disk.
const (
	MaxAlbumFiles = 20_000
	MaxAlbum      = 4 << 30  // bytes of all its files
	maxAlbumList  = 16 << 20 // bytes of the list of photos
	// maxRatio bounds how much a photo may have been packed: a JPEG hardly packs at all.
	maxRatio = 20
)

// albumName is all that a photo's file may be called, so no name can lead out of a folder.
var albumName = regexp.MustCompile(`^photos/[0-9a-z-]{1,40}\.jpg$`)

type albumList struct {
	Format string       `json:"format"`
	Photos []albumEntry `json:"photos"`
}

type albumEntry struct {
	ID     string    `json:"id"`
	Guitar string    `json:"guitar"`
	Entry  int       `json:"entry"`
	Alt    string    `json:"alt"`
	At     time.Time `json:"at"`
	By     string    `json:"by"`
	File   string    `json:"file"`
}

// ExportAlbum writes every guitar that whoever asks may see, with its photos, as a zip. One photo at a time is in memory.
// When it fails what was written is not a whole zip.
func (s *Shop) ExportAlbum(ctx context.Context, w io.Writer) error {
	p, err := s.photos()
	if err != nil {
		return err
	}
	f, err := s.exported(ctx)
	if err != nil {
		return err
	}
	list := albumList{Format: albumFormat, Photos: []albumEntry{}}
	for _, g := range f.Guitars {
		all, err := p.Photos(ctx, g.ID)
		if err != nil {
			return err
		}
		for _, x := range all {
			list.Photos = append(list.Photos, albumEntry{x.ID, x.Guitar, x.Entry, x.Alt, x.At, x.By, "photos/" + x.ID + ".jpg"})
		}
	}
	text, err := json.MarshalIndent(list, "", "  ")
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	put := func(name string, method uint16, data []byte) error {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: s.now()})
		if err == nil {
			_, err = f.Write(data)
		}
		return err
	}
	if err := put(albumShop, zip.Deflate, guitar.EncodeShopFile(f)); err != nil {
		return err
	}
	if err := put(albumPhotos, zip.Deflate, text); err != nil {
		return err
	}
	for _, x := range list.Photos {
		data, err := p.PhotoBytes(ctx, x.ID, false)
		if store.KindOf(err) == store.NotFound && err != nil {
			continue // removed since the list was made; the list names it, and taking in passes over it
		}
		if err != nil {
			return err
		}
		if err := put(x.File, zip.Store, data); err != nil {
			return err
		}
	}
	return z.Close()
}

// albumError is an album that cannot be taken in.
func albumError(cause error, say unit.Text, args ...any) error {
	return store.Errorf(store.Invalid, cause, say, args...)
}

// IsAlbum reports whether a file that begins so is a zip.
func IsAlbum(start []byte) bool { return strings.HasPrefix(string(start), "PK\x03\x04") }

// ImportAlbum takes in what ExportAlbum wrote, as Import does a shop file: all of the guitars or none, nothing here
// overwritten. Every photo is checked, by decoding it, before anything is kept; a photo its guitar has already, or had,
// is left as it is.
func (s *Shop) ImportAlbum(ctx context.Context, r io.ReaderAt, size int64) (out Taken, err error) {
	if err := s.teacher(ctx); err != nil {
		return out, err
	}
	p, err := s.photos()
	if err != nil {
		return out, err
	}
	files, err := albumFiles(r, size)
	if err != nil {
		return out, err
	}
	data, err := unpack(files[albumShop], guitar.MaxFile)
	if err != nil {
		return out, err
	}
	f, err := guitar.DecodeFile(data)
	if err != nil {
		return out, err
	}
	list, err := albumPictures(files)
	if err != nil {
		return out, err
	}
	known := map[string]guitar.Guitar{}
	for _, g := range f.Guitars {
		known[g.ID] = g
	}
	for i, x := range list.Photos {
		g, ok := known[x.Guitar]
		if !ok || x.Guitar == "" {
			return out, albumError(nil, "Photo %d of its list belongs to guitar %.40q, which is not in it.", i+1, x.Guitar)
		}
		if x.Entry < 0 || x.Entry > len(g.Log) {
			return out, albumError(nil, "Photo %d of its list belongs to entry %d of %q, which has %d.", i+1, x.Entry, g.Name, len(g.Log))
		}
		if _, err := store.CheckAlt(x.Alt); err != nil {
			return out, albumError(err, "What photo %d of its list shows is too long or has signs that cannot be kept.", i+1)
		}
		if x.By != "" {
			if _, err := guitar.CheckName("bench", x.By); err != nil {
				return out, albumError(err, "Who added photo %d of its list cannot be kept.", i+1)
			}
		}
		if _, err := s.albumPicture(files[x.File]); err != nil {
			return out, albumError(err, "%s: %v", x.File, spoken{err})
		}
		if err := ctx.Err(); err != nil {
			return out, err
		}
	}
	if out, err = s.takeIn(ctx, f); err != nil {
		return out, err
	}
	now := map[string]string{}
	for _, i := range out.Guitars {
		now[i.Was] = i.Record.Guitar.ID
	}
	for _, x := range list.Photos {
		pic, err := s.albumPicture(files[x.File])
		if err != nil {
			return out, err
		}
		before, err := p.Photo(ctx, x.ID)
		if err == nil && before.Guitar == now[x.Guitar] {
			continue
		}
		got, err := p.AddPhotos(ctx, []store.PhotoFile{{Photo: store.Photo{ID: x.ID, Guitar: now[x.Guitar], Entry: x.Entry, Alt: x.Alt, At: x.At, By: x.By, Width: pic.Width, Height: pic.Height}, Full: pic.Full, Thumb: pic.Thumb}})
		if err != nil {
			return out, store.Errorf(store.KindOf(err), err, "The guitars were taken in, and %d photos; the others were not. %v Take the same file in again: nothing is doubled.", out.Photos, spoken{err})
		}
		if !got[0].Removed {
			out.Photos++
		}
	}
	s.tell(ctx, nil, "", store.DidTakePhotos, out.Photos)
	return out, nil
}

// albumFiles returns the files of a zip by their names, when there is nothing else in it and no more than may be.
func albumFiles(r io.ReaderAt, size int64) (map[string]*zip.File, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, albumError(err, "This is no whole zip file. Choose one that was saved from here.")
	}
	if len(z.File) > MaxAlbumFiles {
		return nil, albumError(nil, "There are %d files in the zip, more than %d.", len(z.File), MaxAlbumFiles)
	}
	files, total := map[string]*zip.File{}, uint64(0)
	for _, f := range z.File {
		picture := albumName.MatchString(f.Name)
		switch {
		case f.Name != albumShop && f.Name != albumPhotos && !picture:
			return nil, albumError(nil, "The zip has a file called %.60q, which is none of a shop's. Choose one that was saved from here.", f.Name)
		case files[f.Name] != nil:
			return nil, albumError(nil, "The zip has two files called %q.", f.Name)
		case picture && f.UncompressedSize64 > photo.MaxBytes:
			return nil, albumError(nil, "%s is larger than %d MB.", f.Name, photo.MaxBytes>>20)
		case picture && f.UncompressedSize64 > maxRatio*(f.CompressedSize64+1024):
			return nil, albumError(nil, "%s was packed more tightly than any photo can be.", f.Name)
		}
		// Sizes are bounded one by one first, so the sum cannot run over.
		if f.UncompressedSize64 > MaxAlbum {
			return nil, albumError(nil, "%s is too large.", f.Name)
		}
		if total += f.UncompressedSize64; total > MaxAlbum {
			return nil, albumError(nil, "The files in the zip come to more than %d GB together.", MaxAlbum>>30)
		}
		files[f.Name] = f
	}
	for _, name := range []string{albumShop, albumPhotos} {
		if files[name] == nil {
			return nil, albumError(nil, "The zip has no %s in it. Choose one that was saved from here.", name)
		}
	}
	return files, nil
}

// albumPictures reads the list of photos. Those whose file is not there were removed while it was saved.
func albumPictures(files map[string]*zip.File) (albumList, error) {
	var list albumList
	text, err := unpack(files[albumPhotos], maxAlbumList)
	if err != nil {
		return list, err
	}
	if err := json.Unmarshal(text, &list); err != nil || list.Format != albumFormat {
		return list, albumError(err, "%s in the zip is not a list of photos saved from here.", albumPhotos)
	}
	ids := map[string]bool{}
	for i, x := range list.Photos {
		if x.File != "photos/"+x.ID+".jpg" || !albumName.MatchString(x.File) || ids[x.ID] {
			return list, albumError(nil, "Photo %d of its list has no name of its own that can be used.", i+1)
		}
		ids[x.ID] = true
	}
	list.Photos = slices.DeleteFunc(list.Photos, func(x albumEntry) bool { return files[x.File] == nil })
	return list, nil
}

// albumPicture reads one photo of an album.
func (s *Shop) albumPicture(f *zip.File) (photo.Picture, error) {
	data, err := unpack(f, photo.MaxBytes)
	if err != nil {
		return photo.Picture{}, err
	}
	p, err := photo.Again(data)
	return p, pictureError(err)
}

// unpack reads one file of a zip, whatever its header says of its size.
func unpack(f *zip.File, most int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, albumError(err, "%s in the zip cannot be read.", f.Name)
	}
	defer r.Close()
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, albumError(err, "%s in the zip is damaged.", f.Name)
	}
	if int64(len(data)) > most {
		return nil, albumError(fmt.Errorf("%d bytes and more", len(data)), "%s in the zip is larger than %d MB.", f.Name, most>>20)
	}
	return data, nil
}
