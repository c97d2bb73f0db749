package guitar

import (
	"math"

	"fairset/craft/wood"
	"fairset/unit"
)

const groupAir = "Air and wood"

func airFields() []Field {
	return []Field{
		scalar(unit.KindPercent, "shop_humidity", "relative humidity in the shop", groupAir, 0.01, 0.99, 0, "Of the air the guitar is glued up in. 45 to 50 % is common practice."),
		scalar(unit.KindTemperature, "shop_temperature", "temperature in the shop", groupAir, -20, 60, 0, "Or with its unit: 21 °C, 70 °F. Leave empty for 21 °C."),
		scalar(unit.KindPercent, "player_humidity", "relative humidity where it will live", groupAir, 0.01, 0.99, 0, "The driest or dampest the guitar will settle in. A heated room in a cold winter is often 25 to 30 %."),
		scalar(unit.KindTemperature, "player_temperature", "temperature where it will live", groupAir, -20, 60, 0, "Leave empty for 21 °C."),
		length("brace_spacing", "braces apart", groupAir, 20, 300, 0, "How far apart the braces that cross the grain near the bridge stand, middle to middle. Leave empty for 100 mm."),
	}
}

// Usual figures where the maker gives none: our own, common practice, no source.
const (
	usualTemperature  = 21.0
	usualBraceWidth   = 8 * unit.MM
	usualBraceHeight  = 14 * unit.MM
	usualBraceSpacing = 100 * unit.MM
)

// How sure the parts of a movement are: guesses of ours, no source. Moisture hangs behind the air and sits
// higher in wood that dries than in wood that takes up water; one board moves more than another.
const (
	spreadMoisture = 0.5  // % of moisture, at either end
	spreadMoves    = 0.25 // of the coefficient
	spreadBow      = 0.25 // of the dome's change for given wood: thicknesses, creep, braces that do not cross square
)

// HasAir reports whether a design says what air the guitar goes from and to.
func HasAir(d Values) bool { return d.Has("shop_humidity") && d.Has("player_humidity") }

// Moving is one part that changes with the air.
type Moving struct {
	Key    string
	What   unit.Text   // "the tenon"
	Width  unit.Length // across the grain
	Change unit.Length // + wider
	Give   unit.Length // standard deviation
}

// Doming is what the air does to the top at the saddle. Free of the rim it would rise by Free; held by the
// rim all round, not at all. The guitar lies between: the figures are half way, the spread covers both.
type Doming struct {
	From, Tightest unit.Length // radius across the grain: now, and if the rim gave way; 0 flat, negative hollow
	Free           unit.Length // rise at the saddle, + up, if the rim gave way
	Rise, Gap      unit.Length // most likely; a gap that shrinks is negative
	Action         unit.Length // change at fret 12
	RiseGive       unit.Length
	ActionGive     unit.Length
	Assumed        []unit.Phrase // what was taken because the design does not say
}

// Air is what a guitar does between the shop's air and the player's.
type Air struct {
	From, To               wood.Climate
	MoistureFrom, Moisture wood.Percent
	Moves                  []Moving
	Dome                   *Doming
	Crack                  *wood.Danger
	Steady                 float64 // s, nine tenths of the way for a bare top: an order of magnitude
	Warnings               []unit.Warning
	Missing                Problems // what is needed to say more of the top
	Sources                []unit.Phrase
}

