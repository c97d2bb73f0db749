package cli

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// A hundred who send their heads or bodies drop by drop, or never read what they are told, leave the shop to whoever
// works: saves go on as quickly, and what was held for the hundred is given back.
func TestAHundredSlowClients(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	at, stop := serve(t, "--db", filepath.Join(t.TempDir(), "shop.db"), "--backup-every", "0")
	host := strings.TrimSuffix(strings.TrimPrefix(at, "http://"), "/")
	status, made := post(t, at+"api/v1/guitars", map[string]any{"name": "Heron", "design": "steel-14"})
	if status != http.StatusCreated {
		t.Fatalf("status %d: %v", status, made)
	}
	id, revision := fmt.Sprint(made["id"]), 1
	save := func(n int) time.Duration {
		t.Helper()
		began := time.Now()
		if status, said := post(t, at+"api/v1/guitars/"+id+"/entries", map[string]any{"revision": revision, "step": "note", "values": map[string]any{"text": fmt.Sprint("note ", n)}}); status != http.StatusCreated {
			t.Fatalf("status %d: %v", status, said)
		}
		revision++
		return time.Since(began)
	}
	middle := func() time.Duration {
		var took []time.Duration
		for n := range 21 {
			took = append(took, save(n))
		}
		slices.Sort(took)
		return took[len(took)/2]
	}
	alone, before := middle(), runtime.NumGoroutine()

	var heads, others []net.Conn
	for n := range 100 {
		c, err := net.Dial("tcp", host)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		switch n % 3 {
		case 0: // a head that never ends
			fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: %s\r\nX-Slow: ", host)
			heads = append(heads, c)
		case 1: // a body that never ends
			fmt.Fprintf(c, "POST /api/v1/guitars/%s/entries HTTP/1.1\r\nHost: %s\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{", id, host)
			others = append(others, c)
		case 2: // told of every change, and reads nothing
			c.(*net.TCPConn).SetReadBuffer(2048)
			fmt.Fprintf(c, "GET /class/events HTTP/1.1\r\nHost: %s\r\n\r\n", host)
			others = append(others, c)
		}
	}
	drip := time.NewTicker(200 * time.Millisecond)
	defer drip.Stop()
	done := make(chan bool)
	defer close(done)
	go func() {
		for {
			select {
			case <-done:
				return
			case <-drip.C:
			}
			for _, c := range heads {
				c.Write([]byte("x"))
			}
		}
	}()
	among := middle()
	t.Logf("a save takes %v alone and %v among a hundred slow clients", alone.Round(time.Microsecond), among.Round(time.Microsecond))
	if among > 20*alone+100*time.Millisecond {
		t.Errorf("a save takes %v among slow clients, %v alone", among, alone)
	}
	// Heads that never end are hung up on.
	for n, c := range heads {
		c.SetReadDeadline(time.Now().Add(headerTimeout + 5*time.Second))
		if _, err := io.ReadAll(c); err != nil && !strings.Contains(err.Error(), "reset") {
			t.Fatalf("head %d: %v", n, err)
		}
	}
	for _, c := range others {
		c.Close()
	}
	for patience := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if now := runtime.NumGoroutine(); now <= before+15 {
			break
		} else if time.Now().After(patience) {
			t.Errorf("%d goroutines, %d before", now, before)
			break
		}
	}
	save(100)
	if code := stop(); code != 0 {
		t.Errorf("exit code %d", code)
	}
}
