package fretting

import (
	"fairset/unit"
)

// workLimits are ranges for cutting slots, wire and nut. source: common practice, no source.
var workLimits = []unit.Limit{
	mm("overhang", "wire past the board's edge at each end", 0, 20),
	{Field: "spare", Label: unit.Say("spare wire"), Kind: unit.KindPercent, Min: 0, Max: 1},
	mm("tang_depth", "depth of the fret's tang", 0.8, 4),
	mm("tang_clearance", "room under the tang", 0, 1),
	mm("board_thickness", "board thickness", 3, 10),
	mm("slot_allowance", "nut slot wider than its string", 0, 0.5),
	mm("nut_height", "string height at the nut", 0, 4),
	mm("fret_crown", "fret crown height", 0.5, 1.8),
	{Field: "slot_share", Label: unit.Say("share of the string that sits in the nut slot"), Kind: unit.KindRatio, Min: 0.2, Max: 1.5},
}

// Wire is how much fret wire a board takes.
type Wire struct {
	Pieces []unit.Length // fret 1 first, each with its overhang at both ends
	Total  unit.Length
	Buy    unit.Length // with the spare
}

// Wire returns the wire to cut for each fret, along the curved face with an overhang past both edges, and
// the total to buy with a share to spare (0.1 for a tenth).
//
// Valid for: overhang 0 to 20 mm, spare 0 to 1; otherwise a *unit.RangeError naming overhang or spare.
func (l Layout) Wire(overhang unit.Length, spare float64) (Wire, error) {
	if err := unit.Checks(needLength("overhang", overhang), need("spare", spare)); err != nil {
		return Wire{}, err
	}
	w := Wire{Pieces: make([]unit.Length, len(l.Slots))}
	for i, s := range l.Slots {
		w.Pieces[i] = s.Wire + 2*overhang
		w.Total += w.Pieces[i]
	}
	w.Buy = w.Total * unit.Length(1+spare)
	return w, nil
}

// SlotDepth is how deep to saw one fret's slot.
type SlotDepth struct {
	Fret   int
	Follow unit.Length // below the face, all along, when the saw follows the curve
	Flat   unit.Length // below the centreline, when the saw cuts a straight floor: the ends set it
	Left   unit.Length // wood under a straight floor at the board's middle
}

// leastUnderSlot is the wood that keeps a board from breaking along a slot when wire is driven.
// source: common practice, no source.
const leastUnderSlot = 1.5 * unit.MM

// SlotDepths returns the depth of every slot for a tang with room under it. A straight floor must be deep
// enough at the board's edges, where a curved face stands lower; a saw that follows the curve needs only the
// tang and the room.
//
// Valid for: tang 0.8 to 4 mm, room 0 to 1 mm, board 3 to 10 mm thick on its centreline; otherwise a
// *unit.RangeError naming tang_depth, tang_clearance or board_thickness. Wood of less than 1.5 mm under a
// slot is warned of (common practice, no source).
func (l Layout) SlotDepths(tang, room, thickness unit.Length) ([]SlotDepth, []unit.Warning, error) {
	if err := unit.Checks(needLength("tang_depth", tang), needLength("tang_clearance", room), needLength("board_thickness", thickness)); err != nil {
		return nil, nil, err
	}
	out := make([]SlotDepth, len(l.Slots))
	thin, at := thickness, 0
	for i, s := range l.Slots {
		drop := -min(l.Surface.Height(s.Line.Bass.X, s.Line.Bass.Y), l.Surface.Height(s.Line.Treble.X, s.Line.Treble.Y))
		d := SlotDepth{Fret: s.Fret, Follow: tang + room, Flat: tang + room + drop}
		d.Left = thickness - d.Flat
		if d.Left < thin {
			thin, at = d.Left, s.Fret
		}
		out[i] = d
	}
	var warn []unit.Warning
	if thin < leastUnderSlot {
		warn = append(warn, unit.Warning{Code: "thin_under_slot", Field: "board_thickness",
			Say: unit.Say("A straight-floored slot leaves %v of wood under fret %v: saw along the curve, or take a thicker board.", thin, at)})
	}
	return out, warn, nil
}

// NutCut says how the nut's slots are to be cut.
type NutCut struct {
	Crown     unit.Length // fret over the board
	Height    unit.Length // underside of the string over the line of the fret tops
	Allowance unit.Length // slot wider than its string
	Share     float64     // of the string's thickness that sits below the nut's top; 0: half
}

// NutSlot is one slot of the nut.
type NutSlot struct {
	FromBass unit.Length // along the nut, from the board's bass edge to the slot's middle
	Width    unit.Length
	Floor    unit.Length // over the board's face at that place
	Depth    unit.Length // below the nut's finished top
}

// NutSlots returns the slots, bass first.
//
//	width = gauge + allowance     floor = crown + height     depth = share × gauge
//
// Half a string in the slot holds it and lets it ring (common practice, no source). File the last of it
// with the strings slack, and check the height at the first fret before going deeper. Errors are
// *unit.RangeError naming fret_crown, nut_height, slot_allowance or slot_share.
func (l Layout) NutSlots(cut NutCut) ([]NutSlot, error) {
	part := cut.Share
	if part == 0 {
		part = 0.5
	}
	if err := unit.Checks(needLength("fret_crown", cut.Crown), needLength("nut_height", cut.Height), needLength("slot_allowance", cut.Allowance), need("slot_share", part)); err != nil {
		return nil, err
	}
	out := make([]NutSlot, len(l.Strings))
	for i, r := range l.Strings {
		out[i] = NutSlot{
			FromBass: Line{l.Nut.Bass, r.Nut}.Length(),
			Width:    r.Gauge + cut.Allowance,
			Floor:    cut.Crown + cut.Height,
			Depth:    unit.Length(part) * r.Gauge,
		}
	}
	return out, nil
}
