package demo

import (
	"path/filepath"
	"slices"
	"testing"

	"fairset/craft/guitar"
	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
	"fairset/unit"
)

// Whoever types what the walk says comes to a finished guitar, in any units, and no step is left out.
func TestTheWalkEndsAtAFinishedGuitar(t *testing.T) {
	for _, style := range unit.Styles() {
		t.Run(string(style), func(t *testing.T) {
			db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { db.Close() })
			s := shop.New(db)
			v, err := s.NewFromDesign(t.Context(), PracticeName.In(style), PracticeBasis, nil, style)
			if err != nil {
				t.Fatal(err)
			}
			var steps []guitar.Step
			for range 40 { // a stuck walk would go on for ever
				l := Next(v, style)
				if l.Step == "" {
					break
				}
				steps = append(steps, l.Step)
				if l.Why == "" || l.Changes == "" || l.Name == "" || len(l.Type) == 0 || l.Done >= l.Of {
					t.Fatalf("lesson %+v", l)
				}
				texts := map[string][]string{}
				for _, x := range l.Type {
					texts[x.Key] = append(texts[x.Key], x.Text)
				}
				if l.Step == guitar.StepCut { // the page of the cut says these two itself
					texts["tool"], texts["judged"] = []string{v.Bench.Cut.Tool.Key}, []string{v.Bench.Cut.By}
				}
				if v, err = s.Enter(t.Context(), v.Guitar.ID, v.Revision, l.Step, texts, style, ""); err != nil {
					t.Fatalf("%s: %v", l.Step, err)
				}
			}
			if v.Bench.Waiting != "" || len(v.Guitar.Log) > 25 {
				t.Errorf("after %v the guitar waits at %q", steps, v.Bench.Waiting)
			}
			for _, st := range v.Bench.Steps {
				if !st.Optional && !slices.Contains(steps, st.Step) {
					t.Errorf("the walk leaves out %s", st.Step)
				}
			}
			t.Logf("%d lessons: %v", len(steps), steps)
		})
	}
}
