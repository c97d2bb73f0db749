package store

import (
	"context"
	"strings"
	"time"

	"fairset/craft/guitar"
)

// Role is what somebody may do in a shared shop.
type Role string

// The roles: a bench sees and edits its own guitars, a teacher all of them and the shop itself.
const (
	Teacher Role = "teacher"
	Bench   Role = "bench"
)

// Account is one who signs in. Names are told apart without regard to case.
type Account struct {
	ID, Name string
	Role     Role
	Secret   string // hash of the PIN or passphrase, as its maker writes it; never shown
	Wrong    int    // wrong tries since the last right one
	Locked   bool   // too many of them: a teacher lifts it
	Made     time.Time
}

// SessionKind is what a session is for.
type SessionKind string

// The kinds of session: a browser's, which ends by itself, and a script's, which ends when it is taken back.
const (
	PageSession   SessionKind = "page"
	ScriptSession SessionKind = "script"
)

// Session is one browser or script that has signed in. What it shows to be known again is kept only as a hash.
type Session struct {
	Hash    string
	Account string // id
	Kind    SessionKind
	Label   string // of a script: what it is for
	Made    time.Time
	Seen    time.Time // last used, to a minute or so
	Ends    time.Time // the zero time for never
}

// Event is one thing done in the shop that no guitar's log tells: a sign-in, a lock, an undo, a setting.
// Events are never changed, but for a name taken out on its bearer's request.
type Event struct {
	Seq    int64
	At     time.Time
	Who    string // name of the account; "" for the program itself
	Did    string // in words
	Guitar string // id; "" when it is about none
}

// MaxEventText bounds what an event says, in bytes; a longer one is cut.
const MaxEventText = 400

// People keeps who may use a shared shop, besides its guitars. Errors are as those of Store.
type People interface {
	// Accounts returns every account, by name.
	Accounts(ctx context.Context) ([]Account, error)
	// AddAccount keeps a new account and gives it an id if it has none. A name that is taken is Invalid.
	AddAccount(ctx context.Context, a Account) (Account, error)
	// Account returns one account by its id; NotFound for none.
	Account(ctx context.Context, id string) (Account, error)
	// SetSecret gives an account another secret, lifts its lock and ends its sessions, all or nothing.
	SetSecret(ctx context.Context, id, secret string) error
	// Tried counts a wrong try, locking the account at the lockAt-th in a row (0 never locks); a right one starts again.
	Tried(ctx context.Context, id string, right bool, lockAt int) (Account, error)
	// Unlock lifts a lock.
	Unlock(ctx context.Context, id string) error
	// Forget removes an account and its sessions, puts the neutral name in place of its own on every entry and event,
	// and leaves its guitars to the teachers. It returns how many entries and events were changed.
	Forget(ctx context.Context, id, neutral string) (int, error)

	// AddSession keeps a session; Session finds it by its hash (NotFound for none); Seen marks that it was used.
	AddSession(ctx context.Context, s Session) error
	Session(ctx context.Context, hash string) (Session, error)
	Seen(ctx context.Context, hash string, at time.Time) error
	// EndSession ends one; EndSessions those of an account, except one ("" for all of them).
	EndSession(ctx context.Context, hash string) error
	EndSessions(ctx context.Context, account, except string) error
	// Sessions lists those of an account, the newest first.
	Sessions(ctx context.Context, account string) ([]Session, error)

	// Note keeps an event; Events returns the newest, at most n, those with a Seq below before (0 for all).
	Note(ctx context.Context, e Event) error
	Events(ctx context.Context, before int64, n int) ([]Event, error)

	// CreateFor is Create of a guitar that belongs to an account; Assign gives it to another, "" for none. The
	// owner is no part of the guitar's revision.
	CreateFor(ctx context.Context, g guitar.Guitar, account string) (Record, error)
	Assign(ctx context.Context, guitarID, account string) (Record, error)
}

// CheckAccount returns the account with its name trimmed, or says why it cannot be kept.
func CheckAccount(a Account) (Account, error) {
	name, err := guitar.CheckName("account", a.Name)
	if err != nil {
		return a, Errorf(Invalid, err, "An account's name is 1 to 80 characters on one line, such as “bench 3”.")
	}
	a.Name = name
	if a.Role != Teacher && a.Role != Bench {
		return a, Errorf(Invalid, nil, "Role %q: it is teacher or bench.", a.Role)
	}
	return a, nil
}

// SameName reports whether two accounts' names are taken for the same.
func SameName(a, b string) bool { return strings.EqualFold(a, b) }

// Quoted is how an event's words name an account, so that the name can be found again and taken out.
func Quoted(name string) string { return "“" + name + "”" }

// NoAccount is the error for an id no account has.
func NoAccount(id string) *Error {
	return Errorf(NotFound, nil, "No account here has the id %q.", id)
}
