package unit_test

import (
	"errors"
	"fmt"
	"testing"

	"fairset/language"
	"fairset/unit"
)

const (
	german = unit.Millimetre + "/de"
	marked = unit.Millimetre + "/qps"
)

func TestStyleCarriesTheLanguage(t *testing.T) {
	for _, s := range unit.Styles() {
		g := s.Speaking(language.German)
		if g.Units() != s || g.Language() != language.German || g.Metric() != (s == unit.Millimetre) || g.Symbol() != s.Symbol() {
			t.Errorf("%s in German is %s: units %s, language %s", s, g, g.Units(), g.Language())
		}
		if back := g.Speaking(language.English); back != s {
			t.Errorf("%s back in English is %s", g, back)
		}
	}
}

// source: DIN 1333 and ISO 80000-1, 7.3.2: the decimal sign is a comma on the line.
func TestDecimalComma(t *testing.T) {
	for want, got := range map[string]string{
		"647,7 mm": (647.7 * unit.MM).In(german), "0,35 mm": (0.35 * unit.MM).In(german), "25,500 in": (25.5 * unit.Inch).In(unit.InchDecimal.Speaking(language.German)), "25 1/2 in": (25.5 * unit.Inch).In(unit.Inch64.Speaking(language.German)),
		"0,42 mm": (0.42 * unit.MM).Fine(german), "1,50°": (1.5 * unit.Degree).In(german), "12,5 %": unit.Write(0.125, unit.KindPercent, german), "21,5 °C": unit.Write(21.5, unit.KindTemperature, german),
		"3,25 of 7": german.Say("%.2f of %d", 3.25, 7), "-0,5": german.Short(-0.50, 2), "0,00": german.Decimal(-0.001, 2), "+2,5": german.Say("%+.1f", 2.5),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// What is edited can be read again, whatever the language.
func TestEditIsReadAgain(t *testing.T) {
	for _, s := range unit.Styles() {
		for _, v := range []unit.Length{647.7 * unit.MM, 0.123 * unit.MM, 25.4 * unit.MM, -3.05 * unit.MM} {
			text := v.Edit(s.Speaking(language.German))
			if got, err := unit.ParseLength(text, s.Speaking(language.German)); err != nil || (got-v).Abs() > 0.002*unit.MM {
				t.Errorf("%s: %v is edited as %q and read as %v, %v", s, v, text, got, err)
			}
		}
	}
}

func TestPhraseInAnotherLanguage(t *testing.T) {
	side := unit.Text("bass side‖of the guitar")
	p := unit.Say("The line passes %v on the %v.", 2*unit.MM, side)
	if got := p.In(unit.Millimetre); got != "The line passes 2.0 mm on the bass side." {
		t.Errorf("English: %q", got)
	}
	if got := p.In(marked); got != "⟦The line passes ⟧2.0 mm⟦ on the ⟧⟦bass side⟧⟦.⟧" {
		t.Errorf("marked: %q", got)
	}
	joined := unit.Join(unit.Phrase{}, p, unit.Join(unit.Say("100 %"), unit.Plain("Larch")))
	if got := joined.In(marked); got != "⟦The line passes ⟧2.0 mm⟦ on the ⟧⟦bass side⟧⟦.⟧ ⟦100 %⟧ Larch" {
		t.Errorf("joined: %q", got)
	}
	if !unit.Join(unit.Phrase{}, unit.Phrase{}).Empty() {
		t.Error("nothing joined with nothing says something")
	}
	if got := unit.Plural(1, "%d guitar in %s", "%d guitars in %s", "oak").In(marked); got != "1⟦ guitar in ⟧oak" {
		t.Errorf("one: %q", got)
	}
	if got := marked.Count(0, "%d guitar", "%d guitars"); got != "0⟦ guitars⟧" {
		t.Errorf("none: %q", got)
	}
	if got := unit.Millimetre.List("one", side, 3*unit.MM); got != "one, bass side and 3.0 mm" {
		t.Errorf("list: %q", got)
	}
	if got := (unit.Upper{Words: unit.Text("ämter")}).In(unit.Millimetre); got != "Ämter" {
		t.Errorf("capital: %q", got)
	}
}

func TestErrorsAreExplained(t *testing.T) {
	cause := errors.New("disk full")
	err := unit.Wrong("The copy was not made: %v.", cause)
	if !errors.Is(err, cause) || err.Error() != "The copy was not made: disk full." {
		t.Errorf("%v wraps its cause: %v", err, errors.Is(err, cause))
	}
	if got := unit.Explain(fmt.Errorf("save: %w", err), marked); got != "⟦The copy was not made: ⟧disk full⟦.⟧" {
		t.Errorf("explained: %q", got)
	}
	if got := unit.Explain(cause, marked); got != "disk full" {
		t.Errorf("a plain error: %q", got)
	}
	limit := unit.Limit{Field: "relief", Label: unit.Say("relief"), Kind: unit.KindLength, Min: 0, Max: 0.002}
	if got := unit.Explain(limit.Check(0.0031), marked); got != "⟦relief⟧: 3.1 mm⟦; allowed: ⟧0.00 mm⟦ to ⟧2.0 mm" {
		t.Errorf("a range: %q", got)
	}
}
