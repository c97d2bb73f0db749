// Package postgres keeps a shop in a PostgreSQL database, for a shop that outgrew one machine: several servers
// may use it at once. SQL that only PostgreSQL understands stays in this package; the queries are sqlstore's.
package postgres

import (
	"cmp"
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"net"
	"strings"
	"sync"
	"time"
	"unicode"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"fairset/internal/store"
	"fairset/internal/store/sqlstore"
)

//go:embed migrations/*.sql
var embedded embed.FS

// Options are for tests; the zero value is what the program uses.
type Options struct {
	Now func() time.Time
}

// Store is a shop in a database, or in one schema of it.
type Store struct {
	*sqlstore.Store
	name    string
	schema  string
	channel string // where servers tell each other of changes
	conf    *pgx.ConnConfig
	engine  *engine

	watched sync.Once
	ready   chan struct{} // closed after the first try to listen
	stop    context.CancelFunc
	stopped context.Context
	ear     sync.WaitGroup
}

var (
	_ store.Store  = (*Store)(nil)
	_ store.People = (*Store)(nil)
	_ store.Photos = (*Store)(nil)
)

// How long a server is waited for. A bench waits with it, so that trouble must show within seconds.
const (
	connectPatience = 5 * time.Second
	patience        = 20 * time.Second // for one transaction
)

// connectionsMost is how many connections one program holds for queries; a server allows a hundred by default.
const connectionsMost = 10

// Is reports whether a shop's place is the address of a PostgreSQL database.
func Is(place string) bool {
	scheme, _, ok := strings.Cut(place, "://")
	return ok && (scheme == "postgres" || scheme == "postgresql")
}

// configure reads an address. What is wrong with it is not repeated, because a password may be part of it.
func configure(address string) (*pgx.ConnConfig, error) {
	conf, err := pgx.ParseConfig(address)
	if err != nil || !Is(address) {
		return nil, store.Errorf(store.Invalid, nil, "The address of the database cannot be used. It is written postgres://USER@HOST:5432/DATABASE; signs such as @ : / ? # %% within a name or password are written %%40 %%3A %%2F %%3F %%23 %%25.")
	}
	if conf.ConnectTimeout == 0 || conf.ConnectTimeout > connectPatience {
		conf.ConnectTimeout = connectPatience
	}
	// A server that was cut off without a word is noticed by both ends.
	dial := &net.Dialer{Timeout: conf.ConnectTimeout, KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 10 * time.Second, Interval: 5 * time.Second, Count: 3}}
	conf.DialFunc = dial.DialContext
	for name, value := range map[string]string{
		"application_name":                    "fairset",
		"timezone":                            "UTC",
		"lock_timeout":                        "10s",
		"statement_timeout":                   "20s",
		"idle_in_transaction_session_timeout": "20s",
		"tcp_keepalives_idle":                 "10",
		"tcp_keepalives_interval":             "5",
		"tcp_keepalives_count":                "3",
		"synchronous_commit":                  "on", // what is acknowledged is on the disk, however the server was set up
		"default_transaction_isolation":       "read committed",
	} {
		if _, said := conf.RuntimeParams[name]; !said || name == "timezone" || name == "default_transaction_isolation" {
			conf.RuntimeParams[name] = value
		}
	}
	return conf, nil
}

// Place names the database of an address as if it were a path, /HOST:PORT/SCHEMA/DATABASE, without a user or a password: what
// is kept for one shop and not for another goes by it. An error is of kind Invalid.
func Place(address string) (string, error) {
	conf, err := configure(address)
	if err != nil {
		return "", err
	}
	plain := func(text, otherwise string) string {
		text = strings.Map(func(r rune) rune {
			if r < 0x80 && (unicode.IsLetter(r) || unicode.IsDigit(r)) || r == '_' || r == '-' {
				return r
			}
			return '_'
		}, text)
		return cmp.Or(text, otherwise)
	}
	return fmt.Sprintf("/%s:%d/%s/%s", plain(conf.Host, "host"), conf.Port, plain(conf.RuntimeParams["search_path"], "public"), plain(conf.Database, "shop")), nil
}

