package cli

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"fairset/craft/bill"
	"fairset/internal/api"
	"fairset/internal/shop"
	"fairset/unit"

	"github.com/spf13/cobra"
)

// billTables are the parts of a bill, each as a table.
var billTables = []struct {
	name string
	rows func(api.BillReply, unit.Style) [][]string
}{
	{"items", itemRows}, {"parts", partRows}, {"holes", holeRows}, {"consumables", consumableRows},
}

func (a *app) billCmd() *cobra.Command {
	var class, asJSON, asCSV bool
	var of string
	var names []string
	for _, t := range billTables {
		names = append(names, t.name)
	}
	cmd := &cobra.Command{
		Use: "bill GUITAR...", Short: "Say what guitars take: parts, holes, hardware and what it costs",
		Long: `Say what a guitar takes, or several together: what to have and what it costs at the shop's own prices, the
parts to cut with their rough sizes, every hole with its drill and stop, the consumables. GUITAR is a name, an id, or a
guitar file. Prices are given with fairset prices or on the shop's page, and drills on hand there.`,
		Example: `  fairset bill Heron
  fairset bill Heron --of holes
  fairset bill --class --of items --csv`,
		Args: cobra.ArbitraryArgs,
	}
	f := cmd.Flags()
	f.BoolVar(&class, "class", false, "every guitar of the shop, together")
	f.StringVar(&of, "of", "", "one of: "+strings.Join(names, ", ")+"; all when left out")
	f.BoolVar(&asJSON, "json", false, "as JSON, lengths in millimetres")
	f.BoolVar(&asCSV, "csv", false, "as CSV; say which table with --of")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		switch {
		case len(args) == 0 && !class:
			return misused("say which guitar", "fairset bill GUITAR, or --class for every guitar of the shop")
		case len(args) > 0 && class:
			return misused("--class is every guitar of the shop", "leave the names out, or leave --class out")
		case asJSON && asCSV:
			return misused("JSON or CSV, not both", "leave one out")
		case of != "" && !slices.Contains(names, of):
			return &usageError{unit.Say("there is no table %q", of), unit.Say("--of takes %s", strings.Join(names, ", "))}
		case asCSV && of == "":
			return &usageError{unit.Say("CSV is one table at a time"), unit.Say("say which with --of: %s", strings.Join(names, ", "))}
		case asJSON && of != "":
			return misused("JSON says the whole bill", "leave --of out")
		}
		var vs []shop.View
		var err error
		if class {
			err = a.use("", func(s *shop.Shop) (err error) { vs, err = s.Guitars(a.ctx); return err })
		}
		for _, arg := range args {
			if err == nil {
				err = a.useOne(arg, func(_ *shop.Shop, v shop.View) error { vs = append(vs, v); return nil })
			}
		}
		if err != nil {
			return err
		}
		if len(vs) == 0 {
			return misused("there is no guitar in the shop", "fairset new starts one")
		}
		slices.SortStableFunc(vs, func(x, y shop.View) int { return strings.Compare(x.Guitar.Name, y.Guitar.Name) })
		got, err := api.BillOf(vs, a.speaking(asJSON || asCSV))
		if err != nil {
			return err
		}
		if asJSON {
			return a.json(got)
		}
		return a.bill(got, of, asCSV)
	}
	return cmd
}

func (a *app) bill(got api.BillReply, of string, asCSV bool) error {
	s := a.speaking(asCSV)
	for i, t := range billTables {
		if of != "" && of != t.name {
			continue
		}
		rows := t.rows(got, s)
		if asCSV {
			w := csv.NewWriter(a.Out)
			if err := w.WriteAll(rows); err != nil {
				return err
			}
			return w.Error()
		}
		if i > 0 && of == "" {
			a.printf("\n")
		}
		w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
		for _, r := range rows {
			fmt.Fprintln(w, strings.Join(r, "\t"))
		}
		if err := w.Flush(); err != nil {
			return err
		}
		switch t.name {
		case "items":
			a.say("", "Together %s; %d of %d without a price", bill.Money(got.Total, got.Currency, s), got.Without, len(got.Items))
		case "parts":
			a.para("", bill.Allowed().In(s))
			if len(got.Missing) > 0 {
				a.note("", "Not in the list, because the design does not give their sizes: %s.", strings.Join(got.Missing, "; "))
			}
		}
	}
	a.warned(got.Warnings)
	return nil
}

func itemRows(b api.BillReply, s unit.Style) [][]string {
	out := [][]string{unit.Texts{"what", "how much", "price", "sum"}.In(s)}
	for _, i := range b.Items {
		row := []string{i.Name, i.Say, s.Say("no price yet"), ""}
		if i.Price != "" {
			row[2], row[3] = i.Price, s.Decimal(i.Cost, 2)
		}
		out = append(out, row)
	}
	return out
}

func partRows(b api.BillReply, s unit.Style) [][]string {
	out := [][]string{unit.Texts{"guitar", "part", "wood", "how many", "rough length", "rough width", "rough thickness", "litres", "board feet"}.In(s)}
	for _, p := range b.Parts {
		out = append(out, []string{p.Guitar, p.Name, p.Wood, strconv.Itoa(p.Count), lengthOf(p.Rough[0]).In(s), lengthOf(p.Rough[1]).In(s), lengthOf(p.Rough[2]).In(s), bill.Volume(p.Litres, s), bill.Volume(p.BoardFeet, s)})
	}
	return out
}

func holeRows(b api.BillReply, s unit.Style) [][]string {
	out := [][]string{unit.Texts{"in the‖part, over the holes drilled in it", "hole", "drill", "size", "stop", "how many", "guitars"}.In(s)}
	for _, h := range b.Holes {
		stop := s.Say("through")
		if h.Stop > 0 {
			stop = lengthOf(h.Stop).In(s)
		}
		out = append(out, []string{h.Part, h.What, h.Drill, lengthOf(h.Diameter).Fine(s), stop, strconv.Itoa(h.Count), strings.Join(h.Guitars, ", ")})
	}
	return out
}

func consumableRows(b api.BillReply, s unit.Style) [][]string {
	out := [][]string{unit.Texts{"consumable"}.In(s)}
	for _, c := range b.Consumables {
		out = append(out, []string{c})
	}
	return out
}
