package guitar

import (
	"fmt"
	"slices"

	"fairset/unit"
)

// Field is one figure a maker can give: what it is called, how it is measured, what it may be.
type Field struct {
	unit.Limit
	Group    unit.Text   // heading on the design form
	Help     unit.Phrase // what it is and how to measure it, for the maker
	Spread   float64     // usual standard deviation of the figure, SI; 0 when it does not move the target
	Part     string      // neckset.Build key when it differs from the field's own
	Flat     bool        // a radius that may be "flat"
	Required bool
	Many     bool // several readings, each its own value
	Choices  []Choice
	Step     float64 // usual graduation of the tool, SI, for a reading
	OfString int     // the string it belongs to, counted from 1 at the bass; 0 for none
}

// Choice is one word to choose.
type Choice struct {
	Key  string
	Name unit.Phrase
}

func (f Field) choiceKeys() []string {
	var out []string
	for _, c := range f.Choices {
		out = append(out, c.Key)
	}
	return out
}

func (f Field) atMost() int {
	if f.Many {
		return maxReadings
	}
	return 1
}

// maxNote bounds a written note, in bytes.
const maxNote = 2000

const (
	mm  = float64(unit.MM)
	deg = float64(unit.Degree)
)

// length makes a length field; lo, hi and spread are in millimetres.
func length(key string, label, group unit.Text, lo, hi, spread float64, help unit.Text) Field {
	return Field{Limit: unit.Limit{Field: key, Label: unit.Say(label), Kind: unit.KindLength, Min: lo * mm, Max: hi * mm}, Group: group, Spread: spread * mm, Help: unit.Say(help)}
}

// scalar makes a field of another kind, its range in SI.
func scalar(kind unit.Kind, key string, label, group unit.Text, lo, hi, spread float64, help unit.Text) Field {
	return Field{Limit: unit.Limit{Field: key, Label: unit.Say(label), Kind: kind, Min: lo, Max: hi}, Group: group, Spread: spread, Help: unit.Say(help)}
}

func choice(key string, label, group, help unit.Text, choices ...Choice) Field {
	return Field{Limit: unit.Limit{Field: key, Label: unit.Say(label), Kind: unit.KindChoice}, Group: group, Help: unit.Say(help), Choices: choices}
}

func (f Field) required() Field            { f.Required = true; return f }
func (f Field) many() Field                { f.Many = true; return f }
func (f Field) flat() Field                { f.Flat = true; return f }
func (f Field) helped(p unit.Phrase) Field { f.Help = p; return f }
func (f Field) of(part string) Field       { f.Part = part; return f }
func (f Field) readTo(step float64) Field  { f.Step = step; return f }

// Headings of the design form.
const (
	groupScale  unit.Text = "Scale and strings"
	groupBoard  unit.Text = "Neck and board"
	groupJoint  unit.Text = "Heel and joint"
	groupBody   unit.Text = "Body"
	groupBridge unit.Text = "Bridge and action"
	groupBolts  unit.Text = "Bolts"
	groupFit    unit.Text = "How close is close enough"
	groupSpread unit.Text = "How sure each figure is"
)

