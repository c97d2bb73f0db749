package climate

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"pgregory.net/rapid"

	"fairset/unit"
)

func at(s string) time.Time {
	t, err := time.Parse("2006-01-02 15:04:05", s)
	if err != nil {
		panic(err)
	}
	return t
}

func utf16le(s string) []byte {
	out := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		out = binary.LittleEndian.AppendUint16(out, u)
	}
	return out
}

// Files as loggers of several kinds write them: made up by us, after the forms met in practice (common
// practice, no source). The figures read are plain from the text.
func TestLoggersFiles(t *testing.T) {
	one := Reading{At: at("2026-01-13 14:05:00"), Temperature: 21.5, Humidity: 45.2}
	for _, c := range []struct {
		name, file string
		o          Options
		want       Reading
		note       string
	}{
		{"plain ISO", "time,temperature (°C),humidity (%)\n2026-01-13 14:05,21.5,45.2\n", Options{}, one, "comma"},
		{"ISO with zone", "Timestamp,Temp °C,RH %\n2026-01-13T15:05:00+01:00,21.5,45.2\n", Options{}, one, ""},
		{"byte order mark, columns the other way", "\xef\xbb\xbfHumidity [%];Temperature [°C];Date/Time\r\n45,2;21,5;13.01.2026 14:05:00\r\n", Options{}, one, "semicolon"},
		{"tab, two columns for the time", "No\tDatum\tUhrzeit\tTemperatur °C\tLuftfeuchtigkeit %\n1\t13.01.2026\t14:05\t21,5\t45,2\n", Options{}, one, "tab"},
		{"Fahrenheit, month first, half days", "Date,Time,Temp (°F),Humidity (%RH)\n1/13/2026,2:05 PM,70.7,45.2\n", Options{}, one, "month"},
		{"day first by a later line", "Time|Temp (C)|RH(%)|Room\n03/01/2026 14:05|20|40|shed\n13/01/2026 14:05|21.5|45.2|shed\n", Options{}, Reading{At: one.At, Place: "shed", Temperature: 21.5, Humidity: 45.2}, "day"},
		{"words and quotes", "\"Device\",\"Date Time\",\"Temperature\",\"Relative Humidity\"\n\"a, b\",\"Jan 13, 2026 2:05 PM\",\"21,5 °C\",\"45,2 %\"\n", Options{}, Reading{At: one.At, Place: "a, b", Temperature: 21.5, Humidity: 45.2}, ""},
		{"lines before, a units row, Latin-1", "Serial 12\nName;shed\n\nTime;Temperature;Humidity\n;\xb0F;%\n2026-01-13 14:05:00;70,7;45,2\n", Options{}, one, "Line 5"},
		{"two bytes a letter", string(utf16le("time;temp_c;hum\n2026/01/13 14:05;21,5;45,2\n")), Options{}, one, ""},
		{"seconds since 1970", "time,temp_c,rh\n1768313100,21.5,45.2\n", Options{}, one, ""},
		{"milliseconds since 1970", "time,temp_c,rh\n1768313100000,21.5,45.2\n", Options{}, one, ""},
		{"asked and answered", "time,temperature,humidity\n01/02/2026 14:05,40,45.2\n", Options{Dates: MonthFirst, Unit: "f", Place: " by  the window "}, Reading{At: at("2026-01-02 14:05:00"), Place: "by the window", Temperature: 4.444, Humidity: 45.2}, ""},
		{"another zone", "time,temp °C,rh\n2026-01-13 09:05,21.5,45.2\n", Options{Zone: time.FixedZone("five behind", -5*3600)}, one, ""},
		{"dew point is no temperature", "time,dew point °C,temperature °C,humidity\n2026-01-13 14:05,9.1,21.5,45.2\n", Options{}, one, ""},
		{"no unit but plainly °F", "time,temperature,humidity\n2026-01-13 14:05,70.7,45.2\n", Options{}, one, "taken as °F"},
		{"no unit but plainly °C", "time,temperature,humidity\n2026-01-13 14:05,21.5,45.2\n", Options{}, one, "taken as °C"},
	} {
		got, err := Parse([]byte(c.file), c.o)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		last := got.Readings[len(got.Readings)-1]
		if !last.At.Equal(c.want.At) || last.Place != c.want.Place || math.Abs(last.Temperature-c.want.Temperature) > 1e-9 || last.Humidity != c.want.Humidity || len(got.Bad) > 0 {
			t.Errorf("%s: got %+v, want %+v; bad %v", c.name, last, c.want, got.Bad)
		}
		if !strings.Contains(unit.Join(got.Notes...).English(), c.note) {
			t.Errorf("%s: notes %v lack %q", c.name, got.Notes, c.note)
		}
	}
}

