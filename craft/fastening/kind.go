package fastening

import (
	"fmt"
	"slices"

	"fairset/unit"
)

// Kind is how a neck is held to its body.
type Kind string

// The kinds of fastening. The first is the usual one.
const (
	KindHanger Kind = "hanger" // hanger bolt: wood thread in the heel, nut inside the body
	KindInsert Kind = "insert" // machine bolt from inside the body into a threaded insert in the heel
	KindBarrel Kind = "barrel" // machine bolt from inside the body into a barrel nut that crosses the heel
	KindScrew  Kind = "screw"  // wood screw from inside the body into the heel
)

// Kinds lists the kinds in the order they are offered.
func Kinds() []Kind { return []Kind{KindHanger, KindInsert, KindBarrel, KindScrew} }

// Name says the kind in words.
func (k Kind) Name() unit.Text {
	switch k {
	case KindInsert:
		return "bolts into threaded inserts"
	case KindBarrel:
		return "bolts into barrel nuts across the heel"
	case KindScrew:
		return "wood screws"
	default:
		return "hanger bolts"
	}
}

// Insert is a threaded insert that screws into wood, as measured.
type Insert struct {
	Outer, Root unit.Length // over its outside thread, and at that thread's root; 4 to 20 mm
	Length      unit.Length // 5 to 40 mm
}

// UsualInsert returns the insert that goes with a machine thread when nothing was measured.
//
// Source: DIN 7965, screw-in inserts: M5 10 by 12 mm, M6 12 by 15 mm (from memory); their root taken 1 mm
// under the outside all round, and other threads in proportion. Common practice, no source: measure yours.
func UsualInsert(t Thread) Insert {
	outer := 2 * t.Major
	return Insert{Outer: outer, Root: outer - 2*unit.MM, Length: 2.5 * t.Major}
}

// Barrel is a barrel nut, also called a cross dowel, and where it lies.
type Barrel struct {
	Diameter unit.Length // 5 to 13 mm
	Length   unit.Length // 8 to 60 mm
	Set      unit.Length // from the end of the heel's tenon to the barrel's middle; 8 to 120 mm
}

// UsualBarrel returns an ordinary barrel nut: 10 mm thick, 14 mm long, its middle 30 mm from the tenon's end.
// source: common practice, no source.
func UsualBarrel() Barrel { return Barrel{10 * unit.MM, 14 * unit.MM, 30 * unit.MM} }

// Screw is a wood screw's size.
type Screw struct {
	Name        string
	Major, Root unit.Length
}

// Screws returns the wood screws of the table, thinnest first.
// Source: ASME B18.6.1 diameters 0.060 in + 0.013 in a number; roots NDS 2018, Appendix L, Table L3 (from memory).
func Screws() []Screw {
	out := []Screw{}
	for _, s := range []struct {
		n    int
		root float64
	}{{6, 0.113}, {8, 0.131}, {10, 0.152}, {12, 0.171}, {14, 0.196}} {
		out = append(out, Screw{fmt.Sprintf("#%d", s.n), unit.Length(0.060+0.013*float64(s.n)) * unit.Inch, unit.Length(s.root) * unit.Inch})
	}
	return out
}

// FindScrew returns a wood screw by its name. The error is a *unit.RangeError naming screw_size.
func FindScrew(name string) (Screw, error) {
	var names []string
	for _, s := range Screws() {
		if s.Name == name {
			return s, nil
		}
		names = append(names, s.Name)
	}
	return Screw{}, choiceError("screw_size", "wood screw", name, names)
}

// PlanInput is a whole joint to be drilled.
type PlanInput struct {
	Kind          Kind
	Drill         DrillInput  // thread, wood, fit and drills on hand; the thread of a wood screw is not asked
	Bite          unit.Length // wood thread in the heel without its point: hanger bolts and screws; 3 to 150 mm
	Out           unit.Length // wood thread of a hanger bolt left standing out; 0 to 20 mm
	Block         unit.Length // wood of the body that the bolt passes; 0 when not known, else 2 to 100 mm
	Insert        Insert
	Barrel        Barrel
	Screw         string        // name of a wood screw
	Depths        []unit.Length // centres from the top edge; may be empty
	HeelHeight    unit.Length   // 0 when not known
	HolderWidth   unit.Length   // of what the bolts run into, across: the tenon, or the heel; 0 when not known
	InEndGrain    bool          // the bolts run along the heel's grain
	StringMoment  float64       // N·m about the top edge; 0 when not known
	StringTension unit.Force    // 0 when not known
}

