package guitar

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"time"

	"fairset/craft/climate"
	"fairset/craft/neckset"
	"fairset/unit"
)

// The guitar file: one guitar, or a whole shop, as JSON. Lengths carry their unit in the key. The schema
// is published beside the manual; a file of a newer version is refused and left alone.
const (
	FileFormat  = "fairset.guitar"
	ShopFormat  = "fairset.shop"
	FileVersion = 1
	// ShopVersion is that of a shop file with the shop's air in it; one without is of FileVersion, which older
	// programs read as well.
	ShopVersion = 2
	// MaxFile bounds a file that is read, in bytes.
	MaxFile = 64 << 20
	// maxGuitars bounds the guitars of one shop file.
	maxGuitars = 10000
)

// FileError says why a guitar file cannot be used, and where in it.
type FileError struct {
	Where string // by the file's own keys: "guitars[2].log[4].values.gap"; "" for the file as a whole
	Line  int    // of a file that is not well formed; 0 else
	Why   unit.Phrase
	Newer bool // a newer program wrote it; the file itself is sound
}

func (e *FileError) Error() string { return e.In(unit.Millimetre) }

// At is Where, or the line as "line 3".
func (e *FileError) At() string {
	if e.Line > 0 {
		return fmt.Sprintf("line %d", e.Line)
	}
	return e.Where
}

// In writes the error for a maker.
func (e *FileError) In(s unit.Style) string {
	switch {
	case e.Line > 0:
		return s.Say("guitar file: line %d: %v", e.Line, e.Why)
	case e.Where == "":
		return s.Say("guitar file: %v", e.Why)
	}
	return s.Say("guitar file: %s: %v", e.Where, e.Why)
}

type fileJSON struct {
	Format  string             `json:"format"`
	Version int                `json:"version"`
	Guitar  *guitarJSON        `json:"guitar,omitempty"`
	Guitars *[]json.RawMessage `json:"guitars,omitempty"`
	Air     []string           `json:"air_csv,omitempty"`
}

type guitarJSON struct {
	ID      string                     `json:"id,omitempty"`
	Name    string                     `json:"name"`
	Start   Start                      `json:"start"`
	Basis   string                     `json:"basis,omitempty"`
	Created *time.Time                 `json:"created"`
	First   map[string]json.RawMessage `json:"first"`
	Log     []json.RawMessage          `json:"log"`
}

type entryJSON struct {
	Seq    int                        `json:"seq"`
	At     *time.Time                 `json:"at"`
	Bench  string                     `json:"bench,omitempty"`
	Step   Step                       `json:"step"`
	Values map[string]json.RawMessage `json:"values"`
	Plan   *planJSON                  `json:"plan,omitempty"`
	Undone bool                       `json:"undone,omitempty"`
}

type planJSON struct {
	GapChange    *lengthMM    `json:"gap_change_mm"`
	OffsetChange *lengthMM    `json:"offset_change_mm"`
	Depth        *cornersJSON `json:"depth_mm"`
	Shift        *lengthMM    `json:"neck_shift_mm"`
	SD           *float64     `json:"sd_fraction"`
	Risk         *float64     `json:"risk_fraction"`
	Strokes      int          `json:"strokes,omitempty"`
}

type cornersJSON struct {
	TopBass   *lengthMM `json:"top_bass"`
	TopTreble *lengthMM `json:"top_treble"`
	CapBass   *lengthMM `json:"cap_bass"`
	CapTreble *lengthMM `json:"cap_treble"`
}

// valueJSON carries one figure under the key of its unit; choices and notes carry only text.
type valueJSON struct {
	Typed   string  `json:"typed,omitempty"`
	MM      decimal `json:"mm,omitempty"`
	Deg     decimal `json:"deg,omitempty"`
	N       decimal `json:"n,omitempty"`
	C       decimal `json:"c,omitempty"`
	Cents   decimal `json:"cents,omitempty"`
	Percent decimal `json:"percent,omitempty"`
	Value   decimal `json:"value,omitempty"`
	Guessed bool    `json:"unit_guessed,omitempty"`
}

// unitKey returns the key a kind's figure is written under and how many decimal places lie between it and
// SI. An angle's degree is no power of ten and is handled apart.
func unitKey(k unit.Kind) (key string, places int) {
	switch k {
	case unit.KindLength:
		return "mm", 3
	case unit.KindAngle:
		return "deg", 0
	case unit.KindForce:
		return "n", 0
	case unit.KindTemperature:
		return "c", 0
	case unit.KindCents:
		return "cents", 0
	case unit.KindPercent:
		return "percent", 2
	default:
		return "value", 0
	}
}

