package store

import (
	"regexp"
	"strconv"
	"strings"
	"sync"

	"fairset/unit"
)

// What events tell of. An event keeps the English words; Says finds these texts in them again, so that they can be said in
// another language. One that is no longer written stays, for the events that have it.
const (
	DidSignIn       unit.Text = "signed in"
	DidLock         unit.Text = "locked after too many wrong tries"
	DidMakeToken    unit.Text = "made a token for “%s”"
	DidSecret       unit.Text = "changed the PIN or passphrase of “%s”"
	DidAddTeacher   unit.Text = "made the teacher's account “%s”"
	DidAddBench     unit.Text = "made the bench's account “%s”"
	DidUnlock       unit.Text = "lifted the lock of “%s”"
	DidForget       unit.Text = "removed an account, now “%s”"
	DidGive         unit.Text = "gave the guitar %q to “%s”"
	DidGiveTeachers unit.Text = "gave the guitar %q to the teachers"
	DidUndo         unit.Text = "undid entry %d"
	DidRename       unit.Text = "renamed the guitar from %q to %q"
	DidRemove       unit.Text = "took the guitar %q off the bench"
	DidRestore      unit.Text = "put the guitar %q back on the bench"
	DidSettings     unit.Text = "changed the shop's settings"
	DidTakeGuitars  unit.Text = "took in a file of %d guitars"
	DidTakeAir      unit.Text = "took in %d readings of the air"
	DidTakePhotos   unit.Text = "took in %d photos"
	DidAddPhotos    unit.Text = "added %d photos of %q"
	DidErasePhoto   unit.Text = "erased a photo of %q"
	DidErasePhotos  unit.Text = "erased %d photos"
	DidCopyDesign   unit.Text = "made %d guitars from one design, %q to %q"
	DidChangeMany   unit.Text = "changed %s on %d guitars"
	DidMakeCopy     unit.Text = "made a copy of the shop"
	DidSaveCopy     unit.Text = "saved a copy of the shop, %s"
)

// Dids lists what events tell of.
func Dids() unit.Texts {
	return unit.Texts{DidSignIn, DidLock, DidMakeToken, DidSecret, DidAddTeacher, DidAddBench, DidUnlock, DidForget, DidGive, DidGiveTeachers, DidUndo, DidRename, DidRemove,
		DidRestore, DidSettings, DidTakeGuitars, DidTakeAir, DidTakePhotos, DidAddPhotos, DidErasePhoto, DidErasePhotos, DidCopyDesign, DidChangeMany, DidMakeCopy, DidSaveCopy}
}

// Did is what an event keeps.
func Did(what unit.Text, args ...any) string { return unit.Say(what, args...).In(unit.Millimetre) }

// Says tells what was done in words for a person. Words that no text of Dids gives are told as they are kept.
func (e Event) Says() unit.Phrase {
	for _, k := range known() {
		m := k.form.FindStringSubmatch(e.Did)
		if m == nil {
			continue
		}
		if args, ok := k.read(m[1:]); ok {
			return unit.Say(k.text, args...)
		}
	}
	return unit.Plain(e.Did)
}

// knownDid is a text and the form that what was written with it has.
type knownDid struct {
	text  unit.Text
	form  *regexp.Regexp
	verbs []string
}

var reVerb = regexp.MustCompile(`%[dqs]`)

var known = sync.OnceValue(func() []knownDid {
	var out []knownDid
	for _, t := range Dids() {
		english := t.In(unit.Millimetre)
		verbs := reVerb.FindAllString(english, -1)
		form := regexp.QuoteMeta(english)
		for verb, is := range map[string]string{"%d": `([0-9]+)`, "%q": `("(?:[^"\\]|\\.)*")`, "%s": `(.*)`} {
			form = strings.ReplaceAll(form, verb, is)
		}
		out = append(out, knownDid{t, regexp.MustCompile(`^` + form + `$`), verbs})
	}
	return out
})

// read gives the arguments back that stood for the verbs.
func (k knownDid) read(found []string) (args []any, ok bool) {
	for i, f := range found {
		var arg any = f
		var err error
		switch k.verbs[i] {
		case "%d":
			arg, err = strconv.Atoi(f)
		case "%q":
			arg, err = strconv.Unquote(f)
		}
		if err != nil {
			return nil, false
		}
		args = append(args, arg)
	}
	return args, true
}
