package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// corners is a picture whose four quarters have a colour each: red and green above, blue and white below.
func corners(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Set(x, y, map[[2]bool]color.RGBA{{false, false}: {255, 0, 0, 255}, {true, false}: {0, 255, 0, 255}, {false, true}: {0, 0, 255, 255}, {true, true}: {255, 255, 255, 255}}[[2]bool{x >= w/2, y >= h/2}])
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asPNG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exif writes Exif data with an orientation and a place on the earth, in either byte order.
// source: TIFF 6.0, section 2; CIPA DC-008 (Exif), section 4.6.6 for the GPS tags
func exif(order binary.AppendByteOrder, turn uint16) []byte {
	head := "II*\x00"
	if order.AppendUint16(nil, 1)[1] == 1 {
		head = "MM\x00*"
	}
	b := order.AppendUint32([]byte(head), 8)
	entry := func(tag, kind uint16, n uint32, value ...byte) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, n)
		b = append(b, append(value, 0, 0, 0, 0)[:4]...)
	}
	b = order.AppendUint16(b, 3)
	entry(0x010f, 2, 4, 'C', 'A', 'M', 0)
	entry(0x0112, 3, 1, order.AppendUint16(nil, turn)...)
	gps := uint32(8 + 2 + 3*12 + 4)
	entry(0x8825, 4, 1, order.AppendUint32(nil, gps)...)
	b = order.AppendUint32(b, 0)
	b = order.AppendUint16(b, 2)
	entry(0x0001, 2, 2, 'N', 0)
	entry(0x0002, 5, 3, order.AppendUint32(nil, gps+2+2*12+4)...)
	b = order.AppendUint32(b, 0)
	for _, n := range []uint32{51, 1, 28, 1, 40, 1} { // degrees, minutes, seconds, each a fraction
		b = order.AppendUint32(b, n)
	}
	return append(b, "GPS-HERE"...)
}

// segment is a JPEG segment; with puts segments behind the start of a JPEG.
func segment(marker byte, body []byte) []byte {
	return append(binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(body)+2)), body...)
}

func with(data []byte, segments ...[]byte) []byte {
	return bytes.Join(append(append([][]byte{data[:2]}, segments...), data[2:]), nil)
}

