// Package photo makes a picture from a stranger's phone fit to keep: what it is is found by decoding it, its size
// is read before anything is decoded, it is turned upright and scaled down, and it is written anew, so that
// nothing that came with it (where and when it was taken, by which device, whatever hides behind its end) stays.
//
// A picture is kept as baseline JPEG, whatever it came as. Colours are taken as sRGB; a colour profile that came
// with a picture is left out, so one in wider colours reads a little paler.
package photo

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/draw"
	"golang.org/x/image/webp"

	"fairset/unit"
)

// What is taken and what is kept.
const (
	MaxBytes  = 20 << 20   // of one picture as it comes
	MaxPixels = 50_000_000 // of one picture as it comes; a phone's largest are about that
	Full      = 2048       // longest side of a kept picture, in pixels
	Thumb     = 320        // longest side of its thumbnail, in pixels

	// maxMemory bounds what decoding may take, in bytes; a picture of many bytes a pixel must have fewer pixels.
	maxMemory = 320 << 20
	// maxScans bounds the passes of a progressive JPEG: each costs a walk over the whole picture, however few bytes
	// it has. Encoders make about ten.
	maxScans = 100
	quality  = 85  // of JPEG, 1 to 100
	strip    = 128 // rows or columns scaled at a time
)

// Picture is a photo as it is kept.
type Picture struct {
	Full, Thumb   []byte // JPEG, without any metadata
	Width, Height int    // of Full, in pixels
}

// Error is a picture that cannot be taken. Its text is for the person who sent it.
type Error struct {
	Say   unit.Phrase
	Cause error
}

func (e *Error) Error() string { return e.In(unit.Millimetre) }

// In writes the error for the person who sent the picture.
func (e *Error) In(s unit.Style) string { return e.Say.In(s) }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

func refuse(cause error, say unit.Text, args ...any) *Error {
	return &Error{unit.Say(say, args...), cause}
}

// one lets one picture at a time be decoded, so that many sent together take no more memory than one.
var one = make(chan struct{}, 1)

// Read checks a picture and makes it fit to keep. It takes JPEG, PNG and WebP that do not move, at most MaxBytes
// and MaxPixels. Every error is an *Error.
func Read(data []byte) (Picture, error) {
	one <- struct{}{}
	defer func() { <-one }()
	img, turn, err := decode(data)
	if err != nil {
		return Picture{}, err
	}
	full := turned(scaled(img, Full), turn)
	p := Picture{Width: full.Bounds().Dx(), Height: full.Bounds().Dy()}
	if p.Full, err = encode(full); err != nil {
		return Picture{}, err
	}
	p.Thumb, err = encode(scaled(full, Thumb))
	return p, err
}

// Again is Read of a picture that may have been kept before: one of ours comes back byte for byte, so that
// saving and taking in again loses nothing; any other is read as a stranger's.
func Again(data []byte) (Picture, error) {
	if !bare(data) {
		return Read(data)
	}
	one <- struct{}{}
	defer func() { <-one }()
	img, _, err := decode(data)
	if err != nil {
		return Picture{}, err
	}
	thumb, err := encode(scaled(img, Thumb))
	return Picture{Full: data, Thumb: thumb, Width: img.Bounds().Dx(), Height: img.Bounds().Dy()}, err
}

// The formats by their first bytes.
// sources: ITU-T T.81, annex B (JPEG); W3C PNG specification, section 5.2; RFC 9649, section 2.3 (WebP)
var (
	startJPEG = []byte{0xff, 0xd8, 0xff}
	startPNG  = []byte("\x89PNG\r\n\x1a\n")
)

func isWebP(data []byte) bool {
	return len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP"
}

