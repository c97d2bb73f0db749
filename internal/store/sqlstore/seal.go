package sqlstore

// Every row carries a digest of what it says, so that a bit that flipped on the disk is found though the database
// sees nothing wrong with it: one digit of a figure may have become another.

import (
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"
)

// digestColumn holds a row's digest; ” until the transaction that wrote the row seals it. The schema's triggers
// empty it when anything else of the row changes.
const digestColumn = "digest"

// digestBytes of a SHA-256 are kept: two rows that differ agree in them once in 2^128.
const digestBytes = 16

// sealedTable is a table whose rows carry a digest.
type sealedTable struct {
	Table
	sealed   int   // which column is the digest
	byName   []int // the other columns, by name
	keys     []int // the columns of the key
	mustSeal string
	insert   string
}

// sealedTables are those of a shop, by name.
type sealedTables map[string]sealedTable

// sealing returns the tables whose rows carry a digest. They do not change while a shop is open.
func (s *Store) sealing(ctx context.Context, tx *sql.Tx) (sealedTables, error) {
	if known := s.sealedTables.Load(); known != nil {
		return *known, nil
	}
	all, err := s.engine.Tables(ctx, tx)
	if err != nil {
		return nil, err
	}
	out := sealedTables{}
	for _, t := range all {
		st := sealedTable{Table: t, sealed: slices.IndexFunc(t.Columns, func(c Column) bool { return c.Name == digestColumn })}
		if st.sealed < 0 {
			continue
		}
		for i := range t.Columns {
			if i != st.sealed {
				st.byName = append(st.byName, i)
			}
		}
		slices.SortFunc(st.byName, func(a, b int) int { return cmp.Compare(t.Columns[a].Name, t.Columns[b].Name) })
		for _, k := range t.Key {
			name, _, _ := strings.Cut(k, " ")
			st.keys = append(st.keys, slices.IndexFunc(t.Columns, func(c Column) bool { return c.Name == name }))
		}
		st.mustSeal = st.reading() + " WHERE " + digestColumn + " = ''"
		st.insert = st.inserting()
		out[t.Name] = st
	}
	s.sealedTables.Store(&out)
	return out, nil
}

// digest is that of a row in the shared form. A column that holds nothing counts as if it were not there, so that
// adding one leaves the rows sealed.
func (t sealedTable) digest(values []any) (string, error) {
	h := sha256.New()
	field := func(kind byte, data []byte) {
		var head [9]byte
		head[0] = kind
		binary.BigEndian.PutUint64(head[1:], uint64(len(data)))
		h.Write(head[:])
		h.Write(data)
	}
	number := func(kind byte, bits uint64) { field(kind, binary.BigEndian.AppendUint64(nil, bits)) }
	field('T', []byte(t.Name))
	for _, i := range t.byName {
		if values[i] == nil {
			continue
		}
		field('C', []byte(t.Columns[i].Name))
		switch v := values[i].(type) {
		case string:
			field('t', []byte(v))
		case []byte:
			field('b', v)
		case int64:
			number('i', uint64(v))
		case float64:
			if v == 0 {
				v = 0 // a minus zero is not kept as one everywhere
			}
			number('f', math.Float64bits(v))
		default:
			return "", fmt.Errorf("%s.%s holds a %T", t.Name, t.Columns[i].Name, v)
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:digestBytes]), nil
}

// sealedRow is one row in the shared form.
type sealedRow struct {
	table  *sealedTable
	values []any
}

// value returns a column, or the zero value when it holds nothing or something else.
func value[T any](r sealedRow, column string) T {
	i := slices.IndexFunc(r.table.Columns, func(c Column) bool { return c.Name == column })
	if i < 0 {
		panic("no column " + r.table.Name + "." + column)
	}
	v, _ := r.values[i].(T)
	return v
}

func (r sealedRow) text(column string) string { return value[string](r, column) }
func (r sealedRow) whole(column string) int64 { return value[int64](r, column) }
func (r sealedRow) yes(column string) bool    { return r.whole(column) != 0 }
func (r sealedRow) number(column string) float64 {
	return value[float64](r, column)
}

// set changes a column of a row that is about to be written.
func (r sealedRow) set(column string, to any) {
	r.values[slices.IndexFunc(r.table.Columns, func(c Column) bool { return c.Name == column })] = to
}

// bit is yes or no in the shared form.
func bit(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// insertSealed writes a new row, all of whose columns are given in the shared form, with its digest.
func (s *Store) insertSealed(ctx context.Context, tx *Tx, table string, row map[string]any) error {
	tables, err := s.sealing(ctx, tx.Tx)
	if err != nil {
		return err
	}
	t := tables[table]
	values := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		values[i] = row[c.Name]
	}
	if values[t.sealed], err = t.digest(values); err != nil {
		return err
	}
	_, err = tx.Tx.ExecContext(ctx, t.insert, values...)
	return err
}

