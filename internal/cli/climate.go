package cli

import (
	"fmt"
	"text/tabwriter"
	"time"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/unit"

	"github.com/spf13/cobra"
)

func (a *app) climateCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use: "climate", Short: "The shop's air: keep readings, take in a logger's file, see the wood behind it",
		Args: args(0, 0, ""), RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.climateAdd(), a.climateImport(), a.climateShow(), a.climateExport(), a.climateRemove())
	return cmd
}

// airFields are the figures of a reading on the command line.
var airFields = []guitar.Field{
	{Limit: unit.Limit{Field: "temperature", Label: unit.Say("temperature"), Kind: unit.KindTemperature, Min: -20, Max: 60}, Help: unit.Say("21, 21 C or 70 F"), Required: true},
	{Limit: unit.Limit{Field: "humidity", Label: unit.Say("relative humidity"), Kind: unit.KindPercent, Min: 0.01, Max: 0.99}, Help: unit.Say("in percent"), Required: true},
}

// when reads a time as it is typed: RFC 3339, or date and time by the shop's clock.
func when(text string) (time.Time, error) {
	for _, f := range []string{"2006-01-02 15:04", "2006-01-02T15:04", time.DateTime, time.DateOnly} {
		if t, err := time.ParseInLocation(f, text, time.Local); err == nil {
			return t, nil
		}
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	return time.Time{}, &usageError{unit.Say("%q is not a time", text), unit.Say(`write it like "2026-03-02 14:30" or 2026-03-02T14:30:00Z`)}
}

func (a *app) climateAdd() *cobra.Command {
	var at, place string
	var given *fieldFlags
	cmd := &cobra.Command{
		Use: "add --temperature T --humidity H", Short: "Keep one reading", Args: args(0, 0, ""),
		Example: "  fairset climate add --temperature 21 --humidity 45\n  fairset climate add --temperature \"70 F\" --humidity 45 --place bench --at \"2026-03-02 14:30\"",
		RunE: func(*cobra.Command, []string) error {
			r := climate.Reading{Place: place}
			var err error
			if at != "" {
				if r.At, err = when(at); err != nil {
					return err
				}
			}
			return a.use("", func(s *shop.Shop) error {
				texts, err := given.texts(airFields, unit.Say("a reading of the air‖a flag does not belong to"))
				if err != nil {
					return err
				}
				v, err := guitar.Parse(airFields, texts, a.style())
				if err != nil {
					return err
				}
				r.Temperature, r.Humidity = v.Ratio("temperature"), v.Ratio("humidity")*100
				r, got, err := s.AddClimate(a.ctx, r)
				switch {
				case err != nil:
					return err
				case len(got.Differ) > 0:
					return misused("there is another reading of that time and place already; it was left as it is", "fairset climate remove takes it away")
				case got.Same > 0:
					a.say("", "That reading was here already.")
				default:
					a.say("", "Kept: %.0f %% and %v. Wood that settled there would hold %.1f %% of water.", r.Humidity, unit.TemperatureC(r.Temperature), r.EMC())
				}
				return nil
			})
		},
	}
	given = a.fieldsOn(cmd, false, airFields)
	cmd.Flags().StringVar(&at, "at", "", "when; now if left out")
	cmd.Flags().StringVar(&place, "place", "", "where, such as bench")
	return cmd
}

func (a *app) climateImport() *cobra.Command {
	var o climate.Options
	var dates string
	cmd := &cobra.Command{
		Use: "import FILE", Short: "Take in the CSV file of any logger; nothing is doubled", Args: args(1, 1, "say which file; - is standard input"),
		Example: "  fairset climate import logger.csv --place \"wood store\"\n  fairset climate import logger.csv --dates day --temperature-unit c",
		RunE: func(_ *cobra.Command, args []string) error {
			o.Dates = climate.Order(dates)
			if dates != "" && o.Dates != climate.DayFirst && o.Dates != climate.MonthFirst {
				return &usageError{unit.Say("--dates is %q", dates), unit.Say("choose day or month")}
			}
			if o.Unit != "" && o.Unit != "c" && o.Unit != "f" {
				return &usageError{unit.Say("--temperature-unit is %q", o.Unit), unit.Say("choose c or f")}
			}
			data, err := a.readFile(args[0])
			if err != nil {
				return err
			}
			return a.use("", func(s *shop.Shop) error {
				got, err := s.ImportClimate(a.ctx, data, o)
				if q, asks := shop.AskedOf(err); asks {
					if q.Option == "dates" {
						return withHint(err, "nothing was taken in; give --dates day or --dates month")
					}
					return withHint(err, "nothing was taken in; give --temperature-unit c or --temperature-unit f")
				}
				if err != nil {
					return err
				}
				for _, n := range got.Notes {
					a.para("", n.In(a.style()))
				}
				a.say("", "%d readings taken in, %d here already or twice in the file, %d that differ from one here kept out, %d lines not understood.", got.Added, got.Same+got.Doubles, len(got.Differ), len(got.Bad))
				for _, r := range got.Differ {
					a.say("  ", "differs: %s %s %.1f °C %.1f %%", r.At.Local().Format("2006-01-02 15:04:05"), r.Place, r.Temperature, r.Humidity)
				}
				for _, b := range got.Bad {
					a.say("  ", "line %d: %v: %s", b.Line, b.Why, b.Text)
				}
				return nil
			})
		},
	}
	cmd.Flags().StringVar(&o.Place, "place", "", "of readings whose file names none")
	cmd.Flags().StringVar(&dates, "dates", "", "day or month: what dates such as 3/4/2026 begin with")
	cmd.Flags().StringVar(&o.Unit, "temperature-unit", "", "c or f: of temperatures without a unit")
	return cmd
}

func (a *app) climateShow() *cobra.Command {
	var place, from, before string
	var rows int
	cmd := &cobra.Command{
		Use: "show", Short: "Say what the air was, and how damp the wood is", Args: args(0, 0, ""),
		RunE: func(cmd *cobra.Command, _ []string) error {
			ask := shop.ClimateAsk{Place: place, Named: cmd.Flags().Changed("place")}
			for _, t := range []struct {
				text string
				into *time.Time
			}{{from, &ask.From}, {before, &ask.Before}} {
				if t.text == "" {
					continue
				}
				at, err := when(t.text)
				if err != nil {
					return err
				}
				*t.into = at
			}
			return a.use("", func(sh *shop.Shop) error {
				v, err := sh.Climate(a.ctx, ask)
				if err != nil {
					return err
				}
				if len(v.Points) == 0 {
					a.say("", "No readings yet.")
					return nil
				}
				x, last, s := v.Summary, v.Points[len(v.Points)-1], a.style()
				if v.Place != "" {
					a.printf("%s\n", v.Place)
				}
				a.note("  ", "%d readings, the last %.0f %% and %v. In the band of %.0f to %.0f %% (common practice) %.0f %% of the time, drier %.0f %%, damper %.0f %%; from %.0f to %.0f %%.",
					x.Count, last.Humidity, unit.TemperatureC(last.Temperature), v.Band.Low, v.Band.High, x.Inside*100, x.Drier*100, x.Damper*100, x.Low, x.High)
				a.note("  ", "Wood that settled there would hold %.1f %% of water; a bare top of %v holds about %.1f %% by now, by an order of magnitude.", last.EMC, v.Thickness, last.Behind)
				w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
				a.columns(w, "time", "humidity", "temperature", "wood would come to", "wood behind it")
				for i := max(0, len(v.Points)-rows); i < len(v.Points); i++ {
					p := v.Points[i]
					percent := func(x float64) string { return s.Decimal(x, 1) + " %" }
					fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", p.At.Local().Format("2006-01-02 15:04"), percent(p.Humidity), unit.TemperatureC(p.Temperature).In(s), percent(p.EMC), percent(p.Behind))
				}
				return w.Flush()
			})
		},
	}
	cmd.Flags().StringVar(&place, "place", "", "where; the place with most readings if left out")
	cmd.Flags().StringVar(&from, "from", "", "from this time on")
	cmd.Flags().StringVar(&before, "before", "", "before this time")
	cmd.Flags().IntVar(&rows, "rows", 20, "how many readings to list, the last ones")
	return cmd
}

func (a *app) climateExport() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use: "export [--out FILE]", Short: "Write every reading as CSV, which import takes back", Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			var data []byte
			if err := a.use("", func(s *shop.Shop) (err error) {
				data, err = s.ExportClimate(a.ctx)
				return err
			}); err != nil {
				return err
			}
			return a.writeFile(out, data)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "file to write; - or nothing is standard output")
	return cmd
}

func (a *app) climateRemove() *cobra.Command {
	var place string
	cmd := &cobra.Command{
		Use: "remove TIME", Short: "Take a reading away that was typed wrong", Args: args(1, 1, `say when it was, such as "2026-03-02 14:30"`),
		RunE: func(_ *cobra.Command, args []string) error {
			at, err := when(args[0])
			if err != nil {
				return err
			}
			return a.use("", func(s *shop.Shop) error {
				if err := s.RemoveClimate(a.ctx, at, place); err != nil {
					return err
				}
				a.say("", "The reading was taken away.")
				return nil
			})
		},
	}
	cmd.Flags().StringVar(&place, "place", "", "where it was")
	return cmd
}
