package web

import (
	"net/http"
	"time"

	"fairset/craft/guitar"
	"fairset/unit"
)

// setupData is the setup of a strung guitar on one printed page: what to do in which order, and what came of it.
type setupData struct {
	layout
	ID      string
	Printed string
	Units   string
	cannot
	Says     []unit.Phrase
	Order    picture
	Jobs     []setupJob
	Record   table
	Cautions []string
}

type setupJob struct {
	Name    string
	Do, Why unit.Phrase
	Effects []unit.Phrase
	Caution string
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
	d := setupData{layout: in.guitarLayout("Setup", "paper", v), ID: v.Guitar.ID, Printed: moment(now()), Units: in.prefs.Units.Name(),
		Cautions: []string{guitar.CautionString, guitar.CautionSand, guitar.CautionLoad}}
	if err := in.setup(&d, v); err != nil {
		if rangeErrors(err) == nil {
			return err
		}
		d.cannot = in.missing("The setup cannot be worked out yet.", err)
	}
	return in.render(http.StatusOK, "setup", d)
}
