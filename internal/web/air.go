package web

import (
	"fmt"
	"strings"

	"fairset/craft/guitar"
	"fairset/unit"
)

// airView is what the air does to a guitar between the shop and where it will live.
type airView struct {
	Says     []unit.Phrase
	Warnings []unit.Warning
	Figures  table
	Assumed  string
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
	t := table{Name: "What moves", Head: []string{"Figure", "Changes by", "Give or take"}, Short: true,
		Rows: [][]string{{"moisture of the wood", fmt.Sprintf("%+.1f %%", float64(got.Moisture-got.MoistureFrom)), fmt.Sprintf("%.1f %%", got.MoistureGive())}},
		Note: "Estimates. The rise of the top lies between none, with the rim holding all round, and what it would be with the rim giving way; the middle is shown. Creep, the back, the neck's own bend and glue are left out."}
	for _, m := range got.Moves {
		t.Rows = append(t.Rows, []string{m.What, change(m.Change), m.Give.Fine(style)})
	}
	if dome := got.Dome; dome != nil {
		t.Rows = append(t.Rows,
			[]string{"top at the saddle", change(dome.Rise), dome.RiseGive.Fine(style)},
			[]string{"gap", change(dome.Gap), dome.RiseGive.Fine(style)},
			[]string{"action at fret 12", change(dome.Action), dome.ActionGive.Fine(style)},
			[]string{"dome radius if the rim gave way", radius(dome.From, style) + " → " + radius(dome.Tightest, style), "–"})
		v.Assumed = strings.Join(dome.Assumed, ", ")
	}
	v.Figures = t
	return v
}

// radius says a dome's radius; 0 is flat and a negative one hollow.
func radius(r unit.Length, s unit.Style) string {
	switch {
	case r == 0 || r.Abs() > 1000:
		return "flat"
	case r < 0:
		return "hollow, " + radius(-r, s)
	case s == unit.Millimetre:
		return fmt.Sprintf("%.1f m", float64(r))
	}
	return fmt.Sprintf("%.0f ft", r.Inches()/12)
}
