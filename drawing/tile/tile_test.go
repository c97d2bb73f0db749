package tile_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/drawing"
	"fairset/drawing/pdf"
	"fairset/drawing/tile"
	"fairset/internal/drawingtest"
	"fairset/internal/unsaid"
	"fairset/language"
	"fairset/unit"
)

const mm = unit.MM

// crossed is a sheet with a line from every corner and every 20 mm, so that no page is blank.
func crossed(wide, high float64) *drawing.Sheet {
	s := &drawing.Sheet{Title: "Crossed", Width: unit.Length(wide) * mm, Height: unit.Length(high) * mm}
	for x := 1.0; x < wide; x += 20 {
		s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Line{From: drawing.At(x, 0), To: drawing.At(x, high)}})
	}
	return s
}

func plan(t testing.TB, s *drawing.Sheet, o tile.Options) tile.Plan {
	t.Helper()
	p, err := tile.New(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The fewest pages for a sheet of 600 mm by 420 mm. source: by hand; a page shows its sides less two margins of 6 mm
// and less 6 mm at the left and 9 mm at the top, so A4 upright shows 192 by 276: (600 - 15)/(192 - 15) = 3.3, 4 columns,
// (420 - 15)/(276 - 15) = 1.6, 2 rows; lying 279 by 189: 3 by 3. The others likewise.
func TestFewestPages(t *testing.T) {
	for _, c := range []struct {
		paper      tile.Paper
		lying      bool
		cols, rows int
	}{{tile.A4, false, 4, 2}, {tile.Letter, false, 4, 2}, {tile.A3, true, 2, 2}, {tile.Tabloid, true, 2, 2}} {
		p := plan(t, crossed(600, 420), tile.Options{Paper: c.paper})
		if p.Cols != c.cols || p.Rows != c.rows || (p.PageWidth > p.PageHeight) != c.lying || p.Count() != c.cols*c.rows+1 {
			t.Errorf("%s: %d by %d, lying %v, %d pages; want %d by %d, lying %v", c.paper, p.Cols, p.Rows, p.PageWidth > p.PageHeight, p.Count(), c.cols, c.rows, c.lying)
		}
	}
	if p := plan(t, crossed(2000, 1500), tile.Options{Paper: tile.A4}); p.Count() > 100 {
		t.Errorf("the largest sheet takes %d pages of A4", p.Count())
	}
}

func TestOnePage(t *testing.T) {
	// A sheet of the paper's own size whose ink stays inside the margins is printed as it is, either way up.
	s := &drawing.Sheet{Title: "list", Width: 297 * mm, Height: 210 * mm}
	s.Add(drawing.Item{Layer: drawing.LayerNote, Shape: drawing.Text{At: drawing.At(10, 190), Size: 5 * mm, String: "A list"}})
	p := plan(t, s, tile.Options{Paper: tile.A4})
	pages := p.Pages()
	if len(pages) != 1 || !pages[0].Whole() || p.Mapped() {
		t.Errorf("%d pages, %+v", len(pages), pages[0])
	}
	// Ink in the margin needs tiles.
	s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Line{From: drawing.At(2, 10), To: drawing.At(100, 10)}})
	if p := plan(t, s, tile.Options{Paper: tile.A4}); p.Bare {
		t.Error("ink in the margin was printed as it is")
	}
	// A small sheet is put in the middle, at full size.
	small := crossed(100, 50)
	pages = plan(t, small, tile.Options{Paper: tile.Letter}).Pages()
	if len(pages) != 1 || pages[0].ScaleX != 1 || pages[0].Over != nil {
		t.Fatalf("%d pages: %+v", len(pages), pages[0])
	}
	if c := pages[0].On(drawing.At(50, 25)); math.Abs((c.X-pages[0].Width/2).MM()) > 1e-9 || math.Abs((c.Y-pages[0].Height/2).MM()) > 1e-9 {
		t.Errorf("the sheet's middle is at %v", c)
	}
	// Full is the sheet itself.
	pages = plan(t, crossed(2000, 1500), tile.Options{}).Pages()
	if len(pages) != 1 || !pages[0].Whole() {
		t.Errorf("full: %d pages", len(pages))
	}
	// And corrected for the printer, 1 % too long across: a hundredth smaller. source: by hand, 2000/1.01.
	pages = plan(t, crossed(2000, 1500), tile.Options{MeasuredX: 101 * mm}).Pages()
	if w := pages[0].Width.MM(); math.Abs(w-2000/1.01) > 1e-9 || pages[0].Height.MM() != 1500 {
		t.Errorf("full, corrected: %v by %v", w, pages[0].Height.MM())
	}
}

