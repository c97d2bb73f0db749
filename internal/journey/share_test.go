package journey

import (
	"bufio"
	"context"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/chromedp/chromedp"
)

// shareOut starts the program with a shared shop, whose teacher is "front desk", and returns its address.
func shareOut(t *testing.T) string {
	t.Helper()
	bin, db := build(t), filepath.Join(t.TempDir(), "shop.db")
	add := exec.Command(bin, "--db", db, "account", "add", "front desk", "--role", "teacher")
	add.Stdin = strings.NewReader("spruce and cedar\n")
	if out, err := add.CombinedOutput(); err != nil {
		t.Fatalf("make a teacher: %v: %s", err, out)
	}
	cmd := exec.Command(bin, "--db", db, "serve", "--share", "--addr", "127.0.0.1:0")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Signal(syscall.SIGTERM); _ = cmd.Wait() })
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if _, at, ok := strings.Cut(lines.Text(), "shared at "); ok {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return strings.TrimSuffix(at, "/")
		}
	}
	t.Fatal("the program does not say where the shop is shared")
	return ""
}

func (p *person) signIn(name, secret string) {
	p.t.Helper()
	p.open("/sign-in")
	p.put("Who are you?", name)
	p.put("PIN or passphrase", secret)
	sel := p.mark("fill", "PIN or passphrase")
	p.do("sign in", chromedp.SendKeys(chromedp.CSS(sel), "\r"))
	p.settle()
}

// hostile is text that would run if a page took it for markup.
const hostile = `"><img src=x onerror=window.hit=1><script>window.hit=1</script>'"--`

// TestSharedShop: a teacher lets two benches in; each sees its own guitars; hostile text stays text everywhere.
func TestSharedShop(t *testing.T) {
	t.Parallel()
	base := shareOut(t)
	all := browser(t, chromedp.Flag("ignore-certificate-errors", true)) // the shop's own certificate, which this browser was not told to trust
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			apart := func() *person { return at(t, apartFrom(t, all), base, s, true) }
			desk := apart()
			desk.open("/")
			desk.sees("Who are you?")
			desk.accessible()
			desk.signIn("front desk", "wrong wrong wrong")
			desk.sees("do not go together")
			desk.accessible()
			desk.signIn("front desk", "spruce and cedar")
			desk.open("/people")
			desk.sees("Where phones find this shop", base)
			desk.accessible()
			one, two := "bench "+s.name, "other "+s.name
			for _, name := range []string{one, two} {
				desk.open("/people")
				desk.put("Name", name)
				desk.put("PIN or passphrase", "4821")
				desk.put("The same again", "4821")
				desk.press("Let them in")
				desk.sees(name + " can sign in now")
			}
			desk.open("/people")
			desk.shot("people")

			a := apart()
			a.signIn(one, "4821")
			a.sees("Start a guitar")
			a.newGuitar("Larch " + s.name + " " + hostile)
			where := a.path()
			guitar := strings.TrimSuffix(strings.SplitN(where, "?", 2)[0], "/design")
			a.open(guitar + "/step/note")
			a.put("Note", hostile)
			a.press("Keep this note")
			for _, path := range []string{"/", guitar, guitar + "/history", guitar + "/design", guitar + "/paper", guitar + "/print", "/account"} {
				a.open(path)
				if ask[bool](a, "window.hit === 1 || document.querySelector('img[src=\"x\"]') !== null") {
					t.Errorf("%s takes what a maker typed for markup", path)
				}
			}
			a.open("/account")
			a.accessible()
			a.shot("account")

			b := apart()
			b.signIn(two, "4821")
			if strings.Contains(b.text(), "Larch") {
				t.Error("one bench sees the guitar of another")
			}
			b.open(guitar)
			b.sees("No guitar here")

			desk.open(guitar)
			desk.sees("Whose is it?")
			desk.accessible()
			desk.open("/trail")
			desk.sees(one, "signed in")
			desk.accessible()
			desk.shot("trail")
			if ask[bool](desk, "window.hit === 1") {
				t.Error("the trail takes what a maker typed for markup")
			}
			desk.open("/trust")
			desk.accessible()
			a.open("/account")
			a.press("Sign out")
			a.sees("Signed out")
			a.open(guitar)
			a.sees("Who are you?")
		})
	}
}

// apartFrom is a browser of its own, without the others' cookies.
func apartFrom(t *testing.T, browser context.Context) context.Context {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	return ctx
}
