package paper

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
)

// hook is the picture that most files of these tests show: no turn and no mirror
// of it is like another.
func hook(x, y int) bool { return x < 16 || y < 8 && x < 32 }

const hookWide, hookHigh = 48, 32

// hooked draws the hook on a picture in two colours.
func hooked(m interface {
	Set(x, y int, c color.Color)
}, dark, light color.Color) {
	for y := range hookHigh {
		for x := range hookWide {
			c := light
			if hook(x, y) {
				c = dark
			}
			m.Set(x, y, c)
		}
	}
}

func hookTones() Tones {
	t := Tones{Width: hookWide, Height: hookHigh, Light: make([]uint8, hookWide*hookHigh)}
	for i := range t.Light {
		if !hook(i%hookWide, i/hookWide) {
			t.Light[i] = 255
		}
	}
	return t
}

var hookFrame = image.Rect(0, 0, hookWide, hookHigh)

func encodedPNG(m image.Image) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func encodedJPEG(m image.Image) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func encodedGIF(screen image.Rectangle, frames ...*image.Paletted) []byte {
	g := &gif.GIF{Config: image.Config{Width: screen.Dx(), Height: screen.Dy()}}
	for _, f := range frames {
		g.Image, g.Delay = append(g.Image, f), append(g.Delay, 10)
	}
	var b bytes.Buffer
	if err := gif.EncodeAll(&b, g); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// kept reads a file of testdata/tones, whose README says how it was made.
func kept(t testing.TB, name string) []byte {
	t.Helper()
	file, err := os.ReadFile(filepath.Join("testdata", "tones", name))
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// hookFiles are the hook in every kind of file that is read.
func hookFiles(t testing.TB) map[string][]byte {
	t.Helper()
	grey, grey16 := image.NewGray(hookFrame), image.NewGray16(hookFrame)
	colours, clear := image.NewNRGBA(hookFrame), image.NewNRGBA(hookFrame)
	clear16 := image.NewNRGBA64(hookFrame)
	hooked(grey, color.Black, color.White)
	hooked(grey16, color.Black, color.White)
	hooked(colours, color.Black, color.White)
	hooked(clear, color.Black, color.NRGBA{}) // of black that is clear, white is seen
	hooked(clear16, color.Black, color.NRGBA64{R: 0x1234})
	bits := image.NewPaletted(hookFrame, color.Palette{color.Black, color.White})
	hooked(bits, color.Black, color.White)
	part := image.NewPaletted(image.Rect(0, 0, 32, hookHigh), color.Palette{color.Black, color.Transparent})
	for i := range part.Pix {
		if !hook(i%32, i/32) {
			part.Pix[i] = 1
		}
	}
	return map[string][]byte{
		"png grey":                        encodedPNG(grey),
		"png grey of 16 bits":             encodedPNG(grey16),
		"png in colour":                   encodedPNG(colours),
		"png clear where it is light":     encodedPNG(clear),
		"png of 16 bits, clear":           encodedPNG(clear16),
		"png with a palette, one bit":     encodedPNG(bits),
		"png of one frame that may move":  animated(encodedPNG(grey), 1),
		"jpeg grey":                       encodedJPEG(grey),
		"jpeg in colour":                  encodedJPEG(colours),
		"jpeg progressive":                kept(t, "progressive.jpg"),
		"jpeg cmyk":                       kept(t, "cmyk.jpg"),
		"gif":                             encodedGIF(hookFrame, bits),
		"gif that fills part of a screen": encodedGIF(hookFrame, part),
		"webp with losses":                kept(t, "lossy.webp"),
		"webp without losses":             kept(t, "lossless.webp"),
		"webp clear where it is light":    kept(t, "clear.webp"),
	}
}

func TestEveryKindOfFileIsRead(t *testing.T) {
	want := hookTones()
	for name, file := range hookFiles(t) {
		got, err := ReadTones(file)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		mean := 3
		if name == "webp with losses" || name == "webp clear where it is light" {
			mean = 20 // of shades from 16 to 235
		}
		if diff := tonesDiff(got, want, 40, mean); diff != "" { // a JPEG rings beside an edge
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// tonesDiff tells where two pictures are further apart than so many shades, and
// whether they are further apart in the mean.
func tonesDiff(got, want Tones, most, mean int) string {
	if got.Width != want.Width || got.Height != want.Height {
		return fmt.Sprintf("%d × %d, want %d × %d", got.Width, got.Height, want.Width, want.Height)
	}
	sum := 0
	for i, v := range got.Light {
		apart := max(int(v), int(want.Light[i])) - min(int(v), int(want.Light[i]))
		if sum += apart; apart > most {
			return fmt.Sprintf("at %d, %d: %d, want %d", i%got.Width, i/got.Width, v, want.Light[i])
		}
	}
	if sum > mean*len(got.Light) {
		return fmt.Sprintf("%d shades apart in the mean", sum/len(got.Light))
	}
	return ""
}

// TestLightIsThatOfRec709 holds the colours to their share of light, ITU-R BT.709-6, item 3.2.
func TestLightIsThatOfRec709(t *testing.T) {
	for _, tt := range []struct {
		name string
		c    color.Color
		want uint8
	}{
		{"red", color.NRGBA{255, 0, 0, 255}, 54},      // 0.2126 · 255 = 54.2
		{"green", color.NRGBA{0, 255, 0, 255}, 182},   // 0.7152 · 255 = 182.4
		{"blue", color.NRGBA{0, 0, 255, 255}, 18},     // 0.0722 · 255 = 18.4
		{"half clear", color.NRGBA{0, 0, 0, 51}, 204}, // a fifth of black on white
		{"grey", color.Gray{77}, 77},
		{"ink", color.CMYK{0, 0, 0, 255}, 0},
	} {
		m := image.NewNRGBA(hookFrame)
		hooked(m, tt.c, color.White)
		got, err := ReadTones(encodedPNG(m))
		if err != nil || got.Light[0] != tt.want {
			t.Errorf("%s: %v %v, want %d", tt.name, got.Light[:min(1, len(got.Light))], err, tt.want)
		}
	}
}

// exif puts Exif data with an orientation before the rest of a JPEG.
func exif(order binary.ByteOrder, file []byte, turn uint16) []byte {
	tiff := []byte("MM\x00*")
	if order == binary.LittleEndian {
		tiff = []byte("II*\x00")
	}
	app := func(v any) { tiff, _ = binary.Append(tiff, order, v) }
	app(uint32(8))
	app(uint16(2)) // entries: the maker's, which is passed over, and the orientation
	app([]uint16{0x010f, 2, 0, 4, 0, 0})
	app([]uint16{0x0112, 3})
	app(uint32(1))
	app([]uint16{turn, 0})
	app(uint32(0))
	data := append([]byte("Exif\x00\x00"), tiff...)
	segment := append([]byte{0xff, 0xe1, byte((len(data) + 2) >> 8), byte(len(data) + 2)}, data...)
	return slices.Concat(file[:2], segment, file[2:])
}

// TestAPictureStandsAsItIsSeen: the hook as a camera has it that lay so, by the
// corners where Exif's table has row 0 and column 0 (CIPA DC-008, 4.6.4).
func TestAPictureStandsAsItIsSeen(t *testing.T) {
	const w, h = hookWide, hookHigh
	for turn, from := range map[uint16]func(x, y int) (int, int){ // where a pixel of the file is seen
		1: func(x, y int) (int, int) { return x, y },                 // row 0 top, column 0 left
		2: func(x, y int) (int, int) { return w - 1 - x, y },         // top, right
		3: func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }, // bottom, right
		4: func(x, y int) (int, int) { return x, h - 1 - y },         // bottom, left
		5: func(x, y int) (int, int) { return y, x },                 // left, top
		6: func(x, y int) (int, int) { return h - 1 - y, x },         // right, top
		7: func(x, y int) (int, int) { return h - 1 - y, w - 1 - x }, // right, bottom
		8: func(x, y int) (int, int) { return y, w - 1 - x },         // left, bottom
	} {
		for _, order := range []binary.ByteOrder{binary.BigEndian, binary.LittleEndian} {
			m := image.NewGray(hookFrame)
			hooked(m, color.Black, color.White)
			got, err := ReadTones(exif(order, encodedJPEG(m), turn))
			if err != nil {
				t.Fatal(err)
			}
			want := Tones{Width: got.Width, Height: got.Height, Light: make([]uint8, w*h)}
			if (turn >= 5) != (got.Width == h) {
				t.Fatalf("turn %d: %d × %d", turn, got.Width, got.Height)
			}
			for y := range h {
				for x := range w {
					if seenX, seenY := from(x, y); !hook(x, y) {
						want.Light[seenY*want.Width+seenX] = 255
					}
				}
			}
			if diff := tonesDiff(got, want, 40, 3); diff != "" {
				t.Errorf("turn %d: %s", turn, diff)
			}
		}
	}
}

// chunk is one of a PNG, with its sum.
func chunk(name string, data []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	out = append(append(out, name...), data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// animated says in a PNG that it has so many frames.
func animated(file []byte, frames uint32) []byte {
	const header = 8 + 8 + 13 + 4
	control := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, frames), 0)
	return slices.Concat(file[:header], chunk("acTL", control), file[header:])
}

// sized writes another size into the beginning of a file.
func sized(t testing.TB, file []byte, width, height int) []byte {
	t.Helper()
	file = slices.Clone(file)
	be, le := binary.BigEndian, binary.LittleEndian
	switch kindOf(file).name {
	case "PNG":
		be.PutUint32(file[16:], uint32(width))
		be.PutUint32(file[20:], uint32(height))
		be.PutUint32(file[29:], crc32.ChecksumIEEE(file[12:29]))
	case "GIF":
		le.PutUint16(file[6:], uint16(width))
		le.PutUint16(file[8:], uint16(height))
		at := bytes.IndexByte(file[13:], 0x2c) + 13 // no palette of these tests has such a byte
		le.PutUint16(file[at+5:], uint16(width))
		le.PutUint16(file[at+7:], uint16(height))
	case "JPEG":
		at := slices.IndexFunc([]byte{0xc0, 0xc2}, func(m byte) bool { return bytes.Contains(file, []byte{0xff, m, 0}) })
		at = bytes.Index(file, []byte{0xff, []byte{0xc0, 0xc2}[at], 0})
		be.PutUint16(file[at+5:], uint16(height))
		be.PutUint16(file[at+7:], uint16(width))
	case "WebP":
		switch string(file[12:16]) {
		case "VP8 ":
			le.PutUint16(file[26:], uint16(width))
			le.PutUint16(file[28:], uint16(height))
		case "VP8L":
			le.PutUint32(file[21:], uint32(width-1)|uint32(height-1)<<14)
		case "VP8X":
			for i := range 3 {
				file[24+i], file[27+i] = byte((width-1)>>(8*i)), byte((height-1)>>(8*i))
			}
			if at := bytes.Index(file, []byte("VP8 ")); at > 0 {
				le.PutUint16(file[at+14:], uint16(width))
				le.PutUint16(file[at+16:], uint16(height))
			}
		}
	}
	return file
}

// setAside is how many bytes are set aside while something runs.
func setAside(f func()) int64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return int64(after.TotalAlloc - before.TotalAlloc)
}

// TestABombIsRefusedUnopened: a small file may say that it is enormous.
func TestABombIsRefusedUnopened(t *testing.T) {
	for name, file := range hookFiles(t) {
		wide := 20_000
		if kindOf(file).name == "WebP" {
			wide = 16_000 // all that 14 bits hold
		}
		bomb := sized(t, file, wide, wide)
		var err error
		if took := setAside(func() { _, err = ReadTones(bomb) }); took > 1<<20 {
			t.Errorf("%s: %d bytes set aside", name, took)
		}
		var fault *calc.Fault
		if !errors.As(err, &fault) || fault.Key != KeyTonesPixels {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestWhatADecoderSetsAsideIsReckoned: decoders set aside what the beginning of a
// file asks for before they find that the rest is too short.
func TestWhatADecoderSetsAsideIsReckoned(t *testing.T) {
	files := hookFiles(t)
	interlaced := slices.Clone(files["png in colour"])
	interlaced[28] = 1
	files["png interlaced"] = interlaced
	for name, file := range files {
		files[name] = sized(t, file, 1501, 1003)
	}
	files["webp without losses, whole"] = kept(t, "large-lossless.webp")
	files["webp clear where it is light, whole"] = kept(t, "large-clear.webp")
	for name, big := range files {
		kind := kindOf(big)
		f, err := kind.look(big)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		took := setAside(func() { _, _ = kind.open(big) }) // that it fails is no matter
		if took > f.memory+1<<20 {
			t.Errorf("%s: %d bytes set aside, %d reckoned", name, took, f.memory)
		}
		pixels := float64(f.width * f.height)
		t.Logf("%s: %.1f of %.1f bytes for a pixel", name, float64(took)/pixels, float64(f.memory)/pixels)
	}
}

func TestAPictureIsReadAgainFromItsOwnFile(t *testing.T) {
	for name, file := range hookFiles(t) {
		first, err := ReadTones(file)
		if err != nil {
			t.Fatal(err)
		}
		again, err := ReadTones(first.PNG())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(first, again); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}
