package fastening

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"fairset/unit"
)

// MostHoles bounds the list of measured holes.
const MostHoles = 16

// minRim is the least rim of a washer that must still bear on wood beside a reamed hole.
// source: common practice, no source (our own figure).
const minRim = 1 * unit.MM

var (
	gravityLimit = unit.Limit{Field: "specific_gravity", Label: unit.Say("specific gravity of the heel wood"), Kind: unit.KindRatio, Min: 0.1, Max: 1.4}
	errorLimit   = unit.Limit{Field: "hole_errors", Label: unit.Say("how far a hole missed"), Kind: unit.KindLength, Min: 0, Max: 0.010}
	holeLimit    = unit.Limit{Field: "hole", Label: unit.Say("hole"), Kind: unit.KindLength, Min: 0, Max: 0.050}
)

// DrillInput asks for the drills of one bolt.
type DrillInput struct {
	Thread          string        // as FindThread reads it
	SpecificGravity float64       // of the heel wood, ovendry; 0.1 to 1.4
	Fit             string        // close, normal or loose; normal when empty
	Series          []string      // drill series the shop owns; all when empty
	HoleErrors      []unit.Length // how far each hole of the body misses the bolt, radially; may be empty
	Drills          []string      // what the shop owns, as Owned reads it; instead of Series when not empty
}

// Bite is what thread a hole leaves for the wood end of a bolt.
type Bite struct {
	Hole  unit.Length
	Name  string      // the drill's name, when it is a drill
	Share float64     // of the full depth of thread that stands in wood, 0 to 1
	Depth unit.Length // radial depth of thread in wood
}

// DrillAdvice is what to drill, and why.
type DrillAdvice struct {
	Thread     Thread
	Wood       WoodThread // zero value when the table has none of this size
	HasWood    bool
	Standard   unit.Length // clearance hole the standard gives
	Clearance  Drill       // owned drill for the body's hole
	Pilot      Drill       // owned drill for the heel's hole
	PilotRange [2]unit.Length
	Float      unit.Length // radial play of the bolt in the clearance hole
	ReamNeed   unit.Length // hole that would give the play the worst hole wants; 0 when none is needed
	ReamTo     unit.Length // the owned drill at or above that; 0 when none is needed
	ReamDrill  Drill       // zero value when none is needed, or none is large enough
	Washer     Washer      // smallest washer that still covers the hole
	Covers     bool        // false when no washer of the table does
	Nut        unit.Length // across flats
	Bites      []Bite      // thread left by the pilot and by other holes up to the bolt's own size
	Why        unit.Phrase // why this pilot
	Practice   unit.Phrase // what shops do beyond the standard, and its risk
	Caution    unit.Phrase
	Sources    []string
}

// DefaultBoltDepths returns where two bolts usually stand below the top: 1 1/4 in and 2 1/4 in.
// source: common practice, no source.
func DefaultBoltDepths() []unit.Length { return []unit.Length{1.25 * unit.Inch, 2.25 * unit.Inch} }

// Hanger is the usual bolt of a bolt-on neck.
type Hanger struct {
	Length  unit.Length // over all
	LeftOut unit.Length // wood thread left standing out of the heel
}

// UsualHanger returns the bolt most necks take: about 2 in long, about 1/4 in of its wood thread left out.
// source: common practice, no source.
func UsualHanger() Hanger { return Hanger{Length: 2 * unit.Inch, LeftOut: 0.25 * unit.Inch} }

// PilotRange returns the least and largest lead hole for a wood thread of a shank diameter.
//
//	G ≤ 0.5: 40 to 70 % of the shank · 0.5 < G ≤ 0.6: 60 to 75 % · G > 0.6: 65 to 85 %
//
// Nothing is checked: Advise does.
// Source: NDS 2018, 12.1.4.2 (from memory).
func PilotRange(shank unit.Length, gravity float64) (least, largest unit.Length) {
	switch {
	case gravity <= 0.5:
		return 0.40 * shank, 0.70 * shank
	case gravity <= 0.6:
		return 0.60 * shank, 0.75 * shank
	default:
		return 0.65 * shank, 0.85 * shank
	}
}

// Engagement returns the share of the wood thread's depth that a hole leaves standing in wood.
//
//	share = (d - hole)/(d - root), no less than 0 and no more than 1
//
// d and root are outside and root diameter of the wood thread. A hole up to the root leaves all of it.
// Nothing is checked; a hole that is not finite gives 0.
func (w WoodThread) Engagement(hole unit.Length) float64 {
	s := float64((w.Nominal - hole) / (w.Nominal - w.Root))
	if !unit.Finite(s) {
		return 0
	}
	return math.Min(1, math.Max(0, s))
}

