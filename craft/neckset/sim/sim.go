// Package sim sets many imagined necks by one policy or another and counts what happens: how many passes
// it takes, and how often a pass goes past the target. It is pure and seeded: the same seed gives the same
// necks, the same slips of the hand and of the eye, whatever the policy, so that policies can be compared.
package sim

import (
	"math"
	"math/rand/v2"

	"fairset/craft/neckset"
	"fairset/unit"
)

// World is what the necks, the rule and the hand are like. Spreads are standard deviations.
type World struct {
	Name            string
	SaddleDistance  unit.Length
	Heel            neckset.Heel
	GapTarget       unit.Length
	GapNeedMin      unit.Length // the size of the first gap need is even between these, either sign
	GapNeedMax      unit.Length
	OffsetStart     unit.Length // spread of the first offset
	GapRead         unit.Length // spread of one reading
	OffsetRead      unit.Length
	GapTolerance    unit.Length
	OffsetTolerance unit.Length
	PassSpread      float64      // of the logarithm of what a pass takes over what its strokes should take
	RateSpread      float64      // of the logarithm of this guitar's rate over the rate first guessed
	Tool            neckset.Tool // what is guessed first
}

// Usual is the world the frontier is drawn for: our own stated figures for an ordinary neck, a rule read to
// half a graduation, and a rate of removal that is known only within about a third at the start.
func Usual() World {
	return World{
		Name:           "rate unknown",
		SaddleDistance: 284 * unit.MM,
		Heel:           neckset.Heel{Height: 88 * unit.MM, WidthTop: 58 * unit.MM, WidthCap: 32 * unit.MM},
		GapTarget:      7 * unit.MM,
		GapNeedMin:     0.3 * unit.MM, GapNeedMax: 2.5 * unit.MM,
		OffsetStart: 1 * unit.MM,
		GapRead:     0.15 * unit.MM, OffsetRead: 0.25 * unit.MM,
		GapTolerance: 0.3 * unit.MM, OffsetTolerance: 0.5 * unit.MM,
		PassSpread: 0.15, RateSpread: 0.30,
		Tool: neckset.Tool{Key: "board-120", PerStroke: 0.007 * unit.MM, SpreadLn: 0.01},
	}
}

// KnownRate is the same world with a rate of removal known from the start.
func KnownRate() World {
	w := Usual()
	w.Name, w.RateSpread = "rate known", 0
	return w
}

// Action is what a policy does next.
type Action int

// The actions.
const (
	Stop Action = iota
	Read
	Cut
)

// Move is an action, and for a cut the change aimed at on each axis.
type Move struct {
	Action      Action
	Gap, Offset unit.Length // + leans back, + head to treble
	Strokes     int         // 0: as many as the rate asks for
}

// Bench is one neck under one policy.
type Bench interface {
	// Reading takes in a reading of both axes.
	Reading(gap, offset unit.Length)
	// Next says what to do after it, given the rate known by now.
	Next(rate neckset.Rate) Move
}

// Policy starts on a neck.
type Policy struct {
	Name  string
	Rule  string // the family it belongs to, e.g. "fraction of the reading"
	Start func(World) Bench
}

// Result is what became of many necks.
type Result struct {
	Policy, Rule string
	Necks        int
	Passes       float64 // mean number of passes
	ToTolerance  float64 // mean number of passes until the neck truly lies within tolerance on both axes, one that is left outside counting one more
	Readings     float64 // mean number of readings
	Past         float64 // share of necks on which any pass went past the target, on either axis
	PastBeyond   float64 // the same, past it by more than the tolerance
	InTolerance  float64 // share of necks that truly lay within tolerance on both axes when left
	MostPasses   int
}

// maxSteps ends a neck that a policy will neither cut nor leave.
const maxSteps = 60

