package strungup

import (
	"fmt"
	"strings"

	"fairset/craft/neckset"
	"fairset/unit"
)

// MostStations bounds a neck's sections.
const MostStations = 24

func mm(field string, label unit.Text, lo, hi float64) unit.Limit {
	return unit.Limit{Field: field, Label: unit.Say(label), Kind: unit.KindLength, Min: lo / 1000, Max: hi / 1000}
}

// Ranges wide enough for a small ukulele and an instrument of twelve strings: common practice, no source.
// Moduli run from the softest softwood to carbon laminate.
var limits = func() map[string]unit.Limit {
	m := map[string]unit.Limit{}
	for _, l := range []unit.Limit{
		{Field: "tension", Label: unit.Say("pull of all strings"), Kind: unit.KindForce, Min: 0, Max: 4000},
		{Field: "neck_modulus", Label: unit.Say("modulus of the neck's wood"), Kind: unit.KindStress, Min: 2e9, Max: 200e9},
		{Field: "board_modulus", Label: unit.Say("modulus of the board's wood"), Kind: unit.KindStress, Min: 2e9, Max: 200e9},
		{Field: "fullness", Label: unit.Say("fullness of the back"), Kind: unit.KindRatio, Min: 1, Max: 8},
		{Field: "stations", Label: unit.Say("places the neck is measured at"), Kind: unit.KindCount, Min: 1, Max: MostStations},
		mm("at", "distance from the nut", -20, 900),
		mm("neck_width", "neck width", 20, 120),
		mm("neck_depth", "neck depth without the board", 6, 60),
		mm("board_thickness", "board thickness", 1, 20),
		mm("channel_width", "width of the rod's channel", 0, 20),
		mm("channel_depth", "depth of the rod's channel", 0, 30),
		{Field: "rod_stiffness", Label: unit.Say("stiffness of the rod in N·m²"), Kind: unit.KindRatio, Min: 0, Max: 5000},
		mm("rod_bow", "the rod's own bow", -20, 20),
		mm("rod_from", "where the rod begins, from the nut", 0, 900),
		mm("rod_to", "where the rod ends, from the nut", 0, 900),
		{Field: "fold_stiffness", Label: unit.Say("stiffness of the joint in N·m per radian"), Kind: unit.KindRatio, Min: 100, Max: 1e7},
		mm("length", "nut to joint", 50, 900),
		mm("string_nut", "strings over the board at the nut", 0, 20),
		mm("string_end", "strings over the board at the joint", -5, 40),
		mm("hollow", "hollow of the neck without strings", -5, 5),
		mm("hollow_from", "where the hollow begins", 0, 200),
		mm("gap", "gap now", -5, 25),
		mm("nut_height_sides.bass", "string height at the nut, bass side", 0, 4),
		mm("nut_height_sides.treble", "string height at the nut, treble side", 0, 4),
		mm("saddle_projection_sides.bass", "saddle over the bridge, bass side", 0.5, 8),
		mm("saddle_projection_sides.treble", "saddle over the bridge, treble side", 0.5, 8),
		mm("action12_sides.bass", "wanted action at fret 12, bass side", 0.5, 6),
		mm("action12_sides.treble", "wanted action at fret 12, treble side", 0.5, 6),
	} {
		m[l.Field] = l
	}
	return m
}()

// LimitOf returns the range a field is accepted in, SI, by its key, and whether there is such a field: the
// neck's and the strings' own ("tension", "neck_depth"), those of the neck set, and "spreads." before any
// input that can have a spread. A fold_stiffness of 0 is accepted besides, for a fold that is typed.
func LimitOf(field string) (unit.Limit, bool) {
	if of, ok := strings.CutPrefix(field, "spreads."); ok {
		if excursions[of] == nil {
			return unit.Limit{}, false
		}
		l, ok := LimitOf(of)
		if !ok {
			return l, false
		}
		// Up to a quarter of the range: more is no spread but ignorance, and would leave what the beam can bear.
		return unit.Limit{Field: field, Label: unit.Say("spread of the %v", l.Label), Kind: l.Kind, Min: 0, Max: (l.Max - l.Min) / 4}, true
	}
	// The board's range is the beam's own where it is wider than the neck set's.
	if l, ok := neckset.LimitOf(field); ok {
		return l, true
	}
	switch field {
	case "stations.width":
		field = "neck_width"
	case "stations.depth":
		field = "neck_depth"
	case "stations.at":
		field = "at"
	}
	l, ok := limits[field]
	return l, ok
}

func need(field, as string, v float64) error {
	l := limits[field]
	if v >= l.Min && v <= l.Max {
		return nil
	}
	l.Field = as
	return l.CheckOffering(v)
}

