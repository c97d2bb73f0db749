package strungup_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairset/craft/neckset"
	"fairset/craft/strungup"
	"fairset/internal/reftest"
	"fairset/unit"
)

// heron is a made-up steel-string guitar.
func heron() strungup.Input {
	return strungup.Input{
		Build: neckset.Build{ScaleLength: 636 * mm, JointFret: 14, SaddleSetback: 2.4 * mm, BoardThickness: 6 * mm, FretCrown: 1.1 * mm,
			JointFold: 0.03 * unit.Degree, TopRise: 0.5 * mm, BridgeThickness: 8.5 * mm, SaddleProjection: 3 * mm, NutHeight: 0.45 * mm, Action12: 2.2 * mm,
			Top: neckset.Top{Radius: 8, Apex: 240 * mm}},
		Tension: 700,
		Neck: strungup.Neck{Modulus: 11.33e9, BoardModulus: 13.53e9, Channel: strungup.Channel{Width: 6 * mm, Depth: 9 * mm},
			Rod:      strungup.Rod{Stiffness: 35},
			Stations: []strungup.Station{{At: 0, Width: 43 * mm, Depth: 15 * mm}, {At: 250 * mm, Width: 52 * mm, Depth: 17 * mm}, {At: 310 * mm, Width: 54 * mm, Depth: 20 * mm}, {At: 345 * mm, Width: 55 * mm, Depth: 40 * mm}}},
	}
}

