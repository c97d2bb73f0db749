package strungup

import "fairset/unit"

// Say tells a maker what the chain comes to: what to do first, then why, then how sure it is. Two spreads
// either way hold about nineteen guitars in twenty.
func (r Result) Say() []unit.Phrase {
	gap := unit.Say("Set the neck to a gap of %v, straight edge on the frets, before there are strings on it.", r.GapTarget)
	if off := r.GapUnstrung - r.GapTarget; off.Abs() > 0.05*unit.MM {
		now := unit.Text("It now stands %v, which is %v too low.")
		if off > 0 {
			now = "It now stands %v, which is %v too high."
		}
		gap = unit.Join(gap, unit.Say(now, r.GapUnstrung, off.Abs()))
	}
	return []unit.Phrase{
		gap,
		unit.Say("The strings bend the neck by %v, from a relief of %v to %v; the joint folds by %v and the top rises by %v. So the gap becomes %v.",
			unit.FineLength(r.AddedRelief), unit.FineLength(r.ReliefUnstrung), unit.FineLength(r.ReliefStrung), r.Fold, r.TopRise, r.GapStrung),
		unit.Say("Strung, the action at fret 12 comes to %v on the bass side and %v on the treble, give or take %v.",
			unit.FineLength(r.Action12.Bass), unit.FineLength(r.Action12.Treble), unit.FineLength(2*max(r.Spread.Action12.Bass, r.Spread.Action12.Treble))),
		unit.Say("This is an estimate from the neck's size and its wood: read the action once it is strung, and leave height on the saddle until then. Strings under full pull can break: keep your face away while tuning up."),
	}
}
