package cli

import (
	"bytes"
	"encoding/json"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/unsaid"
	"fairset/language"
	"fairset/printing"
	"fairset/unit"
)

func TestLanguageIsChosen(t *testing.T) {
	for _, c := range []struct {
		env  map[string]string
		args []string
		want language.Code
	}{
		{nil, nil, language.English},
		{map[string]string{"LANG": "C"}, nil, language.English},
		{map[string]string{"LANG": "de_DE.UTF-8"}, nil, language.German},
		{map[string]string{"LANG": "de_AT@euro"}, nil, language.German},
		{map[string]string{"LANG": "fr_FR.UTF-8"}, nil, language.English},
		// source: POSIX.1-2017, Base Definitions, 8.2: LC_ALL, then LC_MESSAGES, then LANG; one that is set and empty counts as not set.
		{map[string]string{"LANG": "en_GB", "LC_MESSAGES": "de_DE"}, nil, language.German},
		{map[string]string{"LANG": "de_DE", "LC_MESSAGES": "de_DE", "LC_ALL": "C"}, nil, language.English},
		{map[string]string{"LANG": "de_DE", "LC_MESSAGES": "", "LC_ALL": ""}, nil, language.German},
		{map[string]string{"LANG": "de_DE", "LC_ALL": "fr_FR"}, nil, language.English},
		{map[string]string{"LANG": "de_DE", "FAIRSET_LANGUAGE": "en"}, nil, language.English},
		{map[string]string{"FAIRSET_LANGUAGE": "en"}, []string{"list", "--language", "de"}, language.German},
		{map[string]string{"FAIRSET_LANGUAGE": "de"}, []string{"--language=en", "list"}, language.English},
		{nil, []string{"show", "--", "--language=de"}, language.English},
	} {
		a := &app{getenv: func(name string) string { return c.env[name] }}
		if err := a.speak(c.args); err != nil || a.language != c.want {
			t.Errorf("%v %v: %q, %v, want %q", c.env, c.args, a.language, err, c.want)
		}
	}
	for _, c := range []struct {
		env  string
		args []string
	}{{"klingon", nil}, {"", []string{"--language", "tlh"}}, {"", []string{"--language=qps"}}} {
		a := &app{getenv: func(name string) string { return map[string]string{"FAIRSET_LANGUAGE": c.env}[name] }}
		if err := a.speak(c.args); err == nil || !strings.Contains(err.Error(), "choose en, de") {
			t.Errorf("%q %v: %v, want a refusal that names the choices", c.env, c.args, err)
		}
	}
}

// In English every command's usage is what package cobra writes, to the letter.
func TestUsageIsWhatCobraWrites(t *testing.T) {
	none := func(string) string { return "" }
	plain := (&app{getenv: none}).root()
	complete(plain)
	ours := &app{getenv: none}
	said := ours.root()
	ours.translate(said)
	n := 0
	each(plain, func(cmd *cobra.Command) {
		n++
		path := strings.Fields(cmd.CommandPath())[1:]
		other, _, err := said.Find(path)
		if err != nil || other.CommandPath() != cmd.CommandPath() {
			t.Fatalf("%v: %v, %v", path, other.CommandPath(), err)
		}
		if got, want := other.UsageString(), cmd.UsageString(); got != want {
			t.Errorf("%s:\n%s\nwant\n%s", cmd.CommandPath(), got, want)
		}
		if got, want := other.Long, cmd.Long; !strings.HasPrefix(got, want) {
			t.Errorf("%s: %q, want %q", cmd.CommandPath(), got, want)
		}
	})
	if n < 30 {
		t.Errorf("only %d commands", n)
	}
}

func TestWordsAreThoseOfTheCommands(t *testing.T) {
	words := Words()
	for _, w := range []string{"Say the next cut, or enter that it was made", "who enters, such as \"bench 3\"", "Help about any command", "Name every guitar of the shop and what it waits for"} {
		if !slices.Contains(words, w) {
			t.Errorf("%q is missing", w)
		}
	}
	for i, w := range words {
		if strings.TrimSpace(w) == "" || slices.Contains(words[:i], w) || strings.Contains(w, "⟦") {
			t.Errorf("%q stands twice, or says nothing", w)
		}
	}
}

// marking lets in the language that marks its words, which is never offered.
func marking(t *testing.T) {
	old := tongue
	tongue = func(tag string) (language.Code, bool) {
		if tag == string(language.Pseudo) {
			return language.Pseudo, true
		}
		return old(tag)
	}
	t.Cleanup(func() { tongue = old })
}

