package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/sheet"
	"fairset/unit"
)

// paperData is one guitar on one or two printed pages.
type paperData struct {
	layout
	ID       string
	Printed  string
	Units    unit.Text
	Start    unit.Text
	Asks     []fact
	Design   []fact
	Side     picture
	Heel     figure
	HeelSays string
	Next     string
	NextDo   unit.Phrase
	Steps    []stepRow
	Readings []paperRow
	Hidden   int // readings left out, older than those shown
	Notes    []noteRow
	Cautions unit.Texts
	Warnings []string

	Shots       []shot
	ShotsHidden int // older photos, left out
}

// paperRow is one line of the readings.
type paperRow struct{ Number, When, Step, Says, By string }

// paperShots bounds the photos on paper, two rows of them.
const paperShots = 8

// paperMost bounds the readings on paper; the history has them all.
const paperMost = 40

// paperPage serves GET /guitar/{id}/paper.
func paperPage(in *request) error {
	v, err := in.guitar()
	if err != nil {
		return err
	}
	g, b, style := v.Guitar, v.Bench, in.prefs.Units
	now := time.Now
	if in.srv.shop.Now != nil {
		now = in.srv.shop.Now
	}
	d := paperData{layout: in.guitarLayout("On paper", "print", v), ID: g.ID, Printed: in.moment(now()), Units: style.Name(), Start: "a repair, started from readings"}
	if basis, err := guitar.FindBasis(g.Basis); err == nil {
		d.Start = basis.Name
	}
	d.Asks = in.asksFor(b)
	for _, f := range g.Fields(guitar.StepDesign) {
		if strings.HasSuffix(f.Field, "_give") || !b.Design.Has(f.Field) {
			continue
		}
		d.Design = append(d.Design, fact{Name: f.Label, Say: exactWords(f, b.Design, style)})
	}
	left := b.Design.Choice("hand") == "left"
	d.Side, _ = in.sidePicture("paper", v, sheet.Unstrung, false)
	if n := b.Cut; n != nil && n.Cut.Planned.Deepest() > 0 && b.Step(guitar.StepCut).Status == guitar.Working {
		d.Heel = figure{ID: "paper-heel", Sheet: sheet.HeelFace(guitar.Heel(b.Design), n.Cut.Planned, sheet.HeelOptions{Style: style, TenonWidth: b.Design.Length("tenon_width"), Narrow: true, Flip: in.prefs.Flip, LeftHanded: left, Title: in.tell("Cut now")})}
		d.HeelSays = in.say(b.Step(guitar.StepCut).Advice.Do)
	}
	page := in.guitarData(v)
	d.Steps = page.Steps
	if page.Next != nil {
		d.Next, d.NextDo = page.Next.Name, page.NextDo
	}
	for _, e := range g.Live() {
		if e.Note() != "" {
			d.Notes = append(d.Notes, noteRow{noteWords(e, style), in.moment(e.At)})
		}
		if e.Step == guitar.StepNote {
			continue
		}
		d.Readings = append(d.Readings, paperRow{fmt.Sprint(e.Seq), style.Date(e.At.Local(), "2 Jan, 15:04"), in.say(entryName(e.Step)), entryWords(g, e, style), e.Bench})
	}
	if n := len(d.Readings) - paperMost; n > 0 {
		d.Hidden, d.Readings = n, d.Readings[n:]
	}
	shots, err := in.shots(g.ID, func(p store.Photo) bool { return p.Entry == 0 || p.Entry > len(g.Log) || !g.Log[p.Entry-1].Undone })
	if err != nil {
		return err
	}
	if n := len(shots) - paperShots; n > 0 {
		d.ShotsHidden, shots = n, shots[n:]
	}
	d.Shots = shots
	d.Cautions = cautions(b)
	for _, w := range b.Aim.Warnings {
		d.Warnings = append(d.Warnings, in.say(w.Say))
	}
	return in.render(http.StatusOK, "paper", d)
}

// asksFor are the figures the neck set must come to, and where it stands.
func (in *request) asksFor(b guitar.Bench) []fact {
	style := in.prefs.Units
	var out []fact
	add := func(say string, name unit.Text, args ...any) {
		out = append(out, fact{Name: unit.Say(name, args...), Say: say})
	}
	if t := b.Aim.Target; t != nil {
		add(in.say(t.NeckAngle), "neck angle")
		add(in.say(t.HeelToBoard()), "heel to board")
		if run := b.Design.Length("jig_run"); run > 0 {
			add(t.Jig(run).Exact(style), "jig rises over %v", run)
		}
	}
	if b.Aim.Known {
		add(b.Aim.GapOnFrets.Exact(style), "gap at the saddle, on the frets")
		add(b.Aim.GapOnBoard.Exact(style), "gap at the saddle, bare board")
	}
	add(b.Aim.SaddleDistance.Exact(style), "saddle from the joint")
	if t := b.Aim.Target; t != nil {
		fromNut, _ := guitar.SaddleLine(b.Design, t.NutToJoint)
		add(fromNut.Exact(style), "saddle from the nut")
		add(t.StringHeightAtSaddle.Exact(style), "string over the frets' line at the saddle")
	}
	if b.Lean.Known() {
		add(in.tell("%v, give or take %v", b.Lean.Mean, unit.FineLength(b.Lean.SD)), "gap now")
	}
	if b.Point.Known() {
		add(in.tell("%v, give or take %v", toSide(b.Point.Mean), unit.FineLength(b.Point.SD)), "neck's line now")
	}
	if b.Shift != 0 {
		add(b.Shift.Fine(style), "neck nearer the bridge so far by")
	}
	return out
}

// cautions gathers each caution of the steps once.
func cautions(b guitar.Bench) unit.Texts {
	var out unit.Texts
	for _, c := range []unit.Text{guitar.CautionChisel, guitar.CautionSand, guitar.CautionDrill, guitar.CautionGlue, guitar.CautionString, guitar.CautionLoad} {
		for _, st := range b.Steps {
			if strings.Contains(st.Caution.In(unit.Millimetre), c.In(unit.Millimetre)) {
				out = append(out, c)
				break
			}
		}
	}
	return out
}
