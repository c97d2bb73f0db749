package guitar

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"fairset/craft/neckset"
	"fairset/craft/stringset"
	"fairset/unit"
)

// Headings of the optional figures about strings.
const (
	groupStrings    = "Strings, one by one"
	groupIntonation = "Intonation"
)

// mostStrings is how many strings a design has fields for.
const mostStrings = 12

// Kinds of string as the form offers them.
const (
	kindPlain      = "plain"
	kindRoundCore  = "wound-round"
	kindHexCore    = "wound-hex"
	kindNylon      = "nylon"
	kindWoundNylon = "nylon-wound"
)

// A bundle of filaments as a core, where nothing was measured of it; the starting sets' own assumptions, no source.
const (
	woundNylonFill    = 0.8
	woundNylonBending = 0.05
)

// SaddleStraight and the rest are the choices for saddle_kind and nut_kind.
const (
	SaddleStraight    = "straight"
	SaddleCompensated = "compensated"
	NutPlain          = "plain"
	NutCompensated    = "compensated"
)

// stringField makes one string's field; strings count from the bass.
func stringField(n int, f Field) Field {
	f.OfString = n
	f.Field = StringKey(n, f.Field)
	f.Label = unit.Say("string %d from the bass, %v", n, f.Label)
	return f
}

// StringKey is the key of one string's figure: "string3_gauge". Strings count from 1, the bass.
func StringKey(n int, what string) string { return "string" + strconv.Itoa(n) + "_" + what }

func stringFields() []Field {
	var sets, tunings []Choice
	for _, s := range stringset.Sets() {
		sets = append(sets, Choice{s.Key, unit.Say(s.Name)})
	}
	for _, t := range stringset.Tunings() {
		tunings = append(tunings, Choice{t.Key, unit.Say("%v, %d strings", t.Name, len(t.Notes))})
	}
	out := []Field{
		choice("string_set", "starting set", groupStrings, "Gauges to begin from, under a general name. Any string can be given its own figures below.", sets...),
		choice("tuning", "tuned to", groupStrings, "Leave empty for each string's own note.", tunings...),
		scalar(unit.KindRatio, "a4", "pitch of A4 in Hz", groupStrings, 380, 480, 0, "Leave empty for 440."),
		scalar(unit.KindCount, "capo", "capo often used at fret", groupStrings, 0, 20, 0, "The saddle is set for the open guitar and then tried with the capo there."),
	}
	for n := 1; n <= mostStrings; n++ {
		for _, f := range []Field{
			choice("kind", "kind", groupStrings, "Leave empty for the set's.", Choice{kindPlain, unit.Say("plain steel")}, Choice{kindRoundCore, unit.Say("wound on a round core")}, Choice{kindHexCore, unit.Say("wound on a hexagonal core")}, Choice{kindNylon, unit.Say("plain nylon")}, Choice{kindWoundNylon, unit.Say("wound on nylon")}),
			length("gauge", "gauge", groupStrings, 0.1, 4, 0, "Thickness over all, as on the packet. Leave empty for the set's."),
			length("core", "core", groupStrings, 0.05, 3, 0, "Of a wound string: the core's thickness, across the flats of a hexagonal one. Leave empty for the set's, grown with the gauge."),
			scalar(unit.KindText, "note", "note", groupStrings, 0, 0, 0, "The note the string is made for, with its octave: E2, F#3, Bb2. Leave empty for the set's."),
			scalar(unit.KindForce, "tension", "pull printed on the packet", groupStrings, 5, 500, 0, "At the string's own note. Give the length it is printed for too."),
			length("at", "length the pull is printed for", groupStrings, 200, 1200, 0, "Packets say it beside the pull: often 25 1/2 in, or 650 mm."),
			scalar(unit.KindRatio, "mass", "mass in grams per metre", groupStrings, 0.01, 100, 0, "As printed or weighed; instead of the pull."),
		} {
			out = append(out, stringField(n, f))
		}
	}
	return out
}

