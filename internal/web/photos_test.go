package web

import (
	"archive/zip"
	"bytes"
	"context"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"fairset/internal/access"
	"fairset/internal/photo"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

func testPicture(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = byte(200 - i%7)
	}
	img.Set(0, 0, color.Black)
	return img
}

func testJPEG(t testing.TB, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, testPicture(w, h), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func testPNG(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, testPicture(60, 40)); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// photo keeps a photo on a guitar, added by bench 3, and returns its id.
func (sh *shared) photo(guitarID string) string {
	sh.t.Helper()
	who, err := sh.door.Enter(context.Background(), sh.tokens["bench 3"], false)
	if err != nil {
		sh.t.Fatal(err)
	}
	p, err := shop.ReadPhoto(testJPEG(sh.t, 640, 480))
	if err != nil {
		sh.t.Fatal(err)
	}
	ps, err := sh.shop.AddPhotos(access.With(context.Background(), who), guitarID, 0, "", "", unit.Millimetre, []photo.Picture{p})
	if err != nil {
		sh.t.Fatal(err)
	}
	return ps[0].ID
}

// send posts a form with photos; each goes under a name that says nothing of what it is.
func (sh *shared) send(as, path string, form url.Values, photos ...[]byte) *httptest.ResponseRecorder {
	sh.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	empty, err := m.CreatePart(map[string][]string{"Content-Disposition": {`form-data; name="photos"; filename=""`}, "Content-Type": {"application/octet-stream"}})
	if err != nil {
		sh.t.Fatal(err)
	}
	_, _ = empty.Write(nil)
	for _, data := range photos {
		w, err := m.CreateFormFile("photos", "../../note.txt")
		if err != nil {
			sh.t.Fatal(err)
		}
		_, _ = w.Write(data)
	}
	for k, vs := range form { // behind the photos, where a browser may put them
		for _, v := range vs {
			if err := m.WriteField(k, v); err != nil {
				sh.t.Fatal(err)
			}
		}
	}
	m.Close()
	r := httptest.NewRequest("POST", path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.AddCookie(&http.Cookie{Name: "fairset_in", Value: sh.tokens[as]})
	w := httptest.NewRecorder()
	sh.handler.ServeHTTP(w, r)
	return w
}

func leanForm() url.Values {
	return url.Values{"revision": {"1"}, "seen": {"0"}, "units": {"mm"}, "gap": {"6.4", "6.5"}, "surface": {"frets"}, "graduation": {"0.1"}, "note": {"The clamp slipped once."}, "alt": {"the rule under the edge"}}
}

func TestAReadingWithANoteAndPhotos(t *testing.T) {
	sh := newShared(t)
	id := sh.larch.Guitar.ID
	w := sh.send("bench 3", "/guitar/"+id+"/step/lean", leanForm(), testJPEG(t, 640, 480), testPNG(t))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("saving: %d %s", w.Code, w.Body)
	}
	r := sh.record(id)
	if len(r.Guitar.Log) != 1 || r.Guitar.Log[0].Note() != "The clamp slipped once." {
		t.Fatalf("log %+v", r.Guitar.Log)
	}
	ps, err := sh.shop.Store.(store.Photos).Photos(t.Context(), id)
	if err != nil || len(ps) != 2 || ps[0].Entry != 1 || ps[0].By != "bench 3" || ps[0].Alt != "the rule under the edge" {
		t.Fatalf("photos %+v, %v", ps, err)
	}
	for _, page := range []string{"/step/lean", "/history", "/paper"} {
		got := sh.ask("bench 3", "GET", "/guitar/"+id+page, nil)
		for _, want := range []string{`<img src="/guitar/` + id + "/photo/" + ps[0].ID + `/small" alt="the rule under the edge" width="320" height="240"`, "The clamp slipped once."} {
			if got.Code != http.StatusOK || !strings.Contains(got.Body.String(), want) {
				t.Errorf("%s: %d, without %q", page, got.Code, want)
			}
		}
		if !strings.Contains(got.Header().Get("Content-Security-Policy"), "img-src 'self'") {
			t.Errorf("%s: policy %q", page, got.Header().Get("Content-Security-Policy"))
		}
	}
	// The picture itself: what it is, for this browser alone, asked for anew each time.
	for _, size := range []string{"large", "small"} {
		path := "/guitar/" + id + "/photo/" + ps[0].ID + "/" + size
		got := sh.ask("bench 3", "GET", path, nil)
		h := got.Header()
		if got.Code != http.StatusOK || h.Get("Content-Type") != "image/jpeg" || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cache-Control") != "private, no-cache" || h.Get("ETag") == "" {
			t.Errorf("%s: %d %v", size, got.Code, h)
		}
		if _, err := jpeg.Decode(got.Body); err != nil {
			t.Errorf("%s: %v", size, err)
		}
		r := httptest.NewRequest("GET", path, nil)
		r.AddCookie(&http.Cookie{Name: "fairset_in", Value: sh.tokens["bench 3"]})
		r.Header.Set("If-None-Match", h.Get("ETag"))
		w := httptest.NewRecorder()
		sh.handler.ServeHTTP(w, r)
		if w.Code != http.StatusNotModified || w.Body.Len() != 0 {
			t.Errorf("%s, kept already: %d", size, w.Code)
		}
		r.Header.Set("Cookie", "fairset_in="+sh.tokens["bench 4"])
		w = httptest.NewRecorder()
		sh.handler.ServeHTTP(w, r)
		if w.Code != http.StatusNotFound {
			t.Errorf("%s, kept by a browser another bench signed in to: %d", size, w.Code)
		}
	}
}