// Hole is one kind of hole of the joint, the same for every bolt.
type Hole struct {
	Key     string    // "body", "heel", "cross"
	Part    string    // "body" or "neck"
	What    unit.Text // "clearance hole", "lead hole"
	Drill   Drill
	Least   unit.Length // range the drill was chosen from
	Largest unit.Length
	Depth   unit.Length // set the stop to this, from the surface drilled into; 0: through
	From    unit.Text   // the surface the depth is measured from
	Why     unit.Phrase
	Source  string
	Fits    bool // false when no drill on hand lies in the range
	Across  bool // drilled from the side of the heel, not along the bolt
}

// Distance is how far a hole stands from an edge or from its neighbour, against what is asked.
type Distance struct {
	What   unit.Phrase
	Is     unit.Length
	Asked  unit.Length
	Enough bool
	Source string
}

// Plan is how a joint is drilled and put together.
type Plan struct {
	Kind      Kind
	Advice    DrillAdvice // of a hanger bolt's or machine bolt's thread; zero for a wood screw
	Holes     []Hole      // in the order they are drilled
	Bolt      [2]unit.Length
	HasBolt   bool // Bolt is the least and most length of bolt or screw that fits
	Engaged   unit.Length
	LeftOut   unit.Length // wood thread left out of the heel
	Distances []Distance
	Washer    Washer
	Nut       unit.Phrase // about the nut or the head
	Wrench    string
	Assembly  []unit.Phrase // how to put it together, in order
	Sources   []string
}

var (
	blockLimit       = lengthLimit("block_thickness", "wood of the body that a bolt passes", 2, 100)
	outLimit         = lengthLimit("bolt_out", "wood thread left out", 0, 20)
	insertOuterLimit = lengthLimit("insert_outer", "insert, outside thread", 4, 20)
	insertRootLimit  = lengthLimit("insert_root", "insert, root of its thread", 3, 20)
	insertLenLimit   = lengthLimit("insert_length", "insert length", 5, 40)
	barrelDiaLimit   = lengthLimit("barrel_diameter", "barrel nut, thickness", 5, 13)
	barrelLenLimit   = lengthLimit("barrel_length", "barrel nut, length", 8, 60)
	barrelSetLimit   = lengthLimit("barrel_set", "tenon's end to the barrel's middle", 8, 120)
)

const (
	// tipShare is the length of a lag thread's tapered point over its diameter: 5/32 in at 1/4 in.
	// source: NDS 2018, Appendix L, Table L2, tip E (from memory).
	tipShare = 0.625
	// room is how much deeper than what goes in a blind hole is drilled.
	// source: common practice, no source.
	room = 2 * unit.MM
	// barrelRoom is how far the lengthwise hole runs past a barrel, so that the bolt never stands on its bottom.
	// source: common practice, no source.
	barrelRoom = 5 * unit.MM
	// turnsOut is how many turns of thread should stand out of a snug nut.
	// source: common practice, no source.
	turnsOut = 2
	// mostTurnsOut is how many turns more may stand out before the end is in the way of a wrench.
	// source: common practice, no source.
	mostTurnsOut = 6
	// insertTurns is the least thread a bolt should have in an insert, in diameters.
	// source: common practice, no source.
	insertTurns = 1
	// nutShare is the height of a hex nut over the thread's diameter: 7/32 in at 1/4 in.
	// source: ASME B18.2.2 and ISO 4032, 0.87 to 0.94 for these threads (from memory); the larger taken.
	nutShare = 0.94
)

// Edge distances asked, in diameters of what holds.
// source: NDS 2018, Table 12.5.1E, lag screws loaded in withdrawal only: edge 1.5, spacing 4 (from memory).
const (
	edgeShare    = 1.5
	spacingShare = 4
	// Barrels pull along the grain side by side, across it: Table 12.5.1D, rows of dowels loaded along the grain (from memory).
	barrelSpacing = 1.5
)

