package stringset

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"fairset/unit"
)

// Note is a note of twelve-tone equal temperament, numbered so that A4 is 69 and each semitone is one more.
type Note int

// ConcertA is the usual pitch of A4. source: ISO 16.
const ConcertA unit.Frequency = 440

var (
	reNote = regexp.MustCompile(`^([A-Ga-g])([#b]?)(-1|[0-9])$`)
	steps  = map[string]int{"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}
	names  = [12]string{"C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"}
)

// ParseNote reads a note with its octave: E2, F#3, Bb2, C♯4. Middle C is C4.
// Otherwise the error is a *unit.RangeError naming note.
func ParseNote(text string) (Note, error) {
	m := reNote.FindStringSubmatch(strings.NewReplacer("♯", "#", "♭", "b").Replace(strings.TrimSpace(text)))
	if len(text) > 16 || m == nil {
		return 0, &unit.RangeError{Limit: unit.Limit{Field: "note", Label: unit.Say("note"), Kind: unit.KindText}, Got: text, Value: math.NaN(), Why: unit.Say("write a letter A to G, # or b if it needs one, and the octave, like E2, F#3 or Bb2 (middle C is C4)")}
	}
	octave, _ := strconv.Atoi(m[3])
	n := Note(12*(octave+1) + steps[strings.ToLower(m[1])])
	switch m[2] {
	case "#":
		n++
	case "b":
		n--
	}
	return n, nil
}

// String writes the note: "E2", "F#3", "Bb2".
func (n Note) String() string {
	i := ((int(n) % 12) + 12) % 12
	return names[i] + strconv.Itoa((int(n)-i)/12-1)
}

// Frequency returns the note's pitch where A4 has the pitch given.
//
//	f = A4·2^((n-69)/12)
//
// Source: definition of twelve-tone equal temperament.
func (n Note) Frequency(a4 unit.Frequency) unit.Frequency {
	return a4 * unit.Frequency(math.Exp2(float64(n-69)/12))
}

// PitchOf is Frequency with its input checked, for note numbers that need not be whole (a quarter tone).
// Errors are *unit.RangeError naming midi or a4.
func PitchOf(midi float64, a4 unit.Frequency) (unit.Frequency, error) {
	if err := unit.Checks(fieldLimits["midi"].Check(midi), fieldLimits["a4"].Check(float64(a4))); err != nil {
		return 0, err
	}
	return a4 * unit.Frequency(math.Exp2((midi-69)/12)), nil
}

// Tuning is the notes of the open strings, bass string first; on a re-entrant tuning such as a ukulele's, the
// string on the bass side first.
type Tuning struct {
	Key   string
	Name  unit.Text
	Notes []Note
}

// NewTuning reads a tuning as people write it: "D2 A2 D3 G3 B3 E4". Errors are *unit.RangeError naming
// tuning.
func NewTuning(name unit.Text, notes string) (Tuning, error) {
	t := Tuning{Name: name}
	bad := func(why unit.Text, args ...any) error {
		return &unit.RangeError{Limit: unit.Limit{Field: "tuning", Label: unit.Say("tuning"), Kind: unit.KindText}, Got: notes, Value: math.NaN(), Why: unit.Say(why, args...)}
	}
	if len(notes) > 200 {
		return t, bad("it is too long: at most 24 notes")
	}
	words := strings.FieldsFunc(notes, func(r rune) bool { return r == ' ' || r == ',' || r == '\t' })
	if len(words) == 0 || len(words) > 24 {
		return t, bad("give 1 to 24 notes from the bass string up, like E2 A2 D3 G3 B3 E4")
	}
	for _, w := range words {
		n, err := ParseNote(w)
		if err != nil {
			if len(w) > 12 {
				w = strings.ToValidUTF8(w[:12], "") + "…"
			}
			return t, bad("%q is not a note; write each like E2, F#3 or Bb2", w)
		}
		t.Notes = append(t.Notes, n)
	}
	return t, nil
}

// Tune returns the strings at a tuning's notes. Errors are *unit.RangeError naming tuning or a4.
func Tune(strs []String, t Tuning, a4 unit.Frequency) ([]String, error) {
	if err := fieldLimits["a4"].Check(float64(a4)); err != nil {
		return nil, err
	}
	if len(t.Notes) != len(strs) {
		return nil, &unit.RangeError{Limit: unit.Limit{Field: "tuning", Label: unit.Say("tuning"), Kind: unit.KindText}, Found: unit.Say("%v", t.Name), Value: math.NaN(),
			Why: unit.Say("it has %d notes for %d strings", len(t.Notes), len(strs))}
	}
	out := make([]String, len(strs))
	for i, s := range strs {
		s.Pitch = t.Notes[i].Frequency(a4)
		out[i] = s
	}
	return out, nil
}
