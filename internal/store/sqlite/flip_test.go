package sqlite

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

// dump reads every value of every table as SQLite itself has it, past all of the program's own reading.
func dump(t *testing.T, path string) map[string][]string {
	t.Helper()
	db, err := open(name(path, false, "query_only(1)")+"&mode=ro&immutable=1", 1)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows := func(q string) (out []string) {
		found, err := db.Query(q)
		if err != nil {
			t.Fatal(q, err)
		}
		defer found.Close()
		cols, err := found.Columns()
		if err != nil {
			t.Fatal(err)
		}
		for found.Next() {
			values, to := make([]any, len(cols)), make([]any, len(cols))
			for i := range values {
				to[i] = &values[i]
			}
			if err := found.Scan(to...); err != nil {
				t.Fatal(q, err)
			}
			out = append(out, fmt.Sprintf("%T %q", values, fmt.Sprint(values)))
		}
		if err := found.Err(); err != nil {
			t.Fatal(q, err)
		}
		return out
	}
	out := map[string][]string{"schema": rows("SELECT type, name, tbl_name, sql FROM sqlite_schema")}
	names, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'table'")
	if err != nil {
		t.Fatal(err)
	}
	var tables []string
	for names.Next() {
		var name string
		if err := names.Scan(&name); err != nil {
			t.Fatal(err)
		}
		tables = append(tables, name)
	}
	if err := names.Err(); err != nil {
		t.Fatal(err)
	}
	for _, name := range tables {
		out[name] = rows("SELECT * FROM " + name)
	}
	return out
}

// pagesOf returns the numbers of the pages that a shop uses, and of those that hold no photo's bytes.
func pagesOf(t *testing.T, path string) (used, small []int) {
	t.Helper()
	db, err := open(name(path, false, "query_only(1)"), 1)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query("SELECT pageno, name FROM dbstat")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var n int
		var name string
		if err := rows.Scan(&n, &name); err != nil {
			t.Fatal(err)
		}
		used = append(used, n)
		if name != "photo_bytes" {
			small = append(small, n)
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	slices.Sort(used)
	slices.Sort(small)
	return used, small
}

// stocked makes a closed shop with all that a shop can hold, and returns what is in its file.
func stocked(t *testing.T, path string) []byte {
	t.Helper()
	s := openAt(t, path)
	storetest.Fill(t, s)
	if err := s.Check(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// One bit flipped anywhere in a page that the shop's own file uses is found when it is opened or by Check, says so to a
// person, and gives way to a copy; or it lies where nothing is stored: then every value of every table and the schema are
// as they were. Pages on SQLite's list of free ones hold nothing and are left out.
func TestFlippedBitsInTheLiveFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "shop.db"), filepath.Join(dir, "copy.db")
	good := stocked(t, path)
	want := dump(t, path)
	used, small := pagesOf(t, path)
	s := openAt(t, path)
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	s.Close()
	const page = 4096
	flips := 300
	if testing.Short() {
		flips = 40
	}
	rnd := rand.New(rand.NewPCG(20260302, 11))
	counts := map[string]int{}
	for n := range flips {
		pages, where := used, "any page"
		if n%2 == 1 {
			pages, where = small, "pages without pictures"
		}
		at, bit := (pages[rnd.IntN(len(pages))]-1)*page+rnd.IntN(page), rnd.IntN(8)
		data := bytes.Clone(good)
		data[at] ^= 1 << bit
		flipped := filepath.Join(dir, fmt.Sprintf("at-%d.db", n))
		if err := os.WriteFile(flipped, data, 0o600); err != nil {
			t.Fatal(err)
		}
		what := fmt.Sprintf("page %d, byte %d, bit %d", at/page+1, at%page, bit)
		s, err := Open(t.Context(), flipped, Options{})
		if err == nil {
			err = s.Check(t.Context())
			s.Close()
		}
		if err == nil {
			counts[where+": nothing is stored there"]++
			if got := dump(t, flipped); !reflect.DeepEqual(got, want) {
				for table := range want {
					if !reflect.DeepEqual(got[table], want[table]) {
						t.Errorf("%s: what is in %s changed, and nothing found it", what, table)
					}
				}
			}
		} else {
			counts[where+": found"]++
			if say := storetest.KindlySaid(err); say == "" || store.KindOf(err) == store.Internal {
				t.Errorf("%s: %v says nothing to a person", what, err)
			}
			if n%10 == 0 {
				if _, err := Restore(t.Context(), copied, flipped, storetest.Day); err != nil {
					t.Errorf("%s: restoring: %v", what, err)
				} else if s := openAt(t, flipped); s.Check(t.Context()) != nil {
					t.Errorf("%s: restored, it is not whole", what)
				}
			}
		}
		for _, name := range []string{"", "-wal", "-shm"} {
			os.Remove(flipped + name)
		}
	}
	t.Logf("%d pages used, %d without pictures: %v", len(used), len(small), counts)
	for _, where := range []string{"any page", "pages without pictures"} {
		if counts[where+": found"] < flips/10 {
			t.Errorf("too little was found: %v", counts)
		}
	}
}

// A figure that became another one is found where it is read, before it can be shown: one bit makes 3 of 1.
func TestAFlippedFigureIsNotShown(t *testing.T) {
	for what, c := range map[string]struct {
		from, to string
		read     func(s *Store) error
	}{
		"a reading's figure": {`"typed":"17/64"`, `"typed":"37/64"`, func(s *Store) error {
			_, on := s.List(t.Context())
			_, off := s.Removed(t.Context())
			return errors.Join(on, off)
		}},
		"a letter of the shop's name": {"Heron Lane", "Haron Lane", func(s *Store) error { _, err := s.Settings(t.Context()); return err }},
		"a picture": {"\x00\xff\x0b'\\\x00\xff\x0b'\\", "\x00\xff\x0b'\\\x00\xfe\x0b'\\", func(s *Store) error {
			var errs []error
			all, err := s.List(t.Context())
			errs = append(errs, err)
			for _, r := range all {
				ps, err := s.Photos(t.Context(), r.Guitar.ID)
				errs = append(errs, err)
				for _, p := range ps {
					_, err := s.PhotoBytes(t.Context(), p.ID, false)
					errs = append(errs, err)
				}
			}
			return errors.Join(errs...)
		}},
	} {
		t.Run(what, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shop.db")
			data := stocked(t, path)
			if !bytes.Contains(data, []byte(c.from)) {
				t.Fatal("it is not there to be spoilt")
			}
			if err := os.WriteFile(path, bytes.Replace(data, []byte(c.from), []byte(c.to), 1), 0o600); err != nil {
				t.Fatal(err)
			}
			s := openAt(t, path)
			if err := c.read(s); !errors.Is(err, store.ErrDamaged) {
				t.Errorf("read: got %v, want an error of kind damaged", err)
			}
			if err := s.Check(t.Context()); !errors.Is(err, store.ErrDamaged) {
				t.Errorf("Check: got %v, want an error of kind damaged", err)
			}
		})
	}
}

