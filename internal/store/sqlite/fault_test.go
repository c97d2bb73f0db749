package sqlite

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

const childEnv = "FAIRSET_TEST_SAVING_CHILD"

// The test binary run again is the program that gets killed: it saves readings as fast as it can and writes
// the number of each one that was acknowledged.
func TestMain(m *testing.M) {
	if path := os.Getenv(childEnv); path != "" {
		if err := saveUntilKilled(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func saveUntilKilled(path string) error {
	ctx := context.Background()
	s, err := Open(ctx, path, Options{})
	if err != nil {
		return err
	}
	defer s.Close()
	rs, err := s.List(ctx)
	if err != nil || len(rs) != 1 {
		return fmt.Errorf("%d guitars, %v", len(rs), err)
	}
	r := rs[0]
	last := r.Guitar.Log[len(r.Guitar.Log)-1]
	for len(r.Guitar.Log) < 1000 {
		e := last
		e.Seq, e.At = len(r.Guitar.Log)+1, storetest.Day.Add(time.Duration(len(r.Guitar.Log))*time.Second)
		if r, err = s.Append(ctx, r.Guitar.ID, r.Revision, e); err != nil {
			return err
		}
		fmt.Println(e.Seq)
	}
	return nil
}

func TestKilledInTheMiddleOfAThousandSaves(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := openAt(t, path)
	r, err := s.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	if r, err = s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); err != nil {
		t.Fatal(err)
	}
	s.Close()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	acknowledged, kills := 1, 0
	for round := 0; acknowledged < 1000 && round < 60; round++ {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+path)
		var complaint bytes.Buffer
		cmd.Stderr = &complaint
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Killed between two saves or in the middle of one: after so many, and then a moment of a save's length.
		after := acknowledged + 20 + rnd.IntN(80)
		killed := false
		for lines := bufio.NewScanner(out); lines.Scan(); {
			n, err := strconv.Atoi(lines.Text())
			if err != nil {
				break // the last line may be cut off by the kill
			}
			acknowledged = n
			if n >= after && !killed {
				killed = true
				time.Sleep(time.Duration(rnd.IntN(3000)) * time.Microsecond)
				if err := cmd.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
					t.Fatal(err)
				}
			}
		}
		err = cmd.Wait()
		if complaint.Len() > 0 {
			t.Fatalf("the saving program: %v, %s", err, &complaint)
		}
		if err != nil {
			kills++
		}
		s := openAt(t, path)
		got, err := s.Get(t.Context(), r.Guitar.ID)
		if err != nil {
			t.Fatalf("after kill %d: %v", kills, err)
		}
		// The save in hand when it was killed may be there or not; every acknowledged one must be.
		if n := len(got.Guitar.Log); n < acknowledged || n > acknowledged+2 {
			t.Fatalf("after kill %d: %d readings, %d were acknowledged", kills, n, acknowledged)
		}
		if err := s.Check(t.Context()); err != nil {
			t.Fatalf("after kill %d: %v", kills, err)
		}
		s.Close()
	}
	if acknowledged != 1000 || kills < 5 {
		t.Errorf("%d saves and %d kills; want 1000 saves with at least 5 kills among them", acknowledged, kills)
	}
	t.Logf("1000 saves, %d kills, nothing lost", kills)
}

// fill appends readings until the store refuses, and returns the record before and the refusal.
func fill(t *testing.T, s *Store, r store.Record) (store.Record, error) {
	t.Helper()
	for n := range 20000 {
		e := storetest.Entry(t, r.Guitar, guitar.StepNote, map[string][]string{"text": {strings.Repeat("long note ", 150)}})
		after, err := s.Append(t.Context(), r.Guitar.ID, r.Revision, e)
		if err != nil {
			t.Logf("refused after %d notes: %v", n, err)
			return r, err
		}
		r = after
	}
	t.Fatal("20000 notes fitted where they should not have")
	return r, nil
}