// holds compares the row with its digest. One that is not sealed yet passes unless every row must be: the
// transaction that wrote it may be this one.
func (r sealedRow) holds(every bool) error {
	want, _ := r.values[r.table.sealed].(string)
	if want == "" && !every {
		return nil
	}
	got, err := r.table.digest(r.values)
	if err == nil && got != want {
		err = fmt.Errorf("digest %s where %q was written", got, want)
	}
	if err != nil {
		var key []string
		for _, i := range r.table.keys {
			key = append(key, fmt.Sprint(r.values[i]))
		}
		return fmt.Errorf("table %s, row %.80q: %w", r.table.Name, strings.Join(key, " "), err)
	}
	return nil
}

// rows reads rows of a table in the shared form and hands on each that agrees with its digest; the first that does
// not is the error. where is what follows the table's name.
func (s *Store) rows(ctx context.Context, tx *sql.Tx, table, where string, args []any, do func(r sealedRow) error) error {
	tables, err := s.sealing(ctx, tx)
	if err != nil {
		return err
	}
	t, ok := tables[table]
	if !ok {
		return s.engine.Damaged(fmt.Errorf("no table %s", table))
	}
	return s.each(ctx, tx, &t, t.reading()+" "+where, args, false, do)
}

func (s *Store) each(ctx context.Context, tx *sql.Tx, t *sealedTable, query string, args []any, every bool, do func(r sealedRow) error) error {
	found, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer found.Close()
	for found.Next() {
		values, err := row(found, len(t.Columns))
		if err != nil {
			return err
		}
		r := sealedRow{t, values}
		if err := r.holds(every); err != nil {
			return s.engine.Damaged(err)
		}
		if err := do(r); err != nil {
			return err
		}
	}
	return found.Err()
}

// seal gives every row that a transaction wrote its digest.
func (s *Store) seal(ctx context.Context, tx *sql.Tx) error {
	tables, err := s.sealing(ctx, tx)
	if err != nil {
		return err
	}
	open, err := unsealed(ctx, tx, tables)
	if err != nil {
		return err
	}
	for _, name := range open {
		t := tables[name]
		var rows []sealedRow // without what may be large
		var digests []string
		if err := s.each(ctx, tx, &t, t.mustSeal, nil, false, func(r sealedRow) error {
			d, err := t.digest(r.values)
			key := make([]any, len(t.Columns))
			for _, i := range t.keys {
				key[i] = r.values[i]
			}
			rows, digests = append(rows, sealedRow{&t, key}), append(digests, d)
			return err
		}); err != nil {
			return err
		}
		var where []string
		for i, k := range t.Key {
			where = append(where, fmt.Sprintf("%s = $%d", k, i+2))
		}
		update, err := tx.PrepareContext(ctx, "UPDATE "+name+" SET "+digestColumn+" = $1 WHERE "+strings.Join(where, " AND "))
		if err != nil {
			return err
		}
		for n, r := range rows {
			args := []any{digests[n]}
			for _, i := range t.keys {
				args = append(args, r.values[i])
			}
			if _, err := update.ExecContext(ctx, args...); err != nil {
				return err
			}
		}
		if err := update.Close(); err != nil {
			return err
		}
	}
	return nil
}

// unsealed returns the tables that have rows without a digest. An index holds just those.
func unsealed(ctx context.Context, tx *sql.Tx, tables sealedTables) ([]string, error) {
	var asks []string
	for name := range tables {
		asks = append(asks, fmt.Sprintf("SELECT '%s' WHERE EXISTS (SELECT 1 FROM %s WHERE %s = '')", name, name, digestColumn))
	}
	if len(asks) == 0 {
		return nil, nil
	}
	slices.Sort(asks)
	return ids(ctx, tx, strings.Join(asks, " UNION ALL "))
}

// Seal gives a digest to rows that have none: those of an older program.
func (s *Store) Seal(ctx context.Context) error {
	todo := false
	if err := s.read(ctx, "reading the shop", func(tx *sql.Tx) error {
		tables, err := s.sealing(ctx, tx)
		if err != nil {
			return err
		}
		open, err := unsealed(ctx, tx, tables)
		todo = len(open) > 0
		return err
	}); err != nil || !todo {
		return err
	}
	return s.whole(ctx, "bringing the shop up to date", func(ctx context.Context, tx *Tx) error { return s.seal(ctx, tx.Tx) }, (*sql.Tx).Commit)
}

// checkSeals compares every row of every table with its digest.
func (s *Store) checkSeals(ctx context.Context, tx *sql.Tx) error {
	tables, err := s.sealing(ctx, tx)
	if err != nil {
		return err
	}
	for _, t := range tables {
		if err := s.each(ctx, tx, &t, t.reading(), nil, true, func(sealedRow) error { return nil }); err != nil {
			return err
		}
	}
	return nil
}
