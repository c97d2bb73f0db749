package guitar

import (
	"slices"

	"fairset/craft/neckset"
	"fairset/unit"
)

// Step names one thing done at the bench; every entry in a guitar's log belongs to a step.
type Step string

// The steps, in the natural order of the work. StepDesign, StepNote and StepShim can come at any time.
const (
	StepDesign  Step = "design"
	StepTenon   Step = "tenon"
	StepSeat    Step = "seat"
	StepLean    Step = "lean"
	StepPoint   Step = "point"
	StepRoll    Step = "roll"
	StepCut     Step = "cut"
	StepShim    Step = "shim"
	StepDrill   Step = "drill"
	StepTighten Step = "tighten"
	StepDots    Step = "dots"
	StepSign    Step = "sign"
	StepBridge  Step = "bridge"
	StepStrung  Step = "strung"
	StepNote    Step = "note"
)

// Guide is what a page says about a step before any figure is known.
type Guide struct {
	Step     Step
	Name     unit.Text   // "Set the lean"
	Question unit.Text   // the one question it answers
	ReadWith unit.Text   // the tools
	How      unit.Texts  // short instructions, one after another
	Caution  unit.Phrase // empty when nothing in it can hurt
	Fields   []Field
}

// Cautions, one wording each, wherever the tool is met. The tool's manual, local rules and licensed
// practice come first.
const (
	CautionChisel unit.Text = "Chisel: clamp the work and keep both hands behind the edge. The tool's manual and your shop's rules come first."
	CautionDrill  unit.Text = "Drilling: protect eyes and ears, clamp the work, tie back hair and sleeves, and keep the dust out of your lungs. The drill's manual and your shop's rules come first."
	CautionSand   unit.Text = "Sanding: wear a dust mask and eye protection; some hardwood dusts irritate skin and lungs. The sander's manual and your shop's rules come first."
	CautionString unit.Text = "Strings under tension: wear eye protection, bring them up slowly, keep your face out of their line, and slacken them before any wood is cut."
	CautionGlue   unit.Text = "Super glue: bonds skin in seconds and its fumes sting; wear eye protection, air the room, follow the label."
	CautionLoad   unit.Text = "Load figures are estimates for comparing layouts, not an engineer's design."
)

var (
	gapField     = length("gap", "gap under the straight edge", "", -5, 25, 0, "Straight edge on the centreline, its end over the saddle place; measure down to the top. Negative if it would pass below the top.").many().readTo(0.5 * mm)
	offsetField  = length("offset", "centreline misses by", "", 0, 15, 0, "How far from the body's centreline the neck's own line passes, at the saddle.").many().readTo(0.5 * mm)
	surfaceField = choice("surface", "straight edge lies on", "", "", Choice{"frets", unit.Say("the frets")}, Choice{"board", unit.Say("the bare board")})
	towardField  = choice("toward", "it passes on the", "", "", Choice{"treble", unit.Say("treble side")}, Choice{"bass", unit.Say("bass side")}, Choice{"centre", unit.Say("centre, it hits")})
	markField    = length("graduation", "smallest mark on your rule", "", 0.01, 3, 0, "Half a millimetre or a 64th for a rule, 0.1 mm for a stepped wedge or caliper.")
	yesNo        = []Choice{{"yes", unit.Say("yes")}, {"no", unit.Say("no")}}
)

func cautions(list ...unit.Text) unit.Phrase {
	var out []unit.Phrase
	for _, c := range list {
		out = append(out, unit.Say(c))
	}
	return unit.Join(out...)
}

