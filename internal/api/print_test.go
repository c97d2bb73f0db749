package api

import (
	"bytes"
	"encoding/json"
	"testing"

	"fairset/printing"
)

// A sheet asked for over HTTP is, byte for byte, the one that the list of sheets draws.
func TestSheets(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	at := "/guitars/" + g.ID + "/sheets"
	list := into[GuitarSheets](b, b.ask("GET", at, nil, 200)).Sheets
	if len(list) != len(printing.List()) {
		t.Errorf("%d sheets, want %d", len(list), len(printing.List()))
	}
	drawn := 0
	file := b.exchange("GET", "/guitars/"+g.ID+"/export", nil, 200).Body.Bytes()
	for _, s := range list {
		if (s.Pages == 0) != (s.Need != "") {
			t.Errorf("%s: %d pages and needs %q", s.Sheet, s.Pages, s.Need)
		}
		if s.Need != "" {
			e := into[struct{ Error Fault }](b, b.ask("GET", at+"/"+s.Sheet, nil, 422)).Error
			if e.Field != "sheet" || e.Message == "" {
				t.Errorf("%s cannot be drawn, and the refusal says %+v", s.Sheet, e)
			}
			continue
		}
		drawn++
		kept := b.exchange("GET", at+"/"+s.Sheet+"?format=svg&units=mm", nil, 200).Body.Bytes()
		sent := b.exchange("POST", "/sheets/"+s.Sheet+"?format=svg&units=mm", file, 200).Body.Bytes()
		if !bytes.HasPrefix(kept, []byte("<?xml")) || !bytes.Equal(kept, sent) {
			t.Errorf("%s differs between the guitar in the shop and the same one in a file", s.Sheet)
		}
	}
	if drawn == 0 {
		t.Error("nothing of a new guitar can be drawn")
	}
	all := b.exchange("GET", at+"/all", nil, 200)
	if !bytes.HasPrefix(all.Body.Bytes(), []byte("%PDF-")) || all.Header().Get("Content-Disposition") != `attachment; filename="heron.pdf"` {
		t.Errorf("every sheet: %.20q as %s", all.Body, all.Header().Get("Content-Disposition"))
	}
}

func TestSheetsRefused(t *testing.T) {
	b := newBench(t)
	g := into[Guitar](b, b.ask("POST", "/guitars", m{"name": "Heron", "design": "steel-14"}, 201))
	file := b.ask("GET", "/guitars/"+g.ID+"/export", nil, 200)
	whole := b.ask("GET", "/export", nil, 200)
	var two m
	if err := json.Unmarshal(whole, &two); err != nil {
		t.Fatal(err)
	}
	two["guitars"] = []any{}
	for _, c := range []struct {
		method, path string
		body         any
		status       int
		field        string
	}{
		{"GET", "/guitars/" + g.ID + "/sheets/no-such", nil, 404, "sheet"},
		{"GET", "/guitars/" + g.ID + "/sheets/frets,side", nil, 404, "sheet"},
		{"GET", "/guitars/nobody/sheets/frets", nil, 404, ""},
		{"GET", "/guitars/nobody/sheets", nil, 404, ""},
		{"GET", "/guitars/" + g.ID + "/sheets/frets?format=gif", nil, 422, "format"},
		{"GET", "/guitars/" + g.ID + "/sheets/frets?page=0", nil, 422, "page"},
		{"GET", "/guitars/" + g.ID + "/sheets/frets?format=svg&page=2", nil, 422, "page"},
		{"GET", "/guitars/" + g.ID + "/sheets/frets?format=png&dpi=5000", nil, 422, "dpi"},
		{"GET", "/guitars/" + g.ID + "/sheets/all?format=svg", nil, 422, "format"},
		{"GET", "/guitars/" + g.ID + "/sheets?jig_length=5+km", nil, 422, "jig_length"},
		{"GET", "/guitars/" + g.ID + "/sheets?papr=a4", nil, 422, "papr"},
		{"POST", "/sheets/no-such", file, 404, "sheet"},
		{"POST", "/sheets/frets", `{"format": "fairset.guitar"`, 422, "line 1"},
		{"POST", "/sheets/frets", two, 422, "guitars"},
	} {
		e := into[struct{ Error Fault }](b, b.ask(c.method, c.path, c.body, c.status)).Error
		if e.Field != c.field || e.Message == "" {
			t.Errorf("%s %s: %+v, want field %q", c.method, c.path, e, c.field)
		}
	}
}
