package cli

import (
	"fmt"
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
func fieldsOn(cmd *cobra.Command, hidden bool, lists ...[]guitar.Field) *fieldFlags {
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
			f.set.Var(&typed{v, placeholder(x)}, name, usage(x))
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

func placeholder(f guitar.Field) string {
	switch f.Kind {
	case unit.KindLength:
		return "length"
	case unit.KindAngle:
		return "degrees"
	case unit.KindForce:
		return "newtons"
	case unit.KindTemperature:
		return "temperature"
	case unit.KindPercent:
		return "percent"
	case unit.KindCents:
		return "cents"
	case unit.KindChoice:
		return "word"
	case unit.KindText:
		return "text"
	}
	return "number"
}

// usage says of one field what a command's help must.
func usage(f guitar.Field) string {
	s := f.Label
	if len(f.Choices) > 0 {
		var keys []string
		for _, c := range f.Choices {
			keys = append(keys, c.Key)
		}
		s += ": " + strings.Join(keys, ", ")
	}
	a := f.Allowed(unit.Millimetre)
	if f.Kind == unit.KindLength && a != "" {
		// Not rounded as figures at the bench are: the least graduation is far below what they show.
		a = unit.Length(f.Min).Edit(unit.Millimetre) + " to " + unit.Length(f.Max).Edit(unit.Millimetre)
	}
	if a != "" {
		s += " (" + a
		if f.Flat {
			s += ", or flat"
		}
		s += ")"
	}
	if f.Many {
		s += "; again for each"
	}
	return s
}

// texts returns what was given, by field key; it refuses a flag that none of these fields has.
func (f *fieldFlags) texts(fields []guitar.Field, what string) (map[string][]string, error) {
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
		return nil, &usageError{fmt.Sprintf("%s does not belong to %s", flagName(stray[0]), what), "it takes " + strings.Join(flags, ", ")}
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
