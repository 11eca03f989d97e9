package matrix

import (
	"bytes"
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

func TestPicturesHaveTheirSize(t *testing.T) {
	for _, c := range []struct {
		name           string
		width, height  int
		thumb          bool
		thumbW, thumbH int
	}{
		{"small", 800, 600, false, 0, 0},
		{"wide", 2000, 500, true, 800, 200},
		{"a ribbon keeps a line of pixels", 4000, 1, true, 800, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFile(bot.File{Name: "chart.png", MediaType: "image/png", Bytes: picture(c.width, c.height)})
			if f.Width != c.width || f.Height != c.height {
				t.Errorf("it is %d × %d", f.Width, f.Height)
			}
			if (f.Thumb != nil) != c.thumb || f.ThumbWidth != c.thumbW || f.ThumbHeight != c.thumbH {
				t.Errorf("a thumbnail of %d × %d", f.ThumbWidth, f.ThumbHeight)
			}
			if !c.thumb {
				return
			}
			small, err := png.DecodeConfig(bytes.NewReader(f.Thumb))
			if err != nil || small.Width != c.thumbW || small.Height != c.thumbH {
				t.Errorf("the thumbnail's file is %d × %d, %v", small.Width, small.Height, err)
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
