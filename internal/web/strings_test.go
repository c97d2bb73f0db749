package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"fairset/unit"
)

func TestStringsSayWhatTheyPullAndWantOfTheSaddle(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	p := b.get(path+"/strings").want(http.StatusOK, "How hard they pull", "together", "Set the saddle line back", "behind the scale length", "How true every note is", "Drop D", "Capo at fret 2")
	// source: E4 of 0.012 in plain steel on 25.4 in pulls 103.6 N (the reference's worked value); on 648 mm the pull
	// goes with the square of the length: 103.617 × (648/645.16)² = 104.53
	p.want(http.StatusOK, "104.5 N", ".012")
	for _, f := range p.faults() {
		t.Error(f)
	}
}

func TestASliderMovedSaysAgainstWhat(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	page := b.get(path + "/strings")
	slider := page.slider("setback")
	now := attr(slider, "value")
	b.get(path + "/strings?setback=" + now).want(http.StatusOK).lacks("against")
	far := attr(slider, "max")
	p := b.get(path+"/strings?setback="+far).want(http.StatusOK, "as designed", "flat on average", "nearer the nut")
	if got := attr(p.slider("setback"), "value"); got != far {
		t.Errorf("the slider was sent at %s and stands at %s", far, got)
	}
	// The part by itself says the same as the page, in one shape.
	part := b.get(path+"/strings/map?shape=wide&setback="+far).want(http.StatusOK, "as designed", "flat on average")
	if n := part.count(atom.Table); n != 1 {
		t.Errorf("the part holds %d tables, want the one of the shape that is shown", n)
	}
	if n := b.get(path + "/strings/map?setback=" + far).count(atom.Table); n != 2 {
		t.Errorf("with no shape named there are %d tables, want both", n)
	}
	for _, bad := range []string{"1e9", "-40", "NaN", "two", "Inf"} {
		b.get(path+"/strings/map?setback="+bad).want(http.StatusUnprocessableEntity, "saddle line behind the scale length", "mm")
	}
	if after := b.get(path + "/strings").slider("setback"); attr(after, "value") != now {
		t.Error("a slider's move was saved")
	}
}

// The same saddle moved back by 1 mm lowers fret 12 by 1200/ln 2 × 1 mm / 648 mm = 2.67 cents on an ideal
// string; a stiff one stays within a tenth. source: exact calculus, the reference's ideal-string slope.
func TestTheMapFollowsTheSaddle(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	at := func(q string) float64 { return b.get(path+"/strings/map?shape=wide"+q).note(t, 12, 6) }
	s := b.get(path + "/strings").slider("setback")
	now := number(t, attr(s, "value"))
	before, after := at("&setback="+decimal(now)), at("&setback="+decimal(now+1))
	if d := before - after; d < 2.67-0.25 || d > 2.67+0.25 { // the figures shown are rounded to a tenth, twice
		t.Errorf("1 mm of saddle moves fret 12 by %.2f cents, want 2.67", d)
	}
	if higher := at("&treble=3.4"); higher <= before {
		t.Errorf("fret 12 of the treble string goes from %.1f to %.1f cents with a higher action, want sharper", before, higher)
	}
}

func TestAnotherSetAndTuningIsSavedFromTheStringsPage(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	at := path + "/strings"
	form := b.get(at).form(at)
	form.Set("tuning", "drop-d")
	form.Set("a4", "432")
	b.follow(b.post(at, form)).want(http.StatusOK, "Saved.", "D2").lacks("E2 ,")
	again := b.get(at).form(at)
	if again.Get("tuning") != "drop-d" || again.Get("a4") != "432" {
		t.Errorf("the form holds tuning %q, A4 %q", again.Get("tuning"), again.Get("a4"))
	}
	b.follow(b.post(at, again)).want(http.StatusOK, "Nothing was changed")
	again.Set("tuning", "")
	b.follow(b.post(at, again)).want(http.StatusOK, "Saved.", "E2")

	bad := b.get(at).form(at)
	bad.Set("a4", "4320")
	p := b.post(at, bad).want(http.StatusUnprocessableEntity, "Nothing was saved", "A4", "380")
	if got := p.form(at).Get("a4"); got != "4320" {
		t.Errorf("what was typed is shown as %q", got)
	}
	for _, f := range p.faults() {
		t.Error(f)
	}
}

func TestTwoBenchesAtTheStrings(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	at := path + "/strings"
	mine := b.get(at).form(at)
	other := b.beside("bench 4")
	theirs := other.get(at).form(at)
	theirs.Set("tuning", "drop-d")
	other.follow(other.post(at, theirs)).want(http.StatusOK, "Saved.")
	mine.Set("a4", "442")
	p := b.post(at, mine).want(http.StatusConflict, "another bench was here meanwhile", "bench 4", "Save on top")
	if got := p.form(at).Get("a4"); got != "442" {
		t.Errorf("what was typed is shown as %q", got)
	}
}

