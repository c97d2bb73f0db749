package printing

import "slices"

// table is every sheet in the order a maker needs them: one family a file.
var table = slices.Concat(body, frets, joint, seat, bridge, lists)
