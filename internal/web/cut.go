package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// cutData is what the cut's page shows besides what every step does.
type cutData struct {
	Ready    bool // lean and point are read, so a cut can be worked out
	Working  bool // there is wood to take now
	Asked    bool // some wood is asked for, so a pass can be saved
	Stop     bool // there is less wood than the cut asks for
	Leave    bool
	Way      form   // tool, and how the depth is judged
	Tool, By string // chosen: the pass is saved with these
	With     string // the same in words
	Heel     picture
	Whole    picture // the cut that would be made if the readings were certain
	Flip     bool
	Facts    []fact
	Depths   table
	Care     string // of the tool
	Passes   table
	Rate     string
	Progress picture
	Shim     string // address of the shim's page, when a shim is one of the ways out
	Notes    []string
}

// fact is one figure with what it is; Link leads to where it is set.
type fact struct {
	Name               unit.Phrase
	Say, Link, LinkSay string
}

// cutPage serves GET /guitar/{id}/step/cut; the query may name the tool and how the depth is judged.
func cutPage(in *request) error {
	q := in.URL.Query()
	v, err := in.srv.shop.GuitarWith(in.Context(), in.PathValue("id"), q.Get("tool"), q.Get("judged"))
	if err != nil {
		return err
	}
	return in.showCut(http.StatusOK, v, nil, nil, nil, "")
}

// showCut renders the cut; texts are what was typed when a save was refused, photos what is wrong with one.
func (in *request) showCut(status int, v shop.View, texts url.Values, err error, c *conflict, photos string) error {
	if texts != nil { // the same tool as the refused form, so that the plan shown is the plan saved
		with, again := in.srv.shop.GuitarWith(in.Context(), v.Guitar.ID, texts.Get("tool"), texts.Get("judged"))
		if again != nil {
			return again
		}
		v = with
	}
	guide, _ := guitar.FindGuide(guitar.StepCut)
	d := in.stepData(v, guide, texts, err)
	d.Conflict = c
	d.Cut = in.cutData(v)
	d.State.Advice.Figures = nil // shown open below
	d.Form = in.passForm(v, d.Cut, texts, err)
	if photos != "" {
		d.noPhoto(photos)
	}
	switch {
	case texts != nil:
		d.Fold = ""
	case !d.Cut.Working || d.Cut.Stop:
		d.Fold = "I took wood off all the same"
	}
	return in.render(status, "cut", d)
}

// passForm asks what was really done. The tool and the way of judging are those the cut was shown for.
func (in *request) passForm(v shop.View, c *cutData, texts url.Values, err error) form {
	start := guitar.Values{}
	if c.By == "marks" {
		start["done"] = []guitar.Value{{Text: "100"}}
	}
	f := newForm(v.Guitar.Fields(guitar.StepCut), start, texts, err, in.prefs.Units)
	var keep []input
	for _, x := range f.Inputs {
		switch x.Key {
		case "tool", "judged":
			continue
		case "done":
			if c.By != "marks" && x.Problem == "" {
				continue
			}
		case "strokes":
			x.Required = c.By == "strokes"
		}
		keep = append(keep, x)
	}
	f.Inputs = keep
	return f
}

func (in *request) cutData(v shop.View) *cutData {
	b, style := v.Bench, in.prefs.Units
	c := &cutData{Flip: in.prefs.Flip, Ready: b.Cut != nil}
	state := b.Step(guitar.StepCut)
	if b.Cut != nil {
		n := b.Cut
		c.Tool, c.By, c.Care = n.Tool.Key, n.By, in.say(n.Tool.Caution)
		c.With = in.tell("%v, depth judged by the marks on the heel", n.Tool.Name)
		if n.By == "strokes" {
			c.With = in.tell("%v, depth judged by counting strokes", n.Tool.Name)
		}
		c.Way = newForm(wayFields(v), guitar.Values{"tool": {{Text: c.Tool}}, "judged": {{Text: c.By}}}, nil, nil, style)
		c.Leave = n.Cut.Leave && state.Status == guitar.Done
		c.Working = state.Status == guitar.Working && n.Cut.Planned.Deepest() > 0
		c.Asked = n.Cut.Planned.Deepest() > 0
		c.Stop = c.Working && n.TooDeep
		c.Rate = rateSentence(n.Tool, n.Rate, in)
		if c.Working {
			in.drawCut(c, v, n)
		}
		for _, w := range n.Warnings {
			c.Notes = append(c.Notes, in.say(w.Say))
		}
		for _, r := range n.Remedies {
			if r.Code == "shim" {
				c.Shim = stepURL(v.Guitar.ID, guitar.StepShim)
			}
		}
	}
	c.Passes = in.passTable(b)
	var d stepData
	in.progress(&d, b)
	if len(d.Pictures) > 0 {
		c.Progress = d.Pictures[0]
	}
	return c
}

