package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"fairset/craft/body"
	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/internal/shop"
	"fairset/sheet"
	"fairset/unit"
)

// topPage is a guitar's top under its strings: what it does, how it rings, what a brace moved would change.
type topPage struct {
	layout
	ID       string
	Revision int64
	cannot
	Known bool // the figures are there; else they are asked for
	Part  topPart
	Form  braceForm
	Used  bool // the target goes by the rise worked out
	Rise  string
	Try   string // address of the part, with its query
	Whole string // address of this page with the figures worked out, for browsers without script
	Tap   tapView
}

// topPart is what is renewed while a brace is moved.
type topPart struct {
	Problems  []string
	Do        unit.Phrase
	Why       []unit.Phrase
	Line      string // the figures that matter most, beside the sliders
	Doubts    []string
	Taken     []string // what stands in for what no table gives
	Pictures  []topPicture
	Figures   table
	Sliders   []slider
	Modes     []modeView
	ModeTable table
	Air       unit.Phrase
	Braces    table
	Quick     bool // the modes are still to come
}

type topPicture struct {
	Title   string
	Picture picture
}

// modeView is one way the top rings.
type modeView struct {
	N        int
	Title    string
	Name     string
	Above    figure
	Up, Down figure
	Net      string // the net as JSON, for the page's own script
}

// braceForm moves one brace.
type braceForm struct {
	Brace   int // from 1; 0 for none
	Braces  []option
	Sliders []slider
	Moved   bool
	Others  []option // guitars to set beside this one
	Other   string
}

// topAsked is what an address asks of the page.
type topAsked struct {
	design guitar.Values
	now    body.Soundboard // as the design has it
	brace  int             // from 1
	tried  guitar.Values   // nil when nothing is moved
	moved  body.Brace
	form   braceForm
	other  *shop.View
	bad    []string
}

// topHeights is how many of a brace's heights have their own slider.
const topHeights = 6

// slide is how far a slider moves a brace's end either way.
const slide = 50 * unit.MM

func (in *request) topAsked(v shop.View, q url.Values) (topAsked, error) {
	a := topAsked{design: v.Bench.Design}
	var err error
	if a.now, _, err = guitar.Body(a.design); err != nil {
		return a, err
	}
	a.brace, _ = strconv.Atoi(q.Get("brace"))
	if a.brace < 1 || a.brace > len(a.now.Braces) {
		a.brace = 0
	}
	for i, b := range a.now.Braces {
		a.form.Braces = append(a.form.Braces, option{Key: strconv.Itoa(i + 1), Name: in.say(body.Called(b.Name)), On: i+1 == a.brace})
	}
	a.form.Brace = a.brace
	if a.brace > 0 {
		in.moveBrace(&a, q)
	}
	others, err := in.srv.shop.WithTops(in.Context(), v.Guitar.ID)
	if err != nil {
		return a, err
	}
	for _, o := range others {
		a.form.Others = append(a.form.Others, option{Key: o.ID, Name: o.Name, On: o.ID == q.Get("other")})
	}
	if id := q.Get("other"); id != "" {
		o, err := in.srv.shop.Guitar(in.Context(), id)
		switch {
		case err != nil:
			a.bad = append(a.bad, shop.SentenceIn(err, in.prefs.Units))
		case o.Guitar.Start == guitar.FromReadings || !guitar.HasBody(o.Bench.Design):
			a.bad = append(a.bad, in.tell("%s has no body in its design to set beside this one.", o.Guitar.Name))
		default:
			a.other, a.form.Other = &o, id
		}
	}
	return a, nil
}

