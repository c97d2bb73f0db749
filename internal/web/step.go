package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"fairset/craft/fastening"
	"fairset/craft/fretting"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/drawing"
	"fairset/internal/demo"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// stepData is one step on one guitar: the question, what the last reading means, and the form for the next.
type stepData struct {
	layout
	ID       string
	Revision int64
	Seen     int
	State    guitar.StepState
	Status   string // in words, "" for a step that is never done
	Entered  string // what was last entered here, in words
	Form     form
	Fold     unit.Text // words on the fold the form lies under; "" when it stands open
	Button   unit.Text
	Conflict *conflict
	Next     *stepLink
	Before   *stepLink
	After    *stepLink
	Pictures []picture
	Tables   []table
	Notes    []string
	Links    []stepLink // other pages that belong to this step
	OpenOut  bool       // the figures of the advice stand open
	Cut      *cutData
	Walk     *walkCard // on a guitar to practise on
	Note     string    // what was written with the last entry
	Shots    []shot
	Shoot    *photoForm // nil where no photos are kept
}

// stepLink leads to another step.
type stepLink struct {
	URL, Name, Question string
}

// stepLink leads to a step.
func (in *request) stepLink(id string, g guitar.Guide) *stepLink {
	return &stepLink{URL: stepURL(id, g.Step), Name: in.say(g.Name), Question: in.say(g.Question)}
}

// picture is one drawing in the two shapes it is drawn in: for a phone or a narrow column, and for a wide
// one. Only one of them is shown, and read out, at a time.
type picture struct {
	Narrow, Wide figure
	One          bool // only one of them was drawn, for room already known
}

// table is figures under a heading. Its head, rows and note are in the maker's units and language already.
type table struct {
	Name  unit.Text
	Head  []string
	Rows  [][]string
	Note  string
	Short bool // every figure is short: none is broken over lines
}

// heads are the heads of a table's columns.
func (in *request) heads(texts ...unit.Text) []string { return unit.Texts(texts).In(in.prefs.Units) }

// conflict says what came in from elsewhere between the reading of a page and its save.
type conflict struct {
	Lines []string
	Save  unit.Text // words of the button that saves all the same
}

// guide returns the guide of the step named in the path.
func (in *request) guide() (guitar.Guide, error) {
	guide, ok := guitar.FindGuide(guitar.Step(in.PathValue("step")))
	if !ok {
		return guitar.Guide{}, refuse(http.StatusNotFound, "There is no such step. Go to the bench page of the guitar and choose one from its list.")
	}
	return guide, nil
}

func stepURL(id string, s guitar.Step) string {
	return "/guitar/" + url.PathEscape(id) + "/step/" + string(s)
}

func guitarURL(id string) string { return "/guitar/" + url.PathEscape(id) }

// stepPage serves GET /guitar/{id}/step/{step}.
func stepPage(in *request) error {
	guide, err := in.guide()
	if err != nil {
		return err
	}
	if guide.Step == guitar.StepCut {
		return cutPage(in)
	}
	v, err := in.guitar()
	if err != nil {
		return err
	}
	return in.render(http.StatusOK, "step", in.stepData(v, guide, nil, nil))
}

