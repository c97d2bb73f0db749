package web_test

import (
	"archive/zip"
	"bytes"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"fairset/printing"
	"fairset/unit"
)

// Every sheet of a guitar of the made-up shop has a sound page, a picture and its files, or says what is needed.
func TestEverySheetHasItsPage(t *testing.T) {
	b := newDemo(t)
	v := b.guitar("Heron")
	at := "/guitar/" + v.Guitar.ID + "/print"
	p := b.get(at).want(http.StatusOK, "Print", "Every sheet as one PDF")
	for _, f := range p.faults() {
		t.Error(f)
	}
	drawn := 0
	for _, e := range printing.List() {
		p := b.get(at+"/"+e.Name).want(http.StatusOK, e.Title.In(unit.Millimetre))
		for _, f := range p.faults() {
			t.Errorf("%s: %s", e.Name, f)
		}
		_, err := e.Sheets(b.shop.Source(v, "mm", printing.Options{}))
		if err != nil {
			p.want(http.StatusOK, "Not yet.")
			b.get(at+"/"+e.Name+"/file.pdf").want(http.StatusUnprocessableEntity, e.Title.In(unit.Millimetre))
			continue
		}
		drawn++
		for _, f := range []string{"view.svg", "file.pdf"} {
			if r := b.get(at + "/" + e.Name + "/" + f); r.status != http.StatusOK || len(r.text) < 500 {
				t.Errorf("%s/%s: status %d, %d bytes", e.Name, f, r.status, len(r.text))
			}
		}
	}
	if drawn < 5 {
		t.Errorf("only %d sheets of Heron can be drawn", drawn)
	}
	for _, f := range printing.Formats() {
		r := b.get(at + "/frets/file." + string(f))
		if r.status != http.StatusOK || r.header.Get("Content-Type") != f.MediaType() || !strings.Contains(r.header.Get("Content-Disposition"), "heron-frets."+string(f)) {
			t.Errorf("frets as %s: %d, %v", f, r.status, r.header)
		}
	}
	b.get(at + "/no-such").want(http.StatusNotFound)
	b.get(at + "/frets/file.gif").want(http.StatusNotFound)
	b.get(at + "/frets/other.pdf").want(http.StatusNotFound)
}

// What is said of paper and printer is kept by the browser, as typed, and what cannot be used keeps what was typed.
func TestPaperAndPrinterAreKept(t *testing.T) {
	b := newDemo(t)
	at := "/guitar/" + b.guitar("Heron").Guitar.ID + "/print/frets"
	b.get(at).want(http.StatusOK, "1 page", "each drawing whole")
	form := b.get(at).form("/print/paper")
	form.Set("paper", "a4")
	form.Set("check_x", "99.4")
	b.follow(b.post("/print/paper", form)).want(http.StatusOK, "A4, printer corrected", "pages", "Kept for this")
	if got := b.get(at).form("/print/paper").Get("check_x"); got != "99.4" {
		t.Errorf("the measured bar comes back as %q", got)
	}
	// Several pages as SVG come in a zip, each page once.
	r := b.get(at + "/file.svg")
	z, err := zip.NewReader(strings.NewReader(r.text), int64(len(r.text)))
	if err != nil || len(z.File) < 3 {
		t.Fatalf("pages as SVG: %v", err)
	}
	form.Set("check_x", "150")
	p := b.post("/print/paper", form).want(http.StatusUnprocessableEntity, "Nothing was saved")
	if got := p.form("/print/paper"); got.Get("check_x") != "150" || got.Get("back") != at {
		t.Errorf("after a refusal the form holds %v", got)
	}
	b.get(at).want(http.StatusOK, "A4, printer corrected")
	// A mangled cookie is as none.
	b.cookies["fairset_print"] = url.QueryEscape("paper=a9&units=mm")
	b.get(at).want(http.StatusOK, "each drawing whole")
}

// A class is printed in one go, guitar by guitar into one zip, and the page tells how far it is.
func TestPrintAClass(t *testing.T) {
	b := newDemo(t)
	form := b.get("/print").want(http.StatusOK, "Which guitars?").form("/print")
	form["sheet"] = []string{"frets", "cut-map"}
	form.Set("format", "pdf")
	done := b.post("/print", form)
	if done.status != http.StatusSeeOther {
		t.Fatalf("status %d", done.status)
	}
	job := done.header.Get("Location")
	for i := 0; ; i++ {
		if p := b.get(job); strings.Contains(p.words(), "Printed") {
			p.want(http.StatusOK, "8 of 8 guitars", "Fetch", "Left out")
			for _, f := range p.faults() {
				t.Error(f)
			}
			break
		}
		if i > 600 {
			t.Fatal("the print does not end")
		}
		time.Sleep(50 * time.Millisecond)
	}
	r := b.get(job + "/file")
	z, err := zip.NewReader(strings.NewReader(r.text), int64(len(r.text)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
	}
	if !slices.Contains(names, "heron.pdf") || len(names) < 6 {
		t.Errorf("the zip holds %v", names)
	}
	b.get("/print/nosuch").want(http.StatusNotFound)
	for _, key := range []string{"guitar", "sheet"} {
		bad := url.Values{}
		for k, v := range form {
			bad[k] = v
		}
		bad.Del(key)
		b.post("/print", bad).want(http.StatusUnprocessableEntity, "Choose at least one "+key)
	}
}

// A stopped print keeps the guitars that are whole; the end of the program ends it too.
func TestStopAPrint(t *testing.T) {
	b := newDemo(t)
	form := b.get("/print").form("/print")
	form.Set("format", "png")
	job := b.post("/print", form).header.Get("Location")
	b.follow(b.post(job+"/stop", url.Values{})).want(http.StatusOK)
	p := b.get(job)
	if m := regexp.MustCompile(`(Stopped|Printed)`).FindString(p.words()); m == "" {
		t.Errorf("after a stop the page says %.200q", p.words())
	}
	if r := b.get(job + "/file"); r.status == http.StatusOK {
		z, err := zip.NewReader(strings.NewReader(r.text), int64(len(r.text)))
		if err != nil {
			t.Fatalf("the zip of a stopped print: %v", err)
		}
		for _, f := range z.File {
			rc, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			var all bytes.Buffer
			if _, err := all.ReadFrom(rc); err != nil || !bytes.HasSuffix(all.Bytes(), []byte("IEND\xaeB`\x82")) {
				t.Errorf("%s is not whole: %v", f.Name, err)
			}
		}
	}
}