// moveBrace reads the sliders of the chosen brace.
func (in *request) moveBrace(a *topAsked, q url.Values) {
	const mm = unit.MM
	b := a.now.Braces[a.brace-1]
	long := a.now.Outline.Length()
	widest, _ := a.now.Outline.Widest()
	if q.Get("was") != q.Get("brace") { // another brace was chosen: its sliders stand where it stands
		q = url.Values{}
	}
	s := sliders{query: q, style: in.prefs.Units}
	near := func(key string, label unit.Phrase, now, lo, hi unit.Length) unit.Length {
		return s.add(key, label, now, max(lo, now-slide), min(hi, now+slide), 0.5*mm)
	}
	one, two := ends(b)
	along := func(e end) unit.Phrase { return unit.Say("%v, from the tail", e.name) }
	across := func(e end) unit.Phrase {
		return unit.Say("%v, from the centreline, + to the bass side", e.name)
	}
	b.From.X = near("fx", along(one), b.From.X, 0, long)
	b.From.Y = near("fy", across(one), b.From.Y, -widest/2, widest/2)
	b.To.X = near("tx", along(two), b.To.X, 0, long)
	b.To.Y = near("ty", across(two), b.To.Y, -widest/2, widest/2)
	b.Width = s.add("w", unit.Say("width"), b.Width, max(1*mm, b.Width-6*mm), b.Width+6*mm, 0.25*mm)
	heights := append([]body.Height(nil), b.Heights...)
	if len(heights) <= topHeights {
		for i := range heights {
			where := unit.Say("height at %.0f %% of its length", heights[i].At*100)
			switch i {
			case 0:
				where = unit.Say(one.height)
			case len(heights) - 1:
				where = unit.Say(two.height)
			}
			h := heights[i].Height
			heights[i].Height = s.add("h"+strconv.Itoa(i), where, h, max(0.5*mm, h-12*mm), h+12*mm, 0.25*mm)
		}
	} else {
		tall := b.Tallest()
		k := s.add("h", unit.Say("height at its tallest; the others follow"), tall, max(0.5*mm, tall-12*mm), tall+12*mm, 0.25*mm) / tall
		for i := range heights {
			heights[i].Height *= k
		}
	}
	b.Heights = heights
	a.form.Sliders, a.bad = s.list, append(a.bad, s.problems...)
	if !s.moved || len(s.problems) > 0 {
		return
	}
	tried, err := guitar.WithBrace(a.design, b)
	if err != nil {
		a.bad = append(a.bad, says(in.missing("", err))...)
		return
	}
	a.tried, a.moved, a.form.Moved = tried, b, true
}

// end is what one end of a brace is called, and its height.
type end struct{ name, height unit.Text }

// ends names a brace's two ends by where they lie.
func ends(b body.Brace) (from, to end) {
	tail, neck := end{"Tail end", "height at tail end"}, end{"Neck end", "height at neck end"}
	bass, treble := end{"Bass end", "height at bass end"}, end{"Treble end", "height at treble end"}
	dx, dy := b.To.X-b.From.X, b.To.Y-b.From.Y
	switch {
	case dx.Abs() >= dy.Abs() && dx >= 0:
		return tail, neck
	case dx.Abs() >= dy.Abs():
		return neck, tail
	case dy >= 0:
		return treble, bass
	}
	return bass, treble
}

// topGet serves GET /guitar/{id}/top. What is known is shown at once; else the page's own script asks for it, and without script the maker does.
func topGet(in *request) error {
	v, err := in.design()
	if err != nil {
		return err
	}
	q := in.URL.Query()
	p := topPage{layout: in.guitarLayout("Top", "top", v), ID: v.Guitar.ID, Revision: v.Revision}
	p.Path = guitarURL(v.Guitar.ID) + "/top"
	p.Tap = in.tapView(v)
	a, err := in.topAsked(v, q)
	if err != nil {
		p.cannot = in.missing("What the strings do to the top cannot be worked out yet.", err)
		return in.render(http.StatusOK, "top", p)
	}
	p.Form = a.form
	p.Used = a.design.Choice("top_rise_from") == guitar.FromTop
	whole := q.Get("whole") != "" || a.form.Moved || a.other != nil
	if !whole {
		_, whole = in.srv.shop.TopKept(a.design, guitar.TopModes)
	}
	if whole {
		part, err := in.topPart(in.Context(), v, a, guitar.TopModes, nil)
		if err != nil {
			p.cannot = in.missing("What the strings do to the top cannot be worked out yet.", err)
			return in.render(http.StatusOK, "top", p)
		}
		p.Known, p.Part = true, part
	}
	p.Part.Problems = a.bad
	q.Set("whole", "yes")
	p.Whole = p.Path + "?" + q.Encode()
	return in.render(http.StatusOK, "top", p)
}

