package neckset

import (
	"math"

	"fairset/unit"
)

// Tool is a way of taking wood off the heel face, with what a stroke of it is guessed to take.
type Tool struct {
	Key       string
	Name      unit.Text
	PerStroke unit.Length // our own stated guess, until removals teach better
	SpreadLn  float64     // standard deviation of its natural logarithm: 0.7 is about a factor of two either way
	Caution   unit.Text
}

const (
	dustCaution   unit.Text = "Wear a dust mask and eye protection; the dust of some woods harms skin and lungs."
	stripCaution  unit.Text = "Wear a dust mask. Pull straight: a strip that climbs rounds the shoulder's edge and marks the finish."
	fileCaution   unit.Text = "Clamp the neck. Keep a handle on the file's tang, and brush the dust away rather than blowing it."
	chiselCaution unit.Text = "Clamp the neck. Keep both hands behind the cutting edge, and pare toward nothing you would miss."
	scrapeCaution unit.Text = "Clamp the neck. Mind the scraper's corners and its hot edge."
)

// Tools returns the tools there are guesses for. The depths per stroke are our own stated guesses for a
// hardwood heel (common practice, no source): a stroke is one push and back of the same block, one pull of
// a strip, one cut of an edge.
func Tools() []Tool {
	return []Tool{
		{"board-80", "sanding board, 80 grit", 0.012 * unit.MM, 0.7, dustCaution},
		{"board-120", "sanding board, 120 grit", 0.007 * unit.MM, 0.7, dustCaution},
		{"board-180", "sanding board, 180 grit", 0.004 * unit.MM, 0.7, dustCaution},
		{"strip-80", "abrasive strip, 80 grit, pulled between heel and body", 0.010 * unit.MM, 0.7, stripCaution},
		{"strip-120", "abrasive strip, 120 grit, pulled between heel and body", 0.006 * unit.MM, 0.7, stripCaution},
		{"file", "fine flat file", 0.020 * unit.MM, 0.7, fileCaution},
		{"scraper", "scraper", 0.025 * unit.MM, 0.7, scrapeCaution},
		{"chisel", "chisel, paring", 0.10 * unit.MM, 0.8, chiselCaution},
	}
}

// FindTool returns the tool of that key, and whether there is one.
func FindTool(key string) (Tool, bool) {
	for _, t := range Tools() {
		if t.Key == key {
			return t, true
		}
	}
	return Tool{}, false
}

// Removal is one pass that was made: how many strokes, and how deep they went at the deepest corner, as
// inferred from the readings before and after (see InferRemoval).
type Removal struct {
	Guitar, Tool   string
	Strokes        int
	Depth, DepthSD unit.Length
}

// Rate is what a stroke takes on one guitar, as far as is known.
type Rate struct {
	PerStroke unit.Length // median
	SpreadLn  float64     // standard deviation of its logarithm, for this guitar
	PassLn    float64     // what differs from pass to pass, likewise; 0 for the stated guess
	Own, Shop int         // passes on this guitar and on others that it is learned from
}

const (
	// betweenGuitars is how much the rate differs from guitar to guitar with the same tool (wood, heel size,
	// how worn the abrasive is), and passSpread how much from pass to pass on one; both as standard
	// deviations of the logarithm. Our own stated guesses.
	betweenGuitars = 0.30
	passSpread     = 0.15
)

