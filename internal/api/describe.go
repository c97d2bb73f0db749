package api

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/shop"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// Summary is one guitar in a list.
type Summary struct {
	ID          string    `json:"id"`
	Name        string    `json:"name"`
	Revision    int64     `json:"revision" doc:"goes up by one with every change; send it back with the next one"`
	Start       string    `json:"start" enum:"design,readings"`
	Changed     time.Time `json:"changed"`
	Waiting     string    `json:"waiting" doc:"step that waits, empty when the guitar is finished"`
	WaitingName string    `json:"waiting_name" doc:"the same in words"`
	Stuck       string    `json:"stuck" doc:"what holds it up, empty when nothing does"`
	Removed     bool      `json:"removed" doc:"it was put away, and can be taken back"`
}

// Guitar is one guitar with everything its record leads to. Lengths are millimetres; sentences are in
// the units asked for.
type Guitar struct {
	Summary
	Basis     string     `json:"basis" doc:"starting design, empty for a repair"`
	Created   time.Time  `json:"created"`
	Design    Figures    `json:"design" doc:"the figures as they stand, each key with its unit"`
	Typed     Typed      `json:"typed" doc:"the same as they were typed, where they were"`
	Aim       *Aim       `json:"aim,omitempty" doc:"what the neck set must come to; left out until it can be known"`
	Budget    *Budget    `json:"budget,omitempty" doc:"how sure the target is; left out for a repair"`
	Lean      *Belief    `json:"lean,omitempty" doc:"gap on the frets at the saddle, all readings joined"`
	Point     *Belief    `json:"point,omitempty" doc:"where the centreline passes at the saddle, + on the treble side"`
	NeckShift float64    `json:"neck_shift_mm" doc:"neck nearer the bridge by all work so far"`
	Cut       *Cut       `json:"cut,omitempty" doc:"the next cut; left out until lean and point are known"`
	Steps     []Step     `json:"steps"`
	Readings  []Reading  `json:"readings"`
	Passes    []Pass     `json:"passes"`
	Log       []LogEntry `json:"log" doc:"everything entered, oldest first; what was undone stays"`
}

// Aim is the target.
type Aim struct {
	SaddleDistance float64   `json:"saddle_distance_mm" doc:"joint to saddle"`
	NutToJoint     *float64  `json:"nut_to_joint_mm,omitempty"`
	SaddleFromNut  *float64  `json:"saddle_from_nut_mm,omitempty"`
	GapOnFrets     float64   `json:"gap_on_frets_mm"`
	GapOnBoard     float64   `json:"gap_on_board_mm"`
	StringHeight   *float64  `json:"string_height_at_saddle_mm,omitempty" doc:"string over the fret line at the saddle"`
	NeckAngle      *float64  `json:"neck_angle_deg,omitempty"`
	HeelToBoard    *float64  `json:"heel_to_board_deg,omitempty"`
	JigRun         *float64  `json:"jig_run_mm,omitempty"`
	JigRise        *float64  `json:"jig_rise_mm,omitempty"`
	Twist          *float64  `json:"twist_mm,omitempty" doc:"repair: side difference of the action that no heel cut cures"`
	Warnings       []Warning `json:"warnings"`
}

// Budget is how sure the target is.
type Budget struct {
	GapSD   float64  `json:"gap_sd_mm" doc:"spread of the gap, to first order"`
	CheckSD float64  `json:"check_sd_mm" doc:"the same from drawn inputs"`
	Trials  int      `json:"trials"`
	Measure []string `json:"measure_better" doc:"the two figures most worth measuring better"`
	Shares  []Share  `json:"shares" doc:"largest first"`
}

// Share is one figure's part in the doubt.
type Share struct {
	Field  string  `json:"field"`
	Label  string  `json:"label"`
	Effect float64 `json:"effect_mm"`
	Part   float64 `json:"part_percent" doc:"of the variance"`
}

// Belief is a figure known from readings.
type Belief struct {
	Mean float64 `json:"mean_mm"`
	SD   float64 `json:"sd_mm"`
}

// Corners are depths at the corners of the heel face.
type Corners struct {
	TopBass   float64 `json:"top_bass"`
	TopTreble float64 `json:"top_treble"`
	CapBass   float64 `json:"cap_bass"`
	CapTreble float64 `json:"cap_treble"`
}