// stepSave serves POST /guitar/{id}/step/{step}.
func stepSave(in *request) error {
	guide, err := in.guide()
	if err != nil {
		return err
	}
	got, err := in.readPosted()
	if err != nil {
		return err
	}
	if err := in.theirs(); err != nil { // before the guitar is looked for, which may not be this one's to see
		return err
	}
	before, err := in.guitar()
	if err != nil {
		return err
	}
	revision, seen, err := in.standing()
	if err != nil {
		return err
	}
	// A bare number means what it meant when the page was made.
	in.unitsOfForm()
	fields := before.Guitar.Fields(guide.Step)
	texts := fieldTexts(in.PostForm, fields)
	if got.Wrong != "" { // nothing is saved without its photos
		switch {
		case in.wantsAnswer():
			return in.answer(http.StatusUnprocessableEntity, sentAnswer{Say: got.Wrong, Problems: []string{got.Wrong}})
		case guide.Step == guitar.StepCut:
			return in.showCut(http.StatusUnprocessableEntity, before, texts, nil, nil, got.Wrong)
		}
		data := in.stepData(before, guide, texts, nil)
		data.noPhoto(got.Wrong)
		return in.render(http.StatusUnprocessableEntity, "step", data)
	}
	v, kept, err := in.enter(before.Guitar.ID, revision, guide.Step, texts)
	photos := ""
	if err == nil {
		photos = in.keepShots(v, kept, got.Pictures)
	}
	if in.wantsAnswer() {
		return in.sent(v, kept, seen, err)
	}
	if err == nil {
		return in.back(savedURL(v, guide.Step), "%s", in.savedNotice(v, kept)+photos)
	}
	var c *conflict
	status := http.StatusUnprocessableEntity
	switch {
	case shop.Status(err) == http.StatusConflict:
		now, again := in.guitar()
		if again != nil {
			return again
		}
		if now.Removed {
			return err
		}
		status, before, err = http.StatusConflict, now, nil
		c = in.conflict(now, seen)
	case rangeErrors(err) == nil:
		return err
	}
	if guide.Step == guitar.StepCut {
		return in.showCut(status, before, texts, err, c, "")
	}
	data := in.stepData(before, guide, texts, err)
	data.Conflict = c
	return in.render(status, "step", data)
}

// standing returns what the form was made from: the state it changes, and how much had been entered then.
func (in *request) standing() (revision int64, seen int, err error) {
	revision, err = strconv.ParseInt(in.PostForm.Get("revision"), 10, 64)
	if err != nil {
		return 0, 0, refuse(http.StatusUnprocessableEntity, "This form came without the state it was made from, so nothing was saved. Open the page again and send it from there.")
	}
	seen, err = strconv.Atoi(in.PostForm.Get("seen"))
	if err != nil || seen < 0 {
		seen = 0
	}
	return revision, seen, nil
}

// conflict says what stands now that the form had not seen.
func (in *request) conflict(v shop.View, seen int) *conflict {
	c := &conflict{Save: "Save mine as well"}
	log := v.Guitar.Log
	for i := max(0, min(seen, len(log))); i < len(log); i++ {
		line := unit.Capital(entryWords(v.Guitar, log[i], in.prefs.Units)) + " (" + in.whoWhen(log[i]) + ")"
		if log[i].Undone {
			line = in.tell("%s, since undone", line)
		}
		c.Lines = append(c.Lines, line)
	}
	if len(c.Lines) == 0 {
		c.Lines = []string{in.tell("Something was undone, or the guitar was renamed.")}
	}
	return c
}

// savedURL is where to go after a save: the same step, or the bench for what belongs to no step.
func savedURL(v shop.View, s guitar.Step) string {
	if s == guitar.StepNote {
		return guitarURL(v.Guitar.ID)
	}
	return stepURL(v.Guitar.ID, s)
}

func (in *request) savedNotice(v shop.View, k shop.Kept) string {
	if k.Seq < 1 || k.Seq > len(v.Guitar.Log) {
		return ""
	}
	e := v.Guitar.Log[k.Seq-1]
	say := in.tell("Saved: %s.", entryWords(v.Guitar, e, in.prefs.Units))
	if k.Again {
		say = in.tell("Saved already, once: %s.", entryWords(v.Guitar, e, in.prefs.Units))
	}
	if g := guessedWords(v.Guitar.Fields(e.Step), e.Values, in.prefs.Units); g != "" {
		say += " " + g
	}
	return say
}

// buttons are the words on the save button of a step; the others say "Save this reading".
var buttons = map[guitar.Step]unit.Text{
	guitar.StepCut:  "Save this pass",
	guitar.StepShim: "Save this shim",
	guitar.StepDots: "Save",
	guitar.StepSign: "Save",
	guitar.StepNote: "Keep this note",
}

