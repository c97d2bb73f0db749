package printing_test

import (
	"strconv"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/printing"
	"fairset/unit"
)

var may = time.Date(2026, 5, 3, 9, 0, 0, 0, time.UTC)

// entered adds an answer to a guitar's log; lengths are in mm.
func entered(t testing.TB, g guitar.Guitar, s guitar.Step, kv ...string) guitar.Guitar {
	t.Helper()
	texts := map[string][]string{}
	for i := 0; i < len(kv); i += 2 {
		texts[kv[i]] = append(texts[kv[i]], kv[i+1])
	}
	fields := g.Fields(s)
	if s == guitar.StepDesign {
		fields = guitar.Optional(fields)
	}
	v, err := guitar.Parse(fields, texts, unit.Millimetre)
	if err != nil {
		t.Fatalf("%s: %v", s, err)
	}
	e, err := g.Enter(s, v, may, "bench 3", guitar.Options{})
	if err != nil {
		t.Fatalf("%s: %v", s, err)
	}
	return g.With(e)
}

func inMM(l unit.Length) string { return strconv.FormatFloat(l.MM(), 'f', 6, 64) }

func started(t testing.TB, basis string, changes guitar.Values) guitar.Guitar {
	t.Helper()
	g, err := guitar.New("Sandpiper", basis, changes)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// readOff is the guitar with lean and point read, off what is wanted by so many mm.
func readOff(t testing.TB, g guitar.Guitar, gap, offset float64) guitar.Guitar {
	t.Helper()
	want := g.Bench(guitar.Options{}).Aim.GapOnFrets
	for range 2 {
		g = entered(t, g, guitar.StepLean, "gap", inMM(want+unit.Length(gap)*unit.MM), "gap", inMM(want+unit.Length(gap)*unit.MM), "surface", "frets", "graduation", "0.1")
	}
	toward := "treble"
	if offset < 0 {
		toward, offset = "bass", -offset
	}
	if offset == 0 {
		toward = "centre"
	}
	text := strconv.FormatFloat(offset, 'f', 4, 64)
	for range 2 {
		g = entered(t, g, guitar.StepPoint, "offset", text, "offset", text, "toward", toward, "graduation", "0.1")
	}
	return g
}

// asked is the source of a guitar in one way of writing lengths.
func asked(g guitar.Guitar, style unit.Style) printing.Source {
	return printing.Source{Guitar: g, Bench: g.Bench(guitar.Options{}), Date: "3 May 2026", Style: style}
}