func TestBlankPagesAreLeftOut(t *testing.T) {
	s := &drawing.Sheet{Title: "corner", Width: 600 * mm, Height: 420 * mm}
	// The sheet's ground and a pale panel are not drawing; a large fill is, also where no edge of it shows.
	s.Add(drawing.Item{Layer: drawing.LayerPaper, Fill: drawing.Paper, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(0, 0), drawing.At(600, 0), drawing.At(600, 420), drawing.At(0, 420)}, Closed: true}})
	s.Add(drawing.Item{Layer: drawing.LayerWood, Fill: drawing.Wood, Shape: drawing.Polyline{Points: []drawing.Point{drawing.At(-50, 250), drawing.At(300, 250), drawing.At(300, 470), drawing.At(-50, 470)}, Closed: true}, Pen: drawing.Pen{None: true}})
	p := plan(t, s, tile.Options{Paper: tile.A4})
	var names []string
	for _, page := range p.Pages() {
		names = append(names, page.Name)
	}
	// A4 upright: columns begin at 0, 177, 354 and 531; the lower row's top is at 420 - 261 = 159. source: by hand.
	if got := strings.Join(names, " "); got != "map A1 B1" {
		t.Errorf("pages %q, want map A1 B1", got)
	}
	blank := 0
	for _, tl := range p.Tiles {
		if tl.Blank {
			blank++
		}
	}
	if blank != len(p.Tiles)-2 {
		t.Errorf("%d of %d blank", blank, len(p.Tiles))
	}
	file := drawingtest.File(t, "t.pdf", write(t, p.Pages()))
	words := strings.Join(strings.Fields(drawingtest.Run(t, "pdftotext", "-f", "1", "-l", "1", file, "-")), " ")
	for _, want := range []string{"C1 blank", "A2 blank", "6 pages have nothing on them", "check: 100 mm", "A1", "B1"} {
		if !strings.Contains(words, want) {
			t.Errorf("the map does not say %q: %s", want, words)
		}
	}
	if p := plan(t, &drawing.Sheet{Title: "nothing", Width: 600 * mm, Height: 420 * mm}, tile.Options{Paper: tile.A4}); len(p.Pages()) == 0 {
		t.Error("a sheet with nothing on it has no page")
	}
}

func TestRefusesWhatCannotBe(t *testing.T) {
	s := crossed(600, 420)
	for field, o := range map[string][]tile.Options{
		"overlap":    {{Overlap: 2 * mm}, {Overlap: 100 * mm}, {Overlap: -15 * mm}, {Overlap: unit.Length(math.NaN())}},
		"margin":     {{Margin: 1 * mm}, {Margin: 80 * mm}, {Margin: unit.Length(math.Inf(1))}},
		"measured_x": {{MeasuredX: 96.9 * mm}, {MeasuredX: 103.1 * mm}, {MeasuredX: 3.94 * mm}},
		"measured_y": {{MeasuredY: 10 * mm}, {MeasuredY: -100 * mm}},
		"paper":      {{Paper: "a9"}},
	} {
		for _, o := range o {
			if o.Paper == "" {
				o.Paper = tile.A4
			}
			_, err := tile.New(s, o)
			var re *unit.RangeError
			if !errors.As(err, &re) || re.Field != field || re.Allowed(unit.Millimetre) == "" {
				t.Errorf("%+v: %v, want an error of field %s with what is allowed", o, err, field)
			}
		}
	}
	_, err := tile.New(crossed(9000, 9000), tile.Options{Paper: tile.A4})
	var re *unit.RangeError
	if !errors.As(err, &re) || re.Field != "paper" {
		t.Errorf("a vast sheet: %v", err)
	}
	for _, m := range []float64{97, 100, 103} {
		if _, err := tile.New(s, tile.Options{Paper: tile.A4, MeasuredX: unit.Length(m) * mm, MeasuredY: unit.Length(m) * mm}); err != nil {
			t.Errorf("%v mm: %v", m, err)
		}
	}
	if _, err := tile.Pages(&drawing.Sheet{}, tile.Options{}); err == nil {
		t.Error("a sheet without paper")
	}
}

