package web

import (
	"net/http"
	"slices"
	"strings"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

// historyData is everything ever entered on one guitar, newest first.
type historyData struct {
	layout
	ID       string
	Revision int64
	Seen     int
	Undo     string
	Rows     []historyRow
	Start    unit.Phrase
	Created  string
	First    []historyValue
	Shots    []shot // of the guitar, not of an entry
	Shoot    *photoForm
}

// historyRow is one thing entered.
type historyRow struct {
	Number       int
	Name         unit.Text
	When, By     string
	Stamp        string // the time for machines
	Undone       bool
	Values       []historyValue
	Meant        []fact // what a cut or shim was meant to do
	Text         string
	Shots        []shot
	CanUndo      bool
	NothingGiven bool
}

// historyValue is one figure as it was typed and as it reads in the maker's units.
type historyValue struct {
	Label        unit.Phrase
	Typed, Reads string
}

// historyPage serves GET /guitar/{id}/history.
func historyPage(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	return in.history(http.StatusOK, v, nil)
}

// history renders the page; refused are photos that were not taken, nil for none.
func (in *request) history(status int, v shop.View, refused *photoForm) error {
	g, style := v.Guitar, in.prefs.Units
	shots, err := in.shots(g.ID, func(store.Photo) bool { return true })
	if err != nil {
		return err
	}
	of := map[int][]shot{}
	for _, s := range shots {
		if s.Entry > len(g.Log) {
			s.Entry = 0
		}
		of[s.Entry] = append(of[s.Entry], s)
	}
	d := historyData{layout: in.guitarLayout("History", "history", v), ID: g.ID, Revision: v.Revision, Seen: len(g.Log), Created: in.moment(g.Created)}
	d.Start = unit.Say("Started from readings, as a repair")
	if b, err := guitar.FindBasis(g.Basis); err == nil {
		d.Start = unit.Say("Started from the design “%v”", b.Name)
	}
	d.First = historyValues(g.Fields(guitar.StepDesign), g.First, in)
	last, _ := g.LastEntry()
	for _, e := range slices.Backward(g.Log) {
		row := historyRow{Number: e.Seq, Name: entryName(e.Step), When: in.moment(e.At), Stamp: e.At.UTC().Format("2006-01-02T15:04:05Z"), By: e.Bench, Undone: e.Undone}
		row.Shots = of[e.Seq]
		row.Text = e.Note()
		if e.Step != guitar.StepNote {
			row.Values = historyValues(g.Fields(e.Step), e.Values, in)
		}
		if e.Plan != nil {
			row.Meant = in.meant(e)
		}
		if !e.Undone && e.Seq == last.Seq {
			row.CanUndo = true
			d.Undo = entryWords(g, e, style)
		}
		d.Rows = append(d.Rows, row)
	}
	d.Shots = of[0]
	if in.srv.shop.KeepsPhotos() {
		d.Shoot = refused
		if d.Shoot == nil {
			d.Shoot = &photoForm{}
		} else {
			d.Path = guitarURL(g.ID) + "/history"
		}
		for _, e := range slices.Backward(g.Log) {
			d.Shoot.Entries = append(d.Shoot.Entries, photoEntry{e.Seq, shorten(in.tell("%d. %v", e.Seq, entryName(e.Step)), 60), e.Seq == d.Shoot.Entry})
		}
	}
	return in.render(status, "history", d)
}

func historyValues(fields []guitar.Field, values guitar.Values, in *request) []historyValue {
	var out []historyValue
	for _, f := range fields {
		if !values.Has(f.Field) || f.Field == guitar.NoteKey || f.Field == "remark" { // a note is shown by itself
			continue
		}
		var typed, reads []string
		for _, x := range values[f.Field] {
			reads = append(reads, f.Write(x, in.prefs.Units))
			if len(f.Choices) == 0 && x.Text != "" { // else chosen, or from the starting design: nobody typed it
				typed = append(typed, x.Text)
			}
		}
		out = append(out, historyValue{f.Label, strings.Join(typed, "; "), strings.Join(reads, "; ")})
	}
	return out
}

// meant says what a cut or a shim was meant to do when it was made.
func (in *request) meant(e guitar.Entry) []fact {
	p, style := e.Plan, in.prefs.Units
	word := unit.Text("deepest cut")
	if e.Step == guitar.StepShim {
		word = "wood added"
	}
	out := []fact{{Name: unit.Say(word), Say: in.tell("%v at the %v", unit.FineLength(p.Depth.Deepest()), deepestCorner(p.Depth))}}
	add := func(name unit.Text, say string) { out = append(out, fact{Name: unit.Say(name), Say: say}) }
	if p.GapChange != 0 {
		add("change of the gap", p.GapChange.Fine(style))
	}
	switch {
	case p.OffsetChange > 0:
		add("neck's line moved toward treble by", p.OffsetChange.Fine(style))
	case p.OffsetChange < 0:
		add("neck's line moved toward bass by", (-p.OffsetChange).Fine(style))
	}
	if p.Shift != 0 {
		add("neck nearer the bridge by", p.Shift.Fine(style))
	}
	if p.Risk > 0 {
		add("chance of going past", percent(p.Risk, style))
	}
	return out
}

func deepestCorner(c neckset.Corners) unit.Text {
	d := c.Deepest()
	switch {
	case c.CapBass == d && c.CapTreble == d:
		return "cap"
	case c.TopBass == d && c.TopTreble == d:
		return "top edge"
	case c.CapBass == d:
		return "cap, bass side"
	case c.CapTreble == d:
		return "cap, treble side"
	case c.TopBass == d:
		return "top edge, bass side"
	}
	return "top edge, treble side"
}