func (v *valueJSON) slots() map[string]*decimal {
	return map[string]*decimal{"mm": &v.MM, "deg": &v.Deg, "n": &v.N, "c": &v.C, "cents": &v.Cents, "percent": &v.Percent, "value": &v.Value}
}

func worded(k unit.Kind) bool { return k == unit.KindChoice || k == unit.KindText }

func toJSON(f Field, v Value) valueJSON {
	out := valueJSON{Typed: v.Text, Guessed: v.Guessed}
	if worded(f.Kind) {
		return out
	}
	key, places := unitKey(f.Kind)
	d := newDecimal(v.SI, places)
	if f.Kind == unit.KindAngle {
		d = newDecimal(degreesOf(v.SI), 0)
	}
	*out.slots()[key] = d
	return out
}

func fromJSON(f Field, raw valueJSON) (Value, error) {
	bad := func(got string, why unit.Text, args ...any) error {
		return &unit.RangeError{Limit: f.Limit, Value: math.NaN(), Got: got, Why: unit.Say(why, args...)}
	}
	if worded(f.Kind) {
		for _, d := range raw.slots() {
			if *d != "" {
				return Value{}, bad(string(*d), "it takes words, not a figure")
			}
		}
		v, err := f.Parse(raw.Typed, unit.Millimetre)
		if err != nil {
			return Value{}, err
		}
		return v, nil
	}
	name, places := unitKey(f.Kind)
	for key, d := range raw.slots() {
		if *d != "" && key != name {
			return Value{}, bad(string(*d)+" under "+strconv.Quote(key), "give it under %q", name)
		}
	}
	d := *raw.slots()[name]
	if d == "" {
		return Value{}, bad("no figure", "give it under %q", name)
	}
	si, err := d.float(places)
	if err != nil {
		return Value{}, bad(string(d), "%v", err)
	}
	if f.Kind == unit.KindAngle {
		si *= deg
	}
	v := Value{Text: raw.Typed, SI: si, Guessed: raw.Guessed}
	switch {
	case len(raw.Typed) > maxTyped:
		return Value{}, bad(raw.Typed[:maxTyped], "the typed text is longer than %d characters", maxTyped)
	case f.Kind == unit.KindCount && si != math.Trunc(si):
		return Value{}, bad(string(d), "it must be a whole number")
	case f.Flat && si == 0:
		return v, nil
	}
	if err := f.Check(si); err != nil {
		return Value{}, err
	}
	return v, nil
}

// maxTyped bounds the text kept beside a figure, in bytes.
const maxTyped = 64

// agrees reports whether the text kept beside a figure says that figure in one of the maker's styles. A
// file edited by hand must not show one figure and reckon with another.
func agrees(f Field, v Value) bool {
	if v.Text == "" || worded(f.Kind) {
		return true
	}
	for _, s := range unit.Styles() {
		if w, err := f.Parse(v.Text, s); err == nil && math.Abs(w.SI-v.SI) <= 1e-9*math.Abs(v.SI) {
			return true
		}
	}
	return false
}

func valuesToJSON(fields []Field, v Values) map[string]json.RawMessage {
	out := map[string]json.RawMessage{}
	for _, f := range fields {
		given, ok := v[f.Field]
		if !ok {
			continue
		}
		list := []valueJSON{}
		for _, x := range given {
			list = append(list, toJSON(f, x))
		}
		if f.Many || len(list) == 0 {
			out[f.Field] = marshal(list)
		} else {
			out[f.Field] = marshal(list[0])
		}
	}
	return out
}

// Plain returns a figure as the guitar file writes it: the key of its unit ("mm", "deg", "n", "c", "cents", "percent",
// "value") and its decimal digits. Words have neither.
func (f Field) Plain(v Value) (key, digits string) {
	if worded(f.Kind) {
		return "", ""
	}
	key, _ = unitKey(f.Kind)
	raw := toJSON(f, v)
	return key, string(*raw.slots()[key])
}

// marshal writes JSON on one line, with <, > and & as they are.
func marshal(v any) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		panic(err) // our own structs of plain figures always marshal; finiteness was checked on the way in
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n"))
}