func write(t testing.TB, pages []drawing.Page) []byte {
	t.Helper()
	b, err := pdf.Bytes(pages, pdf.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// holds checks what every plan must be: the windows cover the sheet, neighbours share the overlap exactly, what a page
// shows and carries stays inside its margins.
func holds(t testing.TB, s *drawing.Sheet, p tile.Plan) {
	t.Helper()
	near := func(what string, got, want unit.Length) {
		t.Helper()
		if math.Abs((got - want).MM()) > 1e-6 {
			t.Fatalf("%s: %v mm, want %v", what, got.MM(), want.MM())
		}
	}
	at := func(col, row int) drawing.Box { return p.Tiles[row*p.Cols+col].Window }
	for row := range p.Rows {
		for col := range p.Cols {
			w := at(col, row)
			if w.Left >= w.Right || w.Bottom >= w.Top {
				t.Fatalf("%d, %d: window %v", col, row, w)
			}
			if col == 0 {
				near("left edge", w.Left, 0)
			} else {
				near("overlap across", at(col-1, row).Right-w.Left, p.Overlap)
			}
			if col == p.Cols-1 {
				near("right edge", w.Right, s.Width)
			}
			if row == 0 {
				near("top edge", w.Top, s.Height)
			} else {
				near("overlap down", w.Top-at(col, row-1).Bottom, p.Overlap)
			}
			if row == p.Rows-1 {
				near("bottom edge", w.Bottom, 0)
			}
		}
	}
	pages := p.Pages()
	if len(pages) != p.Count() {
		t.Fatalf("%d pages, said %d", len(pages), p.Count())
	}
	for _, page := range pages {
		if err := page.Check(); err != nil {
			t.Fatal(err)
		}
		if p.Paper == tile.Full {
			continue
		}
		short, long := p.Paper.Size()
		if page.Width != short || page.Height != long {
			if page.Width != long || page.Height != short {
				t.Fatalf("page %s is %v by %v", page.Name, page.Width.MM(), page.Height.MM())
			}
		}
		if p.Bare {
			continue
		}
		const hair = 0.001 * mm
		inner := drawing.Box{Left: p.Margin - hair, Bottom: p.Margin - hair, Right: page.Width - p.Margin + hair, Top: page.Height - p.Margin + hair}
		a, b := page.On(drawing.Point{X: page.Window.Left, Y: page.Window.Bottom}), page.On(drawing.Point{X: page.Window.Right, Y: page.Window.Top})
		shown := drawing.Box{Left: a.X, Bottom: a.Y, Right: b.X, Top: b.Y}
		if !shown.Inside(inner) {
			t.Fatalf("page %s shows %v, paper inside its margins is %v", page.Name, shown, inner)
		}
		for _, it := range page.Over.Items {
			box := it.Reach()
			if text, ok := it.Shape.(drawing.Text); ok {
				box = text.Box()
				if strings.HasPrefix(it.Name, "page-") && box.Overlaps(drawing.Box{Left: shown.Left, Bottom: shown.Bottom, Right: shown.Right, Top: shown.Top}) {
					t.Fatalf("page %s: words %q lie on the drawing", page.Name, text.String)
				}
				if it.Name == "seam-text" {
					continue // lies in the overlap, below the page that goes over it
				}
			}
			// A cut line runs along the window's edge, half its weight outside.
			if !box.Inside(drawing.Box{Left: inner.Left - 0.08*mm, Bottom: inner.Bottom - 0.08*mm, Right: inner.Right + 0.08*mm, Top: inner.Top + 0.08*mm}) {
				t.Fatalf("page %s: %s %v reaches into the margin %v", page.Name, it.Name, box, inner)
			}
			if it.Name == "register" && !box.Inside(shown) {
				t.Fatalf("page %s: a mark at %v is not on what it shows, %v", page.Name, box, shown)
			}
		}
	}
}

func FuzzPlan(f *testing.F) {
	f.Add(600.0, 420.0, uint8(2), 15.0, 6.0, 100.0, 100.0)
	f.Add(2000.0, 1500.0, uint8(1), 60.0, 30.0, 97.0, 103.0)
	f.Add(180.0, 265.1, uint8(2), 8.0, 3.0, 99.5, 100.5)
	f.Add(192.0001, 10.0, uint8(2), 8.0, 6.0, 100.0, 100.0)
	f.Add(1e6, 1e-9, uint8(4), 8.0, 6.0, 100.0, 100.0)
	f.Fuzz(func(t *testing.T, wide, high float64, paper uint8, overlap, margin, mx, my float64) {
		papers := tile.Papers()
		s := &drawing.Sheet{Title: "Fuzz", Width: unit.Length(wide) * mm, Height: unit.Length(high) * mm}
		s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Line{To: drawing.Point{X: s.Width, Y: s.Height}}})
		p, err := tile.New(s, tile.Options{Paper: papers[int(paper)%len(papers)], Overlap: unit.Length(overlap) * mm, Margin: unit.Length(margin) * mm, MeasuredX: unit.Length(mx) * mm, MeasuredY: unit.Length(my) * mm})
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		holds(t, s, p)
	})
}

