package language_test

import (
	"testing"

	"fairset/language"
)

// source: BCP 47 (RFC 5646) for tags; POSIX.1-2017, 8.2 for names of locales.
func TestParse(t *testing.T) {
	for tag, want := range map[string]language.Code{
		"en": language.English, "en-GB": language.English, "EN": language.English, "C": language.English, "POSIX": language.English, "C.UTF-8": language.English,
		"de": language.German, "de-AT": language.German, "de_DE.UTF-8": language.German, "DE_ch": language.German,
	} {
		if got, ok := language.Parse(tag); !ok || got != want {
			t.Errorf("%q is %q, %v; want %q", tag, got, ok, want)
		}
	}
	for _, tag := range []string{"", "qps", "fr", "x", "../de", "d", "deutsch"} {
		if got, ok := language.Parse(tag); ok {
			t.Errorf("%q is read as %q", tag, got)
		}
	}
}

// source: RFC 9110, 12.5.4: the highest weight wins, 0 refuses.
func TestMatch(t *testing.T) {
	for header, want := range map[string]language.Code{
		"": language.English, "de": language.German, "de-CH, de;q=0.9, en;q=0.8": language.German, "en-US,en;q=0.9,de;q=0.2": language.English,
		"fr;q=0.9, de;q=0.5": language.German, "fr": language.English, "*": language.English, "de;q=0.1, en;q=0.9": language.English, ";;;,,": language.English,
	} {
		if got := language.Match(header); got != want {
			t.Errorf("%q is answered in %q, want %q", header, got, want)
		}
	}
}

func TestFind(t *testing.T) {
	if got, ok := language.English.Find("top‖of the guitar"); got != "top" || !ok {
		t.Errorf("English with its hint is %q, %v", got, ok)
	}
	if got, ok := language.Pseudo.Find("top‖of the guitar"); got != "⟦top⟧" || !ok {
		t.Errorf("marked it is %q, %v", got, ok)
	}
	if got, ok := language.German.Find("there are no such words in any catalogue"); got != "there are no such words in any catalogue" || ok {
		t.Errorf("a text without words is %q, %v", got, ok)
	}
	for n, want := range map[int]string{0: "%d guitars", 1: "%d guitar", 2: "%d guitars", 21: "%d guitars", -1: "%d guitars"} {
		if got, _ := language.English.FindMany("%d guitar", "%d guitars", n); got != want {
			t.Errorf("%d of them: %q, want %q", n, got, want)
		}
	}
}

// source: GNU gettext manual, "The Format of PO Files".
func TestRead(t *testing.T) {
	got := language.Read([]byte(`msgid ""
msgstr ""
"Language: de\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"

#: a.go
msgid "neck"
msgstr "Hals"

msgctxt "of the guitar"
msgid "top"
msgstr "Decke"

#, c-format
msgid "%d guitar"
msgid_plural "%d guitars"
msgstr[0] "%d Gitarre"
msgstr[1] "%d Gitarren"

msgid "a \"quoted\"\n"
"line"
msgstr "eine \"zitierte\"\n"
"Zeile"

msgid "not yet"
msgstr ""
`))
	want := []language.Entry{
		{ID: "%d guitar", Many: "%d guitars", Words: []string{"%d Gitarre", "%d Gitarren"}},
		{ID: "a \"quoted\"\nline", Words: []string{"eine \"zitierte\"\nZeile"}},
		{ID: "neck", Words: []string{"Hals"}},
		{ID: "not yet"},
		{ID: "top‖of the guitar", Words: []string{"Decke"}},
	}
	if len(got) != len(want) {
		t.Fatalf("%d entries: %q", len(got), got)
	}
	for i, w := range want {
		g := got[i]
		if g.ID != w.ID || g.Many != w.Many || len(g.Words) != len(w.Words) || len(w.Words) > 0 && g.Words[0] != w.Words[0] || len(w.Words) > 1 && g.Words[1] != w.Words[1] {
			t.Errorf("entry %d is %q, want %q", i, g, w)
		}
	}
}

// FuzzRead: whatever the file holds, it is read or left out, never a fault.
func FuzzRead(f *testing.F) {
	f.Add([]byte("msgid \"a\"\nmsgstr \"b\"\n"))
	f.Add([]byte("msgctxt \"c\"\nmsgid \"a\"\nmsgid_plural \"as\"\nmsgstr[0] \"b\"\nmsgstr[7] \"bs\"\n"))
	f.Add([]byte("msgid"))
	f.Fuzz(func(t *testing.T, po []byte) {
		for _, e := range language.Read(po) {
			if e.ID == "" {
				t.Fatalf("an entry without a text: %q", e)
			}
		}
	})
}
