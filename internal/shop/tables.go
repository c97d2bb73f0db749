package shop

import (
	"archive/zip"
	"cmp"
	"context"
	"encoding/csv"
	"io"
	"maps"
	"slices"
	"strconv"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/unit"
)

// TablesName is what the shop's tables are saved under.
const TablesName = "fairset-tables.zip"

// about is the text beside the tables.
const about = `The shop as tables: comma-separated values (RFC 4180), UTF-8, times in UTC (RFC 3339), figures with a decimal point.

guitars.csv   one line a guitar, those taken off the bench too
design.csv    the design of each guitar as it stands: one line a figure
entries.csv   everything entered, one line an entry, the undone ones too
figures.csv   every figure of every entry, as it was typed and what it came to, with its unit
cuts.csv      what each cut or shim was meant to do when it was made
climate.csv   the shop's air
settings.csv  the shop's settings
photos.csv    one line a photo, and the file it is in under photos/

Texts that a spreadsheet could take for a formula begin with an apostrophe, which is not part of the text.
Accounts are in none of these; a copy of the whole shop (fairset backup) holds them.
To take guitars in again use the shop file (fairset export), not these tables.
`

// WriteTables writes everything that whoever asks may see as a zip of CSV files, for any spreadsheet.
func (s *Shop) WriteTables(ctx context.Context, w io.Writer) error {
	on, err := s.Store.List(ctx)
	if err != nil {
		return err
	}
	off, err := s.Store.Removed(ctx)
	if err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	air, err := s.Store.Climate(ctx, time.Time{}, time.Time{})
	if err != nil {
		return err
	}
	all := s.own(ctx, append(slices.Clone(on), off...))
	slices.SortFunc(all, func(a, b store.Record) int {
		return cmp.Or(a.Guitar.Created.Compare(b.Guitar.Created), cmp.Compare(a.Guitar.ID, b.Guitar.ID))
	})
	z := &tables{zip: zip.NewWriter(w), at: s.now(), ctx: ctx}
	z.text("README.txt", about)
	z.table("guitars.csv", "id", "name", "start", "basis", "created", "changed", "revision", "taken_off", "entries")
	for _, r := range all {
		g := r.Guitar
		z.line(g.ID, g.Name, string(g.Start), g.Basis, stamped(g.Created), stamped(r.Changed), strconv.FormatInt(r.Revision, 10), yes(r.Removed), strconv.Itoa(len(g.Log)))
	}
	z.table("design.csv", "guitar_id", "guitar", "field", "label", "number", "typed", "figure", "unit")
	for _, r := range all {
		z.figures([]string{r.Guitar.ID, r.Guitar.Name}, r.Guitar.Fields(guitar.StepDesign), r.Guitar.Design())
	}
	z.table("entries.csv", "guitar_id", "guitar", "entry", "at", "bench", "step", "step_name", "undone")
	each := func(do func(g guitar.Guitar, e guitar.Entry, head []string)) {
		for _, r := range all {
			for _, e := range r.Guitar.Log {
				do(r.Guitar, e, []string{r.Guitar.ID, r.Guitar.Name, strconv.Itoa(e.Seq), stamped(e.At)})
			}
		}
	}
	each(func(_ guitar.Guitar, e guitar.Entry, head []string) {
		name := "Change of design"
		if g, ok := guitar.FindGuide(e.Step); ok {
			name = g.Name.In(unit.Millimetre) // as all of the tables, in English
		}
		z.line(append(head, e.Bench, string(e.Step), name, yes(e.Undone))...)
	})
	z.table("figures.csv", "guitar_id", "guitar", "entry", "at", "step", "undone", "field", "label", "number", "typed", "figure", "unit")
	each(func(g guitar.Guitar, e guitar.Entry, head []string) {
		z.figures(append(head, string(e.Step), yes(e.Undone)), g.Fields(e.Step), e.Values)
	})
	z.table("cuts.csv", "guitar_id", "guitar", "entry", "at", "step", "undone", "gap_change_mm", "offset_change_mm", "neck_shift_mm",
		"depth_top_bass_mm", "depth_top_treble_mm", "depth_cap_bass_mm", "depth_cap_treble_mm", "sd_fraction", "risk_fraction", "strokes")
	each(func(_ guitar.Guitar, e guitar.Entry, head []string) {
		if p := e.Plan; p != nil {
			mm := func(l unit.Length) string { return number(l.MM()) }
			z.line(append(head, string(e.Step), yes(e.Undone), mm(p.GapChange), mm(p.OffsetChange), mm(p.Shift),
				mm(p.Depth.TopBass), mm(p.Depth.TopTreble), mm(p.Depth.CapBass), mm(p.Depth.CapTreble), number(p.SD), number(p.Risk), strconv.Itoa(p.Strokes))...)
		}
	})
	z.table("climate.csv", "at", "place", "temperature_c", "relative_humidity_percent", "wood_moisture_at_rest_percent")
	for _, a := range air {
		z.line(stamped(a.At), a.Place, number(a.Temperature), number(a.Humidity), strconv.FormatFloat(a.EMC(), 'f', 2, 64))
	}
	z.table("settings.csv", "setting", "value")
	z.line("shop_name", set.ShopName)
	z.line("units", string(set.Units))
	z.line("currency", set.Currency)
	for _, d := range set.Drills {
		z.line("drills", d)
	}
	for _, k := range slices.Sorted(maps.Keys(set.Prices)) {
		z.line("price_"+k, set.Prices[k])
	}
	if p, ok := s.Store.(store.Photos); ok {
		z.photos(p, all)
	}
	return z.close()
}