func wantFull(t *testing.T, s *Store, before store.Record, err error) {
	t.Helper()
	if !errors.Is(err, store.ErrFull) {
		t.Fatalf("got %v, want an error of kind full", err)
	}
	if say := storetest.KindlySaid(err); !strings.Contains(say, "no room left") || !strings.Contains(say, s.Path()) {
		t.Errorf("says %q", say)
	}
	got, err := s.Get(t.Context(), before.Guitar.ID)
	if err != nil || got.Revision != before.Revision || len(got.Guitar.Log) != len(before.Guitar.Log) {
		t.Errorf("after the refusal: %v, %v; want %v", got, err, before)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Errorf("after the refusal: %v", err)
	}
}

func TestFullDatabase(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "shop.db"))
	r, err := s.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.writer.Exec("PRAGMA max_page_count = 40"); err != nil {
		t.Fatal(err)
	}
	r, err = fill(t, s, r)
	wantFull(t, s, r, err)
	if _, err := s.writer.Exec("PRAGMA max_page_count = 100000"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); err != nil {
		t.Errorf("once there is room again: %v", err)
	}
}

func snapshot(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = string(data)
	}
	return out
}

// whole makes a closed shop file with some guitars in it.
func whole(t *testing.T, path string) []byte {
	t.Helper()
	s := openAt(t, path)
	for i := range 12 {
		if _, err := s.Create(t.Context(), storetest.Worked(t, fmt.Sprintf("Guitar %d", i+1))); err != nil {
			t.Fatal(err)
		}
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

func TestRefusesWhatItCannotUse(t *testing.T) {
	sound := whole(t, filepath.Join(t.TempDir(), "shop.db"))
	other := filepath.Join(t.TempDir(), "other.db")
	db, err := sql.Open("sqlite", other)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE recipe (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	foreign, err := os.ReadFile(other)
	if err != nil {
		t.Fatal(err)
	}
	spoilt := func(from, to int) []byte {
		out := bytes.Clone(sound)
		for i := from; i < to; i++ {
			out[i] ^= 0x5a
		}
		return out
	}
	newer := bytes.Clone(sound)
	newer[63] = 99 // source: SQLite file format, section 1.3: the user version stands at offset 60, big-endian
	for _, c := range []struct {
		name string
		data []byte
		want *store.Error
		says string
	}{
		{"another program's database", foreign, store.ErrForeign, "not a shop file"},
		{"a text", []byte("dear diary, today the neck went on"), store.ErrForeign, "not a shop file"},
		{"a long text", bytes.Repeat([]byte("dear diary "), 5000), store.ErrForeign, "not a shop file"},
		{"an exported guitar", guitar.Encode(storetest.Worked(t, "Larch")), store.ErrForeign, "imported, not opened"},
		{"a newer program's file", newer, store.ErrNewer, "update this program"},
		{"cut in half", sound[:len(sound)/2/4096*4096], store.ErrDamaged, "damaged"},
		{"last page missing", sound[:len(sound)-4096], store.ErrDamaged, "damaged"},
		{"cut in the header", sound[:60], store.ErrDamaged, "damaged"},
		{"tables overwritten", spoilt(4096, 3*4096), store.ErrDamaged, "damaged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "shop.db")
			if err := os.WriteFile(path, c.data, 0o600); err != nil {
				t.Fatal(err)
			}
			s, err := Open(t.Context(), path, Options{})
			if err == nil {
				s.Close()
				t.Fatal("it was opened")
			}
			if !errors.Is(err, c.want) {
				t.Fatalf("got %v, want an error of kind %q", err, c.want.Kind)
			}
			if say := storetest.KindlySaid(err); !strings.Contains(say, c.says) || !strings.Contains(say, path) {
				t.Errorf("says %q, want it to say %q and name the file", say, c.says)
			}
			if got := snapshot(t, dir); len(got) != 1 || got["shop.db"] != string(c.data) {
				t.Errorf("the file or its folder was changed: %d files", len(got))
			}
		})
	}
}

// A flipped figure that SQLite cannot see is found by Check, and never shown as a figure.
func TestCheckFindsWhatSQLiteCannotSee(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	data := whole(t, path)
	if !bytes.Contains(data, []byte(`"typed":"17/64"`)) {
		t.Fatal("no reading found to spoil")
	}
	data = bytes.ReplaceAll(data, []byte(`"typed":"17/64"`), []byte(`"tipsy":"17/64"`))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	if err := s.Check(t.Context()); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("Check: got %v, want an error of kind damaged", err)
	}
	if _, err := s.List(t.Context()); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("List: got %v, want an error of kind damaged", err)
	}
}

