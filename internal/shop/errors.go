package shop

import (
	"context"
	"errors"
	"net/http"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/unit"
)

// answers gives each kind of error its web status and its exit code. 2 is bad input; 1 is trouble of ours.
var answers = map[store.Kind]struct{ status, exit int }{
	store.Invalid:  {http.StatusUnprocessableEntity, 2},
	store.NotFound: {http.StatusNotFound, 3},
	store.Conflict: {http.StatusConflict, 4},
	store.ReadOnly: {http.StatusServiceUnavailable, 5},
	store.Full:     {http.StatusInsufficientStorage, 6},
	store.Busy:     {http.StatusServiceUnavailable, 7},
	store.Newer:    {http.StatusUnprocessableEntity, 8},
	store.Foreign:  {http.StatusUnprocessableEntity, 9},
	store.Damaged:  {http.StatusInternalServerError, 10},
	store.Away:     {http.StatusServiceUnavailable, 11},
	store.SignIn:   {http.StatusUnauthorized, 2},
	store.Refused:  {http.StatusForbidden, 2},
	store.Wait:     {http.StatusTooManyRequests, 2},
	store.Internal: {http.StatusInternalServerError, 1},
}

// KindOf returns the kind of any error this package returns.
func KindOf(err error) store.Kind {
	var problems guitar.Problems
	var re *unit.RangeError
	var fe *guitar.FileError
	var need *printing.NeedError
	var log *climate.FileError
	var asks *climate.Question
	switch {
	case errors.As(err, &log), errors.As(err, &asks):
		return store.Invalid
	case errors.As(err, &fe) && fe.Newer:
		return store.Newer
	case errors.As(err, &problems), errors.As(err, &re), errors.As(err, &fe), errors.As(err, &need), errors.Is(err, guitar.ErrNothingToUndo):
		return store.Invalid
	}
	return store.KindOf(err)
}

// Status returns the web status for an error; 200 for none.
func Status(err error) int {
	if err == nil {
		return http.StatusOK
	}
	return answers[KindOf(err)].status
}

// ExitCode returns the command line's exit code for an error; 0 for none.
func ExitCode(err error) int {
	if err == nil {
		return 0
	}
	return answers[KindOf(err)].exit
}

// spoken is an error that stands within another's sentence as a person is told of it.
type spoken struct{ err error }

func (t spoken) In(s unit.Style) string { return SentenceIn(t.err, s) }

// Sentence returns what a person is told of an error, in English and millimetres. Causes stay in the log.
func Sentence(err error) string { return SentenceIn(err, unit.Millimetre) }

// SentenceIn is Sentence in a maker's units and language.
func SentenceIn(err error, style unit.Style) string {
	var problems guitar.Problems
	var re *unit.RangeError
	var fe *guitar.FileError
	var se *store.Error
	var need *printing.NeedError
	var log *climate.FileError
	var asks *climate.Question
	switch {
	case errors.As(err, &log):
		return style.Say("Nothing was taken in: %v.", log)
	case errors.As(err, &asks):
		return asks.In(style)
	case err == nil:
		return ""
	case errors.As(err, &problems):
		return problems.In(style)
	case errors.As(err, &re):
		return re.In(style)
	case errors.As(err, &fe):
		return fe.In(style)
	case errors.As(err, &need):
		return unit.Explain(need, style)
	case errors.As(err, &se) && !se.Say.Empty():
		return se.In(style)
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return style.Say("This was broken off before it was done; nothing was saved.")
	}
	return style.Say(store.Untold)
}
