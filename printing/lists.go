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
func (s Source) list(title unit.Text, blocks ...sheet.Block) []*drawing.Sheet {
	return sheet.Pages(s.Head(), title.In(s.Style), s.Date, blocks...)
}

func (s Source) len(l unit.Length) string { return sheet.ListLength(l, s.Style) }

// say writes a sentence, or a few words, for the maker.
func (s Source) say(text unit.Text, args ...any) string { return s.Style.Say(text, args...) }

// heads are the words over the columns of a table.
func (s Source) heads(texts ...unit.Text) []string { return unit.Texts(texts).In(s.Style) }

// row is a line of a table: what it is, and what is said of it.
func (s Source) row(label unit.Text, say ...string) []string {
	return append([]string{s.say(label)}, say...)
}

// joined are things in a row with a mark between them.
func joined[T unit.Said](s Source, things []T, mark string) string {
	return strings.Join(unit.Each(things, s.Style), mark)
}

// size writes length by width by thickness, held on one line; the unit stands in the table's head.
func (s Source) size(v [3]unit.Length) string {
	return nb(fmt.Sprintf("%s × %s × %s", v[0].Number(s.Style), v[1].Number(s.Style), v[2].Number(s.Style)))
}

// roughSize is size with each figure taken up to a whole millimetre or a 16th of an inch: nobody saws finer.
func (s Source) roughSize(v [3]unit.Length) string {
	step := unit.Inch / 16
	if s.Style.Metric() {
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
	b := []sheet.Block{s.caution(guitar.CautionDrill)}
	chart := sheet.Block{Heading: s.say("Held by %v", plan.Kind.Name()), Head: s.heads("Hole", "In the‖part, over the holes drilled in it", "Drill", "Size", "Stop‖of a drill", "How many"), Right: []int{5}, Tick: true}
	why := sheet.Block{Heading: s.say("Why"), First: 55}
	for _, h := range holes {
		stop := s.say("through")
		if h.Depth > 0 {
			stop = s.say("%s from %v", s.len(h.Depth), h.From)
		}
		hole := s.say("%d. %v", h.Order, h.What)
		chart.Rows = append(chart.Rows, []string{hole, h.Part.In(s.Style), nb(h.Drill.In(s.Style)), nb(h.Drill.Diameter.Fine(s.Style)), stop, fmt.Sprint(h.Count)})
		why.Rows = append(why.Rows, []string{hole, h.Why.In(s.Style)})
	}
	chart.After = []string{s.say("In the order they are drilled. Stops count from the surface to the drill's shoulder, not its point.")}
	where := sheet.Block{Heading: s.say("Bolt centres"), Head: s.heads("Bolt", "From the top edge, on neck and body"), First: 20, After: []string{s.say("Measure both parts from the same top edge, all centres in one run of the rule.")}}
	for i, z := range in.Depths {
		where.Rows = append(where.Rows, []string{fmt.Sprint(i + 1), nb(z.Exact(s.Style))})
	}
	hardware := sheet.Block{Heading: s.say("Hardware"), First: 55, Rows: [][]string{s.row("Nut or head", plan.Nut.In(s.Style))}}
	if plan.Kind != fastening.KindScrew {
		hardware.Rows = append(hardware.Rows, s.row("Washer", s.say("%v, %s across", plan.Washer.Kind, nb(plan.Washer.Outer.Fine(s.Style)))))
	}
	if plan.HasBolt {
		hardware.Rows = append(hardware.Rows, s.row("Length", s.say("%s to %s", s.len(plan.Bolt[0]), s.len(plan.Bolt[1]))))
	} else {
		hardware.Rows = append(hardware.Rows, s.row("Length", s.say("give the wood the bolt passes in the body, and it is worked out")))
	}
	if plan.Kind == fastening.KindHanger {
		hardware.Rows = append(hardware.Rows, s.row("Left out of the heel", s.say("%s of wood thread", s.len(plan.LeftOut))))
	}
	edges := sheet.Block{Heading: s.say("Wood left round the holes"), Head: s.heads("From where to where", "Is", "At least", "Enough")}
	for _, x := range plan.Distances {
		enough := unit.Text("yes")
		if !x.Enough {
			enough = "no"
		}
		edges.Rows = append(edges.Rows, []string{x.What.In(s.Style), s.len(x.Is), s.len(x.Asked), s.say(enough)})
	}
	for _, w := range warn {
		edges.After = append(edges.After, w.Say.In(s.Style))
	}
	together := sheet.Block{Heading: s.say("Putting it together"), First: 10}
	for i, x := range plan.Assembly {
		together.Rows = append(together.Rows, []string{fmt.Sprint(i + 1), x.In(s.Style)})
	}
	b = append(b, chart, where, hardware, edges, why, together)
	if st, ok := plan.Stands(in); ok {
		b = append(b, s.stands(st))
	}
	return s.list("Drill chart", b...), nil
}

// caution is a frame with what to take care of.
func (s Source) caution(text unit.Text) sheet.Block {
	return sheet.Block{Caution: true, Before: []string{s.say(text)}}
}

// stands says what the joint should hold, and what that leaves out.
func (s Source) stands(st fastening.Stand) sheet.Block {
	out := sheet.Block{Heading: s.say("What the strings ask of it, estimated"), Head: s.heads("Bolt", "Pull", "Should hold for good", "How many times over")}
	for i, x := range st.Bolts {
		row := []string{fmt.Sprint(i + 1), x.Tension.In(s.Style), st.Hold.Lasting.In(s.Style), s.Style.Decimal(x.Safety, 1)}
		if st.Hold.Barred {
			row[2], row[3] = s.say("not given"), s.say("not given")
		}
		out.Rows = append(out.Rows, row)
	}
	out.After = append(out.After, st.Hold.Say.In(s.Style), joined(s, st.Assumes, " "))
	for _, w := range st.Warnings {
		if w.Code != "not_allowed" {
			out.After = append(out.After, w.Say.In(s.Style))
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
	sizes := sheet.Block{Heading: s.say("Parts"), Head: []string{s.say("Part"), s.say("How many"), s.say("Rough in %s: long × wide × thick", s.Style.Symbol()), s.say("Finished, %s", s.Style.Symbol())}, Right: []int{1}, Tick: true}
	took := sheet.Block{Heading: s.say("Wood"), Head: s.heads("Part", "Litres", "Board feet"), Right: []int{1, 2}, Strong: true,
		After: []string{s.say("True volume of the rough sizes; a board foot is 144 cubic inches. A yard counts a board thinner than an inch as an inch, and knots, kerf and grain take more.")}}
	from := sheet.Block{Heading: s.say("How each size follows"), First: 45}
	sum := 0.0
	for _, p := range parts {
		name := p.Name.In(s.Style)
		if p.Wood != "" {
			name = s.say("%s, %v", name, p.Wood)
		}
		sizes.Rows = append(sizes.Rows, []string{name, fmt.Sprint(p.Count), s.roughSize(p.Rough), s.size(p.Finished)})
		took.Rows = append(took.Rows, []string{name, bill.Volume(p.Litres(), s.Style), bill.Volume(p.BoardFeet(), s.Style)})
		from.Rows = append(from.Rows, []string{p.Name.In(s.Style), p.From.In(s.Style)})
		sum += p.Volume()
	}
	took.Rows = append(took.Rows, s.row("Together", bill.Volume(sum/bill.Litre, s.Style), bill.Volume(sum/bill.BoardFoot, s.Style)))
	sizes.After = append([]string{bill.Allowed().In(s.Style)}, s.unsized(missing)...)
	return s.list("Cut list", s.caution(guitar.CautionSand), sizes, took, from), nil
}

// unsized says what a list lacks.
func (s Source) unsized(missing []unit.Phrase) []string {
	if len(missing) == 0 {
		return nil
	}
	return []string{s.say("Not in the list, because the design does not give their sizes: %s.", joined(s, missing, "; "))}
}

func toolList(s Source) ([]*drawing.Sheet, error) {
	var blocks []sheet.Block
	for _, t := range bill.Tools(s.Design()) {
		b := sheet.Block{Heading: s.say(t.Name), First: 32, Rows: [][]string{s.row("Tools", joined(s, t.Tools, ", "))}}
		if len(t.Consumables) > 0 {
			b.Rows = append(b.Rows, s.row("Consumables", joined(s, t.Consumables, ", ")))
		}
		if !t.Caution.Empty() {
			b.Rows = append(b.Rows, s.row("Take care", t.Caution.In(s.Style)))
		}
		blocks = append(blocks, b)
	}
	return s.list("Tools and consumables", blocks...), nil
}

func costList(s Source) ([]*drawing.Sheet, error) {
	got := bill.Cost(bill.Items(s.Design()), s.Shop.Prices)
	b := sheet.Block{Head: s.heads("What", "How much", "Price", "Sum"), Right: []int{3}, Strong: true}
	for _, l := range got.Lines {
		row := []string{l.Name.In(s.Style), l.Quantity(s.Style), s.say("no price yet"), ""}
		if l.Priced {
			row[2], row[3] = nb(l.Price.In(s.Shop.Currency, s.Style)), bill.Money(l.Cost, s.Shop.Currency, s.Style)
		}
		b.Rows = append(b.Rows, row)
	}
	b.Rows = append(b.Rows, s.row("Together", "", "", bill.Money(got.Total, s.Shop.Currency, s.Style)))
	if got.Without > 0 {
		b.After = append(b.After, s.say("%d of %d lines have no price yet, and are not in the sum. Prices are the shop's own: give them on its page.", got.Without, len(got.Lines)))
	}
	_, missing := bill.Parts(s.Design())
	b.After = append(append(b.After, s.say("Work, glue, abrasives and finish are not counted.")), s.unsized(missing)...)
	return s.list("Cost", b), nil
}

func benchCard(s Source) ([]*drawing.Sheet, error) {
	d, b := s.Design(), s.Bench
	t := b.Aim.Target
	if t == nil && !b.Aim.Known {
		return nil, Need("Read the lean once first: the figures of a repair follow from it.")
	}
	exact := func(l unit.Length) string { return nb(l.Exact(s.Style)) }
	fine := func(key string) string { return nb(d.Length(key).Fine(s.Style)) }
	block := func(heading unit.Text, rows ...[]string) sheet.Block {
		return sheet.Block{Heading: s.say(heading), Rows: rows, Big: true, First: 105}
	}
	neck := block("Neck set",
		s.row("gap at the saddle, on the frets", exact(b.Aim.GapOnFrets)), s.row("gap at the saddle, on the bare board", exact(b.Aim.GapOnBoard)),
		s.row("close enough, either way", fine("gap_tolerance")), s.row("line past the centre, at most", fine("offset_tolerance")),
		s.row("body's edge to the saddle", exact(b.Aim.SaddleDistance)))
	blocks := []sheet.Block{neck}
	if t != nil {
		fromNut, _ := guitar.SaddleLine(d, t.NutToJoint)
		blocks[0].Rows = append(blocks[0].Rows, s.row("nut to the body's edge, before any cut", exact(t.NutToJoint)), s.row("nut to the saddle line", exact(fromNut)), s.row("neck angle", nb(t.NeckAngle.In(s.Style))), s.row("heel to board", nb(t.HeelToBoard().In(s.Style))))
		if run := d.Length("jig_run"); run > 0 {
			blocks[0].Rows = append(blocks[0].Rows, []string{s.say("jig rises over %s", nb(run.In(s.Style))), exact(t.Jig(run))})
		}
		if p, in, _, err := guitar.PlanJoint(d, nil, b.Drills); err == nil {
			var at []string
			for _, z := range in.Depths {
				at = append(at, exact(z))
			}
			bolts := block("Bolts", s.row("centres from the top edge", strings.Join(at, "; ")))
			for _, h := range p.Holes {
				say := s.say("%s, through", nb(h.Drill.In(s.Style)))
				if h.Depth > 0 {
					say = s.say("%s, stop %s", nb(h.Drill.In(s.Style)), s.len(h.Depth))
				}
				part := unit.Text("%v, neck")
				if h.Part == "body" {
					part = "%v, body"
				}
				bolts.Rows = append(bolts.Rows, []string{s.say(part, h.What), say})
			}
			if p.Kind == fastening.KindHanger {
				bolts.Rows = append(bolts.Rows, s.row("wood thread left out", s.len(p.LeftOut)))
			}
			blocks = append(blocks, bolts)
		}
	}
	setup := block("Strung", s.row("action at fret 12, bass and treble", fine("action_bass")+"; "+fine("action_treble")))
	if t != nil {
		setup.Rows = append(setup.Rows, s.row("relief", fine("relief")), s.row("string over the frets' line at the nut", fine("nut_height")), s.row("bridge thickness; saddle over it", s.len(d.Length("bridge_thickness"))+"; "+s.len(d.Length("saddle_projection"))))
	}
	return s.list("Bench card", append(blocks, setup)...), nil
}

func record(s Source) ([]*drawing.Sheet, error) {
	g, b := s.Guitar, s.Bench
	designed := sheet.Block{Heading: s.say("As designed"), First: 110}
	if g.Start == guitar.FromReadings {
		designed.Heading = s.say("As it came in")
	}
	for _, f := range g.Fields(guitar.StepDesign) {
		if strings.HasSuffix(f.Field, "_give") || !b.Design.Has(f.Field) {
			continue
		}
		var said []string
		for _, v := range b.Design[f.Field] {
			said = append(said, f.Write(v, s.Style))
		}
		designed.Rows = append(designed.Rows, []string{f.Label.In(s.Style), strings.Join(said, "; ")})
	}
	aim := sheet.Block{Heading: s.say("Aimed at"), First: 110}
	if b.Aim.Known {
		aim.Rows = append(aim.Rows, s.row("gap at the saddle, on the frets", b.Aim.GapOnFrets.Exact(s.Style)), s.row("body's edge to the saddle", b.Aim.SaddleDistance.Exact(s.Style)))
	}
	if t := b.Aim.Target; t != nil {
		aim.Rows = append(aim.Rows, s.row("neck angle", t.NeckAngle.In(s.Style)))
	}
	readings := sheet.Block{Heading: s.say("Readings"), First: 16, Head: s.heads("Entry", "Day", "What", "Reading", "Give or take")}
	for _, r := range b.Readings {
		what, say := s.say("gap at the saddle"), r.Value.In(s.Style)
		if r.Step == guitar.StepPoint {
			what, say = s.say("line past the centre"), r.Value.Abs().In(s.Style)
			switch {
			case r.Value > 0:
				say = s.say("%s treble", say)
			case r.Value < 0:
				say = s.say("%s bass", say)
			}
		}
		readings.Rows = append(readings.Rows, []string{fmt.Sprint(r.Seq), r.At.UTC().Format("2006-01-02"), what, say, nb(r.SD.Fine(s.Style))})
	}
	cuts := sheet.Block{Heading: s.say("Cuts"), First: 16, Head: s.heads("Entry", "Day", "Deepest planned", "Did", "Gap by", "Line by")}
	for _, p := range b.Passes {
		did := s.say("not read again yet")
		if p.Known {
			did = s.say("%.0f %% of it", p.Ratio*100)
		}
		cuts.Rows = append(cuts.Rows, []string{fmt.Sprint(p.Seq), p.At.UTC().Format("2006-01-02"), nb(p.Plan.Depth.Deepest().Fine(s.Style)), did, nb(p.Plan.GapChange.Fine(s.Style)), nb(p.Plan.OffsetChange.Fine(s.Style))})
	}
	if b.Shift != 0 {
		cuts.After = append(cuts.After, s.say("All work together brought the nut nearer the bridge by %v.", unit.FineLength(b.Shift)))
	}
	blocks := []sheet.Block{aim, readings, cuts}
	if got, err := g.SetupSheet(); err == nil && got.Now != nil {
		final := sheet.Block{Heading: s.say("Set up‖of a strung guitar, heading"), Head: s.heads("Figure", "Wanted", "Before", "After"), After: []string{s.say("Before is the first reading of the strung guitar, after the last.")}}
		for _, r := range got.Records {
			final.Rows = append(final.Rows, []string{r.Label.In(s.Style), r.Wanted.In(s.Style), r.Before.In(s.Style), r.After.In(s.Style)})
		}
		blocks = append(blocks, final)
	}
	notes := sheet.Block{Heading: s.say("Notes"), Head: s.heads("Day", "Bench", "Note"), First: 28}
	for _, e := range g.Live() {
		text := ""
		switch e.Step {
		case guitar.StepNote:
			text = e.Values.Choice("text")
		case guitar.StepSign:
			text = s.say("signed off")
			if e.Values.Choice("accepted") == "no" {
				text = s.say("not accepted")
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
