package shop

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/unit"
)

// Kept says what became of an entry sent under a key.
type Kept struct {
	Seq      int   // of the entry; 0 when nothing differed, so that there is none
	Revision int64 // of the guitar with that entry, whatever came after it
	Again    bool  // it had been kept before: this time nothing was added
}

// ErrOtherEntry is the cause when a key comes with another entry than the first time.
var ErrOtherEntry = unit.Wrong("the key came with another entry before")

// EnterOnce is Enter for an entry that may arrive more than once: from a browser that sends it again because the
// answer was lost, through a proxy that tries twice, or after a crash. The key is made anew for each entry by
// whoever sends it, and belongs to the account that does. An entry under a known key is not made again: the
// answer says which entry it was, and the view is the guitar as it stands now. A key that comes with something
// else is refused, with ErrOtherEntry as the cause; an entry that was refused leaves no key behind. "" for a key
// is Enter.
func (s *Shop) EnterOnce(ctx context.Context, key, id string, revision int64, step guitar.Step, texts map[string][]string, style unit.Style, bench string) (View, Kept, error) {
	key, err := store.CheckKey(key)
	if err != nil {
		return View{}, Kept{}, err
	}
	if key == "" {
		v, err := s.Enter(ctx, id, revision, step, texts, style, bench)
		return v, kept(v, revision), err
	}
	if _, err := s.keys(); err != nil {
		return View{}, Kept{}, err
	}
	k := store.Key{Account: s.who(ctx).Account, Text: key, What: digest(id, step, texts, style)}
	v, was, err := s.before(ctx, k)
	if store.KindOf(err) != store.NotFound {
		return v, was, err
	}
	v, err = s.answer(ctx, id, revision, step, texts, style, bench, k)
	if store.KindOf(err) == store.Conflict { // the same may have come in beside this one
		if v, was, e := s.before(ctx, k); store.KindOf(e) != store.NotFound {
			return v, was, e
		}
	}
	return v, kept(v, revision), err
}

func kept(v View, revision int64) Kept {
	if v.Revision == revision {
		return Kept{Revision: revision}
	}
	return Kept{Seq: len(v.Guitar.Log), Revision: v.Revision}
}

// before returns what a key was used for, NotFound when it was not.
func (s *Shop) before(ctx context.Context, k store.Key) (View, Kept, error) {
	keys, err := s.keys()
	if err != nil {
		return View{}, Kept{}, err
	}
	was, err := keys.Sent(ctx, k.Account, k.Text)
	if err != nil {
		return View{}, Kept{}, err
	}
	if was.What != k.What {
		return View{}, Kept{}, store.Errorf(store.Invalid, ErrOtherEntry, "This key came with another entry before, so nothing was saved. Send each entry under a key of its own.")
	}
	r, err := s.get(ctx, was.Guitar)
	if store.KindOf(err) == store.NotFound { // given to somebody else since; that is no leave to try again
		return View{}, Kept{}, store.Errorf(store.Refused, err, "That entry was saved, and the guitar has been given to somebody else since.")
	}
	v, err := s.view(ctx, r, err)
	return v, Kept{Seq: was.Seq, Revision: was.Revision, Again: true}, err
}

// keys returns the part of the store that keeps keys of entries.
func (s *Shop) keys() (store.Keys, error) {
	if k, ok := s.Store.(store.Keys); ok {
		return k, nil
	}
	return nil, store.Errorf(store.Invalid, nil, "A guitar file keeps no keys of entries; a shop's file does.")
}

// append keeps an entry, with its key if it has one.
func (s *Shop) append(ctx context.Context, r store.Record, e guitar.Entry, k store.Key) (store.Record, error) {
	if k.Text == "" {
		return s.Store.Append(ctx, r.Guitar.ID, r.Revision, e)
	}
	keys, err := s.keys()
	if err != nil {
		return store.Record{}, err
	}
	return keys.AppendOnce(ctx, r.Guitar.ID, r.Revision, e, k)
}

// digest stands for all that was asked but the revision: somebody who has seen what came between sends the same
// entry under the same key at the next revision.
func digest(id string, step guitar.Step, texts map[string][]string, style unit.Style) string {
	filled := map[string][]string{}
	for k, t := range texts {
		if w := written(t); len(w) > 0 {
			filled[k] = w
		} else if step == guitar.StepDesign {
			filled[k] = nil // a blank takes a figure of the design away
		}
	}
	b, err := json.Marshal([]any{id, step, filled, style}) // maps are written in the order of their keys
	if err != nil {
		panic(err) // texts always can be
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}