// lengthLimit multiplies as the forms of a design do, so that both take the very same figures.
func lengthLimit(field string, label unit.Text, loMM, hiMM float64) unit.Limit {
	const mm = float64(unit.MM)
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: loMM * mm, Max: hiMM * mm}
}

func (in PlanInput) check() error {
	if !slices.Contains(Kinds(), in.Kind) {
		var names []string
		for _, k := range Kinds() {
			names = append(names, string(k))
		}
		return choiceError("fastening", "kind of fastening", string(in.Kind), names)
	}
	bite := biteLimit
	bite.Field = "bolt_bite"
	var errs []error
	switch in.Kind {
	case KindHanger:
		errs = append(errs, bite.Check(float64(in.Bite)), outLimit.Check(float64(in.Out)))
	case KindScrew:
		errs = append(errs, bite.Check(float64(in.Bite)))
	case KindInsert:
		errs = append(errs, insertOuterLimit.Check(float64(in.Insert.Outer)), insertRootLimit.Check(float64(in.Insert.Root)), insertLenLimit.Check(float64(in.Insert.Length)))
		if in.Insert.Root >= in.Insert.Outer {
			errs = append(errs, &unit.RangeError{Limit: insertRootLimit, Value: float64(in.Insert.Root), Why: unit.Say("the root must be thinner than the outside thread")})
		}
	case KindBarrel:
		errs = append(errs, barrelDiaLimit.Check(float64(in.Barrel.Diameter)), barrelLenLimit.Check(float64(in.Barrel.Length)), barrelSetLimit.Check(float64(in.Barrel.Set)))
	}
	if in.Block != 0 {
		errs = append(errs, blockLimit.Check(float64(in.Block)))
	}
	return unit.Checks(errs...)
}