// Engagement returns what thread a hole leaves for a hanger bolt of the named machine thread.
// Errors are *unit.RangeError naming thread or hole (0 to 50 mm).
func Engagement(thread string, hole unit.Length) (Bite, error) {
	t, err := FindThread(thread)
	if err != nil {
		return Bite{}, err
	}
	if err := holeLimit.Check(float64(hole)); err != nil {
		return Bite{}, err
	}
	w, ok := t.Wood()
	if !ok {
		return Bite{}, &unit.RangeError{Limit: unit.Limit{Field: "thread", Label: unit.Say("thread"), Kind: unit.KindChoice}, Got: thread, Why: unit.Say("the table has no wood thread of this size"), Choices: withWood()}
	}
	return w.bite(hole, ""), nil
}

func (w WoodThread) bite(hole unit.Length, name string) Bite {
	share := w.Engagement(hole)
	return Bite{Hole: hole, Name: name, Share: share, Depth: unit.Length(share) * (w.Nominal - w.Root) / 2}
}

func withWood() []string {
	var out []string
	for _, t := range tables().threads {
		if _, ok := t.Wood(); ok {
			out = append(out, t.Name)
		}
	}
	return out
}

// Advise chooses the drills for one bolt from those the shop owns: clearance hole in the body by the
// standard of the thread, lead hole in the heel by the wood's density, and how far to ream when holes missed.
//
// The clearance drill is the thinnest owned at or above the standard hole. The pilot is the thickest owned
// inside the range, never above it: the upper end, because it turns in with least torque and removes no
// more than the thread's root would. Reaming is for the body's hole, never the neck's.
//
// Errors are *unit.RangeError naming thread, specific_gravity, clearance_fit, drill_series or hole_errors.
// Sources: ASME B18.2.8, ISO 273, ASME B18.2.2, ISO 4032, ASME B18.2.1, NDS 2018 12.1.4.2; see each row.
func Advise(in DrillInput) (DrillAdvice, []unit.Warning, error) {
	var a DrillAdvice
	t, err := FindThread(in.Thread)
	if err != nil {
		return a, nil, err
	}
	if err := gravityLimit.Check(in.SpecificGravity); err != nil {
		return a, nil, err
	}
	if in.Fit == "" {
		in.Fit = Fits()[Normal]
	}
	fit := slices.Index(Fits(), in.Fit)
	if fit < 0 {
		return a, nil, choiceError("clearance_fit", "fit of the clearance hole", in.Fit, Fits())
	}
	owned, err := in.owned()
	if err != nil {
		return a, nil, err
	}
	worst, err := worstError(in.HoleErrors)
	if err != nil {
		return a, nil, err
	}

	var warn []unit.Warning
	a = DrillAdvice{Thread: t, Standard: t.Clearance[fit], Nut: t.NutAcross,
		Caution: Caution()}
	a.Wood, a.HasWood = t.Wood()
	a.Sources = a.sources(t)

	var ok bool
	if a.Clearance, ok = standardDrill(owned, a.Standard); !ok {
		warn = append(warn, unit.Warning{Code: "no_clearance_drill", Field: "drill_series",
			Say: unit.Say("None of these drills is as large as the standard hole of %v; the largest is %s. Get one of at least that size before drilling the body.", unit.FineLength(a.Standard), a.Clearance.Name)})
	} else if a.Clearance.Diameter > t.Clearance[Loose]+printed && fit != int(Loose) {
		warn = append(warn, unit.Warning{Code: "clearance_coarse", Field: "drill_series",
			Say: unit.Say("The nearest drill at hand, %s, is larger than even the loose hole of %v: the bolt will not place the neck by itself.", a.Clearance.Name, unit.FineLength(t.Clearance[Loose]))})
	}
	a.Float = (a.Clearance.Diameter - t.Major) / 2
	if a.Float < 0 {
		a.Float = 0
		warn = append(warn, unit.Warning{Code: "bolt_does_not_pass", Field: "drill_series",
			Say: unit.Say("A bolt of %v does not pass a hole of %s.", unit.FineLength(t.Major), a.Clearance.Name)})
	}

	warn = append(warn, a.choosePilot(owned, in.SpecificGravity)...)
	warn = append(warn, a.chooseReamer(owned, worst)...)
	warn = append(warn, gravityWarning(in.SpecificGravity)...)
	return a, warn, nil
}

