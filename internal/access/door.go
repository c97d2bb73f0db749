package access

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"strings"
	"sync"
	"time"

	"fairset/internal/store"
	"fairset/unit"

	"golang.org/x/time/rate"
)

// How long a sign-in lasts, and how tries are slowed.
const (
	BenchIdle   = 14 * time.Hour      // a long day at the bench
	BenchMost   = 30 * 24 * time.Hour // then in any case
	TeacherIdle = 3 * time.Hour
	TeacherMost = 24 * time.Hour
	LockAt      = 8 // wrong tries in a row that lock a bench's account

	triesBurst  = 20              // tries one address may make at once
	triesEvery  = 3 * time.Second // and then one so often
	teacherWait = 2 * time.Second // after a teacher's second wrong try, doubled with each further one
	teacherMost = time.Minute
	mostPlaces  = 10000 // addresses and names remembered
	seenEvery   = time.Minute
	clockBack   = 366 * 24 * time.Hour // how far a clock may be set back before those who are in must sign in again
)

// MostScripts bounds the tokens of one account.
const MostScripts = 20

// Door lets people in. It may be used by many at once, and by several servers on one store.
type Door struct {
	People store.People
	Now    func() time.Time // nil for the real clock
	Secure bool             // pages come over TLS, so what a browser keeps is never sent without it

	mu     sync.Mutex
	places map[string]*rate.Limiter
	waits  map[string]time.Time // by account: when the next try is looked at
}

func (d *Door) now() time.Time {
	if d.Now != nil {
		return d.Now()
	}
	return time.Now()
}

// admit reports whether an address may try again now.
func (d *Door) admit(place string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.places == nil || len(d.places) > mostPlaces {
		d.places = map[string]*rate.Limiter{}
	}
	l, ok := d.places[place]
	if !ok {
		l = rate.NewLimiter(rate.Every(triesEvery), triesBurst)
		d.places[place] = l
	}
	return l.AllowN(d.now(), 1)
}

// waiting returns how long an account's next try must wait; after notes a wrong one. A clock that was set back makes nobody
// wait longer than the longest wait there is.
func (d *Door) waiting(id string) time.Duration {
	d.mu.Lock()
	defer d.mu.Unlock()
	until, ok := d.waits[id]
	if most := d.now().Add(teacherMost); ok && until.After(most) {
		until = most
		d.waits[id] = until
	}
	return until.Sub(d.now())
}

func (d *Door) after(a store.Account) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.waits == nil || len(d.waits) > mostPlaces {
		d.waits = map[string]time.Time{}
	}
	delete(d.waits, a.ID)
	if a.Role == store.Teacher && a.Wrong >= 2 {
		wait := teacherWait << min(a.Wrong-2, 10)
		d.waits[a.ID] = d.now().Add(min(wait, teacherMost))
	}
}

// same is told to whoever gives a wrong name or a wrong secret: neither is given away.
func same() error {
	return store.Errorf(store.SignIn, nil, "That name and that PIN or passphrase do not go together. Try again, or ask a teacher.")
}

// SignIn checks a name with its PIN or passphrase, from an address, and returns what the browser shows from
// now on. Errors are SignIn (the same for a wrong name and a wrong secret), Wait (too many tries) and Refused
// (the account is locked, whatever the secret: else the lock would tell which one is right).
func (d *Door) SignIn(ctx context.Context, name, secret, place string) (token string, a store.Account, err error) {
	if a, err = d.Prove(ctx, name, secret, place); err != nil {
		return "", a, err
	}
	most := BenchMost
	if a.Role == store.Teacher {
		most = TeacherMost
	}
	token, err = d.open(ctx, a, store.PageSession, "", d.now().Add(most))
	if err == nil {
		d.note(ctx, a.Name, store.DidSignIn)
	}
	return token, a, err
}

