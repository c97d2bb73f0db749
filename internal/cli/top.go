package cli

import (
	"fmt"
	"text/tabwriter"

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
		Use: "top GUITAR", Short: "Say what the strings do to a guitar's top, and how it rings", Args: args(1, 1, "which guitar"),
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
			return &usageError{"a drawing or figures, not both", "leave --svg out, or --json and --wood"}
		}
		return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
			if v.Guitar.Start == guitar.FromReadings {
				return &usageError{"a repair has no design to work its top out from", "start a guitar from a design"}
			}
			switch {
			case out != "":
				return a.drawTop(s, v, out)
			case wood:
				return a.topWood(s, v, asJSON)
			}
			got, err := api.TopOf(a.ctx, s, v, a.style())
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
	a.printf("The top of %s under its strings, estimated\n", v.Guitar.Name)
	t := a.table()
	t.row("saddle rises by", mm(got.SaddleRise))
	t.row("most risen, behind the bridge", mm(got.Rise))
	t.row("most sunk, ahead of it", mm(got.Dip))
	t.row("bridge tips forward by", fmt.Sprintf("%.2f°", got.Tilt))
	t.row("stiffness against tipping, for 1°", fmt.Sprintf("%.2f N·m", got.Stiffness/1000))
	t.row("weight of top, braces and plate", fmt.Sprintf("%.0f g", got.Mass))
	t.row("stiffness for each 100 g of it", fmt.Sprintf("%.2f N·m", got.Stiffness/1000/got.Mass*100))
	t.row("gap to set on the frets", mm(got.Gap))
	if !got.Used {
		t.row("the same by the typed rise", mm(got.GapTyped)+", which the target goes by")
	}
	t.end()
	a.printf("\nThe top by itself, its edge held\n")
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	for i, m := range got.Modes {
		fmt.Fprintf(w, "  mode %d\t%.0f Hz\t%s\n", i+1, m.Frequency, m.Name)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if c := got.Air; c != nil {
		a.para("  ", fmt.Sprintf("With the air in the body, taken as %s deep: %.0f Hz and %.0f Hz; the air in the soundhole by itself about %.0f Hz.", mm(c.Depth), c.Low, c.High, c.Air))
	}
	a.printf("\nHow hard the braces work, at the free edge\n")
	w = tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	for _, b := range got.Braces {
		fmt.Fprintf(w, "  %s\t%+.2f thousandths\tat %.0f %% of its length\n", b.Name, b.Strain/1000, b.Place)
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
	a.printf("What the notes of the glued top of %s say of its wood\n", v.Guitar.Name)
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "  mode\theard\tcomputed\twith the wood as fitted\n")
	for _, n := range got.Notes {
		far := ""
		if n.Far {
			far = "\tfar off: perhaps another mode"
		}
		fmt.Fprintf(w, "  %d\t%.0f Hz\t%.0f Hz\t%.0f Hz%s\n", n.Mode, n.Heard, n.Before, n.After, far)
	}
	fmt.Fprintf(w, "  stiffness\tof its kind\tgive or take\tdoubt taken away\n")
	for _, x := range got.Woods {
		fmt.Fprintf(w, "  %s\t%.0f %%\t%.0f %%\t%.0f %%\n", x.Field, x.Share, x.SD, x.Told)
	}
	return w.Flush()
}