// topTry serves GET /guitar/{id}/top/try for the page's own script. While it is worked out come lines with the share that is done; then, each after a
// line of three dashes, the parts of the page to renew, the modes left out if only a quick look was asked for. When the browser goes away
// the sums stop.
func topTry(in *request) error {
	v, err := in.design()
	if err != nil {
		return err
	}
	q := in.URL.Query()
	h := in.w.Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("X-Accel-Buffering", "no")
	flush := http.NewResponseController(in.w)
	said := -1.0
	progress := func(share float64) {
		if share < said || share-said >= 0.05 {
			said = share
			fmt.Fprintf(in.w, "%.2f\n", share)
			_ = flush.Flush()
		}
	}
	progress(0)
	part := topPart{}
	modes := guitar.TopModes
	quick := q.Get("quick") != ""
	if quick {
		modes = 0
	}
	a, err := in.topAsked(v, q)
	if err == nil {
		part, err = in.topPart(in.Context(), v, a, modes, progress)
	}
	switch {
	case errors.Is(err, context.Canceled):
		return nil
	case err != nil:
		part.Problems = says(in.missing("", err))
	default:
		part.Problems = a.bad
	}
	part.Quick, part.Sliders = quick, a.form.Sliders
	var b bytes.Buffer
	names := []string{"top_line_part", "top_part", "figures_part", "modes_part"}
	if quick {
		names = names[:3]
	}
	for _, name := range names {
		b.WriteString("---\n")
		if err := in.srv.views[name].execute(&b, in.prefs.Units, part); err != nil {
			return fmt.Errorf("make page %q: %w", name, err)
		}
		b.WriteString("\n")
	}
	_, _ = b.WriteTo(in.w)
	return nil
}

// topForm reads a form of the top's page: the guitar, and the revision the page was drawn from.
func (in *request) topForm() (v shop.View, revision int64, err error) {
	if v, err = in.design(); err != nil {
		return v, 0, err
	}
	if err = in.ParseForm(); err != nil {
		return v, 0, err
	}
	revision, _, err = in.standing()
	return v, revision, err
}

// topSave serves POST /guitar/{id}/top: keeps the brace that is tried, or says what the target goes by.
func topSave(in *request) error {
	v, revision, err := in.topForm()
	if err != nil {
		return err
	}
	here := guitarURL(v.Guitar.ID) + "/top"
	const stale = "Another bench changed this guitar meanwhile, so nothing was kept. Look again, and keep it if it still holds."
	if v.Revision != revision {
		if in.PostForm.Get("do") == "keep" {
			here += "?" + tryQuery(in.PostForm).Encode()
		}
		return in.back(here, stale)
	}
	texts := map[string][]string{}
	notice := unit.Phrase{}
	switch do := in.PostForm.Get("do"); do {
	case "keep":
		a, err := in.topAsked(v, in.PostForm)
		if err != nil {
			return err
		}
		if len(a.bad) > 0 {
			return refuse(http.StatusUnprocessableEntity, "%s", strings.Join(a.bad, " "))
		}
		if a.tried == nil {
			return in.back(here, "Nothing was moved, so nothing was kept.")
		}
		texts["brace_list"] = []string{a.tried.Choice("brace_list")}
		notice = unit.Say("%v is now kept in the design as you moved it.", unit.Upper{Words: body.Called(a.moved.Name)})
	case guitar.FromTop, guitar.FromTyped:
		texts["top_rise_from"] = []string{do}
		notice = unit.Say("The target gap now goes by the rise that is typed.")
		if do == guitar.FromTop {
			notice = unit.Say("The target gap now goes by the rise worked out here.")
		}
	default:
		return refuse(http.StatusUnprocessableEntity, "Say what to keep: the brace as moved, or what the target goes by.")
	}
	_, err = in.srv.shop.Change(in.Context(), v.Guitar.ID, revision, texts, in.prefs.Units, in.prefs.Bench)
	switch {
	case err == nil:
		return in.back(here, "%v", notice)
	case shop.Status(err) == http.StatusConflict:
		return in.back(here, stale)
	}
	return err
}

// tryQuery is the address of a brace as it was moved.
func tryQuery(form url.Values) url.Values {
	q := url.Values{}
	for k, v := range form {
		switch k {
		case "revision", "seen", "do", "units":
		default:
			q[k] = v
		}
	}
	return q
}

// column is one design beside others.
type column struct {
	name   string
	design guitar.Values
	marked int
	is     guitar.TopStudy
}

