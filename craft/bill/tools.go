package bill

import (
	"slices"

	"fairset/craft/fastening"
	"fairset/craft/guitar"
	"fairset/unit"
)

// StepTools is what one step needs on the bench.
type StepTools struct {
	Step        guitar.Step
	Name        unit.Text
	Tools       []unit.Phrase // to measure with first
	Consumables unit.Texts
	Caution     unit.Phrase
}

// working is what a step needs.
type working struct {
	read  unit.Texts // what it is read with, one by one: as the guide's ReadWith
	tools unit.Texts
	use   unit.Texts // consumables
}

// workings are the tools and consumables of each step; those beyond what it is read with are common practice, no source.
var workings = map[guitar.Step]working{
	guitar.StepTenon:   {unit.Texts{"caliper", "depth rod"}, unit.Texts{"wide chisel", "shoulder plane or sanding block", "clamps"}, unit.Texts{"abrasive paper, 80 and 120 grit", "chalk or soft pencil"}},
	guitar.StepSeat:    {unit.Texts{"feeler gauge", "paper strips", "a light behind the joint"}, unit.Texts{"chisel", "sanding block the width of the seat", "clamps"}, unit.Texts{"abrasive paper, 80 and 120 grit", "carbon paper or chalk"}},
	guitar.StepLean:    {unit.Texts{"straight edge", "a rule, drill shank or stepped wedge under it"}, unit.Texts{"clamp or strap to hold the neck"}, nil},
	guitar.StepPoint:   {unit.Texts{"long rule or threads along both board edges, to the saddle place"}, unit.Texts{"clamp or strap to hold the neck"}, unit.Texts{"thread‖to sight along", "masking tape"}},
	guitar.StepCut:     {nil, unit.Texts{"chisel", "flat sanding block", "marking knife", "rule‖tool"}, unit.Texts{"abrasive strips, 80 and 120 grit", "masking tape"}},
	guitar.StepDrill:   {unit.Texts{"rule from the top edge on both parts", "square‖tool", "awl"}, unit.Texts{"drill press, or hand drill with a square guide", "depth stop or tape", "scrap to back the hole", "clamps"}, unit.Texts{"wax or soap for the thread", "masking tape"}},
	guitar.StepTighten: {nil, unit.Texts{"mirror and light"}, nil},
	guitar.StepDots:    {unit.Texts{"dividers", "awl"}, unit.Texts{"flush cutter", "small file"}, unit.Texts{"dot rod", "super glue", "abrasive paper, 240 grit"}},
	guitar.StepBridge:  {unit.Texts{"long rule"}, unit.Texts{"square‖tool", "clamps that pass the soundhole", "cauls"}, unit.Texts{"masking tape", "wood glue", "rag"}},
	guitar.StepStrung:  {unit.Texts{"string-height rule", "feeler gauge", "tuner‖to read pitch with"}, unit.Texts{"wire cutters", "string winder", "nut files", "flat file or sanding block for the saddle"}, unit.Texts{setOfStrings, "abrasive paper, 240 and 400 grit"}},
}

// Tools lists what each step needs, in the natural order of the work.
func Tools(d guitar.Values) []StepTools {
	var out []StepTools
	for _, g := range guitar.Guides() {
		w, ok := workings[g.Step]
		if !ok {
			continue
		}
		s := StepTools{Step: g.Step, Name: g.Name, Caution: g.Caution, Consumables: slices.Clone(w.use)}
		add := func(ts ...unit.Text) {
			for _, t := range ts {
				s.Tools = append(s.Tools, unit.Say(t))
			}
		}
		if g.Step == guitar.StepTighten {
			s.Tools = append(s.Tools, wrench(d))
		}
		add(w.read...)
		add(w.tools...)
		if g.Step == guitar.StepDrill && d.Has("thread") {
			add(drillTools(d)...)
		}
		out = append(out, s)
	}
	return out
}

func drillTools(d guitar.Values) unit.Texts {
	switch guitar.FasteningKind(d) {
	case fastening.KindInsert:
		return unit.Texts{"bolt with two nuts, to drive the inserts"}
	case fastening.KindBarrel:
		return unit.Texts{"square, to drill across the heel"}
	case fastening.KindScrew:
		return nil
	}
	return unit.Texts{"two nuts to lock on the bolt, to drive it"}
}

func wrench(d guitar.Values) unit.Phrase {
	if !d.Has("thread") {
		return unit.Say("short wrench or nut driver that passes the soundhole")
	}
	switch guitar.FasteningKind(d) {
	case fastening.KindHanger:
		if t, err := fastening.FindThread(d.Choice("thread")); err == nil {
			return unit.Say("short %s wrench or nut driver that passes the soundhole", t.Wrench())
		}
	case fastening.KindScrew:
		return unit.Say("short screwdriver that passes the soundhole")
	}
	return unit.Say("short key or wrench for the bolts' heads, that passes the soundhole")
}

// Consumables lists every consumable of several guitars once, with the steps' own order kept. Strings are counted among the items.
func Consumables(designs ...guitar.Values) unit.Texts {
	var out unit.Texts
	for _, d := range designs {
		for _, s := range Tools(d) {
			for _, c := range s.Consumables {
				if c != setOfStrings && !slices.Contains(out, c) {
					out = append(out, c)
				}
			}
		}
	}
	return out
}

// IsStrings reports a consumable that is counted among the items: the strings.
func IsStrings(t unit.Text) bool { return t == setOfStrings }