// The ranges follow what real instruments need: a small ukulele to a long baritone. The spreads are
// everyday measuring with a rule or caliper; common practice, no source. What comes after the spreads may all be left empty.
var designFields = slices.Concat(withSpreads([]Field{
	length("scale_length", "scale length", groupScale, 300, 900, 0.3, "Twice the distance from the nut to the twelfth fret, before any compensation.").required(),
	scalar(unit.KindCount, "joint_fret", "joint fret", groupScale, 10, 22, 0, "The fret that stands at the edge of the body.").required(),
	scalar(unit.KindCount, "frets", "frets", groupScale, 10, 30, 0, "How many frets the board carries.").required(),
	length("saddle_setback", "saddle setback", groupScale, -1, 10, 0.5, "How far the saddle line lies behind the scale length, taken on the centreline. A first guess until the strings are known.").required(),
	scalar(unit.KindCount, "strings", "strings", groupScale, 3, 12, 0, "Strings or courses; a reading at fret 12 is asked for each.").required(),
	scalar(unit.KindForce, "string_tension", "pull of all strings", groupScale, 40, 3000, 0, "Sum over all strings, from the packet. Used for the joint load estimate.").required(),
	choice("hand", "strung for", groupScale, "A left-handed guitar swaps the strings: bass and treble swap sides in every drawing.", Choice{"right", unit.Say("right hand")}, Choice{"left", unit.Say("left hand")}).required(),

	length("board_thickness", "board thickness", groupBoard, 3, 10, 0.1, "Fretboard at the joint, on the centreline, without frets.").required(),
	length("fret_crown", "fret crown", groupBoard, 0.5, 1.8, 0.05, "Height of a fret over the board.").required(),
	length("neck_proud", "neck proud of the top", groupBoard, -5, 15, 0.15, "How far the underside of the board stands over the top at the joint; 0 when the board lies on the top.").required(),
	length("nut_height", "string over the frets at the nut", groupBoard, 0, 3, 0.08, "Height of the string over the line of the fret tops, at the nut.").required(),
	length("relief", "relief when strung", groupBoard, -0.3, 1.5, 0.05, "Dip of the frets between fret 1 and the joint, under string pull.").required(),
	length("relief_unstrung", "relief without strings", groupBoard, -0.5, 1.5, 0.05, "The same before stringing; 0 for a straight neck.").required(),

	length("joint_offset", "body edge nearer the saddle by", groupJoint, -15, 15, 0.3, "0 when the joint fret stands exactly at the body's edge.").required(),
	scalar(unit.KindAngle, "joint_fold", "joint folds under pull by", groupJoint, 0, 1*deg, 0.02*deg, "How far string pull folds the neck forward at the joint. A guess, 0.02° to 0.1° is common.").required(),
	length("heel_height", "heel height", groupJoint, 40, 130, 0.5, "From the top edge of the body to the heel cap.").required(),
	length("heel_width_top", "heel width at the top edge", groupJoint, 15, 80, 0.5, "Across both shoulders at the top edge.").required(),
	length("heel_width_cap", "heel width at the cap", groupJoint, 15, 80, 0.5, "Across both shoulders at the cap.").required(),
	length("tenon_width", "tenon width", groupJoint, 5, 60, 0.1, "Across the tenon's cheeks.").required(),
	length("tenon_length", "tenon length", groupJoint, 3, 60, 0.2, "How far the tenon reaches into the neck block.").required(),
	length("shoulder_spare", "wood the shoulders can lose", groupJoint, 0, 20, 0, "How much the shoulders may lose before the heel's outline or the tenon's reach suffers.").required(),

	length("arc_radius", "body end radius", groupBody, 80, 20000, 0, "Radius of the body's end in plan where the heel sits; flat if it has been flattened.").flat().required(),
	length("side_thickness", "side thickness", groupBody, 1, 4, 0.05, "Wood at the body's end that flattening would thin.").required(),
	scalar(unit.KindPercent, "side_limit", "side may lose at most", groupBody, 0, 0.5, 0, "Share of the side's thickness that flattening may take; a third is the usual limit.").required(),
	scalar(unit.KindPercent, "body_share", "share flattened on the body", groupBody, 0, 1, 0, "How much of the seat's gap to close by flattening the body; the rest hollows the shoulders.").required(),
	length("top_radius", "dome radius of the top", groupBody, 2000, 30000, 400, "Along the centreline; flat for a flat top.").flat().required(),
	length("top_apex", "top's highest point behind the joint", groupBody, 0, 600, 15, "Where along the centreline the dome is highest.").required(),
	length("top_rise", "top rises under pull by", groupBody, -1, 5, 0.2, "How far string pull lifts the top at the saddle. A guess until it has been measured on a sister guitar.").required(),

	length("bridge_thickness", "bridge thickness", groupBridge, 4, 15, 0.1, "At the saddle slot, on the centreline.").required(),
	length("saddle_projection", "saddle over the bridge", groupBridge, 0.5, 8, 0.15, "On the centreline, as you want it when finished.").required(),
	length("action_bass", "action wanted, bass", groupBridge, 0.5, 6, 0.1, "String over fret 12 on the bass side, strung.").of("action12").required(),
	length("action_treble", "action wanted, treble", groupBridge, 0.5, 6, 0.1, "String over fret 12 on the treble side, strung.").of("action12").required(),

	choice("thread", "bolt thread", groupBolts, "Machine thread of the hanger bolts, the end that takes the nut.", threadChoices()...).required(),
	length("bolt_depths", "bolt centres from the top", groupBolts, 5, 125, 0.3, "Measured from the top edge, the same figure on neck and body.").many().required(),
	length("bolt_bite", "wood thread in the heel", groupBolts, 5, 60, 0, "Length of wood thread that ends up inside the heel, without its point.").required(),
	length("bolt_out", "wood thread left out", groupBolts, 0, 20, 0, "Wood thread left standing out of the heel, so that the machine thread reaches through the block.").required(),
	scalar(unit.KindRatio, "heel_gravity", "heel wood, specific gravity", groupBolts, 0.25, 1.2, 0, "Ovendry weight over the weight of as much water: mahogany about 0.49, maple about 0.66.").required(),
	choice("drill_series", "drills on hand", groupBolts, "The drill sets the shop owns.", Choice{"fractional", unit.Say("inch fractions")}, Choice{"number", unit.Say("number sizes")}, Choice{"letter", unit.Say("letter sizes")}, Choice{"metric", unit.Say("metric, by 0.1 mm")}).many().required(),
	choice("clearance_fit", "hole in the body", groupBolts, "How freely the bolt passes the block.", Choice{"close", unit.Say("close")}, Choice{"normal", unit.Say("normal")}, Choice{"loose", unit.Say("loose")}).required(),

	length("gap_tolerance", "gap may be off by", groupFit, 0.05, 3, 0, "At the saddle. 0.4 mm here is about 0.2 mm of action, which the saddle takes up.").required(),
	length("offset_tolerance", "centreline may pass off by", groupFit, 0.1, 4, 0, "At the saddle.").required(),
	scalar(unit.KindPercent, "risk", "chance of going past you accept", groupFit, 0.001, 0.5, 0, "For each cut. 5 % is one in twenty.").required(),
	length("jig_run", "length of your jig", groupFit, 50, 1000, 0, "The jig's rise is given over this length.").required(),
}), stringFields(), intonationFields(), neckFields(), boardFields(), bodyFields(), tapFields(), bridgeFields(), airFields(), fromFields(), fasteningFields())

