package web

import (
	"net/http"
	"time"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// setupData is the setup of a strung guitar on one printed page: what to do in which order, and what came of it.
type setupData struct {
	layout
	ID      string
	Printed string
	Units   unit.Text
	cannot
	Says     []unit.Phrase
	Order    picture
	Jobs     []setupJob
	Record   table
	Cautions unit.Texts
}

type setupJob struct {
	Name    unit.Text
	Do, Why unit.Phrase
	Each    []guitar.Figure // string by string
	Effects []unit.Phrase
	Caution unit.Phrase
}

// setupPage serves GET /guitar/{id}/setup.
func setupPage(in *request) error {
	v, err := in.design()
	if err != nil {
		return err
	}
	now := time.Now
	if in.srv.shop.Now != nil {
		now = in.srv.shop.Now
	}
	d := setupData{layout: in.guitarLayout("Setup", "print", v), ID: v.Guitar.ID, Printed: in.moment(now()), Units: in.prefs.Units.Name(),
		Cautions: unit.Texts{guitar.CautionString, guitar.CautionSand, guitar.CautionLoad}}
	if err := in.setup(&d, v); err != nil {
		if rangeErrors(err) == nil {
			return err
		}
		d.cannot = in.missing("The setup cannot be worked out yet.", err)
	}
	return in.render(http.StatusOK, "setup", d)
}

// places says where on the drawing each job of a setup is done.
var places = map[string]sheet.SetupPlace{guitar.JobRelief: sheet.AtRelief, guitar.JobNut: sheet.AtNut, guitar.JobHeight: sheet.AtHeight, guitar.JobLine: sheet.AtLine}

func (in *request) setup(d *setupData, v shop.View) error {
	got, err := v.Guitar.SetupSheet()
	if err != nil {
		return err
	}
	d.Says = got.Say
	var spots []sheet.SetupSpot
	for _, j := range got.Jobs {
		d.Jobs = append(d.Jobs, setupJob{Name: j.Name, Do: j.Do, Why: j.Why, Each: j.Figures, Effects: j.Effects, Caution: j.Caution})
		spots = append(spots, sheet.SetupSpot{Place: places[j.Key], Heading: in.say(j.Name), Words: in.say(j.Do), Done: j.Done})
	}
	left := v.Bench.Design.Choice("hand") == "left"
	d.Order = both("setup-order", false, func(narrow bool) *drawing.Sheet {
		return sheet.SetupOrder(spots, sheet.SetupOptions{Style: in.prefs.Units, Narrow: narrow, LeftHanded: left})
	})
	d.Record = table{Name: "Before and after", Head: in.heads("Figure", "Wanted", "Before", "After"), Note: in.tell("Before is the first reading of the strung guitar, after the last. What has not been read is left to be written in.")}
	for _, r := range got.Records {
		d.Record.Rows = append(d.Record.Rows, []string{in.say(unit.Upper{Words: r.Label}), in.say(r.Wanted), in.say(r.Before), in.say(r.After)})
	}
	return nil
}
