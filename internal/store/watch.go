package store

import (
	"context"
	"sync"
)

// Change tells that a guitar was changed: entered, undone, renamed, removed, given to another bench. One
// without an ID tells that anything may have changed, the shop's settings too.
type Change struct {
	ID       string
	Revision int64 // as it is now, or was a moment ago: another change may follow
}

// Everything reports whether anything may have changed.
func (c Change) Everything() bool { return c.ID == "" }

// pendingMost is how many changed guitars a watcher may be behind before it is told that anything may have changed.
const pendingMost = 500

// Hub passes changes on to watchers. The zero Hub is ready; it may be used by many at once.
type Hub struct {
	mu       sync.Mutex
	watchers map[*watcher]struct{}
	closed   bool
}

type watcher struct {
	pending map[string]int64 // by id: of many changes of one guitar the last is enough
	order   []string
	wake    chan struct{}
	stop    context.CancelFunc
}

// Watch returns a channel of the changes from now on, which is closed when ctx ends or the hub is closed. Nobody
// waits for a watcher: one that is slow gets the last change of each guitar, or that anything may have changed.
func (h *Hub) Watch(ctx context.Context) <-chan Change {
	out := make(chan Change)
	ctx, stop := context.WithCancel(ctx)
	w := &watcher{pending: map[string]int64{}, wake: make(chan struct{}, 1), stop: stop}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		stop()
		close(out)
		return out
	}
	if h.watchers == nil {
		h.watchers = map[*watcher]struct{}{}
	}
	h.watchers[w] = struct{}{}
	go h.pass(ctx, w, out)
	return out
}

func (h *Hub) pass(ctx context.Context, w *watcher, out chan<- Change) {
	defer close(out)
	defer w.stop()
	defer func() {
		h.mu.Lock()
		delete(h.watchers, w)
		h.mu.Unlock()
	}()
	for {
		select {
		case <-ctx.Done():
			return
		case <-w.wake:
		}
		for c, ok := h.next(w); ok; c, ok = h.next(w) {
			select {
			case <-ctx.Done():
				return
			case out <- c:
			}
		}
	}
}

// next takes the oldest change a watcher was not told of.
func (h *Hub) next(w *watcher) (Change, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(w.order) == 0 {
		return Change{}, false
	}
	id := w.order[0]
	w.order = w.order[1:]
	c := Change{id, w.pending[id]}
	delete(w.pending, id)
	return c, true
}

// Tell tells every watcher of changes. It does not wait for them.
func (h *Hub) Tell(changes ...Change) {
	if len(changes) == 0 {
		return
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for w := range h.watchers {
		for _, c := range changes {
			w.add(c)
		}
		select {
		case w.wake <- struct{}{}:
		default:
		}
	}
}

func (w *watcher) add(c Change) {
	if _, all := w.pending[""]; all {
		return // the rest is said with it
	}
	if c.Everything() || len(w.order) >= pendingMost {
		w.order, w.pending = []string{""}, map[string]int64{"": 0}
		return
	}
	if _, behind := w.pending[c.ID]; !behind {
		w.order = append(w.order, c.ID)
	}
	w.pending[c.ID] = c.Revision
}

// Close ends every watch, and those to come.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for w := range h.watchers {
		w.stop()
	}
}
