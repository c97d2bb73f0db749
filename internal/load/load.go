// Package load has many benches work in a served shop at once, over HTTP as phones and scripts do, and then holds
// the shop to account: each bench replays its own log, and what was acknowledged must be there, once.
package load

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// Options say how many work, how long, and how fast.
type Options struct {
	URL      string // of the shop, with a slash at its end
	Benches  int
	For      time.Duration
	Think    time.Duration // mean pause of a bench between two things; drawn evenly from 0 to twice that
	Patience time.Duration // how long a server that does not answer is waited for
	Seed     uint64        // of pauses and of what each bench does next
	Saved    func()        // called after each acknowledged save; may be nil
	Enough   <-chan bool   // closed to end before the time is up; may be nil
}

// Report is what came of it.
type Report struct {
	Saves, Pages      int           // acknowledged; read
	Conflicts         int           // somebody else was first, so it was read again and saved again
	Unsure            int           // no answer came: looked up afterwards
	Kept              int           // of these, found kept
	Took              time.Duration // of the benches' work, the last answers included
	SaveP50, SaveP99  time.Duration // of acknowledged saves
	PageP50, PageP99  time.Duration
	SaveMost          time.Duration
	Trouble           []string // what was lost, doubled, or refused
	TroubleLeftUnsaid int
}

func (r Report) String() string {
	round := func(d time.Duration) time.Duration { return d.Round(100 * time.Microsecond) }
	return fmt.Sprintf("%d saves (p50 %v, p99 %v, most %v) and %d pages (p50 %v, p99 %v) in %v, %.0f saves/s; %d conflicts, %d without an answer of which %d were kept; %d faults",
		r.Saves, round(r.SaveP50), round(r.SaveP99), round(r.SaveMost), r.Pages, round(r.PageP50), round(r.PageP99), r.Took.Round(time.Millisecond),
		float64(r.Saves)/max(r.Took.Seconds(), 1e-9), r.Conflicts, r.Unsure, r.Kept, len(r.Trouble)+r.TroubleLeftUnsaid)
}

// guitar is the part of a reply that is looked at.
type guitar struct {
	ID       string `json:"id"`
	Revision int64  `json:"revision"`
	Log      []struct {
		Seq    int `json:"seq"`
		Values struct {
			Text string `json:"text"`
		} `json:"values"`
	} `json:"log"`
}

// said counts the texts of a log.
func (g guitar) said() map[string]int {
	out := map[string]int{}
	for _, e := range g.Log {
		out[e.Values.Text]++
	}
	return out
}

// bench is one of those who work. Its log is what the shop acknowledged to it.
type bench struct {
	*run
	n      int
	name   string
	rnd    *rand.Rand
	own    guitar
	log    map[string][]string // by guitar id: texts acknowledged, in order
	saves  []time.Duration
	pages  []time.Duration
	report Report
}

type run struct {
	Options
	client *http.Client
	shared []guitar // each written to by many benches
}

// sharedEvery is how many benches write to one guitar together, besides each its own.
const sharedEvery = 20

// maxTrouble bounds how much trouble is told in words.
const maxTrouble = 20

// answer is what came back, or that nothing did.
type answer struct {
	status int
	body   []byte
}

var errNoAnswer = errors.New("no answer")

