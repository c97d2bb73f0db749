package printing_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/printing"
	"fairset/unit"
)

// square is a drawing of a square, n millimetres wide.
func square(n float64) *drawing.Sheet {
	s := &drawing.Sheet{Title: fmt.Sprintf("Square of %g mm", n), Desc: "A square.", Width: unit.Length(n+20) * unit.MM, Height: unit.Length(n+20) * unit.MM, ScaleX: 1, ScaleY: 1}
	s.Add(drawing.Item{Layer: drawing.LayerCut, Name: "square", Shape: drawing.Polyline{Closed: true,
		Points: []drawing.Point{drawing.At(10, 10), drawing.At(n+10, 10), drawing.At(n+10, n+10), drawing.At(10, n+10)}}})
	return s
}

func entry(name string, draw func(printing.Source) ([]*drawing.Sheet, error)) printing.Entry {
	return printing.Entry{Name: name, Title: unit.FromTable(name), About: "A trial.", Draw: draw}
}

func squares(name string, n ...float64) printing.Entry {
	return entry(name, func(printing.Source) (out []*drawing.Sheet, _ error) {
		for _, x := range n {
			out = append(out, square(x))
		}
		return out, nil
	})
}

func needy(name string) printing.Entry {
	return entry(name, func(printing.Source) ([]*drawing.Sheet, error) { return nil, printing.Need("Read the lean first.") })
}

// made prints and returns the files by name, in order.
func made(t *testing.T, j printing.Job) (names []string, files map[string][]byte, r printing.Report, err error) {
	t.Helper()
	files = map[string][]byte{}
	r, err = j.Make(source(t, guitar.Bases()[0].Key, unit.Millimetre), func(name string, write func(io.Writer) error) error {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return err
		}
		if files[name] != nil {
			t.Errorf("%s comes twice", name)
		}
		names, files[name] = append(names, name), b.Bytes()
		return nil
	})
	return names, files, r, err
}

func TestMakeNamesTheFiles(t *testing.T) {
	ten := squares("ten", 1, 2, 3, 4, 5, 6, 7, 8, 9, 10)
	for _, c := range []struct {
		format  printing.Format
		entries []printing.Entry
		want    []string
		pages   int
	}{
		{printing.PDF, []printing.Entry{squares("one", 50), squares("two", 60, 70)}, []string{"sandpiper.pdf"}, 3},
		{printing.SVG, []printing.Entry{squares("one", 50)}, []string{"one.svg"}, 1},
		{printing.SVG, []printing.Entry{squares("one", 50), squares("two", 60, 70)}, []string{"one.svg", "two-1.svg", "two-2.svg"}, 3},
		{printing.DXF, []printing.Entry{squares("one", 50), squares("two", 60, 70)}, []string{"one.dxf", "two-1.dxf", "two-2.dxf"}, 3},
		{printing.PNG, []printing.Entry{squares("one", 50), squares("two", 60, 70)}, []string{"one.png", "two-1.png", "two-2.png"}, 3},
		{printing.SVG, []printing.Entry{ten}, []string{"ten-01.svg", "ten-02.svg", "ten-03.svg", "ten-04.svg", "ten-05.svg", "ten-06.svg", "ten-07.svg", "ten-08.svg", "ten-09.svg", "ten-10.svg"}, 10},
	} {
		names, files, r, err := made(t, printing.Job{Entries: c.entries, Format: c.format})
		if err != nil || !slices.Equal(names, c.want) || r.Files != len(c.want) || r.Pages != c.pages || len(r.Left) != 0 {
			t.Errorf("%s: %v (%+v, %v), want %v on %d pages", c.format, names, r, err, c.want, c.pages)
		}
		for name, data := range files {
			if start := map[printing.Format]string{printing.PDF: "%PDF-", printing.SVG: "<?xml", printing.DXF: "  0\r\nSECTION", printing.PNG: "\x89PNG"}[c.format]; !bytes.HasPrefix(data, []byte(start)) {
				t.Errorf("%s begins with %.20q", name, data)
			}
		}
	}
}

func TestMakeIsTheSameTwice(t *testing.T) {
	for _, f := range printing.Formats() {
		j := printing.Job{Entries: []printing.Entry{squares("one", 50)}, Format: f}
		_, a, _, err1 := made(t, j)
		_, b, _, err2 := made(t, j)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		for name := range a {
			if !bytes.Equal(a[name], b[name]) {
				t.Errorf("%s differs from one print to the next", name)
			}
		}
	}
}

