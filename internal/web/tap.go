package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/unit"
)

// tapView is the notes of the glued top and what they say of its wood.
type tapView struct {
	ID       string
	Revision int64
	Form     form
	Open     bool
	Heard    bool // some notes are entered
	cannot
	Says  unit.Texts
	Notes table
	Woods table
	Use   []input // what using the fit would put into the design
}

// tapKeys are the fields of the design that hold a top's notes.
var tapKeys = []string{"top_density", "tap_mode1", "tap_mode2", "tap_mode3", "tap_mode4", "tap_mode5"}

func (in *request) tapView(v shop.View) tapView {
	d := v.Bench.Design
	t := tapView{ID: v.Guitar.ID, Revision: v.Revision, Heard: guitar.HasTaps(d)}
	t.Form = newForm(someFields(v.Guitar.Fields(guitar.StepDesign), tapKeys...), d, nil, nil, in.prefs.Units)
	if !t.Heard || in.URL.Query().Get("fit") == "" {
		return t
	}
	t.Open = true
	fit, err := in.srv.shop.FitTaps(in.Context(), d)
	switch {
	case errors.Is(err, context.Canceled):
		return t
	case err != nil:
		t.cannot = in.missing("The notes cannot be set beside the plate yet.", err)
		return t
	}
	t.Notes = table{Name: "Heard and computed", Head: append(in.heads("Mode", "Heard", "Computed", "with the wood as fitted"), ""), Short: true}
	for _, n := range fit.Notes {
		say := ""
		if n.Far {
			say = in.tell("far off: perhaps another mode")
		}
		t.Notes.Rows = append(t.Notes.Rows, []string{strconv.Itoa(n.Mode), hertz(n.Heard), hertz(n.Before), hertz(n.After), say})
	}
	t.Woods = table{Name: "What that makes of the wood", Head: in.heads("Stiffness of", "In the design", "As fitted", "Give or take", "How sure"), Short: true,
		Note: in.tell("In percent of the mean of its kind. Before any note each is 100 %, give or take 20 %; what the notes say little of stays near that.")}
	names := in.heads("top along the grain", "top across the grain, and in shear", "braces")
	for i, w := range []guitar.Wood{fit.Along, fit.Across, fit.Braces} {
		was := "100 %"
		if d.Has(guitar.TopShares[i]) {
			was = in.tell("%.0f %%", d.Ratio(guitar.TopShares[i])*100)
		}
		sure := unit.Text("the notes say a good deal of it")
		switch {
		case fit.Told[i] < 0.1:
			sure = "the notes say next to nothing of it"
		case fit.Told[i] < 0.4:
			sure = "the notes say a little of it"
		}
		t.Woods.Rows = append(t.Woods.Rows, []string{names[i], was, in.tell("%.0f %%", w.Share*100), in.tell("%.0f %%", w.SD*100), in.say(sure)})
		t.Use = append(t.Use, input{Key: guitar.TopShares[i], Values: []string{strconv.FormatFloat(w.Share*100, 'f', 1, 64)}})
	}
	if len(fit.Notes) < 3 {
		t.Says = append(t.Says, "With few notes, top and braces cannot be told apart: the fit shares a difference out among them by how much each is in doubt.")
	}
	return t
}

// tapSave serves POST /guitar/{id}/top/taps: keeps the notes, or puts what they say of the wood into the design.
func tapSave(in *request) error {
	v, revision, err := in.topForm()
	if err != nil {
		return err
	}
	keys, to, notice := tapKeys, "?fit=yes#taps", unit.Text("The notes are kept.")
	if in.PostForm.Get("do") == "wood" {
		keys, to, notice = guitar.TopShares[:], "", "The design now has the wood as fitted to its notes."
	}
	texts := map[string][]string{}
	for _, k := range keys {
		if list, given := in.PostForm[k]; given {
			texts[k] = list
		}
	}
	here := guitarURL(v.Guitar.ID) + "/top"
	_, err = in.srv.shop.Change(in.Context(), v.Guitar.ID, revision, texts, in.prefs.Units, in.prefs.Bench)
	switch {
	case err == nil:
		return in.back(here+to, notice)
	case shop.Status(err) == http.StatusConflict:
		return in.back(here+"#taps", "Another bench changed this guitar meanwhile, so nothing was kept. Look again and enter the notes once more.")
	case rangeErrors(err) != nil:
		p := topPage{layout: in.guitarLayout("Top", "top", v), ID: v.Guitar.ID, Revision: v.Revision}
		p.Path = here
		if a, bad := in.topAsked(v, nil); bad == nil {
			p.Form, p.Used = a.form, a.design.Choice("top_rise_from") == guitar.FromTop
		}
		p.Whole = here + "?whole=yes"
		p.Tap = in.tapView(v)
		p.Tap.Open = true
		p.Tap.Form = newForm(someFields(v.Guitar.Fields(guitar.StepDesign), tapKeys...), nil, fieldTexts(in.PostForm, v.Guitar.Fields(guitar.StepDesign)), err, in.prefs.Units)
		return in.render(http.StatusUnprocessableEntity, "top", p)
	}
	return err
}
