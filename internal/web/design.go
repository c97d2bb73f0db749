package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// designForm is the design's form with what the design asks for beside it.
type designForm struct {
	layout
	Form     form
	Groups   []formGroup
	Revision int64
	Seen     int
	Shown    string // what each input holds when untouched, so that only what was changed is saved
	Asks     asks
	Conflict *conflict
}

// asks is what a design asks of the neck set. It is also the part that is renewed while figures are typed.
type asks struct {
	ID              string
	Repair          bool
	Listed          bool // the problems stand at the head of the page already
	Problems        []problem
	Changes         []changed
	Known           bool
	Target          *neckset.Target
	HeelToBoard     unit.Angle
	JigRise, JigRun unit.Length
	FromNut         unit.Length // nut to saddle line
	OverTop         unit.Length // string over the top at the saddle
	Warnings        []unit.Warning
	Heights         []heightChoice
	Side            picture
	Top             *topView
	Budget          *budget
	Lean            unit.Phrase // how to lean the neck; for a repair how the lean must change
	Twist           unit.Phrase
	Wanted          unit.Phrase // repair: the gap wanted, once the lean has been read
	Strung          *strungView
	Air             *airView
}

// topView is the body's top as the design has it; nil when the design says nothing of the body.
type topView struct {
	Picture  picture
	Problems []problem
	Warnings []unit.Warning
}

func (in *request) topOf(v shop.View, d guitar.Values) *topView {
	if !guitar.HasBody(d) {
		return nil
	}
	b, warns, err := guitar.Body(d)
	if err != nil {
		return &topView{Problems: newForm(v.Guitar.Fields(guitar.StepDesign), d, nil, err, in.prefs.Units).Problems}
	}
	o := sheet.BodyViewOptions{Style: in.prefs.Units, LeftHanded: d.Choice("hand") == "left"}
	return &topView{Warnings: warns, Picture: both("top", false, func(narrow bool) *drawing.Sheet {
		o.Narrow = narrow
		return sheet.BodyView(b, o)
	})}
}

type heightChoice struct {
	Times int
	On    bool
}

// changed is one figure that was typed over.
type changed struct {
	Label    unit.Phrase
	Was, Now string
}

// budget is how sure the gap is and where the doubt comes from.
type budget struct {
	Gap, Drawn unit.Length
	Trials     int
	Rows       []budgetRow // largest first; the first two are worth measuring better
	More       []budgetRow
}

type budgetRow struct {
	Key     string
	Label   unit.Phrase
	Give    string
	Effect  unit.Length
	Percent string // of the variance
	Bar     string // length of the bar, 0 to 100
}

var heights = []int{1, 3, 5, 10}

// designOpen are the headings that stay open: the figures most makers change.
var designOpen = map[unit.Text]bool{"Scale and strings": true, "Bridge and action": true}

func designPage(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	return in.showDesign(http.StatusOK, v, nil, nil)
}

// designTry shows what typed figures ask for without saving them: the whole page, or only the part beside
// the form when the page's own script asks.
func designTry(in *request) error {
	v, t, err := in.typedDesign()
	if err != nil {
		return err
	}
	status := http.StatusOK
	if t.err != nil {
		status = http.StatusUnprocessableEntity
	}
	if in.Header.Get("Fairset-Part") == "" {
		return in.showDesign(status, v, t, nil)
	}
	return in.render(status, "design_part", in.asks(v, t))
}

