package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairset/internal/store/storetest"
)

// A print that finds the disk full, or is stopped, says so and leaves the old file and nothing else.
func TestAPrintThatFailsLeavesTheOldFile(t *testing.T) {
	plan := filepath.Join(t.TempDir(), "plan.json")
	run(t, "new", "--design", "steel-14", "--out", plan)
	dir, _ := storetest.SmallDisk(t, "48")
	old := filepath.Join(dir, "all.pdf")
	if err := os.WriteFile(old, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	for _, c := range []struct {
		ctx  context.Context
		exit int
		says string
	}{{t.Context(), 6, "no room left on the disk"}, {stopped, 1, ""}} {
		var out, errs bytes.Buffer
		code := Main(c.ctx, []string{"print", plan, "--sheet", "all", "--out", old}, Streams{strings.NewReader(""), &out, &errs})
		if code != c.exit || !strings.Contains(errs.String(), c.says) {
			t.Errorf("exit %d, want %d: %s", code, c.exit, errs.String())
		}
		files, err := os.ReadDir(dir)
		if err != nil || len(files) != 1 {
			t.Errorf("the folder holds %v, %v", files, err)
		}
		if text, err := os.ReadFile(old); err != nil || string(text) != "old" {
			t.Errorf("the old file holds %.20q, %v", text, err)
		}
	}
}
