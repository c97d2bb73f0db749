package guitar

import (
	"errors"
	"math"

	"fairset/craft/fastening"
	"fairset/unit"
)

const groupFastening = "How the neck is held"

// UsualScrew is the wood screw taken when none was chosen. source: common practice, no source.
const UsualScrew = "#12"

// fasteningFields may all be left empty: a guitar that says nothing is held by hanger bolts.
func fasteningFields() []Field {
	var kinds, screws []Choice
	for _, k := range fastening.Kinds() {
		kinds = append(kinds, Choice{string(k), unit.Say(k.Name())})
	}
	for _, s := range fastening.Screws() {
		screws = append(screws, Choice{s.Name, unit.Plain(s.Name)})
	}
	return []Field{
		choice("fastening", "held by", groupFastening, "Leave empty for hanger bolts. Wood screws in the end grain of a heel are shown for repairs; the standard does not allow them there.", kinds...),
		length("block_thickness", "wood the bolt passes in the body", groupFastening, 2, 100, 0, "From the bottom of the mortise to the inside of the block. With it the length of the bolt is worked out."),
		length("insert_outer", "insert, over its outside thread", groupFastening, 4, 20, 0, "Measure yours. Leave empty for twice the bolt's thickness."),
		length("insert_root", "insert, at the root of its thread", groupFastening, 3, 20, 0, "Measure yours. Leave empty for 2 mm under the outside."),
		length("insert_length", "insert length", groupFastening, 5, 40, 0, "Leave empty for two and a half times the bolt's thickness."),
		length("barrel_diameter", "barrel nut, thickness", groupFastening, 5, 13, 0, "Leave empty for 10 mm."),
		length("barrel_length", "barrel nut, length", groupFastening, 8, 60, 0, "Leave empty for 14 mm."),
		length("barrel_set", "tenon's end to the barrel's middle", groupFastening, 8, 120, 0, "Along the bolt. Leave empty for 30 mm."),
		choice("screw_size", "wood screw", groupFastening, "Leave empty for #12.", screws...),
	}
}

// FasteningKind is how the design holds its neck; hanger bolts when it does not say.
func FasteningKind(d Values) fastening.Kind {
	if k := d.Choice("fastening"); k != "" {
		return fastening.Kind(k)
	}
	return fastening.KindHanger
}

// PlanInput gathers what a design says of the joint's holes. drills are the shop's own, as fastening.Owned
// reads them; none for the design's drill series.
func PlanInput(d Values, misses []unit.Length, drills []string) fastening.PlanInput {
	in := fastening.PlanInput{Kind: FasteningKind(d), Drill: DrillInput(d, misses), Bite: d.Length("bolt_bite"), Out: d.Length("bolt_out"), Block: d.Length("block_thickness"),
		Screw: UsualScrew, Depths: d.Lengths("bolt_depths"), HeelHeight: d.Length("heel_height"), HolderWidth: d.Length("tenon_width"), InEndGrain: true}
	in.Drill.Drills = drills
	if t, err := fastening.FindThread(in.Drill.Thread); err == nil {
		u := fastening.UsualInsert(t)
		in.Insert.Outer = or(d, "insert_outer", u.Outer)
		in.Insert.Root = or(d, "insert_root", in.Insert.Outer-2*unit.MM)
		in.Insert.Length = or(d, "insert_length", u.Length)
	}
	b := fastening.UsualBarrel()
	in.Barrel = fastening.Barrel{Diameter: or(d, "barrel_diameter", b.Diameter), Length: or(d, "barrel_length", b.Length), Set: or(d, "barrel_set", b.Set)}
	if s := d.Choice("screw_size"); s != "" {
		in.Screw = s
	}
	if j, ok := JointInput(d); ok {
		in.StringTension, in.StringMoment = j.Tension, float64(j.Tension)*float64(j.StringHeight)
	}
	return in
}

// PlanJoint plans the joint's holes from a design. Errors are Problems or *unit.RangeError.
func PlanJoint(d Values, misses []unit.Length, drills []string) (fastening.Plan, fastening.PlanInput, []unit.Warning, error) {
	in := PlanInput(d, misses, drills)
	p, warn, err := fastening.PlanJoint(in)
	return p, in, warn, err
}

// fasteningProblems are the figures of the chosen kind that cannot be joined.
func fasteningProblems(d Values) Problems {
	_, _, _, err := PlanJoint(d, nil, nil)
	var re *unit.RangeError
	if errors.As(err, &re) {
		if _, ok := find(fasteningFields(), re.Field); ok {
			return Problems{re}
		}
	}
	return nil
}

