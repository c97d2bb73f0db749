package web

import (
	"net/http"
	"net/url"
	"strconv"

	"fairset/craft/fretting"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// boardData is a guitar's fretboard laid out.
type boardData struct {
	layout
	ID    string
	Group string
	Known bool
	cannot
	Warnings   []string
	Plan       picture
	Facts      []fact
	Slots      table
	NutCare    unit.Text
	NutPicture picture
	NutSlots   table
	Clear      liveClear
}

// liveClear is what a played string leaves over the frets. It is also the part that is redrawn while a slider
// moves.
type liveClear struct {
	Sliders  []slider
	Ways     form
	Problems []string
	Do, Why  unit.Phrase
	Picture  picture
	Over     picture // the string with the least room
}

// boardPage serves GET /guitar/{id}/board; the query may move the sliders of its clearance.
func boardPage(in *request) error {
	v, err := in.design()
	if err != nil {
		return err
	}
	return in.render(http.StatusOK, "board", in.boardData(v))
}

func (in *request) boardData(v shop.View) boardData {
	design, style := v.Bench.Design, in.prefs.Units
	d := boardData{layout: in.guitarLayout("Board", "board", v), ID: v.Guitar.ID}
	d.Path = guitarURL(v.Guitar.ID) + "/board"
	if f := someFields(v.Guitar.Fields(guitar.StepDesign), "string_spacing", "board_radius_nut"); len(f) > 0 {
		d.Group = slug(f[0].Group)
	}
	got, err := guitar.BoardOf(design)
	if err != nil {
		d.cannot = in.missing("The board cannot be laid out yet.", err)
		return d
	}
	d.Known = true
	for _, w := range got.Warnings {
		d.Warnings = append(d.Warnings, in.say(w.Say))
	}
	l := got.Layout
	left := design.Choice("hand") == "left"
	d.Plan = both("plan-drawing", false, func(narrow bool) *drawing.Sheet {
		return sheet.BoardPlan(l, sheet.BoardPlanOptions{Style: style, Narrow: narrow, LeftHanded: left, Dots: guitar.Marks(design)})
	})
	radius := func(x unit.Length) string {
		if l.Surface.Flat() {
			return in.tell("flat‖a radius")
		}
		return l.Surface.Radius(x).In(style)
	}
	d.Facts = []fact{
		{Name: unit.Say("Board, nut to end"), Say: l.Length.Exact(style)},
		{Name: unit.Say("Width at the nut, and at the end"), Say: l.WidthAt(0).Fine(style) + ", " + l.WidthAt(l.Length).Fine(style)},
		{Name: unit.Say("Radius at the nut, and at the end"), Say: radius(0) + ", " + radius(l.Length)},
		{Name: unit.Say("Board outside the strings at the nut, bass and treble"), Say: l.NutMargin[0].Fine(style) + ", " + l.NutMargin[1].Fine(style)},
		{Name: unit.Say("The same at the last fret"), Say: l.EndMargin[0].Fine(style) + ", " + l.EndMargin[1].Fine(style)},
		{Name: unit.Say("Fret wire in all, and to buy with a tenth to spare"), Say: got.Wire.Total.In(style) + ", " + got.Wire.Buy.In(style)},
	}
	two := len(l.Slots) > 0 && (abs(float64(l.Slots[0].Angle)) > 1e-6 || abs(float64(l.Slots[len(l.Slots)-1].Angle)) > 1e-6)
	d.Slots = table{Name: "Frets, slots and wire", Head: in.heads("Fret", "From the nut", "Slot, edge to edge", "Wire to cut", "Slot below the face", "with a straight floor"), Short: true,
		Note: in.tell("Each distance is measured from the nut along the centreline. A straight floor is deepest under the middle of a curved face. Fret wire is cut with its overhang at both ends.")}
	if two {
		d.Slots.Head = append(d.Slots.Head, in.heads("Turned from square", "At the bass edge", "At the treble edge")...)
	}
	for i, s := range l.Slots {
		row := []string{strconv.Itoa(s.Fret), s.Centre.Exact(style), s.Line.Length().Fine(style), "–", "–", "–"}
		if i < len(got.Wire.Pieces) {
			row[3] = got.Wire.Pieces[i].Fine(style)
		}
		if i < len(got.Depths) {
			row[4], row[5] = got.Depths[i].Follow.Fine(style), got.Depths[i].Flat.Fine(style)
		}
		if two {
			row = append(row, in.tell("%+.2f°", s.Angle.Degrees()), s.Line.Bass.X.Exact(style), s.Line.Treble.X.Exact(style))
		}
		d.Slots.Rows = append(d.Slots.Rows, row)
	}
	d.NutCare = "File the last of each slot with its string slack, and check the height at the first fret before going deeper: a slot cut too low buzzes and must be filled or the nut replaced."
	names := got.Names
	d.NutPicture = both("nut-drawing", false, func(narrow bool) *drawing.Sheet {
		return sheet.NutSlots(sheet.NutInput{Layout: l, Slots: got.Nut, Crown: design.Length("fret_crown"), Names: names}, sheet.NutOptions{Style: style, Narrow: narrow, LeftHanded: left})
	})
	t := table{Name: "The nut's slots", Head: in.heads("String‖of the guitar", "From the bass edge", "Width", "Floor over the board", "Depth below the nut's top"), Short: true}
	for i, s := range got.Nut {
		name := strconv.Itoa(i + 1)
		if i < len(names) {
			name = names[i]
		}
		t.Rows = append(t.Rows, []string{name, s.FromBass.Fine(style), s.Width.Fine(style), s.Floor.Fine(style), s.Depth.Fine(style)})
	}
	d.NutSlots = t
	d.Clear = in.liveClear(design, got, in.URL.Query())
	return d
}

// boardClear serves GET /guitar/{id}/board/clear: the clearance alone, for the page's own script.
func boardClear(in *request) error {
	d, err := in.designOnly()
	if err != nil {
		return err
	}
	got, err := guitar.BoardOf(d)
	if err != nil {
		return in.render(http.StatusUnprocessableEntity, "board_part", liveClear{Problems: says(in.missing("", err))})
	}
	c := in.liveClear(d, got, in.URL.Query())
	c.Picture, c.Over = c.Picture.live(in.URL.Query()), c.Over.live(in.URL.Query())
	status := http.StatusOK
	if len(c.Problems) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return in.render(status, "board_part", c)
}

// ways a string is pulled, and whether a short string is played as hard.
var pluckWays = []guitar.Choice{{Key: "either", Name: unit.Say("either way")}, {Key: "toward", Name: unit.Say("toward the board")}, {Key: "from", Name: unit.Say("away from it")}}

// liveClear works out the clearance of every string with the sliders where the address puts them.
func (in *request) liveClear(d guitar.Values, got guitar.Board, q url.Values) liveClear {
	style := in.prefs.Units
	s := sliders{query: q, style: style}
	const mm = unit.MM
	was := guitar.PlayedAsDesigned(d)
	p := was
	p.Action12.Bass = s.add("bass", unit.Say("action at fret 12, bass"), was.Action12.Bass, 0.8*mm, 5*mm, 0.05*mm)
	p.Action12.Treble = s.add("treble", unit.Say("action at fret 12, treble"), was.Action12.Treble, 0.8*mm, 5*mm, 0.05*mm)
	p.Relief = s.add("hollow", unit.Say("relief"), was.Relief, -0.1*mm, 0.6*mm, 0.01*mm)
	nut := s.add("nut", unit.Say("string over the frets at the nut"), was.NutHeight.Bass, 0, 1.2*mm, 0.01*mm)
	p.NutHeight.Treble += nut - was.NutHeight.Bass
	p.NutHeight.Bass = nut
	p.Pluck.Pull = s.add("pull", unit.Say("pulled aside by"), was.Pluck.Pull, 0.2*mm, 5*mm, 0.1*mm)
	p.Pluck.At = s.add("at", unit.Say("played this far from the saddle"), was.Pluck.At, 20*mm, 300*mm, 5*mm)
	way := s.choose("way", "either", "either", "toward", "from")
	p.Pluck.Way = fretting.Way(way)
	if way == "either" {
		p.Pluck.Way = fretting.EitherWay
	}
	field := guitar.Field{Limit: unit.Limit{Field: "way", Label: unit.Say("pulled"), Kind: unit.KindChoice}, Required: true, Choices: pluckWays}
	out := liveClear{Sliders: s.list, Problems: s.problems, Ways: newForm([]guitar.Field{field}, guitar.Values{"way": {{Text: way}}}, nil, nil, style)}
	clear, err := got.Layout.Clear(p)
	if err != nil {
		out.Problems = append(out.Problems, says(in.missing("", err))...)
		return out
	}
	names := got.Names
	name := func(i int) any {
		if i < len(names) {
			return names[i]
		}
		return unit.Say("string %d", i+1)
	}
	buzzing, worst := 0, -1
	for i, c := range clear {
		if len(c.Margin) == 0 {
			continue
		}
		if c.Buzzes() {
			buzzing++
		}
		if worst < 0 || c.Least < clear[worst].Least {
			worst = i
		}
	}
	if worst < 0 {
		return out
	}
	w := clear[worst]
	which := unit.Say("%v open", name(w.String))
	if w.Stop > 0 {
		which = unit.Say("%v held at fret %d", name(w.String), w.Stop)
	}
	if buzzing == 0 {
		out.Do = unit.Say("Played like this, nothing buzzes. The closest is %v, which clears fret %d by %v.", which, w.Nearest, unit.FineLength(w.Least))
	} else {
		out.Do = unit.Plural(buzzing, "Played like this, %d note would buzz. The worst is %v: it would reach %v into fret %d.", "Played like this, %d notes would buzz. The worst is %v: it would reach %v into fret %d.",
			which, unit.FineLength(-w.Least), w.Nearest)
		out.Why = unit.Say("Higher action, a little more relief or a softer touch gives it room. A single high fret is not in these sums: level the frets first.")
	}
	left := d.Choice("hand") == "left"
	o := sheet.ClearanceOptions{Style: style, LeftHanded: left, Names: names}
	out.Picture = both("room", false, func(narrow bool) *drawing.Sheet { o.Narrow = narrow; return sheet.ClearanceMap(clear, o) })
	out.Over = both("over", false, func(narrow bool) *drawing.Sheet { o.Narrow = narrow; return sheet.ClearanceOver(got.Layout, w, o) })
	return out
}
