// Command frontier draws how many passes and how many overshoots each way of planning the next cut costs,
// over seeded necks, and writes the plot and the table of the method page.
//
//	go run ./docs/tools/frontier
package main

import (
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"strings"

	"fairset/craft/neckset/sim"
)

func main() {
	log.SetFlags(0)
	out := flag.String("out", "docs/method", "folder to write neckset-frontier.svg and neckset-frontier.md to")
	necks := flag.Int("necks", 10_000, "necks for each policy")
	seed := flag.Uint64("seed", 1, "seed of the necks")
	flag.Parse()
	if *necks < 1 {
		log.Fatalf("frontier: -necks %d: must be 1 or more", *necks)
	}
	var worlds []world
	for _, w := range []sim.World{sim.Usual(), sim.KnownRate()} {
		ours, plain := sim.Frontier()
		one := world{World: w}
		for _, group := range [][]sim.Policy{ours, plain, sim.TwoReadings()} {
			for _, p := range group {
				one.results = append(one.results, sim.Run(w, p, *necks, *seed))
			}
		}
		worlds = append(worlds, one)
	}
	write(filepath.Join(*out, "neckset-frontier.svg"), plot(worlds))
	write(filepath.Join(*out, "neckset-frontier.md"), table(worlds, *necks, *seed))
}

func write(name, text string) {
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		log.Fatalf("frontier: %v", err)
	}
}

type world struct {
	sim.World
	results []sim.Result
}

func table(worlds []world, necks int, seed uint64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Frontier of passes against overshoot\n\nMade by `go run ./docs/tools/frontier` (%d necks for each row, seed %d); see [neckset.md](neckset.md) for what the columns mean.\n", necks, seed)
	for _, w := range worlds {
		fmt.Fprintf(&b, "\n## %s%s\n\n", strings.ToUpper(w.Name[:1]), w.Name[1:])
		b.WriteString("| rule | passes to tolerance | passes made | readings | past the target | past by more than the tolerance | left within tolerance |\n|---|---:|---:|---:|---:|---:|---:|\n")
		for _, r := range w.results {
			fmt.Fprintf(&b, "| %s | %.2f | %.2f | %.2f | %.1f %% | %.1f %% | %.1f %% |\n", r.Policy, r.ToTolerance, r.Passes, r.Readings, r.Past*100, r.PastBeyond*100, r.InTolerance*100)
		}
	}
	return b.String()
}

// The plot: past the target to the right on a logarithmic scale, passes upward; better is down and left.
const (
	width, height        = 760.0, 400.0
	left, top            = 62.0, 48.0
	panelWide, panelTall = 300.0, 270.0
	between              = 62.0
	least, most          = 0.4, 100.0 // per cent
	lowest, highest      = 1.0, 7.0   // passes
)

var marks = []struct{ rule, shape, colour, name string }{
	{"carried belief", "line", "#14496b", "carried belief, risk for the whole neck"},
	{"carried belief, risk a pass", "dashes", "#14496b", "carried belief, risk taken on every pass"},
	{"single-reading rule", "square", "#8a4b08", "careful cut from one reading"},
	{"fraction of the reading", "ring", "#444444", "30 % to 100 % of the reading"},
	{"fixed amount", "cross", "#444444", "0.2 to 0.8 mm a pass"},
	{"fraction of two readings", "dot", "#9a9a9a", "30 % to 90 % of the mean of two readings"},
}

func plot(worlds []world) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g" font-family="sans-serif" font-size="12" role="img" aria-labelledby="t d">`+"\n", width, height+70, width, height+70)
	b.WriteString("<title id=\"t\">Passes to tolerance against overshoot</title>\n<desc id=\"d\">For each rule, the mean number of passes until the neck lies within tolerance and the share of necks on which a pass went past the target. The carried belief lies below and to the left of every rule that reads once. The same numbers are in neckset-frontier.md.</desc>\n")
	fmt.Fprintf(&b, `<rect width="%g" height="%g" fill="#ffffff"/>`+"\n", width, height+70)
	for i, w := range worlds {
		x0 := left + float64(i)*(panelWide+between)
		panel(&b, w, x0)
	}
	for i, m := range marks {
		x, y := left+float64(i%2)*360, height+8+float64(i/2)*20
		fmt.Fprintf(&b, `<text x="%g" y="%g">%s</text>`+"\n", x+34, y+4, m.name)
		switch m.shape {
		case "line", "dashes":
			fmt.Fprintf(&b, `<path d="M%g %gh26" stroke="%s" stroke-width="2"%s fill="none"/>`+"\n", x, y, m.colour, dash(m.shape))
		}
		mark(&b, m.shape, m.colour, x+13, y)
	}
	b.WriteString("</svg>\n")
	return b.String()
}

