package api

import (
	"fairset/internal/access"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// ruleKey is where an operation's rule is kept, for the document and for tests.
const ruleKey = "who"

// guard lets only those use a route whom its rule allows. A route without a rule is a mistake of ours, found
// when the program starts.
func (s *server) guard(op *huma.Operation, who access.Rule) {
	if !who.Valid() {
		panic("no rule says who may use " + op.Method + " " + op.Path)
	}
	op.Metadata = map[string]any{ruleKey: who}
	op.Middlewares = append(op.Middlewares, func(ctx huma.Context, next func(huma.Context)) {
		w, in := s.shop.Who(ctx.Context())
		if err := who.Check(w, in); err != nil {
			r, answer := humago.Unwrap(ctx)
			if !in {
				answer.Header().Set("WWW-Authenticate", "Bearer") // source: RFC 6750, section 3
			}
			write(answer, problem(err, spokenOf(r).style()))
			return
		}
		next(ctx)
	})
}
