package printing

import (
	"fmt"
	"math"
	"strings"

	"fairset/craft/bill"
	"fairset/craft/fastening"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/sheet"
	"fairset/unit"
)

// lists: what is read and ticked off rather than laid on wood.
var lists = []Entry{
	{Name: "drill-chart", Title: "Drill chart", About: "Every hole with its drill, stop and order.", Draw: drillChart},
	{Name: "cut-list", Title: "Cut list", About: "The parts to cut with their rough sizes, and how much wood they take.", Draw: cutList},
	{Name: "tools", Title: "Tools and consumables", About: "What each step needs on the bench, with its cautions.", Draw: toolList},
	{Name: "cost", Title: "Cost", About: "What the guitar takes, at the shop's own prices.", Draw: costList},
	{Name: "bench-card", Title: "Bench card", About: "Every figure to work to, on one page to hang up.", Draw: benchCard},
	{Name: "record", Title: "Record", About: "The guitar as designed, as read, as cut and as set up.", Draw: record},
}

// list sets the blocks of a list on pages.
func (s Source) list(title string, blocks ...sheet.Block) []*drawing.Sheet {
	return sheet.Pages(s.Head(), title, s.Date, blocks...)
}

func (s Source) len(l unit.Length) string { return sheet.ListLength(l, s.Style) }

func (s Source) say(p unit.Phrase) string { return p.In(s.Style) }

// size writes length by width by thickness, held on one line; the unit stands in the table's head.
func (s Source) size(v [3]unit.Length) string {
	return nb(fmt.Sprintf("%s × %s × %s", v[0].Number(s.Style), v[1].Number(s.Style), v[2].Number(s.Style)))
}

// roughSize is size with each figure taken up to a whole millimetre or a 16th of an inch: nobody saws finer.
func (s Source) roughSize(v [3]unit.Length) string {
	step := unit.Inch / 16
	if s.Style == unit.Millimetre {
		step = unit.MM
	}
	for i := range v {
		v[i] = unit.Length(math.Ceil(float64(v[i]/step)-1e-9)) * step
	}
	return s.size(v)
}

func nb(text string) string { return strings.ReplaceAll(text, " ", "\u00a0") }

func drillChart(s Source) ([]*drawing.Sheet, error) {
	d := s.Design()
	if s.Guitar.Start == guitar.FromReadings {
		return nil, NeedDesign()
	}
	holes, warn, err := bill.Holes(s.Guitar.Name, d, s.Bench.Drills)
	if err != nil {
		return nil, err
	}
	plan, in, _, err := guitar.PlanJoint(d, nil, s.Bench.Drills)
	if err != nil {
		return nil, err
	}
	b := []sheet.Block{{Caution: true, Before: []string{guitar.CautionDrill}}}
	chart := sheet.Block{Heading: "Held by " + plan.Kind.Name(), Head: []string{"Hole", "In the", "Drill", "Size", "Stop", "How many"}, Right: []int{5}, Tick: true}
	why := sheet.Block{Heading: "Why", First: 55}
	for _, h := range holes {
		stop := "through"
		if h.Depth > 0 {
			stop = s.len(h.Depth) + " from " + h.From
		}
		chart.Rows = append(chart.Rows, []string{fmt.Sprintf("%d. %s", h.Order, h.What), h.Part, nb(h.Drill.Said()), nb(h.Drill.Diameter.Fine(s.Style)), stop, fmt.Sprint(h.Count)})
		why.Rows = append(why.Rows, []string{fmt.Sprintf("%d. %s", h.Order, h.What), s.say(h.Why)})
	}
	chart.After = []string{"In the order they are drilled. Stops count from the surface to the drill's shoulder, not its point."}
	where := sheet.Block{Heading: "Bolt centres", Head: []string{"Bolt", "From the top edge, on neck and body"}, First: 20, After: []string{"Measure both parts from the same top edge, all centres in one run of the rule."}}
	for i, z := range in.Depths {
		where.Rows = append(where.Rows, []string{fmt.Sprint(i + 1), nb(z.Exact(s.Style))})
	}
	hardware := sheet.Block{Heading: "Hardware", First: 55, Rows: [][]string{{"Nut or head", s.say(plan.Nut)}}}
	if plan.Kind != fastening.KindScrew {
		hardware.Rows = append(hardware.Rows, []string{"Washer", fmt.Sprintf("%s, %s across", plan.Washer.Kind, nb(plan.Washer.Outer.Fine(s.Style)))})
	}
	if plan.HasBolt {
		hardware.Rows = append(hardware.Rows, []string{"Length", s.len(plan.Bolt[0]) + " to " + s.len(plan.Bolt[1])})
	} else {
		hardware.Rows = append(hardware.Rows, []string{"Length", "give the wood the bolt passes in the body, and it is worked out"})
	}
	if plan.Kind == fastening.KindHanger {
		hardware.Rows = append(hardware.Rows, []string{"Left out of the heel", s.len(plan.LeftOut) + " of wood thread"})
	}
	edges := sheet.Block{Heading: "Wood left round the holes", Head: []string{"From where to where", "Is", "At least", "Enough"}}
	for _, x := range plan.Distances {
		enough := "yes"
		if !x.Enough {
			enough = "no"
		}
		edges.Rows = append(edges.Rows, []string{x.What, s.len(x.Is), s.len(x.Asked), enough})
	}
	for _, w := range warn {
		edges.After = append(edges.After, s.say(w.Say))
	}
	together := sheet.Block{Heading: "Putting it together", First: 10}
	for i, x := range plan.Assembly {
		together.Rows = append(together.Rows, []string{fmt.Sprint(i + 1), s.say(x)})
	}
	b = append(b, chart, where, hardware, edges, why, together)
	if st, ok := plan.Stands(in); ok {
		b = append(b, s.stands(st))
	}
	return s.list("Drill chart", b...), nil
}