// valuesFromJSON reads an answer. In a change of design an optional figure may be an empty list: the change
// took it away. fromFile is set for what came from outside, where typed text and figure must agree.
func valuesFromJSON(where string, fields []Field, raw map[string]json.RawMessage, change, fromFile bool) (Values, error) {
	if raw == nil {
		return nil, &FileError{Where: where, Why: unit.Say("the figures are missing")}
	}
	out := Values{}
	for _, key := range slices.Sorted(maps.Keys(raw)) {
		at := where + "." + key
		f, ok := find(fields, key)
		if !ok {
			return nil, &FileError{Where: where, Why: unit.Say("unknown figure %q", key)}
		}
		var list []valueJSON
		cleared := change && !f.Required && bytes.Equal(bytes.TrimSpace(raw[key]), []byte("[]"))
		switch {
		case cleared:
			out[key] = []Value{}
			continue
		case f.Many:
			if err := strict(raw[key], &list); err != nil {
				return nil, &FileError{Where: at, Why: unit.Say("%v", err)}
			}
		default:
			list = make([]valueJSON, 1)
			if err := strict(raw[key], &list[0]); err != nil {
				return nil, &FileError{Where: at, Why: unit.Say("%v", err)}
			}
		}
		if len(list) == 0 || len(list) > f.atMost() {
			return nil, &FileError{Where: at, Why: unit.Say("%d figures; 1 to %d allowed", len(list), f.atMost())}
		}
		for _, one := range list {
			v, err := fromJSON(f, one)
			if err != nil {
				return nil, &FileError{Where: at, Why: unit.Say("%v", err)}
			}
			if fromFile && !agrees(f, v) {
				return nil, &FileError{Where: at, Why: unit.Say("typed %q is not the figure beside it, %s: mend one, or leave out \"typed\"", v.Text, f.Write(v, unit.Millimetre))}
			}
			out[key] = append(out[key], v)
		}
	}
	for _, f := range fields {
		if f.Required && !change && !out.Has(f.Field) {
			return nil, &FileError{Where: where, Why: unit.Say("figure %q (%v) is missing", f.Field, f.Label)}
		}
	}
	return out, nil
}

// strict decodes one JSON value and refuses unknown fields and trailing data.
func strict(data []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("more follows after the end")
	}
	return nil
}

// EncodeValues writes an answer as the guitar file holds it; the store keeps entries in this form.
func (g Guitar) EncodeValues(s Step, v Values) []byte {
	return marshal(valuesToJSON(g.Fields(s), v))
}

// DecodeValues reads what EncodeValues wrote.
func (g Guitar) DecodeValues(s Step, data []byte) (Values, error) {
	var raw map[string]json.RawMessage
	if err := strict(data, &raw); err != nil {
		return nil, &FileError{Where: string(s), Why: unit.Say("%v", err)}
	}
	return valuesFromJSON(string(s), g.Fields(s), raw, s == StepDesign, false)
}

// EncodeFirst writes the figures a guitar started with; the store keeps them in this form.
func (g Guitar) EncodeFirst() []byte { return marshal(valuesToJSON(g.Fields(StepDesign), g.First)) }

// DecodeFirst reads what EncodeFirst wrote. Start must be set.
func (g Guitar) DecodeFirst(data []byte) (Values, error) {
	var raw map[string]json.RawMessage
	if err := strict(data, &raw); err != nil {
		return nil, &FileError{Where: "first", Why: unit.Say("%v", err)}
	}
	return valuesFromJSON("first", g.Fields(StepDesign), raw, false, false)
}

// Optional returns the fields with none required: a change of design gives only what changes.
func Optional(fields []Field) []Field {
	out := slices.Clone(fields)
	for i := range out {
		out[i].Required = false
	}
	return out
}

// EncodePlan writes a plan, or nil.
func EncodePlan(p *Plan) []byte {
	if p == nil {
		return nil
	}
	return marshal(planToJSON(p))
}

// DecodePlan reads what EncodePlan wrote; no data is no plan.
func DecodePlan(data []byte) (*Plan, error) {
	if len(data) == 0 {
		return nil, nil
	}
	var p planJSON
	if err := strict(data, &p); err != nil {
		return nil, &FileError{Where: "plan", Why: unit.Say("%v", err)}
	}
	return planFromJSON(&p)
}