// withSpreads adds, for every field that moves the target, an optional field for how sure it is.
func withSpreads(fields []Field) []Field {
	out := fields
	for _, f := range fields {
		if f.Spread == 0 || !f.movesTarget() {
			continue
		}
		out = append(out, Field{
			Limit:  unit.Limit{Field: f.Field + spreadSuffix, Label: unit.Say("%v, give or take", f.Label), Kind: f.Kind, Min: 0, Max: spreadMost(f)},
			Group:  groupSpread,
			Spread: 0,
			Help:   unit.Say("Two readings in three fall within this of the truth. Leave empty for the usual %v.", unit.Quantity{V: f.Spread, Kind: f.Kind}),
		})
	}
	return out
}

const spreadSuffix = "_give"

func spreadMost(f Field) float64 {
	if f.Kind == unit.KindAngle {
		return 1 * deg
	}
	if f.Flat {
		return 5000 * mm
	}
	return 20 * mm
}

// movesTarget reports whether the field is one of neckset.Build's inputs.
func (f Field) movesTarget() bool {
	switch f.Group {
	case groupScale, groupBoard, groupBridge:
		return true
	}
	switch f.Field {
	case "joint_offset", "joint_fold", "top_radius", "top_apex", "top_rise":
		return true
	}
	return false
}

func find(fields []Field, key string) (Field, bool) {
	for _, f := range fields {
		if f.Field == key {
			return f, true
		}
	}
	return Field{}, false
}

// DesignFields returns the figures of a design in the order of its form.
func DesignFields() []Field { return append([]Field(nil), designFields...) }

// DesignField returns one field of the design by its key.
func DesignField(key string) (Field, error) {
	if f, ok := find(designFields, key); ok {
		return f, nil
	}
	return Field{}, fmt.Errorf("no design figure is called %q", key)
}
