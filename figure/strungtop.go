package figure

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"fairset/craft/fretting"
	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/craft/soundboard"
	"fairset/craft/strungup"
	"fairset/unit"
)

// strungTopIn is the top of a guitar to be strung: its load is that guitar's strings.
type strungTopIn plateIn

func (strungTopIn) refuses(name string) string {
	switch name {
	case "load":
		return "the strings of this guitar are the load; leave it out"
	case "modes":
		return "how the top vibrates is the soundboard topic's; leave it out"
	}
	return ""
}

// strungTop is how a guitar's top answers its strings.
type strungTop struct {
	give   *guitar.TopGive
	pull   guitar.TopPull // as given, before a saddle is shaped
	doubts []unit.Warning
}

// inBoard names a soundboard's field as this topic's input does.
func inBoard(err error) error {
	var own *Error
	if !errors.As(boardFault(err, ""), &own) {
		return err
	}
	e := *own
	e.Field = "soundboard." + own.Field
	if own.Field == "dome_radius_mm" { // the guitar's own dome
		e.Field = "top.radius_mm"
	}
	if rest, ok := strings.CutPrefix(own.Message, own.Field); ok {
		e.Message = e.Field + rest
	}
	return &e
}

// board works the top out, if there is one; nil without.
func (in strungupIn) board(whole strungup.Input) (*strungTop, error) {
	if len(in.Soundboard.Outline) == 0 {
		return nil, nil
	}
	if in.TopRise.Finite() {
		return nil, &Error{"top_rise_mm", "top_rise_mm and soundboard are both given: give one of them", "left out beside soundboard"}
	}
	m, braces, err := plateIn(in.Soundboard).model()
	if err != nil {
		return nil, inBoard(err)
	}
	if m.Bridge == nil {
		return nil, &Error{"soundboard.bridge", "soundboard.bridge is missing: the strings pull on it", "an object with centre_mm, length_mm, width_mm"}
	}
	m.DomeRadius = whole.Build.Top.Radius
	over := in.SaddleProjection
	if s := in.SaddleSides; s != (sides{}) {
		over = (s.Bass + s.Treble) / 2
	}
	out := &strungTop{pull: guitar.TopPull{Tension: in.Tension, Over: in.BridgeThickness + over}}
	if err := unit.Checks(m.Check(), m.CheckBraces(braces)); err != nil {
		return nil, inBoard(err)
	}
	saddle, off, err := saddleOn(m, whole.Build)
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	if out.give, err = guitar.PlateGive(ctx, m, braces, saddle); err != nil {
		return nil, inBoard(err)
	}
	// What is doubtful depends on the load as a whole.
	plate, err := soundboard.Prepare(ctx, m, soundboard.Options{Once: true})
	if err != nil {
		return nil, inBoard(err)
	}
	r, err := plate.Solve(ctx, braces, soundboard.Request{Load: out.pull.Load(m.Thickness)})
	if err != nil {
		return nil, inBoard(err)
	}
	for _, w := range m.Doubts(braces, r) {
		switch {
		case w.Field == "load":
			w.Field = "tension"
		case w.Field == "":
			w.Field = "soundboard"
		default:
			w.Field = "soundboard." + boardNames.Replace(w.Field)
		}
		out.doubts = append(out.doubts, w)
	}
	out.doubts = append(out.doubts, off...)
	return out, nil
}

// saddleOn is where the saddle of a guitar stands on its top, along x: so far from the body's edge as scale length, joint and setback
// put it, where the edge is the outline's furthest point towards the neck on the line of the bridge's middle. A little off
// the bridge is a warning, far off an error.
func saddleOn(m soundboard.Model, b neckset.Build) (unit.Length, []unit.Warning, error) {
	c := m.Bridge.Centre
	edge := unit.Length(math.Inf(-1))
	for i, q := range m.Outline {
		p := m.Outline[(i+len(m.Outline)-1)%len(m.Outline)]
		if (p.Y <= c.Y) != (q.Y <= c.Y) {
			edge = max(edge, p.X+(q.X-p.X)*((c.Y-p.Y)/(q.Y-p.Y)))
		}
	}
	saddle := edge - (b.ScaleLength + b.SaddleSetback - fretting.Distance(b.ScaleLength, b.JointFret) - b.JointOffset)
	const field = "soundboard.bridge.centre_mm"
	switch off := (saddle - c.X).Abs() - m.Bridge.Length/2; {
	case off > m.Bridge.Length:
		lo, hi := saddle-m.Bridge.Length/2, saddle+m.Bridge.Length/2
		return 0, nil, &Error{field, fmt.Sprintf("%s lies at %.1f mm: by scale length, joint fret and setback the saddle stands at %.1f mm, far off this bridge", field, c.X.MM(), saddle.MM()),
			fmt.Sprintf("%.1f to %.1f mm along the strings, or another guitar", lo.MM(), hi.MM())}
	case off > 0:
		return saddle, []unit.Warning{{Code: "saddle_off_bridge", Field: field, Say: unit.Say("By scale length, joint fret and setback the saddle stands %v off this bridge's footprint: check where the bridge lies.", off)}}, nil
	}
	return saddle, nil, nil
}

// strungupLimit looks up the chain's limits and those of its top.
func strungupLimit(key string) (unit.Limit, bool) {
	if l, ok := boardLimit(key); ok {
		return l, true
	}
	return strungup.LimitOf(key)
}
