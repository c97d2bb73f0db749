package store

import (
	"errors"

	"fairset/craft/guitar"
	"fairset/unit"
)

// Kind is what sort of trouble an error is. The web's status and the command line's exit code follow from it.
type Kind string

// The kinds of error.
const (
	Invalid  Kind = "invalid"
	NotFound Kind = "not_found"
	Conflict Kind = "conflict"  // someone else changed it first
	ReadOnly Kind = "read_only" // the file or its folder may not be written
	Full     Kind = "full"      // no room on the disk
	Busy     Kind = "busy"      // another program holds the file
	Away     Kind = "away"      // the database's server cannot be reached, or does not let us in
	Newer    Kind = "newer"     // written by a newer program
	Foreign  Kind = "foreign"   // another program's file
	Damaged  Kind = "damaged"   // ours, but not whole
	SignIn   Kind = "sign_in"   // nobody has signed in, or not rightly
	Refused  Kind = "refused"   // whoever asks may not
	Wait     Kind = "wait"      // too many tries; later
	Internal Kind = "internal"
)

// Error is one failure: a sentence for the person, and the cause for the log. Errors are told apart by kind:
// errors.Is(err, store.ErrConflict).
type Error struct {
	Kind    Kind
	Say     unit.Phrase // what happened and what to try, in whole sentences
	Current *Record     // of a Conflict: how the guitar stands now
	Cause   error
}

// One of each kind, to compare with.
var (
	ErrInvalid  = &Error{Kind: Invalid}
	ErrNotFound = &Error{Kind: NotFound}
	ErrConflict = &Error{Kind: Conflict}
	ErrReadOnly = &Error{Kind: ReadOnly}
	ErrFull     = &Error{Kind: Full}
	ErrBusy     = &Error{Kind: Busy}
	ErrAway     = &Error{Kind: Away}
	ErrNewer    = &Error{Kind: Newer}
	ErrForeign  = &Error{Kind: Foreign}
	ErrDamaged  = &Error{Kind: Damaged}
	ErrSignIn   = &Error{Kind: SignIn}
	ErrRefused  = &Error{Kind: Refused}
	ErrWait     = &Error{Kind: Wait}
	ErrInternal = &Error{Kind: Internal}
)

// Error writes the sentence and the cause, for the log.
func (e *Error) Error() string {
	switch {
	case e.Cause == nil:
		return e.Say.In(unit.Millimetre)
	case e.Say.Empty():
		return string(e.Kind) + ": " + e.Cause.Error()
	}
	return e.Say.In(unit.Millimetre) + " (" + e.Cause.Error() + ")"
}

// In writes what a person is told, in their language. Causes stay in the log.
func (e *Error) In(s unit.Style) string {
	if e.Say.Empty() {
		return s.Say(Untold)
	}
	return e.Say.In(s)
}

// Untold is what a person is told of an error that has no sentence.
const Untold unit.Text = "Something in the program went wrong; nothing was saved. The log says more."

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Is reports whether target is an error of the same kind.
func (e *Error) Is(target error) bool {
	t, ok := target.(*Error)
	return ok && t.Kind == e.Kind
}

// Current returns how the guitar stands now, when err carries it.
func Current(err error) (Record, bool) {
	var e *Error
	if errors.As(err, &e) && e.Current != nil {
		return *e.Current, true
	}
	return Record{}, false
}

// Errorf makes an Error with its sentence.
func Errorf(k Kind, cause error, say unit.Text, args ...any) *Error {
	return &Error{Kind: k, Say: unit.Say(say, args...), Cause: cause}
}

// KindOf returns the kind of an error; Internal for one that is not an *Error.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return Internal
}

// Missing is the error for an id that no guitar has.
func Missing(id string) *Error {
	return Errorf(NotFound, nil, "No guitar here has the id %q. It may be in another shop's file, or the id may be mistyped.", id)
}

// Changed is the Conflict for a change made against a revision that is no longer the current one.
func Changed(now Record) *Error {
	what := unit.Say("This guitar was changed meanwhile.")
	if n := len(now.Guitar.Log); n > 0 {
		last := now.Guitar.Log[n-1]
		name := unit.Say("the design")
		if g, ok := guitar.FindGuide(last.Step); ok {
			name = unit.Say("“%v”", g.Name)
		}
		what = unit.Say("This guitar was changed meanwhile; its last entry is now number %d, %v.", last.Seq, name)
		if last.Bench != "" {
			what = unit.Say("This guitar was changed meanwhile; its last entry is now number %d, %v by %s.", last.Seq, name, last.Bench)
		}
	}
	return &Error{Kind: Conflict, Current: &now, Say: unit.Join(what, unit.Say("Nothing of yours was saved and nothing was overwritten: look at the guitar as it stands, then enter yours again."))}
}

// Gone is the error for changing a guitar that was removed.
func Gone(r Record) *Error {
	return Errorf(Conflict, nil, "%q was removed. Restore it before you change it.", r.Guitar.Name).with(r)
}

// NothingToUndo is the error for an Undo when no entry stands.
func NothingToUndo(r Record) *Error {
	return Errorf(Invalid, guitar.ErrNothingToUndo, "%q has no entry left to undo.", r.Guitar.Name).with(r)
}

func (e *Error) with(r Record) *Error { e.Current = &r; return e }