func planToJSON(p *Plan) *planJSON {
	if p == nil {
		return nil
	}
	mm := func(l unit.Length) *lengthMM { m := lengthMM(l); return &m }
	d := p.Depth
	return &planJSON{mm(p.GapChange), mm(p.OffsetChange), &cornersJSON{mm(d.TopBass), mm(d.TopTreble), mm(d.CapBass), mm(d.CapTreble)}, mm(p.Shift), &p.SD, &p.Risk, p.Strokes}
}

// maxPlan bounds every length of a plan, maxPlanSD its spread, maxStrokes its strokes.
const (
	maxPlan    = 100 * unit.MM
	maxPlanSD  = 10
	maxStrokes = 1000000
)

func planFromJSON(p *planJSON) (*Plan, error) {
	if p == nil {
		return nil, nil
	}
	bad := func(why unit.Text, args ...any) (*Plan, error) {
		return nil, &FileError{Where: "plan", Why: unit.Say(why, args...)}
	}
	if p.Depth == nil || p.SD == nil || p.Risk == nil {
		return bad("depth_mm, sd_fraction and risk_fraction are needed")
	}
	var v [7]unit.Length
	for i, l := range []*lengthMM{p.GapChange, p.OffsetChange, p.Depth.TopBass, p.Depth.TopTreble, p.Depth.CapBass, p.Depth.CapTreble, p.Shift} {
		if l == nil {
			return bad("gap_change_mm, offset_change_mm, neck_shift_mm and all four corners of depth_mm are needed")
		}
		if v[i] = unit.Length(*l); !(v[i].Abs() <= maxPlan) {
			return bad("%v is outside -100 mm to 100 mm", v[i])
		}
	}
	if !(*p.SD >= 0 && *p.SD <= maxPlanSD) || !(*p.Risk >= 0 && *p.Risk <= 1) || p.Strokes < 0 || p.Strokes > maxStrokes {
		return bad("sd_fraction must lie in 0 to %d, risk_fraction in 0 to 1, strokes in 0 to %d", maxPlanSD, maxStrokes)
	}
	return &Plan{GapChange: v[0], OffsetChange: v[1], Depth: neckset.Corners{TopBass: v[2], TopTreble: v[3], CapBass: v[4], CapTreble: v[5]}, Shift: v[6], SD: *p.SD, Risk: *p.Risk, Strokes: p.Strokes}, nil
}

func (g Guitar) toJSON() *guitarJSON {
	out := &guitarJSON{ID: g.ID, Name: g.Name, Start: g.Start, Basis: g.Basis, Created: utc(g.Created), First: valuesToJSON(g.Fields(StepDesign), g.First), Log: []json.RawMessage{}}
	for _, e := range g.Log {
		out.Log = append(out.Log, g.entryJSON(e))
	}
	return out
}

func (g Guitar) entryJSON(e Entry) []byte {
	return marshal(entryJSON{e.Seq, utc(e.At), e.Bench, e.Step, valuesToJSON(g.Fields(e.Step), e.Values), planToJSON(e.Plan), e.Undone})
}

func utc(t time.Time) *time.Time { t = t.UTC(); return &t }

// ReadBack returns the next entry as it would come back from the guitar file, or a *FileError if it would
// not: whoever keeps records asks this first, so that nothing is kept that cannot be read again.
func (g Guitar) ReadBack(e Entry) (Entry, error) {
	where := fmt.Sprintf("entry %d", e.Seq)
	fields := g.Fields(e.Step)
	for _, key := range slices.Sorted(maps.Keys(e.Values)) {
		f, ok := find(fields, key)
		if !ok {
			return e, &FileError{Where: where, Why: unit.Say("unknown figure %q", key)}
		}
		if n := len(e.Values[key]); n > f.atMost() {
			return e, &FileError{Where: where + "." + key, Why: unit.Say("%d figures; at most %d allowed", n, f.atMost())}
		}
	}
	return g.entry(where, len(g.Log)+1, g.entryJSON(e))
}

// when checks a time of the file and returns it in UTC. Years beyond four figures cannot be written back.
func when(where string, t *time.Time) (time.Time, error) {
	if t == nil {
		return time.Time{}, &FileError{Where: where, Why: unit.Say("the time is missing")}
	}
	u := t.UTC()
	if u.Year() < 1 || u.Year() > 9999 {
		return time.Time{}, &FileError{Where: where, Why: unit.Say("year %d; allowed: 1 to 9999", u.Year())}
	}
	return u, nil
}

