package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strings"

	"fairset/craft/guitar"
	"fairset/figure"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/unit"

	"github.com/danielgtaylor/huma/v2"
)

// Fault says what cannot be used: which field, what is wrong and what to try, and what is allowed.
type Fault struct {
	Field   string `json:"field" doc:"the input at fault, empty when it is none in particular"`
	Message string `json:"message"`
	Allowed string `json:"allowed"`
}

func (f *Fault) Error() string { return f.Message }

// Problem is the body of every reply that is not a success.
type Problem struct {
	status   int
	Fault    Fault      `json:"error"`
	Others   []Fault    `json:"others,omitempty" doc:"further inputs at fault"`
	Revision *int64     `json:"revision,omitempty" doc:"on a conflict: the guitar's revision now"`
	Entries  []LogEntry `json:"entries,omitempty" doc:"on a conflict: the last entries, newest last"`
}

func (p *Problem) Error() string { return p.Fault.Message }

// GetStatus is the HTTP status.
func (p *Problem) GetStatus() int { return p.status }

// lastEntries is how many entries a conflict shows.
const lastEntries = 5

// problem turns any error into a Problem, its sentences in a maker's units and language.
func problem(err error, s unit.Style) *Problem {
	var own *Problem
	var request *wrong
	var problems guitar.Problems
	var re *unit.RangeError
	var fe *guitar.FileError
	var ge *figure.Error
	switch {
	case errors.As(err, &own):
		return own
	case errors.As(err, &request):
		return request.in(s)
	case errors.As(err, &problems) && len(problems) > 0:
		out := &Problem{status: http.StatusUnprocessableEntity, Fault: ranged(problems[0], s)}
		for _, p := range problems[1:] {
			out.Others = append(out.Others, ranged(p, s))
		}
		return out
	case errors.As(err, &re):
		return &Problem{status: http.StatusUnprocessableEntity, Fault: ranged(re, s)}
	case errors.As(err, &fe):
		return &Problem{status: http.StatusUnprocessableEntity, Fault: Fault{Field: fe.At(), Message: fe.In(s)}}
	case errors.As(err, &ge):
		return &Problem{status: http.StatusUnprocessableEntity, Fault: Fault(*ge)}
	}
	out := &Problem{status: shop.Status(err), Fault: Fault{Message: shop.SentenceIn(err, s)}}
	var need *printing.NeedError
	if errors.As(err, &need) {
		out.Fault.Field = "sheet"
	}
	var kept *store.Error
	if errors.As(err, &kept) && kept.Kind == store.Conflict && kept.Current != nil {
		now := kept.Current
		es := now.Guitar.Log
		es = es[max(0, len(es)-lastEntries):]
		out.Fault.Field, out.Revision, out.Entries = "revision", &now.Revision, Entries(now.Guitar, es)
		out.Fault.Allowed = fmt.Sprint(now.Revision)
	}
	return out
}

func ranged(e *unit.RangeError, s unit.Style) Fault {
	return Fault{Field: e.Field, Message: e.In(s), Allowed: e.Allowed(s)}
}

var (
	oneOf   = regexp.MustCompile(`one of "(.*)"`)
	absent  = regexp.MustCompile(`required property (\S+) to be present`)
	atValue = regexp.MustCompile(`^values\.([a-z0-9_]+)`)
)

// The library asks this for every error it makes itself, and for the type it documents them by.
func init() {
	huma.NewError = func(status int, msg string, errs ...error) huma.StatusError {
		out := &Problem{status: status, Fault: Fault{Message: msg}}
		for i, err := range errs {
			f := Fault{Message: err.Error()}
			var fault *Fault
			var detail *huma.ErrorDetail
			switch {
			case errors.As(err, &fault):
				f = *fault
			case errors.As(err, &detail):
				f = detailed(detail)
			case status >= http.StatusInternalServerError:
				f.Message = "something in the program went wrong; nothing was changed"
			}
			if i == 0 {
				out.Fault = f
			} else {
				out.Others = append(out.Others, f)
			}
		}
		return out
	}
}

func detailed(d *huma.ErrorDetail) Fault {
	where := d.Location
	for _, p := range []string{"body.", "query.", "path.", "body"} {
		if rest, ok := strings.CutPrefix(where, p); ok {
			where = rest
			break
		}
	}
	say := d.Message
	if m := atValue.FindStringSubmatch(where); m != nil {
		where, say = m[1], "give a string, a number, or a list of them"
	}
	if m := absent.FindStringSubmatch(say); m != nil {
		where, say = m[1], "this one is needed"
	}
	f := Fault{Field: where, Message: say}
	if where != "" {
		f.Message = where + ": " + say
	}
	if m := oneOf.FindStringSubmatch(d.Message); m != nil {
		f.Allowed = m[1]
	}
	return f
}

// style is the units a request asks for, else the shop's, with the language it asks for.
func (s *server) style(ctx context.Context, u Units) unit.Style {
	return s.units(ctx, u).Speaking(u.code())
}

func (s *server) units(ctx context.Context, u Units) unit.Style {
	if st, err := unit.ParseStyle(u.Units); err == nil {
		return st
	}
	if set, err := s.shop.Settings(ctx); err == nil && set.Units != "" {
		return set.Units
	}
	return store.DefaultSettings().Units
}
