package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"fairset/craft/guitar"
	"fairset/craft/stringset"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// stringsData is what a guitar's strings pull, and where they want saddle and nut.
type stringsData struct {
	layout
	ID       string
	Revision int64
	Seen     int
	Shown    string
	Form     form
	Group    string // of the design's form, where each string's own figures stand
	Conflict *conflict
	cannot
	Do       unit.Phrase
	Whys     []unit.Phrase
	Doubts   []string
	Pull     string
	Care     unit.Text
	Tension  picture
	Strings  table
	Known    bool // saddle and nut could be worked out
	Saddle   picture
	Facts    []fact
	Setbacks table
	Reason   unit.Phrase
	Map      liveMap
	Scores   table
}

// cannot says what keeps figures from being worked out, and where to mend it.
type cannot struct {
	Cannot  unit.Text
	Missing []problem
}

// liveMap is every note's error with some figures pulled about. It is also the part that is redrawn while a
// slider moves.
type liveMap struct {
	Sliders  []slider
	Ways     form
	Problems []string
	Do, Why  unit.Phrase
	Picture  picture
}

// setKeys are the figures of the strings that are chosen on their own page.
var setKeys = []string{"string_set", "tuning", "a4", "capo", "saddle_kind", "nut_kind"}

// someFields picks fields of the design by key, in the order of the keys.
func someFields(all []guitar.Field, keys ...string) []guitar.Field {
	var out []guitar.Field
	for _, k := range keys {
		if i := slices.IndexFunc(all, func(f guitar.Field) bool { return f.Field == k }); i >= 0 {
			out = append(out, all[i])
		}
	}
	return out
}

// stringsPage serves GET /guitar/{id}/strings; the query may move the sliders of its map.
func stringsPage(in *request) error {
	v, err := in.design()
	if err != nil {
		return err
	}
	return in.showStrings(http.StatusOK, v, nil, nil)
}

// design returns the guitar named in the path; what has no design has no strings or board to work out.
func (in *request) design() (shop.View, error) {
	v, err := in.guitar()
	if err == nil && v.Guitar.Start == guitar.FromReadings {
		err = refuse(http.StatusNotFound, "This guitar is a repair, started from readings: it has no design, so its strings and board are not known here. Start a guitar from a design to work them out.")
	}
	return v, err
}

// stringsSave serves POST /guitar/{id}/strings.
func stringsSave(in *request) error {
	v, err := in.design()
	if err != nil {
		return err
	}
	if err := in.ParseForm(); err != nil {
		return err
	}
	revision, seen, err := in.standing()
	if err != nil {
		return err
	}
	in.unitsOfForm()
	fields := someFields(v.Guitar.Fields(guitar.StepDesign), setKeys...)
	texts := fieldTexts(in.PostForm, fields)
	for k, list := range texts { // what was left as it was shown is not said again, typed or not
		if slices.Equal(filled(list), filled(shownTexts(fields, v.Bench.Design, in.prefs.Units)[k])) {
			delete(texts, k)
		}
	}
	here := guitarURL(v.Guitar.ID) + "/strings"
	_, err = in.srv.shop.Change(in.Context(), v.Guitar.ID, revision, texts, in.prefs.Units, in.prefs.Bench)
	switch {
	case err == nil && len(texts) == 0:
		return in.back(here, "Nothing was changed, so nothing was saved.")
	case err == nil:
		return in.back(here, "Saved.")
	case shop.Status(err) == http.StatusConflict:
		now, again := in.design()
		if again != nil {
			return again
		}
		c := in.conflict(now, seen)
		v = now
		return in.showStrings(http.StatusConflict, v, &refused{texts: fieldTexts(in.PostForm, fields)}, c)
	case rangeErrors(err) != nil:
		return in.showStrings(http.StatusUnprocessableEntity, v, &refused{texts: fieldTexts(in.PostForm, fields), err: err}, nil)
	}
	return err
}

// refused is a form that was not saved.
type refused struct {
	texts url.Values
	err   error
}

