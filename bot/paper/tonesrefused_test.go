package paper

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
)

// refusedFiles are files of which each is refused with the fault beside it.
func refusedFiles(t testing.TB) map[string]struct {
	file []byte
	key  calc.Key
	args []any
} {
	t.Helper()
	grey, flat, faint := image.NewGray(hookFrame), image.NewGray(hookFrame), image.NewGray(hookFrame)
	hooked(grey, color.Black, color.White)
	hooked(faint, color.Gray{100}, color.Gray{115})
	bits := image.NewPaletted(hookFrame, color.Palette{color.Black, color.White})
	hooked(bits, color.Black, color.White)
	scans := withScans(kept(t, "progressive.jpg"), mostScans+1)
	return map[string]struct {
		file []byte
		key  calc.Key
		args []any
	}{
		"too many bytes":              {make([]byte, MaxSentBytes+1), KeyTonesFile, []any{21, 20}},
		"nothing":                     {nil, KeyTonesKind, nil},
		"text":                        {[]byte("a leaf"), KeyTonesKind, nil},
		"a page":                      {[]byte("%PDF-1.7\n"), KeyTonesKind, nil},
		"a phone's other kind":        {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), KeyTonesKind, nil},
		"a kind of JPEG not read":     {kept(t, "arithmetic.jpg"), KeyTonesBroken, []any{"JPEG"}},
		"a JPEG of many scans":        {scans, KeyTonesBroken, []any{"JPEG"}},
		"no width":                    {sized(t, encodedGIF(hookFrame, bits), 0, hookHigh), KeyTonesBroken, []any{"GIF"}},
		"two frames":                  {encodedGIF(hookFrame, bits, bits), KeyTonesMoving, []any{"GIF"}},
		"a PNG of two frames":         {animated(encodedPNG(grey), 2), KeyTonesMoving, []any{"PNG"}},
		"a WebP that moves":           {kept(t, "moving.webp"), KeyTonesMoving, []any{"WebP"}},
		"too many pixels":             {sized(t, encodedPNG(grey), 5000, 5001), KeyTonesPixels, []any{5000, 5001, 25}},
		"too much to decode":          {sized(t, encodedPNG(image.NewNRGBA64(hookFrame)), 5000, 5000), KeyTonesMemory, []any{5000, 5000, 200, 100}},
		"progressive, too much":       {sized(t, kept(t, "progressive.jpg"), 4000, 4000), KeyTonesMemory, []any{4000, 4000, 120, 100}},
		"one shade":                   {encodedPNG(flat), KeyTonesFlat, nil},
		"nearly one shade":            {encodedPNG(faint), KeyTonesFlat, nil},
		"all clear":                   {encodedPNG(image.NewNRGBA(hookFrame)), KeyTonesFlat, nil},
		"sizes that do not agree":     {twoSizes(grey), KeyTonesBroken, []any{"JPEG"}},
		"fewer data than pixels":      {shortOfData(t, bits), KeyTonesBroken, []any{"PNG"}},
		"only how a PNG begins":       {[]byte("\x89PNG\r\n\x1a\n"), KeyTonesBroken, []any{"PNG"}},
		"only how a WebP begins":      {[]byte("RIFF\x04\x00\x00\x00WEBP"), KeyTonesBroken, []any{"WebP"}},
		"only how a GIF begins":       {[]byte("GIF89a"), KeyTonesBroken, []any{"GIF"}},
		"only how a JPEG begins":      {[]byte("\xff\xd8\xff"), KeyTonesBroken, []any{"JPEG"}},
		"a JPEG that ends unbegun":    {[]byte("\xff\xd8\xff\xd9\x00\x00\x00"), KeyTonesBroken, []any{"JPEG"}},
		"a WebP of an unknown chunk":  {[]byte("RIFF\x20\x00\x00\x00WEBPABCD" + strings.Repeat("\x00", 20)), KeyTonesBroken, []any{"WebP"}},
		"a JPEG that is all segments": {slices.Concat([]byte("\xff\xd8"), bytes.Repeat([]byte("\xff\xe0\x00\x02"), 50)), KeyTonesBroken, []any{"JPEG"}},
	}
}

// twoSizes is a JPEG with a second frame before its first scan.
func twoSizes(m image.Image) []byte {
	file := encodedJPEG(m)
	at := bytes.Index(file, []byte{0xff, 0xc0})
	frame := slices.Clone(file[at : at+2+int(binary.BigEndian.Uint16(file[at+2:]))])
	binary.BigEndian.PutUint16(frame[5:], 7)
	return slices.Concat(file[:at], frame, file[at:])
}

