// Package demo fills a shop with invented guitars at various steps, to look around in. The figures are made
// up; the same ones come every time.
package demo

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
	"fairset/internal/shop"
	"fairset/unit"
)

// Fill adds the guitars to an empty shop. Their entries are dated over the days before now.
func Fill(ctx context.Context, s *shop.Shop) error {
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	set.ShopName, set.Units = "The shed on Reed Lane (made up)", unit.Millimetre
	if err := s.SaveSettings(ctx, set); err != nil {
		return err
	}
	real := s.Now
	defer func() { s.Now = real }()
	clock := time.Now()
	if real != nil {
		clock = real()
	}
	clock = clock.AddDate(0, 0, -12).Truncate(time.Minute)
	s.Now = func() time.Time { clock = clock.Add(11 * time.Minute); return clock }
	m := &maker{ctx: ctx, shop: s, rand: rand.New(rand.NewPCG(20, 26))}
	for _, day := range []func() error{m.finished, m.strung, m.repair, m.drilling, m.stuck, m.cutting, m.seatedOnly, m.begun} {
		if err := day(); err != nil {
			return err
		}
		clock = clock.Add(30 * time.Hour)
	}
	return nil
}

// maker works on one guitar at a time. It alone knows how the neck really stands.
type maker struct {
	ctx         context.Context
	shop        *shop.Shop
	rand        *rand.Rand
	v           shop.View
	bench       string
	gap, offset unit.Length // the truth at the saddle, on the frets
}

type texts = map[string][]string

func one(s string) []string { return []string{s} }

func (m *maker) start(name, design, bench string, changes texts) (err error) {
	m.bench = bench
	m.v, err = m.shop.NewFromDesign(m.ctx, name, design, changes, unit.Millimetre)
	return err
}

func (m *maker) enter(step guitar.Step, t texts) error {
	v, err := m.shop.Enter(m.ctx, m.v.Guitar.ID, m.v.Revision, step, t, unit.Millimetre, m.bench)
	if err != nil {
		return fmt.Errorf("%s, %s: %w", m.v.Guitar.Name, step, err)
	}
	m.v = v
	return nil
}

func mm(l unit.Length) string { return fmt.Sprintf("%.1f mm", l.MM()) }

// reading is what a stepped wedge with 0.1 mm of scatter says of a length.
func (m *maker) reading(l unit.Length) unit.Length {
	return unit.Length(math.Round((l.MM()+0.1*m.rand.NormFloat64())*10) / 10 * 1e-3)
}

func (m *maker) lean() error {
	return m.enter(guitar.StepLean, texts{"gap": {mm(m.reading(m.gap)), mm(m.reading(m.gap))}, "surface": one("frets"), "graduation": one("0.2 mm")})
}

func (m *maker) pointAt() texts {
	o := m.reading(m.offset)
	toward := "treble"
	switch {
	case o < 0:
		toward = "bass"
	case o == 0:
		toward = "centre"
	}
	return texts{"offset": one(mm(o.Abs())), "toward": one(toward), "graduation": one("0.2 mm")}
}

func (m *maker) read() error {
	if err := m.lean(); err != nil {
		return err
	}
	return m.enter(guitar.StepPoint, m.pointAt())
}

// pass makes the cut that is asked for, as near as hands do, and reads again.
func (m *maker) pass(tool string) error {
	n := m.v.Bench.Cut
	c := n.Cut
	t, _ := neckset.FindTool(tool)
	strokes := max(1, int(math.Round(float64(c.Planned.Deepest())/float64(t.PerStroke)*0.8)))
	if err := m.enter(guitar.StepCut, texts{"tool": one(tool), "judged": one("marks"), "strokes": one(fmt.Sprint(strokes))}); err != nil {
		return err
	}
	did := unit.Length(1 + 0.08*m.rand.NormFloat64())
	m.gap += c.PlannedGap * did
	m.offset -= c.PlannedOffset * did
	return m.read()
}

