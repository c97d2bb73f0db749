package sheet

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"fairset/craft/stringset"
	"fairset/drawing"
	"fairset/unit"
)

// ScoreOptions of a score chart.
type ScoreOptions struct {
	Style  unit.Style
	Narrow bool
}

// ScoreChart draws how a saddle does on each occasion, another tuning or a capo: a bar as long as the root-mean-square of its cents,
// in the order given, and beside it the note farthest off. Bars are named "bar"; all have one scale.
func ScoreChart(scores []stringset.Score, o ScoreOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("The same saddle in other tunings"))
	most := 0.0
	for _, s := range scores {
		if unit.Finite(s.Map.RMS) {
			most = math.Max(most, s.Map.RMS)
		}
	}
	scale := 0.0
	if most > 0 {
		scale = (w - 2*margin) / most
	}
	farthest := func(m stringset.Map) string {
		if m.WorstRow < 0 || m.WorstRow >= len(m.Rows) || !unit.Finite(m.Worst) {
			return ""
		}
		name := m.Rows[m.WorstRow].Name
		if name == "" {
			name = say("string %d", m.WorstRow+1)
		}
		return say("%s at fret %d, %s", name, m.WorstFret, centsSaid(m.Worst, 1, o.Style))
	}
	c.sheet.Table = [][]string{{say("Occasion"), say("RMS, cents"), say("Farthest off, cents")}}
	y, best, worst := 0.0, -1, -1
	for i, s := range scores {
		if !unit.Finite(s.Map.RMS) {
			continue
		}
		if best < 0 || s.Map.RMS < scores[best].Map.RMS {
			best = i
		}
		if worst < 0 || s.Map.RMS > scores[worst].Map.RMS {
			worst = i
		}
		y -= small * 1.25
		figure := label(w-margin, y, small, drawing.End, o.Style.Decimal(s.Map.RMS, 1))
		figure.Bold = true
		room := w - 2*margin - width(figure.String, small, true) - 3
		name := s.Name.In(o.Style)
		words, far := name, farthest(s.Map)
		if all := name + ": " + far; far != "" && width(all, small, false) <= room {
			words = all
		}
		c.text("", label(margin, y, small, drawing.Start, fit(words, small, false, room)))
		c.text("rms", figure)
		y -= 1.4
		c.rect(drawing.LayerGap, "bar", drawing.Band3, margin, y-3, margin+math.Max(s.Map.RMS*scale, 0.2), y).Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.2)}
		y -= 3 + 1.6
		c.sheet.Table = append(c.sheet.Table, []string{name, o.Style.Decimal(s.Map.RMS, 1), far})
	}
	words := say("Nothing to compare yet.")
	if best >= 0 {
		words = say("Bars: cents RMS over the frets of all strings, with nut and saddle left where they are. Beside each: the note farthest off.")
	}
	bottom := c.caption(y, words)
	c.sheet.Desc = words
	if best >= 0 && worst != best {
		c.sheet.Desc += " " + say("Best: %s, %.1f cents. Worst: %s, %.1f cents.", scores[best].Name, scores[best].Map.RMS, scores[worst].Name, scores[worst].Map.RMS)
	}
	return c.done(bottom-1, 1.5)
}

// figureAndUnit finds a figure with its unit, to hold both on one line.
var figureAndUnit = regexp.MustCompile(`(\d) (mm|in|[Cc]ents?|N|lbf)\b`)

// SetupPlace is where on the strung guitar a step of its setup is done.
type SetupPlace string

// The places of a setup.
const (
	AtRelief SetupPlace = "relief" // the neck, by its rod
	AtNut    SetupPlace = "nut"    // the floors of the nut's slots
	AtHeight SetupPlace = "height" // the saddle's height, from below
	AtLine   SetupPlace = "line"   // where the strings break over the saddle
)

// SetupSpot is one step of a setup.
type SetupSpot struct {
	Place   SetupPlace
	Heading string // short, in the maker's language: "Relief"
	Words   string // what to do, in the maker's language, with its figure, and what it does to the others
	Done    bool
}

// SetupOptions of a setup order.
type SetupOptions struct {
	Style      unit.Style
	Narrow     bool
	LeftHanded bool // only changes the words
}