// Prove is SignIn without signing in: it tells whether the name and the secret go together, and counts the try.
func (d *Door) Prove(ctx context.Context, name, secret, place string) (a store.Account, err error) {
	if !d.admit(place) {
		return a, store.Errorf(store.Wait, nil, "Too many tries from this phone or computer. Wait a minute, then try again.")
	}
	all, err := d.People.Accounts(ctx)
	if err != nil {
		return a, err
	}
	name = strings.Join(strings.Fields(name), " ")
	hash, err := nobody()
	if err != nil {
		return a, err
	}
	for _, x := range all {
		if store.SameName(x.Name, name) {
			a, hash = x, x.Secret
		}
	}
	if a.ID != "" && d.waiting(a.ID) > 0 {
		return store.Account{}, store.Errorf(store.Wait, nil, "Too many wrong tries. Wait a minute, then try again.")
	}
	ok, err := matches(ctx, secret, hash)
	if err != nil {
		return store.Account{}, err
	}
	if a.ID == "" {
		return a, same()
	}
	lockAt := LockAt
	if a.Role == store.Teacher {
		lockAt = 0 // else anybody could lock a class out of its teacher
	}
	if a.Locked {
		return store.Account{}, store.Errorf(store.Refused, nil, "This account is locked after too many wrong tries. A teacher lifts the lock on the page Shop, People.")
	}
	was := a
	if a, err = d.People.Tried(ctx, a.ID, ok, lockAt); err != nil {
		return store.Account{}, err
	}
	d.after(a)
	if !ok {
		if a.Locked && !was.Locked {
			d.note(ctx, a.Name, store.DidLock)
		}
		return store.Account{}, same()
	}
	return a, nil
}

func (d *Door) note(ctx context.Context, who string, did unit.Text, args ...any) {
	// The trail is told even when whoever asked has gone; that it cannot be written is found by the next save.
	_ = d.People.Note(context.WithoutCancel(ctx), store.Event{At: d.now(), Who: who, Did: store.Did(did, args...)})
}

// open makes a session. A new one has a new token, whatever the browser showed before.
func (d *Door) open(ctx context.Context, a store.Account, kind store.SessionKind, label string, ends time.Time) (string, error) {
	var raw [32]byte
	rand.Read(raw[:])
	token := base64.RawURLEncoding.EncodeToString(raw[:])
	now := d.now()
	return token, d.People.AddSession(ctx, store.Session{Hash: hashed(token), Account: a.ID, Kind: kind, Label: label, Made: now, Seen: now, Ends: ends})
}