func intonationFields() []Field {
	return []Field{
		choice("saddle_kind", "saddle", groupIntonation, "A straight slanted saddle serves all strings as well as one line can; a compensated one has a place for each.", Choice{SaddleStraight, unit.Say("straight, slanted")}, Choice{SaddleCompensated, unit.Say("compensated, a place for each string")}),
		choice("nut_kind", "nut", groupIntonation, "A compensated nut moves each string's edge a little toward fret 1.", Choice{NutPlain, unit.Say("plain, at its line")}, Choice{NutCompensated, unit.Say("compensated for each string")}),
		length("saddle_land", "saddle left outside the break points", groupIntonation, 0, 5, 0, "Width to keep on both sides of the outermost places of a compensated saddle. Leave empty for 0.5 mm."),
		choice("ends", "strings held at nut and saddle", groupIntonation, "", Choice{string(stringset.Continuous), unit.Say("running on over an edge")}, Choice{string(stringset.Clamped), unit.Say("gripped at both ends")}, Choice{string(stringset.ClampedPinned), unit.Say("gripped at one end, hinged at the other")}, Choice{string(stringset.Pinned), unit.Say("hinged at both ends")}).helped(stringset.WhyDefault()),
		length("beyond", "string past nut and saddle", groupIntonation, 0, 1000, 0, "Both ends together, as far as it shares the stretch. Leave empty for 150 mm."),
		length("press", "finger presses below the crown by", groupIntonation, 0, 2, 0, "Leave empty for 0.1 mm, a light touch."),
		length("finger", "finger behind the fret", groupIntonation, 0, 60, 0, "Leave empty for the middle between the frets."),
		scalar(unit.KindCount, "fit_frets", "tune the saddle over frets 1 to", groupIntonation, 1, 30, 0, "Leave empty for 12."),
	}
}

// Strings is a guitar's set as it is tuned, bass first.
type Strings struct {
	Set     string // key of the starting set; "" when every string was given by itself
	Tuning  stringset.Tuning
	A4      unit.Frequency
	Notes   []stringset.Note   // of the open strings
	Scales  []unit.Length      // each string's own; all alike but on a multi-scale board
	List    []stringset.String // as tuned
	Balance stringset.Balance
	// Sources says for each string where its figures come from.
	Sources  []string
	Warnings []unit.Warning
}

// HasStrings reports whether a design says what its strings are, well or not.
func HasStrings(d Values) bool {
	return d.Has("string_set") || d.Has(StringKey(1, "gauge"))
}

// StringSetUp works out a design's strings: mass, pull and stiffness of each, and the balance of them all.
//
// Precedence: a string's own figures go before the set's, a packet's before those of its make; a tuning goes
// before the strings' own notes. Errors are Problems naming the fields to fill or to mend.
func StringSetUp(d Values) (Strings, error) {
	s, err := stringsOf(d)
	if err != nil {
		return Strings{}, err
	}
	s.Balance, s.Warnings, err = stringset.PullsAt(s.List, s.Scales)
	if err != nil {
		return Strings{}, designError(d, err)
	}
	s.Warnings = designWarnings(s.Warnings)
	return s, nil
}

// stringsOf reads the strings of a design without working out their pull.
func stringsOf(d Values) (Strings, error) {
	if !HasStrings(d) {
		return Strings{}, Problems{needed("string_set", "choose a starting set, or give every string's gauge and note")}
	}
	count := d.Count("strings")
	out := Strings{Set: d.Choice("string_set"), A4: stringset.ConcertA}
	if d.Has("a4") {
		out.A4 = unit.Frequency(d.Ratio("a4"))
	}
	var set stringset.Set
	if out.Set != "" {
		var err error
		if set, err = stringset.FindSet(out.Set); err != nil {
			return Strings{}, designError(d, err)
		}
	}
	var problems Problems
	own := make([]stringset.Note, 0, count)
	for n := 1; n <= count; n++ {
		one := oneString{d: d, n: n, a4: out.A4}
		if n <= len(set.Strings) {
			one.base, one.note, one.source = &set.Strings[n-1], set.Notes.Notes[n-1], set.Sources[n-1]
		}
		s, source := one.read()
		problems = append(problems, one.problems...)
		out.List, out.Sources = append(out.List, s), append(out.Sources, source)
		own = append(own, one.note)
	}
	if len(set.Strings) > count {
		problems = append(problems, wrong(d, "string_set", "it has %d strings and the guitar %d", len(set.Strings), count))
	}
	out.Notes = own
	if key := d.Choice("tuning"); key != "" {
		t, err := stringset.FindTuning(key)
		switch {
		case err != nil:
			return Strings{}, designError(d, err)
		case len(t.Notes) != count:
			problems = append(problems, wrong(d, "tuning", "it has %d notes and the guitar %d strings: choose another, or leave it empty and give the notes string by string", len(t.Notes), count))
		default:
			out.Tuning, out.Notes = t, slices.Clone(t.Notes)
		}
	}
	if len(problems) > 0 {
		return Strings{}, problems
	}
	for i := range out.List {
		out.List[i].Name = out.Notes[i].String()
		out.List[i].Pitch = out.Notes[i].Frequency(out.A4)
	}
	scales, err := scalesOf(d, out.List)
	if err != nil {
		return Strings{}, err
	}
	out.Scales = scales
	return out, nil
}

