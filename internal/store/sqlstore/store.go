// Package sqlstore keeps a shop in an SQL database: the queries that every engine reads alike. They use $1
// placeholders, ON CONFLICT and RETURNING, TRUE and FALSE; moments go in as text and come out as whatever the
// engine makes of them; JSON is never compared as text. What differs is an Engine's, in its own package with
// its own folder of migrations.
package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"time"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/unit"
)

// Engine is what differs between databases.
type Engine interface {
	// Hold makes a transaction that is about to change one guitar, or anything for "", as if it ran alone: it
	// waits for others that would be in its way, and they for it.
	Hold(ctx context.Context, tx *sql.Tx, guitar string) error
	// Announce tells other programs on the same database of changes once the transaction that makes them is done,
	// and returns a mark by which Settle knows it again.
	Announce(ctx context.Context, tx *sql.Tx, changes []store.Change) (mark string, err error)
	// Settle finds out what became of a transaction whose commit returned an error.
	Settle(ctx context.Context, mark string, err error) Outcome
	// Lost is the error for a transaction of which Settle cannot say.
	Lost(cause error) error
	// Again reports whether a transaction that failed so, without having been committed, may do when it is run
	// once more.
	Again(err error) bool
	// Trouble turns a failure of the database into an error a person can act on. It is not asked about nil, a
	// *store.Error or a request that was given up.
	Trouble(err error, doing unit.Text) error
	// Damaged is the error for a record that is here and cannot be used.
	Damaged(cause error) error
	// Whole looks below the records: whether the database itself is in order.
	Whole(ctx context.Context, tx *sql.Tx) error

	// Tables returns every table of the shop.
	Tables(ctx context.Context, tx *sql.Tx) ([]Table, error)
	// Long prepares a transaction that reads or fills a whole shop: it may take its time, and rows may come before
	// those they refer to.
	Long(ctx context.Context, tx *sql.Tx) error
	// Counted sets what counts rows after rows with numbers of their own were put in.
	Counted(ctx context.Context, tx *sql.Tx) error
}

// Outcome is what became of a transaction.
type Outcome int

// The outcomes of a transaction.
const (
	Failed Outcome = iota // nothing of it was kept
	Committed
	Unknown
)

// ErrLate is a transaction that took longer than the store's patience.
var ErrLate = errors.New("the database did not answer in time")

// Store is a shop in a database.
type Store struct {
	engine         Engine
	now            func() time.Time
	writer, reader *sql.DB
	reads          sql.TxOptions
	patience       time.Duration
	hub            store.Hub
	gaveUp         atomic.Int64 // when a server that is away was last given up on, in nanoseconds since 1970; 0 since it answered

	sealedTables atomic.Pointer[sealedTables]

	mu    sync.Mutex
	cache map[string]store.Record // by id; of use only while its revision and moment are those in the database
}

var _ store.Store = (*Store)(nil)

// Pools are the connections of a store. They may be the same pool.
type Pools struct {
	Writer, Reader *sql.DB
	Reads          sql.TxOptions // how a transaction that reads one state of the database begins
	// Patience bounds a transaction on a server; 0 for a file, which is always there. A save on a server goes on to
	// its end though whoever asked for it went away, so that it is never half known what became of it.
	Patience time.Duration
}

// New returns the store on a database whose schema is up to date. now is the clock; nil for the real one.
func New(e Engine, p Pools, now func() time.Time) *Store {
	if now == nil {
		now = time.Now
	}
	return &Store{engine: e, now: now, writer: p.Writer, reader: p.Reader, reads: p.Reads, patience: p.Patience, cache: map[string]store.Record{}}
}

// cacheMost bounds how many guitars are kept decoded.
const cacheMost = 2000

// Watch tells of changes made through this store, and of those Heard.
func (s *Store) Watch(ctx context.Context) (<-chan store.Change, error) { return s.hub.Watch(ctx), nil }

// Heard passes on changes that another program made.
func (s *Store) Heard(changes ...store.Change) { s.hub.Tell(changes...) }

// Doubt tells watchers that anything may have changed, and reads every guitar afresh.
func (s *Store) Doubt() {
	s.mu.Lock()
	clear(s.cache)
	s.mu.Unlock()
	s.hub.Tell(store.Change{})
}