func TestWhatIsAsked(t *testing.T) {
	for _, c := range []struct{ name, file, option string }{
		{"dates", "time,temp °C,rh\n01/02/2026 14:05,21,45\n03/04/2026 14:05,21,45\n", "dates"},
		{"dates both ways", "time,temp °C,rh\n13/02/2026 14:05,21,45\n03/14/2026 14:05,21,45\n", "dates"},
		{"unit", "time,temp,rh\n2026-01-02 14:05,40,45\n", "unit"},
	} {
		_, err := Parse([]byte(c.file), Options{})
		var q *Question
		if !errors.As(err, &q) || q.Option != c.option || len(q.Choices) != 2 {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// The same day and month leave nothing open.
	if got, err := Parse([]byte("time,temp °C,rh\n05/05/2026 14:05,21,45\n"), Options{}); err != nil || got.Readings[0].At != at("2026-05-05 14:05:00") {
		t.Errorf("%v %v", got, err)
	}
	both, err := Parse([]byte("time,temp °C,rh\n13/02/2026 14:05,21,45\n03/14/2026 14:05,21,45\n"), Options{Dates: DayFirst})
	if err != nil || len(both.Readings) != 1 || len(both.Bad) != 1 || both.Bad[0].Line != 3 {
		t.Errorf("%+v %v", both, err)
	}
}

func TestBadLinesAreListedAndTheRestKept(t *testing.T) {
	file := strings.Join([]string{
		"logger 3", "", // 1, 2
		"time,temperature °C,humidity", // 3
		"2026-01-13 14:00,21.5,45",     // 4
		"2026-01-13 14:10,21.5",        // 5: too few
		"2026-01-13 14:20,21,5,45,2",   // 6: decimal commas
		"2026-01-13 14:30,err,45",      // 7
		"2026-01-13 14:40,21.5,",       // 8
		"2026-13-13 14:50,21.5,45",     // 9
		"2026-02-30 15:00,21.5,45",     // 10
		"2026-01-13,21.5,45",           // 11: no time of day
		"2026-01-13 15:20,90,45",       // 12
		"2026-01-13 15:30,21.5,120",    // 13
		"2026-01-13 14:00,21.5,45.0",   // 14: a double
		"2026-01-13 14:00,23.5,45.0",   // 15: the same time, another figure
		`2026-01-13 16:00,"21.5,45`,    // 16: open quote
		"2026-01-13 16:10,22,46,",      // 17: good, with a comma at the end
	}, "\n")
	got, err := Parse([]byte(file), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Readings) != 2 || got.Doubles != 1 {
		t.Errorf("%d readings, %d doubles: %+v", len(got.Readings), got.Doubles, got.Readings)
	}
	var lines []int
	for _, b := range got.Bad {
		lines = append(lines, b.Line)
		if b.Why.Empty() || b.Text == "" {
			t.Errorf("%+v", b)
		}
	}
	if fmt.Sprint(lines) != "[5 6 7 8 9 10 11 12 13 15 16]" {
		t.Errorf("bad lines %v", lines)
	}
	// Nothing is lost: every line below the headings is a reading, a double or listed.
	if len(got.Readings)+got.Doubles+len(got.Bad) != 14 {
		t.Errorf("%d + %d + %d lines", len(got.Readings), got.Doubles, len(got.Bad))
	}
}

func TestFilesRefused(t *testing.T) {
	for _, file := range []string{"", "hello", "time,temperature\n2026-01-13 14:00,21\n", "time,temperature °C,humidity\n", "time,temperature °C,humidity\nx,y,z\nx,1,2\n", "\xff\xfe", strings.Repeat(",", 5000)} {
		_, err := Parse([]byte(file), Options{})
		var fe *FileError
		if !errors.As(err, &fe) || fe.Why.Empty() {
			t.Errorf("%.20q: %v", file, err)
		}
	}
	_, err := Parse([]byte("time,temp (°C),rh\n2026-01-13 14:00,21,45\n"), Options{Unit: "f"})
	var fe *FileError
	if !errors.As(err, &fe) {
		t.Errorf("a unit against the file's own: %v", err)
	}
}

func TestHundredThousandRows(t *testing.T) {
	var b strings.Builder
	b.WriteString("time;temperature °C;humidity\n")
	start := at("2024-01-01 00:00:00")
	for i := range 100000 {
		fmt.Fprintf(&b, "%s;%d,%d;%d,5\n", start.Add(time.Duration(i)*5*time.Minute).Format("02.01.2006 15:04:05"), 18+i%5, i%10, 40+i%15)
	}
	got, err := Parse([]byte(b.String()), Options{})
	if err != nil || len(got.Readings) != 100000 || len(got.Bad) > 0 {
		t.Fatalf("%d readings, %d bad, %v", len(got.Readings), len(got.Bad), err)
	}
}

func TestEncodeComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rs []Reading
		when := at("2026-01-01 00:00:00")
		for range rapid.IntRange(1, 20).Draw(t, "n") {
			when = when.Add(time.Duration(rapid.IntRange(1, 1e6).Draw(t, "step")) * time.Second)
			r, err := Reading{At: when, Place: rapid.StringMatching(`[a-z,;" ]{0,12}`).Draw(t, "place"), Temperature: float64(rapid.IntRange(-200, 600).Draw(t, "t")) / 10, Humidity: float64(rapid.IntRange(10, 990).Draw(t, "h")) / 10}.Normal()
			if err != nil {
				t.Fatal(err)
			}
			rs = append(rs, r)
		}
		got, err := Parse(Encode(rs), Options{})
		if err != nil || fmt.Sprint(got.Readings) != fmt.Sprint(rs) || len(got.Bad) > 0 {
			t.Fatalf("%v\nfrom %v\nbad %v, %v", got.Readings, rs, got.Bad, err)
		}
	})
}