// oneString reads one string's fields over what the set says of it.
type oneString struct {
	d        Values
	n        int
	a4       unit.Frequency
	base     *stringset.String // nil when the set has no such string
	note     stringset.Note
	source   string
	problems Problems
}

func (o *oneString) key(what string) string { return StringKey(o.n, what) }

func (o *oneString) need(what string, why unit.Text) {
	o.problems = append(o.problems, needed(o.key(what), why))
}

func (o *oneString) bad(what string, why unit.Text, args ...any) {
	o.problems = append(o.problems, wrong(o.d, o.key(what), why, args...))
}

// kindOf says which of the form's kinds a string is.
func kindOf(s stringset.String) string {
	nylon := s.Density < 3000
	switch {
	case s.Kind == stringset.Plain && nylon:
		return kindNylon
	case s.Kind == stringset.Plain:
		return kindPlain
	case nylon:
		return kindWoundNylon
	case s.CoreShape == stringset.HexCore:
		return kindHexCore
	}
	return kindRoundCore
}

func (o *oneString) read() (stringset.String, string) {
	d := o.d
	if text := d.Choice(o.key("note")); text != "" {
		n, err := stringset.ParseNote(text)
		if err != nil {
			o.bad("note", "a note is a letter with its octave: E2, F#3, Bb2")
		}
		o.note = n
	} else if o.base == nil {
		o.need("note", "the set has no such string: give its note")
	}
	var s stringset.String
	kind := d.Choice(o.key("kind"))
	given := kind != "" || d.Has(o.key("gauge")) || d.Has(o.key("core"))
	source := o.source
	switch {
	case o.base != nil && (kind == "" || kind == kindOf(*o.base)):
		s = *o.base
		o.regauge(&s)
		if given {
			source = "as typed, over the set's"
		}
	case kind == "":
		o.need("kind", "the set has no such string: say what it is")
		return s, ""
	default:
		s = o.fresh(kind)
		source = "as typed"
	}
	tension, at, mass := d.Has(o.key("tension")), d.Has(o.key("at")), d.Has(o.key("mass"))
	switch {
	case tension && mass:
		o.bad("mass", "give the packet's pull or the mass, not both")
	case tension && !at:
		o.need("at", "a packet's pull holds for a length: give that too")
	case at && !tension:
		o.need("tension", "the length alone says nothing: give the pull printed for it")
	case tension:
		// Packets print for A4 = 440 Hz.
		s.Printed = stringset.Printed{Tension: d.Force(o.key("tension")), Length: d.Length(o.key("at")), Pitch: o.note.Frequency(stringset.ConcertA)}
		source = "pull as printed on the packet; " + source
	case mass:
		s.Mass = stringset.LineMass(d.Ratio(o.key("mass")) / 1000)
		source = "mass as given; " + source
	}
	return s, source
}