// Close closes the connections.
func (s *Store) Close() error {
	s.hub.Close()
	err := s.reader.Close()
	if s.writer != s.reader {
		err = errors.Join(err, s.writer.Close()) // last: a file's writer folds its log into it
	}
	return err
}

// querier is a transaction or a pool.
type querier interface {
	QueryContext(ctx context.Context, q string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, q string, args ...any) *sql.Row
	ExecContext(ctx context.Context, q string, args ...any) (sql.Result, error)
}

// Tx is a transaction that writes.
type Tx struct {
	*sql.Tx
	changes []store.Change
	loose   bool // there may be rows without their digest
}

// ExecContext may leave rows without a digest, which they get before the transaction ends.
func (tx *Tx) ExecContext(ctx context.Context, q string, args ...any) (sql.Result, error) {
	tx.loose = true
	return tx.Tx.ExecContext(ctx, q, args...)
}

// PrepareContext is ExecContext for a statement that is run again and again.
func (tx *Tx) PrepareContext(ctx context.Context, q string) (*sql.Stmt, error) {
	tx.loose = true
	return tx.Tx.PrepareContext(ctx, q)
}

// changed notes a change that watchers are told of once it is on the disk.
func (tx *Tx) changed(c store.Change) { tx.changes = append(tx.changes, c) }

// timeForm has a fixed number of decimals, so that text sorts as time does.
const timeForm = "2006-01-02T15:04:05.000000Z"

func writeTime(t time.Time) string { return store.Moment(t).Format(timeForm) }

// readTime reads a moment as it was written, or as database/sql writes an engine's own kind of time.
func readTime(text string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, text)
	return t.UTC(), err
}

// checkPatience bounds a check of everything on a server.
const checkPatience = 30 * time.Minute

// How often, and how long, a transaction is tried again that another one or a lost connection got in the way of.
const (
	triesMost = 30
	tryFor    = 3 * time.Second
)

// write runs do in one transaction, as if nobody else used the shop; what it did is on the disk when write
// returns without an error. do may be run more than once, so it must not count on what it did to variables of
// its caller before.
func (s *Store) write(ctx context.Context, doing unit.Text, do func(tx *Tx) error) error {
	return s.writeGuitar(ctx, doing, "", do)
}

// writeGuitar is write for a change of one guitar and nothing else; others may be changed at the same time.
func (s *Store) writeGuitar(ctx context.Context, doing unit.Text, id string, do func(tx *Tx) error) error {
	return s.again(ctx, doing, s.patience, func(ctx context.Context) error {
		tx, err := s.writer.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		defer tx.Rollback()
		if err := s.engine.Hold(ctx, tx, id); err != nil {
			return err
		}
		w := &Tx{Tx: tx}
		if err := do(w); err != nil {
			return err
		}
		if w.loose {
			if err := s.seal(ctx, tx); err != nil {
				return err
			}
		}
		mark, err := s.engine.Announce(ctx, tx, w.changes)
		if err != nil {
			return err
		}
		if err := tx.Commit(); err != nil {
			switch s.engine.Settle(ctx, mark, err) {
			case Failed:
				return err
			case Unknown:
				return s.engine.Lost(err)
			}
		}
		s.hub.Tell(w.changes...)
		return nil
	})
}

// read runs do on one state of the database. do may be run more than once.
func (s *Store) read(ctx context.Context, doing unit.Text, do func(tx *sql.Tx) error) error {
	return s.again(ctx, doing, s.patience, func(ctx context.Context) error {
		tx, err := s.reader.BeginTx(ctx, &s.reads)
		if err != nil {
			return err
		}
		defer tx.Rollback()
		return do(tx)
	})
}

// again tries until it is done, or failed in a way that will not pass.
func (s *Store) again(ctx context.Context, doing unit.Text, patience time.Duration, try func(ctx context.Context) error) error {
	for n, began := 1, time.Now(); ; n++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		err := s.once(ctx, patience, try)
		if err == nil {
			s.gaveUp.Store(0)
			return nil
		}
		// Whoever asks soon after another gave up is told at once: a page asks several things.
		if n == triesMost || time.Since(began) > tryFor || !s.engine.Again(err) || time.Since(time.Unix(0, s.gaveUp.Load())) < tryFor {
			now := int64(0)
			if err = s.trouble(err, doing); store.KindOf(err) == store.Away {
				now = time.Now().UnixNano()
			}
			s.gaveUp.Store(now)
			return err
		}
		time.Sleep(time.Duration(1+rand.IntN(min(10*n, 200))) * time.Millisecond)
	}
}

