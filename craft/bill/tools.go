package bill

import (
	"strings"

	"fairset/craft/fastening"
	"fairset/craft/guitar"
)

// StepTools is what one step needs on the bench.
type StepTools struct {
	Step        guitar.Step
	Name        string
	Tools       []string // to measure with first
	Consumables []string
	Caution     string
}

// working are tools and consumables of each step beyond what it is read with; common practice, no source.
var working = map[guitar.Step][2][]string{
	guitar.StepTenon:   {{"wide chisel", "shoulder plane or sanding block", "clamps"}, {"abrasive paper, 80 and 120 grit", "chalk or soft pencil"}},
	guitar.StepSeat:    {{"chisel", "sanding block the width of the seat", "clamps"}, {"abrasive paper, 80 and 120 grit", "carbon paper or chalk"}},
	guitar.StepLean:    {{"clamp or strap to hold the neck"}, nil},
	guitar.StepPoint:   {{"clamp or strap to hold the neck"}, {"thread", "masking tape"}},
	guitar.StepCut:     {{"chisel", "flat sanding block", "marking knife", "rule"}, {"abrasive strips, 80 and 120 grit", "masking tape"}},
	guitar.StepDrill:   {{"drill press, or hand drill with a square guide", "depth stop or tape", "scrap to back the hole", "clamps"}, {"wax or soap for the thread", "masking tape"}},
	guitar.StepTighten: {{"short wrench or nut driver that passes the soundhole", "mirror and light"}, nil},
	guitar.StepDots:    {{"flush cutter", "small file"}, {"dot rod", "super glue", "abrasive paper, 240 grit"}},
	guitar.StepBridge:  {{"square", "clamps that pass the soundhole", "cauls"}, {"masking tape", "wood glue", "rag"}},
	guitar.StepStrung:  {{"wire cutters", "string winder", "nut files", "flat file or sanding block for the saddle"}, {"set of strings", "abrasive paper, 240 and 400 grit"}},
}

// Tools lists what each step needs, in the natural order of the work.
func Tools(d guitar.Values) []StepTools {
	var out []StepTools
	for _, g := range guitar.Guides() {
		w, ok := working[g.Step]
		if !ok {
			continue
		}
		s := StepTools{Step: g.Step, Name: g.Name, Caution: g.Caution}
		if read := strings.TrimSpace(g.ReadWith); read != "" && g.Step != guitar.StepCut && g.Step != guitar.StepTighten {
			s.Tools = append(s.Tools, strings.Split(strings.ReplaceAll(read, ", and ", ", "), ", ")...)
		}
		s.Tools = append(s.Tools, w[0]...)
		s.Consumables = append(s.Consumables, w[1]...)
		if g.Step == guitar.StepDrill && d.Has("thread") {
			s.Tools = append(s.Tools, drillTools(d)...)
		}
		if g.Step == guitar.StepTighten && d.Has("thread") {
			s.Tools[0] = wrench(d)
		}
		out = append(out, s)
	}
	return out
}

func drillTools(d guitar.Values) []string {
	switch guitar.FasteningKind(d) {
	case fastening.KindInsert:
		return []string{"bolt with two nuts, to drive the inserts"}
	case fastening.KindBarrel:
		return []string{"square, to drill across the heel"}
	case fastening.KindScrew:
		return nil
	}
	return []string{"two nuts to lock on the bolt, to drive it"}
}

func wrench(d guitar.Values) string {
	switch guitar.FasteningKind(d) {
	case fastening.KindHanger:
		if t, err := fastening.FindThread(d.Choice("thread")); err == nil {
			return "short " + t.Wrench() + " wrench or nut driver that passes the soundhole"
		}
	case fastening.KindScrew:
		return "short screwdriver that passes the soundhole"
	}
	return "short key or wrench for the bolts' heads, that passes the soundhole"
}

// Consumables lists every consumable of several guitars once, with the steps' own order kept.
func Consumables(designs ...guitar.Values) []string {
	var out []string
	seen := map[string]bool{}
	for _, d := range designs {
		for _, s := range Tools(d) {
			for _, c := range s.Consumables {
				if !seen[c] && c != "set of strings" { // strings are counted among the items
					seen[c] = true
					out = append(out, c)
				}
			}
		}
	}
	return out
}