// Caution is what to mind at any of the drills.
func Caution() unit.Phrase {
	return unit.Say("Clamp the work and wear eye and ear protection; keep the dust out of your lungs. Back the hole with scrap so that it does not break out. The drill's own manual comes first.")
}

// Said names the drill as it is asked for: "9/32 in", "#7", "4.5 mm".
func (d Drill) Said() string {
	if d.Series == "fractional" {
		return d.Name + " in"
	}
	return d.Name
}

// In names the drill as Said does, a metric one with the decimal mark of the maker's language: "4,5 mm".
func (d Drill) In(s unit.Style) string {
	if s.Language().Comma() && d.Series == "metric" {
		return strings.Replace(d.Name, ".", ",", 1)
	}
	return d.Said()
}

func (in DrillInput) owned() ([]Drill, error) {
	if len(in.Drills) > 0 {
		return Owned(in.Drills...)
	}
	return Drills(in.Series...)
}

func worstError(errs []unit.Length) (unit.Length, error) {
	if len(errs) > MostHoles {
		return 0, &unit.RangeError{Limit: unit.Limit{Field: "hole_errors", Label: unit.Say("number of holes"), Kind: unit.KindCount, Min: 0, Max: MostHoles}, Value: float64(len(errs))}
	}
	var worst unit.Length
	for i, e := range errs {
		l := errorLimit
		l.Field = fmt.Sprintf("hole_errors[%d]", i)
		if err := l.Check(float64(e)); err != nil {
			return 0, err
		}
		worst = max(worst, e)
	}
	return worst, nil
}

func gravityWarning(g float64) []unit.Warning {
	// Beyond the woods the withdrawal table was made for the formulas are stretched.
	table := tables().withdrawal
	densest, lightest := table[0].Gravity, table[len(table)-1].Gravity
	if g >= lightest && g <= densest {
		return nil
	}
	return []unit.Warning{{Code: "gravity_outside_table", Field: "specific_gravity",
		Say: unit.Say("A specific gravity of %v lies outside the woods the tables were made for (%v to %v): try the hole in an offcut of the same wood.", g, lightest, densest)}}
}

func (a *DrillAdvice) choosePilot(owned []Drill, gravity float64) (warn []unit.Warning) {
	t := a.Thread
	lo, hi := PilotRange(t.Major, gravity)
	a.PilotRange = [2]unit.Length{lo, hi}
	// Never past the upper end while a smaller drill is there: a small hole can be opened, wood cannot come back.
	p, ok := atOrBelow(owned, hi)
	if !ok {
		p = owned[0]
	}
	a.Pilot = p
	inside := ok && p.Diameter >= lo-hair
	a.Why = unit.Say("Take the upper end: a hole of %v to %v holds in this wood, and the largest turns in with the least torque, so the heel is least likely to split and the bolt to shear.", unit.FineLength(lo), unit.FineLength(hi))
	if !inside {
		a.Why = unit.Say("No drill at hand lies between %v and %v; %s is the nearest.", unit.FineLength(lo), unit.FineLength(hi), a.Pilot.Name)
		warn = append(warn, unit.Warning{Code: "no_pilot_drill", Field: "drill_series", Say: a.Why})
	}
	if !a.HasWood {
		a.Practice = unit.Say("Measure the root of the wood thread on the bolt itself and do not drill past it.")
		return append(warn, unit.Warning{Code: "no_wood_thread", Field: "thread",
			Say: unit.Say("The lag screw table has no wood thread of the size of %s, so the thread left by a hole cannot be given. The pilot goes by the bolt's diameter and the wood alone: measure the root of the thread on the bolt and do not drill past it.", t.Name)})
	}
	a.Bites = a.bites()
	large := a.Wood.shopHole()
	left := unit.Say("%.0f %%", a.Wood.Engagement(large)*100)
	a.Practice = unit.Say("Shops do drill larger in hard end grain, 15/64 in for a 1/4 in bolt, because a tight hole can split a short heel or twist a bolt off. It is a risk: for this bolt a hole as near its own size (%v) leaves only %v of the thread's depth in the wood, where the standard's leaves far more. If a bolt will not turn in, wax it and try the next drill up in an offcut first.",
		unit.FineLength(large), left)
	return warn
}

// shopHole is the large hole met in practice, 15/64 in for a 1/4 in bolt, and as much under any other: 1/64 in.
// source: common practice, no source; for bolts other than 1/4 in carried over by us.
func (w WoodThread) shopHole() unit.Length { return w.Nominal - unit.Inch/64 }

