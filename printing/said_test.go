package printing_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fairset/craft/bill"
	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/drawing/tile"
	"fairset/internal/unsaid"
	"fairset/language"
	"fairset/printing"
	"fairset/unit"
)

// said fails for words that a reader of another language would read in English. What tests made up is allowed.
func said(t *testing.T, what string, lines ...string) {
	t.Helper()
	words, closed := unsaid.Words(lines, "Sandpiper", "Coot", "bench", "May", "Letter", "Tabloid")
	if !closed {
		t.Errorf("%s: a text does not end: %q", what, lines)
	}
	for _, w := range words {
		t.Errorf("%s: %q is said in English", what, w)
	}
}

func saidOn(t *testing.T, what string, s *drawing.Sheet) {
	t.Helper()
	var drawn []string
	for _, it := range s.Parts() {
		if x, ok := it.Shape.(drawing.Text); ok {
			drawn = append(drawn, x.String)
		}
	}
	said(t, what+", drawn", drawn...)
	said(t, what+", title", s.Title)
	said(t, what+", description", s.Desc)
	for _, row := range s.Table {
		for _, cell := range row {
			said(t, what+", table", cell)
		}
	}
}

// worked is a guitar with every step entered.
func worked(t *testing.T, basis string) guitar.Guitar {
	t.Helper()
	g := readOff(t, started(t, basis, nil), -1.2, 0.8)
	g = entered(t, g, guitar.StepCut, "tool", "board-120", "judged", "strokes", "strokes", "40")
	g = readOff(t, g, -0.2, -0.5)
	g = entered(t, g, guitar.StepBridge, "nut_to_joint", inMM(g.Bench(guitar.Options{}).Aim.Target.NutToJoint))
	g = entered(t, g, guitar.StepSign, "accepted", "no")
	return entered(t, g, guitar.StepSign, "accepted", "yes")
}

// Every word of every sheet, and of what is said where it cannot be drawn, comes out of a catalogue: of each starting design as it
// begins and worked on, held by each kind of bolt, and of a repair.
func TestEveryWordOfASheetIsSaidInTheReadersLanguage(t *testing.T) {
	drawn := 0
	look := func(what string, s printing.Source) {
		s.Shop = printing.Shop{Currency: "€", Prices: bill.Prices{"hanger": {Amount: 1.25, Per: bill.PerEach}, "neck": {Amount: 9, Per: bill.PerBoardFoot}, "strings": {Amount: 7, Per: bill.PerSet}, "wire": {Amount: 3, Per: bill.PerMetre}}}
		for _, e := range printing.List() {
			said(t, e.Name, e.Title.In(s.Style), e.About.In(s.Style))
			plan, err := printing.Setup{Tile: tile.Options{Paper: tile.A4}}.Plan(e, s, printing.PDF)
			var need *printing.NeedError
			switch {
			case errors.As(err, &need):
				said(t, what+": "+e.Name, need.In(s.Style))
				continue
			case err != nil:
				t.Errorf("%s: %s: %v", what, e.Name, err)
				continue
			}
			for _, p := range plan.Pictures {
				drawn++
				saidOn(t, what+": "+e.Name, p)
			}
		}
	}
	for _, units := range []unit.Style{unit.Millimetre, unit.Inch64} {
		style := units.Speaking(language.Pseudo)
		for _, b := range guitar.Bases() {
			look(b.Key, source(t, b.Key, style))
			look(b.Key+" worked on", asked(worked(t, b.Key), style))
			for _, f := range fields(t, "fastening").Choices {
				look(b.Key+" held by "+f.Key, asked(started(t, b.Key, guitar.Values{"fastening": {{Text: f.Key}}}), style))
			}
		}
		v, err := guitar.Parse(guitar.Optional(guitar.RepairFields()), map[string][]string{"scale_length": {"648"}, "saddle_distance": {"290"}, "action_bass_now": {"3.5"}, "action_treble_now": {"3"}}, unit.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		start := guitar.RepairStart()
		for k, x := range v {
			start[k] = x
		}
		g, err := guitar.NewRepair("Coot", start)
		if err != nil {
			t.Fatal(err)
		}
		look("a repair", asked(g, style))
	}
	if drawn < 200 {
		t.Fatalf("only %d drawings looked at", drawn)
	}
}

func fields(t *testing.T, key string) guitar.Field {
	t.Helper()
	f, err := guitar.DesignField(key)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The same of the report of a class, of the form that says how to print, and of what is wrong with it.
func TestEveryWordAboutPrintingIsSaidInTheReadersLanguage(t *testing.T) {
	style := unit.Millimetre.Speaking(language.Pseudo)
	var members []class.Member
	for i, b := range guitar.Bases() {
		g := started(t, b.Key, nil)
		if i > 0 {
			g = worked(t, b.Key)
		}
		members = append(members, class.Member{Guitar: g, Bench: g.Bench(guitar.Options{})})
	}
	for _, ms := range [][]class.Member{nil, members[:1], members} {
		for _, b := range printing.ClassBlocks(class.Reported(ms), style) {
			said(t, "class", b.Heading)
			for _, list := range append([][]string{b.Before, b.Head, b.After}, b.Rows...) {
				for _, cell := range list {
					said(t, "class: "+b.Heading, cell)
				}
			}
		}
	}
	for _, d := range []time.Duration{time.Second, time.Minute, 90 * time.Minute, 20 * time.Hour, 50 * time.Hour} {
		said(t, "span", printing.Span(d, style))
	}
	for _, f := range printing.Fields() {
		said(t, f.Field, f.Label.In(style), f.Help.In(style))
		for _, c := range f.Choices {
			said(t, f.Field, c.Name.In(style))
		}
	}
	for _, f := range printing.Formats() {
		said(t, "format", f.Name().In(style))
	}
	for _, texts := range []map[string][]string{{}, {"paper": {"A4"}, "orientation": {"portrait"}, "check_x": {"99 mm"}}, {"paper": {"A3"}, "orientation": {"landscape"}}} {
		s, _, err := printing.ParseSetup(texts, style)
		if err != nil {
			t.Fatal(err)
		}
		said(t, "setup", s.Say(style))
	}
	for _, texts := range []map[string][]string{{"paper": {"A9"}}, {"check_x": {"110 mm"}}, {"check_x": {"104.6 mm"}, "check_bar": {"100mm"}}} {
		_, _, err := printing.ParseSetup(texts, style)
		if err == nil {
			t.Errorf("%v is not refused", texts)
			continue
		}
		var keys []string
		for _, x := range printing.Fields() {
			for _, c := range x.Choices {
				keys = append(keys, c.Key)
			}
		}
		words, _ := unsaid.Words([]string{unit.Explain(err, style)}, keys...)
		if len(words) > 0 {
			t.Errorf("refused: %q are said in English", words)
		}
	}
	_, err := printing.ParseFormat("9")
	said(t, "refused", strings.ReplaceAll(unit.Explain(err, style), "pdf, svg, dxf, png", ""))
}
