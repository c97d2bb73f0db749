package move

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"fairset/internal/store"
	"fairset/internal/store/postgres/pgtest"
	"fairset/internal/store/storetest"
)

// A line that breaks while a database is copied leaves no copy and nothing of one; a disk without room neither.
func TestACopyCutOffLeavesNothing(t *testing.T) {
	line := pgtest.NewLine(t, pgtest.Schema(t))
	s := openAt(t, line.Address)
	storetest.Fill(t, s)
	src, err := Source(s)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	line.LoseAnswer("FROM photo_bytes ORDER BY")
	if err := src.Backup(t.Context(), filepath.Join(dir, "copy.db")); !errors.Is(err, store.ErrAway) {
		t.Errorf("got %v, want an error of kind away", err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	line.Mend()
	small, _ := storetest.SmallDisk(t, "600")
	if err := src.Backup(t.Context(), filepath.Join(small, "copy.db")); !errors.Is(err, store.ErrFull) {
		t.Errorf("got %v, want an error of kind full", err)
	}
	if left, err := os.ReadDir(small); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if err := src.Backup(t.Context(), filepath.Join(dir, "copy.db")); err != nil {
		t.Errorf("once all is well again: %v", err)
	}
}
