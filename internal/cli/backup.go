package cli

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairset/internal/backup"
	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/store/move"
	"fairset/internal/store/postgres"
	"fairset/internal/store/sqlite"
	"fairset/unit"

	"github.com/spf13/cobra"
)

func (a *app) backupCmd() *cobra.Command {
	var to string
	cmd := &cobra.Command{
		Use: "backup [--to DIR]", Short: "Copy the whole shop to another file, also while it is served", Args: args(0, 0, ""),
		Long: `Copy the whole shop, with its accounts, its settings and its air, to a file of its own name in a folder; also while
it is served. The copy is read back whole before this says it is made. Keep copies on another disk as well.
fairset serve makes copies by itself, and thins out its own as they grow old.`,
		Example: "  fairset backup\n  fairset backup --to /media/stick/shop\n  fairset backup list\n  fairset backup restore latest",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.use("", func(s *shop.Shop) error {
				src, err := move.Source(s.Store)
				if err != nil {
					return err
				}
				f, err := a.copies(to)
				if err != nil {
					return err
				}
				if to == "" {
					if err := os.MkdirAll(filepath.Dir(f.Dir), 0o700); err != nil {
						return place.Refused(f.Dir, err)
					}
				}
				c, err := f.Make(a.ctx, src, time.Now())
				if err != nil {
					return err
				}
				a.say("", "Copied to %s (%s), and read back whole.", c.Path, bytesOf(c.Size, a.style()))
				return nil
			})
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "folder for the copy; backups beside the shop's file if left out")
	cmd.AddCommand(a.backupList(), a.backupCheck(), a.backupRestore())
	return cmd
}

// copies is the folder of copies that a flag names, or the usual one: beside the shop's file, or among the settings of this
// machine when the shop is in a database.
func (a *app) copies(dir string) (backup.Folder, error) {
	db, err := a.dbPath()
	if err != nil {
		return backup.Folder{}, err
	}
	if !strings.Contains(db, "://") {
		f := backup.Beside(db)
		f.Dir = cmp.Or(dir, f.Dir)
		return f, nil
	}
	shop, err := postgres.Place(db)
	if err != nil {
		return backup.Folder{}, err
	}
	if dir == "" {
		settings, err := os.UserConfigDir()
		if err != nil {
			return backup.Folder{}, &usageError{unit.Say("this system names no place for settings, where copies of the database would be kept: %v", err), unit.Say("name a folder for them")}
		}
		dir = filepath.Join(settings, "fairset", "backups")
	}
	return backup.Folder{Dir: dir, Shop: shop}, nil
}

// chosen is the copy that a word names: a file, the name of one in the folder, or the latest.
func (a *app) chosen(word, dir string) (string, error) {
	if st, err := os.Stat(word); err == nil && !st.IsDir() {
		return word, nil
	}
	f, err := a.copies(dir)
	if err != nil {
		return "", err
	}
	all, err := f.List()
	if err != nil {
		return "", err
	}
	if c, ok := backup.Newest(all, time.Now()); ok && word == "latest" {
		return c.Path, nil
	}
	for _, c := range all {
		if word == c.Name {
			return c.Path, nil
		}
	}
	return "", withHint(store.Errorf(store.NotFound, nil, "There is no copy %s.", word), "fairset backup list names those in %s", f.Dir)
}

// fromFlag is where copies are looked for.
func fromFlag(cmd *cobra.Command, dir *string) {
	cmd.Flags().StringVar(dir, "from", "", "folder of the copies; backups beside the shop's file if left out")
}

func (a *app) backupList() *cobra.Command {
	var from string
	cmd := &cobra.Command{Use: "list [--from DIR]", Short: "List the copies of this shop, the newest first", Args: args(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			f, err := a.copies(from)
			if err != nil {
				return err
			}
			all, err := f.List()
			if err != nil {
				return err
			}
			if len(all) == 0 {
				a.say("", "No copies in %s yet: fairset backup makes one.", f.Dir)
				return nil
			}
			a.say("", "In %s:", f.Dir)
			for _, c := range all {
				a.printf("  %s  %8s  %s\n", c.At.Local().Format("2006-01-02 15:04"), bytesOf(c.Size, a.style()), c.Name)
			}
			return nil
		}}
	fromFlag(cmd, &from)
	return cmd
}

func (a *app) backupCheck() *cobra.Command {
	var from string
	cmd := &cobra.Command{Use: "check COPY", Short: "Read a copy through and say what is in it; nothing is changed", Args: args(1, 1, "say which copy: its file, its name in the list, or latest"),
		RunE: func(_ *cobra.Command, in []string) error {
			path, err := a.chosen(in[0], from)
			if err != nil {
				return err
			}
			c, err := sqlite.Examine(a.ctx, path)
			if err != nil {
				return err
			}
			a.say("", "%s is whole: %v", filepath.Base(path), contents(c))
			return nil
		}}
	fromFlag(cmd, &from)
	return cmd
}

