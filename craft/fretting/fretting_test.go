package fretting_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/fretting"
	"fairset/internal/reftest"
	"fairset/unit"
)

// The table was computed from the definition by other hands and printed to 0.0001 mm and 0.00001 in.
func TestDistanceAgreesWithTheFretTable(t *testing.T) {
	f, err := os.Open("testdata/equal_temperament.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 150 {
		t.Fatalf("only %d rows in the table", len(rows))
	}
	worst := 0.0
	for _, r := range rows[1:] {
		num := func(i int) float64 {
			v, err := strconv.ParseFloat(r[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		scale := unit.Length(num(1)) * unit.MM
		fret := int(num(2))
		d := fretting.Distance(scale, fret)
		reftest.Near(t, r[0]+" fret "+r[2]+" mm", d.MM(), num(5), 0.6e-4)     // half the last printed digit, and a little
		reftest.Near(t, r[0]+" fret "+r[2]+" in", d.Inches(), num(6), 0.6e-5) // as above
		reftest.Near(t, r[0]+" fret "+r[2]+" rest", (scale - d).MM(), num(7), 0.6e-4)
		worst = math.Max(worst, math.Abs(d.MM()-num(5)))
	}
	t.Logf("%d rows, largest difference %.6f mm (the table is printed to 0.0001 mm)", len(rows)-1, worst)
}

func TestKnownPlaces(t *testing.T) {
	at, err := fretting.Positions(648*unit.MM, 24)
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "fret 12 halves the string", at[11].MM(), 324, 1e-9)      // source: definition, octave = ratio 2
	reftest.Near(t, "fret 24 quarters the rest", at[23].MM(), 486, 1e-9)      // source: definition, two octaves = ratio 4
	reftest.Near(t, "fret 1 by the divisor", at[0].MM(), 648/17.817154, 2e-6) // source: published step constant 17.817154
	reftest.Near(t, "divisor", fretting.StepDivisor, 17.817154, 5e-7)         // source: published step constant 17.817154
	reftest.Near(t, "divisor as the trade says it", fretting.StepDivisor, 17.817, 5e-4)
	reftest.Near(t, "divisor by its definition", fretting.StepDivisor, 1/(1-math.Pow(2, -1.0/12)), 1e-12) // source: definition
	if d := fretting.Distance(648*unit.MM, 0); d != 0 {
		t.Errorf("fret 0 is the nut, got %v", d)
	}
}

func TestEachSpaceIsTheRestOverTheDivisor(t *testing.T) {
	spaces, err := fretting.Spaces(25.5*unit.Inch, 22)
	if err != nil {
		t.Fatal(err)
	}
	// Second route: walk the string by the divisor, as a maker with dividers would.
	rest := 25.5 * 25.4
	for i, s := range spaces {
		reftest.Near(t, "space "+strconv.Itoa(i+1), s.MM(), rest/17.817153745105756, 1e-9)
		rest -= rest / 17.817153745105756
	}
}

func TestDotsStandMidSpace(t *testing.T) {
	dots, err := fretting.Dots(650*unit.MM, 24)
	if err != nil {
		t.Fatal(err)
	}
	wantFrets := []int{3, 5, 7, 9, 12, 15, 17, 19, 21, 24} // source: common practice, no source
	if len(dots) != len(wantFrets) {
		t.Fatalf("got %d dots, want %d", len(dots), len(wantFrets))
	}
	for i, d := range dots {
		count := 1
		if d.Fret%12 == 0 {
			count = 2
		}
		if d.Fret != wantFrets[i] || d.Count != count {
			t.Errorf("dot %d: got fret %d count %d, want fret %d count %d", i, d.Fret, d.Count, wantFrets[i], count)
		}
	}
	// source: the fret table, 650 mm: frets 2, 3 at 70.9158, 103.4173 and 11, 12 at 305.6745, 325.0000
	reftest.Near(t, "dot 3", dots[0].Position.MM(), (70.9158+103.4173)/2, 1e-4)
	reftest.Near(t, "dot 12", dots[4].Position.MM(), (305.6745+325.0000)/2, 1e-4)

	short, err := fretting.Dots(650*unit.MM, 2)
	if err != nil || short == nil || len(short) != 0 {
		t.Errorf("a board of 2 frets carries no dot: got %v, %v", short, err)
	}
	small, err := fretting.DotsAt(430*unit.MM, 18, fretting.Small())
	if err != nil {
		t.Fatal(err)
	}
	if small[2].Fret != 10 { // source: common practice, no source
		t.Errorf("small instruments mark fret 10, got %d", small[2].Fret)
	}
}

func TestRunningDistancesNeverAddUpTheRulesError(t *testing.T) {
	for _, grad := range []unit.Length{0.5 * unit.MM, unit.Inch / 64, unit.Inch / 100} {
		list, err := fretting.RunningDistances(25.4*unit.Inch, 20, grad)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range list {
			if r.Rest.Abs() > grad/2+1e-12 {
				t.Errorf("fret %d on a rule of %v: rest %v", r.Fret, grad, r.Rest)
			}
			reftest.Near(t, "reading and rest", float64(r.Reading+r.Rest), float64(r.Position), 1e-12)
			steps := float64(r.Reading / grad)
			reftest.Near(t, "whole graduations", steps, math.Round(steps), 1e-9)
		}
	}
}

func TestBadInputNamesTheField(t *testing.T) {
	cases := []struct {
		name  string
		scale unit.Length
		frets int
		field string
	}{
		{"zero scale", 0, 20, "scale_length"},
		{"negative scale", -648 * unit.MM, 20, "scale_length"},
		{"millimetres taken for metres", 648, 20, "scale_length"},
		{"no number", unit.Length(math.NaN()), 20, "scale_length"},
		{"infinite", unit.Length(math.Inf(1)), 20, "scale_length"},
		{"no frets", 648 * unit.MM, 0, "frets"},
		{"negative frets", 648 * unit.MM, -3, "frets"},
		{"absurd frets", 648 * unit.MM, 1 << 40, "frets"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := fretting.Positions(c.scale, c.frets)
			_, err2 := fretting.Dots(c.scale, c.frets)
			_, err3 := fretting.Spaces(c.scale, c.frets)
			for _, err := range []error{err, err2, err3} {
				var re *unit.RangeError
				if !errors.As(err, &re) || re.Field != c.field {
					t.Errorf("got %v, want a range error of %s", err, c.field)
				}
			}
		})
	}
	for _, m := range []fretting.Mark{{0, 1}, {3, 0}, {3, 9}, {-1, 1}} {
		if _, err := fretting.DotsAt(648*unit.MM, 20, []fretting.Mark{m}); err == nil {
			t.Errorf("mark %v was accepted", m)
		}
	}
	for _, g := range []unit.Length{0, -1, unit.Length(math.NaN()), 1} {
		if _, err := fretting.RunningDistances(648*unit.MM, 20, g); err == nil {
			t.Errorf("graduation %v was accepted", g)
		}
	}
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := unit.Length(rapid.Float64Range(0.2, 0.6).Draw(t, "scale"))
		frets := rapid.IntRange(1, fretting.MostFrets).Draw(t, "frets")
		k := rapid.Float64Range(1, 2).Draw(t, "k")
		at, err := fretting.Positions(scale, frets)
		if err != nil {
			t.Fatal(err)
		}
		spaces, _ := fretting.Spaces(scale, frets)
		larger, err := fretting.Positions(scale*unit.Length(k), frets)
		if err != nil {
			t.Fatal(err)
		}
		for i := range at {
			if i > 0 && !(spaces[i] < spaces[i-1] && spaces[i] > 0) {
				t.Fatalf("space %d is not smaller than the one before", i+1)
			}
			if math.Abs(float64(larger[i]-at[i]*unit.Length(k))) > 1e-12 {
				t.Fatalf("fret %d does not scale with the scale length", i+1)
			}
			if i >= 12 && math.Abs(float64((scale-at[i])*2-(scale-at[i-12]))) > 1e-12 {
				t.Fatalf("fret %d does not halve what fret %d leaves", i+1, i-11)
			}
		}
		dots, _ := fretting.Dots(scale, frets)
		for _, d := range dots {
			lo := fretting.Distance(scale, d.Fret-1)
			if math.Abs(float64((d.Position-lo)*2-spaces[d.Fret-1])) > 1e-12 {
				t.Fatalf("dot %d is off the middle", d.Fret)
			}
		}
	})
}

func BenchmarkPositions(b *testing.B) {
	for b.Loop() {
		if _, err := fretting.Positions(648*unit.MM, 24); err != nil {
			b.Fatal(err)
		}
	}
}

func TestLimitsAndDoubts(t *testing.T) {
	for _, field := range []string{"scale_length", "frets"} {
		if l, ok := fretting.LimitOf(field); !ok || l.Field != field || l.Min >= l.Max {
			t.Errorf("%s: got %+v, %v", field, l, ok)
		}
	}
	if _, ok := fretting.LimitOf("colour"); ok {
		t.Error("a field that does not exist has a limit")
	}
	if w := fretting.Doubts(648 * unit.MM); len(w) != 0 {
		t.Errorf("648 mm is doubted: %v", w)
	}
	for _, scale := range []unit.Length{250 * unit.MM, 1000 * unit.MM} {
		if w := fretting.Doubts(scale); len(w) != 1 || w[0].Field != "scale_length" {
			t.Errorf("%v: got %v, want one doubt of scale_length", scale, w)
		}
	}
}
