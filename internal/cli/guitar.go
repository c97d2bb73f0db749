package cli

import (
	"fmt"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/api"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"

	"github.com/spf13/cobra"
)

// isFile reports whether an argument names a guitar file rather than a guitar of the shop.
func isFile(arg string) bool { return strings.HasSuffix(strings.ToLower(arg), ".json") }

// use opens the shop, or the guitar file that arg names, for the time of do.
func (a *app) use(arg string, do func(s *shop.Shop) error) (err error) {
	s, err := a.open(arg)
	if err != nil {
		return err
	}
	defer func() {
		if cerr := s.Store.Close(); err == nil {
			err = cerr
		}
	}()
	if set, err := s.Settings(a.ctx); err == nil {
		a.shopUnits = set.Units
	}
	return do(s)
}

// useOne is use, with the guitar that arg names.
func (a *app) useOne(arg string, do func(s *shop.Shop, v shop.View) error) error {
	return a.use(arg, func(s *shop.Shop) error {
		v, err := a.find(s, arg)
		if err != nil {
			return err
		}
		return do(s, v)
	})
}

func (a *app) find(s *shop.Shop, arg string) (shop.View, error) {
	if !isFile(arg) {
		return s.Guitar(a.ctx, arg)
	}
	vs, err := s.Guitars(a.ctx)
	if err != nil {
		return shop.View{}, err
	}
	if len(vs) != 1 {
		return shop.View{}, &guitar.FileError{Why: unit.Say("%s holds %d guitars; fairset import takes them into the shop", arg, len(vs))}
	}
	return vs[0], nil
}

func (a *app) newCmd() *cobra.Command {
	var design, out string
	var list, repair, asJSON bool
	cmd := &cobra.Command{
		Use:   "new [NAME] --design DESIGN [--scale-length LENGTH ...]",
		Short: "Start a guitar from a design, or from readings alone",
		Long: `Start a guitar from a starting design with some of its figures changed, or, for a repair, from
readings alone. With --out it becomes a guitar file; without, it goes into the shop.`,
		Example: `  fairset new --list
  fairset new Heron --design steel-14 --scale-length "25 1/2 in"
  fairset new --design nylon-12 --out plan.json
  fairset new Tern --from-readings --scale-length 648 --saddle-distance 291 --action-bass-now 3.9 --action-treble-now 3.4`,
		Args: args(0, 1, ""),
	}
	f := cmd.Flags()
	f.StringVar(&design, "design", "", "starting design; --list names them")
	f.StringVar(&out, "out", "", "write a guitar file instead; - is standard output")
	f.BoolVar(&list, "list", false, "name the starting designs")
	f.BoolVar(&repair, "from-readings", false, "start a repair: no design, only what is there")
	f.BoolVar(&asJSON, "json", false, "say the result as JSON")
	ff := a.fieldsOn(cmd, false, guitar.DesignFields(), guitar.RepairFields())
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if list {
			w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
			for _, b := range guitar.Bases() {
				fmt.Fprintf(w, "%s\t%s\n", b.Key, a.style().Say("%v. %v", b.Name, b.About))
			}
			return w.Flush()
		}
		fields, what := guitar.DesignFields(), unit.Say("a design‖a flag does not belong to")
		switch {
		case repair && design != "":
			return misused("--design and --from-readings are two different starts", "a repair has no starting design: leave --design out")
		case repair:
			fields, what = guitar.RepairFields(), unit.Say("a repair‖a flag does not belong to")
		case design == "":
			return misused("say which starting design with --design", "fairset new --list names them; a repair starts with --from-readings")
		}
		name := design
		switch {
		case len(args) == 1:
			name = args[0]
		case repair:
			name = "repair"
		}
		if len(args) == 0 && out == "" {
			return &usageError{unit.Say("say what the guitar is called"), unit.Plain(`fairset new "Heron" --design ` + design)}
		}
		texts, err := ff.texts(fields, what)
		if err != nil {
			return err
		}
		if out != "" {
			return a.newFile(name, design, texts, repair, out)
		}
		return a.use("", func(s *shop.Shop) error {
			var v shop.View
			var err error
			if repair {
				v, err = s.NewRepair(a.ctx, name, texts, a.style())
			} else {
				v, err = s.NewFromDesign(a.ctx, name, design, texts, a.style())
			}
			if err != nil {
				return err
			}
			if asJSON {
				return a.json(api.Describe(v, a.lengths()))
			}
			a.say("", "%s is in the shop, id %s.", v.Guitar.Name, v.Guitar.ID)
			a.printf("\n")
			a.target(v)
			a.next(v)
			return nil
		})
	}
	return cmd
}

