package guitar

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"time"

	"fairset/craft/climate"
	"fairset/unit"
)

var update = flag.Bool("update", false, "rewrite generated files and goldens")

// answers is one plausible answer for each step, as typed.
var answers = []struct {
	step  Step
	texts map[string][]string
}{
	{StepTenon, map[string][]string{"tenon_length": {"14.0"}, "mortise_depth": {"14.8"}, "tenon_width": {"20"}, "mortise_width": {"20.1"}}},
	{StepSeat, map[string][]string{"gap_bass_top": {"0"}, "gap_bass_cap": {"0.1"}, "gap_treble_top": {"0"}, "gap_treble_cap": {"0.15"}, "arc_chord": {"150"}, "arc_rise": {"8.6"}}},
	{StepLean, map[string][]string{"gap": {"17/64", "6.8 mm"}, "surface": {"frets"}, "graduation": {"1/64"}}},
	{StepPoint, map[string][]string{"offset": {"1.5"}, "toward": {"treble"}, "graduation": {"0.5"}}},
	{StepNote, map[string][]string{"text": {"humid day, <45 % & \"rising\"\nread twice"}}},
	{StepCut, map[string][]string{"tool": {"board-120"}, "judged": {"marks"}, "done": {"90 %"}}},
	{StepLean, map[string][]string{"gap": {"7.5"}, "surface": {"board"}, "graduation": {"0.1"}, "read_at": {"280"}}},
	{StepDesign, map[string][]string{"bridge_thickness": {"5/16"}, "scale_length_give": {"0.2"}, "arc_radius": {"flat"}}},
	{StepShim, map[string][]string{"edge": {"cap"}, "thickness": {"0.4"}}},
	{StepStrung, map[string][]string{"action_bass": {"2.6"}, "action_treble": {"2.1"}, "cents": {"4", "-2", "0", "9", "3", "1"}}},
}

