package store

import (
	"bytes"

	"fairset/craft/guitar"
)

// Same reports whether two guitars are the same record entry for entry, whatever their ids.
func Same(a, b guitar.Guitar) bool {
	a.ID, b.ID = "", ""
	return bytes.Equal(guitar.Encode(a), guitar.Encode(b))
}