// stepData gathers a step's page. Texts are what was typed when a save was refused with err.
func (in *request) stepData(v shop.View, guide guitar.Guide, texts url.Values, err error) stepData {
	d := stepData{layout: in.guitarLayout(guide.Name, "bench", v), ID: v.Guitar.ID, Revision: v.Revision, Seen: len(v.Guitar.Log)}
	d.State = v.Bench.Step(guide.Step)
	if d.State.Step == "" { // a step that can come at any time
		d.State = guitar.StepState{Guide: guide}
		if e, ok := v.Guitar.Last(guide.Step); ok {
			d.State.Last = &e
		}
	} else {
		d.Status = in.say(d.State.Status.Name())
	}
	if e := d.State.Last; e != nil {
		d.Note = e.Note()
		d.Entered = unit.Capital(entryWords(v.Guitar, *e, in.prefs.Units)) + " (" + in.whoWhen(*e) + ")"
	}
	d.Form = newForm(v.Guitar.Fields(guide.Step), prefill(v, guide.Step, in.prefs.Units), texts, err, in.prefs.Units)
	if n := v.Bench.Design.Count("strings"); n > 0 {
		for _, key := range []string{"cents", "cents_other", "cents_other2"} {
			d.Form.room(key, in.tell("string‖of the guitar"), n)
		}
	}
	if n := len(v.Bench.Design.Lengths("bolt_depths")); n > 0 {
		for _, key := range []string{"centres_neck", "centres_body", "miss"} {
			d.Form.room(key, in.tell("bolt"), n)
		}
	}
	d.Button = buttons[guide.Step]
	if d.Button == "" {
		d.Button = "Save this reading"
	}
	if d.State.Status == guitar.Done && texts == nil {
		d.Fold = "Read it again"
		switch guide.Step {
		case guitar.StepDots, guitar.StepSign:
			d.Fold = "Change this"
		}
	}
	if in.srv.shop.KeepsPhotos() {
		d.Shoot = &photoForm{Alt: in.PostForm.Get("alt")}
		if texts == nil {
			d.Shoot.Alt = in.say(guide.Name)
		}
		var trouble error
		if d.Shots, trouble = in.shots(v.Guitar.ID, ofStep(v.Guitar, guide.Step)); trouble != nil {
			in.srv.log.Error("photos cannot be read", "err", trouble) // the step must go on without them
		}
	}
	d.Next = in.nextLink(v, guide.Step)
	d.Before, d.After = in.neighbours(v, guide.Step)
	in.illustrate(&d, v)
	if demo.Practice(v.Guitar) {
		d.Walk = in.walk(v, guide.Step)
		d.Fold = "" // the walk asks for a step again now and then
	}
	return d
}

// noPhoto says that a photo could not be taken, and that nothing was saved. A browser does not keep what was chosen.
func (d *stepData) noPhoto(say string) {
	d.Fold = ""
	if d.Shoot != nil {
		d.Shoot.Wrong = say
	}
	d.Form.Problems = append(d.Form.Problems, problem{"photos", say})
}

// nextLink is the natural next thing after a step: after wood came off, the readings that undid; else the
// next step in order that is not done; else whatever was skipped before. It is nil when nothing is left.
func (in *request) nextLink(v shop.View, s guitar.Step) *stepLink {
	steps := v.Bench.Steps
	link := func(st guitar.StepState) *stepLink { return in.stepLink(v.Guitar.ID, st.Guide) }
	switch s {
	case guitar.StepCut, guitar.StepShim, guitar.StepSeat:
		for _, again := range []guitar.Step{guitar.StepLean, guitar.StepPoint} {
			if st := v.Bench.Step(again); st.Status == guitar.Again {
				return link(st)
			}
		}
	}
	if i := slices.IndexFunc(steps, func(st guitar.StepState) bool { return st.Step == s }); i >= 0 {
		for _, st := range steps[i+1:] {
			if st.Status != guitar.Done && !st.Optional {
				return link(st)
			}
		}
	}
	if w := v.Bench.Step(v.Bench.Waiting); w.Step != "" && w.Step != s {
		return link(w)
	}
	return nil
}

