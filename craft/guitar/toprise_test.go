package guitar

import (
	"context"
	"crypto/sha256"
	"errors"
	"math"
	"sync"
	"sync/atomic"
	"testing"

	"fairset/craft/soundboard"
	"fairset/internal/reftest"
	"fairset/unit"
)

// A typed rise equal to the one worked out must give the same guitar, whether or not the neck is worked out too.
func TestWorkedOutRiseIsATypedRise(t *testing.T) {
	d := set(bases[0].Values, "top_rise_from", FromTop)
	g, err := TopGiveOf(d)
	if err != nil {
		t.Fatal(err)
	}
	p := PullOnTop(d)
	rise, err := g.Rise(p.Tension, p.Over)
	if err != nil {
		t.Fatal(err)
	}
	if !(rise > 0 && rise < 1*unit.MM) {
		t.Errorf("the saddle rises by %v", rise)
	}
	if turn := g.Turn(p.Tension, p.Over); !(turn > 0.3*unit.Degree && turn < 2*unit.Degree) {
		t.Errorf("the bridge tips by %v", turn)
	}
	if err := CheckDesign(d, FromDesign); err != nil {
		t.Fatal(err)
	}
	typed := d.Clone()
	typed["top_rise_from"] = []Value{{Text: FromTyped}}
	typed["top_rise"] = []Value{{SI: float64(rise)}}
	for _, from := range []string{FromTyped, FromNeck} {
		d["pull_from"], typed["pull_from"] = []Value{{Text: from}}, []Value{{Text: from}}
		a, _, err := Build(d).Target()
		if err != nil {
			t.Fatal(err)
		}
		b, _, err := Build(typed).Target()
		if err != nil {
			t.Fatal(err)
		}
		reftest.NearMM(t, from+": target gap", a.GapOnFrets, b.GapOnFrets.MM(), 1e-6)
	}
	a, _, err := Chain(d)
	if err != nil {
		t.Fatal(err)
	}
	b, _, err := Chain(typed)
	if err != nil {
		t.Fatal(err)
	}
	reftest.NearMM(t, "chain's rise", a.TopRise, rise.MM(), 1e-9)
	reftest.NearMM(t, "chain's target", a.GapTarget, b.GapTarget.MM(), 1e-6)
	reftest.NearMM(t, "chain's strung gap", a.GapStrung, b.GapStrung.MM(), 1e-6)
	reftest.NearMM(t, "chain's bass action", a.Action12.Bass, b.Action12.Bass.MM(), 1e-6)
	// With no guess typed, the budget takes the doubt of the wood.
	sd := -1.0
	for _, s := range Spreads(d) {
		if s.Field == "top_rise" {
			sd = s.SD
		}
	}
	reftest.NearMM(t, "spread of the rise", unit.Length(sd), g.Spread(p.Tension, p.Over).MM(), 1e-9)
	reftest.NearMM(t, "the chain's own", a.Spread.TopRise, g.Spread(p.Tension, p.Over).MM(), 1e-3)
	own := set(d, "top_rise_give", "0.7")
	for _, s := range Spreads(own) {
		if s.Field == "top_rise" {
			reftest.NearMM(t, "a typed spread goes first", unit.Length(s.SD), 0.7, 1e-9)
		}
	}
	// Twice the pull, twice the rise; no pull, none.
	twice, _ := g.Rise(2*p.Tension, p.Over)
	reftest.NearMM(t, "twice the pull", twice, 2*rise.MM(), 1e-9)
	none, _ := g.Rise(0, p.Over)
	reftest.NearMM(t, "no pull", none, 0, 0)
}

// A wood that is stiffer in every way by one factor gives way less by the same: Hooke's law. Taller braces give way less.
func TestStifferTopsGiveWayLess(t *testing.T) {
	m, braces, saddle, _, err := plateOf(bases[0].Values)
	if err != nil {
		t.Fatal(err)
	}
	solveCoarse := func(m soundboard.Model, braces []soundboard.Brace) (rise, turn float64) {
		p, err := soundboard.Prepare(t.Context(), m, soundboard.Options{Cells: 20, Single: true})
		if err != nil {
			t.Fatal(err)
		}
		r, err := p.Solve(t.Context(), braces, soundboard.Request{Load: TopPull{700, 10.8 * unit.MM}.Load(m.Thickness)})
		if err != nil {
			t.Fatal(err)
		}
		return float64(SaddleRise(m, r, saddle)), float64(r.Rotation)
	}
	rise, turn := solveCoarse(m, braces)
	n := m
	n.Material = stiffer(m.Material, 1.25, 1.25)
	n.Patches = append([]soundboard.Patch(nil), m.Patches...)
	for i := range n.Patches {
		n.Patches[i].Material = stiffer(n.Patches[i].Material, 1.25, 1.25)
	}
	var hard, tall []soundboard.Brace
	for _, b := range braces {
		h := b
		h.Material = stiffer(b.Material, 1.25, 1.25)
		hard = append(hard, h)
		b.Heights = append([]soundboard.Station(nil), b.Heights...)
		for i := range b.Heights {
			b.Heights[i].Height *= 1.2
		}
		tall = append(tall, b)
	}
	r, a := solveCoarse(n, hard)
	reftest.Near(t, "rise of a stiffer top", r*1.25/rise, 1, 1e-6)
	reftest.Near(t, "tilt of a stiffer top", math.Tan(a)*1.25/math.Tan(turn), 1, 1e-6)
	if _, a = solveCoarse(m, tall); a >= turn {
		t.Errorf("braces a fifth taller tip the bridge by %v, against %v", a, turn)
	}
}