// Every row is sealed, by whatever way it came; a row that another program wrote is when the shop is opened.
func TestRowsAreSealed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	stocked(t, path)
	s := openAt(t, path)
	names, err := s.reader.Query("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'")
	if err != nil {
		t.Fatal(err)
	}
	var tables []string
	for names.Next() {
		var name string
		if err := names.Scan(&name); err != nil {
			t.Fatal(err)
		}
		tables = append(tables, name)
	}
	open := func(table string) (n, without int) {
		t.Helper()
		if err := s.reader.QueryRow("SELECT count(*), count(*) FILTER (WHERE digest = '') FROM "+table).Scan(&n, &without); err != nil {
			t.Fatalf("%s has no digests: %v", table, err)
		}
		return n, without
	}
	for _, name := range tables {
		if n, without := open(name); n == 0 || without > 0 {
			t.Errorf("%s: %d rows, %d without a digest", name, n, without)
		}
	}
	if _, err := s.writer.Exec("UPDATE guitar SET name = 'renamed by another program'"); err != nil {
		t.Fatal(err)
	}
	if n, without := open("guitar"); without != n {
		t.Errorf("%d of %d rows lost their digest when they were changed", without, n)
	}
	if err := s.Check(t.Context()); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("Check before they are sealed: %v", err)
	}
	s.Close()
	s = openAt(t, path)
	if _, without := open("guitar"); without > 0 {
		t.Errorf("%d rows without a digest after opening", without)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

// Numbers at the head of the file that say nothing to the shop still say that it was spoilt.
func TestSpoiltHeads(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "shop.db")
	good := whole(t, path)
	// source: SQLite file format, section 1.3; what any value is right for: the schema cookie and the version of SQLite
	free := map[int]bool{40: true, 41: true, 42: true, 43: true, 96: true, 97: true, 98: true, 99: true}
	var missed []string
	for n := range 800 {
		if testing.Short() && n%8 > 0 {
			continue
		}
		at := n / 8
		data := bytes.Clone(good)
		data[at] ^= 1 << (n % 8)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(t.Context(), path, Options{})
		if err == nil {
			err = s.Check(t.Context())
			s.Close()
		}
		if err == nil && !free[at] {
			missed = append(missed, fmt.Sprint(at, " bit ", n%8))
		}
		if err != nil && store.KindOf(err) == store.Internal {
			t.Errorf("byte %d bit %d: %v says nothing to a person", at, n%8, err)
		}
		for _, name := range []string{"-wal", "-shm"} {
			os.Remove(path + name)
		}
	}
	if len(missed) > 0 {
		t.Errorf("bytes that flipped and were not found: %s", strings.Join(missed, ", "))
	}
}