// missing says what an error asks for, with the field of the design to go to.
func (in *request) missing(lead unit.Text, err error) cannot {
	out := cannot{Cannot: lead}
	for _, e := range rangeErrors(err) {
		p := problem{Say: e.In(in.prefs.Units)}
		if _, unknown := guitar.DesignField(e.Field); unknown == nil {
			p.Key = e.Field
		}
		out.Missing = append(out.Missing, p)
	}
	if len(out.Missing) == 0 {
		out.Missing = []problem{{Say: unit.Explain(err, in.prefs.Units)}}
	}
	return out
}

func (in *request) showStrings(status int, v shop.View, back *refused, between *conflict) error {
	d := in.stringsData(v)
	d.Conflict = between
	fields := someFields(v.Guitar.Fields(guitar.StepDesign), setKeys...)
	if back != nil {
		d.Form = newForm(fields, nil, back.texts, back.err, in.prefs.Units)
	} else {
		d.Form = newForm(fields, v.Bench.Design, nil, nil, in.prefs.Units)
	}
	suit(&d.Form, v.Bench.Design)
	return in.render(status, "strings", d)
}

// suit leaves out the sets and tunings for another number of strings.
func suit(f *form, d guitar.Values) {
	n := d.Count("strings")
	fits := map[string]func(key string) bool{
		"string_set": func(key string) bool { s, err := stringset.FindSet(key); return err == nil && len(s.Strings) <= n },
		"tuning":     func(key string) bool { t, err := stringset.FindTuning(key); return err == nil && len(t.Notes) == n },
	}
	for i := range f.Inputs {
		if fit := fits[f.Inputs[i].Key]; fit != nil {
			f.Inputs[i].Choices = slices.DeleteFunc(f.Inputs[i].Choices, func(o option) bool { return !o.On && o.Key != "" && !fit(o.Key) })
		}
	}
}

func (in *request) stringsData(v shop.View) stringsData {
	design := v.Bench.Design
	d := stringsData{layout: in.guitarLayout("Strings", "strings", v), ID: v.Guitar.ID, Revision: v.Revision, Seen: len(v.Guitar.Log)}
	d.Path = guitarURL(v.Guitar.ID) + "/strings"
	if f := someFields(v.Guitar.Fields(guitar.StepDesign), guitar.StringKey(1, "gauge")); len(f) > 0 {
		d.Group = slug(f[0].Group)
	}
	set, err := guitar.StringSetUp(design)
	if err != nil {
		lead := unit.Text("Choose a set of strings, and everything here follows.")
		if guitar.HasStrings(design) {
			lead = "The strings cannot be worked out yet."
		}
		d.cannot = in.missing(lead, err)
		return d
	}
	in.pulls(&d, set)
	got, err := guitar.IntonationOf(design)
	if err != nil {
		d.cannot = in.missing("Saddle and nut cannot be worked out yet.", err)
		return d
	}
	d.Known = true
	in.saddle(&d, design, got)
	for _, w := range got.Warnings {
		if say := in.say(w.Say); !slices.Contains(d.Doubts, say) {
			d.Doubts = append(d.Doubts, say)
		}
	}
	d.Map = in.liveMap(design, got, in.URL.Query())
	if scores, _, err := got.Rescore(design); err == nil {
		t := table{Name: "With a capo, and in other tunings", Head: in.heads("Played", "All strings, RMS", "Farthest off", "Where"), Short: true,
			Note: in.tell("Nut and saddle stay as they are, and the guitar is tuned afresh each time. A slacker tuning also lets the neck straighten a little, which is left out. RMS is the root of the mean square: the usual size of the error.")}
		for _, s := range scores {
			where := "–"
			if s.Map.WorstRow < len(s.Map.Rows) {
				where = in.tell("%v, fret %d", s.Map.Rows[s.Map.WorstRow].Name, s.Map.WorstFret)
			}
			t.Rows = append(t.Rows, []string{in.say(unit.Upper{Words: s.Name}), in.say(cents(s.Map.RMS)), in.say(signedCents(s.Map.Worst)), where})
		}
		d.Scores = t
	}
	return d
}

