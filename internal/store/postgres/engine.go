package postgres

// What PostgreSQL does its own way: locks, notes to other servers, what its errors mean.

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"fairset/internal/store"
	"fairset/internal/store/sqlstore"
	"fairset/unit"
)

// engine is PostgreSQL's part of the queries.
type engine struct {
	name    string
	self    string // this program among the servers of one database
	channel string
	key     int64
	db      *sql.DB
}

// Hold lets one program at a time change a guitar, and one that changes anything else be alone. The lock goes
// with the transaction, also when its program dies.
func (e *engine) Hold(ctx context.Context, tx *sql.Tx, guitar string) error {
	if guitar == "" {
		_, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock($1)", e.key)
		return err
	}
	_, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock_shared($1), pg_advisory_xact_lock($2)", e.key, key(fmt.Sprint(e.key), guitar))
	return err
}

// Announce tells the other servers once the transaction is done, and returns the transaction's number.
func (e *engine) Announce(ctx context.Context, tx *sql.Tx, changes []store.Change) (string, error) {
	if len(changes) > changesMost {
		changes = []store.Change{{}}
	}
	var mark string
	if len(changes) == 0 {
		return mark, tx.QueryRowContext(ctx, "SELECT pg_current_xact_id()::text").Scan(&mark)
	}
	var note strings.Builder
	note.WriteString(e.self)
	for _, c := range changes {
		fmt.Fprintf(&note, " %s %d", c.ID, c.Revision)
	}
	return mark, tx.QueryRowContext(ctx, "SELECT pg_current_xact_id()::text FROM pg_notify($1, $2)", e.channel, note.String()).Scan(&mark)
}

// changesMost bounds a note, which may have 8000 bytes at most.
const changesMost = 100

// settleFor is how long a server that was lost in the middle of a save is asked again what became of it.
const settleFor = 6 * time.Second

