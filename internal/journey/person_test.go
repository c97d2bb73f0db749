package journey

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// screen is one size a maker works at.
type screen struct {
	name          string
	width, height int64
	phone         bool
}

var screens = []screen{{"phone", 390, 844, true}, {"tablet", 820, 1180, true}, {"desk", 1366, 768, false}}

// person is somebody at one screen. Every step fails the test with what was on the page.
type person struct {
	t    *testing.T
	ctx  context.Context
	base string
	who  string
	mute bool // the pages' own scripts are off
}

// patience bounds one step in the browser.
const patience = 20 * time.Second

func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p
		}
	}
	if os.Getenv("FAIRSET_JOURNEY") == "must" {
		t.Fatal("no Chromium on this machine, and the journeys must run")
	}
	t.Skip("no Chromium on this machine; check.sh installs it")
	return ""
}

// browser starts one Chromium for a whole test; people are tabs in it.
func browser(t *testing.T, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	path := chromium(t)
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-background-networking", true))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), append(opts, more...)...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatalf("start the browser: %v", err)
	}
	return ctx
}

// at opens a tab of a given size. script says whether the page's own script may run.
func at(t *testing.T, browser context.Context, base string, s screen, script bool) *person {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser)
	t.Cleanup(cancel)
	// The first step opens the tab, which lives as long as the context it is given: not one with a deadline.
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatalf("open a tab: %v", err)
	}
	p := &person{t, ctx, base, s.name, !script}
	view := []chromedp.EmulateViewportOption{}
	if s.phone {
		view = append(view, chromedp.EmulateTouch, chromedp.EmulateMobile)
	}
	p.do("set the screen", chromedp.EmulateViewport(s.width, s.height, view...))
	if !script {
		p.scripts(false)
	}
	return p
}

func (p *person) scripts(on bool) {
	p.t.Helper()
	p.do("switch scripts", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on})
		return err
	}))
}

func (p *person) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.fail("%s: %v", what, err)
	}
}

func (p *person) fail(format string, args ...any) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, 3*time.Second)
	defer cancel()
	where, _ := chromedp.Run(ctx, chromedp.Location())
	text, _ := chromedp.Run(ctx, chromedp.Text(chromedp.CSS("body")))
	if len(text) > 3000 {
		text = text[:3000] + "…"
	}
	p.t.Fatalf("%s: %s\nat %s the page says:\n%s", p.who, fmt.Sprintf(format, args...), where, text)
}

// ask runs an expression in the page and decodes its answer. It works with the page's own scripts off too.
func ask[T any](p *person, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		p.fail("ask %.80s: %v", expression, err)
	}
	return v
}