// withScans is a progressive JPEG with its last scan once more, so many times.
func withScans(file []byte, times int) []byte {
	begins, ends := bytes.LastIndex(file, []byte{0xff, startOfScan}), len(file)-2
	return slices.Concat(file[:ends], bytes.Repeat(file[begins:ends], times), file[ends:])
}

// TestWhatLiesBehindAPictureIsNoPartOfIt: a phone may put a film there, in which any
// bytes are.
func TestWhatLiesBehindAPictureIsNoPartOfIt(t *testing.T) {
	file := kept(t, "progressive.jpg")
	want, err := ReadTones(file)
	if err != nil {
		t.Fatal(err)
	}
	film := slices.Concat([]byte("\x00\x00\x00\x18ftypmp42"), bytes.Repeat([]byte{0xff, startOfScan, 0, 8, 1}, 2*mostScans))
	got, err := ReadTones(slices.Concat(file, film))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// shortOfData is a PNG whose header says a byte for each pixel, while its data have a bit.
func shortOfData(t testing.TB, m image.Image) []byte {
	file := encodedPNG(m)
	file[24], file[25] = 8, 0
	return sized(t, file, hookWide, hookHigh)
}

func TestReadTonesRefuses(t *testing.T) {
	used := map[calc.Key]bool{}
	for name, tt := range refusedFiles(t) {
		used[tt.key] = true
		_, err := ReadTones(tt.file)
		var fault *calc.Fault
		if !errors.As(err, &fault) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		code := calc.BadValue
		if slices.Contains([]calc.Key{KeyTonesFile, KeyTonesPixels, KeyTonesMemory}, tt.key) {
			code = calc.OutOfRange
		}
		want := calc.Fault{Code: code, Key: tt.key, Field: "picture", Args: tt.args, Example: "leaf.png"}
		if diff := cmp.Diff(want, *fault); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
	if diff := cmp.Diff(slices.Sorted(maps.Keys(used)), slices.Sorted(slices.Values(TonesKeys))); diff != "" {
		t.Errorf("keys in use and listed (-used +listed):\n%s", diff)
	}
}

// TestACutFileIsRefused wherever it is cut, but for what may follow a picture.
func TestACutFileIsRefused(t *testing.T) {
	for name, file := range hookFiles(t) {
		whole := 0
		for n := range len(file) {
			_, err := ReadTones(file[:n])
			var fault *calc.Fault
			switch {
			case err == nil:
				whole++
			case !errors.As(err, &fault):
				t.Errorf("%s cut at %d: %v", name, n, err)
			}
		}
		if kept := len(file) - whole; whole > 16 {
			t.Errorf("%s is read as far as %d of %d bytes", name, kept, len(file))
		}
	}
}

// TestADecodersPanicIsAFault: no file is known that makes one of them panic.
func TestADecodersPanicIsAFault(t *testing.T) {
	k := pictureKinds[0]
	k.decode = nil
	if m, err := k.open(nil); err == nil || m != nil {
		t.Errorf("%v, %v", m, err)
	}
	k.config = nil
	if _, err := k.look(nil); err == nil {
		t.Error("no error")
	}
}

// FuzzReadTones: whatever a file is, it gives a picture within the bounds or a
// fault, and no more is set aside than the bounds say.
func FuzzReadTones(f *testing.F) {
	for _, file := range hookFiles(f) {
		f.Add(file)
	}
	for name, tt := range refusedFiles(f) {
		if name != "too many bytes" {
			f.Add(tt.file)
		}
	}
	f.Add(kept(f, "large-lossless.webp"))
	f.Fuzz(func(t *testing.T, file []byte) {
		var got Tones
		var err error
		if took := setAside(func() { got, err = ReadTones(file) }); took > MaxDecodedBytes+64<<20 {
			t.Errorf("%d bytes set aside", took)
		}
		var fault *calc.Fault
		switch {
		case err == nil && (max(got.Width, got.Height) > TonesLong || got.Width*got.Height != len(got.Light) || len(got.Light) < 2):
			t.Errorf("%d × %d and %d of it", got.Width, got.Height, len(got.Light))
		case err != nil && (!errors.As(err, &fault) || !slices.Contains(TonesKeys, fault.Key)):
			t.Errorf("%v", err)
		}
	})
}
