package web

import (
	"strings"

	"fairset/craft/guitar"
	"fairset/unit"
)

// airView is what the air does to a guitar between the shop and where it will live.
type airView struct {
	Says     []unit.Phrase
	Warnings []unit.Warning
	Figures  table
	Assumed  []string
	cannot
}

// airFigures works out what moves, and says what is needed to say more.
func (in *request) airFigures(d guitar.Values) *airView {
	got, err := guitar.AirOf(d)
	if err != nil {
		return &airView{cannot: in.missing("To see what moves between your shop and where the guitar will live, give the air in both.", err)}
	}
	v := &airView{Says: got.Say(), Warnings: got.Warnings}
	if len(got.Missing) > 0 {
		v.cannot = in.missing("To say more of the top, give:", got.Missing)
	}
	style := in.prefs.Units
	change := func(l unit.Length) string {
		if l > 0 {
			return "+" + l.Fine(style)
		}
		return strings.Replace(l.Fine(style), "-", "−", 1)
	}
	t := table{Name: "What moves", Head: in.heads("Figure", "Changes by", "Give or take"), Short: true,
		Rows: [][]string{{in.tell("moisture of the wood"), in.tell("%+.1f %%", float64(got.Moisture-got.MoistureFrom)), in.tell("%.1f %%", got.MoistureGive())}},
		Note: in.tell("Estimates. The rise of the top lies between none, with the rim holding all round, and what it would be with the rim giving way; the middle is shown. Creep, the back, the neck's own bend and glue are left out.")}
	for _, m := range got.Moves {
		t.Rows = append(t.Rows, []string{in.say(m.What), change(m.Change), m.Give.Fine(style)})
	}
	if dome := got.Dome; dome != nil {
		t.Rows = append(t.Rows,
			[]string{in.tell("top at the saddle"), change(dome.Rise), dome.RiseGive.Fine(style)},
			[]string{in.tell("gap"), change(dome.Gap), dome.RiseGive.Fine(style)},
			[]string{in.tell("action at fret 12"), change(dome.Action), dome.ActionGive.Fine(style)},
			[]string{in.tell("dome radius if the rim gave way"), radius(dome.From, style) + " → " + radius(dome.Tightest, style), "–"})
		for _, a := range dome.Assumed {
			v.Assumed = append(v.Assumed, in.say(a))
		}
	}
	v.Figures = t
	return v
}

// radius says a dome's radius; 0 is flat and a negative one hollow.
func radius(r unit.Length, s unit.Style) string {
	switch {
	case r == 0 || r.Abs() > 1000:
		return s.Say("flat‖a radius")
	case r < 0:
		return s.Say("hollow, %s", radius(-r, s))
	case s.Metric():
		return s.Decimal(float64(r), 1) + " m"
	}
	return s.Say("%.0f ft", r.Inches()/12)
}
