package web

import (
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"

	"fairset/internal/shop"
	"fairset/printing"
	"fairset/unit"
)

// classPageData asks what to print of many guitars.
type classPageData struct {
	layout
	Guitars  []option
	Sheets   []option
	Formats  []option
	Paper    string
	Setup    setupForm
	Problems []problem
	Running  []jobView
}

// classPage serves GET /print.
func classPage(in *request) error {
	d, err := in.classData(nil)
	if err != nil {
		return err
	}
	return in.render(http.StatusOK, "class", d)
}

// classData fills the form: with what was posted, else with every guitar and every sheet.
func (in *request) classData(posted map[string][]string) (classPageData, error) {
	p := in.paper()
	d := classPageData{layout: in.layout("Print many guitars"), Paper: p.Setup.Say(in.prefs.Units), Setup: p.form(), Running: in.srv.jobs.list()}
	d.Path = "/print"
	names, err := in.srv.shop.Names(in.Context())
	if err != nil {
		return d, err
	}
	on := func(key, value string) bool { return posted == nil || slices.Contains(posted[key], value) }
	for _, n := range names {
		d.Guitars = append(d.Guitars, option{n.ID, n.Name, on("guitar", n.ID)})
	}
	for _, e := range printing.List() {
		d.Sheets = append(d.Sheets, option{e.Name, in.say(e.Title), on("sheet", e.Name)})
	}
	for _, f := range printing.Formats() {
		chosen := f == printing.PDF
		if posted != nil {
			chosen = slices.Contains(posted["format"], string(f))
		}
		d.Formats = append(d.Formats, option{string(f), in.say(f.Name()), chosen})
	}
	return d, nil
}

// classStart serves POST /print: it begins to print, and goes to the page that tells how far it is.
func classStart(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	wrong := func(key string, say unit.Text) error {
		d, err := in.classData(in.PostForm)
		if err != nil {
			return err
		}
		d.Problems = append(d.Problems, problem{key, in.say(say)})
		return in.render(http.StatusUnprocessableEntity, "class", d)
	}
	names, err := in.srv.shop.Names(in.Context())
	if err != nil {
		return err
	}
	var ids []string // those that are still here, by name
	for _, n := range names {
		if slices.Contains(in.PostForm["guitar"], n.ID) {
			ids = append(ids, n.ID)
		}
	}
	sheets := in.PostForm["sheet"]
	switch {
	case len(ids) == 0:
		return wrong("guitar", "Choose at least one guitar.")
	case len(sheets) == 0:
		return wrong("sheet", "Choose at least one sheet.")
	}
	p := in.paper()
	job := printing.Job{Setup: p.Setup, Lenient: true}
	if job.Entries, err = printing.FindAll(strings.Join(sheets, ",")); err != nil {
		return err
	}
	if job.Format, err = printing.ParseFormat(in.PostForm.Get("format")); err != nil {
		return err
	}
	j, err := in.srv.jobs.start(in.who, in.srv.shop, in.srv.log, ids, func(shop.View) printing.Job { return job }, in.prefs.Units, p.Options)
	if errors.Is(err, errBusy) {
		return wrong("", "Two prints are under way already. Wait until one is done, or stop one.")
	}
	if err != nil {
		return err
	}
	http.Redirect(in.w, in.Request, j.url(), http.StatusSeeOther)
	return nil
}

// jobPageData is how far a print of many guitars is.
type jobPageData struct {
	layout
	jobView
}

// jobPage serves GET /print/{job}. The page's own script asks for its part again and again; without it the page is
// looked at again by hand.
func jobPage(in *request) error {
	j, err := in.job()
	if err != nil {
		return err
	}
	d := jobPageData{layout: in.layout("Printing"), jobView: j.now()}
	d.Path = j.url()
	if in.Header.Get("Fairset-Part") == "yes" {
		return in.render(http.StatusOK, "job_part", d)
	}
	return in.render(http.StatusOK, "job", d)
}

// jobStop serves POST /print/{job}/stop.
func jobStop(in *request) error {
	j, err := in.job()
	if err != nil {
		return err
	}
	j.stop()
	select {
	case <-j.ended:
	case <-in.Context().Done():
	}
	return in.back(j.url(), "")
}

// jobFile serves GET /print/{job}/file: the zip of all that was printed.
func jobFile(in *request) error {
	j, err := in.job()
	if err != nil {
		return err
	}
	file, size, release := j.read()
	if file == nil {
		return lost(in)
	}
	defer release()
	in.attach("guitars.zip", "application/zip", size)
	_, _ = io.Copy(in.w, io.NewSectionReader(file, 0, size))
	return nil
}

func (in *request) job() (*job, error) {
	if j := in.srv.jobs.find(in.PathValue("job")); j != nil {
		return j, nil
	}
	return nil, refuse(http.StatusNotFound, "This print is gone: prints are kept for half an hour. Print it again from the shop page.")
}
