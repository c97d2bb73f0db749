package web

import (
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/sheet"
	"fairset/unit"
)

// strungView sets the guitar without strings beside the guitar with them.
type strungView struct {
	ID      string
	Used    bool // the target goes by these figures
	Says    []unit.Phrase
	Picture picture
	Figures table
	cannot
}

// strungFigures works the guitar through from unstrung to strung; nil when nothing of its neck is given, so
// that a design which does not ask for it is not asked for it.
func (in *request) strungFigures(id string, d guitar.Values) *strungView {
	style := in.prefs.Units
	v := &strungView{ID: id, Used: d.Choice("pull_from") == "neck"}
	got, warnings, err := guitar.Chain(d)
	if err != nil {
		v.cannot = in.missing("To see what the strings do to the neck, give its shape and woods.", err)
		return v
	}
	typed := guitar.Build(d)
	b := got.Build(typed)
	t, _, err := b.Target()
	if err != nil {
		v.cannot = in.missing("What the strings do to the neck cannot be worked out yet.", err)
		return v
	}
	v.Says = got.Say()
	for _, w := range warnings {
		v.Says = append(v.Says, w.Say)
	}
	left := d.Choice("hand") == "left"
	v.Picture = both("strung-pair", false, func(narrow bool) *drawing.Sheet {
		return sheet.StrungPair(b, t, got, sheet.PairOptions{Style: style, Narrow: narrow, LeftHanded: left})
	})
	sd := got.Spread
	give := func(l unit.Length) string { return l.Fine(style) }
	turn := func(a unit.Angle) string { return style.Decimal(a.Degrees(), 3) + "°" }
	gap := "–"
	asTyped := d.Clone()
	asTyped["pull_from"] = []guitar.Value{{Text: guitar.FromTyped}}
	asTyped["top_rise_from"] = []guitar.Value{{Text: guitar.FromTyped}}
	if tt, _, err := guitar.Build(asTyped).Target(); err == nil {
		gap = tt.GapOnFrets.Fine(style)
	}
	v.Figures = table{Name: "Typed beside worked out", Head: in.heads("Figure", "Typed", "Worked out", "Give or take"), Short: true,
		Note: in.tell("Estimates: wood of one kind differs from board to board by a fifth, and a reading after stringing says it better."),
		Rows: [][]string{
			{in.tell("relief when strung"), d.Length("relief").Fine(style), got.ReliefStrung.Fine(style), give(sd.ReliefStrung)},
			{in.tell("relief the strings add"), "–", got.AddedRelief.Fine(style), give(sd.AddedRelief)},
			{in.tell("neck turns forward by"), "–", turn(got.Turn), turn(sd.Turn)},
			{in.tell("joint folds by"), turn(d.Angle("joint_fold")), turn(got.Fold), turn(sd.Fold)},
			{in.tell("top rises by"), d.Length("top_rise").Fine(style), got.TopRise.Fine(style), give(sd.TopRise)},
			{in.tell("gap on the frets, to set"), gap, got.GapTarget.Fine(style), give(sd.GapTarget)},
			{in.tell("the same once strung"), "–", got.GapStrung.Fine(style), give(sd.GapStrung)},
			{in.tell("action at fret 12, bass"), d.Length("action_bass").Fine(style), got.Action12.Bass.Fine(style), give(sd.Action12.Bass)},
			{in.tell("action at fret 12, treble"), d.Length("action_treble").Fine(style), got.Action12.Treble.Fine(style), give(sd.Action12.Treble)},
		}}
	return v
}
