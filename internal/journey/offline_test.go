package journey

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// air is the network between a browser and the shop. It can be cut, and it can lose answers on their way back.
type air struct {
	*httptest.Server
	shop  atomic.Pointer[url.URL]
	cut   atomic.Bool // nothing gets through
	loses atomic.Bool // a form gets through, its answer does not
	lost  atomic.Int32
}

func airTo(t *testing.T, base string) *air {
	t.Helper()
	a := &air{}
	a.leadTo(t, base)
	trusting := &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}} //nolint:gosec // a shop of this test's own
	relay := &httputil.ReverseProxy{Transport: trusting, Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(a.shop.Load())
		r.Out.Host = r.In.Host
	}, ErrorHandler: func(w http.ResponseWriter, _ *http.Request, _ error) { gone(w) }}
	a.Server = httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case a.cut.Load():
			gone(w)
		case a.loses.Load() && r.Method == http.MethodPost && strings.Contains(r.URL.Path, "/step/"):
			relay.ServeHTTP(httptest.NewRecorder(), r)
			a.lost.Add(1)
			gone(w)
		default:
			relay.ServeHTTP(w, r)
		}
	}))
	a.Config.ErrorLog = log.New(io.Discard, "", 0) // a browser that breaks off is what is tried here
	if strings.HasPrefix(base, "https:") {
		a.StartTLS()
	} else {
		a.Start()
	}
	t.Cleanup(a.Close)
	return a
}

func (a *air) leadTo(t *testing.T, base string) {
	t.Helper()
	u, err := url.Parse(base)
	if err != nil {
		t.Fatal(err)
	}
	a.shop.Store(u)
}

// gone breaks the connection without a word, as a lost network does.
func gone(w http.ResponseWriter) {
	c, _, err := w.(http.Hijacker).Hijack()
	if err == nil {
		c.Close()
	}
}

// wait asks the page until an expression, which may be a promise, is true.
func (p *person) wait(what, expression string) {
	p.t.Helper()
	for deadline := time.Now().Add(patience); time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) {
		ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression, chromedp.EvalAwaitPromise))
		cancel()
		if err == nil && ok {
			return
		}
	}
	p.fail("waited in vain until %s", what)
}

// ready opens a guitar's bench page and waits until its pages are kept on the device.
func (p *person) ready(guitar string) {
	p.t.Helper()
	p.open(guitar)
	p.wait("the worker has taken over", "navigator.serviceWorker.controller !== null")
	for _, step := range []string{"/step/note", "/design"} {
		p.wait("the guitar's pages are kept", fmt.Sprintf("caches.open('fairset-pages').then((c) => c.match(%s)).then((r) => !!r)", quote(guitar+step)))
	}
}

// entries are the steps of a guitar's log as the shop has it, with the figure of a lean.
func entries(t *testing.T, base, guitar string) (steps []string, revision int64) {
	t.Helper()
	var g struct {
		Revision int64
		Log      []struct {
			Step   string
			Values map[string]json.RawMessage
		}
	}
	raw := fetch(t, base+"/api/v1/guitars/"+strings.TrimPrefix(guitar, "/guitar/"))
	if err := json.Unmarshal(raw, &g); err != nil {
		t.Fatal(err)
	}
	for _, e := range g.Log {
		steps = append(steps, e.Step)
	}
	return steps, g.Revision
}

func steady(t *testing.T, base, guitar, want string) int64 {
	t.Helper()
	var got string
	var revision int64
	for deadline := time.Now().Add(patience); time.Now().Before(deadline); time.Sleep(150 * time.Millisecond) {
		var steps []string
		steps, revision = entries(t, base, guitar)
		if got = strings.Join(steps, " "); got == want {
			return revision
		}
	}
	t.Fatalf("the shop has %q, want %q", got, want)
	return 0
}

func (p *person) note(guitar, text string) {
	p.t.Helper()
	p.open(guitar + "/step/note")
	p.put("note", text)
	p.press("Keep this note")
}

func (p *person) leanOf(guitar string, gaps ...string) {
	p.t.Helper()
	p.open(guitar + "/step/lean")
	p.readLean(gaps...)
}