// regauge puts another gauge or core on a string of the set; a core that is not given grows with the gauge.
func (o *oneString) regauge(s *stringset.String) {
	gauge, core := o.d.Length(o.key("gauge")), o.d.Length(o.key("core"))
	plain := s.Kind == stringset.Plain
	if plain && core != 0 {
		o.bad("core", "a plain string has no core: leave it empty, or say that the string is wound")
		return
	}
	grown := 1.0
	if gauge != 0 {
		grown = float64(gauge / s.Diameter)
		s.Diameter = gauge
		s.CoreDiameter *= unit.Length(grown)
	}
	if core != 0 {
		grown *= float64(core / s.CoreDiameter)
		s.CoreDiameter = core
	}
	// Bending stiffness goes as the fourth power of thickness.
	s.MeasuredBending *= stringset.Bending(math.Pow(grown, 4))
	if steel(*s) {
		thickness := s.Diameter
		if !plain {
			thickness = s.CoreDiameter
		}
		*s = of(*s, "music-wire", thickness)
	}
}

func steel(s stringset.String) bool { return s.Density > 7000 }

// of makes a string, or its core, of a material of the table.
func of(s stringset.String, material string, thickness unit.Length) stringset.String {
	m, err := stringset.FindMaterial(material, thickness)
	if err != nil {
		panic(err) // our own table
	}
	s.Density, s.Young, s.YoungSlope = m.Density, m.Young, m.YoungSlope
	return s
}

// fresh makes a string of a kind the set does not have in its place. Steel is wrapped in phosphor bronze,
// nylon in silver-plated copper: common practice, no source.
func (o *oneString) fresh(kind string) stringset.String {
	s := stringset.String{Kind: stringset.Plain, Diameter: o.d.Length(o.key("gauge"))}
	if s.Diameter == 0 {
		o.need("gauge", "the set has no such string: give its gauge")
	}
	wrap := ""
	switch kind {
	case kindPlain:
		s = of(s, "music-wire", s.Diameter)
	case kindNylon:
		s = of(s, "nylon", s.Diameter)
	case kindRoundCore, kindHexCore:
		s.CoreShape, wrap = stringset.RoundCore, "phosphor-bronze"
		if kind == kindHexCore {
			s.CoreShape = stringset.HexCore
		}
	case kindWoundNylon:
		s.CoreShape, wrap = stringset.RoundCore, "silver-plated-copper"
		s.CoreFill, s.BendingFactor = woundNylonFill, woundNylonBending
	}
	if wrap == "" {
		if o.d.Has(o.key("core")) {
			o.bad("core", "a plain string has no core: leave it empty, or say that the string is wound")
		}
		return s
	}
	s.Kind = stringset.Wound
	if s.CoreDiameter = o.d.Length(o.key("core")); s.CoreDiameter == 0 {
		o.need("core", "a wound string needs its core's thickness; about a third to a half of the gauge is common")
	}
	core := "music-wire"
	if kind == kindWoundNylon {
		core = "nylon-floss"
	}
	s = of(s, core, s.CoreDiameter)
	m, err := stringset.FindMaterial(wrap, 0)
	if err != nil {
		panic(err) // our own table
	}
	s.WrapDensity = m.Density
	return s
}

// under puts a string's number before the field an error names.
func under(err error, i int) error {
	var re *unit.RangeError
	if errors.As(err, &re) {
		e := *re
		e.Field = fmt.Sprintf("strings[%d].%s", i, re.Field)
		return &e
	}
	return err
}

// Intonation is where a guitar wants its saddle and nut, and what every note on the board then comes to.
type Intonation struct {
	Strings
	Strung []stringset.Strung // each string in its place
	Models []*stringset.Model
	Across []unit.Length // at the saddle, from the centreline, + treble

	SaddleOnly   []stringset.Setback // each string's best, nut at its line
	NutAndSaddle []stringset.Setback
	Bare         stringset.Map // cents of every note with no setback anywhere
	Straight     stringset.Straight
	Compensated  stringset.Compensated

	SaddleKind, NutKind string
	Nut, Saddle         []unit.Length // as chosen, by the kinds of nut and saddle
	Map                 stringset.Map // cents of every note as chosen
	Centre              unit.Length   // setback of the saddle on the centreline: what the neck set goes by
	Why                 unit.Phrase   // why the ends are taken as they are
	Warnings            []unit.Warning
}