func (in *guitarJSON) guitar() (Guitar, error) {
	g := Guitar{ID: in.ID, Start: in.Start, Basis: in.Basis}
	var err error
	if g.Name, err = CheckName("name", in.Name); err != nil {
		return g, &FileError{Where: "name", Why: unit.Say("%v", err)}
	}
	if !reID.MatchString(in.ID) {
		return g, &FileError{Where: "id", Why: unit.Say("%q; allowed: up to 64 letters, digits, - and _", in.ID)}
	}
	if g.Start != FromDesign && g.Start != FromReadings {
		return g, &FileError{Where: "start", Why: unit.Say("%q; allowed: design, readings", in.Start)}
	}
	if !reID.MatchString(in.Basis) {
		return g, &FileError{Where: "basis", Why: unit.Say("%q; allowed: up to 64 letters, digits, - and _", in.Basis)}
	}
	if g.Created, err = when("created", in.Created); err != nil {
		return g, err
	}
	if g.First, err = valuesFromJSON("first", g.Fields(StepDesign), in.First, false, true); err != nil {
		return g, err
	}
	if err := CheckDesign(g.First, g.Start); err != nil {
		return g, &FileError{Where: "first", Why: unit.Say("%v", err)}
	}
	if in.Log == nil {
		return g, &FileError{Where: "log", Why: unit.Say("the log is missing; it may be empty")}
	}
	if len(in.Log) > maxLog {
		return g, &FileError{Where: "log", Why: unit.Say("%d entries; at most %d allowed", len(in.Log), maxLog)}
	}
	for i, raw := range in.Log {
		entry, err := g.entry(fmt.Sprintf("log[%d]", i), i+1, raw)
		if err != nil {
			return g, err
		}
		g.Log = append(g.Log, entry)
	}
	return g, nil
}

// entry reads the next entry of the log.
func (g Guitar) entry(where string, seq int, raw []byte) (Entry, error) {
	fail := func(why unit.Text, args ...any) (Entry, error) {
		return Entry{}, &FileError{Where: where, Why: unit.Say(why, args...)}
	}
	var in entryJSON
	if err := strict(raw, &in); err != nil {
		return fail("%v", err)
	}
	if in.Seq != seq {
		return fail("seq is %d, expected %d", in.Seq, seq)
	}
	if _, ok := FindGuide(in.Step); !ok && in.Step != StepDesign {
		return fail("unknown step %q", in.Step)
	}
	e := Entry{Seq: in.Seq, Bench: in.Bench, Step: in.Step, Undone: in.Undone}
	if in.Bench != "" {
		name, err := CheckName("bench", in.Bench)
		if err != nil {
			return fail("%v", err)
		}
		e.Bench = name
	}
	var err error
	if e.At, err = when(where+".at", in.At); err != nil {
		return e, err
	}
	if e.Values, err = valuesFromJSON(where+".values", g.Fields(in.Step), in.Values, in.Step == StepDesign, true); err != nil {
		return e, err
	}
	if e.Plan, err = planFromJSON(in.Plan); err != nil {
		return fail("%v", err)
	}
	if (e.Plan != nil) != (e.Step == StepCut || e.Step == StepShim) {
		return fail("a cut or shim needs a plan, and nothing else has one")
	}
	// An undone entry was checked against a design that may itself have been undone since.
	if !e.Undone {
		if err := g.check(e); err != nil {
			return fail("%v", err)
		}
	}
	return e, nil
}

var reID = regexp.MustCompile(`^[A-Za-z0-9_-]{0,64}$`)

// Encode writes one guitar as a guitar file. The same guitar always gives the same bytes.
func Encode(g Guitar) []byte {
	return pretty(fileJSON{Format: FileFormat, Version: FileVersion, Guitar: g.toJSON()})
}

// EncodeShop writes guitars as a shop file.
func EncodeShop(gs []Guitar) []byte { return EncodeShopFile(ShopFile{Guitars: gs}) }

// ShopFile is what a shop file holds: guitars, and the shop's air.
type ShopFile struct {
	Guitars []Guitar
	Air     []climate.Reading
}

// airChunk bounds the readings of one table of a shop file; a table with more than climate.MostRows is not read.
const airChunk = 100000

// EncodeShopFile writes a shop file. The air stands in it as the tables that climate.Encode writes.
func EncodeShopFile(f ShopFile) []byte {
	list := []json.RawMessage{}
	for _, g := range f.Guitars {
		list = append(list, marshal(g.toJSON()))
	}
	out := fileJSON{Format: ShopFormat, Version: FileVersion, Guitars: &list}
	for rs := range slices.Chunk(f.Air, airChunk) {
		out.Version = ShopVersion
		out.Air = append(out.Air, string(climate.Encode(rs)))
	}
	return pretty(out)
}