// AirOf works out what a guitar does between the two airs of its design. Errors are Problems naming the
// fields to fill.
func AirOf(d Values) (Air, error) {
	if p := lacking(d, "what the air does cannot be worked out without it", "shop_humidity", "player_humidity"); len(p) > 0 {
		return Air{}, p
	}
	climate := func(place string) wood.Climate {
		c := wood.Climate{Temperature: usualTemperature, Humidity: wood.Percent(100 * d.Ratio(place+"_humidity"))}
		if d.Has(place + "_temperature") {
			c.Temperature = d.Ratio(place + "_temperature")
		}
		return c
	}
	a := Air{From: climate("shop"), To: climate("player"), Sources: []unit.Phrase{unit.Plain("Wood Handbook, FPL-GTR-282, equations 4-5 and 13-2"), unit.Plain("Timoshenko, J. Opt. Soc. Am. 11 (1925) 233-255")}}
	var err error
	for _, e := range []struct {
		place string
		c     wood.Climate
		into  *wood.Percent
	}{{"shop", a.From, &a.MoistureFrom}, {"player", a.To, &a.Moisture}} {
		var warn []unit.Warning
		if *e.into, warn, err = e.c.EMC(); err != nil {
			return Air{}, designError(d, err)
		}
		for _, w := range warn {
			w.Field = e.place + "_humidity"
			if w.Code == "colder_than_table" {
				w.Field = e.place + "_temperature"
			}
			a.Warnings = append(a.Warnings, w)
		}
	}
	top, hasTop := wood.Find(d.Choice("top_wood"))
	if hasTop {
		a.move("top", "the top at the bridge", widthAtBridge(d), top, wood.Radial)
		a.Sources = append(a.Sources, unit.Say("%v: %s", top.Name, top.Source))
		a.top(d, top)
	} else {
		a.Missing = lacking(d, "to say what the top does", "top_wood")
	}
	if neck, ok := wood.Find(d.Choice("neck_wood")); ok {
		a.move("tenon", "the tenon", d.Length("tenon_width"), neck, wood.Tangential)
		a.tenon()
	}
	if board, ok := wood.Find(d.Choice("board_wood")); ok {
		a.move("board", "the fretboard at the body", d.Length("neck_width_joint"), board, wood.Tangential)
		a.board()
	}
	return a, nil
}

// widthAtBridge is across the body where the saddle lies; 0 without an outline.
func widthAtBridge(d Values) unit.Length {
	if !HasBody(d) {
		return 0
	}
	o, _, err := Outline(d)
	if err != nil {
		return 0
	}
	return o.WidthAt(bodySaddle(d, o.Length()))
}

// mainBrace is the tallest brace of the layout.
func mainBrace(d Values) (width, height unit.Length, ok bool) {
	b, _, err := Body(d)
	if err != nil {
		return 0, 0, false
	}
	for _, x := range b.Braces {
		if h := x.Tallest(); h > height {
			width, height = x.Width, h
		}
	}
	return width, height, height > 0
}

// dries is how much moisture the guitar loses; negative when it takes up water.
func (a Air) dries() float64 { return float64(a.MoistureFrom - a.Moisture) }

// MoistureGive is the standard deviation of the change of moisture, in percent: a guess.
func (a Air) MoistureGive() float64 { return lost() }

// lost is the spread of a change of moisture.
func lost() float64 { return spreadMoisture * math.Sqrt2 }

// move adds a part that changes; a part without a width is left out. The neck's and the board's cut is not
// known: the larger coefficient is the cautious one.
func (a *Air) move(key string, what unit.Text, width unit.Length, s wood.Species, dir wood.Direction) {
	if width <= 0 {
		return
	}
	c := s.Moves(dir)
	change, warn, err := wood.Move{Width: width, Coefficient: c, From: a.MoistureFrom, To: a.Moisture}.Change()
	if err != nil {
		return // every width of a design lies within a board's
	}
	if !a.warned("beyond_normal_moisture") && len(warn) > 0 {
		w := warn[0]
		w.Field = map[string]string{"from": "shop_humidity", "to": "player_humidity"}[w.Field]
		a.Warnings = append(a.Warnings, w)
	}
	give := math.Hypot(spreadMoves*float64(change), float64(width)*c*lost())
	a.Moves = append(a.Moves, Moving{key, what, width, change, unit.Length(give)})
}

func (a Air) warned(code string) bool {
	for _, w := range a.Warnings {
		if w.Code == code {
			return true
		}
	}
	return false
}

func (a Air) moving(key string) (Moving, bool) {
	for _, m := range a.Moves {
		if m.Key == key {
			return m, true
		}
	}
	return Moving{}, false
}