// What cannot be drawn yet is left out where all sheets were asked for, and is the error where it alone was.
func TestMakeLeavesOutWhatIsNotReady(t *testing.T) {
	var need *printing.NeedError
	for _, f := range printing.Formats() {
		names, _, r, err := made(t, printing.Job{Entries: []printing.Entry{needy("first"), squares("one", 50), needy("last")}, Format: f, Lenient: true})
		if err != nil || len(names) != 1 || len(r.Left) != 2 || r.Left[0].Sheet != "first" || r.Left[1].Sheet != "last" {
			t.Errorf("%s, lenient: %v, %+v, %v", f, names, r, err)
		}
		names, _, _, err = made(t, printing.Job{Entries: []printing.Entry{needy("first"), squares("one", 50)}, Format: f})
		if len(names) != 0 || !errors.As(err, &need) || need.Sheet != "first" {
			t.Errorf("%s, strict: %v, %v", f, names, err)
		}
		// Not even begun when there is nothing to draw.
		names, _, _, err = made(t, printing.Job{Entries: []printing.Entry{needy("first"), needy("last")}, Format: f, Lenient: true})
		if len(names) != 0 || !errors.As(err, &need) || need.Sheet != "first" {
			t.Errorf("%s, nothing to draw: %v, %v", f, names, err)
		}
	}
	begun := false
	_, err := printing.Job{Entries: []printing.Entry{needy("only")}, Format: printing.PDF}.Make(source(t, guitar.Bases()[0].Key, unit.Millimetre), func(string, func(io.Writer) error) error { begun = true; return nil })
	if err == nil || begun {
		t.Errorf("a file was begun though nothing can be drawn (%v)", err)
	}
	if _, _, _, err := made(t, printing.Job{Format: printing.PDF}); err == nil {
		t.Error("no sheets: no error")
	}
}

func TestMakeEndsAtTheFirstError(t *testing.T) {
	full := errors.New("no room left")
	for _, f := range printing.Formats() {
		drawn := 0
		next := entry("next", func(printing.Source) ([]*drawing.Sheet, error) { drawn++; return []*drawing.Sheet{square(10)}, nil })
		_, err := printing.Job{Entries: []printing.Entry{squares("one", 50), next, next}, Format: f}.Make(source(t, guitar.Bases()[0].Key, unit.Millimetre), func(string, func(io.Writer) error) error { return full })
		if !errors.Is(err, full) || drawn > 0 {
			t.Errorf("%s: %v, and %d more drawn", f, err, drawn)
		}
		fault := errors.New("a fault of ours")
		_, _, _, err = made(t, printing.Job{Entries: []printing.Entry{squares("one", 50), entry("bad", func(printing.Source) ([]*drawing.Sheet, error) { return nil, fault })}, Format: f, Lenient: true})
		if !errors.Is(err, fault) || !strings.HasPrefix(err.Error(), "bad: ") {
			t.Errorf("%s: a fault comes back as %v", f, err)
		}
	}
}

func TestFileNames(t *testing.T) {
	n := printing.FileNames{}
	for _, c := range []struct{ title, id, want string }{
		{"Heron", "abc", "heron"},
		{"HERON!", "def", "heron-def"},
		{"heron", "def", "heron-def-2"},
		{"Grüner Specht / 2", "x", "gr-ner-specht-2"},
		{"鷺", "x", "guitar"},
		{"鷺", "y", "guitar-y"},
		{"../../etc", "x", "etc"},
		{strings.Repeat("long ", 20), "x", "long-long-long-long-long-long-long-long"},
	} {
		if got := n.Take(c.title, c.id); got != c.want {
			t.Errorf("Take(%q, %q) = %q, want %q", c.title, c.id, got, c.want)
		}
	}
}