// settle cuts and reads until the bench says to leave it.
func (m *maker) settle(tool string) error {
	for range 20 { // far more than any neck needs
		n := m.v.Bench.Cut
		switch {
		case n == nil || n.Cut.Verdict == neckset.ReadAgain:
			if err := m.read(); err != nil {
				return err
			}
		case n.Cut.Leave:
			return m.closed()
		default:
			if err := m.pass(tool); err != nil {
				return err
			}
		}
	}
	return fmt.Errorf("%s: the neck did not come to rest", m.v.Guitar.Name)
}

// closed looks along the shoulders once more after the last cut.
func (m *maker) closed() error {
	return m.enter(guitar.StepSeat, texts{"gap_bass_top": one("0"), "gap_bass_cap": one("0"), "gap_treble_top": one("0"), "gap_treble_cap": one("0"), "wood_taken": one("no")})
}

// seated fits tenon and shoulders, and puts the neck off its target by so much.
func (m *maker) seated(low, offset unit.Length) error {
	d := m.v.Bench.Design
	tenon, width := d.Length("tenon_length"), d.Length("tenon_width")
	if err := m.enter(guitar.StepTenon, texts{"tenon_length": one(mm(tenon)), "mortise_depth": one(mm(tenon + 1.5*unit.MM)), "tenon_width": one(mm(width)), "mortise_width": one(mm(width + 0.1*unit.MM))}); err != nil {
		return err
	}
	if err := m.enter(guitar.StepSeat, texts{"gap_bass_top": one("0.3 mm"), "gap_bass_cap": one("0.3 mm"), "gap_treble_top": one("0.25 mm"), "gap_treble_cap": one("0.3 mm")}); err != nil {
		return err
	}
	if err := m.enter(guitar.StepSeat, texts{"gap_bass_top": one("0"), "gap_bass_cap": one("0"), "gap_treble_top": one("0"), "gap_treble_cap": one("0"), "wood_taken": one("yes")}); err != nil {
		return err
	}
	m.gap, m.offset = m.v.Bench.Aim.GapOnFrets-low, offset
	if err := m.read(); err != nil {
		return err
	}
	return m.enter(guitar.StepRoll, texts{"gap_bass": one(mm(m.reading(m.gap))), "gap_treble": one(mm(m.reading(m.gap))), "graduation": one("0.2 mm")})
}

func (m *maker) holes(missed ...string) error {
	var at []string
	for _, z := range m.v.Bench.Design.Lengths("bolt_depths") {
		at = append(at, fmt.Sprintf("%.2f mm", z.MM()))
	}
	t := texts{"centres_neck": at, "centres_body": at}
	if len(missed) > 0 {
		t["miss"] = missed
	}
	return m.enter(guitar.StepDrill, t)
}

// signed does what follows the holes, up to the signature.
func (m *maker) signed() error {
	t := m.pointAt()
	t["closed"], t["surface"], t["gap"] = one("yes"), one("frets"), []string{mm(m.reading(m.gap)), mm(m.reading(m.gap))}
	if err := m.enter(guitar.StepTighten, t); err != nil {
		return err
	}
	if err := m.enter(guitar.StepDots, texts{"set": one("yes")}); err != nil {
		return err
	}
	return m.enter(guitar.StepSign, texts{"accepted": one("yes")})
}

func (m *maker) bridged() error {
	plan := m.v.Bench.Aim.Target.NutToJoint - m.v.Bench.Shift
	return m.enter(guitar.StepBridge, texts{"nut_to_joint": one(mm(plan))})
}

// whole takes a guitar from its design to its bridge.
func (m *maker) whole(tool string, low, offset unit.Length, missed ...string) error {
	for _, do := range []func() error{
		func() error { return m.seated(low, offset) },
		func() error { return m.settle(tool) },
		func() error { return m.holes(missed...) },
		m.signed, m.bridged,
	} {
		if err := do(); err != nil {
			return err
		}
	}
	return nil
}

func (m *maker) finished() error {
	if err := m.start("Dunlin", "nylon-12", "bench 1", texts{"scale_length": one("650 mm")}); err != nil {
		return err
	}
	if err := m.whole("board-120", 2.6*unit.MM, 0.9*unit.MM, "0.2 mm", "0.1 mm"); err != nil {
		return err
	}
	return m.enter(guitar.StepStrung, texts{"action_bass": one("3.8 mm"), "action_treble": one("3.05 mm"), "relief": one("0.1 mm"), "cents": {"1", "0", "2", "1", "0", "1"}})
}

