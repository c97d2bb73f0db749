package sqlstore

import (
	"fmt"
	"io/fs"
)

// Migration is one step of a schema.
type Migration struct {
	Number int
	Name   string
	SQL    string
}

// Migrations reads the steps of a schema: NNNN_what.sql, numbered from 1 without gaps.
func Migrations(files fs.FS) ([]Migration, error) {
	names, err := fs.Glob(files, "*.sql") // sorted
	if err != nil || len(names) == 0 {
		return nil, fmt.Errorf("no migrations found: %v", err)
	}
	var out []Migration
	for i, n := range names {
		var number int
		if _, err := fmt.Sscanf(n, "%04d_", &number); err != nil || number != i+1 {
			return nil, fmt.Errorf("migration %q should be numbered %04d", n, i+1)
		}
		text, err := fs.ReadFile(files, n)
		if err != nil {
			return nil, err
		}
		out = append(out, Migration{number, n, string(text)})
	}
	return out, nil
}
