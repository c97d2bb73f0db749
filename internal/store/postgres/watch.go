package postgres

import (
	"context"
	"errors"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"fairset/internal/store"
)

// Watch tells of changes: those made through this store, and those other servers make. After the server could
// not be heard for a while it tells that anything may have changed.
func (s *Store) Watch(ctx context.Context) (<-chan store.Change, error) {
	out, err := s.Store.Watch(ctx)
	if err != nil {
		return nil, err
	}
	s.watched.Do(func() { s.ear.Go(s.listen) })
	select {
	case <-s.ready:
	case <-ctx.Done():
	}
	return out, nil
}

// quietFor is how long a silent connection is trusted before it is asked whether it is still there.
const quietFor = 20 * time.Second

// listen hears what other servers tell, and connects again whenever it is cut off.
func (s *Store) listen() {
	ctx := s.stopped
	for wait := 50 * time.Millisecond; ctx.Err() == nil; {
		began := time.Now()
		s.hear(ctx)
		select {
		case <-s.ready:
		default:
			close(s.ready) // whoever watches need not wait for a server that is away
		}
		if time.Since(began) > time.Minute {
			wait = 50 * time.Millisecond
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
		wait = min(2*wait, 2*time.Second)
	}
}

// hear listens on one connection until it breaks.
func (s *Store) hear(ctx context.Context) {
	connecting, stop := context.WithTimeout(ctx, connectPatience)
	defer stop()
	c, err := pgx.ConnectConfig(connecting, s.conf)
	if err != nil {
		return
	}
	defer func() {
		closing, stop := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer stop()
		c.Close(closing)
	}()
	if _, err := c.Exec(connecting, "LISTEN "+pgx.Identifier{s.channel}.Sanitize()); err != nil {
		return
	}
	select {
	case <-s.ready:
		// Something may have been told while nobody listened, and guitars kept decoded may be of a server that
		// another one took the place of.
		s.Doubt()
	default:
		close(s.ready)
	}
	for {
		waiting, stop := context.WithTimeout(ctx, quietFor)
		n, err := c.WaitForNotification(waiting)
		stop()
		switch {
		case ctx.Err() != nil:
			return
		case errors.Is(err, context.DeadlineExceeded):
			asking, stop := context.WithTimeout(ctx, connectPatience)
			err := c.Ping(asking)
			stop()
			if err != nil {
				return
			}
		case err != nil:
			return
		default:
			s.Heard(parse(n.Payload, s.engine.self)...)
		}
	}
}

// parse reads a note of another server: who tells, then pairs of id and revision; an id may be missing where
// anything may have changed.
func parse(note, self string) []store.Change {
	who, rest, _ := strings.Cut(note, " ")
	if who == self {
		return nil
	}
	words := strings.Split(rest, " ")
	var out []store.Change
	for i := 0; i+1 < len(words); i += 2 {
		revision, err := strconv.ParseInt(words[i+1], 10, 64)
		if err != nil {
			return []store.Change{{}}
		}
		out = append(out, store.Change{ID: words[i], Revision: revision})
	}
	if len(out) == 0 {
		return []store.Change{{}}
	}
	return out
}