// Settle asks the server what became of a transaction whose answer was lost.
func (e *engine) Settle(ctx context.Context, mark string, lost error) sqlstore.Outcome {
	if !away(lost) && !errors.Is(lost, context.DeadlineExceeded) {
		return sqlstore.Failed // the server itself said no
	}
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), settleFor)
	defer stop()
	for {
		var status sql.NullString
		err := e.db.QueryRowContext(ctx, "SELECT pg_xact_status($1::text::xid8)", mark).Scan(&status)
		switch {
		case err == nil && status.String == "committed":
			return sqlstore.Committed
		case err == nil && status.String == "aborted":
			return sqlstore.Failed
		case err == nil && !status.Valid, err != nil && !away(err) && ctx.Err() == nil:
			return sqlstore.Unknown // another database stands in its place
		}
		select {
		case <-ctx.Done():
			return sqlstore.Unknown
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// Again reports that another transaction got in the way, or that the connection broke.
func (e *engine) Again(err error) bool {
	// source: PostgreSQL documentation, appendix A: serialization_failure, deadlock_detected
	c := state(err)
	return c == "40001" || c == "40P01" || away(err) && !errors.Is(err, sqlstore.ErrLate)
}

// Whole counts the rows of every table twice, page by page and by the table's index: a file that was cut off at the end of a
// page looks whole to the server, and its index still knows of the rows that are gone.
func (e *engine) Whole(ctx context.Context, tx *sql.Tx) error {
	tables, err := e.Tables(ctx, tx)
	if err != nil {
		return err
	}
	// source: PostgreSQL documentation, section 20.7.1: what is off is used only where there is no other way
	counted := func(t sqlstore.Table, pages, index string) (n int, err error) {
		for _, q := range []string{"SET LOCAL enable_seqscan = " + pages, "SET LOCAL enable_indexonlyscan = " + index, "SET LOCAL enable_indexscan = " + index, "SET LOCAL enable_bitmapscan = off"} {
			if _, err := tx.ExecContext(ctx, q); err != nil {
				return 0, err
			}
		}
		key, _, _ := strings.Cut(t.Key[0], " ")
		// Each has a text of its own, or the plan of the first would be kept for the second.
		err = tx.QueryRowContext(ctx, "SELECT count("+key+") AS index_"+index+" FROM "+t.Name).Scan(&n)
		return n, err
	}
	for _, t := range tables {
		pages, err := counted(t, "on", "off")
		if err != nil {
			return err
		}
		index, err := counted(t, "off", "on")
		if err != nil {
			return err
		}
		if pages != index {
			return e.Damaged(fmt.Errorf("table %s has %d rows, and its index %d", t.Name, pages, index))
		}
	}
	for _, what := range []string{"seqscan", "indexonlyscan", "indexscan", "bitmapscan"} {
		if _, err := tx.ExecContext(ctx, "SET LOCAL enable_"+what+" TO DEFAULT"); err != nil {
			return err
		}
	}
	return nil
}

// Damaged is the error for a record that cannot be used.
func (e *engine) Damaged(cause error) error {
	return store.Errorf(store.Damaged, cause, "The shop in the database %s is damaged and was left as it is. Save a copy of it with pg_dump first, then restore a backup.", e.name)
}

// state returns the server's code for an error; "" for one that did not come from the server.
func state(err error) string {
	var pe *pgconn.PgError
	if errors.As(err, &pe) {
		return pe.Code
	}
	return ""
}

// away reports that the server could not be reached, or went away.
// source of the codes: PostgreSQL documentation, appendix A
func away(err error) bool {
	switch c := state(err); {
	case strings.HasPrefix(c, "08"), c == "57P01", c == "57P02", c == "57P03", c == "57P05", c == "25P03":
		return true // connection exceptions; shutting down, crashed, starting; cut off for being idle
	case c != "":
		return false
	}
	if errors.Is(err, sqlstore.ErrLate) {
		return true
	}
	var ce *pgconn.ConnectError
	var ne net.Error
	return errors.As(err, &ce) || errors.As(err, &ne) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, net.ErrClosed) ||
		errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || strings.Contains(err.Error(), "conn closed")
}

// Trouble turns a failure into an error a person can act on.
func (e *engine) Trouble(err error, doing unit.Text) error {
	say := func(k store.Kind, text unit.Text, args ...any) error { return store.Errorf(k, err, text, args...) }
	// source of the codes: PostgreSQL documentation, appendix A
	switch c := state(err); {
	case c == "28P01" || c == "28000":
		return say(store.Away, "The database %s did not let this program in: the user or the password is not right, or the server allows it from elsewhere only.", e.name)
	case c == "3D000":
		return say(store.Away, "The server has no database %s. Make it first, with createdb or CREATE DATABASE.", e.name)
	case c == "53300":
		return say(store.Busy, "The server of the database %s has no connection left. Nothing was saved: try again, and let the server allow more if it goes on.", e.name)
	case c == "53100" || c == "53200" || c == "53400":
		return say(store.Full, "The server of the database %s has no room left. Nothing of this was saved, and everything saved before is safe: make room there, then enter it again.", e.name)
	case c == "25006" || c == "42501":
		return say(store.ReadOnly, "The database %s cannot be written: this user may only read it, or the server is a read-only copy. Nothing was saved: let the user make and change tables, or name the server that may be written.", e.name)
	case strings.HasPrefix(c, "XX") || c == "58030":
		return e.Damaged(err)
	case c == "22021" || c == "22P05":
		return say(store.Invalid, "There is a character in this that the database %s cannot keep. Nothing was saved.", e.name)
	case c == "55P03" || c == "57014" || c == "40001" || c == "40P01":
		return say(store.Busy, "Another program is changing this in the database %s and did not finish in time. Nothing was saved: try again.", e.name)
	case away(err):
		return say(store.Away, "The database %s cannot be reached. Nothing of this was saved, and everything saved before is safe: try again in a moment.", e.name)
	}
	return say(store.Internal, "Something went wrong while %v; nothing was saved. The log says more.", doing)
}

// Lost is the error for a save of which nobody can say now whether it was done.
func (e *engine) Lost(cause error) error {
	return store.Errorf(store.Away, cause, "The connection to the database %s broke while this was being saved, and it is not certain whether it was. Look at the guitar as it stands before you enter it again; nothing can be saved twice from the same page.", e.name)
}

// Long takes the time limits off a transaction, and lets rows come before those they refer to.
func (e *engine) Long(ctx context.Context, tx *sql.Tx) error {
	for _, q := range []string{"SET LOCAL statement_timeout = 0", "SET LOCAL idle_in_transaction_session_timeout = 0", "SET CONSTRAINTS ALL DEFERRED"} {
		if _, err := tx.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

// forms says how each type of column is read and written in the shared form.
var forms = map[string]sqlstore.Column{
	"text":                     {Read: "%s", Write: "%s"},
	"integer":                  {Read: "%s", Write: "%s"},
	"bigint":                   {Read: "%s", Write: "%s"},
	"double precision":         {Read: "%s", Write: "%s"},
	"bytea":                    {Read: "%s", Write: "%s"},
	"boolean":                  {Read: "%s::integer", Write: "(%s::integer <> 0)"},
	"json":                     {Read: "%s::text", Write: "%s::text::json", JSON: true},
	"timestamp with time zone": {Read: `to_char(%s AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"')`, Write: "%s::text::timestamptz"},
}

// Tables returns every table but the one with the schema's number.
func (e *engine) Tables(ctx context.Context, tx *sql.Tx) ([]sqlstore.Table, error) {
	rows, err := tx.QueryContext(ctx, `SELECT t.relname, c.attname, format_type(c.atttypid, NULL), coalesce(array_position(k.indkey::int2[], c.attnum), -1)
		FROM pg_class t JOIN pg_attribute c ON c.attrelid = t.oid AND c.attnum > 0 AND NOT c.attisdropped
		LEFT JOIN pg_index k ON k.indrelid = t.oid AND k.indisprimary
		WHERE t.relnamespace = current_schema()::regnamespace AND t.relkind = 'r' AND t.relname <> 'fairset_schema'
		ORDER BY t.relname COLLATE "C", 4, c.attnum`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []sqlstore.Table
	for rows.Next() {
		var table, column, kind string
		var key int // counted from 0
		if err := rows.Scan(&table, &column, &kind, &key); err != nil {
			return nil, err
		}
		if len(out) == 0 || out[len(out)-1].Name != table {
			out = append(out, sqlstore.Table{Name: table})
		}
		t := &out[len(out)-1]
		f, ok := forms[kind]
		if !ok {
			return nil, fmt.Errorf("column %s.%s is of a type that cannot be copied, %s", table, column, kind)
		}
		t.Columns = append(t.Columns, sqlstore.Column{Name: column, Read: fmt.Sprintf(f.Read, column), Write: f.Write, JSON: f.JSON})
		if key >= 0 {
			if kind == "text" {
				column += ` COLLATE "C"`
			}
			t.Key = append(t.Key, column)
		}
	}
	return out, rows.Err()
}

// Counted makes numbers go on after the highest that is there.
func (e *engine) Counted(ctx context.Context, tx *sql.Tx) error {
	rows, err := tx.QueryContext(ctx, `SELECT t.relname, c.attname FROM pg_class t JOIN pg_attribute c ON c.attrelid = t.oid AND c.attidentity <> ''
		WHERE t.relnamespace = current_schema()::regnamespace AND t.relkind = 'r'`)
	if err != nil {
		return err
	}
	defer rows.Close()
	var found [][2]string
	for rows.Next() {
		var f [2]string
		if err := rows.Scan(&f[0], &f[1]); err != nil {
			return err
		}
		found = append(found, f)
	}
	if err := rows.Err(); err != nil {
		return err
	}
	for _, f := range found {
		if _, err := tx.ExecContext(ctx, fmt.Sprintf("SELECT setval(pg_get_serial_sequence('%s', '%s'), coalesce(max(%s), 0) + 1, FALSE) FROM %s", f[0], f[1], f[1], f[0])); err != nil {
			return err
		}
	}
	return nil
}
