package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"fairset/craft/guitar"
	"fairset/craft/stringset"
	"fairset/drawing"
	"fairset/internal/api"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// view is one part of a guitar that show can say by itself.
type view struct {
	name, about string
	json        func(shop.View, unit.Style) (any, error)
	say         func(*app, shop.View) error
}

var views = []view{
	{"strings", "what the strings are and what they pull", func(v shop.View, s unit.Style) (any, error) { return api.StringsOf(v, s) }, (*app).sayStrings},
	{"intonation", "where saddle and nut should be, and the cents of every note", func(v shop.View, s unit.Style) (any, error) { return api.IntonationOf(v, s) }, (*app).sayIntonation},
	{"strungup", "the guitar with and without its strings", func(v shop.View, s unit.Style) (any, error) { return api.StrungUpOf(v, s) }, (*app).sayStrungUp},
	{"air", "what the air does to it between the shop and where it will live", func(v shop.View, s unit.Style) (any, error) { return api.AirOf(v, s) }, (*app).sayAir},
	{"board", "frets, slots, wire and nut slots", func(v shop.View, s unit.Style) (any, error) { return api.BoardOf(v, s) }, (*app).sayBoard},
}

func lengthOf(mm float64) unit.Length { return unit.Length(mm) * unit.MM }

func (a *app) warned(ws []api.Warning) {
	for _, w := range ws {
		a.para("  ! ", w.Message)
	}
}

func (a *app) sayStrings(v shop.View) error {
	s := a.style()
	got, err := api.StringsOf(v, s)
	if err != nil {
		return err
	}
	a.say("", "Strings of %s, bass first, A4 at %g Hz", v.Guitar.Name, got.A4)
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	a.columns(w, "string‖of the guitar", "made", "gauge", "core", "mass, g/m", "pull", "share", "B × 10⁻⁶")
	for _, x := range got.Strings {
		core := "-"
		if x.Core > 0 {
			core = lengthOf(x.Core).Fine(s)
		}
		made := unit.Plain(x.Kind)
		switch x.Kind {
		case string(stringset.Plain):
			made = unit.Say("plain‖string")
		case string(stringset.Wound):
			made = unit.Say("wound‖string")
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\t%s\t%s %%\t%.0f\n", x.Name, made.In(s), lengthOf(x.Diameter).Fine(s), core, s.Decimal(x.Mass*1000, 3), unit.Force(x.Tension).In(s), s.Decimal(x.Share, 1), x.B*1e6)
	}
	w.Flush()
	a.say("  ", "Together %v; the bass half carries %.0f %%.", unit.Force(got.Total), got.BassShare)
	a.warned(got.Warnings)
	return nil
}

func (a *app) sayIntonation(v shop.View) error {
	s := a.style()
	got, err := api.IntonationOf(v, s)
	if err != nil {
		return err
	}
	mm := func(x float64) string { return lengthOf(x).Fine(s) }
	a.say("", "Saddle and nut of %s", v.Guitar.Name)
	t := a.table()
	chosen := unit.Text("%s behind the scale length (straight)")
	if got.SaddleKind == guitar.SaddleCompensated {
		chosen = "%s behind the scale length (compensated)"
	}
	t.say("saddle as chosen, on the centreline", chosen, mm(got.Centre))
	t.say("straight saddle", "%s, turned %.2f°, leaves %.1f cents", mm(got.Straight.Centre), got.Straight.Angle, got.Straight.RMS)
	t.say("a place for each string", "blank %s wide, leaves %.1f cents", mm(got.Compensated.Blank), got.Compensated.RMS)
	t.say("notes are off by", "%.1f cents RMS; the farthest, %s at fret %d, %+.1f", got.RMS, got.WorstString, got.WorstFret, got.Worst)
	t.end()
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	a.columns(w, "string‖of the guitar", "saddle alone", "leaves‖so many cents", "nut‖of the neck", "and saddle", "leaves‖so many cents", "chosen: nut", "saddle")
	for _, x := range got.Strings {
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", x.Name, mm(x.SaddleOnly.Saddle), s.Decimal(x.SaddleOnly.RMS, 1), mm(x.NutAndSaddle.Nut), mm(x.NutAndSaddle.Saddle), s.Decimal(x.NutAndSaddle.RMS, 1), mm(x.Nut), mm(x.Saddle))
	}
	w.Flush()
	a.say("\n", "Cents of every note, + is sharp")
	w = tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "%s\t", s.Say("fret"))
	frets := 0
	for _, x := range got.Strings {
		fmt.Fprintf(w, "%s\t", x.Name)
		frets = max(frets, len(x.Cents))
	}
	fmt.Fprintln(w)
	for f := range frets {
		fmt.Fprintf(w, "%d\t", f+1)
		for _, x := range got.Strings {
			if f < len(x.Cents) {
				fmt.Fprintf(w, "%s\t", s.Say("%+.1f", x.Cents[f]))
			} else {
				fmt.Fprintf(w, "\t")
			}
		}
		fmt.Fprintln(w)
	}
	w.Flush()
	a.say("\n", "The same saddle otherwise played")
	t = a.table()
	for _, o := range got.Occasions {
		t.row(o.Name, s.Say("%.1f cents RMS, farthest %+.1f", o.RMS, o.Worst))
	}
	t.end()
	a.para("  ", got.Why)
	a.warned(got.Warnings)
	return nil
}

