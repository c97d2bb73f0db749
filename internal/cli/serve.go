package cli

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"fairset/internal/api"
	"fairset/internal/demo"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/web"

	"github.com/spf13/cobra"
)

const defaultAddr = "127.0.0.1:8080"

// How long the server waits. Readings are small and the network is this machine: what takes longer is stuck.
const (
	headerTimeout = 5 * time.Second
	readTimeout   = time.Minute
	writeTimeout  = 2 * time.Minute
	idleTimeout   = 2 * time.Minute
	stopTimeout   = 10 * time.Second
)

func (a *app) serveCmd() *cobra.Command {
	var addr string
	var show bool
	cmd := &cobra.Command{
		Use: "serve [--addr 127.0.0.1:8080] [--demo]", Short: "Serve the pages and the HTTP interface on this machine",
		Long: `Serve the pages and the HTTP interface (/api/v1) on this machine, until stopped with Ctrl-C.

There is no sign-in yet, so only this machine may ask: an address that others on the network could reach
is refused.`,
		Example: "  fairset serve\n  fairset serve --demo --addr 127.0.0.1:9000", Args: args(0, 0, ""),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := loopback(addr); err != nil {
				return err
			}
			ctx, stop := signal.NotifyContext(a.ctx, os.Interrupt, syscall.SIGTERM)
			defer stop()
			serve := func(s *shop.Shop) error { return a.serve(ctx, s, addr, show) }
			if show {
				return a.useDemo(serve)
			}
			return a.use("", serve)
		},
	}
	cmd.Flags().StringVar(&addr, "addr", defaultAddr, "address and port on this machine; port 0 takes a free one")
	cmd.Flags().BoolVar(&show, "demo", false, "serve a made-up shop that is gone when the program stops")
	return cmd
}

// loopback refuses an address that others could reach.
func loopback(addr string) error {
	const hint = "use 127.0.0.1:8080, localhost:8080 or [::1]:8080, and open the page on this machine"
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return &usageError{fmt.Sprintf("%q is not an address with a port", addr), hint}
	}
	if strings.EqualFold(host, "localhost") {
		return nil
	}
	if ip, err := netip.ParseAddr(host); err == nil && ip.IsLoopback() {
		return nil
	}
	return &usageError{fmt.Sprintf("%q could be reached by others on the network, and there is no sign-in yet, so anyone there could read and change the shop", addr), hint}
}

// useDemo fills a shop of its own that is removed afterwards.
func (a *app) useDemo(do func(s *shop.Shop) error) error {
	dir, err := os.MkdirTemp("", "fairset-demo-")
	if err != nil {
		return place.Refused(filepath.Join(os.TempDir(), "a temporary folder"), err)
	}
	defer os.RemoveAll(dir)
	a.db = filepath.Join(dir, "shop.db")
	return a.use("", func(s *shop.Shop) error {
		if err := demo.Fill(a.ctx, s); err != nil {
			return fmt.Errorf("making the demonstration: %w", err)
		}
		return do(s)
	})
}

func (a *app) serve(ctx context.Context, s *shop.Shop, addr string, show bool) error {
	log := slog.New(slog.NewTextHandler(a.Err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	inner := api.New(s)
	pages, err := web.New(s, web.Options{Log: log, API: inner, Stop: ctx, Demo: show})
	if err != nil {
		return fmt.Errorf("reading the pages: %w", err)
	}
	mux := http.NewServeMux()
	// The interface answers refusals in its own form, so it stands before the pages.
	mux.Handle("/api/", inner)
	mux.Handle("/", pages)
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return &usageError{fmt.Sprintf("cannot listen on %s: %v", addr, bareNet(err)), "another program may use the port; try --addr 127.0.0.1:0"}
	}
	srv := &http.Server{Handler: named(mux), ReadHeaderTimeout: headerTimeout, ReadTimeout: readTimeout, WriteTimeout: writeTimeout,
		IdleTimeout: idleTimeout, MaxHeaderBytes: 64 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) }}
	done := make(chan error, 1)
	go func() { done <- srv.Serve(l) }()
	where := "http://" + l.Addr().String() + "/"
	if show {
		a.printf("A made-up shop, gone when you stop: %s\n", where)
	} else {
		a.printf("Fairset is at %s\n", where)
	}
	a.printf("Stop with Ctrl-C.\n")
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	// What is being saved is finished first.
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTimeout)
	defer cancel()
	if err := srv.Shutdown(end); err != nil {
		return fmt.Errorf("stopping: %w", err)
	}
	if err := <-done; err != nil && !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	a.printf("Stopped.\n")
	return nil
}

func bareNet(err error) error {
	var oe *net.OpError
	if errors.As(err, &oe) {
		return oe.Err
	}
	return err
}

// named refuses a request that calls this machine by another name. A page elsewhere could otherwise give
// its own name this machine's address and read the shop through the browser.
func named(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.Trim(host, "[]")
		ip, err := netip.ParseAddr(host)
		if !strings.EqualFold(host, "localhost") && (err != nil || !ip.IsLoopback()) {
			http.Error(w, "This program answers only by the name localhost or a loopback address.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}
