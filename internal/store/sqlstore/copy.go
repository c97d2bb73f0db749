package sqlstore

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"fairset/internal/store"
	"fairset/unit"
)

// Column is a column of a table, and how it is read and written in the form all engines share: text, whole
// numbers, numbers, bytes and nothing; moments as text in UTC with six decimals, yes and no as 1 and 0.
type Column struct {
	Name  string
	Read  string // expression that reads it
	Write string // expression that writes it, with %s for the placeholder
	JSON  bool   // text that is the same when it says the same
}

// Table is a table of the shop.
type Table struct {
	Name    string
	Columns []Column
	Key     []string // expressions its rows are put in order by, byte by byte
}

// Copied says how many rows of one table a shop has.
type Copied struct {
	Table string
	Rows  int
}

// copyPatience bounds the copying of a whole shop.
const copyPatience = 2 * time.Hour

// Copy puts everything of one shop into another, which must be empty: guitars with their logs and revisions,
// settings, the air, accounts, sessions and the trail, whatever tables there are. Before it is kept, every row
// and every guitar of the two is read and compared; when anything differs nothing is kept and the error is
// Damaged. Neither may be changed by others meanwhile. The shop it came from stays as it is.
func Copy(ctx context.Context, from, to *Store) ([]Copied, error) {
	return copied(ctx, from, to, from.whole)
}

// Snapshot is Copy of one moment of a shop that goes on being used.
func Snapshot(ctx context.Context, from, to *Store) ([]Copied, error) {
	return copied(ctx, from, to, from.moment)
}

// stretch runs do in one long transaction.
type stretch func(ctx context.Context, doing unit.Text, do func(ctx context.Context, tx *Tx) error, end func(*sql.Tx) error) error

func copied(ctx context.Context, from, to *Store, reading stretch) ([]Copied, error) {
	var out []Copied
	err := reading(ctx, "reading the shop", func(ctx context.Context, src *Tx) error {
		err := to.whole(ctx, "copying the shop", func(ctx context.Context, dst *Tx) (err error) {
			out, err = copyInto(ctx, from, to, src, dst)
			if err != nil {
				return err
			}
			dst.changed(store.Change{})
			_, err = to.engine.Announce(ctx, dst.Tx, dst.changes)
			return err
		}, (*sql.Tx).Commit)
		return err
	}, (*sql.Tx).Rollback)
	if err != nil {
		return nil, err
	}
	to.Doubt()
	return out, nil
}

// whole runs do in one long transaction, once, with the shop to itself.
func (s *Store) whole(ctx context.Context, doing unit.Text, do func(ctx context.Context, tx *Tx) error, end func(*sql.Tx) error) error {
	return s.long(ctx, doing, s.writer, nil, func(ctx context.Context, tx *Tx) error {
		if err := s.engine.Hold(ctx, tx.Tx, ""); err != nil {
			return err
		}
		return do(ctx, tx)
	}, end)
}

// moment runs do in one long transaction that reads one state of the shop and is in nobody's way.
func (s *Store) moment(ctx context.Context, doing unit.Text, do func(ctx context.Context, tx *Tx) error, end func(*sql.Tx) error) error {
	return s.long(ctx, doing, s.reader, &s.reads, do, end)
}

func (s *Store) long(ctx context.Context, doing unit.Text, pool *sql.DB, how *sql.TxOptions, do func(ctx context.Context, tx *Tx) error, end func(*sql.Tx) error) error {
	ctx, stop := context.WithTimeout(ctx, copyPatience)
	defer stop()
	tx, err := pool.BeginTx(ctx, how)
	if err != nil {
		return s.trouble(err, doing)
	}
	defer tx.Rollback()
	if err := s.engine.Long(ctx, tx); err != nil {
		return s.trouble(err, doing)
	}
	if err := do(ctx, &Tx{Tx: tx}); err != nil {
		return s.trouble(err, doing)
	}
	return s.trouble(end(tx), doing)
}

func copyInto(ctx context.Context, from, to *Store, src, dst *Tx) ([]Copied, error) {
	theirs, err := from.engine.Tables(ctx, src.Tx)
	if err != nil {
		return nil, from.trouble(err, "reading the tables")
	}
	ours, err := to.engine.Tables(ctx, dst.Tx)
	if err != nil {
		return nil, err
	}
	if err := alike(theirs, ours); err != nil {
		return nil, err
	}
	if err := to.empty(ctx, dst, ours); err != nil {
		return nil, err
	}
	var out []Copied
	for i, t := range ours {
		n, err := copyTable(ctx, from, src, dst, theirs[i], t)
		if err != nil {
			return nil, fmt.Errorf("table %s: %w", t.Name, err)
		}
		out = append(out, Copied{t.Name, n})
	}
	if err := to.engine.Counted(ctx, dst.Tx); err != nil {
		return nil, err
	}
	for i, t := range ours {
		n, err := compareTable(ctx, from, to, src, dst, theirs[i], t)
		if err == nil && n != out[i].Rows {
			err = fmt.Errorf("%d rows where %d were copied", n, out[i].Rows)
		}
		if err != nil {
			return nil, differs(fmt.Errorf("table %s: %w", t.Name, err))
		}
	}
	all, err := ids(ctx, src, "SELECT id FROM guitar ORDER BY id")
	if err != nil {
		return nil, from.trouble(err, "reading the guitars")
	}
	for _, id := range all {
		a, err := from.load(ctx, src.Tx, id)
		if err != nil {
			return nil, from.trouble(err, "reading the guitars")
		}
		b, err := to.load(ctx, dst.Tx, id)
		if err != nil {
			return nil, err
		}
		if !reflect.DeepEqual(a, b) {
			return nil, differs(fmt.Errorf("%v and %v", a, b))
		}
	}
	return out, to.check(ctx, dst.Tx)
}

