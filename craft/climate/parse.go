package climate

import (
	"bytes"
	"encoding/binary"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"fairset/unit"
)

// Bounds of one file.
const (
	MostBytes = 32 << 20
	MostRows  = 250000
)

// Order is how a file writes dates such as 3/4/2026.
type Order string

// The two orders; empty is unknown.
const (
	DayFirst   Order = "day"
	MonthFirst Order = "month"
)

// Options answer what a file may leave open.
type Options struct {
	Place string         // of readings whose file names none
	Dates Order          // of dates such as 3/4/2026; empty: found out, or asked
	Unit  string         // "c" or "f" for temperatures that name no unit; empty: found out, or asked
	Zone  *time.Location // of times that name no zone; nil is UTC
}

// Bad is a line that was not understood.
type Bad struct {
	Line int    // counted from 1
	Text string // the line, clipped
	Why  unit.Phrase
}

// Import is what a file holds.
type Import struct {
	Readings  []Reading // in order of time, without doubles
	Doubles   int       // lines that say again what an earlier one said
	Bad       []Bad
	Delimiter string        // "comma", "semicolon", "tab" or "bar"
	Notes     []unit.Phrase // how the file was read
}

// Question is a file that can be read in two ways: nothing is guessed. Ask and read again with the option.
type Question struct {
	Option  string // "dates" or "unit"
	Say     unit.Phrase
	Choices []string
}

func (q *Question) Error() string { return q.In(unit.Millimetre) }

// In writes the question for a maker.
func (q *Question) In(s unit.Style) string { return q.Say.In(s) }

// FileError is a file that is no log of readings.
type FileError struct {
	Line int // 0 when the whole file is at fault
	Why  unit.Phrase
}

func (e *FileError) Error() string { return e.In(unit.Millimetre) }

// In writes the error for a maker.
func (e *FileError) In(s unit.Style) string {
	if e.Line > 0 {
		return s.Say("line %d: %v", e.Line, e.Why)
	}
	return e.Why.In(s)
}

// between says what stands between columns.
var between = map[string]unit.Text{"tab": "tab", "semicolon": "semicolon", "comma": "comma", "bar": "bar‖between columns"}

var delimiters = []struct {
	name string
	r    rune
}{{"tab", '\t'}, {"semicolon", ';'}, {"comma", ','}, {"bar", '|'}}

// columns of a file; -1 for none.
type columns struct{ time, date, temperature, humidity, place int }

var (
	reFahrenheit = regexp.MustCompile(`(?:°|º|\bdeg(?:rees)?\s?)f\b|\bf\b|fahrenheit|_f$`)
	reCelsius    = regexp.MustCompile(`(?:°|º|\bdeg(?:rees)?\s?)c\b|\bc\b|celsius|centigrade|_c$`)
)

func hasAny(s string, words ...string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(s, w) })
}

// heading finds the columns in a line of headings, whatever their order, in the words loggers use in several
// languages. ok is false when one that is needed is missing.
func heading(cells []string) (c columns, ok bool) {
	c = columns{-1, -1, -1, -1, -1}
	set := func(at *int, i int) {
		if *at < 0 {
			*at = i
		}
	}
	for i, cell := range cells {
		h := strings.ToLower(strings.TrimSpace(cell))
		switch {
		case h == "" || len(h) > 80:
		case hasAny(h, "dew", "taupunkt", "rosée", "rosee", "rocío", "rocio", "heat index", "vpd", "absolute", "setpoint", "alarm"):
		case hasAny(h, "temp"):
			set(&c.temperature, i)
		case hasAny(h, "hum", "feucht", "fugt", "fukt", "vocht") || h == "rh" || strings.HasPrefix(h, "rh ") || strings.HasPrefix(h, "rh(") || strings.HasPrefix(h, "rh_") || strings.HasPrefix(h, "rh%") || strings.HasPrefix(h, "rh[") || strings.HasPrefix(h, "%rh") || strings.HasPrefix(h, "% rh"):
			set(&c.humidity, i)
		case hasAny(h, "timestamp", "date/time", "date time", "datetime", "date-time", "date_time", "datum/", "date & time", "date and time"):
			set(&c.time, i)
		case hasAny(h, "date", "datum", "fecha", "data") && !hasAny(h, "data logger", "data point"):
			set(&c.date, i)
		case hasAny(h, "time", "zeit", "heure", "hora", "uhr", "tid", "tijd") && !hasAny(h, "elapsed"):
			set(&c.time, i)
		case hasAny(h, "place", "room", "location", "sensor", "device", "channel", "station"):
			set(&c.place, i)
		}
	}
	return c, c.temperature >= 0 && c.humidity >= 0 && (c.time >= 0 || c.date >= 0)
}