// Whatever is drawn, each point of it is on a page that is printed.
func TestNothingDrawnIsLost(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		wide, high := rapid.Float64Range(50, 2000).Draw(r, "wide"), rapid.Float64Range(50, 1500).Draw(r, "high")
		s := &drawing.Sheet{Title: "s", Width: unit.Length(wide) * mm, Height: unit.Length(high) * mm}
		point := func(name string) drawing.Point {
			return drawing.At(rapid.Float64Range(0, wide).Draw(r, name+" x"), rapid.Float64Range(0, high).Draw(r, name+" y"))
		}
		line := drawing.Line{From: point("from"), To: point("to")}
		ring := drawing.Circle{Centre: point("centre"), Radius: unit.Length(rapid.Float64Range(1, 300).Draw(r, "radius")) * mm}
		s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: line}, drawing.Item{Layer: drawing.LayerWood, Fill: drawing.Wood, Pen: drawing.Pen{None: true}, Shape: ring})
		p, err := tile.New(s, tile.Options{Paper: rapid.SampledFrom(tile.Papers()).Draw(r, "paper"), Overlap: unit.Length(rapid.Float64Range(8, 60).Draw(r, "overlap")) * mm})
		if err != nil {
			r.Fatal(err)
		}
		shown := func(q drawing.Point) bool {
			if q.X < 0 || q.Y < 0 || q.X > s.Width || q.Y > s.Height {
				return true // off the paper
			}
			for _, tl := range p.Tiles {
				w := tl.Window
				if !tl.Blank && q.X >= w.Left && q.X <= w.Right && q.Y >= w.Bottom && q.Y <= w.Top {
					return true
				}
			}
			return false
		}
		for i := range 201 {
			k := unit.Length(i) / 200
			if q := (drawing.Point{X: line.From.X + k*(line.To.X-line.From.X), Y: line.From.Y + k*(line.To.Y-line.From.Y)}); !shown(q) {
				r.Fatalf("%v of the line is on no page", q)
			}
			sin, cos := math.Sincos(float64(i))
			if q := (drawing.Point{X: ring.Centre.X + k*ring.Radius*unit.Length(cos), Y: ring.Centre.Y + k*ring.Radius*unit.Length(sin)}); !shown(q) {
				r.Fatalf("%v of the disc is on no page", q)
			}
		}
	})
}

// join is the measuring of neighbouring pages in pictures another program makes.
type join struct {
	t    *testing.T
	file string
	page []drawing.Page
	name map[string]int
}

const dpi = 600

// part draws a square of a page round a place (from its lower left corner), 2·half wide. The returned function turns
// places in the picture (from its upper left) into places on the page.
func (j join) part(page string, at drawing.Point, half float64) (drawingtest.Gray, func(x, y float64) (float64, float64)) {
	j.t.Helper()
	n := j.name[page]
	high := j.page[n].Height.MM()
	left := math.Round((at.X.MM()-half)*dpi/25.4) * 25.4 / dpi
	top := math.Round((high-at.Y.MM()-half)*dpi/25.4) * 25.4 / dpi
	g := drawingtest.Render(j.t, j.file, n+1, dpi, []float64{left, top, 2 * half, 2 * half})
	return g, func(x, y float64) (float64, float64) { return left + x, high - top - y }
}

