package face

import (
	"encoding/binary"
	"slices"
)

// Subset returns the font as a TrueType file with only the outlines of those glyphs (and of the glyphs they are
// built from), each under its own number, for embedding in a document. The same glyphs give the same bytes.
//
// source: OpenType 1.9, chapters "OpenType font file", "glyf", "loca" and "head".
func (f *Face) Subset(use []Glyph) []byte {
	return f.subset(use, "cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep")
}

// subset takes the names of the tables to keep, in order.
func (f *Face) subset(use []Glyph, keepTables ...string) []byte {
	head := slices.Clone(f.tables["head"])
	loca, glyf := f.tables["loca"], f.tables["glyf"]
	count := int(binary.BigEndian.Uint16(f.tables["maxp"][4:]))
	long := binary.BigEndian.Uint16(head[50:]) == 1
	outline := func(g int) []byte {
		if g < 0 || g >= count {
			return nil
		}
		if long {
			return glyf[binary.BigEndian.Uint32(loca[4*g:]):binary.BigEndian.Uint32(loca[4*g+4:])]
		}
		return glyf[2*int(binary.BigEndian.Uint16(loca[2*g:])) : 2*int(binary.BigEndian.Uint16(loca[2*g+2:]))]
	}
	keep := make([]bool, count)
	var add func(g int)
	add = func(g int) {
		if g < 0 || g >= count || keep[g] {
			return
		}
		keep[g] = true
		o := outline(g)
		if len(o) < 10 || int16(binary.BigEndian.Uint16(o)) >= 0 {
			return
		}
		for i := 10; i+4 <= len(o); { // a glyph built from others
			flags := binary.BigEndian.Uint16(o[i:])
			add(int(binary.BigEndian.Uint16(o[i+2:])))
			i += 6
			if flags&1 != 0 { // words, not bytes
				i += 2
			}
			switch {
			case flags&8 != 0:
				i += 2
			case flags&0x40 != 0:
				i += 4
			case flags&0x80 != 0:
				i += 8
			}
			if flags&0x20 == 0 {
				break
			}
		}
	}
	add(0)
	for _, g := range use {
		add(int(g))
	}
	newLoca := make([]byte, 4*(count+1))
	var newGlyf []byte
	for g := range count {
		if keep[g] {
			newGlyf = append(newGlyf, outline(g)...)
			for len(newGlyf)%4 != 0 {
				newGlyf = append(newGlyf, 0)
			}
		}
		binary.BigEndian.PutUint32(newLoca[4*(g+1):], uint32(len(newGlyf)))
	}
	binary.BigEndian.PutUint16(head[50:], 1)
	binary.BigEndian.PutUint32(head[8:], 0)

	type table struct {
		tag  string
		data []byte
	}
	var tables []table
	for _, tag := range keepTables {
		data, ok := f.tables[tag]
		switch tag {
		case "glyf":
			data = newGlyf
		case "head":
			data = head
		case "loca":
			data = newLoca
		}
		if ok {
			tables = append(tables, table{tag, data})
		}
	}
	n := len(tables)
	out := make([]byte, 12+16*n)
	pow, log := 1, 0
	for pow*2 <= n {
		pow, log = pow*2, log+1
	}
	binary.BigEndian.PutUint32(out, 0x00010000)
	for i, v := range []int{n, 16 * pow, log, 16 * (n - pow)} {
		binary.BigEndian.PutUint16(out[4+2*i:], uint16(v))
	}
	headAt := 0
	for i, t := range tables {
		if t.tag == "head" {
			headAt = len(out)
		}
		e := out[12+16*i:]
		copy(e, t.tag)
		binary.BigEndian.PutUint32(e[4:], sum32(t.data))
		binary.BigEndian.PutUint32(e[8:], uint32(len(out)))
		binary.BigEndian.PutUint32(e[12:], uint32(len(t.data)))
		out = append(out, t.data...)
		for len(out)%4 != 0 {
			out = append(out, 0)
		}
	}
	binary.BigEndian.PutUint32(out[headAt+8:], 0xB1B0AFBA-sum32(out))
	return out
}

func sum32(b []byte) uint32 {
	var sum uint32
	for len(b) >= 4 {
		sum += binary.BigEndian.Uint32(b)
		b = b[4:]
	}
	var last [4]byte
	copy(last[:], b)
	return sum + binary.BigEndian.Uint32(last[:])
}

// Metrics are the figures a document says about an embedded font, in font units.
type Metrics struct {
	Box                        [4]int
	Ascent, Descent, CapHeight int
}

// Metrics returns them.
func (f *Face) Metrics() Metrics {
	i16 := func(table string, at int) int { return int(int16(binary.BigEndian.Uint16(f.tables[table][at:]))) }
	return Metrics{
		Box:    [4]int{i16("head", 36), i16("head", 38), i16("head", 40), i16("head", 42)},
		Ascent: i16("hhea", 4), Descent: i16("hhea", 6), CapHeight: i16("OS/2", 88),
	}
}