// apiNote enters a note as another bench does.
func apiNote(t *testing.T, base, guitar string, revision int64, text string) {
	t.Helper()
	body := fmt.Sprintf(`{"revision":%d,"step":"note","values":{"text":%s},"bench":"bench 9"}`, revision, quote(text))
	res, err := http.Post(base+"/api/v1/guitars/"+strings.TrimPrefix(guitar, "/guitar/")+"/entries", "application/json", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusCreated {
		b, _ := io.ReadAll(res.Body)
		t.Fatalf("another bench's note: %d: %s", res.StatusCode, b)
	}
}

// byAir serves an empty shop and opens a tab on it over air that can be cut.
func byAir(t *testing.T, browser context.Context, bin string, s screen) (*program, *air, *person) {
	t.Helper()
	pr := &program{bin: bin, db: filepath.Join(t.TempDir(), "shop.db")}
	pr.serve(t)
	net := airTo(t, pr.base)
	return pr, net, at(t, apartFrom(t, browser), net.URL, s, true)
}

func (p *person) guitarMade(name string) string {
	p.t.Helper()
	p.newGuitar(name)
	return strings.TrimSuffix(strings.SplitN(p.path(), "?", 2)[0], "/design")
}

func TestReadingsTypedOutOfReach(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	bin := build(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			pr, net, p := byAir(t, browser, bin, s)
			guitar := p.guitarMade("Plover")
			p.ready(guitar)

			net.cut.Store(true)
			p.leanOf(guitar, "6.4", "6.5")
			p.sees("Offline", "1 entry waits on this device")
			p.accessible()
			p.shot("offline")
			p.open(guitar + "/step/point")
			p.readPoint("bass side", "1.5", "1.6")
			p.sees("2 entries wait")
			p.note(guitar, "typed behind the finishing room")
			p.sees("3 entries wait")
			p.do("load the page again", chromedp.Reload())
			p.sees("3 entries wait", "as it was on")
			p.open("/waiting")
			p.sees("gap under the straight edge: 6.4 mm, 6.5 mm", "behind the finishing room", "It waits to be sent")
			p.accessible()
			p.shot("waiting")
			p.open("/people")
			p.sees("The shop is out of reach")
			p.accessible()
			if steps, _ := entries(t, pr.base, guitar); len(steps) != 0 {
				t.Fatalf("the shop has %v already", steps)
			}

			net.cut.Store(false)
			p.open(guitar)
			steady(t, pr.base, guitar, "lean point note")
			p.sees("3 entries sent")
			p.open(guitar + "/history")
			p.sees("typed behind the finishing room", "6.4")
			p.accessible()
			time.Sleep(300 * time.Millisecond)
			steady(t, pr.base, guitar, "lean point note")
		})
	}
}

// The answer to a save is lost, then the program itself is killed between the save and the answer.
func TestAnswersThatAreLost(t *testing.T) {
	t.Parallel()
	pr := alone(t)
	net := airTo(t, pr.base)
	p := at(t, apartFrom(t, browser(t)), net.URL, screens[0], true)
	guitar := p.guitarMade("Ruff")
	p.ready(guitar)

	net.loses.Store(true)
	p.leanOf(guitar, "6.4") // in reach, as far as anybody knows
	p.sees("1 entry waits")
	if net.lost.Load() == 0 {
		t.Fatal("no answer was lost, so nothing was tried")
	}
	steady(t, pr.base, guitar, "lean")
	p.open(guitar + "/step/point")
	p.readPoint("bass side", "1.5")
	p.sees("2 entries wait")
	before := net.lost.Load()
	p.open("/waiting")
	p.press("Send now")
	for deadline := time.Now().Add(patience); net.lost.Load() == before; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("nothing was sent again")
		}
	}
	// Killed with the entry on the disk and no answer given.
	if err := pr.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_, _ = pr.cmd.Process.Wait()
	net.cut.Store(true)
	p.note(guitar, "after the crash")
	p.sees("3 entries wait")
	pr.serve(t)
	net.leadTo(t, pr.base)
	net.loses.Store(false)
	net.cut.Store(false)
	p.open(guitar)
	steady(t, pr.base, guitar, "lean point note")
	p.sees("sent")
	p.open("/waiting")
	p.sees("Nothing waits here")
}