// mark measures where a registration mark really is, from its cross.
func (j join) mark(page string, near drawing.Point) (x, y float64) {
	j.t.Helper()
	const half = 6
	g, place := j.part(page, near, half)
	across, down := g.Lines(half-3.2), g.LinesDown(half-3.2)
	if len(across) != 1 || len(down) != 1 {
		j.t.Fatalf("page %s: no cross at %v: %v, %v", page, near, across, down)
	}
	return place(across[0], down[0])
}

// level measures how high the lines are in one column of a page.
func (j join) level(page string, x, y float64) float64 {
	j.t.Helper()
	g, place := j.part(page, drawing.At(x, y), 3)
	down := g.LinesDown(3)
	if len(down) != 1 {
		j.t.Fatalf("page %s: %d lines near %v, %v", page, len(down), x, y)
	}
	_, got := place(3, down[0])
	return got
}

// Two neighbours laid on each other by their marks show one drawing: a slanting line lies on itself within 0.05 mm over
// the overlap, and goes on from one page to the next.
func TestNeighboursJoin(t *testing.T) {
	for _, o := range []tile.Options{{Paper: tile.A4}, {Paper: tile.Tabloid, Overlap: 20 * mm, MeasuredX: 99 * mm, MeasuredY: 101.5 * mm}} {
		t.Run(string(o.Paper), func(t *testing.T) {
			s := &drawing.Sheet{Title: "Seam", Width: 700 * mm, Height: 500 * mm}
			// Two slanting lines: one crosses the upright seams, one the level seams (turned, it is read as the other).
			line := drawing.Line{From: drawing.At(10, 440), To: drawing.At(690, 400)}
			s.Add(drawing.Item{Layer: drawing.LayerScore, Shape: line})
			s.Add(drawing.Item{Layer: drawing.LayerScore, Shape: drawing.Line{From: drawing.At(30, 10), To: drawing.At(690, 15)}})
			p := plan(t, s, o)
			j := join{t: t, page: p.Pages(), name: map[string]int{}}
			j.file = drawingtest.File(t, "t.pdf", write(t, j.page))
			for i, page := range j.page {
				j.name[page.Name] = i
			}
			a, b := j.page[j.name["A1"]], j.page[j.name["B1"]]
			// The two marks of the seam, where the sheet has them.
			seam := b.Window.Left + (a.Window.Right-b.Window.Left)/2
			overlap := (a.Window.Right - b.Window.Left).MM()
			marks := 0
			for _, it := range a.Over.Items {
				ring, ok := it.Shape.(drawing.Circle)
				if it.Name != "register" || !ok || math.Abs((ring.Centre.X-a.On(drawing.Point{X: seam}).X).MM()) > 0.001 {
					continue
				}
				at := drawing.Point{X: seam, Y: a.Window.Bottom + (ring.Centre.Y-a.Place.Y)/unit.Length(a.ScaleY)}
				ax, ay := j.mark("A1", a.On(at))
				bx, by := j.mark("B1", b.On(at))
				marks++
				// The line, over the whole overlap but for the marks and the seam itself.
				for _, off := range []float64{0.8, 2.5, overlap - 2.5, overlap - 0.8} {
					x := b.Window.Left.MM() + off
					y := 440 - (x-10)*40/680
					q := drawing.At(x, y)
					pa, pb := a.On(q), b.On(q)
					onA := j.level("A1", pa.X.MM(), pa.Y.MM()) - ay
					onB := j.level("B1", pb.X.MM(), pb.Y.MM()) - by
					if math.Abs((pa.X.MM()-ax)-(pb.X.MM()-bx)) > 0.05 || math.Abs(onA-onB) > 0.05 {
						t.Errorf("%.1f mm into the overlap: %.3f from the mark on A1, %.3f on B1", off, onA, onB)
					}
				}
				// Laid by the mark, the line of A1 goes on through B1: from far left of the seam to far right of it.
				far := 60.0
				l, r := drawing.At(seam.MM()-far, 440-(seam.MM()-far-10)*40/680), drawing.At(seam.MM()+far, 440-(seam.MM()+far-10)*40/680)
				la, rb := a.On(l), b.On(r)
				rise := (j.level("B1", rb.X.MM(), rb.Y.MM()) - by) - (j.level("A1", la.X.MM(), la.Y.MM()) - ay)
				want := -2 * far * 40 / 680 * p.ScaleY
				t.Logf("overlap %.1f: line falls %.3f mm over the seam, want %.3f", overlap, -rise, -want)
				if math.Abs(rise-want) > 0.05 {
					t.Errorf("over the seam the line rises %.3f mm, want %.3f", rise, want)
				}
			}
			if marks != 2 {
				t.Fatal("no marks")
			}
		})
	}
}