// Cut is the cut the bench asks for now.
type Cut struct {
	Verdict    string    `json:"verdict" enum:"leave,cut,read,past"`
	Leave      bool      `json:"leave"`
	Do         string    `json:"do" doc:"what to do, in words"`
	Why        string    `json:"why"`
	Doubt      string    `json:"doubt"`
	GapNeed    float64   `json:"gap_need_mm" doc:"+ leans back"`
	OffsetNeed float64   `json:"offset_need_mm" doc:"+ swings the head to treble"`
	Planned    Corners   `json:"planned_mm" doc:"depths to take now"`
	Full       Corners   `json:"full_mm" doc:"depths of the whole change, if the readings were sure"`
	Gap        float64   `json:"planned_gap_mm"`
	Offset     float64   `json:"planned_offset_mm"`
	NeckShift  float64   `json:"neck_shift_mm"`
	PastChance float64   `json:"past_chance_percent"`
	Recuts     float64   `json:"recut_expected" doc:"further passes to expect"`
	Tool       string    `json:"tool"`
	Judged     string    `json:"judged" enum:"marks,strokes"`
	Strokes    int       `json:"strokes" doc:"for the planned cut, at the deepest corner"`
	PerStroke  float64   `json:"per_stroke_mm"`
	OwnPasses  int       `json:"rate_from_this_guitar" doc:"passes on this guitar that the rate is learned from"`
	ShopPasses int       `json:"rate_from_other_guitars"`
	Spare      float64   `json:"spare_mm" doc:"wood the shoulders can still lose"`
	TooDeep    bool      `json:"too_deep"`
	Remedies   []Remedy  `json:"remedies"`
	Warnings   []Warning `json:"warnings"`
	Caution    string    `json:"caution"`
}

// Remedy is what else would help.
type Remedy struct {
	Code      string  `json:"code"`
	Say       string  `json:"say"`
	Where     string  `json:"where"`
	Amount    float64 `json:"amount_mm"`
	NeckShift float64 `json:"neck_shift_mm"`
}

// Warning is a doubt beside a figure.
type Warning struct {
	Code    string `json:"code"`
	Field   string `json:"field"`
	Message string `json:"message"`
}

// Step is how one step stands.
type Step struct {
	Step     string     `json:"step"`
	Name     string     `json:"name"`
	Question string     `json:"question"`
	Status   string     `json:"status" enum:"todo,working,again,done"`
	Optional bool       `json:"optional" doc:"the guitar can be finished without it"`
	Do       string     `json:"do"`
	Why      string     `json:"why"`
	Doubt    string     `json:"doubt"`
	Figures  []SaidPair `json:"figures"`
	Other    []Remedy   `json:"other" doc:"what else would help"`
	Caution  string     `json:"caution"`
	LastSeq  int        `json:"last_seq" doc:"entry it was last answered by, 0 for none"`
}

// SaidPair is a labelled figure, written out.
type SaidPair struct {
	Label string `json:"label"`
	Text  string `json:"text"`
}

// Reading is one reading of lean or point as it is used.
type Reading struct {
	Seq      int       `json:"seq"`
	At       time.Time `json:"at"`
	Step     string    `json:"step" enum:"lean,point"`
	Value    float64   `json:"value_mm"`
	SD       float64   `json:"sd_mm"`
	Doubtful bool      `json:"doubtful"`
	Passes   int       `json:"passes" doc:"passes made before it"`
}

// Pass is one cut made.
type Pass struct {
	Seq     int       `json:"seq"`
	At      time.Time `json:"at"`
	Tool    string    `json:"tool"`
	Strokes int       `json:"strokes"`
	Plan    Plan      `json:"plan"`
	Known   bool      `json:"known" doc:"read again since"`
	Ratio   *float64  `json:"ratio,omitempty" doc:"what it did, as a share of the plan"`
	RatioSD *float64  `json:"ratio_sd,omitempty"`
	Depth   *Corners  `json:"depth_mm,omitempty" doc:"wood it took, by the readings"`
}

// Plan is what a cut or shim was meant to do.
type Plan struct {
	Gap       float64 `json:"gap_change_mm"`
	Offset    float64 `json:"offset_change_mm"`
	Depth     Corners `json:"depth_mm"`
	NeckShift float64 `json:"neck_shift_mm"`
	Strokes   int     `json:"strokes"`
}