// cells splits one line, minding quotes. ok is false when a quote is not closed.
func cells(line string, sep rune) (out []string, ok bool) {
	if !strings.ContainsRune(line, '"') {
		return strings.Split(line, string(sep)), true
	}
	var b strings.Builder
	quoted := false
	rs := []rune(line)
	for i := 0; i < len(rs); i++ {
		switch r := rs[i]; {
		case r == '"' && quoted && i+1 < len(rs) && rs[i+1] == '"':
			b.WriteRune('"')
			i++
		case r == '"' && (quoted || strings.TrimSpace(b.String()) == ""):
			quoted = !quoted
		case r == sep && !quoted:
			out = append(out, b.String())
			b.Reset()
		default:
			b.WriteRune(r)
		}
	}
	return append(out, b.String()), !quoted
}

// text turns a file into text: UTF-8 with or without its mark, UTF-16 with its mark, else one byte a letter as in
// Windows and Latin-1 files, where ° is.
func text(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		var order binary.ByteOrder = binary.LittleEndian
		if data[0] == 0xfe {
			order = binary.BigEndian
		}
		units := make([]uint16, 0, len(data)/2)
		for d := data[2:]; len(d) >= 2; d = d[2:] {
			units = append(units, order.Uint16(d))
		}
		return string(utf16.Decode(units))
	}
	if utf8.Valid(data) {
		return string(data)
	}
	rs := make([]rune, len(data))
	for i, b := range data {
		rs[i] = rune(b)
	}
	return string(rs)
}

// row is one data line, its cells picked out.
type row struct {
	line                               int
	text                               string
	when, temperature, humidity, place string
}

// Parse reads a logger's file: comma, semicolon, tab or bar between columns, headings in any order and after
// any number of other lines, decimal points or commas, °C or °F by heading, units row or cell, dates in ISO
// and many other forms. Lines that cannot be read are listed with their number, and the rest is kept.
//
// Errors are *Question when dates (3/4/2026) or the unit of temperature can be read two ways, and *FileError when
// there is nothing to read.
func Parse(data []byte, o Options) (Import, error) {
	if len(data) > MostBytes {
		return Import{}, &FileError{0, unit.Say("the file is larger than %d MiB: split it", MostBytes>>20)}
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text(data)), "\n")
	at, cols, sep, name := findHeading(lines)
	if at < 0 {
		return Import{}, &FileError{0, unit.Say("no line of headings was found: one of the first 60 lines must name the columns, such as time, temperature, humidity")}
	}
	out := Import{Delimiter: name}
	head, _ := cells(lines[at], sep)
	labels := []string{}
	for _, i := range []int{cols.date, cols.time, cols.temperature, cols.humidity, cols.place} {
		if i >= 0 {
			labels = append(labels, "“"+strings.TrimSpace(head[i])+"”")
		}
	}
	out.note("Headings on line %d, %v between columns. Read: %s.", at+1, between[name], strings.Join(labels, ", "))
	rows, unitWord := out.rows(lines, at, cols, sep, head)
	if len(rows) > MostRows {
		return Import{}, &FileError{0, unit.Say("the file has more than %d rows: split it", MostRows)}
	}
	order, err := out.order(rows, o)
	if err != nil {
		return Import{}, err
	}
	celsius, err := out.celsius(rows, unitWord, o)
	if err != nil {
		return Import{}, err
	}
	type kept struct {
		Reading
		row
	}
	var good []kept
	for _, r := range rows {
		when, err := moment(r.when, order, o.Zone)
		if err != nil {
			out.bad(r.line, r.text, "%v", err)
			continue
		}
		t, mark, err := number(r.temperature)
		if err != nil {
			out.bad(r.line, r.text, "temperature: %v", err)
			continue
		}
		h, _, err := number(r.humidity)
		if err != nil {
			out.bad(r.line, r.text, "humidity: %v", err)
			continue
		}
		if mark == "f" || mark == "" && !celsius {
			t = math.Round((t-32)*5/9*1000) / 1000
		}
		place := r.place
		if place == "" {
			place = o.Place
		}
		one, err := Reading{At: when, Place: place, Temperature: t, Humidity: h}.Normal()
		if err != nil {
			out.bad(r.line, r.text, "%v", err)
			continue
		}
		good = append(good, kept{one, r})
	}
	slices.SortStableFunc(good, func(a, b kept) int { return Compare(a.Reading, b.Reading) })
	for i, g := range good {
		if i > 0 && Compare(good[i-1].Reading, g.Reading) == 0 {
			last := out.Readings[len(out.Readings)-1]
			if Same(last, g.Reading) {
				out.Doubles++
			} else {
				out.bad(g.line, g.text, "the same time and place as an earlier line, which says %.1f °C and %.1f %%", last.Temperature, last.Humidity)
			}
			continue
		}
		out.Readings = append(out.Readings, g.Reading)
	}
	slices.SortStableFunc(out.Bad, func(a, b Bad) int { return a.Line - b.Line })
	if len(out.Readings) == 0 {
		e := &FileError{0, unit.Say("there is no reading below the headings")}
		if len(out.Bad) > 0 {
			e = &FileError{out.Bad[0].Line, out.Bad[0].Why}
		}
		return out, e
	}
	return out, nil
}

