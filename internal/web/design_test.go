package web

import "testing"

// A list of several lines comes back from a browser with its line breaks in pairs; that is no change.
func TestLineBreaksAreNoChange(t *testing.T) {
	if got := filled([]string{" a: none\r\nb: none\r\n"}); len(got) != 1 || got[0] != "a: none\nb: none" {
		t.Errorf("got %q", got)
	}
}