func (a *app) sayStrungUp(v shop.View) error {
	s := a.style()
	got, err := api.StrungUpOf(v, s)
	if err != nil {
		return err
	}
	a.say("", "%s with and without its strings, estimated", v.Guitar.Name)
	for _, line := range got.Say {
		a.para("  ", line)
	}
	t := a.table()
	long := func(label unit.Text, e api.Estimate) {
		t.say(label, "%s, give or take %v", lengthOf(e.Mean).Fine(s), unit.FineLength(lengthOf(e.SD)))
	}
	turn := func(label unit.Text, e api.Turned) { t.say(label, "%.3f°, give or take %.3f°", e.Mean, e.SD) }
	long("relief the strings add", got.AddedRelief)
	long("relief when strung", got.Relief)
	turn("neck turns forward by", got.Turn)
	turn("joint folds by", got.Fold)
	long("top rises by", got.TopRise)
	long("gap to set the unstrung neck to", got.GapTarget)
	long("gap it becomes", got.GapStrung)
	long("action at fret 12, bass", got.ActionBass)
	long("action at fret 12, treble", got.ActionTre)
	t.end()
	if !got.Used {
		a.note("  ", "The target goes by typed figures. fairset change %s --pull-from neck makes it go by these.", quoteArg(v.Guitar.Name))
	}
	a.warned(got.Warnings)
	return nil
}

func (a *app) sayAir(v shop.View) error {
	s := a.style()
	got, err := api.AirOf(v, s)
	if err != nil {
		return err
	}
	a.say("", "%s between the shop and where it will live, estimated", v.Guitar.Name)
	for _, line := range got.Say {
		a.para("  ", line)
	}
	if len(got.Missing) > 0 {
		a.note("  ", "To say more of the top, the design lacks: %s.", strings.Join(got.Missing, ", "))
	}
	if got.Dome != nil && len(got.Dome.Assumed) > 0 {
		a.note("  ", "Taken because the design does not say: %s.", strings.Join(got.Dome.Assumed, ", "))
	}
	a.warned(got.Warnings)
	return nil
}

func (a *app) sayBoard(v shop.View) error {
	s := a.style()
	got, err := api.BoardOf(v, s)
	if err != nil {
		return err
	}
	mm := func(x float64) string { return lengthOf(x).Fine(s) }
	a.say("", "Board of %s, %s long", v.Guitar.Name, lengthOf(got.Length).Exact(s))
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	a.columns(w, "fret", "from the nut", "turned", "wire", "slot‖depth of a fret's", "with a straight floor")
	for _, f := range got.Frets {
		fmt.Fprintf(w, "  %d\t%s\t%s°\t%s\t%s\t%s\n", f.Fret, lengthOf(f.Position).Exact(s), s.Decimal(f.Angle, 2), mm(f.Wire), mm(f.Depth), mm(f.FlatDepth))
	}
	w.Flush()
	a.say("  ", "Wire in all %v; buy %v.", lengthOf(got.Wire), lengthOf(got.Buy))
	a.say("\n", "Nut slots, bass first")
	w = tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	a.columns(w, "from the bass edge", "width", "floor over the board", "below the nut's top")
	for _, n := range got.Nut {
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", mm(n.FromBass), mm(n.Width), mm(n.Floor), mm(n.Depth))
	}
	w.Flush()
	a.warned(got.Warnings)
	return nil
}

// strungSheet draws the views of strings, board and strung guitar; nil for a view it does not know.
func (a *app) strungSheet(d guitar.Values, view string, left bool) (*drawing.Sheet, error) {
	s := a.style()
	switch view {
	case "pull":
		got, err := guitar.StringSetUp(d)
		if err != nil {
			return nil, err
		}
		return sheet.TensionChart(got.Balance, sheet.TensionOptions{Style: s}), nil
	case "saddle", "cents":
		got, err := guitar.IntonationOf(d)
		if err != nil {
			return nil, err
		}
		if view == "cents" {
			return sheet.CentsMap(got.Map, sheet.CentsOptions{Style: s, LeftHanded: left, Fit: got.Strung[0].FitFrets}), nil
		}
		return sheet.SaddleTop(saddleTop(got), sheet.SaddleOptions{Style: s, LeftHanded: left}), nil
	case "board", "nut":
		got, err := guitar.BoardOf(d)
		if err != nil {
			return nil, err
		}
		if view == "board" {
			return sheet.BoardPlan(got.Layout, sheet.BoardPlanOptions{Style: s, LeftHanded: left}), nil
		}
		return sheet.NutSlots(sheet.NutInput{Layout: got.Layout, Slots: got.Nut, Crown: d.Length("fret_crown"), Names: got.Names}, sheet.NutOptions{Style: s, LeftHanded: left}), nil
	case "strung":
		got, _, err := guitar.Chain(d)
		if err != nil {
			return nil, err
		}
		b := got.Build(guitar.Build(d))
		t, _, err := b.Target()
		if err != nil {
			return nil, err
		}
		return sheet.StrungPair(b, t, got, sheet.PairOptions{Style: s, LeftHanded: left}), nil
	}
	return nil, nil
}

// saddleTop is the chosen saddle as it is drawn.
func saddleTop(got guitar.Intonation) sheet.SaddleInput {
	s := sheet.SaddleInput{Across: got.Across, Centre: got.Straight.Centre, Slope: got.Straight.Slope, Nut: got.Nut}
	if got.SaddleKind == guitar.SaddleCompensated {
		s.Centre, s.Slope, s.Blank, s.Compensated = got.Compensated.Centre, got.Compensated.Slope, got.Compensated.Blank, true
	}
	for i, m := range got.Models {
		s.Names = append(s.Names, m.String.Name)
		own := got.SaddleOnly[i].Saddle
		if got.NutKind == guitar.NutCompensated {
			own = got.NutAndSaddle[i].Saddle
		}
		s.Own = append(s.Own, own)
	}
	return s
}
