package web

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairset/internal/store/sqlite"
)

func TestBackupsPage(t *testing.T) {
	sh := newShared(t)
	sh.keeps.Every = 6 * time.Hour
	if w := sh.ask("desk", "GET", "/backups", nil); w.Code != 200 || !strings.Contains(w.Body.String(), "None yet") || !strings.Contains(w.Body.String(), "every 6 hours") {
		t.Fatalf("before any copy: %d %s", w.Code, w.Body)
	}
	if w := sh.ask("desk", "POST", "/backups", nil); w.Code != http.StatusSeeOther {
		t.Fatalf("making one: %d %s", w.Code, w.Body)
	}
	all, err := sh.keeps.List()
	if err != nil || len(all) != 1 {
		t.Fatalf("%d copies, %v", len(all), err)
	}
	page := sh.ask("desk", "GET", "/backups", nil).Body.String()
	if !strings.Contains(page, "/backups/"+all[0].Name) || strings.Contains(page, "older than it should be") {
		t.Errorf("the page does not offer the copy: %s", page)
	}
	w := sh.ask("desk", "GET", "/backups/"+all[0].Name, nil)
	saved := filepath.Join(t.TempDir(), "saved.db")
	if err := os.WriteFile(saved, w.Body.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err := sqlite.Examine(t.Context(), saved); err != nil || c.Guitars != 1 {
		t.Errorf("what was saved holds %+v, %v", c, err)
	}
	if got := w.Header().Get("Content-Disposition"); !strings.Contains(got, all[0].Name) {
		t.Errorf("saved as %q", got)
	}
	for _, name := range []string{"none.db", "..%2fshop.db", "%2e%2e%2fshop.db", ".."} {
		if w := sh.ask("desk", "GET", "/backups/"+name, nil); w.Code == http.StatusOK {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	for _, as := range []string{"bench 3", ""} {
		if w := sh.ask(as, "GET", "/backups/"+all[0].Name, nil); w.Code == http.StatusOK {
			t.Errorf("%q may save a copy", as)
		}
	}
	if trail := sh.ask("desk", "GET", "/trail", nil).Body.String(); !strings.Contains(trail, "made a copy of the shop") || !strings.Contains(trail, "saved a copy of the shop") {
		t.Error("the trail does not tell of the copies")
	}
	sh.keeps.Every, sh.now = 10*time.Minute, sh.now.Add(25*time.Minute)
	if page := sh.ask("desk", "GET", "/backups", nil).Body.String(); !strings.Contains(page, "older than it should be") {
		t.Errorf("an old copy is not spoken of: %s", page)
	}
	// A folder that cannot be made is said, and remembered until a copy is made.
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	dir := sh.keeps.Dir
	sh.keeps.Dir = filepath.Join(file, "copies")
	if _, err := sh.keeps.Make(t.Context()); err == nil {
		t.Fatal("a copy was made in a file")
	}
	sh.keeps.Dir = dir
	if page := sh.ask("desk", "GET", "/backups", nil).Body.String(); !strings.Contains(page, "No copy was made the last time") {
		t.Error("the page does not tell of the failure")
	}
}