// top works out the dome and the danger of a crack.
func (a *Air) top(d Values, s wood.Species) {
	m, borrowed, err := wood.Board{Species: s, Cut: wood.Quartersawn}.Material()
	if err != nil {
		return // only woods whose modulus is known can be chosen
	}
	for _, b := range borrowed {
		if b.Ratio == "E_R/E_L" {
			a.Sources = append(a.Sources, unit.Say("%v: %v", s.Name, b.Say()))
		}
	}
	crack := wood.CrackDanger(s, m.E2, 1, a.MoistureFrom, a.Moisture)
	a.Crack = &crack
	switch crack.Level {
	case wood.Crack:
		a.Warnings = append(a.Warnings, unit.Warning{Code: "top_may_crack", Field: "player_humidity", Say: unit.Say("The top may crack there: it would pull against its braces and rim with about %v of what it bears across the grain. Glue up in drier air, or tell the player to keep the air damper.", share(crack.Share))})
	case wood.Watch:
		a.Warnings = append(a.Warnings, unit.Warning{Code: "top_pulls", Field: "player_humidity", Say: unit.Say("The top pulls against its braces and rim there with about %v of what it bears across the grain. It should hold; much drier and it may not.", share(crack.Share))})
	}
	thickness := or(d, "top_thickness", usualTop)
	a.Steady, _ = wood.Steady(thickness, true) // a guitar's top is finished outside and bare inside
	width := widthAtBridge(d)
	if width == 0 {
		a.Missing = append(a.Missing, lacking(d, "to say what the dome does: the body's outline gives its width", landmarkKeys...)...)
		return
	}
	dome := &Doming{From: d.Length("top_radius")}
	if !d.Has("top_thickness") {
		dome.Assumed = append(dome.Assumed, unit.Say("a top of %v", 2.8*unit.MM))
	}
	brace, ok := wood.Find(d.Choice("brace_wood"))
	if !ok {
		brace = s
		dome.Assumed = append(dome.Assumed, unit.Say("braces of the top's wood"))
	}
	strip := wood.Braced{Thickness: thickness, Modulus: m.E2, BraceModulus: brace.Modulus, Width: or(d, "brace_spacing", usualBraceSpacing)}
	if strip.BraceWidth, strip.BraceHeight, ok = mainBrace(d); !ok {
		strip.BraceWidth, strip.BraceHeight = or(d, "brace_width", usualBraceWidth), or(d, "brace_height", usualBraceHeight)
		dome.Assumed = append(dome.Assumed, unit.Say("braces %v wide and %v tall", strip.BraceWidth, strip.BraceHeight))
	}
	if !d.Has("brace_spacing") {
		dome.Assumed = append(dome.Assumed, unit.Say("braces %v apart", 100*unit.MM))
	}
	kappa, err := strip.Curvature(-s.Radial * a.dries())
	if err != nil {
		return // the ranges of the design lie within the strip's
	}
	dome.Tightest = wood.Radius(dome.From, kappa)
	dome.Free = wood.Rise(kappa, width/2)
	dome.Rise = dome.Free / 2
	dome.Gap = -dome.Rise
	// Anywhere between nothing and free is as likely: a standard deviation of 1/√12 of it. Wood and moisture
	// come on top.
	part := math.Sqrt(spreadMoves*spreadMoves + wood.SpreadModulus*wood.SpreadModulus + spreadBow*spreadBow)
	wet := 0.0
	if x := math.Abs(a.dries()); x > 0 {
		wet = lost() / x
	}
	give := math.Hypot(float64(dome.Free)/math.Sqrt(12), float64(dome.Rise)*math.Hypot(part, wet))
	dome.RiseGive = unit.Length(give)
	// A saddle that rises lifts the string over fret 12 by half as much.
	L, S := float64(d.Length("scale_length")), float64(d.Length("saddle_setback"))
	lever := 0.5
	if L > 0 {
		lever = (L / 2) / (L + S)
	}
	dome.Action, dome.ActionGive = unit.Length(lever*float64(dome.Rise)), unit.Length(lever*give)
	a.Dome = dome
	if dome.Action.Abs() > 0.3*unit.MM {
		way := unit.Text("The action at fret 12 rises by about %v there. Leave the saddle room for it, or make a second saddle.")
		if dome.Action < 0 {
			way = "The action at fret 12 falls by about %v there. Leave the saddle room for it, or make a second saddle."
		}
		a.Warnings = append(a.Warnings, unit.Warning{Code: "action_moves", Field: "player_humidity", Say: unit.Say(way, unit.FineLength(dome.Action.Abs()))})
	}
	if dome.From > 0 && dome.Tightest < 0 {
		a.Warnings = append(a.Warnings, unit.Warning{Code: "top_may_sink", Field: "player_humidity", Say: unit.Say("The top may go hollow there. Build it with more dome, or glue it up in drier air.")})
	}
}

func share(s float64) unit.Phrase {
	switch {
	case s >= 1.95:
		return unit.Say("%.0f times", s)
	case s >= 1:
		return unit.Say("all")
	}
	return unit.Say("%.0f %%", s*100)
}

