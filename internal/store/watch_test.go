package store

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"
)

func receive(t *testing.T, from <-chan Change) Change {
	t.Helper()
	select {
	case c, ok := <-from:
		if !ok {
			t.Fatal("the watch ended")
		}
		return c
	case <-time.After(10 * time.Second):
		t.Fatal("nothing was told")
	}
	return Change{}
}

func ended(t *testing.T, from <-chan Change) {
	t.Helper()
	for {
		select {
		case _, ok := <-from:
			if !ok {
				return
			}
		case <-time.After(10 * time.Second):
			t.Fatal("the watch goes on")
		}
	}
}

func TestWatchersAreTold(t *testing.T) {
	var h Hub
	h.Tell(Change{"before", 1}) // nobody watches
	ctx, stop := context.WithCancel(t.Context())
	a, b := h.Watch(ctx), h.Watch(t.Context())
	h.Tell(Change{"q7k4mb", 2}, Change{"d8w3xr", 5})
	for _, w := range []<-chan Change{a, b} {
		if got := receive(t, w); got != (Change{"q7k4mb", 2}) {
			t.Errorf("got %v", got)
		}
		if got := receive(t, w); got != (Change{"d8w3xr", 5}) {
			t.Errorf("got %v", got)
		}
	}
	stop()
	ended(t, a)
	h.Tell(Change{"q7k4mb", 3})
	if got := receive(t, b); got.Revision != 3 {
		t.Errorf("the other watcher got %v", got)
	}
	h.Close()
	ended(t, b)
	ended(t, h.Watch(t.Context()))
}

// A watcher that does not come along holds nobody up, and learns the last state of each guitar.
func TestSlowWatcher(t *testing.T) {
	var h Hub
	w := h.Watch(t.Context())
	h.Tell(Change{"first", 1})
	for n := range 1000 {
		h.Tell(Change{fmt.Sprint(n % 10), int64(n)})
	}
	last := map[string]int64{}
	for len(last) < 11 || last["9"] != 999 {
		c := receive(t, w)
		if c.Revision < last[c.ID] {
			t.Errorf("%s went back from %d to %d", c.ID, last[c.ID], c.Revision)
		}
		last[c.ID] = c.Revision
	}
	for n := range 10 {
		if last[fmt.Sprint(n)] != int64(990+n) {
			t.Errorf("guitar %d: last told of revision %d", n, last[fmt.Sprint(n)])
		}
	}
	for n := range 3 * pendingMost {
		h.Tell(Change{fmt.Sprint("many", n), 1})
	}
	for n := 0; ; n++ {
		if receive(t, w).Everything() {
			break
		}
		if n > pendingMost {
			t.Fatal("never told that anything may have changed")
		}
	}
}

func TestManyTellAndWatch(t *testing.T) {
	var h Hub
	var wg sync.WaitGroup
	for n := range 8 {
		ctx, stop := context.WithTimeout(t.Context(), time.Duration(n)*5*time.Millisecond)
		defer stop()
		w := h.Watch(ctx)
		wg.Go(func() {
			for range w {
			}
		})
		wg.Go(func() {
			for i := range 500 {
				h.Tell(Change{fmt.Sprint(i % 7), int64(i)})
			}
		})
	}
	wg.Wait()
	if len(h.watchers) != 0 {
		t.Errorf("%d watchers stay", len(h.watchers))
	}
}
