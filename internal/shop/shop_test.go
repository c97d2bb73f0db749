package shop

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"reflect"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fairset/craft/climate"
	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/sqlite"
	"fairset/internal/store/storetest"
	"fairset/unit"
)

func testShop(t testing.TB) *Shop {
	t.Helper()
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	var minutes atomic.Int64 // each look at the clock is a minute later, from whichever side
	s := New(db)
	s.Now = func() time.Time { return storetest.Day.Add(time.Duration(minutes.Add(1)) * time.Minute) }
	return s
}

func larch(t testing.TB, s *Shop) View {
	t.Helper()
	v, err := s.NewFromDesign(t.Context(), "Larch", "steel-14", map[string][]string{"scale_length": {"25 1/2"}}, unit.Inch64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func enter(t testing.TB, s *Shop, v View, step guitar.Step, texts map[string][]string) View {
	t.Helper()
	v, err := s.Enter(t.Context(), v.Guitar.ID, v.Revision, step, texts, unit.Millimetre, "bench 3")
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func lean(gap string) map[string][]string {
	return map[string][]string{"gap": {gap}, "surface": {"frets"}, "graduation": {"0.1"}}
}

func point(offset string) map[string][]string {
	return map[string][]string{"offset": {offset}, "toward": {"treble"}, "graduation": {"0.5"}}
}

func TestAGuitarFromDesignToCut(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	if got := v.Guitar.First["scale_length"][0]; got.Text != "25 1/2" || got.SI != 0.6477 { // source: 25.5 × 25.4 mm
		t.Errorf("scale length kept as %+v", got)
	}
	v = enter(t, s, v, guitar.StepLean, lean("4.0"))
	v = enter(t, s, v, guitar.StepPoint, point("1.5"))
	if v.Bench.Cut == nil || v.Bench.Cut.Cut.Planned.Deepest() <= 0 {
		t.Fatalf("no cut is asked for: %+v", v.Bench.Cut)
	}
	planned := v.Bench.Cut.Cut.PlannedGap
	v = enter(t, s, v, guitar.StepCut, map[string][]string{"tool": {v.Bench.Cut.Tool.Key}, "judged": {"marks"}})
	last := v.Guitar.Log[2]
	if last.Plan == nil || last.Plan.GapChange != planned || last.Bench != "bench 3" || !last.At.Equal(storetest.Day.Add(4*time.Minute).Truncate(time.Millisecond)) {
		t.Errorf("the cut was kept as %+v with plan %+v", last, last.Plan)
	}
	again, err := s.Guitar(t.Context(), "larch")
	if err != nil || !reflect.DeepEqual(again, v) {
		t.Errorf("found again by name it differs, %v", err)
	}
	v, e, err := s.Undo(t.Context(), v.Guitar.ID, v.Revision)
	if err != nil || e.Step != guitar.StepCut || len(v.Bench.Passes) != 0 {
		t.Errorf("undo: %v, %v, %d passes left", e.Step, err, len(v.Bench.Passes))
	}
}

// Bad input names the field and nothing of it is kept.
func TestBadInputKeepsNothing(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	for name, texts := range map[string]map[string][]string{
		"gap":        {"gap": {"70 mm"}, "surface": {"frets"}, "graduation": {"0.1"}},
		"surface":    {"gap": {"7"}, "surface": {"moon"}, "graduation": {"0.1"}},
		"graduation": {"gap": {"7"}, "surface": {"frets"}},
		"sap":        {"gap": {"7"}, "surface": {"frets"}, "graduation": {"0.1"}, "sap": {"1"}},
	} {
		_, err := s.Enter(t.Context(), v.Guitar.ID, v.Revision, guitar.StepLean, texts, unit.Millimetre, "")
		var ps guitar.Problems
		if !errors.As(err, &ps) || len(ps) != 1 || ps[0].Field != name {
			t.Errorf("%s: got %v", name, err)
		}
		if Status(err) != http.StatusUnprocessableEntity || ExitCode(err) != 2 || Sentence(err) == "" {
			t.Errorf("%s: status %d, exit %d, %q", name, Status(err), ExitCode(err), Sentence(err))
		}
	}
	if _, err := s.Enter(t.Context(), v.Guitar.ID, v.Revision, "sing", nil, unit.Millimetre, ""); Status(err) != http.StatusNotFound {
		t.Errorf("an unknown step: %v", err)
	}
	if _, err := s.Enter(t.Context(), v.Guitar.ID, v.Revision, guitar.StepLean, lean("7"), unit.Millimetre, strings.Repeat("x", 100)); Status(err) != http.StatusUnprocessableEntity {
		t.Errorf("an endless bench name: %v", err)
	}
	_, err := s.NewFromDesign(t.Context(), " ", "steel-14", map[string][]string{"scale_length": {"5"}}, unit.Millimetre)
	var ps guitar.Problems
	if !errors.As(err, &ps) || ps.For("name") == nil || ps.For("scale_length") == nil {
		t.Errorf("two mistakes on one form: got %v, want both", err)
	}
	now, err := s.Guitar(t.Context(), v.Guitar.ID)
	if err != nil || now.Revision != v.Revision || len(now.Guitar.Log) != 0 {
		t.Errorf("something was kept: %v, %v", now.Record, err)
	}
	if all, err := s.Guitars(t.Context()); err != nil || len(all) != 1 {
		t.Errorf("%d guitars, %v", len(all), err)
	}
}

func TestTwoBenches(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	enter(t, s, v, guitar.StepLean, lean("4.0"))
	for name, change := range map[string]func() error{
		"enter": func() error {
			_, err := s.Enter(t.Context(), v.Guitar.ID, v.Revision, guitar.StepPoint, point("1"), unit.Millimetre, "bench 1")
			return err
		},
		"change": func() error {
			_, err := s.Change(t.Context(), v.Guitar.ID, v.Revision, map[string][]string{"bridge_thickness": {"9"}}, unit.Millimetre, "bench 1")
			return err
		},
		"undo":   func() error { _, _, err := s.Undo(t.Context(), v.Guitar.ID, v.Revision); return err },
		"rename": func() error { _, err := s.Rename(t.Context(), v.Guitar.ID, v.Revision, "Elm"); return err },
		"remove": func() error { _, err := s.Remove(t.Context(), v.Guitar.ID, v.Revision); return err },
	} {
		err := change()
		now, ok := store.Current(err)
		if Status(err) != http.StatusConflict || ExitCode(err) != 4 || !ok || len(now.Guitar.Log) != 1 {
			t.Errorf("%s: got %v, want a conflict carrying what the other bench entered", name, err)
		}
		if say := Sentence(err); !strings.Contains(say, "bench 3") {
			t.Errorf("%s: does not say who: %s", name, say)
		}
	}
}

func TestChangeKeepsOnlyWhatDiffers(t *testing.T) {
	s := testShop(t)
	v := larch(t, s)
	// A whole form as it is shown, in any units, is no change.
	for _, style := range unit.Styles() {
		form := map[string][]string{}
		for _, f := range guitar.DesignFields() {
			form[f.Field] = []string{""}
			for i, x := range v.Guitar.Design()[f.Field] {
				if i == 0 {
					form[f.Field] = nil
				}
				form[f.Field] = append(form[f.Field], f.Edit(x, style))
			}
		}
		now, err := s.Change(t.Context(), v.Guitar.ID, v.Revision, form, style, "")
		if err != nil || now.Revision != v.Revision {
			t.Fatalf("%s: the form as shown made revision %d of %d, %v: %v", style, now.Revision, v.Revision, err, now.Guitar.Log)
		}
		form["bridge_thickness"] = []string{"5/16"}
		form["scale_length_give"] = []string{"0.2 mm"}
		now, err = s.Enter(t.Context(), v.Guitar.ID, v.Revision, guitar.StepDesign, form, style, "")
		if err != nil {
			t.Fatal(err)
		}
		if got := now.Guitar.Log[0].Values; len(got) != 2 || got["bridge_thickness"][0].Text != "5/16" {
			t.Errorf("%s: kept %v, want only the two figures that differ", style, got)
		}
		// Left out stays, blank takes away what is optional and is refused for what is not.
		now, err = s.Change(t.Context(), v.Guitar.ID, now.Revision, map[string][]string{"scale_length_give": {" "}}, style, "")
		if err != nil || now.Guitar.Design().Has("scale_length_give") || now.Guitar.Design()["bridge_thickness"][0].Text != "5/16" {
			t.Errorf("%s: taking a figure away: %v, %v", style, now.Guitar.Design(), err)
		}
		if _, err := s.Change(t.Context(), v.Guitar.ID, now.Revision, map[string][]string{"bridge_thickness": {""}}, style, ""); Status(err) != http.StatusUnprocessableEntity {
			t.Errorf("%s: a needed figure was blanked: %v", style, err)
		}
		v, err = s.NewFromDesign(t.Context(), "Larch "+string(style), "steel-14", nil, style)
		if err != nil {
			t.Fatal(err)
		}
	}
}

func TestFindByNameOrID(t *testing.T) {
	s := testShop(t)
	a, b := larch(t, s), larch(t, s)
	elm, err := s.NewFromDesign(t.Context(), "Weeping elm", "steel-12", nil, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	if v, err := s.Guitar(t.Context(), " weeping  ELM "); err != nil || v.Guitar.ID != elm.Guitar.ID {
		t.Errorf("by name: %v", err)
	}
	if v, err := s.Guitar(t.Context(), a.Guitar.ID); err != nil || v.Guitar.ID != a.Guitar.ID {
		t.Errorf("by id: %v", err)
	}
	_, err = s.Guitar(t.Context(), "Larch")
	if ExitCode(err) != 2 || !strings.Contains(Sentence(err), a.Guitar.ID) || !strings.Contains(Sentence(err), b.Guitar.ID) {
		t.Errorf("a name of two: %v", err)
	}
	_, err = s.Guitar(t.Context(), "Yew")
	if ExitCode(err) != 3 || Status(err) != http.StatusNotFound {
		t.Errorf("nobody's name: %v", err)
	}
}

func TestRepair(t *testing.T) {
	s := testShop(t)
	_, err := s.NewRepair(t.Context(), "Old alder", map[string][]string{"scale_length": {"25.4 in"}}, unit.Inch64)
	var ps guitar.Problems
	if !errors.As(err, &ps) || ps.For("saddle_distance") == nil || ps.For("action_bass_now") == nil {
		t.Errorf("what must be read: got %v", err)
	}
	v, err := s.NewRepair(t.Context(), "Old alder", map[string][]string{"scale_length": {"25.4 in"}, "saddle_distance": {"286"}, "action_bass_now": {"4.2"}, "action_treble_now": {"3.6"}}, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	v = enter(t, s, v, guitar.StepLean, lean("3.5"))
	v = enter(t, s, v, guitar.StepPoint, point("0.5"))
	if v.Bench.Cut == nil {
		t.Error("no cut for the repair")
	}
}

func TestExportImport(t *testing.T) {
	s := testShop(t)
	v := enter(t, s, larch(t, s), guitar.StepLean, lean("4.0"))
	all, err := s.ExportAll(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	one, err := s.Export(t.Context(), "Larch")
	if err != nil {
		t.Fatal(err)
	}
	other := testShop(t)
	for _, data := range [][]byte{all, one} {
		got, err := other.Import(t.Context(), data)
		if err != nil || got.HadAir || len(got.Guitars) != 1 || !reflect.DeepEqual(got.Guitars[0].Record.Guitar, v.Guitar) {
			t.Errorf("import: %+v, %v", got, err)
		}
	}
	if again, err := other.ExportAll(t.Context()); err != nil || !bytes.Equal(again, all) {
		t.Errorf("exported again it differs, %v", err)
	}
	newer := bytes.Replace(all, []byte(`"version": 1`), []byte(`"version": 7`), 1)
	for name, data := range map[string][]byte{"newer": newer, "junk": []byte("junk"), "empty": guitar.EncodeShop(nil)} {
		if _, err := other.Import(t.Context(), data); Status(err) != http.StatusUnprocessableEntity || Sentence(err) == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if KindOf(func() error { _, err := other.Import(t.Context(), newer); return err }()) != store.Newer {
		t.Error("a newer file is not said to be newer")
	}
}

// The air goes with the shop file, is taken in once, and is never written over.
func TestExportImportHoldsTheAir(t *testing.T) {
	ctx := t.Context()
	s := testShop(t)
	larch(t, s)
	if _, err := s.Store.AddClimate(ctx, storetest.Air()); err != nil {
		t.Fatal(err)
	}
	all, err := s.ExportAll(ctx)
	if err != nil {
		t.Fatal(err)
	}
	other := testShop(t)
	odd := storetest.Air()[0]
	odd.Humidity = 70
	if _, err := other.Store.AddClimate(ctx, []climate.Reading{odd}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []store.ClimateAdded{{Added: 2, Differ: storetest.Air()[:1]}, {Same: 2, Differ: storetest.Air()[:1]}} {
		got, err := other.Import(ctx, all)
		if err != nil || !got.HadAir || len(got.Guitars) != 1 || !reflect.DeepEqual(got.Air, want) {
			t.Errorf("taken in %+v, %v; want %+v", got, err, want)
		}
	}
	air, err := other.Store.Climate(ctx, time.Time{}, time.Time{})
	if err != nil || len(air) != 3 || air[0].Humidity != 70 {
		t.Errorf("the air is now %v, %v", air, err)
	}
	// A shop of air alone is no empty file.
	only := guitar.EncodeShopFile(guitar.ShopFile{Air: storetest.Air()})
	if got, err := testShop(t).Import(ctx, only); err != nil || got.Air.Added != 3 {
		t.Errorf("air alone: %+v, %v", got, err)
	}
}

// Everything is read and worked out again; what is warned of on the pages is warned of here.
func TestCheckReadsEverything(t *testing.T) {
	ctx := t.Context()
	s := testShop(t)
	v := enter(t, s, larch(t, s), guitar.StepLean, lean("4.0"))
	if _, err := s.Store.AddClimate(ctx, storetest.Air()); err != nil {
		t.Fatal(err)
	}
	elm, err := s.NewFromDesign(ctx, "Elm", "steel-14", nil, "mm")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Remove(ctx, elm.Guitar.ID, elm.Revision); err != nil {
		t.Fatal(err)
	}
	c, err := s.Check(ctx)
	if err != nil || c.Guitars != 1 || c.Removed != 1 || c.Entries != 1 || c.Readings != 3 || c.Differing() != 0 {
		t.Errorf("%+v, %v", c, err)
	}
	// A record that would not read back as it is.
	bad := v.Guitar
	bad.Log = append([]guitar.Entry{}, bad.Log...)
	bad.Log[0].Values = bad.Log[0].Values.Clone()
	bad.Log[0].Values["gap"][0].SI *= 1.1
	found := doubts(bad, guitar.Options{})
	if len(found) == 0 || !found[0].Differs || found[0].Name != bad.Name || !strings.Contains(found[0].Say.String(), "is not the figure beside it") {
		t.Errorf("a figure that is not the one typed: %+v", found)
	}
	bad.Log[0].Seq = 7
	if found := doubts(bad, guitar.Options{}); len(found) == 0 || !found[0].Differs {
		t.Errorf("an entry out of order: %+v", found)
	}
}

// The other guitars' passes are what a new guitar's rate starts from; a removed one teaches no more.
func TestTheShopTeaches(t *testing.T) {
	s := testShop(t)
	a := larch(t, s)
	a = enter(t, s, a, guitar.StepLean, lean("4.0"))
	a = enter(t, s, a, guitar.StepPoint, point("0.5"))
	tool := a.Bench.Cut.Tool.Key
	a = enter(t, s, a, guitar.StepCut, map[string][]string{"tool": {tool}, "judged": {"strokes"}, "strokes": {fmt.Sprint(max(1, a.Bench.Cut.Strokes))}})
	a = enter(t, s, a, guitar.StepLean, lean("6.0"))
	if len(a.Guitar.Teaches().Removals) != 1 {
		t.Fatalf("the pass teaches nothing: %v", a.Guitar.Teaches().Removals)
	}
	b, err := s.NewFromDesign(t.Context(), "Elm", "steel-14", nil, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	b = enter(t, s, b, guitar.StepLean, lean("4.0"))
	enter(t, s, b, guitar.StepPoint, point("0.5"))
	b, err = s.GuitarWith(t.Context(), "Elm", tool, "strokes")
	if err != nil || b.Bench.Cut.Rate.Shop != 1 || b.Bench.Cut.Tool.Key != tool {
		t.Errorf("the new guitar knows %d passes of the shop, %v; want 1", b.Bench.Cut.Rate.Shop, err)
	}
	if _, err = s.Remove(t.Context(), a.Guitar.ID, a.Revision); err != nil {
		t.Fatal(err)
	}
	if b, err = s.Guitar(t.Context(), "Elm"); err != nil || b.Bench.Cut.Rate.Shop != 0 {
		t.Errorf("the removed guitar still teaches: %v", err)
	}
	if gone, err := s.Removed(t.Context()); err != nil || len(gone) != 1 {
		t.Errorf("%d removed, %v", len(gone), err)
	}
	if _, err = s.Restore(t.Context(), a.Guitar.ID); err != nil {
		t.Fatal(err)
	}
	all, err := s.Guitars(t.Context())
	if err != nil || len(all) != 2 {
		t.Fatalf("%d guitars, %v", len(all), err)
	}
	for _, v := range all {
		if v.Guitar.ID == b.Guitar.ID && v.Bench.Cut.Rate.Shop != 1 {
			t.Error("the restored guitar does not teach")
		}
		if v.Guitar.ID == a.Guitar.ID && (v.Bench.Cut.Rate.Shop != 0 || v.Bench.Cut.Rate.Own != 1) {
			t.Error("a guitar's own pass is counted as the shop's")
		}
	}
}

func TestEveryKindHasItsAnswer(t *testing.T) {
	exits := map[int]store.Kind{}
	for _, k := range []store.Kind{store.Invalid, store.NotFound, store.Conflict, store.ReadOnly, store.Full, store.Busy, store.Away, store.Newer, store.Foreign, store.Damaged, store.Internal} {
		err := store.Errorf(k, errors.New("secret cause"), "A sentence.")
		if s := Status(err); s < 400 || s > 599 {
			t.Errorf("%s: status %d", k, s)
		}
		if twin, taken := exits[ExitCode(err)]; taken || ExitCode(err) == 0 {
			t.Errorf("%s: exit %d, as %s", k, ExitCode(err), twin)
		}
		exits[ExitCode(err)] = k
		if got := Sentence(fmt.Errorf("wrapped: %w", err)); got != "A sentence." {
			t.Errorf("%s: says %q", k, got)
		}
	}
	for _, err := range []error{errors.New("sql: secret"), context.Canceled} {
		if got := Sentence(err); strings.Contains(got, "secret") || got == "" || Status(err) != 500 || ExitCode(err) != 1 {
			t.Errorf("%v: says %q, status %d, exit %d", err, got, Status(err), ExitCode(err))
		}
	}
	if Status(nil) != 200 || ExitCode(nil) != 0 || Sentence(nil) != "" {
		t.Error("no error has an answer")
	}
}

// BenchmarkGuitars is what the front page asks for: a hundred guitars, each with its bench.
func BenchmarkGuitars(b *testing.B) {
	s := testShop(b)
	for i := range 100 {
		g := storetest.Worked(b, fmt.Sprint("Guitar ", i))
		if _, err := s.Store.Create(b.Context(), g); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if _, err := s.Guitars(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
}