// Neighbours carry their marks at the same places of the sheet, and where there is room these cross nothing drawn.
func TestMarksAreSharedAndClear(t *testing.T) {
	s := crossed(600, 420) // a line every 20 mm: room between them for a mark of 8 mm
	p := plan(t, s, tile.Options{Paper: tile.A4})
	type place struct{ x, y int }
	seen := map[place]int{}
	for _, page := range p.Pages()[1:] {
		for _, it := range page.Over.Items {
			ring, ok := it.Shape.(drawing.Circle)
			if it.Name != "register" || !ok {
				continue
			}
			x := page.Window.Left + (ring.Centre.X - page.Place.X)
			y := page.Window.Bottom + (ring.Centre.Y - page.Place.Y)
			seen[place{int(math.Round(x.MM() * 100)), int(math.Round(y.MM() * 100))}]++
			// Those of the level seams can move across the lines.
			if off := math.Mod(x.MM()-1, 20); math.Abs(y.MM()-(420-276+7.5)) < 0.01 && (off < 4 || off > 16) {
				t.Errorf("page %s: a mark at %.1f, on a line", page.Name, x.MM())
			}
		}
	}
	// Three upright seams in each of two rows, four level ones, two marks each. source: by hand, for 4 by 2 pages.
	if len(seen) != 3*2*2+4*2 {
		t.Errorf("%d places with marks, want 20", len(seen))
	}
	for at, n := range seen {
		if n != 2 {
			t.Errorf("the mark at %v is on %d pages, want 2", at, n)
		}
	}
}

// The check bars of every page are 100 mm, or what makes 100 mm of a printer that is off. source: by hand, 100·100/99.
func TestCheckBarsMeasure(t *testing.T) {
	p := plan(t, crossed(600, 420), tile.Options{Paper: tile.A4, MeasuredX: 99 * mm})
	pages := p.Pages()
	file := drawingtest.File(t, "t.pdf", write(t, pages))
	for i, page := range pages {
		bars := 0
		for _, it := range page.Over.Items {
			l, ok := it.Shape.(drawing.Line)
			if !ok || it.Name != "check-100mm-x" {
				continue
			}
			bars++
			y := page.Height.MM() - l.From.Y.MM()
			// A row just above the bar crosses only its end strokes.
			g := drawingtest.Render(t, file, i+1, dpi, []float64{l.From.X.MM() - 2, y - 1.2, l.To.X.MM() - l.From.X.MM() + 4, 0.4})
			xs := g.Lines(0.2)
			if len(xs) != 2 || math.Abs(xs[1]-xs[0]-100*100.0/99) > 0.02 {
				t.Errorf("page %s: the bar's ends are at %v", page.Name, xs)
			}
		}
		if bars != 1 {
			t.Errorf("page %s has %d check bars across", page.Name, bars)
		}
	}
}

// What is written on the pages stays on the paper, and each page says its own name.
func TestWordsStayOnThePage(t *testing.T) {
	s := crossed(600, 420)
	s.Title = "A very long title of a sheet that would never go in the room beside the check bar — ½ ±"
	pages := plan(t, s, tile.Options{Paper: tile.Letter, Margin: 30 * mm}).Pages()
	file := drawingtest.File(t, "t.pdf", write(t, pages))
	word := regexp.MustCompile(`<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">(.*)</word>`)
	for i, page := range pages {
		n := strconv.Itoa(i + 1)
		out := drawingtest.Run(t, "pdftotext", "-bbox", "-f", n, "-l", n, file, "-")
		named := false
		for _, m := range word.FindAllStringSubmatch(out, -1) {
			var v [4]float64
			for k := range v {
				f, err := strconv.ParseFloat(m[1+k], 64)
				if err != nil {
					t.Fatal(err)
				}
				v[k] = f * 25.4 / 72
			}
			// The reader's boxes reach as far up as any letter of the font could.
			if v[0] < 30-0.6 || v[1] < 30-0.6 || v[2] > page.Width.MM()-30+0.6 || v[3] > page.Height.MM()-30+0.6 {
				t.Errorf("page %s: %q reaches into the margin: %v", page.Name, m[5], v)
			}
			named = named || strings.EqualFold(m[5], page.Name)
		}
		if !named {
			t.Errorf("page %s does not say its name", page.Name)
		}
		if sizes := drawingtest.Run(t, "pdfinfo", "-f", n, "-l", n, "-box", file); !strings.Contains(sizes, fmt.Sprintf("%.2f", page.Width.Inches()*72)) {
			t.Errorf("page %s: %s", page.Name, sizes)
		}
	}
}

