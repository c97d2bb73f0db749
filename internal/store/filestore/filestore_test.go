package filestore

import (
	"path/filepath"
	"testing"

	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

func openAt(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestStore(t *testing.T) {
	storetest.Run(t, storetest.Options{One: true}, func(t *testing.T) (store.Store, func() store.Store) {
		path := filepath.Join(t.TempDir(), "larch.json")
		return openAt(t, path), func() store.Store { return openAt(t, path) }
	})
}
