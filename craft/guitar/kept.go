package guitar

import (
	"context"
	"crypto/sha256"
	"errors"
	"sync"
)

// topAnswer is what is kept of a top.
type topAnswer struct {
	give *TopGive
	err  error
}

// kept remembers the answers of a pure function by its argument's sum, the last most of them. It changes how long an answer
// takes, never what it is. Who asks for one that is being worked out waits for it; one that was given up is not kept.
type kept struct {
	most int
	mu   sync.Mutex
	turn uint64
	by   map[[sha256.Size]byte]*keptOne
}

type keptOne struct {
	used   uint64
	done   chan struct{} // closed when the answer is there
	answer topAnswer
	gone   bool // it was given up
}

// Most answers kept: a few hundred bytes each. Designs outnumber tops, because a design differs by any figure.
var (
	topsByDesign = &kept{most: 4096}
	topsByPlate  = &kept{most: 1024}
)

func (k *kept) of(ctx context.Context, sum [sha256.Size]byte, work func(context.Context) topAnswer) topAnswer {
	for {
		one, mine := k.find(sum)
		if mine {
			return k.answer(ctx, sum, one, work)
		}
		select {
		case <-one.done:
			if !one.gone {
				return one.answer
			}
		case <-ctx.Done():
			return topAnswer{err: ctx.Err()}
		}
	}
}

// answer works one out and tells whoever waits for it. Given up, or broken off by a panic, it is forgotten.
func (k *kept) answer(ctx context.Context, sum [sha256.Size]byte, one *keptOne, work func(context.Context) topAnswer) topAnswer {
	one.gone = true
	defer func() {
		if one.gone {
			k.mu.Lock()
			if k.by[sum] == one {
				delete(k.by, sum)
			}
			k.mu.Unlock()
		}
		close(one.done)
	}()
	one.answer = work(ctx)
	err := ctx.Err()
	one.gone = err != nil && errors.Is(one.answer.err, err)
	return one.answer
}

// find returns the answer kept or begun under a sum, or begins one.
func (k *kept) find(sum [sha256.Size]byte) (one *keptOne, mine bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	one = k.by[sum]
	if one == nil {
		if k.by == nil {
			k.by = map[[sha256.Size]byte]*keptOne{}
		}
		if len(k.by) >= k.most {
			k.forget()
		}
		one, mine = &keptOne{done: make(chan struct{})}, true
		k.by[sum] = one
	}
	k.turn++
	one.used = k.turn
	return one, mine
}

// forget drops the half that was used longest ago; the lock is held.
func (k *kept) forget() {
	var oldest, newest = ^uint64(0), uint64(0)
	for _, o := range k.by {
		oldest, newest = min(oldest, o.used), max(newest, o.used)
	}
	for s, o := range k.by {
		if o.used <= oldest+(newest-oldest)/2 {
			delete(k.by, s)
		}
	}
}