// hashed is how a token is kept. It has 256 random bits, so a plain hash cannot be tried out.
func hashed(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// Enter returns who shows this token; script says whether it was shown as a script's. An unknown, ended or
// idle one is SignIn.
func (d *Door) Enter(ctx context.Context, token string, script bool) (Who, error) {
	out := store.Errorf(store.SignIn, nil, "The sign-in has ended. Sign in again; nothing you saved is lost.")
	if token == "" || len(token) > 100 {
		return Who{}, store.Errorf(store.SignIn, nil, "Sign in first.")
	}
	v, err := d.People.Session(ctx, hashed(token))
	switch {
	case store.KindOf(err) == store.NotFound:
		return Who{}, out
	case err != nil:
		return Who{}, err
	case (v.Kind == store.ScriptSession) != script:
		return Who{}, out
	}
	a, err := d.People.Account(ctx, v.Account)
	switch {
	case store.KindOf(err) == store.NotFound:
		return Who{}, out
	case err != nil:
		return Who{}, err
	}
	// A lock keeps new ones out; whoever is in stays in, or a stranger's wrong tries would end a lesson.
	now := d.now()
	idle := BenchIdle
	if a.Role == store.Teacher {
		idle = TeacherIdle
	}
	// One that ends later than any made now was begun while the clock was years ahead.
	ahead := !v.Ends.IsZero() && v.Ends.Sub(now) > BenchMost+clockBack
	if !v.Ends.IsZero() && now.After(v.Ends) || ahead || v.Kind == store.PageSession && now.Sub(v.Seen) > idle {
		return Who{}, errorOr(d.People.EndSession(ctx, v.Hash), out)
	}
	// A clock set back must not keep a session for ever: what was seen later than now counts as seen now.
	if since := now.Sub(v.Seen); since > seenEvery || since < 0 {
		if err := d.People.Seen(ctx, v.Hash, now); err != nil {
			return Who{}, err
		}
	}
	return Who{Account: a.ID, Name: a.Name, Role: a.Role, Session: v.Hash, Script: script}, nil
}

func errorOr(err, otherwise error) error {
	if err != nil {
		return err
	}
	return otherwise
}

// SignOut ends the session of whoever asks; everywhere ends all of the account's, scripts' too.
func (d *Door) SignOut(ctx context.Context, w Who, everywhere bool) error {
	if everywhere {
		return d.People.EndSessions(ctx, w.Account, "")
	}
	return d.People.EndSession(ctx, w.Session)
}

// NewScript makes a token for a script, which works as its account does until it is taken back.
func (d *Door) NewScript(ctx context.Context, w Who, label string) (string, error) {
	label = strings.Join(strings.Fields(label), " ")
	if label == "" || len(label) > 80 {
		return "", store.Errorf(store.Invalid, nil, "Say in 1 to 80 characters what the token is for.")
	}
	all, err := d.People.Sessions(ctx, w.Account)
	if err != nil {
		return "", err
	}
	n := 0
	for _, v := range all {
		if v.Kind == store.ScriptSession {
			n++
		}
	}
	if n >= MostScripts {
		return "", store.Errorf(store.Invalid, nil, "This account has %d tokens already; take one back first.", n)
	}
	a, err := d.People.Account(ctx, w.Account)
	if err != nil {
		return "", err
	}
	token, err := d.open(ctx, a, store.ScriptSession, label, time.Time{})
	if err == nil {
		d.note(ctx, w.Name, store.DidMakeToken, label)
	}
	return token, err
}

// SetSecret gives an account another PIN or passphrase, which ends its sessions.
func (d *Door) SetSecret(ctx context.Context, by Who, id, secret string) error {
	a, err := d.People.Account(ctx, id)
	if err != nil {
		return err
	}
	if err := CheckSecret(a.Role, a.Name, secret); err != nil {
		return err
	}
	hash, err := Hash(ctx, secret)
	if err != nil {
		return err
	}
	if err := d.People.SetSecret(ctx, id, hash); err != nil {
		return err
	}
	d.note(ctx, by.Name, store.DidSecret, a.Name)
	return nil
}

// Add makes an account.
func (d *Door) Add(ctx context.Context, by Who, name string, role store.Role, secret string) (store.Account, error) {
	a, err := store.CheckAccount(store.Account{Name: name, Role: role})
	if err != nil {
		return a, err
	}
	if err := CheckSecret(role, a.Name, secret); err != nil {
		return a, err
	}
	if a.Secret, err = Hash(ctx, secret); err != nil {
		return a, err
	}
	if a, err = d.People.AddAccount(ctx, a); err != nil {
		return a, err
	}
	did := store.DidAddTeacher
	if role == store.Bench {
		did = store.DidAddBench
	}
	d.note(ctx, by.Name, did, a.Name)
	return a, nil
}

// Unlock lifts the lock of an account.
func (d *Door) Unlock(ctx context.Context, by Who, id string) error {
	a, err := d.People.Account(ctx, id)
	if err != nil {
		return err
	}
	if err := d.People.Unlock(ctx, id); err != nil {
		return err
	}
	d.mu.Lock()
	delete(d.waits, id)
	d.mu.Unlock()
	d.note(ctx, by.Name, store.DidUnlock, a.Name)
	return nil
}

// Forget removes an account and puts a neutral name in place of its own everywhere. The last teacher stays:
// without one nobody could share the shop again.
func (d *Door) Forget(ctx context.Context, by Who, id string) (neutral string, changed int, err error) {
	a, err := d.People.Account(ctx, id)
	if err != nil {
		return "", 0, err
	}
	all, err := d.People.Accounts(ctx)
	if err != nil {
		return "", 0, err
	}
	teachers := 0
	for _, x := range all {
		if x.Role == store.Teacher {
			teachers++
		}
	}
	if a.Role == store.Teacher && teachers == 1 {
		return "", 0, store.Errorf(store.Invalid, nil, "%q is the only teacher. Make another teacher's account first.", a.Name)
	}
	// The id is kept in the neutral name so that two who left are still two.
	neutral = "former " + string(a.Role) + " " + a.ID
	if changed, err = d.People.Forget(ctx, id, neutral); err != nil {
		return "", 0, err
	}
	if by.Account == id {
		by.Name = neutral
	}
	d.note(ctx, by.Name, store.DidForget, neutral)
	return neutral, changed, nil
}
