package filestore

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

func made(t *testing.T, path string) (*Store, store.Record) {
	t.Helper()
	s := openAt(t, path)
	r, err := s.Create(t.Context(), storetest.Worked(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	return s, r
}

// alone fails the test when anything but the guitar file is left in its folder, or the file is not as it was.
func alone(t *testing.T, path string, want []byte) {
	t.Helper()
	names, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if n.Name() != filepath.Base(path) && n.Name() != "ballast" {
			t.Errorf("%s was left behind", n.Name())
		}
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != string(want) {
		t.Errorf("the file is not as it was: %v", err)
	}
}

func TestFullDiskLeavesTheOldFile(t *testing.T) {
	dir, _ := storetest.SmallDisk(t, "64")
	path := filepath.Join(dir, "larch.json")
	s, r := made(t, path)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	ballast := filepath.Join(dir, "ballast")
	f, err := os.Create(ballast)
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	f.Close()
	_, err = s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1))
	if !errors.Is(err, store.ErrFull) {
		t.Fatalf("got %v, want an error of kind full", err)
	}
	alone(t, path, before)
	os.Remove(ballast)
	if _, err := s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); err != nil {
		t.Errorf("once there is room again: %v", err)
	}
}

func TestReadOnlyFileAndFolder(t *testing.T) {
	dir := storetest.OpenFolder(t)
	path := filepath.Join(dir, "larch.json")
	s, r := made(t, path)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	e := storetest.Lean(t, r.Guitar, 1)
	for name, modes := range map[string]struct{ file, dir os.FileMode }{"file": {0o444, 0o777}, "folder": {0o666, 0o555}} {
		if err := errors.Join(os.Chmod(path, modes.file), os.Chmod(dir, modes.dir)); err != nil {
			t.Fatal(err)
		}
		var read, err error
		storetest.AsNobody(t, func() {
			_, read = s.Get(t.Context(), r.Guitar.ID)
			_, err = s.Append(t.Context(), r.Guitar.ID, r.Revision, e)
		})
		if read != nil {
			t.Errorf("read-only %s: it cannot even be read: %v", name, read)
		}
		if !errors.Is(err, store.ErrReadOnly) || !strings.Contains(storetest.KindlySaid(err), path) {
			t.Errorf("read-only %s: got %v, want an error of kind read_only that names the file", name, err)
		}
		alone(t, path, before)
	}
}

func TestRefusesWhatItCannotUse(t *testing.T) {
	sound := guitar.Encode(storetest.Worked(t, "Larch"))
	for _, c := range []struct {
		name string
		data string
		want *store.Error
	}{
		{"a text", "dear diary", store.ErrDamaged},
		{"cut in half", string(sound[:len(sound)/2]), store.ErrDamaged},
		{"another program's JSON", `{"format": "other", "version": 1}`, store.ErrForeign},
		{"a newer version", strings.Replace(string(sound), `"version": 1`, `"version": 2`, 1), store.ErrNewer},
		{"a shop file", string(guitar.EncodeShop([]guitar.Guitar{storetest.Worked(t, "Larch")})), store.ErrInvalid},
	} {
		path := filepath.Join(t.TempDir(), "larch.json")
		if err := os.WriteFile(path, []byte(c.data), 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := Open(path)
		if !errors.Is(err, c.want) || !strings.Contains(storetest.KindlySaid(err), path) {
			t.Errorf("%s: got %v, want an error of kind %q that names the file", c.name, err, c.want.Kind)
		}
		alone(t, path, []byte(c.data))
	}
}

func TestEditedByHandMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "larch.json")
	s, r := made(t, path)
	byHand := strings.Replace(string(guitar.Encode(r.Guitar)), `"name": "Larch"`, `"name": "Elm"`, 1)
	if err := os.WriteFile(path, []byte(byHand), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); !errors.Is(err, store.ErrConflict) {
		t.Fatalf("got %v, want a conflict", err)
	}
	alone(t, path, []byte(byHand))
}

func TestLinkStaysALinkAndModeStays(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "larch.json"), filepath.Join(dir, "link.json")
	made(t, path)
	if err := errors.Join(os.Symlink(path, link), os.Chmod(path, 0o640)); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, link)
	all, err := s.List(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), all[0].Guitar.ID, all[0].Revision, storetest.Lean(t, all[0].Guitar, 1)); err != nil {
		t.Fatal(err)
	}
	if st, err := os.Lstat(link); err != nil || st.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link was replaced: %v", err)
	}
	if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o640 {
		t.Errorf("the file's mode became %v, %v", st.Mode(), err)
	}
}

// A guitar file made by hand may have no id; the first change gives it one.
func TestFileWithoutID(t *testing.T) {
	path := filepath.Join(t.TempDir(), "larch.json")
	if err := os.WriteFile(path, guitar.Encode(storetest.Worked(t, "Larch")), 0o644); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	all, err := s.List(t.Context())
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	r, err := s.Rename(t.Context(), all[0].Guitar.ID, all[0].Revision, "Elm")
	if err != nil {
		t.Fatal(err)
	}
	again, err := openAt(t, path).Get(t.Context(), r.Guitar.ID)
	if err != nil || again.Guitar.ID == unnamed || len(again.Guitar.ID) != 6 {
		t.Errorf("got id %q, %v", again.Guitar.ID, err)
	}
}
