package cli

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"image"
	_ "image/png" // what pdftocairo writes
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/drawing/tile"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
	"fairset/printing"
	"fairset/unit"
)

// readyShop keeps a shop of guitars from the starting designs, read so far that every sheet of each can be drawn. It
// returns the shop's file and the guitars by name: the design's key and the hand.
func readyShop(t *testing.T, names ...string) (string, *shop.Shop) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	db, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	s := shop.New(db)
	one := func(v string) []string { return []string{v} }
	for _, name := range names {
		cut := strings.LastIndex(name, "-")
		basis, hand := name[:cut], name[cut+1:]
		changes := map[string][]string{"hand": one(hand)}
		if basis == "nylon-12" && hand == "left" { // a board of two scales, square at fret 7
			for k, v := range map[string]string{"scale_length": "642.5", "bass_scale": "650", "treble_scale": "635", "perpendicular_fret": "7"} {
				changes[k] = one(v)
			}
		}
		v, err := s.NewFromDesign(t.Context(), name, basis, changes, unit.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		enter := func(step guitar.Step, kv ...string) {
			texts := map[string][]string{}
			for i := 0; i < len(kv); i += 2 {
				texts[kv[i]] = append(texts[kv[i]], kv[i+1])
			}
			if v, err = s.Enter(t.Context(), v.Guitar.ID, v.Revision, step, texts, unit.Millimetre, "bench 3"); err != nil {
				t.Fatalf("%s, %s: %v", name, step, err)
			}
		}
		enter(guitar.StepSeat, "gap_bass_top", "0", "gap_bass_cap", "0", "gap_treble_top", "0", "gap_treble_cap", "0", "wood_taken", "yes")
		enter(guitar.StepBridge, "nut_to_joint", fmt.Sprintf("%.2f", v.Bench.Aim.Target.NutToJoint.MM()))
		low := fmt.Sprintf("%.2f", v.Bench.Aim.GapOnFrets.MM()-2.4)
		for range 2 {
			enter(guitar.StepLean, "gap", low, "gap", low, "surface", "frets", "graduation", "0.1")
			enter(guitar.StepPoint, "offset", "1.2", "offset", "1.2", "toward", "bass", "graduation", "0.1")
		}
	}
	return path, s
}

// both says a design for either hand.
func both(designs ...string) (names []string) {
	for _, d := range designs {
		names = append(names, d+"-right", d+"-left")
	}
	return names
}

var (
	reBox  = regexp.MustCompile(`(?m)^Page +\d+ MediaBox: +([-\d.]+) +([-\d.]+) +([-\d.]+) +([-\d.]+)`)
	rePage = regexp.MustCompile(`(?s)<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>`)
	reWord = regexp.MustCompile(`<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>`)
)

