package cli

import (
	"context"
	"errors"
	"flag"
	"image"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"fairset/internal/store/postgres/pgtest"
)

// spoken runs the tests in the language that they compare with, whatever the system's.
type spoken struct{ *testing.M }

func (m spoken) Run() int {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG", "FAIRSET_LANGUAGE"} {
		os.Unsetenv(name)
	}
	return m.M.Run()
}

func TestMain(m *testing.M) {
	testscript.Main(spoken{m}, map[string]func(){
		"fairset": func() {
			os.Exit(Main(context.Background(), os.Args[1:], Streams{os.Stdin, os.Stdout, os.Stderr}))
		},
	})
}

// TestScripts runs the command line as a person would, each script in a folder and a shop of its own.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("FAIRSET_DB", filepath.Join(e.WorkDir, "shop.db"))
			e.Setenv("FAIRSET_UNITS", "mm")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "picture": picture, "firstword": firstword},
	})
}

// TestDatabaseScripts does so with two empty databases at hand, in PG and PG2.
func TestDatabaseScripts(t *testing.T) {
	pgtest.Schema(t) // or there is nothing to try it on
	testscript.Run(t, testscript.Params{
		Dir: "testdata/database",
		Setup: func(e *testscript.Env) error {
			e.Setenv("FAIRSET_DB", filepath.Join(e.WorkDir, "shop.db"))
			e.Setenv("FAIRSET_UNITS", "mm")
			e.Setenv("PG", pgtest.Schema(t))
			e.Setenv("PG2", pgtest.Schema(t))
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
	})
}

// picture FILE WIDTH HEIGHT writes a JPEG.
func picture(ts *testscript.TestScript, _ bool, args []string) {
	w, err1 := strconv.Atoi(args[1])
	h, err2 := strconv.Atoi(args[2])
	ts.Check(errors.Join(err1, err2))
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(jpeg.Encode(f, image.NewGray(image.Rect(0, 0, w, h)), nil))
	ts.Check(f.Close())
}

// firstword NAME keeps the first word that was printed last in the variable NAME.
func firstword(ts *testscript.TestScript, _ bool, args []string) {
	word, _, _ := strings.Cut(strings.TrimSpace(ts.ReadFile("stdout")), " ")
	ts.Setenv(args[0], word)
}

// exits CODE COMMAND... runs a command that must end with this exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND...")
	}
	err := ts.Exec(args[1], args[2:]...)
	got := "0"
	if e, ok := err.(*exec.ExitError); ok {
		got = regexp.MustCompile(`[0-9]+`).FindString(e.Error())
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != args[0] {
		ts.Fatalf("exit code %s, want %s", got, args[0])
	}
}

var update = flag.Bool("update", false, "write into the manual what its commands print, where it says otherwise")

// TestManual runs every command of the manual, in one folder from top to bottom, and compares what it
// prints with what the manual says it prints. A line "..." in the manual stands for any lines.
// The output in the manual is our own: this shows that the manual is true, not that a figure is right.
func TestManual(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the manual's lines are for a POSIX shell")
	}
	raw, err := os.ReadFile("../../docs/cli.md")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	ran := 0
	manual := string(raw)
	for _, block := range regexp.MustCompile("(?ms)^```console\n(.*?)^```").FindAllStringSubmatch(string(raw), -1) {
		for _, part := range strings.Split("\n"+block[1], "\n$ ")[1:] {
			ran++
			command, want, _ := strings.Cut(part, "\n")
			for strings.HasSuffix(command, "\\") {
				more, rest, _ := strings.Cut(want, "\n")
				command, want = command+"\n"+more, rest
			}
			cmd := exec.Command("sh", "-c", command)
			cmd.Dir = dir
			cmd.Env = append(os.Environ(), "FAIRSET_DB="+filepath.Join(dir, "shop.db"), "FAIRSET_UNITS=mm")
			out, err := cmd.CombinedOutput()
			if err != nil && !strings.Contains(want, "fairset: error") && !strings.Contains(want, `{"error"`) {
				t.Fatalf("$ %s\n%v\n%s", command, err, out)
			}
			if !like(string(out), want) {
				if *update {
					manual = strings.Replace(manual, "$ "+command+"\n"+want, "$ "+command+"\n"+varying.ReplaceAllString(string(out), "$1..."), 1)
					continue
				}
				t.Errorf("$ %s\nprinted:\n%s\nthe manual says:\n%s", command, out, want)
			}
		}
	}
	if ran < 15 {
		t.Errorf("only %d commands in the manual", ran)
	}
	if manual != string(raw) {
		if err := os.WriteFile("../../docs/cli.md", []byte(manual), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// varying is what differs from run to run: ids and times.
var varying = regexp.MustCompile(`(id )[346789bcdfghjkmnpqrtvwx]{6}\b|()[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}`)

// like compares line by line; "..." stands for any lines, and within a line for any text.
func like(got, want string) bool {
	lines := strings.Split(strings.TrimRight(want, "\n"), "\n")
	var re strings.Builder
	re.WriteString(`\A`)
	for _, l := range lines {
		if l == "..." {
			re.WriteString(`(?:[^\n]*\n)*?`)
			continue
		}
		for j, p := range strings.Split(l, "...") {
			if j > 0 {
				re.WriteString(`[^\n]*`)
			}
			re.WriteString(regexp.QuoteMeta(strings.TrimRight(p, " ")))
		}
		re.WriteString(` *\n`)
	}
	re.WriteString(`\z`)
	return regexp.MustCompile(re.String()).MatchString(strings.TrimRight(got, "\n")+"\n") || strings.TrimSpace(want) == "" && strings.TrimSpace(got) == ""
}
