// Package cli is the command line: the whole job without a page, for those who like it so, for scripts, and
// for checking any figure by itself. It only asks internal/shop and figure, and writes out what they say.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fairset/craft/guitar"
	"fairset/figure"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/language"
	"fairset/unit"

	"github.com/spf13/cobra"
)

// Exit codes that do not come from shop.ExitCode.
const (
	exitOK       = 0
	exitOther    = 1
	exitBadInput = 2
	exitNotFound = 3
)

const exitTable = `Exit codes
  0  done
  1  something else went wrong
  2  an input cannot be used
  3  no such guitar or file
  4  someone else changed the guitar meanwhile; nothing was overwritten
  5  the storage is read-only     6  the disk is full       7  another program holds the file
  8  a newer program wrote it     9  not a file of ours    10  the file is damaged
 11  the database cannot be reached`

// Streams are where a command reads and writes.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// app is one run of the program.
type app struct {
	Streams
	ctx    context.Context
	getenv func(string) string

	db, units, bench string
	language         language.Code
	shopUnits        unit.Style // of the shop that was opened
	ran              bool       // a command has begun: what fails now is not the command line itself
}

// Main runs one command line and returns its exit code.
func Main(ctx context.Context, args []string, s Streams) int {
	out := &watched{w: s.Out}
	s.Out = out
	a := &app{Streams: s, ctx: ctx, getenv: os.Getenv}
	if err := a.speak(args); err != nil {
		return a.report(err)
	}
	root := a.root()
	a.translate(root)
	root.SetArgs(args)
	root.SetIn(s.In)
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	err := root.ExecuteContext(ctx)
	switch {
	case out.err != nil && (err == nil || errors.Is(err, out.err)):
		err = store.Errorf(store.Internal, out.err, "The output could not be written: %v.", place.Bare(out.err))
	case err == nil:
		return exitOK
	}
	if !a.ran {
		var u *usageError
		if !errors.As(err, &u) {
			err = &usageError{unit.Plain(first(err.Error())), unit.Say("fairset --help lists the commands")}
		}
	}
	return a.report(err)
}

// first is the first line of a text that may go on with suggestions.
func first(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "fairset",
		Short: "The bench companion for bolt-on necks",
		Long: `The bench companion for people who build acoustic guitars with bolt-on necks: from design to target,
from reading to next cut with its risk, from hole to drill.

` + exitTable,
		SilenceErrors: true, SilenceUsage: true,
		PersistentPreRunE: func(cmd *cobra.Command, _ []string) error {
			a.ran = true
			if a.units == "" {
				a.units = a.getenv("FAIRSET_UNITS")
			}
			if a.units != "" {
				if _, err := unit.ParseStyle(a.units); err != nil {
					return &usageError{unit.Say("units %q: choose in64, inch or mm", a.units), unit.Say("--units or the variable FAIRSET_UNITS says how lengths are read and written")}
				}
			}
			return nil
		},
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				hint := unit.Say("fairset --help lists the commands")
				for far := 2; far > 0; far-- { // the nearest last
					cmd.SuggestionsMinimumDistance = far
					if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
						hint = unit.Say("did you mean fairset %s?", near[0])
					}
				}
				return &usageError{unit.Say("there is no command %q", args[0]), hint}
			}
			return cmd.Help()
		},
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	f := root.PersistentFlags()
	f.StringVar(&a.db, "db", "", "the shop's file, or postgres://USER@HOST/DATABASE (else FAIRSET_DB, else fairset/shop.db among your settings)")
	f.StringVar(&a.units, "units", "", "in64, inch or mm, to read and write lengths (else FAIRSET_UNITS, else the shop's)")
	f.StringVar(&a.bench, "bench", "", `who enters, such as "bench 3"`)
	var tag string // was read by speak
	f.StringVar(&tag, "language", "", "en or de, to speak (else FAIRSET_LANGUAGE, else the system's language)")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return &usageError{flagError(err), unit.Say("%s --help lists what can be given", cmd.CommandPath())}
	})
	root.AddCommand(a.photoCmd())
	root.AddCommand(a.serveCmd(), a.newCmd(), a.listCmd(), a.showCmd(), a.readCmd(), a.cutCmd(), a.undoCmd(), a.historyCmd(),
		a.changeCmd(), a.renameCmd(), a.removeCmd(), a.restoreCmd(), a.exportCmd(), a.importCmd(), a.checkCmd(), a.backupCmd(), a.moveCmd(), a.schemaCmd(),
		a.drawCmd(), a.printCmd(), a.billCmd(), a.pricesCmd(), a.classCmd(), a.accountCmd(), a.figureCmd(), a.climateCmd(), a.licencesCmd(), a.versionCmd())
	root.AddCommand(a.topCmd())
	return root
}

// usageError is a command line that cannot be used.
type usageError struct{ say, hint unit.Phrase }

func (e *usageError) Error() string { return e.say.In(unit.Millimetre) }

// misused is a usageError without figures.
func misused(say, hint unit.Text) error { return &usageError{unit.Say(say), unit.Say(hint)} }

