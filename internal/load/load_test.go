package load

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fairset/internal/api"
	"fairset/internal/cli"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/store/postgres"
	"fairset/internal/store/postgres/pgtest"
	"fairset/internal/store/sqlite"
	"fairset/internal/web"
)

// How long and how often, when somebody asks for more than an ordinary test takes.
const (
	forEnv   = "FAIRSET_LOAD"  // how long the benches work, such as 5m
	killsEnv = "FAIRSET_KILLS" // how often the server is killed
	childEnv = "FAIRSET_TEST_SERVE"
)

// The test binary run again is the program that serves and is killed.
func TestMain(m *testing.M) {
	if line := os.Getenv(childEnv); line != "" {
		os.Exit(cli.Main(context.Background(), strings.Split(line, "\x1f"), cli.Streams{In: strings.NewReader(""), Out: os.Stdout, Err: os.Stderr}))
	}
	os.Exit(m.Run())
}

// server is the program serving a shop as a process of its own, at one address whenever it is started.
type server struct {
	t    *testing.T
	addr string
	db   string
	cmd  *exec.Cmd
	gone chan error
}

func newServer(t *testing.T, db string) *server {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &server{t: t, addr: l.Addr().String(), db: db}
	l.Close()
	t.Cleanup(func() {
		if s.cmd != nil {
			s.kill()
		}
	})
	return s
}

// start starts the program and waits until it says where it is.
func (s *server) start() error {
	s.cmd = exec.Command(os.Args[0])
	s.cmd.Env = append(os.Environ(), childEnv+"="+strings.Join([]string{"serve", "--addr", s.addr, "--db", s.db, "--backup-every", "0"}, "\x1f"))
	s.cmd.Stderr = os.Stderr
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := s.cmd.Start(); err != nil {
		return err
	}
	s.gone = make(chan error, 1)
	ready := make(chan bool, 1)
	cmd, gone := s.cmd, s.gone
	go func() {
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if strings.Contains(lines.Text(), s.addr) {
				ready <- true
			}
		}
		gone <- cmd.Wait()
	}()
	select {
	case <-ready:
		return nil
	case err := <-s.gone:
		s.cmd = nil
		return fmt.Errorf("the server ended: %v", err)
	case <-time.After(time.Minute):
		return fmt.Errorf("the server does not say where it is")
	}
}

// kill ends the program as a power cut does.
func (s *server) kill() {
	_ = s.cmd.Process.Kill()
	<-s.gone
	s.cmd = nil
}

func report(t *testing.T, r Report) {
	t.Helper()
	t.Log(r)
	for i, what := range r.Trouble {
		if i == 30 {
			break
		}
		t.Error(what)
	}
	if r.Saves == 0 || r.Pages == 0 {
		t.Error("nothing was done")
	}
}

func howLong(t *testing.T, usual time.Duration) time.Duration {
	t.Helper()
	text := os.Getenv(forEnv)
	if text == "" {
		return usual
	}
	d, err := time.ParseDuration(text)
	if err != nil {
		t.Fatalf("%s: %v", forEnv, err)
	}
	return d
}

// stores are what the shop may be kept in.
var stores = map[string]func(t *testing.T) string{
	"sqlite":   func(t *testing.T) string { return filepath.Join(t.TempDir(), "shop.db") },
	"postgres": func(t *testing.T) string { return pgtest.Schema(t) },
}

// check opens the shop and reads everything.
func check(t *testing.T, db string) {
	t.Helper()
	var s store.Store
	var err error
	if postgres.Is(db) {
		s, err = postgres.Open(t.Context(), db, postgres.Options{})
	} else {
		s, err = sqlite.Open(t.Context(), db, sqlite.Options{})
	}
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

// Two hundred benches read and save, each twice as fast as anybody works; what the shop acknowledged is there, once.
func TestTwoHundredBenches(t *testing.T) {
	for name, place := range stores {
		t.Run(name, func(t *testing.T) {
			s := newServer(t, place(t))
			if err := s.start(); err != nil {
				t.Fatal(err)
			}
			r, err := Run(t.Context(), Options{URL: "http://" + s.addr + "/", Benches: 200, For: howLong(t, 3*time.Second), Think: 2 * time.Second, Patience: time.Minute, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			report(t, r)
			s.kill()
			check(t, s.db)
		})
	}
}

// The server is killed again and again while benches save; each bench then replays its log.
func TestKilledUnderLoad(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a program is not killed like that there")
	}
	kills := 4
	if text := os.Getenv(killsEnv); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatalf("%s: %v", killsEnv, err)
		}
		kills = n
	}
	for name, place := range stores {
		t.Run(name, func(t *testing.T) {
			s := newServer(t, place(t))
			if err := s.start(); err != nil {
				t.Fatal(err)
			}
			var saved atomic.Int64
			ctx, stop := context.WithCancel(t.Context())
			defer stop()
			done := make(chan struct{})
			var failed error
			killed := 0
			enough := make(chan bool)
			go func() {
				defer close(done)
				defer close(enough)
				for killed < kills {
					// Killed after some saves, wherever the next ones stand then.
					for from, late := saved.Load(), time.Now().Add(20*time.Second); saved.Load() < from+15+int64(killed%7) && time.Now().Before(late); {
						select {
						case <-ctx.Done():
							return
						case <-time.After(time.Millisecond):
						}
					}
					s.kill()
					killed++
					if failed = s.start(); failed != nil {
						return
					}
				}
			}()
			// The benches go on until the last kill is over.
			o := Options{URL: "http://" + s.addr + "/", Benches: 12, For: time.Hour, Think: 10 * time.Millisecond, Patience: time.Minute, Seed: 2, Saved: func() { saved.Add(1) }, Enough: enough}
			r, err := Run(ctx, o)
			if err != nil {
				t.Fatal(err)
			}
			stop()
			<-done
			if failed != nil {
				t.Fatal(failed)
			}
			report(t, r)
			t.Logf("%d kills", killed)
			if killed != kills || r.Unsure == 0 {
				t.Errorf("%d kills, %d saves without an answer: the test did not try what it should", killed, r.Unsure)
			}
			s.kill()
			check(t, s.db)
		})
	}
}