// topPart works out the design as it is, as tried, and another guitar's, as far as they are asked for.
func (in *request) topPart(ctx context.Context, v shop.View, a topAsked, modes int, progress func(float64)) (topPart, error) {
	style := in.prefs.Units
	cols := []column{{name: in.tell("As it is"), design: a.design, marked: a.brace}}
	if a.tried != nil {
		cols = append(cols, column{name: in.tell("Tried‖a moved brace"), design: a.tried, marked: a.brace})
	}
	if a.other != nil {
		cols = append(cols, column{name: a.other.Guitar.Name, design: a.other.Bench.Design})
	}
	for i := range cols {
		// What a quick look leaves out was worked out with the page, for the design as it is.
		got, err := in.srv.shop.TopOf(ctx, cols[i].design, modes, func(share float64) {
			if progress != nil {
				progress((float64(i) + share) / float64(len(cols)))
			}
		})
		if err != nil {
			return topPart{}, err
		}
		cols[i].is = got
	}
	var p topPart
	now := cols[0].is
	show := now
	if a.tried != nil {
		show = cols[1].is
	}
	p.Do = unit.Say("The strings tip the bridge by %v and lift the saddle by %v.", show.Tilt, unit.FineLength(show.SaddleRise))
	if a.tried != nil {
		p.Do = unit.Say("With %v moved, the strings tip the bridge by %v and lift the saddle by %v.", body.Called(a.moved.Name), show.Tilt, unit.FineLength(show.SaddleRise))
	}
	if show.GapKnown {
		p.Why = append(p.Why, unit.Say("That makes the gap to set on the frets %v.", unit.FineLength(show.Gap)))
		if a.tried != nil && now.GapKnown {
			p.Why = append(p.Why, unit.Say("As the design stands it is %v.", unit.FineLength(now.Gap)))
		}
		if !show.UsedInAim {
			p.Why = append(p.Why, unit.Say("The target still goes by the typed rise of %v: a gap of %v.", unit.FineLength(show.HeldTyped), unit.FineLength(show.GapAsTyped)))
		}
	}
	for _, w := range show.Warnings {
		if w.Code == "borrowed_ratio" {
			p.Taken = append(p.Taken, in.say(w.Say))
			continue
		}
		p.Doubts = append(p.Doubts, in.say(w.Say))
	}
	p.Line = in.tell("Bridge tips %v, saddle rises %v, %v for 1° and 100\u00a0g.", show.Tilt, unit.FineLength(show.SaddleRise), perWeight(show))
	if show.GapKnown {
		p.Line = in.tell("Bridge tips %v, saddle rises %v, %v for 1° and 100\u00a0g, gap %v.", show.Tilt, unit.FineLength(show.SaddleRise), perWeight(show), unit.FineLength(show.Gap))
	}
	left := func(c column) bool { return c.design.Choice("hand") == "left" }
	var shapes []sheet.TopShape
	for _, c := range cols {
		shapes = append(shapes, shapeOf(c.is.Deflection))
	}
	step := sheet.TopStep(style, shapes...)
	for i, c := range cols {
		title := ""
		if len(cols) > 1 {
			title = c.name
		}
		p.Pictures = append(p.Pictures, topPicture{title, both("top-"+strconv.Itoa(i), false, func(narrow bool) *drawing.Sheet {
			return sheet.TopDeflection(c.is.Body, shapes[i], sheet.TopOptions{Style: style, Narrow: narrow || len(cols) > 1, LeftHanded: left(c), Step: step, Marked: c.marked})
		})})
	}
	p.Figures = topFigures(cols, style)
	p.braceTable(cols, style)
	if modes > 0 {
		in.modes(&p, cols, show, left(cols[0]))
	}
	return p, nil
}

func shapeOf(t guitar.TopShape) sheet.TopShape { return sheet.TopShape(t) }

// perDegree writes a stiffness against tipping; perWeight the same for each 100 g of top.
func perDegree(s guitar.TopStudy) unit.Phrase { return unit.Say("%.2f N·m", s.Stiffness) }

func perWeight(s guitar.TopStudy) unit.Phrase {
	return unit.Say("%.2f N·m", s.Stiffness/(float64(s.Mass)*10))
}

func grams(m unit.Mass, style unit.Style) string {
	g := style.Decimal(float64(m)*1000, 0) + " g"
	if style.Metric() {
		return g
	}
	return style.Decimal(float64(m)*1000/28.349523125, 1) + " oz (" + g + ")"
}