// Open opens the shop at an address such as postgres://fairset@db.example.org/fairset, making its tables in an
// empty database, and brings an older one up to this program's schema. A database with other tables, or one
// written by a newer program, is refused and left as it is. The address may hold a password; nothing this
// package says or logs does.
func Open(ctx context.Context, address string, o Options) (*Store, error) {
	files, err := fs.Sub(embedded, "migrations")
	if err != nil {
		return nil, err
	}
	return openWith(ctx, address, o, files)
}

func openWith(ctx context.Context, address string, o Options, migrations fs.FS) (*Store, error) {
	conf, err := configure(address)
	if err != nil {
		return nil, err
	}
	s := &Store{name: conf.Database + " on " + conf.Host, conf: conf, ready: make(chan struct{})}
	s.engine = &engine{name: s.name, self: store.NewID() + store.NewID()}
	s.stopped, s.stop = context.WithCancel(context.Background())
	if err := s.open(ctx, o, migrations); err != nil {
		s.stop()
		return nil, sqlstore.Trouble(s.engine, err, "opening the database")
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, o Options, migrations fs.FS) error {
	todo, err := sqlstore.Migrations(migrations)
	if err != nil {
		return err
	}
	if s.schema, err = s.prepare(ctx, todo); err != nil {
		return err
	}
	s.engine.key = key(s.schema)
	s.channel = fmt.Sprintf("fairset_%016x", uint64(s.engine.key))
	s.engine.channel = s.channel
	db := stdlib.OpenDB(*s.conf, stdlib.OptionAfterConnect(func(ctx context.Context, c *pgx.Conn) error { return s.enter(ctx, c, len(todo)) }))
	db.SetMaxOpenConns(connectionsMost)
	db.SetMaxIdleConns(connectionsMost)
	db.SetConnMaxIdleTime(5 * time.Minute)
	s.engine.db = db
	s.Store = sqlstore.New(s.engine, sqlstore.Pools{Writer: db, Reader: db,
		Reads:    sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true},
		Patience: patience}, o.Now)
	if _, err := db.ExecContext(ctx, "INSERT INTO shop (id, units, shop_name) VALUES (1, $1, '') ON CONFLICT (id) DO NOTHING", string(store.DefaultSettings().Units)); err != nil {
		return errors.Join(err, db.Close())
	}
	if err := s.Seal(ctx); err != nil {
		return errors.Join(err, db.Close())
	}
	return nil
}

// Name says which database this is, without anything secret.
func (s *Store) Name() string { return s.name }

// Close ends every watch and closes the connections.
func (s *Store) Close() error {
	s.stop()
	s.ear.Wait()
	return s.Store.Close()
}

// RemovePhotos erases photos. Nobody can read them any more; the server is asked to clear out what it still has
// of them at once, and does so by itself a little later where it is busy.
func (s *Store) RemovePhotos(ctx context.Context, ids ...string) (int, error) {
	n, err := s.Store.RemovePhotos(ctx, ids...)
	if err == nil && n > 0 {
		_, _ = s.engine.db.ExecContext(ctx, "VACUUM photo_bytes")
	}
	return n, err
}

// key makes the number of a lock. Equal numbers of different things only make one wait for the other.
func key(parts ...string) int64 {
	h := fnv.New64a()
	for _, p := range append([]string{"fairset"}, parts...) {
		fmt.Fprintf(h, "%d:%s", len(p), p)
	}
	return int64(h.Sum64())
}

// standing returns the name of the schema the tables are in, its number, and how many tables there are.
func standing(ctx context.Context, c *pgx.Conn) (schema string, is, has int, err error) {
	var name *string
	if err := c.QueryRow(ctx, "SELECT current_schema()").Scan(&name); err != nil {
		return "", 0, 0, err
	}
	if name == nil {
		return "", 0, 0, store.Errorf(store.Invalid, nil, "The database has no schema by the name in search_path. Make it first: CREATE SCHEMA …")
	}
	var ours bool
	err = c.QueryRow(ctx, "SELECT count(*), coalesce(bool_or(relname = 'fairset_schema'), FALSE) FROM pg_class WHERE relnamespace = $1::text::regnamespace AND relkind IN ('r', 'p', 'v', 'm')", pgx.Identifier{*name}.Sanitize()).Scan(&has, &ours)
	if err == nil && ours {
		err = c.QueryRow(ctx, "SELECT number FROM fairset_schema").Scan(&is)
	}
	return *name, is, has, err
}

