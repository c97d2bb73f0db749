package cli

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"fairset/internal/place"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/internal/store/filestore"
	"fairset/internal/store/move"
	"fairset/internal/store/postgres"
	"fairset/internal/store/sqlite"
	"fairset/unit"
)

// open opens the guitar file that arg names, or the shop.
func (a *app) open(arg string) (*shop.Shop, error) {
	if isFile(arg) {
		if _, err := os.Stat(arg); errors.Is(err, os.ErrNotExist) {
			return nil, withHint(store.Errorf(store.NotFound, err, "There is no file %s.", arg), "fairset new --out makes a guitar file")
		}
		f, err := filestore.Open(arg)
		if err != nil {
			return nil, err
		}
		return shop.New(f), nil
	}
	path, err := a.dbPath()
	if err != nil {
		return nil, err
	}
	if a.db == "" && a.getenv("FAIRSET_DB") == "" {
		// The usual place is ours to make; a folder that somebody named is not.
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, withHint(store.Errorf(store.ReadOnly, err, "The folder %s cannot be made: %v.", filepath.Dir(path), place.Bare(err)), "say where the shop's file is with --db or the variable FAIRSET_DB")
		}
	}
	db, err := a.openShop(path)
	if err != nil {
		return nil, err
	}
	return shop.New(db), nil
}

// openShop opens the shop in a file or a database.
func (a *app) openShop(at string) (move.Store, error) {
	if postgres.Is(at) {
		return postgres.Open(a.ctx, at, postgres.Options{})
	}
	if strings.Contains(at, "://") {
		// It is not repeated: there may be a password in it.
		return nil, misused("the shop's place looks like the address of a database and does not begin with postgres://", "a file is named without ://")
	}
	return sqlite.Open(a.ctx, at, sqlite.Options{})
}

// certificateDir is where a shop's own certificates are kept: beside its file, or among the settings of this
// machine when its guitars are on another.
func (a *app) certificateDir() (string, error) {
	db, err := a.dbPath()
	if err != nil || !postgres.Is(db) {
		return db + ".tls", err
	}
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", &usageError{unit.Say("this system names no place for settings, where the shop's certificate would be kept: %v", err), unit.Say("bring a certificate of your own with --cert and --key")}
	}
	return filepath.Join(dir, "fairset", "database.tls"), nil
}

func (a *app) moveCmd() *cobra.Command {
	var from, to string
	cmd := &cobra.Command{
		Use: "move [--from SHOP] --to SHOP", Short: "Move the whole shop between a file and a database", Args: args(0, 0, ""),
		Long: `Move everything of a shop into a new file or an empty database: guitars with their logs, settings, the air,
photos, accounts and what they did. The copy is read back and compared row by row before it is kept; the shop it was
made of stays as it is. Stop every server of the shop first.`,
		Example: "  fairset move --to postgres://fairset@db.example.org/fairset\n  fairset move --from postgres://fairset@db.example.org/fairset --to shop.db",
		RunE: func(*cobra.Command, []string) error {
			if to == "" {
				return misused("say where to with --to", "a new file, or an empty database: postgres://USER@HOST/DATABASE")
			}
			if from == "" {
				var err error
				if from, err = a.dbPath(); err != nil {
					return err
				}
			}
			if _, err := os.Stat(from); err != nil && !postgres.Is(from) && !strings.Contains(from, "://") {
				return withHint(store.Errorf(store.NotFound, err, "There is no shop's file %s.", from), "say which shop with --from")
			}
			if from == to {
				return misused("--from and --to name the same shop", "name a new file, or an empty database")
			}
			src, err := a.openShop(from)
			if err != nil {
				return err
			}
			defer src.Close()
			dst, err := a.openShop(to)
			if err != nil {
				return err
			}
			moved, err := move.Move(a.ctx, src, dst)
			if err := errors.Join(err, dst.Close()); err != nil {
				return err
			}
			a.say("", "Moved and compared: %s.", strings.Join(unit.Each(moved.Say(), a.style()), ", "))
			a.say("", "Use the new place from now on (--db or FAIRSET_DB). The shop it was made of is as it was; what is entered there no longer counts.")
			return nil
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "file or database to move from (else the shop's own place)")
	cmd.Flags().StringVar(&to, "to", "", "new file or empty database to move to")
	return cmd
}
