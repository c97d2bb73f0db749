package guard

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"strings"
	"testing"
	"time"
)

// quick is a pace that tests can wait for.
var quick = Pace{Stall: 300 * time.Millisecond, Grace: time.Second, Rate: 10 << 10}

// started serves a handler at a pace, and returns its address.
func started(t *testing.T, h http.HandlerFunc) string {
	t.Helper()
	s := httptest.NewUnstartedServer(quick.Handler(h))
	s.Config.ReadTimeout, s.Config.WriteTimeout = quick.Grace, quick.Grace
	s.Start()
	t.Cleanup(s.Close)
	return s.Listener.Addr().String()
}

func dial(t *testing.T, at string) net.Conn {
	t.Helper()
	c, err := net.Dial("tcp", at)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

// send writes a body of n bytes in pieces, with a pause after each, and returns how the handler's reading ended.
func send(t *testing.T, n, piece int, pause time.Duration) error {
	t.Helper()
	ended := make(chan error, 1)
	at := started(t, func(w http.ResponseWriter, r *http.Request) {
		got, err := io.Copy(io.Discard, r.Body)
		if err == nil && got != int64(n) {
			err = fmt.Errorf("%d bytes of %d", got, n)
		}
		time.Sleep(2 * quick.Stall) // what is done with it takes longer than anybody may be silent
		if err == nil {
			err = r.Context().Err()
		}
		ended <- err
	})
	c := dial(t, at)
	go func() {
		fmt.Fprintf(c, "POST / HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n\r\n", n)
		for sent := 0; sent < n; sent += piece {
			if _, err := c.Write(make([]byte, min(piece, n-sent))); err != nil {
				return
			}
			time.Sleep(pause)
		}
	}()
	select {
	case err := <-ended:
		return err
	case <-time.After(10 * time.Second):
		return errors.New("it never ended")
	}
}

func TestBodies(t *testing.T) {
	t.Run("slow and steady", func(t *testing.T) {
		t.Parallel()
		if err := send(t, 30<<10, 1<<10, 60*time.Millisecond); err != nil { // 1.8 s, longer than the server's own limit
			t.Errorf("a body that makes progress: %v", err)
		}
	})
	t.Run("stalled", func(t *testing.T) {
		t.Parallel()
		if err := send(t, 2000, 1000, time.Minute); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("a body that stops: %v", err)
		}
	})
	t.Run("drop by drop", func(t *testing.T) {
		t.Parallel()
		if err := send(t, 1000, 1, 100*time.Millisecond); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("a byte now and then: %v", err)
		}
	})
}

func TestReplies(t *testing.T) {
	large := bytes.Repeat([]byte("spruce "), 32<<20/7)
	ended := make(chan error, 1)
	at := started(t, func(w http.ResponseWriter, r *http.Request) {
		_, err := w.Write(large)
		ended <- err
	})
	t.Run("nobody reads", func(t *testing.T) {
		c := dial(t, at)
		fmt.Fprint(c, "GET / HTTP/1.1\r\nHost: x\r\n\r\n")
		select {
		case err := <-ended:
			if !errors.Is(err, os.ErrDeadlineExceeded) {
				t.Errorf("written to nobody: %v", err)
			}
		case <-time.After(10 * time.Second):
			t.Error("the reply was never given up")
		}
	})
	t.Run("somebody reads slowly", func(t *testing.T) {
		c := dial(t, at)
		fmt.Fprint(c, "GET / HTTP/1.1\r\nHost: x\r\n\r\n")
		began, got, buf := time.Now(), 0, make([]byte, 256<<10)
		for got < len(large) {
			n, err := c.Read(buf)
			if err != nil {
				t.Fatalf("after %d bytes and %v: %v", got, time.Since(began), err)
			}
			got += n
			time.Sleep(time.Duration(n) * 2 * time.Second / time.Duration(len(large)))
		}
		if err := <-ended; err != nil || time.Since(began) < quick.Grace {
			t.Errorf("%v in %v", err, time.Since(began))
		}
	})
}

// A handler that streams sets its own deadlines, and a request without a body is not cut off while it is answered.
func TestStreams(t *testing.T) {
	at := started(t, func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		for range 5 {
			time.Sleep(quick.Grace / 2)
			if r.Context().Err() != nil || c.SetWriteDeadline(time.Now().Add(time.Second)) != nil {
				return
			}
			io.WriteString(w, "still here\n")
			if c.Flush() != nil {
				return
			}
		}
	})
	resp, err := http.Get("http://" + at)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if n := strings.Count(string(text), "still here"); err != nil || n != 5 {
		t.Errorf("told %d times, %v", n, err)
	}
}

func TestListener(t *testing.T) {
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := &Listener{Listener: inner, Each: 3, All: 5}
	defer l.Close()
	taken := make(chan net.Conn, 10)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			fmt.Fprintln(c, "in")
			taken <- c
		}
	}()
	in := func() bool {
		line, err := bufio.NewReader(dial(t, inner.Addr().String())).ReadString('\n')
		return err == nil && line == "in\n"
	}
	for n := range 5 {
		if got := in(); got != (n < 3) {
			t.Errorf("connection %d: let in %v", n+1, got)
		}
	}
	c := <-taken
	c.Close()
	c.Close() // counts once
	if !in() || in() {
		t.Error("a place that is free again is not one place")
	}
	l.Free = func(a netip.Addr) bool { return a.IsLoopback() }
	for n := range 4 {
		if got := in(); got != (n < 2) {
			t.Errorf("connection %d of all: let in %v", n+4, got)
		}
	}
}

func TestPlace(t *testing.T) {
	for text, want := range map[string]string{
		"192.0.2.7:80":                  "192.0.2.7",
		"[::ffff:192.0.2.7]:80":         "192.0.2.7",
		"[2001:db8::6]:80":              "2001:db8::6",
		"something that is no address!": "invalid IP",
	} {
		if got := place(named(text)).String(); got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

type named string

func (named) Network() string  { return "tcp" }
func (n named) String() string { return string(n) }