// stands says what the joint should hold, and what that leaves out.
func (s Source) stands(st fastening.Stand) sheet.Block {
	out := sheet.Block{Heading: "What the strings ask of it, estimated", Head: []string{"Bolt", "Pull", "Should hold for good", "How many times over"}}
	for i, x := range st.Bolts {
		row := []string{fmt.Sprint(i + 1), x.Tension.String(), st.Hold.Lasting.String(), fmt.Sprintf("%.1f", x.Safety)}
		if st.Hold.Barred {
			row[2], row[3] = "not given", "not given"
		}
		out.Rows = append(out.Rows, row)
	}
	out.After = append(out.After, s.say(st.Hold.Say))
	var all []string
	for _, x := range st.Assumes {
		all = append(all, s.say(x))
	}
	out.After = append(out.After, strings.Join(all, " "))
	for _, w := range st.Warnings {
		if w.Code != "not_allowed" {
			out.After = append(out.After, s.say(w.Say))
		}
	}
	return out
}

func cutList(s Source) ([]*drawing.Sheet, error) {
	if s.Guitar.Start == guitar.FromReadings {
		return nil, NeedDesign()
	}
	parts, missing := bill.Parts(s.Design())
	if len(parts) == 0 {
		return nil, Need("Give the design more of its sizes first: nothing can be cut from it yet.")
	}
	sizes := sheet.Block{Heading: "Parts", Head: []string{"Part", "How many", "Rough in " + s.Style.Symbol() + ": long × wide × thick", "Finished, " + s.Style.Symbol()}, Right: []int{1}, Tick: true}
	took := sheet.Block{Heading: "Wood", Head: []string{"Part", "Litres", "Board feet"}, Right: []int{1, 2}, Strong: true,
		After: []string{"True volume of the rough sizes; a board foot is 144 cubic inches. A yard counts a board thinner than an inch as an inch, and knots, kerf and grain take more."}}
	from := sheet.Block{Heading: "How each size follows", First: 45}
	sum := 0.0
	for _, p := range parts {
		name := p.Name
		if p.Wood != "" {
			name += ", " + p.Wood
		}
		sizes.Rows = append(sizes.Rows, []string{name, fmt.Sprint(p.Count), s.roughSize(p.Rough), s.size(p.Finished)})
		took.Rows = append(took.Rows, []string{name, bill.Volume(p.Litres()), bill.Volume(p.BoardFeet())})
		from.Rows = append(from.Rows, []string{p.Name, p.From})
		sum += p.Volume()
	}
	took.Rows = append(took.Rows, []string{"Together", bill.Volume(sum / bill.Litre), bill.Volume(sum / bill.BoardFoot)})
	sizes.After = []string{s.say(bill.Allowed())}
	if len(missing) > 0 {
		sizes.After = append(sizes.After, "Not in the list, because the design does not give their sizes: "+strings.Join(missing, "; ")+".")
	}
	return s.list("Cut list", sheet.Block{Caution: true, Before: []string{guitar.CautionSand}}, sizes, took, from), nil
}

