package web

import (
	"net/http"

	"fairset/craft/guitar"
	"fairset/drawing/face"
	"fairset/unit"
)

// helpPageData explains the trade's words, how figures are said, and what to take care of.
type helpPageData struct {
	layout
	Glossary []term
	Typed    []example
	Cautions unit.Texts
	Licence  string // of the letters that printed sheets carry
}

// term is one word of the trade in one sentence.
type term struct {
	ID          string
	Word, Means unit.Text
}

// example is one way to type a length.
type example struct {
	Typed string
	Means unit.Text
}

// glossary holds the words the pages use. The figures of the neck set lean on them, so they mean one thing
// everywhere.
var glossary = []term{
	{"action", "action", "The height of a string over a fret, here over fret 12, measured with the guitar strung and tuned."},
	{"balance", "balance", "How evenly the pull is shared out among the strings."},
	{"blank", "blank", "The strip a saddle is made from; a saddle with a place for each string needs a wide one."},
	{"board", "board", "The fretboard; a bare board is one without frets in it."},
	{"buzz", "buzz", "A played string touching a fret it should swing clear of."},
	{"cap", "cap", "The end of the heel away from the strings, at the back of the guitar."},
	{"capo", "capo", "A clamp that stops all strings at a fret, so that it stands in for the nut."},
	{"cents", "cents", "Hundredths of a semitone; + is sharp, too high, and − is flat, too low. One or two are at the edge of what an ear or a press of the finger can tell."},
	{"cheek", "cheek, shoulder", "The two faces of the heel on either side of the tenon; they bear on the body."},
	{"crown", "crown", "How high a fret stands over the board."},
	{"fold", "fold", "How far string pull turns the neck forward at the joint."},
	{"gap", "gap", "How high the straight edge passes over the top at the place of the saddle: the one figure that says whether the neck leans right."},
	{"gauge", "gauge", "A string's outside thickness, as printed on its packet."},
	{"hanger-bolt", "hanger bolt", "A bolt with wood thread on one end, in the heel, and machine thread on the other, through the neck block to its nut."},
	{"heel", "heel", "The deep end of the neck that meets the body."},
	{"intonation", "intonation", "How true the fretted notes are, counted from the open string."},
	{"jig", "jig", "A ramp that holds the neck or the heel at its angle under a sander, router or plane; its rise over its length sets the angle."},
	{"joint", "joint", "The edge of the body where the neck meets it; distances along the guitar are counted from there."},
	{"lean", "lean, neck angle", "How far the neck is tilted back from the plane of the top's edge, so that the strings pass the bridge at the right height."},
	{"mortise", "mortise", "The slot in the neck block that takes the tenon."},
	{"multi-scale", "multi-scale, two scales", "A board whose bass string is longer than its treble string, so that the frets fan out; one of them stands square."},
	{"nut", "nut", "The grooved strip at the head end that the strings start from; also the threaded nut on a bolt, where a wrench is meant."},
	{"offset", "offset", "How far the neck's own centreline passes from the body's centreline, at the place of the saddle."},
	{"pass", "pass", "One round of taking wood off the heel, followed by reading again."},
	{"pull", "pull", "What a string tuned to its note pulls with; its tension."},
	{"relief", "relief", "The slight hollow of the frets along the neck under string pull."},
	{"rise", "rise", "How far string pull lifts the top at the saddle."},
	{"roll", "roll", "One edge of the board standing higher over the top than the other, as if the neck were turned about its own length."},
	{"seat", "seat", "The place on the body where the shoulders bear; often an arc, so the shoulders are hollowed or the body is flattened."},
	{"setback", "setback", "How far the saddle lies behind the scale length, so that fretted notes are in tune."},
	{"shim", "shim", "A thin wedge or strip glued in where too much wood has been taken."},
	{"stiff", "stiffness", "A thick string bends unwillingly and sounds a little sharp for it: the more, the shorter the part that sounds."},
	{"straight-edge", "straight edge", "A rule that is truly straight, long enough to reach from the first fret to past the saddle."},
	{"tenon", "tenon", "The tongue on the heel that goes into the mortise."},
}

var waysToType = []example{
	{"25 1/2", "inches, because it is written as a fraction"},
	{"25.5 in", "inches, whichever units you read in"},
	{`3/32"`, "inches"},
	{"1-1/4 in", "one and a quarter inches"},
	{"648", "your own units; or millimetres when only that makes sense, as for a scale length"},
	{"64.8 cm", "centimetres"},
	{"0.35 mm", "millimetres"},
}

func helpPage(in *request) error {
	p := helpPageData{layout: in.layout("Help"), Glossary: glossary, Typed: waysToType, Licence: face.License,
		Cautions: unit.Texts{guitar.CautionChisel, guitar.CautionDrill, guitar.CautionSand, guitar.CautionGlue, guitar.CautionString, guitar.CautionLoad}}
	return in.render(http.StatusOK, "help", p)
}