// IntonationOf works out the saddle and nut of a design. Relief is the strung one, as typed or as the neck
// comes to. Errors are Problems naming the fields to fill or to mend.
func IntonationOf(d Values) (Intonation, error) {
	r, err := solveOn(d, nil)
	if err != nil {
		return Intonation{}, err
	}
	if r.Intonation != nil {
		return *r.Intonation, nil
	}
	return intonation(d, setting{action: actionWanted(d), relief: r.Build.Relief})
}

// setting is how high the strings of a guitar lie.
type setting struct {
	action neckset.Sides
	nut    *neckset.Sides // string over the line of the fret tops; nil: as the design has it
	relief unit.Length
}

func actionWanted(d Values) neckset.Sides {
	return neckset.Sides{Bass: d.Length("action_bass"), Treble: d.Length("action_treble")}
}

// strungAt puts the strings of a design over the board at a setting.
func strungAt(d Values, s Strings, across []unit.Length, set setting) ([]stringset.Strung, error) {
	base := stringset.DefaultSetup()
	base.Frets, base.ReliefEndFret = d.Count("frets"), d.Count("joint_fret")
	base.Relief = set.relief
	base.FitFrets = min(base.FitFrets, base.Frets)
	if d.Has("ends") {
		base.Ends = stringset.Ends(d.Choice("ends"))
	}
	if d.Has("beyond") {
		base.Beyond = d.Length("beyond")
	}
	if d.Has("press") {
		base.Press = d.Length("press")
	}
	if d.Has("finger") {
		base.Finger = d.Length("finger")
	}
	if d.Has("fit_frets") {
		base.FitFrets = d.Count("fit_frets")
	}
	nut := neckset.Sides{Bass: d.Length("nut_height"), Treble: d.Length("nut_height")}
	if set.nut != nil {
		nut = *set.nut
	}
	out := make([]stringset.Strung, len(s.List))
	for i := range s.List {
		share := shareAcross(across, i)
		one := base
		one.ScaleLength = s.Scales[i]
		one.NutHeight = between(nut, share)
		h, err := one.SaddleHeightFor(between(set.action, share))
		if err != nil {
			return nil, designError(d, under(err, i))
		}
		one.SaddleHeight = h
		out[i] = stringset.Strung{String: s.List[i], Setup: one, Across: across[i]}
	}
	return out, nil
}

// shareAcross is how far a string stands from the bass string toward the treble one, 0 to 1.
func shareAcross(across []unit.Length, i int) float64 {
	run := across[len(across)-1] - across[0]
	if run == 0 {
		return 0.5
	}
	return float64((across[i] - across[0]) / run)
}

func between(s neckset.Sides, share float64) unit.Length {
	return s.Bass + (s.Treble-s.Bass)*unit.Length(share)
}

func intonation(d Values, set setting) (Intonation, error) {
	s, err := StringSetUp(d)
	if err != nil {
		return Intonation{}, err
	}
	out := Intonation{Strings: s, SaddleKind: d.Choice("saddle_kind"), NutKind: d.Choice("nut_kind"), Why: stringset.WhyDefault()}
	if out.Across, err = acrossSaddle(d, s.List); err != nil {
		return Intonation{}, err
	}
	if out.Strung, err = strungAt(d, s, out.Across, set); err != nil {
		return Intonation{}, err
	}
	fail := func(err error) (Intonation, error) { return Intonation{}, designError(d, err) }
	models, warns, err := stringset.Strings(out.Strung)
	if err != nil {
		return fail(err)
	}
	out.Models, out.Warnings = models, append(slices.Clone(s.Warnings), designWarnings(warns)...)
	if out.SaddleKind == "" {
		out.SaddleKind = SaddleStraight
	}
	if out.NutKind == "" {
		out.NutKind = NutPlain
	}
	if d.Has("ends") && d.Choice("ends") != string(stringset.DefaultSetup().Ends) {
		out.Why = unit.Say("The ends are taken as you said.")
	}
	nutToo := out.NutKind == NutCompensated
	out.Nut = make([]unit.Length, len(models))
	for i, m := range models {
		only, both := m.SaddleOnly(), m.NutAndSaddle()
		out.SaddleOnly, out.NutAndSaddle = append(out.SaddleOnly, only), append(out.NutAndSaddle, both)
		best := only
		if nutToo {
			best = both
			out.Nut[i] = both.Nut
		}
		out.Warnings = append(out.Warnings, namedWarnings(best.Doubts(), StringKey(i+1, "gauge"))...)
	}
	if out.Bare, err = stringset.Board(models, nil, nil); err != nil {
		return fail(err)
	}
	if out.Straight, err = stringset.StraightSaddle(models, out.Across, out.Nut); err != nil {
		return fail(err)
	}
	edge := 0.5 * unit.MM
	if d.Has("saddle_land") {
		edge = d.Length("saddle_land")
	}
	if out.Compensated, err = stringset.CompensatedSaddle(models, out.Across, nutToo, edge); err != nil {
		return fail(err)
	}
	out.Saddle, out.Map, out.Centre = out.Straight.Saddle, out.Straight.Map, out.Straight.Centre
	if out.SaddleKind == SaddleCompensated {
		out.Nut, out.Saddle, out.Map, out.Centre = out.Compensated.Nut, out.Compensated.Saddle, out.Compensated.Map, out.Compensated.Centre
	}
	return out, nil
}

