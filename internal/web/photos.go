package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"

	"fairset/craft/guitar"
	"fairset/internal/photo"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

// What one form may bring.
const (
	maxShots     = 8
	maxPhotoBody = maxShots*photo.MaxBytes + maxBody
)

// shot is one photo as a thumbnail that leads to its page.
type shot struct {
	ID, URL, Thumb, Full string
	Alt                  string
	W, H                 int // of the thumbnail
	FullW, FullH         int
	Entry                int
	Said                 string // when, and who added it
}

func photoURL(p store.Photo) string {
	return guitarURL(p.Guitar) + "/photo/" + url.PathEscape(p.ID)
}

func (in *request) shot(p store.Photo) shot {
	s := shot{ID: p.ID, URL: photoURL(p), Thumb: photoURL(p) + "/small", Full: photoURL(p) + "/large", Alt: p.Alt, FullW: p.Width, FullH: p.Height, Entry: p.Entry, Said: in.when(p.At)}
	if s.Alt == "" {
		s.Alt = in.tell("photo of which nothing is said")
	}
	if p.By != "" {
		s.Said += ", " + p.By
	}
	s.W, s.H = photo.Scaled(p.Width, p.Height, photo.Thumb)
	return s
}

// shots returns the photos of a guitar for which keep says yes.
func (in *request) shots(guitarID string, keep func(store.Photo) bool) ([]shot, error) {
	all, err := in.srv.shop.Photos(in.Context(), guitarID)
	if err != nil {
		return nil, err
	}
	var out []shot
	for _, p := range all {
		if keep(p) {
			out = append(out, in.shot(p))
		}
	}
	return out, nil
}

// posted is a form that may bring photos: its answers are in PostForm.
type posted struct {
	Pictures []photo.Picture
	Wrong    string // what is wrong with one of the photos, "" for nothing
}

// readPosted reads a form and checks the photos in it. They are read one at a time, and none is written to a disk on
// its way: people may be in them.
func (in *request) readPosted() (posted, error) {
	var out posted
	parts, err := in.MultipartReader()
	if errors.Is(err, http.ErrNotMultipart) {
		return out, in.ParseForm()
	}
	if err != nil {
		return out, uploadError(err)
	}
	form, room, n := url.Values{}, int64(maxBody), 0
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			break
		}
		if err != nil {
			return out, uploadError(err)
		}
		if part.FormName() != "photos" {
			data, err := io.ReadAll(io.LimitReader(part, room+1))
			if err != nil {
				return out, uploadError(err)
			}
			if room -= int64(len(data)); room < 0 {
				return out, &http.MaxBytesError{Limit: maxBody}
			}
			form.Add(part.FormName(), string(data))
			continue
		}
		data, err := io.ReadAll(io.LimitReader(part, photo.MaxBytes+1))
		if err != nil {
			return out, uploadError(err)
		}
		if len(data) == 0 && part.FileName() == "" { // no photo was chosen there
			continue
		}
		n++
		if out.Wrong != "" {
			continue // read on: the answers may come behind the photos
		}
		if n > maxShots {
			out.Wrong = in.tell("That is more than %d photos at once. Send the others afterwards.", maxShots)
			continue
		}
		p, err := shop.ReadPhoto(data)
		if err != nil {
			if store.KindOf(err) != store.Invalid {
				return out, err
			}
			out.Wrong = in.tell("Photo %d: %s", n, in.sentence(err))
			continue
		}
		out.Pictures = append(out.Pictures, p)
	}
	in.PostForm, in.Form = form, form
	return out, nil
}

// photosKept says on the next page how many photos were kept with what was saved.
func photosKept(n int) unit.Phrase {
	if n == 1 {
		return unit.Say("One photo was kept.")
	}
	return unit.Say("%d photos were kept.", n)
}

