package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/gif"
	"image/jpeg"
	"image/png"
	"io"

	"golang.org/x/image/webp"

	"weftroom/calc"
)

// The bounds of a picture that a person sends, all our own. A decoder takes the
// memory that the first bytes of a file ask for, so these are held before it is called.
const (
	MaxSentBytes    = 20_000_000  // of the file
	MaxSentPixels   = 25_000_000  // width × height
	MaxDecodedBytes = 100_000_000 // what the decoder sets aside: 1 to 20 for each pixel, by the file's kind

	// TonesLong is the most of a picture's longer side that is kept.
	TonesLong = 512

	// MinContrast is how far the dark part and the light part of a picture must lie
	// apart, of 255 (common practice, no source): below, it is noise on one shade.
	MinContrast = 16
)

// Sentences about pictures that are sent. Numbers in Args are ints; megabytes are
// rounded up.
const (
	// KeyTonesFile: the megabytes of the file, the most.
	KeyTonesFile calc.Key = "tones.file"
	// KeyTonesKind has no Args: the file is none of the kinds that are read.
	KeyTonesKind calc.Key = "tones.kind"
	// KeyTonesBroken: the kind of the file, as text: it is damaged or cut short.
	KeyTonesBroken calc.Key = "tones.broken"
	// KeyTonesMoving: the kind of the file, as text: it has several pictures.
	KeyTonesMoving calc.Key = "tones.moving"
	// KeyTonesPixels: the width, the height, the most pixels in millions.
	KeyTonesPixels calc.Key = "tones.pixels"
	// KeyTonesMemory: the width, the height, the megabytes that it takes to open, the most.
	KeyTonesMemory calc.Key = "tones.memory"
	// KeyTonesFlat has no Args: the picture is all of one shade.
	KeyTonesFlat calc.Key = "tones.flat"
)

// TonesKeys lists every key of a Fault of ReadTones.
var TonesKeys = []calc.Key{
	KeyTonesFile, KeyTonesKind, KeyTonesBroken, KeyTonesMoving, KeyTonesPixels, KeyTonesMemory, KeyTonesFlat,
}

// Tones is a picture as light and dark, small enough to keep.
type Tones struct {
	Width, Height int     // pixels, the longer at most TonesLong
	Light         []uint8 // Width × Height, from the top left, row by row: 0 is black, 255 white
}

// ReadTones reads a picture that a person has sent: PNG, JPEG, GIF or WebP, of
// 8 or 16 bits, grey, in colour, by a palette or CMYK. What is clear becomes white;
// a JPEG is turned as its Exif data say, since a phone leaves a picture as its
// sensor lay. No other orientation, and no colour profile, is read.
//
// Light is the luma of ITU-R BT.709-6, item 3.2: 0.2126 R + 0.7152 G + 0.0722 B of
// the values as they are coded, which the eye sees in about even steps. (The decoder of
// WebP takes the shades of a file with losses, 16 to 235, as they stand, so such a
// picture is a little pale; Fit stretches it again.) The picture is made smaller by
// averaging areas, and never larger.
//
// Nothing is decoded that would go over the bounds above. The error is a
// *calc.Fault about the argument picture, whatever the file is; none is a panic.
func ReadTones(file []byte) (Tones, error) {
	if len(file) > MaxSentBytes {
		return Tones{}, tonesFault(calc.OutOfRange, KeyTonesFile, megabytes(len(file)), megabytes(MaxSentBytes))
	}
	kind := kindOf(file)
	if kind == nil {
		return Tones{}, tonesFault(calc.BadValue, KeyTonesKind)
	}
	f, err := kind.look(file)
	if err != nil {
		return Tones{}, tonesFault(calc.BadValue, KeyTonesBroken, kind.name)
	}
	if fault := f.check(kind.name); fault != nil {
		return Tones{}, fault
	}
	m, err := kind.open(file)
	if err != nil {
		return Tones{}, tonesFault(calc.BadValue, KeyTonesBroken, kind.name)
	}
	t := lightOf(m, f.width, f.height).turned(f.turn)
	if _, _, apart := t.split(); apart < MinContrast {
		return Tones{}, tonesFault(calc.BadValue, KeyTonesFlat)
	}
	return t, nil
}

