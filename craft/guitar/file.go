package guitar

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"fairset/craft/neckset"
	"fairset/unit"
)

// The guitar file: one guitar, or a whole shop, as JSON. Lengths carry their unit in the key. The schema
// is published beside the manual; a file of a newer version is refused and left alone.
const (
	FileFormat  = "fairset.guitar"
	ShopFormat  = "fairset.shop"
	FileVersion = 1
	// MaxFile bounds a file that is read, in bytes.
	MaxFile = 64 << 20
	// maxGuitars bounds the guitars of one shop file.
	maxGuitars = 10000
)

// FileError says why a guitar file cannot be used, and where in it.
type FileError struct{ Where, Why string }

func (e *FileError) Error() string {
	if e.Where == "" {
		return "guitar file: " + e.Why
	}
	return "guitar file: " + e.Where + ": " + e.Why
}

type fileJSON struct {
	Format  string            `json:"format"`
	Version int               `json:"version"`
	Guitar  *guitarJSON       `json:"guitar,omitempty"`
	Guitars []json.RawMessage `json:"guitars,omitempty"`
}

type guitarJSON struct {
	ID      string                     `json:"id,omitempty"`
	Name    string                     `json:"name"`
	Start   Start                      `json:"start"`
	Basis   string                     `json:"basis,omitempty"`
	Created time.Time                  `json:"created"`
	First   map[string]json.RawMessage `json:"first"`
	Log     []entryJSON                `json:"log"`
}

type entryJSON struct {
	Seq    int                        `json:"seq"`
	At     time.Time                  `json:"at"`
	Bench  string                     `json:"bench,omitempty"`
	Step   Step                       `json:"step"`
	Values map[string]json.RawMessage `json:"values"`
	Plan   *planJSON                  `json:"plan,omitempty"`
	Undone bool                       `json:"undone,omitempty"`
}

type planJSON struct {
	GapChange    float64     `json:"gap_change_mm"`
	OffsetChange float64     `json:"offset_change_mm"`
	Depth        cornersJSON `json:"depth_mm"`
	Shift        float64     `json:"neck_shift_mm"`
	SD           float64     `json:"sd_fraction"`
	Strokes      int         `json:"strokes,omitempty"`
	Risk         float64     `json:"past_chance,omitempty"`
}

type cornersJSON struct {
	TopBass   float64 `json:"top_bass"`
	TopTreble float64 `json:"top_treble"`
	CapBass   float64 `json:"cap_bass"`
	CapTreble float64 `json:"cap_treble"`
}

// valueJSON carries one figure under the key of its unit; choices and notes carry only text.
type valueJSON struct {
	Typed   string   `json:"typed,omitempty"`
	MM      *float64 `json:"mm,omitempty"`
	Deg     *float64 `json:"deg,omitempty"`
	N       *float64 `json:"n,omitempty"`
	Cents   *float64 `json:"cents,omitempty"`
	Percent *float64 `json:"percent,omitempty"`
	Value   *float64 `json:"value,omitempty"`
	Guessed bool     `json:"unit_guessed,omitempty"`
}

func (v *valueJSON) slot(k unit.Kind) (**float64, string, float64) {
	switch k {
	case unit.KindLength:
		return &v.MM, "mm", 1e-3
	case unit.KindAngle:
		return &v.Deg, "deg", deg
	case unit.KindForce:
		return &v.N, "n", 1
	case unit.KindCents:
		return &v.Cents, "cents", 1
	case unit.KindPercent:
		return &v.Percent, "percent", 0.01
	default:
		return &v.Value, "value", 1
	}
}

func toJSON(f Field, v Value) valueJSON {
	out := valueJSON{Typed: v.Text, Guessed: v.Guessed}
	if f.Kind == unit.KindChoice || f.Kind == unit.KindText {
		return out
	}
	slot, _, scale := out.slot(f.Kind)
	n := v.SI / scale
	*slot = &n
	return out
}