var guides = withNotes([]Guide{
	{Step: StepTenon, Name: "Fit the tenon", Question: "Does the tenon go in tight, and is the mortise a little deeper than the tenon is long?", ReadWith: "caliper, depth rod",
		How:     unit.Texts{"Measure the tenon's length from the shoulder and its width across the cheeks.", "Measure the mortise's depth and width, at the top and near the cap; give the smaller."},
		Caution: cautions(CautionChisel),
		Fields: []Field{
			length("tenon_length", "tenon length", "", 3, 60, 0, "From the shoulder to the tenon's end.").required().readTo(0.1 * mm),
			length("mortise_depth", "mortise depth", "", 3, 80, 0, "From the body's end to the bottom of the mortise.").required().readTo(0.1 * mm),
			length("tenon_width", "tenon width", "", 5, 60, 0, "Across the cheeks.").required().readTo(0.1 * mm),
			length("mortise_width", "mortise width", "", 5, 65, 0, "Between the mortise's walls, where it is narrowest.").required().readTo(0.1 * mm),
		}},
	{Step: StepSeat, Name: "Seat the shoulders", Question: "Do both shoulders touch all the way, from the top edge to the cap?", ReadWith: "feeler gauge, paper strips, a light behind the joint",
		How:     unit.Texts{"Push the neck home by hand and hold it there.", "Find the widest gap at the outer edge of each shoulder, at the top edge and at the cap; 0 where it touches.", "Give the body end's radius, or lay a rule across it as a chord and measure the rise in its middle."},
		Caution: cautions(CautionChisel, CautionSand),
		Fields: []Field{
			seatGap("gap_bass_top", "gap, bass shoulder at the top edge"), seatGap("gap_bass_cap", "gap, bass shoulder at the cap"),
			seatGap("gap_treble_top", "gap, treble shoulder at the top edge"), seatGap("gap_treble_cap", "gap, treble shoulder at the cap"),
			length("arc_radius", "body end radius", "", 80, 20000, 0, "Or leave it and give chord and rise.").flat(),
			length("arc_chord", "chord across the body end", "", 20, 200, 0, "Length of the rule laid across the arc."),
			length("arc_rise", "rise in the chord's middle", "", 0, 40, 0, "0 when the end is flat."),
			scalar(unit.KindPercent, "body_share", "share flattened on the body", "", 0, 1, 0, "The rest hollows the shoulders."),
			choice("wood_taken", "wood taken off the seat since the lean was last read", "", "", yesNo...),
		}},
	{Step: StepLean, Name: "Set the lean", Question: "Does the straight edge pass the saddle place at the right height?", ReadWith: "straight edge, and a rule, drill shank or stepped wedge under it",
		How:    unit.Texts{"Seat the neck and hold it tight.", "Lay the straight edge along the centreline, over the saddle place.", "Measure from its underside down to the top. Lift off, seat again and read two or three times."},
		Fields: []Field{gapField.required(), surfaceField.required(), markField.required(), length("read_at", "read this far from the joint", "", 60, 700, 0, "Leave empty if read at the saddle place.")}},
	{Step: StepPoint, Name: "Point it", Question: "Does the neck point down the centre?", ReadWith: "long rule or threads along both board edges, to the saddle place",
		How:    unit.Texts{"Lay the rule along each board edge and mark where it passes the saddle place.", "The neck's line is midway between the two marks. Measure from the body's centreline to it."},
		Fields: []Field{offsetField.required(), towardField.required(), markField.required()}},
	{Step: StepRoll, Name: "Check the roll", Question: "Is one edge of the board higher over the top than the other?", ReadWith: "straight edge along the bass side, then the treble side",
		How: unit.Texts{"Lay the straight edge along the bass string's line, and read the gap at the saddle.", "The same along the treble string's line."},
		Fields: []Field{
			length("gap_bass", "gap on the bass side", "", -5, 25, 0, "").required().readTo(0.1 * mm),
			length("gap_treble", "gap on the treble side", "", -5, 25, 0, "").required().readTo(0.1 * mm),
			markField.required(),
		}},
	{Step: StepCut, Name: "Cut", Question: "What to take off next, and where?", ReadWith: "the drawing below",
		How:     unit.Texts{"Mark the depths on the corners of the heel face.", "Take the wood down to the marks, flat between them, the tenon's shoulder line straight.", "Seat the neck again and read lean and point."},
		Caution: cautions(CautionChisel, CautionSand),
		Fields: []Field{
			choice("tool", "tool used", "", "", toolChoices()...).required(),
			choice("judged", "depth judged by", "", "Marks: the depths drawn on the heel's corners. Strokes: counted, one push and back is one.", Choice{"marks", unit.Say("marks on the heel")}, Choice{"strokes", unit.Say("counting strokes")}).required(),
			scalar(unit.KindCount, "strokes", "strokes made", "", 0, 5000, 0, "Count them even when you work to marks: the rate is learned from them."),
			scalar(unit.KindPercent, "done", "how much of the cut was made", "", 0, 3, 0, "100 % unless you stopped early or went on."),
		}},
	{Step: StepShim, Name: "Glue a shim", Question: "How thick a shim, and at which edge?", ReadWith: "caliper",
		Caution: cautions(CautionGlue, CautionChisel),
		Fields: []Field{
			choice("edge", "shim at the", "", "", Choice{"cap", unit.Say("cap")}, Choice{"top", unit.Say("top edge")}).required(),
			length("thickness", "shim thickness", "", 0.05, 5, 0, "At its thick end, glued and flush.").required().readTo(0.05 * mm),
		}},
	{Step: StepDrill, Name: "Lay out and drill", Question: "Are the bolts centred, square, and at one height on both parts?", ReadWith: "rule from the top edge on both parts, square, awl",
		How:     unit.Texts{"Mark every centre from the same top edge: the same figure on neck and body.", "Prick the marks with an awl and check them against each other.", "Drill the body through, square to its end; drill the heel to its stop."},
		Caution: cautions(CautionDrill, CautionLoad),
		Fields: []Field{
			length("centres_neck", "centres marked on the neck", "", 5, 125, 0, "From the top edge, in order.").many().required().readTo(0.5 * mm),
			length("centres_body", "centres marked on the body", "", 5, 125, 0, "From the top edge, in order.").many().required().readTo(0.5 * mm),
			length("miss", "hole misses its partner by", "", 0, 10, 0, "One figure for each bolt, top one first; leave empty until drilled.").many().readTo(0.1 * mm),
			length("miss_across", "body's hole stands across by", groupMissWays, -10, 10, 0, "From its bolt: + toward treble, - toward bass, 0 where it does not. One figure for each bolt, top one first.").many().readTo(0.1 * mm),
			length("miss_down", "body's hole stands down by", groupMissWays, -10, 10, 0, "From its bolt: + toward the cap, - toward the top. One figure for each bolt, top one first.").many().readTo(0.1 * mm),
		}},
	{Step: StepTighten, Name: "Bolt up", Question: "Do all the gaps close when snug, and did the readings stay?", ReadWith: "as before, with the nuts snug",
		How:     unit.Texts{"Snug the nuts by turns, a little each.", "Look along both shoulders with a light: no gap may be left.", "Read lean and point again. These readings count."},
		Caution: cautions("Snug, not hard: a hanger bolt in end grain strips long before the nut feels tight."),
		Fields: []Field{
			choice("closed", "all gaps closed", "", "", yesNo...).required(), gapField.required(), surfaceField.required(), offsetField.required(), towardField.required(), markField.required(),
		}},
	{Step: StepDots, Name: "Side dots", Question: "Do the dots stand in the middle between frets?", ReadWith: "dividers, awl",
		How:     unit.Texts{"Mark each dot midway between its two frets, on the edge the player sees.", "The twelfth gets two."},
		Caution: cautions(CautionDrill, CautionGlue),
		Fields:  []Field{choice("set", "dots are in", "", "", yesNo...).required()}},
	{Step: StepSign, Name: "Sign off", Question: "Is the neck set finished?", ReadWith: "",
		How:    unit.Texts{"Every step above is done, or you know why not."},
		Fields: []Field{choice("accepted", "the neck set is finished", "", "", yesNo...).required(), scalar(unit.KindText, "remark", "remark", "", 0, 0, 0, "")}},
	{Step: StepBridge, Name: "Place the bridge", Question: "How far from the real nut, on this neck, at this seat?", ReadWith: "long rule",
		How:     unit.Texts{"With the neck bolted, measure from the nut's edge to the body's edge.", "Set the saddle line out from the nut, never from the plan."},
		Caution: cautions(CautionGlue),
		Fields:  []Field{length("nut_to_joint", "nut to the body's edge", "", 120, 700, 0, "Measured on this guitar, bolted up.").required().readTo(0.5 * mm)}},
	{Step: StepStrung, Name: "String and settle", Question: "With strings on and settled: action, relief, and pitch at fret 12?", ReadWith: "string-height rule, feeler gauge, tuner",
		How:     unit.Texts{"Tune to pitch, let it settle a day, tune again.", "Read the action at fret 12 on both sides and the relief.", "Compare each string fretted at 12 with its octave harmonic; sharp is +."},
		Caution: cautions(CautionString),
		Fields: []Field{
			length("action_bass", "action at fret 12, bass", "", 0.2, 12, 0, "").required().readTo(0.05 * mm),
			length("action_treble", "action at fret 12, treble", "", 0.2, 12, 0, "").required().readTo(0.05 * mm),
			length("relief", "relief", "", -0.5, 3, 0, "Between fret 1 and the joint.").readTo(0.05 * mm),
			length("nut_bass", "string over fret 1, bass", "", 0, 3, 0, "").readTo(0.05 * mm),
			length("nut_treble", "string over fret 1, treble", "", 0, 3, 0, "").readTo(0.05 * mm),
			scalar(unit.KindCents, "cents", "cents at fret 12, each string", "", -80, 80, 0, "Bass string first; + is sharp.").many(),
			scalar(unit.KindCount, "cents_fret", "another fret read with the tuner", groupOtherFrets, 1, 30, 0, "Another fret tells stretch from a saddle out of place, and shows a worn string. Counted from the open string, + is sharp."),
			scalar(unit.KindCents, "cents_other", "cents at that fret, each string", groupOtherFrets, -80, 80, 0, "Bass string first; + is sharp.").many(),
			scalar(unit.KindCount, "cents_fret2", "a third fret read with the tuner", groupOtherFrets, 1, 30, 0, "As above."),
			scalar(unit.KindCents, "cents_other2", "cents at the third fret, each string", groupOtherFrets, -80, 80, 0, "Bass string first; + is sharp.").many(),
		}},
	{Step: StepNote, Name: "Note", Question: "What should be remembered?", Fields: []Field{scalar(unit.KindText, "text", "note", "", 0, 0, 0, "").required()}},
})

