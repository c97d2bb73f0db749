package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"fairset/craft/guitar"
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
	a.printf("Strings of %s, bass first, A4 at %g Hz\n", v.Guitar.Name, got.A4)
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "  string\tmade\tgauge\tcore\tmass, g/m\tpull\tshare\tB × 10⁻⁶\n")
	for _, x := range got.Strings {
		core := "-"
		if x.Core > 0 {
			core = lengthOf(x.Core).Fine(s)
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%.3f\t%s\t%.1f %%\t%.0f\n", x.Name, x.Kind, lengthOf(x.Diameter).Fine(s), core, x.Mass*1000, unit.Force(x.Tension), x.Share, x.B*1e6)
	}
	w.Flush()
	a.printf("  Together %s; the bass half carries %.0f %%.\n", unit.Force(got.Total), got.BassShare)
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
	a.printf("Saddle and nut of %s\n", v.Guitar.Name)
	t := a.table()
	t.row("saddle as chosen, on the centreline", fmt.Sprintf("%s behind the scale length (%s)", mm(got.Centre), got.SaddleKind))
	t.row("straight saddle", fmt.Sprintf("%s, turned %.2f°, leaves %.1f cents", mm(got.Straight.Centre), got.Straight.Angle, got.Straight.RMS))
	t.row("a place for each string", fmt.Sprintf("blank %s wide, leaves %.1f cents", mm(got.Compensated.Blank), got.Compensated.RMS))
	t.row("notes are off by", fmt.Sprintf("%.1f cents RMS; the farthest, %s at fret %d, %+.1f", got.RMS, got.WorstString, got.WorstFret, got.Worst))
	t.end()
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "  string\tsaddle alone\tleaves\tnut\tand saddle\tleaves\tchosen: nut\tsaddle\n")
	for _, x := range got.Strings {
		fmt.Fprintf(w, "  %s\t%s\t%.1f\t%s\t%s\t%.1f\t%s\t%s\n", x.Name, mm(x.SaddleOnly.Saddle), x.SaddleOnly.RMS, mm(x.NutAndSaddle.Nut), mm(x.NutAndSaddle.Saddle), x.NutAndSaddle.RMS, mm(x.Nut), mm(x.Saddle))
	}
	w.Flush()
	a.printf("\nCents of every note, + is sharp\n")
	w = tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "fret\t")
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
				fmt.Fprintf(w, "%+.1f\t", x.Cents[f])
			} else {
				fmt.Fprintf(w, "\t")
			}
		}
		fmt.Fprintln(w)
	}
	w.Flush()
	a.printf("\nThe same saddle otherwise played\n")
	t = a.table()
	for _, o := range got.Occasions {
		t.row(o.Name, fmt.Sprintf("%.1f cents RMS, farthest %+.1f", o.RMS, o.Worst))
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
	a.printf("%s with and without its strings, estimated\n", v.Guitar.Name)
	for _, line := range got.Say {
		a.para("  ", line)
	}
	t := a.table()
	long := func(label string, e api.Estimate) {
		t.row(label, fmt.Sprintf("%s, give or take %s", lengthOf(e.Mean).Fine(s), lengthOf(e.SD).Fine(s)))
	}
	turn := func(label string, e api.Turned) {
		t.row(label, fmt.Sprintf("%.3f°, give or take %.3f°", e.Mean, e.SD))
	}
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
		a.para("  ", "The target goes by typed figures. fairset change "+quoteArg(v.Guitar.Name)+" --pull-from neck makes it go by these.")
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
	a.printf("%s between the shop and where it will live, estimated\n", v.Guitar.Name)
	for _, line := range got.Say {
		a.para("  ", line)
	}
	if len(got.Missing) > 0 {
		a.para("  ", "To say more of the top, the design lacks: "+strings.Join(got.Missing, ", ")+".")
	}
	if got.Dome != nil && len(got.Dome.Assumed) > 0 {
		a.para("  ", "Taken because the design does not say: "+strings.Join(got.Dome.Assumed, ", ")+".")
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
	a.printf("Board of %s, %s long\n", v.Guitar.Name, lengthOf(got.Length).Exact(s))
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "  fret\tfrom the nut\tturned\twire\tslot\twith a straight floor\n")
	for _, f := range got.Frets {
		fmt.Fprintf(w, "  %d\t%s\t%.2f°\t%s\t%s\t%s\n", f.Fret, lengthOf(f.Position).Exact(s), f.Angle, mm(f.Wire), mm(f.Depth), mm(f.FlatDepth))
	}
	w.Flush()
	a.printf("  Wire in all %s; buy %s.\n", lengthOf(got.Wire).In(s), lengthOf(got.Buy).In(s))
	a.printf("\nNut slots, bass first\n")
	w = tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "  from the bass edge\twidth\tfloor over the board\tbelow the nut's top\n")
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
