package api

import (
	"net/http"

	"fairset/language"
	"fairset/unit"
)

// Spoken is what every route takes whose reply may hold words. Keys, codes and the JSON of calculations are English whatever is asked
// for, and so is what the library that checks requests says of their form.
type Spoken struct {
	Language string `query:"language" enum:"en,de" doc:"language of the sentences and names; that of Accept-Language when left out"`
	Accept   string `header:"Accept-Language" doc:"languages to choose from (RFC 9110, 12.5.4); English when none is known here"`
}

func (p Spoken) code() language.Code {
	if c, ok := language.Parse(p.Language); ok {
		return c
	}
	return language.Match(p.Accept)
}

func (p Spoken) asked() Units { return Units{Spoken: p} }

// style is for replies without lengths.
func (p Spoken) style() unit.Style { return unit.Millimetre.Speaking(p.code()) }

// spokenOf is what a request asks for before any route has read it.
func spokenOf(r *http.Request) Spoken {
	return Spoken{r.URL.Query().Get("language"), r.Header.Get("Accept-Language")}
}

// wrong is an error of a request that is not said in a language yet.
type wrong struct {
	status       int
	field        string
	say, allowed unit.Phrase
}

// refuse is the error for an input that cannot be used. allowed may be empty.
func refuse(field string, allowed unit.Phrase, say unit.Text, args ...any) error {
	return &wrong{http.StatusUnprocessableEntity, field, unit.Say(say, args...), allowed}
}

func (w *wrong) Error() string { return w.say.In(unit.Millimetre) }

func (w *wrong) in(s unit.Style) *Problem {
	return &Problem{status: w.status, Fault: Fault{Field: w.field, Message: w.say.In(s), Allowed: w.allowed.In(s)}}
}