func (s *Store) once(ctx context.Context, patience time.Duration, try func(ctx context.Context) error) error {
	if s.patience == 0 {
		return try(ctx)
	}
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer stop()
	err := try(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("%w: %v", ErrLate, err)
	}
	return err
}

func (s *Store) trouble(err error, doing unit.Text) error { return Trouble(s.engine, err, doing) }

// Trouble turns a failure into what a Store's methods return: nil, a *store.Error and a request that was given
// up stay as they are, and the engine says what else it means.
func Trouble(e Engine, err error, doing unit.Text) error {
	var known *store.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &known), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	}
	return e.Trouble(err, doing)
}

func (s *Store) remembered(id string, revision int64, changed string) (store.Record, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r, ok := s.cache[id]
	at, err := readTime(changed)
	return r, ok && err == nil && r.Revision == revision && r.Changed.Equal(at)
}

func (s *Store) remember(r store.Record) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if old, ok := s.cache[r.Guitar.ID]; ok && old.Revision > r.Revision {
		return
	}
	if len(s.cache) >= cacheMost {
		for id := range s.cache {
			delete(s.cache, id)
			break
		}
	}
	s.cache[r.Guitar.ID] = r
}

// Create keeps a new guitar.
func (s *Store) Create(ctx context.Context, g guitar.Guitar) (store.Record, error) {
	return s.create(ctx, g, "")
}

func (s *Store) create(ctx context.Context, g guitar.Guitar, owner string) (store.Record, error) {
	g, err := store.NormalGuitar(g)
	if err != nil {
		return store.Record{}, err
	}
	var r store.Record
	err = s.write(ctx, "making the guitar", func(tx *Tx) (err error) {
		r, err = s.made(ctx, tx, g, owner)
		return err
	})
	if err != nil {
		return store.Record{}, err
	}
	s.remember(r)
	return r, nil
}

// made writes a new guitar whose id must not be taken, of an owner that must be there.
func (s *Store) made(ctx context.Context, tx *Tx, g guitar.Guitar, owner string) (store.Record, error) {
	if g.ID != "" {
		if taken, err := s.taken(ctx, tx, g.ID); err != nil {
			return store.Record{}, err
		} else if taken {
			return store.Record{}, store.Errorf(store.Invalid, nil, "There is already a guitar with the id %q.", g.ID)
		}
	}
	if owner != "" {
		if _, err := s.account(ctx, tx, owner); err != nil {
			return store.Record{}, err
		}
	}
	return s.insert(ctx, tx, g, owner)
}

func (s *Store) taken(ctx context.Context, q querier, id string) (bool, error) {
	var n int
	err := q.QueryRowContext(ctx, "SELECT count(*) FROM guitar WHERE id = $1", id).Scan(&n)
	return n > 0, err
}

// insert writes a guitar with its whole log, and gives it an id if it has none.
func (s *Store) insert(ctx context.Context, tx *Tx, g guitar.Guitar, owner string) (store.Record, error) {
	for g.ID == "" {
		id := store.NewID()
		taken, err := s.taken(ctx, tx, id)
		if err != nil {
			return store.Record{}, err
		}
		if !taken {
			g.ID = id
		}
	}
	r := store.Record{Guitar: g, Revision: 1, Changed: store.Moment(s.now()), Owner: owner}
	err := s.insertSealed(ctx, tx, "guitar", map[string]any{"id": g.ID, "name": g.Name, "start_from": string(g.Start), "basis": g.Basis, "created": writeTime(g.Created),
		"first_json": string(g.EncodeFirst()), "revision": r.Revision, "changed": writeTime(r.Changed), "removed": int64(0), "owner": owner})
	if err != nil {
		return r, err
	}
	for _, e := range g.Log {
		if err := s.insertEntry(ctx, tx, g, e); err != nil {
			return r, err
		}
	}
	tx.changed(store.Change{ID: g.ID, Revision: r.Revision})
	return r, nil
}