// cents is how far a note is off, in hundredths of a semitone.
func cents(c float64) unit.Phrase { return unit.Say("%.1f cents", c) }

// signedCents writes which way a note is off, in words besides the sign.
func signedCents(c float64) unit.Phrase {
	if math.Abs(c) < 0.05 {
		return unit.Say("true‖of a note")
	}
	return unit.Say("%+.1f cents", c)
}

func (in *request) pulls(d *stringsData, set guitar.Strings) {
	style := in.prefs.Units
	b := set.Balance
	d.Pull = in.tell("Tuned, they pull %v together. The loosest is %v, the tightest %v.", b.Total, b.Strings[b.Loosest].Name, b.Strings[b.Tightest].Name)
	d.Tension = both("tension", false, func(narrow bool) *drawing.Sheet {
		return sheet.TensionChart(b, sheet.TensionOptions{Style: style, Narrow: narrow})
	})
	t := table{Name: "Each string", Head: in.heads("String‖of the guitar", "Gauge‖of a string", "Pull", "Mass", "Stiffness B", "Made as"), Short: true}
	for i, s := range set.List {
		p := b.Strings[i]
		made := in.say(madeAs(s))
		if i < len(set.Sources) && strings.Contains(set.Sources[i], "packet") {
			made = in.tell("%s, by its packet", made)
		}
		t.Rows = append(t.Rows, []string{s.Name, gauge(s.Diameter, style), pull(p.Tension, style), in.tell("%.3g g/m", float64(p.Mass)*1000), in.tell("%.0f × 10⁻⁶", p.B*1e6), made})
	}
	d.Strings = t
	d.Care = guitar.CautionString
}

// pull writes one string's pull in the unit that goes with a maker's lengths.
func pull(f unit.Force, style unit.Style) string {
	if style.Metric() {
		return style.Decimal(float64(f), 1) + " N"
	}
	return style.Decimal(float64(f/unit.PoundForce), 1) + " lbf"
}

// gauge writes a string's thickness as packets print it in these units.
func gauge(l unit.Length, style unit.Style) string {
	packet, mm := fmt.Sprintf(".%03.0f", l.Inches()*1000), style.Decimal(l.MM(), 2)+" mm"
	if style.Metric() {
		return mm + " (" + packet + ")"
	}
	return packet + " (" + mm + ")"
}

