// Package backup keeps copies of a shop in a folder: how they are named, which are kept as time goes by, and the
// schedule that makes them while the shop is served.
package backup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairset/internal/place"
	"fairset/internal/store"
)

// Source is a store that can be copied while it is used.
type Source interface {
	// Backup copies the shop as it is at one moment to a file that must not exist yet.
	Backup(ctx context.Context, to string) error
}

// Copy is one copy in a folder.
type Copy struct {
	Name string
	Path string
	At   time.Time // when it was made, by the clock of then
	Size int64     // bytes
}

// Folder holds the copies of one shop, and perhaps of others: each knows its own by name.
type Folder struct {
	Dir  string
	Shop string // the shop's file, or what names it as a path does
}

// Beside returns the usual folder of a shop: backups, beside its file.
func Beside(shop string) Folder {
	return Folder{Dir: filepath.Join(filepath.Dir(shop), "backups"), Shop: shop}
}

// sumSuffix ends the name of the file beside a copy that holds its SHA-256.
const sumSuffix = ".sha256"

const stamp = "20060102-150405"

// prefix begins the names of a shop's copies: the file's name, and a few letters of where it lies, so that two shops
// can share a folder.
func (f Folder) prefix() (string, error) {
	abs, err := filepath.Abs(f.Shop)
	if err != nil {
		return "", store.Errorf(store.Invalid, err, "%q is not a file name that can be used.", f.Shop)
	}
	sum := sha256.Sum256([]byte(abs))
	base := strings.TrimSuffix(filepath.Base(abs), filepath.Ext(abs))
	return base + "-" + hex.EncodeToString(sum[:3]) + "-", nil
}

// named is a copy's name after its prefix: its time in UTC, and a number when two fell in one second.
var named = regexp.MustCompile(`^(\d{8}-\d{6})(?:-([2-9]|[1-9]\d{1,3}))?\.db$`)

// partly is what a copy is called while it is made; one is left behind when the program is killed in the middle.
var partly = regexp.MustCompile(`^\..*\.db\.\d+\.part$`)

// List returns the shop's copies, the newest first. A folder that is not there holds none.
func (f Folder) List() ([]Copy, error) {
	prefix, err := f.prefix()
	if err != nil {
		return nil, err
	}
	files, err := os.ReadDir(f.Dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, store.Errorf(store.Invalid, err, "The folder of copies %s cannot be read: %v.", f.Dir, place.Bare(err))
	}
	type numbered struct {
		Copy
		n int
	}
	var found []numbered
	for _, e := range files {
		rest, ok := strings.CutPrefix(e.Name(), prefix)
		m := named.FindStringSubmatch(rest)
		if !ok || m == nil || !e.Type().IsRegular() {
			continue
		}
		at, err := time.Parse(stamp, m[1])
		if err != nil {
			continue
		}
		st, err := e.Info()
		if err != nil {
			continue // it went while we looked
		}
		n, _ := strconv.Atoi(m[2])
		found = append(found, numbered{Copy{e.Name(), filepath.Join(f.Dir, e.Name()), at, st.Size()}, n})
	}
	slices.SortFunc(found, func(a, b numbered) int {
		if c := b.At.Compare(a.At); c != 0 {
			return c
		}
		return b.n - a.n
	})
	out := make([]Copy, len(found))
	for i, x := range found {
		out[i] = x.Copy
	}
	return out, nil
}

// Find returns the copy of a name, as List has it.
func (f Folder) Find(name string) (Copy, error) {
	all, err := f.List()
	if err != nil {
		return Copy{}, err
	}
	for _, c := range all {
		if c.Name == name {
			return c, nil
		}
	}
	return Copy{}, store.Errorf(store.NotFound, nil, "There is no copy called %q here. It may have been thinned out.", name)
}

// Newest returns the newest of copies that are listed newest first. Those dated later than now were made while the clock
// was wrong: one of them is the newest only where there is no other.
func Newest(all []Copy, now time.Time) (Copy, bool) {
	for _, c := range all {
		if !c.At.After(now) {
			return c, true
		}
	}
	if len(all) == 0 {
		return Copy{}, false
	}
	return all[0], true
}

