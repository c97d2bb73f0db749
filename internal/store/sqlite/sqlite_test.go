package sqlite

import (
	"path/filepath"
	"testing"

	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

func openAt(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestPeople(t *testing.T) {
	storetest.RunPeople(t, func(t *testing.T) (storetest.Shared, func() storetest.Shared) {
		path := filepath.Join(t.TempDir(), "shop.db")
		return openAt(t, path), func() storetest.Shared { return openAt(t, path) }
	})
}

func TestPhotos(t *testing.T) {
	storetest.RunPhotos(t, func(t *testing.T) (storetest.Pictured, func() storetest.Pictured) {
		path := filepath.Join(t.TempDir(), "shop.db")
		return openAt(t, path), func() storetest.Pictured { return openAt(t, path) }
	})
}

func TestKeys(t *testing.T) {
	storetest.RunKeys(t, func(t *testing.T) (storetest.Once, func() storetest.Once) {
		path := filepath.Join(t.TempDir(), "shop.db")
		return openAt(t, path), func() storetest.Once { return openAt(t, path) }
	})
}

func TestStore(t *testing.T) {
	storetest.Run(t, storetest.Options{}, func(t *testing.T) (store.Store, func() store.Store) {
		path := filepath.Join(t.TempDir(), "shop.db")
		return openAt(t, path), func() store.Store { return openAt(t, path) }
	})
}
