// Package store says how a shop's guitars are kept, whatever keeps them. The record of a guitar only grows;
// every change carries the revision it was made against, so two benches can never overwrite each other.
//
// A change that is acknowledged (its call returned without an error) is on the disk.
package store

import (
	"context"
	"crypto/rand"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"fairset/craft/bill"
	"fairset/craft/climate"
	"fairset/craft/fastening"
	"fairset/craft/guitar"
	"fairset/language"
	"fairset/unit"
)

// Record is one guitar as it is kept. Revision rises with every change; it is the number a change must name.
// A Record is shared between callers: nobody changes what it holds.
type Record struct {
	Guitar   guitar.Guitar
	Revision int64
	Changed  time.Time
	Removed  bool   // put aside; Restore brings it back
	Owner    string // account it belongs to in a shared shop; "" is the teachers'
}

// Settings are the shop's defaults.
type Settings struct {
	Units    unit.Style // how lengths are shown to whoever has not chosen
	Language string     // BCP 47 tag of the pages' language for whoever has not chosen; "" for what each browser asks for
	ShopName string     // printed on the guitar's page; may be empty
	// Drills are those the shop owns, as typed and as fastening.Owned reads them; none for each design's own series.
	Drills []string
	// Prices are the shop's own, as typed and as bill.ParsePrices reads them, by item.
	Prices   map[string]string
	Currency string // set before a sum; may be empty
}

// DefaultSettings is what a new shop starts with.
func DefaultSettings() Settings { return Settings{Units: unit.Inch64} }

// maxShopName bounds the shop's name, in characters; maxCurrency its currency.
const (
	maxShopName = 120
	maxCurrency = 5
)

// Check refuses settings that cannot be used. Errors are of kind Invalid, or a *unit.RangeError naming drills,
// prices or price_ITEM.
func (s Settings) Check() error {
	if _, err := unit.ParseStyle(string(s.Units)); err != nil {
		return Errorf(Invalid, nil, "%v", err)
	}
	if c, ok := language.Parse(s.Language); s.Language != "" && (!ok || c.Tag() != s.Language) {
		return Errorf(Invalid, nil, "language: Fairset does not speak “%s”.", s.Language)
	}
	if utf8.RuneCountInString(s.ShopName) > maxShopName || !utf8.ValidString(s.ShopName) || strings.ContainsFunc(s.ShopName, unicode.IsControl) {
		return Errorf(Invalid, nil, "shop name: keep it to %d characters on one line.", maxShopName)
	}
	if utf8.RuneCountInString(s.Currency) > maxCurrency || !utf8.ValidString(s.Currency) || strings.ContainsFunc(s.Currency, unicode.IsControl) {
		return Errorf(Invalid, nil, "currency: keep it to %d characters.", maxCurrency)
	}
	if len(s.Drills) > 0 {
		if _, err := fastening.Owned(s.Drills...); err != nil {
			return err
		}
	}
	_, err := bill.ParsePrices(s.Prices)
	return err
}

// Equal reports whether two settings say the same.
func (s Settings) Equal(o Settings) bool {
	return s.Units == o.Units && s.Language == o.Language && s.ShopName == o.ShopName && s.Currency == o.Currency && slices.Equal(s.Drills, o.Drills) && maps.Equal(s.Prices, o.Prices)
}

// Outcome says what became of one guitar of an import.
type Outcome string

// The outcomes of an import.
const (
	Added    Outcome = "added"
	Skipped  Outcome = "skipped"  // the same guitar is here already, entry for entry
	Restored Outcome = "restored" // the same guitar was here, removed; it is back
	Copied   Outcome = "copied"   // another record has its id: kept beside it under a new id
)

// Imported is one guitar of an import: what became of it, and the id it came with.
type Imported struct {
	Record  Record
	Outcome Outcome
	Was     string // id in the file; may be empty
}

