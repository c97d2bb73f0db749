package cli

import (
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/drawing/svg"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"

	"github.com/spf13/cobra"
)

func (a *app) drawCmd() *cobra.Command {
	var view, out string
	var heights float64
	cmd := &cobra.Command{
		Use: "draw GUITAR --view VIEW [--out FILE.svg]", Short: "Draw a guitar as SVG", Args: args(1, 1, "say which guitar"),
		Example: "  fairset draw Heron --view heel --out heel.svg",
		RunE: func(cmd *cobra.Command, args []string) error {
			if heights < 1 || heights > 20 || heights != heights {
				return &usageError{unit.Say("heights cannot be drawn %g times", heights), unit.Say("--heights takes 1 to 20")}
			}
			return a.useOne(args[0], func(_ *shop.Shop, v shop.View) error {
				s, err := a.sheet(v, view, heights)
				if err != nil {
					return err
				}
				data, err := svg.Bytes(s, svg.Options{Mode: svg.Paper, ID: view, File: true})
				if err != nil {
					return err
				}
				return a.writeFile(out, data)
			})
		},
	}
	f := cmd.Flags()
	f.StringVar(&view, "view", "side", "one of: side, heel, progress, pull, saddle, cents, board, nut, strung")
	f.StringVar(&out, "out", "", "file to write; - or nothing is standard output")
	f.Float64Var(&heights, "heights", 1, "draw heights so many times as large, in the side view")
	return cmd
}

// sheet draws one view of a guitar.
func (a *app) sheet(v shop.View, view string, heights float64) (*drawing.Sheet, error) {
	d, left := v.Bench.Design, v.Bench.Design.Choice("hand") == "left"
	switch view {
	case "side":
		if v.Bench.Aim.Target == nil {
			return nil, misused("a repair has no design to draw from the side", "try --view heel or --view progress")
		}
		return sheet.SideView(guitar.Build(d), *v.Bench.Aim.Target, sheet.SideOptions{Style: a.style(), Exaggeration: heights,
			HeelHeight: d.Length("heel_height"), Frets: d.Count("frets"), LeftHanded: left}), nil
	case "heel":
		if v.Bench.Cut == nil {
			return nil, misused("no cut is planned yet", "read the lean and where the neck points first")
		}
		return sheet.HeelFace(guitar.Heel(d), v.Bench.Cut.Cut.Planned, sheet.HeelOptions{Style: a.style(), TenonWidth: d.Length("tenon_width"), LeftHanded: left, Title: a.style().Say("Cut now")}), nil
	case "progress":
		if len(v.Bench.Readings) == 0 {
			return nil, &usageError{unit.Say("nothing has been read yet"), unit.Plain("fairset read " + quoteArg(v.Guitar.Name) + " lean --help")}
		}
		return sheet.Progress(points(v.Bench, a.style()), sheet.Aim{Gap: v.Bench.Aim.GapOnFrets, GapTolerance: d.Length("gap_tolerance"), OffsetTolerance: d.Length("offset_tolerance")},
			sheet.ProgressOptions{Style: a.style()}), nil
	}
	if v.Guitar.Start == guitar.FromDesign {
		if s, err := a.strungSheet(d, view, left); s != nil || err != nil {
			return s, err
		}
	}
	return nil, &usageError{unit.Say("there is no view %q", view), unit.Say("the views are side, heel, progress, pull, saddle, cents, board, nut and strung; a repair has the first three")}
}

// points gathers readings taken between the same passes.
func points(b guitar.Bench, s unit.Style) []sheet.ProgressPoint {
	var out []sheet.ProgressPoint
	for _, r := range b.Readings {
		var p *sheet.ProgressPoint
		if n := len(out); n > 0 && out[n-1].Label == label(r.Passes, s) && !(r.Step == guitar.StepLean && out[n-1].HasGap) && !(r.Step == guitar.StepPoint && out[n-1].HasOffset) {
			p = &out[n-1]
		} else {
			out = append(out, sheet.ProgressPoint{Label: label(r.Passes, s)})
			p = &out[len(out)-1]
		}
		if r.Step == guitar.StepLean {
			p.Gap, p.GapSD, p.HasGap = r.Value, r.SD, true
		} else {
			p.Offset, p.OffsetSD, p.HasOffset = r.Value, r.SD, true
		}
	}
	return out
}

func label(passes int, s unit.Style) string {
	if passes == 0 {
		return s.Say("start‖of the work")
	}
	return s.Say("pass %d", passes)
}
