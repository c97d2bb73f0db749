package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/drawing/svg"
	"fairset/internal/shop"
	"fairset/printing"
	"fairset/unit"
)

// paperSetup is how this phone or tablet prints: the paper it has, and what its printer does to a length. It lives in
// the browser, as typed, with the units it was typed in.
type paperSetup struct {
	printing.Setup
	printing.Options
	texts url.Values
	style unit.Style // of the texts
}

const cookiePrint = "fairset_print"

// paper reads the setup kept in the browser. What cannot be used any more counts as not given.
func (in *request) paper() paperSetup {
	p := paperSetup{style: in.prefs.Units}
	kept, err := url.ParseQuery(cookie(in.Request, cookiePrint))
	if err != nil {
		return p
	}
	style, err := unit.ParseStyle(kept.Get("units"))
	if err != nil {
		return p
	}
	style = style.Speaking(in.prefs.Units.Language())
	texts := fieldTexts(kept, printing.Fields())
	setup, options, err := printing.ParseSetup(texts, style)
	if err != nil {
		return p
	}
	return paperSetup{setup, options, texts, style}
}

// setupForm is the setup as a form, in the units it was typed in.
type setupForm struct {
	form
	Units unit.Style
}

func (p paperSetup) form() setupForm {
	return setupForm{newForm(printing.Fields(), nil, p.texts, nil, p.style), p.style}
}

// setPaper serves POST /print/paper: it keeps the setup, and goes back to where it was asked.
func setPaper(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	in.unitsOfForm()
	texts := fieldTexts(in.PostForm, printing.Fields())
	back := localPath(in.PostForm.Get("back"))
	if _, _, err := printing.ParseSetup(texts, in.prefs.Units); err != nil {
		if rangeErrors(err) == nil {
			return err
		}
		d := paperPageData{layout: in.layout("Paper and printer"), Back: back, Form: newForm(printing.Fields(), nil, texts, err, in.prefs.Units)}
		d.Path = back
		return in.render(http.StatusUnprocessableEntity, "printer", d)
	}
	texts.Set("units", string(in.prefs.Units.Units()))
	in.setCookie(cookiePrint, texts.Encode(), keepFor)
	return in.back(back, "Kept for this phone or tablet.")
}

// paperPageData is the form of paper and printer by itself, shown when something in it cannot be used.
type paperPageData struct {
	layout
	Back string
	Form form
}

// printPageData is everything that can be printed of one guitar.
type printPageData struct {
	layout
	ID     string
	Repair bool
	Paper  string // "on A4, lying on its side"
	Setup  setupForm
	Count  unit.Phrase // pages of all sheets
	Sheets []sheetCard
	Later  []laterSheet
}

type sheetCard struct {
	Title, About unit.Text
	URL, View    string      // its page, its picture
	Count        unit.Phrase // "3 pages"
}

// laterSheet is a sheet that cannot be drawn yet, and what it needs.
type laterSheet struct {
	Title unit.Text
	Need  unit.Phrase
}

func (in *request) source(v shop.View, p paperSetup) printing.Source {
	return in.srv.shop.Source(v, in.prefs.Units, p.Options)
}

// printPage serves GET /guitar/{id}/print.
func printPage(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	p := in.paper()
	pages := 0
	d := printPageData{layout: in.guitarLayout("Print", "print", v), ID: v.Guitar.ID, Repair: v.Guitar.Start == guitar.FromReadings, Paper: p.Setup.Say(in.prefs.Units), Setup: p.form()}
	s := in.source(v, p)
	for _, e := range printing.List() {
		plan, err := p.Setup.Plan(e, s, printing.PDF)
		var need *printing.NeedError
		if errors.As(err, &need) {
			d.Later = append(d.Later, laterSheet{e.Title, need.Need})
			continue
		}
		if err != nil {
			return err
		}
		pages += len(plan.Pages)
		url := guitarURL(v.Guitar.ID) + "/print/" + e.Name
		d.Sheets = append(d.Sheets, sheetCard{e.Title, e.About, url, url + "/view.svg", pagesSaid(len(plan.Pages))})
	}
	d.Count = pagesSaid(pages)
	return in.render(http.StatusOK, "print", d)
}

func pagesSaid(n int) unit.Phrase { return unit.Plural(n, "%d page", "%d pages") }

// sheetPageData is one sheet of one guitar, as it will be on paper.
type sheetPageData struct {
	layout
	ID       string
	Entry    printing.Entry
	Paper    string
	Setup    setupForm
	Count    unit.Phrase
	Drawings []figure
	Formats  []formatLink
	Need     unit.Phrase // what the guitar must have first; nothing is shown then
}

