package guitar

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"maps"
	"math"
	"slices"

	"fairset/craft/soundboard"
	"fairset/unit"
)

// FromTop is the choice of a rise of the top that is worked out from its wood and braces.
const FromTop = "top"

// Spreads of a rise that is worked out.
const (
	// topStiffness is how far one board's stiffness may lie from its kind's mean, as a share. source: Wood Handbook, FPL-GTR-282,
	// table 5-6 (from memory) has 22 % for the modulus of elasticity of one species.
	topStiffness = 0.2
	// topMethod is what rim, glue and the plate's own sums may add. A stated guess, no source.
	topMethod = 0.05 * unit.MM
)

// TopPull is what the strings do to the bridge's foot.
type TopPull struct {
	Tension unit.Force
	Over    unit.Length // string over the top at the saddle, as designed: bridge and saddle together
}

// PullOnTop is the pull of a design's strings on its top.
func PullOnTop(d Values) TopPull {
	return TopPull{Tension: Tension(d), Over: d.Length("bridge_thickness") + d.Length("saddle_projection")}
}

// Load is the same as the sums of the plate take it: the pull acts at the string's height, so about the middle of a top this thick it
// has a moment besides.
func (p TopPull) Load(thickness unit.Length) soundboard.Load {
	return soundboard.Load{Moment: float64(p.Tension) * float64(p.Over+thickness/2), Pull: p.Tension}
}

// SaddleRise is how far the top has risen where the saddle stands, from the tail: the bridge is stiff, so that it turns as a block.
func SaddleRise(m soundboard.Model, r *soundboard.Result, saddle unit.Length) unit.Length {
	if m.Bridge == nil {
		return 0
	}
	return r.Mean - unit.Length(math.Tan(float64(r.Rotation)))*(saddle-m.Bridge.Centre.X)
}

// TopGive is how a top gives way to its strings. Everything is linear in the load, so two loads answer for all.
type TopGive struct {
	Thickness unit.Length
	Moment    TopStep // for each N·m of couple on the bridge
	Pull      TopStep // for each newton of pull along the strings
	// Stiffer is by how much Moment and Pull change when the wood is a fifth stiffer: that of the top, that of the braces.
	Stiffer [2]struct{ Moment, Pull TopStep }
	// Warnings are of the design's woods and braces.
	Warnings []unit.Warning
}

// TopStep is what one unit of load does.
type TopStep struct {
	Rise float64 // of the saddle, m
	Turn float64 // of the bridge, as a slope
}

func (g *TopGive) rise(m, p TopStep, tension unit.Force, arm unit.Length) float64 {
	return float64(tension) * (float64(arm+g.Thickness/2)*m.Rise + p.Rise)
}

// Rise is how far the saddle rises under strings that stand arm over the top there. It answers as strungup.Top does.
func (g *TopGive) Rise(tension unit.Force, arm unit.Length) (unit.Length, error) {
	return unit.Length(g.rise(g.Moment, g.Pull, tension, arm)), nil
}

// Turn is how far the bridge tips forward under the same.
func (g *TopGive) Turn(tension unit.Force, arm unit.Length) unit.Angle {
	return unit.Angle(math.Atan(float64(tension) * (float64(arm+g.Thickness/2)*g.Moment.Turn + g.Pull.Turn)))
}

// Spread is the standard deviation of Rise: stiffness of top and of braces each off by a fifth, by itself, and what the method may miss.
func (g *TopGive) Spread(tension unit.Force, arm unit.Length) unit.Length {
	sum := float64(topMethod) * float64(topMethod)
	for _, s := range g.Stiffer {
		d := g.rise(s.Moment, s.Pull, tension, arm)
		sum += d * d
	}
	return unit.Length(math.Sqrt(sum))
}

// TurnSpread is the standard deviation of Turn from the stiffness of top and of braces, each off by a fifth by itself.
func (g *TopGive) TurnSpread(tension unit.Force, arm unit.Length) unit.Angle {
	sum := 0.0
	for _, s := range g.Stiffer {
		d := float64(tension) * (float64(arm+g.Thickness/2)*s.Moment.Turn + s.Pull.Turn)
		sum += d * d
	}
	slope := math.Tan(float64(g.Turn(tension, arm)))
	return unit.Angle(math.Sqrt(sum) / (1 + slope*slope))
}

// coarse is how fine the plate is cut where only the effect of other wood is sought.
var coarse = soundboard.Options{Cells: 32, Single: true}

// topNear is to what the bridge's place is rounded for the plate, so that a change of strings or action that moves the saddle by
// a hair does not have the plate worked out again. No bridge is glued nearer than that.
const topNear = 0.1 * unit.MM

// plateOf is a design's top for the plate, with the saddle's place from the tail.
func plateOf(d Values) (soundboard.Model, []soundboard.Brace, unit.Length, []unit.Warning, error) {
	s, warns, err := Body(d)
	if err != nil {
		return soundboard.Model{}, nil, 0, nil, err
	}
	off := unit.Length(math.Round(float64(s.Bridge.Centre.X/topNear)))*topNear - s.Bridge.Centre.X
	s.Bridge.Centre.X += off
	s.Bridge.Saddle += off
	m, braces, more, err := topOf(d, s)
	return m, braces, s.Bridge.Saddle, append(warns, more...), err
}

