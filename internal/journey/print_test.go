package journey

import (
	"bytes"
	"strings"
	"testing"
)

// One guitar and then a class are printed, at three sizes, and on a phone without script.
func TestPrinting(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	pr := alone(t)
	for i, c := range []struct {
		screen
		script bool
	}{{screens[0], true}, {screens[1], true}, {screens[2], true}, {screens[0], false}} {
		p := at(t, browser, pr.base, c.screen, c.script)
		p.newGuitar([]string{"Wren", "Dipper", "Siskin", "Knot"}[i])
		p.sees("History", "Print")
		p.press("Print")
		p.sees("Every sheet as one PDF", "Fret layout", "Not yet")
		p.accessible()
		p.shot("print")
		p.press("Fret layout")
		p.sees("PDF to print,")
		p.press("Paper and printer")
		p.pick("f-paper", "a4")
		p.put("that bar across the page measures", "99.4 mm")
		p.press("Keep it for this phone or tablet")
		p.sees("A4, printer corrected", "pages")
		p.accessible()
		p.shot("sheet")
		if pdf := fetch(t, pr.base+p.path()+"/file.pdf"); !bytes.HasPrefix(pdf, []byte("%PDF-")) {
			t.Errorf("the PDF begins with %.10q", pdf)
		}
		p.open("/shop")
		p.press("Print many guitars at once")
		p.sees("Which guitars?")
		p.accessible()
		p.shot("class")
		p.press("Print them")
		for range 100 {
			if strings.Contains(p.text(), "Fetch ") {
				break
			}
			if !c.script {
				p.open(p.path())
			}
			p.settle()
		}
		p.sees("Printed", "Fetch")
		p.accessible()
		p.shot("printed")
		if zip := fetch(t, pr.base+p.path()+"/file"); !bytes.HasPrefix(zip, []byte("PK")) {
			t.Errorf("the class's file begins with %.10q", zip)
		}
	}
}
