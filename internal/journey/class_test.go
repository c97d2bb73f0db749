package journey

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestClass: a teacher makes a class from one design, watches a bench enter a reading without touching the page, changes
// one figure for many, and looks at report and what was learned.
func TestClass(t *testing.T) {
	t.Parallel()
	base := shareOut(t)
	all := browser(t, chromedp.Flag("ignore-certificate-errors", true))
	for i, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			apart := func() *person { return at(t, apartFrom(t, all), base, s, true) }
			desk := apart()
			desk.signIn("front desk", "spruce and cedar")
			name := "bench " + s.name
			desk.open("/people")
			desk.put("Name", name)
			desk.put("PIN or passphrase", "4821")
			desk.put("The same again", "4821")
			desk.press("Let them in")

			desk.open("/class/copy")
			desk.press("millimetres")
			desk.put("What shall they be called?", "Alder "+s.name+" 3…1")
			desk.press("Make them")
			desk.sees("No guitar was made", "the run goes backwards")
			desk.accessible()
			desk.shot("class-copy")
			desk.put("What shall they be called?", "Alder "+s.name+" 1…3")
			desk.choose(name)
			desk.press("Make them")
			desk.sees("3 guitars made", "Alder "+s.name+" 1", "Print what everyone needs next")
			desk.accessible()

			bench := apart()
			bench.signIn(name, "4821")
			bench.sees("Alder " + s.name + " 1")
			if strings.Contains(bench.text(), "Alder "+s.name+" 2") || strings.Contains(bench.text(), "The class") {
				t.Error("a bench sees what is the teachers'")
			}
			ask[bool](desk, "window.stayed = true")
			bench.press("Alder " + s.name + " 1")
			where := strings.SplitN(bench.path(), "?", 2)[0]
			bench.open(where + "/step/note")
			bench.put("Note", "the heel is carved")
			bench.press("Keep this note")
			// The teacher's page follows by itself.
			desk.sees("· " + name)
			if !ask[bool](desk, "window.stayed === true") {
				t.Error("the page was loaded anew")
			}
			desk.accessible()
			desk.shot("class")
		})
		t.Run(s.name+", the rest", func(t *testing.T) {
			desk := at(t, apartFrom(t, all), base, s, s.name != "tablet") // once without the pages' own script
			desk.signIn("front desk", "spruce and cedar")
			desk.open(fmt.Sprintf("/class/change?field=action_bass&value=%.1f+mm", 2.0+0.1*float64(i)))
			desk.sees("What it would do", "Alder")
			desk.accessible()
			desk.shot("class-change")
			desk.press("Change the ticked ones")
			desk.sees("The class")
			for _, path := range []string{"/class", "/class/report", "/class/learned", "/class/change"} {
				desk.open(path)
				desk.accessible()
				desk.shot(strings.ReplaceAll(strings.TrimPrefix(path, "/"), "/", "-"))
			}
		})
	}
}
