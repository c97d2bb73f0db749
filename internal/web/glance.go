package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"fairset/craft/class"
	"fairset/craft/guitar"
	"fairset/internal/access"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/printing"
	"fairset/unit"
)

// glancePage is the class at a glance. Part is its part that is renewed by itself.
type glancePage struct {
	layout
	class.Glance
	Guitars, Ended, Held unit.Phrase // how many there are, are finished, are stuck
	Picked               bool
	Owners               []option // to pick by; none where nobody signs in
	Steps                []option
	Query                string // the pick, to come back to: "?owner=…&step=…"
	Watch                string // address that tells of changes
	At                   string // time of this look
	Benches              []glanceGroup
	Lesson               []lesson
	Print                []printNext
	Pick                 shop.Pick
}

type glanceGroup struct {
	class.Group
	Cards []glanceCard
}

type glanceCard struct {
	class.Card
	Changed string
}

// printNext is the sheets a step is worked from, for every guitar that waits there.
type printNext struct {
	Step, Sheets string
	Name         unit.Text
	Guitars      unit.Phrase // how many
}

// lesson is what one step takes next time.
type lesson struct {
	class.Need
	Holes   []holeLine
	Items   []itemLine
	Lacking string // the guitars whose holes are not worked out
	UsedUp  string // consumables
	Kit     string // tools
}

type itemLine struct{ Name, Quantity string }

type holeLine struct{ What, Drill, Stop, Count string }

func (in *request) pick() shop.Pick {
	q := in.URL.Query()
	return shop.Pick{Owner: q.Get("owner"), Step: q.Get("step")}
}

func pickQuery(p shop.Pick) string {
	q := url.Values{}
	if p.Owner != "" {
		q.Set("owner", p.Owner)
	}
	if p.Step != "" {
		q.Set("step", p.Step)
	}
	if len(q) == 0 {
		return ""
	}
	return "?" + q.Encode()
}

// glance serves GET /class; the query may pick an owner and a step.
func glance(in *request) error {
	mark, err := in.srv.shop.ClassMark(in.Context()) // before the guitars are read, so that no change falls between
	if err != nil {
		return err
	}
	p := in.pick()
	g, err := in.srv.shop.Glance(in.Context(), p, 0)
	if err != nil {
		return err
	}
	d := glancePage{layout: in.layout("The class"), Glance: g, Pick: p, Picked: p != shop.Pick{}, Query: pickQuery(p), At: in.clock().Format("15:04"),
		Guitars: unit.Plural(g.Count, "%d guitar", "%d guitars"), Ended: unit.Plural(g.Finished, "%d finished", "%d finished"), Held: held(g.Stuck),
		Watch: "/class/events?since=" + url.QueryEscape(mark)}
	for _, group := range g.Groups {
		b := glanceGroup{Group: group}
		for _, c := range group.Cards {
			b.Cards = append(b.Cards, glanceCard{c, in.when(c.Last)})
		}
		d.Benches = append(d.Benches, b)
		sheets := printing.ForStep(group.Step)
		n := printNext{Step: stepKey(group.Step), Name: group.Name, Guitars: unit.Plural(len(group.Cards), "%d guitar", "%d guitars")}
		for i, e := range sheets {
			if i > 0 {
				n.Sheets += ", "
			}
			n.Sheets += in.say(e.Title)
		}
		if len(sheets) > 0 {
			d.Print = append(d.Print, n)
		}
	}
	for _, n := range g.Needs {
		d.Lesson = append(d.Lesson, in.lesson(n))
	}
	if in.Header.Get("Fairset-Part") == "yes" {
		return in.render(http.StatusOK, "glance_part", d)
	}
	if d.Owners, err = in.ownerOptions(p.Owner); err != nil {
		return err
	}
	d.Steps = append(d.Steps, option{"", in.tell("every step"), p.Step == ""})
	for _, s := range guitar.Guides() {
		if s.Step != guitar.StepDesign && s.Step != guitar.StepShim && s.Step != guitar.StepNote {
			d.Steps = append(d.Steps, option{string(s.Step), in.say(s.Name), p.Step == string(s.Step)})
		}
	}
	d.Steps = append(d.Steps, option{"finished", in.tell("Finished‖guitars"), p.Step == "finished"})
	return in.render(http.StatusOK, "glance", d)
}

// held says how many are stuck.
func held(n int) unit.Phrase { return unit.Plural(n, "%d stuck", "%d stuck") }

func stepKey(s guitar.Step) string {
	if s == "" {
		return "finished"
	}
	return string(s)
}

// ownerOptions are whose guitars can be picked, in a shared shop.
func (in *request) ownerOptions(chosen string) ([]option, error) {
	if in.srv.share == nil {
		return nil, nil
	}
	all, err := in.srv.share.Door.People.Accounts(in.Context())
	if err != nil {
		return nil, err
	}
	out := []option{{"", in.tell("everybody’s"), chosen == ""}}
	for _, a := range all {
		if a.Role == store.Bench {
			out = append(out, option{a.ID, a.Name, chosen == a.ID})
		}
	}
	return append(out, option{shop.Teachers, in.tell("the teachers’"), chosen == shop.Teachers}), nil
}

