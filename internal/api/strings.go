package api

import (
	"context"

	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

// StringsReply is a guitar's set as it is tuned.
type StringsReply struct {
	Revision  int64        `json:"revision"`
	Set       string       `json:"set" doc:"starting set, empty when every string was given by itself"`
	A4        float64      `json:"a4_hz"`
	Total     float64      `json:"total_tension_n"`
	Mean      float64      `json:"mean_tension_n"`
	BassShare float64      `json:"bass_share_percent" doc:"carried by the bass half; a middle string counts half to each side"`
	Strings   []StringInfo `json:"strings" doc:"bass first"`
	Warnings  []Warning    `json:"warnings"`
}

// StringInfo is one string.
type StringInfo struct {
	Name     string  `json:"name" doc:"the note it is tuned to"`
	Kind     string  `json:"kind" enum:"plain,wound"`
	Pitch    float64 `json:"pitch_hz"`
	Scale    float64 `json:"scale_length_mm"`
	Diameter float64 `json:"diameter_mm"`
	Core     float64 `json:"core_diameter_mm" doc:"0 for a plain string"`
	Mass     float64 `json:"mu_kg_m"`
	Tension  float64 `json:"tension_n"`
	Share    float64 `json:"share_percent" doc:"of the whole pull"`
	B        float64 `json:"inharmonicity_b"`
	Source   string  `json:"source" doc:"where its figures come from"`
}

// IntonationReply is where a guitar wants saddle and nut, and what every note then comes to.
type IntonationReply struct {
	Revision    int64              `json:"revision"`
	SaddleKind  string             `json:"saddle_kind" enum:"straight,compensated"`
	NutKind     string             `json:"nut_kind" enum:"plain,compensated"`
	Centre      float64            `json:"setback_mm" doc:"of the saddle as chosen, on the centreline"`
	RMS         float64            `json:"rms_cents" doc:"over the fitted frets of all strings, as chosen"`
	Worst       float64            `json:"worst_cents"`
	WorstString string             `json:"worst_string"`
	WorstFret   int                `json:"worst_fret"`
	Straight    SaddleLine         `json:"straight"`
	Compensated SaddlePlaces       `json:"compensated"`
	Strings     []StringIntonation `json:"strings" doc:"bass first"`
	Occasions   []Occasion         `json:"occasions" doc:"the same nut and saddle with capos and in other tunings"`
	Why         string             `json:"why" doc:"why the ends of the strings are taken as they are"`
	Warnings    []Warning          `json:"warnings"`
}

// SaddleLine is a straight saddle.
type SaddleLine struct {
	Centre float64 `json:"setback_mm" doc:"on the centreline"`
	Angle  float64 `json:"angle_deg" doc:"to the frets; negative when the bass end stands farther back"`
	RMS    float64 `json:"rms_cents"`
}

// SaddlePlaces is a saddle with a place for each string.
type SaddlePlaces struct {
	Centre      float64 `json:"setback_mm" doc:"of the blank's middle, on the centreline"`
	Angle       float64 `json:"angle_deg" doc:"of its slot to the frets"`
	Blank       float64 `json:"blank_mm" doc:"width it needs, square across the slot"`
	BlankSquare float64 `json:"blank_square_mm" doc:"the same for a slot parallel to the frets"`
	RMS         float64 `json:"rms_cents"`
}

// StringIntonation is one string's setbacks. A saddle setback is + away from the nut, a nut setback + toward
// fret 1.
type StringIntonation struct {
	Name         string    `json:"name"`
	SaddleOnly   Setback   `json:"saddle_only"`
	NutAndSaddle Setback   `json:"nut_and_saddle"`
	Nut          float64   `json:"nut_mm" doc:"as chosen"`
	Saddle       float64   `json:"saddle_mm" doc:"as chosen"`
	Cents        []float64 `json:"cents" doc:"of fret 1 on, as chosen; + is sharp"`
}

// Setback is a place of nut and saddle and what it leaves.
type Setback struct {
	Nut    float64 `json:"nut_mm"`
	Saddle float64 `json:"saddle_mm"`
	RMS    float64 `json:"rms_cents"`
}

// Occasion is how the saddle does with a capo or in another tuning.
type Occasion struct {
	Name  string  `json:"name"`
	RMS   float64 `json:"rms_cents"`
	Worst float64 `json:"worst_cents"`
}

// StrungUpReply follows the guitar from unstrung to strung. Every figure is an estimate.
type StrungUpReply struct {
	Revision    int64     `json:"revision"`
	Used        bool      `json:"used" doc:"the target goes by these figures, not by typed ones"`
	AddedRelief Estimate  `json:"added_relief" doc:"what the strings add"`
	Relief      Estimate  `json:"relief_strung"`
	TopRise     Estimate  `json:"top_rise"`
	GapTarget   Estimate  `json:"gap_target" doc:"unstrung, straight edge on the frets"`
	GapStrung   Estimate  `json:"gap_strung"`
	Turn        Turned    `json:"turn" doc:"of the fret line, from the neck's bend"`
	Fold        Turned    `json:"fold" doc:"of the joint"`
	ActionBass  Estimate  `json:"action12_bass"`
	ActionTre   Estimate  `json:"action12_treble"`
	Say         []string  `json:"say"`
	Warnings    []Warning `json:"warnings"`
}

// Estimate is a length with its spread.
type Estimate struct {
	Mean float64 `json:"mean_mm"`
	SD   float64 `json:"sd_mm" doc:"one standard deviation"`
}

// Turned is an angle with its spread.
type Turned struct {
	Mean float64 `json:"mean_deg"`
	SD   float64 `json:"sd_deg"`
}

// BoardReply is the fretboard laid out.
type BoardReply struct {
	Revision int64      `json:"revision"`
	Length   float64    `json:"length_mm" doc:"nut to end on the centreline"`
	Frets    []FretInfo `json:"frets"`
	Nut      []NutInfo  `json:"nut_slots" doc:"bass first"`
	Wire     float64    `json:"wire_mm" doc:"all pieces together"`
	Buy      float64    `json:"wire_to_buy_mm" doc:"with a share to spare"`
	Warnings []Warning  `json:"warnings"`
}

// FretInfo is one fret.
type FretInfo struct {
	Fret      int     `json:"fret"`
	Position  float64 `json:"position_mm" doc:"from the nut, on the centreline"`
	Bass      float64 `json:"bass_edge_mm" doc:"where the slot meets the bass edge, from the nut, along the centreline"`
	Treble    float64 `json:"treble_edge_mm"`
	Angle     float64 `json:"angle_deg" doc:"from square; + when the treble end lies nearer the saddle"`
	Wire      float64 `json:"wire_mm" doc:"piece to cut, with its overhang"`
	Depth     float64 `json:"slot_depth_mm" doc:"below the face, all along"`
	FlatDepth float64 `json:"flat_slot_depth_mm" doc:"below the centreline, for a straight floor"`
}

// NutInfo is one slot of the nut.
type NutInfo struct {
	FromBass float64 `json:"from_bass_edge_mm"`
	Width    float64 `json:"width_mm"`
	Floor    float64 `json:"floor_mm" doc:"over the board's face"`
	Depth    float64 `json:"depth_mm" doc:"below the nut's finished top"`
}

func (s *server) strungRoutes() {
	add(s, access.Member, "GET", "/guitars/{id}/strings", "The strings: mass, pull and stiffness of each", s.strings)
	add(s, access.Member, "GET", "/guitars/{id}/intonation", "Where saddle and nut should be, and the cents of every note", s.intonation)
	add(s, access.Member, "GET", "/guitars/{id}/strungup", "The guitar with and without its strings, estimated", s.strungup)
	add(s, access.Member, "GET", "/guitars/{id}/air", "What the air does to the guitar between the shop and where it will live", s.air)
	add(s, access.Member, "GET", "/guitars/{id}/board", "The fretboard: frets, slots, wire, nut slots", s.board)
	s.billRoutes()
	s.topRoutes()
}

// designed returns a guitar that has a design.
func (s *server) designed(ctx context.Context, id string) (shop.View, error) {
	v, err := s.shop.Guitar(ctx, id)
	if err == nil && v.Guitar.Start == guitar.FromReadings {
		err = store.Errorf(store.NotFound, nil, "%s is a repair, started from readings: it has no design to work strings or board out from.", v.Guitar.Name)
	}
	return v, err
}

func (s *server) strings(ctx context.Context, in *One) (StringsReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return StringsReply{}, err
	}
	return StringsOf(v, s.style(ctx, in.Units))
}