func designSave(in *request) error {
	v, t, err := in.typedDesign()
	if err != nil {
		return err
	}
	if t.err != nil {
		return in.showDesign(http.StatusUnprocessableEntity, v, t, nil)
	}
	here := guitarURL(v.Guitar.ID) + "/design"
	if len(t.texts) == 0 {
		return in.back(here, "Nothing was changed, so nothing was saved.")
	}
	_, _, err = in.enter(v.Guitar.ID, t.revision, guitar.StepDesign, t.texts)
	switch {
	case err == nil:
		return in.back(here, "%v", savedNotice(t.changes))
	case shop.Status(err) == http.StatusConflict:
		// Nothing is written over: what was typed stays, what the other bench entered is shown, and saving
		// again puts only the typed changes on top.
		now, again := in.guitar()
		if again != nil {
			return again
		}
		t = in.typed(now)
		between := in.conflict(now, t.seen)
		t.revision, t.seen = now.Revision, len(now.Guitar.Log)
		return in.showDesign(http.StatusConflict, now, t, between)
	case rangeErrors(err) != nil:
		t.err = err
		return in.showDesign(http.StatusUnprocessableEntity, v, t, nil)
	}
	return err
}

func savedNotice(changes []changed) unit.Phrase {
	if len(changes) == 0 || len(changes) > 3 {
		return unit.Say("Saved.")
	}
	return unit.Say("Saved: %v.", nowIs(changes))
}

// nowIs says what each figure is now.
type nowIs []changed

func (cs nowIs) In(s unit.Style) string {
	var said []string
	for _, c := range cs {
		said = append(said, s.Say("%v is now %s", c.Label, c.Now))
	}
	return strings.Join(said, ", ")
}

// typedDesign is what a design form came back with.
type typedDesign struct {
	units    unit.Style
	revision int64
	seen     int           // entries in the guitar's log when the page was made
	texts    url.Values    // only what was changed on the page
	display  url.Values    // every input as it is to be shown again
	values   guitar.Values // the design with the changes; nil when err
	changes  []changed
	heights  int
	err      error
}

func (in *request) typedDesign() (shop.View, *typedDesign, error) {
	v, err := in.guitar()
	if err != nil {
		return v, nil, err
	}
	if err := in.ParseForm(); err != nil {
		return v, nil, err
	}
	return v, in.typed(v), nil
}

// typed tells what was changed on the posted page from what it showed. An input left as it was shown keeps
// the design's present figure, even if another bench changed that meanwhile.
func (in *request) typed(v shop.View) *typedDesign {
	in.unitsOfForm()
	t := &typedDesign{units: in.prefs.Units, revision: revision(in.PostForm), texts: url.Values{}, display: url.Values{}}
	t.seen, _ = strconv.Atoi(in.PostForm.Get("seen"))
	t.heights, _ = strconv.Atoi(in.PostForm.Get("heights"))
	fields := v.Guitar.Fields(guitar.StepDesign)
	now := shownTexts(fields, v.Bench.Design, t.units)
	shown, whole := url.Values{}, true
	if json.Unmarshal([]byte(in.PostForm.Get("shown")), &shown) != nil || len(shown) == 0 {
		shown, whole = now, false
	}
	var touched []guitar.Field
	for _, f := range fields {
		key := f.Field
		posted, given := in.PostForm[key]
		// Boxes that are not ticked are not sent at all.
		if !given && !(whole && f.Many && f.Kind == unit.KindChoice) || slices.Equal(filled(posted), filled(shown[key])) {
			t.display[key] = now[key]
			continue
		}
		t.display[key] = posted
		t.texts[key] = filled(posted)
		touched = append(touched, f)
	}
	values, err := guitar.Parse(touched, t.texts, t.units)
	if err != nil {
		t.err = err
		return t
	}
	d := v.Bench.Design.Clone()
	for _, f := range touched {
		if values.Has(f.Field) {
			d[f.Field] = values[f.Field]
		} else {
			delete(d, f.Field)
		}
		t.changes = append(t.changes, changed{Label: f.Label, Was: written(f, v.Bench.Design, t.units), Now: written(f, d, t.units)})
	}
	// A top that was changed takes seconds: who types on gives the question up.
	if t.err = guitar.WarmTop(in.Context(), d); t.err != nil {
		return t
	}
	if t.err = guitar.CheckDesign(d, v.Guitar.Start); t.err == nil && v.Guitar.Start == guitar.FromDesign {
		_, _, t.err = guitar.Build(d).Target()
	}
	if t.err == nil {
		t.values = d
	}
	return t
}

