package place_test

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fairset/internal/place"
	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

func TestAFullDiskLeavesTheOldFile(t *testing.T) {
	dir, freeze := storetest.SmallDisk(t, "64")
	path := filepath.Join(dir, "a.pdf")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	much := func(w io.Writer) error {
		for range 40 {
			if _, err := io.WriteString(w, strings.Repeat("x", 10000)); err != nil {
				return err
			}
		}
		return nil
	}
	err := place.File(t.Context(), path, much)
	if store.KindOf(err) != store.Full || !strings.Contains(err.Error(), "no room left") || !strings.Contains(err.Error(), "as it was") {
		t.Errorf("a full disk says %v", err)
	}
	only(t, dir, map[string]string{"a.pdf": "old"})
	// The room the failed file took is free again.
	if err := place.File(t.Context(), filepath.Join(dir, "b.pdf"), write(strings.Repeat("y", 30000))); err != nil {
		t.Errorf("after the failure: %v", err)
	}
	freeze()
	if err := place.File(t.Context(), path, write("new")); store.KindOf(err) != store.ReadOnly {
		t.Errorf("a disk that may not be written says %v", err)
	}
}

// The user's own limit on the size of a file is met like a full disk.
func TestAFileTooLargeIsRefused(t *testing.T) {
	var was syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 100_000, Max: was.Max}); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &was) }()
	dir := t.TempDir()
	path := filepath.Join(dir, "a.pdf")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := place.File(t.Context(), path, write(strings.Repeat("x", 200_000))); store.KindOf(err) != store.Full {
		t.Errorf("a file past the limit says %v", err)
	}
	only(t, dir, map[string]string{"a.pdf": "old"})
}