// neighbours are the steps before and after one in the natural order.
func (in *request) neighbours(v shop.View, s guitar.Step) (before, after *stepLink) {
	i := slices.IndexFunc(v.Bench.Steps, func(st guitar.StepState) bool { return st.Step == s })
	if i < 0 {
		return nil, nil
	}
	link := func(i int) *stepLink {
		if i < 0 || i >= len(v.Bench.Steps) {
			return nil
		}
		return in.stepLink(v.Guitar.ID, v.Bench.Steps[i].Guide)
	}
	return link(i - 1), link(i + 1)
}

// asLast are the fields of each step that seldom change from one reading to the next: tools, sides and the
// shapes of parts that no wood was taken from. The readings themselves are never filled in.
var asLast = map[guitar.Step][]string{
	guitar.StepTenon:   {"mortise_depth", "mortise_width"},
	guitar.StepSeat:    {"arc_radius", "arc_chord", "arc_rise", "body_share"},
	guitar.StepLean:    {"surface", "graduation", "read_at"},
	guitar.StepPoint:   {"toward", "graduation"},
	guitar.StepRoll:    {"graduation"},
	guitar.StepDrill:   {"centres_neck", "centres_body"},
	guitar.StepTighten: {"surface", "toward", "graduation"},
	guitar.StepBridge:  nil,
}

// prefill is what a step's form begins with.
func prefill(v shop.View, s guitar.Step, style unit.Style) guitar.Values {
	g, out := v.Guitar, guitar.Values{}
	fields := g.Fields(s)
	from := func(step guitar.Step, keys ...string) {
		e, ok := g.Last(step)
		if !ok {
			return
		}
		for _, k := range keys {
			if out.Has(k) || !e.Values.Has(k) || !hasField(fields, k) {
				continue
			}
			out[k] = bare(fields, k, e.Values[k])
		}
	}
	from(s, asLast[s]...)
	switch s {
	case guitar.StepLean:
		from(guitar.StepTighten, "surface", "graduation")
	case guitar.StepPoint:
		from(guitar.StepTighten, "toward", "graduation")
		from(guitar.StepLean, "graduation")
	case guitar.StepTighten:
		from(guitar.StepLean, "surface", "graduation")
		from(guitar.StepPoint, "toward")
	case guitar.StepDrill:
		if !out.Has("centres_neck") {
			for _, k := range []string{"centres_neck", "centres_body"} {
				if depths := v.Bench.Design["bolt_depths"]; len(depths) > 0 {
					out[k] = bare(v.Guitar.Fields(guitar.StepDesign), "bolt_depths", depths)
				}
			}
		}
	case guitar.StepDots:
		out["set"] = []guitar.Value{{Text: "yes"}}
	}
	if hasField(fields, "graduation") && !out.Has("graduation") {
		mark := 0.5 * unit.MM // the coarsest usual rule, so that nothing is called surer than it is
		if !style.Metric() {
			mark = unit.Inch / 64
		}
		out["graduation"] = []guitar.Value{{SI: float64(mark)}}
	}
	return out
}

// bare drops the typed text of figures, so that they are shown with their unit: a "0.5" typed at a bench
// that works in millimetres must not be read as inches at another.
func bare(fields []guitar.Field, key string, list []guitar.Value) []guitar.Value {
	out := slices.Clone(list)
	for _, f := range fields {
		if f.Field == key && f.Kind == unit.KindLength {
			for i := range out {
				out[i].Text = ""
			}
		}
	}
	return out
}

