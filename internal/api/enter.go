package api

import (
	"context"

	"fairset/craft/guitar"
	"fairset/internal/access"

	"github.com/danielgtaylor/huma/v2"
)

// Enter adds one entry.
type Enter struct {
	One
	Key  string `header:"Idempotency-Key" doc:"made anew for each entry, 1 to 100 letters, digits or signs: sent again under the same key, the entry is kept once and the reply says which it was. It belongs to the account; with another entry it is refused"`
	Body struct {
		Revision int64   `json:"revision" doc:"the guitar's revision when this was read"`
		Step     string  `json:"step" doc:"one of /api/v1/steps, or design for a change of design"`
		Values   Answers `json:"values"`
		Bench    string  `json:"bench,omitempty" maxLength:"80" doc:"who enters it, such as bench 3"`
	}
}

// Entered is the guitar as it stands with the entry, and which entry that is.
type Entered struct {
	Entry    int   `header:"Fairset-Entry" doc:"number of the entry; 0 when a change of design changed nothing"`
	Revision int64 `header:"Fairset-Revision" doc:"the guitar's revision with that entry; the guitar may have gone on since when it was kept before"`
	Again    bool  `header:"Fairset-Again" doc:"the entry had been kept before under this key, and nothing was added"`
	Body     Guitar
}

func (s *server) entryRoute() {
	const path = "/guitars/{id}/entries"
	op := huma.Operation{Method: "POST", Path: Prefix + path, Summary: "Enter a reading, a cut, a design change or a note", OperationID: name("POST", path)}
	s.guard(&op, access.Member)
	created(&op)
	huma.Register(s.api, op, func(ctx context.Context, in *Enter) (*Entered, error) {
		out, err := s.enter(ctx, in)
		if err != nil {
			return nil, s.said(ctx, in, err)
		}
		return out, nil
	})
}

func (s *server) enter(ctx context.Context, in *Enter) (*Entered, error) {
	style := s.style(ctx, in.Units)
	v, err := s.shop.Guitar(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	step := guitar.Step(in.Body.Step)
	if err := checkStep(step); err != nil {
		return nil, err
	}
	texts, err := in.Body.Values.Texts(v.Guitar.Fields(step))
	if err != nil {
		return nil, err
	}
	v, kept, err := s.shop.EnterOnce(ctx, in.Key, v.Guitar.ID, in.Body.Revision, step, texts, style, in.Body.Bench)
	if err != nil {
		return nil, err
	}
	return &Entered{Entry: kept.Seq, Revision: kept.Revision, Again: kept.Again, Body: Describe(v, style)}, nil
}