func chain(t testing.TB, in strungup.Input) strungup.Result {
	t.Helper()
	r, _, err := strungup.Chain(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func target(t testing.TB, b neckset.Build) neckset.Target {
	t.Helper()
	got, _, err := b.Target()
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func TestNeckSetGetsTheSameTarget(t *testing.T) {
	for _, fret := range []int{12, 13, 14, 16} {
		for _, hold := range []bool{false, true} {
			in := heron()
			in.Build.JointFret, in.HoldRelief, in.Build.Relief = fret, hold, 0.2*mm
			in.Build.ReliefUnstrung = 0.05 * mm
			r := chain(t, in)
			got := target(t, r.Build(in.Build))
			reftest.NearMM(t, "target gap", got.GapOnFrets, r.GapTarget.MM(), 1e-8)
			reftest.NearMM(t, "target on the board", got.GapOnBoard, r.GapTargetOnBoard.MM(), 1e-8)
			reftest.NearMM(t, "relief in the design", r.Build(in.Build).Relief, r.ReliefStrung.MM(), 1e-9)
			reftest.NearMM(t, "strung gap, but for a parabola's dip", got.GapStrung, r.GapStrung.MM(), 0.05)
			reftest.NearMM(t, "dip, taken for a parabola's", got.Fret12Dip, r.Fret12Dip.MM(), 0.025)
			reftest.NearMM(t, "action bass", r.Action12.Bass, 2.2, 1e-7)     // set to the target it comes out as wanted
			reftest.NearMM(t, "action treble", r.Action12.Treble, 2.2, 1e-7) // the same
			if hold {
				reftest.NearMM(t, "held relief", r.ReliefStrung, 0.2, 1e-7)
			} else {
				reftest.NearMM(t, "unstrung relief", r.ReliefUnstrung, 0.05, 1e-9)
			}
			reftest.NearMM(t, "relief", r.ReliefUnstrung+r.AddedRelief, r.ReliefStrung.MM(), 1e-9)
			t.Logf("joint %d, hold %v: adds %.4f mm (first order %.4f), relief %.4f, dip at 12 %.4f (a parabola's %.4f), turn %.4f°, fold given to the neck set %.4f°, target %.3f ± %.3f, action ± %.3f",
				fret, hold, r.AddedRelief.MM(), r.FirstOrder.MM(), r.ReliefStrung.MM(), r.Fret12Dip.MM(), got.Fret12Dip.MM(), r.Turn.Degrees(), r.Build(in.Build).JointFold.Degrees(), r.GapTarget.MM(), r.Spread.GapTarget.MM(), r.Spread.Action12.Bass.MM())
		}
	}
}

// Without pull the chain is the neck set's own, with what is typed.
func TestNoPullIsTheNeckSet(t *testing.T) {
	in := heron()
	in.Tension, in.Build.ReliefUnstrung = 0, 0.1*mm
	r := chain(t, in)
	b := in.Build
	b.Relief = 0.1 * mm
	// source: the neck set, itself held by worked cases
	reftest.NearMM(t, "gap", r.GapTarget, target(t, b).GapOnFrets.MM(), 1e-9)
	if r.AddedRelief != 0 || r.Turn != 0 {
		t.Errorf("no pull adds %v and turns %v", r.AddedRelief, r.Turn)
	}
}

// A body and a bent neck are put together point by point in the plane, with true rotations, and the action
// is measured there with straight lines. Nothing of the chain's arithmetic is used but the two beams' shapes.
func TestStrungGuitarBuiltInThePlane(t *testing.T) {
	for _, c := range []struct {
		name          string
		gap, r0       float64 // mm
		fret          int
		fold          unit.Angle
		rise, tension float64
	}{
		{"set to 8.6 mm", 8.6, 0.06, 14, 0.04 * unit.Degree, 0.5, 700},
		{"set low", 5.5, 0, 14, 0.1 * unit.Degree, 1.2, 850},
		{"set high, joint 16", 10, 0.1, 16, 0, 0.2, 600},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := heron()
			in.Build.JointFret, in.Build.JointFold, in.Build.TopRise = c.fret, c.fold, unit.Length(c.rise)*mm
			in.Build.ReliefUnstrung, in.Tension = unit.Length(c.r0)*mm, unit.Force(c.tension)
			in.Gap, in.GapRead = unit.Length(c.gap)*mm, true
			in.SaddleProjection = neckset.Sides{Bass: 3.2 * mm, Treble: 2.6 * mm}
			in.NutHeight = neckset.Sides{Bass: 0.5 * mm, Treble: 0.4 * mm}
			r := chain(t, in)

			b := in.Build
			L, S := b.ScaleLength.MM(), b.SaddleSetback.MM()
			fret := func(n float64) float64 { return L * (1 - math.Pow(2, -n/12)) }
			l, u1 := fret(float64(c.fret)), fret(1)
			D := L - l + S
			joint := 0.45 + (r.StringHeightAtSaddle.MM()-0.45)*l/(L+S)
			beam := strungup.Beam{Neck: in.Neck, Board: b.BoardThickness, Length: unit.Length(l) * mm, Tension: in.Tension,
				StringNut: b.FretCrown + 0.45*mm, StringEnd: b.FretCrown + unit.Length(joint)*mm, Hollow: b.ReliefUnstrung, HollowFrom: unit.Length(u1) * mm}
			pulled := bend(t, beam)

			// The joint's fret top is the origin, the top's surface at the saddle at (D, 0 - gap) when the
			// unstrung line is the x axis. Strings turn the neck about the joint and lift the top.
			parabola := func(u float64) float64 {
				if u < u1 {
					return 0
				}
				return 4 * c.r0 * (u - u1) * (l - u) / ((l - u1) * (l - u1))
			}
			type point struct{ x, z float64 }
			// In the neck's own frame the joint's direction stays: what the bend adds stands off from the tangent there.
			tangent := float64(pulled.Slope(beam.Length))
			top := func(u float64) point { // fret top at u, strung
				x := u - l
				z := -parabola(u) - (pulled.Depth(unit.Length(u)*mm).MM() - tangent*x)
				s, k := math.Sin(float64(c.fold)), math.Cos(float64(c.fold))
				return point{x*k + z*s, -x*s + z*k}
			}
			one, end := top(u1), top(l)
			// Straight edge on fret 1 and the joint, drawn on to the saddle.
			edge := func(x float64) float64 { return one.z + (end.z-one.z)*(x-one.x)/(end.x-one.x) }
			surface := -c.gap + c.rise
			strung := edge(D) - surface
			reftest.NearMM(t, "strung gap", r.GapStrung, strung, 2e-3) // small angles: 0.002 mm

			for _, side := range []struct {
				name   string
				nut, p float64
				got    unit.Length
			}{{"bass", 0.5, 3.2, r.Action12.Bass}, {"treble", 0.4, 2.6, r.Action12.Treble}} {
				nut := point{-l, edge(-l) + side.nut}
				saddle := point{D, surface + 8.5 + side.p}
				f := top(L / 2)
				a := nut.z + (saddle.z-nut.z)*(f.x-nut.x)/(saddle.x-nut.x) - f.z
				// source: computed here in the plane
				reftest.NearMM(t, "action "+side.name, side.got, a, 2e-3)
				t.Logf("%s: action %.4f mm, in the plane %.4f", side.name, side.got.MM(), a)
			}
		})
	}
}

func TestFoldFromStiffness(t *testing.T) {
	in := heron()
	in.Build.JointFold, in.FoldStiffness = 0, 9000
	r := chain(t, in)
	l := 636 * (1 - math.Pow(2, -14.0/12))
	joint := 0.45 + (r.StringHeightAtSaddle.MM()-0.45)*l/(636+2.4)
	moment := 700 * (6 + 1.1 + joint) / 1000 // source: derived by hand, lever over the top edge
	reftest.Near(t, "moment in N·m", r.Moment, moment, 1e-7)
	reftest.Near(t, "fold in rad", float64(r.Fold), moment/9000, 1e-10)
}

// answered is a soundboard's stand-in: so much rise per N·m of moment on the bridge.
type answered float64

func (a answered) Rise(T unit.Force, arm unit.Length) (unit.Length, error) {
	if a < 0 {
		return 0, errors.New("no such top")
	}
	return unit.Length(float64(a) * float64(T) * float64(arm)), nil
}

func TestRiseFromASoundboard(t *testing.T) {
	in := heron()
	typed := chain(t, in)
	in.Build.TopRise = 0
	in.Top = answered(0.5e-3 / (700 * 0.0115)) // so that this guitar's 11.5 mm arm gives the typed 0.5 mm
	r := chain(t, in)
	reftest.NearMM(t, "rise", r.TopRise, 0.5, 1e-9)
	reftest.NearMM(t, "target", r.GapTarget, typed.GapTarget.MM(), 1e-8)
	in.Top = answered(-1)
	if _, _, err := strungup.Chain(in); err == nil || err.Error() != "no such top" {
		t.Errorf("a soundboard's error is lost: %v", err)
	}
}

func TestEachSide(t *testing.T) {
	in := heron()
	in.Action12 = neckset.Sides{Bass: 2.5 * mm, Treble: 1.9 * mm}
	r := chain(t, in)
	reftest.NearMM(t, "bass", r.Action12.Bass, 2.5, 1e-7)
	reftest.NearMM(t, "treble", r.Action12.Treble, 1.9, 1e-7)
	// source: derived by hand: 0.6 mm of action is 0.6·(L + S)/(L/2) at the saddle
	reftest.NearMM(t, "saddle's slant", r.SaddleProjection.Bass-r.SaddleProjection.Treble, 0.6*638.4/318, 1e-7)
	reftest.NearMM(t, "saddle's mean", (r.SaddleProjection.Bass+r.SaddleProjection.Treble)/2, 3, 1e-7)
	// The same saddle over a neck set 0.5 mm low: every millimetre of gap is half a millimetre of action.
	low := in
	low.Gap, low.GapRead = r.GapTarget-0.5*mm, true
	l := chain(t, low)
	reftest.NearMM(t, "low neck, bass action", l.Action12.Bass-r.Action12.Bass, 0.5*318/638.4, 0.01) // the lever grows with it
	reftest.NearMM(t, "low neck, same target", l.GapTarget, r.GapTarget.MM(), 1e-9)
	reftest.NearMM(t, "low neck, saddle needed", l.SaddleProjection.Bass-l.SaddleNeeded.Bass, 0.5, 0.03)
}

// Drawn inputs through the whole chain against the first-order spread.
func TestSpreadAgainstDraws(t *testing.T) {
	in := heron()
	in.Spreads = []neckset.Spread{{Field: "tension", SD: 20}, {Field: "neck_modulus", SD: 0.8e9}, {Field: "board_modulus", SD: 1e9}, {Field: "neck_depth", SD: 0.2e-3},
		{Field: "relief_unstrung", SD: 0.03e-3}, {Field: "joint_fold", SD: 2e-4}, {Field: "top_rise", SD: 0.15e-3}, {Field: "gap", SD: 0.1e-3}, {Field: "nut_height", SD: 0.04e-3}, {Field: "saddle_projection", SD: 0.1e-3}}
	r := chain(t, in)
	base := r
	rnd := rand.New(rand.NewPCG(7, 8))
	const trials = 4000
	figures := func(r strungup.Result) [6]float64 {
		return [6]float64{r.AddedRelief.MM(), float64(r.Turn), float64(r.Fold), r.GapTarget.MM(), r.GapStrung.MM(), r.Action12.Bass.MM()}
	}
	var sum, sq [6]float64
	for range trials {
		n := func() float64 { return rnd.NormFloat64() }
		d := in
		d.Spreads = []neckset.Spread{}
		d.Neck.Stations = append([]strungup.Station(nil), in.Neck.Stations...)
		d.Tension += unit.Force(20 * n())
		d.Neck.Modulus += unit.Stress(0.8e9 * n())
		d.Neck.BoardModulus += unit.Stress(1e9 * n())
		deep := unit.Length(0.2e-3 * n())
		for i := range d.Neck.Stations {
			d.Neck.Stations[i].Depth += deep
		}
		d.Build.ReliefUnstrung += unit.Length(0.03e-3 * n())
		d.Build.JointFold += unit.Angle(2e-4 * n())
		d.Build.TopRise += unit.Length(0.15e-3 * n())
		d.Gap, d.GapRead = base.GapTarget+unit.Length(0.1e-3*n()), true
		nut, saddle := unit.Length(0.04e-3*n()), unit.Length(0.1e-3*n())
		d.NutHeight = neckset.Sides{Bass: 0.45*mm + nut, Treble: 0.45*mm + nut}
		d.SaddleProjection = neckset.Sides{Bass: base.SaddleProjection.Bass + saddle, Treble: base.SaddleProjection.Treble + saddle}
		for i, v := range figures(chain(t, d)) {
			sum[i] += v
			sq[i] += v * v
		}
	}
	s := r.Spread
	for i, c := range []struct {
		name string
		sd   float64
	}{{"added relief", s.AddedRelief.MM()}, {"turn", float64(s.Turn)}, {"fold", float64(s.Fold)}, {"target", s.GapTarget.MM()}, {"strung gap", s.GapStrung.MM()}, {"action", s.Action12.Bass.MM()}} {
		drawn := math.Sqrt(sq[i]/trials - sum[i]/trials*sum[i]/trials)
		t.Logf("%s: first order %.5g, drawn %.5g", c.name, c.sd, drawn)
		// 4000 draws know a spread to 1.1 %; four of those, and what first order leaves out
		reftest.Near(t, c.name, c.sd/drawn, 1, 0.05)
	}
	if len(r.Shares) != 10 || r.Shares[0].Action < r.Shares[9].Action {
		t.Errorf("shares %v", r.Shares)
	}
	part := 0.0
	for _, x := range r.Shares {
		part += x.Action.MM() * x.Action.MM()
	}
	reftest.Near(t, "shares make up the action's spread", math.Sqrt(part), (s.Action12.Bass.MM()+s.Action12.Treble.MM())/2, 1e-6)
}

func TestNoSpreadsNoDoubt(t *testing.T) {
	in := heron()
	in.Spreads = []neckset.Spread{}
	if r := chain(t, in); r.Spread != (strungup.Deviation{}) || len(r.Shares) != 0 {
		t.Errorf("%+v", r.Spread)
	}
	in.Spreads = nil
	if r := chain(t, in); r.Spread.Action12.Bass <= 0 || r.Spread.GapTarget <= 0 || r.Spread.Turn <= 0 {
		t.Errorf("guessed spreads give none: %+v", r.Spread)
	}
}

func TestErrorsNameTheField(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		field string
		spoil func(*strungup.Input)
	}{
		{"scale_length", func(in *strungup.Input) { in.Build.ScaleLength = 0 }},
		{"top_rise", func(in *strungup.Input) { in.Build.TopRise = 1 }},
		{"tension", func(in *strungup.Input) { in.Tension = -1 }},
		{"tension", func(in *strungup.Input) { in.Tension = unit.Force(nan) }},
		{"stations", func(in *strungup.Input) { in.Neck.Stations = nil }},
		{"stations", func(in *strungup.Input) { in.Neck.Stations = make([]strungup.Station, 1000) }},
		{"stations[1].at", func(in *strungup.Input) { in.Neck.Stations[1].At = 0 }},
		{"stations[2].depth", func(in *strungup.Input) { in.Neck.Stations[2].Depth = unit.Length(nan) }},
		{"stations[3].width", func(in *strungup.Input) { in.Neck.Stations[3].Width = 55 }},
		{"fullness", func(in *strungup.Input) { in.Neck.Fullness = 0.3 }},
		{"neck_modulus", func(in *strungup.Input) { in.Neck.Modulus = 11330 }},
		{"board_modulus", func(in *strungup.Input) { in.Neck.BoardModulus = 0 }},
		{"channel_depth", func(in *strungup.Input) { in.Neck.Channel.Depth = 14 * mm }},
		{"rod_bow", func(in *strungup.Input) { in.Neck.Rod = strungup.Rod{Bow: 1 * mm} }},
		{"rod_to", func(in *strungup.Input) { in.Neck.Rod.From, in.Neck.Rod.To = 100*mm, 90*mm }},
		{"fold_stiffness", func(in *strungup.Input) { in.FoldStiffness = 1 }},
		{"fold_stiffness", func(in *strungup.Input) { in.FoldStiffness = 9000 }}, // with a typed fold
		{"gap", func(in *strungup.Input) { in.Gap, in.GapRead = 70*mm, true }},
		{"nut_height_sides.treble", func(in *strungup.Input) { in.NutHeight = neckset.Sides{Bass: 0.5 * mm, Treble: -0.1 * mm} }},
		{"action12_sides.bass", func(in *strungup.Input) { in.Action12 = neckset.Sides{Bass: 0.2 * mm, Treble: 2 * mm} }},
		{"saddle_projection_sides.treble", func(in *strungup.Input) { in.SaddleProjection = neckset.Sides{Bass: 3 * mm} }},
		{"spreads", func(in *strungup.Input) { in.Spreads = []neckset.Spread{{Field: "luck", SD: 1}} }},
		{"spreads.tension", func(in *strungup.Input) { in.Spreads = []neckset.Spread{{Field: "tension", SD: -1}} }},
		{"spreads.tension", func(in *strungup.Input) { in.Spreads = []neckset.Spread{{Field: "tension"}, {Field: "tension"}} }},
		{"spreads.neck_modulus", func(in *strungup.Input) { in.Spreads = []neckset.Spread{{Field: "neck_modulus", SD: 48e9}} }},
		{"spreads.fold_stiffness", func(in *strungup.Input) { in.Spreads = []neckset.Spread{{Field: "fold_stiffness", SD: 100}} }},
	} {
		in := heron()
		c.spoil(&in)
		_, _, err := strungup.Chain(in)
		reftest.RangeError(t, err, c.field)
	}
}

