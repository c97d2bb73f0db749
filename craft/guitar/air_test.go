package guitar

import (
	"math"
	"strings"
	"testing"

	"fairset/craft/wood"
	"fairset/internal/reftest"
	"fairset/unit"
)

// airy is a design that says what air it goes from and to.
func airy(t *testing.T, more map[string][]string) Values {
	t.Helper()
	b, err := FindBasis("steel-14")
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string][]string{"shop_humidity": {"45"}, "shop_temperature": {"70 F"}, "player_humidity": {"30 %"}, "player_temperature": {"21.111111111 °C"}}
	for k, v := range more {
		texts[k] = v
	}
	given, err := Parse(Optional(designFields), texts, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	d := b.Values.Clone()
	for k, v := range given {
		d[k] = v
	}
	return d
}

func TestTemperatureIsReadInBothScales(t *testing.T) {
	f, err := DesignField("shop_temperature")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		text string
		want float64 // source: °C = (°F - 32) × 5/9
	}{{"21 C", 21}, {"21.5 °C", 21.5}, {"70 F", 21.0 + 1.0/9}, {"32°F", 0}, {"−4 f", -20}, {"20,5 c", 20.5}} {
		v, bad := f.Parse(c.text, unit.Inch64)
		if bad != nil {
			t.Errorf("%s: %v", c.text, bad)
			continue
		}
		reftest.Near(t, c.text, v.SI, c.want, 1e-12)
	}
	if _, bad := f.Parse("70", unit.Millimetre); bad == nil {
		t.Error("70 °C is a shop")
	}
	if v, bad := f.Parse("68", unit.InchDecimal); bad != nil || math.Abs(v.SI-20) > 1e-12 || f.Edit(Value{SI: 20}, unit.Inch64) != "68" {
		t.Errorf("bare for readers of inches: %v %v, written %s", v, bad, f.Edit(Value{SI: 20}, unit.Inch64))
	}
	if got := f.Write(Value{SI: 21.111}, unit.Inch64); got != "70 °F" {
		t.Errorf("written %s", got)
	}
}

// source: by hand: Wood Handbook tables 4-2 and 13-5 and the strip of Timoshenko's formula.
// 8.5 to 6.2 % at 70 °F; 380 mm × 0.00148 × -2.3; κ = S d ε/(EI1 + EI2 + S d²)
func TestAirByHand(t *testing.T) {
	b, _ := FindBasis("steel-14")
	a, err := AirOf(airy(t, map[string][]string{"brace_pattern": {"none"}}))
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "moisture in the shop", float64(a.MoistureFrom), 8.5, 0.05)
	reftest.Near(t, "moisture at the player's", float64(a.Moisture), 6.2, 0.05)
	dM := float64(a.Moisture - a.MoistureFrom)
	top, ok := a.moving("top")
	if !ok {
		t.Fatal("the top does not move")
	}
	o, _, err := Outline(b.Values)
	if err != nil {
		t.Fatal(err)
	}
	width := o.WidthAt(unit.Length(498-648*math.Exp2(-14.0/12)-2.4) * unit.MM) // the saddle from the tail
	reftest.NearMM(t, "top", top.Change, width.MM()*0.00148*-2.3, width.MM()*0.00148*0.1)
	if board, ok := a.moving("board"); !ok || board.Change >= 0 {
		t.Errorf("board %v", board)
	}
	E1, E2 := 0.078*11.88e9, 11.88e9
	ea1, ea2 := E1*0.1*0.0028, E2*0.008*0.014
	s, d := ea1*ea2/(ea1+ea2), 0.0084
	kappa := s * d * 0.00148 * dM / (E1*0.1*math.Pow(0.0028, 3)/12 + E2*0.008*math.Pow(0.014, 3)/12 + s*d*d)
	half := float64(width) / 2
	free := kappa * half * half / 2
	reftest.NearMM(t, "free rise", a.Dome.Free, free*1000, 1e-3)
	reftest.NearMM(t, "gap", a.Dome.Gap, -free*500, 1e-3)
	reftest.NearMM(t, "action", a.Dome.Action, free*500*(324.0/650.4), 1e-3)
	if a.Dome.Free >= 0 || a.Dome.RiseGive < a.Dome.Free.Abs()/4 || len(a.Dome.Assumed) != 2 {
		t.Errorf("dome %+v", a.Dome)
	}
	if a.Crack.Level != wood.Crack || !a.warned("top_may_crack") || !a.warned("action_moves") {
		t.Errorf("%+v %+v", a.Crack, a.Warnings)
	}
	said := ""
	for _, p := range a.Say() {
		said += p.In(unit.Inch64) + "\n"
	}
	for _, want := range []string{"70 °F and 45 %", "dries", "narrower", "sinks", "lower", "order of magnitude"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in:\n%s", want, said)
		}
	}
	if strings.Contains(said, "%!") || strings.Contains(said, "NaN") {
		t.Error(said)
	}
}

func TestAirTheOtherWayAboutAndNotAtAll(t *testing.T) {
	a, err := AirOf(airy(t, map[string][]string{"player_humidity": {"70"}}))
	if err != nil {
		t.Fatal(err)
	}
	if a.Dome.Free <= 0 || a.Crack.Level != wood.Quiet || a.Dome.Tightest >= a.Dome.From || !a.warned("tenon_moves") || a.warned("fret_ends") {
		t.Errorf("%+v %+v %+v", a.Dome, a.Crack, a.Warnings)
	}
	a, err = AirOf(airy(t, map[string][]string{"player_humidity": {"45"}, "player_temperature": {"70 F"}}))
	if err != nil {
		t.Fatal(err)
	}
	if a.Dome.Free != 0 || len(a.Warnings) > 0 || !strings.Contains(a.Say()[0].String(), "stays as it is") {
		t.Errorf("%+v %+v %v", a.Dome, a.Warnings, a.Say())
	}
}

func TestAirSaysWhatItLacks(t *testing.T) {
	b, _ := FindBasis("nylon-12")
	_, err := AirOf(b.Values)
	p, ok := err.(Problems)
	if !ok || p.For("shop_humidity") == nil || p.For("player_humidity") == nil || HasAir(b.Values) {
		t.Errorf("%v", err)
	}
	d := airy(t, nil)
	delete(d, "top_wood")
	a, err := AirOf(d)
	if err != nil || a.Missing.For("top_wood") == nil || a.Dome != nil || a.Crack != nil {
		t.Errorf("%v %+v", err, a)
	}
	d = airy(t, nil)
	delete(d, "body_length")
	if a, err := AirOf(d); err != nil || a.Missing.For("body_length") == nil || a.Dome != nil || a.Crack == nil {
		t.Errorf("%v %+v", err, a)
	}
	if _, ok := a.moving("tenon"); !ok {
		t.Error("the tenon does not move without a top")
	}
}

// The air's warnings reach whoever reads what a guitar asks for.
func TestAirWarnsInTheAim(t *testing.T) {
	g, err := New("Larch", "steel-14", airy(t, nil))
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, w := range g.Bench(Options{}).Aim.Warnings {
		found = found || w.Code == "top_may_crack"
	}
	if !found {
		t.Errorf("%+v", g.Bench(Options{}).Aim.Warnings)
	}
	back, err := Decode(Encode(g))
	if err != nil || math.Abs(back[0].First.Ratio("shop_temperature")-21.0-1.0/9) > 1e-9 {
		t.Errorf("%v", err)
	}
}
