package store

import (
	"context"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// MaxPhotos bounds how many photos one guitar has, and MaxAlt what is said of one, in characters.
const (
	MaxPhotos = 500
	MaxAlt    = 200
)

// Photo is what is known of one picture of a guitar. Its bytes are kept beside it.
type Photo struct {
	ID      string
	Guitar  string // id
	Entry   int    // number of the entry it was taken with; 0 for none
	Alt     string // what it shows, for whoever cannot see it; may be empty
	At      time.Time
	By      string // who added it, as entries are signed
	Account string // account that added it; "" for none
	Width   int    // in pixels
	Height  int
	Size    int  // of the picture, in bytes
	Removed bool // its bytes and what was said of it are erased; that it was there stays
}

// PhotoFile is a photo with its bytes.
type PhotoFile struct {
	Photo
	Full, Thumb []byte // JPEG, as internal/photo makes them
}

// Photos keeps pictures beside the guitars' logs. They are no part of a guitar's revision. Errors are as those of Store.
type Photos interface {
	// AddPhotos keeps all of the photos or none. Each needs a guitar that is here; one of a removed guitar is a
	// Conflict, one for an entry that is not in its log is Invalid. A photo without an id, or whose id is another's, gets a
	// new one; one that the same guitar has already is left as it is, removed or not.
	AddPhotos(ctx context.Context, ps []PhotoFile) ([]Photo, error)
	// Photos returns a guitar's photos in the order they were added; those that were removed are left out.
	Photos(ctx context.Context, guitarID string) ([]Photo, error)
	// PhotosBy returns those an account added to any guitar.
	PhotosBy(ctx context.Context, account string) ([]Photo, error)
	// Photo returns one; NotFound for none and for one that was removed.
	Photo(ctx context.Context, id string) (Photo, error)
	// PhotoBytes returns its picture, or its thumbnail.
	PhotoBytes(ctx context.Context, id string, thumb bool) ([]byte, error)
	// DescribePhoto says anew what it shows.
	DescribePhoto(ctx context.Context, id, alt string) (Photo, error)
	// RemovePhotos marks photos removed and erases their bytes and what was said of them, all or none. When it returns,
	// the bytes are gone from the store's file; copies made before still have them. It returns how many there were.
	RemovePhotos(ctx context.Context, ids ...string) (int, error)
}

// CheckPhoto returns the photo as it will come back, or says why it cannot be kept.
func CheckPhoto(p PhotoFile) (PhotoFile, error) {
	alt, err := CheckAlt(p.Alt)
	if err != nil {
		return p, err
	}
	p.Alt, p.At, p.Size, p.Removed = alt, Moment(p.At), len(p.Full), false
	if len(p.Full) == 0 || len(p.Thumb) == 0 || p.Width < 1 || p.Height < 1 {
		return p, Errorf(Invalid, nil, "There is no picture in this photo.")
	}
	return p, nil
}

// CheckAlt returns what is said of a photo, on one line.
func CheckAlt(alt string) (string, error) {
	alt = strings.Join(strings.Fields(alt), " ")
	if utf8.RuneCountInString(alt) > MaxAlt || !utf8.ValidString(alt) || strings.ContainsFunc(alt, unicode.IsControl) {
		return "", Errorf(Invalid, nil, "What a photo shows: keep it to %d characters.", MaxAlt)
	}
	return alt, nil
}

// NoPhoto is the error for an id no photo has, or none that still has its picture.
func NoPhoto(id string) *Error {
	return Errorf(NotFound, nil, "There is no photo %q here. It may have been removed.", id)
}

// NoPhotos is the error of a store that keeps none.
func NoPhotos() *Error {
	return Errorf(Invalid, nil, "A guitar file keeps no photos; a shop does. Take the guitar into the shop with fairset import, then add them there.")
}