// TestEverySheetInOtherReaders prints every sheet of every starting design, for either hand and in both systems of
// lengths, whole and on pages, and asks poppler how large each page is and where its words stand.
func TestEverySheetInOtherReaders(t *testing.T) {
	info, totext := reader(t, "pdfinfo"), reader(t, "pdftotext")
	var designs []string
	for _, b := range guitar.Bases() {
		designs = append(designs, b.Key)
	}
	path, s := readyShop(t, both(designs...)...)
	views, err := s.Guitars(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	words, marks := 0, 0
	for _, c := range []struct {
		units unit.Style
		paper string
	}{{unit.Millimetre, "full"}, {unit.InchDecimal, "full"}, {unit.Millimetre, "a4"}, {unit.InchDecimal, "letter"}} {
		out := filepath.Join(t.TempDir(), c.paper)
		run(t, "--db", path, "--units", string(c.units), "print", "--class", "--sheet", "all", "--paper", c.paper, "--out", out)
		for _, v := range views {
			setup, options, err := printing.ParseSetup(map[string][]string{"paper": {c.paper}}, c.units)
			if err != nil {
				t.Fatal(err)
			}
			var pages []drawing.Page
			for _, e := range printing.List() {
				p, err := setup.Plan(e, s.Source(v, c.units, options), printing.PDF)
				if err != nil {
					t.Fatalf("%s, %s: %v", v.Guitar.Name, e.Name, err)
				}
				pages = append(pages, p.Pages...)
			}
			file := filepath.Join(out, v.Guitar.Name+".pdf")
			boxes := reBox.FindAllStringSubmatch(output(t, info, "-box", "-l", "9999", file), -1)
			texts := rePage.FindAllStringSubmatch(output(t, totext, "-bbox", file, "-"), -1)
			if len(boxes) != len(pages) || len(texts) != len(pages) {
				t.Fatalf("%s on %s: %d boxes, %d pages of words, %d pages planned", v.Guitar.Name, c.paper, len(boxes), len(texts), len(pages))
			}
			for i, p := range pages {
				where := fmt.Sprintf("%s, %s, %s, page %d (%s %s)", v.Guitar.Name, c.units, c.paper, i+1, p.Sheet.Title, p.Name)
				b := boxes[i]
				wide, high := (number(t, b[3])-number(t, b[1]))*25.4/72, (number(t, b[4])-number(t, b[2]))*25.4/72
				if math.Abs(wide-p.Width.MM()) > 0.01 || math.Abs(high-p.Height.MM()) > 0.01 {
					t.Errorf("%s: paper of %.3f by %.3f mm, want %.3f by %.3f", where, wide, high, p.Width.MM(), p.Height.MM())
				}
				n, m := wordsOnPage(t, where, p, texts[i][3])
				words, marks = words+n, marks+m
			}
		}
	}
	if words < 20000 || marks < 500 {
		t.Errorf("only %d words and %d marks were looked at", words, marks)
	}
}

// wordsOnPage checks that the words another reader finds on a page stand on the paper, on no other word, and on no
// mark, bar or label of the page's own. A word the window cuts counts where its middle lies in the window. It returns how many words
// and marks it looked at.
func wordsOnPage(t *testing.T, where string, p drawing.Page, found string) (words, marks int) {
	t.Helper()
	type box struct {
		l, b, r, t float64
		text       string
	}
	boxOf := func(q drawing.Box) box { return box{q.Left.MM(), q.Bottom.MM(), q.Right.MM(), q.Top.MM(), ""} }
	holds := func(q box, x, y, by float64) bool { return x > q.l-by && x < q.r+by && y > q.b-by && y < q.t+by }
	a, z := p.On(drawing.Point{X: p.Window.Left, Y: p.Window.Bottom}), p.On(drawing.Point{X: p.Window.Right, Y: p.Window.Top})
	window := box{a.X.MM(), a.Y.MM(), z.X.MM(), z.Y.MM(), ""}
	var labels, aslant, signs []box
	for _, it := range p.Sheet.Parts() {
		if x, ok := it.Shape.(drawing.Text); ok && math.Abs(math.Remainder(float64(x.Turn), math.Pi/2)) > 1e-6 {
			q := x.Box()
			c, d := p.On(drawing.Point{X: q.Left, Y: q.Bottom}), p.On(drawing.Point{X: q.Right, Y: q.Top})
			aslant = append(aslant, box{c.X.MM(), c.Y.MM(), d.X.MM(), d.Y.MM(), ""})
		}
	}
	if p.Over != nil {
		for _, it := range p.Over.Parts() {
			switch x, isText := it.Shape.(drawing.Text); {
			case isText:
				q := boxOf(it.Reach())
				q.text = strings.ReplaceAll(" "+x.String+" ", "\u00a0", " ")
				labels = append(labels, q)
			case strings.HasPrefix(it.Name, "register"), strings.HasPrefix(it.Name, "check-"):
				signs = append(signs, boxOf(it.Reach()))
			}
		}
	}
	in := func(list []box, x, y float64) bool {
		return slices.ContainsFunc(list, func(q box) bool { return holds(q, x, y, 0.3) })
	}
	// A reader also finds words that the window hides, which may lie where the page has its own.
	own := func(w box) bool {
		return slices.ContainsFunc(labels, func(q box) bool {
			return holds(q, w.l, w.b, 0.8) && holds(q, w.r, w.t, 0.8) && strings.Contains(q.text, " "+w.text+" ")
		})
	}
	// A reader's box of a word is as high as its line, so that lines touch: a third of it is an overlap.
	lap := func(a1, a2, b1, b2 float64) float64 { return (min(a2, b2) - max(a1, b1)) / min(a2-a1, b2-b1) }
	meet := func(x, y box) bool { return lap(x.l, x.r, y.l, y.r) > 0.1 && lap(x.b, x.t, y.b, y.t) > 0.33 }
	high := p.Height.MM()
	var seen []box
	for _, w := range reWord.FindAllStringSubmatch(found, -1) {
		const pt = 25.4 / 72
		b := box{number(t, w[1]) * pt, high - number(t, w[4])*pt, number(t, w[3]) * pt, high - number(t, w[2])*pt, html.UnescapeString(w[5])}
		x, y := (b.l+b.r)/2, (b.b+b.t)/2
		switch inside := holds(window, x, y, 0); {
		case in(aslant, x, y), !inside && !own(b):
			continue
		case inside && p.Over != nil && !own(b): // what of it is seen
			b.l, b.b, b.r, b.t = max(b.l, window.l), max(b.b, window.b), min(b.r, window.r), min(b.t, window.t)
		}
		words++
		if b.l < 0 || b.b < 0 || b.r > p.Width.MM() || b.t > high {
			t.Errorf("%s: %q leaves the paper", where, b.text)
		}
		for _, o := range seen {
			if meet(b, o) {
				t.Errorf("%s: %q and %q lie over each other", where, b.text, o.text)
			}
		}
		h := (b.t - b.b) / 5 // letters fill the middle of their line
		for _, s := range signs {
			if b.l < s.r && s.l < b.r && b.b+h < s.t && s.b < b.t-h {
				t.Errorf("%s: a mark or bar of the page runs through %q", where, b.text)
			}
		}
		seen = append(seen, b)
	}
	return words, len(signs)
}

// svgRoot is what a reader of XML makes of a drawing.
type svgRoot struct {
	Width   string `xml:"width,attr"`
	Height  string `xml:"height,attr"`
	ViewBox string `xml:"viewBox,attr"`
}

// TestSVGAndDXFOfEverySheet prints every sheet of two guitars as SVG and as DXF and reads them with encoding/xml and with
// ezdxf.
func TestSVGAndDXFOfEverySheet(t *testing.T) {
	path, s := readyShop(t, "steel-14-right", "nylon-12-left")
	views, err := s.Guitars(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	out := t.TempDir()
	for _, format := range []string{"svg", "dxf"} {
		run(t, "--db", path, "--units", "mm", "print", "--class", "--sheet", "all", "--format", format, "--out", out)
	}
	layers := map[string][]string{} // of each DXF file, those the sheet has
	for _, v := range views {
		for _, e := range printing.List() {
			sheets, err := e.Sheets(s.Source(v, unit.Millimetre, printing.Options{}))
			if err != nil {
				t.Fatal(err)
			}
			for i, d := range sheets {
				name := v.Guitar.Name + "-" + e.Name
				if len(sheets) > 1 {
					name = fmt.Sprintf("%s-%d", name, i+1)
				}
				f, err := os.Open(filepath.Join(out, name+".svg"))
				if err != nil {
					t.Fatal(err)
				}
				var root svgRoot
				dec := xml.NewDecoder(f)
				if err := dec.Decode(&root); err != nil {
					t.Errorf("%s: %v", name, err)
				}
				for {
					tok, err := dec.Token()
					if space, ok := tok.(xml.CharData); ok && strings.TrimSpace(string(space)) == "" {
						continue
					}
					if !errors.Is(err, io.EOF) {
						t.Errorf("%s: something follows the drawing: %v, %v", name, tok, err)
					}
					break
				}
				_ = f.Close()
				var w, h, x, y, vw, vh float64
				if n, err := fmt.Sscanf(root.Width+" "+root.Height+" "+root.ViewBox, "%fmm %fmm %f %f %f %f", &w, &h, &x, &y, &vw, &vh); n != 6 {
					t.Errorf("%s: width %q, height %q, view box %q: %v", name, root.Width, root.Height, root.ViewBox, err)
				}
				if x != 0 || y != 0 || w != vw || h != vh || math.Abs(w-d.Width.MM()) > 0.001 || math.Abs(h-d.Height.MM()) > 0.001 {
					t.Errorf("%s: %v by %v mm, view box %q, the sheet is %v by %v", name, w, h, root.ViewBox, d.Width.MM(), d.Height.MM())
				}
				var has []string
				for _, it := range d.Parts() {
					if !(it.Pen.None && it.Fill == drawing.Paper) && !slices.Contains(has, d.LayerName(it.Layer)) {
						has = append(has, d.LayerName(it.Layer))
					}
				}
				layers[filepath.Join(out, name+".dxf")] = has
			}
		}
	}
	if out, err := exec.Command("/usr/bin/python3", "-c", "import ezdxf").CombinedOutput(); err != nil {
		if os.Getenv("FAIRSET_JOURNEY") == "must" {
			t.Fatalf("ezdxf is missing, and it must run: %s", out)
		}
		t.Skip("ezdxf is not installed; check.sh installs it")
	}
	var files []string
	for f := range layers {
		files = append(files, f)
	}
	raw := output(t, "/usr/bin/python3", append([]string{"-c", `
import json, sys, ezdxf
out = {}
for f in sys.argv[1:]:
    doc = ezdxf.readfile(f)
    out[f] = {"errors": [e.message for e in doc.audit().errors], "units": doc.header["$INSUNITS"], "layers": sorted({e.dxf.layer for e in doc.modelspace()}), "table": sorted(l.dxf.name for l in doc.layers)}
print(json.dumps(out))`}, files...)...)
	var read map[string]struct {
		Errors, Layers, Table []string
		Units                 int
	}
	if err := json.Unmarshal([]byte(raw), &read); err != nil || len(read) != len(files) {
		t.Fatal(len(read), err)
	}
	for f, got := range read {
		name := filepath.Base(f)
		if len(got.Errors) > 0 || got.Units != 4 {
			t.Errorf("%s: %q, units %d; want no errors and 4, millimetres", name, got.Errors, got.Units)
		}
		for _, l := range got.Layers {
			if !slices.Contains(layers[f], l) || !slices.Contains(got.Table, l) {
				t.Errorf("%s: layer %q is not one of the sheet's, or not in the table of layers", name, l)
			}
		}
		want := []string{}
		switch { // what each sheet must have on a layer of its own
		case strings.HasSuffix(name, "frets.dxf"):
			want = []string{"slots", "outline", "strings", "dots", "notes", "datum"}
		case strings.HasSuffix(name, "body.dxf"):
			want = []string{"outline", "soundhole", "braces", "bridge", "notes", "datum"}
		case strings.HasSuffix(name, "heel.dxf"), strings.HasSuffix(name, "drill-template.dxf"):
			want = []string{"wood", "drill", "note", "datum"}
		case name == "steel-14-right-bridge.dxf":
			want = []string{"outline", "saddle", "pins"}
		case strings.HasSuffix(name, "bridge.dxf"): // strings tied to the bridge have no pins
			want = []string{"outline", "saddle"}
		case strings.HasSuffix(name, "nut-saddle.dxf"):
			want = []string{"enlarged"}
		}
		for _, l := range want {
			if !slices.Contains(got.Layers, l) {
				t.Errorf("%s: nothing lies on the layer %q, only on %q", name, l, got.Layers)
			}
		}
	}
}

// TestSlotsOfEveryDesignInAnotherReader renders the fret layout of each design at 600 dots to the inch with cairo, which
// does not move lines onto dots as other renderers do, and measures the middle of every slot's line by the weight of its grey; on A4
// each page is measured from where it shows the sheet.
//
// source: d = L (1 - 2^(-n/12)), equal temperament; L as the starting design gives it.
func TestSlotsOfEveryDesignInAnotherReader(t *testing.T) {
	cairo := reader(t, "pdftocairo")
	names := []string{"steel-14-left"}
	for _, b := range guitar.Bases() {
		names = append(names, b.Key+"-right")
	}
	path, s := readyShop(t, names...)
	views, err := s.Guitars(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	e, err := printing.Find("frets")
	if err != nil {
		t.Fatal(err)
	}
	const dot = 25.4 / 600
	dir := t.TempDir()
	for _, v := range views {
		d := v.Bench.Design
		scale := d.Length("scale_length").MM()
		for _, c := range []struct {
			paper string
			off   float64 // allowed
		}{{"full", 0.02}, {"a4", 0.05}} {
			if c.paper == "a4" && !slices.Contains([]string{"steel-14-left", "nylon-12-right"}, v.Guitar.Name) {
				continue
			}
			setup, options, err := printing.ParseSetup(map[string][]string{"paper": {c.paper}}, unit.Millimetre)
			if err != nil {
				t.Fatal(err)
			}
			plan, err := setup.Plan(e, s.Source(v, unit.Millimetre, options), printing.PDF)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(dir, v.Guitar.Name+c.paper+".pdf")
			run(t, "--db", path, "--units", "mm", "print", v.Guitar.Name, "--sheet", "frets", "--paper", c.paper, "--out", file)
			measured := map[int]bool{}
			for i, p := range plan.Pages {
				zero := p.On(p.Sheet.Origin)
				if p.Name == "map" || p.Sheet.Origin.Y+8*unit.MM > p.Window.Top || p.Sheet.Origin.Y-8*unit.MM < p.Window.Bottom {
					continue
				}
				// A band of the page round the board's middle.
				half := 8.0
				from := int((p.Height.MM() - zero.Y.MM() - half) / dot)
				png := filepath.Join(dir, "band")
				output(t, cairo, "-r", "600", "-gray", "-png", "-singlefile", "-f", fmt.Sprint(i+1), "-l", fmt.Sprint(i+1),
					"-x", "0", "-y", fmt.Sprint(from), "-W", fmt.Sprint(int(p.Width.MM()/dot)), "-H", fmt.Sprint(int(2*half/dot)), file, png)
				rows := spots(t, png+".png", dot)
				for n := 0; n <= d.Count("frets"); n++ {
					x := p.Sheet.Origin.X + unit.Length(scale*(1-math.Pow(2, -float64(n)/12)))*unit.MM
					// Beside a cut, where both pages draw a line of their own, a slot cannot be told from it.
					if x < p.Window.Left+unit.MM || x > p.Window.Right-unit.MM || (p.Window.Right-tile.UsualOverlap-x).Abs() < unit.MM {
						continue
					}
					want := p.On(drawing.Point{X: x}).X.MM()
					var offs []float64
					for _, row := range rows {
						for _, at := range row {
							if math.Abs(at-want) < 0.3 {
								offs = append(offs, at-want)
							}
						}
					}
					// A slot is a line through the whole band; where strings and the centreline cross it the spot is wider.
					slices.Sort(offs)
					if len(offs) < len(rows)/3 {
						t.Errorf("%s on %s, page %d: only %d of %d rows have a line for slot %d", v.Guitar.Name, c.paper, i+1, len(offs), len(rows), n)
					} else if off := offs[len(offs)/2]; math.Abs(off) > c.off {
						t.Errorf("%s on %s, page %d: slot %d is off by %.3f mm", v.Guitar.Name, c.paper, i+1, n, off)
					}
					measured[n] = true
				}
			}
			hidden := 0
			if c.paper != "full" {
				hidden = 1
			}
			if len(measured) < d.Count("frets")+1-hidden {
				t.Errorf("%s on %s: %d of %d slots and the nut measured", v.Guitar.Name, c.paper, len(measured), d.Count("frets")+1)
			}
		}
	}
}

// spots returns, for every seventh row of a picture, the middles of its dark spots in millimetres from its left edge.
func spots(t *testing.T, file string, dot float64) (rows [][]float64) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, _, err := image.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y += 7 {
		var row []float64
		var sum, weight float64
		for x := b.Min.X; x < b.Max.X; x++ {
			v, _, _, _ := img.At(x, y).RGBA()
			if dark := 1 - float64(v)/65535; dark > 0.02 {
				sum, weight = sum+dark*(float64(x-b.Min.X)+0.5), weight+dark
			} else if weight > 0 {
				row = append(row, sum/weight*dot)
				sum, weight = 0, 0
			}
		}
		rows = append(rows, row)
	}
	return rows
}