func (m *maker) strung() error {
	if err := m.start("Godwit", "steel-12", "bench 2", texts{"bridge_thickness": one("8.4 mm")}); err != nil {
		return err
	}
	if err := m.whole("board-80", 3.4*unit.MM, -1.6*unit.MM, "0.6 mm", "0.2 mm"); err != nil {
		return err
	}
	return m.enter(guitar.StepStrung, texts{"action_bass": one("2.9 mm"), "action_treble": one("2.2 mm"), "relief": one("0.15 mm"), "cents": {"6", "5", "3", "7", "4", "2"}})
}

func (m *maker) repair() (err error) {
	m.bench = "bench 1"
	m.v, err = m.shop.NewRepair(m.ctx, "Whimbrel", texts{"hand": one("right"), "scale_length": one("645 mm"), "saddle_setback": one("2 mm"), "saddle_distance": one("289 mm"),
		"action_bass_now": one("3.9 mm"), "action_treble_now": one("3.2 mm"), "action_bass": one("2.5 mm"), "action_treble": one("2.0 mm"), "fret_crown": one("1.0 mm"),
		"heel_height": one("90 mm"), "heel_width_top": one("56 mm"), "heel_width_cap": one("33 mm"), "tenon_width": one("20 mm"), "shoulder_spare": one("3 mm"),
		"gap_tolerance": one("0.4 mm"), "offset_tolerance": one("0.6 mm"), "risk": one("5 %")}, unit.Millimetre)
	if err != nil {
		return err
	}
	m.gap, m.offset = 4.9*unit.MM, 0.3*unit.MM
	return m.read()
}

func (m *maker) drilling() error {
	if err := m.start("Sandpiper", "small-four", "bench 3", nil); err != nil {
		return err
	}
	if err := m.seated(1.4*unit.MM, 0.5*unit.MM); err != nil {
		return err
	}
	if err := m.settle("strip-120"); err != nil {
		return err
	}
	return m.holes()
}

func (m *maker) cutting() error {
	if err := m.start("Plover", "steel-14", "bench 3", texts{"scale_length": one("25 1/2 in"), "action_bass": one("3/32 in")}); err != nil {
		return err
	}
	if err := m.seated(4.2*unit.MM, -1.8*unit.MM); err != nil {
		return err
	}
	return m.pass("board-80")
}

func (m *maker) begun() error {
	if err := m.start("Heron", "baritone-14", "bench 2", nil); err != nil {
		return err
	}
	return m.enter(guitar.StepTenon, texts{"tenon_length": one("14 mm"), "mortise_depth": one("14.2 mm"), "tenon_width": one("20 mm"), "mortise_width": one("20.05 mm")})
}

// stuck asks for more wood than its shoulders can lose: the heel was carved to its outline too soon.
func (m *maker) stuck() error {
	if err := m.start("Lapwing", "steel-14", "bench 5", texts{"shoulder_spare": one("0.5 mm")}); err != nil {
		return err
	}
	if err := m.seated(4.6*unit.MM, -0.7*unit.MM); err != nil {
		return err
	}
	if err := m.read(); err != nil { // two rounds, so that nobody doubts the readings
		return err
	}
	return m.enter(guitar.StepNote, texts{"text": one("The heel was carved to its outline before the neck was set; little is left on the shoulders.")})
}

// seatedOnly waits for its first reading of the lean.
func (m *maker) seatedOnly() error {
	if err := m.start("Ruff", "nylon-12", "bench 4", texts{"hand": one("left")}); err != nil {
		return err
	}
	if err := m.enter(guitar.StepTenon, texts{"tenon_length": one("14 mm"), "mortise_depth": one("15.2 mm"), "tenon_width": one("20 mm"), "mortise_width": one("20.1 mm")}); err != nil {
		return err
	}
	return m.closed()
}