// chunk is a PNG chunk; pngWith puts chunks behind the header of a PNG.
func chunk(kind string, body []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	b = append(append(b, kind...), body...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

func pngWith(data []byte, chunks ...[]byte) []byte {
	return bytes.Join(append(append([][]byte{data[:33]}, chunks...), data[33:]), nil)
}

// webpOf makes a WebP file of chunks, riffChunk one chunk.
func webpOf(chunks ...[]byte) []byte {
	body := []byte("WEBP")
	for _, c := range chunks {
		body = append(body, c...)
	}
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}

func riffChunk(kind string, body []byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte(kind), uint32(len(body)))
	b = append(b, body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// lossless is a WebP picture of one colour, w by h: every prefix code has one symbol, so no pixel takes a bit.
// source: RFC 9649, sections 3.4 and 3.7.2.1.1
func lossless(w, h int, c color.RGBA) []byte {
	var bits []bool
	put := func(v uint32, n int) {
		for i := range n {
			bits = append(bits, v>>i&1 == 1)
		}
	}
	put(0x2f, 8)
	put(uint32(w-1), 14)
	put(uint32(h-1), 14)
	put(0, 1) // no alpha
	put(0, 3) // version
	put(0, 1) // no transform
	put(0, 1) // no colour cache
	put(0, 1) // one set of codes
	one := func(symbol uint32) {
		put(1, 1) // simple code
		put(0, 1) // one symbol
		put(1, 1) // of eight bits
		put(symbol, 8)
	}
	one(uint32(c.G))
	one(uint32(c.R))
	one(uint32(c.B))
	one(255)
	one(0) // distances
	out := make([]byte, (len(bits)+7)/8)
	for i, b := range bits {
		if b {
			out[i/8] |= 1 << (i % 8)
		}
	}
	return riffChunk("VP8L", out)
}

func near(a color.Color, want color.RGBA) bool {
	r, g, b, _ := a.RGBA()
	off := func(x uint32, y uint8) bool { d := int(x>>8) - int(y); return d < -40 || d > 40 }
	return !off(r, want.R) && !off(g, want.G) && !off(b, want.B)
}

var (
	red   = color.RGBA{255, 0, 0, 255}
	green = color.RGBA{0, 255, 0, 255}
	blue  = color.RGBA{0, 0, 255, 255}
	white = color.RGBA{255, 255, 255, 255}
)

// wantCorners fails unless the four quarters have these colours, top left first, row by row.
func wantCorners(t *testing.T, data []byte, want [4]color.RGBA) {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	for i, c := range want {
		x, y := b.Dx()/4+i%2*b.Dx()/2, b.Dy()/4+i/2*b.Dy()/2
		if !near(img.At(x, y), c) {
			t.Errorf("quarter %d is %v, want %v", i, img.At(x, y), c)
		}
	}
}

// Each orientation, by where the stored first row and column stand: CIPA DC-008 (Exif), tag 0x0112.
func TestUpright(t *testing.T) {
	stored := [4]color.RGBA{red, green, blue, white} // top left, top right, bottom left, bottom right
	for turn, want := range map[uint16][4]color.RGBA{
		0: stored, 9: stored, // not among those defined: left as it is
		1: stored,
		2: {green, red, white, blue},
		3: {white, blue, green, red},
		4: {blue, white, red, green},
		5: {red, blue, green, white}, // row 0 at the left, column 0 at the top
		6: {blue, red, white, green}, // row 0 at the right, column 0 at the top
		7: {white, green, blue, red}, // row 0 at the right, column 0 at the bottom
		8: {green, white, red, blue}, // row 0 at the left, column 0 at the bottom
	} {
		for name, data := range map[string][]byte{
			"JPEG, little-endian": with(asJPEG(t, corners(640, 320)), segment(mAPP1, append([]byte(exifStart), exif(binary.LittleEndian, turn)...))),
			"JPEG, big-endian":    with(asJPEG(t, corners(640, 320)), segment(mAPP1, append([]byte(exifStart), exif(binary.BigEndian, turn)...))),
			"PNG":                 pngWith(asPNG(t, corners(640, 320)), chunk("eXIf", exif(binary.BigEndian, turn))),
		} {
			p, err := Read(data)
			if err != nil {
				t.Fatalf("%s, %d: %v", name, turn, err)
			}
			w, h := 640, 320
			if turn >= 5 && turn <= 8 {
				w, h = h, w
			}
			if p.Width != w || p.Height != h {
				t.Errorf("%s, %d: %d by %d, want %d by %d", name, turn, p.Width, p.Height, w, h)
			}
			wantCorners(t, p.Full, want)
			wantCorners(t, p.Thumb, want)
		}
	}
}

// What came with a picture is gone from what is kept: its place, its device, comments, what hides behind its end.
func TestNothingElseStays(t *testing.T) {
	icc := append([]byte("ICC_PROFILE\x00\x01\x01"), "GPS-HERE in a profile"...)
	xmp := []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta exif:GPSLatitude=\"51,28.7N\"/>")
	raw := asJPEG(t, corners(400, 300))
	jpg := with(raw, segment(mAPP1, append([]byte(exifStart), exif(binary.LittleEndian, 6)...)), segment(mAPP1, xmp), segment(0xe2, icc), segment(0xfe, []byte("GPS-HERE in a comment")))
	jpg = append(jpg, "PK\x03\x04 GPS-HERE behind the end"...)
	pic := pngWith(asPNG(t, corners(400, 300)), chunk("eXIf", exif(binary.BigEndian, 6)), chunk("tEXt", []byte("Comment\x00GPS-HERE")), chunk("iTXt", []byte("XML:com.adobe.xmp\x00\x00\x00\x00\x00GPSLatitude")))
	pic = append(pic, "GPS-HERE"...)
	web := webpOf(riffChunk("VP8X", []byte{0x0c, 0, 0, 0, 63, 0, 0, 31, 0, 0}), lossless(64, 32, red), riffChunk("EXIF", exif(binary.LittleEndian, 6)), riffChunk("XMP ", xmp))
	for name, data := range map[string][]byte{"JPEG": jpg, "PNG": pic, "WebP": web} {
		if !bytes.Contains(data, []byte("GPS")) {
			t.Fatalf("%s: this test sends no place", name)
		}
		p, err := Read(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for what, kept := range map[string][]byte{"picture": p.Full, "thumbnail": p.Thumb} {
			for _, never := range []string{"GPS", "Exif", "ICC_PROFILE", "xmp", "CAM", "PK\x03\x04"} {
				if bytes.Contains(kept, []byte(never)) {
					t.Errorf("%s: the %s still says %q", name, what, never)
				}
			}
			if !bare(kept) {
				t.Errorf("%s: the %s is more than a picture", name, what)
			}
		}
		if p.Width > p.Height {
			t.Errorf("%s: not turned upright: %d by %d", name, p.Width, p.Height)
		}
	}
}

func TestSizes(t *testing.T) {
	for _, c := range []struct{ w, h, fullW, fullH, thumbW, thumbH int }{
		{4096, 3072, 2048, 1536, 320, 240},
		{3000, 1, 2048, 1, 320, 1},
		{100, 80, 100, 80, 100, 80},
		{1, 1, 1, 1, 1, 1},
	} {
		p, err := Read(asJPEG(t, image.NewGray(image.Rect(0, 0, c.w, c.h))))
		if err != nil {
			t.Fatal(err)
		}
		thumb, err := jpeg.DecodeConfig(bytes.NewReader(p.Thumb))
		if err != nil {
			t.Fatal(err)
		}
		if p.Width != c.fullW || p.Height != c.fullH || thumb.Width != c.thumbW || thumb.Height != c.thumbH {
			t.Errorf("%d by %d came to %d by %d and %d by %d, want %+v", c.w, c.h, p.Width, p.Height, thumb.Width, thumb.Height, c)
		}
	}
}

// cmyk is a JPEG of four inks, each all over or nowhere: quantisation by 1, a block's constant part only. As most
// programs do, it carries Adobe's marker and stores 255 for no ink.
// sources: ITU-T T.81, annexes B and F; Adobe technical note 5116, section 18 (the APP14 marker)
func cmyk(c, m, y, k bool) []byte {
	seg := func(marker byte, body ...byte) []byte { return segment(marker, body) }
	quant := append([]byte{0}, bytes.Repeat([]byte{1}, 64)...)
	// One table for the constant part: category 11 by code 0, category 10 by code 10. One for the rest: end of block by 0.
	dc := append([]byte{0x00, 1, 1}, append(make([]byte, 14), 11, 10)...)
	ac := append([]byte{0x10, 1}, append(make([]byte, 15), 0)...)
	out := []byte{0xff, 0xd8}
	out = append(out, seg(0xee, append([]byte("Adobe"), 0, 100, 0, 0, 0, 0, 0)...)...)
	out = append(out, seg(mDQT, quant...)...)
	out = append(out, seg(mSOF0, 8, 0, 8, 0, 8, 4, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0)...)
	out = append(out, seg(mDHT, dc...)...)
	out = append(out, seg(mDHT, ac...)...)
	out = append(out, seg(mSOS, 4, 1, 0, 2, 0, 3, 0, 4, 0, 0, 63, 0)...)
	var bits []bool
	put := func(v uint32, n int) {
		for i := n - 1; i >= 0; i-- {
			bits = append(bits, v>>i&1 == 1)
		}
	}
	for _, ink := range []bool{c, m, y, k} {
		// The constant part is eight times the level's distance from the middle, 128.
		if ink { // -1024, of category 11
			put(0, 1)
			put(2047-1024, 11)
		} else { // 1016, of category 10
			put(2, 2)
			put(1016, 10)
		}
		put(0, 1)
	}
	for len(bits)%8 != 0 {
		bits = append(bits, true)
	}
	for i := 0; i < len(bits); i += 8 {
		b := byte(0)
		for j := range 8 {
			b <<= 1
			if bits[i+j] {
				b |= 1
			}
		}
		if out = append(out, b); b == 0xff {
			out = append(out, 0)
		}
	}
	return append(out, 0xff, mEOI)
}

func TestUnusualPictures(t *testing.T) {
	deep := image.NewNRGBA64(image.Rect(0, 0, 40, 20))
	clear := image.NewNRGBA(image.Rect(0, 0, 40, 20)) // see-through all over
	palette := image.NewPaletted(image.Rect(0, 0, 40, 20), color.Palette{red, blue})
	for y := range 20 {
		for x := range 40 {
			deep.SetNRGBA64(x, y, color.NRGBA64{0xffff, 0, 0, 0xffff})
		}
	}
	for name, c := range map[string]struct {
		data []byte
		want color.RGBA
	}{
		"a 16-bit PNG":                  {asPNG(t, deep), red},
		"a see-through PNG":             {asPNG(t, clear), white},
		"a PNG with a palette":          {asPNG(t, palette), red},
		"a lossless WebP":               {webpOf(lossless(40, 20, blue)), blue},
		"a JPEG of four inks, no ink":   {cmyk(false, false, false, false), white},
		"a JPEG of four inks, two":      {cmyk(false, true, true, false), red}, // magenta and yellow
		"a JPEG with a file behind it":  {append(asJPEG(t, palette), "PK\x03\x04 and a zip"...), red},
		"a JPEG whose Exif is nonsense": {with(asJPEG(t, palette), segment(mAPP1, []byte(exifStart+"II*\x00\xff\xff\xff\xff"))), red},
	} {
		p, err := Read(c.data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		img, err := jpeg.Decode(bytes.NewReader(p.Full))
		if err != nil {
			t.Fatal(err)
		}
		if got := img.At(p.Width/2, p.Height/2); !near(got, c.want) {
			t.Errorf("%s: is %v, want %v", name, got, c.want)
		}
	}
}

// huge is a PNG that says it is very large and has next to no data.
func huge(w, h uint32) []byte {
	ihdr := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	return bytes.Join([][]byte{startPNG, chunk("IHDR", append(ihdr, 8, 6, 0, 0, 0)), chunk("IDAT", []byte{0x78, 0x9c, 3, 0, 0, 0, 0, 1}), chunk("IEND", nil)}, nil)
}

func TestRefused(t *testing.T) {
	jpg, pic := asJPEG(t, corners(200, 100)), asPNG(t, corners(200, 100))
	sized := func(w, h uint16) []byte { // a JPEG whose header says another size
		out := bytes.Clone(jpg)
		at := bytes.Index(out, []byte{0xff, mSOF0})
		binary.BigEndian.PutUint16(out[at+5:], h)
		binary.BigEndian.PutUint16(out[at+7:], w)
		return out
	}
	var film bytes.Buffer
	frame := image.NewPaletted(image.Rect(0, 0, 4, 4), color.Palette{red, blue})
	if err := gif.EncodeAll(&film, &gif.GIF{Image: []*image.Paletted{frame, frame}, Delay: []int{1, 1}}); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"nothing":                          {nil, "empty"},
		"a text":                           {[]byte("dear diary"), "no JPEG, PNG or WebP"},
		"a page called a picture":          {[]byte("<html><script>alert(1)</script>"), "no JPEG, PNG or WebP"},
		"a drawing with script":            {[]byte(`<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>`), "no JPEG, PNG or WebP"},
		"a zip":                            {[]byte("PK\x03\x04rest"), "no JPEG, PNG or WebP"},
		"a moving GIF":                     {film.Bytes(), "no JPEG, PNG or WebP"},
		"a HEIC picture":                   {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), "HEIC"},
		"a JPEG cut in half":               {jpg[:len(jpg)/2], "damaged"},
		"a JPEG's first bytes":             {jpg[:3], "damaged"},
		"a PNG cut in half":                {pic[:len(pic)/2], "damaged"},
		"a PNG with a wrong sum":           {append(bytes.Clone(pic[:40]), append([]byte{pic[40] ^ 1}, pic[41:]...)...), "damaged"},
		"a WebP cut short":                 {webpOf(lossless(40, 20, red))[:30], "damaged"},
		"a WebP of nothing":                {webpOf(), "damaged"},
		"a WebP that says two sizes":       {webpOf(riffChunk("VP8X", []byte{0, 0, 0, 0, 9, 0, 0, 9, 0, 0}), lossless(16383, 3000, red)), "damaged"},
		"a WebP that moves":                {webpOf(riffChunk("VP8X", []byte{2, 0, 0, 0, 9, 0, 0, 9, 0, 0}), riffChunk("ANIM", make([]byte, 6))), "moves"},
		"a PNG that moves":                 {pngWith(pic, chunk("acTL", make([]byte, 8))), "moves"},
		"a PNG of 30000 by 30000":          {huge(30000, 30000), "30000 by 30000"},
		"a PNG of 2^31 by 2^31":            {huge(1<<31-1, 1<<31-1), "damaged"},
		"a JPEG of 30000 by 30000":         {sized(30000, 30000), "30000 by 30000"},
		"a JPEG of 65535 by 65535":         {sized(65535, 65535), "65535 by 65535"},
		"a WebP of 16384 by 16384":         {webpOf(lossless(16384, 16384, red)), "16384 by 16384"},
		"more bytes than are taken":        {append(bytes.Clone(jpg), make([]byte, MaxBytes)...), "larger than 20 MB"},
		"a JPEG of more scans than layers": {append(bytes.Clone(jpg), bytes.Repeat([]byte{0xff, mSOS}, maxScans+1)...), "layers"},
	} {
		_, err := Read(c.data)
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Error(), c.says) {
			t.Errorf("%s: got %v, want it to say %q", name, err, c.says)
		}
	}
}

// A picture within the pixels that would take too much memory all the same.
func TestMemoryIsBounded(t *testing.T) {
	deep := huge(7000, 7000)
	deep[24] = 16 // bits a channel
	binary.BigEndian.PutUint32(deep[29:], crc32.ChecksumIEEE(deep[12:29]))
	if _, err := Read(deep); err == nil || !strings.Contains(err.Error(), "too many of this kind") {
		t.Errorf("49 million pixels of 8 bytes: %v", err)
	}
}

func TestAgainKeepsOurOwn(t *testing.T) {
	p, err := Read(asJPEG(t, corners(2500, 1300)))
	if err != nil {
		t.Fatal(err)
	}
	again, err := Again(p.Full)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(again.Full, p.Full) || again.Width != p.Width || again.Height != p.Height || len(again.Thumb) == 0 {
		t.Error("a picture of ours did not come back as it was")
	}
	for name, data := range map[string][]byte{
		"something behind its end": append(bytes.Clone(p.Full), "GPS-HERE"...),
		"a comment":                with(p.Full, segment(0xfe, []byte("GPS-HERE"))),
		"Exif":                     with(p.Full, segment(mAPP1, append([]byte(exifStart), exif(binary.BigEndian, 1)...))),
		"another end behind it":    append(bytes.Clone(p.Full), "GPS\xff\xd9"...),
	} {
		got, err := Again(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if bytes.Contains(got.Full, []byte("GPS")) || !bare(got.Full) {
			t.Errorf("%s: was kept", name)
		}
	}
}

// Whatever the size and the turn, a kept picture is within its bounds and in the shape it came in.
func TestShapeStays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 900).Draw(t, "w"), rapid.IntRange(1, 900).Draw(t, "h")
		side := rapid.IntRange(1, 400).Draw(t, "side")
		turn := orientation(rapid.IntRange(0, 9).Draw(t, "turn"))
		b := turned(scaled(image.NewGray(image.Rect(0, 0, w, h)), side), turn).Bounds()
		if turn >= 5 && turn <= 8 {
			w, h = h, w
		}
		if b.Dx() > max(side, 1) || b.Dy() > max(side, 1) || b.Dx() < 1 || b.Dy() < 1 {
			t.Fatalf("%d by %d came to %v within %d", w, h, b, side)
		}
		// The shape is kept to the pixel that rounding costs.
		if d := float64(b.Dx())*float64(h) - float64(b.Dy())*float64(w); d > float64(w+h) || -d > float64(w+h) {
			t.Fatalf("%d by %d came to %v", w, h, b)
		}
	})
}

