package fretting

import (
	"math"

	"fairset/unit"
)

// The frame of a board: x runs along the centreline from the nut toward the saddle, y toward the treble
// side, z up off the board, whose centreline is z = 0. Where the nut crosses the centreline is the origin.

// MostStrings bounds a set.
const MostStrings = 16

func mm(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: lo / 1000, Max: hi / 1000}
}

// boardLimits are wider than any usual guitar: a small ukulele to a bass of nine strings.
// source: common practice, no source.
var boardLimits = []unit.Limit{
	mm("bass_scale", "scale length on the bass side", 200, 1200),
	mm("treble_scale", "scale length on the treble side", 200, 1200),
	{Field: "perpendicular_fret", Label: unit.Say("fret that stands square to the centreline"), Kind: unit.KindRatio, Min: 0, Max: MostFrets},
	mm("nut_width", "board width at the nut", 20, 130),
	mm("board_width", "board width further along", 20, 160),
	{Field: "board_width_fret", Label: unit.Say("fret the board's width is given at"), Kind: unit.KindCount, Min: 0, Max: MostFrets},
	mm("board_length", "board length on the centreline", 100, 1200),
	mm("nut_radius", "radius of the board at the nut", 100, 5000),
	mm("end_radius", "radius of the board at its end", 100, 5000),
	mm("gauge", "gauge", 0.1, 4),
	{Field: "gauges", Label: unit.Say("strings"), Kind: unit.KindCount, Min: 1, Max: MostStrings},
	mm("nut_spread", "outer strings apart at the nut, centre to centre", 0, 120),
	mm("saddle_spread", "outer strings apart at the saddle, centre to centre", 0, 160),
	mm("nut_shift", "middle of the strings off the centreline at the nut", -20, 20),
	mm("saddle_shift", "middle of the strings off the centreline at the saddle", -20, 20),
	mm("margin", "string to the board's edge", 0, 15),
	{Field: "spacing", Label: unit.Say("spacing"), Kind: unit.KindChoice},
}

var limitByField = func() map[string]unit.Limit {
	m := map[string]unit.Limit{}
	for _, list := range [][]unit.Limit{{scaleLimit, fretsLimit}, boardLimits, workLimits, playLimits} {
		for _, l := range list {
			m[l.Field] = l
		}
	}
	return m
}()

func need(field string, v float64) error {
	return limitByField[field].CheckOffering(v)
}

func needLength(field string, v unit.Length) error { return need(field, float64(v)) }

// refuse reports an input inside its range that cannot go with another one.
func refuse(field string, v float64, why unit.Text, args ...any) error {
	return &unit.RangeError{Limit: limitByField[field], Value: v, Why: unit.Say(why, args...)}
}

// Point is a place on the board as seen from above.
type Point struct{ X, Y unit.Length }

// Line runs across the board from its bass side to its treble side.
type Line struct{ Bass, Treble Point }

// Angle is how far the line turns from square to the centreline: + when its treble end lies nearer the saddle.
func (l Line) Angle() unit.Angle {
	return unit.Angle(math.Atan2(float64(l.Treble.X-l.Bass.X), float64(l.Treble.Y-l.Bass.Y)))
}

// Length is the straight distance between the ends.
func (l Line) Length() unit.Length {
	return unit.Length(math.Hypot(float64(l.Treble.X-l.Bass.X), float64(l.Treble.Y-l.Bass.Y)))
}

// at gives the point a share s of the way from bass to treble; s may lie outside 0 to 1.
func (l Line) at(s float64) Point {
	k := unit.Length(s)
	return Point{l.Bass.X + k*(l.Treble.X-l.Bass.X), l.Bass.Y + k*(l.Treble.Y-l.Bass.Y)}
}

// meet gives the point where two lines cross. Parallel lines give a point that is not finite.
func meet(l, m Line) Point {
	ax, ay := float64(l.Treble.X-l.Bass.X), float64(l.Treble.Y-l.Bass.Y)
	bx, by := float64(m.Treble.X-m.Bass.X), float64(m.Treble.Y-m.Bass.Y)
	cx, cy := float64(m.Bass.X-l.Bass.X), float64(m.Bass.Y-l.Bass.Y)
	return l.at((cx*by - cy*bx) / (ax*by - ay*bx))
}

// Even says what is kept the same between neighbouring strings.
type Even string

// EqualCentre keeps the strings' middles the same distance apart, EqualGap the air between them, so that
// thick strings do not crowd each other. source: common practice, no source.
const (
	EqualCentre Even = "equal-centre"
	EqualGap    Even = "equal-gap"
)

// Spacing places the strings across the board at one end.
type Spacing struct {
	Even   Even        // empty: EqualCentre
	Spread unit.Length // middle of the bass string to middle of the treble string, across the board
	Shift  unit.Length // midpoint of those two off the centreline, + toward treble
}

