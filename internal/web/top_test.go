package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"fairset/craft/guitar"
)

// A guitar's top from page to design: the page at once, the figures when asked for, a brace tried and kept, the target that goes by the rise, notes of the
// glued top and what they say.
func TestTopPage(t *testing.T) {
	b := newDemo(t)
	v := b.guitar("Dunlin")
	path := "/guitar/" + v.Guitar.ID + "/top"
	p := b.get(path).want(http.StatusOK, "Move a brace", "being worked out", "Tap tones of the glued top").lacks("In numbers")
	if faults := p.faults(); len(faults) > 0 {
		t.Errorf("%v", faults)
	}

	b.get(path+"?whole=yes").want(http.StatusOK, "The strings tip the bridge by", "saddle rises by", "stiffness for each 100 g of it", "How it rings", "top moving as one", "air in the soundhole", "How hard the braces work",
		"The target still goes by the typed rise")
	b.get(path).want(http.StatusOK, "In numbers") // kept by now

	// The script's way: progress, then four parts; without the modes for a quick look.
	q := "?brace=1&was=1&w=7"
	got := b.get(path + "/try" + q)
	parts := strings.Split(got.text, "---\n")
	if got.status != http.StatusOK || len(parts) != 5 || !strings.HasPrefix(parts[0], "0.00\n") || !strings.Contains(parts[2], "moved, the strings") || !strings.Contains(parts[4], "How it rings") {
		t.Errorf("status %d, %d parts: %.200s", got.status, len(parts), got.text)
	}
	if parts := strings.Split(b.get(path+"/try"+q+"&quick=yes").text, "---\n"); len(parts) != 4 {
		t.Errorf("a quick look comes in %d parts", len(parts))
	}
	b.get(path+"/try?brace=1&was=1&w=700").want(http.StatusOK, "width")
	b.get(path+"/try?brace=1&was=1&fx=nonsense").want(http.StatusOK, "must be a number of millimetres")
	b.get(path+"?brace=99").want(http.StatusOK, "Move a brace")
	b.get(path+"?other=nobody").want(http.StatusOK, "No guitar here is called")

	// Tried beside as it is, kept, and undone like any entry.
	p = b.get(path+q).want(http.StatusOK, "As it is", "Tried", "Keep it in the design")
	form := url.Values{"brace": {"1"}, "was": {"1"}, "w": {"7"}, "do": {"keep"}, "revision": {p.form(path).Get("revision")}}
	b.follow(b.post(path, form)).want(http.StatusOK, "is now kept in the design")
	if list := b.guitar("Dunlin").Bench.Design.Choice("brace_list"); !strings.Contains(list, "wide 7") {
		t.Errorf("the design's braces: %q", list)
	}
	b.follow(b.post(path, form)).want(http.StatusOK, "Another bench changed this guitar meanwhile")
	rev := b.get(path).form(path).Get("revision")
	b.follow(b.post(path, url.Values{"brace": {"1"}, "was": {"1"}, "do": {"keep"}, "revision": {rev}})).want(http.StatusOK, "Nothing was moved")

	before := b.guitar("Dunlin").Bench.Aim.GapOnFrets
	b.follow(b.post(path, url.Values{"revision": {rev}, "do": {"top"}})).want(http.StatusOK, "now goes by the rise worked out here", "Go by the typed rise instead")
	now := b.guitar("Dunlin")
	if now.Bench.Design.Choice("top_rise_from") != guitar.FromTop || (now.Bench.Aim.GapOnFrets-before).Abs() < 1e-6 {
		t.Errorf("the target went from %v to %v", before, now.Bench.Aim.GapOnFrets)
	}
	start := time.Now()
	for range 5 { // a plate takes seconds: pages must not solve it again
		b.get("/guitar/"+v.Guitar.ID).want(http.StatusOK, "Dunlin")
	}
	t.Logf("five bench pages with the top worked out took %v", time.Since(start))
	rev = b.get(path).form(path).Get("revision")
	b.post(path, url.Values{"revision": {rev}, "do": {"something"}}).want(http.StatusUnprocessableEntity, "Say what to keep")

	taps := b.get(path).form(path + "/taps")
	taps.Set("tap_mode1", "12")
	b.post(path+"/taps", taps).want(http.StatusUnprocessableEntity, "note of mode 1")
	taps.Set("tap_mode1", "190")
	p = b.follow(b.post(path+"/taps", taps)).want(http.StatusOK, "The notes are kept", "Heard and computed", "190 Hz", "top along the grain", "With few notes", "Use this wood in the design")
	var use url.Values
	if use = p.form(path + "/taps"); use.Get("top_along") == "" {
		t.Fatalf("nothing to use: %v", use)
	}
	use.Set("do", "wood")
	b.follow(b.post(path+"/taps", use)).want(http.StatusOK, "as fitted to its notes")
	if !b.guitar("Dunlin").Bench.Design.Has("top_along") {
		t.Error("the wood was not put into the design")
	}
}

// A design without what a top is worked out from says what to fill in.
func TestTopPageSaysWhatIsMissing(t *testing.T) {
	b := newDemo(t)
	path := "/guitar/" + b.guitar("Dunlin").Guitar.ID
	form := b.get(path + "/design").form(path + "/design")
	form.Set("top_wood", "")
	b.follow(b.post(path+"/design", form)).want(http.StatusOK, "Saved")
	b.get(path+"/top?whole=yes").want(http.StatusOK, "cannot be worked out yet", "top wood")
	b.get(path+"/top/try").want(http.StatusOK, "top wood")
}