func TestParseSetup(t *testing.T) {
	parse := func(style unit.Style, pairs ...string) (printing.Setup, printing.Options, error) {
		texts := map[string][]string{}
		for i := 0; i < len(pairs); i += 2 {
			texts[pairs[i]] = []string{pairs[i+1]}
		}
		return printing.ParseSetup(texts, style)
	}
	near := func(what string, got, want unit.Length) {
		t.Helper()
		if (got - want).Abs() > unit.MM/1e6 {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	_, o, err := parse(unit.InchDecimal, "jig_length", "12")
	near("jig of 12 in", o.JigLength, 12*unit.Inch)
	// derived: a 4 in bar that measures 4.04 in is 1 % long, as is a 100 mm bar of 101 mm.
	s, _, err2 := parse(unit.InchDecimal, "check_x", "4.04", "check_y", "3.96 in")
	near("4 in bar across", s.Tile.MeasuredX, 101*unit.MM)
	near("4 in bar up", s.Tile.MeasuredY, 99*unit.MM)
	s, _, err3 := parse(unit.InchDecimal, "check_bar", "100mm", "check_x", "100.5 mm")
	near("100 mm bar, named", s.Tile.MeasuredX, 100.5*unit.MM)
	s, _, err4 := parse(unit.Millimetre, "check_x", "99.5", "paper", "a4", "orientation", "landscape")
	near("100 mm bar", s.Tile.MeasuredX, 99.5*unit.MM)
	for _, err := range []error{err, err2, err3, err4} {
		if err != nil {
			t.Error(err)
		}
	}
	if s.Say(unit.Millimetre) != "A4, on its side, printer corrected" {
		t.Errorf("the setup says %q", s.Say(unit.Millimetre))
	}
	for _, c := range [][2]string{{"jig_length", "5 km"}, {"paper", "a5"}, {"orientation", "askew"}, {"margin", "-1 mm"}, {"overlap", "2 m"}, {"check_x", "104 mm"}, {"check_y", "96 mm"}, {"dpi", "5000"}, {"dpi", "NaN"}} {
		var ps guitar.Problems
		if _, _, err := parse(unit.Millimetre, c[0], c[1]); !errors.As(err, &ps) || ps[0].Field != c[0] {
			t.Errorf("%s of %s: %v, want a refusal that names the field", c[0], c[1], err)
		}
	}
}

// A square of 380 mm on sheets of 400 mm: A4 upright is 210 mm by 297 mm (ISO 216).
func TestPagesAreCutToThePaper(t *testing.T) {
	for _, c := range []struct {
		turn string
		w, h float64
	}{{"portrait", 210, 297}, {"landscape", 297, 210}} {
		setup, _, err := printing.ParseSetup(map[string][]string{"paper": {"a4"}, "orientation": {c.turn}}, unit.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := setup.Plan(squares("one", 380), source(t, guitar.Bases()[0].Key, unit.Millimetre), printing.PDF)
		if err != nil || len(plan.Pages) < 5 || len(plan.Pictures) != 1 {
			t.Fatalf("%s: %d pages, %v", c.turn, len(plan.Pages), err)
		}
		for _, p := range plan.Pages {
			if (p.Width-unit.Length(c.w)*unit.MM).Abs() > unit.MM/1e6 || (p.Height-unit.Length(c.h)*unit.MM).Abs() > unit.MM/1e6 {
				t.Errorf("%s: a page of %v by %v", c.turn, p.Width, p.Height)
			}
		}
		if _, ok := plan.Pictures[0].Find("page-edge"); !ok {
			t.Errorf("%s: the picture does not show the pages", c.turn)
		}
		if plan, err := setup.Plan(squares("one", 380), source(t, guitar.Bases()[0].Key, unit.Millimetre), printing.DXF); err != nil || len(plan.Pages) != 1 {
			t.Errorf("DXF in %d pages, %v; want it whole", len(plan.Pages), err)
		}
	}
}

func TestOwnNames(t *testing.T) {
	n := printing.FileNames{}
	var got []string
	put := func(name string, write func(io.Writer) error) error {
		got = append(got, name)
		return write(io.Discard)
	}
	for _, f := range []printing.Format{printing.PDF, printing.SVG} {
		j := printing.Job{Entries: []printing.Entry{squares("one", 1), squares("two", 1, 2)}, Format: f}
		if _, err := j.Make(source(t, guitar.Bases()[0].Key, unit.Millimetre), n.Own("Heron", "abc", put)); err != nil {
			t.Fatal(err)
		}
	}
	if want := []string{"heron.pdf", "heron-abc-one.svg", "heron-abc-two-1.svg", "heron-abc-two-2.svg"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
