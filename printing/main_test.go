package printing_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain draws the same guitars at every run, so that one commit's checks say the same twice: how words lie on
// paper has rare extremes. -rapid.seed=N draws others; -rapid.checks=N draws more.
func TestMain(m *testing.M) {
	flag.Parse()
	if f := flag.Lookup("rapid.seed"); f != nil && f.Value.String() == "0" {
		if err := f.Value.Set("20260302"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