func toolList(s Source) ([]*drawing.Sheet, error) {
	var blocks []sheet.Block
	for _, t := range bill.Tools(s.Design()) {
		b := sheet.Block{Heading: t.Name, First: 32, Rows: [][]string{{"Tools", strings.Join(t.Tools, ", ")}}}
		if len(t.Consumables) > 0 {
			b.Rows = append(b.Rows, []string{"Consumables", strings.Join(t.Consumables, ", ")})
		}
		if t.Caution != "" {
			b.Rows = append(b.Rows, []string{"Take care", t.Caution})
		}
		blocks = append(blocks, b)
	}
	return s.list("Tools and consumables", blocks...), nil
}

func costList(s Source) ([]*drawing.Sheet, error) {
	got := bill.Cost(bill.Items(s.Design()), s.Shop.Prices)
	b := sheet.Block{Head: []string{"What", "How much", "Price", "Sum"}, Right: []int{3}, Strong: true}
	for _, l := range got.Lines {
		row := []string{l.Name, l.Quantity(s.Style), "no price yet", ""}
		if l.Priced {
			row[2], row[3] = nb(l.Price.In(s.Shop.Currency)), bill.Money(l.Cost, s.Shop.Currency)
		}
		b.Rows = append(b.Rows, row)
	}
	b.Rows = append(b.Rows, []string{"Together", "", "", bill.Money(got.Total, s.Shop.Currency)})
	if got.Without > 0 {
		b.After = append(b.After, fmt.Sprintf("%d of %d lines have no price yet, and are not in the sum. Prices are the shop's own: give them on its page.", got.Without, len(got.Lines)))
	}
	b.After = append(b.After, "Work, glue, abrasives and finish are not counted.")
	if _, missing := bill.Parts(s.Design()); len(missing) > 0 {
		b.After = append(b.After, "Not in the list, because the design does not give their sizes: "+strings.Join(missing, "; ")+".")
	}
	return s.list("Cost", b), nil
}

func benchCard(s Source) ([]*drawing.Sheet, error) {
	d, b := s.Design(), s.Bench
	t := b.Aim.Target
	if t == nil && !b.Aim.Known {
		return nil, Need("Read the lean once first: the figures of a repair follow from it.")
	}
	exact := func(l unit.Length) string { return nb(l.Exact(s.Style)) }
	block := func(heading string, rows ...[]string) sheet.Block {
		return sheet.Block{Heading: heading, Rows: rows, Big: true, First: 105}
	}
	neck := block("Neck set",
		[]string{"gap at the saddle, on the frets", exact(b.Aim.GapOnFrets)}, []string{"gap at the saddle, on the bare board", exact(b.Aim.GapOnBoard)},
		[]string{"close enough, either way", nb(d.Length("gap_tolerance").Fine(s.Style))}, []string{"line past the centre, at most", nb(d.Length("offset_tolerance").Fine(s.Style))},
		[]string{"body's edge to the saddle", exact(b.Aim.SaddleDistance)})
	blocks := []sheet.Block{neck}
	if t != nil {
		fromNut, _ := guitar.SaddleLine(d, t.NutToJoint)
		blocks[0].Rows = append(blocks[0].Rows, []string{"nut to the body's edge, before any cut", exact(t.NutToJoint)}, []string{"nut to the saddle line", exact(fromNut)}, []string{"neck angle", nb(t.NeckAngle.String())}, []string{"heel to board", nb(t.HeelToBoard().String())})
		if run := d.Length("jig_run"); run > 0 {
			blocks[0].Rows = append(blocks[0].Rows, []string{"jig rises over " + nb(run.In(s.Style)), exact(t.Jig(run))})
		}
		if p, in, _, err := guitar.PlanJoint(d, nil, b.Drills); err == nil {
			var at []string
			for _, z := range in.Depths {
				at = append(at, exact(z))
			}
			bolts := block("Bolts", []string{"centres from the top edge", strings.Join(at, "; ")})
			for _, h := range p.Holes {
				say := nb(h.Drill.Said())
				if h.Depth > 0 {
					say += ", stop " + s.len(h.Depth)
				} else {
					say += ", through"
				}
				bolts.Rows = append(bolts.Rows, []string{h.What + ", " + h.Part, say})
			}
			if p.Kind == fastening.KindHanger {
				bolts.Rows = append(bolts.Rows, []string{"wood thread left out", s.len(p.LeftOut)})
			}
			blocks = append(blocks, bolts)
		}
	}
	setup := block("Strung",
		[]string{"action at fret 12, bass and treble", nb(d.Length("action_bass").Fine(s.Style)) + "; " + nb(d.Length("action_treble").Fine(s.Style))})
	if t != nil {
		setup.Rows = append(setup.Rows, []string{"relief", nb(d.Length("relief").Fine(s.Style))}, []string{"string over the frets' line at the nut", nb(d.Length("nut_height").Fine(s.Style))}, []string{"bridge thickness; saddle over it", s.len(d.Length("bridge_thickness")) + "; " + s.len(d.Length("saddle_projection"))})
	}
	return s.list("Bench card", append(blocks, setup)...), nil
}

