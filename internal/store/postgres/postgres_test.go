package postgres

import (
	"testing"

	"fairset/internal/store"
	"fairset/internal/store/postgres/pgtest"
	"fairset/internal/store/storetest"
)

func openAt(t testing.TB, address string) *Store {
	t.Helper()
	s, err := Open(t.Context(), address, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestStore(t *testing.T) {
	storetest.Run(t, storetest.Options{}, func(t *testing.T) (store.Store, func() store.Store) {
		address := pgtest.Schema(t)
		return openAt(t, address), func() store.Store { return openAt(t, address) }
	})
}

func TestKeys(t *testing.T) {
	storetest.RunKeys(t, func(t *testing.T) (storetest.Once, func() storetest.Once) {
		address := pgtest.Schema(t)
		return openAt(t, address), func() storetest.Once { return openAt(t, address) }
	})
}

func TestPeople(t *testing.T) {
	storetest.RunPeople(t, func(t *testing.T) (storetest.Shared, func() storetest.Shared) {
		address := pgtest.Schema(t)
		return openAt(t, address), func() storetest.Shared { return openAt(t, address) }
	})
}

func TestPhotos(t *testing.T) {
	storetest.RunPhotos(t, func(t *testing.T) (storetest.Pictured, func() storetest.Pictured) {
		address := pgtest.Schema(t)
		return openAt(t, address), func() storetest.Pictured { return openAt(t, address) }
	})
}