// LogEntry is one thing entered.
type LogEntry struct {
	Seq    int       `json:"seq"`
	At     time.Time `json:"at"`
	Bench  string    `json:"bench"`
	Step   string    `json:"step"`
	Values Figures   `json:"values"`
	Typed  Typed     `json:"typed"`
	Plan   *Plan     `json:"plan,omitempty"`
	Undone bool      `json:"undone"`
}

// Figures are values by key and unit: "scale_length_mm": 648, "bolt_depths_mm": [31.75, 57.15], "hand": "right".
type Figures map[string]any

// Typed is what was typed, by the field's key.
type Typed map[string][]string

// Schema describes Figures in the served document.
func (Figures) Schema(huma.Registry) *huma.Schema {
	one := &huma.Schema{AnyOf: []*huma.Schema{{Type: huma.TypeNumber}, {Type: huma.TypeString}}}
	return &huma.Schema{Type: huma.TypeObject, AdditionalProperties: &huma.Schema{AnyOf: []*huma.Schema{
		{Type: huma.TypeNumber}, {Type: huma.TypeString}, {Type: huma.TypeArray, Items: one}}}}
}

// Schema describes Typed in the served document.
func (Typed) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeObject, AdditionalProperties: &huma.Schema{Type: huma.TypeArray, Items: &huma.Schema{Type: huma.TypeString}}}
}

// Key is a field's key with the unit its figure is given in.
func Key(f guitar.Field) string {
	switch f.Kind {
	case unit.KindLength:
		return f.Field + "_mm"
	case unit.KindAngle:
		return f.Field + "_deg"
	case unit.KindForce:
		return f.Field + "_n"
	case unit.KindTemperature:
		return f.Field + "_c"
	case unit.KindPercent:
		return f.Field + "_percent"
	}
	return f.Field
}

func inUnit(f guitar.Field, v guitar.Value) any {
	switch f.Kind {
	case unit.KindChoice, unit.KindText:
		return v.Text
	case unit.KindLength:
		return unit.Length(v.SI).MM()
	case unit.KindAngle:
		return unit.Angle(v.SI).Degrees()
	case unit.KindPercent:
		return v.SI * 100
	}
	return v.SI
}

func figures(fields []guitar.Field, v guitar.Values) (Figures, Typed) {
	out, typed := Figures{}, Typed{}
	for _, f := range fields {
		if !v.Has(f.Field) {
			continue
		}
		var list []any
		var texts []string
		for _, x := range v[f.Field] {
			list = append(list, inUnit(f, x))
			texts = append(texts, x.Text)
		}
		if f.Many {
			out[Key(f)] = list
		} else {
			out[Key(f)] = list[0]
		}
		if slices.ContainsFunc(texts, func(t string) bool { return t != "" }) && f.Kind != unit.KindChoice && f.Kind != unit.KindText {
			typed[f.Field] = texts
		}
	}
	return out, typed
}

func corners(c neckset.Corners) Corners {
	return Corners{c.TopBass.MM(), c.TopTreble.MM(), c.CapBass.MM(), c.CapTreble.MM()}
}

func warnings(ws []unit.Warning, s unit.Style) []Warning {
	out := []Warning{}
	for _, w := range ws {
		out = append(out, Warning{w.Code, w.Field, w.Say.In(s)})
	}
	return out
}

func remedies(rs []neckset.Remedy, s unit.Style) []Remedy {
	out := []Remedy{}
	for _, r := range rs {
		out = append(out, Remedy{r.Code, r.Say.In(s), r.Where.In(s), r.Amount.MM(), r.NeckShift.MM()})
	}
	return out
}

func belief(b neckset.Belief) *Belief {
	if !b.Known() {
		return nil
	}
	return &Belief{b.Mean.MM(), b.SD.MM()}
}

func plan(p *guitar.Plan) *Plan {
	if p == nil {
		return nil
	}
	return &Plan{p.GapChange.MM(), p.OffsetChange.MM(), corners(p.Depth), p.Shift.MM(), p.Strokes}
}

// Summarise returns what a list says of one guitar.
func Summarise(v shop.View, s unit.Style) Summary {
	out := Summary{ID: v.Guitar.ID, Name: v.Guitar.Name, Revision: v.Revision, Start: string(v.Guitar.Start), Changed: v.Changed,
		Waiting: string(v.Bench.Waiting), WaitingName: s.Say("finished‖guitar"), Stuck: v.Bench.Stuck.In(s), Removed: v.Removed}
	if g, ok := guitar.FindGuide(v.Bench.Waiting); ok {
		out.WaitingName = g.Name.In(s)
	}
	return out
}

