package shop

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/storetest"
	"fairset/unit"
)

// opened reads a zip of tables into lines by file.
func opened(t *testing.T, data []byte) map[string][]map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		raw, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(f.Name, ".csv") {
			out[f.Name] = nil
			continue
		}
		lines, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		rows := []map[string]string{}
		for _, l := range lines[1:] {
			row := map[string]string{}
			for i, c := range l {
				row[lines[0][i]] = c
			}
			rows = append(rows, row)
		}
		out[f.Name] = rows
	}
	return out
}

func TestTablesHoldEverything(t *testing.T) {
	ctx := t.Context()
	db, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s := New(db)
	larch, err := db.Create(ctx, storetest.Worked(t, "=Larch"))
	if err != nil {
		t.Fatal(err)
	}
	elm, err := db.Create(ctx, storetest.Worked(t, "Elm"))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := db.Undo(ctx, elm.Guitar.ID, elm.Revision); err != nil {
		t.Fatal(err)
	}
	now, err := db.Get(ctx, elm.Guitar.ID)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Remove(ctx, elm.Guitar.ID, now.Revision); err != nil {
		t.Fatal(err)
	}
	if _, err := db.AddClimate(ctx, storetest.Air()); err != nil {
		t.Fatal(err)
	}
	if err := s.SaveSettings(ctx, store.Settings{Units: unit.Inch64, ShopName: "+Heron Lane", Drills: []string{"#7", "F"}, Prices: map[string]string{"neck": "9.50"}, Currency: "€"}); err != nil {
		t.Fatal(err)
	}
	photos, err := db.AddPhotos(ctx, []store.PhotoFile{{Photo: store.Photo{Guitar: larch.Guitar.ID, Entry: 2, Alt: "=the heel", At: storetest.Day, By: "bench 3", Width: 3, Height: 2}, Full: []byte("full picture"), Thumb: []byte("thumb")}})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := s.WriteTables(ctx, &b); err != nil {
		t.Fatal(err)
	}
	got := opened(t, b.Bytes())
	if ps := got["photos.csv"]; len(ps) != 1 || ps[0]["id"] != photos[0].ID || ps[0]["entry"] != "2" || ps[0]["shows"] != "'=the heel" {
		t.Errorf("photos %v", ps)
	} else if z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len())); err != nil {
		t.Error(err)
	} else if f, err := z.Open(ps[0]["file"]); err != nil {
		t.Errorf("the photo's file: %v", err)
	} else if raw, err := io.ReadAll(f); err != nil || string(raw) != "full picture" {
		t.Errorf("the photo's file holds %q, %v", raw, err)
	}
	if _, ok := got["README.txt"]; !ok {
		t.Error("no README.txt")
	}
	gs := got["guitars.csv"]
	if len(gs) != 2 {
		t.Fatalf("%d guitars", len(gs))
	}
	for _, g := range gs {
		switch g["id"] {
		case larch.Guitar.ID:
			if g["name"] != "'=Larch" || g["taken_off"] != "no" || g["entries"] != "5" || g["created"] != "2026-03-02T09:00:00Z" {
				t.Errorf("%v", g)
			}
		case elm.Guitar.ID:
			if g["taken_off"] != "yes" {
				t.Errorf("%v", g)
			}
		default:
			t.Errorf("%v", g)
		}
	}
	if n := len(got["entries.csv"]); n != 10 {
		t.Errorf("%d entries, want 5 of each", n)
	}
	if last := got["entries.csv"][9]; got["entries.csv"][4]["undone"] == last["undone"] {
		t.Error("the undone entry is not told from the others")
	}
	// Every figure of every entry and design, by the tables the guitar file is made of.
	want, design := 0, 0
	for _, g := range []guitar.Guitar{larch.Guitar, elm.Guitar} {
		for _, e := range g.Log {
			for _, v := range e.Values {
				want += len(v)
			}
		}
		for _, v := range g.Design() {
			design += len(v)
		}
	}
	if len(got["figures.csv"]) != want || len(got["design.csv"]) != design {
		t.Errorf("%d figures and %d of designs, want %d and %d", len(got["figures.csv"]), len(got["design.csv"]), want, design)
	}
	found := 0
	for _, f := range got["figures.csv"] {
		if f["field"] == "gap" {
			found++
			if f["typed"] != "17/64" || f["figure"] != "6.746875" || f["unit"] != "mm" { // 17/64 in is 6.746875 mm: 17 × 25.4 / 64
				t.Errorf("%v", f)
			}
		}
	}
	if found != 2 {
		t.Errorf("%d gaps", found)
	}
	for _, d := range got["design.csv"] {
		if d["field"] == "scale_length" && (d["typed"] != "25 1/2" || d["figure"] != "647.7") { // 25.5 × 25.4
			t.Errorf("%v", d)
		}
	}
	if cuts := got["cuts.csv"]; len(cuts) != 2 || cuts[0]["gap_change_mm"] == "" || cuts[0]["risk_fraction"] == "" {
		t.Errorf("cuts %v", cuts)
	}
	air := got["climate.csv"]
	if len(air) != 3 || air[1]["place"] != "store" || air[1]["temperature_c"] != "18.5" || air[1]["relative_humidity_percent"] != "52.5" {
		t.Errorf("air %v", air)
	}
	settings := map[string][]string{}
	for _, l := range got["settings.csv"] {
		settings[l["setting"]] = append(settings[l["setting"]], l["value"])
	}
	if strings.Join(settings["shop_name"], "|") != "'+Heron Lane" || strings.Join(settings["drills"], "|") != "#7|F" || strings.Join(settings["price_neck"], "|") != "9.50" || strings.Join(settings["units"], "|") != "in64" {
		t.Errorf("settings %v", settings)
	}
}
