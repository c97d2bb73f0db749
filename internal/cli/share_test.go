package cli

import (
	"bytes"
	"context"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
)

func TestUnsafeSharingDoesNotStart(t *testing.T) {
	db := filepath.Join(t.TempDir(), "shop.db")
	// run gives the program a line to read, and stops it as soon as it says how to stop it.
	run := func(in string, args ...string) (int, string) {
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		var errs bytes.Buffer
		code := Main(ctx, append([]string{"--db", db}, args...), Streams{strings.NewReader(in), stopper(cancel), &errs})
		return code, errs.String()
	}
	refused := func(want string, args ...string) {
		t.Helper()
		if code, errs := run("", args...); code != exitBadInput || !strings.Contains(errs, want) {
			t.Errorf("%v: exit code %d: %s", args, code, errs)
		}
	}
	refused("no teacher's passphrase", "serve", "--share", "--addr", "127.0.0.1:0")
	if code, errs := run("4821\n", "account", "add", "bench 3"); code != exitOK {
		t.Fatalf("adding a bench: %d %s", code, errs)
	}
	refused("no teacher's passphrase", "serve", "--share", "--addr", "127.0.0.1:0")
	if code, errs := run("too short\n", "account", "add", "desk", "--role", "teacher"); code != exitBadInput || !strings.Contains(errs, "10 characters") {
		t.Errorf("a weak passphrase: %d %s", code, errs)
	}
	if code, errs := run("spruce and cedar\n", "account", "add", "desk", "--role", "teacher"); code != exitOK {
		t.Fatalf("adding a teacher: %d %s", code, errs)
	}
	refused("made-up shop", "serve", "--share", "--demo", "--addr", "127.0.0.1:0")
	refused("--share", "serve", "--addr", "0.0.0.0:0")
	refused("go together", "serve", "--share", "--cert", "a.pem", "--addr", "127.0.0.1:0")
	refused("add --share", "serve", "--cert", "a.pem", "--key", "b.pem")
	refused("by which name", "serve", "--share", "--behind-proxy", "127.0.0.1", "--addr", "127.0.0.1:0")
	refused("past the proxy", "serve", "--share", "--behind-proxy", "127.0.0.1", "--host", "shop.example.org", "--addr", "0.0.0.0:0")
	refused("not the address of a proxy", "serve", "--share", "--behind-proxy", "front", "--host", "shop.example.org", "--addr", "127.0.0.1:0")
	refused("no certificate for", "serve", "--share", "--host", "shop.example.org", "--addr", "127.0.0.1:0")
	if code, errs := run("", "serve", "--share", "--addr", "127.0.0.1:0"); code != exitOK {
		t.Errorf("with a teacher: exit code %d: %s", code, errs)
	}
}

// stopper calls itself when the program says that it is serving.
type stopper func()

func (stop stopper) Write(b []byte) (int, error) {
	if bytes.Contains(b, []byte("Stop with Ctrl-C")) {
		stop()
	}
	return len(b), nil
}

func TestAProxyIsTakenAtItsWordAndNobodyElse(t *testing.T) {
	var saw string
	h := behind("192.0.2.1", http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { saw = r.RemoteAddr }))
	ask := func(from, said string) int {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = from
		r.Header.Set("X-Forwarded-For", said)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code
	}
	if code := ask("203.0.113.5:4000", "192.0.2.1"); code != http.StatusMisdirectedRequest {
		t.Errorf("past the proxy: %d", code)
	}
	// What the asker claimed itself stands first; the proxy adds what it saw at the end.
	if code := ask("192.0.2.1:4000", "10.0.0.1, 198.51.100.7"); code != http.StatusOK || saw != "198.51.100.7:0" {
		t.Errorf("through the proxy: %d, from %q", code, saw)
	}
	if ask("192.0.2.1:4000", "nonsense"); saw != "192.0.2.1:4000" {
		t.Errorf("a proxy that says nothing of use: %q", saw)
	}
}

func TestOnlyItsOwnNames(t *testing.T) {
	h := answersTo([]string{"192.168.7.20", "bench.local"}, http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	for host, want := range map[string]int{"192.168.7.20:8443": 200, "Bench.local": 200, "elsewhere.example": 421, "": 421} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("%q: %d, want %d", host, w.Code, want)
		}
	}
}