// SureOf returns how sure a guitar's target is, its words for a maker, or nil when it has no design.
func SureOf(v shop.View, s unit.Style) *Budget {
	if v.Bench.Aim.Target == nil {
		return nil
	}
	d := v.Bench.Design
	b, err := shop.Budget(guitar.Build(d), d)
	if err != nil {
		return nil
	}
	out := &Budget{GapSD: b.GapSD.MM(), CheckSD: b.CheckSD.MM(), Trials: b.Trials, Shares: []Share{}, Measure: []string{}}
	for i, sh := range b.Shares {
		label := guitar.PartLabel(sh.Field).In(s)
		out.Shares = append(out.Shares, Share{sh.Field, label, sh.Effect.MM(), sh.Part * 100})
		if i < 2 && sh.Effect > 0 {
			out.Measure = append(out.Measure, label)
		}
	}
	return out
}

func aim(v shop.View, s unit.Style) *Aim {
	a := v.Bench.Aim
	if !a.Known {
		return nil
	}
	out := &Aim{SaddleDistance: a.SaddleDistance.MM(), GapOnFrets: a.GapOnFrets.MM(), GapOnBoard: a.GapOnBoard.MM(), Warnings: warnings(a.Warnings, s)}
	give := func(x float64) *float64 { return &x }
	if t := a.Target; t != nil {
		d := v.Bench.Design
		run := d.Length("jig_run")
		fromNut, _ := guitar.SaddleLine(d, t.NutToJoint)
		out.NutToJoint, out.SaddleFromNut = give(t.NutToJoint.MM()), give(fromNut.MM())
		out.StringHeight, out.NeckAngle = give(t.StringHeightAtSaddle.MM()), give(t.NeckAngle.Degrees())
		out.HeelToBoard, out.JigRun, out.JigRise = give(t.HeelToBoard().Degrees()), give(run.MM()), give(t.Jig(run).MM())
	} else {
		out.Twist = give(a.Twist.MM())
	}
	return out
}

// DescribeCut returns the next cut of a bench, or nil when none can be worked out yet.
func DescribeCut(b guitar.Bench, s unit.Style) *Cut {
	n := b.Cut
	if n == nil {
		return nil
	}
	st := b.Step(guitar.StepCut)
	c := n.Cut
	return &Cut{Verdict: string(c.Verdict), Leave: c.Leave, Do: st.Advice.Do.In(s), Why: st.Advice.Why.In(s), Doubt: st.Advice.Doubt.In(s),
		GapNeed: c.GapNeed.MM(), OffsetNeed: c.OffsetNeed.MM(), Planned: corners(c.Planned), Full: corners(c.Full),
		Gap: c.PlannedGap.MM(), Offset: c.PlannedOffset.MM(), NeckShift: c.PlannedShift.MM(), PastChance: c.PastChance * 100, Recuts: c.RecutExpected,
		Tool: n.Tool.Key, Judged: n.By, Strokes: n.Strokes, PerStroke: n.Rate.PerStroke.MM(), OwnPasses: n.Rate.Own, ShopPasses: n.Rate.Shop,
		Spare: n.Spare.MM(), TooDeep: n.TooDeep, Remedies: remedies(n.Remedies, s), Warnings: warnings(n.Warnings, s), Caution: st.Caution.In(s)}
}

// Describe returns one guitar with everything its record leads to.
func Describe(v shop.View, s unit.Style) Guitar {
	g, b := v.Guitar, v.Bench
	out := Guitar{Summary: Summarise(v, s), Basis: g.Basis, Created: g.Created, Aim: aim(v, s), Budget: SureOf(v, s),
		Lean: belief(b.Lean), Point: belief(b.Point), NeckShift: b.Shift.MM(), Cut: DescribeCut(b, s),
		Steps: []Step{}, Readings: []Reading{}, Passes: []Pass{}, Log: Entries(g, g.Log)}
	out.Design, out.Typed = figures(g.Fields(guitar.StepDesign), b.Design)
	for _, st := range b.Steps {
		x := Step{Step: string(st.Step), Name: st.Name.In(s), Question: st.Question.In(s), Status: string(st.Status), Optional: st.Optional,
			Do: st.Advice.Do.In(s), Why: st.Advice.Why.In(s), Doubt: st.Advice.Doubt.In(s), Figures: []SaidPair{}, Other: remedies(st.Advice.Other, s), Caution: st.Caution.In(s)}
		for _, f := range st.Advice.Figures {
			x.Figures = append(x.Figures, SaidPair{f.Label.In(s), f.Say.In(s)})
		}
		if st.Last != nil {
			x.LastSeq = st.Last.Seq
		}
		out.Steps = append(out.Steps, x)
	}
	for _, r := range b.Readings {
		out.Readings = append(out.Readings, Reading{r.Seq, r.At, string(r.Step), r.Value.MM(), r.SD.MM(), r.Doubtful, r.Passes})
	}
	for _, p := range b.Passes {
		x := Pass{Seq: p.Seq, At: p.At, Tool: p.Values.Choice("tool"), Strokes: p.Values.Count("strokes"), Plan: *plan(p.Plan), Known: p.Known}
		if p.Known && !math.IsInf(p.RatioSD, 0) {
			d := corners(p.Depth)
			x.Ratio, x.RatioSD, x.Depth = &p.Ratio, &p.RatioSD, &d
		}
		out.Passes = append(out.Passes, x)
	}
	return out
}

