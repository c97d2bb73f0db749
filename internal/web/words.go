package web

import (
	"strings"
	"time"

	"fairset/craft/guitar"
	"fairset/unit"
)

// entryName names the step something was entered at.
func entryName(s guitar.Step) unit.Text {
	if s == guitar.StepDesign {
		return "Figures changed"
	}
	if guide, ok := guitar.FindGuide(s); ok {
		return guide.Name
	}
	return unit.FromTable(string(s))
}

// fieldWords writes every value of one field, in a maker's units, as short as a line of talk: what the
// rounding leaves over is for tables.
func fieldWords(fields []guitar.Field, v guitar.Values, key string, style unit.Style) string {
	for _, f := range fields {
		if f.Field != key {
			continue
		}
		var out []any
		for _, x := range v[key] {
			say := f.Write(x, style)
			if l := unit.Length(x.SI); f.Kind == unit.KindLength && l.Abs() >= 0.9*unit.MM {
				say = l.In(style)
			}
			out = append(out, say)
		}
		return style.List(out...)
	}
	return ""
}

// entryWords says in one short line what was entered.
func entryWords(g guitar.Guitar, e guitar.Entry, style unit.Style) string {
	fields := g.Fields(e.Step)
	w := func(key string) string { return fieldWords(fields, e.Values, key, style) }
	switch e.Step {
	case guitar.StepLean:
		return style.Say("lean read %s on %s", w("gap"), w("surface"))
	case guitar.StepPoint:
		return style.Say("line read %s", offsetWords(e.Values, w, style))
	case guitar.StepRoll:
		return style.Say("roll read %s bass, %s treble", w("gap_bass"), w("gap_treble"))
	case guitar.StepSeat:
		return style.Say("seat read: bass %s at the top, %s at the cap; treble %s at the top, %s at the cap", w("gap_bass_top"), w("gap_bass_cap"), w("gap_treble_top"), w("gap_treble_cap"))
	case guitar.StepTenon:
		return style.Say("tenon %s long, %s wide; mortise %s deep, %s wide", w("tenon_length"), w("tenon_width"), w("mortise_depth"), w("mortise_width"))
	case guitar.StepCut:
		switch {
		case e.Values.Has("strokes"):
			return style.Say("cut made with %s, %s strokes", w("tool"), w("strokes"))
		case e.Values.Has("done"):
			return style.Say("cut made with %s, %s of it", w("tool"), w("done"))
		}
		return style.Say("cut made with %s", w("tool"))
	case guitar.StepShim:
		return style.Say("shim of %s glued at the %s", w("thickness"), w("edge"))
	case guitar.StepDrill:
		if e.Values.Has("miss") {
			return style.Say("holes miss by %s", w("miss"))
		}
		return style.Say("centres marked at %s", w("centres_neck"))
	case guitar.StepTighten:
		return style.Say("bolted up: gap %s on %s, line %s", w("gap"), w("surface"), offsetWords(e.Values, w, style))
	case guitar.StepDots:
		if e.Values.Choice("set") == "yes" {
			return style.Say("side dots are in")
		}
		return style.Say("side dots are not in yet")
	case guitar.StepSign:
		if e.Values.Choice("accepted") == "yes" {
			return style.Say("neck set signed off")
		}
		return style.Say("neck set not finished yet")
	case guitar.StepBridge:
		return style.Say("nut to the body's edge %s", w("nut_to_joint"))
	case guitar.StepStrung:
		return style.Say("action read %s bass, %s treble", w("action_bass"), w("action_treble"))
	case guitar.StepNote:
		return style.Say("note: %s", shorten(w("text"), 60))
	case guitar.StepDesign:
		var out []string
		for _, f := range fields {
			if e.Values.Has(f.Field) {
				out = append(out, f.Label.In(style)+" "+w(f.Field))
			}
		}
		if len(out) > 3 {
			out = append(out[:3:3], style.Say("and %d more", len(out)-3))
		}
		return strings.Join(out, ", ")
	}
	return entryName(e.Step).In(style)
}

func offsetWords(v guitar.Values, w func(string) string, style unit.Style) string {
	if v.Choice("toward") == "centre" {
		return style.Say("on the centre")
	}
	return style.Say("%s on the %s", w("offset"), w("toward"))
}

func shorten(s string, most int) string {
	r := []rune(strings.Join(strings.Fields(s), " "))
	if len(r) <= most {
		return string(r)
	}
	return strings.TrimSpace(string(r[:most-1])) + "…"
}

// moment writes a time in full, as on paper.
func (in *request) moment(t time.Time) string {
	return in.prefs.Units.Date(t.Local(), "2 Jan 2006, 15:04")
}

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
				out = append(out, style.Say("%s: %s was read as %s.", f.Label, x.Text, f.Write(x, style)))
			}
		}
	}
	return strings.Join(out, " ")
}

// toSide says how far and to which side of the guitar something lies; + is treble.
func toSide(offset unit.Length) unit.Phrase {
	if offset < 0 {
		return unit.Say("%v to bass", -offset)
	}
	return unit.Say("%v to treble", offset)
}

// percent writes a share so that a small one is not rounded away.
func percent(p float64, style unit.Style) string {
	switch {
	case p <= 0:
		return "0 %"
	case p < 0.001:
		return style.Say("under %.1f %%", 0.1)
	case p < 0.0995:
		return style.Decimal(p*100, 1) + " %"
	}
	return style.Decimal(p*100, 0) + " %"
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
func noteWords(e guitar.Entry, style unit.Style) string {
	if e.Step == guitar.StepNote {
		return e.Note()
	}
	return entryName(e.Step).In(style) + ": " + e.Note()
}
