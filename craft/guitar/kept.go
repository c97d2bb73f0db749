package guitar

import (
	"crypto/sha256"
	"sync"
)

// topAnswer is what is kept of a top.
type topAnswer struct {
	give *TopGive
	err  error
}

// kept remembers the answers of a pure function by its argument's sum, the last most of them. It changes how long an answer
// takes, never what it is. Who asks for one that is being worked out waits for it.
type kept struct {
	most int
	mu   sync.Mutex
	turn uint64
	by   map[[sha256.Size]byte]*keptOne
}

type keptOne struct {
	once   sync.Once
	used   uint64
	answer topAnswer
}

// Most answers kept: a few hundred bytes each. Designs outnumber tops, because a design differs by any figure.
var (
	topsByDesign = &kept{most: 4096}
	topsByPlate  = &kept{most: 1024}
)

func (k *kept) of(sum [sha256.Size]byte, work func() topAnswer) topAnswer {
	k.mu.Lock()
	one := k.by[sum]
	if one == nil {
		if k.by == nil {
			k.by = map[[sha256.Size]byte]*keptOne{}
		}
		if len(k.by) >= k.most {
			k.forget()
		}
		one = &keptOne{}
		k.by[sum] = one
	}
	k.turn++
	one.used = k.turn
	k.mu.Unlock()
	one.once.Do(func() { one.answer = work() })
	return one.answer
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
