// Package bill lists what a guitar takes: the parts to cut with their rough sizes, the holes to drill, the
// hardware, strings and wire to have, and what it all costs at the maker's own prices. Lists of several
// guitars can be added up.
//
// Every figure follows from the design; what the design does not give is named and left out, never guessed.
// Rough sizes are the finished size and an allowance, which is stated with each list.
package bill

import (
	"math"
	"slices"

	"fairset/craft/body"
	"fairset/craft/fastening"
	"fairset/craft/fretting"
	"fairset/craft/guitar"
	"fairset/craft/wood"
	"fairset/unit"
)

// BoardFoot is the volume of a board foot: 144 cubic inches, a foot square and an inch thick.
const BoardFoot = 144 * 0.0254 * 0.0254 * 0.0254 // m³

// Litre is the volume of a litre.
const Litre = 0.001 // m³

// Part is one piece, or several alike, to be cut from wood, bone or the like.
type Part struct {
	Key      string // "neck", "board"
	Name     unit.Phrase
	Count    int
	Wood     unit.Text      // what it is made of, when the design says
	Finished [3]unit.Length // length, width, thickness
	Rough    [3]unit.Length
	From     unit.Text // how the size follows from the design
}

// Volume is the wood of all pieces at their rough size, in m³.
func (p Part) Volume() float64 {
	return float64(p.Count) * float64(p.Rough[0]) * float64(p.Rough[1]) * float64(p.Rough[2])
}

// BoardFeet is Volume in board feet: the true volume. A yard counts a board thinner than an inch as an inch.
func (p Part) BoardFeet() float64 { return p.Volume() / BoardFoot }

// Litres is Volume in litres.
func (p Part) Litres() float64 { return p.Volume() / Litre }

// Allowances for rough sizes; common practice, no source.
const (
	roughLong  = 12 * unit.MM // each length: squared and trimmed at both ends
	roughWide  = 5 * unit.MM  // each width
	roughThick = 1 * unit.MM  // thin plates
	roughBlock = 3 * unit.MM  // blocks and blanks over 12 mm thick
	blockOver  = 12 * unit.MM
	headLength = 180 * unit.MM // neck beyond the nut, when the design does not give it
	heelReach  = 60 * unit.MM  // heel along the neck from the shoulders toward the head
	sideOver   = 40 * unit.MM  // each side, for trimming at both ends
	cheekWood  = 10 * unit.MM  // of the neck block either side of the mortise beyond the heel
)

// Allowed says the allowances in words.
func Allowed() unit.Phrase {
	return unit.Say("Rough sizes are finished sizes and %v in length, %v in width, and %v in thickness, %v for what is thicker than %v. Common practice, no source: take more where your saw or planer needs it.", roughLong, roughWide, roughThick, roughBlock, blockOver)
}

func rough(f [3]unit.Length) [3]unit.Length {
	thick := roughThick
	if f[2] > blockOver {
		thick = roughBlock
	}
	return [3]unit.Length{f[0] + roughLong, f[1] + roughWide, f[2] + thick}
}

