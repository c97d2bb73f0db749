package postgres

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/postgres/pgtest"
	"fairset/internal/store/storetest"
)

// A disk of the server that is full: the refusal says so, nothing saved before is lost, and once there is room it goes on.
func TestFullDisk(t *testing.T) {
	c := pgtest.Own(t)
	disk, _ := storetest.SmallDisk(t, "3072")
	if os.Getuid() == 0 { // the server's user must own it, and reach it
		for at := filepath.Dir(disk); at != "/" && at != os.TempDir(); at = filepath.Dir(at) {
			if err := os.Chmod(at, 0o755); err != nil {
				t.Fatal(err)
			}
		}
		if out, err := exec.Command("chown", "postgres", disk).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	s := openAt(t, c.Address)
	r, err := s.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{"CREATE TABLESPACE small LOCATION '" + disk + "'", "ALTER TABLE entry SET TABLESPACE small"} {
		if err := pgtest.Exec(t, c.Address, q); err != nil {
			t.Fatal(err)
		}
	}
	ballast := filepath.Join(disk, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 2<<20), 0o600); err != nil {
		t.Fatal(err)
	}
	for n := 0; ; n++ {
		e := storetest.Entry(t, r.Guitar, guitar.StepNote, map[string][]string{"text": {strings.Repeat(fmt.Sprint("long note ", n, " "), 100)}})
		after, err := s.Append(t.Context(), r.Guitar.ID, r.Revision, e)
		if err != nil {
			t.Logf("refused after %d notes: %v", n, err)
			if !errors.Is(err, store.ErrFull) || !strings.Contains(storetest.KindlySaid(err), "no room left") {
				t.Errorf("got %v, want an error of kind full", err)
			}
			break
		}
		if r = after; n > 20000 {
			t.Fatal("20000 notes fitted where they should not have")
		}
	}
	if err := s.Check(t.Context()); err != nil {
		t.Errorf("after the refusal: %v", err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if r, err = s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); err != nil {
		t.Fatalf("once there is room again: %v", err)
	}
	again := openAt(t, c.Address)
	if got, err := again.Get(t.Context(), r.Guitar.ID); err != nil || len(got.Guitar.Log) != len(r.Guitar.Log) {
		t.Errorf("afterwards: %v, %v; want %v", got, err, r)
	}
}

// A file of the server that was cut off, in the middle of a page or at the end of one, is found by Check whatever table or
// index it is; what was cut is never taken for all there is.
func TestTruncatedFiles(t *testing.T) {
	c := pgtest.Own(t)
	s := openAt(t, c.Address)
	storetest.Fill(t, s)
	for n := range 40 { // some pages of each
		r, err := s.Create(t.Context(), storetest.Worked(t, fmt.Sprint("Elm ", n)))
		if err != nil {
			t.Fatal(err)
		}
		shot := storetest.Shot(r.Guitar.ID, n)
		rand.NewChaCha8([32]byte{byte(n)}).Read(shot.Full) // else the server packs it into a few bytes
		if _, err := s.AddPhotos(t.Context(), []store.PhotoFile{shot}); err != nil {
			t.Fatal(err)
		}
		if err := s.Note(t.Context(), store.Event{At: storetest.Day, Who: "bench 3", Did: strings.Repeat("signed in ", 30)}); err != nil {
			t.Fatal(err)
		}
	}
	s.Close()
	paths := map[string]string{}
	conn, err := pgx.Connect(t.Context(), c.Address)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"guitar", "entry", "entry_pkey", "event", "photo_bytes", "climate", "shop"} {
		var path string
		if err := conn.QueryRow(t.Context(), "SELECT pg_relation_filepath($1::text::regclass)", name).Scan(&path); err != nil {
			t.Fatal(err)
		}
		paths[name] = c.File(path)
	}
	var toast string
	if err := conn.QueryRow(t.Context(), "SELECT pg_relation_filepath(reltoastrelid) FROM pg_class WHERE oid = 'photo_bytes'::regclass").Scan(&toast); err != nil {
		t.Fatal(err)
	}
	paths["pictures"] = c.File(toast)
	if _, err := conn.Exec(t.Context(), "VACUUM"); err != nil { // or the server would read every row to see whether it is there
		t.Fatal(err)
	}
	conn.Close(context.Background())
	c.Stop("fast")
	const page = 8192
	for name, path := range paths {
		whole, err := os.ReadFile(path)
		if err != nil || len(whole) < page {
			t.Fatal(name, len(whole), err)
		}
		for _, left := range []int{(len(whole)/page - 1) * page, len(whole) / 2 / page * page, len(whole) - 100} {
			if err := os.Truncate(path, int64(left)); err != nil {
				t.Fatal(err)
			}
			c.Start()
			s, err := Open(t.Context(), c.Address, Options{})
			if err == nil {
				err = s.Check(t.Context())
				s.Close()
			}
			if !errors.Is(err, store.ErrDamaged) || storetest.KindlySaid(err) == "" {
				t.Errorf("%s cut to %d of %d bytes: got %v, want an error of kind damaged", name, left, len(whole), err)
			}
			c.Stop("fast")
			if err := os.WriteFile(path, whole, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	c.Start()
	if err := openAt(t, c.Address).Check(t.Context()); err != nil {
		t.Errorf("with its files whole again: %v", err)
	}
}