// keepShots keeps the photos that came with an entry, and says so. The entry is saved by now whatever becomes of them. One
// that was sent a second time has them already, unless the first was cut off in between.
func (in *request) keepShots(v shop.View, k shop.Kept, pictures []photo.Picture) string {
	if len(pictures) == 0 || k.Seq == 0 {
		return ""
	}
	if k.Again {
		if had, err := in.shots(v.Guitar.ID, func(p store.Photo) bool { return p.Entry == k.Seq }); err != nil || len(had) > 0 {
			return ""
		}
	}
	ps, err := in.srv.shop.AddPhotos(in.Context(), v.Guitar.ID, k.Seq, in.PostForm.Get("alt"), in.prefs.Bench, in.prefs.Units, pictures)
	if err != nil {
		in.srv.log.Error("photos were not kept", "err", err)
		return " " + in.tell("The photos were not kept: %s The reading was; add them on the history page.", in.sentence(err))
	}
	return " " + in.say(photosKept(len(ps)))
}

// photosSave serves POST /guitar/{id}/photos: photos of an entry that is there already, or of the guitar.
func photosSave(in *request) error {
	v, err := in.guitar() // before a byte is taken
	if err != nil {
		return err
	}
	got, err := in.readPosted()
	if err != nil {
		return err
	}
	entry, err := strconv.Atoi(in.PostForm.Get("entry"))
	if err != nil && in.PostForm.Get("entry") != "" {
		return refuse(http.StatusUnprocessableEntity, "This form names no entry, so nothing was saved. Open the page again and send it from there.")
	}
	if got.Wrong == "" && len(got.Pictures) == 0 {
		got.Wrong = in.tell("No photo was chosen.")
	}
	if got.Wrong == "" {
		ps, err := in.srv.shop.AddPhotos(in.Context(), v.Guitar.ID, entry, in.PostForm.Get("alt"), in.prefs.Bench, in.prefs.Units, got.Pictures)
		if err == nil {
			return in.back(guitarURL(v.Guitar.ID)+"/history#photos", "%v", photosKept(len(ps)))
		}
		if store.KindOf(err) != store.Invalid {
			return err
		}
		got.Wrong = in.sentence(err)
	}
	return in.history(http.StatusUnprocessableEntity, v, &photoForm{Wrong: got.Wrong, Alt: in.PostForm.Get("alt"), Entry: entry})
}

// photoForm asks for photos.
type photoForm struct {
	Wrong   string
	Alt     string
	Entry   int
	Entries []photoEntry
}

type photoEntry struct {
	Seq  int
	Name string
	On   bool
}

// photoData is one photo by itself.
type photoData struct {
	layout
	ID            string
	Photo         shot
	Words         string // what is said of it, to change
	With          string // what it was taken with, in words
	Wrong         string
	Unsure        string
	Before, After *stepLink
}

// photoPage serves GET /guitar/{id}/photo/{photo}.
func photoPage(in *request) error { return in.photoPage(http.StatusOK, nil) }

func (in *request) photoPage(status int, change func(*photoData)) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	p, err := in.srv.shop.Photo(in.Context(), v.Guitar.ID, in.PathValue("photo"))
	if err != nil {
		return err
	}
	d := photoData{layout: in.guitarLayout("Photo", "history", v), ID: v.Guitar.ID, Photo: in.shot(p), Words: p.Alt}
	if p.Entry >= 1 && p.Entry <= len(v.Guitar.Log) {
		d.With = fmt.Sprintf("%d. %s", p.Entry, unit.Capital(entryWords(v.Guitar, v.Guitar.Log[p.Entry-1], in.prefs.Units)))
	}
	all, err := in.srv.shop.Photos(in.Context(), v.Guitar.ID)
	if err != nil {
		return err
	}
	for i, x := range all {
		if x.ID != p.ID {
			continue
		}
		if i > 0 {
			d.Before = &stepLink{URL: photoURL(all[i-1]), Name: in.tell("Photo before")}
		}
		if i+1 < len(all) {
			d.After = &stepLink{URL: photoURL(all[i+1]), Name: in.tell("Photo after")}
		}
	}
	if change != nil {
		change(&d)
		d.Path = photoURL(p)
	}
	return in.render(status, "photo", d)
}

