package matrix

import (
	"bytes"
	"errors"
	"image"
	_ "image/gif"  // so that their sizes are known
	_ "image/jpeg" // so that their sizes are known
	"image/png"
	"path"
	"strings"
	"unicode/utf8"

	"golang.org/x/image/draw"

	"weftroom/bot"
)

// Bounds of thumbnails. Wider pictures get one, so that a phone need not load all
// of a chart to show it in the talk.
const (
	thumbWidth = 400
	thumbMost  = 40_000_000 // pixels of the picture; a larger one is not decoded
)

// newFile is a file as it is sent: with a harmless name, its size in pixels when
// it is a picture, and a thumbnail of a wide one.
func newFile(f bot.File) *file {
	out := sized(f)
	if out.Width > thumbWidth && out.Height <= thumbMost/out.Width {
		out.showFirst(scaled(f.Bytes))
	}
	return out
}

// newPicture is a picture as it is sent, drawn now, with a thumbnail that is drawn
// as well, where it can be, and else made of it.
func newPicture(p bot.Picture) (*file, error) {
	if p.Draw == nil {
		return nil, errors.New("there is nothing to draw")
	}
	raw, err := p.Draw()
	if err != nil {
		return nil, err
	}
	f := bot.File{Name: strings.TrimSuffix(p.Name, ".png") + ".png", MediaType: "image/png", Alt: p.Alt, Bytes: raw}
	if p.Small == nil {
		return newFile(f), nil
	}
	out := sized(f)
	if out.Width > thumbWidth {
		small, err := p.Small()
		if err != nil {
			return nil, err
		}
		out.showFirst(small)
	}
	return out, nil
}

// sized is a file without a thumbnail.
func sized(f bot.File) *file {
	out := &file{Name: fileName(f.Name), MediaType: f.MediaType, Alt: caption(f.Alt), Bytes: f.Bytes}
	if !strings.HasPrefix(f.MediaType, "image/") {
		return out
	}
	if out.Width, out.Height = pixels(f.Bytes); out.Width == 0 {
		out.MediaType = "application/octet-stream" // programs must not try to show it
	}
	return out
}

// pixels is the size of a picture, 0 when it is none.
func pixels(raw []byte) (width, height int) {
	config, _, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil || config.Width < 1 || config.Height < 1 {
		return 0, 0
	}
	return config.Width, config.Height
}

// showFirst takes a PNG for a thumbnail, unless it is no less to load than the
// picture.
func (f *file) showFirst(small []byte) {
	width, height := pixels(small)
	if width > 0 && len(small) < len(f.Bytes) {
		f.Thumb, f.ThumbWidth, f.ThumbHeight = small, width, height
	}
}

// scaled is a picture at thumbWidth, as PNG; nil when it cannot be made.
func scaled(raw []byte) []byte {
	whole, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil
	}
	size := whole.Bounds()
	small := image.NewRGBA(image.Rect(0, 0, thumbWidth, max(1, size.Dy()*thumbWidth/size.Dx())))
	draw.ApproxBiLinear.Scale(small, small.Bounds(), whole, size, draw.Src, nil)
	var b bytes.Buffer
	if err := png.Encode(&b, small); err != nil {
		return nil
	}
	return b.Bytes()
}

// caption is an alternative text on one line, which a message certainly holds.
func caption(alt string) string {
	const most = 4000
	alt = strings.Join(strings.Fields(bot.Visible(alt)), " ")
	if runes := []rune(alt); len(runes) > most {
		alt = string(runes[:most]) + "…"
	}
	return alt
}

// fileName keeps of a name what every system takes, and nothing that leads into
// another folder or hides the file.
func fileName(name string) string {
	const most = 100
	name = path.Base(strings.ReplaceAll(bot.Visible(name), `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/:*?"<>|`, r) || r == utf8.RuneError || r <= ' ' {
			return '-'
		}
		return r
	}, name)
	for len(name) > most {
		_, n := utf8.DecodeRuneInString(name)
		name = name[n:] // the end tells the kind of file
	}
	if name = strings.TrimLeft(name, ".-"); name == "" {
		return "file"
	}
	return name
}