// shownTexts is what each input of the design form holds.
func shownTexts(fields []guitar.Field, d guitar.Values, style unit.Style) url.Values {
	out := url.Values{}
	for _, f := range fields {
		for _, v := range d[f.Field] {
			out[f.Field] = append(out[f.Field], editText(f, v, style))
		}
	}
	return out
}

// filled leaves out blank texts. Browsers send line breaks in pairs, whatever the page showed.
func filled(texts []string) []string {
	out := []string{}
	for _, s := range texts {
		if s = strings.TrimSpace(strings.ReplaceAll(s, "\r\n", "\n")); s != "" {
			out = append(out, s)
		}
	}
	return out
}

func written(f guitar.Field, d guitar.Values, style unit.Style) string {
	var out []string
	for _, v := range d[f.Field] {
		out = append(out, f.Write(v, style))
	}
	if len(out) == 0 {
		return style.Say("as usual")
	}
	return strings.Join(out, ", ")
}

// showDesign makes the page from the saved design, or from what was typed over it.
func (in *request) showDesign(status int, v shop.View, t *typedDesign, between *conflict) error {
	fields := v.Guitar.Fields(guitar.StepDesign)
	title := unit.Text("Design")
	if v.Guitar.Start == guitar.FromReadings {
		title = "Figures"
	}
	p := designForm{Conflict: between, Revision: v.Revision, Seen: len(v.Guitar.Log), Asks: in.asks(v, t)}
	if t == nil {
		p.Form = newForm(fields, v.Bench.Design, nil, nil, in.prefs.Units)
	} else {
		p.Form = newForm(fields, nil, t.display, t.err, in.prefs.Units)
		p.Revision, p.Seen = t.revision, t.seen
		p.Asks.Listed = true
	}
	count := v.Bench.Design.Count("strings")
	if t != nil && t.values != nil {
		count = t.values.Count("strings")
	}
	p.Form.strings(count)
	p.layout = in.guitarLayout(title, "design", v)
	p.Path = guitarURL(v.Guitar.ID) + "/design"
	p.Groups = p.Form.folded(designOpen)
	shown, err := json.Marshal(shownTexts(fields, v.Bench.Design, in.prefs.Units))
	if err != nil {
		return err
	}
	p.Shown = string(shown)
	return in.render(status, "design", p)
}

// asks works out what the saved or typed design asks for.
func (in *request) asks(v shop.View, t *typedDesign) asks {
	style := in.prefs.Units
	a := asks{ID: v.Guitar.ID, Repair: v.Guitar.Start == guitar.FromReadings}
	d, times := v.Bench.Design, 5
	if t != nil {
		a.Changes = t.changes
		if slices.Contains(heights, t.heights) {
			times = t.heights
		}
		if t.err != nil {
			a.Problems = newForm(v.Guitar.Fields(guitar.StepDesign), nil, t.display, t.err, style).Problems
			return a
		}
		d = t.values
	}
	for _, n := range heights {
		a.Heights = append(a.Heights, heightChoice{n, n == times})
	}
	if a.Repair {
		a.repair(v, d, style)
		return a
	}
	b := guitar.Build(d)
	target, warnings, err := b.Target()
	if err != nil {
		for _, e := range rangeErrors(err) {
			a.Problems = append(a.Problems, problem{"", e.In(style)})
		}
		return a
	}
	a.Known, a.Target, a.Warnings = true, &target, warnings
	a.Lean = unit.Say("Lean the neck %v: the straight edge on the frets passes %v over the top at the saddle.", leanWords(target.NeckAngle), target.GapOnFrets)
	a.HeelToBoard = target.HeelToBoard()
	a.JigRun = d.Length("jig_run")
	a.JigRise = target.Jig(a.JigRun)
	a.FromNut = b.ScaleLength + b.SaddleSetback
	a.OverTop = b.BridgeThickness + b.SaddleProjection
	o := sheet.SideOptions{Style: style, Exaggeration: float64(times), HeelHeight: d.Length("heel_height"), Frets: d.Count("frets"), LeftHanded: d.Choice("hand") == "left"}
	a.Side = both("side", false, func(narrow bool) *drawing.Sheet {
		o.Narrow = narrow
		return sheet.SideView(b, target, o)
	})
	a.Budget = in.budget(b, d)
	a.Strung = in.strungFigures(a.ID, d)
	a.Top = in.topOf(v, d)
	a.Air = in.airFigures(d)
	return a
}

