package journey

import (
	"strings"
	"testing"
)

// A guitar is begun, read and cut in German, at every size: figures with a decimal comma are understood and written, nothing stands out of the page, and the
// language stays when the page is read on another day.
func TestInGerman(t *testing.T) {
	served := alone(t)
	tabs := browser(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			p := at(t, tabs, served.base, s, true)
			p.open("/")
			p.press("Deutsch")
			if lang := ask[string](p, "document.documentElement.lang"); lang != "de" {
				p.fail("the page is in %q", lang)
			}
			page := func(texts ...string) {
				t.Helper()
				p.sees(texts...)
				p.accessible()
				if wide := ask[int](p, "document.documentElement.scrollWidth - document.documentElement.clientWidth"); wide > 0 {
					p.fail("something stands %d px out of the page", wide)
				}
			}
			p.open("/new")
			p.press("Millimeter")
			p.put("Wie heißt sie?", "Brachvogel "+s.name)
			p.choose("Stahlsaiten, 14 Bünde frei")
			page("Gitarre beginnen")
			p.press("Auf die Bank stellen")
			page("Den Hals um", "Haarlineal", "7,9 mm")
			home := strings.TrimSuffix(p.path(), "/design")

			p.open(home + "/step/lean")
			page("Läuft das Haarlineal in der richtigen Höhe", "Mittellinie")
			p.put("Abstand unter dem Haarlineal, Messung 1", "5,4")
			p.put("Abstand unter dem Haarlineal, Messung 2", "5,5")
			p.choose("den Bünden")
			p.put("kleinster Teilstrich des Maßstabs", "0,1")
			p.press("Diese Messung speichern")
			page("zu tief")
			p.shot("german-lean")

			p.open(home + "/step/point")
			p.put("Mittellinie verfehlt um, Messung 1", "0,2")
			p.choose("Diskantseite")
			p.put("kleinster Teilstrich des Maßstabs", "0,1")
			p.press("Diese Messung speichern")
			p.open(home + "/step/cut")
			page("Stechbeitel", "beide Hände hinter der Schneide", "an der Kappe", "Die Aussicht, übers Ziel hinauszukommen")
			p.shot("german-cut")

			// A slip is told in the same words.
			p.open(home + "/step/lean")
			p.put("Abstand unter dem Haarlineal, Messung 1", "54 cm")
			p.press("Diese Messung speichern")
			page("erlaubt: -5,0 mm bis 25,0 mm")

			if s.name == "phone" { // where longer words have the least room
				for _, path := range []string{"/", "/class", "/help", "/shop", home, home + "/strings", home + "/board", home + "/top", home + "/history", home + "/print"} {
					p.open(path)
					page("Hilfe")
				}
			}
			p.open("/")
			p.press("English")
			p.sees("Guitars on the bench")
		})
	}
}
