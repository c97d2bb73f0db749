package journey

import (
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// camera writes a picture as a phone would take it, with a heel in it.
func camera(t *testing.T, name string, w, h int) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{uint8(150 + x*60/w), uint8(110 + y*40/h), 80, 255}
			if d := x - w/2; d*d < (h-y)*(h-y)/9 && y > h/4 {
				c = color.RGBA{110, 60, 35, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := jpeg.Encode(f, img, nil); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// attach gives a file input its files.
func (p *person) attach(label string, files ...string) {
	p.t.Helper()
	sel := p.mark("fill", label)
	p.do("attach to "+label, chromedp.SetUploadFiles(chromedp.CSS(sel), files))
}

// loaded fails unless every picture shown was fetched and decoded, however far down the page it stands.
func (p *person) loaded(want int) {
	p.t.Helper()
	ask[bool](p, `Promise.all([...document.querySelectorAll(".shots img, .photo img")].map(i => { i.loading = "eager"; return i.decode().catch(() => 0); })).then(() => true), true`)
	p.settle()
	if n := ask[int](p, `[...document.querySelectorAll(".shots img, .photo img")].filter(i => i.complete && i.naturalWidth > 0 && i.alt).length`); n != want {
		p.fail("%d pictures are shown with words, want %d", n, want)
	}
}

// A maker at the bench sends photos and a note with a reading, looks at them, says what one shows, and erases it.
func TestPhotosAtTheBench(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	pr := alone(t)
	heel, cap := camera(t, "heel.jpg", 1600, 1200), camera(t, "cap.jpg", 900, 1200)
	words := filepath.Join(t.TempDir(), "words.jpg")
	if err := os.WriteFile(words, []byte("no picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			p := at(t, browser, pr.base, s, true)
			p.newGuitar("Dunnock " + s.name)
			guitar := p.path()[:len("/guitar/xxxxxx")]
			p.open(guitar + "/step/lean")
			p.put("gap under the straight edge", "6.4")
			p.choose("the frets")
			p.put("smallest mark on your rule", "0.1")
			p.press("Add a note")
			p.put("note", "The clamp slipped once.")
			p.press("Add photos")
			if got := p.value("What do they show?"); got != "Set the lean" {
				p.fail("the words offered are %q", got)
			}
			p.attach("Take a photo", words)
			p.shot("photos-asked")
			p.accessible()
			p.press("Save this reading")
			p.sees("Nothing was saved", "Photo 1: This is no JPEG")
			p.accessible()
			p.shot("photos-refused")
			if got := p.value("gap under the straight edge, reading 1"); got != "6.4" {
				p.fail("what was typed is lost: %q", got)
			}
			p.attach("Take a photo", heel)
			p.attach("Or choose photos", cap, heel)
			p.press("Save this reading")
			p.sees("3 photos were kept", "The clamp slipped once.", "Photos of this step")
			p.loaded(3)
			p.accessible()
			p.shot("photos-kept")

			p.press("History")
			p.sees("The clamp slipped once.")
			p.loaded(3)
			p.press("Add photos")
			p.attach("Or choose photos", cap)
			p.accessible()
			p.press("Keep the photos")
			p.sees("One photo was kept")
			p.loaded(4)
			p.accessible()
			p.shot("photos-history")

			p.do("open a photo", chromedp.Click(chromedp.CSS(".shots a")))
			p.settle()
			p.sees("What does it show?")
			p.loaded(1)
			p.put("What does it show?", "the cap, finished")
			p.press("Save the words")
			p.sees("Saved.", "the cap, finished")
			p.accessible()
			p.shot("photo")
			p.press("Erase this photo")
			p.choose("Yes, erase it")
			p.press("Erase the photo")
			p.sees("The photo is erased")
			p.loaded(3)
			p.open(guitar + "/paper")
			p.sees("Photos")
			p.loaded(3)
			p.accessible()
			p.shot("photos-paper")
		})
	}
}
