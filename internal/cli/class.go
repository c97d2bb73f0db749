package cli

import (
	"io"
	"strings"
	"text/tabwriter"

	"fairset/craft/class"
	"fairset/internal/api"
	"fairset/internal/shop"
	"fairset/printing"
	"fairset/unit"

	"github.com/spf13/cobra"
)

// classCmd is many guitars at once: how they stand, copies of a design, a change of one figure, what came of them.
func (a *app) classCmd() *cobra.Command {
	var pick shop.Pick
	var asJSON bool
	cmd := &cobra.Command{
		Use: "class", Short: "Say how every guitar stands: who waits where, who is stuck and what would help",
		Example: `  fairset class
  fairset class --step drill`,
		Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			return a.use("", func(s *shop.Shop) error {
				g, err := s.Glance(a.ctx, pick, 0)
				if err != nil {
					return err
				}
				if asJSON {
					return a.json(api.ClassOf(g, a.lengths()))
				}
				return a.glance(g)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	cmd.Flags().StringVar(&pick.Step, "step", "", "only those that wait at this step; finished for those that are done")
	cmd.AddCommand(a.classCopyCmd(), a.classChangeCmd(), a.classReportCmd(), a.classLearnedCmd())
	return cmd
}

func (a *app) glance(g class.Glance) error {
	style := a.style()
	a.say("", "%d guitars, %d stuck, %d finished.", g.Count, g.Stuck, g.Finished)
	for _, group := range g.Groups {
		a.say("\n", group.Name)
		for _, c := range group.Cards {
			a.printf("  %s\n", c.Name)
			for _, t := range c.Troubles {
				a.note("    ", "Stuck: %v", unit.Join(t.Say, t.Help))
			}
		}
		for _, n := range g.Needs {
			if n.Step != group.Step {
				continue
			}
			var have []string
			for _, i := range n.Hardware {
				have = append(have, i.Name.In(style)+", "+i.Quantity(style))
			}
			for _, h := range n.Holes {
				have = append(have, style.Say("drill %s for the %v", h.Drill.Said(), h.What))
			}
			if have = append(have, n.Consumables.In(style)...); len(have) > 0 {
				a.note("  ", "To have ready: %s.", strings.Join(have, "; "))
			}
		}
	}
	return nil
}

func (a *app) classCopyCmd() *cobra.Command {
	return &cobra.Command{
		Use: "copy DESIGN NAMES", Short: "Make guitars that start from one design, all of them or none",
		Long: `Make guitars that start from one design, all of them or none. DESIGN is a starting design, or a guitar whose
design is copied as it stands. NAMES is a run such as "Alder 1…12" or "Alder 1 to 12", or names with commas between.`,
		Example: `  fairset class copy steel-14 "Alder 1 to 12"
  fairset class copy Heron "Birch, Cedar"`,
		Args: args(2, 2, "say which design, and the guitars' names"),
		RunE: func(_ *cobra.Command, args []string) error {
			return a.use("", func(s *shop.Shop) error {
				rs, err := s.CopyDesign(a.ctx, args[0], args[1], nil)
				for _, r := range rs {
					a.printf("%s  %s\n", r.Guitar.ID, r.Guitar.Name)
				}
				return err
			})
		},
	}
}

func (a *app) classChangeCmd() *cobra.Command {
	var do bool
	cmd := &cobra.Command{
		Use: "change FIGURE VALUE [GUITAR...]", Short: "Change one figure of the design on many guitars, all of them or none",
		Long: `Say what one figure of the design would be changed to on every guitar that started from a design, or on those
named, and who differs from the rest. With --do it is changed, on all of them or none.`,
		Example: `  fairset class change action_bass "2.2 mm"
  fairset class change action_bass "2.2 mm" "Alder 1" "Alder 2" --do`,
		Args: args(2, 1<<16, "say which figure, and what it becomes"),
	}
	cmd.Flags().BoolVar(&do, "do", false, "change them")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		return a.use("", func(s *shop.Shop) error {
			var ids []string
			if len(args) == 2 {
				ms, err := s.Class(a.ctx, shop.Pick{})
				if err != nil {
					return err
				}
				for _, m := range ms {
					if m.Guitar.Basis != "" {
						ids = append(ids, m.Guitar.ID)
					}
				}
			}
			for _, name := range args[2:] {
				r, err := s.FindByNameOrID(a.ctx, name)
				if err != nil {
					return err
				}
				ids = append(ids, r.Guitar.ID)
			}
			if len(ids) == 0 {
				return misused("there is no guitar that started from a design", "fairset new starts one")
			}
			cs, err := s.PreviewChange(a.ctx, ids, args[0], args[1], a.style(), a.bench)
			if err != nil {
				return err
			}
			revisions := map[string]int64{}
			w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
			for _, c := range cs {
				revisions[c.Guitar.ID] = c.Revision
				if _, err := io.WriteString(w, strings.Join(a.changed(c), "\t")+"\n"); err != nil {
					return err
				}
			}
			if err := w.Flush(); err != nil {
				return err
			}
			if !do {
				a.say("\n", "Nothing was changed; --do changes them.")
				return nil
			}
			n, err := s.ChangeMany(a.ctx, revisions, args[0], args[1], a.style(), a.bench)
			if err == nil {
				a.say("\n", "Changed on %d.", n)
			}
			return err
		})
	}
	return cmd
}

// changed is one line of a preview.
func (a *app) changed(c shop.Changed) []string {
	s := a.style()
	write := func(text []string) string {
		if len(text) == 0 {
			return s.Say("not given")
		}
		return strings.Join(text, "; ")
	}
	var now, will []string
	for _, v := range c.Now {
		now = append(now, c.Field.Write(v, s))
	}
	for _, v := range c.Will {
		will = append(will, c.Field.Write(v, s))
	}
	out := []string{c.Guitar.Name, write(now)}
	switch {
	case c.Refused != "":
		return append(out, s.Say("stays: %v", c.Refused))
	case c.Same:
		out = append(out, s.Say("has it already"))
	default:
		out = append(out, s.Say("becomes %s", write(will)))
	}
	var say []string
	if c.Diverged {
		say = append(say, s.Say("differs from the rest"))
	}
	if c.Begun && !c.Same {
		say = append(say, s.Say("wood has been cut to the old figure"))
	}
	return append(out, strings.Join(say, "; "))
}

func (a *app) classReportCmd() *cobra.Command {
	var asCSV bool
	var file string
	cmd := &cobra.Command{
		Use: "report", Short: "Say what came of the class: passes, misses, time, readings against targets",
		Example: `  fairset class report --csv
  fairset class report --pdf class.pdf`,
		Args: args(0, 0, ""),
	}
	cmd.Flags().BoolVar(&asCSV, "csv", false, "as CSV, lengths in millimetres")
	cmd.Flags().StringVar(&file, "pdf", "", "a file: the report and every guitar's record, to print")
	cmd.RunE = func(*cobra.Command, []string) error {
		if asCSV && file != "" {
			return misused("CSV or PDF, not both", "leave one out")
		}
		return a.use("", func(s *shop.Shop) error {
			if file != "" {
				return a.writeTo(file, func(w io.Writer) error {
					return s.ReportPDF(a.ctx, shop.Pick{}, printing.Setup{}, a.style(), w)
				})
			}
			r, err := s.Report(a.ctx, shop.Pick{})
			if err != nil {
				return err
			}
			if asCSV {
				return printing.ClassCSV(a.Out, r)
			}
			for _, b := range printing.ClassBlocks(r, a.style()) {
				a.printf("%s\n", b.Heading)
				w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
				for _, row := range append([][]string{b.Head}, b.Rows...) {
					if len(row) > 0 {
						if _, err := io.WriteString(w, "  "+strings.Join(row, "\t")+"\n"); err != nil {
							return err
						}
					}
				}
				if err := w.Flush(); err != nil {
					return err
				}
				for _, p := range b.After {
					a.para("  ", p)
				}
				a.printf("\n")
			}
			return nil
		})
	}
	return cmd
}

func (a *app) classLearnedCmd() *cobra.Command {
	return &cobra.Command{
		Use: "learned", Short: "Say what the shop's own history teaches, and how much stands behind it",
		Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			return a.use("", func(s *shop.Shop) error {
				l, err := s.Learned(a.ctx)
				if err != nil {
					return err
				}
				w := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
				for _, f := range class.Learned(l) {
					if _, err := io.WriteString(w, strings.Join([]string{f.Name.In(a.style()), f.Say.In(a.style()), f.Behind().In(a.style())}, "\t")+"\n"); err != nil {
						return err
					}
				}
				return w.Flush()
			})
		},
	}
}