// repair says how the lean must change: the gap wanted when the gap is counted from where it stands.
func (a *asks) repair(v shop.View, d guitar.Values, style unit.Style) {
	change, twist, err := neckset.Repair(repairInput(d))
	if err != nil {
		for _, e := range rangeErrors(err) {
			a.Problems = append(a.Problems, problem{"", e.In(style)})
		}
		return
	}
	a.Known = true
	switch {
	case change > 0:
		a.Lean = unit.Say("The straight edge must pass %v higher over the top at the saddle than it does now.", change)
	case change < 0:
		a.Lean = unit.Say("The straight edge must pass %v lower over the top at the saddle than it does now.", -change)
	default:
		a.Lean = unit.Say("The lean is as it should be.")
	}
	if twist.Abs() > 0.1*unit.MM {
		a.Twist = unit.Say("The treble side stands %v higher than you want it, over the other side. No cut on the heel cures that; the saddle can.", unit.FineLength(twist))
		if twist < 0 {
			a.Twist = unit.Say("The bass side stands %v higher than you want it, over the other side. No cut on the heel cures that; the saddle can.", unit.FineLength(-twist))
		}
	}
	if v.Bench.Aim.Known {
		if saved, _, err := neckset.Repair(repairInput(v.Bench.Design)); err == nil {
			a.Wanted = unit.Say("From your first reading that makes a gap of %v on the frets.", v.Bench.Aim.GapOnFrets-saved+change)
		}
	} else {
		a.Wanted = unit.Say("Read the lean once as the guitar stands, without strings, and the gap to reach follows.")
	}
}

func repairInput(d guitar.Values) neckset.RepairInput {
	return neckset.RepairInput{ScaleLength: d.Length("scale_length"), SaddleSetback: d.Length("saddle_setback"),
		Action: neckset.Sides{Bass: d.Length("action_bass_now"), Treble: d.Length("action_treble_now")},
		Wanted: neckset.Sides{Bass: d.Length("action_bass"), Treble: d.Length("action_treble")}}
}

func (in *request) budget(b neckset.Build, d guitar.Values) *budget {
	got, err := shop.Budget(b, d)
	if err != nil || got.GapSD <= 0 {
		return nil
	}
	out := &budget{Gap: got.GapSD, Drawn: got.CheckSD, Trials: got.Trials}
	for i, s := range got.Shares {
		r := budgetRow{Key: s.Field, Label: guitar.PartLabel(s.Field), Effect: s.Effect, Percent: in.tell("%.0f %%", s.Part*100), Bar: strconv.FormatFloat(s.Part*100, 'f', 1, 64)}
		if s.Field == "action12" {
			r.Key = "action_bass"
		}
		kind := unit.KindLength
		if f, err := guitar.DesignField(s.Field); err == nil {
			kind = f.Kind
		}
		r.Give = unit.Write(s.SD, kind, in.prefs.Units)
		if kind == unit.KindLength {
			r.Give = unit.Length(s.SD).Fine(in.prefs.Units)
		}
		if i < 5 {
			out.Rows = append(out.Rows, r)
		} else {
			out.More = append(out.More, r)
		}
	}
	return out
}