// Entries describes entries of a guitar's log.
func Entries(g guitar.Guitar, es []guitar.Entry) []LogEntry {
	out := []LogEntry{}
	for _, e := range es {
		x := LogEntry{Seq: e.Seq, At: e.At, Bench: e.Bench, Step: string(e.Step), Plan: plan(e.Plan), Undone: e.Undone}
		x.Values, x.Typed = figures(g.Fields(e.Step), e.Values)
		out = append(out, x)
	}
	return out
}

// FieldInfo is one field that can be given.
type FieldInfo struct {
	Field    string   `json:"field" doc:"its key in a request"`
	Label    string   `json:"label"`
	Help     string   `json:"help"`
	Kind     string   `json:"kind" enum:"length,angle,force,temperature,count,ratio,percent,cents,choice,text"`
	Unit     string   `json:"unit" doc:"what a bare number means, empty for none"`
	Min      *float64 `json:"min,omitempty" doc:"in that unit"`
	Max      *float64 `json:"max,omitempty"`
	Required bool     `json:"required"`
	Many     bool     `json:"many" doc:"takes several readings"`
	Flat     bool     `json:"flat" doc:"a radius that may be given as flat"`
	Choices  []Choice `json:"choices"`
	Group    string   `json:"group"`
}

// Choice is one word to choose.
type Choice struct {
	Key  string `json:"key"`
	Name string `json:"name"`
}

var kinds = map[unit.Kind][2]string{
	unit.KindLength: {"length", "mm"}, unit.KindAngle: {"angle", "deg"}, unit.KindForce: {"force", "n"}, unit.KindCount: {"count", ""},
	unit.KindRatio: {"ratio", ""}, unit.KindPercent: {"percent", "percent"}, unit.KindCents: {"cents", "cents"}, unit.KindTemperature: {"temperature", "c"}, unit.KindChoice: {"choice", ""}, unit.KindText: {"text", ""},
}

// DescribeField returns what a request needs to know of a field, its words in a language.
func DescribeField(f guitar.Field, s unit.Style) FieldInfo {
	out := FieldInfo{Field: f.Field, Label: f.Label.In(s), Help: f.Help.In(s), Kind: kinds[f.Kind][0], Unit: kinds[f.Kind][1],
		Required: f.Required, Many: f.Many, Flat: f.Flat, Choices: []Choice{}, Group: f.Group.In(s)}
	for _, c := range f.Choices {
		out.Choices = append(out.Choices, Choice{c.Key, c.Name.In(s)})
	}
	if f.Kind != unit.KindChoice && f.Kind != unit.KindText {
		lo, hi := bound(f, f.Min), bound(f, f.Max)
		out.Min, out.Max = &lo, &hi
	}
	return out
}

// bound writes a limit in the field's unit, without the last digits the conversion leaves.
func bound(f guitar.Field, si float64) float64 {
	v, _ := inUnit(f, guitar.Value{SI: si}).(float64)
	return math.Round(v*1e9) / 1e9
}

func describeFields(fs []guitar.Field, s unit.Style) []FieldInfo {
	out := []FieldInfo{}
	for _, f := range fs {
		out = append(out, DescribeField(f, s))
	}
	return out
}

// JSON writes v as the API does: indented by two, no HTML escapes.
func JSON(v any) ([]byte, error) { return json.MarshalIndent(v, "", "  ") }