// newFile writes a new guitar as a guitar file. It does not write over one that has readings in it.
func (a *app) newFile(name, design string, texts map[string][]string, repair bool, out string) error {
	var g guitar.Guitar
	var err error
	if repair {
		var v guitar.Values
		// What a repair form starts from stands unless it was given.
		start := guitar.RepairStart()
		if v, err = guitar.Parse(guitar.Optional(guitar.RepairFields()), texts, a.style()); err == nil {
			for k, x := range v {
				start[k] = x
			}
			if err = missing(guitar.RepairFields(), start); err == nil {
				g, err = guitar.NewRepair(name, start)
			}
		}
	} else {
		var v guitar.Values
		if v, err = guitar.Parse(guitar.Optional(guitar.DesignFields()), texts, a.style()); err == nil {
			g, err = guitar.New(name, design, v)
		}
	}
	if err != nil {
		return err
	}
	g.ID, g.Created = store.NewID(), store.Moment(time.Now())
	if out != "-" {
		if old, err := os.ReadFile(out); err == nil {
			if gs, err := guitar.Decode(old); err == nil && len(gs) == 1 && len(gs[0].Log) > 0 {
				return &usageError{unit.Say("%s already holds %q with %d entries, which would be lost", out, gs[0].Name, len(gs[0].Log)), unit.Say("choose another name with --out")}
			}
		}
	}
	return a.writeFile(out, guitar.Encode(g))
}

// missing reports the required fields that nothing was given for.
func missing(fields []guitar.Field, v guitar.Values) error {
	var ps guitar.Problems
	for _, f := range fields {
		if f.Required && !v.Has(f.Field) {
			ps = append(ps, &unit.RangeError{Limit: f.Limit, Found: unit.Say("left empty"), Why: unit.Say("this one is needed")})
		}
	}
	if len(ps) > 0 {
		return ps
	}
	return nil
}