func record(s Source) ([]*drawing.Sheet, error) {
	g, b := s.Guitar, s.Bench
	designed := sheet.Block{Heading: "As designed", First: 110}
	if g.Start == guitar.FromReadings {
		designed.Heading = "As it came in"
	}
	for _, f := range g.Fields(guitar.StepDesign) {
		if strings.HasSuffix(f.Field, "_give") || !b.Design.Has(f.Field) {
			continue
		}
		var said []string
		for _, v := range b.Design[f.Field] {
			said = append(said, f.Write(v, s.Style))
		}
		designed.Rows = append(designed.Rows, []string{f.Label, strings.Join(said, "; ")})
	}
	aim := sheet.Block{Heading: "Aimed at", First: 110}
	if b.Aim.Known {
		aim.Rows = append(aim.Rows, []string{"gap at the saddle, on the frets", b.Aim.GapOnFrets.Exact(s.Style)}, []string{"body's edge to the saddle", b.Aim.SaddleDistance.Exact(s.Style)})
	}
	if t := b.Aim.Target; t != nil {
		aim.Rows = append(aim.Rows, []string{"neck angle", t.NeckAngle.String()})
	}
	readings := sheet.Block{Heading: "Readings", First: 16, Head: []string{"Entry", "Day", "What", "Reading", "Give or take"}}
	for _, r := range b.Readings {
		what, say := "gap at the saddle", r.Value.In(s.Style)
		if r.Step == guitar.StepPoint {
			what, say = "line past the centre", r.Value.Abs().In(s.Style)
			switch {
			case r.Value > 0:
				say += " treble"
			case r.Value < 0:
				say += " bass"
			}
		}
		readings.Rows = append(readings.Rows, []string{fmt.Sprint(r.Seq), r.At.UTC().Format("2006-01-02"), what, say, nb(r.SD.Fine(s.Style))})
	}
	cuts := sheet.Block{Heading: "Cuts", First: 16, Head: []string{"Entry", "Day", "Deepest planned", "Did", "Gap by", "Line by"}}
	for _, p := range b.Passes {
		did := "not read again yet"
		if p.Known {
			did = fmt.Sprintf("%.0f %% of it", p.Ratio*100)
		}
		cuts.Rows = append(cuts.Rows, []string{fmt.Sprint(p.Seq), p.At.UTC().Format("2006-01-02"), nb(p.Plan.Depth.Deepest().Fine(s.Style)), did, nb(p.Plan.GapChange.Fine(s.Style)), nb(p.Plan.OffsetChange.Fine(s.Style))})
	}
	if b.Shift != 0 {
		cuts.After = append(cuts.After, "All work together brought the nut nearer the bridge by "+b.Shift.Fine(s.Style)+".")
	}
	blocks := []sheet.Block{aim, readings, cuts}
	if got, err := g.SetupSheet(); err == nil && got.Now != nil {
		final := sheet.Block{Heading: "Set up", Head: []string{"Figure", "Wanted", "Before", "After"}, After: []string{"Before is the first reading of the strung guitar, after the last."}}
		for _, r := range got.Records {
			final.Rows = append(final.Rows, []string{r.Label, s.say(r.Wanted), s.say(r.Before), s.say(r.After)})
		}
		blocks = append(blocks, final)
	}
	notes := sheet.Block{Heading: "Notes", Head: []string{"Day", "Bench", "Note"}, First: 28}
	for _, e := range g.Live() {
		text := ""
		switch e.Step {
		case guitar.StepNote:
			text = e.Values.Choice("text")
		case guitar.StepSign:
			text = "signed off"
			if e.Values.Choice("accepted") == "no" {
				text = "not accepted"
			}
			if x := e.Values.Choice("remark"); x != "" {
				text += ": " + x
			}
		default:
			if text = e.Note(); text == "" {
				continue
			}
		}
		notes.Rows = append(notes.Rows, []string{e.At.UTC().Format("2006-01-02"), e.Bench, text})
	}
	blocks = append(blocks, notes, designed)
	var out []sheet.Block
	for _, x := range blocks {
		if len(x.Rows) > 0 {
			out = append(out, x)
		}
	}
	return s.list("Record", out...), nil
}