func FuzzOrientation(f *testing.F) {
	for turn := range uint16(10) {
		f.Add(exif(binary.LittleEndian, turn))
		f.Add(exif(binary.BigEndian, turn))
	}
	f.Add([]byte("II*\x00\x08\x00\x00\x00\xff\xff"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if o := tiffOrientation(data); o < 0 || o > 8 {
			t.Fatalf("orientation %d", o)
		}
	})
}

// Whatever is sent, the answer is a picture that can be read, with nothing else in it, or a sentence.
func FuzzRead(f *testing.F) {
	small := corners(16, 8)
	f.Add(asJPEG(f, small))
	f.Add(with(asJPEG(f, small), segment(mAPP1, append([]byte(exifStart), exif(binary.LittleEndian, 6)...))))
	f.Add(asPNG(f, small))
	f.Add(pngWith(asPNG(f, small), chunk("eXIf", exif(binary.BigEndian, 8))))
	f.Add(webpOf(lossless(16, 8, red)))
	f.Add(webpOf(riffChunk("VP8X", []byte{8, 0, 0, 0, 15, 0, 0, 7, 0, 0}), lossless(16, 8, red), riffChunk("EXIF", exif(binary.LittleEndian, 3))))
	f.Add(cmyk(false, true, true, false))
	f.Add(huge(30000, 30000))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Again(data)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Say.Empty() {
				t.Fatalf("error %v", err)
			}
			return
		}
		c, err := jpeg.DecodeConfig(bytes.NewReader(p.Full))
		if err != nil || c.Width != p.Width || c.Height != p.Height || c.Width > Full || c.Height > Full {
			t.Fatalf("kept %d by %d, reads %+v, %v", p.Width, p.Height, c, err)
		}
		if !bare(p.Full) || !bare(p.Thumb) {
			t.Fatal("more than a picture was kept")
		}
	})
}

func BenchmarkRead(b *testing.B) {
	data := asJPEG(b, corners(4000, 3000))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Read(data); err != nil {
			b.Fatal(err)
		}
	}
}