// Where a movement in the joint and at the fret ends is worth a word: our own judgement, no source.
const (
	tenonPlay = 0.05 * unit.MM
	fretEnds  = 0.15 * unit.MM
)

// tenon warns when the tenon moves by more than a fit has play.
func (a *Air) tenon() {
	m, ok := a.moving("tenon")
	if !ok || m.Change.Abs() < tenonPlay {
		return
	}
	say := unit.Say("The tenon gets narrower by about %v there: a fit without play gets loose, and the bolts alone hold it to the side. Check the nuts once it has settled.", unit.FineLength(-m.Change))
	if m.Change > 0 {
		say = unit.Say("The tenon gets wider by about %v there: leave it that much play in the mortise, or it may split the block.", unit.FineLength(m.Change))
	}
	a.Warnings = append(a.Warnings, unit.Warning{Code: "tenon_moves", Field: "player_humidity", Say: say})
}

// board warns when the board draws back from the ends of its frets.
func (a *Air) board() {
	if m, ok := a.moving("board"); ok && m.Change < -fretEnds {
		a.Warnings = append(a.Warnings, unit.Warning{Code: "fret_ends", Field: "player_humidity", Say: unit.Say("The board gets narrower by about %v there: the fret ends will stand out at its edges, half of that on each side. Dress them once it has settled.", unit.FineLength(-m.Change))})
	}
}

// Say says in sentences what the air does.
func (a Air) Say() []unit.Phrase {
	one := func(p wood.Percent) unit.Phrase { return unit.Say("%.1f %%", float64(p)) }
	air := func(c wood.Climate) unit.Phrase {
		return unit.Say("%v and %v", unit.TemperatureC(c.Temperature), unit.Say("%.0f %%", float64(c.Humidity)))
	}
	first := unit.Say("From the shop (%v) to where it will live (%v) the wood dries, from %v to %v moisture.", air(a.From), air(a.To), one(a.MoistureFrom), one(a.Moisture))
	switch dries := a.dries(); {
	case math.Abs(dries) < 0.05:
		first = unit.Say("Between the shop (%v) and where it will live (%v) the wood stays as it is, at %v moisture.", air(a.From), air(a.To), one(a.Moisture))
	case dries < 0:
		first = unit.Say("From the shop (%v) to where it will live (%v) the wood takes up water, from %v to %v moisture.", air(a.From), air(a.To), one(a.MoistureFrom), one(a.Moisture))
	}
	out := []unit.Phrase{first}
	for _, m := range a.Moves {
		var say unit.Text
		switch {
		case m.Key == "top" && m.Change < 0:
			say = "%v would get %v narrower, give or take %v, if it were free; braces and rim hold most of that back."
		case m.Key == "top":
			say = "%v would get %v wider, give or take %v, if it were free; braces and rim hold most of that back."
		case m.Change < 0:
			say = "%v gets %v narrower, give or take %v."
		default:
			say = "%v gets %v wider, give or take %v."
		}
		out = append(out, unit.Say(say, unit.Upper{Words: m.What}, unit.FineLength(m.Change.Abs()), unit.FineLength(m.Give)))
	}
	if d := a.Dome; d != nil && d.Free != 0 {
		top := unit.Text("At the saddle the top rises by about %v, give or take %v: nothing if the rim held it all round, %v if the rim gave way.")
		gap := unit.Text("So the gap gets %v smaller and the action at fret 12 %v higher, give or take %v.")
		if d.Free < 0 {
			top = "At the saddle the top sinks by about %v, give or take %v: nothing if the rim held it all round, %v if the rim gave way."
			gap = "So the gap gets %v larger and the action at fret 12 %v lower, give or take %v."
		}
		out = append(out,
			unit.Say(top, unit.FineLength(d.Rise.Abs()), unit.FineLength(d.RiseGive), unit.FineLength(d.Free.Abs())),
			unit.Say(gap, unit.FineLength(d.Gap.Abs()), unit.FineLength(d.Action.Abs()), unit.FineLength(d.ActionGive)))
	}
	if a.Steady > 0 {
		out = append(out, unit.Say("A top that is finished on one face follows the air within %v; a neck, or wood finished all round, takes weeks. That is an order of magnitude, no better.", wood.Roughly(a.Steady)))
	}
	return out
}
