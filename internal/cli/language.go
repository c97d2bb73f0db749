package cli

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"fairset/language"
	"fairset/unit"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// tongue reads the name of a language; a test lets in one that marks its words.
var tongue = language.Parse

// speak chooses the language before the command line is read, since what is wrong with it is said in that language:
// --language, else the variable FAIRSET_LANGUAGE, else what the system speaks. A language of the system's
// that is not among ours is English.
//
// source: POSIX.1-2017, Base Definitions, 8.2: LC_ALL before LC_MESSAGES before LANG.
func (a *app) speak(args []string) error {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if tag := a.getenv(name); tag != "" {
			tag, _, _ = strings.Cut(tag, "@")
			a.language, _ = tongue(tag)
			if !slices.Contains(language.Codes(), a.language) {
				a.language = language.English
			}
			break
		}
	}
	unknown := ""
	for _, tag := range []string{a.getenv("FAIRSET_LANGUAGE"), flagged(args, "--language")} {
		if tag == "" {
			continue
		}
		unknown = tag
		if c, ok := tongue(tag); ok {
			a.language, unknown = c, ""
		}
	}
	if unknown == "" {
		return nil
	}
	var tags []string
	for _, c := range language.Codes() {
		tags = append(tags, c.Tag())
	}
	return &usageError{unit.Say("language %q: choose %s", unknown, strings.Join(tags, ", ")), unit.Say("--language or the variable FAIRSET_LANGUAGE says which language is spoken")}
}

// flagged is what a flag is given as on a command line that nobody has read yet; "" when it is not there.
func flagged(args []string, flag string) string {
	value := ""
	for i, arg := range args {
		switch {
		case arg == "--":
			return value
		case arg == flag && i+1 < len(args):
			value = args[i+1]
		case strings.HasPrefix(arg, flag+"="):
			value = arg[len(flag)+1:]
		}
	}
	return value
}

// say writes a sentence on a line of its own.
func (a *app) say(indent string, text unit.Text, args ...any) {
	fmt.Fprintf(a.Out, "%s%s\n", indent, a.style().Say(text, args...))
}

// tell writes a sentence to standard error, behind the program's name.
func (a *app) tell(text unit.Text, args ...any) {
	fmt.Fprintf(a.Err, "fairset: %s\n", a.style().Say(text, args...))
}

// columns writes the head of a table.
func (a *app) columns(w io.Writer, heads ...unit.Text) {
	fmt.Fprintf(w, "  %s\n", strings.Join(unit.Texts(heads).In(a.style()), "\t"))
}

// complete adds what cobra would add by itself when a command runs.
func complete(root *cobra.Command) {
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	each(root, (*cobra.Command).InitDefaultHelpFlag)
}

func each(cmd *cobra.Command, do func(*cobra.Command)) {
	do(cmd)
	for _, c := range cmd.Commands() {
		each(c, do)
	}
}

// flags calls do for the flags that a command adds. Flags of fields are left out: they are said in the language when they are
// made.
func flags(cmd *cobra.Command, do func(*pflag.Flag)) {
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if _, field := f.Value.(*typed); !field && f.Name != "help" {
			do(f)
		}
	})
}

// translate says the commands and flags in the language.
func (a *app) translate(root *cobra.Command) {
	complete(root)
	s := a.style()
	find := func(text *string) { *text, _ = a.language.Find(*text) }
	each(root, func(cmd *cobra.Command) {
		find(&cmd.Short)
		find(&cmd.Long)
		if cmd.Annotations[topicsAfter] != "" {
			cmd.Long += topicList(find)
		}
		flags(cmd, func(f *pflag.Flag) { find(&f.Usage) })
		cmd.Flags().Lookup("help").Usage = s.Say("help for %s", cmd.Name())
	})
	root.SetUsageFunc(func(cmd *cobra.Command) error {
		_, err := io.WriteString(cmd.OutOrStderr(), a.usageOf(cmd))
		return err
	})
}

