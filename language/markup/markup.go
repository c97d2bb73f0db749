// Package markup finds the words in the source of an html/template page and puts those of another language in their
// place, before the template is parsed.
//
// # What is a text
//
// A run is text, value actions ({{.Name}}, {{say .Do}}) and inline tags (a, strong, span, br and their like) in an unbroken row. Every
// other tag ends it, and so does an action that steers: if, else, end, range, with, define, template, block, break, continue, a
// comment, the assignment of a variable. A tag whose partner stands outside the run ends it as well. A run with a letter
// outside its actions and tags is a text, and has an id:
//
//   - white space is one space, none at the ends; {{- and -}} take it away as they do on the page;
//   - entities are the characters they stand for (&amp; is &, &nbsp; is U+00A0);
//   - value actions are {1}, {2}… in their order. So is what is no word: a literal < or {, a control
//     character, white space written as an entity;
//   - inline tags are <1>…</1>, <2>…</2>… in the order in which they open; br and wbr are <3/>, counted with them.
//
// Tags around the whole run, tags at its ends with no letter, digit or action in them, and a first or last line without a letter, as
// br ends lines, are left out of the id. A row of links with nothing between them is a text for each link. In pre and textarea each line is a run of its own.
//
// The values of attributes that people read are texts too, cut at actions that steer: aria-label, aria-description,
// aria-roledescription, aria-valuetext, title, alt, placeholder, data-say…, data-text…; label of optgroup, option and track; content of
// <meta name="description">; value of an input that is a button (submit, button, reset). An unquoted value is a text when no action in it steers.
//
// # What is none
//
// Script and style are passed over whole, HTML comments too. A string written as an argument of an action is not
// translated here, as in {{template "x" "English words"}} or {{or .Name "none"}}: the function that is called must do it.
// One such function is known by its name: the first argument of {{text "English words"}}, when it is a plain string,
// is listed by [Messages] as it is, so that a catalogue knows it; [Translate] leaves it alone.
package markup

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Messages lists the ids of a template source's texts in the order they begin in, each once. A source that ends within an action,
// a string or a tag is read up to there; [Translate] has the error.
func Messages(src string) []string {
	pg, _ := read(src)
	all := pg.said
	for _, t := range pg.tokens {
		for _, a := range t.attrs {
			for _, m := range a.messages(t) {
				all = append(all, m.said())
			}
		}
	}
	for _, m := range find(pg.tokens) {
		all = append(all, m.said())
	}
	slices.SortStableFunc(all, func(a, b said) int { return cmp.Compare(a.pos, b.pos) })
	seen := map[string]bool{}
	var ids []string
	for _, a := range all {
		if !seen[a.id] {
			seen[a.id] = true
			ids = append(ids, a.id)
		}
	}
	return ids
}

// Translate returns a template source with the words of another language for its texts. words is asked with the id at each
// place; a text it has none for (ok false, or ""), or for which it gives back the id, stays as it is in the source to the byte.
//
// Words are escaped for where they stand. White space around a text stays; around the words it is dropped. The error tells
// where the source is broken, or which words [Check] refuses; there is no source then.
func Translate(src string, words func(id string) (string, bool)) (string, error) {
	pg, err := read(src)
	if err != nil {
		return "", err
	}
	out := make([]string, len(pg.tokens))
	for i, t := range pg.tokens {
		out[i] = t.src
		if len(t.attrs) == 0 {
			continue
		}
		if out[i], err = t.with(words); err != nil {
			return "", err
		}
	}
	for _, m := range find(pg.tokens) {
		if err := m.put(out, words, textEscape); err != nil {
			return "", err
		}
	}
	return strings.Join(out, ""), nil
}

// Check reports why a translation cannot stand for an id that [Messages] listed for a run or an attribute; nil when it can.
//
// Each placeholder of the id must be there, once or more, in any order; each tag exactly once, closed, and within the same tags as in
// the id (br and wbr may stand anywhere). There may be no other placeholder or tag, no other < or {, no control
// character, and something must be left besides white space.
func Check(id, translation string) error {
	_, err := check(id, translation)
	return err
}

// check is Check, and gives the parts of the translation, white space at its ends dropped.
func check(id, translation string) ([]part, error) {
	want, err := parts(id)
	if err != nil {
		return nil, fmt.Errorf("the id %w", err)
	}
	translation = strings.Trim(translation, space)
	switch {
	case translation == "":
		return nil, errors.New("the translation is empty")
	case !utf8.ValidString(translation):
		return nil, errors.New("the translation is not UTF-8")
	}
	if i := strings.IndexFunc(translation, unicode.IsControl); i >= 0 {
		r, _ := utf8.DecodeRuneInString(translation[i:])
		return nil, fmt.Errorf("the translation has the control character %U", r)
	}
	got, err := parts(translation)
	if err != nil {
		return nil, fmt.Errorf("the translation %w", err)
	}
	wantHas, err := census(want)
	if err != nil {
		return nil, fmt.Errorf("the id %w", err)
	}
	gotHas, err := census(got)
	if err != nil {
		return nil, fmt.Errorf("the translation %w", err)
	}
	for _, p := range got {
		if p.kind == plain {
			continue
		}
		if _, ok := wantHas[p.mark()]; !ok {
			return nil, fmt.Errorf("the translation has %s, which the English does not have", p)
		}
	}
	for _, p := range want {
		if p.kind == plain {
			continue
		}
		has, ok := gotHas[p.mark()]
		switch {
		case !ok:
			return nil, fmt.Errorf("the translation lacks %s", p)
		case p.kind == open && has.within != wantHas[p.mark()].within:
			return nil, fmt.Errorf("the translation has %s within other tags than the English", p)
		case p.kind != place && p.kind != shut && has.times > 1:
			return nil, fmt.Errorf("the translation has %s %d times", p, has.times)
		}
	}
	return got, nil
}