// named puts a field's place in a list into an error.
func named(err error, field string) error {
	if re, ok := err.(*unit.RangeError); ok {
		re.Field = field
	}
	return err
}

func refuse(field string, v float64, why unit.Text, args ...any) error {
	return &unit.RangeError{Limit: limits[field], Value: v, Why: unit.Say(why, args...)}
}

func (n *Neck) check() error {
	if err := need("stations", "stations", float64(len(n.Stations))); err != nil {
		return err
	}
	for i, s := range n.Stations {
		for _, f := range [...]struct {
			limit, name string
			v           unit.Length
		}{{"at", "at", s.At}, {"neck_width", "width", s.Width}, {"neck_depth", "depth", s.Depth}} {
			if err := need(f.limit, f.name, float64(f.v)); err != nil {
				return named(err, fmt.Sprintf("stations[%d].%s", i, f.name))
			}
		}
		if i > 0 && s.At <= n.Stations[i-1].At {
			return named(refuse("at", float64(s.At), "stations must run in order from the nut"), fmt.Sprintf("stations[%d].at", i))
		}
		if n.Channel.Depth > s.Depth*3/4 || n.Channel.Width > s.Width/2 {
			return refuse("channel_depth", float64(n.Channel.Depth), "the channel leaves too little of the neck around it")
		}
	}
	if n.Fullness != 0 {
		if err := need("fullness", "fullness", n.Fullness); err != nil {
			return err
		}
	}
	err := unit.Checks(
		need("neck_modulus", "neck_modulus", float64(n.Modulus)), need("board_modulus", "board_modulus", float64(n.BoardModulus)),
		need("channel_width", "channel_width", float64(n.Channel.Width)), need("channel_depth", "channel_depth", float64(n.Channel.Depth)),
		need("rod_stiffness", "rod_stiffness", n.Rod.Stiffness), need("rod_bow", "rod_bow", float64(n.Rod.Bow)),
		need("rod_from", "rod_from", float64(n.Rod.From)), need("rod_to", "rod_to", float64(n.Rod.To)),
	)
	if err != nil {
		return err
	}
	if n.Rod.Bow != 0 && n.Rod.Stiffness == 0 {
		return refuse("rod_bow", float64(n.Rod.Bow), "a rod's bow counts only with its stiffness: give that too")
	}
	if (n.Rod.From != 0 || n.Rod.To != 0) && n.Rod.To <= n.Rod.From {
		return refuse("rod_to", float64(n.Rod.To), "the rod must end further from the nut than it begins")
	}
	return nil
}

func (b *Beam) check() error {
	if err := b.Neck.check(); err != nil {
		return err
	}
	err := unit.Checks(
		need("board_thickness", "board_thickness", float64(b.Board)), need("length", "length", float64(b.Length)),
		need("tension", "tension", float64(b.Tension)), need("string_nut", "string_nut", float64(b.StringNut)),
		need("string_end", "string_end", float64(b.StringEnd)), need("hollow", "hollow", float64(b.Hollow)),
		need("hollow_from", "hollow_from", float64(b.HollowFrom)),
	)
	if err == nil && b.HollowFrom >= b.Length {
		err = refuse("hollow_from", float64(b.HollowFrom), "the hollow must begin before the joint")
	}
	return err
}

func (in Input) check() error {
	if _, _, err := in.Build.Target(); err != nil {
		return err
	}
	if err := need("tension", "tension", float64(in.Tension)); err != nil {
		return err
	}
	if err := in.Neck.check(); err != nil {
		return err
	}
	if in.FoldStiffness != 0 {
		if err := need("fold_stiffness", "fold_stiffness", in.FoldStiffness); err != nil {
			return err
		}
		if in.Build.JointFold != 0 {
			return refuse("fold_stiffness", in.FoldStiffness, "the fold is typed too: give the one or the other")
		}
	}
	if in.GapRead {
		if err := need("gap", "gap", float64(in.Gap)); err != nil {
			return err
		}
	}
	for _, s := range []struct {
		field string
		v     neckset.Sides
		given bool
	}{
		{"nut_height_sides", in.NutHeight, true}, {"action12_sides", in.Action12, true},
		{"saddle_projection_sides", in.SaddleProjection, in.SaddleProjection != neckset.Sides{}},
	} {
		if !s.given {
			continue
		}
		if err := unit.Checks(need(s.field+".bass", s.field+".bass", float64(s.v.Bass)), need(s.field+".treble", s.field+".treble", float64(s.v.Treble))); err != nil {
			return err
		}
	}
	return nil
}