func TestDoubtfulGuitarsAreWarnedOf(t *testing.T) {
	for _, c := range []struct {
		code  string
		spoil func(*strungup.Input)
	}{
		{"relief_large", func(in *strungup.Input) {
			in.Neck.Stations = []strungup.Station{{Width: 43 * mm, Depth: 10 * mm}}
			in.Neck.Rod, in.Neck.Channel, in.Tension = strungup.Rod{}, strungup.Channel{}, 900
		}},
		{"back_bow", func(in *strungup.Input) { in.Tension, in.Build.ReliefUnstrung = 50, -0.3*mm }},
		{"rod_far", func(in *strungup.Input) {
			in.Build.Relief, in.HoldRelief = 0, true
			in.Neck.Stations = []strungup.Station{{Width: 43 * mm, Depth: 11 * mm}}
			in.Neck.Rod, in.Neck.Channel = strungup.Rod{}, strungup.Channel{}
		}},
		{"fold_large", func(in *strungup.Input) { in.Build.JointFold = 0.5 * unit.Degree }},
		{"action_out_of_range", func(in *strungup.Input) { in.Gap, in.GapRead = 0, true }},
		{"saddle_out_of_range", func(in *strungup.Input) { in.Gap, in.GapRead = 0, true }},
	} {
		in := heron()
		c.spoil(&in)
		_, warn, err := strungup.Chain(in)
		if err != nil {
			t.Errorf("%s: %v", c.code, err)
			continue
		}
		found := false
		for _, w := range warn {
			found = found || w.Code == c.code
			if s := w.Say.String(); strings.Contains(s, "%!") || s == "" {
				t.Errorf("%s: says %q", w.Code, s)
			}
		}
		if !found {
			t.Errorf("no %s among %v", c.code, warn)
		}
	}
}

