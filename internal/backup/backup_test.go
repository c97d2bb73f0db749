package backup

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"
)

var day = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) // a Monday

// Copies every six hours for ten weeks: those that stay are counted by hand. The newest 24 reach back 6 days; the
// newest of 14 days adds one for each of the 8 days before; the newest of 8 weeks those of the weeks before that.
func TestKeepByHand(t *testing.T) {
	var times []time.Time
	for n := range 10 * 7 * 4 {
		times = append(times, day.Add(time.Duration(n)*6*time.Hour))
	}
	now := times[len(times)-1]
	keep := Keep(times, now, Usual)
	var kept []time.Time
	for i, k := range keep {
		if k {
			kept = append(kept, times[i])
		}
	}
	slices.Reverse(kept)
	// Day 0 is a Monday at 9; copies fall at 3, 9, 15 and 21 o'clock. The last is 279*6 h after the first: day 70,
	// a Monday again, at 3. The newest 24 are day 70 at 3, days 69 to 65 whole and day 64 at 9, 15 and 21. Of 14 days
	// with a copy (70 to 57) 63 to 57 add one each. Of 8 ISO weeks the first three, which begin on days 70, 63 and 56,
	// have their newest among those already; five older ones end on days 55, 48, 41, 34 and 27.
	if len(kept) != 24+7+5 {
		t.Fatalf("%d copies stay, want 36", len(kept))
	}
	for i, d := range []int{63, 62, 61, 60, 59, 58, 57, 55, 48, 41, 34, 27} {
		want := time.Date(2026, 3, 2+d, 21, 0, 0, 0, time.UTC)
		if got := kept[24+i]; !got.Equal(want) {
			t.Errorf("after the newest 24, copy %d is of %v, want %v", i+1, got, want)
		}
	}
}

func times(t *rapid.T, name string) []time.Time {
	secs := rapid.SliceOfN(rapid.Int64Range(0, 400*24*3600), 0, 120).Draw(t, name)
	out := make([]time.Time, len(secs))
	for i, s := range secs {
		out[i] = day.Add(time.Duration(s) * time.Second)
	}
	return out
}

func policy(t *rapid.T) Policy {
	return Policy{rapid.IntRange(0, 30).Draw(t, "last"), rapid.IntRange(0, 20).Draw(t, "days"), rapid.IntRange(0, 10).Draw(t, "weeks")}
}

func left(ts []time.Time, now time.Time, p Policy) []time.Time {
	var out []time.Time
	for i, k := range Keep(ts, now, p) {
		if k {
			out = append(out, ts[i])
		}
	}
	return out
}

func TestKeepProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ts, p := times(t, "times"), policy(t)
		now := day.Add(time.Duration(rapid.Int64Range(-100*24*3600, 500*24*3600).Draw(t, "now")) * time.Second)
		kept := left(ts, now, p)
		past := 0
		for _, x := range ts {
			if !x.After(now) {
				past++
			}
		}
		keptPast := 0
		for _, x := range kept {
			if !x.After(now) {
				keptPast++
			}
		}
		if keptPast < min(past, max(p.Last, 1)) {
			t.Fatalf("%d of %d copies stay; the policy keeps the newest %d", keptPast, past, p.Last)
		}
		if most := 2 * (max(p.Last, 1) + p.Days + p.Weeks); len(kept) > most {
			t.Fatalf("%d copies stay, more than %d", len(kept), most)
		}
		for _, group := range []func(time.Time) bool{func(x time.Time) bool { return x.After(now) }, func(x time.Time) bool { return !x.After(now) }} {
			var newest time.Time
			for _, x := range ts {
				if group(x) && x.After(newest) {
					newest = x
				}
			}
			if !newest.IsZero() && !slices.ContainsFunc(kept, newest.Equal) {
				t.Fatalf("the newest, %v, goes", newest)
			}
		}
		if again := left(kept, now, p); len(again) != len(kept) {
			t.Fatalf("thinned once %d stay, thinned again %d", len(kept), len(again))
		}
		// The order in which they are found does not matter.
		turned := slices.Clone(ts)
		slices.Reverse(turned)
		a, b := slices.Clone(kept), left(turned, now, p)
		for _, x := range [][]time.Time{a, b} {
			slices.SortFunc(x, time.Time.Compare)
		}
		if !slices.EqualFunc(a, b, time.Time.Equal) {
			t.Fatalf("found in another order, %v stay instead of %v", b, a)
		}
	})
}