func (s *Store) insertEntry(ctx context.Context, tx *Tx, g guitar.Guitar, e guitar.Entry) error {
	var plan any
	if e.Plan != nil {
		plan = string(guitar.EncodePlan(e.Plan))
	}
	return s.insertSealed(ctx, tx, "entry", map[string]any{"guitar_id": g.ID, "seq": int64(e.Seq), "entered": writeTime(e.At), "bench": e.Bench, "step": string(e.Step),
		"values_json": string(g.EncodeValues(e.Step, e.Values)), "plan_json": plan, "undone": bit(e.Undone)})
}

// Get returns one guitar.
func (s *Store) Get(ctx context.Context, id string) (store.Record, error) {
	var r store.Record
	err := s.read(ctx, "reading the guitar", func(tx *sql.Tx) (err error) {
		r, err = s.get(ctx, tx, id)
		return err
	})
	return r, err
}

func (s *Store) get(ctx context.Context, tx *sql.Tx, id string) (store.Record, error) {
	var revision int64
	var changed, owner string
	switch err := tx.QueryRowContext(ctx, "SELECT revision, changed, owner FROM guitar WHERE id = $1", id).Scan(&revision, &changed, &owner); {
	case errors.Is(err, sql.ErrNoRows):
		return store.Record{}, store.Missing(id)
	case err != nil:
		return store.Record{}, err
	}
	if r, ok := s.remembered(id, revision, changed); ok {
		r.Owner = owner // it can change without a new revision
		return r, nil
	}
	r, err := s.load(ctx, tx, id)
	if err == nil {
		s.remember(r)
	}
	return r, err
}

// guitarRow reads what a guitar is but for its log.
func (s *Store) guitarRow(ctx context.Context, tx *sql.Tx, id string) (sealedRow, error) {
	var out sealedRow
	err := s.rows(ctx, tx, "guitar", "WHERE id = $1", []any{id}, func(r sealedRow) error { out = r; return nil })
	if err == nil && out.table == nil {
		err = store.Missing(id)
	}
	return out, err
}

// load reads one guitar from the database.
func (s *Store) load(ctx context.Context, tx *sql.Tx, id string) (store.Record, error) {
	v, err := s.guitarRow(ctx, tx, id)
	if err != nil {
		return store.Record{}, err
	}
	return s.decode(ctx, tx, v)
}

// decode reads a guitar whose row is here, and its log.
func (s *Store) decode(ctx context.Context, tx *sql.Tx, v sealedRow) (store.Record, error) {
	id := v.text("id")
	r := store.Record{Revision: v.whole("revision"), Removed: v.yes("removed"), Owner: v.text("owner"),
		Guitar: guitar.Guitar{ID: id, Name: v.text("name"), Start: guitar.Start(v.text("start_from")), Basis: v.text("basis")}}
	g := &r.Guitar
	var err error
	if g.Created, err = readTime(v.text("created")); err != nil {
		return r, s.unreadable(id, err)
	}
	if r.Changed, err = readTime(v.text("changed")); err != nil {
		return r, s.unreadable(id, err)
	}
	if g.First, err = g.DecodeFirst([]byte(v.text("first_json"))); err != nil {
		return r, s.unreadable(id, err)
	}
	err = s.rows(ctx, tx, "entry", "WHERE guitar_id = $1 ORDER BY seq", []any{id}, func(v sealedRow) (err error) {
		e := guitar.Entry{Seq: int(v.whole("seq")), Bench: v.text("bench"), Step: guitar.Step(v.text("step")), Undone: v.yes("undone")}
		if e.At, err = readTime(v.text("entered")); err != nil {
			return s.unreadable(id, err)
		}
		if e.Values, err = g.DecodeValues(e.Step, []byte(v.text("values_json"))); err != nil {
			return s.unreadable(id, err)
		}
		if e.Plan, err = guitar.DecodePlan([]byte(v.text("plan_json"))); err != nil {
			return s.unreadable(id, err)
		}
		if e.Seq != len(g.Log)+1 {
			return s.unreadable(id, fmt.Errorf("entry %d is missing", len(g.Log)+1))
		}
		g.Log = append(g.Log, e)
		return nil
	})
	return r, err
}

