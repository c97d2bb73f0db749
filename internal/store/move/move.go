// Package move carries a whole shop from one place to another: from a file to a database, and back.
package move

import (
	"context"

	"fairset/internal/store"
	"fairset/internal/store/postgres"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/sqlstore"
	"fairset/unit"
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

// counted says how many rows a table had; in the order they are told.
var counted = []struct {
	table string
	say   func(n int) unit.Phrase
}{
	{"guitar", func(n int) unit.Phrase { return unit.Plural(n, "%d guitar", "%d guitars") }},
	{"entry", func(n int) unit.Phrase { return unit.Plural(n, "%d entry", "%d entries") }},
	{"account", func(n int) unit.Phrase { return unit.Plural(n, "%d account", "%d accounts") }},
	{"session", func(n int) unit.Phrase { return unit.Plural(n, "%d session", "%d sessions") }},
	{"event", func(n int) unit.Phrase { return unit.Plural(n, "%d event", "%d events") }},
	{"climate", func(n int) unit.Phrase {
		return unit.Plural(n, "%d reading of the air", "%d readings of the air")
	}},
	{"photo", func(n int) unit.Phrase { return unit.Plural(n, "%d photo", "%d photos") }},
}

// untold come along and mean nothing to a person: settings, the bytes of photos, keys of what was sent once.
var untold = map[string]bool{"shop": true, "photo_bytes": true, "sent": true}

// Say tells it in words, such as "12 guitars"; what there is none of is left out, except guitars.
func (m Moved) Say() []unit.Phrase {
	rows := map[string]int{}
	for _, c := range m {
		rows[c.Table] = c.Rows
	}
	var out []unit.Phrase
	for _, c := range counted {
		if n := rows[c.table]; n > 0 || c.table == "guitar" {
			out = append(out, c.say(n))
		}
		delete(rows, c.table)
	}
	for _, c := range m {
		if n := rows[c.Table]; n > 0 && !untold[c.Table] {
			out = append(out, unit.Say("%d in %s", n, c.Table))
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