// Somebody else was at the guitar meanwhile: both are shown, and a person chooses.
func TestBothWereAtTheGuitar(t *testing.T) {
	t.Parallel()
	pr := alone(t)
	net := airTo(t, pr.base)
	all := browser(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			net.cut.Store(false)
			p := at(t, apartFrom(t, all), net.URL, s, true)
			guitar := p.guitarMade("Heron " + s.name)
			p.ready(guitar)
			net.cut.Store(true)
			p.note(guitar, "mine, the first")
			p.note(guitar, "mine, the second")
			p.sees("2 entries wait")
			_, revision := entries(t, pr.base, guitar)
			apiNote(t, pr.base, guitar, revision, "theirs")
			net.cut.Store(false)
			p.open("/waiting")
			p.sees("1 entry needs you", "mine, the first", "theirs", "bench 9", "Save mine as well")
			p.accessible()
			p.shot("conflict-kept")
			steady(t, pr.base, guitar, "note") // nothing went past it
			p.press("Save mine as well")
			steady(t, pr.base, guitar, "note note note")
			p.sees("Nothing waits here")

			// And the other way: mine is dropped, and what came after it still goes.
			p.ready(guitar)
			net.cut.Store(true)
			p.leanOf(guitar, "6.4")
			p.note(guitar, "mine, the fourth")
			p.sees("2 entries wait")
			_, revision = entries(t, pr.base, guitar)
			apiNote(t, pr.base, guitar, revision, "theirs again")
			net.cut.Store(false)
			p.open("/waiting")
			p.sees("theirs again")
			ask[bool](p, "(window.confirm = () => true) && true")
			p.press("Keep theirs, drop mine")
			p.sees("mine, the fourth", "Save mine as well")
			p.press("Save mine as well")
			steady(t, pr.base, guitar, "note note note note note")
		})
	}
}

// A figure that cannot be is found out when it is sent, and goes back to its form.
func TestAFigureThatCannotBe(t *testing.T) {
	t.Parallel()
	pr := alone(t)
	net := airTo(t, pr.base)
	p := at(t, apartFrom(t, browser(t)), net.URL, screens[0], true)
	guitar := p.guitarMade("Twite")
	p.ready(guitar)
	net.cut.Store(true)
	p.leanOf(guitar, "64")
	p.sees("1 entry waits")
	net.cut.Store(false)
	p.open("/waiting")
	p.sees("It was not taken", "did you mean")
	p.accessible()
	p.press("Put it right")
	p.sees("Nothing was saved")
	if got := p.value("gap under the straight edge, reading 1"); got != "64" {
		t.Errorf("the form says %q, 64 was typed", got)
	}
	p.put("gap under the straight edge, reading 1", "6.4")
	p.press("Save this reading")
	p.sees("Saved")
	steady(t, pr.base, guitar, "lean")
	if got := ask[string](p, "document.getElementById('line').innerText"); strings.Contains(got, "wait") {
		t.Errorf("the line still says %q", got)
	}
}

// Two devices out of reach at two guitars, then at one.
func TestTwoDevicesOutOfReach(t *testing.T) {
	t.Parallel()
	pr := alone(t)
	net := airTo(t, pr.base)
	all := browser(t)
	a, b := at(t, apartFrom(t, all), net.URL, screens[0], true), at(t, apartFrom(t, all), net.URL, screens[1], true)
	one, two := a.guitarMade("Dunlin"), b.guitarMade("Godwit")
	a.ready(one)
	b.ready(two)
	b.ready(one)
	net.cut.Store(true)
	a.leanOf(one, "6.4")
	b.leanOf(two, "7.4")
	b.leanOf(one, "6.8")
	a.sees("1 entry waits")
	b.sees("2 entries wait")
	net.cut.Store(false)
	a.open(one)
	steady(t, pr.base, one, "lean")
	b.open("/waiting")
	b.sees("1 entry needs you", "6.8", "6.4")
	steady(t, pr.base, two, "lean")
	b.press("Save mine as well")
	steady(t, pr.base, one, "lean lean")
}