// prepare checks the database and brings it up to date, and returns the schema the tables are in. Nobody else
// may have the shop open while it changes: each connection holds a lock that this one needs alone.
func (s *Store) prepare(ctx context.Context, todo []sqlstore.Migration) (string, error) {
	c, err := pgx.ConnectConfig(ctx, s.conf)
	if err != nil {
		return "", err
	}
	defer c.Close(context.WithoutCancel(ctx))
	for until := time.Now().Add(connectPatience); ; time.Sleep(50 * time.Millisecond) {
		schema, is, has, err := standing(ctx, c)
		switch {
		case err != nil:
			return "", err
		case is > len(todo):
			return "", newer(s.name, is, len(todo))
		case is == len(todo):
			return schema, nil
		case is == 0 && has > 0:
			return "", store.Errorf(store.Foreign, nil, "The database %s holds tables that are not this program's. It was left as it is: choose an empty database, or an empty schema of this one by adding ?search_path=NAME to the address.", s.name)
		}
		var alone bool
		if err := c.QueryRow(ctx, "SELECT pg_try_advisory_lock($1)", key(schema, "open")).Scan(&alone); err != nil {
			return "", err
		}
		if alone {
			// Another program may have been quicker.
			if _, is, _, err = standing(ctx, c); err != nil {
				return "", err
			}
			for _, m := range todo[min(is, len(todo)):] {
				if err := apply(ctx, c, m); err != nil {
					return "", fmt.Errorf("migration %s: %w", m.Name, err)
				}
			}
			_, err := c.Exec(ctx, "SELECT pg_advisory_unlock($1)", key(schema, "open"))
			return schema, err
		}
		if time.Now().After(until) {
			return "", store.Errorf(store.Busy, nil, "The database %s must be brought up to this program's schema, and another program has the shop open. Nothing was changed: stop the others, save a copy with pg_dump, then start this one.", s.name)
		}
	}
}

func newer(name string, is, knows int) error {
	return store.Errorf(store.Newer, nil, "The database %s was written by a newer program (schema %d; this one knows up to %d). It was left as it is: update this program, then open it again.", name, is, knows)
}

// enter makes a new connection one of the shop's: it holds off changes of the schema, and is refused when there
// was one meanwhile.
func (s *Store) enter(ctx context.Context, c *pgx.Conn, knows int) error {
	if _, err := c.Exec(ctx, "SELECT pg_advisory_lock_shared($1)", key(s.schema, "open")); err != nil {
		return err
	}
	_, is, _, err := standing(ctx, c)
	if err != nil {
		return err
	}
	switch {
	case is > knows:
		return newer(s.name, is, knows)
	case is < knows:
		return s.engine.Damaged(fmt.Errorf("schema %d where %d was", is, knows))
	}
	return nil
}

// apply runs one migration with its number in one transaction.
func apply(ctx context.Context, c *pgx.Conn, m sqlstore.Migration) error {
	mark := fmt.Sprintf("UPDATE fairset_schema SET number = %d", m.Number)
	if m.Number == 1 {
		mark = "CREATE TABLE fairset_schema (one BOOLEAN PRIMARY KEY DEFAULT TRUE CHECK (one), number INTEGER NOT NULL); INSERT INTO fairset_schema (number) VALUES (1)"
	}
	// Several statements at once, so not as a prepared one.
	_, err := c.PgConn().Exec(ctx, "BEGIN;\n"+m.SQL+";\n"+mark+";\nCOMMIT").ReadAll()
	if err != nil {
		c.PgConn().Exec(ctx, "ROLLBACK").ReadAll()
	}
	return err
}
