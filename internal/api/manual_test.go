package api

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestManual sends every request of the manual, from top to bottom, and holds each exchange that succeeds
// against the served document.
func TestManual(t *testing.T) {
	raw, err := os.ReadFile("../../docs/api.md")
	if err != nil {
		t.Fatal(err)
	}
	held := newBench(t).held()
	bare := &bench{t: t, h: held.h}
	id, sent := "", 0
	for _, block := range regexp.MustCompile("(?ms)^```http\n(\\S+) "+regexp.QuoteMeta(Prefix)+"(\\S+)\n(.*?)→ ([0-9]+)\n```").FindAllStringSubmatch(string(raw), -1) {
		method, path, body := block[1], strings.Replace(block[2], "{id}", id, 1), block[3]
		status, err := strconv.Atoi(block[4])
		if err != nil {
			t.Fatal(err)
		}
		b := held
		if status == 422 {
			b = bare // some of these are requests the document forbids
		}
		var send any
		if body != "" {
			send = body
		}
		out := b.ask(method, path, send, status)
		if g := into[Summary](b, out); path == "/guitars" && id == "" {
			id = g.ID
		}
		sent++
	}
	if sent != strings.Count(string(raw), "```http") || sent < 8 {
		t.Errorf("%d requests sent of %d in the manual", sent, strings.Count(string(raw), "```http"))
	}
	for _, r := range documented(t, bare.document()) {
		if name, ok := strings.CutPrefix(r, "POST "+Prefix+"/figure/"); ok && name != "" {
			continue // the manual names these together
		}
		if !strings.Contains(string(raw), "`"+r+"`") {
			t.Errorf("the manual does not name %s", r)
		}
	}
}