// inProcess is the interface and the pages of a shop of its own.
func inProcess(t testing.TB) http.Handler {
	t.Helper()
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	s := shop.New(db)
	pages, err := web.New(s, web.Options{Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/api/", api.New(s))
	mux.Handle("/", pages)
	return mux
}

// A shop that loses or doubles is found out: the driver's own check is checked.
func TestTheDriverFindsFaults(t *testing.T) {
	for name, fault := range map[string]struct {
		spoil func(n int64, next http.Handler, w http.ResponseWriter, r *http.Request)
		says  string
	}{
		"acknowledged and not kept": {func(n int64, next http.Handler, w http.ResponseWriter, r *http.Request) {
			if n%10 != 3 {
				next.ServeHTTP(w, r)
				return
			}
			id := strings.Split(r.URL.Path, "/")[4] // "", api, v1, guitars, ID
			next.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/api/v1/guitars/"+id, nil))
		}, "acknowledged"},
		"refused and kept": {func(n int64, next http.Handler, w http.ResponseWriter, r *http.Request) {
			if n%10 != 3 {
				next.ServeHTTP(w, r)
				return
			}
			next.ServeHTTP(httptest.NewRecorder(), r)
			w.WriteHeader(http.StatusConflict)
		}, "was refused and is there"},
	} {
		t.Run(name, func(t *testing.T) {
			next := inProcess(t)
			var posts atomic.Int64
			srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				if r.Method == http.MethodPost && strings.HasSuffix(r.URL.Path, "/entries") {
					fault.spoil(posts.Add(1), next, w, r)
					return
				}
				next.ServeHTTP(w, r)
			}))
			defer srv.Close()
			r, err := Run(t.Context(), Options{URL: srv.URL + "/", Benches: 3, For: 700 * time.Millisecond, Think: 5 * time.Millisecond, Seed: 3})
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(strings.Join(r.Trouble, "\n"), fault.says) {
				t.Errorf("not found out: %v, %q", r, r.Trouble)
			}
		})
	}
}

func TestPercentile(t *testing.T) {
	// nearest rank, by hand
	ds := []time.Duration{5, 1, 4, 2, 3}
	for p, want := range map[int]time.Duration{1: 1, 20: 1, 21: 2, 50: 3, 99: 5, 100: 5} {
		if got := percentile(ds, p); got != want {
			t.Errorf("percentile %d is %d, want %d", p, got, want)
		}
	}
	if percentile(nil, 50) != 0 {
		t.Error("of none")
	}
}

// BenchmarkBenches has fifty benches work without a pause, in one process with the shop, so that a profile shows
// where the time of a save goes.
func BenchmarkBenches(b *testing.B) {
	srv := httptest.NewServer(inProcess(b))
	defer srv.Close()
	for b.Loop() {
		r, err := Run(b.Context(), Options{URL: srv.URL + "/", Benches: 50, For: 2 * time.Second, Patience: time.Minute, Seed: 4})
		if err != nil || len(r.Trouble) > 0 {
			b.Fatal(err, r.Trouble)
		}
		b.ReportMetric(float64(r.Saves)/r.Took.Seconds(), "saves/s")
		b.ReportMetric(float64(r.Pages)/r.Took.Seconds(), "pages/s")
		b.ReportMetric(r.SaveP99.Seconds()*1e3, "ms/save-p99")
	}
	b.ReportMetric(0, "ns/op")
}