func TestDesignSharesStiffenTheTop(t *testing.T) {
	m, braces, _, err := Top(bases[0].Values)
	if err != nil {
		t.Fatal(err)
	}
	d := set(bases[0].Values, "top_along", "120")
	d = set(d, "top_across", "80 %")
	d = set(d, "brace_stiffness", "110")
	n, stiff, _, err := Top(d)
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "along", float64(n.Material.E1/m.Material.E1), 1.2, 1e-12)
	reftest.Near(t, "across", float64(n.Material.E2/m.Material.E2), 0.8, 1e-12)
	reftest.Near(t, "shear", float64(n.Material.G12/m.Material.G12), 0.8, 1e-12)
	reftest.Near(t, "density", float64(n.Material.Density/m.Material.Density), 1, 0)
	reftest.Near(t, "braces", float64(stiff[0].Material.E1/braces[0].Material.E1), 1.1, 1e-12)
}

func TestWorkedOutRiseNeedsABody(t *testing.T) {
	d := set(bases[0].Values, "top_rise_from", FromTop)
	d = set(d, "top_wood", "")
	p, ok := CheckDesign(d, FromDesign).(Problems)
	if !ok || p.For("top_wood") == nil {
		t.Errorf("without a top wood: %v", p)
	}
}

func TestKeptAnswersAreBoundedAndWorkedOutOnce(t *testing.T) {
	k := &kept{most: 8}
	var worked atomic.Int32
	ask := func(n byte) {
		k.of(t.Context(), sha256.Sum256([]byte{n}), func(context.Context) topAnswer { worked.Add(1); return topAnswer{} })
	}
	var wg sync.WaitGroup
	for range 20 {
		wg.Go(func() { ask(1) })
	}
	wg.Wait()
	if worked.Load() != 1 {
		t.Errorf("one question was worked out %d times", worked.Load())
	}
	for n := range byte(200) {
		ask(n)
		ask(1)
		if len(k.by) > 8 {
			t.Fatalf("%d answers are kept, of at most 8", len(k.by))
		}
	}
	if worked.Load() != 200 { // 1 was asked for all along, so it was never forgotten
		t.Errorf("worked out %d times, not 200", worked.Load())
	}
}

// Who gives up takes nothing from those who wait: one of them works it out.
func TestWhatIsGivenUpIsNotKept(t *testing.T) {
	k := &kept{most: 8}
	sum := sha256.Sum256([]byte("a top"))
	begun := make(chan struct{})
	mine, giveUp := context.WithCancel(t.Context())
	first := make(chan error)
	go func() {
		first <- k.of(mine, sum, func(ctx context.Context) topAnswer {
			close(begun)
			<-ctx.Done()
			return topAnswer{err: ctx.Err()}
		}).err
	}()
	<-begun
	g := &TopGive{Thickness: 1}
	second := make(chan topAnswer)
	go func() {
		second <- k.of(t.Context(), sum, func(context.Context) topAnswer { return topAnswer{give: g} })
	}()
	giveUp()
	if err := <-first; !errors.Is(err, context.Canceled) {
		t.Errorf("who gave up hears %v", err)
	}
	if got := <-second; got.err != nil || got.give != g {
		t.Errorf("who waited gets %+v", got)
	}
	if got := k.of(t.Context(), sum, func(context.Context) topAnswer { return topAnswer{} }); got.give != g {
		t.Error("the answer was not kept")
	}
	func() {
		defer func() { _ = recover() }()
		k.of(t.Context(), sha256.Sum256([]byte("broken")), func(context.Context) topAnswer { panic("broken off") })
	}()
	if got := k.of(t.Context(), sha256.Sum256([]byte("broken")), func(context.Context) topAnswer { return topAnswer{give: g} }); got.give != g {
		t.Error("what broke off is kept")
	}
	d := set(bases[3].Values, "top_rise_from", FromTop)
	if err := WarmTop(mine, d); !errors.Is(err, context.Canceled) {
		t.Errorf("warming a top, given up, says %v", err)
	}
	if err := WarmTop(mine, bases[3].Values); err != nil {
		t.Errorf("a typed rise needs no warming: %v", err)
	}
}

func BenchmarkBuildWithTheTopWorkedOut(b *testing.B) {
	d := set(bases[0].Values, "top_rise_from", FromTop)
	for b.Loop() {
		Build(d)
	}
}
