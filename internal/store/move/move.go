// Package move carries a whole shop from one place to another: from a file to a database, and back.
package move

import (
	"context"
	"fmt"

	"fairset/internal/store"
	"fairset/internal/store/postgres"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/sqlstore"
)

// Store is a place a whole shop can be kept in.
type Store interface {
	store.Store
	store.People
	store.Photos
	store.Keys
}

// Moved says how much of what was moved.
type Moved []sqlstore.Copied

// words name what the rows of a table are, one and more; in the order they are told.
var words = [][3]string{
	{"guitar", "guitar", "guitars"}, {"entry", "entry", "entries"}, {"account", "account", "accounts"}, {"session", "session", "sessions"},
	{"event", "event", "events"}, {"climate", "reading of the air", "readings of the air"}, {"photo", "photo", "photos"},
}

// untold come along and mean nothing to a person: settings, the bytes of photos, keys of what was sent once.
var untold = map[string]bool{"shop": true, "photo_bytes": true, "sent": true}

// Say tells it in words, such as "12 guitars"; what there is none of is left out, except guitars.
func (m Moved) Say() []string {
	rows := map[string]int{}
	for _, c := range m {
		rows[c.Table] = c.Rows
	}
	var out []string
	for _, w := range words {
		switch n := rows[w[0]]; {
		case n == 1:
			out = append(out, "1 "+w[1])
		case n > 1 || w[0] == "guitar":
			out = append(out, fmt.Sprintf("%d %s", n, w[2]))
		}
		delete(rows, w[0])
	}
	for _, c := range m {
		if n := rows[c.Table]; n > 0 && !untold[c.Table] {
			out = append(out, fmt.Sprintf("%d in %s", n, c.Table))
		}
	}
	return out
}

// Move puts everything of one shop into an empty one, as sqlstore.Copy does.
func Move(ctx context.Context, from, to Store) (Moved, error) {
	a, err := tables(from)
	if err != nil {
		return nil, err
	}
	b, err := tables(to)
	if err != nil {
		return nil, err
	}
	if a == b {
		return nil, store.Errorf(store.Invalid, nil, "A shop cannot be moved to where it is.")
	}
	return sqlstore.Copy(ctx, a, b)
}

func tables(s Store) (*sqlstore.Store, error) {
	switch s := s.(type) {
	case *sqlite.Store:
		return s.Store, nil
	case *postgres.Store:
		return s.Store, nil
	}
	return nil, store.Errorf(store.Invalid, nil, "Only a shop's file or a database can be moved.")
}