func (a *app) listCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use: "list", Short: "Name every guitar of the shop and what it waits for", Args: args(0, 0, ""),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.use("", func(s *shop.Shop) error {
				vs, err := s.Guitars(a.ctx)
				if err != nil {
					return err
				}
				if asJSON {
					out := api.Guitars{Guitars: []api.Summary{}}
					for _, v := range vs {
						out.Guitars = append(out.Guitars, api.Summarise(v, a.lengths()))
					}
					return a.json(out)
				}
				if len(vs) == 0 {
					a.say("", "No guitars yet. fairset new --list names the starting designs.")
					return nil
				}
				w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
				for _, v := range vs {
					step := unit.Text("finished")
					if g, ok := guitar.FindGuide(v.Bench.Waiting); ok {
						step = g.Name
					}
					wait := step.In(a.style())
					if stuck := v.Bench.Stuck.In(a.style()); stuck != "" {
						wait += " (" + stuck + ")"
					}
					fmt.Fprintf(w, "%s\t%s\t%s\n", v.Guitar.ID, v.Guitar.Name, wait)
				}
				return w.Flush()
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

func (a *app) showCmd() *cobra.Command {
	var asJSON bool
	parts := make([]*bool, len(views))
	cmd := &cobra.Command{
		Use: "show GUITAR", Short: "Say what a guitar asks for, how sure that is, and how every step stands",
		Long:    "Say what a guitar asks for, how sure that is, and how every step stands. GUITAR is a name, an id, or a guitar file.",
		Example: "  fairset show Heron\n  fairset show plan.json --units mm\n  fairset show Heron --strings --board", Args: args(1, 1, "say which guitar"),
		RunE: func(cmd *cobra.Command, args []string) error {
			var asked []view
			for i, x := range views {
				if *parts[i] {
					asked = append(asked, x)
				}
			}
			if asJSON && len(asked) > 1 {
				return misused("JSON says one part at a time", "give one of --strings, --intonation, --strungup, --air, --board")
			}
			return a.useOne(args[0], func(_ *shop.Shop, v shop.View) error {
				if len(asked) > 0 && v.Guitar.Start == guitar.FromReadings {
					return &usageError{unit.Say("%s is a repair, started from readings: it has no design to work that out from", v.Guitar.Name), unit.Say("start a guitar with fairset new --design")}
				}
				for i, x := range asked {
					if asJSON {
						out, err := x.json(v, a.lengths())
						if err != nil {
							return err
						}
						return a.json(out)
					}
					if i > 0 {
						a.printf("\n")
					}
					if err := x.say(a, v); err != nil {
						return err
					}
				}
				if len(asked) > 0 {
					return nil
				}
				if asJSON {
					return a.json(api.Describe(v, a.lengths()))
				}
				a.show(v)
				return nil
			})
		},
	}
	for i, x := range views {
		parts[i] = cmd.Flags().Bool(x.name, false, "say "+x.about)
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON, lengths in millimetres")
	return cmd
}

func (a *app) readCmd() *cobra.Command {
	var asJSON bool
	var lists [][]guitar.Field
	for _, g := range guitar.Guides() {
		lists = append(lists, g.Fields)
	}
	var steps []string
	for _, g := range guitar.Guides() {
		steps = append(steps, string(g.Step))
	}
	cmd := &cobra.Command{
		Use: "read GUITAR STEP --FIELD VALUE ...", Short: "Enter what was read at a step, and hear what it means",
		Long: "Enter what was read at a step, and hear what it means. Give a flag again for each further reading.\n\nSteps: " + strings.Join(steps, ", ") +
			"\n\nfairset read GUITAR STEP --help lists what that step takes.",
		Example: `  fairset read Heron lean --gap "17/64 in" --gap "9/32 in" --surface frets --graduation "1/64 in"
  fairset read Heron point --offset "1/32 in" --toward bass --graduation "1/64 in"`,
		Args: args(2, 2, "say which guitar and which step"),
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "say the result as JSON")
	ff := a.fieldsOn(cmd, true, lists...)
	general := cmd.HelpFunc()
	cmd.SetHelpFunc(func(cmd *cobra.Command, args []string) {
		for _, x := range cmd.Flags().Args() {
			if g, ok := guitar.FindGuide(guitar.Step(x)); ok {
				a.stepHelp(g)
				return
			}
		}
		general(cmd, args)
	})
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		g, ok := guitar.FindGuide(guitar.Step(args[1]))
		if !ok {
			return &usageError{unit.Say("there is no step %q", args[1]), unit.Say("the steps are %s", strings.Join(steps, ", "))}
		}
		texts, err := ff.texts(g.Fields, unit.Say("the step %s‖a flag does not belong to", args[1]))
		if err != nil {
			return err
		}
		return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
			return a.enter(s, v, g.Step, texts, asJSON)
		})
	}
	return cmd
}

func (a *app) stepHelp(g guitar.Guide) {
	a.say("", "%v. %v", g.Name, g.Question)
	if g.ReadWith != "" {
		a.say("", "Read with: %v", g.ReadWith)
	}
	a.printf("\n")
	s := a.style()
	for i, h := range g.How.In(s) {
		a.para("  ", fmt.Sprintf("%d. %s", i+1, h))
	}
	a.printf("\nfairset read GUITAR %s\n", g.Step)
	w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
	for _, f := range g.Fields {
		need := ""
		if f.Required {
			need = s.Say("needed")
		}
		fmt.Fprintf(w, "  %s %s\t%s\t%s\n", flagName(f.Field), placeholder(f).In(s), need, usage(f, unit.Millimetre.Speaking(a.language)))
	}
	w.Flush()
	if !g.Caution.Empty() {
		a.printf("\n")
		a.note("", "Caution. %v", g.Caution)
	}
}