func TestTheBoardIsLaidOut(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	// source: 648 × (1 - 2^(-1/12)) = 36.370; 648/2 = 324
	p := b.get(path+"/board").want(http.StatusOK, "Laid out", "36.4 mm", "324.0 mm", "The nut's slots", "Where it would buzz")
	for _, f := range p.faults() {
		t.Error(f)
	}
	pull := p.slider("pull")
	b.get(path+"/board/clear?pull="+attr(pull, "max")).want(http.StatusOK, "buzz", "reach")
	b.get(path+"/board/clear?pull="+attr(pull, "min")).want(http.StatusOK, "nothing buzzes")
	b.get(path+"/board/clear?way=sideways").want(http.StatusUnprocessableEntity, "sideways")
	b.get(path+"/board/clear?pull=900").want(http.StatusUnprocessableEntity, "pulled aside by")
}

func TestARepairHasNoStringsPage(t *testing.T) {
	b := newDemo(t)
	all, err := b.shop.Guitars(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, v := range all {
		if v.Guitar.Start != "readings" {
			continue
		}
		n++
		for _, at := range []string{"/strings", "/strings/map", "/board", "/board/clear", "/setup"} {
			b.get("/guitar/"+v.Guitar.ID+at).want(http.StatusNotFound, "repair")
		}
		b.get("/guitar/" + v.Guitar.ID).lacks("Strings History")
	}
	if n == 0 {
		t.Fatal("no repair in the made-up shop")
	}
}

// Every page of strings and board is sound, in each way of writing lengths, for every guitar and every
// starting design.
func TestStringsPagesAreSound(t *testing.T) {
	b := newDemo(t)
	for _, key := range []string{"steel-14", "steel-12", "nylon-12", "small-four", "baritone-14"} {
		if _, err := b.shop.NewFromDesign(context.Background(), "New "+key, key, nil, unit.Millimetre); err != nil {
			t.Fatal(err)
		}
	}
	all, err := b.shop.Guitars(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	known := 0
	for _, style := range unit.Styles() {
		b.units(style)
		for _, v := range all {
			if v.Guitar.Start == "readings" {
				continue
			}
			for _, at := range []string{"/strings", "/board", "/setup", "/design"} {
				p := b.get("/guitar/"+v.Guitar.ID+at).want(http.StatusOK, v.Guitar.Name).lacks("NaN", "%!", "Inf")
				for _, f := range p.faults() {
					t.Errorf("%s%s in %s: %s", v.Guitar.Name, at, style, f)
				}
				if strings.Contains(p.words(), "How true every note is") {
					known++
				}
			}
		}
	}
	if known < 5*len(unit.Styles()) {
		t.Errorf("only %d pages could work out the saddle", known)
	}
}

// A slider's answer leaves the server in a small part of the 50 ms that the hand may wait.
func TestASliderIsAnsweredQuickly(t *testing.T) {
	b, path := onBench(t, "Wheatear")
	const most = 30 * time.Millisecond
	best := time.Hour
	for i := range 12 {
		q := path + "/strings/map?shape=wide&bass=" + decimal(2+float64(i)*0.05)
		r := httptest.NewRequest("GET", q, nil)
		began := time.Now()
		b.do(r).want(http.StatusOK)
		best = min(best, time.Since(began))
	}
	t.Logf("a move of a slider is answered in %v at best, parsing of the answer included", best)
	if best > most {
		t.Errorf("a move of a slider is answered in %v at best, want at most %v", best, most)
	}
}

// slider finds a range input by its name.
func (p *page) slider(name string) *html.Node {
	p.t.Helper()
	var out *html.Node
	walk(p.doc, func(n *html.Node) {
		if n.DataAtom == atom.Input && attr(n, "type") == "range" && attr(n, "name") == name {
			out = n
		}
	})
	if out == nil {
		p.t.Fatalf("no slider %q: %s", name, p.words())
	}
	return out
}

// note reads the map's table: the cents at a fret of a string, from 1 at the bass.
func (p *page) note(t *testing.T, fret, str int) float64 {
	t.Helper()
	var cell string
	walk(p.doc, func(n *html.Node) {
		if n.DataAtom != atom.Tr || n.FirstChild == nil || strings.TrimSpace(text(n.FirstChild)) != decimal(float64(fret)) {
			return
		}
		var cells []string
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			if c.DataAtom == atom.Td {
				cells = append(cells, strings.TrimSpace(text(c)))
			}
		}
		if str <= len(cells) {
			cell = cells[str-1]
		}
	})
	return number(t, cell)
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q is no number", s)
	}
	return v
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