// illustrate adds the drawings and tables of a step.
func (in *request) illustrate(d *stepData, v shop.View) {
	b, style := v.Bench, in.prefs.Units
	left := b.Design.Choice("hand") == "left"
	switch s := d.State.Step; s {
	case guitar.StepTenon:
		if d.State.Last != nil {
			t := sheet.TenonInput{Length: d.State.Last.Values.Length("tenon_length"), Width: d.State.Last.Values.Length("tenon_width"),
				MortiseDepth: d.State.Last.Values.Length("mortise_depth"), MortiseWidth: d.State.Last.Values.Length("mortise_width")}
			d.draw(s, func(narrow bool) *drawing.Sheet {
				return sheet.TenonPlan(t, sheet.SeatOptions{Style: style, Narrow: narrow, LeftHanded: left})
			})
		}
	case guitar.StepSeat:
		seatIn := v.Guitar.SeatInput(b.Design)
		if fit, warnings, err := neckset.FitSeat(seatIn); err == nil && seatIn.ArcRadius > 0 && d.State.Status != guitar.Done {
			d.draw(s, func(narrow bool) *drawing.Sheet {
				return sheet.SeatPlan(seatIn, fit, sheet.SeatOptions{Style: style, Narrow: narrow, LeftHanded: left})
			})
			if d.State.Last == nil {
				d.warn(in, warnings)
			}
		}
	case guitar.StepLean:
		in.sideView(d, v, sheet.Unstrung, sheetBoard(v))
	case guitar.StepPoint:
		if b.Point.Known() {
			d.draw(s, func(narrow bool) *drawing.Sheet {
				return sheet.LineView(lineInput(b), sheet.LineOptions{Style: style, Narrow: narrow, LeftHanded: left})
			})
		}
	case guitar.StepRoll:
		if e := d.State.Last; e != nil {
			_, sd := guitar.Roll(e.Values)
			roll := sheet.RollInput{Bass: e.Values.Length("gap_bass"), Treble: e.Values.Length("gap_treble"), Spread: unit.Length(float64(sd) / 1.4142135623730951)}
			d.draw(s, func(narrow bool) *drawing.Sheet {
				return sheet.Roll(roll, sheet.RollOptions{Style: style, Narrow: narrow, LeftHanded: left})
			})
		}
	case guitar.StepShim:
		d.Tables = append(d.Tables, in.shimTables(b)...)
	case guitar.StepDrill:
		in.drillFigures(d, v)
	case guitar.StepTighten:
		if v.Guitar.Start == guitar.FromDesign {
			if p, _, _, err := guitar.PlanJoint(b.Design, nil, b.Drills); err == nil {
				for _, x := range p.Assembly {
					d.Notes = append(d.Notes, in.say(x))
				}
			}
		}
		in.progress(d, b)
	case guitar.StepDots:
		in.dotFigures(d, v)
	case guitar.StepBridge:
		in.bridgeFigures(d, v)
	case guitar.StepStrung:
		d.OpenOut = true
		if v.Guitar.Start == guitar.FromDesign {
			at := guitarURL(v.Guitar.ID)
			d.Links = []stepLink{{URL: at + "/setup", Name: in.tell("Setup sheet")}, {URL: at + "/strings", Name: in.tell("Strings, saddle and nut")}}
		}
		in.sideView(d, v, sheet.Strung, false)
	case guitar.StepSign:
		rows := [][]string{}
		for _, st := range b.Steps {
			if st.Step == guitar.StepSign || st.Step == guitar.StepBridge || st.Step == guitar.StepStrung {
				continue
			}
			rows = append(rows, []string{in.say(st.Name), in.say(st.Status.Name()), stepFigure(v, st, style)})
		}
		d.Tables = append(d.Tables, table{Name: "How every step stands", Head: in.heads("Step", "Stands‖of a step", "Last figure"), Rows: rows})
		in.progress(d, b)
	}
}

// draw adds a drawing in both shapes.
func (d *stepData) draw(name guitar.Step, sheetOf func(narrow bool) *drawing.Sheet) {
	d.Pictures = append(d.Pictures, both(string(name)+strconv.Itoa(len(d.Pictures)), false, sheetOf))
}