// Trial is a setting to try on a guitar whose nut and saddle stay where they are.
type Trial struct {
	Action  neckset.Sides // over fret 12
	Nut     unit.Length   // string over the line of the fret tops
	Relief  unit.Length
	Setback unit.Length // of the saddle on the centreline; its slant and steps are kept
}

// TrialOf is the setting a design asks for, to change one figure of.
func TrialOf(d Values, in Intonation) Trial {
	t := Trial{Action: actionWanted(d), Nut: d.Length("nut_height"), Setback: in.Centre}
	if len(in.Strung) > 0 {
		t.Relief = in.Strung[0].Relief
	}
	return t
}

// Try returns the cents of every note at another setting, nut and saddle line kept but for the trial's own
// setback. Errors name the design's fields.
func (in Intonation) Try(d Values, t Trial) (stringset.Map, error) {
	nut := neckset.Sides{Bass: t.Nut, Treble: t.Nut}
	strung, err := strungAt(d, in.Strings, in.Across, setting{action: t.Action, nut: &nut, relief: t.Relief})
	if err != nil {
		return stringset.Map{}, err
	}
	models, _, err := stringset.Strings(strung)
	if err != nil {
		return stringset.Map{}, designError(d, err)
	}
	saddle := slices.Clone(in.Saddle)
	for i := range saddle {
		saddle[i] += t.Setback - in.Centre
	}
	m, err := stringset.Board(models, in.Nut, saddle)
	if err != nil {
		return stringset.Map{}, designError(d, err)
	}
	return m, nil
}

// Rescore plays the guitar with capos and in other tunings, nut and saddle as chosen; the design's own capo
// comes right after the guitar as it is tuned.
func (in Intonation) Rescore(d Values) ([]stringset.Score, []unit.Warning, error) {
	occasions := stringset.Occasions(len(in.List))
	if n := d.Count("capo"); n > 0 && !slices.ContainsFunc(occasions, func(o stringset.Occasion) bool { return o.Capo.Fret == n }) {
		occasions = slices.Insert(occasions, 1, stringset.Occasion{Name: unit.Say("capo at fret %d", n), Capo: stringset.Capo{Fret: n, Press: 0.2 * unit.MM}})
	}
	occasions = slices.DeleteFunc(occasions, func(o stringset.Occasion) bool { return o.Capo.Fret >= d.Count("frets") })
	scores, warns, err := stringset.Rescore(in.Strung, in.Nut, in.Saddle, in.A4, occasions)
	if err != nil {
		return nil, nil, designError(d, err)
	}
	return scores, designWarnings(warns), nil
}

// needed is a problem with a field that was left empty.
func needed(key string, why unit.Text) *unit.RangeError {
	f, _ := find(designFields, key)
	return &unit.RangeError{Limit: f.Limit, Found: unit.Say("left empty"), Value: math.NaN(), Why: unit.Say(why), Choices: f.choiceKeys()}
}

