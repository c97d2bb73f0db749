package guitar

import (
	"strings"
	"testing"

	"fairset/unit"
)

// Every figure a maker types at the bench says how it is taken, and so do the main ones of a design and a repair.
func TestEveryStepFieldSaysHowItIsTaken(t *testing.T) {
	fields := RepairFields()
	for _, g := range Guides() {
		fields = append(fields, g.Fields...)
	}
	for _, f := range designFields {
		// What is chosen from a list or printed on a packet is not measured.
		if f.Required && len(f.Choices) == 0 && f.Field != "frets" && f.Field != "strings" && f.Field != "string_tension" && f.Field != "side_limit" && f.Field != "heel_gravity" {
			fields = append(fields, f)
		}
	}
	known := map[string]bool{}
	for _, f := range fields {
		known[f.Field] = true
		m, ok := Measure(f.Field)
		if !ok {
			t.Errorf("%s (%s) does not say how it is taken", f.Field, f.Label)
			continue
		}
		for what, text := range map[string]unit.Text{"what it is": m.What, "how": m.How, "what it changes": m.Changes} {
			text := text.In(unit.Millimetre)
			if len(text) < 15 || !strings.HasSuffix(text, ".") || len(text) > 420 {
				t.Errorf("%s, %s: %q", f.Field, what, text)
			}
		}
	}
	for _, f := range designFields {
		known[f.Field] = true
	}
	for _, key := range MeasuredFields() {
		if !known[key] {
			t.Errorf("%s is no field's", key)
		}
	}
}
