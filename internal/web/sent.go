package web

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/internal/store"
)

// keyHeader names the key of an entry, as the interface for programs does.
// source: draft-ietf-httpapi-idempotency-key-header
const keyHeader = "Idempotency-Key"

// newKey makes the key a form is sent with: the same form sent twice is kept once.
func newKey() string { return rand.Text() }

// key is the key an entry came with: the header's, else the form's.
func (in *request) key() string {
	if k := in.Header.Get(keyHeader); k != "" {
		return k
	}
	return in.PostForm.Get("key")
}

// whose names whoever asks, for what a device keeps until the shop is in reach: it is sent as theirs or not at all.
func (in *request) whose() string {
	if in.srv.share == nil {
		return "shop"
	}
	return in.who.Account
}

// theirs refuses an entry that somebody else typed on this device, before this one signed in.
func (in *request) theirs() error {
	by, given := in.PostForm["who"]
	if !given || len(by) == 1 && by[0] == in.whose() {
		return nil
	}
	return refuse(http.StatusForbidden, "Somebody else typed this on this device. It is sent when they sign in again.")
}

// sentAnswer is what a device that kept an entry for later is told of it.
type sentAnswer struct {
	Saved    bool     `json:"saved"`
	Again    bool     `json:"again"`            // it had been saved before
	Seq      int      `json:"seq"`              // of the entry
	Revision int64    `json:"revision"`         // of the guitar with that entry; of a conflict, as it stands now
	Seen     int      `json:"seen"`             // of a conflict: entries there are now
	Say      string   `json:"say"`              // one sentence
	Theirs   []string `json:"theirs,omitempty"` // of a conflict: what came between, in words
	Problems []string `json:"problems,omitempty"`
}

// wantsAnswer reports whether a device asks, and not a person.
func (in *request) wantsAnswer() bool {
	return strings.HasPrefix(in.Header.Get("Accept"), "application/json")
}

func (in *request) answer(status int, a sentAnswer) error {
	in.w.Header().Set("Content-Type", "application/json; charset=utf-8")
	in.w.WriteHeader(status)
	return json.NewEncoder(in.w).Encode(a)
}

// sent answers a device: what became of an entry it had kept.
func (in *request) sent(v shop.View, k shop.Kept, seen int, err error) error {
	switch {
	case err == nil:
		status := http.StatusCreated
		if k.Again {
			status = http.StatusOK
		}
		return in.answer(status, sentAnswer{Saved: true, Again: k.Again, Seq: k.Seq, Revision: k.Revision, Say: in.savedNotice(v, k)})
	case store.KindOf(err) == store.Conflict:
		a := sentAnswer{Say: shop.SentenceIn(err, in.prefs.Units)}
		if now, again := in.guitar(); again == nil && !now.Removed {
			a.Theirs, a.Revision, a.Seen = in.conflict(now, seen).Lines, now.Revision, len(now.Guitar.Log)
		}
		return in.answer(http.StatusConflict, a)
	}
	a := sentAnswer{Say: shop.SentenceIn(err, in.prefs.Units)}
	for _, p := range rangeErrors(err) {
		a.Problems = append(a.Problems, p.In(in.prefs.Units))
	}
	return in.answer(shop.Status(err), a)
}

// enter saves what a form holds for a step, once.
func (in *request) enter(id string, revision int64, step guitar.Step, texts url.Values) (shop.View, shop.Kept, error) {
	v, k, err := in.srv.shop.EnterOnce(in.Context(), in.key(), id, revision, step, texts, in.prefs.Units, in.prefs.Bench)
	if errors.Is(err, shop.ErrOtherEntry) { // gone back to and typed over: that is another entry, and the page behind it is old
		return in.srv.shop.EnterOnce(in.Context(), "", id, revision, step, texts, in.prefs.Units, in.prefs.Bench)
	}
	return v, k, err
}