// bites lists what holes leave: from the least of the range to the bolt's own size, in 64ths of an inch, or
// in half millimetres for a metric thread, with the recommended pilot and the root among them.
func (a *DrillAdvice) bites() []Bite {
	step, series := unit.Inch/64, "fractional"
	if a.Thread.Metric {
		step, series = 0.5*unit.MM, "metric"
	}
	seen := map[string]bool{}
	var out []Bite
	add := func(d Drill) {
		if !seen[d.Name] {
			seen[d.Name] = true
			out = append(out, a.Wood.bite(d.Diameter, d.Name))
		}
	}
	for _, d := range tables().drills {
		n := float64(d.Diameter / step)
		if d.Series == series && math.Abs(n-math.Round(n)) < 1e-6 && d.Diameter >= a.PilotRange[0]-hair && d.Diameter <= a.Wood.Nominal+hair {
			add(d)
		}
	}
	add(a.Pilot)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Hole < out[j].Hole })
	return out
}

func (a *DrillAdvice) chooseReamer(owned []Drill, worst unit.Length) (warn []unit.Warning) {
	hole := a.Clearance.Diameter
	if worst > a.Float+hair {
		a.ReamNeed = a.Thread.Major + 2*worst
		d, ok := atOrAbove(owned, a.ReamNeed)
		if ok {
			a.ReamDrill, a.ReamTo = d, d.Diameter
		} else {
			a.ReamTo = a.ReamNeed
			warn = append(warn, unit.Warning{Code: "no_ream_drill", Field: "drill_series",
				Say: unit.Say("No drill at hand is as large as %v. Plug the hole in the body with a glued dowel and drill it again, or use a reamer.", unit.FineLength(a.ReamNeed))})
		}
		hole = a.ReamTo
	}
	// The hole stands off the bolt by its error.
	a.Washer, a.Covers = a.Thread.washer(hole, worst)
	if !a.Covers {
		warn = append(warn, unit.Warning{Code: "washer_does_not_cover", Field: "hole_errors",
			Say: unit.Say("A hole of %v that stands %v off the bolt is not covered by a washer of %v. Plug the hole in the body with a glued dowel and drill it again, or make a wider washer.", unit.FineLength(hole), unit.FineLength(worst), unit.FineLength(a.Washer.Outer))})
	}
	return warn
}

func (a *DrillAdvice) sources(t Thread) []string {
	out := []string{t.Source, "lead hole: NDS 2018, 12.1.4.2 (from memory)"}
	if a.HasWood {
		out = append(out, "wood thread: "+a.Wood.Source)
	}
	return append(out, "drill sizes: ASME B94.11M, ISO 235", "larger holes, bolt length and place: common practice, no source")
}

// hair is far below any drill's tolerance; it keeps rounding from refusing a drill that is exactly the size.
const hair = 1e-9 * unit.Metre

// standardDrill is the owned drill for a standard hole: the nearest of those the standard's printed figure
// may stand for, else the thinnest above it.
func standardDrill(owned []Drill, hole unit.Length) (Drill, bool) {
	best, found := Drill{}, false
	for _, o := range owned {
		off := (o.Diameter - hole).Abs()
		if off <= printed && (!found || off < (best.Diameter-hole).Abs()-hair) {
			best, found = o, true
		}
	}
	if found {
		return best, true
	}
	return atOrAbove(owned, hole)
}

func atOrAbove(owned []Drill, d unit.Length) (Drill, bool) {
	for _, o := range owned {
		if o.Diameter >= d-hair {
			return o, true
		}
	}
	return owned[len(owned)-1], false
}

func atOrBelow(owned []Drill, d unit.Length) (Drill, bool) {
	for i := len(owned) - 1; i >= 0; i-- {
		if owned[i].Diameter <= d+hair {
			return owned[i], true
		}
	}
	return Drill{}, false
}

// sortDrills orders by diameter; where two are equal the series keep the order of Series.
func sortDrills(d []Drill) {
	sort.SliceStable(d, func(i, j int) bool { return d[i].Diameter < d[j].Diameter-hair })
}

func contains(list []string, s string) bool { return slices.Contains(list, s) }

func choiceError(field string, label unit.Text, got string, choices []string) *unit.RangeError {
	e := &unit.RangeError{Limit: unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindChoice}, Got: got, Value: math.NaN(), Why: unit.Say("not one that is known here"), Choices: choices}
	if strings.TrimSpace(got) == "" {
		e.Why = unit.Say("one must be chosen")
	}
	return e
}
