package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/sheet"
	"fairset/unit"
)

// copiesData asks which design a class is made from.
type copiesData struct {
	layout
	From     []option
	Names    string
	Benches  []option
	Problems []problem
}

func copiesPage(in *request) error { return in.showCopies(http.StatusOK, in.URL.Query(), nil) }

func (in *request) showCopies(status int, q url.Values, problems []problem) error {
	d := copiesData{layout: in.layout("Copy a design"), Names: q.Get("names"), Problems: problems}
	d.Path = "/class/copy"
	ms, err := in.srv.shop.Class(in.Context(), shop.Pick{})
	if err != nil {
		return err
	}
	from := q.Get("from")
	for _, m := range ms {
		if m.Guitar.Start == guitar.FromDesign {
			d.From = append(d.From, option{m.Guitar.ID, in.tell("%s, as it stands", m.Guitar.Name), from == m.Guitar.ID})
		}
	}
	for _, b := range guitar.Bases() {
		d.From = append(d.From, option{b.Key, in.say(b.Name), from == b.Key})
	}
	owners, err := in.ownerOptions("")
	if err != nil {
		return err
	}
	for _, o := range owners {
		if o.Key != "" && o.Key != shop.Teachers {
			d.Benches = append(d.Benches, option{o.Key, o.Name, slices.Contains(q["bench"], o.Key)})
		}
	}
	return in.render(status, "copies", d)
}

// copiesMake serves POST /class/copy.
func copiesMake(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	rs, err := in.srv.shop.CopyDesign(in.Context(), in.PostForm.Get("from"), in.PostForm.Get("names"), in.PostForm["bench"])
	if err != nil {
		if shop.Status(err) != http.StatusUnprocessableEntity {
			return err
		}
		return in.showCopies(http.StatusUnprocessableEntity, in.PostForm, []problem{{"names", in.sentence(err)}})
	}
	return in.back("/class", "%s", in.prefs.Units.Count(len(rs), "%d guitar made.", "%d guitars made."))
}

// changeData is one figure of the design for many guitars: the form, and what it would do.
type changeData struct {
	layout
	Fields   []fieldGroup
	Field    string
	Value    string
	Help     string
	Rows     []changeRow
	Said     unit.Phrase // how many would take it
	Ready    bool
	Problems []problem
}

type fieldGroup struct {
	Name   unit.Text
	Fields []option
}

type changeRow struct {
	ID, Name, Revision  string
	Now, Will, Gap, Say string
	Diverged            bool
	Refused             bool
	Some                bool // something would be entered
	On                  bool // ticked
}

// changePage serves GET /class/change; the query names the figure and what it shall be, and which guitars.
func changePage(in *request) error { return in.showChange(http.StatusOK, in.URL.Query(), nil) }

func (in *request) showChange(status int, q url.Values, problems []problem) error {
	d := changeData{layout: in.layout("Change one figure"), Field: q.Get("field"), Value: q.Get("value"), Problems: problems}
	d.Path = "/class/change"
	for _, f := range guitar.DesignFields() {
		if strings.HasSuffix(f.Field, "_give") {
			continue
		}
		group := f.Group
		if group == "" {
			group = "Design"
		}
		if n := len(d.Fields); n == 0 || d.Fields[n-1].Name != group {
			d.Fields = append(d.Fields, fieldGroup{Name: group})
		}
		g := &d.Fields[len(d.Fields)-1]
		g.Fields = append(g.Fields, option{f.Field, in.say(f.Label), f.Field == d.Field})
	}
	f, err := guitar.DesignField(d.Field)
	if err != nil {
		return in.render(status, "change", d)
	}
	d.Help = in.say(f.Help)
	if len(f.Choices) > 0 { // they are typed by their keys
		var keys []string
		for _, c := range f.Choices {
			keys = append(keys, c.Key)
		}
		d.Help = strings.TrimSpace(d.Help + " " + in.tell("One of: %s.", strings.Join(keys, ", ")))
	}
	if !q.Has("value") {
		return in.render(status, "change", d)
	}
	ms, err := in.srv.shop.Class(in.Context(), shop.Pick{})
	if err != nil {
		return err
	}
	var ids []string
	for _, m := range ms {
		if m.Guitar.Start == guitar.FromDesign {
			ids = append(ids, m.Guitar.ID)
		}
	}
	cs, err := in.srv.shop.PreviewChange(in.Context(), ids, d.Field, d.Value, in.prefs.Units, in.prefs.Bench)
	if err != nil {
		if shop.Status(err) != http.StatusUnprocessableEntity {
			return err
		}
		d.Problems = append(d.Problems, problem{"value", in.sentence(err)})
		return in.render(http.StatusUnprocessableEntity, "change", d)
	}
	written := func(vs []guitar.Value) string {
		var out []string
		for _, v := range vs {
			out = append(out, f.Write(v, in.prefs.Units))
		}
		if len(out) == 0 {
			return in.tell("not given")
		}
		return strings.Join(out, "; ")
	}
	changing, diverged := 0, 0
	for _, c := range cs {
		refused := c.Refused != ""
		r := changeRow{ID: c.Guitar.ID, Name: c.Guitar.Name, Revision: strconv.FormatInt(c.Revision, 10), Now: written(c.Now), Will: written(c.Will), Diverged: c.Diverged, Refused: refused}
		r.Some = !c.Same && !r.Refused
		// What has diverged, or has been cut to the old figure, is left for the teacher to tick.
		r.On = r.Some && !c.Diverged && !c.Begun
		if q.Has("on") {
			r.On = r.Some && slices.Contains(q["on"], r.ID)
		}
		var say []string
		switch {
		case r.Refused:
			say = append(say, c.Refused)
		case c.Same:
			say = append(say, in.tell("has it already"))
		case c.Begun:
			say = append(say, in.tell("wood has been cut to the old figure"))
		}
		if c.Diverged {
			diverged++
			say = append(say, in.tell("differs from the rest"))
		}
		r.Say = strings.Join(say, "; ")
		if r.Some {
			changing++
			if c.GapKnown && (c.To-c.Gap).Abs() > 1e-6 {
				r.Gap = in.tell("gap by %s", printing.Signed(c.To-c.Gap, in.prefs.Units))
			} else if c.GapKnown {
				r.Gap = in.tell("gap stays")
			}
		}
		d.Rows = append(d.Rows, r)
	}
	d.Ready = changing > 0
	d.Said = unit.Plural(changing, "%d guitar of %d would take it. %d differ from the rest now.", "%d guitars of %d would take it. %d differ from the rest now.", len(cs), diverged)
	return in.render(status, "change", d)
}