// enter adds an entry made against the guitar as just read, and says what follows.
func (a *app) enter(s *shop.Shop, v shop.View, step guitar.Step, texts map[string][]string, asJSON bool) error {
	v, err := s.Enter(a.ctx, v.Guitar.ID, v.Revision, step, texts, a.style(), a.bench)
	if err != nil {
		return err
	}
	if asJSON {
		return a.json(api.Describe(v, a.lengths()))
	}
	if step == guitar.StepDesign {
		a.target(v)
	} else {
		a.advice(v, step)
	}
	a.next(v)
	return nil
}

func (a *app) cutCmd() *cobra.Command {
	var asJSON bool
	guide, _ := guitar.FindGuide(guitar.StepCut)
	cmd := &cobra.Command{
		Use: "cut GUITAR [--tool TOOL] [--judged marks|strokes] [--strokes N | --done PERCENT]", Short: "Say the next cut, or enter that it was made",
		Long: `Say the next cut: the depth at each corner of the heel, the strokes, the chance of going past, the passes
to expect. With --strokes or --done the cut is entered as made; then read lean and point again.`,
		Example: `  fairset cut Heron
  fairset cut Heron --tool board-120 --judged strokes
  fairset cut Heron --tool board-120 --judged marks --strokes 40`,
		Args: args(1, 1, "say which guitar"),
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON, lengths in millimetres")
	ff := a.fieldsOn(cmd, false, guide.Fields)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		texts, err := ff.texts(guide.Fields, unit.Say("a cut‖a flag does not belong to"))
		if err != nil {
			return err
		}
		if ff.given("strokes", "done") {
			return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
				return a.enter(s, v, guitar.StepCut, texts, asJSON)
			})
		}
		way, err := guitar.Parse(guitar.Optional(guide.Fields), texts, a.style())
		if err != nil {
			return err
		}
		return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
			if len(texts) > 0 {
				if v, err = s.GuitarWith(a.ctx, v.Guitar.ID, way.Choice("tool"), way.Choice("judged")); err != nil {
					return err
				}
			}
			if asJSON {
				return a.json(api.DescribeCut(v.Bench, a.lengths()))
			}
			a.cut(v)
			return nil
		})
	}
	return cmd
}

func (a *app) undoCmd() *cobra.Command {
	return &cobra.Command{
		Use: "undo GUITAR", Short: "Undo the last entry; it stays in the history", Args: args(1, 1, "say which guitar"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
				v, e, err := s.Undo(a.ctx, v.Guitar.ID, v.Revision)
				if err != nil {
					return err
				}
				a.say("", "Undone: %d, %v: %s", e.Seq, stepName(e.Step), a.answers(v.Guitar, e))
				a.next(v)
				return nil
			})
		},
	}
}

func stepName(s guitar.Step) unit.Text {
	if g, ok := guitar.FindGuide(s); ok {
		return g.Name
	}
	return "Change the design"
}

