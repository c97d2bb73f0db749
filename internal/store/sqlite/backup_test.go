package sqlite

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"fairset/craft/guitar"
	"fairset/internal/store"
	"fairset/internal/store/storetest"
)

func contents(t *testing.T, path string) map[string]string {
	t.Helper()
	s := openAt(t, path)
	defer s.Close()
	on, err := s.List(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, r := range on {
		out[r.Guitar.ID] = string(guitar.Encode(r.Guitar))
	}
	return out
}

// A copy made while benches save holds, of each, what was acknowledged before it was begun, and nothing torn.
func TestBackupWhileBenchesSave(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.db")
	s := openAt(t, path)
	template := storetest.Lean(t, storetest.New(t, "x"), 1)
	ctx, stop := context.WithCancel(t.Context())
	var wg sync.WaitGroup
	var mu sync.Mutex
	acknowledged := map[string]int{}
	for n := range 4 {
		r, err := s.Create(t.Context(), storetest.New(t, fmt.Sprintf("Guitar %d", n)))
		if err != nil {
			t.Fatal(err)
		}
		wg.Go(func() {
			for ctx.Err() == nil {
				e := template
				e.Seq = len(r.Guitar.Log) + 1
				after, err := s.Append(context.Background(), r.Guitar.ID, r.Revision, e)
				if err != nil {
					t.Error(err)
					return
				}
				r = after
				mu.Lock()
				acknowledged[r.Guitar.ID] = e.Seq
				mu.Unlock()
			}
		})
	}
	for n := range 5 {
		time.Sleep(20 * time.Millisecond)
		mu.Lock()
		before := map[string]int{}
		for id, seq := range acknowledged {
			before[id] = seq
		}
		mu.Unlock()
		to := filepath.Join(dir, fmt.Sprintf("copy-%d.db", n))
		if err := s.Backup(t.Context(), to); err != nil {
			t.Fatal(err)
		}
		c, err := Examine(t.Context(), to)
		if err != nil || c.Guitars != 4 || !c.Summed {
			t.Fatalf("%+v, %v", c, err)
		}
		if st, err := os.Stat(to); err != nil || st.Mode().Perm() != 0o600 {
			t.Errorf("the copy's mode is %v, %v", st.Mode(), err)
		}
		held := openAt(t, to)
		for id, seq := range before {
			r, err := held.Get(t.Context(), id)
			if err != nil || len(r.Guitar.Log) < seq {
				t.Errorf("%s: %d entries in the copy, %d were acknowledged, %v", id, len(r.Guitar.Log), seq, err)
			}
		}
		held.Close()
	}
	stop()
	wg.Wait()
	if err := s.Backup(t.Context(), filepath.Join(dir, "copy-1.db")); !errors.Is(err, store.ErrInvalid) {
		t.Errorf("over another copy: %v", err)
	}
	if err := s.Backup(t.Context(), filepath.Join(dir, "none", "copy.db")); store.KindOf(err) != store.NotFound {
		t.Errorf("into no folder: %v", err)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Backup(gone, filepath.Join(dir, "late.db")); !errors.Is(err, context.Canceled) {
		t.Errorf("broken off: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestRestore(t *testing.T) {
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "shop.db"), filepath.Join(dir, "copy.db")
	s := openAt(t, path)
	if _, err := s.Create(t.Context(), storetest.Worked(t, "Larch")); err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Create(t.Context(), storetest.Worked(t, "Elm")); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), copied, path, storetest.Day); !errors.Is(err, store.ErrBusy) || !strings.Contains(storetest.KindlySaid(err), "open in another program") {
		t.Fatalf("while it is open: %v", err)
	}
	if all, err := s.List(t.Context()); err != nil || len(all) != 2 {
		t.Fatalf("after the refusal %d guitars, %v", len(all), err)
	}
	if _, err := s.Create(t.Context(), storetest.Worked(t, "Yew")); err != nil {
		t.Fatalf("after the refusal: %v", err)
	}
	s.Close()
	now := contents(t, path)
	r, err := Restore(t.Context(), copied, path, storetest.Day)
	if err != nil || r.Guitars != 1 || r.Aside != path+".before-20260302-090000" {
		t.Fatalf("%+v, %v", r, err)
	}
	if got := contents(t, path); len(got) != 1 {
		t.Errorf("%d guitars after restoring", len(got))
	}
	if got := contents(t, r.Aside); !reflect.DeepEqual(got, now) || len(got) != 3 {
		t.Errorf("%d guitars kept aside, want the 3 that were there", len(got))
	}
	if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", st.Mode(), err)
	}
	// And back again; and where no shop is.
	if r, err = Restore(t.Context(), r.Aside, path, storetest.Day); err != nil || len(contents(t, path)) != 3 || r.Aside != path+".before-20260302-090000-2" {
		t.Errorf("back again: %+v, %v", r, err)
	}
	fresh := filepath.Join(dir, "fresh.db")
	if r, err := Restore(t.Context(), copied, fresh, storetest.Day); err != nil || r.Aside != "" || len(contents(t, fresh)) != 1 {
		t.Errorf("where none was: %+v, %v", r, err)
	}
	if st, err := os.Stat(fresh); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", st.Mode(), err)
	}
	if _, err := Restore(t.Context(), path, path, storetest.Day); !errors.Is(err, store.ErrInvalid) {
		t.Errorf("from itself: %v", err)
	}
}