// NoteKey is the field of every step for a note that goes with its entry.
const NoteKey = "note"

// withNotes gives each step a note that is kept in the same entry as its figures, and undone with it.
func withNotes(gs []Guide) []Guide {
	for i, g := range gs {
		if g.Step != StepNote && g.Step != StepSign { // a note itself; and a remark is one
			gs[i].Fields = append(slices.Clip(g.Fields), scalar(unit.KindText, NoteKey, "note", groupNote, 0, 0, 0, ""))
		}
	}
	return gs
}

// Note returns what was written with an entry, or the note it is; "" for none.
func (e Entry) Note() string {
	switch e.Step {
	case StepNote:
		return e.Values.Choice("text")
	case StepSign:
		return e.Values.Choice("remark")
	}
	return e.Values.Choice(NoteKey)
}

// groupNote heads the note of a step.
const groupNote unit.Text = "Add a note"

// groupMissWays heads misses read both ways, which tell which side of a hole to open.
const groupMissWays unit.Text = "Which way each hole misses, if you read it"

// groupOtherFrets heads readings beyond fret 12, which a setup can do without.
const groupOtherFrets unit.Text = "Other frets, if you read them"

func seatGap(key string, label unit.Text) Field {
	return length(key, label, "", 0, 10, 0, "").required().readTo(0.05 * mm)
}

func toolChoices() []Choice {
	var out []Choice
	for _, t := range neckset.Tools() {
		out = append(out, Choice{t.Key, unit.Say(t.Name)})
	}
	return out
}

// Guides returns every step a maker works through, in the natural order.
func Guides() []Guide { return slices.Clone(guides) }

// FindGuide returns the guide of one step.
func FindGuide(s Step) (Guide, bool) {
	for _, g := range guides {
		if g.Step == s {
			return g, true
		}
	}
	return Guide{}, false
}

// Fields returns the fields of a step for a guitar: those of the design for StepDesign.
func (g Guitar) Fields(s Step) []Field {
	if s == StepDesign {
		if g.Start == FromReadings {
			return RepairFields()
		}
		return DesignFields()
	}
	guide, _ := FindGuide(s)
	return guide.Fields
}