// Run sets n necks by the policy.
func Run(w World, p Policy, n int, seed uint64) Result {
	out := Result{Policy: p.Name, Rule: p.Rule, Necks: n}
	var passes, readings, to, past, beyond, in int
	for i := range n {
		one := setOne(w, p, rand.New(rand.NewPCG(seed, uint64(i))))
		passes += one.passes
		readings += one.readings
		to += one.to
		out.MostPasses = max(out.MostPasses, one.passes)
		past += count(one.past)
		beyond += count(one.beyond)
		in += count(one.in)
	}
	f := float64(n)
	out.Passes, out.Readings = float64(passes)/f, float64(readings)/f
	out.ToTolerance = float64(to) / f
	out.Past, out.PastBeyond, out.InTolerance = float64(past)/f, float64(beyond)/f, float64(in)/f
	return out
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

type fate struct {
	passes, readings, to int
	past, beyond, in     bool
}

func setOne(w World, p Policy, r *rand.Rand) fate {
	need := float64(w.GapNeedMin) + r.Float64()*float64(w.GapNeedMax-w.GapNeedMin)
	if r.Float64() < 0.5 {
		need = -need
	}
	swing := float64(w.OffsetStart) * r.NormFloat64()
	rate := float64(w.Tool.PerStroke) * math.Exp(w.RateSpread*r.NormFloat64())
	// Readings and cuts draw from streams of their own, so that one more reading does not change the cuts.
	eyes, hands := rand.New(rand.NewPCG(r.Uint64(), 1)), rand.New(rand.NewPCG(r.Uint64(), 2))

	in := neckset.CutInput{SaddleDistance: w.SaddleDistance, Heel: w.Heel}
	bench := p.Start(w)
	var seen []neckset.Removal
	var f fate
	var gapRead, offRead float64
	look := func() {
		f.readings++
		gapRead = need + float64(w.GapRead)*eyes.NormFloat64()
		offRead = swing + float64(w.OffsetRead)*eyes.NormFloat64()
		bench.Reading(w.GapTarget-unit.Length(gapRead), unit.Length(offRead))
	}
	within := func() bool {
		return math.Abs(need) <= float64(w.GapTolerance) && math.Abs(swing) <= float64(w.OffsetTolerance)
	}
	f.to = -1
	arrive := func() {
		if f.to < 0 && within() {
			f.to = f.passes
		}
	}
	arrive()
	look()
	known := neckset.LearnRate(w.Tool, "this", nil)
	for range maxSteps {
		if w.RateSpread == 0 {
			known.SpreadLn = 0
			known.PerStroke = w.Tool.PerStroke
		}
		m := bench.Next(known)
		if m.Action == Stop {
			break
		}
		if m.Action == Read {
			look()
			continue
		}
		f.passes++
		depth, _ := in.Plane(m.Gap, m.Offset)
		strokes := m.Strokes
		if strokes == 0 {
			strokes = known.Strokes(depth.Deepest())
		}
		// What really came off, as a fraction of what was aimed at: one hand, so the same for both axes.
		did := rate * math.Exp(w.PassSpread*hands.NormFloat64()) * float64(strokes) / float64(depth.Deepest())
		before := [2]float64{gapRead, offRead}
		need -= did * float64(m.Gap)
		swing -= did * float64(m.Offset)
		check := func(left float64, aimed unit.Length, tol unit.Length) {
			over := -left * math.Copysign(1, float64(aimed))
			if aimed != 0 && over > 0 {
				f.past = true
				f.beyond = f.beyond || over > float64(tol)
			}
		}
		check(need, m.Gap, w.GapTolerance)
		check(swing, m.Offset, w.OffsetTolerance)
		arrive()
		look()
		// Everyone learns the rate from the readings before and after, whatever else they make of them.
		d, sd, ok := neckset.InferRemoval(neckset.Cut{PlannedGap: m.Gap, PlannedOffset: m.Offset, Planned: depth},
			unit.Length(before[0]-gapRead), w.GapRead*math.Sqrt2, unit.Length(offRead-before[1]), w.OffsetRead*math.Sqrt2)
		if ok {
			seen = append(seen, neckset.Removal{Guitar: "this", Tool: w.Tool.Key, Strokes: strokes, Depth: d, DepthSD: sd})
			known = neckset.LearnRate(w.Tool, "this", seen)
		}
	}
	f.in = within()
	if f.to < 0 {
		f.to = f.passes + 1
	}
	return f
}
