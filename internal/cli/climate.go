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
	{Limit: unit.Limit{Field: "temperature", Label: unit.Say("temperature"), Kind: unit.KindTemperature, Min: -20, Max: 60}, Help: "21, 21 C or 70 F", Required: true},
	{Limit: unit.Limit{Field: "humidity", Label: unit.Say("relative humidity"), Kind: unit.KindPercent, Min: 0.01, Max: 0.99}, Help: "in percent", Required: true},
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
	return time.Time{}, &usageError{fmt.Sprintf("%q is not a time", text), `write it like "2026-03-02 14:30" or 2026-03-02T14:30:00Z`}
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
				texts, err := given.texts(airFields, "a reading of the air")
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
					return &usageError{"there is another reading of that time and place already; it was left as it is", "fairset climate remove takes it away"}
				case got.Same > 0:
					a.printf("That reading was here already.\n")
				default:
					a.printf("Kept: %.0f %% and %s. Wood that settled there would hold %.1f %% of water.\n", r.Humidity, unit.Write(r.Temperature, unit.KindTemperature, a.style()), r.EMC())
				}
				return nil
			})
		},
	}
	given = fieldsOn(cmd, false, airFields)
	cmd.Flags().StringVar(&at, "at", "", "when; now if left out")
	cmd.Flags().StringVar(&place, "place", "", "where, such as bench")
	return cmd
}

func (a *app) climateImport() *cobra.Command {
	var o climate.Options
	var dates string
	cmd := &cobra.Command{
		Use: "import FILE", Short: "Take in the CSV file of any logger; nothing is doubled", Args: args(1, 1, "which file; - is standard input"),
		Example: "  fairset climate import logger.csv --place \"wood store\"\n  fairset climate import logger.csv --dates day --temperature-unit c",
		RunE: func(_ *cobra.Command, args []string) error {
			o.Dates = climate.Order(dates)
			if dates != "" && o.Dates != climate.DayFirst && o.Dates != climate.MonthFirst {
				return &usageError{fmt.Sprintf("--dates is %q", dates), "choose day or month"}
			}
			if o.Unit != "" && o.Unit != "c" && o.Unit != "f" {
				return &usageError{fmt.Sprintf("--temperature-unit is %q", o.Unit), "choose c or f"}
			}
			data, err := a.readFile(args[0])
			if err != nil {
				return err
			}
			return a.use("", func(s *shop.Shop) error {
				got, err := s.ImportClimate(a.ctx, data, o)
				if q, asks := shop.AskedOf(err); asks {
					flag := map[string]string{"dates": "--dates day or --dates month", "unit": "--temperature-unit c or --temperature-unit f"}[q.Option]
					return &hinted{err, "nothing was taken in; give " + flag}
				}
				if err != nil {
					return err
				}
				for _, n := range got.Notes {
					a.para("", n)
				}
				a.printf("%d readings taken in, %d here already or twice in the file, %d that differ from one here kept out, %d lines not understood.\n", got.Added, got.Same+got.Doubles, len(got.Differ), len(got.Bad))
				for _, r := range got.Differ {
					a.printf("  differs: %s %s %.1f °C %.1f %%\n", r.At.Local().Format("2006-01-02 15:04:05"), r.Place, r.Temperature, r.Humidity)
				}
				for _, b := range got.Bad {
					a.printf("  line %d: %s: %s\n", b.Line, b.Why, b.Text)
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
			return a.use("", func(s *shop.Shop) error {
				v, err := s.Climate(a.ctx, ask)
				if err != nil {
					return err
				}
				if len(v.Points) == 0 {
					a.printf("No readings yet.\n")
					return nil
				}
				x, last := v.Summary, v.Points[len(v.Points)-1]
				temperature := func(c float64) string { return unit.Write(c, unit.KindTemperature, a.style()) }
				if v.Place != "" {
					a.printf("%s\n", v.Place)
				}
				a.para("  ", fmt.Sprintf("%d readings, the last %.0f %% and %s. In the band of %.0f to %.0f %% (common practice) %.0f %% of the time, drier %.0f %%, damper %.0f %%; from %.0f to %.0f %%.",
					x.Count, last.Humidity, temperature(last.Temperature), v.Band.Low, v.Band.High, x.Inside*100, x.Drier*100, x.Damper*100, x.Low, x.High))
				a.para("  ", fmt.Sprintf("Wood that settled there would hold %.1f %% of water; a bare top of %s holds about %.1f %% by now, by an order of magnitude.", last.EMC, v.Thickness.In(a.style()), last.Behind))
				w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
				fmt.Fprintf(w, "  time\thumidity\ttemperature\twood would come to\twood behind it\n")
				for i := max(0, len(v.Points)-rows); i < len(v.Points); i++ {
					p := v.Points[i]
					fmt.Fprintf(w, "  %s\t%.1f %%\t%s\t%.1f %%\t%.1f %%\n", p.At.Local().Format("2006-01-02 15:04"), p.Humidity, temperature(p.Temperature), p.EMC, p.Behind)
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
		Use: "remove TIME", Short: "Take a reading away that was typed wrong", Args: args(1, 1, `when it was, such as "2026-03-02 14:30"`),
		RunE: func(_ *cobra.Command, args []string) error {
			at, err := when(args[0])
			if err != nil {
				return err
			}
			return a.use("", func(s *shop.Shop) error {
				if err := s.RemoveClimate(a.ctx, at, place); err != nil {
					return err
				}
				a.printf("The reading was taken away.\n")
				return nil
			})
		},
	}
	cmd.Flags().StringVar(&place, "place", "", "where it was")
	return cmd
}
