package cli

import (
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"fairset/craft/guitar"
	"fairset/drawing/face"
	"fairset/figure"

	"github.com/spf13/cobra"
)

func (a *app) figureCmd() *cobra.Command {
	var list, schema, example bool
	cmd := &cobra.Command{
		Use: "figure TOPIC < in.json > out.json", Short: "Work out one sum: a JSON object in, a JSON object out",
		Long: `Work out one sum by itself: a JSON object on standard input, a JSON object on standard output. An input
that cannot be used gives exit code 2, a JSON object on standard error that names the field, and nothing
on standard output.

Topics:`,
		Annotations: map[string]string{topicsAfter: "yes"},
		Example:     "  fairset figure frets --example > in.json\n  fairset figure frets < in.json > out.json",
		Args:        args(0, 1, ""),
		RunE: func(cmd *cobra.Command, args []string) error {
			if list {
				for _, t := range figure.Topics() {
					a.printf("%s\n", t.Name)
				}
				return nil
			}
			if len(args) == 0 {
				return misused("say which topic", "fairset figure --list names them")
			}
			var out []byte
			var err error
			switch {
			case schema:
				out, err = figure.Schema(args[0])
			case example:
				out, err = figure.Example(args[0])
			default:
				if !figure.Known(args[0]) {
					_, err = figure.Run(args[0], nil)
					break
				}
				var in []byte
				if in, err = bounded(a.In, figure.MostBytes); err == nil {
					out, err = figure.Run(args[0], in)
				}
			}
			var bad *figure.Error
			if errors.As(err, &bad) {
				return &rawError{bad.Body()}
			}
			if err != nil {
				return err
			}
			_, err = a.Out.Write(append([]byte(strings.TrimRight(string(out), "\n")), '\n'))
			return err
		},
	}
	f := cmd.Flags()
	f.BoolVar(&list, "list", false, "name the topics")
	f.BoolVar(&schema, "schema", false, "print JSON Schema of input and output")
	f.BoolVar(&example, "example", false, "print a valid input")
	return cmd
}

// topicsAfter marks a command whose description ends in the list of topics.
const topicsAfter = "topics"

// topicList lists the topics with what they are about, which say puts into a language.
func topicList(say func(*string)) string {
	var b strings.Builder
	for _, t := range figure.Topics() {
		say(&t.Summary)
		fmt.Fprintf(&b, "\n  %-9s %s", t.Name, t.Summary)
	}
	return b.String()
}

func (a *app) schemaCmd() *cobra.Command {
	return &cobra.Command{
		Use: "schema", Short: "Print JSON Schema of the guitar file", Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			_, err := a.Out.Write(guitar.Schema())
			return err
		},
	}
}

func (a *app) versionCmd() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Say which fairset this is", Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			a.say("", "fairset %s, guitar file version %d", version(), guitar.FileVersion)
			return nil
		},
	}
}

func (a *app) licencesCmd() *cobra.Command {
	return &cobra.Command{
		Use: "licences", Short: "Show the licence of the letters that sheets are printed with", Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			a.say("", "Printed sheets carry letters of Liberation Sans, under the licence below. The licences of the\nlibraries built in lie beside every program that is handed out.")
			a.printf("\n%s\n", strings.TrimSpace(face.License))
			return nil
		},
	}
}

// What release.sh writes into a program that is handed out; empty in one built from the source.
var released, releasedCommit, releasedDay string

// version is what the build knows of itself.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if released != "" {
		return fmt.Sprintf("%s of %s, commit %.12s, %s", released, releasedDay, releasedCommit, info.GoVersion)
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "development"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && !strings.Contains(v, s.Value[:min(12, len(s.Value))]) {
			v += " " + s.Value[:min(12, len(s.Value))]
		}
	}
	return v + ", " + info.GoVersion
}
