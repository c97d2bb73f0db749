package journey

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// A guitar's top: worked out while the page waits, a brace moved and kept, modes moving, another guitar beside it, the target that goes by it.
func TestTheTopOfAGuitar(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	bin := build(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			pr := &program{bin: bin, db: filepath.Join(t.TempDir(), "shop.db")}
			pr.serve(t)
			p := at(t, browser, pr.base, s, true)
			p.newGuitar("Wheatear")
			p.press("Top")
			p.sees("Move a brace")
			p.soon("The strings tip the bridge by", "How it rings", "top moving as one", "How hard the braces work")
			p.accessible()
			p.shot("top")

			p.press("Show it moving")
			p.sees("Hold it still")
			first := ask[string](p, `document.querySelector(".moving path").getAttribute("d")`)
			time.Sleep(200 * time.Millisecond)
			if first == "" || first == ask[string](p, `document.querySelector(".moving path").getAttribute("d")`) {
				t.Error("the net does not move")
			}
			p.accessible()
			p.press("Hold it still")
			if ask[bool](p, `document.querySelector(".moving") !== null`) {
				t.Error("the net goes on moving")
			}

			// A brace is chosen, moved and kept. How long an answer takes is told, not held.
			p.pick("f-brace", "3")
			p.do("choose the brace", chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
				_, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`(document.getElementById("f-brace").dispatchEvent(new Event("change", {bubbles: true})), true)`))
				return err
			}))
			p.soon("Keep it in the design")
			p.settle()
			began := time.Now()
			p.drag("f-h1", 0.9)
			p.soon("Tried")
			t.Logf("%s: the first move of a brace showed after %v", s.name, time.Since(began))
			began = time.Now()
			p.drag("f-h1", 0.95)
			p.soon("moved, the strings tip")
			p.quiet()
			t.Logf("%s: the next, whole, after %v", s.name, time.Since(began))
			p.accessible()
			p.shot("top-tried")
			p.press("Keep it in the design")
			p.soon("is now kept in the design")
			p.press("Go by the rise worked out here")
			p.soon("now goes by the rise worked out here")
			p.accessible()
			p.press("Tap tones of the glued top")
			p.accessible()
			p.shot("top-kept")
			p.press("History")
			p.sees("braces moved, added or left out")
		})
	}
}

// Without script the figures are asked for with a link, and a brace is moved with a button; both extremes of each mode stand still side by side.
func TestTheTopWithoutScript(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	pr := alone(t)
	p := at(t, browser, pr.base, screens[0], false)
	p.newGuitar("Whinchat")
	p.press("Top")
	p.press("Work it out")
	p.soon("The strings tip the bridge by", "How it rings")
	if n := ask[int](p, `document.querySelectorAll(".still svg").length`); n < 8 {
		t.Errorf("%d still pictures of the modes", n)
	}
	if strings.Contains(p.text(), "Show it moving") {
		t.Error("a button that does nothing without script is shown")
	}
	p.accessible()
	p.pick("f-brace", "3")
	p.press("Show it")
	p.soon("Height at 20 %")
	ask[bool](p, `(document.getElementById("f-h1").stepUp(8), true)`)
	p.press("Show it")
	p.soon("Tried", "moved, the strings tip")
	p.accessible()
	p.shot("top-without-script")
	p.press("Keep it in the design")
	p.soon("is now kept in the design")
}

// drag leaves a slider at a share of its run, as a finger would: moved, then let go.
func (p *person) drag(id string, share float64) {
	p.t.Helper()
	ask[bool](p, fmt.Sprintf(`(() => { const s = document.getElementById(%s); s.value = +s.min + (s.max - s.min) * %g;
		for (const kind of ["input", "change"]) s.dispatchEvent(new Event(kind, {bubbles: true})); return true; })()`, quote(id), share))
}

// soon is sees for what takes seconds to work out.
func (p *person) soon(texts ...string) {
	p.t.Helper()
	for _, want := range texts {
		deadline := time.Now().Add(90 * time.Second)
		for !strings.Contains(strings.ToLower(ask[string](p, `(document.body?.innerText ?? "").replace(/\s+/g, " ")`)), strings.ToLower(want)) {
			if time.Now().After(deadline) {
				p.fail("the page does not say %q, however long it is given", want)
			}
			time.Sleep(150 * time.Millisecond)
		}
	}
}

// quiet waits until nothing is being worked out.
func (p *person) quiet() {
	p.t.Helper()
	deadline := time.Now().Add(90 * time.Second)
	for calm := 0; calm < 4; {
		time.Sleep(150 * time.Millisecond)
		if ask[bool](p, `document.getElementById("working").hidden && !document.querySelector(".waiting")`) {
			calm++
		} else {
			calm = 0
		}
		if time.Now().After(deadline) {
			p.fail("it goes on working")
		}
	}
}
