package store

import (
	"context"
	"strings"

	"fairset/craft/guitar"
)

// Key names one sending of an entry, so that it is kept once however often it arrives. It is whoever sends it
// that makes it, anew for each entry.
type Key struct {
	Account string // whose it is; "" for whoever is at the machine
	Text    string // "" for an entry that was sent without one
	What    string // digest of all that was asked, to tell the same sending from another one
}

// Sent is what a key was used for.
type Sent struct {
	Key
	Guitar   string // id
	Seq      int    // of the entry
	Revision int64  // of the guitar with that entry
}

// Keys keeps which entries came under which key, in the same stroke as the entries: an entry without its key,
// or a key without its entry, is never on the disk.
type Keys interface {
	// AppendOnce is Append under a key. A key of that account that is known already is a Conflict, and nothing
	// is kept; Sent then tells what it was used for.
	AppendOnce(ctx context.Context, id string, revision int64, e guitar.Entry, k Key) (Record, error)
	// Sent returns what an account used a key for; NotFound when it did not.
	Sent(ctx context.Context, account, key string) (Sent, error)
}

// MaxKey bounds a key, in bytes.
const MaxKey = 100

// CheckKey returns the key without quotes around it, or says why it cannot be one. "" stays "".
// source: draft-ietf-httpapi-idempotency-key-header, section 2.1, writes it as a string in double quotes; most send it bare
func CheckKey(text string) (string, error) {
	text = strings.TrimSpace(text)
	if n := len(text); n >= 2 && text[0] == '"' && text[n-1] == '"' {
		text = text[1 : n-1]
		if text == "" {
			return "", Errorf(Invalid, nil, "idempotency key: it is empty. Make it 1 to %d letters, digits or signs without spaces, anew for each entry.", MaxKey)
		}
	}
	if len(text) > MaxKey || strings.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r > '~' || r == '"' || r == '\\' }) {
		return "", Errorf(Invalid, nil, "idempotency key: make it 1 to %d letters, digits or signs without spaces, anew for each entry.", MaxKey)
	}
	return text, nil
}

// NotSent is the error for a key that was not used.
func NotSent() *Error { return Errorf(NotFound, nil, "Nothing was entered under that key.") }