// facts are what the beginning of a file says of its picture.
type facts struct {
	width, height int
	memory        int64 // bytes that its decoder sets aside
	moving        bool  // it has several pictures
	turn          int   // Exif orientation, 1 to 8; 0 is unsaid
}

func (f facts) check(kind string) *calc.Fault {
	switch {
	case f.width < 1 || f.height < 1:
		return tonesFault(calc.BadValue, KeyTonesBroken, kind)
	case int64(f.width)*int64(f.height) > MaxSentPixels:
		return tonesFault(calc.OutOfRange, KeyTonesPixels, f.width, f.height, MaxSentPixels/1_000_000)
	case f.memory > MaxDecodedBytes:
		return tonesFault(calc.OutOfRange, KeyTonesMemory, f.width, f.height, megabytes(f.memory), megabytes(MaxDecodedBytes))
	case f.moving:
		return tonesFault(calc.BadValue, KeyTonesMoving, kind)
	}
	return nil
}

// A pictureKind is a format: the bytes that its files begin with (a ? is any), its
// reader of facts, and its decoder.
type pictureKind struct {
	name, magic string
	facts       func(file []byte) (facts, error)
	config      func(io.Reader) (image.Config, error)
	decode      func(io.Reader) (image.Image, error)
}

var pictureKinds = []pictureKind{
	{"PNG", "\x89PNG\r\n\x1a\n", pngFacts, png.DecodeConfig, png.Decode},
	{"JPEG", "\xff\xd8\xff", jpegFacts, jpeg.DecodeConfig, jpeg.Decode},
	{"GIF", "GIF8?a", gifFacts, gif.DecodeConfig, gif.Decode},
	{"WebP", "RIFF????WEBP", webpFacts, webp.DecodeConfig, webp.Decode},
}

func kindOf(file []byte) *pictureKind {
	for i, k := range pictureKinds {
		if begins(file, k.magic) {
			return &pictureKinds[i]
		}
	}
	return nil
}

func begins(file []byte, magic string) bool {
	if len(file) < len(magic) {
		return false
	}
	for i := range len(magic) {
		if magic[i] != '?' && magic[i] != file[i] {
			return false
		}
	}
	return true
}

// look reads the facts of a file, by the decoder and by ourselves: where the two do
// not read the same size, the bounds would be held of another picture than is decoded.
func (k *pictureKind) look(file []byte) (f facts, err error) {
	defer recovered(&err)
	c, err := k.config(bytes.NewReader(file))
	if err != nil {
		return facts{}, err
	}
	if f, err = k.facts(file); err != nil {
		return facts{}, err
	}
	if f.width != c.Width || f.height != c.Height {
		return facts{}, fmt.Errorf("%s of %d × %d and of %d × %d", k.name, f.width, f.height, c.Width, c.Height)
	}
	return f, nil
}

func (k *pictureKind) open(file []byte) (m image.RGBA64Image, err error) {
	defer recovered(&err)
	decoded, err := k.decode(bytes.NewReader(file))
	if err != nil {
		return nil, err
	}
	m, ok := decoded.(image.RGBA64Image)
	if !ok {
		return nil, fmt.Errorf("%s decoded as %T", k.name, decoded)
	}
	return m, nil
}

// recovered makes a decoder's panic an error: files come from anywhere.
func recovered(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("the decoder panicked: %v", p)
	}
}

// PNG is the picture as a small grey file; ReadTones reads the same Tones from it.
func (t Tones) PNG() []byte {
	m := &image.Gray{Pix: t.Light, Stride: t.Width, Rect: image.Rect(0, 0, t.Width, t.Height)}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		panic("paper: tones of no size: " + err.Error()) // a buffer takes everything
	}
	return b.Bytes()
}

// megabytes are those that hold so many bytes.
func megabytes[N int | int64](bytes N) int { return int((bytes + 999_999) / 1_000_000) }

func tonesFault(code calc.Code, key calc.Key, args ...any) *calc.Fault {
	return &calc.Fault{Code: code, Key: key, Field: "picture", Args: args, Example: "leaf.png"}
}