var (
	// notWords are ids of guitars and photos, names of files, flags, and what stands for an argument.
	notWords = regexp.MustCompile(`[\w-]+\.(png|db|pdf|json|csv)\b|\[flags\]|\b[A-Z]{2,}\b|\b[346789bcdfghjkmnpqrtvwx]{6,12}\b|\b[a-z]+/[\w.-]*|/[\w/.-]{5,}|--?[a-z][-a-z0-9]*`)
	// commandLine is a line to be typed.
	commandLine = regexp.MustCompile(`(?m)^ *fairset (read|cut|show) [^⟧\n]*$`)
)

// codes are what a person types, and so stay: steps, tools, choices.
func codes() []string {
	out := []string{"full", "letter", "tabloid", "side", "fairset", "Heron", "Tern", "Knot", "bench", "json", "svg", "pdf", "dxf", "png", "RMS", "id"}
	for _, g := range guitar.Guides() {
		out = append(out, string(g.Step))
		for _, f := range g.Fields {
			for _, c := range f.Choices {
				out = append(out, strings.Split(c.Key, "-")...)
			}
		}
	}
	for _, e := range printing.List() {
		out = append(out, strings.Split(e.Name, "-")...)
	}
	for _, x := range neckset.Tools() {
		out = append(out, strings.Split(x.Key, "-")...)
	}
	for _, b := range guitar.Bases() {
		out = append(out, strings.Split(b.Key, "-")...)
	}
	return out
}

func saidIn(t *testing.T, what, text string, allow ...string) {
	t.Helper()
	text = notWords.ReplaceAllString(commandLine.ReplaceAllString(text, ""), "")
	words, closed := unsaid.Words(strings.Split(text, "\n"), append(codes(), allow...)...)
	if !closed {
		t.Errorf("%s: a text does not end:\n%s", what, text)
	}
	if len(words) > 0 {
		t.Errorf("%s: %q are said in English:\n%s", what, words, text)
	}
}

// Help of every command: all but the commands themselves, their flags and examples is said in the reader's language.
func TestEveryWordOfHelpIsSaidInTheReadersLanguage(t *testing.T) {
	a := &app{getenv: func(string) string { return "" }, language: language.Pseudo}
	root := a.root()
	a.translate(root)
	each(root, func(cmd *cobra.Command) {
		saidIn(t, cmd.CommandPath(), cmd.Short)
		names := regexp.MustCompile(`\pL+`).FindAllString(cmd.CommandPath()+" "+cmd.UseLine()+" "+cmd.Example+" command", -1)
		each(cmd, func(c *cobra.Command) { names = append(names, c.Name()) })
		if cmd.Annotations[topicsAfter] == "" {
			saidIn(t, cmd.CommandPath(), cmd.Long)
		}
		usage := strings.Replace(cmd.UsageString(), cmd.Example, "", 1)
		usage = strings.ReplaceAll(strings.ReplaceAll(usage, "[flags]", ""), cmd.UseLine(), "")
		// What a figure may be stands in words that are typed.
		for _, f := range [][]guitar.Field{guitar.DesignFields(), guitar.RepairFields(), airFields} {
			for _, x := range f {
				for _, c := range x.Choices {
					names = append(names, regexp.MustCompile(`\pL+`).FindAllString(c.Key, -1)...)
				}
			}
		}
		saidIn(t, cmd.CommandPath()+" --help", usage, append(names, "full", "letter", "tabloid", "portrait", "landscape")...)
	})
}

