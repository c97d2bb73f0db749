package strungup

import "fairset/unit"

// Wood is a wood necks or boards are made of.
type Wood struct {
	Key, Name, Botanical string
	Modulus              unit.Stress // along the grain, at 12 % moisture, mean of the species
	Neck, Board          bool        // what it is often used for: common practice, no source
	Source               string
}

const (
	handbook = "Wood Handbook, FPL-GTR-282, tables 5-3 and 5-5: modulus in static bending at 12 % moisture"
	recalled = handbook + " (from memory)"
)

// woods holds the handbook's modulus of elasticity in static bending at 12 % moisture content raised by a
// tenth, which the handbook (chapter 5) says makes up for shear in its bending tests. A single board differs
// from its species' mean by about a fifth.
var woods = []Wood{
	{"honduran-mahogany", "Mahogany, Honduran", "Swietenia macrophylla", 11.33e9, true, false, handbook},
	{"khaya", "Mahogany, African", "Khaya spp.", 10.67e9, true, false, handbook},
	{"sapele", "Sapele", "Entandrophragma cylindricum", 13.75e9, true, false, recalled},
	{"spanish-cedar", "Spanish-cedar", "Cedrela spp.", 9.90e9, true, false, handbook},
	{"sugar-maple", "Maple, sugar", "Acer saccharum", 13.86e9, true, true, handbook},
	{"red-maple", "Maple, red", "Acer rubrum", 12.43e9, true, false, handbook},
	{"black-walnut", "Walnut, black", "Juglans nigra", 12.76e9, true, true, handbook},
	{"black-cherry", "Cherry, black", "Prunus serotina", 11.33e9, true, false, handbook},
	{"yellow-poplar", "Yellow-poplar", "Liriodendron tulipifera", 11.99e9, true, false, handbook},
	{"indian-rosewood", "Rosewood, Indian", "Dalbergia latifolia", 13.53e9, false, true, recalled},
	{"brazilian-rosewood", "Rosewood, Brazilian", "Dalbergia nigra", 14.30e9, false, true, recalled},
}

// Woods lists the woods known here. For any other, ebony among them, give the modulus itself.
func Woods() []Wood { return append([]Wood(nil), woods...) }

// FindWood returns a wood by its key.
func FindWood(key string) (Wood, bool) {
	for _, w := range woods {
		if w.Key == key {
			return w, true
		}
	}
	return Wood{}, false
}