// bad lists a line that was not understood.
func (im *Import) bad(line int, text string, why unit.Text, args ...any) {
	if len(text) > 120 {
		text = strings.ToValidUTF8(text[:120], "") + "…"
	}
	im.Bad = append(im.Bad, Bad{line, text, unit.Say(why, args...)})
}

func (im *Import) note(say unit.Text, args ...any) {
	im.Notes = append(im.Notes, unit.Say(say, args...))
}

// findHeading looks for the line of headings and what stands between columns.
func findHeading(lines []string) (at int, c columns, sep rune, name string) {
	for i, line := range lines[:min(len(lines), 60)] {
		if len(line) > 4000 {
			continue
		}
		for _, d := range delimiters {
			if !strings.ContainsRune(line, d.r) {
				continue
			}
			if got, whole := cells(line, d.r); whole {
				if c, ok := heading(got); ok {
					return i, c, d.r, d.name
				}
			}
		}
	}
	return -1, columns{}, 0, ""
}

// rows picks the cells of the lines below the headings, and finds the unit in the heading or in a row of units.
func (im *Import) rows(lines []string, at int, c columns, sep rune, head []string) (rows []row, degree string) {
	degree = unitIn(strings.ToLower(head[c.temperature]))
	most := max(c.time, c.date, c.temperature, c.humidity)
	first := true
	for i := at + 1; i < len(lines); i++ {
		line := strings.TrimRight(lines[i], " \x00")
		if strings.Trim(line, " \t\x1a"+string(sep)) == "" {
			continue
		}
		got, whole := cells(line, sep)
		if !whole {
			im.bad(i+1, line, "a quotation mark is not closed")
			continue
		}
		for len(got) > len(head) && strings.TrimSpace(got[len(got)-1]) == "" {
			got = got[:len(got)-1]
		}
		if len(got) > len(head) {
			// A decimal comma between commas would put half a figure into the next column.
			im.bad(i+1, line, "it has %d columns and the headings name %d", len(got), len(head))
			continue
		}
		if len(got) <= most {
			im.bad(i+1, line, "it has %d columns, the headings name more", len(got))
			continue
		}
		cell := func(n int) string {
			if n < 0 || n >= len(got) {
				return ""
			}
			return strings.TrimSpace(got[n])
		}
		r := row{line: i + 1, text: line, when: strings.TrimSpace(cell(c.date) + " " + cell(c.time)), temperature: cell(c.temperature), humidity: cell(c.humidity), place: cell(c.place)}
		if first {
			first = false
			if _, _, err := number(r.temperature); err != nil && !strings.ContainsAny(r.temperature+r.humidity, "0123456789") {
				if u := unitIn(strings.ToLower(r.temperature)); u != "" {
					degree = u
				}
				im.note("Line %d names units.", i+1)
				continue
			}
		}
		rows = append(rows, r)
	}
	return rows, degree
}