// PlanJoint chooses every drill, stop and length of a joint, and checks where its holes stand.
//
// Errors are those of Advise, and *unit.RangeError naming the figure of the kind chosen by its key:
// fastening, bolt_bite, bolt_out, block_thickness, insert_outer, insert_root, insert_length, barrel_diameter,
// barrel_length, barrel_set, screw_size.
// Sources: each hole and distance names its own.
func PlanJoint(in PlanInput) (Plan, []unit.Warning, error) {
	if err := in.check(); err != nil {
		return Plan{}, nil, err
	}
	p := Plan{Kind: in.Kind}
	if in.Kind == KindScrew {
		return p.screw(in)
	}
	a, warn, err := Advise(in.Drill)
	if err != nil {
		return Plan{}, nil, err
	}
	owned, err := in.Drill.owned()
	if err != nil {
		return Plan{}, nil, err
	}
	if in.Kind != KindHanger { // what Advise says of a lead hole does not hold for the others
		warn = slices.DeleteFunc(warn, func(w unit.Warning) bool { return w.Code == "no_pilot_drill" || w.Code == "no_wood_thread" })
	}
	t := a.Thread
	p.Advice, p.Washer, p.Wrench = a, a.Washer, t.Wrench()
	p.Holes = append(p.Holes, Hole{Key: "body", Part: "body", What: "clearance hole", Drill: a.Clearance, Least: a.Standard, Largest: a.Standard, Fits: a.Clearance.Diameter >= t.Major,
		From: "the end of the body", Why: unit.Say("Through the block. Put scrap behind it, so that it does not break out."), Source: "ASME B18.2.8, ISO 273"})
	past := in.Block + a.Washer.Thickness
	switch in.Kind {
	case KindHanger:
		point := tipShare * t.Major
		p.Engaged, p.LeftOut = in.Bite, in.Out
		p.Holes = append(p.Holes, Hole{Key: "heel", Part: "neck", What: "lead hole", Drill: a.Pilot, Least: a.PilotRange[0], Largest: a.PilotRange[1], Depth: in.Bite + point + room,
			From: "the end of the heel", Fits: a.Pilot.Diameter >= a.PilotRange[0]-hair && a.Pilot.Diameter <= a.PilotRange[1]+hair,
			Why: unit.Join(a.Why, unit.Say("Thread %v, its point %v and %v of room.", in.Bite, unit.FineLength(point), room)), Source: "NDS 2018, 12.1.4.2 and Table L2 (from memory); room: common practice, no source"})
		reach := in.Bite + point + past + nutShare*t.Major + turnsOut*t.Pitch
		p.Bolt = [2]unit.Length{reach, reach + mostTurnsOut*t.Pitch}
		if in.Block > 0 && in.Out > past {
			warn = append(warn, unit.Warning{Code: "thread_left_out", Field: "bolt_out", Say: unit.Say("%v of wood thread left out is more than the block and washer take, %v: the nut would not reach its thread. Turn the bolt in further.", in.Out, past)})
		}
		p.Nut = unit.Say("Nut %v across flats, wrench %s.", unit.FineLength(t.NutAcross), t.Wrench())
		if t.NutAcross == 0.5*unit.Inch {
			// source: ASME B18.2.2: hex nut 1/2 in, machine screw nut 9/16 in, both for 5/16 in.
			p.Nut = unit.Join(p.Nut, unit.Say("There are two families of nuts for this thread: a machine screw nut is 9/16 in across flats. Lay the wrench on before you rely on it."))
		}
	case KindInsert:
		lo, hi := in.Insert.Root, in.Insert.Root+(in.Insert.Outer-in.Insert.Root)/4
		depth := in.Insert.Length + room
		h := Hole{Key: "heel", Part: "neck", What: "hole for the insert", Least: lo, Largest: hi, Depth: depth, From: "the end of the heel",
			Why: unit.Say("From the root of the insert's own thread to a quarter of the thread's depth over it; the harder the wood, the nearer the upper end. Try it in an offcut: inserts differ."), Source: "common practice, no source"}
		h.choose(owned, in.Drill.SpecificGravity > 0.6)
		p.Holes = append(p.Holes, h)
		p.Engaged = in.Insert.Length
		p.Bolt = [2]unit.Length{past + insertTurns*t.Major, past + in.Insert.Length}
		if in.Insert.Length < insertTurns*t.Major {
			warn = append(warn, unit.Warning{Code: "insert_short", Field: "insert_length", Say: unit.Say("An insert of %v gives the bolt less thread than its own thickness, %v.", in.Insert.Length, t.Major)})
		}
		p.Nut = unit.Say("The bolt's head and washer lie inside the body; the length is measured under the head.")
	case KindBarrel:
		d := in.Barrel.Diameter
		cross := Hole{Key: "cross", Part: "neck", What: "hole across the heel for the barrel", Least: d, Largest: d + 0.3*unit.MM, From: "the side of the heel", Across: true,
			Why: unit.Say("Square to the bolt, on its line. First of all holes in the heel, so that the bolt's hole breaks into it cleanly."), Source: "the barrel as measured; play up to 0.3 mm: common practice, no source"}
		if in.HolderWidth > 0 {
			cross.Depth = in.HolderWidth/2 + in.Barrel.Length/2
			if in.Barrel.Length >= in.HolderWidth {
				cross.Depth = 0
				warn = append(warn, unit.Warning{Code: "barrel_long", Field: "barrel_length", Say: unit.Say("A barrel of %v is as long as the heel or tenon is wide, %v: it would show on both sides.", in.Barrel.Length, in.HolderWidth)})
			}
		}
		cross.choose(owned, false)
		along := Hole{Key: "heel", Part: "neck", What: "hole for the bolt", Drill: a.Clearance, Least: a.Standard, Largest: a.Standard, Depth: in.Barrel.Set + d/2 + barrelRoom, From: "the end of the heel", Fits: a.Clearance.Diameter >= t.Major,
			Why: unit.Say("Past the barrel by %v, so that the bolt never stands on the bottom.", barrelRoom), Source: "ASME B18.2.8, ISO 273; room: common practice, no source"}
		p.Holes = append(p.Holes, cross, along)
		p.Engaged = d
		p.Bolt = [2]unit.Length{past + in.Barrel.Set + d/2, past + in.Barrel.Set + d/2 + barrelRoom - unit.MM}
		p.Nut = unit.Say("The bolt's head and washer lie inside the body. Turn the barrel's slot in line with the bolt before starting the thread.")
	}
	for _, h := range p.Holes[1:] {
		if !h.Fits && in.Kind != KindHanger {
			warn = append(warn, h.unfit())
		}
	}
	warn = append(warn, p.finish(in, p.holderDiameter(in))...)
	p.Sources = append([]string{}, a.Sources...)
	return p, warn, nil
}

