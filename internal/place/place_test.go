package place_test

import (
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"fairset/internal/place"
	"fairset/internal/store"
)

func write(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// only fails unless dir holds these files with these texts and nothing else.
func only(t *testing.T, dir string, want map[string]string) {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if w, ok := want[f.Name()]; err != nil || !ok || w != string(text) {
			t.Errorf("%s holds %.40q (%v), want %.40q", f.Name(), text, err, w)
		}
	}
	if len(files) != len(want) {
		t.Errorf("%d files in the folder, want %d: %v", len(files), len(want), files)
	}
}

func TestFilePutsAWholeFileInPlace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.pdf")
	for _, text := range []string{"first", "second, longer", ""} {
		if err := place.File(t.Context(), path, write(text)); err != nil {
			t.Fatal(err)
		}
		only(t, dir, map[string]string{"a.pdf": text})
	}
	if runtime.GOOS == "windows" {
		return
	}
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := place.File(t.Context(), path, write("third")); err != nil {
		t.Fatal(err)
	}
	if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the file's mode is %v, %v; want the one it had", st.Mode(), err)
	}
	// A link stays a link.
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	if err := place.File(t.Context(), link, write("through the link")); err != nil {
		t.Fatal(err)
	}
	only(t, dir, map[string]string{"a.pdf": "through the link"})
}

func TestAFailedWriteLeavesTheOldFile(t *testing.T) {
	fault := errors.New("the drawing cannot be made")
	for name, old := range map[string]bool{"nothing there": false, "an old file": true} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "a.pdf")
			want := map[string]string{}
			if old {
				want["a.pdf"] = "old"
				if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			err := place.File(t.Context(), path, func(w io.Writer) error {
				_, _ = io.WriteString(w, strings.Repeat("half of it ", 20000))
				return fault
			})
			if !errors.Is(err, fault) {
				t.Errorf("error %v, want the writer's own", err)
			}
			only(t, dir, want)
			ctx, stop := context.WithCancel(t.Context())
			err = place.File(ctx, path, func(w io.Writer) error {
				_, err := io.WriteString(w, strings.Repeat("half of it ", 20000))
				stop()
				return err
			})
			if !errors.Is(err, context.Canceled) {
				t.Errorf("stopped in the middle: error %v", err)
			}
			only(t, dir, want)
			if err := place.File(ctx, path, write("new")); !errors.Is(err, context.Canceled) {
				t.Errorf("stopped before: error %v", err)
			}
			only(t, dir, want)
		})
	}
}

func TestRefusals(t *testing.T) {
	dir := t.TempDir()
	for path, kind := range map[string]store.Kind{filepath.Join(dir, "no", "a.pdf"): store.NotFound, dir: store.Invalid} {
		if err := place.File(t.Context(), path, write("x")); store.KindOf(err) != kind {
			t.Errorf("%s: %v of kind %v, want %v", path, err, store.KindOf(err), kind)
		}
	}
	only(t, dir, map[string]string{})
}

func TestScratchLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	f, err := place.Scratch(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(f, "kept for a while"); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(f); err != nil || string(text) != "kept for a while" {
		t.Errorf("read back %q, %v", text, err)
	}
	if runtime.GOOS == "linux" {
		only(t, dir, map[string]string{})
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	only(t, dir, map[string]string{})
}

const victim = "FAIRSET_TEST_VICTIM"

// A program killed in the middle of a file leaves the old one and nothing else.
func TestKilledLeavesNothing(t *testing.T) {
	if path := os.Getenv(victim); path != "" {
		_ = place.File(context.Background(), path, func(w io.Writer) error {
			_, _ = io.WriteString(w, strings.Repeat("half of it ", 20000))
			os.Stdout.WriteString("half\n")
			select {}
		})
		return
	}
	if runtime.GOOS != "linux" {
		t.Skip("only here can a file have no name while it is written")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.pdf")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilledLeavesNothing$")
	cmd.Env = append(os.Environ(), victim+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.ReadFull(out, make([]byte, 5)); err != nil {
		t.Errorf("wait for half of the file: %v", err)
	}
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	only(t, dir, map[string]string{"a.pdf": "old"})
}