type formatLink struct {
	Name       unit.Text
	Short, URL string
}

// sheetPage serves GET /guitar/{id}/print/{sheet}.
func sheetPage(in *request) error {
	v, e, err := in.sheet()
	if err != nil {
		return err
	}
	p := in.paper()
	d := sheetPageData{layout: in.guitarLayout(e.Title, "print", v), ID: v.Guitar.ID, Entry: e, Paper: p.Setup.Say(in.prefs.Units), Setup: p.form()}
	plan, err := p.Setup.Plan(e, in.source(v, p), printing.PDF)
	var need *printing.NeedError
	if errors.As(err, &need) {
		d.Need = need.Need
		return in.render(http.StatusOK, "sheet", d)
	}
	if err != nil {
		return err
	}
	d.Count = pagesSaid(len(plan.Pages))
	for i, s := range plan.Pictures {
		d.Drawings = append(d.Drawings, figure{ID: fmt.Sprintf("print-%s-%d", e.Name, i+1), Sheet: s})
	}
	for _, f := range printing.Formats() {
		d.Formats = append(d.Formats, formatLink{f.Name(), strings.ToUpper(string(f)), guitarURL(v.Guitar.ID) + "/print/" + e.Name + "/file." + string(f)})
	}
	return in.render(http.StatusOK, "sheet", d)
}

// sheet is the guitar and the sheet that the path names.
func (in *request) sheet() (shop.View, printing.Entry, error) {
	e, err := printing.Find(in.PathValue("sheet"))
	if err != nil {
		return shop.View{}, e, lost(in)
	}
	v, err := in.guitar()
	return v, e, err
}

// sheetFile serves GET /guitar/{id}/print/{sheet}/{file}: "view.svg", the picture of a card, or "file.pdf" and so on, to
// keep. The sheet "all" is every sheet that can be drawn.
func sheetFile(in *request) error {
	stem, ext, _ := strings.Cut(in.PathValue("file"), ".")
	format, err := printing.ParseFormat(ext)
	if err != nil || stem != "file" && (stem != "view" || format != printing.SVG) {
		return lost(in)
	}
	p := in.paper()
	if in.PathValue("sheet") == printing.All && stem == "file" {
		v, err := in.guitar()
		if err != nil {
			return err
		}
		return in.send(printing.Job{Entries: printing.List(), Setup: p.Setup, Format: format, Lenient: true}, in.source(v, p), "")
	}
	v, e, err := in.sheet()
	if err != nil {
		return err
	}
	if stem == "view" {
		sheets, err := e.Sheets(in.source(v, p))
		if err != nil {
			return err
		}
		b, err := svg.Bytes(sheets[0], svg.Options{Mode: svg.Screen, ID: e.Name})
		if err != nil {
			return err
		}
		in.w.Header().Set("Content-Type", printing.SVG.MediaType())
		_, _ = in.w.Write(b)
		return nil
	}
	return in.send(printing.Job{Entries: []printing.Entry{e}, Setup: p.Setup, Format: format}, in.source(v, p), e.Name)
}

// send makes what a job asks for and sends it to be kept: one file as it is, several in a zip. Nothing is sent until
// all of it is made, so that what fails is a page that says so.
func (in *request) send(job printing.Job, s printing.Source, sheet string) error {
	base := printing.FileName(s.Guitar.Name, "guitar")
	if sheet != "" {
		base += "-" + sheet
	}
	one := job.Format == printing.PDF
	if !one && len(job.Entries) == 1 {
		plan, err := job.Plan(job.Entries[0], s, job.Format)
		if err != nil {
			return err
		}
		one = len(plan.Pages) == 1
	}
	if one {
		var b bytes.Buffer
		if _, err := job.Make(s, func(_ string, write func(io.Writer) error) error { return write(&b) }); err != nil {
			return err
		}
		in.attach(base+"."+string(job.Format), job.Format.MediaType(), int64(b.Len()))
		_, _ = b.WriteTo(in.w)
		return nil
	}
	a, err := newArchive(in.Context())
	if err != nil {
		return err
	}
	defer a.Close()
	if _, err := job.Make(s, a.put); err != nil {
		return err
	}
	return a.send(in, base+".zip")
}

// attach announces a file to keep.
func (in *request) attach(name, kind string, size int64) {
	h := in.w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	h.Set("Content-Length", strconv.FormatInt(size, 10))
}
