package store

import (
	"context"

	"fairset/craft/guitar"
)

// New is a guitar to be kept, and whose it shall be.
type New struct {
	Guitar guitar.Guitar
	Owner  string // id of an account; "" for the teachers'
}

// Addition is an entry for a guitar that stands at a revision.
type Addition struct {
	ID       string
	Revision int64
	Entry    guitar.Entry
}

// Many changes many guitars at once: all of them, or none and an error. Errors are as those of Store.
type Many interface {
	// CreateAll keeps new guitars, as Create does each.
	CreateAll(ctx context.Context, gs []New) ([]Record, error)
	// AppendAll adds an entry to each of several guitars, as Append does each.
	AppendAll(ctx context.Context, as []Addition) ([]Record, error)
}
