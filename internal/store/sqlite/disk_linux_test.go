package sqlite

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

func TestFullDisk(t *testing.T) {
	dir, _ := storetest.SmallDisk(t, "512")
	s := openAt(t, filepath.Join(dir, "shop.db"))
	r, err := s.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	ballast := filepath.Join(dir, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 150<<10), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err = fill(t, s, r)
	wantFull(t, s, r, err)
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	r, err = s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1))
	if err != nil {
		t.Fatalf("once there is room again: %v", err)
	}
	s.Close()
	got, err := openAt(t, filepath.Join(dir, "shop.db")).Get(t.Context(), r.Guitar.ID)
	if err != nil || len(got.Guitar.Log) != len(r.Guitar.Log) {
		t.Errorf("after a restart: %v, %v; want %v", got, err, r)
	}
}

func TestReadOnlyDisk(t *testing.T) {
	dir, freeze := storetest.SmallDisk(t, "2048")
	path := filepath.Join(dir, "shop.db")
	whole(t, path)
	freeze()
	s, err := Open(t.Context(), path, Options{})
	if err == nil {
		s.Close()
		t.Fatal("it was opened")
	}
	if !errors.Is(err, store.ErrReadOnly) {
		t.Fatalf("got %v, want an error of kind read_only", err)
	}
	if say := storetest.KindlySaid(err); !strings.Contains(say, path) || !strings.Contains(say, "read-only") {
		t.Errorf("says %q", say)
	}
}

func TestReadOnlyFileAndFolder(t *testing.T) {
	dir := storetest.OpenFolder(t)
	path := filepath.Join(dir, "shop.db")
	data := whole(t, path)
	for name, modes := range map[string]struct{ file, dir os.FileMode }{
		"file":   {0o444, 0o777},
		"folder": {0o666, 0o555},
		"both":   {0o444, 0o555},
	} {
		if err := errors.Join(os.Chmod(path, modes.file), os.Chmod(dir, modes.dir)); err != nil {
			t.Fatal(err)
		}
		var s *Store
		var err error
		storetest.AsNobody(t, func() {
			if s, err = Open(t.Context(), path, Options{}); err == nil {
				s.Close()
			}
		})
		if !errors.Is(err, store.ErrReadOnly) {
			t.Errorf("read-only %s: got %v, want an error of kind read_only", name, err)
		}
		os.Chmod(dir, 0o755)
		if got, err := os.ReadFile(path); err != nil || string(got) != string(data) {
			t.Errorf("read-only %s: the file was changed, %v", name, err)
		}
	}
}

// A copy that does not fit leaves nothing where it was to be, and the shop goes on.
func TestBackupToAFullDisk(t *testing.T) {
	small, freeze := storetest.SmallDisk(t, "48")
	path := filepath.Join(t.TempDir(), "shop.db")
	whole(t, path)
	s := openAt(t, path)
	to := filepath.Join(small, "copy.db")
	err := s.Backup(t.Context(), to)
	if !errors.Is(err, store.ErrFull) || !strings.Contains(storetest.KindlySaid(err), "no room left") || !strings.Contains(storetest.KindlySaid(err), to) {
		t.Fatalf("got %v, want an error of kind full that names the copy", err)
	}
	nothing := func(when string) {
		if left, err := os.ReadDir(small); err != nil || len(left) > 0 {
			t.Errorf("%s: left behind: %v, %v", when, left, err)
		}
	}
	nothing("a full disk")
	freeze()
	if err := s.Backup(t.Context(), to); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("got %v, want an error of kind read_only", err)
	}
	nothing("a read-only disk")
	if _, err := s.Create(t.Context(), storetest.New(t, "Elm")); err != nil {
		t.Errorf("saving afterwards: %v", err)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

// Restoring onto a disk without room leaves the shop that was there.
func TestRestoreToAFullDisk(t *testing.T) {
	small, _ := storetest.SmallDisk(t, "640")
	path, copied := filepath.Join(small, "shop.db"), filepath.Join(t.TempDir(), "copy.db")
	s := openAt(t, path)
	if _, err := s.Create(t.Context(), storetest.New(t, "Larch")); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	big := filepath.Join(t.TempDir(), "big.db")
	whole(t, big)
	b := openAt(t, big)
	if err := b.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	ballast := filepath.Join(small, "ballast")
	if f, err := os.Create(ballast); err != nil {
		t.Fatal(err)
	} else {
		for err == nil {
			_, err = f.Write(make([]byte, 4096))
		}
		f.Close()
	}
	if _, err := Restore(t.Context(), copied, path, storetest.Day); !errors.Is(err, store.ErrFull) {
		t.Fatalf("got %v, want an error of kind full", err)
	}
	os.Remove(ballast)
	if got := contents(t, path); len(got) != 1 {
		t.Errorf("%d guitars, want the one that was there", len(got))
	}
}