// airOf reads the tables of a shop file's air.
func airOf(tables []string) ([]climate.Reading, error) {
	var out []climate.Reading
	for i, t := range tables {
		where := fmt.Sprintf("air_csv[%d]", i)
		im, err := climate.Parse([]byte(t), climate.Options{})
		if err != nil {
			return nil, &FileError{Where: where, Why: unit.Say("%v", err)}
		}
		if len(im.Bad) > 0 {
			return nil, &FileError{Where: where, Why: unit.Say("line %d: %v", im.Bad[0].Line, im.Bad[0].Why)}
		}
		out = append(out, im.Readings...)
	}
	return out, nil
}

func pretty(v any) []byte {
	var b bytes.Buffer
	if err := json.Indent(&b, marshal(v), "", "  "); err != nil {
		panic(err) // marshal writes valid JSON
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// Decode reads a guitar file or a shop file and returns its guitars. Errors are *FileError, naming the
// place; nothing of a file with an error in it may be kept.
func Decode(data []byte) ([]Guitar, error) {
	f, err := DecodeFile(data)
	return f.Guitars, err
}

// DecodeFile is Decode for everything in the file.
func DecodeFile(data []byte) (ShopFile, error) {
	gs, air, err := decode(data)
	if err != nil {
		return ShopFile{}, err
	}
	rs, err := airOf(air)
	if err != nil {
		return ShopFile{}, err
	}
	return ShopFile{gs, rs}, nil
}

// decode reads the guitars of a file, and the tables of its air as they are.
func decode(data []byte) ([]Guitar, []string, error) {
	if len(data) > MaxFile {
		return nil, nil, &FileError{Why: unit.Say("larger than %d MiB", MaxFile>>20)}
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")) // some editors add this mark
	if err := wellFormed(data); err != nil {
		return nil, nil, err
	}
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, nil, &FileError{Why: unit.Say("%v", err)}
	}
	most := FileVersion
	if head.Format == ShopFormat {
		most = ShopVersion
	}
	switch {
	case head.Format != FileFormat && head.Format != ShopFormat:
		return nil, nil, &FileError{Where: "format", Why: unit.Say("%q; expected %q or %q", head.Format, FileFormat, ShopFormat)}
	case head.Version > most:
		return nil, nil, &FileError{Where: "version", Newer: true, Why: unit.Say("this file is version %d and this program reads up to version %d; a newer program wrote it, so update this one first. Nothing was changed", head.Version, most)}
	case head.Version < 1:
		return nil, nil, &FileError{Where: "version", Why: unit.Say("%d; allowed: 1 to %d", head.Version, most)}
	}
	var file fileJSON
	if err := strict(data, &file); err != nil {
		return nil, nil, &FileError{Why: unit.Say("%v", err)}
	}
	if (file.Guitar != nil) == (file.Format == ShopFormat) || (file.Guitars != nil) != (file.Format == ShopFormat) {
		return nil, nil, &FileError{Why: unit.Say("a guitar file holds one guitar, a shop file a list of guitars")}
	}
	if len(file.Air) > 0 && (file.Format != ShopFormat || file.Version < ShopVersion) {
		return nil, nil, &FileError{Where: "air_csv", Why: unit.Say("only a shop file of version %d holds the shop's air", ShopVersion)}
	}
	if file.Guitar != nil {
		g, err := file.Guitar.guitar()
		if err != nil {
			return nil, nil, err
		}
		return []Guitar{g}, nil, nil
	}
	if n := len(*file.Guitars); n > maxGuitars {
		return nil, nil, &FileError{Where: "guitars", Why: unit.Say("%d guitars; at most %d allowed", n, maxGuitars)}
	}
	var out []Guitar
	for i, raw := range *file.Guitars {
		var in guitarJSON
		if err := strict(raw, &in); err != nil {
			return nil, nil, &FileError{Where: fmt.Sprintf("guitars[%d]", i), Why: unit.Say("%v", err)}
		}
		g, err := in.guitar()
		if err != nil {
			if fe, ok := err.(*FileError); ok {
				fe.Where = fmt.Sprintf("guitars[%d].%s", i, fe.Where)
			}
			return nil, nil, err
		}
		out = append(out, g)
	}
	return out, file.Air, nil
}
