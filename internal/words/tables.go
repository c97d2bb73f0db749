package words

import (
	"fairset/craft/fastening"
	"fairset/craft/stringset"
	"fairset/craft/wood"
	"fairset/unit"
)

// inTables finds the texts that stand in embedded tables.
func inTables() []Found {
	var out []Found
	for _, t := range []struct {
		file  string
		words []unit.Text
	}{{"craft/fastening/data", fastening.Words()}, {"craft/stringset/data", stringset.Words()}, {"craft/wood/data", wood.Words()}} {
		for _, w := range t.words {
			out = append(out, Found{ID: w.In(unit.Millimetre), File: t.file})
		}
	}
	return out
}
