package printing

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/drawing/tile"
	"fairset/unit"
)

// checkBars are the bars a maker may measure, by the key of the choice. Every full-size sheet carries both.
var checkBars = map[string]unit.Length{"100mm": 100 * unit.MM, "4in": 4 * unit.Inch}

// checkLimit holds what either bar may measure; ParseSetup is stricter, since it knows which.
var checkLimit = unit.Limit{Min: float64(97 * unit.MM), Max: 1.03 * float64(4*unit.Inch)}

// Fields are what a maker can say of how sheets are drawn and put on paper, in the order of a form. None is required.
func Fields() []guitar.Field {
	return []guitar.Field{
		{Limit: unit.Limit{Field: "paper", Label: unit.Say("paper"), Kind: unit.KindChoice}, Choices: papers(),
			Help: unit.Say("A drawing larger than the paper is cut into pages, to be joined by their marks.")},
		{Limit: unit.Limit{Field: "orientation", Label: unit.Say("paper lies"), Kind: unit.KindChoice},
			Choices: []guitar.Choice{{Key: string(tile.Upright), Name: unit.Say("upright")}, {Key: string(tile.OnItsSide), Name: unit.Say("on its side")}}, Help: unit.Say("When not given, whichever way takes fewer pages.")},
		lengthField("margin", "edge the printer leaves blank", tile.MarginLimit, "6 mm when left empty."),
		lengthField("overlap", "pages overlap by", tile.OverlapLimit, "The strip that neighbouring pages share, to join them on. 15 mm when left empty."),
		{Limit: unit.Limit{Field: "check_bar", Label: unit.Say("check bar you measured"), Kind: unit.KindChoice},
			Choices: []guitar.Choice{{Key: "100mm", Name: unit.Plain("100 mm")}, {Key: "4in", Name: unit.Plain("4 in")}}, Help: unit.Say("For a printer that draws too long or too short. When not given, the one in your units.")},
		lengthField("check_x", "that bar across the page measures", checkLimit, "On a page printed at 100 % without correction. Empty when it is right."),
		lengthField("check_y", "that bar up the page measures", checkLimit, "The bar that stands upright, on the same page."),
		lengthField("jig_length", "length of the jig", unit.Limit{Min: float64(50 * unit.MM), Max: float64(1000 * unit.MM)}, "For the jig of the neck's angle; the design's own when left empty."),
		{Limit: unit.Limit{Field: "dpi", Label: unit.Say("dots to the inch"), Kind: unit.KindCount, Min: 50, Max: 600}, Help: unit.Say("Of a picture (PNG). 150 when left empty.")},
	}
}

func lengthField(key string, label unit.Text, l unit.Limit, help unit.Text) guitar.Field {
	return guitar.Field{Limit: unit.Limit{Field: key, Label: unit.Say(label), Kind: unit.KindLength, Min: l.Min, Max: l.Max}, Help: unit.Say(help)}
}

func papers() []guitar.Choice {
	names := map[tile.Paper]unit.Phrase{tile.Full: unit.Say("as large as the drawing"), tile.Letter: unit.Plain("Letter"), tile.A4: unit.Plain("A4"), tile.A3: unit.Plain("A3"), tile.Tabloid: unit.Plain("Tabloid")}
	var out []guitar.Choice
	for _, p := range tile.Papers() {
		out = append(out, guitar.Choice{Key: string(p), Name: names[p]})
	}
	return out
}

// Setup is how sheets are put on paper. The zero value is each drawing whole, on paper of its own size.
type Setup struct {
	Tile tile.Options
	DPI  float64 // of a picture; 0 for 150
}