// drillMisses are the misses an answer to the drill step gives, bolt by bolt from the top: as they lie when
// both ways were read, else only how far. both is false when only the distances are known.
func drillMisses(v Values) (misses []fastening.Miss, far []unit.Length, both bool) {
	across, down := v.Lengths("miss_across"), v.Lengths("miss_down")
	if len(across) == 0 || len(across) != len(down) {
		return nil, v.Lengths("miss"), false
	}
	for i := range across {
		m := fastening.Miss{Across: across[i], Down: down[i]}
		misses = append(misses, m)
		far = append(far, m.Far())
	}
	return misses, far, true
}

// DrillMisses returns how far each hole missed, whichever way it was read, for the advice on drills.
func DrillMisses(v Values) []unit.Length {
	_, far, _ := drillMisses(v)
	return far
}

// reamAdvice says which hole to open, which way and how far, and whether moving the neck would do instead.
func reamAdvice(a fastening.DrillAdvice, in fastening.DrillInput, misses []fastening.Miss) (figures []Figure, why unit.Phrase) {
	meeting, err := fastening.Meet(misses)
	if err != nil {
		return nil, why
	}
	reams, err := fastening.ReamEach(a, in, misses)
	if err != nil {
		return nil, why
	}
	for i, r := range reams {
		say := unit.Say("it passes, %v off", unit.FineLength(r.Miss.Far()))
		if r.Need > 0 {
			say = r.Say
		}
		figures = append(figures, Figure{unit.Say("hole %d", i+1), say})
	}
	if meeting.Most <= a.Float {
		return figures, why
	}
	way := meeting.Shift.Way()
	switch {
	case way.Empty():
		why = unit.Say("Moving the neck would not help: the holes miss on opposite sides.")
	case meeting.Least <= a.Float:
		why = unit.Say("Or move the whole neck %v %v: then every bolt passes, the worst %v off. It moves the centreline and the strings with it, so read where the neck points again.", unit.FineLength(meeting.Shift.Far()), way, unit.FineLength(meeting.Least))
	default:
		why = unit.Say("Moving the whole neck %v %v would leave the worst hole %v off, still more than the play.", unit.FineLength(meeting.Shift.Far()), way, unit.FineLength(meeting.Least))
	}
	return figures, why
}

// holeFigures are the figures of a plan to look up at the drill.
func holeFigures(p fastening.Plan, in fastening.PlanInput) []Figure {
	var out []Figure
	for _, h := range p.Holes {
		label := h.What
		if h.Key == "body" {
			label = "hole in the body"
		} else if h.What == "lead hole" {
			label = "hole in the heel"
		}
		out = append(out, Figure{unit.Say(label), unit.Say("%s (%v)", h.Drill.Name, unit.FineLength(h.Drill.Diameter))})
		if h.Depth > 0 {
			stop := unit.Text("stop depth in the heel")
			if h.Across {
				stop = "stop depth across the heel"
			}
			out = append(out, Figure{unit.Say(stop), unit.Say("%v", h.Depth)})
		}
	}
	if p.Kind == fastening.KindHanger {
		out = append(out, Figure{unit.Say("wood thread left out"), unit.Say("%v", p.LeftOut)})
	}
	if p.HasBolt {
		what := unit.Text("bolt length")
		if p.Kind == fastening.KindScrew {
			what = "screw length"
		}
		out = append(out, Figure{unit.Say(what), unit.Say("%v to %v", p.Bolt[0], p.Bolt[1])})
	}
	if p.Kind == fastening.KindHanger {
		out = append(out, Figure{unit.Say("wrench"), unit.Say("%v across flats", p.Advice.Nut)})
	}
	if p.Kind != fastening.KindScrew {
		out = append(out, Figure{unit.Say("washer"), unit.Say("%v, %v across, hole %v", p.Washer.Kind, p.Washer.Outer, unit.FineLength(p.Washer.Inner))},
			Figure{unit.Say("play of the bolt in the body's hole"), unit.Say("%v all round", unit.FineLength(p.Advice.Float))})
	}
	s, ok := p.Stands(in)
	switch {
	case !ok:
	case s.Hold.Barred:
		out = append(out, Figure{unit.Say("the strings' pull on the hardest-worked screw"), unit.Say("%v; no allowed figure to set against it", s.Bolts[s.Weakest].Tension)})
	default:
		out = append(out, Figure{unit.Say("hardest-worked bolt holds, estimated"), unit.Say("%v what the strings ask of it, for good", times(s.Safety))})
	}
	return out
}

// times writes how many times over a joint holds, no finer than such an estimate is.
func times(v float64) unit.Phrase {
	if v >= 10 {
		return unit.Say("%.0f times", math.Floor(v))
	}
	return unit.Say("%.1f times", math.Floor(v*10)/10)
}