func quote(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

func (p *person) open(path string) {
	p.t.Helper()
	p.do("open "+path, chromedp.Navigate(p.base+path))
}

func (p *person) path() string {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	where, err := chromedp.Run(ctx, chromedp.Location())
	if err != nil {
		p.fail("ask where we are: %v", err)
	}
	return strings.TrimPrefix(where, p.base)
}

// mark finds an element by what a person reads and gives it a name to click or type into.
func (p *person) mark(kind, text string) string {
	p.t.Helper()
	const find = `((kind, text) => {
		const norm = s => (s || "").replace(/\s+/g, " ").trim().toLowerCase();
		text = text.toLowerCase();
		const seen = e => e.getClientRects().length > 0;
		let hit;
		if (kind === "press") {
			const all = [...document.querySelectorAll("button, a, summary")].filter(seen);
			hit = all.find(e => norm(e.innerText) === text) || all.find(e => norm(e.innerText).startsWith(text)) || all.find(e => norm(e.innerText).includes(text));
		} else if (kind === "choose") {
			const all = [...document.querySelectorAll("label")].filter(seen);
			hit = all.find(e => norm(e.innerText) === text && e.querySelector("input")) || all.find(e => norm(e.innerText).includes(text) && e.querySelector("input"));
		} else {
			const labels = [...document.querySelectorAll("label[for]")];
			const own = s => norm(norm(s).replace("(if you like)", ""));
			const l = labels.find(e => own(e.innerText || e.textContent) === text) || labels.find(e => own(e.innerText || e.textContent).startsWith(text));
			hit = l ? document.getElementById(l.htmlFor) : [...document.querySelectorAll("[aria-label]")].find(e => norm(e.getAttribute("aria-label")).startsWith(text));
		}
		if (!hit) return "";
		for (let d = hit.closest("details"); d; d = d.parentElement && d.parentElement.closest("details")) if (hit.tagName !== "SUMMARY" || d !== hit.parentElement) d.open = true;
		hit.setAttribute("data-hand", String(++window.__hand || (window.__hand = 1)));
		hit.scrollIntoView({block: "center", behavior: "instant"});
		return "[data-hand=\"" + hit.getAttribute("data-hand") + "\"]";
	})(%s, %s)`
	sel := ask[string](p, fmt.Sprintf(find, quote(kind), quote(text)))
	if sel == "" {
		p.fail("nothing to %s called %q", kind, text)
	}
	return sel
}

// newGuitar starts a steel-string of that name, read in millimetres, and ends on its design page.
func (p *person) newGuitar(name string) {
	p.t.Helper()
	p.open("/new")
	p.press("millimetres")
	p.put("What is it called?", name)
	p.choose("Steel-string, 14 frets clear")
	p.press("Put it on the bench")
}

// press clicks a button or link by its words, and waits for the page that follows, if one does.
func (p *person) press(text string) {
	p.t.Helper()
	sel := p.mark("press", text)
	p.do("press "+text, chromedp.Click(chromedp.CSS(sel)))
	p.settle()
}

// settle waits until the page is there.
func (p *person) settle() {
	p.t.Helper()
	deadline := time.Now().Add(patience)
	time.Sleep(60 * time.Millisecond)
	for time.Now().Before(deadline) {
		ctx, cancel := context.WithTimeout(p.ctx, 2*time.Second)
		state, err := chromedp.Run(ctx, chromedp.Evaluate[string]("document.readyState"))
		cancel()
		if err == nil && state == "complete" {
			return
		}
		time.Sleep(40 * time.Millisecond)
	}
	p.fail("the page never finished loading")
}

// choose picks a radio button or box by its words.
func (p *person) choose(text string) {
	p.t.Helper()
	sel := p.mark("choose", text)
	p.do("choose "+text, chromedp.Click(chromedp.CSS(sel+" input")))
}

// put clears a field found by its label and types into it.
func (p *person) put(label, text string) {
	p.t.Helper()
	sel := p.mark("fill", label)
	ask[bool](p, "(document.querySelector("+quote(sel)+").value = '') === ''")
	p.do("type into "+label, chromedp.SendKeys(chromedp.CSS(sel), text))
}

// value is what a field holds.
func (p *person) value(label string) string {
	p.t.Helper()
	sel := p.mark("fill", label)
	return ask[string](p, "document.querySelector("+quote(sel)+").value")
}

func (p *person) text() string {
	p.t.Helper()
	return ask[string](p, `(document.body?.innerText ?? "").replace(/\s+/g, " ")`)
}

// sees fails unless the page shows every text within a moment.
func (p *person) sees(texts ...string) {
	p.t.Helper()
	for _, want := range texts {
		deadline := time.Now().Add(5 * time.Second)
		for !strings.Contains(strings.ToLower(p.text()), strings.ToLower(want)) {
			if time.Now().After(deadline) {
				p.fail("the page does not say %q", want)
			}
			time.Sleep(80 * time.Millisecond)
		}
	}
}

// shot keeps a picture of the whole page when FAIRSET_SHOTS names a folder.
func (p *person) shot(name string) {
	p.t.Helper()
	dir := os.Getenv("FAIRSET_SHOTS")
	if dir == "" {
		return
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, p.who+"-"+name+".png"), png, 0o644)
	}
	if err != nil {
		p.fail("take a picture: %v", err)
	}
}

// accessible fails on any serious or critical finding of axe-core on the page as it is, and on a page that
// scrolls sideways.
func (p *person) accessible() {
	p.t.Helper()
	src, err := os.ReadFile("node_modules/axe-core/axe.min.js")
	if err != nil {
		if os.Getenv("FAIRSET_JOURNEY") == "must" {
			p.t.Fatalf("axe-core is missing, and it must run: %v", err)
		}
		p.t.Skip("axe-core is not installed; check.sh installs it")
	}
	if p.mute { // axe needs timers; the page's own script was never loaded and stays away
		p.scripts(true)
		defer p.scripts(false)
	}
	ask[bool](p, string(src)+";true")
	type finding struct {
		ID, Impact, Help string
		Nodes            []string
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	found, err := chromedp.Run(ctx, chromedp.Evaluate[[]finding](`axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations.map(v => ({ID: v.id, Impact: v.impact, Help: v.help, Nodes: v.nodes.slice(0, 4).map(n => n.html.slice(0, 200) + " | " + (n.failureSummary || "").slice(0, 300))})))`, chromedp.EvalAwaitPromise))
	if err != nil {
		p.fail("run axe: %v", err)
	}
	for _, f := range found {
		if f.Impact == "serious" || f.Impact == "critical" {
			p.t.Errorf("%s at %s: %s (%s): %s\n  %s", p.who, p.path(), f.ID, f.Impact, f.Help, strings.Join(f.Nodes, "\n  "))
		}
	}
	if wide := ask[int](p, "document.documentElement.scrollWidth - document.documentElement.clientWidth"); wide > 1 {
		p.t.Errorf("%s at %s: the page is %d px wider than the screen", p.who, p.path(), wide)
	}
}
