package web

import (
	"net/http"

	"fairset/craft/guitar"
	"fairset/internal/demo"
	"fairset/internal/shop"
)

// firstPageData begins the walk through a first guitar, or goes on with it.
type firstPageData struct {
	layout
	Begun []stepLink // practice guitars there are
}

// firstPage serves GET /first.
func firstPage(in *request) error {
	all, err := in.srv.shop.Guitars(in.Context())
	if err != nil {
		return err
	}
	d := firstPageData{layout: in.layout("A first guitar")}
	for _, v := range all {
		if demo.Practice(v.Guitar) {
			d.Begun = append(d.Begun, stepLink{URL: guitarURL(v.Guitar.ID) + "/walk", Name: v.Guitar.Name})
		}
	}
	return in.render(http.StatusOK, "first", d)
}

// firstStart serves POST /first: a guitar to practise on.
func firstStart(in *request) error {
	v, err := in.srv.shop.NewFromDesign(in.Context(), in.say(demo.PracticeName), demo.PracticeBasis, nil, in.prefs.Units)
	if err != nil {
		return err
	}
	return in.back(guitarURL(v.Guitar.ID)+"/walk", "")
}

// walkData is where the walk stands.
type walkData struct {
	layout
	ID   string
	Walk *walkCard
	Over bool
}

// walkCard is one lesson as it is shown.
type walkCard struct {
	demo.Lesson
	Figures []fact
	Here    bool   // this page is the lesson's step
	URL     string // of the walk
	StepURL string // of the lesson's step
}

// walkPage serves GET /guitar/{id}/walk. It goes by the guitar's record, so it can be left and gone on with.
func walkPage(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	if v.Guitar.Start != guitar.FromDesign {
		return refuse(http.StatusNotFound, "A repair has no walk: begin one on a guitar of its own, from the help page.")
	}
	d := walkData{layout: in.guitarLayout("A first guitar", "bench", v), ID: v.Guitar.ID, Walk: in.walk(v, "")}
	d.Over = d.Walk.Step == ""
	return in.render(http.StatusOK, "walk", d)
}

// walk makes the next lesson, for the page of a step or for the walk's own.
func (in *request) walk(v shop.View, here guitar.Step) *walkCard {
	l := demo.Next(v, in.prefs.Units)
	c := &walkCard{Lesson: l, Here: l.Step == here, URL: guitarURL(v.Guitar.ID) + "/walk", StepURL: stepURL(v.Guitar.ID, l.Step)}
	for _, x := range l.Type {
		say := x.Text
		for _, f := range v.Guitar.Fields(l.Step) {
			if f.Field == x.Key {
				for _, choice := range f.Choices {
					if choice.Key == x.Text {
						say = in.say(choice.Name)
					}
				}
			}
		}
		c.Figures = append(c.Figures, fact{Name: x.Label, Say: say})
	}
	return c
}
