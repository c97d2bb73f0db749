package sim

import (
	"fmt"
	"math"

	"fairset/craft/neckset"
	"fairset/unit"
)

// Carried is our own policy: the belief carried over readings and cuts, and NextCut with tolerances.
func Carried(risk float64) Policy {
	return Policy{fmt.Sprintf("carried belief, risk %g %%", risk*100), "carried belief", func(w World) Bench {
		return &carried{w: w, risk: risk, gap: neckset.Unknown(), off: neckset.Unknown()}
	}}
}

type carried struct {
	w        World
	risk     float64
	perPass  bool // the risk is taken on every axis and pass
	gap, off neckset.Belief
	made     neckset.Cut // sums of the planned changes

	// For learning the rate: the last pass, what was believed before it, and what was read since.
	last                neckset.Cut
	strokes             int
	gapBefore, gapSince neckset.Belief
	offBefore, offSince neckset.Belief
	seen                []neckset.Removal
}

func (b *carried) Reading(gap, offset unit.Length) {
	if b.strokes > 0 {
		// What the last pass did, from what was believed before it and every reading since.
		b.gapSince, _ = b.gapSince.Read(gap, b.w.GapRead)
		b.offSince, _ = b.offSince.Read(offset, b.w.OffsetRead)
		d, sd, ok := neckset.InferRemoval(b.last, b.gapSince.Mean-b.gapBefore.Mean, hyp(b.gapSince.SD, b.gapBefore.SD),
			b.offSince.Mean-b.offBefore.Mean, hyp(b.offSince.SD, b.offBefore.SD))
		if ok {
			b.seen[len(b.seen)-1].Depth, b.seen[len(b.seen)-1].DepthSD = d, sd
		}
	}
	b.gap, _ = b.gap.Read(gap, b.w.GapRead)
	b.off, _ = b.off.Read(offset, b.w.OffsetRead)
}

func hyp(a, b unit.Length) unit.Length { return unit.Length(math.Hypot(float64(a), float64(b))) }

func (b *carried) Next(rate neckset.Rate) Move {
	if b.w.RateSpread > 0 && b.strokes > 0 {
		rate = neckset.LearnRate(b.w.Tool, "this", b.seen)
	}
	in := neckset.CutInput{
		SaddleDistance: b.w.SaddleDistance, Heel: b.w.Heel,
		GapTarget: b.w.GapTarget, GapMeasured: b.gap.Mean, OffsetMeasured: b.off.Mean,
		GapSD: b.gap.SD, OffsetSD: b.off.SD, CutSD: rate.CutSD(), Risk: b.risk,
		GapTolerance: b.w.GapTolerance, OffsetTolerance: b.w.OffsetTolerance,
		GapReadSD: b.w.GapRead, OffsetReadSD: b.w.OffsetRead,
		GapMade: b.made.PlannedGap, OffsetMade: b.made.PlannedOffset,
	}
	if b.perPass {
		if (in.GapTarget - in.GapMeasured).Abs() <= in.GapTolerance {
			in.GapMeasured = in.GapTarget
		}
		if in.OffsetMeasured.Abs() <= in.OffsetTolerance {
			in.OffsetMeasured = 0
		}
		in.GapTolerance, in.OffsetTolerance = 0, 0
	}
	c, _, err := neckset.NextCut(in)
	if err != nil {
		return Move{Action: Stop} // a reading outside any range: the maker would start again
	}
	switch c.Verdict {
	case neckset.LeaveIt:
		return Move{Action: Stop}
	case neckset.ReadAgain:
		return Move{Action: Read}
	}
	b.made.PlannedGap += c.PlannedGap
	b.made.PlannedOffset += c.PlannedOffset
	b.gapBefore, b.offBefore, b.gapSince, b.offSince = b.gap, b.off, neckset.Unknown(), neckset.Unknown()
	b.last = c
	b.strokes = rate.Strokes(c.Planned.Deepest())
	b.seen = append(b.seen, neckset.Removal{Guitar: "this", Tool: b.w.Tool.Key, Strokes: b.strokes})
	b.gap, b.off = c.After(b.gap, b.off, in.CutSD)
	return Move{Cut, c.PlannedGap, c.PlannedOffset, b.strokes}
}