// A clock that jumps, forward or back, costs only what the next copies would have cost anyway.
func TestKeepThroughClockJumps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ts := times(t, "times")
		now := day.Add(400 * 24 * time.Hour)
		settled := left(ts, now, Usual)
		jump := time.Duration(rapid.Int64Range(1, 40*365*24).Draw(t, "hours")) * time.Hour
		if ahead := left(settled, now.Add(jump), Usual); len(ahead) != len(settled) {
			t.Fatalf("a clock %v ahead removes %d copies", jump, len(settled)-len(ahead))
		}
		if back := left(settled, now.Add(-jump), Usual); len(back) != len(settled) {
			t.Fatalf("a clock %v behind removes %d copies", jump, len(settled)-len(back))
		}
		// Copies made while it was ahead drive out none of the rest once it is right again.
		mixed := slices.Clone(settled)
		for n := range rapid.IntRange(0, 60).Draw(t, "wrong") {
			mixed = append(mixed, now.Add(jump+time.Duration(n)*time.Hour))
		}
		kept := left(mixed, now, Usual)
		for _, x := range settled {
			if !slices.ContainsFunc(kept, x.Equal) {
				t.Fatalf("copies of the future drove out that of %v", x)
			}
		}
	})
}

// fake writes a little file as a copy.
type fake struct{}

func (fake) Backup(_ context.Context, to string) error {
	return os.WriteFile(to, []byte("copy"), 0o600)
}

