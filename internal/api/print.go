package api

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// OnPaper is how a sheet is drawn and put on paper. Lengths are strings with a unit; a bare one is in the units of the
// sentences.
type OnPaper struct {
	Paper       string `query:"paper" doc:"full, letter, a4, a3 or tabloid; full, each drawing whole, when left out. DXF is always whole"`
	Orientation string `query:"orientation" doc:"portrait or landscape; whichever takes fewer pages when left out"`
	Margin      string `query:"margin" doc:"edge the printer leaves blank; 6 mm when left out"`
	Overlap     string `query:"overlap" doc:"what neighbouring pages share; 15 mm when left out"`
	CheckBar    string `query:"check_bar" doc:"bar that was measured: 100mm or 4in; the one in the units asked for when left out"`
	CheckX      string `query:"check_x" doc:"what that bar measures across a page printed without correction"`
	CheckY      string `query:"check_y" doc:"what that bar measures up the page"`
	JigLength   string `query:"jig_length" doc:"length the jig of the neck's angle is drawn for; the design's own when left out"`
	DPI         string `query:"dpi" doc:"dots to the inch of a PNG, 50 to 600; 150 when left out"`
}

func (o OnPaper) texts() map[string][]string {
	out := map[string][]string{}
	for key, text := range map[string]string{"paper": o.Paper, "orientation": o.Orientation, "margin": o.Margin, "overlap": o.Overlap,
		"check_bar": o.CheckBar, "check_x": o.CheckX, "check_y": o.CheckY, "jig_length": o.JigLength, "dpi": o.DPI} {
		if text != "" {
			out[key] = []string{text}
		}
	}
	return out
}

// The requests.
type (
	// AskSheets asks which sheets there are of a guitar.
	AskSheets struct {
		One
		OnPaper
	}
	// AskSheet asks for one sheet of a guitar.
	AskSheet struct {
		One
		OnPaper
		Written
	}
	// AskSheetOf asks for one sheet of the guitar in a file.
	AskSheetOf struct {
		Units
		OnPaper
		Written
		RawBody []byte `contentType:"application/json"`
	}
	// Written is a sheet, and how it is written.
	Written struct {
		Sheet  string `path:"sheet" doc:"one of /api/v1/sheets, or all for every sheet that can be drawn, as PDF only" maxLength:"60"`
		Format string `query:"format" enum:"pdf,svg,dxf,png" default:"pdf"`
		Page   int    `query:"page" minimum:"1" maximum:"9999" default:"1" doc:"which page, where the format has one page a file; the header Fairset-Pages says how many there are"`
	}
)

// The replies.
type (
	// Sheets is every sheet that can be printed.
	Sheets struct {
		Sheets []SheetInfo `json:"sheets" doc:"in the order a maker needs them"`
		Fields []FieldInfo `json:"fields" doc:"how sheets are put on paper: the query parameters of a sheet"`
	}
	// SheetInfo is one sheet.
	SheetInfo struct {
		Sheet string `json:"sheet"`
		Title string `json:"title"`
		About string `json:"about"`
	}
	// GuitarSheets is every sheet with what can be drawn of one guitar.
	GuitarSheets struct {
		Sheets []GuitarSheet `json:"sheets"`
	}
	// GuitarSheet is one sheet of one guitar.
	GuitarSheet struct {
		SheetInfo
		Pages int    `json:"pages" doc:"on the paper asked for; 0 when it cannot be drawn yet"`
		Need  string `json:"need" doc:"what the guitar must have before it can be drawn; empty when it can be"`
	}
	drawn struct {
		Type        string `header:"Content-Type"`
		Disposition string `header:"Content-Disposition" doc:"name to save the file under"`
		Pages       int    `header:"Fairset-Pages" doc:"pages of the sheet on the paper asked for"`
		Body        []byte
	}
)

func (s *server) printRoutes() {
	add(s, access.Member, "GET", "/sheets", "Every sheet that can be printed, and how it can be put on paper", sheets)
	add(s, access.Member, "GET", "/guitars/{id}/sheets", "The sheets of a guitar, with their pages or what is needed first", s.sheetsOf)
	addDrawn(s, access.Member, "GET", "/guitars/{id}/sheets/{sheet}", "One sheet of a guitar as a file", s.sheet)
	addDrawn(s, access.Member, "POST", "/sheets/{sheet}", "One sheet of the guitar in a guitar file; nothing is kept", s.sheetOf, func(op *huma.Operation) {
		op.MaxBodyBytes, op.SkipValidateBody = guitar.MaxFile, true // it is read by its own, stricter rules
		op.BodyReadTimeout = -1
	})
	s.takes("/sheets/{sheet}", fileSchema())
}

