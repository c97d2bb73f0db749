package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/craft/wood"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// climateData is the log of the shop's air.
type climateData struct {
	layout
	Places   []placeChoice
	Place    string
	Spans    []spanChoice
	Span     string
	Has      bool
	Says     []unit.Phrase
	Picture  picture
	Recent   []recentReading
	Form     form // the reading that is typed
	Inputs   []input
	At       string
	AtWrong  string
	Wrong    []string
	File     climateFile
	Imported *climateImported
	Thick    string
	ThickBad string
}

type placeChoice struct {
	Key, Name string
	On        bool
}

type spanChoice struct {
	Key  string
	Name unit.Text
	On   bool
}

// recentReading is one that can be taken away again.
type recentReading struct{ When, Key, Place, Words string }

// climateFile is the form that takes in a file, with what was asked about it.
type climateFile struct {
	Wrong  string
	Asks   string
	Option string
	Place  string
	Dates  string
	Unit   string
}

type climateImported struct {
	Say   string // what became of the file
	Notes []unit.Phrase
	Bad   []climate.Bad
	More  int
}

// mostBadShown bounds the lines listed on the page; the command line lists all.
const mostBadShown = 200

var spans = []struct {
	key  string
	name unit.Text
	days int
}{{"week", "a week", 7}, {"month", "a month", 31}, {"quarter", "three months", 92}, {"year", "a year", 366}, {"all", "everything", 0}}

// typedAir are the fields of a typed reading.
var typedAir = []guitar.Field{
	{Limit: unit.Limit{Field: "temperature", Label: unit.Say("temperature"), Kind: unit.KindTemperature, Min: -20, Max: 60}, Help: unit.Say("Or with its unit: 21 °C, 70 °F."), Required: true},
	{Limit: unit.Limit{Field: "humidity", Label: unit.Say("relative humidity"), Kind: unit.KindPercent, Min: 0.01, Max: 0.99}, Required: true},
	{Limit: unit.Limit{Field: "place", Label: unit.Say("place"), Kind: unit.KindText}, Help: unit.Say("“Bench”, “wood store”. Leave empty with only one.")},
}

// clockForm is how a moment is typed: what a browser's own field for it sends.
const clockForm = "2006-01-02T15:04"

func (in *request) climateData() (climateData, error) {
	d := climateData{layout: in.layout("The air")}
	q := in.URL.Query()
	d.Span = "month"
	days := 31
	for _, s := range spans {
		if s.key == q.Get("span") {
			d.Span, days = s.key, s.days
		}
	}
	for _, s := range spans {
		d.Spans = append(d.Spans, spanChoice{s.key, s.name, s.key == d.Span})
	}
	ask := shop.ClimateAsk{Place: q.Get("place"), Named: q.Has("place")}
	if t := strings.TrimSpace(q.Get("thickness")); t != "" {
		d.Thick = t
		l, _ := wood.LimitOf("thickness")
		if got, err := l.Parse(t, in.prefs.Units); err != nil {
			d.ThickBad = err.(*unit.RangeError).In(in.prefs.Units)
		} else {
			ask.Thickness = got.Value
		}
	}
	all, err := in.srv.shop.Climate(in.Context(), shop.ClimateAsk{})
	if err != nil {
		return d, err
	}
	d.Has = len(all.Points) > 0
	v := all
	if !ask.Named && len(all.Places) > 0 {
		ask.Place = all.Place
	}
	if days > 0 || ask.Place != all.Place || ask.Thickness != 0 || ask.Named {
		whole, err := in.srv.shop.Climate(in.Context(), shop.ClimateAsk{Place: ask.Place, Named: true, Thickness: ask.Thickness})
		if err != nil {
			return d, err
		}
		v = whole
	}
	d.Place = v.Place
	for _, p := range all.Places {
		name := p
		if name == "" {
			name = in.tell("no place named")
		}
		d.Places = append(d.Places, placeChoice{p, name, p == v.Place})
	}
	points := v.Points
	if days > 0 && len(points) > 0 { // counted back from the last reading, so that an old log shows something
		since := points[len(points)-1].At.AddDate(0, 0, -days)
		for len(points) > 0 && points[0].At.Before(since) {
			points = points[1:]
		}
	}
	d.show(in, v, points)
	d.At = in.srv.shop.Time().In(time.Local).Format(clockForm)
	return d, nil
}

