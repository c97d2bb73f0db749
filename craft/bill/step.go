package bill

import (
	"slices"

	"fairset/craft/guitar"
)

// itemStep says at which step an item of hardware is put in; common practice, no source. Wood and wire are used
// before the neck is set.
var itemStep = map[string]guitar.Step{
	"hanger": guitar.StepDrill, "bolt": guitar.StepDrill, "insert": guitar.StepDrill, "barrel": guitar.StepDrill, "screw": guitar.StepDrill,
	"washer": guitar.StepDrill, "nut-hex": guitar.StepDrill, "tuner": guitar.StepStrung, "strings": guitar.StepStrung,
}

// ItemsFor lists what a guitar takes at one step.
func ItemsFor(step guitar.Step, d guitar.Values) []Item {
	if step != guitar.StepDrill && step != guitar.StepStrung {
		return nil // without working out the parts for nothing
	}
	return slices.DeleteFunc(Items(d), func(i Item) bool { return itemStep[i.Key] != step })
}

// HolesFor lists the holes that are drilled at one step: those of the joint, or the side dots. Errors are those of Holes.
func HolesFor(step guitar.Step, name string, d guitar.Values, drills []string) ([]Drilled, error) {
	if step != guitar.StepDrill && step != guitar.StepDots {
		return nil, nil
	}
	all, _, err := Holes(name, d, drills)
	return slices.DeleteFunc(all, func(h Drilled) bool { return (h.Part == inNeck) != (step == guitar.StepDots) }), err
}