// Make copies the shop into the folder, and returns the copy. It was read back whole and is on the disk; after an
// error there is no copy. The folder is made if there is none, but not those above it: where a disk is not in its place,
// the copy must not go to another.
func (f Folder) Make(ctx context.Context, src Source, now time.Time) (Copy, error) {
	prefix, err := f.prefix()
	if err != nil {
		return Copy{}, err
	}
	if err := os.Mkdir(f.Dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return Copy{}, store.Errorf(store.ReadOnly, err, "The folder of copies %s cannot be made: %v. Choose another.", f.Dir, place.Bare(err))
	}
	now = now.UTC().Truncate(time.Second)
	base := prefix + now.Format(stamp)
	name := base + ".db"
	for n := 2; ; n++ {
		path := filepath.Join(f.Dir, name)
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			if err := src.Backup(ctx, path); err != nil {
				return Copy{}, err
			}
			st, err := os.Stat(path)
			if err != nil {
				return Copy{}, place.Refused(path, err)
			}
			return Copy{name, path, now, st.Size()}, nil
		}
		if n > 9999 {
			return Copy{}, store.Errorf(store.Invalid, nil, "There are too many copies of one second in %s.", f.Dir)
		}
		name = fmt.Sprintf("%s-%d.db", base, n)
	}
}

// Policy says how many copies stay as they grow old. Days and weeks without a copy do not count, so a clock that
// jumps, or a shop that was closed for a year, costs no copy.
type Policy struct {
	Last  int // the newest
	Days  int // the newest of each of so many days that have one
	Weeks int // the newest of each of so many weeks that have one
}

// Usual is what is kept unless somebody says otherwise.
var Usual = Policy{Last: 24, Days: 14, Weeks: 8}

// Keep says for each time of a copy whether the copy stays. The newest always stays. Copies dated after now, made
// while the clock was wrong, are judged among themselves: they drive out none of the others. Days and weeks are
// UTC's; a week begins on Monday (ISO 8601).
func Keep(times []time.Time, now time.Time, p Policy) []bool {
	keep := make([]bool, len(times))
	var past, future []int
	for i, t := range times {
		if t.After(now) {
			future = append(future, i)
		} else {
			past = append(past, i)
		}
	}
	for _, group := range [][]int{past, future} {
		slices.SortStableFunc(group, func(a, b int) int { return times[b].Compare(times[a]) })
		days, weeks := map[string]bool{}, map[string]bool{}
		for n, i := range group {
			t := times[i].UTC()
			y, w := t.ISOWeek()
			day, week := t.Format(time.DateOnly), fmt.Sprint(y, " ", w)
			keep[i] = n < max(p.Last, 1)
			if !days[day] && len(days) < p.Days {
				days[day], keep[i] = true, true
			}
			if !weeks[week] && len(weeks) < p.Weeks {
				weeks[week], keep[i] = true, true
			}
		}
	}
	return keep
}

// Thin removes the copies that a policy does not keep, and what a killed program left of one it was making. It
// touches nothing but the shop's own copies, and never the newest; it returns those it removed.
func (f Folder) Thin(now time.Time, p Policy) ([]Copy, error) {
	all, err := f.List()
	if err != nil {
		return nil, err
	}
	times := make([]time.Time, len(all))
	for i, c := range all {
		times[i] = c.At
	}
	var gone []Copy
	for i, stays := range Keep(times, now, p) {
		if stays {
			continue
		}
		if err := os.Remove(all[i].Path); err != nil {
			return gone, store.Errorf(store.ReadOnly, err, "The old copy %s cannot be removed: %v.", all[i].Path, place.Bare(err))
		}
		_ = os.Remove(all[i].Path + sumSuffix)
		gone = append(gone, all[i])
	}
	return gone, f.sweep(now)
}

// abandoned is how long a copy that is not finished is let be: making one takes seconds.
const abandoned = 24 * time.Hour

func (f Folder) sweep(now time.Time) error {
	prefix, err := f.prefix()
	if err != nil {
		return err
	}
	files, err := os.ReadDir(f.Dir)
	if err != nil {
		return nil // List said so already, or there is no folder
	}
	for _, e := range files {
		name, summed := strings.CutSuffix(e.Name(), sumSuffix)
		switch rest, ours := strings.CutPrefix(name, prefix); {
		case partly.MatchString(e.Name()) && strings.HasPrefix(e.Name(), "."+prefix):
		case summed && ours && named.MatchString(rest):
			if _, err := os.Lstat(filepath.Join(f.Dir, name)); !errors.Is(err, fs.ErrNotExist) {
				continue // its copy is there
			}
		default:
			continue
		}
		st, err := e.Info()
		if err != nil || now.Sub(st.ModTime()) <= abandoned {
			continue
		}
		switch path := filepath.Join(f.Dir, e.Name()); {
		case st.Mode().IsRegular():
			_ = os.Remove(path)
		case st.IsDir() && partly.MatchString(e.Name()): // of a database's copy
			_ = os.RemoveAll(path)
		}
	}
	return nil
}
