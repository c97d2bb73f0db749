package api

import (
	"context"

	"fairset/craft/body"
	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/unit"
)

// TopReply is what the strings do to a guitar's top, and how it rings without them. Every figure is an estimate.
type TopReply struct {
	Revision   int64        `json:"revision"`
	Used       bool         `json:"used" doc:"the target goes by the rise worked out, not by the typed one"`
	Tension    float64      `json:"tension_n" doc:"of all strings"`
	Over       float64      `json:"string_over_top_mm" doc:"at the saddle, as designed"`
	Couple     float64      `json:"couple_n_mm" doc:"on the bridge, about the middle of the top's thickness"`
	SaddleRise float64      `json:"saddle_rise_mm"`
	Rise       float64      `json:"rise_mm" doc:"most, behind the bridge's middle"`
	RiseAt     []float64    `json:"rise_at_mm" doc:"from the tail, and from the centreline, + to the bass side"`
	Dip        float64      `json:"dip_mm" doc:"least, ahead of it"`
	DipAt      []float64    `json:"dip_at_mm"`
	Tilt       float64      `json:"bridge_rotation_deg" doc:"+ its top toward the neck"`
	Mean       float64      `json:"bridge_mean_mm" doc:"of the bridge's foot"`
	Stiffness  float64      `json:"stiffness_n_mm_per_deg" doc:"couple for a degree of tilt"`
	Mass       float64      `json:"mass_g" doc:"of top, braces and plate, without the bridge"`
	Gap        float64      `json:"gap_target_mm" doc:"on the frets, with the rise worked out"`
	GapTyped   float64      `json:"gap_target_typed_mm" doc:"with the rise as typed"`
	Modes      []TopMode    `json:"modes" doc:"of the top by itself, its edge held, lowest first"`
	Air        *TopAir      `json:"air,omitempty" doc:"the lowest mode with the air in the body"`
	Braces     []BraceState `json:"braces"`
	Warnings   []Warning    `json:"warnings"`
}

// TopMode is one way the top rings.
type TopMode struct {
	Frequency float64 `json:"frequency_hz"`
	Name      string  `json:"name" doc:"what moves, said only where it holds"`
	Parts     int     `json:"parts" doc:"that move against each other"`
	Mass      float64 `json:"mass_g" doc:"which, moving with the largest deflection, has its energy"`
}

// TopAir is the air resonance with the top's lowest mode.
type TopAir struct {
	Air   float64 `json:"air_hz" doc:"of the air in the soundhole against a stiff body"`
	Low   float64 `json:"low_hz"`
	High  float64 `json:"high_hz"`
	Depth float64 `json:"body_depth_mm" doc:"as taken all over: the heel's height"`
}

// BraceState is how hard a brace works.
type BraceState struct {
	Name   string  `json:"name"`
	Strain float64 `json:"strain_millionths" doc:"largest, at its free edge; + stretched"`
	Place  float64 `json:"place_percent" doc:"of its length, from its first end"`
}

// TopWoodReply is what the notes of the glued top say of its wood.
type TopWoodReply struct {
	Revision int64      `json:"revision"`
	Notes    []TopNote  `json:"notes"`
	Woods    []WoodTold `json:"woods" doc:"top along the grain, top across it and in shear, braces"`
}

// TopNote is one note heard beside one computed.
type TopNote struct {
	Mode   int     `json:"mode"`
	Heard  float64 `json:"heard_hz"`
	Before float64 `json:"computed_hz" doc:"as the design stands"`
	After  float64 `json:"fitted_hz"`
	Far    bool    `json:"far" doc:"off by more than is likely: perhaps another mode"`
}

// WoodTold is a stiffness as a share of the mean of its kind.
type WoodTold struct {
	Field string  `json:"field" doc:"of the design, to put the share into"`
	Share float64 `json:"share_percent"`
	SD    float64 `json:"sd_percent"`
	Told  float64 `json:"told_percent" doc:"how much of the doubt the notes took away"`
}

func (s *server) topRoutes() {
	add(s, access.Member, "GET", "/guitars/{id}/top", "What the strings do to the top, and how it rings; takes some seconds", s.top)
	add(s, access.Member, "GET", "/guitars/{id}/top/wood", "What the notes of the glued top say of its wood; takes some ten seconds", s.topWood)
}

func (s *server) top(ctx context.Context, in *One) (TopReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return TopReply{}, err
	}
	return TopOf(ctx, s.shop, v, s.style(ctx, in.Units))
}

// TopOf describes a guitar's top. Errors are guitar.Problems, or ctx's.
func TopOf(ctx context.Context, sh *shop.Shop, v shop.View, style unit.Style) (TopReply, error) {
	got, err := sh.TopOf(ctx, v.Bench.Design, guitar.TopModes, nil)
	if err != nil {
		return TopReply{}, err
	}
	out := TopReply{Revision: v.Revision, Used: got.UsedInAim, Tension: float64(got.Pull.Tension), Over: got.Pull.Over.MM(), Couple: got.Couple * 1000, SaddleRise: got.SaddleRise.MM(),
		Rise: got.Rise.MM(), RiseAt: []float64{got.RiseAt.X.MM(), got.RiseAt.Y.MM()}, Dip: got.Dip.MM(), DipAt: []float64{got.DipAt.X.MM(), got.DipAt.Y.MM()},
		Tilt: got.Tilt.Degrees(), Mean: got.Mean.MM(), Stiffness: got.Stiffness * 1000, Mass: float64(got.Mass) * 1000, Gap: got.Gap.MM(), GapTyped: got.GapAsTyped.MM(),
		Modes: []TopMode{}, Braces: []BraceState{}, Warnings: warnings(got.Warnings, style)}
	for _, m := range got.Modes {
		out.Modes = append(out.Modes, TopMode{float64(m.Frequency), m.Name.In(style), m.Parts, float64(m.Mass) * 1000})
	}
	if a := got.Air; a != nil {
		out.Air = &TopAir{float64(a.Air), float64(a.Low), float64(a.High), got.Depth.MM()}
	}
	for _, b := range got.Braces {
		out.Braces = append(out.Braces, BraceState{body.Called(b.Name).In(style), b.Strain * 1e6, b.Place * 100})
	}
	return out, nil
}

func (s *server) topWood(ctx context.Context, in *One) (TopWoodReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return TopWoodReply{}, err
	}
	return TopWoodOf(ctx, s.shop, v)
}

// TopWoodOf describes what a top's notes say of its wood. Errors are guitar.Problems, or ctx's.
func TopWoodOf(ctx context.Context, sh *shop.Shop, v shop.View) (TopWoodReply, error) {
	fit, err := sh.FitTaps(ctx, v.Bench.Design)
	if err != nil {
		return TopWoodReply{}, err
	}
	out := TopWoodReply{Revision: v.Revision, Notes: []TopNote{}}
	for _, n := range fit.Notes {
		out.Notes = append(out.Notes, TopNote{n.Mode, float64(n.Heard), float64(n.Before), float64(n.After), n.Far})
	}
	for i, w := range []guitar.Wood{fit.Along, fit.Across, fit.Braces} {
		out.Woods = append(out.Woods, WoodTold{guitar.TopShares[i], w.Share * 100, w.SD * 100, fit.Told[i] * 100})
	}
	return out, nil
}