// A guitar from its design to its last figures, and what goes wrong on the way.
func TestEveryWordOfTheTerminalIsSaidInTheReadersLanguage(t *testing.T) {
	marking(t)
	dir := t.TempDir()
	t.Chdir(dir)
	t.Setenv("FAIRSET_DB", filepath.Join(dir, "shop.db"))
	t.Setenv("FAIRSET_UNITS", "mm")
	t.Setenv("FAIRSET_LANGUAGE", string(language.Pseudo))
	var pic bytes.Buffer
	if err := png.Encode(&pic, image.NewGray(image.Rect(0, 0, 40, 30))); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"heel.png": pic.Bytes(), "bad.json": []byte("{"), "air.csv": []byte("time,temperature_c,humidity\n2026-03-02 10:00,21,45\nnonsense\n"), "doubt.csv": []byte("time,temp,humidity\n3/4/2026 10:00,21,45\n")} {
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	design := guitar.Bases()[0].Values
	want := guitar.Build(design)
	aim, _, err := want.Target()
	if err != nil {
		t.Fatal(err)
	}
	gap := unit.Length(aim.GapOnFrets - 1.2*unit.MM).Edit(unit.Millimetre)
	seen := 0
	say := func(code int, args ...string) {
		t.Helper()
		seen++
		var out, errs bytes.Buffer
		got := Main(t.Context(), args, Streams{strings.NewReader("2468\n"), &out, &errs})
		if got != code {
			t.Errorf("fairset %s: exit %d, want %d: %s", strings.Join(args, " "), got, code, errs.String())
		}
		// What the cause of a failure is called inside is for whoever reports it.
		told := regexp.MustCompile(`(?m)^fairset: ⟦cause: .*$`).ReplaceAllString(errs.String(), "")
		// What was typed or stood in a file, names of versions, and what Go says of a number or of JSON that it cannot read.
		allow := append(args, "list", "nowhere", "nonsense", "time", "temperature", "humidity", "development", "go", "strconv", "ParseInt", "parsing", "invalid", "syntax", "unexpected", "end", "of", "input")
		saidIn(t, "fairset "+strings.Join(args, " "), out.String()+told, allow...)
	}
	say(0, "list")
	say(0, "new", "--list")
	say(0, "new", "Heron", "--design", guitar.Bases()[0].Key)
	say(0, "new", "Tern", "--from-readings", "--scale-length", "648", "--saddle-distance", "291", "--action-bass-now", "3.9", "--action-treble-now", "3.4")
	say(0, "show", "Heron")
	say(0, "show", "Tern")
	say(0, "read", "Heron", "lean", "--help")
	say(0, "read", "Heron", "tenon", "--tenon-length", "14mm", "--mortise-depth", "15.5mm", "--tenon-width", "20mm", "--mortise-width", "20.1mm")
	say(0, "read", "Heron", "seat", "--gap-bass-top", ".3", "--gap-bass-cap", ".3", "--gap-treble-top", ".3", "--gap-treble-cap", ".3")
	say(0, "read", "Heron", "lean", "--gap", gap, "--gap", gap, "--surface", "frets", "--graduation", "0.1mm")
	say(0, "read", "Heron", "point", "--offset", "1.4", "--toward", "bass", "--graduation", "0.1")
	say(0, "read", "Heron", "roll", "--gap-bass", "4.6", "--gap-treble", "4.7", "--graduation", "0.1")
	say(0, "cut", "Heron")
	say(0, "cut", "Heron", "--tool", "file", "--judged", "strokes")
	say(0, "cut", "Heron", "--tool", "board-80", "--judged", "marks", "--strokes", "40")
	say(0, "undo", "Heron")
	say(0, "history", "Heron")
	say(0, "show", "Heron")
	say(2, "show", "Heron", "--air")
	say(0, "change", "Heron", "--shop-humidity", "45", "--shop-temperature", "21", "--player-humidity", "60", "--player-temperature", "20")
	say(0, "show", "Heron", "--strings", "--intonation", "--strungup", "--air", "--board")
	say(0, "list")
	say(0, "change", "Heron", "--action-bass", "2.6")
	say(0, "change", "Heron", "--action-bass", "2.6")
	say(0, "read", "Heron", "drill", "--centres-neck", "30", "--centres-neck", "57", "--centres-body", "30", "--centres-body", "57.5")
	say(0, "read", "Heron", "bridge", "--nut-to-joint", "359")
	say(0, "read", "Heron", "strung", "--action-bass", "2.9", "--action-treble", "2.2", "--relief", "0.12", "--cents", "6", "--cents", "5", "--cents", "4", "--cents", "6", "--cents", "3", "--cents", "2")
	say(0, "bill", "Heron")
	say(0, "bill", "Heron", "Tern")
	say(0, "print", "--list")
	say(0, "print", "Heron", "--sheet", "frets", "--out", "frets.pdf")
	say(0, "print", "--class", "--sheet", "all", "--out", "all/")
	say(0, "class")
	say(0, "class", "report")
	say(0, "class", "learned")
	say(0, "class", "change", "action_bass", "2.6 mm")
	say(0, "class", "change", "action_bass", "2.4 mm", "--do")
	say(0, "photo", "add", "Heron", "heel.png")
	say(0, "photo", "list", "Heron")
	say(0, "photo", "list", "Tern")
	say(0, "climate", "show")
	say(0, "climate", "import", "air.csv")
	say(2, "climate", "import", "doubt.csv")
	say(0, "climate", "add", "--temperature", "21", "--humidity", "45", "--at", "2026-03-02 14:30")
	say(0, "climate", "show")
	say(0, "climate", "remove", "2026-03-02 14:30")
	say(0, "account", "list")
	say(0, "account", "add", "bench 3")
	say(0, "account", "unlock", "bench 3")
	say(0, "account", "remove", "bench 3")
	say(0, "backup")
	say(0, "backup", "list")
	say(0, "backup", "check", "latest")
	say(0, "backup", "restore", "latest")
	say(0, "check")
	say(0, "export", "--out", "shop.json")
	say(0, "import", "shop.json")
	say(0, "move", "--to", "other.db")
	say(0, "rename", "Tern", "Knot")
	say(0, "remove", "Knot")
	say(0, "restore", "--list")
	say(0, "restore", "Knot")
	say(0, "version")

	say(2, "new", "Bittern", "--design", "lute")
	say(2, "new", "Bittern", "--design", guitar.Bases()[0].Key, "--scale-length", "64.8m")
	say(2, "new", "Bittern")
	say(2, "read", "Heron", "lean", "--gap", "6mm")
	say(2, "read", "Heron", "lean", "--offset", "1")
	say(2, "read", "Heron", "glue")
	say(2, "read", "Heron")
	say(2, "cut", "Knot", "--tool", "file", "--judged", "marks", "--strokes", "20")
	say(2, "undo", "Knot")
	say(2, "draw", "Heron", "--view", "front")
	say(3, "show", "Bittern")
	say(2, "list", "--units", "feet")
	say(2, "list", "--colour")
	say(2, "list", "-x")
	say(2, "climate", "show", "--rows")
	say(2, "climate", "show", "--rows", "1.5")
	say(2, "lst")
	say(2, "show", "Heron", "Heron")
	say(2, "class", "copy")
	say(2, "print", "Knot", "--sheet", "frets", "--out", "no.pdf")
	say(2, "print", "Heron", "--sheet", "no", "--out", "no.pdf")
	say(2, "print", "Heron", "--sheet", "frets", "--paper", "A9", "--out", "no.pdf")
	say(3, "export", "--out", "nowhere/out.json")
	say(2, "import", "bad.json")
	say(3, "import", "nothing.json")
	say(2, "serve", "--addr", "0.0.0.0:0")
	say(2, "bill")
	say(3, "backup", "check", "gone")
	if seen < 80 {
		t.Errorf("only %d commands", seen)
	}
}