// Parts lists what is cut for a guitar, and names what the design does not give. A repair has none.
func Parts(d guitar.Values) (parts []Part, missing []unit.Phrase) {
	if !d.Has("frets") {
		return nil, []unit.Phrase{unit.Say("everything: a repair has no design")}
	}
	lacks := func(what unit.Text) { missing = append(missing, unit.Say(what)) }
	named := func(key string, name unit.Phrase, count int, of string, from unit.Text, size ...unit.Length) {
		f := [3]unit.Length{size[0], size[1], size[2]}
		for _, v := range f {
			if !(v > 0) {
				missing = append(missing, name)
				return
			}
		}
		parts = append(parts, Part{key, name, count, woodName(of), f, rough(f), from})
	}
	add := func(key string, name unit.Text, count int, of string, from unit.Text, size ...unit.Length) {
		named(key, unit.Say(name), count, of, from, size...)
	}
	t, _, err := guitar.Build(d).Target()
	if err != nil {
		return nil, []unit.Phrase{unit.Say("everything: the design does not join up")}
	}
	heel := guitar.Heel(d)
	wide := max(heel.WidthTop, d.Length("neck_width_joint"), d.Length("neck_width_nut"))
	if shaft := d.Length("neck_depth_joint"); shaft > 0 { // without the board
		long := headLength + t.NutToJoint + d.Length("tenon_length")
		add("neck", "neck shaft and head", 1, d.Choice("neck_wood"), "nut to joint, tenon, and 180 mm of head; as wide as the heel", long, wide, max(shaft, blockOver))
		if rest := heel.Height - shaft; rest > 0 {
			n := int(math.Ceil(float64(rest / max(shaft, blockOver))))
			add("heel", "heel stack", n, d.Choice("neck_wood"), "glued under the shaft to the heel's height; 60 mm and the tenon long", heelReach+d.Length("tenon_length"), wide, rest/unit.Length(n))
		}
	} else {
		lacks("neck shaft and heel (give the neck's depth at the joint)")
	}
	boardLong := d.Length("board_length")
	if boardLong == 0 {
		if b, err := guitar.BoardOf(d); err == nil {
			boardLong = b.Layout.Length
		}
	}
	if boardLong > 0 && d.Has("neck_width_joint") {
		scale := d.Length("scale_length")
		// The board widens along a straight taper from nut to joint and on to its end.
		end := d.Length("neck_width_nut") + unit.Length(float64(boardLong/t.NutToJoint))*(d.Length("neck_width_joint")-d.Length("neck_width_nut"))
		if boardLong < scale {
			add("board", "fretboard", 1, d.Choice("board_wood"), "its length and its width at the wider end", boardLong, max(end, d.Length("neck_width_nut")), d.Length("board_thickness"))
		}
	} else {
		lacks("fretboard (give its widths and the spread of the strings)")
	}
	add("nut", "nut‖of the neck", 1, "", "as long as the board is wide there, 6 mm thick, 10 mm high", d.Length("neck_width_nut"), 10*unit.MM, 6*unit.MM)
	add("saddle", "saddle", 1, "", "the spread of the strings and 8 mm past them at each end; its height over the bridge and 6 mm in the slot; 3 mm thick", saddleLength(d), d.Length("saddle_projection")+6*unit.MM, 3*unit.MM)
	across, along := d.Length("bridge_across"), d.Length("bridge_along")
	if across > 0 && along > 0 {
		add("bridge", "bridge", 1, d.Choice("bridge_wood"), "as drawn", across, along, d.Length("bridge_thickness"))
	} else {
		lacks("bridge (give how far it goes across and along the top)")
	}
	if edge, _, err := guitar.Outline(d); err == nil {
		widest, _ := edge.Widest()
		add("top", "half of the top", 2, d.Choice("top_wood"), "body's length by half its widest", edge.Length(), widest/2, orLength(d, "top_thickness", 2.8*unit.MM))
		add("back", "half of the back", 2, d.Choice("back_wood"), "body's length by half its widest", edge.Length(), widest/2, orLength(d, "back_thickness", 2.5*unit.MM))
		if deep := max(d.Length("side_depth_tail"), d.Length("body_depth")); deep > 0 {
			add("side", "side‖of the body", 2, d.Choice("side_wood"), "half way round the body's edge, and 40 mm", edge.Perimeter()/2+sideOver, deep, d.Length("side_thickness"))
		} else {
			lacks("sides (their depth is not in the design)")
		}
	} else {
		lacks("top, back and sides (give the body's length and widths)")
	}
	rest := unit.Text("braces, bridge plate, linings, tail block, binding and rosette")
	if top, _, err := guitar.Body(d); err == nil && len(top.Braces)+len(top.Patches) > 0 {
		rest = "braces of the back, linings, tail block, binding and rosette"
		for _, b := range top.Braces {
			named("brace", body.Called(b.Name), 1, b.Wood, "its length on the top, its width, and its height where it is tallest", b.Length(), b.Tallest(), b.Width)
		}
		for _, p := range top.Patches {
			long, wide := p.Blank()
			named("plate", body.Called(p.Name), 1, p.Wood, "along its grain, across it, and its thickness", long, wide, p.Thickness)
		}
	}
	if block := d.Length("block_thickness"); block > 0 {
		add("block", "neck block", 1, "", "the heel's height along its grain, 10 mm past the heel on each side, the mortise and the wood behind it", heel.Height, heel.WidthTop+2*cheekWood, block+d.Length("tenon_length"))
	} else {
		lacks("neck block (give the wood the bolt passes in the body)")
	}
	lacks(rest)
	return parts, missing
}

func orLength(d guitar.Values, key string, usual unit.Length) unit.Length {
	if d.Has(key) {
		return d.Length(key)
	}
	return usual
}