// StringsOf describes a guitar's strings. Errors are guitar.Problems.
func StringsOf(v shop.View, style unit.Style) (StringsReply, error) {
	got, err := guitar.StringSetUp(v.Bench.Design)
	if err != nil {
		return StringsReply{}, err
	}
	b := got.Balance
	out := StringsReply{Revision: v.Revision, Set: got.Set, A4: float64(got.A4), Total: float64(b.Total), Mean: float64(b.Mean), BassShare: b.BassShare * 100,
		Strings: []StringInfo{}, Warnings: warnings(got.Warnings, style)}
	for i, x := range got.List {
		p := b.Strings[i]
		info := StringInfo{Name: x.Name, Kind: string(x.Kind), Pitch: float64(x.Pitch), Scale: got.Scales[i].MM(), Diameter: x.Diameter.MM(), Core: x.CoreDiameter.MM(),
			Mass: float64(p.Mass), Tension: float64(p.Tension), Share: p.Share * 100, B: p.B}
		if i < len(got.Sources) {
			info.Source = got.Sources[i]
		}
		out.Strings = append(out.Strings, info)
	}
	return out, nil
}

func (s *server) intonation(ctx context.Context, in *One) (IntonationReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return IntonationReply{}, err
	}
	return IntonationOf(v, s.style(ctx, in.Units))
}