func (in *request) saddle(d *stringsData, design guitar.Values, got guitar.Intonation) {
	style := in.prefs.Units
	n := len(got.Models)
	bass, treble := got.Saddle[0], got.Saddle[n-1]
	if got.SaddleKind == guitar.SaddleStraight {
		d.Do = unit.Say("Set the saddle line back %v at the bass string and %v at the treble string, behind the scale length.", unit.FineLength(bass), unit.FineLength(treble))
	} else {
		d.Do = unit.Say("Give each string its own place on the saddle: the bass string breaks %v behind the scale length, the treble string %v.", unit.FineLength(bass), unit.FineLength(treble))
	}
	d.Whys = append(d.Whys, unit.Say("Notes are then off by %v as a rule; the farthest, %v at fret %d, by %v. With no setback it would be %v.",
		cents(got.Map.RMS), got.Map.Rows[got.Map.WorstRow].Name, got.Map.WorstFret, signedCents(got.Map.Worst), cents(got.Bare.RMS)))
	d.Reason = got.Why
	typed := design.Length("saddle_setback")
	say := in.tell("as worked out here")
	if design.Choice("setback_from") != "strings" {
		say = in.tell("as typed: %v", unit.FineLength(typed))
	}
	d.Facts = []fact{
		{Name: unit.Say("Saddle on the centreline, behind the scale length"), Say: got.Centre.Fine(style)},
		{Name: unit.Say("The neck set goes by the setback"), Say: say, Link: guitarURL(d.ID) + "/design#f-setback_from", LinkSay: in.tell("change")},
		{Name: unit.Say("Straight saddle, turned from square by"), Say: in.say(slanted(got.Straight.Angle))},
		{Name: unit.Say("Straight saddle leaves"), Say: in.say(cents(got.Straight.Map.RMS))},
		{Name: unit.Say("A place for each string leaves"), Say: in.say(cents(got.Compensated.Map.RMS))},
		{Name: unit.Say("Blank it needs, square across its slot"), Say: got.Compensated.Blank.Fine(style)},
		{Name: unit.Say("The same for a slot parallel to the frets"), Say: got.Compensated.BlankSquare.Fine(style)},
	}
	own := make([]unit.Length, n)
	for i := range own {
		own[i] = got.SaddleOnly[i].Saddle
		if got.NutKind == guitar.NutCompensated {
			own[i] = got.NutAndSaddle[i].Saddle
		}
	}
	s := sheet.SaddleInput{Across: got.Across, Own: own, Centre: got.Straight.Centre, Slope: got.Straight.Slope, Nut: got.Nut}
	if got.SaddleKind == guitar.SaddleCompensated {
		s.Centre, s.Slope, s.Blank, s.Compensated = got.Compensated.Centre, got.Compensated.Slope, got.Compensated.Blank, true
	}
	for _, m := range got.Models {
		s.Names = append(s.Names, m.String.Name)
	}
	left := design.Choice("hand") == "left"
	d.Saddle = both("saddle-top", false, func(narrow bool) *drawing.Sheet {
		return sheet.SaddleTop(s, sheet.SaddleOptions{Style: style, Narrow: narrow, LeftHanded: left})
	})
	t := table{Name: "Setback of each string", Head: in.heads("String‖of the guitar", "Saddle alone", "leaves", "Nut", "and saddle", "leaves", "As chosen: nut", "saddle"), Short: true,
		Note: in.tell("Saddle setbacks are counted behind the scale length, nut setbacks toward fret 1. What is left is the root of the mean square over the frets that are tuned for.")}
	for i, m := range got.Models {
		a, b := got.SaddleOnly[i], got.NutAndSaddle[i]
		t.Rows = append(t.Rows, []string{m.String.Name, a.Saddle.Fine(style), in.say(cents(a.RMS)), b.Nut.Fine(style), b.Saddle.Fine(style), in.say(cents(b.RMS)), got.Nut[i].Fine(style), got.Saddle[i].Fine(style)})
	}
	d.Setbacks = t
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

// slanted says how far a saddle is turned from square, and which end of it stands farther back.
func slanted(a unit.Angle) unit.Phrase {
	switch {
	case a < -0.005*unit.Degree:
		return unit.Say("%v, the bass end farther back", -a)
	case a > 0.005*unit.Degree:
		return unit.Say("%v, the treble end farther back", a)
	}
	return unit.Say("%v", unit.Angle(abs(float64(a))))
}

// madeAs says how a string is made.
func madeAs(s stringset.String) unit.Phrase {
	switch {
	case s.Kind == stringset.Wound && s.CoreShape == stringset.HexCore:
		return unit.Say("wound, hex core %v", unit.FineLength(s.CoreDiameter))
	case s.Kind == stringset.Wound:
		return unit.Say("wound, round core %v", unit.FineLength(s.CoreDiameter))
	}
	return unit.Say("plain‖a string")
}

// stringsMap serves GET /guitar/{id}/strings/map: the map alone, for the page's own script.
func stringsMap(in *request) error {
	d, err := in.designOnly()
	if err != nil {
		return err
	}
	got, err := guitar.IntonationOf(d)
	if err != nil {
		return in.render(http.StatusUnprocessableEntity, "strings_part", liveMap{Problems: says(in.missing("", err))})
	}
	m := in.liveMap(d, got, in.URL.Query())
	m.Picture = m.Picture.live(in.URL.Query())
	status := http.StatusOK
	if len(m.Problems) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return in.render(status, "strings_part", m)
}

func says(c cannot) []string {
	var out []string
	for _, p := range c.Missing {
		out = append(out, p.Say)
	}
	return out
}

// designOnly is the design of the guitar in the path, without working out its bench: a slider moves far
// more often than wood comes off.
func (in *request) designOnly() (guitar.Values, error) {
	r, err := in.srv.shop.FindByNameOrID(in.Context(), in.PathValue("id"))
	if err != nil {
		return nil, err
	}
	if r.Guitar.Start == guitar.FromReadings {
		return nil, refuse(http.StatusNotFound, "This guitar is a repair: it has no design.")
	}
	return r.Guitar.Design(), nil
}

// live is a picture as the page's own script asks for it: in one shape, shown whatever the room, and while a
// slider moves without the folded numbers, which take as long to lay out as the drawing. Asked for neither,
// it is whole.
func (p picture) live(q url.Values) picture {
	later := q.Get("numbers") == "later"
	p.Narrow.Later, p.Wide.Later = later, later
	switch q.Get("shape") {
	case "wide":
		p.Narrow.Sheet, p.One = nil, true
	case "narrow":
		p.Wide.Sheet, p.One = nil, true
	}
	return p
}

// liveMap works out every note with the sliders where the address puts them.
func (in *request) liveMap(d guitar.Values, got guitar.Intonation, q url.Values) liveMap {
	style := in.prefs.Units
	s := sliders{query: q, style: style}
	asked := guitar.TrialOf(d, got)
	was := asked
	const mm = unit.MM
	asked.Action.Bass = s.add("bass", unit.Say("action at fret 12, bass"), was.Action.Bass, 0.8*mm, 5*mm, 0.05*mm)
	asked.Action.Treble = s.add("treble", unit.Say("action at fret 12, treble"), was.Action.Treble, 0.8*mm, 5*mm, 0.05*mm)
	asked.Setback = s.add("setback", unit.Say("saddle line behind the scale length"), was.Setback, was.Setback-3*mm, was.Setback+3*mm, 0.05*mm)
	asked.Nut = s.add("nut", unit.Say("string over the frets at the nut"), was.Nut, 0, 1.2*mm, 0.01*mm)
	asked.Relief = s.add("hollow", unit.Say("relief"), was.Relief, 0, 0.6*mm, 0.01*mm)
	out := liveMap{Sliders: s.list, Problems: s.problems}
	m := got.Map
	if s.moved {
		var err error
		if m, err = got.Try(d, asked); err != nil {
			out.Problems = append(out.Problems, says(in.missing("", err))...)
			return out
		}
	}
	out.Do = unit.Say("Notes are off by %v as a rule.", cents(m.RMS))
	if s.moved {
		out.Do = unit.Say("Notes are off by %v as a rule, against %v as designed.", cents(m.RMS), cents(got.Map.RMS))
		out.Why = leaning(m, d, got)
	}
	left := d.Choice("hand") == "left"
	fit := got.Strung[0].FitFrets
	out.Picture = both("cents", false, func(narrow bool) *drawing.Sheet {
		return sheet.CentsMap(m, sheet.CentsOptions{Style: style, Narrow: narrow, LeftHanded: left, Fit: fit})
	})
	return out
}

// leaning says what a moved figure does as a whole: sharp or flat, and which way the saddle would have to go.
func leaning(m stringset.Map, d guitar.Values, got guitar.Intonation) unit.Phrase {
	var sum float64
	n := 0
	for _, r := range m.Rows {
		if k := 12 - r.First; k >= 0 && k < len(r.Cents) {
			sum += r.Cents[k]
			n++
		}
	}
	if n == 0 {
		return unit.Phrase{}
	}
	mean := sum / float64(n)
	// An ideal string's fret 12 falls by 1200/ln 2 × 1/L cents for each length the saddle moves back.
	// source: derived in docs/method/stringset.md
	move := unit.Length(mean / (1731.234 / float64(d.Length("scale_length"))))
	switch {
	case mean > 0.5:
		return unit.Say("At fret 12 the strings are %v sharp on average: the saddle would have to stand about %v farther back.", cents(mean), unit.FineLength(move))
	case mean < -0.5:
		return unit.Say("At fret 12 the strings are %v flat on average: the saddle would have to stand about %v nearer the nut.", cents(-mean), unit.FineLength(-move))
	}
	return unit.Say("At fret 12 the strings are true on average.")
}