// unitIn finds the unit of temperature a heading names.
func unitIn(s string) string {
	switch {
	case reFahrenheit.MatchString(s):
		return "f"
	case reCelsius.MatchString(s):
		return "c"
	}
	return ""
}

var reNumber = regexp.MustCompile(`^([+-]?[0-9]{1,6}(?:[.,][0-9]{0,9})?|[+-]?[.,][0-9]{1,9})\s*(.*)$`)

var tidy = strings.NewReplacer("−", "-", "\u00a0", " ", "\u202f", " ")

// number reads a figure with a decimal point or comma and the unit that may follow it: "c", "f" or "".
func number(s string) (v float64, degree string, err error) {
	s = strings.TrimSpace(tidy.Replace(s))
	m := reNumber.FindStringSubmatch(s)
	if m == nil {
		if s == "" {
			return 0, "", unit.Wrong("nothing is written")
		}
		return 0, "", unit.Wrong("%q is not a number", short(s))
	}
	after := strings.ToLower(strings.TrimSpace(m[2]))
	switch after {
	case "", "%", "% rh", "%rh", "rh", "%rf", "% rf", "percent":
	default:
		if degree = unitIn(after); degree == "" || len(after) > 12 {
			return 0, "", unit.Wrong("%q is not a number", short(s))
		}
	}
	v, err = strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
	if err != nil {
		return 0, "", unit.Wrong("%q is not a number", short(s))
	}
	return v, degree, nil
}

func short(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}

// celsius decides the unit of temperatures that carry none of their own.
func (im *Import) celsius(rows []row, named string, o Options) (bool, error) {
	if o.Unit != "" && named != "" && o.Unit != named {
		return false, &FileError{0, unit.Say("the file itself says that its temperatures are in °%s", strings.ToUpper(named))}
	}
	if u := named + o.Unit; u != "" {
		return u[0] == 'c', nil
	}
	low, high, any := math.Inf(1), math.Inf(-1), false
	for _, r := range rows {
		if v, mark, err := number(r.temperature); err == nil && mark == "" {
			low, high, any = min(low, v), max(high, v), true
		}
	}
	switch {
	case !any:
		return true, nil
	case high <= 38 && low < 32: // below freezing for a whole log in °F, or above blood heat in °C, is no shop
		im.note("No unit is named: the temperatures, %.1f to %.1f, are taken as °C.", low, high)
		return true, nil
	case low >= 46:
		im.note("No unit is named: the temperatures, %.1f to %.1f, are taken as °F.", low, high)
		return false, nil
	}
	return false, &Question{"unit", unit.Say("The file names no unit, and its temperatures, %.1f to %.1f, can be °C or °F: say which.", low, high), []string{"c", "f"}}
}

var reDate = regexp.MustCompile(`^([0-9]{1,4})([-/.])([0-9]{1,2})([-/.])([0-9]{1,4})\.?(?:[T ,]+(.*))?$`)

// order finds out whether dates such as 3/4/2026 begin with the day, from those that can be read only one way.
func (im *Import) order(rows []row, o Options) (Order, error) {
	var day, month, open int // a line that proves each, and one that does not
	for _, r := range rows {
		m := reDate.FindStringSubmatch(r.when)
		if m == nil || len(m[1]) > 2 || m[2] != m[4] || m[2] == "." {
			continue // ISO, words, or points, which always put the day first
		}
		a, b := atoi(m[1]), atoi(m[3])
		switch {
		case a > 12 && b <= 12 && day == 0:
			day = r.line
		case b > 12 && a <= 12 && month == 0:
			month = r.line
		case a != b && a <= 12 && b <= 12 && open == 0:
			open = r.line
		}
	}
	switch {
	case day > 0 && month > 0:
		if o.Dates != "" {
			return o.Dates, nil // the lines that do not fit are listed
		}
		return "", &Question{"dates", unit.Say("Line %d begins its date with the day and line %d with the month: say which the file goes by; the others will be listed.", day, month), []string{"day", "month"}}
	case day > 0 && o.Dates == MonthFirst, month > 0 && o.Dates == DayFirst:
		return "", &FileError{max(day, month), unit.Say(map[Order]unit.Text{DayFirst: "this date cannot begin with the day", MonthFirst: "this date cannot begin with the month"}[o.Dates])}
	case o.Dates != "":
		return o.Dates, nil
	case day > 0:
		im.note("Dates begin with the day: line %d can be read no other way.", day)
		return DayFirst, nil
	case month > 0:
		im.note("Dates begin with the month: line %d can be read no other way.", month)
		return MonthFirst, nil
	case open > 0:
		return "", &Question{"dates", unit.Say("The dates, such as on line %d, can begin with the day or with the month, and no line tells: say which.", open), []string{"day", "month"}}
	}
	return "", nil
}