// What machines read is the same in every language.
func TestMachinesReadEnglish(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	t.Setenv("FAIRSET_DB", filepath.Join(dir, "shop.db"))
	t.Setenv("FAIRSET_UNITS", "mm")
	t.Setenv("FAIRSET_LANGUAGE", "en")
	run(t, "new", "Heron", "--design", guitar.Bases()[0].Key)
	run(t, "change", "Heron", "--shop-humidity", "45", "--shop-temperature", "21", "--player-humidity", "60", "--player-temperature", "20")
	run(t, "read", "Heron", "lean", "--gap", "4.6mm", "--gap", "4.7mm", "--surface", "frets", "--graduation", "0.1mm")
	run(t, "read", "Heron", "point", "--offset", "1.4", "--toward", "bass", "--graduation", "0.1")
	for _, args := range [][]string{{"list", "--json"}, {"show", "Heron", "--json"}, {"show", "Heron", "--strings", "--json"}, {"show", "Heron", "--intonation", "--json"}, {"show", "Heron", "--strungup", "--json"},
		{"show", "Heron", "--air", "--json"}, {"show", "Heron", "--board", "--json"}, {"cut", "Heron", "--json"}, {"history", "Heron", "--json"}, {"bill", "Heron", "--json"}, {"bill", "Heron", "--of", "parts", "--csv"},
		{"class", "--json"}, {"class", "report", "--csv"}, {"export", "Heron"}, {"export"}, {"schema"}, {"figure", "--list"}, {"figure", "frets", "--example"}} {
		english := run(t, append([]string{"--language", "en"}, args...)...)
		german := run(t, append([]string{"--language", "de"}, args...)...)
		// The shop file says when it was written.
		if args[0] == "export" {
			var a, b map[string]any
			if json.Unmarshal([]byte(english), &a) != nil || json.Unmarshal([]byte(german), &b) != nil {
				t.Fatalf("%v is no JSON", args)
			}
			delete(a, "written")
			delete(b, "written")
			x, _ := json.Marshal(a)
			y, _ := json.Marshal(b)
			english, german = string(x), string(y)
		}
		if english != german {
			t.Errorf("%v differs:\n%s\n%s", args, english, german)
		}
	}
}
