package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"html"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fairset/internal/demo"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
)

// reader finds a program that is not ours, or skips the test.
func reader(t *testing.T, name string) string {
	t.Helper()
	p, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("FAIRSET_JOURNEY") == "must" {
			t.Fatalf("%s is missing, and it must run: %v", name, err)
		}
		t.Skipf("%s is not installed; check.sh installs it", name)
	}
	return p
}

func output(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return string(out)
}

func run(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := Main(t.Context(), args, Streams{strings.NewReader(""), &out, &errs}); code != 0 {
		t.Fatalf("fairset %s: exit %d: %s", strings.Join(args, " "), code, errs.String())
	}
	return out.String()
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// slot is how far fret n of a string of 25.5 in lies from the nut, in millimetres: d = L(1 - 2^(-n/12)), equal temperament.
func slot(n int) float64 { return 25.5 * 25.4 * (1 - math.Pow(2, -float64(n)/12)) }

// TestSlotsInAnotherReader measures the slots of the printed fret layout in its DXF file with ezdxf.
func TestSlotsInAnotherReader(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "plan.json")
	run(t, "new", "--design", "steel-14", "--scale-length", "25.5 in", "--out", file)

	if out, err := exec.Command("/usr/bin/python3", "-c", "import ezdxf").CombinedOutput(); err != nil {
		if os.Getenv("FAIRSET_JOURNEY") == "must" {
			t.Fatalf("ezdxf is missing, and it must run: %s", out)
		}
		t.Skip("ezdxf is not installed; check.sh installs it")
	}
	path := filepath.Join(dir, "frets.dxf")
	run(t, "print", "--guitar", file, "--sheet", "frets", "--format", "dxf", "--out", path)
	raw := output(t, "/usr/bin/python3", "-c", `
import json, sys
from ezdxf import recover
doc, audit = recover.readfile(sys.argv[1])
slots = [e for e in doc.modelspace() if e.dxf.layer == "slots"]
print(json.dumps({"errors": len(audit.errors), "units": doc.header["$INSUNITS"], "kinds": [e.dxftype() for e in slots],
  "x": [[e.dxf.start.x, e.dxf.end.x] for e in slots], "layers": sorted({e.dxf.layer for e in doc.modelspace()})}))`, path)
	var got struct {
		Errors, Units int
		Kinds, Layers []string
		X             [][2]float64
	}
	if err := json.Unmarshal([]byte(raw), &got); err != nil {
		t.Fatal(err)
	}
	if got.Errors != 0 || got.Units != 4 || len(got.X) != 20 {
		t.Errorf("%d errors, units %d, %d slots; want 0, 4 (millimetres), 20", got.Errors, got.Units, len(got.X))
	}
	for i, x := range got.X {
		if got.Kinds[i] != "LINE" || math.Abs(x[0]-slot(i+1)) > 0.02 || math.Abs(x[1]-slot(i+1)) > 0.02 {
			t.Errorf("slot %d is a %s from x %.3f to %.3f mm, want a LINE at %.3f", i+1, got.Kinds[i], x[0], x[1], slot(i+1))
		}
	}
	for _, l := range got.Layers {
		if !strings.Contains(" slots outline dots strings notes datum side-dots section dimensions ", " "+l+" ") {
			t.Errorf("layer %q has no meaning on this sheet", l)
		}
	}
}

// TestPaperAndWordsInAnotherReader prints every sheet of every guitar of the made-up shop, whole and on A4, and asks
// poppler how large the pages are and where the words stand.
func TestPaperAndWordsInAnotherReader(t *testing.T) {
	info, totext := reader(t, "pdfinfo"), reader(t, "pdftotext")
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.db")
	db, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Fill(context.Background(), shop.New(db)); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	size := regexp.MustCompile(`(?m)^Page +\d+ size: +([\d.]+) x ([\d.]+) pts`)
	pageOf := regexp.MustCompile(`(?s)<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>`)
	word := regexp.MustCompile(`<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>`)
	words := 0
	for _, paper := range []string{"full", "a4"} {
		out := filepath.Join(dir, paper)
		run(t, "--db", path, "print", "--class", "--sheet", "all", "--paper", paper, "--out", out)
		files, err := filepath.Glob(filepath.Join(out, "*.pdf"))
		if err != nil || len(files) != 8 {
			t.Fatalf("%d files, %v; the made-up shop has 8 guitars", len(files), err)
		}
		for _, f := range files {
			name := paper + "/" + filepath.Base(f)
			sizes := size.FindAllStringSubmatch(output(t, info, "-l", "9999", f), -1)
			pages := pageOf.FindAllStringSubmatch(output(t, totext, "-bbox", f, "-"), -1)
			if len(sizes) == 0 || len(sizes) != len(pages) {
				t.Errorf("%s: %d sizes and %d pages", name, len(sizes), len(pages))
			}
			for i, p := range pages {
				wide, high := number(t, p[1]), number(t, p[2])
				// ISO 216: A4 is 210 mm by 297 mm, to 0.01 mm.
				if paper == "a4" && math.Abs(min(wide, high)*25.4/72-210)+math.Abs(max(wide, high)*25.4/72-297) > 0.02 {
					t.Errorf("%s page %d: %s by %s points is not A4", name, i+1, p[1], p[2])
				}
				type box struct {
					x1, y1, x2, y2 float64
					text           string
				}
				var boxes []box
				for _, w := range word.FindAllStringSubmatch(p[3], -1) {
					b := box{number(t, w[1]), number(t, w[2]), number(t, w[3]), number(t, w[4]), html.UnescapeString(w[5])}
					words++
					if paper == "full" && (b.x1 < 0 || b.y1 < 0 || b.x2 > wide || b.y2 > high) {
						t.Errorf("%s page %d: %q leaves the paper", name, i+1, b.text)
					}
					if paper == "full" { // pages cut from a drawing cut its words too
						for _, o := range boxes {
							// A reader's box of a word is as high as its line, so that lines touch: a third of it is an overlap.
							lap := func(a1, a2, b1, b2 float64) float64 {
								return (min(a2, b2) - max(a1, b1)) / min(a2-a1, b2-b1)
							}
							if lap(b.x1, b.x2, o.x1, o.x2) > 0.1 && lap(b.y1, b.y2, o.y1, o.y2) > 0.33 {
								t.Errorf("%s page %d: %q and %q lie over each other", name, i+1, b.text, o.text)
							}
						}
					}
					boxes = append(boxes, b)
				}
			}
		}
	}
	if words < 5000 {
		t.Errorf("only %d words were looked at", words)
	}
}
