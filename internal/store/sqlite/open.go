package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"

	lib "modernc.org/sqlite/lib"

	"fairset/internal/store"
	"fairset/internal/store/sqlstore"
)

//go:embed migrations/*.sql
var embedded embed.FS

// appID marks a database as a Fairset shop file: the letters FAIR.
const appID = 0x46414952

// sqliteMagic begins every SQLite 3 file. source: SQLite file format, section 1.3.1.
const sqliteMagic = "SQLite format 3\x00"

// Options are for tests; the zero value is what the program uses.
type Options struct {
	Now func() time.Time
}

// Open opens the shop file at path, making it if there is none, and brings an older one up to this
// program's schema after taking a backup beside it. A file that is not ours, is damaged, or was written by a
// newer program is refused and left as it is.
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	files, err := fs.Sub(embedded, "migrations")
	if err != nil {
		return nil, err
	}
	return openWith(ctx, path, o, files)
}

func openWith(ctx context.Context, path string, o Options, migrations fs.FS) (*Store, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, store.Errorf(store.Invalid, err, "%q is not a file name that can be used.", path)
	}
	s := &Store{path: abs, now: o.Now, closed: make(chan struct{})}
	if s.now == nil {
		s.now = time.Now
	}
	if err := s.greet(); err != nil {
		return nil, err
	}
	// Turning a new file's log on needs it alone, and SQLite does not wait for that as it does for a lock: a
	// program that opens it at the same moment tries again.
	for patience := time.Now().Add(5 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		err := s.connect(ctx, migrations)
		if err == nil {
			return s, nil
		}
		s.close()
		if code(err) != lib.SQLITE_BUSY || ctx.Err() != nil || time.Now().After(patience) {
			return nil, sqlstore.Trouble(engine{abs}, err, "opening the shop's file")
		}
	}
}

// connect brings the file up to date and opens both pools on it.
func (s *Store) connect(ctx context.Context, migrations fs.FS) (err error) {
	if err := s.prepare(ctx, migrations); err != nil {
		return err
	}
	if s.writer, err = open(name(s.path, true, "journal_mode(WAL)", "synchronous(FULL)"), 1); err != nil {
		return err
	}
	if s.reader, err = open(name(s.path, false, "query_only(1)"), 4); err != nil {
		return err
	}
	if err := s.ready(ctx); err != nil {
		return err
	}
	s.Store = sqlstore.New(engine{s.path}, sqlstore.Pools{Writer: s.writer, Reader: s.reader}, s.now)
	return s.Seal(ctx)
}

// greet looks at the file before SQLite does, because opening another program's database already changes it.
func (s *Store) greet() error {
	f, err := os.OpenFile(s.path, os.O_RDWR|os.O_CREATE, 0o600)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return store.Errorf(store.Invalid, err, "There is no folder %s. Make it first, or choose another place for the shop's file.", filepath.Dir(s.path))
	case errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS):
		return readOnly(err, s.path)
	case err != nil:
		if st, e := os.Stat(s.path); e == nil && st.IsDir() {
			return store.Errorf(store.Invalid, err, "%s is a folder; name a file.", s.path)
		}
		return store.Errorf(store.Internal, err, "%s cannot be opened.", s.path)
	}
	defer f.Close()
	return known(f, s.path)
}

// prepare checks the file's schema and brings it up to date. It works in SQLite's plain journal for a new
// file, so that the marks of ours are in the file itself before anything else is.
func (s *Store) prepare(ctx context.Context, files fs.FS) error {
	todo, err := sqlstore.Migrations(files)
	if err != nil {
		return err
	}
	db, err := open(name(s.path, true, "synchronous(FULL)"), 1)
	if err != nil {
		return err
	}
	defer db.Close()
	is, has, err := standing(ctx, db)
	if err != nil {
		return err
	}
	switch {
	case is > len(todo):
		return newer(s.path, is, len(todo))
	case is == len(todo):
		return s.whole(ctx, db, todo)
	case is < 0 || is == 0 && has > 0:
		return damaged(fmt.Errorf("%d tables and the schema number %d", has, is), s.path)
	case is > 0:
		if err := s.whole(ctx, db, todo); err != nil {
			return err
		}
		if err := s.backup(ctx, db, is); err != nil {
			return err
		}
	}
	for _, m := range todo {
		if err := apply(ctx, db, m); err != nil {
			return fmt.Errorf("migration %s: %w", m.Name, err)
		}
	}
	return nil
}

// standing returns the schema's number and how many tables and the like there are, both at one moment.
func standing(ctx context.Context, db *sql.DB) (is, has int, err error) {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return 0, 0, err
	}
	defer tx.Rollback()
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&is); err != nil {
		return 0, 0, err
	}
	err = tx.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&has)
	return is, has, err
}

// apply runs one migration with its number in one transaction, unless another program did meanwhile.
func apply(ctx context.Context, db *sql.DB, m sqlstore.Migration) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var is int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&is); err != nil {
		return err
	}
	if is >= m.Number {
		return nil
	}
	for _, q := range []string{m.SQL, fmt.Sprintf("PRAGMA application_id = %d", appID), fmt.Sprintf("PRAGMA user_version = %d", m.Number)} {
		if _, err := tx.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// whole asks SQLite whether every page is where it should be, and looks at the head of the file and its schema.
func (s *Store) whole(ctx context.Context, db *sql.DB, steps []sqlstore.Migration) error {
	var says string
	if err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&says); err != nil {
		return err
	}
	if says != "ok" {
		return damaged(errors.New(says), s.path)
	}
	return unsound(sound(ctx, db, steps), s.path)
}

// backup copies the database beside itself before a migration touches it.
func (s *Store) backup(ctx context.Context, db *sql.DB, schema int) error {
	to := free(fmt.Sprintf("%s.schema-%d-%s", s.path, schema, s.now().UTC().Format("20060102-150405")))
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", to); err != nil {
		os.Remove(to)
		return fmt.Errorf("backup before migrating: %w", err)
	}
	if err := os.Chmod(to, 0o600); err != nil {
		return fmt.Errorf("backup before migrating: %w", err)
	}
	return syncFile(to)
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

// ready makes sure that both pools work, so that trouble shows when opening and not at the first reading.
func (s *Store) ready(ctx context.Context) error {
	var mode string
	if err := s.writer.QueryRowContext(ctx, "PRAGMA journal_mode").Scan(&mode); err != nil {
		return err
	}
	if mode != "wal" {
		return fmt.Errorf("journal mode is %s, not wal", mode)
	}
	if _, err := s.writer.ExecContext(ctx, "INSERT INTO shop (id, units, shop_name) VALUES (1, $1, '') ON CONFLICT (id) DO NOTHING", string(store.DefaultSettings().Units)); err != nil {
		return err
	}
	var n int
	return s.reader.QueryRowContext(ctx, "SELECT count(*) FROM guitar").Scan(&n)
}
