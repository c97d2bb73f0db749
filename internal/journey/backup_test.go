package journey

import (
	"bytes"
	"encoding/json"
	"testing"
)

// A copy of the shop is made and saved, and everything as a file and as tables, at three sizes, and on a phone without
// script.
func TestBackups(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	pr := alone(t)
	for i, c := range []struct {
		screen
		script bool
	}{{screens[0], true}, {screens[1], true}, {screens[2], true}, {screens[0], false}} {
		p := at(t, browser, pr.base, c.screen, c.script)
		p.newGuitar([]string{"Wren", "Dipper", "Siskin", "Knot"}[i])
		p.open("/shop")
		p.sees("Save the whole shop to a file", "Save it as tables")
		p.accessible()
		p.press("Backups")
		p.press("Make a copy now")
		p.sees("A copy was made, and read back whole.", "Save", "fairset backup restore latest")
		p.accessible()
		p.shot("backups")
	}
	if data := fetch(t, pr.base+"/shop/export"); !json.Valid(data) {
		t.Error("the shop file is not JSON")
	}
	if data := fetch(t, pr.base+"/shop/tables"); !bytes.HasPrefix(data, []byte("PK\x03\x04")) { // source: ZIP application note, local file header
		t.Error("the tables are not a zip")
	}
}