// holderDiameter is the thickness of what sits in the heel.
func (p Plan) holderDiameter(in PlanInput) unit.Length {
	switch in.Kind {
	case KindInsert:
		return in.Insert.Outer
	case KindBarrel:
		return in.Barrel.Diameter
	}
	return p.Advice.Thread.Major
}

func (p Plan) screw(in PlanInput) (Plan, []unit.Warning, error) {
	s, err := FindScrew(in.Screw)
	if err != nil {
		return p, nil, err
	}
	if err := gravityLimit.Check(in.Drill.SpecificGravity); err != nil {
		return p, nil, err
	}
	owned, err := in.Drill.owned()
	if err != nil {
		return p, nil, err
	}
	warn := gravityWarning(in.Drill.SpecificGravity)
	p.Engaged = in.Bite
	body := Hole{Key: "body", Part: "body", What: "shank hole", Least: s.Major, Largest: s.Major + 0.4*unit.MM, From: "the end of the body",
		Why: unit.Say("The screw must slip through the block, or it holds the joint apart."), Source: "Wood Handbook: hole equal to the shank; play up to 0.4 mm: common practice, no source"}
	body.choose(owned, false)
	// source: NDS 2018, 12.1.5.2, wood screws in withdrawal: 90 % of the root in G > 0.6, 70 % in 0.5 < G <= 0.6 (from memory).
	share, why := 0.7, unit.Say("70 %% of the screw's root. The standard asks for no lead hole in a wood this light, but end grain near an edge splits.")
	switch g := in.Drill.SpecificGravity; {
	case g > 0.6:
		share, why = 0.9, unit.Say("90 %% of the screw's root, for a dense wood.")
	case g > 0.5:
		why = unit.Say("70 %% of the screw's root, for a wood of middle density.")
	}
	// The range runs from that to the root: a hole past the root would take the thread's wood.
	heel := Hole{Key: "heel", Part: "neck", What: "lead hole", Least: unit.Length(share) * s.Root, Largest: s.Root, Depth: in.Bite + room, From: "the end of the heel",
		Why: why, Source: "NDS 2018, 12.1.5.2 (from memory)"}
	heel.choose(owned, false)
	p.Holes = []Hole{body, heel}
	for _, h := range p.Holes {
		if !h.Fits {
			warn = append(warn, h.unfit())
		}
	}
	p.Bolt = [2]unit.Length{in.Block + in.Bite, in.Block + in.Bite + unit.MM}
	p.Nut = unit.Say("A washer under the head keeps it from sinking into the block.")
	p.Sources = []string{"ASME B18.6.1", "NDS 2018, 12.1.5.2 and Table L3 (from memory)", "Wood Handbook, chapter 8"}
	warn = append(warn, p.finish(in, s.Major)...)
	return p, warn, nil
}

// choose takes an owned drill from the hole's range: the thinnest in it, or with thick the thickest. Without
// one in the range it takes the nearest below that can still be opened, else the thinnest there is.
func (h *Hole) choose(owned []Drill, thick bool) {
	up, okUp := atOrAbove(owned, h.Least)
	down, okDown := atOrBelow(owned, h.Largest)
	h.Fits = okUp && okDown && up.Diameter <= h.Largest+hair
	switch {
	case h.Fits && thick:
		h.Drill = down
	case h.Fits:
		h.Drill = up
	case okDown:
		h.Drill = down
	default:
		h.Drill = owned[0]
	}
}

func (h Hole) unfit() unit.Warning {
	return unit.Warning{Code: "no_" + h.Key + "_drill", Field: "drill_series",
		Say: unit.Say("No drill at hand lies between %v and %v for this hole: %v; %v is the nearest.", unit.FineLength(h.Least), unit.FineLength(h.Largest), h.What, unit.FineLength(h.Drill.Diameter))}
}