// photos writes the photos of the guitars: a table, and each picture as the file it is.
func (t *tables) photos(from store.Photos, all []store.Record) {
	t.table("photos.csv", "guitar_id", "guitar", "id", "entry", "at", "by", "shows", "width", "height", "file")
	var list []store.Photo
	for _, r := range all {
		ps, err := from.Photos(t.ctx, r.Guitar.ID)
		if err != nil {
			t.fail(err)
			return
		}
		for _, p := range ps {
			entry := ""
			if p.Entry > 0 {
				entry = strconv.Itoa(p.Entry)
			}
			t.line(p.Guitar, r.Guitar.Name, p.ID, entry, stamped(p.At), p.By, p.Alt, strconv.Itoa(p.Width), strconv.Itoa(p.Height), photoFile(p))
		}
		list = append(list, ps...)
	}
	for _, p := range list {
		data, err := from.PhotoBytes(t.ctx, p.ID, false)
		if store.KindOf(err) == store.NotFound && err != nil {
			continue // removed since it was listed
		}
		if err != nil {
			t.fail(err)
			return
		}
		t.stored(photoFile(p), data)
	}
}

func photoFile(p store.Photo) string { return "photos/" + p.Guitar + "-" + p.ID + ".jpg" }

// tables is a zip of CSV files being written. The first error stands and ends the writing.
type tables struct {
	ctx context.Context
	zip *zip.Writer
	at  time.Time
	csv *csv.Writer
	err error
}

func (t *tables) fail(err error) {
	if t.err == nil {
		t.err = err
	}
}

func (t *tables) entry(name string, method uint16) io.Writer {
	t.flush()
	if t.err == nil {
		t.err = t.ctx.Err()
	}
	if t.err != nil {
		return io.Discard
	}
	w, err := t.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: t.at})
	if err != nil {
		t.err = err
		return io.Discard
	}
	return w
}

func (t *tables) text(name, text string) {
	_, err := io.WriteString(t.entry(name, zip.Deflate), text)
	t.fail(err)
}

// stored writes a file that is packed already.
func (t *tables) stored(name string, data []byte) {
	_, err := t.entry(name, zip.Store).Write(data)
	t.fail(err)
}

func (t *tables) table(name string, columns ...string) {
	t.csv = csv.NewWriter(t.entry(name, zip.Deflate))
	t.csv.UseCRLF = true // source: RFC 4180, section 2
	t.line(columns...)
}

func (t *tables) line(cells ...string) {
	if t.err != nil {
		return
	}
	for i, c := range cells {
		cells[i] = unit.Cell(c)
	}
	t.err = t.csv.Write(cells)
}

// figures writes a line for each figure, after the cells that say whose they are.
func (t *tables) figures(head []string, fields []guitar.Field, v guitar.Values) {
	for _, f := range fields {
		for i, x := range v[f.Field] {
			key, digits := f.Plain(x)
			t.line(append(slices.Clone(head), f.Field, f.Label.In(unit.Millimetre), strconv.Itoa(i+1), x.Text, digits, key)...)
		}
	}
}

func (t *tables) flush() {
	if t.csv != nil {
		t.csv.Flush()
		t.fail(t.csv.Error())
		t.csv = nil
	}
}

func (t *tables) close() error {
	t.flush()
	if t.err == nil {
		t.err = t.zip.Close()
	}
	return t.err
}

func stamped(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