// ask sends one request. It is not sent again: errNoAnswer leaves open whether it was heard.
func (r *run) ask(ctx context.Context, method, path string, body any) (answer, error) {
	var send io.Reader
	if body != nil {
		raw, err := json.Marshal(body)
		if err != nil {
			return answer{}, err
		}
		send = bytes.NewReader(raw)
	}
	req, err := http.NewRequestWithContext(ctx, method, r.URL+path, send)
	if err != nil {
		return answer{}, err
	}
	// The library would send a lost request again by itself when it may: a body without GetBody it may not.
	req.GetBody = nil
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, err := r.client.Do(req)
	if err != nil {
		return answer{}, fmt.Errorf("%w: %v", errNoAnswer, err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		return answer{}, fmt.Errorf("%w: %v", errNoAnswer, err)
	}
	return answer{resp.StatusCode, raw}, nil
}

// read reads until there is an answer, or patience ends.
func (r *run) read(ctx context.Context, path string) (answer, error) {
	var err error
	for end := time.Now().Add(r.Patience); ; {
		var a answer
		if a, err = r.ask(ctx, http.MethodGet, path, nil); err == nil && a.status < 500 {
			return a, nil
		}
		if err == nil {
			err = fmt.Errorf("GET %s: status %d: %.200s", path, a.status, a.body)
		}
		if ctx.Err() != nil || time.Now().After(end) {
			return answer{}, err
		}
		time.Sleep(20 * time.Millisecond)
	}
}

func (r *run) guitar(ctx context.Context, id string) (g guitar, err error) {
	a, err := r.read(ctx, "api/v1/guitars/"+id)
	if err != nil {
		return g, err
	}
	if a.status != http.StatusOK {
		return g, fmt.Errorf("guitar %s: status %d: %.200s", id, a.status, a.body)
	}
	return g, json.Unmarshal(a.body, &g)
}

// create makes a guitar of this name. When no answer comes it looks whether it is there before it tries again.
func (r *run) create(ctx context.Context, name string) (g guitar, err error) {
	for end := time.Now().Add(r.Patience); ; {
		a, err := r.ask(ctx, http.MethodPost, "api/v1/guitars", map[string]any{"name": name, "design": "steel-14"})
		if err == nil && a.status == http.StatusCreated {
			return g, json.Unmarshal(a.body, &g)
		}
		if err == nil {
			return g, fmt.Errorf("make %s: status %d: %.200s", name, a.status, a.body)
		}
		if ctx.Err() != nil || time.Now().After(end) {
			return g, err
		}
		if there, err := r.read(ctx, "api/v1/guitars/"+strings.ReplaceAll(name, " ", "%20")); err == nil && there.status == http.StatusOK {
			return g, json.Unmarshal(there.body, &g)
		}
	}
}

// Run has the benches work and returns what came of it. An error means that it could not begin.
func Run(ctx context.Context, o Options) (Report, error) {
	if o.Patience == 0 {
		o.Patience = 30 * time.Second
	}
	r := &run{Options: o, client: &http.Client{Timeout: o.Patience, Transport: &http.Transport{MaxIdleConns: 2 * o.Benches, MaxIdleConnsPerHost: 2 * o.Benches}}}
	defer r.client.CloseIdleConnections()
	for n := range (o.Benches + sharedEvery - 1) / sharedEvery {
		g, err := r.create(ctx, fmt.Sprintf("Shared %d", n+1))
		if err != nil {
			return Report{}, err
		}
		r.shared = append(r.shared, g)
	}
	benches := make([]*bench, o.Benches)
	failed := make([]error, o.Benches)
	var making sync.WaitGroup
	at := make(chan int)
	for range min(8, o.Benches) {
		making.Go(func() {
			for n := range at {
				b := &bench{run: r, n: n, name: fmt.Sprintf("bench %d", n+1), rnd: rand.New(rand.NewPCG(o.Seed, uint64(n))), log: map[string][]string{}}
				b.own, failed[n] = r.create(ctx, fmt.Sprintf("Guitar %d", n+1))
				benches[n] = b
			}
		})
	}
	for n := range benches {
		at <- n
	}
	close(at)
	making.Wait()
	if err := errors.Join(failed...); err != nil {
		return Report{}, err
	}
	start := time.Now()
	var working sync.WaitGroup
	for _, b := range benches {
		working.Go(func() { b.work(ctx, start.Add(o.For)) })
	}
	working.Wait()
	took := time.Since(start)
	out := r.verify(ctx, benches)
	out.Took = took
	return out, nil
}

// work goes on until the time is up: mostly its own guitar, now and then one that others write to as well.
func (b *bench) work(ctx context.Context, until time.Time) {
	for n := 0; ctx.Err() == nil; n++ {
		if b.Think > 0 {
			time.Sleep(time.Duration(b.rnd.Int64N(int64(2 * b.Think))))
		}
		select {
		case <-b.Enough:
			return
		default:
		}
		if !time.Now().Before(until) {
			return
		}
		text := fmt.Sprintf("bench %d, save %d", b.n+1, n+1)
		switch k := b.rnd.IntN(10); {
		case k < 5:
			b.own = b.save(ctx, b.own, text)
		case k == 5:
			g, err := b.guitar(ctx, b.shared[b.n/sharedEvery].ID)
			if err != nil {
				b.trouble("%v", err)
				continue
			}
			b.save(ctx, g, text)
		default:
			b.page(ctx, []string{"guitar/" + b.own.ID, "guitar/" + b.own.ID + "/history", "guitar/" + b.own.ID + "/step/note", ""}[b.rnd.IntN(4)])
		}
	}
}

func (b *bench) trouble(text string, args ...any) {
	if len(b.report.Trouble) == maxTrouble {
		b.report.TroubleLeftUnsaid++
		return
	}
	b.report.Trouble = append(b.report.Trouble, b.name+": "+fmt.Sprintf(text, args...))
}

// page reads a page. One that is not answered is read again: a page changes nothing.
func (b *bench) page(ctx context.Context, path string) {
	start := time.Now()
	a, err := b.read(ctx, path)
	switch {
	case err != nil:
		b.trouble("page /%s: %v", path, err)
	case a.status != http.StatusOK:
		b.trouble("page /%s: status %d", path, a.status)
	default:
		b.pages = append(b.pages, time.Since(start))
	}
}

// save saves a text on a guitar until it is acknowledged or found kept, and returns the guitar as it stands then.
func (b *bench) save(ctx context.Context, g guitar, text string) guitar {
	kept := func(now guitar) guitar {
		b.log[now.ID] = append(b.log[now.ID], text)
		b.report.Saves++
		if b.Saved != nil {
			b.Saved()
		}
		return now
	}
	for end := time.Now().Add(b.Patience); ; {
		start := time.Now()
		a, err := b.ask(ctx, http.MethodPost, "api/v1/guitars/"+g.ID+"/entries", map[string]any{"revision": g.Revision, "step": "note", "values": map[string]string{"text": text}, "bench": b.name})
		switch {
		case err == nil && (a.status == http.StatusOK || a.status == http.StatusCreated):
			b.saves = append(b.saves, time.Since(start))
			var now guitar
			if err := json.Unmarshal(a.body, &now); err != nil {
				b.trouble("%q: the reply cannot be read: %v", text, err)
				return g
			}
			return kept(now)
		case err == nil && a.status != http.StatusConflict && a.status != http.StatusServiceUnavailable:
			b.trouble("%q: status %d: %.200s", text, a.status, a.body)
			return g
		case err == nil && a.status == http.StatusConflict:
			b.report.Conflicts++
		case err != nil:
			b.report.Unsure++
		}
		if ctx.Err() != nil || time.Now().After(end) {
			b.trouble("%q: not saved in %v: %v", text, b.Patience, err)
			return g
		}
		now, rerr := b.guitar(ctx, g.ID)
		if rerr != nil {
			b.trouble("%q: %v", text, rerr)
			return g
		}
		g = now
		if g.said()[text] > 0 {
			if err == nil {
				b.trouble("%q was refused and is there", text)
			}
			b.report.Kept++
			return kept(g)
		}
	}
}

// verify replays every bench's log against the shop.
func (r *run) verify(ctx context.Context, benches []*bench) Report {
	var out Report
	var saves, pages []time.Duration
	want := map[string]map[string]bool{} // by guitar: texts that must be there, once
	for _, b := range benches {
		saves, pages = append(saves, b.saves...), append(pages, b.pages...)
		out.Saves += b.report.Saves
		out.Conflicts += b.report.Conflicts
		out.Unsure += b.report.Unsure
		out.Kept += b.report.Kept
		out.Trouble = append(out.Trouble, b.report.Trouble...)
		out.TroubleLeftUnsaid += b.report.TroubleLeftUnsaid
		for id, texts := range b.log {
			if want[id] == nil {
				want[id] = map[string]bool{}
			}
			for _, t := range texts {
				want[id][t] = true
			}
		}
		// A bench's own guitar holds its log in the order it was acknowledged, and nothing else.
		g, err := r.guitar(ctx, b.own.ID)
		if err != nil {
			out.Trouble = append(out.Trouble, err.Error())
			continue
		}
		var there []string
		for _, e := range g.Log {
			there = append(there, e.Values.Text)
		}
		if !slices.Equal(there, b.log[b.own.ID]) {
			out.Trouble = append(out.Trouble, fmt.Sprintf("%s: its guitar holds %d entries in order %.300q; %d were acknowledged: %.300q", b.name, len(there), there, len(b.log[b.own.ID]), b.log[b.own.ID]))
		}
	}
	for _, s := range r.shared {
		g, err := r.guitar(ctx, s.ID)
		if err != nil {
			out.Trouble = append(out.Trouble, err.Error())
			continue
		}
		said := g.said()
		for t := range want[s.ID] {
			if said[t] != 1 {
				out.Trouble = append(out.Trouble, fmt.Sprintf("%q was acknowledged and is there %d times", t, said[t]))
			}
		}
		if len(g.Log) != len(want[s.ID]) {
			out.Trouble = append(out.Trouble, fmt.Sprintf("guitar %s holds %d entries, %d were acknowledged", s.ID, len(g.Log), len(want[s.ID])))
		}
		for i, e := range g.Log {
			if e.Seq != i+1 {
				out.Trouble = append(out.Trouble, fmt.Sprintf("guitar %s: entry %d is numbered %d", s.ID, i+1, e.Seq))
			}
		}
	}
	out.Pages = len(pages)
	out.SaveP50, out.SaveP99 = percentile(saves, 50), percentile(saves, 99)
	out.PageP50, out.PageP99 = percentile(pages, 50), percentile(pages, 99)
	out.SaveMost = percentile(saves, 100)
	return out
}

// percentile is the smallest of the durations that p percent of them do not exceed (nearest rank); 0 of none.
func percentile(ds []time.Duration, p int) time.Duration {
	if len(ds) == 0 {
		return 0
	}
	slices.Sort(ds)
	return ds[max(0, (len(ds)*p+99)/100-1)]
}