// FuzzParse: no file makes it panic, every reading is one that may be kept, and no line gets lost.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"time,temperature °C,humidity\n2026-01-13 14:00,21.5,45\n", "\xef\xbb\xbfDatum;Uhrzeit;Temp;Feuchte\n;;°F;%\n1/2/26;3:04 PM;\"70,1\";45 %\n", "a\tb\n", "\xff\xfet\x00", "time|temp f|rh|room\n\"x|1|2|3\n1768313100|70|4\n"} {
		f.Add([]byte(s), byte(0))
	}
	f.Fuzz(func(t *testing.T, data []byte, how byte) {
		o := Options{}
		if how&1 > 0 {
			o.Dates = DayFirst
		}
		if how&2 > 0 {
			o.Unit = "f"
		}
		got, err := Parse(data, o)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		for i, r := range got.Readings {
			if n, err := r.Normal(); err != nil || n != r {
				t.Fatalf("%+v: %v", r, err)
			}
			if i > 0 && Compare(got.Readings[i-1], r) >= 0 {
				t.Fatal("out of order")
			}
		}
		again, err := Parse(Encode(got.Readings), Options{})
		if err != nil || len(again.Readings) != len(got.Readings) {
			t.Fatalf("written and read: %d of %d, %v, %v", len(again.Readings), len(got.Readings), err, again.Bad)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	var s strings.Builder
	s.WriteString("time,temperature °C,humidity\n")
	for i := range 100000 {
		fmt.Fprintf(&s, "%s,21.5,45.2\n", at("2024-01-01 00:00:00").Add(time.Duration(i)*5*time.Minute).Format(time.RFC3339))
	}
	data := []byte(s.String())
	for b.Loop() {
		if _, err := Parse(data, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