// show puts a stretch of the log into words, picture and table.
func (d *climateData) show(in *request, v shop.ClimateView, points []climate.Point) {
	style := in.prefs.Units
	if len(points) == 0 {
		return
	}
	s, last := climate.Summarise(points, v.Band), points[len(points)-1]
	now := unit.Text("The last reading, %.0f %% and %v, is inside the band of %.0f to %.0f %%.")
	switch {
	case last.Humidity < v.Band.Low:
		now = "The last reading, %.0f %% and %v, is drier than the band of %.0f to %.0f %%."
	case last.Humidity > v.Band.High:
		now = "The last reading, %.0f %% and %v, is damper than the band of %.0f to %.0f %%."
	}
	d.Says = []unit.Phrase{
		unit.Say(now, last.Humidity, unit.TemperatureC(last.Temperature), v.Band.Low, v.Band.High),
		unit.Say("Wood that settled there would hold %.1f %% of water; a piece of %v, open on both faces, holds about %.1f %% by now.", last.EMC, v.Thickness, last.Behind),
		unit.Plural(s.Count, "In this %d reading the air was in the band %.0f %% of the time, drier %.0f %%, damper %.0f %%; from %.0f to %.0f %%.",
			"In these %d readings the air was in the band %.0f %% of the time, drier %.0f %%, damper %.0f %%; from %.0f to %.0f %%.",
			s.Inside*100, s.Drier*100, s.Damper*100, s.Low, s.High),
	}
	if s.Longest > chartGapHours*time.Hour {
		d.Says = append(d.Says, unit.Say("The longest time without a reading was %.0f days.", s.Longest.Hours()/24))
	}
	d.Picture = both("air", false, func(narrow bool) *drawing.Sheet {
		return sheet.ClimateChart(points, v.Band, sheet.ClimateOptions{Narrow: narrow, Style: style, Zone: time.Local})
	})
	for i := len(points) - 1; i >= 0 && len(d.Recent) < 10; i-- {
		p := points[i]
		d.Recent = append(d.Recent, recentReading{in.moment(p.At), p.At.UTC().Format(time.RFC3339), p.Place, in.tell("%.0f %%, %v", p.Humidity, unit.TemperatureC(p.Temperature))})
	}
}

const chartGapHours = 48

// climatePage serves GET /climate.
func climatePage(in *request) error {
	d, err := in.climateData()
	if err != nil {
		return err
	}
	return in.showClimate(http.StatusOK, d, nil, nil)
}

func (in *request) showClimate(status int, d climateData, typed map[string][]string, wrong error) error {
	f := newForm(typedAir, nil, typed, wrong, in.prefs.Units)
	for i := range f.Inputs {
		if f.Inputs[i].Key == "place" {
			f.Inputs[i].Kind = "line"
		}
	}
	if d.AtWrong != "" {
		f.Problems = append(f.Problems, problem{"at", d.AtWrong})
	}
	for _, w := range d.Wrong {
		f.Problems = append(f.Problems, problem{"", w})
	}
	d.Form, d.Inputs = f, f.Inputs
	return in.render(status, "climate", d)
}

// climateSave serves POST /climate: one typed reading.
func climateSave(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	d, err := in.climateData()
	if err != nil {
		return err
	}
	typed := map[string][]string{}
	for _, f := range typedAir {
		typed[f.Field] = in.PostForm[f.Field]
	}
	v, wrong := guitar.Parse(typedAir, typed, in.prefs.Units)
	at := time.Time{}
	if t := strings.TrimSpace(in.PostForm.Get("at")); t != "" {
		d.At = t
		var bad error
		if at, bad = time.ParseInLocation(clockForm, t, time.Local); bad != nil {
			if at, bad = time.ParseInLocation(time.DateTime, t, time.Local); bad != nil {
				d.AtWrong = in.tell("Write the time like 2026-03-02 14:30:00, or leave it empty for now.")
			}
		}
	}
	if wrong != nil || d.AtWrong != "" {
		return in.showClimate(http.StatusUnprocessableEntity, d, typed, wrong)
	}
	r, got, err := in.srv.shop.AddClimate(in.Context(), climate.Reading{At: at, Place: v.Choice("place"), Temperature: v.Ratio("temperature"), Humidity: v.Ratio("humidity") * 100})
	switch {
	case shop.Status(err) == http.StatusUnprocessableEntity:
		d.Wrong = []string{in.sentence(err)}
		return in.showClimate(http.StatusUnprocessableEntity, d, typed, nil)
	case err != nil:
		return err
	case len(got.Differ) > 0:
		d.Wrong = []string{in.tell("There is another reading of that time and place already, and it was left as it is. Take it away below first, or give another time.")}
		return in.showClimate(http.StatusUnprocessableEntity, d, typed, nil)
	}
	to := "/climate?place=" + url.QueryEscape(r.Place)
	if got.Same > 0 {
		return in.back(to, "That reading was here already.")
	}
	return in.back(to, "Kept: %.0f %% and %v.", r.Humidity, unit.TemperatureC(r.Temperature))
}