func TestThinRemovesOnlyItsOwn(t *testing.T) {
	root := t.TempDir()
	dir := filepath.Join(root, "copies")
	mine := Folder{dir, filepath.Join(root, "a", "shop.db")}
	other := Folder{dir, filepath.Join(root, "b", "shop.db")}
	for n := range 60 {
		at := day.Add(time.Duration(n) * time.Minute)
		for _, f := range []Folder{mine, other} {
			if _, err := f.Make(t.Context(), fake{}, at); err != nil {
				t.Fatal(err)
			}
		}
	}
	prefix, err := mine.prefix()
	if err != nil {
		t.Fatal(err)
	}
	strange := []string{"shop.db", "letter.txt", prefix + "20200101-000000.db.txt", prefix + "20201301-000000.db", prefix + "notes.db", "shop-000000-20200101-000000.db", "." + prefix + "fresh.db.123.part", ".other.db.123.part"}
	for _, name := range strange {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("not a copy"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, prefix+"20190101-000000.db"), 0o700); err != nil {
		t.Fatal(err)
	}
	stale := filepath.Join(dir, "."+prefix+"20200101-000000.db.77.part")
	if err := os.WriteFile(stale, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(stale, day, day.Add(-48*time.Hour)); err != nil {
		t.Fatal(err)
	}
	// A sum whose copy never came, and one whose copy is there.
	lone, paired := filepath.Join(dir, prefix+"20200101-000000.db.sha256"), filepath.Join(dir, prefix+day.Add(59*time.Minute).Format(stamp)+".db.sha256")
	for _, path := range []string{lone, paired} {
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, day, day.Add(-48*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	now := day.Add(time.Hour)
	gone, err := mine.Thin(now, Usual)
	if err != nil || len(gone) != 36 { // the newest of the only day and week is among the newest 24
		t.Fatalf("%d removed, %v; want 36", len(gone), err)
	}
	if all, err := mine.List(); err != nil || len(all) != 24 || !all[0].At.Equal(day.Add(59*time.Minute)) {
		t.Errorf("%d left, %v", len(all), err)
	}
	if all, err := other.List(); err != nil || len(all) != 60 {
		t.Errorf("%d left of the other shop, %v", len(all), err)
	}
	for _, name := range append(strange, prefix+"20190101-000000.db") {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Errorf("%s went: %v", name, err)
		}
	}
	if _, err := os.Stat(lone); err == nil {
		t.Error("a sum without a copy is still there")
	}
	if _, err := os.Stat(paired); err != nil {
		t.Error("the sum of a copy that stays went")
	}
	if _, err := os.Stat(stale); err == nil {
		t.Error("what a killed program left two days ago is still there")
	}
}

// A disk that is not in its place is not written past.
func TestFoldersAboveAreNotMade(t *testing.T) {
	root := t.TempDir()
	f := Folder{filepath.Join(root, "stick", "copies"), "shop.db"}
	if _, err := f.Make(t.Context(), fake{}, day); err == nil {
		t.Error("a copy was made where the disk is missing")
	}
	if left, _ := os.ReadDir(root); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestCopiesOfOneSecond(t *testing.T) {
	f := Folder{filepath.Join(t.TempDir(), "copies"), "shop.db"}
	var names []string
	for range 12 {
		c, err := f.Make(t.Context(), fake{}, day)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, c.Name)
	}
	all, err := f.List()
	if err != nil || len(all) != 12 {
		t.Fatalf("%d copies, %v", len(all), err)
	}
	slices.Reverse(names)
	for i, c := range all {
		if c.Name != names[i] {
			t.Errorf("copy %d is %s, want %s: the newest first", i, c.Name, names[i])
		}
	}
	if c, err := f.Find(names[3]); err != nil || c.Name != names[3] {
		t.Errorf("found %v, %v", c, err)
	}
	for _, name := range []string{"", "..", "../shop.db", "/etc/passwd", names[0] + "x"} {
		if c, err := f.Find(name); err == nil {
			t.Errorf("%q: found %v", name, c)
		}
	}
}

func TestKeeperMakesWhenDue(t *testing.T) {
	f := Folder{filepath.Join(t.TempDir(), "copies"), "shop.db"}
	now := day
	k := &Keeper{Folder: f, From: fake{}, Policy: Usual, Every: 6 * time.Hour, Now: func() time.Time { return now }}
	if w := k.first(); w != 0 {
		t.Errorf("no copy yet: waits %v", w)
	}
	if _, err := k.Make(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		later, want time.Duration
	}{{time.Hour, 5 * time.Hour}, {6 * time.Hour, 0}, {100 * time.Hour, 0}, {-time.Hour, 0}} {
		now = day.Add(c.later)
		if w := k.first(); w != c.want {
			t.Errorf("%v after the newest copy: waits %v, want %v", c.later, w, c.want)
		}
	}
	now = day.Add(7 * time.Hour)
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan bool)
	go func() { k.Run(ctx); close(done) }()
	for patience := time.Now().Add(10 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		all, err := f.List()
		if err != nil {
			t.Fatal(err)
		}
		if len(all) == 2 {
			break
		}
		if time.Now().After(patience) {
			t.Fatal("no copy was made")
		}
	}
	stop()
	<-done
}

// A served shop whose clock jumps: the schedule goes by how long really passed, so it neither stops nor runs wild, and no
// jump costs the copies that are there.
func TestKeeperThroughClockJumps(t *testing.T) {
	for _, c := range []struct {
		name string
		jump time.Duration
	}{{"a day back", -24 * time.Hour}, {"ten years ahead", 10 * 365 * 24 * time.Hour}, {"forty years back", -40 * 365 * 24 * time.Hour}} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				f := Folder{filepath.Join(t.TempDir(), "copies"), "shop.db"}
				var off atomic.Int64
				k := &Keeper{Folder: f, From: fake{}, Policy: Usual, Every: 6 * time.Hour, Now: func() time.Time { return time.Now().Add(time.Duration(off.Load())) }}
				ctx, stop := context.WithCancel(t.Context())
				done := make(chan bool)
				go func() { k.Run(ctx); close(done) }()
				names := func() map[string]bool {
					all, err := f.List()
					if err != nil {
						t.Fatal(err)
					}
					out := map[string]bool{}
					for _, x := range all {
						out[x.Name] = true
					}
					return out
				}
				time.Sleep(20*24*time.Hour + time.Hour)
				before := names()
				off.Store(int64(c.jump))
				time.Sleep(24 * time.Hour)
				after, made, gone := names(), 0, 0
				for name := range before {
					if !after[name] {
						gone++
					}
				}
				if gone > 4 { // as many as four more copies cost on any day
					t.Errorf("%d of %d copies went", gone, len(before))
				}
				for name := range after {
					if !before[name] {
						made++
					}
				}
				if made != 4 {
					t.Errorf("%d copies made in the day after the jump, want 4", made)
				}
				off.Store(0) // and right again
				time.Sleep(24 * time.Hour)
				all, err := f.List()
				if err != nil {
					t.Fatal(err)
				}
				if newest, ok := Newest(all, k.Now()); !ok || k.Now().Sub(newest.At) > 7*time.Hour || newest.At.After(k.Now()) {
					t.Errorf("the newest is %+v at %v", newest, k.Now())
				}
				stop()
				<-done
			})
		})
	}
}

type broken struct{ fake }

func (broken) Backup(context.Context, string) error { return fmt.Errorf("no room") }

func TestKeeperRemembersThatItFailed(t *testing.T) {
	f := Folder{filepath.Join(t.TempDir(), "copies"), "shop.db"}
	k := &Keeper{Folder: f, From: broken{fake{}}, Policy: Usual}
	if _, err := k.Make(t.Context()); err == nil || k.Failed() == nil {
		t.Error("a failure was forgotten")
	}
	k.From = fake{}
	if _, err := k.Make(t.Context()); err != nil || k.Failed() != nil {
		t.Errorf("after a copy: %v, %v", err, k.Failed())
	}
}
