package web

import (
	"errors"
	"net/http"
	"strconv"

	"fairset/craft/guitar"
	"fairset/unit"
)

// newGuitarPage asks for a name and a starting design.
type newGuitarPage struct {
	layout
	Name, Problem       string
	Designs             []designCard
	Chosen, DesignWrong string
}

// designCard shows a starting design by what it asks for.
type designCard struct {
	Key         string
	Name, About unit.Text
	Figures     []guitar.Figure
}

func designCards() []designCard {
	var out []designCard
	for _, b := range guitar.Bases() {
		c := designCard{Key: b.Key, Name: b.Name, About: b.About}
		t, _, err := guitar.Build(b.Values).Target()
		if err == nil {
			c.Figures = []guitar.Figure{
				{Label: unit.Say("scale"), Say: unit.Say("%v", b.Values.Length("scale_length"))},
				{Label: unit.Say("neck leans"), Say: leanWords(t.NeckAngle)},
				{Label: unit.Say("gap at the saddle"), Say: unit.Say("%v", t.GapOnFrets)},
			}
		}
		out = append(out, c)
	}
	return out
}

// leanWords says a neck angle with its way.
func leanWords(a unit.Angle) unit.Phrase {
	if a < 0 {
		return unit.Say("%v forward‖a neck leans", -a)
	}
	return unit.Say("%v back‖a neck leans", a)
}

func newPage(in *request) error {
	return in.render(http.StatusOK, "new", newGuitarPage{layout: in.layout("Start a guitar"), Designs: designCards(), Chosen: guitar.Bases()[0].Key})
}

func newSave(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	name, basis := in.PostForm.Get("name"), in.PostForm.Get("design")
	v, err := in.srv.shop.NewFromDesign(in.Context(), name, basis, nil, in.prefs.Units)
	if err == nil {
		return in.back(guitarURL(v.Guitar.ID)+"/design", "%s is on the bench. Change what differs on yours, then save.", v.Guitar.Name)
	}
	p := newGuitarPage{layout: in.layout("Start a guitar"), Designs: designCards(), Name: name, Chosen: basis}
	for _, e := range rangeErrors(err) {
		switch e.Field {
		case "name":
			p.Problem = e.In(in.prefs.Units)
		case "design":
			p.DesignWrong = e.In(in.prefs.Units)
		default:
			return err
		}
	}
	if p.Problem == "" && p.DesignWrong == "" {
		return err
	}
	return in.render(http.StatusUnprocessableEntity, "new", p)
}

// rangeErrors returns what is wrong with the inputs, if that is what the error says.
func rangeErrors(err error) []*unit.RangeError {
	var problems guitar.Problems
	if errors.As(err, &problems) {
		return problems
	}
	var one *unit.RangeError
	if errors.As(err, &one) {
		return []*unit.RangeError{one}
	}
	return nil
}

// repairStartPage asks what a repair starts from: no design, only what is there and what is wanted.
type repairStartPage struct {
	layout
	Name, NameProblem string
	Form              form
	Groups            []formGroup
}

func repairPage(in *request) error {
	f := newForm(guitar.RepairFields(), guitar.RepairStart(), nil, nil, in.prefs.Units)
	return in.render(http.StatusOK, "repair", repairStartPage{layout: in.layout("Start a repair"), Form: f, Groups: f.folded(repairOpen)})
}

func repairSave(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	in.unitsOfForm()
	fields := guitar.RepairFields()
	texts := fieldTexts(in.PostForm, fields)
	name := in.PostForm.Get("name")
	v, err := in.srv.shop.NewRepair(in.Context(), name, texts, in.prefs.Units)
	if err == nil {
		return in.back(guitarURL(v.Guitar.ID), "%s is on the bench. Slacken the strings, then read how the neck stands.", v.Guitar.Name)
	}
	problems := rangeErrors(err)
	if problems == nil {
		return err
	}
	p := repairStartPage{layout: in.layout("Start a repair"), Name: name}
	var ofFields guitar.Problems
	for _, e := range problems {
		if e.Field == "name" {
			p.NameProblem = e.In(in.prefs.Units)
		} else {
			ofFields = append(ofFields, e)
		}
	}
	p.Form = newForm(fields, nil, texts, ofFields, in.prefs.Units)
	if p.NameProblem != "" {
		p.Form.Problems = append([]problem{{"name", p.NameProblem}}, p.Form.Problems...)
	}
	p.Groups = p.Form.folded(repairOpen)
	return in.render(http.StatusUnprocessableEntity, "repair", p)
}

// repairOpen are the headings a repair cannot do without.
var repairOpen = map[unit.Text]bool{"Scale and strings": true, "Bridge and action": true}

// formGroup is a heading of a long form, folded when its figures are rarely changed.
type formGroup struct {
	ID      string
	Name    unit.Phrase
	Inputs  []input
	Open    bool
	Strings []formGroup // the figures of each string by itself
}

// folded gathers the inputs under their headings, each heading once, in the order met first. A heading is
// open when it is in the map or something under it is wrong.
func (f form) folded(open map[unit.Text]bool) []formGroup {
	var out []formGroup
	at := map[unit.Text]int{}
	for _, in := range f.Inputs {
		i, ok := at[in.Group]
		if !ok {
			i = len(out)
			at[in.Group] = i
			out = append(out, formGroup{ID: slug(in.Group), Name: unit.Say(in.Group), Open: open[in.Group]})
		}
		g := &out[i]
		if in.Problem != "" {
			g.Open = true
		}
		if n := in.OfString; n > 0 {
			if k := len(g.Strings); k == 0 || g.Strings[k-1].ID != stringID(n) {
				g.Strings = append(g.Strings, formGroup{ID: stringID(n), Name: unit.Say("String %d from the bass", n)})
			}
			g = &g.Strings[len(g.Strings)-1]
			g.Open = g.Open || in.Problem != "" || in.Chosen() || in.Values[0] != ""
		}
		g.Inputs = append(g.Inputs, in)
	}
	return out
}

func stringID(n int) string { return "g-string-" + strconv.Itoa(n) }

// slug makes a part of an address of a heading; it is the same in every language.
func slug(heading unit.Text) string {
	b := []byte("g-")
	for _, r := range heading {
		switch {
		case r >= 'a' && r <= 'z':
			b = append(b, byte(r))
		case r >= 'A' && r <= 'Z':
			b = append(b, byte(r-'A'+'a'))
		default:
			b = append(b, '-')
		}
	}
	return string(b)
}