func (s *Store) unreadable(id string, err error) error {
	return s.engine.Damaged(fmt.Errorf("guitar %s: %w", id, err))
}

// List returns the guitars that are not removed.
func (s *Store) List(ctx context.Context) ([]store.Record, error) { return s.list(ctx, false) }

// Removed returns the guitars that are.
func (s *Store) Removed(ctx context.Context) ([]store.Record, error) { return s.list(ctx, true) }

func (s *Store) list(ctx context.Context, removed bool) ([]store.Record, error) {
	out := []store.Record{}
	err := s.read(ctx, "reading the guitars", func(tx *sql.Tx) error {
		out = out[:0]
		var changed []string
		rows, err := tx.QueryContext(ctx, "SELECT id, revision, changed, owner FROM guitar WHERE removed = $1 ORDER BY changed DESC, id", removed)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var r store.Record
			var at string
			if err := rows.Scan(&r.Guitar.ID, &r.Revision, &at, &r.Owner); err != nil {
				return err
			}
			out, changed = append(out, r), append(changed, at)
		}
		if err := rows.Err(); err != nil {
			return err
		}
		for i, r := range out {
			known, ok := s.remembered(r.Guitar.ID, r.Revision, changed[i])
			if !ok {
				if known, err = s.load(ctx, tx, r.Guitar.ID); err != nil {
					return err
				}
				s.remember(known)
			}
			known.Owner = r.Owner
			out[i] = known
		}
		return nil
	})
	return out, err
}

// change makes one change to a guitar: do gets the current record in the transaction and returns the guitar
// as it shall be; the revision rises by one.
func (s *Store) change(ctx context.Context, id string, revision int64, doing unit.Text, do func(tx *Tx, now store.Record) (store.Record, error)) (store.Record, error) {
	var r store.Record
	err := s.writeGuitar(ctx, doing, id, func(tx *Tx) (err error) {
		r, err = s.changed(ctx, tx, id, revision, do)
		return err
	})
	if err != nil {
		return store.Record{}, err
	}
	s.remember(r)
	return r, nil
}

// changed is change within a transaction.
func (s *Store) changed(ctx context.Context, tx *Tx, id string, revision int64, do func(tx *Tx, now store.Record) (store.Record, error)) (store.Record, error) {
	row, err := s.guitarRow(ctx, tx.Tx, id)
	if err != nil {
		return store.Record{}, err
	}
	now, ok := s.remembered(id, row.whole("revision"), row.text("changed"))
	if !ok {
		now, err = s.decode(ctx, tx.Tx, row)
	}
	now.Owner = row.text("owner")
	switch {
	case err != nil:
		return store.Record{}, err
	case now.Revision != revision:
		return store.Record{}, store.Changed(now)
	case now.Removed:
		return store.Record{}, store.Gone(now)
	}
	r, err := do(tx, now)
	if err != nil {
		return store.Record{}, err
	}
	err = s.touch(ctx, tx, &r, row)
	return r, err
}

// touch writes what a change altered on the guitar itself, whose row is given as it was, and its next revision.
func (s *Store) touch(ctx context.Context, tx *Tx, r *store.Record, row sealedRow) error {
	*r = r.Revised(r.Guitar, s.now())
	tx.changed(store.Change{ID: r.Guitar.ID, Revision: r.Revision})
	row.set("name", r.Guitar.Name)
	row.set("removed", bit(r.Removed))
	row.set("revision", r.Revision)
	row.set("changed", writeTime(r.Changed))
	digest, err := row.table.digest(row.values)
	if err != nil {
		return err
	}
	_, err = tx.Tx.ExecContext(ctx, "UPDATE guitar SET name = $1, removed = $2, revision = $3, changed = $4, digest = $5 WHERE id = $6",
		r.Guitar.Name, r.Removed, r.Revision, writeTime(r.Changed), digest, r.Guitar.ID)
	return err
}

// touched is touch of a guitar whose row was not read yet.
func (s *Store) touched(ctx context.Context, tx *Tx, r *store.Record) error {
	row, err := s.guitarRow(ctx, tx.Tx, r.Guitar.ID)
	if err != nil {
		return err
	}
	return s.touch(ctx, tx, r, row)
}