// wrong is a problem with a field that was given.
func wrong(d Values, key string, why unit.Text, args ...any) *unit.RangeError {
	f, _ := find(designFields, key)
	e := &unit.RangeError{Limit: f.Limit, Found: unit.Say("left empty"), Value: math.NaN(), Why: unit.Say(why, args...)}
	if len(d[key]) > 0 {
		e.Got, e.Found = f.Write(d[key][0], unit.Millimetre), unit.Phrase{}
	}
	return e
}

// lacking names every field of keys that was left empty.
func lacking(d Values, why unit.Text, keys ...string) Problems {
	var out Problems
	for _, k := range keys {
		if !d.Has(k) {
			out = append(out, needed(k, why))
		}
	}
	return out
}

var reOne = regexp.MustCompile(`^strings\[(\d+)\]\.(.+)$`)

// ofString and ofDesign say which field of the form a figure of the sums comes from, where the names differ.
var (
	ofString = map[string]string{"diameter": "gauge", "core_diameter": "core", "core_shape": "kind", "kind": "kind", "density": "kind", "young": "kind", "wrap_density": "kind", "core_fill": "kind", "bending_factor": "kind", "bending": "kind",
		"pitch": "note", "mu": "mass", "printed_tension": "tension", "printed_length": "at", "printed_pitch": "note"}
	ofDesign = map[string]string{"saddle_height": "action_bass", "action12": "action_bass", "action12.bass": "action_bass", "action12.treble": "action_treble", "action12_sides.bass": "action_bass", "action12_sides.treble": "action_treble",
		"nut_height.bass": "nut_height", "nut_height.treble": "nut_height", "nut_height_sides.bass": "nut_height", "nut_height_sides.treble": "nut_height", "saddle_projection_sides.bass": "saddle_projection", "saddle_projection_sides.treble": "saddle_projection",
		"relief_end_fret": "joint_fret", "set": "string_set", "gauge": "string_set", "gauges": "string_set", "saddle": "saddle_setback", "nut": "nut_kind", "across": "saddle_spread", "edge": "saddle_land",
		"tension": "string_tension", "stations": "neck_width_nut", "stations[0].width": "neck_width_nut", "stations[0].depth": "neck_depth_nut", "stations[1].width": "neck_width_joint", "stations[1].depth": "neck_depth_joint", "stations[1].at": "joint_fret",
		"fold_stiffness": "joint_stiffness", "fullness": "neck_fullness", "channel_width": "rod_channel_width", "channel_depth": "rod_channel_depth",
		"nut_width": "neck_width_nut", "board_width": "neck_width_joint", "board_width_fret": "joint_fret", "nut_radius": "board_radius_nut", "end_radius": "board_radius_end", "spacing": "string_spacing", "overhang": "wire_overhang", "tang_clearance": "tang_room"}
)

// designKey finds the field of the form that a figure of the sums comes from, "" if none.
func designKey(field string) string {
	if m := reOne.FindStringSubmatch(field); m != nil {
		i, _ := strconv.Atoi(m[1])
		if w, ok := ofString[m[2]]; ok {
			return StringKey(i+1, w)
		}
		field = m[2]
	}
	if k, ok := ofDesign[field]; ok {
		return k
	}
	if _, ok := find(designFields, field); ok {
		return field
	}
	return ""
}

// designError turns an error of the sums into Problems that name the form's fields.
func designError(d Values, err error) error {
	var re *unit.RangeError
	if !errors.As(err, &re) {
		return err
	}
	e := *re
	if key := designKey(re.Field); key != "" {
		f, _ := find(designFields, key)
		e.Field, e.Label = key, f.Label
		if !re.Label.Empty() && e.Why.Empty() && !re.Label.Same(f.Label) && ofDesign[re.Field] != "" {
			e.Label = unit.Say("%v (%v)", f.Label, re.Label)
		}
	}
	return Problems{&e}
}

func designWarnings(ws []unit.Warning) []unit.Warning {
	out := slices.Clone(ws)
	for i := range out {
		if key := designKey(out[i].Field); key != "" {
			out[i].Field = key
		}
	}
	return out
}

func namedWarnings(ws []unit.Warning, key string) []unit.Warning {
	out := slices.Clone(ws)
	for i := range out {
		out[i].Field = key
	}
	return out
}
