package cli

import (
	"slices"
	"strings"

	"fairset/craft/guitar"
	"fairset/unit"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// fieldFlags are the flags of one or more lists of fields: each field one flag, given again for several
// readings.
type fieldFlags struct {
	set    *pflag.FlagSet
	values map[string]*[]string // by field key
}

// fieldsOn gives a command a flag for every field. A key that several lists share is one flag.
func (a *app) fieldsOn(cmd *cobra.Command, hidden bool, lists ...[]guitar.Field) *fieldFlags {
	s := unit.Millimetre.Speaking(a.language)
	cmd.Flags().SortFlags = false // the order of the form
	f := &fieldFlags{cmd.Flags(), map[string]*[]string{}}
	for _, fields := range lists {
		for _, x := range fields {
			if f.values[x.Field] != nil {
				continue
			}
			v := new([]string)
			f.values[x.Field] = v
			name := flagName(x.Field)[2:]
			// Not a comma list: in many places the comma is the decimal point.
			f.set.Var(&typed{v, placeholder(x).In(s)}, name, usage(x, s))
			f.set.Lookup(name).Hidden = hidden
		}
	}
	return f
}

// typed collects what was typed for one field, unchanged.
type typed struct {
	list *[]string
	kind string
}

func (t *typed) Set(s string) error { *t.list = append(*t.list, s); return nil }
func (t *typed) Type() string       { return t.kind }
func (t *typed) String() string {
	if t.list == nil {
		return ""
	}
	return strings.Join(*t.list, ", ")
}

func placeholder(f guitar.Field) unit.Text {
	switch f.Kind {
	case unit.KindLength:
		return "length‖what a flag takes"
	case unit.KindAngle:
		return "degrees‖what a flag takes"
	case unit.KindForce:
		return "newtons‖what a flag takes"
	case unit.KindTemperature:
		return "temperature‖what a flag takes"
	case unit.KindPercent:
		return "percent‖what a flag takes"
	case unit.KindCents:
		return "cents‖what a flag takes"
	case unit.KindChoice:
		return "word‖what a flag takes"
	case unit.KindText:
		return "text‖what a flag takes"
	}
	return "number‖what a flag takes"
}

// usage says of one field what a command's help must, in millimetres.
func usage(f guitar.Field, s unit.Style) string {
	say := f.Label.In(s)
	if len(f.Choices) > 0 {
		var keys []string
		for _, c := range f.Choices {
			keys = append(keys, c.Key)
		}
		say += ": " + strings.Join(keys, ", ")
	}
	a := f.Allowed(s)
	if f.Kind == unit.KindLength && a != "" {
		// Not rounded as figures at the bench are: the least graduation is far below what they show.
		a = s.Say("%s to %s", unit.Length(f.Min).Edit(s), unit.Length(f.Max).Edit(s))
	}
	switch {
	case a != "" && f.Flat:
		say += " (" + s.Say("%s, or flat", a) + ")"
	case a != "":
		say += " (" + a + ")"
	}
	if f.Many {
		say += s.Say("; again for each")
	}
	return say
}

// texts returns what was given, by field key; it refuses a flag that none of these fields has.
func (f *fieldFlags) texts(fields []guitar.Field, what unit.Phrase) (map[string][]string, error) {
	out := map[string][]string{}
	var keys []string
	for _, x := range fields {
		keys = append(keys, x.Field)
	}
	var stray []string
	for key, v := range f.values {
		if len(*v) == 0 {
			continue
		}
		if !slices.Contains(keys, key) {
			stray = append(stray, key)
			continue
		}
		out[key] = *v
	}
	if len(stray) > 0 {
		slices.Sort(stray)
		var flags []string
		for _, k := range keys {
			flags = append(flags, flagName(k))
		}
		return nil, &usageError{unit.Say("%s does not belong to %v", flagName(stray[0]), what), unit.Say("it takes %s", strings.Join(flags, ", "))}
	}
	return out, nil
}

// given reports whether any of these fields was given.
func (f *fieldFlags) given(keys ...string) bool {
	for _, k := range keys {
		if v := f.values[k]; v != nil && len(*v) > 0 {
			return true
		}
	}
	return false
}

// any reports whether any field was given.
func (f *fieldFlags) any() bool {
	for _, v := range f.values {
		if len(*v) > 0 {
			return true
		}
	}
	return false
}
