// Package guard keeps those who send or read slowly, or not at all, from holding a server up: a request lives as long
// as it makes progress, and one address holds only so many connections.
package guard

import (
	"io"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"
)

// Pace is how slow somebody may be.
type Pace struct {
	Stall time.Duration // longest time without a byte, either way
	Grace time.Duration // for any body, before it must keep to Rate
	Rate  int           // bytes a second that a body must come with on the whole
}

// Usual is what a photo over a poor wireless network keeps to, and somebody who holds a line on purpose does not.
var Usual = Pace{Stall: 30 * time.Second, Grace: time.Minute, Rate: 1 << 10}

// chunk is how much is written before the next deadline.
const chunk = 32 << 10

// Handler gives each request's body, and each reply, as much time as it makes progress in. Next may set deadlines of its
// own for what it writes.
func (p Pace) Handler(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		// A server under test may know no deadlines; there is nobody slow then.
		if r.Body == nil || r.Body == http.NoBody {
			_ = c.SetReadDeadline(time.Time{}) // or a long answer would be cut off for what never comes
		} else {
			r = r.WithContext(r.Context())
			r.Body = &body{ReadCloser: r.Body, pace: p, control: c, began: time.Now()}
		}
		next.ServeHTTP(&writer{ResponseWriter: w, pace: p, control: c}, r)
	})
}

type body struct {
	io.ReadCloser
	pace    Pace
	control *http.ResponseController
	began   time.Time
	got     int64
}

func (b *body) Read(to []byte) (int, error) {
	until := time.Now().Add(b.pace.Stall)
	if most := b.began.Add(b.pace.Grace + time.Duration(float64(b.got)/float64(b.pace.Rate)*float64(time.Second))); most.Before(until) {
		until = most
	}
	_ = b.control.SetReadDeadline(until)
	n, err := b.ReadCloser.Read(to)
	b.got += int64(n)
	if err == io.EOF {
		_ = b.control.SetReadDeadline(time.Time{}) // what is done with it may take its time
	}
	return n, err
}

type writer struct {
	http.ResponseWriter
	pace    Pace
	control *http.ResponseController
	own     bool // the handler sets deadlines itself
}

// Unwrap is for http.ResponseController.
func (w *writer) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// SetWriteDeadline is for http.ResponseController.
func (w *writer) SetWriteDeadline(t time.Time) error {
	w.own = true
	return w.control.SetWriteDeadline(t)
}

func (w *writer) more() {
	if !w.own {
		_ = w.control.SetWriteDeadline(time.Now().Add(w.pace.Stall))
	}
}

func (w *writer) WriteHeader(status int) {
	w.more()
	w.ResponseWriter.WriteHeader(status)
}

func (w *writer) Write(data []byte) (int, error) {
	done := 0
	for {
		w.more()
		n, err := w.ResponseWriter.Write(data[done:min(done+chunk, len(data))])
		done += n
		if err != nil || done == len(data) {
			return done, err
		}
	}
}

// Listener takes only so many connections at a time; others are closed at once.
type Listener struct {
	net.Listener
	Each, All int                   // from one address, and from all
	Free      func(netip.Addr) bool // those from here count among all only; nil for none

	mu    sync.Mutex
	by    map[netip.Addr]int
	total int
}

// The usual bounds: a browser holds a handful of connections, and a class some dozens.
const (
	UsualEach = 100
	UsualAll  = 5000
)

// Accept waits for the next connection that is within the bounds.
func (l *Listener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from := place(c.RemoteAddr())
		if !l.take(from) {
			_ = c.Close()
			continue
		}
		return &conn{Conn: c, leave: sync.OnceFunc(func() { l.leave(from) })}, nil
	}
}

// place is the address that somebody comes from; the zero address where there is none. A whole class may share an IPv6
// network, so that nothing shorter than an address tells one machine from another.
func place(a net.Addr) netip.Addr {
	ap, err := netip.ParseAddrPort(a.String())
	if err != nil {
		return netip.Addr{}
	}
	return ap.Addr().Unmap()
}

func (l *Listener) take(from netip.Addr) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	free := l.Free != nil && l.Free(from)
	if l.total >= l.All || !free && l.by[from] >= l.Each {
		return false
	}
	if l.by == nil {
		l.by = map[netip.Addr]int{}
	}
	l.by[from]++
	l.total++
	return true
}

func (l *Listener) leave(from netip.Addr) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.total--
	if l.by[from]--; l.by[from] <= 0 {
		delete(l.by, from)
	}
}

type conn struct {
	net.Conn
	leave func()
}

func (c *conn) Close() error {
	c.leave()
	return c.Conn.Close()
}