func (in *request) lesson(n class.Need) lesson {
	style := in.prefs.Units
	l := lesson{Need: n, Lacking: strings.Join(n.Unsized, ", "), UsedUp: strings.Join(n.Consumables.In(style), "; ")}
	for i, t := range n.Tools {
		if i > 0 {
			l.Kit += "; "
		}
		l.Kit += in.say(t)
	}
	for _, i := range n.Hardware {
		l.Items = append(l.Items, itemLine{in.say(i.Name), i.Quantity(style)})
	}
	for _, h := range n.Holes {
		stop := in.tell("through")
		if h.Depth > 0 {
			stop = in.tell("stop at %v from %v", h.Depth, h.From)
		}
		what := unit.Text("%v, neck")
		if h.Part == "body" {
			what = "%v, body"
		}
		l.Holes = append(l.Holes, holeLine{in.tell(what, h.What), h.Drill.Said() + ", " + h.Drill.Diameter.Fine(style), stop,
			in.tell("%d on %v", h.Count, unit.Plural(len(h.Guitars), "%d guitar", "%d guitars"))})
	}
	return l
}

func (in *request) clock() time.Time {
	if in.srv.shop.Now != nil {
		return in.srv.shop.Now().Local()
	}
	return time.Now()
}

// glancePrint serves POST /class/print: it begins to print, of each guitar that is picked, the sheets of the step it
// waits at.
func glancePrint(in *request) error {
	if err := in.ParseForm(); err != nil {
		return err
	}
	ms, err := in.srv.shop.Class(in.Context(), shop.Pick{Owner: in.PostForm.Get("owner"), Step: in.PostForm.Get("step")})
	if err != nil {
		return err
	}
	var ids []string
	for _, m := range ms {
		if len(printing.ForStep(m.Bench.Waiting)) > 0 {
			ids = append(ids, m.Guitar.ID)
		}
	}
	if len(ids) == 0 {
		return refuse(http.StatusUnprocessableEntity, "No guitar waits there any more, so there is nothing to print. Look at the class again.")
	}
	p := in.paper()
	j, err := in.srv.jobs.start(in.who, in.srv.shop, in.srv.log, ids, func(v shop.View) printing.Job {
		return printing.Job{Entries: printing.ForStep(v.Bench.Waiting), Setup: p.Setup, Format: printing.PDF, Lenient: true}
	}, in.prefs.Units, p.Options)
	if errors.Is(err, errBusy) {
		return refuse(http.StatusServiceUnavailable, "Two prints are under way already. Wait until one is done, or stop one.")
	}
	if err != nil {
		return err
	}
	http.Redirect(in.w, in.Request, j.url(), http.StatusSeeOther)
	return nil
}

const (
	streamsMost = 60                     // pages that are told of changes at once
	streamsEach = 20                     // of them from one address
	streamLife  = 10 * time.Minute       // after which a page asks again, and shows again who it is
	streamBeat  = 20 * time.Second       // between signs of life
	streamRest  = 250 * time.Millisecond // changes that follow each other closely are told once
	streamWait  = 10 * time.Second       // for one page to take what it is told
)

// streams are the pages that are told of changes, by the address they are shown at.
type streams struct {
	mu  sync.Mutex
	by  map[string]int
	all int
}

// begin reports whether one more may be told.
func (s *streams) begin(from string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all >= streamsMost || s.by[from] >= streamsEach {
		return false
	}
	if s.by == nil {
		s.by = map[string]int{}
	}
	s.by[from]++
	s.all++
	return true
}

func (s *streams) end(from string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all--
	if s.by[from]--; s.by[from] == 0 {
		delete(s.by, from)
	}
}

// glanceEvents serves GET /class/events: server-sent events, one for each change of the class. An event carries the mark
// of the class as its id; a page that comes back with one (Last-Event-ID, or since in the address) is told at once when
// the class has another mark by now. What changed is not said: the page asks for itself again, under its own rule.
func glanceEvents(in *request) error {
	from := access.Place(in.Request)
	if !in.srv.streams.begin(from) {
		in.w.Header().Set("Retry-After", "30")
		return refuse(http.StatusServiceUnavailable, "Too many pages are open that are kept up to date. This one is still right when it is opened again.")
	}
	defer in.srv.streams.end(from)
	ctx := in.Context()
	changes, err := in.srv.shop.Changes(ctx)
	if err != nil {
		return err
	}
	control := http.NewResponseController(in.w)
	_ = control.SetReadDeadline(time.Time{}) // nothing more is read; a server without deadlines has none to lift
	h := in.w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no") // a proxy must not hold it back
	in.w.WriteHeader(http.StatusOK)
	send := func(format string, args ...any) bool {
		_ = control.SetWriteDeadline(time.Now().Add(streamWait))
		if _, err := fmt.Fprintf(in.w, format, args...); err != nil {
			return false
		}
		return control.Flush() == nil
	}
	last := in.Header.Get("Last-Event-ID")
	if last == "" {
		last = in.URL.Query().Get("since")
	}
	tell := func(whatever bool) bool {
		mark, err := in.srv.shop.ClassMark(ctx)
		if err != nil {
			return false
		}
		if mark == last && !whatever {
			return true
		}
		last = mark
		return send("id: %s\nevent: change\ndata: class\n\n", mark)
	}
	if !send("retry: 2000\n\n") || !tell(false) {
		return nil
	}
	end, beat := time.NewTimer(streamLife), time.NewTicker(streamBeat)
	defer end.Stop()
	defer beat.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-in.srv.jobs.ctx.Done():
			return nil
		case <-end.C:
			return nil
		case <-beat.C:
			if !send(": still here\n\n") {
				return nil
			}
		case c, ok := <-changes:
			if !ok {
				return nil
			}
			whatever := c.Everything()
			rest := time.NewTimer(streamRest)
			for waiting := true; waiting; {
				select {
				case c, open := <-changes:
					whatever = whatever || open && c.Everything()
					waiting = open
				case <-rest.C:
					waiting = false
				case <-ctx.Done():
					waiting = false
				}
			}
			rest.Stop()
			if !tell(whatever) {
				return nil
			}
		}
	}
}