// plain is a rule that looks at the last reading only.
type plain struct {
	w        World
	looks    int     // readings to take the mean of before each move; 0 or 1: the last alone
	n        int     // taken since the last cut
	gap, off float64 // needs, mean of the readings since the last cut
	amount   func(axis int, need float64) float64
	again    int
}

func (b *plain) Reading(gap, offset unit.Length) {
	if b.n >= max(1, b.looks) {
		b.n = 0
	}
	b.n++
	b.gap += (float64(b.w.GapTarget-gap) - b.gap) / float64(b.n)
	b.off += (float64(offset) - b.off) / float64(b.n)
}

func (b *plain) Next(neckset.Rate) Move {
	if b.n < b.looks {
		return Move{Action: Read}
	}
	m := Move{Action: Stop}
	want := false
	if math.Abs(b.gap) > float64(b.w.GapTolerance) {
		want = true
		m.Gap = unit.Length(b.amount(0, b.gap))
	}
	if math.Abs(b.off) > float64(b.w.OffsetTolerance) {
		want = true
		m.Offset = unit.Length(b.amount(1, b.off))
	}
	switch {
	case m.Gap != 0 || m.Offset != 0:
		m.Action, b.again, b.n = Cut, 0, 0
	case want && b.again < 5:
		m.Action = Read
		b.again++
	}
	return m
}

// Fraction cuts a constant fraction of the last reading on each axis that reads outside its tolerance.
func Fraction(f float64) Policy {
	return Policy{fmt.Sprintf("%.0f %% of the reading", f*100), "fraction of the reading", func(w World) Bench {
		return &plain{w: w, amount: func(_ int, need float64) float64 { return f * need }}
	}}
}

// FractionOfTwo is Fraction of the mean of two readings.
func FractionOfTwo(f float64) Policy {
	return Policy{fmt.Sprintf("%.0f %% of the mean of two readings", f*100), "fraction of two readings", func(w World) Bench {
		return &plain{w: w, looks: 2, amount: func(_ int, need float64) float64 { return f * need }}
	}}
}

// Fixed cuts the same small change at the saddle each pass, or the reading if that is less.
func Fixed(step unit.Length) Policy {
	return Policy{fmt.Sprintf("%.2g mm a pass", step.MM()), "fixed amount", func(w World) Bench {
		return &plain{w: w, amount: func(_ int, need float64) float64 {
			return math.Copysign(math.Min(float64(step), math.Abs(need)), need)
		}}
	}}
}

// Single is the careful cut from the last reading alone, with a fixed spread of the cut.
func Single(risk, cutSD float64) Policy {
	return Policy{fmt.Sprintf("single reading, risk %g %%", risk*100), "single-reading rule", func(w World) Bench {
		return &plain{w: w, amount: func(axis int, need float64) float64 {
			in := neckset.CutInput{
				SaddleDistance: w.SaddleDistance, Heel: w.Heel, GapTarget: w.GapTarget, GapMeasured: w.GapTarget,
				GapSD: w.GapRead, OffsetSD: w.OffsetRead, CutSD: cutSD, Risk: risk,
			}
			if axis == 0 {
				in.GapMeasured -= unit.Length(need)
				c, _, _ := neckset.NextCut(in)
				return float64(c.PlannedGap)
			}
			in.OffsetMeasured = unit.Length(need)
			c, _, _ := neckset.NextCut(in)
			return float64(c.PlannedOffset)
		}}
	}}
}

// CarriedPerPass carries the belief too, but takes the risk on every axis and pass, and stops when the belief
// lies within tolerance: the same estimate with the plain careful cut of NextCut. At 50 % it cuts the whole
// need each time. It draws the end of the frontier where going past is of no account.
func CarriedPerPass(risk float64) Policy {
	return Policy{fmt.Sprintf("carried belief, %g %% a pass", risk*100), "carried belief, risk a pass", func(w World) Bench {
		return &carried{w: w, risk: risk, perPass: true, gap: neckset.Unknown(), off: neckset.Unknown()}
	}}
}
