package guitar

import "fairset/unit"

// Measuring tells a maker what a figure is, how it is taken with common tools, and what it changes. View and Mark
// name the small drawing that shows it: package sheet draws it.
//
// The ways of measuring are common practice, no source; what a figure changes follows from the sums of this
// program, which the method pages derive.
type Measuring struct {
	What, How, Changes unit.Text
	View, Mark         string
}

// Measure returns how the figure of a field is taken. Fields without an entry say all there is in their help.
func Measure(key string) (Measuring, bool) {
	m, ok := measuring[key]
	return m, ok
}

// MeasuredFields returns the keys of every field that has an entry, in no order.
func MeasuredFields() []string {
	var out []string
	for k := range measuring {
		out = append(out, k)
	}
	return out
}

var measuring = map[string]Measuring{
	// Tenon and seat.
	"tenon_length": {"The reach of the tongue on the heel, from the shoulder to its end.",
		"Set a square against the shoulder and read a caliper's depth rod, or a rule, to the tenon's end. Take it on both sides and give the larger.",
		"With the mortise's depth it says whether the tenon stops short before the shoulders touch, and how much comes off its end.", "tenon", "tenon_length"},
	"mortise_depth": {"How deep the slot in the neck block is, from the body's end.",
		"Lay a rule across the body's end over the mortise and let the caliper's depth rod down to the bottom, at the top and near the cap. Give the smaller.",
		"It must be a little deeper than the tenon is long, or the shoulders never touch.", "tenon", "mortise_depth"},
	"tenon_width": {"How thick the tongue is across its cheeks.",
		"Caliper jaws across both cheeks, at the top and near the cap. Give the larger.",
		"With the mortise's width it says whether the joint is tight, loose or will not go in.", "tenon", "tenon_width"},
	"mortise_width": {"How wide the slot is between its walls.",
		"The caliper's inside jaws, at the top and near the cap. Give the smaller.",
		"A joint that rocks sideways cannot hold the centreline; one too tight can split the block.", "tenon", "mortise_width"},
	"gap_bass_top": {"The gap between the bass shoulder and the body at the top edge.",
		"Push the neck home by hand. Slide in feeler leaves or strips of paper of known thickness until one just drags; 0 where none goes in.",
		"The four gaps say how much to hollow the shoulders or flatten the body.", "shoulder", "top"},
	"gap_bass_cap": {"The gap between the bass shoulder and the body at the cap.",
		"As at the top edge, with the neck held home: feeler leaves or paper until one just drags.",
		"The four gaps say how much to hollow the shoulders or flatten the body.", "shoulder", "cap"},
	"gap_treble_top": {"The gap between the treble shoulder and the body at the top edge.",
		"Push the neck home by hand. Slide in feeler leaves or strips of paper of known thickness until one just drags; 0 where none goes in.",
		"The four gaps say how much to hollow the shoulders or flatten the body.", "shoulder", "top"},
	"gap_treble_cap": {"The gap between the treble shoulder and the body at the cap.",
		"As at the top edge, with the neck held home: feeler leaves or paper until one just drags.",
		"The four gaps say how much to hollow the shoulders or flatten the body.", "shoulder", "cap"},
	"arc_radius": {"The radius of the body's end, in plan, where the heel sits.",
		"Compare with a card cut to a known radius, or give chord and rise instead and leave this one empty.",
		"The rounder the end, the more the shoulders must be hollowed.", "arc", "arc_radius"},
	"arc_chord": {"The length of a straight line laid across the round of the body's end.",
		"Lay a short rule across the end, as wide as the heel or a little wider. Its length between the two places where it touches is the chord.",
		"Chord and rise together give the radius.", "arc", "arc_chord"},
	"arc_rise": {"How far the round stands off the middle of that line.",
		"Hold the rule against the end so that it touches in the middle, level it, and take the mean of the gaps under its two ends; or lay it across the ends of a hollow card cut to fit.",
		"Chord and rise together give the radius. A tenth of a millimetre counts here.", "arc", "arc_rise"},
	"body_share": {"How much of the seat's gap is closed by flattening the body instead of hollowing the shoulders.",
		"Choose it: 0 % hollows the shoulders only, 100 % flattens the body only.",
		"More on the body thins the side; the page says when that is too much.", "arc", "body_share"},
	"wood_taken": {"Whether the seat lost wood after the lean was last read.",
		"Say yes after any scraping, filing or sanding of the shoulders or the body's end.",
		"The lean and centreline read before no longer hold then, and are asked for again.", "shoulder", "face"},

	// Lean, point, roll.
	"gap": {"How high the straight edge passes over the top at the place of the saddle.",
		"Hold the neck tight in its seat. Lay the straight edge along the centreline on the frets, over the place of the saddle. Push a stepped wedge, or drill shanks of known thickness, under it until one just touches; a rule does too. Lift off, seat again and read two or three times.",
		"It is the one figure that says whether the neck leans right. What it lacks or has too much decides the next cut.", "side", "gap"},
	"surface": {"What the straight edge lies on.",
		"Frets in: it lies on their tops. No frets yet: on the bare board.",
		"On the bare board the gap is smaller by about the height of a fret.", "side", "surface"},
	"graduation": {"The smallest step your tool can tell.",
		"Half a millimetre or 1/64 in on a rule, 0.1 mm on a stepped wedge or caliper. Be honest: a reading is no surer than this.",
		"The coarser it is, the smaller the first cut, so that none goes past.", "rule", "graduation"},
	"read_at": {"How far from the joint you measured, when it was not at the saddle's place.",
		"From the body's edge at the neck, along the centreline, to where the wedge stood.",
		"The gap is carried on from there to the saddle.", "side", "read_at"},
	"offset": {"How far the neck's own centreline passes from the body's, at the place of the saddle.",
		"Lay a long rule, or stretch a thread, along each edge of the board and mark where it crosses the saddle's line. Halfway between the marks is the neck's line; measure from the body's centreline to it.",
		"It says how much more comes off one cheek than off the other.", "plan", "offset"},
	"toward": {"On which side of the body's centreline the neck's line passes.",
		"Bass is the side of the thickest string, treble that of the thinnest, also on a left-handed guitar.",
		"The cheek on that side loses more wood.", "plan", "offset"},
	"gap_bass": {"The gap under the straight edge along the bass string's line.",
		"As for the lean, but with the straight edge along the bass side of the board.",
		"Less or more than on the treble side, the board is turned about its own length.", "roll", "bass"},
	"gap_treble": {"The gap under the straight edge along the treble string's line.",
		"As for the lean, but with the straight edge along the treble side of the board.",
		"Less or more than on the bass side, the board is turned about its own length.", "roll", "treble"},

	// Cut and shim.
	"tool": {"What takes the wood off.",
		"Choose what you really use; each is counted by itself.",
		"The rate of every tool is learned from your passes, so the strokes asked for become yours.", "strokes", "stroke"},
	"judged": {"How you know when to stop.",
		"By marks: scribe the depths on the heel's corners and cut to them. By strokes: count them; one push and back is one.",
		"Strokes spread more than marks until your rate is known, so the first cuts are smaller.", "strokes", "mark"},
	"strokes": {"How many strokes the pass took.",
		"Count one push and back as one. Count them even when you work to marks.",
		"The rate of removal is learned from strokes and the readings after them.", "strokes", "stroke"},
	"done": {"How much of the asked cut you made, when working to marks.",
		"100 % when you came to the marks all round. Half way to them is 50 %.",
		"The program expects the neck to have moved by that share, until you read again.", "strokes", "mark"},
	"edge": {"The edge of the heel that gets the shim's thick end.",
		"At the cap it leans the neck forward again; at the top edge it leans it further back.",
		"It undoes a cut that went too far.", "heel", "shim"},
	"thickness": {"How thick the shim is at its thick end, when it is glued and flush.",
		"Caliper jaws on the thick end before it is glued; measure again when it is trimmed.",
		"It moves the neck the other way than a cut of that depth.", "heel", "shim"},

	// Bolts.
	"centres_neck": {"How far each bolt's centre on the heel lies from the top edge.",
		"Rule from the top edge of the heel, down its middle, to each awl mark. Do not measure from one mark to the next.",
		"Both parts must show the same figures, or the bolts will not enter.", "heel", "bolts"},
	"centres_body": {"How far each bolt's centre on the body lies from the top edge.",
		"Rule from the top's edge down the middle of the mortise to each awl mark, from the same edge as on the neck.",
		"Both parts must show the same figures, or the bolts will not enter.", "heel", "bolts"},
	"miss": {"How far a hole in the body stands from the bolt that should pass it.",
		"Push the neck up with its bolts in and look into the holes from inside, or press a point through from the body and measure from its mark to the hole's centre in the heel.",
		"It says whether the body's hole is opened, and with which drill.", "holes", "miss"},
	"miss_across": {"The part of that miss that goes across the guitar.",
		"From the bolt's centre to the hole's centre, square to the centreline. + when the hole lies toward treble.",
		"It says which side of the hole to open.", "holes", "across"},
	"miss_down": {"The part of that miss that goes along the heel's height.",
		"From the bolt's centre to the hole's centre, along the heel. + when the hole lies toward the cap.",
		"It says which side of the hole to open.", "holes", "down"},
	"closed": {"Whether both shoulders touch all the way with the nuts snug.",
		"Hold a light behind the joint, or draw a strip of the thinnest paper along both shoulders: nothing may show and nothing may slip in.",
		"A gap that stays shut only by force opens again and takes the lean with it.", "shoulder", "face"},

	// Dots and signing off.
	"set": {"Whether the side dots are in.",
		"Each stands midway between its two frets, on the edge the player sees; set them out from the nut in one run of the rule.",
		"Nothing else: it marks the step as done.", "dots", "dots"},
	"accepted": {"Whether you accept the neck set as it is.",
		"Look over the list of steps first. What is left open should be so on purpose.",
		"The guitar's page says that it is signed off, and by whom.", "card", "tick"},
	"note":   {"What you saw that no figure tells.", "In your own words: a gap on one side only, a tool that slipped, what to look at next time.", "No figure. It stands beside this entry in the history and on the record.", "card", "words"},
	"remark": {"Anything whoever opens this guitar next should know.", "In your own words; what was left open, and why.", "It is printed on the guitar's page.", "card", "words"},
	"text":   {"Anything worth remembering about this guitar.", "In your own words.", "It stands on the guitar's page and in its history; no figure is taken from it.", "card", "words"},

	// Bridge and strings.
	"nut_to_joint": {"The way from the nut's edge, where the strings leave it, to the body's edge at the neck.",
		"With the neck bolted up, hook a long rule on the nut's edge toward the frets and read it at the body's edge, on the centreline.",
		"The saddle line is set out from the nut on this guitar; cuts have brought the nut nearer, and the plan no longer holds.", "side", "nut_to_joint"},
	"action_bass": {"The height of the bass string over fret 12.",
		"Strung and tuned, playing position. Stand a string-height rule or stepped wedge on the board side of fret 12 and read from the fret's top to the underside of the string.",
		"It decides the height of the saddle; half of what the saddle changes arrives at fret 12.", "side", "action"},
	"action_treble": {"The height of the treble string over fret 12.",
		"Strung and tuned, playing position. Read from the top of fret 12 to the underside of the string.",
		"It decides the height of the saddle; half of what the saddle changes arrives at fret 12.", "side", "action"},
	"relief": {"The slight hollow of the frets along the neck.",
		"Press a string at fret 1 and at the joint fret: it is a straight edge now. Feel the gap over the fret midway with feeler leaves.",
		"With too little the strings buzz low down; with too much they stand high in the middle.", "relief", "relief"},
	"nut_bass": {"The height of the bass string over fret 1, open.",
		"Feeler leaves between the fret's top and the string, the string open.",
		"Too high it is hard to press and sounds sharp in the first frets; too low it buzzes open.", "nut", "nut_gap"},
	"nut_treble": {"The height of the treble string over fret 1, open.",
		"Feeler leaves between the fret's top and the string, the string open.",
		"Too high it is hard to press and sounds sharp in the first frets; too low it buzzes open.", "nut", "nut_gap"},
	"cents": {"How far each string, pressed at fret 12, is from its own octave harmonic.",
		"Touch the string over fret 12 and pluck for the harmonic, then press it there and pluck. The tuner's difference in cents; + when the pressed note is higher. One figure a string, bass first.",
		"It says which way the saddle's edge moves for each string.", "cents", "cents"},
	"cents_fret": {"Another fret at which the tuner was read.", "Choose one far from fret 12, such as 5 or 7 or 17, and count from the nut.",
		"Two places tell a saddle out of place from a string that is worn.", "dots", "dots"},
	"cents_other": {"The cents at that fret, for each string.", "Tune the open string true, press at the fret with your usual touch, and read the tuner against that note; + is sharp.",
		"It tells stretch from a saddle out of place.", "cents", "cents"},
	"cents_fret2": {"A third fret at which the tuner was read.", "As for the second one.", "Three places show whether a string is worn.", "dots", "dots"},
	"cents_other2": {"The cents at the third fret, for each string.", "As at the second one: open string true first, then the pressed note; + is sharp.",
		"Three places show whether a string is worn.", "cents", "cents"},

	// The main figures of a design, and of a repair.
	"scale_length": {"Twice the way from the nut to the twelfth fret: the length the frets are laid out from.",
		"From the nut's edge to the middle of fret 12, twice. Do not measure to the saddle: that is set further back.",
		"It moves every fret and the saddle, and the gap with them.", "side", "scale_length"},
	"joint_fret":     {"The fret that stands at the body's edge.", "Count from the nut.", "It says how long the neck's lever is: the same cut does more on a long neck.", "side", "joint_fret"},
	"saddle_setback": {"How far the saddle lies behind the scale length.", "A first guess is good enough: 2 to 3 mm for steel strings. The Strings page works it out.", "It moves the saddle, and a little the gap.", "side", "saddle_setback"},
	"saddle_distance": {"The way from the body's edge at the neck to the saddle.", "Long rule along the centreline, from the body's edge to the middle of the saddle's top.",
		"It is the lever by which a cut at the heel moves the string's height.", "side", "read_at"},
	"hand":              {"Which hand the guitar is strung for.", "Hold it as its player does: the thickest string is nearest the player's face.", "Bass and treble change places in every drawing.", "plan", "sides"},
	"board_thickness":   {"The thickness of the fretboard at the joint, without frets.", "Caliper at the board's edge near the joint; add for the round of the board so that it holds on the centreline.", "A thicker board raises the strings, so the neck leans less.", "fret", "board_thickness"},
	"fret_crown":        {"How high a fret stands over the board.", "A straight edge over three frets and feeler leaves down to the board, or a caliper's depth rod from the fret's top.", "It is the difference between a gap read on the frets and on the bare board.", "fret", "fret_crown"},
	"neck_proud":        {"How far the underside of the board stands over the top at the joint.", "Straight edge on the top, up to the joint; measure from it to the board's underside. 0 when the board lies on the top.", "It raises the strings by as much, all along.", "side", "neck_proud"},
	"nut_height":        {"The height of the string over the line of the frets, at the nut.", "A straight edge over frets 1 to 3 reaching to the nut, and feeler leaves from it to the string.", "A higher nut raises the strings at the near end and asks for a little less lean.", "nut", "nut_gap"},
	"relief_unstrung":   {"The hollow of the frets along the neck without strings.", "Straight edge on fret 1 and the joint fret, feeler leaves over the fret midway. Negative when the neck is bowed back.", "What the strings will pull it to, less this, is what they raise the action by.", "relief", "relief"},
	"joint_offset":      {"How far the body's edge lies nearer to the saddle than the joint fret does.", "From the middle of the joint fret to the body's edge, along the centreline.", "It shortens the lever of the cut and moves the saddle from the body's edge.", "side", "joint_fret"},
	"joint_fold":        {"How far string pull turns the neck forward at the joint.", "Read the gap unstrung and strung on a sister guitar; the difference over the way to the saddle. Else leave the guess.", "The neck is leaned back by that much more before stringing.", "side", "fold"},
	"heel_height":       {"From the top edge of the heel to its cap.", "Rule down the middle of the shoulder, from the top's edge to the cap.", "The taller the heel, the less a given cut tilts the neck.", "heel", "height"},
	"heel_width_top":    {"Across both shoulders at the top edge.", "Caliper across the heel where it meets the body, at the top.", "It sets how much a cut on one cheek turns the neck sideways.", "heel", "width_top"},
	"heel_width_cap":    {"Across both shoulders at the cap.", "Caliper across the heel where it meets the body, at the cap.", "It says how much shoulder there is to bear at the cap, and how the depths spread over the face.", "heel", "width_cap"},
	"shoulder_spare":    {"How much the shoulders may lose before the heel's shape or the tenon's reach suffers.", "From the shoulder to the line where the heel's curve, or its finish, begins.", "No cut goes deeper; when more is asked for, the program says what else would help.", "heel", "spare"},
	"side_thickness":    {"The wood of the side at the body's end.", "Caliper at the mortise's edge or at the soundhole end of a side of the same set.", "Flattening the body's end may take only a share of it.", "arc", "body_share"},
	"top_radius":        {"The radius of the top's dome along the centreline.", "Straight edge on the top along the centreline, touching at the highest point; the gap at its end and the way to it give the radius. Or say flat.", "A dome raises the bridge, so the neck leans further back.", "side", "dome"},
	"top_apex":          {"Where along the centreline the dome is highest.", "Rock a straight edge along the centreline until it is level: where it touches.", "It says how much of the dome's rise stands under the bridge.", "side", "dome"},
	"top_rise":          {"How far string pull lifts the top at the saddle.", "Measure a sister guitar at the saddle from a bar across the body's edges, without strings and a day after stringing.", "The neck is leaned back further by as much as the top will come up.", "side", "dome"},
	"bridge_thickness":  {"The thickness of the bridge at the saddle's slot.", "Caliper on the bridge before it is glued, on the centreline.", "A taller bridge lifts the strings: the neck must lean back further.", "saddle", "bridge_thickness"},
	"saddle_projection": {"How far the finished saddle stands over the bridge.", "Caliper's depth rod from the saddle's top to the bridge, or choose it.", "It is what is left to file when the action is set: too little and nothing can be lowered.", "saddle", "saddle_projection"},
	"action_bass_now":   {"The height of the bass string over fret 12 as the guitar stands.", "Strung and tuned: from the top of fret 12 to the underside of the string.", "What it differs from the action wanted is what the repair must cure.", "side", "action"},
	"action_treble_now": {"The height of the treble string over fret 12 as the guitar stands.", "Strung and tuned: from the top of fret 12 to the underside of the string.", "What it differs from the action wanted is what the repair must cure.", "side", "action"},
	"bolt_depths":       {"How far each bolt's centre lies from the top edge.", "Rule from the top edge down the middle of the heel; the same figure on neck and body.", "Bolts far apart hold the neck's tilt better; each needs wood round it.", "heel", "bolts"},
	"bolt_bite":         {"How much wood thread ends up inside the heel.", "The bolt's wood thread, without its point, less what stays out.", "More thread in wood holds more; end grain holds little.", "bolt", "bite"},
	"bolt_out":          {"Wood thread left standing out of the heel.", "From the bottom of the heel's face at the tenon's end to where the machine thread begins.", "It lets the machine thread reach through the block to its nut.", "bolt", "out"},
	"gap_tolerance":     {"How far the gap may be off and still be left alone.", "Choose it: half of it arrives at fret 12, where the saddle takes it up.", "Smaller asks for more passes and better readings.", "side", "gap"},
	"offset_tolerance":  {"How far the neck's line may pass from the centre and still be left alone.", "Choose it: about what the eye forgives at the bridge.", "Smaller asks for more passes and better readings.", "plan", "offset"},
	"risk":              {"The chance of cutting too far that you accept, each time.", "Choose it: 5 % is one cut in twenty.", "Smaller makes each cut smaller and the passes more. A cut can be made again, not put back.", "strokes", "mark"},
	"jig_run":           {"The length over which your ramp or jig rises.", "From its low end to its high end, along the surface the work lies on.", "The lean is given as a rise over this length as well as in degrees.", "jig", "run"},
	"neck_width_nut":    {"Across the board at the nut.", "Caliper across the board at the nut's edge.", "It sets where the edges run, and with the strings' spread how near they come to them.", "plan", "width_nut"},
	"neck_width_joint":  {"Across the board at the joint fret.", "Caliper across the board at the body's edge.", "It sets where the edges run.", "plan", "width_joint"},
	"nut_spread":        {"From the middle of the bass string to the middle of the treble string, at the nut.", "Rule across the nut's slots, middle to middle.", "It spaces the strings, and decides how near they run to the board's edges.", "plan", "nut_spread"},
	"saddle_spread":     {"From the middle of the bass string to the middle of the treble string, at the saddle.", "Rule along the saddle, middle to middle.", "It spaces the strings for the plucking hand.", "plan", "saddle_spread"},
	"body_length":       {"From the tail to the edge at the neck, along the centreline.", "Long rule down the middle of the back or the mould.", "With the widths it draws the outline.", "plan", "body_length"},
	"lower_width":       {"Across the body where it is widest.", "Two squares against the sides on a flat bench, and a rule between them.", "With the other widths it draws the outline.", "plan", "lower_width"},
	"waist_width":       {"Across the body where it is narrowest.", "Caliper or two squares at the waist.", "With the other widths it draws the outline.", "plan", "waist_width"},
	"upper_width":       {"Across the body at the widest place of the upper bout.", "Two squares against the sides on a flat bench, and a rule between them.", "With the other widths it draws the outline.", "plan", "upper_width"},
}