// LearnRate returns the rate of a tool on a guitar from the passes seen, when the spreads are taken as the stated
// guesses; Learned.Rate learns them too. The stated guess of the rate comes first, drawn toward what other guitars of the shop showed, and that toward what this guitar showed. Removals with
// other tools, without strokes or without a finite depth and a spread above zero teach nothing.
//
// The logarithm of each guitar's rate is taken to scatter about the shop's by betweenGuitars, and a pass
// about its guitar's by passSpread; each depth counts by its own spread. Source: derived in docs/method/neckset.md.
func LearnRate(tool Tool, guitar string, seen []Removal) Rate {
	mu, v := math.Log(float64(tool.PerStroke)), tool.SpreadLn*tool.SpreadLn
	const between = betweenGuitars * betweenGuitars
	var own []Removal
	var names []string // in the order they come, so that the sums are the same every time
	others := map[string][]Removal{}
	out := Rate{}
	for _, r := range seen {
		if r.Tool != tool.Key || r.Strokes <= 0 || !r.Depth.Finite() || !(r.DepthSD > 0) || !r.DepthSD.Finite() {
			continue
		}
		if r.Guitar == guitar {
			own = append(own, r)
			out.Own++
			continue
		}
		if _, ok := others[r.Guitar]; !ok {
			names = append(names, r.Guitar)
		}
		others[r.Guitar] = append(others[r.Guitar], r)
		out.Shop++
	}
	prior, precision := mu, 1/v
	sum := mu / v
	for _, name := range names {
		// What this guitar alone says of its rate, and through it, less surely, of the shop's.
		m, pm := fitRate(prior, v+between, others[name], passSpread)
		said := 1/pm - 1/(v+between)
		if said <= 0 {
			continue
		}
		at := (m/pm - prior/(v+between)) / said
		w := 1 / (1/said + between)
		sum += at * w
		precision += w
	}
	m, s2 := fitRate(sum/precision, 1/precision+between, own, passSpread)
	out.PerStroke, out.SpreadLn = unit.Length(math.Exp(m)), math.Sqrt(s2)
	return out
}

// fitRate returns the mean and variance of the log rate x after the removals, from a normal prior, passes
// differing by pass: the likeliest x by Gauss and Newton with depth = strokes e^x, and the curvature there.
func fitRate(prior, variance float64, seen []Removal, pass float64) (x, v float64) {
	x = prior
	var info float64
	for range 12 {
		info = 1 / variance
		score := (prior - x) / variance
		for _, r := range seen {
			d := float64(r.Strokes) * math.Exp(x)
			sd2 := float64(r.DepthSD)*float64(r.DepthSD) + pass*pass*d*d
			score += d * (float64(r.Depth) - d) / sd2
			info += d * d / sd2
		}
		step := score / info
		x += math.Max(-1, math.Min(1, step))
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return x, 1 / info
}

// Strokes returns how many strokes a depth asks for: the nearest whole number, at least 1 for any depth.
func (r Rate) Strokes(depth unit.Length) int {
	if !(depth > 0) || !(r.PerStroke > 0) {
		return 0
	}
	return max(1, int(math.Round(math.Min(float64(depth/r.PerStroke), 1e6))))
}

// CutSD returns the spread of a cut counted in strokes, as a fraction of it: how unsure the rate is together
// with what differs from pass to pass, as the coefficient of variation sqrt(exp(s²) - 1) of a log-normal.
// At most 1.
func (r Rate) CutSD() float64 {
	pass := r.PassLn
	if pass == 0 {
		pass = passSpread
	}
	return math.Min(1, math.Sqrt(math.Expm1(r.SpreadLn*r.SpreadLn+pass*pass)))
}

// InferRemoval returns how deep a pass really went at its deepest corner, and the spread of that, from the
// cut that was planned and what the readings then showed: the changes of gap and offset seen (after less
// before), each with its spread. Take as before what was believed just ahead of the cut, and as after only
// what was read since; the belief of after already leans on the plan. Both axes are taken to have gone the same fraction of the way.
// ok is false when the plan was nothing or neither change was read.
func InferRemoval(c Cut, gapChange, gapSD, offsetChange, offsetSD unit.Length) (depth, sd unit.Length, ok bool) {
	var num, den float64
	add := func(aimed, seen, s unit.Length) {
		if aimed == 0 || !(s > 0) || !s.Finite() || !seen.Finite() {
			return
		}
		w := float64(aimed) / (float64(s) * float64(s))
		num += w * float64(seen)
		den += w * float64(aimed)
	}
	add(c.PlannedGap, gapChange, gapSD)
	add(-c.PlannedOffset, offsetChange, offsetSD)
	if den <= 0 {
		return 0, 0, false
	}
	deepest := float64(c.Planned.Deepest())
	return unit.Length(num / den * deepest), unit.Length(deepest / math.Sqrt(den)), true
}