// decode reads a picture, bounded by what its header says, and how it must be turned.
func decode(data []byte) (image.Image, orientation, error) {
	switch {
	case len(data) == 0:
		return nil, 0, refuse(nil, "The file is empty.")
	case len(data) > MaxBytes:
		return nil, 0, refuse(nil, "The picture is larger than %d MB. Send a smaller copy: most phones can save one, or cut it down.", MaxBytes>>20)
	}
	var (
		read   func(*bytes.Reader) (image.Image, error)
		conf   image.Config
		err    error
		facts  header
		format string
	)
	switch {
	case bytes.HasPrefix(data, startJPEG):
		format, facts = "JPEG", jpegHeader(data)
		conf, err = jpeg.DecodeConfig(bytes.NewReader(data))
		read = func(r *bytes.Reader) (image.Image, error) { return jpeg.Decode(r) }
	case bytes.HasPrefix(data, startPNG):
		format, facts = "PNG", pngHeader(data)
		conf, err = png.DecodeConfig(bytes.NewReader(data))
		read = func(r *bytes.Reader) (image.Image, error) { return png.Decode(r) }
	case isWebP(data):
		format, facts = "WebP", webpHeader(data)
		conf, err = webp.DecodeConfig(bytes.NewReader(data))
		read = func(r *bytes.Reader) (image.Image, error) { return webp.Decode(r) }
	case len(data) >= 12 && string(data[4:8]) == "ftyp":
		return nil, 0, refuse(nil, "This is a HEIC or AVIF picture, or a film, which cannot be read here. Set the phone's camera to the most compatible format, or save the picture as JPEG.")
	default:
		return nil, 0, refuse(nil, "This is no JPEG, PNG or WebP picture. Take a photo, or choose a file of one of these.")
	}
	switch {
	case facts.moves:
		return nil, 0, refuse(nil, "The picture moves. Send a still one.")
	case err != nil:
		return nil, 0, broken(format, err)
	case conf.Width < 1 || conf.Height < 1:
		return nil, 0, refuse(nil, "The picture has no size.")
	case int64(conf.Width)*int64(conf.Height) > MaxPixels:
		return nil, 0, refuse(nil, "The picture is %d by %d pixels, more than %d million together. Send a smaller copy.", conf.Width, conf.Height, MaxPixels/1_000_000)
	case int64(conf.Width)*int64(conf.Height)*perPixel(conf.ColorModel, facts) > maxMemory:
		return nil, 0, refuse(nil, "The picture is %d by %d pixels, too many of this kind to open here. Send a smaller copy, or save it as a plain JPEG.", conf.Width, conf.Height)
	case facts.scans > maxScans:
		return nil, 0, refuse(nil, "The picture is made up of %d layers, more than %d. Save it as a plain JPEG.", facts.scans, maxScans)
	}
	img, err := read(bytes.NewReader(data))
	if err != nil {
		return nil, 0, broken(format, err)
	}
	if b := img.Bounds(); b.Dx() != conf.Width || b.Dy() != conf.Height {
		return nil, 0, broken(format, errors.New("another size than its header says"))
	}
	return img, facts.turn, nil
}

func broken(format string, err error) *Error {
	return refuse(err, "The %s picture is broken off or damaged and cannot be read. Send it again, or take another.", format)
}

// perPixel is how many bytes decoding takes for each pixel, at most.
func perPixel(m color.Model, h header) int64 {
	n := int64(4)
	switch m {
	case color.NRGBA64Model, color.RGBA64Model:
		n = 8
	case color.YCbCrModel, color.GrayModel:
		n = 3
	}
	if h.progressive {
		n += 16 // a coefficient of four bytes for each of up to four components
	}
	return n
}

// Scaled returns the size of a picture scaled down to a longest side, all in pixels.
func Scaled(w, h, side int) (int, int) {
	if long := max(w, h); long > side {
		return max(1, (w*side+long/2)/long), max(1, (h*side+long/2)/long)
	}
	return w, h
}

// scaled returns a picture with its longest side at most side, on white where it was see-through.
func scaled(img image.Image, side int) *image.RGBA {
	b := img.Bounds()
	w, h := Scaled(b.Dx(), b.Dy(), side)
	// First across and then down, a strip at a time: the scaler's own working memory is many times its picture's.
	mid := image.NewRGBA(image.Rect(0, 0, w, b.Dy()))
	draw.Draw(mid, mid.Rect, image.White, image.Point{}, draw.Src)
	if w == b.Dx() && h == b.Dy() {
		draw.Draw(mid, mid.Rect, img, b.Min, draw.Over)
		return mid
	}
	for y := 0; y < b.Dy(); y += strip {
		end := min(y+strip, b.Dy())
		draw.CatmullRom.Scale(mid, image.Rect(0, y, w, end), img, image.Rect(b.Min.X, b.Min.Y+y, b.Max.X, b.Min.Y+end), draw.Over, nil)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for x := 0; x < w; x += strip {
		end := min(x+strip, w)
		draw.CatmullRom.Scale(out, image.Rect(x, 0, end, h), mid, image.Rect(x, 0, end, b.Dy()), draw.Src, nil)
	}
	return out
}

// turned returns a picture upright.
func turned(img *image.RGBA, o orientation) *image.RGBA {
	if o <= 1 || o > 8 {
		return img
	}
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if o >= 5 {
		out = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			tx, ty := o.to(x, y, w, h)
			copy(out.Pix[out.PixOffset(tx, ty):][:4], img.Pix[img.PixOffset(x, y):][:4])
		}
	}
	return out
}

// encode writes a picture as JPEG. Nothing but the picture is in it: the encoder writes no metadata.
func encode(img image.Image) ([]byte, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, refuse(err, "The picture could not be written.")
	}
	return b.Bytes(), nil
}
