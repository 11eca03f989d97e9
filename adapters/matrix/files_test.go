package matrix

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"strings"
	"testing"
	"unicode/utf8"

	"weftroom/bot"
)

// dot is a picture of one pixel.
var dot = picture(1, 1)

func picture(width, height int) []byte {
	p := image.NewPaletted(image.Rect(0, 0, width, height), color.Palette{color.White, color.Black})
	var b bytes.Buffer
	if err := png.Encode(&b, p); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}

// noise is a picture of which little can be left out.
func noise(width, height int) []byte {
	p := image.NewGray(image.Rect(0, 0, width, height))
	for i := range p.Pix {
		p.Pix[i] = byte(i*i>>7) ^ byte(i*2654435761>>11)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, p); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}

func TestPicturesHaveTheirSize(t *testing.T) {
	for _, c := range []struct {
		name           string
		raw            []byte
		width, height  int
		thumbW, thumbH int // 0 for no thumbnail
	}{
		{"small", noise(400, 300), 400, 300, 0, 0},
		{"wide", noise(2000, 500), 2000, 500, 400, 100},
		{"a ribbon keeps a line of pixels", noise(4000, 1), 4000, 1, 400, 1},
		{"one that is nothing to load", picture(2000, 500), 2000, 500, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFile(bot.File{Name: "chart.png", MediaType: "image/png", Bytes: c.raw})
			if f.Width != c.width || f.Height != c.height {
				t.Errorf("it is %d × %d", f.Width, f.Height)
			}
			if (f.Thumb != nil) != (c.thumbW > 0) || f.ThumbWidth != c.thumbW || f.ThumbHeight != c.thumbH {
				t.Errorf("a thumbnail of %d × %d", f.ThumbWidth, f.ThumbHeight)
			}
			if c.thumbW == 0 {
				return
			}
			small, err := png.DecodeConfig(bytes.NewReader(f.Thumb))
			if err != nil || small.Width != c.thumbW || small.Height != c.thumbH || len(f.Thumb) >= len(f.Bytes) {
				t.Errorf("the thumbnail's file is %d × %d, %d bytes to %d, %v", small.Width, small.Height, len(f.Thumb), len(f.Bytes), err)
			}
		})
	}
}

// TestPicturesBringTheirThumbnail: what the core draws small is what is shown
// first, if it is less to load.
func TestPicturesBringTheirThumbnail(t *testing.T) {
	gives := func(raw []byte, err error) func() ([]byte, error) { return func() ([]byte, error) { return raw, err } }
	broken := errors.New("no ink")
	for _, c := range []struct {
		name        string
		whole       []byte
		small       func() ([]byte, error)
		thumbWidth  int
		unavailable error
	}{
		{"drawn small", noise(1200, 300), gives(noise(300, 75), nil), 300, nil},
		{"the small one is larger", picture(1200, 300), gives(noise(300, 75), nil), 0, nil},
		{"small as it is", noise(300, 75), gives(nil, broken), 0, nil},
		{"nothing small is drawn", noise(1200, 300), nil, 400, nil},
		{"the small one is no picture", noise(1200, 300), gives([]byte("no"), nil), 0, nil},
		{"the small one fails", noise(1200, 300), gives(nil, broken), 0, broken},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := newPicture(bot.Picture{Name: "chart", Alt: "a chart", Draw: gives(c.whole, nil), Small: c.small})
			if !errors.Is(err, c.unavailable) {
				t.Fatalf("it ends with %v", err)
			}
			if err != nil {
				return
			}
			if f.Name != "chart.png" || f.Alt != "a chart" || !bytes.Equal(f.Bytes, c.whole) || f.ThumbWidth != c.thumbWidth {
				t.Errorf("%s, %q, %d bytes, a thumbnail %d wide", f.Name, f.Alt, len(f.Bytes), f.ThumbWidth)
			}
		})
	}
}

func TestWhatIsNoPictureIsNotShownAsOne(t *testing.T) {
	f := newFile(bot.File{Name: "chart.png", MediaType: "image/png", Bytes: []byte("no picture")})
	if f.MediaType != "application/octet-stream" || f.Width != 0 {
		t.Errorf("it is %s, %d wide", f.MediaType, f.Width)
	}
}

func TestFileNames(t *testing.T) {
	for name, want := range map[string]string{
		"plan.pdf":                        "plan.pdf",
		"../..\\../\x1b[2Jplan\u202e.txt": "[2Jplan.txt",
		"..":                              "file",
		"":                                "file",
		".hidden":                         "hidden",
		"a b?.pdf":                        "a-b-.pdf",
		"\xff.pdf":                        "pdf",
	} {
		if got := fileName(name); got != want {
			t.Errorf("%q becomes %q, want %q", name, got, want)
		}
	}
	if got := fileName(strings.Repeat("ü", 300) + ".pdf"); len(got) > 100 || !utf8.ValidString(got) || !strings.HasSuffix(got, ".pdf") {
		t.Errorf("a long one becomes %q", got)
	}
}