func fromJSON(f Field, raw valueJSON) (Value, error) {
	if f.Kind == unit.KindChoice || f.Kind == unit.KindText {
		v, err := f.Parse(raw.Typed, unit.Millimetre)
		if err != nil {
			return Value{}, err
		}
		return v, nil
	}
	slot, name, scale := raw.slot(f.Kind)
	if *slot == nil {
		return Value{}, &unit.RangeError{Limit: f.Limit, Value: math.NaN(), Got: "no figure", Why: fmt.Sprintf("give it under %q", name)}
	}
	v := Value{Text: raw.Typed, SI: **slot * scale, Guessed: raw.Guessed}
	if f.Flat && v.SI == 0 {
		return v, nil
	}
	// A figure written at the very edge of its range may come back a last digit outside it.
	if err := f.Check(v.SI); err != nil {
		if nudged := v.SI * (1 - 1e-12*math.Copysign(1, v.SI)); f.Check(nudged) == nil {
			return v, nil
		}
		return Value{}, err
	}
	if len(raw.Typed) > maxNote {
		return Value{}, &unit.RangeError{Limit: f.Limit, Value: v.SI, Got: raw.Typed, Why: "the typed text is too long"}
	}
	return v, nil
}

func valuesToJSON(fields []Field, v Values) map[string]json.RawMessage {
	out := map[string]json.RawMessage{}
	for _, f := range fields {
		if !v.Has(f.Field) {
			continue
		}
		var list []valueJSON
		for _, x := range v[f.Field] {
			list = append(list, toJSON(f, x))
		}
		var raw []byte
		if f.Many {
			raw = must(json.Marshal(list))
		} else {
			raw = must(json.Marshal(list[0]))
		}
		out[f.Field] = raw
	}
	return out
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err) // our own structs of plain figures always marshal; finiteness was checked on the way in
	}
	return b
}