// addDrawn registers a route that gives a drawing in the format asked for.
func addDrawn[I any](s *server, who access.Rule, method, path, summary string, do func(context.Context, *I) (*drawn, error), more ...func(*huma.Operation)) {
	op := huma.Operation{Method: method, Path: Prefix + path, Summary: summary, OperationID: name(method, path)}
	s.guard(&op, who)
	content := map[string]*huma.MediaType{}
	for _, f := range printing.Formats() {
		content[f.MediaType()] = &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}
	}
	op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: content}}
	for _, m := range more {
		m(&op)
	}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*drawn, error) {
		out, err := do(ctx, in)
		if err != nil {
			return nil, s.said(ctx, in, err)
		}
		return out, nil
	})
}

func sheetInfo(e printing.Entry, s unit.Style) SheetInfo {
	return SheetInfo{e.Name, e.Title.In(s), e.About.In(s)}
}

func sheets(_ context.Context, in *struct{ Spoken }) (out Sheets, err error) {
	out.Sheets = []SheetInfo{}
	for _, e := range printing.List() {
		out.Sheets = append(out.Sheets, sheetInfo(e, in.style()))
	}
	out.Fields = describeFields(printing.Fields(), in.style())
	return out, nil
}

func (s *server) sheetsOf(ctx context.Context, in *AskSheets) (out GuitarSheets, err error) {
	style := s.style(ctx, in.Units)
	setup, options, err := printing.ParseSetup(in.texts(), style)
	if err != nil {
		return out, err
	}
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return out, err
	}
	source := s.shop.Source(v, style, options)
	out.Sheets = []GuitarSheet{}
	for _, e := range printing.List() {
		one := GuitarSheet{SheetInfo: sheetInfo(e, style)}
		plan, err := setup.Plan(e, source, printing.PDF)
		var need *printing.NeedError
		if errors.As(err, &need) {
			one.Need = need.Need.In(style)
		} else if err != nil {
			return out, err
		}
		one.Pages = len(plan.Pages)
		out.Sheets = append(out.Sheets, one)
	}
	return out, nil
}

func (s *server) sheet(ctx context.Context, in *AskSheet) (*drawn, error) {
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	return s.draw(v, s.style(ctx, in.Units), in.OnPaper, in.Written)
}

func (s *server) sheetOf(ctx context.Context, in *AskSheetOf) (*drawn, error) {
	gs, err := guitar.Decode(in.RawBody)
	if err != nil {
		return nil, err
	}
	if len(gs) != 1 {
		return nil, refuse("guitars", unit.Say("one guitar"), "the file holds %d guitars", len(gs))
	}
	set, err := s.shop.Settings(ctx)
	if err != nil {
		return nil, err
	}
	return s.draw(shop.View{Record: store.Record{Guitar: gs[0]}, Bench: gs[0].Bench(guitar.Options{Drills: set.Drills}), Settings: set}, s.style(ctx, in.Units), in.OnPaper, in.Written)
}

func (s *server) draw(v shop.View, style unit.Style, paper OnPaper, w Written) (*drawn, error) {
	setup, options, err := printing.ParseSetup(paper.texts(), style)
	if err != nil {
		return nil, err
	}
	job := printing.Job{Setup: setup, Format: printing.Format(w.Format), Lenient: w.Sheet == printing.All}
	if job.Lenient && job.Format != printing.PDF {
		return nil, refuse("format", unit.Plain(string(printing.PDF)), "all sheets come as one PDF; ask for the others one by one")
	}
	if job.Entries, err = printing.FindAll(w.Sheet); err != nil || !job.Lenient && len(job.Entries) != 1 {
		return nil, &wrong{http.StatusNotFound, "sheet", unit.Say("there is no sheet %s", clip(w.Sheet)), unit.Say("the sheets of %s, or all", Prefix+"/sheets")}
	}
	out := &drawn{Type: job.Format.MediaType()}
	page := 0
	r, err := job.Make(s.shop.Source(v, style, options), func(name string, write func(io.Writer) error) error {
		if page++; job.Format != printing.PDF && page != w.Page {
			return nil
		}
		var b bytes.Buffer
		err := write(&b)
		out.Disposition, out.Body = `attachment; filename="`+name+`"`, b.Bytes()
		return err
	})
	if err != nil {
		return nil, err
	}
	if out.Pages = r.Pages; w.Page > r.Pages {
		return nil, refuse("page", unit.Say("1 to %d", r.Pages), "there is no page %d", w.Page)
	}
	return out, nil
}
