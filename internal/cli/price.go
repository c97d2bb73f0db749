package cli

import (
	"maps"
	"strings"
	"text/tabwriter"

	"fairset/craft/bill"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"

	"github.com/spf13/cobra"
)

func (a *app) pricesCmd() *cobra.Command {
	var currency string
	cmd := &cobra.Command{
		Use: "prices [ITEM PRICE] [--currency SIGN]", Short: "List the shop's own prices, or give one", Args: args(0, 2, ""),
		Long: `List what a price can be given for, with the shop's own prices, or give one. A price may say what it is for, as the list
does: "9.50", "14 per board foot", "3.20 per metre". An empty one takes a price away.`,
		Example: "  fairset prices\n  fairset prices wire \"3.20 per metre\" --currency €\n  fairset prices wire \"\"",
	}
	cmd.Flags().StringVar(&currency, "currency", "", "what is set before a sum, such as €")
	cmd.RunE = func(cmd *cobra.Command, in []string) error {
		if len(in) == 1 {
			return &usageError{unit.Say("say the price of %s, too", in[0]), unit.Say("fairset prices ITEM PRICE; fairset prices lists the items")}
		}
		return a.use("", func(s *shop.Shop) error {
			set, err := s.Settings(a.ctx)
			if err != nil {
				return err
			}
			if len(in) == 2 || cmd.Flags().Changed("currency") {
				set.Prices = maps.Clone(set.Prices)
				if set.Prices == nil {
					set.Prices = map[string]string{}
				}
				if len(in) == 2 {
					set.Prices[in[0]] = in[1]
				}
				if cmd.Flags().Changed("currency") {
					set.Currency = currency
				}
				if err := s.SaveSettings(a.ctx, set); err != nil {
					return err
				}
				if set, err = s.Settings(a.ctx); err != nil {
					return err
				}
			}
			if len(in) == 2 {
				return a.price(set, in[0])
			}
			return a.prices(set)
		})
	}
	return cmd
}

// price says one price as it stands.
func (a *app) price(set store.Settings, key string) error {
	ps, err := bill.ParsePrices(set.Prices)
	if err != nil {
		return err
	}
	for _, i := range bill.Priceable() {
		if i.Key != key {
			continue
		}
		if p, ok := ps[key]; ok {
			a.say("", "%v: %s.", i.Name, p.In(set.Currency, a.style()))
		} else {
			a.say("", "%v: no price.", i.Name)
		}
	}
	return nil
}

// prices lists what a price can be given for.
func (a *app) prices(set store.Settings) error {
	ps, err := bill.ParsePrices(set.Prices)
	if err != nil {
		return err
	}
	s := a.style()
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	for _, i := range bill.Priceable() {
		say := s.Say("no price yet")
		if p, ok := ps[i.Key]; ok {
			say = p.In(set.Currency, s)
		}
		var pers []string
		for _, p := range i.Kind.Pers() {
			pers = append(pers, p.Name().In(s))
		}
		if _, err := w.Write([]byte(strings.Join([]string{i.Key, i.Name.In(s), say, strings.Join(pers, ", ")}, "\t") + "\n")); err != nil {
			return err
		}
	}
	return w.Flush()
}
