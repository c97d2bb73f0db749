package web

import (
	"errors"
	"io"
	"maps"
	"net/http"
	"strings"

	"fairset/craft/bill"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

// maxImport bounds an imported file. A guitar of a hundred entries takes about 50 KiB.
const maxImport = 32 << 20

// maxAlbumBody bounds one with photos.
const maxAlbumBody = shop.MaxAlbum + maxBody

// shopPageData is the shop's own page: its name and units, its files, and the guitars taken off the bench.
type shopPageData struct {
	layout
	Album           bool // the shop keeps photos
	Name, NameWrong string
	Units           unit.Style
	Language        string // a tag; "" for what each browser asks for
	Drills          string // one item a line
	DrillsWrong     string
	DrillsRows      int
	Currency        string
	Prices          []priceInput
	PricesOpen      bool
	BenchWrong      string
	OnBench         unit.Phrase // how many guitars
	Removed         []removedGuitar
	Copies          bool // copies of the shop are kept
	Imported        *importResult
	ImportWrong     string
}

// priceInput is one of the shop's own prices.
type priceInput struct {
	Key, Say, Value, Wrong string
	Name                   unit.Text
}

// settings shows what the shop keeps for everyone, or what was typed last.
func (p *shopPageData) settings(set store.Settings, style unit.Style) {
	p.Name, p.Units, p.Language, p.Currency = set.ShopName, set.Units, set.Language, set.Currency
	p.Drills, p.DrillsRows = strings.Join(set.Drills, "\n"), min(max(len(set.Drills)+1, 3), 12)
	p.Prices = nil
	for _, i := range bill.Priceable() {
		var pers []string
		for _, x := range i.Kind.Pers() {
			pers = append(pers, x.Name().In(style))
		}
		p.Prices = append(p.Prices, priceInput{Key: "price_" + i.Key, Name: i.Name, Say: strings.Join(pers, ", "), Value: set.Prices[i.Key]})
	}
}

type removedGuitar struct {
	ID, Name, Changed string
	Entries           unit.Phrase
}

// importResult says what became of each guitar in a file.
type importResult struct {
	Say  unit.Phrase
	Rows []importRow
}

type importRow struct {
	ID, Name string
	Became   unit.Text
}

func shopPage(in *request) error {
	p, err := in.shopPage()
	if err != nil {
		return err
	}
	return in.render(http.StatusOK, "shop", p)
}

func (in *request) shopPage() (shopPageData, error) {
	p := shopPageData{layout: in.layout("Shop"), Copies: in.srv.keeps != nil, Album: in.srv.shop.KeepsPhotos()}
	set, err := in.srv.shop.Settings(in.Context())
	if err != nil {
		return p, err
	}
	p.settings(set, in.prefs.Units)
	all, err := in.srv.shop.Guitars(in.Context())
	if err != nil {
		return p, err
	}
	p.OnBench = unit.Plural(len(all), "%d guitar on the bench.", "%d guitars on the bench.")
	removed, err := in.srv.shop.Removed(in.Context())
	if err != nil {
		return p, err
	}
	for _, r := range removed {
		p.Removed = append(p.Removed, removedGuitar{r.Guitar.ID, r.Guitar.Name, in.when(r.Changed), unit.Plural(len(r.Guitar.Log), "%d entry", "%d entries")})
	}
	p.Path = "/shop"
	return p, nil
}

func shopSave(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	set, err := in.srv.shop.Settings(in.Context())
	if err != nil {
		return err
	}
	set.ShopName, set.Units = in.PostForm.Get("shop_name"), unit.Style(in.PostForm.Get("units"))
	// What the form does not send stays as it is.
	if in.PostForm.Has("language") {
		set.Language = in.PostForm.Get("language")
	}
	if in.PostForm.Has("drills") {
		set.Drills = strings.FieldsFunc(in.PostForm.Get("drills"), func(r rune) bool { return r == '\n' || r == '\r' || r == ';' })
	}
	if in.PostForm.Has("currency") {
		set.Currency = in.PostForm.Get("currency")
	}
	prices := maps.Clone(set.Prices)
	if prices == nil {
		prices = map[string]string{}
	}
	for _, i := range bill.Priceable() {
		if in.PostForm.Has("price_" + i.Key) {
			prices[i.Key] = in.PostForm.Get("price_" + i.Key)
		}
	}
	set.Prices = prices
	err = in.srv.shop.SaveSettings(in.Context(), set)
	if err == nil {
		return in.back("/shop", "Saved.")
	}
	if shop.Status(err) != http.StatusUnprocessableEntity {
		return err
	}
	p, again := in.shopPage()
	if again != nil {
		return again
	}
	p.settings(set, in.prefs.Units)
	p.wrong(err, in.sentence(err))
	return in.render(http.StatusUnprocessableEntity, "shop", p)
}

// Refused lists what is wrong, for the head of the form.
func (p shopPageData) Refused() []problem {
	var out []problem
	if p.NameWrong != "" {
		out = append(out, problem{"shop_name", p.NameWrong})
	}
	if p.DrillsWrong != "" {
		out = append(out, problem{"drills", p.DrillsWrong})
	}
	for _, x := range p.Prices {
		if x.Wrong != "" {
			out = append(out, problem{x.Key, x.Wrong})
		}
	}
	return out
}

// wrong puts a refusal beside the input it is of.
func (p *shopPageData) wrong(err error, say string) {
	var re *unit.RangeError
	if !errors.As(err, &re) {
		p.NameWrong = say
		return
	}
	if re.Field == "drills" {
		p.DrillsWrong = say
	}
	for i, x := range p.Prices {
		if x.Key == re.Field {
			p.Prices[i].Wrong, p.PricesOpen = say, true
		}
	}
}

func exportShop(in *request) error {
	data, err := in.srv.shop.ExportAll(in.Context())
	if err != nil {
		return err
	}
	in.download("fairset-shop.json", data)
	return nil
}

// exportTables sends everything as CSV tables in a zip. They are written to a file without a name first, so that a
// failure gives an error page and not half a zip.
func exportTables(in *request) error {
	f, err := place.Scratch("")
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	if err := in.srv.shop.WriteTables(in.Context(), f); err != nil {
		return f.Why(err)
	}
	size, err := f.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	in.attach(shop.TablesName, "application/zip", size)
	_, _ = io.Copy(in.w, io.NewSectionReader(f.File, 0, size))
	return nil
}

// importFile takes a guitar file and says on the page what became of each guitar in it. Nothing that is here
// is ever overwritten.
func importFile(in *request) error {
	p, err := in.shopPage()
	if err != nil {
		return err
	}
	got, err := in.takeIn()
	if errors.Is(err, errNoFile) {
		p.ImportWrong = in.tell("No file was chosen, or it is empty. Choose a file that was saved from here.")
		return in.render(http.StatusUnprocessableEntity, "shop", p)
	}
	if err != nil {
		if shop.Status(err) != http.StatusUnprocessableEntity || len(got.Guitars) > 0 {
			return err
		}
		p.ImportWrong = in.sentence(err)
		return in.render(http.StatusUnprocessableEntity, "shop", p)
	}
	if p, err = in.shopPage(); err != nil { // the lists are longer now
		return err
	}
	p.Imported = importedWords(got)
	return in.render(http.StatusOK, "shop", p)
}

var errNoFile = errors.New("no file was sent")

// takeIn takes in the posted file: a guitar file, a shop file, or a shop with its photos.
func (in *request) takeIn() (got shop.Taken, err error) {
	f, head, err := in.FormFile("file")
	if in.MultipartForm != nil {
		defer func() { _ = in.MultipartForm.RemoveAll() }()
	}
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		return got, errNoFile
	}
	if err != nil {
		return got, uploadError(err)
	}
	defer func() { _ = f.Close() }()
	start := make([]byte, 4)
	if n, err := f.ReadAt(start, 0); n == 0 && err != nil {
		return got, errNoFile
	}
	if shop.IsAlbum(start) {
		return in.srv.shop.ImportAlbum(in.Context(), f, head.Size)
	}
	data, err := io.ReadAll(io.LimitReader(f, maxImport+1))
	if err != nil {
		return got, uploadError(err)
	}
	if len(data) > maxImport {
		return got, &http.MaxBytesError{Limit: maxImport}
	}
	return in.srv.shop.Import(in.Context(), data)
}

