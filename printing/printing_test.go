package printing_test

import (
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/drawing"
	"fairset/printing"
	"fairset/unit"
)

func source(t *testing.T, basis string, style unit.Style) printing.Source {
	t.Helper()
	g, err := guitar.New("Sandpiper", basis, nil)
	if err != nil {
		t.Fatal(err)
	}
	return printing.Source{Guitar: g, Bench: g.Bench(guitar.Options{}), Date: "3 May 2026", Style: style}
}

func TestListIsSound(t *testing.T) {
	name, seen := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`), map[string]bool{}
	for _, e := range printing.List() {
		if !name.MatchString(e.Name) || e.Name == printing.All || seen[e.Name] {
			t.Errorf("sheet %q: the name is taken or not lower case words joined by hyphens", e.Name)
		}
		seen[e.Name] = true
		if e.Title == "" || !strings.HasSuffix(e.About.In(unit.Millimetre), ".") || e.Draw == nil {
			t.Errorf("sheet %q lacks a title, a whole sentence about it, or its drawing", e.Name)
		}
		if got, err := printing.Find(e.Name); err != nil || got.Name != e.Name {
			t.Errorf("Find(%q) = %q, %v", e.Name, got.Name, err)
		}
	}
}

// Each sheet of each starting design, in each way of writing lengths, can be drawn or says what it needs.
func TestEverySheetIsDrawnOrSaysWhatItNeeds(t *testing.T) {
	for _, b := range guitar.Bases() {
		for _, style := range unit.Styles() {
			s := source(t, b.Key, style)
			for _, e := range printing.List() {
				sheets, err := e.Sheets(s)
				var need *printing.NeedError
				switch {
				case errors.As(err, &need):
					if !strings.HasSuffix(need.Need.In(unit.Millimetre), ".") || need.Sheet != e.Title {
						t.Errorf("%s of %s: %q of %q is not a whole sentence that says what is needed", e.Name, b.Key, need.Need, need.Sheet)
					}
				case err != nil:
					t.Errorf("%s of %s in %s: %v", e.Name, b.Key, style, err)
				}
				for _, d := range sheets {
					if d.Title == "" || d.Desc == "" {
						t.Errorf("%s of %s: no title or no description", e.Name, b.Key)
					}
				}
			}
		}
	}
}

func TestSheetsRefusesWhatCannotBeWritten(t *testing.T) {
	for name, draw := range map[string]func(printing.Source) ([]*drawing.Sheet, error){
		"nothing":     func(printing.Source) ([]*drawing.Sheet, error) { return nil, nil },
		"no paper":    func(printing.Source) ([]*drawing.Sheet, error) { return []*drawing.Sheet{{Title: "a"}}, nil },
		"other fault": func(printing.Source) ([]*drawing.Sheet, error) { return nil, errors.New("a fault") },
	} {
		e := printing.Entry{Name: "trial", Title: "Trial", About: "A trial.", Draw: draw}
		if _, err := e.Sheets(printing.Source{}); err == nil || !strings.HasPrefix(err.Error(), "Trial: ") {
			t.Errorf("%s: error %v, want one that names the sheet", name, err)
		}
	}
	e := printing.Entry{Title: "Trial", Draw: func(printing.Source) ([]*drawing.Sheet, error) { return nil, printing.NeedDesign() }}
	var need *printing.NeedError
	if _, err := e.Sheets(printing.Source{}); !errors.As(err, &need) || need.Sheet != "Trial" || !strings.Contains(need.Need.In(unit.Millimetre), "design") {
		t.Errorf("a sheet that needs a design says %v", err)
	}
}

func TestFindAll(t *testing.T) {
	all, err := printing.FindAll("all")
	if err != nil || len(all) != len(printing.List()) {
		t.Errorf("all: %d sheets, %v", len(all), err)
	}
	for _, names := range []string{"", "no-such-sheet", "all,all"} {
		var re *unit.RangeError
		if _, err := printing.FindAll(names); !errors.As(err, &re) || re.Field != "sheet" {
			t.Errorf("FindAll(%q): %v, want a refusal that names the field", names, err)
		}
	}
}

func TestHeadCarriesTheDayOfTheDesign(t *testing.T) {
	s := source(t, guitar.Bases()[0].Key, unit.Millimetre)
	if h := s.Head(); h.Date != "" {
		t.Errorf("a record without dates: %q", h.Date)
	}
	s.Guitar.Created = time.Date(2026, 3, 2, 23, 30, 0, 0, time.UTC)
	if h := s.Head(); h.Date != "2026-03-02" || h.Guitar != "Sandpiper" || h.Left {
		t.Errorf("a new guitar: %+v", h)
	}
	entry := func(step guitar.Step, day int, undone bool) guitar.Entry {
		return guitar.Entry{At: time.Date(2026, 4, day, 1, 0, 0, 0, time.FixedZone("", 7200)), Step: step, Undone: undone}
	}
	s.Guitar.Log = []guitar.Entry{entry(guitar.StepDesign, 5, false), entry(guitar.StepDesign, 7, true), entry(guitar.StepNote, 9, false)}
	s.Bench.Design["hand"] = []guitar.Value{{Text: "left"}}
	// 1 o'clock two hours east of Greenwich is still the day before there.
	if h := s.Head(); h.Date != "2026-04-04" || !h.Left {
		t.Errorf("a changed design: %+v", h)
	}
}