func BenchmarkChain(b *testing.B) {
	for _, c := range []struct {
		name    string
		spreads []neckset.Spread
	}{{"without spreads", []neckset.Spread{}}, {"with guessed spreads", nil}} {
		b.Run(c.name, func(b *testing.B) {
			in := heron()
			in.Spreads = c.spreads
			for b.Loop() {
				if _, _, err := strungup.Chain(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestSagsDrawTheNeck(t *testing.T) {
	in := heron()
	in.Build.ReliefUnstrung = 0.1 * mm
	in.Neck.Rod.Bow = -1 * mm
	r := chain(t, in)
	if len(r.Sags) != 15 {
		t.Fatalf("%d frets", len(r.Sags))
	}
	for _, n := range []int{1, 14} {
		reftest.NearMM(t, "ends of the line, unstrung", r.Sags[n].Unstrung, 0, 1e-9)
		reftest.NearMM(t, "ends of the line, strung", r.Sags[n].Strung, 0, 1e-9)
	}
	reftest.NearMM(t, "fret 12", r.Sags[12].Strung, r.Fret12Dip.MM(), 1e-7)
	reftest.NearMM(t, "fret 7 stands on the scale", r.Sags[7].At, 636*(1-math.Pow(2, -7.0/12)), 1e-9) // source: definition
	if r.Sags[0].Strung >= 0 || r.RodRelief >= 0 {
		t.Errorf("the nut stands %v below the line, the rod adds %v", r.Sags[0].Strung, r.RodRelief)
	}
	deepest := 0.0
	for _, s := range r.Sags {
		deepest = math.Max(deepest, s.Strung.MM())
	}
	// The relief is read half way; the deepest fret lies near it, a little deeper where the curve leans to the nut.
	if d := deepest / r.ReliefStrung.MM(); d < 0.95 || d > 1.15 {
		t.Errorf("deepest fret %.3f mm, relief %.3f mm", deepest, r.ReliefStrung.MM())
	}
}

func TestWhatIsSaid(t *testing.T) {
	in := heron()
	in.Gap, in.GapRead = 8*mm, true
	r := chain(t, in)
	for _, style := range unit.Styles() {
		all := ""
		for _, p := range r.Say() {
			all += p.In(style) + "\n"
		}
		if strings.Contains(all, "%!") || !strings.Contains(all, "too low") || !strings.Contains(all, "estimate") || !strings.Contains(all, r.GapTarget.In(style)) {
			t.Errorf("says %s", all)
		}
		t.Log(all)
	}
}

func TestChainsBehave(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(r, name) }
		in := heron()
		in.Spreads = []neckset.Spread{}
		in.Build.ScaleLength = unit.Length(f("scale", 0.5, 0.7))
		in.Build.JointFret = rapid.IntRange(12, 16).Draw(r, "joint")
		in.Build.ReliefUnstrung = unit.Length(f("relief", -0.1e-3, 0.2e-3))
		in.Build.NutHeight, in.Build.Action12 = unit.Length(f("nut", 0.2e-3, 0.8e-3)), unit.Length(f("action", 1.5e-3, 3e-3))
		in.Tension = unit.Force(f("tension", 300, 800))
		in.Build.JointFold = unit.Angle(f("fold", 0, 2e-3))
		get := func(in strungup.Input) strungup.Result {
			out, _, err := strungup.Chain(in)
			if err != nil {
				r.Fatal(err)
			}
			return out
		}
		base := get(in)
		for what, harder := range map[string]func(*strungup.Input){
			"more pull":   func(in *strungup.Input) { in.Tension *= 1.1 },
			"softer wood": func(in *strungup.Input) { in.Neck.Modulus *= 0.85 },
			"no rod":      func(in *strungup.Input) { in.Neck.Rod = strungup.Rod{} },
			"more fold":   func(in *strungup.Input) { in.Build.JointFold += 3e-4 },
			"more rise":   func(in *strungup.Input) { in.Build.TopRise += 2e-4 },
		} {
			next := in
			harder(&next)
			if got := get(next); got.GapTarget <= base.GapTarget {
				r.Fatalf("%s wants a gap of %v, not over %v", what, got.GapTarget, base.GapTarget)
			}
			// Left at the first guitar's gap and saddle, it plays higher.
			next.Gap, next.GapRead, next.SaddleProjection = base.GapTarget, true, base.SaddleProjection
			if got := get(next); got.Action12.Bass <= base.Action12.Bass {
				r.Fatalf("%s leaves an action of %v, not over %v", what, got.Action12.Bass, base.Action12.Bass)
			}
		}
	})
}