// Places returns the middle of each string across the board, bass first.
//
//	equal centre   y(i) = y(1) + (i-1) spread/(n-1)
//	equal gap      gap = (spread - half the outer gauges - the inner gauges)/(n-1)
//
// One string lies at Shift, whatever the spread. Errors are *unit.RangeError naming gauges, gauge, spacing,
// or nut_spread when equal gaps leave no air between the strings. Source: derived in docs/method/fretting.md.
func (s Spacing) Places(gauges []unit.Length) ([]unit.Length, error) {
	return s.places("nut_spread", gauges)
}

func (s Spacing) places(field string, gauges []unit.Length) ([]unit.Length, error) {
	if err := needGauges(gauges); err != nil {
		return nil, err
	}
	if err := needLength(field, s.Spread); err != nil {
		return nil, err
	}
	n := len(gauges)
	out := make([]unit.Length, n)
	if n == 1 {
		out[0] = s.Shift
		return out, nil
	}
	gap := s.Spread - (gauges[0]+gauges[n-1])/2
	for _, g := range gauges[1 : n-1] {
		gap -= g
	}
	gap /= unit.Length(n - 1)
	if gap <= 0 {
		return nil, refuse(field, float64(s.Spread), "the strings would touch: spread them further or take fewer")
	}
	y := s.Shift - s.Spread/2
	for i := range out {
		switch s.Even {
		case EqualCentre, "":
			out[i] = s.Shift + s.Spread*(unit.Length(i)/unit.Length(n-1)-0.5)
		case EqualGap:
			if i > 0 {
				y += gauges[i-1]/2 + gap + gauges[i]/2
			}
			out[i] = y
		default:
			return nil, &unit.RangeError{Limit: limitByField["spacing"], Got: string(s.Even), Why: unit.Say("not a way of spacing strings"), Choices: []string{string(EqualCentre), string(EqualGap)}}
		}
	}
	return out, nil
}

func needGauges(gauges []unit.Length) error {
	if err := need("gauges", float64(len(gauges))); err != nil {
		return err
	}
	for _, g := range gauges {
		if err := needLength("gauge", g); err != nil {
			return err
		}
	}
	return nil
}

// Within gives the spacing that leaves so much board outside the outer strings' outsides where the board is
// width wide. Errors are *unit.RangeError naming margin, gauges or gauge.
func Within(width, bass, treble unit.Length, even Even, gauges []unit.Length) (Spacing, error) {
	if err := unit.Checks(needGauges(gauges), needLength("margin", bass), needLength("margin", treble)); err != nil {
		return Spacing{}, err
	}
	low := -width/2 + bass + gauges[0]/2
	high := width/2 - treble - gauges[len(gauges)-1]/2
	if high <= low {
		return Spacing{}, refuse("margin", float64(bass), "the margins leave no room for the strings between them")
	}
	return Spacing{Even: even, Spread: high - low, Shift: (low + high) / 2}, nil
}

// Board is what a maker decides about a fretboard. A board of one scale has the same BassScale and
// TrebleScale; a multi-scale board has two, and one fret that stands square to the centreline.
type Board struct {
	BassScale, TrebleScale unit.Length // of the outer strings' middles
	AlongStrings           bool        // scales run along the slanting outer strings; else along the centreline
	PerpendicularFret      float64     // square to the centreline; 0 the nut, 7.5 between frets 7 and 8
	Frets                  int
	NutWidth               unit.Length // across, where the nut crosses the centreline
	Width                  unit.Length // across, further along: at WidthFret, or at the end for 0
	WidthFret              int
	Length                 unit.Length // nut to end on the centreline; 0: midway to where the next fret would be
	NutRadius, EndRadius   unit.Length // 0 and 0: flat
	Gauges                 []unit.Length
	AtNut, AtSaddle        Spacing
}

// Slot is one fret's slot as a line across the board, edge to edge.
type Slot struct {
	Fret   int
	Line   Line
	Centre unit.Length // where it crosses the centreline
	Angle  unit.Angle  // from square; + when the treble end lies nearer the saddle
	Wire   unit.Length // along the board's curved face, edge to edge
}

// Run is one string from nut to saddle, as seen from above.
type Run struct {
	Nut, Saddle Point
	Gauge       unit.Length
	Scale       unit.Length // along the string, without setback
}

func (r Run) line() Line { return Line{r.Nut, r.Saddle} }