func atoi(s string) int { n, _ := strconv.Atoi(s); return n }

var reClock = regexp.MustCompile(`^([0-9]{1,2})[:.h]([0-9]{2})(?::([0-9]{2})(?:[.,][0-9]{1,9})?)?\s*([AaPp])?\.?\s?(?:[Mm]\.?)?$`)

// wordy are dates with the month in words, and the like.
var wordy = []string{"2 Jan 2006 15:04:05", "2 Jan 2006 15:04", "2 Jan 2006 3:04:05 PM", "2 Jan 2006 3:04 PM", "2-Jan-2006 15:04:05", "2-Jan-2006 15:04", "2-Jan-06 15:04:05", "2-Jan-06 15:04",
	"Jan 2, 2006 15:04:05", "Jan 2, 2006 15:04", "Jan 2, 2006 3:04:05 PM", "Jan 2, 2006 3:04 PM", "2 January 2006 15:04", "January 2, 2006 15:04", "Mon Jan 2 15:04:05 2006", "20060102 150405", "20060102T150405", "20060102 15:04"}

// moment reads a date with its time.
func moment(s string, order Order, zone *time.Location) (time.Time, error) {
	if s == "" {
		return time.Time{}, unit.Wrong("the time is empty")
	}
	bad := unit.Wrong("%q is not a date and time", short(s))
	if len(s) > 60 {
		return time.Time{}, bad
	}
	for _, f := range []string{time.RFC3339, "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05 -0700", "2006-01-02T15:04:05-0700"} {
		if t, err := time.Parse(f, s); err == nil {
			return t, nil
		}
	}
	if (len(s) == 10 || len(s) == 13) && strings.Trim(s, "0123456789") == "" {
		n, _ := strconv.ParseInt(s, 10, 64)
		if len(s) == 13 {
			return time.UnixMilli(n), nil
		}
		return time.Unix(n, 0), nil
	}
	m := reDate.FindStringSubmatch(s)
	if m == nil {
		for _, f := range wordy {
			if t, err := time.ParseInLocation(f, strings.Join(strings.Fields(s), " "), zone); err == nil {
				return t, nil
			}
		}
		return time.Time{}, bad
	}
	if m[2] != m[4] {
		return time.Time{}, bad
	}
	var y, mo, d int
	a, b, c := atoi(m[1]), atoi(m[3]), atoi(m[5])
	switch {
	case len(m[1]) == 4 && len(m[5]) <= 2:
		y, mo, d = a, b, c
	case len(m[1]) <= 2 && (len(m[5]) == 4 || len(m[5]) == 2):
		if y = c; len(m[5]) == 2 {
			y += 2000
		}
		mo, d = b, a
		if m[2] != "." && order == MonthFirst {
			mo, d = a, b
		}
	default:
		return time.Time{}, bad
	}
	clock := reClock.FindStringSubmatch(strings.TrimSpace(m[6]))
	if clock == nil {
		return time.Time{}, unit.Wrong("%q has no time of day that can be read", short(s))
	}
	h, mi, sec := atoi(clock[1]), atoi(clock[2]), atoi(clock[3])
	if ap := strings.ToLower(clock[4]); ap != "" {
		if h < 1 || h > 12 {
			return time.Time{}, bad
		}
		h %= 12
		if ap == "p" {
			h += 12
		}
	}
	t := time.Date(y, time.Month(mo), d, h, mi, sec, 0, zone)
	if mo < 1 || mo > 12 || h > 23 || mi > 59 || sec > 59 || d < 1 || time.Date(y, time.Month(mo), d, 0, 0, 0, 0, time.UTC).Day() != d {
		return time.Time{}, unit.Wrong("there is no %s", short(s))
	}
	return t, nil
}
