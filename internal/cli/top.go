package cli

import (
	"fmt"
	"text/tabwriter"

	"fairset/craft/body"
	"fairset/craft/guitar"
	"fairset/drawing/svg"
	"fairset/internal/api"
	"fairset/internal/shop"
	"fairset/sheet"

	"github.com/spf13/cobra"
)

func (a *app) topCmd() *cobra.Command {
	var asJSON, wood bool
	var out string
	cmd := &cobra.Command{
		Use: "top GUITAR", Short: "Say what the strings do to a guitar's top, and how it rings", Args: args(1, 1, "say which guitar"),
		Long: `Work out the braced top of a guitar as a plate: how far the strings lift the saddle and tip the bridge, what that does to the gap
to set, how the top rings by itself, how hard its braces work. It takes some seconds. Every figure is an estimate: wood of one kind differs by a fifth.
GUITAR is a name, an id, or a guitar file. Notes of the glued top are entered as figures of the design, tap_mode1 and so on.`,
		Example: `  fairset top Heron
  fairset top Heron --svg top.svg
  fairset change Heron --tap-mode1 192 && fairset top Heron --wood`,
	}
	f := cmd.Flags()
	f.BoolVar(&asJSON, "json", false, "as JSON, lengths in millimetres")
	f.BoolVar(&wood, "wood", false, "say what the notes of the glued top mean for the stiffness of its wood")
	f.StringVar(&out, "svg", "", "draw the level lines of the top under its strings into this file; - is standard output")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		if out != "" && (wood || asJSON) {
			return misused("a drawing or figures, not both", "leave --svg out, or --json and --wood")
		}
		return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
			if v.Guitar.Start == guitar.FromReadings {
				return misused("a repair has no design to work its top out from", "start a guitar from a design")
			}
			switch {
			case out != "":
				return a.drawTop(s, v, out)
			case wood:
				return a.topWood(s, v, asJSON)
			}
			got, err := api.TopOf(a.ctx, s, v, a.speaking(asJSON))
			if err != nil {
				return err
			}
			if asJSON {
				return a.json(got)
			}
			return a.sayTop(v, got)
		})
	}
	return cmd
}

func (a *app) drawTop(s *shop.Shop, v shop.View, out string) error {
	d := v.Bench.Design
	got, err := s.TopOf(a.ctx, d, guitar.TopModes, nil)
	if err != nil {
		return err
	}
	drawn := sheet.TopDeflection(got.Body, sheet.TopShape(got.Deflection), sheet.TopOptions{Style: a.style(), LeftHanded: d.Choice("hand") == "left"})
	data, err := svg.Bytes(drawn, svg.Options{Mode: svg.Paper, ID: "top", File: true})
	if err != nil {
		return err
	}
	return a.writeFile(out, data)
}

func (a *app) sayTop(v shop.View, got api.TopReply) error {
	s := a.style()
	mm := func(x float64) string { return lengthOf(x).Fine(s) }
	a.say("", "The top of %s under its strings, estimated", v.Guitar.Name)
	t := a.table()
	t.is("saddle rises by", mm(got.SaddleRise))
	t.is("most risen, behind the bridge", mm(got.Rise))
	t.is("most sunk, ahead of it", mm(got.Dip))
	t.say("bridge tips forward by", "%.2f°", got.Tilt)
	t.is("stiffness against tipping, for 1°", s.Decimal(got.Stiffness/1000, 2)+" N·m")
	t.is("weight of top, braces and plate", s.Decimal(got.Mass, 0)+" g")
	t.is("stiffness for each 100 g of it", s.Decimal(got.Stiffness/1000/got.Mass*100, 2)+" N·m")
	t.is("gap to set on the frets", mm(got.Gap))
	if !got.Used {
		t.say("the same by the typed rise", "%s, which the target goes by", mm(got.GapTyped))
	}
	t.end()
	a.say("\n", "The top by itself, its edge held")
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	for i, m := range got.Modes {
		fmt.Fprintf(w, "  %s\t%.0f Hz\t%s\n", s.Say("mode %d", i+1), m.Frequency, m.Name)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if c := got.Air; c != nil {
		a.note("  ", "With the air in the body, taken as %s deep: %.0f Hz and %.0f Hz; the air in the soundhole by itself about %.0f Hz.", mm(c.Depth), c.Low, c.High, c.Air)
	}
	a.say("\n", "How hard the braces work, at the free edge")
	w = tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	for _, b := range got.Braces {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", body.Called(b.Name).In(s), s.Say("%+.2f thousandths", b.Strain/1000), s.Say("at %.0f %% of its length", b.Place))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	a.warned(got.Warnings)
	return nil
}

func (a *app) topWood(s *shop.Shop, v shop.View, asJSON bool) error {
	got, err := api.TopWoodOf(a.ctx, s, v)
	if err != nil {
		return err
	}
	if asJSON {
		return a.json(got)
	}
	a.say("", "What the notes of the glued top of %s say of its wood", v.Guitar.Name)
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	a.columns(w, "mode", "heard", "computed", "with the wood as fitted")
	for _, n := range got.Notes {
		far := ""
		if n.Far {
			far = "\t" + a.style().Say("far off: perhaps another mode")
		}
		fmt.Fprintf(w, "  %d\t%.0f Hz\t%.0f Hz\t%.0f Hz%s\n", n.Mode, n.Heard, n.Before, n.After, far)
	}
	a.columns(w, "stiffness", "of its kind", "give or take", "doubt taken away")
	for _, x := range got.Woods {
		fmt.Fprintf(w, "  %s\t%.0f %%\t%.0f %%\t%.0f %%\n", x.Field, x.Share, x.SD, x.Told)
	}
	return w.Flush()
}