// ParseSetup reads the answers of Fields, a bare length in a maker's units. Errors are guitar.Problems.
func ParseSetup(texts map[string][]string, style unit.Style) (Setup, Options, error) {
	small := maps.Clone(texts) // A4 is a4
	for _, key := range []string{"paper", "orientation", "check_bar"} {
		if t := texts[key]; len(t) == 1 {
			small[key] = []string{strings.ToLower(t[0])}
		}
	}
	v, err := guitar.Parse(Fields(), small, style)
	if err != nil {
		return Setup{}, Options{}, err
	}
	s := Setup{DPI: float64(v.Count("dpi")), Tile: tile.Options{Paper: tile.Paper(v.Choice("paper")), Turn: tile.Turn(v.Choice("orientation")), Margin: v.Length("margin"), Overlap: v.Length("overlap")}}
	name := v.Choice("check_bar")
	if name == "" {
		name = "4in"
		if style.Metric() {
			name = "100mm"
		}
	}
	bar := checkBars[name]
	share := float64(bar / tile.CheckBar)
	var problems guitar.Problems
	for _, c := range []struct {
		key   string
		limit unit.Limit
		to    *unit.Length
	}{{"check_x", tile.MeasuredXLimit, &s.Tile.MeasuredX}, {"check_y", tile.MeasuredYLimit, &s.Tile.MeasuredY}} {
		if !v.Has(c.key) {
			continue
		}
		fields := Fields()
		l := fields[slices.IndexFunc(fields, func(f guitar.Field) bool { return f.Field == c.key })].Limit
		l.Min, l.Max = c.limit.Min*share, c.limit.Max*share
		if l.Check(float64(v.Length(c.key))) != nil {
			problems = append(problems, &unit.RangeError{Limit: l, Got: v[c.key][0].Text, Value: float64(v.Length(c.key)),
				Why: unit.Say("a bar of %s that is so far off was fitted to the paper: print at 100 %% and measure again", bar.Edit(style))})
			continue
		}
		*c.to = v.Length(c.key) / unit.Length(share)
	}
	if len(problems) > 0 {
		return Setup{}, Options{}, problems
	}
	return s, Options{JigLength: v.Length("jig_length")}, nil
}

// Plan is one entry as it will be printed.
type Plan struct {
	Pages []drawing.Page
	// Pictures show every drawing whole, with the edges of its pages where it is cut into several.
	Pictures []*drawing.Sheet
}

// Plan draws an entry and lays it out for a format. DXF is always whole.
func (s Setup) Plan(e Entry, from Source, f Format) (Plan, error) {
	sheets, err := e.Sheets(from)
	if err != nil {
		return Plan{}, err
	}
	var p Plan
	o := s.Tile
	o.Style = from.Style
	for _, d := range sheets {
		if f == DXF {
			p.Pages, p.Pictures = append(p.Pages, d.Page()), append(p.Pictures, d)
			continue
		}
		t, err := tile.New(d, o)
		if err != nil {
			return Plan{}, unit.Wrong("%v: %v", e.Title, err)
		}
		p.Pages, p.Pictures = append(p.Pages, t.Pages()...), append(p.Pictures, picture(t, from.Style))
	}
	return p, nil
}

// picture is a drawing with the edges of its pages over it.
func picture(t tile.Plan, s unit.Style) *drawing.Sheet {
	if !t.Mapped() {
		return t.Sheet
	}
	p := *t.Sheet
	p.Items = slices.Clip(p.Items)
	size := max(p.Width, p.Height) // weights and letters as large as the drawing, to be seen on a screen
	for _, x := range t.Tiles {
		w := t.Shown(x)
		words := x.Name
		if x.Blank {
			words = s.Say("no page")
		}
		p.Add(drawing.Item{Layer: drawing.LayerDatum, Name: "page-edge", Pen: drawing.Pen{Tone: drawing.Goal, Weight: size / 500, Dash: []unit.Length{}},
			Shape: drawing.Polyline{Closed: true, Points: []drawing.Point{{X: w.Left, Y: w.Bottom}, {X: w.Right, Y: w.Bottom}, {X: w.Right, Y: w.Top}, {X: w.Left, Y: w.Top}}}},
			drawing.Item{Layer: drawing.LayerNote, Name: "page-name", Fill: drawing.Goal,
				Shape: drawing.Text{At: drawing.Point{X: w.Left + size/150, Y: w.Top - size/40}, Size: size / 50, Bold: true, Halo: drawing.Paper, String: words}})
	}
	return &p
}

// Say says the setup to a maker in a few words: "A4, on its side, printer corrected".
func (s Setup) Say(style unit.Style) string {
	out := []string{style.Say("each drawing whole, on paper of its own size")}
	for _, c := range papers() {
		if c.Key == string(s.Tile.Paper) && s.Tile.Paper != tile.Full {
			out = []string{c.Name.In(style)}
			switch s.Tile.Turn {
			case tile.Upright:
				out = append(out, style.Say("upright"))
			case tile.OnItsSide:
				out = append(out, style.Say("on its side"))
			}
		}
	}
	if s.Tile.MeasuredX != 0 || s.Tile.MeasuredY != 0 {
		out = append(out, style.Say("printer corrected"))
	}
	return strings.Join(out, ", ")
}

func choice[T ~string](field string, label unit.Text, got string, why unit.Text, of []T) error {
	e := &unit.RangeError{Limit: unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindChoice}, Got: fmt.Sprintf("%q", got), Why: unit.Say(why)}
	for _, x := range of {
		e.Choices = append(e.Choices, string(x))
	}
	return e
}