// topFigures sets designs side by side. The last columns are changes against the first.
func topFigures(cols []column, style unit.Style) table {
	t := table{Name: "In numbers", Head: []string{style.Say("Figure")}, Short: true,
		Note: style.Say("Estimates: wood of one kind differs by a fifth from board to board, so take each figure as good to about a fifth (the saddle's rise is a small difference of large ones, and less sure); differences between two layouts of the same wood are surer. Slow creep over months is not in them. The lines of the picture are within 3 % of the figures.")}
	for _, c := range cols {
		t.Head = append(t.Head, c.name)
	}
	row := func(name unit.Text, say func(guitar.TopStudy) string) {
		r := []string{name.In(style)}
		for _, c := range cols {
			r = append(r, say(c.is))
		}
		t.Rows = append(t.Rows, r)
	}
	length := func(pick func(guitar.TopStudy) unit.Length) func(guitar.TopStudy) string {
		return func(s guitar.TopStudy) string { return pick(s).Fine(style) }
	}
	row("saddle rises by", length(func(s guitar.TopStudy) unit.Length { return s.SaddleRise }))
	row("most risen, behind the bridge", length(func(s guitar.TopStudy) unit.Length { return s.Rise }))
	row("most sunk, ahead of it", length(func(s guitar.TopStudy) unit.Length { return s.Dip }))
	row("bridge tips forward by", func(s guitar.TopStudy) string { return s.Tilt.In(style) })
	row("bridge's foot rises, on the whole", length(func(s guitar.TopStudy) unit.Length { return s.Mean }))
	row("stiffness against tipping, for 1°", func(s guitar.TopStudy) string { return perDegree(s).In(style) })
	row("weight of top, braces and plate", func(s guitar.TopStudy) string { return grams(s.Mass, style) })
	row("stiffness for each 100 g of it", func(s guitar.TopStudy) string { return perWeight(s).In(style) })
	row("gap to set on the frets", func(s guitar.TopStudy) string {
		if !s.GapKnown {
			return "–"
		}
		return s.Gap.Fine(style)
	})
	row("all strings pull", func(s guitar.TopStudy) string { return pull(s.Pull.Tension, style) })
	row("string over the top at the saddle", length(func(s guitar.TopStudy) unit.Length { return s.Pull.Over }))
	return t
}

func (p *topPart) braceTable(cols []column, style unit.Style) {
	t := table{Name: "How hard the braces work", Head: []string{style.Say("Brace")}, Short: true,
		Note: style.Say("Stretch at the brace's free edge where it is worst, in thousandths, and how far along from its first end; − is squeezed. Clear softwood breaks at about 7 to 10 thousandths in a short test; half of that for good is a lot (common practice, no source).")}
	for _, c := range cols {
		t.Head = append(t.Head, c.name)
	}
	for i, b := range cols[0].is.Braces {
		r := []string{body.Called(b.Name).In(style)}
		for _, c := range cols {
			if i < len(c.is.Braces) && c.is.Braces[i].Name == b.Name {
				r = append(r, style.Say("%+.2f at %.0f %%", c.is.Braces[i].Strain*1000, c.is.Braces[i].Place*100))
			} else {
				r = append(r, "–")
			}
		}
		t.Rows = append(t.Rows, r)
	}
	p.Braces = t
}

// moving is how many modes are shown moving; the others are in the table.
const movingModes = 4

func (in *request) modes(p *topPart, cols []column, show guitar.TopStudy, left bool) {
	style := in.prefs.Units
	t := table{Name: "Lowest notes of the top by itself", Head: in.heads("Mode"),
		Note: in.tell("Without strings, without the air inside, its edge held fast. What moves is said only where it holds.")}
	for _, c := range cols {
		t.Head = append(t.Head, c.name, in.tell("What moves"))
	}
	for n := range guitar.TopModes {
		r := []string{strconv.Itoa(n + 1)}
		for _, c := range cols {
			if n < len(c.is.Modes) {
				r = append(r, hertz(c.is.Modes[n].Frequency), in.say(c.is.Modes[n].Name))
			} else {
				r = append(r, "–", "")
			}
		}
		t.Rows = append(t.Rows, r)
	}
	p.ModeTable = t
	for n, m := range show.Modes[:min(movingModes, len(show.Modes))] {
		shape := shapeOf(m.Shape)
		net := sheet.TopMesh(show.Body, shape, left)
		data, err := json.Marshal(net)
		if err != nil {
			continue
		}
		id := "mode-" + strconv.Itoa(n+1)
		v := modeView{N: n + 1, Title: hertz(m.Frequency), Name: in.say(m.Name), Net: string(data)}
		v.Above = figure{ID: id, Sheet: sheet.TopMode(show.Body, shape, sheet.TopOptions{Style: style, Narrow: true, LeftHanded: left, Title: in.tell("Mode %d from above", n+1)})}
		v.Up = figure{ID: id + "-up", Sheet: net.Still(in.tell("Mode %d at one end of its swing", n+1), 1, style)}
		v.Down = figure{ID: id + "-down", Sheet: net.Still(in.tell("Mode %d at the other end", n+1), -1, style)}
		p.Modes = append(p.Modes, v)
	}
	if a := show.Air; a != nil {
		p.Air = unit.Say("With air in the body, taken as %v deep all over with a stiff back: the air in the soundhole by itself sounds at about %v; together with the top's lowest mode they make %v and %v.", show.Depth, hertz(a.Air), hertz(a.Low), hertz(a.High))
	}
}

func hertz(f unit.Frequency) string { return fmt.Sprintf("%.0f Hz", float64(f)) }