var firstDay = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// sample is a guitar with every kind of entry in its log, the last one undone.
func sample(t testing.TB) Guitar {
	t.Helper()
	changes, err := Parse(Optional(DesignFields()), map[string][]string{"scale_length": {"25 1/2"}, "joint_fold": {"0.03"}, "risk": {"7"}}, unit.Inch64)
	if err != nil {
		t.Fatal(err)
	}
	g, err := New("Larch", "steel-14", changes)
	if err != nil {
		t.Fatal(err)
	}
	g.ID, g.Created = "q7k4mb", firstDay
	for i, a := range answers {
		fields := g.Fields(a.step)
		if a.step == StepDesign {
			fields = Optional(fields)
		}
		v, err := Parse(fields, a.texts, unit.Millimetre)
		if err != nil {
			t.Fatalf("%s: %v", a.step, err)
		}
		e, err := g.Enter(a.step, v, firstDay.Add(time.Duration(i+1)*time.Hour+250*time.Millisecond), "bench 3", Options{})
		if err != nil {
			t.Fatalf("%s: %v", a.step, err)
		}
		g = g.With(e)
	}
	g, _, err = g.Undo()
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func repairSample(t testing.TB) Guitar {
	t.Helper()
	v := RepairStart()
	given, err := Parse(Optional(RepairFields()), map[string][]string{"scale_length": {"25.4 in"}, "saddle_distance": {"286"}, "action_bass_now": {"4.2"}, "action_treble_now": {"3.6"}}, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	for k, x := range given {
		v[k] = x
	}
	g, err := NewRepair("Old alder", v)
	if err != nil {
		t.Fatal(err)
	}
	g.ID, g.Created = "r3p8wt", firstDay
	return g
}

func TestFileRoundTrip(t *testing.T) {
	guitars := []Guitar{sample(t), repairSample(t)}
	for _, b := range Bases() {
		g, err := New(b.Name.In(unit.Millimetre), b.Key, nil)
		if err != nil {
			t.Fatal(err)
		}
		g.Created = firstDay
		guitars = append(guitars, g)
	}
	for _, g := range guitars {
		data := Encode(g)
		got, err := Decode(data)
		if err != nil {
			t.Fatalf("%s: %v", g.Name, err)
		}
		if len(got) != 1 || !reflect.DeepEqual(got[0], g) {
			t.Errorf("%s came back different; written again:\n%s", g.Name, Encode(got[0]))
		}
		if again := Encode(got[0]); !bytes.Equal(again, data) {
			t.Errorf("%s: written again, the file differs", g.Name)
		}
	}
	data := EncodeShop(guitars)
	got, err := Decode(data)
	if err != nil || !reflect.DeepEqual(got, guitars) {
		t.Errorf("shop file came back different: %v", err)
	}
	for _, typed := range []string{`"25 1/2"`, `"17/64"`, `"typed": "6.8 mm"`, `& \"rising\"`, `"flat"`} {
		if !bytes.Contains(data, []byte(typed)) {
			t.Errorf("the file does not hold %s as typed", typed)
		}
	}
	// source: 25 1/2 in x 25.4 mm by hand
	if !bytes.Contains(data, []byte(`"mm": 647.7,`)) && !bytes.Contains(data, []byte("\"mm\": 647.7\n")) {
		t.Error("25 1/2 in is not written as 647.7 mm")
	}
}

// The pieces the store keeps hold the same as the file.
func TestPiecesRoundTrip(t *testing.T) {
	g := sample(t)
	first, err := g.DecodeFirst(g.EncodeFirst())
	if err != nil || !reflect.DeepEqual(first, g.First) {
		t.Errorf("first figures came back different: %v", err)
	}
	for _, e := range g.Log {
		v, err := g.DecodeValues(e.Step, g.EncodeValues(e.Step, e.Values))
		if err != nil || !reflect.DeepEqual(v, e.Values) {
			t.Errorf("%s: values %v came back as %v, %v", e.Step, e.Values, v, err)
		}
		p, err := DecodePlan(EncodePlan(e.Plan))
		if err != nil || !reflect.DeepEqual(p, e.Plan) {
			t.Errorf("%s: plan %v came back as %v, %v", e.Step, e.Plan, p, err)
		}
	}
}

// A design change may take an optional figure away again.
func TestClearedFigureSurvivesTheFile(t *testing.T) {
	g := sample(t)
	if !g.Design().Has("scale_length_give") {
		t.Fatal("the sample gives no spread for its scale length")
	}
	e, err := g.Enter(StepDesign, Values{"scale_length_give": {}}, firstDay.Add(99*time.Hour), "", Options{})
	if err != nil {
		t.Fatal(err)
	}
	g = g.With(e)
	got, err := Decode(Encode(g))
	if err != nil {
		t.Fatal(err)
	}
	if got[0].Design().Has("scale_length_give") {
		t.Error("the figure came back after it was taken away")
	}
}

// An undone change of design may make a later undone one look impossible; the file must still open.
func TestUndoneEntriesAreNotCheckedAgainstTheDesignThatStands(t *testing.T) {
	g := sample(t)
	for _, texts := range []map[string][]string{{"heel_width_top": {"75"}}, {"heel_width_cap": {"70"}}} {
		v, err := Parse(Optional(DesignFields()), texts, unit.Millimetre)
		if err != nil {
			t.Fatal(err)
		}
		e, err := g.Enter(StepDesign, v, firstDay.Add(100*time.Hour), "", Options{})
		if err != nil {
			t.Fatal(err)
		}
		g = g.With(e)
	}
	for range 2 {
		g, _, _ = g.Undo()
	}
	if _, err := Decode(Encode(g)); err != nil {
		t.Error(err)
	}
}

// edit changes a guitar file by replacing one text in it.
func edit(t *testing.T, data []byte, from, to string) []byte {
	t.Helper()
	if !bytes.Contains(data, []byte(from)) {
		t.Fatalf("the file holds no %q to change", from)
	}
	return bytes.Replace(data, []byte(from), []byte(to), 1)
}

func TestDecodeRefuses(t *testing.T) {
	data := Encode(sample(t))
	shop := EncodeShop([]Guitar{sample(t), repairSample(t)})
	for _, c := range []struct {
		name string
		data []byte
		says string
	}{
		{"nothing", nil, "not readable as JSON"},
		{"not JSON", []byte("guitar"), "not readable as JSON"},
		{"cut short", data[:len(data)/2], "not readable as JSON"},
		{"not text", append([]byte("{\"format\": \"\xff\xfe"), data...), "UTF-8"},
		{"trailing data", append(bytes.Clone(data), "{}"...), "not readable as JSON"},
		{"another program's file", []byte(`{"format": "something.else", "version": 1}`), `"something.else"; expected "fairset.guitar"`},
		{"no format", []byte(`{}`), "format"},
		{"newer version", edit(t, data, `"version": 1`, `"version": 2`), "newer program"},
		{"version 0", edit(t, data, `"version": 1`, `"version": 0`), "allowed: 1 to 1"},
		{"version in words", edit(t, data, `"version": 1`, `"version": "1"`), "version"},
		{"unknown member", edit(t, data, `"version": 1`, `"version": 1, "colour": "red"`), "colour"},
		{"unknown member of the guitar", edit(t, data, `"name": "Larch"`, `"name": "Larch", "colour": "red"`), "colour"},
		{"capital key", edit(t, data, `"name": "Larch"`, `"Name": "Larch"`), `unknown member "Name"`},
		{"escaped key", edit(t, data, `"name": "Larch"`, `"\u006eame": "Larch"`), "unknown member"},
		{"member twice", edit(t, data, `"name": "Larch"`, `"name": "Larch", "name": "Elm"`), "given twice"},
		{"null", edit(t, data, `"name": "Larch"`, `"name": null`), "null"},
		{"no name", edit(t, data, `"name": "Larch"`, `"name": " "`), "a name is needed"},
		{"bad id", edit(t, data, `"id": "q7k4mb"`, `"id": "../q7"`), "id"},
		{"both a guitar and a list", edit(t, data, `"version": 1`, `"version": 1, "guitars": []`), "holds one guitar"},
		{"unknown figure", edit(t, data, `"scale_length"`, `"scale_width"`), `unknown figure "scale_width"`},
		{"missing figure", edit(t, data, `"side_limit": {`+"\n        \"percent\": 33\n      },", ``), "is missing"},
		{"figure out of range", edit(t, data, `"mm": 647.7`, `"mm": 64770`), "scale length"},
		{"figure not the typed one", edit(t, data, `"mm": 647.7`, `"mm": 648.7`), `typed "25 1/2" is not the figure beside it`},
		{"figure as text", edit(t, data, `"mm": 647.7`, `"mm": "647.7"`), "not a number"},
		{"figure under another unit", edit(t, data, `"mm": 647.7`, `"deg": 647.7`), `"mm"`},
		{"figure in two units", edit(t, data, `"mm": 647.7`, `"mm": 647.7, "deg": 3`), `"mm"`},
		{"absurd exponent", edit(t, data, `"mm": 647.7`, `"mm": 6e999999999`), "exponent"},
		{"endless digits", edit(t, data, `"mm": 647.7`, `"mm": 647.7`+strings.Repeat("0", 100)), "digits"},
		{"half a fret", edit(t, data, `"value": 14`, `"value": 14.5`), "whole number"},
		{"unknown step", edit(t, data, `"step": "tenon"`, `"step": "sing"`), `unknown step "sing"`},
		{"numbering", edit(t, data, `"seq": 2`, `"seq": 3`), "expected 2"},
		{"impossible day", edit(t, data, `"created": "2026-03-02T`, `"created": "2026-13-02T`), "month out of range"},
		{"no figures of a seat", edit(t, data, `"arc_chord"`, `"arc_radius"`), "log[1]"},
		{"plan far off", edit(t, data, `"gap_change_mm": `, `"gap_change_mm": 9999`), "plan"},
		{"plan where none belongs", edit(t, data, `"step": "tenon",`, `"step": "tenon", "plan": {"gap_change_mm": 0, "offset_change_mm": 0, "depth_mm": {"top_bass": 0, "top_treble": 0, "cap_bass": 0, "cap_treble": 0}, "neck_shift_mm": 0, "sd_fraction": 0, "risk_fraction": 0},`), "needs a plan"},
		{"second guitar of a shop", edit(t, shop, `"name": "Old alder"`, `"name": ""`), "guitars[1].name"},
		{"deep nesting", []byte(strings.Repeat("[", 1000) + strings.Repeat("]", 1000)), "nested deeper"},
		{"very deep nesting", bytes.Repeat([]byte("["), 1<<20), "not readable as JSON"},
		{"long list", []byte(`{"format": "fairset.shop", "version": 1, "guitars": [` + strings.Repeat("{},", 1<<20) + `{}]}`), "longer than any"},
		{"many members", []byte(`{` + manyMembers(1000) + `}`), "longer than any"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Decode(c.data)
			var fe *FileError
			if got != nil || !errors.As(err, &fe) {
				t.Fatalf("got %d guitars and %v; want a *FileError and nothing else", len(got), err)
			}
			if !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %q, want it to say %q", err, c.says)
			}
			if (c.name == "newer version") != fe.Newer {
				t.Errorf("Newer is %v", fe.Newer)
			}
		})
	}
}

