package access

import (
	"net"
	"net/http"
	"strings"
	"time"
)

// What a browser keeps of a sign-in. Under TLS the name's prefix makes the browser refuse it from anywhere
// else. source: RFC 6265bis, section 4.1.3.2.
const (
	plainCookie  = "fairset_in"
	secureCookie = "__Host-fairset_in"
)

func (d *Door) cookieName() string {
	if d.Secure {
		return secureCookie
	}
	return plainCookie
}

// Handler finds out whose each request is before next sees it: by a browser's cookie or a script's token.
// It refuses nobody: that is for each route's Rule.
func (d *Door) Handler(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		token, script := "", false
		if auth, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
			token, script = strings.TrimSpace(auth), true
		} else if c, err := r.Cookie(d.cookieName()); err == nil {
			token = c.Value
		}
		ctx := With(r.Context(), Who{})
		if token != "" {
			if who, err := d.Enter(r.Context(), token, script); err == nil {
				ctx = With(r.Context(), who)
			}
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// Give hands the browser what it shows from now on; "" takes it away.
func (d *Door) Give(w http.ResponseWriter, token string) {
	c := &http.Cookie{Name: d.cookieName(), Value: token, Path: "/", HttpOnly: true, Secure: d.Secure, SameSite: http.SameSiteLaxMode, MaxAge: int(BenchMost / time.Second)}
	if token == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// Place is the address a request comes from, without its port.
func Place(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}