func both(id string, open bool, sheetOf func(narrow bool) *drawing.Sheet) picture {
	return picture{Narrow: figure{ID: id + "-narrow", Sheet: sheetOf(true), Open: open}, Wide: figure{ID: id + "-wide", Sheet: sheetOf(false), Open: open}}
}

func (d *stepData) warn(in *request, warnings []unit.Warning) {
	for _, w := range warnings {
		d.Notes = append(d.Notes, in.say(w.Say))
	}
}

// sheetBoard reports whether the lean was last read on the bare board.
func sheetBoard(v shop.View) bool {
	e, ok := v.Guitar.Last(guitar.StepLean)
	return ok && e.Values.Choice("surface") == "board"
}

func (in *request) sideView(d *stepData, v shop.View, state sheet.State, board bool) {
	if p, ok := in.sidePicture(string(d.State.Step), v, state, board); ok {
		d.Pictures = append(d.Pictures, p)
	}
}

// sidePicture draws the guitar from its side; a repair has no design to draw.
func (in *request) sidePicture(id string, v shop.View, state sheet.State, board bool) (picture, bool) {
	t := v.Bench.Aim.Target
	if t == nil {
		return picture{}, false
	}
	design := v.Bench.Design
	o := sheet.SideOptions{Style: in.prefs.Units, Exaggeration: 5, State: state, HeelHeight: design.Length("heel_height"), Frets: design.Count("frets"),
		LeftHanded: design.Choice("hand") == "left", Board: board}
	return both(id+"-side", false, func(narrow bool) *drawing.Sheet {
		o.Narrow = narrow
		return sheet.SideView(guitar.Build(design), *t, o)
	}), true
}

func lineInput(b guitar.Bench) sheet.LineInput {
	in := sheet.LineInput{Offset: b.Point.Mean, Tolerance: b.Design.Length("offset_tolerance"), SaddleDistance: b.Aim.SaddleDistance}
	if b.Aim.Target != nil {
		in.NutToJoint = b.Aim.Target.NutToJoint
	}
	return in
}

// progress plots the readings over the passes; one reading is no progress yet.
func (in *request) progress(d *stepData, b guitar.Bench) {
	points := progressPoints(b, in.prefs.Units)
	if len(points) < 2 || !b.Aim.Known {
		return
	}
	aim := sheet.Aim{Gap: b.Aim.GapOnFrets, GapTolerance: b.Design.Length("gap_tolerance"), OffsetTolerance: b.Design.Length("offset_tolerance")}
	d.Pictures = append(d.Pictures, both("progress", false, func(narrow bool) *drawing.Sheet {
		return sheet.Progress(points, aim, sheet.ProgressOptions{Style: in.prefs.Units, Narrow: narrow})
	}))
}

// progressPoints are the last readings after each pass, and what the next cut aims at.
func progressPoints(b guitar.Bench, style unit.Style) []sheet.ProgressPoint {
	var out []sheet.ProgressPoint
	at := map[int]int{} // passes made → index
	for _, r := range b.Readings {
		i, ok := at[r.Passes]
		if !ok {
			label := style.Say("start‖before the first pass")
			if r.Passes > 0 {
				label = style.Say("pass %d", r.Passes)
			}
			i = len(out)
			at[r.Passes] = i
			out = append(out, sheet.ProgressPoint{Label: label})
		}
		p := &out[i]
		if r.Step == guitar.StepLean {
			p.Gap, p.GapSD, p.HasGap = r.Value, r.SD, true
		} else {
			p.Offset, p.OffsetSD, p.HasOffset = r.Value, r.SD, true
		}
	}
	if n := b.Cut; n != nil && n.Cut.Planned.Deepest() > 0 && b.Step(guitar.StepCut).Status == guitar.Working {
		gap, off := n.Cut.After(b.Lean, b.Point, n.In.CutSD)
		out = append(out, sheet.ProgressPoint{Label: style.Say("next‖pass"), Gap: gap.Mean, GapSD: gap.SD, Offset: off.Mean, OffsetSD: off.SD, HasGap: true, HasOffset: true, Planned: true})
	}
	return out
}

