// Package access says who may do what in a shop that is shared on a network: who has signed in, which
// guitars are theirs, and how a wrong passphrase is met.
//
// A shop that is not shared has no sign-in: whoever is at the machine is its teacher (Local).
package access

import (
	"context"

	"fairset/internal/store"
)

// Who is somebody who has signed in.
type Who struct {
	Account string // id
	Name    string
	Role    store.Role
	Session string // hash of the session
	Script  bool   // by a script's token, not a browser
}

// Local is whoever sits at a machine whose shop is not shared.
var Local = Who{Role: store.Teacher}

// Teacher reports whether w may see and edit everything.
func (w Who) Teacher() bool { return w.Role == store.Teacher }

// Owns reports whether w may see and edit a guitar of this owner.
func (w Who) Owns(owner string) bool {
	return w.Teacher() || w.Role == store.Bench && owner != "" && owner == w.Account
}

type key struct{}

// With returns a context of somebody's request.
func With(ctx context.Context, w Who) context.Context { return context.WithValue(ctx, key{}, w) }

// Of returns whose request it is, and whether anybody has signed in.
func Of(ctx context.Context) (Who, bool) {
	w, _ := ctx.Value(key{}).(Who)
	return w, w.Account != ""
}

// Rule is who may use a route. The zero Rule is none: a route must say.
type Rule int

// The rules.
const (
	none    Rule = iota
	Anyone       // also without signing in
	Member       // whoever has signed in; of guitars only their own
	Teacher      // teachers only
)

// Valid reports whether a route said who may use it.
func (r Rule) Valid() bool { return r > none && r <= Teacher }

// Check returns nil when w may use the route, or why not: SignIn or Refused. in is false when nobody has
// signed in.
func (r Rule) Check(w Who, in bool) error {
	switch {
	case r == Anyone:
		return nil
	case !r.Valid():
		return store.Errorf(store.Refused, nil, "Nothing says who may use this, so nobody may.")
	case !in:
		return store.Errorf(store.SignIn, nil, "Sign in first.")
	case r == Teacher && !w.Teacher():
		return store.Errorf(store.Refused, nil, "This is for a teacher. Ask one, or sign in as one.")
	}
	return nil
}