func manyMembers(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `"k%d": 1,`, i)
	}
	return b.String() + `"k": 1`
}

func TestDecodeBoundsTheFile(t *testing.T) {
	if _, err := Decode(make([]byte, MaxFile+1)); err == nil || !strings.Contains(err.Error(), "larger than") {
		t.Errorf("got %v", err)
	}
}

// airAt is so many readings a minute apart, from two places.
func airAt(n int) []climate.Reading {
	var out []climate.Reading
	for i := range n {
		out = append(out, climate.Reading{At: time.Date(2026, 3, 2, 9, i, 0, 0, time.UTC), Place: []string{"bench", "=store"}[i%2], Temperature: 20 + float64(i%30)/10, Humidity: 40 + float64(i%100)/8})
	}
	return out
}

// The air goes out with a shop and comes back; what it makes of a file without it stays as older programs read it.
func TestShopFileHoldsTheAir(t *testing.T) {
	gs := []Guitar{sample(t), repairSample(t)}
	bare := EncodeShop(gs)
	if !bytes.Contains(bare, []byte(`"version": 1,`)) || bytes.Contains(bare, []byte("air_csv")) {
		t.Errorf("a shop without air is not of version 1: %.120s", bare)
	}
	for _, n := range []int{1, 3, airChunk + 1} {
		air := airAt(n)
		data := EncodeShopFile(ShopFile{gs, air})
		if !bytes.Contains(data, []byte(`"version": 2,`)) {
			t.Errorf("a shop with air is not of version 2: %.120s", data)
		}
		got, err := DecodeFile(data)
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Guitars) != 2 || !reflect.DeepEqual(got.Air, air) {
			t.Errorf("%d readings went out, %d guitars and %d readings came back", n, len(got.Guitars), len(got.Air))
		}
		if n == 3 {
			if err := valid(t, compiled(t), data); err != nil {
				t.Errorf("the schema refuses it: %v", err)
			}
			if one, err := Decode(data); err != nil || len(one) != 2 {
				t.Errorf("%d guitars, %v", len(one), err)
			}
		}
	}
	data := EncodeShopFile(ShopFile{gs, airAt(3)})
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"version 1 with air": {edit(t, data, `"version": 2`, `"version": 1`), "version 2"},
		"version 3":          {edit(t, data, `"version": 2`, `"version": 3`), "newer program"},
		"no table":           {edit(t, data, `"time,place,`, `"nothing,`), "air_csv[0]"},
		"a bad line":         {edit(t, data, `bench,20,`, `bench,900,`), "air_csv[0]: line 2"},
		"a guitar with air":  {edit(t, Encode(gs[0]), `"version": 1,`, `"version": 1, "air_csv": ["time"],`), "air_csv"},
	} {
		var fe *FileError
		if got, err := DecodeFile(c.data); !errors.As(err, &fe) || !strings.Contains(err.Error(), c.says) || len(got.Guitars) > 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// What a hostile file makes the reader allocate stays in proportion to its size.
func TestDecodeAllocatesInProportion(t *testing.T) {
	entries := `{"format": "fairset.guitar", "version": 1, "guitar": {"name": "x", "log": [` + strings.Repeat("{},", maxLog-1) + `{}]}}`
	for name, data := range map[string]string{
		"empty entries": entries,
		"deep":          strings.Repeat(`{"a":`, 5000) + "1" + strings.Repeat("}", 5000),
		"wide":          "[" + strings.Repeat("[],", 1<<20) + "[]]",
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Decode([]byte(data))
		runtime.ReadMemStats(&after)
		if err == nil {
			t.Errorf("%s: accepted", name)
		}
		// An empty entry of 3 bytes is kept as a list element of 24, in a list that grows by a quarter at a time.
		if got := after.TotalAlloc - before.TotalAlloc; got > uint64(64*len(data)) {
			t.Errorf("%s: %d bytes of file made %d bytes of memory", name, len(data), got)
		}
	}
}

func TestMarkOfSomeEditorsIsTaken(t *testing.T) {
	if _, err := Decode(append([]byte("\xef\xbb\xbf"), Encode(sample(t))...)); err != nil {
		t.Error(err)
	}
}

// The golden only proves that files written so far still read and are written the same.
func TestGoldenFile(t *testing.T) {
	path := filepath.Join("testdata", "guitar-1.json")
	data := Encode(sample(t))
	if *update {
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Decode(want)
	if err != nil {
		t.Fatal(err)
	}
	if again := Encode(got[0]); !bytes.Equal(again, want) {
		t.Errorf("the golden file is written differently now")
	}
}

func FuzzDecode(f *testing.F) {
	f.Add(Encode(sample(f)))
	f.Add(Encode(repairSample(f)))
	f.Add(EncodeShop([]Guitar{sample(f)}))
	f.Add([]byte(`{"format": "fairset.shop", "version": 1, "guitars": []}`))
	f.Add([]byte(`{"format": "fairset.guitar", "version": 9, "guitar": {}}`))
	f.Add([]byte(`{"a": [[[[{"b": null}]]]]}`))
	f.Add([]byte(`"\`))
	f.Fuzz(func(t *testing.T, data []byte) {
		gs, err := Decode(data)
		if err != nil {
			var fe *FileError
			if !errors.As(err, &fe) || gs != nil {
				t.Fatalf("%T %v with %d guitars", err, err, len(gs))
			}
			return
		}
		again, err := Decode(EncodeShop(gs))
		if err != nil {
			t.Fatalf("what was read cannot be written and read again: %v", err)
		}
		if !bytes.Equal(EncodeShop(again), EncodeShop(gs)) {
			t.Fatal("written twice, two files")
		}
		for _, g := range gs {
			g.Bench(Options{}) // never panics on anything a file can hold
		}
	})
}

func FuzzWellFormed(f *testing.F) {
	for _, s := range []string{`{}`, `[1, "a\"b", {"a": []}]`, `{"a": {"a": 1}, "b": "}"}`, `"\\"`, `1`, `{"a":1,"a":2}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if wellFormed(data) != nil {
			return
		}
		// source: encoding/json as a second reader. Reading into maps loses nothing only if no name came twice.
		// Numbers too large for a float64 are well made; the figure's own range refuses them later.
		var v any
		d := json.NewDecoder(bytes.NewReader(data))
		d.UseNumber()
		if err := d.Decode(&v); err != nil {
			t.Fatalf("let through what is not JSON: %v", err)
		}
		out, _ := json.Marshal(v)
		if strings.Count(string(out), ":") > strings.Count(string(data), ":") {
			t.Fatal("members appeared")
		}
	})
}

func BenchmarkEncode(b *testing.B) {
	g := sample(b)
	for b.Loop() {
		Encode(g)
	}
}

func BenchmarkDecode(b *testing.B) {
	data := Encode(sample(b))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Decode(data); err != nil {
			b.Fatal(err)
		}
	}
}