// SetupOrder draws where on the strung guitar each step of its setup is done, in the order given: numbered rounds on a side view that
// is not to scale, and under it what each number asks for. The rounds are named "spot-1" and so on; a step that is done has a tick.
func SetupOrder(spots []SetupSpot, o SetupOptions) *drawing.Sheet {
	w := pageWidth(o.Narrow)
	say := o.Style.Say
	c := newCanvas(w, say("Setting up, in order"))
	k := (w - 2*margin) / 100 // the picture is drawn on 100 by about 34
	at := func(x, y float64) drawing.Point { return pt(margin+x*k, y) }
	// Body, neck, board, nut, bridge and string, in plain shapes.
	c.polygon(drawing.LayerWood, "", drawing.Spruce, at(60, -2), at(100, -1), at(100, -12), at(60, -12)).Pen.None = true
	c.polyline(drawing.LayerWood, "", at(60, -12), at(60, -2), at(100, -1))
	c.polygon(drawing.LayerWood, "", drawing.Wood, at(6, 0), at(60, -2), at(60, -12), at(56, -12), at(51, -5.4), at(6, -3.6))
	var board, under []drawing.Point
	for i := 0; i <= 20; i++ { // dipped in the middle as relief dips it
		x := 6 + 66*float64(i)/20
		dip := 1.1 * math.Sin(math.Pi*clamp((x-6)/54, 0, 1))
		board = append(board, at(x, 2.2-0.03*(x-6)-dip))
		under = append([]drawing.Point{at(x, -0.03*(x-6)-dip)}, under...)
	}
	c.polygon(drawing.LayerWood, "", drawing.Dark, append(board, under...)...).Pen.Weight = mm(0.25)
	c.polygon(drawing.LayerWood, "", drawing.Bone, at(4.8, 0), at(6, 0), at(6, 3.4), at(4.8, 3.2)).Pen.Weight = mm(0.25)
	c.polygon(drawing.LayerWood, "", drawing.Dark, at(86, -1.4), at(88.5, 2.2), at(92, 2.2), at(96, -1.1)).Pen.Weight = mm(0.25)
	c.polygon(drawing.LayerWood, "", drawing.Bone, at(89, 1.2), at(89, 5), at(90.4, 5.4), at(90.8, 5), at(90.8, 1.2)).Pen.Weight = mm(0.25)
	str := c.line(drawing.LayerString, "", 0, 0, 0, 0)
	str.Shape = drawing.Line{From: at(6, 3.3), To: at(90.2, 5.4)}

	// Each place: the point meant, and where its round stands.
	const r = 3.4
	spot := map[SetupPlace][2]drawing.Point{
		AtRelief: {at(33, 0.4), at(33, 12.5)},
		AtNut:    {at(6, 3.2), at(6, 12.5)},
		AtHeight: {at(90, 2), at(81, -7)},
		AtLine:   {at(90.2, 5.4), at(90.2, 14)},
	}
	shown := map[SetupPlace]float64{} // rounds already at a place stand beside each other
	for i, s := range spots {
		p, ok := spot[s.Place]
		if !ok {
			continue
		}
		x := p[1].X.MM() + shown[s.Place]*(2*r+1)
		if s.Place == AtLine || s.Place == AtHeight {
			x = p[1].X.MM() - shown[s.Place]*(2*r+1)
		}
		y := p[1].Y.MM()
		if shown[s.Place] == 0 {
			c.line(drawing.LayerDim, "", x, y, p[0].X.MM(), p[0].Y.MM())
			c.circle(drawing.LayerDim, "", drawing.Ink, p[0].X.MM(), p[0].Y.MM(), 0.5).Pen.None = true
		}
		shown[s.Place]++
		round := c.circle(drawing.LayerNote, fmt.Sprintf("spot-%d", i+1), drawing.Paper, x, y, r)
		round.Pen = drawing.Pen{Tone: drawing.Ink, Weight: mm(0.4)}
		t := label(x, y-middle*0.34, middle, drawing.Middle, fmt.Sprint(i+1))
		t.Bold = true
		c.text("", t)
	}
	y := -12 - 3.0
	c.sheet.Table = [][]string{{say("Order‖one after another"), say("What"), say("What to do"), say("Done")}}
	var said []string
	for i, s := range spots {
		y -= middle * 1.2
		head := label(margin, y, middle, drawing.Start, fmt.Sprintf("%d. %s", i+1, s.Heading))
		head.Bold = true
		head.String = fit(head.String, middle, true, w-2*margin-8)
		c.text("", head)
		done := say("no")
		if s.Done {
			done = say("yes")
			x := margin + width(head.String, middle, true) + 2.5
			it := c.polyline(drawing.LayerTarget, "tick", pt(x, y+1.4), pt(x+1.2, y+0.2), pt(x+3.6, y+3))
			it.Pen = drawing.Pen{Weight: mm(0.7), Dash: []unit.Length{}}
		}
		y = c.caption(y-0.6, figureAndUnit.ReplaceAllString(s.Words, "$1\u00a0$2"))
		y -= 1
		c.sheet.Table = append(c.sheet.Table, []string{fmt.Sprint(i + 1), s.Heading, strings.ReplaceAll(s.Words, "\u00a0", " "), done})
		said = append(said, fmt.Sprintf("%d %s", i+1, s.Heading))
	}
	c.sheet.Desc = say("The strung guitar from its %v, neck to the left, not to scale.", seenSide(o.LeftHanded))
	if len(said) > 0 {
		c.sheet.Desc += " " + say("In order: %s.", strings.Join(said, ", "))
	}
	bottom := c.caption(y+1, say("The picture is not to scale."))
	return c.done(bottom-1, 19)
}