// Layout is a Board laid out.
type Layout struct {
	Nut, Saddle Line // edge to edge; the saddle line without setback, string to string
	Slots       []Slot
	Strings     []Run
	Outline     [4]Point // bass corner at the nut, treble at the nut, treble at the end, bass at the end
	Length      unit.Length
	Surface     Surface
	NutMargin   [2]unit.Length // outside of the bass string to the bass edge, and the treble pair, at the nut
	EndMargin   [2]unit.Length // the same at the last fret
	ScaleSpan   unit.Length    // how much longer the longest string's scale is than the shortest's
	nutHalf     float64
	taper       float64 // half width gained per length
}

// WidthAt is the board's width across, at x.
func (l Layout) WidthAt(x unit.Length) unit.Length {
	return unit.Length(2 * (l.nutHalf + l.taper*float64(x)))
}

// Crossing gives the point where a string crosses a fret; fret 0 is the nut. Strings count from 0, the bass.
func (l Layout) Crossing(str, fret int) Point {
	if fret == 0 {
		return l.Strings[str].Nut
	}
	return meet(l.Slots[fret-1].Line, l.Strings[str].line())
}

// Lay lays the board out: slots, strings, edges and margins.
//
// On each outer string fret n stands at the share 1 - 2^(-n/12) of the way from nut to saddle, and the slot
// is the straight line through the two places, drawn on to the edges. The two saddle points follow from the
// fret that is to be square. Strings between the outer ones whose places at nut and saddle are the same
// share of the way across have exact frets too; with equal gaps the shares differ a little and so, by
// hundredths of a millimetre, do the frets.
//
// Errors are *unit.RangeError naming the field (LimitOf). Source: derived in docs/method/fretting.md.
func (b Board) Lay() (Layout, []unit.Warning, error) {
	if err := b.check(); err != nil {
		return Layout{}, nil, err
	}
	yn, err := b.AtNut.places("nut_spread", b.Gauges)
	if err != nil {
		return Layout{}, nil, err
	}
	ys, err := b.AtSaddle.places("saddle_spread", b.Gauges)
	if err != nil {
		return Layout{}, nil, err
	}
	n := len(b.Gauges)
	var lay Layout
	if n == 1 && b.BassScale != b.TrebleScale {
		return Layout{}, nil, refuse("treble_scale", float64(b.TrebleScale), "one string has one scale length")
	}
	// Runs along x of the outer strings.
	lb, lt := float64(b.BassScale), float64(b.TrebleScale)
	if b.AlongStrings {
		lb = alongX(lb, float64(ys[0]-yn[0]))
		lt = alongX(lt, float64(ys[n-1]-yn[n-1]))
	}
	// The nut's treble end lies ahead of its bass end by as much as makes both strings reach the square fret together.
	ahead := share(b.PerpendicularFret) * (lb - lt)
	nb := 0.0
	if n > 1 {
		nb = ahead * float64(yn[0]) / float64(yn[n-1]-yn[0])
	}
	nt := nb + ahead
	lay.Strings = make([]Run, n)
	for i := range lay.Strings {
		k, ks := 0.0, 0.0
		if n > 1 {
			k = float64((yn[i] - yn[0]) / (yn[n-1] - yn[0]))
			ks = float64((ys[i] - ys[0]) / (ys[n-1] - ys[0]))
		}
		r := Run{Nut: Point{unit.Length(nb + k*(nt-nb)), yn[i]}, Saddle: Point{unit.Length(nb + lb + ks*(nt+lt-nb-lb)), ys[i]}, Gauge: b.Gauges[i]}
		r.Scale = r.line().Length()
		lay.Strings[i] = r
	}
	bass, treble := lay.Strings[0].line(), lay.Strings[n-1].line()
	lay.Saddle = Line{bass.Treble, treble.Treble}
	square := n == 1 || lb == lt
	centre := Line{Point{0, 0}, Point{1, 0}}
	fret := func(t float64) (Line, float64) {
		if square {
			// The same for every string; taken so that a board of one scale is exactly the ordinary one.
			x := unit.Length(t * lb)
			return Line{Point{x, -1}, Point{x, 1}}, t * lb
		}
		l := Line{bass.at(t), treble.at(t)}
		return l, float64(meet(l, centre).X)
	}
	mid := func(f float64) float64 { _, x := fret(share(f)); return x }
	last := mid(float64(b.Frets))
	length := float64(b.Length)
	if length == 0 {
		length = (last + mid(float64(b.Frets+1))) / 2
	}
	at := length
	if b.WidthFret > 0 {
		at = mid(float64(b.WidthFret))
	}
	lay.Length = unit.Length(length)
	lay.nutHalf = float64(b.NutWidth) / 2
	lay.taper = float64(b.Width-b.NutWidth) / 2 / at
	if w := float64(lay.WidthAt(lay.Length)); w < 0.010 || w > 0.250 {
		return Layout{}, nil, refuse("board_width", float64(b.Width), "with the width at the nut it makes the board's end impossible")
	}
	half := func(x float64) unit.Length { return unit.Length(lay.nutHalf + lay.taper*x) }
	edges := [2]Line{
		{Point{0, -half(0)}, Point{1, -half(1)}},
		{Point{0, half(0)}, Point{1, half(1)}},
	}
	across := func(l Line) Line { return Line{meet(l, edges[0]), meet(l, edges[1])} }
	nutLine, _ := fret(0)
	lay.Nut = across(nutLine)
	if a := math.Abs(float64(lay.Nut.Angle())); !(a < math.Pi/4) {
		return Layout{}, nil, refuse("perpendicular_fret", b.PerpendicularFret, "the nut would slant past 45°: choose a lower fret or nearer scales")
	}
	lay.Outline = [4]Point{lay.Nut.Bass, lay.Nut.Treble, {lay.Length, half(length)}, {lay.Length, -half(length)}}
	if lay.Surface, err = NewSurface(b.NutRadius, b.EndRadius, lay.Length); err != nil {
		return Layout{}, nil, err
	}
	lay.Slots = make([]Slot, b.Frets)
	for i := range lay.Slots {
		l, x := fret(share(float64(i + 1)))
		l = across(l)
		a := l.Angle()
		if !(math.Abs(float64(a)) < math.Pi/4) {
			return Layout{}, nil, refuse("treble_scale", float64(b.TrebleScale), "the frets would slant past 45°: bring the scales nearer each other or the strings further apart")
		}
		lay.Slots[i] = Slot{Fret: i + 1, Line: l, Centre: unit.Length(x), Angle: a, Wire: lay.Surface.Along(l)}
	}
	lay.NutMargin = lay.margins(0)
	lay.EndMargin = lay.margins(b.Frets)
	long, short := lay.Strings[0].Scale, lay.Strings[0].Scale
	for _, r := range lay.Strings {
		long, short = max(long, r.Scale), min(short, r.Scale)
	}
	lay.ScaleSpan = long - short
	return lay, b.warn(lay), nil
}