func saddleLength(d guitar.Values) unit.Length {
	if s := d.Length("saddle_spread"); s > 0 {
		return s + 16*unit.MM
	}
	return 0
}

func woodName(key string) unit.Text {
	if s, ok := wood.Find(key); ok {
		return s.Name
	}
	return ""
}

// Drilled is one kind of hole to drill, for one guitar or several.
type Drilled struct {
	Guitars []string  // names of the guitars
	Order   int       // on one guitar
	Part    unit.Text // "body", "heel"
	What    unit.Text
	Drill   fastening.Drill
	Depth   unit.Length // 0: through
	From    unit.Text   // where the depth is measured from
	Count   int
	Places  []unit.Length // centres from the top edge; may be empty
	Why     unit.Phrase
}

// The parts that holes are drilled in.
const (
	inBody unit.Text = "body"
	inHeel unit.Text = "heel"
	inNeck unit.Text = "neck"
)

// dotDepth is how deep a side dot's hole is. source: common practice, no source.
const (
	dotDepth = 3 * unit.MM
	dotRod   = 2 * unit.MM
)

// Holes lists every hole a design knows of, in the order they are drilled. drills are those the shop owns,
// as fastening.Owned reads them; none for the design's own series. A repair has none.
func Holes(name string, d guitar.Values, drills []string) ([]Drilled, []unit.Warning, error) {
	if !d.Has("thread") {
		return nil, nil, nil
	}
	p, _, warn, err := guitar.PlanJoint(d, nil, drills)
	if err != nil {
		return nil, nil, err
	}
	var out []Drilled
	depths := d.Lengths("bolt_depths")
	for _, h := range p.Holes {
		part := inBody
		if h.Part == "neck" {
			part = inHeel
		}
		out = append(out, Drilled{Guitars: []string{name}, Order: len(out) + 1, Part: part, What: h.What, Drill: h.Drill, Depth: h.Depth, From: h.From, Count: len(depths), Places: depths, Why: h.Why})
	}
	marks := fretting.Usual()
	if d.Count("strings") == 4 {
		marks = fretting.Small()
	}
	if dots, err := fretting.DotsAt(d.Length("scale_length"), d.Count("frets"), marks); err == nil {
		n := 0
		for _, x := range dots {
			n += x.Count
		}
		if drill, ok := nearest(drills, d.Choices("drill_series"), dotRod); ok && n > 0 {
			out = append(out, Drilled{Guitars: []string{name}, Order: len(out) + 1, Part: inNeck, What: "side dots", Drill: drill, Depth: dotDepth, From: "the edge of the board", Count: n,
				Why: unit.Say("For rod of %v; measure yours and try the hole in an offcut.", dotRod)})
		}
	}
	return out, warn, nil
}

// nearest returns the owned drill nearest a size, the thicker of two as near.
func nearest(drills, series []string, size unit.Length) (best fastening.Drill, ok bool) {
	var owned []fastening.Drill
	var err error
	if len(drills) > 0 {
		owned, err = fastening.Owned(drills...)
	} else {
		owned, err = fastening.Drills(series...)
	}
	if err != nil {
		return best, false
	}
	for _, o := range owned {
		if !ok || (o.Diameter-size).Abs() <= (best.Diameter-size).Abs() {
			best, ok = o, true
		}
	}
	return best, ok
}

// AddHoles joins the holes of several guitars: those of one part, kind, drill and depth become one line with
// the guitars' names. Lines are ordered by drill, so that each drill is put in the chuck once.
func AddHoles(lists ...[]Drilled) []Drilled {
	var out []Drilled
	for _, list := range lists {
		for _, h := range list {
			at := slices.IndexFunc(out, func(o Drilled) bool {
				return o.Part == h.Part && o.What == h.What && o.Drill == h.Drill && (o.Depth-h.Depth).Abs() < unit.MM/100
			})
			if at < 0 {
				h.Guitars = slices.Clone(h.Guitars)
				h.Order, h.Places = 0, nil
				out = append(out, h)
				continue
			}
			o := &out[at]
			o.Count += h.Count
			o.Guitars = append(o.Guitars, h.Guitars...)
		}
	}
	slices.SortStableFunc(out, func(a, b Drilled) int {
		switch {
		case a.Drill.Diameter < b.Drill.Diameter:
			return -1
		case a.Drill.Diameter > b.Drill.Diameter:
			return 1
		}
		return 0
	})
	return out
}

// Kind says how an item is counted.
type Kind string