func TestOpenOddPlaces(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"shop #1 50% off?.db", "Öl & späne=ja.db", "a b'c\".db"} {
		path := filepath.Join(dir, name)
		s, err := Open(t.Context(), path, Options{})
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		s.Close()
		if st, err := os.Stat(path); err != nil || st.Size() == 0 {
			t.Errorf("%q was not the file that was made: %v", name, err)
		}
	}
	if _, err := Open(t.Context(), dir, Options{}); !errors.Is(err, store.ErrInvalid) {
		t.Errorf("a folder: got %v", err)
	}
	if _, err := Open(t.Context(), filepath.Join(dir, "no", "such", "shop.db"), Options{}); !errors.Is(err, store.ErrInvalid) {
		t.Errorf("no folder: got %v", err)
	}
	empty := filepath.Join(dir, "empty.db")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	openAt(t, empty)
}

func TestConnectionsAreAsPromised(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "shop.db"))
	// source: SQLite pragma documentation: synchronous FULL is 2
	for name, c := range map[string]struct {
		db     *sql.DB
		pragma string
		want   string
	}{
		"writer log":          {s.writer, "journal_mode", "wal"},
		"writer durability":   {s.writer, "synchronous", "2"},
		"writer foreign keys": {s.writer, "foreign_keys", "1"},
		"writer wait":         {s.writer, "busy_timeout", "5000"},
		"reader foreign keys": {s.reader, "foreign_keys", "1"},
		"reader writes":       {s.reader, "query_only", "1"},
	} {
		// Several connections at once, so that each of the pool is asked.
		var held []*sql.Conn
		for range c.db.Stats().MaxOpenConnections {
			conn, err := c.db.Conn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			held = append(held, conn)
			var got string
			if err := conn.QueryRowContext(t.Context(), "PRAGMA "+c.pragma).Scan(&got); err != nil || got != c.want {
				t.Errorf("%s: %s is %q, %v; want %q", name, c.pragma, got, err, c.want)
			}
		}
		for _, conn := range held {
			conn.Close()
		}
	}
}

// Two programs with the same file, as the command line beside the pages.
func TestTwoPrograms(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	a, b := openAt(t, path), openAt(t, path)
	r, err := a.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	seen, err := b.Get(t.Context(), r.Guitar.ID)
	if err != nil {
		t.Fatal(err)
	}
	first, err := a.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1))
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.Append(t.Context(), r.Guitar.ID, seen.Revision, storetest.Lean(t, r.Guitar, 2))
	if now, ok := store.Current(err); !errors.Is(err, store.ErrConflict) || !ok || now.Revision != first.Revision {
		t.Fatalf("got %v, want a conflict with the current record", err)
	}
	now, err := b.Get(t.Context(), r.Guitar.ID)
	if err != nil || len(now.Guitar.Log) != 1 {
		t.Fatalf("the second program sees %d entries, %v", len(now.Guitar.Log), err)
	}
	if _, err := b.Append(t.Context(), r.Guitar.ID, now.Revision, storetest.Lean(t, now.Guitar, 2)); err != nil {
		t.Error(err)
	}
	if all, err := a.List(t.Context()); err != nil || len(all) != 1 || len(all[0].Guitar.Log) != 2 {
		t.Errorf("the first program sees %v, %v", all, err)
	}
}