// Append adds an entry.
func (s *Store) Append(ctx context.Context, id string, revision int64, e guitar.Entry) (store.Record, error) {
	return s.append(ctx, id, revision, e, store.Key{})
}

// appended writes an entry and returns the record with it.
func (s *Store) appended(ctx context.Context, tx *Tx, now store.Record, e guitar.Entry) (store.Record, error) {
	e, err := store.Normal(now.Guitar, e)
	if err != nil {
		return now, err
	}
	if err := s.insertEntry(ctx, tx, now.Guitar, e); err != nil {
		return now, err
	}
	now.Guitar = now.Guitar.With(e)
	return now, nil
}

// Undo marks the last standing entry as undone.
func (s *Store) Undo(ctx context.Context, id string, revision int64) (store.Record, guitar.Entry, error) {
	var undone guitar.Entry
	r, err := s.change(ctx, id, revision, "undoing the entry", func(tx *Tx, now store.Record) (store.Record, error) {
		var err error
		if now.Guitar, undone, err = now.Guitar.Undo(); err != nil {
			return now, store.NothingToUndo(now)
		}
		_, err = tx.ExecContext(ctx, "UPDATE entry SET undone = TRUE WHERE guitar_id = $1 AND seq = $2", id, undone.Seq)
		return now, err
	})
	return r, undone, err
}

// Rename gives a guitar another name.
func (s *Store) Rename(ctx context.Context, id string, revision int64, name string) (store.Record, error) {
	name, err := guitar.CheckName("name", name)
	if err != nil {
		return store.Record{}, err
	}
	return s.change(ctx, id, revision, "renaming the guitar", func(_ *Tx, now store.Record) (store.Record, error) {
		now.Guitar.Name = name
		return now, nil
	})
}

// Remove puts a guitar aside.
func (s *Store) Remove(ctx context.Context, id string, revision int64) (store.Record, error) {
	return s.change(ctx, id, revision, "removing the guitar", func(_ *Tx, now store.Record) (store.Record, error) {
		now.Removed = true
		return now, nil
	})
}

// Restore brings a removed guitar back; one that was not removed stays as it is.
func (s *Store) Restore(ctx context.Context, id string) (store.Record, error) {
	var r store.Record
	err := s.writeGuitar(ctx, "restoring the guitar", id, func(tx *Tx) (err error) {
		if r, err = s.get(ctx, tx.Tx, id); err != nil || !r.Removed {
			return err
		}
		r.Removed = false
		return s.touched(ctx, tx, &r)
	})
	if err != nil {
		return store.Record{}, err
	}
	s.remember(r)
	return r, nil
}