// contents are what a copy holds.
type contents sqlite.Contents

// In says them to a maker.
func (c contents) In(s unit.Style) string {
	if c.Older {
		return s.Say("an older program's (schema %d), brought up to date when it is opened.", c.Schema)
	}
	say := s.Say("%d guitars, %d entries", c.Guitars+c.Removed, c.Entries)
	if !c.Changed.IsZero() {
		say += s.Say(", last changed %s", c.Changed.Local().Format("2006-01-02 15:04"))
	}
	if !c.Summed {
		say += s.Say("; no sum stands beside it, so a changed letter would not show")
	}
	return say + "."
}

func (a *app) backupRestore() *cobra.Command {
	var from string
	cmd := &cobra.Command{Use: "restore COPY", Short: "Put a copy in the place of the shop's file, which is kept aside", Args: args(1, 1, "say which copy: its file, its name in the list, or latest"),
		Long: `Put a copy in the place of the shop's file. The copy is read through first; the file that is there is kept beside it
under another name, so nothing is lost. A shop that any program has open, such as fairset serve, is refused.
Into a database the copy goes only while that is empty: nothing there is ever replaced.`,
		Example: "  fairset backup list\n  fairset backup restore latest\n  fairset backup restore /media/stick/shop/shop-3f9ac1-20260302-090000.db",
		RunE: func(_ *cobra.Command, in []string) error {
			path, err := a.chosen(in[0], from)
			if err != nil {
				return err
			}
			db, err := a.dbPath()
			if err != nil {
				return err
			}
			if postgres.Is(db) {
				return a.restoreInto(path, db)
			}
			r, err := sqlite.Restore(a.ctx, path, db, time.Now())
			if err != nil {
				return err
			}
			a.say("", "The shop is %s again: %v", filepath.Base(path), contents(r.Contents))
			if r.Aside != "" {
				a.say("", "What was there is kept as %s.", r.Aside)
			}
			return nil
		}}
	fromFlag(cmd, &from)
	return cmd
}

// restoreInto puts a copy into an empty database.
func (a *app) restoreInto(path, db string) error {
	to, err := postgres.Open(a.ctx, db, postgres.Options{})
	if err != nil {
		return err
	}
	r, err := move.Restore(a.ctx, path, to)
	if err := errors.Join(err, to.Close()); err != nil {
		if store.KindOf(err) == store.Invalid {
			return &hinted{err, unit.Say("make an empty database, or a schema of its own in this one, and name that with --db")}
		}
		return err
	}
	a.say("", "The shop in the database %s is %s: %s.", to.Name(), filepath.Base(path), strings.Join(unit.Each(r.Moved.Say(), a.style()), ", "))
	return nil
}

// bytesOf writes a size for people.
func bytesOf(n int64, s unit.Style) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d B", n)
	case n < 1e6:
		return fmt.Sprintf("%.0f kB", float64(n)/1e3)
	}
	return s.Decimal(float64(n)/1e6, 1) + " MB"
}

func (a *app) checkCmd() *cobra.Command {
	return &cobra.Command{
		Use: "check [FILE]", Short: "Read everything that is stored, work out every guitar again, and say what is wrong", Args: args(0, 1, ""),
		RunE: func(cmd *cobra.Command, args []string) error {
			file := ""
			if len(args) == 1 {
				file = args[0]
			}
			return a.use(file, func(s *shop.Shop) error {
				c, err := s.Check(a.ctx)
				if err != nil {
					return err
				}
				for _, d := range c.Doubts {
					say := unit.Text("look at: %s (id %s): %v")
					if d.Differs {
						say = "WRONG: %s (id %s): %v"
					}
					a.note("", say, d.Name, d.ID, d.Say)
				}
				if n := c.Differing(); n > 0 {
					return withHint(store.Errorf(store.Damaged, errors.New("figures differ"), "%d of %d guitars are not as they were written.", n, c.Guitars+c.Removed), "fairset backup list names the copies to go back to")
				}
				also := []string{a.style().Count(c.Guitars, "%d guitar", "%d guitars"), a.style().Count(c.Entries, "%d entry", "%d entries")}
				if c.Removed > 0 {
					also = append(also, a.style().Say("%d taken off the bench", c.Removed))
				}
				if c.Readings > 0 {
					also = append(also, a.style().Count(c.Readings, "%d reading of the air", "%d readings of the air"))
				}
				a.say("", "All is well: %s.", strings.Join(also, ", "))
				return nil
			})
		},
	}
}
