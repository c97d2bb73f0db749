package cli

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// serve starts the program as a person does and returns the address it says, and a function that stops it
// as Ctrl-C does and returns its exit code.
func serve(t *testing.T, args ...string) (string, func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	out, in := io.Pipe()
	done := make(chan int, 1)
	go func() {
		done <- Main(ctx, append([]string{"serve", "--addr", "127.0.0.1:0"}, args...), Streams{strings.NewReader(""), in, in})
		in.Close()
	}()
	lines := bufio.NewScanner(out)
	var said []string
	for lines.Scan() {
		said = append(said, lines.Text())
		if _, url, ok := strings.Cut(lines.Text(), "http://"); ok {
			go io.Copy(io.Discard, out)
			return "http://" + url, func() int { cancel(); return <-done }
		}
	}
	cancel()
	t.Fatalf("no address said; exit code %d: %s", <-done, strings.Join(said, "\n"))
	return "", nil
}

func get(t *testing.T, url string, change func(*http.Request)) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(r)
	}
	c := &http.Client{Timeout: 30 * time.Second}
	resp, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(body)
}

// TestServeDemo: pages and interface answer from the made-up shop, which is gone afterwards.
func TestServeDemo(t *testing.T) {
	tmp := t.TempDir()
	t.Setenv("TMPDIR", tmp)
	at, stop := serve(t, "--demo")
	if status, body := get(t, at+"api/v1/guitars", nil); status != 200 || !strings.Contains(body, `"Plover"`) {
		t.Errorf("interface: status %d: %s", status, body)
	}
	if status, body := get(t, at, nil); status != 200 || !strings.Contains(body, "Plover") {
		t.Errorf("page: status %d: %.300s", status, body)
	}
	if left, _ := filepath.Glob(filepath.Join(tmp, "fairset-demo-*", "shop.db")); len(left) != 1 {
		t.Errorf("the made-up shop is not where the test looks: %v", left)
	}
	if code := stop(); code != 0 {
		t.Errorf("exit code %d", code)
	}
	if left, _ := os.ReadDir(tmp); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

// TestServeKeeps: what came in over the interface is there after a restart.
func TestServeKeeps(t *testing.T) {
	db := filepath.Join(t.TempDir(), "shop.db")
	at, stop := serve(t, "--db", db)
	resp, err := http.Post(at+"api/v1/guitars", "application/json", strings.NewReader(`{"name":"Heron","design":"steel-14"}`))
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusCreated {
		t.Fatalf("status %d", resp.StatusCode)
	}
	if code := stop(); code != 0 {
		t.Fatalf("exit code %d", code)
	}
	at, stop = serve(t, "--db", db)
	defer stop()
	if _, body := get(t, at+"api/v1/guitars", nil); !strings.Contains(body, `"Heron"`) {
		t.Errorf("not there: %s", body)
	}
}

// TestServeKeepsCopies: a shop that is served is copied by itself, and cannot be restored over meanwhile.
func TestServeKeepsCopies(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "shop.db")
	_, stop := serve(t, "--db", db)
	var copies []string
	for patience := time.Now().Add(20 * time.Second); len(copies) == 0 && time.Now().Before(patience); time.Sleep(10 * time.Millisecond) {
		copies, _ = filepath.Glob(filepath.Join(dir, "backups", "shop-*.db"))
	}
	if len(copies) != 1 {
		t.Fatalf("copies: %v", copies)
	}
	var said strings.Builder
	if code := Main(t.Context(), []string{"backup", "restore", copies[0], "--db", db}, Streams{strings.NewReader(""), &said, &said}); code != 7 || !strings.Contains(said.String(), "open in another program") {
		t.Errorf("restoring while it is served: exit code %d: %s", code, said.String())
	}
	if code := stop(); code != 0 {
		t.Errorf("exit code %d", code)
	}
	if code := Main(t.Context(), []string{"backup", "restore", copies[0], "--db", db}, Streams{strings.NewReader(""), &said, &said}); code != 0 {
		t.Errorf("restoring afterwards: exit code %d: %s", code, said.String())
	}
}

// TestServeOnlyByItsOwnName: a page that gives its own name this machine's address gets nothing.
func TestServeOnlyByItsOwnName(t *testing.T) {
	at, stop := serve(t, "--demo")
	defer stop()
	for host, want := range map[string]int{"": 200, "localhost:8080": 200, "[::1]:80": 200, "evil.example": 421, "127.0.0.1.evil.example:80": 421} {
		status, _ := get(t, at+"api/v1/guitars", func(r *http.Request) { r.Host = host })
		if status != want {
			t.Errorf("host %q: status %d, want %d", host, status, want)
		}
	}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, at+"api/v1/guitars", strings.NewReader(`{"name":"X","design":"steel-14"}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Origin", "http://evil.example")
	r.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if body, _ := io.ReadAll(resp.Body); resp.StatusCode != http.StatusForbidden || !strings.HasPrefix(string(body), `{"error":`) {
		t.Errorf("another site's request: status %d: %s", resp.StatusCode, body)
	}
}

func TestLoopback(t *testing.T) {
	for addr, ok := range map[string]bool{"127.0.0.1:8080": true, "localhost:0": true, "[::1]:80": true, "127.9.9.9:1": true,
		":8080": false, "0.0.0.0:8080": false, "[::]:80": false, "192.168.1.4:80": false, "example.org:80": false, "8080": false, "": false} {
		if err := loopback(addr); (err == nil) != ok {
			t.Errorf("%q: %v", addr, err)
		}
	}
}