func TestThePagesCanBeKeptAsAProgram(t *testing.T) {
	t.Parallel()
	pr := alone(t)
	p := at(t, apartFrom(t, browser(t)), pr.base, screens[0], true)
	p.open("/")
	var m struct {
		Start string `json:"start_url"`
		Icons []struct{ Src, Sizes, Type string }
	}
	if err := json.Unmarshal(fetch(t, pr.base+ask[string](p, "new URL(document.querySelector('link[rel=manifest]').href).pathname")), &m); err != nil {
		t.Fatal(err)
	}
	// source: web.dev, "What does it take to be installable": icons of 192 and 512 pixels, a start page
	if m.Start != "/" || len(m.Icons) < 3 {
		t.Errorf("the manifest says %+v", m)
	}
	for _, i := range m.Icons {
		if i.Type != "image/png" {
			continue
		}
		p.wait("the icon is "+i.Sizes, fmt.Sprintf("new Promise((yes) => { const i = new Image(); i.onload = () => yes(i.naturalWidth + 'x' + i.naturalHeight === %s); i.onerror = () => yes(false); i.src = %s; })", quote(i.Sizes), quote(i.Src)))
	}
	p.wait("the worker has taken over", "navigator.serviceWorker.controller !== null")
}

// What one maker typed is not sent as another's, and what one maker saw is not there for the next one.
func TestEntriesWaitForTheirMaker(t *testing.T) {
	t.Parallel()
	base := shareOut(t)
	net := airTo(t, base)
	all := browser(t, chromedp.Flag("ignore-certificate-errors", true))
	desk := at(t, apartFrom(t, all), base, screens[2], true)
	desk.signIn("front desk", "spruce and cedar")
	for _, name := range []string{"bench 3", "bench 4"} {
		desk.open("/people")
		desk.put("Name", name)
		desk.put("PIN or passphrase", "4821")
		desk.put("The same again", "4821")
		desk.press("Let them in")
		desk.sees(name + " can sign in now")
	}
	p := at(t, apartFrom(t, all), net.URL, screens[0], true)
	p.signIn("bench 3", "4821")
	guitar := p.guitarMade("Knot")
	p.ready(guitar)
	net.cut.Store(true)
	p.note(guitar, "typed by bench 3")
	p.sees("1 entry waits")
	// The sign-in runs out before the air is back.
	p.do("lose the sign-in", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, network.ClearBrowserCookies, cdp.Empty{})
		return err
	}))
	net.cut.Store(false)
	p.open("/waiting")
	p.press("Send now")
	p.sees("1 entry waits", "typed by bench 3")
	p.signIn("bench 4", "4821")
	p.sees("1 entry waits")
	p.open("/waiting")
	p.press("Send now")
	time.Sleep(500 * time.Millisecond)
	desk.open(guitar + "/history")
	if strings.Contains(desk.text(), "typed by bench 3") {
		t.Fatal("the entry was sent as somebody else's")
	}
	net.cut.Store(true)
	p.open(guitar)
	p.sees("The shop is out of reach") // the page of bench 3 is not kept for bench 4
	net.cut.Store(false)
	p.open("/account")
	p.press("Sign out")
	p.signIn("bench 3", "4821")
	p.open(guitar)
	p.sees("typed by bench 3")
	p.open(guitar + "/history")
	p.sees("typed by bench 3")
	if n := ask[int](p, `[...document.querySelectorAll(".log > li")].filter((e) => e.innerText.includes("typed by bench 3")).length`); n != 1 {
		t.Errorf("it stands there %d times", n)
	}
}

// A change of design and an undo need the shop: the page says so, nothing is half done, and what was typed is still there.
func TestWhatNeedsTheShop(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	bin := build(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			pr, net, p := byAir(t, browser, bin, s)
			guitar := p.guitarMade("Dunlin")
			p.ready(guitar)
			p.leanOf(guitar, "6.4")
			steady(t, pr.base, guitar, "lean")
			p.open(guitar + "/history")
			p.open(guitar + "/design")
			p.put("Bridge thickness", "8.3 mm")

			net.cut.Store(true)
			p.press("Save")
			p.sees("This could not be sent", "A change of design, an undo", "what you typed is still in the form")
			p.accessible()
			p.shot("unsaved")
			p.do("go back", chromedp.NavigateBack())
			p.sees("Bridge thickness")
			if got := p.value("Bridge thickness"); got != "8.3 mm" {
				t.Errorf("what was typed is %q after going back", got)
			}
			p.open(guitar + "/history")
			p.press("Undo")
			p.sees("This could not be sent")
			p.open("/waiting")
			p.sees("Nothing waits here")

			net.cut.Store(false)
			p.open(guitar)
			if revision := steady(t, pr.base, guitar, "lean"); revision != 2 {
				t.Errorf("the guitar stands at revision %d", revision)
			}
		})
	}
}
