package cli

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"slices"
	"strings"
	"time"

	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/web"
	"fairset/unit"

	"rsc.io/qr"
)

// sharing is how a shop is served to others on the network.
type sharing struct {
	on        bool
	hosts     []string // further names and addresses it is reached by
	cert, key string   // a certificate of the shop's own; else one is made
	proxy     string   // address of a proxy that speaks TLS for it, "" for none
}

const defaultShareAddr = "0.0.0.0:8443"

// check refuses combinations that would let strangers in.
func (sh sharing) check(ctx context.Context, s *shop.Shop, addr string, demo bool) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return &usageError{unit.Say("%q is not an address with a port", addr), unit.Say("such as %s", defaultShareAddr)}
	}
	switch {
	case demo:
		return misused("the made-up shop has no passphrases, so it is not shared", "leave --demo or --share away")
	case (sh.cert == "") != (sh.key == ""):
		return misused("a certificate and its key go together", "give both --cert and --key, or neither")
	case sh.proxy != "" && sh.cert != "":
		return misused("behind a proxy the proxy has the certificate", "leave --cert and --key away, or --behind-proxy")
	}
	if sh.proxy != "" {
		if _, err := netip.ParseAddr(sh.proxy); err != nil {
			return &usageError{unit.Say("%q is not the address of a proxy", sh.proxy), unit.Say("such as --behind-proxy 127.0.0.1 for one on this machine")}
		}
		if len(sh.hosts) == 0 {
			return misused("behind a proxy nothing says by which name the shop is reached", "give it with --host, such as --host shop.example.org")
		}
		if ip, err := netip.ParseAddr(host); (err != nil || !ip.IsLoopback()) && !strings.EqualFold(host, "localhost") && netip.MustParseAddr(sh.proxy).IsLoopback() {
			return &usageError{unit.Say("%s could be reached past the proxy, without TLS", addr), unit.Say("the proxy is on this machine, so listen there only: --addr 127.0.0.1:8080")}
		}
	}
	people, ok := s.Store.(store.People)
	if !ok {
		return misused("a file of guitars keeps no accounts, so it cannot be shared", "share a shop's file")
	}
	all, err := people.Accounts(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(all, func(a store.Account) bool { return a.Role == store.Teacher }) {
		return misused("nobody could sign in as a teacher: the shop has no teacher's passphrase, so it is not shared",
			`make one first: fairset account add "front desk" --role teacher`)
	}
	return nil
}

// ownAddresses are the addresses and names by which others on the network can reach this machine.
func ownAddresses() []string {
	var out []string
	if name, err := os.Hostname(); err == nil && name != "" && access.OwnHost(name) {
		out = append(out, name)
		if !strings.Contains(name, ".") {
			out = append(out, name+".local")
		}
	}
	addrs, _ := net.InterfaceAddrs()
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLinkLocalUnicast() && access.OwnHost(n.IP.String()) {
			out = append(out, n.IP.String())
		}
	}
	return out
}

// server is a shared shop's: where it is, its TLS, and what the pages know of it.
func (sh sharing) server(s *shop.Shop, l net.Listener, dir string, now time.Time) (*web.Share, *tls.Config, []string, error) {
	door := &access.Door{People: s.Store.(store.People), Now: s.Now, Secure: true}
	share := &web.Share{Door: door}
	names := append(slices.Clone(sh.hosts), "localhost", "127.0.0.1", "::1")
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return nil, nil, nil, err
	}
	if sh.proxy != "" {
		share.Address = "https://" + sh.hosts[0] + "/"
		return share, nil, names, nil
	}
	host, _, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return nil, nil, nil, err
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		names = append(names, ownAddresses()...)
	} else {
		names = append(names, host)
	}
	first := names[0]
	if len(sh.hosts) == 0 {
		// An address is surer than a name: not every network hands names out.
		for _, n := range names {
			if ip := net.ParseIP(n); ip != nil && !ip.IsLoopback() && ip.To4() != nil {
				first = n
				break
			}
		}
	}
	share.Address = "https://" + net.JoinHostPort(first, port) + "/"
	conf := &tls.Config{MinVersion: tls.VersionTLS12}
	if sh.cert != "" {
		pair, err := tls.LoadX509KeyPair(sh.cert, sh.key)
		if err != nil {
			return nil, nil, nil, &usageError{unit.Say("the certificate cannot be used: %v", err), unit.Say("--cert and --key name PEM files that belong together")}
		}
		conf.Certificates = []tls.Certificate{pair}
		return share, conf, names, nil
	}
	own := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return !access.OwnHost(n) })
	for _, h := range sh.hosts {
		if !access.OwnHost(h) {
			return nil, nil, nil, &usageError{unit.Say("the shop can make no certificate for %q: it is no name of a local network", h), unit.Say("give one from whoever runs that name with --cert and --key")}
		}
	}
	certs, err := access.Ensure(dir, own, now)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("making the shop's certificate: %w", err)
	}
	conf.Certificates = []tls.Certificate{certs.Server}
	share.Authority = certs.Authority
	return share, conf, names, nil
}

// behind takes a proxy's word for where a request comes from, and nobody else's; and refuses whoever comes
// past the proxy.
func behind(proxy string, next http.Handler) http.Handler {
	trusted := netip.MustParseAddr(proxy).Unmap()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		from, err := netip.ParseAddrPort(r.RemoteAddr)
		if err != nil || from.Addr().Unmap() != trusted {
			http.Error(w, "Ask the proxy, not the server behind it.", http.StatusMisdirectedRequest)
			return
		}
		// The last address is the one the proxy itself saw; those before it are what the asker said.
		all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if ip, err := netip.ParseAddr(strings.TrimSpace(all[len(all)-1])); err == nil {
			r.RemoteAddr = net.JoinHostPort(ip.String(), "0")
		}
		next.ServeHTTP(w, r)
	})
}

// terminalCode draws an address as a square code out of half blocks, dark on light.
func terminalCode(address string) (string, error) {
	c, err := qr.Encode(address, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4
	black := func(x, y int) bool { return x >= 0 && y >= 0 && x < c.Size && y < c.Size && c.Black(x, y) }
	var b strings.Builder
	for y := -quiet; y < c.Size+quiet; y += 2 {
		for x := -quiet; x < c.Size+quiet; x++ {
			// Light modules are drawn: most terminals are dark.
			switch top, bottom := !black(x, y), !black(x, y+1); {
			case top && bottom:
				b.WriteString("█")
			case top:
				b.WriteString("▀")
			case bottom:
				b.WriteString("▄")
			default:
				b.WriteString(" ")
			}
		}
		b.WriteString("\n")
	}
	return b.String(), nil
}

// answersTo refuses a request that calls this machine by a name that is not its own. A page elsewhere could
// otherwise give its own name this machine's address and read the shop through the browser.
func answersTo(names []string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.Trim(host, "[]")
		if !slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, host) }) {
			http.Error(w, "This program does not answer by that name. fairset serve --host adds one.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}