// What another program writes into the file is heard of, and what this one writes is not taken for it.
func TestWatchSeesTheOtherProgram(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	a, b := openAt(t, path), openAt(t, path)
	changes, err := a.Watch(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	r, err := a.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	storetest.Told(t, changes, r)
	select {
	case c := <-changes:
		t.Errorf("told of %+v, which nobody made", c)
	case <-time.After(lookEvery + lookEvery/2):
	}
	if _, err := b.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); err != nil {
		t.Fatal(err)
	}
	storetest.Told(t, changes, store.Record{})
}

// Programs that find no file and make it at the same moment all end up with the same one.
func TestOpenedByManyAtOnce(t *testing.T) {
	for range 5 {
		path := filepath.Join(t.TempDir(), "shop.db")
		errs := make(chan error, 4)
		for range cap(errs) {
			go func() {
				s, err := Open(t.Context(), path, Options{})
				if err == nil {
					err = errors.Join(s.Check(t.Context()), s.Close())
				}
				errs <- err
			}()
		}
		for range cap(errs) {
			if err := <-errs; err != nil {
				t.Error(err)
			}
		}
	}
}

// next returns the program's own migrations and one more.
func next(t *testing.T, text string) fstest.MapFS {
	t.Helper()
	names, err := embedded.ReadDir("migrations")
	if err != nil {
		t.Fatal(err)
	}
	out := fstest.MapFS{fmt.Sprintf("%04d_next.sql", len(names)+1): {Data: []byte(text)}}
	for _, n := range names {
		data, err := embedded.ReadFile("migrations/" + n.Name())
		if err != nil {
			t.Fatal(err)
		}
		out[n.Name()] = &fstest.MapFile{Data: data}
	}
	return out
}

func TestMigrationBacksUpFirst(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.db")
	whole(t, path)
	clock := Options{Now: func() time.Time { return storetest.Day }}
	s, err := openWith(t.Context(), path, clock, next(t, "ALTER TABLE guitar ADD COLUMN shelf TEXT; CREATE TABLE shelf (name TEXT);"))
	if err != nil {
		t.Fatal(err)
	}
	if all, err := s.List(t.Context()); err != nil || len(all) != 12 {
		t.Errorf("%d guitars after migrating, %v", len(all), err)
	}
	s.Close()
	own, err := embedded.ReadDir("migrations")
	if err != nil {
		t.Fatal(err)
	}
	backup := fmt.Sprintf("%s.schema-%d-20260302-090000", path, len(own))
	old := openAt(t, backup) // opens as it is: it is of this program's own schema
	if all, err := old.List(t.Context()); err != nil || len(all) != 12 {
		t.Errorf("%d guitars in the backup, %v", len(all), err)
	}
	old.Close()
	if _, err := Open(t.Context(), path, Options{}); !errors.Is(err, store.ErrNewer) {
		t.Errorf("the older program: got %v, want an error of kind newer", err)
	}
}

func TestFailedMigrationChangesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	whole(t, path)
	if _, err := openWith(t.Context(), path, Options{}, next(t, "ALTER TABLE guitar ADD COLUMN shelf TEXT; SELECT nonsense FROM nowhere;")); !errors.Is(err, store.ErrInternal) {
		t.Fatalf("got %v, want an error of kind internal", err)
	}
	s := openAt(t, path)
	if all, err := s.List(t.Context()); err != nil || len(all) != 12 {
		t.Errorf("%d guitars, %v", len(all), err)
	}
	var columns int
	if err := s.reader.QueryRow("SELECT count(*) FROM pragma_table_info('guitar') WHERE name = 'shelf'").Scan(&columns); err != nil || columns != 0 {
		t.Errorf("half of the migration stayed: %d, %v", columns, err)
	}
}