// shimTables say what a shim would have to be now.
func (in *request) shimTables(b guitar.Bench) []table {
	t := table{Name: "What would help now", Head: in.heads("Way", "Figure")}
	if b.Cut == nil {
		t.Note = in.tell("Read lean and point first; then the thickness of a shim is given here.")
		return []table{t}
	}
	n := b.Cut
	if n.Cut.Leave {
		t.Note = in.tell("The neck stands within what you asked for: no shim is needed.")
		return []table{t}
	}
	need, off := n.Cut.GapNeed, n.Cut.OffsetNeed
	list := n.Remedies
	if len(list) == 0 {
		list = neckset.Remedies(n.In, need, off, nil)
	}
	for _, r := range list {
		if r.Code != "shim" {
			continue
		}
		t.Rows = append(t.Rows, []string{in.tell("shim at the %v", r.Where), in.say(r.Say)})
	}
	if len(t.Rows) == 0 {
		t.Note = in.tell("No shim is asked for now.")
	}
	return []table{t}
}

// drillFigures adds the layout, the drills and the load of the bolts.
func (in *request) drillFigures(d *stepData, v shop.View) {
	b, style := v.Bench, in.prefs.Units
	design := b.Design
	if v.Guitar.Start == guitar.FromReadings || !design.Has("thread") {
		return
	}
	var misses []unit.Length
	if e := d.State.Last; e != nil {
		misses = guitar.DrillMisses(e.Values)
	}
	plan, holds, warnings, err := guitar.PlanJoint(design, misses, b.Drills)
	if err != nil {
		return
	}
	a := plan.Advice
	depths := design.Lengths("bolt_depths")
	lay := sheet.BoltInput{Heel: guitar.Heel(design), TenonWidth: design.Length("tenon_width"), Depths: depths}.With(plan)
	left := design.Choice("hand") == "left"
	d.draw(guitar.StepDrill, func(narrow bool) *drawing.Sheet {
		return sheet.BoltLayout(lay, sheet.BoltOptions{Style: style, Narrow: narrow, LeftHanded: left})
	})
	// The drills are what this step is looked up for: they stand open as a table, not folded away.
	drills := table{Name: "The drills", Head: in.heads("What", "Figure")}
	for _, f := range d.State.Advice.Figures {
		drills.Rows = append(drills.Rows, []string{in.say(f.Label), in.say(f.Say)})
	}
	d.State.Advice.Figures = nil
	why := unit.Phrase{}
	for _, h := range plan.Holes[1:] {
		why = unit.Join(why, h.Why)
	}
	drills.Note = in.say(unit.Join(why, plan.Nut))
	d.Tables = append(d.Tables, drills)

	if plan.Kind != fastening.KindHanger {
		d.Notes = append(d.Notes, in.tell("Held by %v.", plan.Kind.Name()))
	} else if len(a.Bites) > 0 {
		bites := table{Name: "Thread that a hole in the heel leaves", Head: in.heads("Hole", "Diameter", "Depth of thread in wood", "Share"), Short: true, Note: in.say(a.Practice)}
		for _, x := range a.Bites {
			name := x.Name
			if name == "" {
				name = in.tell("hole")
			}
			if x.Name == a.Pilot.Name {
				name = in.tell("%s (this one)", name)
			}
			bites.Rows = append(bites.Rows, []string{name, x.Hole.Fine(style), x.Depth.Fine(style), fmt.Sprintf("%.0f %%", x.Share*100)})
		}
		d.Tables = append(d.Tables, bites)
	} else {
		d.Notes = append(d.Notes, in.say(a.Practice))
	}
	d.Tables = append(d.Tables, in.distanceTable(plan))
	if load, ok := in.loadTable(plan, holds); ok {
		d.Tables = append(d.Tables, load)
	}
	if d.State.Last == nil {
		d.warn(in, warnings)
	}
	d.Notes = append(d.Notes, in.say(fastening.Caution()))
}

