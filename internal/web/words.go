package web

import (
	"fmt"
	"strings"
	"time"

	"fairset/craft/guitar"
	"fairset/unit"
)

// entryName names the step something was entered at.
func entryName(s guitar.Step) string {
	if s == guitar.StepDesign {
		return "Figures changed"
	}
	if guide, ok := guitar.FindGuide(s); ok {
		return guide.Name
	}
	return string(s)
}

// fieldWords writes every value of one field, in a maker's units, as short as a line of talk: what the
// rounding leaves over is for tables.
func fieldWords(fields []guitar.Field, v guitar.Values, key string, style unit.Style) string {
	for _, f := range fields {
		if f.Field != key {
			continue
		}
		var out []string
		for _, x := range v[key] {
			say := f.Write(x, style)
			if l := unit.Length(x.SI); f.Kind == unit.KindLength && l.Abs() >= 0.9*unit.MM {
				say = l.In(style)
			}
			out = append(out, say)
		}
		return listed(out)
	}
	return ""
}

// entryWords says in one short line what was entered.
func entryWords(g guitar.Guitar, e guitar.Entry, style unit.Style) string {
	fields := g.Fields(e.Step)
	w := func(key string) string { return fieldWords(fields, e.Values, key, style) }
	switch e.Step {
	case guitar.StepLean:
		return "lean read " + w("gap") + " on " + w("surface")
	case guitar.StepPoint:
		return "line read " + offsetWords(e.Values, w)
	case guitar.StepRoll:
		return "roll read " + w("gap_bass") + " bass, " + w("gap_treble") + " treble"
	case guitar.StepSeat:
		return fmt.Sprintf("seat read: bass %s at the top, %s at the cap; treble %s at the top, %s at the cap", w("gap_bass_top"), w("gap_bass_cap"), w("gap_treble_top"), w("gap_treble_cap"))
	case guitar.StepTenon:
		return fmt.Sprintf("tenon %s long, %s wide; mortise %s deep, %s wide", w("tenon_length"), w("tenon_width"), w("mortise_depth"), w("mortise_width"))
	case guitar.StepCut:
		say := "cut made with " + w("tool")
		switch {
		case e.Values.Has("strokes"):
			say += ", " + w("strokes") + " strokes"
		case e.Values.Has("done"):
			say += ", " + w("done") + " of it"
		}
		return say
	case guitar.StepShim:
		return "shim of " + w("thickness") + " glued at the " + w("edge")
	case guitar.StepDrill:
		if e.Values.Has("miss") {
			return "holes miss by " + w("miss")
		}
		return "centres marked at " + w("centres_neck")
	case guitar.StepTighten:
		return "bolted up: gap " + w("gap") + " on " + w("surface") + ", line " + offsetWords(e.Values, w)
	case guitar.StepDots:
		if e.Values.Choice("set") == "yes" {
			return "side dots are in"
		}
		return "side dots are not in yet"
	case guitar.StepSign:
		if e.Values.Choice("accepted") == "yes" {
			return "neck set signed off"
		}
		return "neck set not finished yet"
	case guitar.StepBridge:
		return "nut to the body's edge " + w("nut_to_joint")
	case guitar.StepStrung:
		return "action read " + w("action_bass") + " bass, " + w("action_treble") + " treble"
	case guitar.StepNote:
		return "note: " + shorten(w("text"), 60)
	case guitar.StepDesign:
		var out []string
		for _, f := range fields {
			if e.Values.Has(f.Field) {
				out = append(out, f.Label+" "+w(f.Field))
			}
		}
		if len(out) > 3 {
			out = append(out[:3:3], fmt.Sprintf("and %d more", len(out)-3))
		}
		return strings.Join(out, ", ")
	}
	return entryName(e.Step)
}

// listed joins a list as it is said: "one, two and three".
func listed(list []string) string {
	if n := len(list); n > 1 {
		return strings.Join(list[:n-1], ", ") + " and " + list[n-1]
	}
	return strings.Join(list, "")
}

func offsetWords(v guitar.Values, w func(string) string) string {
	if v.Choice("toward") == "centre" {
		return "on the centre"
	}
	return w("offset") + " on the " + w("toward")
}

func shorten(s string, most int) string {
	r := []rune(strings.Join(strings.Fields(s), " "))
	if len(r) <= most {
		return string(r)
	}
	return strings.TrimSpace(string(r[:most-1])) + "…"
}

// moment writes a time in full, as on paper.
func moment(t time.Time) string { return t.Local().Format("2 Jan 2006, 15:04") }

// whoWhen says when something was entered and by whom.
func (in *request) whoWhen(e guitar.Entry) string {
	if e.Bench == "" {
		return in.when(e.At)
	}
	return in.when(e.At) + ", " + e.Bench
}

// guessedWords says what bare figures were read as when only the other unit made sense.
func guessedWords(fields []guitar.Field, v guitar.Values, style unit.Style) string {
	var out []string
	for _, f := range fields {
		for _, x := range v[f.Field] {
			if x.Guessed {
				out = append(out, fmt.Sprintf("%s: %s was read as %s.", f.Label, x.Text, f.Write(x, style)))
			}
		}
	}
	return strings.Join(out, " ")
}

// sideOf says which side of the guitar an offset lies on; + is treble.
func sideOf(offset unit.Length) string {
	if offset < 0 {
		return "bass"
	}
	return "treble"
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// percent writes a share so that a small one is not rounded away.
func percent(p float64) string {
	switch {
	case p <= 0:
		return "0 %"
	case p < 0.001:
		return "under 0.1 %"
	case p < 0.0995:
		return fmt.Sprintf("%.1f %%", p*100)
	}
	return fmt.Sprintf("%.0f %%", p*100)
}

// exactWords writes every value of one field with what its rounding leaves over.
func exactWords(f guitar.Field, v guitar.Values, style unit.Style) string {
	var out []string
	for _, x := range v[f.Field] {
		out = append(out, f.Write(x, style))
	}
	return strings.Join(out, "; ")
}

// noteWords is what was written with an entry, after the name of its step.
func noteWords(e guitar.Entry) string {
	if e.Step == guitar.StepNote {
		return e.Note()
	}
	return entryName(e.Step) + ": " + e.Note()
}
