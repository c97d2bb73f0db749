// Package pgtest gives tests a PostgreSQL to try things on: a schema of their own in the one FAIRSET_PG names, or
// a whole server of their own that may be stopped and cut off. Without FAIRSET_PG such tests are skipped.
package pgtest

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"

	"fairset/internal/store"
)

// Env names the variable with the address of a database whose user may make schemas.
const Env = "FAIRSET_PG"

func address(t testing.TB) string {
	t.Helper()
	a := os.Getenv(Env)
	if a == "" {
		t.Skipf("%s names no PostgreSQL to try this on", Env)
	}
	return a
}

// Schema makes an empty schema that goes with the test, and returns its address.
func Schema(t testing.TB) string {
	t.Helper()
	return SchemaAt(t, address(t))
}

// SchemaAt is Schema in another database.
func SchemaAt(t testing.TB, address string) string {
	t.Helper()
	name := "test_" + store.NewID() + store.NewID()
	run := func(ctx context.Context, q string) error {
		c, err := pgx.Connect(ctx, address)
		if err != nil {
			return err
		}
		defer c.Close(ctx)
		_, err = c.Exec(ctx, q)
		return err
	}
	if err := run(t.Context(), "CREATE SCHEMA "+name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { run(context.Background(), "DROP SCHEMA "+name+" CASCADE") })
	return With(t, address, "search_path", name)
}

// With returns an address with one more setting.
func With(t testing.TB, address, key, value string) string {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	q.Set(key, value)
	u.RawQuery = q.Encode()
	return u.String()
}

// Exec runs statements past the store.
func Exec(t testing.TB, address string, statements ...string) error {
	t.Helper()
	c, err := pgx.Connect(context.Background(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(context.Background())
	for _, q := range statements {
		if _, err := c.PgConn().Exec(context.Background(), q).ReadAll(); err != nil {
			return err
		}
	}
	return nil
}

// Cluster is a server of a test's own.
type Cluster struct {
	t         testing.TB
	bin, data string
	port      int
	Address   string // of its database
}

// Own makes and starts a server in a temporary folder, on a free port of this machine.
func Own(t testing.TB) *Cluster {
	t.Helper()
	address(t)
	bins, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil || len(bins) == 0 {
		t.Fatalf("%s is set, and no PostgreSQL is installed under /usr/lib/postgresql: %v", Env, err)
	}
	dir, err := os.MkdirTemp("", "fairset-pg-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &Cluster{t: t, bin: bins[len(bins)-1], data: filepath.Join(dir, "data"), port: l.Addr().(*net.TCPAddr).Port}
	l.Close()
	if os.Getuid() == 0 { // which the server refuses to run as
		if out, err := exec.Command("chown", "postgres", dir).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	c.Run("initdb", "-D", c.data, "-U", "postgres", "--auth=trust", "-E", "UTF8", "--locale=C.UTF-8", "-N")
	c.Address = fmt.Sprintf("postgres://postgres@127.0.0.1:%d/postgres?sslmode=disable", c.port)
	c.Start()
	t.Cleanup(func() { c.run("pg_ctl", "-D", c.data, "-m", "immediate", "stop") })
	return c
}

func (c *Cluster) run(name string, args ...string) ([]byte, error) {
	args = append([]string{filepath.Join(c.bin, name)}, args...)
	if os.Getuid() == 0 {
		args = append([]string{"runuser", "-u", "postgres", "--"}, args...)
	}
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Dir = "/"
	out, err := os.CreateTemp("", "fairset-pg-out-") // not a pipe: the server would hold it open
	if err != nil {
		return nil, err
	}
	defer os.Remove(out.Name())
	defer out.Close()
	cmd.Stdout, cmd.Stderr = out, out
	err = cmd.Run()
	text, _ := os.ReadFile(out.Name())
	return text, err
}

// Folder is one that the server's own user may write in.
func (c *Cluster) Folder() string { return filepath.Dir(c.data) }

// File is a file of the server's, as pg_relation_filepath names it.
func (c *Cluster) File(name string) string { return filepath.Join(c.data, name) }

// Run runs one of PostgreSQL's own programs, which must not fail.
func (c *Cluster) Run(name string, args ...string) {
	c.t.Helper()
	if out, err := c.run(name, args...); err != nil {
		c.t.Fatalf("%s: %v: %s", name, err, out)
	}
}

// Start starts the server and waits until it answers.
func (c *Cluster) Start() {
	c.t.Helper()
	c.Run("pg_ctl", "-D", c.data, "-w", "-o", "-c listen_addresses=127.0.0.1 -c unix_socket_directories= -p "+strconv.Itoa(c.port), "-l", filepath.Join(filepath.Dir(c.data), "log"), "start")
}

// Stop stops the server: "fast" asks it to, "immediate" is as if it crashed.
func (c *Cluster) Stop(mode string) {
	c.t.Helper()
	c.Run("pg_ctl", "-D", c.data, "-w", "-m", mode, "stop")
}

// Line is a way to a server that can be cut off.
type Line struct {
	to, Address string
	l           net.Listener
	deaf        atomic.Bool

	mu    sync.Mutex
	cut   bool
	conns []net.Conn
	hook  func(sent []byte) bool
}

// NewLine makes a way to the server of an address; its own address leads through it.
func NewLine(t testing.TB, address string) *Line {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	line := &Line{to: u.Host, l: l}
	u.Host = l.Addr().String()
	line.Address = u.String()
	go line.serve()
	t.Cleanup(func() { l.Close(); line.Cut() })
	return line
}

func (l *Line) serve() {
	for {
		in, err := l.l.Accept()
		if err != nil {
			return
		}
		l.mu.Lock()
		cut := l.cut
		l.mu.Unlock()
		if cut {
			in.Close()
			continue
		}
		out, err := net.Dial("tcp", l.to)
		if err != nil {
			in.Close()
			continue
		}
		l.mu.Lock()
		l.conns = append(l.conns, in, out)
		l.mu.Unlock()
		go l.pass(in, out, true)
		go l.pass(out, in, false)
	}
}

// pass hands on what one end sends. What is sent to the server may be looked at.
func (l *Line) pass(from, to net.Conn, asks bool) {
	defer from.Close()
	defer to.Close()
	buf := make([]byte, 64<<10)
	for {
		n, err := from.Read(buf)
		if n > 0 {
			l.mu.Lock()
			hook := l.hook
			l.mu.Unlock()
			if !asks && l.deaf.Load() {
				return // the server answered, and nobody hears it
			}
			if asks && hook != nil && hook(bytes.Clone(buf[:n])) {
				l.deaf.Store(true)
			}
			if _, err := to.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// LoseAnswer lets the server get what do finds in it, and cuts the line before its answer.
func (l *Line) LoseAnswer(find string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.hook = func(sent []byte) bool { return bytes.Contains(sent, []byte(find)) }
}

// Cut breaks every connection and lets none through.
func (l *Line) Cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.cut = true
	for _, c := range slices.Backward(l.conns) {
		c.Close()
	}
	l.conns = nil
}

// Mend lets connections through again.
func (l *Line) Mend() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.cut, l.hook = false, nil
	l.deaf.Store(false)
}
