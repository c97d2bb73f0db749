package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"fairset/unit"
)

func TestAirIsTypedShownAndTakenAway(t *testing.T) {
	b := newBench(t)
	b.units(unit.Millimetre)
	form := b.get("/climate").want(http.StatusOK, "No readings yet", "Type a reading").form("/climate")
	form.Set("temperature", "70 F")
	form.Set("humidity", "45")
	form.Set("place", "bench")
	form.Set("at", "2026-03-02T09:00")
	// source: Wood Handbook table 4-2: 8.5 % at 70 °F and 45 %
	p := b.follow(b.post("/climate", form)).want(http.StatusOK, "Kept: 45 % and 21.1 °C", "inside the band of 45 to 50 %", "8.5 % of water")
	b.follow(b.post("/climate", form)).want(http.StatusOK, "here already")
	form.Set("humidity", "60")
	again := b.post("/climate", form).want(http.StatusUnprocessableEntity, "another reading of that time and place")
	if again.form("/climate").Get("humidity") != "60" {
		t.Error("what was typed is not kept")
	}
	for _, f := range append(p.faults(), again.faults()...) {
		t.Error(f)
	}
	away := p.form("/climate/remove")
	b.follow(b.post("/climate/remove", away)).want(http.StatusOK, "was taken away", "No readings yet")
	b.post("/climate/remove", away).want(http.StatusNotFound)
	for _, c := range []struct{ field, text, says string }{
		{"temperature", "90 C", "temperature"}, {"humidity", "120", "relative humidity"}, {"humidity", "", "this one is needed"}, {"at", "yesterday", "Write the time like"}, {"at", "1066-10-14T09:00", "no reading is of that year"},
	} {
		bad := url.Values{"temperature": {"21"}, "humidity": {"45"}, "place": {""}, "at": {"2026-03-02T09:00"}}
		bad.Set(c.field, c.text)
		p := b.post("/climate", bad).want(http.StatusUnprocessableEntity, c.says, "Nothing was saved")
		for _, f := range p.faults() {
			t.Errorf("%s %q: %s", c.field, c.text, f)
		}
	}
}

func TestALoggersFileIsTakenInOnce(t *testing.T) {
	b := newBench(t)
	b.units(unit.Millimetre)
	file := []byte("\xef\xbb\xbfDatum;Uhrzeit;Temp °C;Feuchte\r\n02.03.2026;09:00;21,0;45,0\r\n02.03.2026;10:00;20,5;43,0\r\n31.02.2026;10:00;20,5;43,0\r\n")
	p := b.upload("/climate/import", file).want(http.StatusOK, "2 readings taken in", "1 not understood", "there is no 31.02.2026", "drier than the band")
	for _, f := range p.faults() {
		t.Error(f)
	}
	b.upload("/climate/import", file).want(http.StatusOK, "0 readings taken in", "2 here already")
	p = b.upload("/climate/import", []byte("time,temp °C,rh\n01/02/2026 09:00,21,45\n")).want(http.StatusUnprocessableEntity, "One question first", "begin with the day or with the month")
	for _, f := range p.faults() {
		t.Error(f)
	}
	b.upload("/climate/import", []byte("no log")).want(http.StatusUnprocessableEntity, "no line of headings")
	b.upload("/climate/import", nil).want(http.StatusUnprocessableEntity, "No file was chosen")
	out := b.get("/climate/export").want(http.StatusOK)
	if !strings.HasPrefix(out.text, "time,place,") || strings.Count(out.text, "\n") != 3 {
		t.Errorf("exported %q", out.text)
	}
	for _, at := range []string{"/climate?span=all", "/climate?span=week&place=", "/climate?thickness=20+mm", "/climate?thickness=9+m", "/climate?place=nowhere"} {
		p := b.get(at).want(http.StatusOK)
		for _, f := range p.faults() {
			t.Errorf("%s: %s", at, f)
		}
	}
}

func TestDesignSaysWhatTheAirDoes(t *testing.T) {
	b, path := started(t, "Larch")
	b.get(path).want(http.StatusOK, "Air and wood", "give the air in both")
	form := b.get(path).form(path)
	form.Set("shop_humidity", "47")
	form.Set("player_humidity", "30")
	b.follow(b.post(path, form))
	for _, at := range []string{path, strings.TrimSuffix(path, "/design")} {
		p := b.get(at).want(http.StatusOK, "Air and wood", "The top may crack there", "the wood dries")
		for _, f := range p.faults() {
			t.Errorf("%s: %s", at, f)
		}
	}
}