// IntonationOf describes where a guitar wants saddle and nut. Errors are guitar.Problems.
func IntonationOf(v shop.View, style unit.Style) (IntonationReply, error) {
	got, err := guitar.IntonationOf(v.Bench.Design)
	if err != nil {
		return IntonationReply{}, err
	}
	m := got.Map
	out := IntonationReply{Revision: v.Revision, SaddleKind: got.SaddleKind, NutKind: got.NutKind, Centre: got.Centre.MM(), RMS: m.RMS, Worst: m.Worst, WorstFret: m.WorstFret,
		Straight: SaddleLine{got.Straight.Centre.MM(), got.Straight.Angle.Degrees(), got.Straight.Map.RMS},
		Compensated: SaddlePlaces{got.Compensated.Centre.MM(), got.Compensated.Angle.Degrees(), got.Compensated.Blank.MM(), got.Compensated.BlankSquare.MM(),
			got.Compensated.Map.RMS},
		Strings: []StringIntonation{}, Occasions: []Occasion{}, Why: got.Why.In(style), Warnings: warnings(got.Warnings, style)}
	if m.WorstRow < len(m.Rows) {
		out.WorstString = m.Rows[m.WorstRow].Name
	}
	for i, x := range got.Models {
		a, b := got.SaddleOnly[i], got.NutAndSaddle[i]
		out.Strings = append(out.Strings, StringIntonation{x.String.Name, Setback{a.Nut.MM(), a.Saddle.MM(), a.RMS}, Setback{b.Nut.MM(), b.Saddle.MM(), b.RMS},
			got.Nut[i].MM(), got.Saddle[i].MM(), m.Rows[i].Cents})
	}
	scores, _, err := got.Rescore(v.Bench.Design)
	if err != nil {
		return IntonationReply{}, err
	}
	for _, x := range scores {
		out.Occasions = append(out.Occasions, Occasion{x.Name.In(style), x.Map.RMS, x.Map.Worst})
	}
	return out, nil
}

func (s *server) strungup(ctx context.Context, in *One) (StrungUpReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return StrungUpReply{}, err
	}
	return StrungUpOf(v, s.style(ctx, in.Units))
}

func (s *server) board(ctx context.Context, in *One) (BoardReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return BoardReply{}, err
	}
	return BoardOf(v, s.style(ctx, in.Units))
}

// BoardOf describes a guitar's fretboard. Errors are guitar.Problems.
func BoardOf(v shop.View, style unit.Style) (BoardReply, error) {
	got, err := guitar.BoardOf(v.Bench.Design)
	if err != nil {
		return BoardReply{}, err
	}
	l := got.Layout
	out := BoardReply{Revision: v.Revision, Length: l.Length.MM(), Frets: []FretInfo{}, Nut: []NutInfo{}, Wire: got.Wire.Total.MM(), Buy: got.Wire.Buy.MM(), Warnings: warnings(got.Warnings, style)}
	for i, x := range l.Slots {
		f := FretInfo{Fret: x.Fret, Position: x.Centre.MM(), Bass: x.Line.Bass.X.MM(), Treble: x.Line.Treble.X.MM(), Angle: x.Angle.Degrees()}
		if i < len(got.Wire.Pieces) {
			f.Wire = got.Wire.Pieces[i].MM()
		}
		if i < len(got.Depths) {
			f.Depth, f.FlatDepth = got.Depths[i].Follow.MM(), got.Depths[i].Flat.MM()
		}
		out.Frets = append(out.Frets, f)
	}
	for _, x := range got.Nut {
		out.Nut = append(out.Nut, NutInfo{x.FromBass.MM(), x.Width.MM(), x.Floor.MM(), x.Depth.MM()})
	}
	return out, nil
}

// StrungUpOf describes a guitar with and without its strings. Errors are guitar.Problems.
func StrungUpOf(v shop.View, style unit.Style) (StrungUpReply, error) {
	got, warns, err := guitar.Chain(v.Bench.Design)
	if err != nil {
		return StrungUpReply{}, err
	}
	sd := got.Spread
	long := func(m, s unit.Length) Estimate { return Estimate{m.MM(), s.MM()} }
	turn := func(m, s unit.Angle) Turned { return Turned{m.Degrees(), s.Degrees()} }
	out := StrungUpReply{Revision: v.Revision, Used: v.Bench.Design.Choice("pull_from") == "neck", AddedRelief: long(got.AddedRelief, sd.AddedRelief), Relief: long(got.ReliefStrung, sd.ReliefStrung),
		TopRise: long(got.TopRise, sd.TopRise), GapTarget: long(got.GapTarget, sd.GapTarget), GapStrung: long(got.GapStrung, sd.GapStrung), Turn: turn(got.Turn, sd.Turn), Fold: turn(got.Fold, sd.Fold),
		ActionBass: long(got.Action12.Bass, sd.Action12.Bass), ActionTre: long(got.Action12.Treble, sd.Action12.Treble), Say: []string{}, Warnings: warnings(warns, style)}
	for _, p := range got.Say() {
		out.Say = append(out.Say, p.In(style))
	}
	return out, nil
}
