package sqlite

// What SQLite's own check does not look at: the numbers at the head of the file, the text of the schema, and what
// numbers go on from.

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
	"sync"

	"fairset/internal/store/sqlstore"
)

// querier is a transaction or a pool.
type querier interface {
	QueryContext(ctx context.Context, q string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, q string, args ...any) *sql.Row
}

// sound looks where neither SQLite's check nor the rows' digests do. steps are the migrations that made the file.
func sound(ctx context.Context, q querier, steps []sqlstore.Migration) error {
	var head []byte
	if err := q.QueryRowContext(ctx, "SELECT substr(data, 1, 100) FROM sqlite_dbpage WHERE pgno = 1").Scan(&head); err != nil {
		return err
	}
	if err := header(head); err != nil {
		return err
	}
	var is int
	if err := q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&is); err != nil {
		return err
	}
	if is < 1 || is > len(steps) {
		return nil // whoever opens it says what that means
	}
	want, err := schemaOf(ctx, steps[:is])
	if err != nil {
		return err
	}
	got, err := objects(ctx, q)
	if err != nil {
		return err
	}
	var counting []string
	for _, o := range want {
		if !got[o] {
			return fmt.Errorf("the schema is not that of number %d: %s %s", is, o.kind, o.name)
		}
		if o.kind == "table" && strings.Contains(o.sql, " AUTOINCREMENT") {
			counting = append(counting, o.name)
		}
	}
	return counters(ctx, q, counting)
}

// header looks at the numbers a shop's file always begins with. What differs from shop to shop and means nothing by
// itself is left: the schema cookie and the version of SQLite that wrote last.
// source: SQLite file format, section 1.3
func header(head []byte) error {
	if len(head) < 100 {
		return fmt.Errorf("a head of %d bytes", len(head))
	}
	at := func(n int) uint32 { return binary.BigEndian.Uint32(head[n:]) }
	for what, ok := range map[string]bool{
		"read and write version":           head[18] == head[19] && (head[18] == 1 || head[18] == 2),
		"reserved space":                   head[20] == 0,
		"payload fractions":                bytes.Equal(head[21:24], []byte{64, 32, 32}),
		"change counter":                   at(24) == at(92),
		"schema format":                    at(44) == 4,
		"cache size":                       at(48) == 0,
		"vacuum settings":                  at(52) == 0 && at(64) == 0,
		"text encoding":                    at(56) == 1,
		"application id":                   at(68) == appID,
		"space kept for what is to come":   bytes.Equal(head[72:92], make([]byte, 20)),
		"beginning that every file shares": string(head[:16]) == sqliteMagic,
	} {
		if !ok {
			return fmt.Errorf("the head of the file: %s", what)
		}
	}
	return nil
}

// object is one row of the schema, but for where its pages begin, which SQLite's own check follows.
type object struct{ kind, name, table, sql string }

func objects(ctx context.Context, q querier) (map[object]bool, error) {
	rows, err := q.QueryContext(ctx, "SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[object]bool{}
	for rows.Next() {
		var o object
		if err := rows.Scan(&o.kind, &o.name, &o.table, &o.sql); err != nil {
			return nil, err
		}
		out[o] = true
	}
	return out, rows.Err()
}

var schemasMade sync.Map // by the last migration's text: []object

// schemaOf is the schema that migrations make. What others put beside it, such as statistics, is theirs.
func schemaOf(ctx context.Context, steps []sqlstore.Migration) ([]object, error) {
	key := fmt.Sprint(len(steps), steps[len(steps)-1].SQL)
	if known, ok := schemasMade.Load(key); ok {
		return known.([]object), nil
	}
	db, err := open(":memory:", 1)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	for _, m := range steps {
		if _, err := db.ExecContext(ctx, m.SQL); err != nil {
			return nil, err
		}
	}
	all, err := objects(ctx, db)
	if err != nil {
		return nil, err
	}
	var out []object
	for o := range all {
		out = append(out, o)
	}
	schemasMade.Store(key, out)
	return out, nil
}

// counters compares the numbers that go on counting with the highest in their tables: of those tables no row is
// ever erased.
func counters(ctx context.Context, q querier, tables []string) error {
	for _, name := range tables {
		var kept, highest sql.NullInt64
		if err := q.QueryRowContext(ctx, "SELECT (SELECT seq FROM sqlite_sequence WHERE name = $1), (SELECT max(rowid) FROM "+name+")", name).Scan(&kept, &highest); err != nil {
			return err
		}
		if kept.Int64 != highest.Int64 {
			return fmt.Errorf("the numbers of table %s go on from %d, and its last is %d", name, kept.Int64, highest.Int64)
		}
	}
	return nil
}

// unsound is the error for what sound found; one of the database itself stays as it is.
func unsound(err error, path string) error {
	if err == nil || code(err) >= 0 || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return damaged(err, path)
}