// changeMake serves POST /class/change: all of the ticked guitars, or none.
func changeMake(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	in.unitsOfForm()
	q := in.PostForm
	again := func(status int, say unit.Said) error {
		return in.showChange(status, q, []problem{{"", in.say(say)}})
	}
	revisions := map[string]int64{}
	for _, id := range q["on"] {
		n, err := strconv.ParseInt(q.Get("revision_"+id), 10, 64)
		if err != nil {
			return again(http.StatusUnprocessableEntity, unit.Text("The form came back without the state of a guitar. Look it over below and change them again."))
		}
		revisions[id] = n
	}
	if len(revisions) == 0 {
		q.Set("on", "")
		return again(http.StatusUnprocessableEntity, unit.Text("Tick at least one guitar."))
	}
	n, err := in.srv.shop.ChangeMany(in.Context(), revisions, q.Get("field"), q.Get("value"), in.prefs.Units, in.prefs.Bench)
	switch store.KindOf(err) {
	case store.Conflict:
		return again(http.StatusConflict, unit.Text("Nothing was changed: a guitar was changed at another bench meanwhile. The table below is as it stands now; change them again."))
	default:
		if err != nil && shop.Status(err) == http.StatusUnprocessableEntity {
			return again(http.StatusUnprocessableEntity, unit.Plain(in.sentence(err)))
		}
		if err != nil {
			return err
		}
	}
	return in.back("/class", "%s", in.prefs.Units.Count(n, "Changed on %d guitar.", "Changed on %d guitars."))
}

// reportData is the end-of-class report.
type reportData struct {
	layout
	Query  string
	Blocks []reportBlock
	Count  int
	Pages  string
}

type reportBlock struct {
	ID string
	sheet.Block
}

func reportPage(in *request) error {
	p := in.pick()
	r, err := in.srv.shop.Report(in.Context(), p)
	if err != nil {
		return err
	}
	d := reportData{layout: in.layout("End of class"), Query: pickQuery(p), Count: len(r.Rows)}
	for i, b := range printing.ClassBlocks(r, in.prefs.Units) {
		d.Blocks = append(d.Blocks, reportBlock{fmt.Sprintf("report-%d", i+1), b})
	}
	return in.render(http.StatusOK, "report", d)
}

func reportTable(in *request) error {
	r, err := in.srv.shop.Report(in.Context(), in.pick())
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := printing.ClassCSV(&b, r); err != nil {
		return err
	}
	in.attach("class.csv", "text/csv; charset=utf-8", int64(b.Len()))
	_, _ = b.WriteTo(in.w)
	return nil
}

func reportPDF(in *request) error {
	var b bytes.Buffer
	if err := in.srv.shop.ReportPDF(in.Context(), in.pick(), in.paper().Setup, in.prefs.Units, &b); err != nil {
		return err
	}
	in.attach("class.pdf", printing.PDF.MediaType(), int64(b.Len()))
	_, _ = b.WriteTo(in.w)
	return nil
}

// learnedData is what the shop's history teaches.
type learnedData struct {
	layout
	Guitars      int
	From         unit.Phrase // how many there are
	Used, Shown  []class.Figure
	NothingCount bool // no strokes were counted yet
}

func learnedPage(in *request) error {
	l, err := in.srv.shop.Learned(in.Context())
	if err != nil {
		return err
	}
	d := learnedData{layout: in.layout("What the shop has learned"), Guitars: l.Guitars, From: unit.Plural(l.Guitars, "From %d guitar of this shop, and no other.", "From %d guitars of this shop, and no other."), NothingCount: len(l.Rates()) == 0}
	for _, f := range class.Learned(l) {
		if f.Used {
			d.Used = append(d.Used, f)
		} else {
			d.Shown = append(d.Shown, f)
		}
	}
	return in.render(http.StatusOK, "learned", d)
}
