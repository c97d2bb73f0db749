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