// uploaded returns the file posted under a name; empty when there is none.
func (in *request) uploaded(name string) ([]byte, error) {
	f, _, err := in.FormFile(name)
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		return nil, nil
	}
	if err != nil {
		return nil, uploadError(err)
	}
	defer func() { _ = f.Close() }()
	data, err := io.ReadAll(f)
	if err != nil {
		return nil, uploadError(err)
	}
	return data, nil
}

func uploadError(err error) error {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return err
	}
	return refuse(http.StatusBadRequest, "The file did not arrive whole, so nothing was taken in. Choose it again.")
}

func importedWords(taken shop.Taken) *importResult {
	got := taken.Guitars
	out := &importResult{}
	counts := map[store.Outcome]int{}
	for _, g := range got {
		counts[g.Outcome]++
		row := importRow{ID: g.Record.Guitar.ID, Name: g.Record.Guitar.Name}
		switch g.Outcome {
		case store.Added:
			row.Became = "added"
		case store.Skipped:
			row.Became = "left as it is: the same guitar is here already, entry for entry"
		case store.Restored:
			row.Became = "put back: it was here, taken off the bench"
		case store.Copied:
			row.Became = "kept beside the one here, which differs from it"
		}
		out.Rows = append(out.Rows, row)
	}
	said := []unit.Phrase{unit.Say("%d added, %d left as they are, %d put back, %d kept as a copy.", counts[store.Added], counts[store.Skipped], counts[store.Restored], counts[store.Copied])}
	if a := taken.Air; taken.HadAir {
		said = append(said, unit.Say("Of the air %d readings were added, %d were here already, %d differ from one here and were left out.", a.Added, a.Same, len(a.Differ)))
	}
	if taken.Photos > 0 {
		said = append(said, photosKept(taken.Photos))
	}
	out.Say = unit.Join(said...)
	return out
}

// sentence is what the maker is told of an error.
func (in *request) sentence(err error) string { return shop.SentenceIn(err, in.prefs.Units) }

// restore puts a guitar that was taken off the bench back on it.
func restore(in *request) error {
	v, err := in.srv.shop.Restore(in.Context(), in.PathValue("id"))
	if err != nil {
		return err
	}
	return in.back(guitarURL(v.Guitar.ID), "%s is back on the bench, with all its readings.", v.Guitar.Name)
}