// distanceTable says how far the holes stand from the edges and from each other.
func (in *request) distanceTable(p fastening.Plan) table {
	t := table{Name: "Wood left round the holes", Head: in.heads("From where to where", "Is‖a distance", "At least", "Enough"), Short: true, Note: in.tell("Asked by the standard for bolts pulled along their length; nearer, the wood may split.")}
	for _, x := range p.Distances {
		enough := in.tell("yes")
		if !x.Enough {
			enough = in.tell("no")
		}
		t.Rows = append(t.Rows, []string{in.say(x.What), x.Is.In(in.prefs.Units), x.Asked.In(in.prefs.Units), enough})
	}
	return t
}

// loadTable says what the strings ask of each bolt, and what it should hold for good.
func (in *request) loadTable(p fastening.Plan, holds fastening.PlanInput) (table, bool) {
	s, ok := p.Stands(holds)
	if !ok {
		return table{}, false
	}
	t := table{Name: "What the strings ask of the bolts, estimated", Head: in.heads("Bolt", "From the top edge", "Pull", "Should hold for good", "How many times over"), Note: in.say(guitar.CautionLoad) + " " + in.say(s.Hold.Say), Short: true}
	for i, x := range s.Bolts {
		allowed, over := in.say(s.Hold.Lasting), in.prefs.Units.Decimal(x.Safety, 1)
		if s.Hold.Barred {
			allowed, over = in.tell("not given"), in.tell("not given")
		}
		t.Rows = append(t.Rows, []string{strconv.Itoa(i + 1), x.Depth.In(in.prefs.Units), in.say(x.Tension), allowed, over})
	}
	for _, x := range s.Assumes {
		t.Note += " " + in.say(x)
	}
	for _, w := range s.Warnings {
		if w.Code != "not_allowed" { // said already
			t.Note += " " + in.say(w.Say)
		}
	}
	return t, true
}

// dotFigures draws the dots and lists them from the nut.
func (in *request) dotFigures(d *stepData, v shop.View) {
	design := v.Bench.Design
	if !design.Has("frets") {
		return
	}
	scale, frets := design.Length("scale_length"), design.Count("frets")
	dots, err := fretting.DotsAt(scale, frets, guitar.Marks(design))
	if err != nil {
		return
	}
	p := both("dots", true, func(narrow bool) *drawing.Sheet {
		return sheet.SideDots(scale, frets, dots, sheet.DotOptions{Style: in.prefs.Units, Narrow: narrow, LeftHanded: design.Choice("hand") == "left"})
	})
	d.Pictures = append(d.Pictures, p)
	d.Notes = append(d.Notes, in.tell("Measure every dot from the nut in one run of the rule, so that no error adds up."))
}

// bridgeFigures says where the saddle line goes, before and after the nut has been measured.
func (in *request) bridgeFigures(d *stepData, v shop.View) {
	b, style := v.Bench, in.prefs.Units
	in.sideView(d, v, sheet.Strung, false)
	if b.Aim.Target == nil {
		return
	}
	fromNut, planned := guitar.SaddleLine(b.Design, b.Aim.Target.NutToJoint)
	t := table{Name: "From the plan", Head: in.heads("What", "Figure"), Rows: [][]string{
		{in.tell("saddle line from the nut"), fromNut.Exact(style)},
		{in.tell("nut to the body's edge, as planned"), b.Aim.Target.NutToJoint.Exact(style)},
		{in.tell("the cuts brought the nut nearer the bridge by"), b.Shift.Fine(style)},
		{in.tell("nut to the body's edge, to expect now"), (b.Aim.Target.NutToJoint - b.Shift).Exact(style)},
		{in.tell("saddle line from the body's edge, as planned"), planned.Exact(style)},
	}, Note: in.tell("The saddle line is set out from the nut on this guitar. The plan's figure from the body's edge no longer holds once wood has come off the heel.")}
	d.Tables = append(d.Tables, t)
}