// climateImport serves POST /climate/import: a logger's file.
func climateImport(in *request) error {
	d, err := in.climateData()
	if err != nil {
		return err
	}
	data, err := in.uploaded("file")
	if err != nil {
		return err
	}
	d.File = climateFile{Place: in.FormValue("place"), Dates: in.FormValue("dates"), Unit: in.FormValue("unit")}
	if len(data) == 0 {
		d.File.Wrong = in.tell("No file was chosen, or it is empty.")
		return in.showClimate(http.StatusUnprocessableEntity, d, nil, nil)
	}
	got, err := in.srv.shop.ImportClimate(in.Context(), data, climate.Options{Place: d.File.Place, Dates: climate.Order(d.File.Dates), Unit: d.File.Unit})
	if q, asks := shop.AskedOf(err); asks {
		d.File.Asks, d.File.Option = in.say(q.Say), q.Option
		return in.showClimate(http.StatusUnprocessableEntity, d, nil, nil)
	}
	if err != nil {
		if shop.Status(err) != http.StatusUnprocessableEntity {
			return err
		}
		d.File.Wrong = in.sentence(err)
		return in.showClimate(http.StatusUnprocessableEntity, d, nil, nil)
	}
	place := d.File.Place
	if len(got.Readings) > 0 {
		place = got.Readings[len(got.Readings)-1].Place
	}
	u := *in.URL
	u.RawQuery = url.Values{"place": {place}, "span": {"all"}}.Encode()
	in.URL = &u
	if d, err = in.climateData(); err != nil { // the log is longer now
		return err
	}
	d.Imported = &climateImported{Notes: got.Notes, Bad: got.Bad, Say: in.climateWords(got)}
	if n := len(got.Bad); n > mostBadShown {
		d.Imported.Bad, d.Imported.More = got.Bad[:mostBadShown], n-mostBadShown
	}
	return in.showClimate(http.StatusOK, d, nil, nil)
}

// climateWords says what became of a file.
func (in *request) climateWords(got shop.ClimateImport) string {
	said := []string{in.prefs.Units.Count(got.Added, "%d reading taken in", "%d readings taken in")}
	if n := got.Same + got.Doubles; n > 0 {
		said = append(said, in.tell("%d here already or twice in the file", n))
	}
	if n := len(got.Differ); n > 0 {
		said = append(said, in.tell("%d kept out because another figure is here for the same time and place", n))
	}
	if n := len(got.Bad); n > 0 {
		said = append(said, in.tell("%d not understood", n))
	}
	return strings.Join(said, ", ") + "."
}

// climateRemove serves POST /climate/remove.
func climateRemove(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	at, err := time.Parse(time.RFC3339, in.PostForm.Get("at"))
	if err != nil {
		return refuse(http.StatusBadRequest, "That reading cannot be found. Go back and try again.")
	}
	place := in.PostForm.Get("place")
	if err := in.srv.shop.RemoveClimate(in.Context(), at, place); err != nil {
		return err
	}
	return in.back("/climate?place="+url.QueryEscape(place), "The reading was taken away.")
}

// climateExport serves GET /climate/export.
func climateExport(in *request) error {
	data, err := in.srv.shop.ExportClimate(in.Context())
	if err != nil {
		return err
	}
	in.w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	in.w.Header().Set("Content-Disposition", `attachment; filename="fairset-air.csv"`)
	_, _ = in.w.Write(data)
	return nil
}