func dash(shape string) string {
	if shape == "dashes" {
		return ` stroke-dasharray="5 3"`
	}
	return ""
}

func panel(b *strings.Builder, w world, x0 float64) {
	y0 := top + panelTall
	px := func(past float64) float64 {
		return x0 + panelWide*(math.Log(math.Max(least, past*100))-math.Log(least))/(math.Log(most)-math.Log(least))
	}
	py := func(passes float64) float64 { return y0 - panelTall*(passes-lowest)/(highest-lowest) }
	fmt.Fprintf(b, `<text x="%g" y="%g" font-size="14" font-weight="bold">Removal %s</text>`+"\n", x0, top-16, w.Name)
	for _, v := range []float64{0.5, 1, 2, 5, 10, 20, 50, 100} {
		x := px(v / 100)
		fmt.Fprintf(b, `<path d="M%.1f %.1fV%.1f" stroke="#e2e2e2"/><text x="%.1f" y="%.1f" text-anchor="middle">%g</text>`+"\n", x, top, y0, x, y0+17, v)
	}
	for v := lowest; v <= highest; v++ {
		fmt.Fprintf(b, `<path d="M%.1f %.1fH%.1f" stroke="#e2e2e2"/><text x="%.1f" y="%.1f" text-anchor="end">%g</text>`+"\n", x0, py(v), x0+panelWide, x0-8, py(v)+4, v)
	}
	fmt.Fprintf(b, `<rect x="%g" y="%g" width="%g" height="%g" fill="none" stroke="#888888"/>`+"\n", x0, top, panelWide, panelTall)
	fmt.Fprintf(b, `<text x="%g" y="%g" text-anchor="middle">necks that went past the target, %%</text>`+"\n", x0+panelWide/2, y0+38)
	fmt.Fprintf(b, `<text transform="translate(%g %g) rotate(-90)" text-anchor="middle">passes to tolerance</text>`+"\n", x0-34, top+panelTall/2)
	for _, m := range marks {
		var d strings.Builder
		for _, r := range w.results {
			if r.Rule == m.rule {
				sep := "L"
				if d.Len() == 0 {
					sep = "M"
				}
				fmt.Fprintf(&d, "%s%.1f %.1f", sep, px(r.Past), py(r.ToTolerance))
			}
		}
		if m.shape == "line" || m.shape == "dashes" {
			fmt.Fprintf(b, `<path d="%s" stroke="%s" stroke-width="2"%s fill="none"/>`+"\n", d.String(), m.colour, dash(m.shape))
		}
		for _, r := range w.results {
			if r.Rule == m.rule {
				mark(b, m.shape, m.colour, px(r.Past), py(r.ToTolerance))
			}
		}
	}
}

func mark(b *strings.Builder, shape, colour string, x, y float64) {
	switch shape {
	case "square":
		fmt.Fprintf(b, `<rect x="%.1f" y="%.1f" width="7" height="7" fill="%s"/>`+"\n", x-3.5, y-3.5, colour)
	case "ring":
		fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="4" fill="#ffffff" stroke="%s" stroke-width="1.5"/>`+"\n", x, y, colour)
	case "cross":
		fmt.Fprintf(b, `<path d="M%.1f %.1fl8 8m0 -8l-8 8" stroke="%s" stroke-width="1.8" fill="none"/>`+"\n", x-4, y-4, colour)
	default:
		fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="3.2" fill="%s"/>`+"\n", x, y, colour)
	}
}