func (a *app) historyCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use: "history GUITAR", Short: "List everything entered, oldest first", Args: args(1, 1, "say which guitar"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.useOne(args[0], func(_ *shop.Shop, v shop.View) error {
				if asJSON {
					return a.json(api.Entries(v.Guitar, v.Guitar.Log))
				}
				if len(v.Guitar.Log) == 0 {
					a.say("", "Nothing entered yet.")
					return nil
				}
				w := tabwriter.NewWriter(a.Out, 0, 4, 2, ' ', 0)
				for _, e := range v.Guitar.Log {
					step := stepName(e.Step).In(a.style())
					if e.Undone {
						step = a.style().Say("%v (undone)", stepName(e.Step))
					}
					fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\n", e.Seq, e.At.Local().Format("2006-01-02 15:04"), e.Bench, step, a.answers(v.Guitar, e))
				}
				return w.Flush()
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON, lengths in millimetres")
	return cmd
}

// answers writes an entry's figures on one line, as typed where they were.
func (a *app) answers(g guitar.Guitar, e guitar.Entry) string {
	var out []string
	for _, f := range g.Fields(e.Step) {
		var vs []string
		for _, v := range e.Values[f.Field] {
			vs = append(vs, f.Edit(v, a.style()))
		}
		if len(vs) > 0 {
			out = append(out, f.Label.In(a.style())+" "+strings.Join(vs, ", "))
		}
	}
	if e.Plan != nil {
		d := e.Plan.Depth
		out = append(out, a.style().Say("deepest %v", unit.FineLength(d.Deepest())))
	}
	return strings.Join(out, "; ")
}

func (a *app) changeCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use: "change GUITAR --scale-length LENGTH ...", Short: "Change figures of a guitar's design",
		Example: `  fairset change Heron --action-bass "3/32 in" --bridge-thickness 8.4mm`, Args: args(1, 1, "say which guitar"),
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "say the result as JSON")
	ff := a.fieldsOn(cmd, false, guitar.DesignFields(), guitar.RepairFields())
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if !ff.any() {
			return misused("say what changes", "fairset change --help lists the figures of a design")
		}
		return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
			texts, err := ff.texts(v.Guitar.Fields(guitar.StepDesign), unit.Say("this guitar's design‖a flag does not belong to"))
			if err != nil {
				return err
			}
			was := v.Revision
			v, err = s.Change(a.ctx, v.Guitar.ID, v.Revision, texts, a.style(), a.bench)
			if err != nil {
				return err
			}
			if asJSON {
				return a.json(api.Describe(v, a.lengths()))
			}
			if v.Revision == was {
				a.say("", "That is how it is already; nothing was entered.")
				return nil
			}
			a.target(v)
			a.next(v)
			return nil
		})
	}
	return cmd
}

func (a *app) renameCmd() *cobra.Command {
	return &cobra.Command{
		Use: "rename GUITAR NAME", Short: "Give a guitar another name", Args: args(2, 2, "say which guitar, and its new name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
				was := v.Guitar.Name
				v, err := s.Rename(a.ctx, v.Guitar.ID, v.Revision, args[1])
				if err != nil {
					return err
				}
				a.say("", "%s is now called %s.", was, v.Guitar.Name)
				return nil
			})
		},
	}
}

func (a *app) removeCmd() *cobra.Command {
	return &cobra.Command{
		Use: "remove GUITAR", Short: "Put a guitar away; restore takes it back", Args: args(1, 1, "say which guitar"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.useOne(args[0], func(s *shop.Shop, v shop.View) error {
				if _, err := s.Remove(a.ctx, v.Guitar.ID, v.Revision); err != nil {
					return err
				}
				a.say("", "%s was put away. Nothing is lost: fairset restore %s takes it back.", v.Guitar.Name, v.Guitar.ID)
				return nil
			})
		},
	}
}

func (a *app) restoreCmd() *cobra.Command {
	var list bool
	cmd := &cobra.Command{
		Use: "restore ID", Short: "Take a guitar back that was put away", Args: args(0, 1, ""),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.use("", func(s *shop.Shop) error {
				away, err := s.Store.Removed(a.ctx)
				if err != nil {
					return err
				}
				if list || len(args) == 0 {
					for _, r := range away {
						a.printf("%s  %s\n", r.Guitar.ID, r.Guitar.Name)
					}
					if len(away) == 0 {
						a.say("", "No guitar was put away.")
					}
					return nil
				}
				id, found := args[0], 0
				for _, r := range away {
					if r.Guitar.ID == args[0] {
						id, found = r.Guitar.ID, 1
						break
					}
					if r.Guitar.Name == args[0] {
						id = r.Guitar.ID
						found++
					}
				}
				if found > 1 {
					return &usageError{unit.Say("%d guitars called %q were put away", found, args[0]), unit.Say("fairset restore --list gives their ids")}
				}
				v, err := s.Restore(a.ctx, id)
				if err != nil {
					return withHint(err, "fairset restore --list names the guitars that were put away")
				}
				a.say("", "%s is back.", v.Guitar.Name)
				a.next(v)
				return nil
			})
		},
	}
	cmd.Flags().BoolVar(&list, "list", false, "name the guitars that were put away")
	return cmd
}