func differs(cause error) error {
	return store.Errorf(store.Damaged, cause, "The copy is not the same as the shop it was made of, so it was not kept. The shop stays as it is: check it with fairset check, then try again.")
}

// alike makes sure that two shops have the same tables with the same columns, in the same order.
func alike(a, b []Table) error {
	names := func(ts []Table) []string {
		var out []string
		for _, t := range ts {
			slices.SortFunc(t.Columns, func(x, y Column) int { return strings.Compare(x.Name, y.Name) })
			for _, c := range t.Columns {
				out = append(out, t.Name+"."+c.Name)
			}
		}
		return out
	}
	for _, ts := range [][]Table{a, b} {
		slices.SortFunc(ts, func(x, y Table) int { return strings.Compare(x.Name, y.Name) })
	}
	if x, y := names(a), names(b); !slices.Equal(x, y) {
		return fmt.Errorf("the tables of the two are not alike: %v and %v", x, y)
	}
	return nil
}

// empty makes sure that a shop was never used, and takes its settings away.
func (s *Store) empty(ctx context.Context, tx *Tx, ts []Table) error {
	for _, t := range ts {
		var n int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM "+t.Name).Scan(&n); err != nil {
			return err
		}
		if t.Name != "shop" && n > 0 {
			return store.Errorf(store.Invalid, nil, "The shop to move to is not empty: %d in its table %s. Nothing was changed: choose a new file or an empty database.", n, t.Name)
		}
	}
	now, err := s.settings(ctx, tx.Tx)
	if err != nil {
		return err
	}
	if !now.Equal(store.DefaultSettings()) {
		return store.Errorf(store.Invalid, nil, "The shop to move to is not empty: it has settings of its own. Nothing was changed: choose a new file or an empty database.")
	}
	_, err = tx.ExecContext(ctx, "DELETE FROM shop")
	return err
}

// reading is the query that reads the table in the shared form.
func (t Table) reading() string {
	var cols []string
	for _, c := range t.Columns {
		cols = append(cols, c.Read)
	}
	return "SELECT " + strings.Join(cols, ", ") + " FROM " + t.Name
}

// inserting is the statement that writes one row in the shared form.
func (t Table) inserting() string {
	var names, places []string
	for i, c := range t.Columns {
		names = append(names, c.Name)
		places = append(places, fmt.Sprintf(c.Write, fmt.Sprintf("$%d", i+1)))
	}
	return "INSERT INTO " + t.Name + " (" + strings.Join(names, ", ") + ") VALUES (" + strings.Join(places, ", ") + ")"
}

func (t Table) query() string { return t.reading() + " ORDER BY " + strings.Join(t.Key, ", ") }

// row reads one row in the shared form.
func row(rows *sql.Rows, n int) ([]any, error) {
	out, to := make([]any, n), make([]any, n)
	for i := range out {
		to[i] = &out[i]
	}
	return out, rows.Scan(to...)
}

func copyTable(ctx context.Context, from *Store, src, dst *Tx, a, b Table) (int, error) {
	insert, err := dst.PrepareContext(ctx, b.inserting())
	if err != nil {
		return 0, err
	}
	defer insert.Close()
	rows, err := src.QueryContext(ctx, a.query())
	if err != nil {
		return 0, from.trouble(err, "reading the shop")
	}
	defer rows.Close()
	n := 0
	for rows.Next() {
		values, err := row(rows, len(a.Columns))
		if err != nil {
			return n, from.trouble(err, "reading the shop")
		}
		if _, err := insert.ExecContext(ctx, values...); err != nil {
			return n, err
		}
		n++
	}
	return n, from.trouble(rows.Err(), "reading the shop")
}

// compareTable reads a table of both shops side by side and returns how many rows it has.
func compareTable(ctx context.Context, from, to *Store, src, dst *Tx, a, b Table) (int, error) {
	here, err := src.QueryContext(ctx, a.query())
	if err != nil {
		return 0, from.trouble(err, "reading the shop")
	}
	defer here.Close()
	there, err := dst.QueryContext(ctx, b.query())
	if err != nil {
		return 0, to.trouble(err, "reading the copy")
	}
	defer there.Close()
	for n := 0; ; n++ {
		more, also := here.Next(), there.Next()
		if more != also || !more {
			if err := from.trouble(here.Err(), "reading the shop"); err != nil {
				return n, err
			}
			if err := to.trouble(there.Err(), "reading the copy"); err != nil {
				return n, err
			}
			if more != also {
				return n, fmt.Errorf("after row %d one of the two has no more", n)
			}
			return n, nil
		}
		x, err := row(here, len(a.Columns))
		if err != nil {
			return n, from.trouble(err, "reading the shop")
		}
		y, err := row(there, len(b.Columns))
		if err != nil {
			return n, to.trouble(err, "reading the copy")
		}
		for i, c := range a.Columns {
			if !same(x[i], y[i], c.JSON || b.Columns[i].JSON) {
				return n, fmt.Errorf("row %d, %s: %.80q and %.80q", n+1, c.Name, fmt.Sprint(x[i]), fmt.Sprint(y[i]))
			}
		}
	}
}

// same compares two values in the shared form. JSON is compared by what it says.
func same(a, b any, isJSON bool) bool {
	if x, ok := a.([]byte); ok {
		y, ok := b.([]byte)
		return ok && bytes.Equal(x, y)
	}
	x, isText := a.(string)
	y, alsoText := b.(string)
	if isJSON && isText && alsoText {
		var p, q any
		return read(x, &p) == nil && read(y, &q) == nil && reflect.DeepEqual(p, q)
	}
	return a == b
}

func read(text string, to *any) error {
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber() // digit by digit
	return d.Decode(to)
}
