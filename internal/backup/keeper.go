package backup

import (
	"context"
	"log/slog"
	"sync"
	"time"
)

// Keeper makes copies of a shop while it is served, one at a time.
type Keeper struct {
	Folder
	From   Source
	Policy Policy
	Every  time.Duration    // between two copies; 0 makes none by itself
	Now    func() time.Time // nil for the real clock
	Log    *slog.Logger     // nil for slog.Default

	making sync.Mutex
	mu     sync.Mutex
	failed error
}

func (k *Keeper) now() time.Time {
	if k.Now != nil {
		return k.Now()
	}
	return time.Now()
}

// Make makes a copy and thins out old ones. A copy that was made is returned even when thinning failed.
func (k *Keeper) Make(ctx context.Context) (Copy, error) {
	k.making.Lock()
	defer k.making.Unlock()
	c, err := k.Folder.Make(ctx, k.From, k.now())
	if ctx.Err() == nil {
		k.mu.Lock()
		k.failed = err
		k.mu.Unlock()
	}
	if err != nil {
		return c, err
	}
	if _, err := k.Thin(k.now(), k.Policy); err != nil {
		k.log().Error("old copies were not thinned out", "err", err)
	}
	return c, nil
}

// Failed returns why the last try made no copy, or nil.
func (k *Keeper) Failed() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.failed
}

func (k *Keeper) log() *slog.Logger {
	if k.Log != nil {
		return k.Log
	}
	return slog.Default()
}

// again is how soon a copy that failed is tried again, at most.
const again = 15 * time.Minute

// Run makes a copy whenever the newest is older than Every, until ctx ends. A newest that is dated later than now,
// by a clock that was wrong, counts as none.
func (k *Keeper) Run(ctx context.Context) {
	if k.Every <= 0 {
		return
	}
	wait := k.first()
	for {
		t := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			t.Stop()
			return
		case <-t.C:
		}
		wait = k.Every
		if _, err := k.Make(ctx); err != nil && ctx.Err() == nil {
			k.log().Error("no copy of the shop was made", "err", err)
			wait = min(k.Every, again)
		}
	}
}

// first is how long until the first copy of this run.
func (k *Keeper) first() time.Duration {
	all, err := k.List()
	now := k.now()
	if err != nil || len(all) == 0 {
		return 0
	}
	if c, _ := Newest(all, now); !c.At.After(now) {
		return max(0, k.Every-now.Sub(c.At))
	}
	return 0
}