// finish adds lengths, distances and how to put it together.
func (p *Plan) finish(in PlanInput, d unit.Length) (warn []unit.Warning) {
	if in.Block > 0 {
		p.HasBolt = true
	} else {
		p.Bolt = [2]unit.Length{}
	}
	near := unit.Phrase{}
	add := func(what unit.Phrase, is, asked unit.Length, source string) {
		ok := is >= asked-hair
		p.Distances = append(p.Distances, Distance{what, is, asked, ok, source})
		if !ok {
			near = unit.Join(near, unit.Say("%v for this: %v; %v is asked.", is, what, asked))
		}
	}
	const lag, dowel = "NDS 2018, Table 12.5.1E (from memory)", "NDS 2018, Tables 12.5.1C and 12.5.1D (from memory)"
	table, spacing, side := lag, unit.Length(spacingShare), d
	if in.Kind == KindBarrel {
		// The barrel lies along the tenon's width: beside it there only the bolt's hole asks for wood.
		table, spacing, side = dowel, barrelSpacing, p.Advice.Thread.Major
	}
	depths := slices.Clone(in.Depths)
	slices.Sort(depths)
	if n := len(depths); n > 0 {
		add(unit.Say("top edge to the middle of the first"), depths[0], edgeShare*d, table)
		if in.HeelHeight > 0 {
			add(unit.Say("middle of the last to the cap"), in.HeelHeight-depths[n-1], edgeShare*d, table)
		}
		for i := 1; i < n; i++ {
			add(unit.Say("middle of hole %d to middle of hole %d", i, i+1), depths[i]-depths[i-1], spacing*d, table)
		}
	}
	if in.HolderWidth > 0 {
		add(unit.Say("side of the tenon or heel to the middle"), in.HolderWidth/2, edgeShare*side, table)
	}
	if in.Kind == KindBarrel {
		// source: NDS 2018, Table 12.5.1A, dowel pulling toward the end of the grain: 5 diameters in hardwood for
		// the full figure, half of that for half of it (from memory).
		add(unit.Say("tenon's end to the barrel's middle"), in.Barrel.Set, barrelEnd*d/2, "NDS 2018, Table 12.5.1A, half figure in hardwood (from memory)")
	}
	if !near.Empty() {
		warn = append(warn, unit.Warning{Code: "near_edge", Field: "bolt_depths", Say: unit.Join(unit.Say("Little wood is left:"), near, unit.Say("It may split there: drill in small steps, and try an offcut first."))})
	}
	p.Assembly = assembly(in.Kind)
	return warn
}

// barrelEnd is the end distance for the full figure, in diameters of the barrel.
const barrelEnd = 5

// assembly says how to put a joint together and tighten it. No torque is given: wax, dust, wood and thread
// change what a torque does several times over, and no source gives one for end grain of a heel.
func assembly(k Kind) []unit.Phrase {
	snug := unit.Say("Tighten by turns, a little each, with a short wrench, until the washers can no longer be turned by hand. Then stop. Read the lean again tight.")
	check := unit.Say("Look again after a week and at the change of season: wood that shrinks leaves a nut loose.")
	none := unit.Say("No torque is given here: none is known for a thread in the end grain of a heel.")
	switch k {
	case KindInsert:
		return []unit.Phrase{unit.Say("Wax the insert. Screw it in square, with a bolt and two nuts locked on it, until it lies just under the surface."),
			unit.Say("Start each bolt by hand before any is tightened. It must never reach the bottom of its hole."), snug, none, check}
	case KindBarrel:
		return []unit.Phrase{unit.Say("Slide the barrel in with its slot showing, and turn the slot in line with the bolt."),
			unit.Say("Start each bolt by hand: a barrel out of line strips in one turn."), snug, none, check}
	case KindScrew:
		return []unit.Phrase{unit.Say("Wax the screw. Turn it in once before the joint goes together, and out again."),
			unit.Say("Every time it is taken out it holds less: in wood that comes apart often, use a bolt."), snug, none, check}
	}
	return []unit.Phrase{unit.Say("Lock two nuts on the machine thread, wax the wood thread and turn the bolt in; never hammer it. Leave the stated thread standing out."),
		unit.Say("If it turns hard, back it out and clear the hole; forcing it twists it off."), snug, none, check}
}