func TestNothingIsSavedWithABadPhoto(t *testing.T) {
	sh := newShared(t)
	id := sh.larch.Guitar.ID
	good := testJPEG(t, 64, 48)
	many := make([][]byte, maxShots+1)
	for i := range many {
		many[i] = good
	}
	for name, c := range map[string]struct {
		photos [][]byte
		says   string
	}{
		"a page":         {[][]byte{good, []byte("<html><script>alert(1)</script>")}, "Photo 2: This is no JPEG"},
		"one cut short":  {[][]byte{good[:len(good)/2]}, "Photo 1: The JPEG picture is broken off"},
		"one too large":  {[][]byte{append(bytes.Clone(good), make([]byte, photo.MaxBytes)...)}, "larger than 20 MB"},
		"too many":       {many, "more than 8 photos at once"},
		"an empty file":  {[][]byte{{}}, "The file is empty"},
		"a vector image": {[][]byte{[]byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`)}, "no JPEG, PNG or WebP"},
	} {
		w := sh.send("bench 3", "/guitar/"+id+"/step/lean", leanForm(), c.photos...)
		if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, c.says) || !strings.Contains(body, `value="6.4"`) || !strings.Contains(body, "The clamp slipped once.") {
			t.Errorf("%s: %d, says %q: %v, keeps what was typed: %v", name, w.Code, c.says, strings.Contains(body, c.says), strings.Contains(body, `value="6.4"`))
		}
		w = sh.send("bench 3", "/guitar/"+id+"/photos", url.Values{"entry": {"0"}, "alt": {"kept words"}}, c.photos...)
		if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, c.says) || !strings.Contains(body, "kept words") {
			t.Errorf("%s, from the history: %d", name, w.Code)
		}
	}
	for name, form := range map[string]url.Values{"no photo": {"entry": {"0"}}} {
		if w := sh.send("bench 3", "/guitar/"+id+"/photos", form); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "No photo was chosen") {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	if w := sh.send("bench 3", "/guitar/"+id+"/photos", url.Values{"entry": {"7"}}, good); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("an entry that is not there: %d", w.Code)
	}
	if w := sh.send("bench 4", "/guitar/"+id+"/photos", url.Values{"entry": {"0"}}, good); w.Code != http.StatusNotFound {
		t.Errorf("another bench: %d", w.Code)
	}
	if ps, err := sh.shop.Store.(store.Photos).Photos(t.Context(), id); err != nil || len(ps) != 0 || len(sh.record(id).Guitar.Log) != 0 {
		t.Errorf("%d photos and %d entries were kept, %v", len(ps), len(sh.record(id).Guitar.Log), err)
	}
}

func TestDescribeAndErase(t *testing.T) {
	sh := newShared(t)
	id := sh.larch.Guitar.ID
	if w := sh.send("bench 3", "/guitar/"+id+"/photos", url.Values{"entry": {"0"}}, testJPEG(t, 300, 500)); w.Code != http.StatusSeeOther {
		t.Fatalf("adding: %d %s", w.Code, w.Body)
	}
	ps, err := sh.shop.Store.(store.Photos).Photos(t.Context(), id)
	if err != nil || len(ps) != 1 || ps[0].Alt != "Larch" {
		t.Fatalf("%+v, %v", ps, err)
	}
	page := "/guitar/" + id + "/photo/" + ps[0].ID
	if w := sh.ask("bench 3", "POST", page, url.Values{"alt": {"<the heel> & cap"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("describing: %d", w.Code)
	}
	if got := sh.ask("bench 3", "GET", page, nil).Body.String(); !strings.Contains(got, `alt="&lt;the heel&gt; &amp; cap"`) {
		t.Error("the page does not say what the photo shows")
	}
	if w := sh.ask("bench 3", "POST", page, url.Values{"alt": {strings.Repeat("x", store.MaxAlt+1)}}); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "200 characters") {
		t.Errorf("too many words: %d", w.Code)
	}
	if w := sh.ask("bench 3", "POST", page+"/remove", nil); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("erasing without meaning it: %d", w.Code)
	}
	if w := sh.ask("bench 4", "POST", page+"/remove", url.Values{"sure": {"yes"}}); w.Code != http.StatusNotFound {
		t.Errorf("another bench erasing it: %d", w.Code)
	}
	// Through the door of a guitar one may see, another's photo is not there.
	elm, err := sh.shop.NewFromDesign(access.With(t.Context(), access.Who{Account: sh.account("bench 4"), Name: "bench 4", Role: store.Bench}), "Elm", "steel-14", nil, "mm")
	if err != nil {
		t.Fatal(err)
	}
	if w := sh.ask("bench 4", "GET", "/guitar/"+elm.Guitar.ID+"/photo/"+ps[0].ID+"/large", nil); w.Code != http.StatusNotFound {
		t.Errorf("through another guitar: %d", w.Code)
	}
	if w := sh.ask("bench 3", "POST", page+"/remove", url.Values{"sure": {"yes"}}); w.Code != http.StatusSeeOther {
		t.Errorf("erasing: %d", w.Code)
	}
	for _, path := range []string{page, page + "/large", page + "/small"} {
		if w := sh.ask("desk", "GET", path, nil); w.Code != http.StatusNotFound {
			t.Errorf("%s after it was erased: %d", path, w.Code)
		}
	}
}

// Removing an account lists its photos and erases them when asked to; else they stay under a name that tells nothing.
func TestRemovingSomebodyAndTheirPhotos(t *testing.T) {
	for _, erase := range []bool{false, true} {
		sh := newShared(t)
		id, who := sh.larch.Guitar.ID, sh.account("bench 3")
		one := sh.photo(id)
		if got := sh.ask("desk", "GET", "/people", nil).Body.String(); !strings.Contains(got, "/photo/"+one+"/small") || !strings.Contains(got, `name="photos" value="erase"`) {
			t.Error("the page does not list the photos of bench 3")
		}
		form := url.Values{"sure": {"yes"}}
		if erase {
			form.Set("photos", "erase")
		}
		if w := sh.ask("desk", "POST", "/people/"+who+"/remove", form); w.Code != http.StatusSeeOther {
			t.Fatalf("removing: %d", w.Code)
		}
		ps, err := sh.shop.Store.(store.Photos).Photos(t.Context(), id)
		switch {
		case err != nil:
			t.Fatal(err)
		case erase && len(ps) != 0:
			t.Errorf("still there: %+v", ps)
		case !erase && (len(ps) != 1 || ps[0].By != "former bench "+who || ps[0].Account != ""):
			t.Errorf("left: %+v", ps)
		}
		if w := sh.ask("desk", "GET", "/guitar/"+id+"/photo/"+one+"/large", nil); (w.Code == http.StatusNotFound) != erase {
			t.Errorf("erase %v: the picture gives %d", erase, w.Code)
		}
	}
}

// A shop saved with its photos comes back whole in another.
func TestAlbumThereAndBack(t *testing.T) {
	sh := newShared(t)
	id := sh.larch.Guitar.ID
	if w := sh.send("bench 3", "/guitar/"+id+"/step/lean", leanForm(), testJPEG(t, 640, 480)); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	got := sh.ask("desk", "GET", "/shop/export.zip", nil)
	if got.Code != http.StatusOK || got.Header().Get("Content-Type") != "application/zip" {
		t.Fatalf("%d %v", got.Code, got.Header())
	}
	data := got.Body.Bytes()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil || len(z.File) != 3 {
		t.Fatalf("%v: %v", z, err)
	}
	// Another bench's export has neither the guitar nor its photos.
	other := sh.ask("bench 4", "GET", "/shop/export.zip", nil).Body.Bytes()
	if z, err := zip.NewReader(bytes.NewReader(other), int64(len(other))); err != nil || len(z.File) != 2 {
		t.Errorf("another bench's export: %v", err)
	}
	there := newShared(t)
	takeIn := func() *httptest.ResponseRecorder {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		w, err := m.CreateFormFile("file", "shop.zip")
		if err != nil {
			t.Fatal(err)
		}
		_, _ = w.Write(data)
		m.Close()
		r := httptest.NewRequest("POST", "/shop/import", &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		r.AddCookie(&http.Cookie{Name: "fairset_in", Value: there.tokens["desk"]})
		rec := httptest.NewRecorder()
		there.handler.ServeHTTP(rec, r)
		return rec
	}
	if w := takeIn(); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "One photo was kept.") {
		t.Fatalf("taking in: %d %s", w.Code, w.Body)
	}
	ps, err := there.shop.Store.(store.Photos).Photos(t.Context(), id)
	if err != nil || len(ps) != 1 || ps[0].Entry != 1 || ps[0].Alt != "the rule under the edge" || ps[0].By != "bench 3" || ps[0].Account != "" {
		t.Fatalf("photos there: %+v, %v", ps, err)
	}
	path := "/guitar/" + id + "/photo/" + ps[0].ID + "/large"
	if a, b := sh.ask("desk", "GET", path, nil), there.ask("desk", "GET", path, nil); !bytes.Equal(a.Body.Bytes(), b.Body.Bytes()) || a.Header().Get("Content-Length") != strconv.Itoa(a.Body.Len()) && a.Body.Len() > 0 {
		t.Error("the photo is another one there")
	}
	if w := takeIn(); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "photo was kept") {
		t.Errorf("taking in again: %d", w.Code)
	}
	if ps, err := there.shop.Store.(store.Photos).Photos(t.Context(), id); err != nil || len(ps) != 1 {
		t.Errorf("doubled: %+v, %v", ps, err)
	}
}