func valuesFromJSON(where string, fields []Field, raw map[string]json.RawMessage) (Values, error) {
	out := Values{}
	for _, key := range slices.Sorted(maps.Keys(raw)) {
		f, ok := find(fields, key)
		if !ok {
			return nil, &FileError{where, fmt.Sprintf("unknown figure %q", key)}
		}
		var list []valueJSON
		if f.Many {
			if err := strict(raw[key], &list); err != nil {
				return nil, &FileError{where + "." + key, err.Error()}
			}
		} else {
			var one valueJSON
			if err := strict(raw[key], &one); err != nil {
				return nil, &FileError{where + "." + key, err.Error()}
			}
			list = []valueJSON{one}
		}
		if len(list) == 0 || len(list) > f.atMost() {
			return nil, &FileError{where + "." + key, fmt.Sprintf("%d figures; 1 to %d allowed", len(list), f.atMost())}
		}
		for _, one := range list {
			v, err := fromJSON(f, one)
			if err != nil {
				return nil, &FileError{where + "." + key, err.Error()}
			}
			out[key] = append(out[key], v)
		}
	}
	for _, f := range fields {
		if f.Required && !out.Has(f.Field) {
			return nil, &FileError{where, fmt.Sprintf("figure %q (%s) is missing", f.Field, f.Label)}
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
	if d.More() {
		return fmt.Errorf("more follows after the end")
	}
	return nil
}

// EncodeValues writes an answer as the guitar file holds it; the store keeps entries in this form.
func (g Guitar) EncodeValues(s Step, v Values) []byte {
	return must(json.Marshal(valuesToJSON(g.Fields(s), v)))
}

// DecodeValues reads what EncodeValues wrote.
func (g Guitar) DecodeValues(s Step, data []byte) (Values, error) {
	var raw map[string]json.RawMessage
	if err := strict(data, &raw); err != nil {
		return nil, &FileError{string(s), err.Error()}
	}
	fields := g.Fields(s)
	if s == StepDesign {
		fields = optional(fields)
	}
	return valuesFromJSON(string(s), fields, raw)
}

// optional returns the fields with none required: a design change gives only what changed.
func optional(fields []Field) []Field {
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
	return must(json.Marshal(planToJSON(p)))
}

// DecodePlan reads what EncodePlan wrote; no data is no plan.
func DecodePlan(data []byte) (*Plan, error) {
	if len(data) == 0 {
		return nil, nil
	}
	var p planJSON
	if err := strict(data, &p); err != nil {
		return nil, &FileError{"plan", err.Error()}
	}
	return planFromJSON(&p)
}

func planToJSON(p *Plan) *planJSON {
	if p == nil {
		return nil
	}
	d := p.Depth
	return &planJSON{p.GapChange.MM(), p.OffsetChange.MM(), cornersJSON{d.TopBass.MM(), d.TopTreble.MM(), d.CapBass.MM(), d.CapTreble.MM()}, p.Shift.MM(), p.SD, p.Strokes, p.Risk}
}

func planFromJSON(p *planJSON) (*Plan, error) {
	if p == nil {
		return nil, nil
	}
	for _, v := range []float64{p.GapChange, p.OffsetChange, p.Depth.TopBass, p.Depth.TopTreble, p.Depth.CapBass, p.Depth.CapTreble, p.Shift} {
		if !unit.Finite(v) || math.Abs(v) > 100 {
			return nil, &FileError{"plan", fmt.Sprintf("%v mm is outside -100 to 100 mm", v)}
		}
	}
	if !(p.Risk >= 0 && p.Risk <= 1) {
		return nil, &FileError{"plan", "past_chance must lie in 0 to 1"}
	}
	if !(p.SD >= 0 && p.SD <= 10) || p.Strokes < 0 || p.Strokes > 1e6 {
		return nil, &FileError{"plan", "sd_fraction must lie in 0 to 10 and strokes in 0 to 1000000"}
	}
	c := neckset.Corners{TopBass: unit.Length(p.Depth.TopBass * mm), TopTreble: unit.Length(p.Depth.TopTreble * mm), CapBass: unit.Length(p.Depth.CapBass * mm), CapTreble: unit.Length(p.Depth.CapTreble * mm)}
	return &Plan{unit.Length(p.GapChange * mm), unit.Length(p.OffsetChange * mm), c, unit.Length(p.Shift * mm), p.SD, p.Strokes, p.Risk}, nil
}

func (g Guitar) toJSON() *guitarJSON {
	out := &guitarJSON{ID: g.ID, Name: g.Name, Start: g.Start, Basis: g.Basis, Created: g.Created, First: valuesToJSON(g.Fields(StepDesign), g.First), Log: []entryJSON{}}
	for _, e := range g.Log {
		out.Log = append(out.Log, entryJSON{e.Seq, e.At, e.Bench, e.Step, valuesToJSON(g.Fields(e.Step), e.Values), planToJSON(e.Plan), e.Undone})
	}
	return out
}

func (in *guitarJSON) guitar() (Guitar, error) {
	g := Guitar{ID: in.ID, Start: in.Start, Basis: in.Basis, Created: in.Created}
	var err error
	if g.Name, err = CheckName("name", in.Name); err != nil {
		return g, &FileError{"name", err.Error()}
	}
	if len(in.ID) > 64 {
		return g, &FileError{"id", "longer than 64 characters"}
	}
	if g.Start != FromDesign && g.Start != FromReadings {
		return g, &FileError{"start", fmt.Sprintf("%q; allowed: design, readings", in.Start)}
	}
	if len(in.Basis) > 64 {
		return g, &FileError{"basis", "longer than 64 characters"}
	}
	if g.First, err = valuesFromJSON("first", g.Fields(StepDesign), in.First); err != nil {
		return g, err
	}
	if err := CheckDesign(g.First, g.Start); err != nil {
		return g, &FileError{"first", err.Error()}
	}
	if len(in.Log) > maxLog {
		return g, &FileError{"log", fmt.Sprintf("%d entries; at most %d allowed", len(in.Log), maxLog)}
	}
	for i, e := range in.Log {
		where := fmt.Sprintf("log[%d]", i)
		if e.Seq != i+1 {
			return g, &FileError{where, fmt.Sprintf("seq is %d, expected %d", e.Seq, i+1)}
		}
		if _, ok := FindGuide(e.Step); !ok && e.Step != StepDesign {
			return g, &FileError{where, fmt.Sprintf("unknown step %q", e.Step)}
		}
		if len(e.Bench) > 4*maxName {
			return g, &FileError{where, "bench: too long"}
		}
		fields := g.Fields(e.Step)
		if e.Step == StepDesign {
			fields = optional(fields)
		}
		v, err := valuesFromJSON(where, fields, e.Values)
		if err != nil {
			return g, err
		}
		plan, err := planFromJSON(e.Plan)
		if err != nil {
			return g, &FileError{where, err.Error()}
		}
		if (plan != nil) != (e.Step == StepCut || e.Step == StepShim) {
			return g, &FileError{where, "a cut or shim needs a plan, and nothing else has one"}
		}
		entry := Entry{Seq: e.Seq, At: e.At, Bench: e.Bench, Step: e.Step, Values: v, Plan: plan, Undone: e.Undone}
		if err := g.check(entry); err != nil {
			return g, &FileError{where, err.Error()}
		}
		g.Log = append(g.Log, entry)
	}
	return g, nil
}

// Encode writes one guitar as a guitar file. The same guitar always gives the same bytes.
func Encode(g Guitar) []byte {
	return pretty(map[string]any{"format": FileFormat, "version": FileVersion, "guitar": g.toJSON()})
}

// EncodeShop writes many guitars as one file.
func EncodeShop(gs []Guitar) []byte {
	list := []*guitarJSON{}
	for _, g := range gs {
		list = append(list, g.toJSON())
	}
	return pretty(map[string]any{"format": ShopFormat, "version": FileVersion, "guitars": list})
}

func pretty(v any) []byte {
	return append(must(json.MarshalIndent(v, "", "  ")), '\n')
}

// Decode reads a guitar file or a shop file and returns its guitars. Errors are *FileError, naming the
// place; nothing of a file with an error in it may be kept.
func Decode(data []byte) ([]Guitar, error) {
	if len(data) > MaxFile {
		return nil, &FileError{"", fmt.Sprintf("larger than %d MiB", MaxFile>>20)}
	}
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, &FileError{"", "not readable as JSON: " + err.Error()}
	}
	switch {
	case head.Format != FileFormat && head.Format != ShopFormat:
		return nil, &FileError{"format", fmt.Sprintf("%q; expected %q or %q", head.Format, FileFormat, ShopFormat)}
	case head.Version > FileVersion:
		return nil, &FileError{"version", fmt.Sprintf("this file is version %d and this program reads up to version %d; a newer program wrote it, so update this one first. Nothing was changed", head.Version, FileVersion)}
	case head.Version < 1:
		return nil, &FileError{"version", fmt.Sprintf("%d; allowed: 1 to %d", head.Version, FileVersion)}
	}
	var file fileJSON
	if err := strict(data, &file); err != nil {
		return nil, &FileError{"", err.Error()}
	}
	if (file.Guitar != nil) == (file.Format == ShopFormat) || (file.Guitars != nil) != (file.Format == ShopFormat) {
		return nil, &FileError{"", "a guitar file holds one guitar, a shop file a list of guitars"}
	}
	if file.Guitar != nil {
		g, err := file.Guitar.guitar()
		if err != nil {
			return nil, err
		}
		return []Guitar{g}, nil
	}
	if len(file.Guitars) > maxGuitars {
		return nil, &FileError{"guitars", fmt.Sprintf("%d guitars; at most %d allowed", len(file.Guitars), maxGuitars)}
	}
	var out []Guitar
	for i, raw := range file.Guitars {
		var in guitarJSON
		if err := strict(raw, &in); err != nil {
			return nil, &FileError{fmt.Sprintf("guitars[%d]", i), err.Error()}
		}
		g, err := in.guitar()
		if err != nil {
			if fe, ok := err.(*FileError); ok {
				fe.Where = fmt.Sprintf("guitars[%d].%s", i, fe.Where)
			}
			return nil, err
		}
		out = append(out, g)
	}
	return out, nil
}