// The kinds.
const (
	ByPiece  Kind = "each"
	BySet    Kind = "set"
	ByLength Kind = "length" // in metres
	ByVolume Kind = "volume" // in cubic metres
)

// Item is something to have for a guitar.
type Item struct {
	Key    string // what a price is given for: "bolt", "neck"
	Name   unit.Phrase
	Kind   Kind
	Amount float64 // pieces, sets, metres or cubic metres
	Pieces int     // of wood
}

// Quantity writes the amount in a maker's units.
func (i Item) Quantity(s unit.Style) string {
	switch i.Kind {
	case ByLength:
		if s.Metric() {
			return s.Decimal(i.Amount, 2) + " m"
		}
		return s.Decimal(i.Amount/0.3048, 1) + " ft"
	case ByVolume:
		if s.Metric() {
			return s.Say("%d (%s litres)", i.Pieces, Volume(i.Amount/Litre, s))
		}
		return s.Say("%d (%s board feet)", i.Pieces, Volume(i.Amount/BoardFoot, s))
	case BySet:
		return s.Count(int(math.Round(i.Amount)), "%d set‖of strings", "%d sets‖of strings")
	}
	return s.Decimal(i.Amount, 0)
}

// Volume writes litres or board feet to two figures or so, for a maker.
func Volume(v float64, s unit.Style) string {
	switch {
	case v >= 10:
		return s.Decimal(v, 1)
	case v >= 0.1:
		return s.Decimal(v, 2)
	}
	return s.Decimal(v, 3)
}

// Items lists what a guitar takes, wood first. A repair takes strings only.
func Items(d guitar.Values) []Item {
	var out []Item
	parts, _ := Parts(d)
	for _, p := range parts {
		name := p.Name
		if p.Wood != "" {
			name = unit.Say("%v, %v", name, p.Wood)
		}
		out = append(out, Item{Key: p.Key, Name: name, Kind: ByVolume, Amount: p.Volume(), Pieces: p.Count})
	}
	if d.Has("thread") {
		out = append(out, hardware(d)...)
	}
	if b, err := guitar.BoardOf(d); err == nil {
		out = append(out, Item{Key: "wire", Name: unit.Say("fret wire, a tenth to spare"), Kind: ByLength, Amount: float64(b.Wire.Buy)})
	}
	if n := d.Count("strings"); n > 0 {
		out = append(out, Item{Key: "tuner", Name: unit.Say("tuning machines or pegs"), Kind: ByPiece, Amount: float64(n)})
	}
	if r := d.Choice("rod"); r != "" && r != "none" {
		out = append(out, Item{Key: "rod", Name: unit.Say("rod for the neck"), Kind: ByPiece, Amount: 1})
	}
	return append(out, Item{Key: "strings", Name: unit.Say(setOfStrings), Kind: BySet, Amount: 1})
}

const setOfStrings unit.Text = "set of strings"

func hardware(d guitar.Values) []Item {
	n := float64(len(d.Lengths("bolt_depths")))
	if n == 0 {
		return nil
	}
	thread := d.Choice("thread")
	one := func(key string, name unit.Text, size string) Item {
		return Item{Key: key, Name: unit.Say(name, size), Kind: ByPiece, Amount: n}
	}
	washer := one("washer", "%s washer", thread)
	switch guitar.FasteningKind(d) {
	case fastening.KindInsert:
		return []Item{one("bolt", "%s machine bolt", thread), one("insert", "%s threaded insert", thread), washer}
	case fastening.KindBarrel:
		return []Item{one("bolt", "%s machine bolt", thread), one("barrel", "%s barrel nut", thread), washer}
	case fastening.KindScrew:
		size := d.Choice("screw_size")
		if size == "" {
			size = guitar.UsualScrew
		}
		return []Item{one("screw", "%s wood screw", size), one("washer", "%s washer", size)}
	}
	return []Item{one("hanger", "%s hanger bolt", thread), washer, one("nut-hex", "%s nut", thread)}
}

// Add joins the items of several guitars: those of one name become one line.
func Add(lists ...[]Item) []Item {
	var out []Item
	for _, list := range lists {
		for _, i := range list {
			at := slices.IndexFunc(out, func(o Item) bool { return o.Key == i.Key && o.Kind == i.Kind && o.Name.Same(i.Name) })
			if at < 0 {
				out = append(out, i)
				continue
			}
			out[at].Amount += i.Amount
			out[at].Pieces += i.Pieces
		}
	}
	return out
}