// Words lists the texts of the commands and their flags, which stand in package cobra's definitions as plain strings, for the catalogues.
func Words() []string {
	a := &app{getenv: func(string) string { return "" }}
	root := a.root()
	complete(root)
	var out []string
	add := func(text string) {
		if text != "" && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	each(root, func(cmd *cobra.Command) {
		add(cmd.Short)
		add(cmd.Long)
		if cmd.Annotations[topicsAfter] != "" {
			topicList(func(text *string) { add(*text) })
		}
		flags(cmd, func(f *pflag.Flag) { add(f.Usage) })
	})
	return out
}

// usageOf says how a command is used, as package cobra says it in English.
func (a *app) usageOf(cmd *cobra.Command) string {
	s := a.style()
	var b strings.Builder
	b.WriteString(s.Say("Usage:"))
	if cmd.Runnable() {
		b.WriteString("\n  " + cmd.UseLine())
	}
	if cmd.HasAvailableSubCommands() {
		b.WriteString("\n  " + cmd.CommandPath() + " [command]")
	}
	part := func(heading unit.Text) { b.WriteString("\n\n" + s.Say(heading)) }
	if cmd.HasExample() {
		part("Examples:")
		b.WriteString("\n" + cmd.Example)
	}
	if cmd.HasAvailableSubCommands() {
		part("Available Commands:")
		for _, c := range cmd.Commands() {
			if c.IsAvailableCommand() || c.Name() == "help" {
				fmt.Fprintf(&b, "\n  %-*s %s", c.NamePadding(), c.Name(), c.Short)
			}
		}
	}
	if cmd.HasAvailableLocalFlags() {
		part("Flags:")
		b.WriteString("\n" + flagLines(cmd.LocalFlags(), s))
	}
	if cmd.HasAvailableInheritedFlags() {
		part("Global Flags:")
		b.WriteString("\n" + flagLines(cmd.InheritedFlags(), s))
	}
	if cmd.HasAvailableSubCommands() {
		b.WriteString("\n\n" + s.Say(`Use "%s [command] --help" for more information about a command.`, cmd.CommandPath()))
	}
	return b.String() + "\n"
}

// flagTypes are what a flag takes, by package pflag's name of it.
var flagTypes = map[string]unit.Text{"bool": "", "string": "string‖what a flag takes", "stringArray": "stringArray‖what a flag takes", "int": "int‖what a flag takes", "float64": "float‖what a flag takes", "duration": "duration‖what a flag takes"}

// flagLines lists flags, what they take and what they are for.
func flagLines(set *pflag.FlagSet, s unit.Style) string {
	var heads, says []string
	widest := 0
	set.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		head := "      --" + f.Name
		if f.Shorthand != "" {
			head = "  -" + f.Shorthand + ", --" + f.Name
		}
		kind := f.Value.Type()
		if words, ok := flagTypes[kind]; ok {
			kind = words.In(s)
		}
		if kind != "" {
			head += " " + kind
		}
		say := f.Usage
		switch f.DefValue {
		case "", "0", "0s", "false", "[]":
		default:
			given := f.DefValue
			if f.Value.Type() == "string" {
				given = fmt.Sprintf("%q", given)
			}
			say += s.Say(" (default %s)", given)
		}
		heads, says = append(heads, head), append(says, say)
		widest = max(widest, utf8.RuneCountInString(head))
	})
	var lines []string
	for i, head := range heads {
		lines = append(lines, strings.TrimRight(fmt.Sprintf("%-*s   %s", widest, head, says[i]), " "))
	}
	return strings.Join(lines, "\n")
}

// flagError says what is wrong with a flag. What package pflag says of anything else stays as it is.
func flagError(err error) unit.Phrase {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var bad *pflag.InvalidValueError
	var odd *pflag.InvalidSyntaxError
	switch {
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() != "":
		return unit.Say("unknown shorthand flag: %q in -%s", letter(unknown.GetSpecifiedName()), unknown.GetSpecifiedShortnames())
	case errors.As(err, &unknown):
		return unit.Say("unknown flag: %s", "--"+unknown.GetSpecifiedName())
	case errors.As(err, &bare) && bare.GetSpecifiedShortnames() != "":
		return unit.Say("flag needs an argument: %q in -%s", letter(bare.GetSpecifiedName()), bare.GetSpecifiedShortnames())
	case errors.As(err, &bare):
		return unit.Say("flag needs an argument: %s", "--"+bare.GetSpecifiedName())
	case errors.As(err, &bad):
		return unit.Say("invalid argument %q for %q flag: %s", bad.GetValue(), "--"+bad.GetFlag().Name, errors.Unwrap(bad).Error())
	case errors.As(err, &odd):
		return unit.Say("bad flag syntax: %s", odd.GetSpecifiedFlag())
	}
	return unit.Plain(err.Error())
}

// letter is the first letter of a name.
func letter(name string) rune {
	r, _ := utf8.DecodeRuneInString(name)
	return r
}