// Store keeps guitars. Every method may return an *Error; no other error is meant for a person's eyes.
// Times are kept to the microsecond, in UTC.
type Store interface {
	// Create keeps a new guitar and gives it an id if it has none. An id already taken is Invalid.
	Create(ctx context.Context, g guitar.Guitar) (Record, error)
	// Get returns one guitar, removed or not.
	Get(ctx context.Context, id string) (Record, error)
	// List returns every guitar that is not removed, the newest change first.
	List(ctx context.Context) ([]Record, error)
	// Removed returns those that are.
	Removed(ctx context.Context) ([]Record, error)
	// Append adds an entry, which must be numbered next. When revision is not the current one nothing is
	// kept: the error is a Conflict carrying the current record.
	Append(ctx context.Context, id string, revision int64, e guitar.Entry) (Record, error)
	// Undo marks the last standing entry as undone and returns it.
	Undo(ctx context.Context, id string, revision int64) (Record, guitar.Entry, error)
	// Rename gives a guitar another name.
	Rename(ctx context.Context, id string, revision int64, name string) (Record, error)
	// Remove puts a guitar aside. Nothing is erased.
	Remove(ctx context.Context, id string, revision int64) (Record, error)
	// Restore brings a removed guitar back.
	Restore(ctx context.Context, id string) (Record, error)
	// Import keeps all of the guitars or none. Nothing that is here is ever overwritten.
	Import(ctx context.Context, gs []guitar.Guitar) ([]Imported, error)

	Settings(ctx context.Context) (Settings, error)
	SaveSettings(ctx context.Context, s Settings) error

	// AddClimate keeps readings of the air: all that are new, or none when one of them may not be kept. A reading
	// that is here already is not doubled, and one that says otherwise than what is here is kept out and returned.
	AddClimate(ctx context.Context, rs []climate.Reading) (ClimateAdded, error)
	// Climate returns the readings from a time on and before another, in order of time; a zero time is open.
	Climate(ctx context.Context, from, before time.Time) ([]climate.Reading, error)
	// RemoveClimate takes one reading away, as one that was typed wrong.
	RemoveClimate(ctx context.Context, at time.Time, place string) error

	// Check reads everything and reports the first thing that is not as it was written.
	Check(ctx context.Context) error
	// Watch tells of changes from now on, until ctx ends or the store is closed; then the channel is closed. A
	// watcher that is slow misses changes in between, never the last one of a guitar. After a break in which
	// changes may have been missed it tells that anything may have changed.
	Watch(ctx context.Context) (<-chan Change, error)
	Close() error
}

// idLetters leaves out vowels, so that no id spells a word, and what is easily misread: 0 1 2 5 l s z.
const idLetters = "346789bcdfghjkmnpqrtvwx"

// NewID returns a short random id that is easy to read out across a shop. The chance that two are equal is
// 1 in 148 million (23^6); whoever keeps them must still look.
func NewID() string {
	id := make([]byte, 0, 6)
	var b [16]byte
	for len(id) < cap(id) {
		rand.Read(b[:])
		for _, x := range b {
			// 253 is the largest multiple of 23 in a byte: beyond it some letters would come up more often.
			if x < 253 && len(id) < cap(id) {
				id = append(id, idLetters[int(x)%len(idLetters)])
			}
		}
	}
	return string(id)
}

// Moment returns a time as it is kept.
func Moment(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }

// Normal returns the entry as it will come back. An entry that is not numbered next, or could not be read
// back, is Invalid and says why; so nothing unreadable is ever kept.
func Normal(g guitar.Guitar, e guitar.Entry) (guitar.Entry, error) {
	e.At = Moment(e.At)
	back, err := g.ReadBack(e)
	if err != nil {
		return e, Errorf(Invalid, nil, "%v", err)
	}
	return back, nil
}

// NormalGuitar returns the guitar as it will come back, and refuses one that could not be read again.
func NormalGuitar(g guitar.Guitar) (guitar.Guitar, error) {
	g.Created = Moment(g.Created)
	log := make([]guitar.Entry, len(g.Log))
	copy(log, g.Log)
	for i := range log {
		log[i].At = Moment(log[i].At)
	}
	g.Log = log
	gs, err := guitar.Decode(guitar.Encode(g))
	if err != nil {
		return g, Errorf(Invalid, nil, "%v", err)
	}
	return gs[0], nil
}

// Revised returns the record after a change at the time now.
func (r Record) Revised(g guitar.Guitar, now time.Time) Record {
	r.Guitar = g
	r.Revision++
	r.Changed = Moment(now)
	return r
}

// String names the guitar for a log.
func (r Record) String() string {
	return fmt.Sprintf("%s %q revision %d", r.Guitar.ID, r.Guitar.Name, r.Revision)
}
