package web

import (
	"errors"
	"io"
	"io/fs"
	"net/http"
	"os"
	"time"

	"fairset/internal/backup"
	"fairset/internal/shop"
	"fairset/internal/store"
	"fairset/unit"
)

// backupsData is the page of the shop's copies.
type backupsData struct {
	layout
	Dir    string
	Copies []copyRow
	Old    bool        // the newest is older than it should be
	Every  bool        // one is made now and then
	Made   unit.Phrase // how often
	Wrong  string      // why the last try made none
	Policy backup.Policy
}

type copyRow struct {
	Name, When string
	Size       unit.Phrase
}

// keeper returns what keeps the copies.
func (in *request) keeper() (*backup.Keeper, error) {
	if in.srv.keeps == nil {
		return nil, refuse(http.StatusNotFound, "No copies of this shop are made here: it is a demonstration, or there is no place for them.")
	}
	return in.srv.keeps, nil
}

func backupsPage(in *request) error { return in.backups(http.StatusOK, "") }

func (in *request) backups(status int, wrong string) error {
	k, err := in.keeper()
	if err != nil {
		return err
	}
	all, err := k.List()
	if err != nil {
		return err
	}
	d := backupsData{layout: in.layout("Backups"), Dir: k.Dir, Wrong: wrong, Policy: k.Policy, Every: k.Every > 0, Made: every(k.Every)}
	d.Path = "/backups"
	if wrong == "" {
		if err := k.Failed(); err != nil {
			d.Wrong = in.sentence(err)
		}
	}
	if d.Every {
		newest, ok := backup.Newest(all, in.srv.shop.Time())
		d.Old = ok && in.srv.shop.Time().Sub(newest.At).Abs() > 2*k.Every
	}
	for _, c := range all {
		d.Copies = append(d.Copies, copyRow{c.Name, in.when(c.At), size(c.Size)})
	}
	return in.render(status, "backups", d)
}

// every says how often a copy is made.
func every(d time.Duration) unit.Phrase {
	switch {
	case d <= 0:
		return unit.Say("None is made by itself here.")
	case d == time.Hour:
		return unit.Say("One is made every hour while the shop is served.")
	case d%time.Hour == 0:
		return unit.Say("One is made every %d hours while the shop is served.", int(d/time.Hour))
	}
	return unit.Say("One is made every %d minutes while the shop is served.", int(d.Round(time.Minute)/time.Minute))
}

func size(n int64) unit.Phrase {
	if n < 1e6 {
		return unit.Say("%d kB", max(1, n/1000))
	}
	return unit.Say("%.1f MB", float64(n)/1e6)
}

// backupNow makes a copy.
func backupNow(in *request) error {
	k, err := in.keeper()
	if err != nil {
		return err
	}
	if _, err := k.Make(in.Context()); err != nil {
		in.srv.log.Error("no copy of the shop was made", "err", err)
		return in.backups(shop.Status(err), in.sentence(err))
	}
	in.srv.shop.Note(in.Context(), store.DidMakeCopy)
	return in.back("/backups", "A copy was made, and read back whole.")
}

// backupFile sends a copy.
func backupFile(in *request) error {
	k, err := in.keeper()
	if err != nil {
		return err
	}
	c, err := k.Find(in.PathValue("name"))
	if err != nil {
		return err
	}
	f, err := os.Open(c.Path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return store.Errorf(store.NotFound, err, "The copy was thinned out meanwhile. Choose another.")
	case err != nil:
		return err
	}
	defer f.Close()
	in.srv.shop.Note(in.Context(), store.DidSaveCopy, c.Name)
	in.attach(c.Name, "application/vnd.sqlite3", c.Size)
	_, _ = io.Copy(in.w, f)
	return nil
}
