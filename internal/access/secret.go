package access

import (
	"context"
	"crypto/rand"
	"strings"
	"sync"
	"unicode/utf8"

	"fairset/internal/store"
	"fairset/unit"

	"github.com/alexedwards/argon2id"
)

// cost of a hash: 19 MiB, two passes, one lane. source: OWASP Password Storage Cheat Sheet, argon2id, second row
// of its equivalent settings.
var cost = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// Least characters of a secret. A bench's PIN is short because it is typed with dusty hands: the lock after
// LockAt wrong tries is what guards it. A teacher's account never locks, so its passphrase must be long.
const (
	LeastPIN        = 4
	LeastPassphrase = 10
	mostSecret      = 200
)

// hashes bounds how many are worked out at once: each takes memory and a core.
var hashes = make(chan struct{}, 2)

func oneOf(ctx context.Context, do func() error) error {
	select {
	case hashes <- struct{}{}:
		defer func() { <-hashes }()
		return do()
	case <-ctx.Done():
		return ctx.Err()
	}
}

// CheckSecret says why a PIN or passphrase is too weak for its role, or nil.
func CheckSecret(role store.Role, name, secret string) error {
	n := utf8.RuneCountInString(secret)
	least, what := LeastPassphrase, unit.Text("A teacher's passphrase")
	if role == store.Bench {
		least, what = LeastPIN, "A bench's PIN or passphrase"
	}
	switch {
	case !utf8.ValidString(secret) || n > mostSecret:
		return store.Errorf(store.Invalid, nil, "%v has %d to %d characters.", what, least, mostSecret)
	case n < least:
		return store.Errorf(store.Invalid, nil, "%v has at least %d characters; this has %d.", what, least, n)
	case strings.Count(secret, secret[:utf8.RuneLen([]rune(secret)[0])]) == n:
		return store.Errorf(store.Invalid, nil, "%v must not be one character over and over.", what)
	case strings.EqualFold(secret, name):
		return store.Errorf(store.Invalid, nil, "%v must not be the name itself.", what)
	case runs(secret):
		return store.Errorf(store.Invalid, nil, "%v must not count up or down.", what)
	}
	return nil
}

// runs reports whether every character follows the one before, as in 1234 or 4321.
func runs(s string) bool {
	rs := []rune(s)
	for _, step := range []rune{1, -1} {
		all := len(rs) > 1
		for i := 1; i < len(rs); i++ {
			all = all && rs[i]-rs[i-1] == step
		}
		if all {
			return true
		}
	}
	return false
}

// Hash returns a secret as it is kept.
func Hash(ctx context.Context, secret string) (hash string, err error) {
	err = oneOf(ctx, func() error {
		hash, err = argon2id.CreateHash(secret, cost)
		return err
	})
	return hash, err
}

// nobody is compared with when no account has the name, so that the answer takes as long.
var nobody = sync.OnceValues(func() (string, error) { return argon2id.CreateHash(rand.Text(), cost) })

func matches(ctx context.Context, secret, hash string) (ok bool, err error) {
	if utf8.RuneCountInString(secret) > mostSecret {
		return false, nil
	}
	err = oneOf(ctx, func() error {
		ok, err = argon2id.ComparePasswordAndHash(secret, hash)
		return err
	})
	return ok, err
}