// photoDescribe serves POST /guitar/{id}/photo/{photo}: what it shows.
func photoDescribe(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	v, err := in.guitar()
	if err != nil {
		return err
	}
	p, err := in.srv.shop.DescribePhoto(in.Context(), v.Guitar.ID, in.PathValue("photo"), in.PostForm.Get("alt"))
	if store.KindOf(err) == store.Invalid && err != nil {
		say := in.sentence(err)
		return in.photoPage(http.StatusUnprocessableEntity, func(d *photoData) { d.Wrong, d.Words = say, in.PostForm.Get("alt") })
	}
	if err != nil {
		return err
	}
	return in.back(photoURL(p), "Saved.")
}

// photoRemove serves POST /guitar/{id}/photo/{photo}/remove.
func photoRemove(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	v, err := in.guitar()
	if err != nil {
		return err
	}
	if in.PostForm.Get("sure") != "yes" {
		return in.photoPage(http.StatusUnprocessableEntity, func(d *photoData) {
			d.Unsure = in.tell("Tick that you mean it: an erased photo cannot be brought back.")
		})
	}
	if err := in.srv.shop.RemovePhoto(in.Context(), v.Guitar.ID, in.PathValue("photo")); err != nil {
		return err
	}
	return in.back(guitarURL(v.Guitar.ID)+"/history", "The photo is erased.")
}

func photoLarge(in *request) error { return in.photoFile(false) }

func photoSmall(in *request) error { return in.photoFile(true) }

// photoFile sends a picture. A browser may keep it for whoever is signed in, but must ask each time whether it is
// still there and still theirs to see.
func (in *request) photoFile(thumb bool) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	p, err := in.srv.shop.Photo(in.Context(), v.Guitar.ID, in.PathValue("photo"))
	if err != nil {
		return err
	}
	tag := fmt.Sprintf("\"%s-%t\"", p.ID, thumb)
	h := in.w.Header()
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", tag)
	if in.Header.Get("If-None-Match") == tag {
		in.w.WriteHeader(http.StatusNotModified)
		return nil
	}
	data, err := in.srv.shop.PhotoBytes(in.Context(), v.Guitar.ID, p.ID, thumb)
	if err != nil {
		h.Del("ETag")
		return err
	}
	h.Set("Content-Type", "image/jpeg")
	h.Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = in.w.Write(data)
	return nil
}

// exportAlbum serves GET /shop/export.zip as it is made. When it fails on the way the connection is cut, so that no
// browser takes half a shop for a whole one.
func exportAlbum(in *request) error {
	out := &lazy{in: in}
	err := in.srv.shop.ExportAlbum(in.Context(), out)
	if err != nil && out.begun {
		in.srv.log.Error("export broken off", "err", err)
		panic(http.ErrAbortHandler)
	}
	return err
}

// lazy sends its headers with its first bytes, so that what fails before is still a page.
type lazy struct {
	in    *request
	begun bool
}

func (l *lazy) Write(p []byte) (int, error) {
	if !l.begun {
		l.begun = true
		h := l.in.w.Header()
		h.Set("Content-Type", "application/zip")
		h.Set("Content-Disposition", `attachment; filename="fairset-shop.zip"`)
	}
	return l.in.w.Write(p)
}

// ofStep tells the photos that were taken with entries of one step that stand.
func ofStep(g guitar.Guitar, s guitar.Step) func(store.Photo) bool {
	return func(p store.Photo) bool {
		return p.Entry >= 1 && p.Entry <= len(g.Log) && g.Log[p.Entry-1].Step == s && !g.Log[p.Entry-1].Undone
	}
}
