package api

import (
	"context"

	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/unit"
)

// AirReply is what a guitar does between the shop's air and the air it will live in.
type AirReply struct {
	Revision     int64      `json:"revision"`
	MoistureFrom float64    `json:"emc_from_percent" doc:"moisture of the wood in the shop"`
	Moisture     float64    `json:"emc_to_percent" doc:"moisture where it will live"`
	MoistureSD   float64    `json:"emc_change_sd_percent" doc:"one standard deviation of the difference: a guess"`
	Moves        []Moving   `json:"moves" doc:"parts that get wider or narrower"`
	Dome         *DomeReply `json:"dome,omitempty" doc:"the top at the saddle; left out while the design lacks what it takes"`
	CrackShare   float64    `json:"crack_share,omitempty" doc:"pull across the held top over what it bears; over 1 it may crack; left out without a top wood"`
	CrackByGuess bool       `json:"crack_by_guess,omitempty" doc:"no table gives the wood's strength: judged by strain, common practice"`
	SteadyHours  float64    `json:"steady_hours,omitempty" doc:"nine tenths of the way for a top finished on one face: an order of magnitude"`
	Say          []string   `json:"say"`
	Missing      []string   `json:"missing" doc:"fields that would let more be said"`
	Warnings     []Warning  `json:"warnings"`
	Sources      []string   `json:"sources"`
}

// Moving is one part that changes its width.
type Moving struct {
	Part   string  `json:"part" doc:"top, tenon or board"`
	Width  float64 `json:"width_mm"`
	Change float64 `json:"change_mm" doc:"+ wider"`
	SD     float64 `json:"sd_mm" doc:"one standard deviation"`
}

// DomeReply is what the air does to a top at the saddle. Held by the rim all round it stays; free of it, it rises by free_rise_mm.
type DomeReply struct {
	Rise     Estimate `json:"rise" doc:"half way between held and free; + up"`
	Gap      Estimate `json:"gap_change"`
	Action   Estimate `json:"action12_change"`
	FreeRise float64  `json:"free_rise_mm"`
	From     float64  `json:"radius_mm" doc:"0 flat"`
	Tightest float64  `json:"free_radius_mm" doc:"0 flat, negative hollow"`
	Assumed  []string `json:"assumed" doc:"taken because the design does not say"`
}

func (s *server) air(ctx context.Context, in *One) (AirReply, error) {
	v, err := s.designed(ctx, in.ID)
	if err != nil {
		return AirReply{}, err
	}
	return AirOf(v, s.style(ctx, in.Units))
}

// AirOf describes what the air does to a guitar. Errors are guitar.Problems.
func AirOf(v shop.View, style unit.Style) (AirReply, error) {
	got, err := guitar.AirOf(v.Bench.Design)
	if err != nil {
		return AirReply{}, err
	}
	out := AirReply{Revision: v.Revision, MoistureFrom: float64(got.MoistureFrom), Moisture: float64(got.Moisture), MoistureSD: got.MoistureGive(), Moves: []Moving{}, Say: []string{}, Missing: []string{},
		SteadyHours: got.Steady / 3600, Warnings: warnings(got.Warnings, style), Sources: unit.Each(got.Sources, style)}
	for _, m := range got.Moves {
		out.Moves = append(out.Moves, Moving{m.Key, m.Width.MM(), m.Change.MM(), m.Give.MM()})
	}
	if d := got.Dome; d != nil {
		r := DomeReply{Rise: Estimate{d.Rise.MM(), d.RiseGive.MM()}, Gap: Estimate{d.Gap.MM(), d.RiseGive.MM()}, Action: Estimate{d.Action.MM(), d.ActionGive.MM()},
			FreeRise: d.Free.MM(), From: d.From.MM(), Tightest: d.Tightest.MM(), Assumed: unit.Each(d.Assumed, style)}
		out.Dome = &r
	}
	if got.Crack != nil {
		out.CrackShare, out.CrackByGuess = got.Crack.Share, got.Crack.Guessed
	}
	for _, p := range got.Say() {
		out.Say = append(out.Say, p.In(style))
	}
	for _, p := range got.Missing {
		out.Missing = append(out.Missing, p.Field)
	}
	return out, nil
}