// wayFields are the two fields that choose how a cut is made.
func wayFields(v shop.View) []guitar.Field {
	var out []guitar.Field
	for _, f := range v.Guitar.Fields(guitar.StepCut) {
		if f.Field == "tool" || f.Field == "judged" {
			out = append(out, f)
		}
	}
	return out
}

func (in *request) drawCut(c *cutData, v shop.View, n *guitar.NextCut) {
	b, style := v.Bench, in.prefs.Units
	heel := guitar.Heel(b.Design)
	o := sheet.HeelOptions{Style: style, TenonWidth: b.Design.Length("tenon_width"), Flip: in.prefs.Flip, LeftHanded: b.Design.Choice("hand") == "left"}
	face := func(id string, title unit.Text, depth neckset.Corners) picture {
		return both(id, false, func(narrow bool) *drawing.Sheet {
			o.Narrow, o.Title = narrow, title.In(style)
			return sheet.HeelFace(heel, depth, o)
		})
	}
	c.Heel = face("heel", "Cut now", n.Cut.Planned)
	if n.Cut.Full != n.Cut.Planned {
		c.Whole = face("whole", "The whole cut, if the readings were certain", n.Cut.Full)
	}
	c.Facts = []fact{
		{Name: unit.Say("Strokes"), Say: in.tell("about %d with the %v", n.Strokes, n.Tool.Name)},
		{Name: unit.Say("Chance of going past"), Say: percent(n.Cut.PastChance, style), Link: guitarURL(v.Guitar.ID) + "/design#f-risk", LinkSay: in.tell("you accept %s", percent(n.In.Risk, style))},
		{Name: unit.Say("Further passes to expect"), Say: style.Decimal(n.Cut.RecutExpected, 1)},
		{Name: unit.Say("Neck comes nearer the bridge by"), Say: n.Cut.PlannedShift.Fine(style)},
		{Name: unit.Say("Wood the shoulders can still lose"), Say: n.Spare.Fine(style)},
	}
	depth := func(p neckset.Corners) []string {
		return []string{p.TopBass.Fine(style), p.TopTreble.Fine(style), p.CapBass.Fine(style), p.CapTreble.Fine(style)}
	}
	now, whole := depth(n.Cut.Planned), depth(n.Cut.Full)
	c.Depths = table{Name: "Depth at each corner", Head: in.heads("Corner", "Take now", "Whole change"), Short: true}
	for i, name := range in.heads("top edge, bass", "top edge, treble", "cap, bass", "cap, treble") {
		c.Depths.Rows = append(c.Depths.Rows, []string{name, now[i], whole[i]})
	}
}

// rateSentence says what a stroke is taken to remove, and where that was learned.
func rateSentence(t neckset.Tool, r neckset.Rate, in *request) string {
	per := 20 * r.PerStroke // a single stroke is too little to picture
	style := in.prefs.Units
	from := style.Say("That is a stated guess until strokes have been counted")
	switch {
	case r.Own > 0 && r.Shop > 0:
		from = unit.Plural(r.Own, "Learned from %d pass on this guitar and %d on the shop's others", "Learned from %d passes on this guitar and %d on the shop's others", r.Shop).In(style)
	case r.Own > 0:
		from = style.Count(r.Own, "Learned from %d pass on this guitar", "Learned from %d passes on this guitar")
	case r.Shop > 0:
		from = style.Count(r.Shop, "Learned from %d pass on the shop's other guitars", "Learned from %d passes on the shop's other guitars")
	}
	return style.Say("Twenty strokes with the %v take about %v. %s; a cut by strokes may come out %s off either way.", t.Name, unit.FineLength(per), from, percent(r.CutSD(), style))
}

// passTable sets what each pass was meant to take against what the readings say it took.
func (in *request) passTable(b guitar.Bench) table {
	style := in.prefs.Units
	t := table{Name: "Passes so far", Head: in.heads("Pass", "With", "Meant to take, deepest", "Readings say it took", "Of the plan")}
	f, _ := guitar.FindGuide(guitar.StepCut)
	for i, p := range b.Passes {
		with := fieldWords(f.Fields, p.Values, "tool", style)
		if p.Values.Has("strokes") {
			with = in.tell("%s, %s strokes", with, p.Values.Choice("strokes"))
		}
		row := []string{strconv.Itoa(i + 1), with, p.Plan.Depth.Deepest().Fine(style), in.tell("not read yet"), "–"}
		if p.Known {
			give := unit.Length(float64(p.Plan.Depth.Deepest()) * p.RatioSD)
			row[3] = in.tell("%v, give or take %v", unit.FineLength(p.Depth.Deepest()), unit.FineLength(give))
			row[4] = fmt.Sprintf("%.0f %%", p.Ratio*100)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