// margins measures from the outside of each outer string to the board's edge beside it, across the board.
func (l Layout) margins(fret int) [2]unit.Length {
	n := len(l.Strings)
	b, t := l.Crossing(0, fret), l.Crossing(n-1, fret)
	return [2]unit.Length{
		b.Y + l.WidthAt(b.X)/2 - l.Strings[0].Gauge/2,
		l.WidthAt(t.X)/2 - t.Y - l.Strings[n-1].Gauge/2,
	}
}

// share of the string from the nut to a fret, which need not be whole.
func share(fret float64) float64 { return -math.Expm1(-fret / 12 * math.Ln2) }

func alongX(along, across float64) float64 { return math.Sqrt(along*along - across*across) }

func (b Board) check() error {
	err := unit.Checks(
		needLength("bass_scale", b.BassScale), needLength("treble_scale", b.TrebleScale),
		need("perpendicular_fret", b.PerpendicularFret), need("frets", float64(b.Frets)),
		needLength("nut_width", b.NutWidth), needLength("board_width", b.Width), need("board_width_fret", float64(b.WidthFret)),
		needGauges(b.Gauges), needLength("nut_shift", b.AtNut.Shift), needLength("saddle_shift", b.AtSaddle.Shift),
	)
	if err == nil && b.Length != 0 {
		err = needLength("board_length", b.Length)
	}
	return err
}

// leastMargin is where an outer string starts to be pulled off the frets' ends in playing; makers leave
// about 2.5 to 4 mm. source: common practice, no source.
const leastMargin = 1.5 * unit.MM

func (b Board) warn(l Layout) []unit.Warning {
	var out []unit.Warning
	for i, say := range []unit.Text{"The bass string has %v of board outside it %v: it may slip off the frets' ends.", "The treble string has %v of board outside it %v: it may slip off the frets' ends."} {
		for _, at := range []struct {
			place unit.Text
			m     unit.Length
			field string
		}{{"at the nut", l.NutMargin[i], "nut_spread"}, {"at the last fret", l.EndMargin[i], "saddle_spread"}} {
			if at.m < leastMargin {
				out = append(out, unit.Warning{Code: "narrow_margin", Field: at.field,
					Say: unit.Say(say, at.m, at.place)})
			}
		}
	}
	if last := l.Slots[len(l.Slots)-1]; max(last.Line.Bass.X, last.Line.Treble.X) > l.Length {
		out = append(out, unit.Warning{Code: "board_short", Field: "board_length",
			Say: unit.Say("The board ends at %v, before its last fret is across: make it longer or leave a fret out.", l.Length)})
	}
	return append(out, Doubts(b.TrebleScale)...)
}