// Each page says whole which pages it lies over, also where a wide margin leaves little room.
func TestPagesSayWhatTheyLieOver(t *testing.T) {
	for _, margin := range []float64{6, 30} {
		p := plan(t, crossed(270, 1230), tile.Options{Paper: tile.Letter, Margin: unit.Length(margin) * mm})
		if p.PageWidth > p.PageHeight || p.Cols != 2 {
			t.Fatalf("margin %v: %d columns of lying pages", margin, p.Cols)
		}
		for _, page := range p.Pages()[1:] {
			col, row := page.Name[0], page.Name[1]
			said := ""
			for _, it := range page.Over.Items {
				if text, ok := it.Shape.(drawing.Text); ok && it.Name == "page-words" && strings.Contains(strings.ToLower(text.String), "lay over") {
					said = text.String
				}
			}
			var want []string
			if col > 'A' {
				want = append(want, string([]byte{col - 1, row}))
			}
			if row > '1' {
				want = append(want, string([]byte{col, row - 1}))
			}
			if got := strings.Join(regexp.MustCompile("[A-Z][0-9]").FindAllString(said, -1), " "); got != strings.Join(want, " ") {
				t.Errorf("margin %v, page %s says %q, want %v", margin, page.Name, said, want)
			}
		}
	}
}

func TestSameBytes(t *testing.T) {
	o := tile.Options{Paper: tile.A4}
	first := write(t, plan(t, crossed(600, 420), o).Pages())
	if !bytes.Equal(write(t, plan(t, crossed(600, 420), o).Pages()), first) {
		t.Fatal("the same sheet gave other bytes")
	}
}

func BenchmarkPlan(b *testing.B) {
	s := crossed(600, 420)
	for i := range 500 {
		s.Add(drawing.Item{Layer: drawing.LayerCut, Shape: drawing.Circle{Centre: drawing.At(300, 210), Radius: unit.Length(i) * 0.4 * mm}})
	}
	for b.Loop() {
		if _, err := tile.New(s, tile.Options{Paper: tile.A4}); err != nil {
			b.Fatal(err)
		}
	}
}

// What stands round the drawing is in the reader's language, and has its room whatever the language.
func TestWordsRoundTheSheetAreTheReaders(t *testing.T) {
	s := crossed(600, 420)
	s.Items = s.Items[:18] // so that pages at the right are blank
	s.Title = "⟦Crossed⟧"
	for _, c := range language.Codes() {
		p := plan(t, crossed(600, 420), tile.Options{Paper: tile.A4, Style: unit.Millimetre.Speaking(c)})
		holds(t, p.Sheet, p)
	}
	p := plan(t, s, tile.Options{Paper: tile.A4, Style: unit.Millimetre.Speaking(language.Pseudo)})
	holds(t, s, p)
	names := map[string]bool{}
	for _, page := range p.Pages() {
		names[page.Name] = true
		var lines []string
		for _, it := range page.Over.Items {
			if x, ok := it.Shape.(drawing.Text); ok {
				lines = append(lines, x.String)
			}
		}
		for _, lines := range [][]string{{page.Over.Title}, lines} {
			words, closed := unsaid.Words(lines)
			if len(words) > 0 || !closed {
				t.Errorf("page %s: %q of %q is said in English", page.Name, words, lines)
			}
		}
	}
	if !names["map"] || !names["A1"] || !names["B2"] || p.Count() > len(p.Tiles) {
		t.Errorf("pages %v", names)
	}
}
