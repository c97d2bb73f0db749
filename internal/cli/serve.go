package cli

import (
	"context"
	"crypto/tls"
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
	"sync"
	"syscall"
	"time"

	"fairset/internal/access"
	"fairset/internal/api"
	"fairset/internal/backup"
	"fairset/internal/demo"
	"fairset/internal/guard"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store/move"
	"fairset/internal/web"
	"fairset/unit"

	"github.com/spf13/cobra"
)

const defaultAddr = "127.0.0.1:8080"

// How long the server waits. A body or a reply that makes progress gets more (guard.Usual).
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
	var sh sharing
	var bk backups
	cmd := &cobra.Command{
		Use: "serve [--addr 127.0.0.1:8080] [--demo] [--share]", Short: "Serve the pages and the HTTP interface",
		Long: `Serve the pages and the HTTP interface (/api/v1), until stopped with Ctrl-C.

On its own only this machine may ask, and nobody signs in: an address that others on the network could reach
is refused. With --share the shop's network may ask. Everybody signs in then (see fairset account), and
everything travels over TLS: with a certificate the shop makes for itself, with one of yours (--cert, --key),
or with that of a proxy in front (--behind-proxy).

While it serves it copies the shop every six hours into the folder backups beside the shop's file (see fairset
backup), and thins the copies out as they grow old: it keeps the last 24, one of each of 14 days, and one of each
of 8 weeks. Keep copies on another disk as well.`,
		Example: "  fairset serve\n  fairset serve --demo --addr 127.0.0.1:9000\n  fairset serve --share\n  fairset serve --share --behind-proxy 127.0.0.1 --host shop.example.org --addr 127.0.0.1:8080", Args: args(0, 0, ""),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if sh.on && !cmd.Flags().Changed("addr") {
				addr = defaultShareAddr
			}
			if !sh.on {
				if sh.cert != "" || sh.key != "" || sh.proxy != "" || len(sh.hosts) > 0 {
					return misused("--cert, --key, --behind-proxy and --host say how a shop is shared", "add --share, or leave them away")
				}
				if err := loopback(addr); err != nil {
					return err
				}
			}
			if bk.every != 0 && bk.every < time.Minute {
				return &usageError{unit.Say("--backup-every is %v", bk.every), unit.Say("a minute or more, or 0 for never")}
			}
			ctx, stop := signal.NotifyContext(a.ctx, os.Interrupt, syscall.SIGTERM)
			defer stop()
			serve := func(s *shop.Shop) error {
				if sh.on {
					if err := sh.check(ctx, s, addr, show); err != nil {
						return err
					}
				}
				return a.serve(ctx, s, addr, show, sh, bk)
			}
			if show {
				return a.useDemo(serve)
			}
			return a.use("", serve)
		},
	}
	cmd.Flags().StringVar(&addr, "addr", defaultAddr, "address and port on this machine; port 0 takes a free one")
	cmd.Flags().BoolVar(&show, "demo", false, "serve a made-up shop that is gone when the program stops")
	cmd.Flags().StringVar(&bk.dir, "backup-dir", "", "folder for copies of the shop; backups beside the shop's file if left out")
	cmd.Flags().DurationVar(&bk.every, "backup-every", 6*time.Hour, "how often to copy the shop, such as 6h or 90m; 0 for never")
	cmd.Flags().BoolVar(&sh.on, "share", false, "let the shop's network in, with sign-in; the address is then "+defaultShareAddr+" unless given")
	cmd.Flags().StringArrayVar(&sh.hosts, "host", nil, "with --share: a further name or address it is reached by; again for more")
	cmd.Flags().StringVar(&sh.cert, "cert", "", "with --share: PEM file of a certificate to use instead of the shop's own")
	cmd.Flags().StringVar(&sh.key, "key", "", "with --share: PEM file of its key")
	cmd.Flags().StringVar(&sh.proxy, "behind-proxy", "", "with --share: address of the proxy that speaks TLS for this server, such as 127.0.0.1")
	return cmd
}

// loopback refuses an address that others could reach.
func loopback(addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return &usageError{unit.Say("%q is not an address with a port", addr), unit.Say("use 127.0.0.1:8080, localhost:8080 or [::1]:8080, and open the page on this machine")}
	}
	if strings.EqualFold(host, "localhost") {
		return nil
	}
	if ip, err := netip.ParseAddr(host); err == nil && ip.IsLoopback() {
		return nil
	}
	return &usageError{unit.Say("%q could be reached by others on the network, and nobody would have to sign in, so anyone there could read and change the shop", addr), unit.Say("use 127.0.0.1:8080, localhost:8080 or [::1]:8080, and open the page on this machine, or share it with --share")}
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

