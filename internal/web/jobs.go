package web

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"slices"
	"sync"
	"time"

	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/unit"
)

// Prints of many guitars: how many may run at once, and how long the result waits to be fetched.
const (
	jobsAtOnce = 2
	jobsKept   = 6
	jobKept    = 30 * time.Minute
)

var errBusy = errors.New("too many prints under way")

// jobs are the prints of many guitars that are under way, or wait to be fetched.
type jobs struct {
	ctx  context.Context // ends them all
	mu   sync.Mutex
	kept []*job // the newest last
}

// job is one print of many guitars. Its files go into a zip without a name, which is gone with the job or the program.
type job struct {
	id    string
	stop  context.CancelFunc
	ended chan struct{} // closed when it is done, stopped or failed

	mu      sync.Mutex
	view    jobView
	file    *archive // nil once it is gone
	size    int64
	readers int
	dropped bool
}

// jobView is how far a job is.
type jobView struct {
	ID           string
	Total, Done  int // guitars
	Pages, Files int
	Last         string        // the guitar that was printed last
	Left         []unit.Phrase // what was left out
	Running      bool
	Stopped      bool   // by hand
	Failed       string // why it ended early, in a sentence
	Ready        bool   // there is something to fetch
	Size         unit.Phrase
}

// Guitars says how many it prints.
func (v jobView) Guitars() unit.Phrase { return unit.Plural(v.Total, "%d guitar", "%d guitars") }

// PagesMade and FilesMade say how many are made.
func (v jobView) PagesMade() unit.Phrase { return pagesSaid(v.Pages) }
func (v jobView) FilesMade() unit.Phrase { return unit.Plural(v.Files, "%d file", "%d files") }

// State says how it stands.
func (v jobView) State() unit.Text {
	switch {
	case v.Running:
		return "under way‖a print"
	case v.Failed != "":
		return "did not work‖a print"
	case v.Stopped:
		return "stopped‖a print"
	}
	return "done‖a print"
}

func (j *job) url() string { return "/print/" + j.id }

func (j *job) now() jobView {
	j.mu.Lock()
	defer j.mu.Unlock()
	v := j.view
	v.Left = slices.Clone(v.Left)
	return v
}

func (j *job) running() bool { return j.now().Running }

// start begins a print for somebody, or returns errBusy.
func (js *jobs) start(who access.Who, s *shop.Shop, log *slog.Logger, ids []string, print func(shop.View) printing.Job, style unit.Style, o printing.Options) (*job, error) {
	js.mu.Lock()
	defer js.mu.Unlock()
	running := 0
	for _, j := range js.kept {
		if j.running() {
			running++
		}
	}
	if running >= jobsAtOnce {
		return nil, errBusy
	}
	ctx, stop := context.WithCancel(access.With(js.ctx, who))
	a, err := newArchive(ctx)
	if err != nil {
		stop()
		return nil, err
	}
	id := store.NewID()
	j := &job{id: id, stop: stop, ended: make(chan struct{}), file: a, view: jobView{ID: id, Total: len(ids), Running: true}}
	js.kept = append(js.kept, j)
	if len(js.kept) > jobsKept { // the oldest that is done gives way; there is one, since few run at once
		i := slices.IndexFunc(js.kept, func(j *job) bool { return !j.running() })
		js.kept[i].drop()
		js.kept = slices.Delete(js.kept, i, i+1)
	}
	go func() {
		defer stop()
		err := s.PrintEach(ctx, ids, print, style, o, a.put, j.said)
		if err != nil && ctx.Err() == nil && shop.Status(err) >= 500 {
			log.Error("print failed", "err", err)
		}
		j.end(ctx, err, style)
		time.AfterFunc(jobKept, func() { js.forget(j) })
	}()
	return j, nil
}

// said hears what became of one guitar.
func (j *job) said(v shop.View, r printing.Report, err error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.view.Done++
	j.view.Last = v.Guitar.Name
	if err != nil {
		j.view.Left = append(j.view.Left, unit.Say("%s, nothing yet. %v", v.Guitar.Name, err))
		return
	}
	j.view.Pages += r.Pages
	j.view.Files += r.Files
	for _, need := range r.Left {
		j.view.Left = append(j.view.Left, unit.Say("%s, %v", v.Guitar.Name, need))
	}
}

// end finishes the zip of what is whole.
func (j *job) end(ctx context.Context, err error, style unit.Style) {
	j.mu.Lock()
	defer j.mu.Unlock()
	defer close(j.ended)
	j.view.Running = false
	switch {
	case err != nil && ctx.Err() != nil:
		j.view.Stopped = true
	case err != nil:
		j.view.Failed = shop.SentenceIn(err, style)
	}
	size, err := j.file.finish()
	if err != nil && j.view.Failed == "" {
		j.view.Failed = shop.SentenceIn(err, style)
	}
	if err != nil || j.view.Files == 0 {
		_ = j.file.Close()
		j.file = nil
		return
	}
	j.size = size
	j.view.Size, j.view.Ready = sizeSaid(size), true
}

// read is the zip and its size, to be released after; nil when there is none.
func (j *job) read() (file io.ReaderAt, size int64, release func()) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if !j.view.Ready || j.dropped {
		return nil, 0, nil
	}
	j.readers++
	return j.file.File, j.size, func() {
		j.mu.Lock()
		defer j.mu.Unlock()
		j.readers--
		j.closeUnread()
	}
}

// drop gives the zip up once nobody reads it.
func (j *job) drop() {
	j.stop()
	<-j.ended
	j.mu.Lock()
	defer j.mu.Unlock()
	j.dropped = true
	j.closeUnread()
}

func (j *job) closeUnread() {
	if j.dropped && j.readers == 0 && j.file != nil {
		_ = j.file.Close()
		j.file = nil
	}
}

func (js *jobs) find(id string) *job {
	js.mu.Lock()
	defer js.mu.Unlock()
	for _, j := range js.kept {
		if j.id == id {
			return j
		}
	}
	return nil
}

func (js *jobs) forget(j *job) {
	js.mu.Lock()
	js.kept = slices.DeleteFunc(js.kept, func(k *job) bool { return k == j })
	js.mu.Unlock()
	j.drop()
}

// list is how far each job is, the newest first.
func (js *jobs) list() []jobView {
	js.mu.Lock()
	defer js.mu.Unlock()
	var out []jobView
	for _, j := range slices.Backward(js.kept) {
		out = append(out, j.now())
	}
	return out
}

func sizeSaid(n int64) unit.Phrase {
	if n < 1<<20 {
		return unit.Say("%d KB", (n+1023)/1024)
	}
	return unit.Say("%.1f MB", float64(n)/(1<<20))
}
