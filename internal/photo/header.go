package photo

import (
	"bytes"
	"encoding/binary"
)

// header is what a picture says of itself that its decoder does not tell.
type header struct {
	turn        orientation
	moves       bool
	progressive bool
	scans       int // of a JPEG
}

// orientation is how the rows and columns of a stored picture lie, 1 to 8; 0 when it does not say.
// source: CIPA DC-008 (Exif), tag 0x0112
type orientation int

// to says where a stored pixel of a picture w by h stands when it is upright.
func (o orientation) to(x, y, w, h int) (int, int) {
	switch o {
	case 2: // mirrored left to right
		return w - 1 - x, y
	case 3: // upside down
		return w - 1 - x, h - 1 - y
	case 4: // mirrored top to bottom
		return x, h - 1 - y
	case 5: // row 0 is the left side, column 0 the top
		return y, x
	case 6: // row 0 is the right side, column 0 the top
		return h - 1 - y, x
	case 7: // row 0 is the right side, column 0 the bottom
		return h - 1 - y, w - 1 - x
	case 8: // row 0 is the left side, column 0 the bottom
		return y, w - 1 - x
	}
	return x, y
}

// exifStart heads the Exif segment of a JPEG, and of some WebP files.
const exifStart = "Exif\x00\x00"

// tiffOrientation reads the orientation out of Exif data; 0 when there is none that can be used. Nothing else of
// it is looked at.
// source: TIFF 6.0, section 2; tag 0x0112 of type SHORT
func tiffOrientation(t []byte) orientation {
	if len(t) < 8 {
		return 0
	}
	var order binary.ByteOrder
	switch string(t[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 0
	}
	at := uint64(order.Uint32(t[4:]))
	if at < 8 || at+2 > uint64(len(t)) {
		return 0
	}
	count := uint64(order.Uint16(t[at:]))
	for i := range count {
		e := at + 2 + 12*i
		if e+12 > uint64(len(t)) {
			return 0
		}
		if order.Uint16(t[e:]) != 0x0112 {
			continue
		}
		v := order.Uint16(t[e+8:])
		if order.Uint16(t[e+2:]) != 3 || order.Uint32(t[e+4:]) != 1 || v < 1 || v > 8 {
			return 0
		}
		return orientation(v)
	}
	return 0
}

// Markers of JPEG. source: ITU-T T.81, table B.1
const (
	mSOF0 = 0xc0
	mSOF2 = 0xc2
	mDHT  = 0xc4
	mEOI  = 0xd9
	mSOS  = 0xda
	mDQT  = 0xdb
	mAPP1 = 0xe1
)

// segments calls do with each marker of a JPEG and what it carries, up to the first scan, until do says no. It
// returns where it ended: behind the header of the first scan, or -1 when there is none.
func segments(data []byte, do func(marker byte, body []byte) bool) int {
	for at := 2; at+4 <= len(data); {
		if data[at] != 0xff {
			return -1
		}
		m := data[at+1]
		if m == 0xff { // a filling byte
			at++
			continue
		}
		n := int(binary.BigEndian.Uint16(data[at+2:]))
		if n < 2 || at+2+n > len(data) {
			return -1
		}
		if !do(m, data[at+4:at+2+n]) {
			return -1
		}
		at += 2 + n
		if m == mSOS {
			return at
		}
	}
	return -1
}

func jpegHeader(data []byte) header {
	var h header
	segments(data, func(m byte, body []byte) bool {
		switch {
		case m == mSOF2:
			h.progressive = true
		case m == mAPP1 && h.turn == 0 && bytes.HasPrefix(body, []byte(exifStart)):
			h.turn = tiffOrientation(body[len(exifStart):])
		}
		return true
	})
	// Within a scan 0xff is followed by 0x00 or a restart, so this counts scans, and those of a thumbnail's.
	h.scans = bytes.Count(data, []byte{0xff, mSOS})
	return h
}

// pngHeader reads the chunks up to the picture: eXIf may stand after it, too, so all are walked.
// source: W3C PNG specification, third edition, section 5.3
func pngHeader(data []byte) header {
	var h header
	for at := len(startPNG); at+12 <= len(data); {
		n := uint64(binary.BigEndian.Uint32(data[at:]))
		if uint64(at)+12+n > uint64(len(data)) {
			break
		}
		switch string(data[at+4 : at+8]) {
		case "eXIf":
			h.turn = tiffOrientation(data[at+8 : at+8+int(n)])
		case "acTL":
			h.moves = true
		case "IEND":
			return h
		}
		at += 12 + int(n)
	}
	return h
}

// webpHeader reads the chunks of a WebP file.
// source: RFC 9649, section 2.7
func webpHeader(data []byte) header {
	var h header
	for at := 12; at+8 <= len(data); {
		n := uint64(binary.LittleEndian.Uint32(data[at+4:]))
		if uint64(at)+8+n > uint64(len(data)) {
			break
		}
		body := data[at+8 : at+8+int(n)]
		switch string(data[at : at+4]) {
		case "VP8X":
			h.moves = h.moves || len(body) > 0 && body[0]&0x02 != 0
		case "ANIM", "ANMF":
			h.moves = true
		case "EXIF":
			h.turn = tiffOrientation(bytes.TrimPrefix(body, []byte(exifStart)))
		}
		at += 8 + int(n) + int(n&1)
	}
	return h
}

// bare reports whether data is a JPEG as this package writes it: a plain picture no larger than is kept, nothing
// but tables before it and nothing behind it.
func bare(data []byte) bool {
	if !bytes.HasPrefix(data, startJPEG) || len(data) > MaxBytes || bytes.Count(data, []byte{0xff, mSOS}) != 1 {
		return false
	}
	size := false
	at := segments(data, func(m byte, body []byte) bool {
		switch m {
		case mDQT, mDHT, mSOS:
			return true
		case mSOF0:
			size = len(body) >= 5 && binary.BigEndian.Uint16(body[1:]) <= Full && binary.BigEndian.Uint16(body[3:]) <= Full
			return size
		}
		return false
	})
	if at < 0 || !size {
		return false
	}
	end := bytes.Index(data[at:], []byte{0xff, mEOI})
	return end >= 0 && at+end+2 == len(data)
}