func (a *app) serve(ctx context.Context, s *shop.Shop, addr string, show bool, sh sharing, bk backups) error {
	log := slog.New(slog.NewTextHandler(a.Err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	s.Shared = sh.on
	warming, cool := context.WithCancel(ctx)
	warmed := make(chan struct{})
	go func() { defer close(warmed); s.Warm(warming) }()
	defer func() { cool(); <-warmed }()
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return &usageError{unit.Say("cannot listen on %s: %v", addr, bareNet(err)), unit.Say("another program may use the port; try another one with --addr")}
	}
	defer l.Close()
	var share *web.Share
	var conf *tls.Config
	var names []string
	if sh.on {
		dir, err := a.certificateDir()
		if err != nil {
			return err
		}
		if share, conf, names, err = sh.server(s, l, dir, time.Now()); err != nil {
			return err
		}
	}
	var keeper *backup.Keeper
	if !show {
		if keeper, err = a.keeper(s, bk, log); err != nil {
			return err
		}
	}
	inner := api.New(s)
	pages, err := web.New(s, web.Options{Log: log, API: inner, Stop: ctx, Demo: show, Share: share, Backups: keeper})
	if err != nil {
		return fmt.Errorf("reading the pages: %w", err)
	}
	mux := http.NewServeMux()
	// The interface answers refusals in its own form, so it stands before the pages.
	mux.Handle("/api/", inner)
	mux.Handle("/", pages)
	var handler http.Handler = named(mux)
	if sh.on {
		handler = answersTo(names, share.Door.Handler(mux))
		if sh.proxy != "" {
			handler = behind(sh.proxy, handler)
		}
	}
	handler = guard.Usual.Handler(handler)
	free := func(from netip.Addr) bool { return from.IsLoopback() || sh.proxy != "" && from.String() == sh.proxy }
	srv := &http.Server{Handler: handler, TLSConfig: conf, ReadHeaderTimeout: headerTimeout, ReadTimeout: readTimeout, WriteTimeout: writeTimeout,
		IdleTimeout: idleTimeout, MaxHeaderBytes: 64 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) }}
	done := make(chan error, 1)
	in := &guard.Listener{Listener: l, Each: guard.UsualEach, All: guard.UsualAll, Free: free}
	go func() {
		if conf != nil {
			done <- srv.ServeTLS(in, "", "")
		} else {
			done <- srv.Serve(in)
		}
	}()
	where := "http://" + l.Addr().String() + "/"
	switch {
	case sh.on:
		code, err := terminalCode(share.Address)
		if err != nil {
			return err
		}
		a.say("", "The shop is shared at %s", share.Address)
		a.printf("\n%s\n", code)
		if share.Authority != nil {
			print, err := access.Fingerprint(share.Authority)
			if err != nil {
				return err
			}
			a.say("", "Phones must trust its certificate once: %strust tells how. Its fingerprint:", share.Address)
			a.printf("%s\n", print)
		}
	case show:
		a.say("", "A made-up shop, gone when you stop: %s", where)
	default:
		a.say("", "Fairset is at %s", where)
	}
	if keeper != nil {
		var keeping sync.WaitGroup
		keep, end := context.WithCancel(ctx)
		defer keeping.Wait() // the shop is closed afterwards
		defer end()
		keeping.Go(func() { keeper.Run(keep) })
	}
	a.say("", "Stop with Ctrl-C.")
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
	a.say("", "Stopped.")
	return nil
}

// backups say where copies are kept while serving, and how often one is made.
type backups struct {
	dir   string
	every time.Duration
}

// keeper makes the copies. It is nil, and the log says so, where no place for them is named nor known.
func (a *app) keeper(s *shop.Shop, b backups, log *slog.Logger) (*backup.Keeper, error) {
	src, err := move.Source(s.Store)
	if err != nil {
		return nil, err
	}
	f, err := a.copies(b.dir)
	if err == nil && b.dir == "" {
		err = os.MkdirAll(filepath.Dir(f.Dir), 0o700)
	}
	switch {
	case err != nil && b.dir == "":
		log.Warn("no copies of the shop are made", "err", err)
		return nil, nil
	case err != nil:
		return nil, err
	}
	return &backup.Keeper{Folder: f, From: src, Policy: backup.Usual, Every: b.every, Log: log}, nil
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