// Import keeps all of the guitars or none.
func (s *Store) Import(ctx context.Context, gs []guitar.Guitar) ([]store.Imported, error) {
	var out []store.Imported
	err := s.write(ctx, "importing", func(tx *Tx) error {
		out = nil
		for _, g := range gs {
			g, err := store.NormalGuitar(g)
			if err != nil {
				return err
			}
			one, err := s.importOne(ctx, tx, g)
			if err != nil {
				return err
			}
			one.Was = g.ID
			out = append(out, one)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, one := range out {
		s.remember(one.Record)
	}
	return out, nil
}

func (s *Store) importOne(ctx context.Context, tx *Tx, g guitar.Guitar) (store.Imported, error) {
	// The same record may be here under its own id, or as the copy an earlier import made.
	ids, err := ids(ctx, tx, "SELECT id FROM guitar WHERE id = $1 OR created = $2 ORDER BY CASE WHEN id = $1 THEN 0 ELSE 1 END, id", g.ID, writeTime(g.Created))
	if err != nil {
		return store.Imported{}, err
	}
	outcome := store.Added
	for _, id := range ids {
		here, err := s.load(ctx, tx.Tx, id)
		if err != nil {
			return store.Imported{}, err
		}
		if store.Same(here.Guitar, g) {
			if !here.Removed {
				return store.Imported{Record: here, Outcome: store.Skipped}, nil
			}
			here.Removed = false
			err := s.touched(ctx, tx, &here)
			return store.Imported{Record: here, Outcome: store.Restored}, err
		}
		if id == g.ID {
			outcome = store.Copied
		}
	}
	if outcome == store.Copied {
		g.ID = ""
	}
	r, err := s.insert(ctx, tx, g, "")
	return store.Imported{Record: r, Outcome: outcome}, err
}

func ids(ctx context.Context, q querier, query string, args ...any) ([]string, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		out = append(out, id)
	}
	return out, rows.Err()
}

// Settings returns the shop's defaults.
func (s *Store) Settings(ctx context.Context) (store.Settings, error) {
	var out store.Settings
	err := s.read(ctx, "reading the shop's settings", func(tx *sql.Tx) (err error) {
		out, err = s.settings(ctx, tx)
		return err
	})
	return out, err
}

func (s *Store) settings(ctx context.Context, tx *sql.Tx) (store.Settings, error) {
	var out store.Settings
	found := false
	err := s.rows(ctx, tx, "shop", "WHERE id = 1", nil, func(v sealedRow) (err error) {
		found = true
		out.ShopName, out.Currency, out.Language = v.text("shop_name"), v.text("currency"), v.text("language")
		if err := cmp.Or(json.Unmarshal([]byte(v.text("drills_json")), &out.Drills), json.Unmarshal([]byte(v.text("prices_json")), &out.Prices)); err != nil {
			return s.engine.Damaged(err)
		}
		if out.Units, err = unit.ParseStyle(v.text("units")); err != nil {
			return s.engine.Damaged(err)
		}
		return nil
	})
	if err == nil && !found {
		err = s.engine.Damaged(errors.New("no settings"))
	}
	return out, err
}

// SaveSettings changes the shop's defaults.
func (s *Store) SaveSettings(ctx context.Context, v store.Settings) error {
	if err := v.Check(); err != nil {
		return err
	}
	drills, err := json.Marshal(append([]string{}, v.Drills...))
	if err != nil {
		return err
	}
	prices, err := json.Marshal(v.Prices)
	if err != nil {
		return err
	}
	if v.Prices == nil {
		prices = []byte("{}")
	}
	return s.write(ctx, "saving the shop's settings", func(tx *Tx) error {
		tx.changed(store.Change{})
		_, err := tx.ExecContext(ctx, "UPDATE shop SET units = $1, shop_name = $2, drills_json = $3, prices_json = $4, currency = $5, language = NULLIF($6, '') WHERE id = 1", string(v.Units), v.ShopName, string(drills), string(prices), v.Currency, v.Language)
		return err
	})
}

// Check looks at the database and reads every record.
func (s *Store) Check(ctx context.Context) error {
	return s.again(ctx, "checking the shop", checkPatience, func(ctx context.Context) error {
		tx, err := s.reader.BeginTx(ctx, &s.reads)
		if err != nil {
			return err
		}
		defer tx.Rollback()
		if err := s.engine.Long(ctx, tx); err != nil {
			return err
		}
		return s.check(ctx, tx)
	})
}

func (s *Store) check(ctx context.Context, tx *sql.Tx) error {
	if err := s.engine.Whole(ctx, tx); err != nil {
		return err
	}
	var loose int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM entry WHERE guitar_id NOT IN (SELECT id FROM guitar)").Scan(&loose); err != nil {
		return err
	}
	if loose > 0 {
		return s.engine.Damaged(fmt.Errorf("%d entries of no guitar", loose))
	}
	if err := s.checkSeals(ctx, tx); err != nil {
		return err
	}
	if err := s.checkPhotos(ctx, tx); err != nil {
		return err
	}
	if err := s.climate(ctx, tx, "", nil, func(r climate.Reading) error {
		if _, err := r.Normal(); err != nil {
			return s.engine.Damaged(fmt.Errorf("reading of the air: %w", err))
		}
		return nil
	}); err != nil {
		return err
	}
	ids, err := ids(ctx, tx, "SELECT id FROM guitar ORDER BY id")
	if err != nil {
		return err
	}
	for _, id := range ids {
		r, err := s.load(ctx, tx, id)
		if err != nil {
			return err
		}
		if _, err := store.NormalGuitar(r.Guitar); err != nil {
			return s.unreadable(id, err)
		}
	}
	return nil
}