// Another program's hold is seen as well as this one's.
func TestRestoreSeesAnotherProgram(t *testing.T) {
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "shop.db"), filepath.Join(dir, "copy.db")
	s := openAt(t, path)
	r, err := s.Create(t.Context(), storetest.New(t, "Larch"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err = s.Append(t.Context(), r.Guitar.ID, r.Revision, storetest.Lean(t, r.Guitar, 1)); err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	s.Close()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := out.Read(make([]byte, 1)); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), copied, path, storetest.Day); !errors.Is(err, store.ErrBusy) {
		t.Errorf("got %v, want an error of kind busy", err)
	}
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	// What a killed program left in the log is in the file kept aside.
	r2, err := Restore(t.Context(), copied, path, storetest.Day)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range contents(t, r2.Aside) {
		gs, err := guitar.Decode([]byte(g))
		if err != nil || len(gs[0].Log) < 2 {
			t.Errorf("%d entries kept aside, %v; want what the killed program saved", len(gs[0].Log), err)
		}
	}
}

func TestRestoreRefusesBadCopies(t *testing.T) {
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "shop.db"), filepath.Join(dir, "copy.db")
	whole(t, path)
	s := openAt(t, path)
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	s.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	sound, err := os.ReadFile(copied)
	if err != nil {
		t.Fatal(err)
	}
	newer := bytes.Clone(sound)
	newer[63] = 99
	for _, c := range []struct {
		name string
		data []byte
		want *store.Error
	}{
		{"cut in half", sound[:len(sound)/2], store.ErrDamaged},
		{"empty", nil, store.ErrDamaged},
		{"a letter", []byte("dear diary"), store.ErrForeign},
		{"an exported shop", guitar.EncodeShop([]guitar.Guitar{storetest.Worked(t, "Larch")}), store.ErrForeign},
		{"a newer program's", newer, store.ErrNewer},
	} {
		bad := filepath.Join(dir, "bad.db")
		if err := os.WriteFile(bad, c.data, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Restore(t.Context(), bad, path, storetest.Day); !errors.Is(err, c.want) || storetest.KindlySaid(err) == "" {
			t.Errorf("%s: got %v, want an error of kind %q", c.name, err, c.want.Kind)
		}
	}
	if _, err := Restore(t.Context(), filepath.Join(dir, "none.db"), path, storetest.Day); store.KindOf(err) != store.NotFound {
		t.Errorf("no copy: %v", err)
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the shop's file was changed: %v", err)
	}
	if left, _ := filepath.Glob(path + ".before-*"); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Copies of every schema there ever was can be examined and restored.
func TestRestoreOldSchemas(t *testing.T) {
	all, err := steps()
	if err != nil {
		t.Fatal(err)
	}
	own := len(all)
	for n := 1; n <= own; n++ {
		kept := filepath.Join("testdata", fmt.Sprintf("schema-%d.sqlite", n))
		c, err := Examine(t.Context(), kept)
		if err != nil || c.Schema != n || c.Older != (n < own) {
			t.Errorf("schema %d: %+v, %v", n, c, err)
		}
		path := filepath.Join(t.TempDir(), "shop.db")
		if _, err := Restore(t.Context(), kept, path, storetest.Day); err != nil {
			t.Fatal(err)
		}
		if got := contents(t, path); len(got) != 2 {
			t.Errorf("schema %d: %d guitars", n, len(got))
		}
	}
}

// One flipped bit anywhere in a copy is found by its sum; a cut anywhere too. One in the shop's own file is refused
// with a sentence that says how to go back, or found by Check, or changes nothing that can be read. What is found then
// gives way to the copy.
func TestDamageAnywhere(t *testing.T) {
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "shop.db"), filepath.Join(dir, "copy.db")
	sound := whole(t, path)
	s := openAt(t, path)
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	s.Close()
	want := contents(t, path)
	rnd := rand.New(rand.NewPCG(20260302, 9))
	tries := 150
	if testing.Short() {
		tries = 20
	}
	whatCopy, err := os.ReadFile(copied)
	if err != nil {
		t.Fatal(err)
	}
	sum, err := os.ReadFile(copied + sumSuffix)
	if err != nil {
		t.Fatal(err)
	}
	spoilt := filepath.Join(dir, "spoilt.db")
	if err := os.WriteFile(spoilt+sumSuffix, sum, 0o600); err != nil {
		t.Fatal(err)
	}
	counts := map[string]int{}
	for n := range tries {
		flip := func(data []byte) []byte {
			out := bytes.Clone(data)
			out[rnd.IntN(len(out))] ^= 1 << rnd.IntN(8)
			return out
		}
		cut := func(data []byte) []byte { return data[:rnd.IntN(len(data))] }
		harm, kind := flip, "flipped"
		if n%3 == 2 {
			harm, kind = cut, "cut"
		}
		if err := os.WriteFile(spoilt, harm(whatCopy), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Examine(t.Context(), spoilt); err == nil || storetest.KindlySaid(err) == "" {
			t.Errorf("a %s copy passes: %v", kind, err)
		}
		at := filepath.Join(dir, fmt.Sprintf("at-%d.db", n))
		data := harm(sound)
		if len(data) == 0 {
			continue // an empty file is a new shop's
		}
		if err := os.WriteFile(at, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(t.Context(), at, Options{})
		if err == nil {
			err = s.Check(t.Context())
			s.Close()
		}
		if err == nil {
			got := contents(t, at)
			switch {
			case reflect.DeepEqual(got, want):
				counts[kind+", nothing readable changed"]++
			case kind == "cut":
				t.Errorf("cut to %d bytes and nothing said", len(data))
			default:
				t.Errorf("a bit flipped and nothing said")
			}
			continue
		}
		counts[kind+", found"]++
		say := storetest.KindlySaid(err)
		if say == "" || store.KindOf(err) == store.Internal {
			t.Errorf("%s: %v says nothing to a person", kind, err)
		}
		if store.KindOf(err) == store.Damaged && !strings.Contains(say, "fairset backup restore") {
			t.Errorf("%s: does not say how to go back: %s", kind, say)
		}
		if n%5 == 0 {
			if _, err := Restore(t.Context(), copied, at, storetest.Day); err != nil {
				t.Errorf("%s: restoring: %v", kind, err)
			} else if got := contents(t, at); !reflect.DeepEqual(got, want) {
				t.Errorf("%s: restored, it differs", kind)
			}
		}
	}
	t.Log(counts)
	if counts["flipped, found"] == 0 || counts["cut, found"] == 0 {
		t.Errorf("too little was found: %v", counts)
	}
}