// hinted is an error with what to try.
type hinted struct {
	error
	hint unit.Phrase
}

func (h *hinted) Unwrap() error { return h.error }

// withHint adds to an error what to try.
func withHint(err error, try unit.Text, args ...any) error {
	return &hinted{err, unit.Say(try, args...)}
}

// rawError is written as it is, and nothing else: the calculation interface promises one JSON object.
type rawError struct{ body []byte }

func (e *rawError) Error() string { return string(e.body) }

// report writes an error and returns its exit code.
func (a *app) report(err error) int {
	style := a.style()
	say := func(msg string, hint unit.Phrase) {
		for _, line := range strings.Split(strings.TrimRight(msg, "\n"), "\n") {
			a.tell("error: %s", line)
		}
		if !hint.Empty() {
			a.tell("hint: %v", hint)
		}
	}
	var raw *rawError
	var usage *usageError
	var problems guitar.Problems
	var re *unit.RangeError
	var ge *figure.Error
	var h *hinted
	var hint unit.Phrase
	if errors.As(err, &h) {
		hint = h.hint
	}
	switch {
	case errors.As(err, &raw):
		fmt.Fprintf(a.Err, "%s\n", raw.body)
		return exitBadInput
	case errors.As(err, &usage):
		say(usage.say.In(style), usage.hint)
		return exitBadInput
	case errors.As(err, &problems):
		say(problems.In(style), flagHint(problems, hint))
		return exitBadInput
	case errors.As(err, &re):
		say(re.In(style), flagHint(guitar.Problems{re}, hint))
		return exitBadInput
	case errors.As(err, &ge):
		say(unit.Explain(ge, style), hint)
		return exitBadInput
	case errors.Is(err, context.Canceled):
		say(style.Say("stopped"), unit.Phrase{})
		return exitOther
	}
	var kept *store.Error
	if errors.As(err, &kept) && kept.Current != nil && !kept.Current.Removed && hint.Empty() {
		hint = unit.Say("fairset history %s shows what was entered", quoteArg(kept.Current.Guitar.Name))
	}
	code := shop.ExitCode(err)
	if code == exitNotFound && hint.Empty() {
		hint = unit.Say("fairset list names the guitars")
	}
	say(shop.SentenceIn(err, style), hint)
	if code == exitOther {
		// The cause is for whoever reports it.
		a.tell("cause: %s", err.Error())
	}
	return code
}

// flagHint names the flags of the inputs at fault.
func flagHint(ps guitar.Problems, hint unit.Phrase) unit.Phrase {
	if !hint.Empty() || len(ps) == 0 {
		return hint
	}
	var flags []string
	for _, p := range ps {
		if p.Field != "" && p.Field != "name" {
			flags = append(flags, flagName(p.Field))
		}
	}
	if len(flags) == 0 {
		return unit.Phrase{}
	}
	if len(flags) > 4 {
		flags = append(flags[:4], "…")
	}
	return unit.Say("nothing was saved; look at %s", strings.Join(flags, ", "))
}

// flagName is the flag of a field: scale_length is --scale-length.
func flagName(key string) string { return "--" + strings.ReplaceAll(key, "_", "-") }

// quoteArg writes a name as it is typed on a command line.
func quoteArg(s string) string {
	if strings.ContainsAny(s, " \t'\"\\$`&|;()<>*?!#~") || s == "" {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return s
}

// style is the units to read and write in, as asked for, else the shop's; and the language to speak.
func (a *app) style() unit.Style { return a.lengths().Speaking(a.language) }

// speaking is style for what people read, and its units in English for what machines do.
func (a *app) speaking(machine bool) unit.Style {
	if machine {
		return a.lengths()
	}
	return a.style()
}

// lengths is style for what machines read, which is English.
func (a *app) lengths() unit.Style {
	if st, err := unit.ParseStyle(a.units); err == nil {
		return st
	}
	if a.shopUnits != "" {
		return a.shopUnits.Units()
	}
	return store.DefaultSettings().Units.Units()
}

// dbPath is the shop's file, or the address of its database; the latter may hold a password and is never shown.
func (a *app) dbPath() (string, error) {
	if a.db != "" {
		return a.db, nil
	}
	if p := a.getenv("FAIRSET_DB"); p != "" {
		return p, nil
	}
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", &usageError{unit.Say("this system names no place for settings: %v", err), unit.Say("say where the shop's file is with --db or the variable FAIRSET_DB")}
	}
	return filepath.Join(dir, "fairset", "shop.db"), nil
}

// args requires between lo and hi arguments; what asks for those that lack.
func args(lo, hi int, what unit.Text) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) < lo:
			return &usageError{unit.Say(what), unit.Say("usage: %s", cmd.UseLine())}
		case len(args) > hi:
			return &usageError{unit.Say("%q is one word too many", args[hi]), unit.Say("usage: %s; put a name of several words in quotes", cmd.UseLine())}
		}
		return nil
	}
}
