package journey

import (
	"strings"
	"testing"
)

// A first guitar by what the walk says, left in the middle and gone on with, on every screen.
func TestWalkThroughAFirstGuitar(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	pr := alone(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			p := at(t, apartFrom(t, browser), pr.base, s, true)
			p.open("/")
			p.press("millimetres")
			p.open("/first")
			p.accessible()
			p.shot("first")
			p.press("Begin")
			walk := p.path()
			type typed struct{ Name, Say string }
			seen := 0
			for ; seen < 40 && !strings.Contains(p.text(), "That was a guitar"); seen++ {
				p.sees("Type this", "What it changes")
				if seen < 6 {
					p.accessible()
					p.shot("walk-" + string(rune('a'+seen)))
				}
				figures := ask[[]typed](p, `[...document.querySelectorAll("main .facts > div")].map((d) => ({Name: d.querySelector("dt").textContent, Say: d.querySelector("dd").textContent}))`)
				p.press("Open the step")
				for _, f := range figures {
					if ask[bool](p, `[...document.querySelectorAll("label.choice")].some((l) => l.textContent.trim() === `+quote(f.Say)+`)`) && !strings.Contains(f.Name, "reading") {
						p.choose(f.Say)
					} else {
						p.put(f.Name, f.Say)
					}
				}
				if seen < 3 {
					p.shot("walk-step-" + string(rune('a'+seen)))
				}
				p.press("Save")
				p.sees("Saved")
				if seen == 4 { // left, and found again
					p.open("/first")
					p.press("Go on")
				} else {
					p.open(walk)
				}
			}
			p.sees("That was a guitar")
			p.accessible()
			if seen < 12 {
				t.Errorf("the walk had %d lessons", seen)
			}
			p.shot("walk-end")
			p.open(strings.TrimSuffix(walk, "/walk"))
			p.press("Rename it")
			p.press("Take it off the bench")
		})
	}
}

// Help on a figure is one tap away, shows its drawing, and leaves what was typed.
func TestHelpOnAFigure(t *testing.T) {
	t.Parallel()
	browser := browser(t)
	pr := alone(t)
	for _, s := range screens {
		t.Run(s.name, func(t *testing.T) {
			p := at(t, apartFrom(t, browser), pr.base, s, true)
			guitar := p.guitarMade("Stint " + s.name)
			p.open(guitar + "/step/lean")
			p.put("gap under the straight edge, reading 1", "6.4")
			p.press("How to measure")
			p.sees("Push a stepped wedge", "What it changes")
			p.wait("the drawing is there", `(() => { const i = document.querySelector("details.measure[open] img"); return i.complete && i.naturalWidth > 0; })()`)
			p.accessible()
			p.shot("help-gap")
			if got := p.value("gap under the straight edge, reading 1"); got != "6.4" {
				t.Errorf("after the help the field says %q", got)
			}
			for _, step := range []string{"tenon", "seat", "roll", "drill", "strung", "sign", "note"} {
				p.open(guitar + "/step/" + step)
				ask[bool](p, `document.querySelectorAll("details").forEach((d) => d.open = true), true`)
				p.wait("every drawing is there", `[...document.querySelectorAll("details.measure img")].every((i) => { i.loading = "eager"; return i.complete && i.naturalWidth > 0; })`)
				if fields, helped := ask[int](p, `[...document.querySelectorAll(".step-form .field")].filter((f) => !f.querySelector("[name=photos], [name=alt]")).length` /* a photo is taken, not measured */), ask[int](p, `document.querySelectorAll(".step-form .field details.measure").length`); fields != helped || fields == 0 {
					t.Errorf("%s: %d fields, %d with help", step, fields, helped)
				}
				p.accessible()
				p.shot("help-" + step)
			}
			p.open(guitar + "/design")
			if n := ask[int](p, `document.querySelectorAll("#design details.measure").length`); n < 35 {
				t.Errorf("the design has help on %d figures", n)
			}
			p.accessible()
		})
	}
}