// TopGiveOf works out how a design's top gives way. It takes some seconds the first time a top is met, and nothing after that: the
// answer for each of the last tops is kept. Errors are Problems naming the fields to fill or to mend.
func TopGiveOf(d Values) (*TopGive, error) { return topGive(context.Background(), d) }

// WarmTop works out beforehand what a design's top does, where its target goes by that; nothing is done for any other. Given up, it
// returns ctx's error. What keeps the top from being worked out is no error here: CheckDesign tells it.
func WarmTop(ctx context.Context, d Values) error {
	if d.Choice("top_rise_from") == FromTop {
		if _, err := topGive(ctx, d); err != nil && ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return nil
}

func topGive(ctx context.Context, d Values) (*TopGive, error) {
	got := topsByDesign.of(ctx, Sum(d), func(ctx context.Context) topAnswer {
		m, braces, saddle, warns, err := plateOf(d)
		if err != nil {
			return topAnswer{err: err}
		}
		a := plateGive(ctx, m, braces, saddle)
		if a.err != nil {
			return topAnswer{err: bodyError(d, a.err)}
		}
		g := *a.give
		g.Warnings = warns
		return topAnswer{give: &g}
	})
	return got.give, got.err
}

// PlateGive works out how any top gives way whose model has a bridge, with the saddle's place from the tail on the model's own axis; kept as
// TopGiveOf's answers are, and by the same sums. Errors are those of package soundboard, or ctx's.
func PlateGive(ctx context.Context, m soundboard.Model, braces []soundboard.Brace, saddle unit.Length) (*TopGive, error) {
	a := plateGive(ctx, m, braces, saddle)
	return a.give, a.err
}

func plateGive(ctx context.Context, m soundboard.Model, braces []soundboard.Brace, saddle unit.Length) topAnswer {
	whole, err := json.Marshal(struct {
		M soundboard.Model
		B []soundboard.Brace
		S unit.Length
	}{m, braces, saddle})
	if err != nil {
		return topAnswer{err: err}
	}
	return topsByPlate.of(ctx, sha256.Sum256(whole), func(ctx context.Context) topAnswer {
		g, err := giveOf(ctx, m, braces, saddle)
		return topAnswer{give: g, err: err}
	})
}

func giveOf(ctx context.Context, m soundboard.Model, braces []soundboard.Brace, saddle unit.Length) (*TopGive, error) {
	g := &TopGive{Thickness: m.Thickness}
	both := func(p *soundboard.Plate, m soundboard.Model, braces []soundboard.Brace) (moment, pull TopStep, err error) {
		for _, l := range []struct {
			load soundboard.Load
			into *TopStep
		}{{soundboard.Load{Moment: 1}, &moment}, {soundboard.Load{Pull: 1}, &pull}} {
			r, err := p.Solve(ctx, braces, soundboard.Request{Load: l.load})
			if err != nil {
				return moment, pull, err
			}
			*l.into = TopStep{Rise: float64(SaddleRise(m, r, saddle)), Turn: math.Tan(float64(r.Rotation))}
		}
		return moment, pull, nil
	}
	fine, err := soundboard.Prepare(ctx, m, soundboard.Options{})
	if err != nil {
		return nil, err
	}
	if g.Moment, g.Pull, err = both(fine, m, braces); err != nil {
		return nil, err
	}
	rough, err := soundboard.Prepare(ctx, m, coarse)
	if err != nil {
		return nil, err
	}
	m0, p0, err := both(rough, m, braces)
	if err != nil {
		return nil, err
	}
	for i := range g.Stiffer {
		plate, sm, sb := rough, m, slices.Clone(braces)
		if i == 0 {
			sm.Material = stiffer(m.Material, 1+topStiffness, 1+topStiffness)
			if plate, err = soundboard.Prepare(ctx, sm, coarse); err != nil {
				return nil, err
			}
		} else {
			for j := range sb {
				sb[j].Material = stiffer(sb[j].Material, 1+topStiffness, 1+topStiffness)
			}
		}
		m1, p1, err := both(plate, sm, sb)
		if err != nil {
			return nil, err
		}
		g.Stiffer[i].Moment = TopStep{m1.Rise - m0.Rise, m1.Turn - m0.Turn}
		g.Stiffer[i].Pull = TopStep{p1.Rise - p0.Rise, p1.Turn - p0.Turn}
	}
	return g, nil
}

// stiffer is a wood whose stiffness is a share of what it was: along the grain, and across it with all shear.
func stiffer(m soundboard.Material, along, across float64) soundboard.Material {
	a, c := unit.Stress(along), unit.Stress(across)
	m.E1 *= a
	m.E2, m.E3 = m.E2*c, m.E3*c
	m.G12, m.G13, m.G23 = m.G12*c, m.G13*c, m.G23*c
	return m
}

// Sum tells designs apart by everything in them.
func Sum(d Values) [sha256.Size]byte {
	h := sha256.New()
	var b [8]byte
	for _, k := range slices.Sorted(maps.Keys(d)) {
		h.Write([]byte(k))
		for _, v := range d[k] {
			h.Write([]byte{0})
			h.Write([]byte(v.Text))
			binary.LittleEndian.PutUint64(b[:], math.Float64bits(v.SI))
			h.Write(b[:])
		}
		h.Write([]byte{1})
	}
	return [sha256.Size]byte(h.Sum(nil))
}