func TestEntriesCannotBeErasedOrChanged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	whole(t, path)
	s := openAt(t, path)
	for _, q := range []string{"DELETE FROM entry", "UPDATE entry SET values_json = '{}'", "UPDATE entry SET seq = seq + 100", "DELETE FROM guitar", "UPDATE entry SET undone = 2"} {
		if _, err := s.writer.Exec(q); err == nil {
			t.Errorf("%s was allowed", q)
		}
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

var update = flag.Bool("update", false, "write the database kept for the current schema, if there is none")

// One database of every schema ever released is kept, and must open for ever.
func TestOldDatabasesOpen(t *testing.T) {
	names, err := embedded.ReadDir("migrations")
	if err != nil {
		t.Fatal(err)
	}
	for schema := 1; schema <= len(names); schema++ {
		kept := filepath.Join("testdata", fmt.Sprintf("schema-%d.sqlite", schema))
		if _, err := os.Stat(kept); err != nil && *update && schema == len(names) {
			s := openAt(t, kept)
			for _, name := range []string{"Larch", "Elm"} {
				r, err := s.Create(t.Context(), storetest.Worked(t, name))
				if err != nil {
					t.Fatal(err)
				}
				if _, _, err := s.Undo(t.Context(), r.Guitar.ID, r.Revision); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := s.AddClimate(t.Context(), storetest.Air()); err != nil {
				t.Fatal(err)
			}
			s.Close()
		}
		data, err := os.ReadFile(kept)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "shop.db")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s := openAt(t, path)
		if err := s.Check(t.Context()); err != nil {
			t.Errorf("schema %d: %v", schema, err)
		}
		all, err := s.List(t.Context())
		if err != nil || len(all) != 2 {
			t.Fatalf("schema %d: %d guitars, %v", schema, len(all), err)
		}
		want := 0
		if schema >= 2 { // readings of the air came with the second
			want = len(storetest.Air())
		}
		if air, err := s.Climate(t.Context(), time.Time{}, time.Time{}); err != nil || len(air) != want {
			t.Errorf("schema %d: %d readings of the air, %v", schema, len(air), err)
		}
		for _, r := range all {
			want := storetest.Worked(t, r.Guitar.Name)
			if n := len(r.Guitar.Log); n != len(want.Log) || !r.Guitar.Log[n-1].Undone || r.Guitar.Log[n-2].Undone {
				t.Errorf("schema %d, %s: log of %d", schema, r.Guitar.Name, n)
			}
			if got := r.Guitar.First["scale_length"][0].Text; got != "25 1/2" {
				t.Errorf("schema %d, %s: scale length typed as %q", schema, r.Guitar.Name, got)
			}
		}
	}
}

// Every engine has the same tables. Whoever adds a migration here adds one for PostgreSQL, which says so in its
// first line; its references are DEFERRABLE, so that a shop can be moved.
func TestPostgreSQLFollows(t *testing.T) {
	own, err := embedded.ReadDir("migrations")
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := filepath.Glob("../postgres/migrations/*.sql")
	if err != nil || len(theirs) == 0 {
		t.Fatal(theirs, err)
	}
	last := theirs[len(theirs)-1]
	text, err := os.ReadFile(last)
	if err != nil {
		t.Fatal(err)
	}
	var matches int
	if _, err := fmt.Sscanf(string(text), "-- matches sqlite %d", &matches); err != nil || matches != len(own) {
		t.Errorf("%s matches schema %d of SQLite, which has %d: write the next migration there and begin it with -- matches sqlite %d", last, matches, len(own), len(own))
	}
}

// BenchmarkSave measures acknowledged saves against the least the disk can do for durability: one write of a
// page and one fsync on the same disk.
func BenchmarkSave(b *testing.B) {
	dir := b.TempDir()
	s := openAt(b, filepath.Join(dir, "shop.db"))
	start, err := s.Create(b.Context(), storetest.New(b, "Larch"))
	if err != nil {
		b.Fatal(err)
	}
	f, err := os.Create(filepath.Join(dir, "bare"))
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	page := make([]byte, 4096)
	r := start
	template := storetest.Lean(b, start.Guitar, 1)
	var saving, bare time.Duration
	for b.Loop() {
		if len(r.Guitar.Log) == 50 { // a guitar's usual log
			if r, err = s.Create(b.Context(), storetest.New(b, "Larch")); err != nil {
				b.Fatal(err)
			}
		}
		e := template
		e.Seq = len(r.Guitar.Log) + 1
		t0 := time.Now()
		if r, err = s.Append(b.Context(), r.Guitar.ID, r.Revision, e); err != nil {
			b.Fatal(err)
		}
		t1 := time.Now()
		if _, err := f.Write(page); err != nil {
			b.Fatal(err)
		}
		if err := f.Sync(); err != nil {
			b.Fatal(err)
		}
		saving += t1.Sub(t0)
		bare += time.Since(t1)
	}
	b.ReportMetric(float64(bare)/float64(saving), "saves/fsync")
	b.ReportMetric(float64(b.N)/saving.Seconds(), "saves/s")
	b.ReportMetric(float64(b.N)/bare.Seconds(), "fsyncs/s")
	b.ReportMetric(0, "ns/op")
}

func BenchmarkOpen(b *testing.B) { benchmarkShop(b, 100, func(s *Store) {}) }

// BenchmarkList lists a hundred guitars already read once, as a page does.
func BenchmarkList(b *testing.B) {
	benchmarkShop(b, 100, func(s *Store) {
		for b.Loop() {
			if _, err := s.List(b.Context()); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func benchmarkShop(b *testing.B, guitars int, do func(s *Store)) {
	path := filepath.Join(b.TempDir(), "shop.db")
	s := openAt(b, path)
	for i := range guitars {
		if _, err := s.Create(b.Context(), storetest.Worked(b, fmt.Sprint("Guitar ", i))); err != nil {
			b.Fatal(err)
		}
	}
	if b.Name() != "BenchmarkOpen" {
		do(s)
		return
	}
	s.Close()
	for b.Loop() {
		s, err := Open(b.Context(), path, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.List(b.Context()); err != nil {
			b.Fatal(err)
		}
		s.Close()
	}
}

// Nothing of a removed photo is left in the file or in the log beside it.
func TestRemovedPhotosAreGoneFromTheFile(t *testing.T) {
	dir := t.TempDir()
	s := openAt(t, filepath.Join(dir, "shop.db"))
	r, err := s.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	face := bytes.Repeat([]byte("a face in a picture "), 5000)
	ps, err := s.AddPhotos(t.Context(), []store.PhotoFile{
		{Photo: store.Photo{Guitar: r.Guitar.ID, Alt: "somebody at the bench", Width: 2, Height: 2}, Full: face, Thumb: []byte("a face in a picture, small")},
		{Photo: store.Photo{Guitar: r.Guitar.ID, Alt: "a heel", Width: 2, Height: 2}, Full: []byte("the heel stays"), Thumb: []byte("small")},
	})
	if err != nil {
		t.Fatal(err)
	}
	holds := func(what string) bool {
		for _, data := range snapshot(t, dir) {
			if strings.Contains(data, what) {
				return true
			}
		}
		return false
	}
	if !holds("a face in a picture") || !holds("somebody at the bench") {
		t.Fatal("this test does not find what is there")
	}
	if n, err := s.RemovePhotos(t.Context(), ps[0].ID); err != nil || n != 1 {
		t.Fatal(n, err)
	}
	for _, what := range []string{"a face in a picture", "somebody at the bench"} {
		if holds(what) {
			t.Errorf("the files still hold %q", what)
		}
	}
	if !holds("the heel stays") {
		t.Error("the other photo is gone, too")
	}
}
